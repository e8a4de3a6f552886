"""Several parties on one map: told apart, and nothing coloured by a walk of which nobody knows where it lies."""

import re
from dataclasses import replace
from functools import cache
from itertools import combinations
from pathlib import Path as File
from types import SimpleNamespace

import pytest
import shapely

from traverse.compile import compile_log, map_ground
from traverse.location.records import PlaceKind
from traverse.sheet.map.map import map_panel
from traverse.sheet.map.map_signs import station_sign
from traverse.sheet.paper.page import Box, Group, Path, Text
from traverse.sheet.paper.style import PENS
from traverse.sheet.signs.colour import unit_styles
from traverse.sheet.signs.sign_list import sign_words
from traverse.sheet.signs.symbols import PARTY_SIGNS, SIGNS
from traverse.source import Source

GROUND = (File(__file__).parents[2] / "compare/hollin-valley.trav").read_text("utf-8")
SHARED = ("1", "3", "6", "9", "12")
HUNDRED = GROUND.replace("to 7 140 115.7", "to 7 140 15.7")
"""A hundred metres lost on one leg."""
FEET = re.sub(
    r"((?:to|close) \d+ \d{3} )([\d.]+)", lambda found: f"{found[1]}{float(found[2]) / 0.3048:.1f}", GROUND
)
FEET = re.sub(r"along (\d+)", lambda found: f"along {float(found[1]) / 0.3048:.0f}", FEET)
"""Every tape read in feet under `distances metres`."""


@cache
def camp(*parties):
    letters = "ABCDEFGH"[: len(parties)]
    rows = ["notation 1", "traverse Hollin Valley"]
    rows += [f"log {letter.lower()}.trav as {letter}" for letter in letters]
    rows += [f"tie A-{at} to {letter}-{at}" for letter in letters[1:] for at in SHARED]
    rows += re.findall(r"^unit .*;.*$", GROUND, re.MULTILINE)
    # A copy of another's log is refused.
    files = {
        f"{letter.lower()}.trav": f"{text}# {letter}\n" for letter, text in zip(letters, parties, strict=True)
    }
    found = compile_log(
        Source(name="camp.trav", text="\n".join(rows) + "\n"), load=lambda path: files[path].encode()
    )
    assert not found.failed
    return found


@cache
def drawn(*parties):
    found = camp(*parties)
    box = Box(x=14.0, y=40.0, width=230.0, height=150.0)
    return map_panel(map_ground(found.trav), box=box, scale=4000, styles=unit_styles(found.log.units))


def every(items):
    for one in items:
        if isinstance(one, Group):
            yield from every(one.items)
        else:
            yield one


def test_eight_parties_have_eight_marks_and_each_is_in_the_legend():
    found = camp(*[GROUND] * 8)
    signs = [station_sign(found.log, f"{letter}-2", PlaceKind.WALKED) for letter in "ABCDEFGH"]
    assert signs == list(PARTY_SIGNS)
    assert len(set(signs)) == 8
    words = sign_words(found.trav)
    said = [words[{"station": "leg"}.get(sign, sign)] for sign in PARTY_SIGNS]
    assert [re.match(r"station of (\w)\b", one)[1] for one in said] == list("ABCDEFGH")
    assert "A-7: its 7" in said[0]


def test_no_mark_of_a_party_covers_another_but_for_a_part():
    """Each as a shape, the pens widened: the ground that two have in common is well below that of both."""

    def shape(name):
        parts = []
        for path in SIGNS[name].shapes:
            numbers = [command[1:] for command in path.commands]
            points = [pair for row in numbers for pair in zip(row[::2], row[1::2], strict=True)]
            one = shapely.LineString(points)
            parts.append(one.convex_hull if path.fill == "#000000" else one.buffer(0.15))
        return shapely.union_all(parts)

    for one, other in combinations(PARTY_SIGNS, 2):
        first, second = shape(one), shape(other)
        assert first.intersection(second).area < 0.87 * first.union(second).area, (one, other)


@pytest.mark.thorough
def test_the_ground_of_a_party_whose_own_loop_fails_colours_nothing_and_its_walk_is_dashed():
    """Only the ground within reach of A's walk is coloured, in A's places, and only A's contacts part it."""
    sound, wrong = camp(GROUND, GROUND), camp(GROUND, HUNDRED)
    assert wrong.trav.geology.open_parties == {"b.trav"}
    assert not sound.trav.geology.open_parties
    band = map_ground(wrong.trav).ground.map.band
    places = wrong.trav.survey.places
    ring = shapely.LineString(
        [(places[f"A-{at}"].east_m, places[f"A-{at}"].north_m) for at in (*range(1, 15), 1)]
    )
    half_m = wrong.trav.ground.width.half_m
    assert band.whole.difference(ring.buffer(half_m + 0.5)).area < 1.0
    assert {piece.contact.booked.span.file for piece in band.crossed} == {"a.trav"}
    dashed = [
        one
        for one in every(drawn(GROUND, HUNDRED).items)
        if isinstance(one, Path) and one.pen == PENS["walk aside"]
    ]
    assert len(dashed) == 14
    assert sign_words(wrong.trav)["walk aside"] == "B: its own loop fails"


def test_no_thickness_rests_on_a_walk_left_open_beside_others():
    thick = camp(GROUND, HUNDRED).trav.geology.thicknesses
    assert thick
    assert {span.file for one in thick for span in one.between} == {"a.trav"}


def test_a_body_met_on_a_walk_left_open_beside_others_is_left_out():
    """Whole, where any of its crossings was met there."""
    trav = camp(GROUND, HUNDRED).trav
    of = {file: [one for one in trav.geology.band if one.leg is not None and trav.log.legs[one.leg].span.file == file]
          for file in ("a.trav", "b.trav")}  # fmt: skip
    known, loose, both = (
        SimpleNamespace(stretches=tuple(some))
        for some in (of["a.trav"][:2], of["b.trav"][:2], [*of["a.trav"][:1], *of["b.trav"][:1]])
    )
    left = replace(trav.geology, bodies=(known, loose, both)).settled(trav.log).bodies
    assert left == (known,)


def test_a_loop_that_fails_alone_keeps_its_colours():
    found = compile_log(Source(name="b.trav", text=HUNDRED), load=lambda path: b"")
    assert not found.trav.survey.adjusted
    assert not found.trav.geology.open_parties
    assert map_ground(found.trav).ground.map.band.areas


def test_where_every_party_fails_all_are_drawn_as_they_walked():
    assert not camp(HUNDRED, HUNDRED).trav.geology.open_parties


@pytest.mark.parametrize("parties", [(GROUND, GROUND, FEET)])
def test_how_far_a_dashed_walk_goes_on_beyond_the_frame_is_said(parties):
    """All of C's legs less what the window holds, cut here by a rectangle in metres."""
    found, panel = camp(*parties), drawn(*parties)
    (walk,) = found.trav.survey.aside
    window = panel.window
    frame = shapely.box(
        window.east_m,
        window.north_m,
        window.east_m + window.box.width * window.scale / 1000.0,
        window.north_m + window.box.height * window.scale / 1000.0,
    )
    legs = [shapely.LineString([walk.places[start], walk.places[end]]) for start, end in walk.legs]
    beyond = sum(leg.difference(frame).length for leg in legs)
    (said,) = [
        one.text for one in every(panel.items) if isinstance(one, Text) and "beyond the frame" in one.text
    ]
    figure = float(re.search(r"C goes on ([\d ]+)\s*m beyond", said.replace("\xa0", " "))[1].replace(" ", ""))
    assert figure == pytest.approx(beyond, rel=0.02)
    assert beyond > 1000.0
