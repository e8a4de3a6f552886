"""How the sheet shows each word that describes: its sign, where the tables print it, and what a handout keeps of it.

A row for each row of `log/described.py`; where one is missing, or names no sign of the table, nothing can be drawn.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from types import MappingProxyType
from typing import Final, assert_never

from traverse.log.described import DESCRIBED, described
from traverse.log.items import (
    Apparent,
    Contact,
    ContactKind,
    Crossing,
    Elevation,
    GroundLine,
    Item,
    LineKind,
    Lines,
    Photo,
    PlaneKind,
    Planes,
    Sample,
    Sight,
    UnitHere,
    WayUp,
    Words,
    WordsKind,
)
from traverse.record import record
from traverse.sheet.signs.symbols import LINES, SIGNS


class Printed(Enum):
    """Where the tables print what was described: a column of the stations, the contacts, or the notes in full."""

    UNIT = "unit"
    AS_WRITTEN = "as written"
    TOPS = "tops"
    ROCK = "rock"
    BESIDE = "samples, photos, hazards, fossils"
    CONTACTS = "contacts"
    IN_FULL = "notes in full"


class Kept(Enum):
    """What a handout keeps of it."""

    ALL = "its sign, and its words in full among the hazards"
    """Of hazards alone: the list of hazards prints nothing else."""
    BASE = "its line, without a name that tells"
    """Of lines of the ground alone: of nothing else is it said what tells in its name."""
    WITH_ATTITUDES = "where the leader gives the attitudes"
    WITH_CONTACTS = "where the leader gives the contacts"
    NOTHING = "nothing"
    """But for what it helped to place: a landmark that was sighted stays on the map."""


@record(frozen=True, slots=True, kw_only=True)
class Shown:
    """How the sheet shows a word that describes."""

    printed: Printed
    kept: Kept
    sign: str | None
    """On the map: its sign, or the first word of the names of its signs and lines; None without one of its own."""
    icon: bool = False
    """Whether the sign stands beside its place, with words and a leader."""
    in_section: str | None = None
    """Its sign in a section; None where a section shows it by its line, or not."""


def _plane(sign: str, in_section: str | None = None) -> Shown:
    return Shown(printed=Printed.AS_WRITTEN, kept=Kept.WITH_ATTITUDES, sign=sign, in_section=in_section)


def _line(sign: str) -> Shown:
    return Shown(printed=Printed.AS_WRITTEN, kept=Kept.WITH_ATTITUDES, sign=sign)


def _border(sign: str) -> Shown:
    return Shown(printed=Printed.CONTACTS, kept=Kept.WITH_CONTACTS, sign=sign)


def _words(printed: Printed) -> Shown:
    return Shown(printed=printed, kept=Kept.NOTHING, sign=None)


def _icon(sign: str, kept: Kept = Kept.NOTHING) -> Shown:
    return Shown(printed=Printed.BESIDE, kept=kept, sign=sign, icon=True)


SHOWN: Final[Mapping[str, Shown]] = MappingProxyType(
    {
        "unit": _words(Printed.UNIT),
        "sight": Shown(printed=Printed.IN_FULL, kept=Kept.NOTHING, sign="landmark"),
        "elevation": _words(Printed.IN_FULL),
        # Of the whole walk in one row.
        "time": _words(Printed.IN_FULL),
        "rock": _words(Printed.ROCK),
        "note": _words(Printed.IN_FULL),
        "hazard": _icon("hazard", Kept.ALL),
        "fossil": _words(Printed.BESIDE),
        "sketch": _words(Printed.IN_FULL),
        "iron": _words(Printed.IN_FULL),
        "float": _words(Printed.IN_FULL),
        "sample": _icon("sample"),
        "photo": _icon("photo"),
        "bed": _plane("bedding", "apparent dip"),
        "crossbed": _plane("crossbed"),
        "foliation": _plane("foliation", "foliation in section"),
        "cleavage": _plane("cleavage", "cleavage in section"),
        "joint": _plane("joint", "joint in section"),
        "vein": _plane("vein"),
        "dike": _plane("dike"),
        "axial": _plane("axial"),
        "apparent": _plane("bedding", "apparent dip"),
        "lineation": _line("lineation"),
        "striation": _line("striation"),
        "hinge": _line("hinge"),
        "current": _line("current"),
        "tops": Shown(printed=Printed.TOPS, kept=Kept.NOTHING, sign="bedding tops"),
        "contact": _border("contact"),
        "unconformity": _border("contact"),
        "fault": _border("fault"),
        # Its sign is the line of the ground that it names.
        "crosses": Shown(printed=Printed.IN_FULL, kept=Kept.BASE, sign=None),
    }
)
"""By the word."""

_AS_IT_LIES: Final[Mapping[type, tuple[str, ...]]] = {
    Planes: ("", " vertical", " flat"),
    Lines: ("", " level"),
    Contact: (" certain", " approximate", " inferred", " concealed"),
    Photo: ("", " no view"),
}
"""What the names of signs end in by how a thing lies, by the record; of bedding there are more."""


def _complete(rows: Mapping[str, Shown]) -> None:
    """Refuse a table that forgets a word, names a sign that is not drawn, or keeps what no handout has room for."""
    if missing := set(DESCRIBED) ^ set(rows):
        raise LookupError(f"shown or described alone: {', '.join(sorted(missing))}")
    wanted = {line.value for line in GroundLine}
    for word, one in rows.items():
        into, kind = DESCRIBED[word].record, DESCRIBED[word].kind
        if one.icon and one.sign is None:
            raise LookupError(f"{word}: an icon without a sign")
        if one.kept is Kept.ALL and kind is not WordsKind.HAZARD:
            raise LookupError(f"{word}: no list of a handout prints its words")
        if one.kept is Kept.BASE and into is not Crossing:
            raise LookupError(f"{word}: what is kept of it as base of the map is not said in `given`")
        if one.sign is not None:
            ends = ("",) if one.sign == "bedding" or into is None else _AS_IT_LIES.get(into, ("",))
            wanted |= {f"{one.sign}{end}" for end in ends}
        if one.in_section is not None:
            wanted.add(one.in_section)
    if missing := wanted - {*SIGNS, *LINES}:
        raise LookupError(f"no such sign: {', '.join(sorted(missing))}")


_complete(SHOWN)


def shown(item: Item) -> Shown:
    """How the sheet shows what was described."""
    return SHOWN[described(item).word]


def sign_of(kind: PlaneKind | LineKind | ContactKind) -> str:
    """What the names of the signs and lines of a reading, a contact or a fault begin with."""
    sign = SHOWN[kind.value].sign
    assert sign is not None
    return sign


def icon_of(item: Item, *, toward: bool) -> str | None:
    """The sign that stands beside the place of a thing; None of what has none. `toward` where its azimuth is known."""
    one = shown(item)
    if not one.icon or one.sign is None:
        return None
    return f"{one.sign} no view" if SIGNS[one.sign].turns and not toward else one.sign


def icons_named(end: str = "") -> str:
    """The words whose things stand on the map as icons: `hazard, sample or photo`."""
    names = [f"{word}{end}" for word, one in SHOWN.items() if one.icon]
    return " or ".join([", ".join(names[:-1]), names[-1]])


def told(item: Item) -> tuple[str, str] | None:
    """What it is and what was said of it, in the words of the log; None of what a table prints by its figures."""
    match item:
        case Words():
            return item.kind.value, item.text
        case Sample():
            return "sample", f"{item.label} {item.words or ''}"
        case Photo():
            looking = f" looking {item.looking.written}" if item.looking is not None else ""
            return "photo", f"{item.number}{looking} {item.words or ''}"
        case Crossing():
            return "crosses", f"{item.kind.value} {item.runs.written} {item.name or ''}"
        case Sight():
            return "sight", f"{item.target} {item.bearing.written} {item.slope.written if item.slope else ''}"
        case Elevation():
            at = f", {item.time:%H:%M}" if item.time is not None else ""
            return "elevation", f"{item.written}{f', {item.source}' if item.source else ''}{at}"
        case UnitHere() | Planes() | Apparent() | Lines() | WayUp() | Contact():
            return None
        case _:
            assert_never(item)
