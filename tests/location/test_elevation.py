"""Heights read on the way: datum, drift, what does not fit, and heights where no slope was read. All worked by hand."""

from __future__ import annotations

import math

import pytest

from traverse.location.records import HeightsMeasured
from traverse.notation.read import read_log
from traverse.source import Source
from traverse.survey import survey_log

HEAD = "notation 1\nbearings true\npace 1 m\n"


def survey(rows):
    reading = read_log(Source(name="page.trav", text=HEAD + rows), load=lambda _: None)
    assert reading.diagnostics == ()
    return survey_log(reading.value.log)


def warnings(outcome):
    return [(one.code, one.span.line) for one in outcome.diagnostics if one.severity.value == "warning"]


def up(outcome):
    return {name: place.up_m for name, place in outcome.value.places.items()}


def test_without_slopes_heights_come_from_the_readings_alone():
    outcome = survey(
        "at 1\nelevation 412 m altimeter\nto 2 010 100p\nelevation 425 m altimeter\nto 3 100 100p\n"
        "to 4 190 100p\nelevation 441 m altimeter\n"
    )
    found = up(outcome)
    assert [found["1"], found["2"], found["4"]] == pytest.approx([412, 425, 441], abs=1)
    assert found["3"] == pytest.approx(433, abs=1)  # half-way, and known poorly
    assert outcome.value.places["3"].sd_up_m > 10
    assert outcome.value.heights is HeightsMeasured.PARTLY
    assert warnings(outcome) == []


def test_a_known_height_at_the_start_is_the_datum_of_the_altimeter():
    """It read 405 at 400: 5 m too much all day."""
    outcome = survey(
        "control 1 0 E 0 N 400 m map\nat 1\nelevation 405 m altimeter\nto 2 010 100p\nelevation 425 m altimeter\n"
        "to 3 100 100p\nelevation 441 m altimeter\n"
    )
    assert [up(outcome)[name] for name in "123"] == pytest.approx([400, 420, 436], abs=1)
    assert warnings(outcome) == []


@pytest.mark.parametrize("source", ["altimeter", "map", "gps"])
def test_a_height_at_the_start_is_the_datum(source):
    outcome = survey(f"at 1\nelevation 400 m {source}\nto 2 010 100p +5\nto 3 100 100p +5\n")
    assert [up(outcome)[name] for name in "123"] == pytest.approx([400, 408.7, 417.4], abs=0.1)


def test_a_height_read_on_the_way_is_the_datum_of_what_lies_before_it_too():
    """Two legs of 100 m at 5 degrees rise 8.7 m each; the height was read at the end of the first."""
    outcome = survey("at 1\nto 2 010 100p +5\nelevation 400 m altimeter\nto 3 100 100p +5\n")
    assert [up(outcome)[name] for name in "123"] == pytest.approx([391.3, 400, 408.7], abs=0.1)


SLOPES = (
    "at 1\ntime 08:00\nelevation 200 m altimeter\nto 2 010 100p +6\ntime 08:20\nelevation 211 m altimeter\n"
    "to 3 100 100p +3\ntime 08:40\nelevation 216 m altimeter\nto 4 190 100p -4\ntime 09:00\nelevation 209 m altimeter\n"
)


def test_honest_readings_are_not_asked_about():
    assert warnings(survey(SLOPES)) == []


def test_a_reading_that_does_not_fit_is_a_suspect():
    outcome = survey(SLOPES.replace("211 m", "121 m"))
    assert warnings(outcome) == [("elevation-disagrees", 9)]
    [suspect] = outcome.value.suspects
    assert (suspect.span.line, suspect.what, suspect.reading) == (9, "the height at 2", "211 m")
    assert up(outcome)["3"] == pytest.approx(216, abs=1.5)


def test_drift_runs_between_two_readings_at_one_place_and_stops_there():
    """6 m from 8 to 9: 3 m are gone at half past 8, and at 13 hours it is still 6."""
    outcome = survey(
        "at 1\ntime 08:00\nelevation 200 m altimeter\nto 2 010 100p\ntime 08:30\nelevation 213 m altimeter\n"
        "close 1 190 100p\ntime 09:00\nelevation 206 m altimeter\nto 4 190 100p\ntime 13:00\nelevation 213 m altimeter\n"
    )
    assert [up(outcome)[name] for name in "124"] == pytest.approx([200, 210, 207], abs=0.8)
    [said] = [one for one in outcome.diagnostics if one.code == "drift"]
    assert "+6 m from 08:00 to 09:00" in said.message
    assert "after the last" in said.message


def test_two_heights_of_one_place_too_far_apart_are_no_drift():
    outcome = survey(
        "at 1\ntime 08:00\nelevation 211 m altimeter\nto 2 010 100p +6\ntime 08:20\nelevation 221 m altimeter\n"
        "close 1 190 100p -6\ntime 09:00\nelevation 121 m altimeter\n"
    )
    assert warnings(outcome) == [("elevation-disagrees", 12)]
    assert [up(outcome)[name] for name in "12"] == pytest.approx([211, 221], abs=1)
    assert [one.reading for one in outcome.value.suspects] == ["211 m"]


def test_what_is_too_much_for_a_drift_names_both_figures_and_their_lines(compile_text):
    """68 m at one place in an hour and a half, and the reading after it as much: no one figure explains both."""
    compiled = compile_text(
        "notation 1\nbearings true\ncontrol 1 0 E 0 N 1450 m map\nat 1\ntime 08:00\nelevation 1452 m altimeter\n"
        "to 2 090 100m\ntime 08:30\nelevation 1460 m altimeter\nclose 1 270 100m\ntime 09:30\nelevation 1520 m altimeter\n"
        "to 3 180 100m\ntime 10:00\nelevation 1521 m altimeter\n"
    )
    (one,) = [one for one in compiled.diagnostics if one.code == "drift-too-fast"]
    assert one.message.startswith("1452 m (line 6) and 1520 m here are 68 m apart")
    assert one.span.line == 12


def test_an_altimeter_read_twice_at_one_stop_has_both_its_times(compile_text):
    """Each `time` holds for what stands below it: 4 m in the hour and a half of a rest."""
    compiled = compile_text(
        "notation 1\nbearings true\ncontrol 1 0 E 0 N 1450 m map\nat 1\ntime 09:30\nelevation 1452 m altimeter\n"
        "time 11:00\nelevation 1456 m altimeter\nto 2 090 100m level\n"
    )
    (one,) = [one for one in compiled.diagnostics if one.code == "drift"]
    assert "+4 m from 09:30 to 11:00" in one.message


@pytest.mark.parametrize("at", ["1", "2"])
def test_where_no_known_point_has_a_height_the_first_reading_is_the_datum(compile_text, at):
    """500 m where it was read, and 100 sin 10° less or more at the other end of the leg."""
    reading = "elevation 500 m altimeter\n"
    text = f"notation 1\nbearings true\nat 1\n{reading if at == '1' else ''}to 2 090 100m +10\n{reading if at == '2' else ''}"
    places = compile_text(text).survey.places
    rise = 100.0 * math.sin(math.radians(10.0))
    assert places[at].up_m == pytest.approx(500.0, abs=1e-6)
    assert places["2"].up_m - places["1"].up_m == pytest.approx(rise, abs=1e-6)
    # Nothing closes here, so what was walked stands as it was.
    assert [one.raw.up_m for one in places.values()] == pytest.approx([one.up_m for one in places.values()])


def test_a_drift_is_told_with_its_amount_and_its_hours(compile_text):
    """3 m too much at 07:00 and 9 m at 09:30 at one known height: 5.4 m of the 6 by 09:15; then 6 m too much at 11:00."""
    compiled = compile_text(
        "notation 1\nbearings true\ncontrol 1 0 E 0 N 1450 m map\nat 1\ntime 07:00\nelevation 1453 m altimeter\n"
        "to 2 090 100m level\ntime 09:15\nelevation 1458.4 m altimeter\nclose 1 270 100m level\nat 1\ntime 09:30\n"
        "elevation 1459 m altimeter\nat 1\ntime 11:00\nelevation 1456 m altimeter\n"
    )
    (one,) = [one for one in compiled.diagnostics if one.code == "drift"]
    assert "+3 m from 07:00 to 11:00" in one.message
    assert one.span.line == 16
    assert compiled.survey.places["2"].up_m == pytest.approx(1450.0, abs=1e-6)
    assert not any(one.code == "elevation-disagrees" for one in compiled.diagnostics)


def test_an_altimeter_once_off_a_known_height_is_taken_as_off_all_day(compile_text):
    compiled = compile_text(
        "notation 1\nbearings true\ncontrol 1 0 E 0 N 1450 m map\nat 1\ntime 07:00\nelevation 1445 m altimeter\n"
        "to 2 090 100m level\n"
    )
    (one,) = [one for one in compiled.diagnostics if one.code == "drift"]
    assert "-5 m off a known height" in one.message.replace("\N{MINUS SIGN}", "-")
