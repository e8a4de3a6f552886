"""Readings of a tired party, and what is named as their cause at which line."""

LOOP = """notation 1
bearings true
precision slope 0.5
at 1
to 2 000 200m +4
to 3 090 200m +3
to 4 180 200m -4
close 1 270 200m -3
"""
TIE = """notation 1
grid EPSG:32620
bearings true
pace IR double 1.50 m
pace SV double 1.80 m
precision bearing 1, pace 1%
control 1 405000 E 5020000 N
control 3 405150 E 5020150 N
at 1
pacer SV
to 2 000 100dp
to 3 090 100dp
"""
STARTED = """notation 1
bearings true
unit Ms Mudstone ;
unit Ss Sandstone ;
at 1
unit Ms
to 2 010 137m
unit Ss
along 50m
contact Ms/Ss certain
to 3 085 98m
unit Ss
to 4 170 121m
unit Ms
along 50m
contact Ms/Ss certain
close {end} 260 144m
"""


def test_a_slope_ten_degrees_too_large_is_named(compile_text):
    slips = compile_text(LOOP.replace("+4", "+14")).survey.suspects
    assert (slips[0].start, slips[0].reading, slips[0].slip) == ("1", "+4", "slope too steep by 10 degrees")


def test_a_slope_ten_degrees_too_small_is_named(compile_text):
    text = LOOP.replace("000 200m +4", "000 200m +14").replace("180 200m -4", "180 200m -14")
    slips = compile_text(text.replace("+14", "+4")).survey.suspects
    assert ("1", "+14", "slope too gentle by 10 degrees") in [
        (one.start, one.reading, one.slip) for one in slips
    ]


def test_the_wrong_pacer_is_named_at_the_line_that_hands_over(compile_text):
    done = compile_text(TIE)
    first = done.survey.suspects[0]
    assert (first.span.line, first.what, first.written, first.reading) == (
        10,
        "pacer SV",
        "pacer SV",
        "pacer IR",
    )


def test_closing_on_the_wrong_station_is_told_at_the_leg_alone(compile_text):
    """The unit at that station follows no contact, which is told as resting on the leg."""
    assert not [one for one in compile_text(STARTED.format(end="1")).diagnostics if one.kind == "warning"]
    found = [one for one in compile_text(STARTED.format(end="2")).diagnostics if one.kind == "warning"]
    assert [(one.code, one.span.line, one.below) for one in found] == [("closure-fails", 17, 1)]
