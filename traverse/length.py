"""Lengths in metres and feet."""

from __future__ import annotations

METRES_PER_FOOT = 0.3048
"""The international foot, exact since 1959."""


def feet_to_metres(feet: float) -> float:
    """Length in metres of a length in international feet.

    >>> feet_to_metres(100.0)
    30.48
    """
    return feet * METRES_PER_FOOT


def metres_to_feet(metres: float) -> float:
    """Length in international feet of a length in metres.

    >>> metres_to_feet(30.48)
    100.0
    """
    return metres / METRES_PER_FOOT
