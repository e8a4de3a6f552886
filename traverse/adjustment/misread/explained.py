"""Loops as they would close, were a reading another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from traverse.adjustment.closure import limits, suspicious, usable
from traverse.adjustment.jointly import Together, as_matrix, shared_m2
from traverse.adjustment.misread.slips import Slip
from traverse.adjustment.records import Closing, Flags, Floats, Indices, Step, Vectors
from traverse.length import Lengths
from traverse.log.items import Skipped
from traverse.record import record
from traverse.settled import settled, settled_all
from traverse.trade import ALONE, PLAN_REFUSE, SPACE_REFUSE

AT_ONCE = 256
"""Slips of which all circuits together are solved in one go."""
_MANY, _FEW = 6, 3
"""More readings that explain a circuit about equally are told by their number and by the first few; common practice, no source."""


@record(frozen=True, slots=True, kw_only=True)
class Explained:
    """A slip, and how the circuit would close without it."""

    slip: Slip
    rank: float
    """Twice the negative log-likelihood over all evidence, less that of the log as it stands."""
    misclosure_after_m: float
    """In plan; in height where that alone fails."""
    q_after: float


@record(frozen=True, slots=True, kw_only=True)
class Pairing:
    """Two slips that explain a circuit together."""

    slips: tuple[Slip, Slip]
    alone: bool
    """No others are nearly as likely."""


@record(frozen=True, slots=True, kw_only=True)
class LegLeftOut:
    """A leg that was not booked."""

    skipped: Skipped
    """The station that the numbers lack."""
    length_m: float
    toward_deg: float
    """From the station before it, clockwise from the north that positions are in."""

    def said(self, lengths: Lengths) -> str:
        """`57 m toward 028`."""
        return f"{lengths.said(self.length_m)} toward {round(self.toward_deg) % 360:03d}"


@record(frozen=True, slots=True, kw_only=True)
class Explanation:
    """What would explain one circuit."""

    ranked: tuple[Explained, ...]
    """The likeliest first."""
    decides: str | None
    """The one thing to do on the ground that tells the first two apart; None where there are no two."""
    iron: tuple[str, ...] = ()
    """Stations at which iron, asked about and not taken out, would explain it; then no slip is named."""
    closes_m: float | None = None
    """To what it would close with that iron taken out."""
    together: Pairing | None = None
    """Where no slip alone explains it, or two are likelier: the two that do."""
    left_out: LegLeftOut | None = None
    """A leg whose loss explains it, where a number is missing; slips are named beside it only where one circuit shows it."""
    contradicted: frozenset[int] = frozenset()
    """Legs whose fore and back bearings contradict each other, by their edges: asked about by themselves."""

    @property
    def alike(self) -> int:
        """How many are about as likely as the first."""
        return sum(settled(one.rank - self.ranked[0].rank, 6) <= ALONE for one in self.ranked)

    @property
    def named(self) -> tuple[Explained, ...]:
        """Those that are named: all, or the first few where so many are about as likely that none is accused."""
        return self.ranked[:_FEW] if self.alike > _MANY else self.ranked


@record(frozen=True, slots=True, kw_only=True)
class After:
    """How circuits would close, one element for each change that is tried."""

    q: Floats  # (n,)
    distance_m: Floats  # (n,) in plan; in height where that alone fails
    rank: Floats  # (n,) twice the negative log-likelihood, less what it was before
    better: Floats  # (n,) by how much the chi-square falls
    mends: Flags  # (n,) it closes as one in a hundred does; of a circuit that closes well: it is not spoilt


@record(frozen=True, slots=True, kw_only=True)
class Whole:
    """How everything would agree, one element for each slip that is tried."""

    rank: Floats  # (n,) twice the negative log-likelihood, less what it was before
    better: Floats  # (n,) by how much the chi-square falls
    fits: Flags  # (n,) nothing is left that would be looked for


@record(frozen=True, slots=True, kw_only=True)
class Changes:
    """What slips do to circuits: one row for each circuit that a slip takes part in."""

    count: int
    """Slips."""
    slip: Indices  # (n,)
    circuit: Indices  # (n,)
    shift_m: Floats  # (n, 3) what the misclosure grows by
    more_m2: Floats  # (n, 3, 3) what its covariance grows by
    pair_slip: Indices  # (m,)
    first: Indices  # (m,) of each two circuits of one slip
    second: Indices  # (m,)
    pair_m2: Floats  # (m, 3, 3) what the covariance between them grows by


@record(frozen=True, slots=True, kw_only=True)
class Check:
    """What was seen or read of one station's place beside the legs: a sight to a known point, a height."""

    steps: tuple[Step, ...]
    """The way from where the piece begins to the station."""
    misclosure_m: Floats  # (3,) the place as walked minus the place as seen
    covariance_m2: Floats  # (3, 3) of what was seen, the walk's own apart
    onto: Floats  # (3, 3) what of a place it tells: a projection


@record(frozen=True, slots=True, kw_only=True)
class Loops:
    """All circuits of a log as arrays, and after them what else checks the walk."""

    closings: tuple[Closing, ...]
    steps: tuple[tuple[Step, ...], ...]
    """Of the circuits, and then of the checks."""
    misclosure_m: Floats  # (n, 3), up 0 where an end has no height
    covariance_m2: Floats  # (n, 3, 3), its up apart and 1 where an end has no height
    flat: Flags  # (n,) an end has no height
    climbs: Flags  # (n,) it comes back to a height, and slopes were read on the way
    onto: Floats | None  # (n, 3, 3) what of a misclosure is told; None where there are circuits alone
    failing: Flags  # (n,)
    in_height: Flags  # (n,) it closes well in plan, and not in height
    q: Floats  # (n,) in plan and in height together
    likelihood: Floats  # (n,) twice the negative logarithm, but for a constant
    limits: tuple[float, float]
    """In plan and in height: a circuit that closes well, and beyond them does no more, is spoilt."""
    together: Together | None
    """Of the circuits, and then of the checks; None where each is judged by itself."""

    @classmethod
    def of(
        cls,
        closings: Sequence[Closing],
        checks: Sequence[Check] = (),
        *,
        vectors: Vectors,
        together: Together | None = None,
    ) -> Loops:
        """The circuits and checks, as they close now."""
        misclosure = np.array([closing.misclosure_m for closing in closings]).reshape(-1, 3)
        covariance = np.array([closing.covariance_m2 for closing in closings]).reshape(-1, 3, 3)
        flat = np.array([closing.q_up is None for closing in closings], dtype=np.bool_)
        misclosure, covariance = _without_up(misclosure, covariance, flat)
        failing = np.array(suspicious(closings), dtype=np.bool_)
        if together is not None and together.fails and not failing.any():
            failing[:] = True
        climbs = np.array([bool(closing.q_up) for closing in closings], dtype=np.bool_)
        in_height = np.array(
            [
                closing.q <= closing.limits.warn and (closing.q_up or 0.0) > closing.limits.warn_up
                for closing in closings
            ],
            dtype=np.bool_,
        )
        onto = None
        if checks:
            walked = [
                vectors.covariance_m2[np.array([step.edge for step in one.steps], dtype=np.intp)].sum(axis=0)
                for one in checks
            ]
            own = [
                one.onto @ walk @ one.onto.T + one.covariance_m2
                for one, walk in zip(checks, walked, strict=True)
            ]
            misclosure = np.concatenate((misclosure, [one.misclosure_m for one in checks]))
            covariance = np.concatenate((covariance, own))
            onto = np.concatenate((np.tile(np.eye(3), (len(closings), 1, 1)), [one.onto for one in checks]))
            flat = np.concatenate((flat, np.zeros(len(checks), dtype=np.bool_)))
            climbs = np.concatenate((climbs, np.zeros(len(checks), dtype=np.bool_)))
            in_height = np.concatenate((in_height, np.zeros(len(checks), dtype=np.bool_)))
            off = chi_squares(misclosure[len(closings) :], usable(covariance[len(closings) :]))
            failing = np.concatenate((failing, off > PLAN_REFUSE))
        steps = (*(closing.circuit.steps for closing in closings), *(one.steps for one in checks))
        if together is not None and onto is not None:
            together = _with_checks(together, steps, onto, flat, misclosure, covariance, vectors)
        return cls(
            closings=tuple(closings),
            steps=steps,
            misclosure_m=misclosure,
            covariance_m2=covariance,
            flat=flat,
            climbs=climbs,
            onto=onto,
            failing=failing,
            in_height=in_height,
            q=chi_squares(misclosure, usable(covariance)),
            likelihood=_likelihood(misclosure, usable(covariance)),
            limits=limits(closings, 0.01),
            together=together,
        )

    def changed(self, circuit: Indices, shift_m: Floats, more_m2: Floats) -> After:
        """Circuits after a change: `shift_m` (n, 3) added to the misclosure, `more_m2` (n, 3, 3) to its covariance."""
        shift_m, more_m2 = self._told(circuit, shift_m), self._told_m2(circuit, circuit, more_m2)
        misclosure, covariance = _without_up(
            settled_all(self.misclosure_m[circuit] + shift_m),
            self.covariance_m2[circuit] + more_m2,
            self.flat[circuit],
        )
        covariance = usable(covariance)
        # What is sound in space may be flat in plan.
        q = chi_squares(misclosure[:, :2], usable(covariance[:, :2, :2]))
        whole = chi_squares(misclosure, covariance)
        q_up = misclosure[:, 2] ** 2 / covariance[:, 2, 2]
        return After(
            q=q,
            distance_m=np.where(
                self.in_height[circuit],
                np.abs(misclosure[:, 2]),
                np.hypot(misclosure[:, 0], misclosure[:, 1]),
            ),
            rank=whole + np.linalg.slogdet(covariance)[1] - self.likelihood[circuit],
            better=self.q[circuit] - whole,
            mends=np.where(
                self.failing[circuit],
                whole < np.where(self.climbs[circuit], SPACE_REFUSE, PLAN_REFUSE),
                (q < self.limits[0]) & (q_up < self.limits[1]),
            ),
        )

    def whole(self, changes: Changes, after: After) -> Whole:
        """Everything at once after each slip; `after` are the same changes circuit by circuit."""

        def of_slip(values: Floats | Flags) -> Floats:
            return np.bincount(changes.slip, weights=values, minlength=changes.count).astype(np.float64)

        if self.together is None:
            fits = np.asarray(of_slip(~after.mends) == 0.0)
            return Whole(rank=of_slip(after.rank), better=of_slip(after.better), fits=fits)
        # Where something else is wrong, all together fails whatever is changed here.
        elsewhere = of_slip(self.failing[changes.circuit]) < self.failing.sum()
        parts = [self._whole_of(changes, first) for first in range(0, changes.count, AT_ONCE)]
        rank, chi_square = (np.concatenate(part) for part in zip(*parts, strict=True))
        return Whole(
            rank=rank,
            better=self.together.q - chi_square,
            fits=(of_slip(~after.mends) == 0.0) & ((chi_square < self.together.limit) | elsewhere),
        )

    def _whole_of(self, changes: Changes, first: int) -> tuple[Floats, Floats]:
        """Rank and chi-square of some slips from one on."""
        assert self.together is not None
        size = len(self.flat)
        count = min(AT_ONCE, changes.count - first)
        gap = np.tile(self.together.misclosure_m, (count, 1)).reshape(count, size, 3)
        blocks = self.together.covariance_m2.reshape(size, 3, size, 3).transpose(0, 2, 1, 3)
        spread = np.tile(blocks, (count, 1, 1, 1, 1))
        here = (changes.slip >= first) & (changes.slip < first + count)
        slip, circuit = changes.slip[here] - first, changes.circuit[here]
        up = np.where(self.flat, 0.0, 1.0)
        keep = np.stack((np.ones(size), np.ones(size), up), axis=1)
        np.add.at(gap, (slip, circuit), keep[circuit] * self._told(circuit, changes.shift_m[here]))
        more = self._told_m2(circuit, circuit, changes.more_m2[here])
        np.add.at(
            spread, (slip, circuit, circuit), keep[circuit][:, :, None] * more * keep[circuit][:, None, :]
        )
        here = (changes.pair_slip >= first) & (changes.pair_slip < first + count)
        slip, a, b = changes.pair_slip[here] - first, changes.first[here], changes.second[here]
        more = keep[a][:, :, None] * self._told_m2(a, b, changes.pair_m2[here]) * keep[b][:, None, :]
        np.add.at(spread, (slip, a, b), more)
        np.add.at(spread, (slip, b, a), more.transpose(0, 2, 1))
        matrix = spread.transpose(0, 1, 3, 2, 4).reshape(count, 3 * size, 3 * size)
        settled_gap = settled_all(gap.reshape(count, 3 * size))
        chi_square = chi_squares(settled_gap, matrix)
        return chi_square + np.linalg.slogdet(matrix)[1] - self._whole_likelihood, chi_square

    @property
    def _whole_likelihood(self) -> float:
        assert self.together is not None
        return self.together.q + float(np.linalg.slogdet(self.together.covariance_m2)[1])

    def _told(self, circuit: Indices, shift_m: Floats) -> Floats:
        """What of shifts is told, (n, 3)."""
        if self.onto is None:
            return shift_m
        return np.asarray((self.onto[circuit] @ shift_m[..., None])[..., 0], dtype=np.float64)

    def _told_m2(self, first: Indices, second: Indices, more_m2: Floats) -> Floats:
        """What of covariances between two circuits each is told, (n, 3, 3)."""
        if self.onto is None:
            return more_m2
        return np.asarray(self.onto[first] @ more_m2 @ self.onto[second].transpose(0, 2, 1), dtype=np.float64)


def _with_checks(
    together: Together,
    steps: Sequence[Sequence[Step]],
    onto: Floats,
    flat: Flags,
    misclosure_m: Floats,
    covariance_m2: Floats,
    vectors: Vectors,
) -> Together:
    """The circuits with what else checks the walk after them."""
    count, circuits = len(steps), len(together.misclosure_m) // 3
    blocks = onto[:, None] @ shared_m2(steps, vectors) @ onto.transpose(0, 2, 1)[None, :]
    blocks[np.arange(count), np.arange(count)] = covariance_m2
    matrix = as_matrix(blocks, flat)
    matrix[: 3 * circuits, : 3 * circuits] = together.covariance_m2
    gap = np.concatenate((together.misclosure_m, misclosure_m[circuits:].reshape(-1)))
    return replace(
        together,
        misclosure_m=gap,
        covariance_m2=matrix,
        freedom=together.freedom + round(float(np.trace(onto[circuits:], axis1=1, axis2=2).sum())),
        q=settled(float(gap @ np.linalg.solve(matrix, gap))),
    )


def chi_squares(misclosure: Floats, covariance: Floats) -> Floats:
    """E' S^-1 e of each, (n,)."""
    solved = np.linalg.solve(covariance, misclosure[..., None])[..., 0]
    return np.asarray((misclosure * solved).sum(axis=-1), dtype=np.float64)


def _likelihood(misclosure: Floats, covariance: Floats) -> Floats:
    value: Floats = chi_squares(misclosure, covariance) + np.linalg.slogdet(covariance)[1]
    return value


def _without_up(misclosure: Floats, covariance: Floats, flat: Flags) -> tuple[Floats, Floats]:
    if flat.any():
        misclosure, covariance = misclosure.copy(), covariance.copy()
        misclosure[flat, 2] = 0.0
        covariance[flat, 2, :] = 0.0
        covariance[flat, :, 2] = 0.0
        covariance[flat, 2, 2] = 1.0
    return misclosure, covariance
