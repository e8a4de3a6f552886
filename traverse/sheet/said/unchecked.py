"""What the closures of a walk leave open, in words."""

from __future__ import annotations

from traverse.location.records import Survey
from traverse.log.records import Log
from traverse.sheet.paper.words import NO_BREAK, number, plain
from traverse.sheet.said.sentences import (
    agrees_with_itself,
    between_known,
    control_source,
    turned_and_stretched,
)
from traverse.trade import BACK_AGREES_DEG


def unchecked_paragraphs(log: Log, survey: Survey) -> list[str]:
    """What the closures leave open, and what would close it."""
    said: list[str] = []
    north, lengths = turned_and_stretched(survey)
    ties = [one for one in survey.closures if between_known(one, survey)]
    loops = len(survey.closures) > len(ties)
    if loops:
        said.append(agrees_with_itself(north, lengths))
    elif not ties:
        said.append(
            "Nothing here would show a wrong reading: no loop closes and no second known point is reached."
            " A leg back to the start would check every reading of the walk."
        )
    control = next(iter(log.controls), None)
    tie = (
        f"A tie to a second known point would check the {north}, the lengths and the start;"
        f" a bearing to a landmark on the map, the {north} and the start."
    )
    if ties:
        said.append(
            f"The tie between known points checks start, {north} and {lengths} as far as their own errors allow."
        )
    elif control is None:
        said.append(f"The start is a name only: the map may lie anywhere and be turned any way. {tie}")
    else:
        source = control_source(control) or "known point"
        good = (
            f", ±{NO_BREAK}{log.lengths.printed(control.sd_plan_m)}"
            if control.sd_plan_m is not None
            else ", taken as exact"
        )
        said.append(f"The start is one point ({source}{good}). {tie}")
    read = [abs(leg.fore_back_deg) for leg in survey.legs if leg.fore_back_deg is not None]
    if survey.legs and not read:
        said.append("No back bearings were read: iron near the compass would not show.")
    elif read:
        most = max(1.0, *read)
        every = (
            "every leg"
            if len(read) == len(survey.legs)
            else "the one leg read both ways"
            if len(read) == 1
            else f"the {len(read)} legs read both ways"
        )
        if most <= BACK_AGREES_DEG:
            said.append(
                f"Fore and back bearings agree within {number(most)}° on {every}:"
                " no local attraction that differs by more between their ends is hidden here."
            )
        else:
            said.append(
                f"Fore and back bearings differ by up to {number(most)}°: a slip, or iron near the compass."
                " Until that is settled every bearing there is in doubt."
            )
    for fit in (one for one in survey.fits if one.log is None):  # those of parties stand in their own table
        cause = f": {plain(fit.cause)}" if fit.cause else ""
        said.append(
            f"Laid on the known points the walk is turned by {number(fit.rotation_deg, places=1)}°"
            f"{NO_BREAK}±{NO_BREAK}{number(fit.rotation_sd_deg, places=1)}° and {number(fit.scale, places=3)}"
            f"{NO_BREAK}±{NO_BREAK}{number(fit.scale_sd, places=3)} times as long{cause}."
        )
    return said
