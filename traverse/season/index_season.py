"""A season: every log below a folder, read where it has changed, and shown as a page and as layers."""

from __future__ import annotations

import json
import os
import sqlite3
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Executor
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote

from traverse.command.files import WrongUseError, keep_inside, make_all, make_folder, write_whole
from traverse.record import record
from traverse.season.kept import (
    NAME,
    AtWorkError,
    DamagedError,
    KeptLogs,
    KnownLog,
    UnwritableError,
    is_begun_anew,
)
from traverse.season.logs_below import ENDING, LogsBelow, logs_below
from traverse.season.one_log import Checksums, LogRead, Work, shown
from traverse.season.through import each_done

if TYPE_CHECKING:
    from traverse.season.season_tables import Row, Rows
    from traverse.season.tally import Counting

PAGE, LAYERS, SHEETS = "season.html", "season.gpkg", "sheets"
_SAVED_S = 1.0
"""What is done is kept at least so often, in seconds."""
Progress = Callable[[int, int], None]
"""Told how many logs are read, of how many."""


@record(frozen=True, slots=True, kw_only=True)
class Season:
    """What came of a season."""

    page: Path
    layers: Path | None
    """None where nothing is installed that writes them."""
    standing: Mapping[str, int]
    """How many logs of each standing."""
    read: int
    """Logs that were read; the others were as they were."""
    gone: int
    """Logs of the time before that are no more."""
    clashes: int
    bad: tuple[tuple[str, str], ...]
    """Logs that are not counted for their errors, each with the first."""
    told: tuple[str, ...]
    """What else is to be said, a sentence each."""
    faults: tuple[tuple[str, str], ...]
    """Logs over which the program itself stumbled, each with the details."""
    unwritten: tuple[str, ...] = ()
    """Sheets that could not be written, a sentence each; they are tried again the next time."""


def index_season(
    folder: str | Path,
    output: str | Path | None = None,
    *,
    executor: Executor | None = None,
    processes: int | None = None,
    sheets: bool = False,
    progress: Progress | None = None,
) -> Season:
    """Read every log below a folder that is new or has changed, and write the index: `season.html` and `season.gpkg`.

    `output` is the folder for them, without it `season` in the folder. A link that stands where a file goes is replaced,
    and what it points to is left; none is followed to a folder outside. `executor` may be any of `concurrent.futures`
    whose processes see the folder under the same path; without it, `processes` of this machine, or one for each
    processor. With `sheets` each log gets its PDF as well. The files are the same bytes whoever reads the logs.

    Raises `WrongUseError` where the folder holds no log or can't be read, where the output can't be written or would
    replace what a log reads, where another season is at work in it, and for `processes` below 1. Each file is the old one or the new one whatever happens meanwhile.
    """
    if processes is not None and (type(processes) is not int or processes < 1):
        raise WrongUseError(
            f"processes is a number from 1, or None for one for each processor, not {processes!r}"
        )
    root = _root(folder)
    found = logs_below(root)
    if not found.logs:
        raise WrongUseError(f"{folder}: no log, which is a file ending in {ENDING}, in it or below it")
    place = root / "season" if output is None else Path(output).absolute()
    make_folder(place)
    if output is None:
        keep_inside(place, root)
    place = place.resolve()
    if is_begun_anew(place):
        _spare_named(root, found.logs)
    try:
        kept = KeptLogs(place)
    except AtWorkError:
        raise WrongUseError(
            f"{place}: another season is at work here; let it end, or give another folder by -o"
        ) from None
    except UnwritableError as problem:
        raise WrongUseError(f"{place}: can't be written: {problem}") from problem
    try:
        try:
            return _Indexing(root, place, found, kept).done(executor, processes, progress, sheets=sheets)
        except DamagedError:
            kept.begin_anew()
            return _Indexing(root, place, found, kept).done(executor, processes, progress, sheets=sheets)
    except (UnwritableError, sqlite3.DatabaseError) as problem:
        raise WrongUseError(f"{place / NAME}: can't be written: {problem}") from problem
    finally:
        kept.close()


def _spare_named(root: Path, logs: Sequence[str]) -> None:
    """Raises `WrongUseError` where a log names a file as the state is named, which may be what stands there."""
    for one in logs:
        try:
            named = NAME.encode() in (root / one).read_bytes()
        except OSError:
            continue
        if named:
            raise WrongUseError(f"{one}: names {NAME}, which a season writes; give that file another name")


def _spare_other_page(page: Path) -> None:
    """Raises `WrongUseError` where a page of somebody else stands under the name of that of a season."""
    from traverse.season.season_page import BEGINNING

    ours = BEGINNING.encode()
    if page.is_symlink():
        return
    try:
        with page.open("rb") as file:
            head = file.read(len(ours))
    except OSError:
        # What is not there is spared; what can't be read is told where it is written.
        return
    if not ours.startswith(head):
        raise WrongUseError(f"{page}: is there already, and not from this program; give another folder by -o")


def _root(folder: str | Path) -> Path:
    root = Path(folder)
    try:
        if not root.is_dir():
            what = (
                "is a file; give the folder that holds the logs"
                if root.exists()
                else "there is no such folder"
            )
            raise WrongUseError(f"{folder}: {what}")
        return root.resolve()
    except (OSError, ValueError) as problem:
        raise WrongUseError(
            f"{folder}: can't be read: {getattr(problem, 'strerror', None) or problem}"
        ) from problem


class _Indexing:
    """One run over one folder."""

    def __init__(self, root: Path, place: Path, found: LogsBelow, kept: KeptLogs) -> None:
        self._root, self._place, self._found, self._kept = root, place, found, kept
        self._known = dict(kept.known())
        self._faults: list[tuple[str, str]] = []
        self._unwritten: list[str] = []

    def done(
        self, executor: Executor | None, processes: int | None, progress: Progress | None, *, sheets: bool
    ) -> Season:
        due = self._due(sheets=sheets)
        works = [Work(str(self._root), path, sheets) for path in due]
        if progress is not None and works:
            progress(0, len(works))
        saved = time.monotonic()
        for count, one in enumerate(each_done(works, executor=executor, processes=processes), start=1):
            self._keep(one, sheets=sheets)
            if progress is not None:
                progress(count, len(works))
            if time.monotonic() - saved > _SAVED_S:
                self._kept.save()
                saved = time.monotonic()
        gone = sorted(set(self._known) - set(self._found.logs))
        self._kept.drop(gone)
        self._kept.save()
        self._sweep()
        return self._shown(len(works), len(gone))

    def _due(self, *, sheets: bool) -> list[str]:
        """Logs that are new, that differ from what was read, or that lack a sheet."""
        sums = Checksums()
        return [
            path
            for path in self._found.logs
            if (known := self._known.get(path)) is None
            or (sheets and not self._has_sheet(known))
            or not sums.as_it_was(str(self._root), path, known.seen)
        ]

    def _has_sheet(self, known: KnownLog) -> bool:
        if not known.sheet:
            return known.sheet is not None
        target = self._place / known.sheet
        return target.is_file() and not target.is_symlink()

    def _keep(self, one: LogRead, *, sheets: bool) -> None:
        if one.fault is not None:
            self._faults.append((shown(one.path), one.fault))
        # Empty where one was asked for and none can be drawn.
        sheet = "" if sheets else None
        if one.sheet is not None:
            name = one.path.removesuffix(ENDING) + ".pdf"
            sheet = str(Path(SHEETS) / name)
            target = self._place / sheet
            keep_inside(self._place / SHEETS, self._place)
            try:
                keep_inside(target.parent, self._place)
                make_folder(target.parent)
                write_whole(str(target), one.sheet, replace_links=True, alone=True)
            except WrongUseError as problem:
                # One that is due still, and no reason to lose the others.
                self._unwritten.append(shown(str(problem)))
                sheet = None
        self._kept.put(one, sheet)

    def _sweep(self) -> None:
        """Sheets of logs that have changed since or are gone no longer show what is so."""
        now = {known.sheet for _, known in self._kept.known()}
        for known in self._known.values():
            if known.sheet and known.sheet not in now:
                keep_inside((self._place / known.sheet).parent, self._place)
                (self._place / known.sheet).unlink(missing_ok=True)

    def _shown(self, read: int, gone: int) -> Season:
        """Write page and layers, unless they are there and show what is kept."""
        from traverse.output.gis.extras import lacks

        missing = lacks("pyogrio", extra="gis", what="GeoPackage")
        page, layers = self._place / PAGE, self._place / LAYERS
        outputs = [page, *([] if missing else [layers])]
        told = list(self._told())
        if missing:
            told.append(f"no {LAYERS} was written: {missing}")
        mark = json.dumps([self._link(self._root), told])
        summary = self._kept.shown(mark, outputs)
        if summary is None:
            summary = self._write(told, with_layers=not missing)
            self._kept.showing(mark, outputs, summary)
        return Season(
            page=page,
            layers=None if missing else layers,
            standing=summary["standing"],
            read=read,
            gone=gone,
            clashes=summary["clashes"],
            bad=tuple((path, words) for path, words in summary["bad"]),
            told=tuple(told),
            faults=tuple(self._faults),
            unwritten=tuple(self._unwritten),
        )

    def _spare(self, outputs: Sequence[Path]) -> None:
        """Raises `WrongUseError` where a file that a log reads would be replaced."""
        there = {(at.st_dev, at.st_ino): one for one in outputs if (at := _stat(one)) is not None}
        for path, known in self._kept.known() if there else ():
            # By the folder that a log's names count from, as `LogFiles.load` has it.
            folder = (self._root / path).resolve().parent if len(known.seen) > 1 else self._root
            for name, _ in known.seen[1:]:
                at = _stat(folder / str(name))
                if at is not None and (at.st_dev, at.st_ino) in there:
                    raise WrongUseError(
                        f"{there[at.st_dev, at.st_ino]}: {shown(path)} reads this file, so it is not replaced; give "
                        "another folder for the index by -o, or the file another name"
                    )

    def _rows(self, standing: Mapping[str, Counting]) -> Iterator[tuple[str, Rows]]:
        """The rows of each log, with how it stands; of what is not counted those of the log itself and its messages."""
        from traverse.season.tally import COUNTED, WITH_ERRORS

        for path, rows in self._kept.rows(self._found.logs):
            log = rows["logs"][0]
            log["standing"], log["of"] = standing[log["path"]]
            whole = log["standing"] in {COUNTED, WITH_ERRORS}
            yield path, rows if whole else {name: rows[name] for name in ("logs", "messages") if name in rows}

    def _write(self, told: Sequence[str], *, with_layers: bool) -> Row:
        """Both files from the rows, and what is told of them."""
        # What is written is imported where it is: most runs find nothing changed.
        from traverse.layers.records import About
        from traverse.season.season_cautions import season_cautions
        from traverse.season.season_layers import write_layers
        from traverse.season.season_page import Linked, write_page
        from traverse.season.tally import Tally, standings

        known = dict(self._kept.known())
        paths = self._found.logs
        standing = standings((shown(path), known[path].seen, rows) for path, rows in self._kept.rows(paths))
        tally = Tally()
        for _, rows in self._rows(standing):
            tally.take(rows)
        clashes = list(tally.clashes.rows())
        title = shown(self._root.name) or shown(str(self._root))
        cautions = season_cautions(tally, told)

        def linked() -> Iterator[Linked]:
            for path, rows in self._rows(standing):
                sheet = rows["logs"][0]["sheet"]
                there = sheet is not None and (self._place / sheet).is_file()
                yield Linked(
                    rows, self._link(self._root / path), self._link(self._place / sheet) if there else None
                )

        def make_layers(path: Path) -> None:
            rows = chain([{"clashes": clashes}], (rows for _, rows in self._rows(standing)))
            last = max(tally.days, default=None)
            write_layers(
                path, About(title=title, date=last, told=tuple(("caution", one) for one in cautions)), rows
            )

        def make_page(path: Path) -> None:
            write_page(path, title, tally, clashes, cautions, linked())

        files: list[tuple[str, Callable[[Path], object]]] = [(str(self._place / PAGE), make_page)]
        if with_layers:
            files.insert(0, (str(self._place / LAYERS), make_layers))
        self._spare([Path(name) for name, _ in files])
        _spare_other_page(self._place / PAGE)
        make_all(files, replace_links=True, alone=True)
        return {"standing": dict(tally.standing), "clashes": len(clashes), "bad": tally.bad}

    def _link(self, target: Path) -> str | None:
        """A file as a link from the folder of the index; None where no path leads there."""
        try:
            return quote(os.fsencode(os.path.relpath(target, self._place).replace(os.sep, "/")))
        except ValueError:
            return None

    def _told(self) -> Iterator[str]:
        outside = [shown(one) for one in self._found.outside]
        if outside:
            what = "a link leads" if len(outside) == 1 else f"{len(outside)} links lead"
            yield f"{what} out of the folder, or nowhere, and {'is' if len(outside) == 1 else 'are'} left out: {_few(outside)}"
        for where in self._found.no_files:
            yield f"{shown(where)}: is a pipe or a device, and no file; it is left out"
        for where, why in self._found.shut:
            yield f"{shown(where)}: can't be looked into: {why}"
        if self._kept.anew is not None:
            yield f"every log was read again: {self._kept.anew}"


def _stat(path: Path) -> os.stat_result | None:
    try:
        return path.stat()
    except (OSError, ValueError):
        return None


def _few(names: Sequence[str]) -> str:
    more = len(names) - _MOST_NAMED
    return ", ".join(names[:_MOST_NAMED]) + (f" and {more} more" if more > 0 else "")


_MOST_NAMED = 5
"""Names that a sentence lists."""
