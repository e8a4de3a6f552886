"""A section's constructed contacts on the page: lines lighter than the data, axial surfaces, and colour that agrees.

Everything here is in millimetres of the page, so that an exaggerated section is stretched after it was constructed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import shapely
from shapely import LineString, Polygon
from shapely import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points
from shapely.ops import substring as _substring

from traverse.log.records import Certainty
from traverse.settled import settled, settled_shape
from traverse.sheet.paper.labels import Apart
from traverse.sheet.paper.page import Item, Path, Pen, Point, polyline
from traverse.sheet.paper.style import PENS, UnitStyle
from traverse.sheet.paper.taken import Taken
from traverse.sheet.section.fills import DOTS_MM, ERODED_MM, Fill, deep_pen, lenses_of, near_pen
from traverse.sheet.section.frame import Frame
from traverse.sheet.section.lines import Line, Run, runs_between
from traverse.structure.section.records import (
    AxialLine,
    ConstructedLine,
    Construction,
    PointKind,
    Rule,
    Section,
)

_WORDS = {
    Rule.DIP_DOMAINS: (
        "contacts constructed: straight limbs of constant thickness (dip domains)",
        "contacts by dip domains",
    ),
    Rule.ARCS: ("contacts constructed: arcs of constant thickness", "contacts by arcs"),
    Rule.STRAIGHT: (
        "contacts drawn straight, along their own apparent dip or the nearest bed’s",
        "contacts straight",
    ),
}
"""How lines were made, and the same in fewer words."""
_UPRIGHT = "contacts drawn upright where they were met", "contacts upright"
_MANY_AXIAL, _AXIAL_MM = 30, 5.0
"""More axial surfaces than this are drawn so far apart: a swarm of noisy readings bends at each."""
_TOUCHING_MM = 0.05
_FAR_MM = 500.0
_SAME_SHARE = 0.06
"""A border of the ground and an outcrop of the same two units within this share of the section are one."""
_SLIVER_MM2 = 0.05
_DISAGREE_MM = 2.0
"""Wider than this, a second unit on the ground of one piece is no matter of where a border was carried to."""
_MEETS_GROUND_MM = 0.4
"""Ground that a piece of the coloured band must hold to take its unit from there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Drawn:
    """One constructed line on the page."""

    of: ConstructedLine
    below: tuple[LineString, ...]
    """In the ground; the younger unit on the left."""
    above: tuple[LineString, ...]
    """Sketched over the ground, short."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Built:
    """A construction, ready to be drawn."""

    runs: tuple[Run, ...]
    fills: tuple[Fill, ...]
    lines: tuple[Item, ...]
    whole: Taken
    """All lines, the ground's with them."""
    words: str
    """How the lines were made; empty where there are none."""
    short: str
    """The same in fewer words."""
    deep: bool
    """Whether they go deeper than the colour."""
    loose: frozenset[str]
    """Units drawn as lenses of unknown depth."""
    axial_left: int = 0
    """Axial surfaces that would have made one black patch."""


def with_base(construction: Construction) -> frozenset[str]:
    """Units above an unconformity that is drawn as a plane: they need no lens of unknown depth, loose or not."""
    bases = [line for line in construction.lines if line.kind is PointKind.UNCONFORMITY and line.younger]
    drawn = {line.younger for line in bases if line.pieces and line.younger}
    return frozenset(drawn - {line.younger for line in bases if not line.pieces})


def build(
    section: Section,
    frame: Frame,
    depth_m: float,
    *,
    loose: frozenset[str],
    styles: Mapping[str, UnitStyle],
) -> Built:
    """Lines, colour and axial surfaces of a section's construction; the colour goes `depth_m` deep."""
    construction = section.construction
    loose -= with_base(construction)
    top = [frame.at((point.distance_m, point.up_m)) for point in section.profile]
    deep_mm = depth_m * frame.mm_per_m * frame.exaggeration
    surface = LineString(top)
    band = Polygon([*top, *((x, y - deep_mm) for x, y in reversed(top))])
    drawn = [_drawn(line, surface, band, frame) for line in construction.lines]
    runs = _runs(section)
    fills = [
        *_fills(_without_loose(runs, loose), drawn, surface, band, frame, styles),
        *lenses_of(runs, section, frame, styles, loose),
    ]
    words, short = _words(construction)
    whole = Taken()
    for one in drawn:
        for part in (*one.below, *one.above):
            _add(whole, part)
    _add(whole, surface)
    lines: list[Item] = []
    axial = _axial_shown(construction, surface, frame)
    for part in _axial(axial, surface, frame):
        _add(whole, part)
        lines.append(_path(part, PENS["axial surface"]))
    others = shapely.STRtree([part for one in drawn for part in one.below] or [LineString([(0, 0), (0, 1)])])
    for one in drawn:
        lines += _pieces(one, band, frame, others)
    return Built(
        runs=runs,
        fills=tuple(fills),
        lines=tuple(lines),
        whole=whole,
        words=words,
        short=short,
        loose=loose,
        deep=any(line.course_known for line in construction.lines if line.pieces),
        axial_left=len(construction.axial) - len(axial),
    )


def _words(construction: Construction) -> tuple[str, str]:
    """How its lines were made, and the same in fewer words; empty where there are none."""
    drawn = [line for line in construction.lines if line.pieces]
    if not drawn:
        return "", ""
    return _WORDS[construction.rule] if any(line.course_known for line in drawn) else _UPRIGHT


def _drawn(line: ConstructedLine, surface: LineString, band: Polygon, frame: Frame) -> _Drawn:
    below: list[LineString] = []
    above: list[LineString] = []
    path: list[Point] = []

    def end() -> None:
        if len(path) > 1:
            below.append(LineString(path))
        path.clear()

    for piece in line.pieces:
        points = [frame.at(point) for point in piece.points]
        if piece.eroded:
            end()
            if len(points) > 1 and LineString(points).length > 0.0:
                above += _short(LineString(points), surface)
        elif path and ShapelyPoint(path[-1]).distance(ShapelyPoint(points[0])) < _TOUCHING_MM:
            path += points[1:]
        else:
            end()
            path += points
    end()
    if not line.course_known:
        known = [part for one in below for part in _parts(one.intersection(band))]
        return _Drawn(of=line, below=tuple(known), above=())
    return _Drawn(of=line, below=tuple(one for one in below if one.length > 0.0), above=tuple(above))


def _short(line: LineString, surface: LineString) -> list[LineString]:
    """What is gone, only as far as it is sketched from where it leaves the ground, at one end or at both."""
    first, last = ShapelyPoint(line.coords[0]), ShapelyPoint(line.coords[-1])
    both = max(surface.distance(first), surface.distance(last)) < _TOUCHING_MM
    if both and line.length <= 2.0 * ERODED_MM:
        return [line]
    found = []
    if both or surface.distance(first) <= surface.distance(last):
        found.append(_part(line, 0.0, ERODED_MM))
    if both or not found:
        found.append(_part(line, max(0.0, line.length - ERODED_MM), line.length))
    return found


def _part(line: LineString, start: float, end: float) -> LineString:
    """A line from one length along it to another; the two differ."""
    part = _substring(line, start, end)
    assert isinstance(part, LineString)
    return part


def _runs(section: Section) -> tuple[Run, ...]:
    """Ground by unit, its borders where the constructed contacts come out."""
    lines: list[Line] = []
    for line in section.construction.lines:
        points = [
            point
            for point in section.points
            if point.contact is not None and any(point.contact is one for one in line.contacts)
        ]
        for point in points if line.outcrops else ():
            # Where it was carried to and where its line comes out may lie apart.
            outcrop = min(line.outcrops, key=lambda one: abs(one[0] - point.distance_m))
            lines.append(Line(point=point, out_m=outcrop[0]))
    lines.sort(key=lambda line: line.out_m)
    return runs_between(section, lines, reach_m=_SAME_SHARE * section.length_m)


def _parts(found: BaseGeometry) -> Iterator[LineString]:
    """Lines of a geometry that may hold points and collections too."""
    for one in getattr(found, "geoms", [found]):
        if isinstance(one, LineString) and one.length > 0.0:
            yield one
        elif hasattr(one, "geoms"):
            yield from _parts(one)


def _add(taken: Taken, line: LineString, *, wide: float = 0.5) -> None:
    for start, end in pairwise(line.coords):
        taken.add_line((start[0], start[1]), (end[0], end[1]), wide=wide)


# --- lines ------------------------------------------------------------------------------------------------------


def _pieces(one: _Drawn, band: Polygon, frame: Frame, others: shapely.STRtree) -> Iterator[Item]:
    """Near the data by its certainty, long dashes deeper, dots where it can't go on, short grey dashes above ground."""
    fault = one.of.kind is PointKind.FAULT
    for part in one.above:
        yield _path(part, PENS["section eroded"])
    for part in one.below:
        line = part
        for at_start in (True, False):
            place = ShapelyPoint(line.coords[0 if at_start else -1])
            if line.length > 2.0 * DOTS_MM and _ends_free(place, band, frame, others):
                dots = min(DOTS_MM, line.length / 2.0)
                tail = _part(line, 0.0, dots) if at_start else _part(line, line.length - dots, line.length)
                line = _part(line, dots, line.length) if at_start else _part(line, 0.0, line.length - dots)
                yield _path(tail, PENS["contact concealed"])
        # A hair of room keeps the end that lies on the ground inside.
        room = settled_shape(band.buffer(0.02))
        for piece in _parts(line.intersection(room)):
            yield _path(piece, near_pen(one.of.certainty or Certainty.CERTAIN, fault=fault))
        for piece in _parts(line.difference(room)):
            yield _path(piece, deep_pen(fault=fault))


def _ends_free(place: ShapelyPoint, band: Polygon, frame: Frame, others: shapely.STRtree) -> bool:
    """Whether a line ends in the midst of the panel, on no other line and not on the ground."""
    box = frame.box
    inside = box.x + 0.3 < place.x < box.right - 0.3 and box.y + 0.3 < place.y < box.top - 0.3
    if not inside or band.exterior.distance(place) < _MEETS_GROUND_MM:
        return False
    return len(others.query(place, predicate="dwithin", distance=_TOUCHING_MM)) < 2


def _axial_shown(construction: Construction, surface: LineString, frame: Frame) -> list[AxialLine]:
    """All axial surfaces; of very many those that stand apart at the ground, hinges first, then the sharpest bends."""
    lines = [one for one in construction.axial if len(one.points) > 1]
    if len(lines) <= _MANY_AXIAL:
        return list(construction.axial)
    kept: list[AxialLine] = []
    order = sorted(lines, key=lambda one: (not one.hinge, -abs(one.right_dip_deg - one.left_dip_deg)))
    apart = Apart(_AXIAL_MM)
    taken: dict[tuple[float, float], bool] = {}
    for one in order:
        path = LineString([frame.at(point) for point in one.points])
        at = nearest_points(path, surface)[0]
        # Its parts below the ground and above meet there, and stay together.
        place = (settled(at.x, 1), settled(at.y, 1))
        if place not in taken:
            taken[place] = apart.add((at.x, at.y))
        if taken[place]:
            kept.append(one)
    return kept


def _axial(shown_lines: Sequence[AxialLine], surface: LineString, frame: Frame) -> Iterator[LineString]:
    """Axial surfaces below ground, and above it as short as what is gone."""
    room = settled_shape(surface.buffer(ERODED_MM))
    low = min(y for _, y in surface.coords) - 10.0 * frame.box.height
    under = Polygon([*surface.coords, (surface.coords[-1][0], low), (surface.coords[0][0], low)])
    shown = under.union(room)
    for axial in shown_lines:
        if len(axial.points) > 1:
            yield from _parts(LineString([frame.at(point) for point in axial.points]).intersection(shown))


def _path(line: LineString, pen: Pen) -> Path:
    return Path(commands=polyline([(x, y) for x, y in line.coords]), pen=pen)


# --- colour -----------------------------------------------------------------------------------------------------


def _fills(
    runs: Sequence[Run],
    drawn: Sequence[_Drawn],
    surface: LineString,
    band: Polygon,
    frame: Frame,
    styles: Mapping[str, UnitStyle],
) -> Iterator[Fill]:
    """The band of ground, parted by the constructed lines; each part in the unit found on it, else told by a line."""
    marks = [part for one in drawn for part in one.below]
    edges: list[BaseGeometry] = [band.exterior]
    edges += [_reaching(part, band, [one for one in marks if one is not part]) for part in marks]
    for run in runs[:-1]:
        # A border that no line was constructed for goes straight down.
        x = frame.x(run.end_m)
        upright = LineString(
            [(x, frame.box.y - 10.0 * frame.box.height), (x, frame.box.top + frame.box.height)]
        )
        outcrop = upright.intersection(surface)
        if all(part.distance(outcrop) > _MEETS_GROUND_MM for part in marks):
            edges.append(upright)
    parts: dict[str, list[Polygon]] = {}
    for cell in shapely.get_parts(shapely.polygonize(shapely.get_parts(shapely.union_all(edges)))):
        if cell.area < _SLIVER_MM2 or not band.contains(cell.representative_point()):
            continue
        on_ground = _seen_on(cell, runs, surface, frame)
        for unit, part in _parted(cell, on_ground, frame) or [(_unit_of(cell, on_ground, drawn), cell)]:
            if unit is not None and unit in styles:
                parts.setdefault(unit, []).append(part)
    panel = shapely.box(frame.box.x, frame.box.y, frame.box.right, frame.box.top)
    for unit, cells in parts.items():
        for area in shapely.get_parts(shapely.union_all(cells)):
            shown = area.intersection(panel)
            if not shown.is_empty:
                yield Fill(
                    run=_run_of(area, unit, surface, frame),
                    unit=unit,
                    colour=styles[unit].colour,
                    outline=tuple((x, y) for x, y in area.exterior.coords),
                    area=shown,
                )


def _without_loose(runs: Sequence[Run], loose: frozenset[str]) -> list[Run]:
    """Runs of what lies under loose ground: known only where both sides are one unit."""
    found: list[Run] = []
    for index, run in enumerate(runs):
        unit = run.unit
        if unit in loose:
            left = runs[index - 1].unit if index else None
            right = runs[index + 1].unit if index + 1 < len(runs) else None
            unit = left if left == right and left not in loose else None
        if found and found[-1].unit == unit:
            found[-1] = replace(found[-1], end_m=run.end_m)
        else:
            found.append(replace(run, unit=unit))
    return found


def _reaching(line: LineString, band: Polygon, others: Sequence[LineString]) -> LineString:
    """A line with ends that reach over what they end at; one that ends in the midst of the band goes on to its edge."""
    points = list(line.coords)
    for last, before in ((0, 1), (-1, -2)):
        (x, y), (bx, by) = points[last], points[before]
        long = math.dist((x, y), (bx, by))
        if long == 0.0:
            continue
        way = ((x - bx) / long, (y - by) / long)
        # At the ground, at the foot of the colour and at other lines a little more than up to them.
        place = ShapelyPoint(x, y)
        reach = 2.0 * (
            _MEETS_GROUND_MM if band.exterior.distance(place) <= _MEETS_GROUND_MM else _TOUCHING_MM
        )
        free = all(other.distance(place) > _TOUCHING_MM for other in others)
        if free and band.contains(place) and band.exterior.distance(place) > _MEETS_GROUND_MM:
            on = LineString([(x, y), (x + _FAR_MM * way[0], y + _FAR_MM * way[1])])
            met = [on.intersection(other) for other in (*others, band.exterior)]
            reach += min((one.distance(place) for one in met if not one.is_empty), default=0.0)
        points[last] = (x + reach * way[0], y + reach * way[1])
    return LineString(points)


def _seen_on(
    cell: Polygon, runs: Sequence[Run], surface: LineString, frame: Frame
) -> list[tuple[Run, float]]:
    """What lies on the ground of a piece, and how wide it is there."""
    spans = [part.bounds for part in _parts(surface.intersection(cell.buffer(_TOUCHING_MM)))]
    if sum(span[2] - span[0] for span in spans) <= _MEETS_GROUND_MM:
        return []
    wide = [
        sum(max(0.0, min(span[2], frame.x(run.end_m)) - max(span[0], frame.x(run.start_m))) for span in spans)
        for run in runs
    ]
    return [(run, share) for run, share in zip(runs, wide, strict=True) if share > 0.0]


def _parted(
    cell: Polygon, on_ground: Sequence[tuple[Run, float]], frame: Frame
) -> list[tuple[str | None, Polygon]]:
    """A piece that no line parts though more than one unit was seen on it, cut upright where they meet; else nothing.

    What was seen stands, and it shows that the lines and the ground disagree.
    """
    wide: dict[str | None, float] = {}
    for run, share in on_ground:
        wide[run.unit] = wide.get(run.unit, 0.0) + share
    if sum(share > _DISAGREE_MM for share in wide.values()) < 2:
        return []
    found: list[tuple[str | None, Polygon]] = []
    left, low, right, high = cell.bounds
    kept = [run for run, share in on_ground if share > _MEETS_GROUND_MM]
    edges = [left - 1.0, *(frame.x(run.start_m) for run in kept[1:]), right + 1.0]
    for run, (start, end) in zip(kept, pairwise(edges), strict=True):
        part = cell.intersection(shapely.box(start, low - 1.0, end, high + 1.0))
        found += [(run.unit, one) for one in shapely.get_parts(part) if isinstance(one, Polygon)]
    return found


def _unit_of(cell: Polygon, on_ground: Sequence[tuple[Run, float]], drawn: Sequence[_Drawn]) -> str | None:
    if on_ground:
        return max(on_ground, key=lambda one: one[1])[0].unit
    room = cell.buffer(_TOUCHING_MM)
    best: tuple[float, str | None] = (_MEETS_GROUND_MM, None)
    for one in drawn:
        if one.of.kind is PointKind.FAULT:
            continue
        for part in one.below:
            for shared in _parts(part.intersection(room)):
                if shared.length > best[0]:
                    along = part.project(shared.interpolate(0.5, normalized=True))
                    start, end = part.interpolate(along - 0.05), part.interpolate(along + 0.05)
                    # A little to the left of the line, where its younger unit lies.
                    left = ShapelyPoint(
                        (start.x + end.x) / 2 - 2.0 * (end.y - start.y),
                        (start.y + end.y) / 2 + 2.0 * (end.x - start.x),
                    )
                    unit = one.of.younger if cell.contains(left) else one.of.older
                    if unit is not None:
                        best = (shared.length, unit)
    return best[1]


def _run_of(area: Polygon, unit: str, surface: LineString, frame: Frame) -> Run:
    """Where a coloured piece lies along the section: on the ground, if it comes out."""
    bounds = [part.bounds for part in _parts(surface.intersection(area.buffer(_TOUCHING_MM)))] or [
        area.bounds
    ]
    start, end = min(one[0] for one in bounds), max(one[2] for one in bounds)
    return Run(
        unit=unit,
        start_m=frame.place((start, 0.0))[0],
        end_m=frame.place((end, 0.0))[0],
    )
