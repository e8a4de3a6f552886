"""Which unit lies where under a line of section, by what was seen and by what was constructed: by hand, in metres."""

from types import SimpleNamespace

import pytest
import shapely

from traverse.ground.section_runs import UnitRun, as_seen, seen_runs


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
