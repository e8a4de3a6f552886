"""The legend: units youngest first, and every sign that is on the sheet, drawn by the same table as the map."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import Enum
from itertools import groupby

from traverse.location.records import Survey
from traverse.log.records import Certainty, ContactKind, Log, RockUnit
from traverse.sheet.blocks import framed
from traverse.sheet.fonts import width_mm as text_width_mm
from traverse.sheet.page import Anchor, Block, Box, Face, Item, Path, Text, polyline, rectangle
from traverse.sheet.stops import common_control, gather, own_sd, rock_line, units_on_sheet
from traverse.sheet.style import HEAD, LARGE, PENS, SMALL, UnitStyle
from traverse.sheet.symbols import LINES, SIGNS, offset, symbol
from traverse.sheet.thickness import of_unit, thickness_words
from traverse.sheet.words import at_least_one, cut, metres, number, plain
from traverse.structure.records import Geology

UNIT_PITCH_MM = 7.5
SIGN_PITCH_MM = 4.02
TIGHT_SIGN_PITCH_MM = 3.7
_HEAD_MM = 5.8
_BOX_MM = 11.0
_NAME_MM = 13.1
_SAMPLE_MM = 8.6
"""Length of a line as the legend shows it."""
_FIRST_COLUMN = 0.53


class UnitRows(Enum):
    """How much room a unit takes."""

    FULL = "full"
    CLOSE = "close"
    SHORT = "short"
    """Without the second line."""


_UNIT_ROWS = {
    UnitRows.FULL: (UNIT_PITCH_MM, 5.9, 5.5),
    UnitRows.CLOSE: (6.6, 5.5, 5.2),
    UnitRows.SHORT: (5.2, 4.2, 0.0),
}
"""From unit to unit, height of the box, and base of the second line below its top; millimetres."""


def units_block(
    log: Log,
    survey: Survey,
    geology: Geology,
    *,
    x: float,
    top: float,
    width: float,
    styles: Mapping[str, UnitStyle],
    rows: UnitRows = UnitRows.FULL,
    units: Sequence[RockUnit] | None = None,
) -> Block | None:
    """Units that are on the sheet, youngest first: box with letters, name, rock, age, measured thickness.

    None where no unit is on the sheet.
    `units` may name them where nothing on the sheet does.
    """
    units = units_on_sheet(log, geology) if units is None else tuple(units)
    if not units:
        return None
    stops = gather(log, survey, geology)
    thick = {unit.letters: thickness_words(of_unit(geology, unit.letters)) for unit in units}
    shown = [("age", any(unit.age for unit in units)), ("true thickness", any(thick.values()))]
    aside = "; ".join(words for words, there in shown if there)
    items = framed("Units, youngest first", x=x, top=top, width=width, aside=aside)
    pitch, height, second = _UNIT_ROWS[rows]
    short = rows is UnitRows.SHORT
    y = top - _HEAD_MM
    for unit in units:
        box = Box(x=x, y=y - height, width=_BOX_MM, height=height)
        items.append(Path(commands=rectangle(box), pen=PENS["unit box"], fill=styles[unit.letters].colour))
        items.append(
            Text(
                at=(x + _BOX_MM / 2, box.y + height / 2 - 1.2),
                text=unit.letters,
                face=Face.SEMIBOLD,
                size_pt=LARGE if text_width_mm(unit.letters, Face.SEMIBOLD, LARGE) <= _BOX_MM - 1 else SMALL,
                anchor=Anchor.MIDDLE,
                halo=styles[unit.letters].colour,
                halo_mm=0.2,
            )
        )
        age = plain(unit.age or "")
        below = thick[unit.letters]
        first = box.y + height / 2 - 1.0 if short else y - 2.4
        room = width - _NAME_MM
        name_width = min(text_width_mm(plain(unit.name), Face.SEMIBOLD, HEAD), room)
        if short:
            age, below = _aside(age, below, room - name_width - 1.5), ""
        age = cut(age, Face.REGULAR, SMALL, max(room - name_width - 1.5, room * 0.3)) if age else ""
        age_width = text_width_mm(age, Face.REGULAR, SMALL) + 1.5 if age else 0.0
        items.append(
            Text(
                at=(x + _NAME_MM, first),
                text=cut(unit.name, Face.SEMIBOLD, HEAD, room - age_width),
                face=Face.SEMIBOLD,
                size_pt=HEAD,
            )
        )
        if age:
            items.append(Text(at=(x + width, first), text=age, size_pt=SMALL, anchor=Anchor.END))
        if not short:
            if below:
                items.append(
                    Text(
                        at=(x + width, y - second),
                        text=below,
                        face=Face.ITALIC,
                        size_pt=SMALL,
                        anchor=Anchor.END,
                    )
                )
            rock = rock_line(unit.letters, log, stops)
            free = room - (text_width_mm(below, Face.ITALIC, SMALL) + 1.5 if below else 0.0)
            if rock:
                items.append(
                    Text(
                        at=(x + _NAME_MM, y - second),
                        text=cut(rock, Face.REGULAR, SMALL, free),
                        size_pt=SMALL,
                    )
                )
        y -= pitch
    return Block(items=tuple(items), height=_HEAD_MM + pitch * len(units) + 0.8)


def _aside(age: str, thickness: str, room: float) -> str:
    """Both where they fit on one line, else the one that was measured."""
    both = ", ".join(words for words in (age, thickness) if words)
    forms = (both, thickness, age)
    return next((one for one in forms if one and text_width_mm(one, Face.REGULAR, SMALL) <= room), both)


def signs_block(
    signs: Sequence[str],
    log: Log,
    survey: Survey,
    geology: Geology,
    *,
    x: float,
    top: float,
    width: float,
    pitch: float = SIGN_PITCH_MM,
    half_m: float | None = None,
) -> Block | None:
    """Every sign that the map and the section drew, in two columns, each by the table it was drawn from.

    `signs` are names of `symbols.LINES` and `symbols.SIGNS`, in any order; None without any. `half_m` is how far to
    each side of the walk the ground was looked at, in metres.
    """
    present = set(signs)
    # A leg and its stations, a shot and its end are one line each in the legend.
    names = [name for name in (*LINES, *SIGNS) if name in present and name not in _FOLDED]
    for line, sign in (("leg", "station"), ("spur", "side shot")):
        if line in names and sign in names:
            names.remove(sign)
    if not names:
        return None
    items = framed("Signs on this sheet", x=x, top=top, width=width)
    rows = -(-len(names) // 2)
    special = dict(sign_words(log, survey, geology))
    if half_m is not None:
        special["edge of ground seen"] = f"ground seen to {metres(half_m)}"
    words = [special.get(name) or LINES.get(name) or SIGNS[name].words for name in names]
    widths = _column_widths(words, rows, width)
    for index, name in enumerate(names):
        column, row = divmod(index, rows)
        left = x + column * widths[0]
        y = top - 7.3 - row * pitch
        items.extend(_sample(name, left, y, present))
        items.append(
            Text(
                at=(left + 10.2, y - 0.85),
                text=cut(words[index], Face.REGULAR, SMALL, widths[column] - 10.7),
                size_pt=SMALL,
            )
        )
    return Block(items=tuple(items), height=5.2 + rows * pitch + 1.2)


def _column_widths(words: Sequence[str], rows: int, width: float) -> tuple[float, float]:
    """The usual shares of the width, unless the words of one column need more and the other can spare it."""
    needed = [
        max([text_width_mm(text, Face.REGULAR, SMALL) for text in part] or [0.0]) + 11.0
        for part in (words[:rows], words[rows:])
    ]
    first = _FIRST_COLUMN * width
    if needed[1] > width - first:
        first = max(min(first, needed[0]), width - needed[1]) if sum(needed) <= width else first
    elif needed[0] > first:
        first = min(needed[0], width - needed[1])
    return (first, width - first)


_FOLDED = frozenset({"flow", "axial head"})
"""Signs that stand on a line and are shown with it."""


def line_sample(name: str, left: float, y: float) -> list[Item]:
    """A line or sign with its middle at height `y`, as the legend shows it; a trace with its arrow."""
    return _sample(name, left, y, {"axial head"})


def _sample(name: str, left: float, y: float, present: set[str]) -> list[Item]:
    """A line or sign as it is drawn, in the legend's left margin."""
    middle = left + _SAMPLE_MM / 2
    if name in LINES:
        pen = PENS[name]
        right = left + _SAMPLE_MM
        items: list[Item] = [Path(commands=polyline([(left, y), (right, y)]), pen=pen)]
        if name == "stream" and "flow" in present:
            items.extend(symbol("flow", (middle + 0.6, y), turn_deg=90.0))
        if name == "axial trace" and "axial head" in present:
            items.extend(symbol("axial head", (right, y), turn_deg=90.0))
        if name == "leg" and "station" in present:
            items.extend(symbol("station", (left, y)))
            items.extend(symbol("station", (right, y)))
        if name == "spur" and "side shot" in present:
            items.extend(symbol("side shot", (right - 0.6, y)))
        return items
    sign = SIGNS[name]
    if name in {"fault down", "fault dip"}:
        items = [
            Path(
                commands=polyline([(left, y + 0.6), (left + _SAMPLE_MM, y + 0.6)]), pen=PENS["fault certain"]
            )
        ]
        return [*items, *symbol(name, (middle, y + 0.6), turn_deg=90.0)]
    if name == "contact dip":
        items = [
            Path(
                commands=polyline([(left, y + 0.6), (left + _SAMPLE_MM, y + 0.6)]),
                pen=PENS["contact certain"],
            )
        ]
        return [*items, *symbol(name, (middle, y + 0.6), turn_deg=90.0)]
    turn = 60.0 if name == "apparent dip" or name.endswith(" in section") else 90.0
    reach = sign.figure[1] - 1.7 if sign.figure is not None and sign.figure[0] == 0.0 else 0.0
    figured = (
        sign.figure is not None and sign.figure[0] > 0.0 and not name.endswith(("vertical", "vertical tops"))
    )
    at = (
        left + sign.reach if figured else middle - reach / 2 if sign.turns else middle,
        y + (0.4 if figured else 0.0),
    )
    items = list(symbol(name, at, turn_deg=turn))
    if figured:
        # The figure stands off the bar's end here, so that rows may follow each other closely.
        fx, fy = offset(at, (0.9, sign.reach + 1.0), turn_deg=turn)
        items.append(Text(at=(fx - 0.6, fy - 0.8), text="35", face=Face.ITALIC, size_pt=SMALL))
    return items


def sign_words(log: Log, survey: Survey, geology: Geology) -> Mapping[str, str]:
    """Words of signs that say more than their table: how near contacts are placed, what held the start."""
    words: dict[str, str] = {}
    common = common_control(log, survey)
    shared = common.sd_plan_m if common is not None else None
    contacts = sorted(
        (one for one in geology.contacts if one.certainty is not None),
        key=lambda one: one.certainty.value if one.certainty else "",
    )
    for certainty, group in groupby(contacts, key=lambda one: one.certainty):
        found = [one for one in group if one.kind is not ContactKind.FAULT]
        if not found or certainty is None:
            continue
        most = max(own_sd(one.sd_m, shared) or 0.0 for one in found)
        label = {
            Certainty.CERTAIN: f"contact, within\u00a0{number(max(1.0, most))}\u00a0m",
            Certainty.APPROXIMATE: f"approximate, {number(max(1.0, most))}\u00a0m",
            Certainty.INFERRED: "inferred under cover",
            Certainty.CONCEALED: "concealed",
        }[certainty]
        words[f"contact {certainty.value}"] = label
    control = log.controls[0] if log.controls else None
    if control is not None and len(log.controls) == 1:
        source = plain(control.source or "")
        held = "held" if control.sd_plan_m is None else f"±\u00a0{at_least_one(control.sd_plan_m)}\u00a0m"
        inside = " ".join(part for part in (source if len(source) <= 8 else "", held) if part)
        words["control"] = f"control ({inside})"
    words["leg"] = "station; leg"
    words["spur"] = "side shot"
    return words
