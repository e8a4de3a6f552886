"""Places from bearings: where sights meet, where those to known points lead back to, and which of them misses the others."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import permutations

import numpy as np

from traverse.adjustment.records import Floats
from traverse.angle import bearing_text, bearings_exchanged, is_quadrant, wrap_360
from traverse.diagnostic import Diagnostic, warning
from traverse.log.items import Sight
from traverse.log.records import Log
from traverse.record import record
from traverse.settled import settled, settled_all
from traverse.trade import (
    ALONE,
    NO_CROSSING_DEG,
    ONE_IN_A_HUNDRED,
    RARE_SLIP,
    UNCOMMON_SLIP,
    chi_square_limit,
)
from traverse.wording import listed

ROUNDS = 20
"""Rounds in which weights follow the distances; they settle in three or four."""


@record(frozen=True, slots=True, kw_only=True)
class Rays:
    """Lines from known places, one element each."""

    origin_m: Floats  # (n, 2) east, north
    azimuth_deg: Floats  # (n,) in the plane, from the origin toward the place sought
    azimuth_sd_deg: Floats  # (n,)
    origin_covariance_m2: Floats  # (n, 2, 2)


@record(frozen=True, slots=True, kw_only=True)
class Met:
    """Where rays meet."""

    position_m: Floats  # (2,)
    covariance_m2: Floats  # (2, 2)
    distance_m: Floats  # (n,) along each ray; negative behind its origin
    off_deg: Floats  # (n,) each ray's own azimuth minus that to the place
    crossing_deg: float
    """Widest angle at which two of the rays cross, 0 to 90."""
    chi_square: float
    """Of what the rays pass the place by, over what each may; with two rays fewer than there are degrees of freedom."""


def meet(rays: Rays) -> Met | None:
    """The place that fits all rays best, weighted by how far each may be off at its distance.

    None where the rays are parallel. Two rays meet exactly; more share their misfit by least squares.
    Source: intersection and resection of bearings by least squares, any survey text.
    """
    azimuth = np.radians(rays.azimuth_deg)
    along = np.stack((np.sin(azimuth), np.cos(azimuth)), axis=1)
    across = np.stack((np.cos(azimuth), -np.sin(azimuth)), axis=1)
    crossing = float(np.degrees(np.arcsin(np.clip(np.abs(along @ across.T).max(), 0.0, 1.0))))
    if crossing < 0.01:
        return None
    offset = (across * rays.origin_m).sum(axis=1)
    own = np.einsum("ni,nij,nj->n", across, rays.origin_covariance_m2, across)
    variance = np.ones(len(azimuth))
    # None yet: weights of the first round say nothing, wherever its place comes out.
    position = np.full(2, np.nan)
    covariance = np.eye(2)
    for _ in range(ROUNDS):
        normal = (across / variance[:, None]).T @ across
        covariance = np.asarray(np.linalg.inv(normal))
        before, position = position, covariance @ ((across / variance[:, None]).T @ offset)
        distance = np.hypot(*(position - rays.origin_m).T)
        spread = np.radians(rays.azimuth_sd_deg) * distance
        variance = np.maximum(spread**2 + own, 1e-8)
        if np.abs(position - before).max() < 1e-7:
            break
    position = settled_all(position)
    toward = position - rays.origin_m
    read = np.degrees(np.arctan2(toward[:, 0], toward[:, 1]))
    return Met(
        position_m=position,
        covariance_m2=settled_all(covariance),
        distance_m=settled_all((toward * along).sum(axis=1)),
        off_deg=settled_all(180.0 - np.mod(180.0 - (rays.azimuth_deg - read), 360.0)),
        crossing_deg=settled(crossing),
        chi_square=settled(float(((across @ position - offset) ** 2 / variance).sum()), 6),
    )


def level_rise_m(distance_m: float, slope_rad: float) -> float:
    """Rise over a level distance at a slope."""
    return distance_m * math.tan(slope_rad)


def without_each(rays: Rays) -> list[Met | None]:
    """Where the other rays meet, each left out in turn; None where they do not meet ahead of their origins."""
    found: list[Met | None] = []
    for i in range(len(rays.azimuth_deg)):
        keep = np.arange(len(rays.azimuth_deg)) != i
        met = meet(
            Rays(
                origin_m=rays.origin_m[keep],
                azimuth_deg=rays.azimuth_deg[keep],
                azimuth_sd_deg=rays.azimuth_sd_deg[keep],
                origin_covariance_m2=rays.origin_covariance_m2[keep],
            )
        )
        found.append(None if met is None or (met.distance_m <= 0.0).any() else met)
    return found


def sights_apart(
    log: Log, whose: str, sights: Sequence[Sight], rays: Rays, met: Met
) -> tuple[Diagnostic, Met | None]:
    """Sights that miss each other by more than their errors allow; the wrong one by name where the others, or a usual slip, tell.

    And where the others meet, of one that is named alone.
    """
    freedom = len(sights) - 3
    fit = chi_square_limit(freedom) if freedom else math.inf
    found: list[_OtherSight] = []
    for i, (sight, rest) in enumerate(zip(sights, without_each(rays), strict=True)):
        if rest is not None and rest.chi_square <= fit and rest.crossing_deg >= NO_CROSSING_DEG:
            found.append(_other_sight(i, sight, rest, rays))
    worst = log.lengths.said(float(np.abs(np.sin(np.radians(met.off_deg)) * met.distance_m).max()))
    fact = f"{whose} do not meet: one passes the place that fits them best by {worst}, more than their errors allow"
    found.sort(key=lambda one: one.rank)
    kept = [one for one in found if one.rank <= found[0].rank + ALONE]
    if len(kept) == 1 and (freedom or kept[0].slips):
        [one] = kept
        asked = f": was it {one.slips}?" if one.slips else ", and which landmark it was"
        return warning(
            "sights-apart",
            f"{fact}; the other {len(sights) - 1} meet without this one, which would read {one.would}; it is not used",
            one.sight.span,
            f"look at {one.sight.bearing.written} on the page{asked}",
        ), one.rest
    each = [
        f"{f'{one.slips},' if one.slips else f'`{one.would}`'} {one.sight.address.where} (line {one.sight.span.line})"
        for one in kept
    ]
    hint = (
        f"one of them may be to another landmark, or misread: {listed(each, last='or')} would meet the others"
        if each
        else ("one may be to another landmark, or misread: look at their bearings")
    )
    return warning("sights-apart", fact, sights[-1].span, hint), None


_SHOWN_FIGURES = 3
"""Figures of one sight that a message names."""


@record(frozen=True, slots=True, kw_only=True)
class _OtherSight:
    """A sight that would meet the others, were it another bearing."""

    sight: Sight
    rest: Met
    """Where the others meet."""
    would: str
    """What it would read there."""
    slips: str
    """The figures that usual slips make of it, each with its words; empty where none would do."""
    rank: float
    """Twice the negative log-likelihood, but for a constant."""


def _other_sight(i: int, sight: Sight, rest: Met, rays: Rays) -> _OtherSight:
    toward = rest.position_m - rays.origin_m[i]
    azimuth = math.degrees(math.atan2(float(toward[0]), float(toward[1])))
    quadrant, read = is_quadrant(sight.bearing.written), sight.bearing.azimuth_deg
    would = bearing_text(round(read - float(rays.azimuth_deg[i]) + azimuth), quadrant=quadrant)
    fitting: list[tuple[float, bool, str]] = []
    for words, other, rank in _slips(sight):
        azimuths = rays.azimuth_deg.copy()
        azimuths[i] += other - read
        met = meet(replace(rays, azimuth_deg=azimuths))
        if met is None or (met.distance_m <= 0.0).any():
            continue
        if met.chi_square <= chi_square_limit(len(azimuths) - 2, ONE_IN_A_HUNDRED):
            said = f"`{bearing_text(other, quadrant=quadrant)}`, {words}"
            fitting.append((settled(met.chi_square + rank, 6), rank < UNCOMMON_SLIP, said))
    usual = [one for one in fitting if one[1]]
    if not usual:  # some digit can nearly always be changed so that it fits, which alone says nothing
        return _OtherSight(
            sight=sight,
            rest=rest,
            would=would,
            slips="",
            rank=settled(rest.chi_square + 2.0 * UNCOMMON_SLIP, 6),
        )
    first = min(usual)
    others = [one[2] for one in sorted(fitting) if one is not first and one[0] <= first[0] + ALONE]
    slips = ", or ".join((first[2], *others[: _SHOWN_FIGURES - 1]))
    return _OtherSight(sight=sight, rest=rest, would=would, slips=slips, rank=first[0])


def _slips(sight: Sight) -> Iterator[tuple[str, float, float]]:
    """What a bearing may have been: the words of each slip, the bearing, and how rare it is; each bearing once."""
    read = sight.bearing.azimuth_deg
    quadrant = is_quadrant(sight.bearing.written)
    seen = {wrap_360(read)}
    tried = [("digits exchanged", one, RARE_SLIP) for one in bearings_exchanged(read, in_quadrants=quadrant)]
    tried.append(("reversed", read + 180.0, RARE_SLIP))
    if quadrant:
        tried += [("E and W exchanged", -read, RARE_SLIP), ("N and S exchanged", 180.0 - read, RARE_SLIP)]
    else:
        whole, rest = divmod(wrap_360(read), 1.0)
        figures = f"{int(whole):03d}"
        orders = ("".join(one) for one in permutations(figures))
        tried += [
            ("digits in another order", float(one) + rest, RARE_SLIP) for one in orders if int(one) < 360
        ]
    for step in (100.0, 10.0):
        tried += [(f"{step:g} degrees off", read + off, RARE_SLIP) for off in (-step, step)]
    if not quadrant:
        changed = (f"{figures[:k]}{digit}{figures[k + 1 :]}" for k in range(3) for digit in "0123456789")
        tried += [
            ("one digit misread", float(one) + rest, UNCOMMON_SLIP) for one in changed if int(one) < 360
        ]
    for words, other, rank in tried:
        if wrap_360(other) not in seen:
            seen.add(wrap_360(other))
            yield words, wrap_360(other), rank
