"""What changed between two versions of a log, in words."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence

from traverse.difference.records import (
    ClosureChange,
    ClosureState,
    Difference,
    Edit,
    Effect,
    FigureChange,
    FigureOf,
    Renaming,
    StationMove,
    Turning,
)
from traverse.length import METRES, Lengths
from traverse.numerals import one_in
from traverse.sheet.paper.words import NO_BREAK, arrow, azimuth, counted, number, plain
from traverse.wording import capital

_MOST_NAMED = 6
"""Stations named one by one."""
_MOST_SAID = 8
"""Messages and sentences told of one change."""
_AS_ONE_M = 0.1
"""Stations whose moves differ by less are shifted as one."""
_LONG = 120
"""Characters of a reading or note that are shown of it."""


def edit_words(edit: Edit) -> str:
    """`bed at 5: 142/68, was 142/58`."""
    if edit.word == "file":
        return f"{edit.now} holds other figures"
    what = _what(edit)
    if edit.was is None:
        return f"{what}, new" + (f": {_short(edit.now)}" if edit.now else "")
    if edit.now is None:
        return f"{what}, taken out" + (f": {_short(edit.was)}" if edit.was else "")
    if edit.was_place is not None and edit.was == edit.now:
        return f"{what}: {_short(edit.now)}, was {edit.was_place}"
    now, was = (_short(one) or "without words" for one in _apart(edit.now, edit.was))
    there = f" {edit.was_place}" if edit.was_place is not None else ""
    return f"{what}: {now}, was {was}{there}"


def _apart(now: str, was: str) -> tuple[str, str]:
    """The two without what stands behind a comma in both: `4.7 E` and `5.2 E` of two declinations of one source."""
    first, second = now.split(", "), was.split(", ")
    while len(first) > 1 and len(second) > 1 and first[-1] == second[-1]:
        first, second = first[:-1], second[:-1]
    return ", ".join(first), ", ".join(second)


def at_line(edit: Edit, found: Difference) -> str:
    """A change with its line; of a file that a line names there is none."""
    return ", ".join(one for one in (line_words(edit, found), edit_words(edit)) if one)


def renaming_words(renaming: Renaming) -> str:
    """`station 2a was called 2`."""
    return f"{renaming.what} {renaming.now} was called {renaming.was}"


def line_words(edit: Edit, found: Difference) -> str:
    """`line 6`, of the old log where it was taken out; with its file where that is another than the log."""
    span, own, old = edit.span, found.now, found.was
    if span is None:
        return ""
    file = f"in {span.file}, " if span.file not in {own, old} else ""
    return f"{file}line {span.line}" + ("" if edit.now_at is not None else " before")


def _what(edit: Edit) -> str:
    if edit.word in {"to", "close", "side"}:
        kind = {"to": "leg", "close": "closing leg", "side": "shot"}[edit.word]
        return f"{kind} {edit.place}"
    if edit.word in {"along", "covered"}:
        return f"{edit.word} {edit.place.removeprefix('on ')}"
    return f"{edit.word} {edit.place}".strip()


def _short(words: str | None) -> str:
    shown = plain(words or "")
    return shown if len(shown) <= _LONG else f"{shown[:_LONG].rstrip()}…"


def effect_words(effect: Effect, lengths: Lengths) -> tuple[str, ...]:
    """A clause for each kind of thing that followed, the walk first; without a full stop."""
    return tuple(
        words
        for part in (
            _frames(effect),
            _stations(effect, lengths),
            (_closure(one, lengths) for one in effect.closures),
            (_turned(one) for one in effect.turnings),
            (f"{one.name} moved {_length(lengths, one.moved_m)} on the walk" for one in effect.contacts),
            (_figure(one, lengths) for one in effect.figures),
            _sayings(effect),
        )
        for words in part
    )


def summary(found: Difference) -> tuple[str, ...]:
    """From the old log to the new one, as a whole; empty where one change tells all of it, or nothing followed."""
    if found.whole is None or found.whole.empty or len(found.causes) < 2:
        return ()
    whole = found.whole
    return tuple(
        words
        for part in (
            _frames(whole),
            _stations(whole, found.lengths),
            (_closure(one, found.lengths) for one in whole.closures),
        )
        for words in part
    )


def _frames(effect: Effect) -> Iterator[str]:
    if effect.other_frame:
        yield "the two lie in grids that have nothing in common, so no places are held against each other"


def _stations(effect: Effect, lengths: Lengths) -> Iterator[str]:
    for names, words in ((effect.new_stations, "new"), (effect.gone_stations, "gone")):
        if names:
            yield f"{_named(names)} {'is' if len(names) == 1 else 'are'} {words}"
    moved = [one for one in effect.moves if lengths.of(one.distance_m) >= 0.5]
    if len(moved) == 1:
        yield f"station {moved[0].station} moved {_way(moved[0], lengths)}"
    elif moved:
        who = _named([one.station for one in moved], of=effect.of_stations)
        if _together(moved):
            yield f"{who} moved {_way(moved[0], lengths)}"
        else:
            far = max(moved, key=lambda one: round(one.distance_m, 3))
            yield f"{who} moved, {far.station} farthest: {_way(far, lengths)}"
    raised = [one for one in effect.moves if one.up_m is not None and lengths.of(abs(one.up_m)) >= 0.5]
    if raised:
        far = max(raised, key=lambda one: round(abs(one.up_m or 0.0), 3))
        rise = far.up_m or 0.0
        way = f"{_length(lengths, abs(rise))} {'higher' if rise > 0.0 else 'lower'}"
        yield (
            f"{_named([one.station for one in raised], of=effect.of_stations)} {'lies' if len(raised) == 1 else 'lie'} "
            + (way if len(raised) == 1 else f"higher or lower, {far.station} most: {way}")
        )


def _named(names: Sequence[str], of: int = 0) -> str:
    if len(names) == 1:
        return f"station {names[0]}"
    if len(names) == of:
        return f"all {of} stations"
    if len(names) <= _MOST_NAMED:
        return f"stations {', '.join(names[:-1])} and {names[-1]}"
    return f"{len(names)} stations" + (f" of {of}" if of else "")


def _way(move: StationMove, lengths: Lengths) -> str:
    return f"{_length(lengths, move.distance_m)} toward {azimuth(move.azimuth_deg)}°"


def _length(lengths: Lengths, metres: float) -> str:
    return lengths.printed(metres)


def _together(moves: Sequence[StationMove]) -> bool:
    """Whether all went the same way as far."""
    east, north = moves[0].east_m, moves[0].north_m
    return all(math.hypot(one.east_m - east, one.north_m - north) < _AS_ONE_M for one in moves)


def _closure(change: ClosureChange, lengths: Lengths) -> str:
    if change.now is None:
        return f"{change.name} is gone"
    if change.was is None:
        return f"{change.name}, new, closes {_closes(change.now, lengths)}{_open(change.now)}"
    words = f"{change.name} closes {_closes(change.now, lengths)}, was {_closes(change.was, lengths)}"
    if change.now.adjusted is change.was.adjusted:
        return words + _open(change.now)
    return words + ("; it is adjusted now" if change.now.adjusted else "; it is no longer adjusted")


def _open(state: ClosureState) -> str:
    return "" if state.adjusted else "; it is not adjusted"


def _closes(state: ClosureState, lengths: Lengths) -> str:
    if state.ratio is None:
        return "without a gap"
    gap = (
        f"by less than {lengths.one}"
        if lengths.of(state.distance_m) < 0.5
        else _length(lengths, state.distance_m)
    )
    return f"{one_in(state.ratio).replace(' ', NO_BREAK)} ({gap})"


def _turned(turning: Turning) -> str:
    n, turn = len(turning.stations), turning.clockwise_deg
    named = tuple(dict.fromkeys(turning.stations))
    where = f"at {named[0]}" if len(named) == 1 else f"at {', '.join(named[:-1])} and {named[-1]}"
    who = counted(n, "attitude") + (f" {where}" if len(named) <= _MOST_NAMED else "")
    if turn is None:
        return (
            f"{who} {'lies' if n == 1 else 'lie'} otherwise, up to {_degrees(turning.apart_deg)} from before"
        )
    if abs(turn) > 179.9:
        return f"{who} turned by 180°, {'its dip' if n == 1 else 'their dips'} to the other side"
    return f"{who} turned {_degrees(abs(turn))} {'clockwise' if turn > 0.0 else 'counter-clockwise'}"


def _degrees(value: float) -> str:
    return f"{number(value, places=0 if abs(value - round(value)) < 0.05 else 1)}°"


_WORDS_OF: dict[FigureOf, Callable[[str], str]] = {
    FigureOf.DECLINATION: lambda _: "the declination is",
    FigureOf.CONVERGENCE: lambda _: "true north of grid north lies at",
    FigureOf.PACE: lambda of: f"the pace of {of} is" if of else "the pace is",
    FigureOf.THICKNESS: lambda of: f"the thickness of {of} is",
    FigureOf.LEAST_THICKNESS: lambda of: f"the thickness of {of} is",
    FigureOf.MEAN: lambda _: "the mean of the beds is",
    FigureOf.AXIS: lambda _: "the axis of the beds is",
    FigureOf.LARGEST_ERROR: lambda _: "the largest error of a station is",
}


def _figure(change: FigureChange, lengths: Lengths) -> str:
    words = _WORDS_OF[change.figure](change.of)
    if change.now is None:
        assert change.was is not None
        return f"{_without(change)} no longer told, was {_value(change.figure, change.was, lengths)}"
    now = _value(change.figure, change.now, lengths)
    if change.was is None:
        return f"{words} {now}, new"
    was = _value(change.figure, change.was, lengths)
    if was == now:
        was, now = (_value(change.figure, one, lengths, places=1) for one in (change.was, change.now))
    return f"{words} {now}, was {was}"


def _without(change: FigureChange) -> str:
    """What is gone."""
    named = f" of {change.of}" if change.of else ""
    of = "thickness" if change.figure is FigureOf.LEAST_THICKNESS else change.figure.value
    return f"the {of}{named} is"


def _value(figure: FigureOf, value: tuple[float, ...], lengths: Lengths, places: int = 0) -> str:
    if figure in {FigureOf.DECLINATION, FigureOf.CONVERGENCE}:
        side = "E" if value[0] > 0.0 else "W"
        return f"{number(abs(value[0]), places=2 if figure is FigureOf.CONVERGENCE else max(1, 2 * places))}° {side}"
    if figure is FigureOf.PACE:
        return METRES.printed(value[0], places=3)
    if figure in {FigureOf.MEAN, FigureOf.AXIS}:
        if places:
            return f"{number(value[0], places=1)}° → {number(value[1], places=1)}°"
        return arrow(value[0], value[1])
    if figure is FigureOf.THICKNESS:
        return lengths.with_unit(
            f"{lengths.figure(value[0], places=places)} ± {lengths.figure(value[1], places=places)}"
        )
    least = "at least " if figure is FigureOf.LEAST_THICKNESS else ""
    return least + lengths.printed(value[0], places=places)


def _sayings(effect: Effect) -> Iterator[str]:
    said = {"warning": "a new warning", "answered": "answered", "structure": "now said"}
    gone = {"warning": "a warning gone", "answered": "no longer answered", "structure": "no longer said"}
    for one in effect.sayings[:_MOST_SAID]:
        line = f", line {one.line}" if one.line is not None and not one.gone else ""
        yield f"{(gone if one.gone else said)[one.what]}{line}: {one.words.rstrip('.')}"
    if len(effect.sayings) > _MOST_SAID:
        yield f"and {len(effect.sayings) - _MOST_SAID} more messages and sentences"


def sentence(clauses: Sequence[str]) -> str:
    """Clauses in one sentence, with a capital and a full stop."""
    return stopped(capital("; ".join(clauses))) if clauses else ""


def stopped(words: str) -> str:
    """With a full stop, unless it ends in a question."""
    return words if words.endswith("?") else f"{words}."


def heading_words(found: Difference) -> str:
    """`tarn.trav, was HEAD:tarn.trav`."""
    return f"{found.now}, was {found.was}" if found.now != found.was else found.now
