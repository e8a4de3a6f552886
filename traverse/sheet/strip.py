"""The section strip: axes, ground, units, contacts as far as they can be known, apparent dips, names, and its note."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import shapely

from traverse.location.records import Survey
from traverse.log.records import Certainty, Log, Projection
from traverse.sheet.band import half_width_m
from traverse.sheet.fonts import width_mm as text_width_mm
from traverse.sheet.page import Anchor, Box, Face, Group, Item, Path, Text, polyline, rectangle
from traverse.sheet.section_axes import axes, bends, distances, ends_of, height_step, rulings
from traverse.sheet.section_construction import Built, build, is_drawn
from traverse.sheet.section_frame import Frame, Taken
from traverse.sheet.section_ground import contact_lines, fills_of, lens_lines, letters_of, obstacles
from traverse.sheet.section_lines import (
    Ground,
    cut_ground,
    ground_of,
    is_bed,
    other_sign,
    surface_units,
)
from traverse.sheet.section_names import named_points, names_of, side_of, ticks_of
from traverse.sheet.style import PENS, SMALL, WHITE, UnitStyle
from traverse.sheet.words import NO_BREAK, arrow, cut, metres, number, wrap
from traverse.structure.records import Geology, PointKind, ProfilePoint, Section

ROOM_ABOVE_MM = 6.6
"""Station names and the letters of the ends, over the box."""
ROOM_BELOW_MM = 6.8
"""Distance figures and the note, under the box."""
ROOM_BESIDE_MM = 9.0
"""Height figures, to either side of the drawn section."""
_NEAR_MM = 4.0
"""Two crossings of one contact nearer than this on paper are drawn as one."""
_NOTE_WIDTHS_MM, _MOST_LINES = (90.0, 75.0, 60.0, 50.0, 42.0, 36.0, 32.0), 5
"""Of what is said of a construction in its panel; the rest stands with the structure."""
_FLOOR_STEPS = 48
_LEFT_MM, _NOTE_MM = 14.0, 190.0
"""Left edge of every panel, and the widest note that can be read across."""


def wanted_height_mm(section: Section, log: Log, geology: Geology, *, scale: int) -> float:
    """Height of the box that holds the relief and about one unit below it; 24 where no height was measured."""
    heights = _heights(section)
    if not heights or ground_of(section) is None:
        return 24.0
    top = max(heights)
    depth = half_width_m(log.heading.sheet.band_m, scale)
    return (top - _depth_limit(section, geology, depth)) * 1000.0 / scale * section.exaggeration + 6.0


def _heights(section: Section) -> list[float]:
    return [point.up_m for point in section.profile] + [
        point.up_m
        for point in section.points
        if point.up_m is not None and point.kind is not PointKind.STATION
    ]


def _depth_limit(section: Section, geology: Geology, depth_m: float) -> float:
    """How deep lines may go: as asked, else the relief and about one unit below the lowest ground."""
    lowest = min(point.up_m for point in section.profile)
    if section.depth_m is not None:
        return lowest - section.depth_m
    relief = max(point.up_m for point in section.profile) - lowest
    thick = sorted(one.true_m for one in geology.thicknesses)
    unit = thick[len(thick) // 2] if thick else 0.0
    return lowest - relief - max(depth_m, min(unit, relief + 2.0 * depth_m))


def section_signs(section: Section) -> tuple[str, ...]:
    """Names of the signs that the panel draws beyond those of the map."""
    beds = ("apparent dip",) if any(is_bed(point) for point in section.points) else ()
    others = dict.fromkeys(name for point in section.points if (name := other_sign(point)) is not None)
    return (*beds, *others)


def section_panel(
    section: Section,
    log: Log,
    survey: Survey,
    geology: Geology,
    *,
    box: Box,
    scale: int,
    styles: Mapping[str, UnitStyle],
    ruled: bool = False,
    profile: bool = True,
) -> tuple[Item, ...]:
    """The section at 1 : `scale`; `ruled` to be drawn on, without the ground unless `profile`.

    `box` is what lies between the axes: its left edge is the first end, its base the lowest height; the section is
    drawn as long as its scale makes it, `box.width` apart. Names stand up to `ROOM_ABOVE_MM` over it, figures and note
    down to `ROOM_BELOW_MM` under it, height figures up to `ROOM_BESIDE_MM` beside it.
    """
    mm_per_m = 1000.0 / scale
    del survey
    drawn = Box(x=box.x, y=box.y, width=section.length_m * mm_per_m, height=box.height)
    ground = ground_of(section)
    if ground is None:
        return _without_heights(section, geology, box=box, mm_per_m=mm_per_m, scale=scale)
    # The colour goes as deep below ground as the ground to each side was looked at.
    depth = half_width_m(log.heading.sheet.band_m, scale)
    frame = _frame(section, geology, drawn, mm_per_m, depth)
    loose = surface_units([(unit.letters, unit.age) for unit in log.units])
    if section.construction is not None and is_drawn(section.construction):
        built = build(section, section.construction, ground, frame, depth, loose=loose, styles=styles)
    else:
        built = _straight(section, ground, frame, depth, loose=loose, styles=styles)
    placed = Taken()
    ticks, figures, unwritten = ticks_of(section, frame, ground, placed, built.near, built.fills)
    names, untold = names_of(section, frame, ground, placed)
    letters = letters_of(ground, frame, depth, placed, built.near, built.fills)
    made = _construction(built, frame, depth, placed)
    told: list[str] = []
    if built.words and not made:
        told = [f"{built.words}; lines to {metres(frame.floor_m)}"]
        if section.construction is not None:
            told.append(f"contacts by {section.construction.name}, to {metres(frame.floor_m)}")
    note = _notes(section, geology, scale, (untold, unwritten), made=told)
    inside: list[Item] = [
        *(rulings(section, frame) if ruled else ()),
        *(fill.path() for fill in built.fills),
        *lens_lines(built.runs, loose, ground, frame),
        *built.lines,
    ]
    if profile:
        drawn_ground = [frame.at((point.distance_m, point.up_m)) for point in section.profile]
        inside.append(Path(commands=polyline(drawn_ground), pen=PENS["ground profile"]))
    clip = rectangle(Box(x=drawn.x, y=drawn.y, width=drawn.width, height=drawn.height))
    return (
        Group(items=tuple(inside), clip=clip),
        *bends(section, frame),
        *ticks,
        *figures,
        *letters,
        *axes(section, frame),
        *names,
        *ends_of(section, frame),
        *made,
        *_note(note, frame, box.width),
    )


def _straight(
    section: Section,
    ground: Ground,
    frame: Frame,
    depth_m: float,
    *,
    loose: frozenset[str],
    styles: Mapping[str, UnitStyle],
) -> Built:
    """Contacts along their own readings, where nothing was constructed."""
    cut_m = cut_ground(
        section,
        ground,
        floor_m=frame.floor_m,
        top_m=frame.top_m,
        loose=loose,
        near_m=_NEAR_MM / frame.mm_per_m,
    )
    whole = Taken()
    rays = [line.down for line in cut_m.lines if line.down is not None]
    for ray in rays:
        whole.add_line(frame.at(ray.point(0.0)), frame.at(ray.point(ray.end_m)))
    words = "contacts drawn straight, along their own apparent dip or the nearest bed’s"
    return Built(
        runs=cut_m.runs,
        fills=tuple(fills_of(cut_m, ground, frame, depth_m, styles)),
        lines=tuple(contact_lines(cut_m, ground, frame, depth_m)),
        near=obstacles(cut_m, frame, depth_m),
        whole=whole,
        words=words if rays else "",
    )


def _frame(section: Section, geology: Geology, box: Box, mm_per_m: float, depth_m: float) -> Frame:
    """Heights from the top of the relief down, as far as the box reaches or as lines may go."""
    exaggeration = section.exaggeration
    tall_m = box.height / (mm_per_m * exaggeration)
    heights = _heights(section)
    step = height_step(mm_per_m * exaggeration)
    top = max(heights) + min(2.5 / (mm_per_m * exaggeration), step)
    floor = math.floor(_depth_limit(section, geology, depth_m) / step) * step
    # The relief matters more than what lies below it; a round floor more than a little room at the top.
    lowest = math.ceil((top - tall_m) / step - 1e-9) * step
    if max(heights) > lowest + tall_m:
        lowest = top - tall_m
    floor = max(floor, lowest)
    if floor > min(heights):
        floor = min(floor, max(lowest, math.floor(min(heights) / step) * step))
    return Frame(box=box, mm_per_m=mm_per_m, exaggeration=exaggeration, floor_m=floor, top_m=floor + tall_m)


def _carried(section: Section, geology: Geology) -> str:
    if section.projection is Projection.PLUNGE and geology.fold_axis is not None:
        axis = geology.fold_axis
        return f"down the plunge of the axis ({arrow(axis.plunge_deg, axis.trend_deg)})"
    if section.projection is Projection.STRIKE:
        return "along strike"
    return "square to the line"


def _notes(
    section: Section,
    geology: Geology,
    scale: int,
    left_off: tuple[int, int],
    *,
    made: Sequence[str] = (),
) -> list[str]:
    """What may stand below the panel, the fullest first.

    `made` says how lines were constructed, the fullest first, where that found no room in the panel.
    """
    factor = section.exaggeration
    ratio = f"Section 1:{number(scale) if scale >= 10_000 else scale}"
    if abs(factor - 1.0) < 1e-9:
        words = f"{ratio}, no vertical exaggeration"
    else:
        words = (
            f"{ratio}, heights {number(factor, places=0 if factor == round(factor) else 1)} times:"
            " dips drawn steeper, thicknesses not true"
        )
    sides = sorted({side_of(section, point).split(NO_BREAK)[-1] for point in named_points(section)} - {"0"})
    parts = [f". Stations carried {_carried(section, geology)}"]
    if any(is_bed(point) for point in section.points):
        parts.append("; ticks are apparent dips")
    if sides:
        parts.append(f"; {', '.join(sides)}: metres carried")
    untold, unwritten = left_off
    last = "." + (f" {untold} without room for their names." if untold else "")
    last += f" {unwritten} dip figures left off, see the table." if unwritten else ""
    # Where the paper is narrow, what the drawing shows by itself goes first.
    built = [f". {one[0].upper()}{one[1:]}" for one in made]
    counts = range(len(parts), -1, -1)
    notes = [words + "".join(parts[:count]) + one + last for count in counts for one in built]
    return [*notes, *(words + "".join(parts[:count]) + last for count in counts)]


def _construction(built: Built, frame: Frame, depth_m: float, placed: Taken) -> list[Item]:
    """How the lines were made, on the floor where nothing else is drawn; nothing where there is no such room."""
    if not built.words:
        return []
    head = f"{built.words}; colour to {metres(depth_m)}, lines to {metres(frame.floor_m)}"
    for wide_mm in _NOTE_WIDTHS_MM:
        if wide_mm + 2.0 > frame.box.width:
            continue
        lines = list(wrap(head, Face.ITALIC, SMALL, wide_mm))
        further = [line for one in built.sentences for line in wrap(one, Face.ITALIC, SMALL, wide_mm)]
        for told in ([*lines, *further], lines):
            left = _free_floor(told, built, frame, placed) if len(told) <= _MOST_LINES else None
            if left is not None:
                return _floor_note(told, left, frame)
    return []


def _free_floor(lines: Sequence[str], built: Built, frame: Frame, placed: Taken) -> float | None:
    """Left edge of a place along the floor that is free of lines, colour and words."""
    wide = max(text_width_mm(line, Face.ITALIC, SMALL) for line in lines)
    tall = 3.1 * len(lines)
    span = frame.box.width - wide - 2.0
    for step in range(_FLOOR_STEPS + 1):
        left = frame.box.x + 1.0 + span * (1.0 - step / _FLOOR_STEPS)
        area = Box(x=left, y=frame.box.y + 0.6, width=wide, height=tall)
        if built.whole.overlap(area) + placed.overlap(area) == 0.0 and not _coloured(area, built):
            return left
    return None


def _coloured(area: Box, built: Built) -> bool:
    """Whether a fill reaches into a box."""
    there = shapely.box(area.x, area.y, area.right, area.top)
    return any(fill.area.intersects(there) for fill in built.fills)


def _floor_note(lines: Sequence[str], left: float, frame: Frame) -> list[Item]:
    wide = max(text_width_mm(line, Face.ITALIC, SMALL) for line in lines)
    above_mm = 3.1 * (len(lines) - 1)
    return [
        Text(
            at=(left + wide / 2, frame.box.y + 1.1 + above_mm - 3.1 * index),
            text=line,
            face=Face.ITALIC,
            size_pt=SMALL,
            anchor=Anchor.MIDDLE,
            halo=WHITE,
        )
        for index, line in enumerate(lines)
    ]


def _note(notes: Sequence[str], frame: Frame, free_mm: float) -> list[Item]:
    """One line centred under the panel; it may be wider than the section, but not than what is free."""
    left = frame.box.x - ROOM_BESIDE_MM
    middle = frame.box.x + frame.box.width / 2
    # As wide as the page is to the left of the middle, where the section stands in the middle of its panel.
    room = max(free_mm + 2.0 * ROOM_BESIDE_MM, min(2.0 * (middle - _LEFT_MM), _NOTE_MM))
    fitting = (note for note in notes if text_width_mm(note, Face.REGULAR, SMALL) <= room)
    words = next(fitting, cut(notes[-1], Face.REGULAR, SMALL, room))
    half = text_width_mm(words, Face.REGULAR, SMALL) / 2
    middle = max(middle, min(left, _LEFT_MM) + half) if half > middle - left else middle
    return [Text(at=(middle, frame.box.y - 6.6), text=words, size_pt=SMALL, anchor=Anchor.MIDDLE)]


def _without_heights(
    section: Section,
    geology: Geology,
    *,
    box: Box,
    mm_per_m: float,
    scale: int,
) -> tuple[Item, ...]:
    """Readings and contacts on a level line, since no height was measured."""
    drawn = Box(x=box.x, y=box.y, width=section.length_m * mm_per_m, height=box.height)
    tall_m = drawn.height / (mm_per_m * section.exaggeration)
    frame = Frame(
        box=drawn,
        mm_per_m=mm_per_m,
        exaggeration=section.exaggeration,
        floor_m=-0.5 * tall_m,
        top_m=0.5 * tall_m,
    )
    level = frame.y(0.0)
    ends = (0.0, section.length_m)
    flat = replace(
        section,
        profile=tuple(ProfilePoint(distance_m=distance, up_m=0.0) for distance in ends),
        points=tuple(replace(point, up_m=None) for point in section.points),
    )
    ground = ground_of(flat)
    assert ground is not None
    placed = Taken()
    contacts: list[Item] = []
    for point in flat.points:
        if point.contact is not None:
            kind = "fault" if point.kind is PointKind.FAULT else "contact"
            certainty = point.contact.certainty or Certainty.CERTAIN
            x = frame.x(point.distance_m)
            contacts.append(
                Path(
                    commands=polyline([(x, level), (x, level - 5.0)]),
                    pen=PENS[f"{kind} {certainty.value}"],
                )
            )
            placed.add_line((x, level), (x, level - 5.0))
    ticks, figures, unwritten = ticks_of(flat, frame, ground, placed, Taken(), ())
    names, untold = names_of(flat, frame, ground, placed)
    notes = _notes(section, geology, scale, (untold, unwritten))
    return (
        Path(commands=polyline([(drawn.x, level), (drawn.right, level)]), pen=PENS["level unknown"]),
        *bends(section, frame),
        *contacts,
        *ticks,
        *figures,
        *distances(section, frame),
        *names,
        *ends_of(section, frame),
        Text(
            at=(drawn.x + drawn.width / 2, drawn.y + 1.6),
            text="no heights measured: readings on a level line",
            face=Face.ITALIC,
            size_pt=SMALL,
            anchor=Anchor.MIDDLE,
        ),
        *_note(notes, frame, box.width),
    )
