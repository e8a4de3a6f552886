"""Characters that nobody sees, and letters that look like others."""

import pytest

from traverse.notation.read import read_log
from traverse.notation.text import decode

PAGE = (
    "notation 1\ntraverse Sallow\nbearings true\npace JT double 100 m in 60\nunit Sh Shale ; Jurassic\nat 1\n"
)
FIRST = PAGE.count("\n") + 1


def said(typed):
    source = decode("day.trav", (PAGE + typed).encode()).value
    return read_log(source, load=None)


@pytest.mark.parametrize("char", ["\v", "\f", "\x85", "\u2028", "\u2029"])
def test_a_line_end_that_ends_no_line_is_told_before_a_hazard_is_lost_behind_it(char):
    """Lines end in LF, CRLF or CR and in nothing else: grammar/growing.md."""
    outcome = said(f"rock shale, red{char} bed 120/30{char}\nto 2 047 64p\n")
    (one,) = [one for one in outcome.diagnostics if one.code == "break-inside-line"]
    assert (one.span.line, one.span.column) == (FIRST, 16)
    assert f"U+{ord(char):04X}" in one.message
    assert "Enter" in one.hints[0]
    assert "bed 120/30" in repr(outcome.value.log)


@pytest.mark.parametrize(
    "typed", ["rock shale\f\n", "\f\nrock shale\n", "\frock shale\n", "\u2028# noon\nrock shale\n"]
)
def test_one_that_parts_nothing_is_not_told(typed):
    assert not [one for one in said(typed).diagnostics if one.code == "break-inside-line"]


@pytest.mark.parametrize("typed", ["\fat 2\n", "to 2 047\f 64p\n"])
def test_a_page_break_that_stops_the_reading_is_named_once(typed):
    first, *rest = said(typed).diagnostics
    assert "page break, U+000C" in first.hints[0]
    assert not [one for one in rest if one.span and one.span.line == FIRST]


def test_a_log_whose_lines_all_end_so_is_told_why():
    text = (PAGE + "rock shale\n").replace("\n", "\v")
    found = read_log(decode("day.trav", text.encode()).value, load=None).diagnostics
    (one,) = [one for one in found if one.code == "break-inside-line"]
    assert f"so do {text.count(chr(11)) - 2} more" in one.message


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("to 2 047 6\u00ad4p", "soft hyphen, U+00AD"),
        ("ro\u00adck shale", "soft hyphen, U+00AD"),
        ("at\u200b 1", "zero width space, U+200B"),
        ("\u200bat 1", "zero width space, U+200B"),
        ("to 2 0\u206047 64p", "word joiner, U+2060"),
        ("r\u043eck shale", "`\u043e` is a Cyrillic small letter o, U+043E"),
        ("to 2 047 64\u0440", "`\u0440` is a Cyrillic small letter er, U+0440"),
        ("to 2 N47\u0395 64p", "`\u0395` is a Greek capital letter epsilon, U+0395"),
    ],
)
def test_what_looks_sound_is_told_by_the_name_of_its_character(typed, name):
    """Names of characters: the Unicode character database, as Python has it."""
    errors = [one for one in said(f"{typed}\n").diagnostics if one.kind == "error"]
    assert errors[0].span.line == FIRST
    assert len(errors[0].hints) == 1
    assert name in errors[0].hints[0]


@pytest.mark.parametrize("typed", ["rocck Скала", "rocck k\u03b1", "rocck shale\u00adstone grey"])
def test_other_mistakes_beside_such_characters_keep_their_remedy(typed):
    errors = [one for one in said(f"{typed}\n").diagnostics if one.kind == "error"]
    assert "`rock`" in "".join(errors[0].hints)


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"PK\x03\x04\x14\x00\x06\x00", "word processor"),
        (b"%PDF-1.7\n%\xe2\xe3", "PDF"),
        (b"{\\rtf1\\ansi", "word processor"),
    ],
)
def test_files_of_other_kinds_are_called_so(data, what):
    outcome = decode("day.trav", data)
    assert outcome.value is None
    (one,) = outcome.diagnostics
    assert what in one.message
    assert "UTF-8" not in one.message + one.hints[0]


@pytest.mark.parametrize(
    ("char", "told"), [("\u202e", True), ("\U000e0041", True), ("\u200d", False), ("\u00e9", False)]
)
def test_what_turns_the_writing_or_is_none_is_told_once_in_a_name(char, told):
    page = PAGE.replace("Sh Shale", f"Sh Re{char}d Shale") + f"rock re{char}d\n"
    found = [
        one
        for one in read_log(decode("day.trav", page.encode()).value, load=None).diagnostics
        if one.code == "unseen-character"
    ]
    assert [(one.span.line, one.span.column) for one in found] == ([(5, 11)] if told else [])
    assert all("; one more line has one" in one.message for one in found)
