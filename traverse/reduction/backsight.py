"""Fore and back bearings of a leg: how they disagree, and the one azimuth that follows."""

from __future__ import annotations

import math
from statistics import NormalDist

import numpy as np

from traverse.reduction.records import Flags, Floats


def wrap_180(angle_deg: Floats) -> Floats:
    """Differences of azimuths in (-180, 180], element by element."""
    wrapped: Floats = 180.0 - np.mod(180.0 - angle_deg, 360.0)
    return wrapped


def disagreement_deg(fore_deg: Floats, back_deg: Floats) -> Floats:
    """Fore minus back minus 180, in (-180, 180]; NaN where there is no back bearing."""
    return wrap_180(fore_deg - back_deg - 180.0)


def limit_deg(bearing_sd_deg: Floats) -> Floats:
    """How far fore and back may disagree: three standard errors of the difference of two readings."""
    limit: Floats = 3.0 * np.sqrt(2.0) * bearing_sd_deg
    return limit


def limit_of_all_deg(bearing_sd_deg: float, legs: int) -> float:
    """How far the worst of so many legs, read to whole degrees, differs by chance on one page in a hundred; no less than one alone.

    Source: Šidák (1967), J. Am. Stat. Assoc. 62, 626-633, from memory; the variance of rounding is a twelfth.
    """
    one = 1.0 - 0.99 ** (1.0 / max(1, legs))
    worst = NormalDist().inv_cdf(1.0 - one / 2.0) * math.sqrt(2.0 * (bearing_sd_deg**2 + 1.0 / 12.0))
    return max(float(limit_deg(np.array(bearing_sd_deg))), worst)


def reconciled(
    fore_deg: Floats, difference_deg: Floats, bearing_sd_deg: Floats
) -> tuple[Floats, Floats, Flags]:
    """Azimuth and its standard deviation, and which legs had a back bearing that agrees.

    Within the limit the azimuth is the mean of the two bearings and its deviation shrinks by the root of two;
    beyond it, and without a back bearing, the fore bearing stands. All arrays are (n,), degrees.
    Averaging hides local attraction, which sits at a station and not on a leg: take that out first.
    """
    agrees = np.abs(difference_deg) <= limit_deg(bearing_sd_deg)  # False for NaN
    azimuth = np.where(agrees, fore_deg - np.nan_to_num(difference_deg) / 2.0, fore_deg)
    deviation = np.where(agrees, bearing_sd_deg / np.sqrt(2.0), bearing_sd_deg)
    return np.mod(azimuth, 360.0), deviation, agrees
