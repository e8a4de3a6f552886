"""Figures as they are printed, and the signs that stand in and beside them."""

from __future__ import annotations

import math
from collections.abc import Iterator

NO_BREAK = "\u00a0"
"""Before a unit and around an arrow: a quantity never breaks over a line."""
THOUSANDS = NO_BREAK
"""Between groups of three figures."""
MINUS = "\u2212"
EN_DASH = "\u2013"
NOTHING = EN_DASH
"""What stands for a reading that was not taken."""


def number(value: float | None, *, places: int = 0) -> str:
    r"""A figure with thousands apart and a true minus; an en dash for None, never a minus zero.

    >>> number(5214314.2), number(-0.2), number(-12.25, places=1), number(None), number(9999)
    ('5\xa0214\xa0314', '0', '−12.2', '–', '9999')
    """
    if value is None or not math.isfinite(value):
        return NOTHING
    figures = f"{abs(value):.{places}f}"
    if float(figures) == 0.0:
        return figures
    whole, point, rest = figures.partition(".")
    if len(whole) > 4:
        whole = f"{int(whole):,}".replace(",", THOUSANDS)
    return (MINUS if value < 0 else "") + whole + point + rest


def signed(value: float | None, *, places: int = 0) -> str:
    """A difference with its sign; zero has none.

    >>> signed(13.2), signed(-7.6), signed(0.04, places=1), signed(None)
    ('+13', '−8', '0.0', '–')
    """
    if value is None or not math.isfinite(value):
        return NOTHING
    text = number(value, places=places)
    return text if text.startswith(MINUS) or float(f"{value:.{places}f}") == 0.0 else f"+{text}"


def one_in(ratio: float | None) -> str:
    """How a loop closes, by the length walked over what it misses by.

    >>> one_in(288.2), one_in(None), one_in(0.12)
    ('1 in 288', 'exactly', 'by more than the way')
    """
    if ratio is None:
        return "exactly"
    return f"1 in {number(ratio)}" if ratio >= 1.0 else "by more than the way"


def neighbours_exchanged(digits: str) -> Iterator[str]:
    """The figures with two neighbouring digits exchanged, where that changes them.

    >>> list(neighbours_exchanged("291"))
    ['921', '219']
    """
    for i in range(len(digits) - 1):
        other = digits[:i] + digits[i + 1] + digits[i] + digits[i + 2 :]
        if other != digits:
            yield other
