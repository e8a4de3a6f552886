"""One wrong figure among all that tells heights: it is named at its line, and nobody else is accused.

The day is laid out by hand: legs of 75 m at +6 degrees rise 7.8 m each, ten of them from 640 m to 718 m.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from traverse.causes import under_causes
from traverse.location import odd_height
from traverse.notation.read import read_log
from traverse.source import Source
from traverse.survey import survey_log

HEIGHTS = {1: 639, 4: 664, 8: 696, 11: 721}  # the altimeter, with a drift of 4 m over the day


def day() -> str:
    rows = [
        "notation 1",
        "bearings true",
        "precision bearing 2, slope 2, tape 2%",
        "control 1 0 E 0 N 640 m ±3 gps",
        "control 11 745.9 E 0 N 718 m ±3 gps",
        "at 1",
    ]
    for station in range(1, 12):
        if station > 1:
            rows.append(f"to {station} 090 75m +6")
        if station in HEIGHTS:
            minutes = 25 * (station - 1)
            rows += [
                f"time {9 + minutes // 60:02d}:{minutes % 60:02d}",
                f"elevation {HEIGHTS[station]} m altimeter",
            ]
    return "\n".join(rows) + "\n"


def warned(text):
    reading = read_log(Source(name="page.trav", text=text), load=lambda _: None)
    assert reading.diagnostics == ()
    outcome = survey_log(reading.value.log)
    said = under_causes(outcome.diagnostics)
    return [one for one in said if one.severity.value == "warning"], outcome.value.places


def test_a_sound_day_accuses_nobody():
    found, places = warned(day())
    assert found == []
    assert places["4"].up_m == pytest.approx(663.5, abs=2.0)


@pytest.mark.parametrize(
    ("right", "wrong", "code", "figure"),
    [
        ("elevation 721 m", "elevation 771 m", "elevation-disagrees", "721 m"),
        ("elevation 639 m", "elevation 693 m", "elevation-disagrees", "639 m"),
        ("elevation 696 m", "elevation 796 m", "elevation-disagrees", "696 m"),
        ("N 640 m", "N 460 m", "known-height-disagrees", "640 m"),
        ("N 718 m", "N 781 m", "known-height-disagrees", "718 m"),
    ],
)
def test_one_wrong_height_is_named_at_its_line_and_no_other(right, wrong, code, figure):
    text = day().replace(right, wrong)
    [one], places = warned(text)
    assert one.code == code
    assert wrong in text.splitlines()[one.span.line - 1]
    assert figure in one.hints[0]
    assert [places[name].up_m for name in ("1", "4", "8", "11")] == pytest.approx(
        [640.0, 663.5, 694.9, 718.0], abs=5.0
    )


def test_a_slope_whose_sign_was_lost_is_named_by_the_heights_on_either_side():
    """+12 taken for -12: 31 m too low from there on, while the altimeter and the known point say otherwise."""
    rows = day().splitlines()
    at = rows.index("to 3 090 75m +6")
    rows[at] = "to 3 090 75m -12"
    rows[rows.index("to 2 090 75m +6")] = "to 2 090 75m +0"
    [one], places = warned("\n".join(rows) + "\n")
    assert one.code == "slope-disagrees"
    assert one.span.line == at + 1
    assert any("+12" in hint for hint in one.hints)
    # The slope is not used, so that both sides keep their heights.
    assert [places[name].up_m for name in ("1", "4", "11")] == pytest.approx([640.0, 663.5, 718.0], abs=3.0)


def test_what_the_weather_does_to_an_altimeter_is_a_drift():
    """32 m in four hours, evenly, between two known heights."""
    text = day()
    for station, more in ((4, 8), (8, 20), (11, 28)):
        text = text.replace(f"elevation {HEIGHTS[station]} m", f"elevation {HEIGHTS[station] + more} m")
    found, places = warned(text)
    assert found == []
    assert places["8"].up_m == pytest.approx(694.9, abs=4.0)


def test_two_slopes_that_explain_it_equally_are_both_named():
    """Down 12 degrees twice between two readings, where one of them went up: each would give back the 31 m."""
    rows = day().splitlines()
    for station, slope in ((2, -12), (3, -12), (4, 18)):
        rows[rows.index(f"to {station} 090 75m +6")] = f"to {station} 090 75m {slope:+d}"
    first, second = (i + 1 for i, row in enumerate(rows) if row.endswith("-12"))
    [one], _ = warned("\n".join(rows) + "\n")
    assert one.code == "slope-disagrees"
    assert {one.span.line, *(span.line for span in one.doubts)} >= {first, second}
    assert any("about as well" in hint for hint in one.hints)


def test_a_reading_hours_from_a_known_height_is_not_accused_of_what_the_air_did():
    """17 m too much at 8, three hours after the known height: the air may do that; two hours later it is gone."""
    text = day().replace("elevation 696 m", "elevation 713 m")
    text = text.replace("control 11 745.9 E 0 N 718 m ±3 gps", "control 11 745.9 E 0 N ±3 gps")
    found, _ = warned(text)
    assert found == []


def test_more_heights_than_are_held_against_each_other_at_once(compile_text, monkeypatch):
    """They are taken as they were booked, some at a time, and the odd one is set aside wherever it stands: it tells nothing of the air."""
    monkeypatch.setattr(odd_height, "_HELD", 20)
    lines = ["notation 1", "bearings true", "distances metres", "at 1", "elevation 100 m"]
    for name in range(2, 50):
        lines += ["at 1"] * (name % 10 == 0)
        lines += [f"to {name} {name * 37 % 360:03d} 20m level", f"elevation {100 + name % 2} m"]
    lines[-21] = "elevation 160 m"
    (said,) = compile_text("\n".join(lines) + "\n").diagnostics
    assert (said.code, said.span.line) == ("elevation-disagrees", len(lines) - 20)


def test_a_height_misread_in_a_loop_that_closes_is_named_and_no_slope_in_it():
    """A day of 28 legs over a hill, its second last height typed 358 for 338.

    A slope without its sign would explain it as well, and break the loop, which closes in height.
    """
    text = (Path(__file__).parent / "misread_height.trav").read_text(encoding="utf-8")
    found, _ = warned(text)
    [one] = [one for one in found if one.code in {"elevation-disagrees", "slope-disagrees"}]
    assert text.splitlines()[one.span.line - 1].split() == ["elevation", "358", "m", "altimeter"]
    found, _ = warned(text.replace("elevation 358", "elevation 338"))
    assert not any(one.code in {"elevation-disagrees", "slope-disagrees"} for one in found)


def test_a_height_that_disagrees_by_a_slope_that_a_loop_shows_is_counted_there():
    """Up 6 degrees three times and down again; the sign of the second slope is lost, and one height was read."""
    ways = ["000", "000", "045", "090", "180", "180", "225"]
    slopes = ["+6", "-6", "+6", "level", "-6", "-6", "-6"]
    rows = [
        "notation 1",
        "bearings true",
        "precision bearing 2, slope 1, tape 1%",
        "at 1",
        "elevation 640 m map",
    ]
    for name, (way, slope) in enumerate(zip(ways, slopes, strict=True), 2):
        rows += [f"to {name} {way} 150m {slope}", *(["elevation 687 m map"] if name == 5 else [])]
    [one], _ = warned("\n".join([*rows, "close 1 270 150m level", ""]))
    assert (one.code, one.below) == ("heights-fail", 1)
    assert any(label.text.startswith("(") and "-6" not in label.text.split(",")[0] for label in one.labels)


@pytest.mark.parametrize("line", [6, 9])
def test_of_two_heights_in_feet_the_one_that_fits_in_them_and_not_in_metres_is_asked_about(line):
    rows = ["notation 1", "bearings true", "distances feet", "heights above sea level, map", "at 1"]
    rows += ["elevation 791 ft map", "to 2 090 300ft +5", "to 3 080 300ft +5", "elevation 842 ft map", ""]
    figure = rows[line - 1].split()[1]
    rows[line - 1] = rows[line - 1].replace("ft", "m")
    read = read_log(Source(name="page.trav", text="\n".join(rows)), load=lambda _: None)
    said = survey_log(read.value.log).diagnostics
    (one,) = [one for one in said if one.code == "elevation-disagrees"]
    assert one.span.line == line
    assert f"was it {figure} ft, feet taken for metres?" in one.hints[0]
