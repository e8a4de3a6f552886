"""Where constructed lines end at each other, by shapely: no source, geometry of the plane."""

import numpy as np
import pytest
import shapely
from shapely.ops import substring

from traverse.structure.section.records import Stop
from traverse.structure.section.stopping import Half, stop_at_crossings


def drawn(rng, rank, owner):
    """A line of eight straight parts that wanders downward, from its outcrop."""
    steps = np.stack((rng.normal(0.0, 30.0, 8), rng.uniform(-30.0, -5.0, 8)), axis=1)
    points = np.vstack(((rng.uniform(0.0, 120.0), 0.0), steps)).cumsum(axis=0)
    return Half(points=tuple(map(tuple, points.tolist())), rank=rank, owner=owner, back=False)


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize(
    ("rank", "reason"), [(1, Stop.AT_UNCONFORMITY), (2, Stop.AT_FAULT), (3, Stop.AT_FAULT)]
)
def test_a_contact_ends_where_it_first_meets_what_cuts_it(seed, rank, reason):
    rng = np.random.default_rng(seed)
    contact, cut = drawn(rng, 0, "contact"), drawn(rng, rank, "cut")
    before = shapely.LineString(contact.points)
    met = before.intersection(shapely.LineString(cut.points))
    runs = [before.project(one) for one in shapely.get_parts(met) if not met.is_empty]
    whole = cut.points
    stop_at_crossings([contact, cut])
    assert cut.points == whole
    assert shapely.LineString(contact.points).length == pytest.approx(min(runs, default=before.length))
    assert contact.reason is (reason if runs else None)


@pytest.mark.parametrize("seed", range(12))
def test_lines_of_one_rank_cross_nowhere_once_they_are_stopped(seed):
    """And each goes as it went up to there."""
    rng = np.random.default_rng(seed)
    halves = [drawn(rng, 0, number) for number in range(5)]
    long = [shapely.LineString(one.points) for one in halves]
    stop_at_crossings(halves)
    lines = [shapely.LineString(one.points) for one in halves]
    for at, (half, line, before) in enumerate(zip(halves, lines, long, strict=True)):
        assert line.hausdorff_distance(substring(before, 0.0, line.length)) < 1e-6
        others = [one for other, one in enumerate(lines) if other != at]
        assert (half.reason is Stop.AT_CONTACT) == (line.length < before.length - 1e-6)
        for other in others:
            both = line.intersection(other)
            for met in () if both.is_empty else shapely.get_parts(both):
                assert min(met.distance(shapely.Point(one.coords[-1])) for one in (line, other)) < 1e-6
