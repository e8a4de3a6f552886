"""Whether all beds about a section strike one way, so that what lies aside of its line is carried along that."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from traverse.angle import wrap_360
from traverse.settled import SAME_DEG, settled
from traverse.structure.readings.directions import dip_of, pole_angles
from traverse.structure.readings.mean import principal_axis
from traverse.structure.readings.place_errors import poles_of
from traverse.structure.readings.records import PlaneAttitude
from traverse.trade import NEARLY_FLAT_DEG, ONE_STRIKE_DEG, SURE_SD


def one_strike(beds: Sequence[PlaneAttitude], apart: Collection[str]) -> float | None:
    """True strike of beds that are one panel; None where they turn or lie nearly flat.

    Beds in units of `apart` tell nothing: they cut the others, or lie on them. Each may differ from the mean plane by
    a few degrees, or by three of its own standard errors.
    """
    own = [bed for bed in beds if bed.unit not in apart]
    if len(own) < 2:
        return None
    poles = poles_of(own)
    axis, _ = principal_axis(poles)
    dip_deg, direction_deg = dip_of(axis)
    off = pole_angles(poles, axis).tolist()
    if any(
        each > max(ONE_STRIKE_DEG, SURE_SD * bed.sd_deg) + SAME_DEG
        for each, bed in zip(off, own, strict=True)
    ):
        return None
    if direction_deg is None or dip_deg <= max(NEARLY_FLAT_DEG, *off) + SAME_DEG:
        # Some of them may dip the other way.
        return None
    return wrap_360(settled(direction_deg - 90.0))
