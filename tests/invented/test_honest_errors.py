"""Errors as large as they are stated: fewer draws of `monte_carlo.py`, whose full run has 2,000."""

import pytest

from tests.invented.monte_carlo import cases


def test_errors_are_as_large_as_they_are_stated():
    found = {name: ratio for name, ratio, _ in cases(600)}
    assert len(found) >= 12
    for name, ratio in found.items():
        assert ratio == pytest.approx(1.0, abs=0.1), name
