"""Logs compiled and sheets drawn once for all tests of a process: a sheet takes half a second, and many tests look at it."""

from __future__ import annotations

from collections import OrderedDict
from functools import lru_cache

from traverse import compile as chain
from traverse.compile import blank_ground, map_ground
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


class Remembered:
    """`compile_log`, which gives what it gave before for the same text and the same files: records don't change.

    Some tests in five compile a log that another test of their process has compiled. Not those that replace a part of the
    program, or ask whether twice comes to the same: these are `fresh`.
    """

    most = 400

    def __init__(self, compile_log):
        self.compile_log = compile_log
        self.kept = OrderedDict()
        self.fresh = False

    def __call__(self, source, *, load):
        if self.fresh:
            return self.compile_log(source, load=load)
        for files, compiled in self.kept.get(source, ()):
            if all(_had(load, name) == content for name, content in files.items()):
                self.kept.move_to_end(source)
                return compiled
        files = {}

        def noted(name):
            files[name] = _had(load, name)
            if isinstance(files[name], bytes):
                return files[name]
            return load(name)

        compiled = self.compile_log(source, load=noted)
        self.kept.setdefault(source, []).append((files, compiled))
        if len(self.kept) > self.most:
            self.kept.popitem(last=False)
        return compiled


class Compared:
    """`against_key`, which gives what it gave before of the same two logs, as `Remembered` gives them."""

    most = 100

    def __init__(self, against_key):
        self.against_key = against_key
        self.kept = OrderedDict()
        self.fresh = False

    def __call__(self, name, compiled, key, scheme, load, **settings):
        about = (name, id(compiled), id(key), *sorted(settings.items()))
        of, comparison = self.kept.get(about, (None, None))
        if self.fresh or of is None or of[-1] != scheme:
            comparison = self.against_key(name, compiled, key, scheme, load, **settings)
            # With the logs, whose numbers would be given to others.
            self.kept[about] = (compiled, key, scheme), comparison
            if len(self.kept) > self.most:
                self.kept.popitem(last=False)
        return comparison


def _had(load, name):
    """The content of a file, or in words why there is none."""
    try:
        return bytes(load(name))
    except (OSError, ValueError) as problem:
        return repr(problem)


# Without defaults, so that each is kept under one key however it was asked for.


@lru_cache(maxsize=256)
def _compiled(path, text):
    source = Source(name=path.name, text=path.read_text(encoding="utf-8") if text is None else text)
    return chain.compile_log(source, load=lambda name: (path.parent / name).read_bytes())


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
