"""The plane through one contact met at three places or more, and what it tells of each of them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from traverse.angle import wrap_360
from traverse.diagnostic import Diagnostic, Outcome, warning
from traverse.length import Lengths
from traverse.location.records import Survey
from traverse.log.items import ContactKind, HowMet
from traverse.nearest import Nearest
from traverse.settled import first_least, settled
from traverse.source import Span
from traverse.structure.form.records import ContactPlane
from traverse.structure.readings.directions import Vectors, pole, pole_angle
from traverse.structure.readings.mean import principal_axis, widest_angle
from traverse.structure.readings.place_errors import bed_pole, points_of, poles_of, together
from traverse.structure.readings.plane_of_places import PlaneOfPlaces, plane_of_places
from traverse.structure.readings.records import PlacedContact, PlaneAttitude, Surface
from traverse.trade import ALIKE_DEG, OFF_ASKED_M, PLANE_SD_DEG, REACH_BED_M, SURE_SD

_MOST_PLACES = 40
"""More places of one contact than this make its plane no surer than the ground is even."""


_LEAST_PLACES = 4
"""Places from which on one can keep off the plane of the others."""


def contact_planes(
    survey: Survey,
    contacts: tuple[PlacedContact, ...],
    beds: Sequence[PlaneAttitude],
    lengths: Lengths,
    loose: frozenset[str] = frozenset(),
) -> Outcome[tuple[ContactPlane, ...]]:
    """One plane for each pair of units that meet at three places or more on one side of every fault, in the order of the log.

    Where a contact was followed each end of the stretch is a place. The contact that keeps off the plane of the others is
    named and left out of it. Where they keep to no plane, or the beds beside them lie otherwise, the contact is folded
    between or not one: the plane is there, and is carried nowhere. The border of a `loose` unit lies as the ground does, and
    is none. Of places on one line it is told whether something else says how the contact lies: its own attitude, read
    somewhere, or the beds about it.
    """
    found: list[ContactPlane] = []
    said: list[Diagnostic] = []
    read = {(one.younger, one.older) for one in contacts if one.dip_deg is not None}
    for (younger, older, _), met in on_one_side(contacts).items():
        if {younger, older} & loose or sum(len(points_of(contact)) for contact in met) < 3:
            continue
        # Evenly along the walk: their errors, each with each, grow with the square of their number.
        some = (
            [met[at * len(met) // _MOST_PLACES] for at in range(_MOST_PLACES)]
            if len(met) > _MOST_PLACES
            else met
        )
        points = np.concatenate([points_of(contact) for contact in some])
        of = [contact for contact in some for _ in points_of(contact)]
        joint = together(survey, some)
        fitted = plane_of_places(points, covariance_m2=joint)
        odd = None if fitted.odd is None or len(met) <= 4 else of[fitted.odd]
        if (
            odd is not None
            and fitted.odd is not None
            and settled(abs(float(fitted.off_m[fitted.odd])), 3) >= OFF_ASKED_M
            and not beds_turn(met, beds)
        ):
            rest = [contact for contact in met if contact is not odd]
            left = np.array([at for at, contact in enumerate(of) if contact is not odd])
            without = plane_of_places(points[left], covariance_m2=joint[np.ix_(left, left)])
            if without.refused is None and without.fits and _odd_beside_checked(odd, some, survey):
                said.append(_off_its_plane(odd, fitted, rest, lengths, open_legs(survey)))
                met, fitted = rest, without  # noqa: PLW2901
        made = _record((younger, older), met, fitted, survey.frame.to_true_deg, beds)
        if fitted.refused is not None:
            told = (younger, older) in read or _in_the_beds(some, points, joint, beds, survey)
            made = replace(made, told_elsewhere=told)
        found.append(made)
    return Outcome(tuple(found), tuple(said))


def _odd_beside_checked(odd: PlacedContact, places: Sequence[PlacedContact], survey: Survey) -> bool:
    """Whether a contact keeps off the plane of the others also without those of other parties that nothing checks.

    One turned or stretched as a whole has its places anywhere, and their stated errors know nothing of that.
    """
    unchecked = {one.log for one in survey.party_checks if not one.whole}
    unchecked |= {leg.file for leg in open_legs(survey)} if survey.party_checks else set()
    unchecked -= {odd.booked.span.file}
    checked = [one for one in places if one.booked.span.file not in unchecked]
    if len(checked) == len(places):
        return True
    of = [one for one in checked for _ in points_of(one)]
    if len(of) < _LEAST_PLACES:
        return False
    points = np.concatenate([points_of(one) for one in checked])
    fitted = plane_of_places(points, covariance_m2=together(survey, checked))
    return fitted.odd is not None and of[fitted.odd] is odd


def open_legs(survey: Survey) -> list[Span]:
    """Legs of what was not adjusted: while one of them is wrong, so are the places that they lead to."""
    return [leg.span for closure in survey.closures if not closure.adjusted for leg in closure.legs]


def beds_turn(places: Sequence[PlacedContact], beds: Sequence[PlaneAttitude]) -> bool:
    """Whether the beds nearest to the places of a contact, no farther than a bed stands for, differ as two limbs do.

    No one plane goes through the places then, whatever a fit makes of a few of them.
    """
    poles = poles_of(_beds_near(places, beds))
    return len(poles) > 1 and widest_angle(poles) > ALIKE_DEG


def _beds_near(places: Sequence[PlacedContact], beds: Sequence[PlaneAttitude]) -> list[PlaneAttitude]:
    """The bed nearest to each of some places, where it is no farther than a bed stands for; each once."""
    if not beds:
        return []
    nearest = Nearest(np.array([(bed.place.east_m, bed.place.north_m) for bed in beds]))
    near = set()
    for contact in places:
        at = (contact.place.east_m, contact.place.north_m)
        index = nearest.to(*at)
        if nearest.off_m(index, *at) <= REACH_BED_M:
            near.add(index)
    return [beds[index] for index in sorted(near)]


def _in_the_beds(
    places: Sequence[PlacedContact],
    points: Vectors,
    joint: Vectors,
    beds: Sequence[PlaneAttitude],
    survey: Survey,
) -> bool:
    """Whether the beds about the places of a contact agree, and it lies in their plane within three standard errors."""
    near = _beds_near(places, beds)
    if not near or any(one.kind is not ContactKind.CONTACT for one in places) or beds_turn(places, beds):
        return False
    normal, _ = principal_axis(poles_of(near, to_true_deg=survey.frame.to_true_deg))
    centred = points - points.mean(axis=0)
    own_m2 = np.einsum("i,nij,j->n", normal, joint[np.arange(len(points)), np.arange(len(points))], normal)
    turned_m = np.hypot(*centred[:, :2].T) * math.sin(math.radians(max(bed.sd_deg for bed in near)))
    return bool((np.abs(centred @ normal) <= SURE_SD * np.sqrt(own_m2 + turned_m**2)).all())


def with_surfaces(
    contacts: tuple[PlacedContact, ...], planes: Sequence[ContactPlane]
) -> tuple[PlacedContact, ...]:
    """The contacts, those that were not measured with the plane through their own places where that is carried."""
    known = {span: plane for plane in planes if plane.carried for span in plane.lines}
    return tuple(
        contact
        if contact.surface is not None or contact.booked.span not in known
        else _lying(contact, known[contact.booked.span])
        for contact in contacts
    )


def _lying(contact: PlacedContact, plane: ContactPlane) -> PlacedContact:
    assert plane.dip_deg is not None
    assert plane.sd_pole_deg is not None
    surface = Surface(
        strike_deg=plane.strike_deg, dip_deg=plane.dip_deg, sd_deg=plane.sd_pole_deg, through=len(plane.lines)
    )
    course = plane.strike_deg if contact.strike_deg is None else contact.strike_deg
    return replace(contact, surface=surface, course_deg=course)


def on_one_side(
    contacts: tuple[PlacedContact, ...],
) -> dict[tuple[str, str, frozenset[frozenset[str | None]]], list[PlacedContact]]:
    """Places of each pair of units between the same faults: one that is walked over a second time is behind again."""
    found: dict[tuple[str, str, frozenset[frozenset[str | None]]], list[PlacedContact]] = {}
    beyond: frozenset[frozenset[str | None]] = frozenset()
    for contact in contacts:
        if contact.kind is ContactKind.FAULT and contact.met is HowMet.CROSSED:
            beyond ^= {frozenset({contact.younger, contact.older})}
        elif contact.kind is not ContactKind.FAULT and contact.younger and contact.older:
            found.setdefault((contact.younger, contact.older, beyond), []).append(contact)
    return found


def _record(
    pair: tuple[str, str],
    places: list[PlacedContact],
    fitted: PlaneOfPlaces,
    turn_deg: float,
    beds: Sequence[PlaneAttitude],
) -> ContactPlane:
    direction = fitted.dip_direction_deg
    plane = ContactPlane(
        younger=pair[0],
        older=pair[1],
        strike_deg=None if direction is None else wrap_360(settled(direction - 90.0 + turn_deg)),
        dip_deg=fitted.dip_deg,
        sd_strike_deg=fitted.sd_strike_deg,
        sd_dip_deg=fitted.sd_dip_deg,
        sd_pole_deg=fitted.sd_pole_deg,
        chi_square=fitted.chi_square,
        freedom=fitted.freedom,
        fits=fitted.refused is None and fitted.fits,
        lines=tuple(contact.booked.span for contact in places),
    )
    sure = plane.fits and plane.sd_pole_deg is not None and plane.sd_pole_deg <= PLANE_SD_DEG
    return replace(plane, carried=sure and _beside_agree(plane, places, beds))


def _beside_agree(plane: ContactPlane, places: list[PlacedContact], beds: Sequence[PlaneAttitude]) -> bool:
    """Whether the beds nearest to the places of a contact lie as its plane does; an unconformity needs not."""
    assert plane.dip_deg is not None
    assert plane.sd_pole_deg is not None
    if not beds or any(contact.kind is not ContactKind.CONTACT for contact in places):
        return True
    normal = pole(plane.dip_deg, dip_direction_deg=(plane.strike_deg or 0.0) + 90.0)
    where = np.array([(bed.place.east_m, bed.place.north_m) for bed in beds])
    for contact in places:
        away = np.hypot(*(where - (contact.place.east_m, contact.place.north_m)).T)
        near = first_least(away)
        if away[near] > REACH_BED_M:
            continue
        lies, sd_deg = bed_pole(beds[near])
        # Round a dome a plane that is level goes through the places of a contact, and no bed beside one lies so.
        open_deg = min(ALIKE_DEG, SURE_SD * math.hypot(sd_deg, plane.sd_pole_deg))
        if pole_angle(lies, normal) > open_deg:
            return False
    return True


def _off_its_plane(
    contact: PlacedContact,
    fitted: PlaneOfPlaces,
    rest: Sequence[PlacedContact],
    lengths: Lengths,
    legs: Sequence[Span],
) -> Diagnostic:
    odd = fitted.odd
    assert odd is not None
    return warning(
        "off-its-plane",
        f"{contact.younger}/{contact.older} here lies {lengths.said(abs(fitted.off_m[odd]))} off the plane through all its "
        f"places, {abs(fitted.standardised[odd]):.1f} times the error of that through the other {len(rest)}",
        contact.booked.span,
        "look at its place; else it is another contact, or a fault or a fold lies between",
        rests_on=legs,
    )
