"""Whether a contact met twice lies where its attitudes carry it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from traverse.location.records import Survey
from traverse.log.items import ContactKind, HowMet
from traverse.nearest import Nearest
from traverse.settled import settled
from traverse.structure.form.contact_plane import on_one_side
from traverse.structure.readings.directions import Vectors, along, pole_angle
from traverse.structure.readings.mean import principal_axis
from traverse.structure.readings.place_errors import (
    apart,
    bed_pole,
    contact_pole,
    own_covariance,
    place_vector,
)
from traverse.structure.readings.records import PlacedContact, PlaneAttitude
from traverse.trade import ALIKE_DEG, COURSE_SD_DEG, REACH_BED_M, SURE_SD

_SAME = 1e-12
"""Cosines nearer than this are one, on every machine."""


class MetAgain(NamedTuple):
    """One contact between two places running, and the plane that was read at both."""

    first: PlacedContact
    second: PlacedContact
    apart_m: float
    """Level, between the two."""
    off_m: float
    """Of the second, square to the plane through the first."""
    off_sd: float
    """The same in its standard errors."""

    @property
    def kept(self) -> bool:
        """Whether the second lies on the plane within its error."""
        return self.off_sd <= SURE_SD


def met_again(
    survey: Survey, contacts: Sequence[PlacedContact], beds: Sequence[PlaneAttitude]
) -> tuple[MetAgain, ...]:
    """Each contact from one place to the next where its own attitude or that of a bed close by is known at both.

    None over a fault, nor where any bed differs from them as one of another limb does, which may come between, nor where
    slopes were not read. The plane may be off by what its readings are, and a bed rolls by `COURSE_SD_DEG`.
    """
    if not survey.legs or not all(leg.slope_known for leg in survey.legs):
        return ()
    turn_deg = survey.frame.to_true_deg
    where = Nearest(np.array([(bed.place.east_m, bed.place.north_m) for bed in beds]))
    poles = np.array([bed_pole(bed, to_true_deg=turn_deg)[0] for bed in beds]).reshape(-1, 3)
    least_cosine = math.cos(math.radians(ALIKE_DEG)) - _SAME
    pairs: list[tuple[PlacedContact, PlacedContact, Vectors]] = []
    for met in on_one_side(tuple(contacts)).values():
        crossed = [one for one in met if one.kind is ContactKind.CONTACT and one.met is HowMet.CROSSED]
        for first, second in pairwise(crossed):
            planes = [_plane_at(one, beds, where, turn_deg) for one in (first, second)]
            read = [plane for plane in planes if plane is not None]
            if len(read) < 2:
                continue
            normal = principal_axis(np.array(read))[0]
            if any(pole_angle(one, normal) > ALIKE_DEG / 2.0 for one in read) or bool(
                (np.abs(along(poles, normal)) < least_cosine).any()
            ):
                continue
            pairs.append((first, second, normal))
    return off_plane(survey, pairs)


def off_plane(
    survey: Survey, pairs: Sequence[tuple[PlacedContact, PlacedContact, Vectors]]
) -> tuple[MetAgain, ...]:
    """How far the second of two places lies off the plane through the first, of each pair with a pole in the grid.

    Nothing where slopes were not read, nor over a loop or tie that fails.
    """
    if not survey.legs or not all(leg.slope_known for leg in survey.legs):
        return ()
    pairs = [one for one in pairs if not survey.way_open(one[0].place.address, one[1].place.address)]
    # All ways at once: one by one each would ask the whole walk.
    walked = apart(survey, [(first.place.rests_on, second.place.rests_on) for first, second, _ in pairs])
    found = []
    for (first, second, normal), between_m2 in zip(pairs, walked, strict=True):
        way = place_vector(second.place) - place_vector(first.place)
        error_m2 = between_m2 + own_covariance(first) + own_covariance(second)
        tilt_m = float(np.linalg.norm(way)) * math.radians(COURSE_SD_DEG)
        off = abs(settled(float(normal @ way)))
        sd = math.sqrt(max(0.0, float(normal @ error_m2 @ normal)) + tilt_m**2)
        if sd > 0.0:
            found.append(MetAgain(first, second, float(np.hypot(way[0], way[1])), off, settled(off / sd)))
    return tuple(found)


def _plane_at(
    contact: PlacedContact, beds: Sequence[PlaneAttitude], where: Nearest, turn_deg: float
) -> Vectors | None:
    """Pole in the grid of a contact's own attitude, else of the nearest bed; None where that is too far off."""
    if contact.booked.plane is not None and (own := contact_pole(contact, to_true_deg=turn_deg)) is not None:
        return own[0]
    if not beds:
        return None
    at = contact.place.east_m, contact.place.north_m
    near = where.to(*at)
    return bed_pole(beds[near], to_true_deg=turn_deg)[0] if where.off_m(near, *at) <= REACH_BED_M else None
