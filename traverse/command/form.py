"""`traverse form [LOG]`: a blank notebook page to carry out, with what the heading of a log says filled in."""

from __future__ import annotations

import argparse
from dataclasses import replace

from traverse.command.drawing import (
    compiled_log,
    kind_of,
    mark_of,
    spare_others,
    tell_first_page,
    write_drawing,
)
from traverse.command.files import LogFiles, WrongUseError, beside, complain, tell
from traverse.compile import Compiled
from traverse.log.readings import Convention
from traverse.log.records import Help
from traverse.notation.layout import heading_lines
from traverse.reduction.slope import slope_table
from traverse.sheet.notebook.records import TakenOver
from traverse.sheet.template.reading import read_template

_UNNAMED = "notebook-page.pdf"
_USUAL = "field"
"""The template whose papers there are."""
_SLOPES_DEG = (*range(1, 31), 32, 34, 36, 38, 40, 45)


def run(options: argparse.Namespace) -> int:
    """The page as PDF, SVG or PNG."""
    name = options.log
    output = options.output or _beside(name)
    try:
        kind_of(output)
        if options.output is None:
            spare_others(output)
        width, height = _paper(options.paper)
        taken = TakenOver(slopes=slope_table(steps_deg=_SLOPES_DEG), heading={})
        if name is not None:
            compiled = compiled_log(LogFiles(name), output, "page")
            if compiled is None:
                return 1
            tell(compiled.diagnostics, dict(compiled.sources), of=name)
            taken = _taken_over(compiled, taken)
        if options.attitudes is not None:
            rule = Convention(options.attitudes)
            taken = replace(taken, convention=rule, heading={**taken.heading, "attitudes": (rule.value,)})
        from traverse.sheet.notebook.notebook import notebook_pages

        document = notebook_pages(taken, width=width, height=height)
        write_drawing(output, document)
    except WrongUseError as problem:
        return complain(str(problem))
    tell_first_page(output, document)
    return 0


def _beside(name: str | None) -> str:
    if name is None:
        return _UNNAMED
    return beside(name, "-page.pdf")


def _paper(name: str) -> tuple[float, float]:
    """Width and height, upright. Raises `WrongUseError` for a paper that there is not, and for a roll."""
    template = read_template(_USUAL).value
    assert template is not None
    sheets = [one for one in template.papers if one not in template.rolls]
    known = template.paper_named(name)
    if known not in sheets:
        raise WrongUseError(f"no paper {name} for a page; there is {', '.join(sheets)}")
    return template.papers[known]


def _taken_over(compiled: Compiled, taken: TakenOver) -> TakenOver:
    """What the heading says, and what follows from it."""
    log, survey = compiled.log, compiled.survey
    assert survey is not None
    return replace(
        taken,
        heading=heading_lines(compiled.sources.values()),
        convention=log.heading.first.convention,
        bearings=log.heading.first.bearings,
        frame=survey.frame,
        paces=survey.paces,
        units=log.units,
        # When to turn back is another day's.
        emergency=tuple(one for one in log.heading.emergency if one.kind is not Help.BACK),
        lengths=log.lengths,
        mark=mark_of(compiled),
    )
