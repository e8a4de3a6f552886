"""Two versions of a walk over each other, with what was changed below; upright A4."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import shapely

from traverse.difference.records import Difference, DrawnWalk, Edit
from traverse.ground.records import Traverse
from traverse.length import Lengths
from traverse.location.records import PlaceKind
from traverse.sheet.legend.page_cautions import page_cautions
from traverse.sheet.map.halo import Grounds
from traverse.sheet.map.north import HEIGHT_MM, WIDTH_MM, north_diagram
from traverse.sheet.map.station_names import name_stations
from traverse.sheet.paper.block import framed, page_head, text_block
from traverse.sheet.paper.document import Document
from traverse.sheet.paper.filling import FilledTo, Pages
from traverse.sheet.paper.growing import GrowingBoxes
from traverse.sheet.paper.labels import Taken, shapes_in
from traverse.sheet.paper.look import SHIPPED, drawn_with
from traverse.sheet.paper.page import Block, Box, Face, Item, Path, Point, Text, circle, polyline
from traverse.sheet.paper.style import LARGE, PENS, SMALL, WHITE, line_mm
from traverse.sheet.paper.window import STRIP_MM, Window, convergence_of, round_scales, scale_strip
from traverse.sheet.paper.words import plain, whole_title
from traverse.sheet.said.cautions import days_and_party
from traverse.sheet.said.difference_words import (
    at_line,
    effect_words,
    heading_words,
    renaming_words,
    sentence,
    stopped,
    summary,
)
from traverse.sheet.said.sentences import not_adjusted
from traverse.sheet.signs.symbols import symbol
from traverse.wording import capital

_WIDE_MM, _HIGH_MM, _MARGIN_MM = 210.0, 297.0, 12.0
_MAP_MM = 130.0
_HEAD_MM = 8.0
_KEY_MM = 6.0
_EDGE_MM = 9.0
_BETWEEN_MM = 2.0
_MOVED_MM = 0.8
"""A station that moved less on paper gets no line from where it was."""
_PARAGRAPHS = 80
"""Of what was changed; of more the terminal tells."""
_OF_BLOCK = 12


def versions_document(found: Difference, now: Traverse) -> Document:
    """Both walks and what was changed; the difference must have both walks."""
    assert found.walks is not None
    title = plain(whole_title(now.log))
    subject = "Two versions of a walk"
    with drawn_with(SHIPPED):
        width = _WIDE_MM - 2.0 * _MARGIN_MM
        foot = page_cautions(now.log, width=width, who=days_and_party(now.log), elsewhere=None)
        frame = Box(
            x=_MARGIN_MM,
            y=_MARGIN_MM + foot.height + _BETWEEN_MM,
            width=width,
            height=_HIGH_MM - 2.0 * _MARGIN_MM - foot.height - _BETWEEN_MM,
        )
        what = plain(heading_words(found))
        heads = tuple(page_head(title, f"{what}{on}", width=width) for on in ("", ", continued"))
        pages, at = Pages.of(frame, heads=heads), FilledTo()
        at = pages.put(_map(found, now, width=width), at)
        for heading, paragraphs in _words(found):
            block = text_block(heading, paragraphs, width=width)
            if block is not None:
                at = pages.put(
                    Block(items=block.items, height=block.height + _BETWEEN_MM),
                    pages.fitting(block.height, at),
                )
        pages.on_each(foot, _MARGIN_MM, _MARGIN_MM + foot.height)
        made = pages.made(width=_WIDE_MM, height=_HIGH_MM, title=subject)
    return Document(pages=made, title=title, subject=subject)


def _words(found: Difference) -> list[tuple[str, list[str]]]:
    """Blocks of words: all of it, then each change with what followed."""
    blocks: list[tuple[str, list[str]]] = []
    whole = summary(found)
    if whole:
        blocks.append(("In all", [sentence(whole)]))
    told = [f"{capital(renaming_words(one))}." for one in found.renamings]
    told += [
        stopped(f"{_changed(one.edits, found)}: {'; '.join(effect_words(one.effect, found.lengths))}")
        for one in found.causes
    ]
    blocks += _parted("What was changed, and what followed", told[:_PARAGRAPHS])
    lines = [_changed([edit], found) for edit in found.edits]
    rest = lines[: max(0, _PARAGRAPHS - len(told))]
    blocks += _parted("Other lines, which moved no figure", rest)
    left = max(0, len(told) - _PARAGRAPHS) + len(lines) - len(rest)
    if left:
        blocks.append(("", [f"And {left} more, which the terminal tells."]))
    return blocks


def _changed(edits: Sequence[Edit], found: Difference) -> str:
    words = "; ".join(at_line(edit, found) for edit in edits)
    return capital(plain(words)) or "With no line changed"


def _parted(heading: str, paragraphs: Sequence[str]) -> list[tuple[str, list[str]]]:
    """In blocks that a page has room for."""
    return [
        (heading if not at else f"{heading}, continued", list(paragraphs[at : at + _OF_BLOCK]))
        for at in range(0, len(paragraphs), _OF_BLOCK)
    ]


def _map(found: Difference, now: Traverse, *, width: float) -> Block:
    """The old legs dashed, the new ones solid, stations by name, and a line from where each was to where it is."""
    assert found.walks is not None
    old, new = found.walks
    box = Box(x=0.0, y=-_HEAD_MM - _MAP_MM, width=width, height=_MAP_MM)
    window = _window(old, new, box, found.lengths, now)
    before, after = (
        {name: window.at(east, north) for name, east, north in walk.places} for walk in (old, new)
    )
    items = framed(
        "The walk as it was and as it is",
        width=width,
        aside="grid north up; open circles: where stations were",
    )
    lines: list[Path] = []
    for walk, points, pen in ((old, before, "raw figure"), (new, after, "adjusted figure")):
        lines += [
            Path(commands=polyline([points[start], points[end]]), pen=PENS[pen]) for start, end in walk.legs
        ]
    lines += [
        Path(commands=polyline([at, after[name]]), pen=PENS["leader"])
        for name, at in before.items()
        if name in after and _far(at, after[name])
    ]
    items += lines
    items += _signs(before, after, now)
    norths = Box(x=box.x, y=box.y, width=WIDTH_MM, height=HEIGHT_MM)
    items += _names(before, after, lines, box, norths)
    items += north_diagram(now.survey.frame, norths)
    items += scale_strip(window.scale, x=0.0, top=box.y, width=width)
    y = box.y - STRIP_MM - 3.0
    for left, pen, words in (
        (0.0, "raw figure", f"as it was: {found.was}"),
        (width / 2.0, "adjusted figure", f"as it is: {found.now}"),
    ):
        items += (
            Path(commands=polyline([(left, y + 0.85), (left + 7.0, y + 0.85)]), pen=PENS[pen]),
            Text(at=(left + 8.5, y), text=plain(words), size_pt=SMALL),
        )
    height = _HEAD_MM + _MAP_MM + STRIP_MM + _KEY_MM + _BETWEEN_MM
    stamp = not_adjusted(now.log, now.survey)
    if stamp is not None:
        height += line_mm(LARGE)
        items.append(Text(at=(0.0, y - line_mm(LARGE)), text=stamp, face=Face.BOLD, size_pt=LARGE))
    return Block(items=tuple(items), height=height)


def _far(first: Point, second: Point) -> bool:
    return abs(first[0] - second[0]) + abs(first[1] - second[1]) > _MOVED_MM


def _window(old: DrawnWalk, new: DrawnWalk, box: Box, lengths: Lengths, now: Traverse) -> Window:
    """Both walks in the middle, at the largest round scale that holds them with their names and the norths beside them."""
    places = [(east, north) for walk in (old, new) for _, east, north in walk.places]
    (west, south), (east, north) = (
        tuple(of(axis) for axis in zip(*places, strict=True)) for of in (min, max)
    )
    wide, high = max(east - west, 1.0), max(north - south, 1.0)
    room = box.width - 2.0 * _EDGE_MM, box.height - 2.0 * _EDGE_MM - HEIGHT_MM / 2.0
    scale = next(
        one
        for one in round_scales(feet=lengths.in_feet)
        if wide * 1000.0 / one <= room[0] and high * 1000.0 / one <= room[1]
    )
    per_m = 1000.0 / scale
    return Window(
        box=box,
        scale=scale,
        east_m=(west + east) / 2.0 - box.width / 2.0 / per_m,
        north_m=north + _EDGE_MM / per_m - box.height / per_m,
        convergence_deg=convergence_of(now.survey.frame.convergence_deg),
    )


def _signs(before: Mapping[str, Point], after: Mapping[str, Point], now: Traverse) -> list[Item]:
    items: list[Item] = []
    for name, at in before.items():
        if name not in after or _far(at, after[name]):
            items.append(Path(commands=circle(at, 0.7), pen=PENS["tick"], fill=WHITE))
    for name, at in after.items():
        control = now.survey.places[name].kind is PlaceKind.CONTROL
        items.extend(symbol("control" if control else "station", at))
    return items


def _names(
    before: Mapping[str, Point], after: Mapping[str, Point], lines: list[Path], box: Box, norths: Box
) -> tuple[Item, ...]:
    """Stations as they are; of those that are gone, where they were."""
    gone = [(f"{name}, gone", at) for name, at in before.items() if name not in after]
    new = [(name if name in before else f"{name}, new", at) for name, at in after.items()]
    places = [*new, *gone]
    points = [at for _, at in places]
    middle = (sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points))
    taken = Taken(box)
    taken.block(*shapes_in(lines, by=0.1))
    taken.block(*shapely.buffer(shapely.points(points), 0.8, quad_segs=2))
    taken.block_box(norths)
    named = [(plain(name), at) for name, at in places]
    return name_stations(named, middle, taken, Grounds((), {}), GrowingBoxes()).items
