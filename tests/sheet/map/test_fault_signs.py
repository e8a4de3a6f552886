"""What a fault did is told on its line, on the side that the log gives."""

import math

import pytest

from tests.sheet.fixture_sheet import compiled, layer, sheet
from traverse.sheet.paper.page import Path
from traverse.sheet.paper.style import PENS
from traverse.sheet.signs.symbols import SIGNS

HEAD = (
    "bearings true\nattitudes dip-right\nunit Ka Marl ; Cretaceous\nunit Jb Shale ; Jurassic\n"
    "at 1\n  unit Ka\nto 2 090 200m +0\nalong 100 m\n  "
)
TAIL = "\nat 2\n  unit Jb\nsheet scale 1:2500 paper A4 landscape band 20 m\n"


def drawn(fault):
    """Paths of contacts, their pens, and the messages."""
    document, said = sheet(compiled(HEAD + fault + TAIL))
    return [one for one in layer(document.pages[0].items, "contacts") if isinstance(one, Path)], said


def line_x(paths):
    """Where the fault, which strikes north, crosses the page."""
    return next(one.commands[0][1] for one in paths if one.pen == PENS["fault certain"])


def middle_x(path):
    xs = [x for _, *numbers in path.commands for x in numbers[::2]]
    return (min(xs) + max(xs)) / 2.0


def wide(path):
    xs = [x for _, *numbers in path.commands for x in numbers[::2]]
    return max(xs) - min(xs)


def balls(paths):
    return [one for one in paths if one.fill == "#000000" and len(one.commands) == 6 and wide(one) > 1.1]


def marks(paths, corners):
    return [
        one for one in paths if one.fill == "#000000" and len(one.commands) == corners + 1 and wide(one) < 2.5
    ]


@pytest.mark.every(3)
@pytest.mark.parametrize(
    ("fault", "side"),
    [
        ("fault Ka/Jb certain 000/70 down E", 1.0),
        ("fault Ka/Jb certain 000/70 down W", -1.0),
        ("fault Ka/Jb certain 000/70 normal", 1.0),
        ("fault Ka/Jb certain 180/70 normal", -1.0),
    ],
)
def test_the_ball_stands_where_it_went_down_else_down_the_dip_of_a_normal_fault(fault, side):
    paths, _ = drawn(fault)
    (ball,) = balls(paths)
    assert (middle_x(ball) - line_x(paths)) * side == pytest.approx(2.2, abs=0.1)


@pytest.mark.parametrize(
    ("fault", "side"),
    [
        ("fault Ka/Jb certain 000/30 thrust", 1.0),
        ("fault Ka/Jb certain 180/30 thrust", -1.0),
        ("fault Ka/Jb certain thrust down W", 1.0),
    ],
)
def test_teeth_stand_on_the_side_that_rode_up(fault, side):
    """Down the dip; where no dip is known, away from the side that went down."""
    paths, _ = drawn(fault)
    teeth = [one for one in marks(paths, 3) if wide(one) == pytest.approx(1.7, abs=0.01)]
    assert len(teeth) >= 2
    assert all((middle_x(one) - line_x(paths)) * side > 0.5 for one in teeth)
    assert not balls(paths)


def test_blocks_of_a_reverse_fault_stand_on_the_side_that_went_up():
    paths, _ = drawn("fault Ka/Jb certain 000/60 reverse")
    blocks = [one for one in marks(paths, 4) if wide(one) == pytest.approx(1.0, abs=0.01)]
    assert blocks
    assert all(middle_x(one) > line_x(paths) for one in blocks)


@pytest.mark.parametrize(("movement", "east_goes"), [("left-lateral", 1.0), ("right-lateral", -1.0)])
def test_arrows_of_a_sideways_fault_tell_which_way_the_far_side_went(movement, east_goes):
    """Seen from the west, the far side is the east one: left is north, right is south."""
    paths, _ = drawn(f"fault Ka/Jb certain 000/vertical {movement}")
    x = line_x(paths)
    barbs = [
        one
        for one in paths
        if one.pen == PENS["symbol"]
        and len(one.commands) == 2
        and 1.0 < math.dist(one.commands[0][1:], one.commands[1][1:]) < 2.0
    ]
    assert len(barbs) == 2
    for barb in barbs:
        (_, tip_x, tip_y), (_, _, end_y) = barb.commands
        points_north = tip_y > end_y
        assert points_north == ((tip_x > x) == (east_goes > 0.0))


def test_a_fault_of_which_nothing_is_told_has_its_line_only():
    paths, _ = drawn("fault Ka/Jb certain 000/vertical")
    assert not balls(paths)
    assert all(one.fill is None for one in paths)


def test_no_sign_stands_in_the_break_of_a_query():
    """Teeth keep clear of the letter, which stands on the line."""
    document, _ = sheet(compiled(HEAD + "fault Ka/Jb? certain 000/30 thrust" + TAIL))
    teeth = [
        one
        for one in layer(document.pages[0].items, "contacts")
        if isinstance(one, Path) and one.fill == "#000000" and wide(one) == pytest.approx(1.7, abs=0.01)
    ]
    queries = [one for one in layer(document.pages[0].items, "figures") if getattr(one, "text", "") == "?"]
    assert teeth
    assert len(queries) == 2
    reach = SIGNS["fault thrust"].reach
    for tooth in teeth:
        ys = [y for _, *numbers in tooth.commands for y in numbers[1::2]]
        for query in queries:
            assert not min(ys) - 0.1 < query.at[1] + 0.85 < max(ys) + 0.1, reach
