"""The stratigraphic column: units met, how thick, what they rest on, and where in them the samples were taken."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from traverse.location.records import PlacedAddress, Survey
from traverse.log.items import ContactKind, Sample
from traverse.log.records import Log
from traverse.settled import SAME_M, first_least, settled
from traverse.structure.readings.directions import Vectors, dot
from traverse.structure.readings.mean import mean_plane, principal_axis
from traverse.structure.readings.place_errors import bed_pole, contact_pole, place_vector
from traverse.structure.readings.records import PlacedContact, PlaneAttitude
from traverse.structure.thickness.records import ColumnSample, ColumnUnit, UnitThickness
from traverse.structure.walk.fault_blocks import BodyBeds, block_finder
from traverse.structure.walk.order import WalkOrder
from traverse.structure.walk.records import BandStretch
from traverse.trade import FOLDED_DEG


def column(
    log: Log,
    survey: Survey,
    beds: BodyBeds,
    contacts: Sequence[PlacedContact],
    band: tuple[BandStretch, ...],
    thicknesses: Sequence[UnitThickness],
    caps: frozenset[str],
    unit_at: Callable[[PlacedAddress], str | None],
) -> tuple[ColumnUnit, ...]:
    """Units of the list that the walk met, youngest first."""
    met = {stretch.unit for stretch in band}
    by_unit = {one.unit: one for one in thicknesses}
    bases: dict[str, set[ContactKind]] = defaultdict(set)
    for contact in contacts:
        if contact.younger is not None:
            bases[contact.younger].add(contact.kind)
    samples = _Levels(log, survey, beds, contacts, by_unit, caps).by_unit(unit_at)
    found = []
    for unit in log.units:
        if unit.letters not in met:
            continue
        kinds = bases[unit.letters]
        base = next(
            (
                kind
                for kind in (ContactKind.UNCONFORMITY, ContactKind.CONTACT, ContactKind.FAULT)
                if kind in kinds
            ),
            None,
        )
        found.append(
            ColumnUnit(
                unit=unit,
                thickness=by_unit.get(unit.letters),
                base=base,
                samples=tuple(
                    sorted(
                        samples[unit.letters],
                        key=_from_above,
                    )
                ),
            )
        )
    return _with_gaps(found, log, contacts, band)


def _with_gaps(
    found: Sequence[ColumnUnit],
    log: Log,
    contacts: Sequence[PlacedContact],
    band: tuple[BandStretch, ...],
) -> tuple[ColumnUnit, ...]:
    """The units, with where one and the next below it were nowhere seen together: what lies between is not known.

    Of what lies on worn edges, or loose on the ground, nobody expects the next of the list below it.
    """
    together = {frozenset((one.younger, one.older)) for one in contacts}
    beds = [one.unit for one in band if one.unit not in log.intrusive]
    together |= {frozenset(pair) for pair in pairwise(beds)}
    strata = [one for one in found if not one.unit.intrusive]
    listed = [unit.letters for unit in log.units if not unit.intrusive]
    below = {
        upper.unit.letters: lower.unit.letters
        for upper, lower in pairwise(strata)
        if frozenset((upper.unit.letters, lower.unit.letters)) not in together
        and upper.base is not ContactKind.UNCONFORMITY
        and not upper.unit.loose
    }
    return tuple(
        replace(
            one,
            apart=True,
            not_met=tuple(listed[listed.index(one.unit.letters) + 1 : listed.index(below[one.unit.letters])]),
        )
        if one.unit.letters in below
        else one
        for one in found
    )


def _from_above(one: ColumnSample) -> tuple[int, float, int]:
    """By height where the base is known, then by depth, then in the order of the log."""
    if one.level_m is not None:
        return 0, -one.level_m, one.booked.span.line
    return (
        (1, one.depth_m, one.booked.span.line) if one.depth_m is not None else (2, 0.0, one.booked.span.line)
    )


def as_thick_as_sampled(
    thicknesses: Sequence[UnitThickness], units: Sequence[ColumnUnit]
) -> tuple[UnitThickness, ...]:
    """Thicknesses with those of units that were never crossed whole raised to what their samples stand from a border."""
    levels = {
        one.unit.letters: max(
            (at for sample in one.samples for at in (sample.level_m, sample.depth_m) if at is not None),
            default=0.0,
        )
        for one in units
    }
    return tuple(
        replace(one, least_m=levels[one.unit])
        if one.true_m is None and one.least_m is not None and levels.get(one.unit, 0.0) > one.least_m
        else one
        for one in thicknesses
    )


class _Levels:
    """Heights of samples in their units, each from the contacts met before and after it on the walk, over no fault.

    Square to the beds: the mean plane of those between the contact and the sample. Which contact is the base is told by its
    younger unit, so an overturned limb counts as any other.
    """

    def __init__(
        self,
        log: Log,
        survey: Survey,
        beds: BodyBeds,
        contacts: Sequence[PlacedContact],
        thick: dict[str, UnitThickness],
        caps: frozenset[str],
    ) -> None:
        self.log, self.survey, self.thick, self.caps = log, survey, thick, caps
        self.contacts = sorted(contacts, key=lambda one: one.order)
        self.met_at = [one.order for one in self.contacts]
        self.walk = WalkOrder(log)
        self.block = block_finder(log, contacts)
        self.beds = beds
        self.read: dict[str, tuple[Sequence[PlaneAttitude], list[int], Vectors]] = {}
        """Of a unit the beds of its body, their orders and their places, shape (n, 3)."""

    def by_unit(self, unit_at: Callable[[PlacedAddress], str | None]) -> dict[str, list[ColumnSample]]:
        """Every sample whose unit is known."""
        found: dict[str, list[ColumnSample]] = defaultdict(list)
        for order, item in enumerate(self.log.items):
            if isinstance(item, Sample) and (place := self.survey.at(item.address)) is not None:
                unit = unit_at(place)
                if unit is not None:
                    found[unit].append(self._sample(item, order, place, unit))
        return found

    def _sample(self, item: Sample, at: int, place: PlacedAddress, unit: str) -> ColumnSample:
        here = place_vector(place)
        off: dict[bool, tuple[float, float]] = {}
        for contact in self._borders(at, unit) if unit not in self.caps else ():
            plane = self._plane(contact, at, place, unit)
            if plane is None:
                continue
            distance, is_base = _off(here, plane, contact), contact.younger == unit
            if is_base not in off or distance[0] < off[is_base][0] - SAME_M:
                off[is_base] = distance
        base, top = off.get(True), off.get(False)
        thick = self.thick.get(unit)
        level = base
        if level is None and top is not None and thick is not None and thick.true_m is not None:
            level = max(0.0, settled(thick.true_m - top[0])), settled(math.hypot(top[1], thick.sd_m or 0.0))
        known = level or top
        whole = base[0] + top[0] if base is not None and top is not None else 0.0
        return ColumnSample(
            booked=item,
            level_m=None if level is None else level[0],
            depth_m=None if top is None else top[0],
            share=None if base is None or whole <= 0.0 else settled(base[0] / whole),
            sd_m=None if known is None else known[1],
        )

    def _borders(self, at: int, unit: str) -> list[PlacedContact]:
        """Contacts of the unit next before and next after a place of the walk; one that cuts the unit's beds is no top of it."""
        return [
            one
            for one in (self.contacts[place] for place in self.walk.around(self.met_at, at))
            if one.kind is not ContactKind.FAULT
            and (
                one.younger == unit
                or (
                    one.older == unit
                    and one.kind is not ContactKind.UNCONFORMITY
                    and one.younger not in self.caps
                )
            )
        ]

    def _read(self, unit: str) -> tuple[Sequence[PlaneAttitude], list[int], Vectors]:
        if unit not in self.read:
            beds = self.beds.of(unit)
            places = np.array([place_vector(one.place) for one in beds]).reshape(-1, 3)
            self.read[unit] = beds, [one.order for one in beds], places
        return self.read[unit]

    def _plane(
        self, contact: PlacedContact, at: int, place: PlacedAddress, unit: str
    ) -> tuple[Vectors, float] | None:
        """Mean pole in the grid of the contact and the beds between it and the sample, or of the nearest bed over no fault; its deviation in degrees.

        Of the beds of the body that the unit belongs to.
        """
        beds, read_at, places = self._read(unit)
        low, high = sorted((at, contact.order))
        turn_deg = self.survey.frame.to_true_deg
        own = contact_pole(contact, to_true_deg=turn_deg) if contact.kind is ContactKind.CONTACT else None
        between = [beds[one] for one in self.walk.between(read_at, low, high)]
        address = self.log.items[at].address
        # What was read where the sample was taken may stand after it on the page.
        after = bisect_right(read_at, high)
        while after < len(beds) and beds[after].booked.address is address:
            between = [*between, beds[after]]
            after += 1
        poles = [bed_pole(bed, to_true_deg=turn_deg) for bed in between] + ([own] if own is not None else [])
        if not poles:
            block = self.block(place, at)
            mine = np.array([block == self.block(bed.place, bed.order) for bed in beds], dtype=bool)
            if block is None or not mine.any():
                return None
            apart = np.where(mine, np.linalg.norm(places - place_vector(place), axis=1), np.inf)
            return bed_pole(beds[first_least(apart)], to_true_deg=turn_deg)
        if principal_axis(np.array([normal for normal, _ in poles]))[1] > FOLDED_DEG:
            # Two limbs: no one plane leads from the contact to the sample.
            return None
        return mean_plane(poles)


def _off(here: Vectors, plane: tuple[Vectors, float], border: PlacedContact) -> tuple[float, float]:
    """Distance from a border square to the beds, and its standard deviation.

    The error of the stations is left out: the same stretch of the walk carries both.

    Source: thickness = |L . n|, L from the border to the sample, n the unit normal (vector form of the usual cases).
    """
    normal, sd_deg = plane
    apart = here - place_vector(border.place)
    off = settled(abs(dot(apart, normal)))
    along = max(0.0, dot(apart, apart) - off**2)
    variance = np.radians(sd_deg) ** 2 * along + border.own_sd_m**2 * (1.0 - float(normal[2]) ** 2)
    return off, settled(math.sqrt(variance))
