"""The ground under the walk."""

from __future__ import annotations

from traverse.record import record


@record(frozen=True, slots=True, kw_only=True)
class BandStretch:
    """Part of a leg (or the ground at a station) and the unit under it."""

    start: tuple[float, float]
    """East and north, metres."""
    end: tuple[float, float]
    leg: int | None
    """Index into `Survey.legs`; None for the ground about a station without legs."""
    start_share: float
    end_share: float
    unit: str | None
    """None where nothing is known."""
    covered: bool
    queried: bool = False


@record(frozen=True, slots=True, kw_only=True)
class StationUnit:
    """The unit that a station is on."""

    station: str
    letters: str
    queried: bool
