"""The strip at the foot of sheet 1 that goes back out: where to look again, how to get there, whom to call."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import partial

from traverse.angle import bearing_text
from traverse.diagnostic import Diagnostic, Severity
from traverse.ground.records import Traverse, WayBack
from traverse.length import Lengths
from traverse.record import record
from traverse.settled import settled
from traverse.sheet.paper.block import framed, set_lines
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import Block, Box, Face, Item, Path, Text, polyline, rectangle, shifted
from traverse.sheet.paper.style import HEAD, PENS, SMALL, line_mm
from traverse.sheet.paper.words import EN_DASH, NO_BREAK, azimuth, number, plain, wrap
from traverse.sheet.said.emergency import NOTHING_SAID, Call
from traverse.sheet.said.stops import gather
from traverse.sheet.said.tomorrow import Task, in_walking_order, to_check
from traverse.source import Span
from traverse.wording import capital, listed

MOST_PLACES = 3
_FIRST_MM = 7.2
_BOX_MM, _INDENT_MM = 2.6, 4.0
_GAP_MM = 4.0
MOST_LINES = 4
"""Why and what to do, of one place."""
_ALONE_MM = 170.0
"""From this width on every place has a column of its own."""
_BELOW_MM = 92.0
"""Below this width lines to write on beside the places would be too short for a number."""
_OVER_CALLS_MM = 2.0
_WRITE_MM = 5.0
"""Between lines to write on."""
_BRIEF_WRITE_MM = 4.0
_LEAST_LINE_MM = 14.0


NOTHING_ASKED = "no reading stands out; what nobody read is not checked"
"""At the head of a strip without a place, where nothing is asked."""


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
    ways = [one for one in gone if one is not None]
    if not tasks:
        return (), _asked_at_the_desk(diagnostics)
    told = [_whose_north(ways), _whose_paces(ways)]
    told += [f"±{NO_BREAK}1{NO_BREAK}sd"] if any(one.sd_m is not None for one in worst) else []
    told += [f"the worst {len(worst)} of {len(tasks)}"] if len(tasks) > len(worst) else []
    found = tuple(
        Visit(task=one, way=_way(one, way, trav.log.lengths, north=not told[0]))
        for one, way in zip(worst, gone, strict=True)
    )
    return found, "; ".join(one for one in told if one)


def _asked_at_the_desk(diagnostics: Sequence[Diagnostic]) -> str:
    """What stands in place of places to go back to: how many questions are open that need none."""
    count = sum(one.severity is Severity.WARNING and one.answer is None for one in diagnostics)
    asked = (
        f"{number(count)} question{'s' if count > 1 else ''} to the page {'are' if count > 1 else 'is'} open"
    )
    return f"no place to go back to; {asked}" if count else NOTHING_ASKED


def _way(task: Task, back: WayBack | None, lengths: Lengths, *, north: bool) -> str:
    """`from 7: 072°, 12 ± 3 paces`, or `N18E` where the log writes bearings so; `at 8` where it is said of stations alone.

    With `north` it says from which.
    """
    if back is None:
        return "" if not task.at or task.at[0] in task.place else f"at station{NO_BREAK}{plain(task.at[0])}"
    station = plain(back.station)
    if back.reads_deg is None:
        off = "" if task.sd_m is None or task.sd_m <= 1.0 else f" ±{NO_BREAK}{lengths.about(task.sd_m)}"
        return f"at station{NO_BREAK}{station}{off}"
    far = _far(back, task.sd_m, lengths)
    reads = (
        bearing_text(round(back.reads_deg), quadrant=True)
        if back.in_quadrants
        else f"{azimuth(back.reads_deg)}°"
    )
    reads += f"{NO_BREAK}{back.north.value}" if north else ""
    return f"from{NO_BREAK}{station}: {reads}, {far}"


def _far(back: WayBack, sd_m: float | None, lengths: Lengths) -> str:
    """`12 ± 3 paces`, `59 m ± 37 m`: how far it is, and how near that is known; `27 m ± 28 m (0–55)` where its leg ends before."""
    if back.pace is None:
        off = "" if sd_m is None else f" ±{NO_BREAK}{lengths.about(sd_m)}"
        within = [lengths.about(one).partition(NO_BREAK)[0] for one in _cut_by_leg(back, sd_m)]
        return f"{lengths.about(back.distance_m)}{off}{_from_to(within)}"
    count = max(1, round(back.distance_m / back.pace.length_m))
    off = "" if sd_m is None else f"{NO_BREAK}±{NO_BREAK}{number(max(1, round(sd_m / back.pace.length_m)))}"
    paces = f"{number(count)}{off}{NO_BREAK}{'paces' if count > 1 or off else 'pace'}"
    within = [number(round(one / back.pace.length_m)) for one in _cut_by_leg(back, sd_m)]
    return f"{paces}{_from_to(within)}"


def _cut_by_leg(back: WayBack, sd_m: float | None) -> tuple[float, ...]:
    """Nearest and farthest where to search, metres, if the error reaches past an end of the leg; else nothing."""
    if sd_m is None or back.leg_m is None:
        return ()
    first, last = back.distance_m - sd_m, back.distance_m + sd_m
    if settled(first, 3) > 0.0 and settled(last - back.leg_m, 3) <= 0.0:
        return ()
    return max(0.0, first), min(max(back.leg_m, back.distance_m), last)


def _from_to(figures: Sequence[str]) -> str:
    """` (0–55)`."""
    return f" ({EN_DASH.join(figures)})" if figures else ""


def _whose_north(ways: Sequence[WayBack]) -> str:
    """`bearings magnetic`: from which north the ways are; empty where there are none, or it differs."""
    norths = {one.north for one in ways if one.reads_deg is not None}
    return f"bearings {norths.pop().value}" if len(norths) == 1 else ""


def _whose_paces(ways: Iterable[WayBack]) -> str:
    """`double paces of TB`: which paces the ways count; empty where they are counted in none, or differ."""
    courses = [one.pace.course for one in ways if one.pace is not None and one.reads_deg is not None]
    if not courses or any(one != courses[0] for one in courses):
        return ""
    kind = f"{courses[0].kind.value} paces" if courses[0].kind is not None else "paces"
    return f"{kind} of {plain(courses[0].who)}" if courses[0].who else kind


def tomorrow_strip(
    places: Sequence[Visit],
    *,
    more: str,
    width: float,
    lines: int = MOST_LINES,
    help_by: Sequence[Call] = NOTHING_SAID,
    whole: str = "",
) -> Block:
    """Places side by side with a box to tick, and beside them whom to call, or lines to fill that in before going out.

    `more` stands at the right of the heading, also where there is no place. Why and what to do take at most so many `lines` of a place, or more where
    the strip becomes no higher by it: both, or else what to do. A brief strip, of no lines, has its own to fill in closer.
    With `whole`, which says where the words for an emergency stand in full, they take no more room than lines to fill in or
    the places do; without it they are told in full.
    """
    brief = not lines
    if not places:
        return _calls_alone(help_by, width, brief=brief, whole=whole, aside=more)
    if width < _BELOW_MM:
        items, height = _places(places, more=more, width=width, columns=1, lines=lines)
        calls = lines_to_fill_in(help_by, width, brief=brief, whole=whole)
        return _stacked(items, height, calls)
    share = _for_calls(width)
    beside = partial(_fullest, places, more=more, width=width, lines=lines, help_by=help_by, whole=whole)
    usual = beside(share=share)
    if not whole:
        return usual
    # Longer words take from the width of the places, as far as the strip becomes no higher by it.
    for wider in _WIDER:
        if words_fit(usual, help_by):
            break
        drawn = beside(share=max(share, wider * width))
        if drawn.height <= usual.height + _HAIR_MM:
            usual = drawn
    return usual


def _for_calls(width: float) -> float:
    """What of the width is for whom to call."""
    return (width - 3.0 * _GAP_MM) / 4.0 if width >= _ALONE_MM else 0.5 * (width - _GAP_MM)


def _stacked(items: Sequence[Item], height: float, calls: Block) -> Block:
    """Whom to call below the places."""
    top = height + _OVER_CALLS_MM
    return Block(items=(*items, *shifted(calls.items, 0.0, -top)), height=top + calls.height)


def _fullest(
    places: Sequence[Visit],
    *,
    more: str,
    width: float,
    share: float,
    lines: int,
    help_by: Sequence[Call],
    whole: str,
) -> Block:
    """The strip with as many lines of each place as asked for, or more where whom to call is as high anyway."""
    beside = partial(
        _side_by_side,
        places,
        more=more,
        width=width,
        share=share,
        pitch=_WRITE_MM if lines else _BRIEF_WRITE_MM,
        help_by=help_by,
        whole=whole,
    )
    usual = beside(lines=lines)
    for fuller in range(_FULLEST, lines, -1):
        drawn = beside(lines=fuller)
        if drawn.height <= usual.height + _HAIR_MM:
            return drawn
    return usual


_FULLEST = 6
"""Lines of a place where they cost no height."""
_HAIR_MM = 1e-6
_WIDER = (0.35, 0.45, 0.55)
"""Parts of the width for whom to call, where a quarter cuts what is said."""


def _side_by_side(
    places: Sequence[Visit],
    *,
    more: str,
    width: float,
    share: float,
    pitch: float,
    lines: int,
    help_by: Sequence[Call],
    whole: str,
) -> Block:
    """The strip with so much width for whom to call, and so far from one line to fill in to the next."""
    room = width - share - _GAP_MM
    columns = MOST_PLACES if width >= _ALONE_MM else 1
    items, height = _places(places, more=more, width=room, columns=columns, lines=lines)
    calls = _to_fill_in(help_by, share, pitch=pitch, whole=whole, most=height)
    return Block(items=(*items, *shifted(calls.items, room + _GAP_MM, 0.0)), height=max(height, calls.height))


def _places(
    places: Sequence[Visit], *, more: str, width: float, columns: int, lines: int
) -> tuple[list[Item], float]:
    """The places under their heading, side by side in columns or below each other, and how high they are."""
    heading = _heading(width)
    free = width - text_width_mm(heading, Face.SEMIBOLD, HEAD) - 2.0
    beside = text_width_mm(more, Face.ITALIC, SMALL) <= free
    items: list[Item] = framed(heading, width=width, aside=more if beside else "")
    # Whose paces the ways count is never cut: it has lines of its own where the heading leaves it none.
    told = () if beside else wrap(more, Face.ITALIC, SMALL, width)
    first = -set_lines(items, told, y=-_FIRST_MM, face=Face.ITALIC)
    wide = (width - (columns - 1) * _GAP_MM) / columns
    deepest = 0.0
    for index, place in enumerate(places):
        drawn = _place(place, wide, lines=lines)
        if columns > 1:
            items += shifted(drawn.items, index * (wide + _GAP_MM), -first)
            deepest = max(deepest, drawn.height)
        else:
            items += shifted(drawn.items, 0.0, -first - deepest)
            deepest += drawn.height + 0.6
    return items, first + deepest - line_mm(SMALL) + 1.0


def _heading(room: float) -> str:
    """What stands over the places, shorter where a column is too narrow for all of it."""
    whole = "Look again tomorrow, in walking order"
    return whole if text_width_mm(whole, Face.SEMIBOLD, HEAD) <= room else whole.partition(", ")[0]


def _place(place: Visit, width: float, *, lines: int) -> Block:
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
        y = set_lines(items, wrap(place.way, Face.BOLD, SMALL, room), x=_INDENT_MM, y=y, face=Face.BOLD)
    task = place.task
    y = set_lines(items, _reason(task, room, lines), x=_INDENT_MM, y=y)
    if task.hazards:
        told = f"Hazard{'s' if len(task.hazards) > 1 else ''} there: {listed(task.hazards)}."
        y = set_lines(items, wrap(told, Face.SEMIBOLD, SMALL, room), x=_INDENT_MM, y=y, face=Face.SEMIBOLD)
    return Block(items=tuple(items), height=-y)


def _reason(task: Task, room: float, lines: int) -> Sequence[str]:
    """Why and what to do where the lines hold both, else what to do, else why; never a sentence that is cut, and never none."""
    why = task.briefly or task.why
    forms = [
        wrap(capital(words), Face.REGULAR, SMALL, room)
        for words in (f"{why} {task.do}".strip(), task.do, why)
        if words
    ]
    # Nobody goes back to a place without knowing what for, so the shortest is told however few lines there are.
    return next((told for told in forms if len(told) <= lines), min(forms, key=len, default=()))


def _calls_alone(help_by: Sequence[Call], width: float, *, brief: bool, whole: str, aside: str) -> Block:
    """Whom to call across the page: in one row, or in fewer columns where that cuts what is said, the number first of all."""
    forms = [
        lines_to_fill_in(help_by, width, brief=brief, whole=whole, aside=aside, rows=rows, columns=columns)
        for columns, rows in ((0, 1), (3, 1), (3, 2), (2, 2))
    ]
    return next((one for one in forms if words_fit(one, help_by)), forms[0] if brief else forms[-1])


def lines_to_fill_in(
    help_by: Sequence[Call],
    width: float,
    *,
    brief: bool = False,
    whole: str = "",
    rows: int = 1,
    aside: str = "",
    columns: int = 0,
) -> Block:
    """Whom to call and when to turn back, side by side where the width holds them; `brief` without a heading.

    `aside` stands at the right of the heading. All in one row, or in so many `columns`.
    """
    columns = columns or len(help_by)
    each = (width - (columns - 1) * _GAP_MM) / columns
    if any(text_width_mm(one.name, Face.REGULAR, SMALL) > each - _LEAST_LINE_MM for one in help_by):
        return _to_fill_in(help_by, width, whole=whole)
    items: list[Item] = (
        framed("", width=width) if brief else framed("Before going out", width=width, aside=aside)
    )
    low = 0.4 if brief else -4.0
    for first in range(0, len(help_by), columns):
        y = low - 5.0
        for index, one in enumerate(help_by[first : first + columns]):
            drawn, base = _line(one, index * (each + _GAP_MM), each, y, whole=whole, rows=rows)
            items += drawn
            low = min(low, base)
    return Block(items=tuple(items), height=1.6 - low)


def _to_fill_in(
    help_by: Sequence[Call], width: float, *, pitch: float = _WRITE_MM, whole: str = "", most: float = 0.0
) -> Block:
    """The same lines one below the other.

    With `whole` no higher than `most` or than lines to write on would be: each has one printed line, and the first of
    those that need it a second one where the height holds it.
    """
    items: list[Item] = framed("Before going out", width=width)
    steps = [line_mm(SMALL) + 0.4 if one.words else pitch for one in help_by]
    free = max(most, 5.6 + len(NOTHING_SAID) * pitch) - 5.6 - sum(steps)
    y = -4.0
    for one, step in zip(help_by, steps, strict=True):
        rows = 1
        if whole and free >= line_mm(SMALL) and len(_wrapped(one.words, one, width)) > 1:
            rows, free = _MOST_ROWS, free - line_mm(SMALL)
        drawn, y = _line(one, 0.0, width, y - step, whole=whole, rows=rows)
        items += drawn
    return Block(items=tuple(items), height=1.6 - y)


_HANGING_MM = 2.0
_MOST_ROWS = 2
"""Printed lines of one thing to know in an emergency, where all of it stands elsewhere too."""


def _line(one: Call, x: float, width: float, y: float, *, whole: str, rows: int) -> tuple[list[Item], float]:
    """What a line is for, and what the log says of it or a rule to write on; and the base of its last line.

    The words take at most so many `rows` where they stand `whole` elsewhere.
    """
    items: list[Item] = [Text(at=(x, y), text=one.name, size_pt=SMALL)]
    start = x + _start(one)
    if not one.words:
        items.append(
            Path(commands=polyline([(start, y - 0.4), (x + width, y - 0.4)]), pen=PENS["ruled line"])
        )
        return items, y
    told = _within(one, width, whole=whole, rows=rows) if whole else _wrapped(one.words, one, width)
    items.append(Text(at=(start, y), text=told[0], face=Face.SEMIBOLD, size_pt=SMALL))
    y = set_lines(items, told[1:], x=x + _HANGING_MM, y=y - line_mm(SMALL), face=Face.SEMIBOLD)
    return items, y + line_mm(SMALL)


def _start(one: Call) -> float:
    return text_width_mm(one.name, Face.REGULAR, SMALL) + 1.5


def _wrapped(words: str, one: Call, width: float) -> tuple[str, ...]:
    """The first line beside the name, the others below it."""
    words = " ".join(filter(None, words.split(" ")))
    if not words:
        return ()
    first = wrap(words, Face.SEMIBOLD, SMALL, width - _start(one))[0]
    return (first, *wrap(words[len(first) :].strip(), Face.SEMIBOLD, SMALL, width - _HANGING_MM))


def _within(one: Call, width: float, *, whole: str, rows: int) -> tuple[str, ...]:
    """The words in so many rows; what is longer ends with where all of it stands."""
    told = _wrapped(one.words, one, width)
    if len(told) <= rows:
        return told
    parts = one.words.split(" ")
    # A narrow line keeps the sheet alone of the reference, so that a word of what is said stands before it.
    for ending in (f"…; in full {whole}", f"… {whole.removeprefix('on ')}".replace(" ", NO_BREAK)):
        for count in range(len(parts) - 1, 0, -1):
            told = _wrapped(" ".join(parts[:count]).rstrip(" ,;:.") + ending, one, width)
            if len(told) <= rows:
                return told
    return _wrapped(whole.removeprefix("on "), one, width)[:rows]


def words_fit(strip: Block, help_by: Sequence[Call]) -> bool:
    """Whether such a strip tells all that is said for an emergency."""
    said = " ".join(one.text for one in strip.items if isinstance(one, Text))
    return all(one.words in said for one in help_by)


def strip_to_complete(
    *, width: float, brief: bool = False, help_by: Sequence[Call] = NOTHING_SAID, whole: str = ""
) -> Block:
    """The strip of a handout: boxes with lines to write on in place of what the key says."""
    pitch = _BRIEF_WRITE_MM if brief else _WRITE_MM
    apart, below = width >= _ALONE_MM, width < _BELOW_MM
    share = width if below else _for_calls(width)
    room = width if below else width - share - _GAP_MM
    items: list[Item] = framed(_heading(room), width=room)
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
    lowest = 5.6 + pitch * (2 if apart else MOST_PLACES)
    if below:
        return _stacked(items, lowest, lines_to_fill_in(help_by, width, brief=brief, whole=whole))
    calls = _to_fill_in(help_by, share, pitch=pitch, whole=whole, most=lowest)
    items += shifted(calls.items, room + _GAP_MM, 0.0)
    return Block(items=tuple(items), height=max(calls.height, lowest))
