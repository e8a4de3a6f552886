"""Spots on the ground: at a station, or at or over part of a leg as it lies after adjustment."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from traverse.adjustment.ellipse import ellipses
from traverse.adjustment.records import Floats
from traverse.location.records import Place, PlacedLeg, PlacedSpot
from traverse.log.records import Distance, Leg, Side, Spot
from traverse.reduction.pace import metres


def place_spots(
    spots: tuple[Spot, ...],
    places: Mapping[str, Place],
    legs: tuple[PlacedLeg, ...],
    covariance_at: Callable[[int, float], Floats],
    covariance_of: Callable[[str], Floats],
) -> tuple[PlacedSpot | None, ...]:
    """Where each spot lies; None for what has no place.

    `covariance_at` gives the covariance at a share of a leg, `covariance_of` that of a station, both (3, 3).
    """
    return tuple(_place(spot, places, legs, covariance_at, covariance_of) for spot in spots)


def _place(
    spot: Spot,
    places: Mapping[str, Place],
    legs: tuple[PlacedLeg, ...],
    covariance_at: Callable[[int, float], Floats],
    covariance_of: Callable[[str], Floats],
) -> PlacedSpot | None:
    if spot.leg is None:
        return _at_station(spot, places, covariance_of)
    leg = spot.leg
    start, end = places.get(leg.start), places.get(leg.end)
    if start is None or end is None or not 0 <= leg.index < len(legs):
        return None
    placed = legs[leg.index]
    first, last = (
        _share(distance, leg, placed.ground_m) for distance in (spot.start, spot.end or spot.start)
    )
    share = (first + last) / 2.0
    vector = placed.adjusted
    azimuth = math.atan2(vector.east_m, vector.north_m)
    right = _offset_m(spot, leg)
    up = None
    if start.up_m is not None and vector.up_m is not None:
        up = start.up_m + share * vector.up_m
    covariance = covariance_at(leg.index, share)
    return PlacedSpot(
        spot=spot,
        east_m=start.east_m + share * vector.east_m + right * math.cos(azimuth),
        north_m=start.north_m + share * vector.north_m - right * math.sin(azimuth),
        up_m=up,
        half_width_m=None if spot.end is None else (last - first) / 2.0 * placed.ground_m,
        sd_m=_largest_m(covariance),
        covariance_m2=_rows(covariance),
        leg_azimuth_deg=math.degrees(azimuth) % 360.0,
        start_share=first,
        end_share=None if spot.end is None else last,
    )


def _at_station(
    spot: Spot, places: Mapping[str, Place], covariance_of: Callable[[str], Floats]
) -> PlacedSpot | None:
    place = places.get(spot.station or "")
    if place is None:
        return None
    covariance = covariance_of(place.name)
    return PlacedSpot(
        spot=spot,
        east_m=place.east_m,
        north_m=place.north_m,
        up_m=place.up_m,
        half_width_m=None,
        sd_m=_largest_m(covariance),
        covariance_m2=_rows(covariance),
        leg_azimuth_deg=None,
    )


def _largest_m(covariance_m2: Floats) -> float:
    """Larger half-axis of the error ellipse in plan."""
    return float(ellipses(covariance_m2[None, :2, :2])[0][0])


def _rows(covariance_m2: Floats) -> tuple[tuple[float, float, float], ...]:
    return tuple((float(a), float(b), float(c)) for a, b, c in covariance_m2)


def _share(distance: Distance | None, leg: Leg, ground_m: float) -> float:
    """Share of the leg at which a distance along it ends; the leg's own pacer counted it."""
    if distance is None or ground_m <= 0.0:
        return 0.0
    return metres(distance, leg.conditions.pace) / ground_m


def _offset_m(spot: Spot, leg: Leg) -> float:
    """Offset to the right of the leg, facing forward."""
    if spot.offset is None or spot.side not in {Side.LEFT, Side.RIGHT}:
        return 0.0
    offset = metres(spot.offset, leg.conditions.pace)
    return offset if spot.side is Side.RIGHT else -offset
