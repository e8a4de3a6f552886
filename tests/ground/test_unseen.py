"""A unit that gives way to another without a contact: a line half-way, drawn as what is inferred, and keyed."""

import pytest

from tests.sheet.fixture_sheet import compiled
from tests.sheet.pages import paths
from traverse.compile import map_ground
from traverse.sheet.map.map import map_panel
from traverse.sheet.paper.page import Box
from traverse.sheet.paper.style import PENS
from traverse.sheet.signs.colour import unit_styles

HEAD = "sheet band 5 m\nbearings true\nattitudes dip-right\nunit Up Upper Grit ; Carboniferous\nunit Lo Lower Shale ; Carboniferous\n"
WALK = HEAD + "at 1\n  unit Lo\nto 2 090 100m level\n{}  unit Up\nto 3 000 100m level\n  unit Up\n"


def drawn(text):
    trav = map_ground(compiled(text).trav)
    box = Box(x=14.0, y=14.0, width=500.0, height=400.0)
    return trav.ground.map.band, map_panel(trav, box=box, scale=1000, styles=unit_styles(trav.log.units))


def test_a_change_nobody_booked_is_a_dashed_line_half_way_from_edge_to_edge():
    band, drawing = drawn(WALK.format(""))
    ((change, line),) = ((one.change, one.line) for one in band.unseen)
    assert (change.younger, change.older, change.half_way) == ("Up", "Lo", True)
    assert line.centroid.x == pytest.approx(50.0, abs=0.1)
    assert line.length == pytest.approx(band.whole.intersection(line.buffer(0.1)).area / 0.2, rel=0.05)
    (low, high) = sorted(y for _, y in line.coords)
    assert low == pytest.approx(-high, abs=0.1)
    assert "contact inferred" in drawing.signs
    assert "contact certain" not in drawing.signs
    assert sum(one.pen == PENS["contact inferred"] for one in paths(drawing.items)) == 1
    # Nobody booked it, and that is seen on it.
    assert "queried" in drawing.signs


@pytest.mark.parametrize("certainty", ["certain", "approximate"])
def test_a_change_that_was_booked_has_its_own_line_alone(certainty):
    band, drawing = drawn(WALK.format(f"along 50m\n  contact Up/Lo {certainty}\nat 2\n"))
    assert not band.unseen
    assert f"contact {certainty}" in drawing.signs
    assert "contact inferred" not in drawing.signs


def test_covered_ground_between_two_units_has_no_line():
    band, drawing = drawn(WALK.format("covered 30m to 70m scree\nat 2\n"))
    assert not band.unseen
    assert "contact inferred" not in drawing.signs
