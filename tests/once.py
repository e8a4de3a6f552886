"""Logs compiled and sheets drawn once for all tests of a process: a sheet takes half a second, and many tests look at it."""

from __future__ import annotations

from functools import lru_cache

from traverse.compile import blank_ground, compile_log, map_ground
from traverse.sheet.compose.compose import compose
from traverse.sheet.compose.grey import compose_grey
from traverse.sheet.compose.overlay import compose_overlay
from traverse.sheet.handout.handout import compose_blank
from traverse.sheet.template.reading import read_template
from traverse.source import Source

MARK = "abc123"
"""Stands for the mark of the log's text."""


def compiled(path, text=None):
    """A log, or another text in its place, with the files that lie beside it."""
    return _compiled(path, text)


def laid(path, text=None):
    """The log with the ground of its map."""
    return _laid(path, text)


def drawn(path, kind="key", template="field", text=None):
    """The key, its grey copy, the handout or the film of a log, on the paper that it asks for."""
    return _drawn(path, kind, template, text)


# Without defaults, so that each is kept under one key however it was asked for.


@lru_cache(maxsize=256)
def _compiled(path, text):
    source = Source(name=path.name, text=path.read_text(encoding="utf-8") if text is None else text)
    return compile_log(source, load=lambda name: (path.parent / name).read_bytes())


@lru_cache(maxsize=128)
def _laid(path, text):
    return map_ground(_compiled(path, text).trav)


@lru_cache(maxsize=128)
def _drawn(path, kind, template, text):
    settings = {"template": read_template(template).value, "mark": MARK}
    found = _compiled(path, text)
    if kind == "blank":
        return compose_blank(found.trav, lay=blank_ground, **settings).value
    if kind == "film":
        settings["handout"] = _drawn(path, "blank", template, text)
    draw = {"key": compose, "grey": compose_grey, "film": compose_overlay}[kind]
    return draw(_laid(path, text), found.diagnostics, **settings).value
