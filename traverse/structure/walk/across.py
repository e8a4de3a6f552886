"""The walk seen across the strike: beds and units in the order in which they lie, from which folds are told."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from traverse.angle import mean_axis, wrap_360
from traverse.location.records import HeightsMeasured, PlacedAddress, Survey
from traverse.log.items import Address, ContactKind
from traverse.log.records import Log
from traverse.record import record
from traverse.settled import settled, settled_all
from traverse.source import Span
from traverse.structure.readings.directions import Vectors, apparent_dips
from traverse.structure.readings.records import FoldAxis, PlacedContact, PlaneAttitude
from traverse.structure.walk.arms import ArmStep, arms
from traverse.structure.walk.beds import Bed
from traverse.structure.walk.outliers import Outlier, without_outliers
from traverse.structure.walk.records import BandStretch
from traverse.trade import CAP_DEG, LEVEL_DEG


@record(frozen=True, slots=True, kw_only=True)
class Across:
    """The walk across the strike."""

    azimuth_deg: float
    """True azimuth along which distances count."""
    beds: tuple[Bed, ...]
    """By distance; beds of a cap that lies over the others left out."""
    arms: tuple[tuple[ArmStep, ...], ...]
    """Bedrock units along each arm of the walk, with increasing distance; the widest arm first."""
    caps: frozenset[str]
    """Units that lie over the others: loose ground, or above an unconformity."""
    contacts_m: Mapping[Span, float]
    """Distance of each contact, by its line."""
    outliers: tuple[Outlier, ...] = ()
    """Units that come again on an arm because of the ground alone; left out of `arms`."""
    heights: bool = True
    """Whether any were measured."""

    def toward_deg(self, sense: float) -> float:
        """True azimuth of increasing distance, or the other way where `sense` is not above 0."""
        return self.azimuth_deg + (0.0 if sense > 0.0 else 180.0)


def address_words(address: Address) -> str:
    """Where something lies, as one says of a fault: `at 5`, `on leg 8–9`."""
    if address.station is not None or address.leg is None:
        return f"at {address.station or 'the start'}"
    return f"on leg {address.leg.start}–{address.leg.end}"


def across(
    log: Log,
    survey: Survey,
    beds: Sequence[PlaneAttitude],
    contacts: tuple[PlacedContact, ...],
    band: tuple[BandStretch, ...],
    axis: FoldAxis | None,
    caps: frozenset[str],
) -> Across | None:
    """Beds and units by their distance square to the fold axis, else square to the mean strike.

    None where no bed dips enough to have a strike. Distances along a level line square to the axis are the same
    wherever on its plunge a bed lies.
    """
    beds = [bed for bed in beds if bed.unit not in caps]
    ways = [bed.dip_direction_deg for bed in beds if bed.dip_deg > LEVEL_DEG]
    if axis is not None:
        azimuth = axis.trend_deg + 90.0
    elif ways:
        azimuth = mean_axis(ways)[0]
    else:
        return None
    azimuth = wrap_360(settled(azimuth)) % 180.0
    azimuth = azimuth + 180.0 if azimuth < 22.5 else azimuth
    grid = math.radians(azimuth - survey.frame.to_true_deg)
    way = settled_all(np.array([math.sin(grid), math.cos(grid)]), 12)
    dips = apparent_dips(
        [bed.dip_deg for bed in beds],
        dip_direction_deg=[bed.dip_direction_deg for bed in beds],
        azimuth_deg=azimuth,
    )
    seen = [bed.upside_down for bed in beds]
    standing = [
        Bed(
            across_m=along(bed.place, way),
            dip_deg=float(dip),
            overturned=bool(up),
            known=up is not None,
            attitude=bed,
        )
        for bed, dip, up in zip(beds, dips, seen, strict=True)
    ]
    standing.sort(key=lambda bed: bed.across_m)
    # Carried along the plunge, a height is the same wherever on it the walk crosses the beds.
    plunging = 0.0 if axis is None else np.tan(np.radians(axis.plunge_deg))
    trend = np.radians((0.0 if axis is None else axis.trend_deg) - survey.frame.to_true_deg)
    fall = settled_all(plunging * np.array([np.sin(trend), np.cos(trend)]), 12)
    walked, lying = without_outliers(
        arms(log, survey, band, contacts, way, fall, caps), standing, unit_ranks(log)
    )
    return Across(
        azimuth_deg=azimuth,
        beds=tuple(standing),
        arms=walked,
        caps=caps,
        contacts_m={one.booked.span: along(one.place, way) for one in contacts},
        outliers=lying,
        heights=survey.heights is not HeightsMeasured.NONE,
    )


def along(place: PlacedAddress, way: Vectors) -> float:
    """How far a place lies along a level direction."""
    return settled(float(place.east_m * way[0] + place.north_m * way[1]))


def unit_ranks(log: Log) -> Mapping[str, int]:
    """Place of each unit in the list, 0 the youngest."""
    return {unit.letters: index for index, unit in enumerate(log.units)}


def caps_of(
    log: Log,
    beds: Sequence[PlaneAttitude],
    contacts: Sequence[PlacedContact],
    band: Sequence[BandStretch],
) -> frozenset[str]:
    """Units that lie over the others.

    Loose ground, and flat units above an unconformity; none where nothing else was met.
    """
    loose = {unit.letters for unit in log.units if unit.loose}
    flat = {
        one.younger
        for one in contacts
        if one.kind is ContactKind.UNCONFORMITY and (one.dip_deg is None or one.dip_deg <= CAP_DEG)
    }
    tilted = {bed.unit for bed in beds if bed.dip_deg > CAP_DEG}
    caps = loose | {unit for unit in flat - tilted if unit}
    met = {stretch.unit for stretch in band if stretch.unit}
    return frozenset(caps) if met - caps else frozenset()
