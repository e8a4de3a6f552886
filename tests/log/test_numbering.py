"""Stations numbered on by one, where a block of lines is lost or stands in the wrong place."""

import re

import pytest

SIDES = "to 2 000\nto 3 045\nto 4 090\nto 5 135\nto 6 180\nto 7 225\nto 8 270\nclose 1 315\n".replace(
    "\n", " 80m\n"
)
PAGE = f"notation 1\nbearings true\ndistances metres\nat 1\n{SIDES}at 3\nto 9 157.5 104.5m\nclose 7 157.5 104.5m\n"
"""An eight-sided walk of legs of 80 m, and a way across it."""


def warnings(compile_text, text):
    return [one for one in compile_text(text).diagnostics if one.kind == "warning"]


def moved(first, second):
    return PAGE.replace(f"{first}\n{second}\n", f"{second}\n{first}\n")


def test_a_sound_page_is_quiet(compile_text):
    assert warnings(compile_text, PAGE) == []


@pytest.mark.parametrize(
    ("lost", "says", "toward"),
    [("to 5 135 80m\n", "no 5 stands between 4 and 6", "135"), ("to 2 000 80m\n", "no 2 stands between 1 and 3", "000")],
)  # fmt: skip
def test_a_station_lost_is_named_with_its_leg_and_no_reading_is_accused(compile_text, lost, says, toward):
    found = compile_text(PAGE.replace(lost, ""))
    (one,) = [one for one in found.diagnostics if one.kind == "warning"]
    assert (one.code, one.labels) == ("closure-fails", ())
    assert says in one.message
    assert f"a leg of 80 m toward {toward}" in one.message
    (suspect,) = found.survey.suspects
    assert (suspect.span, suspect.left_out) == (one.doubts[0], says.split()[1])
    assert f"80 m toward {toward}" in suspect.reading


def test_a_number_skipped_where_all_closes_is_a_note(compile_text):
    text = PAGE.replace("to 9 ", "to 10 ")
    assert warnings(compile_text, text) == []
    (one,) = [one for one in compile_text(text).diagnostics if one.code == "station-skipped"]
    assert "there is no 9" in one.message


def test_one_wrong_reading_beside_a_skipped_number_is_still_named(compile_text):
    """The way across fails alone: a leg of its loop that the gap is not on."""
    text = PAGE.replace("to 9 157.5 104.5m", "to 10 157.5 140.5m")
    found = compile_text(text)
    assert text.splitlines()[found.survey.suspects[0].span.line - 1].startswith("to 10 ")


def test_a_number_that_is_missing_is_told_beside_a_reading_that_explains_the_same(compile_text):
    """4 and 5 lie on one line, so that some slip of a reading closes as well as the lost leg."""
    sides = "to 2 000\nto 3 090\nto 4 180\nto 5 180\nto 6 270\nclose 1 000\n".replace("\n", " 100m\n")
    page = f"notation 1\nbearings true\ndistances metres\nat 1\n{sides}".replace("to 5 180 100m\n", "")
    page = page.replace("close 1", "to 7 270 40m\nto 8 090 40m\nclose 1")
    (one,) = warnings(compile_text, page)
    first, *others = compile_text(page).survey.suspects
    assert first.left_out == "5"
    assert others
    assert (
        "no 5 stands between 4 and 6: a leg of 100 m toward 180 that was left out would explain it; else"
        in one.message
    )
    assert one.labels


@pytest.mark.parametrize(
    ("first", "second", "line"),
    [
        ("to 5 135 80m", "to 6 180 80m", 8),
        ("to 7 225 80m", "to 8 270 80m", 10),
        ("to 3 045 80m", "to 4 090 80m", 6),
    ],
)
def test_lines_in_another_order_are_one_message_at_the_first_of_them(compile_text, first, second, line):
    text = moved(first, second)
    (one,) = warnings(compile_text, text)
    assert (one.code, one.span.line) == ("stations-order", line)
    assert f"{second.split()[1]} (line" not in one.message.partition(",")[0]
    answered = text.replace(f"{second}\n", f"{second}\nchecked MO walked so\n")
    assert "stations-order" not in [one.code for one in warnings(compile_text, answered)]


@pytest.mark.parametrize(
    "names", [list(range(2, 20, 2)), [5, 2, 9, 4, 7, 3, 8, 6], [12, 13, 14, 15, 18, 17, 23, 31]]
)
def test_who_numbers_otherwise_is_not_asked(compile_text, names):
    other = dict(zip("23456789", names, strict=False))
    text = re.sub(
        r"(?:(?<=^to )|(?<=^at )|(?<=^close ))[2-9]\b",
        lambda found: str(other[found[0]]),
        PAGE,
        flags=re.MULTILINE,
    )
    codes = {one.code for one in compile_text(text).diagnostics}
    assert codes.isdisjoint({"stations-order", "station-skipped"})


def test_a_number_is_missing_where_the_start_has_a_name(compile_text):
    page = PAGE.replace("at 1\n", "at Cairn\n").replace("close 1 ", "close Cairn ")
    assert "number-skipped" not in {one.code for one in compile_text(page).diagnostics}
    lost = page.replace("to 5 135 80m\n", "")
    (asked,) = [one for one in compile_text(lost).diagnostics if "no 5" in one.message and one.kind == "note"]
    assert asked.span.line == lost.splitlines().index("to 6 180 80m") + 1
