"""The blank notebook page: what is written in it goes home as a log."""

import math

import pytest

from tests.sheet.pages import assert_inside, flat, overlaps, words
from traverse.log.readings import Convention
from traverse.log.written_forms import FORMS
from traverse.reduction.slope import slope_table
from traverse.sheet.notebook.columns import leg_columns, there_columns
from traverse.sheet.notebook.notebook import notebook_pages
from traverse.sheet.notebook.records import TakenOver
from traverse.sheet.paper.page import Path, Text
from traverse.sheet.paper.style import SMALL
from traverse.sheet.template.reading import read_template

HEAD = (
    "notation 1\ntraverse Vannet Moor\nparty AR Ada Rook, BT\nbearings magnetic\ndeclination 6.5 W, 2026, chart\n"
    "attitudes dip-direction\npace AR double 100 m in 65, 66, 65\npace BT double 1.41 m\npacer AR\n"
    "unit Ss Sand Grit ; Triassic\nunit Pz Slate ; Permian\n"
)
SLOPES = slope_table(steps_deg=(*range(1, 31), 45))
PAPERS = {
    name: size
    for name, size in read_template("field").value.papers.items()
    if name not in read_template("field").value.rolls
}


def taken(compile_text, text=HEAD, heading=None):
    found = compile_text(text)
    first = found.log.heading.first
    return TakenOver(
        slopes=SLOPES,
        heading=heading or {"party": ("AR Ada Rook, BT",)},
        convention=first.convention,
        bearings=first.bearings,
        frame=found.survey.frame,
        paces=found.survey.paces,
        units=found.log.units,
        lengths=found.log.lengths,
        mark="abc123",
    )


def pages_on(name, what):
    width, height = PAPERS[name]
    return notebook_pages(what, width=width, height=height).pages


WRITTEN = {"to": "2", "bearing": "N47E", "distance": "64p", "slope": "+3", "back": "228", "along": "31p"}
"""A leg as somebody fills it in."""


def test_a_leg_written_along_the_columns_is_a_leg_as_typed(compile_text):
    """Each cell after the name of its column, where that is a word of the notation: so a row is typed."""
    names = [one.name for one in leg_columns() if one.name != "along"]
    keywords = {"to", "back"}
    row = " ".join(f"{name} {WRITTEN[name]}" if name in keywords else WRITTEN[name] for name in names)
    found = compile_text(f"{HEAD}at 1\n{row}\nalong {WRITTEN['along']}\n  contact Ss/Pz certain\n")
    (leg,) = found.log.legs
    assert (leg.end, leg.bearing.azimuth_deg, leg.distance.value) == ("2", 47.0, 64.0)
    assert leg.slope.value == 3.0
    assert leg.back_bearing.azimuth_deg == 228.0


CELLS = {"strike": "142", "dip": "68", "dip direction": "232", "dip, letters": "68SW"}


@pytest.mark.parametrize("rule", Convention)
def test_a_contact_written_along_the_columns_means_one_plane_under_every_rule(compile_text, rule):
    """`contact`, units, how it was seen, and the two figures of the pair with a slash between."""
    names = [one.name for one in there_columns(rule)]
    assert names[:3] == ["word", "units", "how"]
    assert names[-1] == "words"
    cells = {**CELLS, "strike": "322" if rule is Convention.DIP_LEFT else "142"}
    pair = "/".join(cells[name] for name in names[3:-1])
    text = HEAD.replace("attitudes dip-direction", f"attitudes {rule.value}")
    found = compile_text(f"{text}at 1\nto 2 047 64p\nalong 31p\ncontact Ss/Pz certain {pair}\n")
    (contact,) = [one for one in found.log.items if type(one).__name__ == "Contact"]
    assert contact.plane.dip_deg == 68.0
    assert contact.plane.strike_deg == pytest.approx(142.0), "dip to its right, as records have it"


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("known", [True, False])
def test_nothing_leaves_the_page_covers_another_or_is_too_small_to_read(compile_text, paper, known):
    what = taken(compile_text) if known else TakenOver(slopes=SLOPES, heading={})
    for page in pages_on(paper, what):
        assert_inside(page.items, 10.0, 10.0, page.width_mm - 10.0, page.height_mm - 10.0)
        assert overlaps(page.items) == []
        assert min(one.size_pt for one in flat(page.items) if isinstance(one, Text)) >= SMALL
        inks = {one.colour for one in flat(page.items) if isinstance(one, Text)} | {
            one.pen.colour for one in flat(page.items) if isinstance(one, Path) and one.pen
        }
        assert all(len({ink[1:3], ink[3:5], ink[5:7]}) == 1 for ink in inks), "black and grey alone"


def test_every_page_carries_the_cautions_and_a_place_for_what_help_needs(compile_text):
    for page in pages_on("A4", taken(compile_text)):
        said = words(page.items)
        for wanted in (
            "not for boundaries, engineering",
            "local rules and the leader’s risk assessment come first",
            "Nobody walks alone",
            "Emergency number",
            "Turn back by",
        ):
            assert wanted in said, wanted


def test_what_a_log_says_is_filled_in(compile_text):
    (head, _) = pages_on("A4", taken(compile_text))
    said = words(head.items)
    assert "AR Ada Rook, BT" in said
    assert "Declination 6.5° W, 2026, chart" in said
    assert "AR double 1.53 m; BT double 1.41 m" in said
    # 100 paces of AR: 100 m over 196/3 paces each; of BT 141.
    assert "100 153.1 141.0" in said
    assert "Ss Sand Grit, Pz Slate" in said


def test_every_word_of_the_walk_and_of_what_is_there_can_be_looked_up():
    said = words(pages_on("A4", TakenOver(slopes=SLOPES, heading={}))[0].items)
    walked = list(FORMS)[list(FORMS).index("at") : list(FORMS).index("trace")]
    assert [word for word in walked if word not in said] == []


def test_magnetic_north_lies_inside_the_ring_where_the_declination_puts_it(compile_text):
    """6.5° W: what the compass reads as 000 stands in line with 353.5 true."""
    (head, _) = pages_on("A4", taken(compile_text))
    found = {}
    for one in flat(head.items):
        if isinstance(one, Text) and one.text in {"000", "180", "N", "S"} and one.at[1] > 90.0:
            found[one.text] = one.at
    (north, south) = (found["000"], found["180"])
    turned = math.degrees(math.atan2(north[0] - south[0], north[1] - south[1]))
    assert turned == pytest.approx(-6.5, abs=0.01)
    assert found["N"][0] == pytest.approx(found["S"][0])


@pytest.mark.parametrize(
    ("slope", "grade", "level", "rise"),
    [(5, 8.7, 99.6, 8.7), (10, 17.6, 98.5, 17.4), (30, 57.7, 86.6, 50.0), (45, 100.0, 70.7, 70.7)],
)
def test_slopes_are_those_of_a_table_of_sines_and_tangents(slope, grade, level, rise):
    """Four-figure tables of natural sines, cosines and tangents, from memory."""
    (row,) = slope_table(steps_deg=(slope,))
    assert round(row.grade_percent, 1) == grade
    assert round(row.level, 1) == level
    assert round(row.rise, 1) == rise
