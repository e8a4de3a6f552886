"""Letters on a section stand in the ground of their unit between the lines, or a leader joins them to it."""

from pathlib import Path as File

import pytest
import shapely
from shapely import LineString
from shapely import Point as ShapelyPoint

from tests import once
from tests.thorough import some
from traverse.sheet.paper.page import Path, Text
from traverse.sheet.section import strip

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
