"""The walk seen across the strike: beds and units in the order in which they lie, from which folds are told."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

import numpy as np

from traverse.angle import wrap_360
from traverse.location.records import Survey
from traverse.log.records import ContactKind, Log, PlaneKind, Spot
from traverse.record import record
from traverse.structure.attitude import Vectors, apparent_dips
from traverse.structure.ground import unit_finder
from traverse.structure.records import Attitude, BandStretch, FoldAxis, PlacedContact

LEVEL_DEG = 3.0
"""Beds that dip less have no side to dip to; common practice, no source."""
_TURN = 0.1
"""Share of the walk's width by which it must go back before that is another arm."""
_LOOSE = frozenset({"quaternary", "holocene", "pleistocene"})
_CAP_DEG = 10.0
"""Beds no steeper than this may lie over others as a cap."""


@record(frozen=True, slots=True, kw_only=True)
class Bed:
    """A bed as it stands across the strike."""

    across_m: float
    dip_deg: float
    """Apparent, positive down with increasing distance."""
    overturned: bool
    known: bool
    """Whether its way-up was seen or said."""
    attitude: Attitude

    @property
    def where(self) -> str:
        """Its place in words."""
        return place_words(self.attitude)

    @property
    def faces(self) -> int:
        """Which way its younger side leans: 1 with increasing distance, -1 against it, 0 for a level bed."""
        if abs(self.dip_deg) < LEVEL_DEG:
            return 0
        return (1 if self.dip_deg > 0.0 else -1) * (-1 if self.overturned else 1)


@record(frozen=True, slots=True, kw_only=True)
class Step:
    """A unit on one arm of the walk, from one border to the next."""

    unit: str
    start_m: float
    end_m: float
    fault_before: PlacedContact | None = None
    """A fault between it and the step before."""


@record(frozen=True, slots=True, kw_only=True)
class Across:
    """The walk across the strike."""

    azimuth_deg: float
    """True azimuth along which distances count."""
    beds: tuple[Bed, ...]
    """By distance; beds of a cap that lies over the others left out."""
    arms: tuple[tuple[Step, ...], ...]
    """Bedrock units along each arm of the walk, with increasing distance; the widest arm first."""
    caps: frozenset[str]
    """Units that lie over the others: loose ground, or above an unconformity."""


def place_words(attitude: Attitude) -> str:
    """Where an attitude was read: its station, or the leg."""
    spot = attitude.booked.spot
    if spot.station is not None or spot.leg is None:
        return attitude.station
    return f"leg {spot.leg.start}–{spot.leg.end}"


def spot_words(spot: Spot) -> str:
    """Where something lies, as one says of a fault: `at 5`, `on leg 8–9`."""
    if spot.station is not None or spot.leg is None:
        return f"at {spot.station or 'the start'}"
    return f"on leg {spot.leg.start}–{spot.leg.end}"


def across(
    log: Log,
    survey: Survey,
    attitudes: tuple[Attitude, ...],
    contacts: tuple[PlacedContact, ...],
    band: tuple[BandStretch, ...],
    axis: FoldAxis | None,
) -> Across | None:
    """Beds and units by their distance square to the fold axis, else square to the mean strike.

    None where no bed dips enough to have a strike. Distances along a level line square to the axis are the same
    wherever on its plunge a bed lies.
    """
    unit_at = unit_finder(log, band)
    beds = [bed for bed in attitudes if bed.kind is PlaneKind.BED and bed.dip_deg is not None]
    units = [unit_at(bed.place) for bed in beds]
    caps = _caps(log, beds, units, contacts, band)
    beds = [bed for bed, unit in zip(beds, units, strict=True) if unit not in caps]
    ways = [
        bed.dip_direction_deg
        for bed in beds
        if bed.dip_direction_deg is not None and (bed.dip_deg or 0.0) > LEVEL_DEG
    ]
    if axis is not None:
        azimuth = axis.trend_deg + 90.0
    elif ways:
        # Doubled, so that opposite dips of a fold add up to one line.
        doubled = np.radians(2.0 * np.array(ways))
        azimuth = float(np.degrees(np.arctan2(np.sin(doubled).sum(), np.cos(doubled).sum()))) / 2.0
    else:
        return None
    azimuth = wrap_360(azimuth) % 180.0
    azimuth = azimuth + 180.0 if azimuth < 22.5 else azimuth
    grid = np.radians(azimuth - (survey.frame.convergence_deg or 0.0))
    way = np.array([np.sin(grid), np.cos(grid)])
    dips = apparent_dips(
        [bed.dip_deg or 0.0 for bed in beds],
        dip_direction_deg=[bed.dip_direction_deg or 0.0 for bed in beds],
        azimuth_deg=azimuth,
    )
    seen = [bed.upside_down for bed in beds]
    standing = [
        Bed(
            across_m=float(np.array([bed.place.east_m, bed.place.north_m]) @ way),
            dip_deg=float(dip),
            overturned=bool(up),
            known=up is not None,
            attitude=bed,
        )
        for bed, dip, up in zip(beds, dips, seen, strict=True)
    ]
    standing.sort(key=lambda bed: bed.across_m)
    return Across(
        azimuth_deg=azimuth,
        beds=tuple(standing),
        arms=_arms(log, band, contacts, way, caps),
        caps=caps,
    )


def unit_ranks(log: Log) -> Mapping[str, int]:
    """Place of each unit in the list, 0 the youngest."""
    return {unit.letters: index for index, unit in enumerate(log.units)}


def _caps(
    log: Log,
    beds: list[Attitude],
    units: list[str | None],
    contacts: tuple[PlacedContact, ...],
    band: tuple[BandStretch, ...],
) -> frozenset[str]:
    """Loose ground by its age, and flat units above an unconformity; none where nothing else was met."""
    loose = {
        unit.letters
        for unit in log.units
        if unit.age and _LOOSE & set(unit.age.lower().replace("-", " ").split())
    }
    flat = {
        one.younger
        for one in contacts
        if one.kind is ContactKind.UNCONFORMITY and (one.dip_deg is None or one.dip_deg <= _CAP_DEG)
    }
    tilted = {unit for bed, unit in zip(beds, units, strict=True) if (bed.dip_deg or 0.0) > _CAP_DEG}
    caps = loose | {unit for unit in flat - tilted if unit}
    met = {stretch.unit for stretch in band if stretch.unit}
    return frozenset(caps) if met - caps else frozenset()


def _arms(
    log: Log,
    band: tuple[BandStretch, ...],
    contacts: tuple[PlacedContact, ...],
    way: Vectors,
    caps: frozenset[str],
) -> tuple[tuple[Step, ...], ...]:
    """The walk cut where it turns back, each arm's units with increasing distance."""
    pieces = [
        (float(way @ stretch.start), float(way @ stretch.end), stretch.unit, stretch.leg)
        for stretch in band
        if stretch.leg is not None
    ]
    if not pieces:
        return ()
    ends = [value for piece in pieces for value in piece[:2]]
    limit = _TURN * (max(ends) - min(ends))
    faults: dict[int, list[tuple[float, PlacedContact]]] = {}
    for contact in contacts:
        leg = contact.place.spot.leg
        if contact.kind is ContactKind.FAULT:
            across_m = float(way @ (contact.place.east_m, contact.place.north_m))
            for index in [leg.index] if leg else _legs_of(log, contact.place.spot.station):
                faults.setdefault(index, []).append((across_m, contact))
    arms = [_steps(run, faults, caps) for run in _monotone(pieces, log, limit)]
    kept = [arm for arm in arms if arm]
    kept.sort(key=lambda arm: arm[0].start_m - arm[-1].end_m)
    return tuple(kept)


def _legs_of(log: Log, station: str | None) -> list[int]:
    return [leg.index for leg in log.legs if station in {leg.start, leg.end}]


_Piece = tuple[float, float, str | None, int]


def _monotone(pieces: list[_Piece], log: Log, limit_m: float) -> list[list[_Piece]]:
    """Runs of pieces that follow each other on the ground and go one way, small steps back allowed."""
    runs: list[list[_Piece]] = []
    run: list[_Piece] = []
    sense, farthest, turned_at = 0, 0.0, 0
    for piece in pieces:
        start, end, _, leg = piece
        follows = bool(run) and (leg == run[-1][3] or log.legs[leg].start == log.legs[run[-1][3]].end)
        if run and not follows:
            runs.append(run)
            run, sense = [], 0
        if not run:
            farthest, turned_at = start, 0
        run.append(piece)
        if sense == 0 and abs(end - run[0][0]) > limit_m:
            sense = 1 if end > run[0][0] else -1
            farthest, turned_at = end, len(run)
        elif sense and (end - farthest) * sense >= 0.0:
            farthest, turned_at = end, len(run)
        elif sense and (farthest - end) * sense > limit_m:
            runs.append(run[:turned_at])
            run, sense, farthest = run[turned_at:], -sense, end
            turned_at = len(run)
    if run:
        runs.append(run)
    return runs


def _steps(
    run: list[_Piece], faults: Mapping[int, list[tuple[float, PlacedContact]]], caps: frozenset[str]
) -> tuple[Step, ...]:
    """Bedrock units of a run, equal neighbours joined unless a fault parts them."""
    if run[-1][1] < run[0][0]:
        run = [(end, start, unit, leg) for start, end, unit, leg in reversed(run)]
    legs = {leg for _, _, _, leg in run}
    cuts = sorted(
        {id(fault): (at, fault) for leg in legs for at, fault in faults.get(leg, ())}.values(),
        key=lambda cut: cut[0],
    )
    steps: list[Step] = []
    last_m: float | None = None
    for start, end, unit, _ in run:
        if unit is None or unit in caps:
            continue
        edges = [start, *(at for at, _ in cuts if start + 1e-6 < at < end - 1e-6), end]
        for first, last in pairwise(edges):
            fault = next(
                (one for at, one in cuts if last_m is not None and last_m - 1e-6 <= at <= first + 1e-6), None
            )
            if steps and fault is None and steps[-1].unit == unit:
                steps[-1] = Step(
                    unit=unit, start_m=steps[-1].start_m, end_m=last, fault_before=steps[-1].fault_before
                )
            else:
                steps.append(Step(unit=unit, start_m=first, end_m=last, fault_before=fault))
            last_m = last
    return tuple(steps)
