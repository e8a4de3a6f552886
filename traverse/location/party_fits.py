"""How one party lies on the places that it shares with others, before they are put together."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from traverse.adjustment.calibration import stretches
from traverse.adjustment.fit import LaidNetwork, lay_on_known_points
from traverse.adjustment.network import build_network
from traverse.adjustment.records import Fix
from traverse.adjustment.vectors import draw
from traverse.diagnostic import Diagnostic, warning
from traverse.location.crs import Grid
from traverse.location.fits import fits
from traverse.location.records import Fit, PlaceKind, Standing, Survey
from traverse.log.items import Leg
from traverse.log.readings import North
from traverse.log.records import Control, Log, PartyLog, one_place
from traverse.record import record
from traverse.reduction.reduce import reduce_legs
from traverse.source import Span
from traverse.trade import ONE_IN_A_HUNDRED, chi_square_limit

_SURE = 3.0
"""Standard errors of turn or scale from which on a party differs; common practice, no source."""

_ON_TOP = 4.0
"""By how much more a fit may miss that a usual slip explains, as a chi-square: twice in errors; common practice, no source."""
_LENGTHS_HINT = "look in what its lengths were measured, at the tape and at the heading of that page"
"""What is to be done about a party whose lengths are off."""
_EXACT = 1e-6
"""Two places are met exactly."""


@record(frozen=True, slots=True, kw_only=True)
class PartyFit:
    """A party that lies turned or stretched on the places that it shares with others."""

    fit: Fit
    whole: bool
    """Whether that explains how it lies: a usual cause does just that, or three places or more lie within their errors."""
    usual: bool
    """Whether a usual cause explains both its turn and its scale."""
    how: str
    """In words."""
    question: Diagnostic
    """Without what becomes of it."""


def shared_with_others(log: Log, party: PartyLog, others: Survey) -> dict[str, str]:
    """Places of a party where others stood as well: its own name of each, and the name that others have for it.

    `others` may be of a log that was read without the party, where a place has the letters of the one party left.
    """
    shared: dict[str, str] = {}
    for mine, names in names_of_others(log, party).items():
        theirs = next(
            (
                name
                for name in names
                if (place := others.places.get(name)) is not None
                and place.standing is not Standing.NOT_ADJUSTED
            ),
            None,
        )
        if theirs is not None:
            shared[mine] = theirs
    return shared


def names_of_others(log: Log, party: PartyLog) -> dict[str, list[str]]:
    """By place of a party the names that others may have for it; without those that none can have stood at."""
    own = {name for leg in log.legs if leg.span.file == party.file for name in (leg.start, leg.end)}
    letters = [one.letters for one in log.parties if one is not party and one.letters is not None]
    groups = one_place(log.ties)
    found: dict[str, list[str]] = {}
    for mine in log.stations:
        if mine not in own:
            continue
        bare = log.party_of(mine) is None
        names = [
            *sorted(groups.get(mine, ())),
            *([mine, *(f"{one}-{mine}" for one in letters)] if bare else ()),
        ]
        names = [name for name in names if (bare or name not in own) and not log.hangs(name)]
        if names:
            found[mine] = names
    return found


def at_known_places(walks: Log, shared: Mapping[str, str], others: Survey) -> Log:
    """The walks of a party with the places that it shares as its known points, and no other."""
    first = walks.legs[0].span
    return replace(
        walks,
        controls=tuple(
            Control(
                name=mine,
                east_m=place.east_m,
                north_m=place.north_m,
                lat_deg=None,
                lon_deg=None,
                sd_plan_m=_sd_m(others, theirs),
                height_m=None,
                sd_height_m=None,
                source=None,
                written=mine,
                span=first,
            )
            for mine, theirs in shared.items()
            if (place := others.places.get(theirs)) is not None
        ),
    )


def _sd_m(others: Survey, name: str) -> float:
    place = others.places[name]
    return math.sqrt(((place.sd_east_m or 0.0) ** 2 + (place.sd_north_m or 0.0) ** 2) / 2.0)


def fit_on_others(
    walks: Log,
    party: PartyLog,
    others: Survey,
    shared: Mapping[str, str],
    grid: Grid | None,
    magnetic: Mapping[dt.date, float],
    ground: Log,
) -> tuple[Fit, LaidNetwork] | None:
    """Turn and scale of a party's walks on the places that it shares; None where these are fewer than two.

    `ground` is the log of all parties, which tells what declination it may have left out.
    """
    # What all known points together leave of the error of one.
    points = sum(place.kind is PlaceKind.CONTROL for place in others.places.values())
    shift_m = (others.control_sd_m or 0.0) / math.sqrt(max(1, points))
    fixes = {
        mine: Fix(
            position_m=np.array((place.east_m, place.north_m, math.nan)),
            # The error of the known points moves all places alike.
            sd_plan_m=math.sqrt(max(0.0, _sd_m(others, theirs) ** 2 - shift_m**2)),
            sd_height_m=0.0,
            span=party.span,
        )
        for mine, theirs in shared.items()
        if (place := others.places.get(theirs)) is not None
    }
    alone = replace(walks, controls=())
    network = build_network(alone, fixes)
    if len(network.fixes) < 2:
        return None
    legs = reduce_legs(alone, model=magnetic.get).value
    drawn = draw(legs, network, grid.convergence_and_scale if grid is not None else None)
    laid = lay_on_known_points(network, drawn.vectors, drawn.raw.position_m)
    found = fits(alone, network, drawn.vectors, drawn.raw, magnetic, stretches(legs), ground=ground).value
    return next(((replace(fit, log=party.file), lies) for fit, lies in zip(found, laid, strict=True)), None)


def party_fit(
    walks: Log,
    party: PartyLog,
    others: Survey,
    shared: Mapping[str, str],
    grid: Grid | None,
    magnetic: Mapping[dt.date, float],
    ground: Log,
    *,
    called: str = "its walk",
) -> PartyFit | None:
    """The same with the question at the line of its heading; None where it does not differ."""
    found = fit_on_others(walks, party, others, shared, grid, magnetic, ground)
    if found is None:
        return None
    fit, lies = found
    turned = abs(fit.rotation_deg) > _SURE * fit.rotation_sd_deg
    stretched = abs(fit.scale - 1.0) > _SURE * fit.scale_sd
    if not (turned or stretched or fit.cause is not None):
        return None
    how = _how(fit, turned=turned)
    # A mirror image has no turn of its own; any other cause makes either a turn or a scale.
    usual = fit.cause is not None and not (turned and stretched and not lies.mirrored)
    of_turn = turned if fit.cause is None else fit.cause.startswith("declination")
    marked = replace(fit, span=_where(walks.legs, party, turned=of_turn))
    hint = "look at the heading of that page, and at the compass" if of_turn else _LENGTHS_HINT
    free = 2 * len(lies.stations) - 4
    limit = chi_square_limit(free, ONE_IN_A_HUNDRED) if free else 0.0
    # Where a usual slip does just that, small slips may come on top.
    most = limit if fit.cause is None else _ON_TOP * limit
    return PartyFit(
        fit=marked,
        whole=(free > 0 or fit.cause is not None) and lies.chi_square <= most + _EXACT,
        usual=usual,
        how=how,
        question=_question(party, marked, f"{called} comes out {how}", hint),
    )


def caused_by(lies: PartyFit, party: PartyLog, legs: Sequence[Leg], slip: str) -> PartyFit:
    """How a party lies with the slip of its heading that explains it best, though other slips hide by how much it does."""
    of_turn = slip.startswith(("declination", "E and W of the declination"))
    marked = replace(lies.fit, cause=slip, span=_where(legs, party, turned=of_turn))
    hint = "look at the heading of that page, and at the compass" if of_turn else _LENGTHS_HINT
    question = _question(party, marked, f"its walk comes out {lies.how}", hint)
    return replace(lies, fit=marked, whole=True, usual=True, question=question)


def _where(legs: Sequence[Leg], party: PartyLog, *, turned: bool) -> Span:
    """The line of the party's heading that the difference most likely comes from."""
    conditions = legs[0].conditions
    if turned and conditions.bearings is not North.MAGNETIC and conditions.bearings_span is not None:
        return conditions.bearings_span
    if turned and conditions.declination is not None:
        return conditions.declination.span
    if not turned and conditions.pace is not None and any(leg.distance.unit.is_pace for leg in legs):
        return conditions.pace.span
    if not turned and party.distances is not None:
        return party.distances
    return party.span


def _question(party: PartyLog, fit: Fit, how: str, hint: str) -> Diagnostic:
    at = ", ".join(fit.stations)
    return warning(
        "party-differs",
        f"where {_called(party)} and others stood at one place ({at}), {how}; "
        + (f"likely cause: {fit.cause}" if fit.cause is not None else "no usual slip does just that"),
        fit.span,
        f"{hint}; mended, it is joined",
    )


def undecided(parties: Sequence[PartyLog], last: PartyFit | None) -> Diagnostic:
    """The question where several parties differ from each other: which of them is wrong nothing says.

    `last` is how the last of them lies on the others.
    """
    names = [_called(one) for one in parties]
    how = ""
    if last is not None:
        cause = "" if last.fit.cause is None else f" (if it is {names[-1]}: {last.fit.cause})"
        how = f"{names[-1]} comes out {last.how} beside the rest{cause}, and "
    listed = f"{', '.join(names[:-1])} and {names[-1]}"
    return warning(
        "party-differs",
        f"{listed} do not lie on each other where they stood at one place: {how}nothing says which of them is wrong",
        parties[-1].span,
        "look at the headings of these pages, and at the compasses; a second known point for one of them decides",
    )


def _called(party: PartyLog) -> str:
    return party.letters or party.file


def _how(fit: Fit, *, turned: bool) -> str:
    found = []
    if turned:
        found.append(f"turned by {fit.rotation_deg:+.0f} ± {max(1.0, fit.rotation_sd_deg):.0f} degrees")
    if abs(fit.scale - 1.0) > _SURE * fit.scale_sd:
        found.append(f"{fit.scale:.2f} ± {max(0.01, fit.scale_sd):.2f} times as long")
    return " and ".join(found) or "as seen in a mirror"
