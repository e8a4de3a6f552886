"""Settings of a template as numbers, each with its place in the file, and what is wrong with them."""

from __future__ import annotations

import re
from collections.abc import Mapping

from traverse.diagnostic import Diagnostic, error
from traverse.sheet.template.settings import SETTINGS, Kind, Setting, setting_of
from traverse.source import Source, Span

_STAND_IN_MM = 300.0
"""For a length that could not be read, so that nothing else is called wrong for its sake."""


class Values:
    """Reads settings of one template and gathers what is wrong with them."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.said: list[Diagnostic] = []
        self.missing: list[str] = []
        self.spans = _places(source)

    def find_missing(self, table: Mapping[str, object]) -> None:
        """Note what a template must say and does not, but for what stands in a table that was called wrong."""
        for name, setting in SETTINGS.items():
            key = name.removesuffix(".*")
            paged = key.startswith("page.") and not isinstance(table.get("page"), dict)
            if setting.needed and not paged and found_at(table, key) is None and not self.told(key):
                self.missing.append(key)

    def wrong(self, key: str, message: str, hint: str) -> None:
        """Say what is wrong with the value of a key, or with the table that lacks it."""
        span = self.spans.get(key)
        while span is None and "." in key:
            key = key.rpartition(".")[0]
            span = self.spans.get(key)
        self.said.append(error("template", message, span or Span(self.source.name, 1, 1, 1), hint))

    def length(self, table: Mapping[str, object], key: str) -> float:
        """A length in millimetres, a stand-in where it is missing or wrong."""
        return self._number(found_at(table, key), key, setting_of(key))

    def lengths(self, table: Mapping[str, object], key: str) -> tuple[float, ...]:
        """As many lengths in millimetres as the setting has, stand-ins where they are missing or wrong."""
        value, setting = found_at(table, key), setting_of(key)
        count = setting.count
        if value is None:
            return (_STAND_IN_MM,) * count
        if not isinstance(value, list) or len(value) != count:
            self.wrong(key, f"`{key}` must be {count} {setting.kind.value}", _such(setting))
            return (_STAND_IN_MM,) * count
        return tuple(self._number(one, key, setting) for one in value)

    def _number(self, value: object, key: str, setting: Setting) -> float:
        if value is None:
            return _STAND_IN_MM
        if isinstance(value, bool) or not isinstance(value, int | float):
            self.unless_said(key, f"`{key}` must be {Kind.LENGTH.value}", _such(setting))
        elif not setting.least <= value <= setting.most:
            above = "above 0" if setting.least else "from 0"
            self.unless_said(
                key, f"`{key}` must be a length {above} to {setting.most:.0f} mm", _such(setting)
            )
        else:
            return float(value)
        return _STAND_IN_MM

    def share(self, table: Mapping[str, object], key: str) -> float:
        """A part of a whole, above 0."""
        value, setting = found_at(table, key), setting_of(key)
        if value is None:
            return self._number(value, key, setting)
        if isinstance(value, bool) or not isinstance(value, int | float) or not 0.0 < value <= setting.most:
            self.wrong(
                key, f"`{key}` must be {setting.kind.value} above 0 to {setting.most:g}", _such(setting)
            )
            return setting.most
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


def _such(setting: Setting) -> str:
    return f"{setting.words}, such as {setting.such}"


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
