"""One table of signs, as geometry in millimetres; map, legend, section and the page of signs draw from it.

Which part of the table a sign stands in says its heading on the page of signs, and its place there the order of the
legend.

Shapes after FGDC-STD-013-2006 as far as it could be read; sizes are set for the copier. Where that standard could
not be read (cross-bed, joint, vein, dike, sightings, flat and upright forms), the shape is common practice, no source,
and the legend says what it means. One grammar holds for all planes: the mark of a kind stands on the side that it dips
to, on both sides of the bar where it is vertical, and on both sides of a ring where it is flat.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from enum import Enum
from types import MappingProxyType
from typing import Final, TypeAlias

from traverse.sheet.paper.look import InForce, Sign
from traverse.sheet.paper.page import Command, Item, Path, Pen, Point, circle, polyline
from traverse.sheet.paper.style import BLACK, COVERED, PROJECTED_BAND, SHIPPED_PENS, WATER, WHITE
from traverse.sheet.signs.measures import SHIPPED, Measures

_FIGURE_OFF_MM = 1.4
"""From the end of a tick to the middle of its figure."""
_DOT_MM = 0.8
"""From the middle of the dot of a station to what would hide it."""
_BEYOND_HEAD_MM = 1.7
"""From the head of an arrow to the middle of its figure."""
_KAPPA = 0.5522847498
_SLOPE = math.sqrt(0.5)


class SignHeading(Enum):
    """Headings of the page of signs, in their order."""

    PLANES = "Planes"
    LINES = "Lines"
    CONTACTS = "Contacts and faults, and the same in doubt"
    TRACES = "Traces"
    PLACES = "Places and things"
    GROUND = "Ground"
    SECTION = "Section"


Pens: TypeAlias = "Mapping[str, Pen]"
Part: TypeAlias = "dict[str, Sign | str]"
"""Signs by name; of a line, whose pen has the same name, the words of the legend."""


def _line(*points: Point, pen: Pen) -> Path:
    return Path(commands=polyline(points), pen=pen)


def _area(*points: Point, fill: str | None = BLACK, pen: Pen | None = None) -> Path:
    return Path(commands=polyline(points, close=True), fill=fill, pen=pen)


def _dot(x: float, y: float, radius: float, *, fill: str | None = BLACK, pen: Pen | None = None) -> Path:
    return Path(commands=circle((x, y), radius), fill=fill, pen=pen)


def _head(tip_y: float, *, length: float, width: float, fill: str = BLACK, pen: Pen | None = None) -> Path:
    """Arrowhead pointing along y."""
    corners = (0.0, tip_y), (width / 2, tip_y - length), (-width / 2, tip_y - length)
    return _area(*corners, fill=fill, pen=pen)


def _placed(path: Path, *, x: float = 0.0, y: float = 0.0, side: float = 1.0, end: float = 1.0) -> Path:
    """A shape moved, after being mirrored over the bar (`side` -1) or end for end (`end` -1)."""
    commands: list[Command] = []
    for name, *numbers in path.commands:
        pairs = zip(numbers[::2], numbers[1::2], strict=True)
        commands.append((name, *(n for px, py in pairs for n in (side * px + x, end * py + y))))
    return replace(path, commands=tuple(commands))


def _said(measures: Measures, family: str, *parts: str) -> str:
    sizes = measures[family]
    return ", ".join(f"{part} {sizes[part]:g}" for part in parts or sizes)


def _bedding(measures: Measures, pens: Pens) -> Part:
    m, flat, pen = measures["bedding"], measures["flat"], pens["symbol"]
    tick, hook, upright, dot = m["tick"], m["hook"], m["upright tick"] / 2, m["tops dot"] / 2
    bar = _line((0.0, -m["bar"] / 2), (0.0, m["bar"] / 2), pen=pen)
    down = _line((0.0, 0.0), (tick, 0.0), pen=pen)
    across = _line((-upright, 0.0), (upright, 0.0), pen=pen)
    # Half an ellipse on the up-dip side: the tick runs through the bar and hooks back to it.
    half = tick / 2
    curl = Path(
        commands=(
            ("M", 0.0, 0.0),
            ("C", -hook * _KAPPA, 0.0, -hook, half * (1 - _KAPPA), -hook, half),
            ("C", -hook, half * (1 + _KAPPA), -hook * _KAPPA, tick, 0.0, tick),
        ),
        pen=pen,
    )
    seen, seen_upright = _dot(tick + 0.1, 0.0, dot), _dot(upright + 0.1, 0.0, dot)
    ring, cross = flat["ring"] / 2, flat["cross"] / 2
    level = (
        _dot(0.0, 0.0, ring, fill=None, pen=pen),
        _line((-cross, 0.0), (cross, 0.0), pen=pen),
        _line((0.0, -cross), (0.0, cross), pen=pen),
    )
    # The hook of an overturned bed at the end of an arm: inside the ring a copy would fill it.
    curled = _placed(curl, x=cross, side=-1.0)
    level_seen = _dot(0.0, -cross, dot)

    def plane(words: str, *shapes: Path, parts: tuple[str, ...], tops: bool = False) -> Sign:
        out = tick + _FIGURE_OFF_MM + (0.2 if tops else 0.0)
        said = _said(measures, "bedding", *parts)
        return Sign(words=words, shapes=(bar, *shapes), figure=(out, 0.0), reach=m["bar"] / 2, measures=said)

    def upright_plane(words: str, *shapes: Path, parts: tuple[str, ...]) -> Sign:
        return replace(plane(words, across, *shapes, parts=parts), figure=None)

    def lying(words: str, *shapes: Path, said: str = "") -> Sign:
        said = said or _said(measures, "flat")
        return Sign(words=words, shapes=shapes, reach=cross, turns=False, measures=said)

    tops_said = _said(measures, "bedding", "tops dot")
    return {
        "bedding": plane("bedding, dip", down, parts=("bar", "tick")),
        "bedding tops": plane("bedding, tops seen", down, seen, parts=("bar", "tick", "tops dot"), tops=True),
        "overturned": plane("bedding, overturned", down, curl, parts=("bar", "tick", "hook")),
        "overturned tops": plane(
            "overturned, tops seen", down, curl, seen, parts=("bar", "tick", "hook", "tops dot"), tops=True
        ),
        "horizontal": lying("bedding, flat", *level),
        "horizontal tops": lying("flat, tops seen", *level, level_seen, said=tops_said),
        "horizontal overturned": lying("flat, overturned", *level, curled),
        "horizontal overturned tops": lying(
            "flat, overturned, tops seen", *level, curled, level_seen, said=tops_said
        ),
        "strike": Sign(
            words="strike; dip not read",
            shapes=(bar,),
            reach=m["bar"] / 2,
            measures=_said(measures, "bedding", "bar"),
        ),
        "vertical": upright_plane("bedding, vertical", parts=("bar", "upright tick")),
        "vertical tops": upright_plane(
            "vertical, tops seen", seen_upright, parts=("upright tick", "tops dot")
        ),
    }


def _kinds_of_planes(measures: Measures, pens: Pens) -> Part:
    """Every kind but bedding, with its mark: dipping, vertical and flat."""
    fine, pen = pens["symbol fine"], pens["symbol"]

    def triangle(wide: float, high: float, *, solid: bool) -> Path:
        corners = (0.0, wide / 2), (high, 0.0), (0.0, -wide / 2)
        return _area(*corners) if solid else _area(*corners, fill=WHITE, pen=fine)

    def block(wide: float, high: float, *, solid: bool) -> Path:
        corners = (0.0, wide / 2), (high, wide / 2), (high, -wide / 2), (0.0, -wide / 2)
        return _area(*corners) if solid else _area(*corners, fill=WHITE, pen=fine)

    def sized(family: str) -> tuple[float, float]:
        return measures[family]["wide"], measures[family]["high"]

    wide, high = sized("crossbed")
    fin = Path(
        commands=(
            ("M", 0.0, wide),
            ("C", high * 0.6, wide * 0.83, high * 0.93, wide / 3, high, 0.0),
            ("L", 0.0, 0.0),
        ),
        pen=fine,
    )
    dike, axial = measures["dike"], measures["axial plane"]
    marks: Mapping[str, tuple[str, tuple[Path, ...], float]] = {
        "crossbed": ("cross-bed", (fin,), high),
        "foliation": ("foliation", (triangle(*sized("foliation"), solid=True),), sized("foliation")[1]),
        "cleavage": ("cleavage", (triangle(*sized("cleavage"), solid=False),), sized("cleavage")[1]),
        "joint": ("joint", (block(*sized("joint"), solid=True),), sized("joint")[1]),
        "vein": ("vein", (block(*sized("vein"), solid=False),), sized("vein")[1]),
        "dike": (
            "dike",
            (
                _line((dike["apart"], -dike["bar"] / 2), (dike["apart"], dike["bar"] / 2), pen=pen),
                _line((0.0, 0.0), (dike["tick"], 0.0), pen=pen),
            ),
            dike["tick"],
        ),
        "axial": (
            "axial plane",
            tuple(
                _line((0.0, end * axial["apart"] / 2), (axial["tick"], end * axial["apart"] / 2), pen=pen)
                for end in (1.0, -1.0)
            ),
            axial["tick"],
        ),
    }
    ring = measures["flat"]["ring"] / 2
    found: Part = {}
    for name, (words, mark, out) in marks.items():
        family = "axial plane" if name == "axial" else name
        half, said = measures[family]["bar"] / 2, _said(measures, family)
        bar = _line((0.0, -half), (0.0, half), pen=pen)
        found[name] = Sign(
            words=f"{words}, dip",
            shapes=(bar, *mark),
            figure=(out + _FIGURE_OFF_MM, 0.0),
            reach=half,
            measures=said,
        )
        # A black mark on both sides of the bar would swallow the dot of its station.
        off = _DOT_MM if name in {"foliation", "joint"} else 0.0
        both = tuple(_placed(one, x=side * off, side=side) for side in (1.0, -1.0) for one in mark)
        found[f"{name} vertical"] = Sign(
            words=f"{words}, vertical", shapes=(*both, bar), reach=half, measures=said
        )
        # Beside a ring a second bar makes no sense; a second ring does.
        beside = [_placed(one, x=side * ring, side=side) for side in (1.0, -1.0) for one in mark]
        outer = [_dot(0.0, 0.0, ring + dike["apart"], fill=None, pen=pen)]
        found[f"{name} flat"] = Sign(
            words=f"{words}, flat",
            shapes=(*(outer if name == "dike" else beside), _dot(0.0, 0.0, ring, fill=None, pen=pen)),
            reach=ring,
            turns=False,
            measures=_said(measures, "flat", "ring"),
        )
    return found


def _borders(measures: Measures, pens: Pens) -> Part:
    """Contacts and faults, and what stands on them: x to the side that it tells of, y along the line."""
    fine, pen = pens["symbol fine"], pens["symbol"]

    def arrow(family: str, words: str, stroke: Pen) -> Sign:
        m = measures[family]
        kind = family.split(" ", maxsplit=1)[0]
        tip, foot = m["arrow"], m["arrow"] - m["head"]
        return Sign(
            words=words,
            shapes=(
                _line((0.0, 0.0), (foot + 0.2 * m["head"], 0.0), pen=stroke),
                _area((tip, 0.0), (foot, m["wide"] / 2), (foot, -m["wide"] / 2)),
            ),
            figure=(tip + _BEYOND_HEAD_MM, 0.0),
            reach=m["wide"] / 2,
            tip=tip,
            measures=_said(measures, family),
            shown_on=f"{kind} certain",
        )

    ball, tooth, block, slip = (measures[one] for one in ("fault down", "thrust", "reverse", "strike slip"))
    half, off = slip["arrow"] / 2, slip["off"]
    shaft = _line((off, -half), (off, half), pen=pen)
    barb = _line((off, half), (off + 0.5 * slip["head"], half - slip["head"]), pen=pen)

    def slipping(words: str, end: float) -> Sign:
        """Arrows on both sides of the line; `end` is which way the one on the side of x points."""
        right = [_placed(one, end=end) for one in (shaft, barb)]
        left = [_placed(one, side=-1.0, end=-end) for one in (shaft, barb)]
        out = off + 0.5 * slip["head"]
        return Sign(
            words=words,
            shapes=(*right, *left),
            reach=half,
            tip=out,
            measures=_said(measures, "strike slip"),
            shown_on="fault certain",
        )

    return {
        "contact certain": "contact",
        "contact approximate": "approximate",
        "contact inferred": "inferred",
        "contact concealed": "concealed",
        "contact dip": arrow("contact dip", "contact, dip", fine),
        "fault certain": "fault",
        "fault approximate": "fault, approximate",
        "fault inferred": "fault, inferred",
        "fault concealed": "fault, concealed",
        "fault dip": arrow("fault dip", "fault, dip", pen),
        "fault down": Sign(
            words="fault; ball: side down",
            shapes=(
                _line((0.0, 0.0), (ball["bar"], 0.0), pen=pen),
                _dot(ball["bar"], 0.0, ball["ball"] / 2),
            ),
            reach=ball["ball"] / 2,
            tip=ball["bar"],
            measures=_said(measures, "fault down"),
            shown_on="fault certain",
        ),
        "fault thrust": Sign(
            words="thrust; teeth: upper side",
            shapes=(_area((0.0, tooth["wide"] / 2), (tooth["high"], 0.0), (0.0, -tooth["wide"] / 2)),),
            reach=tooth["wide"] / 2,
            tip=tooth["high"],
            measures=_said(measures, "thrust"),
            shown_on="fault certain",
        ),
        "fault reverse": Sign(
            words="reverse fault; block: side up",
            shapes=(
                _area(
                    (0.0, block["wide"] / 2),
                    (block["high"], block["wide"] / 2),
                    (block["high"], -block["wide"] / 2),
                    (0.0, -block["wide"] / 2),
                ),
            ),
            reach=block["wide"] / 2,
            tip=block["high"],
            measures=_said(measures, "reverse"),
            shown_on="fault certain",
        ),
        "fault left-lateral": slipping("fault, left-lateral", 1.0),
        "fault right-lateral": slipping("fault, right-lateral", -1.0),
        "queried": Sign(
            words="identity or existence doubtful",
            shapes=tuple(
                _line((0.0, side * 1.3), (0.0, side * 4.3), pen=pens["contact certain"])
                for side in (-1.0, 1.0)
            ),
            reach=4.3,
            measures="letter 7.2 pt, 0.75 clear",
        ),
    }


def _arrows(measures: Measures, pens: Pens) -> Part:
    """Lines: an arrow from their place along the trend, two-headed where level, a ring with a cross where upright."""
    fine, pen = pens["symbol fine"], pens["symbol"]
    scratch = measures["striation"]
    scratched = _line((-scratch["bar"] / 2, 0.0), (scratch["bar"] / 2, 0.0), pen=pen)
    ring = measures["flat"]["ring"] / 2
    inner = ring * _SLOPE
    upright = (
        _dot(0.0, 0.0, ring, fill=None, pen=pen),
        _line((-inner, -inner), (inner, inner), pen=pen),
        _line((-inner, inner), (inner, -inner), pen=pen),
    )

    def tip(name: str, at: float) -> tuple[Path, ...]:
        m = measures[name]
        length, wide = m["head"], m["wide"]
        if name == "lineation":
            return (_head(at, length=length, width=wide),)
        if name == "hinge":
            return (_head(at, length=length, width=wide, fill=WHITE, pen=fine),)
        if name == "striation":
            return (_area((0.0, at), (wide, at - length), (0.0, at - length)),)
        return (_line((wide / 2, at - length), (0.0, at), (-wide / 2, at - length), pen=pen),)

    words = {
        "lineation": "lineation",
        "striation": "striation",
        "hinge": "fold hinge",
        "current": "current",
    }
    extra: Mapping[str, tuple[Path, ...]] = {
        # Clear of the dot of a station.
        "striation": (_placed(scratched, y=1.4),),
        "current": (
            _line((0.6, -1.3), (0.0, -0.7), (-0.6, -1.3), pen=fine),
            _line((0.0, -0.7), (0.0, 0.0), pen=pen),
        ),
    }
    level_extra: Mapping[str, tuple[Path, ...]] = {"striation": (scratched,)}
    upright_extra: Mapping[str, tuple[Path, ...]] = {
        "lineation": (),
        "striation": (_placed(scratched, y=ring + 0.6),),
        "hinge": (_dot(0.0, 0.0, ring + 0.6, fill=None, pen=fine),),
    }
    found: Part = {}
    for name, called in words.items():
        long, said = measures[name]["arrow"], _said(measures, name)
        shaft = _line((0.0, 0.0), (0.0, long), pen=pen)
        found[name] = Sign(
            words=f"{called}, {'flow' if name == 'current' else 'plunge'}",
            shapes=(shaft, *tip(name, long), *extra.get(name, ())),
            figure=(0.0, long + _BEYOND_HEAD_MM),
            reach=long,
            measures=said,
        )
        heads = tip(name, long / 2)
        found[f"{name} level"] = Sign(
            words=f"{called}, {'both ways' if name == 'current' else 'level'}",
            shapes=(
                _line((0.0, -long / 2), (0.0, long / 2), pen=pen),
                *heads,
                *(_placed(one, end=-1.0) for one in heads),
                *level_extra.get(name, ()),
            ),
            figure=(0.0, long / 2 + _BEYOND_HEAD_MM),
            reach=long / 2,
            measures=said,
        )
        if name in upright_extra:
            found[f"{name} vertical"] = Sign(
                words=f"{called}, vertical",
                shapes=(*upright, *upright_extra[name]),
                reach=ring,
                turns=False,
                measures=_said(measures, "flat", "ring"),
            )
    return found


PARTY_SIGNS: Final = (
    "station",
    "station square",
    "station triangle",
    "station cross",
    "station diamond",
    "station hourglass",
    "station star",
    "station half",
)
"""Of the stations that parties walked to, party by party; a ninth begins anew, and the letters tell them apart."""


def _places(measures: Measures, pens: Pens) -> Part:
    fine, pen = pens["symbol fine"], pens["symbol"]

    def m(family: str, part: str) -> float:
        return measures[family][part]

    corner = m("control", "triangle")
    high, wide = m("hazard", "high"), m("hazard", "wide")
    top, low = 0.6 * high, -0.4 * high
    square, photo = m("sample", "square"), measures["photo"]
    half, point, arm = (
        m("station square", "side") / 2,
        m("station triangle", "triangle"),
        m("station cross", "arm"),
    )
    tall, slim = m("station diamond", "high") / 2, m("station diamond", "wide") / 2
    deep, waist = m("station hourglass", "high") / 2, m("station hourglass", "wide") / 2
    ray, disc = m("station star", "arm"), m("station half", "dot") / 2
    return {
        "control": Sign(
            words="control",
            shapes=(
                _area(
                    (0.0, corner),
                    (corner * math.sqrt(3.0) / 2, -corner / 2),
                    (-corner * math.sqrt(3.0) / 2, -corner / 2),
                    fill=WHITE,
                    pen=pen,
                ),
                _dot(0.0, 0.0, m("control", "dot") / 2),
            ),
            reach=corner,
            turns=False,
            measures=_said(measures, "control"),
        ),
        "leg": "leg",
        "station": Sign(
            words="station",
            shapes=(_dot(0.0, 0.0, m("station", "dot") / 2),),
            reach=m("station", "dot") / 2,
            turns=False,
            measures=_said(measures, "station"),
            row_of="leg",
        ),
        "station square": Sign(
            words="station of a second party",
            shapes=(_area((-half, -half), (-half, half), (half, half), (half, -half)),),
            reach=half * math.sqrt(2.0),
            turns=False,
            measures=_said(measures, "station square"),
        ),
        "station triangle": Sign(
            words="station of a third party",
            shapes=(
                _area(
                    (0.0, -point),
                    (point * math.sqrt(3.0) / 2, point / 2),
                    (-point * math.sqrt(3.0) / 2, point / 2),
                ),
            ),
            reach=point,
            turns=False,
            measures=_said(measures, "station triangle"),
        ),
        "station cross": Sign(
            words="station of a fourth party",
            shapes=(
                _line((-arm, -arm), (arm, arm), pen=pen),
                _line((-arm, arm), (arm, -arm), pen=pen),
            ),
            reach=arm * math.sqrt(2.0),
            turns=False,
            measures=_said(measures, "station cross"),
        ),
        "station diamond": Sign(
            words="station of a fifth party",
            shapes=(_area((0.0, -tall), (slim, 0.0), (0.0, tall), (-slim, 0.0)),),
            reach=tall,
            turns=False,
            measures=_said(measures, "station diamond"),
        ),
        "station hourglass": Sign(
            words="station of a sixth party",
            shapes=(
                _area((0.0, 0.0), (waist, deep), (-waist, deep)),
                _area((0.0, 0.0), (waist, -deep), (-waist, -deep)),
            ),
            reach=math.hypot(waist, deep),
            turns=False,
            measures=_said(measures, "station hourglass"),
        ),
        "station star": Sign(
            words="station of a seventh party",
            shapes=tuple(
                _line(
                    (-ray * math.sin(turn), -ray * math.cos(turn)),
                    (ray * math.sin(turn), ray * math.cos(turn)),
                    pen=pen,
                )
                for turn in (0.0, math.pi / 3, -math.pi / 3)
            ),
            reach=ray,
            turns=False,
            measures=_said(measures, "station star"),
        ),
        "station half": Sign(
            words="station of an eighth party",
            shapes=(
                _dot(0.0, 0.0, disc, fill=WHITE, pen=fine),
                _area(
                    *(
                        (disc * math.cos(math.pi * step / 8), disc * math.sin(math.pi * step / 8))
                        for step in range(9)
                    )
                ),
            ),
            reach=disc,
            turns=False,
            measures=_said(measures, "station half"),
        ),
        "spur": "side shot",
        "side shot": Sign(
            words="end of a side shot",
            shapes=(_dot(0.0, 0.0, m("side shot", "ring") / 2, fill=WHITE, pen=fine),),
            reach=m("side shot", "ring") / 2,
            turns=False,
            measures=_said(measures, "side shot"),
            row_of="spur",
        ),
        "walk aside": "party left out: it does not fit",
        "open end": "gap of a loop that fails",
        "landmark": Sign(
            words="landmark, sighted",
            shapes=(
                _dot(0.0, 0.0, m("landmark", "ring") / 2, fill=WHITE, pen=fine),
                _dot(0.0, 0.0, m("landmark", "dot") / 2),
            ),
            reach=m("landmark", "ring") / 2,
            turns=False,
            measures=_said(measures, "landmark"),
        ),
        "sample": Sign(
            words="sample",
            shapes=(
                _area((0.0, square), (square, 0.0), (0.0, -square), (-square, 0.0), fill=WHITE, pen=fine),
            ),
            reach=square,
            turns=False,
            measures=f"half diagonal {square:g}",
        ),
        "photo": Sign(
            words="photo, looking so",
            shapes=(
                _dot(0.0, 0.0, photo["dot"] / 2),
                _line((0.0, 0.0), (0.0, photo["arrow"] - 0.7 * photo["head"]), pen=pen),
                _head(photo["arrow"], length=photo["head"], width=photo["head"] / 1.4),
            ),
            reach=photo["arrow"],
            measures=_said(measures, "photo"),
        ),
        "photo no view": Sign(
            words="photo",
            shapes=(_dot(0.0, 0.0, photo["dot"] / 2),),
            reach=photo["dot"] / 2,
            turns=False,
            measures=_said(measures, "photo", "dot"),
        ),
        "hazard": Sign(
            words="hazard (see list)",
            shapes=(
                _area((0.0, top), (wide / 2, low), (-wide / 2, low), fill=WHITE, pen=pen),
                _line((0.0, 0.3 * high), (0.0, -0.06 * high), pen=pen),
                _dot(0.0, -0.22 * high, 0.076 * high),
            ),
            reach=top,
            turns=False,
            measures=_said(measures, "hazard"),
        ),
    }


def _traces(measures: Measures, pens: Pens) -> Part:
    del pens
    m = measures["axial trace"]
    return {
        "axial trace": "axial trace, plunge",
        "axial head": Sign(
            words="plunge of a trace",
            shapes=(_head(0.0, length=m["head"], width=m["wide"]),),
            reach=m["head"],
            measures=_said(measures, "axial trace"),
            row_of="axial trace",
        ),
        "computed trace": "computed, not walked",
        "computed fault trace": "fault, computed",
    }


def _seen(measures: Measures, pens: Pens) -> Part:
    """What tells how far the ground was looked at."""
    del measures
    return {
        "edge of ground seen": "edge of ground seen",
        "covered": Sign(
            words="covered, not seen",
            shapes=(
                Path(
                    commands=polyline([(-1.3, -4.3), (-1.3, 4.3), (1.3, 4.3), (1.3, -4.3)], close=True),
                    pen=pens["edge of ground seen"],
                    fill=COVERED,
                ),
            ),
            reach=4.3,
        ),
    }


def _ground(measures: Measures, pens: Pens) -> Part:
    del pens
    m = measures["stream"]
    return {
        "flow": Sign(
            words="flow",
            shapes=(_head(m["head"] / 2, length=m["head"], width=m["wide"], fill=WATER),),
            reach=m["head"] / 2,
            measures=_said(measures, "stream"),
            row_of="stream",
        ),
        "section line": "line of section",
        "stream": "stream, flow",
        "path": "path",
        "track": "track",
        "road": "road",
        "ridge": "ridge",
        "cliff": "cliff",
        "wall": "wall",
        "fence": "fence",
        "contour": "contour",
        "receiver track": "track of a receiver",
    }


def _over_heights(measures: Measures, pens: Pens) -> Part:
    del measures, pens
    return {
        "projected trace": "projected over heights",
        "projected band": Sign(
            words="its band (1 sd)",
            shapes=(_area((-1.3, -4.3), (-1.3, 4.3), (1.3, 4.3), (1.3, -4.3), fill=PROJECTED_BAND),),
            reach=4.3,
        ),
    }


def _in_section(measures: Measures, pens: Pens) -> Part:
    fine, thin = pens["symbol fine"], pens["plane in section"]
    half, ring = measures["apparent dip"]["bar"] / 2, measures["apparent dip"]["ring"] / 2
    other = measures["other planes in section"]["bar"] / 2
    line = _line((0.0, -other), (0.0, other), pen=thin)
    said = _said(measures, "other planes in section")
    return {
        "apparent dip": Sign(
            words="apparent dip",
            shapes=(
                _line((0.0, -half), (0.0, half), pen=pens["apparent dip casing"]),
                _line((0.0, -half), (0.0, half), pen=pens["apparent dip"]),
                _dot(0.0, 0.0, ring, fill=WHITE, pen=fine),
            ),
            reach=half,
            measures=_said(measures, "apparent dip"),
        ),
        "cleavage in section": Sign(
            words="cleavage, apparent dip",
            shapes=(line, _area((0.0, -0.75), (0.0, 0.75), (1.2, 0.0), fill=WHITE, pen=thin)),
            reach=other,
            measures=said,
        ),
        "foliation in section": Sign(
            words="foliation, apparent dip",
            shapes=(line, _area((0.0, -0.75), (0.0, 0.75), (1.2, 0.0))),
            reach=other,
            measures=said,
        ),
        "joint in section": Sign(
            words="joint, apparent dip",
            shapes=(line, _area((-0.4, -0.5), (-0.4, 0.5), (0.4, 0.5), (0.4, -0.5))),
            reach=other,
            measures=said,
        ),
    }


_PARTS: Final[tuple[tuple[SignHeading, Callable[[Measures, Pens], Part]], ...]] = (
    (SignHeading.CONTACTS, _borders),
    (SignHeading.TRACES, _traces),
    (SignHeading.GROUND, _seen),
    (SignHeading.PLANES, _bedding),
    (SignHeading.PLANES, _kinds_of_planes),
    (SignHeading.LINES, _arrows),
    (SignHeading.PLACES, _places),
    (SignHeading.GROUND, _ground),
    (SignHeading.TRACES, _over_heights),
    (SignHeading.SECTION, _in_section),
)
"""The table in the order of the legend: the geology from contacts to readings, then places and things, the base, and
what only a section shows."""


def signs_with(pens: Pens, measures: Measures) -> dict[str, Sign]:
    """Every sign with these pens and sizes, and with those that ship for whatever they don't name."""
    sizes = {family: {**parts, **measures.get(family, {})} for family, parts in SHIPPED.items()}
    strokes = {**SHIPPED_PENS, **pens}
    return {
        name: one for _, part in _PARTS for name, one in part(sizes, strokes).items() if isinstance(one, Sign)
    }


HEADINGS: Mapping[str, SignHeading] = MappingProxyType(
    {name: heading for heading, part in _PARTS for name in part(SHIPPED, SHIPPED_PENS)}
)
"""Every sign and every line, in the order of the legend, and its heading on the page of signs."""
LINES: Mapping[str, str] = MappingProxyType(
    {
        name: one
        for _, part in _PARTS
        for name, one in part(SHIPPED, SHIPPED_PENS).items()
        if isinstance(one, str)
    }
)
"""Words of the legend for every line, by the name of its pen."""
SECTION_LINES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "contact in section": "contact, near the ground",
        "unconformity in section": "unconformity, near the ground",
        "section depth": "contact at depth",
        "unconformity at depth": "unconformity at depth",
        "section eroded": "eroded, above ground",
        "section unknown": "not known beyond",
        "axial surface": "axial surface",
        "dip changes": "where the dip changes",
    }
)
"""Words of the legend for lines that only a section draws."""
LIKE_ON_MAP: Final[Mapping[str, str]] = MappingProxyType(
    {"contact in section": "contact certain", "section depth": "contact approximate"}
)
"""Lines of a section that look as those of a map do, and have no row of their own where a map has them."""
_SHIPPED_SIGNS = signs_with({}, {})
SIGNS: Mapping[str, Sign] = InForce(_SHIPPED_SIGNS, lambda look: look.signs)
"""Every sign that stands at a place, by name, in the order of the legend, as the look in force has it."""
ON_LINE: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        row: tuple(name for name, sign in _SHIPPED_SIGNS.items() if sign.row_of == row)
        for row in LINES
        if any(sign.row_of == row for sign in _SHIPPED_SIGNS.values())
    }
)
"""Signs that have no row of their own, by the line in whose row they stand: the same in every look."""


def symbol(name: str, at: Point, *, turn_deg: float = 0.0) -> tuple[Item, ...]:
    """The sign of that name at a point, turned clockwise from page-up: by the strike of a plane, the trend of a line.

    >>> bar, tick = symbol("bedding", (0.0, 0.0), turn_deg=90.0)   # strikes east, so it dips south
    >>> [round(value, 2) for value in tick.commands[1][1:]]
    [0.0, -1.5]
    """
    sign = SIGNS[name]
    turn_rad = math.radians(turn_deg if sign.turns else 0.0)
    sin, cos = math.sin(turn_rad), math.cos(turn_rad)
    return tuple(
        # A sheet has thousands of them; `replace` takes twice as long as all the rest.
        Path(
            commands=tuple([_moved(command, at, sin, cos) for command in shape.commands]),
            pen=shape.pen,
            fill=shape.fill,
            unit=shape.unit,
        )
        for shape in sign.shapes
    )


def offsets(at: Point, along: Iterable[Point], *, turn_deg: float) -> tuple[Point, ...]:
    """Where points of a sign's own frame come to lie: x down the dip, y along the strike."""
    turn_rad = math.radians(turn_deg)
    sin, cos = math.sin(turn_rad), math.cos(turn_rad)
    return tuple((at[0] + x * cos + y * sin, at[1] - x * sin + y * cos) for x, y in along)


def _moved(command: Command, at: Point, sin: float, cos: float) -> Command:
    if len(command) == 3:
        _, x, y = command
        return (command[0], at[0] + x * cos + y * sin, at[1] - x * sin + y * cos)
    numbers: list[float] = []
    given = command[1:]
    for x, y in zip(given[::2], given[1::2], strict=True):
        numbers += (at[0] + x * cos + y * sin, at[1] - x * sin + y * cos)
    return (command[0], *numbers)
