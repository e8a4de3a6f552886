"""Reads a grid of heights: a line of text for each crossing, `east north height` in metres; or a GeoTIFF."""

from __future__ import annotations

import warnings

import numpy as np
from numpy.typing import NDArray

from traverse.diagnostic import Diagnostic, Outcome, error, warning
from traverse.ground.records import Terrain
from traverse.location.records import HeightsMeasured, Survey
from traverse.source import Span

_NO_HEIGHT_M = -9000.0
"""At or below this a figure stands for `no height here`; common practice, no source."""
_UNEVEN = 0.02
"""Spacings may differ by this share; coordinates are often rounded."""
_HINT = "a line for each crossing of a grid that runs east and north: `412000 5168000 1204.5`"
_TIFF = frozenset({b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"})
_MOST_CELLS = 25_000_000
_OFF_M = 15.0
_LEAST_FILLED = 0.05


def read_terrain(name: str, data: bytes, survey: Survey, span: Span) -> Outcome[Terrain | None]:
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
        return _none(error("terrain", f"{name}: {problem}", span, _HINT))
    places = survey.places.values()
    east = np.array([one.east_m for one in places])
    north = np.array([one.north_m for one in places])
    if not np.isfinite(terrain.at(east, north)).any():
        return _none(
            warning(
                "terrain-elsewhere",
                f"no station lies on the heights of {name}",
                span,
                f"it spans {terrain.east_m[0]:.0f} to {terrain.east_m[-1]:.0f} E and"
                f" {terrain.north_m[0]:.0f} to {terrain.north_m[-1]:.0f} N; it must be in the grid of the log",
            )
        )
    return Outcome(terrain, _apart(terrain, survey, east, north, span))


def _apart(
    terrain: Terrain, survey: Survey, east: NDArray[np.float64], north: NDArray[np.float64], span: Span
) -> tuple[Diagnostic, ...]:
    """A warning where the stations do not lie on the heights: another datum, or another unit."""
    if survey.heights is HeightsMeasured.NONE:
        return ()
    up = np.array([np.nan if one.up_m is None else one.up_m for one in survey.places.values()], dtype=float)
    off = up - terrain.at(east, north)
    off = off[np.isfinite(off)]
    middle = float(np.median(off)) if off.size else 0.0
    if abs(middle) <= max(_OFF_M, terrain.spacing_m / 2.0):
        return ()
    side = "above" if middle > 0.0 else "below"
    return (
        warning(
            "terrain-heights",
            f"half of the stations lie {abs(middle):.0f} m or more {side} the heights of {terrain.name}",
            span,
            "look at the height of the first control, its datum, and metres against feet",
        ),
    )


class _NoGridError(Exception):
    """Why a file is no grid."""


def _none(said: Diagnostic) -> Outcome[Terrain | None]:
    return Outcome(None, (said,))


def _figures(data: bytes) -> NDArray[np.float64]:
    """(n, 3) of east, north and height."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise _NoGridError("not plain text") from None
    lines = [
        line.partition("#")[0].translate({44: " ", 59: " ", 9: " "}).split() for line in text.splitlines()
    ]
    rows: list[list[float]] = []
    for number, words in enumerate(lines, start=1):
        if not words:
            continue
        try:
            row = [float(word) for word in words]
        except ValueError:
            if not rows and number <= 2:
                continue
            raise _NoGridError(f"line {number} holds more than figures") from None
        if len(row) != 3:
            raise _NoGridError(f"line {number} has {len(row)} figures, not 3")
        rows.append(row)
    if not rows:
        raise _NoGridError("no figures in it")
    figures = np.array(rows)
    if not np.isfinite(figures[:, :2]).all():
        raise _NoGridError("a coordinate is no number")
    return figures


def _geotiff(name: str, data: bytes, survey: Survey) -> Terrain:
    """The first band of a GeoTIFF in the log's grid; heights are taken as they are, in metres."""
    try:
        import rasterio
        from rasterio.errors import RasterioError
        from rasterio.io import MemoryFile
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
                    raise _NoGridError("says no coordinate system")
                placing, wide, high = calculate_default_transform(
                    file.crs, wanted, file.width, file.height, *file.bounds
                )
                if wide * high > _MOST_CELLS:
                    raise _NoGridError(f"has {wide * high:,} heights; cut it to the ground of the walk")
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
    except (RasterioError, ValueError) as problem:
        raise _NoGridError("no GeoTIFF that can be read") from problem
    if wide < 2 or high < 2:
        raise _NoGridError("too small to be a grid")
    # Places are those of the middle of each cell; rows run down in the file.
    east = placing.c + placing.a * (np.arange(wide) + 0.5)
    north = placing.f + placing.e * (np.arange(high) + 0.5)
    up[~(up > _NO_HEIGHT_M)] = np.nan
    return Terrain(name=name, east_m=east, north_m=north[::-1], up_m=up[::-1])


def _gridded(name: str, figures: NDArray[np.float64]) -> Terrain:
    east, columns = _axis(figures[:, 0], "east")
    north, rows = _axis(figures[:, 1], "north")
    if len(figures) < _LEAST_FILLED * len(east) * len(north):
        raise _NoGridError("the points lie on no grid that runs east and north")
    up = np.full((len(north), len(east)), np.nan)
    height = figures[:, 2]
    up[rows, columns] = np.where(np.isfinite(height) & (height > _NO_HEIGHT_M), height, np.nan)
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
