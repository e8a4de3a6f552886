"""A map that is larger than its paper, on several sheets that overlap; sheet 1 is their index."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

import shapely
from shapely.geometry.base import BaseGeometry

from traverse.diagnostic import Diagnostic, Outcome
from traverse.ground.records import MapGround, Traverse
from traverse.record import record
from traverse.settled import settled
from traverse.shapes import lines_in, points_of
from traverse.sheet.map.axial_trace import draw_trace
from traverse.sheet.map.courses import courses_on_page
from traverse.sheet.map.framing import Framing, corners, map_frame, walked_band
from traverse.sheet.map.map import map_panel
from traverse.sheet.map.map_words import TABLES, DrawnSquare, note_mm
from traverse.sheet.map.on_page import laid_ground, on_page
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.labels import ground_of as shape_of_group
from traverse.sheet.paper.labels import shape_of_text
from traverse.sheet.paper.layers import Layer
from traverse.sheet.paper.page import Anchor, Box, Face, Group, Item, Page, Path, Text, polyline
from traverse.sheet.paper.style import LARGE, PENS, SMALL, WHITE, UnitStyle
from traverse.sheet.paper.window import STRIP_MM, PaceRule, Window, convergence_of, scale_strip
from traverse.sheet.paper.words import cut_before
from traverse.sheet.said.sentences import short_title

OVERLAP_MM = 20.0
MOST = 60
"""More sheets than these are no map."""
_LABEL_MM = 4.0
_COORDINATES_MM = 4.4
_HEAD_MM = 6.0
_LINE_WEIGHT_MM = 4.0
"""A line hidden weighs as much as a strip of the band as wide as this."""


@record(frozen=True, slots=True, kw_only=True)
class MapTile:
    """One sheet of the map, numbered by rows from the upper left."""

    number: int
    row: int
    column: int
    window: Window
    note_mm: float
    """Height of the line under it."""


def lay_tiles(trav: Traverse, *, frame: Box, scale: int) -> tuple[MapTile, ...]:
    """Windows of one size that hold the walk at 1 : `scale`, 20 mm of each seen on its neighbour too.

    Sheets without ground that was walked, or with such alone as their neighbours show, are left out. None where they would be more than sixty, or all overlap.
    """
    note = note_mm(trav)
    panel = Box(
        x=frame.x + _COORDINATES_MM,
        y=frame.y + STRIP_MM + note + 1.0,
        width=frame.width - _COORDINATES_MM,
        height=frame.height - STRIP_MM - note - 1.0 - _HEAD_MM - _COORDINATES_MM,
    )
    if min(panel.width, panel.height) < 2.0 * OVERLAP_MM:
        return ()
    per_mm = scale / 1000.0
    walk = walked_band(trav, beyond_m=_LABEL_MM * per_mm)
    left, lower, right, upper = walk.bounds
    columns, east_m = _along(left, right, panel.width * per_mm, OVERLAP_MM * per_mm)
    rows, north_m = _along(lower, upper, panel.height * per_mm, OVERLAP_MM * per_mm)
    if columns * rows > MOST:
        return ()
    found: list[MapTile] = []
    for row in range(rows):
        for column in range(columns):
            window = Window(
                box=panel,
                scale=scale,
                east_m=east_m + column * (panel.width - OVERLAP_MM) * per_mm,
                north_m=north_m + (rows - 1 - row) * (panel.height - OVERLAP_MM) * per_mm,
                convergence_deg=convergence_of(trav.survey.frame.convergence_deg),
            )
            if walk.intersects(ground_of(window)):
                found.append(MapTile(number=0, row=row, column=column, window=window, note_mm=note))
    kept = _needed(found, walked_band(trav))
    return tuple(replace(one, number=number) for number, one in enumerate(kept, start=1))


def _needed(tiles: Sequence[MapTile], band: BaseGeometry) -> list[MapTile]:
    """Without those whose ground their neighbours show as well, that with the least of it first."""
    kept = list(tiles)
    shares = {id(one): settled(float(band.intersection(ground_of(one.window)).area), 3) for one in tiles}
    for tile in sorted(tiles, key=lambda one: shares[id(one)]):
        others = [ground_of(one.window) for one in kept if one is not tile]
        if (
            others
            and band.intersection(ground_of(tile.window)).difference(shapely.union_all(others)).area < 1e-6
        ):
            kept.remove(tile)
    return kept


def _along(low: float, high: float, wide_m: float, overlap_m: float) -> tuple[int, float]:
    """How many windows hold a length, and where the first begins for them to stand about its middle."""
    count = max(1, math.ceil((high - low - overlap_m) / (wide_m - overlap_m) - 1e-9))
    whole = count * (wide_m - overlap_m) + overlap_m
    return count, float(math.floor((low + high - whole) / 2.0))


def ground_of(window: Window) -> BaseGeometry:
    """The ground that a window shows, in metres."""
    per_mm = window.scale / 1000.0
    return shapely.box(
        window.east_m,
        window.north_m,
        window.east_m + window.box.width * per_mm,
        window.north_m + window.box.height * per_mm,
    )


def index_of(tiles: Sequence[MapTile], framing: Framing, *, over: Sequence[Item] = ()) -> tuple[Item, ...]:
    """Outlines and numbers of the sheets, on a map of the whole; both keep off the norths and scales `over` it, outlines off the numbers."""
    window, norths = framing.window, framing.norths
    kept = shapely.union_all(
        [
            shapely.box(norths.x, norths.y, norths.right, norths.top),
            *(shape_of_group(one) for one in over if isinstance(one, Group)),
        ]
    )
    shown = shapely.box(window.box.x, window.box.y, window.box.right, window.box.top)
    numbers: list[Text] = []
    stand: BaseGeometry
    outlines: list[BaseGeometry] = []
    for tile in tiles:
        east, north, east_end, north_end = ground_of(tile.window).bounds
        outline = shapely.box(*window.at(east, north), *window.at(east_end, north_end))
        outlines.append(outline.exterior.intersection(shown).difference(kept))
        words = f"map {tile.number}"
        wide = text_width_mm(words, Face.SEMIBOLD, SMALL)
        left, low, right, top = outline.intersection(shown).bounds
        places = [
            (x, y)
            for y in (top - _INDEX_DOWN_MM, low + _INDEX_IN_MM)
            for x in (left + _INDEX_IN_MM, right - _INDEX_IN_MM - wide, (left + right - wide) / 2.0)
        ]
        stand = shapely.union_all([kept, *map(shape_of_text, numbers)])
        free = [(x, y) for x, y in places if not shapely.box(x, y, x + wide, y + 2.0).intersects(stand)]
        # In what is seen on its neighbour too a number would be that of both.
        own = [
            (x, y)
            for x, y in free
            if not any(other is not tile and _covers(other, window, x + wide / 2.0, y) for other in tiles)
        ]
        at = (own or free or places)[0]
        numbers.append(Text(at=at, text=words, face=Face.SEMIBOLD, size_pt=SMALL, halo=WHITE))
    paths = (
        Path(
            commands=tuple(command for line in lines_in(border) for command in polyline(points_of(line))),
            pen=PENS["sheet edge"],
        )
        for border in outlines
    )
    return off_words((*paths, *numbers), numbers)


def _covers(tile: MapTile, window: Window, x: float, y: float) -> bool:
    """Whether a sheet shows the ground at a place of another map."""
    east, north, east_end, north_end = ground_of(tile.window).bounds
    (left, low), (right, top) = window.at(east, north), window.at(east_end, north_end)
    return left <= x <= right and low <= y <= top


def off_words(index: Sequence[Item], words: Iterable[Text]) -> tuple[Item, ...]:
    """An index whose outlines are interrupted at words: a dash that ends at a halo would seem to be a letter."""
    taken = shapely.union_all([shape_of_text(one).buffer(_INDEX_AIR_MM) for one in words])
    found: list[Item] = []
    for one in index:
        if isinstance(one, Path):
            outline = shapely.MultiLineString(_lines_of(one))
            lines = lines_in(shapely.difference(outline, taken))
            commands = tuple(command for line in lines for command in polyline(points_of(line)))
            found.append(replace(one, commands=commands))
        else:
            found.append(one)
    return tuple(found)


def _lines_of(path: Path) -> list[list[tuple[float, float]]]:
    parts: list[list[tuple[float, float]]] = []
    for command in path.commands:
        if command[0] == "M":
            parts.append([])
        if len(command) > 2:
            parts[-1].append((command[-2], command[-1]))
    return [one for one in parts if len(one) > 1]


_INDEX_AIR_MM = 0.6
_INDEX_IN_MM, _INDEX_DOWN_MM = 1.5, 3.4
"""From the sides of a sheet's outline to its number, and from its top to the base of it."""


@record(frozen=True, slots=True, kw_only=True)
class TilePages:
    """The maps that follow sheet 1, and the signs on them."""

    pages: tuple[Page, ...]
    signs: tuple[str, ...]
    square: DrawnSquare
    left: Mapping[str, tuple[str, ...]]
    """What found no room on one of them, by the words before it."""


def tile_pages(
    tiles: Sequence[MapTile],
    trav: Traverse,
    *,
    width: float,
    height: float,
    styles: Mapping[str, UnitStyle],
    register: Box | None = None,
    beneath: Sequence[Sequence[Item]] | None = None,
    told_in: str = TABLES,
    scales: Callable[..., tuple[Item, ...]] | None = None,
    paces: Sequence[PaceRule] = (),
) -> Outcome[TilePages]:
    """A page for each: the map, its scale, and lines along which it joins its neighbours.

    What `scales` draws for a framing, `off` those lines, comes over it, and a rule of `paces` stands beside its bars. Its crosses to register another sheet by keep within `register`. On film the words `beneath` each are kept clear.

    What found no room on one of them is said, and that it is listed where `told_in` tells; what is the same on every map is said of sheet 1.
    """
    places = {(tile.row, tile.column): tile.number for tile in tiles}
    ground = laid_ground(trav)
    band = walked_band(trav)
    pages: list[Page] = []
    signs: dict[str, None] = {}
    square = DrawnSquare({})
    left: dict[str, dict[str, None]] = {}
    said: list[Diagnostic] = []
    for at, tile in enumerate(tiles):
        box, scale = tile.window.box, tile.window.scale
        framing = _framing(tile, ground, band)
        joins = _match_lines(tile, places)
        scale_items = () if scales is None else scales(framing, off=joins)
        drawing = map_panel(
            trav,
            box=box,
            scale=scale,
            styles=styles,
            framing=framing,
            name=f"map {tile.number}",
            over=(*scale_items, *joins),
            register=register,
            beneath=None if beneath is None else beneath[at],
            told_in=told_in,
        )
        for what, names in drawing.left.items():
            left[what] = {**left.get(what, {}), **dict.fromkeys(names)}
        signs |= dict.fromkeys(drawing.signs)
        square = square.also(drawing.square)
        said += [one for one in drawing.diagnostics if one.code == "no-room-on-map"]
        head = Text(
            at=(box.x, box.top + _COORDINATES_MM + 2.2),
            text=cut_before(
                short_title(trav.log), f"map {tile.number} of {len(tiles)}", Face.SEMIBOLD, LARGE, box.width
            ),
            face=Face.SEMIBOLD,
            size_pt=LARGE,
        )
        plotted = (Group(items=scale_items, layer=Layer.GRID),) if scale_items else ()
        items: tuple[Item, ...] = (
            head,
            Group(items=(*drawing.items, *plotted), layer=Layer.MAP),
            *joins,
            *scale_strip(scale, x=box.x, top=box.y - tile.note_mm - 0.7, width=box.width, paces=paces),
        )
        pages.append(
            Page(
                width_mm=width,
                height_mm=height,
                items=items,
                title=f"Map {tile.number}",
                maps=(map_frame(trav.survey.frame, tile.window),),
            )
        )
    drawn = TilePages(
        pages=tuple(pages),
        signs=tuple(signs),
        square=square,
        left={what: tuple(names) for what, names in left.items()},
    )
    return Outcome(drawn, tuple(said))


def _framing(tile: MapTile, ground: MapGround, band_m: BaseGeometry) -> Framing:
    """The norths in the corner where they hide least of the band, of lines of the ground and of axial traces."""
    window = tile.window
    band = on_page(band_m, window)
    lines: list[BaseGeometry] = [one.line for one in courses_on_page(ground.courses, window)]
    lines += [one.obstacle for fold in ground.folds if (one := draw_trace(fold, window)) is not None]

    def hidden(place: Box) -> float:
        ground = shapely.box(place.x, place.y, place.right, place.top)
        long = sum(float(line.intersection(ground).length) for line in lines)
        return float(band.intersection(ground).area) + _LINE_WEIGHT_MM * long

    # Inside the match lines.
    norths = min(corners(window.box.inset(OVERLAP_MM / 2.0)), key=hidden)
    return Framing(
        window=window,
        norths=norths,
        fits=hidden(norths) == 0.0,
        wide_mm=window.box.width,
        high_mm=window.box.height,
        note_mm=tile.note_mm,
    )


def _match_lines(tile: MapTile, places: Mapping[tuple[int, int], int]) -> list[Item]:
    """In the middle of each overlap, with the number of the sheet that goes on beyond it."""
    box, half = tile.window.box, OVERLAP_MM / 2.0
    items: list[Item] = []
    for row, column, start, end, at, turn in (
        (0, -1, (box.x + half, box.y), (box.x + half, box.top), (box.x + half - 1.5, box.y + box.height / 2), 90.0),
        (0, 1, (box.right - half, box.y), (box.right - half, box.top), (box.right - half + 3.3, box.y + box.height / 2), 90.0),
        (-1, 0, (box.x, box.top - half), (box.right, box.top - half), (box.x + box.width / 2, box.top - half + 1.5), 0.0),
        (1, 0, (box.x, box.y + half), (box.right, box.y + half), (box.x + box.width / 2, box.y + half - 3.3), 0.0),
    ):  # fmt: skip
        number = places.get((tile.row + row, tile.column + column))
        if number is not None:
            items += [
                Path(commands=polyline([start, end]), pen=PENS["match line"]),
                Text(
                    at=at,
                    text=f"match line: map {number}",
                    face=Face.ITALIC,
                    size_pt=SMALL,
                    anchor=Anchor.MIDDLE,
                    turn_deg=turn,
                    halo=WHITE,
                ),
            ]
    return items
