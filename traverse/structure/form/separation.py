"""How far one surface is apart on the two sides of a fault."""

from __future__ import annotations

import math

from traverse.record import record
from traverse.settled import settled
from traverse.structure.readings.directions import Vectors, dot, line, pole
from traverse.structure.thickness.true_thickness import variance_along


@record(frozen=True, slots=True, kw_only=True)
class DipSeparation:
    """Of a surface in the vertical section down the dip of a fault; positive where the side over the fault lies lower."""

    dip_m: float
    """Along the fault."""
    sd_m: float
    vertical_m: float
    """Of it what is vertical."""
    vertical_sd_m: float


def separation(
    way: Vectors,
    way_m2: Vectors,
    bed: tuple[Vectors, float],
    *,
    dip_deg: float,
    dip_direction_deg: float,
    sd_deg: float,
) -> DipSeparation:
    """Dip separation of one surface, from a place of it under a fault to a place of it over the fault.

    `way` leads there, metres, and `way_m2` is its covariance, (3, 3); `bed` is the pole of the surface, one plane on both
    sides, and its standard deviation in degrees; `sd_deg` is that of the fault's pole. A separation is no slip: where the
    fault moved along its strike too, or only so, tilted beds come apart down its dip all the same. Large without bound
    where the surface runs down the fault's dip.

    Beds that dip 30° toward the west, a fault that dips 60° toward the east, and a place over it 100 m farther east at
    one height: the beds come down 50 m square to themselves, and the fault is square to them.

    >>> import numpy as np
    >>> found = separation(
    ...     np.array([100.0, 0.0, 0.0]), np.zeros((3, 3)), (pole(30.0, dip_direction_deg=270.0), 0.0),
    ...     dip_deg=60.0, dip_direction_deg=90.0, sd_deg=0.0,
    ... )
    >>> round(found.dip_m, 6), round(found.vertical_m, 6)
    (50.0, 43.30127)

    Source: dip separation, measured down the dip of the fault, and its vertical part: M. P. Billings (1972), Structural
    Geology, chapter on faults, and D. M. Ragan, Structural Geology, the same, both from memory. In vectors it is
    n . way / (n . d), with n the pole of the surface and d down the dip. Errors to first order: the pole of the surface by
    the part of the way that is left along the bed, that of the fault by the turn of d.
    """
    normal, bed_sd_deg = bed
    down = line(dip_deg, trend_deg=dip_direction_deg)
    dip = math.radians(dip_deg)
    square = pole(dip_deg, dip_direction_deg=dip_direction_deg)
    level = line(0.0, trend_deg=dip_direction_deg - 90.0)
    through = dot(normal, down)
    apart_m = dot(normal, way) / through
    left = way - apart_m * down
    by_bed = dot(left, left) * math.radians(bed_sd_deg) ** 2
    by_way = variance_along(normal, way_m2)
    # What each does to the separation for a radian of the fault's dip, and for one square to it, which turns its strike.
    steeper = apart_m * dot(normal, square) / through
    turned = apart_m * dot(normal, level) / through / math.tan(dip)
    sd_rad = math.radians(sd_deg)
    own = (by_bed + by_way) / through**2
    upward = math.sin(dip) * steeper + math.cos(dip) * apart_m
    return DipSeparation(
        dip_m=settled(apart_m),
        sd_m=settled(math.sqrt(own + sd_rad**2 * (steeper**2 + turned**2))),
        vertical_m=settled(math.sin(dip) * apart_m),
        vertical_sd_m=settled(
            math.sqrt(math.sin(dip) ** 2 * (own + (sd_rad * turned) ** 2) + (sd_rad * upward) ** 2)
        ),
    )
