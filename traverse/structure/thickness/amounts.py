"""How thick each unit is in all, how thick at least where it was not crossed, and how high a horizon stands."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from traverse.location.records import Rests, Survey
from traverse.log.items import ContactKind
from traverse.log.records import Log
from traverse.record import record
from traverse.settled import SAME_M, least, settled
from traverse.source import Span
from traverse.structure.readings.directions import Vectors, dot
from traverse.structure.readings.mean import mean_plane, principal_axis
from traverse.structure.readings.place_errors import (
    apart,
    bed_pole,
    contact_pole,
    own_covariance,
    place_vector,
)
from traverse.structure.readings.records import PlacedContact, PlaneAttitude
from traverse.structure.thickness.records import LeastThickness, Thickness, UnitThickness
from traverse.structure.thickness.true_thickness import thickness_variance, variance_along
from traverse.structure.walk.bodies import StretchKey, opening, stretch_keys
from traverse.structure.walk.fault_blocks import BodyBeds
from traverse.structure.walk.records import BandStretch, Body
from traverse.structure.walk.sides import contacts_at
from traverse.trade import FOLDED_DEG, LEVEL_DEG, ONE_IN_A_HUNDRED, SURE_SD, chi_square_limit

_AT = 1e-6
_LEVEL = math.sin(math.radians(LEVEL_DEG))
"""A bed that falls less than this share of its run is level."""


_MEDIAN_FROM = 3
"""Of fewer crossings the median tells no more than their mean."""


class _Run:
    """A stretch of the walk on one unit."""

    def __init__(
        self,
        *,
        unit: str,
        places: list[Vectors],
        rests: list[Rests],
        met: list[PlacedContact | None],
        beyond: list[str | None],
    ) -> None:
        self.unit = unit
        self.places = places
        """Its two ends."""
        self.rests = rests
        """What they rest on."""
        self.met = met
        """Contacts at its two ends."""
        self.beyond = beyond
        """Units beyond its two ends."""
        self.inside: list[tuple[Vectors, Rests]] = []
        """Places on its way, one after each stretch but the last, each with what it rests on."""
        self.legs: set[int] = set()
        self.stretches: dict[StretchKey, int] = {}
        """Each with how many come before it."""

    def far_places(self, known: int) -> list[tuple[int, Vectors, Rests]]:
        """The end away from the one that is known, then all on its way: after how many stretches, where, and what it rests on."""
        end = (0, len(self.stretches))[1 - known]
        return [
            (end, self.places[1 - known], self.rests[1 - known]),
            *((index, place, rests) for index, (place, rests) in enumerate(self.inside, 1)),
        ]

    def crossed(self, bodies: Sequence[Body], known: int, after: int) -> list[Body]:
        """Bodies crossed between the known end and the place that comes after so many stretches."""
        low, high = (0, after) if known == 0 else (after, len(self.stretches))
        return [
            body
            for body in bodies
            if all(low <= self.stretches.get(one, -1) < high for one in stretch_keys(body))
        ]


@record(frozen=True, kw_only=True)
class _LowerBound:
    """A unit from a contact to the farthest place in it."""

    unit: str
    contact: PlacedContact
    way: Vectors
    rests: Rests
    """What its far end rests on."""
    axis: Vectors
    sd_deg: float
    moved_m: float
    """What bodies on the way add."""
    moved_m2: float
    why: str


def least_thicknesses(
    log: Log,
    survey: Survey,
    contacts: tuple[PlacedContact, ...],
    beds: BodyBeds,
    band: tuple[BandStretch, ...],
    caps: frozenset[str],
    bodies: Sequence[Body] = (),
    not_counted: frozenset[Span] = frozenset(),
) -> tuple[LeastThickness, ...]:
    """Lower bounds for units entered over a contact and lost under a younger deposit or at a fault, never left or left over it.

    Also of what lies under an unconformity, from that to the farthest place in it.
    None where beds turn within the stretch, no bed of its body tells how they lie, or the contact is `not_counted`.
    """
    on_legs: dict[int, list[PlaneAttitude]] = defaultdict(list)
    at_stations: dict[str, list[PlaneAttitude]] = defaultdict(list)
    for bed in (bed for own in beds.beds.values() for bed in own):
        address = bed.booked.address
        if address.station is not None:
            at_stations[address.station].append(bed)
        elif address.leg is not None:
            on_legs[address.leg.index].append(bed)
    turn_deg = survey.frame.to_true_deg
    bounds: list[_LowerBound] = []
    for run in _runs(log, survey, contacts, band):
        whole = [
            contact is not None
            and contact.kind is ContactKind.CONTACT
            and run.unit in {contact.younger, contact.older}
            and contact.younger not in caps
            for contact in run.met
        ]
        # What lies between a place in it and the surface that cut it off is a part of it, whichever way that was worn.
        worn = [
            contact is not None and contact.kind is ContactKind.UNCONFORMITY and contact.older == run.unit
            for contact in run.met
        ]
        if run.unit in caps or not (any(whole) or any(worn)):
            continue
        known = (whole if any(whole) else worn).index(True)
        contact, other = run.met[known], run.met[1 - known]
        lost = run.beyond[1 - known]
        if contact is None:
            continue
        if contact.booked.span in not_counted:
            continue
        if other is None and lost is not None and lost not in caps:
            continue
        back = other if all(whole) else None
        if all(whole) and (back is None or back.booked.span in not_counted or not _is_one(contact, back)):
            continue
        its = beds.body(run.unit)
        # Where its two ends lie side by side, its own beds lie between them all the same.
        read = [
            bed for leg in run.legs for bed in _near(leg, log, on_legs, at_stations) if bed.unit == run.unit
        ]
        far = run.far_places(known)[0]
        if back is None and any(whole):
            far = _farthest(run, known, contact, read, bodies, turn_deg)
        if back is None:
            between = place_vector(contact.place), far[1]
            read = [bed for leg in run.legs for bed in _read_on(leg, log, on_legs, at_stations, between)]
        read = [bed for bed in read if beds.body(bed.unit) == its]
        own = contact_pole(contact, to_true_deg=turn_deg)
        poles = [bed_pole(bed, to_true_deg=turn_deg) for bed in read] or ([own] if own and any(whole) else [])
        if not poles:
            continue
        if principal_axis(np.array([pole for pole, _ in poles]))[1] > FOLDED_DEG:
            continue
        axis, sd_deg = mean_plane(poles)
        inside = run.crossed(bodies, known, far[0])
        moved = [opening(body, axis, to_true_deg=turn_deg) for body in inside]
        at_end = far[0] in {0, len(run.stretches)}
        end = far[1:]
        why = f"under {lost}" if at_end and lost in caps and lost else "not walked farther"
        if at_end and other is not None and other.kind is ContactKind.FAULT:
            why = "cut off by a fault"
        if back is not None:
            deepest = None if inside else _deepest(run, (contact, back), axis, sd_deg)
            if deepest is None:
                continue
            contact, end = deepest[0], deepest[1:]
            why = "left where it was entered"
        bounds.append(
            _LowerBound(
                unit=run.unit,
                contact=contact,
                way=end[0] - place_vector(contact.place),
                rests=end[1],
                axis=axis,
                sd_deg=sd_deg,
                moved_m=(1.0 if known == 0 else -1.0) * sum(by_m for by_m, _ in moved),
                moved_m2=sum(sd_m**2 for _, sd_m in moved),
                why=why,
            )
        )
    walked = apart(survey, [(one.contact.place.rests_on, one.rests) for one in bounds])
    found = []
    for one, covariance in zip(bounds, walked, strict=True):
        true = settled(dot(one.way, one.axis) - one.moved_m)
        variance = thickness_variance(one.way, one.axis, one.sd_deg) + one.moved_m2
        variance += variance_along(one.axis, covariance) + variance_along(
            one.axis, own_covariance(one.contact)
        )
        if abs(true) >= 0.5:
            found.append(
                LeastThickness(
                    unit=one.unit,
                    true_m=abs(true),
                    sd_m=settled(math.sqrt(variance)),
                    contact=one.contact.booked.span,
                    why=one.why,
                )
            )
    return tuple(found)


def _is_one(one: PlacedContact, other: PlacedContact) -> bool:
    return (one.younger, one.older) == (other.younger, other.older)


def _deepest(
    run: _Run, ends: tuple[PlacedContact, PlacedContact], axis: Vectors, sd_deg: float
) -> tuple[PlacedContact, Vectors, Rests] | None:
    """The place of a run that lies farthest from the contact over which it was entered and left, with the nearer of both crossings.

    None where the crossings lie in no one plane of its beds, as on two limbs, or no place lies on one side of both.
    """
    first, last = (place_vector(one.place) for one in ends)
    across = last - first
    sd_m = math.hypot(ends[0].sd_m, ends[1].sd_m, math.sqrt(thickness_variance(across, axis, sd_deg)))
    if abs(dot(across, axis)) > SURE_SD * sd_m:
        return None
    found: tuple[PlacedContact, Vectors, Rests] | None = None
    most_m = 0.0
    for place, rests in run.inside:
        off_m = [settled(dot(place - end, axis)) for end in (first, last)]
        near = int(abs(off_m[1]) < abs(off_m[0]))
        if off_m[0] * off_m[1] > 0.0 and abs(off_m[near]) > most_m + SAME_M:
            most_m, found = abs(off_m[near]), (ends[near], place, rests)
    return found


def _farthest(
    run: _Run,
    known: int,
    contact: PlacedContact,
    beds: Sequence[PlaneAttitude],
    bodies: Sequence[Body],
    to_true_deg: float,
) -> tuple[int, Vectors, Rests]:
    """The place of a run that lies farthest across its beds from the contact at its known end, on the unit's side of it.

    A walk may come back along the beds, or stop at the wall of a dike. The other end where its beds turn, or none was read.
    """
    places = run.far_places(known)
    overturned = {bool(bed.upside_down) for bed in beds}
    if len(overturned) != 1:
        return places[0]
    poles = [bed_pole(bed, to_true_deg=to_true_deg) for bed in beds]
    if principal_axis(np.array([pole for pole, _ in poles]))[1] > FOLDED_DEG:
        return places[0]
    axis, _ = mean_plane(poles)
    up = 1.0 if (run.unit == contact.younger) != overturned.pop() else -1.0
    ahead = 1.0 if known == 0 else -1.0

    inside = run.crossed(bodies, known, places[0][0])

    def across_m(after: int, place: Vectors) -> float:
        moved = [
            opening(body, axis, to_true_deg=to_true_deg)[0] for body in run.crossed(inside, known, after)
        ]
        return settled(up * (dot(place - place_vector(contact.place), axis) - ahead * sum(moved)))

    return least(places, key=lambda one: -across_m(*one[:2])) or places[0]


def _near(
    leg: int,
    log: Log,
    on_legs: dict[int, list[PlaneAttitude]],
    at_stations: dict[str, list[PlaneAttitude]],
) -> list[PlaneAttitude]:
    """Beds of a leg and its stations."""
    return [*on_legs[leg], *at_stations[log.legs[leg].start], *at_stations[log.legs[leg].end]]


def _read_on(
    leg: int,
    log: Log,
    on_legs: dict[int, list[PlaneAttitude]],
    at_stations: dict[str, list[PlaneAttitude]],
    between: tuple[Vectors, Vectors],
) -> list[PlaneAttitude]:
    """Beds of a leg and its stations that lie between two places."""
    near = _near(leg, log, on_legs, at_stations)
    middle = (between[0] + between[1]) / 2.0
    reach = math.dist(*between) / 2.0 + 1.0 + SAME_M
    return [bed for bed in near if math.dist(place_vector(bed.place), middle) <= reach]


def _runs(
    log: Log, survey: Survey, contacts: tuple[PlacedContact, ...], band: tuple[BandStretch, ...]
) -> list[_Run]:
    """The walk cut where the unit changes, with the contact at each end."""
    met_at = contacts_at(log, contacts)

    def met(leg: int, share: float, units: set[str | None]) -> PlacedContact | None:
        return next((one for one in met_at(leg, share) if {one.younger, one.older} & units), None)

    def place_of(stretch: BandStretch, share: float, east_north: tuple[float, float]) -> Vectors:
        assert stretch.leg is not None
        start = survey.places[log.legs[stretch.leg].start]
        rise = survey.legs[stretch.leg].adjusted.up_m or 0.0
        return np.array([*east_north, start.relative_up_m + share * rise])

    def rests(stretch: BandStretch, share: float) -> Rests:
        assert stretch.leg is not None
        leg = log.legs[stretch.leg]
        return ((leg.start, 1.0 - share), (leg.end, share))

    faulted = _faults_on(log, contacts)
    runs: list[_Run] = []
    last: BandStretch | None = None
    for stretch in (piece for one in band for piece in _cut_at(one, faulted)):
        if stretch.leg is None:
            continue
        follows = (
            last is not None
            and last.leg is not None
            and (last.leg == stretch.leg or log.legs[last.leg].end == log.legs[stretch.leg].start)
        )
        parted = follows and last is not None and last.leg is not None and _at_fault(last, stretch, faulted)
        if (
            stretch.unit is not None
            and follows
            and not parted
            and runs
            and last is not None
            and last.unit == stretch.unit
        ):
            runs[-1].inside.append((runs[-1].places[1], runs[-1].rests[1]))
            runs[-1].places[1] = place_of(stretch, stretch.end_share, stretch.end)
            runs[-1].rests[1] = rests(stretch, stretch.end_share)
        elif stretch.unit is not None:
            before = last.unit if follows and last is not None else None
            pair: set[str | None] = {stretch.unit}
            runs.append(
                _Run(
                    unit=stretch.unit,
                    places=[
                        place_of(stretch, stretch.start_share, stretch.start),
                        place_of(stretch, stretch.end_share, stretch.end),
                    ],
                    rests=[rests(stretch, stretch.start_share), rests(stretch, stretch.end_share)],
                    met=[met(stretch.leg, stretch.start_share, pair) if before else None, None],
                    beyond=[before, None],
                )
            )
            if before and len(runs) > 1 and last is not None and last.leg is not None:
                runs[-2].met[1] = met(last.leg, last.end_share, {before}) or runs[-1].met[0]
                runs[-2].beyond[1] = stretch.unit
        if runs and stretch.unit is not None:
            runs[-1].legs.add(stretch.leg)
            runs[-1].stretches[stretch.leg, stretch.start_share] = len(runs[-1].stretches)
        last = stretch
    return runs


def _faults_on(log: Log, contacts: Sequence[PlacedContact]) -> dict[int, list[float]]:
    """By leg the shares at which a fault was met on it; one at a station ends the legs that do."""
    found: dict[int, list[float]] = defaultdict(list)
    for one in contacts:
        address, middle = one.place.address, one.place.middle_share
        if one.kind is not ContactKind.FAULT:
            continue
        if address.station is None and address.leg is not None and middle is not None:
            found[address.leg.index].append(middle)
        for index, leg in enumerate(log.legs if address.station is not None else ()):
            found[index] += [
                share for name, share in ((leg.start, 0.0), (leg.end, 1.0)) if name == address.station
            ]
    return found


def _cut_at(stretch: BandStretch, faulted: Mapping[int, Sequence[float]]) -> list[BandStretch]:
    """A stretch cut at the faults on it."""
    shares = [
        share
        for share in sorted(set(faulted.get(-1 if stretch.leg is None else stretch.leg, ())))
        if stretch.start_share + _AT < share < stretch.end_share - _AT
    ]
    if not shares:
        return [stretch]
    (east, north), (to_east, to_north) = stretch.start, stretch.end
    long = stretch.end_share - stretch.start_share

    def at(share: float) -> tuple[float, float]:
        part = (share - stretch.start_share) / long
        return settled(east + part * (to_east - east)), settled(north + part * (to_north - north))

    ends = [stretch.start_share, *shares, stretch.end_share]
    return [
        replace(stretch, start=at(one), end=at(other), start_share=one, end_share=other)
        for one, other in pairwise(ends)
    ]


def _at_fault(before: BandStretch, after: BandStretch, faulted: Mapping[int, Sequence[float]]) -> bool:
    """Whether a fault lies where one stretch ends and the next begins."""
    ends = ((before.leg, before.end_share), (after.leg, after.start_share))
    return any(abs(share - at) < _AT for leg, at in ends if leg is not None for share in faulted.get(leg, ()))


def unit_thicknesses(
    log: Log, thicknesses: Sequence[Thickness], least: Sequence[LeastThickness]
) -> tuple[UnitThickness, ...]:
    """Each unit's thickness over all its crossings, weighted by 1/sd² with what the turning of their beds leaves open; lower bounds apart.

    Of crossings that differ by more than their errors it is the median, which one wrong among them does not move.
    """
    found = []
    for unit in (one.letters for one in log.units):
        whole = [one for one in thicknesses if one.unit == unit and not one.at_least]
        parts = [(one.true_m, one.sd_m) for one in thicknesses if one.unit == unit and one.at_least]
        parts += [(one.true_m, one.sd_m) for one in least if one.unit == unit]
        if not whole and not parts:
            continue
        true = sd = extent = None
        differs = False
        if whole:
            weights = np.array([1.0 / max(one.sd_ranged_m, 1e-6) ** 2 for one in whole])
            true = settled(float(np.average([one.true_m for one in whole], weights=weights)))
            scatter, differs = _scatter(whole, true)
            sd = settled(scatter / math.sqrt(float(weights.sum())))
            if differs and len(whole) >= _MEDIAN_FROM:
                true = settled(float(np.median([one.true_m for one in whole])))
            extent = (min(one.range_m[0] for one in whole), max(one.range_m[1] for one in whole))
        most, most_sd = max(parts, default=(None, 0.0))
        # Within the errors of both a part says no more than the whole does, but for how thick that may be.
        says_more = true is None or (most or 0.0) - true > 2.0 * math.hypot(sd or 0.0, most_sd)
        if extent is not None and most is not None and not says_more:
            extent = (extent[0], max(extent[1], most))
        found.append(
            UnitThickness(
                unit=unit,
                true_m=true,
                sd_m=sd,
                range_m=extent,
                n=len(whole),
                differs=differs,
                least_m=most if says_more else None,
            )
        )
    return tuple(found)


def most_thick(units: Sequence[UnitThickness], crossings: Sequence[Thickness]) -> Mapping[str, float]:
    """By unit how thick it is at most, with its error, metres, of those that were crossed from base to top.

    Not of one that is thicker somewhere than it was crossed, nor of one that holds a body.
    """
    parted = {one.unit for one in crossings if one.less}
    return {
        one.unit: settled(max(one.true_m, one.range_m[1]) + one.sd_m)
        for one in units
        if one.true_m is not None and one.sd_m is not None and one.range_m is not None
        if one.least_m is None and one.unit not in parted
    }


def _scatter(crossings: Sequence[Thickness], mean_m: float) -> tuple[float, bool]:
    """By how many of their errors crossings of one unit scatter about their mean, where by more than one in a hundred do.

    One counts by how far the mean lies outside of what its rules give. Source of the factor: R. T. Birge (1932), Phys.
    Rev. 40, 207, from memory: errors that are too small for the scatter are stretched to it.
    """
    free = len(crossings) - 1
    if free < 1:
        return 1.0, False
    off = [
        max(one.range_m[0] - mean_m, mean_m - one.range_m[1], 0.0) / max(one.sd_m, _AT) for one in crossings
    ]
    chi_square = settled(math.fsum(one**2 for one in off))
    differs = chi_square > chi_square_limit(free, ONE_IN_A_HUNDRED)
    return (math.sqrt(chi_square / free) if differs else 1.0), differs
