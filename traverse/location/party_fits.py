"""How one party lies on the places that it shares with others, before they are put together."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from traverse.adjustment.network import build_network
from traverse.adjustment.records import Fix
from traverse.adjustment.vectors import draw
from traverse.diagnostic import Diagnostic, warning
from traverse.location.crs import Grid
from traverse.location.fits import fits
from traverse.location.records import Fit, Survey
from traverse.log.items import Leg
from traverse.log.records import Log, PartyLog
from traverse.reduction.reduce import reduce_legs
from traverse.source import Span

_SURE = 3.0
"""Standard errors of turn or scale from which on a party differs; common practice, no source."""


def shared_with_others(log: Log, party: PartyLog) -> dict[str, str]:
    """Places of a party where others stood as well: its own name of each, and the name that others have for it."""
    own, others = (
        {name for leg in legs for name in (leg.start, leg.end)} for legs in _parted(log.legs, party)
    )
    shared = {name: name for name in own & others}
    tied = {
        mine: theirs
        for tie in log.ties
        for mine, theirs in ((tie.first, tie.second), (tie.second, tie.first))
        if tie.sd_m is None and mine in own and theirs in others and theirs not in own
    }
    return {**shared, **tied}


def without(log: Log, party: PartyLog) -> Log:
    """The walks of all others alone, with their known points held: what a party differs by is told from them."""
    _, legs = _parted(log.legs, party)
    names = {name for leg in legs for name in (leg.start, leg.end)}
    return _walks(log, legs, names)


def party_fit(
    log: Log, party: PartyLog, others: Survey, *, grid: Grid | None, magnetic: Mapping[dt.date, float]
) -> tuple[Fit, Diagnostic] | None:
    """Turn and scale of a party on the places that it shares, and the question; None where it does not differ."""
    own, _ = _parted(log.legs, party)
    shared = shared_with_others(log, party)
    fixes = {
        mine: Fix(
            position_m=np.array((place.east_m, place.north_m, math.nan)),
            sd_plan_m=math.sqrt(((place.sd_east_m or 0.0) ** 2 + (place.sd_north_m or 0.0) ** 2) / 2.0),
            sd_height_m=0.0,
            span=party.span,
        )
        for mine, theirs in shared.items()
        if (place := others.places.get(theirs)) is not None
    }
    names = {name for leg in own for name in (leg.start, leg.end)}
    alone = _walks(log, own, names)
    network = build_network(alone, fixes)
    if len(network.fixes) < 2:
        return None
    legs = reduce_legs(alone, model=magnetic.get).value
    drawn = draw(legs, network, grid.convergence_and_scale if grid is not None else None)
    for fit in fits(alone, network, drawn.vectors, drawn.raw, magnetic).value:
        turned = abs(fit.rotation_deg) > _SURE * fit.rotation_sd_deg
        stretched = abs(fit.scale - 1.0) > _SURE * fit.scale_sd
        if turned or stretched:
            span = _where(own, party, turned=turned)
            marked = replace(fit, log=party.file, span=span)
            return marked, _question(party, marked, turned=turned)
    return None


def _parted(legs: tuple[Leg, ...], party: PartyLog) -> tuple[list[Leg], list[Leg]]:
    """Legs of a party, and those of all others."""
    own = [leg for leg in legs if leg.span.file == party.file]
    return own, [leg for leg in legs if leg.span.file != party.file]


def _walks(log: Log, legs: list[Leg], names: set[str]) -> Log:
    return Log(
        file=log.file,
        heading=log.heading,
        controls=tuple(
            replace(one, sd_plan_m=None, sd_height_m=None) for one in log.controls if one.name in names
        ),
        stations=tuple(name for name in log.stations if name in names),
        legs=tuple(replace(leg, index=index) for index, leg in enumerate(legs)),
        ties=tuple(tie for tie in log.ties if tie.first in names and tie.second in names),
        paces=log.paces,
    )


def _where(legs: list[Leg], party: PartyLog, *, turned: bool) -> Span:
    """The line of the party's heading that the difference most likely comes from."""
    conditions = legs[0].conditions
    if turned and conditions.declination is not None:
        return conditions.declination.span
    if not turned and conditions.pace is not None and any(leg.distance.unit.is_pace for leg in legs):
        return conditions.pace.span
    return party.span


def _question(party: PartyLog, fit: Fit, *, turned: bool) -> Diagnostic:
    at = ", ".join(fit.stations)
    return warning(
        "party-differs",
        f"where {_called(party)} and others stood at one place ({at}), its walk comes out {_how(fit, turned=turned)}; "
        + (f"likely cause: {fit.cause}" if fit.cause is not None else "no usual slip does just that"),
        fit.span,
        "look at the heading of that page, and at the compass",
    )


def undecided(parties: Sequence[PartyLog], fit: Fit) -> Diagnostic:
    """The question where each of several parties differs from the rest: which of them is wrong nothing says."""
    turned = abs(fit.rotation_deg) > _SURE * fit.rotation_sd_deg
    names = [_called(one) for one in parties]
    listed = f"{', '.join(names[:-1])} and {names[-1]}"
    return warning(
        "party-differs",
        f"{listed} do not lie on each other where they stood at one place: one of them comes out "
        f"{_how(fit, turned=turned)} beside the rest, and nothing says which",
        parties[-1].span,
        "look at the headings of both pages, and at the compasses; a second known point for one of them decides",
    )


def _called(party: PartyLog) -> str:
    return party.letters or party.file


def _how(fit: Fit, *, turned: bool) -> str:
    found = []
    if turned:
        found.append(f"turned by {fit.rotation_deg:+.0f} ± {max(1.0, fit.rotation_sd_deg):.0f} degrees")
    if abs(fit.scale - 1.0) > _SURE * fit.scale_sd:
        found.append(f"{fit.scale:.2f} ± {max(0.01, fit.scale_sd):.2f} times as long")
    return " and ".join(found)
