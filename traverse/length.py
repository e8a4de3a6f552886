"""Lengths in metres and feet, and how they are worded: the one place where a figure gets its unit."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from enum import Enum

from traverse.numerals import EN_DASH, NO_BREAK, NOTHING, number, signed
from traverse.record import record

METRES_PER_FOOT = 0.3048
"""The international foot, exact since 1959."""
_ADVICE_FEET = 5.0
"""A length that is advised and not measured is told to so many feet."""


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


class LengthUnit(Enum):
    """What lengths are told in; the value is the sign after a figure."""

    METRES = "m"
    FEET = "ft"


@record(frozen=True, slots=True, kw_only=True)
class Lengths:
    """Words of lengths, in the unit in which the party measures: `Log.lengths`.

    Lengths and heights are handed over in metres. Figures go to the whole unit where nothing else is asked, and no
    error is told as less than a metre: the readings bear no more.
    """

    unit: LengthUnit

    @property
    def in_feet(self) -> bool:
        """Whether lengths are told in feet."""
        return self.unit is LengthUnit.FEET

    @property
    def sign(self) -> str:
        """The unit as it stands after a figure and in the head of a column."""
        return self.unit.value

    @property
    def grid_sign(self) -> str:
        """The unit of coordinates in the head of a column, which are metres beside lengths in feet too."""
        return "grid m" if self.in_feet else self.sign

    @property
    def grid_aside(self) -> str:
        """What is added to the name of a grid where its figures would be taken for feet."""
        return ", in metres" if self.in_feet else ""

    @property
    def name(self) -> str:
        """The unit in words: `metres`."""
        return self.unit.name.lower()

    @property
    def metres_each(self) -> float:
        """How many metres the unit has."""
        return METRES_PER_FOOT if self.in_feet else 1.0

    def of(self, length_m: float) -> float:
        """How many of the unit a length is.

        >>> FEET.of(30.48), METRES.of(30.48)
        (100.0, 30.48)
        """
        return metres_to_feet(length_m) if self.in_feet else length_m

    # --- in messages, with a common blank ---------------------------------------------------------------------

    def said(self, length_m: float, *, places: int = 0, sign: bool = False) -> str:
        """A length in a message, with `sign` as a difference.

        >>> METRES.said(12.3), FEET.said(12.3), METRES.said(12.3, sign=True)
        ('12 m', '40 ft', '+12 m')
        """
        return f"{self.of(length_m):{'+' if sign else ''}.{places}f} {self.sign}"

    def said_finely(self, length_m: float) -> str:
        """To whole units, below ten to tenths.

        >>> METRES.said_finely(12.34), METRES.said_finely(3.21), FEET.said_finely(3.21)
        ('12 m', '3.2 m', '11 ft')
        """
        return self.said(length_m, places=0 if abs(self.of(length_m)) >= 9.95 else 1)

    def said_between(self, least_m: float, most_m: float) -> str:
        """From the least to the most, to tenths where they have any.

        >>> METRES.said_between(0.6, 2.0), FEET.said_between(0.6, 2.0)
        ('0.6 to 2 m', '2 to 6.6 ft')
        """
        least, most = (self.of(one) for one in (least_m, most_m))
        return f"{round(least, 2 - self.in_feet):g} to {round(most, 2 - self.in_feet):g} {self.sign}"

    # --- printed, with a blank that holds the unit to its figure ------------------------------------------------

    def figure(self, length_m: float | None, *, places: int = 0) -> str:
        """The bare figure, where the head of the column or the words after it tell the unit."""
        return number(None if length_m is None else self.of(length_m), places=places)

    def difference(self, length_m: float | None, *, places: int = 0) -> str:
        """The bare figure with its sign."""
        return signed(None if length_m is None else self.of(length_m), places=places)

    def printed(self, length_m: float | None, *, places: int = 0) -> str:
        """A length with its unit: `24 m`."""
        return self.figure(length_m, places=places) + NO_BREAK + self.sign

    def printed_finely(self, length_m: float) -> str:
        """To whole units, below one to tenths."""
        return self.printed(length_m, places=0 if self.of(length_m) >= 1.0 else 1)

    def error(self, sd_m: float | None) -> str:
        """A standard deviation to whole units, never less than a metre unless the place is held.

        >>> METRES.error(0.3), METRES.error(2.4), METRES.error(0.0), METRES.error(None), FEET.error(0.3)
        ('1', '2', 'held', '–', '3')
        """
        if sd_m is None or not math.isfinite(sd_m):
            return NOTHING
        return "held" if sd_m == 0.0 else self.figure(max(1.0, sd_m))

    def plus_minus(self, length_m: float, sd_m: float) -> str:
        """The bare figure with its standard deviation: `24 ± 3`."""
        return f"{self.figure(length_m)}{NO_BREAK}±{NO_BREAK}{self.error(sd_m)}"

    def short_plus_minus(self, length_m: float, sd_m: float) -> str:
        r"""A short length that was walked in one go, with its unit; to tenths where it is under ten.

        Where the walk came from moves both its ends alike, so that its error may well be under a metre.

        >>> METRES.short_plus_minus(3.21, 0.34), METRES.short_plus_minus(31.4, 0.34), METRES.short_plus_minus(3.2, 0.01)
        ('3.2\xa0±\xa00.3\xa0m', '31\xa0±\xa01\xa0m', '3.2\xa0±\xa00.1\xa0m')
        """
        if self.of(length_m) >= 9.95 or self.of(sd_m) >= 0.95:
            return self.with_unit(self.plus_minus(length_m, sd_m))
        error = number(max(0.1, self.of(sd_m)), places=1)
        return self.with_unit(f"{self.figure(length_m, places=1)}{NO_BREAK}±{NO_BREAK}{error}")

    def extent(self, lengths_m: Iterable[float]) -> str:
        """`21–23`, or one figure where both ends round to it; an en dash of nothing."""
        every = list(lengths_m)
        if not every:
            return NOTHING
        return EN_DASH.join(dict.fromkeys(self.figure(one) for one in (min(every), max(every))))

    def with_unit(self, figures: str) -> str:
        """The unit after figures that were made here: `21–23 m`."""
        return figures + NO_BREAK + self.sign

    @property
    def one(self) -> str:
        """One of the unit: `1 m`."""
        return self.with_unit(number(1))

    def about(self, length_m: float) -> str:
        r"""A length that is advised and not measured.

        >>> METRES.about(5.0), FEET.about(5.0)
        ('5\xa0m', '15\xa0ft')
        """
        if self.in_feet:
            return self.with_unit(number(_ADVICE_FEET * round(self.of(length_m) / _ADVICE_FEET)))
        return self.printed(length_m)


METRES = Lengths(unit=LengthUnit.METRES)
"""For coordinates of a grid, which are metres whatever the party measures in."""
FEET = Lengths(unit=LengthUnit.FEET)

_LENGTH_BLANK = re.compile(rf"(?<=\d) (?=(?:{'|'.join(one.value for one in LengthUnit)})\b)")


def unbroken(sentence: str) -> str:
    """A message in which no length breaks over a line."""
    return _LENGTH_BLANK.sub(NO_BREAK, sentence)
