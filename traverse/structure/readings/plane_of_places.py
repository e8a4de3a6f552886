"""The plane through three places of one surface or more, how sure one may be of it, and whether they keep to it."""

from __future__ import annotations

import math

import numpy as np

from traverse.record import record
from traverse.settled import SAME_M, settled, settled_all
from traverse.structure.readings.directions import Vectors, along, dip_of, pole, upward
from traverse.trade import (
    ONE_IN_A_HUNDRED,
    OUTLYING_PLACE,
    PLACE_LEAST_SD_M,
    SURE_SD,
    THIN_TRIANGLE,
    chi_square_limit,
)

_STEPS = 40
_FIRST_ORDER_DEG = 2.0
"""A pole surer than this is as sure to first order as it is: at three of them the sine is off by 1 in 500."""
_RAYS, _HALVINGS = 16, 12


@record(frozen=True, slots=True, kw_only=True)
class PlaneOfPlaces:
    """A plane through places; with `refused` in its stead where they do not determine it."""

    dip_deg: float | None = None
    dip_direction_deg: float | None = None
    """From the north of the places; None for a flat plane too."""
    sd_dip_deg: float | None = None
    sd_strike_deg: float | None = None
    """None for a plane that is flat, or may be within three standard errors: its strike may be any."""
    sd_pole_deg: float | None = None
    """Of its pole in any one direction."""
    chi_square: float = 0.0
    """Of the places off the plane, each by its own error."""
    freedom: int = 0
    """How many of them are to spare; where none is, any three places keep to a plane."""
    off_m: tuple[float, ...] = ()
    """How far each place lies off it, square to it, upward positive."""
    standardised: tuple[float, ...] = ()
    """The same over what it would be off by were it good: normal with deviation 1."""
    refused: str | None = None
    """Why there is none, in a plain sentence."""

    @property
    def fits(self) -> bool:
        """Whether the places keep to it as 99 good planes in 100 do."""
        return self.freedom == 0 or self.chi_square <= chi_square_limit(self.freedom, ONE_IN_A_HUNDRED)

    @property
    def odd(self) -> int | None:
        """Index of the place farthest off by its own error, where that is beyond three; None too where any other may be it."""
        if self.freedom < 2:
            return None
        sizes = np.abs(self.standardised)
        return int(sizes.argmax()) if sizes.max() > OUTLYING_PLACE else None


def plane_of_places(points: Vectors, *, covariance_m2: Vectors | None = None) -> PlaneOfPlaces:
    """Plane through places, shape (n, 3), n at least 3: one a row, east, north and up in metres.

    `covariance_m2` is that of the places, each with each, (n, n, 3, 3), or of each alone, (n, 3, 3): what all of them share
    cancels, and a poor place counts for less. Without it all count alike, the plane is taken as exact, and a thin triangle
    is refused.

    >>> plane = plane_of_places(np.array([(0.0, 0.0, 100.0), (400.0, 0.0, 60.0), (0.0, 300.0, 130.0)]))
    >>> round(plane.dip_deg, 3), round(plane.dip_direction_deg, 3)
    (8.049, 135.0)

    Source: least squares by the normal of least spread; where errors are known, generalised least squares of the distances
    from the plane, their covariance n' C n, repeated as the normal turns; its errors to first order (A' W A)^-1, and where
    these are large by `_reach`. The test of one place is that of Baarda (1968), A testing procedure for use in geodetic
    networks; from memory.
    """
    count = len(points)
    centred = points - points.mean(axis=0)
    _, spreads, axes = np.linalg.svd(centred, full_matrices=False)
    if refused := _too_thin(centred, spreads, axes, covariance_m2):
        return PlaneOfPlaces(refused=refused)
    normal, offset = upward(axes[2]), 0.0
    joint = _joint(covariance_m2, count)
    for _ in range(_STEPS):
        weight = np.linalg.inv(_across(joint, normal))
        basis = _tilts(normal)
        design = np.column_stack((centred @ basis[0], centred @ basis[1], -np.ones(count)))
        solved = np.linalg.inv(design.T @ weight @ design)
        off = centred @ normal - offset
        down, side, lift = (-(solved @ (design.T @ weight @ off))).tolist()
        normal = normal + down * basis[0] + side * basis[1]
        normal, offset = normal / np.linalg.norm(normal), offset + lift
        if max(abs(down), abs(side)) < 1e-12:
            break
    normal = upward(normal)
    off = centred @ normal - float(np.average(centred @ normal, weights=weight.sum(axis=0)))
    dip, direction = dip_of(normal)
    known = covariance_m2 is not None
    sd_down, sd_side = (
        math.degrees(math.sqrt(max(0.0, float(solved[i, i])))) if known else 0.0 for i in (0, 1)
    )
    turned = None if direction is None else _strike_turn(solved[:2, :2] if known else np.zeros((2, 2)), dip)
    # The far ends of a strike's errors lie farther off than three times its middle ones: what is stated lies between both.
    to_first_order = 0.0 if direction is None else sd_side / math.sin(math.radians(dip))
    sd_pole = math.sqrt((sd_down**2 + sd_side**2) / 2.0)
    if known and sd_pole > _FIRST_ORDER_DEG:
        reach = _reach(centred, joint, normal, solved[:2, :2], float(off @ weight @ off))
        if reach is None:
            return PlaneOfPlaces(
                refused="within three standard errors of the places their plane may lie any way"
            )
        # A steep plane of places near to one line is at times taken for a gentle one, far off, and turns about that line.
        sd_down, sd_pole = (
            max(sd, far / SURE_SD) for sd, far in zip((sd_down, sd_pole), reach[:2], strict=True)
        )
        turned = None if turned is None or reach[2] is None else max(turned, reach[2])
    left = weight - weight @ design @ solved @ design.T @ weight
    spare = np.sqrt(np.maximum(np.diagonal(left), 0.0))
    sizes = np.where(spare > 1e-9, (weight @ off) / np.maximum(spare, 1e-9), 0.0)
    return PlaneOfPlaces(
        dip_deg=dip,
        dip_direction_deg=direction,
        sd_dip_deg=settled(sd_down),
        sd_strike_deg=None if turned is None else settled(math.sqrt(to_first_order * turned / SURE_SD)),
        sd_pole_deg=settled(sd_pole),
        chi_square=settled(float(off @ weight @ off), 6) if known else 0.0,
        freedom=count - 3 if known else 0,
        off_m=tuple(settled_all(off, 6).tolist()),
        standardised=tuple(settled_all(sizes, 6).tolist()) if known else (),
    )


def _strike_turn(tilts: Vectors, dip_deg: float) -> float | None:
    """How far the strike may turn within three standard errors of the pole, degrees; None where it may lie any way.

    `tilts` is the covariance of the pole down the dip and along the strike, radians. Of a plane that dips far more than its
    error the turn is that of first order.

    Source: a direction is the ratio of two normal figures, with the limits of Fieller (1954), as in `_reach`.
    """
    (down, both), (_, side) = (SURE_SD**2 * tilts).tolist()
    sure = math.sin(math.radians(dip_deg)) ** 2 - down
    if sure <= 0.0:
        return None
    return math.degrees(math.atan2(abs(both) + math.sqrt(max(0.0, both**2 + sure * side)), sure))


def _reach(
    centred: Vectors, joint: Vectors, normal: Vectors, tilts: Vectors, least: float
) -> tuple[float, float, float | None] | None:
    """How far dip, pole and strike may lie from those of the best plane at three standard errors, degrees.

    None where they may lie any way, and for a strike where the plane may be level. The covariance of the places counts as
    each other plane sees it: places that lie nearly on one line leave a steep plane open that a gentle one seems to rule
    out. `tilts` is the covariance of the two ways the pole may tilt to first order, whose ellipse the ways looked along
    follow.

    Source: how far places lie off a given plane is linear in them, so that chi-square is exact for each: Fieller (1954),
    Some problems in interval estimation, J. R. Stat. Soc. B 16, 175-185, from memory.
    """

    def worse(way: Vectors) -> float:
        weight = np.linalg.inv(_across(joint, way))
        off = centred @ way
        of_each = weight.sum(axis=0)
        off = off - float(of_each @ off) / float(of_each.sum())
        return float(off @ weight @ off) - least

    dip, direction = dip_of(normal)
    values, axes = np.linalg.eigh(tilts)
    ways = (axes * np.sqrt(np.maximum(values, 0.0))).T @ np.array(_tilts(normal))
    dips, poles, strikes = [], [], []
    level = direction is None or worse(np.array((0.0, 0.0, 1.0))) <= SURE_SD**2
    for ray in range(_RAYS):
        turn = 2.0 * math.pi * ray / _RAYS
        tilt = math.cos(turn) * ways[1] + math.sin(turn) * ways[0]
        tilt = tilt / np.linalg.norm(tilt)
        low, high = 0.0, math.pi / 2.0
        if worse(tilt) <= SURE_SD**2:
            return None
        for _ in range(_HALVINGS):
            middle = (low + high) / 2.0
            inside = worse(math.cos(middle) * normal + math.sin(middle) * tilt) <= SURE_SD**2
            low, high = (middle, high) if inside else (low, middle)
        edge = upward(math.cos(high) * normal + math.sin(high) * tilt)
        dips.append(abs(dip_of(edge)[0] - dip))
        poles.append(math.degrees(high))
        strikes.append(abs(((dip_of(edge)[1] or 0.0) - (direction or 0.0) + 90.0) % 180.0 - 90.0))
    return max(dips), max(poles), None if level else max(strikes)


def _tilts(normal: Vectors) -> tuple[Vectors, Vectors]:
    """Ways square to a normal: the one that makes its plane dip more, and the one that turns its strike."""
    dip, direction = dip_of(normal)
    down = pole(dip + 90.0, dip_direction_deg=direction or 0.0)
    return down, np.cross(normal, down)


def _joint(covariance_m2: Vectors | None, count: int) -> Vectors:
    """As (n, n, 3, 3); of places of which nothing is known, 1 m² in each way."""
    if covariance_m2 is not None and covariance_m2.ndim == 4:
        return covariance_m2
    found = np.zeros((count, count, 3, 3))
    every = np.arange(count)
    found[every, every] = np.eye(3) if covariance_m2 is None else covariance_m2
    return found


def _across(joint: Vectors, way: Vectors) -> Vectors:
    """Covariance of the places along one way, (n, n); no place is surer than a contact is sharp."""
    found: Vectors = np.einsum("k,ijkl,l->ij", way, joint, way)
    return found + PLACE_LEAST_SD_M**2 * np.eye(len(found))


def _too_thin(centred: Vectors, spreads: Vectors, axes: Vectors, covariance_m2: Vectors | None) -> str | None:
    """Why places lie on one line: their share of the long way without errors, else three of their standard errors."""
    if float(spreads[0]) <= SAME_M:
        return "the places are one"
    reach = along(centred, axes[1])
    if covariance_m2 is None:
        extent = float(np.ptp(along(centred, axes[0])))
        if float(np.ptp(reach)) / extent < THIN_TRIANGLE:
            return f"the places lie nearly on one line ({float(np.ptp(reach)) / extent:.2f} of their extent wide)"
        return None
    count = len(centred)
    about_mean = np.eye(count) - 1.0 / count
    spread = about_mean @ _across(_joint(covariance_m2, count), axes[1]) @ about_mean.T
    if np.all(np.abs(reach) <= 3.0 * np.sqrt(np.maximum(0.0, np.diagonal(spread))) + SAME_M):
        return "the places lie on one line within three of their standard errors"
    return None
