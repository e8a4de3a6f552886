"""Computed arrays to the records that the sheet, the structure and the exports take."""

from __future__ import annotations

import math
from collections.abc import Container, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from traverse.adjustment.hanging import holds_others
from traverse.adjustment.records import Closing, Flags, Floats, LeftOut, Network
from traverse.adjustment.residuals import Residuals
from traverse.adjustment.shares import Made
from traverse.angle import wrap_360
from traverse.location.records import (
    Closure,
    Ellipse,
    ErrorShares,
    HeightsMeasured,
    LegCheck,
    LoopKind,
    Misclosure,
    NetworkTest,
    Place,
    PlacedLeg,
    PlaceKind,
    ReadingCheck,
    Suspect,
    Vector,
)
from traverse.log.items import LegKind
from traverse.log.records import Log
from traverse.reduction.records import ReducedLegs
from traverse.settled import settled, settled_all
from traverse.trade import chi_square_limit

if TYPE_CHECKING:
    from traverse.adjustment.misread.explained import Explanation, LegLeftOut
    from traverse.location.crs import Grid

Axes = tuple[Floats, Floats, Floats]
"""Half-axes in metres and azimuth in degrees, as arrays."""


def place_stations(
    log: Log,
    network: Network,
    *,
    position_m: Floats,
    raw_m: Floats,
    height_known: Flags,
    raw_height_known: Flags,
    covariance_m2: Floats,
    axes: Axes,
    grid: Grid | None,
    unused: Container[int],
) -> dict[str, Place]:
    """Every station that has a place, in the order of the log; arrays are by station."""
    sides = {leg.end for leg in log.legs if leg.kind is LegKind.SIDE}
    known = network.placed
    position_m, raw_m = settled_all(position_m), settled_all(raw_m)
    deviation = np.sqrt(settled_all(np.maximum(np.diagonal(covariance_m2, axis1=1, axis2=2), 0.0)))
    lon, lat = np.full(len(known), np.nan), np.full(len(known), np.nan)
    if grid is not None and known.any():
        lon[known], lat[known] = grid.to_lon_lat(position_m[known, 0], position_m[known, 1])
    places = {}
    for i in np.flatnonzero(known).tolist():
        name = network.names[i]
        kind = PlaceKind.SIDE if name in sides else PlaceKind.WALKED
        if i in network.fixes:
            kind = PlaceKind.SIGHTED if network.fixes[i].resected else PlaceKind.CONTROL
            kind = PlaceKind.UNUSED if i in unused else kind
        east, north, up = position_m[i].tolist()
        major, minor, azimuth = (float(axis[i]) for axis in axes)
        places[name] = Place(
            name=name,
            kind=kind,
            east_m=east,
            north_m=north,
            up_m=up if height_known[i] else None,
            relative_up_m=up,
            raw=_vector(raw_m[i], up_known=bool(raw_height_known[i])),
            lon_deg=_finite(lon[i]),
            lat_deg=_finite(lat[i]),
            sd_east_m=settled(float(deviation[i, 0])),
            sd_north_m=settled(float(deviation[i, 1])),
            sd_up_m=settled(float(deviation[i, 2])) if height_known[i] else None,
            ellipse=Ellipse(major_m=settled(major), minor_m=settled(minor), azimuth_deg=settled(azimuth)),
        )
    return places


def place_legs(
    reduced: ReducedLegs,
    network: Network,
    *,
    azimuth_true_deg: Floats,
    observed_m: Floats,
    position_m: Floats,
    residuals: Residuals,
    left: LeftOut,
) -> tuple[PlacedLeg, ...]:
    """Every leg, in the order of the log.

    As it was walked stays a leg of a piece that nothing places, and one that closes what was not adjusted: it ends short
    of its station by the misclosure.
    """
    count = len(reduced.booked)
    position_m = settled_all(position_m)
    moved = position_m[network.end[:count]] - position_m[network.start[:count]]
    moved[[edge for edge in left.edges if edge < count], :2] = np.nan
    moved[[edge for edge in left.edges_up if edge < count], 2] = np.nan
    adjusted = settled_all(np.where(np.isnan(moved), observed_m[:count], moved)).tolist()
    raw = settled_all(observed_m[:count]).tolist()
    redundancy, standardised = (
        settled_all(values).tolist() for values in (residuals.redundancy, residuals.standardised)
    )
    horizontal, rise = (settled_all(values).tolist() for values in (reduced.horizontal_m, reduced.rise_m))
    return tuple(
        PlacedLeg(
            booked=leg,
            azimuth_true_deg=wrap_360(settled(float(azimuth_true_deg[i]))),
            ground_m=float(reduced.ground_m[i]),
            horizontal_m=horizontal[i],
            rise_m=rise[i],
            slope_known=bool(reduced.slope_known[i]),
            fore_back_deg=_finite(settled(float(reduced.fore_back_deg[i]))),
            bearing_sd_deg=float(reduced.bearing_sd_deg[i]),
            distance_sd_m=float(reduced.distance_sd_m[i]),
            raw=Vector(east_m=raw[i][0], north_m=raw[i][1], up_m=raw[i][2]),
            adjusted=Vector(east_m=adjusted[i][0], north_m=adjusted[i][1], up_m=adjusted[i][2]),
            check=_check(redundancy[i], standardised[i]),
        )
        for i, leg in enumerate(reduced.booked)
    )


def network_test(residuals: Residuals) -> NetworkTest | None:
    """The whole network against its precision; None where nothing is measured twice."""
    if residuals.freedom < 1:
        return None
    return NetworkTest(
        chi_square=settled(residuals.chi_square),
        freedom=residuals.freedom,
        limit=chi_square_limit(residuals.freedom),
    )


def closures(
    log: Log,
    network: Network,
    closings: Sequence[Closing],
    made: Sequence[Made],
    explained: Mapping[int, Explanation],
) -> tuple[Closure, ...]:
    """Every loop and tie, in the order of the log."""
    return tuple(
        _closure(log, network, closing, parts, explained[i].decides if i in explained else None)
        for i, (closing, parts) in enumerate(zip(closings, made, strict=True))
    )


def suspects(
    log: Log, explained: Mapping[int, Explanation]
) -> tuple[tuple[Suspect, ...], tuple[Suspect, ...]]:
    """What would explain the misclosures, a leg left out before the likeliest readings; and what would as well, unnamed."""
    found: dict[tuple[int, str, str], Suspect] = {}
    every = [one for several in explained.values() for one in several.ranked]
    named = {id(one) for several in explained.values() for one in several.named}
    told: set[tuple[int, str, str]] = set()
    for one in sorted(every, key=lambda one: settled(one.rank, 6)):
        slip = one.slip
        leg = log.legs[slip.edge] if slip.edge >= 0 else None
        span = leg.span if leg is not None else slip.span
        assert span is not None
        key = slip.edge, slip.what, slip.slip + slip.reading
        told |= {key} if id(one) in named else set()
        found.setdefault(
            key,
            Suspect(
                span=span,
                start=leg.start if leg is not None else None,
                end=leg.end if leg is not None else None,
                what=f"{leg.start} to {leg.end}" if leg is not None else slip.what,
                slip=slip.slip,
                reading=slip.reading,
                written=slip.written,
                misclosure_after_m=settled(one.misclosure_after_m),
                q_after=one.q_after,
            ),
        )
    lost = {one.left_out.skipped.name: one.left_out for one in explained.values() if one.left_out is not None}
    return (
        (
            *(_leg_lost(log, one) for one in lost.values()),
            *(one for key, one in found.items() if key in told),
        ),
        tuple(one for key, one in found.items() if key not in told),
    )


def _leg_lost(log: Log, lost: LegLeftOut) -> Suspect:
    skipped = lost.skipped
    return Suspect(
        span=skipped.leg.span,
        start=skipped.before,
        end=skipped.after,
        what=f"{skipped.before} to {skipped.after}",
        slip=f"{skipped.name} left out with its leg",
        reading=f"a leg to {skipped.name} first, {lost.said(log.lengths)}",
        written=f"no {skipped.name}",
        left_out=skipped.name,
        misclosure_after_m=0.0,
        q_after=0.0,
    )


def heights_measured(reduced: ReducedLegs, *, read: int) -> HeightsMeasured:
    """How many legs had a slope; heights that were read at two stations or more count as some."""
    known = reduced.slope_known
    if len(known) and known.all():
        return HeightsMeasured.MEASURED
    return HeightsMeasured.PARTLY if known.any() or read > 1 else HeightsMeasured.NONE


def _closure(log: Log, network: Network, closing: Closing, made: Made, decides: str | None) -> Closure:
    circuit = closing.circuit
    east, north, up = closing.misclosure_m.tolist()
    distance = math.hypot(east, north)
    plan = settled_all(closing.covariance_m2[:2, :2])
    edges = [step.edge for step in circuit.steps if step.edge < network.leg_count]
    return Closure(
        kind=LoopKind.TIE if circuit.is_tie else LoopKind.LOOP,
        span=circuit.span,
        stations=tuple(network.names[i] for i in circuit.stations),
        legs=tuple(log.legs[edge] for edge in edges),
        length_m=closing.length_m,
        misclosure=Misclosure(
            east_m=east,
            north_m=north,
            up_m=_finite(up),
            distance_m=distance,
            azimuth_deg=wrap_360(settled(math.degrees(math.atan2(east, north)))),
        ),
        ratio=closing.ratio,
        expected_m=settled(math.sqrt(float(np.trace(plan)))),
        covariance_m2=((float(plan[0, 0]), float(plan[0, 1])), (float(plan[1, 0]), float(plan[1, 1]))),
        sd_up_m=settled(math.sqrt(float(closing.covariance_m2[2, 2]))),
        q=closing.q,
        q_up=closing.q_up,
        adjusted=closing.used,
        adjusted_up=closing.used_up,
        tests=closing.tests,
        hung=holds_others(log, network, circuit),
        shares=_shares(made),
        decides=decides,
    )


def _shares(made: Made) -> ErrorShares | None:
    total = made.bearing_m2 + made.distance_m2 + made.slope_m2 + made.known_points_m2
    total += made.calibration_m2
    if not total > 0.0:
        return None
    return ErrorShares(
        bearing=made.bearing_m2 / total,
        distance=made.distance_m2 / total,
        slope=made.slope_m2 / total,
        known_points=made.known_points_m2 / total,
        calibration=made.calibration_m2 / total,
    )


def _check(redundancy: list[float], standardised: list[float]) -> LegCheck | None:
    """None for a leg that nothing checks, or that took no part."""
    if not any(math.isfinite(value) for value in standardised):
        return None
    distance, slope, bearing = (
        ReadingCheck(redundancy=share, standardised=_finite(value))
        for share, value in zip(redundancy, standardised, strict=True)
    )
    return LegCheck(distance=distance, slope=slope, bearing=bearing)


def _vector(row: Floats, *, up_known: bool) -> Vector:
    east, north, up = row.tolist()
    return Vector(east_m=east, north_m=north, up_m=up if up_known else None)


def _finite(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None
