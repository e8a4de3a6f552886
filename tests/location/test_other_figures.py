"""Where a known point would lie with another figure: what is offered, read again and placed by PROJ apart from the program."""

import re

import pytest
from pyproj import Transformer

from traverse.location.crs import open_grid
from traverse.location.other_figures import _of
from traverse.notation.read import read_log
from traverse.source import Source

EPSG = 25833


def others(line):
    text = f"notation 1\ngrid EPSG:{EPSG}\nbearings true\ncontrol 1 {line}\nat 1\nto 2 090 30m\n"
    log = read_log(Source(name="a.trav", text=text), load=None).value.log
    (control,) = log.controls
    return control, list(_of(control, open_grid(EPSG)))


def degrees(text):
    parts = [float(one) for one in text.split()]
    return sum(part / 60.0**at for at, part in enumerate(parts))


def test_in_the_grid_one_figure_is_changed_and_the_others_stay():
    control, found = others("512362 E 5163940 N 786 m ±4 gps")
    assert control.height_m == 786.0
    seen = set()
    for one in found:
        east, north, up = one.position_m
        kind = one.slip.partition(":")[0]
        seen.add(kind)
        if kind == "E":
            assert (f"{east:.0f} E", north, up) == (one.reading, 5163940.0, 786.0)
        elif kind == "N":
            assert (east, f"{north:.0f} N", up) == (512362.0, one.reading, 786.0)
        elif one.reading == "786 ft":
            assert (east, north, up) == (512362.0, 5163940.0, pytest.approx(239.57, abs=0.01))
        elif kind == "height":
            assert (east, north, f"{up:.0f} m") == (512362.0, 5163940.0, one.reading)
        elif kind == "E and N exchanged":
            assert (east, north) == (5163940.0, 512362.0)
        elif "neighbouring zone" in kind:
            lands = [
                Transformer.from_crs(other, EPSG, always_xy=True).transform(512362.0, 5163940.0)
                for other in (25832, 25834)
            ]
            assert any((east, north) == pytest.approx(there, abs=0.01) for there in lands)
    assert {"E", "N", "height", "E and N exchanged"} <= seen


@pytest.mark.parametrize(
    ("line", "lat", "lon"),
    [
        ("46 37.210 N 15 09.660 E 786 m ±4 gps", "46 37.210", "15 09.660"),
        ("46.62017 N 15.16100 E 786 m ±4 gps", "46.62017", "15.16100"),
    ],
)
def test_by_latitude_and_longitude_too(line, lat, lon):
    _, found = others(line)
    place = Transformer.from_crs(4326, EPSG, always_xy=True).transform
    own = place(degrees(lon), degrees(lat))
    seen = set()
    for one in found:
        kind = one.slip.partition(":")[0]
        seen.add(kind)
        figures = re.sub(r"[NSEWm]", "", one.reading).strip()
        if kind == "latitude":
            expected = place(degrees(lon), degrees(figures))
        elif kind == "longitude":
            expected = place(degrees(figures), degrees(lat))
        elif kind == "E and W exchanged":
            expected = place(-degrees(lon), degrees(lat))
        elif kind == "N and S exchanged":
            expected = place(degrees(lon), -degrees(lat))
        else:
            assert kind == "height"
            in_feet = one.reading == "786 ft"
            assert in_feet or f"{one.position_m[2]:.0f} m" == one.reading
            expected = own
        assert tuple(one.position_m[:2]) == pytest.approx(expected, abs=0.02)
    assert seen == {"latitude", "longitude", "height", "E and W exchanged", "N and S exchanged"}
