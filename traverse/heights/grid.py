"""Reads a grid of heights: a line of text for each crossing, `east north height` in metres; or a GeoTIFF."""

from __future__ import annotations

import io
import math
import warnings

import numpy as np
from numpy.typing import NDArray

from traverse.diagnostic import Diagnostic, Outcome, error, warning
from traverse.heights.records import Terrain
from traverse.length import METRES_PER_FOOT, Lengths
from traverse.location.records import HeightsMeasured, Survey
from traverse.source import Span

_NO_HEIGHT_M = -9000.0
"""At or below this a figure stands for `no height here`; common practice, no source."""
_UNEVEN = 0.02
"""Spacings may differ by this share; coordinates are often rounded."""
_HINT = "a line for each crossing of a grid that runs east and north: `412000 5168000 1204.5`"
_TIFF = frozenset({b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"})
_MOST_CELLS = 25_000_000
_MOST_TEXT_BYTES = 128 * 1024 * 1024
"""Some five million crossings, read in ten seconds."""
_SAME_HEIGHT_M = 0.5
"""A crossing may be given twice, as where two tiles meet, if its heights differ by less."""
_OFF_M = 15.0
_LEAST_FILLED = 0.2
_LEAST_ABOUT_M = 500.0
"""Ground about the walk that is read of a GeoTIFF, or one and a half times its extent where that is more."""
_DEGREES = 360.0
_DECIMAL = "write decimals with a point, `1204.5`, and blanks or tabs between the figures"


def read_terrain(
    name: str, data: bytes, survey: Survey, span: Span, *, lengths: Lengths
) -> Outcome[Terrain | None]:
    """The grid in a file; None with a message where it is none, or lies elsewhere than the walk.

    A GeoTIFF is turned into the grid of the log. Of a text, blanks, tabs, commas or semicolons stand between the figures; `#` begins a comment; a first line of words is
    passed over; it is taken to be in the grid and height datum of the log.
    """
    if survey.frame.local:
        return _none(
            warning(
                "terrain-without-grid",
                "the walk has no place in a grid; heights are not used",
                span,
                "give a known point with `control`, and the grid with `grid`",
            )
        )
    try:
        terrain = _geotiff(name, data, survey) if data[:4] in _TIFF else _gridded(name, _figures(data))
    except _NoGridError as problem:
        return _none(error("terrain", f"{name}: {problem}", span, problem.hint))
    places = survey.places.values()
    east = np.array([one.east_m for one in places])
    north = np.array([one.north_m for one in places])
    if not np.isfinite(terrain.at(east, north)).any():
        message = f"no station lies on the heights of {name}"
        return _none(warning("terrain-elsewhere", message, span, _where(terrain, east, north)))
    return Outcome(terrain, _apart(terrain, survey, east, north, span, lengths))


def _where(terrain: Terrain, east: NDArray[np.float64], north: NDArray[np.float64]) -> str:
    """What is likely to be wrong with heights on which no station lies."""
    if np.isfinite(terrain.at(north, east)).any():
        return "its first figures are north; write east, then north, then the height"
    if max(np.abs(terrain.east_m).max(), np.abs(terrain.north_m).max()) <= _DEGREES:
        return "its figures look like degrees; write east and north in metres, in the grid of the log"
    return (
        f"it spans {terrain.east_m[0]:.0f} to {terrain.east_m[-1]:.0f} E and"
        f" {terrain.north_m[0]:.0f} to {terrain.north_m[-1]:.0f} N, the walk {east.min():.0f} to {east.max():.0f} E"
        f" and {north.min():.0f} to {north.max():.0f} N; it must be in the grid of the log"
    )


def _apart(
    terrain: Terrain,
    survey: Survey,
    east: NDArray[np.float64],
    north: NDArray[np.float64],
    span: Span,
    lengths: Lengths,
) -> tuple[Diagnostic, ...]:
    """A warning where the stations do not lie on the heights: another datum, or another unit."""
    if survey.heights is HeightsMeasured.NONE:
        return ()
    up = np.array([np.nan if one.up_m is None else one.up_m for one in survey.places.values()], dtype=float)
    ground = terrain.at(east, north)
    known = np.isfinite(up) & np.isfinite(ground)
    middle = float(np.median((up - ground)[known])) if known.any() else 0.0
    most = max(_OFF_M, terrain.spacing_m / 2.0)
    if abs(middle) <= most:
        return ()
    side = "above" if middle > 0.0 else "below"
    hint = "look at the height of the first control, its datum, and metres against feet"
    if abs(float(np.median((up - ground * METRES_PER_FOOT)[known]))) <= most:
        hint = "as feet they would agree: write its heights in metres"
    return (
        warning(
            "terrain-heights",
            f"half of the stations lie {lengths.said(abs(middle))} or more {side} the heights of {terrain.name}",
            span,
            hint,
        ),
    )


class _NoGridError(Exception):
    """Why a file is no grid, and what to do."""

    def __init__(self, why: str, hint: str = _HINT) -> None:
        super().__init__(why)
        self.hint = hint


def _none(said: Diagnostic) -> Outcome[Terrain | None]:
    return Outcome(None, (said,))


def _figures(data: bytes) -> NDArray[np.float64]:
    """(n, 3) of east, north and height."""
    if len(data) > _MOST_TEXT_BYTES:
        raise _NoGridError(
            f"over {_MOST_TEXT_BYTES // 1024 // 1024} MB of text", "cut it to the ground of the walk"
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise _NoGridError("not plain text") from None
    plain = text.translate(_BETWEEN)
    figures = _quickly(plain)
    if figures is None:
        figures = _line_by_line(plain, text)
    if not np.isfinite(figures[:, :2]).all():
        raise _NoGridError("a coordinate is no number")
    return figures


_BETWEEN = str.maketrans(",;\t", "   ")


def _quickly(plain: str) -> NDArray[np.float64] | None:
    """The figures where every line holds three; None where one does not, or there are none."""
    for passed_over in (0, 1, 2):
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                figures = np.loadtxt(io.StringIO(plain), comments="#", skiprows=passed_over, ndmin=2)
        except ValueError:
            continue
        return figures if figures.shape[1] == 3 and len(figures) else None
    return None


def _line_by_line(plain: str, written: str) -> NDArray[np.float64]:
    """The figures, or why a line holds none."""
    rows: list[list[float]] = []
    for number, (line, original) in enumerate(
        zip(plain.splitlines(), written.splitlines(), strict=True), start=1
    ):
        words = line.partition("#")[0].split()
        if not words:
            continue
        try:
            row = [float(word) for word in words]
        except ValueError:
            if not rows and number <= 2:
                continue
            raise _NoGridError(f"line {number} holds more than figures") from None
        if len(row) != 3:
            between = ";" in original or "\t" in original or " " in original.strip()
            raise _NoGridError(
                f"line {number} has {len(row)} figures, not 3",
                _DECIMAL if "," in original and between and len(row) in (4, 5, 6) else _HINT,
            )
        rows.append(row)
    if not rows:
        raise _NoGridError("no figures in it")
    return np.array(rows)


def _geotiff(name: str, data: bytes, survey: Survey) -> Terrain:
    """The first band of a GeoTIFF about the walk, in the log's grid; heights are taken to be metres."""
    try:
        import rasterio
        from rasterio.errors import RasterioError
        from rasterio.io import MemoryFile
        from rasterio.transform import Affine
        from rasterio.warp import Resampling, calculate_default_transform, reproject
    except ImportError:
        raise _NoGridError("a GeoTIFF needs rasterio: install `traverse-notebook[terrain]`") from None
    wanted = rasterio.crs.CRS.from_epsg(survey.frame.epsg)
    try:
        with warnings.catch_warnings():
            # A file without a place warns; it is refused here.
            warnings.simplefilter("ignore")
            with MemoryFile(data) as memory, memory.open() as file:
                if file.crs is None:
                    raise _NoGridError(
                        "says no coordinate system",
                        "write the coordinate system into the file with the program that made it",
                    )
                whole, wide, high = calculate_default_transform(
                    file.crs, wanted, file.width, file.height, *file.bounds
                )
                columns, rows = _about_walk(whole.c, whole.f, whole.a, -whole.e, survey)
                columns, rows = (
                    (max(columns[0], 0), min(columns[1], wide)),
                    (max(rows[0], 0), min(rows[1], high)),
                )
                if columns[0] >= columns[1] or rows[0] >= rows[1]:
                    return _elsewhere(name, whole.c, whole.f, whole.a * wide, -whole.e * high)
                placing = whole * Affine.translation(columns[0], rows[0])
                wide, high = columns[1] - columns[0], rows[1] - rows[0]
                if wide < 2 or high < 2:
                    raise _NoGridError("too small to be a grid")
                if wide * high > _MOST_CELLS:
                    raise _NoGridError(
                        f"has {wide * high:,} heights about the walk", "give it at a wider spacing"
                    )
                up = np.full((high, wide), np.nan)
                reproject(
                    rasterio.band(file, 1),
                    up,
                    src_nodata=file.nodata,
                    dst_transform=placing,
                    dst_crs=wanted,
                    dst_nodata=np.nan,
                    resampling=Resampling.bilinear,
                )
                up = up * file.scales[0] + file.offsets[0]
    except (RasterioError, ValueError) as problem:
        raise _NoGridError(
            "no GeoTIFF that can be read", "look whether it was copied whole, and opens elsewhere"
        ) from problem
    # Places are those of the middle of each cell; rows run down in the file.
    east = placing.c + placing.a * (np.arange(wide) + 0.5)
    north = placing.f + placing.e * (np.arange(high) + 0.5)
    up[~(up > _NO_HEIGHT_M)] = np.nan
    return Terrain(name=name, east_m=east, north_m=north[::-1], up_m=up[::-1])


def _about_walk(
    left: float, top: float, wide: float, high: float, survey: Survey
) -> tuple[tuple[int, int], tuple[int, int]]:
    """First and last columns and rows, of cells so wide and high, that may come on a map of the walk."""
    east = [one.east_m for one in survey.places.values()]
    north = [one.north_m for one in survey.places.values()]
    about = max(_LEAST_ABOUT_M, 1.5 * (max(east) - min(east)), 1.5 * (max(north) - min(north)))
    columns = (min(east) - about - left) / wide, (max(east) + about - left) / wide
    rows = (top - max(north) - about) / high, (top - min(north) + about) / high
    return (
        (math.floor(columns[0]), math.ceil(columns[1])),
        (math.floor(rows[0]), math.ceil(rows[1])),
    )


def _elsewhere(name: str, left: float, top: float, wide: float, high: float) -> Terrain:
    """The outline of heights that none of was read."""
    return Terrain(
        name=name,
        east_m=np.array([left, left + wide]),
        north_m=np.array([top - high, top]),
        up_m=np.full((2, 2), np.nan),
    )


def _gridded(name: str, figures: NDArray[np.float64]) -> Terrain:
    east, columns = _axis(figures[:, 0], "east")
    north, rows = _axis(figures[:, 1], "north")
    if len(figures) < _LEAST_FILLED * len(east) * len(north):
        raise _NoGridError("the points lie on no grid that runs east and north")
    height = np.where(np.isfinite(figures[:, 2]) & (figures[:, 2] > _NO_HEIGHT_M), figures[:, 2], np.nan)
    if not np.isfinite(height).any():
        raise _NoGridError("no height in it: every figure stands for none")
    up = np.full((len(north), len(east)), np.nan)
    up[rows, columns] = height
    # Of two heights at one crossing the later one stands there now.
    twice = np.flatnonzero(np.isfinite(height) & ~(np.abs(up[rows, columns] - height) < _SAME_HEIGHT_M))
    if len(twice):
        at = figures[twice[0]]
        raise _NoGridError(f"two heights at {at[0]:.10g} E {at[1]:.10g} N", "leave one of the two lines out")
    return Terrain(name=name, east_m=east, north_m=north, up_m=up)


def _axis(values: NDArray[np.float64], way: str) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
    """Coordinates of the grid's lines, and which of them each point is on."""
    found = np.unique(np.round(values, 3))
    if len(found) < 2:
        raise _NoGridError(f"all points have one {way}ing")
    steps = np.diff(found)
    step = float(np.median(steps))
    count = (found[-1] - found[0]) / step
    lines = np.rint((found - found[0]) / step)
    if (
        np.abs(found - found[0] - lines * step).max() > _UNEVEN * step * max(1.0, count / 50.0)
        or count > 20_000
    ):
        raise _NoGridError(f"the {way}ings are not evenly spaced")
    size = int(lines[-1]) + 1
    step = float(found[-1] - found[0]) / (size - 1)
    place = np.rint((values - found[0]) / step).astype(np.intp)
    return found[0] + step * np.arange(size), place
