"""Beds of a section keep their thickness, by arcs and by straight limbs: one is the other set off square to itself.

Source: parallel folds (class 1B) of J. G. Ramsay (1967), Folding and Fracturing of Rocks; arcs, H. G. Busk (1929), Earth
Flexures; kinks that halve the angle, J. Suppe (1983), Geometry and kinematics of fault-bend folding; all from memory.
`shapely.offset_curve` sets a line off.
"""

import math

import numpy as np
import pytest
import shapely

from traverse.structure.section.arc import Arcs
from traverse.structure.section.dip_domains import SectionReading

APART = 12.0


def beds(seed, *, mirrored=False):
    """Readings 60 to 90 m apart on rolling ground, that turn by less than 25 degrees from one to the next."""
    rng = np.random.default_rng(seed)
    at, lean, found = 0.0, rng.uniform(-25.0, 25.0), []
    for _ in range(4):
        found.append((at, rng.uniform(-3.0, 3.0), lean))
        at += rng.uniform(60.0, 90.0)
        lean += rng.uniform(6.0, 14.0) * rng.choice([-1.0, 1.0])
    if mirrored:
        found = [(at - x, y, -lean) for x, y, lean in reversed(found)]
    return tuple(SectionReading(at=(x, y), younging_rad=math.radians(lean)) for x, y, lean in found)


def traced(readings, start):
    """Both ways from a place, with the younger side on the left."""
    arcs = Arcs(readings=readings)
    back, on = (arcs.trace(start, sense, reach_m=500.0) for sense in (-1.0, 1.0))
    assert not back.no_space
    assert not on.no_space
    return shapely.LineString([*reversed(back.points[1:]), start, *on.points[1:]])


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("seed", range(8))
def test_a_bed_by_arcs_is_another_set_off_square_to_it(seed, mirrored):
    readings = beds(seed, mirrored=mirrored)
    first = readings[1]
    normal = (math.sin(first.younging_rad), math.cos(first.younging_rad))
    lower = traced(readings, first.at)
    upper = traced(readings, (first.at[0] + APART * normal[0], first.at[1] + APART * normal[1]))
    between = shapely.box(readings[0].at[0] + 15.0, -400.0, readings[-1].at[0] - 15.0, 400.0)
    expected = shapely.offset_curve(lower, APART, quad_segs=64)
    gaps = [
        expected.distance(shapely.Point(one)) for one in upper.intersection(between).segmentize(5.0).coords
    ]
    # Chords of 3 degrees of an arc with a radius of some hundred metres.
    assert max(gaps) < 0.3
    assert len(gaps) > 10


@pytest.mark.parametrize("seed", range(8))
def test_at_each_reading_a_bed_by_arcs_dips_as_it_was_read(seed):
    """Square to the reading's normal where it crosses that."""
    readings = beds(seed)
    line = traced(readings, readings[2].at)
    for one in readings:
        lean = one.younging_rad
        normal = shapely.LineString(
            [
                (one.at[0] + s * 200.0 * math.sin(lean), one.at[1] + s * 200.0 * math.cos(lean))
                for s in (-1.0, 1.0)
            ]
        )
        # Of a bed that lies on its reading the crossing may be a stretch of no length.
        met = line.project(line.intersection(normal).centroid)
        before, after = line.interpolate(met - 1.0), line.interpolate(met + 1.0)
        slope = math.degrees(math.atan2(after.y - before.y, after.x - before.x))
        assert slope == pytest.approx(-math.degrees(lean), abs=2.0)
