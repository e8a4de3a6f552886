"""The signs of attitudes as lines on the ground, of the size that they have on a map of one scale.

Programs for maps know a dot and a square, and no bar of a strike: so the signs of the sheet go along drawn.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from traverse.layers.making import Known, Reference, number, shapes, text
from traverse.layers.records import MapLayer
from traverse.sheet.map.attitudes import sighting
from traverse.sheet.paper.page import Command, Path
from traverse.sheet.paper.window import round_scales
from traverse.sheet.signs.symbols import symbol
from traverse.structure.readings.records import Attitude

_SHEET_MM = 250.0
"""Longer side of a map on an upright page; common practice, no source."""
_CURVE_STEPS = 6


def scale_of(day: Reference) -> int:
    """The scale that the log asks for, else the first round one at which the walk fits a page."""
    asked = day.trav.log.heading.sheet.scale
    if asked is not None:
        return asked
    at = np.array([(one.east_m, one.north_m) for one in day.trav.survey.places.values()]).reshape(-1, 2)
    extent_m = float(np.ptp(at, axis=0).max()) if len(at) else 0.0
    return next(one for one in round_scales(feet=False) if extent_m * 1000.0 / one <= _SHEET_MM)


def sign_layer(day: Reference) -> MapLayer:
    """A line for each attitude: its sign."""
    scale = scale_of(day)
    shown = day.trav.geology.each_once
    drawn = {id(one): _drawn(day, one, scale) for one in shown}
    station: Known[Attitude] = text("station", "Station of the attitude.", lambda one: one.station)
    sign: Known[Attitude] = text("sign", "Its sign on the sheet.", lambda one: sighting(one).sign)
    at: Known[Attitude] = number(
        "scale", "The signs are of their size on a map of 1 to this.", lambda _: scale
    )
    return shapes(
        day,
        "attitude_signs",
        "Signs of the planes and lines as they are drawn on the sheet, for a map that has no such signs of its own.",
        [one for one in shown if not drawn[id(one)].is_empty],
        (station, sign, at),
        lambda one: drawn[id(one)],
        line=lambda one: one.span,
    )


def _drawn(day: Reference, one: Attitude, scale: int) -> BaseGeometry:
    seen = sighting(one)
    metres = scale / 1000.0
    pieces = [
        np.array(piece) * metres + (one.place.east_m, one.place.north_m)
        for item in symbol(seen.sign, (0.0, 0.0), turn_deg=day.rotation(seen.turn_deg))
        if isinstance(item, Path)
        for piece in lines_of(item.commands)
    ]
    return shapely.MultiLineString([piece for piece in pieces if len(piece) > 1])


def lines_of(commands: tuple[Command, ...]) -> Iterator[list[tuple[float, float]]]:
    """Straight pieces of a path; curves in short ones.

    >>> list(lines_of((("M", 0.0, 0.0), ("L", 1.0, 0.0), ("L", 1.0, 1.0), ("Z",))))
    [[(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 0.0)]]
    """
    piece: list[tuple[float, float]] = []
    for name, *figures in commands:
        ends = list(zip(figures[::2], figures[1::2], strict=True))
        match name:
            case "M":
                if piece:
                    yield piece
                piece = ends
            case "L":
                piece.append(ends[0])
            case "C":
                start = piece[-1]
                piece += [
                    _on_curve((start, *ends), step / _CURVE_STEPS) for step in range(1, _CURVE_STEPS + 1)
                ]
            case _:
                piece.append(piece[0])
    if piece:
        yield piece


def _on_curve(points: tuple[tuple[float, float], ...], share: float) -> tuple[float, float]:
    """A point of a cubic; source of the formula: the Bernstein polynomials of the third degree."""
    rest = 1.0 - share
    weights = (rest**3, 3.0 * rest**2 * share, 3.0 * rest * share**2, share**3)
    x, y = (
        math.fsum(weight * point[axis] for weight, point in zip(weights, points, strict=True))
        for axis in (0, 1)
    )
    return x, y
