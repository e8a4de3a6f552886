"""Words and figures: nothing wider than its room, nothing lost, signs as the trade prints them."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traverse.length import METRES
from traverse.log.records import Heading, Log
from traverse.sheet.paper.fonts import width_mm
from traverse.sheet.paper.page import Face
from traverse.sheet.paper.words import (
    arrow,
    cut,
    cut_lines,
    dates,
    natural,
    number,
    plain,
    signed,
    title_parts,
    wrap,
)

TEXT = st.text(st.sampled_from("ab W.,;\u00a0é−→שم🪨<&\n\t"), max_size=120)


@given(TEXT, st.floats(8.0, 60.0))
def test_wrapped_lines_fit_and_keep_every_letter(text, width):
    lines = wrap(text, Face.REGULAR, 7.2, width)
    assert all(width_mm(line, Face.REGULAR, 7.2) <= width + 1e-6 for line in lines)
    assert "".join(lines).replace(" ", "") == plain(text).replace(" ", "")


@given(TEXT, st.floats(8.0, 60.0))
def test_cut_text_fits_and_says_that_it_was_cut(text, width):
    short = cut(text, Face.ITALIC, 7.2, width)
    assert width_mm(short, Face.ITALIC, 7.2) <= width + 1e-6
    assert short == plain(text) or short.endswith("…")


def test_cut_lines_end_in_an_ellipsis():
    text = "one two three four five six seven eight nine ten"
    lines = cut_lines(text, Face.REGULAR, 7.2, 20.0, most=2)
    assert len(lines) == 2
    assert lines[-1].endswith("…")
    assert cut_lines("one", Face.REGULAR, 7.2, 20.0, most=2) == ("one",)


def test_a_quantity_never_breaks_over_a_line():
    """72° → 272° is one word to the wrapper."""
    for width in range(14, 40):
        lines = wrap(f"beds dip {arrow(72, 272)} there", Face.REGULAR, 7.2, float(width))
        assert any(arrow(72, 272) in line for line in lines)


@pytest.mark.parametrize(
    ("value", "printed"),
    [
        (5214314.2, "5\u00a0214\u00a0314"),
        (-12.4, "−12"),
        (-0.4, "0"),
        (None, "–"),
        (float("nan"), "–"),
        (9999, "9999"),
    ],
)
def test_figures(value, printed):
    assert number(value) == printed


def test_a_deviation_is_never_nothing_unless_it_is_held():
    """Printed sd: at least 1 m; 0 only means that the place was held."""
    assert [METRES.error(sd) for sd in (0.0, 0.2, 1.4, 12.6)] == ["held", "1", "1", "13"]


def test_signs_of_differences():
    assert [signed(value) for value in (3.2, -3.2, 0.2, -0.2)] == ["+3", "−3", "0", "0"]


def test_names_in_natural_order():
    assert sorted(["12a", "10", "2", "12", "1"], key=natural) == ["1", "2", "10", "12", "12a"]


def test_days_in_words():
    days = [dt.date(2026, 7, day) for day in (16, 14, 15)]
    assert dates(days) == "14–16 July 2026"
    assert dates(days[:2]) == "14 July 2026, 16 July 2026"
    assert dates([dt.date(2026, 6, 30), dt.date(2026, 7, 1)]) == "30 June – 1 July 2026"
    assert dates([]) == ""


def test_a_title_is_parted_at_its_first_comma():
    log = Log(file="x", heading=Heading(title="Hollin Dale, loop 2: a fold, seen"))
    assert title_parts(log) == ("Hollin Dale", "Loop 2: a fold, seen")
    assert title_parts(Log(file="x", heading=Heading())) == ("Traverse", "")
