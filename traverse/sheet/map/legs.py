"""Legs of the walk on the map."""

from __future__ import annotations

import shapely
from shapely.geometry.base import BaseGeometry

from traverse.location.records import Survey
from traverse.log.items import LegKind
from traverse.record import record
from traverse.shapes import lines_in, points_of
from traverse.sheet.map.on_page import frame_of, on_page
from traverse.sheet.paper.page import Item, Path, Point, polyline
from traverse.sheet.paper.style import PENS
from traverse.sheet.paper.window import Window

_CLEAR_MM = 0.25
_UNSEEN_MM = 0.05
"""A bend of a track that departs less than this from its line."""


@record(frozen=True, kw_only=True)
class LegsDrawing:
    """All legs, the signs among them, and the shapes that labels keep off."""

    items: tuple[Item, ...]
    signs: tuple[str, ...]
    shapes: tuple[BaseGeometry, ...]


def draw_tracks(survey: Survey, window: Window) -> tuple[Path, ...]:
    """What the window shows of the ways that receivers wrote down, thin; corners that none would see are left out."""
    frame = frame_of(window)
    lines = [shapely.LineString(one) for track in survey.tracks for one in track.lines]
    return tuple(
        Path(commands=polyline(points_of(part)), pen=PENS["receiver track"])
        for line in lines
        for part in lines_in(on_page(line, window).simplify(_UNSEEN_MM).intersection(frame))
    )


def draw_legs(survey: Survey, window: Window, loose: frozenset[str] = frozenset()) -> LegsDrawing:
    """Every leg as it is placed; from one that closes what was not adjusted, a hairline over the gap to its station.

    Legs of a party that does not fit are dashed, and those of the files `loose`, whose own loop was left open beside others'.
    """
    open_ends = {one.span for one in survey.closures if not (one.adjusted or one.hung)}
    items: list[Item] = []
    signs: dict[str, None] = {}
    walked: list[list[Point]] = []
    for placed in survey.legs:
        place = survey.places.get(placed.booked.start)
        if place is None:
            continue
        start = window.at(place.east_m, place.north_m)
        end = window.at(place.east_m + placed.adjusted.east_m, place.north_m + placed.adjusted.north_m)
        if placed.booked.span in open_ends:
            closed = survey.places[placed.booked.end]
            items.append(
                Path(commands=polyline([end, window.at(closed.east_m, closed.north_m)]), pen=PENS["open end"])
            )
            signs["open end"] = None
        pen = "spur" if placed.booked.kind is LegKind.SIDE else "leg"
        pen = "walk aside" if placed.booked.span.file in loose else pen
        items.append(Path(commands=polyline([start, end]), pen=PENS[pen]))
        signs[pen] = None
        if start != end:
            walked.append([start, end])
    for walk in survey.aside:
        signs["walk aside"] = None
        for start, end in ([window.at(*walk.places[name]) for name in leg] for leg in walk.legs):
            items.append(Path(commands=polyline([start, end]), pen=PENS["walk aside"]))
            if start != end:
                walked.append([start, end])
    shapes = shapely.buffer(shapely.linestrings(walked), _CLEAR_MM, quad_segs=1) if walked else ()
    return LegsDrawing(items=tuple(items), signs=tuple(signs), shapes=tuple(shapes))
