"""Tables for a spreadsheet: comma-separated, UTF-8, one header line, as RFC 4180 has it."""

from __future__ import annotations

import csv
import io
from typing import Any

from traverse.layers.records import Geometry, MapLayer
from traverse.output.gis.layer_columns import rounded, well_known_text

SHAPE = "shape"
"""Column of lines and areas: well-known text (OGC 06-103r4), in the grid."""
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""A spreadsheet takes a cell that begins so for a formula."""


def write_csv(layer: MapLayer) -> bytes:
    """One layer or table; lines and areas with their shape in the last column."""
    # Figures are as they are: only words and yes or no are looked at one by one.
    columns = [
        values if field.kind.numeric else [cell(one) for one in values]
        for field, values in zip(layer.fields, rounded(layer), strict=True)
    ]
    names = [one.name for one in layer.fields]
    if layer.geometry in {Geometry.LINE, Geometry.AREA}:
        columns, names = [*columns, list(well_known_text(layer))], [*names, SHAPE]
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(names)
    writer.writerows(zip(*columns, strict=True))
    return text.getvalue().encode()


def cell(value: Any) -> Any:
    """Figures as they are; text that a spreadsheet would run is kept from it by an apostrophe.

    >>> cell("=1+1"), cell(-3.5), cell(["1", "2"]), cell(None), cell(True)
    ("'=1+1", -3.5, '1 2', None, 'true')
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        value = " ".join(str(part) for part in value)
    if isinstance(value, str) and value.startswith(_FORMULA):
        return "'" + value
    return value
