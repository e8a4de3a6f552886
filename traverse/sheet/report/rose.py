"""Currents: a rose of the directions after the beds were laid flat, and what each reading was turned by."""

from __future__ import annotations

import math
from collections.abc import Sequence

from traverse.angle import mean_azimuth, wrap_360
from traverse.log.records import LineKind, PlaneKind
from traverse.sheet.paper.block import framed
from traverse.sheet.paper.fonts import width_mm
from traverse.sheet.paper.page import Anchor, Block, Face, Path, Point, Text, circle, polyline
from traverse.sheet.paper.style import BLACK, GREY_70, PENS, SMALL, line_mm
from traverse.sheet.paper.words import azimuth, counted, number
from traverse.structure.readings.records import LineAttitude, PlaneAttitude
from traverse.structure.records import Geology

SECTOR_DEG = 30
_LEAST = 3
"""Fewer directions are a list, not a rose."""
_RADIUS_MM = 22.0
_LEAST_RADIUS_MM = 10.0


def currents(geology: Geology) -> tuple[list[float], list[float]]:
    """True azimuths that currents flowed toward, and those of currents whose sense is unknown.

    A reading that was laid flat counts as it was then; cross-beds count by the way they dip then.
    """
    flat = {one.attitude.order: one.direction_deg for one in geology.restored}
    toward: list[float] = []
    axial: list[float] = []
    for one in geology.attitudes:
        if isinstance(one, LineAttitude) and one.kind is LineKind.CURRENT:
            (axial if one.both else toward).append(wrap_360(flat.get(one.order, one.trend_deg)))
        elif (
            isinstance(one, PlaneAttitude)
            and one.kind is PlaneKind.CROSSBED
            and (one.order in flat or not one.flat)
        ):
            toward.append(wrap_360(flat.get(one.order, one.dip_direction_deg)))
    return toward, axial


def petals(toward: Sequence[float], axial: Sequence[float]) -> list[float]:
    """Readings in each sector of 30 degrees, the first about north; one without a sense counts half on either side.

    >>> petals([0.0, 14.9, 359.0, 15.0], [90.0])[:4]
    [3.0, 1.0, 0.0, 0.5]
    """
    count = [0.0] * (360 // SECTOR_DEG)
    for direction, weight in [(one, 1.0) for one in toward] + [
        (one + turn, 0.5) for one in axial for turn in (0.0, 180.0)
    ]:
        count[int(((direction + SECTOR_DEG / 2) % 360.0) // SECTOR_DEG)] += weight
    return count


def rose_block(geology: Geology, *, width: float) -> Block | None:
    """The rose with its numbers; None under three directions. The area of a petal is in proportion to its readings."""
    toward, axial = currents(geology)
    total = len(toward) + len(axial)
    if total < _LEAST:
        return None
    count = petals(toward, axial)
    highest = max(count)
    lines = [(f"n = {total}", Face.SEMIBOLD)]
    strength = 0.0
    if toward:
        mean, strength = mean_azimuth(toward)
        lines.append((f"mean toward {azimuth(mean)}", Face.REGULAR))
        lines.append((f"mean vector {strength:.2f} of 1", Face.REGULAR))
    if axial:
        lines.append((f"{counted(len(axial), 'reading')} without a sense,", Face.REGULAR))
        lines.append(("half on either side", Face.REGULAR))
    lines.append((f"rim: {highest:g} in {SECTOR_DEG}°,", Face.REGULAR))
    lines.append(("area by number", Face.REGULAR))
    beside = max(width_mm(words, face, SMALL) for words, face in lines)
    radius = min(_RADIUS_MM, max(_LEAST_RADIUS_MM, (width - beside - 12.0) / 2.0))
    items = framed("Currents", width=width, aside="beds laid flat, true north")
    centre = (radius + 5.0, -11.0 - radius)
    items.append(Path(commands=circle(centre, radius), pen=PENS["ellipse"]))
    for index, readings in enumerate(count):
        if readings:
            reach = radius * math.sqrt(readings / highest)
            items.append(
                Path(
                    commands=_petal(centre, reach, index * SECTOR_DEG), pen=PENS["symbol fine"], fill=GREY_70
                )
            )
    if strength > 0.05:
        tip = _at(centre, radius, mean)
        items.append(Path(commands=polyline([centre, tip]), pen=PENS["adjusted figure"]))
        items.append(Path(commands=circle(tip, 0.7), fill=BLACK))
    for letter, turn in (("N", 0.0), ("E", 90.0), ("S", 180.0), ("W", 270.0)):
        at = _at(centre, radius + 2.6, turn)
        items.append(
            Text(
                at=(at[0], at[1] - 0.85), text=letter, face=Face.SEMIBOLD, size_pt=SMALL, anchor=Anchor.MIDDLE
            )
        )
    y = -12.0
    for text, face in lines:
        items.append(Text(at=(centre[0] + radius + 7.0, y), text=text, face=face, size_pt=SMALL))
        y -= line_mm(SMALL)
    return Block(items=tuple(items), height=11.0 + 2.0 * radius + 7.0)


def _at(centre: Point, reach: float, turn_deg: float) -> Point:
    turn = math.radians(turn_deg)
    return (centre[0] + reach * math.sin(turn), centre[1] + reach * math.cos(turn))


def _petal(centre: Point, reach: float, middle_deg: float) -> tuple[tuple[str, *tuple[float, ...]], ...]:
    half = SECTOR_DEG / 2
    rim = [_at(centre, reach, middle_deg - half + SECTOR_DEG * step / 8) for step in range(9)]
    return polyline([centre, *rim], close=True)


def restored_lines(geology: Geology) -> list[tuple[str, ...]]:
    """Station, what it is, as read, laid flat, and the bed it was turned with."""
    rows: list[tuple[str, ...]] = []
    for one in geology.restored:
        kind = "cross-bed" if one.attitude.kind is PlaneKind.CROSSBED else "current"
        bed = "bed here" if one.here else f"bed {one.away_m:.0f} m off"
        turns = "one turn" if one.rotations == 1 else "plunge taken out first"
        rows.append(
            (
                one.attitude.station,
                kind,
                one.attitude.written,
                f"{number(one.dip_deg)}° → {azimuth(one.direction_deg)}",
                f"{bed}, {turns}",
            )
        )
    return rows
