"""The program's own files as Python reads them, parsed once for all tests of a process that look into them."""

import ast
from functools import cache
from pathlib import Path

PACKAGE = Path(__file__).parent.parent / "traverse"
FILES = sorted(PACKAGE.rglob("*.py"))


@cache
def tree(path):
    """A file, parsed."""
    return ast.parse(path.read_text(encoding="utf-8"))


@cache
def nodes(path):
    """All that stands in a file."""
    return tuple(ast.walk(tree(path)))
