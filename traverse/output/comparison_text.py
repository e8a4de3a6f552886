"""Logs held against a key, for the leader's terminal: a line a log, then what there is to say of each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from traverse.compare.records import Comparison, Grade, Scheme, WayApart, total
from traverse.diagnostic import Severity
from traverse.output.comparison_json import Compared
from traverse.output.report import Part, ReportTable, Sentences
from traverse.sheet.paper.words import counted
from traverse.structure.readings.records import PlacedContact
from traverse.wording import told_apart

_MOST_TOLD = 12


def comparison_parts(compared: Sequence[Compared], scheme: Scheme) -> tuple[Part, ...]:
    """A table of all, then a part for each log."""
    names = told_apart([one.name for one in compared])
    return (
        ReportTable(
            heading=f"{counted(len(compared), 'log')} against the key",
            columns=("log", "marks", "mended", "of", "stations", "first"),
            rows=tuple(map(_row, names, compared)),
            left=frozenset({0, 5}),
            below=(
                f"Marks by “{scheme.name}” ({scheme.by}). The key has errors of its own; they are allowed for.",
                "“mended” is the score with the causes named put right.",
            ),
        ),
        *(part for name, one in zip(names, compared, strict=True) for part in _details(name, one, scheme)),
    )


def _row(name: str, one: Compared) -> tuple[str, ...]:
    found = one.comparison
    if found is None:
        return (name, "", "", "", "", one.problem or "")
    (scored, of), (mended, _) = total(found.marks), total(found.marks_mended)
    paired = len(found.standing.pairs)
    first = f"line {found.line_of(found.causes[0].span)}: {found.causes[0].cause}" if found.causes else ""
    if not first and found.apart:
        leg = found.apart[0]
        first = f"line {found.line_of(leg.span)}: leg {leg.start}–{leg.end} is not the key's"
    if not first and found.ways:
        way = found.ways[0]
        first = (
            f"line {found.line_of(way.spans[0])}: its way {way.stops[0]} to {way.stops[-1]} is not the key's"
        )
    return (
        name,
        f"{scored:.0f}",
        f"{mended:.0f}" if found.causes else "",
        f"{of:.0f}",
        f"{paired} of {paired + len(found.standing.missed)}",
        first,
    )


def _details(name: str, one: Compared, scheme: Scheme) -> Iterator[Part]:
    found = one.comparison
    if found is None:
        errors = [said for said in one.diagnostics if said.severity is Severity.ERROR]
        words = [f"line {said.span.line}: {said.message}" if said.span else said.message for said in errors]
        yield Sentences(heading=name, paragraphs=((one.problem or "not compared"), *words[:_MOST_TOLD]))
        return
    said = [*found.notes, *found.for_leader]
    said += [f"line {found.line_of(cause.span)}: {cause.text}" for cause in found.causes]
    said += [
        f"line {found.line_of(leg.span)}: leg {leg.start}–{leg.end} is {found.lengths.said(leg.off_m)} off the key's, and no one slip explains it"
        for leg in found.apart
    ]
    said += [_way_words(way, found) for way in found.ways]
    for called, names in (
        ("not in the key", found.standing.alone),
        ("not in the log", found.standing.missed),
    ):
        if names:
            said.append(f"{called}: {', '.join(names)}")
    if found.standing.elsewhere:
        where = ", ".join(map(_contact_words, found.standing.elsewhere))
        said.append(f"contacts of the key on ground that the log did not walk: {where}")
    yield ReportTable(
        heading=name,
        columns=("", "marks", "mended", "of", "look again at"),
        rows=tuple(_part_rows(found, scheme)),
        left=frozenset({0, 4}),
        below=tuple(said),
    )


def _way_words(way: WayApart, found: Comparison) -> str:
    """How far a way over stops of its own is off, its legs, and what may be wrong in them."""
    said = found.lengths.said
    ends = " to ".join(dict.fromkeys((way.stops[0], way.stops[-1])))
    legs = f"{counted(len(way.spans), 'leg')} {'–'.join(way.stops)}"
    may_be = [
        f"{f'leg {one.start}–{one.end}' if one.start else one.what} (line {found.line_of(one.span)}): {one.slip}, {one.reading}"
        for one in way.may_be
    ]
    what = (
        f"one slip would explain it: {', or '.join(may_be)}; nothing excludes others, or another place taken for one of the "
        "two stops"
        if may_be
        else "no one slip explains it: two of them may, or another place taken for one of the two stops"
    )
    return (
        f"{found.lines_of(way.spans)}: its own way {ends}, {legs}, comes out {said(way.off_m)} off the key's, "
        f"expected within {said(max(1.0, way.expected_m))}; {what}"
    )


def _part_rows(found: Comparison, scheme: Scheme) -> Iterator[tuple[str, ...]]:
    """What is still off with the causes mended is worth a look; what they explain is not told item by item."""
    mended = {one.part: one for one in found.marks_mended}
    for part in found.marks:
        after = mended.get(part.part, part)
        off = [one for one in after.items if one.grade is not Grade.FULL]
        words = [f"{one.what}: {one.note or scheme.words[one.grade]}" for one in off[:_MOST_TOLD]]
        more = f"; and {len(off) - _MOST_TOLD} more" if len(off) > _MOST_TOLD else ""
        yield (
            part.part.value,
            f"{part.scored:.1f}",
            f"{after.scored:.1f}" if found.causes else "",
            f"{part.of:g}",
            "; ".join(words) + more,
        )


def _contact_words(contact: PlacedContact) -> str:
    """What it parts, and where the key's walk met it."""
    booked = contact.booked
    where = booked.address.station or ""
    if booked.address.leg is not None and not where:
        where = f"{booked.address.leg.start}–{booked.address.leg.end}"
    return f"{'/'.join(booked.named or ()) or booked.kind.value} on {where}".removesuffix(" on ")
