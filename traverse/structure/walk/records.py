"""The ground under the walk."""

from __future__ import annotations

from traverse.record import record
from traverse.structure.readings.records import PlacedContact


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


@record(frozen=True, slots=True, kw_only=True)
class LinePart:
    """Where a contact was seen beside the walk or on it."""

    contact: PlacedContact
    points: tuple[tuple[float, float, float], ...]
    """East, north and height for differences, metres: one place, or the two ends of a stretch."""
    corner: tuple[float, float, float] | None = None
    """The bend of the walk between it and the next part, where both lie on the walk."""


@record(frozen=True, slots=True, kw_only=True)
class ContactLine:
    """A contact beside the walk, or followed along it."""

    parts: tuple[LinePart, ...]
    """In the order of the walk."""
    side: int
    """Of the walk on which it lies, facing forward: 1 the right, -1 the left, 0 on it."""
    left: str | None
    """The unit on its left, in the order of its parts; None where that was not seen."""
    right: str | None
