"""Legs as lengths and directions, still about the leg itself: no place is known yet."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from traverse.log.items import Leg
from traverse.record import record

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Indices = NDArray[np.intp]


@record(frozen=True, slots=True, kw_only=True)
class ReducedLegs:
    """Every leg of a log, one element each, in the order of the log."""

    booked: tuple[Leg, ...]
    azimuth_deg: Floats  # (n,)
    """In [0, 360), reconciled from fore and back bearing."""
    from_grid: Flags  # (n,)
    """Whether the azimuth counts from grid north; else it counts from true north."""
    fore_back_deg: Floats  # (n,)
    """Fore minus back minus 180 as booked, in (-180, 180]; NaN without a back bearing."""
    fore_deg: Floats  # (n,)
    """Fore bearing alone, from the same north as the azimuth, local attraction taken out."""
    difference_deg: Floats  # (n,)
    """Fore minus back minus 180 with local attraction taken out; NaN without a back bearing."""
    declination_deg: Floats  # (n,)
    """Added to the bearing as read; 0 where it was not magnetic."""
    reading_sd_deg: Floats  # (n,)
    """Of one bearing."""
    ground_m: Floats  # (n,)
    """As walked: along the slope, but level for a leg that is `horizontal`."""
    level: Flags  # (n,)
    """Whether the distance was booked level."""
    slope_rad: Floats  # (n,)
    """Upward positive; 0 where none was booked."""
    slope_known: Flags  # (n,)
    bearing_sd_deg: Floats  # (n,)
    slope_sd_deg: Floats  # (n,)
    distance_sd_m: Floats  # (n,)
    """Along the ground."""

    @property
    def horizontal_m(self) -> Floats:
        """Distance on the level, (n,)."""
        return np.where(self.level, self.ground_m, self.ground_m * np.cos(self.slope_rad))

    @property
    def rise_m(self) -> Floats:
        """Up from start to end, (n,)."""
        return self.ground_m * np.where(self.level, np.tan(self.slope_rad), np.sin(self.slope_rad))


@record(frozen=True, slots=True, kw_only=True)
class SlopeRow:
    """A slope, and what a stated length along it is; all lengths in the unit of that one."""

    slope_deg: int
    grade_percent: float
    """Rise for 100 on the level."""
    level: float
    rise: float
