"""Intrusive bodies where the walk crossed them, and the walk without them.

A body cuts the beds: they go on beyond it. So whatever is told from the order in which units follow each other is told
from the walk with its bodies taken out.
"""

from __future__ import annotations

import math
import re
from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import groupby

import numpy as np

from traverse.angle import wrap_360
from traverse.location.records import PlacedAddress, Survey
from traverse.log.items import ContactKind, LegKind, PlaneKind
from traverse.log.records import Log
from traverse.record import record
from traverse.settled import least, settled
from traverse.source import Span
from traverse.structure.readings.directions import Vectors, dip_of, dot, pole, pole_angle
from traverse.structure.readings.mean import principal_axis
from traverse.structure.readings.place_errors import bed_pole, contact_pole
from traverse.structure.readings.records import Attitude, PlacedContact, PlaneAttitude, bedding
from traverse.structure.walk.order import WalkOrder
from traverse.structure.walk.records import BandStretch, Body, BodyEnd
from traverse.structure.walk.sides import contacts_at
from traverse.trade import ALIKE_DEG, BAND_M, SURE_SD

_AT = 1e-6
_BESIDE_M = 3.0 * BAND_M
"""A bed read so near to a sill, or to its wall, tells how it lies; common practice, no source."""
_SILL = re.compile(r"\bsills?\b", re.IGNORECASE)


@record(frozen=True, slots=True, kw_only=True)
class Strata:
    """The walk with its intrusive bodies taken out."""

    contacts: tuple[PlacedContact, ...]
    """All but walls of bodies."""
    band: tuple[BandStretch, ...]
    """In a body the unit that lies on both sides of it; None where two do."""


def bodies_of(
    log: Log,
    survey: Survey,
    attitudes: Sequence[Attitude],
    contacts: Sequence[PlacedContact],
    band: Sequence[BandStretch],
) -> tuple[Body, ...]:
    """Every crossing of an intrusive unit, in walking order."""
    if not log.intrusive:
        return ()
    met_at = _meeting(log, contacts)
    found: list[Body] = []
    for chain in chains(log, band):
        runs = [list(run) for _, run in groupby(chain, key=lambda one: one.unit)]
        for index, run in enumerate(runs):
            unit = run[0].unit
            if unit is None or unit not in log.intrusive:
                continue
            before = runs[index - 1][-1] if index else None
            after = runs[index + 1][0] if index + 1 < len(runs) else None
            ends = (
                _end(log, survey, run[0], run[0].start_share, met_at, beyond=before),
                _end(log, survey, run[-1], run[-1].end_share, met_at, beyond=after),
            )
            found.append(_body(log, survey, unit, ends, tuple(run), attitudes))
    return tuple(_as_elsewhere(one, found, log, survey) for one in found)


def sills_of(log: Log) -> frozenset[str]:
    """Intrusive units whose names say that they lie along the beds."""
    return frozenset(unit.letters for unit in log.units if unit.intrusive and _SILL.search(unit.name))


def bed_beside(place: tuple[float, float], beds: Sequence[PlaneAttitude]) -> PlaneAttitude | None:
    """The bed read nearest to a body or its wall, by east and north, if that is near enough to tell how it lies."""

    def off_m(bed: PlaneAttitude) -> float:
        return math.dist((bed.place.east_m, bed.place.north_m), place)

    near = least(beds, key=off_m)
    return near if near is not None and off_m(near) <= _BESIDE_M else None


def is_one_body(one: Body, other: Body, *, to_true_deg: float) -> bool:
    """Whether two crossings of a unit may be one body: one plane, as the walls were read, goes through both.

    Within three standard errors of the places and of the plane carried from one to the other, whatever the walls were
    seen against. One of the two may be without a plane; False where both are.
    """
    known = [body for body in (one, other) if body.strike_deg is not None and body.dip_deg is not None]
    if one.unit != other.unit or not known:
        return False
    poles = [
        pole(body.dip_deg or 0.0, dip_direction_deg=(body.strike_deg or 0.0) + 90.0 - to_true_deg)
        for body in known
    ]
    if pole_angle(poles[0], poles[-1]) > ALIKE_DEG:
        return False
    normal = principal_axis(np.array(poles))[0]
    first, second = (_places(body) @ normal for body in (one, other))
    gap = max(0.0, float(first.min() - second.max()), float(second.min() - first.max()))
    apart = math.dist(_places(one).mean(axis=0), _places(other).mean(axis=0))
    sd_deg = math.hypot(*(body.sd_deg or 0.0 for body in known)) / len(known)
    sds = [max((wall.sd_m for wall in body.walls), default=0.0) for body in (one, other)]
    return gap <= SURE_SD * math.hypot(1.0, *sds, apart * math.radians(sd_deg))


def _places(body: Body) -> Vectors:
    """Its two ends, shape (2, 3)."""
    return np.array([end.place for end in body.ends])


def _as_elsewhere(body: Body, found: Sequence[Body], log: Log, survey: Survey) -> Body:
    """A body whose walls were not read by the plane of another crossing, where that goes through both."""
    if body.read_at:
        return body
    turn_deg = survey.frame.to_true_deg
    others = [one for one in found if one.read_at and is_one_body(body, one, to_true_deg=turn_deg)]
    near = least(others, key=lambda one: math.dist(one.middle, body.middle))
    if near is None or near.strike_deg is None or near.dip_deg is None or near.sd_deg is None:
        return body
    normal = pole(near.dip_deg, dip_direction_deg=near.strike_deg + 90.0 - turn_deg)
    through = _through(body.ends, normal)
    width = width_sd = None
    if through and len(body.walls) == 2:
        width, width_sd = _width(survey, body.ends, body.stretches, normal, near.sd_deg)
    first, last = (_running(end, near.strike_deg) for end in body.ends)
    leg = near.stretches[0].leg
    assert leg is not None
    return replace(
        body,
        ends=(first, last),
        strike_deg=near.strike_deg,
        dip_deg=near.dip_deg,
        sd_deg=near.sd_deg,
        read_at=near.read_at,
        through=through,
        width_m=width,
        width_sd_m=width_sd,
        narrow=through
        and (body.walked_m if width is None else width)
        < _precision(survey, log, body.stretches, list(body.walls)),
        as_on=f"leg {log.legs[leg].start}\u2013{log.legs[leg].end}",
    )


def with_courses(contacts: Sequence[PlacedContact], bodies: Sequence[Body]) -> tuple[PlacedContact, ...]:
    """The contacts; a wall that was not measured runs as the rest of its body does."""
    walls = {wall.booked.span: wall for body in bodies for wall in body.walls}
    return tuple(walls.get(one.booked.span, one) for one in contacts)


def strata_of(log: Log, band: tuple[BandStretch, ...], contacts: tuple[PlacedContact, ...]) -> Strata:
    """What the walk says of the beds alone; as it is where the log has no intrusive unit."""
    if not log.intrusive:
        return Strata(contacts=contacts, band=band)
    met_at = _meeting(log, contacts)
    host: dict[int, str | None] = {}
    for chain in chains(log, band):
        groups = [
            (cut, list(group)) for cut, group in groupby(chain, key=lambda one: one.unit in log.intrusive)
        ]
        for index, (cut, group) in enumerate(groups):
            if not cut:
                continue
            sides = [
                groups[at][1][end].unit if 0 <= at < len(groups) else None
                for at, end in ((index - 1, -1), (index + 1, 0))
            ]
            borders = [*met_at(group[0], group[0].start_share), *met_at(group[-1], group[-1].end_share)]
            # What was laid on a body, or faulted against it, was not cut by it.
            whole = sides[0] == sides[1] and all(one.kind is ContactKind.CONTACT for one in borders)
            host |= {id(one): sides[0] if whole else None for one in group}
    return Strata(
        contacts=tuple(one for one in contacts if not is_wall(one, log.intrusive)),
        band=tuple(
            replace(one, unit=host.get(id(one)), queried=False) if one.unit in log.intrusive else one
            for one in band
        ),
    )


def is_wall(contact: PlacedContact, intrusive: frozenset[str]) -> bool:
    """Whether a contact is the wall of an intrusive body: no fault, and nothing laid down on it."""
    return contact.kind is ContactKind.CONTACT and bool({contact.younger, contact.older} & intrusive)


StretchKey = tuple[int | None, float]
"""A stretch of the walk: its leg, and the share of it at which it begins."""


def stretch_keys(body: Body) -> tuple[StretchKey, ...]:
    """The stretches of the walk in a body."""
    return tuple((one.leg, one.start_share) for one in body.stretches)


class BodiesMet:
    """Bodies where they stand among what was met on the walk."""

    def __init__(self, log: Log, survey: Survey, walk: WalkOrder, bodies: Sequence[Body]) -> None:
        self._walk, self._bodies = walk, bodies
        met: list[int] = []
        on_legs: dict[int, list[tuple[int, float]]] = {}
        for order, item in enumerate(log.items if bodies else ()):
            met.append(item.address.index)
            leg, place = item.address.leg, survey.addresses[item.address.index]
            if item.address.station is None and leg and place and place.middle_share is not None:
                on_legs.setdefault(leg.index, []).append((order, place.middle_share))
        lines = {(one.span.file, one.span.line): one.index for one in log.addresses} if bodies else {}

        def met_before(leg: int, share: float) -> float:
            """Half-way between the last item that was met before a share of a leg and the next."""
            span = log.legs[leg].span
            on_leg = on_legs.get(leg) or [(bisect_left(met, lines[span.file, span.line]), share)]
            return max((order + 1 for order, at in on_leg if at < share), default=on_leg[0][0]) - 0.5

        self._ends = [
            (
                met_before(body.stretches[0].leg or 0, body.stretches[0].start_share + _AT),
                met_before(body.stretches[-1].leg or 0, body.stretches[-1].end_share - _AT),
            )
            for body in bodies
        ]
        self._places = sorted({place for ends in self._ends for place in ends})

    def between(self, first: int, second: int) -> list[tuple[Body, float]]:
        """Those that the walk went through on its way from one item of the log to a later one, by whichever arms.

        With 1, or -1 where they were walked through the other way round.
        """
        ways = [
            {self._places[at] for at in way} for way in self._walk.back_and_on(self._places, first, second)
        ]
        return [
            (body, sense)
            for body, ends in zip(self._bodies, self._ends, strict=True)
            for sense, way in zip((-1.0, 1.0), ways, strict=True)
            if way.issuperset(ends)
        ]


def opening(body: Body, normal: Vectors, *, to_true_deg: float) -> tuple[float, float]:
    """How much of a walk through a body lies across beds of that pole, metres, and its standard deviation.

    A body that pushed its walls apart moved the beds by its width, square to its walls; of one whose walls are not
    known it is anything up to all of the walk in it. One that the walk did not go through lies beside the beds that were
    walked, and moves none of them. Common practice, no source.
    """
    if not body.through:
        return 0.0, 0.0
    if body.width_m is not None and body.strike_deg is not None and body.dip_deg is not None:
        wall = pole(body.dip_deg, dip_direction_deg=body.strike_deg + 90.0 - to_true_deg)
        apart = np.subtract(body.ends[1].place, body.ends[0].place)
        moved = dot(apart, wall) * dot(wall, normal)
        share = abs(dot(wall, normal))
        return settled(moved), settled(share * (body.width_sd_m or 0.0))
    across = dot(np.subtract(body.ends[1].place, body.ends[0].place), normal)
    return settled(across / 2.0), settled(abs(across) / 2.0 / math.sqrt(3.0))


# --- finding them -------------------------------------------------------------------------------------------

_Meeting = Callable[[BandStretch, float], list[PlacedContact]]


def chains(log: Log, band: Sequence[BandStretch]) -> list[list[BandStretch]]:
    """The walk in pieces that follow each other on the ground; a side shot is a piece of its own."""
    chains: list[list[BandStretch]] = []
    last: dict[bool, BandStretch] = {}
    for stretch in band:
        if stretch.leg is None:
            continue
        leg = log.legs[stretch.leg]
        aside = leg.kind is LegKind.SIDE
        before = last.get(aside)
        follows = before is not None and before.leg is not None
        if follows and before is not None and before.leg is not None:
            same = before.leg == stretch.leg
            follows = same or (not aside and log.legs[before.leg].end == leg.start)
        if follows:
            next(chain for chain in reversed(chains) if chain[-1] is before).append(stretch)
        else:
            chains.append([stretch])
        last[aside] = stretch
    return chains


def _meeting(log: Log, contacts: Sequence[PlacedContact]) -> _Meeting:
    """A function that gives the contacts of a stretch's unit met at a share of its leg."""
    met_at = contacts_at(log, contacts)

    def met(stretch: BandStretch, share: float) -> list[PlacedContact]:
        assert stretch.leg is not None
        return [one for one in met_at(stretch.leg, share) if stretch.unit in {one.younger, one.older}]

    return met


def _end(
    log: Log,
    survey: Survey,
    stretch: BandStretch,
    share: float,
    met_at: _Meeting,
    *,
    beyond: BandStretch | None,
) -> BodyEnd:
    assert stretch.leg is not None
    leg = survey.legs[stretch.leg]
    start = survey.places[log.legs[stretch.leg].start]
    east, north = stretch.start if share == stretch.start_share else stretch.end
    rise = share * (leg.adjusted.up_m or 0.0)
    met = met_at(stretch, share)
    (way_east, way_north, _), _ = _ways(leg.adjusted.east_m, leg.adjusted.north_m)
    sense = 1.0 if share == stretch.start_share else -1.0
    # Where a younger body cuts it the wall is that one's, and it goes on beyond.
    own = [one for one in met if not (one.older == stretch.unit and one.younger in log.intrusive)]
    wall = next((one for one in own if one.kind is ContactKind.CONTACT), None)
    other = len(own) < len(met) or any(one.kind is not ContactKind.CONTACT for one in met)
    return BodyEnd(
        place=(east, north, settled(start.relative_up_m + rise)),
        up_m=None if start.up_m is None else settled(start.up_m + rise),
        wall=wall,
        host=None if beyond is None or other else beyond.unit,
        goes_on=beyond is None or other,
        inward=(settled(sense * float(way_east)), settled(sense * float(way_north))),
    )


def _body(
    log: Log,
    survey: Survey,
    unit: str,
    ends: tuple[BodyEnd, BodyEnd],
    stretches: tuple[BandStretch, ...],
    attitudes: Sequence[Attitude],
) -> Body:
    walls = [end.wall for end in ends if end.wall is not None]
    own: list[tuple[Vectors, float, Span]] = [
        (*pole_sd, wall.booked.span) for wall in walls if (pole_sd := contact_pole(wall)) is not None
    ]
    read = own or _dikes(walls, stretches, attitudes)
    strike = dip = sd = None
    if read:
        poles = np.array([normal for normal, _, _ in read])
        axis, spread = principal_axis(poles)
        # Walls that run each their own way have no mean, nor have readings in it that do.
        if walls_agree(walls) if len(own) == 2 else 2.0 * spread <= ALIKE_DEG:
            dip, way = dip_of(axis)
            strike = 0.0 if way is None else wrap_360(settled(way - 90.0))
            sd = settled(math.sqrt(sum(one**2 for _, one, _ in read)) / len(read))
    walked = math.dist(ends[0].place[:2], ends[1].place[:2])
    width = width_sd = None
    normal = None
    if strike is not None and dip is not None:
        normal = pole(dip, dip_direction_deg=strike + 90.0 - survey.frame.to_true_deg)
    through = _through(ends, normal)
    if normal is not None and sd is not None and len(walls) == 2 and through:
        width, width_sd = _width(survey, ends, stretches, normal, sd)
    first, last = (_running(end, strike) for end in ends)
    return Body(
        unit=unit,
        ends=(first, last),
        stretches=stretches,
        strike_deg=strike,
        dip_deg=dip,
        sd_deg=sd,
        read_at=tuple(span for _, _, span in read),
        walked_m=settled(walked),
        through=through,
        width_m=width,
        width_sd_m=width_sd,
        narrow=through and (walked if width is None else width) < _precision(survey, log, stretches, walls),
        folded=len(own) == 2 and strike is None and _lie_as_beds(walls, bedding(attitudes)),
    )


def _lie_as_beds(walls: Sequence[PlacedContact], beds: Sequence[PlaneAttitude]) -> bool:
    """Whether each wall that was measured lies as the bed beside it."""
    for wall in walls:
        own, bed = contact_pole(wall), bed_beside((wall.place.east_m, wall.place.north_m), beds)
        if own is None or bed is None or pole_angle(own[0], bed_pole(bed)[0]) > ALIKE_DEG:
            return False
    return True


def apart_deg(first: PlacedContact, second: PlacedContact) -> float:
    """Angle between the planes of two contacts, degrees; 0 where not both were measured."""
    one, other = contact_pole(first), contact_pole(second)
    return 0.0 if one is None or other is None else pole_angle(one[0], other[0])


def walls_agree(walls: Sequence[PlacedContact]) -> bool:
    """Whether two walls may be those of one body: within what beds of one place differ by, or thrice their own errors."""
    sds = [own[1] for wall in walls if (own := contact_pole(wall)) is not None]
    return apart_deg(*walls) <= max(ALIKE_DEG, SURE_SD * math.hypot(*sds))


def _running(end: BodyEnd, strike_deg: float | None) -> BodyEnd:
    """The end, its wall along the strike of the body where it was not measured."""
    if end.wall is None or end.wall.course_deg is not None:
        return end
    return replace(end, wall=replace(end.wall, course_deg=strike_deg))


def _through(ends: tuple[BodyEnd, BodyEnd], normal: Vectors | None) -> bool:
    """Whether the walk goes into a body by one wall and out by the other: on along the pole of its walls, where that is known."""
    if not all(end.wall is not None or end.host is not None for end in ends):
        return False
    into, back = (np.array([*end.inward, 0.0]) for end in ends)
    if normal is None or math.hypot(*normal[:2].tolist()) < _AT:
        return dot(into, back) < 0.0
    return dot(into, normal) * dot(back, normal) < 0.0


def _dikes(
    walls: Sequence[PlacedContact],
    stretches: Sequence[BandStretch],
    attitudes: Sequence[Attitude],
) -> list[tuple[Vectors, float, Span]]:
    """Readings of a `dike` in a body or at its walls."""
    places = {wall.booked.address.index for wall in walls}

    def inside(place: PlacedAddress) -> bool:
        if place.address.index in places:
            return True
        leg, share = place.address.leg, place.start_share
        if place.address.station is not None:
            at = (place.east_m, place.north_m)
            return any(math.dist(at, end) < _AT for one in stretches for end in (one.start, one.end))
        return (
            leg is not None
            and share is not None
            and any(
                one.leg == leg.index and one.start_share - _AT <= share <= one.end_share + _AT
                for one in stretches
            )
        )

    return [
        (*bed_pole(one), one.span)
        for one in attitudes
        if isinstance(one, PlaneAttitude) and one.kind is PlaneKind.DIKE and inside(one.place)
    ]


def _width(
    survey: Survey,
    ends: tuple[BodyEnd, BodyEnd],
    stretches: Sequence[BandStretch],
    normal: Vectors,
    sd_deg: float,
) -> tuple[float, float]:
    """True width across the walls, and its standard deviation.

    Only what was walked in the body tells its error: where the walk came from moves both walls alike. A wall is as
    uncertain as its contact is booked; a certain one along a leg is read to the nearest pace or metre.

    Source: width = |L . n|, L from wall to wall, n the unit normal (vector form of the usual cases of thickness).
    """
    apart = np.subtract(ends[1].place, ends[0].place)
    true = dot(apart, normal)
    variance = math.radians(sd_deg) ** 2 * max(0.0, dot(apart, apart) - true**2)
    for one in stretches:
        assert one.leg is not None
        leg = survey.legs[one.leg]
        share = one.end_share - one.start_share
        way, side = _ways(leg.adjusted.east_m, leg.adjusted.north_m)
        variance += (dot(way, normal) * share * leg.distance_sd_m) ** 2
        variance += (dot(side, normal) * share * leg.horizontal_m * math.radians(leg.bearing_sd_deg)) ** 2
    for end in ends:
        wall = end.wall
        if wall is None:
            continue
        own = wall.own_sd_m or _read_to_m(survey, wall.place) / math.sqrt(12.0)
        level = float(np.hypot(normal[0], normal[1]))
        variance += (own * level) ** 2
    return settled(abs(true)), settled(math.sqrt(variance))


def _ways(east_m: float, north_m: float) -> tuple[Vectors, Vectors]:
    """Unit vectors along a leg and to its right."""
    long = math.hypot(east_m, north_m) or 1.0
    way = np.array([east_m / long, north_m / long, 0.0])
    return way, np.array([way[1], -way[0], 0.0])


def _read_to_m(survey: Survey, place: PlacedAddress) -> float:
    """To what the distance of a place along its leg was read, metres: one pace, one metre or foot; 0 at a station."""
    leg, start = place.address.leg, place.address.start
    if leg is None or start is None or place.address.station is not None or not place.start_share:
        return 0.0
    return place.start_share * survey.legs[leg.index].horizontal_m / start.value


def _precision(
    survey: Survey, log: Log, stretches: Sequence[BandStretch], walls: Sequence[PlacedContact]
) -> float:
    """How well the walk knows its place at a body, metres, one standard deviation; what all places share left out."""
    shared = survey.control_sd_m or 0.0
    found = [wall.place.sd_m for wall in walls]
    if not found:
        for one in stretches:
            assert one.leg is not None
            place = survey.places[log.legs[one.leg].start]
            found.append(place.sd_plan_m / math.sqrt(2.0))
    return math.sqrt(max(0.0, max(found) ** 2 - shared**2))
