"""Logs through an executor: few of them waiting at a time, and none that ends a process ends the others."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from typing import TYPE_CHECKING

from traverse.season.one_log import LogRead, Work, one_log, packed, shown

if TYPE_CHECKING:
    from concurrent.futures import ProcessPoolExecutor

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

    Without an executor so many processes are begun, and no more than the machine has processors; few logs are read in
    this one. A log on which a process ends is tried once more alone, and said to be unread where it ends that as well.
    What an executor of the caller's fails at is read on this machine.
    """
    lost: list[Work] = []
    rest = iter(works)
    if executor is not None:
        yield from _through(executor, rest, lost)
        if not lost:
            return
    count = min(processes or processors(), processors(), len(works) // _FEW + 1)
    if executor is None and count == 1:
        yield from map(one_log, rest)
        return
    _warm()
    broken = True
    while broken:
        # A process that ends takes its pool with it; what is left goes through another.
        before = len(lost)
        pool = _pool(count)
        try:
            yield from _through(pool, rest, lost)
        finally:
            pool.shutdown(cancel_futures=True)
        broken = len(lost) > before
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
    from concurrent.futures.process import BrokenProcessPool

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
    from concurrent.futures import ProcessPoolExecutor

    return ProcessPoolExecutor(count, initializer=_begin)


_SHORT = "notation 1\nbearings true\nat 1\nto 2 090 30m\nto 3 180 40m\nclose 1 323 50m\n"


def _warm() -> None:
    """Read a log of no length: where processes are copies of this one, each then has all that it needs."""
    from traverse.compile import compile_log
    from traverse.season.day_rows import day_rows
    from traverse.source import Source

    day_rows("", compile_log(Source(name="", text=_SHORT), load=lambda _: b""))


def _begin() -> None:
    """A process stops with the one that began it, not at a key."""
    import multiprocessing

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent.sentinel,), daemon=True).start()


def _end_with(sentinel: int) -> None:
    from multiprocessing.connection import wait as wait_for

    wait_for([sentinel])
    os._exit(1)
