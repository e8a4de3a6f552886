"""Slips of a tired evening in a walk between two known points: the reading that was copied wrong is named first."""

from __future__ import annotations

import pytest

from traverse.notation.read import read_log
from traverse.source import Source
from traverse.survey import survey_log

# Walked without error: 86, 80 and 90 m to 057, 095 and 022, +10, +5 and -5 degrees, by hand from 1000 E 1000 N.
PAGE = """notation 1
bearings true
precision bearing 1, slope 1, tape 1%
control 1 1000 E 1000 N 898 m ±2 gps
control 4 1184 E 1122 N 912 m ±2 gps
at 1
to 2 057 86.0m +10 back 237
to 3 095 80.0m +5 back 275
to 4 022 90.0m -5 back 202
to 5 100 70.0m level back 280
"""


def surveyed(*edits):
    text = PAGE
    for old, new in edits:
        assert text.count(old) == 1
        text = text.replace(old, new)
    reading = read_log(Source(name="day.trav", text=text), load=lambda *_: None)
    outcome = survey_log(reading.value.log)
    return outcome.value, [one for one in outcome.diagnostics if one.severity.value == "warning"]


def test_the_sound_page_says_nothing():
    assert surveyed()[1] == []


@pytest.mark.parametrize(
    ("edits", "what", "reading"),
    [
        ((("912 m", "2992 m"),), "control 4", "2992 ft"),
        ((("898 m", "2946 m"), ("912 m", "2992 m")), "the known points", "all their heights"),
        ((("control 4", "control 3"),), "control 3", "control 4"),
    ],
)
def test_a_known_point_copied_wrong(edits, what, reading):
    survey, told = surveyed(*edits)
    assert told
    assert (survey.suspects[0].what, survey.suspects[0].reading) == (what, reading)


def test_a_leg_with_every_figure_of_the_leg_above_is_named_before_other_readings():
    _, [failed] = surveyed(("095 80.0m +5 back 275", "057 86.0m +10 back 237"))
    copied = "2 to 3 (line 8) has every figure of 1 to 2 (line 7)"
    assert copied in failed.message
    assert "would explain" not in failed.message.split(copied)[0]


def test_legs_alike_in_a_walk_that_closes_are_not_asked_about():
    north = "to 2 000 50.0m level back 180\nto 3 000 50.0m level back 180\nto 4 000 50.0m level back 180\n"
    walk = "".join(line for line in PAGE.splitlines(True) if not line.startswith("to "))
    text = walk.replace("1184 E 1122 N 912 m", "1000 E 1150 N 898 m") + north
    reading = read_log(Source(name="day.trav", text=text), load=lambda *_: None)
    assert [
        one.code for one in survey_log(reading.value.log).diagnostics if one.severity.value == "warning"
    ] == []
