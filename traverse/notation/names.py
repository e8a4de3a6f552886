"""Names of stations and landmarks."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from traverse.diagnostic import Label
from traverse.notation.draft import Draft, Mistake
from traverse.notation.guess import LONGEST_NAME, lookalike
from traverse.notation.text import shortened
from traverse.source import Span

if TYPE_CHECKING:
    from lark import Token


def check_name(draft: Draft, token: Token) -> str:
    """A name of a station or landmark, by its shape."""
    text = str(token)
    if len(text) > LONGEST_NAME:
        raise Mistake(
            "name",
            f"`{shortened(text)}` is too long for a name",
            draft.span(token),
            f"at most {LONGEST_NAME} characters",
        )
    good = text[0].isalnum() and text[-1] not in ".-" and (text.isalnum() or _NAME.match(text))
    if not good:
        span = draft.span(token)
        cleaned = re.sub(r"[^\w.'-]+", "-", text).strip("-.'_") or "7a"
        raise Mistake(
            "name",
            f"`{shortened(text)}` is no name",
            span,
            f"one word of letters and figures, such as `{shortened(cleaned)}`",
        )
    return text


_NAME = re.compile(r"(?:[^\W_]|[\u0300-\u036f])(?:\w|[.'\u0300-\u036f-])*$")


def known_name(draft: Draft, name: str, span: Span) -> None:
    """Keep a new name; refuse one that looks like another."""
    looks = lookalike(name)
    other = draft.places.setdefault(looks, name)
    if other != name and (looks, name) not in draft.told:
        draft.told.add((looks, name))
        draft.told.add((looks, other))
        where = draft.stations.get(other)
        raise Mistake(
            "nearly-one-name",
            f"{shortened(name)} and {shortened(other)}: one place or two",
            span,
            f"write `{shortened(other)}` if it is the same place, else a name that differs more",
            labels=(Label(where, f"{shortened(other)} is here"),) if where else (),
        )
