"""The nearest of many places is the one that going over them all would find."""

import numpy as np
import pytest

from traverse.nearest import Nearest
from traverse.settled import first_least
from traverse.structure.section import line_errors


def scattered(count):
    """Places on a coarse grid, so that many are as near as others."""
    return np.random.default_rng(4).integers(0, 40, (count, 2)) * 25.0


@pytest.mark.parametrize("count", [3, 200, 201, 3000])
def test_the_first_of_the_nearest_is_found(count):
    where = scattered(count)
    asked = scattered(300) + 12.5
    off = [np.hypot(*(where - one).T) for one in asked]
    found = Nearest(where)
    assert found.to_all(asked) == [found.to(*one) for one in asked] == [first_least(one) for one in off]
    for one, far in zip(asked, off, strict=True):
        assert found.off_m(found.to(*one), *one) == pytest.approx(far.min())
        assert found.any_within(*one, reach_m=20.0) == (far <= 20.0).any()


def test_the_next_outcrop_of_many_is_as_far_as_going_over_all_of_them_finds(monkeypatch):
    # Forty beds at one outcrop, so that the few nearest of each are all there.
    where = np.concatenate(
        [scattered(400), np.zeros((40, 2)), np.linspace(0.0, 9.0, 40)[:, None] * [1.0, 0.0]]
    )
    by_all = line_errors._next_to(where)
    monkeypatch.setattr(line_errors, "_MANY", 10)
    by_few = line_errors._next_to(where)
    assert by_few[1] == pytest.approx(by_all[1])
    assert np.hypot(*(where[by_few[0]] - where).T) == pytest.approx(by_all[1])
