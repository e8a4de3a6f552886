"""Axes, ends and bends of the section strip."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from traverse.angle import nearest_point, wrap_180, wrap_360
from traverse.length import Lengths
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.growing import GrowingBoxes
from traverse.sheet.paper.labels import FRAME_MM, cheapest, framed_letter
from traverse.sheet.paper.page import Anchor, Face, Item, Path, Text, polyline
from traverse.sheet.paper.style import LARGE, PENS, SMALL, WHITE
from traverse.sheet.paper.words import NO_BREAK, azimuth, cut, end_letter
from traverse.sheet.section.strip_frame import BESIDE_MM, StripFrame
from traverse.structure.section.records import Section

_STRAIGHT_DEG = 0.5
_BEND_MM = 2.2
"""Height of the words at a bend, with air."""
_LETTERS_MM = 9.0
"""Room for the letters of an end."""
_LETTER_MM, _WAY_MM = 3.5, 0.5
"""Bases of the letter of an end, whose frame keeps below the bars over the section, and of the way it looks, over the box."""
_FIGURE_MM = 11.0
"""What a figure such as `1000 m` takes, with air."""
_CLEAR_MM = 0.9
"""Between the way that an end looks and the box, beside which figures of stations stand."""
_ROUND = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000, 50_000)


def height_step(mm_per_m: float, lengths: Lengths, *, box_mm: float = math.inf) -> float:
    """Round step of heights, in metres, 7 mm or more apart on paper; round in the unit of lengths.

    Closer on an axis of `box_mm` that would have one figure alone.
    """
    return _step(mm_per_m, lengths, least_mm=min(7.0, max(2.6, box_mm / 4.0)))


def _distance_step(frame: StripFrame) -> float:
    return _step(frame.mm_per_m, frame.lengths, least_mm=min(25.0, max(_FIGURE_MM, frame.box.width / 4.0)))


def _heights(frame: StripFrame) -> float:
    return height_step(frame.mm_per_m * frame.exaggeration, frame.lengths, box_mm=frame.box.height)


def _step(mm_per_m: float, lengths: Lengths, *, least_mm: float) -> float:
    steps = [one * lengths.metres_each for one in _ROUND]
    return next((step for step in steps if step * mm_per_m >= least_mm), steps[-1])


def axes(section: Section, frame: StripFrame, placed: GrowingBoxes) -> list[Item]:
    """Heights at both ends, distances below; a height that a reading at the very end stands on is told at the other end."""
    box = frame.box
    items: list[Item] = []
    step = _heights(frame)
    for x, side in ((box.x, -1.0), (box.right, 1.0)):
        items.append(Path(commands=polyline([(x, box.y), (x, box.top)]), pen=PENS["axis"]))
        lowest = math.ceil(frame.floor_m / step - 1e-9)
        highest = math.floor(frame.place((box.x, box.top + 1e-6))[1] / step)
        told = False
        for number in range(highest, lowest - 1, -1):
            y = frame.y(number * step)
            items.append(Path(commands=polyline([(x, y), (x + side * 1.0, y)]), pen=PENS["tick"]))
            # The unit stands once, with the uppermost figure, nearer to its tick where the margin asks for it.
            words = frame.lengths.figure(number * step) if told else frame.lengths.printed(number * step)
            wide = text_width_mm(words, Face.REGULAR, SMALL)
            off = max(1.2, min(1.6, BESIDE_MM - 0.1 - wide))
            left = x + off if side > 0 else x - off - wide
            if not placed.overlap(np.array([[left, y - 0.85, left + wide, y + 0.85]]))[0]:
                told = True
                items.append(
                    Text(
                        # The uppermost a little lower, off the way that the end looks.
                        at=(x + side * off, min(y - 0.85, box.top - 1.9)),
                        text=words,
                        size_pt=SMALL,
                        anchor=Anchor.END if side < 0 else Anchor.START,
                    )
                )
    items.extend(distances(section, frame))
    return items


def distances(section: Section, frame: StripFrame) -> list[Item]:
    """The axis along the floor, with ticks and figures."""
    box = frame.box
    items: list[Item] = [Path(commands=polyline([(box.x, box.y), (box.right, box.y)]), pen=PENS["axis"])]
    step = _distance_step(frame)
    count = math.floor(2.0 * section.length_m / step + 1e-9)
    for half in range(count + 1):
        distance = half * step / 2.0
        x = frame.x(distance)
        whole = half % 2 == 0
        items.append(
            Path(commands=polyline([(x, box.y), (x, box.y - (1.2 if whole else 0.7))]), pen=PENS["tick"])
        )
        if whole:
            words = frame.lengths.printed(distance)
            items.append(Text(at=(x, box.y - 3.7), text=words, size_pt=SMALL, anchor=Anchor.MIDDLE))
    return items


def rulings(section: Section, frame: StripFrame) -> list[Item]:
    """Lines to draw by: level at each figure of height, upright at each tick of distance."""
    box = frame.box
    step = _heights(frame)
    lines: list[list[tuple[float, float]]] = []
    height = math.ceil(frame.floor_m / step - 1e-9) * step
    while frame.y(height) <= box.top + 1e-6:
        lines.append([(box.x, frame.y(height)), (box.right, frame.y(height))])
        height += step
    half = _distance_step(frame) / 2.0
    count = math.floor(section.length_m / half + 1e-9)
    lines += [[(frame.x(one * half), box.y), (frame.x(one * half), box.top)] for one in range(1, count + 1)]
    return [Path(commands=polyline(line), pen=PENS["ruling"]) for line in lines]


def ends_of(section: Section, frame: StripFrame) -> list[Item]:
    """Letters of the ends over the way each looks, outside the axes."""
    box = frame.box
    last = section.azimuths_deg[-1] if section.azimuths_deg else section.azimuth_deg
    items: list[Item] = []
    for x, letter, way, anchor, side in (
        (box.x, section.first_letter, section.azimuth_deg + 180.0, Anchor.END, -1.0),
        (box.right, section.last_letter, last, Anchor.START, 1.0),
    ):
        point, degrees = nearest_point(way, points=8), f"{azimuth(wrap_360(way))}°"
        named = cut(end_letter(letter), Face.BOLD, LARGE, _LETTERS_MM)
        whole = f"{point}{NO_BREAK}{degrees}"
        off = min(1.2, BESIDE_MM - text_width_mm(whole, Face.REGULAR, SMALL))
        beside = 1.2 + text_width_mm(named, Face.BOLD, LARGE) + FRAME_MM + 0.8
        apart = off < _CLEAR_MM and beside + text_width_mm(point, Face.REGULAR, SMALL) <= BESIDE_MM
        top = framed_letter(named, (x + side * 1.2, box.top + _LETTER_MM), anchor=anchor)
        if apart:
            # A way named by two letters is wider than the room beside the box, where the first station's figures begin.
            items += (
                *top,
                Text(at=(x + side * beside, box.top + _LETTER_MM), text=point, size_pt=SMALL, anchor=anchor),
                Text(at=(x + side * 1.2, box.top + _WAY_MM), text=degrees, size_pt=SMALL, anchor=anchor),
            )
        else:
            items += (
                *top,
                Text(at=(x + side * off, box.top + _WAY_MM), text=whole, size_pt=SMALL, anchor=anchor),
            )
    return items


def keep_off_bends(section: Section, frame: StripFrame, placed: GrowingBoxes) -> None:
    """Take the upright lines at the bends into what is placed."""
    for x, _ in _bends(section, frame):
        placed.add_line((x, frame.box.y), (x, frame.box.top))


def _bends(section: Section, frame: StripFrame) -> Iterator[tuple[float, float]]:
    """Place of each bend on the page, and the azimuth from there on; none that goes straight on.

    Through a station on the way there is nothing to turn by.
    """
    ways = section.azimuths_deg
    for bend, before, way in zip(section.bends_m, ways, ways[1:], strict=False):
        if abs(wrap_180(way - before)) >= _STRAIGHT_DEG:
            yield frame.x(bend), way


def bends(section: Section, frame: StripFrame, placed: GrowingBoxes, lines: GrowingBoxes) -> list[Item]:
    """An upright line at each bend, with the bearing from there on where no line runs, as low as may be."""
    box = frame.box
    items: list[Item] = []
    for x, way in _bends(section, frame):
        words = f"bend, then {azimuth(way)}°"
        wide = text_width_mm(words, Face.ITALIC, SMALL)
        addresses = [
            (left, box.y + 0.7 + 1.5 * row)
            for row in range(max(1, int((box.height - 3.0) / 1.5)))
            for left in (x + 0.8, x - 0.8 - wide)
            if left >= box.x and left + wide <= box.right
        ] or [(x + 0.8, box.y + 0.7)]
        lower = np.array(addresses)
        upper = lower + np.array((wide, _BEND_MM))
        boxes = np.hstack([lower, upper])
        # Words that stand, and leaders to what they name, matter more than a line that was constructed.
        best = cheapest(lines.overlap(boxes) + 4.0 * placed.overlap(boxes))
        left, low = addresses[best]
        placed.add(boxes[best])
        items += (
            Path(commands=polyline([(x, box.y), (x, box.top)]), pen=PENS["bend"]),
            Text(at=(left, low + 0.5), text=words, face=Face.ITALIC, size_pt=SMALL, halo=WHITE),
        )
    return items
