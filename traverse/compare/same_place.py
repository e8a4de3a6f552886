"""What bears out that a station of a log is one of the key's: names that the ground does not contradict, places, and legs."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from itertools import pairwise

import numpy as np

from traverse.adjustment.records import Flags, Floats
from traverse.compare.records import PairedBy, Scheme
from traverse.compare.walks_alike import ways_alike
from traverse.ground.records import Traverse
from traverse.location.records import PlaceKind, Survey
from traverse.settled import settled, settled_all

_Point = tuple[float, float]
_Found = dict[str, tuple[str, PairedBy]]

_FEWEST_OFF = 2
"""Fewer names that lie elsewhere are a slip, or several; from so many on the numbers may be another party's."""
_ALONG = 3
"""Names that fit on the key's by one shift, turn and scale, where these are all that there are."""
_MOST_ANCHORS = 24
"""Stations of a walk from two and two of which its fit on the key is tried."""
LEAST_SCALE, MOST_SCALE = 0.25, 4.0
"""No mistake of a heading stretches a walk by more; feet for metres make 3.28."""
_WORD = 3
"""Letters of the shortest name of a place; fewer number stations as figures do."""
MOST_TURN_DEG = 60
"""Nor turns it farther: a declination taken twice, or with the wrong sign. What is turned by more fits with all its names."""

_LEAST_BASE_M = 20.0
"""Places nearer together say nothing of a turn."""


def contradicted(
    key: Traverse,
    places: Mapping[str, _Point],
    found: _Found,
    scheme: Scheme,
    *,
    framed: bool,
) -> tuple[str, ...]:
    """Names in common that the ground shows to be of other places, where most are: each party numbers its own way.

    A name is borne out where it is a known point's own, where it lies as the key has it, or where the way to it from
    another is the key's. A walk that fits on the key as a whole, turned, stretched or mirrored, has the key's names.
    """
    names = [
        name for name, (of, by) in found.items() if by is PairedBy.NAME and not of_known_point(key.survey, of)
    ]
    if len(names) <= _FEWEST_OFF:
        return ()
    here = np.array([places[name] for name in names])
    known = [key.survey.places[found[name][0]] for name in names]
    there = np.array([(one.east_m, one.north_m) for one in known])
    alike = np.concatenate(([False], ways_alike(np.diff(here, axis=0), np.diff(there, axis=0)), [False]))
    linked = alike[:-1] | alike[1:]
    near = np.full(len(names), False)
    if framed:
        near = settled_all(np.hypot(*(here - there).T), 3) <= scheme.pair_m
    off = int((~(linked | near)).sum())
    if off < _FEWEST_OFF or 2 * off < len(names) or _fits_whole(here, there, scheme):
        return ()
    # Where the numbers are another party's, one way is the key's by chance: of names in no place it takes two on end.
    twice = alike[:-1] & alike[1:]
    borne = near | twice | np.append(twice[1:], False) | np.insert(twice[:-1], 0, False)
    return tuple(name for name, sure in zip(names, borne, strict=True) if not sure)


def of_known_point(key: Survey, name: str) -> bool:
    """Whether a name of the key is a known point's own, in letters: a number is given anew on each walk."""
    return key.places[name].kind is PlaceKind.CONTROL and len(name) >= _WORD and name.isalpha()


def _fits_whole(here: Floats, there: Floats, scheme: Scheme) -> bool:
    """Whether most of some places fit on others by one shift, turn and scale, mirrored or not.

    Tried from two and two of them, since a wrong leg in one moves all the others of a fit over all.
    """
    count = len(here)
    enough = count if count <= _ALONG + 1 else max(_ALONG + 1, (count + 1) // 2)
    walked = here[:, 0] + 1j * here[:, 1]
    at = np.unique(np.linspace(0, count - 1, min(count, _MOST_ANCHORS)).round().astype(int))
    first, second = (one.ravel() for one in np.meshgrid(at, at))
    way = walked[second] - walked[first]
    long = np.abs(way) > scheme.pair_m
    first, second, way = first[long], second[long], way[long]
    for mirror in (1.0, -1.0):
        known = mirror * there[:, 0] + 1j * there[:, 1]
        by = (known[second] - known[first]) / way  # turn and scale as one complex factor
        size, turn = np.abs(by), np.abs(np.degrees(np.angle(by)))
        usual = (size >= LEAST_SCALE) & (size <= MOST_SCALE) & (turn <= MOST_TURN_DEG)
        laid = known[first][:, None] + by[:, None] * (walked[None, :] - walked[first][:, None])
        apart = settled_all(np.abs(laid - known[None, :]), 3)
        within = scheme.place_m + scheme.place_share * np.abs(known[None, :] - known[first][:, None])
        fitting = (apart <= within).sum(axis=1)
        if (fitting >= np.where(usual, enough, count)).any():
            return True
    return False


def by_place(
    ours: Mapping[str, _Point],
    theirs: Mapping[str, _Point],
    found: _Found,
    scheme: Scheme,
    elsewhere: Collection[str],
    fixes_m: float,
) -> dict[str, str]:
    """Free stations that lie within their errors of a free one of the key, and near no other; none that is `elsewhere`.

    The error is the scheme's at the nearest station that is paired, whose shift is taken away, and its share of the way
    from there; without one that of both logs' known points, `fixes_m`.
    """
    taken = {of for of, _ in found.values()}
    mine = [name for name in ours if name not in found and name.casefold() not in elsewhere]
    names = [name for name in theirs if name not in taken and name.casefold() not in elsewhere]
    if not mine or not names:
        return {}
    here = np.array([ours[name] for name in mine])
    within = np.full(len(mine), math.hypot(scheme.place_m, 2.0 * fixes_m))
    sure = [(ours[name], theirs[of]) for name, (of, _) in found.items() if of in theirs and name in ours]
    if sure:
        paired = np.array([one for one, _ in sure])
        far = apart_m(here, paired)
        nearest = far.argmin(axis=1)
        within = scheme.place_m + scheme.place_share * far.min(axis=1)
        here = here - (paired - np.array([of for _, of in sure]))[nearest]
    within = settled_all(np.minimum(within, scheme.pair_m), 3)
    near: Flags = apart_m(here, np.array([theirs[name] for name in names])) <= within[:, None]
    # What is paired may be it as well.
    every = apart_m(here, np.array(list(theirs.values()))) <= within[:, None]
    one_only = (every.sum(axis=1) == 1)[:, None] & (near.sum(axis=0) == 1)[None, :]
    return {mine[i]: names[j] for i, j in zip(*np.nonzero(near & one_only), strict=True)}


def apart_m(here: Floats, there: Floats) -> Floats:
    """How far every one of some places, (n, 2), lies from every one of others, (m, 2): shape (n, m)."""
    off: Floats = settled_all(np.hypot(*(here[:, None, :] - there[None, :, :]).transpose(2, 0, 1)), 3)
    return off


def by_order(
    ours: Mapping[str, _Point], theirs: Mapping[str, _Point], found: _Found, ways: Mapping[str, _Point]
) -> dict[str, str]:
    """What stands between two pairs that are next to each other on both walks, as many on each, over the same legs.

    `ways` has the way to each station of ours from the one before it. One may have gone the other way round.
    """
    mine, names = list(ours), list(theirs)
    at = {name: index for index, name in enumerate(names)}
    taken = {of for of, _ in found.values()}
    fixed = [(i, at[found[name][0]]) for i, name in enumerate(mine) if name in found and found[name][0] in at]
    more: dict[str, str] = {}
    for (i, j), (k, m) in pairwise(fixed):
        way = 1 if m > j else -1
        between = [names[j + way * step] for step in range(1, abs(m - j))]
        if not between or k - i != abs(m - j) or taken & set(between):
            continue
        run = [names[j], *between, names[m]]
        walked = [ways.get(name) for name in mine[i + 1 : k + 1]]
        if None in walked:
            continue
        known = np.diff(np.array([theirs[name] for name in run]), axis=0)
        alike = ways_alike(np.array(walked), known)
        # One wrong leg of several leaves the others as they were.
        if int(alike.sum()) >= max(2, len(alike) - 1):
            more.update(zip(mine[i + 1 : k], between, strict=True))
    return more


def known_alike(
    log: Traverse,
    key: Traverse,
    places: Mapping[str, _Point],
    pairs: Sequence[tuple[str, str]],
    within: float,
) -> set[tuple[str, str]]:
    """Pairs at which both logs have a known point, and have it in one place."""
    mine, theirs = log.survey.places, key.survey.places
    return {
        (name, of)
        for name, of in pairs
        if mine[name].kind is PlaceKind.CONTROL and theirs[of].kind is PlaceKind.CONTROL
        if math.dist(places[name], (theirs[of].east_m, theirs[of].north_m)) <= within
    }


def laid_by_pairs(
    log: Traverse, key: Traverse, places: Mapping[str, _Point], names: Mapping[str, str]
) -> dict[str, _Point]:
    """Places of a log without a frame in common, laid on the key by the stations of the key that its own are `names` of.

    By the best shift, turn and scale; where they are one or in one place, by their bearings alone.
    """
    if not names:
        return dict(places)
    here = np.array([complex(*places[name]) for name in names])
    there = np.array([
        complex(one.east_m, one.north_m) for one in (key.survey.places[of] for of in names.values())
    ])  # fmt: skip
    middle, known = here.mean(), there.mean()
    spread = float((np.abs(here - middle) ** 2).sum())
    turn = math.radians(log.survey.frame.to_true_deg - key.survey.frame.to_true_deg)
    by = complex(math.cos(turn), -math.sin(turn))
    if settled(math.sqrt(spread), 3) > _LEAST_BASE_M:
        by = complex((np.conj(here - middle) * (there - known)).sum()) / spread
    laid = {name: known + by * (complex(*place) - middle) for name, place in places.items()}
    return {name: (settled(one.real, 6), settled(one.imag, 6)) for name, one in laid.items()}
