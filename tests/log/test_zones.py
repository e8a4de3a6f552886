"""Numbers of zones by datum."""

from itertools import product

import pyproj

from traverse.log.zones import utm_zone, zone_codes


def test_every_number_is_that_zone_on_that_datum():
    """Source: the EPSG dataset, as PROJ has it."""
    for zone, side in product(range(1, 61), "NS"):
        for said in zone_codes(zone, side).split(";")[0].split(", "):
            number, datum = said.split("` on ")
            name = pyproj.CRS.from_epsg(int(number.removeprefix("`EPSG:"))).name
            given, _, zoned = name.partition(" / ")
            assert given == datum, name
            assert zoned in {f"UTM zone {zone}{side}", f"MGA zone {zone}"}


def test_what_is_no_zone():
    assert [utm_zone(one) for one in ("EPSG:25833", "61N", "", "lambert 93", "0")] == [None] * 5
