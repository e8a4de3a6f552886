"""The stratigraphic column: units met, how thick, what they rest on, and where in them the samples were taken."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np

from traverse.location.records import Survey
from traverse.log.records import ContactKind, Item, Log, PlaneKind, Sample
from traverse.structure.attitude import Vectors
from traverse.structure.ground import unit_finder
from traverse.structure.records import (
    Attitude,
    BandStretch,
    ColumnSample,
    ColumnUnit,
    PlacedContact,
    UnitThickness,
)
from traverse.structure.thickness import bed_pole, contact_pole, place_vector


def column(
    log: Log,
    survey: Survey,
    attitudes: Sequence[Attitude],
    contacts: Sequence[PlacedContact],
    band: tuple[BandStretch, ...],
    thicknesses: Sequence[UnitThickness],
) -> tuple[ColumnUnit, ...]:
    """Units of the list that the walk met, youngest first."""
    met = {stretch.unit for stretch in band}
    by_unit = {one.unit: one for one in thicknesses}
    bases: dict[str, set[ContactKind]] = defaultdict(set)
    for contact in contacts:
        if contact.younger is not None:
            bases[contact.younger].add(contact.kind)
    samples = _samples(log, survey, attitudes, contacts, band, by_unit)
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
                        key=lambda one: (one.level_m is None, -(one.level_m or 0.0), one.booked.span.line),
                    )
                ),
            )
        )
    return tuple(found)


def _samples(
    log: Log,
    survey: Survey,
    attitudes: Sequence[Attitude],
    contacts: Sequence[PlacedContact],
    band: tuple[BandStretch, ...],
    thick: dict[str, UnitThickness],
) -> dict[str, list[ColumnSample]]:
    """Samples by unit. A level counts from the nearest contact of the unit on the ground, over no fault in the log."""
    unit_at = unit_finder(log, band)
    order = {id(item): index for index, item in enumerate(log.items)}
    faults = np.array(sorted(order[id(one.booked)] for one in contacts if one.kind is ContactKind.FAULT))

    def block(item: Item) -> int:
        """How many faults were met before."""
        return int(np.searchsorted(faults, order[id(item)]))

    beds: dict[int, list[Attitude]] = defaultdict(list)
    for bed in attitudes:
        if bed.kind is PlaneKind.BED and bed.dip_deg is not None:
            beds[block(bed.booked)].append(bed)
    borders: dict[tuple[str | None, int], list[PlacedContact]] = defaultdict(list)
    for contact in contacts:
        if contact.kind is not ContactKind.FAULT:
            for unit in (contact.younger, contact.older):
                borders[unit, block(contact.booked)].append(contact)
    bed_places = {index: _places(mine) for index, mine in beds.items()}
    border_places = {key: _places(mine) for key, mine in borders.items()}
    found: dict[str, list[ColumnSample]] = defaultdict(list)
    for item in log.items:
        if not isinstance(item, Sample) or (place := survey.at(item.spot)) is None:
            continue
        unit_here = unit_at(place)
        if unit_here is None:
            continue
        here, index = place_vector(place), block(item)
        level: tuple[float, float] | None = None
        if (unit_here, index) in borders:
            near = borders[unit_here, index][_nearest(border_places[unit_here, index], here)]
            own = contact_pole(near) if near.kind is ContactKind.CONTACT else None
            if own is None and index in beds:
                own = bed_pole(beds[index][_nearest(bed_places[index], here)])
            if own is not None:
                apart = here - place_vector(near.place)
                level = _level(apart, own, near, unit_here, thick.get(unit_here))
        found[unit_here].append(
            ColumnSample(
                booked=item,
                level_m=None if level is None else level[0],
                sd_m=None if level is None else level[1],
            )
        )
    return found


def _places(placed: Sequence[Attitude] | Sequence[PlacedContact]) -> Vectors:
    return np.array([place_vector(one.place) for one in placed])


def _nearest(places: Vectors, here: Vectors) -> int:
    return int(np.linalg.norm(places - here, axis=1).argmin())


def _level(
    apart: Vectors,
    plane: tuple[Vectors, float],
    border: PlacedContact,
    unit: str,
    thick: UnitThickness | None,
) -> tuple[float, float] | None:
    """Height above the base: from the base itself, else down from the top of a unit whose thickness is known."""
    normal, sd_deg = plane
    off = abs(float(apart @ normal))
    along = max(0.0, float(apart @ apart) - off**2)
    variance = np.radians(sd_deg) ** 2 * along + border.sd_m**2 * (1.0 - float(normal[2]) ** 2)
    if border.younger == unit:
        return off, float(np.sqrt(variance))
    if thick is None or thick.true_m is None or thick.sd_m is None:
        return None
    return max(0.0, thick.true_m - off), float(np.sqrt(variance + thick.sd_m**2))
