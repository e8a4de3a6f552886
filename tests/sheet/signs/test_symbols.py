"""Signs stand where they are put and point where they should, by arithmetic of the test's own."""

import math

import pytest

from tests.sheet.fixture_sheet import compiled
from traverse.log.items import PlaneKind
from traverse.sheet.map.attitudes import sighting
from traverse.sheet.paper.page import Path
from traverse.sheet.paper.style import PENS
from traverse.sheet.signs.symbols import LINES, SIGNS, offsets, symbol

AT = (40.0, 30.0)
OTHER_KINDS = tuple(one.value for one in PlaneKind if one is not PlaneKind.BED)


def ends(item):
    """First and last point of a path of straight lines."""
    return item.commands[0][1:], item.commands[-1][1:]


def azimuth(start, end):
    """Clockwise from page-up."""
    return math.degrees(math.atan2(end[0] - start[0], end[1] - start[1])) % 360.0


def points(items):
    return [
        pair
        for item in items
        for command in item.commands
        for pair in zip(command[1::2], command[2::2], strict=True)
    ]


@pytest.mark.parametrize("strike", [0, 37, 142, 270, 359])
@pytest.mark.parametrize("name", ["bedding", "overturned", "bedding tops"])
def test_the_bar_lies_along_the_strike_and_the_tick_dips_to_its_right(name, strike):
    """A bed of strike S dips toward S + 90 in the right-hand convention of the records."""
    bar, tick, *_ = symbol(name, AT, turn_deg=strike)
    start, end = ends(bar)
    assert azimuth(start, end) == pytest.approx(strike, abs=1e-6)
    assert math.dist(start, end) == pytest.approx(5.0)
    assert ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2) == pytest.approx(AT)
    foot, tip = ends(tick)
    assert foot == pytest.approx(AT)
    assert math.dist(foot, tip) == pytest.approx(1.5)
    assert azimuth(foot, tip) == pytest.approx((strike + 90) % 360, abs=1e-6)


def test_the_hook_of_an_overturned_bed_is_on_the_side_that_does_not_dip():
    """Strike north dips east; the hook bulges west by 0.94."""
    hook = symbol("overturned", AT, turn_deg=0.0)[2]
    assert min(x for x, _ in points([hook])) == pytest.approx(AT[0] - 0.94)
    assert max(x for x, _ in points([hook])) == pytest.approx(AT[0])


def test_the_dot_of_tops_is_filled_and_down_dip():
    dot = symbol("bedding tops", AT, turn_deg=90.0)[2]
    xs, ys = zip(*points([dot]), strict=True)
    assert dot.fill == "#000000"
    assert (sum(ys) / len(ys)) < AT[1] - 1.0
    assert abs(sum(xs) / len(xs) - AT[0]) < 0.2


@pytest.mark.parametrize("name", ["lineation", "hinge", "current", "photo", "striation"])
def test_a_line_points_along_its_trend(name):
    """The farthest point of an arrow toward 120 is its head."""
    far = max(points(symbol(name, AT, turn_deg=120.0)), key=lambda point: math.dist(point, AT))
    assert azimuth(AT, far) == pytest.approx(120.0, abs=1.0)


def test_upright_signs_do_not_turn():
    for name, sign in SIGNS.items():
        if not sign.turns:
            assert symbol(name, AT, turn_deg=77.0) == symbol(name, AT)


def test_every_line_of_the_legend_has_its_pen_and_every_sign_its_words():
    assert set(LINES) <= set(PENS)
    assert all(sign.words and sign.shapes for sign in SIGNS.values())
    assert len({sign.words for sign in SIGNS.values()}) == len(SIGNS)


def test_no_two_signs_look_alike():
    shapes = {
        name: tuple(shape.commands for shape in sign.shapes if isinstance(shape, Path))
        for name, sign in SIGNS.items()
    }
    fills = {name: tuple(shape.fill for shape in sign.shapes) for name, sign in SIGNS.items()}
    seen = {}
    for name in SIGNS:
        key = (shapes[name], fills[name])
        assert key not in seen, f"{name} is drawn like {seen.get(key)}"
        seen[key] = name


def test_offsets_turn_with_the_sign():
    """Down the dip of a bed that strikes north is east of it; of one that strikes east, south."""
    assert offsets(AT, [(2.9, 0.0)], turn_deg=0.0) == (pytest.approx((AT[0] + 2.9, AT[1])),)
    assert offsets(AT, [(2.9, 0.0)], turn_deg=90.0) == (pytest.approx((AT[0], AT[1] - 2.9)),)


# --- which sign a reading has -------------------------------------------------------------------------------------

HEAD = "bearings true\nattitudes dip-right\nunit Ka Marl ; Cretaceous\nat 1\n  unit Ka\n  "


@pytest.mark.parametrize(
    ("reading", "sign", "figure"),
    [
        ("bed 142/35", "bedding", "35"),
        ("bed 142/35\n  tops 232 graded beds", "bedding tops", "35"),
        ("bed 142/62 overturned", "overturned", "62"),
        ("bed 142/62 overturned\n  tops down graded beds", "overturned tops", "62"),
        ("bed 040/vertical", "vertical", None),
        ("bed 040/vertical\n  tops 130 graded beds", "vertical tops", None),
        ("bed flat", "horizontal", None),
        ("bed flat\n  tops up graded beds", "horizontal tops", None),
        ("bed flat overturned", "horizontal overturned", None),
        ("bed flat overturned\n  tops down graded beds", "horizontal overturned tops", None),
        ("lineation 20->130", "lineation", "20"),
        ("lineation 00->130", "lineation level", None),
        ("hinge 90->000", "hinge vertical", None),
        ("striation rake 20 from NW on 310/75NE", "striation", "19"),
        ("current 130", "current", None),
        ("current 12->130", "current", "12"),
        ("current 130 both", "current level", None),
        *((f"{kind} 150/44", kind, "44") for kind in OTHER_KINDS),
        *((f"{kind} 150/vertical", f"{kind} vertical", None) for kind in OTHER_KINDS),
        *((f"{kind} flat", f"{kind} flat", None) for kind in OTHER_KINDS),
    ],
)
def test_every_kind_of_reading_has_a_sign_of_its_own(reading, sign, figure):
    """Dipping with its dip, flat and vertical without one."""
    found = compiled(HEAD + reading + "\n")
    seen = sighting(found.geology.attitudes[0])
    assert (seen.sign, seen.figure) == (sign, figure)
    assert sign in SIGNS


def test_marks_of_a_vertical_plane_stand_on_both_sides_and_those_of_a_dipping_one_on_one():
    for kind in OTHER_KINDS:
        dipping = [x - AT[0] for x, _ in points(symbol(kind, AT))]
        upright = [x - AT[0] for x, _ in points(symbol(f"{kind} vertical", AT))]
        assert min(dipping) == pytest.approx(0.0, abs=1e-6), kind
        assert max(upright) == pytest.approx(-min(upright)), kind


def test_a_flat_plane_has_a_ring_and_no_direction():
    for kind in OTHER_KINDS:
        assert not SIGNS[f"{kind} flat"].turns
        xs, ys = zip(*points(symbol(f"{kind} flat", AT)), strict=True)
        assert max(xs) - AT[0] == pytest.approx(AT[0] - min(xs))
        assert max(ys) - min(ys) >= 2.6 - 1e-6


SIDED = {"overturned", "horizontal overturned", "crossbed", "lateral", "striation"}
"""Hooked, curved or of one sense: these tell one end from the other, as the trade has them."""


@pytest.mark.parametrize("name", [name for name in SIGNS if not any(word in name for word in SIDED)])
def test_a_sign_tells_no_side_that_its_reading_has_not(name):
    """What dips to one side looks alike along its strike both ways, what points looks alike to its left and right."""
    found = {(round(x, 4) + 0.0, round(y, 4) + 0.0) for x, y in points(symbol(name, (0.0, 0.0)))}
    left_right = {(-x + 0.0, y) for x, y in found} == found
    up_down = {(x, -y + 0.0) for x, y in found} == found
    if name in LEVEL_OR_UPRIGHT:
        assert left_right
        assert up_down
    else:
        assert left_right or up_down


LEVEL_OR_UPRIGHT = {
    "horizontal",
    "strike",
    *(f"{kind} {way}" for kind in OTHER_KINDS for way in ("vertical", "flat")),
    *(f"{kind} {way}" for kind in ("lineation", "hinge") for way in ("level", "vertical")),
    "vertical",
    "queried",
    "covered",
    "current level",
    "station",
    "sample",
    "joint in section",
}  # fmt: skip
"""These tell none at all."""
