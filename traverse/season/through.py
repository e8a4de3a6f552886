"""Logs through an executor: few of them waiting at a time, and none that ends a process ends the others."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from multiprocessing.connection import wait as wait_for

from traverse.season.one_log import LogRead, Work, one_log, packed, shown

_WAITING = 64
"""Logs that are given out and not yet done: what comes back is small, but not of ten thousand at once."""
_FEW = 4
"""Logs below which further processes cost more than they save."""


def processors() -> int:
    """How many this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def each_done(
    works: Sequence[Work], *, executor: Executor | None, processes: int | None
) -> Iterator[LogRead]:
    """What came of every log, in the order in which they are done.

    Without an executor so many processes are begun, or as many as the machine has processors; few logs are read in
    this one. A log on which a process ends is tried once more alone, and said to be unread where it ends that as well.
    """
    lost: list[Work] = []
    if executor is not None:
        yield from _through(executor, iter(works), lost)
    else:
        count = min(processes or processors(), len(works) // _FEW + 1)
        if count == 1:
            yield from map(one_log, works)
            return
        waiting = iter(works)
        before = -1
        while before < len(lost):
            # A process that ends takes its pool with it; what is left goes through another.
            before = len(lost)
            pool = _pool(count)
            try:
                yield from _through(pool, waiting, lost)
            finally:
                pool.shutdown(cancel_futures=True)
    for work in lost:
        yield _alone(work)


def _through(executor: Executor, works: Iterator[Work], lost: list[Work]) -> Iterator[LogRead]:
    """Until the works are done or one is lost, which is taken note of."""
    waiting: dict[Future[LogRead], Work] = {}
    before = len(lost)
    more = True
    while more or waiting:
        while more and len(waiting) < _WAITING:
            work = next(works, None)
            if work is None:
                more = False
                break
            try:
                waiting[executor.submit(one_log, work)] = work
            except Exception:  # noqa: BLE001 whatever an executor of the caller's fails by, its logs are read here
                lost.append(work)
                more = False
        if waiting:
            done, _ = wait(waiting, return_when=FIRST_COMPLETED)
            for future in done:
                work = waiting.pop(future)
                try:
                    result = future.result()
                except Exception:  # noqa: BLE001 as above
                    lost.append(work)
                else:
                    yield result
        more = more and len(lost) == before


def _alone(work: Work) -> LogRead:
    pool = _pool(1)
    try:
        return pool.submit(one_log, work).result()
    except BrokenProcessPool:
        from traverse.season.day_rows import unread_rows

        rows = unread_rows(
            shown(work.path), "the process that read it was ended; the memory may not suffice for it"
        )
        return LogRead(work.path, [["", None]], packed(rows), None, None)
    finally:
        pool.shutdown(cancel_futures=True)


def _pool(count: int) -> ProcessPoolExecutor:
    return ProcessPoolExecutor(count, initializer=_begin)


def _begin() -> None:
    """A process stops with the one that began it, not at a key."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent.sentinel,), daemon=True).start()


def _end_with(sentinel: int) -> None:
    wait_for([sentinel])
    os._exit(1)
