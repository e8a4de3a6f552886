"""Known points brought into the plane."""

from __future__ import annotations

import pytest

from tests.walk import control, control_at, walk
from traverse.location.crs import open_grid
from traverse.location.known_points import known_points
from traverse.notation.read import read_log
from traverse.source import Source
from traverse.survey import survey_log


def points(*controls):
    return known_points(walk(controls=controls), None)


def test_two_fixes_of_one_place_are_weighed_together():
    fixes, found = points(control("1", 100, 0, sd=3), control("1", 104, 0, sd=4, line=6))
    assert found == ()
    assert fixes["1"].position_m[0] == pytest.approx(100 + 4 * 9 / 25)
    assert fixes["1"].sd_plan_m == pytest.approx(12 / 5)


def test_a_bare_error_is_in_the_unit_that_its_line_gives_the_height():
    text = "notation 1\ntraverse T\ndate 2026-05-11\nparty NN Nora Nash\ngrid EPSG:25833\ndistances feet\n"
    text += "control 1 512000 E 6712000 N 97 m ±4 gps\ncontrol 2 512000 E 6712000 N ±4 97 ±10 gps\n"
    text += "\nat 1\nto 2 090 300 level\n"
    one, two = read_log(Source(name="walk.trav", text=text), load=lambda _: b"").value.log.controls
    assert (one.sd_plan_m, one.sd_height_m) == (4.0, 4.0)
    assert (two.sd_plan_m, two.sd_height_m) == pytest.approx((4 * 0.3048, 10 * 0.3048))


def test_a_held_fix_outweighs_one_with_an_error():
    fixes, _ = points(control("1", 100, 0, sd=3), control("1", 104, 0, line=6))
    assert fixes["1"].position_m[0] == 104
    assert fixes["1"].sd_plan_m == 0


def test_a_height_from_either_line_is_taken():
    fixes, _ = points(control("1", 100, 0, sd=3), control("1", 101, 0, 250, sd=3, sd_height=3, line=6))
    assert fixes["1"].position_m[2] == 250


def test_fixes_too_far_apart_are_said_and_the_second_is_not_used():
    fixes, [warning] = points(control("1", 100, 0, sd=3), control("1", 500, 0, sd=3, line=6))
    assert warning.code == "fixes-disagree"
    assert "400 m apart" in warning.message
    assert warning.span.line == 6
    assert fixes["1"].position_m[0] == 100


def test_outside_the_zone_is_a_warning_and_outside_the_earth_an_error():
    far = survey_log(walk(("1", "2", 0, 10), epsg=32630, controls=[control_at("1", 45.34, -64.12)]))
    assert [(one.code, one.span.line) for one in far.diagnostics] == [("outside-zone", 5)]
    absurd = survey_log(walk(("1", "2", 0, 10), epsg=32630, controls=[control("1", 4289020e3, 412350)]))
    assert [one.severity.value for one in absurd.diagnostics if one.code == "outside-grid"] == ["error"]


@pytest.mark.parametrize(
    ("lon", "lat", "inside"),
    [
        (-3, 40, True),
        (-8, 40, False),
        (-3, -5, False),
        (-6.4, 40, True),
        (-6.6, 40, False),
        (0.4, 40, True),
        (0.6, 40, False),
        (-3, -0.4, True),
        (-3, -0.6, False),
        (-3, 84.4, True),
        (-3, 84.6, False),
    ],
)
def test_the_area_of_a_zone_has_a_margin(lon, lat, inside):
    assert open_grid(32630).covers(lon, lat) is inside


def test_an_area_across_the_date_line():
    grid = open_grid(3851)  # New Zealand, 160 E to 171 W
    assert grid.covers(178.0, -38.0)
    assert grid.covers(-176.5, -44.0)
    assert not grid.covers(0.0, -40.0)


def test_a_known_point_under_another_name_is_asked_about_by_the_station_that_lies_there(compile_text):
    """Station 3 comes out 200 m east of 1, where the page has point 13; 20 is far from any and only noted."""
    rows = "notation 1\nbearings true\ncontrol 1 0 E 0 N\ncontrol {} 203 E 0 N\ncontrol 20 900 E 0 N\nat 1\nto 2 090 100m\nto 3 090 100m\n"
    said = [one for one in compile_text(rows.format(13)).diagnostics if one.code == "control-unreached"]
    assert [(one.span.line, one.severity.value) for one in said] == [(4, "warning"), (5, "note")]
    assert "`control 3`" in said[0].hints[0]
    said = [one for one in compile_text(rows.format(3)).diagnostics if one.code == "control-unreached"]
    assert [(one.span.line, one.severity.value) for one in said] == [(5, "note")]


def test_names_of_two_known_points_exchanged_are_one_slip(compile_text):
    """Walked from west to east; the page has the points the other way round. What the altimeter read is not asked about."""
    rows = "notation 1\nbearings true\ncontrol {} 0 E 0 N 100 m\ncontrol {} 300 E 0 N 180 m\nat 1\nelevation 100 m altimeter\nto 2 090 155m +15\nelevation 140 m altimeter\nto 3 090 155m +15\nelevation 180 m altimeter\n"
    assert not [one for one in compile_text(rows.format(1, 3)).diagnostics if one.severity.value == "warning"]
    [one] = [one for one in compile_text(rows.format(3, 1)).diagnostics if one.severity.value == "warning"]
    assert one.code == "closure-fails"
    assert "names of two known points exchanged" in one.labels[0].text
    assert one.below == 3
