"""What is said of a leg whose readings lack a sign or a figure."""

import pytest

HEAD = "notation 1\nbearings true\npace 1 m\nat 1\n"


@pytest.mark.parametrize(
    ("line", "code", "column", "hint"),
    [
        ("to 2 N 50p +4", "compass-point", 10, "due north is `000` or `N0E`"),
        ("to 2 s 50m", "compass-point", 10, "due south is `180` or `S0E`"),
        ("to 2 340 50p 4", "slope-sign", 14, "`+4` up, `-4` down"),
        ("to 2 340 50p 60p", "reading-twice", 14, "leave one out"),
        ("to 2 263x 30p\nat 2", "letter-in-bearing", 6, "`263`"),
        ("to 2 26x3 30p -3\nat 2", "letter-in-bearing", 6, "`263`"),
        ("to 263x 30p\nat 2", "no-bearing", 1, "`to NAME 263 30p` if 263 is the bearing"),
        ("to 263° 30p\nat 2", "no-station-name", 4, "`to NAME 263° 30p`"),
        ("to 2 340 90m\nalong 78m to 0m", "stretch-backward", 7, "`0m to 78m`"),
    ],
)
def test_the_hint_is_what_to_type(compile_text, line, code, column, hint):
    (one,) = [one for one in compile_text(HEAD + line + "\n", errors=True).diagnostics if one.kind == "error"]
    assert (one.code, one.span.column) == (code, column)
    assert hint in one.hints[0]


def test_a_stretch_may_begin_at_the_station(compile_text):
    assert not compile_text(HEAD + "to 2 340 90m\nalong 0m to 78m left 4m\nnote wall\n").failed
