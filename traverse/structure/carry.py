"""Places carried to a line of section: where they come to lie on it, how far off they were, and how sure that is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from traverse.angle import axial_difference
from traverse.location.records import PlacedSpot
from traverse.log.records import Projection
from traverse.structure.attitude import Vectors, apparent_dip
from traverse.structure.records import FoldAxis
from traverse.trade import ALONG_STRIKE_DEG, BEYOND_M


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """The line on the map."""

    points: Vectors
    """(n, 2), east and north."""
    starts_m: Vectors
    """Distance at each point."""
    grid_azimuths_deg: tuple[float, ...]
    """Of each stretch."""

    @property
    def length_m(self) -> float:
        """Over the bends."""
        return float(self.starts_m[-1])


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """Where a point comes to lie on the line."""

    distance_m: float
    offset_m: float
    """Level distance carried; positive from the right of the line."""
    up_m: float | None
    stretch: int
    swing_m: float | None
    """Metres along the line that it moves for each radian that the strike or axis turns; None where carried square."""


class Carrier:
    """Carries places to a line, square to it, along their strike or down the plunge of the axis."""

    def __init__(self, axis: FoldAxis | None, turn_deg: float) -> None:
        self.axis = axis
        self.turn = turn_deg
        """Degrees from grid to true north."""

    def carry(
        self,
        line: Line,
        east: float,
        north: float,
        up: float | None,
        *,
        strike_deg: float | None,
        projection: Projection,
    ) -> Carried | None:
        """To the stretch that is nearest of those it falls on; None beyond the ends or inside a bend.

        `strike_deg` is the true strike that the point is carried along under `Projection.STRIKE`.
        """
        best: Carried | None = None
        for stretch, azimuth_deg in enumerate(line.grid_azimuths_deg):
            course, drop, free = self._course(projection, azimuth_deg, strike_deg)
            azimuth = np.radians(azimuth_deg)
            way = np.array([np.sin(azimuth), np.cos(azimuth)])
            right = np.array([np.cos(azimuth), -np.sin(azimuth)])
            apart = np.array([east, north]) - line.points[stretch]
            offset = float(apart @ right)
            carry = np.array([np.sin(course), np.cos(course)])
            # Along the course until the line is met.
            share = -offset / float(carry @ right)
            along = float((apart + share * carry) @ way)
            length = float(line.starts_m[stretch + 1] - line.starts_m[stretch])
            low = -BEYOND_M if stretch == 0 else 0.0
            high = length + (BEYOND_M if stretch == len(line.grid_azimuths_deg) - 1 else 0.0)
            if not low <= along <= high:
                continue
            carried = Carried(
                distance_m=float(line.starts_m[stretch]) + along,
                offset_m=float(np.copysign(abs(share), offset)) if offset else 0.0,
                up_m=None if up is None else up - share * drop,
                stretch=stretch,
                swing_m=abs(share) / max(1e-9, abs(float(np.sin(course - azimuth)))) if free else None,
            )
            if best is None or abs(carried.offset_m) < abs(best.offset_m):
                best = carried
        return best

    def _course(
        self, projection: Projection, azimuth_deg: float, strike_deg: float | None
    ) -> tuple[float, float, bool]:
        """Grid azimuth in radians that a point is carried along, metres it drops for each, and whether that was measured."""
        if projection is Projection.PLUNGE and self.axis is not None:
            course = self.axis.trend_deg - self.turn
            if axial_difference(course, azimuth_deg) > 1.0 and self.axis.plunge_deg < 89.0:
                return float(np.radians(course)), float(np.tan(np.radians(self.axis.plunge_deg))), True
        if projection is Projection.STRIKE and strike_deg is not None:
            course = strike_deg - self.turn
            if axial_difference(course, azimuth_deg) >= ALONG_STRIKE_DEG:
                return float(np.radians(course)), 0.0, True
        return float(np.radians(azimuth_deg + 90.0)), 0.0, False

    def sd(
        self,
        own_m: float,
        carried: Carried,
        projection: Projection,
        plane: tuple[float, float | None] | None,
    ) -> float:
        """Of a distance along the line, from the place's own and the direction it was carried along, metres.

        Source: to first order the foot moves by L tan(sd) / sin(angle to the line); the strike of a plane is off by the sd
        of its pole over sin(dip), the axis by its rms over the root of the number of poles. `plane` is the sd of the pole
        and the dip, degrees; a dip that is not known counts as 30.
        """
        if carried.swing_m is None:
            return own_m
        if projection is Projection.PLUNGE and self.axis is not None:
            off = self.axis.rms_deg / np.sqrt(self.axis.n)
        elif plane is not None:
            off = plane[0] / max(0.02, float(np.sin(np.radians(plane[1] if plane[1] is not None else 30.0))))
        else:
            return own_m
        return float(np.hypot(own_m, carried.swing_m * np.tan(np.radians(min(off, 60.0)))))

    def at(
        self, line: Line, place: PlacedSpot, strike_deg: float | None, projection: Projection
    ) -> Carried | None:
        """A place of the log, as `carry`."""
        return self.carry(
            line, place.east_m, place.north_m, place.up_m, strike_deg=strike_deg, projection=projection
        )

    def apparent(self, line: Line, carried: Carried, dip_deg: float, strike_deg: float | None) -> float:
        """Apparent dip on the stretch that a plane was carried to, positive down with increasing distance."""
        if strike_deg is None:
            return 0.0
        azimuth = line.grid_azimuths_deg[carried.stretch] + self.turn
        return apparent_dip(dip_deg, dip_direction_deg=strike_deg + 90.0, azimuth_deg=azimuth)
