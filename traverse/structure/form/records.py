"""Planes through contacts, and folds."""

from __future__ import annotations

from traverse.record import record
from traverse.source import Span


@record(frozen=True, slots=True, kw_only=True)
class ContactPlane:
    """Plane through the contacts of one pair of units at three places or more."""

    younger: str
    older: str
    strike_deg: float | None
    """True and right-handed; None with all that follows where the places lie on one line."""
    dip_deg: float | None
    sd_strike_deg: float | None
    sd_dip_deg: float | None
    lines: tuple[Span, ...]


@record(frozen=True, slots=True, kw_only=True)
class Limb:
    """The mean of the beds on one side of a fold."""

    dip_deg: float
    dip_direction_deg: float | None
    overturned: bool
    n: int


@record(frozen=True, slots=True, kw_only=True)
class Fold:
    """A fold by its two limbs."""

    limbs: tuple[Limb, Limb]
    interlimb_deg: float
    """By the means of the limbs."""
    closest_deg: float
    """By the steepest bed of each: less where the beds of a limb go on turning, as round a circle."""
    axial_dip_deg: float
    """Of the axial surface, which halves the angle between the limbs."""
    axial_dip_direction_deg: float | None


@record(frozen=True, slots=True, kw_only=True)
class Form:
    """A form that the beds were recognised as, not one that is only weighed."""

    name: str
    """`overturned syncline`, `monocline`."""
    sentence: int
    """Index of the sentence that says so."""
    fold: Fold | None = None
    """None where it has no two limbs."""
