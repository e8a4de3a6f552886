"""How a contact comes out on ground that slopes: its strike tells that on level ground alone.

The slope at a place is told by the heights walked about it. Where the walk ran one way only they tell little of it across,
and how much is told with it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from traverse.ground.arm_network import TOUCH_M, Arm
from traverse.settled import SAME_DEG, settled
from traverse.structure.readings.records import PlacedContact, Surface
from traverse.trade import GROUND_SLOPE, STANDING_DEG, SURE_SD, TRACE_LOST_DEG

_STEP_M = 10.0
"""Distance of heights along a leg."""
_REACH_M = 120.0
"""Heights farther off tell nothing of the slope at a place."""
_UP_SD_M = 0.5
_SLOPE_SD = GROUND_SLOPE / SURE_SD
"""Of ground that nobody walked over."""
_PER_M = math.sqrt(3.0) / 200.0
"""The slope at one place tells little of that 200 m on; common practice, no source."""
_HEIGHT_M2 = (_SLOPE_SD / _PER_M) ** 2
_LEVEL_M2 = 100.0**2
"""Of the height about which the ground rises and falls: any."""


class Slopes:
    """The heights of a walk, and how planes come out on the ground between them."""

    def __init__(self, arms: Sequence[Arm], convergence_deg: float) -> None:
        self._convergence_deg = convergence_deg
        places = [np.empty((0, 3))]
        for arm in arms:
            if arm.up_m is None or arm.length_m <= TOUCH_M:
                continue
            share = np.linspace(0.0, 1.0, max(2, math.ceil(arm.length_m / _STEP_M) + 1))[:, None]
            start, end = np.array([*arm.start, arm.up_m[0]]), np.array([*arm.end, arm.up_m[1]])
            places.append(start + share * (end - start))
        self._places = np.concatenate(places)
        self._tree = shapely.STRtree([shapely.Point(place) for place in self._places[:, :2]])

    def course_deg(self, contact: PlacedContact) -> float | None:
        """True azimuth in which a contact comes out on the ground where it was met; None where that is not known.

        Its strike where nothing tells how it dips or how the ground slopes, and where its line goes through several places.
        """
        lies, course_deg = contact.lies, contact.course_deg
        if lies is None:
            return course_deg
        if contact.surface is not None and lies.strike_deg is not None:
            apart = 180.0 if course_deg is None else math.remainder(course_deg - lies.strike_deg, 180.0)
            if abs(apart) > SAME_DEG:
                return course_deg
        slope = self._slope(contact)
        return course_deg if slope is None else self._on(lies, *slope)

    def _slope(self, contact: PlacedContact) -> tuple[NDArray[np.float64], NDArray[np.float64]] | None:
        """Rise of the ground for each metre east and north, (2,), and its covariance; None where no heights were walked.

        The heights are readings of a surface whose slope changes the more the farther one goes: a Gaussian process with
        the covariance s2 (1 + a r) exp(-a r), a = sqrt(3) / L, whose slope has the variance s2 a2. Source: Rasmussen and
        Williams (2006), Gaussian Processes for Machine Learning, eq. 2.25 and 4.17, of the derivative section 9.4; from memory.
        """
        place = contact.place
        at = shapely.Point(place.east_m, place.north_m)
        near = np.sort(self._tree.query(at, predicate="dwithin", distance=_REACH_M))
        if not len(near):
            return None
        steps = self._places[near] - (place.east_m, place.north_m, place.relative_up_m)
        plan = steps[:, :2]
        apart = _PER_M * np.hypot(*(plan[:, None] - plan).transpose(2, 0, 1))
        heights = _HEIGHT_M2 * (1.0 + apart) * np.exp(-apart) + _LEVEL_M2 + _UP_SD_M**2 * np.eye(len(plan))
        # Of the slope at the place with each height.
        shared = _SLOPE_SD**2 * plan * np.exp(-_PER_M * np.hypot(*plan.T))[:, None]
        weights = np.linalg.solve(heights, shared)
        return weights.T @ steps[:, 2], _SLOPE_SD**2 * np.eye(2) - shared.T @ weights

    def _on(self, lies: Surface, slope: NDArray[np.float64], covariance: NDArray[np.float64]) -> float | None:
        """True azimuth along which ground of a slope neither rises over a plane nor falls under it; None where it is lost."""
        if lies.dip_deg >= STANDING_DEG:
            return lies.strike_deg
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
        if settled(math.degrees(math.atan(off))) > TRACE_LOST_DEG:
            return None
        return settled(math.degrees(math.atan2(*along)) + self._convergence_deg, 6)
