"""Readings that a camp doubts steer nothing, and no result hangs on the order of its `log` lines."""

import re

import pytest

from tests.compare.camp import SLIPS, VALLEY, compiled_camp, joined, line_of, walked_again
from tests.sheet.fixture_sheet import layer
from tests.thorough import some
from traverse.compile import map_ground
from traverse.sheet.compose.compose import compose
from traverse.sheet.paper.page import Text
from traverse.sheet.said.parties import parties_told
from traverse.sheet.said.stops import gather
from traverse.sheet.said.tomorrow import to_check
from traverse.sheet.template.reading import read_template
from traverse.structure.readings.directions import pole, pole_angle


def ordered(files, order):
    """The camp with its `log` lines in another order, each with its letters."""
    rows = files["camp.trav"].splitlines()
    logs = [row for row in rows if row.startswith("log ")]
    others = iter([logs[at] for at in order])
    camp = "\n".join(next(others) if row.startswith("log ") else row for row in rows)
    return files | {"camp.trav": camp + "\n"}


def told(compiled):
    """What follows from the readings, and what is asked."""
    geology = compiled.geology
    asked = sorted(
        (one.code, one.span.file, one.span.line, one.message)
        for one in compiled.diagnostics
        if one.span is not None and one.span.file != "camp.trav"
    )
    return (
        geology.bedding_mean,
        geology.fold_axis,
        [one.finding for one in geology.findings],
        [(one.unit, one.true_m, one.sd_m) for one in geology.unit_thicknesses],
        {name: (place.east_m, place.north_m) for name, place in compiled.survey.places.items()},
        asked,
    )


@pytest.mark.thorough
@pytest.mark.parametrize("order", [(2, 5, 1, 0, 4, 3), (5, 4, 3, 2, 1, 0)])
def test_no_result_of_six_parties_hangs_on_the_order_of_their_lines(order):
    files = joined(20)
    assert told(compiled_camp(ordered(files, order))) == told(compiled_camp(files))


@pytest.mark.every(2)
@pytest.mark.parametrize("seed", some([10, 13, 40], 2))
def test_the_party_to_which_all_ties_run_is_named_alone_where_its_heading_is_wrong(seed):
    """Its ties to either of the others fail; one of these fails in all that runs over it, and is right."""
    letters = dict(zip("ABC", ("a", "b", "c"), strict=True))
    rows = ["notation 1", "traverse Oskerra camp", "grid EPSG:25833"]
    rows += [f"log {name}.trav as {letter}" for letter, name in letters.items()]
    rows += [f"tie A-{at} to {letter}-{at}" for letter in "BC" for at in ("5", "9", "13")]
    texts = [with_one_fix(walked_again(VALLEY, seed + at)) for at in range(3)]
    texts[0] = SLIPS["twice"](texts[0])
    files = {f"{name}.trav": text for name, text in zip("abc", texts, strict=True)}
    found = compiled_camp(files | {"camp.trav": "\n".join(rows) + "\n"})
    asked = [one for one in found.diagnostics if one.code in {"party-differs", "closure-fails"}]
    assert [(one.code, one.span.file, one.span.line) for one in asked] == [("party-differs", "a.trav", 13)]
    assert "declination applied twice" in asked[0].message


def with_one_fix(text):
    """The log with the valley's own known point."""
    fix = re.search(r"^control 1 .*$", VALLEY, re.MULTILINE)[0]
    return re.sub(r"^control 1 .*$", fix, text, flags=re.MULTILINE)


@pytest.mark.thorough
def test_of_two_parties_the_one_whose_rule_is_asked_about_steers_nothing_in_either_order():
    files = joined(20, names=("left", "none"))
    found = compiled_camp(files)
    assert told(compiled_camp(ordered(files, (1, 0)))) == told(found)
    assert [
        one.code for one in found.diagnostics if one.code == "other-rule" and one.span.file == "left.trav"
    ]
    beds = [one for one in found.geology.beds if one.span.file == "none.trav"]
    assert found.geology.bedding_mean.n == len(beds)
    # It is drawn and listed all the same.
    assert any(one.span.file == "left.trav" for one in found.geology.attitudes)
    alone = compiled_camp(
        {
            "camp.trav": "notation 1\ngrid EPSG:25833\nlog none.trav as F\n",
            "none.trav": files["none.trav"],
        }
    ).geology.bedding_mean
    normals = [
        pole(one.dip_deg, dip_direction_deg=one.dip_direction_deg)
        for one in (alone, found.geology.bedding_mean)
    ]
    assert pole_angle(*normals) < 0.5


@pytest.mark.thorough
def test_a_party_under_another_rule_is_on_the_list_and_its_dips_are_marked():
    files = joined(20, names=("left", "letter", "none"))
    found = compiled_camp(files)
    assert found.geology.doubted_rules == {"left.trav"}
    (task,) = [
        one for one in to_check(found.trav, gather(found.trav), found.diagnostics) if "Attitudes" in one.place
    ]
    assert task.place == "Attitudes of A"
    assert (task.span.file, task.span.line) == ("left.trav", line_of(files["left.trav"], "attitudes"))
    party, *others = parties_told(found.log, found.survey, found.geology.shared, found.geology.doubted_rules)
    assert "another rule" in party.lies
    assert not any("another rule" in one.lies for one in others)
    made = compose(
        map_ground(found.trav), found.diagnostics, template=read_template("field").value, mark="x"
    ).value
    figures = [one.text for one in layer(made.pages[0].items, "figures") if isinstance(one, Text)]
    doubted = {f"{one.dip_deg:.0f}?" for one in found.geology.beds if one.span in found.geology.doubted}
    assert {one for one in figures if one.endswith("?")} <= doubted
    assert any(one.endswith("?") for one in figures)


@pytest.mark.every(2)
@pytest.mark.parametrize("stated", ["", "declination 4.7 E, 2026, survey chart\n"])
def test_bearings_called_true_that_a_compass_gave_are_asked_about_at_their_line(stated):
    """What they would be turned by the party's own heading says, or those of the others."""
    files = joined(20, names=("left", "letter", "none"))
    files["none.trav"] = re.sub(
        r"bearings +magnetic\ndeclination .*\n", f"bearings true\n{stated}", files["none.trav"]
    )
    found = compiled_camp(files)
    (asked,) = [one for one in found.diagnostics if one.code == "party-differs"]
    assert (asked.span.file, asked.span.line) == ("none.trav", line_of(files["none.trav"], "bearings"))
    assert "declination left out: bearings were magnetic" in asked.message


def open_walk(north, turn, changed=None):
    """Six legs from 1 to 7 of invented ground, true bearings turned, one of them read as another."""
    rows = ["notation 1", north, "distances metres", "at 1"]
    for at, (azimuth, length) in enumerate(
        [(50, 118), (121, 104), (66, 131), (142, 99), (30, 122), (88, 110)], 2
    ):
        read = changed[1] if changed is not None and changed[0] == at else round(azimuth + turn) % 360
        rows.append(f"to {at} {read:03d} {length}")
    return "\n".join(rows) + "\n"


@pytest.mark.parametrize(
    ("third", "line"),
    [
        (open_walk("bearings true", -8), "bearings"),
        (open_walk("bearings true", 0, (4, 96)), "to 4"),
    ],
)
def test_of_a_walk_that_shares_two_places_heading_and_leg_are_told_apart(third, line):
    """A leg read 30° off turns what lies between two places as a heading does, and stretches it."""
    magnetic = "bearings magnetic\ndeclination 8 E, 2026, map margin"
    files = {
        "a.trav": open_walk(magnetic, -8),
        "b.trav": open_walk(f"{magnetic}, read twice", -8),
        "c.trav": third,
        "camp.trav": "notation 1\ntraverse Two ends\nlog a.trav as A\nlog b.trav as B\nlog c.trav as C\n"
        + "".join(f"tie A-{at} to B-{at}\n" for at in (1, 4, 7))
        + "tie A-1 to C-1\ntie A-7 to C-7\n",
    }
    found = compiled_camp(files)
    asked = [one.span.line for one in found.survey.suspects if one.span.file == "c.trav"][:1]
    asked += [one.span.line for one in found.diagnostics if one.code == "party-differs"]
    assert set(asked) == {line_of(third, line)}
