"""What a handout has in place of the answers: empty boxes, the usual signs, lines to write on."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import partial

from traverse.ground.records import Traverse
from traverse.length import Lengths
from traverse.sheet.legend.panels import limits_panel
from traverse.sheet.paper.block import TEXT_BASE_MM, framed
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import Anchor, Block, Box, Face, Item, Path, Text, polyline, rectangle
from traverse.sheet.paper.panel import Form, Panel
from traverse.sheet.paper.style import PENS, SMALL
from traverse.sheet.paper.words import cut
from traverse.sheet.signs.sign_list import (
    SIGN_PITCH_MM,
    TIGHT_SIGN_PITCH_MM,
    Entry,
    SignList,
    in_columns,
    sample,
)

TO_DRAW_WITH = (
    ("contact certain", "contact, certain"),
    ("contact approximate", "approximate"),
    ("contact inferred", "inferred"),
    ("contact concealed", "concealed"),
    ("fault down", "fault; ball: side down"),
    ("?", "doubtful: add ?"),
    ("bedding", "bedding, dip"),
    ("horizontal", "horizontal"),
    ("vertical", "vertical"),
    ("overturned", "overturned"),
    ("bedding tops", "tops seen"),
    ("axial trace", "axial trace, plunge"),
)
"""Always these twelve: a choice of signs would be an answer."""
_BOX_PITCH_MM = 7.5
_LEAST_BOX_PITCH_MM = 6.0
_BOX_MM, _BETWEEN_BOXES_MM = 11.0, 4.0
_LINE_MM = 5.2
_CLOSE_LINE_MM = 4.6
"""Between lines with their prompts, of which a figure each is to be written."""
_MOST_CLOSURES = 4
HEAD_TO_LINE_MM = 8.6
"""From the rule of a block to its first line to write on."""


def panels_to_complete(
    trav: Traverse,
    signs: Iterable[str],
    *,
    boxes: int,
    closures: int = 1,
    units: Panel | None = None,
    half_m: float | None = None,
    tight: bool = False,
    low: bool = False,
    calls: bool = False,
) -> list[Panel]:
    """The panels of words on a handout, with `boxes` empty ones for units where these are not given, and lines for so many closures.

    `signs` are those of its map, `calls` as `limits_panel` has it; `tight` and `low` where the layout has drawn rows and boxes together already.
    """
    drawn = SignList(tuple(signs), trav, half_m=half_m)

    def listed(*, width: float, pitch: float = SIGN_PITCH_MM) -> Block:
        there = drawn.block(width=width, pitch=pitch)
        return draw_with_block(there, width=width, pitch=pitch)

    empty = partial(boxes_block, boxes)
    lower = partial(empty, pitch=_LEAST_BOX_PITCH_MM)
    beside = partial(lower, columns=2)
    closer = partial(listed, pitch=TIGHT_SIGN_PITCH_MM)
    structure = partial(lines_block, "Structure")
    return [
        units
        or Panel(
            name="units",
            draw=lower if low else empty,
            shorter=(Form(step="short units", draw=lower), Form(step="least units", draw=beside)),
            part=empty,
            rows=boxes,
        ),
        Panel(
            name="signs",
            draw=closer if tight else listed,
            shorter=(Form(step="closer signs", draw=closer),),
        ),
        Panel(
            name="structure",
            draw=partial(structure, 2),
            shorter=(Form(step="fewer words", draw=partial(structure, 1)),),
        ),
        Panel(
            name="closure",
            draw=partial(closure_prompts, trav.log.lengths, min(closures, _MOST_CLOSURES)),
            shorter=tuple(
                Form(step="closure", draw=partial(closure_prompts, trav.log.lengths, count))
                for count in reversed(range(1, min(closures, _MOST_CLOSURES)))
            ),
        ),
        limits_panel(trav, last=OWN_WORK, calls=calls),
    ]


OWN_WORK = "Exercise: how good the stations are is yours to find, and what you draw is yours to defend."


def ruled(parts: Sequence[tuple[str, float]], width: float) -> str:
    """Prompts, each followed by a line to write on; the shares are those of the width that is left."""
    line = ""
    one = text_width_mm("_", Face.REGULAR, SMALL)
    for words, share in parts:
        left = width - text_width_mm(line + words, Face.REGULAR, SMALL)
        line += words + "_" * max(3, int(left * share / one))
    return line


def boxes_block(
    count: int,
    *,
    width: float,
    pitch: float = _BOX_PITCH_MM,
    columns: int = 1,
    part: slice = slice(None),
) -> Block | None:
    """Empty boxes for the units, each with a line to write on; in columns they run down the first one first."""
    count = len(range(count)[part])
    if count <= 0:
        return None
    items = framed("Units, youngest first", width=width, aside="letter, name, age, rock")
    high, rows = pitch - 1.6, math.ceil(count / columns)
    wide = (width - _BETWEEN_BOXES_MM * (columns - 1)) / columns
    for index in range(count):
        column, row = divmod(index, rows)
        left, y = column * (wide + _BETWEEN_BOXES_MM), -5.8 - row * pitch
        box = Box(x=left, y=y - high, width=_BOX_MM, height=high)
        items += (
            Path(commands=rectangle(box), pen=PENS["unit box"]),
            rule(left + _BOX_MM + 2.1, left + wide, y - high),
        )
    return Block(items=tuple(items), height=5.8 + pitch * rows + 0.8)


def draw_with_block(there: Block | None, *, width: float, pitch: float) -> Block:
    """The signs on the sheet, and below them the twelve to draw with."""
    items = list(there.items) if there is not None else framed("Signs", width=width)
    y = -(there.height if there is not None else TEXT_BASE_MM - 2.2) - 2.2
    words = "The usual signs, to draw with (not all may be needed)"
    items.append(
        Text(
            at=(0.0, y),
            text=cut(words, Face.ITALIC, SMALL, width),
            face=Face.ITALIC,
            size_pt=SMALL,
        )
    )
    entries = [
        Entry(draw=_doubt if name == "?" else partial(sample, name), words=said)
        for name, said in TO_DRAW_WITH
    ]
    rows = in_columns(entries, width=width, pitch=pitch)
    return Block(items=(*items, *rows.at(0.0, y - 3.9)), height=5.0 - y + rows.height)


def _doubt(left: float, y: float) -> list[Item]:
    return [Text(at=(left + 4.3, y - 0.9), text="?", face=Face.BOLD, size_pt=SMALL, anchor=Anchor.MIDDLE)]


def lines_block(heading: str, count: int, *, width: float) -> Block:
    """A heading over lines to write on."""
    items = framed(heading, width=width)
    y = -HEAD_TO_LINE_MM
    for _ in range(count):
        items.append(rule(0.0, width, y))
        y -= _LINE_MM
    return Block(items=tuple(items), height=2.4 - y - _LINE_MM)


def closure_prompts(lengths: Lengths, count: int, *, width: float) -> Block:
    """What a loop is worked out to, to be filled in; a line for each of several, with its name."""
    items = framed("Closure", width=width)
    y = -HEAD_TO_LINE_MM + 0.6
    unit = lengths.sign
    if count <= 1:
        words = ruled((("misclosure ", 0.28), (f" {unit}  length ", 0.42), (f" {unit}  1 in ", 1.0)), width)
        pitch, below = _LINE_MM, 2.7
    else:
        pitch, below = _CLOSE_LINE_MM, 1.6
        words = ruled((("loop ", 0.4), (" out by ", 0.4), (f" {unit}, 1 in ", 1.0)), width)
    for _ in range(max(1, count)):
        items.append(Text(at=(0.0, y), text=words, size_pt=SMALL))
        y -= pitch
    return Block(items=tuple(items), height=below - y - pitch)


def rule(left: float, right: float, y: float) -> Path:
    """A line to write on."""
    return Path(commands=polyline([(left, y), (right, y)]), pen=PENS["ruled line"])
