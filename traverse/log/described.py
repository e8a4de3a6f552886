"""The words of the notation that describe a place, in one table: what each is read into, and what becomes of it.

A word that is forgotten here is no word of the notation. What follows from a row is derived from it: how a line is
explained and tidied, whether words may go on below it, its rows in the JSON, what the report counts. How the sheet
shows it stands, word for word, in `sheet/signs/shown.py`.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from types import MappingProxyType
from typing import Final, TypeAlias, assert_never, get_args

from traverse.log.items import (
    Apparent,
    Contact,
    ContactKind,
    Crossing,
    Elevation,
    Item,
    LineKind,
    Lines,
    NotedThing,
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

Kind: TypeAlias = PlaneKind | LineKind | ContactKind | WordsKind
_KINDS: Final[Mapping[type, type[Enum]]] = {
    Planes: PlaneKind,
    Lines: LineKind,
    Contact: ContactKind,
    Words: WordsKind,
}
"""Records that several words share, told apart by their kind."""


class Rows(Enum):
    """The arrays of the JSON that hold what was described."""

    ATTITUDES = "attitudes"
    CONTACTS = "contacts"
    THINGS = "things"


@record(frozen=True, slots=True, kw_only=True)
class Described:
    """A word that describes a place, and what becomes of it before a sheet is drawn. `tidy` indents all of them."""

    word: str
    record: type | None
    """What its line is read into; None of what is kept with the address itself."""
    kind: Kind | None = None
    """Which of a record that several words share."""
    form: str
    example: str
    asks: str | None
    """What a message asks where the line ends after the word; None where it asks for words."""
    takes_words: bool
    """Whether words may go on in the next line, although the line has none yet."""
    rows: Rows | None
    """Where it stands in the JSON; None of what only tells of something else."""
    row_kind: str | None
    """The `kind` of its row."""
    label: str | None = None
    """Field of the record that is the `label` of a thing in the JSON."""
    words: str | None = None
    """Field of the record that is its `words`."""
    counted: str | None
    """What the report counts it as, one of them; None where it is not counted."""


def _readings(kind: PlaneKind | LineKind, form: str, example: str, asks: str) -> Described:
    return Described(
        word=kind.value,
        record=Planes if isinstance(kind, PlaneKind) else Lines,
        kind=kind,
        form=f"{kind.value} {form}",
        example=f"{kind.value} {example}",
        asks=asks,
        takes_words=False,
        rows=Rows.ATTITUDES,
        row_kind=kind.value,
        counted="attitude",
    )


def _plane(kind: PlaneKind, example: str) -> Described:
    return _readings(kind, "ATTITUDE, …", example, "which attitude")


def _line(kind: LineKind, example: str, form: str = "PLUNGE->TREND, …") -> Described:
    return _readings(kind, form, example, "which plunge and trend")


def _said(kind: WordsKind, example: str) -> Described:
    return Described(
        word=kind.value,
        record=Words,
        kind=kind,
        form=f"{kind.value} WORDS",
        example=f"{kind.value} {example}",
        asks=None,
        takes_words=True,
        rows=Rows.THINGS,
        row_kind=kind.value,
        words="text",
        counted=None,
    )


def _border(kind: ContactKind, form: str, example: str, asks: str | None = None) -> Described:
    return Described(
        word=kind.value,
        record=Contact,
        kind=kind,
        form=f"{kind.value} {form}",
        example=f"{kind.value} {example}",
        asks=asks,
        takes_words=False,
        rows=Rows.CONTACTS,
        row_kind=kind.value,
        counted="contact",
    )


_TABLE: Final = (
    Described(
        word="unit",
        record=UnitHere,
        form="unit LETTERS, or in the heading unit LETTERS NAME ; AGE ; #rrggbb",
        example="unit Lt",
        asks="which unit",
        takes_words=False,
        rows=Rows.THINGS,
        row_kind="unit",
        words="letters",
        counted=None,
    ),
    Described(
        word="sight",
        record=Sight,
        form="sight NAME BEARING SLOPE",
        example="sight Peak-A 312 +6",
        asks="of what",
        takes_words=False,
        rows=None,
        row_kind=None,
        counted=None,
    ),
    Described(
        word="elevation",
        record=Elevation,
        form="elevation HEIGHT ±n SOURCE",
        example="elevation 1462 m altimeter",
        asks="how high",
        takes_words=False,
        rows=None,
        row_kind=None,
        counted=None,
    ),
    Described(
        word="time",
        record=None,
        form="time HH:MM",
        example="time 07:10",
        asks="what time",
        takes_words=False,
        rows=None,
        row_kind=None,
        counted=None,
    ),
    _said(WordsKind.ROCK, "Limestone, pale grey"),
    _said(WordsKind.NOTE, "path joins from the left"),
    _said(WordsKind.HAZARD, "loose blocks above the path"),
    _said(WordsKind.FOSSIL, "oysters, broken"),
    _said(WordsKind.SKETCH, "page 14, fold in the cliff"),
    _said(WordsKind.IRON, "wire fence beside the outcrop"),
    _said(WordsKind.FLOAT, "Pq common, angular"),
    Described(
        word="sample",
        record=Sample,
        form="sample LABEL WORDS",
        example="sample TG-01 shell band",
        asks="which label",
        takes_words=True,
        rows=Rows.THINGS,
        row_kind="sample",
        label="label",
        words="words",
        counted="sample",
    ),
    Described(
        word="photo",
        record=Photo,
        form="photo NUMBER looking BEARING WORDS",
        example="photo 1123 looking 320",
        asks="which",
        takes_words=True,
        rows=Rows.THINGS,
        row_kind="photo",
        label="number",
        words="words",
        counted="photo",
    ),
    _plane(PlaneKind.BED, "142/68"),
    _plane(PlaneKind.CROSSBED, "28->205"),
    _plane(PlaneKind.FOLIATION, "142/68"),
    _plane(PlaneKind.CLEAVAGE, "142/68"),
    _plane(PlaneKind.JOINT, "040/vertical"),
    _plane(PlaneKind.VEIN, "142/68"),
    _plane(PlaneKind.DIKE, "142/68"),
    _plane(PlaneKind.AXIAL, "060/85SE"),
    Described(
        word="apparent",
        record=Apparent,
        form="apparent DIP->DIRECTION, DIP->DIRECTION",
        example="apparent 20->080, 28->150",
        asks="which faces",
        takes_words=False,
        rows=Rows.ATTITUDES,
        row_kind="bed",
        counted="attitude",
    ),
    _line(LineKind.LINEATION, "24->310"),
    _line(LineKind.STRIATION, "rake 20 from NW on 310/75NE", "PLUNGE->TREND, or rake ANGLE from POINT"),
    _line(LineKind.HINGE, "24->310"),
    _readings(LineKind.CURRENT, "BEARING both, or PLUNGE->TREND", "010 both", "which way did it flow"),
    Described(
        word="tops",
        record=WayUp,
        form="tops up|down|unseen|POINT|BEARING WORDS",
        example="tops SE graded beds",
        asks="which way do they young",
        takes_words=True,
        rows=None,
        row_kind=None,
        counted=None,
    ),
    _border(
        ContactKind.CONTACT,
        "YOUNGER/OLDER HOW ATTITUDE ±n m",
        "Ms/Lt certain 140/72",
        "between which units",
    ),
    _border(ContactKind.UNCONFORMITY, "YOUNGER/OLDER HOW ATTITUDE", "Qt/Pz concealed", "between which units"),
    _border(
        ContactKind.FAULT,
        "UNIT/UNIT HOW ATTITUDE MOVEMENT down POINT",
        "Ms/Sr approximate 050/60 down SE",
        "which units, or which plane",
    ),
    Described(
        word="crosses",
        record=Crossing,
        form="crosses KIND BEARING NAME",
        example="crosses stream 200 Ilvane Water",
        asks="what does the walk cross",
        takes_words=True,
        rows=Rows.THINGS,
        row_kind="crossing",
        label="name",
        counted=None,
    ),
)


def _by_record() -> Mapping[tuple[type, Kind | None], Described]:
    """Every row by the record and kind that it is read into."""
    found: dict[tuple[type, Kind | None], Described] = {}
    for row in _TABLE:
        if row.record is None:
            continue
        if (row.record, row.kind) in found:
            raise LookupError(f"{row.word}: a second word for {row.record.__name__} {row.kind}")
        if row.rows is Rows.THINGS and row.words is None and row.label is None:
            raise LookupError(f"{row.word}: neither words nor a label of it would reach the JSON")
        found[row.record, row.kind] = row
    for kept in get_args(Item):
        for kind in _KINDS.get(kept, (None,)):
            if (kept, kind) not in found:
                raise LookupError(f"no word is read into {kept.__name__} {kind or ''}")
    things = {row.record for row in _TABLE if row.rows is Rows.THINGS}
    if astray := things ^ set(get_args(NotedThing)):
        names = ", ".join(sorted(getattr(one, "__name__", "None") for one in astray))
        raise LookupError(f"in `NotedThing` or among the things of the JSON alone: {names}")
    return found


_BY_RECORD: Final = _by_record()
DESCRIBED: Mapping[str, Described] = MappingProxyType({row.word: row for row in _TABLE})
"""Every word that describes a place."""


def described(item: Item) -> Described:
    """The row of what was described.

    >>> DESCRIBED["bed"].record.__name__, DESCRIBED["bed"].rows.value
    ('Planes', 'attitudes')
    """
    match item:
        case Planes() | Lines() | Contact() | Words():
            return _BY_RECORD[type(item), item.kind]
        case UnitHere() | Sample() | Photo() | Apparent() | WayUp() | Crossing() | Sight() | Elevation():
            return _BY_RECORD[type(item), None]
        case _:
            assert_never(item)
