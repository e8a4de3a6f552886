"""A section is cut through the ground that the map shows: where both show it, they show the same."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely

from traverse.compile import compile_log, map_ground
from traverse.source import Source

_ROOT = Path(__file__).parents[2]
LOGS = sorted([*(_ROOT / "samples").glob("*/*.trav"), *(_ROOT / "tests/reference/logs").glob("*.trav")])
_STEP_M = 1.0


def _traverse(path: Path):
    found = compile_log(
        Source(name=str(path), text=path.read_text()), load=lambda name: (path.parent / name).read_bytes()
    )
    assert found.trav is not None
    return map_ground(found.trav)


def _differing(band, cut):
    """Distances along a section at which map and section both name a unit, and those at which they name two."""
    section = cut.section
    line = shapely.LineString(section.line)
    at = np.arange(_STEP_M / 2.0, section.length_m, _STEP_M)
    places = shapely.line_interpolate_point(line, at)
    under = shapely.points([(distance, section.ground_at(distance) - 0.5) for distance in at])
    of_map, of_section = np.full(len(at), ""), np.full(len(at), "")
    of_map, of_section = of_map.astype(object), of_section.astype(object)
    for area in band.areas:
        if area.unit is not None:
            of_map[shapely.contains(shapely.union_all(list(area.parts)), places)] = area.unit
    for fill in cut.fills:
        of_section[shapely.contains(fill.area, under)] = fill.unit
    both = (of_map != "") & (of_section != "")
    return at[both], at[both & (of_map != of_section)]


@pytest.mark.parametrize("path", LOGS, ids=lambda path: path.stem)
def test_section_and_map_show_one_ground(path):
    trav = _traverse(path)
    band = trav.ground.map.band
    shared = 0
    for cut in trav.ground.cuts:
        if band is None or not cut.fills:
            continue
        at, differ = _differing(band, cut)
        shared += len(at)
        borders = [
            (point.distance_m, point.sd_m) for point in cut.section.points if point.contact is not None
        ]
        # The side of a body lies where the map has it.
        borders += [(side.at[0], 0.0) for one in cut.section.bodies for side in one.sides if side is not None]
        for distance in differ:
            # A border drawn along a dipping line comes out beside the place where it was seen, within what is stated.
            assert any(abs(at_m - distance) <= 3.0 * sd_m + 2.0 * _STEP_M for at_m, sd_m in borders)
        assert len(differ) <= 0.06 * len(at) + 1
    if path.stem in {"oskerra-valley", "faults", "unconformity", "many-units", "plunging-fold"}:
        assert shared > 100
