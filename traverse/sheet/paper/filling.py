"""Pages in the making: a head on each, and columns below it that are filled from the top."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from itertools import count

from traverse.record import record
from traverse.sheet.paper.page import Block, Box, Item, Page


@record(frozen=True, slots=True)
class Undrawn:
    """A block that is drawn when its page is asked for: pages that were laid to be counted draw nothing."""

    height: float
    draw: Callable[[], Block]

    def at(self, x: float, top: float) -> tuple[Item, ...]:
        """What is drawn, with its upper left corner at a place on the page."""
        return self.draw().at(x, top)


@dataclass(frozen=True, slots=True, order=True)
class FilledTo:
    """How far pages are filled: page, column, and millimetres used from the top of the column."""

    page: int = 0
    column: int = 0
    used: float = 0.0


@record(frozen=True, slots=True, kw_only=True)
class Pages:
    """Pages that are made as they are filled, all alike but for their heads.

    What is put may begin anywhere; `fitting` says where the next thing goes.
    """

    columns: tuple[Box, ...]
    """From the upper edge of the head."""
    heads: tuple[Block, ...] = ()
    """Of the pages from the first on, the last of them of all that follow; none without any."""
    placed: list[list[tuple[Block | Undrawn, float, float]]] = field(default_factory=list)
    """Of each page its blocks, and where the upper left corner of each is."""

    @classmethod
    def of(cls, frame: Box, *, columns: int = 1, gap: float = 0.0, heads: tuple[Block, ...] = ()) -> Pages:
        """In columns of one width."""
        wide = (frame.width - (columns - 1) * gap) / columns
        xs = [frame.x + column * (wide + gap) for column in range(columns)]
        return cls(columns=tuple(replace(frame, x=x, width=wide) for x in xs), heads=heads)

    @property
    def width(self) -> float:
        """Of a column, where all are alike."""
        return self.columns[0].width

    @property
    def count(self) -> int:
        """How many there are."""
        return len(self.placed)

    @property
    def items(self) -> list[list[Item]]:
        """Of each page."""
        return [self.on(page) for page in range(self.count)]

    def on(self, page: int) -> list[Item]:
        """Items of a page, which is made if it is not there yet."""
        self.begun(page)
        return [item for block, x, top in self.placed[page] for item in block.at(x, top)]

    def begun(self, page: int) -> None:
        """Begin every page as far as that one."""
        while self.count <= page:
            left = self.columns[0]
            self.placed.append([(self._head(self.count), left.x, left.top)])

    def _head(self, page: int) -> Block:
        return self.heads[min(page, len(self.heads) - 1)] if self.heads else Block(items=(), height=0.0)

    def room(self, at: FilledTo) -> float:
        """Height that is left in a column."""
        return self.columns[at.column].height - self._head(at.page).height - at.used

    def after(self, at: FilledTo) -> FilledTo:
        """The top of the next column, on the next page where there is none."""
        last = at.column + 1 == len(self.columns)
        return FilledTo(at.page + 1) if last else FilledTo(at.page, at.column + 1)

    def tops(self, at: FilledTo) -> Iterator[FilledTo]:
        """Where columns begin: all of a page as far down as one is filled, then those of the pages after it."""
        for page in count(at.page):
            for column in range(len(self.columns)):
                yield FilledTo(page, column, at.used if page == at.page else 0.0)

    def fitting(self, height: float, at: FilledTo) -> FilledTo:
        """Where something so high goes: here, or at the top of the next column, be it too high for that or not."""
        return at if not at.used or self.room(at) >= height else self.after(at)

    def put(self, block: Block | Undrawn, at: FilledTo) -> FilledTo:
        """Place a block; the place below it."""
        column = self.columns[at.column]
        self.begun(at.page)
        self.placed[at.page].append((block, column.x, column.y + self.room(at)))
        return replace(at, used=at.used + block.height)

    def on_each(self, block: Block, x: float, top: float) -> None:
        """Place a block beside the columns of every page there is, its upper left corner there."""
        for placed in self.placed:
            placed.append((block, x, top))

    def made(self, *, width: float, height: float, title: str) -> tuple[Page, ...]:
        """The pages on paper of a size, in millimetres, all with one title."""
        return tuple(
            Page(width_mm=width, height_mm=height, items=tuple(items), title=title) for items in self.items
        )

    def within(self, *columns: Box) -> Pages:
        """The same pages in other columns."""
        return replace(self, columns=columns)
