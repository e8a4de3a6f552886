"""Settings of a template as numbers, each with its place in the file, and what is wrong with them."""

from __future__ import annotations

import re
from collections.abc import Mapping

from traverse.diagnostic import Diagnostic, error
from traverse.source import Source, Span

LARGEST_MM = 5000.0
_MOST_SHARE = 0.6
_STAND_IN_MM = 300.0
"""For a length that could not be read, so that nothing else is called wrong for its sake."""


class Values:
    """Reads settings of one template and gathers what is wrong with them."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.said: list[Diagnostic] = []
        self.missing: list[str] = []
        self.spans = _places(source)

    def wrong(self, key: str, message: str, hint: str) -> None:
        """Say what is wrong with the value of a key, or with the table that lacks it."""
        span = self.spans.get(key)
        while span is None and "." in key:
            key = key.rpartition(".")[0]
            span = self.spans.get(key)
        self.said.append(error("template", message, span or Span(self.source.name, 1, 1, 1), hint))

    def length(self, table: Mapping[str, object], key: str, *, least: float = 1e-6) -> float:
        """A length in millimetres, a stand-in where it is missing or wrong."""
        return self._number(found_at(table, key), key, least)

    def lengths(
        self, table: Mapping[str, object], key: str, count: int, *, least: float = 1e-6
    ) -> tuple[float, ...]:
        """So many lengths in millimetres, stand-ins where they are missing or wrong."""
        value = found_at(table, key)
        if value is None:
            self.missing.append(key)
            return (_STAND_IN_MM,) * count
        if not isinstance(value, list) or len(value) != count:
            self.wrong(key, f"`{key}` must be {count} lengths in millimetres", f"such as {_such(count)}")
            return (_STAND_IN_MM,) * count
        return tuple(self._number(one, key, least) for one in value)

    def _number(self, value: object, key: str, least: float) -> float:
        if value is None:
            if not self.told(key):
                self.missing.append(key)
        elif isinstance(value, bool) or not isinstance(value, int | float):
            self.unless_said(key, f"`{key}` must be a length in millimetres", "a number such as 10.0")
        elif not least <= value <= LARGEST_MM:
            above = "above 0" if least else "from 0"
            self.unless_said(
                key, f"`{key}` must be a length {above} to {LARGEST_MM:.0f} mm", "a number such as 10.0"
            )
        else:
            return float(value)
        return _STAND_IN_MM

    def share(self, table: Mapping[str, object], key: str) -> float:
        """A part of a whole, above 0."""
        value = found_at(table, key)
        if value is None:
            return self._number(value, key, 0.0)
        if isinstance(value, bool) or not isinstance(value, int | float) or not 0.0 < value <= _MOST_SHARE:
            self.wrong(key, f"`{key}` must be a share above 0 to {_MOST_SHARE:g}", "a number such as 0.3")
            return _MOST_SHARE
        return float(value)

    def unless_said(self, key: str, message: str, hint: str) -> None:
        """Say it, but not twice in the same words."""
        if not any(one.message == message for one in self.said):
            self.wrong(key, message, hint)

    def unless_told(self, key: str, message: str, hint: str) -> None:
        """Say it where nothing was said of that setting before."""
        if not self.told(key):
            self.wrong(key, message, hint)

    def stands(self, *keys: str) -> bool:
        """Whether the template says all of these, and nothing is wrong with them."""
        return not any(key in self.missing or self.told(key) for key in keys)

    def told(self, key: str) -> bool:
        """Whether something was said of a setting, or of the table that it stands in."""
        while key:
            span = self.spans.get(key)
            if span is not None and any(one.span == span for one in self.said):
                return True
            key = key.rpartition(".")[0]
        return False


def _such(count: int) -> str:
    return {2: "[210.0, 297.0]", 3: "[61.0, 69.0, 55.9]", 4: "[14.0, 89.0, 192.0, 107.0]"}[count]


def found_at(table: Mapping[str, object], key: str) -> object:
    """The value of a key such as `page.width`; None where there is none."""
    value: object = table
    for part in key.split("."):
        value = value.get(part) if isinstance(value, dict) else None
    return value


_HEAD = re.compile(r"\s*\[\s*([^\[\]]+?)\s*\]\s*(?:#.*)?$")
_PART = re.compile(r"([\w-]+)\s*=\s*(?:\[[^\]]*\]|\"[^\"]*\"|'[^']*'|[^,}\s]+)")
"""A setting inside braces."""
_SETTING = re.compile(r"\s*([\w.-]+|\"[^\"]*\"|'[^']*')\s*=\s*(.*)$")


def _places(source: Source) -> dict[str, Span]:
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
