"""Widths, fallback and what is dropped of text."""

import pytest

from traverse.sheet.paper.fonts import missing, runs, visible, width_mm
from traverse.sheet.paper.page import Face


def test_figures_are_tabular():
    """Columns of figures stand under each other: all are 0.497 em wide (Source Sans Pro, its own table of widths)."""
    for figure in "0123456789":
        assert width_mm(figure, Face.REGULAR, 72.0) == pytest.approx(0.497 * 25.4, rel=1e-3)


def test_width_grows_with_size_and_adds_up():
    whole = width_mm("Lt 42", Face.BOLD, 8.0)
    assert whole == pytest.approx(sum(width_mm(one, Face.BOLD, 8.0) for one in "Lt 42"))
    assert width_mm("Lt 42", Face.BOLD, 16.0) == pytest.approx(2 * whole)


def test_what_the_family_lacks_comes_from_the_fallback_and_what_both_lack_is_named():
    assert [name for name, _ in runs("a⚠b", Face.REGULAR)] == [
        "SourceSansPro-Regular",
        "DejaVuSans",
        "SourceSansPro-Regular",
    ]
    assert missing("a⚠") == ()
    assert missing("漢字漢") == ("漢", "字")


def test_the_signs_of_the_trade_are_in_the_family():
    assert len(runs("142/68° 68° → 232° −5 ±2 ½ α95 ′″ Żółć Ж", Face.REGULAR)) == 1


def test_controls_and_turners_of_direction_are_dropped_and_line_ends_are_blanks():
    assert visible("a\x00b\u202ec\nd\te") == "abc d e"


def test_hebrew_stands_from_right_to_left_and_figures_in_it_do_not():
    """The letters of a word are drawn in reverse order; 12 stays 12. Unicode Standard Annex 9, rules R and EN."""
    drawn = "".join(piece for _, piece in runs("אבג 12 דה", Face.REGULAR))
    assert drawn == "הד 12 גבא"
    assert "".join(piece for _, piece in runs("x אב y", Face.REGULAR)) == "x בא y"


def test_accents_are_composed():
    assert runs("e\u0301", Face.REGULAR) == (("SourceSansPro-Regular", "é"),)
