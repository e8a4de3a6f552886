"""TOML as people type it: where each setting stands, and what is wrong with a text that is none."""

from __future__ import annotations

import errno
import re
import sys
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path

from traverse.diagnostic import Diagnostic, error
from traverse.source import Source, Span, may_never_end

_MOST_LETTERS = 1024 * 1024
"""Those that ship have some thousand."""
_MOST_FIGURE = 2**63
"""A whole number of TOML has 64 bits (TOML 1.0, Integer)."""


def read_toml(path: Path) -> str:
    """The text of a file of settings. Raises `OSError` with the reason in words, `UnicodeDecodeError`."""
    if may_never_end(str(path)):
        raise OSError(errno.EINVAL, "it is a pipe, and waiting on it may never end")
    with path.open(encoding="utf-8") as file:
        text = file.read(_MOST_LETTERS + 1)
    if len(text) > _MOST_LETTERS:
        raise OSError(errno.EFBIG, "over 1 MB; settings are never so long")
    return text


def toml_table(source: Source, code: str, remedy: str) -> dict[str, object] | Diagnostic:
    """The settings of a text, or what is wrong with it."""
    try:
        table = tomllib.loads(source.text)
    except (ValueError, RecursionError) as problem:
        return _no_toml(problem, source, code, remedy)
    large = next(_too_large(table, ""), None)
    if large is None:
        return table
    return _too_long(toml_places(source).get(large) or Span(source.name, 1, 1, 2), code, remedy)


def _too_large(value: object, key: str) -> Iterator[str]:
    """The keys of whole numbers that no setting can be."""
    if isinstance(value, int) and abs(value) > _MOST_FIGURE:
        yield key
    elif isinstance(value, list):
        for one in value:
            yield from _too_large(one, key)
    elif isinstance(value, Mapping):
        for name, one in value.items():
            yield from _too_large(one, f"{key}.{name}" if key else name)


def _too_long(span: Span, code: str, remedy: str) -> Diagnostic:
    return error(code, "a figure with more digits than any setting takes", span, remedy)


def found_at(table: Mapping[str, object], key: str) -> object:
    """The value of a key such as `page.width`; None where there is none."""
    value: object = table
    while isinstance(value, Mapping):
        # A name of the template's own may have a point in it.
        if key in value:
            return value[key]
        part, _, key = key.partition(".")
        value = value.get(part)
    return None


_HEAD = re.compile(r"\s*\[\s*([^\[\]]+?)\s*\]\s*(?:#.*)?$")
_PART = re.compile(r"([\w-]+)\s*=\s*(?:\[[^\]]*\]|\"[^\"]*\"|'[^']*'|[^,}\s]+)")
"""A setting inside braces."""
_SETTING = re.compile(r"\s*([\w.-]+|\"[^\"]*\"|'[^']*')\s*=\s*(.*)$")


def toml_places(source: Source) -> dict[str, Span]:
    """Where each table and setting stands: its line from the name to the end of the value."""
    found: dict[str, Span] = {}
    table = ""
    for number, line in enumerate(source.lines, start=1):
        head = _HEAD.match(line)
        if head is not None:
            table = _bare(head[1])
            found.setdefault(table, Span(source.name, number, head.start(1) + 1, head.end(1) + 1))
            continue
        setting = _SETTING.match(line)
        if setting is not None:
            key = _bare(setting[1])
            end = setting.start(2) + len(re.sub(r"\s+#[^\"']*$", "", setting[2]).rstrip())
            span = Span(source.name, number, setting.start(1) + 1, end + 1)
            whole = f"{table}.{key}" if table else key
            found.setdefault(whole, span)
            if setting[2].startswith("{"):
                for part in _PART.finditer(setting[2][: end - setting.start(2)]):
                    first, last = (setting.start(2) + one + 1 for one in part.span())
                    found.setdefault(f"{whole}.{_bare(part[1])}", Span(source.name, number, first, last))
    return found


def _bare(name: str) -> str:
    return ".".join(part.strip().strip("\"'") for part in name.split("."))


def _deepest(source: Source) -> tuple[int, int]:
    """Line and column of the bracket that stands within most others."""
    depth, most, found = 0, -1, (1, 1)
    for number, line in enumerate(source.lines, start=1):
        for column, char in enumerate(line, start=1):
            if char in "[{":
                if depth > most:
                    most, found = depth, (number, column)
                depth += 1
            elif char in "]}":
                depth -= 1
    return found


_COMMA = re.compile(r"\s*([\w.-]+)\s*=\s*([+-]?\d+),(\d+)\s*(?:#.*)?$")
_TWICE = "overwrite a value"
_NAMED = re.compile(r"\s*(?:\[\s*)?([\w.-]+)")


_QUOTED = r""""{3}.*?"{3}|'{3}.*?'{3}|"(?:\\.|[^"\\\n])*"|'[^'\n]*'|#[^\n]*"""
_QUOTED_OR_FIGURE = re.compile(rf"{_QUOTED}|(?P<figure>\d[\d_]*)", re.DOTALL)
"""Words and comments are passed over; in them figures may be as long as they like."""

_GOES_ON = (".", "e", "E")
"""Behind the digits of a number that is no whole one."""


def _long_figure(source: Source) -> Span | None:
    """Where the first whole number stands that is longer than Python reads."""
    for one in _QUOTED_OR_FIGURE.finditer(source.text):
        long = one["figure"] is not None and len(one["figure"]) > sys.int_info.default_max_str_digits
        if long and not source.text.startswith(_GOES_ON, one.end()):
            line = source.text.count("\n", 0, one.start()) + 1
            column = one.start() - source.text.rfind("\n", 0, one.start())
            return Span(source.name, line, column, column + len(one["figure"]))
    return None


def _no_toml(problem: ValueError | RecursionError, source: Source, code: str, remedy: str) -> Diagnostic:
    """What is wrong with a text that is no TOML; the slips that people make in their own words."""
    if isinstance(problem, RecursionError):
        at, column = _deepest(source)
        return error(
            code, "brackets within too many brackets", Span(source.name, at, column, column + 1), remedy
        )
    if not isinstance(problem, tomllib.TOMLDecodeError):
        return _too_long(_long_figure(source) or Span(source.name, 1, 1, 2), code, remedy)
    found = re.search(r"\(at line (\d+), column (\d+)\)", str(problem))
    number, column = (int(found[1]), int(found[2])) if found else (max(1, len(source.lines)), 1)
    words = str(problem).partition(" (at ")[0]
    span = Span(source.name, number, column, column + 1)
    line = source.lines[span.line - 1] if span.line <= len(source.lines) else ""
    comma, named = _COMMA.match(line), _NAMED.match(line)
    if comma is not None:
        whole = Span(span.file, span.line, comma.start(2) + 1, comma.end(3) + 1)
        return error(
            code,
            f"{comma[2]},{comma[3]} is no number here",
            whole,
            f"with a point: `{comma[1]} = {comma[2]}.{comma[3]}`",
        )
    if _TWICE in words.lower() and named is not None:
        whole = Span(span.file, span.line, named.start(1) + 1, named.end(1) + 1)
        return error(code, f"`{named[1]}` stands twice", whole, "leave one of the two lines out")
    return error(code, f"this is no TOML: {words[:1].lower()}{words[1:]}", span, remedy)
