"""Two walks laid along each other by the way from stop to stop: which stations are the same where the numbers are not.

One wrong leg breaks one link of such a chain and moves every place after it; so links are counted, not places.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from traverse.adjustment.records import Flags, Floats
from traverse.record import record
from traverse.settled import first_least, settled_all
from traverse.trade import LEG_APART_M

_WAY_SHARE = 0.12
"""Two parties come to differ by this share of a way at most, or by `LEG_APART_M`; common practice, no source."""
_SKIPPED = 3
"""A party passes over two stops of the other's at most between two that both made."""
_LINK, _SKIP = 1.0, 0.1
"""What an agreeing link is worth, and what each stop passed over costs."""


@record(frozen=True, slots=True, kw_only=True)
class Chain:
    """Stations of one walk by those of another, in walking order."""

    pairs: tuple[tuple[str, str], ...]
    links: int
    """Ways between two that follow each other which are the same on both walks."""
    backward: bool
    """Whether one went the other way round."""


def links_alike(
    ours: Mapping[str, tuple[float, float]],
    theirs: Mapping[str, tuple[float, float]],
    pairs: Sequence[tuple[str, str]],
) -> int:
    """How many ways between pairs that follow each other are the same on both walks."""
    if len(pairs) < 2:
        return 0
    mine = np.diff(np.array([ours[one] for one, _ in pairs]), axis=0)
    other = np.diff(np.array([theirs[of] for _, of in pairs]), axis=0)
    return int(_alike(mine, other).sum())


def longest_chain(
    ours: Mapping[str, tuple[float, float]], theirs: Mapping[str, tuple[float, float]]
) -> Chain:
    """The pairing with most ways in common, of the other walk as it went and the other way round, from any stop of it.

    Places in one orientation, metres, in walking order.
    """
    forward, backward = list(theirs), list(theirs)[::-1]
    chains = [_chain(ours, theirs, names * 2, backward=names is backward) for names in (forward, backward)]
    same_start = [bool(one.pairs) and one.pairs[0] == (next(iter(ours)), forward[0]) for one in chains]
    # Of two that do as well, one that begins where the other walk began, and went as it did.
    return max(
        zip(chains, same_start, strict=True),
        key=lambda one: (one[0].links, len(one[0].pairs), one[1], not one[0].backward),
    )[0]


def grown(
    ours: Mapping[str, tuple[float, float]],
    theirs: Mapping[str, tuple[float, float]],
    pairs: Sequence[tuple[str, str]],
    legs: Sequence[tuple[str, str]],
) -> tuple[tuple[str, str], ...]:
    """Pairs with what is reached from them over `legs` of ours that lead to a free stop of the other walk, whatever its order.

    A leg that leads to none, or is wrong, is gone no farther over.
    """
    beside: dict[str, list[str]] = {}
    for start, end in legs:
        if start in ours and end in ours:
            beside.setdefault(start, []).append(end)
            beside.setdefault(end, []).append(start)
    found, names = dict(pairs), list(theirs)
    there = np.array([theirs[name] for name in names]).reshape(-1, 2)
    free = np.array([name not in set(found.values()) for name in names])
    at = {name: index for index, name in enumerate(names)}
    queue = list(found)
    for here in queue:
        for beyond in beside.get(here, ()):
            if beyond in found:
                continue
            way, ways = np.subtract(ours[beyond], ours[here]), there - there[at[found[here]]]
            off = np.where(free & _alike(way, ways), np.hypot(*(ways - way).T), np.inf)
            nearest = first_least(off)
            if np.isfinite(off[nearest]):
                found[beyond] = names[nearest]
                free[nearest] = False
                queue.append(beyond)
    return tuple(found.items())


def _alike(one: Floats, other: Floats) -> Flags:
    """Whether ways (…, 2) are the same within what two parties come to differ by."""
    apart = settled_all(np.hypot(*np.moveaxis(one - other, -1, 0)), 3)
    within: Flags = apart <= np.maximum(LEG_APART_M, _WAY_SHARE * np.hypot(*np.moveaxis(other, -1, 0)))
    return within


def _chain(
    ours: Mapping[str, tuple[float, float]],
    theirs: Mapping[str, tuple[float, float]],
    names: Sequence[str],
    *,
    backward: bool,
) -> Chain:
    """By dynamic programming over both walks: the best chain that ends at each pair, then back along the best of all."""
    mine, at = list(ours), {name: index for index, name in enumerate(theirs)}
    here, there = np.array(list(ours.values())), np.array([theirs[name] for name in names])
    best = np.zeros((len(mine), len(names)))
    came = np.zeros((len(mine), len(names), 2), dtype=np.intp)
    for i in range(1, len(mine)):
        for di in range(1, min(i, _SKIPPED) + 1):
            for dj in range(1, min(len(names) - 1, _SKIPPED) + 1):
                agree = _alike(here[i] - here[i - di], there[dj:] - there[:-dj])
                if di == dj == 1:
                    gain = np.where(agree, _LINK, 0.0)  # a wrong leg is passed over
                else:
                    gain = np.where(agree, _LINK - _SKIP * (di + dj - 2), -np.inf)
                score = settled_all(best[i - di, :-dj] + gain, 6)
                # A chain goes on only from where it has something, or where this is its first link.
                better = score > best[i, dj:] + 1e-6
                best[i, dj:] = np.where(better, score, best[i, dj:])
                came[i, dj:][better] = (di, dj)
    i, j = (int(one) for one in np.unravel_index(int(np.argmax(best)), best.shape))
    pairs = [(i, j)]
    while came[i, j].any():
        i, j = i - int(came[i, j, 0]), j - int(came[i, j, 1])
        pairs.append((i, j))
    found: list[tuple[str, str]] = []
    used: set[int] = set()
    for i, j in reversed(pairs):
        if at[names[j]] not in used:
            used.add(at[names[j]])
            found.append((mine[i], names[j]))
    return Chain(pairs=tuple(found), links=links_alike(ours, theirs, found), backward=backward)
