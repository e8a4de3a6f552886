"""Booked legs to lengths, azimuths, slopes and their standard deviations."""

from __future__ import annotations

from collections.abc import Container, Mapping
from dataclasses import replace

import numpy as np

from traverse.angle import bearing_text, bearings_exchanged, is_quadrant, wrap_180
from traverse.diagnostic import Diagnostic, Outcome, Severity, error, note, warning
from traverse.log.items import Elevation, Leg
from traverse.log.readings import Bearing, Conditions, North, PaceKind, Unit
from traverse.log.records import Log
from traverse.reduction import backsight
from traverse.reduction.declination import Model, in_force_deg
from traverse.reduction.pace import metres, pace_length_m, paces_counted
from traverse.reduction.records import Flags, Floats, ReducedLegs
from traverse.reduction.slope import mean_slope_rad
from traverse.trade import IRON_MOST_DEG, REVERSED_DEG, UNMEASURED_SLOPE_DEG


def reduce_legs(
    log: Log,
    *,
    model: Model | None = None,
    deviations: Mapping[str, float] | None = None,
    asked: Container[str] = (),
) -> Outcome[ReducedLegs]:
    """Every leg of the log that counts.

    `model` answers `declination from model`. `deviations` are the local attraction at each station in degrees,
    taken out of what was read there; of stations in `asked` it has been said that iron may have turned them.
    """
    legs = log.legs
    paces = {id(course): pace_length_m(course) for course in log.paces}
    declinations: dict[int, float] = {}  # conditions are shared by hundreds of legs
    count = len(legs)
    climbing = any(isinstance(item, Elevation) and item.address.station is not None for item in log.items)
    fore, back, turn = np.empty(count), np.full(count, np.nan), np.empty(count)
    ground, slope, distance_sd = np.empty(count), np.zeros(count), np.empty(count)
    bearing_sd, slope_sd = np.empty(count), np.empty(count)
    from_grid, level, slope_known = (np.zeros(count, dtype=np.bool_) for _ in range(3))
    for i, leg in enumerate(legs):
        conditions = leg.conditions
        fore[i] = leg.bearing.azimuth_deg
        if leg.back_bearing is not None:
            back[i] = leg.back_bearing.azimuth_deg
        key = id(conditions)
        if key not in declinations:
            declinations[key] = _turn_deg(conditions, model)
        turn[i] = declinations[key]
        from_grid[i] = conditions.bearings is North.GRID
        pace = conditions.pace
        if leg.distance.unit is Unit.PACES and pace is not None:
            ground[i] = leg.distance.value * (paces.get(id(pace)) or pace_length_m(pace))
        else:
            ground[i] = metres(leg.distance, pace)
        precision = conditions.precision
        share = precision.pace_share if leg.distance.unit.is_pace else precision.tape_share
        distance_sd[i] = leg.sd_m if leg.sd_m is not None else share * ground[i]
        bearing_sd[i] = precision.bearing_deg
        # Where heights were read, a leg without a slope is not level: nothing is known of it.
        slope_sd[i] = UNMEASURED_SLOPE_DEG if climbing and leg.slope is None else precision.slope_deg
        level[i] = leg.horizontal
        if leg.slope is not None:
            slope_known[i] = True
            slope[i] = mean_slope_rad(leg.slope, leg.back_slope)
    booked_difference = backsight.disagreement_deg(fore, back)
    at_start, at_end = _deviations(legs, deviations or {})
    difference = backsight.wrap_180(booked_difference - at_start + at_end)
    clear = fore - at_start + turn
    azimuth, azimuth_sd, agrees = backsight.reconciled(clear, difference, bearing_sd)
    reduced = ReducedLegs(
        booked=legs,
        azimuth_deg=azimuth,
        from_grid=from_grid,
        fore_back_deg=booked_difference,
        fore_deg=clear,
        difference_deg=difference,
        declination_deg=turn,
        reading_sd_deg=bearing_sd,
        ground_m=ground,
        level=level,
        slope_rad=slope,
        slope_known=slope_known,
        bearing_sd_deg=azimuth_sd,
        slope_sd_deg=slope_sd,
        distance_sd_m=distance_sd,
    )
    return Outcome(reduced, tuple(_remarks(reduced, difference, agrees, asked)))


def _turn_deg(conditions: Conditions, model: Model | None) -> float:
    """What is added to a bearing as read: the declination, for magnetic ones."""
    if conditions.bearings is not North.MAGNETIC:
        return 0.0
    return in_force_deg(conditions, model) or 0.0


def _deviations(legs: tuple[Leg, ...], deviations: Mapping[str, float]) -> tuple[Floats, Floats]:
    if not deviations:
        return np.zeros(len(legs)), np.zeros(len(legs))
    start = np.array([deviations.get(leg.start, 0.0) for leg in legs])
    return start, np.array([deviations.get(leg.end, 0.0) for leg in legs])


def _remarks(
    reduced: ReducedLegs, difference: Floats, agrees: Flags, asked: Container[str]
) -> list[Diagnostic]:
    both = int((~np.isnan(difference)).sum())
    found = [
        _disagreement(reduced.booked[i], float(reduced.fore_back_deg[i]), both)
        for i in np.flatnonzero(~agrees & ~np.isnan(difference))
        if reduced.booked[i].start not in asked and reduced.booked[i].end not in asked
    ]
    for i in np.flatnonzero(~(reduced.ground_m > 0.0)):
        leg = reduced.booked[i]
        found.append(
            error(
                "zero-leg",
                f"the leg {leg.start} to {leg.end} has no length",
                leg.distance.span,
                "write the distance walked, with its unit",
            )
        )
    for leg in reduced.booked:
        pace = leg.conditions.pace
        if leg.distance.unit in {Unit.DOUBLE_PACES, Unit.SINGLE_PACES} and pace is not None:
            taken = paces_counted(leg.distance, pace)
            if taken != leg.distance.value:
                kind = "double" if pace.kind is PaceKind.DOUBLE else "single"
                found.append(
                    note(
                        "pace-kind",
                        f"{leg.distance.written} is {taken:g} of the {kind} paces in force",
                        leg.distance.span,
                    )
                )
    return found


def _disagreement(leg: Leg, difference: float, both: int) -> Diagnostic:
    """Of a leg beyond its limit a warning, of one that is no odder than the worst of `both`, all that have two bearings, a note."""
    assert leg.back_bearing is not None
    sd_deg = leg.conditions.precision.bearing_deg
    limit = float(backsight.limit_deg(np.array(sd_deg)))
    fact = f"leg {leg.start} to {leg.end}: fore {leg.bearing.written}, back {leg.back_bearing.written}"
    if leg.bearing.azimuth_deg == leg.back_bearing.azimuth_deg:
        return warning(
            "fore-back-reversed",
            f"leg {leg.start} to {leg.end}: fore and back are both {leg.bearing.written}",
            leg.back_bearing.span,
            f"was the fore copied as the back? Without a reading at {leg.end}, leave `back {leg.back_bearing.written}` out",
            "the fore bearing stands; `checked WHO WHY` answers this",
        )
    if abs(difference) > REVERSED_DEG:
        return warning(
            "fore-back-reversed",
            f"{fact} point nearly the same way, {180.0 - abs(difference):.0f} degrees apart",
            leg.back_bearing.span,
            f"one of them was read at the wrong end or typed in the other's place, at {leg.start} or {leg.end}",
            "the fore bearing stands; `checked WHO WHY` answers this",
        )
    fore_fits, back_fits = _two_exchanged(leg, limit)
    fits = (*back_fits, *fore_fits)
    # What a loop says of the fore bearing, which stands, is more than that the two would agree.
    guess = f"two digits exchanged? {' or '.join(fits)} would fit" if fits else ""
    apart = warning(
        "fore-back",
        f"{fact} should differ by 180 degrees; they are {abs(difference):.0f} off, "
        f"more than {limit:.0f} of ordinary reading",
        leg.bearing.span if fore_fits and not back_fits else leg.back_bearing.span,
        *([guess] if guess else []),
        "look at both figures on the page"
        + (
            f"; iron near {leg.start} or {leg.end} would do this too"
            if abs(difference) <= IRON_MOST_DEG
            else ""
        ),
        "the fore bearing stands; `checked WHO WHY` answers this",
    )
    by_chance = abs(difference) <= backsight.limit_of_all_deg(sd_deg, both)
    return replace(apart, severity=Severity.NOTE if by_chance else apart.severity, gives_way=guess)


def _two_exchanged(leg: Leg, limit_deg: float) -> tuple[list[str], list[str]]:
    """The one or two bearings by which fore and back agree, where two figures of the fore or of the back were exchanged."""
    fore, back = leg.bearing, leg.back_bearing
    assert back is not None

    def fits(word: str, one: Bearing, other: Bearing) -> list[str]:
        in_quadrants = is_quadrant(one.written)
        return [
            f"`{word}{bearing_text(azimuth, quadrant=in_quadrants)}`"
            for azimuth in bearings_exchanged(one.azimuth_deg, in_quadrants=in_quadrants)
            if abs(wrap_180(azimuth - other.azimuth_deg - 180.0)) <= limit_deg
        ]

    return fits("", fore, back), fits("back ", back, fore)
