"""Ties between parties share one chance of a false alarm, however many a leader types."""

import pytest
from scipy.stats import chi2

from tests.compare.round_walks import Ground, joined
from tests.thorough import some
from traverse.trade import PLAN_WARN, UP_WARN, closing_limits

STATED = ("precision bearing 1, slope 1, tape 1%", "precision bearing 0.65, slope 0.5, tape 0.6%")
"""As the walks scatter, rounding included."""


@pytest.mark.parametrize("tests", [2, 10, 64])
def test_limits_are_bonferronis_by_a_reference_library(tests):
    limits = closing_limits(tests)
    assert limits.warn == pytest.approx(chi2.isf(0.05 / tests, 2), rel=1e-6)
    assert limits.refuse == pytest.approx(chi2.isf(0.01 / tests, 2), rel=1e-6)
    assert limits.warn_up == pytest.approx(chi2.isf(0.05 / tests, 1), rel=1e-6)
    assert limits.refuse_up == pytest.approx(chi2.isf(0.01 / tests, 1), rel=1e-6)


def of_six(seed):
    """A clean camp with every other place of two parties tied."""
    ground = Ground(seed)
    logs = {one: ground.walk((seed, "many", one)).replace(*STATED) for one in "ABCDEF"}
    stops = range(1, ground.count + 1)
    ties = [(f"{a}-{at}", f"{b}-{at}") for at in stops for a, b in zip("ABCDE", "BCDEF", strict=True)][::2]
    return joined(logs, ties)


@pytest.mark.thorough
@pytest.mark.parametrize("seeds", some([range(3), range(3, 10)], 2))
def test_clean_camps_of_thirty_ties_are_hardly_asked_about_one(seeds):
    """Each tie by itself would be asked about in all of these camps, two to seven times in most."""
    asked = []
    for seed in seeds:
        found = of_six(seed)
        ties = [one for one in found.survey.closures if one.tests > 1]
        assert len(ties) > 20
        assert all(one.tests > len(ties) for one in ties)
        assert any(one.q > PLAN_WARN or one.q_up > UP_WARN for one in ties)
        asked += [one for one in found.diagnostics if one.kind == "warning" and one.span.file == "camp.trav"]
    assert len(asked) <= 1, [one.message for one in asked]
