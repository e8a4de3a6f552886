"""The one canonical layout of a log: the same records, one line for one line."""

from __future__ import annotations

from typing import Final

from lark import Token

from traverse.diagnostic import Outcome, Severity, error
from traverse.log.described import DESCRIBED
from traverse.notation.layout import as_read, canonical
from traverse.notation.parse import Parsed, Statement, parse
from traverse.notation.read import read_log
from traverse.source import Source, Span

_PLACES: Final = frozenset({"AT", "FROM", "TO", "CLOSE", "SIDE"})
_ON_LEG: Final = frozenset({"ALONG", "COVERED"})
_THINGS: Final = frozenset(word.upper() for word in DESCRIBED)
_ANSWERS: Final = frozenset({"CHECKED", "WAS", "OMIT"})
_COLUMN: Final = frozenset({
    "TRAVERSE", "DATE", "PARTY", "AREA", "WEATHER", "INSTRUMENT", "HEIGHTS", "PAGE", "EMERGENCY", "GROUP", "GRID",
    "BEARINGS", "DECLINATION", "ATTITUDES", "PACE", "PRECISION", "DISTANCES", "DECIMALS", "PACER", "READER", "COMPASS",
})  # fmt: skip
"""Statements of the heading whose words begin in one column. It is fixed, so that no line moves another."""
_HEADING_WIDTH: Final = 11
_THING_WIDTH: Final = 5


def tidy(source: Source) -> Outcome[str]:
    """The text in canonical layout; unchanged, with the errors, where it has any.

    Words, readings and comments stay as typed. Files that the log uses are not looked at. What is laid out is read
    again: a leg that would say something else in its canonical order keeps the order it was typed in.
    """
    found = read_log(source, load=_not_looked_at).diagnostics
    errors = tuple(
        one
        for one in found
        if one.severity is Severity.ERROR
        and one.code not in {"use-missing", "log-missing", "controls-missing"}
    )
    if errors:
        return Outcome(source.text, errors)
    parsed = parse(source)
    text = _laid_out(parsed)
    otherwise = _otherwise(parsed, text)
    if otherwise:
        text = _laid_out(parsed, otherwise)
        otherwise = _otherwise(parsed, text)
    if otherwise:
        line = source.lines[min(otherwise) - 1]
        span = Span(source.name, min(otherwise), 1, len(line) + 1)
        fault = error(
            "tidy-otherwise", "laid out, this line would say something else", span, "write it another way"
        )
        return Outcome(source.text, (fault,))
    return Outcome(text)


def _otherwise(parsed: Parsed, text: str) -> frozenset[int]:
    """Lines that say something else when the text laid out is read again."""
    again = [one for one in parse(Source(name="", text=text)).lines if isinstance(one, list)]
    before = [one for one in parsed.lines if isinstance(one, list)]
    found = {
        one[0].line or 0 for one, other in zip(before, again, strict=False) if as_read(one) != as_read(other)
    }
    if len(again) != len(before) and not found:
        found = {before[-1][0].line or 0}
    return frozenset(found)


def _not_looked_at(path: str) -> bytes:
    raise OSError(path)


class _TidyLines:
    """Lines written so far, and what they say of the next one."""

    def __init__(self) -> None:
        self.lines: list[str] = []
        self.walking = False
        """Whether the first place has been reached."""
        self.indent = 0
        """Of the last statement that is no answer."""
        self.current = 0
        """Of the last statement."""

    def blank(self) -> None:
        if self.lines and self.lines[-1]:
            self.lines.append("")


def _laid_out(parsed: Parsed, as_typed: frozenset[int] = frozenset()) -> str:
    layout = _TidyLines()
    remarks: list[tuple[str, bool]] = []
    last = 0
    for one in parsed.lines:
        first = one if isinstance(one, Token) else one[0] if isinstance(one, list) else None
        assert first is not None
        line = first.line or 0
        apart = line > last + 1
        last = line
        if isinstance(one, list):
            _statement(layout, one, parsed.original, remarks, apart=apart, in_order=line not in as_typed)
            remarks = []
            continue
        assert isinstance(one, Token)
        text = parsed.original[one.start_pos : one.end_pos].rstrip(" \t")
        if one.type == "COMMENT":
            layout.lines[-1] += f"  {text}"
        elif one.type == "REMARK":
            remarks.append((text, apart))
        else:
            margin = " " * (layout.current + 4)
            layout.lines += [margin + remark for remark, _ in remarks]
            remarks = []
            piece = text[1:].strip(" \t")
            layout.lines.append(f"{margin}| {piece}".rstrip(" "))
    for remark, apart in remarks:
        if apart:
            layout.blank()
        layout.lines.append(remark)
    return "\n".join([*layout.lines, ""]) if layout.lines else ""


def _statement(
    layout: _TidyLines,
    statement: Statement,
    original: str,
    remarks: list[tuple[str, bool]],
    *,
    apart: bool,
    in_order: bool,
) -> None:
    kind = statement[0].type
    definition = kind == "UNIT" and len(statement) > 2
    thing = kind in _THINGS and not definition
    indent = width = 0
    if kind in _PLACES:
        layout.blank()
        layout.walking = True
    elif thing:
        indent, width = 2, _THING_WIDTH
    elif kind in _ANSWERS:
        indent = layout.indent + 2
    elif definition:
        width = _THING_WIDTH
    elif kind in _COLUMN and not layout.walking:
        width = _HEADING_WIDTH
    # blank lines part the groups of the heading as they were typed; within a place there are none
    own = not thing and kind not in _ANSWERS | _ON_LEG | _PLACES
    for at, (remark, before) in enumerate([*remarks, ("", apart)]):
        if before and own and (at == 0 or not layout.walking):
            layout.blank()
        if remark:
            layout.lines.append(" " * indent + remark)
    text = canonical(statement, original, width=width, in_order=in_order)
    layout.lines.append(" " * indent + _spaced(statement, text))
    layout.current = indent
    if kind not in _ANSWERS:
        layout.indent = indent


def _spaced(statement: Statement, text: str) -> str:
    """The name of a leg's end stands apart from its readings."""
    if statement[0].type not in _PLACES - {"AT"}:
        return text
    words = 4 if statement[0].type == "FROM" else 2
    parts = text.split(" ", words)
    return f"{' '.join(parts[:words])}  {parts[words]}" if len(parts) > words else text
