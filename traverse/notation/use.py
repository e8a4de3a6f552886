"""The files that a log uses, and what must be known of all of them before the first line is read."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Callable, Mapping
from typing import TypeAlias

from lark import Token

from traverse.notation.draft import Draft, Mistake
from traverse.notation.explain import meant_word
from traverse.notation.parse import Parsed, Statement, Unread, parse
from traverse.notation.text import decode, shortened
from traverse.notation.tied import tied_places
from traverse.points.records import PointFile, UnreadableError
from traverse.source import Source, Span

Loader: TypeAlias = Callable[[str], bytes]
"""Bytes of a file by its path as written after `use`, `/` between names; raises OSError when it can't be had."""


def loading(sources: Mapping[str, Source], load: Loader) -> Loader:
    """Reads these files as they stand here, and all others by `load`."""
    return lambda name: sources[name].text.encode() if name in sources else load(name)


DEEPEST = 50
"""Files that use one another in a row."""

HEADING_KINDS = frozenset({
    "NOTATION", "TRAVERSE", "DATE", "PARTY", "AREA", "WEATHER", "INSTRUMENT", "HEIGHTS", "PAGE", "EMERGENCY", "GROUP",
    "GRID",     "BEARINGS", "DECLINATION", "ATTITUDES", "PACE", "PRECISION", "DISTANCES", "DECIMALS", "USE", "UNIT", "CONTROL",
    "CONTROLS", "TERRAIN",
})  # fmt: skip
"""Statements that a used file may hold."""

_AHEAD = frozenset({"UNIT", "CONTROL", "CONTROLS", "DECIMALS", "USE", "TIE"})
"""Statements that hold for the whole log wherever they stand."""


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
    if path.startswith(("/", "~")) or re.match(r"[A-Za-z]:", path) or ".." in path.split("/"):
        raise Mistake(
            "path",
            f"{shown} is outside the log's folder",
            span,
            "copy the file into the folder of the log and name it there",
        )
    if not path.isprintable():
        raise Mistake("path", f"{shown} is no name of a file", span, f"`{keyword} camp.trav`")
    return posixpath.normpath(path)


def not_had(code: str, shown: str, span: Span, problem: OSError | ValueError, *, cut: str = "") -> Mistake:
    """What is wrong where a file that a log names is not there, or is there and can't be read."""
    why = (problem.strerror if isinstance(problem, OSError) else None) or str(problem)
    if isinstance(problem, FileNotFoundError) or (isinstance(problem, OSError) and problem.errno is None):
        return Mistake(code, f"no file {shown}", span, "it is sought in the folder of the log")
    return Mistake(
        code,
        f"{shown} can't be read: {why[:1].lower()}{why[1:]}",
        span,
        f"name a file in the folder of the log{cut}",
    )


class Files:
    """Every file of a log, parsed."""

    def __init__(self, load: Loader, draft: Draft) -> None:
        self._load = load
        self._draft = draft
        self._inner: dict[tuple[str, int], tuple[Source, Parsed]] = {}
        """File that a `use` line reads, by the line's file and number; a file is read at its first `use`."""

    def log(self, source: Source) -> Parsed:
        """The log itself, with every file that it uses taken note of."""
        self._draft.sources[source.name] = source
        parsed = parse(source)
        self._gather(source.name, parsed, (self._draft.name,))
        return parsed

    def used(self, file: str, line: int) -> tuple[Source, Parsed] | None:
        """The file that a `use` line brings in; None where it failed or came earlier."""
        return self._inner.get((file, line))

    def _gather(self, file: str, parsed: Parsed, chain: tuple[str, ...]) -> None:
        """Take note of units, control points and `decimals`, and read the files used."""
        draft = self._draft
        typed: list[str] = []
        for one in parsed.lines:
            if isinstance(one, Token):
                continue
            words = one.read if isinstance(one, Unread) else one
            if isinstance(one, Unread) and not words:
                typed = typed or parsed.original.split("\n")
                self._gather_misspelt(typed[one.line - 1])
            if not words or words[0].type not in _AHEAD:
                continue
            kind = words[0].type
            if kind == "UNIT" and (isinstance(one, Unread) or len(words) > 2) and len(words) > 1:
                draft.unit_order.setdefault(str(words[1]), len(draft.unit_order))
                if any(
                    part.type == "UNITPART" and part.strip(" \t").lower() == "intrusive" for part in words
                ):
                    draft.intrusive.add(str(words[1]))
            elif kind == "CONTROL" and len(words) > 1:
                draft.control_names.add(str(words[1]))
            elif kind == "CONTROLS" and len(words) > 1 and words[1].type == "POINTFILE":
                self._points(file, words, parsed)
            elif kind == "DECIMALS":
                draft.comma = True
            elif kind == "TIE":
                draft.tied_ahead.update(str(word) for word in words[1:] if word.type == "NAME")
                for _, *places in tied_places(words):
                    draft.tied_ahead.update(
                        f"{of}-{name}" for of, row in zip(words[1:4:2], places, strict=True) for name in row
                    )
            elif kind == "USE" and len(words) > 1:
                self._use(file, words, parsed, chain)

    def _points(self, file: str, statement: Statement, parsed: Parsed) -> None:
        """Read a file of points for whoever reads the line; what is wrong with it is said there."""
        token = statement[1]
        line = statement[0].line or 0
        span = Span(file, line, token.column or 1, token.end_column or 2)
        written = parsed.original[token.start_pos : token.end_pos].strip(" \t")
        try:
            path = posixpath.join(self._draft.folder, checked_path(written, span, "controls"))
            found = self._read_points(path, span)
        except Mistake as problem:
            self._draft.point_files[file, line] = problem
            return
        self._draft.control_names.update(one.name for one in found.points)
        self._draft.point_files[file, line] = found

    def _read_points(self, path: str, span: Span) -> PointFile:
        # Imported here, since few logs name such a file.
        from traverse.points.read_points import read_points

        shown = shortened(path)
        try:
            data = self._load(path)
        except (OSError, ValueError) as problem:
            raise not_had("controls-missing", shown, span, problem) from None
        try:
            return read_points(shown, data)
        except UnreadableError as problem:
            raise Mistake("controls-unread", str(problem), span, problem.hint) from None

    def _gather_misspelt(self, line: str) -> None:
        """Names that a line with a slip in its first word gives: what rests on them is not called wrong as well."""
        words = line.split()
        meant = meant_word(line) if len(words) > 2 else None
        if meant == "unit" and ";" in line:
            self._draft.unit_order.setdefault(words[1], len(self._draft.unit_order))
        elif meant == "control":
            self._draft.control_names.add(words[1])

    def _use(self, file: str, statement: Statement, parsed: Parsed, chain: tuple[str, ...]) -> None:
        token = statement[1]
        line = statement[0].line or 0
        span = Span(file, line, token.column or 1, token.end_column or 2)
        written = parsed.original[token.start_pos : token.end_pos].strip(" \t")
        try:
            path = posixpath.join(self._draft.folder, checked_path(written, span))
            not_in_circle(path, chain, span)
            if path in self._draft.sources:
                return
            source = self._source(path, span)
        except Mistake as problem:
            self._draft.say(problem.diagnostic)
            self._draft.cause(("unread", "USE"), problem.diagnostic)
            source = None
        if source is None:
            self._draft.failed |= HEADING_KINDS
            return
        self._draft.sources[path] = source
        inner = parse(source)
        self._inner[file, line] = source, inner
        self._gather(path, inner, (*chain, path))

    def _source(self, path: str, span: Span) -> Source | None:
        try:
            data = self._load(path)
        except (OSError, ValueError) as problem:
            raise not_had("use-missing", shortened(path), span, problem) from None
        outcome = decode(path, data)
        for one in outcome.diagnostics:
            self._draft.say(one)
            self._draft.cause(("unread", "USE"), one)
        return outcome.value


def not_in_circle(path: str, chain: tuple[str, ...], span: Span, *, word: str = "use") -> None:
    """A mistake where a file that a line of this `word` brings in brings in itself, or many do in a row."""
    what, deed = ("files", "use one another") if word == "use" else ("logs", "bring one another in")
    if path in chain:
        circle = " -> ".join((*chain[chain.index(path) :], path))
        raise Mistake(
            f"{word}-circle",
            f"{what} {deed} in a circle: {shortened(circle, 200)}",
            span,
            f"leave one `{word}` line out",
        )
    if len(chain) > DEEPEST:
        raise Mistake(f"{word}-deep", f"more than {DEEPEST} {what} {deed} in a row", span, "use fewer")
