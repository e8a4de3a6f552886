"""No contact is drawn between ground of one unit where the walk says that its units meet elsewhere."""

from dataclasses import replace

import pytest
import shapely

from tests.sheet.fixture_sheet import compiled
from traverse.compile import map_ground
from traverse.ground.records import CrossedContact
from traverse.ground.unit_parting import _share_out, part_units
from traverse.log.items import ContactKind

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


# A contact inferred under talus on a flat hill walked round, where one bed was read as dipping a little.
ROUND = (
    "bearings true\nattitudes dip-direction\nunit Lm Limestone ; Cretaceous\nunit Md Mudstone ; Jurassic\n"
    "at 1\nunit Md\nbed flat\nto 2 045 100m +6\nalong 70m\ncontact Lm/Md certain\nat 2\nunit Lm\nbed {}\n"
    "to 3 085 170m level\nunit Lm\nto 4 190 110m -6\ncovered 70m to 90m talus\ncontact Lm/Md inferred\n"
    "at 4\nunit Md\nto 5 235 120m -1\nunit Md\nbed flat\nclose 1 291 152m +1\n"
)


@pytest.mark.parametrize("bed", ["330/2", "330/4", "324/9"])
def test_a_contact_is_not_carried_along_ground_of_one_unit(bed):
    laid = band(ROUND.format(bed))
    areas = ground(laid)
    inferred = max(laid.crossed, key=lambda one: one.contact.order)
    assert inferred.line.distance(shapely.Point(inferred.at)) < 1.0
    assert inferred.line.intersection(areas["Md"].buffer(-1.0)).length < 6.0


def test_a_bed_so_flat_that_its_error_turns_its_strike_at_will_carries_no_contact():
    laid = band(ROUND.format("330/4"))
    assert [one.contact.course_deg for one in laid.crossed] == [None, None]
    steeper = band(ROUND.format("330/14"))
    assert all(one.contact.course_deg is not None for one in steeper.crossed)
    # The other lies where the walk comes over the brow, and how the ground falls beside it is not known.
    assert [one.course_known for one in steeper.crossed] == [True, False]


# Over a contact that strikes 096 and back over it, then over a fault a few metres on, which brings the younger unit up again.
BESIDE_A_FAULT = (
    HEAD
    + "at 1\nunit Qg\nto 2 073 85m\nalong 34m\ncontact Qg/Tr certain\nat 2\nunit Tr\nbed 094/44\n"
    + "to 3 125 160m\nalong 25m\ncontact Qg/Tr certain\nalong 36m\nfault Qg/Tr {sure}\nat 3\nunit Tr\nbed 096/49\n"
)


@pytest.mark.parametrize("sure", ["certain", "approximate"])
def test_a_fault_runs_on_in_no_contact_that_was_met_as_one(sure):
    """The border of its two units goes on there, and is the contact's."""
    crossed = band(BESIDE_A_FAULT.format(sure=sure)).crossed
    [fault] = [one for one in crossed if one.contact.kind is ContactKind.FAULT]
    contacts = shapely.union_all([one.line for one in crossed if one.contact.kind is ContactKind.CONTACT])
    assert fault.line.distance(shapely.Point(fault.at)) < 0.6
    assert fault.line.intersection(contacts.buffer(0.3)).length < 1.0
    assert fault.line.length < 45.0 < contacts.length


# A thrust of 37° that a leg goes along, and crosses at a place that nobody saw well.
ALONG_A_THRUST = (
    "bearings true\nattitudes dip-right\nunit Cd Clay ; Cretaceous\nunit Cc Limestone ; Jurassic\n"
    "unit Cb Sandstone ; Jurassic\nat 1\nunit Cd\nbed 195/15\nto 2 269 99m -5\nalong 8m\nfault Cd/Cb certain 197/37 thrust\n"
    "at 2\nunit Cb\nbed 191/17\nat 1\nto 3 203 246m -4\nalong 123m\nfault Cd/Cb approximate\nat 3\nunit Cb\nbed 205/14\n"
    "to 4 090 102m +6\nalong 9m\nfault Cd/Cb approximate\nalong 14m\ncontact Cd/Cc certain\nat 4\nunit Cc\nbed 202/16\n"
)


def test_two_places_of_a_fault_are_not_drawn_over_each_other():
    """Two dashed lines in one look like a fault that was seen all along."""
    laid = band(ALONG_A_THRUST)
    first, second, third = [one.line for one in laid.crossed if one.contact.kind is ContactKind.FAULT]
    for one, other in ((first, second), (second, third), (third, first)):
        assert one.intersection(other.buffer(2.0)).length < 8.0


def test_contacts_of_one_line_each_have_a_piece_of_it_in_their_order():
    """Three have a third of 90 m each; an outer one goes on from its inner end, the middle one from both."""
    line = shapely.LineString([(0.0, 0.0), (60.0, 0.0), (60.0, 30.0)])
    found = [
        CrossedContact(contact=None, at=at, line=line, course_known=True)
        for at in ((55.0, 2.0), (5.0, 1.0), (61.0, 29.0))
    ]
    _share_out(found, [0, 1, 2])
    assert [list(one.line.coords) for one in found] == [
        [(30.0, 0.0), (60.0, 0.0)],
        [(0.0, 0.0), (30.0, 0.0)],
        [(60.0, 30.0), (60.0, 0.0)],
    ]
    assert [(one.tied, one.between) for one in found] == [(True, True), (True, False), (True, False)]


def test_a_contact_ends_at_the_fault_that_cuts_it(compile_text):
    """The strike of the contact takes it across the fault inside the ground seen; the fault runs on straight, one unit on both its sides."""
    laid = map_ground(
        compile_text(
            "notation 1\nbearings true\nattitudes dip-right\nunit Mh Shale ; Jurassic\nunit Lv Limestone ; Triassic\n"
            "at 1\n  unit Lv\nto 2 000 60m level\nalong 40m\n  fault Mh/Lv certain 270/70 down N\nat 2\n  unit Mh\n"
            "to 3 000 60m level\nalong 20m\n  contact Mh/Lv certain 015/80\nat 3\n  unit Lv\nsheet band 20 m\n"
        ).trav
    ).ground.map.band
    fault, contact = laid.crossed
    assert fault.contact.kind is ContactKind.FAULT
    assert fault.course_known
    assert fault.line.bounds == pytest.approx((-20.0, 40.0, 20.0, 40.0), abs=0.2)
    assert min(y for _, y in contact.line.coords) == pytest.approx(40.0, abs=1.0)
    assert max(y for _, y in contact.line.coords) > 110.0
