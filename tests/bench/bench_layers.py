"""Layers of 10,000 stations in each format, against the library alone with its values laid ready.

Prints ratios of one run; asserts nothing. Aim: twice the library's own time. Another number of stations may be given.
"""

import csv
import io
import json
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import ezdxf
import gpxpy.gpx
import numpy as np
import pyogrio
import shapely
import xlsxwriter

sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from tests.bench.aims import told
from tests.layers.tables import layers
from traverse.compile import compile_log
from traverse.layers.records import WGS84
from traverse.output.csv_file import write_csv
from traverse.output.gis.dxf import write_dxf
from traverse.output.gis.geojson import write_geojson
from traverse.output.gis.geopackage import write_geopackage
from traverse.output.gis.gpx import write_gpx
from traverse.output.gis.kml import write_kml
from traverse.output.gis.layer_columns import column, columns_of, rounded, wkb
from traverse.output.gis.xlsx import write_xlsx
from traverse.source import Source

LOG = """notation 1
traverse Rows
grid EPSG:32630
bearings grid
control 1 500000 E 6000000 N 100 m ±5
at 1
to 2 090 50m level
"""


def many(count):
    """All layers of a small day, its stations so many times; in degrees for those that want them."""
    made = layers(compile_log(Source(name="a.trav", text=LOG), load=Path.read_bytes).trav)
    one = made.layer("stations")
    at = np.column_stack([np.arange(count) % 1000 * 1e-4, 54.0 + np.arange(count) // 1000 * 1e-4])
    rows = tuple((str(number), *one.rows[1][1:]) for number in range(count))
    stations = replace(one, rows=rows, shapes=tuple(shapely.points(at).tolist()), crs=WGS84)
    others = tuple(replace(other, rows=(), shapes=()) for other in made.layers if other.name != "stations")
    return replace(made, layers=(stations, *others)), stations


def seconds(work):
    started = time.perf_counter()
    work()
    return time.perf_counter() - started


def by_gdal(stations, driver):
    arrays, masks = zip(*map(column, stations.fields, columns_of(stations)), strict=True)
    names = [one.name for one in stations.fields]
    shapes = wkb(stations)

    def work():
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / ("a.gpkg" if driver == "GPKG" else "a.kml")
            pyogrio.raw.write(
                path, shapes, list(arrays), names, field_mask=list(masks), layer="stations", driver=driver,
                geometry_type="Point", crs="EPSG:4326",
            )  # fmt: skip
            path.read_bytes()

    return work


def by_json(stations):
    names = [one.name for one in stations.fields]
    features = [
        {
            "type": "Feature",
            "properties": dict(zip(names, row, strict=True)),
            "geometry": {"type": "Point", "coordinates": shape.coords[0]},
        }
        for row, shape in zip(zip(*rounded(stations), strict=True), stations.shapes, strict=True)
    ]
    return lambda: json.dumps({"type": "FeatureCollection", "features": features}).encode()


def by_csv(stations):
    rows = list(zip(*rounded(stations), strict=True))
    return lambda: csv.writer(io.StringIO()).writerows(rows)


def by_xlsx(stations):
    columns = rounded(stations)

    def work():
        book = xlsxwriter.Workbook(io.BytesIO(), {"in_memory": True})
        page = book.add_worksheet("stations")
        for at, values in enumerate(columns):
            page.write_column(1, at, ["" if one is None else one for one in values])
        book.close()

    return work


def by_gpxpy(stations):
    points = [shape.coords[0] for shape in stations.shapes]
    rows = list(zip(*rounded(stations), strict=True))

    def work():
        file = gpxpy.gpx.GPX()
        file.waypoints = [
            gpxpy.gpx.GPXWaypoint(
                latitude=lat,
                longitude=lon,
                elevation=100.0,
                name=str(row[0]),
                comment=str(row),
                type="stations",
            )
            for (lon, lat), row in zip(points, rows, strict=True)
        ]
        file.to_xml()

    return work


def by_ezdxf(stations):
    names = [one.name for one in stations.fields]
    told_of = [
        [(1000, f"{name}: {value}") for name, value in zip(names, row, strict=True) if value is not None]
        for row in zip(*rounded(stations), strict=True)
    ]

    def work():
        drawing = ezdxf.new("R2010")
        drawing.appids.add("TRAVERSE")
        space = drawing.modelspace()
        for shape, known in zip(stations.shapes, told_of, strict=True):
            x, y = shape.coords[0]
            space.add_point((x, y, 100.0)).set_xdata("TRAVERSE", known)
            space.add_text(known[0][1], height=2.0, dxfattribs={"insert": (x, y)})
        drawing.write(io.StringIO())

    return work


def main():
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    made, stations = many(count)
    for name, ours, library in (
        ("GeoPackage", lambda: write_geopackage(made), by_gdal(stations, "GPKG")),
        ("GeoJSON", lambda: write_geojson(made), by_json(stations)),
        ("CSV", lambda: write_csv(stations), by_csv(stations)),
        ("XLSX", lambda: write_xlsx(made), by_xlsx(stations)),
        ("GPX", lambda: write_gpx(made), by_gpxpy(stations)),
        ("DXF", lambda: write_dxf(made, scale=2500), by_ezdxf(stations)),
        ("KML", lambda: write_kml(made), by_gdal(stations, "LIBKML")),
    ):
        alone = seconds(library)
        told(f"{name}, {count} stations, over the library alone", seconds(ours) / alone, 2.0)


if __name__ == "__main__":
    main()
