"""A log held against the key, from pairs to marks."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from traverse.compare.explained_by import Explanations, find_causes
from traverse.compare.marking import marks
from traverse.compare.mends import KNOWN_POINT
from traverse.compare.one_unit import brought_in, lettered_also, party_by_also
from traverse.compare.pairing import stand
from traverse.compare.records import Cause, Comparison, Paired, PairedBy, PartMarks, Scheme, Similar
from traverse.compile import Compiled, compile_log
from traverse.diagnostic import Diagnostic
from traverse.ground.records import Traverse
from traverse.length import Lengths
from traverse.location.records import PlaceKind
from traverse.log.records import Log, PartyLog
from traverse.notation.use import Loader, loading
from traverse.settled import settled
from traverse.trade import COMPASSES_APART_DEG, LARGE_DECLINATION_DEG, LEG_APART_M
from traverse.wording import listed

_TOLD = 3
"""Pairs that a note names."""
_SHIFTED_LEAST = 3
"""Stations from which on a shift is told."""
_SURE = 3.0
"""Standard errors from which on a walk lies elsewhere, or turned; common practice, no source."""
_LIKELY = 2.0
"""Standard errors within which a cause would turn it by as much; the same."""


class NoSharedStationError(ValueError):
    """A log and a key that have no station in common, in words for the leader: why, and what to type."""

    def __init__(self, log: Log, key: Traverse, misnamed: Sequence[str] = ()) -> None:
        why = not_the_keys(misnamed) if misnamed else "no station in common with the key, by name or by place"
        super().__init__(f"{why}; {_to_type(log, key)}")


def against_key(
    name: str,
    compiled: Compiled,
    key: Traverse,
    scheme: Scheme,
    load: Loader,
    *,
    unnamed: bool = False,
    path: str | None = None,
) -> Comparison:
    """A log without errors beside the key. `load` reads the files that the log names.

    `unnamed` calls these by numbers, since a file may be called after who wrote it; `path` is then where the log came from.
    Raises `NoSharedStationError` where nothing can be paired.
    """
    assert compiled.trav is not None
    party = brought_in(path or compiled.log.file, key.log)
    standing = stand(compiled.trav, key, scheme, party)
    if not standing.pairs:
        raise NoSharedStationError(compiled.log, key, standing.misnamed)
    found = find_causes(compiled, key, standing, load)
    scored = marks(standing, compiled.trav, key, compiled.diagnostics, scheme)

    def with_mended(one: Explanations) -> tuple[Paired, tuple[PartMarks, ...]]:
        if not one.causes:
            return standing, scored
        again = compile_log(one.sources[compiled.log.file], load=loading(one.sources, load))
        if again.trav is None:
            return standing, scored
        there = stand(again.trav, key, scheme, party)
        said = _asked_before(again.diagnostics, compiled.diagnostics)
        return there, marks(there, again.trav, key, said, scheme)

    mended, scored_mended = with_mended(found)
    if found.unturned is not None:
        less, scored_less = with_mended(found.unturned)
        if _sum(scored_mended) <= _sum(scored_less):
            found, mended, scored_mended = found.unturned, less, scored_less
    notes = _notes(standing)
    return Comparison(
        log=name,
        standing=standing,
        mended=mended,
        causes=found.causes,
        apart=found.apart,
        ways=found.ways,
        marks=scored,
        marks_mended=scored_mended,
        lengths=compiled.log.lengths,
        notes=notes,
        for_leader=(
            *_of_the_key(party),
            *_of_units(standing, compiled.log, key.log),
            *_for_leader(standing, compiled.log.lengths, found.causes),
            *(
                ()
                if found.causes or found.apart or found.ways
                else _turned(standing.fit, compiled.trav.survey.frame.declination_deg or 0.0)
            ),
        ),
        files=_called(compiled, unnamed=unnamed),
    )


def _sum(scored: Sequence[PartMarks]) -> float:
    return settled(sum(one.scored for one in scored), 6)


def _asked_before(said: Sequence[Diagnostic], before: Sequence[Diagnostic]) -> tuple[Diagnostic, ...]:
    """Without the warnings that only the mend brings: the party could not have answered them."""
    known = {(one.code, one.span.file, one.span.line) for one in before if one.span is not None}
    return tuple(
        one
        for one in said
        if one.kind != "warning" or (one.span and (one.code, one.span.file, one.span.line) in known)
    )


def _notes(standing: Paired) -> tuple[str, ...]:
    """What could not be compared, and how stations were paired where their names do not say."""
    notes = []
    if standing.misnamed:
        notes.append(f"{not_the_keys(standing.misnamed)}: only what places, ties and legs bear out is paired")
    if not standing.framed:
        notes.append(
            "the log and the key have no known point in common, so only the shape of the walk is judged, not where it lies"
        )
    for by_letters, how_not in (
        (False, "not in the key by letters or by name"),
        (True, "not in the key by name, and these letters are another rock there"),
    ):
        of = [one for one in standing.unlisted if (one.other_rock is not None) is by_letters]
        if of:
            units = listed([f"{one.letters} (line {one.span.line})" for one in of])
            unit, are, it = ("unit", "is", "it") if len(of) == 1 else ("units", "are", "them")
            notes.append(f"{unit} {units} {are} {how_not}: what is named by {it} is not judged")
    how = {one.by for one in standing.pairs}
    if PairedBy.SHAPE in how:
        more = "" if standing.framed else "; one `control` in both logs would pair them by place"
        notes.append(
            "its numbers are not the key's, or it went the other way round: stations are paired by the shape of the "
            f"walk{more}"
        )
    elif PairedBy.PLACE in how and PairedBy.NAME not in how and not standing.misnamed:
        notes.append("its numbers are not the key's: stations are paired by where they lie")
    return tuple(notes)


def not_the_keys(misnamed: Sequence[str]) -> str:
    """That names in common are of other places, in words that give nothing of the key away."""
    few = ", ".join(misnamed[:_TOLD]) + (" …" if len(misnamed) > _TOLD else "")
    return f"its names can't be the key's: {len(misnamed)} of them ({few}) are other places there"


def _to_type(log: Log, key: Traverse) -> str:
    """The lines that say which station of a log is which of the key."""
    grid, places = key.survey.frame.epsg, key.survey.places
    own = {name.casefold() for name in log.stations}
    known = [name for name in key.log.stations if name in places and places[name].kind is PlaceKind.CONTROL]
    if grid is None or not known:
        name = next((one for one in key.log.stations if one.casefold() not in own), None)
        if name is None:
            return "type in both logs a `control` of one place, which says which is which"
        return f"where it stood at the key's {name}, say: type `tie STATION to {name}` in it, with its own name of that station"
    east, north = (round(one) for one in (places[known[0]].east_m, places[known[0]].north_m))
    heading = "" if log.heading.epsg is not None else f"`grid EPSG:{grid}` in its heading and "
    return (
        f"where it stood at the key's {known[0]}, say: type {heading}`control STATION {east} E {north} N` before its first "
        "`at`, with its own name of that station"
    )


def _of_the_key(party: PartyLog | None) -> tuple[str, ...]:
    """That a log is one of those that the key is made of."""
    if party is None:
        return ()
    words = (
        f"it is party {party.letters} of the key, which rests on its readings too: its marks only say whether it agrees "
        "with itself and with what the camp doubts"
    )
    return (words,)


def _of_units(standing: Paired, log: Log, key: Log) -> tuple[str, ...]:
    """What units that are not in the key may be, and what to type to say so."""
    found = []
    for one in standing.unlisted:
        rock = "" if one.other_rock is None else f"; the key's own {one.letters} is {one.other_rock}"
        if one.meant is not None:
            found.append(
                f"line {one.span.line}: {one.letters} {one.name} may be the key's {one.meant} ({one.why}){rock}; type "
                f"`; also {one.meant}` at the end of that line to say so"
            )
        else:
            found.append(
                f"line {one.span.line}: if {one.letters} {one.name} is a unit of the key, type `; also` and its letters "
                f"there at the end of that line{rock}"
            )
    if log.heading.group is not None or key.parties:
        return tuple(found)
    party = party_by_also(log, key)
    if party is not None:
        found.append(
            f"it is taken for party {party} of the key's `also {party}-…`, whose letters are all its own"
        )
    elif standing.unlisted and (parties := sorted(lettered_also(key))):
        found.append(
            f"the key's `also` speaks of {'parties' if len(parties) > 1 else 'party'} {listed(parties)}, and nothing says "
            f"which this log is: type `group {parties[0]}` in its heading if it is {parties[0]}"
        )
    return tuple(found)


def _for_leader(standing: Paired, lengths: Lengths, causes: Sequence[Cause]) -> tuple[str, ...]:
    """What rests on figures and numbers of the key."""
    notes = []
    others = [one for one in standing.pairs if one.station != one.key]
    if others and all(one.by in {PairedBy.SHAPE, PairedBy.PLACE} for one in others):
        few = ", ".join(f"{one.station} is the key's {one.key}" for one in others[:_TOLD])
        notes.append(
            f"as paired, {few}" + (f", and {len(others) - _TOLD} more" if len(others) > _TOLD else "")
        )
    turn = None if standing.fit is None else standing.fit.rotation_deg
    if turn is not None and abs(turn) > LARGE_DECLINATION_DEG and not causes:
        notes.append(
            f"the walk fits on the key turned by {turn:+.0f}°, which no declination does: look at which station is which, "
            "and at the compass"
        )
    hung = all(one.about.startswith(KNOWN_POINT) for one in causes)
    if hung and (shift := _shift(standing)) is not None:
        east, north, sd = shift
        notes.append(
            f"the whole walk lies {lengths.said(east, sign=True)} east and {lengths.said(north, sign=True)} north of the "
            f"key's, ± {lengths.said(max(1.0, sd))}, its shape the same: look at where it hangs, its known point or its "
            "first station"
        )
    return tuple(notes)


def _turned(fit: Similar | None, declination_deg: float) -> tuple[str, ...]:
    """That a walk lies turned by more than its stations and two compasses tell by chance, where too little shows why.

    A cause is named only where most of a log bears it out; of a few shared stations this much can be said.
    """
    if fit is None:
        return ()
    sd = math.hypot(fit.rotation_sd_deg, COMPASSES_APART_DEG)
    turn = settled(fit.rotation_deg, 3)
    if abs(turn) <= settled(_SURE * sd, 3) or abs(turn) > LARGE_DECLINATION_DEG:
        return ()
    twice = declination_deg and settled(abs(turn - declination_deg), 3) <= settled(_LIKELY * sd, 3)
    why = f"; the declination applied twice would turn it by {declination_deg:+.1f}°" if twice else ""
    words = (
        f"on {fit.n} stations its walk lies turned by {turn:+.1f}°, ± {sd:.1f}° with what two compasses differ by: look at "
        f"its declination, which north its bearings are from, and the compass{why}; too little bears out any one cause"
    )
    return (words.replace("-", "−"),)


def _shift(standing: Paired) -> tuple[float, float, float] | None:
    """How far a walk of the same shape lies east and north of the key's, with its error, metres; None where by no more.

    The error is the standard error of the mean of what single stations lie off, with that of the key's places.
    """
    off = np.array([(one.east_m, one.north_m) for one in standing.pairs if one.east_m is not None])
    if not standing.framed or len(off) < _SHIFTED_LEAST:
        return None
    left = np.hypot(*(off - off.mean(axis=0)).T)
    east, north = (settled(float(one), 3) for one in off.mean(axis=0))
    own = float(np.sqrt((left**2).sum() / (2 * len(off) - 2) / len(off)))
    sd = math.hypot(own, max(one.key_sd_m for one in standing.pairs))
    far = math.hypot(east, north)
    same = settled(float(left.max()), 3) <= max(LEG_APART_M, far / 3.0)
    return (east, north, settled(sd, 3)) if same and far > max(_SURE * sd, LEG_APART_M) else None


def _called(compiled: Compiled, *, unnamed: bool) -> dict[str, str]:
    """What the files besides the log's own are called: a party by its letters."""
    letters = {one.file: one.letters for one in compiled.log.parties}
    others = [file for file in compiled.sources if file != compiled.log.file]
    return {
        file: f"file {number}" if unnamed else letters.get(file) or file
        for number, file in enumerate(others, start=1)
    }
