"""The command line: every command with its options; imports none of them."""

from __future__ import annotations

import argparse
import sys
from typing import Any, NoReturn

from traverse.version import __version__

_LOG_HELP = "the log, a text file; - reads standard input"
_DRAWING_HELP = "file ending in .pdf, .svg or .png; without it, a PDF beside the log"


class _Schema(argparse.Action):
    """Prints the schema and ends, whatever else was given."""

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        from traverse.command.files import STANDARD, WrongUseError, complain, write_whole
        from traverse.resources import data

        try:
            write_whole(STANDARD, data("grammar", "traverse.schema.json").read_bytes())
        except WrongUseError as problem:
            parser.exit(complain(str(problem)))
        parser.exit(0)


class _Parser(argparse.ArgumentParser):
    """What is wrong with a call, without commands to the terminal from what was typed."""

    def error(self, message: str) -> NoReturn:
        from traverse.diagnostic import visible

        super().error(visible(message))

    def _print_message(self, message: str, file: Any = None) -> None:
        # The library's own says nothing of help that finds no room.
        if message and file is sys.stdout:
            sys.stdout.write(message)
        else:
            super()._print_message(message, file)


def parser() -> argparse.ArgumentParser:
    """All commands with their options."""
    top = _Parser(
        prog="traverse",
        description="From a typed notebook page to a map sheet, a table and a section.",
        epilog="Exit status: 0 done, 1 the log has errors, 2 wrong use, 3 a fault of this program.",
    )
    top.add_argument("--version", action="version", version=f"traverse {__version__}")
    commands = top.add_subparsers(dest="command", metavar="COMMAND", required=True)

    new = commands.add_parser("new", help="a starter log to fill in")
    new.add_argument("log", metavar="LOG", help="file to make; - writes to standard output")
    new.add_argument("--title", default="Place, day", help="place and day for the `traverse` line")

    check = commands.add_parser("check", help="read and reduce; what is wrong; how it closes")
    check.add_argument("logs", metavar="LOG", nargs="+", help=_LOG_HELP)
    check.add_argument("--notes", action="store_true", help="show the notes too")
    check.add_argument("--together", action="store_true", help="check all logs as one network")
    check.add_argument(
        "--details", action="store_true", help="of many logs tell all in full, below a line each"
    )

    sheet = commands.add_parser("sheet", help="the sheet")
    sheet.add_argument("logs", metavar="LOG", nargs="+", help=_LOG_HELP)
    sheet.add_argument("-o", "--output", metavar="FILE", help=_DRAWING_HELP)
    sheet.add_argument(
        "--template",
        default="field",
        metavar="NAME",
        help="layout: a name from templates/ or a file ending in .toml",
    )
    sheet.add_argument(
        "--report",
        action="store_true",
        help="also the pages on structure and closure, which else come where a loop fails",
    )
    sheet.add_argument(
        "--together",
        action="store_true",
        help="one sheet of all logs as one network, as a camp file makes it, not one sheet a log",
    )
    kind = sheet.add_mutually_exclusive_group()
    kind.add_argument(
        "--blank", action="store_true", help="a handout to be completed; no answer is anywhere in the file"
    )
    kind.add_argument("--grey", action="store_true", help="patterns in place of colours, for the copier")
    kind.add_argument(
        "--overlay",
        action="store_true",
        help="what a handout has not, for film: contacts, attitudes, edges of units, to lie on it",
    )
    blank = sheet.add_argument_group("with --blank")
    blank.add_argument(
        "--give",
        metavar="LIST",
        help="what it shows beside the base: attitudes, contacts, units, profile, tables, with commas between;"
        " or none (without it: profile)",
    )
    blank.add_argument(
        "--boxes", type=int, metavar="N", help="empty boxes of the legend, instead of one for each unit"
    )
    blank.add_argument("--title", metavar="TEXT", help="title instead of the log's")

    for name, what in (("section", "the sections alone"), ("net", "the equal-area net alone")):
        alone = commands.add_parser(name, help=what)
        alone.add_argument("log", metavar="LOG", help=_LOG_HELP)
        alone.add_argument("-o", "--output", metavar="FILE", help=_DRAWING_HELP)
        if name == "section":
            alone.add_argument(
                "--arcs", action="store_true", help="carry contacts by arcs, not by dip domains"
            )

    form = commands.add_parser("form", help="a blank notebook page to carry out")
    form.add_argument(
        "log",
        metavar="LOG",
        nargs="?",
        help="a log whose heading it takes over; - reads standard input; without it, lines to fill in",
    )
    form.add_argument("-o", "--output", metavar="FILE", help=_DRAWING_HELP)
    form.add_argument("--paper", default="A4", metavar="NAME", help="such as A5, A4 or Letter")
    form.add_argument(
        "--attitudes",
        choices=("dip-right", "dip-left", "dip-direction", "dip-first", "letters"),
        help="how attitudes are written; without it as the log says, else left open",
    )

    export = commands.add_parser("export", help="the data for other programs")
    export.add_argument("log", metavar="LOG", help=_LOG_HELP)
    export.add_argument(
        "--to",
        required=True,
        choices=("json", "csv", "geojson", "gpkg", "kml", "gpx", "dxf", "xlsx", "geotiff"),
        help="format",
    )
    export.add_argument(
        "-o",
        "--output",
        metavar="FILE",
        help="file; for csv and geojson also a folder, which gets every table or layer",
    )
    export.add_argument(
        "--table",
        metavar="NAME",
        help="which table of csv, or layer of geojson: stations, legs, planes, lines, contacts, contact_lines, areas,"
        " samples, hazards and more",
    )
    export.add_argument(
        "--overwrite",
        action="store_true",
        help="in a folder, replace tables that this program did not write, or that were changed since",
    )
    export.add_argument(
        "--schema", action=_Schema, nargs=0, help="print the JSON Schema of --to json, and end"
    )

    extract = commands.add_parser("extract", help="the log that a sheet was made from")
    extract.add_argument("sheet", metavar="SHEET", help="the PDF; - reads standard input")
    extract.add_argument(
        "-o",
        "--output",
        metavar="FOLDER",
        help="without it, the sheet's name with -log; - writes a log that stands alone to standard output",
    )
    extract.add_argument("--overwrite", action="store_true", help="replace files that are there and differ")

    compare = commands.add_parser("compare", help="parties against the leader's log")
    compare.add_argument("key", metavar="KEY", help="the leader's log")
    compare.add_argument("logs", metavar="LOG", nargs="+", help="a party's log")
    compare.add_argument(
        "-o", "--output", metavar="FOLDER", help="folder for a page for each party and the leader's tables"
    )
    compare.add_argument("--to", choices=("json",), help="the data for other programs, on stdout")
    compare.add_argument(
        "--reveal",
        choices=("none", "direction", "values"),
        default="none",
        help="how much of the key the parties' pages hold: where to look, which way it is off, what the key has",
    )
    compare.add_argument(
        "--marks", metavar="FILE", help="marking scheme; without it, the plain one of templates/marks.toml"
    )
    compare.add_argument(
        "--ids", action="store_true", help="P1, P2 … in the order of the call, instead of names"
    )

    diff = commands.add_parser("diff", help="two versions of a log in the words of the trade")
    diff.add_argument(
        "versions",
        metavar="VERSION",
        nargs="+",
        help="the old log, then the new: files, or REV:path as git keeps them; - reads standard input",
    )
    diff.add_argument("-o", "--output", metavar="FILE", help="both walks over each other; .pdf, .svg or .png")
    diff.add_argument("--to", choices=("json",), help="the data for other programs, on stdout")
    diff.add_argument("--exit-code", action="store_true", help="exit 1 where the two differ, as git has it")

    exercise = commands.add_parser("exercise", help="copies of a log with one known slip each")
    exercise.add_argument("key", metavar="KEY", help="the log that is right")
    exercise.add_argument(
        "-n", dest="number", type=int, default=10, metavar="N", help="how many; without it, 10"
    )
    exercise.add_argument("--seed", type=int, default=1, metavar="S", help="another number makes other slips")
    exercise.add_argument(
        "--kinds",
        metavar="LIST",
        help="kinds of slips, with commas between: reversed, letters, digits, tens, paces, slope, heading, strike,"
        " contact, unit, typing",
    )
    exercise.add_argument("-o", "--output", required=True, metavar="FOLDER", help="folder for them")

    season = commands.add_parser("season", help="every log below a folder as one page and layers for a GIS")
    season.add_argument("folder", metavar="FOLDER", help="folder that holds the logs, in it or below it")
    season.add_argument(
        "-o", "--output", metavar="FOLDER", help="folder for the index; without it, `season` in FOLDER"
    )
    season.add_argument("--sheets", action="store_true", help="draw the sheet of each log too")
    season.add_argument("--watch", action="store_true", help="go on, and follow the logs as they are typed")
    season.add_argument(
        "--processes",
        type=int,
        metavar="N",
        help="how many at a time; without it, and at most, one for each processor",
    )

    tidy = commands.add_parser("tidy", help="the one canonical layout")
    tidy.add_argument("logs", metavar="LOG", nargs="+", help=_LOG_HELP)
    tidy.add_argument("--check", action="store_true", help="change nothing; exit 1 where a log is not tidy")
    return top


def empty_name(options: argparse.Namespace) -> str | None:
    """What was given as an empty name, as a script does whose variable holds nothing."""
    for where in (
        "key",
        "logs",
        "log",
        "versions",
        "folder",
        "sheet",
        "output",
        "template",
        "table",
        "paper",
        "marks",
    ):
        value = getattr(options, where, None)
        if value is not None and "" in (value if isinstance(value, list) else [value]):
            return (
                where.upper().removesuffix("S")
                if where in {"key", "logs", "log", "versions", "folder", "sheet"}
                else f"--{where}"
            )
    return None
