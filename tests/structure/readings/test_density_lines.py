"""Lines of equal density on the net: each of their points, brought back from the equal-area projection, has that density.

Schmidt's net: a pole lies sqrt(2) sin(c / 2) from the middle, c its angle from straight down (any text on structural
geology); the density is that of Fisher's distribution about each pole and its other end.
"""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from traverse.structure.readings.density import density, pole_density
from traverse.trade import DENSITY_KAPPA, DENSITY_READINGS


def beds(seed, count):
    rng = np.random.default_rng(seed)
    clusters = [(30.0, 70.0), (65.0, 200.0), (85.0, 310.0)]
    return [
        SimpleNamespace(
            dip_deg=min(90.0, abs(dip + rng.normal(0.0, 9.0))),
            dip_direction_deg=(way + rng.normal(0.0, 14.0)) % 360.0,
        )
        for dip, way in (clusters[at % 3] for at in range(count))
    ]


def downward(dip_deg, way_deg):
    """The pole that goes down from a plane."""
    dip, way = math.radians(dip_deg), math.radians(way_deg)
    return np.array([-math.sin(dip) * math.sin(way), -math.sin(dip) * math.cos(way), -math.cos(dip)])


def expected(read, direction):
    shares = [abs(float(downward(one.dip_deg, one.dip_direction_deg) @ direction)) for one in read]
    return DENSITY_KAPPA / len(read) * sum(math.exp(DENSITY_KAPPA * (share - 1.0)) for share in shares)


@pytest.mark.parametrize("seed", range(3))
def test_each_point_of_a_line_has_its_density(seed):
    read = beds(seed, 30)
    found = pole_density(read)
    assert len(found.levels) > 1
    told = set()
    at = iter(found.lines)
    for line in at:
        values = []
        for x, y in line[:: max(1, len(line) // 12)]:
            radius = math.hypot(x, y)
            if radius > 1.0:
                continue
            off = 2.0 * math.asin(radius / math.sqrt(2.0))
            azimuth = math.atan2(x, y)
            values.append(
                expected(
                    read,
                    np.array(
                        [math.sin(off) * math.sin(azimuth), math.sin(off) * math.cos(azimuth), -math.cos(off)]
                    ),
                )
            )
        if values:
            level = min(found.levels, key=lambda one: abs(math.log(one / values[0])))
            assert values == pytest.approx([level] * len(values), rel=0.04)
            told.add(level)
    assert told == set(found.levels)
    # None is drawn where nothing lies as close.
    best = max(expected(read, downward(one.dip_deg, one.dip_direction_deg)) for one in read)
    assert all(level < 1.1 * best for level in found.levels)
    assert found.levels == tuple(level for level in (2, 4, 8, 16, 32) if level in found.levels)


def test_a_density_is_the_same_at_both_ends_of_a_line_and_needs_twenty_readings():
    read = beds(7, 25)
    poles = np.array([(90.0 - one.dip_deg, one.dip_direction_deg + 180.0) for one in read])
    asked = np.array([(10.0, 30.0), (-10.0, 210.0), (80.0, 0.0)])
    found = density(poles, asked)
    assert found[0] == pytest.approx(found[1])
    for (plunge, trend), value in zip(np.radians(asked), found, strict=True):
        direction = np.array(
            [math.cos(plunge) * math.sin(trend), math.cos(plunge) * math.cos(trend), -math.sin(plunge)]
        )
        assert value == pytest.approx(expected(read, direction))
    assert pole_density(read[: DENSITY_READINGS - 1]) is None
    assert pole_density(read[:DENSITY_READINGS]) is not None
