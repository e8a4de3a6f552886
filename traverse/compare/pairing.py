"""Which station of a log is which of the key, and what was read at each."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from traverse.adjustment.fit import similarity
from traverse.adjustment.records import Floats
from traverse.compare.camp_key import missed_once, stops_once
from traverse.compare.contact_pairs import contact_pairs, walked_m
from traverse.compare.one_unit import free_units, letters_of, unlisted_units
from traverse.compare.open_ends import open_ends
from traverse.compare.records import (
    AttitudePair,
    Paired,
    PairedBy,
    Scheme,
    Similar,
    StationPair,
    ThicknessPair,
    UnitPair,
)
from traverse.compare.same_place import (
    LEAST_SCALE,
    MOST_SCALE,
    MOST_TURN_DEG,
    apart_m,
    by_order,
    by_place,
    contradicted,
    known_alike,
    laid_by_pairs,
    of_known_point,
)
from traverse.compare.walks_alike import Chain, grown, links_alike, longest_chain, longest_chains
from traverse.ground.records import Traverse
from traverse.length import METRES_PER_FOOT
from traverse.location.crs import open_grid
from traverse.location.records import Place, PlacedAddress, PlaceKind, Survey
from traverse.log.records import Log, PartyLog, one_place
from traverse.settled import settled
from traverse.source import Span
from traverse.structure.readings.directions import pole, pole_angle
from traverse.structure.readings.records import Attitude, PlaneAttitude
from traverse.structure.walk.unit_at import units_said
from traverse.trade import LARGE_DECLINATION_DEG

_FEWEST = 3
"""Stations by whose places a numbering can be told to be another."""
_STRETCHED = (1.0, METRES_PER_FOOT, 1.0 / METRES_PER_FOOT, 2.0, 0.5)
"""Walks are laid along each other as they stand, and as with feet for metres or one kind of pace for the other."""
_TURN_STEP_DEG = 6
"""Turns in which a walk is laid along another: ways that are the same stay so a few degrees off."""
_MOST_OF_IT = 0.75
"""Share of the ways of a walk, turned or stretched, that says which station is which; common practice, no source."""
_FEWEST_STRETCHED = 6
"""Ways that a stretched walk with stops of its own shares at least with a key; common practice, no source."""
_STRETCH_SHARE = 0.05
"""Share by which its scale may be off what the slip makes of it; common practice, no source."""
_MOST_BEGUN = 100
"""Stops of a key that the first stop of a log is tried as each of."""
_NEAR_SHARE = 0.15
"""What lies along the same leg is the same outcrop where its shares of the leg differ by less."""


def stand(log: Traverse, key: Traverse, scheme: Scheme, party: PartyLog | None = None) -> Paired:
    """A log beside the key: stations paired, then what was read at them. `party` is that of the key which the log is."""
    places = in_key_grid(log.survey, key.survey)
    framed = places is not None
    if places is None:
        places = {name: (place.east_m, place.north_m) for name, place in log.survey.places.items()}
    by, misnamed = _paired(log, key, places, scheme, party, framed=framed)
    hung = None if framed else _hung_where_said(log.survey, key.survey, places, by)
    if hung is not None:
        by_hanging, other_names = _paired(log, key, hung, scheme, party, framed=True)
        if len(by_hanging) > len(by):
            by, misnamed = by_hanging, other_names
    if framed and not _hung_alike(log.survey, key.survey, by, misnamed):
        framed = False
        by, misnamed = _paired(log, key, places, scheme, party, framed=framed)
    pairs, fit = _stations(log, key, places, by, framed=framed)
    names = {name: of for name, (of, _) in by.items()}
    letters = letters_of(log.log, key.log, party)
    there = {name: key.survey.places[of] for name, of in names.items()}
    laid = places if framed else laid_by_pairs(log, key, places, names)
    moved = {name: (laid[name][0] - one.east_m, laid[name][1] - one.north_m) for name, one in there.items()}
    stops = stops_once(log, scheme)
    stood = {stops[name] for name in by}
    theirs = [name for name in key.log.stations if party is None or _of(party, name, key.log)]
    file = None if party is None else party.file
    met = contact_pairs(log, key, laid, letters, names, moved, scheme, file)
    unlisted = unlisted_units(log, key, names, letters)
    # What stands for it may be named by one of these.
    unjudged = {one.letters for one in free_units(key.log, letters)} if unlisted else set()
    return Paired(
        pairs=pairs,
        alone=tuple(
            name for name in log.log.stations if name in log.survey.places and stops.get(name) not in stood
        ),
        missed=missed_once(theirs, stops_once(key, scheme) if party is None else {}, names.values()),
        attitudes=_attitudes(log, key, names, party),
        contacts=tuple(
            one
            for one in met.contacts
            if one.log is not None or not unjudged & set(one.key.booked.named or ())
        ),
        between=met.between,
        elsewhere=met.elsewhere,
        units=_units(log, key, names, letters, frozenset(one.letters for one in unlisted)),
        order=_order(log.log, key.log, letters),
        thicknesses=_thicknesses(log, key, letters),
        letters=letters,
        unlisted=unlisted,
        legs=tuple((leg.start, leg.end) for leg in log.log.legs),
        walk={name: laid[name] for name in log.log.stations if name in laid}
        if framed or (fit is not None and LEAST_SCALE <= fit.scale <= MOST_SCALE)
        else {},
        fit=fit,
        framed=framed,
        misnamed=misnamed,
    )


def in_key_grid(log: Survey, key: Survey) -> dict[str, tuple[float, float]] | None:
    """Places of the log in the grid of the key; None where one of them has no frame but its own first station."""
    if log.frame.epsg == key.frame.epsg and (log.frame.epsg is not None or _held_alike(log, key)):
        return {name: (place.east_m, place.north_m) for name, place in log.places.items()}
    if key.frame.epsg is None or log.frame.epsg is None:
        return None
    grid = open_grid(key.frame.epsg)
    found = {}
    for name, place in log.places.items():
        if place.lon_deg is None or place.lat_deg is None:
            return None
        found[name] = grid.from_lon_lat(place.lon_deg, place.lat_deg)
    return found


def _hung_where_said(
    log: Survey,
    key: Survey,
    places: Mapping[str, tuple[float, float]],
    by: Mapping[str, tuple[str, PairedBy]],
) -> dict[str, tuple[float, float]] | None:
    """Places of a log without a known point, hung on the key by the first pair that a tie or a known point's own name says."""
    said = (
        (name, of)
        for name, (of, how) in by.items()
        if how is PairedBy.TIE or (how is PairedBy.NAME and of_known_point(key, of))
    )
    name, of = next(said, (None, None))
    if name is None or of is None:
        return None
    there = key.places[of]
    turned = _turned(places, log.frame.to_true_deg - key.frame.to_true_deg)
    east, north = turned[name]
    return {one: (at[0] - east + there.east_m, at[1] - north + there.north_m) for one, at in turned.items()}


def _held_alike(log: Survey, key: Survey) -> bool:
    """Whether two local grids hang from a known point of one name, or both from the first station of one name.

    A first station that is put at 0, 0 is no place in a grid that has known points.
    """
    return bool(_known(log)) is bool(_known(key)) and bool(_held(log) & _held(key))


def _known(survey: Survey) -> set[str]:
    return {name for name, place in survey.places.items() if place.kind is PlaceKind.CONTROL}


def _held(survey: Survey) -> set[str]:
    """What a local grid hangs from: its known points, else its first station."""
    return _known(survey) or set(list(survey.places)[:1])


def _hung_alike(
    log: Survey, key: Survey, by: Mapping[str, tuple[str, PairedBy]], misnamed: Collection[str]
) -> bool:
    """Whether two local grids that hang from a station of one name hang from one place as the walks are paired."""
    if log.frame.epsg is not None or key.frame.epsg is not None:
        return True
    shared = _held(log) & _held(key)
    return any(name not in misnamed and by.get(name, (name,))[0] == name for name in shared)


def _paired(
    log: Traverse,
    key: Traverse,
    places: Mapping[str, tuple[float, float]],
    scheme: Scheme,
    party: PartyLog | None,
    *,
    framed: bool,
) -> tuple[dict[str, tuple[str, PairedBy]], tuple[str, ...]]:
    """Stations of the log by what they are in the key: by name, tie, place, the shape of the walk or order, as the ground bears out.

    And the names that both have and that are of two places.
    """
    ours = [name for name in log.log.stations if name in log.survey.places]
    theirs = [name for name in key.log.stations if name in key.survey.places]
    stands_for = stops_once(log, scheme)
    if log.log.parties:
        ours = [name for name in ours if stands_for[name] == name]
    if key.log.parties:
        stops = stops_once(key, scheme)
        theirs = [name for name in theirs if stops[name] == name]
    left = {name.casefold(): name for name in theirs}
    if party is not None:
        theirs = [
            name for name in key.log.stations if name in key.survey.places and _of(party, name, key.log)
        ]
        left = {name.removeprefix(f"{party.letters}-").casefold(): name for name in theirs}
    found: dict[str, tuple[str, PairedBy]] = {}
    if party is None:
        # What is typed to say which place it is goes before a number that both have.
        own = {name.casefold() for name in log.log.stations}
        _by_tie(ours, log.log, key.log, {of: one for of, one in left.items() if of not in own}, found)
        taken = {of for of, _ in found.values()}
        left = {of: one for of, one in left.items() if one not in taken}
    for name in ours:
        match = None if name in found else left.pop(name.casefold(), None)
        if match is not None:
            found[name] = match, PairedBy.NAME
    _by_tie(ours, log.log, key.log, left, found)
    there = {name: (place.east_m, place.north_m) for name, place in key.survey.places.items()}
    here, known = {name: places[name] for name in ours}, {name: there[name] for name in theirs}
    nearest: dict[str, str] = {}
    if framed:
        close = sum(math.dist(places[name], there[of]) <= scheme.pair_m for name, (of, _) in found.items())
        nearest = _nearest_first(here, known, scheme)
        if len(nearest) < _FEWEST or len(nearest) <= 2 * close or 2 * len(nearest) <= len(ours):
            nearest = {}
    if nearest:
        # The parties number their stops each their own way: a name in common says nothing.
        found = {name: (of, PairedBy.PLACE) for name, of in nearest.items()}
    misnamed = () if nearest else contradicted(key, places, found, scheme, framed=framed)
    found = {name: one for name, one in found.items() if name not in misnamed}
    if framed and not nearest:
        # A name that both have is of no other place, but where their numbers say nothing.
        elsewhere = set() if misnamed else {name.casefold() for name in here} & {
            name.removeprefix(f"{party.letters}-" if party else "").casefold() for name in known
        }  # fmt: skip
        fixes = math.hypot(log.survey.control_sd_m or 0.0, key.survey.control_sd_m or 0.0)
        rest = by_place(here, known, found, scheme, elsewhere, fixes)
        found |= {name: (of, PairedBy.PLACE) for name, of in rest.items()}
    ways = _ways(log, key, stands_for, framed=framed)
    sure = known_alike(log, key, places, [(name, of) for name, (of, _) in found.items()], scheme.pair_m)
    chained = _by_chain(here, known, found, ways, scheme)
    if framed and not sure <= {(name, of) for name, (of, _) in chained.items()}:
        chained = found
    found = chained
    rest = by_order(here, known, found, {end: way for _, end, way in ways})
    found |= {name: (of, PairedBy.ORDER) for name, of in rest.items()}
    if any(by is PairedBy.SHAPE for _, by in found.values()):
        turn = log.survey.frame.to_true_deg - key.survey.frame.to_true_deg if framed else 0.0
        pairs = {name: of for name, (of, _) in found.items()}
        found |= {name: (of, PairedBy.ORDER) for name, of in open_ends(log, key, pairs, turn)}
        misnamed = ()
    return {name: found[name] for name in ours if name in found}, misnamed


def _ways(
    log: Traverse, key: Traverse, stands_for: Mapping[str, str], *, framed: bool
) -> list[tuple[str, str, tuple[float, float]]]:
    """The legs of a log from stop to stop, in the grid of its places, metres."""
    turn = log.survey.frame.to_true_deg - key.survey.frame.to_true_deg if framed else 0.0
    found = []
    for leg in log.survey.legs:
        ends = (stands_for.get(one, one) for one in (leg.booked.start, leg.booked.end))
        start, end = ends
        found.append((start, end, _turned_way((leg.adjusted.east_m, leg.adjusted.north_m), turn)))
    return found


def _by_tie(
    ours: Sequence[str], log: Log, key: Log, left: dict[str, str], found: dict[str, tuple[str, PairedBy]]
) -> None:
    """Pair stations by what either log says their places are called besides; what is paired is taken from `left`."""
    mine, theirs = one_place(log.ties), one_place(key.ties)
    for name in ours:
        if name in found:
            continue
        # Names of the key may be of parties that it brings in, and their stop is under another.
        known = {one.casefold() for two in mine.get(name, {name}) for one in theirs.get(two, {two})}
        match = next((left.pop(one) for one in sorted(known) if one in left), None)
        if match is not None:
            found[name] = match, PairedBy.TIE


def _of(party: PartyLog, name: str, key: Log) -> bool:
    """Whether a station of the key is of this party, or of none by its name."""
    others = tuple(f"{one.letters}-" for one in key.parties if one.letters and one is not party)
    return not name.startswith(others)


def _by_chain(
    ours: Mapping[str, tuple[float, float]],
    theirs: Mapping[str, tuple[float, float]],
    named: dict[str, tuple[str, PairedBy]],
    legs: Sequence[tuple[str, str, tuple[float, float]]],
    scheme: Scheme,
) -> dict[str, tuple[str, PairedBy]]:
    """The pairs as they are, or where the ways from stop to stop bear out another numbering, by these.

    A walk that was turned by a declination, stretched, or mirrored by the dial fits by its names, and keeps them; so does
    one with a wrong leg, whose other legs do.
    """
    if min(len(ours), len(theirs)) < _FEWEST:
        return named
    now = [(name, named[name][0]) for name in ours if name in named]
    # A pace that was mistaken stretches all ways alike; of two that do as well, as it stands.
    stretched = [_turned(ours, 0.0, by) for by in _STRETCHED]
    by, laid, chain = max(
        zip(_STRETCHED, stretched, longest_chains(stretched, theirs), strict=True),
        key=lambda one: one[2].links,
    )
    pairs = grown(laid, theirs, chain.pairs, _legs_turned(legs, 0.0, by))
    if not _bears_out(chain, ours, as_booked=by == 1.0) and not _lies_stretched(
        chain, ours, theirs, by, scheme
    ):
        named_fit = len(now) >= _FEWEST and _left_m(
            [ours[one] for one, _ in now], [theirs[of] for _, of in now]
        )
        if named_fit and named_fit <= scheme.place_m:
            return named
        if len(theirs) <= _MOST_BEGUN:
            # Walks of several parties are no one chain: from the first stop on, over all legs.
            first = next(iter(ours))
            every = max((grown(ours, theirs, [(first, of)], legs) for of in theirs), key=len)
            if len(every) > _FEWEST and 2 * (len(every) - 1) >= len(ours) - 1 and len(every) > 2 * len(now):
                return {name: (of, PairedBy.SHAPE) for name, of in every}
        turn, chain = _turned_chain(ours, theirs)
        ours = _turned(ours, turn)
        if not _bears_out(chain, ours, as_booked=turn == 0.0):
            return named
        pairs = grown(ours, theirs, chain.pairs, _legs_turned(legs, turn))
    if chain.links <= 2 * links_alike(ours, theirs, now) or dict(chain.pairs) == dict(now):
        return named
    here = np.array([ours[name] for name, _ in now]).reshape(-1, 2)
    there = np.array([theirs[of] for _, of in now]).reshape(-1, 2)
    if len(now) >= _FEWEST:
        fit, _ = laid_on(there, here)
        turned = fit is not None and abs(fit.rotation_deg) <= LARGE_DECLINATION_DEG
        if turned and _left_m(here, there) <= scheme.place_m:
            return named
        # A mirrored walk goes the other way round as well: one that does and begins elsewhere is told by neither.
        begins = chain.pairs[0] in now
        if not begins and _left_m(here, there * (-1.0, 1.0)) <= scheme.place_m:
            return named
    return {name: (of, PairedBy.SHAPE) for name, of in pairs}


def _bears_out(chain: Chain, ours: Mapping[str, tuple[float, float]], *, as_booked: bool) -> bool:
    """Whether a chain holds enough of a walk to say which station is which: half of it, or where it is turned or stretched most.

    Of so many turns and stretches one brings some ways to a key's by chance.
    """
    share = 0.5 if as_booked else _MOST_OF_IT
    return chain.links >= _FEWEST - 1 and chain.links >= share * (len(ours) - 1)


def _lies_stretched(
    chain: Chain,
    ours: Mapping[str, tuple[float, float]],
    theirs: Mapping[str, tuple[float, float]],
    by: float,
    scheme: Scheme,
) -> bool:
    """Whether a chain of a stretched walk, which made stops of its own besides, lies on the key as one: by that stretch alone.

    Half of what both walks could have in common, and so many places within the scheme's reach of each other, are no chance.
    """
    most = min(len(ours), len(theirs)) - 1
    if by == 1.0 or chain.links < max(_FEWEST_STRETCHED, 0.5 * most):
        return False
    here = np.array([ours[name] for name, _ in chain.pairs])
    fit, _ = laid_on(np.array([theirs[of] for _, of in chain.pairs]), here)
    if (
        fit is None
        or abs(fit.rotation_deg) > LARGE_DECLINATION_DEG
        or abs(fit.scale * by - 1.0) > _STRETCH_SHARE
    ):
        return False
    return by * _left_m(here, [theirs[of] for _, of in chain.pairs]) <= scheme.place_m


def _turned(
    places: Mapping[str, tuple[float, float]], clockwise_deg: float, by: float = 1.0
) -> dict[str, tuple[float, float]]:
    """Places turned and stretched about the origin."""
    return {name: _turned_way(place, clockwise_deg, by) for name, place in places.items()}


def _turned_way(way: tuple[float, float], clockwise_deg: float, by: float = 1.0) -> tuple[float, float]:
    """East and north turned and stretched."""
    angle, (east, north) = math.radians(clockwise_deg), way
    cos, sin = by * math.cos(angle), by * math.sin(angle)
    return cos * east + sin * north, cos * north - sin * east


def _legs_turned(
    legs: Sequence[tuple[str, str, tuple[float, float]]], clockwise_deg: float, by: float = 1.0
) -> list[tuple[str, str, tuple[float, float]]]:
    return [(start, end, _turned_way(way, clockwise_deg, by)) for start, end, way in legs]


def _turned_chain(
    ours: Mapping[str, tuple[float, float]], theirs: Mapping[str, tuple[float, float]]
) -> tuple[float, Chain]:
    """The turn at which most ways of a walk are the key's, degrees clockwise, and the chain there; of turns that do as well, the least."""
    turns = sorted(
        range(-MOST_TURN_DEG, MOST_TURN_DEG + 1, _TURN_STEP_DEG), key=lambda turn: (abs(turn), turn)
    )
    chains = longest_chains([_turned(ours, turn) for turn in turns], theirs)
    best = max(zip(turns, chains, strict=True), key=lambda one: one[1].links)
    turn, chain = float(best[0]), best[1]
    names = [name for name, _ in chain.pairs]
    fit, _ = laid_on(np.array([theirs[of] for _, of in chain.pairs]).reshape(-1, 2),
                     np.array([ours[name] for name in names]).reshape(-1, 2))  # fmt: skip
    if fit is not None:
        nearer = _turned(ours, -fit.rotation_deg)
        again = longest_chain(nearer, theirs)
        if again.links >= chain.links:
            return -fit.rotation_deg, again
    return turn, chain


def _left_m(ours: ArrayLike, theirs: ArrayLike) -> float:
    """Root mean square of what shift, turn and scale leave of places, each (n, 2); infinite where nothing is left to tell."""
    _, left = laid_on(np.asarray(theirs), np.asarray(ours))
    return math.inf if left is None else settled(float(np.sqrt((left**2).sum(axis=1).mean())), 3)


def _nearest_first(
    ours: Mapping[str, tuple[float, float]], theirs: Mapping[str, tuple[float, float]], scheme: Scheme
) -> dict[str, str]:
    """Stations that lie nearer to each other than to any that is free, the nearest first, within the scheme's reach."""
    if not ours or not theirs:
        return {}
    mine, names = list(ours), list(theirs)
    apart = apart_m(np.array(list(ours.values())), np.array(list(theirs.values())))
    found: dict[str, str] = {}
    used: set[int] = set()
    for flat in np.argsort(apart, axis=None, kind="stable"):
        i, j = divmod(int(flat), len(names))
        if apart[i, j] > scheme.pair_m:
            break
        if mine[i] not in found and j not in used:
            found[mine[i]] = names[j]
            used.add(j)
    return found


def sd_of(place: Place) -> float:
    """Plan error of a place, the larger of its two; 0 where it is held or unknown."""
    return max(place.sd_east_m or 0.0, place.sd_north_m or 0.0)


def _fix_sd_m(survey: Survey, name: str) -> float:
    """Plan error of a station that known points bring: its own where it is one, else that of the first, or less where others hold it."""
    place = survey.places[name]
    if place.kind is PlaceKind.CONTROL:
        return sd_of(place)
    return min(sd_of(place), survey.control_sd_m or 0.0)


def _stations(
    log: Traverse,
    key: Traverse,
    places: Mapping[str, tuple[float, float]],
    by: Mapping[str, tuple[str, PairedBy]],
    *,
    framed: bool,
) -> tuple[tuple[StationPair, ...], Similar | None]:
    if not by:
        return (), None
    there = np.array([(key.survey.places[of].east_m, key.survey.places[of].north_m) for of, _ in by.values()])
    here = np.array([places[name] for name in by])
    fit, left = laid_on(there, here)
    walked, first = walked_m(log.survey), log.log.first_at
    pairs = []
    for index, (name, (of, how)) in enumerate(by.items()):
        apart = here[index] - there[index]
        pairs.append(
            StationPair(
                station=name,
                key=of,
                by=how,
                east_m=settled(float(apart[0]), 6) if framed else None,
                north_m=settled(float(apart[1]), 6) if framed else None,
                shape_m=None if left is None else settled(float(np.hypot(*left[index])), 6),
                walked_m=walked.get(name, 0.0),
                key_place_m=(key.survey.places[of].east_m, key.survey.places[of].north_m),
                key_sd_m=sd_of(key.survey.places[of]),
                log_sd_m=_fix_sd_m(log.survey, name),
                span=first[name].span if name in first else Span(log.log.file, 1, 1, 1),
            )
        )
    return tuple(pairs), fit


def laid_on(known: Floats, walked: Floats) -> tuple[Similar | None, Floats | None]:
    """Shift, turn and scale of places onto others, each (n, 2), by plain least squares, and what is left, (n, 2).

    None with fewer than three, where nothing is left to tell, or where all lie in one place. Its errors are those that
    the residuals tell. Source: four-parameter similarity transformation, any adjustment text.
    """
    count = len(known)
    if count < 3 or np.hypot(*np.ptp(known, axis=0)) < 1.0:
        return None, None
    solved = similarity(known, walked, np.eye(2 * count))
    if solved.scale < 1e-6:
        return None, None
    freedom = 2 * count - 4
    sd = float(np.sqrt(max(solved.chi_square, 0.0) / freedom))
    fit = Similar(
        rotation_deg=solved.rotation_deg,
        rotation_sd_deg=settled(solved.rotation_sd_deg * sd),
        scale=solved.scale,
        scale_sd=settled(solved.scale_sd * sd),
        n=count,
    )
    return fit, solved.residual_m


def _pole(plane: PlaneAttitude) -> Floats:
    return np.asarray(pole(plane.dip_deg, dip_direction_deg=plane.dip_direction_deg))


def one_outcrop(one: PlacedAddress, other: PlacedAddress, names: Mapping[str, str]) -> bool:
    """Whether two addresses are one outcrop: of one station, or at one part of one leg."""
    a, b = one.address, other.address
    if a.station is not None or b.station is not None:
        return a.station is not None and names.get(a.station) == b.station
    if a.leg is None or b.leg is None or one.start_share is None or other.start_share is None:
        return False
    same = (names.get(a.leg.start), names.get(a.leg.end)) == (b.leg.start, b.leg.end)
    return same and abs(one.start_share - other.start_share) < _NEAR_SHARE


def _attitudes(
    log: Traverse, key: Traverse, names: Mapping[str, str], party: PartyLog | None
) -> tuple[AttitudePair, ...]:
    """Each plane of the key with the nearest one of its kind that the log has there, each of the log's once."""
    ours = [one for one in log.geology.attitudes if isinstance(one, PlaneAttitude)]
    back = {of: name for name, of in names.items()}
    used: set[int] = set()
    found = []
    # What others read at its outcrops is not in its log.
    planes = (
        [one for one in key.geology.each_once if one.span not in key.geology.doubted]
        if party is None
        else [_as_camp_has_it(one, key) for one in key.geology.attitudes if one.span.file == party.file]
    )
    for plane in planes:
        if not isinstance(plane, PlaneAttitude) or plane.station not in back:
            continue
        near = [
            (settled(pole_angle(_pole(one), _pole(plane)), 6), index)
            for index, one in enumerate(ours)
            if index not in used and one.kind is plane.kind and one_outcrop(one.place, plane.place, names)
        ]
        angle, index = min(near, default=(None, -1))
        used.add(index)
        found.append(
            AttitudePair(
                station=back[plane.station],
                key=plane,
                log=ours[index] if near else None,
                pole_deg=angle,
            )
        )
    return tuple(found)


def _as_camp_has_it(one: Attitude, key: Traverse) -> Attitude:
    """What a party of a camp read, or what the others read there where the camp doubts it; queried where nothing tells."""
    if one.span not in key.geology.doubted or not isinstance(one, PlaneAttitude):
        return one
    outcrop = next(
        (joint for joint in key.geology.shared if any(two.span == one.span for two in joint.read)), None
    )
    agreed = [] if outcrop is None else [two for two in outcrop.read if two.span not in key.geology.doubted]
    if outcrop is None or not agreed:
        return replace(one, queried=True)
    mean = outcrop.mean if outcrop.mean is not None else agreed[0]
    return replace(
        mean,
        place=one.place,
        booked=one.booked,
        station=one.station,
        unit=one.unit,
        span=one.span,
        order=one.order,
    )


def _units(
    log: Traverse,
    key: Traverse,
    names: Mapping[str, str],
    letters: Mapping[str, str],
    unlisted: Collection[str],
) -> tuple[UnitPair, ...]:
    ours = {one.station: one for one in log.geology.station_units}
    theirs = {one.station: one for one in key.geology.station_units}
    first = log.log.first_at
    written = {of: item.span for of, item in units_said(log.log).first.items() if isinstance(of, str)}
    return tuple(
        UnitPair(
            station=name,
            key=theirs[of].letters,
            log=letters.get(ours[name].letters) if name in ours else None,
            written=ours[name].letters if name in ours else None,
            right=name in ours and letters.get(ours[name].letters) == theirs[of].letters,
            span=written.get(name, first[name].span),
        )
        for name, of in names.items()
        if of in theirs and not theirs[of].queried and name in first
        if name not in ours or ours[name].letters not in unlisted
    )


def _order(log: Log, key: Log, letters: Mapping[str, str]) -> tuple[tuple[str, str, bool], ...]:
    ours = [letters[unit.letters] for unit in log.units if unit.letters in letters and not unit.intrusive]
    at = {one: index for index, one in enumerate(ours)}
    both = [unit.letters for unit in key.units if unit.letters in at and not unit.intrusive]
    own = {of: letters for letters, of in letters.items()}
    return tuple((own[one], own[two], at[one] < at[two]) for one, two in pairwise(both))


def _thicknesses(log: Traverse, key: Traverse, letters: Mapping[str, str]) -> tuple[ThicknessPair, ...]:
    ours = {letters.get(one.unit): one for one in log.geology.unit_thicknesses}
    found = []
    for one in key.geology.unit_thicknesses:
        other = ours.get(one.unit)
        if other is not None and None not in {one.true_m, one.sd_m, other.true_m, other.sd_m}:
            found.append(
                ThicknessPair(
                    unit=other.unit,
                    key_m=float(one.true_m or 0.0),
                    key_sd_m=float(one.sd_m or 0.0),
                    log_m=float(other.true_m or 0.0),
                    log_sd_m=float(other.sd_m or 0.0),
                )
            )
    return tuple(found)
