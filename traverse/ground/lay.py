"""From what a log says of the ground to what lies between the places where it was seen."""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import cache
from typing import TYPE_CHECKING

from traverse.angle import is_quadrant, wrap_360
from traverse.diagnostic import Found, Outcome
from traverse.ground.records import BandWidth, Ground, Join, KeptApart, Outcrop, WayBack
from traverse.location.records import Place, PlacedAddress, Survey
from traverse.log.items import UnitHere
from traverse.log.readings import North
from traverse.log.records import Log
from traverse.record import Later
from traverse.settled import settled
from traverse.source import Span
from traverse.structure.records import Geology
from traverse.trade import BAND_LEAST_SHARE, BAND_M, BAND_MOST_SHARE

if TYPE_CHECKING:
    from traverse.heights.records import Terrain


_AT_M = 1.5
"""Nearer than this one stands there."""


def lay_ground(log: Log, survey: Survey, geology: Geology, terrain: Terrain | None) -> Outcome[Ground]:
    """What joins contacts from arm to arm, the way back to each of them, and the outcrops of every `trace` over the heights."""
    found = Found()
    traced: tuple[Outcrop, ...] = ()
    width = _band_width(log.heading.sheet.band_m, survey, geology)

    @cache
    def joining() -> tuple[tuple[Join, ...], tuple[KeptApart, ...]]:
        if len(geology.contacts) < 2:
            return (), ()
        from traverse.ground.joins import joins

        return joins(survey, geology.settled(log), terrain, half_m=width.half_m)

    joined = Later(lambda: joining()[0])
    if terrain is not None:
        from traverse.ground.outcrop import outcrops

        traced = found.keep(outcrops(terrain, log, survey, geology, joined))
    ground = Ground(
        terrain=terrain,
        joins=joined,
        apart=Later(lambda: joining()[1]),
        outcrops=traced,
        width=width,
        ways_back=_ways_back(log, survey, geology),
    )
    return Outcome(ground, tuple(found.diagnostics))


def _band_width(asked_m: float | None, survey: Survey, geology: Geology) -> BandWidth:
    """As the log asks; else 20 m, but no thread and no blot on a map that shows all of the walk."""
    if asked_m is not None:
        return BandWidth(half_m=asked_m, asked=True)
    extent_m = _extent_m(survey, geology)
    # Whole metres, since the legend tells them.
    least_m = settled(BAND_LEAST_SHARE * extent_m, 0)
    most_m = max(1.0, settled(BAND_MOST_SHARE * extent_m, 0))
    return BandWidth(half_m=min(max(BAND_M, least_m), most_m), asked=False)


def _extent_m(survey: Survey, geology: Geology) -> float:
    """How far apart the farthest places of the walk lie, which does not hang on which way the map is turned."""
    places: list[tuple[float, float]] = []
    for leg in survey.legs:
        start = survey.places.get(leg.booked.start)
        if start is not None:
            places.append((start.east_m, start.north_m))
            places.append((start.east_m + leg.adjusted.east_m, start.north_m + leg.adjusted.north_m))
    places += [stretch.start for stretch in geology.band if stretch.leg is None]
    import numpy as np  # whoever comes here has it by now

    corners = np.array(_hull(places)).reshape(-1, 2)
    # Row by row: a ring of a hundred thousand stations has thousands of corners.
    return max(
        (float(np.hypot(*(corners[at:] - corners[at]).T).max()) for at in range(len(corners))), default=0.0
    )


def _hull(places: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    """Corners of the convex hull: the farthest two of many places are two of them.

    Source: Andrew's monotone chain, Information Processing Letters 9 (1979), 216-219; from memory. Not by shapely, which
    would be the slowest part of a `check`.
    """
    found: list[tuple[float, float]] = []
    for points in (ordered := sorted(set(places)), ordered[::-1]):
        chain: list[tuple[float, float]] = []
        for x, y in points:
            while len(chain) > 1:
                (ax, ay), (bx, by) = chain[-2:]
                if (bx - ax) * (y - ay) - (by - ay) * (x - ax) > 0.0:
                    break
                chain.pop()
            chain.append((x, y))
        found += chain[:-1]
    return found or ordered


def _ways_back(log: Log, survey: Survey, geology: Geology) -> tuple[WayBack, ...]:
    """One for each contact whose leg has a place, and for each intrusive body that was booked on a leg.

    Stations of another arm may be nearer, but between arms lies the error of the walk, along a leg its own alone.
    """
    found: list[WayBack] = []
    places = [(contact.booked.span, contact.place) for contact in geology.contacts]
    for item in log.items:
        if isinstance(item, UnitHere) and item.letters in log.intrusive and item.address.leg is not None:
            placed = survey.at(item.address)
            places += [(item.span, placed)] if placed is not None else []
    for span, place in places:
        address = place.address
        names = (address.leg.start, address.leg.end) if address.leg is not None else (address.at_or_from,)
        ends = [survey.places[name] for name in names if name in survey.places]
        if ends:
            start = min(ends, key=lambda one: settled(math.hypot(*_from(one, place)), 6))
            found.append(_way_back(span, place, start, survey))
    return tuple(found)


def _from(start: Place, placed: PlacedAddress) -> tuple[float, float]:
    return placed.east_m - start.east_m, placed.north_m - start.north_m


def _way_back(span: Span, placed: PlacedAddress, start: Place, survey: Survey) -> WayBack:
    east, north = _from(start, placed)
    distance = settled(math.hypot(east, north), 6)
    conditions = placed.address.conditions
    reads: float | None = None
    if distance > _AT_M:
        azimuth = math.degrees(math.atan2(east, north)) + survey.frame.to_true_deg
        if conditions.bearings is North.MAGNETIC:
            azimuth -= survey.frame.declination_deg or 0.0
        elif conditions.bearings is North.GRID:
            azimuth -= survey.frame.to_true_deg
        # The compass is drawn aside there tomorrow as well.
        azimuth += sum(one.degrees for one in survey.deviations if one.station == start.name)
        reads = wrap_360(settled(azimuth, 6))
    pace = next((one for one in survey.paces if one.course is conditions.pace), None)
    leg = placed.address.leg
    written = "" if leg is None else leg.bearing.written
    ends = () if leg is None else (survey.places.get(leg.start), survey.places.get(leg.end))
    of_leg = [
        math.hypot(one.east_m - start.east_m, one.north_m - start.north_m) for one in ends if one is not None
    ]
    return WayBack(
        span=span,
        station=start.name,
        distance_m=distance,
        leg_m=settled(max(of_leg), 6) if len(of_leg) == 2 else None,
        reads_deg=reads,
        north=conditions.bearings or North.TRUE,
        # `due E` is of those who write quadrants.
        in_quadrants=is_quadrant(written) or written.lower().startswith("due"),
        pace=pace,
    )
