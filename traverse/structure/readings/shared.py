"""Outcrops that several parties measured: one mean where they agree, both where they do not; and two units at one place."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import replace

import numpy as np

from traverse.diagnostic import Diagnostic, Label, warning
from traverse.log.items import Item, PlaneKind, Planes, UnitHere
from traverse.log.readings import TO_DIP_DEG, Convention
from traverse.log.records import Log, one_place
from traverse.settled import settled
from traverse.source import Span
from traverse.structure.odd_attitudes import odd_between
from traverse.structure.readings.directions import Vectors, dip_of, pole, pole_angle
from traverse.structure.readings.mean import principal_axis
from traverse.structure.readings.records import Attitude, JointOutcrop, JointPlace, PlaneAttitude
from traverse.trade import SAME_OUTCROP_DEG
from traverse.wording import listed

_LEAST = 3
"""Outcrops that a party must differ at before its rule is doubted; common practice, no source."""
_LEAST_OTHERS = 2
"""Parties that it must differ from; common practice, no source."""


def shared_outcrops(
    log: Log, attitudes: Sequence[Attitude], doubted: Collection[Span] = ()
) -> tuple[JointOutcrop, ...]:
    """Every kind of plane that two parties or more measured at one place, in the order of the log.

    One place is one name, or names that are tied exactly; nothing is taken from nearness. Readings that are
    `doubted` are held against the others, and no mean is made with them.
    """
    if len(log.parties) < 2:
        return ()
    of_place = place_finder(log)
    found: dict[tuple[str, PlaneKind], list[PlaneAttitude]] = defaultdict(list)
    for one in attitudes:
        if isinstance(one, PlaneAttitude) and one.place.address.station is not None:
            found[of_place(one.station), one.kind].append(one)
    return tuple(
        joint_outcrop(kind, read, doubted)
        for (_, kind), read in found.items()
        if len({_file(one.booked) for one in read}) > 1
    )


def shared_places(log: Log) -> tuple[JointPlace, ...]:
    """Places where two parties or more booked a unit, and not the same one."""
    if len(log.parties) < 2:
        return ()
    of_place = place_finder(log)
    found: dict[str, list[UnitHere]] = defaultdict(list)
    for item in log.items:
        if isinstance(item, UnitHere) and item.address.station is not None:
            found[of_place(item.address.station)].append(item)
    return tuple(
        JointPlace(booked=tuple(booked))
        for booked in found.values()
        if len({one.letters for one in booked}) > 1 and len({_file(one) for one in booked}) > 1
    )


def lying_out(poles: Vectors) -> tuple[list[float], list[bool]]:
    """Of readings of one outcrop how far each lies off the mean of the others, and whether it lies out, (n, 3) poles.

    One lies out that is farther off than one plane is read apart; of two that disagree neither is known to be wrong, and
    both do.
    """
    kept = list(range(len(poles)))
    # One far out pulls the mean of the others after it: the farthest goes first.
    while len(kept) > 2:
        off = _off_others(poles, kept, kept)
        if max(off) <= SAME_OUTCROP_DEG:
            break
        kept.pop(off.index(max(off)))
    off = _off_others(poles, kept, range(len(poles)))
    agree = len(kept) > 1 and max(off[one] for one in kept) <= SAME_OUTCROP_DEG
    return off, [not (agree and one in kept) for one in range(len(poles))]


def _off_others(poles: Vectors, kept: Sequence[int], of: Iterable[int]) -> list[float]:
    """How far each lies off the mean of the others among those that are kept."""
    return [
        settled(pole_angle(poles[one], principal_axis(poles[[two for two in kept if two != one]])[0]), 6)
        for one in of
    ]


def place_finder(log: Log) -> Callable[[str], str]:
    """The first name of a place, by any of its names."""
    groups = one_place(log.ties)
    order = {name: index for index, name in enumerate(log.stations)}
    first = {name: min(group, key=lambda one: order.get(one, len(order))) for name, group in groups.items()}
    return lambda name: first.get(name, name)


def _file(item: Item) -> str:
    return item.address.span.file


def joint_outcrop(
    kind: PlaneKind, read: Sequence[PlaneAttitude], doubted: Collection[Span] = (), *, near: bool = False
) -> JointOutcrop:
    """What parties read at one place, or at places `near` each other: who lies out, and the mean of those that agree."""
    normals = np.array([_normal(one) for one in read])
    trusted = [index for index, one in enumerate(read) if one.span not in doubted]
    if len({_file(read[index].booked) for index in trusted}) < 2:
        off, out = lying_out(normals)
    else:
        off, out = [0.0] * len(read), [True] * len(read)
        for index, far, apart in zip(trusted, *lying_out(normals[trusted]), strict=True):
            off[index], out[index] = far, apart
        kept = [index for index, apart in enumerate(out) if not apart] or trusted
        mean = principal_axis(normals[kept])[0]
        for index in set(range(len(read))) - set(trusted):
            off[index] = settled(pole_angle(normals[index], mean), 6)
    agreed = [index for index, one in enumerate(out) if not one]
    if any(out[index] for index in trusted) and len({_file(read[index].booked) for index in agreed}) == 1:
        # What one party read twice is no more than its word against another's.
        agreed, out = [], [True] * len(read)
    return JointOutcrop(
        kind=kind,
        read=tuple(read),
        off_deg=tuple(off),
        out=tuple(out),
        mean=_mean([read[index] for index in agreed], normals[agreed]) if len(agreed) > 1 else None,
        near=near,
    )


def _mean(read: Sequence[PlaneAttitude], normals: Vectors) -> PlaneAttitude:
    """Of all readings, each counted once, with how many they are."""
    every = np.repeat(normals, [one.n for one in read], axis=0)
    axis, spread = principal_axis(every)
    dip, direction = dip_of(axis)
    tops = next((one for one in read if one.tops is not None), read[0])
    return replace(
        read[0],
        dip_deg=dip,
        dip_direction_deg=0.0 if direction is None else direction,
        flat=direction is None,
        n=len(every),
        spread_deg=max(spread, *(one.spread_deg for one in read)),
        sd_deg=max(one.sd_deg for one in read),
        tops=tops.tops,
        tops_toward_deg=tops.tops_toward_deg,
        queried=any(one.queried for one in read),
    )


def _normal(one: PlaneAttitude, turn_deg: float = 0.0) -> Vectors:
    return pole(one.dip_deg, dip_direction_deg=one.dip_direction_deg + turn_deg)


# --- what is asked ------------------------------------------------------------------------------------------


def shared_doubts(
    log: Log, shared: Sequence[JointOutcrop], places: Sequence[JointPlace], asked: Collection[Span]
) -> Iterator[Diagnostic]:
    """Outcrops at which parties disagree, the party whose rule explains it once, and units that differ.

    A party whose line of `attitudes` is among `asked` is not asked again, nor a bed or a unit at places near each other: what
    the walk says of it names it better.
    """
    # Places near each other are told of only where they disagree, which says nothing of a rule.
    tied = [one for one in shared if not one.near]
    ruled = {file: found for file in _files(log) if (found := _other_rule(log, file, tied)) is not None}
    yield from (one for one in ruled.values() if one.span not in asked)
    doubted = {
        _file(one.booked)
        for outcrop in shared
        for one in outcrop.read
        if one.booked.conditions.convention_span in asked
    }
    for one in shared:
        yield from (
            said for said in _disagree(log, one, {*ruled, *doubted}) if not (one.near and said.span in asked)
        )
    for place in places:
        if not (place.near and (said := place.alone) is not None and said.span in asked):
            yield _two_units(log, place)


def _files(log: Log) -> list[str]:
    return [party.file for party in log.parties if party.letters is not None and not party.aside]


def _called(log: Log, item: Item) -> str:
    file = _file(item)
    return next((one.letters for one in log.parties if one.file == file and one.letters), file)


def _other_rule(log: Log, file: str, shared: Sequence[JointOutcrop]) -> Diagnostic | None:
    """The question where a party disagrees with the others at every outcrop that tells, and by another rule at none.

    Nearly level beds lie alike by every rule, and tell nothing. One other party alone is not believed more than this one.
    """
    differs = [one for one in shared if any(_file(two.booked) == file for two in one.read)]
    pairs = [
        (one, other)
        for outcrop in differs
        for one in outcrop.read
        if _file(one.booked) == file
        for other in [_others(outcrop, file)]
        if other is not None and _tells(one)
    ]
    others = {_file(one.booked) for outcrop in differs for one in outcrop.read} - {file}
    if len(others) < _LEAST_OTHERS:
        return None
    rules = {(one.booked.conditions.convention, one.booked.conditions.convention_span) for one, _ in pairs}
    if len(pairs) < _LEAST or len(rules) != 1:
        return None
    convention, span = rules.pop()
    if convention is None or convention not in TO_DIP_DEG or span is None:
        return None
    apart = [pole_angle(_normal(one), other) for one, other in pairs]
    if min(apart) <= SAME_OUTCROP_DEG:
        return None
    fits = [
        rule
        for rule in (Convention.DIP_RIGHT, Convention.DIP_LEFT, Convention.DIP_DIRECTION)
        if rule is not convention
        and all(
            pole_angle(_normal(one, TO_DIP_DEG[rule] - TO_DIP_DEG[convention]), other) <= SAME_OUTCROP_DEG
            for one, other in pairs
        )
    ]
    if not fits:
        return None
    letters = _called(log, pairs[0][0].booked)
    asked = warning(
        "party-attitudes",
        f"read as `{convention.value}`, the planes of {letters} lie {min(apart):.0f}° or more off what others read at all "
        f"{len(pairs)} outcrops that they share; read as {listed([f'`{one.value}`' for one in fits])}, within "
        f"{SAME_OUTCROP_DEG:.0f}°",
        span,
        "ask who read them: on which side of the strike is the dip, or is the figure the dip direction",
        labels=tuple(Label(one.span, one.station) for one, _ in pairs),
    )
    own = tuple(item.span for item in log.items if isinstance(item, Planes) and _file(item) == file)
    return replace(asked, doubts=own)


def _tells(one: PlaneAttitude) -> bool:
    """Whether a plane lies so much otherwise by each other rule that it can agree with others by one alone."""
    return all(pole_angle(_normal(one), _normal(one, way)) > 2.0 * SAME_OUTCROP_DEG for way in (90.0, 180.0))


def _others(outcrop: JointOutcrop, file: str) -> Vectors | None:
    """The mean pole of what other parties read alike; None where they read none, or don't agree."""
    read = [one for one in outcrop.read if _file(one.booked) != file]
    if not read:
        return None
    normals = np.array([_normal(one) for one in read])
    if len(read) == 1:
        return _normal(read[0])
    _, out = lying_out(normals)
    kept = normals[[not one for one in out]]
    return principal_axis(kept)[0] if len(kept) > 1 else None


def _disagree(log: Log, outcrop: JointOutcrop, ruled: set[str]) -> Iterator[Diagnostic]:
    """At the line of each that lies out; of two that disagree at that of the second."""
    out = [one for one, apart in zip(outcrop.read, outcrop.out, strict=True) if apart]
    # As written, two rules may have the same figures for planes that dip apart.
    told = ", ".join(f"{_called(log, one.booked)} {_lying(one)}" for one in outcrop.read)
    off = max((far for far, apart in zip(outcrop.off_deg, outcrop.out, strict=True) if apart), default=0.0)
    agreed = [_normal(one) for one, apart in zip(outcrop.read, outcrop.out, strict=True) if not apart]
    stations = list(dict.fromkeys(one.station for one in outcrop.read))
    where = (
        f"at {listed(stations)}, which come out no farther apart than their errors allow, parties read {outcrop.kind.value}s "
        f"{off:.0f}° apart"
        if outcrop.near
        else f"parties disagree on one {outcrop.kind.value} by {off:.0f}°"
    )
    for one in out if outcrop.mean is not None else out[-1:]:
        slip = None if outcrop.mean is None else odd_between(one, _normal(outcrop.mean), np.array(agreed))
        meant = "" if slip is None else f"{slip.words}? {slip.reading} would fit; else "
        others = [two for two in out if two is not one]
        rests = [two for two in out if _file(two.booked) in ruled] or others
        mine = _called(log, one.booked)
        yield warning(
            "outcrop-disagrees",
            f"{where}: {told}; "
            + (
                f"both are drawn, {'nothing is constructed from them, and' if outcrop.near else 'and'} nothing says which of them is wrong"
                if outcrop.mean is None
                else f"that of {mine} lies out, and is drawn beside {'those' if outcrop.near else 'the mean'} of the others"
            ),
            one.span,
            f"{meant}read it again{'' if outcrop.mean is not None else ', both of you'}; `ruling {one.station} {outcrop.kind.value} READING WHO DATE WHY` settles it",
            rests_on=[two.span for two in rests],
            labels=()
            if outcrop.mean is not None
            else tuple(Label(two.span, f"{_called(log, two.booked)} reads it so") for two in others),
        )


def _lying(one: PlaneAttitude) -> str:
    """Dip and the direction it dips in, of true north."""
    return "flat" if one.flat else f"{one.dip_deg:.0f}° → {round(one.dip_direction_deg) % 360:03d}°"


def _two_units(log: Log, place: JointPlace) -> Diagnostic:
    alone = place.alone
    last = alone or place.booked[-1]
    shown = (
        "both are shown"
        if alone is None
        else "the ground that all walked there is coloured as the others have it"
    )
    told = ", ".join(f"{_called(log, one)} {one.letters}" for one in place.booked)
    assert last.address.station is not None
    where = (
        f"{listed(place.stations)} come out no farther apart than their errors allow, by no contact, and parties put them"
        if place.near
        else "parties put one place"
    )
    return warning(
        "units-differ",
        f"{where} in different units: {told}; {shown}",
        last.span,
        f"look at it together; `ruling {last.address.station} unit LETTERS WHO DATE WHY` settles it, and `also` on the "
        "`unit` line of the camp where it is one unit by two names",
        labels=tuple(Label(one.span, one.letters) for one in place.booked if one is not last),
    )
