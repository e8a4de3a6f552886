"""`traverse net LOG`: the equal-area net alone."""

from __future__ import annotations

import argparse
from dataclasses import replace

from traverse.command.drawing import drawing
from traverse.compile import Compiled, net_density
from traverse.sheet.paper.document import Document

NO_NET = "no bedding and no line was measured"


def run(options: argparse.Namespace) -> int:
    """The net of one log as PDF, SVG or PNG."""
    return drawing(options, "net", net_of, NO_NET)


def net_of(compiled: Compiled, mark: str) -> Document | None:
    """The net of a log without errors; None where nothing goes on it."""
    from traverse.sheet.compose.alone import net_document

    trav = compiled.trav
    assert trav is not None
    return net_document(replace(trav, geology=net_density(trav.geology)), mark=mark)
