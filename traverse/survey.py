"""The walk, from what was booked to where everything lies: reduced, adjusted, placed."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from traverse.adjustment.closure import judge_circuits, left_out
from traverse.adjustment.ellipse import ellipses
from traverse.adjustment.least_squares import Adjusted, least_squares
from traverse.adjustment.network import build_network
from traverse.adjustment.records import Closing, Floats, LeftOut, Network, Vectors
from traverse.adjustment.rule import rule_for
from traverse.adjustment.sharing import Places, compass_weights, share_out, transit_weights
from traverse.adjustment.suspects import find_suspects
from traverse.adjustment.vectors import draw, true_azimuth_deg
from traverse.adjustment.verdict import loose_pieces, verdicts
from traverse.diagnostic import Found, Outcome, error
from traverse.location.control import known_points
from traverse.location.magnetic import model_declinations
from traverse.location.place import closures, heights_measured, place_legs, place_stations, suspects
from traverse.location.records import Deviation, Frame, PaceLength, Survey
from traverse.location.spot import place_spots
from traverse.log.records import Declination, Log, Rule, Sight
from traverse.reduction.attraction import local_attraction
from traverse.reduction.declination import declination_deg
from traverse.reduction.pace import pace_length_m, pace_sd_m
from traverse.reduction.reduce import reduce_legs

if TYPE_CHECKING:
    from traverse.location.crs import Grid


def survey_log(log: Log) -> Outcome[Survey]:
    """Where everything of a log lies, and how sure one may be of it."""
    found = Found()
    grid = found.keep(_grid(log))
    fixes = found.keep(known_points(log, grid))
    attraction = found.keep(local_attraction(log))
    magnetic = found.keep(model_declinations(log, grid, fixes))
    legs = found.keep(reduce_legs(log, model=magnetic.get, deviations=attraction))
    network = build_network(log, fixes)
    found.diagnostics += loose_pieces(log, network)
    drawn = draw(legs, network, grid.convergence_and_scale if grid else None)
    vectors, raw = drawn.vectors, drawn.raw

    rule = rule_for(log.heading.adjust, network)
    anyway = log.heading.adjust.anyway if log.heading.adjust else None
    closings = judge_circuits(network, vectors, anyway=anyway is not None)
    explained = find_suspects(legs, network, closings, drawn)
    found.diagnostics += verdicts(log, network, closings, explained, wanted=rule is not Rule.NONE)
    used, left = _taking_part(closings, rule)
    places, adjusted = _adjust(network, vectors, used, left, rule=rule, raw=raw)

    axes = ellipses(adjusted.covariance_m2[:, :2, :2])
    stations = place_stations(
        log,
        network,
        position_m=places.position_m,
        raw_m=raw.position_m,
        height_known=places.height_known,
        raw_height_known=raw.height_known,
        covariance_m2=adjusted.covariance_m2,
        axes=axes,
        grid=grid if fixes else None,
    )
    placed_legs = place_legs(
        legs,
        network,
        azimuth_true_deg=true_azimuth_deg(legs, drawn.convergence_deg),
        observed_m=vectors.observed_m,
        position_m=places.position_m,
    )
    survey = Survey(
        frame=_frame(log, grid if fixes else None, network, magnetic),
        paces=tuple(
            PaceLength(course=course, length_m=pace_length_m(course), sd_m=pace_sd_m(course))
            for course in log.paces
        ),
        places=stations,
        legs=placed_legs,
        spots=place_spots(
            log.spots,
            stations,
            placed_legs,
            covariance_at=_covariance_at(network, adjusted),
            covariance_of=lambda name: adjusted.covariance_m2[network.index[name]],
        ),
        closures=closures(log, network, used),
        rule=rule,
        anyway=anyway,
        heights=heights_measured(legs),
        suspects=suspects(log, explained),
        deviations=tuple(Deviation(station=name, degrees=value) for name, value in attraction.items()),
        ties=log.ties,
        sights=tuple(item for item in log.items if isinstance(item, Sight)),
        model_declinations=magnetic,
        largest_ellipse_m=_largest(network, adjusted),
        control_sd_m=_control_sd(network),
    )
    return Outcome(survey, tuple(found.diagnostics))


def _grid(log: Log) -> Outcome[Grid | None]:
    """The grid that the log names; None for a local one, and for a code that can't be used."""
    epsg = log.heading.epsg
    if epsg is None:
        return Outcome(None)
    from traverse.location.crs import UTM_HINT, UnusableGridError, open_grid

    try:
        return Outcome(open_grid(epsg))
    except UnusableGridError as unusable:
        return Outcome(None, (error("unknown-grid", str(unusable), log.heading.grid_span, UTM_HINT),))


def _taking_part(closings: tuple[Closing, ...], rule: Rule) -> tuple[tuple[Closing, ...], LeftOut]:
    """The circuits as they are used, and what is left out; `adjust none` leaves all of them out."""
    if rule is Rule.NONE:
        closings = tuple(replace(closing, used=False, used_up=False) for closing in closings)
    return closings, left_out(closings)


def _adjust(
    network: Network,
    vectors: Vectors,
    closings: tuple[Closing, ...],
    left: LeftOut,
    *,
    rule: Rule,
    raw: Places,
) -> tuple[Places, Adjusted]:
    """Places by the rule, and the covariance that least squares gives whichever rule it is."""
    weights = {Rule.COMPASS: compass_weights, Rule.TRANSIT: transit_weights}.get(rule)
    places = share_out(network, vectors, closings, left, weights=weights and weights(vectors), raw=raw)
    adjusted = least_squares(network, vectors, left, near_m=places.position_m)
    if rule is Rule.LEAST_SQUARES:
        places = Places(position_m=adjusted.position_m, height_known=places.height_known)
    return places, adjusted


def _covariance_at(network: Network, adjusted: Adjusted) -> Callable[[int, float], Floats]:
    """Covariance of the point at a share of a leg, from that of its ends."""

    def at(edge: int, share: float) -> Floats:
        both = adjusted.between_m2[edge]
        return np.asarray(
            (1.0 - share) ** 2 * adjusted.covariance_m2[network.start[edge]]
            + share**2 * adjusted.covariance_m2[network.end[edge]]
            + share * (1.0 - share) * (both + both.T)
        )

    return at


def _largest(network: Network, adjusted: Adjusted) -> float | None:
    placed = network.placed
    if not placed.any():
        return None
    major, _, _ = ellipses(adjusted.about_first_m2[placed][:, :2, :2])
    return float(major.max())


def _control_sd(network: Network) -> float | None:
    if not network.fixes:
        return None
    return network.fixes[min(network.fixes)].sd_plan_m or None


def _frame(log: Log, grid: Grid | None, network: Network, magnetic: Mapping[dt.date, float]) -> Frame:
    """The grid and how the norths lie in it, at the first control on the first day."""
    conditions = log.legs[0].conditions if log.legs else log.heading.first
    declination = conditions.declination
    value = declination_deg(declination, conditions.date, magnetic.get)
    convergence = None
    if grid is not None and network.fixes:
        first = network.fixes[min(network.fixes)].position_m
        convergence = float(grid.convergence_and_scale(first[:1], first[1:2])[0][0])
    return Frame(
        epsg=grid.epsg if grid else None,
        name=grid.name if grid else "local grid",
        local=not network.fixes,
        convergence_deg=convergence,
        declination_deg=value,
        declination_note=_source(declination),
        accuracy_m=grid.accuracy_m if grid else None,
    )


def _source(declination: Declination | None) -> str | None:
    if declination is None:
        return None
    if declination.from_model:
        return "World Magnetic Model"
    parts = [str(declination.year) if declination.year else None, declination.source]
    return ", ".join(part for part in parts if part) or None
