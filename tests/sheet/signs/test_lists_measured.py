"""Where samples, words and measures of signs stand on the page of signs and in the legend; which patterns units get."""

from __future__ import annotations

from itertools import combinations, pairwise

import numpy as np
import pytest

from tests.sheet.pages import box
from traverse.log.records import RockUnit
from traverse.sheet.paper.page import Box, Path, Text, Tile
from traverse.sheet.paper.style import PENS
from traverse.sheet.signs.pattern import NUMBERS, PATTERNS, rock_patterns, unit_patterns
from traverse.sheet.signs.sign_list import SAMPLE_MM, Entry, in_columns, sample
from traverse.sheet.signs.signs_page import _entry, _row, sections, signs_pages
from traverse.sheet.signs.symbols import LINES, ON_LINE, SIGNS, symbol
from traverse.source import Span

ALL = [name for _, names in sections() for name in names]


def corners(item):
    return np.array([
        pair for command in item.commands for pair in zip(command[1::2], command[2::2], strict=True)
    ])  # fmt: skip


def drawn_of(items):
    return np.vstack([corners(one) for one in items if isinstance(one, Path)])


@pytest.mark.parametrize("wide", [58.0, 85.0])
def test_a_row_of_the_page_of_signs_holds_what_stands_in_it(wide):
    """Sample left of its words, the measures beside them to the right edge or below; and air over and under all."""
    for name in ALL:
        _holds_all(_row(_entry(name), wide), wide)


def _holds_all(row, wide):
    sampled = drawn_of(row.items)
    texts = [one for one in row.items if isinstance(one, Text) and one.text not in {"?", "35"}]
    words = [box(one) for one in texts]
    up, down = sampled[:, 1].max(), sampled[:, 1].min()
    assert row.height >= 3.6
    assert up <= -0.2
    assert down >= -row.height + 0.2
    for left, low, right, top in words:
        assert left > sampled[:, 0].max() - 0.2
        assert right <= wide + 0.05
        assert -row.height <= low < top <= 0.0
    first = texts[0]
    # The base of the words lies 0.85 under the middle of the sample.
    middle = first.at[1] + 0.85
    assert down - 0.05 <= middle <= up + 0.05
    # As much air above as below, where nothing needs more.
    assert all(
        abs(one.at[1] - other.at[1]) > 2.0 or one.at[0] != other.at[0]
        for one, other in combinations(texts, 2)
    )


def test_rows_that_need_no_more_are_all_as_high_with_as_much_air_above_as_below():
    """4.6 mm; what is drawn, with its words from 1.1 over to 1.5 under its middle, stands half-way."""
    heights = []
    for name in ALL:
        row = _row(_entry(name), 85.0)
        (first, *more) = [one for one in row.items if isinstance(one, Text) and one.text not in {"?", "35"}]
        if any(abs(one.at[1] - first.at[1]) > 1.0 for one in more):
            continue
        middle = first.at[1] + 0.85
        drawn = drawn_of(row.items)[:, 1]
        up, down = max(1.1, drawn.max() - middle), max(1.5, middle - drawn.min())
        over, under = -middle - up, row.height + middle - down
        assert over == pytest.approx(under, abs=1e-6), name
        if up + down < 4.0:
            heights.append(row.height)
    assert len(heights) > 10
    assert heights == pytest.approx([4.6] * len(heights))


@pytest.mark.parametrize("name", NUMBERS)
def test_a_rock_is_shown_in_a_box_about_the_middle_of_its_row(name):
    """As long as a sample, 3.4 high, in its pattern, with the pen of the boxes of units round it."""
    row = _row(_entry(name), 85.0)
    filled, ruled = (one for one in row.items if isinstance(one, Path))
    (words, *_) = (one for one in row.items if isinstance(one, Text))
    for one in (filled, ruled):
        at = corners(one)
        assert np.ptp(at[:, 0]) == pytest.approx(SAMPLE_MM)
        assert np.ptp(at[:, 1]) == pytest.approx(3.4)
        assert (at[:, 1].min() + at[:, 1].max()) / 2.0 == pytest.approx(words.at[1] + 0.85)
    assert isinstance(filled.fill, Tile)
    assert filled.fill.name == name
    assert ruled.pen == PENS["unit box"]


@pytest.mark.parametrize("name", [name for name in LINES if name.startswith(("contact ", "fault "))])
def test_a_line_in_doubt_breaks_for_its_letter_with_the_same_gap_on_both_sides(name):
    row = _row(_entry(name), 85.0)
    (letter,) = (one for one in row.items if isinstance(one, Text) and one.text == "?")
    lines = [
        corners(one)
        for one in row.items
        if isinstance(one, Path) and one.fill is None and one.pen == PENS[name]
    ]
    left, right = (one for one in lines if one[:, 0].max() > SAMPLE_MM + 1.0)
    gap = (left[:, 0].max(), right[:, 0].min())
    if gap[0] > gap[1]:
        left, right = right, left
    starts = [min(one[:, 0], key=lambda x: abs(x - letter.at[0])) for one in (left, right)]
    assert [start - letter.at[0] for start in starts] == pytest.approx([-1.25, 1.25])
    ends = [max(one[:, 0], key=lambda x: abs(x - letter.at[0])) for one in (left, right)]
    assert ends[1] - ends[0] == pytest.approx(SAMPLE_MM)
    assert letter.at[1] + 0.85 == pytest.approx(left[0, 1])


@pytest.mark.parametrize(("width", "height"), [(210.0, 297.0), (297.0, 210.0), (148.0, 210.0)])
def test_every_heading_stands_over_its_own_signs_and_none_at_the_foot_of_a_column(width, height):
    frame = Box(x=10.0, y=15.0, width=width - 20.0, height=height - 25.0)
    headings = [heading for heading, _ in sections()]
    seen = []
    for page in signs_pages(width=width, height=height, frame=frame):
        texts = [one for one in page.items if isinstance(one, Text)]
        for one in texts:
            first = one.text.removesuffix(", continued")
            if (
                any(first and heading.startswith(first) for heading in headings)
                and one.face.name == "SEMIBOLD"
            ):
                below = [
                    other.at[1] for other in texts
                    if 0.0 < one.at[1] - other.at[1] < 22.0 and abs(other.at[0] - one.at[0]) < 40.0
                ]  # fmt: skip
                # No heading with one row alone, where it has more.
                assert len({round(y, 1) for y in below}) >= min(
                    3, len(dict(sections())[next(h for h in headings if h.startswith(first))])
                ), one.text
                seen.append(one.text)
    assert [
        next(heading for heading in headings if heading.startswith(one))
        for one in seen
        if "continued" not in one
    ][:1]
    assert {heading for heading in headings if any(heading.startswith(one) for one in seen)} == set(headings)


# --- the legend -------------------------------------------------------------------------------------------------


def rows_of(count, words="sign", tall=0.0):
    def draw(left, y):
        return [Path(commands=(("M", left, y - tall), ("L", left + 2.0, y + tall)), pen=PENS["tick"])]

    return [Entry(draw=draw, words=f"{words} {number}") for number in range(count)]


@pytest.mark.parametrize("count", [2, 5, 9, 14])
def test_short_rows_stand_in_two_columns_at_one_pitch_the_first_the_longer(count):
    made = in_columns(rows_of(count), width=76.0, pitch=4.0)
    texts = [one for one in made.items if isinstance(one, Text)]
    lefts = sorted({round(one.at[0], 3) for one in texts})
    columns = [[one for one in texts if round(one.at[0], 3) == left] for left in lefts]
    assert [len(one) for one in columns] == [-(-count // 2), count // 2]
    # The second begins at 0.53 of the width.
    assert lefts[1] - lefts[0] == pytest.approx(0.53 * 76.0)
    for column in columns:
        assert column[0].at[1] == pytest.approx(-0.85)
        assert [one.at[1] - other.at[1] for one, other in pairwise(column)] == pytest.approx(
            [4.0] * (len(column) - 1)
        )
    assert [int(one.text.split()[1]) for column in columns for one in column] == list(range(count))
    # To half a pitch under the last row, or the foot of its words.
    assert made.height == pytest.approx((len(columns[0]) - 1) * 4.0 + 2.0)


def test_tall_signs_are_kept_half_a_millimetre_apart_and_clear_of_the_heading():
    made = in_columns(rows_of(4, tall=3.0), width=76.0, pitch=4.0)
    paths = [corners(one) for one in made.items if isinstance(one, Path)]
    assert max(one[:, 1].max() for one in paths) == pytest.approx(2.0)
    first, second = paths[:2]
    assert first[:, 1].min() - second[:, 1].max() == pytest.approx(0.5)
    assert made.height == pytest.approx(-min(one[:, 1].min() for one in paths))


def test_words_too_long_for_a_column_go_on_below_and_one_too_wide_for_half_takes_the_whole_width():
    long = in_columns(
        rows_of(3, words="a plane of which the dip was not read on the outcrop"), width=60.0, pitch=4.0
    )
    assert len({round(one.at[0], 2) for one in long.items if isinstance(one, Text)}) == 2
    whole = in_columns(rows_of(3, words="interestratificationswithoutend" * 2), width=60.0, pitch=4.0)
    texts = [one for one in whole.items if isinstance(one, Text)]
    assert len({round(one.at[0], 2) for one in texts}) == 1


@pytest.mark.parametrize(
    "name", [name for name, one in SIGNS.items() if one.figure and one.figure[1] == 0.0 and not one.shown_on]
)
def test_the_figure_of_a_dip_in_the_legend_stands_off_the_end_of_its_bar(name):
    """Struck east: the bar begins at the left edge, and the figure clears its end."""
    items = sample(name, 10.0, 50.0)
    (figure,) = (one for one in items if isinstance(one, Text))
    drawn = drawn_of(items)
    left, low, right, top = box(figure)
    bar = next(corners(one) for one in items if isinstance(one, Path))
    assert drawn[:, 0].min() == pytest.approx(10.0)
    assert 0.0 < left - bar[:, 0].max() < 1.5
    assert -1.3 < (low + top) / 2.0 - bar[0, 1] < 0.3
    assert figure.text == "35"
    assert right < 10.0 + 11.0


# --- patterns of units ------------------------------------------------------------------------------------------


def units(*names):
    return [
        RockUnit(
            letters=f"U{number}", name=name, age=None, colour=None, span=Span("day.trav", number + 1, 1, 5)
        )
        for number, name in enumerate(names)
    ]


ROCKS = [
    "Marl", "Gravel", "Dolomite", "Chalk", "Limestone", "Sandstone", "Siltstone", "Shale", "Coal", "Gypsum", "Quartzite",
    "Slate", "Schist", "Basalt", "Granite",
]  # fmt: skip


def base(name):
    return name.removesuffix(", bold")


def test_each_rock_alone_has_the_pattern_of_its_name():
    for rock, pattern in zip(ROCKS, NUMBERS, strict=True):
        (unit,) = units(rock)
        assert unit_patterns([unit], {})["U0"].name == rock_patterns([unit], {})["U0"].name == pattern
        # What is said of the rock counts where the name says none.
        (unnamed,) = units("Upper Member")
        assert unit_patterns([unnamed], {"U0": rock.lower()})["U0"].name == pattern


@pytest.mark.parametrize("shift", range(0, 15, 4))
@pytest.mark.parametrize("count", [3, 8, 15])
def test_neighbours_differ_in_two_of_the_three_that_tell_a_pattern_and_each_has_its_own_rock(shift, count):
    column = units(*(ROCKS * 2)[shift : shift + count])
    meeting = [(column[0].letters, column[-1].letters)]
    found = {letters: tile.name for letters, tile in unit_patterns(column, {}, meeting).items()}
    assert len(set(found.values())) == count
    pairs = [*meeting, *((one.letters, other.letters) for one, other in pairwise(column))]
    for one, other in pairs:
        assert PATTERNS[found[one]].told_from(PATTERNS[found[other]]) >= 2
    own = dict(zip(ROCKS, NUMBERS, strict=True))
    like = {"gravel": {"gravel", "conglomerate"}, "sand": {"sand", "bedded sand", "loose sand"},
            "shale": {"shale", "wide rules"}, "limestone": {"limestone", "sandy limestone"}}  # fmt: skip
    for unit in column:
        pattern = own[unit.name]
        assert base(found[unit.letters]) in like.get(pattern, {pattern})


def test_units_of_one_rock_side_by_side_have_patterns_of_it_that_differ_and_many_come_again_never_side_by_side():
    pair = {tile.name for tile in unit_patterns(units("Limestone", "Limestone"), {}).values()}
    assert len(pair) == 2
    assert {base(one) for one in pair} <= {"limestone", "sandy limestone"}
    many = units(*["Limestone", "Shale", "Member"] * 25)
    found = unit_patterns(many, {})
    names = [found[one.letters].name for one in many]
    assert all(one != other for one, other in pairwise(names))
    assert len(set(names)) == len(PATTERNS)


def test_a_unit_of_no_rock_that_is_known_stands_for_none():
    found = unit_patterns(units("Upper Member", "Lower Member", "Marl"), {})
    assert not {base(found[one].name) for one in ("U0", "U1")} & set(NUMBERS)
    assert found["U2"].name == "marl"


# --- samples ----------------------------------------------------------------------------------------------------


LEFT, Y = 20.0, 50.0
RIGHT, MIDDLE = LEFT + SAMPLE_MM, LEFT + SAMPLE_MM / 2.0


def whole_dashes(pen):
    """As many dashes as end within half a millimetre of 8.6 mm, where those are most of it."""
    ends, at = [], 0.0
    while at <= SAMPLE_MM + 0.5:
        for index, long in enumerate(pen.dash_mm):
            at += long
            if index % 2 == 0 and at <= SAMPLE_MM + 0.5:
                ends.append(at)
    return ends[-1] if ends[-1] > 0.7 * SAMPLE_MM else SAMPLE_MM


def ends_of_line(items, pen):
    """Of the first level line of a pen."""
    line = next(one for one in items if isinstance(one, Path) and one.pen == pen and one.fill is None)
    at = corners(line)
    return at[:, 0].min(), at[:, 0].max(), at[:, 1].min(), at[:, 1].max()


@pytest.mark.parametrize("name", LINES)
def test_a_line_is_shown_from_the_left_edge_ending_with_a_whole_dash(name):
    """All of 8.6 mm where a sign stands on it."""
    alone = sample(name, LEFT, Y, ())
    pen = PENS[name]
    left, right, low, high = ends_of_line(alone, pen)
    assert (left, low, high) == pytest.approx((LEFT, Y, Y))
    assert right - left == pytest.approx(whole_dashes(pen) if pen.dash_mm else SAMPLE_MM)
    on_it = ON_LINE.get(name, ())
    if on_it:
        left, right, *_ = ends_of_line(sample(name, LEFT, Y), pen)
        assert (left, right) == pytest.approx((LEFT, RIGHT))


@pytest.mark.parametrize(("name", "sign", "at"), [
    ("leg", "station", (LEFT + 0.55, RIGHT - 0.55)), ("spur", "side shot", (RIGHT - 0.55,)),
    ("axial trace", "axial head", (RIGHT,)), ("stream", "flow", (MIDDLE + 0.6,)),
])  # fmt: skip
def test_what_stands_on_a_line_is_shown_at_its_far_end_stations_at_both_and_flow_in_the_midst(name, sign, at):
    expected = [one.commands for x in at for one in symbol(sign, (x, Y), turn_deg=90.0)]
    found = [one.commands for one in sample(name, LEFT, Y, (sign,))[1:]]
    assert len(found) == len(expected)
    for mine, its in zip(found, expected, strict=True):
        assert [part for step in mine for part in step[1:]] == pytest.approx(
            [part for step in its for part in step[1:]]
        )


@pytest.mark.parametrize("name", SIGNS)
def test_a_sign_is_shown_about_the_middle_of_its_sample_turned_to_the_east(name):
    """Of a plane its bar from the left edge, a little higher; of a section turned half up; of an arrow half its length on."""
    sign = SIGNS[name]
    items = [one for one in sample(name, LEFT, Y) if isinstance(one, Path)]
    turn, at = 90.0, (MIDDLE, Y)
    if sign.shown_on is not None:
        left, right, low, _ = ends_of_line(items[:1], PENS[sign.shown_on])
        lifted = sign.tip > 0.0 and "lateral" not in name
        assert (left, right, low) == pytest.approx((LEFT, RIGHT, Y + (0.6 if lifted else 0.0)))
        items, at = items[1:], (MIDDLE, low)
    elif name.endswith("in section") or name == "apparent dip":
        turn = 60.0
    elif sign.figure is not None and sign.figure[1] == 0.0:
        at = (LEFT + sign.reach, Y + 0.4)
    elif sign.figure is not None and not name.endswith(" level"):
        at = (MIDDLE - sign.reach / 2.0, Y)
    expected = symbol(name, at, turn_deg=turn)
    assert len(items) == len(expected)
    for mine, its in zip(items, expected, strict=True):
        assert corners(mine) == pytest.approx(corners(its))
