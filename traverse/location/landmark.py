"""Sights: landmarks placed where they meet, stations placed by sights to controls, and checks of the rest."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from difflib import SequenceMatcher
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from traverse.adjustment.ellipse import ellipses
from traverse.adjustment.least_squares import PlaceObservation
from traverse.adjustment.misread.explained import Check
from traverse.adjustment.misread.forest import Forest
from traverse.adjustment.records import Fix, Floats, Network
from traverse.angle import wrap_180
from traverse.diagnostic import Diagnostic, Label, Outcome, note, warning
from traverse.location.records import Ellipse, Place, PlacedAddress, PlaceKind, Vector
from traverse.location.sight_heights import SightedHeights, height_disagrees
from traverse.location.sighting import Met, Rays, meet, sights_apart
from traverse.log.items import Sight
from traverse.log.readings import North
from traverse.log.records import Log
from traverse.record import record
from traverse.reduction.declination import in_force_deg
from traverse.reduction.slope import slope_rad
from traverse.settled import settled_all
from traverse.source import Span
from traverse.trade import (
    GROSS_SIGHT,
    NO_CROSSING_DEG,
    ONE_IN_A_HUNDRED,
    POOR_CROSSING_DEG,
    chi_square_limit,
)
from traverse.wording import listed

if TYPE_CHECKING:
    from traverse.location.crs import Grid


_HERE_M = 1.0
"""Nearer than this a place is where one stands."""
_ALIKE = 0.8
"""How like the letters and figures of two names are, of 1, where one may be the other misspelt; common practice, no source."""


@record(frozen=True, slots=True, kw_only=True)
class SightTurn:
    """How sights are turned into the plane."""

    grid: Grid | None
    magnetic: Mapping[dt.date, float]
    attraction: Mapping[str, float]

    def grid_azimuth_deg(self, sight: Sight, here_m: Floats) -> float:
        """Azimuth of a sight in the plane, by the convergence where it was read: a meridian on is another north."""
        conditions = sight.conditions
        azimuth = sight.bearing.azimuth_deg - self.attraction.get(sight.address.station or "", 0.0)
        if conditions.bearings is North.GRID:
            return azimuth
        if conditions.bearings is North.MAGNETIC:
            azimuth += in_force_deg(conditions, self.magnetic.get) or 0.0
        if self.grid is None:
            return azimuth
        convergence, _ = self.grid.convergence_and_scale(here_m[:1], here_m[1:2])
        return azimuth - float(convergence[0])


def sights_of(log: Log) -> tuple[Sight, ...]:
    """Every sight of the log, in order."""
    return tuple(item for item in log.items if isinstance(item, Sight))


def resections(
    log: Log, network: Network, fixes: Mapping[str, Fix], turn: SightTurn
) -> Outcome[dict[str, Fix]]:
    """Places of stations that nothing but their sights to known points places."""
    loose = {network.names[i] for piece in network.loose for i in piece}
    if not network.fixes:
        loose.update(network.names)
    found: dict[str, Fix] = {}
    remarks: list[Diagnostic] = []
    for name in network.names:
        sights = [one for one in sights_of(log) if one.address.station == name and one.target in fixes]
        if name not in loose or len(sights) < 2:
            continue
        targets = np.array([fixes[one.target].position_m[:2] for one in sights])
        here = targets.mean(axis=0)
        met: Met | None = None
        rays: Rays | None = None
        for _ in range(4):  # the convergence depends on the place
            rays = Rays(
                origin_m=targets,
                azimuth_deg=np.array([turn.grid_azimuth_deg(one, here) + 180.0 for one in sights]),
                azimuth_sd_deg=np.array([one.conditions.precision.bearing_deg for one in sights]),
                origin_covariance_m2=np.array([np.diag(fixes[one.target].variance_m2[:2]) for one in sights]),
            )
            met = meet(rays)
            if met is None:
                break
            here = met.position_m
        refused = _refused(name, sights, met)
        if refused is not None or met is None or rays is None:
            remarks += [refused] if refused else []
            continue
        plan_m2, apart = _grown(met)
        if apart:
            remarks.append(sights_apart(log, f"the sights from {name} to known points", sights, rays, met)[0])
        major, minor, _ = ellipses(plan_m2[None])
        found[name] = Fix(
            position_m=np.array((*met.position_m, _height_from(sights, met, fixes))),
            sd_plan_m=math.sqrt((float(major[0]) ** 2 + float(minor[0]) ** 2) / 2.0),
            sd_height_m=_height_sd(sights, met),
            span=sights[0].address.span,
            resected=True,
            plan_covariance_m2=plan_m2,
        )
        remarks.append(
            note(
                "resection",
                f"{name} is placed by its sights to {listed([s.target for s in sights])}, "
                f"good to {log.lengths.of(float(minor[0])):.0f} by {log.lengths.said(float(major[0]))}; pacing is often better",
                sights[0].address.span,
            )
        )
    return Outcome(found, tuple(remarks))


def landmarks(
    log: Log,
    fixes: Mapping[str, Fix],
    stations: Mapping[str, Place],
    at: Callable[[Sight], PlacedAddress | None],
    turn: SightTurn,
) -> Outcome[dict[str, tuple[Place, Floats]]]:
    """Landmarks that two sights or more meet in, with their covariance, (3, 3)."""
    found: dict[str, tuple[Place, Floats]] = {}
    remarks: list[Diagnostic] = []
    alone: list[tuple[Sight, PlacedAddress]] = []
    targets: dict[str, list[tuple[Sight, PlacedAddress]]] = {}
    for sight in sights_of(log):
        address = at(sight)
        if sight.target not in fixes and sight.target not in stations and address is not None:
            targets.setdefault(sight.target, []).append((sight, address))
    for name, seen in targets.items():
        sights = [sight for sight, _ in seen]
        if len(seen) < 2:
            alone.append(seen[0])
            continue
        origin = np.array([(address.east_m, address.north_m) for _, address in seen])
        rays = Rays(
            origin_m=origin,
            azimuth_deg=np.array([turn.grid_azimuth_deg(s, o) for s, o in zip(sights, origin, strict=True)]),
            azimuth_sd_deg=np.array([one.conditions.precision.bearing_deg for one in sights]),
            origin_covariance_m2=np.array([_plan(address) for _, address in seen]),
        )
        met = meet(rays)
        refused = _refused(name, sights, met)
        if refused is not None or met is None:
            remarks += [refused] if refused else []
            continue
        plan_m2, apart = _grown(met)
        held, up = seen, None
        if apart:
            said, rest = sights_apart(log, f"the sights to {name}", sights, rays, met)
            remarks.append(said)
            if rest is not None:  # the one that is named takes no part, nor its height
                kept = [one for one in seen if one[0].span != said.span]
                sights = [sight for sight, _ in kept]
                met, held, plan_m2 = rest, kept, rest.covariance_m2
        if not apart or len(held) < len(seen):
            heights = SightedHeights.of(held, met)
            up = None if heights.apart else _height_of(held, met)
            remarks += [heights.told(name, log.lengths)] if heights.apart else []
        covariance = np.zeros((3, 3))
        covariance[:2, :2] = plan_m2
        major, minor, azimuth = (float(axis[0]) for axis in ellipses(plan_m2[None]))
        east, north_m = met.position_m.tolist()
        lon, lat = (None, None)
        if turn.grid is not None and fixes:
            there = turn.grid.to_lon_lat(met.position_m[:1], met.position_m[1:])
            lon, lat = float(there[0][0]), float(there[1][0])
        place = Place(
            name=name,
            kind=PlaceKind.SIGHTED,
            east_m=east,
            north_m=north_m,
            up_m=up,
            relative_up_m=up or 0.0,
            raw=Vector(east_m=east, north_m=north_m, up_m=up),
            lon_deg=lon,
            lat_deg=lat,
            sd_east_m=math.sqrt(float(plan_m2[0, 0])),
            sd_north_m=math.sqrt(float(plan_m2[1, 1])),
            sd_up_m=None if up is None else _height_sd(sights, met),
            ellipse=Ellipse(major_m=major, minor_m=minor, azimuth_deg=azimuth),
        )
        found[name] = (place, covariance)
    known = {name: (*fix.position_m[:2].tolist(), fix.sd_plan_m) for name, fix in fixes.items()}
    known |= {
        name: (place.east_m, place.north_m, place.ellipse.major_m)
        for name, (place, _) in found.items()
        if place.ellipse is not None
    }
    where = np.array([*known.values()]).reshape(-1, 3)
    for sight, address in alone:
        here = np.array((address.east_m, address.north_m))
        meets = _meets(sight, address, turn.grid_azimuth_deg(sight, here), where)
        remarks.append(_sole_sight(sight, [name for name, one in zip(known, meets, strict=True) if one]))
    return Outcome(found, tuple(remarks))


def _sole_sight(sight: Sight, met: Sequence[str]) -> Diagnostic:
    """What is said of the only sight to a name, which runs to the landmarks and controls `met`.

    Names that differ in little are not one for that alone (Peak-A, Peak-B): the sight must run to the other as well.
    """
    alike = {name: _likeness(name, sight.target) for name in met if name != sight.target}
    other = max(alike, key=lambda name: (alike[name], name), default=None)
    if other is not None and alike[other] >= _ALIKE:
        return warning(
            "landmark-spelling",
            f"{sight.target} has one sight only, which runs to {other}: one landmark or two",
            sight.span,
            f"write `{other}` if it is the same, else a name that differs more",
        )
    return note(
        "one-sight",
        f"{sight.target} has one sight only and is not placed",
        sight.span,
        "a second sight from another station would place it",
    )


def _likeness(one: str, other: str) -> float:
    """Of 1, by letters and figures alone."""
    first, second = ("".join(filter(str.isalnum, name.casefold())) for name in (one, other))
    return SequenceMatcher(None, first, second).ratio()


def _meets(sight: Sight, address: PlacedAddress, azimuth_deg: float, where: Floats) -> NDArray[np.bool_]:
    """Which places a sight runs to within three standard deviations of both; each east, north and what it is good to, (n, 3)."""
    east_m, north_m = (where[:, :2] - (address.east_m, address.north_m)).T
    distance_m = np.maximum(np.hypot(east_m, north_m), _HERE_M)
    sd_deg = np.hypot(
        sight.conditions.precision.bearing_deg,
        np.degrees(np.hypot(address.sd_m, where[:, 2]) / distance_m),
    )
    off_deg = (azimuth_deg - np.degrees(np.arctan2(east_m, north_m)) + 180.0) % 360.0 - 180.0
    return np.asarray((settled_all(np.abs(off_deg), 6) <= 3.0 * sd_deg) & (distance_m > _HERE_M))


def check_sights(
    log: Log,
    fixes: Mapping[str, Fix],
    at: Callable[[Sight], PlacedAddress | None],
    turn: SightTurn,
    resected: frozenset[str],
) -> tuple[Diagnostic, ...]:
    """Sights to known points against the map; what a sight agrees with, it checks."""
    remarks: list[Diagnostic] = []
    for sight in sights_of(log):
        fix, address = fixes.get(sight.target), at(sight)
        if fix is None or address is None or (sight.address.station or "") in resected:
            continue
        here = np.array((address.east_m, address.north_m))
        toward = fix.position_m[:2] - here
        distance = float(np.hypot(*toward))
        if distance < 1.0:
            continue
        known = math.degrees(math.atan2(toward[0], toward[1]))
        read = turn.grid_azimuth_deg(sight, here)
        off = wrap_180(read - known)
        sd = math.hypot(
            sight.conditions.precision.bearing_deg,
            math.degrees(math.hypot(address.sd_m, fix.sd_plan_m) / distance),
        )
        fact = f"the sight to {sight.target} reads {sight.bearing.written}; from the map it should be"
        should = f"{round((sight.bearing.azimuth_deg - off) % 360.0) % 360:03d}"
        if abs(off) <= 3.0 * sd:
            remarks.append(note("sight-agrees", f"{fact} {should}: the two agree", sight.span))
            steep = height_disagrees(sight, address, fix)
            remarks += [] if steep is None else [steep]
            continue
        declination = in_force_deg(sight.conditions, turn.magnetic.get) or 0.0
        hints = ["look at the landmark on the map, and at the figure on the page"]
        for times, words in ((1.0, "applied twice"), (2.0, "of the wrong sign")):
            if declination and abs(off - times * declination) <= 2.0 * sd:
                hints.insert(0, f"a declination {words} would do this")
        remarks.append(
            warning("sight-disagrees", f"{fact} {should}, {abs(off):.0f} degrees off", sight.span, *hints)
        )
    return tuple(remarks)


def sight_checks(
    log: Log, fixes: Mapping[str, Fix], network: Network, raw_m: Floats, turn: SightTurn
) -> list[Check]:
    """Sights from stations to known points, as checks of where the walk came to: what lies across each of them."""
    forest = Forest(network)
    found = []
    for sight in sights_of(log):
        fix, station = fixes.get(sight.target), network.index.get(sight.address.station or "")
        if fix is None or station is None or not network.placed[station] or station in network.fixes:
            continue
        way = forest.from_root(station)
        toward = fix.position_m[:2] - raw_m[station, :2]
        distance = float(np.hypot(*toward))
        if way is None or distance < 1.0:
            continue
        azimuth = math.radians(turn.grid_azimuth_deg(sight, raw_m[station, :2]))
        onto = np.zeros((3, 3))
        onto[0, :2] = math.cos(azimuth), -math.sin(azimuth)
        variance = (math.radians(sight.conditions.precision.bearing_deg) * distance) ** 2 + fix.sd_plan_m**2
        found.append(
            Check(
                steps=way,
                misclosure_m=np.array((-float(onto[0, :2] @ toward), 0.0, 0.0)),
                covariance_m2=np.diag((max(variance, 1e-4), 1.0, 1.0)),
                onto=onto,
            )
        )
    return found


def sight_observations(
    log: Log, fixes: Mapping[str, Fix], network: Network, raw_m: Floats, turn: SightTurn
) -> list[PlaceObservation]:
    """Sights from stations to known points as observations; those that disagree with the walk are left out."""
    found = []
    for sight in sights_of(log):
        fix, station = fixes.get(sight.target), network.index.get(sight.address.station or "")
        if fix is None or station is None or not network.placed[station] or station in network.fixes:
            continue
        here = raw_m[station, :2]
        toward = fix.position_m[:2] - here
        distance = float(np.hypot(*toward))
        sd = sight.conditions.precision.bearing_deg
        if distance < 1.0 or sd <= 0.0:
            continue
        azimuth = math.radians(turn.grid_azimuth_deg(sight, here))
        across = np.array((math.cos(azimuth), -math.sin(azimuth), 0.0))
        variance = (math.radians(sd) * distance) ** 2 + fix.sd_plan_m**2
        if abs(across[:2] @ toward) > GROSS_SIGHT * math.sqrt(variance):
            continue
        value = np.array((*fix.position_m[:2], 0.0))
        found.append(
            PlaceObservation(station=station, value_m=value, weight=np.outer(across, across) / variance)
        )
    return found


def resting_on(one: Diagnostic, failing: Sequence[Span]) -> Diagnostic:
    """What is said of sights, held back below what fails on the walk between the places they were taken at."""
    if not one.code.startswith("sights-"):
        return one
    return replace(one, rests_on=(*one.rests_on, *(Label(span, "") for span in failing)))


def _refused(name: str, sights: list[Sight], met: Met | None) -> Diagnostic | None:
    """Why sights give no place, or None."""
    span = sights[-1].span
    if met is None or met.crossing_deg < NO_CROSSING_DEG:
        return warning(
            "sights-parallel",
            f"the sights that would place {name} run nearly along one line; it is not placed",
            span,
            f"a sight that crosses them at {POOR_CROSSING_DEG:.0f} degrees or more would place it",
        )
    if (met.distance_m <= 0.0).any():
        return warning(
            "sights-apart",
            f"the sights that would place {name} do not meet ahead of where they were taken; it is not placed",
            span,
            "look at their bearings: one may be reversed, misread, or to another landmark",
        )
    return None


def _grown(met: Met) -> tuple[Floats, bool]:
    """Covariance of a place, (2, 2), and whether its sights miss it by more than 99 good ones in 100: then that says how far off they are."""
    freedom = len(met.off_deg) - 2
    if not freedom or met.chi_square <= chi_square_limit(freedom, ONE_IN_A_HUNDRED):
        return met.covariance_m2, False
    return met.covariance_m2 * (met.chi_square / freedom), True


def _plan(address: PlacedAddress) -> Floats:
    if address.covariance_m2 is None:
        return np.eye(2) * address.sd_m**2
    return np.array(address.covariance_m2)[:2, :2]


def _height_of(seen: list[tuple[Sight, PlacedAddress]], met: Met) -> float | None:
    heights = [
        (address.up_m + float(distance) * math.tan(slope_rad(sight.slope)), float(distance))
        for (sight, address), distance in zip(seen, met.distance_m, strict=True)
        if sight.slope is not None and address.up_m is not None
    ]
    if not heights:
        return None
    weights = [1.0 / distance**2 for _, distance in heights]
    return sum(w * up for w, (up, _) in zip(weights, heights, strict=True)) / sum(weights)


def _height_from(sights: list[Sight], met: Met, fixes: Mapping[str, Fix]) -> float:
    """Height of a station from the slopes to known points; NaN where there are none."""
    heights = [
        (
            float(fixes[one.target].position_m[2]) - float(d) * math.tan(slope_rad(one.slope)),
            1.0 / float(d) ** 2,
        )
        for one, d in zip(sights, met.distance_m, strict=True)
        if one.slope is not None and fixes[one.target].has_height
    ]
    whole = sum(weight for _, weight in heights)
    return sum(up * weight for up, weight in heights) / whole if heights else math.nan


def _height_sd(sights: list[Sight], met: Met) -> float:
    weights = [
        1.0 / (float(d) * math.radians(one.conditions.precision.slope_deg)) ** 2
        for one, d in zip(sights, met.distance_m, strict=True)
        if one.slope is not None and one.conditions.precision.slope_deg > 0.0
    ]
    return 1.0 / math.sqrt(sum(weights)) if weights else 0.0
