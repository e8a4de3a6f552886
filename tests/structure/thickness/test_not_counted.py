"""No thickness rests on what is asked about, and what is answered counts again."""

from pathlib import Path

import pytest

from tests.compare.camp import compiled

GROUND = (Path(__file__).parents[2] / "compare/hollin-valley.trav").read_text("utf-8")
"""Two borders of Sh, each met twice; 98 m of it between them by the plane that the ground was made with."""


def thick(text):
    return [
        (one.unit, [span.line for span in one.between]) for one in compiled(text).trav.geology.thicknesses
    ]


def line_of(text, words, nth=1):
    return [number for number, row in enumerate(text.splitlines(), 1) if words in row][nth - 1]


TURNED = GROUND.replace("contact Ss/Sh", "contact Sh/Ss", 1)


def test_two_contacts_of_one_border_make_no_unit_thick_because_one_is_turned_round():
    """Both are the base of Ss; read as written, Ss would lie between them, some metres thick."""
    lower = [line_of(GROUND, "contact Sh/Ls", nth) for nth in (1, 2)]
    upper = [line_of(GROUND, "contact Ss/Sh", nth) for nth in (1, 2)]
    assert thick(GROUND) == [("Sh", [lower[0], upper[0]]), ("Sh", [upper[1], lower[1]])]
    assert thick(TURNED) == [("Sh", [upper[1], lower[1]])]


def test_answered_it_counts_as_it_stands():
    answered = TURNED.replace(
        "contact Sh/Ss certain", "contact Sh/Ss certain\n  checked LL the shale rides up here"
    )
    assert {unit for unit, _ in thick(answered)} == {"Ss", "Sh"}


def test_a_bed_that_is_asked_about_steers_no_thickness():
    """One bed within the crossing a quarter turn off all others is asked about, and the mean is that of the others."""
    at = GROUND.replace("bed   014/29, 015/28", "bed   104/29", 1)
    asked = [one for one in compiled(at).diagnostics if one.code == "bed-slipped"]
    assert [one.span.line for one in asked] == [line_of(at, "bed   104/29")]
    (first, _), (was, _) = (compiled(text).trav.geology.thicknesses for text in (at, GROUND))
    assert first.true_m == pytest.approx(was.true_m, abs=3.0)
