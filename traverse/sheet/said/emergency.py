"""What must be known before help can be called, in words; what the log leaves open is written in by hand."""

from __future__ import annotations

from collections.abc import Sequence
from types import MappingProxyType
from typing import Final

from traverse.log.records import Emergency, Help
from traverse.record import record
from traverse.sheet.paper.words import plain

_NAMES: Final = MappingProxyType(
    {
        Help.CALL: "Emergency number",
        Help.MEET: "Meeting point",
        Help.ROAD: "Nearest road",
        Help.RADIO: "Radio or satellite",
        Help.BACK: "Turn back by",
    }
)
_MEET_AND_ROAD = "Meeting point, nearest road"
"""One line for both where the log says neither."""


@record(frozen=True, slots=True, kw_only=True)
class Call:
    """One line: what it is for, and what the log says of it."""

    name: str
    words: str = ""
    """Empty where it is to be filled in."""


def calls(said: Sequence[Emergency]) -> tuple[Call, ...]:
    """A line for each thing, said or not."""
    words = {one.kind: plain(one.words) for one in said}
    both = not words.keys() & {Help.MEET, Help.ROAD}
    found = []
    for kind, name in _NAMES.items():
        if both and kind is Help.MEET:
            found.append(Call(name=_MEET_AND_ROAD))
        elif not (both and kind is Help.ROAD):
            found.append(Call(name=name, words=words.get(kind, "")))
    return tuple(found)


NOTHING_SAID: Final = calls(())
"""All lines open."""


def emergency_sentences(said: Sequence[Emergency]) -> tuple[str, ...]:
    """`Emergency number: 112.` and so on, of what the log says."""
    return tuple(f"{one.name}: {one.words.rstrip(' .')}." for one in calls(said) if one.words)
