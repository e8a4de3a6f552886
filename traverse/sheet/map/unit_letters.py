"""Letters of the units in their areas on the map."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from traverse.length import Lengths
from traverse.settled import settled_all
from traverse.sheet.map.contacts import NARROW_MM
from traverse.sheet.map.halo import Grounds
from traverse.sheet.map.on_page import DrawnArea, DrawnBody
from traverse.sheet.paper.growing import shapes_of
from traverse.sheet.paper.labels import RINGS_OFF, Named, Taken, boxes_at, label, meets, ringed, text_size
from traverse.sheet.paper.page import Face, Item, Path, Point, Role, Text, polyline
from traverse.sheet.paper.style import HEAD, LARGE, PENS
from traverse.sheet.paper.words import NO_BREAK

_LETTER_CLEAR_MM = 2.2
"""Farther from everything than this is no better for a letter."""
_SECOND_LETTER_MM2 = 430.0
_RIM_MM = 1.5
"""A leader from outside ends this far inside the rim of its area."""
_RIM_POINTS = 16
_INSIDE_MM = 1.6
_OFF_SIGNS_MM = 0.6
_ACROSS_MM = 0.5
"""A leader over less of the ground of others does not count as one across it."""
_ON_SIGN_MM = 1.0
"""A leader over a sign is as bad as one over so much of the ground of others."""
_TRIED_AT_ONCE = 24
"""Places of a letter of which it is asked together what is drawn near them."""


def letter_areas(areas: Sequence[DrawnArea], edge: BaseGeometry, taken: Taken, grounds: Grounds) -> Named:
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
        held = ((size_pt, text_size(letters, Face.SEMIBOLD, size_pt)) for size_pt in (LARGE, HEAD))
        inside = next(
            ((pt, size, at) for pt, size in held if (at := _best_inside(part, size, taken)) is not None), None
        )
        if inside is not None:
            size_pt, size, first = inside
            second = (
                _best_inside(part, size, taken, away_from=first) if part.area > _SECOND_LETTER_MM2 else None
            )
            for at in (first, second):
                if at is not None:
                    items.append(_letters(letters, at, grounds, size_pt))
                    taken.add(boxes_at([at], size)[0])
            continue
        if part.area < 1.0:
            continue
        size = text_size(letters, Face.SEMIBOLD, LARGE)
        found = _outside(part, size, edge, taken)
        if found is None:
            left.append(letters)
            continue
        centre, inner = found
        end = meets(centre, inner, size)
        taken.add(boxes_at([centre], size)[0])
        items.append(Path(commands=polyline([end, inner]), pen=PENS["leader"]))
        taken.block(LineString([end, inner]).buffer(0.15, quad_segs=1))
        items.append(_letters(letters, centre, grounds, LARGE))
    return Named(items=tuple(items), left=tuple(left))


def lettered(one: DrawnBody, lengths: Lengths) -> DrawnArea:
    """The strip of a narrow body, for its letters: `Db 2 m`; `Db, 2 m walked` where its walls were not measured."""
    body = one.body
    known = body.width_m is not None
    width = f"{NO_BREAK}{lengths.printed_finely(body.walked_m if body.width_m is None else body.width_m)}"
    words = f"{body.unit}{width}" if known else f"{body.unit},{width} walked"
    strip = one.line.buffer(NARROW_MM, quad_segs=1)
    return DrawnArea(unit=words, covered=False, queried=False, parts=(strip,))


def _just_inside(part: Polygon, start: Point, inner: Point) -> Point:
    """Where a leader to a point inside an area ends: as soon as it plainly lies in it, short of legs and stations."""
    line = LineString([start, inner])
    entry = line.length - line.intersection(part).length
    end = line.interpolate(min(line.length, max(0.0, entry) + _INSIDE_MM))
    return (end.x, end.y) if part.contains(end) else inner


def _letters(letters: str, centre: Point, grounds: Grounds, size_pt: float) -> Text:
    size = text_size(letters, Face.SEMIBOLD, size_pt)
    found = label(letters, centre, face=Face.SEMIBOLD, size_pt=size_pt, halo=grounds.halo(centre, size))
    return replace(found, role=Role.UNIT_LETTERS)


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
    boxes = boxes_at(grid, size)
    shapes = shapes_of(boxes)
    held = shapely.contains(part, shapes)
    grid, boxes = grid[held], boxes[held]
    if not len(grid):
        return None
    free = taken.free(boxes)
    grid = grid[free]
    if not len(grid):
        return None
    boxes, shapes = boxes[free], shapes[held][free]
    own = np.minimum(shapely.distance(part.boundary, shapes), _LETTER_CLEAR_MM)
    if away_from is None:
        off = np.hypot(*(grid - np.array(part.centroid.coords[0])).T)
        weight, worth = 10.0, -0.05 * off
    else:
        apart = np.hypot(*(grid - np.array(away_from)).T)
        if apart.max() < 18.0:
            return None
        weight, worth = 8.0, np.minimum(apart, 30.0)
    # By its own area each is worth so much at most; what else is drawn near it is asked for the most promising alone.
    most = np.round(weight * own + worth, 6)
    order = np.argsort(-most, kind="stable")
    best, place = -math.inf, 0
    for start in range(0, len(order), _TRIED_AT_ONCE):
        tried = order[start : start + _TRIED_AT_ONCE]
        if most[tried[0]] < best:
            break
        clear = np.minimum(own[tried], taken.clearance(boxes[tried], _LETTER_CLEAR_MM))
        scores = np.round(weight * clear + worth[tried], 6)
        score, first = float(scores.max()), int(tried[scores == scores.max()].min())
        # Of those that are worth as much the first of the grid.
        if (score, -first) > (best, -place):
            best, place = score, first
    return float(grid[place, 0]), float(grid[place, 1])


def _outside(
    part: Polygon, size: tuple[float, float], edge: BaseGeometry, taken: Taken
) -> tuple[Point, Point] | None:
    """Place of a label off the band with a leader to a point just inside the area."""
    shapely.prepare(edge)
    rim = part.buffer(-_RIM_MM).boundary
    points = [part.representative_point()]
    if rim.length > 0.0:
        points += [rim.interpolate(share / _RIM_POINTS, normalized=True) for share in range(_RIM_POINTS)]
    kept: tuple[float, tuple[Point, Point]] | None = None
    others = edge.difference(part)
    for point in points:
        inner = (float(point.x), float(point.y))
        boxes = boxes_at(ringed(inner, 0.0, RINGS_OFF, size), size)
        boxes = boxes[~shapely.intersects(edge, shapes_of(boxes))]
        boxes = boxes[taken.free(boxes, leader_from=inner)]
        ends: list[tuple[Point, Point]] = []
        for left, lower, right, upper in boxes.tolist():
            centre = ((left + right) / 2, (lower + upper) / 2)
            ends.append((centre, _just_inside(part, meets(centre, inner, size), inner)))
        if not ends:
            continue
        # A leader that runs over a sign, or ends beside one, would be read with it.
        leaders = np.array(
            [LineString([meets(centre, end, size), end]) for centre, end in ends], dtype=object
        )
        near = taken.drawn_on(shapely.buffer(leaders, _OFF_SIGNS_MM, quad_segs=1))
        # One across the ground of others is long, and looks like a line of the map.
        across = settled_all(shapely.length(shapely.intersection(leaders, others)), 3)
        clear = ~near & (across < _ACROSS_MM)
        if clear.any():
            # Nor do letters stand on a line that goes on under them, where there is another place.
            return ends[int(np.argmin(2 * ~clear + taken.discouraged(shapes_of(boxes))))]
        costs = _ON_SIGN_MM * taken.drawn_on(leaders) + across
        best = int(np.argmin(costs))
        if kept is None or costs[best] < kept[0]:
            kept = float(costs[best]), ends[best]
    return None if kept is None else kept[1]
