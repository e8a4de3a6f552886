"""The sheet of a log of a season, as `traverse sheet` draws it."""

from __future__ import annotations

from dataclasses import replace

from traverse.command.drawing import mark_of
from traverse.command.files import LogFiles
from traverse.command.sheet import MOST_CARRIED
from traverse.compile import Compiled, map_ground
from traverse.diagnostic import has_error


def sheet_of(compiled: Compiled, files: LogFiles) -> bytes | None:
    """The PDF, with the log carried in it; None where none can be drawn."""
    from traverse.output.pdf import write_pdf
    from traverse.sheet.compose.compose import compose
    from traverse.sheet.template.reading import read_template

    template = read_template("field").value
    if compiled.trav is None or template is None:
        return None
    composed = compose(
        map_ground(compiled.trav), compiled.diagnostics, template=template, mark=mark_of(compiled)
    )
    if has_error(composed.diagnostics):
        return None
    carried = tuple((name, data) for name, data in files.carried().items() if len(data) <= MOST_CARRIED)
    return write_pdf(replace(composed.value, attachments=carried))
