"""Directions of flow gathered into classes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from traverse.angle import mean_axis, mean_azimuth
from traverse.log.items import LineKind, PlaneKind
from traverse.settled import settled
from traverse.structure.readings.records import Attitude, LineAttitude, Restored, Rose, StrikeAttitude
from traverse.trade import ROSE_READINGS


def rose(attitudes: Sequence[Attitude], restored: Sequence[Restored]) -> Rose | None:
    """Classes, mean and strength of all currents and cross-beds; tilted ones as they lay when their bed was flat.

    The mean is that of directions, or of lines where no sense is known.
    """
    back = {one.attitude.order: one.direction_deg for one in restored}
    azimuths, both = [], []
    for one in attitudes:
        if one.kind not in {LineKind.CURRENT, PlaneKind.CROSSBED}:
            continue
        if isinstance(one, StrikeAttitude):
            continue
        raw = one.trend_deg if isinstance(one, LineAttitude) else None if one.flat else one.dip_direction_deg
        azimuth = back.get(one.order, raw)
        if azimuth is not None:
            azimuths.append(azimuth)
            both.append(isinstance(one, LineAttitude) and one.both)
    if not azimuths:
        return None
    width = 20.0 if len(azimuths) >= ROSE_READINGS else 30.0
    counts = np.zeros(round(360.0 / width))
    ways, lines = np.array(azimuths), np.array(both)
    for turn, weight in ((0.0, np.where(lines, 0.5, 1.0)), (180.0, np.where(lines, 0.5, 0.0))):
        # A whisker added, so that 14.999999999 from a rotation and 15 as read fall in one class.
        index = (((ways + turn + width / 2.0 + 1e-7) % 360.0) // width).astype(int)
        np.add.at(counts, index, weight)
    mean, strength = mean_axis(azimuths) if lines.all() else mean_azimuth(ways[~lines].tolist())
    mean, strength = settled(mean), settled(strength)
    return Rose(
        class_deg=width,
        counts=tuple(counts.tolist()),
        n=len(azimuths),
        n_axial=int(lines.sum()),
        mean_deg=None if strength < 1e-9 else mean,
        strength=strength,
    )
