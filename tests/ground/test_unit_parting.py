"""No contact is drawn between ground of one unit where the walk says that its units meet elsewhere."""

from dataclasses import replace

import shapely

from tests.sheet.fixture_sheet import compiled
from traverse.compile import map_ground
from traverse.ground.unit_parting import part_units

HEAD = "bearings true\nattitudes dip-right\nunit Qg Gravel ; Quaternary\nunit Tr Shale ; Triassic\n"
# The contact at 2 strikes along the leg that follows, on which only the younger unit was booked, also round the corner
# on the other side of that strike.
ALONG = (
    HEAD + "at 1\nunit Tr\nto 2 090 50m\ncontact Qg/Tr certain 085/20\nunit Qg\nto 3 090 60m\nunit Qg\n"
    "to 4 000 60m\nunit Qg\n"
)
SQUARE = HEAD + "at 1\nunit Tr\nto 2 090 50m\nunit Qg\nto 3 090 60m\nunit Qg\n"


def band(text):
    found = map_ground(compiled("sheet band 15 m\n" + text).trav).ground.map.band
    assert found is not None
    return found


def ground(laid):
    return {area.unit: shapely.union_all(list(area.parts)) for area in laid.areas}


def test_a_contact_along_the_walk_goes_where_its_units_meet():
    laid = band(ALONG)
    (one,) = laid.crossed
    areas = ground(laid)
    assert one.line.distance(shapely.Point(one.at)) < 0.6
    for unit in ("Qg", "Tr"):
        assert one.line.intersection(areas[unit].buffer(-0.3)).length < 0.5
        # Everywhere it has the unit on one of its sides.
        assert one.line.difference(areas[unit].buffer(0.4)).length < 0.5
    ends = [shapely.Point(end) for end in (one.line.coords[0], one.line.coords[-1])]
    assert max(end.distance(laid.whole.boundary) for end in ends) < 0.5


def test_a_contact_across_the_walk_keeps_its_strike():
    text = SQUARE.replace("unit Qg\nto 3", "contact Qg/Tr certain 030/20\nunit Qg\nto 3")
    (one,) = band(text).crossed
    (x0, y0), (x1, y1) = one.line.coords[0], one.line.coords[-1]
    # tan 30 degrees: as far to the east as to the north times that.
    assert abs(abs((x1 - x0) / (y1 - y0)) - 0.57735) < 1e-3


def test_a_unit_without_ground_of_its_own_has_no_edge_to_meet():
    laid = band(ALONG)
    areas = [replace(area, parts=()) if area.unit == "Tr" else area for area in laid.areas]
    assert part_units(laid.crossed, areas, 15.0) == tuple(laid.crossed)
