"""Whether a contact names the older of its two units first, and whether it or the list of units is asked about."""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Mapping

from traverse.log.ages import Age
from traverse.log.items import Contact, ContactKind
from traverse.log.records import Log

Pair = tuple[str, str]
"""Letters of two units, the younger first."""


def turned_round(pair: Pair, rank: Mapping[str, int]) -> bool:
    """Whether a pair of units stands the other way round than a list has them, by their places in it, the youngest lowest.

    >>> turned_round(("Ls", "Sh"), {"Sh": 0, "Ls": 1})
    True
    """
    first, second = (rank.get(name) for name in pair)
    return first is not None and second is not None and first > second


def of_the_list(
    against: Mapping[Pair, int], right: Container[Pair], ages: Mapping[str, Age | None]
) -> list[Pair]:
    """Pairs that several contacts turn round, or the ages that the list itself gives, and no contact has as the list.

    Then the list is asked about, and no contact. `against` counts contacts by the pair as they name it, `right` holds the
    pairs that others have as the list, turned too; `ages` are those of the units.
    """
    return [
        pair
        for pair, count in against.items()
        if (count > 1 or by_ages(pair, ages)) and not (pair in right and not by_ages(pair, ages))
    ]


def by_ages(pair: Pair, ages: Mapping[str, Age | None]) -> bool:
    """Whether the first of two units is the younger by ages that do not overlap."""
    first, second = (ages.get(name) for name in pair)
    return first is not None and second is not None and first.is_younger(second)


def oldest_first(log: Log) -> bool:
    """Whether the ages in the list of units run the other way, from the oldest to the youngest."""
    dated = [unit.dated for unit in log.units if unit.age and not unit.intrusive]
    middles = [age.middle for age in dated if age is not None]
    return len(set(middles)) > 1 and middles == sorted(middles, reverse=True)


def turned_contacts(log: Log) -> tuple[Contact, ...]:
    """Contacts that are asked about by themselves, since the list of units has their two units the other way round.

    A fault and the border of a body that cuts say nothing of age. Where the list itself is asked about there are none.
    """
    if oldest_first(log):
        return ()
    rank = {unit.letters: index for index, unit in enumerate(log.units)}
    named = [
        (item, item.named)
        for item in log.items
        if isinstance(item, Contact) and item.named is not None
        if item.kind is not ContactKind.FAULT and not log.intrusive & {*item.named}
    ]
    turned = [(item, pair) for item, pair in named if turned_round(pair, rank)]
    right = {(pair[1], pair[0]) for _, pair in named if not turned_round(pair, rank)}
    ages = {unit.letters: unit.dated for unit in log.units}
    listed = of_the_list(Counter(pair for _, pair in turned), right, ages)
    return tuple(item for item, pair in turned if pair not in listed)
