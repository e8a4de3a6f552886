"""Several readings of one surface, from each north: the same surface as when they are booked from true north."""

import pytest

HEAD = "notation 1\n{north}attitudes dip-right\ncontrol 1 {east:.0f} E {up:.0f} N 0 m\nat 1\n"
GRID = "grid EPSG:3978\n"
"""At 54° W 49° N its north lies 36.93° off the true one: tests/oracle/test_turned_grid.py, by PROJ."""
PLACE = {"east": 2_796_564.8, "up": 933_883.2}
WAYS = [
    ("bearings magnetic\ndeclination 11 W, 2026, chart\n", 11),
    ("bearings magnetic\ndeclination 6.5 E, 2026, chart\n", -6.5),
    (GRID + "bearings grid\n", -36.93),
    (GRID + "bearings true\n", 0),
    (GRID + "bearings magnetic\ndeclination 11 W, 2026, chart\n", 11),
]
SURFACES = {
    "bed": [(40, 31), (52, 36), (47, 29)],
    "cleavage": [(352, 70), (8, 66)],
    "joint": [(171, 88), (349, 81), (353, 80)],
}


def surface(compile_text, north, kind, turn_deg):
    read = ", ".join(f"{(strike + turn_deg) % 360:05.1f}/{dip}" for strike, dip in SURFACES[kind])
    found = compile_text(HEAD.format(north=north, **PLACE) + f"{kind} {read}\n")
    (one,) = found.geology.attitudes
    return one


@pytest.mark.parametrize(("north", "turn_deg"), WAYS)
@pytest.mark.parametrize("kind", SURFACES)
def test_readings_of_one_surface_have_its_true_mean_from_every_north(compile_text, north, turn_deg, kind):
    true = surface(compile_text, "bearings true\n", kind, 0)
    read = surface(compile_text, north, kind, turn_deg)
    off = (read.dip_direction_deg - true.dip_direction_deg + 180.0) % 360.0 - 180.0
    assert off == pytest.approx(0.0, abs=0.06)
    assert (read.dip_deg, read.spread_deg) == pytest.approx((true.dip_deg, true.spread_deg), abs=0.05)
    assert len(SURFACES[kind]) == read.n


@pytest.mark.parametrize("dip", ["68", "?"])
def test_a_reading_is_as_good_as_its_own_error_also_where_it_has_no_dip(compile_text, dip):
    """The widest of several on one line; what the page says of all holds where none is given."""
    text = HEAD.format(north="bearings true\n", **PLACE)
    text += f"bed 142/{dip} ±5\nbed 142/{dip} ±4, 143/{dip} ±7\nbed 142/{dip}\n"
    found = compile_text(text).geology.attitudes
    assert [one.sd_deg for one in found] == [5.0, 7.0, 2.0]
