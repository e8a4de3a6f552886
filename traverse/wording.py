"""How words are put together in a sentence."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import PurePath

LOOK_ALIKES = {
    **dict(zip("АВЕЅІЈКМНОРСТХаеорсухіјѕԁԛԝ", "ABESIJKMHOPCTXaeopcyxijsdqw", strict=True)),
    **dict(zip("ΑΒΕΖΗΙΚΜΝΟΡΤΥΧαικνορυχ", "ABEZHIKMNOPTYXaikvopux", strict=True)),
}
"""Letters of other scripts by the Latin ones that they are drawn as (after Unicode's list of confusable characters, from memory)."""


def article(word: str) -> str:
    """A noun with its article."""
    return f"an {word}" if word[0] in "aeiou" else f"a {word}"


def capital(words: str) -> str:
    """As they begin a sentence."""
    return words[:1].upper() + words[1:]


def section_name(name: str) -> str:
    """The name of a section as it is printed, with a dash and primes for the marks it is typed with.

    >>> section_name("A-A'"), section_name("North")
    ('A–A′', 'North')
    """
    return name.replace("-", "–").replace("'", "′")


def listed(names: Sequence[str], *, last: str = "and") -> str:
    """Names as a list in a sentence, the last one after `and` or another word.

    >>> listed(["3", "8", "12"]), listed(["3"]), listed([]), listed(["E", "W"], last="or")
    ('3, 8 and 12', '3', '', 'E or W')
    """
    return "".join(names) if len(names) < 2 else f"{', '.join(names[:-1])} {last} {names[-1]}"


def told_apart(paths: Sequence[str]) -> list[str]:
    """Logs by the names of their files, with no more folders before them than tell them apart.

    >>> told_apart(["camp/day.trav", "north/a/walk.trav", "south/a/walk.trav", "walk.trav"])
    ['day', 'north/a/walk', 'south/a/walk', 'walk']
    """
    parts = [PurePath(path.removesuffix(".trav")).parts or (path,) for path in paths]
    found: dict[int, str] = {}
    for depth in range(1, max(map(len, parts), default=0) + 1):
        names = ["/".join(one[-depth:]) for one in parts]
        times = Counter(names)
        for place, name in enumerate(names):
            if times[name] == 1 or len(parts[place]) <= depth:
                found.setdefault(place, name)
    return [found[place] for place in range(len(parts))]
