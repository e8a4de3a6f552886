"""One table of signs, as geometry in millimetres; map, legend and section draw from it.

Shapes after FGDC-STD-013-2006 as far as it could be read; sizes are set for the copier. Where that standard could
not be read (cross-bed, joint, vein, dike, sightings), the shape is common practice, no source, and the legend says
what it means.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from traverse.record import record
from traverse.sheet.page import Command, Item, Path, Pen, Point, circle, polyline
from traverse.sheet.style import BLACK, COVERED, PENS, WATER, WHITE

_BAR = PENS["symbol"]
_FINE = PENS["symbol fine"]


@record(frozen=True, slots=True, kw_only=True)
class Sign:
    """A sign in its own frame: x down the dip, y along the strike; of a line, y along the trend."""

    words: str
    """For the legend."""
    shapes: tuple[Path, ...]
    figure: Point | None = None
    """Centre of the figure of dip or plunge, in the frame of the sign."""
    reach: float = 2.5
    """Half of its length along y: where a figure clears its end."""
    turns: bool = True
    """Whether it is turned to an azimuth, in the legend to the east; upright signs stay."""


def _line(*points: Point, pen: Pen = _BAR) -> Path:
    return Path(commands=polyline(points), pen=pen)


def _area(*points: Point, fill: str | None = BLACK, pen: Pen | None = None) -> Path:
    return Path(commands=polyline(points, close=True), fill=fill, pen=pen)


def _dot(x: float, y: float, radius: float, *, fill: str | None = BLACK, pen: Pen | None = None) -> Path:
    return Path(commands=circle((x, y), radius), fill=fill, pen=pen)


def _head(tip_y: float, *, length: float, width: float, fill: str = BLACK) -> Path:
    """Arrowhead pointing along y."""
    return _area((0.0, tip_y), (width / 2, tip_y - length), (-width / 2, tip_y - length), fill=fill)


def _half_head(tip_y: float, *, length: float, width: float) -> Path:
    return _area((0.0, tip_y), (width / 2, tip_y - length), (0.0, tip_y - length))


_BED_BAR = _line((0.0, -2.5), (0.0, 2.5))
_BED_TICK = _line((0.0, 0.0), (1.5, 0.0))
_TOPS_DOT = _dot(1.6, 0.0, 0.5)
_K = 0.5522847498
_HOOK = Path(
    commands=(
        ("M", 0.0, 0.0),
        ("C", -0.94 * _K, 0.0, -0.94, 0.75 * (1 - _K), -0.94, 0.75),
        ("C", -0.94, 0.75 * (1 + _K), -0.94 * _K, 1.5, 0.0, 1.5),
    ),
    pen=_BAR,
)
"""Half an ellipse on the up-dip side: the tick runs through the bar and hooks back to it."""


def _plane(words: str, *shapes: Path, figure: float = 2.9, bar: float = 2.0) -> Sign:
    return Sign(
        words=words, shapes=(_line((0.0, -bar), (0.0, bar)), *shapes), figure=(figure, 0.0), reach=bar
    )


def _shaft(words: str, *shapes: Path, length: float = 6.0) -> Sign:
    """An arrow that starts at its place."""
    return Sign(
        words=words,
        shapes=(_line((0.0, 0.0), (0.0, length)), *shapes),
        figure=(0.0, length + 1.7),
        reach=length,
    )


_TRIANGLE = (0.0, 1.5), (1.299, -0.75), (-1.299, -0.75)
"""Corners of an upright triangle, 1.5 from its middle."""

SIGNS: Mapping[str, Sign] = MappingProxyType(
    {
        # planes
        "bedding": Sign(words="bedding, dip", shapes=(_BED_BAR, _BED_TICK), figure=(2.9, 0.0)),
        "bedding tops": Sign(
            words="bedding, tops seen", shapes=(_BED_BAR, _BED_TICK, _TOPS_DOT), figure=(3.1, 0.0)
        ),
        "overturned": Sign(
            words="bedding, overturned", shapes=(_BED_BAR, _BED_TICK, _HOOK), figure=(2.9, 0.0)
        ),
        "overturned tops": Sign(
            words="overturned, tops seen", shapes=(_BED_BAR, _BED_TICK, _HOOK, _TOPS_DOT), figure=(3.1, 0.0)
        ),
        "horizontal": Sign(
            words="flat",
            shapes=(
                _dot(0.0, 0.0, 1.3, fill=None, pen=_BAR),
                _line((-2.0, 0.0), (2.0, 0.0)),
                _line((0.0, -2.0), (0.0, 2.0)),
            ),
            reach=2.0,
            turns=False,
        ),
        "vertical": Sign(words="bedding, vertical", shapes=(_BED_BAR, _line((-1.2, 0.0), (1.2, 0.0)))),
        "vertical tops": Sign(
            words="vertical, tops seen",
            shapes=(_BED_BAR, _line((-1.2, 0.0), (1.2, 0.0)), _dot(1.3, 0.0, 0.5)),
        ),
        "crossbed": _plane(
            "cross-bed, dip",
            Path(commands=(("M", 0.0, 1.2), ("C", 0.9, 1.0, 1.4, 0.4, 1.5, 0.0), ("L", 0.0, 0.0)), pen=_FINE),
        ),
        "foliation": _plane("foliation, dip", _area((0.0, 0.75), (1.35, 0.0), (0.0, -0.75))),
        "foliation vertical": _plane(
            "foliation, vertical",
            _area((0.0, 0.75), (1.35, 0.0), (0.0, -0.75)),
            _area((0.0, 0.75), (-1.35, 0.0), (0.0, -0.75)),
        ),
        "cleavage": _plane(
            "cleavage, dip", _area((0.0, 0.75), (1.35, 0.0), (0.0, -0.75), fill=None, pen=_FINE)
        ),
        "cleavage vertical": _plane(
            "cleavage, vertical",
            _area((0.0, 0.75), (1.35, 0.0), (0.0, -0.75), fill=None, pen=_FINE),
            _area((0.0, 0.75), (-1.35, 0.0), (0.0, -0.75), fill=None, pen=_FINE),
        ),
        "joint": _plane("joint, dip", _area((0.0, 0.5), (1.0, 0.5), (1.0, -0.5), (0.0, -0.5))),
        "joint vertical": _plane(
            "joint, vertical", _area((-0.6, 0.5), (0.6, 0.5), (0.6, -0.5), (-0.6, -0.5))
        ),
        "vein": _plane(
            "vein, dip",
            _area((0.0, 0.5), (1.0, 0.5), (1.0, -0.5), (0.0, -0.5), fill=None, pen=_FINE),
        ),
        "vein vertical": _plane(
            "vein, vertical",
            _area((-0.6, 0.5), (0.6, 0.5), (0.6, -0.5), (-0.6, -0.5), fill=None, pen=_FINE),
        ),
        "dike": _plane(
            "dike, dip", _line((0.6, -2.0), (0.6, 2.0)), _line((0.0, 0.0), (1.5, 0.0)), figure=2.9
        ),
        "dike vertical": _plane(
            "dike, vertical", _line((0.6, -2.0), (0.6, 2.0)), _line((-0.9, 0.0), (1.5, 0.0))
        ),
        "axial": _plane(
            "axial plane, dip",
            _line((0.0, 0.5), (1.5, 0.5), pen=_FINE),
            _line((0.0, -0.5), (1.5, -0.5), pen=_FINE),
        ),
        "axial vertical": _plane(
            "axial plane, vertical",
            _line((-1.2, 0.5), (1.2, 0.5), pen=_FINE),
            _line((-1.2, -0.5), (1.2, -0.5), pen=_FINE),
        ),
        "contact dip": Sign(
            words="contact, dip",
            shapes=(_line((0.0, 0.0), (2.4, 0.0), pen=_FINE), _area((2.4, 0.0), (1.4, 0.35), (1.4, -0.35))),
            figure=(4.0, 0.0),
            reach=0.5,
        ),
        "fault dip": Sign(
            words="fault, dip",
            shapes=(_line((0.0, 0.0), (2.4, 0.0)), _area((3.2, 0.0), (2.0, 0.42), (2.0, -0.42))),
            figure=(4.9, 0.0),
            reach=0.6,
        ),
        "fault down": Sign(
            words="fault; ball: side down",
            shapes=(_line((0.0, 0.0), (2.2, 0.0)), _dot(2.2, 0.0, 0.6)),
            reach=0.6,
        ),
        # lines
        "lineation": _shaft("lineation, plunge", _head(6.0, length=1.4, width=1.0)),
        "striation": _shaft(
            "striation, plunge", _half_head(6.0, length=1.8, width=1.4), _line((-0.7, 0.0), (0.7, 0.0))
        ),
        "hinge": _shaft("fold hinge, plunge", _head(6.0, length=2.0, width=1.4)),
        "current": _shaft(
            "current, flow",
            _line((0.6, 4.9), (0.0, 6.0), (-0.6, 4.9)),
            _line((0.6, -0.7), (0.0, 0.0), (-0.6, -0.7), pen=_FINE),
        ),
        "line both ways": Sign(
            words="line, sense unknown",
            shapes=(
                _line((0.0, -3.0), (0.0, 3.0)),
                _line((0.5, 2.1), (0.0, 3.0), (-0.5, 2.1), pen=_FINE),
                _line((0.5, -2.1), (0.0, -3.0), (-0.5, -2.1), pen=_FINE),
            ),
            figure=(0.0, 4.7),
            reach=3.0,
        ),
        # places and things
        "control": Sign(
            words="control",
            shapes=(_area(*_TRIANGLE, fill=WHITE, pen=_FINE), _dot(0.0, 0.0, 0.32)),
            reach=1.5,
            turns=False,
        ),
        "station": Sign(words="station", shapes=(_dot(0.0, 0.0, 0.55),), reach=0.55, turns=False),
        "side shot": Sign(
            words="side shot",
            shapes=(_dot(0.0, 0.0, 0.55, fill=WHITE, pen=_FINE),),
            reach=0.55,
            turns=False,
        ),
        "landmark": Sign(
            words="landmark, sighted",
            shapes=(_dot(0.0, 0.0, 0.9, fill=WHITE, pen=_FINE), _dot(0.0, 0.0, 0.32)),
            reach=0.9,
            turns=False,
        ),
        "sample": Sign(
            words="sample",
            shapes=(_area((0.0, 1.05), (1.05, 0.0), (0.0, -1.05), (-1.05, 0.0), fill=WHITE, pen=_FINE),),
            reach=1.05,
            turns=False,
        ),
        "photo": Sign(
            words="photo, looking so",
            shapes=(_dot(0.0, 0.0, 0.62), _line((0.0, 0.0), (0.0, 3.2)), _head(4.2, length=1.4, width=1.0)),
            reach=4.2,
        ),
        "photo no view": Sign(words="photo", shapes=(_dot(0.0, 0.0, 0.62),), reach=0.62, turns=False),
        "hazard": Sign(
            words="hazard (see list)",
            shapes=(
                _area((0.0, 1.5), (1.45, -1.0), (-1.45, -1.0), fill=WHITE, pen=_BAR),
                _line((0.0, 0.75), (0.0, -0.15)),
                _dot(0.0, -0.55, 0.19),
            ),
            reach=1.5,
            turns=False,
        ),
        "flow": Sign(
            words="stream, flow", shapes=(_head(1.1, length=2.2, width=1.24, fill=WATER),), reach=1.1
        ),
        "axial head": Sign(words="plunge", shapes=(_head(0.0, length=2.6, width=1.6),), reach=2.6),
        "covered": Sign(
            words="covered, not seen",
            shapes=(
                Path(
                    commands=polyline([(-1.3, -4.3), (-1.3, 4.3), (1.3, 4.3), (1.3, -4.3)], close=True),
                    pen=PENS["edge of ground seen"],
                    fill=COVERED,
                ),
            ),
            reach=4.3,
        ),
        "apparent dip": Sign(
            words="apparent dip",
            shapes=(
                _line((0.0, -2.6), (0.0, 2.6), pen=PENS["apparent dip casing"]),
                _line((0.0, -2.6), (0.0, 2.6), pen=PENS["apparent dip"]),
                _dot(0.0, 0.0, 0.5, fill=WHITE, pen=_FINE),
            ),
            reach=2.6,
        ),
        "cleavage in section": Sign(
            words="cleavage, apparent dip",
            shapes=(
                _line((0.0, -2.4), (0.0, 2.4), pen=PENS["plane in section"]),
                _area((0.0, -0.6), (0.0, 0.6), (0.9, 0.0), fill=WHITE, pen=PENS["plane in section"]),
            ),
            reach=2.4,
        ),
        "joint in section": Sign(
            words="joint, apparent dip",
            shapes=(
                _line((0.0, -2.4), (0.0, 2.4), pen=PENS["plane in section"]),
                _area((-0.4, -0.4), (-0.4, 0.4), (0.4, 0.4), (0.4, -0.4), fill=BLACK),
            ),
            reach=2.4,
        ),
    }
)
"""Every sign that stands at a place, by name, in the order of a legend."""

LINES: Mapping[str, str] = MappingProxyType(
    {
        "contact certain": "contact",
        "contact approximate": "approximate",
        "contact inferred": "inferred under cover",
        "contact concealed": "concealed",
        "fault certain": "fault",
        "fault approximate": "fault, approximate",
        "fault inferred": "fault, inferred",
        "fault concealed": "fault, concealed",
        "axial trace": "axial trace, plunge",
        "computed trace": "computed, not walked",
        "projected trace": "projected over heights",
        "computed fault trace": "fault, computed",
        "leg": "leg",
        "spur": "side shot",
        "open end": "gap of a loop that fails",
        "section line": "line of section",
        "edge of ground seen": "edge of ground seen",
        "stream": "stream, flow",
        "path": "path",
        "track": "track",
        "road": "road",
        "ridge": "ridge",
        "cliff": "cliff",
        "wall": "wall",
        "fence": "fence",
        "contour": "contour",
    }
)
"""Words of the legend for every line, by the name of its pen."""


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
        replace(shape, commands=tuple(_moved(command, at, sin, cos) for command in shape.commands))
        for shape in sign.shapes
    )


def offset(at: Point, along: Point, *, turn_deg: float) -> Point:
    """Where a point of a sign's own frame comes to lie: x down the dip, y along the strike."""
    turn_rad = math.radians(turn_deg)
    sin, cos = math.sin(turn_rad), math.cos(turn_rad)
    x, y = along
    return (at[0] + x * cos + y * sin, at[1] - x * sin + y * cos)


def _moved(command: Command, at: Point, sin: float, cos: float) -> Command:
    numbers: list[float] = []
    given = command[1:]
    for x, y in zip(given[::2], given[1::2], strict=True):
        numbers += (at[0] + x * cos + y * sin, at[1] - x * sin + y * cos)
    return (command[0], *numbers)
