"""The limits of the trade: each says what it is and where it comes from, and stands in one place."""

import ast
import math
import re
from collections import Counter
from itertools import pairwise

import pytest
from scipy.stats import chi2, norm

from tests.program import FILES, PACKAGE, nodes, tree
from traverse import trade


def told():
    """Names of each statement of the module, with the words under it."""
    for statement, after in pairwise(tree(PACKAGE / "trade.py").body):
        if isinstance(statement, ast.Assign):
            names = [one.id for one in ast.walk(statement.targets[0]) if isinstance(one, ast.Name)]
            words = after.value.value if isinstance(after, ast.Expr) else ""
            yield names, words.replace("\n", " ")


def test_each_limit_names_its_unit_and_its_source():
    for names, words in told():
        assert re.search(r"\b(no source|Source\b.*:)", words, re.IGNORECASE | re.DOTALL), names
        for name in names:
            if name.endswith("_DEG"):
                assert "degrees" in words, name
            if name.endswith("_M"):
                assert "metres" in words, name


def test_each_limit_is_asked_for_somewhere():
    rest, inside = (
        Counter(
            word
            for path in FILES
            if (path.name == "trade.py") is own
            for word in re.findall(r"\w+", path.read_text(encoding="utf-8"))
        )
        for own in (False, True)
    )
    for names, _ in told():
        for name in names:
            assert name in rest or inside[name] > 1, name


def test_a_limit_of_closing_is_written_once():
    limits = {5.99, 9.21, 3.84, 6.63, 3.29, 0.0201, 2.4477}
    found = [
        (path.name, one.lineno)
        for path in FILES
        if path.name != "trade.py" and any(str(limit) in path.read_text(encoding="utf-8") for limit in limits)
        for one in nodes(path)
        if isinstance(one, ast.Constant) and isinstance(one.value, float) and one.value in limits
    ]
    assert found == []


def test_the_limits_of_closing_against_scipys_distributions():
    """scipy.stats.chi2 and norm, to the figures written."""
    assert pytest.approx(chi2.ppf(0.95, 2), abs=0.005) == trade.PLAN_WARN
    assert pytest.approx(chi2.ppf(0.99, 2), abs=0.005) == trade.PLAN_REFUSE
    assert pytest.approx(chi2.ppf(0.95, 1), abs=0.005) == trade.UP_WARN
    assert pytest.approx(chi2.ppf(0.99, 1), abs=0.006) == trade.UP_REFUSE
    assert pytest.approx(chi2.ppf(0.01, 2), abs=5e-5) == trade.LUCKY
    assert norm.sf(trade.OUTLYING) * 2.0 == pytest.approx(0.001, rel=0.01)
    assert math.exp(-(trade.ELLIPSE_95**2) / 2.0) == pytest.approx(0.05, rel=0.002)
