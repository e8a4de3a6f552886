"""A section is cut through the ground that the map shows: where both show it, they show the same."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest
import shapely

from tests.invented.cut_true import at_level, differing
from tests.invented.judge import compiled_walk
from tests.invented.models import make
from tests.invented.walker import walked
from tests.thorough import some
from traverse.compile import compile_log, map_ground, section_ground
from traverse.source import Source
from traverse.structure.section.records import Stop
from traverse.trade import GUESS_SHARE

_ROOT = Path(__file__).parents[2]
LOGS = sorted([*(_ROOT / "samples").glob("*/*.trav"), *(_ROOT / "tests/reference/logs").glob("*.trav")])
HILL = """notation 1
traverse Hill of flat beds
date 2026-05-13
bearings true
attitudes dip-right
unit Ss Cap Sandstone ; Triassic
unit Ml Knowe Marl ; Permian
at 1
  unit Ml
  bed flat
to 2 074 73m level
along 20m left 6m
  contact Ss/Ml certain
along 50m left 5m
  contact Ss/Ml certain
at 2
  unit Ml
to 3 040 78m level
along 0m to 78m left 5m
  contact Ss/Ml approximate
at 3
  unit Ml
  bed 010/2
to 4 352 71m +2
along 0m to 71m left 6m
  contact Ss/Ml approximate
to 5 300 81m level
along 0m to 81m left 5m
  contact Ss/Ml certain
at 5
  unit Ml
to 6 240 81m -1
along 40m left 8m
  contact Ss/Ml inferred
to 7 186 91m -1
along 10m to 60m left 6m
  contact Ss/Ml approximate
close 1 146 72m level
along 30m left 5m
  contact Ss/Ml certain
"""
"""Sandstone on marl, walked round: the contact is seen beside the walk at one height."""


def _traverse(path: Path):
    found = compile_log(
        Source(name=str(path), text=path.read_text()), load=lambda name: (path.parent / name).read_bytes()
    )
    assert found.trav is not None
    return map_ground(found.trav)


def _hill():
    found = compile_log(Source(name="hill.trav", text=HILL), load=lambda name: b"")
    assert found.trav is not None
    return map_ground(found.trav)


@pytest.mark.every(2)
@pytest.mark.parametrize("path", some(LOGS, 2), ids=lambda path: path.stem)
def test_section_and_map_show_one_ground(path):
    trav = _traverse(path)
    band = trav.ground.map.band
    shared = 0
    for cut in trav.ground.cuts:
        if band is None or not cut.fills:
            continue
        at, differ, beyond = differing(band, cut)
        shared += len(at)
        # A border drawn along a dipping line comes out beside the place where it was seen, within what is stated.
        assert beyond.tolist() == []
        # Where the ground is as high as a gentle contact is likely to be, either unit may be there.
        line = shapely.LineString(cut.section.line)
        sure = [one for one in differ if not at_level(cut.section, line, one, within_sd=1.0)]
        # Off its place the map turns a border by the slope that the walk tells there, some metres in a hundred.
        assert len(sure) <= max(5, 0.035 * len(at))
    if path.stem in {"oskerra-valley", "faults", "unconformity", "many-units", "plunging-fold"}:
        assert shared > 100


def _uprights(cut, depth_m):
    """Edges of coloured ground that go straight down, apart from the ends of the section and what was drawn so.

    Nor where the ground may lie anywhere, and nothing is coloured under it.
    """
    drawn = [part for one in cut.lines for part in one.below]
    open_m = [at_m for ends in cut.section.guessed(over_m=GUESS_SHARE * depth_m) for at_m in ends]
    for fill in cut.fills:
        points = shapely.get_coordinates(fill.area.exterior)
        for (x, low), (other, high) in pairwise(points):
            middle = shapely.Point(x, (low + high) / 2.0)
            at_end = min(abs(x - end) for end in (0.0, cut.section.length_m, *open_m)) < 0.1
            upright = abs(x - other) < 1e-3 and abs(high - low) > 2.0 and not at_end
            if upright and all(part.distance(middle) > 0.2 for part in drawn):
                yield round(float(x), 1)


@pytest.mark.every(2)
@pytest.mark.parametrize("path", [*LOGS, None], ids=lambda path: "hill" if path is None else path.stem)
def test_no_border_stands_upright_in_beds_that_dip(path):
    """Where two arms disagree, or no line tells of a border, it follows the beds."""
    trav = _hill() if path is None else _traverse(path)
    for cut in trav.ground.cuts:
        dips = [abs(one.apparent_dip_deg) for one in cut.section.points if one.is_bed]
        if dips and max(dips) < 80.0:
            assert list(_uprights(cut, trav.ground.width.half_m)) == []


def test_a_cap_of_flat_beds_lies_on_what_is_under_it():
    """Sandstone over the height where its base was met, marl under it, no deeper than a skin under where that was walked."""
    (cut,) = _hill().ground.cuts
    (level,) = cut.section.levels
    assert {fill.unit for fill in cut.fills} == {"Ss", "Ml"}
    for fill in cut.fills:
        _, low, _, high = fill.area.bounds
        if fill.unit == "Ss":
            assert low == pytest.approx(level.up_m, abs=0.1)
        else:
            assert high == pytest.approx(level.up_m, abs=0.1)
            assert -3.5 < low < -0.1


ROUND_A_HILL = """notation 1
bearings true
attitudes dip-direction
unit Lm Shelf Limestone ; Cretaceous
unit Md Foot Mudstone ; Jurassic
at 1
unit Md
bed flat
to 2 030 100m +6
along 70m
contact Lm/Md certain
at 2
unit Lm
bed flat
to 3 090 100m level
unit Lm
to 4 150 100m -6
covered 20m to 40m talus
contact Lm/Md inferred
at 4
unit Md
bed flat
to 5 240 100m -1
unit Md
close 1 294 124m +1
"""


@pytest.mark.parametrize("own", ["", "section A-A' from 1 to 3\n", "section A-A' from 5 to 2\n"])
def test_flat_beds_walked_round_lie_level_and_make_no_bowl(own):
    found = compile_log(Source(name="round.trav", text=ROUND_A_HILL + own), load=lambda name: b"")
    (cut,) = map_ground(found.trav).ground.cuts
    (level,) = cut.section.levels
    slack_m = 0.3
    for fill in cut.fills:
        assert fill.base == ()
        _, low, _, high = fill.area.bounds
        assert (low >= level.up_m - slack_m) if fill.unit == "Lm" else (high <= level.up_m + slack_m)
    assert {fill.unit for fill in cut.fills} == {"Lm", "Md"}


def test_a_line_that_comes_out_again_is_not_drawn_through_ground_of_one_unit():
    """It was seen there to have the same unit on both sides."""
    (cut,) = section_ground(compiled_walk(walked(make("dome", 10))).trav).ground.cuts
    again = [one for one in cut.lines if Stop.OUT_AGAIN in one.of.stopped]
    assert again
    for line in again:
        assert sum(part.length for part in line.below) > 20.0
        for part in line.below:
            assert all(part.intersection(fill.area.buffer(-0.5)).length < 1.0 for fill in cut.fills)
