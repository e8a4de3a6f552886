"""`traverse new LOG`: a starter log to fill in, and beside it what tells git how logs are kept."""

from __future__ import annotations

import argparse
from pathlib import Path

from traverse.command.files import (
    STANDARD,
    WrongUseError,
    as_text,
    complain,
    write_all,
    write_whole,
)
from traverse.resources import data


def run(options: argparse.Namespace) -> int:
    """Write the starter; never over a file that is there."""
    title = " ".join("".join(one if one.isprintable() else " " for one in as_text(options.title)).split())
    title = title or "Place, day"
    text = data("templates", "starter.trav").read_text(encoding="utf-8").replace("{title}", title)
    if options.log != STANDARD and Path(options.log).exists():
        return complain(f"{options.log}: is there already; nothing was changed")
    try:
        if options.log == STANDARD:
            write_whole(STANDARD, text.encode())
            return 0
        made = [(options.log, text.encode())]
        attributes = Path(options.log).parent / ".gitattributes"
        # One that is there is somebody's own, and may say more.
        if not attributes.exists():
            made.append((str(attributes), data("templates", "gitattributes").read_bytes()))
        write_all(made)
    except WrongUseError as problem:
        return complain(str(problem))
    return 0
