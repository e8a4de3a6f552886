"""What in the words of a log gives away what a handout asks for; every text of the user that a blank prints is asked here."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from enum import Enum

from traverse.log.items import ContactKind, LineKind, PlaneKind
from traverse.log.records import Log
from traverse.sheet.signs.colour import CHART
from traverse.wording import LOOK_ALIKES

_STRUCTURE_WORDS = """
    anticline anticlinal antiform axes axial axis dip dipping dome downthrow downthrown duplex dyke fissile fold folded folding footwall gouge graben hade hangingwall heave homocline horst inlier
    intrusion intrusive inverted isocline klippe limb monocline nappe outlier overturned palaeocurrent
    paleocurrent plunge plunging recumbent schistosity shear sheared sill slickenline slickenside stratum strata
    stria striae strike striking syncline synclinal synform throw thrown thrust transcurrent upthrow upthrown vergence wrench
"""
"""Beside the words of the notation for planes, lines and contacts."""
_ROCKS_WORDS = """
    agglomerate amphibolite andesite anhydrite arkose basalt breccia chalk chert coal conglomerate dacite
    diorite dolerite dolomite dolostone eclogite evaporite flint gabbro gneiss granite granodiorite
    greywacke grit gypsum halite hornfels ignimbrite ironstone lava limestone marble marl migmatite mudstone
    mylonite obsidian pegmatite peridotite phyllite porphyry pumice quartzite rhyolite sandstone schist
    serpentinite shale siltstone slate syenite tillite trachyte travertine tuff turbidite
"""
_GROUND = frozenset(
    ("beck", "brook", "burn", "creek", "dale", "hill", "river", "stream", "valley", "wash", "water")
)
"""Ground that units and places alike are called by; it tells nothing."""
_DANGERS = frozenset(("alluvium", "boulder", "clay", "current", "gravel", "loess", "moraine", "till"))
"""What is a danger before it is a rock or a reading."""
_COUNTING_WORDS = """
    a afternoon and april august autumn back class course day days december evening february first fourth friday group
    groups january july june loop loops march may monday morning november october of on part parties party round
    saturday second section september spring stop stops summer sunday term the third thursday to trip tuesday visit
    walk walks wednesday week weeks winter year
"""
_COUNTING = frozenset(_COUNTING_WORDS.split())
_BEARING_DIGITS = 3
_LATIN = str.maketrans(LOOK_ALIKES)
_HYPHENS = "-\u2010\u2011"
_HYPHENED = re.compile(rf"[^\W_]+(?:[{_HYPHENS}][^\W_]+)+")
_ENDINGS = (
    ("ation", ("ate", "ated", "ating")),
    ("age", ("e", "ed", "ing")),
    ("ity", ("able", "ably")),
    ("e", ("ed", "ing")),
)
"""What a word ends in, and what its kin ends in instead."""


def _kin(word: str) -> set[str]:
    """The word with what English makes of it: `striated` of a striation, `bedded` of a bed."""
    for ending, others in _ENDINGS:
        if word.endswith(ending):
            return {word, *(word.removesuffix(ending) + other for other in others)}
    # After a short vowel the last letter is written twice; elsewhere that is no word and does no harm.
    return {word, *(stem + end for stem in (word, word + word[-1]) for end in ("ed", "ing"))}


_KINDS: tuple[type[Enum], ...] = (PlaneKind, LineKind, ContactKind)
_STRUCTURE = frozenset(_STRUCTURE_WORDS.split()).union(*(_kin(one.value) for kind in _KINDS for one in kind))
_ROCKS = frozenset(_ROCKS_WORDS.split())
_ATTITUDE = re.compile(
    r"(?<![\d/.])(?:\d{3}\s*°?\s*/\s*\d{1,2}|\d{1,2}\s*°?\s*/\s*\d{3}|\d{1,3}\s*°?\s*(?:->|→)\s*\d{1,3})(?![\d/.])|"
    r"\b[NS]\s?\d{1,2}\s?°?\s?[EW]\s?/|"
    r"\b\d{1,2}\s?°?\s?(?:to|toward|towards)\s(?:the\s)?(?:\d{3}\b|[NSEW]{1,3}\b)|"
    r"\b[0-3]\d{2}\s?°?\sat\s\d{1,2}\b(?![:.]\d|\s?(?:[ap]\.?m|h|o'clock)\b)|\b\d{1,2}\s?°?\sat\s[0-3]\d{2}\b"
)
"""A plane or a line in figures, however the party writes it."""


def tells(words: str, log: Log, *, names: bool = True, dangers: bool = True) -> str | None:
    """The first of the words that gives an answer away, as it reads there; None where none does.

    That is an attitude, the letters of a unit or what others call it, a word of its name or age (of those longer than
    three letters), and any word of structure or for a rock, be it in letters that look alike or with a
    hyphen in it. Units are often called by the places where they crop out, so a name of a place is taken out by what it
    says without `names`. Without `dangers` gravel, a current and the like tell nothing.
    """
    words = _as_read(words)
    found = _ATTITUDE.search(words)
    if found is not None:
        return found.group()
    letters = {one for unit in log.units for one in (unit.letters, *unit.also) if len(one) > 1}
    for one in sorted(letters, key=len, reverse=True):
        if re.search(rf"(?<![^\W_]){re.escape(_as_read(one))}(?![^\W_])", words):
            return one
    told = _STRUCTURE | _ROCKS | _DANGERS
    named = {
        form
        for unit in log.units
        for word in _words(_as_read(f"{unit.name} {unit.age or ''}"))
        if len(word) > 3
        for form in _forms(word)
    } - _GROUND
    if not dangers:
        told -= _DANGERS
        named -= {form for word in _DANGERS for form in _forms(word)}
    for word in (*_words(words), *_hyphened(words)):
        forms = _forms(word)
        if forms & told or (names and forms & named) or any(form in CHART for form in forms):
            return word
    return None


def counts_days(words: str) -> bool:
    """Whether some words tell which day, loop or party it is and nothing else: `day 1`, `stops 1 to 8 and back`."""
    return all(
        word.casefold() in _COUNTING or len(word) == 1 or (word.isdigit() and len(word) != _BEARING_DIGITS)
        for word in _words(words)
    )


def _as_read(text: str) -> str:
    """A text as it looks on paper: what nobody sees left out, and letters that look like Latin ones taken for these."""
    whole = unicodedata.normalize("NFKC", text)
    return "".join(one for one in whole if unicodedata.category(one) != "Cf").translate(_LATIN)


def _words(text: str) -> Iterator[str]:
    return (found.group() for found in re.finditer(r"[^\W_]+", text))


def _hyphened(text: str) -> Iterator[str]:
    """Words that a hyphen parts, as one."""
    return (re.sub(f"[{_HYPHENS}]", "", found.group()) for found in _HYPHENED.finditer(text))


def _forms(word: str) -> set[str]:
    """The word without regard to case, and what it may be the plural of."""
    low = word.casefold()
    return {low, low.removesuffix("s"), low.removesuffix("es")} | (
        {low.removesuffix("ies") + "y"} if low.endswith("ies") else set()
    )
