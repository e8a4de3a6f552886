"""Statements of the walk: stations, legs, points along them, sights."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise, takewhile
from statistics import median
from typing import TYPE_CHECKING

from traverse.diagnostic import Diagnostic, Label, warning
from traverse.length import feet_to_metres
from traverse.log.items import Address, Elevation, Leg, LegKind, Side, Sight, Tie
from traverse.log.readings import Bearing, Distance, Slope, Unit
from traverse.notation.draft import Draft, Loose, Mistake, Unsaid
from traverse.notation.guess import before, figure_too_many, lookalike, misread, near_word, nearest
from traverse.notation.heading import initials
from traverse.notation.leg import leg_readings, nameless
from traverse.notation.terms import (
    bearing,
    check_name,
    clock,
    distance,
    known_name,
    length_m,
    refuse_marks,
    slope,
    source_of,
    within,
)
from traverse.notation.text import shortened
from traverse.notation.tied import tied_pairs

if TYPE_CHECKING:
    import datetime as dt

    from lark import Token

    from traverse.log.records import Control
    from traverse.notation.parse import Statement
    from traverse.source import Span

_NO_START, _NO_AT = ("no-start", ""), ("unread", "AT")
"""What follows from a walk that does not say where it begins."""
_ELSE_ABOVE = 4
"""Legs with places above the `at` of their end for each with one below it, from which on that is asked about; common practice, no source."""
_KINDS = {"TO": LegKind.TO, "CLOSE": LegKind.CLOSE, "SIDE": LegKind.SIDE}


def _new_address(draft: Draft, address: Address) -> None:
    draft.addresses.append(address)
    draft.address = address
    draft.items_here = len(draft.items)
    draft.plane = None
    if draft.faces:
        lone_faces(draft)


def lone_faces(draft: Draft) -> None:
    """Say of faces that found no second one at their place that they make no plane."""
    for _, span, _, _ in draft.faces:
        draft.say(
            Mistake(
                "apparent-alone",
                "one face is not enough for a plane",
                span,
                "add the reading of a second face, `apparent DIP->DIRECTION, DIP->DIRECTION`",
            ).diagnostic
        )
    draft.faces.clear()


def _heading_ends(draft: Draft) -> None:
    if draft.first is None:
        draft.first = draft.conditions()


def stand_at(draft: Draft, token: Token) -> str:
    """Go to a station that exists; one that is not known yet is judged when all is read."""
    name = check_name(draft, token)
    if name not in draft.stations:
        span = draft.span(token)
        if (
            len(draft.stations) > len(draft.earlier)
            and name not in draft.control_names
            and not draft.meant(name)
        ):
            other = draft.places.get(lookalike(name))
            if other is not None and other != name and other in draft.stations:
                raise _no_station(draft, name, span, _NEW_ONE)
            left = draft.walked if draft.walked is not None and draft.address is not None else None
            led = left is not None and left.end not in draft.visited
            draft.loose.append(Loose(name, span, left, len(draft.stations), led))
        known_name(draft, name, span)
        draft.stations[name] = span
    if draft.walked is not None and name != draft.station:
        draft.walked = None
    draft.station = name
    return name


def _no_station(
    draft: Draft, name: str, span: Span, hint: str, *, among: Iterable[str] | None = None, later: str = ""
) -> Mistake:
    guess = draft.guess(name, draft.names_near() if among is None else among)
    where = draft.stations.get(guess) if guess else None
    return Mistake(
        "unknown-station",
        f"no station {shortened(name)}{later}" + (f"; did you mean {shortened(guess)}?" if guess else ""),
        span,
        hint,
        labels=(Label(where, f"{shortened(guess)} is here"),) if guess and where else (),
    )


_NEW_ONE = "a new one is reached with `to`"


def judge_loose(draft: Draft) -> None:
    """Stations that `at` named first: fine for a landmark with sights, a resection or a tie, else unknown."""
    if not draft.loose:
        return
    sighted: dict[str, set[str]] = {}
    rays: dict[str, set[str]] = {}
    for item in draft.items:
        if isinstance(item, Sight):
            station = item.address.station
            sighted.setdefault(item.target, set()).add(f"{item.address.index}")
            if station is not None and item.target in draft.control_names:
                rays.setdefault(station, set()).add(item.target)
    tied = {name for tie in draft.ties for name in (tie.first, tie.second)} | draft.tied_ahead
    reached = {leg.end for leg in draft.legs}
    loose = {one.name for one in draft.loose}
    for name, span, walked, met, led in draft.loose:
        if len(sighted.get(name, ())) >= 2 or len(rays.get(name, ())) >= 2 or name in tied:
            continue
        draft.failed.add("AT")
        if name in reached and walked is not None and led and _reached_again(draft, walked.end) is not None:
            draft.say(_led_elsewhere(draft, name, span, walked))
            continue
        if name in reached:
            problem = _no_station(
                draft, name, span, _NEW_ONE, among=(), later=" before the leg that reaches it"
            )
        else:
            among = [one for one in draft.names_near(met) if one not in loose]
            if walked is not None and led and nearest(name, among) != walked.end:
                draft.say(_led_elsewhere(draft, name, span, walked))
                continue
            problem = _no_station(draft, name, span, _NEW_ONE, among=among)
        draft.say(problem.diagnostic)


def _reached_again(draft: Draft, station: str) -> Diagnostic | None:
    """What is said of a second leg to a station."""
    begins = f"station {shortened(station)} exists ("
    return next(
        (one for one in draft.diagnostics if one.code == "station-exists" and one.message.startswith(begins)),
        None,
    )


def _led_elsewhere(draft: Draft, name: str, span: Span, walked: Leg) -> Diagnostic:
    """The party stands at another place than its last leg led to, where it never stood: one of two names is wrong.

    Where a later leg leads to that place as well, it is the name in the first one.
    """
    end = shortened(walked.end)
    again = _reached_again(draft, walked.end)
    if again is not None and again.span is not None:
        draft.diagnostics.remove(again)
        problem = Mistake(
            "unknown-station",
            f"two legs lead to {end}, and below the first stands `at {shortened(name)}`",
            walked.end_span,
            f"`{walked.kind.value} {shortened(name)}` here",
            labels=(Label(again.span, "the other leg"), Label(span, f"{shortened(name)} is here")),
        )
        return replace(problem.diagnostic, below=2)
    called = shortened(name)
    lost = f"the line `to {called} …` is missing"
    names = f"`at {end}`, or `{walked.kind.value} {called}` in that leg"
    described = any(item.address.station == walked.end for item in draft.items)
    return Mistake(
        "unknown-station",
        f"no station {called}, and the leg above it leads to {end}",
        span,
        f"{lost}, as {end} has lines of its own; else {names}: look at the page"
        if described
        else f"{names}; or {lost}: look at the page",
        labels=(Label(walked.end_span, "the leg"),),
    ).diagnostic


def at(draft: Draft, s: Statement) -> None:
    """`at NAME`."""
    _heading_ends(draft)
    name = stand_at(draft, s[1])
    draft.visited.add(name)
    draft.lost = False
    _new_address(
        draft,
        Address(station=name, index=len(draft.addresses), conditions=draft.conditions(), span=draft.whole(s)),
    )


def leg(draft: Draft, s: Statement) -> None:
    """`[from NAME] to|close|side NAME BEARING DISTANCE …`."""
    _heading_ends(draft)
    at = 0
    if s[0].type == "FROM":
        stand_at(draft, s[1])
        at = 2
    kind = _KINDS[s[at].type]
    span = draft.whole(s)
    end_span = draft.span(s[at + 1])
    try:
        end = check_name(draft, s[at + 1])
    except Mistake as problem:
        raise nameless(draft, s, at) or problem from None
    start = draft.station
    if start == end and end in draft.struck and draft.walked is not None:
        start = draft.walked.start  # a leg struck out and written anew starts where the first one did
    problems: list[Mistake] = []
    if start is None and not draft.lost and not draft.rests_on(_NO_START, _NO_AT):
        problems.append(
            Mistake("leg-start", "from where does the leg start", span, "begin the walk with `at NAME`")
        )
        draft.cause(_NO_START, problems[-1].diagnostic)
    try:
        _judge_end(draft, s, kind, start, end, end_span)
    except Mistake as problem:
        problems.append(problem)
    given = leg_readings(draft, s, at, problems)
    if problems:
        for other in problems[:-1]:
            draft.say(other.diagnostic)
        raise problems[-1]
    assert given.bearing is not None
    assert given.distance is not None
    draft.stations.setdefault(end, end_span)
    draft.struck.discard(end)
    walked = None
    if start is not None:
        walked = Leg(
            kind=kind,
            start=start,
            end=end,
            bearing=given.bearing,
            distance=given.distance,
            slope=given.slope,
            horizontal=given.horizontal,
            sd_m=given.sd_m,
            back_bearing=given.back_bearing,
            back_slope=given.back_slope,
            conditions=draft.conditions(),
            span=span,
            end_span=end_span,
            index=len(draft.legs),
        )
        draft.legs.append(walked)
    if kind is not LegKind.SIDE:
        draft.station = end
        draft.walked = walked
        draft.lost = walked is None
    _new_address(
        draft, Address(station=end, index=len(draft.addresses), conditions=draft.conditions(), span=span)
    )


def _to_itself(draft: Draft, end: str, span: Span) -> Mistake:
    """A leg to the station where the walk is: the line above it typed twice, or one of the two leads elsewhere."""
    came = draft.walked
    name = shortened(end)
    if came is None or came.end != end:
        return Mistake(
            "leg-to-itself", f"a leg from {name} to itself", span, "look at the page: which station"
        )
    rows = draft.original.split("\n")
    both = [" ".join(rows[one.line - 1].split()) for one in (came.span, span) if one.line <= len(rows)]
    labels = (Label(came.span, f"the leg to {name}"),)
    if len(both) == 2 and both[0] == both[1]:
        return Mistake(
            "leg-to-itself",
            f"the leg to {name} stands twice, in the same words",
            span,
            "leave this line out",
            labels=labels,
        )
    skipped = before(end)
    between = skipped is not None and skipped not in draft.stations and came.start != skipped
    meant = (
        f"`to {shortened(skipped)}` in the first, as stations are numbered on; else "
        if between and skipped
        else ""
    )
    return Mistake(
        "leg-to-itself",
        f"a second leg to {name}, from {name} itself",
        span,
        f"{meant}look at the page: which station",
        labels=labels,
    )


def _coming_back(draft: Draft, s: Statement, end: str) -> str:
    """The leg that comes back to a station, to type instead of one to a new one: whole, where it says from where it starts."""
    if s[0].type != "FROM":
        return f"`close {shortened(end)}`"
    typed = " ".join("close" if one.type == "TO" else draft.written(one) for one in s)
    return f"`{shortened(typed, 100)}`"


def _control_meant(draft: Draft, end: str) -> tuple[Control, bool] | None:
    """The known point that the end of the walk may be by another number: it stands twice, which is told too, or nobody comes to it."""
    if not end.isdecimal():
        return None
    near = frozenset().union(*misread(end))
    lines = Counter(one.name for one in draft.controls)
    for one in reversed(draft.controls):
        if one.name in near and lines[one.name] > 1:
            return one, True
    for one in draft.controls:
        if one.name in near and one.name not in draft.stations:
            return one, False
    return None


def _judge_end(draft: Draft, s: Statement, kind: LegKind, start: str | None, end: str, span: Span) -> None:
    if start == end:
        problem = _to_itself(draft, end, span)
        if kind is not LegKind.CLOSE:
            draft.unnamed.append(problem.diagnostic)
        raise problem
    exists = end in draft.stations and end not in draft.struck
    if kind is LegKind.CLOSE:
        if exists or end in draft.control_names:
            return
        if draft.places.get(lookalike(end)) == end:  # a landmark that was sighted
            return
        if draft.rests_on(_NO_START) or draft.meant(end):
            return  # the start that was not named, or the end of a leg that was refused
        hint = f"`to {shortened(end)}` walks to a new one"
        if end[:1].isalpha() and not draft.guess(end, draft.names_near()):
            # Stations are counted, and known points called by a name.
            hint = f"`control {shortened(end)} EASTING E NORTHING N` in the heading, if it is a known point; {hint}"
        if (point := _control_meant(draft, end)) is not None:
            control, twice = point
            called = shortened(control.name)
            asked = f"was {draft.at_line(control.span)} `control {shortened(end)}`"
            raise Mistake(
                "unknown-station",
                f"no station {shortened(end)}",
                span,
                f"{asked}, as `control {called}` stands twice; else {hint}"
                if twice
                else f"{asked}, or is it `close {called}` here, as no leg above leads to {called}; else {hint}",
                labels=(Label(control.span, f"control {called}"),),
            )
        begun = next(iter(draft.stations), None)
        if begun is not None and figure_too_many(begun, end) and before(begun) not in draft.stations:
            first = draft.stations[begun]
            raise Mistake(
                "unknown-station",
                f"no station {shortened(end)}; the walk begins at {shortened(begun)}: was it {shortened(end)}?",
                span,
                f"`at {shortened(end)}` in line {first.line}, or `close {shortened(begun)}` here",
                labels=(Label(first, f"{shortened(begun)} is here"),),
            )
        if start is not None and draft.guess(end, draft.names_near()) == start:
            # Nobody comes back to where the leg begins.
            others = [one for one in draft.stations if one != start and figure_too_many(end, one)]
            meant = " or ".join(f"`close {shortened(one)}`" for one in others)
            raise Mistake(
                "unknown-station",
                f"no station {shortened(end)}",
                span,
                f"{meant} if a figure is too many; {hint}" if meant else hint,
            )
        raise _no_station(draft, end, span, hint)
    if exists:
        first = draft.stations[end]
        hint = (
            f"{_coming_back(draft, s, end)} if this leg comes back to it"
            if kind is LegKind.TO
            else "a side shot needs a name of its own"
        )
        problem = Mistake(
            "station-exists",
            f"station {shortened(end)} exists ({draft.at_line(first)})",
            span,
            hint,
        )
        draft.unnamed.append(problem.diagnostic)
        raise problem
    like = draft.places.get(lookalike(end), end)
    if like not in draft.stations or like == end:
        known_name(draft, end, span)
    elif kind is LegKind.TO and like != start:
        known_name(draft, end, span, same=f"`close {shortened(like)}` if the leg comes back to it, else ")
    else:  # nobody walks, or shoots, to where the leg begins
        known_name(draft, end, span, same="")


# --- along a leg --------------------------------------------------------------------------------------------


def _place_on_leg(draft: Draft, s: Statement) -> Leg | None:
    if draft.walked is None and draft.lost:
        return None
    if draft.walked is None:
        problem = Mistake(
            "no-leg",
            f"`{s[0].lower()}` is on the leg just walked, and there is none",
            draft.whole(s),
            "put it below its `to` or `close` line",
        )
        draft.unnamed.append(
            problem.diagnostic
        )  # a leg that is missing leads to a station that nothing reaches
        raise problem
    return draft.walked


def _inside(draft: Draft, leg: Leg, point: Distance) -> None:
    """Refuse a point past the end of its leg, where both are in one unit."""
    whole, part = leg.distance, point
    if whole.unit is part.unit:
        past = part.value > whole.value
    elif {whole.unit, part.unit} == {Unit.METRES, Unit.FEET}:
        past = _metres(part) > _metres(whole) + 1e-9
    else:
        return
    if past:
        # A count lost on the leg puts all that lies along it past its end: that is one mistake.
        draft.past.setdefault(leg.index, []).append(part)
        raise Unsaid("past-the-end", "", part.span)


def judge_past(draft: Draft) -> None:
    """Say of what lies past the end of its leg whether the place or the count of the leg is to be looked at."""
    if draft.past and _in_other_unit(draft):
        return
    along = Counter(one.leg.index for one in draft.addresses if one.leg is not None) if draft.past else {}
    for index, parts in draft.past.items():
        leg = next(one for one in draft.legs if one.index == index)
        missing = next(
            (one for one in draft.loose if one.walked is not None and one.walked.index == index), None
        )
        if missing is not None:
            draft.loose.remove(missing)
            draft.failed.add("AT")
            draft.say(_leg_missing(missing, leg, parts))
            continue
        first, farthest = parts[0], max(parts, key=lambda part: part.value)
        if len(parts) > 1 or (not along.get(index) and _short_count(draft, leg, first)):
            problem = Mistake(
                "past-the-end",
                f"the leg is {_with_unit(leg.distance)}, and {farthest.written} along it is past its end",
                leg.distance.span,
                "look at the page: the count of the leg",
                labels=(Label(farthest.span, "the place along it"),),
            )
            draft.say(replace(problem.diagnostic, below=len(parts) if len(parts) > 1 else 0))
            continue
        draft.say(
            Mistake(
                "past-the-end",
                f"{first.written} is past the end: the leg is {_with_unit(leg.distance)}",
                first.span,
                "look at the page: this count, or that of the leg",
                labels=(Label(leg.span, "the leg"),),
            ).diagnostic
        )


def _in_other_unit(draft: Draft) -> bool:
    """Whether bare numbers of legs are in another unit than `distances` says: then it is told there, once.

    All that lies past the end of its leg is in metres, or all in feet, and inside each leg were that in the same unit.
    """
    parts = [(leg, part) for leg in draft.legs for part in draft.past.get(leg.index, ())]
    units = {part.unit for _, part in parts}
    if draft.bare_span is None or len(draft.past) < 2 or len(units) > 1:
        return False
    meant = units.pop()
    if meant not in _BY_TAPE or any(
        leg.distance.written[-1:].isalpha() or leg.distance.unit is meant or part.value > leg.distance.value
        for leg, part in parts
    ):
        return False
    words = _BY_TAPE[meant]
    first_leg, first = parts[0]
    problem = Mistake(
        "past-the-end",
        f"{first.written} along the leg of {_with_unit(first_leg.distance)} is past its end, and so on {len(draft.past)} legs; "
        f"in {words} none is",
        draft.bare_span,
        f"`distances {words}`",
        labels=tuple(Label(part.span, "a place along a leg") for _, part in parts[:3]),
    )
    draft.say(replace(problem.diagnostic, below=len(parts)))
    return True


_BY_TAPE = {Unit.METRES: "metres", Unit.FEET: "feet"}


def _with_unit(distance: Distance) -> str:
    """As written, and its unit where that is said elsewhere."""
    written = distance.written
    return written if written[-1:].isalpha() else f"{written} {distance.unit.value}"


def _leg_missing(missing: Loose, leg: Leg, parts: Sequence[Distance]) -> Diagnostic:
    """What lies past the end of one leg and before a station that no leg reaches is on a leg that was left out."""
    name = shortened(missing.name)
    problem = Mistake(
        "leg-missing",
        f"{parts[0].written} is past the end of the leg to {shortened(leg.end)}, {_with_unit(leg.distance)}, and no leg leads "
        f"to {name}",
        parts[0].span,
        f"is the leg missing above this line? `to {name} BEARING DISTANCE`",
        labels=(Label(missing.span, f"{name} is here"),),
    )
    return replace(problem.diagnostic, below=len(parts))


def _short_count(draft: Draft, leg: Leg, part: Distance) -> bool:
    """Whether a leg is so much shorter than the others that its count is to be doubted before that of a place on it."""
    others = [one.distance.value for one in draft.legs if one.distance.unit is leg.distance.unit]
    usual = median(others)
    return leg.distance.value < usual / 3.0 and part.value < 2.0 * usual


def _metres(distance: Distance) -> float:
    return feet_to_metres(distance.value) if distance.unit is Unit.FEET else distance.value


def along(draft: Draft, s: Statement) -> None:
    """`along DISTANCE …` and `covered DISTANCE to DISTANCE [WORDS]`."""
    leg = _place_on_leg(draft, s)
    if leg is None:
        nowhere(draft, s)
    covered = s[0].type == "COVERED"
    start = _from_start(draft, s[1])
    end = offset = side = None
    words: Token | None = None
    for at, token in enumerate(s):
        if token.type == "TO":
            end = _from_start(draft, s[at + 1])
        elif token.type in {"LEFT", "RIGHT"}:
            side = Side(token.lower())
            offset = distance(draft, s[at + 1])
        elif token.type == "BOTH":
            side = Side.BOTH
        elif token.type == "TEXT":
            words = token
    if covered and end is None:
        first = start.written
        raise Mistake(
            "stretch-end",
            "from where to where is it covered",
            draft.whole(s),
            f"`covered {first} to DISTANCE`",
        )
    if leg is None:
        return
    if end is not None and end.unit is start.unit and end.value <= start.value:
        raise Mistake(
            "stretch-backward",
            f"{start.written} to {end.written}: a stretch runs forward",
            draft.between(s[1], s[3]),
            f"`{end.written} to {start.written}`",
        )
    for point in (start, end):
        if point is not None:
            _inside(draft, leg, point)
    _not_on_shot(draft, s, leg)
    _not_behind_end(draft, s, leg, start)
    _new_address(
        draft,
        Address(
            station=None,
            leg=leg,
            start=start,
            end=end,
            side=side,
            offset=offset,
            covered=covered,
            words=draft.words(words) if covered else None,
            index=len(draft.addresses),
            conditions=draft.conditions(),
            span=draft.whole(s),
        ),
    )


def _not_on_shot(draft: Draft, s: Statement, leg: Leg) -> None:
    """Ask which was meant by a place along a leg that stands right below a side shot: the leg walked before, or the shot."""
    shot = draft.legs[-1]
    here = draft.address
    if shot.kind is not LegKind.SIDE or here is None or here.station != shot.end:
        return
    word, to = s[0].lower(), shortened(shot.end)
    told = warning(
        "along-after-side",
        f"`{word}` is on the leg just walked, and the side shot to {to} stands between",
        draft.whole(s),
        f"on the leg from {shortened(leg.start)} to {shortened(leg.end)}, move it below that `{leg.kind.value}` line (line "
        f"{leg.span.line})",
        "on the shot: a shot of its own to the place, `side NAME BEARING DISTANCE`",
        labels=(Label(shot.span, "the shot"),),
    )
    draft.asked_along.append((leg.index, len(draft.addresses), told))


def _not_behind_end(draft: Draft, s: Statement, leg: Leg, start: Distance) -> None:
    """Ask of a place below the `at` of the leg's end whether it is of a later leg: surely where it falls back behind one above."""
    at = next((one for one in reversed(draft.addresses) if one.leg is None), None)
    if at is None or at.station != leg.end or at.span.line == leg.span.line:
        return
    since = takewhile(
        lambda one: one.span.line > leg.span.line,
        (draft.addresses[before] for before in range(at.index - 1, -1, -1)),
    )
    above = [one.start for one in since if one.leg is leg and one.start is not None]
    farthest = max((one for one in above if one.unit is start.unit), key=lambda one: one.value, default=None)
    behind = farthest is not None and start.value < farthest.value
    end = shortened(leg.end)
    told = warning(
        "along-behind" if behind else "along-below",
        f"{start.written} stands below `at {end}`, and behind {farthest.written} of the leg to {end}"
        if behind and farthest is not None
        else f"{start.written} of the leg to {end} stands below `at {end}`, and all others above the `at` of their end",
        draft.whole(s),
        f"; on the leg to {end} it goes above "
        + (
            f"{farthest.written} (line {farthest.span.line})"
            if behind and farthest is not None
            else f"`at {end}`"
        ),
        labels=(Label(leg.span, "the leg on which it is taken to lie"),),
    )
    if behind or draft.legs[-1] is leg:
        draft.asked_along.append((leg.index, len(draft.addresses), told))


def lost_legs(draft: Draft) -> frozenset[int]:
    """Legs behind which another seems to be missing: what lies along them may lie along that one."""
    return frozenset(one.walked.index for one in draft.loose if one.walked is not None) | draft.past.keys()


def judge_along(draft: Draft, lost: frozenset[int]) -> None:
    """Ask of places that may lie on another leg than the last one, unless a leg is missing that they may lie on."""
    missing = any(one.code == "unknown-station" for one in draft.diagnostics)
    below = {leg for leg, _, told in draft.asked_along if told.code == "along-below"}
    above = {one.leg.index for one in draft.addresses if one.leg is not None} - below
    own_way = len(above) < _ELSE_ABOVE * len(below)
    there: dict[int, list[Span]] = {address: [] for _, address, _ in draft.asked_along}
    for item in draft.items if there else ():
        if item.address.index in there:
            there[item.address.index].append(item.span)
    for leg, address, told in draft.asked_along:
        if leg in lost or missing or (told.code == "along-below" and own_way):
            continue
        hints = _where_it_lies(draft, draft.legs[leg], told)
        draft.say(replace(told, doubts=tuple(there[address]), hints=hints))


def _where_it_lies(draft: Draft, leg: Leg, told: Diagnostic) -> tuple[str, ...]:
    """What to type about a place that may lie on the leg from the end of its own: one from there stands below it, or is missing."""
    if told.span is None:
        return told.hints
    end, line = shortened(leg.end), told.span.line
    later = (draft.legs[index] for index in range(leg.index + 1, len(draft.legs)))
    # Nothing lies along a shot.
    after = next((one for one in later if one.span.line > line and one.kind is not LegKind.SIDE), None)
    below = "" if after is None else f"move it below that `{after.kind.value}` line (line {after.span.line})"
    if told.code == "along-after-side":
        if after is None or after.start != leg.end:
            return told.hints
        return (f"on the leg from {end} to {shortened(after.end)}, {below}", *told.hints)
    if after is not None and after.start == leg.end:
        on_next = f"if it lies on the leg from {end}, {below}"
    else:
        on_next = f"if it lies on a leg from {end}, that `to` or `close` line is missing above it"
    return (f"{on_next}{told.hints[0]}; `checked WHO WHY` answers this",)


def in_order_along(draft: Draft) -> None:
    """Take the points of each leg in the order of their distance, and ask of one that stands below a farther one.

    Stretches are described in any order: what covers a leg often stands below what was met on it.
    """
    asked = {index for _, index, _ in draft.asked_along}
    on_legs: dict[tuple[int, Unit], list[Address]] = {}
    for one in draft.addresses:
        if one.leg is not None and one.start is not None and one.end is None:
            on_legs.setdefault((one.leg.index, one.start.unit), []).append(one)
    moved: dict[int, Address] = {}
    for there in on_legs.values():
        nearer = sorted(there, key=_start_value)
        if nearer == there:
            continue
        for first, second in pairwise(there):
            if _start_value(second) < _start_value(first) and second.index not in asked:
                draft.say(_below_farther(draft, first, second, there))
        moved |= {one.index: replace(one, index=at.index) for one, at in zip(nearer, there, strict=True)}
    if not moved:
        return
    slots = [at for at, item in enumerate(draft.items) if item.address.index in moved]
    items = [replace(draft.items[at], address=moved[draft.items[at].address.index]) for at in slots]
    items.sort(key=lambda item: item.address.index)
    for at, item in zip(slots, items, strict=True):
        draft.items[at] = item
    for one in moved.values():
        draft.addresses[one.index] = one


def _start_value(one: Address) -> float:
    return one.start.value if one.start is not None else 0.0


def _below_farther(draft: Draft, first: Address, second: Address, there: Sequence[Address]) -> Diagnostic:
    assert first.start is not None
    assert second.start is not None
    told = warning(
        "along-order",
        f"{second.start.written} stands below {first.start.written} of the same leg",
        second.span,
        f"look at the page for both figures{_in_place(first, second, there)}; the places are taken in the order of their distances",
        labels=(Label(first.span, first.start.written),),
    )
    both = {first.index, second.index}
    return replace(told, doubts=tuple(item.span for item in draft.items if item.address.index in both))


def _in_place(first: Address, second: Address, there: Sequence[Address]) -> str:
    """The one of two figures along a leg that with two digits exchanged would stand in order among all `there`."""
    fit: list[str] = []
    for one in (first, second):
        at = there.index(one)
        assert one.start is not None
        written = one.start.written
        low = max((_start_value(other) for other in there[:at]), default=0.0)
        high = min((_start_value(other) for other in there[at + 1 :]), default=_leg_value(one))
        for k in range(len(written) - 1):
            pair = written[k : k + 2]
            if pair.isdigit() and pair[0] != pair[1] and (k > 0 or pair[1] != "0"):
                other = f"{written[:k]}{pair[::-1]}{written[k + 2 :]}"
                figures = re.match(r"\d+(?:\.\d+)?", other)
                if figures is not None and low < float(figures[0]) < high:
                    fit.append(f"was {written} {other}, digits exchanged")
    return f"; {fit[0]}" if len(fit) == 1 else ""


def _leg_value(one: Address) -> float:
    """The length of its leg, where it is in the unit of what lies along it."""
    leg = one.leg
    same = leg is not None and one.start is not None and leg.distance.unit is one.start.unit
    return leg.distance.value if same and leg is not None else math.inf


def nowhere(draft: Draft, s: Statement) -> None:
    """Stand on a leg that could not be read: what is described there is not called the station's."""
    _new_address(
        draft,
        Address(station=None, index=len(draft.addresses), conditions=draft.conditions(), span=draft.whole(s)),
    )


def _from_start(draft: Draft, token: Token) -> Distance:
    """A distance along a leg, which may be 0."""
    try:
        return distance(draft, token)
    except Mistake as problem:
        if problem.diagnostic.code != "distance-zero":
            raise
    figures = token.lstrip("0.,")
    unit = figures.strip(" \t?")
    stand_in = distance(draft, _retyped(token, f"1{unit}"))
    return replace(stand_in, value=0.0, written=draft.written(token))


def _retyped(token: Token, text: str) -> Token:
    return token.update(value=text)


def tie(draft: Draft, s: Statement) -> None:
    """`tie NAME to NAME [±n m]`, or `tie LETTERS to LETTERS at PLACE, …`."""
    if len(s) < 4 and s[1].lower() == "in":
        raise Mistake(
            "unknown-word",
            "`tie in` is not a word of the notation",
            draft.whole(s),
            "use `close NAME BEARING DISTANCE`",
        )
    if len(s) < 4:
        raise Mistake("tie", "to which", draft.whole(s), f"`tie {shortened(s[1])} to NAME`")
    if len(s) > 4 and s[4].type == "AT":
        pairs = list(tied_pairs(draft, s))
        draft.tied_parties.append(s)
        draft.ties += (
            Tie(first=first, second=second, sd_m=None, span=draft.span(token))
            for first, second, token in pairs
        )
        return
    first, second = check_name(draft, s[1]), check_name(draft, s[3])
    if first == second:
        raise Mistake("tie", f"{shortened(first)} is itself", draft.whole(s), "a tie joins two names")
    sd = within(draft, s[4]) if len(s) > 4 else None
    draft.ties.append(Tie(first=first, second=second, sd_m=sd, span=draft.whole(s)))


def here(draft: Draft, s: Statement) -> Address:
    """The place that a line describes."""
    if draft.address is None:
        if draft.rests_on(_NO_START, _NO_AT):
            raise Unsaid("no-place", "", draft.whole(s))
        problem = Mistake(
            "no-place", "where is this", draft.whole(s), "say the place above it, such as `at 1`"
        )
        draft.cause(_NO_START, problem.diagnostic)
        draft.failed.add("AT")
        raise problem
    return draft.address


def sight(draft: Draft, s: Statement) -> None:
    """`sight NAME BEARING [SLOPE]`."""
    address = here(draft, s)
    name = check_name(draft, s[1])
    known_name(draft, name, draft.span(s[1]))
    ray: Bearing | None = None
    rise: Slope | None = None
    for token in s[2:]:
        if token.type in {"BEARING", "FIGURE"}:
            if ray is not None:
                raise Mistake(
                    "reading-twice", "two bearings of one sight", draft.span(token), "leave one out"
                )
            ray = bearing(draft, token)
        elif token.type == "SLOPE":
            rise = slope(draft, token)
        else:
            raise Mistake(
                "sight",
                f"{shortened(token)}: a sight has a bearing and a slope only",
                draft.span(token),
                "`sight NAME BEARING SLOPE`",
            )
    if ray is None:
        raise Mistake(
            "sight",
            f"in which direction is {shortened(name)}",
            draft.whole(s),
            f"`sight {shortened(name)} BEARING`",
        )
    draft.items.append(
        Sight(
            address=address,
            target=name,
            bearing=ray,
            slope=rise,
            conditions=draft.conditions(),
            span=draft.whole(s),
        )
    )


_DRIFTING = ("altimeter", "barometer")


def elevation(draft: Draft, s: Statement) -> None:
    """`elevation HEIGHT [±n] [SOURCE]`."""
    address = here(draft, s)
    words = s[-1] if s[-1].type == "TEXT" else None
    refuse_marks(draft, s[0], next_only=True)
    source = None if words is None else source_of(draft, s, words)
    if source is not None and (meant := near_word(source.lower(), _DRIFTING)) is not None:
        raise Mistake(
            "source-spelling",
            f"{source}: heights of an altimeter drift, and those of no other source",
            draft.span(words or s[1]),
            f"`{meant}`, if it was read on one",
        )
    height = length_m(draft, s[1])
    sd = next((within(draft, token, of=s[1]) for token in s[2:] if token is not words), None)
    draft.items.append(
        Elevation(
            address=address,
            height_m=height,
            sd_m=sd,
            source=source,
            # Of several times at one place the last that was stated above it.
            time=None if address.time is None or draft.last_time is None else draft.last_time[1],
            written=" ".join(draft.written(token) for token in s[1:] if token.type != "TEXT"),
            span=draft.whole(s),
        )
    )


def time(draft: Draft, s: Statement) -> None:
    """`time HH:MM`."""
    address = here(draft, s)
    now = clock(str(s[1]), draft.span(s[1]))
    _forward(draft, now, s)
    if address.time is not None:
        return
    timed = replace(address, time=now)
    draft.addresses[-1] = draft.address = timed
    for at in range(draft.items_here, len(draft.items)):
        item = draft.items[at]
        if isinstance(item, Elevation):
            item = replace(item, time=item.time or now)
        draft.items[at] = replace(item, address=timed)
    draft.faces = [(face, span, conditions, timed) for face, span, conditions, _ in draft.faces]


def _forward(draft: Draft, now: dt.time, s: Statement) -> None:
    last = draft.last_time
    if last is not None and last[0] == draft.date and now < last[1]:
        told = warning(
            "time-backward",
            f"{now:%H:%M} comes after {last[1]:%H:%M} of the same day, {draft.at_line(last[2])}",
            draft.span(s[1]),
            "look at the page for both; a new day begins with `date`",
        )
        draft.say(replace(told, doubts=(last[2],)))
    draft.last_time = (draft.date, now, draft.span(s[1]))


def hand_over(draft: Draft, s: Statement) -> None:
    """`reader WHO`, `pacer WHO`, `compass WHICH`."""
    if s[0].type == "COMPASS":
        draft.compass = str(s[1])
    elif s[0].type == "READER":
        draft.reader = initials(draft, s[1], "such as `reader MO`")
    else:
        draft.pacer = initials(draft, s[1], "such as `pacer KT`")
        draft.pacer_span = draft.whole(s)
    draft.in_force = None


def lead_to(draft: Draft, words: Statement) -> None:
    """Go where a line leads that could not be read, so that the lines below it are judged by themselves."""
    names = [str(token) for token in words if token.type == "NAME"]
    kinds = [token.type for token in words if token.type in {"AT", "TO", "CLOSE", "SIDE"}]
    named = kinds and len(names) > (words[0].type == "FROM")
    lead_there(draft, names[-1] if named else None, draft.whole(words), side="SIDE" in kinds)


def lead_there(draft: Draft, name: str | None, span: Span, *, side: bool) -> None:
    """Go to a station by the line of a span, which could not be read; by a `side` shot the party stays."""
    _heading_ends(draft)
    if name is not None:
        draft.stations.setdefault(name, span)
        draft.places.setdefault(lookalike(name), name)
    if not side:
        draft.station = name or draft.station
        draft.walked = None
        draft.lost = True
    _new_address(
        draft,
        Address(station=name, index=len(draft.addresses), conditions=draft.conditions(), span=span),
    )
