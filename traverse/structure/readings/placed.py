"""Readings turned to true north and put on the ground where they were taken."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from itertools import groupby
from typing import NamedTuple

import numpy as np

from traverse.angle import axial_difference, mean_axis, wrap_360
from traverse.diagnostic import Diagnostic, Outcome, warning
from traverse.location.records import PlacedAddress, Survey
from traverse.log.items import (
    Apparent,
    Contact,
    ContactKind,
    Crossing,
    Item,
    Lines,
    NotedThing,
    Photo,
    PlaneKind,
    Planes,
    WayUp,
)
from traverse.log.readings import Conditions, LineReading, North, PlaneReading
from traverse.log.records import Log
from traverse.nearest import Nearest
from traverse.settled import settled
from traverse.structure.readings.contact_reach import ContactReaches
from traverse.structure.readings.directions import (
    Vectors,
    dip_of,
    dot,
    line,
    plane_through,
    pole,
    pole_angle,
    rake_line,
    upward,
)
from traverse.structure.readings.mean import principal_axis
from traverse.structure.readings.records import (
    Attitude,
    LineAttitude,
    Placed,
    PlacedContact,
    PlaneAttitude,
    StrikeAttitude,
    Surface,
    by_rule,
)
from traverse.trade import REPEAT_DEG, SURE_SD


class Norths:
    """Turns what was read at a place to true north: declination, convergence and local attraction."""

    def __init__(self, survey: Survey) -> None:
        self._survey = survey
        self._deviations = {one.station: one.degrees for one in survey.deviations}

    def turn_deg(self, north: North | None, conditions: Conditions, *, station: str | None) -> float:
        """Degrees to add to an azimuth read from `north`; 0 where nothing says otherwise.

        `station` is None on a leg, where local attraction is not known.
        """
        deviation = self._deviations.get(station, 0.0) if station is not None else 0.0
        if north is North.GRID:
            return self._survey.frame.to_true_deg - deviation
        if north is North.MAGNETIC:
            return self._declination_deg(conditions) - deviation
        return -deviation

    def _declination_deg(self, conditions: Conditions) -> float:
        declination = conditions.declination
        if declination is None:
            return 0.0
        if declination.from_model:
            models = self._survey.model_declinations
            return models.get(conditions.date, 0.0) if conditions.date else next(iter(models.values()), 0.0)
        return declination.on(conditions.date) or 0.0


def attitudes(
    log: Log, survey: Survey, unit_at: Callable[[PlacedAddress], str | None]
) -> Outcome[tuple[Attitude, ...]]:
    """Every line of readings as one plane or one line in true north, with its unit, in the order of the log."""
    norths = Norths(survey)
    found: list[Attitude] = []
    said: list[Diagnostic] = []
    for _, group in groupby(enumerate(log.items), key=lambda numbered: numbered[1].address.index):
        items = tuple(group)
        place = survey.at(items[0][1].address)
        if place is None:
            continue
        unit = unit_at(place)
        tops = next((item for _, item in items if isinstance(item, WayUp)), None)
        plane: PlaneReading | None = None
        for order, item in items:
            if isinstance(item, Contact) and item.plane is not None:
                plane = item.plane
            elif isinstance(item, Planes) and all(one.dip_deg is None for one in item.readings):
                found.append(_strike_alone(item, _Where(place, order, unit), norths))
            elif isinstance(item, Planes):
                seen = tops if item.kind is PlaneKind.BED else None
                tops = None if seen is not None else tops
                attitude, plane = _plane(item, _Where(place, order, unit), norths, seen), item.readings[-1]
                alone = _alone(item, norths)
                if alone is not None:
                    said.append(alone)
                elif attitude.spread_deg > _most_apart_deg(item, attitude):
                    said.append(
                        warning(
                            "readings-apart",
                            f"the two readings of one surface lie {2.0 * attitude.spread_deg:.0f}° apart"
                            if len(item.readings) == _TWO
                            else f"readings of one surface differ: one lies {attitude.spread_deg:.0f}° from their mean",
                            item.span,
                            "look at their figures on the page; a second surface goes on a line of its own",
                            rests_on=[item.span],
                        )
                    )
                found.append(replace(attitude, checked=(item.span.file, item.span.line) in log.answered))
            elif isinstance(item, Apparent):
                found.append(_apparent(item, _Where(place, order, unit), norths))
            elif isinstance(item, Lines):
                found.append(_line(item, _Where(place, order, unit), norths, plane))
    return Outcome(tuple(found), tuple(said))


_TWO = 2
"""Each of two readings lies half as far from their mean as they lie apart."""
_LEAST_REPEATS = 3
"""Of two readings that differ neither is known to be the wrong one."""


class _Where(NamedTuple):
    """Where a reading was taken."""

    place: PlacedAddress
    order: int
    unit: str | None


def _tops_toward(tops: WayUp | None, norths: Norths) -> float | None:
    """True azimuth that the beds were seen to young to."""
    if tops is None or tops.toward is None:
        return None
    turn = norths.turn_deg(tops.conditions.bearings, tops.conditions, station=tops.address.station)
    return wrap_360(settled(tops.toward.azimuth_deg + turn))


def _strike(reading: PlaneReading, turn_deg: float) -> float | None:
    """True strike, right-handed; None of a flat plane.

    A vertical plane has two, and is the same plane by either: its dip direction is in the half from 000 to 180.
    """
    if reading.strike_deg is None:
        return None
    toward = wrap_360(settled(reading.strike_deg + turn_deg + 90.0))
    return wrap_360(settled((toward % 180.0 if reading.dip_deg == 90.0 else toward) - 90.0))


def _normal(dip_deg: float, strike: float | None, turn_deg: float) -> Vectors:
    return pole(dip_deg, dip_direction_deg=0.0 if strike is None else strike + 90.0 + turn_deg)


def _plane(item: Planes, where: _Where, norths: Norths, tops: WayUp | None) -> PlaneAttitude:
    turn = norths.turn_deg(item.conditions.attitudes_from, item.conditions, station=item.address.station)
    # A reading without a dip is no plane, and has no part in the mean.
    lies = [(one.dip_deg, one.strike_deg) for one in item.readings if one.dip_deg is not None]
    first = item.readings[0]
    if len(lies) == 1:
        # As written, not through a vector and back.
        (alone,) = (one for one in item.readings if one.dip_deg is not None)
        strike = _strike(alone, turn)
        dip, direction = lies[0][0], None if strike is None else wrap_360(settled(strike + 90.0))
        spread = 0.0
    else:
        axis, spread = principal_axis(np.array([_normal(*lie, turn) for lie in lies]))
        dip, direction = dip_of(axis)
    return PlaneAttitude(
        booked=item,
        place=where.place,
        order=where.order,
        station=item.address.at_or_from,
        unit=where.unit,
        kind=item.kind,
        written=item.written,
        dip_deg=dip,
        dip_direction_deg=0.0 if direction is None else direction,
        flat=direction is None,
        overturned=any(reading.overturned for reading in item.readings),
        n=len(lies),
        spread_deg=spread,
        sd_deg=_sd_deg(item),
        quality=first.quality,
        tops=tops,
        tops_toward_deg=_tops_toward(tops, norths),
        queried=any(reading.queried for reading in item.readings),
        span=item.span,
    )


def _sd_deg(item: Planes) -> float:
    """The widest ± of its readings; without one what the page says of all."""
    given = (reading.sd_deg for reading in item.readings if reading.sd_deg is not None)
    return max(given, default=item.conditions.precision.attitude_deg)


def _most_apart_deg(item: Planes, attitude: PlaneAttitude) -> float:
    """From their mean, readings of one surface that are as good as they are said to be."""
    if len(item.readings) != _TWO:
        return REPEAT_DEG
    return max(REPEAT_DEG, SURE_SD * math.sqrt(2.0) * attitude.sd_deg) / 2.0


def _alone(item: Planes, norths: Norths) -> Diagnostic | None:
    """A question about the one of three readings or more of a surface that lies off the others, which agree."""
    read = [one for one in item.readings if one.dip_deg is not None]
    if len(read) < _LEAST_REPEATS:
        return None
    turn = norths.turn_deg(item.conditions.attitudes_from, item.conditions, station=item.address.station)
    poles = np.array([_normal(one.dip_deg or 0.0, one.strike_deg, turn) for one in read])
    for index, one in enumerate(read):
        mean, spread = principal_axis(np.delete(poles, index, axis=0))
        off = settled(pole_angle(poles[index], mean))
        if off > REPEAT_DEG and spread < REPEAT_DEG / 2.0:
            return warning(
                "readings-apart",
                f"readings of one surface differ: {one.written} lies {off:.0f}° from the others, which agree within {spread:.0f}°",
                one.span,
                "look at its figures and letters on the page; a second surface goes on a line of its own",
                rests_on=[item.span],
            )
    return None


def _strike_alone(item: Planes, where: _Where, norths: Norths) -> StrikeAttitude:
    turn = norths.turn_deg(item.conditions.attitudes_from, item.conditions, station=item.address.station)
    strikes = [one.strike_deg for one in item.readings if one.strike_deg is not None]
    mean, _ = mean_axis(strikes)
    strike = strikes[0] if len(strikes) == 1 else mean
    return StrikeAttitude(
        booked=item,
        place=where.place,
        order=where.order,
        station=item.address.at_or_from,
        unit=where.unit,
        kind=item.kind,
        written=item.written,
        strike_deg=wrap_360(settled(strike + turn)),
        n=len(strikes),
        spread_deg=max(axial_difference(one, mean) for one in strikes),
        sd_deg=_sd_deg(item),
        queried=any(reading.queried for reading in item.readings),
        span=item.span,
    )


def _apparent(item: Apparent, where: _Where, norths: Norths) -> PlaneAttitude:
    turn = norths.turn_deg(item.conditions.attitudes_from, item.conditions, station=item.address.station)
    seen = [_plunge_and_trend(face, None) for face in item.faces]
    lines = line([plunge for plunge, _ in seen], trend_deg=[trend + turn for _, trend in seen])
    dip, direction = dip_of(plane_through(lines))
    return PlaneAttitude(
        booked=item,
        place=where.place,
        order=where.order,
        station=item.address.at_or_from,
        unit=where.unit,
        kind=PlaneKind.BED,
        written=item.written,
        dip_deg=dip,
        dip_direction_deg=0.0 if direction is None else direction,
        flat=direction is None,
        n=len(item.faces),
        sd_deg=item.conditions.precision.attitude_deg,
        queried=any(face.queried for face in item.faces),
        span=item.span,
    )


def _line(item: Lines, where: _Where, norths: Norths, plane: PlaneReading | None) -> LineAttitude:
    turn = norths.turn_deg(item.conditions.attitudes_from, item.conditions, station=item.address.station)
    found = [_plunge_and_trend(reading, plane) for reading in item.readings]
    spread = 0.0
    if len(found) == 1:
        plunge, trend = found[0]
    else:
        vectors = line([plunge for plunge, _ in found], trend_deg=[trend for _, trend in found])
        _, axes = np.linalg.eigh(vectors.T @ vectors)
        axis = upward(axes[:, -1])
        # A level line has a sense although no end of it goes down: keep that of the readings.
        axis = axis if dot(axis, vectors.sum(axis=0)) >= 0.0 else -axis
        east, north, up = axis.tolist()
        plunge = settled(math.degrees(math.atan2(-up, math.hypot(east, north))))
        trend = settled(math.degrees(math.atan2(east, north)))
        spread = max(pole_angle(axis, one) for one in vectors)
    return LineAttitude(
        booked=item,
        place=where.place,
        order=where.order,
        station=item.address.at_or_from,
        unit=where.unit,
        kind=item.kind,
        written=item.written,
        trend_deg=wrap_360(settled(trend + turn)),
        plunge_deg=plunge,
        both=any(reading.both for reading in item.readings),
        n=len(found),
        spread_deg=spread,
        sd_deg=item.conditions.precision.attitude_deg,
        queried=any(reading.queried for reading in item.readings),
        span=item.span,
    )


def _plunge_and_trend(reading: LineReading, plane: PlaneReading | None) -> tuple[float, float]:
    if reading.rake_deg is None:
        return reading.plunge_deg or 0.0, reading.trend_deg or 0.0
    on = reading.rake_on or plane
    if on is None or on.strike_deg is None or on.dip_deg is None:
        return 0.0, reading.rake_from_deg or 0.0
    return rake_line(
        on.strike_deg, dip_deg=on.dip_deg, rake_deg=reading.rake_deg, end_deg=reading.rake_from_deg or 0.0
    )


def contacts(
    log: Log, survey: Survey, beds: Sequence[PlaneAttitude], doubted: Collection[str] = ()
) -> tuple[PlacedContact, ...]:
    """Contacts, unconformities and faults on the ground, in the order of the log.

    What cuts the beds has no course of theirs, nor has the border of loose ground, which is no plane.

    How they lie is not taken from the files whose rule for attitudes is `doubted`.
    """
    norths = Norths(survey)
    strike_near = NearestStrike(beds)
    above_near: dict[str, NearestStrike] = {}
    reaches = ContactReaches(log, survey)
    placed: list[PlacedContact] = []
    apart = log.intrusive | {unit.letters for unit in log.units if unit.loose}
    for order, item in enumerate(log.items):
        if not isinstance(item, Contact) or (place := survey.at(item.address)) is None:
            continue
        turn = norths.turn_deg(item.conditions.attitudes_from, item.conditions, station=item.address.station)
        asked = item.plane is not None and item.span.file in doubted and by_rule(item.plane.written)
        plane = None if asked else item.plane
        strike = None if plane is None else _strike(plane, turn)
        reach = reaches.of(item, place)
        course = strike
        flat = plane is not None and plane.strike_deg is None
        cuts = item.kind is ContactKind.FAULT or bool({item.younger, item.older} & apart)
        if course is None and not flat and not cuts:
            near = strike_near
            if item.kind is ContactKind.UNCONFORMITY and item.younger is not None:
                # It lies as the beds on it do, whatever those below: where they are flat it has no strike.
                if item.younger not in above_near:
                    own = [bed for bed in beds if bed.unit == item.younger]
                    above_near[item.younger] = NearestStrike(own)
                near = above_near[item.younger]
            course = near(place.east_m, place.north_m)
        placed.append(
            PlacedContact(
                booked=item,
                place=place,
                order=order,
                kind=item.kind,
                younger=item.younger,
                older=item.older,
                certainty=item.certainty,
                queried=item.queried,
                half_width_m=reach.half_m,
                own_sd_m=reach.sd_m,
                sd_m=settled(math.hypot(reach.sd_m, place.sd_m)),
                strike_deg=strike,
                dip_deg=None if plane is None else plane.dip_deg,
                course_deg=course,
                surface=None
                if plane is None or plane.dip_deg is None
                else Surface(
                    strike_deg=strike,
                    dip_deg=plane.dip_deg,
                    sd_deg=item.conditions.precision.attitude_deg if plane.sd_deg is None else plane.sd_deg,
                ),
            )
        )
    return tuple(placed)


class NearestStrike:
    """True strike of the bed nearest to a place, the first of equals, of those whose strike is known; None where there is none."""

    def __init__(self, beds: Sequence[PlaneAttitude]) -> None:
        striking = [bed for bed in beds if bed.strike_known]
        self.strikes_deg = [bed.strike_deg for bed in striking]
        self._near = Nearest(np.array([(bed.place.east_m, bed.place.north_m) for bed in striking]))

    def __call__(self, east_m: float, north_m: float) -> float | None:
        """At a place by east and north."""
        return self.strikes_deg[self._near.to(east_m, north_m)] if self.strikes_deg else None

    def all_of(self, places: Vectors) -> list[float | None]:
        """At each of many places, (n, 2)."""
        if not self.strikes_deg:
            return [None] * len(places)
        return [self.strikes_deg[index] for index in self._near.to_all(places)]


def things(log: Log, survey: Survey) -> tuple[Placed, ...]:
    """Things where they lie, in the order of the log."""
    norths = Norths(survey)
    return tuple(
        Placed(record=item, place=place, station=item.address.at_or_from, azimuth_deg=_looking(item, norths))
        for item in log.items
        if isinstance(item, NotedThing) and (place := survey.at(item.address)) is not None
    )


def _looking(item: Item, norths: Norths) -> float | None:
    bearing = item.looking if isinstance(item, Photo) else item.runs if isinstance(item, Crossing) else None
    if bearing is None or not isinstance(item, Photo | Crossing):
        return None
    turn = norths.turn_deg(item.conditions.bearings, item.conditions, station=item.address.station)
    return wrap_360(settled(bearing.azimuth_deg + turn))
