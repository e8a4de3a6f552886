"""Heights between crossings, slopes, and crossings out of line: by scipy, by a plane, and by going from one to the next."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.interpolate import RegularGridInterpolator

from traverse.heights import grid
from traverse.heights.out_of_line import out_of_line
from traverse.heights.records import AboutWalk, Terrain
from traverse.length import METRES
from traverse.location.records import HeightsMeasured
from traverse.source import Span

EAST, NORTH = 500.0 + 10.0 * np.arange(9), 900.0 + 20.0 * np.arange(7)
EVERYWHERE = AboutWalk(west_m=0.0, east_m=2000.0, south_m=0.0, north_m=2000.0)


def terrain(up, east=EAST, north=NORTH):
    return Terrain(name="valley.xyz", east_m=east, north_m=north, up_m=np.asarray(up, dtype=float))


@pytest.mark.parametrize("seed", range(3))
def test_heights_between_crossings_are_those_of_scipy(seed):
    rng = np.random.default_rng(seed)
    ground = terrain(rng.uniform(300.0, 400.0, (7, 9)))
    other = RegularGridInterpolator((NORTH, EAST), ground.up_m, bounds_error=False)
    east, north = rng.uniform(480.0, 600.0, 60), rng.uniform(880.0, 1040.0, 60)
    found = ground.at(east, north)
    assert found == pytest.approx(other(np.column_stack((north, east))), nan_ok=True)
    assert 10 < np.isfinite(found).sum() < 60
    # On its very edges too.
    edges = np.array([(500.0, 900.0), (580.0, 1020.0), (580.0, 955.0), (533.0, 1020.0)]).T
    assert ground.at(*edges) == pytest.approx(other(edges[::-1].T))


def test_a_hole_spoils_no_crossing_beside_it():
    up = np.full((7, 9), 300.0)
    up[3, 4] = np.nan
    ground = terrain(up)
    assert ground.at(EAST, np.full(9, NORTH[2])) == pytest.approx(300.0)
    assert np.isnan(ground.at(EAST, np.full(9, NORTH[3]))).tolist() == [False] * 4 + [True] + [False] * 4
    assert np.isnan(ground.at(np.array([535.0, 545.0, 555.0]), np.full(3, 955.0))).tolist() == [
        True,
        True,
        False,
    ]


@pytest.mark.parametrize("step_m", [1.0, 4.0])
def test_the_slope_of_a_plane_is_the_same_everywhere(step_m):
    """3 in 10 up to the east, 1 in 20 down to the north."""
    ground = terrain(0.3 * EAST[None, :] - 0.05 * NORTH[:, None])
    assert ground.slope(547.0, 963.0, step_m) == pytest.approx((0.3, -0.05))


def test_the_spacing_is_the_larger_of_two_and_tells_the_error():
    """A tenth of it, a metre at least."""
    assert terrain(np.zeros((7, 9))).spacing_m == 20.0
    assert terrain(np.zeros((7, 9))).sd_up_m == pytest.approx(2.0)
    assert terrain(np.zeros((9, 7)), NORTH, EAST).spacing_m == 20.0
    assert terrain(np.zeros((7, 9)), EAST, 900.0 + 9.0 * np.arange(7)).sd_up_m == 1.0


def lone(up, row, column):
    """How far one crossing stands over all round it, or under all of them; minus one where it does neither."""
    rows, columns = up.shape
    off = [
        up[row, column] - up[y, x]
        for y in range(max(0, row - 1), min(rows, row + 2))
        for x in range(max(0, column - 1), min(columns, column + 2))
        if (y, x) != (row, column) and np.isfinite(up[y, x])
    ]
    return max(min(off), -max(off)) if len(off) >= 3 and np.isfinite(up[row, column]) else -1.0


@pytest.mark.parametrize("seed", range(6))
def test_a_crossing_that_stands_alone_is_found_as_by_looking_at_each(seed):
    """On gentle ground with a hole, one or two figures wrong by 300 to 900 m, up or down, corners among them."""
    rng = np.random.default_rng(seed)
    up = 300.0 + rng.uniform(-2.0, 2.0, (7, 9))
    up[rng.integers(7), rng.integers(9)] = np.nan
    wrong = [((0, 0), (6, 8), (0, 8), (3, 4), (6, 0), (2, 7))[seed], (5, 2)][: 1 + seed % 2]
    for place in wrong:
        up[place] = 300.0 + rng.choice([-1.0, 1.0]) * rng.uniform(300.0, 900.0)
    over = np.array([[lone(up, row, column) for column in range(9)] for row in range(7)])
    found = out_of_line(terrain(up), EVERYWHERE)
    worst = np.unravel_index(np.argmax(over), over.shape)
    assert found.alone
    assert (found.north_m, found.east_m, found.up_m) == (NORTH[worst[0]], EAST[worst[1]], up[worst])
    assert set(zip(*(one.tolist() for one in found.crossings), strict=True)) == set(wrong)
    # Beside it stands the height nearest to its own.
    east, north, beside = found.beside_m
    assert up[np.flatnonzero(north == NORTH)[0], np.flatnonzero(east == EAST)[0]] == beside
    assert abs(found.up_m - beside) == pytest.approx(over[worst])
    assert max(abs(east - found.east_m) / 10.0, abs(north - found.north_m) / 20.0) == 1.0


def step_of(size, spacing=20.0):
    """Level ground and, from its middle on, as much higher."""
    up = np.full((7, 9), 300.0)
    up[:, 4:] += size
    return terrain(up, 500.0 + spacing * np.arange(9), 900.0 + spacing * np.arange(7))


def spike_of(size, spacing=20.0):
    up = np.full((7, 9), 300.0)
    up[3, 4] += size
    return terrain(up, 500.0 + spacing * np.arange(9), 900.0 + spacing * np.arange(7))


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize(
    # Whichever is more: 100 m, and 3 or 6 times as much as the crossings are apart.
    ("made", "limit", "spacing"),
    [(spike_of, 100.0, 20.0), (spike_of, 150.0, 50.0), (step_of, 100.0, 10.0), (step_of, 180.0, 30.0)],
)
def test_ground_is_out_of_line_beyond_a_height_and_a_slope(made, limit, spacing, sign):
    assert out_of_line(made(sign * (limit - 1.0), spacing), EVERYWHERE) is None
    found = out_of_line(made(sign * (limit + 1.0), spacing), EVERYWHERE)
    assert found.alone is (made is spike_of)
    east, north, beside = found.beside_m
    assert abs(found.up_m - beside) == pytest.approx(limit + 1.0)
    assert max(abs(east - found.east_m), abs(north - found.north_m)) == pytest.approx(spacing)
    # Of a step the upper side is told.
    assert made is spike_of or found.up_m > beside
    rows, columns = found.crossings
    if made is step_of:
        assert set(columns.tolist()) == ({4} if sign > 0.0 else {3})
        assert set(rows.tolist()) == set(range(7))


def test_only_crossings_about_the_walk_are_asked_about():
    ground = spike_of(400.0)
    at = {"west_m": 540.0, "east_m": 620.0, "south_m": 920.0, "north_m": 1000.0}
    found = out_of_line(ground, AboutWalk(**at))
    assert (found.east_m, found.north_m) == (580.0, 960.0)
    assert [one.tolist() for one in found.crossings] == [[3], [4]]
    for edge, beyond in (("west_m", 590.0), ("east_m", 570.0), ("south_m", 970.0), ("north_m", 950.0)):
        assert out_of_line(ground, AboutWalk(**(at | {edge: beyond}))) is None


def survey(east, north, up=()):
    places = {
        str(index): SimpleNamespace(east_m=x, north_m=y, up_m=z)
        for index, (x, y, z) in enumerate(zip(east, north, up or [None] * len(east), strict=True))
    }
    return SimpleNamespace(places=places, heights=HeightsMeasured.MEASURED)


@pytest.mark.parametrize(
    ("wide", "high", "about"), [(100.0, 40.0, 500.0), (400.0, 100.0, 600.0), (40.0, 1000.0, 1500.0)]
)
def test_what_may_come_on_a_map_reaches_half_a_kilometre_or_half_as_far_again_as_the_walk(wide, high, about):
    found = grid._walked(survey([700.0, 700.0 + wide], [300.0, 300.0 + high]))
    assert (found.west_m, found.east_m) == (700.0 - about, 700.0 + wide + about)
    assert (found.south_m, found.north_m) == (300.0 - about, 300.0 + high + about)


def test_cells_about_the_walk_are_counted_from_the_upper_left():
    """Cells of 30 by 20 m from 0 E, 2000 N; the walk's ground is 200 to 1300 E, 400 to 1500 N."""
    columns, rows = grid._about_walk(0.0, 2000.0, 30.0, 20.0, survey([700.0, 800.0], [900.0, 1000.0]))
    assert columns == (6, 44)
    assert rows == (25, 80)


@pytest.mark.parametrize(("spacing", "limit"), [(20.0, 15.0), (50.0, 25.0)])
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_stations_off_the_heights_by_half_a_spacing_or_15_metres_are_asked_about(spacing, limit, sign):
    """Half of the stations, whatever one of them says; not the one that has no height."""
    ground = terrain(np.full((9, 9), 100.0), spacing * np.arange(9), spacing * np.arange(9))

    def told(off):
        up = [100.0 + sign * off, 100.0 + sign * off, 400.0, None, 100.0 + sign * (off - 60.0)]
        if sign < 0.0:
            up[2] = -400.0
        walk = survey([10.0, 20.0, 30.0, 40.0, 50.0], [10.0] * 5, up)
        at = [
            np.array([getattr(one, name) for one in walk.places.values()]) for name in ("east_m", "north_m")
        ]
        return grid._apart(ground, walk, *at, Span("day.trav", 3, 1, 4), METRES)

    # Of the four that have one the middle is the mean of the second and third.
    assert told(limit - 0.5) == ()
    (one,) = told(limit + 0.6)
    assert f"{'above' if sign > 0.0 else 'below'} the heights of valley.xyz" in one.message
    assert f"lie {limit + 0.6:.0f} m or more" in one.message


def test_heights_in_feet_are_told_by_what_they_would_be_in_metres():
    """1000 ft are 304.8 m."""
    ground = terrain(np.full((7, 9), 1000.0))
    for up, feet in ((304.8, True), (318.0, True), (330.0, False)):
        walk = survey([510.0, 520.0], [910.0, 920.0], [up, up])
        east, north = np.array([510.0, 520.0]), np.array([910.0, 920.0])
        (one,) = grid._apart(ground, walk, east, north, Span("day.trav", 3, 1, 4), METRES)
        assert ("as feet they would agree" in one.hints[0]) is feet


def written(figures):
    text = "\n".join(" ".join(f"{value:.10g}" for value in row) for row in figures)
    return grid._figures(text.encode())


@pytest.mark.parametrize("count", [4, 9])
def test_coordinates_may_be_off_by_two_hundredths_of_their_spacing(count):
    for off, even in ((0.19, True), (0.21, False)):
        rows = [
            (10.0 * x + (off if x == 1 else 0.0), 10.0 * y, 100.0) for x in range(count) for y in range(4)
        ]
        if even:
            found, _ = grid._gridded("h.xyz", written(rows))
            assert found.east_m == pytest.approx(10.0 * np.arange(count))
            continue
        with pytest.raises(grid._NoGridError, match="eastings are not evenly spaced"):
            grid._gridded("h.xyz", written(rows))


def test_a_fifth_of_a_grid_is_one_and_less_is_none():
    """Of 100 crossings 20."""
    places = [(x, y) for x in range(10) for y in range(10) if (x + 3 * y) % 5 == 0]
    assert len(places) == 20
    rows = [(10.0 * x, 10.0 * y, 100.0 + x + y) for x, y in places]
    found, missing = grid._gridded("h.xyz", written(rows))
    assert np.isfinite(found.up_m).sum() == 20
    assert missing == 0
    assert all(found.up_m[y, x] == 100.0 + x + y for x, y in places)
    with pytest.raises(grid._NoGridError, match="no grid"):
        grid._gridded("h.xyz", written([row for row in rows if row[:2] != (50.0, 0.0)]))


@pytest.mark.parametrize(("off", "same"), [(0.49, True), (0.51, False)])
def test_a_crossing_may_be_given_twice_within_half_a_metre(off, same):
    rows = [(10.0 * x, 10.0 * y, 100.0) for x in range(3) for y in range(3)]
    rows.append((10.0, 20.0, 100.0 + off))
    if same:
        found, _ = grid._gridded("h.xyz", written(rows))
        assert found.up_m[2, 1] == pytest.approx(100.0 + off)
        return
    with pytest.raises(grid._NoGridError, match="lines 6 and 10: two heights at 10 E 20 N"):
        grid._gridded("h.xyz", written(rows))


@pytest.mark.parametrize(
    ("figure", "height"),
    [(-8999.0, True), (-9001.0, False), (11_999.0, True), (-9999.0, False), (32767.0, False)],
)
def test_from_nine_thousand_metres_down_a_figure_stands_for_none(figure, height):
    rows = [(10.0 * x, 10.0 * y, 100.0) for x in range(3) for y in range(3)]
    rows[4] = (10.0, 10.0, figure)
    found, missing = grid._gridded("h.xyz", written(rows))
    assert np.isfinite(found.up_m[1, 1]) == height
    assert missing == (not height)


def test_no_ground_lies_beyond_twelve_kilometres():
    with pytest.raises(grid._NoGridError, match="line 2: no ground lies at a height of 12001"):
        written([(0.0, 0.0, 100.0), (10.0, 0.0, 12001.0)])


@pytest.mark.parametrize(
    ("east", "north", "said"),
    [
        # About a walk at 540 E, 960 N: the grid has no height there; its axes exchanged; degrees of one or both; elsewhere.
        ((500.0, 580.0), (900.0, 1020.0), "it reaches the walk"),
        ((900.0, 1020.0), (500.0, 580.0), "its first figures are north"),
        ((-3.1, -3.0), (54.1, 54.2), "look like degrees"),
        (
            (-3.1, 361.0),
            (54.1, 54.2),
            "it spans -3 to 361 E and 54 to 54 N, the walk 540 to 545 E and 960 to 965 N",
        ),
        ((-3.1, -3.0), (54.1, 361.0), "it spans -3 to -3 E and 54 to 361 N"),
        ((5000.0, 5100.0), (900.0, 1020.0), "it spans 5000 to 5100 E and 900 to 1020 N"),
        ((500.0, 580.0), (9000.0, 9020.0), "it spans 500 to 580 E and 9000 to 9020 N"),
    ],
)
def test_what_is_wrong_with_heights_on_which_no_station_lies(east, north, said):
    hole = said.startswith("it reaches")
    up = np.full((3, 3), np.nan if hole else 100.0)
    ground = terrain(up, np.linspace(*east, 3), np.linspace(*north, 3))
    assert said in grid._where(ground, np.array([540.0, 545.0]), np.array([960.0, 965.0]))
