"""Which way up a bed lies of which nothing was said, by the limb that it belongs to."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from traverse.location.records import Survey
from traverse.log.items import ContactKind, HowMet
from traverse.log.records import Log
from traverse.settled import SAME_M, least, settled
from traverse.structure.readings.directions import pole_angle
from traverse.structure.readings.place_errors import place_vector
from traverse.structure.readings.records import Attitude, PlacedContact, PlaneAttitude, bedding
from traverse.structure.walk.neighbours import Neighbours
from traverse.structure.walk.order import WalkOrder
from traverse.structure.walk.records import BandStretch
from traverse.structure.walk.sides import younger_side
from traverse.trade import ALIKE_DEG


class LimbEnds(NamedTuple):
    """Where a run of beds that lie alike and whose way-up is open ends, before a bed of it and after."""

    known: tuple[int, ...]
    """The beds there of which it is said and that lie as it does; once where one stands at both ends of a loop."""
    every: int
    """How many ends there are, those too where the next bed lies as one of another limb does."""


def limb_ends(near: Neighbours) -> list[LimbEnds]:
    """Of each bed whose way-up is open, the ends of its run; empty of others, and where no bed is left either way."""
    before = _known_next(near, range(len(near.beds)))
    after = _known_next(near, range(len(near.beds) - 1, -1, -1))
    found = []
    for index, bed in enumerate(near.beds):
        ends = list(dict.fromkeys(one for one in (before[index], after[index]) if one is not None))
        known = [one.bed for one in ends if one.bed is not None and alike(near, index, one.bed)]
        found.append(LimbEnds(tuple(known), len(ends)) if bed.upside_down is None else LimbEnds((), 0))
    return found


class _KnownNext(NamedTuple):
    """Where a run ends one way."""

    bed: int | None
    """The bed of which it is said; None where the next lies as those of another limb do."""


def _known_next(near: Neighbours, order: Sequence[int]) -> list[_KnownNext | None]:
    """Of each bed where its run ends toward the beds that come before it in an order of all; None where no bed is left."""
    found: list[_KnownNext | None] = [None] * len(near.beds)
    step = 1 if len(order) < 2 else order[1] - order[0]
    for index in order:
        beside = near.next_to(index)
        last = next((one for one in beside if (one - index) * step < 0), None)
        if last is None and step > 0 and (end := near.closing(index)) is not None:
            # Where a loop begins, the bed before is its last.
            if not alike(near, index, end):
                found[index] = _KnownNext(None)
            elif near.beds[end].upside_down is not None:
                found[index] = _KnownNext(end)
        if last is None:
            continue
        if not alike(near, index, last):
            found[index] = _KnownNext(None)
        else:
            found[index] = found[last] if near.beds[last].upside_down is None else _KnownNext(last)
    return found


def alike(near: Neighbours, one: int, other: int) -> bool:
    """Whether two beds agree."""
    return pole_angle(near.poles[one], near.poles[other]) <= ALIKE_DEG


def lying_as_their_limb(
    log: Log,
    survey: Survey,
    attitudes: tuple[Attitude, ...],
    contacts: Sequence[PlacedContact],
    band: tuple[BandStretch, ...],
) -> tuple[Attitude, ...]:
    """The same, but beds whose way-up is open overturned where the nearer end of their run is so.

    Each of them would else be a fold of its own among overturned ones. One stays upright where the order of the units at the
    contacts next to it has it so.
    """
    beds = sorted(bedding(attitudes), key=lambda bed: bed.order)
    if not any(bed.upside_down for bed in beds) or all(bed.upside_down is not None for bed in beds):
        return attitudes
    near = Neighbours(beds, contacts, WalkOrder(log))
    younger = younger_side(log, survey, band)
    borders: dict[int, list[PlacedContact]] = defaultdict(list)
    for contact in contacts:
        if contact.kind is ContactKind.CONTACT and contact.met is HowMet.CROSSED:
            for index in near.beside(contact.order):
                borders[index].append(contact)

    def over(index: int, known: Sequence[int]) -> bool:
        here = place_vector(beds[index].place)
        nearest = least(
            known,
            key=lambda one: settled(math.dist(here.tolist(), place_vector(beds[one].place).tolist()), 3),
        )
        return nearest is not None and bool(beds[nearest].upside_down) and not upright(index)

    def upright(index: int) -> bool:
        way = math.radians(beds[index].dip_direction_deg - survey.frame.to_true_deg)
        down = np.array([math.sin(way), math.cos(way)])
        toward = [settled(float(younger(one)[:2] @ down)) for one in borders[index]]
        return bool(toward) and min(toward) > SAME_M

    turned = {beds[index].span for index, ends in enumerate(limb_ends(near)) if over(index, ends.known)}
    return tuple(
        replace(one, as_limb_over=True) if isinstance(one, PlaneAttitude) and one.span in turned else one
        for one in attitudes
    )
