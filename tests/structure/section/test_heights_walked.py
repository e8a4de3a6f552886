"""How high the walk lies at the places that a section's ground is taken from: by the ends of each stretch."""

from types import SimpleNamespace

import numpy as np
import pytest

from traverse.structure.section.profile import SectionGround, _between


def test_a_place_on_a_stretch_is_as_high_as_its_share_of_the_way():
    stretches = [
        SimpleNamespace(unit="Aa", leg=0, start=(0.0, 0.0), end=(60.0, 80.0)),
        SimpleNamespace(unit="Bb", leg=1, start=(60.0, 80.0), end=(60.0, 20.0)),
        SimpleNamespace(unit=None, leg=1, start=(60.0, 20.0), end=(60.0, 0.0)),
    ]
    heights = {id(stretches[0]): (100.0, 150.0), id(stretches[1]): None}
    ground = SimpleNamespace(
        band=stretches,
        _heights_of=lambda one: heights[id(one)],
        strike_near=SimpleNamespace(all_of=lambda places: [None] * len(places)),
    )
    found = SectionGround._walked_on.func(ground)
    assert {unit for unit, *_ in found} == {"Aa", "Bb"}
    for unit, length_m, east, north, up, _ in found:
        if unit == "Aa":
            assert length_m == pytest.approx(100.0)
            assert up == pytest.approx(100.0 + 0.5 * np.hypot(east, north))
        else:
            assert (length_m, east, up) == (pytest.approx(60.0), 60.0, None)


def test_between_two_arms_the_ground_runs_straight_from_one_to_the_other():
    """Two legs 60 m apart, one 30 m over the other; weights by nearness alone made a cliff half-way, flat on both sides."""
    along = np.linspace(0.0, 300.0, 61)
    ground = np.concatenate(
        [np.column_stack((along, np.full(61, y), np.full(61, up))) for y, up in ((0.0, 0.0), (60.0, 30.0))]
    )
    north = np.linspace(0.0, 60.0, 13)
    found = _between(ground, np.full(13, 150.0), north)
    assert found == pytest.approx(north / 2.0, abs=1.5)
    # Where it was walked it is as high as it was walked.
    assert found[[0, -1]] == pytest.approx([0.0, 30.0], abs=0.1)


def test_ground_walked_twice_lies_between_both_and_far_more_of_it_is_told_by_the_nearest():
    """Two passes over one place 2 m apart in height; then three thousand places along a line, asked for at its middle."""
    twice = np.array([(0.0, 0.0, 10.0), (0.0, 0.0, 12.0), (50.0, 0.0, 20.0)])
    assert _between(twice, np.array([0.0]), np.array([0.0])) == pytest.approx([11.0], abs=0.1)
    east = np.linspace(0.0, 30_000.0, 3001)
    slope = np.column_stack((east, np.zeros(3001), east / 10.0))
    assert _between(slope, np.array([15_004.0]), np.array([0.0])) == pytest.approx([1500.4], abs=0.1)
