"""What lies between the arms of a walk, and all that is known of a traverse in one record."""

from __future__ import annotations

from typing import TYPE_CHECKING

from traverse.location.records import Survey
from traverse.log.records import Log
from traverse.record import record
from traverse.source import Span
from traverse.structure.records import Geology

if TYPE_CHECKING:
    # It holds arrays; few logs have heights.
    from traverse.heights.records import Terrain


@record(frozen=True, slots=True, kw_only=True)
class Outcrop:
    """Where a plane through a contact comes out on the grid of heights, as far as it may be projected."""

    younger: str
    older: str
    lines: tuple[tuple[tuple[float, float], ...], ...]
    """East and north, metres."""
    band: tuple[tuple[tuple[float, float], ...], ...]
    """Outlines of the ground in which it lies within one standard deviation of the heights."""
    strike_deg: float
    """True and right-handed."""
    dip_deg: float
    reach_m: float
    """How far from the contact it was projected at most."""
    sd_up_m: float
    """Height error at the contact."""
    contact: Span
    """The line of the contact that it runs from."""
    span: Span
    """The `trace` line."""


@record(frozen=True, slots=True, kw_only=True)
class Join:
    """Two places where one contact, or one fault, was met on two arms of the walk, and its trace between them."""

    ends: tuple[Span, Span]
    """The lines of the log that the two were written on."""
    fault: bool
    lines: tuple[tuple[tuple[float, float], ...], ...]
    """East and north in metres, from the first end to the second: one piece, or two where a surface deposit that was
    walked on lies between."""
    normal: tuple[float, float, float]
    """Of the plane that holds both places: east, north and up in the grid, of length 1; up, or down where the beds are
    overturned."""
    off_deg: float
    """How far that plane is from the farther one of the two attitudes."""
    over_heights: bool
    """Whether it follows the outcrop over the grid of heights; else it is straight."""


@record(frozen=True, slots=True, kw_only=True)
class Ground:
    """The ground about the walk."""

    terrain: Terrain | None = None
    """Heights; None without a grid of them."""
    joins: tuple[Join, ...] = ()
    """Contacts that belong together on two arms of the walk, with what was computed between them."""
    outcrops: tuple[Outcrop, ...] = ()
    """Of every `trace` of the log."""


@record(frozen=True, slots=True, kw_only=True)
class Traverse:
    """A traverse: what was booked, where it lies, what it says, and the ground about it."""

    log: Log
    survey: Survey
    geology: Geology
    ground: Ground = Ground()
