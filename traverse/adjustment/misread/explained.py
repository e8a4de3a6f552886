"""Loops as they would close, were a reading another."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from traverse.adjustment.closure import suspicious, usable
from traverse.adjustment.misread.slips import Slip
from traverse.adjustment.records import Closing, Flags, Floats, Indices, Step, Vectors
from traverse.record import record
from traverse.settled import settled_all
from traverse.trade import PLAN_REFUSE, UP_REFUSE


@record(frozen=True, slots=True, kw_only=True)
class Explained:
    """A slip, and how the circuit would close without it."""

    slip: Slip
    rank: float
    """Twice the negative log-likelihood over all evidence, less that of the log as it stands."""
    misclosure_after_m: float
    q_after: float


@record(frozen=True, slots=True, kw_only=True)
class Explanation:
    """What would explain one circuit."""

    ranked: tuple[Explained, ...]
    """The likeliest first."""
    decides: str | None
    """The one thing to do on the ground that tells the first two apart; None where there are no two."""
    together: tuple[Slip, Slip] | None = None
    """Where no slip alone explains it: the two that do, if no others are nearly as likely."""


@record(frozen=True, slots=True, kw_only=True)
class After:
    """How circuits would close, one element for each change that is tried."""

    q: Floats  # (n,)
    distance_m: Floats  # (n,)
    rank: Floats  # (n,) twice the negative log-likelihood, less what it was before
    better: Floats  # (n,) by how much the chi-square falls
    mends: Flags  # (n,) q < 9.21 and q_up < 6.63; of a circuit that closes well: it is not spoilt


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
    onto: Floats | None  # (n, 3, 3) what of a misclosure is told; None where there are circuits alone
    failing: Flags  # (n,)
    q: Floats  # (n,) in plan and in height together
    likelihood: Floats  # (n,) twice the negative logarithm, but for a constant

    @classmethod
    def of(cls, closings: Sequence[Closing], checks: Sequence[Check] = (), *, vectors: Vectors) -> Loops:
        """The circuits and checks, as they close now."""
        misclosure = np.array([closing.misclosure_m for closing in closings]).reshape(-1, 3)
        covariance = np.array([closing.covariance_m2 for closing in closings]).reshape(-1, 3, 3)
        flat = np.array([closing.q_up is None for closing in closings], dtype=np.bool_)
        misclosure, covariance = _without_up(misclosure, covariance, flat)
        failing = np.array(suspicious(closings), dtype=np.bool_)
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
            off = chi_squares(misclosure[len(closings) :], usable(covariance[len(closings) :]))
            failing = np.concatenate((failing, off > PLAN_REFUSE))
        return cls(
            closings=tuple(closings),
            steps=(*(closing.circuit.steps for closing in closings), *(one.steps for one in checks)),
            misclosure_m=misclosure,
            covariance_m2=covariance,
            flat=flat,
            onto=onto,
            failing=failing,
            q=chi_squares(misclosure, usable(covariance)),
            likelihood=_likelihood(misclosure, usable(covariance)),
        )

    def changed(self, circuit: Indices, shift_m: Floats, more_m2: Floats) -> After:
        """Circuits after a change: `shift_m` (n, 3) added to the misclosure, `more_m2` (n, 3, 3) to its covariance."""
        if self.onto is not None:
            onto = self.onto[circuit]
            shift_m = (onto @ shift_m[..., None])[..., 0]
            more_m2 = onto @ more_m2 @ onto.transpose(0, 2, 1)
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
            distance_m=np.hypot(misclosure[:, 0], misclosure[:, 1]),
            rank=whole + np.linalg.slogdet(covariance)[1] - self.likelihood[circuit],
            better=self.q[circuit] - whole,
            mends=(q_up < UP_REFUSE) & (q < PLAN_REFUSE),
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
