"""Pairing by shape goes on over all legs that fit, whatever order the key walked its stops in."""

import math
from itertools import pairwise

import pytest

from tests.compare.camp import held
from traverse.compare.walks_alike import grown

STOPS = {
    1: (0, 0),
    2: (97, 41),
    3: (213, 18),
    4: (310, 96),
    5: (401, 31),
    6: (277, 203),
    7: (158, 151),
    8: (31, 172),
}
HEAD = "notation 1\nbearings true\nattitudes dip-right\nunit Sh Reed Shale ; Jurassic\n\n"


def walk(route, called):
    rows = [HEAD, f"at {called[route[0]]}", "  unit Sh"]
    known = {route[0]}
    for start, end in pairwise(route):
        east, north = (STOPS[end][axis] - STOPS[start][axis] for axis in (0, 1))
        azimuth = round(math.degrees(math.atan2(east, north))) % 360
        head = "close" if end in known else "to"
        rows.append(f"{head} {called[end]} {azimuth:03d} {math.hypot(east, north):.1f}m level")
        known.add(end)
    return "\n".join(rows) + "\n"


KEY = walk([1, 2, 3, 4, 5, 6, 7, 8, 1], {one: str(one) for one in STOPS})


@pytest.mark.parametrize("route", [[1, 2, 3, 4, 6, 7, 8, 1], [5, 4, 3, 7, 8, 1, 2], [8, 7, 6, 3, 4, 5]])
def test_a_walk_numbered_anew_is_paired_over_every_leg(route):
    """Numbers are off by one, and legs lead across the key's loop."""
    standing = held(walk(route, {one: str(one + 1) for one in STOPS}), KEY).standing
    assert {one.station: one.key for one in standing.pairs} == {str(one + 1): str(one) for one in route}
    assert standing.alone == ()


def test_over_a_leg_that_leads_to_no_stop_it_goes_no_farther():
    theirs = {str(one): place for one, place in STOPS.items()}
    ours = {"a": (0, 0), "b": (97, 41), "c": (97, 341), "d": (213, 318)}
    assert dict(
        grown(
            ours,
            theirs,
            [("a", "1")],
            [
                (start, end, (ours[end][0] - ours[start][0], ours[end][1] - ours[start][1]))
                for start, end in ("ab", "bc", "cd")
            ],
        )
    ) == {
        "a": "1",
        "b": "2",
    }
