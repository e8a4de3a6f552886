"""A workbook (ISO/IEC 29500) through XlsxWriter: a page for each layer and table, what they are about first."""

from __future__ import annotations

import datetime as dt
import io
from typing import Any

from traverse.layers.records import FieldKind, Geometry, LayerSet, MapLayer
from traverse.output.csv_file import SHAPE
from traverse.output.gis.extras import UnfitError, library
from traverse.output.gis.layer_columns import rounded, well_known_text

_MOST_ROWS = 1_048_575
"""Below the header; the limit of the format."""
_MOST_CHARACTERS = 32_767
"""Of a cell, likewise."""
_MOST_FOOT = 240
_NO_DAY = dt.date(2000, 1, 1)


def write_xlsx(layers: LayerSet) -> bytes:
    """Layers in their grid as the bytes of a workbook. No cell is a formula, whatever it begins with.

    Raises `MissingExtraError` without XlsxWriter, `UnfitError` for more rows than a page holds.
    """
    xlsxwriter = library("xlsxwriter", extra="table", what="XLSX")
    data = io.BytesIO()
    book = xlsxwriter.Workbook(
        data,
        {
            "in_memory": True,
            "strings_to_formulas": False,
            "strings_to_urls": False,
            "strings_to_numbers": False,
        },
    )
    about = layers.about
    day = dt.date.fromisoformat(about.date) if about.date else _NO_DAY
    book.set_properties(
        {
            "title": about.title[:250],
            "comments": about.words[:_MOST_CHARACTERS],
            "created": dt.datetime.combine(day, dt.time(), tzinfo=dt.UTC),
        }
    )
    head = book.add_format({"bold": True})
    foot = " ".join(words for what, words in about.told if what in {"adjustment", "limits"})
    for layer in layers.layers:
        page = book.add_worksheet(layer.name)
        _page(page, layer, head)
        # A printed page carries its cautions; `&` is a code there.
        page.set_footer(f"&L{foot.replace('&', '&&')}"[:_MOST_FOOT])
    book.close()
    return data.getvalue()


def _page(page: Any, layer: MapLayer, head: Any) -> None:
    if len(layer.rows) > _MOST_ROWS:
        raise UnfitError(
            f"{layer.name} has {len(layer.rows)} rows, and a page of XLSX holds {_MOST_ROWS}; `--to csv`"
        )
    names = [one.name for one in layer.fields]
    columns = rounded(layer)
    kinds = [one.kind for one in layer.fields]
    if layer.geometry in {Geometry.LINE, Geometry.AREA}:
        names.append(SHAPE)
        kinds.append(FieldKind.TEXT)
        # A shape cut short would be another shape.
        columns.append(
            [one if one and len(one) <= _MOST_CHARACTERS else None for one in well_known_text(layer)]
        )
    for at, (name, kind, values) in enumerate(zip(names, kinds, columns, strict=True)):
        page.write_string(0, at, name, head)
        write = (
            page.write_string
            if kind is FieldKind.TEXT
            else page.write_boolean
            if kind is FieldKind.FLAG
            else page.write_number
        )
        for row, value in enumerate(values, start=1):
            if value is not None:
                write(row, at, _cut(value) if kind is FieldKind.TEXT else value)
    page.freeze_panes(1, 1)
    if layer.rows:
        page.autofilter(0, 0, len(layer.rows), len(names) - 1)


def _cut(value: object) -> str:
    text = str(value)
    return text if len(text) <= _MOST_CHARACTERS else text[: _MOST_CHARACTERS - 1] + "…"
