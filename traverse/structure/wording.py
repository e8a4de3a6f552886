"""Words that sentences of the structure are put together from."""

from __future__ import annotations

from collections.abc import Sequence


def article(word: str) -> str:
    """A noun with its article."""
    return f"an {word}" if word[0] in "aeiou" else f"a {word}"


def listed(names: Sequence[str]) -> str:
    """Names as a list in a sentence."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
