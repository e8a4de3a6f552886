"""The walk seen across the strike: beds and units in the order in which they lie, from which folds are told."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import replace
from itertools import accumulate
from statistics import median

import numpy as np

from traverse.angle import mean_axis, wrap_360
from traverse.location.records import HeightsMeasured, PlacedAddress, Survey
from traverse.log.items import Address, Contact, ContactKind
from traverse.log.records import Log
from traverse.nearest import Nearest
from traverse.record import record
from traverse.settled import SAME_M, first_least, settled, settled_all
from traverse.source import Span
from traverse.structure.readings.directions import Vectors, apparent_dips, pole_angle, pole_angles
from traverse.structure.readings.mean import principal_axis
from traverse.structure.readings.place_errors import (
    bed_pole,
    contact_pole,
    place_covariance,
    place_vector,
    poles_of,
)
from traverse.structure.readings.records import FoldAxis, PlacedContact, PlaneAttitude
from traverse.structure.walk.arms import ArmStep, arms
from traverse.structure.walk.beds import Bed
from traverse.structure.walk.outliers import Outlier, without_outliers
from traverse.structure.walk.records import BandStretch, UnsaidBody
from traverse.trade import ALIKE_DEG, CAP_DEG, LEVEL_DEG, POLE_SD_DEG, PRINTS_LEVEL_DEG, SURE_SD


@record(frozen=True, slots=True, kw_only=True)
class Across:
    """The walk across the strike."""

    azimuth_deg: float
    """True azimuth along which distances count."""
    beds: tuple[Bed, ...]
    """By distance; beds of other bodies left out."""
    arms: tuple[tuple[ArmStep, ...], ...]
    """Bedrock units along each arm of the walk, with increasing distance; the widest arm first."""
    left_out: frozenset[str]
    """Units of other bodies: loose ground, and what an unconformity parts from these."""
    contacts: tuple[PlacedContact, ...]
    contacts_m: Mapping[Span, float]
    """Distance of each contact, by its line."""
    outliers: tuple[Outlier, ...] = ()
    """Units that come again on an arm because of the ground alone; left out of `arms`."""
    heights: bool = True
    """Whether any were measured."""
    turning: bool = False
    """Whether its beds turn about an axis."""
    to_true_deg: float = 0.0
    """Of the grid."""
    unsaid: Mapping[str, UnsaidBody]
    """Units that may be bodies, though nobody said so."""
    met: Mapping[frozenset[str | None], tuple[PlacedContact, ...]]
    """Contacts by their two units."""
    met_m: Mapping[frozenset[str | None], Vectors]
    """The distances of the same, each (n,)."""
    near: Nearest
    """Of beds, by place."""
    alike: tuple[Vectors, float] | None
    """Normal of beds that do not turn, told better by all of them than by the nearest, and its sd in degrees."""

    def border(self, arm: Sequence[ArmStep], index: int) -> PlacedContact | None:
        """The contact at which a step of an arm begins, the nearest of its two units; None where none was booked."""
        if not 0 < index < len(arm):
            return None
        pair = frozenset({arm[index - 1].unit, arm[index].unit})
        if pair not in self.met:
            return None
        off = np.abs(self.met_m[pair] - arm[index].start_m)
        return self.met[pair][first_least(off, same=SAME_M)]

    def borders(self, arm: Sequence[ArmStep], index: int) -> tuple[PlacedContact, ...]:
        """The contacts at both ends of a step of an arm."""
        found = (self.border(arm, index), self.border(arm, index + 1))
        return tuple(one for one in found if one is not None)

    def is_one_contact(self, met: Sequence[PlacedContact]) -> bool:
        """Whether one plane, as the beds beside both places lie, goes through two places of a contact.

        Within three standard errors of the places and of the attitude that is carried from one to the other. Beds that
        differ by more than two readings of one panel leave it a contact met twice.
        """
        if len(met) != 2 or {met[0].younger, met[0].older} != {met[1].younger, met[1].older}:
            return False
        if met[0] is met[1]:
            return True
        normals = [self._normal_at(one) for one in met]
        first, last = normals
        if first is None or last is None or pole_angle(first, last) > ALIKE_DEG:
            return False
        normal, normal_sd_deg = self.alike or (principal_axis(np.array([first, last]))[0], POLE_SD_DEG)
        step = place_vector(met[1].place) - place_vector(met[0].place)
        error = sum(float(normal @ place_covariance(one) @ normal) for one in met)
        carried = math.hypot(*step.tolist()) * math.radians(normal_sd_deg)
        return abs(float(step @ normal)) <= SURE_SD * math.hypot(math.sqrt(max(0.0, error)), carried)

    def _normal_at(self, contact: PlacedContact) -> Vectors | None:
        """Normal of a contact in the grid: its own, else that of the nearest bed."""
        own = contact_pole(contact, to_true_deg=self.to_true_deg)
        if own is None:
            if not self.beds:
                return None
            near = self.beds[self.near.to(contact.place.east_m, contact.place.north_m)].attitude
            own = bed_pole(near, to_true_deg=self.to_true_deg)
        return own[0]

    def without(self, beds: Collection[Bed]) -> Across:
        """The same with some beds left out."""
        kept = tuple(bed for bed in self.beds if not any(bed is one for one in beds))
        return replace(self, beds=kept, near=_near(kept))

    def toward_deg(self, sense: float) -> float:
        """True azimuth of increasing distance, or the other way where `sense` is not above 0."""
        return self.azimuth_deg + (0.0 if sense > 0.0 else 180.0)


def _near(beds: Sequence[Bed]) -> Nearest:
    return Nearest(np.array([[one.attitude.place.east_m, one.attitude.place.north_m] for one in beds]))


def address_words(address: Address) -> str:
    """Where something lies, as one says of a fault: `at 5`, `on leg 8–9`."""
    if address.station is not None or address.leg is None:
        return f"at {address.station or 'the start'}"
    return f"on leg {address.leg.start}–{address.leg.end}"


def contact_words(contact: PlacedContact) -> str:
    """Where a contact was met: `5`, `leg 8–9`."""
    return address_words(contact.booked.address).removeprefix("at ").removeprefix("on ")


def between(contacts: Sequence[PlacedContact]) -> str:
    """`between leg 3–4 and leg 7–8`, of two contacts."""
    where = list(dict.fromkeys(map(contact_words, contacts)))
    return f"between {' and '.join(where)}" if len(where) > 1 else address_words(contacts[0].booked.address)


def across(
    log: Log,
    survey: Survey,
    beds: Sequence[PlaneAttitude],
    contacts: tuple[PlacedContact, ...],
    band: tuple[BandStretch, ...],
    axis: FoldAxis | None,
    left_out: frozenset[str],
    *,
    unsaid: Mapping[str, UnsaidBody],
    block: Callable[[PlacedAddress, int], int | None] = lambda *_: 0,
) -> Across | None:
    """Beds and units of one body by their distance square to the fold axis, else square to the mean strike.

    None where no bed dips enough to have a strike. Distances along a level line square to the axis are the same
    wherever on its plunge a bed lies.
    """
    ways = [bed.dip_direction_deg for bed in beds if bed.dip_deg > LEVEL_DEG]
    if axis is not None:
        azimuth = axis.trend_deg + 90.0
    elif ways:
        azimuth = mean_axis(ways)[0]
    else:
        return None
    azimuth = wrap_360(settled(azimuth)) % 180.0
    azimuth = azimuth + 180.0 if azimuth < 22.5 else azimuth
    grid = math.radians(azimuth - survey.frame.to_true_deg)
    way = settled_all(np.array([math.sin(grid), math.cos(grid)]), 12)
    dips = apparent_dips(
        [bed.dip_deg for bed in beds],
        dip_direction_deg=[bed.dip_direction_deg for bed in beds],
        azimuth_deg=azimuth,
    )
    seen = [bed.upside_down for bed in beds]
    standing = [
        Bed(
            across_m=along(bed.place, way),
            dip_deg=float(dip),
            overturned=bool(up),
            known=up is not None,
            attitude=bed,
            block=block(bed.place, bed.order),
        )
        for bed, dip, up in zip(beds, dips, seen, strict=True)
    ]
    standing = _in_order(standing)
    # Carried along the plunge, a height is the same wherever on it the walk crosses the beds.
    plunging = 0.0 if axis is None else np.tan(np.radians(axis.plunge_deg))
    trend = np.radians((0.0 if axis is None else axis.trend_deg) - survey.frame.to_true_deg)
    fall = settled_all(plunging * np.array([np.sin(trend), np.cos(trend)]), 12)
    walked, lying = without_outliers(
        arms(log, survey, band, contacts, way, fall, left_out), standing, unit_ranks(log)
    )
    if axis is not None and axis.plunge_deg >= PRINTS_LEVEL_DEG:
        # Their heights are carried along the plunge: what comes again so does it by the fold, and not by the ground.
        lying = ()
    met = _by_units(contacts)
    contacts_m = {one.booked.span: along(one.place, way) for one in contacts}
    return Across(
        azimuth_deg=azimuth,
        beds=tuple(standing),
        arms=walked,
        left_out=left_out,
        contacts=contacts,
        contacts_m=contacts_m,
        outliers=lying,
        heights=survey.heights is not HeightsMeasured.NONE,
        turning=axis is not None,
        to_true_deg=survey.frame.to_true_deg,
        unsaid=unsaid,
        met=met,
        met_m={pair: np.array([contacts_m[one.booked.span] for one in of]) for pair, of in met.items()},
        near=_near(standing),
        alike=_alike(standing, survey.frame.to_true_deg) if axis is None else None,
    )


def _in_order(beds: Sequence[Bed]) -> list[Bed]:
    """Beds by distance; those equally far as the beds on both sides of them dip, so that they turn as seldom as they can.

    Distance does not tell which of these comes first: neither the log nor the way the page lies may.
    """
    by_distance = sorted(beds, key=lambda bed: bed.across_m)
    tied: list[list[Bed]] = []
    for bed in by_distance:
        if tied and bed.across_m - tied[-1][-1].across_m <= SAME_M:
            tied[-1].append(bed)
        else:
            tied.append([bed])
    means = [sum(bed.dip_deg for bed in each if bed.dips) for each in tied]
    befores, afters = _last_before(means), _last_before(means[::-1])[::-1]
    found: list[Bed] = []
    for each, before, after in zip(tied, befores, afters, strict=True):
        # Where what lies about them tells nothing, as beds that dip toward each other; whoever reads them asks `at_one_place`.
        rising = _sign(before) < _sign(after)
        found += sorted(each, key=lambda bed: (bed.dip_deg, bed.facing_deg), reverse=not rising)
    return found


def _last_before(means: Sequence[float]) -> list[float]:
    """Before each the last that is not 0."""
    return [*accumulate(means[:-1], lambda last, mean: mean or last, initial=0.0)] if means else []


def _sign(value: float) -> float:
    return math.copysign(1.0, value) if value else 0.0


def at_one_place(beds: Sequence[Bed]) -> bool:
    """Whether some beds by distance lie equally far across the strike, so that nothing tells which comes first."""
    return not beds or beds[-1].across_m - beds[0].across_m <= SAME_M


def _by_units(contacts: Sequence[PlacedContact]) -> Mapping[frozenset[str | None], tuple[PlacedContact, ...]]:
    found: dict[frozenset[str | None], list[PlacedContact]] = {}
    for one in contacts:
        found.setdefault(frozenset({one.younger, one.older}), []).append(one)
    return {pair: tuple(of) for pair, of in found.items()}


def _alike(beds: Sequence[Bed], to_true_deg: float) -> tuple[Vectors, float] | None:
    """Mean normal of beds that do not turn, and its sd in degrees; None where two or fewer tell it."""
    if len(beds) <= 2:
        return None
    poles = poles_of([bed.attitude for bed in beds], to_true_deg=to_true_deg)
    mean = principal_axis(poles)[0]
    off = pole_angles(poles, mean).tolist()
    good = max(math.hypot(*off), max(bed.attitude.sd_deg for bed in beds) * math.sqrt(len(poles)))
    return mean, good / len(poles)


def along(place: PlacedAddress, way: Vectors) -> float:
    """How far a place lies along a level direction."""
    return settled(float(place.east_m * way[0] + place.north_m * way[1]))


def unit_ranks(log: Log) -> Mapping[str, int]:
    """Place of each unit in the list, 0 the youngest."""
    return {unit.letters: index for index, unit in enumerate(log.units)}


def caps_of(
    log: Log,
    beds: Sequence[PlaneAttitude],
    contacts: Sequence[PlacedContact],
    band: Sequence[BandStretch],
) -> frozenset[str]:
    """Units that lie over the others.

    Loose ground, and flat units above an unconformity; none where nothing else was met.
    """
    loose = {unit.letters for unit in log.units if unit.loose}
    flat = {
        one.younger
        for one in contacts
        if one.kind is ContactKind.UNCONFORMITY and (one.dip_deg is None or one.dip_deg <= CAP_DEG)
    }
    tilted = _tilted(beds)
    caps = loose | {unit for unit in flat - tilted if unit}
    met = {stretch.unit for stretch in band if stretch.unit}
    return frozenset(caps) if met - caps else frozenset()


def cover_of(log: Log, beds: Sequence[PlaneAttitude], caps: frozenset[str]) -> frozenset[str]:
    """Bedrock that lies flat on the worn edges of other beds: the units above an unconformity, up to the youngest."""
    ranks = unit_ranks(log)
    loose = {unit.letters for unit in log.units if unit.loose}
    # A unit of the pile that lies over a flat one is none the less of it where its own dip may be as little.
    tilted = _tilted(beds, sure_sd=SURE_SD)
    lowest = max((ranks[unit] for unit in caps - loose if unit in ranks), default=-1)
    return frozenset(unit for unit, rank in ranks.items() if rank <= lowest) - loose - tilted


def piles_on(log: Log) -> Mapping[str, Sequence[str]]:
    """By each unit that lies on an unconformity, the units from it up to the next one, or to loose ground or the youngest."""
    bases = {
        item.younger
        for item in log.items
        if isinstance(item, Contact) and item.kind is ContactKind.UNCONFORMITY and item.younger
    }
    found: dict[str, list[str]] = {}
    pile: list[str] = []
    for unit in reversed(log.units):
        if unit.letters in log.intrusive:
            continue
        if unit.letters in bases or unit.loose:
            pile = []
        if unit.letters in bases:
            found[unit.letters] = pile
        pile.append(unit.letters)
    return found


def _tilted(beds: Sequence[PlaneAttitude], *, sure_sd: float = 0.0) -> set[str | None]:
    """Units too steep to lie over others, by more than `sure_sd` of what their dip is off by.

    By the middle one of their dips, which one poor reading does not change; that of n is good to about sd / sqrt(n).
    """
    dips: dict[str | None, list[tuple[float, float]]] = {}
    for bed in beds:
        dips.setdefault(bed.unit, []).append((bed.dip_deg, bed.sd_deg))
    tilted = set()
    for unit, of in dips.items():
        dip_deg, sd_deg = (median(values) for values in zip(*of, strict=True))
        if settled(dip_deg - sure_sd * sd_deg / math.sqrt(len(of))) > CAP_DEG:
            tilted.add(unit)
    return tilted
