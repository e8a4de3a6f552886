"""The look of a drawing: pens, signs and type of a template's own in place of those that ship.

A look is a value. It is made once from a template, a document carries the one that it was drawn with, and no function
changes it. What draws asks for the look in force instead of taking it as an argument: some three hundred calls of
signs, pens and widths of text, down to the single tick, would each have to hand on what all of one sheet share, and the
drawing would drown in it. `drawn_with` puts a look in force for one sheet, in its own thread, and the one of before
comes back whatever happens; outside of it the shipped one is in force. Only what makes or writes a whole document
enters it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import field
from typing import Generic, NamedTuple, TypeVar

from traverse.record import record, uncollected
from traverse.sheet.paper.page import Face, Path, Pen, Point

T = TypeVar("T")


class FontFile(NamedTuple):
    """A font by a name that no other content has, and its file; the package that ships it knows where, if None."""

    name: str
    path: str | None = None


@record(frozen=True, slots=True, kw_only=True)
class Sign:
    """A sign in its own frame: x down the dip, y along the strike; of a line, y along the trend."""

    words: str
    """For the legend."""
    shapes: tuple[Path, ...]
    figure: Point | None = None
    """Centre of the figure of dip or plunge, in the frame of the sign."""
    reach: float = 2.5
    """Half of its length along y: where a figure clears its end."""
    tip: float = 0.0
    """Where the tick or the arrow of what stands on a line ends, along x."""
    turns: bool = True
    """Whether it is turned to an azimuth, in the legend to the east; upright signs stay."""
    measures: str = ""
    """Its sizes in words, in millimetres."""
    shown_on: str | None = None
    """The line that it is shown on where it is listed."""
    row_of: str | None = None
    """The line whose row shows it as well, on that line; it has no row of its own beside that one."""


@record(frozen=True, slots=True, kw_only=True)
class Look:
    """What a drawing has of its own; whatever a look does not name is as it ships."""

    pens: Mapping[str, Pen] = field(default_factory=dict)
    """By what they draw."""
    signs: Mapping[str, Sign] = field(default_factory=dict)
    fonts: Mapping[Face, FontFile] = field(default_factory=dict)
    grown: float = 1.0
    """How much larger the page is printed than it is drawn: what is one millimetre here is so many on paper."""


SHIPPED = Look()
"""The look without anything of a template's own."""

_IN_FORCE: ContextVar[Look] = ContextVar("look", default=SHIPPED)


def look_in_force() -> Look:
    """The look that is drawn with here and now."""
    return _IN_FORCE.get()


@contextmanager
def drawn_with(look: Look) -> Iterator[None]:
    """Draw with this look inside, and with the one of before afterwards."""
    before = _IN_FORCE.set(look)
    try:
        with uncollected():
            yield
    finally:
        _IN_FORCE.reset(before)


class InForce(Mapping[str, T], Generic[T]):
    """Things by name, as the look in force has them; a view that can only be read."""

    def __init__(self, shipped: Mapping[str, T], own: Callable[[Look], Mapping[str, T]]) -> None:
        self._shipped = shipped
        self._own = own

    def __getitem__(self, name: str) -> T:
        """The one of that name, as it is drawn here and now."""
        found = self._own(_IN_FORCE.get()).get(name)
        return self._shipped[name] if found is None else found

    def __iter__(self) -> Iterator[str]:
        """Names, in the order in which they ship."""
        return iter(self._shipped)

    def __len__(self) -> int:
        """How many there are."""
        return len(self._shipped)
