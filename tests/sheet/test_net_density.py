"""Density on the net: even where lines are spread evenly, high where they crowd, and nothing of a few readings."""

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.sheet.fixture_loop import make
from tests.sheet.pages import assert_inside, paths, words
from traverse.sheet.net import density, net_block
from traverse.sheet.style import PENS


def test_an_even_spread_has_density_one():
    """2,000 directions on a Fibonacci spiral over the lower hemisphere, which spreads them evenly."""
    count = 2000
    index = np.arange(count)
    plunge = np.degrees(np.arcsin((index + 0.5) / count))
    trend = np.degrees(index * math.pi * (3.0 - math.sqrt(5.0))) % 360.0
    poles = list(zip(trend.tolist(), plunge.tolist(), strict=True))
    places = [(0.0, 0.0), (45.0, 10.0), (200.0, 45.0), (0.0, 90.0), (300.0, 70.0)]
    assert density(poles, places) == pytest.approx(1.0, abs=0.05)


def test_one_direction_crowds_there_and_over_the_rim_on_the_other_side():
    found = density([(90.0, 2.0)] * 5, [(90.0, 2.0), (270.0, 1.0), (0.0, 0.0), (90.0, 60.0)])
    assert found[0] == pytest.approx(100.0)
    # 3 degrees off, across the rim: exp(100 (cos 3 - 1)) of the peak.
    assert found[1] == pytest.approx(100.0 * math.exp(100.0 * (math.cos(math.radians(3.0)) - 1.0)))
    assert found[2:] == pytest.approx(0.0, abs=1e-3)


@pytest.mark.parametrize(("count", "drawn"), [(19, False), (20, True)])
def test_contours_come_from_twenty_readings_on(count, drawn):
    _, _, geology = make()
    beds = [one for one in geology.attitudes if one.dip_deg is not None and one.kind.value == "bed"]
    many = replace(geology, attitudes=tuple(beds[index % len(beds)] for index in range(count)))
    block = net_block(many, x=20.0, top=120.0, width=100.0)
    lines = [one for one in paths(block.items) if one.pen == PENS["density"]]
    assert bool(lines) is drawn
    assert ("× even" in words(block.items)) is drawn
    assert_inside(block.items, 20.0, 120.0 - block.height, 120.0, 120.0)
