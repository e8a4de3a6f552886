"""One cause, one message, at the line where the cause stands: of the grid, of a known point, of the declination.

The ground is that of an invented walk near 41.9 N, 1.6 W; what the magnetic model gives there is checked against its own
test values in tests/published.
"""

import pytest

LOG = """notation 1
traverse Dun Mirror, Wednesday
date 2026-06-03
grid EPSG:25830
bearings magnetic
declination 1.1 E, 2026, map margin
pace 0.78 m
control 1 612350 E 4640200 N 640 m ±4 gps
control 5 612620 E 4640350 N 665 m ±4 gps
at 1
to 2 079 143p +3 back 260
to 3 111 110p +3 back 290
to 4 066 127p +3 back 245
to 5 355 157p +5 back 176
"""


def warned(compile_text, old, new):
    assert old in LOG
    text = LOG.replace(old, new)
    return [one for one in compile_text(text).diagnostics if one.kind == "warning"]


def test_the_walk_as_it_is_gives_no_warning(compile_text):
    assert not warned(compile_text, "1.1 E", "1.1 E")


def test_a_declination_ten_times_too_large_is_named_first_and_once(compile_text):
    (one,) = warned(compile_text, "1.1 E", "11 E")
    assert (one.code, one.span.line) == ("declination-model", 6)
    assert one.hints[0].startswith("1.1 E, declination ten times too large, would close tie 1-2-3-4-5")


@pytest.mark.parametrize(
    ("old", "new", "line", "typed"),
    [
        ("612350 E 4640200 N", "4640200 E 612350 N", 8, "`612350 E 4640200 N`"),
        ("612620 E 4640350 N", "4640350 E 612620 N", 9, "`612620 E 4640350 N`"),
    ],
)
def test_east_and_north_exchanged_are_told_at_their_line_alone(compile_text, old, new, line, typed):
    (one,) = warned(compile_text, old, new)
    assert (one.code, one.span.line) == ("outside-zone", line)
    assert one.hints[-1] == f"east and north exchanged? {typed} lies inside it"


@pytest.mark.parametrize(("zone", "way"), [("25829", "east"), ("25831", "west")])
def test_the_neighbouring_zone_is_asked_about_where_it_would_bear_the_declination_out(
    compile_text, zone, way
):
    (one,) = warned(compile_text, "25830", zone)
    assert one.code == "declination-model"
    assert (
        f"the zone in the `grid` line the next to the {way}, where these figures would give 1.1 E?"
        in one.hints[0]
    )


def test_no_zone_is_blamed_for_a_letter(compile_text):
    (one,) = warned(compile_text, "1.1 E", "1.1 W")
    assert "zone" not in " ".join(one.hints)


ROUND = """notation 1
traverse Hollin Beck, Wednesday
date 2026-06-03
bearings magnetic
declination 5 E, 2026, map margin
distances metres
grid EPSG:25830
control 1 612350 E 4640200 N ±3 gps
control 5 612730 E 4640260 N ±3 gps
at 1
to 2 109 98 level
to 3 096 102 level
to 4 065 117 level
to 5 040 113 level
to 6 345 112 level
to 7 285 117 level
to 8 255 112 level
to 9 230 122 level
close 1 193 126 level
"""
"""Nine legs worked out by trigonometry from stations in whole metres, read to a degree and a metre."""


@pytest.mark.parametrize("loop", [True, False])
def test_a_reading_that_is_named_is_no_turn_of_the_whole_walk(compile_text, loop):
    """Without the loop too: a declination would not make the walk two thirds as long."""
    text = ROUND.replace("to 2 109", "to 2 190")
    found = compile_text(text if loop else text.partition("to 6")[0])
    named = [one for one in found.trav.survey.suspects if one.slip == "digits exchanged"]
    assert [one.span.line for one in named] == [11]
    assert "walk-does-not-fit" not in [one.code for one in found.diagnostics]


@pytest.mark.parametrize(
    ("old", "new", "underlined"),
    [
        ("111 110p +3 back 290", "111 110p +3 back 209", "209"),
        ("111 110p +3 back 290", "211 110p +3 back 290", "211"),
        ("355 157p +5 back 176", "055 157p +5 back 176", "055"),
    ],
)
def test_of_bearings_that_contradict_each_other_the_one_that_is_meant_is_underlined(
    compile_text, old, new, underlined
):
    (one,) = (one for one in warned(compile_text, old, new) if one.code == "fore-back")
    row = LOG.replace(old, new).splitlines()[one.span.line - 1]
    assert row[one.span.column - 1 :].startswith(underlined)
