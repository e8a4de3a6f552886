"""Dip domains: traces that halve the angle, domains that end, horizons kept to their level."""

import math
from itertools import pairwise

import numpy as np
import pytest

from tests.structure.fold_logs import height, normal
from traverse.structure.readings.directions import apparent_dip, normal_on
from traverse.structure.section.dip_domains import (
    DipDomains,
    SectionReading,
    axial_trace,
    axial_way,
    merge,
    midpoints,
)


def flat(distance_m):
    return 0.0


def plane(*beds):
    domains = merge([SectionReading(at=(x, 0.0), younging_rad=math.radians(angle)) for x, angle in beds])
    return DipDomains(domains=domains, starts=midpoints(domains, flat))


def limbs_of(domains):
    """Constants that make neighbouring limbs meet on their traces."""
    found = [(math.degrees(domains.domains[0].younging_rad), 0.0)]
    for start, domain in zip(domains.starts, domains.domains[1:], strict=True):
        angle = math.degrees(domain.younging_rad)
        n = normal(angle)
        before = normal(found[-1][0])
        level = before[0] * start[0] + before[1] * start[1] + found[-1][1]
        found.append((angle, level - n[0] * start[0] - n[1] * start[1]))
    return found


SYNCLINES = [
    ((0.0, 40), (200.0, -40)),
    ((0.0, 40), (80.0, 5), (120.0, -5), (200.0, -40)),
    ((0.0, 60), (40.0, 30), (90.0, 0), (150.0, -35), (200.0, -70)),
    # Overturned: both limbs dip the same way.
    ((0.0, 33), (200.0, -114)),
    ((0.0, 20), (60.0, -10), (200.0, -120)),
]


@pytest.mark.parametrize("beds", SYNCLINES)
def test_a_horizon_keeps_its_level_through_every_domain(beds):
    """Beside the closed form: in a syncline of straight limbs the level is the least that any limb gives."""
    domains = plane(*beds)
    limbs = limbs_of(domains)
    for start in (-40.0, 5.0, 30.0, 70.0):
        level = height((start, 0.0), limbs)
        path = domains.trace((start, 0.0), 1.0, reach_m=600.0)
        for share in np.linspace(0.0, 1.0, 7):
            for one, other in pairwise(path.points):
                point = (one[0] + share * (other[0] - one[0]), one[1] + share * (other[1] - one[1]))
                assert height(point, limbs) == pytest.approx(level, abs=1e-6)


@pytest.mark.parametrize("sense", [1.0, -1.0])
@pytest.mark.parametrize(
    "at", [(20.0, 30.0), (95.0, 60.0), (60.0, 160.0), (150.0, 90.0), (110.0, -40.0), (185.0, -70.0)]
)
@pytest.mark.parametrize("beds", SYNCLINES[:3])
def test_a_horizon_from_a_place_off_the_ground_keeps_the_level_it_has_there(beds, at, sense):
    """In the air traces run together, and under the ground apart: the place may lie over several of them."""
    for turned in (1.0, -1.0):
        limb = min if turned > 0.0 else max
        domains = plane(*((x, turned * angle) for x, angle in beds))
        limbs = limbs_of(domains)
        start = (at[0], turned * at[1])
        path = domains.trace(start, sense, reach_m=400.0, ground_m=0.0)
        assert path.points[0] == start
        # The same a hundred metres up.
        up = merge(
            [SectionReading(at=(x, 100.0), younging_rad=math.radians(turned * angle)) for x, angle in beds]
        )
        above = DipDomains(domains=up, starts=midpoints(up, lambda x: 100.0))
        higher = above.trace((start[0], start[1] + 100.0), sense, reach_m=400.0, ground_m=100.0)
        assert np.array(higher.points) == pytest.approx(np.add(path.points, (0.0, 100.0)), abs=1e-6)
        level = height(start, limbs, limb)
        for one, other in pairwise(path.points):
            for share in (0.0, 0.3, 0.8, 1.0):
                point = (one[0] + share * (other[0] - one[0]), one[1] + share * (other[1] - one[1]))
                assert height(point, limbs, limb) == pytest.approx(level, abs=1e-6)


@pytest.mark.parametrize("turned", [1.0, -1.0])
def test_a_place_lies_in_the_domain_of_the_limb_that_gives_it_its_level(turned):
    """The least of the limbs in a syncline, the greatest in an anticline: over and under the ground, past several traces."""
    domains = plane(*((x, turned * angle) for x, angle in SYNCLINES[2]))
    limbs, pick = limbs_of(domains), np.argmin if turned > 0.0 else np.argmax
    seen = set()
    for x in np.linspace(-17.0, 233.0, 26):
        here = sum(x > start[0] for start in domains.starts)
        for up in np.linspace(-400.0, 400.0, 33):
            levels = [height((x, up), [limb]) for limb in limbs]
            first, second = sorted(levels, key=lambda one: turned * one)[:2]
            if abs(first - second) > 1e-6:
                assert domains._under((x, up), here, 0.0) == pick(levels), (x, up)
                seen.add(abs(pick(levels) - here))
    assert max(seen) >= 2


@pytest.mark.parametrize("beds", [tuple((x, -angle) for x, angle in one) for one in SYNCLINES[:3]])
def test_anticlines_are_the_greatest_and_go_on_upward(beds):
    domains = plane(*beds)
    limbs = limbs_of(domains)
    level = height((10.0, 0.0), limbs, max)
    path = domains.trace((10.0, 0.0), 1.0, reach_m=600.0)
    for point in path.points:
        assert height(point, limbs, max) == pytest.approx(level, abs=1e-6)


def test_where_two_traces_meet_a_third_goes_on_between_the_outer_pair():
    domains = plane((0.0, 40), (100.0, 0), (200.0, -40))
    (third,) = [bound for bound in domains.bounds if (bound.left, bound.right) == (0, 2)]
    # Traces at 50 and 150, each 20 degrees off upright: they meet 50 / tan 20 over the middle; the third is upright.
    assert third.start == pytest.approx((100.0, 50.0 / math.tan(math.radians(20.0))))
    assert third.way == pytest.approx((0.0, 1.0), abs=1e-12)


def test_traces_halve_the_angle_between_the_limbs():
    way = axial_way(math.radians(33), math.radians(-114))
    dips = [math.degrees(math.atan2(-way[1], way[0]))]
    # Dips of the limbs 33 and 66 down with distance, the second overturned: the surface lies half-way, 49.5.
    assert dips == pytest.approx([49.5])


@pytest.mark.parametrize("nose_deg", [58.0, 63.0, 65.0, 69.0])
def test_a_trace_that_lies_within_three_degrees_of_level_runs_into_its_fold(nose_deg):
    """One bed in the nose of an overturned fold: a degree more of its dip lays no limb on the other's side of the trace."""
    for turn in (1.0, -1.0):
        level, up = axial_way(math.radians(turn * nose_deg), math.radians(turn * 116.0))
        assert level == pytest.approx(-turn, abs=0.01)
        assert math.degrees(math.asin(up)) == pytest.approx((nose_deg + 116.0) / 2.0 - 90.0)


@pytest.mark.parametrize("azimuth_deg", [120.0, 95.0, 62.0, 40.0])
@pytest.mark.parametrize(("one", "other"), [((48.0, 120.0), (5.0, 120.0)), ((40.0, 110.0), (55.0, 250.0))])
def test_on_a_section_aslant_to_the_fold_the_trace_lies_in_the_plane_that_halves_the_limbs(
    one, other, azimuth_deg
):
    """Every place on it lies as far over a bed of the one limb as over the same bed of the other, in space."""
    poles = [
        np.array([math.sin(dip) * math.sin(way), math.sin(dip) * math.cos(way), math.cos(dip)])
        for dip, way in (np.radians(each) for each in (one, other))
    ]
    along = np.array([math.sin(math.radians(azimuth_deg)), math.cos(math.radians(azimuth_deg)), 0.0])
    beds = [
        SectionReading(
            at=(x, 0.0),
            younging_rad=math.radians(apparent_dip(dip, dip_direction_deg=way, azimuth_deg=azimuth_deg)),
            normal=normal_on(dip, way, azimuth_deg=azimuth_deg),
        )
        for x, (dip, way) in ((0.0, one), (100.0, other))
    ]
    level, up = axial_trace(*merge(beds))
    place = level * along + np.array([0.0, 0.0, up])
    assert poles[0] @ place == pytest.approx(poles[1] @ place, abs=1e-6)
    assert up < 0.0


def test_dips_within_five_degrees_are_one_domain():
    assert len(merge([SectionReading(at=(x, 0.0), younging_rad=math.radians(30 + x)) for x in range(4)])) == 1
    assert len(plane((0.0, 30), (10.0, 36)).domains) == 2


def test_many_domains_are_swept_in_a_moment():
    rng = np.random.default_rng(2)
    angles = np.cumsum(rng.normal(0, 12, 2000)) % 80 - 40
    domains = plane(*((10.0 * i, float(angle)) for i, angle in enumerate(angles)))
    assert len(domains.bounds) < 4 * len(domains.domains)


def test_from_both_ends_the_same_readings_are_one_domain():
    dips = [30, 34, 38, 39, 43, 47, 33, 36, 40, 28, 29]

    def counts(sense):
        found = merge(
            [
                SectionReading(at=(10.0 * sense * place, 0.0), younging_rad=sense * math.radians(dips[place]))
                for place in range(len(dips))[:: int(sense)]
            ]
        )
        return [one.count for one in found][:: int(sense)]

    assert counts(1.0) == counts(-1.0)
    assert 1 < len(counts(1.0)) < len(dips)


@pytest.mark.parametrize(
    ("beds", "says"), [(((20.0, 1.0), (160.0, 1.0)), True), (((60.0, 0.9), (66.0, 0.85)), False)]
)
def test_no_axial_surface_lies_flat_that_scatter_alone_turns(beds, says):
    """Both traces lie level; that of beds 6 degrees apart, which strike a little otherwise on an askew section, parts one panel."""
    readings = [
        SectionReading(at=(100.0 * at, 0.0), younging_rad=math.radians(angle), normal=normal)
        for at, (angle, normal) in enumerate(beds)
    ]
    domains = merge(readings)
    assert abs(axial_trace(*domains)[1]) < 0.05
    assert DipDomains(domains=domains, starts=midpoints(domains, flat)).flat_axial is says
