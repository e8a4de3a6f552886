"""Networks that can't be, or can hardly be: one clear message each, at its line."""

import math

import pytest

from traverse.compile import compile_log
from traverse.diagnostic import Severity
from traverse.source import Source

HEAD = "notation 1\nbearings true\nattitudes dip-right\npace 1 m\n"


def compiled(rows):
    return compile_log(Source(name="page.trav", text=HEAD + rows), load=lambda _: None)


CASES = {
    "a leg of no paces": ("at 1\nto 2 090 0p\nto 3 090 100p\n", "distance-zero", 6, "0p"),
    "a leg of no metres": ("at 1\nto 2 090 0m\n", "distance-zero", 6, "0m"),
    "a leg to itself": ("at 1\nto 2 090 100p\nclose 2 090 100p\n", "leg-to-itself", 7, "from 2 itself"),
    "a leg to where it starts": ("at 1\nto 1 090 100p\n", "leg-to-itself", 6, "from 1 to itself"),
    "a control contradicted by another": (
        "control 1 0 E 0 N\ncontrol 3 500 E 0 N\nat 1\nto 2 090 100p\nto 3 090 100p\n",
        "closure-fails", 9, "control 3 is not used",
    ),
    "one place with two fixes": (
        "control 1 0 E 0 N\ncontrol 1 500 E 0 N\nat 1\nto 2 090 100p\n",
        "fixes-disagree", 6, "500 m apart",
    ),
    "a landmark on one line with its sights": (
        "control 1 0 E 0 N\nat 1\nsight peak 090\nto 2 090 100p\nsight peak 090\n",
        "sights-parallel", 9, "nearly along one line",
    ),
    "a resection on two marks in line": (
        "control A 0 E 1000 N\ncontrol B 0 E 2000 N\nat 1\nsight A 000\nsight B 000\nto 2 090 100p\n",
        "sights-parallel", 9, "would place 1",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_one_message_at_its_line(name):
    rows, code, line, words = CASES[name]
    said = [one for one in compiled(rows).diagnostics if one.severity is not Severity.NOTE]
    assert [(one.code, one.span.line) for one in said] == [(code, line)]
    assert words in said[0].message
    assert said[0].hints


def test_a_contradicted_control_is_looked_at_as_well_as_the_walk():
    rows, *_ = CASES["a control contradicted by another"]
    [said] = [one for one in compiled(rows).diagnostics if one.code == "closure-fails"]
    assert "control 3: 200 E" in said.labels[0].text


@pytest.mark.parametrize("rule", ["compass-rule", "transit-rule", "least-squares"])
@pytest.mark.parametrize("sd", ["", " ±1 m"])
def test_all_stations_on_one_line_are_placed_with_their_errors(rule, sd):
    """Over the middle station both ways give the same sum: 100 m each, and nothing is singular."""
    rows = f"adjust {rule}\ncontrol 1 0 E 0 N{sd}\nat 1\nto 2 090 100p\nto 3 090 100p\nclose 1 270 200p\n"
    outcome = compiled(rows)
    assert not outcome.failed
    assert all(one.severity is Severity.NOTE for one in outcome.diagnostics)
    places = outcome.survey.places
    assert places["2"].east_m == pytest.approx(100.0)
    assert places["2"].north_m == pytest.approx(0.0, abs=1e-9)
    assert all(math.isfinite(place.ellipse.major_m) for place in places.values())
    assert places["2"].ellipse.major_m > 1.0
