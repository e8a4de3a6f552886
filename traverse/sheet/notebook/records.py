"""What a blank notebook page is made from."""

from __future__ import annotations

from collections.abc import Mapping

from traverse.length import METRES, Lengths
from traverse.location.records import Frame, PaceLength
from traverse.log.readings import Convention, North
from traverse.log.records import Emergency, RockUnit
from traverse.record import record
from traverse.reduction.records import SlopeRow


@record(frozen=True, slots=True, kw_only=True)
class TakenOver:
    """What a party takes over from an earlier page; empty where it begins with none."""

    slopes: tuple[SlopeRow, ...]
    """Of 100 along each slope."""
    heading: Mapping[str, tuple[str, ...]]
    """What follows each first word of the heading, as typed."""
    convention: Convention | None = None
    bearings: North | None = None
    """The north that bearings count from."""
    frame: Frame | None = None
    """With the declination; None where no walk was worked out."""
    paces: tuple[PaceLength, ...] = ()
    units: tuple[RockUnit, ...] = ()
    emergency: tuple[Emergency, ...] = ()
    """What of it may hold another day."""
    lengths: Lengths = METRES
    mark: str = ""
    """Of the log that it was taken from."""
