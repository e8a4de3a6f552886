"""Norths, check line and ticks as they are drawn, measured by trigonometry of the test's own."""

import math

import numpy as np
import pytest

from tests.sheet.map.test_map_scale import frame
from tests.sheet.text_boxes import text_box
from traverse.sheet.map.grid_ticks import grid_ticks, register_crosses
from traverse.sheet.map.north import HEIGHT_MM, WIDTH_MM, north_diagram
from traverse.sheet.paper.page import Box, Path, Text
from traverse.sheet.paper.window import Window, check_line, check_line_in, scale_strip

ROOM = Box(x=120.0, y=33.0, width=WIDTH_MM, height=HEIGHT_MM)
NORTHS = [
    (1.1, 4.1),
    (-2.0, -10.0),
    (2.0, -9.0),
    (-1.5, 8.0),
    (3.0, 1.0),
    (-3.0, -1.0),
    (0.0, 6.0),
    (2.0, 2.0),
    (1.0, 0.0),
]


def points(path):
    return np.array([command[1:3] for command in path.commands if len(command) > 2], dtype=float)


def azimuth(start, end):
    """Clockwise from page-up, in (-180, 180]."""
    return math.degrees(math.atan2(end[0] - start[0], end[1] - start[1]))


def arms(items):
    """By their letters: foot, tip, figures about it and the middle of the letters."""
    shafts = [points(one) for one in items if isinstance(one, Path) and one.fill is None]
    names = [one for one in items if isinstance(one, Text) and set(one.text) <= set("GTM")]
    found = {}
    for name in names:
        left, low, right, top = text_box(name).bounds
        middle = ((left + right) / 2.0, (low + top) / 2.0)
        shaft = min(shafts, key=lambda one: math.dist(one[1], middle))
        solid = [points(one) for one in items if isinstance(one, Path) and one.fill is not None]
        found[name.text] = (*shaft, [one for one in solid if math.dist(one[0], shaft[1]) < 1.5], middle)
    assert len(found) == len(shafts)
    return found


@pytest.mark.parametrize(("convergence", "declination"), NORTHS)
def test_each_north_lies_on_its_side_with_its_letter_beyond_its_tip(convergence, declination):
    """True north lies by the convergence against the clock from the grid's, magnetic by the declination from true."""
    found = arms(north_diagram(frame(convergence, declination), ROOM))
    angles = {"G": 0.0, "T": -convergence, "M": declination - convergence}
    drawn = {}
    for letters, (foot, tip, _, middle) in found.items():
        assert foot == pytest.approx((126.6, 34.6))
        assert math.dist(foot, tip) == pytest.approx(14.0)
        assert abs(azimuth(foot, middle) - azimuth(foot, tip)) < 2.0
        assert 14.5 < math.dist(foot, middle) < 17.5
        drawn |= dict.fromkeys(letters, azimuth(foot, tip))
    assert drawn.keys() == angles.keys()
    for one, other in ("GT", "GM", "TM"):
        apart, shown = angles[other] - angles[one], drawn[other] - drawn[one]
        # Apart by what can be seen, on the true side.
        assert (abs(apart) < 0.05) == (abs(shown) < 1e-6)
        assert abs(apart) < 0.05 or shown * apart > 0.0
        assert abs(apart) < 0.05 or abs(shown) >= 9.9
    assert drawn["G"] == 0.0


@pytest.mark.parametrize(("convergence", "declination"), NORTHS)
def test_true_north_has_a_star_and_magnetic_north_half_an_arrow(convergence, declination):
    """The usual signs of the three norths; common practice, no source."""
    for letters, (foot, tip, solid, _) in arms(north_diagram(frame(convergence, declination), ROOM)).items():
        assert len(solid) == ("T" in letters) + ("M" in letters)
        way = azimuth(foot, tip)
        for shape in solid:
            if len(shape) >= 10:
                corners = shape[:10]
                far = np.hypot(*(corners - tip).T)
                assert far[::2] == pytest.approx(1.1)
                assert far[1::2] == pytest.approx(0.44)
                turns = [(azimuth(tip, one) - way) % 360.0 for one in corners]
                assert np.cos(np.radians(turns)) == pytest.approx(np.cos(np.radians(36.0 * np.arange(10))))
                assert np.sin(np.radians(turns)) == pytest.approx(np.sin(np.radians(36.0 * np.arange(10))))
            else:
                turn = math.radians(way)
                ahead, right = (
                    np.array([math.sin(turn), math.cos(turn)]),
                    np.array([math.cos(turn), -math.sin(turn)]),
                )
                corners = {
                    (round(float((one - tip) @ ahead), 3), round(float((one - tip) @ right), 3))
                    for one in shape
                }
                assert {(one + 0.0, other + 0.0) for one, other in corners} == {
                    (0.0, 0.0),
                    (-3.6, 0.0),
                    (-3.6, 0.95),
                }


def test_rows_of_the_norths_stand_on_each_other_from_the_foot_of_the_diagram():
    rows = [
        one for one in north_diagram(frame(1.1, 4.1), ROOM) if isinstance(one, Text) and one.at[0] > 133.0
    ]
    ups = sorted({round(one.at[1], 6) for one in rows})
    # Three angles, the source of the declination, and that the arms part by other angles.
    assert len(ups) == 5
    assert rows[-1].text == "angles not to scale"
    assert ups[0] == pytest.approx(ROOM.y + 2.2)
    assert np.ptp(np.diff(ups)) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(
    ("right", "check", "longer"),
    [(150.0, 100.0, False), (90.0, 50.0, False), (75.0, 30.0, False), (60.0, 20.0, True)],
)
def test_the_words_of_a_check_line_stand_over_it_and_end_with_it_where_they_are_longer(right, check, longer):
    items = check_line(right=right, y=20.0, check=check)
    (words,) = [one for one in items if isinstance(one, Text)]
    lines = [points(one) for one in items if isinstance(one, Path)]
    (line,) = [one for one in lines if np.ptp(one[:, 1]) == 0.0]
    assert (line[:, 0].min(), line[:, 0].max()) == pytest.approx((right - check, right))
    ticks = [one for one in lines if np.ptp(one[:, 0]) == 0.0]
    assert sorted(one[0, 0] for one in ticks) == pytest.approx(
        list(np.arange(right - check, right + 1.0, 10.0))
    )
    assert all(one[:, 1].mean() == pytest.approx(20.0) for one in ticks)
    high = {round(float(np.ptp(one[:, 1])), 6) for one in ticks if right - check < one[0, 0] < right}
    assert high == {1.2}
    left, low, end, _ = text_box(words).bounds
    assert low > 20.0 + 1.0
    assert (end - left > check) is longer
    if longer:
        assert end == pytest.approx(right, abs=0.05)
    else:
        assert (left + end) / 2.0 == pytest.approx(right - check / 2.0, abs=0.05)


@pytest.mark.parametrize("top", [89.0, 12.0])
def test_the_check_line_is_told_from_the_bars_beside_it(top):
    """Whoever takes it to another page takes its ticks and words, and nothing else."""
    items = scale_strip(2500, x=14.0, top=top, width=192.0)
    taken = check_line_in(items)
    lines = [points(one) for one in taken if isinstance(one, Path)]
    assert len(lines) == 12
    assert min(one[:, 0].min() for one in lines) == pytest.approx(106.0)
    assert max(one[:, 0].max() for one in lines) == pytest.approx(206.0)
    assert sum(isinstance(one, Text) for one in taken) == 1


def test_register_crosses_reach_out_of_all_corners_both_ways():
    room = Box(x=20.0, y=30.0, width=100.0, height=60.0)
    arms = {tuple(map(tuple, points(one).round(6).tolist())) for one in register_crosses(room, None)}
    assert arms == {
        ((x, y), end)
        for x, left in ((20.0, -2.4), (120.0, 2.4))
        for y, down in ((30.0, -2.4), (90.0, 2.4))
        for end in ((x + left, y), (x, y + down))
    }


def test_northings_read_upwards_left_of_the_neat_line():
    room = Box(x=20.0, y=30.0, width=100.0, height=60.0)
    view = Window(box=room, scale=2500, east_m=612_290.0, north_m=5_214_177.0, convergence_deg=0.0)
    figures = [one for one in grid_ticks(view) if isinstance(one, Text)]
    assert {one.turn_deg for one in figures if one.at[0] < room.x} == {90.0}
    assert {one.turn_deg for one in figures if one.at[1] > room.top} == {0.0}
    assert len(figures) == 3 + 2
