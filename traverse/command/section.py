"""`traverse section LOG`: the sections alone."""

from __future__ import annotations

import argparse
from functools import partial

from traverse.command.drawing import drawing
from traverse.compile import Compiled
from traverse.sheet.page import Document


def run(options: argparse.Namespace) -> int:
    """Every section of one log as PDF; the first as SVG or PNG."""
    draw = partial(_section, arcs=options.arcs)
    return drawing(options, "section", draw, "no line of section could be laid through the stations")


def _section(compiled: Compiled, mark: str, *, arcs: bool) -> Document | None:
    from traverse.sheet.alone import section_document

    assert compiled.survey is not None
    assert compiled.geology is not None
    return section_document(compiled.log, compiled.survey, compiled.geology, mark=mark, arcs=arcs)
