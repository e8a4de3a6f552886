"""What must stand on the page and in the layers of a season."""

from __future__ import annotations

from collections.abc import Sequence

from traverse.season.tally import Tally
from traverse.sheet.said.sentences import HAZARDS, SKETCH, agrees_with_itself
from traverse.wording import capital

_MOST_NAMED = 12


def season_cautions(tally: Tally, told: Sequence[str]) -> tuple[str, ...]:
    """Limits, what was not adjusted or not counted, and what was said of the run itself; sentences."""
    said = [SKETCH, HAZARDS]
    if tally.not_adjusted:
        said.append(f"Not adjusted, for a loop or tie that fails its test: {some_of(tally.not_adjusted)}.")
    if tally.bad:
        said.append(f"Not counted, for errors: {some_of([path for path, _ in tally.bad])}.")
    if tally.figures["loops"]:
        said.append(agrees_with_itself())
    if len([one for one in tally.grids if one]) > 1:
        said.append(
            "The logs stand in several grids. Map and layers show them by longitude and latitude on WGS 84; where a grid"
            " has another datum they may be off against each other by metres."
        )
    return (*said, *(f"{capital(one)}." for one in told))


def some_of(names: Sequence[str]) -> str:
    """The first of them, and how many more."""
    more = len(names) - _MOST_NAMED
    return ", ".join(names[:_MOST_NAMED]) + (f" and {more} more" if more > 0 else "")
