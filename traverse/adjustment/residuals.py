"""What least squares had to change in each reading, and how well the rest of the network checks it."""

from __future__ import annotations

import numpy as np

from traverse.adjustment.least_squares import Adjusted
from traverse.adjustment.records import Floats, LeftOut, Network
from traverse.adjustment.vectors import Drawn, scaled_jacobian
from traverse.record import record
from traverse.reduction.records import ReducedLegs

UNCHECKED = 1e-6
"""Redundancy below which nothing checks a reading."""


@record(frozen=True, slots=True, kw_only=True)
class Residuals:
    """By leg and by reading, in the order distance, slope, bearing."""

    redundancy: Floats  # (n_legs, 3), 0 to 1: the share of an error in the reading that shows
    standardised: (
        Floats  # (n_legs, 3), as read minus adjusted; NaN where nothing checks it or it took no part
    )
    chi_square: float
    """Sum of the weighted squares over the network."""
    freedom: int
    """Degrees of freedom; the expectation of the sum."""


def residuals(
    legs: ReducedLegs, network: Network, drawn: Drawn, adjusted: Adjusted, left: LeftOut
) -> Residuals:
    """Residuals of every reading of every leg.

    Source: W. Baarda (1968), A testing procedure for use in geodetic networks: standardised residuals and
    redundancy numbers; the formulas from memory.
    """
    count = len(legs.booked)
    start, end = network.start[:count], network.end[:count]
    factor = scaled_jacobian(
        legs,
        azimuth_deg=legs.azimuth_deg - np.where(legs.from_grid, 0.0, drawn.convergence_deg),
        scale=drawn.scale,
    )
    took_part = network.placed[start] & (start != end) & (not adjusted.bounds)
    took_part &= ~np.isin(np.arange(count), list(left.edges | left.edges_up))
    took_part &= np.abs(np.linalg.det(factor)) > 0.0
    standardised, redundancy = np.full((count, 3), np.nan), np.zeros((count, 3))
    at = np.flatnonzero(took_part)
    inverse = np.linalg.inv(factor[at])
    between = adjusted.between_m2[at]
    known = adjusted.covariance_m2[start[at]] + adjusted.covariance_m2[end[at]]
    known = known - between - between.transpose(0, 2, 1)
    shown = np.eye(3) - inverse @ known @ inverse.transpose(0, 2, 1)
    share = np.clip(np.diagonal(shown, axis1=1, axis2=2), 0.0, 1.0)
    change = drawn.vectors.observed_m[at] - (adjusted.position_m[end[at]] - adjusted.position_m[start[at]])
    own = np.einsum("nij,nj->ni", inverse, change)
    redundancy[at] = share
    checked = share > UNCHECKED
    standardised[at] = np.where(checked, own / np.sqrt(np.where(checked, share, 1.0)), np.nan)
    return Residuals(
        redundancy=redundancy,
        standardised=standardised,
        chi_square=float((own**2).sum()),
        freedom=round(float(share.sum())),
    )
