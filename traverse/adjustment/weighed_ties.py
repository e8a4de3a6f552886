"""Ties between parties weighed with all evidence at once: which of them the rest of the readings speaks against.

What closes badly is taken apart: one tie of no force, one leg of any length and direction, or one party turned and
stretched as a whole, each two figures, are tried for all circuits at once; the one that takes most away is taken out,
and the rest is weighed again, until the rest agrees. A tie is named only where nothing else would do nearly as well.
Source: test of each observation by the change of the sum of squares, W. Baarda (1968), A testing procedure for use in
geodetic networks, from memory; several at once by generalised least squares, any adjustment text.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import Enum
from typing import TypeAlias

import numpy as np

from traverse.adjustment.calibration import PacedAlike
from traverse.adjustment.closure import SINGULAR_M2
from traverse.adjustment.jointly import misclosures
from traverse.adjustment.records import Closing, Floats, Network, Vectors
from traverse.record import record
from traverse.settled import settled, settled_all
from traverse.trade import ONE_IN_A_THOUSAND, SLIP_CHI_SQUARE, UNLIKELIER, chi_square_limit

_MOST = 20
"""Ties, legs and parties that are taken out before no more is said; common practice, no source."""
_NOTHING = 1e-6
"""Share of an error of which no more is told once others are taken out, below which it is nothing."""
_LEAST = 1e-300
_ALIKE = 3.0
"""Standard errors within which two ties that do not fit miss alike; common practice, no source."""


class _Doubtful(Enum):
    TIE = "tie"
    LEG = "leg"
    PARTY = "party"
    POINT = "known point"


_What: TypeAlias = "tuple[_Doubtful, int]"
"""A tie or a leg by its edge, a party by its number, a known point by its station."""


@record(frozen=True, slots=True, kw_only=True)
class TieDoubt:
    """A tie that does not fit the rest, or ties of which one does not."""

    edge: int
    """The tie that is not used: the one in doubt, or of several that contradict each other the one that stands last."""
    against: tuple[int, ...]
    """Edges of the other ties that it contradicts, where one of all of them is wrong; none where it alone is in doubt."""
    alike: tuple[int, ...]
    """Edges of ties of the same parties that don't fit either, and miss by as much the same way."""
    borne_out: int
    """Ties beside it that agree."""
    gap_m: float
    """How far apart its two places come out by all the rest."""
    expected_m: float
    """What the precision of the rest leads one to expect."""


@record(frozen=True, slots=True, kw_only=True)
class Doubts:
    """What the rest of the readings speaks against."""

    ties: tuple[TieDoubt, ...] = ()
    points: tuple[int, ...] = ()
    """Known points, by station: no tie, no leg and no party would explain it as well."""
    parties: tuple[int, ...] = ()
    """Parties, by number, that are turned or stretched as a whole: nothing else would explain it as well."""


def doubted(
    closings: Sequence[Closing],
    network: Network,
    vectors: Vectors,
    stretched: Sequence[PacedAlike],
    *,
    parties: Mapping[int, int],
    between: Mapping[int, frozenset[int]],
) -> Doubts:
    """Ties that all other readings speak against, and ties that contradict each other with nothing to say which is wrong.

    Of three known points or more also those that all else speaks against.

    `parties` has the party of each leg by its edge, `between` the two parties of each tie that may be in doubt, in an order
    of their own: of several ties that are as likely the last is not used. Nothing hangs on the order of the edges.
    """
    if not closings or not between:
        return Doubts()
    whats, columns = _explanations(closings, network, vectors, parties, between)
    weighed = _Weighed.of(closings, network, vectors, stretched, columns)
    taken = weighed.taken()
    against: dict[int, tuple[int, ...]] = {}
    beside: list[int] = []
    points = []
    turned = []
    for one in taken:
        alike = [whats[one], *(whats[other] for other in weighed.others(taken, one))]
        if len(alike) == 1 and whats[one][0] is _Doubtful.POINT:
            points.append(whats[one][1])
        if len(alike) == 1 and whats[one][0] is _Doubtful.PARTY:
            turned.append(whats[one][1])
        doubt = _doubt(alike, between)
        if doubt is None:
            beside.append(one)
        else:
            against.setdefault(*doubt)
    order = {edge: number for number, edge in enumerate(between)}
    at = {edge: whats.index((_Doubtful.TIE, edge)) for edge in against}
    of = {edge: number for number, edge in enumerate(at)}
    gaps = weighed.gaps(list(at.values()), beside) if at else []
    kept = [edge for edge in between if edge not in against]
    found = []
    for edge, others in sorted(against.items(), key=lambda one: order[one[0]]):
        gap, variance = gaps[of[edge]]
        same = [tie for tie in kept if between[tie] == between[edge]]
        bear_out = same or [tie for tie in kept if between[tie] & between[edge]]
        same_miss = [tie for tie in against
                 if tie != edge and between[tie] == between[edge] and _alike(gaps[of[tie]], gaps[of[edge]])]  # fmt: skip
        outvoted = len(bear_out) >= (len(same_miss) + 3 if same_miss else 2)
        found.append(
            TieDoubt(
                edge=edge,
                against=others or (() if outvoted else tuple(bear_out)),
                alike=tuple(same_miss),
                borne_out=len(bear_out),
                gap_m=settled(float(np.hypot(*gap)), 6),
                expected_m=settled(float(np.sqrt(np.trace(variance))), 6),
            )
        )
    return Doubts(ties=tuple(found), points=tuple(sorted(points)), parties=tuple(sorted(turned)))


def _doubt(
    alike: Sequence[_What], between: Mapping[int, frozenset[int]]
) -> tuple[int, tuple[int, ...]] | None:
    """Of things that would do as well as each other: the tie not to be used, and those that it contradicts.

    None where a reading, or a party as a whole with no two of its ties, may be in doubt in its place.
    """
    ties = [edge for edge in between if (_Doubtful.TIE, edge) in alike]
    wholes = {number for kind, number in alike if kind is _Doubtful.PARTY}
    if (
        not ties
        or any(kind in {_Doubtful.LEG, _Doubtful.POINT} for kind, _ in alike)
        or (wholes and len(ties) < 2)
    ):
        return None
    return (ties[-1], tuple(ties[:-1])) if all(not wholes or between[tie] & wholes for tie in ties) else None


def _explanations(
    closings: Sequence[Closing],
    network: Network,
    vectors: Vectors,
    parties: Mapping[int, int],
    between: Mapping[int, frozenset[int]],
) -> tuple[list[_What], Floats]:
    """What may be wrong, and what each of its two figures does to every circuit in plan, (items, 2 n, 2)."""
    count = len(closings)
    signs: dict[int, Floats] = {}
    for i, closing in enumerate(closings):
        for step in closing.circuit.steps:
            signs.setdefault(step.edge, np.zeros(count))[i] += step.sign
    whats: list[_What] = [(_Doubtful.TIE, edge) for edge in between if edge in signs]
    whats += [(_Doubtful.LEG, edge) for edge in sorted(parties) if edge in signs]
    columns = [np.kron(signs[edge][:, None], np.eye(2)) for _, edge in whats]
    for party in sorted(set(parties.values())):
        edges = [edge for edge in parties if parties[edge] == party and edge in signs]
        if edges:
            way = sum(signs[edge][:, None] * vectors.observed_m[edge, :2] for edge in edges)
            way = np.asarray(way)
            turned = np.stack((-way[:, 1], way[:, 0]), axis=1)
            columns.append(np.stack((way.reshape(-1), turned.reshape(-1)), axis=1))
            whats.append((_Doubtful.PARTY, party))
    points = _point_signs(closings) if len(network.fixes) > 2 else {}
    points = {station: sign for station, sign in points.items() if not network.fixes[station].sure}
    whats += [(_Doubtful.POINT, station) for station in points]
    columns += [np.kron(sign[:, None], np.eye(2)) for sign in points.values()]
    return whats, np.array(columns)


def _point_signs(closings: Sequence[Closing]) -> dict[int, Floats]:
    """By known point, with which sign its place enters each circuit, (n,)."""
    signs: dict[int, Floats] = {}
    for i, closing in enumerate(closings):
        if not closing.circuit.closed:
            for at, sign in ((0, 1.0), (-1, -1.0)):
                signs.setdefault(closing.circuit.stations[at], np.zeros(len(closings)))[i] += sign
    return dict(sorted(signs.items()))


class _Weighed:
    """All circuits in plan by their own spread, and what is left of them with some things taken out."""

    def __init__(self, gap: Floats, columns: Floats) -> None:
        self.gap = gap
        """(2 n,), each of variance one and apart from the others."""
        self.columns = columns
        """(items, 2 n, 2), in the same measure."""
        size = np.sqrt((columns**2).sum(axis=1, keepdims=True))
        self._even = columns / np.maximum(size, _LEAST)

    @classmethod
    def of(
        cls,
        closings: Sequence[Closing],
        network: Network,
        vectors: Vectors,
        stretched: Sequence[PacedAlike],
        columns: Floats,
    ) -> _Weighed:
        gap, covariance = misclosures(closings, network, vectors, stretched)
        plan = np.arange(len(gap)).reshape(-1, 3)[:, :2].reshape(-1)
        variance, sides = np.linalg.eigh(covariance[np.ix_(plan, plan)])
        # The error of paces is shared out by a rule of thumb: a variance may come out a little below nothing.
        even = (sides / np.sqrt(np.maximum(variance, SINGULAR_M2))).T
        return cls(even @ gap[plan], even @ columns)

    def _of_no_force(self, taken: Sequence[int]) -> Floats:
        """An orthonormal base of what some things could make of the circuits, (2 n, rank)."""
        if not taken:
            return np.zeros((len(self.gap), 0))
        base, size, _ = np.linalg.svd(np.concatenate(self._even[list(taken)], axis=1), full_matrices=False)
        found: Floats = base[:, size > _NOTHING]
        return found

    def _rest(self, base: Floats) -> Floats:
        rest: Floats = self.gap - base @ (base.T @ self.gap)
        return rest

    def taken(self) -> list[int]:
        """What has to be taken out for the rest to agree, the weightiest first; none where no few things do."""
        found: list[int] = []
        while len(found) < _MOST:
            base = self._of_no_force(found)
            free = len(self.gap) - base.shape[1]
            rest = self._rest(base)
            if free <= 0 or settled(float(rest @ rest), 3) <= chi_square_limit(free, ONE_IN_A_THOUSAND):
                return found
            falls = self._falls(base)
            best = int(np.argmax(falls))
            if falls[best] < SLIP_CHI_SQUARE:
                return found
            found.append(best)
        return []

    def others(self, taken: Sequence[int], one: int) -> list[int]:
        """What would do nearly as well in place of one."""
        falls = self._falls(self._of_no_force([other for other in taken if other != one]))
        return [
            int(other) for other in np.flatnonzero(falls >= falls[one] - UNLIKELIER) if other not in taken
        ]

    def _falls(self, base: Floats) -> Floats:
        """By how much the chi-square falls with each thing taken out besides, (items,)."""
        rest = self._even - base @ (base.T @ self._even)
        rest -= base @ (base.T @ rest)
        sides, size, _ = np.linalg.svd(rest, full_matrices=False)
        ahead = (sides.transpose(0, 2, 1) @ self._rest(base)) * (size > _NOTHING)
        return settled_all((ahead**2).sum(axis=1), 3)

    def gaps(self, ties: Sequence[int], beside: Sequence[int]) -> list[tuple[Floats, Floats]]:
        """How far apart the places of ties come out with all of them of no force, (2,), and its covariance, (2, 2)."""
        base = self._of_no_force(beside)
        column = np.concatenate(self.columns[list(ties)], axis=1)
        column = column - base @ (base.T @ column)
        inverse = np.linalg.pinv(column, rcond=_NOTHING)
        solved, spread = inverse @ self._rest(base), inverse @ inverse.T
        parts = [slice(2 * k, 2 * k + 2) for k in range(len(ties))]
        return [(solved[part], spread[part, part]) for part in parts]


def _alike(one: tuple[Floats, Floats], other: tuple[Floats, Floats]) -> bool:
    apart = float(np.hypot(*(one[0] - other[0])))
    return apart <= _ALIKE * float(np.sqrt(np.trace(one[1]) + np.trace(other[1])))
