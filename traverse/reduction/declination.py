"""From magnetic north to true north, for the day a line was booked."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable, Iterable, Sequence

from traverse.log.items import Leg
from traverse.log.readings import Conditions, Declination, North

Model = Callable[[dt.date], float | None]
"""Declination in degrees, east positive, at the first control on a day."""


def declination_deg(
    declination: Declination | None, date: dt.date | None, model: Model | None = None
) -> float | None:
    """Angle from true north to magnetic north on a day, east positive, in degrees.

    A stated value is brought forward by whole years where a yearly change is given. None where no value is
    known: nothing is in force, or it is to come from the model and there is no place or day to ask it for.
    """
    if declination is None:
        return None
    if declination.from_model:
        return model(date) if model and date else None
    return declination.on(date)


def in_force_deg(conditions: Conditions, model: Model | None = None) -> float | None:
    """Declination in force at a line, in degrees."""
    return declination_deg(conditions.declination, conditions.date, model)


def commonest_deg(legs: Iterable[Leg], model: Model | None = None) -> float | None:
    """Declination that most legs take whose bearings are magnetic, in degrees; None where none does."""
    values = Counter(
        in_force_deg(leg.conditions, model) or 0.0
        for leg in legs
        if leg.conditions.bearings is North.MAGNETIC
    )
    return values.most_common(1)[0][0] if values else None


def left_out_deg(
    own: Sequence[Leg],
    beside: Iterable[Leg] = (),
    model: Model | None = None,
    modelled: Callable[[], float | None] | None = None,
) -> float:
    """Declination that a walk leaves out if its bearings are called true and were read off a compass, in degrees.

    It is what its own heading states; else what most legs `beside` it take, of others on the same ground; else what the
    magnetic model gives there (`modelled`, asked only then). 0 where it isn't known, or the bearings are not called true.
    """
    if not own or any(leg.conditions.bearings is not North.TRUE for leg in own):
        return 0.0
    stated = in_force_deg(own[0].conditions, model)
    found = stated or commonest_deg(beside, model)
    if not found and modelled is not None:
        found = modelled()
    return found or 0.0
