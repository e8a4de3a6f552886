"""The command line: `traverse COMMAND …` or `python -m traverse COMMAND …`."""

from __future__ import annotations

import gc
import importlib
import os
import sys

TYPE_CHECKING = False
"""As in `typing`: what is loaded here is loaded before a key that stops the program can end it without a word."""
if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import NoReturn, TextIO


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; the exit status."""
    # Matrices here are small: a second thread of the linear algebra only waits for the first, or takes another process's core.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from traverse.command.line import empty_name, parser

    # Whoever closed a stream wants nothing on it; the work goes on.
    sys.stdout = sys.stdout or _nowhere()
    sys.stderr = sys.stderr or _nowhere()
    for stream in (sys.stdout, sys.stderr):
        # A console that lacks a character shows a stand-in; it must not end the program.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    status = 0
    try:
        try:
            options = parser().parse_args(arguments)
        except SystemExit as ended:
            # Of help and version: what nobody could read was not told.
            sys.stdout.flush()
            if ended.code == 0 and getattr(sys.stdout, "name", None) == os.devnull:
                from traverse.command.files import complain

                return complain("standard output: is closed")
            raise
        if empty := empty_name(options):
            from traverse.command.files import complain

            left_out = (
                ", or leave it out"
                if empty.startswith("--")
                else ", as in `day1.trav`"
                if empty == "LOG"
                else ""
            )
            return complain(f"{empty}: an empty name; give one{left_out}")
        status = int(importlib.import_module(f"traverse.command.{options.command}").run(options))
        sys.stdout.flush()
    except KeyboardInterrupt:
        return 130
    except BrokenPipeError:
        from traverse.command.files import no_more

        no_more(sys.stdout)
    except Exception as problem:  # noqa: BLE001 a fault of the program, whatever it is, must not look like one of the log
        from traverse.command.files import complain, fault, is_full, no_more

        if not is_full(problem):
            return fault(problem)
        no_more(sys.stdout)
        return complain(f"standard output: can't be written: {getattr(problem, 'strerror', problem)}")
    return status


def _nowhere() -> TextIO:
    from pathlib import Path

    return Path(os.devnull).open("w", encoding="utf-8")


def process() -> NoReturn:
    """One command, and the end of its process.

    A key that stops it before the command has begun, or when it is done, ends it without a word, as any other program.

    Next to all that a command makes lives until it ends: to search that for cycles, while modules are loaded and once
    more at the end, would take a fifth of the time of a short one.
    """
    gc.set_threshold(100_000, 50, 100)
    try:
        status = main()
        import signal

        if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
            signal.signal(signal.SIGINT, signal.SIG_DFL)
    except KeyboardInterrupt:
        status = 130
    finally:
        gc.freeze()
    sys.exit(status)


if __name__ == "__main__":
    process()
