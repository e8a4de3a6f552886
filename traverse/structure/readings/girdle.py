"""The axis that folded beds turn about, and whether their poles make a girdle at all."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from traverse.settled import settled, settled_all
from traverse.structure.readings.directions import Vectors, along, trend_of
from traverse.structure.readings.mean import orientation, widest_angle
from traverse.structure.readings.records import FoldAxis, NoAxis, NoGirdle
from traverse.trade import (
    AXIS_SD_DEG,
    BED_ROUGH_DEG,
    CONE_ALONE_F,
    CONE_BEDS,
    CONE_DEG,
    CONE_F,
    DOME_DEG,
    FOLD_BEDS,
    FOLD_SPREAD_DEG,
    GIRDLE_RMS_DEG,
    GIRDLE_SHAPE,
    ONE_IN_A_HUNDRED,
    chi_square_limit,
)

_SAME = 1e-9
_ALIKE = 1e9
"""Condition from which regression tells nothing."""


def girdle_axis(poles: Vectors) -> FoldAxis:
    """Axis of the great circle nearest to poles, shape (n, 3), whether or not they make a girdle.

    Source: eigenvector of the least eigenvalue l of the mean of n n'; rms departure asin sqrt(l). Its standard error is
    that of the direction in which it is known worst, to first order: the departure over the root of the sum of squares
    along the girdle.
    """
    n = len(poles)
    values, axes = orientation(poles)
    plunge_deg, trend_deg = trend_of(axes[2])
    turning, across = float(values[1]), min(1.0, max(0.0, float(values[2])))
    free = max(1, n - 2)
    sd = math.sqrt(across / free / turning) if turning > 0.0 else math.pi / 2.0
    return FoldAxis(
        trend_deg=trend_deg,
        plunge_deg=plunge_deg,
        rms_deg=settled(math.degrees(math.asin(math.sqrt(across)))),
        sd_deg=settled(math.degrees(sd)),
        n=n,
    )


def fold_axis(poles: Vectors) -> FoldAxis | None:
    """Axis of the girdle of the poles, shape (n, 3); None where they make none."""
    found = axis_or_lack(poles)
    return found if isinstance(found, FoldAxis) else None


def _conical(poles: Vectors, axes: Vectors, sd_deg: float | None) -> bool:
    """Whether the poles lie on a small circle clearly better than on a great one, as those of a dome or a cone do.

    `axes` are those of their orientation. Two straight limbs have no hinge to tell one from the other, and their error
    says so. Of a circle far from a great one, as a dome's is, one set in 20 that turn about one line is enough: with `sd_deg`,
    what one reading is good to. Nor does one reading make a cone: without any one of them the rest must still tend to it.

    Source: F test of one more parameter, the distance of the circle's plane from the centre, by linear regression of the
    departures from the girdle, and chi-square where the error is known; Gray, Geiser and Guiser (1980), On the least-squares
    fit of small and great circles to spherical data, Math. Geol. 12, 173-184, from memory.
    """
    n = len(poles)
    if n < CONE_BEDS:
        return False
    circle = _circle(poles, axes)
    if circle is None:
        return False
    stated = math.radians(sd_deg) ** 2 * circle.share if sd_deg else math.inf
    if circle.off_deg > DOME_DEG and circle.constant**2 > chi_square_limit(1) * stated:
        return True
    if circle.off_deg <= CONE_DEG or circle.f <= CONE_F:
        return False
    for one in range(n):
        rest = np.delete(poles, one, axis=0)
        without = _circle(rest, orientation(rest)[1])
        if without is None or without.f <= CONE_ALONE_F:
            return False
    return True


class _Circle(NamedTuple):
    """The small circle that fits poles best."""

    constant: float
    """Sine of how far its plane lies off the centre, before it is turned to the girdle's."""
    off_deg: float
    """How far it lies from a great circle."""
    f: float
    """Ratio of the test that it is none."""
    share: float
    """Variance of the constant over that of one departure."""


def _circle(poles: Vectors, axes: Vectors) -> _Circle | None:
    """By regression of the departures from the girdle; None where two directions alone tell of none."""
    first, second, off = along(poles, axes[0]), along(poles, axes[1]), along(poles, axes[2])
    known = np.stack([np.ones(len(poles)), second, first], axis=1)
    normal = known.T @ known
    if np.linalg.cond(normal) > _ALIKE:
        return None
    fit = np.linalg.solve(normal, known.T @ off)
    rest = off - known @ fit
    share = float(np.linalg.inv(normal)[0, 0])
    variance = max(float(rest @ rest), len(poles) * _SAME**2) / (len(poles) - 3) * share
    constant = float(fit[0])
    off_deg = math.degrees(math.asin(min(1.0, abs(constant) / math.hypot(1.0, *fit[1:].tolist()))))
    return _Circle(constant, off_deg, constant**2 / variance, share)


def off_circle_deg(poles: Vectors) -> Vectors:
    """How far each pole, shape (n, 3), lies off the small circle that fits all best, degrees.

    Source: the plane of least squares through the ends of the vectors, by its normal of least spread: Mardia and Jupp (2000),
    Directional Statistics, 10.3, from memory.
    """
    centred = poles - poles.mean(axis=0)
    normal = np.linalg.eigh(centred.T @ centred)[1][:, 0]
    apart = np.degrees(np.arcsin(np.clip(along(poles, normal), -1.0, 1.0)))
    return settled_all(np.abs(apart - apart.mean()), 6)


def _within_errors(found: FoldAxis, sd_deg: float | None) -> bool:
    """Whether poles keep to their girdle as 99 sets in 100 do that turn about one line, by chi-square."""
    if not sd_deg:
        return True
    off = found.n * (found.rms_deg / math.hypot(sd_deg, BED_ROUGH_DEG)) ** 2
    return off <= chi_square_limit(found.n - 2, ONE_IN_A_HUNDRED)


def _leaving_together(poles: Vectors, found: FoldAxis, sd_deg: float | None) -> bool:
    """Whether poles leave their girdle farther than they were read, and one after the other, as those of a dome do.

    So do beds that were read along one side of a dome, whose cone no small circle tells. Readings that scatter by chance, or
    a fold of rough beds, leave it each for itself.

    Source: von Neumann's ratio, whose mean is 2 and whose variance is 4 (n - 2) / (n^2 - 1), by its normal approximation, good
    from about ten on: Hart (1942), Significance levels for the ratio of the mean square successive difference to the variance,
    Ann. Math. Stat. 13, 445-447, from memory.
    """
    n = found.n
    if not sd_deg or n < CONE_BEDS or n * (found.rms_deg / sd_deg) ** 2 <= chi_square_limit(n - 2):
        return False
    ratio = 2.0 * (scatter_deg(poles) / found.rms_deg) ** 2 * (n - 2) / n
    return ratio < 2.0 - ONE_IN_A_HUNDRED * 2.0 * math.sqrt((n - 2) / (n**2 - 1))


def scatter_deg(poles: Vectors) -> float:
    """What readings, shape (n, 3) in the order of the walk, n at least 3, scatter by off their best girdle, in degrees.

    By how much each differs from the one before: beds of a dome or a cone leave a girdle little by little, and that is no
    scatter.

    Source: half the mean square of successive differences: von Neumann, Kent, Bellinson and Hart (1941), The mean square
    successive difference, Ann. Math. Stat. 12, 153-162, from memory; n / (n - 2) for the girdle that was fitted.
    """
    n = len(poles)
    off = np.degrees(np.arcsin(np.clip(along(poles, orientation(poles)[1][2]), -1.0, 1.0)))
    steps = np.diff(off)
    return settled(math.sqrt(float(steps @ steps) / (2.0 * (n - 1)) * n / (n - 2)))


def axis_or_lack(poles: Vectors, *, sd_deg: float | None = None) -> FoldAxis | NoAxis:
    """The axis where the poles, shape (n, 3), make a girdle that no one reading makes alone; else what they lack.

    With `sd_deg`, what one reading is good to, the beds must keep to the girdle as well as they were read: of the beds of
    a dome that was walked on two sides alone a cone can't be told from a girdle, but they keep to none.

    Source of the shape test: Woodcock (1977), Specification of fabric shapes using an eigenvalue method, Geol. Soc. Am.
    Bull. 88, 1231-1236: ln(S1/S2) / ln(S2/S3) below 1 is a girdle, above it a cluster.
    """
    n = len(poles)
    if n < FOLD_BEDS:
        return NoAxis(why=NoGirdle.FEW, n=n)
    widest = widest_angle(poles)
    if widest < FOLD_SPREAD_DEG - _SAME:
        return NoAxis(why=NoGirdle.ALIKE, n=n, widest_deg=widest)
    values, axes = orientation(poles)
    found = girdle_axis(poles)
    if found.rms_deg > GIRDLE_RMS_DEG or not _within_errors(found, sd_deg):
        return NoAxis(why=NoGirdle.SCATTERED, n=n, widest_deg=widest, rms_deg=found.rms_deg)
    first, second, third = (max(float(value), 1e-12) for value in values)
    cluster = math.log(first / second) > GIRDLE_SHAPE * math.log(max(second / third, 1.0))
    if cluster or (found.sd_deg or 0.0) > AXIS_SD_DEG:
        return NoAxis(why=NoGirdle.NO_GIRDLE, n=n, widest_deg=widest, rms_deg=found.rms_deg)
    if _conical(poles, axes, sd_deg) or _leaving_together(poles, found, sd_deg):
        return NoAxis(why=NoGirdle.CONICAL, n=n, widest_deg=widest, rms_deg=found.rms_deg)
    # The reading farthest along the girdle: without it the rest must still turn.
    farthest = int(np.abs(poles @ axes[1]).argmax())
    rest = np.delete(poles, farthest, axis=0)
    if widest_angle(rest) < FOLD_SPREAD_DEG - _SAME:
        return NoAxis(why=NoGirdle.ONE_READING, n=n, widest_deg=widest, farthest=farthest)
    return found
