"""Contacts that stand between a leg and the `at` of its end: an `along` above them may have been lost."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from traverse.diagnostic import Diagnostic, Label, warning
from traverse.log.items import Address, Contact, HowMet, LegKind
from traverse.log.records import Log

_OWN_WAY = 0.25
"""Who writes so at more of the stations that have an `at` means it; common practice, no source."""


def check_along_lost(log: Log) -> Iterator[Diagnostic]:
    """Contacts that are taken to be at a station, above its own `at`, in a log that else writes them below it or `along`."""
    starts = {leg.span: leg for leg in log.legs if leg.kind is not LegKind.SIDE}
    contacts: dict[int, list[Contact]] = defaultdict(list)
    for item in log.items:
        if isinstance(item, Contact) and item.met is HowMet.CROSSED:
            contacts[item.address.index].append(item)
    ends: list[tuple[Address, Address]] = []
    came: Address | None = None
    for address in log.addresses:
        if address.span in starts:
            came = address
        elif came is not None and address.station is not None:
            if address.station == came.station:
                ends.append((came, address))
            came = None
    odd = [(came, at) for came, at in ends if contacts[came.index]]
    if len(odd) > max(1.0, _OWN_WAY * len(ends)):
        return
    for came, at in odd:
        first = contacts[came.index][0]
        pair = f"{first.younger}/{first.older}" if first.younger else "the fault"
        yield warning(
            "along-lost",
            f"{pair} stands above `at {at.station}`, and no `along` says where on the leg: it is taken to be at {at.station}",
            first.span,
            f"is the line `along DISTANCE` missing above it; at the station itself it goes below `at {at.station}`",
            labels=(Label(at.span, "the station begins here"),),
        )
