"""Bytes that are text, and the spellings that are read as one."""

import pytest

from traverse.notation.text import decode, plain


def test_utf8_with_and_without_a_mark():
    assert decode("a", b"\xef\xbb\xbfat 1\n").value == decode("a", b"at 1\n").value
    assert decode("a", "at é\x0c\x85\u2028".encode()).diagnostics == ()


@pytest.mark.parametrize(
    ("data", "line", "column"),
    [
        (b"at 1\nrock \xff", 2, 6),
        (b"at 1\r\nro\x00ck", 2, 3),
        (b"\xef\xbb\xbfa\x07", 1, 2),
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
    ("typed", "read"),
    [("º˚°", "°°°"), ("′’‘", "'''"), ("″”“", '"""'), ("−–—‐‑", "-----"), ("→⟶⇒", "→→→"), ("⁄∕", "//"),
     ("\u00a0\u2009\u3000", "   "), ("Ａ１／＃", "A1/#"), ("٠٤١", "041"), ("½¼é±", "½¼é±")],
)  # fmt: skip
def test_spellings(typed, read):
    assert plain(typed) == read
    assert len(plain(typed)) == len(typed)
