"""How thick units are, and the column that they make."""

from __future__ import annotations

import math

from traverse.log.items import ContactKind, Sample
from traverse.log.records import RockUnit
from traverse.record import record
from traverse.source import Span


@record(frozen=True, slots=True, kw_only=True)
class Thickness:
    """True thickness of a unit crossed between two contacts."""

    unit: str
    true_m: float
    sd_m: float
    between: tuple[Span, Span]
    bend_m: tuple[float, float] | None = None
    """By dip domains, the smaller first: the bend a quarter and three quarters of the way along, and where it may lie at
    either side of a contact as far as it may; None where one plane is known."""
    arc_m: float | None = None
    """By arcs; None where one plane is known or no arc joins the two."""
    at_least: bool = False
    """Its top is cut or covered: there may have been more."""
    less: tuple[str, ...] = ()
    """Letters of the intrusive bodies between its contacts whose widths were taken off."""

    @property
    def range_m(self) -> tuple[float, float]:
        """Least and most of what the rules give."""
        found = [self.true_m, *(self.bend_m or ()), *(() if self.arc_m is None else (self.arc_m,))]
        return min(found), max(found)

    @property
    def sd_ranged_m(self) -> float:
        """With what the rules leave open, as of a value that lies anywhere in their range: a breadth over the root of 12."""
        low, high = self.range_m
        return math.hypot(self.sd_m, (high - low) / math.sqrt(12.0))


@record(frozen=True, slots=True, kw_only=True)
class LeastThickness:
    """Of a unit that was entered and not left: it is at least so thick."""

    unit: str
    true_m: float
    sd_m: float
    contact: Span
    """Where it was entered or left."""
    why: str
    """What hides the rest, in words."""


@record(frozen=True, slots=True, kw_only=True)
class UnitThickness:
    """One unit's thickness from all its crossings."""

    unit: str
    true_m: float | None
    """Mean weighted by 1/sd²; None where it was never crossed whole."""
    sd_m: float | None
    """By how much the crossings scatter where they differ by more than their errors."""
    range_m: tuple[float, float] | None
    """Least and most that the rules give over all crossings, and what a part of it is thick where that is more."""
    n: int
    differs: bool = False
    """Whether its crossings differ by more than their errors and what their beds' turning leaves open."""
    least_m: float | None
    """Most of what parts of it are thick, where that is all there is or is more than the mean by more than two errors."""


@record(frozen=True, slots=True, kw_only=True)
class ColumnSample:
    """A sample by its level in its unit."""

    booked: Sample
    level_m: float | None
    """Above the base of its unit, square to the beds; None where no contact and bed tell, or the base is not known."""
    depth_m: float | None
    """Below the top of its unit; None as above."""
    share: float | None
    """Height over thickness where both borders of the unit were met where the sample was taken."""
    sd_m: float | None
    """Of `level_m`, else of `depth_m`."""


@record(frozen=True, slots=True, kw_only=True)
class ColumnUnit:
    """A unit of the column."""

    unit: RockUnit
    thickness: UnitThickness | None
    """None where nothing says how thick it is."""
    base: ContactKind | None
    """What it rests on its older neighbour with; None where that was not met."""
    samples: tuple[ColumnSample, ...]
    """Highest first, those without a level last."""
    apart: bool = False
    """Whether it and the next unit below, bodies left out, were nowhere seen together."""
    not_met: tuple[str, ...] = ()
    """Units of the list between those two, which the walk did not meet; only where they are apart."""
