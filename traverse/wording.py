"""How words are put together in a sentence."""

from __future__ import annotations

from collections.abc import Sequence


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
