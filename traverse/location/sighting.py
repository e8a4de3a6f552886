"""Places from bearings: where sights from known places meet, and where sights to known points lead back to."""

from __future__ import annotations

import math

import numpy as np

from traverse.adjustment.records import Floats
from traverse.record import record
from traverse.settled import settled, settled_all

ROUNDS = 20
"""Rounds in which weights follow the distances; they settle in three or four."""


@record(frozen=True, slots=True, kw_only=True)
class Rays:
    """Lines from known places, one element each."""

    origin_m: Floats  # (n, 2) east, north
    azimuth_deg: Floats  # (n,) in the plane, from the origin toward the place sought
    azimuth_sd_deg: Floats  # (n,)
    origin_covariance_m2: Floats  # (n, 2, 2)


@record(frozen=True, slots=True, kw_only=True)
class Met:
    """Where rays meet."""

    position_m: Floats  # (2,)
    covariance_m2: Floats  # (2, 2)
    distance_m: Floats  # (n,) along each ray; negative behind its origin
    off_deg: Floats  # (n,) each ray's own azimuth minus that to the place
    crossing_deg: float
    """Widest angle at which two of the rays cross, 0 to 90."""
    chi_square: float
    """Of what the rays pass the place by, over what each may; with two rays fewer than there are degrees of freedom."""


def meet(rays: Rays) -> Met | None:
    """The place that fits all rays best, weighted by how far each may be off at its distance.

    None where the rays are parallel. Two rays meet exactly; more share their misfit by least squares.
    Source: intersection and resection of bearings by least squares, any survey text.
    """
    azimuth = np.radians(rays.azimuth_deg)
    along = np.stack((np.sin(azimuth), np.cos(azimuth)), axis=1)
    across = np.stack((np.cos(azimuth), -np.sin(azimuth)), axis=1)
    crossing = float(np.degrees(np.arcsin(np.clip(np.abs(along @ across.T).max(), 0.0, 1.0))))
    if crossing < 0.01:
        return None
    offset = (across * rays.origin_m).sum(axis=1)
    own = np.einsum("ni,nij,nj->n", across, rays.origin_covariance_m2, across)
    variance = np.ones(len(azimuth))
    position = np.zeros(2)
    covariance = np.eye(2)
    for _ in range(ROUNDS):
        normal = (across / variance[:, None]).T @ across
        covariance = np.asarray(np.linalg.inv(normal))
        before, position = position, covariance @ ((across / variance[:, None]).T @ offset)
        distance = np.hypot(*(position - rays.origin_m).T)
        spread = np.radians(rays.azimuth_sd_deg) * distance
        variance = np.maximum(spread**2 + own, 1e-8)
        if np.abs(position - before).max() < 1e-7:
            break
    position = settled_all(position)
    toward = position - rays.origin_m
    read = np.degrees(np.arctan2(toward[:, 0], toward[:, 1]))
    return Met(
        position_m=position,
        covariance_m2=settled_all(covariance),
        distance_m=settled_all((toward * along).sum(axis=1)),
        off_deg=settled_all(180.0 - np.mod(180.0 - (rays.azimuth_deg - read), 360.0)),
        crossing_deg=settled(crossing),
        chi_square=settled(float(((across @ position - offset) ** 2 / variance).sum()), 6),
    )


def level_rise_m(distance_m: float, slope_rad: float) -> float:
    """Rise over a level distance at a slope."""
    return distance_m * math.tan(slope_rad)


def without_each(rays: Rays) -> list[Met | None]:
    """Where the other rays meet, each left out in turn; None where they do not meet ahead of their origins."""
    found: list[Met | None] = []
    for i in range(len(rays.azimuth_deg)):
        keep = np.arange(len(rays.azimuth_deg)) != i
        met = meet(
            Rays(
                origin_m=rays.origin_m[keep],
                azimuth_deg=rays.azimuth_deg[keep],
                azimuth_sd_deg=rays.azimuth_sd_deg[keep],
                origin_covariance_m2=rays.origin_covariance_m2[keep],
            )
        )
        found.append(None if met is None or (met.distance_m <= 0.0).any() else met)
    return found
