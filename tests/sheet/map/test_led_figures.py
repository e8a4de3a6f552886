"""A figure of dip that finds no room at its sign is led there down the dip, never back over the bar."""

import math

import pytest
import shapely

from traverse.sheet.map.attitudes import led_figure
from traverse.sheet.map.contacts import Figure
from traverse.sheet.paper.labels import Taken
from traverse.sheet.paper.page import Box

FOOT = (50.0, 50.0)


@pytest.mark.parametrize("way", [0.0, 37.0, 128.0, 211.0, 333.0])
def test_a_leader_does_not_run_back_over_the_bar(way):
    """With the ground down the dip taken there is no place: to the other side the leader would make a sign of its own."""
    turn = math.radians(way)
    down, along = (math.sin(turn), math.cos(turn)), (math.cos(turn), -math.sin(turn))
    figure = Figure(name="bed", text="12", centres=(FOOT,), led=(FOOT, way))
    size = (3.0, 2.0)
    free = Taken(Box(x=0.0, y=0.0, width=100.0, height=100.0))
    centre, leader = led_figure(figure, size, free)
    assert centre is not None
    assert len(leader) == 1
    assert (centre[0] - FOOT[0]) * down[0] + (centre[1] - FOOT[1]) * down[1] > 0.0
    taken = Taken(Box(x=0.0, y=0.0, width=100.0, height=100.0))
    corners = [
        (FOOT[0] + out * down[0] + side * along[0], FOOT[1] + out * down[1] + side * along[1])
        for out, side in ((0.5, -30.0), (30.0, -30.0), (30.0, 30.0), (0.5, 30.0))
    ]
    taken.block(shapely.Polygon(corners))
    assert led_figure(figure, size, taken) == (None, ())
