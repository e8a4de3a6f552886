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
def statements(path):
    """Every statement of a file, in whatever other it stands; a tenth of all that stands in it."""
    found, blocks = [], [tree(path).body]
    while blocks:
        for one in blocks.pop():
            found.append(one)
            blocks += [
                block
                for name in ("body", "orelse", "finalbody", "handlers", "cases")
                if (block := getattr(one, name, None))
            ]
    return tuple(found)


@cache
def nodes(path):
    """All that stands in a file."""
    return tuple(ast.walk(tree(path)))
