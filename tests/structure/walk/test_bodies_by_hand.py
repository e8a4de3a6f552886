"""Bodies as planes in a grid whose north is 7° off: which crossings are one, what they open, which way the walk goes through.

By plain geometry of poles and places; errors add by their squares (any textbook of statistics).
"""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from traverse.log.items import HowMet
from traverse.structure.walk.bodies import (
    _as_elsewhere,
    _precision,
    _through,
    _ways,
    is_one_body,
    opening,
    walls_agree,
)
from traverse.structure.walk.records import BandStretch
from traverse.structure.walk.unbooked import unbooked_changes
from traverse.trade import ALIKE_DEG, SAME_CROSSING_M, SURE_SD

TURN_DEG = 7.0
SURVEY = SimpleNamespace(frame=SimpleNamespace(to_true_deg=TURN_DEG))


def pole(dip_deg, strike_deg):
    """In the grid, of a plane by its true strike."""
    dip, way = math.radians(dip_deg), math.radians(strike_deg + 90.0 - TURN_DEG)
    return np.array([math.sin(dip) * math.sin(way), math.sin(dip) * math.cos(way), math.cos(dip)])


def body(first, last, plane=None, *, sd_deg=2.0, wall_sd_m=1.5, unit="Dk", width=None, through=True):
    """From one wall to the other; `plane` is strike and dip."""
    walls = tuple(SimpleNamespace(sd_m=wall_sd_m) for _ in range(2))
    ends = tuple(
        SimpleNamespace(place=tuple(map(float, at)), wall=None, host="Aa", inward=(1.0, 0.0))
        for at in (first, last)
    )
    strike, dip = plane or (None, None)
    middle = tuple((np.array(first[:2]) + last[:2]) / 2.0)
    return SimpleNamespace(
        unit=unit, ends=ends, walls=walls, strike_deg=strike, dip_deg=dip, sd_deg=None if plane is None else sd_deg, middle=middle,
        read_at=("line",) if plane else (), through=through, width_m=None if width is None else width[0],
        width_sd_m=None if width is None else width[1], stretches=(SimpleNamespace(leg=0),), walked_m=10.0,
    )  # fmt: skip


@pytest.mark.parametrize("strike_deg", [20.0, 115.0, 250.0, 330.0])
@pytest.mark.parametrize(("share", "one"), [(0.97, True), (1.03, False), (-0.97, True), (-1.03, False)])
@pytest.mark.parametrize("second", [False, True])
def test_crossings_are_one_body_where_their_planes_lie_within_three_errors(strike_deg, share, one, second):
    """A metre, what the walls are good to, and the plane carried from middle to middle; both bodies 8 m across."""
    normal = pole(70.0, strike_deg)
    along = np.array([-normal[1], normal[0], 0.0]) / math.hypot(*normal[:2])
    sd_deg = math.hypot(2.0, 2.0) / 2.0 if second else 2.0
    gap = 0.0
    for _ in range(6):
        apart = 120.0 * along + math.copysign(8.0 + abs(gap), share) * normal
        limit = SURE_SD * math.sqrt(
            1.0 + 2.0 * 1.5**2 + (float(np.linalg.norm(apart)) * math.radians(sd_deg)) ** 2
        )
        gap = abs(share) * limit
    first = body(-4.0 * normal, 4.0 * normal, (strike_deg, 70.0))
    centre = 120.0 * along + math.copysign(8.0 + gap, share) * normal
    other = body(centre + 4.0 * normal, centre - 4.0 * normal, (strike_deg, 70.0) if second else None)
    assert is_one_body(first, other, to_true_deg=TURN_DEG) is one
    assert is_one_body(other, first, to_true_deg=TURN_DEG) is one


def test_crossings_of_two_units_or_two_ways_or_no_plane_are_not_one_body():
    near = body((0.0, 0.0, 0.0), (8.0, 0.0, 0.0), (10.0, 80.0))
    assert is_one_body(near, body((0.0, 1.0, 0.0), (8.0, 1.0, 0.0), (10.0, 80.0)), to_true_deg=TURN_DEG)
    assert not is_one_body(
        near, body((0.0, 1.0, 0.0), (8.0, 1.0, 0.0), (10.0, 80.0), unit="Gr"), to_true_deg=TURN_DEG
    )
    bare = body((0.0, 0.0, 0.0), (8.0, 0.0, 0.0))
    assert not is_one_body(bare, bare, to_true_deg=TURN_DEG)
    for apart, one in ((ALIKE_DEG - 0.2, True), (ALIKE_DEG + 0.2, False)):
        other = body((0.0, 1.0, 0.0), (8.0, 1.0, 0.0), (10.0, 80.0 - apart))
        assert is_one_body(near, other, to_true_deg=TURN_DEG) is one


@pytest.mark.parametrize("strike_deg", [20.0, 115.0, 250.0])
def test_a_body_opens_its_beds_by_its_width_along_its_walls_pole(strike_deg):
    """As the beds see it; without a plane by anything up to all of the walk in it, whose deviation is a half over root 3."""
    wall, beds = pole(75.0, strike_deg), pole(35.0, 130.0)
    apart = np.array([6.0, -9.0, 2.0])
    moved = opening(body((0, 0, 0), apart, (strike_deg, 75.0), width=(5.0, 0.8)), beds, to_true_deg=TURN_DEG)
    assert moved == pytest.approx((float(apart @ wall) * float(wall @ beds), 0.8 * abs(float(wall @ beds))))
    across = float(apart @ beds)
    assert opening(body((0, 0, 0), apart), beds, to_true_deg=TURN_DEG) == pytest.approx(
        (across / 2.0, abs(across) / 2.0 / math.sqrt(3.0))
    )
    assert opening(body((0, 0, 0), apart, through=False), beds, to_true_deg=TURN_DEG) == (0.0, 0.0)


def ends(into, back, *, walls=(True, True), hosts=(None, None)):
    return tuple(SimpleNamespace(inward=tuple(way), wall=object() if wall else None, host=host)
                 for way, wall, host in zip((into, back), walls, hosts, strict=True))  # fmt: skip


def test_the_walk_goes_through_a_body_where_it_goes_on_along_the_pole_of_its_walls():
    """In by one wall the way into it points to one side, seen from the other wall to the other."""
    normal = np.array([0.8, 0.6, 0.1])
    assert _through(ends((1.0, 0.0), (-1.0, 0.0)), normal)
    assert not _through(ends((1.0, 0.0), (1.0, 0.1)), normal)
    # Round a bend: against each other as ways, but to one side along the pole.
    assert not _through(ends((0.5, 0.9), (0.7, -0.8)), np.array([1.0, 0.0, 0.0]))
    assert _through(ends((0.5, 0.9), (0.7, -0.8)), None)
    assert _through(ends((0.5, 0.9), (0.7, -0.8)), np.array([0.0, 0.0, 1.0]))
    assert not _through(ends((1.0, 0.0), (-1.0, 0.0), walls=(True, False)), normal)
    assert _through(ends((1.0, 0.0), (-1.0, 0.0), walls=(True, False), hosts=(None, "Aa")), normal)


def wall(strike_deg, dip_deg, sd_deg):
    plane = SimpleNamespace(sd_deg=sd_deg)
    booked = SimpleNamespace(
        plane=plane, conditions=SimpleNamespace(precision=SimpleNamespace(attitude_deg=sd_deg))
    )
    return SimpleNamespace(booked=booked, strike_deg=strike_deg, dip_deg=dip_deg)


@pytest.mark.parametrize("sd_deg", [2.0, 8.0])
def test_two_walls_may_be_of_one_body_within_three_errors_of_both_or_as_beds_of_one_place(sd_deg):
    limit = max(ALIKE_DEG, SURE_SD * sd_deg * math.sqrt(2.0))
    for apart, agree in ((limit - 0.2, True), (limit + 0.2, False)):
        assert walls_agree([wall(40.0, 90.0, sd_deg), wall(40.0 + apart, 90.0, sd_deg)]) is agree
    assert walls_agree([wall(40.0, 90.0, sd_deg), wall(None, None, sd_deg)])


def test_ways_along_and_across_a_leg_are_of_one_length_and_square():
    way, side = _ways(30.0, -40.0)
    assert (way.tolist(), side.tolist()) == ([0.6, -0.8, 0.0], [-0.8, -0.6, 0.0])
    assert _ways(0.0, 0.0)[0].tolist() == [0.0, 0.0, 0.0]


def test_how_well_the_walk_knows_a_body_leaves_out_what_all_places_share():
    log = SimpleNamespace(legs=[SimpleNamespace(start="1")])
    places = {"1": SimpleNamespace(sd_plan_m=6.0)}
    stretches = [SimpleNamespace(leg=0)]
    walls = [SimpleNamespace(place=SimpleNamespace(sd_m=one)) for one in (3.0, 5.0)]
    survey = SimpleNamespace(control_sd_m=4.0, places=places)
    assert _precision(survey, log, stretches, walls) == pytest.approx(3.0)
    assert _precision(
        SimpleNamespace(control_sd_m=None, places=places), log, stretches, walls
    ) == pytest.approx(5.0)
    assert _precision(survey, log, stretches, []) == pytest.approx(math.sqrt(6.0**2 / 2.0 - 16.0))


def test_a_body_without_a_plane_lies_as_the_nearest_crossing_of_it_that_has_one(monkeypatch):
    """Its width is asked for along that pole in the grid."""
    rooms, along, changes = "traverse.structure.walk.bodies.", pole(80.0, 20.0), {}
    monkeypatch.setattr(f"{rooms}replace", lambda one, **made: changes.update(made))
    monkeypatch.setattr(
        f"{rooms}_width", lambda survey, ends, stretches, normal, sd: (float(normal @ along), sd)
    )
    monkeypatch.setattr(f"{rooms}_precision", lambda *_: 0.5)
    monkeypatch.setattr(f"{rooms}_running", lambda end, strike: (end, strike))
    monkeypatch.setattr(f"{rooms}_through", lambda ends, normal: True)
    bare = body((0.0, 0.0, 0.0), (8.0, 0.0, 0.0))
    strike = np.array([-along[1], along[0], 0.0])
    near, far = (
        body(run * strike, run * strike + (8.0, 0.0, 0.0), plane)
        for run, plane in ((40.0, (20.0, 80.0)), (-90.0, (23.0, 78.0)))
    )
    log = SimpleNamespace(legs=[SimpleNamespace(start="2", end="3")])
    aside = body((900.0, 0.0, 0.0), (908.0, 0.0, 0.0), (110.0, 80.0))
    _as_elsewhere(bare, [far, near, aside], log, SURVEY)
    assert (changes["strike_deg"], changes["dip_deg"], changes["sd_deg"], changes["as_on"]) == (
        20.0,
        80.0,
        2.0,
        "leg 2\u20133",
    )
    assert (changes["width_m"], changes["narrow"]) == (pytest.approx(1.0), False)
    read = body((0.0, 0.0, 0.0), (8.0, 0.0, 0.0), (20.0, 80.0))
    assert _as_elsewhere(read, [near], log, SURVEY) is read
    assert _as_elsewhere(bare, [aside], log, SURVEY) is bare


def stretch(start, end_, unit_, *, leg=0, shares=(0.0, 0.5), covered=False):
    return BandStretch(
        start=start,
        end=end_,
        unit=unit_,
        leg=leg,
        start_share=shares[0],
        end_share=shares[1],
        covered=covered,
        queried=False,
    )


@pytest.mark.parametrize("azimuth_deg", [30.0, 140.0, 260.0])
@pytest.mark.parametrize("gap_m", [0.9, 1.1])
def test_a_change_of_unit_without_a_contact_runs_square_to_the_walk(azimuth_deg, gap_m):
    """Where one unit ends and the next begins within a metre of each other."""
    way = np.array([math.sin(math.radians(azimuth_deg)), math.cos(math.radians(azimuth_deg))])
    band = [
        stretch((0.0, 0.0), tuple(40.0 * way), "Aa"),
        stretch(tuple((40.0 + gap_m) * way), tuple(80.0 * way), "Bb", shares=(0.5, 1.0)),
    ]
    log = SimpleNamespace(addresses=(), units=[SimpleNamespace(letters="Bb"), SimpleNamespace(letters="Aa")])
    found = unbooked_changes(log, SURVEY, band, ())
    if gap_m > 1.0:
        assert found == ()
        return
    (one,) = found
    assert one.course_deg == pytest.approx((azimuth_deg + 90.0) % 360.0)
    assert (one.units, one.younger, one.older, one.share, one.at) == (
        ("Aa", "Bb"),
        "Bb",
        "Aa",
        0.5,
        pytest.approx(tuple(40.0 * way)),
    )
    covered = stretch(band[1].start, band[1].end, "Bb", covered=True)
    assert unbooked_changes(log, SURVEY, [band[0], covered], ()) == ()
    for off_m, pair, there in ((0.9, ("Cc", "Aa"), True), (1.1, ("Cc", "Aa"), False), (SAME_CROSSING_M - 0.1, ("Bb", "Aa"), True),
                               (SAME_CROSSING_M + 0.1, ("Bb", "Aa"), False)):  # fmt: skip
        at = (40.0 + off_m) * way
        met = SimpleNamespace(
            met=HowMet.CROSSED,
            younger=pair[0],
            older=pair[1],
            place=SimpleNamespace(east_m=at[0], north_m=at[1]),
        )
        assert (unbooked_changes(log, SURVEY, band, [met]) == ()) is there
        met.met = HowMet.BESIDE
        assert unbooked_changes(log, SURVEY, band, [met]) == found
