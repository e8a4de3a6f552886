"""`traverse section LOG`: the sections alone."""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from functools import partial

from traverse.command.drawing import drawing
from traverse.compile import Compiled, section_ground
from traverse.sheet.paper.document import Document


def run(options: argparse.Namespace) -> int:
    """Every section of one log as PDF; the first as SVG or PNG."""
    draw = partial(_section, arcs=options.arcs)
    return drawing(options, "section", draw, "no line of section could be laid through the stations")


def _section(compiled: Compiled, mark: str, *, arcs: bool) -> Document | None:
    from traverse.sheet.compose.alone import section_document, section_scale
    from traverse.sheet.said.sentences import named_sentences

    assert compiled.trav is not None
    trav = compiled.trav
    if arcs:
        sections = tuple(replace(one, construction=one.arcs) for one in trav.geology.sections)
        trav = replace(trav, geology=replace(trav.geology, sections=sections))
    for section in trav.geology.sections:
        for sentence in named_sentences(section, warned=False):
            print(sentence, file=sys.stderr)
    asked = trav.log.heading.sheet.scale
    drawn = section_scale(trav.log, trav.geology.sections) if trav.geology.sections else asked
    if asked is not None and drawn != asked:
        print(
            f"A section at 1:{asked} would be longer than 2 m of paper; it is drawn at 1:{drawn}.",
            file=sys.stderr,
        )
    return section_document(section_ground(trav), mark=mark)
