"""The section strip: axes, ground, units, contacts as far as they can be known, apparent dips, names, and its note."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from itertools import pairwise

import numpy as np
from shapely import Point as ShapelyPoint
from shapely import Polygon, unary_union
from shapely import box as rectangle_of
from shapely.geometry.base import BaseGeometry

from traverse.angle import nearest_point, wrap_360
from traverse.location.records import Survey
from traverse.log.records import Certainty, Log, Projection
from traverse.sheet.band import half_width_m
from traverse.sheet.fonts import width_mm as text_width_mm
from traverse.sheet.page import Anchor, Box, Face, Group, Item, Path, Pen, Point, Text, polyline, rectangle
from traverse.sheet.section_lines import (
    FLAT_DEG,
    Cut,
    Ground,
    Line,
    Ray,
    Run,
    cut_ground,
    ground_of,
    is_bed,
    surface_units,
)
from traverse.sheet.style import HEAD, LARGE, PENS, SMALL, WHITE, UnitStyle
from traverse.sheet.symbols import symbol
from traverse.sheet.words import NO_BREAK, arrow, azimuth, cut, metres, number, plain
from traverse.structure.records import Geology, PointKind, ProfilePoint, Section, SectionPoint

ROOM_ABOVE_MM = 6.6
"""Station names and the letters of the ends, over the box."""
ROOM_BELOW_MM = 6.8
"""Distance figures and the note, under the box."""
ROOM_BESIDE_MM = 9.0
"""Height figures, to either side of the drawn section."""
_NEAR_MM = 4.0
"""Two crossings of one contact nearer than this on paper are drawn as one."""
_ERODED_MM = 22.0
"""How far what is gone is sketched."""
_DOTS_MM = 2.2
"""How much of a line is dotted before it is stopped by another."""
_NAME_PITCH_MM = 7.6
_LEFT_MM, _NOTE_MM = 14.0, 190.0
"""Left edge of every panel, and the widest note that can be read across."""
_FAR_SHARE = 0.25
"""Carried farther than this share of the section, a reading is drawn dashed."""
_ROUND = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000, 50_000)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Frame:
    """Metres of the section to millimetres of the page."""

    box: Box
    """As drawn: as wide as the section at its scale."""
    mm_per_m: float
    exaggeration: float
    floor_m: float
    top_m: float

    def x(self, distance_m: float) -> float:
        return self.box.x + distance_m * self.mm_per_m

    def y(self, up_m: float) -> float:
        return self.box.y + (up_m - self.floor_m) * self.mm_per_m * self.exaggeration

    def at(self, place: tuple[float, float]) -> Point:
        return (self.x(place[0]), self.y(place[1]))

    def place(self, at: Point) -> tuple[float, float]:
        """Back from the page to metres."""
        return (
            (at[0] - self.box.x) / self.mm_per_m,
            self.floor_m + (at[1] - self.box.y) / (self.mm_per_m * self.exaggeration),
        )


def wanted_height_mm(section: Section, log: Log, geology: Geology, *, scale: int) -> float:
    """Height of the box that holds the relief and about one unit below it; 24 where no height was measured."""
    heights = _heights(section)
    if not heights or ground_of(section) is None:
        return 24.0
    top = max(heights)
    depth = half_width_m(log.heading.sheet.band_m, scale)
    return (top - _depth_limit(section, geology, depth)) * 1000.0 / scale * section.exaggeration + 6.0


def _heights(section: Section) -> list[float]:
    return [point.up_m for point in section.profile] + [
        point.up_m
        for point in section.points
        if point.up_m is not None and point.kind is not PointKind.STATION
    ]


def _depth_limit(section: Section, geology: Geology, depth_m: float) -> float:
    """How deep lines may go: as asked, else the relief and about one unit below the lowest ground."""
    lowest = min(point.up_m for point in section.profile)
    if section.depth_m is not None:
        return lowest - section.depth_m
    relief = max(point.up_m for point in section.profile) - lowest
    thick = sorted(one.true_m for one in geology.thicknesses)
    unit = thick[len(thick) // 2] if thick else 0.0
    return lowest - relief - max(depth_m, min(unit, relief + 2.0 * depth_m))


def section_signs(section: Section) -> tuple[str, ...]:
    """Names of the signs that the panel draws beyond those of the map."""
    return ("apparent dip",) if any(is_bed(point) for point in section.points) else ()


def section_panel(
    section: Section,
    log: Log,
    survey: Survey,
    geology: Geology,
    *,
    box: Box,
    scale: int,
    styles: Mapping[str, UnitStyle],
) -> tuple[Item, ...]:
    """The section at 1 : `scale`.

    `box` is what lies between the axes: its left edge is the first end, its base the lowest height; the section is
    drawn as long as its scale makes it, `box.width` apart. Names stand up to `ROOM_ABOVE_MM` over it, figures and note
    down to `ROOM_BELOW_MM` under it, height figures up to `ROOM_BESIDE_MM` beside it.
    """
    mm_per_m = 1000.0 / scale
    del survey
    drawn = Box(x=box.x, y=box.y, width=section.length_m * mm_per_m, height=box.height)
    ground = ground_of(section)
    if ground is None:
        return _without_heights(section, geology, box=box, mm_per_m=mm_per_m, scale=scale)
    # The colour goes as deep below ground as the ground to each side was looked at.
    depth = half_width_m(log.heading.sheet.band_m, scale)
    frame = _frame(section, geology, drawn, mm_per_m, depth)
    loose = surface_units([(unit.letters, unit.age) for unit in log.units])
    cut_m = cut_ground(
        section,
        ground,
        floor_m=frame.floor_m,
        top_m=frame.top_m,
        loose=loose,
        near_m=_NEAR_MM / mm_per_m,
    )
    placed = _Placed()
    fills = _fills(cut_m, ground, frame, depth, styles)
    contacts = _contacts(cut_m, ground, frame, depth)
    lines = _obstacles(cut_m, frame, depth)
    ticks, figures = _ticks(section, frame, ground, placed, lines, fills)
    names, untold = _names(section, frame, ground, placed)
    letters = _letters(ground, frame, depth, placed, lines, fills)
    note, construction = _notes(section, geology, scale, depth, frame, untold, cut_m)
    inside: list[Item] = [
        *(fill.path() for fill in fills),
        *_lens_lines(cut_m, ground, frame),
        *contacts,
        Path(
            commands=polyline([frame.at((point.distance_m, point.up_m)) for point in section.profile]),
            pen=PENS["ground profile"],
        ),
    ]
    clip = rectangle(Box(x=drawn.x, y=drawn.y, width=drawn.width, height=drawn.height))
    return (
        Group(items=tuple(inside), clip=clip),
        *_bends(section, frame),
        *ticks,
        *figures,
        *letters,
        *_axes(section, frame),
        *names,
        *_ends(section, frame),
        *_construction(construction, frame, cut_m, placed),
        *_note(note, frame, box.width),
    )


def _frame(section: Section, geology: Geology, box: Box, mm_per_m: float, depth_m: float) -> _Frame:
    """Heights from the top of the relief down, as far as the box reaches or as lines may go."""
    exaggeration = section.exaggeration
    tall_m = box.height / (mm_per_m * exaggeration)
    heights = _heights(section)
    step = _height_step(mm_per_m * exaggeration)
    top = max(heights) + min(2.5 / (mm_per_m * exaggeration), step)
    floor = math.floor(_depth_limit(section, geology, depth_m) / step) * step
    # The relief matters more than what lies below it; a round floor more than a little room at the top.
    lowest = math.ceil((top - tall_m) / step - 1e-9) * step
    if max(heights) > lowest + tall_m:
        lowest = top - tall_m
    floor = max(floor, lowest)
    if floor > min(heights):
        floor = min(floor, max(lowest, math.floor(min(heights) / step) * step))
    return _Frame(box=box, mm_per_m=mm_per_m, exaggeration=exaggeration, floor_m=floor, top_m=floor + tall_m)


def _height_step(mm_per_m: float) -> float:
    return float(next((step for step in _ROUND if step * mm_per_m >= 7.0), _ROUND[-1]))


def _distance_step(mm_per_m: float) -> float:
    return float(next((step for step in _ROUND if step * mm_per_m >= 25.0), _ROUND[-1]))


# --- what is already there ----------------------------------------------------------------------------------


class _Placed:
    """Boxes that text must keep clear of."""

    def __init__(self) -> None:
        self._rows = np.empty((64, 4))
        """Left, lower, right, upper; those beyond `_count` are spare."""
        self._count = 0

    def add(self, box: Box) -> None:
        if self._count == len(self._rows):
            self._rows = np.concatenate([self._rows, np.empty_like(self._rows)])
        self._rows[self._count] = (box.x, box.y, box.right, box.top)
        self._count += 1

    def overlap(self, box: Box) -> float:
        """Area shared with what is there, square millimetres."""
        left, lower, right, upper = self._rows[: self._count].T
        wide = np.minimum(right, box.right) - np.maximum(left, box.x)
        high = np.minimum(upper, box.top) - np.maximum(lower, box.y)
        return float((np.maximum(wide, 0.0) * np.maximum(high, 0.0)).sum())

    def add_line(self, start: Point, end: Point, *, wide: float = 0.5) -> None:
        """A line as small boxes along it."""
        steps = max(1, math.ceil(math.dist(start, end) / 0.8))
        for step in range(steps + 1):
            share = step / steps
            x, y = (a + share * (b - a) for a, b in zip(start, end, strict=True))
            self.add(Box(x=x - wide / 2, y=y - wide / 2, width=wide, height=wide))


def _text_box(at: Point, text: str, face: Face, size_pt: float) -> Box:
    """Round a text that is centred on a point."""
    wide = text_width_mm(text, face, size_pt)
    tall = size_pt * 0.25
    return Box(x=at[0] - wide / 2 - 0.2, y=at[1] - tall / 2 - 0.1, width=wide + 0.4, height=tall + 0.2)


def _centred(at: Point, text: str, face: Face, size_pt: float, *, halo: str | None = None) -> Text:
    return Text(
        at=(at[0], at[1] - size_pt * 0.116),
        text=text,
        face=face,
        size_pt=size_pt,
        anchor=Anchor.MIDDLE,
        halo=halo,
        halo_mm=0.3,
    )


# --- axes ---------------------------------------------------------------------------------------------------


def _axes(section: Section, frame: _Frame) -> list[Item]:
    """Heights at both ends, distances below."""
    box = frame.box
    items: list[Item] = []
    step = _height_step(frame.mm_per_m * frame.exaggeration)
    for x, side in ((box.x, -1.0), (box.right, 1.0)):
        items.append(Path(commands=polyline([(x, box.y), (x, box.top)]), pen=PENS["axis"]))
        height = math.ceil(frame.floor_m / step - 1e-9) * step
        while frame.y(height) <= box.top + 1e-6:
            y = frame.y(height)
            items += (
                Path(commands=polyline([(x, y), (x + side * 1.0, y)]), pen=PENS["tick"]),
                Text(
                    at=(x + side * 1.6, y - 0.85),
                    text=number(height),
                    size_pt=SMALL,
                    anchor=Anchor.END if side < 0 else Anchor.START,
                ),
            )
            height += step
    items.extend(_distances(section, frame))
    return items


def _distances(section: Section, frame: _Frame) -> list[Item]:
    box = frame.box
    items: list[Item] = [Path(commands=polyline([(box.x, box.y), (box.right, box.y)]), pen=PENS["axis"])]
    step = _distance_step(frame.mm_per_m)
    count = math.floor(2.0 * section.length_m / step + 1e-9)
    for half in range(count + 1):
        distance = half * step / 2.0
        x = frame.x(distance)
        whole = half % 2 == 0
        items.append(
            Path(commands=polyline([(x, box.y), (x, box.y - (1.2 if whole else 0.7))]), pen=PENS["tick"])
        )
        if whole:
            words = number(distance) + (f"{NO_BREAK}m" if half else "")
            items.append(Text(at=(x, box.y - 3.7), text=words, size_pt=SMALL, anchor=Anchor.MIDDLE))
    return items


def _ends(section: Section, frame: _Frame) -> list[Item]:
    """Letters of the ends over the way each looks, outside the axes."""
    box = frame.box
    turn = section.azimuth_deg - section.grid_azimuth_deg
    last = _stretch_azimuths(section)[-1] + turn
    items: list[Item] = []
    for x, letter, way, anchor, side in (
        (box.x, section.first_letter, section.azimuth_deg + 180.0, Anchor.END, -1.0),
        (box.right, section.last_letter, last, Anchor.START, 1.0),
    ):
        bearing = f"{nearest_point(way, points=8)}{NO_BREAK}{azimuth(wrap_360(way))}°"
        words = plain(letter).replace("'", "′")
        items += (
            Text(
                at=(x + side * 1.2, box.top + 4.4),
                text=cut(words, Face.BOLD, LARGE, ROOM_BESIDE_MM),
                face=Face.BOLD,
                size_pt=LARGE,
                anchor=anchor,
            ),
            Text(at=(x + side * 1.2, box.top + 1.2), text=bearing, size_pt=SMALL, anchor=anchor),
        )
    return items


def _stretch_azimuths(section: Section) -> list[float]:
    """Grid azimuth of every stretch of the line."""
    found = [wrap_360(math.degrees(math.atan2(b[0] - a[0], b[1] - a[1]))) for a, b in pairwise(section.line)]
    return found or [section.grid_azimuth_deg]


def _bends(section: Section, frame: _Frame) -> list[Item]:
    """An upright line at each bend, with the bearing from there on."""
    turn = section.azimuth_deg - section.grid_azimuth_deg
    items: list[Item] = []
    for bend, way in zip(section.bends_m, _stretch_azimuths(section)[1:], strict=False):
        x = frame.x(bend)
        items += (
            Path(commands=polyline([(x, frame.box.y), (x, frame.box.top)]), pen=PENS["bend"]),
            Text(
                at=(x + 0.8, frame.box.y + 1.2),
                text=f"bend, then {azimuth(wrap_360(way + turn))}°",
                face=Face.ITALIC,
                size_pt=SMALL,
                halo=WHITE,
            ),
        )
    return items


# --- ground -------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class _Fill:
    """Coloured ground of one unit, on the page."""

    run: Run
    unit: str
    colour: str
    outline: tuple[Point, ...]
    area: BaseGeometry
    lens: bool = False

    def path(self) -> Path:
        return Path(commands=polyline(self.outline, close=True), fill=self.colour)


def _fills(
    cut_m: Cut, ground: Ground, frame: _Frame, depth_m: float, styles: Mapping[str, UnitStyle]
) -> list[_Fill]:
    """Colour of each run of ground, as deep as it was looked at, its borders along the contacts; lenses last."""
    loose = cut_m.surface_units
    if not cut_m.runs:
        return []
    bottoms = [_foot(run.right, ground, depth_m, otherwise=run.end_m) for run in cut_m.runs[:-1]]
    # Borders that would cross before the colour ends meet half-way instead.
    for index in range(1, len(bottoms)):
        if bottoms[index] < bottoms[index - 1]:
            bottoms[index] = bottoms[index - 1] = (bottoms[index] + bottoms[index - 1]) / 2.0
    # A border that leaves the section goes on beyond its end, where the panel cuts it.
    first = min(0.0, *bottoms, 0.0)
    last = max(float(ground.distance_m[-1]), *bottoms, 0.0)
    tops = [first, *(run.end_m for run in cut_m.runs[:-1]), last]
    feet = [first, *bottoms, last]
    panel = rectangle_of(frame.box.x, frame.box.y, frame.box.right, frame.box.top)
    found: list[_Fill] = []
    lenses: list[_Fill] = []

    def add(
        into: list[_Fill], run: Run, unit: str | None, outline: list[Point], *, lens: bool = False
    ) -> None:
        if unit is None or unit not in styles or len(outline) < 3:
            return
        area = Polygon(outline).buffer(0.0).intersection(panel)
        if not area.is_empty:
            into.append(
                _Fill(
                    run=run,
                    unit=unit,
                    colour=styles[unit].colour,
                    outline=tuple(outline),
                    area=area,
                    lens=lens,
                )
            )

    for index, run in enumerate(cut_m.runs):
        unit = run.unit
        top = [frame.at((d, ground.at(d))) for d in _along(ground, tops[index], tops[index + 1])]
        if unit in loose:
            add(lenses, run, unit, [*top, *_lens(run, ground, frame)], lens=True)
            # What lies under loose ground is known only where both sides are one unit.
            left = cut_m.runs[index - 1].unit if index else None
            right = cut_m.runs[index + 1].unit if index + 1 < len(cut_m.runs) else None
            unit = left if left == right and left not in loose else None
        start, end = feet[index], max(feet[index], feet[index + 1])
        bottom = [frame.at((d, ground.at(d) - depth_m)) for d in reversed(_along(ground, start, end))]
        add(found, run, unit, [*top, *bottom])
    return _joined(found) + lenses


def _joined(fills: Sequence[_Fill]) -> list[_Fill]:
    """Pieces of one unit that touch as one, such as the two sides of a lens of loose ground."""
    found: list[_Fill] = []
    for fill in fills:
        before = found[-1] if found else None
        if before is not None and before.unit == fill.unit and before.run.end_m >= fill.run.start_m - 1e-6:
            outline = unary_union([Polygon(before.outline).buffer(1e-4), Polygon(fill.outline).buffer(1e-4)])
            if isinstance(outline, Polygon):
                found[-1] = replace(
                    before,
                    run=replace(before.run, end_m=fill.run.end_m, right=fill.run.right),
                    outline=tuple((x, y) for x, y in outline.exterior.coords),
                    area=before.area.union(fill.area),
                )
                continue
        found.append(fill)
    return found


def _along(ground: Ground, start: float, end: float) -> list[float]:
    """Distances of the profile between two, both of them included."""
    inside = ground.distance_m[(ground.distance_m > start) & (ground.distance_m < end)]
    return [start, *inside.tolist(), end]


def _foot(line: Line | None, ground: Ground, depth_m: float, *, otherwise: float) -> float:
    """Distance at which a contact comes to the depth where the colour ends."""
    if line is None or line.surface or line.down is None or abs(line.dip_deg) < FLAT_DEG:
        return otherwise
    step = depth_m / 40.0
    for count in range(1, 2400):
        at = line.down.point(count * step)
        if ground.at(at[0]) - at[1] >= depth_m:
            return at[0]
    return otherwise


def _lens(run: Run, ground: Ground, frame: _Frame) -> list[Point]:
    """Base of loose ground as a thin lens of unknown depth, from right to left."""
    deep_mm = min(2.4, 0.25 * (run.end_m - run.start_m) * frame.mm_per_m)
    base: list[Point] = []
    for step in range(13):
        share = step / 12
        distance = run.end_m + share * (run.start_m - run.end_m)
        x, y = frame.at((distance, ground.at(distance)))
        base.append((x, y - deep_mm * 4.0 * share * (1.0 - share)))
    return base


def _lens_lines(cut_m: Cut, ground: Ground, frame: _Frame) -> list[Item]:
    return [
        Path(commands=polyline(_lens(run, ground, frame)), pen=PENS["section depth"])
        for run in cut_m.runs
        if run.unit in cut_m.surface_units
    ]


def _contacts(cut_m: Cut, ground: Ground, frame: _Frame, depth_m: float) -> list[Item]:
    """Lines: near the data by their certainty, long dashes deeper, short grey ones above ground."""
    items: list[Item] = []
    for line in cut_m.lines:
        fault = line.point.kind is PointKind.FAULT
        for ray, most in ((line.down, math.inf), (line.up, _ERODED_MM)):
            if ray is None:
                continue
            end = min(ray.end_m, most / _paper(ray, frame))
            stopped = ray.crossed and end == ray.end_m
            dotted = min(end, _DOTS_MM / _paper(ray, frame)) if stopped and ray is line.down else 0.0
            for start, stop, state in _split(ray, ground, depth_m, end - dotted):
                items.append(_piece(ray, start, stop, frame, _line_pen(line, state, fault=fault)))
            if dotted:
                items.append(_piece(ray, end - dotted, end, frame, PENS["contact concealed"]))
    return items


def _paper(ray: Ray, frame: _Frame) -> float:
    """Millimetres on the page for each metre run."""
    return math.hypot(ray.way[0], ray.way[1] * frame.exaggeration) * frame.mm_per_m


class _Depth(Enum):
    """Where a piece of a line lies."""

    GONE = "above ground"
    NEAR = "as deep as the colour"
    DEEP = "deeper"


def _split(ray: Ray, ground: Ground, depth_m: float, end_m: float) -> list[tuple[float, float, _Depth]]:
    """A half in pieces up to `end_m` by where they lie."""
    if end_m <= 0.0:
        return []

    def state(run: float) -> _Depth:
        at = ray.point(run)
        below = ground.at(at[0]) - at[1]
        return _Depth.GONE if below < 0.0 else _Depth.NEAR if below <= depth_m else _Depth.DEEP

    step = max(depth_m / 20.0, end_m / 400.0)
    pieces: list[tuple[float, float, _Depth]] = []
    start, run, here = 0.0, 0.0, state(min(end_m, step) / 2.0)
    while run < end_m:
        middle = min(end_m, run + step / 2.0)
        if state(middle) is not here:
            pieces.append((start, run, here))
            start, here = run, state(middle)
        run = min(end_m, run + step)
    pieces.append((start, end_m, here))
    return [piece for piece in pieces if piece[1] > piece[0]]


def _line_pen(line: Line, state: _Depth, *, fault: bool) -> Pen:
    if state is _Depth.GONE:
        return PENS["section eroded"]
    return _deep_pen(fault=fault) if state is _Depth.DEEP else _near_pen(line, fault=fault)


def _piece(ray: Ray, start: float, end: float, frame: _Frame, pen: Pen) -> Path:
    return Path(commands=polyline([frame.at(ray.point(start)), frame.at(ray.point(end))]), pen=pen)


def _near_pen(line: Line, *, fault: bool) -> Pen:
    certainty = line.point.contact.certainty if line.point.contact is not None else None
    if certainty in {None, Certainty.CERTAIN}:
        return PENS["fault certain" if fault else "contact in section"]
    assert certainty is not None
    return PENS[f"{'fault' if fault else 'contact'} {certainty.value}"]


def _deep_pen(*, fault: bool) -> Pen:
    return PENS["fault approximate" if fault else "section depth"]


# --- readings and names -------------------------------------------------------------------------------------


def _tick_turn(apparent_dip_deg: float, exaggeration: float) -> float:
    """Clockwise from page-up: tan d' = VE tan d, and down to the right for a positive dip."""
    if abs(apparent_dip_deg) >= 89.99:
        return 180.0
    steep = math.degrees(math.atan(exaggeration * math.tan(math.radians(apparent_dip_deg))))
    return 90.0 + steep


def _where(point: SectionPoint, ground: Ground) -> tuple[float, float]:
    return (
        point.distance_m,
        point.up_m if point.up_m is not None else ground.at(point.distance_m),
    )


def _tint(at: Point, fills: Sequence[_Fill]) -> str:
    """Colour under a place of the page, for the halo of a figure."""
    place = ShapelyPoint(at)
    return next((fill.colour for fill in reversed(fills) if fill.area.contains(place)), WHITE)


def _ticks(
    section: Section,
    frame: _Frame,
    ground: Ground,
    placed: _Placed,
    lines: _Placed,
    fills: Sequence[_Fill],
) -> tuple[list[Item], list[Item]]:
    """Apparent dips at the height they are carried to, and their figures."""
    ticks: list[Item] = []
    drawn: list[tuple[Point, float, SectionPoint]] = []
    for point in section.points:
        if not is_bed(point):
            continue
        at = frame.at(_where(point, ground))
        if not frame.box.y <= at[1] <= frame.box.top:
            continue
        turn = _tick_turn(point.apparent_dip_deg or 0.0, frame.exaggeration)
        sign = symbol("apparent dip", at, turn_deg=turn)
        if abs(point.carried_m) > _FAR_SHARE * section.length_m:
            sign = tuple(
                Path(commands=shape.commands, pen=PENS["apparent dip far"], fill=shape.fill)
                if isinstance(shape, Path) and shape.pen == PENS["apparent dip"]
                else shape
                for shape in sign
            )
        ticks.extend(sign)
        turn_rad = math.radians(turn)
        way = (math.sin(turn_rad), math.cos(turn_rad))
        placed.add_line(
            (at[0] - 2.6 * way[0], at[1] - 2.6 * way[1]),
            (at[0] + 2.6 * way[0], at[1] + 2.6 * way[1]),
            wide=0.9,
        )
        drawn.append((at, turn_rad, point))
    profile = [frame.at((one.distance_m, one.up_m)) for one in section.profile]
    ground_line = _Placed()
    for start, end in pairwise(profile):
        ground_line.add_line(start, end, wide=0.6)
    figures: list[Item] = []
    for at, turn_rad, point in drawn:
        text = number(abs(point.apparent_dip_deg or 0.0))
        way = (math.sin(turn_rad), math.cos(turn_rad))
        # Square to the tick below it first, then above it, then off its ends.
        spots = [
            (at[0] + along * way[0] + across * -way[1], at[1] + along * way[1] + across * way[0])
            for across in (-2.1, 2.1, -2.7, 2.7)
            for along in (0.0, 1.2, -1.2)
        ] + [(at[0] + along * way[0], at[1] + along * way[1]) for along in (4.1, -4.1)]
        boxes = [_text_box(spot, text, Face.ITALIC, SMALL) for spot in spots]
        costs = [
            placed.overlap(one) * 10.0
            + ground_line.overlap(one) * 3.0
            + lines.overlap(one) * 3.0
            + (
                0.0
                if frame.box.x <= one.x and one.right <= frame.box.right and one.y >= frame.box.y
                else 50.0
            )
            + 0.02 * rank
            for rank, one in enumerate(boxes)
        ]
        best = costs.index(min(costs))
        placed.add(boxes[best])
        figures.append(_centred(spots[best], text, Face.ITALIC, SMALL, halo=_tint(spots[best], fills)))
    return ticks, figures


def _named(section: Section) -> list[SectionPoint]:
    """Points to name over the section: places of readings, else every station."""
    chosen: dict[str, SectionPoint] = {}
    readings = [point for point in section.points if is_bed(point)]
    for point in readings or [one for one in section.points if one.kind is PointKind.STATION]:
        chosen.setdefault(_label(point), point)
    return sorted(chosen.values(), key=lambda point: point.distance_m)


def _label(point: SectionPoint) -> str:
    """Station, or the leg that a reading lies on."""
    attitude = point.attitude
    if attitude is not None and attitude.booked.spot.station is None and attitude.booked.spot.leg is not None:
        leg = attitude.booked.spot.leg
        return f"{leg.start}–{leg.end}"
    return point.label


def _side(section: Section, point: SectionPoint) -> str:
    """Metres carried and the side it came from: `59 N`."""
    if abs(point.carried_m) < 0.5:
        return "0"
    way = section.azimuth_deg + (90.0 if point.carried_m > 0.0 else -90.0)
    return f"{number(abs(point.carried_m))}{NO_BREAK}{nearest_point(wrap_360(way), points=8)}"


def spread(places: Sequence[float], widths: Sequence[float], *, low: float, high: float) -> list[float]:
    """Places in order moved as little as may be so that no two are nearer than half their widths together.

    Neighbours that push each other move as one block about the mean of what they want; what is pushed over an edge
    is drawn back in, from the edge inward.

    >>> spread([0.0, 1.0, 20.0], [4.0, 4.0, 4.0], low=-10.0, high=30.0)
    [-1.5, 2.5, 20.0]
    """
    blocks: list[tuple[float, int]] = []
    starts = [0.0][: len(places)]
    for left, right in pairwise(widths):
        starts.append(starts[-1] + (left + right) / 2.0)
    # Less the room each needs, places must only not decrease: pool neighbours that do.
    for index, place in enumerate(places):
        total, count = place - starts[index], 1
        while blocks and blocks[-1][0] / blocks[-1][1] > total / count:
            before = blocks.pop()
            total, count = total + before[0], count + before[1]
        blocks.append((total, count))
    wanted = [total / count for total, count in blocks for _ in range(count)]
    moved = [place + start for place, start in zip(wanted, starts, strict=True)]
    limit = high
    for index in range(len(moved) - 1, -1, -1):
        moved[index] = min(moved[index], limit)
        if index:
            limit = moved[index] - (widths[index] + widths[index - 1]) / 2.0
    limit = low
    for index in range(len(moved)):
        moved[index] = max(moved[index], limit)
        if index + 1 < len(moved):
            limit = moved[index] + (widths[index] + widths[index + 1]) / 2.0
    return moved


def _names(section: Section, frame: _Frame, ground: Ground, placed: _Placed) -> tuple[list[Item], int]:
    """Stations over the section with metres carried, and how many found no room."""
    box = frame.box
    named = _named(section)
    words = [(_label(point), _side(section, point)) for point in named]
    widths = [
        max(
            _NAME_PITCH_MM,
            text_width_mm(plain(name), Face.BOLD, HEAD) + 1.2,
            text_width_mm(side, Face.REGULAR, SMALL) + 1.2,
        )
        for name, side in words
    ]
    # The letters of the ends stand outside the axes, so names may use the width between them.
    kept = list(range(len(named)))
    while kept and sum(widths[index] for index in kept) > box.width:
        kept = _thinned(kept, [named[index].distance_m for index in kept])
    places = spread(
        [frame.x(named[index].distance_m) for index in kept],
        [widths[index] for index in kept],
        low=box.x + _NAME_PITCH_MM / 2 - 0.6,
        high=box.right - _NAME_PITCH_MM / 2 + 0.6,
    )
    items: list[Item] = []
    for index, x in zip(kept, places, strict=True):
        point = named[index]
        name, side = words[index]
        items += (
            Text(
                at=(x, box.top + 4.0),
                text=plain(name),
                face=Face.BOLD,
                size_pt=HEAD,
                anchor=Anchor.MIDDLE,
            ),
            Text(at=(x, box.top + 1.0), text=side, size_pt=SMALL, anchor=Anchor.MIDDLE),
        )
        foot = frame.x(point.distance_m)
        down = max(box.y, frame.y(_where(point, ground)[1]) + 0.5)
        elbow = box.top - 1.6
        if down < elbow:
            items.append(
                Path(
                    commands=polyline([(x, box.top + 0.3), (foot, elbow), (foot, down)]),
                    pen=PENS["name leader"],
                )
            )
            placed.add_line((foot, elbow), (foot, max(down, elbow - 40.0)), wide=0.3)
    return items, len(named) - len(kept)


def _thinned(kept: list[int], distances: list[float]) -> list[int]:
    """Without the one that stands nearest to a neighbour; the ends stay."""
    if len(kept) < 3:
        return kept[:-1]
    gaps = [
        min(distances[at] - distances[at - 1], distances[at + 1] - distances[at])
        for at in range(1, len(kept) - 1)
    ]
    drop = 1 + gaps.index(min(gaps))
    return kept[:drop] + kept[drop + 1 :]


def _obstacles(cut_m: Cut, frame: _Frame, depth_m: float) -> _Placed:
    """Contacts near the ground, which no figure should stand on."""
    lines = _Placed()
    for line in cut_m.lines:
        for ray in (line.down, line.up):
            if ray is not None:
                lines.add_line(
                    frame.at(ray.point(0.0)), frame.at(ray.point(min(ray.end_m, 3.0 * depth_m))), wide=0.6
                )
    return lines


def _letters(
    ground: Ground,
    frame: _Frame,
    depth_m: float,
    placed: _Placed,
    lines: _Placed,
    fills: Sequence[_Fill],
) -> list[Item]:
    """Letters of each coloured piece: in its colour, else close below it, else above ground."""
    items: list[Item] = []
    for fill in fills:
        spots = [(cost, at) for cost, at in _inside(fill) if not fill.lens]
        spots += _beside(fill, ground, frame, depth_m)
        boxes = [_text_box(at, fill.unit, Face.SEMIBOLD, LARGE) for _, at in spots]
        costs = [
            cost
            + 12.0 * placed.overlap(one)
            + 4.0 * lines.overlap(one)
            + (0.0 if one.y > frame.box.y + 0.3 and one.top < frame.box.top else 90.0)
            for (cost, _), one in zip(spots, boxes, strict=True)
        ]
        best = costs.index(min(costs))
        if costs[best] < 90.0:
            placed.add(boxes[best])
            items.append(_centred(spots[best][1], fill.unit, Face.SEMIBOLD, LARGE))
    return items


def _inside(fill: _Fill) -> list[tuple[float, Point]]:
    """Places in a coloured piece that hold its letters whole, with a cost that grows away from its middle."""
    left, low, right, high = fill.area.bounds
    if right - left < 1.0 or high - low < 1.0:
        return []
    middle = fill.area.representative_point()
    found: list[tuple[float, Point]] = []
    for column in range(1, 12):
        for row in range(1, 8):
            at = (left + (right - left) * column / 12, low + (high - low) * row / 8)
            one = _text_box(at, fill.unit, Face.SEMIBOLD, LARGE)
            if fill.area.contains(rectangle_of(one.x, one.y, one.right, one.top)):
                found.append((0.02 * math.hypot(at[0] - middle.x, at[1] - middle.y), at))
    return found


def _beside(fill: _Fill, ground: Ground, frame: _Frame, depth_m: float) -> list[tuple[float, Point]]:
    """Places under the colour and over the ground, where a piece is too small for its letters."""
    run = fill.run
    deep_mm = depth_m * frame.mm_per_m * frame.exaggeration
    under = fill.area.centroid.x
    base = frame.y(ground.at(frame.place((under, 0.0))[0])) - deep_mm
    found = [] if fill.lens else [(3.0, (under, base - 2.4)), (4.0, (under, base - 4.0))]
    for share in (0.5, 0.3, 0.7):
        distance = run.start_m + share * (run.end_m - run.start_m)
        x, y = frame.at((distance, ground.at(distance)))
        found += [(3.2, (x, y + 2.6)), (4.2, (x, y + 4.2))]
    return found


# --- words --------------------------------------------------------------------------------------------------


def _carried(section: Section, geology: Geology) -> str:
    if section.projection is Projection.PLUNGE and geology.fold_axis is not None:
        axis = geology.fold_axis
        return f"down the plunge of the axis ({arrow(axis.plunge_deg, axis.trend_deg)})"
    if section.projection is Projection.STRIKE:
        return "along strike"
    return "square to the line"


def _notes(
    section: Section,
    geology: Geology,
    scale: int,
    depth_m: float,
    frame: _Frame,
    untold: int,
    cut_m: Cut,
) -> tuple[list[str], str]:
    """What may stand below the panel, the fullest first, and what stands in it."""
    factor = section.exaggeration
    ratio = f"Section 1:{number(scale) if scale >= 10_000 else scale}"
    if abs(factor - 1.0) < 1e-9:
        words = f"{ratio}, no vertical exaggeration"
    else:
        words = (
            f"{ratio}, heights {number(factor, places=0 if factor == round(factor) else 1)} times:"
            " dips drawn steeper, thicknesses not true"
        )
    sides = sorted({_side(section, point).split(NO_BREAK)[-1] for point in _named(section)} - {"0"})
    parts = [f". Stations carried {_carried(section, geology)}"]
    if any(is_bed(point) for point in section.points):
        parts.append("; ticks are apparent dips")
    if sides:
        parts.append(f"; {', '.join(sides)}: metres carried")
    last = "." + (f" {untold} without room for their names." if untold else "")
    # Where the paper is narrow, what the drawing shows by itself goes first.
    notes = [words + "".join(parts[:count]) + last for count in range(len(parts), -1, -1)]
    construction = ""
    if any(line.down is not None for line in cut_m.lines):
        construction = (
            "contacts drawn straight, along their own apparent dip or the nearest bed’s;"
            f" colour to {metres(depth_m)}, lines to {metres(frame.floor_m)}"
        )
    return notes, construction


def _construction(words: str, frame: _Frame, cut_m: Cut, placed: _Placed) -> list[Item]:
    """How the lines were made, in the emptiest place along the floor."""
    if not words:
        return []
    first, _, rest = words.partition("; ")
    lines = [first + ";", rest]
    wide = max(text_width_mm(line, Face.ITALIC, SMALL) for line in lines)
    if wide + 2.0 > frame.box.width:
        return []
    obstacles = _Placed()
    for line in cut_m.lines:
        if line.down is not None:
            obstacles.add_line(frame.at(line.down.point(0.0)), frame.at(line.down.point(line.down.end_m)))
    best: tuple[float, float] | None = None
    span = frame.box.width - wide - 2.0
    for step in range(13):
        left = frame.box.x + 1.0 + span * step / 12
        area = Box(x=left, y=frame.box.y + 0.6, width=wide, height=6.2)
        cost = obstacles.overlap(area) + 5.0 * placed.overlap(area)
        if best is None or cost < best[0]:
            best = (cost, left)
    assert best is not None
    return [
        Text(
            at=(best[1] + wide / 2, frame.box.y + 4.2 - 3.1 * index),
            text=line,
            face=Face.ITALIC,
            size_pt=SMALL,
            anchor=Anchor.MIDDLE,
            halo=WHITE,
        )
        for index, line in enumerate(lines)
    ]


def _note(notes: Sequence[str], frame: _Frame, free_mm: float) -> list[Item]:
    """One line centred under the panel; it may be wider than the section, but not than what is free."""
    left = frame.box.x - ROOM_BESIDE_MM
    middle = frame.box.x + frame.box.width / 2
    # As wide as the page is to the left of the middle, where the section stands in the middle of its panel.
    room = max(free_mm + 2.0 * ROOM_BESIDE_MM, min(2.0 * (middle - _LEFT_MM), _NOTE_MM))
    fitting = (note for note in notes if text_width_mm(note, Face.REGULAR, SMALL) <= room)
    words = next(fitting, cut(notes[-1], Face.REGULAR, SMALL, room))
    half = text_width_mm(words, Face.REGULAR, SMALL) / 2
    middle = max(middle, min(left, _LEFT_MM) + half) if half > middle - left else middle
    return [Text(at=(middle, frame.box.y - 6.6), text=words, size_pt=SMALL, anchor=Anchor.MIDDLE)]


def _without_heights(
    section: Section,
    geology: Geology,
    *,
    box: Box,
    mm_per_m: float,
    scale: int,
) -> tuple[Item, ...]:
    """Readings and contacts on a level line, since no height was measured."""
    drawn = Box(x=box.x, y=box.y, width=section.length_m * mm_per_m, height=box.height)
    tall_m = drawn.height / (mm_per_m * section.exaggeration)
    frame = _Frame(
        box=drawn,
        mm_per_m=mm_per_m,
        exaggeration=section.exaggeration,
        floor_m=-0.5 * tall_m,
        top_m=0.5 * tall_m,
    )
    level = frame.y(0.0)
    ends = (0.0, section.length_m)
    flat = replace(
        section,
        profile=tuple(ProfilePoint(distance_m=distance, up_m=0.0) for distance in ends),
        points=tuple(replace(point, up_m=None) for point in section.points),
    )
    ground = ground_of(flat)
    assert ground is not None
    placed = _Placed()
    contacts: list[Item] = []
    for point in flat.points:
        if point.contact is not None:
            kind = "fault" if point.kind is PointKind.FAULT else "contact"
            certainty = point.contact.certainty or Certainty.CERTAIN
            x = frame.x(point.distance_m)
            contacts.append(
                Path(
                    commands=polyline([(x, level), (x, level - 5.0)]),
                    pen=PENS[f"{kind} {certainty.value}"],
                )
            )
            placed.add_line((x, level), (x, level - 5.0))
    ticks, figures = _ticks(flat, frame, ground, placed, _Placed(), ())
    names, untold = _names(flat, frame, ground, placed)
    notes, _ = _notes(section, geology, scale, 0.0, frame, untold, Cut(lines=(), runs=()))
    return (
        Path(commands=polyline([(drawn.x, level), (drawn.right, level)]), pen=PENS["level unknown"]),
        *_bends(section, frame),
        *contacts,
        *ticks,
        *figures,
        *_distances(section, frame),
        *names,
        *_ends(section, frame),
        Text(
            at=(drawn.x + drawn.width / 2, drawn.y + 1.6),
            text="no heights measured: readings on a level line",
            face=Face.ITALIC,
            size_pt=SMALL,
            anchor=Anchor.MIDDLE,
        ),
        *_note(notes, frame, box.width),
    )
