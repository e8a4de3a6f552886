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
_PIECE_MM = 4.0
"""A piece of it shorter than one dash looks like a mark of something else."""
_ASIDE_MM = 2.6


@record(frozen=True, kw_only=True)
class TraceDrawing:
    """One trace as drawn."""

    items: tuple[Item, ...]
    """None where its pieces are too short on this paper to be read as a trace."""
    signs: tuple[str, ...] = ()
    figure: Figure | None = None
    """Its plunge."""
    obstacle: BaseGeometry


def draw_trace(trace: FoldTrace, window: Window) -> TraceDrawing | None:
    """What the window shows of a trace; None where none of it lies in the window.

    The piece nearest to the plunge leaves room at its end for the head, so that this too stands clear of the ground
    that was walked. Where it is too short for both, the trace has no head.
    """
    frame = frame_of(window)
    turn_deg = window.turn_deg(trace.strike_deg)
    turn = math.radians(turn_deg)
    way = (math.sin(turn), math.cos(turn))
    whole = [on_page(LineString(one), window) for one in trace.lines]
    pieces = sorted(
        (one for one in whole if one.length >= _PIECE_MM),
        key=lambda one: one.coords[-1][0] * way[0] + one.coords[-1][1] * way[1],
    )
    if sum(one.length for one in pieces) < _LEAST_MM:
        met = any(one.intersects(frame) for one in whole)
        return TraceDrawing(items=(), obstacle=shapely.Polygon()) if met else None
    headed = pieces[-1].length >= _PIECE_MM + _HEAD_MM
    if headed:
        pieces[-1:] = lines_in(substring(pieces[-1], 0.0, pieces[-1].length - _HEAD_MM))
    shown = [part for piece in pieces for part in lines_in(piece.intersection(frame))]
    if not shown:
        return None
    items: list[Item] = [Path(commands=polyline(points_of(part)), pen=PENS["axial trace"]) for part in shown]
    signs = ["axial trace"]
    figure: Figure | None = None
    shapes: list[BaseGeometry] = list(shown)
    last = points_of(pieces[-1])[-1]
    tip = (last[0] + _HEAD_MM * way[0], last[1] + _HEAD_MM * way[1])
    if headed and trace.plunge_deg >= PRINTS_LEVEL_DEG and frame.contains(LineString([last, tip])):
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
