"""The wave of an unconformity lies about its line, from end to end."""

import math

import pytest

from traverse.sheet.signs.wave import waved


def test_a_wave_begins_and_ends_with_its_line_and_keeps_near_it_round_a_corner():
    line = [(0.0, 0.0), (20.0, 0.0), (20.0, 9.0)]
    found = waved(line)
    assert found[0] == line[0]
    assert math.dist(found[-1], line[-1]) == pytest.approx(0.0, abs=1e-9)
    off = [abs(y) if x < 19.0 else abs(x - 20.0) for x, y in found if x < 19.0 or y > 1.0]
    assert max(off) == pytest.approx(0.5, abs=1e-9)


def test_a_line_too_short_for_a_wave_is_as_it_was():
    assert waved([(0.0, 0.0), (1.0, 0.0)]) == [(0.0, 0.0), (1.0, 0.0)]
