"""Legs drawn as vectors in the plane of the grid, each by the convergence, scale and height at its middle."""

from __future__ import annotations

from collections.abc import Callable
from statistics import median
from typing import TypeAlias

import numpy as np

from traverse.adjustment.records import Floats, Network, Vectors
from traverse.adjustment.sharing import Places, raw_places
from traverse.record import record
from traverse.reduction.records import ReducedLegs
from traverse.settled import settled_all

Factors: TypeAlias = Callable[[Floats, Floats], tuple[Floats, Floats]]
"""Convergence in degrees and point scale factor at places given by east and north, each (n,)."""

EARTH_RADIUS_M = 6_371_008.771
"""Mean radius of the GRS 80 ellipsoid, (2a + b) / 3. Source: Moritz (2000), Geodetic Reference System 1980."""
FAR_M = 100_000.0
"""No party walks so far: a first known point as far from the others has wrong figures."""
STEADY_M = 1e-6
"""Places that move less than this from one round to the next are settled."""


@record(frozen=True, slots=True, kw_only=True)
class Drawn:
    """Legs in the plane, and what it took to draw them there."""

    vectors: Vectors
    raw: Places
    convergence_deg: Floats  # (n_legs,) at each leg's middle
    scale: Floats  # (n_legs,) point scale and height together


def true_azimuth_deg(legs: ReducedLegs, convergence_deg: Floats) -> Floats:
    """Azimuths from true north, in [0, 360), (n,)."""
    return np.mod(legs.azimuth_deg + np.where(legs.from_grid, convergence_deg, 0.0), 360.0)


def draw(legs: ReducedLegs, network: Network, factors: Factors | None) -> Drawn:
    """The edges as vectors in the plane, and the raw places that follow.

    Without `factors` the plane is a local one, whose north is true north: nothing is turned or scaled.
    In a grid each leg is turned by the convergence at its middle, its level length reduced to the ellipsoid and
    multiplied by the point scale factor there. Where the middles lie depends on the legs before, so places
    are found in rounds, each a few hundred times nearer than the one before.
    Source: grid azimuth = azimuth - convergence, as in the GDA Technical Manual; checked in tests/published.
    """
    count = len(legs.booked)
    convergence, scale, aside = np.zeros(count), np.ones(count), np.zeros(3)
    if factors is not None and network.fixes:
        aside = _aside_m(network)
        first = network.fixes[min(network.fixes)].position_m + aside
        at_first = factors(first[:1], first[1:2])
        convergence[:], scale[:] = at_first[0], at_first[1]
    vectors = _vectors(legs, network, convergence, scale)
    places = raw_places(network, vectors.observed_m)
    if factors is None or not network.fixes or not count:
        return Drawn(vectors=vectors, raw=places, convergence_deg=convergence, scale=scale)
    for _ in range(10):
        middle = places.position_m[network.start[:count]] + vectors.observed_m[:count] / 2.0 + aside
        known = np.isfinite(middle).all(axis=1)
        if not known.any():
            break
        height = np.where(places.height_known[network.start[:count]], middle[:, 2], 0.0)
        turned, point = factors(middle[known, 0], middle[known, 1])
        usable = np.isfinite(turned) & np.isfinite(point)
        at = np.flatnonzero(known)[usable]
        convergence[at] = turned[usable]
        scale[at] = point[usable] * EARTH_RADIUS_M / (EARTH_RADIUS_M + height[at])
        before = places.position_m
        vectors = _vectors(legs, network, convergence, scale)
        places = raw_places(network, vectors.observed_m)
        if np.nanmax(np.abs(places.position_m - before), initial=0.0) < STEADY_M:
            break
    return Drawn(vectors=vectors, raw=places, convergence_deg=convergence, scale=scale)


def _aside_m(network: Network) -> Floats:
    """From the first known point to the middle one of all, where it lies so far off that its figures are wrong, (3,).

    The legs are then drawn where the other points are.
    """
    known = np.array([network.fixes[i].position_m[:2] for i in sorted(network.fixes)])
    aside = np.zeros(3)
    if len(known) > 2:
        middle = np.array([median(axis) for axis in known.T])
        if np.hypot(*(middle - known[0])) > FAR_M:
            aside[:2] = middle - known[0]
    return aside


def scaled_jacobian(legs: ReducedLegs, *, azimuth_deg: Floats, scale: Floats) -> Floats:
    """How far one standard deviation of distance, slope and bearing moves east, north and up, (n, 3, 3).

    The covariance of a leg to first order is this times its transpose.

    `azimuth_deg` and `scale` are those of the plane the legs are drawn in.
    Source: propagation of variance, C = J diag(variances) J', common practice, no source.
    """
    azimuth, slope, level = np.radians(azimuth_deg), legs.slope_rad, legs.level
    sine, cosine = np.sin(azimuth), np.cos(azimuth)
    along = np.where(level, 1.0, np.cos(slope)) * scale  # level length for a metre of ground
    tilt = np.where(level, 0.0, -np.sin(slope)) * scale * legs.ground_m
    jacobian = np.empty((len(azimuth), 3, 3))  # east, north, up by distance, slope, bearing
    jacobian[:, 0, 0], jacobian[:, 1, 0] = along * sine, along * cosine
    jacobian[:, 2, 0] = np.where(level, np.tan(slope), np.sin(slope))
    jacobian[:, 0, 1], jacobian[:, 1, 1] = tilt * sine, tilt * cosine
    jacobian[:, 2, 1] = legs.ground_m * np.where(level, 1.0 / np.cos(slope) ** 2, np.cos(slope))
    jacobian[:, 0, 2] = along * legs.ground_m * cosine
    jacobian[:, 1, 2] = -along * legs.ground_m * sine
    jacobian[:, 2, 2] = 0.0
    deviations = np.stack(
        (legs.distance_sd_m, np.radians(legs.slope_sd_deg), np.radians(legs.bearing_sd_deg)), axis=1
    )
    scaled: Floats = jacobian * deviations[:, None, :]
    return scaled


def draw_legs(legs: ReducedLegs, convergence_deg: Floats, scale: Floats) -> tuple[Floats, Floats]:
    """Legs as vectors east, north and up in the plane, (n, 3), and their covariance, (n, 3, 3)."""
    turn = np.where(legs.from_grid, 0.0, convergence_deg)
    azimuth = np.radians(legs.azimuth_deg - turn)
    level = scale * legs.horizontal_m
    observed = np.stack((level * np.sin(azimuth), level * np.cos(azimuth), legs.rise_m), axis=1)
    observed = settled_all(observed)
    factor = scaled_jacobian(legs, azimuth_deg=legs.azimuth_deg - turn, scale=scale)
    return observed, factor @ factor.transpose(0, 2, 1)


def _vectors(legs: ReducedLegs, network: Network, convergence_deg: Floats, scale: Floats) -> Vectors:
    count, edges = len(legs.booked), len(network.start)
    observed, covariance, horizontal = np.zeros((edges, 3)), np.zeros((edges, 3, 3)), np.zeros(edges)
    observed[:count], covariance[:count] = draw_legs(legs, convergence_deg, scale)
    covariance[count:] = network.tie_sd_m[count:, None, None] ** 2 * np.eye(3)
    horizontal[:count] = legs.horizontal_m
    return Vectors(observed_m=observed, covariance_m2=covariance, horizontal_m=horizontal)
