"""One cause found once: which mistake, undone, brings a log to the key.

Every mistake that a heading can have is undone in turn, the log read and reduced again, and the differences that are
left are weighed by what two careful parties come to differ by. A cause is named where it takes most of them away, in
many places and hardly anywhere for the worse; others that do as well are named with it. Then legs, one by one.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from traverse.adjustment.misread.slips import Slip, one_length, other_distance, slips_of
from traverse.adjustment.records import Floats
from traverse.angle import wrap_180
from traverse.compare.known_slips import known_slips
from traverse.compare.leg_slips import side_slips, slope_slips
from traverse.compare.mends import (
    NORTH_OF_ATTITUDES,
    Mend,
    all_turned,
    cause_of,
    contact_mend,
    heading_mends,
    is_declination,
    mended,
    put,
    way_off,
)
from traverse.compare.pairing import in_key_grid
from traverse.compare.records import Cause, LegApart, Paired, WayApart
from traverse.compare.rock_slips import bed_slips, contact_unit_slips, leg_unit_slips, sure_slips, unit_slips
from traverse.compare.ways_apart import ways_apart
from traverse.compile import Compiled
from traverse.diagnostic import has_error
from traverse.ground.records import Traverse
from traverse.location.records import Place, PlacedAddress, PlacedLeg, PlaceKind, Survey
from traverse.log.readings import North
from traverse.log.records import Log
from traverse.notation.read import read_log
from traverse.notation.use import Loader, loading
from traverse.record import record
from traverse.settled import settled
from traverse.source import Source
from traverse.structure.readings.directions import pole
from traverse.structure.readings.placed import attitudes
from traverse.structure.readings.records import Attitude, PlaneAttitude
from traverse.survey import survey_log
from traverse.trade import (
    CAUSE_BETTER,
    CAUSE_FEWEST,
    CAUSE_LEAST,
    CAUSE_LEG_M,
    CAUSE_LEG_SHARE,
    CAUSE_MOST,
    CAUSE_PLACE_M,
    CAUSE_PLACE_SHARE,
    CAUSE_SHARE,
    COMPASSES_APART_DEG,
    LARGE_DECLINATION_DEG,
    LEG_APART,
    LEG_APART_M,
    MOST_CAUSES,
    STATED_FREEDOM,
    UNLIKELIER,
)

_LEGS, _STATIONS, _READINGS, _BESIDE, _START = range(5)
_SURE = 3.0
"""Standard errors from which on all bearings are turned; common practice, no source."""
_SD_OF_MAD = 1.4826
"""Standard deviation over the median of absolute deviations, of a normal distribution; any text on robust statistics."""
_SD_OF_MEDIAN = math.sqrt(math.pi / 2.0)
"""Standard error of a median over that of a mean, of many from a normal distribution; the same."""
_COMPASS = "a compass that is off by as much"
_CALLED = {
    _LEGS: "legs",
    _STATIONS: "stations",
    _READINGS: "attitudes",
    _BESIDE: "places beside the legs",
}


@record(frozen=True, slots=True, kw_only=True)
class _Trial:
    """A log as far as causes want it."""

    log: Log
    survey: Survey
    attitudes: tuple[Attitude, ...]


@record(frozen=True, slots=True, kw_only=True)
class _Left:
    """Differences that are left, each weighed; `kind` says of what each is."""

    chi: Floats
    kind: Floats

    @property
    def sum(self) -> float:
        return round(float(self.chi.sum()), 6)


@record(frozen=True, slots=True, kw_only=True)
class Explanations:
    """What explains the differences."""

    causes: tuple[Cause, ...]
    apart: tuple[LegApart, ...]
    ways: tuple[WayApart, ...]
    sources: Mapping[str, Source]
    """The files with all causes mended."""
    unturned: Explanations | None = None
    """The same without a turn of all bearings, where that is a cause: it counts only where marks hang on it."""


def find_causes(compiled: Compiled, key: Traverse, standing: Paired, load: Loader) -> Explanations:
    """Causes in the order in which they were found, the weightiest first."""
    assert compiled.trav is not None
    trav = compiled.trav
    judge = _Judge(trav, key, standing)
    now = _Trial(log=trav.log, survey=trav.survey, attitudes=trav.geology.attitudes)
    left = judge.left(now)
    taken: list[Mend] = []
    causes: list[Cause] = []
    every: tuple[Mend, Cause] | None = None
    open_mends = list(heading_mends(trav.log, key, compiled.sources))
    while len(taken) < MOST_CAUSES and left.sum - len(left.chi) >= CAUSE_LEAST:
        free = [one for one in open_mends if not any(set(one.lines) & set(mend.lines) for mend in taken)]
        tried = [(one, _tried([*taken, one], compiled, load, judge, now)) for one in free]
        good = [(one, *done) for one, done in tried if done is not None and _explains(left, done[1])]
        best = min((after.sum for _, _, after in good), default=math.inf)
        turned = _turned_alike(compiled, judge, now, taken)
        every_way = [
            (one, *done)
            for one in turned.mends
            if (done := _tried([*taken, one], compiled, load, judge, now)) is not None
            and _explains(left, done[1])
            and _most_nearer(left, done[1])
        ]
        least = min((after.sum for _, _, after in every_way), default=math.inf)
        # Its angle is free: what people do to a heading is told first where that leaves hardly more.
        if every_way and least + CAUSE_LEAST <= best:
            good, best = [next(one for one in every_way if one[2].sum <= least + 1e-3)], least
        if not good:
            break
        mend, now, after = next(one for one in good if one[2].sum <= best + 1e-3)
        others = [
            one.cause for one, _, rest in good if one is not mend and rest.sum <= after.sum + UNLIKELIER
        ]
        cause = _cause(mend, left, after, others)
        if mend in turned.mends:
            cause = replace(
                cause,
                rests_on=f"{mend.reading}, {cause.rests_on}",
                not_excluded=("magnetic bearings under `bearings true`",) if turned.called_true else (),
            )
            # By less two sound compasses may differ: it counts where marks hang on it.
            every = (mend, cause) if not turned.sure else every
        causes.append(cause)
        taken.append(mend)
        left = after
    strikes = _strikes_turned(open_mends, taken, compiled, load, judge, now)
    if strikes is not None:
        mend, cause, now = strikes
        causes.append(cause)
        taken.append(mend)
    apart: list[LegApart] = []
    used: set[int] = set()
    for _ in range(0 if not taken and _turned_whole(standing) else MOST_CAUSES):
        found = _first_leg(judge, now, used)
        if found is None:
            break
        index, leg, off_m, fitting = found
        used.add(index)
        booked = leg.booked
        slip = _leg_mend(fitting[0], leg, compiled) if fitting else None
        done = None if slip is None else _tried([*taken, slip], compiled, load, judge, now)
        if slip is None or done is None:
            apart.append(LegApart(start=booked.start, end=booked.end, off_m=off_m, span=booked.span))
            continue
        causes.append(
            Cause(
                span=booked.span,
                cause=f"leg {booked.start}–{booked.end}: {slip.cause}",
                about=slip.about,
                reading=slip.reading,
                rests_on=_leg_words(fitting[0], trav.log.lengths.said(off_m)),
                not_excluded=_other_ways(fitting),
                way=fitting[0].way,
            )
        )
        taken.append(slip)
        now = done[0]
    planes = {one.order: one for one in now.attitudes if isinstance(one, PlaneAttitude)}
    for slip, cause in (
        *known_slips(trav.log, now.survey, key, judge.names, compiled.sources),
        *_turned_contacts(standing, compiled.sources),
        *bed_slips(standing.attitudes, planes, compiled.sources),
        *unit_slips(standing, trav.log, compiled.diagnostics, compiled.sources),
        *contact_unit_slips(standing, compiled, load),
        *leg_unit_slips(standing, trav, key, judge.names, compiled.sources),
        *sure_slips(standing, compiled.sources),
        *slope_slips(now.survey.legs, key.survey.legs, judge.names, compiled.sources),
        *side_slips(judge.beside_now(now), compiled.sources),
    ):
        if not any(set(slip.lines) & set(one.lines) for one in taken):
            taken.append(slip)
            causes.append(cause)
    found_all = Explanations(
        causes=tuple(causes),
        apart=tuple(apart),
        ways=ways_apart(now.log, now.survey, key, standing, apart),
        sources=mended(compiled.sources, taken),
    )
    if every is None:
        return found_all
    rest = [one for one in taken if one is not every[0]]
    return replace(
        found_all,
        unturned=replace(
            found_all,
            causes=tuple(one for one in causes if one is not every[1]),
            sources=mended(compiled.sources, rest),
        ),
    )


def _other_ways(fitting: Sequence[Slip]) -> tuple[str, ...]:
    """What else would make a leg the key's, of the slips that do the first two."""
    first, *others = fitting
    if others:
        return tuple(f"{other.slip} ({other.reading})" for other in others[:2])
    if first.is_vague:
        return ()
    return (f"the {'bearing' if first.is_bearing else 'distance'} misread in another way",)


def _strikes_turned(
    mends: Sequence[Mend], taken: Sequence[Mend], compiled: Compiled, load: Loader, judge: _Judge, now: _Trial
) -> tuple[Mend, Cause, _Trial] | None:
    """The declination in the strikes once too often or not at all, where all planes together tell it and none alone does."""
    before = judge.strikes_turned(now)
    if before is None or abs(before[0]) <= _SURE * before[1]:
        return None
    turn, sd = before
    for mend in mends:
        if mend.about != NORTH_OF_ATTITUDES or any(set(mend.lines) & set(one.lines) for one in taken):
            continue
        done = _tried([*taken, mend], compiled, load, judge, now)
        after = None if done is None else judge.strikes_turned(done[0])
        if done is not None and after is not None and abs(after[0]) < min(sd, abs(turn) / _SURE):
            on = f"the planes together are turned by {turn:+.0f}° from the key's, and by {after[0]:+.0f}° with it mended"
            return mend, cause_of(mend, on, "another compass for them", way=way_off(mend)), done[0]
    return None


def _turned_contacts(standing: Paired, sources: Mapping[str, Source]) -> Iterator[tuple[Mend, Cause]]:
    """Contacts that name as the younger what the key and their own list of units have as the older."""
    for pair in (*standing.contacts, *standing.between):
        mend = contact_mend(pair.booked, sources) if pair.turned else None
        if mend is not None and pair.booked.named is not None:
            first, second = pair.booked.named
            on = f"its own list of units and the key have {second} as the younger of {first} and {second}"
            yield mend, cause_of(mend, on, "a fault there")


def _turned_whole(standing: Paired) -> bool:
    """Whether the walk fits on the key, turned farther than a declination does: then no leg of it is to blame."""
    turned = standing.fit is not None and abs(standing.fit.rotation_deg) > LARGE_DECLINATION_DEG
    return turned and all((one.shape_m or 0.0) <= LEG_APART_M for one in standing.pairs)


def _leg_words(slip: Slip, off: str) -> str:
    """What one leg rests on."""
    if slip.is_vague:
        return f"the leg is {off} off the key's along its own way; {slip.reading} comes to it, {slip.written} was read"
    return f"the leg is {off} off the key's, and comes to it with {slip.reading}"


def _tried(
    mends: Sequence[Mend], compiled: Compiled, load: Loader, judge: _Judge, before: _Trial
) -> tuple[_Trial, _Left] | None:
    """The log with these mended, and what is then left; None where it can't be read so, or a loop no longer closes.

    What is wrong in a reading leaves its loops open: a mend that opens one is none.
    """
    sources = mended(compiled.sources, mends)
    reading = read_log(sources[compiled.log.file], load=loading(sources, load))
    if has_error(reading.diagnostics):
        return None
    log = reading.value.log
    survey = survey_log(log, explain=False)
    if has_error(survey.diagnostics) or len(log.items) != len(judge.log.items):
        return None
    # A loop and a tie may close by one leg.
    closed = {(one.span, one.stations) for one in before.survey.closures if one.adjusted}
    if any((one.span, one.stations) in closed and not one.adjusted for one in survey.value.closures):
        return None
    trial = _Trial(log=log, survey=survey.value, attitudes=attitudes(log, survey.value, lambda _: None).value)
    return trial, judge.left(trial)


def _explains(before: _Left, after: _Left) -> bool:
    """Whether a mistake is named: it takes much away, in many places, and hardly anywhere adds any."""
    less = before.sum - after.sum
    if less < max(CAUSE_LEAST, CAUSE_SHARE * (before.sum - len(before.chi))):
        return False
    if len(before.chi) != len(after.chi):
        return True
    change = before.chi - after.chi
    better, worse = int((change > 1.0).sum()), int((change < -1.0).sum())
    return better >= CAUSE_FEWEST and better >= CAUSE_BETTER * worse


def _most_nearer(before: _Left, after: _Left) -> bool:
    """Whether most legs come nearer to the key."""
    if len(before.chi) != len(after.chi):
        return False
    nearer = np.round(before.chi - after.chi, 6)[before.kind == _LEGS] > 0.0
    return 2 * int(nearer.sum()) > len(nearer)


def _cause(mend: Mend, before: _Left, after: _Left, others: Sequence[str]) -> Cause:
    rests = []
    if len(before.chi) == len(after.chi):
        for kind, words in _CALLED.items():
            of = before.kind == kind
            nearer = int(((before.chi - after.chi > 1.0) & of).sum())
            if nearer:
                rests.append(f"{nearer} of {int(of.sum())} {words}")
    on = (
        f"{' and '.join(rests)} come nearer to the key with it mended"
        if rests
        else "the log comes to the key with it mended"
    )
    other = dict.fromkeys(one for one in others if one != mend.cause)
    if is_declination(mend) and not other:
        other[_COMPASS] = None
    return cause_of(mend, on, *other, way=way_off(mend))


class _Judge:
    """Weighs what is left between a log and the key; what is paired is settled once, on the log as it stands."""

    def __init__(self, trav: Traverse, key: Traverse, standing: Paired) -> None:
        self.log, self.key = trav.log, key
        self.framed = standing.framed
        self.names = {one.station: one.key for one in standing.pairs}
        self.loose = standing.near_by
        self.walked = {one.station: one.walked_m for one in standing.pairs}
        self.planes = [
            (one.log.order, one.key)
            for one in standing.attitudes
            if one.log is not None and not one.key.queried
        ]
        self.beside = list(_beside_pairs(trav, key, self.names))
        self.legs: dict[tuple[str | None, str | None], Floats] = {}
        for leg in key.survey.legs:
            vector = np.array((leg.raw.east_m, leg.raw.north_m))
            self.legs.setdefault((leg.booked.end, leg.booked.start), -vector)
            self.legs[leg.booked.start, leg.booked.end] = vector

    def left(self, trial: _Trial) -> _Left:
        """Chi-square of each difference, none over `CAUSE_MOST`."""
        places = in_key_grid(trial.survey, self.key.survey)
        framed = places is not None
        if places is None:
            places = {name: (one.east_m, one.north_m) for name, one in trial.survey.places.items()}
        chi: list[float] = []
        kind: list[int] = []
        for part, of in (
            (self._legs(trial.survey), _LEGS),
            (self._start(trial.survey, places) if framed else [], _START),
        ):
            chi += part
            kind += [of] * len(part)
        if kind.count(_LEGS) < CAUSE_FEWEST:
            stations = self._stations(places)
            chi += stations
            kind += [_STATIONS] * len(stations)
        ours = {one.order: one for one in trial.attitudes if isinstance(one, PlaneAttitude)}
        if self.planes:
            pairs = [(ours[order], plane) for order, plane in self.planes if order in ours]
            first, second = (_poles([pair[side] for pair in pairs]) for side in (0, 1))
            angle = np.degrees(np.arccos(np.clip(np.abs((first * second).sum(axis=1)), 0.0, 1.0)))
            spread = np.array([math.hypot(one.sd_deg, other.sd_deg) for one, other in pairs])
            chi += list(np.minimum((angle / np.maximum(spread, 1.0)) ** 2, CAUSE_MOST))
            kind += [_READINGS] * len(pairs)
        for here, there in self.beside_now(trial):
            if here.right_m and there.right_m:
                off = abs(here.right_m - there.right_m) / (CAUSE_PLACE_M + 0.1 * abs(there.right_m))
                chi.append(min(off * off, CAUSE_MOST))
                kind.append(_BESIDE)
        return _Left(chi=np.array(chi), kind=np.array(kind))

    def beside_now(self, trial: _Trial) -> list[tuple[PlacedAddress, PlacedAddress]]:
        """Places beside the legs, each with the key's."""
        addresses = trial.survey.addresses
        found = [(addresses[index], there) for index, there in self.beside if index < len(addresses)]
        return [(here, there) for here, there in found if here is not None]

    def strikes_turned(self, trial: _Trial) -> tuple[float, float] | None:
        """By how much the strikes of a log are turned from the key's, degrees clockwise, with its error; None of too few.

        The error is that of the weighted mean, what is stated drawn toward what they scatter, and of two compasses.
        """
        ours = {one.order: one for one in trial.attitudes if isinstance(one, PlaneAttitude)}
        pairs = [
            (ours[order], plane)
            for order, plane in self.planes
            if order in ours and not ours[order].flat and not plane.flat
        ]
        off = np.array([wrap_180(one.dip_direction_deg - other.dip_direction_deg) for one, other in pairs])
        lean = np.array([math.sin(math.radians(max(one.dip_deg, 1.0))) for one, _ in pairs])
        sd = np.array([math.hypot(one.sd_deg, other.sd_deg) for one, other in pairs]) / lean
        kept = np.abs(off) <= LARGE_DECLINATION_DEG + _SURE * sd
        if int(kept.sum()) < CAUSE_FEWEST:
            return None
        off, weight = off[kept], sd[kept] ** -2.0
        mean = float(off @ weight / weight.sum())
        scatter = (STATED_FREEDOM + float(((off - mean) ** 2) @ weight)) / (STATED_FREEDOM + len(off) - 1)
        return settled(mean, 6), settled(
            math.hypot(math.sqrt(scatter / weight.sum()), COMPASSES_APART_DEG), 6
        )

    def _legs(self, survey: Survey) -> list[float]:
        """Of legs that the key's stations have too: a wrong leg is one difference, however many stations it moves."""
        turn, found = _turn_to_key(survey, self.key.survey), []
        for leg in survey.legs:
            apart = self.leg_apart(leg, turn)
            if apart is not None:
                ours, theirs, sd = apart
                found.append(min((float(np.hypot(*(ours - theirs))) / sd) ** 2, CAUSE_MOST))
        return found

    def leg_apart(self, leg: PlacedLeg, turn_deg: float) -> tuple[Floats, Floats, float] | None:
        """A leg in the key's grid by the log and by the key, and what two careful parties come to differ by."""
        booked = leg.booked.start, leg.booked.end
        ends = self.names.get(booked[0]), self.names.get(booked[1])
        if None in ends:
            return None
        start, end = (self.key.survey.places[str(one)] for one in ends)
        theirs = np.array((end.east_m - start.east_m, end.north_m - start.north_m))
        # Where the key walked the leg too, its own leg: places do not tell it where a loop of the key's was left open.
        if ends in self.legs:
            theirs = self.legs[ends]
        ours = _turned(np.array((leg.raw.east_m, leg.raw.north_m)), turn_deg)
        long = float(np.hypot(*theirs))
        sd = math.hypot(CAUSE_LEG_SHARE * long, math.radians(leg.bearing_sd_deg) * long)
        # A stop that is the key's by its place alone may be another one, as far off as two parties differ there.
        at_ends = 2.0 * CAUSE_PLACE_M * math.sqrt(sum(one in self.loose for one in booked))
        return ours, theirs, math.hypot(max(math.sqrt(2.0) * sd, CAUSE_LEG_M), at_ends)

    def _start(self, survey: Survey, places: Mapping[str, tuple[float, float]]) -> list[float]:
        """Of where the walk hangs: its known points, else all of it. It moves everything alike, and is weighed once."""
        names = [name for name in self.names if name in places]
        known = [name for name in names if survey.places[name].kind is PlaceKind.CONTROL] or names
        apart = [_apart(places[name], self.key.survey.places[self.names[name]]) for name in known]
        sd = math.hypot(CAUSE_PLACE_M, survey.control_sd_m or 0.0, self.key.survey.control_sd_m or 0.0)
        return [min((float(np.hypot(*np.median(apart, axis=0))) / sd) ** 2, CAUSE_MOST)] * CAUSE_FEWEST

    def _stations(self, places: Mapping[str, tuple[float, float]]) -> list[float]:
        """Of stations, the shift that they have in common apart."""
        names = [name for name in self.names if name in places]
        theirs = [self.key.survey.places[self.names[name]] for name in names]
        if not names:
            return []
        apart = np.array([_apart(places[name], one) for name, one in zip(names, theirs, strict=True)])
        apart -= np.median(apart, axis=0)
        return [
            min(
                (float(np.hypot(*off)) / (CAUSE_PLACE_M + CAUSE_PLACE_SHARE * self.walked[name])) ** 2,
                CAUSE_MOST,
            )
            for name, off in zip(names, apart, strict=True)
        ]


def _apart(place: tuple[float, float], key: Place) -> tuple[float, float]:
    return place[0] - key.east_m, place[1] - key.north_m


def _poles(planes: Sequence[PlaneAttitude]) -> Floats:
    return np.asarray(
        pole([one.dip_deg for one in planes], dip_direction_deg=[one.dip_direction_deg for one in planes])
    )


def _beside_pairs(
    trav: Traverse, key: Traverse, names: Mapping[str, str]
) -> Iterator[tuple[int, PlacedAddress]]:
    """Places beside a leg that the key has beside the same leg, nearest along it."""
    theirs = [
        one for one in key.survey.addresses if one is not None and one.right_m and one.start_share is not None
    ]
    for index, here in enumerate(trav.survey.addresses):
        if here is None or not here.right_m or here.start_share is None or here.address.leg is None:
            continue
        ends = names.get(here.address.leg.start), names.get(here.address.leg.end)
        near = [
            (round(abs((one.start_share or 0.0) - here.start_share), 6), order)
            for order, one in enumerate(theirs)
            if one.address.leg is not None and (one.address.leg.start, one.address.leg.end) == ends
        ]
        if near and min(near)[0] < 0.15:
            yield index, theirs[min(near)[1]]


def _first_leg(
    judge: _Judge, trial: _Trial, used: set[int]
) -> tuple[int, PlacedLeg, float, list[Slip]] | None:
    """The first leg that is not the key's, how far off, and the slips that would make it so, the nearest first."""
    declination = trial.survey.frame.declination_deg or 0.0
    turn = _turn_to_key(trial.survey, judge.key.survey)
    for index, leg in enumerate(trial.survey.legs):
        apart = judge.leg_apart(leg, turn)
        if index in used or apart is None:
            continue
        ours, theirs, sd = apart
        off = round(float(np.hypot(*(ours - theirs))), 6)
        most = max(LEG_APART * sd, LEG_APART_M)
        if off <= most:
            continue
        fitting = []
        for order, slip in enumerate(slips_of(index, leg.booked, declination)):
            if slip.is_vague or slip.stretch == 0.0 or not (slip.turn_deg or slip.stretch != 1.0):
                continue
            rest = round(float(np.hypot(*(_turned(ours, slip.turn_deg) * slip.stretch - theirs))), 6)
            if rest <= most and rest < off / 2.0:
                fitting.append((round((rest / sd) ** 2 + slip.rank, 6), order, slip))
        found = [slip for _, _, slip in sorted(fitting, key=lambda one: one[:2])]
        along = _along(index, leg, ours, theirs, most)
        if along is not None and not any(one_length(slip, along) for slip in found):
            # Of what only the key names there is always one that fits: it stands after the usual slips.
            found.append(along)
        return index, leg, off, found
    return None


def _along(index: int, leg: PlacedLeg, ours: Floats, theirs: Floats, most_m: float) -> Slip | None:
    """The distance with which a leg is the key's, where it goes the same way; None where it does not.

    Source: the leg whose distance is wrong runs along the line that is missing, any survey text.
    """
    stretch = round(float(ours @ theirs) / max(float(ours @ ours), 1e-9), 6)
    if stretch <= 0.0 or round(float(np.hypot(*(ours * stretch - theirs))), 6) > most_m:
        return None
    return other_distance(index, leg.booked, stretch)


@record(frozen=True, slots=True, kw_only=True)
class _Turned:
    """All bearings turned alike."""

    mends: tuple[Mend, ...] = ()
    """The same undone in several ways; none where the turn is within chance."""
    sure: bool = False
    """Whether two sound compasses do not differ by so much."""
    called_true: bool = False


def _turned_alike(compiled: Compiled, judge: _Judge, trial: _Trial, taken: Sequence[Mend]) -> _Turned:
    """All bearings turned to the key's by what most legs are turned by.

    The standard error is that of a median of legs that scatter as these do, the angles and lengths of one and the other.
    """
    turn = _turn_to_key(trial.survey, judge.key.survey)
    off = []
    for leg in trial.survey.legs:
        apart = judge.leg_apart(leg, turn)
        if apart is not None and np.hypot(*apart[0]) > 0.0 and np.hypot(*apart[1]) > 0.0:
            (east, north), (to_east, to_north) = apart[0].tolist(), apart[1].tolist()
            off.append(wrap_180(math.degrees(math.atan2(to_east, to_north) - math.atan2(east, north))))
    if len(off) < CAUSE_FEWEST:
        return _Turned()
    middle = float(np.median(off))
    spread = _SD_OF_MAD * float(np.median(np.abs(np.array(off) - middle)))
    sd = _SD_OF_MEDIAN * spread / math.sqrt(len(off))
    degrees = round(settled(middle, 6))
    if settled(abs(middle), 6) <= _SURE * settled(sd, 6) or not 0 < abs(degrees) <= LARGE_DECLINATION_DEG:
        return _Turned()
    mends = all_turned(compiled.log, compiled.sources, degrees)
    return _Turned(
        mends=tuple(one for one in mends if not any(set(one.lines) & set(mend.lines) for mend in taken)),
        sure=settled(abs(middle), 6) > _SURE * settled(math.hypot(sd, COMPASSES_APART_DEG), 6),
        called_true=all(leg.conditions.bearings is North.TRUE for leg in compiled.log.legs),
    )


def _turn_to_key(log: Survey, key: Survey) -> float:
    """Degrees clockwise from the log's grid to the key's."""
    return log.frame.to_true_deg - key.frame.to_true_deg


def _turned(vector: Floats, clockwise_deg: float) -> Floats:
    """East and north turned clockwise."""
    angle = math.radians(clockwise_deg)
    east, north = float(vector[0]), float(vector[1])
    return np.array((
        east * math.cos(angle) + north * math.sin(angle),
        north * math.cos(angle) - east * math.sin(angle),
    ))  # fmt: skip


def _leg_mend(slip: Slip, leg: PlacedLeg, compiled: Compiled) -> Mend | None:
    booked = leg.booked
    of = booked.bearing if slip.is_bearing else booked.distance
    if of.span.file not in compiled.sources:
        return None
    lines = put(compiled.sources, [(of.span, slip.figure)])
    about = f"the {'bearing' if slip.is_bearing else 'distance'} of leg {booked.start}–{booked.end}"
    return Mend(span=booked.span, cause=slip.slip, about=about, reading=slip.reading, lines=lines)
