"""What a page that is handed back may say: records made anew from an allow-list, by how much of the key is revealed.

What is drawn of a party's page is drawn from these alone, so that nothing else of the key can reach the file.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from traverse.angle import nearest_point, wrap_360
from traverse.compare.records import (
    AttitudePair,
    Comparison,
    ContactPair,
    Grade,
    Marked,
    Part,
    PartMarks,
    Reveal,
    Scheme,
    StationPair,
    ThicknessPair,
    UnitPair,
    total,
)
from traverse.length import Lengths
from traverse.record import record
from traverse.sheet.paper.words import arrow, counted, degrees, number
from traverse.wording import capital, listed

_MOST_RIGHT, _MOST_TO_MEND = 4, 3
_PART_WORDS = {
    Part.LOCATION: "stations where they belong",
    Part.SHAPE: "stations in the shape of the walk",
    Part.ATTITUDES: "attitudes",
    Part.CONTACTS: "contacts",
    Part.PROCESS: "steps of the work (loops, back bearings, paces, labels, questions answered)",
}


_NOUNS = {
    Part.ATTITUDES: "attitude",
    Part.CONTACTS: "contact",
    Part.UNITS: "unit",
}


@record(frozen=True, slots=True, kw_only=True)
class HandedRow:
    """A line of the table."""

    line: str
    what: str
    written: str
    """What the party's own book says; empty for a place."""
    judged: str
    comment: str
    """Which way it is off, and by how much; empty where that is not revealed."""
    expected: str
    """What the key has, and what is allowed; empty where that is not revealed."""


@record(frozen=True, slots=True, kw_only=True)
class Walks:
    """A log's whole walk over the stations of the key that it came by, east and north in the key's grid, metres."""

    log: Mapping[str, tuple[float, float]]
    key: Mapping[str, tuple[float, float]]
    """By the log's names, where they are paired."""
    called: Mapping[str, str]
    """What the key calls the stations that it calls otherwise, by the log's names."""
    legs: tuple[tuple[str, str], ...]
    """All of the log."""
    laid: bool
    """Whether the log is laid on the key by the stations in common, having no frame in common with it."""
    mended: str
    """What was put right in the log's walk before it was drawn, in words; empty where it is drawn as typed."""


@record(frozen=True, slots=True, kw_only=True)
class Handed:
    """All that a party is handed back."""

    name: str
    right: tuple[str, ...]
    to_mend: tuple[str, ...]
    parts: tuple[tuple[str, str, str, str], ...]
    """Part, scored, scored with causes mended, out of."""
    rows: tuple[HandedRow, ...]
    walks: Walks | None
    """Only where the key's values are revealed."""
    mended: bool
    """Whether causes were found, and what follows is judged with them put right."""
    scheme: str
    notes: tuple[str, ...]


def hand_back(found: Comparison, scheme: Scheme, reveal: Reveal, lengths: Lengths) -> Handed:
    """The page of one party."""
    booked, as_booked = _booked(found), _AsBooked(found)
    walks = _walks(found) if reveal is Reveal.VALUES else None
    notes = list(found.notes)
    others = [one for one in found.standing.pairs if one.key != one.station]
    if walks is None and reveal is Reveal.VALUES:
        notes.append(f"your walk is not drawn over the leader's: {_undrawn(found)}")
    if others and walks is None and reveal is Reveal.VALUES:
        notes.append(
            "as paired, " + ", ".join(f"your {one.station} is the leader's {one.key}" for one in others)
        )
    if reveal is not Reveal.VALUES and (missing := _missing(found)):
        notes.append(f"marks also went to what the leader's log has and yours does not: {missing}")
    return Handed(
        name=found.log,
        right=tuple(_right(found.marks_mended, scheme)),
        to_mend=tuple(_to_mend(found, reveal, lengths))[: max(_MOST_TO_MEND, len(found.causes))],
        parts=tuple(_parts(found)),
        rows=tuple(
            _row(item, found, booked, as_booked, scheme, reveal, lengths)
            for part in found.marks_mended
            if part.part not in {Part.SHAPE, Part.PROCESS}
            for item in part.items
            if _may_show(item, reveal)
        ),
        walks=walks,
        mended=_is_mended(found),
        scheme=f"{scheme.name} ({scheme.by})",
        notes=tuple(f"{capital(one)}." for one in notes),
    )


def _walks(found: Comparison) -> Walks | None:
    pairs, walk = found.mended.pairs, found.mended.walk
    if len(pairs) < 2 or not walk:
        return None
    return Walks(
        log=walk,
        key={one.station: one.key_place_m for one in pairs},
        called={one.station: one.key for one in pairs if one.key != one.station},
        legs=found.mended.legs,
        laid=not found.mended.framed,
        mended=f"the {'cause' if len(found.causes) == 1 else 'causes'} mended" if _is_mended(found) else "",
    )


def _is_mended(found: Comparison) -> bool:
    """Whether what is handed back is of the log with causes put right: where that can't be read, it is as typed."""
    return bool(found.causes) and found.mended is not found.standing


def _undrawn(found: Comparison) -> str:
    """Why a walk can't be drawn over the key's."""
    if found.mended.framed:
        return "fewer than two of its stations are the leader's"
    return (
        "they have no known point in common, do not begin at one station, and too few of its stations are the leader's, or "
        "fit on them too badly, to say where one lies on the other; one `control` in both would"
    )


def _may_show(item: Marked, reveal: Reveal) -> bool:
    """What only the key has is no row of a page that reveals nothing: it would say that it is there."""
    return item.grade is not Grade.MISSING or reveal is Reveal.VALUES


def _missing(found: Comparison) -> str:
    """How many of each kind only the key has, without saying where; no row of the table tells of these."""
    counts = {
        noun: sum(
            item.grade is Grade.MISSING for one in found.marks if one.part is part for item in one.items
        )
        for part, noun in _NOUNS.items()
    }
    return listed([counted(count, noun) for noun, count in counts.items() if count])


def _right(marks: Sequence[PartMarks], scheme: Scheme) -> Iterator[str]:
    """What was right, the best part first."""
    best = sorted(marks, key=lambda one: (-one.scored / one.of, -one.of))
    for one in best[:_MOST_RIGHT]:
        there = [item for item in one.items if item.grade is not Grade.MISSING]
        good = sum(item.grade in {Grade.FULL, Grade.NEAR} for item in there)
        if one.part is Part.UNITS and good:
            yield capital(", ".join(_of_units(there)))
        elif good:
            near = sum(item.grade is Grade.NEAR for item in there)
            only = f" ({near} of them {scheme.words[Grade.NEAR]})" if near else ""
            yield f"{good} of {len(there)} {_PART_WORDS[one.part]}{only}"


def _of_units(items: Sequence[Marked]) -> Iterator[str]:
    """Units, their order and their thickness each by themselves: a count of all three says nothing."""
    units = [one for one in items if isinstance(one.pair, UnitPair)]
    thick = [one for one in items if isinstance(one.pair, ThicknessPair)]
    order = [one for one in items if one.pair is None]
    for of, words in (
        (units, "units at {} of {} stations"),
        (order, "the order of {} of {} pairs of units"),
        (thick, "the thickness of {} of {} " + ("unit" if len(thick) == 1 else "units")),
    ):
        if of:
            yield words.format(sum(one.grade in {Grade.FULL, Grade.NEAR} for one in of), len(of))


def _to_mend(found: Comparison, reveal: Reveal, lengths: Lengths) -> Iterator[str]:
    """Causes first, then legs, then what costs most."""
    for cause in found.causes:
        words = f"Line {found.line_of(cause.span)}: look again at {cause.about}"
        if reveal is Reveal.DIRECTION and cause.way is not None:
            words += f": {cause.way}" if cause.way else ""
        elif reveal is not Reveal.NONE:
            # Which leg or contact it is stands before it.
            named = cause.cause.startswith(("leg ", f"{cause.about}: "))
            words += f": {cause.cause.partition(': ')[2] if named else cause.cause}"
        # What the line would say is an answer, and no more of the cause.
        words += f": `{cause.reading}`" if reveal is Reveal.VALUES else ""
        words += cause.others if cause.may_be_right and reveal is not Reveal.NONE else ""
        yield f"{words}."
    for leg in found.apart:
        yield f"Line {found.line_of(leg.span)}: read leg {leg.start}–{leg.end} again, both its bearing and its distance."
    for way in found.ways:
        words = f"{capital(found.lines_of(way.spans))}: look again at the {counted(len(way.spans), 'leg')} from {way.stops[0]} to {way.stops[-1]}"
        # What would explain it says how the key's lie.
        if reveal is not Reveal.NONE and way.may_be:
            lines = dict.fromkeys(found.line_of(one.span) for one in way.may_be)
            words += f", first at line {' and '.join(lines)}"
        if reveal is Reveal.VALUES:
            far, within = (lengths.said(max(1.0, one)) for one in (way.off_m, way.expected_m))
            words += f": {far} off, expected within {within}"
            words += "".join(f"; {one.slip}, {one.reading}, would explain it" for one in way.may_be[:1])
        yield f"{words}."
    spans = [*(one.span for one in found.causes), *(one.span for one in found.apart)]
    spans += [span for way in found.ways for span in way.spans]
    told = {(one.file, one.line) for one in spans}
    lost = [
        (part.of * (1.0 - item.credit) * item.weight / sum(one.weight for one in part.items), item)
        for part in found.marks_mended
        if part.part is not Part.SHAPE
        for item in part.items
        if item.grade is not Grade.FULL and _may_show(item, reveal)
        if item.span is None or (item.span.file, item.span.line) not in told
    ]
    for _, item in sorted(lost, key=lambda one: -one[0]):
        # How the party worked names its lines itself.
        here = item.span if item.part is not Part.PROCESS else None
        where = f"Line {found.line_of(here)}: " if here is not None else ""
        hint = (
            f": {item.note}" if item.note and (reveal is not Reveal.NONE or item.part is Part.PROCESS) else ""
        )
        words = f"{where}{'look again at ' if item.part is not Part.PROCESS else ''}{item.what}{hint}."
        yield capital(words)


def _parts(found: Comparison) -> Iterator[tuple[str, str, str, str]]:
    mended = {one.part: one for one in found.marks_mended}
    for one in found.marks:
        after = number(mended.get(one.part, one).scored, places=1) if found.causes else ""
        yield one.part.value, number(one.scored, places=1), after, number(one.of)
    (scored, of), (again, _) = total(found.marks), total(found.marks_mended)
    yield "all", number(scored, places=1), number(again, places=1) if found.causes else "", number(of)


class _AsBooked:
    """Verdicts on what stands in the party's book, beside those with causes mended."""

    def __init__(self, found: Comparison) -> None:
        self._causes = {
            (one.span.file, one.span.line): number
            for number, one in reversed(tuple(enumerate(found.causes, start=1)))
        }
        standing = [item for part in found.marks for item in part.items if item.span is not None]
        self._open = {number for number, one in enumerate(found.causes, start=1) if one.may_be_right}
        self._at = {(item.part, *_line_of(item)): item for item in standing}
        self._grades = {(item.part, item.what, *_line_of(item)): item.grade for item in standing}

    def reading(self, item: Marked) -> tuple[Marked, int | None]:
        """An item as booked with the number of the cause at its own line; any other as it comes out with causes mended."""
        number = self._causes.get(_line_of(item))
        own = number is not None and isinstance(item.pair, AttitudePair | ContactPair | UnitPair)
        return (self._at.get((item.part, *_line_of(item)), item), number) if own else (item, None)

    def verdict(self, cause: int) -> str:
        """Of a reading at the line of a cause."""
        return f"{'look again' if cause in self._open else 'wrong'}, see {cause}"

    def changed(self, item: Marked) -> bool:
        """Whether what was mended elsewhere makes its grade another."""
        before = self._grades.get((item.part, item.what, *_line_of(item)))
        return before is not None and before is not item.grade


def _line_of(item: Marked) -> tuple[str, int]:
    return ("", 0) if item.span is None else (item.span.file, item.span.line)


def _row(
    item: Marked,
    found: Comparison,
    booked: Mapping[tuple[object, ...], str],
    as_booked: _AsBooked,
    scheme: Scheme,
    reveal: Reveal,
    lengths: Lengths,
) -> HandedRow:
    """A reading as booked with the verdict on it: with its own slip mended it is another reading."""
    item, cause = as_booked.reading(item)
    serious = item.grade is Grade.SERIOUS and reveal is Reveal.NONE
    judged = scheme.words[Grade.NONE if serious else item.grade]
    if cause is not None:
        judged = as_booked.verdict(cause)
    elif as_booked.changed(item):
        judged += ", once mended"
    return HandedRow(
        line=found.line_of(item.span) if item.span is not None else "",
        what=item.what + _called(item, reveal),
        written=booked.get(_of_key(item.pair), ""),
        judged=judged,
        comment="" if reveal is Reveal.NONE else _off(item, lengths, measured=reveal is Reveal.VALUES),
        expected=_expected(item, lengths) if reveal is Reveal.VALUES else "",
    )


def _called(item: Marked, reveal: Reveal) -> str:
    """What the key calls a station, where it is another name and the key's are revealed."""
    pair = item.pair
    if not isinstance(pair, StationPair) or pair.key == pair.station or reveal is not Reveal.VALUES:
        return ""
    return f" = the leader's {pair.key}"


def _of_key(pair: object) -> tuple[object, ...]:
    """Which thing of the key a pair is of: the same with causes mended."""
    if isinstance(pair, AttitudePair):
        return "attitude", pair.key.span, pair.key.order, pair.station
    if isinstance(pair, ContactPair):
        # Of several between the same two places of the key each has a line of its own.
        has = pair.log or pair.instead
        return "contact", pair.key.booked.span, None if has is None else has.booked.span.line
    if isinstance(pair, UnitPair):
        return "unit", pair.station
    return ()


def _booked(found: Comparison) -> Mapping[tuple[object, ...], str]:
    """What the party's book says of each, before anything was mended."""
    standing = found.standing
    beds = {_of_key(one): one.log.written for one in standing.attitudes if one.log is not None}
    units = {_of_key(one): one.written for one in standing.units if one.written is not None}
    contacts = {
        _of_key(one): " ".join(
            filter(
                None,
                (
                    "/".join(one.booked.named or ()),
                    one.booked.certainty.value if one.booked.certainty is not None else "",
                ),
            )
        )
        for one in (*standing.contacts, *standing.between)
        if one.log is not None or one.instead is not None
    }
    return beds | units | contacts


def _off(item: Marked, lengths: Lengths, *, measured: bool) -> str:
    """Which way it is off, and where that is revealed by how much."""
    way, pair = _way(item), item.pair
    if not measured or not isinstance(pair, StationPair | ContactPair) or pair.moved_m is None:
        return way
    far = f"{lengths.said(pair.moved_m)} off"
    if isinstance(pair, StationPair):
        return f"{lengths.said(pair.moved_m)} {way.removeprefix('lies ')}" if way else far
    return f"{far}: {way}" if way else far


def _way(item: Marked) -> str:
    """Which way it is off."""
    pair = item.pair
    if item.grade is Grade.FULL:
        return ""
    if isinstance(pair, StationPair) and pair.east_m is not None and pair.north_m is not None:
        toward = wrap_360(math.degrees(math.atan2(pair.east_m, pair.north_m)))
        return f"lies too far {nearest_point(toward, points=8)}"
    if isinstance(pair, ThicknessPair):
        return "too thick" if pair.log_m > pair.key_m else "too thin"
    return item.note


def _expected(item: Marked, lengths: Lengths) -> str:
    """What the key has, with what was allowed."""
    pair = item.pair
    if isinstance(pair, StationPair) and pair.moved_m is not None:
        return f"within {lengths.said(item.limit or 0.0)}"
    if isinstance(pair, AttitudePair):
        toward = None if pair.key.flat else pair.key.dip_direction_deg
        within = f", within {degrees(item.limit)}" if item.limit is not None else ""
        return f"{arrow(pair.key.dip_deg, toward)}{within}{', overturned' if pair.key.overturned else ''}"
    if isinstance(pair, ContactPair):
        words = pair.key.certainty.value if pair.key.certainty is not None else pair.key.kind.value
        wide = f", within {lengths.said(item.limit)}" if item.limit is not None else ""
        units = f"{'/'.join(pair.key.booked.named or ())} " if pair.instead is not None or pair.turned else ""
        return f"{units}{words}{wide}"
    if isinstance(pair, UnitPair):
        return pair.key
    if isinstance(pair, ThicknessPair):
        return f"{lengths.said(pair.key_m)}, within {lengths.said(item.limit or 0.0)}"
    return ""


def stations_said(found: Comparison) -> str:
    """How much was paired, for the leader."""
    paired = len(found.standing.pairs)
    return f"{counted(paired, 'station')} of {paired + len(found.standing.missed)}"
