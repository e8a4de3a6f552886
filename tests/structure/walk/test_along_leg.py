"""A contact that another party booked near a leg, found on it by shapely's distance along a line."""

from types import SimpleNamespace

import numpy as np
import pytest
import shapely

from traverse.structure.walk.along_leg import _standing_there
from traverse.trade import SAME_CROSSING_M


@pytest.mark.parametrize("seed", range(25))
def test_it_stands_where_the_nearest_of_them_lies_abreast_of_the_leg(seed):
    rng = np.random.default_rng(seed)
    first, last = rng.uniform((5000.0, 7000.0), (5150.0, 7150.0), (2, 2))
    leg = SimpleNamespace(index=0, start="1", end="2")
    survey = SimpleNamespace(
        places={
            name: SimpleNamespace(east_m=east, north_m=north)
            for name, (east, north) in (("1", first), ("2", last))
        }
    )
    shares = rng.uniform(-0.2, 1.2, (6, 1))
    places = (first + shares * (last - first) + rng.normal(0.0, SAME_CROSSING_M, (6, 2))).tolist()
    walk = SimpleNamespace(on_legs={}, contacts={}, places={frozenset(("Aa", "Bb")): places})
    position = 0.3
    line = shapely.LineString((first, last))
    near = [
        (line.distance(at), line.project(at, normalized=True))
        for at in map(shapely.Point, places)
        if line.distance(at) <= SAME_CROSSING_M and position < line.project(at, normalized=True) < 1.0
    ]
    found = _standing_there(leg, survey, walk, ("Aa", "Bb"), position)
    assert found == (pytest.approx(min(near)[1]) if near else None)
    assert _standing_there(leg, survey, walk, ("Aa", "Cc"), position) is None
