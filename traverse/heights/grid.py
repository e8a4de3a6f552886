"""Reads a grid of heights: a line of text for each crossing, `east north height` in metres; or a GeoTIFF."""

from __future__ import annotations

import io
import math
import warnings
from array import array
from collections.abc import Iterator
from dataclasses import replace
from itertools import chain, islice

import numpy as np
from numpy.typing import NDArray

from traverse.diagnostic import Diagnostic, Outcome, error, note, warning
from traverse.heights.out_of_line import OutOfLine, out_of_line
from traverse.heights.records import AboutWalk, Terrain
from traverse.length import METRES, METRES_PER_FOOT, Lengths
from traverse.location.records import HeightsMeasured, Survey
from traverse.source import Span
from traverse.trade import MOST_HEIGHT_M

_NO_HEIGHTS = np.array(
    # What is written for a hole in so many figures; then the largest numbers of two bytes, of four and of eight.
    [
        *(-9999.0, 99999.0, -99999.0, -32767.0, 32767.0, -32768.0, 65535.0),
        *(1e20, 1e30, 1e31, 1e32, 1.70141e38, 3.4028235e38, 1.7976931348623157e308),
    ]
)
"""Figures that stand for `no height here`, the largest with either sign; common practice, no source."""
_NO_HEIGHT_M = -9000.0
"""So does every one from here down to the deepest that ground may lie; common practice, no source."""
_ALIKE = 1e-5
"""Such figures are written with few places or many: those that differ by this share are one."""
_MOST_COORDINATE_M = 1e8
"""No grid on the Earth counts farther from its origin; from its circumference of 40,000 km."""
_NO_HEIGHT_HINT = "look at the figure; where there is no height write -9999"
_UNEVEN = 0.02
"""Spacings may differ by this share; coordinates are often rounded."""
_HINT = "a line for each crossing of a grid that runs east and north: `412000 5168000 1204.5`"
_TIFF = frozenset({b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"})
_MOST_CELLS = 25_000_000
_MOST_TEXT_BYTES = 128 * 1024 * 1024
"""Some five million crossings, read in ten seconds."""
_LONGEST_SHOWN = 20
"""Letters of a figure in a message."""
_BLOCK = 1 << 20
"""Letters of it that are read at a time."""
_SAME_HEIGHT_M = 0.5
"""A crossing may be given twice, as where two tiles meet, if its heights differ by less."""
_OFF_M = 15.0
_LEAST_FILLED = 0.2
_LEAST_ABOUT_M = 500.0
"""Ground about the walk that may come on its map, or one and a half times its extent where that is more."""
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
    written: _Written | None = None
    try:
        if data[:4] in _TIFF:
            terrain, missing = _geotiff(name, data, survey)
        else:
            written = _figures(data)
            terrain, missing = _gridded(name, written)
    except _NoGridError as problem:
        return _none(error("terrain", f"{name}: {problem}", span, problem.hint))
    places = survey.places.values()
    east = np.array([one.east_m for one in places])
    north = np.array([one.north_m for one in places])
    if not np.isfinite(terrain.at(east, north)).any():
        message = f"no station lies on the heights of {name}"
        return _none(warning("terrain-elsewhere", message, span, _where(terrain, east, north)))
    odd, sound = out_of_line(terrain, _walked(survey)), terrain
    said: tuple[Diagnostic, ...] = ()
    if odd is not None:
        said = (warning("terrain-jumps", _out_of_line(odd, name, written), span, _NO_HEIGHT_HINT),)
        # What lies on such a height is not told a second time.
        up = terrain.up_m.copy()
        up[odd.crossings] = np.nan
        sound = replace(terrain, up_m=up)
    said += _apart(sound, survey, east, north, span, lengths)
    if missing:
        figures = "1 figure stands" if missing == 1 else f"{missing} figures stand"
        said = (*said, note("terrain-holes", f"{figures} for no height in {name}", span))
    return Outcome(terrain, said)


def _where(terrain: Terrain, east: NDArray[np.float64], north: NDArray[np.float64]) -> str:
    """What is likely to be wrong with heights on which no station lies."""
    within = (east >= terrain.east_m.min()) & (east <= terrain.east_m.max())
    within &= (north >= terrain.north_m.min()) & (north <= terrain.north_m.max())
    if within.any():
        return "it reaches the walk, and has no height there: its figures stand for none"
    if np.isfinite(terrain.at(north, east)).any():
        return "its first figures are north; write east, then north, then the height"
    if max(np.abs(terrain.east_m).max(), np.abs(terrain.north_m).max()) <= _DEGREES:
        return "its figures look like degrees; write east and north in metres, in the grid of the log"
    return (
        f"it spans {terrain.east_m[0]:.0f} to {terrain.east_m[-1]:.0f} E and"
        f" {terrain.north_m[0]:.0f} to {terrain.north_m[-1]:.0f} N, the walk {east.min():.0f} to {east.max():.0f} E"
        f" and {north.min():.0f} to {north.max():.0f} N; it must be in the grid of the log"
    )


def _out_of_line(odd: OutOfLine, name: str, written: _Written | None) -> str:
    """What of the heights has no ground beside it."""
    east, north, up = odd.beside_m
    place = f"{odd.east_m:.10g} E {odd.north_m:.10g} N"
    line = None if written is None else written.line_at(odd.east_m, odd.north_m)
    where = f"{name}, {place}" if line is None else f"{name}, line {line}, {place}"
    size = METRES.said(abs(odd.up_m - up))
    others = len(odd.crossings[0]) - 1
    more = f", and {others} more like it" if others else ""
    if odd.alone:
        side = "above" if odd.up_m > up else "below"
        return f"{where}: the height {odd.up_m:.7g} lies {size} {side} all round it{more}"
    return f"{where}: the height {odd.up_m:.7g} lies {size} above {up:.7g}, next to it at {east:.10g} E {north:.10g} N{more}"


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


class _Written:
    """The figures of a text, and the line that each three stand on."""

    def __init__(self, figures: NDArray[np.float64], text: str, passed_over: int) -> None:
        self.figures = figures
        """(n, 3) of east, north and height."""
        self._text = text
        self._passed_over = passed_over

    def line(self, row: int) -> int:
        """Its number; sought when it is to be told, which is seldom."""
        return self._found(row)[0]

    def height(self, row: int) -> str:
        """Its height as it is written."""
        word = self._found(row)[1].split()[2]
        return word if len(word) <= _LONGEST_SHOWN else f"{word[:_LONGEST_SHOWN]}…"

    def _found(self, row: int) -> tuple[int, str]:
        lines = chain.from_iterable(block.splitlines() for block in _blocks(self._text))
        filled = (
            (number, figures)
            for number, line in enumerate(lines, start=1)
            if number > self._passed_over and (figures := line.translate(_BETWEEN).partition("#")[0]).strip()
        )
        return next(islice(filled, row, None))

    def line_at(self, east_m: float, north_m: float) -> int:
        """Of the crossing that lies nearest to a place."""
        apart = np.abs(self.figures[:, :2] - (east_m, north_m)).sum(axis=1)
        return self.line(int(np.argmin(apart)))


def _figures(data: bytes) -> _Written:
    """The figures of a text. Raises `_NoGridError`."""
    if len(data) > _MOST_TEXT_BYTES:
        raise _NoGridError(
            f"over {_MOST_TEXT_BYTES // 1024 // 1024} MB of text", "cut it to the ground of the walk"
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        line = data.count(b"\n", 0, problem.start) + 1
        raise _NoGridError(f"line {line} is not plain text", "save it as UTF-8") from None
    rows: list[NDArray[np.float64]] = []
    before = passed_over = 0
    for block in _blocks(text):
        plain = block.translate(_BETWEEN)
        found = _quickly(plain)
        if found is None:
            found, over = _line_by_line(plain, block, before)
            passed_over = max(passed_over, over)
        rows.append(found)
        before += len(block.splitlines())
    if not any(map(len, rows)):
        raise _NoGridError("no figures in it")
    figures = np.concatenate(rows)
    written = _Written(figures, text, passed_over)
    askew = np.flatnonzero(~(np.abs(figures[:, :2]) <= _MOST_COORDINATE_M).all(axis=1))
    if len(askew):
        raise _NoGridError(f"line {written.line(askew[0])}: a coordinate is no number of a grid")
    beyond = np.flatnonzero(_beyond(figures[:, 2]))
    if len(beyond):
        raise _NoGridError(
            f"line {written.line(beyond[0])}: no ground lies at a height of {written.height(beyond[0])}",
            _NO_HEIGHT_HINT,
        )
    return written


def _beyond(up: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which figures are neither heights nor stand for none."""
    found = np.abs(up) > MOST_HEIGHT_M
    found[found] = ~_known_as_none(up[found])
    return found


def _known_as_none(up: NDArray[np.float64]) -> NDArray[np.bool_]:
    size = np.abs(_NO_HEIGHTS)
    alike = np.abs(np.abs(up)[:, None] / size - 1.0) <= _ALIKE
    turned = (np.sign(up)[:, None] == np.sign(_NO_HEIGHTS)) | (size >= _EITHER_SIGN)
    return np.asarray((alike & turned).any(axis=1), dtype=bool)


_EITHER_SIGN = 1e20


def _without_holes(up: NDArray[np.float64]) -> NDArray[np.float64]:
    """Heights, and NaN where a figure stands for none."""
    return np.where((up > _NO_HEIGHT_M) & (up <= MOST_HEIGHT_M), up, np.nan)


_BETWEEN = str.maketrans(",;\t", "   ")


def _blocks(text: str) -> Iterator[str]:
    """Its lines, so many at a time as take little room when they are parted."""
    start = 0
    while start < len(text):
        end = text.find("\n", start + _BLOCK) + 1 or len(text)
        yield text[start:end]
        start = end


def _quickly(plain: str) -> NDArray[np.float64] | None:
    """The figures (n, 3) where every line holds three; None where one does not, or there are none."""
    if "_" in plain:
        # Python reads `5_168` as a figure; in a page it is a slip of the finger.
        return None
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            figures = np.loadtxt(io.StringIO(plain), comments="#", ndmin=2)
    except ValueError:
        return None
    return figures if figures.shape[1] == 3 and len(figures) else None


def _figure(word: str) -> float:
    """A figure. Raises `ValueError`."""
    if "_" in word:
        raise ValueError(word)
    return float(word)


def _line_by_line(plain: str, written: str, before: int) -> tuple[NDArray[np.float64], int]:
    """The figures (n, 3) and the last line passed over, of lines after so many others; or why a line holds none."""
    figures = array("d")
    passed_over = 0
    for number, (line, original) in enumerate(
        zip(plain.splitlines(), written.splitlines(), strict=True), start=before + 1
    ):
        words = line.partition("#")[0].split()
        if not words:
            continue
        try:
            row = [_figure(word) for word in words]
        except ValueError:
            if not figures and number <= 2:
                passed_over = number
                continue
            raise _NoGridError(f"line {number} holds more than figures") from None
        if len(row) != 3:
            between = ";" in original or "\t" in original or " " in original.strip()
            raise _NoGridError(
                f"line {number} has {len(row)} figures, not 3",
                _DECIMAL if "," in original and between and len(row) in (4, 5, 6) else _HINT,
            )
        figures.extend(row)
    return np.array(figures).reshape(-1, 3), passed_over


def _geotiff(name: str, data: bytes, survey: Survey) -> tuple[Terrain, int]:
    """The band of a GeoTIFF about the walk, in the log's grid, and how many of its cells have no height though they say one.

    Heights are taken to be metres.
    """
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
                if file.count != 1:
                    raise _NoGridError(
                        f"has {file.count} bands, as a picture has; heights have one",
                        "take the band of heights into a file of its own",
                    )
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
                    return _elsewhere(name, whole.c, whole.f, whole.a * wide, -whole.e * high), 0
                placing = whole * Affine.translation(columns[0], rows[0])
                wide, high = columns[1] - columns[0], rows[1] - rows[0]
                if wide < 2 or high < 2:
                    raise _NoGridError("too small to be a grid")
                if wide * high > _MOST_CELLS:
                    raise _NoGridError(
                        f"has {wide * high:,} heights about the walk", "give it at a wider spacing"
                    )

                def taken(none: float | None, resampling: Resampling) -> NDArray[np.float64]:
                    up = np.full((high, wide), np.nan)
                    reproject(
                        rasterio.band(file, 1),
                        up,
                        src_nodata=none,
                        dst_transform=placing,
                        dst_crs=wanted,
                        dst_nodata=np.nan,
                        resampling=resampling,
                    )
                    return up

                up, missing = taken(file.nodata, Resampling.bilinear), 0
                if file.nodata is None:
                    # What the file does not say of its holes would be blended into the heights beside them.
                    as_they_are = taken(None, Resampling.nearest)
                    odd = as_they_are[(np.abs(as_they_are) > MOST_HEIGHT_M) | (as_they_are <= _NO_HEIGHT_M)]
                    odd = odd[_known_as_none(odd)]
                    if len(odd):
                        up, missing = taken(float(odd[0]), Resampling.bilinear), len(odd)
                up = up * file.scales[0] + file.offsets[0]
    except (RasterioError, ValueError) as problem:
        raise _NoGridError(
            "no GeoTIFF that can be read", "look whether it was copied whole, and opens elsewhere"
        ) from problem
    # Places are those of the middle of each cell; rows run down in the file.
    east = placing.c + placing.a * (np.arange(wide) + 0.5)
    north = placing.f + placing.e * (np.arange(high) + 0.5)
    beyond = _beyond(up.ravel())
    if beyond.any():
        raise _NoGridError(
            f"holds {up.ravel()[beyond][0]:.7g}, and no ground lies at such a height", _NO_HEIGHT_HINT
        )
    return Terrain(name=name, east_m=east, north_m=north[::-1], up_m=_without_holes(up)[::-1]), missing


def _walked(survey: Survey) -> AboutWalk:
    """What may come on a map of the walk."""
    east = [one.east_m for one in survey.places.values()]
    north = [one.north_m for one in survey.places.values()]
    about = max(_LEAST_ABOUT_M, 1.5 * (max(east) - min(east)), 1.5 * (max(north) - min(north)))
    return AboutWalk(
        west_m=min(east) - about,
        east_m=max(east) + about,
        south_m=min(north) - about,
        north_m=max(north) + about,
    )


def _about_walk(
    left: float, top: float, wide: float, high: float, survey: Survey
) -> tuple[tuple[int, int], tuple[int, int]]:
    """First and last columns and rows, of cells so wide and high, that may come on a map of the walk."""
    walked = _walked(survey)
    columns = (walked.west_m - left) / wide, (walked.east_m - left) / wide
    rows = (top - walked.north_m) / high, (top - walked.south_m) / high
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


def _gridded(name: str, written: _Written) -> tuple[Terrain, int]:
    """The grid, and how many figures stand for no height."""
    figures = written.figures
    east, columns = _axis(written, 0, "east")
    north, rows = _axis(written, 1, "north")
    if len(figures) < _LEAST_FILLED * len(east) * len(north):
        raise _NoGridError("the points lie on no grid that runs east and north")
    height = _without_holes(figures[:, 2])
    if not np.isfinite(height).any():
        raise _NoGridError("no height in it: every figure stands for none")
    up = np.full((len(north), len(east)), np.nan)
    up[rows, columns] = height
    # Of two heights at one crossing the later one stands there now.
    twice = np.flatnonzero(np.isfinite(height) & ~(np.abs(up[rows, columns] - height) < _SAME_HEIGHT_M))
    if len(twice):
        first = int(twice[0])
        at = (rows == rows[first]) & (columns == columns[first])
        last = int(np.flatnonzero(at)[-1])
        lines = f"lines {written.line(first)} and {written.line(last)}"
        place, other = (f"{figures[row, 0]:.10g} E {figures[row, 1]:.10g} N" for row in (first, last))
        if place == other:
            raise _NoGridError(f"{lines}: two heights at {place}", "leave one of the two lines out")
        apart = f"{east[1] - east[0]:.7g} by {north[1] - north[0]:.7g}"
        raise _NoGridError(
            f"{lines}: {place} and {other} fall on one crossing of a grid of {apart}, with two heights",
            "look at the figures; every height stands on a crossing of its own",
        )
    return Terrain(name=name, east_m=east, north_m=north, up_m=up), int(np.isnan(height).sum())


def _axis(written: _Written, figure: int, way: str) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
    """Coordinates of the grid's lines, by one of the figures, and which of them each point is on."""
    values = written.figures[:, figure]
    rounded = np.round(values, 3)
    found, times = np.unique(rounded, return_counts=True)
    if len(found) < 2:
        raise _NoGridError(f"all points have one {way}ing")
    steps = np.diff(found)
    step = float(np.median(steps))
    count = (found[-1] - found[0]) / step
    lines = np.rint((found - found[0]) / step)
    off = np.abs(found - found[0] - lines * step)
    if off.max() > _UNEVEN * step * max(1.0, count / 50.0) or count > 20_000:
        alone = found[times == 1]
        if len(alone) != 1:
            raise _NoGridError(f"the {way}ings are not evenly spaced")
        line = written.line(int(np.flatnonzero(rounded == alone[0])[0]))
        raise _NoGridError(f"line {line}: no other line has the {way}ing {alone[0]:.10g}")
    size = int(lines[-1]) + 1
    step = float(found[-1] - found[0]) / (size - 1)
    place = np.rint((values - found[0]) / step).astype(np.intp)
    return found[0] + step * np.arange(size), place
