"""Hazards, samples and photos on the map: an icon off the band, its words, and a leader to the place."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import assert_never

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from traverse.log.items import Crossing, NotedThing, Photo, Sample, UnitHere, Words
from traverse.log.records import Log
from traverse.record import record
from traverse.sheet.map.attitudes import sighting
from traverse.sheet.map.halo import Grounds
from traverse.sheet.paper.fonts import width_mm
from traverse.sheet.paper.growing import shapes_of
from traverse.sheet.paper.labels import RINGS_OFF, Named, Taken, around, ringed, text_size, thinned
from traverse.sheet.paper.page import Anchor, Face, Item, Path, Point, Text, polyline
from traverse.sheet.paper.style import PENS, SMALL, WHITE
from traverse.sheet.paper.window import Window
from traverse.sheet.paper.words import leg_name, plain
from traverse.sheet.said.stops import numbered_hazards
from traverse.sheet.signs.shown import icon_of
from traverse.sheet.signs.symbols import SIGNS, symbol
from traverse.structure.records import Geology


@record(frozen=True, kw_only=True)
class Thing:
    """A hazard, sample or photo to be shown beside its place."""

    sign: str
    at: Point
    text: str
    where: str
    """Its station, or leg."""
    turn_deg: float = 0.0
    """Of a photo's view, on the page."""
    strikes_deg: tuple[float, ...] = ()
    """On the page, of the bars at the same place, which a leader must not look like."""


def things_of(log: Log, geology: Geology, window: Window) -> tuple[Thing, ...]:
    """All of a log that the window shows, hazards first: a sample may be left to the table, a hazard should not."""
    strikes: dict[int, list[float]] = {}
    for attitude in geology.attitudes:
        turn = window.turn_deg(sighting(attitude).turn_deg)
        strikes.setdefault(attitude.place.address.index, []).append(turn)
    marks = {item.span: mark for mark, item in numbered_hazards(log)}
    found: list[Thing] = []
    for placed in geology.things:
        sign = icon_of(placed.record, toward=placed.azimuth_deg is not None)
        at = window.at(placed.place.east_m, placed.place.north_m)
        if sign is None or not window.shows(at):
            continue
        found.append(
            Thing(
                sign=sign,
                at=at,
                text=marks.get(placed.record.span) or plain(_called(placed.record)),
                where=plain(placed.record.address.station or leg_name(placed.record.address)),
                turn_deg=0.0 if placed.azimuth_deg is None else window.turn_deg(placed.azimuth_deg),
                strikes_deg=tuple(strikes.get(placed.place.address.index, ())),
            )
        )
    return tuple(sorted(found, key=lambda one: one.sign != "hazard"))


def _called(one: NotedThing) -> str:
    """What stands beside the icon of a thing that has no number."""
    match one:
        case UnitHere():
            return one.letters
        case Words():
            return one.kind.value
        case Sample():
            return one.label
        case Photo():
            return f"photo {one.number}"
        case Crossing():
            return one.name or one.kind.value
        case _:
            assert_never(one)


def place_things(
    things: Sequence[Thing], edge: BaseGeometry | None, middle: Point, taken: Taken, grounds: Grounds
) -> Named:
    """Icon and words off the band, with a leader from the place to the icon."""
    items: list[Item] = []
    left: list[str] = []
    signs: dict[str, None] = {}
    tried = {
        numbers[one]
        for hazards in (True, False)
        for numbers in [[at for at, thing in enumerate(things) if (thing.sign == "hazard") is hazards]]
        for one in thinned([things[at].at for at in numbers], cell_mm=_CELL_MM, most=_MOST_IN_CELL)
    }
    for index, thing in enumerate(things):
        found = _beside(thing, edge, middle, taken, RINGS_OFF) if index in tried else None
        if found is None and index in tried:
            if thing.sign == "hazard":
                found = _beside(thing, edge, middle, taken, _RINGS_FAR)
            else:
                found = _beside(thing, edge, middle, taken, _RINGS_FAR[:_FAR_FOR_OTHERS], most=_MOST_FAR_COST)
        if found is None:
            left.append(_told(thing))
            continue
        icon, to_right = found
        size = text_size(thing.text, Face.REGULAR, SMALL)
        items.append(Path(commands=polyline([thing.at, _short_of(thing.at, icon, 1.2)]), pen=PENS["leader"]))
        items += symbol(thing.sign, icon, turn_deg=thing.turn_deg)
        signs[thing.sign] = None
        before, after = _words_off(thing)
        x = icon[0] + (after if to_right else -before)
        items.append(
            Text(
                at=(x, icon[1] - size[1] / 2 + 0.2),
                text=thing.text,
                size_pt=SMALL,
                anchor=Anchor.START if to_right else Anchor.END,
                halo=grounds.colour(icon) or WHITE,
            )
        )
    return Named(items=tuple(items), left=tuple(left), signs=tuple(signs))


def _told(thing: Thing) -> str:
    """What it is and where, of one that is not drawn."""
    what = thing.text if thing.text.startswith(thing.sign) else f"{thing.sign} {thing.text}"
    return f"{what} at {thing.where}"


_CELL_MM = 40.0
_MOST_IN_CELL = 12
"""Things that are tried in a cell; fewer have room about it."""
_RINGS_FAR = (28.0, 33.0, 39.0, 46.0, 54.0, 63.0, 74.0, 87.0, 102.0, 120.0, 141.0)
"""Distances at which a hazard is tried that has no room nearer: it never gives way."""
_FAR_FOR_OTHERS = 2
"""How many of them also what gives way is tried at, before it is left off."""
_MOST_FAR_COST = 5.0
"""Beyond its distance: a leader so long that also passes a station or runs over lines or words is worse than none."""
_LIKE_A_BAR_DEG = 22.0
_PAST_COST = 15.0
_AROUND_MM = 1.7
"""From the middle of an icon to the edge of the room that it takes at least."""
_AIR_MM = 0.2
"""From the end of an icon to that edge."""
_ICON_MM = 2.3
"""From the middle of an icon to its words at least."""
_TO_WORDS_MM = 0.6
"""From the edge of its room to its words."""
_PAST_VIEW_MM = 0.7
"""From the end of a photo's arrow to its words."""


def _around(thing: Thing) -> tuple[float, float, float, float]:
    """From the middle of its icon to the edge of its room at its left, below, at its right and above."""
    sign = SIGNS[thing.sign]
    long = sign.reach + _AIR_MM
    if not sign.turns:
        room = max(_AROUND_MM, long)
        return room, room, room, room
    # What points somewhere begins with a dot.
    turn = math.radians(thing.turn_deg)
    east, north = long * math.sin(turn), long * math.cos(turn)
    left, below, right, above = (max(_AROUND_MM, one) for one in (-east, -north, east, north))
    return left, below, right, above


def _words_off(thing: Thing) -> tuple[float, float]:
    """From the middle of its icon to words at its left and at its right: past the arrow of a photo, never over it."""
    before, _, after, _ = _around(thing)
    past = _PAST_VIEW_MM if SIGNS[thing.sign].turns else _TO_WORDS_MM
    left, right = (max(_ICON_MM, one + past if one > _AROUND_MM else 0.0) for one in (before, after))
    return left, right


def _short_of(start: Point, end: Point, gap: float) -> Point:
    length = math.dist(start, end)
    share = max(0.0, length - gap) / length if length else 0.0
    return start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share


def _beside(
    thing: Thing,
    edge: BaseGeometry | None,
    middle: Point,
    taken: Taken,
    rings: Sequence[float],
    *,
    most: float = math.inf,
) -> tuple[Point, bool] | None:
    """Middle of the icon, and whether its words stand to the right of it; None where it would cost `most` beyond its distance."""
    outward = math.degrees(math.atan2(thing.at[0] - middle[0], thing.at[1] - middle[1]))
    turns = np.array(around(outward))
    icons = ringed(thing.at, outward, rings, (0.0, 0.0))
    right = icons[:, 0] >= thing.at[0]
    long = width_mm(thing.text, Face.REGULAR, SMALL) + 0.3
    far_left, far_right = (off + long for off in _words_off(thing))
    before, down, after, up = _around(thing)
    boxes = np.stack(
        [
            icons[:, 0] - np.where(right, before, far_left),
            icons[:, 1] - down,
            icons[:, 0] + np.where(right, far_right, after),
            icons[:, 1] + up,
        ],
        axis=1,
    )
    strikes = np.array(thing.strikes_deg)[:, None]
    like_bar = (np.abs((turns - strikes + 90.0) % 180.0 - 90.0) < _LIKE_A_BAR_DEG).any(axis=0)
    costs = np.repeat(rings, len(turns))
    costs += np.tile(0.15 * np.arange(len(turns)) + 12.0 * like_bar, len(rings))
    off = np.ones(len(boxes), dtype=bool)
    if edge is not None:
        shapely.prepare(edge)
        off = ~shapely.intersects(edge, shapes_of(boxes))
    # Off the band; where that is out of reach, on it; a hazard, if need be, with a leader through a label.
    ways: list[tuple[NDArray[np.bool_], Point | None]] = [(off, thing.at), (~off, thing.at)]
    if thing.sign == "hazard":
        ways += [(off, None), (~off, None)]
    for wanted, leader_from in ways:
        rest = np.flatnonzero(wanted)
        rest = rest[taken.free(boxes[rest], leader_from=leader_from, leader_to=icons[rest])]
        if len(rest):
            break
    else:
        return None
    # A leader that runs over a sign costs a detour; the first millimetres are on the station's own.
    lengths = np.hypot(*(icons[rest] - np.array(thing.at)).T)[:, None]
    starts = np.array(thing.at) + (icons[rest] - np.array(thing.at)) * np.minimum(1.0, 2.8 / lengths)
    leaders = np.asarray(shapely.linestrings(np.stack([starts, icons[rest]], axis=1)), dtype=object)
    costs[rest] += np.where(taken.drawn_on(leaders), 5.0, 0.0) + 20.0 * taken.crossed(leaders)
    # One that passes another station would be read as that one's.
    costs[rest] += np.where(taken.passes(thing.at, icons[rest]), _PAST_COST, 0.0)
    # So do words and icon on a line that was computed, or a stream.
    costs[rest] += np.where(taken.discouraged(shapes_of(boxes[rest])), 10.0, 0.0)
    chosen = int(rest[np.argmin(np.round(costs[rest], 6))])
    icon = (float(icons[chosen, 0]), float(icons[chosen, 1]))
    if round(float(costs[chosen]) - math.dist(thing.at, icon), 6) >= most:
        return None
    taken.add(boxes[chosen])
    taken.block(LineString([thing.at, icon]).buffer(0.15, quad_segs=1))
    return icon, bool(right[chosen])
