"""What the figures of a known point may have said on the map or the receiver, and where it would lie then."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from traverse.adjustment.misread.known import OtherPlace
from traverse.adjustment.records import Network
from traverse.length import METRES_PER_FOOT
from traverse.log.readings import Unit
from traverse.log.records import Control, Log
from traverse.record import record
from traverse.trade import RARE_SLIP, UNCOMMON_SLIP

if TYPE_CHECKING:
    from traverse.location.crs import Grid

_FALSE_NORTHING_M = 10_000_000.0
"""What is added to northings south of the equator. Source: the definition of UTM."""

Figures = tuple[str, str]
"""Two stretches of digits, as they stand: east and north, or latitude and longitude."""


def other_places(log: Log, network: Network, grid: Grid | None) -> dict[int, tuple[OtherPlace, ...]]:
    """By station: every other place of a known point that one misread figure would give.

    A point of two fixes is left alone: they vouch for each other.
    """
    found: dict[int, tuple[OtherPlace, ...]] = {}
    for station in network.fixes:
        fixes = [one for one in log.controls if one.name == network.names[station]]
        if len(fixes) == 1:
            found[station] = tuple(_of(fixes[0], grid))
    return found


def _of(control: Control, grid: Grid | None) -> Iterator[OtherPlace]:
    if control.east_m is not None and control.north_m is not None:
        yield from _in_grid(control, control.east_m, control.north_m, grid)
    elif control.lat_deg is not None and control.lon_deg is not None and grid is not None:
        yield from _by_latitude(control, control.lat_deg, control.lon_deg, grid)
    for one in other_heights(control):
        yield OtherPlace(
            slip=one.slip, reading=one.reading, written=one.written,
            position_m=np.array((*_plan(control, grid), one.height_m)), rank=one.rank,
        )  # fmt: skip


@record(frozen=True, slots=True, kw_only=True)
class OtherHeight:
    """Another figure of a height."""

    slip: str
    reading: str
    """The figure as it may have stood."""
    written: str
    height_m: float
    rank: float


def other_heights(control: Control) -> Iterator[OtherHeight]:
    """Every other height of a known point that one misread figure, or the other unit, would give."""
    height = re.search(r"(\d+(?:\.\d+)?)\s*(m|ft)\b", control.written)
    if not control.height_m or height is None:
        return
    for one in heights_misread(height[1], height[2], control.height_m):
        yield replace(one, slip=f"height: {one.slip}")


def heights_misread(figure: str, unit: str, height_m: float) -> Iterator[OtherHeight]:
    """Every other height that one misread figure, or the other unit, would give; `unit` is `m` or `ft`, else only figures."""
    written = f"{figure} {unit}".strip()
    value = float(figure)
    for other, words, rank in misread(figure) if value else ():
        yield OtherHeight(
            slip=words, reading=f"{other} {unit}".strip(), written=written, height_m=float(other) * height_m / value,
            rank=rank,
        )  # fmt: skip
    was_metres = unit == Unit.METRES.value
    if was_metres or unit == Unit.FEET.value:
        yield OtherHeight(
            slip="feet taken for metres" if was_metres else "metres taken for feet",
            reading=f"{figure} {(Unit.FEET if was_metres else Unit.METRES).value}", written=written,
            height_m=height_m * (METRES_PER_FOOT if was_metres else 1.0 / METRES_PER_FOOT), rank=RARE_SLIP,
        )  # fmt: skip


def _plan(control: Control, grid: Grid | None) -> tuple[float, float]:
    if control.east_m is not None and control.north_m is not None:
        return control.east_m, control.north_m
    assert control.lat_deg is not None
    assert control.lon_deg is not None
    return grid.from_lon_lat(control.lon_deg, control.lat_deg) if grid is not None else (math.nan, math.nan)


def _in_grid(control: Control, east: float, north: float, grid: Grid | None) -> Iterator[OtherPlace]:
    up = math.nan if control.height_m is None else control.height_m

    def place(words: str, to: tuple[float, float], rank: float, reading: str, written: str) -> OtherPlace:
        return OtherPlace(
            slip=words, reading=reading, written=written, position_m=np.array((*to, up)), rank=rank
        )

    written = f"{east:.10g} E {north:.10g} N"
    yield place("E and N exchanged", (north, east), 0.0, f"{north:.10g} E {east:.10g} N", written)
    for other, words, rank in misread(f"{east:.10g}"):
        yield place(f"E: {words}", (float(other), north), rank, f"{other} E", f"{east:.10g} E")
    for other, words, rank in misread(f"{north:.10g}"):
        yield place(f"N: {words}", (east, float(other)), rank, f"{other} N", f"{north:.10g} N")
    if grid is None:
        return
    for other_north in (north + _FALSE_NORTHING_M, north - _FALSE_NORTHING_M):
        if other_north >= 0.0:
            yield place("figures of the other hemisphere", (east, other_north), RARE_SLIP, written, written)
    for step in (-1, 1):
        there = grid.from_zone_beside(step, east, north)
        if there is not None:
            yield place("figures of the neighbouring zone", there, RARE_SLIP, written, written)


def _by_latitude(control: Control, lat: float, lon: float, grid: Grid) -> Iterator[OtherPlace]:
    up = math.nan if control.height_m is None else control.height_m

    def place(words: str, to: tuple[float, float], rank: float, reading: str, written: str) -> OtherPlace:
        east, north = grid.from_lon_lat(to[1], to[0])
        return OtherPlace(
            slip=words, reading=reading, written=written, position_m=np.array((east, north, up)), rank=rank
        )

    def read(value: float) -> str:
        return f"{abs(value):.6f}".rstrip("0").rstrip(".")

    north_south, east_west = "NS"[lat < 0.0], "EW"[lon < 0.0]
    yield place(
        "E and W exchanged", (lat, -lon), 0.0, f"{read(lon)} {'EW'[lon >= 0.0]}", f"{read(lon)} {east_west}"
    )
    yield place(
        "N and S exchanged", (-lat, lon), 0.0, f"{read(lat)} {'NS'[lat >= 0.0]}", f"{read(lat)} {north_south}"
    )
    parts = _figures(control.written)
    for at, letter, sign in (
        (0, north_south, math.copysign(1.0, lat)),
        (1, east_west, math.copysign(1.0, lon)),
    ):
        if parts is None:
            return
        for figures, words, rank in misread(parts[at]):
            value = sign * _degrees(figures)
            to = (value, lon) if at == 0 else (lat, value)
            if abs(to[0]) < 90.0 and abs(to[1]) < 180.0:
                name = "latitude" if at == 0 else "longitude"
                yield place(f"{name}: {words}", to, rank, f"{figures} {letter}", f"{parts[at]} {letter}")


def _figures(written: str) -> Figures | None:
    """Latitude and longitude as they stand, without their letters."""
    found = re.match(r"\s*([\d\s.°'\"]*\d)\W*[NS]\s*,?\s*([\d\s.°'\"]*\d)\W*[EW]", written, re.IGNORECASE)
    return (" ".join(found[1].split()), " ".join(found[2].split())) if found else None


def _degrees(figures: str) -> float:
    """Degrees, with minutes and seconds where they are given.

    >>> _degrees("45 30"), _degrees("45.25")
    (45.5, 45.25)
    """
    parts = [float(one) for one in re.findall(r"\d+(?:\.\d+)?", figures)]
    return sum(value / 60.0**k for k, value in enumerate(parts[:3]))


def misread(figures: str) -> Iterator[tuple[str, str, float]]:
    """The figures with two neighbours exchanged, or with one digit another, with the words and how rare it is.

    >>> [other for other, words, _ in misread("12") if words == "two digits exchanged"]
    ['21']
    """
    at = [i for i, sign in enumerate(figures) if sign.isdigit()]
    for a, b in pairwise(at):
        if figures[a] != figures[b]:
            other = f"{figures[:a]}{figures[b]}{figures[a + 1 : b]}{figures[a]}{figures[b + 1 :]}"
            yield other, "two digits exchanged", RARE_SLIP
    for i in at:
        for digit in "0123456789":
            if digit != figures[i] and not (digit == "0" and i == at[0]):
                yield f"{figures[:i]}{digit}{figures[i + 1 :]}", "one digit misread", UNCOMMON_SLIP
