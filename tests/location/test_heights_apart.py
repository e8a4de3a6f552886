"""A known point's height and an altimeter read there: one question where they are too far apart."""

import pytest

from traverse.compile import compile_log
from traverse.source import Source

DAY = (
    "notation 1\ndate 2026-05-19\nbearings true\npace 1 m\nheights {heights}\ncontrol 1 0 E 0 N {control} m ±5 gps\n\n"
    "at 1\ntime 09:10\nelevation 456 m altimeter\n\nto 2 010 100p +5\nelevation 465 m altimeter\ntime 10:00\n\n"
    "to 3 130 100p -5\nelevation 456 m altimeter\ntime 11:00\n\nclose 1 250 100p level\nelevation 459 m altimeter\n"
    "time 12:00\n"
)


def asked(control, heights="above sea level", text=DAY):
    rows = text.format(control=control, heights=heights)
    said = compile_log(Source(name="page.trav", text=rows), load=lambda _: None).diagnostics
    return [one for one in said if one.code == "known-height-disagrees"]


@pytest.mark.parametrize(
    ("control", "heights", "slip"),
    [
        ("556", "above sea level, spot height on map", "456 m, one digit misread"),
        ("556", "altimeter set at spot height 456", "456 m, one digit misread"),
        ("546", "altimeter set at spot height 456", "456 m, two digits exchanged"),
    ],
)
def test_a_height_that_the_altimeter_contradicts_is_asked_about_once_with_both_figures(
    control, heights, slip
):
    (one,) = asked(control, heights)
    assert one.span.line == 6
    assert f"{control} m" in one.message
    assert "456 m" in one.message
    assert slip in one.hints[0]
    assert [label.span.line for label in one.labels] == [10]


@pytest.mark.parametrize(
    ("control", "heights"),
    [
        ("456", "altimeter set at spot height 456"),
        ("470", "altimeter set at spot height 456"),  # within what both are read to
        ("520", "above sea level"),  # nobody says that it was set, and some are 60 m off in the morning
    ],
)
def test_what_an_altimeter_may_read_there_is_not_asked_about(control, heights):
    assert asked(control, heights) == []


def test_what_drifted_since_it_was_set_is_not_asked_about():
    """Set at the hut, 25 m off at the known point five hours later: the air does 6 m an hour."""
    text = (
        "notation 1\ndate 2026-05-19\nbearings true\npace 1 m\nheights {heights}\ncontrol 2 0 E 0 N {control} m map\n\n"
        "at 1\ntime 08:00\nelevation 400 m altimeter\n\nto 2 010 100p\ntime 13:00\nelevation 425 m altimeter\n"
    )
    assert asked("400", "altimeter set at the hut", text) == []
    assert len(asked("550", "altimeter set at the hut", text)) == 1


@pytest.mark.parametrize(
    ("stated", "meant", "figure"), [("metres", "feet", "1496"), ("feet", "metres", "456")]
)
def test_the_unit_of_heights_without_one_goes_before_each_of_them(stated, meant, figure):
    """Asked at the line that gives it; with a unit of its own, or the right one, there is nothing to ask."""
    other = str(int(figure) + 8)
    text = DAY.replace("pace 1 m\n", f"pace 1 m\ndistances {stated}\n")
    for read in ("456 m", "465 m", "459 m"):
        text = text.replace(f"elevation {read}", f"elevation {figure if read == '456 m' else other}")
    text = text.format(control="456", heights="above sea level")
    said = compile_log(Source(name="page.trav", text=text), load=lambda _: None).diagnostics
    (one,) = [one for one in said if one.kind == "warning" and "height" in one.code]
    assert (one.code, one.span.line) == ("heights-unit", 5)
    assert one.hints[0].startswith(f"`distances {meant}`")
    unit = {"feet": "ft", "metres": "m"}[meant]
    for right in (
        text.replace(f"distances {stated}", f"distances {meant}"),
        text.replace(" altimeter", f" {unit} altimeter"),
    ):
        said = compile_log(Source(name="page.trav", text=right), load=lambda _: None).diagnostics
        assert not {"heights-unit", "known-height-disagrees", "elevation-disagrees"} & {
            one.code for one in said
        }
