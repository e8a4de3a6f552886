"""The ground of the map in a window: laid in metres before, here on the page in millimetres, cut to the window."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from traverse.ground.records import Band, ContactPiece, CrossedContact, HowSeen, MapGround, Traverse
from traverse.record import record
from traverse.shapes import areas_in
from traverse.sheet.paper.page import Command, Point, polyline
from traverse.sheet.paper.window import Window
from traverse.structure.readings.records import PlacedContact
from traverse.structure.walk.records import Body

_RIM_MM = 0.2
_RIM_CORNERS = 12
_SPECK_MM2 = 0.02
"""Less of an area than this in the window is not drawn."""

Shape = TypeVar("Shape", bound=BaseGeometry)


@record(frozen=True, kw_only=True)
class DrawnArea:
    """Ground of one unit in the window."""

    unit: str | None
    covered: bool
    queried: bool
    parts: tuple[Polygon, ...]


@record(frozen=True, kw_only=True)
class DrawnContact:
    """A contact that the window shows, all of its line."""

    contact: PlacedContact
    at: Point
    line: LineString
    course_known: bool
    beside: HowSeen | None = None
    """How this piece of it was seen, of one beside the walk or along it."""


@record(frozen=True, kw_only=True)
class DrawnBody:
    """A narrow intrusive body that the window shows, all of its line."""

    body: Body
    line: LineString


@record(frozen=True, kw_only=True)
class DrawnBand:
    """The band in the window."""

    edge: BaseGeometry
    areas: tuple[DrawnArea, ...]
    contacts: tuple[DrawnContact, ...]
    narrow: tuple[DrawnBody, ...] = ()
    unseen: tuple[LineString, ...] = ()
    """Where a unit gives way to another without a contact."""


def on_page(shape: Shape, window: Window) -> Shape:
    """A shape of the ground on the page."""

    def moved(ground: NDArray[np.float64]) -> NDArray[np.float64]:
        corner, start = (window.box.x, window.box.y), (window.east_m, window.north_m)
        return np.asarray(corner + (ground - start) * 1000.0 / window.scale)

    found: Shape = shapely.transform(shape, moved)
    return found


def laid_ground(trav: Traverse) -> MapGround:
    """What a map shows of the ground; the command that draws has it laid first."""
    assert trav.ground.map is not None
    return trav.ground.map


def frame_of(window: Window) -> Polygon:
    """The outline of the window on the page."""
    return shapely.box(window.box.x, window.box.y, window.box.right, window.box.top)


def band_on_page(band: Band, window: Window) -> DrawnBand:
    """What the window shows of the band."""
    frame = frame_of(window)
    areas = [
        DrawnArea(
            unit=area.unit, covered=area.covered, queried=area.queried, parts=_cut(area.parts, window, frame)
        )
        for area in band.areas
    ]
    lines: list[tuple[CrossedContact | ContactPiece, HowSeen | None, LineString]]
    lines = [(one, None, on_page(one.line, window)) for one in band.crossed]
    lines += [(one, one.seen, on_page(one.line, window)) for one in band.beside]
    return DrawnBand(
        edge=on_page(band.whole, window).intersection(frame),
        areas=tuple(area for area in areas if area.parts),
        contacts=tuple(
            DrawnContact(
                contact=one.contact,
                at=window.at(*one.at),
                line=line,
                course_known=one.course_known,
                beside=seen,
            )
            for one, seen, line in lines
            if line.intersects(frame)
        ),
        narrow=tuple(
            DrawnBody(body=one.body, line=line)
            for one in band.narrow
            if (line := on_page(one.line, window)).intersects(frame)
        ),
        unseen=tuple(line for one in band.unseen if (line := on_page(one.line, window)).intersects(frame)),
    )


def _cut(parts: Sequence[Polygon], window: Window, frame: Polygon) -> tuple[Polygon, ...]:
    shown = (part.intersection(frame) for part in (on_page(one, window) for one in parts))
    return tuple(one for part in shown for one in areas_in(part) if one.area > _SPECK_MM2)


def outline(shape: BaseGeometry) -> tuple[Command, ...]:
    """Commands for the rings of areas, to be filled by the even-odd rule."""
    commands: list[Command] = []
    for part in areas_in(shape):
        for ring in (part.exterior, *part.interiors):
            commands += polyline([(float(x), float(y)) for x, y in ring.coords[:-1]], close=True)
    return tuple(commands)


def rim(shape: BaseGeometry) -> list[BaseGeometry]:
    """The outline of areas as narrow strips, short ones, which are found faster than one long one."""
    pieces: list[LineString] = []
    for part in shapely.get_parts(shape):
        if isinstance(part, Polygon):
            for ring in (part.exterior, *part.interiors):
                corners = shapely.get_coordinates(ring)
                pieces += [
                    LineString(corners[start : start + _RIM_CORNERS + 1])
                    for start in range(0, len(corners) - 1, _RIM_CORNERS)
                ]
    return list(shapely.buffer(np.array(pieces, dtype=object), _RIM_MM, quad_segs=1))
