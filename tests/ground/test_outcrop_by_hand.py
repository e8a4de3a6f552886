"""A measured plane over ground that is a plane itself: its outcrop, and how far that may be believed, by formulas."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
from shapely import LineString, Point, Polygon

from traverse.ground.outcrop import outcrops
from traverse.heights.records import Terrain
from traverse.log.items import Certainty, ContactKind
from traverse.log.readings import North

SIDE_M = np.arange(-400.0, 401.0, 20.0)
AT = (30.0, -20.0)
POLE_SD_DEG = 3.0


def normal(strike_deg, dip_deg):
    way, dip = math.radians(strike_deg + 90.0), math.radians(dip_deg)
    return np.array([math.sin(dip) * math.sin(way), math.sin(dip) * math.cos(way), math.cos(dip)])


def contact(at=AT, **more):
    return SimpleNamespace(
        **{
            "younger": "Aa", "older": "Bb", "kind": ContactKind.CONTACT, "certainty": Certainty.CERTAIN, "surface": None,
            "sd_m": 4.0, "order": 1, "course_deg": None, "booked": SimpleNamespace(span="here"),
            "place": SimpleNamespace(east_m=at[0], north_m=at[1]),
        } | more
    )  # fmt: skip


def traced(strike, dip, *, slope=(0.1, -0.15), to_true_deg=0.0, contacts=None, plane=True, **geology):
    east_rise, north_rise = slope
    terrain = Terrain(
        name="x",
        east_m=SIDE_M,
        north_m=SIDE_M,
        up_m=500.0 + east_rise * SIDE_M[None, :] + north_rise * SIDE_M[:, None],
    )
    trace = SimpleNamespace(
        younger="Aa", older="Bb", span="trace", conditions=SimpleNamespace(attitudes_from=None, bearings=North.TRUE),
        plane=SimpleNamespace(strike_deg=strike, dip_deg=dip) if plane else None,
    )  # fmt: skip
    units = tuple(SimpleNamespace(letters=name, loose=False) for name in ("Cc", "Aa", "Bb"))
    log = SimpleNamespace(traces=(trace,), units=units, intrusive=frozenset())
    laid = SimpleNamespace(
        **{
            "contacts": [contact()] if contacts is None else contacts,
            "bodies": (),
            "beds": (),
            "band": (),
            "caps": frozenset(),
        }
        | geology
    )
    survey = SimpleNamespace(frame=SimpleNamespace(to_true_deg=to_true_deg, declination_deg=None))
    return outcrops(terrain, log, survey, laid, ())


@pytest.mark.parametrize("to_true_deg", [0.0, 4.0])
@pytest.mark.parametrize(("strike", "dip"), [(20.0, 40.0), (135.0, 65.0), (250.0, 25.0)])
def test_an_outcrop_is_the_line_in_which_the_plane_meets_the_ground_through_the_contact(
    strike, dip, to_true_deg
):
    """300 m to both sides; the strike is true, and grid north lies off it."""
    ((one,), said) = traced(strike, dip, to_true_deg=to_true_deg)
    assert said == ()
    meets = np.cross(normal(strike - to_true_deg, dip), (-0.1, 0.15, 1.0))
    way = meets[:2] / np.hypot(*meets[:2])
    (line,) = one.lines
    off = (np.array(line) - AT) @ np.array([way[1], -way[0]])
    along = (np.array(line) - AT) @ way
    assert np.abs(off).max() < 0.05
    assert sorted((along.min(), along.max())) == pytest.approx([-300.0, 300.0], abs=0.5)
    assert LineString(line).distance(Point(AT)) < 1e-6
    assert (one.strike_deg, one.dip_deg, one.reach_m) == pytest.approx((strike, dip, 300.0))


@pytest.mark.parametrize(
    ("strike", "dip", "sd_m"), [(20.0, 40.0, 4.0), (135.0, 65.0, 12.0), (250.0, 30.0, 0.0)]
)
def test_its_band_is_the_ground_nearer_to_the_plane_than_its_error(strike, dip, sd_m):
    """Of the heights, a tenth of their spacing of 20 m, and of the contact, by the dip, and three degrees of the pole."""
    ((one,), _) = traced(strike, dip, contacts=[contact(sd_m=sd_m)])
    (band,) = one.band
    up = normal(strike, dip)
    here = np.array((*AT, 500.0 + 0.1 * AT[0] - 0.15 * AT[1]))
    area = Polygon(band)
    dip_rad = math.radians(dip)
    own = math.hypot(2.0 * math.cos(dip_rad), sd_m * math.sin(dip_rad))
    seen = set()
    for x in range(-200, 201, 17):
        for y in range(-200, 201, 19):
            place = np.array([x, y, 500.0 + 0.1 * x - 0.15 * y])
            away = math.hypot(x - AT[0], y - AT[1])
            share = abs((place - here) @ up) / math.hypot(own, away * math.radians(POLE_SD_DEG))
            if away < 280.0 and abs(share - 1.0) > 0.12:
                assert area.contains(Point(x, y)) == (share < 1.0), (x, y)
                seen.add(share < 1.0)
    assert seen == {True, False}
    assert one.sd_up_m == 2.0


def test_a_plane_near_the_vertical_comes_out_along_its_strike_whatever_the_ground():
    ((one,), _) = traced(60.0, 89.9, slope=(0.4, 0.2))
    points = np.array(one.lines[0]) - AT
    way = np.array([math.sin(math.radians(60.0)), math.cos(math.radians(60.0))])
    assert np.abs(points @ np.array([way[1], -way[0]])).max() < 0.05


def test_without_a_plane_of_its_own_it_is_that_of_the_contact_else_of_the_nearest_bed():
    def bed(east, strike, dip):
        return SimpleNamespace(
            place=SimpleNamespace(east_m=east, north_m=-20.0), strike_deg=strike, dip_deg=dip
        )

    beds = (bed(400.0, 100.0, 50.0), bed(-300.0, 20.0, 40.0))
    ((one,), _) = traced(None, None, plane=False, beds=beds)
    assert (one.strike_deg, one.dip_deg) == (20.0, 40.0)
    # Half-way to a bed of another dip.
    assert one.reach_m == pytest.approx(185.0)
    lies = SimpleNamespace(strike_deg=70.0, dip_deg=33.0, sd_deg=2.0, through=0)
    ((one,), _) = traced(None, None, plane=False, contacts=[contact(surface=lies)])
    assert (one.strike_deg, one.dip_deg) == (70.0, 33.0)
    found, said = traced(None, None, plane=False)
    assert found == ()
    assert "no plane, or no heights there" in said[0].message
    found, said = traced(20.0, 40.0, contacts=[])
    assert "no contact of the two was placed" in said[0].message


def test_it_stops_at_a_fault_and_under_younger_ground():
    """A fault along 090 runs 100 m north of the contact; a leg on Cc, the youngest, crosses it 150 m on to the south."""
    fault = contact(
        at=(0.0, 80.0),
        kind=ContactKind.FAULT,
        course_deg=90.0,
        younger="Aa",
        older="Bb",
        booked=SimpleNamespace(span="fault"),
    )
    over = SimpleNamespace(unit="Cc", start=(-400.0, -170.0), end=(400.0, -170.0))
    ((one,), _) = traced(0.0, 89.9, slope=(0.0, 0.0), contacts=[contact(), fault], band=(over,))
    norths = [y for line in one.lines for _, y in line]
    assert max(norths) == pytest.approx(80.0, abs=0.1)
    # The band of that leg is 20 m to each side.
    assert any(y == pytest.approx(-150.0, abs=0.1) for y in norths)
    assert not any(-189.0 < y < -151.0 for y in norths)
    # What is older hides nothing.
    below = SimpleNamespace(unit="Bb", start=(-400.0, -170.0), end=(400.0, -170.0))
    ((one,), _) = traced(0.0, 89.9, slope=(0.0, 0.0), band=(below,))
    assert min(y for line in one.lines for _, y in line) == pytest.approx(-320.0, abs=0.5)


def test_of_a_second_contact_only_what_lies_off_the_first_is_drawn():
    """The better known one, and another of the same two units 200 m to the east, with the same upright strike."""
    near = contact(at=(31.0, 60.0), sd_m=9.0, order=2, booked=SimpleNamespace(span="beside"))
    far = contact(at=(230.0, -20.0), sd_m=5.0, order=3, booked=SimpleNamespace(span="far"))
    found, _ = traced(0.0, 89.9, slope=(0.0, 0.0), contacts=[far, near, contact()])
    assert found[0].contact == "here"
    assert "far" in {one.contact for one in found}
    for one in found:
        if one.contact == "beside":
            assert all(abs(y + 20.0) > 250.0 for line in one.lines for _, y in line)
