"""The legend of units, youngest first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import Enum

from traverse.ground.records import Traverse
from traverse.log.records import RockUnit
from traverse.sheet.paper.block import framed
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import Anchor, Block, Box, Face, Path, Role, Text, rectangle
from traverse.sheet.paper.style import HEAD, LARGE, PENS, SMALL, UnitStyle
from traverse.sheet.paper.words import cut, plain
from traverse.sheet.said.stops import gather, rock_line, units_on_sheet
from traverse.sheet.said.thickness_words import of_unit, thickness_words, width_forms

UNIT_PITCH_MM = 7.5
_HEAD_MM = 5.8
_BOX_MM = 11.0
_NAME_MM = 13.1
_APART_MM = 4.2
"""Height of the small heading over intrusive bodies."""


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
    trav: Traverse,
    *,
    width: float,
    styles: Mapping[str, UnitStyle],
    rows: UnitRows = UnitRows.FULL,
    units: Sequence[RockUnit] | None = None,
    part: slice = slice(None),
) -> Block | None:
    """Units that are on the sheet, youngest first: box with letters, name, rock, age, measured thickness.

    Intrusive bodies stand apart, under a heading of their own, with their width.
    None where no unit is on the sheet.
    `units` may name them where nothing on the sheet does; `part` of them are drawn where a page can't hold all.
    """
    units = (units_on_sheet(trav.log, trav.geology) if units is None else tuple(units))[part]
    if not units:
        return None
    stops = gather(trav)
    lengths = trav.log.lengths
    thick = {
        unit.letters: _fitting(width_forms(trav, unit.letters), 0.85 * (width - _NAME_MM))
        if unit.intrusive
        else thickness_words(of_unit(trav.geology, unit.letters), lengths)
        for unit in units
    }
    shown = [
        ("age", any(unit.age for unit in units)),
        ("true thickness", any(thick[unit.letters] for unit in units if not unit.intrusive)),
    ]
    aside = "; ".join(words for words, there in shown if there)
    items = framed("Units, youngest first", width=width, aside=aside)
    pitch, height, second = _UNIT_ROWS[rows]
    short = rows is UnitRows.SHORT
    y = -_HEAD_MM
    apart = False
    for unit in units:
        if unit.intrusive and not apart:
            apart = True
            y -= _APART_MM
            items.append(Text(at=(0.0, y + 1.5), text="Intrusive", face=Face.SEMIBOLD, size_pt=SMALL))
        box = Box(x=0.0, y=y - height, width=_BOX_MM, height=height)
        items.append(
            Path(
                commands=rectangle(box),
                pen=PENS["unit box"],
                fill=styles[unit.letters].colour,
                unit=unit.letters,
            )
        )
        items.append(
            Text(
                at=(_BOX_MM / 2, box.y + height / 2 - 1.2),
                text=unit.letters,
                face=Face.SEMIBOLD,
                size_pt=LARGE if text_width_mm(unit.letters, Face.SEMIBOLD, LARGE) <= _BOX_MM - 1 else SMALL,
                anchor=Anchor.MIDDLE,
                halo=styles[unit.letters].colour,
                halo_mm=0.2,
                role=Role.UNIT_LETTERS,
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
                at=(_NAME_MM, first),
                text=cut(unit.name, Face.SEMIBOLD, HEAD, room - age_width),
                face=Face.SEMIBOLD,
                size_pt=HEAD,
            )
        )
        if age:
            items.append(Text(at=(width, first), text=age, size_pt=SMALL, anchor=Anchor.END))
        if not short:
            if below:
                items.append(
                    Text(
                        at=(width, y - second),
                        text=below,
                        face=Face.ITALIC,
                        size_pt=SMALL,
                        anchor=Anchor.END,
                    )
                )
            rock = rock_line(unit.letters, trav.log, stops)
            free = room - (text_width_mm(below, Face.ITALIC, SMALL) + 1.5 if below else 0.0)
            if rock:
                items.append(
                    Text(
                        at=(_NAME_MM, y - second),
                        text=cut(rock, Face.REGULAR, SMALL, free),
                        size_pt=SMALL,
                    )
                )
        y -= pitch
    return Block(items=tuple(items), height=0.8 - y)


def _fitting(forms: Sequence[str], room: float) -> str:
    """The fullest form that fits on a line, else the shortest; empty of none."""
    return next(
        (one for one in forms if text_width_mm(one, Face.ITALIC, SMALL) <= room), forms[-1] if forms else ""
    )


def _aside(age: str, thickness: str, room: float) -> str:
    """Both where they fit on one line, else the one that was measured."""
    both = ", ".join(words for words in (age, thickness) if words)
    forms = (both, thickness, age)
    return next((one for one in forms if one and text_width_mm(one, Face.REGULAR, SMALL) <= room), both)
