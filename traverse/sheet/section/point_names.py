"""Stations named over the section, with how far each was carried."""

from __future__ import annotations

from collections.abc import Sequence
from heapq import heapify, heappop, heappush

from traverse.angle import nearest_point, wrap_360
from traverse.length import Lengths
from traverse.record import record
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.growing import GrowingBoxes
from traverse.sheet.paper.labels import spread
from traverse.sheet.paper.page import Anchor, Face, Item, Path, Text, polyline
from traverse.sheet.paper.style import HEAD, PENS, SMALL
from traverse.sheet.paper.words import NO_BREAK, cut
from traverse.sheet.section.strip_frame import StripFrame
from traverse.structure.section.records import PointKind, Section, SectionPoint

_NAME_PITCH_MM, _BARE_AIR_MM = 7.6, 0.3
"""Least room of a name with how far it was carried under it; air more beside one without, as nothing under it parts them."""
_UNDER_NAME_MM = 3.2
"""Where a leader begins over the panel under a name alone."""
_ELBOW_MM = 1.6
"""Where a leader turns down, under the top of the panel."""
_FIGURES_MM = (2.8, 0.9)
"""Upper and lower edge of the distances, over the panel."""
_LEADER_MM = 0.15
"""Kept free to either side of a leader."""
_MOST_NAME_MM = 22.0
"""Of a name; the tables have it whole."""
NOWHERE = "0"
"""Under what lies on the section."""


def named_points(section: Section) -> list[SectionPoint]:
    """Points to name over the section: places of readings, else every station."""
    chosen: dict[str, SectionPoint] = {}
    readings = [point for point in section.points if point.is_bed]
    for point in readings or [one for one in section.points if one.kind is PointKind.STATION]:
        chosen.setdefault(_label(point), point)
    return sorted(chosen.values(), key=lambda point: point.distance_m)


def _label(point: SectionPoint) -> str:
    """Station, or the leg that a reading lies on."""
    attitude = point.attitude
    if (
        attitude is not None
        and attitude.booked.address.station is None
        and attitude.booked.address.leg is not None
    ):
        leg = attitude.booked.address.leg
        return f"{leg.start}–{leg.end}"
    return point.label


def side_of(section: Section, point: SectionPoint, lengths: Lengths) -> str:
    """How far it was carried, and the side it came from: `59 m N`, with the unit, as `59 N` is also how dips are written."""
    if lengths.of(abs(point.carried_m)) < 0.5:
        return NOWHERE
    way = section.azimuths_deg[point.stretch] + (90.0 if point.carried_m > 0.0 else -90.0)
    return f"{lengths.printed(abs(point.carried_m))}{NO_BREAK}{nearest_point(wrap_360(way), points=8)}"


@record(frozen=True, slots=True)
class NamesLeftOff:
    """How many names found no room over a section, and how many of those that did stand without how far they were carried."""

    names: int = 0
    distances: int = 0


def names_of(section: Section, frame: StripFrame, placed: GrowingBoxes) -> tuple[list[Item], NamesLeftOff]:
    """Stations over the section with how far each was carried, and what of it found no room: distances before names."""
    box = frame.box
    named = named_points(section)
    words = [
        (cut(_label(point), Face.BOLD, HEAD, _MOST_NAME_MM), side_of(section, point, frame.lengths))
        for point in named
    ]
    bare = [text_width_mm(name, Face.BOLD, HEAD) + 1.2 + _BARE_AIR_MM for name, _ in words]
    whole = [
        max(_NAME_PITCH_MM, alone - _BARE_AIR_MM, text_width_mm(side, Face.REGULAR, SMALL) + 1.2)
        for alone, (_, side) in zip(bare, words, strict=True)
    ]
    # The letters of the ends stand outside the axes, so names may use the width between them.
    widths, kept = _set_in(box.width, whole, bare, [point.distance_m for point in named])
    feet = [frame.x(named[index].distance_m) for index in kept]
    while True:
        first, last = (widths[kept[end]] if kept else 0.0 for end in (0, -1))
        places = spread(
            feet,
            [widths[index] for index in kept],
            low=box.x + first / 2 - 0.6,
            high=box.right - last / 2 + 0.6,
        )
        sides = [
            text_width_mm(words[index][1], Face.REGULAR, SMALL) if widths[index] == whole[index] else 0.0
            for index in kept
        ]
        struck = _struck(places, feet, sides)
        if not struck:
            break
        for one in struck:
            widths[kept[one]] = bare[kept[one]]
    items: list[Item] = []
    for index, x in zip(kept, places, strict=True):
        point = named[index]
        name, side = words[index]
        items += (
            Text(
                at=(x, box.top + 4.0),
                text=name,
                face=Face.BOLD,
                size_pt=HEAD,
                anchor=Anchor.MIDDLE,
            ),
        )
        from_mm = _UNDER_NAME_MM
        if widths[index] == whole[index]:
            from_mm = 0.3
            items.append(Text(at=(x, box.top + 1.0), text=side, size_pt=SMALL, anchor=Anchor.MIDDLE))
        foot = frame.x(point.distance_m)
        down = max(box.y, frame.y(section.place_of(point)[1]) + 0.5)
        elbow = box.top - _ELBOW_MM
        if down < elbow:
            items.append(
                Path(
                    commands=polyline([(x, box.top + from_mm), (foot, elbow), (foot, down)]),
                    pen=PENS["name leader"],
                )
            )
            placed.add((foot - _LEADER_MM, down, foot + _LEADER_MM, elbow))
    without = sum(widths[index] != whole[index] for index in kept)
    return items, NamesLeftOff(names=len(named) - len(kept), distances=without)


def _struck(places: Sequence[float], feet: Sequence[float], sides: Sequence[float]) -> list[int]:
    """Which distances a leader from a name without one would run through, on its way to its foot at the elbow.

    `sides` are how wide each is, 0 where a name stands without. Names stand in the order of their feet.

    >>> _struck([0.0, 6.0], [0.0, 2.0], [8.0, 0.0]), _struck([0.0, 6.0], [0.0, 6.0], [8.0, 0.0])
    ([0], [])
    """
    # Where the leader is when it comes down to the figures, and where it leaves their row.
    shares = [(_UNDER_NAME_MM - at) / (_UNDER_NAME_MM + _ELBOW_MM) for at in _FIGURES_MM]
    found: set[int] = set()
    for index, (start, end) in enumerate(zip(places, feet, strict=True)):
        if sides[index]:
            continue
        ends = [start + share * (end - start) for share in shares]
        way = 1 if end > start else -1
        other = index + way
        while 0 <= other < len(places):
            half = sides[other] / 2.0 + _LEADER_MM
            if min(ends) < places[other] + half and max(ends) > places[other] - half and sides[other]:
                found.add(other)
            if (places[other] - max(ends, key=lambda x: way * x)) * way > half:
                break
            other += way
    return sorted(found)


def _set_in(
    room: float, whole: Sequence[float], bare: Sequence[float], distances: Sequence[float]
) -> tuple[list[float], list[int]]:
    """How wide each name is set, and which of them are: the fewest without their distance at which all have room.

    Where they have none even so, those with the nearest neighbours go, and what that leaves goes to distances again.
    """
    widths = list(whole)
    used = sum(widths)
    for index in sorted(range(len(whole)), key=lambda one: (bare[one] - whole[one], one)):
        if used <= room:
            break
        used += bare[index] - whole[index]
        widths[index] = bare[index]
    kept = _fitting(distances, widths, room)
    free = room - sum(widths[index] for index in kept)
    for index in sorted(kept, key=lambda one: (whole[one] - widths[one], one)):
        if whole[index] - widths[index] <= free:
            free -= whole[index] - widths[index]
            widths[index] = whole[index]
    return widths, kept


def _fitting(distances: Sequence[float], widths: Sequence[float], room: float) -> list[int]:
    """Numbers of the names left when the one with the nearest neighbours goes, again and again, until all fit.

    The ends stay. Both neighbours count, so that of names at equal distances every second goes.
    """
    count = len(distances)
    before, after = list(range(-1, count - 1)), list(range(1, count + 1))
    kept = [True] * count
    used = sum(widths)

    def gap(index: int) -> float:
        return distances[after[index]] - distances[before[index]]

    waiting = [(gap(index), index) for index in range(1, count - 1)]
    heapify(waiting)
    while used > room and waiting:
        wide, index = heappop(waiting)
        if not kept[index]:
            continue
        if gap(index) != wide:
            # A neighbour went since it was weighed.
            heappush(waiting, (gap(index), index))
            continue
        kept[index] = False
        used -= widths[index]
        after[before[index]], before[after[index]] = after[index], before[index]
    found = [index for index in range(count) if kept[index]]
    while found and sum(widths[index] for index in found) > room:
        found.pop()
    return found
