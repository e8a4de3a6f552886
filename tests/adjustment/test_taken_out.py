"""What falls when a tie, a leg or a party is taken out, against a dense least squares with those columns beside: numpy alone.

That a regression on what others leave gives the same figures: Frisch and Waugh, Econometrica 1 (1933) 387, from memory.
"""

import numpy as np
import pytest

from traverse.adjustment.normal_equations import _pair_by_pair
from traverse.adjustment.weighed_ties import _Weighed
from traverse.trade import UNLIKELIER

CIRCUITS, ITEMS = 7, 5


def drawn(seed):
    rng = np.random.default_rng(seed)
    gap = rng.normal(0.0, 4.0, 2 * CIRCUITS)
    columns = rng.normal(0.0, 1.0, (ITEMS, 2 * CIRCUITS, 2))
    return gap, columns, _Weighed(gap, columns)


def chi_square(gap, columns, taken):
    if not taken:
        return float(gap @ gap)
    beside = np.concatenate([columns[one] for one in taken], axis=1)
    rest = gap - beside @ np.linalg.lstsq(beside, gap, rcond=None)[0]
    return float(rest @ rest)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("beside", [(), (3,), (1, 4)])
def test_a_gap_is_what_a_tie_takes_up_beside_the_rest(seed, beside):
    gap, columns, weighed = drawn(seed)
    ties = [0, 2]
    both = np.concatenate([columns[one] for one in (*ties, *beside)], axis=1)
    normal = np.linalg.inv(both.T @ both)
    taken_up = normal @ both.T @ gap
    for at, (found, spread) in enumerate(weighed.gaps(ties, beside)):
        part = slice(2 * at, 2 * at + 2)
        assert found == pytest.approx(taken_up[part])
        assert spread == pytest.approx(normal[part, part])


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("taken", [(1,), (0, 3)])
def test_what_would_do_as_well_makes_the_chi_square_fall_nearly_as_far(seed, taken):
    gap, columns, weighed = drawn(seed)
    for one in taken:
        rest = [other for other in taken if other != one]
        before = chi_square(gap, columns, rest)
        falls = {other: before - chi_square(gap, columns, [*rest, other]) for other in range(ITEMS)}
        expected = [
            other for other in range(ITEMS) if other not in taken and falls[other] >= falls[one] - UNLIKELIER
        ]
        assert weighed.others(list(taken), one) == expected


def test_the_inverse_between_pairs_is_that_of_the_whole():
    """More pairs than are solved at once."""
    rng = np.random.default_rng(2)
    half = rng.normal(0.0, 1.0, (60, 60))
    inverse = np.linalg.inv(half @ half.T + 60.0 * np.eye(60)).reshape(20, 3, 20, 3).transpose(0, 2, 1, 3)
    one, other = rng.integers(0, 20, (2, 75))
    found = _pair_by_pair(lambda some: inverse[np.ix_(some, some)], one, other)
    assert found == pytest.approx(inverse[one, other])
