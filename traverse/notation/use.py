"""Which files `use` may name."""

from __future__ import annotations

import posixpath
import re

from traverse.notation.draft import Mistake
from traverse.notation.text import shortened
from traverse.source import Span

DEEPEST = 50
"""Files that use one another in a row."""


def checked_path(path: str, span: Span, keyword: str = "use") -> str:
    """A path in or below the log's folder, with `/` between names; anything else is a mistake."""
    shown = shortened(path)
    if "\\" in path:
        raise Mistake(
            "path",
            f"{shown}: `/` between names",
            span,
            f"`{keyword} {shortened(path.replace(chr(92), '/'))}`",
        )
    outside = path.startswith(("/", "~")) or re.match(r"[A-Za-z]:", path) or ".." in path.split("/")
    if outside:
        raise Mistake(
            "path",
            f"{shown} is outside the log's folder",
            span,
            "copy the file into the folder of the log and name it there",
        )
    if any(not char.isprintable() for char in path):
        raise Mistake("path", f"{shown} is no name of a file", span, f"`{keyword} camp.trav`")
    return posixpath.normpath(path)
