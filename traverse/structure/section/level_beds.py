"""Flat beds: each contact lies at one height, or on one gentle plane, and each unit between two such planes."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from traverse.location.records import Survey
from traverse.log.items import Certainty, ContactKind
from traverse.log.records import Log
from traverse.settled import SAME_M, least, settled, settled_all
from traverse.structure.readings.directions import Vectors
from traverse.structure.readings.mean import mean_bed
from traverse.structure.readings.place_errors import place_covariance, poles_of
from traverse.structure.readings.records import PlacedContact, PlaneAttitude
from traverse.structure.section.drawing_plane import Plane, between_heights, pieces
from traverse.structure.section.records import ConstructedLine, LevelContact, LineError, PointKind, Section
from traverse.structure.walk.records import BandStretch
from traverse.trade import CAP_DEG, LEVEL_DEG, SURE_SD, TWO_MORE_CHI_SQUARE, WALKED_SLOPE_DEG

_LEAST_SD_M, _LEAST_SD_DEG = 0.1, 0.5
_NO_RISE = np.zeros(2)
_SURE = tuple(Certainty)
_FALSE = 0.01
"""Of sets of sound readings so many have one that is taken for one that lies off."""
_LEANS_SD = 2.0
_REST = 5
"""So many beds alike show that one that is not was read on what slid or rolled; common practice, no source."""


def level_contacts(
    log: Log,
    survey: Survey,
    beds: Sequence[PlaneAttitude],
    contacts: Sequence[PlacedContact],
    band: Sequence[BandStretch],
    caps: frozenset[str],
) -> tuple[LevelContact, ...]:
    """The contacts of flat beds, the highest first; none unless all that was read and met is as flat beds would have it.

    Beds are level where none dips, within `SURE_SD` of its standard deviations, nor their mean; every contact was met at
    one height, within what the heights and the beds' own error on the way leave open; no fault was met; from the top down
    each unit lies under the next younger one; and no unit was walked on above or below its own two contacts. Where they are
    not level, planes of one dip do as well that hold all of them, where all beds lie along these and they dip no steeper
    than ground that is walked: of such beds heights tell more than the strike where each comes out. These are taken first
    where heights and beds together tell against level ones, though no reading alone does.
    """
    under = [bed for bed in beds if bed.unit not in caps]
    met = [one for one in contacts if not {one.younger, one.older} & (caps | log.intrusive)]
    # One of a body or of a cap moved the beds too.
    if not met or any(one.kind is ContactKind.FAULT for one in contacts):
        return ()
    pairs = _places_by_pair(met, survey, frozenset())
    if pairs is None:
        return ()
    gentle = _gentle(pairs, under, survey.frame.to_true_deg, most_deg=WALKED_SLOPE_DEG)
    either = [_level(pairs, under, met), gentle.contacts]
    if gentle.leans:
        either.reverse()
    for found in either:
        laid = _as_walked(found, survey, band)
        if laid:
            return laid
    return ()


def cover_contacts(
    survey: Survey,
    beds: Sequence[PlaneAttitude],
    contacts: Sequence[PlacedContact],
    band: Sequence[BandStretch],
    cover: frozenset[str],
) -> tuple[LevelContact, ...]:
    """The contacts of the beds that lie flat on the worn edges of others, the highest first and the unconformity last.

    Each on one plane, so that it is one line at one height on every section; none unless one gentle dip holds every place
    where they were met and every bed read in the cover, and the walk agrees.
    """
    met = [one for one in contacts if {one.younger, one.older} & cover]
    if not any(one.kind is ContactKind.UNCONFORMITY for one in met) or any(
        one.kind is ContactKind.FAULT or one.younger not in cover for one in met
    ):
        return ()
    pairs = _places_by_pair(met, survey, cover)
    if pairs is None:
        return ()
    over = [bed for bed in beds if bed.unit in cover]
    found = _gentle(pairs, over, survey.frame.to_true_deg, most_deg=CAP_DEG)
    return _as_walked(found.contacts, survey, band)


def _places_by_pair(
    met: Sequence[PlacedContact], survey: Survey, cover: frozenset[str]
) -> dict[tuple[str, str | None], list[MetAt]] | None:
    """Places by younger and older unit, under a cover only by the younger; None where one lacks a unit or a height."""
    ways = _ways(survey)
    pairs: dict[tuple[str, str | None], list[MetAt]] = {}
    for one in met:
        if one.younger is None or one.older is None or one.place.up_m is None:
            return None
        older = None if cover and one.older not in cover else one.older
        pairs.setdefault((one.younger, older), []).append(MetAt(one, ways))
    return pairs


def _as_walked(
    found: list[LevelContact], survey: Survey, band: Sequence[BandStretch]
) -> tuple[LevelContact, ...]:
    """Contacts from the highest down, with how far their units were walked; none where order or walk is against them."""
    found.sort(key=lambda one: (-one.up_m, one.younger))
    if not found or not all(upper.older == lower.younger for upper, lower in pairwise(found)):
        return ()
    walked = _walked_from(survey, band, found)
    least_sd = _largest_of(sum(map(len, walked.values())))
    if any(_elsewhere(level, walked[level.younger], least_sd) for level in found):
        return ()
    return tuple(_as_far_as_walked(level, walked[level.younger]) for level in found)


def _level(
    pairs: Mapping[tuple[str, str | None], Sequence[MetAt]],
    beds: Sequence[PlaneAttitude],
    met: Sequence[PlacedContact],
) -> list[LevelContact]:
    """Each at its one height; none where a bed or a contact dips, or one was met at heights that disagree."""
    lies_deg = _level_within_deg(beds)
    if lies_deg is None or any(_dips(one) for one in met):
        return []
    found = []
    for (younger, older), heights in pairs.items():
        level = _one_height(younger, older, heights, lies_deg)
        if level is None:
            return []
        found.append(level)
    return found


class _WalkEnd(NamedTuple):
    """An end of a walk over one unit, by a level contact of it."""

    over_m: float
    """From the contact, upward."""
    younger: bool
    """Whether it is the contact's younger unit."""
    at: tuple[float, float]


def _walked_from(
    survey: Survey, band: Sequence[BandStretch], levels: Sequence[LevelContact]
) -> dict[str, list[_WalkEnd]]:
    """The ends of the walk on the two units of each contact, by its younger one."""
    bases = {one.younger: one for one in levels}
    tops = {one.older: one for one in levels}
    # Under an unconformity lie all the others.
    worn = tops.pop(None, None)
    found: dict[str, list[_WalkEnd]] = {level.younger: [] for level in levels}
    for stretch in band:
        leg = None if stretch.leg is None else survey.legs[stretch.leg]
        if leg is None or leg.horizontal_m <= SAME_M:
            continue
        place, last = survey.places.get(leg.booked.start), survey.places.get(leg.booked.end)
        if place is None or last is None or place.up_m is None or last.up_m is None:
            continue
        for at in (stretch.start, stretch.end):
            share = math.dist(at, (place.east_m, place.north_m)) / leg.horizontal_m
            up_m = place.up_m + share * (last.up_m - place.up_m)
            unit = stretch.unit or ""
            under = None if unit in bases or not unit else worn
            for level, younger in ((tops.get(unit, under), False), (bases.get(unit), True)):
                if level is not None:
                    found[level.younger].append(_WalkEnd(up_m - level.up_at(at), younger, at))
    return found


def _elsewhere(level: LevelContact, walked: Sequence[_WalkEnd], least_sd: float) -> bool:
    """Whether a unit was walked on over the contact that is its top, or under the one that is its base, by so many of its errors."""
    return any(
        (-one.over_m if one.younger else one.over_m) > _open_m(level, one.at, least_sd) for one in walked
    )


def _as_far_as_walked(level: LevelContact, walked: Sequence[_WalkEnd]) -> LevelContact:
    """The contact with how far its units were seen from it."""
    return replace(
        level,
        over_m=settled(max((one.over_m for one in walked if one.younger), default=0.0)),
        under_m=settled(max((-one.over_m for one in walked if not one.younger), default=0.0)),
    )


def _open_m(level: LevelContact, at: tuple[float, float], least_sd: float) -> float:
    """How far above or under a contact the other unit may have been walked on: so many of its errors, and what it leans by."""
    away_m = min(math.dist(at, (one.place.east_m, one.place.north_m)) for one in level.contacts)
    return math.hypot(least_sd * level.own_sd_m, away_m * math.tan(math.radians(_LEANS_SD * level.sd_deg)))


def _largest_of(count: int) -> float:
    """What the largest of so many normal errors, or of as many that are so in two directions, stays under as a rule.

    Under sqrt(2 ln(n / p)) with a chance of 1 - p or more.
    """
    return math.sqrt(2.0 * math.log(max(1, count) / _FALSE))


def level_lines(
    section: Section, plane: Plane, levels: Sequence[LevelContact]
) -> tuple[ConstructedLine, ...]:
    """The contacts of flat beds through the ground of a section, from end to end; none of one above all its ground.

    But an unconformity, which ends what was folded under it, also where it is worn off.
    """
    found = []
    for level in levels:
        line = level.across(section)
        shown = between_heights(line, plane.floor_m, plane.top_m)
        worn_off = all(up_m > float(plane.up_m.max()) + SAME_M for _, up_m in line)
        if not shown or (worn_off and level.older is not None):
            continue
        cut = pieces(shown, plane)
        inner = {one.points[0] for one in cut[1:]}
        contacts = [
            point.contact
            for point in section.points
            if point.contact is not None
            and any(point.contact.booked.span == one.booked.span for one in level.contacts)
        ] or list(level.contacts)
        best = min(contacts, key=lambda one: _SURE.index(one.certainty) if one.certainty else len(_SURE))
        stands = least(
            [point for point in section.points if any(point.contact is one for one in contacts)],
            key=lambda one: abs(one.carried_m),
        )
        near_m = plane.length_m / 2.0 if stands is None else stands.distance_m
        found.append(
            ConstructedLine(
                kind=PointKind(best.kind.value),
                younger=level.younger,
                older=level.older or _one_of({one.older for one in level.contacts}),
                certainty=best.certainty,
                queried=any(one.queried for one in contacts),
                contacts=tuple(contacts),
                outcrops=tuple(sorted(inner)),
                pieces=cut,
                error=LineError(
                    at=(
                        near_m,
                        settled(float(np.interp(near_m, [one[0] for one in line], [one[1] for one in line]))),
                    ),
                    sd_m=level.sd_m,
                    sd_deg=level.sd_deg,
                ),
            )
        )
    return tuple(found)


def _one_of(units: set[str | None]) -> str | None:
    """The unit under an unconformity where it is one."""
    return min(units, key=str) if len(units) == 1 else None


class MetAt:
    """A contact's height where it was met."""

    def __init__(self, contact: PlacedContact, ways: Mapping[int, Vectors]) -> None:
        place = contact.place
        self.contact = contact
        self.up_m = place.up_m or 0.0
        self.at = (place.east_m, place.north_m)
        leg = place.address.leg
        self.way = np.zeros(3) if leg is None else ways.get(leg.index, np.zeros(3))
        self.covariance_m2 = place_covariance(contact)

    def rise_m(self, rise: Vectors = _NO_RISE) -> float:
        """What it is off by along the walk, as height against a plane that rises so much to the east and north."""
        return self.contact.own_sd_m * abs(float(self.way[2] - self.way[:2] @ rise))

    def sd_m(self, rise: Vectors = _NO_RISE) -> float:
        """What its place is off by, as height against such a plane."""
        up = np.array([-rise[0], -rise[1], 1.0])
        return max(_LEAST_SD_M, math.sqrt(max(0.0, float(up @ self.covariance_m2 @ up))))


def _ways(survey: Survey) -> dict[int, Vectors]:
    """Of each leg east, north and up for a metre of it, level."""
    ways = {}
    for leg in survey.legs:
        start, end = survey.places.get(leg.booked.start), survey.places.get(leg.booked.end)
        if leg.horizontal_m > SAME_M and start is not None and end is not None:
            east, north = end.east_m - start.east_m, end.north_m - start.north_m
            ways[leg.booked.index] = np.array([east, north, leg.adjusted.up_m or 0.0]) / leg.horizontal_m
    return ways


def _level_within_deg(beds: Sequence[PlaneAttitude]) -> float | None:
    """What the mean of beds may be off level by, degrees; None where it, or one of them, dips."""
    if not beds or any(bed.lies_over for bed in beds):
        return None
    if any(bed.dip_deg > max(LEVEL_DEG, SURE_SD * bed.sd_deg) for bed in beds):
        return None
    _, dip_deg, sd_deg = mean_bed(beds)
    if dip_deg >= LEVEL_DEG or dip_deg > SURE_SD * sd_deg:
        return None
    return max(sd_deg, dip_deg)


def _dips(contact: PlacedContact) -> bool:
    """Whether the plane of a contact, read or through its places, dips."""
    lies = contact.surface
    return lies is not None and lies.dip_deg > LEVEL_DEG


def _one_height(
    younger: str, older: str | None, heights: Sequence[MetAt], lies_deg: float
) -> LevelContact | None:
    """The height at which a contact was met, each place by its own error; None where a place disagrees."""
    weights = np.array([1.0 / one.sd_m() ** 2 for one in heights])
    ups = np.array([one.up_m for one in heights])
    mean = weights @ np.array([(*one.at, one.up_m) for one in heights]) / weights.sum()
    up_m, sd_m = float(mean[2]), 1.0 / math.sqrt(float(weights.sum()))
    slope = math.tan(math.radians(lies_deg))
    for one in heights:
        open_m = math.hypot(one.sd_m(), sd_m, slope * math.dist(one.at, mean[:2].tolist()))
        if abs(one.up_m - up_m) > SURE_SD * open_m:
            return None
    scatter_m = math.sqrt(float((weights * (ups - up_m) ** 2).sum() / weights.sum()))
    return LevelContact(
        younger=younger,
        older=older,
        up_m=settled(up_m),
        sd_m=settled(math.hypot(sd_m, scatter_m)),
        own_sd_m=settled(math.hypot(max(_LEAST_SD_M, *(one.rise_m() for one in heights)), scatter_m)),
        sd_deg=lies_deg,
        contacts=tuple(one.contact for one in heights),
    )


class _Gentle(NamedTuple):
    """Contacts on planes of one gentle dip."""

    contacts: list[LevelContact]
    """None where a place or more than one bed lies off."""
    leans: bool = False
    """Whether heights and beds together tell against level planes."""


def _gentle(
    pairs: Mapping[tuple[str, str | None], Sequence[MetAt]],
    beds: Sequence[PlaneAttitude],
    to_true_deg: float,
    *,
    most_deg: float,
    whole: bool = True,
) -> _Gentle:
    """Each on a plane of one gentle dip through all places and along all beds; none where a place or more than one bed lies off.

    Weighted least squares for the rise to the east and to the north and the height of each contact: places by their heights,
    beds by the slope of their planes. One bed that lies off is left out where enough others are left.
    """
    if not beds or any(bed.lies_over for bed in beds):
        return _Gentle([])
    poles = poles_of(beds, to_true_deg=to_true_deg).reshape(-1, 3)
    off_rad = np.radians([max(bed.sd_deg, _LEAST_SD_DEG) for bed in beds])
    met = [(index, one) for index, heights in enumerate(pairs.values()) for one in heights]
    where = np.array([one.at for _, one in met])
    middle = settled_all(where.mean(axis=0))
    rows = np.zeros((len(met) + 2 * len(beds), 2 + len(pairs)))
    rows[: len(met), :2] = where - middle
    rows[np.arange(len(met)), [2 + index for index, _ in met]] = 1.0
    rows[len(met) :, :2] = np.tile(np.eye(2), (len(beds), 1))
    slopes = -poles[:, :2] / np.maximum(poles[:, 2:], _LEAST_SD_M)
    values = np.concatenate((np.array([one.up_m for _, one in met]), slopes.ravel()))
    # By the beds' own mean dip a place that is off level is off in height as well.
    leans = slopes.mean(axis=0)
    sds = np.concatenate((np.array([one.sd_m(leans) for _, one in met]), np.repeat(off_rad, 2)))
    covariance = np.linalg.inv((rows / sds[:, None] ** 2).T @ rows)
    found = covariance @ (rows.T @ (values / sds**2))
    rise = settled_all(found[:2], 9)
    normal = np.array([-rise[0], -rise[1], 1.0]) / math.sqrt(1.0 + float(rise @ rise))
    apart = np.arccos(np.clip(poles @ normal, -1.0, 1.0)) / off_rad
    off_m = (values - rows @ found)[: len(met)]
    misfit = np.abs(off_m) / sds[: len(met)]
    # What places of all contacts miss their planes by, the ground between them does.
    scatter_m = math.sqrt(float((off_m**2).mean()))
    dip_deg = math.degrees(math.atan(float(np.hypot(*rise))))
    if float(apart.max()) > _largest_of(len(beds)):
        astray = int(apart.argmax())
        rest = [bed for index, bed in enumerate(beds) if index != astray]
        return (
            _gentle(pairs, rest, to_true_deg, most_deg=most_deg, whole=False)
            if whole and len(rest) >= _REST
            else _Gentle([])
        )
    if dip_deg > most_deg or float(misfit.max()) > _largest_of(len(met)):
        return _Gentle([])
    better = float(rise @ np.linalg.solve(covariance[:2, :2], rise))
    sd_deg = settled(math.degrees(math.sqrt(float(np.linalg.eigvalsh(covariance[:2, :2])[-1]))))
    contacts = [
        LevelContact(
            younger=younger,
            older=older,
            up_m=settled(float(found[2 + index])),
            sd_m=settled(math.sqrt(float(covariance[2 + index, 2 + index]))),
            own_sd_m=settled(math.hypot(max(_LEAST_SD_M, *(one.rise_m(rise) for one in heights)), scatter_m)),
            sd_deg=sd_deg,
            contacts=tuple(one.contact for one in heights),
            at=(float(middle[0]), float(middle[1])),
            rise=(float(rise[0]), float(rise[1])),
        )
        for index, ((younger, older), heights) in enumerate(pairs.items())
    ]
    return _Gentle(contacts, leans=better > TWO_MORE_CHI_SQUARE)
