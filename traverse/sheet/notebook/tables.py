"""Tables to carry: paces to lengths, and lengths along a slope to the level."""

from __future__ import annotations

from collections.abc import Sequence

from traverse.length import Lengths
from traverse.location.records import PaceLength
from traverse.reduction.records import SlopeRow
from traverse.sheet.paper.block import framed, set_lines
from traverse.sheet.paper.page import Anchor, Block, Face, Item, Path, Text, polyline
from traverse.sheet.paper.style import HEAD, PENS
from traverse.sheet.paper.words import NO_BREAK, cut, number, plain, wrap

_PITCH_MM = 4.3
_BASE_MM = 3.2
_NUMBERS = (*range(1, 11), *range(20, 101, 10), 200)
"""Paces; what lies between is added up."""
_BLANK_PACERS = 2
MOST_PACERS = 3
"""Side by side in one table."""


def pace_block(paces: Sequence[PaceLength], lengths: Lengths, *, width: float) -> Block:
    """Numbers of paces in lengths on the ground, a column for each pacer; without one, columns to fill in."""
    items = framed("Paces", width=width, aside=f"in {lengths.name}, on the ground")
    names = [_pacer(one, lengths) for one in paces] or ["________"] * _BLANK_PACERS
    said = (
        f"One pace: {'; '.join(names)}. Count again over a measured course each morning, and on rough ground."
        if paces
        else f"One pace, in {lengths.name}: {' and '.join(names)}. Fill in before you go."
    )
    y = set_lines(items, wrap(said, Face.REGULAR, HEAD, width), y=-7.6, size_pt=HEAD) + 2.4
    heads = ["paces", *(plain(one.course.who or "all") for one in paces)] if paces else ["paces", "", ""]
    half = len(_NUMBERS) // 2
    wide = (width - 5.0) / 2.0
    low = y
    for left, counts in ((0.0, _NUMBERS[:half]), (wide + 5.0, _NUMBERS[half:])):
        rows = [
            (
                number(count),
                *(
                    [lengths.figure(count * one.length_m, places=1) for one in paces]
                    if paces
                    else ["________"] * _BLANK_PACERS
                ),
            )
            for count in counts
        ]
        low = min(low, _grid(items, heads, rows, left=left, top=y, width=wide))
    return Block(items=tuple(items), height=3.0 - low)


def slope_block(rows: Sequence[SlopeRow], *, width: float) -> Block:
    """What 100 along a slope is on the level and how far it rises; paces as well as lengths."""
    items = framed("Slopes", width=width, aside="of 100 along the slope, paces or lengths")
    half = (len(rows) + 1) // 2
    wide = (width - 5.0) / 2.0
    low = top = -6.0
    for left, part in ((0.0, rows[:half]), (wide + 5.0, rows[half:])):
        cells = [
            (
                f"{row.slope_deg}°",
                f"{number(row.grade_percent)}{NO_BREAK}%",
                number(row.level, places=1),
                number(row.rise, places=1),
            )
            for row in part
        ]
        low = min(low, _grid(items, ["slope", "", "level", "rise"], cells, left=left, top=top, width=wide))
    return Block(items=tuple(items), height=3.0 - low)


def _pacer(pace: PaceLength, lengths: Lengths) -> str:
    kind = f" {pace.course.kind.value}" if pace.course.kind is not None else ""
    return f"{plain(pace.course.who or 'all')}{kind} {lengths.printed(pace.length_m, places=2)}"


def _grid(
    items: list[Item],
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    left: float,
    top: float,
    width: float,
) -> float:
    """Figures in columns of one width, their edges to the right; the first stands in bold. Where it ends."""
    share = width / len(heads)
    y = top
    for index, head in enumerate(heads):
        items.append(_cell(head, Face.ITALIC, left + share * (index + 1), y, share))
    y -= _PITCH_MM
    for at, row in enumerate(rows):
        if at % 5 == 0:
            pen = PENS["table rule" if at == 0 else "row rule"]
            items.append(Path(commands=polyline([(left, y), (left + width, y)]), pen=pen))
        for index, words in enumerate(row):
            face = Face.BOLD if index == 0 else Face.REGULAR
            items.append(_cell(words, face, left + share * (index + 1), y, share))
        y -= _PITCH_MM
    items.append(Path(commands=polyline([(left, y), (left + width, y)]), pen=PENS["table rule"]))
    return y


def _cell(words: str, face: Face, right: float, y: float, width: float) -> Text:
    return Text(
        at=(right, y - _BASE_MM),
        text=cut(words, face, HEAD, width),
        face=face,
        size_pt=HEAD,
        anchor=Anchor.END,
    )
