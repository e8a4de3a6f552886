"""Ground of a section whose height nobody knows well enough to say what lies under it."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import groupby

import shapely
from shapely import LineString, Polygon
from shapely import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from traverse.ground.records import CarriedLine, Point, SectionCut, SectionFill
from traverse.ground.section_lines import room_about
from traverse.ground.section_runs import UnitRun
from traverse.settled import SAME_M, least, settled
from traverse.shapes import lines_in, settled_areas
from traverse.structure.section.records import (
    ConstructedLine,
    PointKind,
    ProfilePoint,
    Section,
    SectionLimit,
)
from traverse.trade import DISAGREE_SHARE, GENTLE_DEG, GUESS_SHARE, LENS_DEPTH_SHARE, STANDING_DEG
from traverse.wording import listed, section_name

_UNDER_M = 0.2
"""So far under the ground lies what is coloured on it."""
_PAST_BEDS = "section-past-beds"
_MISSES = "section-misses"
_NOTHING_M2 = 1.0
"""So little colour that is left off is not worth a word."""


def as_looked_at(section: Section, *, half_m: float) -> Section:
    """A section whose heights are guessed only farther from the walk than ground was looked at."""
    profile = tuple(replace(one, sd_m=None) if one.off_m <= half_m else one for one in section.profile)
    return replace(section, profile=profile)


def white_over(section: Section, *, depth_m: float) -> float | None:
    """By how much a height may be off square to the beds with colour under it, a good part of its depth; None where none is off by more."""
    over_m = GUESS_SHARE * depth_m
    return over_m if _open_stretches(section, over_m) else None


def _open_stretches(section: Section, over_m: float) -> tuple[tuple[float, float], ...]:
    """Stretches of ground whose height is guessed and may move it by more than `over_m` square to the beds nearest along the section.

    Steep beds come out nearly where they do whatever its height.
    """
    beds = sorted(
        (point.distance_m, abs(point.apparent_dip_deg))
        for point in section.points
        if point.tells_bedding and point.apparent_dip_deg is not None
    )
    if not beds:
        return section.guessed(over_m=over_m)

    def across(one: ProfilePoint) -> float | None:
        if one.sd_m is None:
            return None
        place = bisect_left(beds, (one.distance_m,))
        near = beds[max(0, place - 1) : place + 1]
        # The gentler of those on both sides: which of them lies there nobody knows.
        return settled(one.sd_m * math.cos(math.radians(min(dip_deg for _, dip_deg in near))))

    profile = tuple(replace(one, sd_m=across(one)) for one in section.profile)
    return replace(section, profile=profile).guessed(over_m=over_m)


def without_guesses(
    fills: Sequence[SectionFill], section: Section, *, depth_m: float
) -> Iterator[SectionFill]:
    """What is coloured, but for what lies under ground whose height may be off by too much, square to the beds."""
    open_m = _open_stretches(section, GUESS_SHARE * depth_m)
    low, high = _room(section, depth_m)
    columns: BaseGeometry = shapely.union_all([shapely.box(start, low, end, high) for start, end in open_m])
    for fill in _without(fills, columns):
        yield replace(
            fill, base=tuple(at for at in fill.base if not any(start < at[0] < end for start, end in open_m))
        )


def without_slivers(
    fills: Iterable[SectionFill], lines: Sequence[CarriedLine], seen: Sequence[UnitRun], *, depth_m: float
) -> Iterator[SectionFill]:
    """What is coloured, but for small areas that lie wholly within what one contact of their unit may be off by.

    Moved by so little the contact would leave none of them; nor would it of what lies so near to the end of what that unit is
    thick. What was `seen` on the ground stands.
    """
    for fill in fills:
        walked = any(
            run.unit == fill.unit and run.start_m < fill.end_m and run.end_m > fill.start_m for run in seen
        )
        small = fill.area.area <= depth_m**2 and not fill.base and not walked
        if not small or not any(_within_error(fill, line) for line in lines):
            yield fill


def _within_error(fill: SectionFill, line: CarriedLine) -> bool:
    """Whether every corner of an area lies within one standard deviation of a contact of its unit, or of the end of its room there."""
    of = line.of
    if of.kind is not PointKind.CONTACT or of.error is None or fill.unit not in (of.younger, of.older):
        return False
    corners = [(float(x), float(y)) for x, y in fill.area.exterior.coords]
    sides: list[BaseGeometry] = list(line.below)
    wide_m = of.over_m if fill.unit == of.younger else of.under_m
    if wide_m is not None:
        sides.append(room_about(of, wide_m, far_m=wide_m).boundary)
    return any(
        all(side.distance(ShapelyPoint(place)) <= (of.sd_at(place) or 0.0) for place in corners)
        for side in sides
    )


def without_past_beds(
    fills: Sequence[SectionFill], section: Section, *, depth_m: float
) -> tuple[tuple[SectionFill, ...], Section]:
    """What is coloured, but for ground past all beds that were walked on, and the section, which then says so.

    It goes no farther across them than a skin is thick whose base nobody saw: under them the next unit may come at any depth,
    and over them nobody saw what lies on the ground.
    """
    past = shapely.union_all(list(_past_beds(section, depth_m)))
    if all(fill.area.intersection(past).area <= _NOTHING_M2 for fill in fills):
        return tuple(fills), section
    limit = SectionLimit(
        code=_PAST_BEDS,
        fact=f"a part of section {section_name(section.name)} lies past all beds that were walked on, and its unit is not known",
        remedy="walk there, or lay it nearer the walk",
        grave=False,
        brief="white past all beds walked on",
    )
    return tuple(_without(fills, past)), replace(section, limits=(*section.limits, limit))


def with_past_rooms(section: Section, past: Sequence[tuple[str, BaseGeometry]], *, depth_m: float) -> Section:
    """A section that says of which units ground has no colour as it lies farther from their contacts than they are thick."""
    by_unit: dict[str, float] = {}
    for unit, area in past:
        by_unit[unit] = by_unit.get(unit, 0.0) + area.area
    units = [unit for unit, wide_m2 in by_unit.items() if wide_m2 > (DISAGREE_SHARE * depth_m) ** 2]
    if not units:
        return section
    named, thick = listed(units), "it is thick" if len(units) == 1 else "these are thick"
    limit = SectionLimit(
        code="section-past-thickness",
        fact=f"a part of section {section_name(section.name)} lies farther from the contacts of {named} than {thick}, and its unit is not known",
        remedy="walk there, or lay it nearer the walk",
        grave=False,
        brief=f"white farther from contacts of {named} than {thick}",
    )
    return replace(section, limits=(*section.limits, limit))


def with_white_told(
    cut: SectionCut,
    open_runs: Sequence[UnitRun],
    *,
    depth_m: float,
    past: Sequence[tuple[str, BaseGeometry]] = (),
) -> SectionCut:
    """A section that says why ground of it has no colour, where that is neither guessed nor empty of all evidence.

    `open_runs` are the units that were carried to where its lines contradict them. Past all beds and `past` the thickness of
    a unit it is told already, and of a section that nothing lies near; on one without any colour none is missed.
    """
    section = cut.section
    codes = {one.code for one in section.limits}
    if _MISSES in codes or not cut.fills:
        return cut
    low, high = _room(section, depth_m)
    open_m = () if cut.white_over_m is None else _open_stretches(section, cut.white_over_m)
    known: list[BaseGeometry] = [shapely.box(start, low, end, high) for start, end in open_m]
    known += [fill.area for fill in cut.fills]
    known += [area for _, area in past]
    if _PAST_BEDS in codes:
        known += _past_beds(section, depth_m)
    top = LineString([(one.distance_m, one.up_m - _UNDER_M) for one in section.profile])
    based = shapely.union_all([shapely.box(one.start_m, low, one.end_m, high) for one in cut.evidence])
    white = top.intersection(based).difference(shapely.union_all(known))
    against = shapely.union_all([shapely.box(run.start_m, low, run.end_m, high) for run in open_runs])
    name = section_name(section.name)
    why = (
        (
            white.intersection(against),
            "section-open-ground",
            f"on a part of section {name} {_which_disagree(section, white.intersection(against), open_runs)} disagree, and its unit is not known",
            "white where lines and walk disagree",
        ),
        (
            white.difference(against),
            "section-none-carried",
            f"on a part of section {name} no unit was carried to the ground from the walk, and no two contacts about it tell the same one",
            "white where no unit was carried",
        ),
    )
    limits = tuple(
        SectionLimit(
            code=code, fact=fact, remedy="walk there, or lay it nearer the walk", grave=False, brief=brief
        )
        for bare, code, fact, brief in why
        if any(one.length > DISAGREE_SHARE * depth_m for one in lines_in(bare))
    )
    return replace(cut, section=replace(section, limits=(*section.limits, *limits)))


def _which_disagree(section: Section, white: BaseGeometry, open_runs: Sequence[UnitRun]) -> str:
    """The lines that come out at the ends of white ground, each with where one was met, and the units that were carried there.

    `its lines (Lk/Sd on leg 12–13 at 20p) and Rm, carried there from the walk,`.
    """
    lines: dict[str, None] = {}
    units: dict[str, None] = {}
    out = sorted(
        (settled(place[0], 3), at, _named(line))
        for at, line in enumerate(section.construction.lines)
        if line.pieces and line.contacts
        for place in line.outcrops
    )
    for part in lines_in(white):
        start, _, end, _ = part.bounds
        before = [name for at_m, _, name in out if at_m <= start + SAME_M]
        after = [name for at_m, _, name in out if at_m >= end - SAME_M]
        lines |= dict.fromkeys((*before[-1:], *after[:1]))
        units |= dict.fromkeys(
            run.unit for run in open_runs if run.unit is not None and run.start_m < end and run.end_m > start
        )
    told = f" ({listed(list(lines))})" if lines else ""
    return f"its lines{told} and {f'{listed(list(units))}, carried there from the walk,' if units else 'the units carried there from the walk'}"


def _named(line: ConstructedLine) -> str:
    """`Lk/Sd on leg 12–13 at 20p`, `the fault Sd/Cl on leg 16–17`: a line by one of the places where it was met."""
    met = line.contacts[0].booked
    units = "/".join(one for one in (line.younger, line.older) if one is not None)
    fault = "the fault" if line.kind is PointKind.FAULT or not units else ""
    return " ".join(filter(None, (fault, units, met.address.where)))


def _without(fills: Iterable[SectionFill], unknown: BaseGeometry) -> Iterator[SectionFill]:
    for fill in fills:
        if not fill.area.intersects(unknown):
            yield fill
            continue
        for area in settled_areas(fill.area.difference(unknown)):
            yield replace(fill, area=area)


def _past_beds(section: Section, depth_m: float) -> Iterator[BaseGeometry]:
    skin_m = LENS_DEPTH_SHARE * depth_m
    low, high = _room(section, depth_m)
    ends = section.profile[0], section.profile[-1]
    for under, points in groupby(section.profile, key=lambda one: _past(one, skin_m)):
        zone = list(points)
        first, last = zone[0], zone[-1]
        if under is None or first is last:
            continue
        # Its borders follow the beds: those under it away from it, those over it below it.
        feet = [(one.distance_m, one.up_m - max(0.0, skin_m + one.past_beds_m)) for one in zone]
        if under:
            slopes = [_down(section, feet[index], sense, to_m=low) for index, sense in ((0, -1.0), (-1, 1.0))]
            # Where nothing is left of the skin, the ground itself goes with it.
            top = [
                (at, high if skin_m + one.past_beds_m <= 0.0 else up_m)
                for (at, up_m), one in zip(feet, zone, strict=True)
            ]
            # Each border starts on the ground: from above it, it would cut into ground beside that was walked on.
            yield Polygon([slopes[0], feet[0], *top, feet[-1], slopes[1]])
            continue
        white: BaseGeometry = shapely.box(first.distance_m, low, last.distance_m, high)
        for one, sense in ((first, 1.0), (last, -1.0)):
            if one in ends:
                continue  # Nothing that was walked on comes under it from there.
            at = (one.distance_m, one.up_m)
            foot = _down(section, at, sense, to_m=low)
            white = white.intersection(Polygon([(at[0], high), at, foot, (foot[0], high)]))
        yield white


def _past(one: ProfilePoint, skin_m: float) -> bool | None:
    """Whether ground lies under all beds that were walked on; False where it lies over them by more than a skin, None else."""
    if one.past_beds_m < 0.0:
        return True
    return False if one.past_beds_m > skin_m else None


def _down(section: Section, at: Point, sense: float, *, to_m: float) -> Point:
    """Down from a place along the bed read nearest to it, toward greater distance or against it."""
    beds = [one for one in section.points if one.tells_bedding and one.apparent_dip_deg is not None]
    near = least(beds, key=lambda one: abs(one.distance_m - at[0]))
    dip_deg = abs(near.apparent_dip_deg or 0.0) if near is not None else 0.0
    fall = math.tan(math.radians(min(max(dip_deg, GENTLE_DEG), STANDING_DEG)))
    return at[0] + sense * (at[1] - to_m) / fall, to_m


def _room(section: Section, depth_m: float) -> tuple[float, float]:
    """Under and over all that is coloured."""
    heights = [point.up_m for point in section.profile]
    return min(heights) - 10.0 * depth_m, max(heights) + depth_m
