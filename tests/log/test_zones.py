"""Numbers of zones by datum."""

import pyproj
import pytest

from traverse.log.zones import utm_zone, zone_codes


@pytest.mark.parametrize(("zone", "side"), [(zone, side) for zone in range(1, 61) for side in "NS"])
def test_every_number_is_that_zone_on_that_datum(zone, side):
    """Source: the EPSG dataset, as PROJ has it."""
    for said in zone_codes(zone, side).split(";")[0].split(", "):
        number, datum = said.split("` on ")
        name = pyproj.CRS.from_epsg(int(number.removeprefix("`EPSG:"))).name
        given, _, zoned = name.partition(" / ")
        assert given == datum
        assert zoned in {f"UTM zone {zone}{side}", f"MGA zone {zone}"}


def test_what_is_no_zone():
    assert [utm_zone(one) for one in ("EPSG:25833", "61N", "", "lambert 93", "0")] == [None] * 5
