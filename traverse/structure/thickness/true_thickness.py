"""True thickness of units between two contacts on sloping ground."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple, TypeVar

import numpy as np

from traverse.location.records import PlaceKind, Survey
from traverse.log.items import ContactKind, UnitHere
from traverse.log.records import Log
from traverse.settled import SAME_M, settled, settled_all
from traverse.source import Span
from traverse.structure.readings.directions import Vectors, dot, pole_angle
from traverse.structure.readings.mean import mean_plane, principal_axis
from traverse.structure.readings.place_errors import (
    apart,
    bed_pole,
    contact_pole,
    own_covariance,
    place_vector,
)
from traverse.structure.readings.records import PlacedContact, PlaneAttitude
from traverse.structure.thickness.records import Thickness
from traverse.structure.thickness.turning import SHARES, by_arc, by_bend
from traverse.structure.walk.bodies import BodiesMet, opening
from traverse.structure.walk.fault_blocks import BodyBeds
from traverse.structure.walk.order import WalkOrder
from traverse.structure.walk.records import Body
from traverse.structure.walk.unit_at import one_place, units_said
from traverse.trade import FOLDED_DEG, LIMB_DEG, ONE_PLANE_DEG

_PARTS = 40
"""Of the way between two contacts, each by the bed nearest to it."""
_SAID_M = 0.5
"""A body that takes less than this off a thickness is not named with it."""
T = TypeVar("T", PlaneAttitude, "_DipsRead")


def thicknesses(
    log: Log,
    survey: Survey,
    contacts: tuple[PlacedContact, ...],
    beds: BodyBeds,
    caps: frozenset[str] = frozenset(),
    bodies: Sequence[Body] = (),
    not_counted: frozenset[Span] = frozenset(),
) -> tuple[Thickness, ...]:
    """Thickness of each unit crossed: one for each two contacts next to each other that name it on either side.

    By how much intrusive bodies between pushed its beds apart is no part of it, and beds of another body of rock, beyond
    an unconformity, tell nothing of how it lies.

    The mean plane stands for all beds between; where the two ends have planes of their own, what a bend or an arc
    between them gives stands beside it; so does what a bend gives that may lie on either side of a contact, where the
    readings about it are of two limbs. A unit whose upper contact is that of a cap, or an unconformity, is at least so thick.
    A fault between or at either end leaves none, nor does another unit that was met between: there a contact is missing.
    Nor does a contact that is `not_counted`.
    """
    said, walk = units_said(log), WalkOrder(log)
    met_at = [
        order
        for order, item in enumerate(log.items)
        if isinstance(item, UnitHere)
        and (told := said.met(one_place(item.address), item.address.span)) is not None
        and item.letters == told.letters
        and item.letters not in log.intrusive
    ]
    met = [item for order in met_at if isinstance(item := log.items[order], UnitHere)]
    orders = [one.order for one in contacts]
    crossed = [
        (first, second, unit)
        for at, (first, second) in enumerate(pairwise(contacts))
        if at in walk.behind(orders, at + 1)
        and not not_counted & {first.booked.span, second.booked.span}
        and (unit := _crossed(first, second)) is not None
        and not _other_between(
            first,
            second,
            unit,
            [met[one] for one in walk.on_the_way(met_at, first.order, second.order)],
            survey,
            caps,
        )
    ]
    walked = apart(survey, [(first.place.rests_on, second.place.rests_on) for first, second, _ in crossed])
    to_true_deg = survey.frame.to_true_deg
    bodies_met = BodiesMet(log, survey, walk, bodies)
    read = {
        unit: _planes_read(contacts, beds, unit, caps, to_true_deg)
        for unit in dict.fromkeys(unit for _, _, unit in crossed)
    }
    cut = [one.order for one in contacts if one.kind is not ContactKind.CONTACT or one.younger in caps]
    # An arm is told by the beds that were met on it and on the way to it: others stand next to it only on the page.
    on_arm = {
        (unit, arm): _OnArm(
            _up_to(walk, arm, beds.of(unit), lambda bed, order: replace(bed, order=order)),
            _up_to(walk, arm, read[unit], lambda one, order: one._replace(order=order)),
            [cut[at] for at in walk.up_to(arm, cut)],
        )
        for unit, arm in dict.fromkeys((unit, walk.arm_of(second.order)) for _, second, unit in crossed)
    }
    found: list[Thickness] = []
    for (first, second, unit), covariance in zip(crossed, walked, strict=True):
        up = 1.0 if second.older == first.younger else -1.0
        arm = on_arm[unit, walk.arm_of(second.order)].on_limb(first, second, up)
        its = arm.beds or _nearest(
            first, [one for one in beds.of(unit) if walk.connected(one.order, first.order)]
        )
        normal, sd_deg = _mean_plane(
            [contact if beds.lies_as(contact, unit) else None for contact in (first, second)],
            its,
            (first.order, second.order),
            to_true_deg,
        )
        if normal is not None:
            between = bodies_met.between(first.order, second.order)
            openings = [(sense, *opening(body, normal, to_true_deg=to_true_deg)) for body, sense in between]
            moved = [(sense * by_m, sd_m) for sense, by_m, sd_m in openings]
            less = dict.fromkeys(
                body.unit for (body, _), (by_m, _) in zip(between, moved, strict=True) if abs(by_m) >= _SAID_M
            )
            thickness = _between(first, second, unit, normal, sd_deg, covariance, moved)
            within = first.order, second.order
            thickness = _bed_by_bed(thickness, first, second, arm.beds, moved, covariance, to_true_deg)
            ends = tuple(_plane_at(one, its, caps, within, to_true_deg) for one in (first, second))
            way = place_vector(second.place) - place_vector(first.place)
            way = way - sum(by_m for by_m, _ in moved) * normal
            turned = _turned(thickness, way, ends, _cut(first, second, unit, caps))
            bends = [
                *(turned.bend_m or ()),
                *_bends_about_ends(first, second, way, normal, arm.read, arm.cut),
            ]
            bend_m = (min(bends), max(bends)) if bends else None
            found.append(replace(turned, bend_m=bend_m, less=tuple(less)))
    return tuple(found)


def _bed_by_bed(
    thickness: Thickness,
    first: PlacedContact,
    second: PlacedContact,
    beds: Sequence[PlaneAttitude],
    moved: Sequence[tuple[float, float]],
    walked_m2: Vectors,
    to_true_deg: float,
) -> Thickness:
    """The thickness from bed to bed, where those met between lie on two limbs or all round and no plane stands for them.

    Source: the dip-domain rule, each part of the straight way from contact to contact by the normal of the bed nearest to
    it; errors of the poles are independent, and by that of each its own part of the way counts.
    """
    between = [bed for bed in beds if first.order < bed.order < second.order]
    read = [bed_pole(bed, to_true_deg=to_true_deg) for bed in between]
    if len(read) < 2 or principal_axis(np.array([normal for normal, _ in read]))[1] <= FOLDED_DEG / 2.0:
        return thickness
    here, way = place_vector(first.place), place_vector(second.place) - place_vector(first.place)
    on_way = here + way * ((np.arange(_PARTS) + 0.5) / _PARTS)[:, None]
    off = np.linalg.norm(on_way[:, None, :] - np.array([place_vector(bed.place) for bed in between]), axis=2)
    shares = np.bincount(settled_all(off, 3).argmin(axis=1), minlength=len(read)) / _PARTS
    true = variance = 0.0
    mean = np.zeros(3)
    for bed, (normal, sd_deg), share in zip(between, read, shares.tolist(), strict=True):
        up = -normal if bed.upside_down else normal
        true += share * dot(way, up)
        mean = mean + share * up
        variance += thickness_variance(share * way, normal, sd_deg)
    variance += variance_along(mean, walked_m2)
    variance += sum(variance_along(mean, own_covariance(one)) for one in (first, second))
    variance += sum(sd_m**2 for _, sd_m in moved)
    true = abs(true) - abs(sum(by_m for by_m, _ in moved))
    return replace(thickness, true_m=settled(abs(true)), sd_m=settled(math.sqrt(variance)))


class _DipsRead(NamedTuple):
    """A plane of the beds, read at a place."""

    order: int
    pole: Vectors
    """To the younger side, as far as anybody said."""
    place: Vectors


class _OnArm(NamedTuple):
    """What tells how beds lie on an arm of the walk and on the way to it, in the order of the log."""

    beds: Sequence[PlaneAttitude]
    read: Sequence[_DipsRead]
    cut: Sequence[int]
    """Where a fault, a cap or an unconformity was met."""

    def on_limb(self, first: PlacedContact, second: PlacedContact, up: float) -> _OnArm:
        """Without what lies before the first contact, or after the second, on another limb than the crossing.

        It is another where it differs from the reading next to it, between the contacts or on the other side, as limbs do,
        and where by that one the walk went through the unit as it did, by it the other way. `up` is 1 where the walk went
        into younger rock, else -1.
        """
        low = bisect_left(self.read, first.order, key=lambda one: one.order)
        high = bisect_right(self.read, second.order, key=lambda one: one.order)
        outside = [self.read[low - 1] if low else None, self.read[high] if high < len(self.read) else None]
        inside = self.read[low:high]
        way = up * (place_vector(second.place) - place_vector(first.place))
        begin, end = -1.0, math.inf
        for at, one in enumerate(outside):
            other = inside[-at] if inside else outside[1 - at]
            if one is None or other is None or pole_angle(one.pole, other.pole) <= LIMB_DEG:
                continue
            if dot(one.pole, way) < 0.0 < dot(other.pole, way):
                begin, end = (first.order, end) if at == 0 else (begin, second.order)
        if math.isinf(end) and begin < 0.0:
            return self
        return _OnArm(
            [bed for bed in self.beds if begin <= bed.order <= end],
            [one for one in self.read if begin <= one.order <= end],
            self.cut,
        )


def _up_to(walk: WalkOrder, arm: int, read: Sequence[T], met_at: Callable[[T, int], T]) -> Sequence[T]:
    """What was read on an arm and on the way to it, and last what was read where it comes back to a station."""
    orders: list[int] = [one.order for one in read]
    again, end = walk.closes_on(arm, orders)
    found: list[T] = [read[at] for at in walk.up_to(arm, orders)]
    found += [met_at(read[at], end) for at in again]
    return found


def _nearest(contact: PlacedContact, beds: Sequence[PlaneAttitude]) -> Sequence[PlaneAttitude]:
    """The bed nearest on the ground, where none was met on the way."""
    here = place_vector(contact.place)
    return sorted(beds, key=lambda one: settled(_apart(place_vector(one.place), here), 3))[:1]


def _planes_read(
    contacts: Sequence[PlacedContact],
    beds: BodyBeds,
    unit: str,
    caps: frozenset[str],
    to_true_deg: float,
) -> list[_DipsRead]:
    """Beds and measured contacts of the body of a unit in the order of the log, poles in the grid."""
    found = [
        _DipsRead(
            bed.order,
            bed_pole(bed, to_true_deg=to_true_deg)[0] * (-1.0 if bed.upside_down else 1.0),
            place_vector(bed.place),
        )
        for bed in beds.of(unit)
    ]
    for contact in contacts:
        own, plane = contact_pole(contact, to_true_deg=to_true_deg), contact.booked.plane
        if (
            own is not None
            and plane is not None
            and contact.kind is ContactKind.CONTACT
            and contact.younger not in caps
            and beds.lies_as(contact, unit)
        ):
            turned = -1.0 if plane.overturned else 1.0
            found.append(_DipsRead(contact.order, own[0] * turned, place_vector(contact.place)))
    return sorted(found, key=lambda one: one.order)


def _bends_about_ends(
    first: PlacedContact,
    second: PlacedContact,
    way: Vectors,
    normal: Vectors,
    read: Sequence[_DipsRead],
    parted: Sequence[float],
) -> list[float]:
    """Thickness with a bend at a contact, and with it as far into the unit as no reading forbids, metres.

    Of each end about which the readings before and after it are of two limbs: nothing tells on which side of it they bend,
    unless those beyond would bring the walk through the contact the other way. `normal` stands for what was read within.
    Beds beyond a fault, a cap or an unconformity, which lie at `parted` among the items of the log, took no part in the
    bend. Empty where neither end has such readings.
    """
    low = bisect_left(read, first.order, key=lambda one: one.order)
    high = bisect_right(read, second.order, key=lambda one: one.order)
    before = read[low - 1] if low else None
    after = read[high] if high < len(read) else None
    inside = read[low:high]
    begin, end = (inside[0], inside[-1]) if inside else (after, before)
    up = 1.0 if second.older == first.younger else -1.0
    here, length = place_vector(first.place), max(dot(way, way), SAME_M**2)

    def share(one: _DipsRead) -> float:
        return min(1.0, max(0.0, dot(one.place - here, way) / length))

    found: list[float] = []
    for beyond, one in ((before, begin), (after, end)):
        if beyond is None or one is None or pole_angle(beyond.pole, one.pole) <= LIMB_DEG:
            continue
        if up * dot(beyond.pole, way) <= 0.0:
            continue
        ends = sorted((beyond.order, (first if beyond is before else second).order))
        if bisect_left(parted, ends[0]) < bisect_right(parted, ends[1]):
            continue
        within = normal if inside else one.pole
        if beyond is before:
            found += [by_bend(way, beyond.pole, within, share=at) for at in (0.0, share(one))]
        else:
            found += [by_bend(way, within, beyond.pole, share=at) for at in (share(one), 1.0)]
    return found


def _other_between(
    first: PlacedContact,
    second: PlacedContact,
    unit: str,
    met: Sequence[UnitHere],
    survey: Survey,
    caps: frozenset[str],
) -> bool:
    """Whether of what was `met` on the way between two contacts any is another unit, other than at their own places or to the side."""
    stations = {first.place.address.station, second.place.address.station}
    for here in met:
        station = here.address.station
        place = survey.places.get(station) if station is not None else None
        if place is None or station in stations or place.kind is PlaceKind.SIDE:
            continue
        if here.letters != unit and here.letters not in caps:
            return True
    return False


def _cut(first: PlacedContact, second: PlacedContact, unit: str, caps: frozenset[str]) -> bool:
    """Whether the unit's upper contact says nothing of where its beds once ended."""
    return any(
        contact.older == unit and (contact.kind is ContactKind.UNCONFORMITY or contact.younger in caps)
        for contact in (first, second)
    )


def _plane_at(
    contact: PlacedContact,
    beds: Sequence[PlaneAttitude],
    caps: frozenset[str],
    within: tuple[int, int],
    to_true_deg: float,
) -> Vectors | None:
    """Pole in the grid of the beds at a contact: its own, unless it cuts them, else that of the bed nearest on the ground among the two next to it in the log.

    Of these one outside the crossing, whose items in the log run from the first to the last of `within`, is not taken
    where it differs so much from the one inside that it lies on the other limb of a fold.
    """
    own = contact_pole(contact, to_true_deg=to_true_deg)
    if own is not None and contact.kind is ContactKind.CONTACT and contact.younger not in caps:
        return own[0]
    place = bisect_left(beds, contact.order, key=lambda bed: bed.order)
    near = beds[max(0, place - 1) : place + 1]
    here = place_vector(contact.place)
    by_distance = sorted(near, key=lambda one: settled(_apart(place_vector(one.place), here), 3))
    poles = [bed_pole(bed, to_true_deg=to_true_deg)[0] for bed in by_distance]
    inside = [within[0] <= bed.order <= within[1] for bed in by_distance]
    if inside == [False, True] and pole_angle(*poles) > LIMB_DEG:
        return poles[1]
    return poles[0] if poles else None


def _turned(thickness: Thickness, apart: Vectors, ends: tuple[Vectors | None, ...], cut: bool) -> Thickness:
    first, second = ends
    if first is None or second is None or pole_angle(first, second) < ONE_PLANE_DEG:
        return replace(thickness, at_least=cut)
    bends = [by_bend(apart, first, second, share=share) for share in SHARES]
    return replace(
        thickness, at_least=cut, bend_m=(min(bends), max(bends)), arc_m=by_arc(apart, first, second)
    )


def _crossed(first: PlacedContact, second: PlacedContact) -> str | None:
    if ContactKind.FAULT in {first.kind, second.kind}:
        return None
    if first.older is not None and first.older == second.younger:
        return first.older
    if first.younger is not None and first.younger == second.older:
        return first.younger
    return None


def _mean_plane(
    contacts: Sequence[PlacedContact | None],
    beds: Sequence[PlaneAttitude],
    within: tuple[int, int],
    to_true_deg: float,
) -> tuple[Vectors | None, float]:
    """Upward pole in the grid of the mean plane between two contacts, and its standard deviation in degrees.

    None stands for a contact whose surface lies as another body does; `within` are the orders of both.
    """
    planes = [
        None if contact is None else contact_pole(contact, to_true_deg=to_true_deg) for contact in contacts
    ]
    poles = [plane for plane in planes if plane is not None]
    low = bisect_right(beds, within[0], key=lambda bed: bed.order)
    high = bisect_left(beds, within[1], key=lambda bed: bed.order)
    if len(poles) < 2:
        poles = [bed_pole(bed, to_true_deg=to_true_deg) for bed in beds[low:high]]
    if not poles:
        before = [bed_pole(bed, to_true_deg=to_true_deg) for bed in beds[max(0, low - 1) : low]]
        after = [bed_pole(bed, to_true_deg=to_true_deg) for bed in beds[high : high + 1]]
        # A contact that was measured is the nearest plane on its own side.
        poles = [
            one for own, near in zip(planes, (before, after), strict=True) for one in ([own] if own else near)
        ]
    if not poles:
        return None, 0.0
    return mean_plane(poles)


def _between(
    first: PlacedContact,
    second: PlacedContact,
    unit: str,
    normal: Vectors,
    sd_deg: float,
    walked_m2: Vectors,
    moved: Sequence[tuple[float, float]],
) -> Thickness:
    """Source: thickness = |L . n|, L from one contact to the other, n the unit normal (vector form of the usual cases).

    `walked_m2` is the covariance of L by the walk between, `moved` what bodies between add to L along n, metres, each with
    its standard deviation.
    """
    way = place_vector(second.place) - place_vector(first.place)
    true = dot(way, normal)
    variance = thickness_variance(way, normal, sd_deg)
    variance += variance_along(normal, walked_m2)
    for contact in (first, second):
        variance += variance_along(normal, own_covariance(contact))
    variance += sum(sd_m**2 for _, sd_m in moved)
    true -= sum(by_m for by_m, _ in moved)
    return Thickness(
        unit=unit,
        true_m=settled(abs(true)),
        sd_m=settled(math.sqrt(variance)),
        between=(first.booked.span, second.booked.span),
    )


def _apart(one: Vectors, other: Vectors) -> float:
    return math.hypot(*(one - other).tolist())


def thickness_variance(way: Vectors, normal: Vectors, sd_deg: float) -> float:
    """What the error of the plane does to the thickness along a way: its pole tilts alike in every direction.

    So what counts, to first order, is the part of the way along the bed: all of it for a walk along the strike.
    """
    along = dot(way, way) - dot(way, normal) ** 2
    return float(np.radians(sd_deg) ** 2) * max(0.0, along)


def variance_along(way: Vectors, covariance_m2: Vectors) -> float:
    """Variance of a place, covariance (3, 3), along a unit vector; never below zero."""
    return max(0.0, float((way[:, None] * covariance_m2 * way).sum()))
