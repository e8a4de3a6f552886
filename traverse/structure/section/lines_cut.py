"""Contacts beside the walk, or followed along it, where a section cuts them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

from traverse.settled import settled
from traverse.structure.readings.records import PlacedContact
from traverse.structure.section.carry import LineOfSection
from traverse.structure.walk.records import ContactLine

_Point = tuple[float, float, float]


class CutContact(NamedTuple):
    """A contact where a section cuts its line."""

    contact: PlacedContact
    """With the place of the cut for its own."""
    toward_younger: tuple[float, float]
    """East and north; zero where nobody saw on which side the younger unit lies."""


def cut_contacts(line: LineOfSection, lines: Sequence[ContactLine]) -> tuple[CutContact, ...]:
    """Every place where a section cuts a line that was followed, or that joins places beside the walk."""
    return tuple(found for one in lines for found in _cuts(line, one))


def _cuts(line: LineOfSection, of: ContactLine) -> Iterator[CutContact]:
    points = [
        (part.contact, point)
        for part in of.parts
        for point in (*part.points, *([part.corner] if part.corner else []))
    ]
    for (contact, first), (_, second) in pairwise(points):
        for start, end in pairwise(line.points.tolist()):
            at = _meet(first, second, start, end)
            if at is None:
                continue
            east, north, up = at
            place = contact.place
            above = None if place.up_m is None else settled(place.up_m + up - place.relative_up_m)
            here = replace(place, east_m=east, north_m=north, relative_up_m=up, up_m=above)
            sense = (of.left == contact.younger) - (of.right == contact.younger)
            if contact.younger is None:
                sense = 0
            left = (-(second[1] - first[1]) * sense, (second[0] - first[0]) * sense)
            yield CutContact(replace(contact, place=here), left)


def _meet(first: _Point, second: _Point, start: Sequence[float], end: Sequence[float]) -> _Point | None:
    """Where a piece of a contact crosses a stretch of the section; its last end is the first of the next piece."""
    way = (second[0] - first[0], second[1] - first[1])
    line = (end[0] - start[0], end[1] - start[1])
    apart = (start[0] - first[0], start[1] - first[1])
    across = way[0] * line[1] - way[1] * line[0]
    if abs(across) < 1e-9:
        return None
    share = settled((apart[0] * line[1] - apart[1] * line[0]) / across, 9)
    along = settled((apart[0] * way[1] - apart[1] * way[0]) / across, 9)
    if not (0.0 <= share < 1.0 and 0.0 <= along <= 1.0):
        return None
    east, north, up = (settled(a + share * (b - a)) for a, b in zip(first, second, strict=True))
    return east, north, up
