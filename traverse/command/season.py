"""`traverse season FOLDER`: every log below a folder as one index, a page and a GeoPackage."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from traverse.command.files import WrongUseError, complain, details_of, say, warn
from traverse.notation.text import shortened
from traverse.numerals import NO_BREAK

if TYPE_CHECKING:
    from traverse.season.index_season import Progress, Season

_MOST_TOLD = 20
"""Logs with errors that are told one by one."""


def run(options: argparse.Namespace) -> int:
    """The index once, or again and again with `--watch`; 1 where a log has errors, and the others are shown."""
    if options.processes is not None and options.processes < 1:
        return complain("--processes takes a number from 1")
    if options.watch:
        from traverse.season.watch import watch

        folder = Path(options.folder).resolve()
        output = folder / "season" if options.output is None else Path(options.output).resolve()
        warn("following the logs; a key stops it: Ctrl and C")
        return watch(folder, output, lambda: _once(options))
    return _once(options)


def _once(options: argparse.Namespace) -> int:
    from traverse.season.index_season import index_season

    try:
        with _bar() as progress:
            season = index_season(
                options.folder,
                options.output,
                processes=options.processes,
                sheets=options.sheets,
                progress=progress,
            )
    except WrongUseError as problem:
        return complain(str(problem))
    return _tell(season)


@contextmanager
def _bar() -> Iterator[Progress | None]:
    """A bar where stderr is a terminal. It draws only when it is told of a log: no thread beside the processes."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (TextColumn("reading logs"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    bar = Progress(*columns, console=Console(file=sys.stderr), auto_refresh=False, transient=True)

    def progress(done: int, of: int) -> None:
        if not bar.task_ids:
            bar.start()
            bar.add_task("", total=of)
        bar.update(bar.task_ids[0], completed=done)
        bar.refresh()

    try:
        yield progress
    finally:
        bar.stop()


def _last(details: str) -> str:
    """What stopped it, out of the details."""
    return shortened(details.strip().rpartition("\n")[2], 120)


def _tell(season: Season) -> int:
    for path, details in season.faults:
        warn(
            f"traverse: {path}: a fault of this program, not of your page ({_last(details)}). "
            f"Details are in {details_of(details)}",
        )
    for words in season.unwritten:
        warn(f"traverse: {words}; the next run with --sheets tries again")
    for words in season.told:
        warn(f"traverse: {words}")
    for path, words in season.bad[:_MOST_TOLD]:
        warn(f"{path}: not counted: {words.replace(NO_BREAK, ' ')}")
    if len(season.bad) > _MOST_TOLD:
        warn(f"and {len(season.bad) - _MOST_TOLD} more, which the page lists")
    logs = sum(season.standing.values())
    order = sorted(season.standing.items(), key=lambda one: (one[0] != "counted", one[0]))
    stood = ", ".join(f"{count} {name}" for name, count in order)
    changed = f"{season.read} read, {logs - season.read} as before"
    gone = f", {season.gone} gone" if season.gone else ""
    say(f"{logs} log{'' if logs == 1 else 's'}: {stood}; {changed}{gone}.")
    if season.clashes:
        say(
            f"{season.clashes} clash{'' if season.clashes == 1 else 'es'} between logs, which the page lists."
        )
    say(f"Page: {season.page}")
    if season.layers is not None:
        say(f"Layers: {season.layers}")
    if season.faults:
        return 3
    return 2 if season.unwritten else int(bool(season.bad))
