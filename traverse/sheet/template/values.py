"""Settings of a template as numbers, each with its place in the file, and what is wrong with them."""

from __future__ import annotations

from collections.abc import Mapping

from traverse.diagnostic import Diagnostic, error
from traverse.sheet.template.settings import SETTINGS, Kind, Setting, setting_of
from traverse.source import Source, Span
from traverse.toml_text import found_at, toml_places

_STAND_IN_MM = 300.0
"""For a length that could not be read, so that nothing else is called wrong for its sake."""


class Values:
    """Reads settings of one template and gathers what is wrong with them."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.said: list[Diagnostic] = []
        self.missing: list[str] = []
        self.spans = toml_places(source)

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
