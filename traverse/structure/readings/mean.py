"""Mean directions, their spread, and the axis that folded beds turn about."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from traverse.settled import settled, settled_all
from traverse.structure.readings.directions import Vectors, along, dip_of, pole_angle, trend_of, upward
from traverse.structure.readings.records import FoldAxis, MeanBedding
from traverse.trade import FOLD_BEDS, FOLD_SPREAD_DEG, STATED_FREEDOM

_SAME = 1e-9


def orientation(directions: Vectors) -> tuple[Vectors, Vectors]:
    """Eigenvalues of the orientation tensor of directions, shape (n, 3), largest first, and its axes as rows.

    The values sum to 1: one near 1 is a cluster, two alike and one near 0 a girdle. Opposite directions count alike.

    Source: mean of n n' (Scheidegger, 1965; Woodcock, 1977, on its eigenvalues).
    """
    values, vectors = np.linalg.eigh(directions.T @ directions / len(directions))
    return settled_all(values[::-1], 12), np.array([upward(axis) for axis in vectors.T[::-1]])


def principal_axis(poles: Vectors) -> tuple[Vectors, float]:
    """Axis nearest to all poles, upward, and the largest angle of any pole from it in degrees.

    Source: eigenvector of the largest eigenvalue of the sum of n n' (Scheidegger, 1965).
    """
    axis = orientation(poles)[1][0]
    # Only the farthest is worked out by the form that is exact for small angles too.
    return axis, pole_angle(axis, poles[int(np.abs(along(poles, axis)).argmin())])


def mean_plane(poles: Sequence[tuple[Vectors, float]]) -> tuple[Vectors, float]:
    """Upward pole of the mean of several readings of one plane, and its standard deviation in degrees in any direction.

    Each reading is a pole and its stated deviation; at least one.

    Source: principal axis as above; the variance of one reading is the stated one, pooled with the scatter about the axis,
    whose sum of squares has 2 (n - 1) degrees of freedom (pooled variance, any text of statistics).
    """
    normals = np.array([normal for normal, _ in poles])
    axis, _ = principal_axis(normals)
    count = len(poles)
    stated = math.fsum(sd**2 for _, sd in poles) / count
    if count == 1 or stated <= 0.0:
        return axis, math.sqrt(stated / count)
    off = np.degrees(
        np.arctan2(np.linalg.norm(np.cross(axis, normals), axis=1), np.abs(along(normals, axis)))
    )
    freedom = 2.0 * (count - 1)
    pooled = (STATED_FREEDOM * stated + float(off @ off)) / (STATED_FREEDOM + freedom)
    return axis, settled(math.sqrt(pooled / count))


def bedding_mean(poles: Vectors) -> MeanBedding | None:
    """Vector mean of upward poles, shape (n, 3), with Fisher's precision and cone of 95 per cent.

    Means little for folded beds: then the axis is what to read.

    Source: Fisher (1953), Dispersion on a sphere, Proc. R. Soc. A 217, 295-305.
    """
    n = len(poles)
    if n == 0:
        return None
    total = poles.sum(axis=0)
    length = math.hypot(*total.tolist())
    if length < 1e-12:
        return None
    dip_deg, direction = dip_of(total / length)
    apart = settled(n - length, 12)
    kappa = alpha95 = None
    if n > 1 and apart > 1e-12:
        kappa = (n - 1) / apart
        cosine = 1.0 - apart / length * (20.0 ** (1.0 / (n - 1)) - 1.0)
        alpha95 = settled(math.degrees(math.acos(cosine))) if cosine >= -1.0 else None
    return MeanBedding(
        dip_deg=dip_deg, dip_direction_deg=direction or 0.0, kappa=kappa, alpha95_deg=alpha95, n=n
    )


def fold_axis(poles: Vectors) -> FoldAxis | None:
    """Axis of the girdle of the poles, shape (n, 3); None where too few or too similar beds leave it open.

    Source: eigenvector of the least eigenvalue l of the mean of n n'; rms departure asin sqrt(l).
    """
    n = len(poles)
    if n < FOLD_BEDS or not _spread_enough(poles):
        return None
    values, axes = orientation(poles)
    plunge_deg, trend_deg = trend_of(axes[2])
    rms_deg = settled(math.degrees(math.asin(math.sqrt(min(1.0, max(0.0, float(values[2])))))))
    return FoldAxis(trend_deg=trend_deg, plunge_deg=plunge_deg, rms_deg=rms_deg, n=n)


def widest_angle(poles: Vectors) -> float:
    """Largest angle between any two planes, 0 to 90 degrees.

    A pair can't be wider than the sum of its two angles from the mean axis, so that of many readings only the outer
    ones are compared; those block by block, without a square matrix of all of them.
    """
    if len(poles) < 2:
        return 0.0
    axis = orientation(poles)[1][0]
    off = np.arctan2(np.linalg.norm(np.cross(axis, poles), axis=1), np.abs(along(poles, axis)))
    farthest = poles[int(off.argmax())]
    least = float(np.abs(along(poles, farthest)).min())
    least = min(least, float(np.abs(along(poles, poles[int(np.abs(along(poles, farthest)).argmin())])).min()))
    found = np.arccos(min(1.0, least))
    outer = np.unique(poles[off + off.max() >= found - 1e-9], axis=0)
    for start in range(0, len(outer), 512):
        if least <= 1e-9:
            break
        least = min(least, float(np.abs(outer[start : start + 512] @ outer.T).min()))
    return settled(math.degrees(math.acos(min(1.0, least))), 6)


def _spread_enough(poles: Vectors) -> bool:
    """Whether two poles lie `FOLD_SPREAD_DEG` apart; seldom needs every pair."""
    far = poles[0]
    for _ in range(3):
        share = np.abs(poles @ far)
        far = poles[int(share.argmin())]
        if share.min() <= math.cos(math.radians(FOLD_SPREAD_DEG)) + _SAME:
            return True
    return widest_angle(poles) >= FOLD_SPREAD_DEG
