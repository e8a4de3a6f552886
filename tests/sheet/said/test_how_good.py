"""How good the stations are said to be is the worst error that the table prints."""

import re

import pytest

from traverse.sheet.said.sentences import accuracy, closure_lines
from traverse.sheet.said.stops import gather
from traverse.sheet.tables.station_rows import station_columns, station_rows

HEAD = "notation 1\ngrid EPSG:25833\nheights relative\nbearings grid\nprecision bearing 1, slope 1, pace 2%\npace double 2 m\n"
FIRST = "control 1 431200 E 5205400 N ±5 map\n"
LAST = "control 5 433800 E 5205400 N ±5 map\n"
# Four legs of 650 m due east: 13 m each along, 11 m across.
WALK = "at 1\nto 2 090 325p level\nto 3 090 325p level\nto 4 090 325p level\nto 5 090 325p level\n"
BACK = "to 6 180 325p level\nclose 1 281.77 1325.5p level\n"
TYPED = {
    "open": HEAD + FIRST + WALK,
    "tied": HEAD + FIRST + LAST + WALK,
    "held at both ends": HEAD + (FIRST + LAST).replace("±5 ", "") + WALK,
    "held": HEAD + FIRST.replace("±5 ", "") + WALK,
    "loop": HEAD + FIRST + WALK + BACK,
    "loop over two points": HEAD + FIRST + LAST + WALK + BACK,
    "loop of no grid": HEAD.replace("grid EPSG:25833\n", "").replace("bearings grid", "bearings true") + WALK + BACK,
    "open of no grid": HEAD.replace("grid EPSG:25833\n", "").replace("bearings grid", "bearings true") + WALK,
}  # fmt: skip


def figures(words):
    return [int(one) for one in re.findall(r"(\d+)\sm\b", words)]


def printed(trav):
    """The worst ± E N of the table."""
    column = [one.name for one in station_columns(trav.log, trav.survey)].index("± E N")
    rows, _ = station_rows(trav.log, trav.survey, gather(trav))
    return max(0 if row.cells[column] == "held" else int(row.cells[column]) for row in rows)


@pytest.mark.parametrize("of", TYPED)
def test_the_sheet_says_the_worst_error_that_its_table_prints(of, compile_text):
    trav = compile_text(TYPED[of]).trav
    assert figures(accuracy(trav.log, trav.survey))[0] == printed(trav)


@pytest.mark.parametrize("of", ["open", "open of no grid"])
def test_a_walk_that_nothing_checks_is_said_to_be_as_good_beside_its_closure(of, compile_text):
    trav = compile_text(TYPED[of]).trav
    (said,) = closure_lines(trav.log, trav.survey)
    assert figures(said) == [printed(trav)]


def test_a_walk_between_known_points_is_as_good_as_the_tie_makes_it(compile_text):
    """By hand: the middle of four legs of 13 m, held at both ends, is 13 m; 2 % of 650 m each."""
    trav = compile_text(TYPED["held at both ends"]).trav
    said = accuracy(trav.log, trav.survey).replace("\xa0", " ")
    assert said == "Stations good to 13 m in the grid if the known points are right (1 sd)."
    # Points off by 5 m each add 25/2 to the 169.
    trav = compile_text(TYPED["tied"]).trav
    said = accuracy(trav.log, trav.survey).replace("\xa0", " ")
    assert said == "Stations good to 13 m in the grid (1 sd)."
    # Without the second point: 26 m at the end, joined with the 5 m of the first.
    trav = compile_text(TYPED["open"]).trav
    said = accuracy(trav.log, trav.survey).replace("\xa0", " ")
    assert said == "Stations good to 26 m along the walk, 26 m in the grid (1 sd)."


def test_a_tie_that_fails_leaves_the_walk_off_by_its_gap(compile_text):
    trav = compile_text(TYPED["tied"].replace("433800 E", "434400 E")).trav
    assert "good to" not in accuracy(trav.log, trav.survey)
