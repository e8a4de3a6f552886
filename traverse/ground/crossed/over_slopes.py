"""How a contact comes out on ground that slopes: its strike tells that on level ground alone.

The slope at a place is told by the grid of heights that a log names; else by the heights of the stations about it: a leg's
own slope is that from end to end, and the ground between, as over the bottom of a valley, need not keep to it. How much
they tell is told with it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from traverse.ground.arm_network import TOUCH_M, Arm
from traverse.heights.records import Terrain
from traverse.record import record
from traverse.settled import SAME_DEG, settled
from traverse.structure.readings.records import PlacedContact, Surface
from traverse.trade import STANDING_DEG, TRACE_KNOWN_DEG, TRACE_LOST_DEG

_REACH_M = 120.0
"""Heights of legs farther off tell nothing of the slope at a place."""
_GRID_STEP_M = 20.0
"""The slope by a fine grid of heights is that over so much ground to each hand; common practice, no source."""
_UP_SD_M = 0.5
_LEAST_SD = 0.05
"""Of the ground's rise for each metre, however level the legs are; common practice, no source."""
_PER_M = math.sqrt(3.0) / 300.0
"""The slope at one place tells little of that 300 m on; common practice, no source."""
_LEVEL_M2 = 100.0**2
"""Of the height about which the ground rises and falls: any."""


@record(frozen=True, slots=True, kw_only=True)
class ComesOut:
    """How a contact comes out on the ground where it was met."""

    azimuth_deg: float
    """True."""
    known: bool = True
    """Whether it is good to some 30°; else it is no more than the likeliest."""


class Slopes:
    """The heights of a walk, and how planes come out on the ground between them."""

    def __init__(self, arms: Sequence[Arm], convergence_deg: float, terrain: Terrain | None = None) -> None:
        self._terrain = terrain
        self._convergence_deg = convergence_deg
        legs = [arm for arm in arms if arm.up_m is not None and arm.length_m > TOUCH_M]
        self._ends = np.array(
            [[(*arm.start, arm.up_m[0]), (*arm.end, arm.up_m[1])] for arm in legs if arm.up_m]
        )
        self._tree = shapely.STRtree([arm.line for arm in legs])
        self._sd = _LEAST_SD
        if legs:
            apart = self._ends[:, 1] - self._ends[:, 0]
            run_m = np.hypot(*apart[:, :2].T)
            mean_square = float((apart[:, 2] ** 2 / run_m).sum() / run_m.sum())
            # Of a rise to the east, or to the north: as if the legs ran straight up and down.
            self._sd = max(_LEAST_SD, math.sqrt(mean_square / 2.0))

    def course(self, contact: PlacedContact) -> ComesOut | None:
        """How a contact comes out on the ground where it was met; None where that is not known.

        Along its strike where nothing tells how it dips or how the ground slopes, and where its line goes through several
        places.
        """
        lies, course_deg = contact.lies, contact.course_deg
        strike = None if course_deg is None else ComesOut(azimuth_deg=course_deg)
        if lies is None:
            return strike
        if contact.surface is not None and lies.strike_deg is not None:
            apart = 180.0 if course_deg is None else math.remainder(course_deg - lies.strike_deg, 180.0)
            if abs(apart) > SAME_DEG:
                return strike
        slope = self._on_grid(contact)
        if slope is None:
            slope = self._slope(contact)
        return strike if slope is None else self._on(lies, *slope)

    def _on_grid(self, contact: PlacedContact) -> tuple[NDArray[np.float64], NDArray[np.float64]] | None:
        """Rise of the ground for each metre east and north, (2,), and its covariance; None where no grid has heights there."""
        if self._terrain is None:
            return None
        step_m = max(_GRID_STEP_M, self._terrain.spacing_m)
        slope = self._terrain.slope(contact.place.east_m, contact.place.north_m, step_m)
        sd = self._terrain.sd_up_m / (math.sqrt(2.0) * step_m)
        return (slope, sd**2 * np.eye(2)) if np.isfinite(slope).all() else None

    def _slope(self, contact: PlacedContact) -> tuple[NDArray[np.float64], NDArray[np.float64]] | None:
        """The same by the heights of the walk; None where none were walked.

        The heights are readings of a surface whose slope changes the more the farther one goes: a Gaussian process with
        the covariance s2 (1 + a r) exp(-a r), a = sqrt(3) / L, whose slope has the variance s2 a2. Source: Rasmussen and
        Williams (2006), Gaussian Processes for Machine Learning, eq. 2.25 and 4.17, of the derivative section 9.4; from memory.
        """
        place = contact.place
        at = shapely.Point(place.east_m, place.north_m)
        near = np.sort(self._tree.query(at, predicate="dwithin", distance=_REACH_M))
        if not len(near):
            return None
        ends = np.unique(np.round(self._ends[near].reshape(-1, 3), 3), axis=0)
        steps = ends - (place.east_m, place.north_m, place.relative_up_m)
        plan = steps[:, :2]
        apart = _PER_M * np.hypot(*(plan[:, None] - plan).transpose(2, 0, 1))
        height_m2 = (self._sd / _PER_M) ** 2
        heights = height_m2 * (1.0 + apart) * np.exp(-apart) + _LEVEL_M2 + _UP_SD_M**2 * np.eye(len(plan))
        # Of the slope at the place with each height.
        shared = self._sd**2 * plan * np.exp(-_PER_M * np.hypot(*plan.T))[:, None]
        weights = np.linalg.solve(heights, shared)
        return weights.T @ steps[:, 2], self._sd**2 * np.eye(2) - shared.T @ weights

    def _on(
        self, lies: Surface, slope: NDArray[np.float64], covariance: NDArray[np.float64]
    ) -> ComesOut | None:
        """How ground of a slope neither rises over a plane nor falls under it; None where that is lost."""
        if lies.dip_deg >= STANDING_DEG:
            return None if lies.strike_deg is None else ComesOut(azimuth_deg=lies.strike_deg)
        tilt = math.tan(math.radians(lies.dip_deg))
        way = math.radians((lies.strike_deg or 0.0) - self._convergence_deg + 90.0)
        # Rise of the ground over the plane, for each metre east and north.
        east, north = slope + tilt * np.array([math.sin(way), math.cos(way)])
        steep = math.hypot(east, north)
        if steep < math.tan(math.radians(lies.sd_deg)):
            return None
        along = np.array([-north, east]) / steep
        plane_sd = math.radians(lies.sd_deg) * math.hypot(1.0, tilt)
        off = math.hypot(math.sqrt(along @ covariance @ along), plane_sd) / steep
        off_deg = settled(math.degrees(math.atan(off)))
        if off_deg > TRACE_LOST_DEG:
            return None
        azimuth_deg = settled(math.degrees(math.atan2(*along)) + self._convergence_deg, 6)
        return ComesOut(azimuth_deg=azimuth_deg, known=off_deg <= TRACE_KNOWN_DEG)
