"""Addresses on the ground: at a station, or at or over part of a leg as it lies after adjustment."""

from __future__ import annotations

import math
from collections.abc import Mapping

from traverse.adjustment.least_squares import Adjusted
from traverse.adjustment.records import Floats, Network
from traverse.angle import wrap_360
from traverse.location.records import Place, PlacedAddress, PlacedLeg
from traverse.log.items import Address, Leg, Side
from traverse.log.readings import Distance
from traverse.record import record
from traverse.reduction.pace import metres
from traverse.settled import settled, settled_all


@record(frozen=True, slots=True, kw_only=True)
class Spread:
    """Covariance in east, north and up of stations and of points along legs, (3, 3) each."""

    network: Network
    adjusted: Adjusted
    sighted: Mapping[str, Floats]
    """Of landmarks."""

    def of(self, name: str) -> Floats:
        """Of a station or landmark."""
        if name in self.sighted:
            return self.sighted[name]
        covariance: Floats = self.adjusted.covariance_m2[self.network.index[name]]
        return covariance

    def at(self, edge: int, share: float) -> Floats:
        """Of the point at a share of a leg, from that of its ends."""
        both = self.adjusted.between_m2[edge]
        covariance: Floats = (
            (1.0 - share) ** 2 * self.adjusted.covariance_m2[self.network.start[edge]]
            + share**2 * self.adjusted.covariance_m2[self.network.end[edge]]
            + share * (1.0 - share) * (both + both.T)
        )
        return covariance


def place_addresses(
    addresses: tuple[Address, ...],
    places: Mapping[str, Place],
    legs: tuple[PlacedLeg, ...],
    spread: Spread,
) -> tuple[PlacedAddress | None, ...]:
    """Where each address lies; None for what has no place."""
    return tuple(_place(address, places, legs, spread) for address in addresses)


def _place(
    address: Address,
    places: Mapping[str, Place],
    legs: tuple[PlacedLeg, ...],
    spread: Spread,
) -> PlacedAddress | None:
    if address.leg is None:
        return _at_station(address, places, spread)
    leg = address.leg
    start, end = places.get(leg.start), places.get(leg.end)
    if start is None or end is None or not 0 <= leg.index < len(legs):
        return None
    placed = legs[leg.index]
    first, last = (
        _share(distance, leg, placed.ground_m) for distance in (address.start, address.end or address.start)
    )
    share = (first + last) / 2.0
    vector = placed.adjusted
    azimuth = math.atan2(vector.east_m, vector.north_m)
    right = _offset_m(address, leg)

    def point(at: float) -> tuple[float, float, float]:
        return (
            settled(start.east_m + at * vector.east_m + right * math.cos(azimuth)),
            settled(start.north_m + at * vector.north_m - right * math.sin(azimuth)),
            settled(start.relative_up_m + at * (vector.up_m or 0.0)),
        )

    east, north, relative = point(share)
    covariance = settled_all(spread.at(leg.index, share))
    return PlacedAddress(
        address=address,
        east_m=east,
        north_m=north,
        up_m=None if start.up_m is None else relative,
        relative_up_m=relative,
        half_width_m=None if address.end is None else settled((last - first) / 2.0 * placed.ground_m),
        sd_m=_largest_m(covariance),
        covariance_m2=_rows(covariance),
        leg_azimuth_deg=wrap_360(settled(math.degrees(azimuth))),
        start_share=first,
        end_share=None if address.end is None else last,
        right_m=settled(right),
        ends=() if address.end is None else (point(first), point(last)),
    )


def _at_station(address: Address, places: Mapping[str, Place], spread: Spread) -> PlacedAddress | None:
    place = places.get(address.station or "")
    if place is None:
        return None
    covariance = settled_all(spread.of(place.name))
    return PlacedAddress(
        address=address,
        east_m=place.east_m,
        north_m=place.north_m,
        up_m=place.up_m,
        relative_up_m=place.relative_up_m,
        half_width_m=None,
        sd_m=_largest_m(covariance),
        covariance_m2=_rows(covariance),
        leg_azimuth_deg=None,
    )


def _largest_m(covariance_m2: Floats) -> float:
    """Larger half-axis of the error ellipse in plan."""
    east, north, both = (float(covariance_m2[i, j]) for i, j in ((0, 0), (1, 1), (0, 1)))
    return settled(math.sqrt(max((east + north) / 2.0 + math.hypot((east - north) / 2.0, both), 0.0)))


def _rows(covariance_m2: Floats) -> tuple[tuple[float, float, float], ...]:
    return tuple((float(a), float(b), float(c)) for a, b, c in covariance_m2)


def _share(distance: Distance | None, leg: Leg, ground_m: float) -> float:
    """Share of the leg at which a distance along it ends; the leg's own pacer counted it."""
    if distance is None or ground_m <= 0.0:
        return 0.0
    return settled(metres(distance, leg.conditions.pace) / ground_m, 12)


def _offset_m(address: Address, leg: Leg) -> float:
    """Offset to the right of the leg, facing forward."""
    if address.offset is None or address.side not in {Side.LEFT, Side.RIGHT}:
        return 0.0
    offset = metres(address.offset, leg.conditions.pace)
    return offset if address.side is Side.RIGHT else -offset
