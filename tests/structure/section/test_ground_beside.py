"""Ground under a line beside the walk: its height by scipy's interpolator, what that may be off by, and what lies past all beds.

Kriging with a linear variogram is interpolation by the negative distance with a constant, which scipy has as the kernel
"linear" of degree 0 (`scipy.interpolate.RBFInterpolator`); all else is worked out place by place, in loops.
"""

import math
from itertools import pairwise
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.interpolate import RBFInterpolator

from traverse.location.records import HeightsMeasured
from traverse.structure.section.profile import SectionGround, _between
from traverse.structure.section.sections import line_through
from traverse.structure.section.seen_ground import SeenGround

HALF_M = 30.0
TURN_DEG = 25.0


def walk(seed, count=9):
    rng = np.random.default_rng(seed)
    return np.column_stack((np.cumsum(rng.uniform(20.0, 70.0, count)), np.cumsum(rng.uniform(-40.0, 55.0, count)),
                            100.0 + np.cumsum(rng.uniform(-9.0, 11.0, count)), rng.uniform(0.2, 3.0, count)))  # fmt: skip


@pytest.mark.parametrize("seed", range(4))
def test_heights_beside_the_walk_are_those_of_scipys_interpolator(seed):
    """Ground of five centimetres' roughness; never over the highest place walked on, nor under the lowest."""
    ground = walk(seed, 25)
    rng = np.random.default_rng(50 + seed)
    places = rng.uniform(ground[:, :2].min(axis=0) - 80.0, ground[:, :2].max(axis=0) + 80.0, (60, 2))
    scipys = RBFInterpolator(ground[:, :2], ground[:, 2], kernel="linear", degree=0, smoothing=0.05)
    expected = np.clip(scipys(places), ground[:, 2].min(), ground[:, 2].max())
    assert _between(ground, *places.T) == pytest.approx(expected, abs=1e-6)


def surveyed(rows, names="ABCDEFGHIJKLMNOPQRSTUVWXYZ"):
    """A walk from row to row; the last place has no height."""
    places = {
        name: SimpleNamespace(east_m=east, north_m=north, up_m=up, sd_up_m=sd)
        for name, (east, north, up, sd) in zip(names, rows.tolist(), strict=False)
    }
    last = names[len(rows)]
    places[last] = SimpleNamespace(east_m=0.0, north_m=0.0, up_m=None, sd_up_m=None)
    booked = [*pairwise(names[: len(rows)]), (names[len(rows) - 1], last), (names[0], "?")]
    legs = [
        SimpleNamespace(
            booked=SimpleNamespace(start=start, end=end),
            horizontal_m=10.0
            if end not in places
            else math.hypot(
                places[start].east_m - places[end].east_m, places[start].north_m - places[end].north_m
            ),
        )
        for start, end in booked
    ]
    return SimpleNamespace(places=places, legs=legs, heights=HeightsMeasured.MEASURED)


def ground_of(survey, *, beds=(), terrain=None, levels=(), cover=frozenset()):
    made = SectionGround.__new__(SectionGround)
    made.survey, made.terrain, made.beds, made.half_m = survey, terrain, beds, HALF_M
    made.levels, made.cover, made.carrier, made._heights = levels, cover, SimpleNamespace(turn=TURN_DEG), {}
    return made


def places_of(rows, total_m):
    """Points of each leg, about 400 together and at least two of each, with what their height is off by."""
    found = []
    for one, other in pairwise(rows):
        count = max(2, min(40, round(400.0 * math.hypot(*(other - one)[:2]) / total_m)))
        found += [one + share * (other - one) for share in np.linspace(0.0, 1.0, count)]
    return np.array(found)


@pytest.mark.parametrize("seed", range(3))
def test_the_walk_is_known_all_along_its_legs(seed):
    rows = walk(seed, 16)
    rows[5] = rows[4] + (0.4, 0.3, 0.1, 0.0)
    survey = surveyed(rows)
    total = sum(leg.horizontal_m for leg in survey.legs)
    assert ground_of(survey)._walked == pytest.approx(places_of(rows, total))


@pytest.mark.parametrize("seed", range(3))
def test_a_height_guessed_beyond_the_band_is_off_by_what_the_walk_differs_over_such_ways(seed):
    """Half as far to half as far again; as steep as between the two farthest where no two lie so far apart."""
    rows = walk(seed)
    ground = ground_of(surveyed(rows))
    known = ground._walked
    rng = np.random.default_rng(80 + seed)
    asked = rng.uniform(rows[:, :2].min(axis=0) - 150.0, rows[:, :2].max(axis=0) + 150.0, (25, 2))
    asked = np.vstack((asked, np.add(rows[:, :2].max(axis=0), (2_000.0, 900.0))))
    apart = [math.dist(a[:2], b[:2]) for i, a in enumerate(known) for b in known[i + 1 :]]
    rise = [abs(a[2] - b[2]) for i, a in enumerate(known) for b in known[i + 1 :]]
    farthest = int(np.argmax(apart))
    apart, rise = np.array(apart), np.array(rise)
    found = ground._guessed(asked[:, 0], asked[:, 1])
    told = 0
    for place, (off_m, sd_m) in zip(asked, found, strict=True):
        ways = np.hypot(*(known[:, :2] - place).T)
        assert off_m == pytest.approx(ways.min())
        if ways.min() <= HALF_M:
            assert sd_m is None
            continue
        alike = (apart >= 0.5 * ways.min()) & (apart < 1.5 * ways.min())
        steepest = rise[farthest] / apart[farthest]
        mean = (rise[alike] ** 2).mean() if alike.any() else (steepest * ways.min()) ** 2
        assert sd_m == pytest.approx(math.sqrt(mean + known[int(ways.argmin()), 3] ** 2), rel=1e-6)
        told += 1
    assert told > 8


def test_the_grid_of_heights_leaves_nothing_to_guess():
    ground = ground_of(
        surveyed(walk(1)), terrain=SimpleNamespace(at=lambda east, north: np.where(east > 0.0, 5.0, np.nan))
    )
    far = np.array([5_000.0, -5_000.0])
    (there, outside) = ground._guessed(far, far)
    assert there == (0.0, None)
    assert outside[0] > 1_000.0
    assert outside[1] > 0.0


@pytest.mark.parametrize("overturned", [False, True])
@pytest.mark.parametrize("dip_deg", [0.0, 25.0, 70.0])
def test_ground_beyond_the_band_lies_past_all_beds_by_its_height_square_to_them(dip_deg, overturned):
    """Beds all alike, so that one normal tells: by how much the ground is over the highest bed walked on, or under the lowest."""
    rows = walk(2)
    direction = 205.0
    beds = [
        SimpleNamespace(
            dip_deg=dip_deg, dip_direction_deg=direction, lies_over=overturned,
            place=SimpleNamespace(east_m=rows[index, 0], north_m=rows[index, 1]),
        )
        for index in (1, 6)
    ]  # fmt: skip
    ground = ground_of(surveyed(rows), beds=beds)
    dip, way = math.radians(dip_deg), math.radians(direction - TURN_DEG)
    normal = np.array([math.sin(dip) * math.sin(way), math.sin(dip) * math.cos(way), math.cos(dip)])
    normal *= -1.0 if overturned else 1.0
    levels = ground._walked[:, :3] @ normal
    asked = np.random.default_rng(9).uniform((-300.0, -300.0, 40.0), (700.0, 500.0, 200.0), (40, 3))
    off_m = [HALF_M - 1.0 if index % 4 == 0 else HALF_M + 1.0 for index in range(len(asked))]
    found = ground._past_beds(asked, off_m)
    for place, off, past in zip(asked, off_m, found, strict=True):
        level = float(place @ normal)
        wanted = max(0.0, level - levels.max()) + min(0.0, level - levels.min())
        assert past == pytest.approx(0.0 if off < HALF_M else wanted, abs=1e-6)
    assert max(found) > 0.0 > min(found)
    assert not any(ground_of(surveyed(rows), beds=beds, cover=frozenset({"Cm"}))._past_beds(asked, off_m))
    assert not any(ground_of(surveyed(rows))._past_beds(asked, off_m))


def test_each_place_of_the_walk_carries_the_bed_nearest_to_it():
    """Two limbs: beyond the foot of each only its own beds tell, worked out place by place."""
    rows = walk(2)
    beds = [
        SimpleNamespace(dip_deg=40.0, dip_direction_deg=way, lies_over=False,
                        place=SimpleNamespace(east_m=rows[index, 0], north_m=rows[index, 1]))
        for index, way in ((1, 100.0), (6, 280.0))
    ]  # fmt: skip
    ground = ground_of(surveyed(rows), beds=beds)
    normals = []
    for bed in beds:
        dip, way = math.radians(bed.dip_deg), math.radians(bed.dip_direction_deg - TURN_DEG)
        normals.append((math.sin(dip) * math.sin(way), math.sin(dip) * math.cos(way), math.cos(dip)))
    asked = np.random.default_rng(10).uniform((-300.0, -300.0, 40.0), (900.0, 500.0, 300.0), (40, 3))
    found = ground._past_beds(asked, [HALF_M + 1.0] * len(asked))
    for place, past in zip(asked, found, strict=True):
        over = []
        for known in ground._walked[:, :3]:
            near = int(
                np.argmin([math.dist(known[:2], (bed.place.east_m, bed.place.north_m)) for bed in beds])
            )
            over.append(float((place - known) @ normals[near]))
        assert past == pytest.approx(max(0.0, min(over)) + min(0.0, max(over)), abs=1e-6)
    assert any(found)


def test_heights_under_a_bent_line_are_asked_for_all_along_it():
    rows = walk(3)
    line = line_through([tuple(rows[0, :2]), tuple(rows[4, :2] + (0.0, 60.0)), tuple(rows[8, :2])])
    survey = surveyed(rows)
    shares, heights = ground_of(survey).heights(line)
    assert shares[0] == 0.0
    assert shares[-1] == pytest.approx(line.length_m)
    assert np.diff(shares) == pytest.approx(np.full(119, line.length_m / 119.0))
    places = np.array([line.at(share) for share in shares.tolist()])
    known = ground_of(survey)._walked
    assert heights == pytest.approx(_between(known, *places.T), abs=1e-6)
    # Of the grid where that knows it.
    half = SimpleNamespace(at=lambda east, north: np.where(east > 150.0, 7.0, np.nan))
    mixed = ground_of(survey, terrain=half).heights(line)[1]
    assert mixed == pytest.approx(np.where(places[:, 0] > 150.0, 7.0, heights), abs=1e-6)


def test_ground_seen_along_a_line_is_asked_for_every_two_metres_to_its_end():
    line = line_through([(0.0, 0.0), (31.0, 0.5)])
    at_m = SeenGround(line, []).at_m
    assert np.diff(at_m) == pytest.approx(2.0)
    assert at_m[0] == 0.0
    assert line.length_m <= at_m[-1] < line.length_m + 2.0
