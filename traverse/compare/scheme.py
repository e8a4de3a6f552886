"""A marking scheme from a file of TOML; all that is wrong with it is told at once, each with its place."""

from __future__ import annotations

import difflib
from pathlib import Path

from traverse.compare.records import Grade, Part, Scheme
from traverse.diagnostic import Diagnostic, Outcome, error
from traverse.resources import data
from traverse.source import Source, Span
from traverse.toml_text import found_at, read_toml, toml_places, toml_table

_COPY = "copy templates/marks.toml and change its figures"
_TEXT = ("name", "by", *(f"words.{grade.value}" for grade in Grade))
_FIGURES: dict[str, tuple[float, float]] = {
    **{f"weights.{part.value}": (0.0, 1000.0) for part in Part},
    "place.metres": (0.0, 1000.0),
    "place.share": (0.0, 1.0),
    "place.part": (1.0, 100.0),
    "place.pair": (0.0, 10_000.0),
    "attitude.full": (0.0, 90.0),
    "attitude.pass": (0.0, 90.0),
    "attitude.part": (0.0, 90.0),
    "contact.met": (0.0, 1.0),
    "contact.kind": (0.0, 1.0),
    "contact.place": (0.0, 1.0),
    "contact.certainty": (0.0, 1.0),
    "contact.serious": (0.0, 1.0),
    "contact.turned": (0.0, 1.0),
    "contact.metres": (0.0, 1000.0),
    "contact.widest": (1.0, 1000.0),
    "thickness.share": (0.0, 10.0),
    "process.walks": (1.0, 100.0),
    "credits.pass": (0.0, 1.0),
    "credits.part": (0.0, 1.0),
}
"""Least and most of each."""
_MAY_LACK = frozenset({"contact.turned"})
"""Came later: a scheme that does not say it takes nothing off for it."""
_KNOWN = (*_TEXT, *_FIGURES)
_TABLES = tuple(dict.fromkeys(key.partition(".")[0] for key in _KNOWN if "." in key))


def read_scheme(name: str | None) -> tuple[Outcome[Scheme | None], Source | None]:
    """The scheme of a file, or the one that ships; None with errors, and the text that they point into."""
    path = data("templates", "marks.toml") if name is None else Path(name)
    shown = name or "marks.toml"
    try:
        source = Source(name=shown, text=read_toml(path))
    except OSError as problem:
        said = error("marks", f"the scheme {shown} can't be read: {problem.strerror or problem}", None, _COPY)
        return Outcome(None, (said,)), None
    except ValueError:
        return Outcome(None, (error("marks", f"{shown} is no text in UTF-8", None, _COPY),)), None
    table = toml_table(source, "marks", _COPY)
    if isinstance(table, Diagnostic):
        return Outcome(None, (table,)), source
    reader = _SchemeReader(source)
    found = reader.scheme(table)
    if reader.said:
        return Outcome(
            None, tuple(sorted(reader.said, key=lambda one: one.span[1:3] if one.span else (0, 0)))
        ), source
    return Outcome(found), source


class _SchemeReader:
    """Reads one scheme and gathers what is wrong with it."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.spans = toml_places(source)
        self.said: list[Diagnostic] = []

    def scheme(self, table: dict[str, object]) -> Scheme:
        """The record, with stand-ins for what is wrong."""
        self._unknown(table)
        missing = [
            key
            for key in _KNOWN
            if key not in _MAY_LACK
            and found_at(table, key) is None
            and key.partition(".")[0] not in self._untabled(table)
        ]
        if missing:
            words = ", ".join(f"`{key}`" for key in missing)
            self._wrong("", f"this scheme does not say {words}", _COPY)
        text = {key: self._text(table, key) for key in _TEXT}
        figure = {key: self._figure(table, key) for key in _FIGURES}
        limits = (figure["attitude.full"], figure["attitude.pass"], figure["attitude.part"])
        if list(limits) != sorted(limits) and not self.said:
            self._wrong(
                "attitude", "full, pass and part of [attitude] don't rise", "such as 5, 10 and 20 degrees"
            )
        if figure["credits.part"] > figure["credits.pass"] and not self.said:
            self._wrong("credits", "part of [credits] is more than pass", "at most as much as pass")
        shares = sum(figure[f"contact.{name}"] for name in ("met", "kind", "place", "certainty"))
        if abs(shares - 1.0) > 1e-6 and not self.said:
            self._wrong(
                "contact",
                f"met, kind, place and certainty of [contact] make {shares:g} together",
                "they must make 1",
            )
        if not self.said and not any(figure[f"weights.{part.value}"] for part in Part):
            self._wrong("weights", "[weights] gives no marks for anything", "one of them above 0")
        return Scheme(
            name=text["name"],
            by=text["by"],
            weights=({part: figure[f"weights.{part.value}"] for part in Part}),
            place_m=figure["place.metres"],
            place_share=figure["place.share"],
            place_part=figure["place.part"],
            pair_m=figure["place.pair"],
            attitude_deg=limits,
            contact_met=figure["contact.met"],
            contact_kind=figure["contact.kind"],
            contact_place=figure["contact.place"],
            contact_certainty=figure["contact.certainty"],
            contact_serious=figure["contact.serious"],
            contact_turned=figure["contact.turned"],
            contact_m=figure["contact.metres"],
            contact_widest=figure["contact.widest"],
            thickness_share=figure["thickness.share"],
            pace_walks=round(figure["process.walks"]),
            credits=({
                Grade.FULL: 1.0,
                Grade.NEAR: figure["credits.pass"],
                Grade.PART: figure["credits.part"],
                Grade.NONE: 0.0,
                Grade.SERIOUS: 0.0,
                Grade.MISSING: 0.0,
            }),
            words=({grade: text[f"words.{grade.value}"] for grade in Grade}),
        )  # fmt: skip

    def _untabled(self, table: dict[str, object]) -> set[str]:
        return {name for name in _TABLES if name in table and not isinstance(table[name], dict)}

    def _unknown(self, table: dict[str, object]) -> None:
        for name, value in table.items():
            if name in _TABLES:
                if not isinstance(value, dict):
                    self._wrong(
                        name, f"`{name}` must be a table", f"a line `[{name}]` with settings below it"
                    )
                    continue
                for key in value:
                    if f"{name}.{key}" not in _KNOWN:
                        self._not_known(
                            f"{name}.{key}",
                            key,
                            [k.partition(".")[2] for k in _KNOWN if k.startswith(f"{name}.")],
                            f" in [{name}]",
                        )
            elif name not in _KNOWN:
                self._not_known(name, name, ["name", "by", *_TABLES], "")

    def _not_known(self, path: str, key: str, known: list[str], where: str) -> None:
        near = difflib.get_close_matches(key, known, n=1)
        hint = f"do you mean `{near[0]}`?" if near else f"there is {', '.join(known)}"
        self._wrong(path, f"no setting `{key}` is known{where}", hint)

    def _wrong(self, key: str, message: str, hint: str) -> None:
        span = self.spans.get(key) or self.spans.get(key.rpartition(".")[0])
        self.said.append(error("marks", message, span or Span(self.source.name, 1, 1, 1), hint))

    def _text(self, table: dict[str, object], key: str) -> str:
        value = found_at(table, key)
        if value is not None and (not isinstance(value, str) or not value.strip()):
            self._wrong(
                key, f"`{key}` must be words in quotes", f'such as `{key.rpartition(".")[2]} = "right"`'
            )
        words = " ".join(value.split()) if isinstance(value, str) else ""
        odd = next((one for one in words if not one.isprintable()), None)
        if odd is not None:
            self._wrong(
                key,
                f"`{key}` holds U+{ord(odd):04X}, which is no letter and would not be printed",
                "leave it out",
            )
        return words

    def _figure(self, table: dict[str, object], key: str) -> float:
        value, (least, most) = found_at(table, key), _FIGURES[key]
        if value is None:
            return least
        if isinstance(value, bool) or not isinstance(value, int | float):
            self._wrong(key, f"`{key}` must be a number", f"from {least:g} to {most:g}")
        elif not least <= value <= most:
            self._wrong(key, f"`{key}` must be from {least:g} to {most:g}", "another figure")
        else:
            return float(value)
        return least
