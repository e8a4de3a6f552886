"""Mean directions and their spread."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from traverse.settled import settled, settled_all
from traverse.structure.readings.directions import Vectors, along, dip_of, pole_angle, upward
from traverse.structure.readings.place_errors import poles_of
from traverse.structure.readings.records import MeanBedding, PlaneAttitude
from traverse.trade import STATED_FREEDOM

_FEW = 64
"""Up to so many planes each is compared with each."""
_BLOCK = 512
"""So many planes are compared with all others at a time."""


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
    axis = upward(np.linalg.eigh(poles.T @ poles / len(poles))[1][:, -1])
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


def mean_bed(beds: Sequence[PlaneAttitude], *, to_true_deg: float = 0.0) -> tuple[Vectors, float, float]:
    """Upward pole of the mean of beds, at least one, its dip, and its standard deviation, both in degrees.

    As `mean_plane`, and no surer than was stated; by true or by grid north as `poles_of`.
    """
    poles = poles_of(beds, to_true_deg=to_true_deg).reshape(-1, 3)
    axis, sd_deg = mean_plane([(normal, bed.sd_deg) for normal, bed in zip(poles, beds, strict=True)])
    stated_deg = math.sqrt(math.fsum(bed.sd_deg**2 for bed in beds)) / len(beds)
    return axis, settled(dip_of(axis)[0]), settled(max(sd_deg, stated_deg))


def bedding_mean(poles: Vectors) -> MeanBedding | None:
    """Principal axis of the poles, shape (n, 3), with the precision and the cone of 95 per cent about it.

    A pole has no sense: steep beds that dip to either side are one plane, where a sum of upward poles would cancel.
    Means little for folded beds: then the axis is what to read.

    Source: axis by the largest eigenvalue of the orientation tensor, for axial data: Mardia and Jupp (2000), Directional
    Statistics, 10.3, and Fisher, Lewis and Embleton (1987), Statistical Analysis of Spherical Data, 6.3.1, from memory.
    Precision and cone, of the poles turned to its side: Fisher (1953), Dispersion on a sphere, Proc. R. Soc. A 217,
    295-305.
    """
    n = len(poles)
    if n == 0:
        return None
    axis = upward(np.linalg.eigh(poles.T @ poles / len(poles))[1][:, -1])
    dip_deg, direction = dip_of(axis)
    total = np.where(along(poles, axis) < 0.0, -1.0, 1.0) @ poles
    length = math.hypot(*total.tolist())
    apart = settled(n - length, 12)
    kappa = alpha95 = None
    if n > 1 and apart > 1e-12:
        kappa = (n - 1) / apart
        cosine = 1.0 - apart / length * (20.0 ** (1.0 / (n - 1)) - 1.0)
        alpha95 = settled(math.degrees(math.acos(cosine))) if cosine >= -1.0 else None
    return MeanBedding(
        dip_deg=dip_deg, dip_direction_deg=direction or 0.0, kappa=kappa, alpha95_deg=alpha95, n=n
    )


def widest_angle(poles: Vectors) -> float:
    """Largest angle between any two planes, 0 to 90 degrees.

    A pair can't be wider than the sum of its two angles from the mean axis, so that of many readings only the outer
    ones are compared; those block by block, without a square matrix of all of them. Of few each is, which takes less time.
    """
    if len(poles) < 2:
        return 0.0
    if len(poles) <= _FEW:
        return settled(math.degrees(math.acos(min(1.0, float(np.abs(poles @ poles.T).min())))), 6)
    axis = upward(np.linalg.eigh(poles.T @ poles / len(poles))[1][:, -1])
    off = np.arctan2(np.linalg.norm(np.cross(axis, poles), axis=1), np.abs(along(poles, axis)))
    farthest = poles[int(off.argmax())]
    least = float(np.abs(along(poles, farthest)).min())
    least = min(least, float(np.abs(along(poles, poles[int(np.abs(along(poles, farthest)).argmin())])).min()))
    found = np.arccos(min(1.0, least))
    outer = poles[off + off.max() >= found - 1e-9]
    if len(outer) > _BLOCK:
        # Counted, though the counts are of no use: else numpy loads its masked arrays, which take longer than a page.
        outer, _ = np.unique(outer, axis=0, return_counts=True)
    for start in range(0, len(outer), _BLOCK):
        if least <= 1e-9:
            break
        least = min(least, float(np.abs(outer[start : start + _BLOCK] @ outer.T).min()))
    return settled(math.degrees(math.acos(min(1.0, least))), 6)
