"""Landmarks, stations placed by their sights, and sights and heights that check the walk."""

from __future__ import annotations

import math

import numpy as np
import pytest

from traverse.location.records import PlaceKind
from traverse.location.sighting import Rays, meet
from traverse.notation.read import read_log
from traverse.source import Source
from traverse.survey import survey_log

HEAD = "notation 1\ndate 2026-06-09\nbearings true\n"


def survey(text, head=HEAD):
    reading = read_log(Source(name="day.trav", text=head + text), load=lambda *_: None)
    assert [one.message for one in reading.diagnostics] == []
    return survey_log(reading.value.log)


def codes(outcome):
    return [one.code for one in outcome.diagnostics]


def rays(*lines, sd=1.5):
    origin = np.array([line[:2] for line in lines], dtype=float)
    return Rays(
        origin_m=origin,
        azimuth_deg=np.array([line[2] for line in lines], dtype=float),
        azimuth_sd_deg=np.full(len(lines), sd),
        origin_covariance_m2=np.zeros((len(lines), 2, 2)),
    )


def test_two_rays_meet():
    """Computed for these tests: from (0, 0) true 074, from (120, -40) true 021: (152.1, 43.6), ellipse 2 by 6 m at 1.5 degrees."""
    met = meet(rays((0, 0, 74), (120, -40, 21)))
    assert met.position_m == pytest.approx((152.1, 43.6), abs=0.05)
    axes = np.sqrt(np.linalg.eigvalsh(met.covariance_m2))
    assert axes == pytest.approx((2, 6), abs=0.7)
    assert met.crossing_deg == pytest.approx(53)


def test_three_rays_share_their_misfit():
    met = meet(rays((0, 0, 45.5), (100, 0, 314.5), (50, -50, 0)))
    assert met.position_m == pytest.approx((50, 49.3), abs=0.5)
    assert met.off_deg == pytest.approx([0, 0, 0], abs=0.6)


def test_parallel_rays_meet_nowhere():
    assert meet(rays((0, 0, 45), (100, 0, 45))) is None
    assert meet(rays((0, 0, 45), (100, 0, 225))) is None


WALK = """control 1 1000 E 1000 N 640 m map
at 1
sight Red-Cliff 074 +5
to 2 108 126.5m
sight Red-Cliff 021 +10
"""


def test_a_landmark_is_placed_where_two_sights_meet():
    outcome = survey(WALK)
    place = outcome.value.places["Red-Cliff"]
    assert place.kind is PlaceKind.SIGHTED
    assert (place.east_m, place.north_m) == pytest.approx((1152, 1043.6), abs=0.6)
    two = outcome.value.places["2"]
    far, near = (
        math.hypot(place.east_m - p.east_m, place.north_m - p.north_m)
        for p in (outcome.value.places["1"], two)
    )
    heights = 640 + far * math.tan(math.radians(5)), 640 + near * math.tan(math.radians(10))
    assert min(heights) < place.up_m < max(heights)
    assert place.ellipse.major_m > place.ellipse.minor_m > 0
    # Each slope is good to a degree: what that is at its distance, and the two weighed together.
    each = [distance * math.radians(1.0) for distance in (far, near)]
    assert place.sd_up_m == pytest.approx(1 / math.sqrt(sum(1 / sd**2 for sd in each)), rel=1e-3)


def test_what_is_described_at_a_landmark_lies_there():
    outcome = survey(WALK + "at Red-Cliff\nrock Limestone, seen from afar\n")
    address = outcome.value.addresses[-1]
    assert (address.east_m, address.north_m) == pytest.approx((1152, 1043.6), abs=0.6)
    assert address.sd_m == pytest.approx(outcome.value.places["Red-Cliff"].ellipse.major_m)


def test_one_sight_places_nothing_and_says_so():
    outcome = survey("at 1\nsight Red-Cliff 074\nto 2 108 126.5m\n")
    assert "Red-Cliff" not in outcome.value.places
    [note] = [one for one in outcome.diagnostics if one.code == "one-sight"]
    assert note.span.line == 5


@pytest.mark.parametrize(
    ("name", "bearing", "code"),
    [
        ("Redclif", "055", "landmark-spelling"),
        ("Redclif", "150", "one-sight"),  # runs elsewhere: Peak-A is not Peak-B
        ("Hut", "055", "one-sight"),  # another thing in one line with it
    ],
)
def test_a_name_like_anothers_is_asked_about_where_its_sight_runs_there(name, bearing, code):
    """From 3 at (1120, 1021) the cliff at (1152, 1043.6) bears 055."""
    outcome = survey(f"{WALK}to 3 000 60m\nsight {name} {bearing}\n")
    [said] = [one for one in outcome.diagnostics if one.code in {"landmark-spelling", "one-sight"}]
    assert (said.code, said.span.line) == (code, 10)
    assert ("Red-Cliff" in said.message) == (code == "landmark-spelling")


def test_sights_along_one_line_place_nothing():
    outcome = survey("at 1\nsight Red-Cliff 074\nto 2 074 126.5m\nsight Red-Cliff 075\n")
    assert "sights-parallel" in codes(outcome)
    assert "Red-Cliff" not in outcome.value.places


def test_sights_that_part_are_questioned():
    outcome = survey("at 1\nsight Red-Cliff 314\nto 2 090 126.5m\nsight Red-Cliff 046\n")
    [warning] = [one for one in outcome.diagnostics if one.code == "sights-apart"]
    assert warning.span.line == 7


FOUR = "at 1\nsight Mast 045\nto 2 090 100m level\nsight Mast {}\nto 3 180 50m level\nsight Mast {}\n"
"""Drawn by hand: Mast stands at (50, 50), which the stations at (0, 0), (100, 0) and (100, -50) read at 045, 315, 333.4."""


def apart(outcome):
    return [one for one in outcome.diagnostics if one.code == "sights-apart"]


def test_three_sights_that_do_not_meet_are_questioned_and_their_place_is_no_surer_than_they_are():
    sound, off = (survey(FOUR.format(315, third)) for third in (333, 350))
    assert apart(sound) == []
    [warning] = apart(off)
    assert warning.code == "sights-apart"
    assert "`333` at 3 (line 9)" in warning.hints[0]
    place = off.value.places["Mast"]
    assert place.ellipse.major_m > math.hypot(place.east_m - 50, place.north_m - 50) / 2
    assert place.ellipse.major_m > 5 * sound.value.places["Mast"].ellipse.major_m


def test_of_four_sights_the_one_that_the_others_speak_against_is_named():
    # From (0, -50) it reads atan(50 / 100) = 026.6.
    outcome = survey(FOUR.format(315, 333) + "to 4 270 100m level\nsight Mast 072\n")
    [warning] = apart(outcome)
    assert warning.span.line == 11
    assert "would read 026" in warning.message


def test_a_sight_from_along_a_leg_is_told_by_its_leg():
    outcome = survey(FOUR.format(315, 333).replace("sight Mast 333", "along 25m\nsight Mast 350"))
    [warning] = apart(outcome)
    assert warning.hints[0].count(" on leg 2–3 at 25m (line 10)") == 1
    assert "(kind=" not in warning.hints[0]


def test_three_sights_to_known_points_that_do_not_meet_are_questioned():
    peaks = PEAKS + "control Peak-C 400 E 1500 N\n"
    a, b, c = (bearing_to(*point) for point in ((1000, 2000), (2000, 1500), (400, 1500)))
    for off, count in ((0, 0), (20, 1)):
        text = f"at P\nsight Peak-A {a:05.1f}\nsight Peak-B {b:05.1f}\nsight Peak-C {c + off:05.1f}\nto Q 090 100m\n"
        assert len(apart(survey(peaks + text))) == count


PEAKS = """control Peak-A 1000 E 2000 N
control Peak-B 2000 E 1500 N
"""


def bearing_to(east, north, here=(1200.0, 1100.0)):
    return math.degrees(math.atan2(east - here[0], north - here[1])) % 360


def test_a_station_is_placed_by_its_sights_to_controls():
    a, b = bearing_to(1000, 2000), bearing_to(2000, 1500)
    outcome = survey(PEAKS + f"at P\nsight Peak-A {a:05.1f}\nsight Peak-B {b:05.1f}\nto Q 090 100m\n")
    places = outcome.value.places
    assert places["P"].kind is PlaceKind.SIGHTED
    assert (places["P"].east_m, places["P"].north_m) == pytest.approx((1200, 1100), abs=2)
    assert places["Q"].east_m == pytest.approx(places["P"].east_m + 100)
    assert places["P"].sd_east_m > 5
    assert places["P"].ellipse.major_m > 1.2 * places["P"].ellipse.minor_m
    assert "resection" in codes(outcome)
    assert outcome.value.closures == ()


def test_a_sight_to_a_control_checks_the_walk():
    text = "control 1 1200 E 1100 N\n" + PEAKS + "at 1\nsight Peak-A {:05.1f}\nto 2 090 10m\n"
    a = bearing_to(1000, 2000)
    assert "sight-agrees" in codes(survey(text.format(a)))
    outcome = survey(text.format(a + 9))
    [warning] = [one for one in outcome.diagnostics if one.code == "sight-disagrees"]
    assert "9 degrees off" in warning.message
    assert warning.span.line == 8


def test_a_sight_betrays_a_declination_applied_twice():
    head = "notation 1\ndate 2026-06-09\nbearings magnetic\ndeclination 8.5 E, 2026, chart\n"
    a = bearing_to(1000, 2000)
    outcome = survey(
        "control 1 1200 E 1100 N\n" + PEAKS + f"at 1\nsight Peak-A {a:05.1f}\nto 2 090 10m\n", head
    )
    [warning] = [one for one in outcome.diagnostics if one.code == "sight-disagrees"]
    assert "applied twice" in warning.hints[0]


def test_a_loop_with_a_sight_is_not_said_to_be_unchecked():
    loop = "to 2 090 100m\nto 3 180 100m\nto 4 270 100m\nclose 1 000 100m\n"
    a = bearing_to(1000, 2000)
    without = survey("control 1 1200 E 1100 N\nat 1\n" + loop)
    sighted = survey("control 1 1200 E 1100 N\n" + PEAKS + f"at 1\nsight Peak-A {a:05.1f}\n" + loop)
    assert "unchecked" in codes(without)
    assert "unchecked" not in codes(sighted)


def test_under_least_squares_a_sight_pulls_the_walk_over():
    head = HEAD + "precision tape 5%\nadjust least-squares\n"
    text = "control 1 1000 E 1000 N\ncontrol Peak-A 1106 E 1200 N\nat 1\nto 2 090 100m\n"
    free = survey(text, head).value.places["2"].east_m
    pulled = survey(text + "sight Peak-A 000\n", head).value.places["2"].east_m
    assert free == pytest.approx(1100)
    # Along: 5 m of the tape against 200 m x 1 degree = 3.49 m of the sight.
    assert pulled == pytest.approx(1100 + 6 * 25 / (25 + 3.4907**2), abs=0.01)


def test_heights_read_twice_give_the_drift():
    text = """control 1 0 E 0 N 1450 m map
at 1
time 07:00
elevation 1450 m altimeter
to 2 090 100m +10
time 08:00
elevation 1472 m altimeter
close 1 270 100m -10
time 09:00
elevation 1460 m altimeter
"""
    outcome = survey(text)
    [note] = [one for one in outcome.diagnostics if one.code == "drift"]
    assert "+10 m" in note.message
    assert "elevation-disagrees" not in codes(outcome)


def test_a_height_that_the_slopes_do_not_bear_out_is_questioned():
    outcome = survey("control 1 0 E 0 N 1450 m map\nat 1\nto 2 090 100m +10\nelevation 1562 m altimeter\n")
    [warning] = [one for one in outcome.diagnostics if one.code == "elevation-disagrees"]
    assert warning.span.line == 7
    assert "95 m above" in warning.message


def test_under_least_squares_a_height_read_counts():
    head = HEAD + "precision slope 3\nadjust least-squares\n"
    text = "control 1 0 E 0 N 1000 m map\nat 1\nto 2 090 100m level\nelevation 1006 m ±5 altimeter\n"
    variance = (100 * math.radians(3)) ** 2
    assert survey(text, head).value.places["2"].up_m == pytest.approx(
        1000 + 6 * variance / (variance + 25), abs=1e-3
    )


def test_a_walk_that_never_comes_to_its_control_is_warned_about():
    outcome = survey("control 9 5000 E 5000 N\nat 1\nto 2 090 100m\n")
    assert "control-unreached" in codes(outcome)
    assert outcome.value.frame.local


def test_what_explains_a_height_is_told_with_the_gap_that_it_leaves_in_height():
    """844 for 944: the walk climbs 46.2 m from 898, so that 944 leaves 0.2 m, and 808 for 898 leaves 10.2 m."""
    outcome = survey(
        "control 1 1000 E 1000 N 898 m ±4 gps\ncontrol 3 1600 E 1000 N 844 m ±4 gps\nprecision bearing 1, slope 1, tape 1%\n"
        "at 1\nto 2 090 300m +4.4\nto 3 090 302.6m +4.4\n"
    )
    assert "heights-fail" in codes(outcome)
    left = {(one.what, one.reading): one.misclosure_after_m for one in outcome.value.suspects}
    assert left["control 3", "944 m"] == pytest.approx(0.2, abs=0.3)
    assert left["control 1", "808 m"] == pytest.approx(9.8, abs=0.5)


STEEP = "control 1 0 E 0 N 100 m\nat 1\nsight Mast 045 {}\nto 2 090 100m level\nsight Mast 315 {}\nto 3 180 50m level\nsight Mast 333 {}\n"
"""Mast as in FOUR, 20 m above the walk: atan(20 / 70.7) = 15.8 degrees from 1 and 2, atan(20 / 111.8) = 10.1 from 3."""


@pytest.mark.parametrize(
    ("angles", "line", "would"),
    [
        (("+16", "+16", "+10"), None, None),
        (("+16", "-16", "+10"), 8, "about +16"),
        (("+16", "+16", "-10"), 10, "about +10"),
    ],
)
def test_of_three_vertical_angles_the_one_that_the_others_speak_against_is_named(angles, line, would):
    outcome = survey(STEEP.format(*angles))
    if line is None:
        assert apart(outcome) == []
        assert outcome.value.places["Mast"].up_m == pytest.approx(120, abs=0.5)
        return
    [warning] = apart(outcome)
    assert (warning.span.line, would in warning.message) == (line, True)
    assert outcome.value.places["Mast"].up_m is None


@pytest.mark.parametrize(("angle", "asked"), [("+5", False), ("-5", True), ("+15", True)])
def test_a_vertical_angle_to_a_known_height_is_held_against_it(angle, asked):
    """From (1200, 1100, 100) to (1000, 2000, 181): 922 m on the level, 81 m up, 5.0 degrees."""
    text = f"control 1 1200 E 1100 N 100 m\ncontrol Peak-A 1000 E 2000 N 181 m\nat 1\nsight Peak-A 347.5 {angle}\nto 2 090 10m level\n"
    told = [one for one in survey(text).diagnostics if one.code == "sight-disagrees"]
    assert [one.span.column for one in told] == ([20] if asked else [])
    assert not asked or "about +5" in told[0].message


def test_a_sight_that_a_slip_of_the_pen_explains_is_named_by_the_figure_of_that_slip():
    """107 for 170 at 5, the second of three: the ridge of a student, where 128 and 210 were read right."""
    walk = "at 2\nsight Cairn 128\nto 5 082 235m\nsight Cairn {}\nto 8 068 270m\nsight Cairn 210\n"
    [warning] = apart(survey(walk.format("107")))
    assert warning.span.line == 7
    assert "`170`, digits exchanged" in warning.hints[0]
    assert apart(survey(walk.format("170"))) == []


def test_digits_in_another_order_are_given_as_they_stood_and_heights_are_not_held_against_them():
    """315 booked 153, and Mast 20 m up, which 45 and 70 m away is +24, +16 and so on: no angle is asked about."""
    walk = "at 1\nsight Mast 045 +16\nto 2 090 100m level\nsight Mast {} +16\nto 3 180 50m level\nsight Mast 333 +10\n"
    assert apart(survey(walk.format("315"))) == []
    outcome = survey(walk.format("351"))
    [warning] = apart(outcome)
    assert warning.span.line == 7
    assert "`315`, digits exchanged" in warning.hints[0]
    place = outcome.value.places["Mast"]  # the one that is named takes no part
    assert (place.east_m, place.north_m) == pytest.approx((50, 50), abs=3)
    assert place.up_m == pytest.approx(20, abs=4)


def test_sights_do_not_meet_by_the_fault_of_a_tie_that_fails():
    walk = "control 1 0 E 0 N\ncontrol 4 0 E -50 N\nat 1\nsight Mast 045\nto 2 {} 100m level\nsight Mast 315\nto 3 180 50m level\nsight Mast 333\nto 4 270 100m level\n"
    assert codes(survey(walk.format("090"))).count("closure-fails") == 0
    outcome = survey(walk.format("060"))
    [failed] = [one for one in outcome.diagnostics if one.code == "closure-fails"]
    for one in apart(outcome):
        assert failed.span in [label.span for label in one.rests_on]
    assert apart(outcome)


@pytest.mark.parametrize(("error", "asked"), [("±1 m", True), ("±25 m", False)])
def test_a_height_is_held_against_a_sight_no_closer_than_it_is_known(error, asked):
    """Over 922 m the peak is 60 m higher, 3.72°: 5.5° puts it 29 m too high, of which the slope's 0.3° are 5 m."""
    text = (
        f"precision slope 0.3\ncontrol 1 1200 E 1100 N 640 m {error} gps\ncontrol Peak-A 1000 E 2000 N 700 m\n"
        f"at 1\nsight Peak-A {bearing_to(1000, 2000):05.1f} +5.5\nto 2 090 10m\n"
    )
    assert ("sight-disagrees" in codes(survey(text))) is asked


def test_how_far_the_heights_of_a_landmark_lie_apart():
    """Both stations are 70.7 m from Mast and on one level: 10° puts it 12.5 m up, 40° 59.3 m."""
    text = "control 1 0 E 0 N 100 m\n" + FOUR.partition("to 3")[0].format(315)
    text = text.replace("Mast 045", "Mast 045 +10").replace("Mast 315", "Mast 315 +40")
    [warning] = apart(survey(text))
    assert "at heights that lie 47\N{NO-BREAK SPACE}m apart" in warning.message.replace(
        "47 m", "47\N{NO-BREAK SPACE}m"
    )
