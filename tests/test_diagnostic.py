"""How a message is told: where first, the words marked, then a sentence that says what to do."""

import re
from dataclasses import replace

import pytest

from traverse.diagnostic import COLOURS, Answer, Label, columns, error, note, render, warning
from traverse.source import Source, Span

TEXT = "notation 1\nunit sh Reed Shale ;\n  to 2\tN95E 64p\n" + "x" * 300 + " end\n"
SOURCES = {"tarn.trav": Source(name="tarn.trav", text=TEXT)}


def span(line, column, end):
    return Span("tarn.trav", line, column, end)


def test_the_place_stands_first_and_the_words_are_marked():
    """Editors jump to `file:line:column:`; a tab takes one column, and the line's own indent is left out."""
    told = render(
        error("x", "N95E: a quadrant angle is 0 to 90", span(3, 8, 12), "look at the page"), SOURCES
    )
    assert told.splitlines() == [
        "tarn.trav:3:8: can't be",
        "    to 2 N95E 64p",
        "         ~~~~",
        "  N95E: a quadrant angle is 0 to 90. Look at the page.",
    ]


@pytest.mark.parametrize(
    ("message", "sentence"),
    [
        ("the leg has no name", "The leg has no name."),
        ("sh is followed by nothing", "sh is followed by nothing."),
        ("valley.xyz can't be read", "valley.xyz can't be read."),
        ("where is this", "Where is this?"),
        ("102 what", "102 what?"),
        ("north: which north", "North: which north?"),
        ("which way; `tops SE`?", "Which way; `tops SE`?"),
        ("carried 900\u00a0m\x1b[31m", "Carried 900 m�[31m."),
    ],
)
def test_a_fact_is_told_as_a_sentence_and_names_keep_their_spelling(message, sentence):
    told = render(warning("x", message, span(2, 1, 5)), SOURCES)
    assert told.splitlines()[0] == "tarn.trav:2:1: look again"
    assert told.splitlines()[-1] == f"  {sentence}"


def test_other_places_and_answers_are_told_in_the_same_breath():
    other = error("x", "2 exists", span(3, 6, 7), labels=(Label(span(2, 1, 5), "it stands here"),))
    assert render(other, SOURCES).endswith("  2 exists. It stands here: line 2.")
    away = error("x", "2 exists", span(3, 6, 7), labels=(Label(Span("b.trav", 9, 1, 2), "it stands here"),))
    assert render(away, SOURCES).endswith("It stands here: b.trav:9.")
    seen = warning("x", "steep", span(3, 6, 7))
    replaced = type(seen)(
        code="x",
        severity=seen.severity,
        message="steep",
        span=seen.span,
        answer=Answer("MO", "read twice", span(3, 1, 2)),
    )
    assert render(replaced, SOURCES).splitlines()[0].endswith(": answered")
    assert render(replaced, SOURCES).endswith("Steep. Checked by MO: read twice.")


def test_a_long_line_is_cut_about_the_words():
    told = render(note("x", "an end", span(4, 302, 305)), SOURCES)
    head, line, marks, _ = told.splitlines()
    assert head.endswith(": by the way")
    assert len(line) < 120
    assert line[marks.index("~") : marks.rindex("~") + 1] == "end"


def test_what_concerns_no_line_is_told_without_one():
    assert render(error("x", "nothing to read", None), {}) == "can't be\n  Nothing to read."


def test_a_terminal_underlines_the_words_and_colours_the_severity_alone():
    told = render(error("x", "N95E: which", span(3, 8, 12)), SOURCES, marks=COLOURS).splitlines()
    assert told == [
        "tarn.trav:3:8: \x1b[31mcan't be\x1b[39m",
        "    to 2 \x1b[4mN95E\x1b[24m 64p",
        "  N95E: which?",
    ]


@pytest.mark.parametrize("width", [60, 80, 120])
@pytest.mark.parametrize("marks", [None, COLOURS])
def test_no_row_is_wider_than_the_terminal(width, marks):
    hint = (
        "`to 2 N47E 64p +3 back 228` if this leg comes back to it, and so on for a while, `close 1 047 64p`"
    )
    for where in (span(4, 302, 305), span(4, 1, 3), span(4, 140, 150), span(3, 8, 12)):
        told = render(warning("x", "here", where, hint), SOURCES, width=width, marks=marks)
        for row in re.sub(r"\x1b\[\d+m", "", told).splitlines():
            assert len(row) <= width
        assert "`to 2 N47E 64p +3 back 228`" in told
        assert "`close 1 047 64p`" in told


WIDE = "rock 沢の砂岩 N95E end"


@pytest.mark.parametrize(
    ("line", "word"),
    [
        (WIDE, "N95E"),
        ("rock Gre\u0301s N95E", "N95E"),
        ("rock Grès N95E", "N95E"),
        ("rock 砂岩 end", "砂岩"),
        ("沢" * 90 + " N95E", "N95E"),
        ("N95E " + "沢" * 90, "N95E"),
    ],
)
def test_marks_stand_under_their_words_where_characters_are_wide_or_stand_over_others(line, word):
    """Widths of Unicode Standard Annex 11: ideographs take two columns, a combining accent none."""
    at = line.index(word) + 1
    where = Span("w.trav", 1, at, at + len(word))
    sources = {"w.trav": Source(name="w.trav", text=line)}
    for width in (60, 80, 120):
        _, shown, marks, *_ = render(warning("x", "here", where), sources, width=width).splitlines()
        assert columns(shown) <= width
        assert columns(shown[: shown.index(word)]) == marks.index("~")
        assert marks.count("~") == columns(word)


def test_rows_of_wide_characters_are_no_wider_than_the_terminal():
    for words in ("沢の砂岩 " * 40, "沢" * 200):
        told = render(warning("x", words.strip(), span(3, 8, 12)), SOURCES, width=60)
        assert all(columns(row) <= 60 for row in told.splitlines())
        assert told.count("沢") == words.count("沢")


def test_what_is_to_be_typed_is_said_so():
    typed = render(error("x", "100 what", span(3, 8, 12), "`100 m` or `100 ft`"), SOURCES)
    assert typed.endswith("  100 what? Type `100 m` or `100 ft`.")
    spoken = render(error("x", "no station 9", span(3, 8, 12), "`to 9` walks to a new one"), SOURCES)
    assert spoken.endswith("  No station 9. `to 9` walks to a new one.")


def test_what_rests_on_a_message_is_counted():
    one = replace(error("x", "no north", span(3, 8, 12)), below=1)
    assert render(one, SOURCES).endswith("One more message follows from this line, and goes with it.")
    assert render(replace(one, below=5), SOURCES).endswith(
        "5 more messages follow from this line, and go with it."
    )
