"""How high the walk lies at the places that a section's ground is taken from: by the ends of each stretch."""

from types import SimpleNamespace

import numpy as np
import pytest

from traverse.structure.section.profile import SectionGround


def test_a_place_on_a_stretch_is_as_high_as_its_share_of_the_way():
    stretches = [
        SimpleNamespace(unit="Aa", leg=0, start=(0.0, 0.0), end=(60.0, 80.0)),
        SimpleNamespace(unit="Bb", leg=1, start=(60.0, 80.0), end=(60.0, 20.0)),
        SimpleNamespace(unit=None, leg=1, start=(60.0, 20.0), end=(60.0, 0.0)),
    ]
    heights = {id(stretches[0]): (100.0, 150.0), id(stretches[1]): None}
    ground = SimpleNamespace(
        band=stretches,
        _heights_of=lambda one: heights[id(one)],
        strike_near=SimpleNamespace(all_of=lambda places: [None] * len(places)),
    )
    found = SectionGround._walked_on.func(ground)
    assert {unit for unit, *_ in found} == {"Aa", "Bb"}
    for unit, length_m, east, north, up, _ in found:
        if unit == "Aa":
            assert length_m == pytest.approx(100.0)
            assert up == pytest.approx(100.0 + 0.5 * np.hypot(east, north))
        else:
            assert (length_m, east, up) == (pytest.approx(60.0), 60.0, None)
