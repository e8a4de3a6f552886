"""What is asked of words: readings that stand among them, of which nothing is drawn or listed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from traverse.diagnostic import Diagnostic, note, warning
from traverse.log.described import DESCRIBED, Rows, described
from traverse.log.items import (
    Address,
    Contact,
    ContactKind,
    Crossing,
    Item,
    Lines,
    Photo,
    Planes,
    Sample,
    UnitHere,
    WayUp,
    Words,
    WordsKind,
)
from traverse.notation.prose.statements import UPSIDE_DOWN, Begun, attitudes_in, statements_in
from traverse.notation.text import shortened

if TYPE_CHECKING:
    from traverse.notation.draft import Draft


def place(address: Address) -> tuple[str, int] | str:
    """A station by its name, whichever visit it is; a place on a leg by itself."""
    return address.station if address.station is not None else ("along", address.index)


def judge_words(draft: Draft) -> None:
    """Ask about statements among words that no line of the log holds, and of beds that words alone turn over."""
    asked = [
        (item, text, begun)
        for item in draft.items
        if (text := _words_of(item)) is not None
        for begun in statements_in(text)
    ]
    figures = [
        (item, one) for item in draft.items if isinstance(item, Words) for one in attitudes_in(item.text)
    ]
    over = [item for item in draft.items if isinstance(item, Words) and UPSIDE_DOWN.fullmatch(item.text)]
    if not asked and not over and not figures:
        return
    booked = _Booked(draft.items)
    for item, text, begun in asked:
        if not booked.holds(begun, item):
            draft.say(_asked(item, text, begun))
    told = {id(item) for item, _, _ in asked}
    for item, written in figures:
        if id(item) not in told and not booked.has(written, item):
            draft.say(
                note(
                    "reading-noted",
                    f"{written} among the words of `{item.kind.value}` reads as an attitude, and nothing is drawn of it",
                    item.span,
                    f"`bed {written}` on a line of its own, or `joint` or whichever it is; other figures may stay",
                )
            )
    for item in over:
        bed = booked.not_overturned(item)
        if bed is not None:
            draft.say(
                warning(
                    "reading-noted",
                    f"nothing is drawn of beds that are overturned under `{item.kind.value}`",
                    item.span,
                    f"`overturned` behind the attitude, `bed {shortened(bed, 60)} overturned`",
                )
            )


def _words_of(item: Item) -> str | None:
    match item:
        case Words():
            return item.text
        case Sample() | Photo() | WayUp():
            return item.words
        case Crossing():
            return item.name
        case _:
            return None


def _asked(item: Item, text: str, begun: Begun) -> Diagnostic:
    word = begun.statement[0].lower()
    host = described(item).word
    if begun.at == 0 and len(begun.typed) == len(text.strip(" \t")):
        where, how = f"under `{host}`", ""
    else:
        where, how = f"among the words of `{host}`", " on a line of its own"
    thing = "a reading" if word not in DESCRIBED or DESCRIBED[word].rows is not Rows.THINGS else f"a {word}"
    return warning(
        "reading-noted",
        f"nothing is drawn of {thing} {where}",
        item.span,
        f"`{shortened(begun.typed, 100)}`{how}",
    )


class _Booked:
    """What lines of their own hold."""

    def __init__(self, items: list[Item]) -> None:
        self._labels = {one.label.lower() for one in items if isinstance(one, Sample)}
        self._photos = {one.number for one in items if isinstance(one, Photo)}
        self._units = {place(one.address) for one in items if isinstance(one, UnitHere)}
        self._tops = {place(one.address) for one in items if isinstance(one, WayUp)}
        self._heights = {place(one.address) for one in items if described(one).word == "elevation"}
        planes = [
            (one.address, _figures(reading.written))
            for one in items
            if isinstance(one, Planes | Lines)
            for reading in one.readings
        ]
        met = [one for one in items if isinstance(one, Contact)]
        planes += [(one.address, _figures(one.plane.written)) for one in met if one.plane is not None]
        self._planes = [figures for _, figures in planes]
        self._planes_at: dict[_Key, list[str]] = {}
        for address, figures in planes:
            for key in _met_at(address):
                self._planes_at.setdefault(key, []).append(figures)
        self._contacts = {
            (key, one.kind, frozenset((one.younger, one.older)))
            for one in met
            for key in _met_at(one.address)
        }
        self._beds: dict[tuple[str, int] | str, list[Planes]] = {}
        for one in items:
            if isinstance(one, Planes) and one.kind.value == "bed":
                self._beds.setdefault(place(one.address), []).append(one)

    def holds(self, begun: Begun, item: Item) -> bool:
        """Whether a line says what a statement among words does, or it speaks of nothing that is drawn at its place."""
        statement, here = begun.statement, place(item.address)
        match statement[0].lower():
            case "sample":
                return statement[1].rstrip(".").lower() in self._labels
            case "photo":
                return str(statement[1]) in self._photos
            case "unit":
                return item.address.station is None or here in self._units
            case "tops":
                return here in self._tops or here not in self._beds
            case "elevation":
                return here in self._heights
            case "contact" | "unconformity" | "fault" as word:
                pair = next(token for token in statement if token.type == "UNITPAIR")
                units = frozenset(part.strip(" \t?") for part in pair.split("/"))
                kind = ContactKind(word)
                return any((key, kind, units) in self._contacts for key in _looked_for_at(item.address))
            case _:
                read = [_figures(token) for token in statement if token.type in _FIGURES]
                return all(any(one.startswith(figures) for one in self._planes) for figures in read)

    def has(self, written: str, item: Item) -> bool:
        """Whether a plane is read so on a line of its own there or beside it, or none at all, so that nobody reads any."""
        beside = _looked_for_at(item.address)
        near = [one for key in beside for one in self._planes_at.get(key, ())] if beside else self._planes
        return not self._planes or any(one.startswith(_figures(written)) for one in near)

    def not_overturned(self, item: Words) -> str | None:
        """The one bed of a place as written, which its line does not call overturned; None where way-up was booked."""
        here = place(item.address)
        beds = [reading for one in self._beds.get(here, ()) for reading in one.readings]
        if len(beds) != 1 or here in self._tops or item.kind not in {WordsKind.NOTE, WordsKind.ROCK}:
            return None
        (bed,) = beds
        return None if bed.overturned or bed.upright else bed.written


_FIGURES = frozenset({"PAIR", "ARROW", "FIGURE"})


_Key = tuple[str, str | int]


def _met_at(address: Address) -> tuple[_Key, ...]:
    """Where a contact is met: its leg and near both ends of that, or its station."""
    if address.station is not None:
        return ("at", address.station), ("near", address.station)
    leg = address.leg
    return () if leg is None else (("leg", leg.index), ("near", leg.start), ("near", leg.end))


def _looked_for_at(address: Address) -> tuple[_Key, ...]:
    """Where a contact of which words speak may have been booked."""
    if address.station is not None:
        return (("near", address.station),)
    leg = address.leg
    return () if leg is None else (("leg", leg.index), ("at", leg.start), ("at", leg.end))


def _figures(written: str) -> str:
    """A reading without its blanks."""
    return "".join(written.split()).lower()
