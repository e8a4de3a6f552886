"""TOML as people type it: where each setting stands, and what is wrong with a text that is none."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping

from traverse.diagnostic import Diagnostic, error
from traverse.source import Source, Span


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


def no_toml(
    problem: tomllib.TOMLDecodeError | RecursionError, source: Source, code: str, remedy: str
) -> Diagnostic:
    """What is wrong with a text that is no TOML; the slips that people make in their own words."""
    if isinstance(problem, RecursionError):
        at, column = _deepest(source)
        return error(
            code, "brackets within too many brackets", Span(source.name, at, column, column + 1), remedy
        )
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
