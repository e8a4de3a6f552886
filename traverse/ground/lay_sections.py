"""The ground under each section, cut open once for whatever draws it."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import replace
from itertools import permutations

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from traverse.ground.records import Band, CarriedLine, Point, SectionCut, SectionFill, Traverse
from traverse.ground.section_bodies import (
    against_seen,
    cut_bodies,
    outcrop_of,
    undecided,
    where_seen,
    without_body,
)
from traverse.ground.section_fills import Parting, as_far_as_walked, hosts_of_gentle, lenses, over_left_off
from traverse.ground.section_guesses import (
    as_looked_at,
    white_over,
    with_past_rooms,
    with_white_told,
    without_guesses,
    without_past_beds,
    without_slivers,
)
from traverse.ground.section_lines import carried_line, where_it_parts
from traverse.ground.section_runs import (
    UnitRun,
    as_lines_tell,
    as_seen,
    at_lines,
    evidence_along,
    left_open,
    seen_runs,
    unit_runs,
    without_loose,
    without_slopes,
)
from traverse.location.records import PlacedLeg
from traverse.settled import settled_shape
from traverse.shapes import settled_areas
from traverse.structure.section.records import Construction, PointKind, Section, SectionBody, SectionLimit
from traverse.trade import GUESS_SHARE
from traverse.wording import listed, section_name

_LAY_SQUARE = "lay one square across it"
_LOOK_FOR_WALLS = "look for walls nearer the line"


def lay_sections(trav: Traverse, band: Band | None) -> tuple[SectionCut, ...]:
    """In the order of the sections, coloured as deep as the ground to each side of the walk was looked at."""
    loose = frozenset(unit.letters for unit in trav.log.units if unit.loose)
    half_m = trav.ground.width.half_m
    order = tuple(unit.letters for unit in trav.log.units)
    dated = [(unit.letters, unit.dated) for unit in trav.log.units if unit.intrusive]
    younger = {
        (unit, other)
        for (unit, age), (other, its) in permutations(dated, 2)
        if age is not None and its is not None and age.is_younger(its)
    }
    return tuple(
        cut_section(
            section,
            loose=loose,
            order=order,
            depth_m=half_m,
            band=band,
            legs=trav.survey.legs,
            intrusive=trav.log.intrusive,
            younger=younger,
        )
        for section in trav.geology.sections
    )


def cut_section(
    section: Section,
    *,
    loose: frozenset[str],
    depth_m: float,
    band: Band | None = None,
    legs: Sequence[PlacedLeg] = (),
    order: tuple[str, ...] = (),
    intrusive: frozenset[str] = frozenset(),
    younger: Collection[tuple[str, str]] = (),
) -> SectionCut:
    """Lines and coloured ground of one section, with what the band shows where the line runs through it.

    `loose` are the letters of surface deposits, `intrusive` those of bodies, `order` those of all units, the youngest first,
    and `younger` holds pairs of bodies of which the first is the younger by its age.
    """
    if len(section.profile) < 2:
        bare = SectionCut(section=section, looked_at=Polygon(), lines=(), fills=())
        return replace(bare, evidence=evidence_along(bare, band, legs, depth_m))
    section = as_looked_at(section, half_m=depth_m)
    top = [(one.distance_m, one.up_m) for one in section.profile]
    looked_at = settled_shape(Polygon([*top, *((x, up - depth_m) for x, up in reversed(top))]))
    lines = tuple(carried_line(line, section.points, looked_at) for line in section.construction.lines)
    runs, under = unit_runs(section), None
    open_runs: tuple[UnitRun, ...] = ()
    left_off: tuple[SectionBody, ...] = ()
    if band is not None:
        seen = seen_runs(section, band)
        section, left_off = _with_bodies_seen(section, seen, intrusive)
        # Under a body the beds go on as on both sides of it.
        under = without_slopes(_under_bodies(seen, section, intrusive), section)
        runs = as_seen(runs, under)
        if not section.levels:
            over = {level.younger for level in section.over}
            told = as_lines_tell(runs, section, under, fixed=frozenset(loose | over))
            open_runs = left_open(runs, told)
            runs = told
        runs = at_lines(runs, section, under)
    loose -= _with_base(section.construction)
    parting = Parting(section, looked_at, depth_m, order, under)
    fills = as_far_as_walked(parting.fills(without_loose(runs, loose), lines), section, runs, depth_m=depth_m)
    if parting.covers:
        limit = SectionLimit(
            code="section-under-cover",
            fact=f"under {listed(list(parting.covers))} section {section_name(section.name)} is filled no farther than along the last bed seen",
            remedy="look where what lies on it is worn through",
            grave=False,
        )
        section = replace(section, limits=(*section.limits, limit))
    section = with_past_rooms(section, parting.past_rooms, depth_m=depth_m)
    fills, section = without_past_beds(fills, section, depth_m=depth_m)
    lines = tuple(where_it_parts(line, fills) for line in lines)
    fills = over_left_off(fills, left_off, section, depth_m=depth_m)
    # Beds are parted as if no body were there: they go on beyond it.
    bodies = cut_bodies(section, lines, looked_at, younger)
    section = _with_crossings(section, undecided(bodies, younger))
    for body in bodies:
        lines, fills = without_body(lines, fills, body)
    filled = (
        *fills,
        *(fill for body in bodies for fill in body.fills(looked_at)),
        *lenses(section, parting.skins, depth_m=depth_m),
        *lenses(section, [run for run in runs if run.unit in loose], depth_m=depth_m, loose=True),
    )
    sure = tuple(without_slivers(filled, lines, under or (), depth_m=depth_m))
    known = without_guesses(sure, section, depth_m=depth_m)
    # What guessed heights leave of larger areas is known as well as those, but for what is hardly seen.
    coloured = tuple(without_slivers(known, lines, under or (), depth_m=GUESS_SHARE * depth_m))
    cut = SectionCut(
        section=section,
        looked_at=looked_at,
        lines=(*lines, *(wall for body in bodies for wall in body.walls)),
        fills=coloured,
        edges=tuple(edge for body in bodies for edge in body.edges),
        named=_named(section, top, depth_m, lines, coloured, [body.whole for body in bodies]),
        white_over_m=white_over(section, depth_m=depth_m) if filled else None,
    )
    cut = replace(cut, evidence=evidence_along(cut, band, legs, depth_m))
    return with_white_told(cut, open_runs, depth_m=depth_m, past=parting.past_rooms)


def _with_bodies_seen(
    section: Section, seen: Sequence[UnitRun], intrusive: frozenset[str]
) -> tuple[Section, tuple[SectionBody, ...]]:
    """A section with its bodies where the map shows them, and those that what was walked on it tells against, left off."""
    # Of two bodies that cross, each is seen where the other is not.
    of_beds = [run for run in seen if run.unit not in intrusive]
    moved = [where_seen(one, section, seen) for one in section.bodies]
    deep = [one for one in moved if one.off_ground]
    against = [one for one in moved if not one.off_ground and against_seen(one, section, of_beds)]
    left_off = (*deep, *against)
    on = f"section {section_name(section.name)}"
    limits = []
    if deep:
        # Its walls are as sure as the beds they are taken along, where none was read: it may come out all the same.
        their = "their" if len({one.body.unit for one in deep}) > 1 else "its"
        why = f", by {their} walls as read or taken along the beds, cannot be placed on {on}"
        limits.append(_body_left_off(deep, why, _LOOK_FOR_WALLS))
    if against:
        why = f" would come out on {on} where it was walked on other rock"
        limits.append(_body_left_off(against, why, _LAY_SQUARE))
    kept = tuple(one for one in moved if all(one is not other for other in left_off))
    return replace(section, bodies=kept, limits=(*section.limits, *limits)), left_off


def _body_left_off(bodies: Sequence[SectionBody], why: str, remedy: str) -> SectionLimit:
    """What is said of bodies that a section has not got, and of what they lie in."""
    units = list(dict.fromkeys(one.body.unit for one in bodies))
    its, are = ("its", "is") if len(units) == 1 else ("their", "are")
    hosts = sorted(hosts_of_gentle(bodies))
    deeper = f"; deeper than a skin {listed(hosts)} {'is' if len(hosts) == 1 else 'are'} left white, where {its} place is not known"
    return SectionLimit(
        code="section-body-elsewhere",
        fact=f"{listed(units)}{why}, and {are} left off{deeper if hosts else ''}",
        remedy=remedy,
        grave=False,
        brief=f"{listed(units)} left off{f', deeper {listed(hosts)} white' if hosts else ''}",
    )


def _with_crossings(section: Section, pairs: Sequence[tuple[str, str]]) -> Section:
    limits = (
        SectionLimit(
            code="section-bodies-cross",
            fact=f"which of {one} and {other} cuts the other was not seen, and section {section_name(section.name)} has neither where they cross",
            remedy="look where they meet",
            grave=False,
            brief=f"white where {one} and {other} cross",
        )
        for one, other in pairs
    )
    return replace(section, limits=(*section.limits, *limits))


def _under_bodies(seen: Sequence[UnitRun], section: Section, intrusive: frozenset[str]) -> list[UnitRun]:
    """What was seen along a section, but for bodies that it has; where another comes out nothing is known."""
    out = [(one.body.unit, *outcrop_of(one, section)) for one in section.bodies]
    found: list[UnitRun] = []
    for run in seen:
        if run.unit not in intrusive:
            found.append(run)
        elif all(unit != run.unit or end <= run.start_m or start >= run.end_m for unit, start, end in out):
            found.append(replace(run, unit=None))
    return found


def _named(
    section: Section,
    top: Sequence[Point],
    depth_m: float,
    lines: Sequence[CarriedLine],
    fills: Sequence[SectionFill],
    bodies: Sequence[BaseGeometry],
) -> tuple[SectionFill, ...]:
    """Ground without colour that lines tell, down to where they end; none of it in `bodies`."""
    foot_m = min((part.bounds[1] for one in lines for part in one.below), default=math.inf)
    if foot_m >= min(up_m for _, up_m in top):
        return ()
    ground = settled_shape(Polygon([*top, (top[-1][0], foot_m), (top[0][0], foot_m)]))
    cut_by = shapely.union_all(bodies)
    return tuple(
        replace(one, area=area)
        for one in Parting(section, ground, depth_m).named(lines, fills)
        for area in settled_areas(one.area.difference(cut_by))
    )


def _with_base(construction: Construction) -> frozenset[str]:
    """Units above an unconformity that is drawn as a plane: they need no lens of unknown depth, loose or not."""
    bases = [line for line in construction.lines if line.kind is PointKind.UNCONFORMITY and line.younger]
    drawn = {line.younger for line in bases if line.pieces and line.younger}
    return frozenset(drawn - {line.younger for line in bases if not line.pieces})
