"""Marks of all parties as a table for a spreadsheet, one row a party."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from traverse.compare.records import Part, Scheme, total
from traverse.output.comparison_json import Compared
from traverse.output.csv_file import cell
from traverse.output.figures import significant


def marks_csv(compared: Sequence[Compared], scheme: Scheme) -> bytes:
    """Comma-separated, UTF-8, one header line, as RFC 4180 has it."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    parts = [part for part in Part if scheme.weights[part] > 0.0]
    writer.writerow(
        (
            "log",
            "scored",
            "scored_mended",
            "of",
            *(part.value for part in parts),
            "causes",
            "problem",
            "scheme",
            "by",
        )
    )
    for one in compared:
        found = one.comparison
        marks = {part.part: part for part in found.marks} if found else {}
        scored, of = total(found.marks) if found else (None, None)
        mended = total(found.marks_mended)[0] if found else None
        causes = (
            ""
            if found is None
            else "; ".join(f"line {found.line_of(cause.span)}: {cause.cause}" for cause in found.causes)
        )
        row = (
            one.name,
            significant(scored),
            significant(mended),
            of,
            *(significant(marks[part].scored) if part in marks else None for part in parts),
            causes,
            one.problem,
            scheme.name,
            scheme.by,
        )
        writer.writerow([cell(value) for value in row])
    return text.getvalue().encode()
