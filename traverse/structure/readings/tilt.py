"""Tilt correction: what was laid down on a level bed, turned back with it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from traverse.angle import wrap_360
from traverse.diagnostic import Diagnostic, Label, Outcome, warning
from traverse.log.items import LineKind, PlaneKind
from traverse.log.readings import LineReading
from traverse.settled import first_least, settled
from traverse.structure.readings.directions import Vectors, apparent_dip, dip_of, dot, line, pole, trend_of
from traverse.structure.readings.records import (
    Attitude,
    FoldAxis,
    LineAttitude,
    PlaneAttitude,
    Restored,
    StrikeAttitude,
    bedding,
)
from traverse.trade import PLUNGING_DEG, REPOSE_DEG, TILTED_DEG

_FLAT = 1e-9
"""A direction whose level part is less points straight up or down."""
_ARROWS = ("->", "→")
"""Between a plunge and a trend as typed; without one a reading is a bearing alone."""


def younging(dip_deg: float, *, dip_direction_deg: float, overturned: bool = False) -> Vectors:
    """Unit normal on the side of the younger beds, shape (3,): up, and down where the bed is overturned."""
    normal = pole(dip_deg, dip_direction_deg=dip_direction_deg)
    return -normal if overturned else normal


def turn(axis: Vectors, angle_rad: float) -> Vectors:
    """Matrix of a rotation about a unit vector, right-handed, shape (3, 3).

    Source: Rodrigues' formula.
    """
    east, north, up = axis
    cross = np.array([[0.0, -up, north], [up, 0.0, -east], [-north, east, 0.0]])
    return np.asarray(
        np.eye(3) + math.sin(angle_rad) * cross + (1.0 - math.cos(angle_rad)) * (cross @ cross),
        dtype=np.float64,
    )


def levelling(bedding: Vectors, *, axis: Vectors | None = None) -> Vectors:
    """Rotation that lays a bed flat, its younger side up, shape (3, 3); `bedding` is its younging normal.

    Turns about the strike: by the dip, or by 180 - dip where the bed is overturned. With a fold `axis` the axis is
    first made level, about the line square to its trend, and the bed, so turned, about its new strike: else beds of a
    plunging fold come back turned against each other.

    Source: one rotation, GSA Bulletin 81 (1970), 537; two, common practice, no source.
    """
    first = np.eye(3) if axis is None else _level_line(axis)
    east, north, up = first @ bedding
    level = float(np.hypot(east, north))
    if level < _FLAT:
        # Flat already; or upside down, where no strike says about which line it was turned over.
        return first if up > 0.0 else turn(np.array([0.0, 1.0, 0.0]), np.pi) @ first
    strike = np.array([-north, east, 0.0]) / level
    return turn(strike, -float(np.arctan2(level, up))) @ first


def _level_line(axis: Vectors) -> Vectors:
    east, north, up = axis if axis[2] <= 0.0 else -axis
    level = float(np.hypot(east, north))
    if level < _FLAT:
        return np.eye(3)
    across = np.array([north, -east, 0.0]) / level
    return turn(across, float(np.arctan2(-up, level)))


def restored(attitudes: Sequence[Attitude], axis: FoldAxis | None) -> Outcome[tuple[Restored, ...]]:
    """Cross-beds and currents turned back with the bed of their place, else with the nearest, where that is tilted."""
    beds = bedding(attitudes)
    turned: list[Restored] = []
    said: list[Diagnostic] = []
    if not beds:
        return Outcome(())
    where = np.array([(bed.place.east_m, bed.place.north_m) for bed in beds])
    plunging = axis is not None and axis.plunge_deg > PLUNGING_DEG
    fold = line(axis.plunge_deg, trend_deg=axis.trend_deg) if axis is not None and plunging else None
    for one in attitudes:
        if isinstance(one, StrikeAttitude) or one.kind not in {PlaneKind.CROSSBED, LineKind.CURRENT}:
            continue
        away = np.hypot(where[:, 0] - one.place.east_m, where[:, 1] - one.place.north_m)
        own = [index for index, bed in enumerate(beds) if bed.booked.address is one.booked.address]
        near = own[0] if own else first_least(away)
        bed = beds[near]
        if bed.dip_deg <= TILTED_DEG and not bed.overturned:
            continue
        way = younging(bed.dip_deg, dip_direction_deg=bed.dip_direction_deg, overturned=bed.overturned)
        dip, direction = _turned(one, way, fold)
        found = Restored(
            attitude=one,
            bed=bed,
            here=bool(own),
            away_m=0.0 if own else settled(float(away[near])),
            rotations=2 if plunging else 1,
            dip_deg=dip,
            direction_deg=direction,
        )
        turned.append(found)
        if one.kind is PlaneKind.CROSSBED and found.dip_deg > REPOSE_DEG:
            said.append(
                warning(
                    "steep-crossbed",
                    f"{one.written}, with its bed laid flat, dips {found.dip_deg:.0f}°; loose sand stands no steeper "
                    f"than {REPOSE_DEG:.0f}°",
                    one.span,
                    "is it bedding, a joint, or is the bed of the place another",
                    labels=(Label(bed.span, f"bed {bed.written}"),),
                    rests_on=[bed.span],
                )
            )
    return Outcome(tuple(turned), tuple(said))


def _is_bearing(reading: LineReading) -> bool:
    return reading.rake_deg is None and not any(mark in reading.written for mark in _ARROWS)


def _turned(one: PlaneAttitude | LineAttitude, bed: Vectors, fold: Vectors | None) -> tuple[float, float]:
    if isinstance(one, LineAttitude):
        trend, plunge = one.trend_deg, one.plunge_deg
        if all(map(_is_bearing, one.booked.readings)):
            # A bearing alone is that of a mark on the bed, which lies as the bed does there.
            dip, way_down = dip_of(bed)
            plunge = apparent_dip(dip, dip_direction_deg=way_down or 0.0, azimuth_deg=trend)
        way = levelling(bed, axis=fold) @ line(plunge, trend_deg=trend)
        # A current keeps its sense: what comes out rising still flows that way.
        turned_deg = settled(math.degrees(math.atan2(-way[2], math.hypot(way[0], way[1]))))
        return turned_deg, wrap_360(settled(math.degrees(math.atan2(way[0], way[1]))))
    dip, direction = restore_plane(
        one.dip_deg, dip_direction_deg=one.dip_direction_deg, bedding=bed, axis=fold
    )
    return dip, direction or 0.0


def restore_plane(
    dip_deg: float, *, dip_direction_deg: float, bedding: Vectors, axis: Vectors | None = None
) -> tuple[float, float | None]:
    """Dip and dip direction of a plane once its bed lies flat; `bedding` is the bed's younging normal.

    >>> dip, direction = restore_plane(55.0, dip_direction_deg=140.0, bedding=younging(40.0, dip_direction_deg=120.0))
    >>> round(dip, 1), round(direction, 1)
    (20.9, 171.7)
    """
    normal = pole(dip_deg, dip_direction_deg=dip_direction_deg)
    # A foreset youngs with its bed, whether or not the page says that it is overturned.
    normal = normal if dot(normal, bedding) >= -_FLAT else -normal
    return dip_of(levelling(bedding, axis=axis) @ normal)


def restore_line(
    plunge_deg: float, *, trend_deg: float, bedding: Vectors, axis: Vectors | None = None
) -> tuple[float, float]:
    """Plunge and trend of a line once its bed lies flat."""
    return trend_of(levelling(bedding, axis=axis) @ line(plunge_deg, trend_deg=trend_deg))
