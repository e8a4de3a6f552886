"""The coloured ground of a map held against what truly lies there."""

from dataclasses import dataclass

import numpy as np
import shapely

from tests.invented.cut_true import near

STEP_M = 2.0


@dataclass
class MapShares:
    """Of the coloured ground of a map, in cells of equal size."""

    cells: int = 0
    wrong: int = 0
    """Cells of another unit than is drawn."""
    wedges: int = 0
    """Those of them with no true ground of the unit that is drawn within `NEAR_M`."""
    inside_m: float = 0.0
    """Metres of drawn contacts that have one unit on both sides."""
    drawn_m: float = 0.0
    """Metres of drawn contacts."""


def map_shares(walk, trav):
    """How much of what is coloured is wrong, of ground that is laid for a sheet."""
    found = MapShares()
    band = trav.ground.map.band
    if band is None:
        return found
    order = {letters: at for at, letters in enumerate(walk.model.order)}
    west, south, east, north = band.whole.bounds
    x, y = np.meshgrid(np.arange(west, east, STEP_M), np.arange(south, north, STEP_M))
    plan = np.column_stack((x.ravel(), y.ravel())) - walk.origin[:2]
    codes = walk.model.codes(walk.model.ground(plan[:, 0], plan[:, 1]))
    true = walk.model.in_order(codes).reshape(x.shape)
    drawn = np.full(x.shape, -1)
    for area in band.areas:
        if area.unit is not None:
            drawn[shapely.contains_xy(shapely.union_all(list(area.parts)), x, y)] = order[area.unit]
    wrong = (drawn >= 0) & (drawn != true)
    found.cells, found.wrong = int((drawn >= 0).sum()), int(wrong.sum())
    for unit in np.unique(drawn[wrong]):
        found.wedges += int((wrong & (drawn == unit) & ~near(true == unit)).sum())
    inner = [part.buffer(-1.0) for area in band.areas if area.unit is not None for part in area.parts]
    ground = shapely.union_all(inner)
    for one in band.crossed:
        found.drawn_m += one.line.length
        found.inside_m += one.line.intersection(ground).length
    return found
