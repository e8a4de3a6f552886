"""Every setting of a template, declared once: its kind, its limits, what it means.

What a template may say, how a value is checked and what is said of a wrong one derive from this table;
`templates/example.toml` shows each setting that stands in it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from enum import Enum
from types import MappingProxyType

from traverse.record import record
from traverse.sheet.paper.page import Face
from traverse.sheet.signs.measures import LEAST_MM, MOST_MM

BLOCKS = ("title", "units", "signs", "structure", "closure", "limits", "tomorrow")
"""Panels of words."""
PANELS = ("map", "scale", "section", *BLOCKS, "emergency")
"""What can be placed on sheet 1: of `tomorrow` its lines for an emergency also by themselves."""
PAGES = ("tables", "report", "reference")
"""What follows sheet 1."""
SHOWN = ("map", "section", *BLOCKS, *PAGES)
USUAL = SHOWN[:-1]
"""What a template shows that does not say."""
LARGEST_MM = 5000.0
ABOVE_0 = 1e-6
"""The least of what must have a size."""


class Kind(Enum):
    """What a value of a setting is."""

    LENGTH = "a length in millimetres"
    LENGTHS = "lengths in millimetres"
    SHARE = "a share"
    NAME = "a name"
    NAMES = "a list of names"
    FILE = "the path of a file"
    COLOUR = "a colour"
    YES_OR_NO = "true or false"


@record(frozen=True, slots=True, kw_only=True)
class Setting:
    """One setting, or all whose last part is a name of the template's own or one of `keys`."""

    name: str
    """With the tables that it stands in; `*` for any name."""
    kind: Kind
    words: str
    """What it means, for whoever has written it wrong."""
    such: str
    """A value as it is written."""
    least: float = ABOVE_0
    most: float = LARGEST_MM
    count: int = 1
    """How many lengths; 0 for as many as are wanted."""
    keys: tuple[str, ...] = ()
    """The names that may stand for `*`, or in a list; empty for any."""
    needed: bool = False
    """Whether a template, or one that has the table [page], must say it."""


def _length(name: str, words: str, such: str, *, least: float = ABOVE_0, needed: bool = True) -> Setting:
    return Setting(name=name, kind=Kind.LENGTH, words=words, such=such, least=least, needed=needed)


def _lengths(
    name: str,
    words: str,
    such: str,
    count: int,
    *,
    least: float = ABOVE_0,
    keys: tuple[str, ...] = (),
    needed: bool = False,
) -> Setting:
    return Setting(
        name=name,
        kind=Kind.LENGTHS,
        words=words,
        such=such,
        count=count,
        least=least,
        keys=keys,
        needed=needed,
    )


SETTINGS: Mapping[str, Setting] = MappingProxyType(
    {
        one.name: one
        for one in (
            Setting(
                name="extends",
                kind=Kind.NAME,
                words="the template that this one changes",
                such='"field"',
            ),
            _length("margin", "round every page", "10.0", least=0.0),
            _length("gap", "between columns", "5.0", least=0.0),
            _length(
                "coordinates", "left of the map and above it, for the figures of the grid", "4.2", least=0.0
            ),
            _length("foot", "the foot line and the air over it", "4.8", least=0.0),
            Setting(
                name="paper",
                kind=Kind.NAME,
                words="the paper where the log names none",
                such='"A4"',
                needed=True,
            ),
            Setting(
                name="show",
                kind=Kind.NAMES,
                words="what is made at all",
                such='["map", "limits"]',
                keys=SHOWN,
            ),
            _lengths("papers.*", "width and height, upright", "[210.0, 297.0]", 2, needed=True),
            _lengths("rolls.*", "width, and the most that is cut from it", "[610.0, 2500.0]", 2),
            _length("landscape.column", "the column right of the map", "76.0"),
            _length("landscape.narrow_column", "the same where the map needs the room", "66.0"),
            _length("landscape.columns.*", "the column of one paper", "60.0", needed=False),
            _lengths(
                "portrait.columns", "shares of the width under the map", "[61.0, 69.0, 55.9]", 3, needed=True
            ),
            _length("section.height", "of the ground between the axes", "50.0"),
            _length("section.least_height", "the lowest that a section may get", "36.0"),
            Setting(
                name="section.most_share",
                kind=Kind.SHARE,
                words="the part of the page that a section may take",
                such="0.3",
                most=0.6,
                needed=True,
            ),
            _length("page.width", "of a page whose panels are placed", "210.0"),
            _length("page.height", "of a page whose panels are placed", "297.0"),
            _lengths(
                "panels.*",
                "x and y of the lower left corner, width and height",
                "[14.0, 89.0, 192.0, 107.0]",
                4,
                least=0.0,
                keys=PANELS,
            ),
            Setting(
                name="fonts.*",
                kind=Kind.FILE,
                words="a TrueType file, its path from the template's folder",
                such='"MyType-Regular.ttf"',
                keys=tuple(face.value for face in Face),
            ),
            Setting(
                name="lines.*.width",
                kind=Kind.LENGTH,
                words="of the line",
                such="0.25",
                # A thinner line may plot incorrectly (FGDC guidance on symbols: below 0.125 mm).
                least=0.1,
                most=3.0,
            ),
            Setting(
                name="lines.*.dash",
                kind=Kind.LENGTHS,
                words="dash and gap by turns",
                such="[3.5, 0.75]",
                least=0.2,
                most=50.0,
                count=0,
            ),
            Setting(
                name="lines.*.colour",
                kind=Kind.COLOUR,
                words="six figures after #",
                such='"#1a619e"',
            ),
            Setting(
                name="lines.*.round",
                kind=Kind.YES_OR_NO,
                words="round ends, which make dots of short dashes",
                such="true",
            ),
            Setting(
                name="signs.*.*",
                kind=Kind.LENGTH,
                words="one part of a sign",
                such="5.0",
                least=LEAST_MM,
                most=MOST_MM,
            ),
        )
    }
)


def setting_of(key: str) -> Setting:
    """The setting that a key of a template is, with the names of its own in it."""
    for name, one in SETTINGS.items():
        # A name of the template's own may have a point in it.
        if re.fullmatch(re.escape(name).replace(r"\*", ".*"), key):
            return one
    raise LookupError(key)


def _tables() -> dict[str, tuple[str, ...] | None]:
    found: dict[str, tuple[str, ...] | None] = {"": ()}
    for name, one in SETTINGS.items():
        table = ""
        for part in name.split("."):
            known = found.setdefault(table, ())
            if part == "*":
                found[table] = one.keys or None
                break
            if known is not None and part not in known:
                found[table] = (*known, part)
            table = f"{table}.{part}" if table else part
    return found


TABLES: Mapping[str, tuple[str, ...] | None] = MappingProxyType(_tables())
"""What each table may hold; None for names of the user's own, and for lines and signs, whose names are theirs."""
