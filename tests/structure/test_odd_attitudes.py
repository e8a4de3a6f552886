"""Slips of the pen in attitudes and units, each put into a page that is right otherwise."""

import pytest

from tests.structure.form.test_domains import HEAD, walk
from tests.structure.form.test_finding_words import TRESCURA

PANEL = ["120/35", "122/36", "118/34", "121/35", "119/37", "123/34", "120/33"]
FOLD = ["095/42", "093/38", "092/25", "060/12", "000/11", "295/22", "277/35", "275/43", "273/46"]


def told(compiled):
    return {
        one.span.line: one
        for one in compiled.diagnostics
        if one.kind == "warning"
        and one.code in {"bed-slipped", "bed-apart", "overturned-apart", "contact-of-others", "younger-below"}
    }


@pytest.mark.parametrize(
    ("slip", "words"),
    [
        ("030/34", "a quarter turn? 120/34 would fit"),
        ("301/35", "a half turn? 121/35 would fit"),
        ("121/53", "digits exchanged? 121/35 would fit"),
        ("211/35", "a quarter turn? 121/35 would fit"),
    ],
)
def test_a_slip_in_one_panel_is_named_with_the_reading_that_would_fit(compile_text, slip, words):
    beds = [*PANEL[:3], slip, *PANEL[4:]]
    text = walk(beds, ["Ju"] * 7)
    found = told(compile_text(text))
    line = text.splitlines().index(f"bed {slip}") + 1
    assert list(found) == [line]
    assert words in found[line].hints[0]


def test_readings_that_scatter_are_not_asked_about(compile_text):
    for beds in (PANEL, FOLD):
        assert told(compile_text(walk(beds, ["Ju"] * len(beds)))) == {}


def test_a_quarter_turn_in_a_fold_is_named_by_its_girdle(compile_text):
    beds = [*FOLD[:7], "005/43", FOLD[8]]
    (one,) = told(compile_text(walk(beds, ["Ju"] * 9))).values()
    assert one.code == "bed-slipped"
    assert "off the girdle of all other beds" in one.message
    assert "275/43 would fit" in one.hints[0]


def test_a_forgotten_overturned_is_named(compile_text):
    text = TRESCURA.replace("bed 140/65 overturned\ntops down graded", "bed 140/65")
    found = compile_text(text)
    (one,) = told(found).values()
    assert one.code == "overturned-apart"
    assert (
        "bed 140/65 is not said to be overturned; the beds at 310 and 450, which lie alike, are"
        in one.message
    )
    assert told(compile_text(TRESCURA)) == {}


def test_a_contact_of_units_that_the_walk_is_not_in_is_named_once(compile_text):
    """Ju/Tr was crossed, and Ck/Ju written."""
    beds = ["090/30", "090/31", "090/30", "090/32"]
    text = walk(beds, ["Tr", "Ju", "Ck", "Ck"])
    assert told(compile_text(text)) == {}
    wrong = text.replace("contact Ju/Tr", "contact Kk/Ck")
    found = told(compile_text(wrong))
    (one,) = found.values()
    assert one.message == "Kk/Ck is met in Tr, which is neither of them"
    assert "`contact Ju/Tr` would fit" in one.hints[0]
    assert HEAD in wrong
