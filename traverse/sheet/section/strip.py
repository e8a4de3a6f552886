"""The section strip: axes, ground, units, contacts as far as they can be known, apparent dips, names, and its note."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from itertools import pairwise

import numpy as np
import shapely

from traverse.ground.records import Evidence, SectionCut, Traverse
from traverse.log.items import Certainty
from traverse.record import record
from traverse.settled import settled
from traverse.sheet.paper.fonts import width_mm
from traverse.sheet.paper.growing import GrowingBoxes, shapes_of
from traverse.sheet.paper.labels import boxes_at, cheapest, label, shape_of_text, text_size
from traverse.sheet.paper.page import (
    Anchor,
    Box,
    Face,
    Group,
    Item,
    Path,
    Pen,
    Text,
    Tile,
    polyline,
    rectangle,
)
from traverse.sheet.paper.style import PENS, SMALL, WHITE, UnitStyle
from traverse.sheet.paper.words import quoted
from traverse.sheet.said.sentences import section_sentences
from traverse.sheet.section.axes import axes, bends, distances, ends_of, height_step, keep_off_bends, rulings
from traverse.sheet.section.construction import build, lines_expected
from traverse.sheet.section.fills import Fill, base_lines, halo_at, named_of
from traverse.sheet.section.letters import letters_at_depth, letters_of, off_letters
from traverse.sheet.section.note import (
    CAPTION_LINE_MM,
    LeftOff,
    caption,
    caption_lines,
    words_in_panel,
)
from traverse.sheet.section.point_names import NamesLeftOff, names_of
from traverse.sheet.section.strip_frame import BESIDE_MM, StripFrame
from traverse.sheet.section.ticks import other_sign, ticks_of
from traverse.sheet.signs.shown import sign_of
from traverse.sheet.signs.symbols import HEADINGS, SECTION_LINES, SIGNS, SignHeading
from traverse.structure.records import Geology
from traverse.structure.section.records import NOTHING_CARRIED, PointKind, ProfilePoint, Section

ROOM_ABOVE_MM = 6.6
"""Station names and the letters of the ends, over the box."""
_BELOW_MM = 6.8
"""Distance figures and one line of the note, under the box."""
_THREE_LINES_MM, _ON_NARROW, _ON_OTHER = 180.0, 3, 2
"""Paper narrower than this has so many lines of it, and other paper so many."""
ROOM_BESIDE_MM = BESIDE_MM
"""Height figures, to either side of the drawn section."""
_ROUND, _FINER = 10.0, (5.0, 2.0, 1.0)
"""Heights of floors are so round; less where the ground would lie on the bar at the floor."""
LEAST_MM = 36.0
"""However flat the ground: lower, no dip can be read off."""
_LOW_MM = 24.0
"""The lowest of all: what stands above flat ground is where its contacts would go on."""


def note_lines(paper_mm: float) -> int:
    """Lines of the note under a section on paper so wide: what is left off, and what the section can't show, have their room there."""
    return _ON_NARROW if paper_mm < _THREE_LINES_MM else _ON_OTHER


def room_below_mm(lines: int) -> float:
    """Distance figures and a note of so many lines, under the box."""
    return _BELOW_MM + CAPTION_LINE_MM * (lines - 1)


def wanted_height_mm(section: Section, trav: Traverse, *, scale: int) -> float:
    """Height of the box that holds the relief and about one unit below it, 36 or more; 24 where no height was measured."""
    heights = _heights(section)
    if not heights or len(section.profile) < 2:
        return 24.0
    return max(LEAST_MM, _natural_mm(section, trav, scale=scale))


def low_height_mm(section: Section, trav: Traverse, *, scale: int) -> float:
    """The same where the map needs the room: 24 or more, and all that lines are drawn in."""
    wanted = wanted_height_mm(section, trav, scale=scale)
    if wanted > LEAST_MM or len(section.profile) < 2:
        return wanted
    return min(wanted, max(_LOW_MM, _natural_mm(section, trav, scale=scale)))


def _natural_mm(section: Section, trav: Traverse, *, scale: int) -> float:
    """What the ground takes, with what is drawn below it."""
    tall_m = max(_heights(section)) - _floor(section, trav)
    return tall_m * 1000.0 / scale * section.exaggeration + 6.0


def least_height_mm(section: Section, *, scale: int) -> float:
    """Height of the lowest box in which the ground still stands, no higher than it is."""
    ground = [point.up_m for point in section.profile]
    relief_m = max(ground, default=0.0) - min(ground, default=0.0)
    return relief_m * 1000.0 / scale * min(1.0, section.exaggeration) + _AIR_MM


def _heights(section: Section) -> list[float]:
    return [point.up_m for point in section.profile] + [
        point.up_m
        for point in section.points
        if point.up_m is not None and point.kind is not PointKind.STATION
    ]


def _depth_limit(section: Section, geology: Geology, depth_m: float) -> float:
    """How deep lines may go: as asked, else the relief and about one unit below the lowest ground; of level beds no deeper than anything is drawn."""
    lowest = min(point.up_m for point in section.profile)
    if section.depth_m is not None:
        return lowest - section.depth_m
    relief = max(point.up_m for point in section.profile) - lowest
    thick = sorted(one.true_m for one in geology.thicknesses)
    unit = thick[len(thick) // 2] if thick else 0.0
    limit = lowest - relief - max(depth_m, min(unit, relief + 2.0 * depth_m))
    if section.bodies or not section.levels:
        return limit
    # Under level beds nothing is drawn below the colour, the readings and the lowest of their contacts.
    drawn = [point.up_m for point in section.points if point.up_m is not None]
    lines = section.construction.lines
    drawn += [up for line in lines for piece in line.pieces for _, up in piece.points]
    return max(limit, min([lowest - depth_m, *drawn]))


def _floor(section: Section, trav: Traverse) -> float:
    """The same, round in the unit of lengths: whatever the paper, a section is as deep as its log makes it."""
    step = _ROUND * trav.log.lengths.metres_each
    limit = _depth_limit(section, trav.geology, trav.ground.width.half_m)
    return settled(math.floor(limit / step + _SAME) * step)


@record(frozen=True, slots=True, kw_only=True)
class StripHeights:
    """Which heights a strip shows, and how high it is drawn."""

    tall_mm: float
    floor_m: float
    top_m: float
    exaggeration: float
    """As booked, or less where the ground would not stand in the strip."""

    lowest_m: float
    highest_m: float
    """Of the ground."""

    @property
    def shows_all(self) -> bool:
        """Whether the ground stands in it."""
        return self.lowest_m >= self.floor_m - _SAME and self.highest_m <= self.top_m + _SAME


def strip_heights(section: Section, trav: Traverse, *, tall_mm: float, scale: int) -> StripHeights | None:
    """Heights from the top of the relief down, as far as a box reaches or as lines may go; None without any.

    The ground, and some of what lies under it, comes before readings that were carried high above it.
    What is drawn of the readings decides it, so a handout takes over what its key has.
    """
    if len(section.profile) < 2:
        return None
    mm_per_m = 1000.0 / scale
    ground = [point.up_m for point in section.profile]
    exaggeration = _exaggeration(section, trav, tall_m=tall_mm / mm_per_m, air_m=_AIR_MM / mm_per_m)
    tall_m = tall_mm / (mm_per_m * exaggeration)
    heights = _heights(section)
    step = height_step(mm_per_m * exaggeration, trav.log.lengths)
    air = min(_AIR_MM / (mm_per_m * exaggeration), step)
    floor = _floor(section, trav)
    made = partial(
        StripHeights,
        tall_mm=tall_mm,
        exaggeration=exaggeration,
        lowest_m=min(ground),
        highest_m=max(ground),
    )
    fine = _ROUND * trav.log.lengths.metres_each
    if max(heights) + air - floor <= tall_m + _SAME:
        # What is free above the ground is worth more under readings that would stand on the bar.
        clear = max(min(heights) - _OVER_BAR_MM / (mm_per_m * exaggeration), max(heights) + air - tall_m)
        floor = min(floor, math.ceil(clear / fine - _SAME) * fine)
        return made(floor_m=floor, top_m=floor + tall_m)
    under = min(trav.ground.width.half_m, _UNDER_SHARE * tall_m)
    highest = min(max(heights), max(*ground, min(ground) - under + tall_m - air))
    top = highest + air
    # The relief matters more than what lies below it; a round floor more than a little room at the top.
    clear = min(ground) - _OVER_BAR_MM / (mm_per_m * exaggeration)
    lowest = _round_up(top - tall_m, trav, most_m=max(clear, floor))
    if highest > lowest + tall_m + _SAME:
        lowest = top - tall_m
    floor = max(floor, lowest)
    if floor > min(heights) + _SAME:
        floor = min(floor, max(lowest, math.floor(min(heights) / fine + _SAME) * fine))
    if floor > min(ground) + _SAME:
        # A round floor counts for less than the ground.
        floor = max(min(ground), top - tall_m)
    return made(floor_m=floor, top_m=floor + tall_m)


def _round_up(least_m: float, trav: Traverse, *, most_m: float) -> float:
    """The roundest height from one to another; round as floors are where not even the finest lies there."""
    steps = [one * trav.log.lengths.metres_each for one in (_ROUND, *_FINER)]
    found = [math.ceil(least_m / step - _SAME) * step for step in steps]
    return next((one for one in found if one <= most_m + _SAME), found[0])


def _exaggeration(section: Section, trav: Traverse, *, tall_m: float, air_m: float) -> float:
    """As booked where the ground stands in so many metres of paper; else the largest round one at which it does, with some of what lies under it."""
    ground = [point.up_m for point in section.profile]
    relief = max(ground) - min(ground)
    booked = section.exaggeration
    if relief * booked + air_m <= tall_m + _SAME:
        return booked
    under = min(trav.ground.width.half_m, relief)
    lower = [one for one in _EXAGGERATIONS if one < booked]
    fitting = [one for one in lower if (relief + under) * one + air_m <= tall_m + _SAME]
    return max(fitting, default=min(1.0, booked))


_AIR_MM = 2.5
"""Over the ground."""
_OVER_BAR_MM = 7.0
"""What the bar of evidence, its words and the figure of a reading take under it."""
_EXAGGERATIONS = (1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 15.0, 20.0, 30.0, 40.0, 50.0)
_UNDER_SHARE = 0.4
"""Of the height of a low section, what the ground may claim under it."""
EVIDENCE_PENS = {Evidence.WALKED: "section walked", Evidence.CARRIED: "section carried"}
_NOTHING = "nothing seen or carried"
_STEP_MM = 2.0
"""Between places tried for a word over it."""
_APART_MM = 1.2
"""Between a word over it and others."""
_ON_GROUND = 0.5
"""Cost of each square millimetre of it that lies over the coloured ground, against one over words or a line."""
_HIGHER_MM = 2.0
"""Row above that next to the bar."""
_RULE_MM = 0.2
"""Kept free to either side of a ruled line."""
_BAR_MM = 0.6
"""Middle of the bar of evidence over the floor."""


def _bar_box(box: Box) -> tuple[float, float, float, float]:
    """What the bar of evidence takes of a panel, with a hair of air: words stand clear of it."""
    return (box.x, box.y, box.right, box.y + 2.0 * _BAR_MM + 0.2)


def evidence_bar(
    cut: SectionCut,
    frame: StripFrame,
    placed: GrowingBoxes,
    lines: GrowingBoxes,
    fills: Sequence[Fill] = (),
    ruled: Sequence[Item] = (),
) -> list[Item]:
    """Along the floor: full where the line was walked, dashed where ground was carried to it, empty where nothing was.

    Each is named once over the bar, off what is `placed`, off constructed and `ruled` lines and off the coloured ground.
    """
    y = frame.box.y + _BAR_MM
    items: list[Item] = [
        Path(
            commands=rectangle(
                Box(x=frame.box.x, y=frame.box.y, width=frame.box.width, height=2.0 * _BAR_MM)
            ),
            fill=WHITE,
        )
    ]
    off = GrowingBoxes()
    for row in (*lines.all(), *(_ends_of(one) for one in ruled if isinstance(one, Path))):
        off.add(row)
    told: list[tuple[str, list[tuple[float, float]]]] = []
    for evidence, pen in EVIDENCE_PENS.items():
        runs = [
            (frame.x(run.start_m), frame.x(run.end_m)) for run in cut.evidence if run.evidence is evidence
        ]
        items += [Path(commands=polyline([(start, y), (end, y)]), pen=PENS[pen]) for start, end in runs]
        told.append((evidence.value, runs))
    told.append((_NOTHING, _empty([one for _, runs in told for one in runs], frame.box)))
    # What has the least room to stand over is named first, so that the others give way to it.
    told.sort(key=lambda one: settled(sum(end - start for start, end in one[1]), 3))
    return [*items, *(_named(words, runs, frame.box, placed, off, fills) for words, runs in told if runs)]


def _ends_of(line: Path) -> tuple[float, float, float, float]:
    """The box of a level or an upright line."""
    xs, ys = ([float(command[axis]) for command in line.commands] for axis in (-2, -1))
    return min(xs) - _RULE_MM, min(ys), max(xs) + _RULE_MM, max(ys)


def _empty(runs: Iterable[tuple[float, float]], box: Box) -> list[tuple[float, float]]:
    """Where the bar has nothing, as wide as the word for it at least: a gap between two runs needs none."""
    least = text_size(_NOTHING, Face.ITALIC, SMALL)[0] + 2.0 * _APART_MM
    at, found = box.x, []
    for start, end in (*sorted(runs), (box.right, box.right)):
        found += [(at, start)] if start - at >= least else []
        at = max(at, end)
    return found


def _uncovered(rests: Sequence[Item], others: Sequence[Item]) -> list[Item]:
    """The bar without words that letters or figures cover: on small paper these count for more."""
    return [one for one in rests if not isinstance(one, Text) or off_letters([one], others)]


def _named(
    words: str,
    runs: Sequence[tuple[float, float]],
    box: Box,
    placed: GrowingBoxes,
    lines: GrowingBoxes,
    fills: Sequence[Fill],
) -> Text:
    """The word over the middle of one of its runs, where least stands, a long one first."""
    size = text_size(words, Face.ITALIC, SMALL)
    runs = sorted(runs, key=lambda run: (round(run[0] - run[1], 3), run[0]))
    half = size[0] / 2.0
    y = box.y + 2.0 * _BAR_MM + 1.5
    # About the middle of each first, then toward its ends.
    along = [
        (start + end) / 2.0 + step * _STEP_MM
        for start, end in runs
        for step in sorted(
            range(-int((end - start) / 2.0 / _STEP_MM), int((end - start) / 2.0 / _STEP_MM) + 1), key=abs
        )
    ]
    # Where lines take all of that row, a little higher.
    centres = [
        (min(max(x, box.x + half + 0.5), box.right - half - 0.5), y + up)
        for up in (0.0, _HIGHER_MM)
        for x in along
    ]
    # With air at both ends, so that it doesn't run on from words beside it.
    boxes = boxes_at(centres, (size[0] + 2.0 * _APART_MM, size[1]))
    ground = shapely.union_all([fill.area for fill in fills])
    on_ground = shapely.area(shapely.intersection(shapes_of(boxes), ground))
    costs = placed.overlap(boxes) + lines.overlap(boxes) + _ON_GROUND * on_ground
    best = cheapest(costs + 0.001 * np.arange(len(boxes)))
    placed.add(boxes[best])
    halo = halo_at(centres[best], size, fills, halo_mm=0.4)
    return label(words, centres[best], face=Face.ITALIC, size_pt=SMALL, halo=halo)


def signs_expected_in(section: Section) -> tuple[str, ...]:
    """Every sign and line that the panel may draw, for the room that a legend wants before its ground is laid."""
    found: dict[str, None] = {}
    for line in section.construction.lines:
        if line.pieces:
            found |= dict.fromkeys(lines_expected(line))
    drawn = [one for one in section.construction.axial if len(one.points) > 1]
    found |= dict.fromkeys("axial surface" if one.hinge else "dip changes" for one in drawn)
    if any(point.is_bed for point in section.points):
        found["apparent dip"] = None
    found |= dict.fromkeys(name for point in section.points if (name := other_sign(point)) is not None)
    return tuple(found)


def signs_in_section(items: Iterable[Item]) -> tuple[str, ...]:
    """Names of the lines and signs that a drawn panel shows, for the legend.

    The bar of evidence is named where it stands, so it has none.
    """
    paths = list(_paths_in(items))
    pens = {path.pen for path in paths}
    marks = {_mark(path) for path in paths}
    return (
        *(name for name in _LINES if PENS[name] in pens),
        *(name for name in _IN_SECTION if _mark(SIGNS[name].shapes[-1]) in marks),
    )


_LINES = (
    *(
        f"{kind} {one.value}"
        for kind in ("contact", "fault")
        for one in Certainty
        if kind == "fault" or one is not Certainty.CERTAIN
    ),
    *SECTION_LINES,
)
_IN_SECTION = tuple(name for name, heading in HEADINGS.items() if heading is SignHeading.SECTION)


def _mark(path: Path) -> tuple[str | Tile | None, Pen | None, int]:
    """What tells the last shape of a sign of the section from that of another, however it is turned."""
    return path.fill, path.pen, len(path.commands)


def _paths_in(items: Iterable[Item]) -> Iterator[Path]:
    for item in items:
        if isinstance(item, Group):
            yield from _paths_in(item.items)
        elif isinstance(item, Path):
            yield item


@record(frozen=True, slots=True, kw_only=True)
class StripDrawing:
    """A section on the page."""

    items: tuple[Item, ...]
    unsaid: str = ""
    """All that there is to say of it, where what stands under it says less."""


def section_panel(
    cut: SectionCut,
    trav: Traverse,
    *,
    box: Box,
    scale: int,
    styles: Mapping[str, UnitStyle],
    ruled: bool = False,
    profile: bool = True,
    limits: bool = True,
    fills: str = "colour",
    heights: StripHeights | None = None,
    beneath: Sequence[Text] | None = None,
    lines: int = 1,
    more: str = "",
) -> StripDrawing:
    """The section at 1 : `scale`; `ruled` to be drawn on, without the ground unless `profile`, and with its `limits` told.

    `more` ends what stands under it where that says less than all.
    `fills` is the word for what units are filled with. `heights` are those of another drawing of the section, which
    this one is to lie on; without them its own. On a film, which has only what a handout has not, words keep off those `beneath` it.

    `box` is what lies between the axes: its left edge is the first end, its base the lowest height; the section is
    drawn as long as its scale makes it, `box.width` apart. Names stand up to `ROOM_ABOVE_MM` over it, figures and a note
    of so many `lines` down to `room_below_mm` under it, height figures up to `ROOM_BESIDE_MM` beside it.
    """
    section = cut.section
    mm_per_m = 1000.0 / scale
    drawn = Box(x=box.x, y=box.y, width=section.length_m * mm_per_m, height=box.height)
    if len(section.profile) < 2:
        return _without_heights(
            cut,
            trav,
            box=box,
            mm_per_m=mm_per_m,
            scale=scale,
            limits=limits,
            beneath=beneath,
            lines=lines,
            more=more,
        )
    # The colour goes as deep below ground as the ground to each side was looked at.
    depth = trav.ground.width.half_m
    heights = heights or strip_heights(section, trav, tall_mm=box.height, scale=scale)
    assert heights is not None, "a profile has heights"
    section = replace(section, exaggeration=heights.exaggeration)
    cut = replace(cut, section=section)
    frame = _frame(section, trav, drawn, mm_per_m, heights)
    built = build(cut, frame, styles)
    placed = GrowingBoxes()
    placed.add(_bar_box(drawn))
    names, untold = _names(section, frame, placed, beneath)
    keep_off_bends(section, frame, placed)
    ticks, figures, crowded, unwritten = ticks_of(
        section, frame, placed, built.whole, built.fills, near_m=trav.ground.width.half_m
    )
    # Its words have one row to stand in, letters many places.
    lined = rulings(section, frame) if ruled else []
    rests = evidence_bar(cut, frame, placed, built.whole, built.fills, lined) if beneath is None else []
    letters = letters_of(section, frame, depth, placed, built.whole, built.fills, built.parting)
    written = off_letters(figures, letters)
    unwritten += len(figures) - len(written)
    letters += letters_at_depth(named_of(cut, frame), frame, placed, built.whole)
    rests = _uncovered(rests, (*letters, *written))
    turned = bends(section, frame, placed, built.whole)
    clip = rectangle(Box(x=drawn.x, y=drawn.y, width=drawn.width, height=drawn.height))
    if beneath is not None:
        edges = [replace(fill.path(), fill=None, pen=PENS["edge of ground seen"]) for fill in built.fills]
        drawn_lines = Group(items=(*edges, *base_lines(cut, frame), *built.lines), clip=clip)
        return StripDrawing(items=(drawn_lines, *ticks, *written, *letters))
    made = words_in_panel(
        built,
        section_sentences(section) if limits else (),
        frame,
        depth,
        placed,
        fills=fills,
        at_most=section.as_far_as_walked,
    )
    left = LeftOff(of_names=untold, ticks=crowded, figures=unwritten, axial=built.axial_left)
    note = caption(
        section,
        trav,
        scale,
        left,
        made=made.made,
        limits=made.left,
        profile=profile,
        white_over_m=cut.white_over_m,
        more=more,
    )
    under, unsaid = caption_lines(note, frame, box.width, most=lines)
    inside: list[Item] = [
        *lined,
        *(fill.path() for fill in built.fills),
        *base_lines(cut, frame),
        *built.lines,
    ]
    if profile:
        inside += _ground(section, frame)
    items = (
        Group(items=tuple(inside), clip=clip),
        *turned,
        *ticks,
        *written,
        *letters,
        *rests,
        *axes(section, frame, placed),
        *names,
        *ends_of(section, frame),
        *made.items,
        *under,
    )
    return StripDrawing(items=items, unsaid=unsaid)


_SAME = 1e-6


def _ground(section: Section, frame: StripFrame) -> Iterator[Path]:
    """The ground, dashed where its height is guessed."""
    guessed = section.guessed()
    starts = sorted({0.0, *(at for stretch in guessed for at in stretch), section.length_m})
    for start_m, end_m in pairwise(starts):
        on = [one for one in section.profile if start_m - _SAME <= one.distance_m <= end_m + _SAME]
        pen = PENS["ground guessed" if (start_m, end_m) in guessed else "ground profile"]
        if len(on) > 1:
            yield Path(commands=polyline([frame.at((one.distance_m, one.up_m)) for one in on]), pen=pen)


def _names(
    section: Section, frame: StripFrame, placed: GrowingBoxes, beneath: Sequence[Text] | None
) -> tuple[list[Item], NamesLeftOff]:
    """Names over the section and what of them is left off; on a film there are none, and the words `beneath` it are kept clear."""
    if beneath is None:
        return names_of(section, frame, placed)
    for one in beneath:
        placed.add(shape_of_text(one).bounds)
    return [], NamesLeftOff()


def _on_level(section: Section, drawn: Box, box: Box) -> str:
    """Why it has no heights; what to do about it too where the page is wide enough, about the middle of the section."""
    sentences = (quoted(one.sentence) for one in section.limits if one.code == "section-level")
    whole = next(sentences, "no heights measured: readings on a level line")
    middle = drawn.x + drawn.width / 2
    right = max(box.right, drawn.right)
    room = 2.0 * (min(middle - drawn.x, right - middle) + BESIDE_MM)
    return whole if width_mm(whole, Face.ITALIC, SMALL) <= room else f"{whole.rpartition(': ')[0]}."


def _frame(section: Section, trav: Traverse, box: Box, mm_per_m: float, heights: StripHeights) -> StripFrame:
    return StripFrame(
        box=box,
        mm_per_m=mm_per_m,
        exaggeration=section.exaggeration,
        floor_m=heights.floor_m,
        top_m=heights.top_m,
        lengths=trav.log.lengths,
    )


def _without_heights(
    cut: SectionCut,
    trav: Traverse,
    *,
    box: Box,
    mm_per_m: float,
    scale: int,
    limits: bool,
    beneath: Sequence[Text] | None,
    lines: int,
    more: str,
) -> StripDrawing:
    """Readings and contacts on a level line, since no height was measured."""
    section = cut.section
    drawn = Box(x=box.x, y=box.y, width=section.length_m * mm_per_m, height=box.height)
    tall_m = drawn.height / (mm_per_m * section.exaggeration)
    frame = StripFrame(
        box=drawn,
        mm_per_m=mm_per_m,
        exaggeration=section.exaggeration,
        floor_m=-0.5 * tall_m,
        top_m=0.5 * tall_m,
        lengths=trav.log.lengths,
    )
    level = frame.y(0.0)
    ends = (0.0, section.length_m)
    flat = replace(
        section,
        profile=tuple(ProfilePoint(distance_m=distance, up_m=0.0) for distance in ends),
        points=tuple(replace(point, up_m=None) for point in section.points),
    )
    placed = GrowingBoxes()
    contacts: list[Item] = []
    for point in flat.points:
        if point.contact is not None:
            kind = sign_of(point.contact.kind)
            certainty = point.contact.certainty or Certainty.CERTAIN
            x = frame.x(point.distance_m)
            contacts.append(
                Path(
                    commands=polyline([(x, level), (x, level - 5.0)]),
                    pen=PENS[f"{kind} {certainty.value}"],
                )
            )
            placed.add_line((x, level), (x, level - 5.0))
    placed.add(_bar_box(drawn))
    names, untold = _names(flat, frame, placed, beneath)
    keep_off_bends(section, frame, placed)
    ticks, figures, crowded, unwritten = ticks_of(
        flat, frame, placed, GrowingBoxes(), (), near_m=trav.ground.width.half_m
    )
    turned = bends(section, frame, placed, GrowingBoxes())
    if beneath is not None:
        return StripDrawing(items=(*contacts, *ticks, *figures))
    told = section_sentences(replace(section, construction=NOTHING_CARRIED)) if limits else ()
    left = LeftOff(of_names=untold, ticks=crowded, figures=unwritten)
    note = caption(section, trav, scale, left, limits=told, more=more)
    under, unsaid = caption_lines(note, frame, box.width, most=lines)
    items = (
        Path(commands=polyline([(drawn.x, level), (drawn.right, level)]), pen=PENS["level unknown"]),
        *turned,
        *contacts,
        *ticks,
        *figures,
        *evidence_bar(cut, frame, placed, GrowingBoxes()),
        *distances(section, frame),
        *names,
        *ends_of(section, frame),
        Text(
            at=(drawn.x + drawn.width / 2, drawn.y + 5.0),
            text=_on_level(section, drawn, box),
            face=Face.ITALIC,
            size_pt=SMALL,
            anchor=Anchor.MIDDLE,
        ),
        *under,
    )
    return StripDrawing(items=items, unsaid=unsaid)
