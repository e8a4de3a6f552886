"""A loop that fails its test: what was not adjusted lies as it was walked, and no figure claims more."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import pypdf
import pytest
import shapely

from tests.sheet.fixture_sheet import compiled, layer, sheet, texts
from tests.sheet.pages import words
from traverse.compile import blank_ground, map_ground
from traverse.location.records import Standing
from traverse.output.pdf import write_pdf
from traverse.sheet.compose.overlay import compose_overlay
from traverse.sheet.handout.handout import compose_blank
from traverse.sheet.legend.blocks import closure_block
from traverse.sheet.paper.layers import Layer
from traverse.sheet.said.sentences import closure_lines
from traverse.sheet.template.reading import read_template

_LOG = (Path(__file__).parents[2] / "reference/logs" / "loop-that-fails.trav").read_text("utf-8")
FAILS = "".join(
    line for line in _LOG.splitlines(keepends=True) if not line.startswith(("#", "notation", "traverse "))
)
"""Without what the fixture writes itself."""
HAZARDS = "".join(
    f"  hazard {words}\n"
    for words in (
        "quarry lane: lorries from both sides, stand behind the wall",
        "face above the path: no one below it, helmets on, keep five metres out",
        "brook: slippery stones, deep after rain",
    )
)


def test_band_and_contact_follow_the_closing_leg_as_it_was_read():
    found = compiled(FAILS).trav
    leg, start = found.survey.legs[-1], found.survey.places["6"]
    assert leg.standing is Standing.NOT_ADJUSTED
    assert (leg.adjusted.east_m, leg.adjusted.north_m) == (leg.raw.east_m, leg.raw.north_m)
    end = (start.east_m + leg.raw.east_m, start.north_m + leg.raw.north_m)
    walked = shapely.LineString([(start.east_m, start.north_m), end])
    stretches = [one for one in found.geology.band if one.leg == leg.booked.index]
    assert stretches[-1].end == pytest.approx(end)
    contact = found.geology.contacts[-1].place
    assert walked.distance(shapely.Point(contact.east_m, contact.north_m)) == pytest.approx(0.0, abs=1e-6)
    assert found.ground.joins == ()


def test_the_blank_draws_the_legs_of_its_key():
    found = compiled(FAILS)
    key = sheet(found)[0].pages[0]
    blank = compose_blank(
        found.trav, found.diagnostics, lay=blank_ground, template=read_template("field").value, mark="x"
    ).value.pages[0]
    drawn = {one.commands for one in layer(blank.items, Layer.LEGS)}
    assert len(drawn) == 6
    assert drawn <= {one.commands for one in layer(key.items, Layer.LEGS)}


def test_the_tables_print_no_perfect_loop_and_no_error():
    said = [one for page in sheet(compiled(FAILS))[0].pages for one in texts(page.items)]
    assert "Raw E" in said
    assert "Adj. E" not in said
    assert any("no ± tells how far a place is off" in one for one in said)
    assert not any(one.startswith("Raw figure against adjusted") for one in said)


def test_how_it_closes_stays_on_sheet_1():
    assert "Closure" in texts(sheet(compiled(FAILS))[0].pages[0].items)


@pytest.mark.parametrize("at", ["1", "3"])
def test_small_panels_keep_every_hazard(at):
    log = FAILS.replace(f"at {at}\n", f"at {at}\n{HAZARDS}", 1)
    document = sheet(compiled(log), template="insert")[0]
    said = " ".join(texts(document.pages[0].items))
    assert "deep after rain" in said
    assert "on a later sheet" not in said


@pytest.mark.thorough
def test_an_overlay_leaves_the_gaps_of_a_dashed_contact_free():
    """What is drawn thin and solid comes nowhere near a contact but at its ends."""
    found = compiled(FAILS)
    field = read_template("field").value
    handout = compose_blank(found.trav, lay=blank_ground, template=field, mark="x").value
    page = compose_overlay(
        map_ground(found.trav), found.diagnostics, template=field, mark="x", handout=handout
    ).value.pages[0]
    edges = [
        shapely.LineString([one[1:] for one in path.commands])
        for path in layer(page.items, Layer.UNITS)
        if path.fill is None
    ]
    contacts = [
        shapely.LineString([one[1:] for one in path.commands])
        for path in layer(page.items, Layer.CONTACTS)
        if all(one[0] in "ML" for one in path.commands)
    ]
    assert contacts
    assert all(edge.intersection(line.buffer(0.2)).length < 0.5 for edge in edges for line in contacts)
    text = pypdf.PdfReader(io.BytesIO(write_pdf(sheet(found)[0]))).pages[0].extract_text()
    assert "NOT ADJUSTED" in text


def test_how_a_walk_closes_begins_with_what_failed():
    """Sound ties used to stand before the loop that was left open."""
    found = compiled(FAILS)
    survey = found.trav.survey
    loop = next(one for one in survey.closures if not one.adjusted)
    sound = replace(loop, q=0.1, q_up=None, adjusted=True, adjusted_up=True)
    told = closure_lines(found.trav.log, replace(survey, closures=(sound, sound, loop)))
    assert "NOT ADJUSTED" in told[0]
    assert "NOT ADJUSTED" not in " ".join(told[1:])


def test_loops_that_sheet_1_has_no_room_for_are_counted_and_the_worst_is_told():
    """Three of four used to stand there as if they were all."""
    found = compiled(FAILS)
    survey = found.trav.survey
    loop = next(one for one in survey.closures if not one.adjusted)
    sound = replace(loop, q=0.1, q_up=None, adjusted=True, adjusted_up=True)
    trav = replace(found.trav, survey=replace(survey, closures=(sound, sound, loop)))
    for keep, left in ((2, "1 more, which closes better."), (1, "2 more, which close better.")):
        said = " ".join(words(closure_block(trav, width=150.0, reported=False, keep=keep).items).split())
        assert "NOT ADJUSTED" in said
        assert said.endswith(left)
