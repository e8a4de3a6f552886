"""Where on the page of a camp the walk of another party begins: what stands next to each other there lies apart."""

from __future__ import annotations

from itertools import pairwise

from traverse.log.records import Log


def walk_begins(log: Log) -> tuple[int, ...]:
    """The items of the log at which another party begins, rising; days of one party go on from each other."""
    letters = {party.file: party.letters for party in log.parties}
    whose = [letters.get(item.address.span.file) for item in log.items]
    return tuple(at for at, (before, one) in enumerate(pairwise(whose), start=1) if one != before)
