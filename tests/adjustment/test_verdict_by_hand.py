"""What is said of how a walk closes, in figures: gaps, ways and expectations by trigonometry of the test's own."""

from __future__ import annotations

import math
import re

import pytest

from traverse.notation.read import read_log
from traverse.source import Source
from traverse.survey import survey_log

HEAD = "notation 1\nbearings true\nprecision bearing 1, tape 2%, slope 1\n"


def said(text, code, head=HEAD):
    reading = read_log(Source(name="day.trav", text=head + text), load=lambda *_: None)
    assert [one.message for one in reading.diagnostics if one.severity.value == "error"] == []
    return [one for one in survey_log(reading.value.log).diagnostics if one.code == code]


def walked(*legs):
    """East, north and up of legs by azimuth, distance along the ground and slope."""
    return tuple(
        sum(parts)
        for parts in zip(*(
            (
                far * math.cos(math.radians(slope)) * math.sin(math.radians(azimuth)),
                far * math.cos(math.radians(slope)) * math.cos(math.radians(azimuth)),
                far * math.sin(math.radians(slope)),
            )
            for azimuth, far, slope in legs
        ), strict=True)
    )  # fmt: skip


def expected_m(legs):
    """Each leg is off by a degree across and by two in a hundred along."""
    return math.sqrt(sum((math.radians(1.0) * far) ** 2 + (0.02 * far) ** 2 for _, far, _ in legs))


@pytest.mark.parametrize("turn", [0, 115, 230])
def test_a_loop_that_fails_is_told_by_how_much_which_way_and_what_was_expected(turn):
    legs = [
        ((50 + turn) % 360, 100.0, 0.0),
        ((140 + turn) % 360, 100.0, 0.0),
        ((230 + turn) % 360, 100.0, 0.0),
        ((320 + turn) % 360, 130.0, 0.0),
    ]
    text = "at 1\n" + "".join(
        f"{word} {azimuth:03d} {far:.0f}m level\n"
        for word, (azimuth, far, _) in zip(("to 2", "to 3", "to 4", "close 1"), legs, strict=True)
    )
    (one,) = said(text, "closure-fails")
    east, north, _ = walked(*legs)
    toward = math.degrees(math.atan2(east, north)) % 360.0
    gap, way, far, ratio, expected = re.search(
        r"misses by ([\d.]+) m toward (\d+) in ([\d.]+) m \(1 in (\d+)\); its precision leads one to expect about ([\d.]+) m",
        one.message,
    ).groups()
    assert float(gap) == pytest.approx(math.hypot(east, north), abs=0.06)
    assert int(way) == round(toward) % 360
    assert float(far) == pytest.approx(430.0, abs=0.6)
    assert int(ratio) == round(430.0 / math.hypot(east, north))
    assert float(expected) == pytest.approx(expected_m(legs), abs=0.06)


@pytest.mark.parametrize(("known", "way"), [((200.0, 30.0), 180), ((170.0, 0.0), 90)])
def test_a_tie_that_fails_is_told_from_the_known_place(known, way):
    """As walked it comes out 30 m to the south, or to the east, of where it is known to lie."""
    east, north = known
    text = f"control 1 1000 E 1000 N\ncontrol 3 {1000 + east:.0f} E {1000 + north:.0f} N\nat 1\nto 2 090 100m level\nto 3 090 100m level\n"
    (one,) = said(text, "closure-fails")
    assert re.search(rf"puts 3 as walked 30(\.0)? m toward {way:03d} of its known place", one.message)


@pytest.mark.parametrize(("slope", "way"), [("+12", "high"), ("-12", "low")])
def test_heights_that_fail_are_told_with_their_side(slope, way):
    """100 m at 12 degrees and the rest level: 20.8 m; a degree each of three legs is 3 m."""
    text = f"at 1\nto 2 050 100m {slope}\nto 3 170 98m level\nclose 1 290 98m level\n"
    (one,) = said(text, "heights-fail")
    gap, side, expected = re.search(
        r"comes back ([\d.]+) m too (high|low); its slopes lead one to expect about ([\d.]+) m", one.message
    ).groups()
    assert float(gap) == pytest.approx(100.0 * math.sin(math.radians(12.0)), abs=0.5)
    assert side == way
    # Of the first leg the tape tells its height as well: 2 m along 12 degrees.
    first = math.hypot(
        math.radians(1.0) * 100.0 * math.cos(math.radians(12.0)), 2.0 * math.sin(math.radians(12.0))
    )
    rest = math.radians(1.0) * 98.0
    assert float(expected) == pytest.approx(math.sqrt(first**2 + 2.0 * rest**2), abs=0.06)


@pytest.mark.parametrize(("count", "told"), [(1, True), (2, True), (3, False)])
def test_the_few_legs_without_a_slope_are_named_where_heights_fail(count, told):
    """No more than half of the loop's legs."""
    legs = [("to 2", 30), ("to 3", 90), ("to 4", 150), ("to 5", 210), ("close 1", 291)]
    lines = [
        f"{word} {azimuth:03d} 100m{'' if index < count else ' +14' if index == 4 else ' +1'}\n"
        for index, (word, azimuth) in enumerate(legs)
    ]
    (one,) = said("at 1\n" + "".join(lines), "heights-fail")
    assert ("no slope was booked from" in one.message) is told
    assert not told or "1 to 2 (line 5)" in one.message


@pytest.mark.parametrize(("off", "asked"), [(1.9, True), (2.1, False)])
@pytest.mark.parametrize("way", [0, 60, 200])
def test_a_last_station_is_asked_about_within_twice_the_error_of_the_way_to_it(off, asked, way):
    """A square that ends so far beside where it began; of three legs nobody asks."""
    legs = [(30, 100.0, 0.0), (120, 100.0, 0.0), (210, 100.0, 0.0)]
    error = expected_m([*legs, (300, 100.0, 0.0)])
    east, north, _ = walked(*legs)
    target = (
        -east + off * error * math.sin(math.radians(way)),
        -north + off * error * math.cos(math.radians(way)),
    )
    azimuth, far = math.degrees(math.atan2(*target)) % 360.0, math.hypot(*target)
    text = f"at 1\nto 2 030 100m level\nto 3 120 100m level\nto 4 210 100m level\nto 5 {azimuth:05.1f} {far:.1f}m level\n"
    mine = expected_m([*legs, (azimuth, far, 0.0)])
    assert (off * error <= 2.0 * mine) is asked
    found = said(text, "nearly-met")
    assert bool(found) is asked
    if found:
        (metres,) = re.findall(r"5 comes out ([\d.]+) m from 1", found[0].message)
        assert float(metres) == pytest.approx(off * error, abs=0.1)


@pytest.mark.parametrize(("far", "asked"), [(196, False), (204, True)])
@pytest.mark.parametrize("others", [2, 3])
def test_a_leg_is_asked_about_that_is_five_times_as_long_as_all_others(far, asked, others):
    """Of four legs or more; the others are 40 m long."""
    text = "at 1\n" + "".join(f"to {index + 2} {40 * index:03d} 40m\n" for index in range(others))
    found = said(f"{text}to 9 200 {far}m\n", "far-longer")
    assert bool(found) is (asked and others == 3)
    assert not found or "204 m long, 5 times as long" in found[0].message
