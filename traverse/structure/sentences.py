"""What can be said of the structure in plain sentences, and what the data leave open."""

from __future__ import annotations

import numpy as np

from traverse.angle import nearest_point, wrap_180
from traverse.log.records import PlaneKind
from traverse.structure.attitude import pole
from traverse.structure.mean import FOLD_BEDS, FOLD_SPREAD_DEG, widest_angle
from traverse.structure.records import Attitude, FoldAxis, MeanBedding

_POINT_WORDS = {
    "N": "north",
    "NE": "north-east",
    "E": "east",
    "SE": "south-east",
    "S": "south",
    "SW": "south-west",
    "W": "west",
    "NW": "north-west",
}


def sentences(
    attitudes: tuple[Attitude, ...], mean: MeanBedding | None, axis: FoldAxis | None
) -> tuple[str, ...]:
    """Facts with their numbers only: a fold is named neither from its poles nor from one limb."""
    beds = [bed for bed in attitudes if bed.kind is PlaneKind.BED and bed.dip_deg is not None]
    if not beds or mean is None:
        return ()
    said = [_dips(beds)]
    overturned = list(dict.fromkeys(bed.station for bed in beds if bed.overturned))
    if overturned:
        said.append(f"Overturned at {_listed(overturned)}.")
    said.append(_axis(beds, axis))
    return tuple(said)


def _dips(beds: list[Attitude]) -> str:
    dips = [round(bed.dip_deg or 0.0) for bed in beds]
    places = "one place" if len(beds) == 1 else f"{len(beds)} places"
    extent = f"{dips[0]}°" if min(dips) == max(dips) else f"{min(dips)}° to {max(dips)}°"
    ways = [
        bed.dip_direction_deg
        for bed in beds
        if bed.dip_direction_deg is not None and (bed.dip_deg or 0.0) >= 3.0
    ]
    if not ways:
        return f"Beds at {places} lie flat or nearly so."
    radians = np.radians(ways)
    mean_way = float(np.degrees(np.arctan2(np.sin(radians).sum(), np.cos(radians).sum())))
    if all(abs(wrap_180(way - mean_way)) <= 60.0 for way in ways):
        toward = _POINT_WORDS[nearest_point(mean_way, points=8)]
        all_of_them = "toward" if len(beds) == 1 else "all toward"
        return f"Beds at {places} dip {extent}, {all_of_them} the {toward}."
    return f"Beds at {places} dip {extent}, in more than one direction."


def _axis(beds: list[Attitude], axis: FoldAxis | None) -> str:
    if axis is not None:
        figures = f"{axis.plunge_deg:.0f}° → {round(axis.trend_deg) % 360:03d}°"
        return f"Axis {figures}, rms {axis.rms_deg:.0f}°, {axis.n} poles."
    if len(beds) < FOLD_BEDS:
        return f"Axis not determined: {len(beds)} of the {FOLD_BEDS} beds it needs."
    poles = pole(
        [bed.dip_deg or 0.0 for bed in beds], dip_direction_deg=[bed.dip_direction_deg or 0.0 for bed in beds]
    )
    return f"Axis not determined: no two beds lie {FOLD_SPREAD_DEG:.0f}° apart, {widest_angle(poles):.0f}° at most."


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
