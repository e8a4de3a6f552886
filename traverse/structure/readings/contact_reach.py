"""How near a contact is placed along the walk: by what was written, and by what hides it."""

from __future__ import annotations

import math
from collections import defaultdict
from itertools import chain
from typing import NamedTuple

from traverse.location.records import PlacedAddress, Survey
from traverse.log.items import (
    Apparent,
    Certainty,
    Contact,
    HowMet,
    Lines,
    Planes,
    UnitHere,
    WayUp,
    Words,
    WordsKind,
)
from traverse.log.records import Log
from traverse.settled import SAME_M, settled
from traverse.trade import APPROXIMATE_SD_M, INFERRED_SD_M


class ContactReach(NamedTuple):
    """How far along the walk a contact may lie from where it is drawn."""

    sd_m: float
    half_m: float | None = None
    """Half the stretch that it lies in, or its ± as noted; None where neither is known."""


_HIDDEN = frozenset({Certainty.INFERRED, Certainty.CONCEALED})
_Stretch = tuple[float, float]


class ContactReaches:
    """What was covered and what was seen on each leg.

    A ± as noted counts before all else. Without one a contact is anywhere in the stretch that it was booked under; a
    hidden one at a point anywhere in the cover about it; a concealed one without a cover anywhere up to the next places
    where rock was seen. What is approximate or inferred at a point is good to a figure of the trade, or to those places
    where they are nearer.
    """

    def __init__(self, log: Log, survey: Survey) -> None:
        self._lengths = [leg.ground_m for leg in survey.legs]
        self._covers: dict[int, list[_Stretch]] = defaultdict(list)
        self._seen: dict[int, list[tuple[float, int]]] = defaultdict(list)
        """Shares at which rock was seen, with the index of the address."""
        self._legs: dict[str, list[tuple[int, float]]] = defaultdict(list)
        """Of each station its legs, with the share at which it stands."""
        for walked in log.legs:
            self._legs[walked.start].append((walked.index, 0.0))
            self._legs[walked.end].append((walked.index, 1.0))
        for address in log.addresses:
            place = survey.at(address)
            if address.covered and address.leg is not None and place is not None:
                self._covers[address.leg.index].append(_stretch(place))
        for item in log.items:
            if isinstance(item, UnitHere | Planes | Apparent | Lines | WayUp) or (
                isinstance(item, Words) and item.kind is WordsKind.ROCK
            ):
                leg, place = item.address.leg, survey.at(item.address)
                if leg is not None and item.address.station is None and place is not None:
                    self._seen[leg.index] += [(share, item.address.index) for share in _stretch(place)]

    def of(self, contact: Contact, place: PlacedAddress) -> ContactReach:
        """Of a contact at its place, with what the count along its leg was rounded by."""
        reach = self._by_words(contact, place)
        rounded = self._rounded_m(contact, place)
        return reach._replace(sd_m=settled(math.hypot(reach.sd_m, rounded))) if rounded else reach

    def _by_words(self, contact: Contact, place: PlacedAddress) -> ContactReach:
        if contact.sd_m is not None:
            return ContactReach(contact.sd_m, contact.sd_m)
        if contact.met is HowMet.CROSSED and place.half_width_m is not None:
            return ContactReach(settled(place.half_width_m / math.sqrt(3.0)), place.half_width_m)
        certainty = contact.certainty
        if certainty is None or certainty is Certainty.CERTAIN:
            return ContactReach(0.0)
        if certainty in _HIDDEN and (cover := self._cover(place)) is not None:
            return _uniform(*cover)
        gap = self._gap(place)
        if certainty is Certainty.CONCEALED and gap is not None:
            return _uniform(*gap)
        most = APPROXIMATE_SD_M if certainty is Certainty.APPROXIMATE else INFERRED_SD_M
        return ContactReach(most if gap is None else min(most, _uniform(*gap).sd_m))

    def _cover(self, place: PlacedAddress) -> _Stretch | None:
        """How far the cover about a place goes back and on, metres; None on open ground."""
        if place.address.station is not None:
            reach = [
                (high - low) * self._lengths[leg]
                for leg, share in self._legs[place.address.station]
                for low, high in self._covers[leg]
                if self._near(leg, share, low) or self._near(leg, share, high)
            ]
            reach.sort()
            return None if not reach else (reach[-1], reach[-2] if len(reach) > 1 else 0.0)
        if place.address.leg is None or place.start_share is None:
            return None
        leg, at = place.address.leg.index, sum(_stretch(place)) / 2.0
        length = self._lengths[leg]
        return next(
            (
                ((at - low) * length, (high - at) * length)
                for low, high in self._covers[leg]
                if low < at < high or self._near(leg, at, low) or self._near(leg, at, high)
            ),
            None,
        )

    def _gap(self, place: PlacedAddress) -> _Stretch | None:
        """How far back and on the next places of its leg lie where rock was seen; None at a station."""
        if place.address.leg is None or place.address.station is not None or place.start_share is None:
            return None
        leg, at = place.address.leg.index, sum(_stretch(place)) / 2.0
        seen = [share for share, index in self._seen[leg] if index != place.address.index]
        before = max(chain((share for share in seen if share <= at), (0.0,)))
        after = min(chain((share for share in seen if share >= at), (1.0,)))
        return (at - before) * self._lengths[leg], (after - at) * self._lengths[leg]

    def _rounded_m(self, contact: Contact, place: PlacedAddress) -> float:
        """Standard error that the rounding of a count of paces leaves, metres; 0 at a station or by tape.

        Source: a figure given to a step d is off by d / sqrt(12): JCGM 100:2008 (Guide to the expression of uncertainty
        in measurement), F.2.2.1, from memory.
        """
        count, leg = contact.address.start, contact.address.leg
        if count is None or leg is None or leg.conditions.pace is None or not count.unit.is_pace:
            return 0.0
        if count.value:
            pace_m = (place.start_share or 0.0) * self._lengths[leg.index] / count.value
        elif (whole := leg.distance) is not None and whole.unit.is_pace and whole.value:
            # No pace from the station is a count as well: less than half a pace.
            pace_m = self._lengths[leg.index] / whole.value
        else:
            return 0.0
        step = 1.0 if count.value == round(count.value) else 0.5
        return pace_m * step / math.sqrt(12.0)

    def _near(self, leg: int, one: float, other: float) -> bool:
        return abs(one - other) * self._lengths[leg] < SAME_M


def _stretch(place: PlacedAddress) -> _Stretch:
    first = place.start_share or 0.0
    return first, first if place.end_share is None else place.end_share


def _uniform(back_m: float, on_m: float) -> ContactReach:
    """Anywhere between: root mean square distance from the place itself, which need not be the middle."""
    whole = back_m + on_m
    if whole <= 0.0:
        return ContactReach(0.0, 0.0)
    return ContactReach(settled(math.sqrt((back_m**3 + on_m**3) / (3.0 * whole))), settled(whole / 2.0))
