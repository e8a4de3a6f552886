"""Every sign as it is to be drawn, in millimetres, and the pages that only show it.

x is down the dip, y along the strike; of a line y is along the trend. Shapes after FGDC-STD-013 or common practice as
`symbols.py` tells of each, sizes our own, set for the copier: written down here by hand, and looked at on the page of
signs.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from traverse.sheet.paper.page import circle
from traverse.sheet.signs.symbols import SIGNS, symbol

BLACK, WHITE, OPEN = "#000000", "#ffffff", None
_60 = math.sqrt(3.0) / 2.0


def line(*points):
    return ("line", frozenset({points, points[::-1]}))


def area(*points, fill=BLACK):
    return (fill, frozenset(points))


def ring(radius, x=0.0, y=0.0, fill=OPEN):
    return (fill, "round", radius, (x, y))


def dot(radius, x=0.0, y=0.0):
    return ring(radius, x, y, fill=BLACK)


def bar(long, x=0.0):
    return line((x, -long / 2.0), (x, long / 2.0))


def across(wide, y=0.0):
    return line((-wide / 2.0, y), (wide / 2.0, y))


def triangle(wide, high, x=0.0, side=1.0, fill=BLACK):
    """On a bar or a ring, pointing away from it."""
    return area((x, wide / 2.0), (x, -wide / 2.0), (x + side * high, 0.0), fill=fill)


def block(wide, high, x=0.0, side=1.0, fill=BLACK):
    return area(*((at, end * wide / 2.0) for at in (x, x + side * high) for end in (-1.0, 1.0)), fill=fill)


def head(tip, long, wide, end=1.0, fill=BLACK):
    return area((0.0, end * tip), *((x, end * (tip - long)) for x in (-wide / 2.0, wide / 2.0)), fill=fill)


def axial_ticks(x=0.0, side=1.0):
    return [line((x, y), (x + side * 1.6, y)) for y in (-0.6, 0.6)]


TICK = line((0.0, 0.0), (1.5, 0.0))
CROSS = [ring(1.3), across(4.0), bar(4.0)]
UPRIGHT = [
    ring(1.3),
    line((-1.3 * math.sqrt(0.5),) * 2, (1.3 * math.sqrt(0.5),) * 2),
    line((-1.3 * math.sqrt(0.5), 1.3 * math.sqrt(0.5)), (1.3 * math.sqrt(0.5), -1.3 * math.sqrt(0.5))),
]
SHAFT, LEVEL = line((0.0, 0.0), (0.0, 6.0)), bar(6.0)


def slip(end):
    """Half arrows beside a fault, 5 long and 0.9 off; the one on the side of x points by `end`."""
    return [
        piece
        for side in (1.0, -1.0)
        for piece in (
            bar(5.0, side * 0.9),
            line((side * 0.9, side * end * 2.5), (side * 1.65, side * end * 1.0)),
        )
    ]


def of_kind(mark, *, clear=0.0):
    """Dipping, vertical, where black marks stand clear of a station's dot, and flat, where they stand out from a ring."""
    return {
        "": [bar(4.4), *mark(0.0, 1.0)],
        " vertical": [bar(4.4), *mark(clear, 1.0), *mark(-clear, -1.0)],
        " flat": [ring(1.3), *mark(1.3, 1.0), *mark(-1.3, -1.0)],
    }


DRAWN = {
    "bedding": [bar(5.0), TICK],
    "bedding tops": [bar(5.0), TICK, dot(0.5, 1.6)],
    "horizontal": CROSS,
    "horizontal tops": [*CROSS, dot(0.5, 0.0, -2.0)],
    "strike": [bar(5.0)],
    "vertical": [bar(5.0), across(3.0)],
    "vertical tops": [bar(5.0), across(3.0), dot(0.5, 1.6)],
    **{
        f"{kind}{way}": shapes
        for kind, found in {
            "foliation": of_kind(lambda x, side: [triangle(2.4, 2.2, x, side)], clear=0.8),
            "cleavage": of_kind(lambda x, side: [triangle(3.0, 1.7, x, side, fill=WHITE)]),
            "joint": of_kind(lambda x, side: [block(2.8, 1.0, x, side)], clear=0.8),
            "vein": of_kind(lambda x, side: [block(2.8, 1.2, x, side, fill=WHITE)]),
            "axial": of_kind(axial_ticks),
        }.items()
        for way, shapes in found.items()
    },
    "dike": [bar(4.4), bar(4.4, 0.9), line((0.0, 0.0), (1.8, 0.0))],
    "dike vertical": [bar(4.4), bar(4.4, 0.9), bar(4.4, -0.9)]
    + [line((0.0, 0.0), (x, 0.0)) for x in (-1.8, 1.8)],
    "dike flat": [ring(1.3), ring(2.2)],
    "contact dip": [line((0.0, 0.0), (1.6, 0.0)), area((2.4, 0.0), (1.4, 0.35), (1.4, -0.35))],
    "fault dip": [line((0.0, 0.0), (2.24, 0.0)), area((3.2, 0.0), (2.0, 0.42), (2.0, -0.42))],
    "fault down": [line((0.0, 0.0), (2.2, 0.0)), dot(0.6, 2.2)],
    "fault thrust": [triangle(2.0, 1.7)],
    "fault reverse": [block(3.0, 1.0)],
    "fault left-lateral": slip(1.0),
    "fault right-lateral": slip(-1.0),
    "queried": [line((0.0, end * 1.3), (0.0, end * 4.3)) for end in (-1.0, 1.0)],
    "axial head": [head(0.0, 2.6, 1.6)],
    "lineation": [SHAFT, head(6.0, 1.6, 1.1)],
    "lineation level": [LEVEL, *(head(3.0, 1.6, 1.1, end) for end in (1.0, -1.0))],
    "lineation vertical": UPRIGHT,
    "striation": [SHAFT, area((0.0, 6.0), (0.0, 4.0), (0.9, 4.0)), across(1.8, 1.4)],
    "striation level": [LEVEL, across(1.8)]
    + [area((0.0, end * 3.0), (0.0, end * 1.0), (0.9, end * 1.0)) for end in (1.0, -1.0)],
    "striation vertical": [*UPRIGHT, across(1.8, 1.9)],
    "hinge": [SHAFT, head(6.0, 2.2, 1.6, fill=WHITE)],
    "hinge level": [LEVEL, *(head(3.0, 2.2, 1.6, end, fill=WHITE) for end in (1.0, -1.0))],
    "hinge vertical": [*UPRIGHT, ring(1.9)],
    "current": [
        SHAFT,
        line((-0.8, 4.8), (0.0, 6.0), (0.8, 4.8)),
        line((0.0, -0.7), (0.0, 0.0)),
        line((-0.6, -1.3), (0.0, -0.7), (0.6, -1.3)),
    ],
    "current level": [LEVEL]
    + [line((-0.8, end * 1.8), (0.0, end * 3.0), (0.8, end * 1.8)) for end in (1.0, -1.0)],
    "control": [
        area((0.0, 1.8), (1.8 * _60, -0.9), (-1.8 * _60, -0.9), fill=WHITE),
        dot(0.32),
    ],
    "station": [dot(0.55)],
    "station square": [area((0.7, 0.7), (0.7, -0.7), (-0.7, 0.7), (-0.7, -0.7))],
    "station triangle": [area((0.0, -1.1), (1.1 * _60, 0.55), (-1.1 * _60, 0.55))],
    "station cross": [line((-0.8, -0.8), (0.8, 0.8)), line((-0.8, 0.8), (0.8, -0.8))],
    "station diamond": [area((0.0, 1.1), (0.75, 0.0), (0.0, -1.1), (-0.75, 0.0))],
    "station hourglass": [area((0.0, 0.0), (0.75, end * 0.9), (-0.75, end * 0.9)) for end in (1.0, -1.0)],
    "station star": [bar(2.0), line((-_60, -0.5), (_60, 0.5)), line((-_60, 0.5), (_60, -0.5))],
    "station half": [
        ring(0.9, fill=WHITE),
        area(*((0.9 * math.cos(turn), 0.9 * math.sin(turn)) for turn in np.radians(22.5 * np.arange(9)))),
    ],
    "side shot": [ring(0.55, fill=WHITE)],
    "landmark": [ring(0.9, fill=WHITE), dot(0.32)],
    "sample": [area((0.0, 1.05), (1.05, 0.0), (0.0, -1.05), (-1.05, 0.0), fill=WHITE)],
    "photo": [dot(0.62), line((0.0, 0.0), (0.0, 3.22)), head(4.2, 1.4, 1.0)],
    "photo no view": [dot(0.62)],
    "hazard": [
        area((0.0, 1.5), (1.45, -1.0), (-1.45, -1.0), fill=WHITE),
        line((0.0, 0.75), (0.0, -0.15)),
        dot(0.19, 0.0, -0.55),
    ],
    "flow": [head(1.1, 2.2, 1.24, fill="#1a619e")],
    "apparent dip": [bar(5.2), bar(5.2), ring(0.5, fill=WHITE)],
    "cleavage in section": [bar(4.8), triangle(1.5, 1.2, fill=WHITE)],
    "foliation in section": [bar(4.8), triangle(1.5, 1.2)],
    "joint in section": [bar(4.8), block(1.0, 0.8, -0.4)],
    **{name: [area((-1.3, -4.3), (-1.3, 4.3), (1.3, 4.3), (1.3, -4.3), fill=fill)] for name, fill in {
        "projected band": "#ececec", "covered": "dots"}.items()},
}  # fmt: skip
CURVED = {"overturned", "overturned tops", "horizontal overturned", "horizontal overturned tops"} | {
    f"crossbed{way}" for way in ("", " vertical", " flat")
}
FIGURES = {
    **dict.fromkeys(("bedding", "overturned", "crossbed"), (2.9, 0.0)),
    **dict.fromkeys(("bedding tops", "overturned tops"), (3.1, 0.0)),
    # 1.4 beyond what stands farthest out, and 1.7 beyond the head of an arrow.
    "foliation": (3.6, 0.0), "cleavage": (3.1, 0.0), "joint": (2.4, 0.0), "vein": (2.6, 0.0), "dike": (3.2, 0.0),
    "axial": (3.0, 0.0), "contact dip": (4.1, 0.0), "fault dip": (4.9, 0.0),
    **dict.fromkeys(("lineation", "striation", "hinge", "current"), (0.0, 7.7)),
    **{f"{name} level": (0.0, 4.7) for name in ("lineation", "striation", "hinge", "current")},
}  # fmt: skip


def rounded(point):
    return tuple(round(value, 4) + 0.0 for value in point)


def told(piece):
    """A piece in figures that can be compared, whichever end it is drawn from."""
    kind, *rest = piece
    if rest[0] == "round":
        return kind, "round", round(rest[1], 4), rounded(rest[2])
    points = rest[0]
    if kind == "line":
        return kind, frozenset(tuple(rounded(one) for one in way) for way in points)
    return kind, frozenset(rounded(one) for one in points)


def seen(path):
    """The same of what is drawn."""
    points = [tuple(command[-2:]) for command in path.commands if len(command) > 2]
    fill = path.fill if path.fill is None or isinstance(path.fill, str) else "dots"
    if any(command[0] == "C" for command in path.commands):
        xs, ys = zip(*points, strict=True)
        middle = ((min(xs) + max(xs)) / 2.0, (min(ys) + max(ys)) / 2.0)
        assert max(xs) - min(xs) == pytest.approx(max(ys) - min(ys))
        return told(ring((max(xs) - min(xs)) / 2.0, *middle, fill=fill))
    return told(line(*points) if fill is None else area(*points, fill=fill))


def spread(pieces):
    found = {}
    for one in pieces:
        found[one] = found.get(one, 0) + 1
    return found


@pytest.mark.parametrize("name", DRAWN)
def test_a_sign_is_drawn_of_these_lines_and_areas(name):
    assert spread(map(seen, symbol(name, (0.0, 0.0)))) == spread(map(told, DRAWN[name]))


def test_every_sign_is_told_here():
    assert DRAWN.keys() | CURVED == SIGNS.keys()
    assert {name: pytest.approx(one.figure) for name, one in SIGNS.items() if one.figure} == FIGURES


def flattened(path, steps=40):
    """Points of a path, its curves by De Casteljau's construction."""
    found = []
    for command in path.commands:
        if command[0] == "C":
            corners = np.array([found[-1], *zip(command[1::2], command[2::2], strict=True)])
            for share in np.linspace(0.0, 1.0, steps + 1)[1:]:
                row = corners
                while len(row) > 1:
                    row = row[:-1] * (1.0 - share) + row[1:] * share
                found.append(tuple(row[0]))
        elif len(command) > 2:
            found.append(command[1:3])
    return np.array(found)


def test_circles_are_round():
    points = flattened(type("", (), {"commands": circle((3.0, -2.0), 1.5)}))
    assert np.hypot(*(points - (3.0, -2.0)).T) == pytest.approx(1.5, abs=1e-3)


@pytest.mark.parametrize(
    ("name", "x", "side"), [("overturned", 0.0, -1.0), ("horizontal overturned", 2.0, 1.0)]
)
def test_the_hook_of_an_overturned_bed_is_half_an_ellipse(name, x, side):
    """0.94 out of the bar, or of the cross of a flat one, and 1.5 along it, from the foot of the tick."""
    for each in (name, f"{name} tops"):
        base = {"overturned": "bedding"}.get(name, "horizontal") + each.removeprefix(name)
        pieces = symbol(each, (0.0, 0.0))
        (hook,) = [one for one in pieces if "".join(step[0] for step in one.commands) == "MCC"]
        assert spread(seen(one) for one in pieces if one is not hook) == spread(map(told, DRAWN[base]))
        points = flattened(hook)
        assert points[[0, -1]].tolist() == pytest.approx(np.array([(x, 0.0), (x, 1.5)]))
        away, along = side * (points[:, 0] - x) / 0.94, (points[:, 1] - 0.75) / 0.75
        assert (away >= -1e-9).all()
        assert np.hypot(away, along) == pytest.approx(1.0, abs=1e-3)


@pytest.mark.parametrize(("way", "feet"), [("", [0.0]), (" vertical", [0.0, 0.0]), (" flat", [1.3, 1.3])])
def test_the_mark_of_a_cross_bed_is_a_fin(way, feet):
    """1.2 along the bar of 4 mm and 1.5 out of it, bulging outwards, closed by its lower side."""
    pieces = symbol(f"crossbed{way}", (0.0, 0.0))
    fins = [one for one in pieces if "".join(step[0] for step in one.commands) == "MCL"]
    rest = [seen(one) for one in pieces if one not in fins]
    assert rest == [told(ring(1.3) if way == " flat" else bar(4.0))]
    for fin, foot, side in zip(fins, feet, (1.0, -1.0), strict=False):
        points = flattened(fin) * (side, 1.0) - (foot, 0.0)
        assert points[[0, -2, -1]].tolist() == pytest.approx(np.array([(0.0, 1.2), (1.5, 0.0), (0.0, 0.0)]))
        assert (np.diff(points[:-1, 0]) > 0.0).all()
        assert (np.diff(points[:-1, 1]) < 0.0).all()
        whole = shapely.Polygon(points)
        assert whole.convex_hull.area == pytest.approx(whole.area, rel=0.01)
        # More than the triangle on it, less than a quarter of an ellipse over it.
        assert 0.9 + 0.2 < whole.area < math.pi / 4.0 * 1.8
    assert len(fins) == len(feet)


@pytest.mark.parametrize("name", [name for name, one in SIGNS.items() if one.turns])
def test_a_sign_reaches_along_its_strike_as_far_as_its_longest_line(name):
    """By this a figure, and what else stands at its end, is kept clear of it."""
    sign = SIGNS[name]
    far = max(abs(flattened(one)[:, 1]).max() for one in sign.shapes)
    wide = {"contact dip", "fault dip", "fault down", "fault thrust", "fault reverse"}
    assert sign.reach == pytest.approx(far), name
    if name in wide:
        out = max(
            flattened(one)[:, 0].max() for one in sign.shapes if one.fill is None or name != "fault down"
        )
        assert sign.tip == pytest.approx(out)


@pytest.mark.parametrize("name", [name for name, one in SIGNS.items() if not one.turns])
def test_an_upright_sign_reaches_no_less_than_it_is_high_and_no_more_than_it_is_wide_all_round(name):
    points = np.vstack([flattened(one) for one in SIGNS[name].shapes])
    round_ring = name.endswith((" flat", " vertical"))
    # Of marks on a ring, and of what tells of tops, the ring and the cross count.
    high = 1.3 if round_ring else 2.0 if name.startswith("horizontal") else np.abs(points[:, 1]).max()
    assert high - 1e-6 <= SIGNS[name].reach <= np.hypot(*points.T).max() + 1e-6
    assert not name.startswith("horizontal") or SIGNS[name].reach == 2.0
    assert not round_ring or SIGNS[name].reach == 1.3
