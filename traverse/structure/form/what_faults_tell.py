"""What was seen of each fault, and how far the beds on its sides are apart, where they tell."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import product
from typing import NamedTuple

import numpy as np

from traverse.angle import wrap_360
from traverse.location.records import Survey
from traverse.log.items import ContactKind, HowMet, LineKind
from traverse.log.records import Log
from traverse.settled import least, settled, settled_all
from traverse.structure.form.fault_sides import FaultSides
from traverse.structure.form.fault_traces import each_fault
from traverse.structure.form.records import FaultSeen, Level, NoSeparation, Other, Separation
from traverse.structure.form.separation import DipSeparation, separation
from traverse.structure.readings.directions import Vectors, dip_of, dot, line, pole, pole_angle
from traverse.structure.readings.mean import mean_plane, widest_angle
from traverse.structure.readings.place_errors import (
    apart,
    bed_pole,
    contact_pole,
    own_covariance,
    place_vector,
)
from traverse.structure.readings.records import Attitude, LineAttitude, PlacedContact, PlaneAttitude
from traverse.structure.thickness.true_thickness import thickness_variance, variance_along
from traverse.structure.walk.fault_blocks import BodyBeds, block_finder
from traverse.structure.walk.records import BandStretch
from traverse.structure.walk.sides import younger_side
from traverse.trade import (
    ALIKE_DEG,
    CROSSED_DEG,
    GENTLE_DEG,
    REACH_BED_M,
    REACH_M,
    SURE_POLE_SD,
    SURE_SD,
)

_MOST_PLACES = 2
"""Of one contact on one side of a fault, the nearest ones: a figure is not better for those farther off."""
_TOLD_SD = 2.0
"""A side went up, or down, where the separation is larger than so many of its standard deviations. Common practice, no source."""

_CLEAR_SD = 5.0
"""A surface that the dip of a fault comes through at less than so many standard deviations of that angle tells nothing: its
separation is off by more than errors to first order say. Common practice, no source."""


def faults_seen(
    log: Log,
    survey: Survey,
    contacts: Sequence[PlacedContact],
    beds: BodyBeds,
    attitudes: Sequence[Attitude],
    band: tuple[BandStretch, ...],
    caps: frozenset[str] = frozenset(),
) -> tuple[FaultSeen, ...]:
    """Each fault that the walk crossed, met at one place or several, in the order of the log.

    `contacts` are those of strata, with the faults; of what is asked about none should be among them, nor among the `beds`.
    """
    faults = each_fault(survey, contacts)
    if not faults:
        return ()
    scratched: dict[int, list[LineAttitude]] = defaultdict(list)
    for one in attitudes:
        if isinstance(one, LineAttitude) and one.kind is LineKind.STRIATION:
            scratched[one.booked.address.index].append(one)
    sides = _Sides(log, survey, contacts, beds, band, caps, faults)
    found = []
    for met in faults:
        lines = [one for place in met for one in scratched[place.booked.address.index]]
        plane = _plane_of(met)
        seen = FaultSeen(
            faults=tuple(met),
            contacts=tuple(met),
            striations=tuple(dict.fromkeys(lines)),
            dip_deg=None if plane is None else plane.dip_deg,
            dip_direction_deg=None if plane is None else plane.dip_direction_deg,
            through=0 if plane is None else plane.through,
            others=(Other.IN_LINE,) if len(met) > 1 else (),
        )
        found.append(sides.told(seen, met, plane))
    return tuple(found)


class _FaultPlane(NamedTuple):
    """A fault's own plane, in true north."""

    dip_deg: float
    dip_direction_deg: float | None
    """None of a level one."""
    sd_deg: float
    through: int
    """As of a `Surface`."""


def _plane_of(met: Sequence[PlacedContact]) -> _FaultPlane | None:
    """The mean of what was read at its places, else the plane through them."""
    read = [found for one in met if (found := contact_pole(one)) is not None]
    if read:
        normal, sd_deg = mean_plane(read)
        return _FaultPlane(*dip_of(normal), sd_deg, 0)
    through = next((one.surface for one in met if one.surface is not None), None)
    if through is None:
        return None
    way = None if through.strike_deg is None else wrap_360(through.strike_deg + 90.0)
    return _FaultPlane(through.dip_deg, way, through.sd_deg, through.through)


class _Marker(NamedTuple):
    """One contact on both sides of a fault."""

    under: PlacedContact
    over: PlacedContact
    beds: tuple[PlaneAttitude, ...]
    apart: DipSeparation


class _NearFault(NamedTuple):
    """A contact beside a fault."""

    contact: PlacedContact
    block: int | None
    fault: PlacedContact
    """The place of the fault that is nearest to it."""
    over: bool
    """Whether it lies over the fault."""


class _Failed(NamedTuple):
    why: NoSeparation
    differ_deg: float | None = None


class _Sides:
    """The contacts on the two sides of each fault, and the beds that tell how they lie."""

    def __init__(
        self,
        log: Log,
        survey: Survey,
        contacts: Sequence[PlacedContact],
        beds: BodyBeds,
        band: tuple[BandStretch, ...],
        caps: frozenset[str],
        faults: Sequence[Sequence[PlacedContact]],
    ) -> None:
        loose = {unit.letters for unit in log.units if unit.loose}
        self.survey, self.beds = survey, beds
        self.turn_deg = survey.frame.to_true_deg
        self.block = block_finder(log, contacts)
        self.lines = FaultSides(log, survey, contacts)
        self.toward = younger_side(log, survey, band)
        self.met = [
            one
            for one in contacts
            if one.kind is ContactKind.CONTACT
            and one.met is HowMet.CROSSED
            and None not in {one.younger, one.older}
            and one.younger not in caps
            and not {one.younger, one.older} & (log.intrusive | loose)
        ]
        self.beds_at_m: dict[int, Vectors] = {}
        self.blocks = [self.block(one.place, one.order) for one in self.met]
        self.at_m = np.array([(one.place.east_m, one.place.north_m) for one in self.met]).reshape(-1, 2)
        # The errors of all ways at once: asked for one by one they take longer than all else.
        self.near = {met[0].order: self._near(met) for met in faults}
        pairs = [(met[to], self.met[at]) for met in faults for at, to in self.near[met[0].order]]
        walked = apart(survey, [(one.place.rests_on, other.place.rests_on) for one, other in pairs])
        self.way_m2 = {(one.order, other.order): way for (one, other), way in zip(pairs, walked, strict=True)}

    def _near(self, met: Sequence[PlacedContact]) -> list[tuple[int, int]]:
        """The contacts near places of a fault, the nearest first, each with its nearest place, by their index."""
        at_m = np.array([(one.place.east_m, one.place.north_m) for one in met])
        off_m = settled_all(np.hypot(*(self.at_m[:, None, :] - at_m[None, :, :]).transpose(2, 0, 1)), 3)
        nearest = off_m.min(axis=1)
        reached = np.flatnonzero(nearest <= REACH_M)
        reached = reached[np.argsort(nearest[reached], kind="stable")]
        return list(zip(reached.tolist(), off_m[reached].argmin(axis=1).tolist(), strict=True))

    def told(self, seen: FaultSeen, met: Sequence[PlacedContact], plane: _FaultPlane | None) -> FaultSeen:
        """With the separation, or with what is wanting."""
        if plane is None:
            return replace(seen, lacks=NoSeparation.NO_DIP)
        if plane.dip_direction_deg is None or plane.dip_deg < GENTLE_DEG:
            return replace(seen, lacks=NoSeparation.LEVEL)
        tried = list(self._tried(met, plane, plane.dip_direction_deg))
        good = [one for one in tried if isinstance(one, _Marker)]
        best = least(good, key=lambda one: settled(one.apart.sd_m, 3))
        if best is None:
            failed = [one for one in tried if isinstance(one, _Failed)]
            first = least(failed, key=lambda one: 1000.0 * _RANK[one.why] + (one.differ_deg or 0.0))
            if first is None:
                return replace(seen, lacks=NoSeparation.ONE_SIDE)
            return replace(seen, lacks=first.why, differ_deg=first.differ_deg)
        differ = any(
            abs(one.apart.dip_m - best.apart.dip_m) > SURE_SD * math.hypot(one.apart.sd_m, best.apart.sd_m)
            for one in good
        )
        if differ:
            return replace(seen, lacks=NoSeparation.CONTACTS_DIFFER)
        return replace(
            seen,
            contacts=(*met, best.under, best.over),
            readings=best.beds,
            separation=_separation(best, plane, plane.dip_direction_deg),
            level=Level.FOLLOWS,
        )

    def _tried(
        self, met: Sequence[PlacedContact], plane: _FaultPlane, direction_deg: float
    ) -> Iterator[_Marker | _Failed]:
        """What each contact says that was met on both sides, near places of the fault."""
        pairs: dict[tuple[str | None, str | None], tuple[list[_NearFault], list[_NearFault]]] = defaultdict(
            lambda: ([], [])
        )
        for one in self._beside(met, plane, direction_deg):
            its = pairs[one.contact.younger, one.contact.older][one.over]
            if len(its) < _MOST_PLACES:
                its.append(one)
        ends = [one for under, over in pairs.values() for one in product(under, over)]
        walked = apart(
            self.survey, [(one.contact.place.rests_on, other.contact.place.rests_on) for one, other in ends]
        )
        for pair, way_m2 in zip(ends, walked, strict=True):
            found = self._marker(pair, way_m2, met, plane, direction_deg)
            if found is not None:
                yield found

    def _beside(
        self, met: Sequence[PlacedContact], plane: _FaultPlane, direction_deg: float
    ) -> list[_NearFault]:
        """Contacts near a fault of which it is sure on which side they lie, the nearest to it first.

        By its place that is nearest to each: farther off it is not known where a fault runs.
        """
        square = pole(plane.dip_deg, dip_direction_deg=direction_deg - self.turn_deg)
        found = []
        for at, to in self.near[met[0].order]:
            contact, fault = self.met[at], met[to]
            way_m2 = self.way_m2[fault.order, contact.order]
            way = place_vector(contact.place) - place_vector(fault.place)
            own_m2 = own_covariance(contact) + own_covariance(fault)
            variance = variance_along(square, way_m2 + own_m2)
            variance += thickness_variance(way, square, plane.sd_deg)
            side_m = dot(way, square)
            if abs(side_m) > SURE_SD * math.sqrt(variance):
                found.append(_NearFault(contact, self.blocks[at], fault, side_m > 0.0))
        return found

    def _marker(
        self,
        sides: tuple[_NearFault, _NearFault],
        walked_m2: Vectors,
        met: Sequence[PlacedContact],
        plane: _FaultPlane,
        direction_deg: float,
    ) -> _Marker | _Failed | None:
        """What a contact says that lies under the fault and over it."""
        ends = [one.contact for one in sides]
        blocks = [one.block for one in sides]
        if None in blocks:
            return None
        if blocks[0] == blocks[1]:
            return _Failed(NoSeparation.WAY_ROUND)
        first, last = ((one.place.east_m, one.place.north_m) for one in ends)
        if self.lines.another_between(met, first, last):
            return _Failed(NoSeparation.OTHER_FAULT)
        down = line(plane.dip_deg, trend_deg=direction_deg - self.turn_deg)
        read = [self._planes(one) for one in sides]
        if not all(poles for poles, _ in read):
            return _Failed(NoSeparation.NO_BED)
        means = [mean_plane(poles) for poles, _ in read]
        differ_deg = pole_angle(means[0][0], means[1][0])
        every = [*read[0][0], *read[1][0]]
        widest_deg = widest_angle(np.array([normal for normal, _ in every]))
        if differ_deg > SURE_POLE_SD * math.hypot(means[0][1], means[1][1]) or widest_deg > ALIKE_DEG:
            return _Failed(NoSeparation.BEDS_DIFFER, settled(max(differ_deg, widest_deg), 0))
        bed = mean_plane(every)
        young = [settled(dot(bed[0], self.toward(one)), 3) for one in ends]
        if young[0] * young[1] < 0.0:
            return _Failed(NoSeparation.BOTH_WAYS)
        clear_deg = max(CROSSED_DEG, _CLEAR_SD * math.hypot(bed[1], plane.sd_deg))
        if abs(dot(bed[0], down)) < math.sin(math.radians(min(clear_deg, 90.0))):
            return _Failed(NoSeparation.ALONG_BEDS)
        way = place_vector(ends[1].place) - place_vector(ends[0].place)
        way_m2 = walked_m2 + own_covariance(ends[0]) + own_covariance(ends[1])
        # To where each comes to the fault, below or above the place where that was met.
        for one in sides:
            off = place_vector(one.contact.place) - place_vector(one.fault.place)
            carried = off - dot(bed[0], off) / dot(bed[0], down) * down
            if math.hypot(*carried.tolist()) > REACH_M:
                return _Failed(NoSeparation.TOO_FAR)
        found = separation(
            way,
            way_m2,
            bed,
            dip_deg=plane.dip_deg,
            dip_direction_deg=direction_deg - self.turn_deg,
            sd_deg=plane.sd_deg,
        )
        return _Marker(ends[0], ends[1], tuple(dict.fromkeys((*read[0][1], *read[1][1]))), found)

    def _planes(self, one: _NearFault) -> tuple[list[tuple[Vectors, float]], list[PlaneAttitude]]:
        """How a contact lies on its side of a fault: as read there, as the bed nearest to it, and as those on the way."""
        contact = one.contact
        own = contact_pole(contact, to_true_deg=self.turn_deg)
        first, last = sorted((contact.order, one.fault.order))
        beds = self.beds.of(contact.younger)
        off_m = self._off_m(contact, beds)
        near = [
            (off_m[at], beds[at])
            for at in np.flatnonzero(off_m <= REACH_BED_M).tolist()
            if self.block(beds[at].place, beds[at].order) == one.block
        ]
        nearest = least(near, key=lambda each: float(each[0]))
        chosen = [
            bed for _, bed in near if (nearest is not None and bed is nearest[1]) or first < bed.order < last
        ]
        poles = [bed_pole(bed, to_true_deg=self.turn_deg) for bed in chosen]
        return ([*poles, own] if own is not None else poles), chosen

    def _off_m(self, contact: PlacedContact, beds: tuple[PlaneAttitude, ...]) -> Vectors:
        """How far each bed lies from a contact, (n,)."""
        if id(beds) not in self.beds_at_m:
            where = [(bed.place.east_m, bed.place.north_m) for bed in beds]
            self.beds_at_m[id(beds)] = np.array(where).reshape(-1, 2)
        off = self.beds_at_m[id(beds)] - (contact.place.east_m, contact.place.north_m)
        return settled_all(np.hypot(*off.T), 3)


_RANK = {
    why: rank
    for rank, why in enumerate(
        (
            NoSeparation.BEDS_DIFFER,
            NoSeparation.NO_BED,
            NoSeparation.BOTH_WAYS,
            NoSeparation.ALONG_BEDS,
            NoSeparation.TOO_FAR,
            NoSeparation.OTHER_FAULT,
            NoSeparation.WAY_ROUND,
        )
    )
}
"""The one that is told first comes first."""


def _separation(marker: _Marker, plane: _FaultPlane, direction_deg: float) -> Separation:
    """The figures, and which side is up where they are larger than their errors."""
    found = marker.apart
    told = abs(found.dip_m) > _TOLD_SD * found.sd_m
    lower_over = found.dip_m > 0.0
    up_deg = wrap_360(direction_deg + (180.0 if lower_over else 0.0))
    # Of one that may as well dip the other way nobody knows which side lies over it.
    leans = plane.through == 0 and plane.dip_deg < 90.0 - SURE_SD * plane.sd_deg
    return Separation(
        younger=marker.under.younger or "",
        older=marker.under.older or "",
        dip_m=abs(found.dip_m),
        sd_m=found.sd_m,
        vertical_m=abs(found.vertical_m),
        vertical_sd_m=found.vertical_sd_m,
        up_deg=up_deg if told else None,
        normal=lower_over if told and leans else None,
    )
