"""Lines and signs of a template: pens and sizes of the user's own in place of those that ship."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from itertools import combinations

from traverse.sheet.paper.page import Pen
from traverse.sheet.paper.style import SHIPPED_PENS
from traverse.sheet.signs.measures import SHIPPED
from traverse.sheet.signs.symbols import LINES
from traverse.sheet.template.settings import SETTINGS, Setting

Wrong = Callable[[str, str, str], None]
"""Takes the key that is wrong, what is wrong with it, and what to write instead."""

_WIDTH, _DASH, _COLOUR, _ROUND, _SIZE = (
    SETTINGS[name]
    for name in ("lines.*.width", "lines.*.dash", "lines.*.colour", "lines.*.round", "signs.*.*")
)
_DOT_MM = 0.02
"""A dash of a line with round ends may be as short as this: it prints as a dot."""
_PARTS = tuple(name.rpartition(".")[2] for name in SETTINGS if name.startswith("lines.*."))
_OTHERS = (
    "symbol",
    "symbol fine",
    "leader",
    "neat line",
    "apparent dip",
    "section end",
    "contour every fifth",
)
"""Pens that are no lines of the legend, but may be replaced as well."""
_FAMILIES = ("contact", "fault")


def replaceable_lines() -> tuple[str, ...]:
    """Names of the lines that a template may replace."""
    return (*LINES, *_OTHERS)


def read_lines(table: object, wrong: Wrong) -> dict[str, Pen]:
    """The pens of `[lines]` by the name of their line; what is wrong is told through `wrong`."""
    found: dict[str, Pen] = {}
    for key, value in table.items() if isinstance(table, dict) else ():
        name = _spelt(key)
        at = f"lines.{key}"
        if name not in replaceable_lines():
            wrong(at, f"no line `{key}` is known", _known(key, replaceable_lines()))
        elif not isinstance(value, dict):
            wrong(at, f"`{at}` must be a table", "such as `{ width = 0.25, dash = [3.5, 0.75] }`")
        else:
            found[name] = _pen(at, SHIPPED_PENS[name], value, wrong)
    _tell_alike(found, wrong)
    return found


def read_signs(table: object, wrong: Wrong) -> dict[str, dict[str, float]]:
    """The sizes of `[signs]` in millimetres, by sign and part; what is wrong is told through `wrong`."""
    found: dict[str, dict[str, float]] = {}
    for key, value in table.items() if isinstance(table, dict) else ():
        name = _spelt(key)
        at = f"signs.{key}"
        if name not in SHIPPED:
            wrong(at, f"no sign `{key}` is known", _known(key, SHIPPED))
            continue
        if not isinstance(value, dict):
            part, size = next(iter(SHIPPED[name].items()))
            wrong(at, f"`{at}` must be a table", f"such as `{{ {part} = {size:g} }}`")
            continue
        sizes: dict[str, float] = {}
        for part, size in value.items():
            inner = f"{at}.{part}"
            if _spelt(part) not in SHIPPED[name]:
                wrong(inner, f"`{key}` has no part `{part}`", _known(part, SHIPPED[name]))
            elif not _is_length(size, _SIZE):
                usual = SHIPPED[name][_spelt(part)]
                wrong(
                    inner,
                    f"`{inner}` must be a length from {_SIZE.least:g} to {_SIZE.most:g} mm",
                    f"a number such as {usual:g}",
                )
            else:
                sizes[_spelt(part)] = float(size)
        found[name] = sizes
    return found


def _spelt(key: str) -> str:
    """A name as the tables have it: a template writes `fault_down` for `fault down`."""
    return key.replace("_", " ")


def _known(key: str, names: Iterable[str]) -> str:
    written = [name.replace(" ", "_") for name in names]
    near = difflib.get_close_matches(key, written, n=1)
    return f"do you mean `{near[0]}`?" if near else f"there is {', '.join(written)}"


def _is_length(value: object, setting: Setting, *, least: float | None = None) -> bool:
    """Whether a value is a length within the limits of its setting, or above another `least`."""
    least = setting.least if least is None else least
    return isinstance(value, int | float) and not isinstance(value, bool) and least <= value <= setting.most


def _pen(at: str, pen: Pen, table: Mapping[str, object], wrong: Wrong) -> Pen:
    for part in table:
        if part not in _PARTS:
            wrong(f"{at}.{part}", f"a line has no `{part}`", _known(part, _PARTS))
    width, colour, rounded = (
        table.get(part, usual)
        for part, usual in (("width", pen.width_mm), ("colour", pen.colour), ("round", pen.round_cap))
    )
    if not _is_length(width, _WIDTH):
        wrong(
            f"{at}.width",
            f"a line is {_WIDTH.least:g} to {_WIDTH.most:g} mm wide",
            f"a number such as {pen.width_mm:g}",
        )
        width = pen.width_mm
    if not isinstance(colour, str) or not re.fullmatch("#[0-9a-fA-F]{6}", colour):
        wrong(f"{at}.colour", f"{colour} is no colour", f"{_COLOUR.words}, such as {_COLOUR.such}")
        colour = pen.colour
    if not isinstance(rounded, bool):
        wrong(f"{at}.round", f"`round` is {_ROUND.kind.value}", "`round = true` for dots")
        rounded = pen.round_cap
    dash = table.get("dash", list(pen.dash_mm))
    least = _DOT_MM if rounded else _DASH.least
    if (
        not isinstance(dash, list)
        or len(dash) % 2
        or not all(_is_length(one, _DASH, least=least) for one in dash)
    ):
        usual = ", ".join(f"{one:g}" for one in pen.dash_mm) or "3.5, 0.75"
        wrong(
            f"{at}.dash",
            f"`dash` must be {_DASH.words}, each {least:g} to {_DASH.most:g} mm",
            f"such as `[{usual}]`; `[]` for a solid line"
            + ("" if rounded else "; `round = true` with it for dots"),
        )
        dash = list(pen.dash_mm)
    assert isinstance(width, int | float)
    return replace(
        pen,
        width_mm=float(width),
        colour=colour.lower(),
        dash_mm=tuple(float(one) for one in dash),
        round_cap=rounded,
    )


def _tell_alike(found: Mapping[str, Pen], wrong: Wrong) -> None:
    """Two certainties drawn alike would tell the reader what nobody saw."""
    for family in _FAMILIES:
        names = [name for name in LINES if name.startswith(f"{family} ")]
        for one, other in combinations(names, 2):
            first, second = (found.get(name) or SHIPPED_PENS[name] for name in (one, other))
            if first == second:
                changed = other if other in found else one
                wrong(
                    f"lines.{changed.replace(' ', '_')}",
                    f"{one} and {other} would look the same",
                    "another dash or width for one of them",
                )
