"""The strip at the foot of sheet 1 that goes back out: where to look again, how to get there, whom to call."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from traverse.angle import bearing_text
from traverse.diagnostic import Diagnostic
from traverse.ground.records import Traverse, WayBack
from traverse.length import Lengths
from traverse.record import record
from traverse.sheet.paper.block import framed, set_lines
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import Block, Box, Face, Item, Path, Text, polyline, rectangle, shifted
from traverse.sheet.paper.style import PENS, SMALL, line_mm
from traverse.sheet.paper.words import NO_BREAK, azimuth, cut_lines, number, plain, wrap
from traverse.sheet.said.sentences import EMERGENCY_LINES
from traverse.sheet.said.stops import gather
from traverse.sheet.said.tomorrow import Task, in_walking_order, to_check
from traverse.source import Span
from traverse.wording import listed

MOST_PLACES = 3
_FIRST_MM = 7.2
_BOX_MM, _INDENT_MM = 2.6, 4.0
_GAP_MM = 4.0
_REASON_LINES = 4
_ALONE_MM = 170.0
"""From this width on every place has a column of its own."""
_WRITE_MM = 5.0
"""Between lines to write on."""
_BRIEF_WRITE_MM = 4.0
_LEAST_LINE_MM = 14.0


@record(frozen=True, kw_only=True)
class Visit:
    """A place to go back to tomorrow."""

    task: Task
    way: str
    """From the nearest station; empty where the log tells of no place."""


def visits(trav: Traverse, diagnostics: Sequence[Diagnostic]) -> tuple[tuple[Visit, ...], str]:
    """The worst few of what should be looked at again, in walking order; and in words whose paces, and how few."""
    tasks = to_check(trav, gather(trav), diagnostics)
    back: Mapping[Span, WayBack] = {one.span: one for one in trav.ground.ways_back}
    worst = in_walking_order(tasks[:MOST_PLACES], trav.log)
    gone = [back.get(one.span) if one.span is not None else None for one in worst]
    told = [_whose_paces(one for one in gone if one is not None)]
    told += [f"the worst {len(worst)} of {len(tasks)}"] if len(tasks) > len(worst) else []
    found = tuple(
        Visit(task=one, way=_way(one, way, trav.log.lengths)) for one, way in zip(worst, gone, strict=True)
    )
    return found, "; ".join(one for one in told if one)


def _way(task: Task, back: WayBack | None, lengths: Lengths) -> str:
    """`from 7: 072°, 12 paces`, or `N18E` where the log writes bearings so; `at 8` where it is said of stations alone."""
    if back is None:
        return "" if not task.at or task.at[0] in task.place else f"at station{NO_BREAK}{plain(task.at[0])}"
    station = plain(back.station)
    if back.reads_deg is None:
        return f"at station{NO_BREAK}{station}"
    if back.pace is None:
        far = lengths.about(back.distance_m)
    else:
        count = max(1, round(back.distance_m / back.pace.length_m))
        far = f"{number(count)}{NO_BREAK}{'paces' if count > 1 else 'pace'}"
    reads = (
        bearing_text(round(back.reads_deg), quadrant=True)
        if back.in_quadrants
        else f"{azimuth(back.reads_deg)}°"
    )
    return f"from{NO_BREAK}{station}: {reads}, {far}"


def _whose_paces(ways: Iterable[WayBack]) -> str:
    """`double paces of TB`: which paces the ways count; empty where they are counted in none, or differ."""
    courses = [one.pace.course for one in ways if one.pace is not None and one.reads_deg is not None]
    if not courses or any(one != courses[0] for one in courses):
        return ""
    kind = f"{courses[0].kind.value} paces" if courses[0].kind is not None else "paces"
    return f"{kind} of {plain(courses[0].who)}" if courses[0].who else kind


def tomorrow_strip(places: Sequence[Visit], *, more: str, width: float, brief: bool = False) -> Block:
    """Places side by side with a box to tick, and beside them the lines to fill in before going out.

    `more` stands at the right of the heading; a `brief` strip leaves reasons out.
    """
    apart = width >= _ALONE_MM
    share = (width - 3.0 * _GAP_MM) / 4.0 if apart else 0.5 * (width - _GAP_MM)
    if not places:
        return lines_to_fill_in(width, brief=brief)
    calls = _to_fill_in(share, pitch=_BRIEF_WRITE_MM if brief else _WRITE_MM)
    room = width - share - _GAP_MM
    items: list[Item] = framed("Look again tomorrow, in walking order", width=room, aside=more)
    deepest = 0.0
    if apart:
        wide = (room - (MOST_PLACES - 1) * _GAP_MM) / MOST_PLACES
        for index, place in enumerate(places):
            drawn = _place(place, wide, brief=brief)
            items += shifted(drawn.items, index * (wide + _GAP_MM), -_FIRST_MM)
            deepest = max(deepest, drawn.height)
    else:
        for place in places:
            drawn = _place(place, room, brief=brief)
            items += shifted(drawn.items, 0.0, -_FIRST_MM - deepest)
            deepest += drawn.height + 0.6
    items += shifted(calls.items, room + _GAP_MM, 0.0)
    return Block(items=tuple(items), height=max(_FIRST_MM + deepest - line_mm(SMALL) + 1.0, calls.height))


def _place(place: Visit, width: float, *, brief: bool) -> Block:
    """Box, place, way and why, from the base of the first line down; the height to the base that would follow."""
    room = width - _INDENT_MM
    box = Box(x=0.0, y=-0.5, width=_BOX_MM, height=_BOX_MM)
    items: list[Item] = [Path(commands=rectangle(box), pen=PENS["tick box"])]
    y = set_lines(
        items,
        wrap(place.task.place, Face.SEMIBOLD, SMALL, room),
        x=_INDENT_MM,
        y=0.0,
        face=Face.SEMIBOLD,
    )
    if place.way:
        lines = wrap(place.way, Face.BOLD, SMALL, room)
        y = set_lines(items, lines, x=_INDENT_MM, y=y, face=Face.BOLD)
    task = place.task
    words = "" if brief else task.why or task.reason
    reason = cut_lines(words, Face.REGULAR, SMALL, room, most=_REASON_LINES) if words else ()
    y = set_lines(items, reason, x=_INDENT_MM, y=y)
    if task.hazards:
        told = f"Hazard{'s' if len(task.hazards) > 1 else ''} there: {listed(task.hazards)}."
        lines = wrap(told, Face.SEMIBOLD, SMALL, room)
        y = set_lines(items, lines, x=_INDENT_MM, y=y, face=Face.SEMIBOLD)
    return Block(items=tuple(items), height=-y)


def lines_to_fill_in(width: float, *, brief: bool = False) -> Block:
    """Lines for whom to call and when to turn back, side by side where the width holds them; `brief` without a heading."""
    each = (width - 2.0 * _GAP_MM) / len(EMERGENCY_LINES)
    if any(text_width_mm(words, Face.REGULAR, SMALL) > each - _LEAST_LINE_MM for words in EMERGENCY_LINES):
        return _to_fill_in(width)
    items: list[Item] = framed("" if brief else "Before going out", width=width)
    y = -4.6 if brief else -9.0
    for index, words in enumerate(EMERGENCY_LINES):
        items += _line(words, index * (each + _GAP_MM), each, y)
    return Block(items=tuple(items), height=1.6 - y)


def _to_fill_in(width: float, *, pitch: float = _WRITE_MM) -> Block:
    """The same lines one below the other."""
    items: list[Item] = framed("Before going out", width=width)
    y = -4.0
    for words in EMERGENCY_LINES:
        y -= pitch
        items += _line(words, 0.0, width, y)
    return Block(items=tuple(items), height=1.6 - y)


def _line(words: str, x: float, width: float, y: float) -> list[Item]:
    start = x + text_width_mm(words, Face.REGULAR, SMALL) + 1.5
    return [
        Text(at=(x, y), text=words, size_pt=SMALL),
        Path(commands=polyline([(start, y - 0.4), (x + width, y - 0.4)]), pen=PENS["ruled line"]),
    ]


def strip_to_complete(*, width: float, brief: bool = False) -> Block:
    """The strip of a handout: boxes with lines to write on in place of what the key says."""
    pitch = _BRIEF_WRITE_MM if brief else _WRITE_MM
    apart = width >= _ALONE_MM
    share = (width - 3.0 * _GAP_MM) / 4.0 if apart else 0.5 * (width - _GAP_MM)
    room = width - share - _GAP_MM
    items: list[Item] = framed("Look again tomorrow, in walking order", width=room)
    columns = MOST_PLACES if apart else 1
    wide = (room - (columns - 1) * _GAP_MM) / columns
    for index in range(MOST_PLACES):
        column, row = (index, 0) if apart else (0, index)
        x, y = column * (wide + _GAP_MM), -4.0 - pitch * (row + 1)
        box = Box(x=x, y=y - 0.4, width=_BOX_MM, height=_BOX_MM)
        items.append(Path(commands=rectangle(box), pen=PENS["tick box"]))
        for line in range(2 if apart else 1):
            base = y - 0.4 - line * pitch
            items.append(
                Path(commands=polyline([(x + _INDENT_MM, base), (x + wide, base)]), pen=PENS["ruled line"])
            )
    calls = _to_fill_in(share, pitch=pitch)
    items += shifted(calls.items, room + _GAP_MM, 0.0)
    return Block(items=tuple(items), height=calls.height)
