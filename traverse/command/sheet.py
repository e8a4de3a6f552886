"""`traverse sheet LOG…`: the sheet, as PDF with all its pages, or sheet 1 as SVG or PNG."""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Sequence
from dataclasses import replace
from enum import Enum
from functools import partial
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

from traverse.command.drawing import compiled_log, kind_of, mark_of, spare_others, write_drawing
from traverse.command.files import STANDARD, LogFiles, WrongUseError, beside, complain, each, tell, warn
from traverse.command.together import LogsTogether
from traverse.compile import Compiled, blank_ground, map_ground
from traverse.diagnostic import Diagnostic, Outcome, error, has_error, warning
from traverse.log.records import Log
from traverse.sheet.paper.document import Document

if TYPE_CHECKING:
    from traverse.sheet.template.reading import Template

MOST_CARRIED = 16 * 1024 * 1024
"""A file larger than this makes a sheet that can't be mailed."""
MOST_STATIONS = 3_000
"""A camp of fifty parties books fewer. More are read off no paper, and take minutes to draw."""


def run(options: argparse.Namespace) -> int:
    """One sheet a log, or one of all; none for a log that has errors."""
    if options.together:
        try:
            return _sheet(LogsTogether(options.logs), options)
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
    if options.output is None:
        spare_others(output)
    assert compiled.trav is not None
    if options.blank:
        from traverse.sheet.handout.tells import tells

        composed = blank_document(
            compiled, template.value, give=give, boxes=options.boxes, title=options.title
        )
        if options.output is None and tells(Path(name).stem.replace("_", " "), compiled.log, names=False):
            output = STANDARD if name == STANDARD else str(Path(name).with_name("exercise-blank.pdf"))
            spare_others(output)
    else:
        kind = SheetKind.GREY if options.grey else SheetKind.OVERLAY if options.overlay else SheetKind.KEY
        composed = key_document(compiled, files, template.value, kind=kind, report=options.report)
    tell((*compiled.diagnostics, *composed.diagnostics), dict(compiled.sources), of=name)
    files.explain(compiled.diagnostics)
    if has_error(composed.diagnostics):
        return 1
    write_drawing(output, composed.value)
    if options.blank and options.boxes is None and "units" not in give:
        from traverse.sheet.said.stops import units_on_sheet

        boxes = len(units_on_sheet(compiled.log, compiled.trav.geology))
        if boxes:
            words = (
                "1 empty box tells that there is one unit"
                if boxes == 1
                else f"{boxes} empty boxes tell how many units there are"
            )
            warn(f"{output}: {words}; --boxes N makes N of them")
    return int(compiled.failed)


class SheetKind(Enum):
    """What a sheet that tells all is made for."""

    KEY = "key"
    GREY = "grey"
    """Patterns in place of colours, for the copier."""
    OVERLAY = "overlay"
    """What a handout has not, on film."""


def blank_document(
    compiled: Compiled, template: Template, *, give: Sequence[str], boxes: int | None, title: str | None
) -> Outcome[Document]:
    """A handout of a log without errors. The log is the key: a handout carries none of it, nor a name that tells."""
    from traverse.sheet.handout.handout import compose_blank

    assert compiled.trav is not None
    if (many := _too_many_stations(compiled.log)) is not None:
        return many
    return compose_blank(
        compiled.trav,
        compiled.diagnostics,
        lay=blank_ground,
        template=template,
        mark=mark_of(compiled),
        give=tuple(give),
        boxes=boxes,
        title=title,
    )


def key_document(
    compiled: Compiled, files: LogFiles, template: Template, *, kind: SheetKind, report: bool
) -> Outcome[Document]:
    """The sheet of a log without errors. It carries the text that it was made from; `traverse extract` gives it back."""
    assert compiled.trav is not None
    if (many := _too_many_stations(compiled.log)) is not None:
        return many
    if kind is SheetKind.GREY:
        from traverse.sheet.compose.grey import compose_grey

        compose = partial(compose_grey, report=report)
    elif kind is SheetKind.OVERLAY:
        from traverse.sheet.compose.overlay import compose_overlay
        from traverse.sheet.handout.given import USUAL

        handout = blank_document(compiled, template, give=USUAL, boxes=None, title=None)
        compose = partial(compose_overlay, handout=handout.value)
    else:
        from traverse.sheet.compose.compose import compose as compose_key

        compose = partial(compose_key, report=report)
    composed = compose(
        map_ground(compiled.trav), compiled.diagnostics, template=template, mark=mark_of(compiled)
    )
    kept = files.carried()
    carried = {file: data for file, data in kept.items() if len(data) <= MOST_CARRIED}
    left = _left_behind(set(kept) - set(carried), compiled.log)
    document = replace(composed.value, attachments=tuple(carried.items()))
    return Outcome(document, (*composed.diagnostics, *left))


def _too_many_stations(log: Log) -> Outcome[Document] | None:
    """No page, and why, of a log with more stations than a sheet is drawn of."""
    stations = log.first_at
    if len(stations) <= MOST_STATIONS:
        return None
    first = next(islice(stations.values(), MOST_STATIONS, None))
    said = error(
        "too-many-stations",
        f"a sheet is drawn of {MOST_STATIONS} stations at most, and this log has {len(stations)}; here the rest begins",
        first.span,
        "draw it in parts, a log for each; `traverse check` and `traverse export` take it whole",
    )
    return Outcome(Document(pages=(), title=""), (said,))


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
    if options.report and (options.blank or options.overlay):
        raise WrongUseError("--report goes with the key: a handout and an overlay have no report")
    if not options.blank:
        for name in ("give", "boxes", "title"):
            if getattr(options, name) is not None:
                raise WrongUseError(f"--{name} goes with --blank")
        return ()
    from traverse.sheet.handout.given import PARTS, USUAL

    if not boxes_fit(options.boxes):
        raise WrongUseError(f"--boxes takes a number from 0 to {MOST_BOXES}")
    if options.give is None:
        return USUAL
    parts = tuple(part.strip().lower() for part in options.give.split(",") if part.strip())
    if parts == ("none",):
        return ()
    if not parts:
        raise WrongUseError(f"--give names nothing; there is {', '.join(PARTS)}, or none")
    return parts_there_are(parts)


def parts_there_are(parts: tuple[str, ...]) -> tuple[str, ...]:
    """Parts of a handout, if each is one. Raises `WrongUseError`."""
    from traverse.sheet.handout.given import PARTS

    unknown = [part for part in parts if part not in PARTS]
    if unknown:
        raise WrongUseError(f"{unknown[0]} can't be given; there is {', '.join(PARTS)}, or none")
    return parts


MOST_BOXES = 40


def boxes_fit(boxes: object) -> bool:
    """Whether a handout can have so many empty boxes; None is as many as the log has units."""
    return boxes is None or (type(boxes) is int and 0 <= boxes <= MOST_BOXES)


def _named(name: str, options: argparse.Namespace) -> str:
    """The log's name with `.pdf`; a handout, a grey key and an overlay say what they are."""
    kind = "-blank" if options.blank else "-grey" if options.grey else "-overlay" if options.overlay else ""
    return beside(name, f"{kind}.pdf")
