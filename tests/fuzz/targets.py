"""What is damaged: each puts a damaged file beside sound ones, and gives the commands that read it."""

import shutil
from functools import cache
from pathlib import Path

import numpy as np

from tests.fuzz import damage
from tests.fuzz.damage import LOGS, ROOT

WALK = """notation 1
traverse Larder Fell
date 2026-06-14
party MO Mara Olsen
grid EPSG:32630
bearings grid
attitudes dip-right
pace MO double 100 m in 65, 66, 66
unit Sh Reed Shale ; Jurassic
unit Ss Pike Sandstone ; Triassic
control 1 500000 E 6000000 N 100 m ±2
TERRAIN
at 1
bed 040/30
to 2 090 60p +2
along 40p
contact Sh/Ss certain
unit Ss
bed 042/33
to 3 200 60p -1
close 1 325 69p
section A-A' from 1 to 2
"""
"""A short walk that reads heights, or known points, and is drawn in little time."""
POINTS = "name,lat,lon,sd,height\n1,54.1476,-3.0,3,100\n2,54.1476,-2.99861,3,104\n3,54.14683,-2.99908,4,\n"


def _xyz():
    rows = range(5999700, 6000301, 50)
    return "east north up\n" + "".join(
        f"{east} {north} {100 + (east - 500000) / 10:.1f}\n"
        for east in range(499700, 500401, 50)
        for north in rows
    )


_ROWS = "\n".join(" ".join(["100", "101.5", "-9999"] * 4) for _ in range(12))
_CELLS = (
    f"ncols 12\nnrows 12\nxllcorner 499700\nyllcorner 5999700\ncellsize 50\nNODATA_value -9999\n{_ROWS}\n"
)
"""Rows under a head of six lines: another usual way to write heights, which is not read and must be told so."""


@cache
def _geotiff():
    from rasterio.crs import CRS
    from rasterio.io import MemoryFile
    from rasterio.transform import from_bounds

    up = 100.0 + np.arange(14.0 * 12.0).reshape(12, 14) / 4.0
    place = from_bounds(499700, 5999700, 500400, 6000300, 14, 12)
    told = {"driver": "GTiff", "width": 14, "height": 12, "count": 1, "dtype": "float32", "nodata": -9999.0}
    with MemoryFile() as memory:
        with memory.open(crs=CRS.from_epsg(32630), transform=place, **told) as file:
            file.write(up.astype("float32"), 1)
        return bytes(memory.getbuffer())


@cache
def _geopackage(folder):
    import pyogrio
    import shapely

    path = Path(folder) / "sound-points.gpkg"
    places = shapely.points([500000.0, 500090.0], [6000000.0, 6000000.0])
    pyogrio.raw.write(
        path,
        np.array([shapely.to_wkb(one) for one in places], dtype=object),
        [np.array(["1", "2"], dtype=object), np.array([3.0, 4.0])],
        ["name", "sd"],
        geometry_type="Point",
        crs="EPSG:32630",
        driver="GPKG",
        layer="controls",
    )
    return path.read_bytes()


def _sound(draw):
    return draw.choice(LOGS).read_text(encoding="utf-8")


def logs(draw, folder):
    """A log through every command that reads one."""
    text = _sound(draw)
    Path("sound.trav").write_text(text, encoding="utf-8")
    Path("x.trav").write_bytes(damage.log(draw, text))
    yield "check", "x.trav"
    yield (
        "export",
        "x.trav",
        "--to",
        draw.choice(("json", "csv", "geojson", "gpx", "kml", "dxf")),
        "-o",
        "x.out",
    )
    yield "form", "x.trav", "-o", "form.pdf"
    yield "exercise", "x.trav", "-n", "3", "-o", "copies"
    yield "diff", "sound.trav", "x.trav", "-o", "walks.pdf"
    yield "tidy", "x.trav"


def drawn(draw, folder):
    """A log to its sheets, the slowest of all."""
    Path("x.trav").write_bytes(damage.log(draw, _sound(draw)))
    yield (
        "sheet",
        "x.trav",
        *draw.choice(((), ("--blank",), ("--grey",), ("--overlay",), ("--report",))),
        "-o",
        "x.pdf",
    )
    yield draw.choice(("section", "net")), "x.trav", "-o", "alone.svg"


@cache
def _sheet(folder):
    from traverse.__main__ import main

    Path("carried.trav").write_text(WALK.replace("TERRAIN", "terrain h.xyz"), encoding="utf-8")
    Path("h.xyz").write_text(_xyz(), encoding="utf-8")
    assert main(["sheet", "carried.trav", "-o", "carried.pdf"]) == 0
    return Path("carried.pdf").read_bytes()


def sheets(draw, folder):
    """A sheet whose log is wanted back."""
    Path("x.pdf").write_bytes(damage.broken(_sheet(folder), draw))
    yield "extract", "x.pdf", "-o", "out", "--overwrite"
    yield "extract", "x.pdf", "-o", "-"


def templates(draw, folder):
    """A template, of a short walk."""
    shipped = sorted(one for one in ROOT.glob("templates/*.toml") if one.stem != "marks")
    text = draw.choice(shipped).read_text("utf-8")
    if draw.random() < 0.5:
        text = f'extends = "{draw.choice(shipped).stem}"\n' + "\n".join(draw.sample(text.splitlines(), 4))
    Path("x.toml").write_bytes(damage.toml(draw, text))
    Path("walk.trav").write_text(WALK.replace("TERRAIN\n", ""), encoding="utf-8")
    yield "sheet", "walk.trav", "--template", "x.toml", "-o", "templated.pdf"


def schemes(draw, folder):
    """A marking scheme, and a page handed in."""
    Path("key.trav").write_text(WALK.replace("TERRAIN\n", ""), encoding="utf-8")
    handed = WALK.replace("TERRAIN\n", "").replace("bed 042/33", "bed 024/33").encode()
    Path("party.trav").write_bytes(damage.log(draw, handed.decode()) if draw.random() < 0.5 else handed)
    Path("x.toml").write_bytes(damage.toml(draw, (ROOT / "templates/marks.toml").read_text("utf-8")))
    shutil.rmtree("pages", ignore_errors=True)
    yield "compare", "key.trav", "party.trav", "--marks", "x.toml"
    yield "compare", "key.trav", "party.trav", "--marks", "x.toml", "--to", "json"
    yield "compare", "key.trav", "party.trav", "-o", "pages", "--reveal", "values"


def heights(draw, folder):
    """A grid of heights in every way of writing."""
    Path("walk.trav").write_text(WALK.replace("TERRAIN", "terrain x.xyz"), encoding="utf-8")
    match draw.randrange(4):
        case 0:
            data = damage.broken(_geotiff(), draw)
        case 1:
            data = damage.table(draw, _CELLS, " ")
        case _:
            data = damage.table(draw, _xyz(), " ")
    Path("x.xyz").write_bytes(data)
    yield "check", "walk.trav"
    yield "export", "walk.trav", "--to", "geojson", "-o", "layers"
    if draw.random() < 0.2:
        yield "sheet", "walk.trav", "-o", "hill.pdf"


def points(draw, folder):
    """Known points and tracks out of a table, a receiver's file and a GeoPackage."""
    match draw.randrange(3):
        case 0:
            name, data = "x.csv", damage.table(draw, POINTS, draw.choice((",", ";", "\t")))
        case 1:
            name = "x.gpx"
            data = damage.table(draw, (ROOT / "tests/reference/logs/with-fixes.gpx").read_text("utf-8"), " ")
        case _:
            name, data = "x.gpkg", damage.broken(_geopackage(folder), draw)
    Path(name).write_bytes(data)
    text = WALK.replace("TERRAIN", f"controls {name} ±5").replace(
        "control 1 500000 E 6000000 N 100 m ±2\n", ""
    )
    Path("walk.trav").write_text(text, encoding="utf-8")
    yield "check", "walk.trav"


def camps(draw, folder):
    """Several parties, of whose files one is damaged."""
    shutil.copytree(ROOT / "tests/reference/logs/parties", "parties", dirs_exist_ok=True)
    shutil.copy(ROOT / "tests/reference/logs/four-parties.trav", "camp.trav")
    files = [Path("camp.trav"), *sorted(Path("parties").glob("*.txt"))]
    one = draw.choice(files)
    one.write_bytes(damage.log(draw, one.read_text("utf-8")))
    yield "check", "camp.trav"
    yield "check", *map(str, files[1:]), "--together"
    yield "compare", "camp.trav", str(files[1])


def seasons(draw, folder):
    """Logs below a folder, one of them damaged, and what the last run left."""
    place = Path("season")
    place.mkdir(exist_ok=True)
    (place / "a.trav").write_text(WALK.replace("TERRAIN\n", ""), encoding="utf-8")
    (place / "b.trav").write_bytes(damage.log(draw, _sound(draw)))
    yield "season", "season", "-o", "index", "--processes", "1"
    for one in sorted(Path("index").glob("*")) if draw.random() < 0.5 else ():
        one.write_bytes(damage.broken(one.read_bytes(), draw))
    yield "season", "season", "-o", "index", "--processes", "1"


TARGETS = {
    one.__name__: one for one in (logs, drawn, sheets, templates, schemes, heights, points, camps, seasons)
}
