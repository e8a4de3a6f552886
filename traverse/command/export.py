"""`traverse export LOG --to FORMAT`: the data for other programs."""

from __future__ import annotations

import argparse
from pathlib import Path

from traverse.command.files import (
    STANDARD,
    LogFiles,
    WrongUseError,
    complain,
    make_folder,
    tell,
    write_all,
    write_whole,
)
from traverse.compile import Compiled, compile_log


def run(options: argparse.Namespace) -> int:
    """JSON is written even for a log with errors: its messages are part of it, and the exit status tells."""
    try:
        return _export(options)
    except WrongUseError as problem:
        return complain(str(problem))


def _export(options: argparse.Namespace) -> int:
    files, output = LogFiles(options.log), options.output or STANDARD
    files.spare(output)
    if options.table and options.to != "csv":
        raise WrongUseError("--table goes with --to csv")
    source, unread = files.source()
    if source is None:
        tell(unread, {})
        return 1
    compiled = compile_log(source, load=files.load)
    files.spare(output)
    tell(compiled.diagnostics, dict(compiled.sources))
    match options.to:
        case "json":
            _json(compiled, output)
        case "csv":
            if compiled.trav is not None:
                _csv(compiled, files, output, options.table)
        case _:
            raise LookupError(f"nothing writes {options.to}")
    return 1 if compiled.failed else 0


def _json(compiled: Compiled, output: str) -> None:
    from traverse.output.json_file import write_json

    write_whole(output, write_json(compiled.log, compiled.trav, compiled.diagnostics))


def _csv(compiled: Compiled, files: LogFiles, output: str, table: str | None) -> None:
    from traverse.output.csv_file import TABLES, write_csv

    assert compiled.trav is not None
    if table is not None and table not in TABLES:
        raise WrongUseError(f"no table {table!r}; there are {', '.join(TABLES)}")
    if output == STANDARD or table is not None or output.lower().endswith(".csv"):
        write_whole(output, write_csv(table or "stations", compiled.trav))
        return
    folder = Path(output)
    make_folder(folder)
    made = [(str(folder / f"{name}.csv"), write_csv(name, compiled.trav)) for name in TABLES]
    for name, _ in made:
        files.spare(name)
    write_all(made)
