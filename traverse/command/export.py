"""`traverse export LOG --to FORMAT`: the data for other programs."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from traverse.command.drawing import mark_of
from traverse.command.files import (
    STANDARD,
    LogFiles,
    WrongUseError,
    complain,
    tell,
    write_in_folders,
    write_whole,
)
from traverse.command.own_tables import with_sums
from traverse.compile import Compiled, compile_log, layer_ground, map_ground
from traverse.ground.records import Traverse

_BY_TABLE = {"csv": ".csv", "geojson": ".geojson"}
"""Formats of one table or layer a file, and how such a file ends."""
_ENDINGS = {
    "json": ("json",),
    "csv": ("csv",),
    "geojson": ("geojson", "json"),
    "gpkg": ("gpkg",),
    "kml": ("kml",),
    "gpx": ("gpx",),
    "dxf": ("dxf",),
    "xlsx": ("xlsx",),
    "geotiff": ("tif", "tiff"),
}
"""How a file of each format ends; other endings say nothing."""
_NO_TEXT = {"gpkg", "xlsx", "geotiff"}
"""Formats that a terminal can't show."""


def run(options: argparse.Namespace) -> int:
    """JSON is written even for a log with errors: its messages are part of it, and the exit status tells."""
    try:
        return _export(options)
    except WrongUseError as problem:
        return complain(str(problem))


def _export(options: argparse.Namespace) -> int:
    files, output = LogFiles(options.log), options.output or STANDARD
    files.spare(output)
    if output.lower().endswith(".trav"):
        raise WrongUseError(f"{output}: is the name of a log, which nothing else may stand under")
    ending = Path(output).suffix.lower().removeprefix(".")
    other = next((to for to, endings in _ENDINGS.items() if ending in endings), None)
    if other is not None and ending not in _ENDINGS[options.to]:
        raise WrongUseError(
            f"{output}: {options.to} is not written under the name of another format: end it with "
            f".{_ENDINGS[options.to][0]}, or ask --to {other}"
        )
    if options.table and options.to not in _BY_TABLE:
        raise WrongUseError(f"--table goes with --to {' or '.join(_BY_TABLE)}")
    if options.to in _NO_TEXT and options.output is None and sys.stdout.isatty():
        raise WrongUseError(f"--to {options.to} is no text for a terminal: name a file with -o")
    source, unread = files.source()
    if source is None:
        tell(unread, {})
        return 1
    compiled = compile_log(source, load=files.load)
    files.spare(output)
    tell(compiled.diagnostics, dict(compiled.sources), of=options.log)
    if options.to == "json":
        _json(compiled, output)
    elif options.to == "geotiff":
        if compiled.trav is not None:
            write_whole(output, _picture(compiled))
    elif compiled.trav is not None:
        trav = layer_ground(compiled.trav)
        if options.to in _BY_TABLE:
            _by_table(trav, files, output, options)
        else:
            write_whole(output, _whole(trav, options.to))
    return 1 if compiled.failed else 0


def _json(compiled: Compiled, output: str) -> None:
    from traverse.output.json_file import write_json

    write_whole(output, write_json(compiled.log, compiled.trav, compiled.diagnostics))


def _by_table(trav: Traverse, files: LogFiles, output: str, options: argparse.Namespace) -> None:
    """One table or layer, or a folder of them all; GeoJSON in one file holds them all."""
    to, table = options.to, options.table
    from traverse.layers.lay_layers import LocalGridError, in_lon_lat, layers_of
    from traverse.layers.records import Geometry
    from traverse.output.csv_file import write_csv
    from traverse.output.gis.geojson import write_geojson, write_geojson_layer

    layers = layers_of(trav)
    if to == "geojson":
        try:
            layers = in_lon_lat(layers, trav, what="GeoJSON")
        except LocalGridError as problem:
            raise WrongUseError(str(problem)) from problem
    names = [one.name for one in layers.layers if to == "csv" or one.geometry is not Geometry.TABLE]
    if table is not None and table not in names:
        raise WrongUseError(
            f"no {'table' if to == 'csv' else 'layer'} {table!r}; there are {', '.join(names)}"
        )

    def written(name: str) -> bytes:
        one = layers.layer(name)
        return write_csv(one) if to == "csv" else write_geojson_layer(layers.about, one)

    ending = _BY_TABLE[to]
    if table is not None:
        write_whole(output, written(table))
    elif output == STANDARD or output.lower().endswith((ending, ".json")):
        write_whole(output, written("stations") if to == "csv" else write_geojson(layers))
    else:
        folder = Path(output)
        made = [(str(folder / f"{name}{ending}"), written(name)) for name in names]
        for name, _ in made:
            files.spare(name)
        remedy = "name another folder with -o, or say --overwrite"
        write_in_folders(with_sums(folder, made, overwrite=options.overwrite, remedy=remedy))


def _whole(trav: Traverse, to: str) -> bytes:
    """All layers in one file."""
    from traverse.layers.drawn_signs import scale_of
    from traverse.layers.lay_layers import LocalGridError, in_lon_lat, layers_of
    from traverse.layers.making import Reference
    from traverse.output.gis.extras import MissingExtraError, UnfitError

    layers = layers_of(trav)
    try:
        match to:
            case "gpkg":
                from traverse.output.gis.geopackage import write_geopackage

                return write_geopackage(layers)
            case "kml":
                from traverse.output.gis.kml import write_kml

                return write_kml(in_lon_lat(layers, trav, what="KML"))
            case "gpx":
                from traverse.output.gis.gpx import write_gpx

                return write_gpx(in_lon_lat(layers, trav, what="GPX"))
            case "dxf":
                from traverse.output.gis.dxf import write_dxf

                return write_dxf(layers, scale=scale_of(Reference(trav)))
            case "xlsx":
                from traverse.output.gis.xlsx import write_xlsx

                return write_xlsx(layers)
            case _:
                raise LookupError(f"nothing writes {to}")
    except (LocalGridError, MissingExtraError, UnfitError) as problem:
        raise WrongUseError(str(problem)) from problem


def _picture(compiled: Compiled) -> bytes:
    """The map of sheet 1, as the sheet has it."""
    from traverse.layers.registers import about_of
    from traverse.output.gis.extras import MissingExtraError, UnfitError
    from traverse.output.gis.geotiff import write_geotiff
    from traverse.sheet.compose.compose import compose
    from traverse.sheet.template.reading import read_template

    template = read_template("field").value
    assert compiled.trav is not None
    assert template is not None
    composed = compose(
        map_ground(compiled.trav), compiled.diagnostics, template=template, mark=mark_of(compiled)
    )
    try:
        return write_geotiff(composed.value, about_of(compiled.trav, map_alone=True))
    except (MissingExtraError, UnfitError) as problem:
        raise WrongUseError(str(problem)) from problem
