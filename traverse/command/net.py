"""`traverse net LOG`: the equal-area net alone."""

from __future__ import annotations

import argparse

from traverse.command.drawing import drawing
from traverse.compile import Compiled, net_density
from traverse.sheet.paper.document import Document


def run(options: argparse.Namespace) -> int:
    """The net of one log as PDF, SVG or PNG."""
    return drawing(options, "net", _net, "no bedding and no line was measured")


def _net(compiled: Compiled, mark: str) -> Document | None:
    from traverse.sheet.compose.alone import net_document

    assert compiled.geology is not None
    return net_document(compiled.log, net_density(compiled.geology), mark=mark)
