"""A marking scheme as data: the one that ships, one of a leader's own, and what is said of one that is wrong."""

import pytest

from tests.compare.camp import ROOT
from traverse.compare.records import Part
from traverse.compare.scheme import read_scheme
from traverse.diagnostic import render

PLAIN = (ROOT / "templates/marks.toml").read_text("utf-8")


def test_the_one_that_ships_is_read_and_says_that_no_leader_set_it():
    outcome, _ = read_scheme(None)
    assert outcome.diagnostics == ()
    assert "no leader has set it" in outcome.value.by
    assert sum(outcome.value.weights.values()) == 100.0


def test_a_leader_changes_a_weight_and_signs_it(tmp_path):
    own = tmp_path / "ours.toml"
    own.write_text(
        PLAIN.replace("location = 15", "location = 0").replace(
            "ships with the program; no leader has set it", "MO"
        ),
        "utf-8",
    )
    scheme = read_scheme(str(own))[0].value
    assert scheme.weights[Part.LOCATION] == 0.0
    assert scheme.by == "MO"


@pytest.mark.parametrize(
    ("was", "typed", "column", "words"),
    [
        ("location = 15", "locaton = 15", 1, "Do you mean `location`?"),
        ("location = 15", 'location = "much"', 1, "must be a number"),
        ('name = "Plain scheme"', r'name = "Plain \u001b[31mscheme"', 1, "holds U+001B"),
        ('full = "right"', r'full = "ri\u202eght"', 1, "holds U+202E"),
        ("full = 5.0", "full = 50.0", 2, "don't rise"),
        ("full = 5.0", f"full = {'9' * 5000}", 8, "more digits than any"),
        ("part = 0.4", "part = 0.95", 2, "more than pass"),
        ("met = 0.3", "met = 0.5", 2, "make 1.2 together"),
        ("share = 0.02", "share = 0,02", 9, "With a point"),
        ("metres = 5.0\nshare", "metres = -5.0\nshare", 1, "from 0 to 1000"),
        ('full = "right"', "full = 3", 1, "words in quotes"),
        ("walks = 4   ", "# walks", 1, "does not say `process.walks`"),
    ],
)
def test_what_is_wrong_is_told_at_its_place(tmp_path, was, typed, column, words):
    own = tmp_path / "ours.toml"
    assert was in PLAIN
    own.write_text(PLAIN.replace(was, typed, 1), "utf-8")
    outcome, source = read_scheme(str(own))
    assert outcome.value is None
    shown = [render(one, {source.name: source}) for one in outcome.diagnostics]
    assert any(words in one for one in shown), shown
    assert any(one.span.column == column for one in outcome.diagnostics), outcome.diagnostics


@pytest.mark.parametrize("made", [None, b"\xff\xfe\x00", b"#" * 1_048_577])
def test_a_file_that_is_none_is_told(tmp_path, made):
    own = tmp_path / "ours.toml"
    if made:
        own.write_bytes(made)
    outcome, _ = read_scheme(str(own))
    assert outcome.value is None
    assert "can't be read" in outcome.diagnostics[0].message or "no text" in outcome.diagnostics[0].message
