"""Units whose rock is laid down in beds, by its name: none is a body that cuts others."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Sequence

from traverse.log.items import Item, UnitHere, Words, WordsKind
from traverse.log.records import RockUnit

_LAID = re.compile(
    r"(?:anhydrite|argillite|arkose|ash|chalk|chert|clay|claystone|coal|conglomerate|dolomite|dolostone|flagstone|greensand|"
    r"greywacke|graywacke|grit|gritstone|gypsum|halite|ironstone|lignite|limestone|loess|marble|marl|marlstone|mudstone|oolite|"
    r"phyllite|quartzite|salt|sand|sandstone|schist|shale|silt|siltstone|slate|till|tillite|tuff|turbidite)s?"
)
"""Sediments, and what becomes of them; common practice, no source."""
_OTHER = re.compile(
    r"(?:amphibolite|andesite|aplite|basalt|batholith|breccia|dacite|diabase|dike|diorite|dolerite|dyke|felsite|gabbro|granite|"
    r"granodiorite|intrusion|laccolith|lamprophyre|lava|monzonite|pegmatite|peridotite|phonolite|plug|pluton|porphyry|rhyolite|"
    r"serpentinite|sill|stock|syenite|tonalite|trachyte|vein)s?"
)
"""Rocks that bodies are made of, and words for bodies: a sandstone dike is one."""
_PHRASES_END = re.compile(
    r"[,;:()/&+]|\b(?:and|at|baked|beside|cut|from|grading|in|interbedded|of|on|or|over|passing|to|under|with)\b"
)
_WORD = re.compile(r"[^\W\d_]+")


def is_laid_down(words: str) -> bool | None:
    """Whether the first rock that words name is laid down in beds, None where they name none; within a phrase the rock stands last.

    >>> [is_laid_down(one) for one in ("Mere Marl", "grey shale, baked by a dike", "Chalk Hill Granite", "Sandstone Dike", "Mere Beds")]
    [True, True, False, False, None]
    """
    for phrase in _PHRASES_END.split(words.casefold()):
        for word in reversed(_WORD.findall(phrase)):
            if _OTHER.fullmatch(word):
                return False
            if _LAID.fullmatch(word):
                return True
    return None


def laid_down_units(units: Iterable[RockUnit], items: Sequence[Item]) -> frozenset[str]:
    """Letters of units that are laid down by their names, or else by the words of rock at a place where one alone is said to be."""
    by_name = {unit.letters: is_laid_down(unit.name) for unit in units}
    said: dict[int, set[str]] = defaultdict(set)
    for item in items:
        if isinstance(item, UnitHere):
            said[item.address.index].add(item.letters)
    found = {letters for letters, laid in by_name.items() if laid}
    for item in items:
        here = said.get(item.address.index, set()) if isinstance(item, Words) else set()
        if isinstance(item, Words) and item.kind is WordsKind.ROCK and len(here) == 1:
            found |= {one for one in here if by_name.get(one) is None and is_laid_down(item.text)}
    return frozenset(found)
