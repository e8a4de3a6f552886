"""Contacts of a section carried beyond what was seen, by dip domains, by arcs or straight.

At 1:1; whoever draws them exaggerated stretches afterwards. Nothing is carried across a fault.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple, TypeAlias

import numpy as np

from traverse.length import Lengths
from traverse.location.records import Survey
from traverse.log.items import Certainty, ContactKind
from traverse.log.records import Log
from traverse.settled import SAME_M, least, part_at, settled
from traverse.structure.form.fault_sides import FaultSides
from traverse.structure.readings.directions import dip_of
from traverse.structure.readings.records import PlacedContact
from traverse.structure.section.ahead import younger_ahead
from traverse.structure.section.arc import Arcs
from traverse.structure.section.bent import Bent, Stretch, within
from traverse.structure.section.body_sides import with_bodies
from traverse.structure.section.dip_domains import (
    DipDomains,
    Domain,
    Point,
    SectionReading,
    TracedLine,
    axial_trace,
    claim,
    merge,
    midpoints,
    wrap,
)
from traverse.structure.section.drawing_plane import (
    along,
    comes_out,
    cut_by,
    emerges,
    grazes_ground,
    in_frame,
    meets_ground,
    pieces,
    plane_of,
    runs,
    with_bends,
)
from traverse.structure.section.inputs import FaultLine, SectionInput, Start
from traverse.structure.section.joining import (
    Joined,
    aloft_on_lines,
    joined_lines,
    missed_limbs,
    up_to_hinge,
)
from traverse.structure.section.level_beds import level_lines
from traverse.structure.section.line_errors import LineErrors
from traverse.structure.section.records import (
    AxialLine,
    CarryRule,
    ConstructedLine,
    Construction,
    LineError,
    LineTurn,
    PointKind,
    Section,
    SectionLimit,
    Stop,
)
from traverse.structure.section.stopping import Half, stop_at_crossings
from traverse.structure.thickness.amounts import most_thick
from traverse.structure.thickness.records import Thickness, UnitThickness
from traverse.structure.walk.across import piles_on
from traverse.structure.walk.bodies import sills_of
from traverse.structure.walk.records import BandStretch, Body
from traverse.trade import BAND_M, LEVEL_DEG, SURE_SD
from traverse.wording import listed

_OTHER_M = 1.0
"""An unconformity so far under what it cuts, or over what covers it, does not lie there."""
_MEAN_OF = 4
"""More beds make the direction of a line no surer: beds roll. Common practice, no source."""
_ALONG = 0.2
"""A line that meets an axial trace at a smaller angle than one of this sine is not followed along it farther."""
_LEAST_NORMAL = 0.05
"""A bed whose unit normal is shorter than this on the section lies along it."""
_SEATED_SHARE = 0.25
"""A contact carried off the ground comes out within this share of the section from there, or nobody knows where."""
_PAST_SHARE = 0.2
"""A bed carried off the ground may lie past an axial trace by this share of the way between the two outcrops of a contact
that turns there: where its limbs meet is known better than the place of one bed beside the hinge. Common practice, no
source."""
_LIMB_READINGS = 2
"""A limb of fewer readings is none, and no axial surface is drawn beside it."""
_SURE = tuple(Certainty)
Follower: TypeAlias = Callable[[Start, Point, float], TracedLine]
"""Follows a contact from a place of its block; a sense of 1 keeps its younger side on the left."""


class _Line:
    """A constructed line before it is cut into pieces."""

    def __init__(
        self,
        *,
        starts: list[Start | FaultLine],
        kind: PointKind,
        joined: tuple[Point, ...] = (),
        turned: bool = False,
    ) -> None:
        self.starts = starts
        self.kind = kind
        self.joined = joined
        """Between its two outcrops, the first of `starts` first."""
        self.halves: list[Half] = []
        self.middle: list[Half] = []
        """What is joined, where it ends other lines."""
        self.turned = turned
        """Whether the younger side is on the right of the way it was followed."""


def constructed(
    log: Log,
    survey: Survey,
    sections: tuple[Section, ...],
    band: tuple[BandStretch, ...],
    thicknesses: Sequence[Thickness],
    caps: frozenset[str],
    cover: frozenset[str],
    bodies: Sequence[Body] = (),
    contacts: Sequence[PlacedContact] = (),
    units: Sequence[UnitThickness] = (),
    *,
    axis_known: bool = False,
) -> tuple[Section, ...]:
    """The sections with their constructions, and the intrusive bodies that cut them."""
    # A sheet shows as much below the relief as the ground was looked at, or one unit.
    thickest = max((one.true_m for one in thicknesses), default=0.0)
    below_m = max(thickest, log.heading.sheet.band_m or BAND_M)
    sills = sills_of(log)
    above, sides = piles_on(log), FaultSides(log, survey, contacts)
    most = most_thick(units, thicknesses)
    found = []
    for section in sections:
        if not section.points:
            found.append(section)
            continue
        plane = plane_of(section, below_m=below_m)
        given = SectionInput(
            section=section,
            plane=plane,
            caps=caps,
            cover=cover,
            above=above,
            ahead=younger_ahead(log, survey, band, section),
            sides=sides,
            turn_deg=survey.frame.to_true_deg,
            lengths=log.lengths,
        )
        shown = section.thickness_shown(caps | cover)
        rooms = (
            {}
            if shown is None
            else {unit: settled(shown * most_m) for unit, most_m in most.items() if unit not in caps | cover}
        )
        maker = _Constructor(given, rooms, axis_known=axis_known)
        if section.levels and section.profile:
            level = maker.level()
            made = replace(section, construction=level, arcs=level)
            found.append(with_bodies(survey, made, plane, bodies, sills))
            continue
        if given.readings:
            made = replace(section, construction=maker.dip_domains(), arcs=maker.arcs())
        else:
            straight = maker.straight()
            made = replace(section, construction=straight, arcs=straight)
        made = replace(made, limits=_gravest_first(section.limits, given.faults_assumed()))
        found.append(with_bodies(survey, made, plane, bodies, sills))
    return tuple(found)


def _gravest_first(
    limits: Sequence[SectionLimit], of_faults: Sequence[SectionLimit]
) -> tuple[SectionLimit, ...]:
    """With what is said of faults, which are drawn where nothing tells them to be, before what is only left out."""
    return tuple(sorted((*of_faults, *limits), key=lambda one: not one.grave))


def _limbs(contacts: Sequence[Start], hinge_m: float) -> tuple[Start, Start] | None:
    """The innermost contact that is seen on both sides of a hinge, with its younger side turned round."""
    before = {start.pair: start for start in contacts if part_at([hinge_m], start.at[0]) == 0}
    beyond = {start.pair: start for start in reversed(contacts) if part_at([hinge_m], start.at[0]) == 1}
    limbs = [
        (one, beyond[pair])
        for pair, one in before.items()
        if pair in beyond and one.ahead * beyond[pair].ahead <= 0
    ]
    return least(limbs, key=lambda pair: pair[1].at[0] - pair[0].at[0])


def _step(part: tuple[Point, Point]) -> Point:
    return part[1][0] - part[0][0], part[1][1] - part[0][1]


def _past(bed: Point, place: Point, way: Point) -> float:
    """How far a bed lies past a trace through a place, toward greater distance; square to it, whose way is down."""
    return -(bed[0] - place[0]) * way[1] + (bed[1] - place[1]) * way[0]


class _Constructor:
    """The constructions of one section."""

    def __init__(self, given: SectionInput, rooms: Mapping[str, float], *, axis_known: bool) -> None:
        self.given = given
        self.rooms = rooms
        """By unit how far from its contacts it goes at most, as the section shows it."""
        self.axis_known = axis_known
        """Whether the beds make one fold axis."""
        self.errors = LineErrors(given.section, given.flat)

    # --- the three rules

    def dip_domains(self) -> Construction:
        """Straight limbs."""
        fields, axial = self._domains
        said = []
        if any(one.field.flat_axial for field in fields.values() for one in field.stretches):
            said.append("An axial surface lies nearly flat: what is above and below it is not told apart.")
        return self._construction(
            CarryRule.DIP_DOMAINS, self._follower(fields), fields.keys(), axial, said, fields
        )

    @cached_property
    def _domains(self) -> tuple[dict[int, Bent[DipDomains]], tuple[AxialLine, ...]]:
        """Domains by block, and the traces between them."""
        axial: list[AxialLine] = []
        fields: dict[int, Bent[DipDomains]] = {}
        for block in range(len(self.given.edges) + 1):
            stretches: list[Stretch[DipDomains]] = []
            for low, high, readings in self.given.stretches(block):
                domains = merge(readings)
                contacts = [
                    one
                    for one in self.given.starts
                    if one.block == block
                    and one.points[0].kind is PointKind.CONTACT
                    and low < one.at[0] - SAME_M <= high
                ]
                claim(domains, self._sides(low, high, block))
                starts = midpoints(domains, self.given.plane.at)
                plane = DipDomains(domains=domains, starts=self._hinges(domains, starts, contacts))
                stretches.append(Stretch(low_m=low, high_m=high, field=plane))
                axial.extend(self._axial(stretches[-1], block, contacts))
            if stretches:
                fields[block] = Bent(stretches, self.given.plane.at)
        self._seat(fields)
        return fields, tuple(axial)

    def _sides(self, low_m: float, high_m: float, block: int) -> list[tuple[Point, int, float]]:
        """Contacts of bedding between two bends of a block where they were carried to, for `claim`."""
        found = []
        for one in self.given.single:
            at = self.given.place(one.points[0])
            bedding = one.points[0].kind is PointKind.CONTACT and not self.given.covers(one.points[0])
            if bedding and one.block == block and one.ahead and low_m < at[0] - SAME_M <= high_m:
                found.append((at, one.ahead, self.given.plane.rise_at(at[0])))
        return found

    def _seat(self, fields: Mapping[int, Bent[DipDomains]]) -> None:
        """Contacts carried off the ground moved to where their beds come out, through every fold between."""
        follow = self._follower(fields)
        far_m = _SEATED_SHARE * self.given.section.length_m

        def nearest(start: Start, place: Point, *, past_fault: bool) -> Point | None:
            if start.block not in fields:
                return None
            found = []
            for sense in (1.0, -1.0):
                path = in_frame(follow(start, place, sense).points, self.given.plane)
                within_block = path if past_fault else self._at_faults(path, start.block)[0]
                out = comes_out(within_block, self.given.plane)
                if out is not None:
                    found.append(out)
            near = least(found, key=lambda one: math.dist(one, place))
            # Farther off it is another limb, where it was not met.
            return near if near is not None and math.dist(near, place) <= far_m else None

        self.given.seat(nearest)

    def arcs(self) -> Construction:
        """Arcs of constant thickness; where they have no room in a core, straight limbs close it."""
        fields: dict[int, Bent[Arcs]] = {}
        for block in range(len(self.given.edges) + 1):
            stretches = [
                # Readings of one panel stand for it together: on slopes their normals would come in no order.
                Stretch(
                    low_m=low,
                    high_m=high,
                    field=Arcs(
                        readings=tuple(
                            SectionReading(at=panel.middle, younging_rad=panel.younging_rad)
                            for panel in merge(readings)
                        )
                    ),
                )
                for low, high, readings in self.given.stretches(block)
            ]
            if stretches:
                fields[block] = Bent(stretches, self.given.plane.at)
        arcs, limbs = self._follower(fields), self._follower(self._domains[0])

        without: list[Start] = []

        def closed(start: Start, at: Point, sense: float) -> TracedLine:
            path = arcs(start, at, sense)
            if not path.no_space:
                return path
            without.append(start)
            # Of a bed that finds no arc at all nothing is kept, so that both limbs meet corner on corner.
            bent = path.points if len(path.points) > 2 else path.points[:1]
            rest = limbs(start, bent[-1], sense)
            bounds = rest.bounds if len(bent) == 1 else ()
            return TracedLine(points=(*bent, *rest.points[1:]), bounds=bounds, no_space=True)

        made = self._construction(CarryRule.ARCS, closed, fields.keys(), (), [])
        return replace(made, limbs=bool(without))

    def level(self) -> Construction:
        """Each contact of flat beds at its own height, or on its own gentle plane."""
        lines = level_lines(self.given.section, self.given.plane, self.given.section.levels)
        level = all(one.is_level for one in self.given.section.levels)
        return Construction(
            rule=CarryRule.LEVEL if level else CarryRule.GENTLE, lines=lines + self._surface()
        )

    def straight(self) -> Construction:
        """Each contact along its own apparent dip, else that of the nearest bed however far it was carried."""
        lines, stopped = self._lines(
            lambda start, _, sense: self._straight(start, sense), range(len(self.given.edges) + 1)
        )
        return Construction(
            rule=CarryRule.STRAIGHT,
            lines=lines,
            sentences=(*self.given.said, *stopped),
        )

    def _follower(self, fields: Mapping[int, Bent[DipDomains]] | Mapping[int, Bent[Arcs]]) -> Follower:
        plane = self.given.plane
        return lambda start, at, sense: fields[start.block].trace(
            at, sense, reach_m=plane.reach_m, frame=plane
        )

    def _construction(
        self,
        rule: CarryRule,
        follow: Follower,
        known: Collection[int],
        axial: tuple[AxialLine, ...],
        said: list[str],
        fields: Mapping[int, Bent[DipDomains]] | None = None,
    ) -> Construction:
        lines, stopped = self._lines(follow, known, fields or {})
        folded = _Paths([one for one in lines if one.kind is not PointKind.FAULT])
        covered = [
            one for one in lines if one.kind is PointKind.UNCONFORMITY and one.younger in self.given.cover
        ]
        return Construction(
            rule=rule,
            lines=lines,
            axial=tuple(
                under
                for one in axial
                if (under := self._under_cover(one, covered)) is not None and self._bends(under, folded)
            ),
            sentences=(
                *self.given.limits(),
                *self.given.said,
                *stopped,
                *said,
                *_unsure(lines, near_m=self.given.near, lengths=self.given.lengths),
            ),
        )

    # --- dip domains

    def _hinges(self, domains: list[Domain], starts: list[Point], contacts: Sequence[Start]) -> list[Point]:
        """Traces at which beds young the other way, moved to where one contact's two limbs meet, where that is known."""
        moved = list(starts)
        # Again from where the first pass moved them, so that none hangs on which of two is moved first.
        for _ in range(2):
            found = [
                self._hinge(domains, moved, index, contacts, midway=start)
                for index, start in enumerate(starts)
            ]
            moved = [one or start for one, start in zip(found, starts, strict=True)]
            for index, place in enumerate(found):
                if place is not None:
                    self._make_room(domains, moved, index)
        return moved

    def _make_room(self, domains: Sequence[Domain], starts: list[Point], index: int) -> None:
        """Move the traces beside one that was moved past them half-way between it and the beds on their far side."""
        at_m = starts[index][0]
        if index and starts[index - 1][0] >= at_m:
            middle_m = (domains[index - 1].last[0] + at_m) / 2.0
            starts[index - 1] = (middle_m, self.given.plane.at(middle_m))
        if index + 1 < len(starts) and starts[index + 1][0] <= at_m:
            middle_m = (domains[index + 2].first[0] + at_m) / 2.0
            starts[index + 1] = (middle_m, self.given.plane.at(middle_m))

    def _hinge(
        self,
        domains: list[Domain],
        starts: Sequence[Point],
        index: int,
        contacts: Sequence[Start],
        *,
        midway: Point,
    ) -> Point | None:
        """Where one trace at which beds young the other way comes out; None where no contact tells.

        `midway` is its place half-way between beds.
        """
        left, right = domains[index], domains[index + 1]
        limbs = _limbs(contacts, starts[index][0]) if _turned(left, right) else None
        if limbs is None:
            return None
        # Above and below one trace at a time, the others where they are.
        before = DipDomains(domains=domains[: index + 1], starts=list(starts[:index]))
        after = DipDomains(domains=domains[index + 1 :], starts=list(starts[index + 1 :]))
        met = self._meeting(limbs, before, after)
        if met is None:
            return None
        way = axial_trace(left, right)
        place = meets_ground(met, way, self.given.plane, reach_m=self.given.section.length_m)
        if left.last[0] < place[0] < right.first[0]:
            return place
        # Half-way between beds is as good where the errors of the two outcrops leave it open, or beds turn more than once.
        sd_m = math.hypot(*(one.points[0].sd_m or 0.0 for one in limbs))
        turns = [
            starts[other][0]
            for other, (one, next_one) in enumerate(pairwise(domains))
            if _turned(one, next_one)
        ]
        if (
            abs(place[0] - midway[0]) <= SURE_SD * sd_m
            or sum(limbs[0].at[0] < at_m < limbs[1].at[0] for at_m in turns) != 1
        ):
            return None
        most_m = _PAST_SHARE * (limbs[1].at[0] - limbs[0].at[0])
        for bed, past_m in (
            (left.last, _past(left.last, place, way)),
            (right.first, -_past(right.first, place, way)),
        ):
            if past_m > (0.0 if self.given.on_ground(bed) else most_m):
                return None
        between = (domains[index - 1].last[0] if index else -math.inf) < place[0]
        between &= place[0] < (domains[index + 2].first[0] if index + 2 < len(domains) else math.inf)
        return place if between else None

    def _meeting(self, limbs: tuple[Start, Start], before: DipDomains, after: DipDomains) -> Point | None:
        """Where a contact that is seen on both limbs turns round."""
        one, other = limbs
        for sense in (1.0, -1.0):
            out = before.trace(one.at, sense, reach_m=self.given.plane.reach_m).points
            back = after.trace(other.at, -sense, reach_m=self.given.plane.reach_m).points
            # On any two of their parts: each may turn within its own limb before or after.
            for ahead in pairwise(out):
                for beyond in pairwise(back):
                    run, hit = cut_by(ahead, beyond[0], _step(beyond))
                    if hit and cut_by(beyond, ahead[0], _step(ahead))[1]:
                        return along(ahead, run)[-1]
        return None

    def _axial(self, stretch: Stretch[DipDomains], block: int, contacts: Sequence[Start]) -> list[AxialLine]:
        """Traces as they are drawn: through the ground, both ways, cut at faults, at bends and at the frame."""
        found = []
        plane = stretch.field
        up_to, from_it = _readings_of_limbs(plane.domains)
        for bound in plane.bounds:
            left, right = plane.domains[bound.left], plane.domains[bound.right]
            # One reading is no limb, unless a contact was met on both sides of the hinge.
            mirrored = _turned(left, right) and _limbs(contacts, bound.start[0]) is not None
            reach = min(bound.length, self.given.plane.reach_m)
            far = (bound.start[0] + reach * bound.way[0], bound.start[1] + reach * bound.way[1])
            if (
                not self.given.plane.holds(bound.start)
                or not stretch.low_m - SAME_M <= bound.start[0] <= stretch.high_m + SAME_M
                or not (mirrored or min(up_to[bound.left], from_it[bound.right]) >= _LIMB_READINGS)
            ):
                continue
            far = within(bound.start, far, stretch.low_m, stretch.high_m)
            line = self._at_faults(in_frame((bound.start, far), self.given.plane), block)[0]
            if math.dist(line[0], line[-1]) < 0.5:
                continue
            down = sorted(line[:: len(line) - 1], key=lambda point: -point[1])
            found.append(
                AxialLine(
                    points=tuple((float(x), float(z)) for x, z in down),
                    left_dip_deg=_dip(left.younging_rad),
                    right_dip_deg=_dip(right.younging_rad),
                    hinge=_turned(left, right),
                )
            )
        return found

    def _bends(self, axial: AxialLine, lines: _Paths) -> bool:
        """Whether a contact that is drawn turns at a trace, or it is the hinge of a fold whose axis is known."""
        if axial.hinge and self.axis_known:
            return True
        from shapely import LineString

        trace = LineString(axial.points)
        return any(
            trace.distance(LineString(path)) <= _OTHER_M for path in lines.near(axial.points, _OTHER_M)
        )

    def _under_cover(self, axial: AxialLine, lines: Sequence[ConstructedLine]) -> AxialLine | None:
        """A trace up to the surface that the cover lies on, as the beds that made it were folded before; None over it."""
        upward = axial.points[::-1]
        (low_m, low_up_m), best = upward[0], math.inf
        for line in lines:
            path = [point for piece in line.pieces for point in piece.points]
            for one, other in pairwise(path):
                if min(one[0], other[0]) <= low_m < max(one[0], other[0]):
                    share = (low_m - one[0]) / (other[0] - one[0])
                    if low_up_m > one[1] + share * (other[1] - one[1]) - SAME_M:
                        return None
                if math.dist(one, other) < SAME_M:
                    continue
                run, met = cut_by(upward, one, (other[0] - one[0], other[1] - one[1]))
                place = along(upward, run)[-1]
                # The line goes no farther than it was drawn.
                if met and math.dist(one, place) + math.dist(place, other) <= math.dist(one, other) + SAME_M:
                    best = min(best, run)
        if math.isinf(best):
            return axial
        kept = along(upward, best)
        return replace(axial, points=tuple(kept[::-1])) if math.dist(kept[0], kept[-1]) >= 0.5 else None

    # --- lines

    def _lines(
        self,
        follow: Follower,
        known: Collection[int],
        fields: Mapping[int, Bent[DipDomains]] | None = None,
    ) -> tuple[tuple[ConstructedLine, ...], list[str]]:
        lines = [self._fault_line(fault) for fault in self.given.faults]
        paths: dict[tuple[int, float], TracedLine] = {}
        reasons: dict[tuple[int, float], Stop] = {}
        for index, start in enumerate(self.given.starts):
            for sense in (1.0, -1.0):
                if start.points[0].kind is PointKind.UNCONFORMITY or self.given.covers(start.points[0]):
                    path = self._straight(start, sense)
                elif start.block in known and self.given.turned_by_asked(start):
                    # As any contact whose dip nobody knows, with its younger side on the left of the way.
                    far_m = -sense * start.ahead * self.given.plane.reach_m
                    path = TracedLine(points=(start.at, (start.at[0], start.at[1] + far_m)))
                elif start.block in known:
                    path = follow(start, start.at, sense)
                else:
                    continue
                points = in_frame(path.points, self.given.plane)
                points, fault = self._at_faults(points, start.block)
                if fault:
                    reasons[index, sense] = Stop.AT_FAULT
                if start.points[0].kind is PointKind.UNCONFORMITY or self.given.covers(start.points[0]):
                    points, seen = self._at_other_ground(points, start)
                    if seen:
                        reasons[index, sense] = Stop.OTHER_GROUND
                points, under = self._up_to_cover(points)
                if not under:
                    points, under = self._up_to_pile(points, start.contact)
                if under:
                    reasons[index, sense] = Stop.AT_UNCONFORMITY
                paths[index, sense] = TracedLine(
                    points=points, bounds=path.bounds[: max(0, len(points) - 2)], no_space=path.no_space
                )
        joined, rolling, parted = self._contact_lines(paths, reasons)
        lines += joined
        stop_at_crossings([half for line in lines for half in (*line.halves, *line.middle)])
        again = _out_again(lines, near_m=self.given.near)
        # Of what is drawn alone: a line between two places that goes over no crest and no trough is none from limb to limb.
        through = {line.starts[0].points[0].label for line in lines if _turns_over(line.joined)}
        said = [
            *_rolling([name for name in rolling if name in through]),
            *_parted(parted),
            *_stopped(lines, again),
            *self._no_room(paths),
        ]
        courses: dict[Point, _LineCourse] = {}
        for (index, _), path in paths.items():
            start = self.given.starts[index]
            if fields and start.block in fields:
                field = fields[start.block]
                # What lies over the worn edges of the others goes on by its own reading.
                own = start.points[0].kind is PointKind.UNCONFORMITY or self.given.covers(start.points[0])
                read = 1 if own else field.at(start.at[0]).read_at(start.at[0])
                course = courses.setdefault(start.at, _LineCourse(read, []))
                course.turns.extend(_turns(path, field, sd_deg=self.errors.sd_deg(start.points[0])))
        over = level_lines(self.given.section, self.given.plane, self.given.section.over)
        made = (self._record(line, courses, places) for line, places in zip(lines, again, strict=True))
        return tuple(made) + over + self._surface(), said

    def _no_room(self, paths: Mapping[tuple[int, float], TracedLine]) -> list[str]:
        names = [
            self.given.starts[index].points[0].label for (index, _), path in paths.items() if path.no_space
        ]
        if not names:
            return []
        return [
            (
                f"{listed(list(dict.fromkeys(names)))}: no room for arcs of constant thickness in the core, which "
                "straight limbs close there. Measure beds nearer to the hinge."
            )
        ]

    def _straight(self, start: Start, sense: float) -> TracedLine:
        way = self.given.way_at(start.points[0], start.block)
        if start.points[0].apparent_dip_deg is not None and way[0] < 0.0:
            # A contact's own plane says nothing of way-up: as if the younger unit lay above it.
            way = (-way[0], -way[1])
        reach = self.given.plane.reach_m
        return TracedLine(
            points=(start.at, (start.at[0] + sense * reach * way[0], start.at[1] + sense * reach * way[1]))
        )

    def _fault_line(self, fault: FaultLine) -> _Line:
        reach = self.given.plane.reach_m
        line = _Line(starts=[fault], kind=PointKind.FAULT)
        for sense in (-1.0, 1.0):
            far = (fault.at[0] + sense * reach * fault.way[0], fault.at[1] + sense * reach * fault.way[1])
            points = in_frame((fault.at, far), self.given.plane)
            rank = 3 if fault.measured else 2
            line.halves.append(Half(points=points, rank=rank, owner=line, back=sense < 0.0))
        return line

    def _at_faults(self, points: Sequence[Point], block: int) -> tuple[tuple[Point, ...], bool]:
        best, hit = math.inf, False
        for index in (block - 1, block):
            if 0 <= index < len(self.given.faults):
                run, met = cut_by(points, self.given.faults[index].at, self.given.faults[index].way)
                if met and run < best:
                    best, hit = run, True
        return (along(points, best), True) if hit else (tuple(points), False)

    def _at_other_ground(self, points: Sequence[Point], start: Start) -> tuple[tuple[Point, ...], bool]:
        """An unconformity up to where it would leave what it cuts above it, or what covers it below it, on the profile.

        Where its places leave open on which side of it the ground lies, that stops nothing.
        """
        line = np.asarray(points, dtype=np.float64)
        ran = runs(points)
        low, high = sorted((float(line[0, 0]), float(line[-1, 0])))
        open_m = self.given.open_m(start)
        best = math.inf
        for ground in self.given.section.profile:
            if ground.unit is None or not low <= ground.distance_m <= high:
                continue
            if abs(ground.distance_m - start.at[0]) <= open_m:
                continue
            order = 1 if line[-1, 0] >= line[0, 0] else -1
            at = float(np.interp(ground.distance_m, line[::order, 0], ran[::order]))
            over = float(np.interp(ground.distance_m, line[::order, 0], line[::order, 1])) - ground.up_m
            if (over > _OTHER_M) if self.given.lies_over(start.contact, ground.unit) else (over < -_OTHER_M):
                best = min(best, at)
        return (along(points, best), True) if best < ran[-1] else (tuple(points), False)

    def _up_to_cover(self, points: Sequence[Point]) -> tuple[tuple[Point, ...], bool]:
        """A line up to the plane that the cover lies on: what was over it there was worn off before.

        One that comes out where that plane lies deeper, within its error, goes down from there and no way up.
        """
        over = self.given.section.over
        if not over or len(points) < 2:
            return tuple(points), False
        path = with_bends(points, self.given.section.bends_m)
        base_m, base_up_m = np.array(over[-1].across(self.given.section)).T
        line = np.array(path)
        above_m = line[:, 1] - np.interp(line[:, 0], base_m, base_up_m)
        if above_m[0] > -SAME_M and above_m[1] > above_m[0]:
            return tuple(points[:1]), True
        ran = runs(path)
        for index, (before_m, after_m) in enumerate(pairwise(above_m.tolist())):
            if before_m <= SAME_M < after_m:
                share = max(0.0, -before_m) / (after_m - before_m)
                return along(path, float(ran[index] + share * (ran[index + 1] - ran[index]))), True
        return tuple(points), False

    def _up_to_pile(self, points: Sequence[Point], contact: PlacedContact) -> tuple[tuple[Point, ...], bool]:
        """A line without what lies in the air over ground of a pile on an unconformity, where the contact is of no such pile.

        It was worn off there before the pile was laid down.
        """
        piles = {unit for unit, pile in self.given.above.items() for unit in (unit, *pile)}
        if contact.kind is not ContactKind.CONTACT or contact.younger in piles or len(points) < 2:
            return tuple(points), False
        line, ran = np.asarray(points, dtype=np.float64), np.asarray(runs(points))
        best = math.inf
        for ground in self.given.section.profile:
            if ground.unit not in piles:
                continue
            for index, (one, other) in enumerate(pairwise(line.tolist())):
                if not min(one[0], other[0]) <= ground.distance_m < max(one[0], other[0]):
                    continue
                share = (ground.distance_m - one[0]) / (other[0] - one[0])
                if one[1] + share * (other[1] - one[1]) > ground.up_m + _OTHER_M:
                    best = min(best, float(ran[index] + share * (ran[index + 1] - ran[index])))
        return (along(points, best), True) if best < ran[-1] else (tuple(points), False)

    def _contact_lines(
        self, paths: Mapping[tuple[int, float], TracedLine], reasons: Mapping[tuple[int, float], Stop]
    ) -> tuple[list[_Line], list[str], list[str]]:
        out: dict[tuple[int, float], float] = {}
        for key, path in paths.items():
            run = emerges(path.points, self.given.plane)
            if run is not None:
                out[key] = run
        joined, rolling, parted = joined_lines(self.given, paths, out)
        missed = missed_limbs(self.given, joined)
        on_line = aloft_on_lines(self.given, joined)
        joined = {key: to for key, to in joined.items() if key[0] not in on_line}
        lines: list[_Line] = []
        used: dict[int, _Line] = {}
        for index, start in enumerate(self.given.starts):
            if index in on_line:
                continue
            line = _Line(starts=[start], kind=start.points[0].kind)
            used[index] = line
            for sense in (-1.0, 1.0):
                key = (index, sense)
                if key not in paths or key in joined:
                    continue
                points, reason = paths[key].points, reasons.get(key)
                if key in out:
                    points = along(points, out[key])
                    off_m = min(self.errors.sd_m(point) for point in start.points)
                    # Off by more than it lies from the ground, it leads nowhere else.
                    grazes = grazes_ground(points, self.given.plane, off_m=off_m)
                    reason = None if grazes else Stop.OUT_AGAIN
                if key in missed and len(limb := up_to_hinge(points)) < len(points):
                    points, reason = limb, Stop.AT_HINGE
                over = line.kind is PointKind.UNCONFORMITY or self.given.covers(start.points[0])
                rank = 1 if over else 0
                line.halves.append(
                    Half(points=points, rank=rank, owner=line, back=sense < 0.0, reason=reason)
                )
            lines.append(line)
        for one in _chains(
            joined, [index for index in range(len(self.given.starts)) if index not in on_line]
        ):
            turned = self._turned(one, paths, used, joined)
            for index in one:
                used[index].turned = turned
        dropped: set[_Line] = set()
        for (index, sense), (other, points) in joined.items():
            if sense < 0.0:
                continue
            first, second = used[index], used[other]
            aloft = [self.given.starts[one] for one, line in on_line.items() if line == index]
            merged = _Line(starts=[*first.starts, *second.starts, *aloft], kind=first.kind, joined=points)
            merged.turned = first.turned
            merged.halves = [
                *(half for half in first.halves if half.back),
                *(half for half in second.halves if not half.back),
            ]
            for half in merged.halves:
                half.owner = merged
            if merged.kind is PointKind.UNCONFORMITY:
                merged.middle = [Half(points=points, rank=1, owner=merged, back=False)]
            if first.joined or second.joined:
                # A contact through more than one fold stays as pieces that share an outcrop.
                merged.halves = []
                lines.append(merged)
                continue
            dropped |= {first, second}
            lines.append(merged)
            used[index], used[other] = merged, merged
        return [line for line in lines if line not in dropped], rolling, parted

    def _turned(
        self,
        chain: Sequence[int],
        paths: Mapping[tuple[int, float], TracedLine],
        alone: Mapping[int, _Line],
        joined: Joined,
    ) -> bool:
        """Whether the party saw the younger unit of one line on the other side than the way-up of the beds has it.

        Where its places differ, as where one was carried past a hinge, most of the line decides, of which each has what is
        nearest to it; a tie says nothing.
        """
        votes = []
        for index in chain:
            long_m = math.fsum(float(runs(half.points)[-1]) for half in alone[index].halves)
            long_m += math.fsum(
                float(runs(joined[index, sense][1])[-1]) / 2.0
                for sense in (-1.0, 1.0)
                if (index, sense) in joined
            )
            votes.append(long_m * self._says_turned(index, paths))
        return math.fsum(votes) > SAME_M

    def _says_turned(self, index: int, paths: Mapping[tuple[int, float], TracedLine]) -> int:
        """1 where a place of a contact has its younger unit on the other side than its beds, -1 on the same, 0 unknown."""
        says = 0
        for sense in (1.0, -1.0):
            path = paths.get((index, sense))
            if path is not None and len(path.points) > 1:
                # Left of the way is (-z, x); its part along the section says which side is on the left there.
                left = settled(sense * (path.points[0][1] - path.points[1][1]))
                # Over a crest or a trough, where it is level, it does not tell.
                if abs(left) > math.sin(math.radians(LEVEL_DEG)) * math.dist(*path.points[:2]):
                    says -= self.given.starts[index].ahead * int(np.sign(left))
        return int(np.sign(says))

    def _surface(self) -> tuple[ConstructedLine, ...]:
        found = []
        for point in self.given.loose:
            contact = point.contact
            assert contact is not None
            found.append(
                ConstructedLine(
                    kind=point.kind,
                    younger=contact.younger,
                    older=contact.older,
                    certainty=contact.certainty,
                    queried=contact.queried,
                    contacts=(contact,),
                    outcrops=((point.distance_m, self.given.plane.at(point.distance_m)),),
                    pieces=(),
                )
            )
        return tuple(found)

    def _record(
        self, line: _Line, courses: Mapping[Point, _LineCourse], again: tuple[Point, ...]
    ) -> ConstructedLine:
        back = next((half for half in line.halves if half.back), None)
        ahead = next((half for half in line.halves if not half.back), None)
        points: list[Point] = list(reversed(back.points)) if back else []
        middle = list(line.joined) or [line.starts[0].at]
        points = [*points[:-1], *middle]
        if ahead:
            points += ahead.points[1:]
        points = list(reversed(points)) if line.turned else points
        met = [point for start in line.starts for point in start.points]
        met.sort(key=lambda point: point.distance_m)
        contacts = [point.contact for point in met if point.contact is not None]
        best = min(contacts, key=lambda one: _SURE.index(one.certainty) if one.certainty else len(_SURE))
        of_beds = line.kind is PointKind.CONTACT
        return ConstructedLine(
            kind=line.kind,
            younger=best.younger,
            older=best.older if len({one.older for one in contacts}) == 1 else None,
            certainty=best.certainty,
            queried=any(one.queried for one in contacts),
            contacts=tuple(contacts),
            outcrops=tuple(
                sorted(
                    (float(start.at[0]), float(start.at[1]))
                    for start in line.starts
                    if self.given.on_ground(start.at)
                )
            ),
            pieces=pieces(points, self.given.plane),
            stopped=tuple(half.reason for half in line.halves if half.reason),
            course_known=any(self.given.tells(point) for point in met)
            and not any(isinstance(one, Start) and self.given.turned_by_asked(one) for one in line.starts),
            error=self._error(line, courses),
            again=again,
            over_m=self.rooms.get(best.younger or "") if of_beds else None,
            under_m=self.rooms.get(best.older or "") if of_beds else None,
        )

    def _error(self, line: _Line, courses: Mapping[Point, _LineCourse]) -> LineError | None:
        """Of a line from two outcrops that of the one that is known better.

        It goes on as the mean of the beds of its domain does, which is surer by the root of their number, up to `_MEAN_OF`.
        """
        starts = [start for start in line.starts if isinstance(start, Start)]
        told = [(self.errors.sd_m(point), point, start) for start in starts for point in start.points]
        best = least(told, key=lambda one: one[0])
        if best is None or not any(self.given.tells(point) for start in starts for point in start.points):
            return None
        sd_m, point, start = best
        course = courses.get(start.at, _LineCourse(1, []))
        at = self.given.place(point)
        way = self.given.way_at(point, start.block)
        # Two arms that disagree leave it anywhere between: of what lies anywhere within 1 the deviation is 1 / sqrt(12).
        apart_m = [
            abs((other[0] - at[0]) * way[1] - (other[1] - at[1]) * way[0])
            for other in map(self.given.place, start.points)
        ]
        return LineError(
            at=(float(at[0]), float(at[1])),
            sd_m=settled(max(sd_m, *(each / math.sqrt(12.0) for each in apart_m))),
            sd_deg=settled(self.errors.sd_deg(point) / math.sqrt(min(course.read, _MEAN_OF))),
            turns=tuple(course.turns),
        )


class _Paths:
    """Lines that are drawn, and where each lies."""

    def __init__(self, lines: Sequence[ConstructedLine]) -> None:
        paths = [[point for piece in line.pieces for point in piece.points] for line in lines]
        self.paths = [path for path in paths if path]
        self.low = np.array([np.min(path, axis=0) for path in self.paths]).reshape(-1, 2)
        self.high = np.array([np.max(path, axis=0) for path in self.paths]).reshape(-1, 2)

    def near(self, points: Sequence[Point], within_m: float) -> Iterator[list[Point]]:
        """Those that may come so near to another: by the boxes round them."""
        low, high = (fold(points, axis=0) for fold in (np.min, np.max))
        apart = np.maximum(self.low - high, low - self.high).max(axis=1, initial=-np.inf)
        return (self.paths[index] for index in np.flatnonzero(apart <= within_m + SAME_M).tolist())


def _chains(joined: Joined, starts: Iterable[int]) -> list[list[int]]:
    """Starts of each line, those joined to one another in the order in which it passes them."""
    found = []
    for first in starts:
        if (first, -1.0) in joined:
            continue
        found.append([first])
        while (found[-1][-1], 1.0) in joined:
            found[-1].append(joined[found[-1][-1], 1.0][0])
    return found


class _LineCourse(NamedTuple):
    """How a line goes on from where it comes out."""

    read: int
    """Beds that its direction there is the mean of."""
    turns: list[LineTurn]


def _turns(path: TracedLine, field: Bent[DipDomains], *, sd_deg: float) -> Iterator[LineTurn]:
    """Where a line turns at an axial trace, and what it is off by beyond.

    The trace lies anywhere between the beds that were read on either side of it. Moved by 1, it moves the line by the length of
    the difference of both unit normals, over that of the normal beyond, as seen on the section: by twice the sine of half
    the turn, where that runs square to the fold. The standard deviation of what lies anywhere within 1 is 1 / sqrt(12). Of a
    turn only what the scatter of the readings on both sides, each good to `sd_deg`, does not make is a turn of the beds.
    """
    for index, (at, bound) in enumerate(zip(path.points[1:-1], path.bounds, strict=False)):
        crossed = field.crossed(bound)
        if crossed is None:
            continue
        trace = crossed[0].bounds[crossed[1]]
        sides = [crossed[0].domains[side] for side in (trace.left, trace.right)]
        onward = path.points[index + 2][0] - at[0], path.points[index + 2][1] - at[1]
        before, beyond = sorted(
            sides, key=lambda one: -abs(onward[0] * one.along[1] - onward[1] * one.along[0])
        )
        read_rad = wrap(beyond.younging_rad - before.younging_rad)
        parted = sum(1.0 / one.count for one in sides)
        turn_rad = math.sqrt(max(0.0, read_rad**2 - parted * math.radians(sd_deg) ** 2))
        of_turn = turn_rad / abs(read_rad) if read_rad else 0.0
        apart = math.hypot(
            (beyond.normal - before.normal) * of_turn,
            2.0 * math.sqrt(before.normal * beyond.normal) * math.sin(turn_rad / 2.0),
        )
        across = beyond.normal * math.sin(turn_rad) / apart if apart else 1.0
        yield LineTurn(
            at=(float(at[0]), float(at[1])),
            sd_m=settled(apart / max(_LEAST_NORMAL, beyond.normal) * trace.gap_m / math.sqrt(12.0)),
            reach_m=settled(trace.gap_m / 2.0 / max(_ALONG, across)),
        )


def _turned(left: Domain, right: Domain) -> bool:
    """Whether beds young the other way, level, from one domain to the next."""
    return math.sin(left.younging_rad) * math.sin(right.younging_rad) < 0.0


def _readings_of_limbs(domains: Sequence[Domain]) -> tuple[list[int], list[int]]:
    """How many readings the limb that a domain is of rests on up to it, and from it on, as far as beds young one way."""
    up_to = [one.readings for one in domains]
    from_it = list(up_to)
    for at, (one, other) in enumerate(pairwise(domains)):
        up_to[at + 1] += 0 if _turned(one, other) else up_to[at]
    for at in range(len(domains) - 2, -1, -1):
        from_it[at] += 0 if _turned(domains[at], domains[at + 1]) else from_it[at + 1]
    return up_to, from_it


def _dip(younging_rad: float) -> float:
    """Apparent dip of a bed, positive down with increasing distance, by its younging angle."""
    dip, _ = dip_of(np.array([math.sin(younging_rad), 0.0, math.cos(younging_rad)]))
    return math.copysign(dip, math.tan(younging_rad)) if dip else 0.0


_SAID = {
    Stop.OUT_AGAIN: (
        "{names} {comes} out of the ground again where {it} {were} not met: look there, or measure more beds between."
    ),
    Stop.AT_HINGE: (
        "{names} {ends} where the beds turn: followed on from there, {it} would miss the other limb. Measure more beds there."
    ),
    Stop.OTHER_GROUND: "{names} {ends} where, drawn on, {it} would pass ground seen to be of another unit.",
    Stop.AT_CONTACT: "{names} would cross: look again at the dips beside them.",
}


def _turns_over(points: Sequence[Point]) -> bool:
    """Whether a line goes over a crest or through a trough between its ends."""
    heights = [up_m for _, up_m in points]
    ends = heights[:1] + heights[-1:]
    return bool(ends) and (max(heights) > max(ends) + SAME_M or min(heights) < min(ends) - SAME_M)


def _rolling(names: Sequence[str]) -> list[str]:
    if not names:
        return []
    each = list(dict.fromkeys(names))
    drawn = "is drawn as one line" if len(each) == 1 else "are drawn as one line each"
    return [
        f"{listed(each)} {drawn} from limb to limb: followed by its beds, one misses the other. Measure more beds there."
    ]


def _parted(names: Sequence[str]) -> list[str]:
    if not names:
        return []
    each = list(dict.fromkeys(names))
    are = "is" if len(each) == 1 else "are"
    return [f"{listed(each)} {are} not joined from limb to limb: a fault that is left off may run between."]


def _out_again(lines: Sequence[_Line], *, near_m: float) -> list[tuple[Point, ...]]:
    """Where each comes out of the ground again and was not met.

    It was where a line of the same contact comes out near there; and what passes such a place on its way leads nowhere.
    """
    out: dict[str, list[Point]] = {}
    for line in lines:
        for start in line.starts:
            out.setdefault(start.points[0].label, []).append(start.at)
    found: list[tuple[Point, ...]] = []
    for line in lines:
        own = {start.at for start in line.starts}
        others = [at for at in out[line.starts[0].points[0].label] if at not in own]
        again: list[Point] = []
        for half in line.halves:
            if half.reason is not Stop.OUT_AGAIN:
                continue
            end = half.points[-1]
            low_m, high_m = sorted((half.points[0][0], end[0]))
            if not any(low_m < at[0] < high_m or math.dist(end, at) <= near_m for at in others):
                again.append((float(end[0]), float(end[1])))
        found.append(tuple(again))
    return found


def _unsure(lines: Sequence[ConstructedLine], *, near_m: float, lengths: Lengths) -> list[str]:
    """Contacts that may lie off in the ground by more than two places of one that are one line."""
    off_m: dict[str, float] = {}
    for line in lines:
        if line.kind is not PointKind.CONTACT:
            continue
        # It grows either way from where the line was met: nowhere is it larger than at an end of a piece.
        ends = [
            end for piece in line.pieces if not piece.eroded for end in (piece.points[0], piece.points[-1])
        ]
        sd_m = max((line.sd_at(end) or 0.0 for end in ends), default=0.0)
        if sd_m > near_m:
            name = f"{line.younger}/{line.older}"
            off_m[name] = max(off_m.get(name, 0.0), sd_m)
    if not off_m:
        return []
    far = lengths.said(max(off_m.values()))
    return [
        f"{listed(list(off_m))} may lie up to {far} off as drawn, 1 sd: measure more beds where they turn, or lay it nearer the walk."
    ]


def _stopped(lines: Sequence[_Line], again: Sequence[tuple[Point, ...]]) -> list[str]:
    """One sentence for each thing that could not be drawn on, of those that come out `again` where they were not met."""
    told: dict[Stop, list[str]] = {}
    for line, places in zip(lines, again, strict=True):
        label = line.starts[0].points[0].label
        for half in line.halves:
            if half.reason in _SAID and half.reason is not Stop.OUT_AGAIN:
                told.setdefault(half.reason, []).append(label)
        if places:
            told.setdefault(Stop.OUT_AGAIN, []).append(label)
    said = []
    for reason, labels in told.items():
        names = list(dict.fromkeys(labels))
        one = len(names) == 1
        said.append(
            _SAID[reason].format(
                names=listed(names)
                if not one or reason is not Stop.AT_CONTACT
                else f"Two lines of {names[0]}",
                comes="comes" if one else "come",
                ends="ends" if one else "end",
                it="it" if one else "they",
                were="was" if one else "were",
            )
        )
    return said
