"""A page as typed, from text to places. The figures were worked out by hand for this page; the draw is invented."""

from __future__ import annotations

import subprocess
import sys

import pytest

from traverse.location.records import HeightsMeasured
from traverse.notation.read import read_log
from traverse.source import Source
from traverse.survey import survey_log

PAGE = """notation 1
traverse Sawbill Draw
date 2026-06-09
bearings magnetic
declination 8 1/2 E, 2026, chart
pace double 100 m in 65, 66, 66, 66
control 1 1000 E 1000 N 640 m map
at 1
to 2 N41E 66p level back S42W
along 40p left 12m
note a ledge
to 3 S73E 58 1/2p +4 back N74W
covered 17p to 44p
to 4 S14E 81p -6 back N13W
to 5 N88W 99p level back S89E
close 1 N23W 45p level back S22 1/2E
"""


def survey(text):
    reading = read_log(Source(name="page.trav", text=text), load=lambda _: None)
    assert reading.diagnostics == ()
    return survey_log(reading.value.log)


def test_a_page_with_slopes():
    outcome = survey(PAGE)
    [closure] = outcome.value.closures
    assert outcome.value.paces[0].length_m == pytest.approx(1.521, abs=0.0005)
    assert [leg.horizontal_m for leg in outcome.value.legs[1:3]] == pytest.approx([88.7, 122.5], abs=0.1)
    assert closure.misclosure.distance_m == pytest.approx(3.9, abs=0.05)
    assert closure.ratio == pytest.approx(138, abs=1)
    assert closure.misclosure.up_m == pytest.approx(-6.7, abs=0.05)
    assert closure.span.line == 16
    assert outcome.value.heights is HeightsMeasured.MEASURED
    assert [one.code for one in outcome.diagnostics] == ["unchecked"]


def test_addresses_of_the_page_lie_on_its_legs():
    addresses = survey(PAGE).value.addresses
    ledge, covered = (address for address in addresses if address.leg_azimuth_deg is not None)
    assert ledge.start_share == pytest.approx(40 / 66)
    assert covered.half_width_m == pytest.approx(13.5 * 1.521, abs=0.01)
    assert (covered.start_share, covered.end_share) == pytest.approx((17 / 58.5, 44 / 58.5))


def test_a_days_page_needs_neither_scipy_nor_a_projection():
    script = (
        "import sys; from tests.location.test_survey import PAGE, survey; survey(PAGE); "
        "print(sorted({'scipy', 'pyproj', 'pygeomag', 'matplotlib'} & sys.modules.keys()))"
    )
    run = subprocess.run([sys.executable, "-c", script], check=True, capture_output=True, text=True)
    assert run.stdout.strip() == "[]"


def test_the_norths_of_a_sheet_are_those_of_the_first_leg():
    """A declination that is mended after the first `at` holds for the legs below it, and the diagram is for these."""
    text = (
        "notation 1\nbearings magnetic\ndeclination 5 E, 2026, chart\ncontrol 1 0 E 0 N\nat 1\n"
        "declination 8 W, 2019, change 6' E, valley map\ndate 2026-05-04\nto 2 047 100m\n"
    )
    frame = survey_log(
        read_log(Source(name="day.trav", text=text), load=lambda _: None).value.log
    ).value.frame
    assert frame.declination_deg == pytest.approx(-8.0 + 0.7)
    assert frame.declination_note == "2019, valley map"
