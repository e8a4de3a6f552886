"""Which way a bed faces as it is turned over, against the angle by which it was turned: geometry, no source."""

from types import SimpleNamespace

import pytest

from traverse.structure.walk.beds import Bed


@pytest.mark.parametrize("turned_deg", [-170.0, -100.0, -89.0, -30.0, 0.0, 20.0, 88.0, 91.0, 135.0, 179.0])
def test_a_bed_faces_by_as_much_as_it_was_turned(turned_deg):
    """Past upright it dips the other way, and is overturned."""
    over = abs(turned_deg) > 90.0
    dip_deg = turned_deg - (180.0 if turned_deg > 0.0 else -180.0) if over else turned_deg
    bed = Bed(
        across_m=0.0,
        dip_deg=dip_deg,
        overturned=over,
        known=True,
        attitude=SimpleNamespace(dip_deg=abs(dip_deg)),
    )
    assert bed.facing_deg == pytest.approx(turned_deg)
