"""Axial traces on the map, with the plunge at their head."""

from __future__ import annotations

import math

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from traverse.ground.records import FoldTrace
from traverse.record import record
from traverse.shapes import lines_in, points_of
from traverse.sheet.map.contacts import Figure
from traverse.sheet.map.on_page import frame_of, on_page
from traverse.sheet.paper.page import Item, Path, polyline
from traverse.sheet.paper.style import PENS
from traverse.sheet.paper.window import Window
from traverse.sheet.signs.symbols import symbol
from traverse.trade import PRINTS_LEVEL_DEG

_HEAD_MM = 2.6
_LEAST_MM = 8.0
"""A trace shorter than two dashes says nothing."""
_ASIDE_MM = 2.6


@record(frozen=True, kw_only=True)
class TraceDrawing:
    """One trace as drawn."""

    items: tuple[Item, ...]
    signs: tuple[str, ...]
    figure: Figure | None
    """Its plunge."""
    obstacle: BaseGeometry


def draw_trace(trace: FoldTrace, window: Window) -> TraceDrawing | None:
    """What the window shows of a trace; None where it shows nothing.

    Each piece leaves room at its end for the head, so that this too stands clear of the ground that was walked.
    """
    whole = [on_page(LineString(one), window) for one in trace.lines]
    pieces = [
        substring(one, 0.0, one.length - _HEAD_MM) for one in whole if one.length >= _LEAST_MM + _HEAD_MM
    ]
    frame = frame_of(window)
    shown = [part for piece in pieces for part in lines_in(piece.intersection(frame))]
    if not shown:
        return None
    items: list[Item] = [Path(commands=polyline(points_of(part)), pen=PENS["axial trace"]) for part in shown]
    signs = ["axial trace"]
    figure: Figure | None = None
    shapes: list[BaseGeometry] = list(shown)
    turn_deg = window.turn_deg(trace.strike_deg)
    turn = math.radians(turn_deg)
    way = (math.sin(turn), math.cos(turn))
    last = max(
        ((x, y) for piece in pieces for x, y in piece.coords),
        key=lambda end: end[0] * way[0] + end[1] * way[1],
    )
    tip = (last[0] + _HEAD_MM * way[0], last[1] + _HEAD_MM * way[1])
    if trace.plunge_deg >= PRINTS_LEVEL_DEG and frame.contains(LineString([last, tip])):
        items += symbol("axial head", last, turn_deg=turn_deg)
        signs.append("axial head")
        shapes.append(LineString([last, tip]))
        aside = (way[1], -way[0])
        centres = tuple(
            (
                last[0] - back * way[0] + side * _ASIDE_MM * aside[0],
                last[1] - back * way[1] + side * _ASIDE_MM * aside[1],
            )
            for out in (1.0, 1.3)
            for back in (-1.3, 0.5, 2.5, 4.5, 7.0)
            for side in (-out, out)
        )
        figure = Figure(text=f"{trace.plunge_deg:.0f}", centres=centres, name="the axial trace")
    return TraceDrawing(
        items=tuple(items),
        signs=tuple(signs),
        figure=figure,
        obstacle=shapely.union_all([shape.buffer(0.5, quad_segs=1) for shape in shapes]),
    )
