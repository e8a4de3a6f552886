"""The sheet of a log of a season, as `traverse sheet` draws it."""

from __future__ import annotations

from traverse.command.files import LogFiles
from traverse.command.sheet import SheetKind, key_document
from traverse.compile import Compiled
from traverse.diagnostic import has_error


def sheet_of(compiled: Compiled, files: LogFiles) -> bytes | None:
    """The PDF, with the log carried in it; None where none can be drawn."""
    from traverse.output.pdf import write_pdf
    from traverse.sheet.template.reading import read_template

    template = read_template("field").value
    if compiled.trav is None or template is None:
        return None
    composed = key_document(compiled, files, template, kind=SheetKind.KEY, report=False)
    return None if has_error(composed.diagnostics) else write_pdf(composed.value)
