"""The one reading of an age: which names of the international chart stand in it, and what span they cover."""

from __future__ import annotations

import re
from difflib import get_close_matches
from functools import lru_cache

from traverse.record import record

_CHART = (
    ("Quaternary", "Holocene Pleistocene"),
    ("Neogene", "Pliocene Miocene"),
    ("Paleogene", "Oligocene Eocene Paleocene"),
    ("Cretaceous", ""),
    ("Jurassic", ""),
    ("Triassic", ""),
    ("Permian", "Lopingian Guadalupian Cisuralian"),
    ("Carboniferous", "Pennsylvanian Mississippian"),
    ("Devonian", ""),
    ("Silurian", "Pridoli Ludlow Wenlock Llandovery"),
    ("Ordovician", ""),
    ("Cambrian", "Furongian Miaolingian Terreneuvian"),
    ("Ediacaran", ""),
    ("Cryogenian", ""),
    ("Tonian", ""),
    ("Stenian", ""),
    ("Ectasian", ""),
    ("Calymmian", ""),
    ("Statherian", ""),
    ("Orosirian", ""),
    ("Rhyacian", ""),
    ("Siderian", ""),
    ("Archean", ""),
    ("Hadean", ""),
)
"""Periods, youngest first, with those of their epochs that have names of their own; the oldest two are eons.

Source: International Commission on Stratigraphy, International Chronostratigraphic Chart, from memory.
"""

_SPELLINGS = (
    ("palaeo", "paleo"),
    ("archaean", "archean"),
    ("pre-cambrian", "precambrian"),
    ("quarternary", "quaternary"),
    ("post-glacial", "holocene"),
    ("postglacial", "holocene"),
    ("post-pleistocene", "holocene"),
)
_PARTS = {"upper": 0, "late": 0, "middle": 1, "mid": 1, "lower": 2, "early": 2}
_PART_NAMES = ("upper", "middle", "lower")
_OTHER_NAMES = {"recent": "holocene", "modern": "holocene", "q": "quaternary"}
"""Names that are not the chart's and mean one of it: `Recent` is the older word, Q the letter on maps."""
_FIRST_HALVES = {
    "plio": "pliocene",
    "mio": "miocene",
    "oligo": "oligocene",
    "permo": "permian",
    "siluro": "silurian",
    "cambro": "cambrian",
}
"""First halves of a double name, such as Plio-Pleistocene."""
_JOINED = frozenset({"to", "and", "or", "through", "until", "possibly", "probably", "perhaps", "maybe"})
"""Words between two names that make one age of them; other words begin to speak of something else."""
_NOT_OF = frozenset({"pre", "post", "not", "than", "before", "after"})
"""Right before a name: the age is not that."""


def _spans() -> dict[str, tuple[int, int]]:
    """First and last of the steps of ten that a name covers, counted from the youngest."""
    spans: dict[str, tuple[int, int]] = {}
    for at, (period, epochs) in enumerate(_CHART):
        spans[period.lower()] = (at * 10, at * 10 + 9)
        names = epochs.lower().split()
        for step, epoch in enumerate(names):
            spans[epoch] = (at * 10 + step, at * 10 + step)

    def both(younger: str, older: str) -> tuple[int, int]:
        return (spans[younger][0], spans[older][1])

    spans["tertiary"] = both("neogene", "paleogene")
    spans["cenozoic"] = both("quaternary", "paleogene")
    spans["mesozoic"] = both("cretaceous", "triassic")
    spans["paleozoic"] = both("permian", "cambrian")
    spans["neoproterozoic"] = both("ediacaran", "tonian")
    spans["mesoproterozoic"] = both("stenian", "calymmian")
    spans["paleoproterozoic"] = both("statherian", "siderian")
    spans["proterozoic"] = both("ediacaran", "siderian")
    spans["precambrian"] = both("ediacaran", "hadean")
    return spans


_SPANS = _spans()


@record(frozen=True, slots=True, kw_only=True)
class Age:
    """An age as it was read."""

    name: str
    """The first name of the chart in it, lower case, such as `cretaceous`."""
    part: str | None
    """`upper`, `middle` or `lower` where one of them stands before the first name; None for none or several."""
    youngest: float
    oldest: float
    """Ends of all that it covers, in steps of ten a period from the present."""

    @property
    def middle(self) -> float:
        """Greater for older."""
        return (self.youngest + self.oldest) / 2.0

    def is_younger(self, other: Age) -> bool:
        """Whether it is younger than another that it does not overlap."""
        return self.oldest < other.youngest

    @property
    def quaternary(self) -> bool:
        """Whether all of it is of the Quaternary."""
        return self.oldest <= _SPANS["quaternary"][1]


@lru_cache(maxsize=1024)
def read_age(text: str | None) -> Age | None:
    """The age in a person's words, or None where no name of the chart stands in them.

    Capitals, brackets, commas and marks of doubt change nothing, and `Recent` is the Holocene. Names joined by a dash
    or by `to`, `and`, `or` are one age from the one to the other: Plio-Pleistocene begins before the Quaternary. What
    follows after other words is said of something else.

    >>> read_age("Pleistocene, terrace").quaternary, read_age("Plio-Pleistocene").quaternary
    (True, False)
    >>> read_age("late Cretaceous (marine)").name, read_age("Recently named"), read_age("pre-Quaternary")
    ('cretaceous', None, None)
    """
    folded = (text or "").casefold()
    for old, new in _SPELLINGS:
        folded = folded.replace(old, new)
    first: str | None = None
    first_part: str | None = None
    span: tuple[float, float] | None = None
    parts: list[int] = []
    joined, barred = True, False
    for word in re.findall(r"[^\W\d_]+", folded):
        name = _OTHER_NAMES.get(word, word)
        half = name in _FIRST_HALVES
        covered = _SPANS.get(_FIRST_HALVES.get(name, name))
        if name in _PARTS:
            parts.append(_PARTS[name])
        elif covered is None:
            barred = name in _NOT_OF
            if span is not None and not barred and name not in _JOINED:
                joined = False
        elif barred:
            barred, parts = False, []
        elif joined:
            here = _part_of(covered, parts)
            span = here if span is None else (min(span[0], here[0]), max(span[1], here[1]))
            if first is None and not half:
                first = name
                first_part = _PART_NAMES[parts[0]] if len(parts) == 1 else None
            parts = []
    if first is None or span is None:
        return None
    return Age(name=first, part=first_part, youngest=span[0], oldest=span[1])


_LIKE = 0.84
"""How like a name of the chart a misspelt one is, of 1; Tithonian and Tonian, which both are ages, are 0.8."""


def misspelt_age(text: str) -> tuple[str, str] | None:
    """A word that is nearly a name of the chart, as typed, and that name; None where an age can be read.

    >>> misspelt_age("Quaternery"), misspelt_age("lower Jurasic"), misspelt_age("Tithonian"), misspelt_age("Jurassic")
    (('Quaternery', 'Quaternary'), ('Jurasic', 'Jurassic'), None, None)
    """
    if read_age(text) is not None:
        return None
    for word in re.findall(r"[^\W\d_]{5,40}", text):
        near = get_close_matches(word.casefold(), _SPANS, n=1, cutoff=_LIKE)
        if near and not word.casefold().startswith(near[0]):
            return word, near[0].capitalize()
    return None


def _part_of(span: tuple[int, int], parts: list[int]) -> tuple[float, float]:
    """The thirds of a span that its parts name; all of it where they name none."""
    if not parts:
        return span
    third = (span[1] - span[0]) / 3.0
    return (span[0] + third * min(parts), span[0] + third * (max(parts) + 1))
