"""Letters on a section stand in the ground of their unit between the lines, or a leader joins them to it."""

from itertools import combinations
from pathlib import Path as File
from types import SimpleNamespace

import pytest
import shapely
from shapely import LineString
from shapely import Point as ShapelyPoint

from tests import once
from tests.thorough import some
from traverse.sheet.paper.growing import GrowingBoxes
from traverse.sheet.paper.page import Box, Path, Text
from traverse.sheet.section import letters, strip
from traverse.sheet.section.strip_frame import StripFrame

TESTS = File(__file__).parents[2]
LOGS = sorted([*(TESTS.parent / "samples").glob("*/*.trav"), *(TESTS / "reference" / "logs").glob("*.trav")])
_HAIR_MM = 0.05


def own_ground(fills, unit, lines, panel):
    """The pieces between all lines of a panel that hold ground of a unit's colour."""
    cells = shapely.get_parts(shapely.polygonize([shapely.union_all([panel.exterior, *lines])]))
    cells = [cell for part in cells for cell in shapely.get_parts(part)]
    mine = shapely.union_all([fill.area for fill in fills if fill.of.unit == unit])
    return [cell for cell in cells if cell.intersection(mine).area > 0.5]


@pytest.mark.every(2)
@pytest.mark.parametrize("path", some(LOGS, 6), ids=lambda path: path.stem)
def test_letters_stand_in_their_unit_or_a_leader_joins_them_to_it(monkeypatch, path):
    seen, deep = [], []
    made, made_deep = strip.letters_of, strip.letters_at_depth

    def kept(section, frame, depth_m, placed, lines, fills, parting):
        items = made(section, frame, depth_m, placed, lines, fills, parting)
        # The panel adds those at depth to the list.
        seen.append((tuple(items), fills, parting, frame.box))
        return items

    def kept_deep(named, *others):
        items = made_deep(named, *others)
        deep.extend((item, named) for item in items)
        return items

    monkeypatch.setattr(strip, "letters_of", kept)
    monkeypatch.setattr(strip, "letters_at_depth", kept_deep)
    once._drawn.__wrapped__(path, "key", "field", None)
    # Ground at depth has letters and no colour: it holds them, and no leader is drawn.
    for item, named in deep:
        holding = [one.area for one in named if one.of.unit == item.text]
        assert shapely.union_all(holding).contains(ShapelyPoint(item.at)), item.text
    for items, fills, parting, box in seen:
        panel = shapely.box(box.x, box.y, box.right, box.top)
        leader = None
        for item in items:
            if isinstance(item, Path):
                leader = LineString([command[1:] for command in item.commands])
                continue
            assert isinstance(item, Text)
            at = ShapelyPoint(item.at)
            mine = shapely.union_all([fill.area for fill in fills if fill.of.unit == item.text])
            if leader is not None:
                assert mine.contains(ShapelyPoint(leader.coords[-1])), item.text
            elif panel.contains(at):
                cells = own_ground(fills, item.text, parting, panel)
                assert mine.contains(at) or any(cell.distance(at) < _HAIR_MM for cell in cells), item.text
            leader = None


def test_of_a_crowd_no_two_units_have_their_letters_on_each_other():
    """Fourteen slivers of a millimetre and a half, in a panel that has no room for the letters of all."""
    frame = StripFrame(
        box=Box(x=0.0, y=0.0, width=30.0, height=9.0),
        mm_per_m=1.0,
        exaggeration=1.0,
        floor_m=0.0,
        top_m=9.0,
        lengths=None,
    )
    fills = [
        SimpleNamespace(
            of=SimpleNamespace(
                unit=f"A{chr(97 + at)}", base=(), start_m=4.0 + 1.5 * at, end_m=5.5 + 1.5 * at
            ),
            area=shapely.box(4.0 + 1.5 * at, 4.0, 5.5 + 1.5 * at, 6.0),
        )
        for at in range(14)
    ]
    section = SimpleNamespace(ground_at=lambda distance_m: 6.0)
    items = letters.letters_of(section, frame, 2.0, GrowingBoxes(), GrowingBoxes(), fills, [])
    named = [shapely.box(*letters._box(one)) for one in items if isinstance(one, Text)]
    assert 2 < len(named) < len(fills)
    assert all(one.intersection(other).area <= letters._COVERED_MM2 for one, other in combinations(named, 2))
