"""A computed outcrop parted at the place where its contact was met, by hand."""

import pytest
import shapely

from traverse.ground.crossed.computed_bends import _halves

LINE = shapely.LineString([(0.0, 0.0), (30.0, 40.0), (90.0, 40.0)])


@pytest.mark.parametrize("at", [(15.0, 20.0), (30.0, 40.0), (70.0, 40.0)])
def test_a_line_through_a_place_goes_outward_from_it_both_ways(at):
    first, second = _halves(LINE, at)
    assert first.coords[0] == second.coords[0] == at
    assert (first.coords[-1], second.coords[-1]) == ((0.0, 0.0), (90.0, 40.0))
    assert first.length == pytest.approx(LINE.project(shapely.Point(at)))
    assert first.length + second.length == pytest.approx(LINE.length)


def test_one_that_ends_there_goes_one_way_and_one_that_lies_elsewhere_none():
    (only,) = _halves(LINE, (90.0, 40.0))
    assert (only.coords[0], only.length) == ((90.0, 40.0), pytest.approx(LINE.length))
    assert _halves(LINE, (50.0, 45.0)) == []
