"""Words of the section strip: how its lines were made and what it can't show, in the panel where that is free; the line below it."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from itertools import product

import numpy as np
import shapely
from numpy.typing import NDArray

from traverse.ground.records import Traverse
from traverse.length import Lengths
from traverse.log.records import Projection
from traverse.record import record
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.growing import GrowingBoxes
from traverse.sheet.paper.page import Anchor, Box, Face, Item, Text
from traverse.sheet.paper.style import SMALL, WHITE
from traverse.sheet.paper.window import on_paper
from traverse.sheet.paper.words import NO_BREAK, arrow, cut, number, plain, wrap
from traverse.sheet.said.sentences import section_briefs, section_sentences
from traverse.sheet.section.construction import Built
from traverse.sheet.section.point_names import NOWHERE, NamesLeftOff, named_points, side_of
from traverse.sheet.section.strip_frame import BESIDE_MM, StripFrame
from traverse.structure.records import Geology
from traverse.structure.section.records import Section
from traverse.wording import capital, section_name

_WIDTHS_MM, _MOST_LINES = tuple(map(float, range(90, 30, -3))), 6
_LINE_MM = 3.1
_CLEAR_MM = (3.0, 2.0, 1.2, 0.6)
"""Room kept round the words, the most that can be had."""
_STEPS, _CELL_MM = 48, 0.4
CAPTION_LINE_MM, _UNDER_MM = 2.8, 6.6
"""From one line of the caption to the next, and from the panel to the first."""
_LEFT_MM, _CAPTION_MM = 14.0, 190.0
"""Left edge of every panel, and the widest line that can be read across."""
MORE_OF_SECTION = f"More{NO_BREAK}in{NO_BREAK}its{NO_BREAK}report."
"""Ends what stands under a section where it says less than it could."""
_IN_FULL = r" of the axis.*|, readings.*"
"""What narrow paper has no room for, of how places came on to the section."""
_NEAR_NORTH_DEG = 30.0
"""Nearer to north and south than this a section has no left and right of the map to be held against."""


@record(frozen=True, slots=True, kw_only=True)
class LeftOff:
    """How much of a section found no room."""

    of_names: NamesLeftOff
    ticks: int = 0
    figures: int = 0
    axial: int = 0

    @property
    def words(self) -> str:
        """A sentence with a blank before it; empty where all was drawn."""
        kinds = (
            (self.of_names.names, "station name"),
            (self.ticks, "reading"),
            (self.figures, "dip figure"),
            (self.axial, "change of dip" if self.axial == 1 else "changes of dip"),
        )
        counts = [
            f"{number(count)} {word}{'' if count == 1 or ' of ' in word else 's'}"
            for count, word in kinds
            if count
        ]
        counts += ["how far some were carried"] if self.of_names.distances else []
        return f" Left off: {', '.join(counts)}." if counts else ""

    @property
    def briefly(self) -> str:
        """The same in fewer words, where the paper is narrow."""
        kinds = (
            (self.of_names.names, "name", "names"),
            (self.ticks, "reading", "readings"),
            (self.figures, "dip", "dips"),
            (self.axial, "change of dip", "changes of dip"),
        )
        counts = [f"{number(count)} {one if count == 1 else more}" for count, one, more in kinds if count]
        counts += ["some distances"] if self.of_names.distances else []
        return f" {capital(', '.join(counts))} left off." if counts else ""

    @property
    def least(self) -> str:
        """That something is, where another sheet tells what."""
        return " Some left off." if self.words else ""


@record(frozen=True, slots=True, kw_only=True)
class Caption:
    """What may stand below the panel of a section, the fullest first."""

    whole: tuple[str, ...]
    """What says all."""
    less: tuple[str, ...]
    """What says less, and where the rest is told."""
    in_full: str
    """All that any of these may leave out, under the name of the section."""


@record(frozen=True, slots=True, kw_only=True)
class SetNote:
    """Words in the panel, and which of them found no room there."""

    items: tuple[Item, ...]
    made: tuple[str, ...]
    """How lines were made and how deep the colour goes, the fullest first, where that found no room."""
    left: tuple[str, ...]


def words_in_panel(
    built: Built,
    sentences: Sequence[str],
    frame: StripFrame,
    depth_m: float,
    placed: GrowingBoxes,
    *,
    fills: str = "colour",
    at_most: bool = False,
) -> SetNote:
    """How the lines were made, and as many sentences as there is room for, where nothing else is drawn.

    `fills` is what units are filled with, `at_most` whether that ends higher where a unit was not walked so low.
    """
    floor = frame.lengths.printed(frame.floor_m)
    # Lines go to a height, colour as deep below ground.
    deep = (
        [f"{fills} {'at most ' if at_most else ''}{frame.lengths.printed(depth_m)} deep"]
        if built.fills
        else []
    )
    whole = (built.words, ", ".join([*deep, *([f"lines to {floor}"] if built.deep else [])]))
    short = (f"{built.short}, to {floor}" if built.deep else built.short, *deep)
    head, brief = ("; ".join(filter(None, one)) for one in (whole, short))
    free = _Free(built, frame, placed)
    ways: dict[str, tuple[str, ...]] = {head: (), brief: (), ", ".join(deep): (built.words, built.short)}
    forms = [(head, count) for count in range(len(sentences), -1, -1)]
    for one, count in dict.fromkeys((*forms, *((way, 0) for way in ways))):
        told = [words for words in (one, *sentences[:count]) if words]
        for wide_mm in _WIDTHS_MM:
            lines = [line for words in told for line in wrap(words, Face.ITALIC, SMALL, wide_mm)]
            if not lines or len(lines) > _MOST_LINES or wide_mm + 2.0 > frame.box.width:
                continue
            place = free.place(lines)
            if place is not None:
                return SetNote(
                    items=tuple(_set(lines, place)),
                    made=tuple(filter(None, ways[one])),
                    left=tuple(sentences[count:]),
                )
    return SetNote(items=(), made=(head, brief) if head else (), left=tuple(sentences))


class _Free:
    """Ground and air of the panel that nothing is drawn on, by cells."""

    def __init__(self, built: Built, frame: StripFrame, placed: GrowingBoxes) -> None:
        box = self.box = frame.box
        wide, tall = (math.ceil(size / _CELL_MM) for size in (box.width, box.height))
        taken = np.zeros((tall, wide), dtype=bool)
        for row in (*built.whole.all(), *placed.all()):
            left, low = (math.floor(one / _CELL_MM) for one in (row[0] - box.x, row[1] - box.y))
            right, top = (math.floor(one / _CELL_MM) for one in (row[2] - box.x, row[3] - box.y))
            if right >= 0 and top >= 0:
                taken[max(0, low) : top + 1, max(0, left) : right + 1] = True
        if built.fills:
            area = shapely.union_all([fill.area for fill in built.fills])
            x = box.x + _CELL_MM * (np.arange(wide) + 0.5)
            y = box.y + _CELL_MM * (np.arange(tall) + 0.5)
            taken |= shapely.contains_xy(area, *np.meshgrid(x, y))
        # Sums over everything below and to the left, so that those of a box are four look-ups.
        self.sums = np.zeros((tall + 1, wide + 1), dtype=np.int64)
        self.sums[1:, 1:] = taken.cumsum(axis=0).cumsum(axis=1)

    def place(self, lines: Sequence[str]) -> Box | None:
        """The emptiest place, low ones and those to the right first among equals; None where there is none."""
        wide = max(text_width_mm(line, Face.ITALIC, SMALL) for line in lines)
        tall = _LINE_MM * len(lines)
        across, up = self.box.width - wide - 2.0, self.box.height - tall - 1.2
        if across < 0.0 or up < 0.0:
            return None
        x = 1.0 + across * np.linspace(1.0, 0.0, _STEPS + 1)
        y = 0.6 + up * np.linspace(0.0, 1.0, max(1, int(up / 1.5)) + 1)
        for clear in _CLEAR_MM:
            left, right = self._cells(x - clear, 1), self._cells(x + wide + clear, 1)
            low, top = self._cells(y - clear, 0), self._cells(y + tall + clear, 0)
            count = (
                self.sums[np.ix_(top, right)]
                - self.sums[np.ix_(low, right)]
                - self.sums[np.ix_(top, left)]
                + self.sums[np.ix_(low, left)]
            )
            free = np.argwhere(count == 0)
            if len(free):
                row, column = free[0]
                return Box(
                    x=self.box.x + float(x[column]), y=self.box.y + float(y[row]), width=wide, height=tall
                )
        return None

    def _cells(self, at_mm: NDArray[np.float64], axis: int) -> NDArray[np.int64]:
        """Edges of cells, inside the panel."""
        cells = np.rint(at_mm / _CELL_MM).astype(np.int64)
        return np.asarray(np.clip(cells, 0, self.sums.shape[axis] - 1), dtype=np.int64)


def _set(lines: Sequence[str], place: Box) -> list[Item]:
    return [
        Text(
            at=(place.x + place.width / 2, place.top - _LINE_MM * (index + 1) + 0.5),
            text=line,
            face=Face.ITALIC,
            size_pt=SMALL,
            anchor=Anchor.MIDDLE,
            halo=WHITE,
        )
        for index, line in enumerate(lines)
    ]


def caption(
    section: Section,
    trav: Traverse,
    scale: int,
    left_off: LeftOff,
    *,
    made: Sequence[str] = (),
    limits: Sequence[str] = (),
    profile: bool = True,
    white_over_m: float | None = None,
    more: str = "",
) -> Caption:
    """What may stand below the panel.

    `made` says how lines were constructed, the fullest first, and `limits` what the section can't show, where these
    found no room in the panel; the limits are given up last, but for that dashed ground is a guess. What is left off is
    never given up, nor are limits that have a brief, which stand first. `profile` where the ground is drawn, and `white_over_m` where a part of it
    has no colour, as its height may be off by more. `more` ends what says less than all, where another sheet has that.
    """
    heads, in_heads, others = _heads(section, limits)
    words = f"Section {_drawn_as(section, scale)[0]}"
    lengths = trav.log.lengths
    named = named_points(section)
    sides = any(side_of(section, one, lengths) != NOWHERE for one in named)
    parts = [f". Stations carried {_carried(section, trav.geology)}"]
    if any(point.is_bed for point in section.points):
        parts.append("; ticks are apparent dips")
    # On no paper is it left open: readings stand off the ground by how they came on to the section.
    brief = f". Carried {re.sub(_IN_FULL, '', _carried(section, trav.geology))}"
    off = left_off.of_names
    if sides and off.names + off.distances < len(named):
        parts.append("; how far, under their names")
    if profile and section.profile:
        parts.append(f". Profile from {_ground_from(section, trav)}")
    guessed = _guessed(section, lengths, white_over_m) if profile else [""]
    ends = dict.fromkeys((left_off.words, left_off.briefly))
    # Where the paper is narrow, what the drawing shows by itself goes first, then the advice of a limit; how places
    # came on to the section goes after it, and what it can't show last.
    told = [" " + " ".join(others[:count]) for count in range(len(others), 0, -1)]
    told += [" " + one.partition(": ")[0].rstrip(".") + "." for one in others[:1] if ": " in one]
    all_told = {"" if not others else told[0], *(told if len(others) == 1 else ())}
    kept = [
        *((limit, end, 1) for limit in told for end in ends),
        *((limit, end, 0) for limit in told for end in ends),
        *(("", end, least) for least in (1, 0) for end in ends),
    ]
    built = [f". {capital(one)}" for one in made]
    forms = [
        (
            limit in all_told and head in in_heads and bool(one or not built),
            head + words + ("".join(parts[:count]) or brief) + guess + one + "." + limit + end,
        )
        for limit, end, least in kept
        for counts in (range(len(parts), least - 1, -1),)
        for ways in (built, [""])
        for head in heads
        for count, one in product(counts, ways)
        for guess in guessed
    ]
    less = _cut_short(
        heads[-1],
        section,
        scale,
        left_off,
        brief=brief,
        guess=_off_by(section, lengths, white_over_m) if profile else [],
        told_elsewhere=bool(more),
    )
    # What the drawing shows by itself stands beside it in any form.
    in_full = f"Section {section_name(section.name)}: carried {_carried(section, trav.geology)}{guessed[0]}{''.join(built[:1])}."
    return Caption(
        whole=tuple(text for says_all, text in forms if says_all),
        less=tuple(
            f"{text}{f' {more}' if more else ''}"
            for text in (*(one for says_all, one in forms if not says_all), *less)
        ),
        in_full=plain(f"{in_full}{''.join(f' {one}' for one in limits)}{left_off.words}"),
    )


def _cut_short(
    head: str,
    section: Section,
    scale: int,
    left_off: LeftOff,
    *,
    brief: str,
    guess: Sequence[str],
    told_elsewhere: bool,
) -> list[str]:
    """What narrow paper has room for behind the head: by how much heights may be off before how places came on to the section.

    What is left off is not given up but where all is `told_elsewhere`. The last is cut where it has no room.
    """
    drawn = _drawn_as(section, scale)
    words, off = f"{head}Section {drawn[0]}", left_off.briefly
    found = [f"{words}{one}.{off}" for one in guess]
    if told_elsewhere:
        ends = (left_off.least, "")
        return [
            *found,
            *(f"{head}Section {how}{one}.{end}" for how in drawn for end in ends for one in guess or [""]),
        ]
    # What white ground is is not given up: colour that ends upright where it begins would read as a fault.
    found += [f"{head}Section {how}{one}.{off}" for how in drawn[1:2] for one in guess]
    return [*found, *(f"{words}{one}.{off}" for one in (brief, *([] if not guess else guess[-1:]), ""))]


def _drawn_as(section: Section, scale: int) -> tuple[str, str, str]:
    """Scale and exaggeration, and from where it is seen if not as the map lies; the same in fewer words, and in the fewest."""
    factor, printed = section.exaggeration, on_paper(scale)
    ratio = f"1:{number(printed) if printed >= 10_000 else printed}"
    if abs(factor - 1.0) < 1e-9:
        words, brief, least = f"{ratio}, no vertical exaggeration", f"{ratio}, not exaggerated", ratio
    else:
        times = f"×{number(factor, places=0 if factor == round(factor) else 1)}"
        brief, least = f"{ratio}, vertical exaggeration {times}", f"{ratio}, heights {times}"
        words = f"{brief}: dips drawn steeper, thicknesses not true"
    if _NEAR_NORTH_DEG < section.grid_azimuth_deg - 180.0 < 180.0 - _NEAR_NORTH_DEG:
        west = "west on the right"
        return f"{words}, seen from the north: west is on the right", f"{brief}, {west}", f"{least}, {west}"
    return words, brief, least


def _heads(section: Section, limits: Sequence[str]) -> tuple[list[str], set[str], list[str]]:
    """What stands before all else, in full, without the advice and in brief; the first two, which say all; and the other limits."""
    briefs = [f"{capital(one)}." for one in section_briefs(section, limits)]
    full = [one for one in section_sentences(section) if one in limits and section_briefs(section, [one])]
    facts = [f"{one.rpartition(': ')[0]}." for one in full]
    heads = [" ".join(words) + " " * bool(words) for words in (full, facts, briefs)]
    return list(dict.fromkeys(heads)), set(heads[:2]), [one for one in limits if one not in full]


def _guessed(section: Section, lengths: Lengths, white_over_m: float | None) -> list[str]:
    """That ground whose height is guessed is dashed, in full and briefly, and white over what; nothing where none is."""
    if section.ground_off_m is None:
        return [""]
    off, sd = (lengths.printed(one or 0.0) for one in (section.ground_off_m, section.ground_sd_m))
    full = f". Ground dashed where guessed from up to {off} off, to ± {sd}"
    brief = f". Dashed ground: guess, ± {sd}"
    if white_over_m is None:
        return [full, brief]
    over = lengths.printed(white_over_m)
    # Never without what white ground is: colour that ends upright where it begins would read as a fault.
    return [
        f"{full}; white where over ± {over} across the beds",
        f"{brief}; white over ± {over} across beds",
        f". Dashed: guess, ± {sd}; white over ± {over} across beds",
    ]


def _off_by(section: Section, lengths: Lengths, white_over_m: float | None) -> list[str]:
    """The same for a line or less, shorter and shorter, by how much dashed ground may be off last; none where none is guessed."""
    if section.ground_off_m is None:
        return []
    sd = lengths.printed(section.ground_sd_m or 0.0)
    if white_over_m is None:
        return [f". Dashed: guess, ± {sd}", f". Dashed ± {sd}"]
    over = lengths.printed(white_over_m)
    return [
        f". Dashed: guess, ± {sd}; white over ± {over} across beds",
        f". Dashed ± {sd}; white over ± {over} across beds",
    ]


def _carried(section: Section, geology: Geology) -> str:
    if section.projection is Projection.PLUNGE and geology.fold_axis is not None:
        axis = geology.fold_axis
        return f"down the plunge of the axis ({arrow(axis.plunge_deg, axis.trend_deg)})"
    if section.projection is Projection.STRIKE:
        # A place without a reading has no strike to be carried along: on a handout without them, none has.
        return "along strike" if geology.attitudes else "square to the line, readings along strike"
    return "square to the line"


def _ground_from(section: Section, trav: Traverse) -> str:
    """Where the heights of the ground under the line come from."""
    terrain = trav.ground.terrain
    if terrain is None:
        return "the heights of the walk"
    points = np.array(section.line, dtype=np.float64)
    starts = np.concatenate(([0.0], np.hypot(*np.diff(points, axis=0).T).cumsum()))
    at = [point.distance_m for point in section.profile]
    known = np.isfinite(terrain.at(*(np.interp(at, starts, points[:, axis]) for axis in (0, 1))))
    if known.all():
        return "the height grid"
    return "the height grid and the walk" if known.any() else "the heights of the walk"


def caption_lines(
    caption: Caption, frame: StripFrame, free_mm: float, *, most: int
) -> tuple[list[Item], str]:
    """The fullest that `most` lines hold, centred under the panel, and all that there is to say where it says less.

    They may be wider than the section, but not than what is free: that is from the left of every panel to the figures beyond `free_mm` from the first end, the axes with them.
    """
    left = min(frame.box.x - BESIDE_MM, _LEFT_MM)
    right = frame.box.x + max(free_mm, frame.box.width) + BESIDE_MM
    middle = frame.box.x + frame.box.width / 2
    # As wide as the page is to the left of the middle, where the section stands in the middle of its panel.
    room = min(right - left, max(free_mm + 2.0 * BESIDE_MM, min(2.0 * (middle - _LEFT_MM), _CAPTION_MM)))
    # One that is wider than all lines together is not broken to see it.
    notes = (*caption.whole, *caption.less)
    near = (
        (at, note) for at, note in enumerate(notes) if text_width_mm(note, Face.REGULAR, SMALL) <= most * room
    )
    broken = ((at, wrap(note, Face.REGULAR, SMALL, room)) for at, note in near)
    at, lines = next(
        ((at, one) for at, one in broken if len(one) <= most),
        (len(notes), [cut(notes[-1], Face.REGULAR, SMALL, room)]),
    )
    half = max(text_width_mm(one, Face.REGULAR, SMALL) for one in lines) / 2
    middle = max(min(middle, right - half), left + half)
    items: list[Item] = [
        Text(
            at=(middle, frame.box.y - _UNDER_MM - CAPTION_LINE_MM * row),
            text=one,
            size_pt=SMALL,
            anchor=Anchor.MIDDLE,
        )
        for row, one in enumerate(lines)
    ]
    return items, "" if at < len(caption.whole) else caption.in_full
