"""Loops as they would close, were a reading another."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from traverse.adjustment.closure import is_suspicious, usable
from traverse.adjustment.records import Closing, Flags, Floats, Indices
from traverse.adjustment.slips import Slip
from traverse.record import record
from traverse.settled import settled_all
from traverse.trade import PLAN_REFUSE, PLAN_WARN, UP_REFUSE


@record(frozen=True, slots=True, kw_only=True)
class Explained:
    """A slip, and how the circuit would close without it."""

    slip: Slip
    misclosure_after_m: float
    q_after: float


@record(frozen=True, slots=True, kw_only=True)
class Explanation:
    """What would explain one circuit."""

    ranked: tuple[Explained, ...]
    """The likeliest first."""
    decides: str | None
    """The one thing to do on the ground that tells the first two apart; None where there are no two."""


@record(frozen=True, slots=True, kw_only=True)
class After:
    """How circuits would close, one element for each change that is tried."""

    q: Floats  # (n,)
    distance_m: Floats  # (n,)
    rank: Floats  # (n,) twice the negative log-likelihood, less what it was before
    mends: Flags  # (n,) q < 5.99 and q_up < 6.63; of a circuit that closes well: it is not spoilt
    may_mend: Flags  # (n,) the same with q < 9.21


@record(frozen=True, slots=True, kw_only=True)
class Loops:
    """All circuits of a log as arrays."""

    closings: tuple[Closing, ...]
    misclosure_m: Floats  # (n, 3), up 0 where an end has no height
    covariance_m2: Floats  # (n, 3, 3), its up apart and 1 where an end has no height
    flat: Flags  # (n,) an end has no height
    failing: Flags  # (n,)
    likelihood: Floats  # (n,) twice the negative logarithm, but for a constant

    @classmethod
    def of(cls, closings: Sequence[Closing]) -> Loops:
        """The circuits, as they close now."""
        misclosure = np.array([closing.misclosure_m for closing in closings]).reshape(-1, 3)
        covariance = np.array([closing.covariance_m2 for closing in closings]).reshape(-1, 3, 3)
        flat = np.array([closing.q_up is None for closing in closings], dtype=np.bool_)
        misclosure, covariance = _without_up(misclosure, covariance, flat)
        return cls(
            closings=tuple(closings),
            misclosure_m=misclosure,
            covariance_m2=covariance,
            flat=flat,
            failing=np.array([is_suspicious(closing) for closing in closings], dtype=np.bool_),
            likelihood=_likelihood(misclosure, usable(covariance)),
        )

    def changed(self, circuit: Indices, shift_m: Floats, more_m2: Floats) -> After:
        """Circuits after a change: `shift_m` (n, 3) added to the misclosure, `more_m2` (n, 3, 3) to its covariance."""
        misclosure, covariance = _without_up(
            settled_all(self.misclosure_m[circuit] + shift_m),
            self.covariance_m2[circuit] + more_m2,
            self.flat[circuit],
        )
        covariance = usable(covariance)
        # What is sound in space may be flat in plan.
        q = chi_squares(misclosure[:, :2], usable(covariance[:, :2, :2]))
        q_up = misclosure[:, 2] ** 2 / covariance[:, 2, 2]
        failing = self.failing[circuit]
        good_up = q_up < UP_REFUSE
        return After(
            q=q,
            distance_m=np.hypot(misclosure[:, 0], misclosure[:, 1]),
            rank=_likelihood(misclosure, covariance) - self.likelihood[circuit],
            mends=good_up & (q < np.where(failing, PLAN_WARN, PLAN_REFUSE)),
            may_mend=good_up & (q < PLAN_REFUSE),
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
