"""Which readings count: those that neither another party nor a question of the structure says are something else."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from traverse.diagnostic import Diagnostic
from traverse.log.records import Log
from traverse.source import Span
from traverse.structure.readings.records import JointOutcrop

_NO_BEDDING = frozenset({"bed-slipped", "crossbed-as-bed", "dips-with-slope", "party-attitudes"})
"""Questions whether a reading is a slip of the pen, or no bedding in place; one may be a fold is not among them."""


def not_counted(log: Log, shared: Sequence[JointOutcrop], asked: Iterable[Diagnostic]) -> frozenset[Span]:
    """Readings that nothing is constructed from until they are settled.

    Those that lie out where parties measured one outcrop, and those that a warning says may be no bedding, or written
    wrong. A `ruling` and a `checked` settle them.
    """
    settled = {(one.of.file, one.of.line) for one in log.checked}
    disputed = {
        one.span
        for outcrop in shared
        for one, out in zip(outcrop.read, outcrop.out, strict=True)
        if out and (one.span.file, one.span.line) not in settled
    }
    doubted = {
        span
        for one in asked
        if one.code in _NO_BEDDING and one.span is not None
        if (one.span.file, one.span.line) not in settled
        for span in (one.span, *one.doubts)
    }
    return frozenset(disputed | doubted)
