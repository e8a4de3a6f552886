"""The units along each arm of the walk, with the ground they lie in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

from traverse.location.records import HeightsMeasured, Survey
from traverse.log.items import ContactKind
from traverse.log.records import Log
from traverse.record import record
from traverse.settled import SAME_M, settled
from traverse.structure.readings.directions import Vectors
from traverse.structure.readings.records import PlacedContact
from traverse.structure.walk.records import BandStretch

_TURN = 0.1
"""Share of the walk's width by which it must go back before that is another arm."""
_AT = SAME_M


@record(frozen=True, slots=True, kw_only=True)
class ArmStep:
    """A unit on one arm of the walk, from one border to the next."""

    unit: str
    start_m: float
    end_m: float
    fault_before: PlacedContact | None = None
    """A fault between it and the step before."""
    ground: tuple[tuple[float, float], ...] = ()
    """Distance and height of the ground it was walked on, metres; empty where no height was measured."""


class _Piece(NamedTuple):
    start_m: float
    end_m: float
    unit: str | None
    leg: int
    start_up_m: float
    end_up_m: float

    def turned(self) -> _Piece:
        return _Piece(self.end_m, self.start_m, self.unit, self.leg, self.end_up_m, self.start_up_m)

    def up_m(self, at_m: float) -> float:
        long = self.end_m - self.start_m
        share = (at_m - self.start_m) / long if abs(long) > _AT else 0.5
        return self.start_up_m + share * (self.end_up_m - self.start_up_m)


def arms(
    log: Log,
    survey: Survey,
    band: tuple[BandStretch, ...],
    contacts: tuple[PlacedContact, ...],
    way: Vectors,
    fall: Vectors,
    caps: frozenset[str],
) -> tuple[tuple[ArmStep, ...], ...]:
    """The walk cut where it turns back, each arm's units with increasing distance.

    `way` is the level direction across, `fall` how far beds go down for each metre toward their plunge; both (east, north).
    """

    def up_m(leg: int, share: float, place: tuple[float, float]) -> float:
        start = survey.places[log.legs[leg].start]
        rise = survey.legs[leg].adjusted.up_m or 0.0
        return settled(start.relative_up_m + share * rise + _along(fall, place))

    pieces = [
        _Piece(
            settled(_along(way, stretch.start)),
            settled(_along(way, stretch.end)),
            stretch.unit,
            stretch.leg,
            up_m(stretch.leg, stretch.start_share, stretch.start),
            up_m(stretch.leg, stretch.end_share, stretch.end),
        )
        for stretch in band
        if stretch.leg is not None
    ]
    if not pieces:
        return ()
    known = survey.heights is not HeightsMeasured.NONE
    ends = [value for piece in pieces for value in (piece.start_m, piece.end_m)]
    limit = _TURN * (max(ends) - min(ends))
    faults: dict[int, list[tuple[float, PlacedContact]]] = {}
    for contact in contacts:
        leg = contact.place.address.leg
        if contact.kind is ContactKind.FAULT:
            across_m = settled(_along(way, (contact.place.east_m, contact.place.north_m)))
            for index in [leg.index] if leg else _legs_of(log, contact.place.address.station):
                faults.setdefault(index, []).append((across_m, contact))
    found = [_steps(run, faults, caps, known) for run in _monotone(pieces, log, limit)]
    kept = [arm for arm in found if arm]
    kept.sort(key=lambda arm: arm[0].start_m - arm[-1].end_m)
    return tuple(kept)


def _along(way: Vectors, place: tuple[float, float]) -> float:
    return float(way[0]) * place[0] + float(way[1]) * place[1]


def _legs_of(log: Log, station: str | None) -> list[int]:
    return [leg.index for leg in log.legs if station in {leg.start, leg.end}]


def _monotone(pieces: list[_Piece], log: Log, limit_m: float) -> list[list[_Piece]]:
    """Runs of pieces that follow each other on the ground and go one way, small steps back allowed."""
    runs: list[list[_Piece]] = []
    run: list[_Piece] = []
    sense, farthest, turned_at = 0, 0.0, 0
    for piece in pieces:
        start, end, leg = piece.start_m, piece.end_m, piece.leg
        follows = bool(run) and (leg == run[-1].leg or log.legs[leg].start == log.legs[run[-1].leg].end)
        if run and not follows:
            runs.append(run)
            run, sense = [], 0
        if not run:
            farthest, turned_at = start, 0
        run.append(piece)
        if sense == 0 and abs(end - run[0].start_m) > limit_m:
            sense = 1 if end > run[0].start_m else -1
            farthest, turned_at = end, len(run)
        elif sense and (end - farthest) * sense >= -SAME_M:
            farthest, turned_at = end, len(run)
        elif sense and (farthest - end) * sense > limit_m:
            runs.append(run[:turned_at])
            run, sense, farthest = run[turned_at:], -sense, end
            turned_at = len(run)
    if run:
        runs.append(run)
    return runs


def _steps(
    run: list[_Piece],
    faults: Mapping[int, list[tuple[float, PlacedContact]]],
    caps: frozenset[str],
    heights: bool,
) -> tuple[ArmStep, ...]:
    """Bedrock units of a run, equal neighbours joined unless a fault parts them."""
    if run[-1].end_m < run[0].start_m - SAME_M:
        run = [piece.turned() for piece in reversed(run)]
    legs = {piece.leg for piece in run}
    cuts = sorted(
        {fault.order: (at, fault) for leg in legs for at, fault in faults.get(leg, ())}.values(),
        key=lambda cut: cut[0],
    )
    steps: list[ArmStep] = []
    last_m: float | None = None
    for piece in run:
        unit, start, end = piece.unit, piece.start_m, piece.end_m
        if unit is None or unit in caps:
            continue
        edges = [start, *(at for at, _ in cuts if start + _AT < at < end - _AT), end]
        for first, last in pairwise(edges):
            fault = next(
                (one for at, one in cuts if last_m is not None and last_m - _AT <= at <= first + _AT), None
            )
            ends = (piece.start_up_m, piece.end_up_m) if len(edges) == 2 else map(piece.up_m, (first, last))
            ground = tuple(zip((first, last), ends, strict=True)) if heights else ()
            new = ArmStep(unit=unit, start_m=first, end_m=last, fault_before=fault, ground=ground)
            if steps and fault is None and steps[-1].unit == unit:
                steps[-1] = joined(steps[-1], new)
            else:
                steps.append(new)
            last_m = last
    return tuple(steps)


def joined(first: ArmStep, last: ArmStep) -> ArmStep:
    """Two steps on one unit as one."""
    return replace(first, end_m=last.end_m, ground=(*first.ground, *last.ground))
