"""How the plane of nearly flat beds is told on a section: by its fall, whichever way the grid's north lies."""

import math
from types import SimpleNamespace

import pytest

from traverse.structure.section.cannot_show import _gentle
from traverse.structure.section.records import LevelContact


@pytest.mark.parametrize("toward_deg", [8, 77, 143, 200, 301])
@pytest.mark.parametrize("to_true_deg", [0.0, -12.0, 37.0])
@pytest.mark.parametrize("dip_deg", [2.4, 5.1])
def test_it_dips_the_way_in_which_it_falls(toward_deg, to_true_deg, dip_deg):
    """A plane falls by the tangent of its dip along its dip, and so rises that much the other way."""
    down = math.radians(toward_deg - to_true_deg)
    rise = tuple(-math.tan(math.radians(dip_deg)) * part for part in (math.sin(down), math.cos(down)))
    for sd_deg, said in ((0.4, f" ± 0.4° toward {toward_deg:03d}°"), (dip_deg, f" ± {dip_deg}°")):
        level = LevelContact(
            younger="Aa", older="Bb", up_m=10.0, sd_m=1.0, own_sd_m=1.0, sd_deg=sd_deg, contacts=(), rise=rise
        )
        section = SimpleNamespace(levels=[level], azimuth_deg=50.0 + to_true_deg, grid_azimuth_deg=50.0)
        assert _gentle(section) == f"{dip_deg}{said}"
