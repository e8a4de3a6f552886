"""How a contact lies where nobody read it: as the bed nearest to it, or as those about it where that is too gentle to tell."""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from traverse.nearest import Nearest
from traverse.structure.form.lying import _as_beds
from traverse.trade import ALIKE_DEG, GENTLE_DEG, REACH_BED_M


def bed(at, dip_deg, way_deg, sd_deg=2.0):
    place = SimpleNamespace(east_m=at[0], north_m=at[1])
    return SimpleNamespace(
        dip_deg=dip_deg,
        dip_direction_deg=way_deg,
        strike_deg=(way_deg - 90.0) % 360.0,
        sd_deg=sd_deg,
        place=place,
    )


def lies(at, beds):
    near = Nearest(np.array([(one.place.east_m, one.place.north_m) for one in beds]))
    return _as_beds(SimpleNamespace(place=SimpleNamespace(east_m=at[0], north_m=at[1])), beds, near)


@pytest.mark.parametrize("at", [(3.0, 4.0), (-30.0, 12.0), (5.0, -40.0)])
def test_it_lies_as_the_nearest_bed_where_that_surely_dips(at):
    """By east and north; nothing tells where none was read within reach."""
    beds = [
        bed((0.0, 60.0), 30.0, 40.0),
        bed((60.0, 0.0), 40.0, 140.0),
        bed((-50.0, -30.0), 50.0, 260.0),
        bed((2.0, -55.0), 60.0, 310.0),
    ]
    nearest = min(beds, key=lambda one: math.dist(at, (one.place.east_m, one.place.north_m)))
    found = lies(at, beds)
    assert (found.strike_deg, found.dip_deg, found.sd_deg) == (nearest.strike_deg, nearest.dip_deg, 2.0)
    way = np.array([0.6, 0.8])
    for off, there in ((REACH_BED_M - 1.0, True), (REACH_BED_M + 1.0, False)):
        alone = [bed(tuple(np.array(at) + off * way), 30.0, 40.0)]
        assert (lies(at, alone) is not None) is there


def test_beds_so_gentle_that_a_reading_turns_their_strike_are_meaned_with_those_alike_within_reach():
    beds = [
        bed((5.0, 0.0), GENTLE_DEG - 2.0, 100.0), bed((20.0, 10.0), GENTLE_DEG - 4.0, 130.0), bed((-30.0, 5.0), GENTLE_DEG, 80.0),
        bed((REACH_BED_M + 5.0, 0.0), 9.0, 20.0), bed((10.0, 10.0), GENTLE_DEG - 2.0 + ALIKE_DEG + 1.0, 100.0),
    ]  # fmt: skip
    found = lies((0.0, 0.0), beds)
    poles = []
    for one in beds[:3]:
        dip, way = math.radians(one.dip_deg), math.radians(one.dip_direction_deg)
        poles.append((math.sin(dip) * math.sin(way), math.sin(dip) * math.cos(way), math.cos(dip)))
    axis = np.linalg.svd(np.array(poles))[2][0]
    axis *= np.sign(axis[2])
    assert found.dip_deg == pytest.approx(math.degrees(math.acos(axis[2])))
    assert found.strike_deg == pytest.approx((math.degrees(math.atan2(axis[0], axis[1])) - 90.0) % 360.0)
    # One a little steeper than gentle stands for itself.
    beds[0] = bed((5.0, 0.0), GENTLE_DEG + 0.5, 100.0)
    assert lies((0.0, 0.0), beds).dip_deg == GENTLE_DEG + 0.5
