"""What the commands that draw have in common: a log compiled, and a document written in the kind its name asks for."""

from __future__ import annotations

import argparse
import hashlib
import mmap
from collections.abc import Callable
from pathlib import Path, PurePosixPath

from traverse.command.files import (
    STANDARD,
    LogFiles,
    WrongUseError,
    beside,
    complain,
    count,
    tell,
    warn,
    write_whole,
)
from traverse.compile import Compiled, compile_log
from traverse.sheet.paper.document import Document

KINDS = ("pdf", "svg", "png")


def kind_of(output: str) -> str:
    """The kind of file that a name asks for, by its ending; PDF where it has none.

    Raises `WrongUseError` for an ending that nothing is written as.
    """
    ending = PurePosixPath(output.replace("\\", "/")).suffix.lower().removeprefix(".")
    if output == STANDARD or not ending or output.startswith("/dev/"):
        return "pdf"
    if ending not in KINDS:
        raise WrongUseError(f"{output}: a drawing ends in .pdf, .svg or .png")
    return ending


_OURS = b"/Creator (traverse "
"""Stands in every PDF that this program writes."""


def spare_others(output: str) -> None:
    """Raises `WrongUseError` where a PDF, under a name that nobody chose, would replace one that is not of this program.

    A scan of the notebook's page often lies beside the log, under the same name.
    """
    if output == STANDARD:
        return
    path = Path(output)
    try:
        if not path.is_file():
            return
        with path.open("rb") as file, mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as data:
            ours = data.find(_OURS) >= 0
    except (
        OSError,
        ValueError,
    ):  # an empty file has nothing to lose; what can't be read is told where it is written
        return
    if not ours:
        raise WrongUseError(
            f"{output}: is there already, and not from this program; name another file with -o"
        )


def compiled_log(files: LogFiles, output: str, what: str) -> Compiled | None:
    """A log that can be drawn; None where it has errors, which are told, and no drawing is made.

    Raises `WrongUseError` where the output would replace the log, or a file that it names.
    """
    name = files.name
    files.spare(output)
    source, unread = files.source()
    if source is None:
        tell(unread, {})
        return None
    compiled = compile_log(source, load=files.load)
    files.spare(output)
    if compiled.trav is None:
        tell(compiled.diagnostics, dict(compiled.sources), of=name)
        files.explain(compiled.diagnostics)
        warn(f"{name}: {count(compiled.diagnostics)}; no {what} made")
        return None
    return compiled


def mark_of(compiled: Compiled) -> str:
    """Six characters that name the text a drawing was made from, whatever the file is called and wherever it lies."""
    texts = (text.text.encode() for text in compiled.sources.values())
    return hashlib.sha256(b"\0".join(texts)).hexdigest()[:6]


def write_drawing(output: str, document: Document) -> None:
    """The document as PDF, or its first page as SVG or PNG, as the name ends; whole or not at all.

    Raises `WrongUseError` where it can't be written, or what writes a PNG is not installed.
    """
    write_whole(output, drawn(document, kind_of(output)))


def drawn(document: Document, kind: str) -> bytes:
    """The bytes of a file of one of `KINDS`.

    Raises `WrongUseError` for another kind, and where what writes a PNG is not installed.
    """
    if kind not in KINDS:
        raise WrongUseError(f"no drawing is made as {kind!r}; there is {', '.join(KINDS)}")
    if kind == "svg":
        from traverse.output.svg import write_svg

        return write_svg(document)
    if kind == "png":
        from traverse.output.png import NoRendererError, write_png

        try:
            return write_png(document)
        except NoRendererError as problem:
            raise WrongUseError(str(problem)) from None
    from traverse.output.pdf import write_pdf

    return write_pdf(document)


def drawing(
    options: argparse.Namespace, what: str, draw: Callable[[Compiled, str], Document | None], none: str
) -> int:
    """Run a command that draws one thing of one log; `none` says why there may be nothing to draw."""
    name = options.log
    output = options.output or beside(name, f"-{what}.pdf")
    try:
        kind_of(output)
        compiled = compiled_log(LogFiles(name), output, what)
        if compiled is None:
            return 1
        if options.output is None:
            spare_others(output)
        tell(compiled.diagnostics, dict(compiled.sources), of=name)
        document = draw(compiled, mark_of(compiled))
        if document is None:
            warn(f"{name}: {none}; no {what} made")
            return 1
        write_drawing(output, document)
    except WrongUseError as problem:
        return complain(str(problem))
    tell_first_page(output, document)
    return int(compiled.failed)


def tell_first_page(output: str, document: Document) -> None:
    """Say where a drawing that holds one page was made of a document that has more."""
    if len(document.pages) > 1 and kind_of(output) != "pdf":
        warn(f"{output}: the first of {len(document.pages)} pages; a PDF holds them all")
