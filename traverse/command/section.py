"""`traverse section LOG`: the sections alone."""

from __future__ import annotations

import argparse
from dataclasses import replace
from functools import partial

from traverse.command.drawing import drawing
from traverse.command.files import warn
from traverse.compile import Compiled, section_ground
from traverse.ground.records import Traverse
from traverse.sheet.paper.document import Document

NO_SECTION = "no line of section could be laid through the stations"


def run(options: argparse.Namespace) -> int:
    """Every section of one log as PDF; the first as SVG or PNG."""
    draw = partial(_section, arcs=options.arcs)
    return drawing(options, "section", draw, NO_SECTION)


def _section(compiled: Compiled, mark: str, *, arcs: bool) -> Document | None:
    from traverse.sheet.compose.alone import section_scale
    from traverse.sheet.said.sentences import named_sentences

    assert compiled.trav is not None
    trav = _carried(compiled.trav, arcs=arcs)
    for section in trav.geology.sections:
        for sentence in named_sentences(section, warned=False):
            warn(sentence)
    asked = trav.log.heading.sheet.scale
    scale = section_scale(trav.log, trav.geology.sections) if trav.geology.sections else asked
    if asked is not None and scale != asked:
        warn(
            f"No roll of paper takes a section at 1:{asked}; it is drawn at 1:{scale}.",
        )
    return section_of(compiled, mark, arcs=arcs)


def section_of(compiled: Compiled, mark: str, *, arcs: bool) -> Document | None:
    """The sections of a log without errors; None where it has none."""
    from traverse.sheet.compose.alone import section_document

    assert compiled.trav is not None
    return section_document(section_ground(_carried(compiled.trav, arcs=arcs)), mark=mark)


def _carried(trav: Traverse, *, arcs: bool) -> Traverse:
    """With contacts carried by arcs, where that is asked."""
    if not arcs:
        return trav
    sections = tuple(replace(one, construction=one.arcs) for one in trav.geology.sections)
    return replace(trav, geology=replace(trav.geology, sections=sections))
