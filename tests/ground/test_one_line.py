"""One contact met at several places is one line: by one walk about a corner, and by arms and parties side by side."""

import math

import pytest
import shapely

from traverse.compile import map_ground

HEAD = "notation 1\nbearings true\nattitudes dip-right\nunit Aa Upper ; Jurassic\nunit Bb Lower ; Triassic\n"


@pytest.fixture
def band(compile_text):
    def laid(text):
        return map_ground(compile_text(text).trav).ground.map.band

    return laid


def grounds(band):
    return {area.unit: shapely.union_all(list(area.parts)) for area in band.areas}


def test_a_dike_met_on_both_legs_of_a_corner_runs_through_it_between_its_own_walls(band):
    """Its western wall on one leg, its eastern one on both: along 020, 10 m wide, through a band of 20 m to each side."""
    laid = band(
        "notation 1\nbearings true\nattitudes dip-right\nunit Rs Sandstone ; Jurassic\nunit Db Dike ; ; intrusive\nat 1\n  unit Rs\n"
        "to 2 090 100m\nalong 92m\n  contact Db/Rs certain 020/90\nat 2\n  unit Db\nto 3 090 60m\nalong 2m\n"
        "  contact Db/Rs certain 020/90\nat 3\n  unit Rs\nat 2\nto 4 180 60m\nalong 5.5m\n  contact Db/Rs certain 020/90\n"
        "at 4\n  unit Rs\nsheet band 20 m\n"
    )
    found = grounds(laid)
    for north in (-25.0, -10.0, 0.0, 15.0):
        west = 92.0 + north * math.tan(math.radians(20.0))
        for off, unit in ((-3.0, "Rs"), (3.0, "Db"), (7.0, "Db"), (13.0, "Rs")):
            place = shapely.Point(west + off, north)
            if laid.whole.contains(place):
                assert found[unit].contains(place), (north, off)
    west, east, again = (one for one in laid.crossed)
    assert not west.tied
    assert east.tied
    assert again.tied
    assert east.line.coords[-1] == again.line.coords[-1]


@pytest.mark.parametrize("past_m", [1.0, 4.0])
def test_two_sightings_of_one_contact_from_arms_side_by_side_are_one_line(band, past_m):
    """Three metres apart along the beds, and up to four across them: within what two places are off by."""
    laid = band(
        f"{HEAD}at 1\n  unit Aa\n  bed 000/40\nto 2 090 100m\nalong 50m\n  contact Aa/Bb certain\nat 2\n  unit Bb\n"
        f"to 3 000 3m\nto 4 270 100m\nalong {50.0 + past_m:g}m\n  contact Aa/Bb certain\nat 4\n  unit Aa\nsheet band 20 m\n"
    )
    one, other = laid.crossed
    assert one.tied
    assert other.tied
    assert one.line.coords[-1] == other.line.coords[-1]
    assert shapely.union_all([one.line, other.line]).length == pytest.approx(43.0, abs=3.5)
    assert len(grounds(laid)["Aa"].geoms if grounds(laid)["Aa"].geom_type == "MultiPolygon" else [0]) == 1


def test_two_edges_of_a_strip_between_arms_stay_two(band):
    """The younger side lies west of one and east of the other."""
    laid = band(
        f"{HEAD}at 1\n  unit Aa\n  bed 000/40\nto 2 090 100m\nalong 50m\n  contact Aa/Bb certain\nalong 54m\n"
        "  contact Aa/Bb certain\nat 2\n  unit Aa\nsheet band 20 m\n"
    )
    assert [one.tied for one in laid.crossed] == [False, False]


def test_a_strike_that_runs_into_the_next_leg_turns_until_the_walk_lies_on_its_own_sides(band):
    """Along 065 the line would cross the second leg, which is all Bb, 34 m on; a little aside it passes by."""
    laid = band(
        f"{HEAD}at 1\n  unit Aa\n  bed 065/60\nto 2 000 40m\nalong 30m\n  contact Aa/Bb certain\nat 2\n  unit Bb\n"
        "to 3 080 60m\n  unit Bb\nsheet band 20 m\n"
    )
    (one,) = laid.crossed
    second = shapely.LineString(
        [(0.0, 40.0), (60.0 * math.sin(math.radians(80.0)), 40.0 + 60.0 * math.cos(math.radians(80.0)))]
    )
    assert not one.line.intersects(second)
    assert grounds(laid)["Bb"].buffer(1.0).contains(second)
    ends = sorted(one.line.coords)
    off = math.degrees(math.atan2(ends[-1][0] - one.at[0], ends[-1][1] - one.at[1])) - 65.0
    assert 0.0 < off <= 15.0 + 0.1


def test_ground_beyond_a_contact_that_nobody_walked_is_of_its_other_unit(band):
    """The walk goes along the contact, 8 m beside it, and away: what the band shows of its far side is Bb."""
    laid = band(
        f"{HEAD}at 1\n  unit Bb\n  bed 090/60\nto 2 000 30m\nalong 22m\n  contact Aa/Bb certain\nat 2\n  unit Aa\n"
        "to 3 090 55m\n  unit Aa\n  bed 090/60\nto 4 000 60m\n  unit Aa\nsheet band 20 m\n"
    )
    assert grounds(laid)["Bb"].contains(shapely.Point(45.0, 15.0))
    assert grounds(laid)["Aa"].contains(shapely.Point(45.0, 26.0))


@pytest.mark.parametrize("kind", ["contact", "fault"])
def test_one_line_leads_on_from_two_sightings_of_one_place(compile_text, kind):
    """To an arm 80 m off, from two arms 3 m apart: two joins would run side by side all the way."""
    joins = compile_text(
        f"{HEAD}at 1\n  unit Aa\n  bed 000/40\nto 2 090 100m\nalong 50m\n  {kind} Aa/Bb certain 000/60\nat 2\n  unit Bb\n"
        f"to 3 000 3m\nto 4 270 100m\nalong 51m\n  {kind} Aa/Bb certain 000/60\nat 4\n  unit Aa\nto 5 000 80m\n  unit Aa\n"
        f"to 6 090 100m\nalong 50m\n  {kind} Aa/Bb certain 000/60\nat 6\n  unit Bb\nsheet band 20 m\n"
    ).trav.ground.joins
    assert len(joins) == 1


@pytest.mark.parametrize(("strike", "known"), [(90, False), (30, True)])
def test_a_contact_whose_beds_would_take_it_along_the_walk_is_said_to_be_drawn_square(band, strike, known):
    """The ground changes on the leg, which runs east: a line along it parts nothing."""
    (one,) = band(
        f"{HEAD}at 1\n  unit Aa\n  bed {strike:03d}/40\nto 2 090 100m\nalong 50m\n  contact Aa/Bb certain\nat 2\n  unit Bb\n"
        "sheet band 20 m\n"
    ).crossed
    assert one.course_known is known


def test_a_long_leg_over_a_ridge_has_one_line_with_the_leg_beside_it(band):
    """The leg falls evenly from end to end and the ridge between stands high over that: its heights part no two places there."""
    text = (
        "notation 1\nbearings true\nattitudes dip-right\nunit Jc Upper ; Jurassic\nunit Te Lower ; Triassic\n"
        "sheet band 120 m\nat 1\nunit Jc\nbed 044/40\nto 2 353 462m -14\nalong 98m\ncontact Jc/Te approximate 044/40\n"
        "at 2\nunit Te\nbed 044/40\nto 3 156 1165m -6\nalong 306m\ncontact Jc/Te certain 044/40\nat 3\nunit Jc\n"
        "bed 044/40\n"
    )
    one, other = band(text).crossed
    assert one.tied
    assert other.tied
    assert one.line.distance(other.line) < 0.1
