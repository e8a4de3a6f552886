"""How the ground lies in a map panel: where the window is laid, and whether everything has its room."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from traverse.ground.records import Traverse
from traverse.location.records import Frame, PlaceKind, Survey
from traverse.record import record
from traverse.settled import settled
from traverse.sheet.map.north import HEIGHT_MM, WIDTH_MM
from traverse.sheet.paper.page import Box, MapFrame
from traverse.sheet.paper.window import Window, convergence_of
from traverse.structure.records import Geology

LABEL_MM = 4.0
"""Room for labels about the band."""
_SECTION_END_MM = 5.5
"""Room for the letter beyond an end of the section line."""
_LINE_CLEAR_MM = 2.0


@record(frozen=True, slots=True, kw_only=True)
class Framing:
    """How the ground lies in a map panel at a scale."""

    window: Window
    norths: Box
    """Where the diagram of the norths stands."""
    fits: bool
    """Whether band, section line and norths have the room they want."""
    wide_mm: float
    """Width of what must fit, with its labels."""
    high_mm: float
    note_mm: float
    """Height under the neat line that is kept for what is not on the map; a handout has the line of its key there."""

    @property
    def holds(self) -> bool:
        """Whether band and section line have it, be there a place for the norths or not."""
        box = self.window.box
        return self.wide_mm <= box.width + _SAME and self.high_mm <= box.height + _SAME


def frame_map(
    trav: Traverse,
    *,
    box: Box,
    scale: int,
    beside: tuple[float, float] = (5.5, 5.5),
    walk: BaseGeometry | None = None,
    note: float = 0.0,
) -> Framing:
    """Lay the window over the walk: in the middle, or moved so that a corner is left for the norths.

    `beside` is the room, in millimetres, that the panel of the first section wants to the left and right of its ends.
    `walk` is one of `walks_to_show`; without it the first that fits. `note` is the height of the line under the panel.
    """
    if walk is None:
        for one in walks_to_show(trav.survey, trav.geology):
            framing = frame_map(trav, box=box, scale=scale, beside=beside, walk=one, note=note)
            if framing.fits:
                break
        return framing
    half_m = trav.ground.width.half_m
    per_m = 1000.0 / scale
    sections = _lines(trav)
    left, lower, right, upper = extent(trav, scale=scale, beside=beside, walk=walk)
    slack_x = box.width / per_m - (right - left)
    slack_y = box.height / per_m - (upper - lower)
    room = slack_x >= -1e-6 and slack_y >= -1e-6
    lines = shapely.union_all(sections) if sections else None
    sights = [
        (one.east_m, one.north_m) for one in trav.survey.places.values() if one.kind is PlaceKind.SIGHTED
    ]
    landmarks = shapely.MultiPoint(sights) if sights else None
    best: tuple[tuple[float, ...], Window, Box] | None = None
    for shift_x, shift_y in _SHIFTS if room else _SHIFTS[:1]:
        east = math.floor(
            (left + right) / 2 - box.width / per_m / 2 + shift_x * max(slack_x, 0.0) / 2 + _SAME
        )
        north = math.floor(
            (lower + upper) / 2 - box.height / per_m / 2 + shift_y * max(slack_y, 0.0) / 2 + _SAME
        )
        window = Window(
            box=box,
            scale=scale,
            east_m=float(east),
            north_m=float(north),
            convergence_deg=convergence_of(trav.survey.frame.convergence_deg),
        )
        for order, corner in enumerate(corners(box)):
            there = shapely.box(
                east + (corner.x - box.x) / per_m,
                north + (corner.y - box.y) / per_m,
                east + (corner.right - box.x) / per_m,
                north + (corner.top - box.y) / per_m,
            )
            away = (there.distance(walk) - half_m) * per_m
            if lines is not None:
                away = min(away, there.distance(lines) * per_m - _LINE_CLEAR_MM)
            if landmarks is not None:
                away = min(away, there.distance(landmarks) * per_m - LABEL_MM)
            over = max(0.0, -settled(away, 2))
            cost = (over, abs(shift_x) + abs(shift_y), -settled(min(away, 12.0), 1), float(order))
            if best is None or cost < best[0]:
                best = cost, window, corner
        if best is not None and best[0][0] == 0.0:
            break
    assert best is not None
    return Framing(
        window=best[1],
        norths=best[2],
        fits=room and best[0][0] == 0.0,
        wide_mm=(right - left) * per_m,
        high_mm=(upper - lower) * per_m,
        note_mm=note,
    )


def extent(
    trav: Traverse, *, scale: int, walk: BaseGeometry, beside: tuple[float, float] = (5.5, 5.5)
) -> tuple[float, float, float, float]:
    """Left, lower, right and upper edge of what a map must hold at a scale, with its labels, in metres."""
    per_m = 1000.0 / scale
    # The band's own bounds are those of the walk and half its width about them.
    rims = [_grown(walk.bounds, trav.ground.width.half_m + LABEL_MM / per_m)]
    rims += [_grown(one.bounds, _SECTION_END_MM / per_m) for one in _lines(trav)]
    if trav.geology.sections and len(trav.geology.sections[0].line) == 2:
        (x0, y0), (x1, y1) = trav.geology.sections[0].line
        rims.append((x0 - beside[0] / per_m, min(y0, y1), x1 + beside[1] / per_m, max(y0, y1)))
    left, lower, right, upper = zip(*rims, strict=True)
    return min(left), min(lower), max(right), max(upper)


def _lines(trav: Traverse) -> list[LineString]:
    return [LineString(one.line) for one in trav.geology.sections if len(one.line) > 1]


_SAME = 1e-6
_SHIFTS = ((0, 0), (-1, 0), (1, 0), (0, 1), (0, -1), (-1, 1), (1, 1), (-1, -1), (1, -1))


def corners(box: Box) -> tuple[Box, ...]:
    """Places for the norths, the lower right first."""
    inner = box.inset(2.2)  # clear of the ticks of the grid
    wide, high = min(WIDTH_MM, inner.width), min(HEIGHT_MM, inner.height)
    return tuple(
        Box(x=x, y=y, width=wide, height=high)
        for x, y in (
            (inner.right - wide, inner.y),
            (inner.x, inner.y),
            (inner.right - wide, inner.top - high),
            (inner.x, inner.top - high),
        )
    )


def walks_to_show(survey: Survey, geology: Geology) -> tuple[BaseGeometry, ...]:
    """What a map should hold, in metres: the walk with what was sighted from it, where that takes no room; else the walk."""
    walk = walked(survey, geology)
    sighted = [(one.east_m, one.north_m) for one in survey.places.values() if one.kind is PlaceKind.SIGHTED]
    return (shapely.GeometryCollection([walk, shapely.MultiPoint(sighted)]), walk) if sighted else (walk,)


def walked(survey: Survey, geology: Geology) -> BaseGeometry:
    """Legs and places in metres, and what was seen beside them.

    Points that were only sighted are none of it: one far off would make the map a stamp, and the line under it tells the way.
    """
    lines: list[tuple[tuple[float, float], tuple[float, float]]] = []
    for leg in survey.legs:
        start = survey.places.get(leg.booked.start)
        if start is not None:
            end = (start.east_m + leg.adjusted.east_m, start.north_m + leg.adjusted.north_m)
            lines.append(((start.east_m, start.north_m), end))
    places = survey.places.values()
    there = [one for one in places if one.kind is not PlaceKind.SIGHTED] or places
    points = [(one.east_m, one.north_m) for one in there]
    points += [(one.place.east_m, one.place.north_m) for one in geology.attitudes]
    points += [point[:2] for line in geology.contact_lines for part in line.parts for point in part.points]
    legs = np.asarray(shapely.linestrings(np.array(lines, dtype=np.float64).reshape(-1, 2, 2)), dtype=object)
    addresses = np.asarray(shapely.points(np.array(points, dtype=np.float64).reshape(-1, 2)), dtype=object)
    return shapely.GeometryCollection([*legs, *addresses])


def walked_band(trav: Traverse, *, beyond_m: float = 0.0) -> BaseGeometry:
    """The ground within half the band's width of what was walked, and `beyond_m` more, in metres.

    Each piece is widened by itself: all in one grow with the square of a long walk.
    """
    pieces = shapely.get_parts(walked(trav.survey, trav.geology))
    return shapely.union_all(shapely.buffer(pieces, trav.ground.width.half_m + beyond_m))


def _grown(bounds: tuple[float, ...], by: float) -> tuple[float, float, float, float]:
    return bounds[0] - by, bounds[1] - by, bounds[2] + by, bounds[3] + by


def map_frame(frame: Frame, window: Window) -> MapFrame:
    """The window of a map with its corners by latitude and longitude, where its grid has them."""
    local = MapFrame(box=window.box, west_m=window.east_m, south_m=window.north_m, scale=window.scale)
    if frame.system is None or frame.epsg is None:
        return local
    west, south = local.west_m, local.south_m
    east, north = west + local.wide_m, south + local.high_m
    lon, lat = frame.system.own_lon_lat(
        np.array([west, west, east, east]), np.array([south, north, north, south])
    )
    if not (np.isfinite(lon).all() and np.isfinite(lat).all()):
        return local
    corners = zip(lat.tolist(), lon.tolist(), strict=True)
    return replace(
        local,
        epsg=frame.epsg,
        wkt=frame.system.wkt,
        corners_deg=tuple((settled(one, 10), settled(other, 10)) for one, other in corners),
    )
