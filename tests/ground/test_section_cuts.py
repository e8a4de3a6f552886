"""The ground under a section: parted by its lines, in metres, the same on every paper."""

from dataclasses import replace

import pytest
import shapely
from shapely import Point

from tests.sheet.opened import opened
from traverse.compile import compile_log, map_ground, section_ground
from traverse.settled import settled
from traverse.source import Source

HEAD = """notation 1
bearings true
attitudes dip-direction
unit Qt Gravel ; Quaternary
unit Cc Top ; Cretaceous
unit Bb Middle ; Jurassic
unit Aa Base ; Triassic
control 1 1000 E 1000 N 500 m
sheet band 20m
"""
DIPPING = (
    HEAD
    + """at 1
unit Aa
bed 090/45
to 2 090 400m level
along 100m
contact Bb/Aa certain
unit Bb
along 300m
contact Cc/Bb certain
unit Cc
section A-A' from 1 to 2
"""
)
UPRIGHT = DIPPING.replace("bed 090/45\n", "")
GRAVEL = (
    HEAD
    + """at 1
unit Aa
to 2 090 400m level
along 100m
contact Qt/Aa certain
unit Qt
along {}m
contact Qt/Aa certain
unit Aa
section A-A' from 1 to 2
"""
)


@pytest.fixture
def cut(compile_text):
    def open_one(text, **changes):
        trav = compile_text(text).trav
        return opened(replace(trav.geology.sections[0], **changes), trav)

    return open_one


def unit_at(one, distance, up):
    """What a place is coloured as, the last over the others."""
    return next((fill.unit for fill in reversed(one.fills) if fill.area.contains(Point(distance, up))), None)


@pytest.mark.parametrize(
    ("place", "unit"),
    [
        ((95, 499), "Aa"), ((105, 499), "Bb"), ((105, 490), "Aa"), ((118, 485), "Bb"), ((118, 481.5), "Aa"),
        ((305, 499), "Cc"), ((305, 490), "Bb"), ((200, 479.5), None), ((200, 500.5), None),
    ],
)  # fmt: skip
def test_colour_changes_along_the_lines(cut, place, unit):
    """Down east at 45 degrees from 100 m and 300 m, on level ground at 500 m, 20 m deep."""
    assert unit_at(cut(DIPPING), *place) == unit


def test_all_ground_that_was_looked_at_is_coloured_once(cut):
    one = cut(DIPPING)
    assert one.looked_at.area == pytest.approx(400.0 * 20.0)
    assert sum(fill.area.area for fill in one.fills) == pytest.approx(one.looked_at.area)
    assert shapely.union_all([fill.area for fill in one.fills]).area == pytest.approx(one.looked_at.area)


def test_a_piece_says_where_it_comes_out(cut):
    out = {fill.unit: (fill.start_m, fill.end_m) for fill in cut(DIPPING).fills}
    assert out["Bb"] == pytest.approx((100.0, 300.0), abs=0.2)


def test_exaggeration_and_scale_change_nothing(cut):
    plain, tall = cut(DIPPING), cut(DIPPING, exaggeration=4.0)
    assert [fill.area for fill in tall.fills] == [fill.area for fill in plain.fills]
    assert cut(DIPPING.replace("sheet band 20m", "sheet scale 1:500 band 20m")).fills == plain.fills


def test_a_contact_of_unknown_course_is_cut_at_the_foot_of_the_colour(cut):
    one = cut(UPRIGHT)
    for line in one.lines:
        assert line.above == ()
        (part,) = line.below
        assert part.bounds[1:4:2] == pytest.approx((480.0, 500.0))
    assert unit_at(one, 101, 481) == "Bb"
    assert unit_at(one, 99, 481) == "Aa"


@pytest.mark.parametrize(("end", "deep"), [(112, 3.0), (300, 6.0)])
def test_loose_ground_is_a_lens_over_what_lies_on_both_sides(cut, end, deep):
    """A quarter of its width, or three tenths of the 20 m that were looked at."""
    one = cut(GRAVEL.format(end))
    gravel = one.fills[-1]
    assert gravel.unit == "Qt"
    assert gravel.loose
    assert min(up for _, up in gravel.base) == pytest.approx(500.0 - deep)
    middle = (100 + end) / 2
    assert unit_at(one, middle, 500.0 - deep + 0.2) == "Qt"
    assert unit_at(one, middle, 500.0 - deep - 0.2) == "Aa"


def test_what_was_seen_stands_where_the_lines_have_it_otherwise(cut):
    """One contact that no line parts the ground at: cut upright where the units meet."""
    one = cut(UPRIGHT)
    bare = cut(UPRIGHT, construction=replace(one.section.construction, lines=()))
    assert bare.lines == ()
    assert unit_at(bare, 95, 481) == "Aa"
    assert unit_at(bare, 105, 481) == "Bb"


def test_corners_are_settled(cut):
    for fill in cut(DIPPING).fills:
        for value in shapely.get_coordinates(fill.area).ravel():
            assert settled(float(value), 6) == value


def test_without_heights_there_is_no_ground(cut):
    one = cut(DIPPING.replace(" N 500 m", " N").replace(" level", ""))
    assert one.looked_at.is_empty
    assert one.fills == one.lines == ()


def test_a_log_that_is_only_read_is_not_cut_open():
    found = compile_log(Source(name="a.trav", text=DIPPING), load=lambda name: b"")
    assert found.trav.ground.cuts == ()
    assert [one.section.name for one in map_ground(found.trav).ground.cuts] == ["A-A'"]


def test_a_contact_that_leaves_the_ground_at_a_small_angle_parts_colour(compile_text):
    """A cap dips 0.6° under level ground: all below its base is grit, as far as that was seen, none of it marl."""
    text = """notation 1
bearings true
attitudes dip-right
unit Cm Cap marl ;
unit Gg Grey grit ;
control 1 0 E 0 N 100 m
section A-A' from 1 to 3
at 1
unit Gg
bed 000/0.6
to 2 090 60m level
along 10m
contact Cm/Gg certain 000/0.6
at 2
unit Cm
to 3 090 60m level
unit Cm
bed 000/0.6
"""
    (cut,) = section_ground(compile_text(text).trav).ground.cuts
    deep = shapely.Point(100.0, 100.0 - 1.0)
    assert [one.unit for one in cut.fills if one.area.contains(deep)] == ["Gg"]


NO_CONTACT_BETWEEN = """at 1
unit Cc
bed flat
to 2 090 200m level
unit Cc
bed flat
to 3 090 200m -2
unit Bb
bed flat
to 4 090 200m -6
along 100m
contact Bb/Aa certain
unit Aa
bed flat
to 5 090 200m level
unit Aa
section A-A' from 1 to 5
"""


def test_flat_ground_that_was_walked_on_keeps_its_unit_where_none_of_its_contacts_was_met(compile_text):
    """Between Cc and Bb none was booked: the level contact under Bb doesn't tell that all over it is Bb."""
    trav = compile_text(HEAD + NO_CONTACT_BETWEEN).trav
    section = trav.geology.sections[0]
    assert section.levels
    cut = opened(section, trav)
    for distance_m, unit in ((20.0, "Cc"), (180.0, "Cc"), (390.0, "Bb"), (650.0, "Aa")):
        just_under = Point(distance_m, section.ground_at(distance_m) - 0.2)
        assert {fill.unit for fill in cut.fills if fill.area.contains(just_under)} >= {unit}
    # A skin whose base nobody saw: Bb goes on under it.
    top = [fill for fill in cut.fills if fill.unit == "Cc"]
    assert top
    assert all(fill.base for fill in top)
    # Nobody booked a contact there: it is told by its colour, not by a line.
    assert not any(fill.loose for fill in top)
    assert {
        fill.unit for fill in cut.fills if fill.area.contains(Point(100.0, section.ground_at(100.0) - 12.0))
    } == {"Bb"}
