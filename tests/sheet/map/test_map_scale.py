"""Scales, bars, grid and norths."""

import dataclasses
from itertools import islice, pairwise

import pytest

from tests.sheet.fixture_sheet import compiled, sheet, texts
from tests.sheet.pages import box, overlaps
from traverse.length import FEET
from traverse.location.records import Frame
from traverse.sheet.map.grid_ticks import grid_lines, grid_ticks, step_m
from traverse.sheet.map.north import north_diagram
from traverse.sheet.paper.page import Box, Path, Text
from traverse.sheet.paper.style import BLACK, WHITE
from traverse.sheet.paper.window import PaceRule, Window, bar, round_scales, scale_strip

BOX = Box(x=14.0, y=89.0, width=192.0, height=107.0)


def plain(text):
    """Without the blanks between thousands and before the letter."""
    return "".join(text.split())


def window(scale=2500, east=612300.0, north=5214180.0):
    return Window(box=BOX, scale=scale, east_m=east, north_m=north, convergence_deg=0.0)


def frame(convergence, declination, note="survey chart, 2026"):
    return Frame(
        epsg=None,
        name="x",
        local=False,
        convergence_deg=convergence,
        declination_deg=declination,
        declination_note=note,
    )


def test_round_scales_fall_and_never_end():
    """The list of common practice, no source, then tens of thousands."""
    metric = list(islice(round_scales(feet=False), 28))
    small = [100, 200, 250, 300, 400, 500, 750, 1000, 1500, 2000, 2500, 3000, 4000, 5000, 6000, 7500]
    large = [10_000, 15_000, 20_000, 25_000, 30_000, 40_000, 50_000, 60_000, 75_000, 100_000, 150_000]
    assert metric == [*small, *large, 200_000]
    assert metric == sorted(set(metric))


def test_feet_parties_get_whole_feet_to_the_inch():
    """1 inch to 100, 200 and 500 feet is 1:1200, 1:2400 and 1:6000, since a foot is 12 inches."""
    scales = list(islice(round_scales(feet=True), 18))
    assert all(scale % 120 == 0 for scale in scales)
    # The edges of an engineer's scale have 10 to 60 parts to the inch.
    assert {10, 20, 30, 40, 50, 60, 100, 200, 300, 400, 500, 600} <= {scale // 12 for scale in scales}
    assert scales == sorted(set(scales))


def test_no_step_between_scales_costs_more_than_half_a_map():
    """A walk that just misses one scale keeps half its length on paper at the next, at least."""
    for feet in (False, True):
        scales = list(islice(round_scales(feet=feet), 40))
        assert all(small <= 2 * large for large, small in pairwise(scales))


@pytest.mark.parametrize(("distance", "feet"), [("105ft", True), ("31m", False)])
def test_a_log_is_in_feet_by_its_tapes(distance, feet):
    log = compiled(f"bearings true\nat 1\nto 2 090 {distance}\nto 3 090 {distance}\n").log
    assert log.lengths.in_feet is feet


def test_a_log_is_in_feet_by_its_calibration():
    log = compiled("bearings true\npace 200 ft in 80, 81\nat 1\nto 2 090 40p\n").log
    assert log.lengths is FEET


def test_a_hundred_metres_are_forty_millimetres_at_1_to_2500():
    x0, y0 = window().at(612300.0, 5214180.0)
    x1, y1 = window().at(612400.0, 5214280.0)
    assert (x0, y0) == (BOX.x, BOX.y)
    assert (x1 - x0, y1 - y0) == pytest.approx((40.0, 40.0))


@pytest.mark.parametrize("scale", [500, 1200, 2400, 2500, 5000, 25_000, 100_000])
@pytest.mark.parametrize("unit", [1.0, 0.3048])
def test_bars_are_true_and_leave_room_for_the_check_line(scale, unit):
    found = bar(scale, unit_m=unit, most_mm=64.0)
    assert found.length_mm == pytest.approx(found.parts * found.each * unit * 1000.0 / scale)
    assert 25.0 < found.length_mm <= 64.0
    assert str(found.each)[0] in "125"


@pytest.mark.parametrize("scale", [500, 1200, 2500, 3000, 7500, 24_000, 100_000])
def test_figures_of_bars_stand_over_the_lengths_they_say(scale):
    """Metres above, feet below, paces beside them; parts are filled in turn and the first figure is 0."""
    rule = PaceRule(words="AR’s double paces", length_m=1.52)
    items = scale_strip(scale, x=14.0, top=89.0, width=262.0, paces=[rule])
    filled = [one for one in items if isinstance(one, Path) and one.fill is not None]
    figures = [one for one in items if isinstance(one, Text) and plain(one.text).isdigit()]
    names = {one.text: one.at for one in items if isinstance(one, Text)}
    bars = {}
    for one in filled:
        corners = [command[1:3] for command in one.commands if len(command) > 2]
        xs, ys = ([corner[axis] for corner in corners] for axis in (0, 1))
        bars.setdefault(round(min(ys), 3), []).append((min(xs), max(xs), one.fill))
    found = []
    for low, parts in bars.items():
        for run in _runs(sorted(parts)):
            left, right = run[0][0], run[-1][1]
            over = sorted(
                (one.at[0], int(plain(one.text)))
                for one in figures
                if abs(one.at[1] - low) < 3.0 and left - 0.1 < one.at[0] < right + 0.1
            )
            assert [at for at, _ in over] == pytest.approx([run[0][0], *(end for _, end, _ in run)])
            assert [fill for *_, fill in run] == [BLACK if i % 2 == 0 else WHITE for i in range(len(run))]
            assert over[0][1] == 0
            (each,) = {round(value / (at - left), 9) for at, value in over[1:]}
            found.append(each * 1000.0 / scale)
    # How many metres, feet and paces a metre on the ground is.
    assert sorted(found) == pytest.approx(sorted([1.0, 1 / 0.3048, 1 / 1.52]), rel=1e-6)
    assert names["m"][1] > names["ft"][1]


def _runs(parts):
    """Parts that follow each other without a gap."""
    runs = [[parts[0]]]
    for one in parts[1:]:
        if one[0] - runs[-1][-1][1] < 1e-6:
            runs[-1].append(one)
        else:
            runs.append([one])
    return runs


def test_the_check_line_is_a_hundred_millimetres():
    items = scale_strip(2500, x=14.0, top=89.0, width=192.0)
    widths = [
        item.commands[1][1] - item.commands[0][1]
        for item in items
        if isinstance(item, Path) and len(item.commands) == 2
    ]
    assert max(widths) == pytest.approx(100.0)
    assert any("check line: 100 mm" in item.text for item in items if isinstance(item, Text))


@pytest.mark.parametrize("scale", [500, 1000, 1200, 2400, 5000, 24_000, 50_000])
def test_grid_lines_stand_forty_millimetres_apart_or_more(scale):
    step = step_m(scale)
    assert 40.0 - 1e-6 <= step * 1000.0 / scale <= 100.0 + 1e-6
    assert str(step)[0] in "125"


def test_ticks_carry_their_own_coordinate():
    """The tick for 400 stands 100 m or 40 mm right of the left edge at 612 300."""
    view = window(east=612290.0)
    easts, _ = grid_lines(view)
    assert easts[0] == 612300
    above = {
        plain(item.text): item.at[0]
        for item in grid_ticks(view)
        if isinstance(item, Text) and not item.turn_deg
    }
    assert above["400"] == pytest.approx(BOX.x + 110.0 * 1000 / 2500)
    assert "612300mE" in above


def test_a_change_of_thousands_is_written_in_full_and_the_unit_once():
    labels = [plain(text) for text in texts(grid_ticks(window(east=612850.0)))]
    assert labels[:3] == ["612900mE", "613000E", "100"]


def test_the_norths_part_to_the_sides_they_are_on():
    """Grid north lies 1.1 degrees east of true, magnetic 4.1 east of true: true to the left, magnetic to the right."""
    items = north_diagram(frame(1.1, 4.1), Box(x=0, y=0, width=41, height=20.5))
    at = {item.text: item.at[0] for item in items if isinstance(item, Text)}
    assert at["T"] < at["G"] < at["M"]
    said = texts(items)
    assert "1.1° W" in said
    assert "3.0° E" in said
    assert "4.1° E" in said


def test_a_west_declination_and_a_negative_convergence_part_the_other_way():
    items = north_diagram(frame(-2.0, -10.0), Box(x=0, y=0, width=41, height=20.5))
    at = {item.text: item.at[0] for item in items if isinstance(item, Text)}
    assert at["M"] < at["G"] < at["T"]
    assert {"2.0° E", "8.0° W", "10.0° W"} <= set(texts(items))


def test_norths_that_are_not_known_are_left_out():
    items = north_diagram(frame(None, None, None), Box(x=0, y=0, width=41, height=20.5))
    assert texts(items) == ["GT", "grid north is true north"]
    with_magnetic = texts(
        north_diagram(dataclasses.replace(frame(None, 5.0)), Box(x=0, y=0, width=41, height=20.5))
    )
    assert "M" in with_magnetic
    assert "5.0° E" in with_magnetic


@pytest.mark.parametrize("declination", [21.0, -12.0, 4.1])
@pytest.mark.parametrize(
    "note", ["2026, map margin, not set on the dial", "World Magnetic Model 2025, ± 0.4°, for 14 July 2026"]
)
def test_all_of_the_source_of_a_declination_stands_in_the_diagram_and_on_nothing(note, declination):
    """It used to be cut after a few words."""
    room = Box(x=50.0, y=60.0, width=41.0, height=20.5)
    items = [one for one in north_diagram(frame(1.1, declination, note), room) if isinstance(one, Text)]
    assert note in " ".join(one.text for one in items)
    assert overlaps(items) == []
    for one in items:
        left, low, right, top = box(one)
        assert room.x - 2.0 <= left < right <= room.right + 1e-6
        assert room.y <= low < top <= room.top


FAR_MAST = """bearings true
at 1
sight Mast {}
to 2 090 80m level
to 3 180 60m level
sight Mast {}
close 1 307 100m level
sheet paper A4 landscape
"""


@pytest.mark.parametrize(("sights", "shown"), [(("106", "040"), True), (("080", "068"), False)])
def test_a_landmark_stands_on_the_map_or_is_told_under_it_and_costs_no_scale(sights, shown):
    """A mast 25 m beside a loop of 80 by 60 m, and one 300 m off."""
    text = FAR_MAST.format(*sights)
    without = "\n".join(line for line in text.splitlines() if "Mast" not in line) + "\n"
    first, bare = (texts(sheet(compiled(one))[0].pages[0].items) for one in (text, without))
    assert [one for one in first if one.startswith("1:")] == [one for one in bare if one.startswith("1:")]
    assert ("Mast" in first) is shown
    assert any(one.startswith("Seen, not on this map: Mast: ") for one in first) is not shown
