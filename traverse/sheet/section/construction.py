"""A section's constructed lines on the page, lighter than the data, and its axial surfaces."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

import shapely
from shapely import LineString, Polygon
from shapely import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points
from shapely.ops import substring as _substring

from traverse.ground.records import CarriedLine, CertaintyRun, SectionCut
from traverse.log.items import Certainty
from traverse.record import record
from traverse.settled import settled, settled_shape
from traverse.shapes import lines_in, points_of
from traverse.sheet.paper.growing import GrowingBoxes
from traverse.sheet.paper.labels import Apart
from traverse.sheet.paper.page import Item, Path, Pen, polyline
from traverse.sheet.paper.style import PENS, UnitStyle
from traverse.sheet.section.fills import Fill, fills_of
from traverse.sheet.section.strip_frame import StripFrame
from traverse.sheet.signs.wave import waved
from traverse.structure.section.records import (
    AxialLine,
    CarryRule,
    ConstructedLine,
    Construction,
    PointKind,
)

_WORDS = {
    CarryRule.DIP_DOMAINS: (
        "contacts constructed: straight limbs of constant thickness (dip domains)",
        "contacts by dip domains",
    ),
    CarryRule.ARCS: ("contacts constructed: arcs of constant thickness", "contacts by arcs"),
    CarryRule.LEVEL: ("contacts drawn level, at the height where they were met", "contacts level"),
    CarryRule.GENTLE: (
        "contacts drawn on planes of one gentle dip, through all places where they were met",
        "contacts on planes of one gentle dip",
    ),
    CarryRule.STRAIGHT: (
        "contacts drawn straight, along their own apparent dip or the nearest bed’s",
        "contacts straight",
    ),
}
"""How lines were made, and the same in fewer words."""
_ARCS_AND_LIMBS = (
    "contacts constructed: arcs of constant thickness, straight limbs where these have no room",
    "contacts by arcs, else straight limbs",
)
_FAULTS = "faults drawn straight, along their own apparent dip", "faults straight"
_FAULTS_UPRIGHT = "faults drawn upright where they were met", "faults upright"
_UPRIGHT = "contacts drawn upright where they were met", "contacts upright"
_MANY_AXIAL, _AXIAL_MM = 30, 5.0
"""More axial surfaces than this are drawn so far apart: a swarm of noisy readings bends at each."""
_ERODED_MM = 22.0
"""How far what is gone is sketched."""
_SPECK_MM = 1.5
"""What is sketched shorter than a dash, off the ground, is a speck in the sky."""
_DOTS_MM = 2.2
"""How much of a line is dotted before it is stopped."""
_WAVE_WIDE_MM = 1.5
"""Room that a wave takes across."""
_TOUCHING_MM, _ON_EDGE_MM = 0.05, 0.4


@record(frozen=True, slots=True, kw_only=True)
class _LineOnPage:
    """One constructed line on the page."""

    of: CarriedLine
    below: tuple[LineString, ...]
    """In the ground."""
    above: tuple[LineString, ...]
    """Sketched over the ground, short."""


@record(frozen=True, slots=True, kw_only=True)
class Built:
    """A construction, ready to be drawn."""

    fills: tuple[Fill, ...]
    lines: tuple[Item, ...]
    whole: GrowingBoxes
    """All lines, the ground's with them."""
    parting: tuple[LineString, ...]
    """Those that part one unit from another, in the ground and over it."""
    words: str
    """How the lines were made; empty where there are none."""
    short: str
    """The same in fewer words."""
    deep: bool
    """Whether they go deeper than the colour."""
    axial_left: int
    """Axial surfaces that would have made one black patch."""


def build(cut: SectionCut, frame: StripFrame, styles: Mapping[str, UnitStyle]) -> Built:
    """Lines, colour and axial surfaces of a section whose ground has heights."""
    section, construction = cut.section, cut.section.construction
    surface = LineString([frame.at((point.distance_m, point.up_m)) for point in section.profile])
    looked_at = Polygon([frame.at((x, up)) for x, up in cut.looked_at.exterior.coords])
    # A hair of room keeps the end that lies on the ground inside.
    near: BaseGeometry = settled_shape(looked_at.buffer(0.02))
    box = frame.box
    for start_m, end_m in section.guessed():
        near = near.difference(shapely.box(frame.x(start_m), box.y, frame.x(end_m), box.top))
    drawn = [_drawn(line, surface, frame) for line in cut.lines]
    words, short = _words(construction)
    whole = GrowingBoxes()
    for one in drawn:
        for part in (*one.below, *one.above):
            _add(whole, part, wide=_WAVE_WIDE_MM if one.of.of.kind is PointKind.UNCONFORMITY else 0.5)
    _add(whole, surface)
    lines: list[Item] = []
    axial = _axial_shown(construction, surface, frame)
    for hinge, part in _axial(axial, surface, frame):
        _add(whole, part)
        # Within one limb beds only turn a little: nobody saw a fold there.
        lines.append(_path(part, PENS["axial surface" if hinge else "dip changes"]))
    edges = [LineString([frame.at((x, up)) for x, up in edge.coords]) for edge in cut.edges]
    met = [*(part for one in drawn for part in one.below), *edges]
    others = shapely.STRtree(met or [LineString([(0, 0), (0, 1)])])
    for one in drawn:
        lines += _pieces(one, looked_at, near, frame, others)
    return Built(
        fills=tuple(fills_of(cut, frame, styles)),
        lines=tuple(lines),
        whole=whole,
        parting=(*met, *(part for one in drawn for part in one.above)),
        words=words,
        short=short,
        deep=any(line.course_known for line in construction.lines if line.pieces),
        axial_left=len(construction.axial) - len(axial),
    )


def _words(construction: Construction) -> tuple[str, str]:
    """How its lines were made, and the same in fewer words; empty where there are none."""
    drawn = [line for line in construction.lines if line.pieces]
    if not drawn:
        return "", ""
    contacts = [line for line in drawn if line.kind is not PointKind.FAULT]
    if not contacts:
        return _FAULTS if any(line.course_known for line in drawn) else _FAULTS_UPRIGHT
    if not any(line.course_known for line in contacts):
        return _UPRIGHT
    return _ARCS_AND_LIMBS if construction.limbs else _WORDS[construction.rule]


def _drawn(line: CarriedLine, surface: LineString, frame: StripFrame) -> _LineOnPage:
    below, above = (
        [LineString([frame.at((x, up)) for x, up in part.coords]) for part in parts]
        for parts in (line.below, line.above)
    )
    sketched = (part for one in above for part in _short(one, surface))
    shown = (one for one in sketched if one.length >= _SPECK_MM or surface.distance(one) < _TOUCHING_MM)
    return _LineOnPage(of=line, below=tuple(below), above=tuple(shown))


def _short(line: LineString, surface: LineString) -> list[LineString]:
    """What is gone, only as far as it is sketched from where it leaves the ground, at one end or at both."""
    first, last = ShapelyPoint(line.coords[0]), ShapelyPoint(line.coords[-1])
    both = max(surface.distance(first), surface.distance(last)) < _TOUCHING_MM
    if both and line.length <= 2.0 * _ERODED_MM:
        return [line]
    found = []
    if both or surface.distance(first) <= surface.distance(last):
        found.append(_part(line, 0.0, _ERODED_MM))
    if both or not found:
        found.append(_part(line, max(0.0, line.length - _ERODED_MM), line.length))
    return found


def _part(line: LineString, start: float, end: float) -> LineString:
    """A line from one length along it to another; the two differ."""
    part = _substring(line, start, end)
    assert isinstance(part, LineString)
    return part


def _add(taken: GrowingBoxes, line: LineString, *, wide: float = 0.5) -> None:
    for start, end in pairwise(line.coords):
        taken.add_line((start[0], start[1]), (end[0], end[1]), wide=wide)


def _pieces(
    one: _LineOnPage, looked_at: Polygon, near: BaseGeometry, frame: StripFrame, others: shapely.STRtree
) -> Iterator[Item]:
    """Near the data by the certainty of the nearest, long dashes deeper, dots where it can't go on, short grey dashes above ground.

    An unconformity is a wave in the ground. Under ground whose height is guessed nothing is near.
    """
    kind = one.of.of.kind
    worn = kind is PointKind.UNCONFORMITY
    for part in one.above:
        yield _path(part, PENS["section eroded"])
    for part in one.below:
        line = part
        for at_start in (True, False):
            place = ShapelyPoint(line.coords[0 if at_start else -1])
            if line.length > 2.0 * _DOTS_MM and _ends_free(place, looked_at, frame, others):
                dots = min(_DOTS_MM, line.length / 2.0)
                tail = _part(line, 0.0, dots) if at_start else _part(line, line.length - dots, line.length)
                line = _part(line, dots, line.length) if at_start else _part(line, 0.0, line.length - dots)
                yield _path(tail, PENS["section unknown"])
        for piece in lines_in(line.intersection(near)):
            for run, known in _by_run(piece, one.of.known, frame):
                yield _path(known, PENS[_near_pen(run.certainty, kind)], worn=worn)
        for piece in lines_in(line.difference(near)):
            yield _path(piece, PENS[_deep_pen(kind)], worn=worn)


def _by_run(
    line: LineString, runs: Sequence[CertaintyRun], frame: StripFrame
) -> Iterator[tuple[CertaintyRun, LineString]]:
    """A line in pieces, each with the run in which it lies."""
    if len(runs) == 1:
        yield runs[0], line
        return
    left, low, right, high = line.buffer(1.0).bounds
    for run in runs:
        start, end = (min(max(frame.x(at_m), left), right) for at_m in (run.start_m, run.end_m))
        for piece in lines_in(line.intersection(shapely.box(start, low, end, high))):
            if piece.length > _TOUCHING_MM:
                yield run, piece


def lines_expected(line: ConstructedLine) -> tuple[str, ...]:
    """Names of the pens of a contact or fault: as deep as the colour, below it, and over the ground."""
    known = [one.certainty for one in line.contacts] or [line.certainty]
    near = (_near_pen(one or Certainty.CERTAIN, line.kind) for one in dict.fromkeys(known))
    return (*near, _deep_pen(line.kind), "section eroded")


def _near_pen(certainty: Certainty, kind: PointKind) -> str:
    """Of a line as deep as the colour."""
    fault = kind is PointKind.FAULT
    if certainty is Certainty.CERTAIN and not fault:
        return f"{'unconformity' if kind is PointKind.UNCONFORMITY else 'contact'} in section"
    return f"{'fault' if fault else 'contact'} {certainty.value}"


def _deep_pen(kind: PointKind) -> str:
    """Of a line below the colour."""
    if kind is PointKind.UNCONFORMITY:
        return "unconformity at depth"
    return "fault approximate" if kind is PointKind.FAULT else "section depth"


def _ends_free(place: ShapelyPoint, looked_at: Polygon, frame: StripFrame, others: shapely.STRtree) -> bool:
    """Whether a line ends in the midst of the panel, on no other line and not on the ground."""
    box = frame.box
    inside = box.x + 0.3 < place.x < box.right - 0.3 and box.y + 0.3 < place.y < box.top - 0.3
    if not inside or looked_at.exterior.distance(place) < _ON_EDGE_MM:
        return False
    return len(others.query(place, predicate="dwithin", distance=_TOUCHING_MM)) < 2


def _axial_shown(construction: Construction, surface: LineString, frame: StripFrame) -> list[AxialLine]:
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


def _axial(
    shown_lines: Sequence[AxialLine], surface: LineString, frame: StripFrame
) -> Iterator[tuple[bool, LineString]]:
    """Axial surfaces below ground, and above it as short as what is gone; whether each is the hinge of a fold."""
    room = settled_shape(surface.buffer(_ERODED_MM))
    low = min(y for _, y in surface.coords) - 10.0 * frame.box.height
    under = Polygon([*surface.coords, (surface.coords[-1][0], low), (surface.coords[0][0], low)])
    shown = under.union(room)
    for axial in shown_lines:
        if len(axial.points) > 1:
            path = LineString([frame.at(point) for point in axial.points])
            yield from ((axial.hinge, part) for part in lines_in(path.intersection(shown)))


def _path(line: LineString, pen: Pen, *, worn: bool = False) -> Path:
    return Path(commands=polyline(waved(points_of(line)) if worn else points_of(line)), pen=pen)
