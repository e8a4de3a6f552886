"""Room for labels, against looking at every shape and box one by one."""

import numpy as np
import pytest
import shapely

from tests.thorough import some
from traverse.sheet.map.halo import Grounds
from traverse.sheet.map.things import Thing, place_things
from traverse.sheet.paper.growing import GrowingBoxes, GrowingTree, shapes_of
from traverse.sheet.paper.labels import Taken, boxes_at
from traverse.sheet.paper.page import Box

FRAME = Box(x=0.0, y=0.0, width=100.0, height=80.0)


def some_boxes(rng, count, *, wide=6.0):
    corners = rng.uniform(0.0, 95.0, (count, 2))
    return np.hstack([corners, corners + rng.uniform(0.2, wide, (count, 2))])


@pytest.mark.parametrize("count", some([0, 1, 24, 25, 70, 120, 400], [0, 1, 24, 25, 70, 120]))
def test_a_tree_that_grows_finds_what_looking_at_all_of_them_finds(count):
    """Asked after every twentieth shape, so that trees are built from trees."""
    rng = np.random.default_rng(count)
    tree, shapes = GrowingTree(), []
    asked = shapes_of(some_boxes(rng, 50))
    for number, start in enumerate(rng.uniform(0.0, 100.0, (count, 2))):
        shape = shapely.LineString([start, start + rng.normal(0.0, 4.0, 2)]).buffer(0.3)
        tree.add([shape])
        shapes.append(shape)
        if number % 20 == 0 or number == count - 1:
            one_by_one = shapely.intersects(asked[:, None], np.array(shapes)[None, :]).any(axis=1)
            assert (tree.hits(asked) == one_by_one).all()
            nearest = shapely.distance(asked[:, None], np.array(shapes)[None, :]).min(axis=1, initial=5.0)
            assert tree.distance(asked, 5.0) == pytest.approx(nearest)
    if not count:
        assert not tree.hits(asked).any()
        assert (tree.distance(asked, 5.0) == 5.0).all()


def test_boxes_in_cells_are_all_found():
    rng = np.random.default_rng(5)
    boxes = some_boxes(rng, 300, wide=30.0)
    kept = GrowingBoxes()
    for box in boxes:
        kept.add(tuple(box))
    for left, lower, right, upper in some_boxes(rng, 40, wide=20.0):
        touching = boxes[
            (boxes[:, 0] < right) & (boxes[:, 2] > left) & (boxes[:, 1] < upper) & (boxes[:, 3] > lower)
        ]
        near = {tuple(one) for one in kept.near(left, lower, right, upper).tolist()}
        assert {tuple(one) for one in touching.tolist()} <= near


def test_a_label_stands_on_a_soft_line_only_where_there_is_no_place_off_it():
    taken = Taken(FRAME)
    taken.discourage(shapely.LineString([(0.0, 40.0), (100.0, 40.0)]).buffer(0.3))
    assert taken.first([(20.0, 40.0), (20.0, 50.0)], (4.0, 2.0)) == (20.0, 50.0)
    assert taken.first([(20.0, 40.0), (20.0, 50.0)], (4.0, 2.0)) == (20.0, 40.0)
    assert taken.first([(20.0, 40.0), (20.0, 50.0)], (4.0, 2.0)) is None


def test_no_label_leaves_the_frame_or_covers_another():
    taken = Taken(FRAME)
    centres = [(0.5, 0.5), (10.0, 10.0), (12.0, 10.0), (15.0, 10.0)]
    assert taken.free(boxes_at(centres, (4.0, 2.0))).tolist() == [False, True, True, True]
    assert taken.first(centres, (4.0, 2.0)) == (10.0, 10.0)
    assert taken.free(boxes_at(centres, (4.0, 2.0))).tolist() == [False, False, False, True]


def test_a_leader_crosses_no_label():
    taken = Taken(FRAME)
    taken.add(np.array([18.0, 8.0, 22.0, 12.0]))
    boxes = boxes_at([(30.0, 10.0), (10.0, 20.0)], (4.0, 2.0))
    assert taken.free(boxes, leader_from=(10.0, 10.0)).tolist() == [False, True]
    assert taken.free(boxes).tolist() == [True, True]


def test_a_hazard_is_never_left_off_for_a_label_in_the_way_of_its_leader():
    """A sample is: the table has it. Labels stand all round the place, nearer than any icon may."""
    things = {sign: Thing(sign=sign, at=(50.0, 40.0), text="x", where="1") for sign in ("hazard", "sample")}
    for sign, left in (("hazard", ()), ("sample", ("x",))):
        taken = Taken(FRAME)
        for box in ([46, 43, 54, 44], [46, 36, 54, 37], [46, 36, 47, 44], [53, 36, 54, 44]):
            taken.add(np.array(box, dtype=float))
        named = place_things([things[sign]], None, (0.0, 0.0), taken, Grounds((), {}))
        assert named.left == tuple(f"{sign} {one} at 1" for one in left)
        assert bool(named.items) == (not left)


def test_a_hazard_leads_past_a_swarm_as_far_as_it_must_and_samples_take_no_turn_of_it():
    """Labels stand all over the ground within 28 mm, and 40 samples were taken within a few millimetres."""
    swarm = [Thing(sign="sample", at=(50.0 + one / 40.0, 40.0), text="x", where="1") for one in range(40)]
    taken = Taken(Box(x=0.0, y=0.0, width=100.0, height=80.0))
    taken.add(np.array([22.0, 12.0, 78.0, 68.0]))
    hazards = [Thing(sign="hazard", at=(50.0 + one, 40.0), text="H", where="1") for one in range(12)]
    named = place_things([*hazards, *swarm], None, (0.0, 0.0), taken, Grounds((), {}))
    assert not [one for one in named.left if one.startswith("hazard")]
    assert len(named.left) == len(swarm)
