"""Lines that say nothing, or say again what the line before them said."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from itertools import pairwise

from traverse.diagnostic import Diagnostic, Label, note, warning
from traverse.log.described import described
from traverse.log.items import Contact, Elevation, HowMet, Item, Lines, Photo, PlaneKind, Planes, Words
from traverse.log.records import Log


def check_idle_lines(log: Log) -> Iterator[Diagnostic]:
    """Notes on a place of a leg at which nothing is booked, and on a line that stands twice in the same words."""
    after = _right_after(log)
    for address in log.empty_points:
        assert address.start is not None
        if (contact := after.get(address.index)) is not None:
            yield warning(
                "along-empty",
                f"nothing is booked {address.start.written} along this leg, and {contact.younger}/{contact.older} stands at its "
                "end",
                address.span,
                f"was {contact.younger}/{contact.older} met here: then line {contact.span.line} belongs below this one; else leave "
                "this line out",
                labels=(Label(contact.span, f"{contact.younger}/{contact.older}"),),
            )
            continue
        yield note(
            "along-empty",
            f"nothing is booked {address.start.written} along this leg",
            address.span,
            "leave the line out, or look on the page for what was met there",
        )
    for before, item in pairwise(log.items):
        own = _said(item)
        if own is not None and own == _said(before) and item.address.index == before.address.index:
            once = isinstance(item, Planes) and item.kind is PlaneKind.BED
            count = f"; it counts {'once' if once else 'twice'}" if isinstance(item, Planes | Lines) else ""
            yield note(
                "line-twice",
                f"this stands twice here in the same words (line {before.span.line}){count}",
                item.span,
                "leave one of the two out, or look at the page for what the second one was",
            )


def _right_after(log: Log) -> Mapping[int, Contact]:
    """The one contact booked at the station at the end of a leg, by the index of the last point of the leg, with nothing booked there."""
    last = {one.leg.index: one for one in log.addresses if one.leg is not None}
    empty = [one for one in log.empty_points if one.leg is not None and last[one.leg.index] is one]
    if not empty:
        return {}
    there: dict[str, list[Contact]] = defaultdict(list)
    for item in log.items:
        if isinstance(item, Contact) and item.met is HowMet.CROSSED and item.address.station is not None:
            there[item.address.station].append(item)
    at_end = {one.index: there[one.leg.end] for one in empty if one.leg is not None}
    return {index: contacts[0] for index, contacts in at_end.items() if len(contacts) == 1}


def _said(item: Item) -> tuple[str, ...] | None:
    """What a line says, as it was typed; None of one that is asked about elsewhere where it stands twice."""
    match item:
        case Planes() | Lines() | Elevation():
            return described(item).word, item.written
        case Words():
            return item.kind.value, item.text
        case Photo():
            return "photo", item.number
        case _:
            return None
