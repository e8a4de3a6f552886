"""Names on the map: stations, letters of the units, hazards, samples and photos."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from traverse.record import record
from traverse.sheet.band import Area
from traverse.sheet.fonts import width_mm
from traverse.sheet.labels import Taken, around, boxes_at, label, pushed, text_size
from traverse.sheet.page import Anchor, Face, Item, Path, Point, Text, polyline
from traverse.sheet.style import LARGE, PENS, SMALL, UnitStyle
from traverse.sheet.symbols import symbol

_RINGS = (1.0, 1.5, 2.1, 3.0, 4.0, 5.0, 6.5, 8.0)
_LEADER_FROM_MM = 3.0
_THING_RINGS = (5.0, 6.5, 8.0, 10.0, 12.0, 14.5, 17.0, 20.0, 24.0)
_LETTER_CLEAR_MM = 2.2
"""Farther from everything than this is no better for a letter."""
_SECOND_LETTER_MM2 = 430.0
_LIKE_A_BAR_DEG = 22.0


class Grounds:
    """The colour under a point, for halos."""

    def __init__(self, areas: Sequence[Area], styles: Mapping[str, UnitStyle]) -> None:
        self._colours: list[str] = []
        parts: list[Polygon] = []
        for area in areas:
            for part in area.parts:
                parts.append(part)
                style = styles.get(area.unit or "")
                self._colours.append(style.colour if style is not None else "#ffffff")
        self._tree = shapely.STRtree(parts)

    def colour(self, at: Point) -> str | None:
        """Colour of the unit under a point; None on white ground."""
        found = self._tree.query(shapely.Point(at), predicate="intersects")
        return self._colours[int(found[0])] if len(found) else None


@record(frozen=True, kw_only=True)
class Named:
    """Labels drawn, and what found no place."""

    items: tuple[Item, ...]
    left: tuple[str, ...] = ()
    signs: tuple[str, ...] = ()


def name_stations(
    places: Sequence[tuple[str, Point]], middle: Point, taken: Taken, grounds: Grounds
) -> Named:
    """Station numbers, outward from the middle of the walk first; farther off with a leader."""
    items: list[Item] = []
    left: list[str] = []
    for name, at in places:
        size = text_size(name, Face.BOLD, SMALL)
        outward = math.degrees(math.atan2(at[0] - middle[0], at[1] - middle[1]))
        centres = [pushed(at, turn, ring, size) for ring in _RINGS for turn in around(outward)]
        near = sum(1 for ring in _RINGS if ring < _LEADER_FROM_MM) * len(around(0.0))
        boxes = boxes_at(centres, size)
        free = taken.free(boxes[:near])
        chosen = int(np.argmax(free)) if free.any() else -1
        if chosen < 0:
            free = taken.free(boxes[near:], leader_from=at)
            chosen = near + int(np.argmax(free)) if free.any() else -1
        if chosen < 0:
            left.append(name)
            continue
        centre = centres[chosen]
        taken.add(boxes[chosen])
        if chosen >= near:
            end = _meets(centre, at, size)
            items.append(Path(commands=polyline([at, end]), pen=PENS["leader"]))
            taken.block(LineString([at, end]).buffer(0.15, quad_segs=1))
        items.append(label(name, centre, face=Face.BOLD, size_pt=SMALL, halo=grounds.colour(centre)))
    return Named(items=tuple(items), left=tuple(left))


def _meets(centre: Point, at: Point, size: tuple[float, float]) -> Point:
    """Where the line from a place to a label meets the label's box."""
    dx, dy = at[0] - centre[0], at[1] - centre[1]
    share = min(
        size[0] / 2 / abs(dx) if dx else math.inf,
        size[1] / 2 / abs(dy) if dy else math.inf,
        1.0,
    )
    return centre[0] + dx * share, centre[1] + dy * share


def letter_areas(areas: Sequence[Area], edge: BaseGeometry, taken: Taken, grounds: Grounds) -> Named:
    """Letters of the units in their areas, smallest first; outside with a leader where none holds them."""
    items: list[Item] = []
    left: list[str] = []
    parts = [
        (part, area.unit + ("?" if area.queried else ""))
        for area in areas
        if area.unit is not None
        for part in area.parts
    ]
    parts.sort(key=lambda one: (one[0].area, one[0].bounds))
    for part, letters in parts:
        size = text_size(letters, Face.SEMIBOLD, LARGE)
        inside = _best_inside(part, size, taken)
        if inside is not None:
            items.append(_letters(letters, inside, grounds))
            taken.add(boxes_at([inside], size)[0])
            if part.area > _SECOND_LETTER_MM2:
                second = _best_inside(part, size, taken, away_from=inside)
                if second is not None:
                    items.append(_letters(letters, second, grounds))
                    taken.add(boxes_at([second], size)[0])
            continue
        if part.area < 1.0:
            continue
        found = _outside(part, size, edge, taken)
        if found is None:
            left.append(letters)
            continue
        centre, inner = found
        end = _meets(centre, inner, size)
        taken.add(boxes_at([centre], size)[0])
        items.append(Path(commands=polyline([end, inner]), pen=PENS["leader"]))
        taken.block(LineString([end, inner]).buffer(0.15, quad_segs=1))
        items.append(_letters(letters, centre, grounds))
    return Named(items=tuple(items), left=tuple(left))


def _letters(letters: str, centre: Point, grounds: Grounds) -> Text:
    return label(letters, centre, face=Face.SEMIBOLD, size_pt=LARGE, halo=grounds.colour(centre))


def _best_inside(
    part: Polygon, size: tuple[float, float], taken: Taken, *, away_from: Point | None = None
) -> Point | None:
    """The point of an area whose box is inside it and free, and farthest from its edge up to a limit."""
    left, lower, right, upper = part.bounds
    step = max(0.9, math.sqrt(part.area / 220.0))
    columns = np.arange(left + size[0] / 2, right - size[0] / 2 + 1e-9, step)
    rows = np.arange(lower + size[1] / 2, upper - size[1] / 2 + 1e-9, step)
    if not len(columns) or not len(rows):
        return None
    grid = np.stack(np.meshgrid(columns, rows), axis=-1).reshape(-1, 2)
    shapely.prepare(part)
    grid = grid[shapely.contains_xy(part, grid[:, 0], grid[:, 1])]
    if not len(grid):
        return None
    boxes = np.hstack([grid - np.array(size) / 2, grid + np.array(size) / 2])
    shapes = shapely.box(boxes[:, 0], boxes[:, 1], boxes[:, 2], boxes[:, 3])
    held = shapely.contains(part, shapes)
    grid, boxes = grid[held], boxes[held]
    if not len(grid):
        return None
    free = taken.free(boxes)
    grid = grid[free]
    if not len(grid):
        return None
    shapes = shapes[held][free]
    clear = np.minimum(
        shapely.distance(part.boundary, shapes), taken.clearance(boxes[free], _LETTER_CLEAR_MM)
    )
    clear = np.minimum(clear, _LETTER_CLEAR_MM)
    middle = np.array(part.centroid.coords[0])
    off = np.hypot(*(grid - middle).T)
    if away_from is not None:
        apart = np.hypot(*(grid - np.array(away_from)).T)
        if apart.max() < 18.0:
            return None
        score = np.minimum(apart, 30.0) + 8.0 * clear
    else:
        score = 10.0 * clear - 0.05 * off
    best = grid[int(np.argmax(np.round(score, 6)))]
    return float(best[0]), float(best[1])


def _outside(
    part: Polygon, size: tuple[float, float], edge: BaseGeometry, taken: Taken
) -> tuple[Point, Point] | None:
    """Place of a label off the band with a leader to a point inside the area."""
    point = part.representative_point()
    inner = (float(point.x), float(point.y))
    centres = [pushed(inner, turn, ring, size) for ring in _THING_RINGS for turn in around(0.0)]
    boxes = boxes_at(centres, size)
    shapes = shapely.box(boxes[:, 0], boxes[:, 1], boxes[:, 2], boxes[:, 3])
    off = ~shapely.intersects(edge, shapes)
    free = np.zeros(len(centres), dtype=bool)
    if off.any():
        free[off] = taken.free(boxes[off], leader_from=inner)
    return (centres[int(np.argmax(free))], inner) if free.any() else None


@record(frozen=True, kw_only=True)
class Thing:
    """A hazard, sample or photo to be shown beside its place."""

    sign: str
    at: Point
    text: str
    turn_deg: float = 0.0
    """Of a photo's view, on the page."""
    strikes_deg: tuple[float, ...] = ()
    """On the page, of the bars at the same place, which a leader must not look like."""


def place_things(things: Sequence[Thing], edge: BaseGeometry | None, middle: Point, taken: Taken) -> Named:
    """Icon and words off the band, with a leader from the place to the icon."""
    items: list[Item] = []
    left: list[str] = []
    signs: dict[str, None] = {}
    crowded = len(things) > _MOST_THINGS
    for thing in things:
        # Where there are very many, only hazards are shown: the table has the rest.
        found = None if crowded and thing.sign != "hazard" else _beside(thing, edge, middle, taken)
        if found is None:
            left.append(thing.text)
            continue
        icon, to_right = found
        size = text_size(thing.text, Face.REGULAR, SMALL)
        items.append(Path(commands=polyline([thing.at, _short_of(thing.at, icon, 1.2)]), pen=PENS["leader"]))
        items += symbol(thing.sign, icon, turn_deg=thing.turn_deg)
        signs[thing.sign] = None
        x = icon[0] + (_ICON_MM if to_right else -_ICON_MM)
        items.append(
            Text(
                at=(x, icon[1] - size[1] / 2 + 0.2),
                text=thing.text,
                size_pt=SMALL,
                anchor=Anchor.START if to_right else Anchor.END,
            )
        )
    return Named(items=tuple(items), left=tuple(left), signs=tuple(signs))


_MOST_THINGS = 60
_ICON_MM = 2.3
"""From the middle of an icon to its words."""


def _short_of(start: Point, end: Point, gap: float) -> Point:
    length = math.dist(start, end)
    share = max(0.0, length - gap) / length if length else 0.0
    return start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share


def _beside(
    thing: Thing, edge: BaseGeometry | None, middle: Point, taken: Taken
) -> tuple[Point, bool] | None:
    """Middle of the icon, and whether its words stand to the right of it."""
    outward = math.degrees(math.atan2(thing.at[0] - middle[0], thing.at[1] - middle[1]))
    turns = around(outward)
    wide = width_mm(thing.text, Face.REGULAR, SMALL)
    reach = 4.4 if thing.sign == "photo" else 1.7
    icons: list[Point] = []
    costs: list[float] = []
    rows: list[tuple[float, float, float, float]] = []
    for ring in _THING_RINGS:
        for index, turn in enumerate(turns):
            sin, cos = math.sin(math.radians(turn)), math.cos(math.radians(turn))
            icon = (thing.at[0] + ring * sin, thing.at[1] + ring * cos)
            right = icon[0] >= thing.at[0]
            near, far = (1.7, _ICON_MM + wide + 0.3)
            left_mm, right_mm = (near, far) if right else (far, near)
            up = max(1.7, reach * math.cos(math.radians(thing.turn_deg))) if thing.sign == "photo" else 1.7
            down = max(1.7, -reach * math.cos(math.radians(thing.turn_deg))) if thing.sign == "photo" else 1.7
            rows.append((icon[0] - left_mm, icon[1] - down, icon[0] + right_mm, icon[1] + up))
            icons.append(icon)
            like_bar = any(
                abs((turn - strike + 90.0) % 180.0 - 90.0) < _LIKE_A_BAR_DEG for strike in thing.strikes_deg
            )
            costs.append(ring + 0.15 * index + (12.0 if like_bar else 0.0))
    boxes = np.array(rows, dtype=np.float64)
    off = np.ones(len(rows), dtype=bool)
    if edge is not None:
        shapely.prepare(edge)
        off = ~shapely.intersects(edge, shapely.box(boxes[:, 0], boxes[:, 1], boxes[:, 2], boxes[:, 3]))
    free = np.zeros(len(rows), dtype=bool)
    # Off the band; where that is out of reach, on it.
    for wanted in (off, ~off):
        rest = np.flatnonzero(wanted)
        if len(rest):
            free[rest] = taken.free(boxes[rest], leader_from=thing.at)
        if free.any():
            break
    else:
        return None
    # A leader that runs over a sign costs a detour; the first millimetres are on the station's own.
    rest = np.flatnonzero(free)
    starts = [_short_of(icons[int(index)], thing.at, 2.8) for index in rest]
    leaders = shapely.linestrings(
        [(start, icons[int(index)]) for start, index in zip(starts, rest, strict=True)]
    )
    for at, hit in zip(rest, taken.drawn_on(leaders), strict=True):
        costs[int(at)] += 5.0 if hit else 0.0
    chosen = min((int(index) for index in rest), key=lambda index: (costs[index], index))
    icon = icons[chosen]
    taken.add(boxes[chosen])
    taken.block(LineString([thing.at, icon]).buffer(0.15, quad_segs=1))
    return icon, icon[0] >= thing.at[0]
