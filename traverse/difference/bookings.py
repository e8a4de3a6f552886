"""The statements of a text with the place that each stands at, and two texts laid side by side."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Sequence
from difflib import SequenceMatcher
from typing import Final, NamedTuple

from lark import Token

from traverse.difference.records import Edit, EditKind
from traverse.log.written_forms import HEADING_FORMS
from traverse.notation.layout import as_read, canonical
from traverse.notation.parse import Parsed, Statement, Unread, parse
from traverse.numerals import EN_DASH
from traverse.source import Source, Span

_LEGS: Final = frozenset({"TO", "CLOSE", "SIDE", "FROM"})
_ON_LEG: Final = frozenset({"ALONG", "COVERED"})
_NAMED: Final = frozenset({
    "UNIT", "CONTROL", "CONTROLS", "TERRAIN", "PACE", "LOG", "USE", "AT", "SECTION", "SAMPLE", "PHOTO", "TIE", "SIGHT", "CONTACT", "UNCONFORMITY",
    "FAULT", "TRACE", "CROSSES", "RULING",
})  # fmt: skip
"""What comes after the first word tells which of several it is."""
_WORDS: Final = frozenset({
    "traverse", "area", "weather", "instrument", "heights", "page", "party", "group", "emergency", "rock", "note", "hazard", "fossil",
    "sketch", "photo", "sample", "checked", "was",
})  # fmt: skip
"""What moves no figure. Not `float`, by which a contact may be placed, nor `iron`, which turns a compass: these are readings."""
_WALK: Final = frozenset({"at", "to", "close", "side", "from", "along", "covered", "tie", "omit", "ruling"})
_OUTPUT: Final = frozenset({"sheet", "section"})
_HEADING: Final = frozenset({*HEADING_FORMS, "reader", "pacer", "compass", "adjust", "trace"})
_BRIEF: Final = 2000
"""Statements up to which all of them may begin a run of equal ones; of more, common ones only go on with it."""


class Booking(NamedTuple):
    """A statement, with the lines that go on with it."""

    key: Hashable
    """The same of two that say the same, whatever their layout."""
    kind: EditKind
    word: str
    name: str
    """Which of several of its word it is; empty where nothing tells."""
    place: str
    text: str
    """Without the first word; of a leg, its readings."""
    span: Span
    first: int
    """Its first line, counted from 0."""


class Aligned(NamedTuple):
    """The same statement in the old text and the new; one of them None where it was added or taken out."""

    was: Booking | None
    now: Booking | None

    @property
    def same(self) -> bool:
        """Whether it says what it said."""
        return self.was is not None and self.now is not None and self.was.key == self.now.key

    @property
    def edit(self) -> Edit:
        """It, as a change."""
        either = self.now or self.was
        assert either is not None
        moved = self.was is not None and self.now is not None and self.was.place != self.now.place
        return Edit(
            kind=either.kind,
            word=either.word,
            place=either.place,
            was=None if self.was is None else self.was.text,
            now=None if self.now is None else self.now.text,
            was_at=None if self.was is None else self.was.span,
            now_at=None if self.now is None else self.now.span,
            was_place=self.was.place if moved and self.was is not None else None,
        )


def bookings(source: Source) -> tuple[Booking, ...]:
    """The statements of a text in order; lines that can't be read stand as typed."""
    return tuple(_PageReader(source).all())


class _PageReader:
    """Goes down a page and knows where it is."""

    def __init__(self, source: Source) -> None:
        self._source = source
        self._parsed: Parsed = parse(source)
        self._at = ""
        """The station that the walk is at."""
        self._leg = ""
        self._place = ""

    def all(self) -> Iterator[Booking]:
        held: Booking | None = None
        for one in self._parsed.lines:
            if isinstance(one, Token):
                if one.type == "MORE" and held is not None:
                    more = self._parsed.original[one.start_pos : one.end_pos].strip()
                    held = held._replace(key=(held.key, more), text=f"{held.text} {more.lstrip('|').strip()}")
                continue
            if held is not None:
                yield held
            held = self._unread(one) if isinstance(one, Unread) else self._statement(one) if one else None
        if held is not None:
            yield held

    def _whole(self, number: int) -> Span:
        line = self._source.line(number)
        return Span(
            self._source.name,
            number,
            len(line) - len(line.lstrip()) + 1,
            max(2, len(line.rstrip()) + 1),
        )

    def _unread(self, one: Unread) -> Booking:
        line = " ".join(self._source.line(one.line).split())
        word, _, rest = line.partition(" ")
        return Booking(
            key=("", line),
            kind=EditKind.HEADING if word.lower() in _HEADING else EditKind.READING,
            word=word.lower(),
            name="",
            place=self._place,
            text=rest,
            span=self._whole(one.line),
            first=one.line - 1,
        )

    def _statement(self, one: Statement) -> Booking:
        kind, number = one[0].type, one[0].line or 1
        word = one[0].lower()
        text = canonical(one, self._parsed.original).partition(" ")[2]
        name = str(one[1]) if kind in _NAMED and len(one) > 1 else ""
        place = self._place
        definition = kind == "UNIT" and len(one) > 2
        if kind == "AT":
            self._at = str(one[1])
            self._place = f"at {self._at}"
            place = ""
        elif kind in _LEGS:
            start = str(one[1]) if kind == "FROM" else self._at
            turn = 2 if kind == "FROM" else 0
            word, end = one[turn].lower(), str(one[turn + 1])
            text = " ".join(text.split(" ")[turn + 1 :])
            self._leg = place = f"{start}{EN_DASH}{end}"
            self._place, name = f"at {end}", end
            self._at = start if word == "side" else end
        elif kind in _ON_LEG:
            place = f"on leg {self._leg}"
            self._place = f"on leg {self._leg}, {text}"
        if definition or word in _HEADING or word in _OUTPUT:
            place = ""
        return Booking(
            key=(place if kind in _LEGS else "", *as_read(one)),
            kind=_kind(word, definition=definition),
            word=word,
            name=name,
            place=place,
            text=text,
            span=self._whole(number),
            first=number - 1,
        )


def _kind(word: str, *, definition: bool) -> EditKind:
    if definition or word in _HEADING - _WORDS:
        return EditKind.HEADING
    for words, kind in (
        (_WORDS, EditKind.WORDS),
        (_WALK, EditKind.WALK),
        (_OUTPUT, EditKind.OUTPUT),
    ):
        if word in words:
            return kind
    return EditKind.HEADING if word in {"date", "notation"} else EditKind.READING


_Key = Callable[[Booking], Hashable]
_ALIKE: Final[tuple[_Key, ...]] = (
    lambda one: one.key,
    lambda one: (one.word, one.name, one.place),
    lambda one: (one.word, one.name),
    lambda one: "leg" if one.word in {"to", "close", "side"} else (one.kind, one.word),
)
"""By what two statements are taken for the same one, the surest first."""


def side_by_side(was: Sequence[Booking], now: Sequence[Booking], sure: int = 0) -> tuple[Aligned, ...]:
    """Both texts in one order; between what says the same, what is about the same, and the rest as taken out and added."""
    if not was or not now or sure == len(_ALIKE):
        return (*(Aligned(one, None) for one in was), *(Aligned(None, one) for one in now))
    key = _ALIKE[sure]
    first, second = [key(one) for one in was], [key(one) for one in now]
    common = _shared(first, second)
    ends = len(first) - common[1], len(second) - common[1]
    found = list(map(Aligned, was[: common[0]], now[: common[0]]))
    inner = was[common[0] : ends[0]], now[common[0] : ends[1]]
    pieces: list[Aligned] = []
    matcher = SequenceMatcher(
        None,
        first[common[0] : ends[0]],
        second[common[0] : ends[1]],
        autojunk=len(inner[0]) + len(inner[1]) > _BRIEF,
    )
    for tag, a, b, c, d in matcher.get_opcodes():
        if tag == "equal":
            pieces += map(Aligned, inner[0][a:b], inner[1][c:d])
        else:
            pieces += side_by_side(inner[0][a:b], inner[1][c:d], sure + 1)
    found += pieces
    found += map(Aligned, was[ends[0] :], now[ends[1] :])
    return tuple(found)


def _shared(first: Sequence[Hashable], second: Sequence[Hashable]) -> tuple[int, int]:
    """How many are the same at the beginning, and at the end."""
    most = min(len(first), len(second))
    start = next((at for at in range(most) if first[at] != second[at]), most)
    end = next((at for at in range(most - start) if first[-1 - at] != second[-1 - at]), most - start)
    return start, end


def mixed(pieces: Sequence[Aligned], made: Sequence[bool], was: Source, now: Source) -> str:
    """The old text with some of the changes made, each piece with the comments below it; pieces that are the same as now."""
    old, new = _blocks(was, [one.was for one in pieces]), _blocks(now, [one.now for one in pieces])
    lines = [
        line
        for piece, after, before, done in zip(pieces, new, old, made, strict=True)
        for line in (after if done or piece.same else before)
    ]
    return "\n".join([*lines, ""])


def _blocks(source: Source, order: Sequence[Booking | None]) -> list[tuple[str, ...]]:
    """Lines of each statement, to the next one."""
    starts = sorted({one.first for one in order if one is not None})
    following = dict(zip(starts, [*starts[1:], len(source.lines)], strict=True))
    return [() if one is None else source.lines[one.first : following[one.first]] for one in order]
