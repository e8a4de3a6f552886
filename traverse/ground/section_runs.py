"""Ground along a section by unit: its borders where the constructed contacts come out, and where the map shows it; and what a section rests on."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

import shapely
from shapely import LineString
from shapely import Point as ShapelyPoint

from traverse.ground.records import Band, Evidence, EvidenceRun, SectionCut
from traverse.location.records import PlacedLeg
from traverse.record import record
from traverse.settled import SAME_M, least, settled
from traverse.shapes import areas_in, lines_in
from traverse.structure.readings.records import PlacedContact
from traverse.structure.section.records import ConstructedLine, PointKind, Section, SectionPoint
from traverse.trade import BAND_M, BORDER_SHARE, ONE_CONTACT_M, SURE_SD

_LEAST_STEEP = 0.02
"""Ground that rises less counts as rising so much."""
_ASLANT = 0.15
"""A line that leaves the ground at a smaller angle than one of this sine comes out anywhere within what that makes of its error.
Common practice, no source."""
_UNDER_M = 0.2
"""So far under the ground lies what is coloured on it."""


@record(frozen=True, slots=True, kw_only=True)
class UnitRun:
    """Ground on one unit, from one border to the next."""

    unit: str | None
    start_m: float
    end_m: float


@record(frozen=True, slots=True, kw_only=True)
class _Out:
    """A contact, and where its line comes out of the ground."""

    contact: PlacedContact
    carried_to_m: float
    at_m: float
    good_m: float
    """What its place is off by along the walk; of a level one, along the ground by its height."""
    seen_m: float
    """The same of a border that was seen on both sides."""
    tells: bool = True
    """Whether its error is that of its line; not of one carried to a line that the section itself meets."""


def unit_runs(section: Section) -> tuple[UnitRun, ...]:
    """Runs by distance; a border lies where the contact there comes out, if it comes out near."""
    profile = section.profile
    spacing = section.length_m / max(1, len(profile) - 1)
    reach_m = max(BORDER_SHARE * section.length_m, 1.5 * spacing)
    out = _contacts_out(section)
    changes = [(one, other) for one, other in pairwise(profile) if one.unit != other.unit]
    units = [profile[0].unit, *(after.unit for _, after in changes)]
    middles = [(before.distance_m + after.distance_m) / 2.0 for before, after in changes]
    borders: list[float] = []
    for index, (before, after) in enumerate(changes):
        line = _nearest(out, middles[index], {before.unit, after.unit}, reach_m)
        # One that comes out past the border before or the next is not the border here.
        low_m, high_m = [0.0, *middles][index], [*middles[1:], section.length_m][index]
        between = line is not None and low_m < line.at_m < high_m
        borders.append(line.at_m if line is not None and between else middles[index])
    runs: list[UnitRun] = []
    reached = 0.0
    for unit, (start, end) in zip(units, pairwise([0.0, *borders, section.length_m]), strict=True):
        start_m, end_m = max(reached, start), max(reached, end)
        if end_m - start_m > SAME_M:
            runs.append(UnitRun(unit=unit, start_m=start_m, end_m=end_m))
        reached = end_m
    return tuple(runs)


def seen_runs(section: Section, band: Band) -> tuple[UnitRun, ...]:
    """Stretches of the line over areas of the band whose unit is known, by distance, none over another."""
    found: list[UnitRun] = []
    start_m = 0.0
    for one, other in pairwise(section.line):
        line = LineString([one, other])
        for area in band.areas:
            if area.unit is None:
                continue
            for shared in lines_in(line.intersection(shapely.union_all(list(area.parts)))):
                ends = sorted(settled(start_m + math.dist(one, shared.coords[index])) for index in (0, -1))
                found.append(UnitRun(unit=area.unit, start_m=ends[0], end_m=ends[1]))
        start_m += line.length
    return _one_after_other(found)


def _one_after_other(found: Sequence[UnitRun]) -> tuple[UnitRun, ...]:
    """Runs of one unit that touch joined, and none begun before the one before it ends."""
    kept: list[UnitRun] = []
    for run in sorted(found, key=lambda one: (one.start_m, one.end_m)):
        last = kept[-1] if kept else None
        start_m = run.start_m if last is None else max(run.start_m, last.end_m)
        if run.end_m - start_m <= SAME_M:
            continue
        if last is not None and last.unit == run.unit and start_m - last.end_m <= SAME_M:
            kept[-1] = UnitRun(unit=run.unit, start_m=last.start_m, end_m=run.end_m)
        else:
            kept.append(UnitRun(unit=run.unit, start_m=start_m, end_m=run.end_m))
    return tuple(kept)


def as_seen(runs: Sequence[UnitRun], seen: Sequence[UnitRun]) -> tuple[UnitRun, ...]:
    """The runs with those that the map shows, `seen`, over them: what was seen on the ground stands."""
    found = _without_gaps(sorted([*seen, *_besides(runs, seen)], key=lambda one: one.start_m), seen)
    joined: list[UnitRun] = []
    for run in found:
        if joined and joined[-1].unit == run.unit and run.start_m - joined[-1].end_m <= SAME_M:
            joined[-1] = replace(joined[-1], end_m=run.end_m)
        else:
            joined.append(run)
    return tuple(joined)


def _without_gaps(found: list[UnitRun], seen: Sequence[UnitRun]) -> list[UnitRun]:
    """The runs; a gap between two that were seen, of one unit and both wider than it, is of that unit."""
    was_seen = {id(one) for one in seen}
    filled = list(found)
    for index, (before, gap, after) in enumerate(zip(found, found[1:], found[2:], strict=False), start=1):
        if (
            {id(before), id(after)} <= was_seen
            and id(gap) not in was_seen
            and before.unit == after.unit
            and gap.end_m - gap.start_m < min(one.end_m - one.start_m for one in (before, after))
        ):
            filled[index] = replace(gap, unit=before.unit)
    return filled


def without_slopes(seen: Sequence[UnitRun], section: Section) -> tuple[UnitRun, ...]:
    """What the map shows along a section, without the ground between where it has a contact and where that comes out.

    The map draws contacts straight along their course; on a slope they leave it, and the section has them where they do.
    """
    borders = [
        (one.end_m, frozenset((one.unit, other.unit)))
        for one, other in pairwise(seen)
        if other.start_m - one.end_m <= SAME_M
    ]
    left = list(seen)
    for line in section.construction.lines:
        pair = frozenset((line.younger, line.older))
        for point in section.points:
            if not any(point.contact is one for one in line.contacts):
                continue
            for level_m in point.levels_m:
                out_m = least([at for at, _ in line.outcrops], key=lambda at, to=level_m: abs(at - to))  # type: ignore[misc]
                if out_m is None:
                    continue
                # Of two arms that the map joins, it draws the line between.
                near_m = [at for at, of in borders if of == pair and abs(at - level_m) <= ONE_CONTACT_M]
                gone = UnitRun(
                    unit=None, start_m=min(level_m, out_m, *near_m), end_m=max(level_m, out_m, *near_m)
                )
                left = list(_besides(left, (gone,)))
    return tuple(left)


def at_lines(runs: Sequence[UnitRun], section: Section, seen: Sequence[UnitRun] = ()) -> tuple[UnitRun, ...]:
    """The runs with each border moved to where the contact of its two units comes out, if that is within its error.

    The map draws a contact straight from where it was met, the section by its dip: what the standard error of its place
    leaves open along the walk is no disagreement, and colour ends at the line. Where the map shows both units beside the
    border, `seen`, the error of a level's height moves it no farther than its places are off.
    """
    out = [one for one in _contacts_out(section) if one.tells]
    # Of places that one line joins, the one that is known best tells.
    good_m: dict[float, float] = {}
    seen_m: dict[float, float] = {}
    for one in out:
        good_m[one.at_m] = min(good_m.get(one.at_m, math.inf), one.good_m)
        seen_m[one.at_m] = min(seen_m.get(one.at_m, math.inf), one.seen_m)
    found = list(runs)
    for index, (before, after) in enumerate(pairwise(runs)):
        if after.start_m - before.end_m > SAME_M:
            continue
        pair = {before.unit, after.unit}
        on_map = any(abs(one.end_m - before.end_m) <= SAME_M for one in seen) and any(
            abs(one.start_m - before.end_m) <= SAME_M for one in seen
        )
        near = [
            one
            for one in out
            if {one.contact.younger, one.contact.older} == pair
            and abs(one.at_m - before.end_m) <= (seen_m if on_map else good_m)[one.at_m]
            and found[index].start_m + SAME_M < one.at_m < after.end_m - SAME_M
        ]
        line = least(near, key=lambda one, border=before.end_m: abs(one.at_m - border))  # type: ignore[misc]
        if line is not None:
            found[index] = replace(found[index], end_m=line.at_m)
            found[index + 1] = replace(after, start_m=line.at_m)
    return tuple(found)


def as_lines_tell(
    runs: Sequence[UnitRun], section: Section, seen: Sequence[UnitRun], *, fixed: frozenset[str]
) -> tuple[UnitRun, ...]:
    """The runs, with what was guessed between places where lines come out held against what these lines say.

    Ground that was `seen` stands, and so do the units in `fixed`, which another rule tells. A guess that lines contradict
    gives way to the unit on which both, or a line and the ground seen beside it, agree; else no unit is known there. What
    the walls of bodies and a fault were booked in bears a line out, and contradicts none.
    """
    told = _told_at(section)
    if not told:
        return tuple(runs)
    booked_in = _booked_in(section)
    marks = [-math.inf, *(one.at_m for one in told), math.inf]
    inward = pairwise([_ToldAt(at_m=-math.inf), *told, _ToldAt(at_m=math.inf)])
    parts = list(zip(pairwise(marks), inward, strict=True))
    found = list(seen)
    for run in _besides(runs, seen):
        if run.unit in fixed:
            found.append(run)
            continue
        for (start, end), (left, right) in parts:
            start_m, end_m = max(run.start_m, start), min(run.end_m, end)
            if end_m - start_m <= SAME_M:
                continue
            by_lines = ((left.after, left.met), (right.before, right.met))
            names = {one for one, _ in by_lines if one is not None}
            # Where a line comes out and was not met it contradicts a guess, and bears out none.
            named = [one for one, met in by_lines if one is not None and met]
            beside = [one.unit for one in seen if one.start_m < end and one.end_m > start]
            beside += [unit for at_m, unit in booked_in if start <= at_m <= end and unit in names]
            agreed = names if named and len(named) + len(beside) > 1 and {*named, *beside} == names else set()
            unit = run.unit if run.unit in names or not names else None
            found.append(
                UnitRun(unit=next(iter(agreed)) if len(agreed) == 1 else unit, start_m=start_m, end_m=end_m)
            )
    return _one_after_other(found)


def left_open(runs: Sequence[UnitRun], told: Sequence[UnitRun]) -> tuple[UnitRun, ...]:
    """Of runs what has no unit any more as the lines have `told` them, each with the unit that it had."""
    return tuple(
        UnitRun(unit=run.unit, start_m=max(run.start_m, one.start_m), end_m=min(run.end_m, one.end_m))
        for one in told
        for run in runs
        if one.unit is None
        and run.unit is not None
        and min(run.end_m, one.end_m) - max(run.start_m, one.start_m) > SAME_M
    )


@record(frozen=True, slots=True, kw_only=True)
class _ToldAt:
    """A place where a constructed line comes out, met there or not, and the units on both sides along the ground; None where it tells none."""

    at_m: float
    before: str | None = None
    after: str | None = None
    met: bool = True


def _told_at(section: Section) -> list[_ToldAt]:
    """By distance."""
    found: list[_ToldAt] = []
    for line in section.construction.lines:
        for place, met in (
            *((place, True) for place in line.outcrops),
            *((place, False) for place in line.again),
        ):
            if not line.pieces:
                continue
            ahead = None if line.kind is PointKind.FAULT else _younger_ahead(line, place, section)
            sides = (line.older, line.younger) if ahead else (line.younger, line.older)
            before, after = (None, None) if ahead is None else sides
            found.append(_ToldAt(at_m=place[0], before=before, after=after, met=met))
    return sorted(found, key=lambda one: settled(one.at_m, 3))


def _booked_in(section: Section) -> list[tuple[float, str]]:
    """Where walls of bodies and faults come out that were booked in one unit: the distance and that unit."""
    found = [
        (at_m, line.younger)
        for line in section.construction.lines
        if line.kind is PointKind.FAULT
        and line.pieces
        and line.younger is not None
        and line.younger == line.older
        for at_m, _ in line.outcrops
    ]
    for one in section.bodies:
        walls = ((side.at[0], side.wall) for side in one.sides if side is not None and side.wall is not None)
        for at_m, wall in walls:
            found += [
                (at_m, unit) for unit in (wall.younger, wall.older) if unit not in (None, one.body.unit)
            ]
    return found


def _younger_ahead(line: ConstructedLine, place: tuple[float, float], section: Section) -> bool | None:
    """Whether the younger unit lies toward greater distance, on its left; None where it leaves the ground too flat to tell."""
    across = _leaves(line, place, section)
    return None if across is None or abs(across) < _LEAST_STEEP else across > 0.0


def _leaves(line: ConstructedLine, place: tuple[float, float], section: Section) -> float | None:
    """The sine at which a line leaves the ground at a place, positive where its younger unit lies toward greater distance there.

    To first order in the slope of the ground. None of one that has no part in the ground; where it comes down to it out of
    the air, what was worn away leads there.
    """
    if all(piece.eroded for piece in line.pieces):
        return None
    below_first = sorted(line.pieces, key=lambda piece: piece.eroded)
    segments = [pair for piece in below_first for pair in pairwise(piece.points)]
    near = least(segments, key=lambda pair: LineString(pair).distance(ShapelyPoint(place)))
    if near is None:
        return None
    (x, y), (to_x, to_y) = near
    return ((to_x - x) * _rise(section, place[0]) - (to_y - y)) / max(math.dist(*near), SAME_M)


def _besides(runs: Sequence[UnitRun], seen: Sequence[UnitRun]) -> Iterator[UnitRun]:
    """What of the runs lies between those that were seen."""
    for run in runs:
        start_m = run.start_m
        for other in seen:
            if other.end_m <= start_m or other.start_m >= run.end_m:
                continue
            if other.start_m - start_m > SAME_M:
                yield replace(run, start_m=start_m, end_m=other.start_m)
            start_m = other.end_m
        if run.end_m - start_m > SAME_M:
            yield replace(run, start_m=start_m)


def _contacts_out(section: Section) -> list[_Out]:
    found: list[_Out] = []
    over = {level.younger for level in section.over}
    for line in section.construction.lines:
        if line.pieces and (section.levels or line.younger in over):
            # It comes out wherever the ground has its height.
            found += [
                _Out(
                    contact=line.contacts[0],
                    carried_to_m=at_m,
                    at_m=at_m,
                    good_m=SURE_SD * (line.sd_at((at_m, up_m)) or 0.0) / _steep(section, at_m),
                    seen_m=SURE_SD * max(one.sd_m for one in line.contacts),
                )
                for at_m, up_m in line.outcrops
            ]
            continue
        places = [
            point
            for point in section.points
            if point.contact is not None and any(point.contact is one for one in line.contacts)
        ]
        # Of a fold the section may meet one limb, and the other was carried there.
        met_m = {
            _comes_out(line, point) for point in places if point.beside and line.kind is not PointKind.FAULT
        }
        for point in places:
            if point.contact is None:
                continue
            at_m = _comes_out(line, point)
            on_it = at_m in met_m
            if at_m is not None:
                # Of one followed farther than ground is looked at to a side, the map is no surer than the section.
                far = abs(point.carried_m) > BAND_M
                carried_m = min(ONE_CONTACT_M, SURE_SD * (point.sd_m or 0.0)) if far else 0.0
                own_m = point.contact.own_sd_m
                if line.kind is PointKind.FAULT:
                    # Rock is out of order beyond it: what its places, which it lies between, leave open is no strip of that.
                    own_m = SURE_SD * max(one.own_sd_m for one in line.contacts)
                elif on_it:
                    # Its course leads to the section; the map, which joins it to other places, may turn beside the walk.
                    own_m *= SURE_SD
                found.append(
                    _Out(
                        contact=point.contact,
                        carried_to_m=point.distance_m,
                        at_m=at_m,
                        good_m=max(own_m, carried_m, _aslant_m(line, section, at_m)),
                        seen_m=max(own_m, carried_m),
                        tells=point.beside or not on_it,
                    )
                )
    return sorted(found, key=lambda one: one.at_m)


def _aslant_m(line: ConstructedLine, section: Section, at_m: float) -> float:
    """What the place where a line comes out is off by along the ground, where it leaves that at a small angle; else 0."""
    place = (at_m, section.ground_at(at_m))
    sd_m = line.sd_at(place)
    across = None if sd_m is None else _leaves(line, place, section)
    if sd_m is None or across is None or abs(across) >= _ASLANT:
        return 0.0
    return sd_m / max(abs(across), _LEAST_STEEP)


def _comes_out(line: ConstructedLine, point: SectionPoint) -> float | None:
    """Where a line comes out nearest to where a place of it was carried to, which may lie apart."""
    return least((at_m for at_m, _ in line.outcrops), key=lambda at_m: abs(at_m - point.distance_m))


def _steep(section: Section, at_m: float) -> float:
    """How much the ground rises or falls there for each metre along a section."""
    return max(_LEAST_STEEP, abs(_rise(section, at_m)))


def _rise(section: Section, at_m: float) -> float:
    """The slope of the ground there, up along a section positive."""
    step_m = section.length_m / max(1, len(section.profile) - 1)
    rise_m = section.ground_at(at_m + step_m) - section.ground_at(at_m - step_m)
    return rise_m / (2.0 * step_m)


def _nearest(out: Sequence[_Out], border_m: float, pair: set[str | None], reach_m: float) -> _Out | None:
    """The contact of two units that parts them at a border; of one unit and unknown ground any contact."""

    def off(one: _Out) -> float:
        """From the border to where the contact was carried, or to where its line comes out."""
        return min(abs(one.carried_to_m - border_m), abs(one.at_m - border_m))

    near = [
        one
        for one in out
        if off(one) <= reach_m and (None in pair or {one.contact.younger, one.contact.older} == pair)
    ]
    return least(near, key=off)


def without_loose(runs: Sequence[UnitRun], loose: frozenset[str]) -> list[UnitRun]:
    """Runs of what lies under loose ground: known only where both sides are one unit."""
    found: list[UnitRun] = []
    for index, run in enumerate(runs):
        unit = run.unit
        if unit in loose:
            left = runs[index - 1].unit if index else None
            right = runs[index + 1].unit if index + 1 < len(runs) else None
            unit = left if left == right and left not in loose else None
        if found and found[-1].unit == unit:
            found[-1] = replace(found[-1], end_m=run.end_m)
        else:
            found.append(replace(run, unit=unit))
    return found


def evidence_along(
    cut: SectionCut, band: Band | None, legs: Iterable[PlacedLeg], half_m: float
) -> tuple[EvidenceRun, ...]:
    """What a section rests on from place to place.

    Carried is ground within `half_m` of the distance at which a reading, a contact or a station stands, and between
    the stations of a leg; and all that is coloured, as by planes of contacts that were met farther off.
    """
    section = cut.section
    if section.length_m <= SAME_M:
        return ()
    whole = shapely.box(0.0, 0.0, section.length_m, 1.0)
    walked = shapely.union_all([shapely.box(*ends, 1.0) for ends in _through(section, band)])
    stands = {one.label: one.distance_m for one in section.points if one.kind is PointKind.STATION}
    spans = [(one.distance_m, one.distance_m) for one in section.points]
    spans += [
        (stands[leg.booked.start], stands[leg.booked.end])
        for leg in legs
        if leg.booked.start in stands and leg.booked.end in stands
    ]
    near = [shapely.box(min(span) - half_m, 0.0, max(span) + half_m, 1.0) for span in spans]
    near += [shapely.box(*ends, 1.0) for ends in _coloured(cut)]
    carried = shapely.union_all(near).intersection(whole).difference(walked)
    runs = [
        EvidenceRun(evidence=evidence, start_m=settled(part.bounds[0]), end_m=settled(part.bounds[2]))
        for evidence, ground in ((Evidence.WALKED, walked), (Evidence.CARRIED, carried))
        for part in areas_in(ground)
    ]
    return tuple(
        sorted((run for run in runs if run.end_m - run.start_m > SAME_M), key=lambda run: run.start_m)
    )


def _coloured(cut: SectionCut) -> Iterator[tuple[float, float, float]]:
    """Where the ground is coloured up to the surface: from, 0, to, as a box is given."""
    top = LineString([(one.distance_m, one.up_m - _UNDER_M) for one in cut.section.profile])
    for part in lines_in(top.intersection(shapely.union_all([fill.area for fill in cut.fills]))):
        yield settled(part.bounds[0]), 0.0, settled(part.bounds[2])


def _through(section: Section, band: Band | None) -> Iterator[tuple[float, float, float]]:
    """Where the line runs through the band: from, 0, to, as a box is given."""
    start_m = 0.0
    for one, other in pairwise(section.line):
        line = LineString([one, other])
        if band is not None:
            for part in lines_in(line.intersection(band.whole)):
                ends = sorted(start_m + math.dist(one, part.coords[index]) for index in (0, -1))
                yield ends[0], 0.0, ends[1]
        start_m += line.length
