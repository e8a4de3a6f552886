"""Faults and walls of bodies that were read at several places: whether their readings agree, and keep to their own course.

Beds need not lie along either, so that each is borne out by itself alone.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from traverse.angle import axial_difference, wrap_180, wrap_360
from traverse.location.records import Survey
from traverse.log.items import ContactKind, HowMet
from traverse.log.records import Log
from traverse.settled import SAME_M, least, settled
from traverse.structure.met_again import MetAgain, off_plane
from traverse.structure.odd_attitudes import HALF_TURN, ContactRead, WrittenSlip, odd_between
from traverse.structure.readings.directions import Vectors, dot, pole_angle
from traverse.structure.readings.mean import principal_axis
from traverse.structure.readings.place_errors import contact_pole
from traverse.structure.readings.records import PlacedContact
from traverse.structure.walk.records import BandStretch, Body
from traverse.structure.walk.sides import younger_side
from traverse.trade import ALIKE_DEG, COURSE_SD_DEG, CROSSED_DEG

_ONE_SIDE_DEG = 60.0
"""Sides named no farther apart are one side of a fault, degrees; common practice, no source."""

Crossing = tuple[PlacedContact, ...]
"""A fault, or the walls of a body, where the walk went through it."""


class OddCut(NamedTuple):
    """The attitude of a fault or of a wall that the others of the same one do not bear out."""

    contact: PlacedContact
    others: tuple[PlacedContact, ...]
    off_deg: float
    """From the mean of the others."""
    slip: WrittenSlip
    other_slip: WrittenSlip | None = None
    """Of the other, which may as well be wrong: two readings, and the way between the places lies on the planes of both."""


_TELL_SCATTER = 3
"""So many readings of one plane tell how far it bends; common practice, no source."""


def crossings(
    log: Log,
    survey: Survey,
    band: tuple[BandStretch, ...],
    contacts: Sequence[PlacedContact],
    bodies: Sequence[Body],
) -> tuple[tuple[Crossing, ...], ...]:
    """What may be one fault or one body, met at several places: the crossings of each in walking order.

    A fault has the same units on its sides, the younger one on the same side by the compass.
    """
    side = younger_side(log, survey, band)
    faults: list[tuple[Vectors, list[Crossing]]] = []
    for one in contacts:
        if one.kind is not ContactKind.FAULT or one.met is not HowMet.CROSSED or contact_pole(one) is None:
            continue
        way = side(one)
        if one.younger == one.older or math.hypot(*way[:2].tolist()) <= SAME_M:
            continue
        for toward, found in faults:
            (first,) = found[0]
            if (first.younger, first.older) == (one.younger, one.older) and dot(toward[:2], way[:2]) > 0.0:
                found.append((one,))
                break
        else:
            faults.append((way, [(one,)]))
    walls: dict[str, list[Crossing]] = defaultdict(list)
    for body in bodies:
        read = tuple(wall for wall in body.walls if contact_pole(wall) is not None)
        # By a wrong plane it may seem that the walk did not come through.
        if read:
            walls[body.unit].append(read)
    return (*(tuple(found) for _, found in faults), *map(tuple, walls.values()))


def odd_cuts(survey: Survey, groups: Sequence[Sequence[Crossing]]) -> Iterator[OddCut]:
    """Readings that a slip explains clearly better than the others of one fault or body bear them out, which agree.

    Of two readings the one that does not lead to the place of the other is asked about; where both do, the
    second, with the first beside it. None where neither leads to the other, which may be two faults.
    """
    turn_deg = survey.frame.to_true_deg
    for group in groups:
        read = [wall for crossing in group for wall in crossing]
        if len(read) < 2:
            continue
        poles = np.array([_pole(one) for one in read])
        if len(read) == 2:
            if len(group) == 2:
                yield from _of_two(survey, read[0], read[1], turn_deg)
            continue
        for index, one in enumerate(read):
            rest = np.delete(poles, index, axis=0)
            mean = principal_axis(rest)[0]
            if any(pole_angle(other, mean) > ALIKE_DEG / 2.0 for other in rest):
                continue
            if (slip := _slip(one, mean, rest)) is not None:
                others = tuple(other for other in read if other is not one)
                yield OddCut(one, others, pole_angle(poles[index], mean), slip)
                break


def odd_faults(survey: Survey, contacts: Sequence[PlacedContact]) -> Iterator[OddCut]:
    """Of the two faults of a walk, the one whose plane a slip turns onto the other, which leads from there to its place.

    Between other units on either side they may be one fault, if both have one side down; they are asked about where the
    plane of one leads to the other and not the other way, or where a half turn is all that parts two in one line: with one
    side down and opposite dips the one would be normal and the other reverse.
    """
    read = [
        one
        for one in contacts
        if one.kind is ContactKind.FAULT and one.met is HowMet.CROSSED and contact_pole(one) is not None
    ]
    downs = [one.booked.down for one in read]
    if len(read) != 2 or downs[0] is None or downs[1] is None:
        return
    if abs(wrap_180(downs[0].azimuth_deg - downs[1].azimuth_deg)) > _ONE_SIDE_DEG:
        return
    for one in _of_two(survey, read[0], read[1], survey.frame.to_true_deg):
        if one.other_slip is None or one.slip.words == one.other_slip.words == HALF_TURN:
            yield one


def _of_two(survey: Survey, first: PlacedContact, second: PlacedContact, turn_deg: float) -> Iterator[OddCut]:
    slips = [
        _slip(one, _pole(other), _pole(other)[None, :]) for one, other in ((first, second), (second, first))
    ]
    if slips[0] is None or slips[1] is None:
        return
    normals = [_pole(one, turn_deg) for one in (first, second)]
    kept = [one.kept for one in off_plane(survey, [(first, second, normal) for normal in normals])]
    if not any(kept):
        return
    off = pole_angle(*normals)
    if kept == [False, True]:
        yield OddCut(first, (second,), off, slips[0])
    else:
        yield OddCut(second, (first,), off, slips[1], slips[0] if all(kept) else None)


def _slip(one: PlacedContact, normal: Vectors, rest: Vectors) -> WrittenSlip | None:
    plane = one.booked.plane
    if plane is None or one.strike_deg is None or one.dip_deg is None:
        return None
    own = contact_pole(one)
    assert own is not None
    # A fault bends between two places as a bed rolls; where three others agree they tell by how much.
    sd = own[1] if len(rest) >= _TELL_SCATTER else max(own[1], COURSE_SD_DEG)
    read = ContactRead(plane.written, False, one.dip_deg, wrap_360(one.strike_deg + 90.0), sd)
    return odd_between(read, normal, rest)


def cuts_again(
    survey: Survey,
    groups: Sequence[Sequence[Crossing]],
    turned: Callable[[PlacedContact], PlacedContact] = lambda one: one,
) -> tuple[tuple[MetAgain, bool], ...]:
    """Each fault and body from one crossing to the next, by planes read alike at both, and whether the walk crossed it there.

    Of walls those two that lie nearest to one plane. It did not cross it where it ran along it within `CROSSED_DEG` at both
    places: one walk in fifty would meet one plane so twice.
    """
    turn_deg = survey.frame.to_true_deg
    found = []
    for group in groups:
        for before, after in pairwise(group):
            pairs = [(turned(first), turned(second)) for first in before for second in after]
            normals = [principal_axis(np.array([_pole(one, turn_deg) for one in pair]))[0] for pair in pairs]
            alike = [
                (*pair, normal)
                for pair, normal in zip(pairs, normals, strict=True)
                if pole_angle(_pole(pair[0], turn_deg), normal) <= ALIKE_DEG / 2.0
            ]
            nearest = least(off_plane(survey, alike), key=lambda one: one.off_sd)
            if nearest is not None:
                ends = (nearest.first, nearest.second)
                found.append((nearest, any(across_deg(survey, one) > CROSSED_DEG for one in ends)))
    return tuple(found)


def across_deg(survey: Survey, one: PlacedContact) -> float:
    """Angle between the strike of a plane and the leg that met it, degrees from 0 to 90."""
    azimuth = one.place.leg_azimuth_deg
    if azimuth is None or one.strike_deg is None:
        return 90.0
    return settled(axial_difference(azimuth + survey.frame.to_true_deg, one.strike_deg))


def _pole(one: PlacedContact, to_true_deg: float = 0.0) -> Vectors:
    own = contact_pole(one, to_true_deg=to_true_deg)
    assert own is not None
    return own[0]
