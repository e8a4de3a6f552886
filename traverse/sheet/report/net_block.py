"""Equal-area net of the poles to bedding and of lines by kind, lower hemisphere, true north."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import assert_never

import numpy as np

from traverse.log.items import LineKind, PlaneKind
from traverse.sheet.paper.block import framed
from traverse.sheet.paper.fonts import width_mm
from traverse.sheet.paper.page import (
    Anchor,
    Block,
    Face,
    Group,
    Item,
    Path,
    Point,
    Text,
    circle,
    polyline,
    shifted,
)
from traverse.sheet.paper.style import BLACK, PENS, SMALL, WHITE, line_mm
from traverse.sheet.paper.words import arrow, counted, degrees
from traverse.structure.form.records import Fold
from traverse.structure.readings.records import LineAttitude, NoGirdle, PlaneAttitude, PoleDensity
from traverse.structure.records import Geology
from traverse.trade import FOLD_BEDS, FOLD_SPREAD_DEG, PRINTS_LEVEL_DEG

RADIUS_MM = 31.5
_HEADED_MM = 14.5
"""Of the block, over and under the circle."""
_KEY_MM = 26.0
_ROUND_MM, _AIR_MM = 4.5, 6.5
"""Left of the net, for its west; and between its rim and the key."""
_POLE_MM = 0.85


def on_net(trend_deg: float, plunge_deg: float, radius: float) -> Point:
    """Where a line of the lower hemisphere lies on a net about (0, 0): Lambert's azimuthal equal-area projection.

    Radius sqrt(2) R sin((90 - plunge) / 2), north up. Snyder (1987), Map Projections: a Working Manual, eq. 24-3,
    here with the pole of the projection straight down.

    >>> [round(value, 6) for value in on_net(90.0, 0.0, 1.0)]
    [1.0, 0.0]
    """
    apart = math.sqrt(2.0) * radius * math.sin(math.radians(90.0 - plunge_deg) / 2.0)
    trend = math.radians(trend_deg)
    return (apart * math.sin(trend), apart * math.cos(trend))


def pole_of(dip_deg: float, dip_direction_deg: float | None) -> tuple[float, float]:
    """Trend and plunge of the pole that goes down from a plane."""
    return ((dip_direction_deg or 0.0) + 180.0, 90.0 - dip_deg)


def great_circle(trend_deg: float, plunge_deg: float, radius: float) -> list[Point]:
    """The plane square to a line, as points from rim to rim."""
    trend, plunge = math.radians(trend_deg), math.radians(plunge_deg)
    # Along the strike of the plane, and down its dip.
    strike = (math.sin(trend - math.pi / 2), math.cos(trend - math.pi / 2), 0.0)
    dip = (
        -math.sin(plunge) * math.sin(trend),
        -math.sin(plunge) * math.cos(trend),
        -math.cos(plunge),
    )
    points: list[Point] = []
    for step in range(61):
        turn = math.pi * step / 60.0
        east, north, up = (math.cos(turn) * a + math.sin(turn) * b for a, b in zip(strike, dip, strict=True))
        down = math.degrees(math.asin(max(-1.0, min(1.0, -up))))
        points.append(on_net(math.degrees(math.atan2(east, north)), down, radius))
    return points


def lines_of(geology: Geology) -> dict[LineKind, list[LineAttitude]]:
    """Readings of lines by kind, in the order of the kinds."""
    read = [one for one in geology.attitudes if isinstance(one, LineAttitude)]
    found = {kind: [one for one in read if one.kind is kind] for kind in LineKind}
    return {kind: lines for kind, lines in found.items() if lines}


def planes_of(geology: Geology) -> dict[PlaneKind, list[PlaneAttitude]]:
    """Readings of planes that are no beds, by kind in the order of the kinds; foresets are told by their currents."""
    read = [one for one in geology.attitudes if isinstance(one, PlaneAttitude)]
    wanted = [kind for kind in PlaneKind if kind not in {PlaneKind.BED, PlaneKind.CROSSBED}]
    found = {kind: [one for one in read if one.kind is kind] for kind in wanted}
    return {kind: planes for kind, planes in found.items() if planes}


_LEVEL = 1e-9
"""A line that rises by less is level."""


def cone(trend_deg: float, plunge_deg: float, half_deg: float, radius: float) -> list[list[Point]]:
    """The lines at an angle from an axis, as points on the net; what rises stands on the other side, as it goes down."""
    trend, plunge, half = map(math.radians, (trend_deg, plunge_deg, half_deg))
    axis = np.array(
        [math.sin(trend) * math.cos(plunge), math.cos(trend) * math.cos(plunge), math.sin(plunge)]
    )
    level = np.array([math.cos(trend), -math.sin(trend), 0.0])
    across = np.cross(axis, level)
    pieces: list[list[Point]] = []
    below: bool | None = None
    for turn in np.linspace(0.0, 2.0 * math.pi, 73):
        line = math.cos(half) * axis + math.sin(half) * (math.cos(turn) * level + math.sin(turn) * across)
        side = bool(line[2] >= -_LEVEL)
        if side is not below:
            below = side
            pieces.append([])
        east, north, down = (line if below else -line).tolist()
        dip = math.degrees(math.asin(max(0.0, min(1.0, down))))
        pieces[-1].append(on_net(math.degrees(math.atan2(east, north)), dip, radius))
    return [piece for piece in pieces if len(piece) > 1]


def net_block(geology: Geology, *, width: float, most_mm: float = RADIUS_MM) -> Block | None:
    """The net with its key and numbers, of radius `most_mm` or less; None without a reading of a plane or of a line."""
    beds, lines, planes = geology.distinct_beds, lines_of(geology), planes_of(geology)
    if not beds and not lines and not planes:
        return None
    words = max([_KEY_MM, *(width_mm(one, face, SMALL) for one, face in _numbers(geology, beds))])
    radius = min(most_mm, (width - words - _ROUND_MM - _AIR_MM) / 2.0)
    centre = (radius + _ROUND_MM, -9.0 - radius)
    heading = "Poles to bedding" if beds and not planes else "Poles to planes" if beds or planes else ""
    items = framed(
        " and ".join(one for one in (heading, "lines" if lines else "") if one).capitalize(),
        width=width,
        aside=(
            "equal area, lower hemisphere, true north",
            "equal area, lower, true north",
            "lower, true north",
            "lower half",
        ),
    )
    items.extend(_graticule(centre, radius))
    items.extend(_contours(geology.density, centre, radius))
    axis = geology.fold_axis
    if axis is not None:
        girdle = great_circle(axis.trend_deg, axis.plunge_deg, radius)
        items.append(Path(commands=polyline(_moved(girdle, centre)), pen=PENS["girdle"]))
        axial = _axial_pole(geology.the_fold)
        if axial is not None:
            surface = great_circle(*axial, radius)
            items.append(Path(commands=polyline(_moved(surface, centre)), pen=PENS["great circle"]))
    elif geology.told_mean is not None:
        mean = geology.told_mean
        pole = pole_of(mean.dip_deg, mean.dip_direction_deg)
        plane = great_circle(*pole, radius)
        items.append(Path(commands=polyline(_moved(plane, centre)), pen=PENS["great circle"]))
        for piece in cone(*pole, mean.alpha95_deg, radius) if _has_cone(geology) and mean.alpha95_deg else []:
            items.append(Path(commands=polyline(_moved(piece, centre)), pen=PENS["ellipse 95"]))
    for bed in beds:
        at = on_net(*pole_of(bed.dip_deg, bed.dip_direction_deg), radius)
        items.append(_pole(_moved([at], centre)[0], overturned=bed.overturned))
    for plane_kind, surfaces in planes.items():
        for read_plane in surfaces:
            at = on_net(*pole_of(read_plane.dip_deg, read_plane.dip_direction_deg), radius)
            items.append(_plane_sign(plane_kind, _moved([at], centre)[0]))
    for kind, read in lines.items():
        for line in read:
            at = on_net(line.trend_deg, line.plunge_deg, radius)
            items.append(_line_sign(kind, _moved([at], centre)[0]))
    if axis is not None:
        end = _moved([on_net(axis.trend_deg, axis.plunge_deg, radius)], centre)[0]
        items.append(_diamond(end))
        items.append(_axis_label(end, centre, f"axis {arrow(axis.plunge_deg, axis.trend_deg)}"))
    items.extend(_key(geology, beds, planes, lines, x=centre[0] + radius + _AIR_MM, top=-9.0))
    return Block(items=tuple(items), height=2.0 * radius + _HEADED_MM)


def _contours(drawn: PoleDensity | None, centre: Point, radius: float) -> list[Item]:
    """Lines of equal density inside the rim."""
    if drawn is None:
        return []
    items = tuple(
        Path(
            commands=polyline(_moved([(radius * x, radius * y) for x, y in line], centre)),
            pen=PENS["density"],
        )
        for line in drawn.lines
    )
    return [Group(items=items, clip=circle(centre, radius))] if items else []


def _moved(points: Sequence[Point], centre: Point) -> list[Point]:
    return [(centre[0] + x, centre[1] + y) for x, y in points]


def _graticule(centre: Point, radius: float) -> list[Item]:
    """Rim with ticks each ten degrees, a cross in the middle, the four points."""
    x, y = centre
    items: list[Item] = [
        Path(commands=circle(centre, radius), pen=PENS["net circle"]),
        Path(commands=polyline([(x - 1.0, y), (x + 1.0, y)]), pen=PENS["tick"]),
        Path(commands=polyline([(x, y - 1.0), (x, y + 1.0)]), pen=PENS["tick"]),
    ]
    for bearing in range(0, 360, 10):
        way = math.radians(bearing)
        sin, cos = math.sin(way), math.cos(way)
        out = 1.6 if bearing % 90 == 0 else 0.9
        items.append(
            Path(
                commands=polyline(
                    [
                        (x + radius * sin, y + radius * cos),
                        (x + (radius + out) * sin, y + (radius + out) * cos),
                    ]
                ),
                pen=PENS["tick"],
            )
        )
    for letter, dx, dy in (("N", 0.0, 1.0), ("E", 1.0, 0.0), ("S", 0.0, -1.0), ("W", -1.0, 0.0)):
        items.append(
            Text(
                at=(x + dx * (radius + 3.4), y + dy * (radius + 3.4) - 0.85),
                text=letter,
                face=Face.SEMIBOLD,
                size_pt=SMALL,
                anchor=Anchor.MIDDLE,
            )
        )
    return items


def _pole(at: Point, *, overturned: bool) -> Path:
    return Path(
        commands=circle(at, _POLE_MM),
        pen=PENS["symbol fine"],
        fill=WHITE if overturned else BLACK,
    )


def _diamond(at: Point) -> Path:
    x, y = at
    return Path(
        commands=polyline([(x, y + 1.5), (x + 1.3, y), (x, y - 1.5), (x - 1.3, y)], close=True), fill=BLACK
    )


def _has_cone(geology: Geology) -> bool:
    """Whether a mean is drawn of which it is known how well it is determined."""
    mean = geology.told_mean
    return mean is not None and mean.n > 1 and mean.alpha95_deg is not None


def _plane_sign(kind: PlaneKind, at: Point) -> Path:
    """Strokes, one figure for each kind of plane: none looks like a pole to bedding or like a line."""
    x, y = at
    return Path(commands=polyline([(x + u, y + v) for u, v in _PLANE_STROKES[kind]]), pen=PENS["symbol fine"])


_PLANE_STROKES: dict[PlaneKind, tuple[Point, ...]] = {
    PlaneKind.JOINT: ((-1.1, 0.0), (1.1, 0.0), (0.0, 0.0), (0.0, 1.1), (0.0, -1.1)),
    PlaneKind.CLEAVAGE: ((-1.1, -0.5), (0.0, 0.7), (1.1, -0.5)),
    PlaneKind.FOLIATION: ((-1.1, 0.5), (0.0, -0.7), (1.1, 0.5)),
    PlaneKind.VEIN: ((-1.1, 0.6), (0.0, 0.6), (0.0, -1.0), (0.0, 0.6), (1.1, 0.6)),
    PlaneKind.DIKE: ((0.0, -1.1), (0.0, 1.1)),
    PlaneKind.AXIAL: ((-1.1, 0.0), (1.1, 0.0)),
}


def _line_sign(kind: LineKind, at: Point) -> Path:
    """Open signs, one for each kind of line: none looks like a pole or the axis."""
    x, y = at
    shape, close = _line_shape(kind)
    return Path(
        commands=polyline([(x + u, y + v) for u, v in shape], close=close),
        pen=PENS["symbol fine"],
        fill=WHITE if close else None,
    )


def _line_shape(kind: LineKind) -> tuple[tuple[Point, ...], bool]:
    """Corners about the place, and whether the last is joined to the first."""
    match kind:
        case LineKind.HINGE:
            return ((0.0, 1.3), (1.1, 0.0), (0.0, -1.3), (-1.1, 0.0)), True
        case LineKind.LINEATION:
            return ((-0.9, -0.9), (0.9, -0.9), (0.9, 0.9), (-0.9, 0.9)), True
        case LineKind.STRIATION:
            return ((-1.0, -1.0), (1.0, 1.0), (0.0, 0.0), (-1.0, 1.0), (1.0, -1.0)), False
        case LineKind.CURRENT:
            return ((0.0, 1.25), (1.1, -0.8), (-1.1, -0.8)), True
        case _:
            assert_never(kind)


def _key(
    geology: Geology,
    beds: Sequence[PlaneAttitude],
    planes: Mapping[PlaneKind, Sequence[PlaneAttitude]],
    lines_read: Mapping[LineKind, Sequence[LineAttitude]],
    *,
    x: float,
    top: float,
) -> list[Item]:
    """What the signs mean, and the numbers."""
    items: list[Item] = []
    y = top - 2.0
    over = sum(1 for bed in beds if bed.overturned)
    signs: list[tuple[Item, str]] = []
    if len(beds) - over:
        signs.append(
            (
                _pole((x + 2.0, 0.0), overturned=False),
                f"upright, {len(beds) - over}" if over else f"pole, {len(beds)}",
            )
        )
    if over:
        signs.append((_pole((x + 2.0, 0.0), overturned=True), f"overturned, {over}"))
    bar = polyline([(x, 0.0), (x + 4.4, 0.0)])
    if geology.fold_axis is not None:
        signs += [
            (_diamond((x + 2.0, 0.0)), "fold axis"),
            (Path(commands=bar, pen=PENS["girdle"]), "girdle"),
        ]
        if _axial_pole(geology.the_fold) is not None:
            signs.append((Path(commands=bar, pen=PENS["great circle"]), "axial surface"))
    elif geology.told_mean is not None:
        signs.append((Path(commands=bar, pen=PENS["great circle"]), "mean bedding"))
        if _has_cone(geology):
            signs.append((Path(commands=bar, pen=PENS["ellipse 95"]), "95 % cone"))
    signs += [
        (_plane_sign(kind, (x + 2.0, 0.0)), f"{kind.value}, {len(read)}") for kind, read in planes.items()
    ]
    signs += [
        (_line_sign(kind, (x + 2.0, 0.0)), f"{kind.value}, {len(read)}") for kind, read in lines_read.items()
    ]
    for sign, words in signs:
        items += (*shifted([sign], 0.0, y), Text(at=(x + 6.0, y - 0.85), text=words, size_pt=SMALL))
        y -= 4.2
    y -= 0.8
    lines = _numbers(geology, beds)
    if geology.density is not None and geology.density.levels:
        lines += [
            ("contours: density", Face.REGULAR),
            (f"{', '.join(map(str, geology.density.levels))} × even", Face.REGULAR),
        ]
    for text, face in lines:
        items.append(Text(at=(x, y), text=text, face=face, size_pt=SMALL))
        y -= line_mm(SMALL)
    return items


def _axial_pole(fold: Fold | None) -> tuple[float, float] | None:
    """Trend and plunge of the pole of a fold's axial surface; None where it has none."""
    if fold is None or fold.axial_dip_deg is None or fold.sd_axial_deg is None:
        return None
    return pole_of(fold.axial_dip_deg, fold.axial_dip_direction_deg)


def _fold_numbers(geology: Geology) -> list[tuple[str, Face]]:
    """Limbs, the angle between them, as the findings say it, and the surface that halves it; none of limbs that go on turning."""
    fold = geology.the_fold
    if fold is None or fold.sd_deg is None:
        return []
    limbs = [f"{arrow(limb.dip_deg, limb.dip_direction_deg or 0.0)}, {limb.n}" for limb in fold.limbs]
    said = ["limbs", *limbs, f"interlimb {degrees(fold.interlimb_deg)} ± {degrees(max(1.0, fold.sd_deg))}"]
    if fold.axial_dip_deg is not None:
        said += ["axial surface", arrow(fold.axial_dip_deg, fold.axial_dip_direction_deg or 0.0)]
    return [(words, Face.REGULAR) for words in said]


def _axis_label(end: Point, centre: Point, words: str) -> Text:
    """Beside the axis, on the side of it that lies inward."""
    right = end[0] <= centre[0]
    return Text(
        at=(end[0] + (1.8 if right else -1.8), end[1] + (1.0 if end[1] < centre[1] else -2.4)),
        text=words,
        face=Face.SEMIBOLD,
        size_pt=SMALL,
        anchor=Anchor.START if right else Anchor.END,
        halo=WHITE,
        halo_mm=0.4,
    )


_LACKS = {
    NoGirdle.FEW: f"fewer than {counted(FOLD_BEDS, 'reading')}",
    NoGirdle.ALIKE: f"no two beds {FOLD_SPREAD_DEG:.0f}° apart",
    NoGirdle.SCATTERED: "they turn about no one line",
    NoGirdle.NO_GIRDLE: "a cluster, no girdle",
    NoGirdle.CONICAL: "nearer to a cone than to a line",
    NoGirdle.ONE_READING: "one bed alone lies apart",
    NoGirdle.ACROSS_FAULT: "they turn across a fault alone",
}


def _numbers(geology: Geology, beds: Sequence[PlaneAttitude]) -> list[tuple[str, Face]]:
    axis, mean = geology.fold_axis, geology.told_mean
    if axis is not None:
        return [
            (f"axis {arrow(axis.plunge_deg, axis.trend_deg)}", Face.SEMIBOLD),
            (f"scatter about girdle {degrees(axis.rms_deg)}", Face.REGULAR),
            (counted(axis.n, "pole"), Face.REGULAR),
            *_fold_numbers(geology),
        ]
    lines: list[tuple[str, Face]] = []
    if mean is not None and mean.n > 1:
        level = mean.dip_deg < PRINTS_LEVEL_DEG  # it dips to no side
        way = "level" if level else arrow(mean.dip_deg, mean.dip_direction_deg)
        lines.append((f"mean {way}", Face.SEMIBOLD))
        if mean.alpha95_deg is not None:
            lines.append((f"95 % cone {degrees(max(1.0, mean.alpha95_deg))}", Face.REGULAR))
    if not beds:
        return lines
    if geology.bedding_mean is not None and mean is None:
        lines.append(("no mean: they differ", Face.REGULAR))
    lines.append((counted(len(beds), "pole"), Face.REGULAR))
    lines.append(("axis not determined:", Face.REGULAR))
    lacks = geology.no_axis
    if lacks is not None and lacks.why is NoGirdle.ALIKE and lacks.n < len(beds):
        # Of all poles beside it this may be false.
        lines.append((f"of {lacks.n} fitted no two {FOLD_SPREAD_DEG:.0f}° apart;", Face.REGULAR))
        lines.append(("others lie apart", Face.REGULAR))
        return lines
    lines.append((_LACKS[NoGirdle.FEW if lacks is None else lacks.why], Face.REGULAR))
    if lacks is not None and lacks.n < len(beds):
        lines.append((f"fitted: {lacks.n}; others lie apart", Face.REGULAR))
    return lines
