"""Figures of a thickness and of several together, each by the formula of a textbook, in loops.

Weighted means and the stretching of their error: Birge (1932), Phys. Rev. 40, 207, as `amounts.py` names it; errors that add
by their squares, and chi-square, by any textbook of statistics, with scipy's table.
"""

import math
from types import SimpleNamespace

import numpy as np
import pytest
from scipy import stats

from traverse.log.items import HowMet
from traverse.structure.thickness.amounts import _deepest, _read_on, _scatter, unit_thicknesses
from traverse.structure.thickness.records import LeastThickness, Thickness
from traverse.structure.thickness.shifted import _as_much, _off
from traverse.structure.thickness.true_thickness import _between, thickness_variance, variance_along
from traverse.structure.walk.bodies import _width


def crossing(true_m, sd_m, *, bend_m=None, arc_m=None, unit="Bb", at_least=False):
    return Thickness(
        unit=unit,
        true_m=true_m,
        sd_m=sd_m,
        between=(None, None),
        bend_m=bend_m,
        arc_m=arc_m,
        at_least=at_least,
    )


def amount(crossings, parts=()):
    log = SimpleNamespace(units=[SimpleNamespace(letters="Bb")])
    (found,) = unit_thicknesses(
        log,
        crossings,
        [LeastThickness(unit="Bb", true_m=true, sd_m=sd, contact=None, why="") for true, sd in parts],
    )
    return found


def test_crossings_that_agree_count_by_the_inverse_of_their_variance():
    found = amount([crossing(20.0, 2.0), crossing(23.0, 4.0), crossing(19.0, 1.0)])
    weights = np.array([1 / 4, 1 / 16, 1.0])
    assert found.true_m == pytest.approx(float(weights @ [20.0, 23.0, 19.0] / weights.sum()))
    assert found.sd_m == pytest.approx(1.0 / math.sqrt(weights.sum()))
    assert (found.n, found.differs, found.least_m, found.range_m) == (3, False, None, (19.0, 23.0))


@pytest.mark.parametrize("count", [2, 3, 6])
@pytest.mark.parametrize(("share", "differs"), [(0.97, False), (1.03, True)])
def test_crossings_differ_where_one_set_in_a_hundred_would(count, share, differs):
    """Half of them as far over the mean as the others lie under it."""
    ways = np.array([1.0, -1.0, 0.0] if count == 3 else [1.0, -1.0] * (count // 2))
    sd_m = 2.0
    limit = stats.chi2.ppf(stats.norm.cdf(2.326), count - 1)
    # The program's chi-square is Wilson and Hilferty's, half a hundredth off.
    off_m = share * sd_m * math.sqrt(limit / float(ways @ ways))
    crossings = [crossing(50.0 + way * off_m, sd_m) for way in ways.tolist()]
    scatter, told = _scatter(crossings, 50.0)
    assert told is differs
    stretched = math.sqrt(float(ways @ ways) * (off_m / sd_m) ** 2 / (count - 1))
    assert scatter == pytest.approx(stretched if differs else 1.0)
    found = amount(crossings)
    assert found.sd_m == pytest.approx(scatter * sd_m / math.sqrt(count))
    # A crossing counts by how far the mean lies outside of what its rules give.
    wide = [
        crossing(one.true_m, sd_m, arc_m=50.0 + way * 0.2)
        for one, way in zip(crossings, ways.tolist(), strict=True)
    ]
    assert _scatter(wide, 50.0) == (1.0, False)


def test_of_three_that_differ_the_median_is_told():
    found = amount([crossing(20.0, 0.5), crossing(21.0, 2.0), crossing(60.0, 1.0)])
    assert (found.differs, found.true_m) == (True, 21.0)
    pair = amount([crossing(20.0, 1.0), crossing(60.0, 1.0)])
    assert (pair.differs, pair.true_m) == (True, pytest.approx(40.0))


@pytest.mark.parametrize(("over", "says_more"), [(0.97, False), (1.03, True)])
def test_a_part_says_more_than_the_whole_from_two_errors_of_both_on(over, says_more):
    limit = 2.0 * math.hypot(3.0, 4.0)
    found = amount([crossing(50.0, 3.0)], [(50.0 + over * limit, 4.0), (20.0, 1.0)])
    assert found.least_m == (pytest.approx(50.0 + over * limit) if says_more else None)
    # Else it says how thick the whole may be.
    assert found.range_m == pytest.approx((50.0, 50.0 if says_more else 50.0 + over * limit))
    alone = amount([], [(30.0, 4.0), (20.0, 1.0)])
    assert (alone.true_m, alone.sd_m, alone.least_m, alone.n) == (None, None, 30.0, 0)


def test_what_was_cut_at_its_top_is_a_part():
    found = amount([crossing(50.0, 3.0, at_least=True), crossing(20.0, 1.0)])
    assert (found.true_m, found.least_m, found.n) == (20.0, 50.0, 1)


@pytest.mark.parametrize(("share", "off"), [(0.97, False), (1.03, True), (-1.03, True), (-0.97, False)])
def test_a_crossing_differs_from_the_others_from_three_errors_of_both_on(share, off):
    """Half of what its rules leave open counts with its error; those of the others fall with their weights."""
    others = [crossing(30.0, 2.0), crossing(31.0, 1.0, bend_m=(31.0, 34.0))]
    sds = [2.0, math.hypot(1.0, 1.5)]
    weights = [1.0 / sd**2 for sd in sds]
    mean = (30.0 * weights[0] + 31.0 * weights[1]) / sum(weights)
    own = math.hypot(1.5, 2.0)
    both = math.hypot(own, 1.0 / math.sqrt(sum(weights)))
    true = mean + share * 3.0 * both
    found = _off(crossing(true, 1.5, arc_m=true - 4.0), others)
    assert (found is not None) is off
    if off:
        assert found.by_m == pytest.approx(true - mean)
        assert found.sd_m == pytest.approx(both)
    assert _off(crossing(true, 1.5), [crossing(30.0, 1.0), crossing(40.0, 1.0)]) is None
    assert _off(crossing(true, 1.5), []) is None


@pytest.mark.parametrize(
    ("first", "second", "alike"),
    [(12.0, -2.2, True), (12.0, -1.8, False), (10.0, -19.8, True), (10.0, -20.2, False), (4.0, 5.0, False), (-4.0, -5.0, False),
     (-12.0, 2.2, True), (-12.0, 1.8, False)],
)  # fmt: skip
def test_two_units_differ_by_as_much_within_two_errors_of_both(first, second, alike):
    """Each to 3 m and 4 m: together to 5."""
    one, other = SimpleNamespace(by_m=first, sd_m=3.0), SimpleNamespace(by_m=second, sd_m=4.0)
    assert _as_much(one, other) is alike


WAY, DIP_DEG = np.array([40.0, -25.0, 8.0]), 35.0


def normal(dip_deg, way_deg):
    dip, way = math.radians(dip_deg), math.radians(way_deg)
    return np.array([math.sin(dip) * math.sin(way), math.sin(dip) * math.cos(way), math.cos(dip)])


@pytest.mark.parametrize("way_deg", [20.0, 122.0, 300.0])
def test_a_plane_that_tilts_any_way_moves_a_thickness_by_what_lies_along_it(way_deg):
    """Beside 40 000 draws of the pole, each tilted by 1.5° in two directions square to it."""
    pole = normal(DIP_DEG, way_deg)
    side = np.cross(pole, (0.0, 0.0, 1.0))
    side /= np.linalg.norm(side)
    tilts = np.random.default_rng(1).normal(0.0, math.radians(1.5), (40_000, 2))
    drawn = pole + tilts[:, :1] * side + tilts[:, 1:] * np.cross(pole, side)
    drawn /= np.linalg.norm(drawn, axis=1)[:, None]
    assert math.sqrt(thickness_variance(WAY, pole, 1.5)) == pytest.approx(
        float((drawn @ WAY).std()), rel=0.02
    )
    spread = np.array([[4.0, 1.0, 0.3], [1.0, 2.0, -0.5], [0.3, -0.5, 1.0]])
    places = np.random.default_rng(2).multivariate_normal(np.zeros(3), spread, 40_000)
    assert math.sqrt(variance_along(pole, spread)) == pytest.approx(float((places @ pole).std()), rel=0.02)


def at(east, north, up, *, own_sd_m, azimuth_deg=None):
    place = SimpleNamespace(
        east_m=east,
        north_m=north,
        relative_up_m=up,
        leg_azimuth_deg=azimuth_deg,
        leg_slope_deg=0.0,
        right_m=0.0,
    )
    return SimpleNamespace(
        place=place, own_sd_m=own_sd_m, met=HowMet.CROSSED, booked=SimpleNamespace(span=None), sd_m=own_sd_m
    )


@pytest.mark.parametrize("way_deg", [20.0, 122.0, 300.0])
def test_a_thickness_is_the_way_along_the_pole_less_what_bodies_between_take(way_deg):
    """Each contact is off along its leg by its own; the walk between, the plane and the bodies add their squares."""
    first, second = (
        at(100.0, 50.0, 3.0, own_sd_m=1.5, azimuth_deg=70.0),
        at(140.0, 25.0, 11.0, own_sd_m=2.5, azimuth_deg=130.0),
    )
    pole, walked = normal(DIP_DEG, way_deg), np.diag([1.0, 2.0, 0.5])
    found = _between(first, second, "Bb", pole, 1.5, walked, [(3.0, 0.7), (-1.0, 0.4)])
    legs = [
        np.array([math.sin(math.radians(one)), math.cos(math.radians(one)), 0.0]) for one in (70.0, 130.0)
    ]
    parts = [1.5 * float(legs[0] @ pole), 2.5 * float(legs[1] @ pole), math.sqrt(float(pole @ walked @ pole)),
             math.radians(1.5) * float(np.linalg.norm(WAY - (WAY @ pole) * pole)), 0.7, 0.4]  # fmt: skip
    assert found.true_m == pytest.approx(abs(float(WAY @ pole) - 2.0))
    assert found.sd_m == pytest.approx(math.sqrt(sum(one**2 for one in parts)))


RUN = SimpleNamespace(
    inside=[
        (np.array([20.0, 0.0, 0.0]), "a"),
        (np.array([60.0, 5.0, -3.0]), "b"),
        (np.array([45.0, 0.0, 2.0]), "c"),
    ],
    places=[np.array([0.0, 0.0, 0.0]), np.array([30.0, 40.0, 0.0])],
)


def test_the_place_farthest_from_both_crossings_is_the_deepest_with_the_nearer_of_them():
    axis = normal(50.0, 90.0)
    ends = at(0.0, 0.0, 0.0, own_sd_m=1.0), at(2.0, 30.0, 0.0, own_sd_m=1.0)
    contact, place, rests = _deepest(RUN, ends, axis, 2.0)
    depths = [
        [float((one - (end.place.east_m, end.place.north_m, 0.0)) @ axis) for end in ends]
        for one, _ in RUN.inside
    ]
    assert rests == "b"
    assert contact is ends[int(abs(depths[1][1]) < abs(depths[1][0]))]
    assert tuple(place) == tuple(RUN.inside[1][0])


@pytest.mark.parametrize(("share", "one"), [(0.97, True), (1.03, False), (-0.97, True), (-1.03, False)])
def test_crossings_lie_in_one_plane_of_the_beds_within_three_errors(share, one):
    axis = normal(50.0, 90.0)
    way = np.array([0.0, 30.0, 0.0])
    off = 0.0
    for _ in range(4):
        whole = way + off * axis
        limit = 3.0 * math.sqrt(
            1.0 + 4.0 + math.radians(2.0) ** 2 * float(whole @ whole - (whole @ axis) ** 2)
        )
        off = share * limit
    ends = at(0.0, 0.0, 0.0, own_sd_m=1.0), at(*(way + off * axis).tolist(), own_sd_m=2.0)
    far = SimpleNamespace(inside=[(np.array([400.0, 0.0, 0.0]), "far")])
    assert (_deepest(far, ends, axis, 2.0) is not None) is one


@pytest.mark.parametrize(("reach_m", "read"), [(25.9, True), (26.1, False)])
def test_beds_of_a_run_lie_between_its_ends_or_a_metre_beyond(reach_m, read):
    """Its ends are 50 m apart; what is read no farther from the middle than half of that and a metre."""
    way = np.array([0.6, -0.8])
    place = np.array([15.0, 20.0]) + reach_m * way
    bed = SimpleNamespace(place=SimpleNamespace(east_m=place[0], north_m=place[1], relative_up_m=0.0))
    log = SimpleNamespace(legs=[SimpleNamespace(start="1", end="2")])
    assert (_read_on(0, log, {0: [bed]}, {"1": [], "2": []}, RUN.places) == [bed]) is read


@pytest.mark.parametrize("azimuth_deg", [15.0, 110.0, 250.0])
def test_a_body_is_as_wide_as_from_wall_to_wall_square_to_them_and_as_sure_as_was_walked(azimuth_deg):
    """A fifth of a leg of 60 m, 4 % of distance and 2° of bearing; one wall booked to 0.8 m, the other to a pace of 0.75 m."""
    azimuth = math.radians(azimuth_deg)
    way = np.array([math.sin(azimuth), math.cos(azimuth), 0.0])
    side = np.array([way[1], -way[0], 0.0])
    pole = normal(72.0, 65.0)
    apart = 12.0 * way + (0.0, 0.0, 1.0)
    leg = SimpleNamespace(adjusted=SimpleNamespace(east_m=60.0 * way[0], north_m=60.0 * way[1]), distance_sd_m=2.4,
                          horizontal_m=60.0, bearing_sd_deg=2.0)  # fmt: skip
    paced = SimpleNamespace(
        address=SimpleNamespace(
            leg=SimpleNamespace(index=0), start=SimpleNamespace(value=40.0), station=None
        ),
        start_share=0.5,
    )
    walls = [SimpleNamespace(own_sd_m=0.8, place=None), SimpleNamespace(own_sd_m=0.0, place=paced), None]
    stretch = SimpleNamespace(leg=0, start_share=0.3, end_share=0.5)
    survey = SimpleNamespace(legs=[leg])
    parts = [
        math.radians(3.0) * float(np.linalg.norm(apart - (apart @ pole) * pole)),
        0.2 * 2.4 * float(way @ pole),
        0.2 * 60.0 * math.radians(2.0) * float(side @ pole),
    ]
    # Half a leg of 60 m in 40 paces: each 0.75 m, anywhere within which is as likely.
    own = [0.8 * math.hypot(*pole[:2]), 0.75 / math.sqrt(12.0) * math.hypot(*pole[:2]), 0.0]
    for first in range(3):
        for last in range(3):
            ends = [
                SimpleNamespace(place=place, wall=walls[one])
                for place, one in (((0.0, 0.0, 0.0), first), (apart, last))
            ]
            true, sd_m = _width(survey, ends, [stretch], pole, 3.0)
            assert true == pytest.approx(abs(float(apart @ pole)))
            assert sd_m == pytest.approx(math.sqrt(sum(one**2 for one in (*parts, own[first], own[last]))))
