"""The stratigraphic column: units youngest on top, as thick as they were measured, with the samples of each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import zip_longest
from typing import NamedTuple

from traverse.ground.records import Traverse
from traverse.length import Lengths
from traverse.log.items import ContactKind
from traverse.sheet.paper.block import framed
from traverse.sheet.paper.fonts import width_mm
from traverse.sheet.paper.labels import spread
from traverse.sheet.paper.page import Anchor, Block, Box, Face, Item, Path, Role, Text, polyline, rectangle
from traverse.sheet.paper.style import HEAD, LARGE, PENS, SMALL, WHITE, line_mm
from traverse.sheet.paper.window import on_paper, round_scales
from traverse.sheet.paper.words import cut, cut_lines, natural, number, plain, wrap
from traverse.sheet.report.column_side import SIDE_MM, bodies_beside, bodies_words
from traverse.sheet.said.stops import gather, rock_line, units_on_sheet
from traverse.sheet.said.thickness_words import of_unit, thickness_words
from traverse.sheet.signs.pattern import rock_patterns
from traverse.structure.records import Geology
from traverse.structure.thickness.records import ColumnSample, UnitThickness
from traverse.wording import listed

_HEAD_MM = 9.0
_BAR_MM, _NARROW_BAR_MM, _NARROW_MM = 22.0, 14.0, 120.0
"""Width of the column; and where all there is for it and its words is narrower than the last."""
_BELOW_MM = 4.0
_FIGURES_MM = 22.0
_UNMEASURED_MM = 9.0
_MOST_OPEN_MM = 22.0
"""Of a unit that was never crossed whole: how much more there is nobody knows, so it need not fill the page."""
_TICK_MM, _LANE_SHARE = 4.4, 0.55
"""From the column to the words at a level, and how much of the room beside it these may take."""
_BREAK_MM = 0.6
"""Half the height of a break, and of its slant."""
_WAVE_MM, _WAVE_HIGH_MM = 3.0, 0.55
_OFF_BAR_MM = 1.5
_GAP_MM = 4.5
"""Between units that were nowhere seen together."""
_LEAST_MM = 6.5
"""Of a unit, so that its letters stand in it; a thinner one is drawn thicker and marked so."""


def column_block(trav: Traverse, *, width: float, height: float) -> Block | None:
    """The column in at most `height`; None where no thickness was measured.

    A unit that was never crossed whole is drawn with an open foot, as thick as it is at least. A sample stands at its level, as
    the thickness of its crossing is to that drawn; one whose level is not known beside its unit. Intrusive bodies stand at the
    side, along the units that they were seen in.
    """
    lengths = trav.log.lengths
    met = units_on_sheet(trav.log, trav.geology)
    units = tuple(unit for unit in met if not unit.intrusive)
    bodies = [unit for unit in met if unit.intrusive]
    known = {unit.letters: of_unit(trav.geology, unit.letters) for unit in units}
    # Where a unit was never crossed whole, as much of it as was seen; its foot or top stays open.
    thick = {
        letters: None if one is None else one.true_m if one.true_m is not None else one.least_m
        for letters, one in known.items()
    }
    measured = [mean for mean in thick.values() if mean is not None]
    ends = frozenset(letters for letters, one in known.items() if one is None or one.true_m is None)
    told = [
        line
        for unit in bodies
        for line in cut_lines(bodies_words(unit, trav), Face.ITALIC, SMALL, width, most=2)
    ]
    apart = {one.unit.letters: one.not_met for one in trav.geology.column if one.apart}
    room = height - _HEAD_MM - line_mm(SMALL) * (3.0 + len(told)) - _BELOW_MM - _GAP_MM * len(apart)
    if not measured or room < _LEAST_MM * len(units):
        return None
    each = room / len(units)
    unmeasured_mm, most_open_mm = min(_UNMEASURED_MM, each), min(_MOST_OPEN_MM, each)
    whole = [mean for letters, mean in thick.items() if mean is not None and letters not in ends]
    free_mm = (
        room - unmeasured_mm * (len(units) - len(measured)) - most_open_mm * (len(measured) - len(whole))
    )
    scale = _scale(whole or measured, free_mm, feet=lengths.in_feet)
    stops = gather(trav)
    rocks = {unit.letters: rock_line(unit.letters, trav.log, stops) for unit in met}
    patterns = rock_patterns(met, rocks)
    # A loose deposit lies on the worn edges of whatever is under it, whether or not the next of the list was met there.
    strata = [one for one in trav.geology.column if not one.unit.intrusive]
    on_worn = {
        one.unit.letters
        for one, below in zip_longest(strata, strata[1:])
        if one.base is ContactKind.UNCONFORMITY
        or (one.unit.loose and below is not None and not below.unit.loose)
    }
    samples = {one.unit.letters: one.samples for one in trav.geology.column}
    items = framed("Column", width=width, aside=f"1:{number(on_paper(scale))}, youngest on top")
    bar = _NARROW_BAR_MM if width < _NARROW_MM else _BAR_MM
    left, y = _FIGURES_MM, -_HEAD_MM
    most = (width - left - bar) * _LANE_SHARE
    lane = max(
        (
            width_mm(_level_words(one, lengths), Face.REGULAR, SMALL) + _TICK_MM
            for one in _levelled(trav.geology, known)
        ),
        default=0.0,
    )
    words_x = left + bar + 3.0 + min(lane, most)
    free = width - words_x - SIDE_MM * len(bodies)
    marks: list[_Mark] = []
    waves: list[Item] = []
    beside = False
    shortened = False
    stands: dict[str, tuple[float, float]] = {}
    for unit in units:
        mean = thick[unit.letters]
        tall = unmeasured_mm if mean is None else max(_LEAST_MM, mean * 1000.0 / scale)
        here, is_open = known[unit.letters], unit.letters in ends
        if is_open and tall > most_open_mm:
            tall, shortened = most_open_mm, True
        box = Box(x=left, y=y - tall, width=bar, height=tall)
        # For the copier it has the pattern that the unit has on the sheet.
        items.append(Path(commands=rectangle(box), fill=patterns[unit.letters], unit=unit.letters))
        sides = [(left, box.y), (left, y), (box.right, y), (box.right, box.y)]
        items.append(Path(commands=polyline(sides), pen=PENS["axis"]))
        if is_open:
            open_foot = polyline([(left, box.y), (box.right, box.y)])
            items.append(Path(commands=open_foot, pen=PENS["level unknown"]))
            if tall < (mean or 0.0) * 1000.0 / scale:
                items += _break(box)
        if unit.letters in on_worn:
            waves.append(_worn(box))
        letters = plain(unit.letters)
        half = width_mm(letters, Face.SEMIBOLD, LARGE) / 2 + 0.8
        plate = Box(x=left + bar / 2 - half, y=y - tall / 2 - 2.0, width=2 * half, height=4.0)
        items += [
            Path(commands=rectangle(plate), fill=WHITE),
            Text(
                at=(left + bar / 2, y - tall / 2 - 1.25),
                text=letters,
                face=Face.SEMIBOLD,
                size_pt=LARGE,
                anchor=Anchor.MIDDLE,
                role=Role.UNIT_LETTERS,
            ),
            *_thickness(thickness_words(here, lengths) or "not measured", left=left, y=y - tall / 2),
        ]
        mine, others = _marks(samples.get(unit.letters, ()), here, lengths, y=y, tall=tall, most=most)
        marks += mine
        beside = beside or bool(others)
        items += _words(plain(unit.name), others, x=words_x, y=y, tall=tall, free=free)
        stands[unit.letters] = (y, y - tall)
        y -= tall
        if unit.letters in apart:
            items += _gap(apart[unit.letters], left=left, y=y, bar=bar, x=words_x, free=free)
            y -= _GAP_MM
    items += waves
    items += bodies_beside(bodies, trav.geology, stands, patterns, right=width)
    if units[-1].letters not in ends:
        items.append(Path(commands=polyline([(left, y), (left + bar, y)]), pen=PENS["axis"]))
    items += _levels(marks, x=left + bar, low=y, high=-_HEAD_MM)
    note = "mean of the crossings"
    if marks:
        note += "; samples at their level, square to the beds from the nearest contact"
    if beside:
        note += "; a sample whose level is not known stands beside its unit"
    thin = [mean for mean in thick.values() if mean is not None and mean * 1000.0 / scale < _LEAST_MM]
    if thin:
        note += f"; units under {lengths.printed(_LEAST_MM * scale / 1000.0)} drawn thicker"
    if shortened:
        note += "; open units drawn shorter than they are, with a break"
    faulted = [one.unit.letters for one in trav.geology.column[:-1] if one.base is ContactKind.FAULT]
    if faulted:
        note += f"; below {listed(faulted)} a fault alone was met: what lies under it is not known"
    for line in (*told, *cut_lines(note, Face.ITALIC, SMALL, width, most=3)):
        y -= line_mm(SMALL)
        items.append(Text(at=(0.0, y - 1.0), text=line, face=Face.ITALIC, size_pt=SMALL))
    return Block(items=tuple(items), height=_BELOW_MM - y)


def _gap(not_met: Sequence[str], *, left: float, y: float, bar: float, x: float, free: float) -> list[Item]:
    """The gap below a unit that was nowhere seen together with the next, and what the list has there."""
    words = f"{listed([plain(one) for one in not_met])} not met" if not_met else "not seen together"
    (line, *_) = cut_lines(words, Face.ITALIC, SMALL, free, most=1)
    foot = polyline([(left, y), (left + bar, y)])
    return [
        Path(commands=foot, pen=PENS["level unknown"]),
        Text(at=(x, y - _GAP_MM / 2.0 - 0.85), text=line, face=Face.ITALIC, size_pt=SMALL),
    ]


def _worn(box: Box) -> Path:
    """The wave of an unconformity along the foot of a unit, a little to either side of the bar."""
    count = max(4, 2 * round(box.width / _WAVE_MM))
    left, wide = box.x - 1.0, box.width + 2.0
    points = [
        (left + wide * step / count, box.y + (_WAVE_HIGH_MM if step % 2 else -_WAVE_HIGH_MM))
        for step in range(count + 1)
    ]
    return Path(commands=polyline(points), pen=PENS["axis"])


def _break(box: Box) -> list[Item]:
    """A gap across the foot of a unit that is drawn shorter than it is."""
    low = box.y + 0.22 * box.height
    edges = [
        [(box.x - 0.8, y - _BREAK_MM), (box.right + 0.8, y + _BREAK_MM)] for y in (low, low + 2.0 * _BREAK_MM)
    ]
    gap = polyline([*edges[0], *reversed(edges[1])], close=True)
    return [
        Path(commands=gap, fill=WHITE),
        *(Path(commands=polyline(edge), pen=PENS["axis"]) for edge in edges),
    ]


def _scale(measured: list[float], room_mm: float, *, feet: bool) -> int:
    """The largest round one at which the measured units stand below each other."""
    return next(
        scale
        for scale in round_scales(feet=feet)
        if sum(max(_LEAST_MM, thick * 1000.0 / scale) for thick in measured) <= max(room_mm, 0.0)
        or scale > max(measured) * 1000.0 / _LEAST_MM
    )


class _Mark(NamedTuple):
    """A sample at its level."""

    y: float
    words: str


def _marks(
    samples: Sequence[ColumnSample],
    known: UnitThickness | None,
    lengths: Lengths,
    *,
    y: float,
    tall: float,
    most: float,
) -> tuple[list[_Mark], list[str]]:
    """Samples of a unit drawn from `y` down that have a level, as many as find a line of their own; labels of the others."""
    found: list[_Mark] = []
    others: list[str] = []
    for one in samples:
        share = _share(one, known)
        if share is None or (len(found) + 1) * line_mm(SMALL) > max(tall, line_mm(SMALL)):
            others.append(plain(one.booked.label))
            continue
        words = cut(_level_words(one, lengths), Face.REGULAR, SMALL, most - _TICK_MM)
        found.append(_Mark(y=y - tall * (1.0 - min(1.0, max(0.0, share))), words=words))
    return sorted(found, key=lambda mark: -mark.y), sorted(others, key=natural)


def _thickness(words: str, *, left: float, y: float) -> list[Text]:
    """Beside the bar, in as many lines as the room at its left asks for, about a height."""
    lines = wrap(words, Face.ITALIC, SMALL, left - _OFF_BAR_MM)
    top = y - 0.85 + line_mm(SMALL) * (len(lines) - 1) / 2.0
    return [
        Text(
            at=(left - _OFF_BAR_MM, top - line_mm(SMALL) * down),
            text=line,
            face=Face.ITALIC,
            size_pt=SMALL,
            anchor=Anchor.END,
        )
        for down, line in enumerate(lines)
    ]


def _level_words(one: ColumnSample, lengths: Lengths) -> str:
    label, level = plain(one.booked.label), one.level_m
    return (
        f"{label}, {lengths.printed(level)} above base"
        if level is not None
        else f"{label}, {lengths.printed(one.depth_m or 0.0)} below top"
    )


def _levelled(geology: Geology, known: Mapping[str, UnitThickness | None]) -> list[ColumnSample]:
    """Samples that stand at a level."""
    return [
        one
        for unit in geology.column
        for one in unit.samples
        if _share(one, known.get(unit.unit.letters)) is not None
    ]


def _share(one: ColumnSample, known: UnitThickness | None) -> float | None:
    """How far up in its unit a sample stands, as the unit is drawn; None where its level is not known."""
    if one.share is not None:
        return one.share
    thick = None if known is None else known.true_m if known.true_m is not None else known.least_m
    if not thick:
        return None
    if one.level_m is not None:
        return one.level_m / thick
    return None if one.depth_m is None else 1.0 - one.depth_m / thick


def _levels(marks: Sequence[_Mark], *, x: float, low: float, high: float) -> list[Item]:
    """A tick out of the column at each level, and the words it leads to."""
    step = line_mm(SMALL)
    places = spread(
        [-mark.y for mark in marks], [step] * len(marks), low=-high + step / 2, high=-low - step / 2
    )
    items: list[Item] = []
    for mark, place in zip(marks, places, strict=True):
        line = [(x, mark.y), (x + 1.6, mark.y), (x + 3.4, -place)]
        items += [
            Path(commands=polyline(line), pen=PENS["leader"]),
            Text(at=(x + _TICK_MM, -place - 0.85), text=mark.words, size_pt=SMALL),
        ]
    return items


def _words(name: str, samples: list[str], *, x: float, y: float, tall: float, free: float) -> list[Item]:
    """Name and samples of a unit beside it, as many lines as its height holds."""
    room = tall - 0.2
    lines: list[tuple[str, Face, float]] = []

    def add(text: str, face: Face, size: float, most: int) -> None:
        """As many lines as there is room for; the first in any case."""
        used = sum(line_mm(one) for _, _, one in lines)
        count = min(most, max(0 if lines else 1, int((room - used + 1e-6) / line_mm(size))))
        if count:
            lines.extend((line, face, size) for line in cut_lines(text, face, size, free, most=count))

    told = f"{'sample' if len(samples) == 1 else 'samples'} {', '.join(samples)}"
    if samples and room < line_mm(HEAD) + line_mm(SMALL):
        add(f"{name}; {told}", Face.SEMIBOLD, SMALL, 1)
    else:
        wide = width_mm(name, Face.SEMIBOLD, HEAD) > free and room < 2 * line_mm(HEAD)
        add(name, Face.SEMIBOLD, SMALL if wide else HEAD, 2)
        if samples:
            full = f"{told} beside the unit: level not known"
            add(full if width_mm(full, Face.REGULAR, SMALL) <= free else told, Face.REGULAR, SMALL, 2)
    items: list[Item] = []
    for text, face, size in lines:
        y -= line_mm(size)
        items.append(Text(at=(x, y + 0.4), text=text, face=face, size_pt=size))
    return items
