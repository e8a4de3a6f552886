"""From magnetic north to true north, for the day a line was booked."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

from traverse.log.readings import Conditions, Declination

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
