"""`traverse sheet LOG…`: the PDF sheet."""

from __future__ import annotations

import argparse
import hashlib
import sys
from pathlib import Path

from traverse.command.files import (
    STANDARD,
    WrongUseError,
    complain,
    count,
    loader,
    read_source,
    same_file,
    tell,
    write_whole,
)
from traverse.compile import compile_log
from traverse.diagnostic import Severity


def run(options: argparse.Namespace) -> int:
    """One PDF a log; none for a log that has errors."""
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
    from traverse.output.pdf import write_pdf
    from traverse.sheet.compose import compose
    from traverse.sheet.template import read_template

    output = options.output or (STANDARD if name == STANDARD else str(Path(name).with_suffix(".pdf")))
    if same_file(name, output):
        raise WrongUseError(f"{output}: is the log itself; give the sheet another name")
    template = read_template(options.template)
    tell(template.diagnostics, {})
    if template.value is None:
        return 2
    source, unread = read_source(name)
    if source is None:
        tell(unread, {})
        return 1
    compiled = compile_log(source, load=loader(name))
    if compiled.survey is None or compiled.geology is None:
        tell(compiled.diagnostics, dict(compiled.sources))
        print(f"{name}: {count(compiled.diagnostics)}; no sheet made", file=sys.stderr)
        return 1
    # The mark names the text that a sheet was made from, whatever the file is called and wherever it lies.
    texts = (text.text.encode() for text in compiled.sources.values())
    mark = hashlib.sha256(b"\0".join(texts)).hexdigest()[:6]
    composed = compose(
        compiled.log,
        compiled.survey,
        compiled.geology,
        compiled.diagnostics,
        template=template.value,
        mark=mark,
    )
    diagnostics = (*compiled.diagnostics, *composed.diagnostics)
    tell(diagnostics, dict(compiled.sources))
    if any(one.severity is Severity.ERROR for one in composed.diagnostics):
        return 1
    write_whole(output, write_pdf(composed.value))
    return 0
