"""The search for one wrong reading in a printed traverse, beside the rules that handbooks print for it.

Of a closed compass traverse with one blunder: a wrong length leaves a misclosure along its own leg; a wrong bearing one
that is square to its leg, half the slip aside, and as long as the chord of the slip over the leg. A. Bannister and
S. Raymond, Surveying, and R. E. Davis and others, Surveying: Theory and Practice; from memory.
The traverse is ASM 215's (`test_closed_traverses.py`), which closes to 0.9 in 2466; its slips are put in here.
"""

import math

import pytest

from tests.published.test_closed_traverses import ASM_215
from tests.walk import conditions, control, walk
from traverse.log.readings import Precision
from traverse.survey import survey_log

NEAR_DEG = 1.5


def apart(one, other):
    """Angle between two directions, 0 to 180."""
    return abs((one - other + 180.0) % 360.0 - 180.0)


def by_the_rules(legs):
    """Legs whose length, or whose bearing, would leave this misclosure, each with what was to be read there."""
    east = sum(length * math.sin(math.radians(azimuth)) for _, azimuth, length in legs)
    north = sum(length * math.cos(math.radians(azimuth)) for _, azimuth, length in legs)
    gap, way = math.hypot(east, north), math.degrees(math.atan2(east, north))
    found = []
    for at, azimuth, length in legs:
        if apart(way, azimuth) < NEAR_DEG:
            found.append((at, "length", length - gap))
        if apart(way, azimuth + 180.0) < NEAR_DEG:
            found.append((at, "length", length + gap))
        if gap < 2.0 * length:
            slip = math.degrees(2.0 * math.asin(gap / (2.0 * length)))
            found += [
                (at, "bearing", azimuth - side * slip)
                for side in (1.0, -1.0)
                if apart(way, azimuth - side * slip / 2.0 + side * 90.0) < NEAR_DEG
            ]
    return found


SLIPS = {
    "a hundred dropped": (2, "length", 620.48, "a hundred left out"),
    "figures of a bearing exchanged": (1, "bearing", 140.0 + 35.0 / 60.0, "digits exchanged"),
    "a bearing ten degrees too large": (4, "bearing", 316.9, "bearing 10 degrees too large"),
    "figures of a length exchanged": (4, "length", 467.02, "digits of the distance exchanged"),
}


@pytest.mark.parametrize("name", SLIPS)
def test_the_reading_that_the_rules_point_to_is_named_first(name):
    leg, what, wrong, slip = SLIPS[name]
    legs = list(ASM_215)
    start, azimuth, length = legs[leg]
    right = length if what == "length" else azimuth
    legs[leg] = (start, azimuth, wrong) if what == "length" else (start, wrong, length)
    (pointed,) = by_the_rules(legs)
    assert pointed[:2] == (start, what)
    assert pointed[2] == pytest.approx(right, abs=1.0)
    names = [one for one, _, _ in legs]
    rows = [(one, names[(k + 1) % len(names)], a, d) for k, (one, a, d) in enumerate(legs)]
    precise = Precision(bearing_deg=0.1, tape_share=0.001)
    survey = survey_log(walk(*rows, at=conditions(precision=precise), controls=[control("A", 0, 0)])).value
    first = survey.suspects[0]
    assert (first.start, first.slip) == (start, slip)
    assert float(first.reading.removesuffix("m")) == pytest.approx(right, abs=0.01)
