"""DXF through ezdxf: a layer for each of ours, in metres of the grid; what is known of a feature as its extended data."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from typing import Any

import shapely

from traverse.layers.records import Geometry, LayerSet, MapLayer
from traverse.output.gis.extras import library
from traverse.output.gis.layer_columns import rounded

_APP = "TRAVERSE"
_METRES = 6
"""Unit of the drawing ($INSUNITS). Source: DXF reference, header variables, from memory."""
_TEXT_MM = 2.5
"""Height of letters on paper."""
_MOST_BYTES = 250
"""Of one string of extended data; the format's limit is 255."""
_MOST_STRINGS = 60
"""Of one feature: all its extended data may be 16 kB."""
_LABELS = {
    "stations": "name",
    "planes": "figure",
    "lines": "figure",
    "samples": "label",
    "photos": "label",
    "hazards": "mark",
}
_NAME = re.compile(r"[<>/\\\":;?*|=`,]")
"""Characters that no name of a layer may have."""
_WEIGHTS = {
    "contact_lines": 25,
    "legs": 25,
    "attitude_signs": 30,
    "areas": 13,
    "computed_lines": 18,
    "section_lines": 30,
}
"""Of lines, in hundredths of a millimetre, as on the sheet."""


def write_dxf(layers: LayerSet, *, scale: int) -> bytes:
    """Layers in their grid as the bytes of a DXF file, letters of their size at 1 to `scale`.

    Raises `MissingExtraError` without ezdxf.
    """
    ezdxf = library("ezdxf", extra="dxf", what="DXF")
    before = ezdxf.options.write_fixed_meta_data_for_testing
    # Else the file holds the hour and numbers drawn at random.
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        drawing = ezdxf.new("R2010", units=_METRES)
        drawing.appids.add(_APP)
        for number, (what, words) in enumerate(layers.about.told, start=1):
            drawing.header.custom_vars.append(f"{number:02d} {what}", _one_line(words))
        space = drawing.modelspace()
        high = _TEXT_MM * scale / 1000.0
        for layer in layers.layers:
            if layer.geometry is not Geometry.TABLE:
                _draw(drawing, space, layer, high, _colours(layers))
        _about(drawing, space, layers, high)
        text = io.StringIO()
        drawing.write(text)
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before
    return text.getvalue().encode("utf-8", errors="dxfreplace")


def _colours(layers: LayerSet) -> dict[str, str]:
    units = next((one for one in layers.layers if one.name == "units"), None)
    if units is None:
        return {}
    return {
        str(letters): str(colour)
        for letters, colour in zip(units.column("letters"), units.column("colour"), strict=True)
    }


def _draw(drawing: Any, space: Any, layer: MapLayer, high: float, colours: dict[str, str]) -> None:
    name = _NAME.sub("-", layer.name)
    drawing.layers.add(name, lineweight=_WEIGHTS.get(layer.name, 25))
    label = _LABELS.get(layer.name)
    if label:
        drawing.layers.add(f"{name}_names")
    names = [one.name for one in layer.fields]
    attribs = {"layer": name}
    for shape, row in zip(layer.shapes, zip(*rounded(layer), strict=True), strict=True):
        if shape is None:
            continue
        known = dict(zip(names, row, strict=True))
        extended = list(_extended(known))
        if layer.geometry is Geometry.POINT:
            x, y = shape.coords[0]
            point = space.add_point((x, y, known.get("up") or 0.0), dxfattribs=attribs)
            point.set_xdata(_APP, extended)
            told = known.get(label) if label else None
            if told is not None:
                at = (x + 0.4 * high, y + 0.4 * high)
                space.add_text(
                    _one_line(str(told)), height=high, dxfattribs={"layer": f"{name}_names", "insert": at}
                )
            continue
        if layer.geometry is Geometry.AREA:
            hatch = space.add_hatch(dxfattribs=attribs)
            hatch.set_xdata(_APP, extended)
            colour = colours.get(str(known.get("unit")), "#b3b3b3")
            hatch.rgb = tuple(int(colour[at : at + 2], 16) for at in (1, 3, 5))
            for ring, outer in _rings(shape):
                hatch.paths.add_polyline_path(ring, is_closed=True, flags=1 if outer else 16)
                space.add_lwpolyline(ring, close=True, dxfattribs=attribs)
            continue
        for piece in shapely.get_parts(shape):
            space.add_lwpolyline([(x, y) for x, y in piece.coords], dxfattribs=attribs).set_xdata(
                _APP, extended
            )


def _rings(shape: Any) -> Iterator[tuple[list[tuple[float, float]], bool]]:
    for part in shapely.get_parts(shape):
        yield [(x, y) for x, y in part.exterior.coords[:-1]], True
        for inner in part.interiors:
            yield [(x, y) for x, y in inner.coords[:-1]], False


def _extended(known: dict[str, object]) -> Iterator[tuple[int, str]]:
    """`name: value` of each field that has one; a long one in several strings."""
    yielded = 0
    for name, value in known.items():
        if value is None:
            continue
        for piece in _pieces(f"{name}: {_one_line(str(value))}"):
            if yielded == _MOST_STRINGS:
                return
            yielded += 1
            yield 1000, piece


def _pieces(text: str) -> Iterator[str]:
    """A text in pieces of few enough bytes, no character cut in two."""
    piece = b""
    for character in text:
        coded = character.encode("utf-8", errors="replace")
        if len(piece) + len(coded) > _MOST_BYTES:
            yield piece.decode()
            piece = b""
        piece += coded
    yield piece.decode()


def _one_line(text: str) -> str:
    """A text of one line; `%%` and `^` begin codes there.

    >>> _one_line("50 %%d")
    '50 % %d'
    """
    return re.sub(r"[\x00-\x1f\x7f\u2028\u2029]+", " ", text).replace("%%", "% %").replace("^", "\u02c6")


def _about(drawing: Any, space: Any, layers: LayerSet, high: float) -> None:
    """The cautions below the drawing, where whoever prints it has them."""
    drawing.layers.add("about")
    shapes = [one for layer in layers.layers for one in layer.shapes if one is not None]
    west, south = (min(one.bounds[at] for one in shapes) for at in (0, 1)) if shapes else (0.0, 0.0)
    for number, (what, words) in enumerate(layers.about.told, start=2):
        at = (west, south - 1.6 * high * number)
        space.add_text(
            _one_line(f"{what}: {words}"), height=high, dxfattribs={"layer": "about", "insert": at}
        )
