"""Addresses on the ground: at a station, or at or over part of a leg as it lies after adjustment."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from traverse.adjustment.least_squares import Adjusted
from traverse.adjustment.records import Floats, Network
from traverse.angle import wrap_360
from traverse.location.records import Place, PlacedAddress, PlacedLeg, Rests
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
    walked_m2: Mapping[int, Floats]
    """Of the legs by themselves that close what was not adjusted: their far end is that of no station."""

    def of(self, name: str) -> Floats:
        """Of a station or landmark."""
        if name in self.sighted:
            return self.sighted[name]
        covariance: Floats = self.adjusted.covariance_m2[self.network.index[name]]
        return covariance

    def at(self, edge: int, share: float) -> Floats:
        """Of the point at a share of a leg, from that of its ends; of a leg as walked from that of its start."""
        if edge in self.walked_m2:
            start = self.adjusted.covariance_m2[self.network.start[edge]]
            return np.asarray(start + share**2 * self.walked_m2[edge])
        both = self.adjusted.between_m2[edge]
        covariance: Floats = (
            (1.0 - share) ** 2 * self.adjusted.covariance_m2[self.network.start[edge]]
            + share**2 * self.adjusted.covariance_m2[self.network.end[edge]]
            + share * (1.0 - share) * (both + both.T)
        )
        return covariance

    def joint(self, places: Sequence[Rests]) -> Floats:
        """Of places by what they rest on, each with each, (n, n, 3, 3). A landmark shares nothing with another place."""
        names = list(dict.fromkeys(name for place in places for name, _ in place))
        walked = [name for name in names if name in self.network.index and name not in self.sighted]
        shares = np.zeros((len(places), len(walked)))
        row = {name: at for at, name in enumerate(walked)}
        alone = np.zeros((len(places), 3, 3))
        for at, place in enumerate(places):
            for name, share in place:
                if name in row:
                    shares[at, row[name]] += share
                elif name in self.sighted:
                    alone[at] += share**2 * self.sighted[name]
        stations = np.array([self.network.index[name] for name in walked], dtype=np.intp)
        found: Floats = np.einsum(
            "ia,abkl,jb->ijkl", shares, self.adjusted.joint(stations), shares, optimize=True
        )
        every = np.arange(len(places))
        found[every, every] += alone
        return settled_all(found)

    def apart(self, pairs: Sequence[tuple[Rests, Rests]]) -> Floats:
        """Of the way from one place to the other of each pair by what they rest on, (n, 3, 3): what both share cancels.

        Source: the way is a sum of places with shares that add to 0, and its covariance that of the sum.
        """
        found = np.zeros((len(pairs), 3, 3))
        owners, one, other, shares = [], [], [], []
        for at, (first, second) in enumerate(pairs):
            sums: dict[str, float] = {}
            for sign, place in ((-1.0, first), (1.0, second)):
                for name, share in place:
                    sums[name] = sums.get(name, 0.0) + sign * share
            walked = []
            for name, share in sums.items():
                if name in self.sighted:
                    found[at] += share**2 * self.sighted[name]
                elif share and name in self.network.index:
                    walked.append((self.network.index[name], share))
            for last, (station, share) in enumerate(walked):
                for before, (earlier, its) in enumerate(walked[: last + 1]):
                    owners.append(at)
                    one.append(earlier)
                    other.append(station)
                    shares.append(its * share * (0.5 if before == last else 1.0))
        if owners:
            # The least of two numbers first, so that a pair that comes twice is one.
            low, high = np.minimum(one, other), np.maximum(one, other)
            keys, back = np.unique(low * len(self.network.names) + high, return_inverse=True)
            both = self.adjusted.shared(keys // len(self.network.names), keys % len(self.network.names))
            both = both + both.transpose(0, 2, 1)
            np.add.at(found, owners, np.array(shares)[:, None, None] * both[back])
        return np.asarray(settled_all(found))


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
        leg_slope_deg=settled(
            math.degrees(math.atan2(vector.up_m or 0.0, math.hypot(vector.east_m, vector.north_m)))
        ),
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
