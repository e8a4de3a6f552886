"""Attitudes on the map: which sign each has, where it stands and where its figure may."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from itertools import product
from typing import TypeAlias

import numpy as np
import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from traverse.angle import axial_difference, wrap_180
from traverse.log.items import LineKind, PlaneKind, Tops
from traverse.record import record
from traverse.sheet.map.contacts import Figure
from traverse.sheet.paper.growing import shapes_of
from traverse.sheet.paper.labels import Apart, Taken, around, boxes_at, meets, ringed, shapes_in
from traverse.sheet.paper.page import Item, Path, Point, polyline
from traverse.sheet.paper.style import PENS
from traverse.sheet.paper.window import Window
from traverse.sheet.signs.shown import sign_of
from traverse.sheet.signs.symbols import SIGNS, offsets, symbol
from traverse.structure.readings.records import Attitude, LineAttitude, PlaneAttitude, StrikeAttitude
from traverse.structure.records import Geology
from traverse.trade import PRINTS_LEVEL_DEG, PRINTS_UPRIGHT_DEG, SAME_OUTCROP_DEG

_CROWDED_MM = 3.4
"""Bars nearer than this to each other would be read as one."""
_SWARM_MM = 6.5
"""Where very many are: far enough for a figure between two bars."""
_LINES_DEG = 25.0
"""Lines at one place nearer to each other than this would be read as one."""
_SLIDES = (0.0, 0.8, -0.8, 1.5, -1.5, 2.2, -2.2, 2.8, -2.8, 3.4, -3.4)
_OFF_END_MM = 1.6
_TICK_SHARE = 0.5
"""Of the way to a plane's figure, where its tick ends."""
_LED_MM = (2.4, 3.4, 4.4, 5.6, 7.0)
_OFF_STRIKE_DEG, _OFF_TICK_DEG = 22.0, 25.0
"""Between the leader of a figure and the bar of its sign, and the tick of it."""
_MOST_ASIDE = 30


@record(frozen=True, kw_only=True)
class Sighting:
    """How one attitude is drawn."""

    sign: str
    turn_deg: float
    """From true north."""
    figure: str | None


_Placed: TypeAlias = tuple[Attitude, Sighting, Point]


@record(frozen=True, kw_only=True)
class Plotted:
    """All signs of attitudes, the figures they want, and what found no room."""

    items: tuple[Item, ...]
    signs: tuple[str, ...]
    figures: tuple[Figure, ...]
    left: tuple[str, ...]
    """Stations of readings that were left off."""
    alike: int
    """How many others were left off, since another party's beside them says the same."""


def sighting(attitude: Attitude) -> Sighting:
    """Sign, turn and figure of an attitude."""
    if isinstance(attitude, LineAttitude):
        return _line(attitude)
    if isinstance(attitude, StrikeAttitude):
        return Sighting(sign="strike", turn_deg=attitude.strike_deg, figure=None)
    kind, way_up = attitude.kind, attitude.tops
    flat = attitude.flat or attitude.dip_deg < PRINTS_LEVEL_DEG
    upright = attitude.dip_deg >= PRINTS_UPRIGHT_DEG
    if kind is not PlaneKind.BED:
        form = " flat" if flat else " vertical" if upright else ""
        return Sighting(
            sign=f"{sign_of(kind)}{form}",
            turn_deg=attitude.strike_deg,
            figure=None if form else f"{attitude.dip_deg:.0f}",
        )
    seen = way_up is not None and (way_up.toward is not None or way_up.tops in {Tops.UP, Tops.DOWN})
    tops = " tops" if seen else ""
    if flat:
        over = attitude.overturned or (way_up is not None and way_up.tops is Tops.DOWN)
        return Sighting(sign=f"horizontal{' overturned' if over else ''}{tops}", turn_deg=0.0, figure=None)
    turn = attitude.strike_deg
    if upright and attitude.tops_toward_deg is not None:
        # The dot stands on the side that the beds young to.
        right = math.sin(math.radians(attitude.tops_toward_deg - turn)) >= -1e-9
        turn = turn if right else turn + 180.0
    name = "vertical" if upright else "overturned" if attitude.overturned else "bedding"
    return Sighting(
        sign=f"{name}{tops}", turn_deg=turn, figure=None if upright else f"{attitude.dip_deg:.0f}"
    )


def _line(attitude: LineAttitude) -> Sighting:
    kind, plunge = attitude.kind, attitude.plunge_deg
    level = plunge < PRINTS_LEVEL_DEG
    form, figure = "", None if level else f"{plunge:.0f}"
    if plunge >= PRINTS_UPRIGHT_DEG and f"{sign_of(kind)} vertical" in SIGNS:
        form, figure = " vertical", None
    elif attitude.both or (level and kind is not LineKind.CURRENT):
        form = " level"
    return Sighting(sign=f"{sign_of(kind)}{form}", turn_deg=attitude.trend_deg, figure=figure)


def plot_attitudes(
    geology: Geology,
    window: Window,
    taken: Taken,
    *,
    streams: Sequence[BaseGeometry] = (),
    of_others: Callable[[str, str], bool] | None = None,
) -> Plotted:
    """Every attitude that the window shows, at its place; those that would stand on another one beside it, with a hairline.

    What is drawn is blocked for labels. Those set beside their places keep off `streams` where they can. Of one plane
    that several parties read, one reading is drawn; `of_others` tells whether two stations are each of a party of its own,
    None where there is one party.
    """
    items: list[Item] = []
    signs: dict[str, None] = {}
    figures: list[Figure] = []
    left: list[str] = []
    drawn, aside = _sorted(geology, window, _CROWDED_MM)
    if len(aside) > _MOST_ASIDE:
        # A swarm: fewer bars, each with room for its figure, say more than many that run into each other.
        drawn, aside = _sorted(geology, window, _SWARM_MM)
    alike = 0
    if of_others is not None:
        aside, alike = _without_alike(aside, drawn, of_others)
    for _, seen, at in drawn:
        items += symbol(seen.sign, at, turn_deg=window.turn_deg(seen.turn_deg))
    taken.block(*shapes_in(items))
    for attitude, seen, at in aside:
        # A few are set beside their places; a swarm would hide the map, and is left to the table.
        spare = _beside(at, seen, taken, streams) if len(aside) <= _MOST_ASIDE else None
        if spare is None:
            left.append(attitude.station)
            continue
        shapes = symbol(seen.sign, spare, turn_deg=window.turn_deg(seen.turn_deg))
        hairline = Path(commands=polyline([at, spare]), pen=PENS["leader"])
        items += [hairline, *shapes]
        taken.block(*shapes_in([hairline, *shapes]))
        drawn.append((attitude, seen, spare))
    for attitude, seen, at in drawn:
        signs[seen.sign] = None
        if seen.figure is not None:
            turn = window.turn_deg(seen.turn_deg)
            figures.append(
                Figure(
                    text=seen.figure + ("?" if attitude.queried or attitude.span in geology.doubted else ""),
                    centres=_stands(seen.sign, at, turn),
                    name=attitude.station,
                    led=_led(seen.sign, at, turn),
                )
            )
    return Plotted(
        items=tuple(items), signs=tuple(signs), figures=tuple(figures), left=tuple(left), alike=alike
    )


def _sorted(geology: Geology, window: Window, apart_mm: float) -> tuple[list[_Placed], list[_Placed]]:
    """Attitudes that can stand at their places, planes so far apart and lines not along each other, and the rest."""
    planes = Apart(apart_mm)
    lines: dict[int, list[float]] = defaultdict(list)
    aside: list[_Placed] = []
    drawn: list[_Placed] = []
    # What nothing is told by gives way to what is.
    for attitude in sorted(geology.each_once, key=lambda one: one.span in geology.doubted):
        seen = sighting(attitude)
        at = window.at(attitude.place.east_m, attitude.place.north_m)
        if not window.shows(at):
            continue
        if isinstance(attitude, LineAttitude):
            there = lines[attitude.place.address.index]
            free = all(axial_difference(seen.turn_deg, one) >= _LINES_DEG for one in there)
            if free:
                there.append(seen.turn_deg)
        else:
            free = planes.add(at)
        (drawn if free else aside).append((attitude, seen, at))
    return drawn, aside


def _without_alike(
    aside: Sequence[_Placed], drawn: Sequence[_Placed], of_others: Callable[[str, str], bool]
) -> tuple[list[_Placed], int]:
    """Those that can't stand at their places, without planes that another party read there alike; and how many these are."""
    near: dict[tuple[int, int], list[_Placed]] = defaultdict(list)

    def cells(at: Point, reach: int) -> Iterator[tuple[int, int]]:
        x, y = (math.floor(one / _CROWDED_MM) for one in at)
        yield from product(range(x - reach, x + reach + 1), range(y - reach, y + reach + 1))

    def add(one: _Placed) -> None:
        near[next(cells(one[2], 0))].append(one)

    for one in drawn:
        add(one)
    kept: list[_Placed] = []
    for one in aside:
        others = (other for cell in cells(one[2], 1) for other in near.get(cell, ()))
        if not any(_alike(one, other) and of_others(one[0].station, other[0].station) for other in others):
            kept.append(one)
            add(one)
    return kept, len(aside) - len(kept)


def _alike(one: _Placed, other: _Placed) -> bool:
    (plane, seen, at), (beside, theirs, there) = one, other
    return (
        isinstance(plane, PlaneAttitude)
        and isinstance(beside, PlaneAttitude)
        and seen.sign == theirs.sign
        and math.dist(at, there) < _CROWDED_MM
        and abs(plane.dip_deg - beside.dip_deg) <= SAME_OUTCROP_DEG
        and abs(wrap_180(plane.dip_direction_deg - beside.dip_direction_deg)) <= SAME_OUTCROP_DEG
    )


def _beside(at: Point, seen: Sighting, taken: Taken, streams: Sequence[BaseGeometry]) -> Point | None:
    """The nearest place where the sign has room to itself."""
    reach = min(SIGNS[seen.sign].reach, 3.0)
    size = (2 * reach + 0.6, 2 * reach + 0.6)
    centres = [
        (at[0] + out * math.sin(math.radians(turn)), at[1] + out * math.cos(math.radians(turn)))
        for out in (5.0, 6.5, 8.0, 10.0, 12.5, 15.0)
        for turn in around(seen.turn_deg + 90.0)
    ]
    boxes = boxes_at(centres, size)
    free = taken.free(boxes)
    # Off streams, and with a hairline that passes no station, where that can be had.
    clear = free & ~taken.passes(at, np.array(centres))
    off = clear & ~shapely.intersects(shapely.union_all(list(streams)), shapes_of(boxes))
    found = np.flatnonzero(next((one for one in (off, clear) if one.any()), free))
    return centres[int(found[0])] if len(found) else None


def _led(name: str, at: Point, turn_deg: float) -> tuple[Point, float] | None:
    """The end of a plane's tick, from which a leader may go on down the dip; None of a line, which ends in a head."""
    sign = SIGNS[name]
    if sign.figure is None or sign.figure[1] > 0.0:
        return None
    (foot,) = offsets(at, [(_TICK_SHARE * sign.figure[0], 0.0)], turn_deg=turn_deg)
    return foot, turn_deg + 90.0


def _stands(name: str, at: Point, turn_deg: float) -> tuple[Point, ...]:
    """Centres for a figure: at the tick's end, slid along the strike, then off the bar's ends."""
    sign = SIGNS[name]
    if sign.figure is None:
        return ()
    x, y = sign.figure
    if y > 0.0:
        # A line: off its head, then beside the shaft.
        stands = [(0.0, y), (1.2, y - 0.4), (-1.2, y - 0.4), (1.9, y - 2.2), (-1.9, y - 2.2), (0.0, y + 1.0)]
    else:
        end = sign.reach + _OFF_END_MM
        stands = [(x, slide) for slide in _SLIDES]
        stands += [(0.0, end), (0.0, -end), (x - 1.4, end), (x - 1.4, -end)]
        stands += [(x + 0.8, slide) for slide in _SLIDES]
    return offsets(at, stands, turn_deg=turn_deg)


def led_figure(
    figure: Figure, size: tuple[float, float], taken: Taken
) -> tuple[Point | None, tuple[Item, ...]]:
    """A place for a figure down the dip from its sign, with the leader to it.

    None along the strike, where it reads as a bar, nor along the tick.
    """
    if figure.led is None:
        return None, ()
    foot, way = figure.led
    centres = ringed(foot, way, _LED_MM, size)
    towards = np.degrees(np.arctan2(centres[:, 0] - foot[0], centres[:, 1] - foot[1]))
    off = np.abs((towards - way + 180.0) % 360.0 - 180.0)
    # Straight on it would make the tick longer than it is, and back over the bar a sign of its own.
    clear = (off <= 90.0 - _OFF_STRIKE_DEG) & (off >= _OFF_TICK_DEG)
    boxes = boxes_at(centres[clear], size)
    found = taken.best(boxes, leader_from=foot)
    if found is None:
        return None, ()
    taken.add(boxes[found])
    left, lower, right, upper = boxes[found].tolist()
    centre = ((left + right) / 2.0, (lower + upper) / 2.0)
    line = [foot, meets(centre, foot, size)]
    taken.block(LineString(line).buffer(0.15, quad_segs=1))
    return centre, (Path(commands=polyline(line), pen=PENS["leader"]),)
