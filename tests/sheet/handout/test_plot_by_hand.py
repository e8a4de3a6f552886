"""What a handout has to plot by: degrees round the corners of its map, and a rule of paces."""

import math

import pytest
from shapely import LineString, Point

from tests.sheet.fixture_sheet import layer
from tests.sheet.handout.test_handout import SAMPLES, handout, sample
from tests.sheet.pages import flat, overlaps
from traverse.sheet.paper.layers import Layer
from traverse.sheet.paper.page import Path, Text
from traverse.sheet.paper.window import PaceRule, scale_strip


def grid_of(page):
    return list(flat(layer(page.items, Layer.GRID)))


def neat_line(page):
    """Corners of the neat line: the widest closed box of the grid's layer."""
    boxes = [one.commands for one in grid_of(page) if isinstance(one, Path) and one.commands[-1] == ("Z",)]
    xs, ys = zip(*[command[1:3] for command in boxes[-1][:-1]], strict=True)
    return min(xs), min(ys), max(xs), max(ys)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_figure_lies_from_its_corner_in_the_direction_that_it_names(path):
    document, _ = handout(sample(path))
    page = document.pages[0]
    left, low, right, top = neat_line(page)
    corners = [(x, y) for x in (left, right) for y in (low, top)]
    figures = [
        one
        for one in grid_of(page)
        if isinstance(one, Text) and one.text.isdigit() and len(one.text) == 3 and one.halo is not None
    ]
    assert figures
    for one in figures:
        # The middle of a figure's height.
        at = (one.at[0], one.at[1] + 0.33 * one.size_pt * 25.4 / 72.0)
        near = min(corners, key=lambda corner: math.dist(corner, at))
        toward = math.degrees(math.atan2(at[0] - near[0], at[1] - near[1])) % 360.0
        assert toward == pytest.approx(float(one.text), abs=0.05)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_the_scale_keeps_off_the_walk_and_covers_no_word(path):
    document, _ = handout(sample(path))
    page = document.pages[0]
    corners = [Point(one) for one in _corners(page)]
    legs = [
        LineString([command[1:3] for command in one.commands])
        for one in flat(layer(page.items, Layer.LEGS))
        if isinstance(one, Path) and len(one.commands) == 2
    ]
    assert legs
    arcs = [one for one in grid_of(page) if isinstance(one, Path) and len(one.commands) > 90]
    assert 1 <= len(arcs) <= 2
    for arc in arcs:
        first = Point(arc.commands[0][1:3])
        radius = min(first.distance(corner) for corner in corners)
        centre = min(corners, key=first.distance)
        assert all(leg.distance(centre) > radius for leg in legs)
    assert overlaps(page.items) == []


def _corners(page):
    left, low, right, top = neat_line(page)
    return [(x, y) for x in (left, right) for y in (low, top)]


def test_a_rule_of_paces_is_as_long_as_the_paces_are_on_paper():
    """40 double paces of 1.5 m at 1:2500 are 60 m on the ground, 24 mm on paper."""
    rule = PaceRule(words="AR’s double paces", length_m=1.5)
    items = scale_strip(2500, x=14.0, top=89.0, width=192.0, paces=[rule])
    (words,) = [one for one in items if isinstance(one, Text) and one.text == rule.words]
    ticks = {
        one.text: one.at[0]
        for one in items
        if isinstance(one, Text) and one.text.isdigit() and one.at[0] >= words.at[0] - 0.01
    }
    assert (ticks["40"] - ticks["0"]) == pytest.approx(24.0)
    assert words.at[0] == pytest.approx(ticks["0"])


def test_of_more_pacers_than_fit_the_first_have_their_rules_and_the_check_line_stays():
    rules = [
        PaceRule(words=f"{who}’s double paces", length_m=1.5) for who in ("AR", "BT", "CN", "DK", "EL", "FM")
    ]
    items = scale_strip(2500, x=14.0, top=89.0, width=192.0, paces=rules)
    said = [one.text for one in items if isinstance(one, Text)]
    shown = [rule.words for rule in rules if rule.words in said]
    assert shown == [rule.words for rule in rules[: len(shown)]]
    assert 1 <= len(shown) < 6
    assert any(words.startswith("check line") for words in said)
    assert overlaps(items) == []
