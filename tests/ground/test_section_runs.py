"""Which unit lies where under a line of section, by what was seen and by what was constructed: by hand, in metres."""

from types import SimpleNamespace

import pytest
import shapely

from traverse.ground.section_runs import (
    UnitRun,
    as_lines_tell,
    as_seen,
    at_lines,
    evidence_along,
    seen_runs,
    unit_runs,
)
from traverse.structure.section.records import PointKind


def runs(*rows):
    return [UnitRun(unit=unit, start_m=start, end_m=end) for unit, start, end in rows]


def rows_of(found):
    return [(one.unit, pytest.approx(one.start_m), pytest.approx(one.end_m)) for one in found]


def band(*areas):
    return SimpleNamespace(
        areas=[
            SimpleNamespace(unit=unit, parts=[shapely.box(west, -5.0, east, 5.0)])
            for unit, west, east in areas
        ]
    )


def test_areas_of_one_unit_that_touch_are_one_run_round_a_bend_too():
    """East for 100 m, then north for 5 m on the last of them; two areas of one unit meet at 40 m."""
    line = ((0.0, 0.0), (100.0, 0.0), (100.0, 5.0))
    found = seen_runs(
        SimpleNamespace(line=line), band(("Aa", 10, 40), ("Aa", 40, 60), ("Bb", 60, 110), (None, 0, 10))
    )
    assert rows_of(found) == [("Aa", 10.0, 60.0), ("Bb", 60.0, 105.0)]


def test_of_areas_over_each_other_the_first_stands():
    found = seen_runs(
        SimpleNamespace(line=((0.0, 0.0), (100.0, 0.0))), band(("Aa", 0, 50), ("Bb", 30, 70), ("Cc", 35, 45))
    )
    assert rows_of(found) == [("Aa", 0.0, 50.0), ("Bb", 50.0, 70.0)]


def test_what_was_seen_stands_over_what_was_constructed():
    told = runs(("Aa", 0.0, 50.0), ("Bb", 50.0, 100.0))
    assert rows_of(as_seen(told, runs(("Bb", 40.0, 60.0)))) == [("Aa", 0.0, 40.0), ("Bb", 40.0, 100.0)]
    assert rows_of(as_seen(told, ())) == [("Aa", 0.0, 50.0), ("Bb", 50.0, 100.0)]


def test_a_gap_between_ground_seen_to_be_of_one_unit_is_of_that_unit_where_it_is_the_narrowest():
    told = runs(("Bb", 0.0, 200.0))
    narrow = as_seen(told, runs(("Aa", 0.0, 60.0), ("Aa", 80.0, 200.0)))
    assert rows_of(narrow) == [("Aa", 0.0, 200.0)]
    wide = as_seen(told, runs(("Aa", 0.0, 60.0), ("Aa", 130.0, 200.0)))
    assert rows_of(wide) == [("Aa", 0.0, 60.0), ("Bb", 60.0, 130.0), ("Aa", 130.0, 200.0)]


def level_section(*lines, sill=None):
    """100 m on level ground, with constructed lines: younger, older, where each comes out, which way it dips.

    And with a sill: the unit that its wall was booked in, and where that comes out.
    """
    bodies = []
    if sill is not None:
        wall = SimpleNamespace(younger="Gb", older=sill[0])
        side = SimpleNamespace(at=(sill[1], 0.0), wall=wall)
        bodies = [SimpleNamespace(body=SimpleNamespace(unit="Gb"), sides=(side, None))]
    return SimpleNamespace(
        bodies=bodies,
        length_m=100.0,
        profile=[None] * 101,
        ground_at=lambda _: 0.0,
        construction=SimpleNamespace(
            lines=[
                SimpleNamespace(
                    kind=PointKind.CONTACT,
                    younger=younger,
                    older=older,
                    outcrops=((at, 0.0),),
                    stopped=(),
                    again=(),
                    # Upright beds that young the way their dip is given: the younger unit on the left of the line.
                    pieces=(
                        SimpleNamespace(
                            eroded=False,
                            points=((at, 0.0), (at - toward, -30.0))
                            if toward > 0.0
                            else ((at - toward, -30.0), (at, 0.0)),
                        ),
                    ),
                )
                for younger, older, at, toward in lines
            ]
        ),
    )


def told(guess, lines, seen=(), fixed=(), sill=None):
    section = level_section(*lines, sill=sill)
    found = as_lines_tell(runs(*guess), section, runs(*seen), fixed=frozenset(fixed))
    return rows_of(found)


def test_borders_lie_where_their_lines_come_out_and_never_one_past_the_other():
    """Aa, Bb, Cc by halves of the walk; each contact comes out near, but that of Cc before that of Bb."""

    def found(first_m, second_m):
        section = level_section(("Bb", "Aa", first_m, 10.0), ("Cc", "Bb", second_m, 10.0))
        section.profile = [
            SimpleNamespace(distance_m=float(at), unit="Aa" if at < 40 else "Bb" if at < 50 else "Cc")
            for at in range(101)
        ]
        section.levels = section.over = ()
        section.points = []
        for line, at in zip(section.construction.lines, (39.5, 49.5), strict=True):
            line.contacts = [SimpleNamespace(younger=line.younger, older=line.older, own_sd_m=1.0)]
            line.sd_at = lambda _: None
            section.points.append(
                SimpleNamespace(
                    contact=line.contacts[0], distance_m=at, carried_m=0.0, sd_m=1.0, beside=False
                )
            )
        return rows_of(unit_runs(section))

    assert found(37.0, 53.0) == [("Aa", 0, 37.0), ("Bb", 37.0, 53.0), ("Cc", 53.0, 100.0)]
    assert found(47.0, 43.0) == [("Aa", 0, 47.0), ("Cc", 47.0, 100.0)]


TWO = (("Bb", "Aa", 30.0, 10.0), ("Cc", "Bb", 70.0, 10.0))
"""Both young toward greater distance: Aa, Bb, Cc."""


def test_a_guess_over_lines_gives_way_to_what_both_of_them_say():
    assert told([("Aa", 0, 100)], TWO) == [("Aa", 0, 30), ("Bb", 30, 70), (None, 70, 100)]


def test_what_a_line_says_beside_ground_that_was_seen_is_known():
    assert told([("Aa", 0, 90), ("Cc", 90, 100)], TWO, seen=[("Cc", 90, 100)])[-1] == ("Cc", 70, 100)


def test_a_wall_of_a_body_bears_out_what_a_line_says_and_contradicts_none():
    one = TWO[:1]
    assert told([(None, 30, 100)], one) == [(None, 30, 100)]
    assert told([(None, 30, 100)], one, sill=("Bb", 60.0)) == [("Bb", 30, 100)]
    assert told([(None, 30, 100)], one, sill=("Cc", 60.0)) == [(None, 30, 100)]
    assert told([("Bb", 30, 100)], one, sill=("Cc", 60.0)) == [("Bb", 30, 100)]


def test_ground_that_was_seen_stands_against_lines_and_the_rest_is_of_no_known_unit():
    found = told([("Aa", 0, 30), ("Aa", 30, 70), ("Cc", 70, 100)], TWO, seen=[("Dd", 40, 50)])
    assert found == [("Aa", 0, 30), (None, 30, 40), ("Dd", 40, 50), (None, 50, 70), ("Cc", 70, 100)]


def test_where_lines_contradict_each_other_a_guess_of_a_third_unit_is_of_no_known_unit():
    lines = (("Bb", "Aa", 30.0, 10.0), ("Dd", "Cc", 70.0, 10.0))
    assert told([("Aa", 0, 30), ("Ee", 30, 70), ("Dd", 70, 100)], lines)[1] == (None, 30, 70)


def test_a_unit_that_another_rule_tells_stands():
    assert told([("Ww", 0, 100)], TWO, fixed=["Ww"]) == [("Ww", 0, 100)]


def with_one_line(line, points):
    """300 m on level ground, with one constructed line and what was met of it."""
    return SimpleNamespace(
        levels=(),
        over=(),
        points=points,
        construction=SimpleNamespace(lines=(line,)),
        length_m=300.0,
        profile=(None,) * 31,
        ground_at=lambda _: 0.0,
    )


def test_colour_ends_at_a_line_that_the_section_itself_meets_however_well_another_place_of_it_is_known():
    """A contact good to 10 m comes out at 100 m; the map, which joins it to a place 150 m off, shows it at 116 m."""
    met, far = (SimpleNamespace(younger="Bb", older="Aa", own_sd_m=sd_m) for sd_m in (10.0, 5.0))
    points = [
        SimpleNamespace(contact=met, distance_m=100.0, carried_m=-15.0, sd_m=10.0, beside=True),
        SimpleNamespace(contact=far, distance_m=170.0, carried_m=-150.0, sd_m=5.0, beside=False),
    ]
    line = SimpleNamespace(
        kind=PointKind.CONTACT,
        younger="Bb",
        contacts=(met, far),
        outcrops=((100.0, 0.0),),
        pieces=("a piece",),
        sd_at=lambda _: None,
    )
    section = with_one_line(line, points)

    def drawn(border_m):
        seen = runs(("Aa", 0.0, border_m), ("Bb", border_m, 300.0))
        return rows_of(at_lines(seen, section, seen))

    assert drawn(116.0) == [("Aa", 0.0, 100.0), ("Bb", 100.0, 300.0)]
    # The other limb of a fold, which was carried to the section, has the error of its own places.
    line.outcrops = (*line.outcrops, (170.0, 0.0))
    seen = runs(("Bb", 0.0, 174.0), ("Aa", 174.0, 300.0))
    assert rows_of(at_lines(seen, section, seen)) == [("Bb", 0.0, 170.0), ("Aa", 170.0, 300.0)]
    line.outcrops = line.outcrops[:1]
    # Three times what it is good to is no error of its place.
    assert drawn(131.0) == [("Aa", 0.0, 131.0), ("Bb", 131.0, 300.0)]


def test_coloured_ground_is_carried_however_far_off_what_tells_it_was_met():
    """A reading at 10 m of 200; planes of contacts colour the ground from 60 to 120 m, and under it from 120 to 150."""
    section = SimpleNamespace(
        length_m=200.0,
        line=((0.0, 0.0), (200.0, 0.0)),
        profile=[SimpleNamespace(distance_m=at_m, up_m=0.0) for at_m in (0.0, 100.0, 200.0)],
        points=[SimpleNamespace(kind=PointKind.ATTITUDE, distance_m=10.0)],
    )
    areas = [shapely.box(60.0, -20.0, 120.0, 0.0), shapely.box(120.0, -20.0, 150.0, -5.0)]
    cut = SimpleNamespace(section=section, fills=[SimpleNamespace(area=area) for area in areas])
    found = [(one.evidence.value, one.start_m, one.end_m) for one in evidence_along(cut, None, (), 20.0)]
    assert found == [
        ("carried", 0.0, pytest.approx(30.0)),
        ("carried", pytest.approx(60.0), pytest.approx(120.0)),
    ]


def test_a_line_that_comes_out_again_contradicts_a_guess_and_bears_out_none():
    """Bb up to where its line comes out at 70 m, Aa beyond: met there that tells it, with the line at the end; else nothing does."""
    section = level_section(("Bb", "Aa", 70.0, -10.0))
    (line,) = section.construction.lines
    line.again, line.outcrops = line.outcrops, ()

    def found(guess, *seen):
        return rows_of(as_lines_tell(runs(*guess), section, runs(*seen), fixed=frozenset()))

    assert found([("Bb", 0, 100)]) == [("Bb", 0, 70), (None, 70, 100)]
    assert found([("Bb", 0, 70), ("Cc", 70, 100)], ("Cc", 90, 100)) == [
        ("Bb", 0, 70),
        (None, 70, 90),
        ("Cc", 90, 100),
    ]
    assert found([("Bb", 0, 70), (None, 70, 90), ("Aa", 90, 100)], ("Aa", 90, 100)) == [
        ("Bb", 0, 70),
        (None, 70, 90),
        ("Aa", 90, 100),
    ]
    line.outcrops, line.again = line.again, ()
    assert found([("Bb", 0, 70), (None, 70, 90), ("Aa", 90, 100)], ("Aa", 90, 100))[1:] == [("Aa", 70, 100)]


@pytest.mark.parametrize(("dip", "border_m"), [(0.02, 100.0), (0.4, 112.0)])
def test_colour_ends_at_a_gentle_line_within_what_its_height_leaves_open_along_the_ground(dip, border_m):
    """On level ground, good to 1 m in height and at its place: at 0.02 it comes out anywhere within 50 m, at 0.4 within 1 m."""
    met = SimpleNamespace(younger="Bb", older="Aa", own_sd_m=1.0)
    down = SimpleNamespace(eroded=False, points=((100.0, 0.0), (200.0, -100.0 * dip)))
    line = SimpleNamespace(
        kind=PointKind.CONTACT,
        younger="Bb",
        contacts=(met,),
        outcrops=((100.0, 0.0),),
        pieces=(down,),
        sd_at=lambda _: 1.0,
    )
    points = [SimpleNamespace(contact=met, distance_m=100.0, carried_m=-5.0, sd_m=1.0, beside=False)]
    section = with_one_line(line, points)
    found = at_lines(runs(("Aa", 0.0, 112.0), ("Bb", 112.0, 300.0)), section)
    assert rows_of(found) == [("Aa", 0.0, border_m), ("Bb", border_m, 300.0)]


def test_a_line_that_comes_down_out_of_the_air_has_its_units_as_what_was_worn_away_leads_there():
    """The flank of a dome: Bb over a line that leaves the ground at 70 m and comes down to it again at 90 m."""
    section = level_section(("Bb", "Aa", 70.0, -30.0))
    (line,) = section.construction.lines
    below = SimpleNamespace(points=((0.0, -40.0), (70.0, 0.0)), eroded=False)
    above = SimpleNamespace(points=((70.0, 0.0), (80.0, 6.0), (90.0, 0.0)), eroded=True)
    line.pieces, line.again = (below, above), ((90.0, 0.0),)
    told = as_lines_tell(runs(("Bb", 0, 100)), section, (), fixed=frozenset())
    assert rows_of(told) == [("Bb", 0, 70), (None, 70, 90), ("Bb", 90, 100)]
