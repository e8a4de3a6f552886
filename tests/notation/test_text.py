"""Bytes that are text, and the spellings that are read as one."""

import pytest

from traverse.notation.text import decode, plain, respelled


def test_utf8_with_and_without_a_mark():
    assert decode("a", b"\xef\xbb\xbfat 1\n").value == decode("a", b"at 1\n").value
    assert decode("a", "at é\x0c\x85\u2028".encode()).diagnostics == ()


def test_an_accent_behind_its_letter_is_joined_with_it():
    assert decode("a", "unit E\u0301c".encode()).value == decode("a", "unit \u00c9c".encode()).value


@pytest.mark.parametrize(
    ("typed", "read"),
    [("unıt Is Işık", "unit Is Işık"), ("UNİT I\u017f", "UNIT I\u017f"), ("to ı 045", "to ı 045"), ("ba\u212a bac\u212a", "ba\u212a bacK")],
)  # fmt: skip
def test_words_of_the_notation_from_a_turkish_keyboard(typed, read):
    """That `ı`, `İ`, `ſ` and the sign of the kelvin equal Latin letters without regard to case: Unicode, CaseFolding.txt
    and SpecialCasing.txt, from memory."""
    assert respelled(typed, frozenset({"unit", "back"})) == read


@pytest.mark.parametrize(
    ("data", "line", "column"),
    [
        (b"at 1\nrock \xff", 2, 6),
        ("at 1".encode("utf-16"), 1, 1),
        ("at 1".encode("utf-16-le"), 1, 2),
        (b"at 1\n\x1b[31m\xff", 2, 1),
    ],
)
def test_one_error_at_the_first_byte_that_is_no_text(data, line, column):
    outcome = decode("a", data)
    assert outcome.value is None
    (problem,) = outcome.diagnostics
    assert (problem.span.line, problem.span.column) == (line, column)
    assert "UTF-8" in problem.message + problem.hints[0]


@pytest.mark.parametrize(
    ("data", "line", "column", "char"),
    [
        (b"\xef\xbb\xbfa\x07", 1, 2, "U+0007"),
        (b"at 1\r\nrock red shale\x00", 2, 15, "U+0000"),
        (b"at 1\nrock\x1b[31m red", 2, 5, "U+001B"),
        (b"at 1\x7f", 1, 5, "U+007F"),
    ],
)
def test_a_control_character_in_sound_text_is_called_so(data, line, column, char):
    """To save it in another coding would mend nothing."""
    (problem,) = decode("a", data).diagnostics
    assert (problem.span.line, problem.span.column) == (line, column)
    assert char in problem.message
    assert "delete it" in problem.hints[0]
    assert "UTF-8" not in problem.message + problem.hints[0]


@pytest.mark.parametrize(
    ("typed", "read"),
    [("º˚°", "°°°"), ("′’‘", "'''"), ("″”“", '"""'), ("−–—‐‑", "-----"), ("→⟶⇒", "→→→"), ("⁄∕", "//"),
     ("\u00a0\u2009\u3000", "   "), ("Ａ１／＃", "A1/#"), ("٠٤١", "041"), ("½¼é±", "½¼é±")],
)  # fmt: skip
def test_spellings(typed, read):
    assert plain(typed) == read
    assert len(plain(typed)) == len(typed)
