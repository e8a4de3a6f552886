"""Columns and pages fill from the top, and what has no room goes on in the next."""

import pytest

from tests.sheet.pages import texts
from traverse.sheet.paper.filling import FilledTo, Pages
from traverse.sheet.paper.page import Block, Box, Face, Group, Path, Text, polyline, shifted, side_by_side

FRAME = Box(x=10.0, y=20.0, width=100.0, height=50.0)


def block(words, height):
    return Block(items=(Text(at=(0.0, -2.0), text=words, face=Face.REGULAR),), height=height)


def test_blocks_go_down_a_column_then_into_the_next_then_over_the_page():
    heads = (block("head", 10.0), block("again", 5.0))
    pages, at = Pages.of(FRAME, columns=2, gap=4.0, heads=heads), FilledTo()
    for words in "abcde":
        at = pages.put(block(words, 20.0), pages.fitting(20.0, at))
    # Two to a column: 50 less the head of 10; the columns are 48 wide, 4 apart.
    assert texts(pages.items[0]) == [
        (10.0, 68.0, "head"),
        (10.0, 58.0, "a"),
        (10.0, 38.0, "b"),
        (62.0, 58.0, "c"),
        (62.0, 38.0, "d"),
    ]
    assert texts(pages.items[1]) == [(10.0, 68.0, "again"), (10.0, 63.0, "e")]
    assert at == FilledTo(1, 0, 20.0)


def test_what_is_higher_than_a_column_makes_no_empty_page():
    pages = Pages.of(FRAME)
    end = pages.put(block("tall", 80.0), pages.fitting(80.0, FilledTo()))
    assert pages.fitting(1.0, end) == FilledTo(1)
    assert len(pages.items) == 1


def test_pages_seen_in_other_columns_are_the_same_pages():
    pages = Pages.of(FRAME)
    pages.within(Box(x=60.0, y=20.0, width=50.0, height=50.0)).put(block("right", 5.0), FilledTo(1))
    assert pages.items[0] == []
    assert texts(pages.items[1]) == [(60.0, 68.0, "right")]


def test_a_block_is_placed_with_all_that_is_drawn_in_it():
    line = polyline([(0.0, 0.0), (3.0, -4.0)])
    curve = (("C", 1.0, -1.0, 2.0, -2.0, 3.0, -3.0), ("Z",))
    (group,) = shifted([Group(items=(Path(commands=line),), clip=curve)], 10.0, 100.0)
    assert group.items[0].commands == (("M", 10.0, 100.0), ("L", 13.0, 96.0))
    assert group.clip == (("C", 11.0, 99.0, 12.0, 98.0, 13.0, 97.0), ("Z",))


@pytest.mark.parametrize(("left", "right"), [(5.0, 8.0), (8.0, 5.0)])
def test_blocks_side_by_side_are_as_high_as_the_highest(left, right):
    both = side_by_side([(0.0, block("a", left)), (30.0, block("b", right))])
    assert both.height == 8.0
    assert texts(both.at(1.0, 10.0)) == [(1.0, 8.0, "a"), (31.0, 8.0, "b")]
