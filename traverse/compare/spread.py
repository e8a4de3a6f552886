"""Outcrops that several parties measured: their mean, how they spread, who lies out."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from traverse.compare.records import Comparison, PartyReading, SharedOutcrop
from traverse.settled import settled
from traverse.structure.readings.directions import dip_of, pole, pole_angle
from traverse.structure.readings.mean import principal_axis
from traverse.structure.readings.records import PlaneAttitude
from traverse.structure.readings.shared import lying_out


def shared_outcrops(comparisons: Sequence[Comparison]) -> tuple[SharedOutcrop, ...]:
    """In the order of the key, those that two parties measured or more, the causes found in each log mended.

    A reading lies out that is farther from the mean of the others than one plane is read apart; of two that disagree
    neither is known to be wrong, and both do.
    """
    found: dict[tuple[int, int], list[tuple[str, PlaneAttitude]]] = {}
    keys: dict[tuple[int, int], PlaneAttitude] = {}
    for one in comparisons:
        for pair in one.mended.attitudes:
            if pair.log is not None:
                at = (pair.key.span.line, pair.key.order)
                keys[at] = pair.key
                found.setdefault(at, []).append((one.log, pair.log))
    return tuple(
        _shared(keys[at], readings)
        for at, readings in sorted(found.items(), key=lambda one: one[0][1])
        if len(readings) > 1
    )


def _shared(key: PlaneAttitude, readings: Sequence[tuple[str, PlaneAttitude]]) -> SharedOutcrop:
    poles = np.array([pole(one.dip_deg, dip_direction_deg=one.dip_direction_deg) for _, one in readings])
    off, out = lying_out(poles)
    kept = poles[[not one for one in out]] if not all(out) else poles
    axis, _ = principal_axis(kept)
    apart = [pole_angle(axis, one) for one in kept]
    dip, toward = dip_of(axis)
    return SharedOutcrop(
        station=key.station if key.place.address.station is not None else f"leg from {key.station}",
        kind=key.kind.value,
        readings=tuple(
            PartyReading(
                log=log,
                dip_deg=one.dip_deg,
                dip_direction_deg=one.dip_direction_deg,
                off_deg=off[index],
                out=out[index],
            )
            for index, (log, one) in enumerate(readings)
        ),
        dip_deg=dip,
        dip_direction_deg=toward,
        spread_deg=settled(float(np.sqrt(np.mean(np.square(apart)))), 6),
        n=len(kept),
    )
