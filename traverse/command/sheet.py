"""`traverse sheet LOG…`: the sheet, as PDF with all its pages, or sheet 1 as SVG or PNG."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable
from dataclasses import replace
from functools import partial
from pathlib import Path

from traverse.command.drawing import compiled_log, kind_of, mark_of, write_drawing
from traverse.command.files import STANDARD, LogFiles, WrongUseError, beside, complain, each, tell
from traverse.command.together import Together
from traverse.compile import blank_ground, map_ground
from traverse.diagnostic import Diagnostic, has_error, warning
from traverse.log.records import Log

MOST_CARRIED = 16 * 1024 * 1024
"""A file larger than this makes a sheet that can't be mailed."""


def run(options: argparse.Namespace) -> int:
    """One sheet a log, or one of all; none for a log that has errors."""
    if options.together:
        try:
            return _sheet(Together(options.logs), options)
        except WrongUseError as problem:
            return complain(str(problem))
    if options.output is not None and len(options.logs) > 1:
        return complain(
            "-o names one file, and there are several logs; --together makes one sheet of them, and without either each "
            "gets its own name with .pdf"
        )
    if options.output is None:
        outputs: dict[str, str] = {}
        for name in options.logs:
            other = outputs.setdefault(_named(name, options), name)
            if other != name:
                return complain(
                    f"{other} and {name} would both make {_named(name, options)}; make one at a time, with -o"
                )
    return each(options.logs, lambda name: _sheet(LogFiles(name), options))


def _sheet(files: LogFiles, options: argparse.Namespace) -> int:
    from traverse.sheet.template.reading import read_template, template_source

    give = _given(options)
    template = read_template(options.template)
    if template.value is None:
        source, _, _ = template_source(options.template)
        tell(template.diagnostics, {} if source is None else {source.name: source})
        return 2
    name = files.name
    output = options.output or _named(name, options)
    kind_of(output)
    compiled = compiled_log(files, output, "sheet")
    if compiled is None:
        return 1
    assert compiled.trav is not None
    if options.blank:
        from traverse.sheet.handout.handout import compose_blank
        from traverse.sheet.handout.tells import tells

        composed = compose_blank(
            compiled.trav,
            compiled.diagnostics,
            lay=blank_ground,
            template=template.value,
            mark=mark_of(compiled),
            give=give,
            boxes=options.boxes,
            title=options.title,
        )
        # The log is the key: a handout carries none of it, nor a name that tells.
        kept: dict[str, bytes] = {}
        if options.output is None and tells(Path(name).stem.replace("_", " "), compiled.log, names=False):
            output = STANDARD if name == STANDARD else str(Path(name).with_name("exercise-blank.pdf"))
    else:
        kept = files.carried()
        if options.grey:
            from traverse.sheet.compose.grey import compose_grey

            compose = partial(compose_grey, report=options.report)
        elif options.overlay:
            from traverse.sheet.compose.overlay import compose_overlay

            compose = partial(compose_overlay)
        else:
            from traverse.sheet.compose.compose import compose as compose_key

            compose = partial(compose_key, report=options.report)
        composed = compose(
            map_ground(compiled.trav),
            compiled.diagnostics,
            template=template.value,
            mark=mark_of(compiled),
        )
    # The key carries the text that it was made from; `traverse extract` gives it back.
    carried = {file: data for file, data in kept.items() if len(data) <= MOST_CARRIED}
    left = _left_behind(set(kept) - set(carried), compiled.log)
    diagnostics = (*compiled.diagnostics, *composed.diagnostics, *left)
    tell(diagnostics, dict(compiled.sources))
    if has_error(composed.diagnostics):
        return 1
    write_drawing(output, replace(composed.value, attachments=tuple(carried.items())))
    if options.blank and options.boxes is None and "units" not in give:
        from traverse.sheet.said.stops import units_on_sheet

        boxes = len(units_on_sheet(compiled.log, compiled.trav.geology))
        if boxes:
            words = (
                "1 empty box tells that there is one unit"
                if boxes == 1
                else f"{boxes} empty boxes tell how many units there are"
            )
            print(f"{output}: {words}; --boxes N makes N of them", file=sys.stderr)
    return int(compiled.failed)


def _left_behind(names: Iterable[str], log: Log) -> tuple[Diagnostic, ...]:
    """What is said of files too large to be carried."""
    return tuple(
        warning(
            "file-not-carried",
            f"{name} is over {MOST_CARRIED // 1024 // 1024} MB and is not carried in the sheet",
            log.heading.terrain_span if name == log.heading.terrain else None,
            "keep it with the sheet, or cut the grid to the ground about the walk",
        )
        for name in sorted(names)
    )


def _given(options: argparse.Namespace) -> tuple[str, ...]:
    """Parts of a handout that are given.

    Raises `WrongUseError` for a part that no handout has, and for options of a handout where none is made.
    """
    from traverse.sheet.handout.given import PARTS, USUAL

    if options.report and (options.blank or options.overlay):
        raise WrongUseError("--report goes with the key: a handout and an overlay have no report")
    if not options.blank:
        for name in ("give", "boxes", "title"):
            if getattr(options, name) is not None:
                raise WrongUseError(f"--{name} goes with --blank")
        return ()
    if options.boxes is not None and not 0 <= options.boxes <= _MOST_BOXES:
        raise WrongUseError(f"--boxes takes a number from 0 to {_MOST_BOXES}")
    if options.give is None:
        return USUAL
    parts = tuple(part.strip().lower() for part in options.give.split(",") if part.strip())
    if parts == ("none",):
        return ()
    unknown = [part for part in parts if part not in PARTS]
    if unknown or not parts:
        what = f"{unknown[0]} can't be given" if unknown else "--give names nothing"
        raise WrongUseError(f"{what}; there is {', '.join(PARTS)}, or none")
    return parts


_MOST_BOXES = 40


def _named(name: str, options: argparse.Namespace) -> str:
    """The log's name with `.pdf`; a handout, a grey key and an overlay say what they are."""
    kind = "-blank" if options.blank else "-grey" if options.grey else "-overlay" if options.overlay else ""
    return beside(name, f"{kind}.pdf")
