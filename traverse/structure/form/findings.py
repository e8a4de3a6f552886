"""What can be said of the structure, and what the data leave open; never from poles alone."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from traverse.angle import mean_axis, mean_azimuth, wrap_180
from traverse.length import Lengths
from traverse.location.records import Closure
from traverse.log.items import ContactKind
from traverse.log.records import Log
from traverse.settled import settled, settled_all
from traverse.structure.form.domains import BedDomain
from traverse.structure.form.finding_words import rests_on, sentence
from traverse.structure.form.records import (
    AxisFound,
    AxisOpen,
    BedsDip,
    BedsOverturned,
    BelowAlone,
    BrokenGround,
    ContactPlane,
    Discordance,
    FaultSeen,
    Finding,
    Level,
    Mirror,
    OneFault,
    OneSurface,
    OnOneLine,
    OpenDiscordance,
    Other,
    StructuralForm,
    Told,
    TurnedBetween,
    UnitsMirrored,
)
from traverse.structure.form.what_beds_tell import (
    against,
    all_round,
    by_dips,
    hinges,
    lone_beds,
    turns_again,
)
from traverse.structure.form.what_units_tell import by_the_ground, fold_by_units, mirrored, repeats
from traverse.structure.readings.directions import Vectors, dip_of, pole, pole_angle
from traverse.structure.readings.mean import principal_axis
from traverse.structure.readings.place_errors import contact_pole, poles_of
from traverse.structure.readings.records import ABOUT_NO_LINE, MeanBedding, PlacedContact, PlaneAttitude
from traverse.structure.thickness.records import Thickness
from traverse.structure.walk.across import Across, address_words, unit_ranks
from traverse.structure.walk.records import BandStretch, Body
from traverse.trade import (
    ALIKE_DEG,
    DISCORDANT_DEG,
    FOLDED_DEG,
    GENTLE_DEG,
    INTERLIMB_DEG,
    LEVEL_DEG,
    NEARLY_FLAT_DEG,
    ONE_LINE_ACROSS,
    PRINTS_LEVEL_DEG,
    REACH_M,
    STANDING_DEG,
    SURE_POLE_SD,
    SURE_SD,
)

if TYPE_CHECKING:
    from shapely import STRtree


def findings(
    log: Log,
    told_by: Sequence[tuple[BedDomain, Across | None]],
    beds: Sequence[PlaneAttitude],
    contacts: tuple[PlacedContact, ...],
    thicknesses: Sequence[Thickness],
    planes: Sequence[ContactPlane] = (),
    caps: frozenset[str] = frozenset(),
    closures: Sequence[Closure] = (),
    faults: Sequence[FaultSeen] = (),
    below: Sequence[BelowAlone] = (),
) -> tuple[Told, ...]:
    """Facts with their numbers, what they make together, and what is missing, each with its sentence.

    `told_by` are the domains, the one with most beds first, and the walk across each.
    """
    rank = unit_ranks(log)
    said: list[Told] = []
    several = len(told_by) > 1
    last: list[Told] = []
    for domain, seen in told_by:
        head = _head([one for one, _ in told_by], domain) if several else ""
        found, open_axis = _of_domain(domain, seen, rank, thicknesses)
        said += [_told(one, log.lengths, head) for one in found]
        last += [_told(one, log.lengths, head) for one in open_axis]
    said += [_told(one, log.lengths) for one in (*_discordances(beds, contacts, rank, caps), *below)]
    said += [
        _told(one, log.lengths) for one in (*_on_one_line(contacts, planes), *faults, *_one_fault(faults))
    ]
    if any(one.finding.level is not Level.OBSERVED for one in said):
        said += [_told(one, log.lengths) for one in _broken(closures)]
    return (*said, *last)


def _broken(closures: Sequence[Closure]) -> list[Finding]:
    """The first loop whose gap stays open in the ground."""
    gaps = [one for one in closures if one.q > one.limits.refuse and not one.adjusted]
    return [BrokenGround(start=one.stations[0], off_m=one.misclosure.distance_m) for one in gaps[:1]]


def _told(one: Finding, lengths: Lengths, head: str = "") -> Told:
    return Told(finding=one, words=head + sentence(one, lengths), rests_on=rests_on(one))


def _head(every: Sequence[BedDomain], domain: BedDomain) -> str:
    """Which body a sentence speaks of, where there are several."""
    bodies = sorted(one.body for one in every)
    if domain.body == bodies[-1]:
        return "Below the unconformity: "
    if domain.body == bodies[0]:
        return "Above the unconformity: "
    return "Between the unconformities: "


def _of_domain(
    domain: BedDomain, seen: Across | None, rank: Mapping[str, int], thicknesses: Sequence[Thickness]
) -> tuple[list[Finding], list[Finding]]:
    """What is said of one domain, and that it has no axis."""
    beds, mean, axis = domain.beds, domain.mean, domain.axis
    form = recognised(seen, rank, thicknesses) if seen is not None else ()
    if domain.no_axis is not None and domain.no_axis.why in ABOUT_NO_LINE:
        form = tuple(_about_no_line(one) for one in form)
    said: list[Finding] = []
    # The axis goes with what the beds make; that there is none comes last.
    if axis is not None:
        closed = tuple({one.closed for one in form if one.closed is not None})
        said.append(
            AxisFound(
                axis=axis, readings=beds, level=Level.FOLLOWS, others=closed if len(closed) == 1 else ()
            )
        )
    said.append(_dips(beds))
    said += _overturned(beds, form)
    said += _one_surface(beds, mean) if mean is not None else []
    said += form
    return said, [] if domain.no_axis is None else [AxisOpen(readings=beds, lacks=domain.no_axis)]


def recognised(
    seen: Across, rank: Mapping[str, int], thicknesses: Sequence[Thickness]
) -> tuple[Finding, ...]:
    """What beds and units across the strike make together, the best founded first."""
    around = all_round(seen.beds)
    if around is not None:
        # A walk round it crosses its units out and back, which is no repeat.
        return (around,)
    bare = by_the_ground(seen)
    mirror = mirrored(seen)
    if mirror is not None and not turns_again(seen.beds):
        folds = _perhaps_closed(fold_by_units(seen, mirror, rank, thicknesses), seen)
        return (*folds, *repeats(seen), *bare)
    lone = lone_beds(seen.beds)
    if lone:
        seen = seen.without(lone)
        bare.append(against(lone))
    turns = by_dips(seen, rank)
    return (*_perhaps_closed(turns, seen), *repeats(seen, hinges(seen.beds, turns)), *bare)


def _perhaps_closed(found: Sequence[Finding], seen: Across) -> list[Finding]:
    """Open folds crossed on one line alone, with the dome or basin that would show the same there."""
    return [
        replace(one, others=(*one.others, _closed_as(one.form)))
        if one.form is not None and _open_on_one_line(one, one.form, seen)
        else one
        for one in found
    ]


def _about_no_line(one: Finding) -> Finding:
    """A fold whose beds turn about no one line has no one axial surface, and an open one may be closed all round."""
    if one.form is None or one.form.fold is None:
        return one
    fold = replace(one.form.fold, axial_dip_deg=None, axial_dip_direction_deg=None)
    others = (*one.others, _closed_as(one.form)) if _may_close(one.form) else one.others
    return replace(one, form=replace(one.form, fold=fold), others=tuple(dict.fromkeys(others)))


def _closed_as(form: StructuralForm) -> Other:
    return Other.BASIN if form.kind.hollow else Other.DOME


def _may_close(form: StructuralForm) -> bool:
    """Whether it is so open that a dome or a basin could show the same."""
    return form.fold is not None and not form.overturned and form.fold.interlimb_deg > INTERLIMB_DEG[1]


def _open_on_one_line(one: Finding, form: StructuralForm, seen: Across) -> bool:
    if not _may_close(form):
        return False
    where = np.array([(bed.place.east_m, bed.place.north_m) for bed in one.readings])
    turn = math.radians(seen.azimuth_deg - seen.to_true_deg)
    across = np.ptp(where @ (math.sin(turn), math.cos(turn)))
    along = np.ptp(where @ (math.cos(turn), -math.sin(turn)))
    return settled(float(along - ONE_LINE_ACROSS * across), 6) < 0.0


def _dips(beds: Sequence[PlaneAttitude]) -> BedsDip:
    read = tuple(beds)
    dipping = [bed for bed in beds if bed.dip_deg >= LEVEL_DEG]
    if not dipping:
        return BedsDip(readings=read, flat=True, toward_deg=None)
    if all(bed.dip_deg >= 90.0 - SURE_SD * bed.sd_deg for bed in beds):
        strike, strength = mean_axis([bed.strike_deg for bed in beds])
        if strength > math.cos(math.radians(2.0 * ALIKE_DEG)):
            return BedsDip(readings=read, toward_deg=None, standing_deg=strike % 180.0)
    # A bed that stands upright goes down to no side.
    sided = [bed for bed in dipping if bed.dip_deg <= STANDING_DEG]
    if not sided:
        return BedsDip(readings=read, toward_deg=None)
    # Among steep beds the direction of a gentle one means little.
    steep = [bed for bed in sided if bed.dip_deg >= GENTLE_DEG]
    steepest = max((round(bed.dip_deg) for bed in sided), default=0) >= 2.0 * GENTLE_DEG
    all_ways, steep_ways = _one_way(sided), _one_way(steep) if steepest else None
    return BedsDip(
        readings=read,
        toward_deg=steep_ways if all_ways is None else all_ways,
        sided=tuple(sided),
        level_beds=tuple(bed for bed in beds if bed.dip_deg < LEVEL_DEG),
        upright_ones=len(dipping) - len(sided),
        steep_ones=all_ways is None and steep_ways is not None,
    )


def _one_way(beds: Sequence[PlaneAttitude]) -> float | None:
    """Mean direction toward which all of some dipping beds go down; None where they differ."""
    ways = [bed.dip_direction_deg for bed in beds]
    mean_way = mean_azimuth(ways)[0]
    return None if any(abs(wrap_180(way - mean_way)) > 60.0 for way in ways) else mean_way


def _overturned(beds: Sequence[PlaneAttitude], form: Sequence[Finding]) -> list[Finding]:
    """Where beds are overturned, unless what they make says so already."""
    over = tuple(bed for bed in beds if bed.overturned)
    told = any(
        isinstance(one, TurnedBetween)
        or (isinstance(one, UnitsMirrored) and one.says in {Mirror.OVERTURNED_LIMB, Mirror.PART_OVERTURNED})
        for one in form
    )
    return [BedsOverturned(readings=over)] if over and not told else []


def _one_surface(beds: Sequence[PlaneAttitude], mean: MeanBedding) -> list[Finding]:
    """Gentle beds by their mean: strikes of readings that agree may differ by a quarter of the compass."""
    steepest = max((bed.dip_deg for bed in beds), default=0.0)
    # Of beds all of which print as flat nothing more is told.
    if len(beds) < 3 or not PRINTS_LEVEL_DEG <= steepest <= GENTLE_DEG:
        return []
    centre = pole(mean.dip_deg, dip_direction_deg=mean.dip_direction_deg)
    off = max(pole_angle(one, centre) for one in poles_of(beds))
    return [OneSurface(readings=tuple(beds), mean=mean, off_deg=off)]


def below_alone(
    bodies: Sequence[Body], band: Sequence[BandStretch], domain: Callable[[str | None], int | None]
) -> tuple[BelowAlone, ...]:
    """Intrusive units that were met below an unconformity alone, by the `domain` of each unit; loose ground is none."""
    walked = list(dict.fromkeys(one.unit for one in band if one.unit is not None))
    found = []
    for unit in dict.fromkeys(one.unit for one in bodies):
        crossed = [one for one in bodies if one.unit == unit]
        hosts = list(dict.fromkeys(end.host for one in crossed for end in one.ends if end.host is not None))
        levels = [level for host in hosts if (level := domain(host)) is not None]
        top = min(levels, default=-1)
        over = [
            one
            for one in walked
            if one not in hosts and (level := domain(one)) is not None and 0 <= level < top
        ]
        if over:
            found.append(
                BelowAlone(
                    unit=unit,
                    hosts=tuple(hosts),
                    over=tuple(over),
                    contacts=tuple(wall for one in crossed for wall in one.walls),
                )
            )
    return tuple(found)


def _on_one_line(contacts: tuple[PlacedContact, ...], planes: Sequence[ContactPlane]) -> list[Finding]:
    """Contacts that three places or more would give a plane, did they not lie on one line, and that nothing else tells."""
    return [
        OnOneLine(plane=one, contacts=tuple(met for met in contacts if met.booked.span in one.lines))
        for one in planes
        if one.strike_deg is None and one.dip_deg is None and not one.told_elsewhere
    ]


def _one_fault(faults: Sequence[FaultSeen]) -> list[Finding]:
    """Each fault that several places are taken for; only a steep one is joined in a straight line, no farther than a plane reaches."""
    return [
        OneFault(
            contacts=one.faults,
            read=tuple(met for met in one.faults if met.booked.plane is not None),
            beyond_reach=one.faults[0].of_fault is not None and _beyond_reach(one.faults),
            level=Level.FOLLOWS,
            others=(Other.IN_LINE,),
        )
        for one in faults
        if len(one.faults) > 1
    ]


def _beyond_reach(met: Sequence[PlacedContact]) -> bool:
    """Whether places of one line leave a gap in it that is wider than a plane is carried over the ground."""
    places = np.array([(one.place.east_m, one.place.north_m) for one in met])
    off = places - places.mean(axis=0)
    along = settled_all(off @ np.linalg.svd(off)[2][0])
    steps = np.diff(places[np.argsort(along, kind="stable")], axis=0)
    return bool((settled_all(np.hypot(*steps.T)) > REACH_M).any())


def _discordances(
    beds: Sequence[PlaneAttitude],
    contacts: tuple[PlacedContact, ...],
    rank: Mapping[str, int],
    caps: frozenset[str],
) -> list[Finding]:
    """Flat over dipping, pair by pair of units that meet, by more than both were misread by where it was not logged.

    Of an unconformity by beds of the older unit only where they are of the limb that lies under it there: of a place where
    that was not read, nothing is told.
    """
    booked: dict[str, list[PlaneAttitude]] = {}
    for bed in beds:
        if bed.unit is not None:
            booked.setdefault(bed.unit, []).append(bed)
    read = {unit: _UnitBeds(found) for unit, found in booked.items()}
    pairs: dict[tuple[str, str], list[PlacedContact]] = {}
    for contact in contacts:
        if (
            contact.younger is not None
            and contact.older is not None
            and contact.kind is not ContactKind.FAULT
        ):
            pairs.setdefault((contact.younger, contact.older), []).append(contact)
    said: list[Finding] = []
    for (younger, older), met in pairs.items():
        stray: list[PlacedContact] = []
        if older in read and any(one.kind is ContactKind.UNCONFORMITY for one in met):
            # With those of the older unit itself, also where the list of units has it above the other.
            low = rank.get(younger, 0)
            under = _UnitBeds(
                [bed for bed in beds if bed.unit == older or rank.get(bed.unit or "", -1) > low]
            )
            stray = [
                one
                for one in met
                if one.kind is ContactKind.UNCONFORMITY
                and pole_angle(under.at(one)[0], read[older].at(one)[0]) > FOLDED_DEG
            ]
        told = (
            _discordance(one, booked, read, rank, caps, elsewhere=bool(stray))
            for one in met
            if not any(one is other for other in stray)
        )
        found = next((one for one in told if one is not None), None)
        if found is None and stray:
            found = _open_discordance(stray[0], younger, older, older, elsewhere=True)
        logged = tuple(one for one in met if one.kind is ContactKind.UNCONFORMITY)
        if found is None and logged and rank.get(younger, 0) < rank.get(older, 0):
            # Both have beds, or it would be open.
            apart = [
                pole_angle(read[younger].nearest(one), read[older].nearest(one))
                for one in logged
                if younger in read and older in read
            ]
            if apart and max(apart) < DISCORDANT_DEG:
                found = OpenDiscordance(
                    contacts=logged,
                    younger=younger,
                    older=older,
                    lacking=None,
                    differ_deg=settled(max(apart), 3),
                )
        said += [] if found is None else [found]
    return said


def _discordance(
    contact: PlacedContact,
    booked: Mapping[str, Sequence[PlaneAttitude]],
    read: Mapping[str, _UnitBeds],
    rank: Mapping[str, int],
    caps: frozenset[str],
    *,
    elsewhere: bool,
) -> Finding | None:
    """What one contact tells; `elsewhere` the two units met where the beds of the older are of another limb."""
    younger, older = contact.younger or "", contact.older or ""
    logged = contact.kind is ContactKind.UNCONFORMITY
    upper, lower = (read[unit].at(contact) if unit in read else None for unit in (younger, older))
    if upper is None and (own := contact_pole(contact)) is not None:
        upper = (own[0], 0.0, own[1])
    if upper is None or lower is None:
        lacking = younger if upper is None else older
        return _open_discordance(contact, younger, older, lacking) if logged else None
    if younger in caps and not logged:
        return None
    apart = pole_angle(upper[0], lower[0])
    flat, tilt = dip_of(upper[0])[0], dip_of(lower[0])
    if apart < DISCORDANT_DEG or rank.get(younger, 0) > rank.get(older, 0):
        return None
    sure_deg = SURE_POLE_SD * math.hypot(upper[2], lower[2])
    if not logged and (
        flat > NEARLY_FLAT_DEG
        or max(upper[1], lower[1]) >= DISCORDANT_DEG
        or apart <= sure_deg
        or (younger in read and not read[younger].one_plane)
    ):
        return None
    return Discordance(
        readings=(*booked.get(younger, ()), *booked.get(older, ())),
        contacts=(contact,),
        younger=younger,
        older=older,
        logged=logged,
        upper_dip_deg=flat,
        lower_dip_deg=tilt[0],
        lower_direction_deg=tilt[1],
        apart_deg=apart,
        elsewhere=elsewhere and logged,
        level=Level.OBSERVED if logged else Level.POSSIBLE,
        others=() if logged else (Other.FLAT_FAULT,),
        decides=None if logged else f"the contact {address_words(contact.booked.address)}",
    )


def _open_discordance(
    contact: PlacedContact, younger: str, older: str, lacking: str, *, elsewhere: bool = False
) -> Finding:
    return OpenDiscordance(
        contacts=(contact,),
        younger=younger,
        older=older,
        lacking=lacking,
        elsewhere=elsewhere,
        decides=f"a bed of {lacking}",
    )


class _UnitBeds:
    """The beds of a unit, at least one."""

    def __init__(self, beds: Sequence[PlaneAttitude]) -> None:
        self._poles = poles_of(beds)
        self._mean = principal_axis(self._poles)
        self._beds = beds

    @property
    def one_plane(self) -> bool:
        """Whether they lie off their mean by no more than they were misread by: the two sides of a gentle fold don't."""
        off = (
            pole_angle(one, self._mean[0]) / bed.sd_deg
            for one, bed in zip(self._poles, self._beds, strict=True)
        )
        return settled(max(off)) <= SURE_POLE_SD

    @cached_property
    def _places(self) -> STRtree:
        # Only of folded beds: a check of a short log shall not wait for the library.
        import shapely

        return shapely.STRtree(shapely.points([(bed.place.east_m, bed.place.north_m) for bed in self._beds]))

    def at(self, contact: PlacedContact) -> tuple[Vectors, float, float]:
        """Mean pole, spread and error in degrees; of folded beds the one nearest to a contact, since limbs have no mean."""
        sd_deg = max(bed.sd_deg for bed in self._beds)
        if len(self._poles) < 2 or self._mean[1] <= FOLDED_DEG:
            return *self._mean, sd_deg / math.sqrt(len(self._poles))
        return self.nearest(contact), 0.0, sd_deg

    def nearest(self, contact: PlacedContact) -> Vectors:
        """The pole of that nearest to a contact."""
        if len(self._poles) < 2:
            return np.asarray(self._poles[0])
        from shapely import Point

        here = Point(contact.place.east_m, contact.place.north_m)
        return np.asarray(self._poles[int(self._places.nearest(here))])
