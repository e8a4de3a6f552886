"""Two walks laid along each other by the way from stop to stop: which stations are the same where the numbers are not.

One wrong leg breaks one link of such a chain and moves every place after it; so links are counted, not places.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

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
_AT_ONCE = 1_000_000
"""Pairs of stations that are weighed in one step, so that a long walk takes no more memory than this."""


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
    return int(ways_alike(mine, other).sum())


def longest_chain(
    ours: Mapping[str, tuple[float, float]], theirs: Mapping[str, tuple[float, float]]
) -> Chain:
    """The pairing with most ways in common, of the other walk as it went and the other way round, from any stop of it.

    Places in one orientation, metres, in walking order.
    """
    return longest_chains([ours], theirs)[0]


def longest_chains(
    walks: Sequence[Mapping[str, tuple[float, float]]], theirs: Mapping[str, tuple[float, float]]
) -> list[Chain]:
    """The longest chain of each of some walks, which are one walk turned or stretched: the same stations in one order."""
    forward, backward = list(theirs), list(theirs)[::-1]
    start = (next(iter(walks[0])), forward[0])
    many = max(1, _AT_ONCE // (2 * len(walks[0]) * len(theirs)))
    found: list[Chain] = []
    for at in range(0, len(walks), many):
        some = walks[at : at + many]
        both = zip(
            _chains(some, theirs, forward * 2, backward=False),
            _chains(some, theirs, backward * 2, backward=True),
            strict=True,
        )
        found += (max(two, key=lambda one: _rank(one, start)) for two in both)
    return found


def _rank(chain: Chain, start: tuple[str, str]) -> tuple[int, int, bool, bool]:
    """Of two chains that do as well, one that begins where the other walk began, and went as it did."""
    begins = bool(chain.pairs) and chain.pairs[0] == start
    return chain.links, len(chain.pairs), begins, not chain.backward


def grown(
    ours: Mapping[str, tuple[float, float]],
    theirs: Mapping[str, tuple[float, float]],
    pairs: Sequence[tuple[str, str]],
    legs: Sequence[tuple[str, str, tuple[float, float]]],
) -> tuple[tuple[str, str], ...]:
    """Pairs with what is reached from them over `legs` of ours that lead to a free stop of the other walk, whatever its order.

    A leg is its two stations and its way: that of one which closes a loop left open is not from place to place. A leg that
    leads to no stop, or is wrong, is gone no farther over.
    """
    beside: dict[str, list[tuple[str, Floats]]] = {}
    for start, end, vector in legs:
        if start in ours and end in ours:
            beside.setdefault(start, []).append((end, np.array(vector)))
            beside.setdefault(end, []).append((start, -np.array(vector)))
    found, names = dict(pairs), list(theirs)
    there = np.array([theirs[name] for name in names]).reshape(-1, 2)
    free = np.array([name not in set(found.values()) for name in names])
    at = {name: index for index, name in enumerate(names)}
    queue = list(found)
    for here in queue:
        for beyond, way in beside.get(here, ()):
            if beyond in found:
                continue
            ways = there - there[at[found[here]]]
            off = np.where(free & ways_alike(way, ways), np.hypot(*(ways - way).T), np.inf)
            nearest = first_least(off)
            if np.isfinite(off[nearest]):
                found[beyond] = names[nearest]
                free[nearest] = False
                queue.append(beyond)
    return tuple(found.items())


def ways_alike(one: Floats, other: Floats) -> Flags:
    """Whether ways (…, 2) are the same within what two parties come to differ by."""
    return _near(one - other, _within_m(other))


def _within_m(ways: Floats) -> Floats:
    """What two parties come to differ by over ways (…, 2)."""
    within: Floats = np.maximum(LEG_APART_M, _WAY_SHARE * np.hypot(ways[..., 0], ways[..., 1]))
    return within


def _near(apart: Floats, within_m: Floats) -> Flags:
    """Whether what two ways (…, 2) differ by is within so much."""
    near: Flags = settled_all(np.hypot(apart[..., 0], apart[..., 1]), 3) <= within_m
    return near


def _chains(
    walks: Sequence[Mapping[str, tuple[float, float]]],
    theirs: Mapping[str, tuple[float, float]],
    names: Sequence[str],
    *,
    backward: bool,
) -> list[Chain]:
    """By dynamic programming over two walks: the best chain that ends at each pair, then back along the best of all."""
    mine = list(walks[0])
    here = np.array([list(ours.values()) for ours in walks])  # (walks, stations of ours, 2)
    there = np.array([theirs[name] for name in names])
    best = np.zeros((len(walks), len(mine), len(names)))
    came = np.zeros((*best.shape, 2), dtype=np.int8)
    ways = {dj: there[dj:] - there[:-dj] for dj in range(1, min(len(names) - 1, _SKIPPED) + 1)}
    within_m = {dj: _within_m(way) for dj, way in ways.items()}
    for i in range(1, len(mine)):
        for di in range(1, min(i, _SKIPPED) + 1):
            way = (here[:, i] - here[:, i - di])[:, None, :]
            for dj, others in ways.items():
                agree = _near(way - others, within_m[dj])
                if di == dj == 1:  # a wrong leg is passed over
                    score = settled_all(best[:, i - di, :-dj] + np.where(agree, _LINK, 0.0), 6)
                elif agree.any():
                    score = settled_all(best[:, i - di, :-dj] + (_LINK - _SKIP * (di + dj - 2)), 6)
                    score = np.where(agree, score, -np.inf)
                else:
                    continue
                # A chain goes on only from where it has something, or where this is its first link.
                better = score > best[:, i, dj:] + 1e-6
                best[:, i, dj:] = np.where(better, score, best[:, i, dj:])
                came[:, i, dj:][better] = (di, dj)
    return [
        _back_along(ours, theirs, names, backward=backward, best=one, came=by)
        for ours, one, by in zip(walks, best, came, strict=True)
    ]


def _back_along(
    ours: Mapping[str, tuple[float, float]],
    theirs: Mapping[str, tuple[float, float]],
    names: Sequence[str],
    *,
    backward: bool,
    best: Floats,
    came: NDArray[np.int8],
) -> Chain:
    """The chain of one walk from where it is best, back by the steps it came by."""
    mine, at = list(ours), {name: index for index, name in enumerate(theirs)}
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
