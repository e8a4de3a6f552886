"""Local attraction solved from fore and back bearings."""

from __future__ import annotations

import re

import pytest

from tests.walk import conditions, control, pace, walk
from traverse.notation.read import read_log
from traverse.reduction import attraction
from traverse.source import Source
from traverse.survey import survey_log

RING = [("1", "2", 50), ("2", "3", 115), ("3", "4", 175), ("4", "5", 280), ("5", "1", 346)]


def attracted(pull, legs=RING, **settings):
    """Legs of 100 m with both bearings, read with the compass pulled at some stations."""
    booked = [
        (a, b, (azimuth + pull.get(a, 0)) % 360, 100, {"back": (azimuth + 180 + pull.get(b, 0)) % 360})
        for a, b, azimuth in legs
    ]
    return survey_log(walk(*booked, **settings))


def deviations(survey):
    return {one.station: one.degrees for one in survey.deviations}


def test_an_attracted_station_is_found_and_its_bearings_mended():
    survey, diagnostics = attracted({"4": 4.5})
    assert deviations(survey) == pytest.approx({"4": 4.5})
    assert [leg.azimuth_true_deg for leg in survey.legs] == pytest.approx([50, 115, 175, 280, 346])
    assert survey.legs[2].fore_back_deg == pytest.approx(-4.5)
    [warning] = [
        one for one in diagnostics if one.severity.value == "warning" and one.code != "closure-fails"
    ]
    assert warning.code == "local-attraction"
    assert "4 degrees high at 4" in warning.message
    assert "1, 2, 3, 5" in warning.message
    assert warning.span.line == 120


def test_more_than_five_degrees_is_asked_about_and_left_in():
    survey, diagnostics = attracted({"4": 9})
    assert survey.deviations == ()
    assert survey.legs[3].azimuth_true_deg == pytest.approx(289)
    said = [one.code for one in diagnostics if one.code.startswith(("local", "fore-back"))]
    assert said == ["local-attraction-asked"]


@pytest.mark.parametrize("pull", [25, 46, 80])
def test_what_no_iron_does_is_left_to_the_figures(pull):
    survey, diagnostics = attracted({"4": pull})
    assert survey.deviations == ()
    assert {one.code for one in diagnostics if one.severity.value == "warning"} >= {"fore-back"}


def test_a_clean_station_between_two_with_iron_is_left_as_it_is():
    legs = [(str(i), str(i % 9 + 1), 40 * i) for i in range(1, 10)]
    survey, _ = attracted({"3": 4.5, "5": 4.5}, legs)
    assert deviations(survey) == pytest.approx({"3": 4.5, "5": 4.5})


def test_two_figures_misread_do_not_turn_what_lies_between():
    legs = [(str(i), str(i % 12 + 1), 30 * i) for i in range(1, 13)]
    booked = [(a, b, azimuth % 360, 100, {"back": (azimuth + 180) % 360}) for a, b, azimuth in legs]
    booked[2] = ("3", "4", 99, 100, {"back": 270})
    booked[7] = ("8", "9", 251, 100, {"back": 60})
    survey, diagnostics = survey_log(walk(*booked))
    assert survey.deviations == ()
    assert [one.span.line for one in diagnostics if one.code == "fore-back"] == [120, 170]


def test_two_neighbours_attracted_alike_are_found_together():
    chain = [(str(i), str(i + 1), 90) for i in range(1, 8)]
    survey, _ = attracted({"4": -4.5, "5": -4.5}, chain)
    assert deviations(survey) == pytest.approx({"4": -4.5, "5": -4.5})


def test_scatter_is_shared_by_least_squares():
    legs = [("1", "2", 90), ("2", "3", 90), ("3", "4", 90), ("4", "5", 90)]
    booked = [
        (a, b, azimuth, 100, {"back": azimuth + 180 + off})
        for (a, b, azimuth), off in zip(legs, (0, 5, -4.4, 0), strict=True)
    ]
    # d(2,3) = -5 = a2 - a3 and d(3,4) = 4.4 = a3 - a4 with 4 no part of the largest group: chained, not averaged.
    survey, _ = survey_log(walk(*booked))
    assert deviations(survey) == pytest.approx({"3": 4.7}, abs=0.31)


def test_a_single_disagreement_is_a_figure_to_look_at_and_not_iron():
    chain = [
        ("1", "2", 90, 100, {"back": 270}),
        ("2", "3", 90, 100, {"back": 281}),
        ("3", "4", 90, 100, {"back": 270}),
    ]
    survey, diagnostics = survey_log(walk(*chain))
    assert survey.deviations == ()
    assert [one.code for one in diagnostics] == ["fore-back"]


def test_in_a_loop_the_other_legs_show_that_one_figure_was_misread():
    legs = [(a, b, azimuth, 100, {"back": (azimuth + 180) % 360}) for a, b, azimuth in RING]
    legs[3] = ("4", "5", 290, 100, {"back": 100})
    survey, _ = survey_log(walk(*legs))
    assert survey.deviations == ()
    legs[3] = ("4", "5", 290, 100, {"back": 99 + 360 - 359})
    assert survey_log(walk(*legs)).value.deviations == ()


def test_reversed_bearings_take_no_part():
    legs = [(a, b, azimuth, 100, {"back": (azimuth + 180) % 360}) for a, b, azimuth in RING]
    legs[1] = ("2", "3", 295, 100, {"back": 295})
    survey, diagnostics = survey_log(walk(*legs))
    assert survey.deviations == ()
    assert "fore-back-reversed" in [one.code for one in diagnostics]


@pytest.mark.parametrize(("at", "read"), [(0, "back"), (1, "fore")])
def test_iron_that_one_bearing_of_the_station_speaks_against_is_not_believed(at, read):
    """Of three bearings read at 4 two are 4.5 degrees high and one is not."""
    legs = [*RING, ("2", "4", 200), ("4", "6", 20)]
    booked = [
        [a, b, (azimuth + 4.5 * (a == "4")) % 360, 100, {"back": (azimuth + 180 + 4.5 * (b == "4")) % 360}]
        for a, b, azimuth in legs
    ]
    assert deviations(survey_log(walk(*booked)).value) == pytest.approx({"4": 4.5})
    if read == "back":
        booked[5][4]["back"] -= 9
    else:
        booked[3][2] -= 9
    assert deviations(survey_log(walk(*booked)).value) == {}


def test_many_equations_are_solved_as_few_are(monkeypatch):
    legs = [(str(i), str(i % 24 + 1), 15 * i) for i in range(1, 25)] + [("3", "8", 70), ("8", "13", 145)]
    pull = {"3": 4.5, "8": -4.8, "13": 4.4, "17": 4.9}
    few = deviations(attracted(pull, legs).value)
    assert few == pytest.approx(pull)
    monkeypatch.setattr(attraction, "DENSE_LIMIT", 0)
    assert deviations(attracted(pull, legs).value) == few


def test_of_many_stations_free_of_iron_five_are_named():
    legs = [(str(i), str(i % 9 + 1), 40 * i) for i in range(1, 10)]
    [said] = [one for one in attracted({"4": 4.5}, legs).diagnostics if one.code == "local-attraction"]
    assert "stations 1, 2, 3, 5, 6 and 3 more taken as free" in said.message


def test_without_back_bearings_nothing_is_said():
    survey, diagnostics = survey_log(
        walk(*((a, b, azimuth, 100) for a, b, azimuth in RING), controls=[control("1", 0, 0)])
    )
    assert survey.deviations == ()
    assert all(one.code != "local-attraction" for one in diagnostics)


def test_side_shots_from_an_attracted_station_are_mended_too():
    booked = [
        (
            a,
            b,
            (azimuth + (4.5 if a == "3" else 0)) % 360,
            "100p",
            {"back": (azimuth + 180 + (4.5 if b == "3" else 0)) % 360},
        )
        for a, b, azimuth in RING
    ]
    booked.insert(3, ("3", "3a", 24.5, "20p", {"kind": "side"}))
    survey, _ = survey_log(walk(*booked, at=conditions(pace=pace(1.0))))
    assert survey.legs[3].azimuth_true_deg == pytest.approx(20)


IRON_PAGE = """notation 1
bearings true
attitudes dip-right
pace 1 m
at 1
to 2 050 100p back 230
to 3 122 100p back 302
to 4 194 100p back 014
to 5 266 100p back 086
close 1 338 100p back 158
"""


def with_iron(text=IRON_PAGE, pull=9, said="iron wire fence\n"):
    """A page on which the compass was pulled at 4, and what is said of it below its line."""
    text = text.replace("back 014", f"back {14 + pull:03d}").replace("to 5 266", f"to 5 {266 + pull}")
    text = text.replace("to 5", f"{said}bed 140/30\nto 5")
    reading = read_log(Source(name="page.trav", text=text), load=lambda _: None)
    assert not [one for one in reading.diagnostics if one.severity.value == "error"]
    return survey_log(reading.value.log)


def test_iron_that_the_log_admits_is_taken_out_beyond_five_degrees():
    survey, diagnostics = with_iron(said="")
    assert deviations(survey) == {}
    [asked] = [one for one in diagnostics if one.code == "local-attraction-asked"]
    assert "`iron wire fence`" in asked.hints[0]
    survey, diagnostics = with_iron()
    assert deviations(survey) == pytest.approx({"4": 9.0})
    assert [one.severity.value for one in diagnostics if one.code == "iron-taken"] == ["note"]
    assert not [one for one in diagnostics if one.severity.value == "warning"]


def test_a_loop_that_iron_would_mend_accuses_no_leg():
    survey, diagnostics = with_iron(said="", pull=18)
    assert survey.suspects == ()
    [failed] = [one for one in diagnostics if one.code == "closure-fails"]
    assert "answer first what is asked of iron at 4" in failed.hints[0]


def test_iron_of_which_nothing_tells_the_size_turns_nothing_and_is_asked_about():
    survey, diagnostics = with_iron(re.sub(r" back \d+", "", IRON_PAGE), pull=0)
    assert deviations(survey) == {}
    [asked] = [one for one in diagnostics if one.severity.value == "warning"]
    assert asked.code == "iron-unknown"


def test_iron_that_turned_nothing_is_a_note():
    survey, diagnostics = with_iron(pull=1)
    assert deviations(survey) == {}
    assert [one.severity.value for one in diagnostics if one.code == "iron-small"] == ["note"]


def test_iron_along_a_leg_is_refused():
    text = IRON_PAGE.replace("to 5", "along 30p\niron wire fence\nto 5")
    [problem] = read_log(Source(name="page.trav", text=text), load=lambda _: None).diagnostics
    assert (problem.code, problem.span.line) == ("iron-place", 10)


@pytest.mark.parametrize(
    ("written", "fits"),
    [
        ("090 80m back 207", "`back 270`"),
        ("128 80m back 038", "`back 308` or `218`"),
        ("N37E 80m back S73W", "`back S37W` or `N73E`"),
    ],
)
def test_a_bearing_with_two_digits_exchanged_is_offered(compile_text, written, fits):
    page = f"notation 1\nbearings true\nat 1\nto 2 {written}\nto 3 090 80m back 270\n"
    (one,) = [one for one in compile_text(page).diagnostics if one.code == "fore-back"]
    assert f"two digits exchanged? {fits} would fit" in one.hints[0]


def test_a_fore_bearing_copied_as_the_back_is_asked_about(compile_text):
    page = "notation 1\nbearings true\nat 1\nto 2 034 80m back 034\nto 3 090 80m back 270\n"
    (one,) = [one for one in compile_text(page).diagnostics if one.code == "fore-back-reversed"]
    assert "leave `back 034` out" in one.hints[0]


def test_what_closes_the_loop_is_offered_alone(compile_text):
    """With `back 245` the fore bearing, which is what was misread, would stand."""
    page = (
        "notation 1\nbearings true\nattitudes dip-right\nat 1\nto 2 063 60m back 254\nto 3 163 60m back 343\n"
        "to 4 253 60m back 073\nclose 1 343 60m back 163\n"
    )
    (one,) = [one for one in compile_text(page).diagnostics if one.code == "fore-back"]
    assert one.hints[0].startswith("073, bearing 10 degrees too small, would close loop 1-2-3-4-1")
    assert "245" not in " ".join(one.hints)
