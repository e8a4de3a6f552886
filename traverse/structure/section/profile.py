"""The ground under a line of section: its height, and the unit that lies there."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import pairwise

import numpy as np

from traverse.heights.records import Terrain
from traverse.location.records import HeightsMeasured, Survey
from traverse.log.records import Log, Projection
from traverse.nearest import Nearest
from traverse.record import record
from traverse.settled import SAME_M, first_least, least, part_at, settled, settled_all
from traverse.structure.readings.directions import Vectors
from traverse.structure.readings.place_errors import poles_of
from traverse.structure.readings.placed import NearestStrike
from traverse.structure.readings.records import PlacedContact, PlaneAttitude
from traverse.structure.section.carry import Carried, Carrier, LineOfSection, off_stretches
from traverse.structure.section.lines_cut import CutContact
from traverse.structure.section.records import LevelContact, ProfilePoint, unit_at
from traverse.structure.walk.records import BandStretch
from traverse.structure.walk.sides import younger_side
from traverse.trade import AGREE_SHARE, BAND_M, JOINED_DEG

_STANDS_FOR = np.array([0.1, 0.3, 0.5, 0.7, 0.9])
"""Places that stand for a stretch of the walk, as shares of it."""
_MIDDLE = np.array([0.5])
_FINE = 2000
"""Of a walk of more stretches the middle of each stands for it: a section is drawn at far fewer places than that."""
_LIKE = (0.5, 1.5)
"""Places of the walk so many times as far apart stand for ground that lies so far from it."""
_SAMPLES = 120
_HELD = 600
"""So many places of the walk tell the heights of one line, those nearest to it: with all of a thousand legs it takes minutes."""
_PAIRED = 800
"""So many places of the walk are held against each other; a day has 400."""
_ROUGH_M = 0.05
"""Two places of the walk this far apart may differ in height by as much as ground between that rises as it does elsewhere."""
"""Points of the ground profile."""
_TELLS = math.sin(math.radians(JOINED_DEG))
"""A leg that runs nearer to the strike does not tell on which side of a contact its younger unit lies."""
_SAME = 1e-6
_AT_M = 1.0
"""Ground that changes so near to a contact changes there."""


@record(frozen=True, slots=True)
class _MetOnLine:
    """Where a contact comes to the line, and the units before and after it by distance; None where unknown."""

    distance_m: float
    before: str | None
    after: str | None
    off_m: float
    """How far it was carried."""
    seen: bool = False
    """Whether the section cuts the contact's own line there."""


def _lengths(east: Vectors, north: Vectors) -> Vectors:
    """How long many ways on the map are, in a tenth of the time of `hypot`: nothing here is too long to be squared."""
    return np.sqrt(east * east + north * north)


def _between(ground: Vectors, east: Vectors, north: Vectors) -> Vectors:
    """Heights at places, (n,), from those on the walk, (m, 3) or more: east, north, height.

    Source: ordinary kriging with a linear variogram (Cressie 1993, Statistics for Spatial Data, 3.2; from memory). Between
    two arms it runs straight from one to the other, without the step half-way that weights by nearness alone would make.
    """
    apart = _lengths(east[:, None] - ground[None, :, 0], north[:, None] - ground[None, :, 1])
    if len(ground) > _HELD:
        near = np.sort(np.argsort(settled_all(apart.min(axis=0)), kind="stable")[:_HELD])
        ground, apart = ground[near], apart[:, near]
    count = len(ground)
    held = np.ones((count + 1, count + 1))
    held[:count, :count] = -_lengths(*(ground[:, None, :2] - ground[None, :, :2]).transpose(2, 0, 1))
    held[:count, :count] += _ROUGH_M * np.eye(count)
    held[count, count] = 0.0
    weights = np.linalg.solve(held, np.append(ground[:, 2], 0.0))
    told = weights[count] - (apart * weights[:count]).sum(axis=1)
    # Beyond the foot and the top of a steep leg it would go on rising; nobody stood higher there, or lower.
    return np.asarray(np.clip(told, ground[:, 2].min(), ground[:, 2].max()), dtype=np.float64)


class SectionGround:
    """Heights and units of the ground under lines of section."""

    def __init__(
        self,
        log: Log,
        survey: Survey,
        beds: Sequence[PlaneAttitude],
        contacts: tuple[PlacedContact, ...],
        band: tuple[BandStretch, ...],
        terrain: Terrain | None,
        carrier: Carrier,
        cover: frozenset[str] = frozenset(),
        levels: tuple[LevelContact, ...] = (),
        over: tuple[LevelContact, ...] = (),
    ) -> None:
        self.levels, self.over = levels, over
        self.survey, self.terrain, self.contacts, self.band = survey, terrain, contacts, band
        self.carrier = carrier
        self.half_m = log.heading.sheet.band_m or BAND_M
        self.cover = cover
        """Units that lie flat on the worn edges of the others."""
        placed = {unit for level in levels for unit in (level.younger, level.older)}
        walked = {one.unit for one in band if one.unit is not None} if levels else set()
        loose = {unit.letters for unit in log.units if unit.loose}
        self._unplaced = walked - placed - loose - log.intrusive
        """Units of flat beds that were walked on, and none of their contacts met."""
        self.strike_near = NearestStrike(beds)
        self.beds = beds
        self.younger_side = younger_side(log, survey, band)
        self._heights: dict[tuple[bytes, float], tuple[Vectors, Vectors]] = {}

    def heights(self, line: LineOfSection) -> tuple[Vectors, Vectors]:
        """Distances along the line and heights of the ground there, both (n,); empty where none were measured.

        Of the grid, else of the walk: its own where the line follows it; between two arms straight from one to the other.
        Worked out once for each line: the carrier, the profile and what is seen along it all ask.
        """
        asked = (line.points.tobytes(), line.length_m)
        if asked not in self._heights:
            self._heights[asked] = self._heights_along(line)
        return self._heights[asked]

    def _heights_along(self, line: LineOfSection) -> tuple[Vectors, Vectors]:
        terrain = self.terrain
        ground = self._walked
        if len(ground) == 0 or (terrain is None and self.survey.heights is HeightsMeasured.NONE):
            return np.empty(0), np.empty(0)
        shares = np.linspace(0.0, line.length_m, _SAMPLES)
        east = np.interp(shares, line.starts_m, line.points[:, 0])
        north = np.interp(shares, line.starts_m, line.points[:, 1])
        east, north = settled_all(east), settled_all(north)
        heights = settled_all(_between(ground, east, north))
        if terrain is not None:
            known = terrain.at(east, north)
            if self.survey.heights is HeightsMeasured.NONE and not np.isfinite(known).all():
                return np.empty(0), np.empty(0)
            heights = np.where(np.isfinite(known), known, heights)
        return shares, heights

    def profile(
        self,
        line: LineOfSection,
        projection: Projection,
        cut: Sequence[CutContact] = (),
        *,
        left_out: frozenset[int] = frozenset(),
    ) -> tuple[ProfilePoint, ...]:
        """Heights of the ground under the line, with the unit that lies there.

        `left_out` are contacts, by `id`, that are not where they were carried to.
        """
        shares, heights = self.carrier.ground = self.heights(line)
        east, north = (np.interp(shares, line.starts_m, line.points[:, axis]) for axis in (0, 1))
        if self.levels:
            # Of flat beds the height tells, wherever the contacts were met.
            units: Sequence[str | None] = [
                unit_at(self.levels, (float(x), float(y)), float(height))
                for x, y, height in zip(east, north, heights, strict=True)
            ]
            if self._unplaced:
                # No height tells where these begin: what was walked on nearest does.
                near = self._units(line, shares, heights, projection, cut, left_out)
                ends = {self.levels[0].younger, self.levels[-1].older}
                units = [
                    walked if level in ends and walked in self._unplaced else level
                    for level, walked in zip(units, near, strict=True)
                ]
        else:
            units = self._units(line, shares, heights, projection, cut, left_out)
        guessed = self._guessed(east, north)
        past_m = self._past_beds(np.column_stack((east, north, heights)), [off_m for off_m, _ in guessed])
        return tuple(
            ProfilePoint(
                distance_m=float(distance),
                up_m=float(height),
                unit=unit,
                off_m=off_m,
                sd_m=sd_m,
                past_beds_m=past,
            )
            for distance, height, unit, (off_m, sd_m), past in zip(
                shares, heights, units, guessed, past_m, strict=True
            )
        )

    def _past_beds(self, ground: Vectors, off_m: Sequence[float]) -> list[float]:
        """How far, square to the beds, ground (n, 3) beyond the band lies over all that was walked on; negative under all of it.

        Each place of the walk carries the bed nearest to it. Of beds whose contacts lie on planes these tell, and of a cover
        nothing does.
        """
        past_m = [0.0] * len(ground)
        walked = self._walked
        beyond = [index for index, off in enumerate(off_m) if off > self.half_m]
        if not beyond or not len(walked) or not self.beds or self.levels or self.cover:
            return past_m
        poles = poles_of(self.beds, to_true_deg=self.carrier.turn)
        poles *= np.where([bed.lies_over for bed in self.beds], -1.0, 1.0)[:, None]
        places = np.array([(bed.place.east_m, bed.place.north_m) for bed in self.beds])
        lies = poles[Nearest(places).to_all(walked[:, :2])]
        over_m = settled_all(ground[beyond] @ lies.T - (walked[:, :3] * lies).sum(axis=1))
        past = np.maximum(0.0, over_m.min(axis=1)) + np.minimum(0.0, over_m.max(axis=1))
        for index, one in zip(beyond, past.tolist(), strict=True):
            past_m[index] = settled(one)
        return past_m

    def _guessed(self, east: Vectors, north: Vectors) -> list[tuple[float, float | None]]:
        """Of each place how far off the walk lies whose heights stand for it, and what its height may be off by, beyond the band.

        That is by how much places of the walk differ in height that lie half as far to half as far again from each other,
        joined with what the nearest of them is off by itself. None within the band, and where the grid of heights tells.
        """
        ground = self._walked
        if not len(east) or not len(ground):
            return [(0.0, None)] * len(east)
        apart = settled_all(_lengths(east[:, None] - ground[None, :, 0], north[:, None] - ground[None, :, 1]))
        near = apart.argmin(axis=1)
        off = apart.min(axis=1)
        if self.terrain is not None:
            off = np.where(np.isfinite(self.terrain.at(east, north)), 0.0, off)
        beyond = off > self.half_m
        sd_m: list[float | None] = [None] * len(off)
        if beyond.any():
            guessed = settled_all(self._rise_sd(off[beyond], ground[near[beyond], 3]))
            for place, one in zip(np.flatnonzero(beyond).tolist(), guessed.tolist(), strict=True):
                sd_m[place] = one
        return list(zip(off.tolist(), sd_m, strict=True))

    def _rise_sd(self, off_m: Vectors, own_sd_m: Vectors) -> Vectors:
        """What heights guessed from the walk may be off by, so far from it, (n,)."""
        apart, sums, steepest = self._pairs
        low, high = np.searchsorted(apart, np.multiply.outer(_LIKE, off_m))
        mean = (sums[high] - sums[low]) / np.maximum(high - low, 1)
        # Where no two places lie so far apart, as steep as those farthest apart.
        mean = np.where(high > low, mean, (steepest * off_m) ** 2)
        return np.asarray(np.sqrt(np.maximum(mean, 0.0) + own_sd_m**2), dtype=np.float64)

    @cached_property
    def _pairs(self) -> tuple[Vectors, Vectors, float]:
        """How far every two places of the walk lie apart, the nearest first, (n,), and what they differ in height by.

        That as sums of squares up to each, (n + 1,), and how steep it is between the two farthest apart. Of a long walk
        places all along it are held against each other, not all.
        """
        ground = self._walked[:: math.ceil(len(self._walked) / _PAIRED) or 1]
        one, other = np.triu_indices(len(ground), k=1)
        east, north, up = (ground[one, axis] - ground[other, axis] for axis in range(3))
        apart = settled_all(_lengths(east, north))
        if not len(apart):
            return apart, np.zeros(1), 0.0
        # Of those as far apart the last.
        farthest = len(apart) - 1 - int(apart[::-1].argmax())
        steepest = abs(float(up[farthest])) / float(apart[farthest]) if apart[farthest] else 0.0
        # Sums are asked for up to all that are as far apart, in whichever order these stand.
        order = np.argsort(apart)
        return apart[order], np.concatenate([[0.0], np.cumsum(up[order] ** 2)]), steepest

    @cached_property
    def _walked(self) -> Vectors:
        """Points along every leg, about 400 in all: east, north, height and what that is off by; shape (n, 4)."""
        total = sum(leg.horizontal_m for leg in self.survey.legs) or 1.0
        rows = []
        for leg in self.survey.legs:
            start, end = self.survey.places.get(leg.booked.start), self.survey.places.get(leg.booked.end)
            if start is None or end is None or start.up_m is None or end.up_m is None:
                continue
            steps = max(2, min(40, round(400 * leg.horizontal_m / total)))
            share = np.linspace(0.0, 1.0, steps)
            a, b = (
                np.array([place.east_m, place.north_m, place.up_m, place.sd_up_m or 0.0])
                for place in (start, end)
            )
            rows.append(a + share[:, None] * (b - a))
        return np.concatenate(rows) if rows else np.empty((0, 4))

    def _units(
        self,
        line: LineOfSection,
        shares: Vectors,
        heights: Vectors,
        projection: Projection,
        cut: Sequence[CutContact],
        left_out: frozenset[int],
    ) -> list[str | None]:
        """Unit at each distance, within the cover or what it lies on.

        Where planes hold the cover, whether the ground lies over the lowest of them; else whichever was walked on nearest to
        the line there.
        """
        if not self.cover:
            return self._units_of(line, shares, projection, cut, lambda _: True, left_out)
        bodies = [
            self._units_of(line, shares, projection, cut, within, left_out)
            for within in (lambda unit: unit not in self.cover, lambda unit: unit in self.cover)
        ]
        if self.over:
            places = zip(
                *(np.interp(shares, line.starts_m, line.points[:, axis]) for axis in (0, 1)), strict=True
            )
            return [
                unit_at(self.over, (float(east), float(north)), float(up_m)) or under
                for (east, north), up_m, under in zip(places, heights, bodies[0], strict=True)
            ]
        walked = [one for one in self.band if one.unit is not None]
        if not walked:
            return bodies[0]
        at = np.column_stack([np.interp(shares, line.starts_m, line.points[:, axis]) for axis in (0, 1)])
        starts = np.array([one.start for one in walked], dtype=np.float64)
        off = off_stretches(at, starts, np.array([one.end for one in walked], dtype=np.float64) - starts)
        nearest = (first_least(row) for row in off)
        return [bodies[walked[index].unit in self.cover][place] for place, index in enumerate(nearest)]

    def _units_of(
        self,
        line: LineOfSection,
        shares: Vectors,
        projection: Projection,
        cut: Sequence[CutContact],
        within: Callable[[str | None], bool],
        left_out: frozenset[int],
    ) -> list[str | None]:
        """Unit at each distance: what the contacts on both sides say, else what most of the walked ground there is on."""
        met: list[_MetOnLine] = []
        left_out_m: set[float] = set()
        for contact in self.contacts:
            carried = self.carrier.contact(line, contact, projection)
            if contact.younger is None or carried is None or not self._inside(contact, within):
                continue
            bed = self._bed_at(contact.place.east_m, contact.place.north_m, contact.younger)
            aside = not carried.beside and self.carrier.down_dip(line, carried, bed)
            if aside and self.carrier.one_strike_deg is not None:
                continue
            if self.carrier.parted(line, carried, contact):
                continue
            if aside or id(contact) in left_out:
                left_out_m.add(carried.distance_m)
                met.append(_MetOnLine(carried.distance_m, None, None, abs(carried.offset_m)))
                continue
            out_m = carried.distance_m
            if not carried.beside:
                out = self.carrier.comes_out(line, carried, contact.place.east_m, contact.place.north_m)
                if out is None:
                    continue
                out_m = out
            fall = 0.0 if carried.up_m is None else carried.up_m - (contact.place.up_m or 0.0)
            if abs(fall) <= BAND_M:
                east, north, _ = self.younger_side(contact).tolist()
                sides = self._sides(line, contact, carried, (east, north))
                met.append(_MetOnLine(out_m, *sides, abs(carried.offset_m)))
        for contact, younger in cut:
            carried = self.carrier.at(line, contact.place, contact.course_deg, projection)
            if contact.younger is not None and carried is not None and self._inside(contact, within):
                sides = _sides(line, contact, carried.stretch, younger)
                met.append(_MetOnLine(carried.distance_m, *sides, 0.0, seen=True))
        met += self._unbooked(line, projection, within)
        met.sort(key=lambda one: settled(one.distance_m, 3))
        cuts = [one.distance_m for one in met]
        edges = [-np.inf, *cuts, np.inf]
        votes: list[dict[str, float]] = [{} for _ in edges[1:]]
        stood: list[list[tuple[float, str]]] = [[] for _ in edges[1:]]
        beyond_fault = False
        for unit, length_m, east, north, up, strike_deg in self._walked_on:
            if not within(unit):
                continue
            carried = self.carrier.carry(
                line,
                east,
                north,
                up,
                strike_deg=self.carrier.strike_of(strike_deg),
                projection=projection,
            )
            if carried is None or self.carrier.down_dip(line, carried, self._bed_at(east, north, unit)):
                continue
            if self.carrier.over_fault(line, carried, east, north):
                beyond_fault = True
                continue
            if abs((carried.up_m or 0.0) - (up or 0.0)) > BAND_M:
                # Down the plunge or down dip it comes to lie over the ground, or under it, and says nothing of that.
                continue
            there_m = self.carrier.comes_out(line, carried, east, north)
            if there_m is None:
                continue
            interval = part_at(cuts, there_m)
            if interval != part_at(cuts, there_m, same=-SAME_M):
                # On a contact it lies on neither side of it.
                continue
            weight = length_m / (10.0 + abs(carried.offset_m))
            votes[interval][unit] = votes[interval].get(unit, 0.0) + weight
            stood[interval].append((there_m, unit))
        for stretch in self.band if beyond_fault else ():
            walked = stretch.unit
            if walked is None or stretch.leg is None or not within(walked):
                continue
            # What was walked on as far as the line itself is known there, though no stretch of it lies along the line.
            for east, north in (stretch.start, stretch.end):
                carried = self.carrier.carry(
                    line, east, north, None, strike_deg=None, projection=Projection.SQUARE
                )
                if carried is None or abs(carried.offset_m) > _AT_M:
                    continue
                interval = part_at(cuts, carried.distance_m)
                if interval == part_at(cuts, carried.distance_m, same=-SAME_M):
                    votes[interval].setdefault(walked, 0.0)
                    stood[interval].append((carried.distance_m, walked))
        for index, border in enumerate(met):
            for part, named in ((index, border.before), (index + 1, border.after)):
                if named is not None:
                    stood[part].append((border.distance_m, named))
        # Of equals the first that was walked on.
        chosen = [least(vote, key=lambda unit: -vote[unit], same=_SAME) for vote in votes]
        for index, (border, following) in enumerate(pairwise(met), start=1):
            # Both borders name it: an arm of the loop that does not cross it there tells nothing against it.
            if border.after is not None and border.after == following.before:
                chosen[index] = border.after
        # Of borders that name two units what was carried less far, from whichever end the line is drawn.
        for index, one in sorted(enumerate(met), key=lambda each: settled(each[1].off_m, 3)):
            # Where the section cuts the line itself, what was seen on both sides of it stands before what was carried.
            chosen[index] = (one.seen and one.before) or chosen[index] or one.before
            chosen[index + 1] = (one.seen and one.after) or chosen[index + 1] or one.after
        for index, distance in enumerate(cuts):
            # Beyond what was left out, ground from farther off may tell another unit than that near by.
            for beside in (index, index + 1) if distance in left_out_m else ():
                chosen[beside] = _agreed(votes[beside])
        # Of a contact at its first end a line has the ground beyond, as at its last end that before.
        from_end = (-SAME_M if distance <= SAME_M else SAME_M for distance in shares.tolist())
        parts = [
            part_at(cuts, distance, same=same)
            for distance, same in zip(shares.tolist(), from_end, strict=True)
        ]
        # Where what parts two units was met beyond a fault alone, each goes as far as it was walked on.
        apart = {
            part: _stretches(stood[part]) for part in set(parts) if beyond_fault and len(votes[part]) > 1
        }
        return [
            _on_stretch(apart[part], distance) if part in apart else chosen[part]
            for part, distance in zip(parts, shares.tolist(), strict=True)
        ]

    def _bed_at(self, east: float, north: float, unit: str | None) -> PlaneAttitude | None:
        """The bed nearest to a place of a unit, of the cover or of what that lies on as the unit is; None where none was read."""
        within = unit in self.cover
        known = self._bed_at_place.get((east, north, within))
        if known is not None:
            return known
        beds, near = self._beds_by_cover[within]
        return beds[near.to(east, north)] if beds else None

    @cached_property
    def _bed_at_place(self) -> dict[tuple[float, float, bool], PlaneAttitude]:
        """That of each place where a contact was met or a unit walked on, sought once for all lines."""
        asked = [(one.place.east_m, one.place.north_m, one.younger in self.cover) for one in self.contacts]
        asked += [(east, north, unit in self.cover) for unit, _, east, north, *_ in self._walked_on]
        found: dict[tuple[float, float, bool], PlaneAttitude] = {}
        for within, (beds, near) in zip((False, True), self._beds_by_cover, strict=True):
            places = [one for one in dict.fromkeys(asked) if one[2] is within]
            if beds and places:
                nearest = near.to_all(np.array([one[:2] for one in places]))
                found |= {one: beds[index] for one, index in zip(places, nearest, strict=True)}
        return found

    @cached_property
    def _beds_by_cover(self) -> tuple[tuple[list[PlaneAttitude], Nearest], ...]:
        """Beds outside the cover, and within it."""
        parted = (
            [bed for bed in self.beds if (bed.unit in self.cover) is within] for within in (False, True)
        )
        return tuple(
            (beds, Nearest(np.array([(bed.place.east_m, bed.place.north_m) for bed in beds])))
            for beds in parted
        )

    def _sides(
        self, line: LineOfSection, contact: PlacedContact, carried: Carried, younger: tuple[float, float]
    ) -> tuple[str | None, str | None]:
        """As `_sides`; of one carried along the strike of all beds by what of the way leads square to that, where it tells."""
        one = self.carrier.one_strike_deg
        if one is None or carried.swing_m is None or self.carrier.strike_of(contact.course_deg) != one:
            return _sides(line, contact, carried.stretch, younger)
        strike = math.radians(one - self.carrier.turn)
        east, north = math.cos(strike), -math.sin(strike)
        across = younger[0] * east + younger[1] * north
        if abs(across) < _TELLS * math.hypot(*younger):
            return None, None
        return _sides(line, contact, carried.stretch, (across * east, across * north))

    @cached_property
    def _walked_on(self) -> list[tuple[str, float, float, float, float | None, float | None]]:
        """Places on the walk: the unit there, how long the stretch is that they stand for, east, north, up, strike of the nearest bed."""
        known = [
            (one.unit, one.start, one.end, self._heights_of(one))
            for one in self.band
            if one.unit is not None and one.leg is not None
        ]
        shares = _STANDS_FOR if len(known) <= _FINE else _MIDDLE
        starts = np.array([start for _, start, _, _ in known], dtype=np.float64).reshape(-1, 1, 2)
        ways = np.array([end for _, _, end, _ in known], dtype=np.float64).reshape(-1, 1, 2) - starts
        lengths_m = np.hypot(*ways[:, 0].T).repeat(len(shares)).tolist()
        places = (starts + shares[:, None] * ways).reshape(-1, 2)
        units = [unit for unit, *_ in known for _ in shares]
        ups = [
            None if ends is None else ends[0] + share * (ends[1] - ends[0])
            for *_, ends in known
            for share in shares.tolist()
        ]
        return [
            (unit, length_m, east, north, up, strike_deg)
            for unit, length_m, (east, north), up, strike_deg in zip(
                units, lengths_m, places.tolist(), ups, self.strike_near.all_of(places), strict=True
            )
        ]

    def _heights_of(self, stretch: BandStretch) -> tuple[float, float] | None:
        """Heights of the ends of a stretch of a leg; None where they were not measured."""
        assert stretch.leg is not None
        leg = self.survey.legs[stretch.leg]
        start, end = (self.survey.places.get(name) for name in (leg.booked.start, leg.booked.end))
        if start is None or end is None or start.up_m is None or end.up_m is None:
            return None
        low, rise = start.up_m, end.up_m - start.up_m
        return low + stretch.start_share * rise, low + stretch.end_share * rise

    def _unbooked(
        self, line: LineOfSection, projection: Projection, within: Callable[[str | None], bool]
    ) -> Iterator[_MetOnLine]:
        """Where one unit follows another on the walk with no contact of the two there, as on both sides of a dike."""
        booked: dict[frozenset[str | None], list[tuple[float, float]]] = defaultdict(list)
        for contact in self.contacts:
            pair = frozenset((contact.younger, contact.older))
            booked[pair].append((contact.place.east_m, contact.place.north_m))
        places = {pair: Nearest(np.array(of)) for pair, of in booked.items()}
        known = [one for one in self.band if one.unit is not None and one.leg is not None]
        for before, after in pairwise(known):
            if before.unit == after.unit or before.leg != after.leg:
                continue
            if not (within(before.unit) and within(after.unit)):
                continue
            at = ((before.end[0] + after.start[0]) / 2.0, (before.end[1] + after.start[1]) / 2.0)
            near = _AT_M + math.dist(before.end, after.start)
            of_both = places.get(frozenset((before.unit, after.unit)))
            if of_both is not None and of_both.any_within(*at, reach_m=near):
                continue
            carried = self.carrier.carry(
                line,
                *at,
                None,
                strike_deg=self.carrier.strike_of(self.strike_near(*at)),
                projection=projection,
            )
            if carried is None or self.carrier.down_dip(line, carried, self._bed_at(*at, before.unit)):
                continue
            if self.carrier.over_fault(line, carried, *at):
                continue
            azimuth = math.radians(line.grid_azimuths_deg[carried.stretch])
            east, north = np.subtract(after.end, before.start).tolist()
            ahead = east * math.sin(azimuth) + north * math.cos(azimuth)
            if abs(ahead) > SAME_M:
                units = (before.unit, after.unit) if ahead > 0.0 else (after.unit, before.unit)
                yield _MetOnLine(carried.distance_m, *units, abs(carried.offset_m))

    @staticmethod
    def _inside(contact: PlacedContact, within: Callable[[str | None], bool]) -> bool:
        return within(contact.younger) and within(contact.older)


def _agreed(vote: Mapping[str, float]) -> str | None:
    """What the walked ground is, by far the most of it; None where a good part of it is something else."""
    most = least(vote, key=lambda unit: -vote[unit], same=_SAME)
    return None if most is None or vote[most] < AGREE_SHARE * math.fsum(vote.values()) else most


def _stretches(stood: Sequence[tuple[float, str]]) -> dict[str, tuple[float, float]]:
    """From where to where along a line each unit was walked on."""
    found: dict[str, tuple[float, float]] = {}
    for distance_m, unit in stood:
        low, high = found.get(unit, (distance_m, distance_m))
        found[unit] = min(low, distance_m), max(high, distance_m)
    return found


def _on_stretch(stretches: Mapping[str, tuple[float, float]], distance_m: float) -> str | None:
    """The one unit that was walked on there; None where none was, or several were."""
    here = [unit for unit, (low, high) in stretches.items() if low - _AT_M <= distance_m <= high + _AT_M]
    return here[0] if len(here) == 1 else None


def _sides(
    line: LineOfSection, contact: PlacedContact, stretch: int, younger: tuple[float, float]
) -> tuple[str | None, str | None]:
    """Units before and after a contact with increasing distance, by the way into its younger one; None where unknown."""
    azimuth = math.radians(line.grid_azimuths_deg[stretch])
    ahead = younger[0] * math.sin(azimuth) + younger[1] * math.cos(azimuth)
    if abs(ahead) < SAME_M:
        return None, None
    return (contact.older, contact.younger) if ahead > 0.0 else (contact.younger, contact.older)
