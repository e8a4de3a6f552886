"""The walk, from what was booked to where everything lies: reduced, adjusted, placed."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from traverse.adjustment.calibration import PacedAlike, stretches
from traverse.adjustment.closure import judge_circuits, left_out, suspicious
from traverse.adjustment.ellipse import ellipses
from traverse.adjustment.hanging import holding_nobody, hung_places, left_of_all
from traverse.adjustment.jointly import Together, taken_together
from traverse.adjustment.known_again import left_out_points, tested_again
from traverse.adjustment.least_squares import Adjusted, PlaceObservation, least_squares
from traverse.adjustment.network import build_network
from traverse.adjustment.records import Closing, Fix, LeftOut, Network, Vectors
from traverse.adjustment.residuals import residuals
from traverse.adjustment.rule import rule_for
from traverse.adjustment.shares import made_of
from traverse.adjustment.sharing import Places, compass_weights, share_out, transit_weights
from traverse.adjustment.vectors import Drawn, draw, draw_legs, true_azimuth_deg
from traverse.adjustment.verdict import far_longer, loose_pieces, nearly_met, verdicts, waiting_ties
from traverse.diagnostic import Diagnostic, Found, Label, Outcome, Severity, note, warning
from traverse.location.address import Spread, place_addresses
from traverse.location.frame import frame_of, grid_of
from traverse.location.known_points import known_points, unreached
from traverse.location.place import (
    closures,
    heights_measured,
    network_test,
    place_legs,
    place_stations,
    suspects,
)
from traverse.location.records import (
    Closure,
    Deviation,
    Fit,
    Frame,
    LoopKind,
    OddHeights,
    PaceLength,
    Place,
    PlacedTrack,
    PlaceKind,
    Survey,
    Suspect,
)
from traverse.location.standing import with_standing
from traverse.log.items import Elevation, Sight
from traverse.log.records import Control, Log, Rule
from traverse.reduction.attraction import Attraction, local_attraction
from traverse.reduction.pace import pace_length_m, pace_sd_m
from traverse.reduction.reduce import reduce_legs
from traverse.source import Span

if TYPE_CHECKING:
    from traverse.adjustment.misread.explained import Check, Explanation
    from traverse.location.beyond import BeyondLegs
    from traverse.location.crs import Grid
    from traverse.location.elevation import HeightReading
    from traverse.reduction.records import ReducedLegs


MOST_LEFT_OUT = 20
"""Heights that are left out one after the other; in a log with more it is not the figures that are wrong."""


def survey_log(
    log: Log,
    undecided: AbstractSet[str] = frozenset(),
    points: AbstractSet[str] = frozenset(),
    sure: AbstractSet[str] = frozenset(),
    *,
    explain: bool = True,
) -> Outcome[Survey]:
    """Where everything of a log lies, and how sure one may be of it.

    `undecided` are files of parties that do not lie on each other, where nothing says which is wrong; `points` are known
    points of a camp that all else speaks against, `sure` those that sound parties bear out. What would `explain` a bad
    closure takes long to look for, and moves nothing: a trial goes without.
    """
    found = Found()
    grid = found.keep(grid_of(log))
    fixes = found.keep(known_points(log, grid))
    fixes = (
        {name: replace(fix, sure=fix.sure or name in sure) for name, fix in fixes.items()} if sure else fixes
    )
    iron = found.keep(local_attraction(log))
    magnetic = found.keep(_model(log, grid, fixes))
    legs = found.keep(reduce_legs(log, model=magnetic.get, deviations=iron.taken, asked=iron.asked))
    beyond = _beyond_legs(log, grid, fixes, magnetic, iron.taken)
    network = found.keep(_connect(log, fixes, beyond))
    in_grid = grid if network.fixes else None
    drawn = draw(legs, network, in_grid.convergence_and_scale if in_grid else None)
    odd = OddHeights() if beyond is None else _odd_heights(log, network, drawn, stretches(legs))
    if beyond and odd.found:
        network, drawn, beyond = _without(odd, legs, network, drawn, beyond, in_grid)
    vectors = drawn.vectors
    readings = found.keep(beyond.readings()) if beyond else ()
    sound = tuple(one for one in readings if id(one.booked) not in odd.readings)
    raw = _lifted(network, drawn.raw, sound)

    rule = rule_for(log.heading.adjust, network)
    anyway = log.heading.adjust.anyway if log.heading.adjust else None
    paces = stretches(legs)
    closings = judge_circuits(network, vectors, anyway=anyway is not None, stretched=paces)
    explained: Mapping[int, Explanation] = {}
    together = taken_together(closings, network, vectors, paces)
    if explain and (any(suspicious(closings)) or (together is not None and together.fails)):
        beside = beyond.checks(network, raw, sound) if beyond else ()
        explained = _by_iron(log, network, closings, drawn, magnetic, iron) or _explain(
            log, legs, network, closings, drawn, grid, fixes, beside, together
        )
        explained = {
            i: _of_points(one, points)
            for i, one in explained.items()
            if not _runs_over(log, closings[i], undecided)
        }
    if rule is Rule.LEAST_SQUARES and anyway is None and not log.parties:
        closings = tested_again(log, network, vectors, closings, stretched=paces)
    elif points and anyway is None:
        closings = left_out_points(log, network, vectors, closings, points, stretched=paces)
    used, left = _taking_part(holding_nobody(log, network, closings), rule)
    left = left_of_all(log, network, used, left)
    if odd.edges:
        left = _parted(odd, left, used)
    seen = beyond.sights(network, raw) if beyond and rule is Rule.LEAST_SQUARES else ()
    places, adjusted, unused = _adjust(
        network,
        vectors,
        used,
        left,
        rule=rule,
        raw=raw,
        seen=seen,
        stretched=paces,
        readings=readings,
        aside=odd.readings,
    )
    checks = residuals(legs, network, drawn, adjusted, left)
    if any(one.hung for one in log.parties):
        laid_m = hung_places(log, network, vectors, used, places.position_m)
        places, adjusted = replace(places, position_m=laid_m), replace(adjusted, position_m=laid_m)

    if adjusted.bounds:
        found.diagnostics.append(
            note(
                "tangled",
                "the walk crosses itself too often for each station's error to be worked out; those given are of "
                "the shortest way to it, and too large",
                None,
            )
        )
    stations: Mapping[str, Place] = place_stations(
        log,
        network,
        position_m=places.position_m,
        raw_m=raw.position_m,
        height_known=places.height_known,
        raw_height_known=raw.height_known,
        covariance_m2=adjusted.covariance_m2,
        axes=ellipses(adjusted.covariance_m2[:, :2, :2]),
        grid=in_grid,
        unused=left.controls,
    )
    placed_legs = place_legs(
        legs,
        network,
        azimuth_true_deg=true_azimuth_deg(legs, drawn.convergence_deg),
        observed_m=vectors.observed_m,
        position_m=places.position_m,
        residuals=checks,
        left=left,
    )
    walked = {edge: vectors.covariance_m2[edge] for edge in left.edges if edge < len(legs.booked)}
    spread = Spread(network=network, adjusted=adjusted, sighted={}, walked_m2=walked)
    addresses = place_addresses(log.addresses, stations, placed_legs, spread)
    compared = False
    misread: tuple[Suspect, ...] = ()
    if beyond:
        stations, addresses, compared, misread = found.keep(
            beyond.look(
                network,
                stations,
                placed_legs,
                addresses,
                spread,
                unused=unused,
                failing=_failing(closings),
                failing_up=[one.circuit.span for one in closings if (one.q_up or 0.0) > one.limits.refuse_up],
            )
        )
    frame = frame_of(log, in_grid, fixes, magnetic, local=not network.fixes)
    found.diagnostics += verdicts(
        log,
        network,
        closings,
        explained,
        to_true_deg=frame.to_true_deg,
        wanted=rule is not Rule.NONE,
        sighted=compared,
    )
    fitted = _fits(log, network, drawn, magnetic, paces)
    if not _cause_named(closings, explained):
        found.keep(fitted)
    found.diagnostics += nearly_met(log, network, drawn)
    if network.fixes and not log.parties:
        sd_m = np.sqrt(np.trace(adjusted.covariance_m2[:, :2, :2], axis1=1, axis2=2))
        found.diagnostics += unreached(log, fixes, network, drawn.raw, sd_m)
    found.diagnostics += far_longer(log, network, drawn)
    closed = closures(log, network, used, made_of(legs, network, used, drawn), explained)
    closed = tuple(
        replace(one, of_wrong_point=True) if _of_wrong_point(one, stations, points) else one for one in closed
    )
    stations, placed_legs = with_standing(stations, placed_legs, closed, log.ties)
    named, unnamed = suspects(log, explained)
    survey = Survey(
        frame=frame,
        paces=tuple(
            PaceLength(course=course, length_m=pace_length_m(course), sd_m=pace_sd_m(course))
            for course in log.paces
        ),
        places=stations,
        legs=placed_legs,
        addresses=addresses,
        closures=closed,
        rule=rule,
        anyway=anyway,
        heights=heights_measured(legs, read=sum(one.station in network.index for one in readings)),
        suspects=(*named, *misread),
        unnamed_suspects=unnamed,
        deviations=tuple(Deviation(station=name, degrees=value) for name, value in iron.taken.items()),
        deviations_left=tuple(Deviation(station=name, degrees=value) for name, value in iron.asked.items()),
        fits=fitted.value,
        ties=log.ties,
        tracks=found.keep(_tracks(log, grid)) if log.tracks else (),
        sights=tuple(item for item in log.items if isinstance(item, Sight)),
        apart=_apart(log, fixes, stations) if in_grid is not None else {},
        model_declinations=magnetic,
        network_test=network_test(checks),
        control_sd_m=_control_sd_m(network),
        common_control=_common_control(log, frame),
        joint_m2=spread.joint,
        apart_m2=spread.apart,
    )
    return Outcome(survey, tuple(found.diagnostics))


def _of_wrong_point(one: Closure, places: Mapping[str, Place], points: AbstractSet[str]) -> bool:
    """Whether a tie that fails runs to one of the points that all else speaks against, and from one that is used."""
    ends = one.stations[0], one.stations[-1]
    wrong = [name in points and places[name].kind is PlaceKind.UNUSED for name in ends]
    return one.kind is LoopKind.TIE and not one.adjusted and any(wrong) and not all(wrong)


def _failing(closings: Sequence[Closing]) -> tuple[Span, ...]:
    """The lines that close what fails, in plan or in height."""
    return tuple(
        one.circuit.span
        for one in closings
        if one.q > one.limits.refuse or (one.q_up or 0.0) > one.limits.refuse_up
    )


def _apart(
    log: Log, fixes: Mapping[str, Fix], stations: Mapping[str, Place]
) -> dict[str, tuple[float, float]]:
    """Known points that were sighted and have no place on the walk."""
    targets = dict.fromkeys(item.target for item in log.items if isinstance(item, Sight))
    places = ((name, fixes[name].position_m) for name in targets if name in fixes and name not in stations)
    return {name: (float(east), float(north)) for name, (east, north, *_) in places}


# What only some logs need is imported where it is needed: a day's page should be checked at once.


def _model(log: Log, grid: Grid | None, fixes: Mapping[str, Fix]) -> Outcome[dict[dt.date, float]]:
    """Declinations of the magnetic model, for a log that asks for them or can be compared with them."""
    if grid is None and not any(
        leg.conditions.declination and leg.conditions.declination.from_model for leg in log.legs
    ):
        return Outcome({})
    from traverse.location.magnetic import model_declinations

    return model_declinations(log, grid, fixes)


def _tracks(log: Log, grid: Grid | None) -> Outcome[tuple[PlacedTrack, ...]]:
    """Tracks of receivers, for a log that has some."""
    from traverse.location.tracks import placed_tracks

    return placed_tracks(log, grid)


def _beyond_legs(
    log: Log,
    grid: Grid | None,
    fixes: Mapping[str, Fix],
    magnetic: Mapping[dt.date, float],
    attraction: Mapping[str, float],
) -> BeyondLegs | None:
    """What was sighted and what heights were read; None for a log with neither."""
    if not any(isinstance(item, Sight | Elevation) for item in log.items):
        return None
    from traverse.location.beyond import BeyondLegs
    from traverse.location.landmark import SightTurn

    turn = SightTurn(grid=grid, magnetic=magnetic, attraction=attraction)
    return BeyondLegs(log=log, fixes=fixes, turn=turn)


def _by_iron(
    log: Log,
    network: Network,
    closings: tuple[Closing, ...],
    drawn: Drawn,
    magnetic: Mapping[dt.date, float],
    iron: Attraction,
) -> Mapping[int, Explanation]:
    """What closes badly, where iron that is asked about would mend it all: it is the same at all bearings of a station."""
    if not iron.asked:
        return {}
    from traverse.adjustment.misread.explained import Explanation

    legs = reduce_legs(log, model=magnetic.get, deviations={**iron.taken, **iron.asked}).value
    observed, covariance = draw_legs(legs, drawn.convergence_deg, drawn.scale)
    vectors = replace(
        drawn.vectors,
        observed_m=np.concatenate((observed, drawn.vectors.observed_m[len(observed) :])),
        covariance_m2=np.concatenate((covariance, drawn.vectors.covariance_m2[len(covariance) :])),
    )
    after = judge_circuits(network, vectors, anyway=False, stretched=stretches(legs))
    failing = [i for i, bad in enumerate(suspicious(closings)) if bad]
    if not failing or any(not one.used for one in after):
        return {}
    return {
        i: Explanation(
            ranked=(),
            decides=None,
            iron=tuple(iron.asked),
            closes_m=float(np.hypot(*after[i].misclosure_m[:2])),
        )
        for i in failing
    }


def _explain(
    log: Log,
    legs: ReducedLegs,
    network: Network,
    closings: tuple[Closing, ...],
    drawn: Drawn,
    grid: Grid | None,
    fixes: Mapping[str, Fix],
    checks: Sequence[Check],
    together: Together | None,
) -> Mapping[int, Explanation]:
    """Readings that would mend what closes badly."""
    from traverse.adjustment.hanging import holds_others, own_loops_first
    from traverse.adjustment.misread.find import find_suspects
    from traverse.adjustment.misread.left_out import with_leg_left_out
    from traverse.location.other_figures import other_places

    model_deg = None
    if grid is not None and fixes:
        from traverse.location.magnetic import modelled_deg

        model_deg = modelled_deg(log, grid, fixes)
    known = other_places(log, network, grid)

    def found_in(some: tuple[Closing, ...], together: Together | None) -> dict[int, Explanation]:
        return find_suspects(
            log,
            legs,
            network,
            some,
            drawn,
            known=known,
            checks=checks,
            together=together,
            model_deg=model_deg,
        )

    every = found_in(closings, together)
    own = [i for i, one in enumerate(closings) if not holds_others(log, network, one.circuit)]
    if len(own) == len(closings):
        return with_leg_left_out(log, closings, every, drawn)
    some = tuple(closings[i] for i in own)
    by_itself = found_in(some, taken_together(some, network, drawn.vectors, stretches(legs)))
    return own_loops_first(log, network, closings, every, {own[at]: one for at, one in by_itself.items()})


def _fits(
    log: Log,
    network: Network,
    drawn: Drawn,
    magnetic: Mapping[dt.date, float],
    paces: Sequence[PacedAlike],
) -> Outcome[tuple[Fit, ...]]:
    """The walk laid on its known points, where it has two."""
    if len(network.fixes) < 2:
        return Outcome(())
    from traverse.location.fits import fits

    return fits(log, network, drawn.vectors, drawn.raw, magnetic, paces)


def _cause_named(closings: Sequence[Closing], explained: Mapping[int, Explanation]) -> bool:
    """Whether what turns or stretches a walk on its known points has been named: a figure of one, or of the heading.

    Or a reading on the way between them, by a loop that fails: one turned or stretched as a whole closes.
    """
    if any(one.ranked and one.ranked[0].slip.edge < 0 for one in explained.values()):
        return True
    named = {
        one.ranked[0].slip.edge for i, one in explained.items()
        if one.ranked and closings[i].circuit.closed and closings[i].q > closings[i].limits.refuse
    }  # fmt: skip
    ways = (one.circuit.steps for one in closings if not one.circuit.closed)
    return any(step.edge in named for way in ways for step in way)


def _of_points(explanation: Explanation, points: AbstractSet[str]) -> Explanation:
    """The explanation by what all else speaks against, where that is among it."""
    known = {f"control {name}" for name in points}
    ranked = tuple(one for one in explanation.ranked if one.slip.edge < 0 and one.slip.what in known)
    return replace(explanation, ranked=ranked, decides=None) if ranked else explanation


def _runs_over(log: Log, closing: Closing, undecided: AbstractSet[str]) -> bool:
    """Whether a circuit joins parties of which nothing says which is wrong: then no one reading is to blame."""
    files = {log.legs[step.edge].span.file for step in closing.circuit.steps if step.edge < len(log.legs)}
    return len(files) > 1 and not files.isdisjoint(undecided)


def _connect(log: Log, fixes: Mapping[str, Fix], beyond: BeyondLegs | None) -> Outcome[Network]:
    """The network, stations that only their sights place included."""
    network = build_network(log, fixes)
    remarks: list[Diagnostic] = []
    if beyond and fixes and (network.loose or not network.fixes):
        resected, said = beyond.resections(network)
        remarks += said
        if resected:
            network = build_network(log, {**fixes, **resected})
    remarks += loose_pieces(log, network)
    remarks += waiting_ties(log, network)
    tried = any(one.severity is not Severity.NOTE for one in remarks)  # what failed has been said
    if fixes and network.names and not network.fixes and not tried:
        remarks.append(
            warning(
                "control-unreached",
                f"the walk never comes to a control; places count from {network.names[0]}",
                log.controls[0].span,
                "walk to the known point, begin `at` it, or sight two of them from one station",
                labels=tuple(Label(one.span, "the walk begins here") for one in log.addresses[:1]),
            )
        )
    return Outcome(network, tuple(remarks))


def _odd_heights(log: Log, network: Network, drawn: Drawn, paces: Sequence[PacedAlike]) -> OddHeights:
    """Figures that all other heights contradict; none where a tie fails in plan: its points, and their heights, may be others."""
    if log.parties or not any(isinstance(item, Elevation) for item in log.items):
        return OddHeights()
    from traverse.location.odd_height import odd_heights

    closings = judge_circuits(network, drawn.vectors, anyway=False, stretched=paces)
    if any(not one.circuit.closed and one.q > one.limits.refuse for one in closings):
        return OddHeights()
    failing = any((one.q_up or 0.0) > one.limits.refuse_up for one in closings)
    return odd_heights(log, network, drawn.raw.position_m, drawn.vectors, closings, failing=failing)


def _parted(odd: OddHeights, left: LeftOut, closings: Sequence[Closing]) -> LeftOut:
    """What is left out, with the slopes that are set aside in place of the known heights that fail by them."""
    by_them = {
        one.circuit.last_control
        for one in closings
        if one.used and any(step.edge in odd.edges for step in one.circuit.steps)
    }
    return replace(left, edges_up=left.edges_up | odd.edges, controls_up=left.controls_up - by_them)


def _without(
    odd: OddHeights, legs: ReducedLegs, network: Network, drawn: Drawn, beyond: BeyondLegs, grid: Grid | None
) -> tuple[Network, Drawn, BeyondLegs]:
    """The walk without the heights of known points that are set aside."""
    beyond = replace(beyond, odd=odd)
    if not odd.controls:
        return network, drawn, beyond
    up = np.array((0.0, 0.0, np.nan))
    points = {
        station: replace(fix, position_m=fix.position_m + up) if station in odd.controls else fix
        for station, fix in network.fixes.items()
    }
    network = replace(network, fixes=points)
    fixes = {**beyond.fixes, **{network.names[station]: points[station] for station in odd.controls}}
    drawn = draw(legs, network, grid.convergence_and_scale if grid else None)
    return network, drawn, replace(beyond, fixes=fixes)


def _taking_part(closings: tuple[Closing, ...], rule: Rule) -> tuple[tuple[Closing, ...], LeftOut]:
    """The circuits as they are used, and what is left out; `adjust none` leaves all of them out."""
    if rule is Rule.NONE:
        closings = tuple(replace(closing, used=False, used_up=False) for closing in closings)
    return closings, left_out(closings)


def _lifted(network: Network, raw: Places, readings: Sequence[HeightReading]) -> Places:
    """Raw places with a height that was read as their datum, where no known point has one."""
    if not readings or len(network.roots) != 1:
        return raw
    from traverse.location.elevation import lift_m

    lift = lift_m(readings, network, raw.position_m[:, 2])
    if lift is None:
        return raw
    return Places(
        position_m=raw.position_m + np.array((0.0, 0.0, lift)), height_known=np.ones_like(raw.height_known)
    )


def _adjust(
    network: Network,
    vectors: Vectors,
    closings: tuple[Closing, ...],
    left: LeftOut,
    *,
    rule: Rule,
    raw: Places,
    seen: Sequence[PlaceObservation],
    stretched: Sequence[PacedAlike],
    readings: Sequence[HeightReading],
    aside: AbstractSet[int],
) -> tuple[Places, Adjusted, tuple[HeightReading, ...]]:
    """Places by the rule, the covariance that least squares gives whichever rule it is, and heights not used.

    Where heights were read, heights come from least squares under every rule, which alone can weigh them against
    slopes; a reading that does not fit the rest is left out.
    """
    weights = {Rule.COMPASS: compass_weights, Rule.TRANSIT: transit_weights}.get(rule)
    places = share_out(network, vectors, closings, left, weights=weights and weights(vectors), raw=raw)

    def adjusted_with(heights: Sequence[PlaceObservation]) -> Adjusted:
        return least_squares(
            network,
            vectors,
            left,
            near_m=places.position_m,
            seen=(*seen, *heights),
            stretched=stretched,
        )

    used: tuple[HeightReading, ...] = ()
    if not any(one.station in network.index for one in readings):
        adjusted = adjusted_with(())
    else:
        from traverse.location.elevation import elevation_observations, farthest_off

        used = tuple(one for one in readings if id(one.booked) not in aside)
        adjusted = adjusted_with(elevation_observations(used, network))
        for _ in range(MOST_LEFT_OUT):
            worst = farthest_off(used, network, adjusted)
            if worst is None:
                break
            used = (*used[:worst], *used[worst + 1 :])
            adjusted = adjusted_with(elevation_observations(used, network))
        known = places.height_known | network.placed
        position = places.position_m.copy()
        position[:, 2] = adjusted.position_m[:, 2]
        places = Places(position_m=position, height_known=known)
    if rule is Rule.LEAST_SQUARES:
        places = Places(position_m=adjusted.position_m, height_known=places.height_known)
    taken = {id(one) for one in used if one.station in network.index}
    return places, adjusted, tuple(one for one in readings if id(one) not in taken)


def _common_control(log: Log, frame: Frame) -> Control | None:
    """The one control, where it has an error of its own."""
    if len(log.controls) != 1 or frame.local or not log.controls[0].sd_plan_m:
        return None
    return log.controls[0]


def _control_sd_m(network: Network) -> float | None:
    """Of the first control, as a deviation in any one direction."""
    if not network.fixes:
        return None
    sd = network.fixes[min(network.fixes)].sd_plan_m
    return sd if not math.isclose(sd, 0.0) else None
