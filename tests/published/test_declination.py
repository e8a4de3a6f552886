"""Declination by the World Magnetic Model against the model's own test values."""

from __future__ import annotations

import dataclasses
import datetime as dt

import pytest

from tests.walk import conditions, control, span, walk
from traverse.diagnostic import Severity
from traverse.location.magnetic import declination_at
from traverse.log.readings import Declination, North
from traverse.survey import survey_log

# NOAA NCEI and BGS, WMM2025 test values (WMM2025testvalues.pdf, February 2025): year, km, latitude, longitude, D.
# https://www.ncei.noaa.gov/sites/default/files/2025-02/WMM2025testvalues.pdf
WMM2025 = [
    (2025, 1, 1, 0, 80, 0, 1.28), (2025, 1, 1, 0, 0, 120, -0.16), (2025, 1, 1, 0, -80, 240, 68.78),
    (2025, 1, 1, 100, 80, 0, 0.85), (2025, 1, 1, 100, 0, 120, -0.15), (2025, 1, 1, 100, -80, 240, 68.21),
]  # fmt: skip
# WMM2020testvalues.pdf, the same layout.
WMM2020 = [(2020, 1, 1, 0, 80, 0, -1.28), (2020, 1, 1, 0, 0, 120, 0.16), (2020, 1, 1, 0, -80, 240, 69.36)]


@pytest.mark.parametrize(("year", "month", "day", "km", "lat", "lon", "declination"), WMM2025 + WMM2020)
def test_the_models_own_values(year, month, day, km, lat, lon, declination):
    value = declination_at(lat, lon, km * 1000.0, dt.date(year, month, day))
    assert value == pytest.approx(declination, abs=0.0051)


def test_an_independent_example():
    """Second-hand: another implementation of WMM2025 prints -13.6891 at 42.283 N 71.35 W, 1000 m, on 4 July 2028.

    Its decimal year may differ by a day. The model's own values are above.
    """
    assert declination_at(42.283, -71.35, 1000.0, dt.date(2028, 7, 4)) == pytest.approx(-13.6891, abs=0.001)


@pytest.mark.parametrize(("lat", "lon", "degrees"), [(61.26, -149.70, 18), (32.35, -84.97, -4)])
def test_a_training_circulars_declinations(lat, lon, degrees):
    """TC 3-25.26 (2013), chapter 6: Fort Richardson, Alaska, 18 E and Fort Benning, Georgia, 4 W in 2013.

    Second-hand, from a copy of the chapter. Printed in whole degrees; the places' positions are from memory.
    """
    assert round(declination_at(lat, lon, 0.0, dt.date(2013, 1, 1))) == degrees


def from_model(date="2026-07-03"):
    at = conditions(bearings=North.MAGNETIC, date=date)
    model = Declination(
        value_deg=None, year=None, change_deg=None, source=None, from_model=True, span=span(7)
    )
    return dataclasses.replace(at, declination=model)


ORIGIN = control("1", 412350, 4289020, 786)


def test_a_log_takes_it_for_its_place_and_day():
    at = from_model()
    survey, diagnostics = survey_log(walk(("1", "2", 90, 100), epsg=25830, at=at, controls=[ORIGIN]))
    place = survey.places["1"]
    expected = declination_at(place.lat_deg, place.lon_deg, 786.0, at.date)
    assert survey.model_declinations == {at.date: pytest.approx(expected)}
    assert survey.legs[0].azimuth_true_deg == pytest.approx(90 + expected)
    assert survey.frame.declination_deg == pytest.approx(expected)
    assert diagnostics == ()


@pytest.mark.parametrize(
    ("settings", "code"),
    [
        ({"at": from_model("2031-07-03"), "epsg": 25830, "controls": [ORIGIN]}, "model-years"),
        ({"at": from_model("1999-07-03"), "epsg": 25830, "controls": [ORIGIN]}, "model-years"),
        ({"at": from_model(None), "epsg": 25830, "controls": [ORIGIN]}, "model-needs-date"),
        ({"at": from_model(), "controls": [ORIGIN]}, "model-needs-place"),
        ({"at": from_model(), "epsg": 25830}, "model-needs-place"),
    ],
)
def test_where_the_model_says_nothing_that_is_an_error_on_its_line(settings, code):
    found = survey_log(walk(("1", "2", 90, 100), **settings)).diagnostics
    [error] = [one for one in found if one.severity is Severity.ERROR]
    assert (error.code, error.span.line) == (code, 7)


def test_a_stated_value_is_compared_with_the_model():
    def said(value):
        at = conditions(bearings=North.MAGNETIC, declination=value, date="2026-07-03")
        return [
            one.code
            for one in survey_log(walk(("1", "2", 90, 100), epsg=25830, at=at, controls=[ORIGIN])).diagnostics
        ]

    assert said(0.6) == []
    assert said(8.5) == ["declination-model"]


def test_the_sheet_names_the_model_and_how_sure_it_is(compile_text):
    """WMM2025 near 46.7 N 13.9 E: the makers' error model gives 0.36 degrees there (0.26 and 5417 nT over H, from memory)."""
    found = compile_text(
        "notation 1\ndate 2026-07-14\ngrid EPSG:25833\nbearings magnetic\ndeclination from model\n"
        "control 1 412472 E 5168878 N 1164 m\nat 1\nto 2 014 35m\n"
    )
    assert found.survey.frame.declination_note == "WMM2025, ± 0.4°"
