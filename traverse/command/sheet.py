"""`traverse sheet LOG…`: the sheet, as PDF with all its pages, or sheet 1 as SVG or PNG."""

from __future__ import annotations

import argparse
from pathlib import Path

from traverse.command.drawing import compiled_log, kind_of, mark_of, write_drawing
from traverse.command.files import STANDARD, WrongUseError, complain, tell
from traverse.diagnostic import Severity


def run(options: argparse.Namespace) -> int:
    """One sheet a log; none for a log that has errors."""
    if options.output is not None and len(options.logs) > 1:
        return complain(
            "-o names one file, and there are several logs; without it each gets its own name with .pdf"
        )
    status = 0
    for name in options.logs:
        try:
            status = max(status, _sheet(name, options))
        except WrongUseError as problem:
            status = max(status, complain(str(problem)))
    return status


def _sheet(name: str, options: argparse.Namespace) -> int:
    from traverse.sheet.compose import compose
    from traverse.sheet.template import read_template

    output = options.output or (STANDARD if name == STANDARD else str(Path(name).with_suffix(".pdf")))
    kind_of(output)
    template = read_template(options.template)
    tell(template.diagnostics, {})
    if template.value is None:
        return 2
    compiled = compiled_log(name, output, "sheet")
    if compiled is None:
        return 1
    assert compiled.survey is not None
    assert compiled.geology is not None
    composed = compose(
        compiled.log,
        compiled.survey,
        compiled.geology,
        compiled.diagnostics,
        template=template.value,
        mark=mark_of(compiled),
    )
    diagnostics = (*compiled.diagnostics, *composed.diagnostics)
    tell(diagnostics, dict(compiled.sources))
    if any(one.severity is Severity.ERROR for one in composed.diagnostics):
        return 1
    write_drawing(output, composed.value)
    return 0
