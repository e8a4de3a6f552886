"""`traverse compare KEY LOG…`: parties against the leader's log."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path, PurePath
from typing import NamedTuple

from traverse.command.drawing import spare_others
from traverse.command.files import (
    STANDARD,
    LogFiles,
    WrongUseError,
    as_text,
    complain,
    count,
    make_folder,
    one_place,
    refuse_left_over,
    tell,
    warn,
    write_all,
    write_whole,
)
from traverse.command.own_tables import with_sums
from traverse.command.reported import print_parts, refuse_closed
from traverse.compare.against_key import NoSharedStationError, against_key
from traverse.compare.records import Reveal, Scheme
from traverse.compare.scheme import read_scheme
from traverse.compile import Compiled, compile_log
from traverse.diagnostic import Diagnostic
from traverse.length import Lengths
from traverse.output.comparison_json import Compared, comparison_json
from traverse.source import Source
from traverse.wording import told_apart

LEADER = "leader"
"""The folder of what is handed to nobody."""
_MANY = 8
"""Logs from which on two processes are quicker than one."""


class _Job(NamedTuple):
    """A log to compare, and what it is called."""

    path: str
    shown: str


class _Done(NamedTuple):
    compared: Compared
    sources: dict[str, Source]
    status: int


def run(options: argparse.Namespace) -> int:
    """What is wrong with a log is told, and the others go on; the highest exit status."""
    try:
        return _compare(options)
    except WrongUseError as problem:
        return complain(str(problem))


def _compare(options: argparse.Namespace) -> int:
    if options.output is None and options.to is None:
        refuse_closed()
    outcome, text = read_scheme(options.marks)
    if outcome.value is None:
        tell(outcome.diagnostics, {} if text is None else {text.name: text})
        return 2
    jobs = _jobs(options)
    key, _, said = _compiled(options.key, options.key)
    if key is None or key.trav is None:
        tell(
            said if key is None else key.diagnostics,
            {} if key is None else dict(key.sources),
            of=options.key,
        )
        warn(
            f"{options.key}: the key has {count(said if key is None else key.diagnostics)}; mend it first",
        )
        return 1
    scheme = outcome.value
    _KEYS[options.key, options.marks] = key, outcome.value
    if options.output is not None:
        make_folder(Path(options.output) / LEADER)
    done = _all(jobs, options.key, options.marks)
    for one in done:
        wrong = tuple(said for said in one.compared.diagnostics if said.kind == "error")
        tell(wrong, one.sources, of=one.compared.name)
    compared = [one.compared for one in done]
    if options.output is not None:
        _write(compared, outcome.value, options, key.trav.log.lengths)
    if options.to == "json":
        write_whole(STANDARD, comparison_json(compared, outcome.value))
    else:
        from traverse.output.comparison_text import comparison_parts

        print_parts(lambda _: comparison_parts(compared, scheme))
    return max(one.status for one in done)


def _jobs(options: argparse.Namespace) -> list[_Job]:
    """Raises `WrongUseError` for a log that is the key, or that is named twice."""
    seen = {one_place(options.key): "the key"}
    for name in options.logs:
        place = one_place(name)
        if place in seen:
            what = "is the key itself" if seen[place] == "the key" else "is named twice"
            raise WrongUseError(f"{name}: {what}; one key, then each party's log once")
        seen[place] = name
    return [
        _Job(name, f"P{number}" if options.ids else as_text(name))
        for number, name in enumerate(options.logs, start=1)
    ]


def _compiled(path: str, shown: str) -> tuple[Compiled | None, LogFiles, tuple[Diagnostic, ...]]:
    files = LogFiles(path)
    source, unread = files.source()
    if source is None:
        return None, files, unread
    return compile_log(Source(name=shown, text=source.text), load=files.load), files, ()


def _all(jobs: Sequence[_Job], key: str, marks: str | None) -> list[_Done]:
    """Every log, in their order; many over two processes, with a bar where stderr is a terminal."""
    works = [(job, key, marks) for job in jobs]
    if len(jobs) < _MANY or STANDARD in {key, *(job.path for job in jobs)}:
        return [_one(work) for work in works]
    from concurrent.futures import ProcessPoolExecutor

    from rich.console import Console
    from rich.progress import track

    console = Console(file=sys.stderr)
    with ProcessPoolExecutor(2) as pool:
        found = pool.map(_one, works)
        shown = track(found, "comparing", len(works), console=console, disable=not sys.stderr.isatty())
        return list(shown)


_KEYS: dict[tuple[str, str | None], tuple[Compiled, Scheme]] = {}
"""Key and scheme as read, once in each process: standard input can't be read twice."""


def _key(path: str, marks: str | None) -> tuple[Compiled, Scheme]:
    if (path, marks) not in _KEYS:
        compiled, scheme = _compiled(path, path)[0], read_scheme(marks)[0].value
        assert compiled is not None
        assert scheme is not None
        _KEYS[path, marks] = compiled, scheme
    return _KEYS[path, marks]


def _one(work: tuple[_Job, str, str | None]) -> _Done:
    job, path, marks = work
    key, scheme = _key(path, marks)
    assert key.trav is not None
    try:
        compiled, files, unread = _compiled(job.path, job.shown)
    except WrongUseError as problem:
        words = str(problem) if job.path == job.shown else str(problem).replace(job.path, job.shown)
        return _Done(Compared(name=job.shown, comparison=None, problem=words), {}, 2)
    if compiled is None:
        return _Done(
            Compared(name=job.shown, comparison=None, diagnostics=unread, problem="is no text"), {}, 1
        )
    sources = dict(compiled.sources)
    if compiled.trav is None:
        why = f"{count(compiled.diagnostics)}; mend these first"
        one = Compared(name=job.shown, comparison=None, diagnostics=compiled.diagnostics, problem=why)
        return _Done(one, sources, 1)
    try:
        comparison = against_key(
            job.shown,
            compiled,
            key.trav,
            scheme,
            files.load,
            unnamed=job.path != job.shown,
            path=job.path,
        )
    except NoSharedStationError as none:
        return _Done(Compared(name=job.shown, comparison=None, problem=str(none)), sources, 1)
    return _Done(Compared(name=job.shown, comparison=comparison), sources, 0)


def _write(
    compared: Sequence[Compared], scheme: Scheme, options: argparse.Namespace, lengths: Lengths
) -> None:
    """A page for each party, and in a folder of their own the leader's table and what several parties measured."""
    from traverse.compare.spread import shared_outcrops
    from traverse.output.comparison_csv import marks_csv
    from traverse.output.pdf import write_pdf
    from traverse.sheet.compared.handed import hand_back
    from traverse.sheet.compared.pages import leader_document, party_document, spread_document

    folder, reveal = Path(options.output), Reveal(options.reveal)
    names = dict(zip([one.name for one in compared], told_apart([one.name for one in compared]), strict=True))
    comparisons = [
        replace(one.comparison, log=names[one.name]) for one in compared if one.comparison is not None
    ]
    left_out = [(names[one.name], one.problem) for one in compared if one.problem is not None]
    named: dict[str, int] = {}
    made: list[tuple[str, bytes]] = []
    for one in comparisons:
        file = "-".join(PurePath(one.log).parts).replace("..", "").strip("-/")
        named[file] = named.get(file, 0) + 1
        name = file if named[file] == 1 else f"{file}-{named[file]}"
        page = party_document(hand_back(one, scheme, reveal, lengths), lengths)
        made.append((str(folder / f"{name}-feedback.pdf"), write_pdf(page)))
    refuse_left_over(folder, "*-feedback.pdf", [name for name, _ in made], "a page")
    own = folder / LEADER
    made += [
        *with_sums(
            own, [(str(own / "marks.csv"), marks_csv(compared, scheme))], remedy="name another folder with -o"
        ),
        (str(own / "marks.pdf"), write_pdf(leader_document(comparisons, left_out, scheme))),
        (str(own / "spread.pdf"), write_pdf(spread_document(shared_outcrops(comparisons)))),
    ]
    for name, _ in made:
        if name.endswith(".pdf"):
            spare_others(name)
    write_all(made)
