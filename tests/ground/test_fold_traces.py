"""The strike of an axial trace by a plane known beforehand, and which folds have one."""

import math

import pytest

from traverse.ground.fold_traces import strike_of
from traverse.structure.readings.records import FoldAxis
from traverse.structure.section.records import AxialLine


@pytest.mark.parametrize(("strike", "dip"), [(30.0, 50.0), (200.0, 85.0), (359.0, 20.0), (140.0, 89.0)])
@pytest.mark.parametrize("rake", [10.0, 60.0, 150.0])
@pytest.mark.parametrize("azimuth", [90.0, 277.0])
def test_strike_is_that_of_the_plane_that_holds_axis_and_line(strike, dip, rake, azimuth):
    """Plunge and trend of a rake, and the apparent dip, by their common formulas: the way back must give the strike."""
    s, d, r = map(math.radians, (strike, dip, rake))
    plunge = math.degrees(math.asin(math.sin(r) * math.sin(d)))
    trend = strike + math.degrees(math.atan2(math.sin(r) * math.cos(d), math.cos(r)))
    fall = math.tan(d) * math.sin(math.radians(azimuth) - s)
    axial = AxialLine(points=((0.0, 0.0), (10.0, -10.0 * fall)), left_dip_deg=0.0, right_dip_deg=0.0)
    found = strike_of(axial, FoldAxis(trend_deg=trend, plunge_deg=plunge, rms_deg=1.0, n=9), azimuth)
    assert min((found - strike) % 180.0, (strike - found) % 180.0) == pytest.approx(0.0, abs=1e-6)
    assert math.cos(math.radians(found - trend)) >= 0.0
