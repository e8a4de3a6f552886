"""The ± of heights in the table of stations, where more than the control holds them."""

import math

import pytest

from traverse.compile import compile_log
from traverse.sheet.said.stops import gather
from traverse.sheet.tables.station_rows import station_columns, station_rows
from traverse.source import Source
from traverse.trade import ELEVATION_SD_M

WALK = """notation 1
date 2026-05-19
bearings true
grid EPSG:25832
precision bearing 1, slope 1
control 1 423590 E 5152300 N 456 m ±5 gps
at 1
  {first}
to 2 090 80m +5
  {second}
side 2a 000 30m -2
  rock shale
to 3 210 80m -2
to 4 300 60m -1
close 1 017 41m -4
"""


def heights(first="rock shale", second="rock shale"):
    """Names with the ± of their heights as printed, the unit of that column, and the survey."""
    trav = compile_log(
        Source("day.trav", WALK.format(first=first, second=second)), load=lambda name: b""
    ).trav
    columns = station_columns(trav.log, trav.survey)
    at = [one.name for one in columns].index("± H")
    rows, _ = station_rows(trav.log, trav.survey, gather(trav))
    told = {row.cells[0]: row.cells[at] for row in rows if row.cells[0] in trav.survey.places}
    return told, columns[at].unit, trav.survey


def test_where_the_control_alone_holds_them_they_are_told_from_it():
    said, unit, _ = heights()
    assert (said["1"], unit) == ("held", "m")
    assert said["2"] == said["2a"] == "1"


@pytest.mark.parametrize("sd", ["", " ±2"])
def test_an_altimeter_makes_no_height_free_of_error(sd):
    """Two readings of ± s and one of ± 5 m by the control: the weights add, so that none is better than all of them at one."""
    said, unit, survey = heights(f"elevation 456 m{sd} altimeter", f"elevation 463 m{sd} altimeter")
    assert "held" not in said.values()
    assert unit == "m, 1 sd"
    read_m = 2.0 if sd else ELEVATION_SD_M
    least_m = 1.0 / math.sqrt(2.0 / read_m**2 + 1.0 / 5.0**2)
    for name, words in said.items():
        assert int(words) == round(max(1.0, survey.places[name].sd_up_m))
        assert survey.places[name].sd_up_m >= least_m


def test_a_known_height_without_error_is_held():
    text = WALK.format(first="rock shale", second="elevation 463 m altimeter").replace("±5 gps", "map")
    trav = compile_log(Source("day.trav", text), load=lambda name: b"").trav
    at = [one.name for one in station_columns(trav.log, trav.survey)].index("± H")
    rows, _ = station_rows(trav.log, trav.survey, gather(trav))
    assert {row.cells[0] for row in rows if row.cells[at] == "held"} == {"1"}
