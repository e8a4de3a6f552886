"""A bed or a unit that was written down wrong: what the key shows, and what the line would say."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from traverse.angle import wrap_180
from traverse.compare.mends import Mend, cause_of, mended, within_words
from traverse.compare.pairing import one_outcrop
from traverse.compare.records import AttitudePair, Cause, Paired
from traverse.compile import Compiled, compile_log
from traverse.diagnostic import Diagnostic
from traverse.ground.records import Traverse
from traverse.log.items import UnitHere
from traverse.log.records import Log
from traverse.notation.use import Loader, loading
from traverse.settled import settled
from traverse.source import Source
from traverse.structure.odd_attitudes import WrittenSlip, fitting_slips
from traverse.structure.readings.directions import pole, pole_angle
from traverse.structure.readings.records import PlaneAttitude
from traverse.structure.walk.between_contacts import contacts_beside, crossed_on_legs

_OFF_DEG = 12.0
"""A bed that lies nearer to the key's is told by its mark; common practice, no source."""
_SURE = 3.0
"""Standard errors of the angle between two readings from which on one is a slip, and within which a slip explains it."""
_NEAR_DEG = 5.0
"""A slip leads at least so near to the key's, and three times as near as what was written; common practice, no source."""
_NOT_LED_TO = frozenset({"unit-misfit", "contact-missing", "contact-of-others", "two-units"})
"""Warnings that a unit is not what the walk leads to."""
_BEDS_ALIKE = 2
"""Beds with one slip that are no way of reading them; common practice, no source."""
_UNITS_SHARE = 0.2
"""Units of a log that may be slips of the pen; with more it sees the ground in another way; common practice, no source."""

_SURE_SHARE = 0.2
"""Contacts of a log that may be called seen by a slip; with more the party looks at them in its own way; common practice, no source."""


def bed_slips(
    pairs: Sequence[AttitudePair], now: Mapping[int, PlaneAttitude], sources: Mapping[str, Source]
) -> Iterator[tuple[Mend, Cause]]:
    """Beds that one slip of the pen makes the key's. `now` are the planes with the heading mended, by their order.

    None that many beds of the log would share: it reads them in another way.
    """
    found = list(_bed_slips(pairs, now, sources))
    alike = Counter(words for words, _ in found)
    most = max(_BEDS_ALIKE, int(_UNITS_SHARE * len(pairs)))
    yield from (named for words, named in found if alike[words] <= most)


def _bed_slips(
    pairs: Sequence[AttitudePair], now: Mapping[int, PlaneAttitude], sources: Mapping[str, Source]
) -> Iterator[tuple[str, tuple[Mend, Cause]]]:
    """Each with its slip in words."""
    for pair in pairs:
        bed = None if pair.log is None else now.get(pair.log.order)
        if (pair.pole_deg or 0.0) <= _OFF_DEG:
            continue  # right as it stands, whatever the heading says
        if bed is None or pair.key.queried or pair.key.flat or bed.span.file not in sources:
            continue
        there = pole(pair.key.dip_deg, dip_direction_deg=pair.key.dip_direction_deg)
        off = settled(pole_angle(pole(bed.dip_deg, dip_direction_deg=bed.dip_direction_deg), there), 6)
        spread = math.hypot(bed.sd_deg, pair.key.sd_deg)
        if off <= max(_OFF_DEG, _SURE * spread):
            continue
        near = min(off / 3.0, max(_NEAR_DEG, 2.0 * spread))
        fitting = fitting_slips(bed, there, within_deg=near)
        line = sources[bed.span.file].line(bed.span.line)
        if not fitting or line.count(bed.written) != 1:
            continue
        slip, *rest_of = fitting
        at = pair.station if pair.key.place.address.station is not None else f"the leg from {pair.station}"
        about = f"{bed.kind.value} at {at}"
        rest = settled(pole_angle(slip.pole, there), 6)
        mend = Mend(
            span=bed.span,
            cause=f"{about}: {slip.words}",
            about=about,
            reading=f"{bed.kind.value} {slip.reading}",
            lines={(bed.span.file, bed.span.line): line.replace(bed.written, slip.reading)},
        )
        on = f"it lies {off:.0f}° off the key's, and within {max(1.0, rest):.0f}° with {slip.reading}"
        others = (*_other_ways(slip, rest_of), "another plane than the bedding")
        yield slip.words, _named(mend, on, *others, way=_way(bed, slip))


def _other_ways(slip: WrittenSlip, others: Sequence[WrittenSlip]) -> Iterator[str]:
    """Other slips that would do as well, the likeliest two, with what the line would say where that is something else."""
    for other in others[:2]:
        yield other.words if other.reading == slip.reading else f"{other.words} ({other.reading})"


def _way(bed: PlaneAttitude, slip: WrittenSlip) -> str:
    """Which way a bed is off, without by how much."""
    if bed.dip_deg != slip.dip_deg:
        return "too flat" if bed.dip_deg < slip.dip_deg else "too steep"
    turn = settled(wrap_180(slip.dip_direction_deg - bed.dip_direction_deg), 6)
    return (
        "which way it dips"
        if abs(turn) == 180.0
        else f"its strike too far to the {'left' if turn > 0.0 else 'right'}"
    )


def unit_slips(
    standing: Paired, log: Log, asked: Sequence[Diagnostic], sources: Mapping[str, Source]
) -> Iterator[tuple[Mend, Cause]]:
    """Units at single stations that are others of the key's, and that the log's own walk does not lead to; none where it has many.

    A station beside a contact may lie on either side of it: there the contacts of the log bear its unit out.
    """
    wrong = [
        one for one in standing.units if not one.right and one.log is not None and one.written is not None
    ]
    if not wrong or len(wrong) > max(1, int(_UNITS_SHARE * len(standing.units))):
        return
    own = {of: letters for letters, of in standing.letters.items()}
    right = sum(one.right for one in standing.units)
    for one in wrong:
        letters = own.get(one.key)
        here = next(
            (
                item
                for item in log.items
                if isinstance(item, UnitHere)
                and (item.address.station, item.letters) == (one.station, one.written)
            ),
            None,
        )
        if letters is None or here is None or one.written is None or here.span.file not in sources:
            continue
        doubted = (span for said in asked if said.code in _NOT_LED_TO for span in (said.span, *said.doubts))
        if not any(
            span is not None and (span.file, span.line) == (here.span.file, here.span.line)
            for span in doubted
        ):
            continue
        on = f"the key has {letters} there, and its units at {right} of {len(standing.units)} stations are the log's"
        yield from _another_unit(here, f"unit at {one.station}", letters, on, sources)


def contact_unit_slips(standing: Paired, compiled: Compiled, load: Loader) -> Iterator[tuple[Mend, Cause]]:
    """Contacts with one unit for another, where the key has a contact of the right two and the log's own walk bears it out.

    None where the log has many: it sees the ground in another way.
    """
    wrong = [one for one in standing.contacts if one.instead is not None and not one.key.queried]
    if not wrong or len(wrong) > max(1, int(_UNITS_SHARE * len(standing.contacts))):
        return
    own = {of: letters for letters, of in standing.letters.items()}
    asked = _asked(compiled)
    for one in wrong:
        contact, theirs = one.booked, [own.get(str(name)) for name in (one.key.younger, one.key.older)]
        named = contact.named
        if named is None or None in theirs or contact.span.file not in compiled.sources:
            continue
        line, at = compiled.sources[contact.span.file].line(contact.span.line), contact.span.column - 1
        right = "/".join(str(name) for name in theirs)
        mended_line, count = re.subn(r"([^\s/?]+)/([^\s/?]+)", right, line[at:], count=1)
        called = f"{contact.kind.value} {'/'.join(named)}"
        mend = Mend(
            span=contact.span,
            cause=f"{called}: another unit",
            about=called,
            reading=" ".join(mended_line.split("#")[0].split()),
            lines={(contact.span.file, contact.span.line): line[:at] + mended_line},
        )
        sources = mended(compiled.sources, [mend])
        again = compile_log(sources[compiled.log.file], load=loading(sources, load))
        if not count or again.failed or _asked(again) > asked:
            continue
        bears = ", and its own walk then fits" if _asked(again) < asked else ""
        # What its own walk bears out is no other contact.
        other = () if bears else ("another contact near it",)
        yield _named(mend, f"the key has {right} there{bears}", *other)


def _asked(compiled: Compiled) -> int:
    """How many questions a log raises."""
    return sum(one.kind == "warning" for one in compiled.diagnostics)


def leg_unit_slips(
    standing: Paired,
    trav: Traverse,
    key: Traverse,
    names: Mapping[str, str],
    sources: Mapping[str, Source],
) -> Iterator[tuple[Mend, Cause]]:
    """Units on a leg that are others of the key's, where the log's own contacts before and after have the key's."""
    own = {of: letters for letters, of in standing.letters.items()}
    theirs = [(item, key.survey.at(item.address)) for item in key.log.items if isinstance(item, UnitHere)]
    crossed = crossed_on_legs(trav.log, trav.survey)
    for here in trav.log.items:
        if (
            not isinstance(here, UnitHere)
            or here.address.station is not None
            or here.span.file not in sources
        ):
            continue
        place = trav.survey.at(here.address)
        there = [
            own.get(item.letters)
            for item, other in theirs
            if not item.queried
            and place is not None
            and other is not None
            and one_outcrop(place, other, names)
        ]
        letters = there[0] if len(there) == 1 else None
        beside = [] if place is None else [one for one in contacts_beside(place, crossed) if one is not None]
        if letters is None or letters == here.letters or not beside:
            continue
        pairs = [{one.younger, one.older} for one in beside]
        if all(letters in pair for pair in pairs) and not all(here.letters in pair for pair in pairs):
            said = " and ".join(f"{one.kind.value} {'/'.join(one.named or ())}" for one in beside)
            on = f"the key has {letters} there, as {said} beside it"
            yield from _another_unit(here, f"unit {here.address.where}", letters, on, sources)


def _another_unit(
    here: UnitHere, about: str, letters: str, on: str, sources: Mapping[str, Source]
) -> Iterator[tuple[Mend, Cause]]:
    line = sources[here.span.file].line(here.span.line)
    changed, count = re.subn(rf"(?<!\S){re.escape(here.letters)}(?!\S)", letters, line, count=1)
    if count:
        yield _named(
            Mend(
                span=here.span,
                cause=f"{about}: another unit",
                about=about,
                reading=" ".join(changed.split()),
                lines={(here.span.file, here.span.line): changed},
            ),
            on,
            "contacts left out on both sides of it",
        )


def sure_slips(standing: Paired, sources: Mapping[str, Source]) -> Iterator[tuple[Mend, Cause]]:
    """Contacts said to be seen that the key's party could not see; none where that is how the party works."""
    met = [one for one in standing.contacts if one.log is not None and one.key.certainty is not None]
    sure = [one for one in met if one.too_sure]
    if len(sure) > max(1, int(_SURE_SHARE * len(met))):
        return
    for one in sure:
        span, certainty, theirs = one.booked.span, one.key.certainty, one.key.booked
        if span.file not in sources or certainty is None or one.booked.named is None:
            continue
        words = certainty.value + within_words(theirs.sd_m)
        line, at = sources[span.file].line(span.line), span.column - 1
        changed, count = re.subn(r"\bcertain\b", words, line[at:], count=1)
        if count:
            about = f"{one.booked.kind.value} {'/'.join(one.booked.named)}"
            mend, cause = _named(
                Mend(
                    span=span,
                    cause=f"{about}: said to be seen",
                    about=about,
                    reading=" ".join(changed.split("#")[0].split()),
                    lines={(span.file, span.line): line[:at] + changed},
                ),
                f"the key has it {words} there",
                "rock that the key's party did not see",
            )
            yield mend, replace(cause, may_be_right=True)


def _named(mend: Mend, rests_on: str, *not_excluded: str, way: str | None = None) -> tuple[Mend, Cause]:
    return mend, cause_of(mend, rests_on, *not_excluded, way=way)
