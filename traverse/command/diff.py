"""`traverse diff OLD NEW`: two versions of a log in the words of the trade; also as git calls a difference driver."""

from __future__ import annotations

import argparse
import os
from collections.abc import Sequence

from traverse.command.drawing import kind_of, write_drawing
from traverse.command.files import (
    STANDARD,
    WrongUseError,
    as_text,
    complain,
    count,
    read_once,
    say,
    tell,
    warn,
    write_whole,
)
from traverse.command.reported import print_parts, refuse_closed
from traverse.command.versions import VersionRead, as_git_gives_it, read_version
from traverse.compile import compile_log
from traverse.diagnostic import Severity
from traverse.difference.between import Version, between
from traverse.difference.records import Difference

_DRIVEN = (7, 9)
"""Arguments that git gives a driver: path, then file, object and mode of the old and the new; of what was renamed two more."""


def run(options: argparse.Namespace) -> int:
    """0 whether or not they differ, 1 where one has errors or a drawing that was asked for can't be made; with `--exit-code` 1 where they differ too."""
    given: list[str] = options.versions
    try:
        if os.environ.get("GIT_DIFF_PATH_COUNTER") and len(given) in {1, *_DRIVEN}:
            return _driven(given, options)
        return _two(given, options)
    except WrongUseError as problem:
        return complain(str(problem))


def _two(given: Sequence[str], options: argparse.Namespace) -> int:
    if len(given) != 2:
        raise WrongUseError("an old log and a new one are held against each other; name two")
    read_once(given)
    if options.output is not None:
        kind_of(options.output)
    elif options.to is None:
        refuse_closed()
    old, new = (read_version(name) for name in given)
    _spare((old, new), options.output)
    return _told(old, new, options)


def _spare(versions: Sequence[VersionRead], output: str | None) -> None:
    """Raises `WrongUseError` where the drawing would replace a log, or what it has named so far."""
    for one in versions:
        if output is not None and one.files is not None:
            one.files.spare(output)


def _driven(given: Sequence[str], options: argparse.Namespace) -> int:
    """As git calls it. It must end with 0, or git stops at this file: what is wrong with a log is told all the same."""
    path = given[0]
    if len(given) == 1:
        say(f"{path}: not merged yet; mend it, then `git add {path}`")
        return 0
    now_path = given[7] if len(given) == 9 else path
    old, new = as_git_gives_it(path, given[1], given[2]), as_git_gives_it(now_path, given[4], given[5])
    if old is None or new is None:
        say(f"{now_path}: {'a new log' if old is None else 'taken out'}")
        return int(options.exit_code)
    status = _told(old, new, options)
    say()
    return status if options.exit_code else 0


def _told(old: VersionRead, new: VersionRead, options: argparse.Namespace) -> int:
    versions = []
    for one in (old, new):
        if one.source is None:
            tell(one.diagnostics, {})
            warn(f"{one.name}: is no text; nothing was held against it")
            return 1
        versions.append(
            Version(name=as_text(one.name), compiled=compile_log(one.source, load=one.load), load=one.load)
        )
    # What the logs name is known now.
    _spare((old, new), options.output)
    failed = False
    for version in versions:
        errors = tuple(one for one in version.compiled.diagnostics if one.severity is Severity.ERROR)
        if version.compiled.trav is None:
            failed = True
            tell(errors, dict(version.compiled.sources))
            warn(f"{version.name}: {count(errors)}")
    found = between(*versions)
    if options.to == "json":
        from traverse.output.difference_json import difference_json

        write_whole(STANDARD, difference_json(found))
    else:
        from traverse.output.difference_text import difference_parts

        print_parts(lambda _: difference_parts(found))
    drawn = options.output is None or _draw(found, versions[1], options.output)
    return int(failed or not drawn or (options.exit_code and not found.none))


def _draw(found: Difference, new: Version, output: str) -> bool:
    """Whether there was anything to draw."""
    from traverse.sheet.compose.versions_page import versions_document

    if found.walks is None or new.compiled.trav is None:
        why = "one has errors" if found.whole is None else "the two lie in grids that have nothing in common"
        warn(f"{output}: {why}; no drawing made")
        return False
    write_drawing(output, versions_document(found, new.compiled.trav))
    return True
