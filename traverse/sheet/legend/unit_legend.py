"""The legend of units, youngest first."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from enum import Enum

from traverse.ground.records import Traverse
from traverse.log.records import RockUnit
from traverse.record import record
from traverse.sheet.paper.block import framed
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import Anchor, Block, Box, Face, Item, Path, Role, Text, rectangle
from traverse.sheet.paper.style import HEAD, LARGE, PENS, SMALL, UnitStyle, line_mm
from traverse.sheet.paper.words import plain, wrap
from traverse.sheet.said.stops import units_between, units_on_sheet
from traverse.sheet.said.thickness_words import of_unit, thickness_words, width_forms
from traverse.wording import listed

UNIT_PITCH_MM = 7.5
_HEAD_MM = 5.8
_FIRST_MM = 2.4
"""Base of a unit's name below its top."""
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
    AGES = "ages"
    """Without thickness too, close together."""


_UNIT_ROWS = {
    UnitRows.FULL: (UNIT_PITCH_MM, 5.9, 5.5),
    UnitRows.CLOSE: (6.6, 5.5, 5.2),
    UnitRows.SHORT: (5.2, 4.2, 0.0),
    UnitRows.AGES: (4.5, 3.9, 0.0),
}
"""From unit to unit, height of the box, and base of the second line below its top; millimetres."""
_ONE_LINE = frozenset({UnitRows.SHORT, UnitRows.AGES})


@record(frozen=True, kw_only=True)
class _LegendLine:
    """A line of a unit: what begins it and what ends it."""

    left: str = ""
    face: Face = Face.REGULAR
    right: str = ""
    italic: bool = False
    """Whether what ends it is measured rather than known."""

    @property
    def named(self) -> bool:
        return self.face is Face.SEMIBOLD

    def at(self, base: float, width: float) -> list[Item]:
        items: list[Item] = []
        if self.left:
            size = HEAD if self.named else SMALL
            items.append(Text(at=(_NAME_MM, base), text=self.left, face=self.face, size_pt=size))
        if self.right:
            face = Face.ITALIC if self.italic else Face.REGULAR
            items.append(Text(at=(width, base), text=self.right, face=face, size_pt=SMALL, anchor=Anchor.END))
        return items


@record(frozen=True, kw_only=True)
class _Worded:
    """A unit with its words in lines."""

    unit: RockUnit
    thickness: str
    lines: tuple[_LegendLine, ...]


def units_block(
    trav: Traverse,
    *,
    width: float,
    styles: Mapping[str, UnitStyle],
    rows: UnitRows = UnitRows.FULL,
    units: Sequence[RockUnit] | None = None,
    part: slice = slice(None),
) -> Block | None:
    """Units that are on the sheet, youngest first: box with letters, name, age, measured thickness.

    What was said of the rock at one place is no description of a unit, so a unit has the words of its own line alone.
    Intrusive bodies stand apart, under a heading of their own, with their width.
    None where no unit is on the sheet.
    Beside the heading stands which strata between them were not met.
    `units` may name them where nothing on the sheet does; `part` of their lines (`lines_of_units`) are drawn where a
    page can't hold all: a unit that is broken has its box again where it goes on.
    """
    lacking = units_between(trav.log, trav.geology) if units is None else ()
    units = units_on_sheet(trav.log, trav.geology) if units is None else tuple(units)
    if not units:
        return None
    worded = _cut(_worded(trav, units, rows, width), part)
    shown = [
        ("age", any(one.unit.age for one in worded)),
        ("true thickness", any(one.thickness for one in worded if not one.unit.intrusive)),
    ]
    aside = "; ".join(words for words, there in shown if there)
    forms = [aside]
    if lacking:
        # Not a word of it would read as if the list had no such unit.
        names = listed([plain(one.letters) for one in lacking])
        forms = ["; ".join(filter(None, (f"{one} not met", aside))) for one in (names, str(len(lacking)))]
        forms.append(aside)
    goes_on = ", continued" if part.start else ""
    items = framed(f"Units, youngest first{goes_on}", width=width, aside=forms)
    pitch, height, second = _UNIT_ROWS[rows]
    short = rows in _ONE_LINE
    y = -_HEAD_MM
    apart = False
    for one in worded:
        unit, lines = one.unit, one.lines
        if unit.intrusive and not apart:
            apart = True
            y -= _APART_MM
            items.append(Text(at=(0.0, y + 1.5), text="Intrusive", face=Face.SEMIBOLD, size_pt=SMALL))
        box = Box(x=0.0, y=y - height, width=_BOX_MM, height=height)
        large = text_width_mm(unit.letters, Face.SEMIBOLD, LARGE) <= _BOX_MM - 1
        items += unit_box(box, unit, styles[unit.letters].colour, size_pt=LARGE if large else SMALL)
        first = base = box.y + height / 2 - 1.0 if short else y - _FIRST_MM
        usual = 0.0 if short else second - _FIRST_MM
        for index, line in enumerate(lines):
            if index:
                turned = lines[index - 1].named and not line.named and not short
                base -= usual if turned else line_mm(HEAD if line.named else SMALL)
            items += line.at(base, width)
        y -= pitch + max(0.0, first - base - usual)
    return Block(items=tuple(items), height=0.8 - y)


def unit_box(
    box: Box, unit: RockUnit, colour: str, *, size_pt: float, right_mm: float | None = None
) -> tuple[Path, Text]:
    """The colour of a unit with its letters, in the middle or so far from the right edge."""
    x, anchor = (
        (box.x + box.width / 2, Anchor.MIDDLE)
        if right_mm is None
        else (box.x + box.width - right_mm, Anchor.END)
    )
    return (
        Path(commands=rectangle(box), pen=PENS["unit box"], fill=colour, unit=unit.letters),
        Text(
            at=(x, box.y + box.height / 2 - (1.2 if size_pt > SMALL else 0.9)),
            text=unit.letters,
            face=Face.SEMIBOLD,
            size_pt=size_pt,
            anchor=anchor,
            halo=colour,
            halo_mm=0.2,
            role=Role.UNIT_LETTERS,
        ),
    )


def lines_of_units(trav: Traverse, *, width: float, units: Sequence[RockUnit] | None = None) -> list[bool]:
    """For every line of the units, drawn in full in a block so wide, whether a unit begins with it."""
    units = units_on_sheet(trav.log, trav.geology) if units is None else tuple(units)
    return [
        not index for one in _worded(trav, units, UnitRows.FULL, width) for index in range(len(one.lines))
    ]


def _worded(trav: Traverse, units: Sequence[RockUnit], rows: UnitRows, width: float) -> list[_Worded]:
    room = width - _NAME_MM
    worded = []
    for unit in units:
        if rows is UnitRows.AGES:
            thickness = ""
        elif unit.intrusive:
            thickness = _fitting(width_forms(trav, unit.letters), 0.85 * room)
        else:
            thickness = thickness_words(of_unit(trav.geology, unit.letters), trav.log.lengths)
        lines = _lines(unit, thickness, rows, room)
        worded.append(_Worded(unit=unit, thickness=thickness, lines=tuple(lines)))
    return worded


def _cut(worded: Sequence[_Worded], part: slice) -> list[_Worded]:
    """Units with those of their lines that lie in a part of all lines; without those that have none there."""
    first, last, _ = part.indices(sum(len(one.lines) for one in worded))
    kept, at = [], 0
    for one in worded:
        lines = one.lines[max(first - at, 0) : max(last - at, 0)]
        at += len(one.lines)
        if lines:
            kept.append(replace(one, lines=lines))
    return kept


def _fitting(forms: Sequence[str], room: float) -> str:
    """The fullest form that fits on a line, else the shortest; empty of none."""
    return next(
        (one for one in forms if text_width_mm(one, Face.ITALIC, SMALL) <= room), forms[-1] if forms else ""
    )


def _lines(unit: RockUnit, thickness: str, rows: UnitRows, room: float) -> list[_LegendLine]:
    """The words of a unit in as many lines as they need: the name, its age at the right of it, the thickness.

    A name is never cut. An age that has no room is abbreviated, then takes a line of its own; so does a thickness.
    """
    short = rows in _ONE_LINE
    asides = _ages(plain(unit.age or ""))
    if short:
        asides = [", ".join(words for words in (age, thickness) if words) for age in asides]
    names = wrap(unit.name, Face.SEMIBOLD, HEAD, room)
    lines = [_LegendLine(left=line, face=Face.SEMIBOLD) for line in names]
    free = room - text_width_mm(names[-1], Face.SEMIBOLD, HEAD) - _ASIDE_MM
    aside = next((one for one in asides if one and text_width_mm(one, Face.REGULAR, SMALL) <= free), "")
    if aside:
        lines[-1] = replace(lines[-1], right=aside)
    elif asides[0]:
        lines += [_LegendLine(right=line) for line in wrap(asides[0], Face.REGULAR, SMALL, room)]
    if short:
        return lines
    return lines + [
        _LegendLine(right=line, italic=True) for line in wrap(thickness, Face.ITALIC, SMALL, room)
    ]


def _ages(age: str) -> list[str]:
    """An age as written, with the parts of its period as letters, and with the period cut (common practice, no source).

    >>> _ages("Lower Cretaceous"), _ages("Devonian")
    (['Lower Cretaceous', 'L. Cretaceous', 'L. Cret.'], ['Devonian', 'Dev.'])
    """
    letters = _PART.sub(lambda found: f"{found[0][0]}.", age)
    return list(dict.fromkeys((age, letters, _PERIOD.sub(lambda found: f"{found[1]}.", letters))))


_PART = re.compile(r"\b(Lower|Middle|Upper)\b")
_PERIOD = re.compile(
    r"\b(Camb|Ord|Sil|Dev|Carb|Perm|Trias|Jur|Cret|Palaeog|Paleog|Neog|Quat)"
    r"(?:rian|ovician|urian|onian|oniferous|ian|sic|assic|aceous|ene|ernary)\b"
)
_ASIDE_MM = 1.5
"""Kept between the words at the left of a line and those at its right."""
