"""What each item of a log is worth beside the key, by the leader's scheme.

The key is not the truth: of every difference only that part counts which the key's own error does not explain, the root
of the squares' difference (of a place, the error of both logs' known points), and what the key itself queries takes no marks.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from traverse.angle import wrap_180
from traverse.compare.records import (
    AttitudePair,
    ContactPair,
    Grade,
    Marked,
    Paired,
    Part,
    PartMarks,
    Scheme,
    StationPair,
)
from traverse.diagnostic import Diagnostic
from traverse.ground.records import Traverse
from traverse.log.items import Certainty, Contact, Sample, WayUp
from traverse.settled import settled
from traverse.source import Span
from traverse.trade import STRIKE_TOLD_DIP_DEG, UPSIDE_DEG

_LINES_TOLD = 4
"""Lines that a note of how the party worked names."""


def marks(
    standing: Paired, log: Traverse, key: Traverse, said: tuple[Diagnostic, ...], scheme: Scheme
) -> tuple[PartMarks, ...]:
    """The parts that can be judged, in the order of the scheme."""
    by: dict[Part, Callable[[], Iterator[Marked]]] = {
        Part.LOCATION: lambda: _location(standing, scheme),
        Part.SHAPE: lambda: _shape(standing, scheme),
        Part.ATTITUDES: lambda: _attitudes(standing, scheme),
        Part.CONTACTS: lambda: _contacts(standing, scheme),
        Part.UNITS: lambda: _units(standing, scheme),
        Part.PROCESS: lambda: _process(log, key, said, standing, scheme),
    }
    found = []
    for part, items_of in by.items():
        items = tuple(items_of()) if scheme.weights[part] > 0.0 else ()
        whole = sum(one.weight for one in items)
        if whole > 0.0:
            share = sum(one.credit * one.weight for one in items) / whole
            found.append(
                PartMarks(
                    part=part,
                    of=scheme.weights[part],
                    scored=settled(scheme.weights[part] * share, 6),
                    items=items,
                )
            )
    return tuple(found)


def beyond(off: float, sd: float) -> float:
    """The part of a difference that an error, mostly the key's own, does not explain.

    >>> beyond(5.0, 3.0), beyond(2.0, 3.0)
    (4.0, 0.0)
    """
    return math.sqrt(max(off * off - sd * sd, 0.0))


def _with_error(limit: float, sd: float) -> float:
    """What may be off by for full marks where an error explains a part of it: the limit of `beyond`, turned round."""
    return settled(math.hypot(limit, sd), 6)


def place_limit_m(walked_m: float, scheme: Scheme) -> float:
    """How far off a station may lie."""
    return scheme.place_m + scheme.place_share * walked_m


def _within(off: float, limit: float, scheme: Scheme) -> Grade:
    if off <= limit:
        return Grade.FULL
    return Grade.PART if off <= scheme.place_part * limit else Grade.NONE


def _location(standing: Paired, scheme: Scheme) -> Iterator[Marked]:
    if standing.framed:
        for one in standing.pairs:
            # A log states the error of its known points itself: no more of it counts than lets stations be paired.
            sd = math.hypot(one.key_sd_m, min(one.log_sd_m, scheme.pair_m))
            yield _station(Part.LOCATION, one, one.moved_m or 0.0, sd, scheme)


def _shape(standing: Paired, scheme: Scheme) -> Iterator[Marked]:
    for one in standing.pairs:
        if one.shape_m is not None:
            yield _station(Part.SHAPE, one, one.shape_m, one.key_sd_m, scheme)


def _station(part: Part, one: StationPair, off_m: float, sd_m: float, scheme: Scheme) -> Marked:
    """A station by how far off it lies, beyond what stated errors explain."""
    limit = place_limit_m(one.walked_m, scheme)
    grade = _within(beyond(off_m, sd_m), limit, scheme)
    return Marked(
        part=part,
        what=f"station {one.station}",
        grade=grade,
        credit=scheme.credits[grade],
        span=one.span,
        pair=one,
        limit=_with_error(limit, sd_m),
    )


def _attitudes(standing: Paired, scheme: Scheme) -> Iterator[Marked]:
    lines = {one.station: one.span for one in standing.pairs}
    near_by = standing.near_by
    for one in standing.attitudes:
        if one.key.queried:
            continue
        where = one.station if one.key.place.address.station is not None else f"the leg from {one.station}"
        what = f"{one.key.kind.value} at {where}"
        if one.log is None or one.pole_deg is None:
            if one.station in near_by:
                continue
            yield Marked(
                part=Part.ATTITUDES,
                what=what,
                grade=Grade.MISSING,
                credit=0.0,
                span=lines.get(one.station),
                pair=one,
            )
            continue
        sd = min(one.key.sd_deg, scheme.attitude_deg[0])
        off = beyond(one.pole_deg, sd)
        limits = zip((Grade.FULL, Grade.NEAR, Grade.PART), scheme.attitude_deg, strict=True)
        grade = next((grade for grade, limit in limits if off <= limit), Grade.NONE)
        credit, note = scheme.credits[grade], attitude_note(one)
        if _upside(one):
            # A bed right but for its way-up is half a bed.
            credit, note = credit / 2.0, "which way is up"
            grade = grade if credit < scheme.credits[Grade.PART] else Grade.PART
        yield Marked(
            part=Part.ATTITUDES,
            what=what,
            grade=grade,
            credit=credit,
            note=note,
            span=one.log.span,
            pair=one,
            limit=_with_error(scheme.attitude_deg[0], sd),
        )


def _upside(one: AttitudePair) -> bool:
    return one.log is not None and one.key.overturned != one.log.overturned


def attitude_note(one: AttitudePair) -> str:
    """Which of a reading's figures is off most; empty where it is near. Strike is judged only where the bed dips."""
    if one.log is None or one.pole_deg is None or one.pole_deg <= one.key.sd_deg:
        return ""
    turned = abs(wrap_180(one.log.dip_direction_deg - one.key.dip_direction_deg))
    steep = min(one.log.dip_deg, one.key.dip_deg)
    if steep > STRIKE_TOLD_DIP_DEG and turned > UPSIDE_DEG:
        return "which way it dips"
    across = turned * math.sin(math.radians(steep))
    return "its dip" if abs(one.log.dip_deg - one.key.dip_deg) >= across else "its strike"


def _called(contact: Contact) -> str:
    named = "" if contact.named is None else f" {'/'.join(contact.named)}"
    return f"{contact.kind.value}{named}"


def _contacts(standing: Paired, scheme: Scheme) -> Iterator[Marked]:
    for one in standing.contacts:
        if not one.key.queried:
            yield _contact(one, scheme)
    for one in standing.between:
        if not one.key.queried:
            # How it is seen there the key's party does not know.
            yield _contact(one, scheme, seen=False)


def _contact(one: ContactPair, scheme: Scheme, *, seen: bool = True) -> Marked:
    """Presence, kind, place, certainty and which unit is the younger; a place is right within what the log itself says of it."""
    what = _called(one.booked)
    if one.instead is not None:
        return Marked(
            part=Part.CONTACTS,
            what=what,
            grade=Grade.NONE,
            credit=0.0,
            note="which units it parts",
            span=one.booked.span,
            pair=one,
        )
    if one.log is None:
        line, where = one.beside or (None, "")
        what = f"{what}, {where}" if where else what
        return Marked(part=Part.CONTACTS, what=what, grade=Grade.MISSING, credit=0.0, span=line, pair=one)
    credit, notes = scheme.contact_met, []
    if one.log.kind is one.key.kind:
        credit += scheme.contact_kind
    else:
        notes.append("what kind of line it is")
    place = _contact_place(one, scheme)
    credit += scheme.contact_place * place
    if place < 1.0:
        notes.append("where it is" if place == 0.0 else "how closely it can be placed")
    if one.turned:
        credit -= scheme.contact_turned
        notes.append("which of its units is the younger")
    grade = Grade.NONE if place == 0.0 else Grade.FULL if place == 1.0 and not notes else Grade.PART
    if not seen or one.log.certainty is one.key.certainty or one.key.certainty is None:
        credit += scheme.contact_certainty
    elif one.serious:
        credit, grade = credit - scheme.contact_serious, Grade.SERIOUS
        notes.append("how it was seen")
    else:
        # A word too careful is half right; one too sure is not.
        order = list(Certainty)
        careful = one.log.certainty is not None and order.index(one.log.certainty) > order.index(
            one.key.certainty
        )
        credit += scheme.contact_certainty / 2.0 if careful else 0.0
        grade = Grade.PART if grade is Grade.FULL else grade
        notes.append("how certain it is")
    return Marked(
        part=Part.CONTACTS, what=what, grade=grade, credit=settled(max(credit, 0.0), 6), note=", ".join(notes), span=one.log.booked.span, pair=one,
        limit=None if one.moved_m is None else contact_limit_m(one, scheme),
    )  # fmt: skip


def _contact_place(one: ContactPair, scheme: Scheme) -> float:
    """1 within the log's own certainty and the key's, 0.5 within a stretch far wider than the key's, else 0.

    Without a frame in common a place can't be judged, and counts as right.
    """
    if one.log is None or one.moved_m is None:
        return 1.0
    own, key = one.log.half_width_m or 0.0, one.key.half_width_m or 0.0
    if settled(one.moved_m, 6) > contact_limit_m(one, scheme):
        return 0.0
    return 0.5 if own > scheme.contact_widest * max(key, scheme.contact_m) else 1.0


def contact_limit_m(one: ContactPair, scheme: Scheme) -> float:
    """How far off the key's trace a contact of the log may lie: what both say of it, what is allowed, and the key's error."""
    own = 0.0 if one.log is None else one.log.half_width_m or 0.0
    allowed = own + (one.key.half_width_m or 0.0) + scheme.contact_m + one.drift_m
    return _with_error(allowed, one.key.own_sd_m if one.key.half_width_m is None else 0.0)


def _units(standing: Paired, scheme: Scheme) -> Iterator[Marked]:
    for one in standing.units:
        grade = Grade.FULL if one.right else Grade.MISSING if one.written is None else Grade.NONE
        yield Marked(
            part=Part.UNITS,
            what=f"unit at {one.station}",
            grade=grade,
            credit=scheme.credits[grade],
            span=one.span,
            pair=one,
        )
    for younger, older, right in standing.order:
        grade = Grade.FULL if right else Grade.NONE
        yield Marked(
            part=Part.UNITS, what=f"order of {younger} and {older}", grade=grade, credit=scheme.credits[grade]
        )
    for thick in standing.thicknesses:
        allowed = max(scheme.thickness_share * thick.key_m, 2.0 * math.hypot(thick.key_sd_m, thick.log_sd_m))
        grade = _within(abs(thick.log_m - thick.key_m), allowed, scheme)
        yield Marked(
            part=Part.UNITS,
            what=f"thickness of {thick.unit}",
            pair=thick,
            limit=allowed,
            grade=grade,
            credit=scheme.credits[grade],
        )


def _process(
    log: Traverse, key: Traverse, said: tuple[Diagnostic, ...], standing: Paired, scheme: Scheme
) -> Iterator[Marked]:
    """How the party worked, each as far as it was done."""
    survey, booked = log.survey, log.log
    if key.survey.closures:
        open_loops = [one.span for one in survey.closures if not one.adjusted]
        lacks = ("does not close well enough to be adjusted", "do not close well enough to be adjusted")
        legs = "`traverse check` names the legs to look at"
        if survey.closures:
            yield _done("loops and ties", len(survey.closures), lacks, open_loops, remedy=legs)
        else:
            yield replace(_done("loops and ties", 1, lacks, (), nowhere=1), note="no loop was closed")
    if any(one.distance.unit.is_pace for one in booked.legs):
        walked = min(max([len(one.counts) for one in booked.paces], default=0), scheme.pace_walks)
        lacks = ("was not counted", "were not counted")
        yield _done(
            "walks of the pace course", scheme.pace_walks, lacks, (), nowhere=scheme.pace_walks - walked
        )
    if any(one.back_bearing is not None for one in key.log.legs) and booked.legs:
        bare = [one.span for one in booked.legs if one.back_bearing is None]
        yield _done("legs", len(booked.legs), ("has no back bearing", "have no back bearing"), bare)
    names = {one.key: one.station for one in standing.pairs}
    tops = {item.address.station for item in key.log.items if isinstance(item, WayUp)} & set(names)
    if tops:
        seen = {item.address.station for item in booked.items if isinstance(item, WayUp)}
        missed = sum(names[one] not in seen for one in tops if one is not None)
        # How many there are to be seen is the key's.
        yield replace(_done("tops looked for", len(tops), ("", ""), (), nowhere=missed), note="")
    samples = [item for item in booked.items if isinstance(item, Sample)]
    if samples:
        bare = [one.address.span for one in samples if not one.words]
        yield _done("samples", len(samples), ("does not say what it is", "do not say what they are"), bare)
    asked = [one for one in said if one.kind in {"warning", "answered"}]
    if asked:
        open_ones = [one for one in asked if one.kind == "warning"]
        placed = [one.span for one in open_ones if one.span is not None]
        yield _done(
            "questions of `traverse check`",
            len(asked),
            ("has no answer", "have no answer"),
            placed,
            nowhere=len(open_ones) - len(placed),
            remedy="mend the line, or type `checked WHO WHY` below it",
        )


def _done(
    what: str, of: int, lacks: tuple[str, str], left: Sequence[Span], *, nowhere: int = 0, remedy: str = ""
) -> Marked:
    """A step of the work, done but at the lines `left` and `nowhere` more that have none.

    `lacks` says of one and of several what was not done: `1 of 2 has no back bearing (line 30)`.
    """
    undone = len(left) + nowhere
    note = f"{undone} of {of} {lacks[undone > 1]}" if undone else ""
    if left and len({one.file for one in left}) == 1:
        lines = [str(one.line) for one in left[:_LINES_TOLD]]
        more = f" and {len(left) - _LINES_TOLD} more" if len(left) > _LINES_TOLD else ""
        note += f" ({'line' if len(left) == 1 else 'lines'} {', '.join(lines)}{more})"
    if undone and remedy:
        note += f": {remedy}"
    return Marked(
        part=Part.PROCESS,
        what=what,
        grade=Grade.FULL if not undone else Grade.PART if undone < of else Grade.NONE,
        credit=settled((of - undone) / of, 6),
        span=left[0] if left else None,
        note=note,
    )
