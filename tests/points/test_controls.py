"""`controls FILE`: points of a receiver or another program as known points, each with its error; hostile files refused."""

import codecs
import math
import tempfile
from pathlib import Path

import gpxpy.gpx
import pytest

from tests.layers.tables import layers
from traverse.compile import compile_log
from traverse.layers.lay_layers import in_lon_lat
from traverse.location.records import PlaceKind
from traverse.output.gis.geopackage import write_geopackage
from traverse.output.gis.gpx import write_gpx
from traverse.points.read_points import MOST_BYTES, read_points
from traverse.source import Source

WALK = """notation 1
traverse Lannock Edge
grid EPSG:25833
CONTROLS
bearings grid
at 1
to 2 090 100m level
to 3 180 100m level
"""
# On the meridian of the zone grid north is true north; places worked out by PROJ, asked apart from the program.
HERE = ((500000.0, 5200000.0), (500100.0, 5200000.0), (500100.0, 5199900.0))


def compiled(line, files, text=WALK):
    def load(path):
        if path not in files:
            raise FileNotFoundError(path)
        return files[path]

    return compile_log(Source(name="a.trav", text=text.replace("CONTROLS", line)), load=load)


def lat_lon(east, north):
    import pyproj

    lon, lat = pyproj.Transformer.from_crs(25833, 4326, always_xy=True).transform(east, north)
    return lat, lon


def gpx(*points, track=()):
    """A file as gpxpy writes it."""
    file = gpxpy.gpx.GPX()
    for name, east, north in points:
        lat, lon = lat_lon(east, north)
        file.waypoints.append(gpxpy.gpx.GPXWaypoint(latitude=lat, longitude=lon, name=name, elevation=999.0))
    if track:
        segment = gpxpy.gpx.GPXTrackSegment([gpxpy.gpx.GPXTrackPoint(*lat_lon(*one)) for one in track])
        way = gpxpy.gpx.GPXTrack(name="day")
        way.segments.append(segment)
        file.tracks.append(way)
    return file.to_xml().encode()


def said(found):
    return [
        (one.severity.value, one.code, one.span.line) for one in found.diagnostics if one.span is not None
    ]


def errors(found):
    return [one for one in found.diagnostics if one.severity.value == "error"]


def test_waypoints_with_names_of_stations_are_known_points_with_the_error_of_the_line():
    data = gpx(("1", *HERE[0]), ("3", 500106.0, 5199900.0), ("car", 499000.0, 5200000.0))
    found = compiled("controls fixes.gpx ±5 gps", {"fixes.gpx": data})
    assert [(one.name, one.sd_plan_m, one.source) for one in found.log.controls] == [
        ("1", 5.0, "gps"),
        ("3", 5.0, "gps"),
    ]
    places = found.survey.places
    assert {name: one.kind for name, one in places.items()} == {
        "1": PlaceKind.CONTROL,
        "2": PlaceKind.WALKED,
        "3": PlaceKind.CONTROL,
    }
    # 6 m of misfit are shared between fixes of 5 m and a walk of some metres: nothing is held exact.
    assert 500100.5 < places["3"].east_m < 500105.9
    assert places["1"].east_m > 500000.1
    assert said(found) == [("note", "controls-left-out", 4)]


def test_no_place_is_better_than_the_fix_it_rests_on_would_make_it():
    """One fix of 5 m: every station is at least so far unsure in the grid; of two, by the root of two less."""
    one = compiled("controls fixes.gpx ±5", {"fixes.gpx": gpx(("1", *HERE[0]))})
    for place in one.survey.places.values():
        assert place.sd_east_m >= 5.0 - 1e-6
    two = compiled("controls fixes.gpx ±5", {"fixes.gpx": gpx(("1", *HERE[0]), ("3", *HERE[2]))})
    for place in two.survey.places.values():
        assert place.sd_east_m >= 5.0 / math.sqrt(2.0) - 1e-6


def test_heights_of_a_receiver_are_left_alone():
    found = compiled("controls fixes.gpx ±5", {"fixes.gpx": gpx(("1", *HERE[0]))})
    assert found.log.controls[0].height_m is None


def test_the_larger_of_two_errors_counts():
    table = b"name,east,north,sd\n1,500000,5200000,2\n3,500100,5199900,9\n"
    found = compiled("controls fixes.csv ±5", {"fixes.csv": table})
    assert [one.sd_plan_m for one in found.log.controls] == [5.0, 9.0]
    found = compiled("controls fixes.csv", {"fixes.csv": table})
    assert [one.sd_plan_m for one in found.log.controls] == [2.0, 9.0]


@pytest.mark.parametrize(
    "table",
    [
        "name,east,north,height,sd,sd_height\n1,500000,5200000,812,4,7\n",
        "name,east,north,height,sd,sd_height\n\n1,500000,5200000,812,4,7,,\n , ,\n3,,,,,\n",
        "name,lat,lon,n,height,sd,sd_height,,\n1,{lat},15.0,12,812,4,7\n3,,,,,,\n",
        "\ufeffName;Easting;Northing;Elevation;Error;sd_up\n1;500000;5200000;812;4;7\n;;;;;\n",
        "station\tlon\tlat\theight\tsd\tsd_height\n1\t15.0\t{lat}\t812\t4\t7\n",
    ],
)
def test_tables_with_other_heads_and_marks_are_read(table):
    data = table.replace("{lat}", repr(lat_lon(*HERE[0])[0])).encode()
    found = compiled("controls fixes.csv", {"fixes.csv": data})
    (one,) = found.log.controls
    assert (one.height_m, one.sd_plan_m, one.sd_height_m) == (812.0, 4.0, 7.0)
    place = found.survey.places["1"]
    assert math.dist((place.east_m, place.north_m), HERE[0]) < 0.01


def test_two_places_in_one_row_are_held_against_each_other():
    """Where each lies, PROJ says, asked apart from the program."""
    lat, lon = lat_lon(*HERE[0])
    row = "name,lat,lon,east,north,sd\n1,{},{},{},5200000,{}\n"
    for east, sd, agree in (
        (500000, 1, True),
        (500001.5, 1, True),
        (500003, 1, False),
        (500003, 5, True),
        (500300, 5, False),
    ):
        found = compiled("controls fixes.csv", {"fixes.csv": row.format(lat, lon, east, sd).encode()})
        assert [one.code for one in errors(found)] == ([] if agree else ["controls-two-places"])
        if agree:
            assert (
                math.dist((found.survey.places["1"].east_m, found.survey.places["1"].north_m), HERE[0]) < 0.01
            )
        else:
            (one,) = errors(found)
            assert f"{east - 500000} m apart" in one.message
            assert "`500000,5200000` is where `lat` and `lon` lie" in one.hints[0]


def test_a_place_without_a_name_and_columns_that_say_nothing_are_told():
    (one,) = errors(
        compiled("controls a.csv ±5", {"a.csv": b"name,east,north\n1,500000,5200000\n,500100,5200000\n"})
    )
    assert "line 3: a place without a name" in one.message
    table = b"name,east,north,accuracy_m,fixes\n1,500000,5200000,2,7\n"
    found = compiled("controls a.csv ±5", {"a.csv": table})
    assert errors(found) == []
    (one,) = [one for one in found.diagnostics if one.code == "controls-columns"]
    assert "`accuracy_m`, `fixes`" in one.message
    assert one.severity.value == "note"


def test_a_day_exported_comes_back_as_known_points():
    """Through each format, to a centimetre."""
    day = compiled("control 1 500000 E 5200000 N ±3 gps", {})
    made = layers(day.trav)
    from traverse.output.csv_file import write_csv

    files = {
        "a.gpx": write_gpx(in_lon_lat(made, day.trav, what="GPX")),
        "a.csv": write_csv(made.layer("stations")),
    }
    for name, data in files.items():
        back = compiled(f"controls {name} ±3", {name: data})
        controls = {one.name: one for one in back.log.controls}
        assert set(controls) == {"1", "2", "3"}
        for station, place in day.survey.places.items():
            there = back.survey.places[station]
            assert math.dist((there.east_m, there.north_m), (place.east_m, place.north_m)) < 0.01
    package = write_geopackage(made.__class__(about=made.about, layers=(made.layer("stations"),), styles={}))
    back = compiled("controls a.gpkg ±3", {"a.gpkg": package})
    assert math.dist(
        *(
            (one.survey.places["3"].east_m, one.survey.places["3"].north_m)
            for one in (back, day)
        )
    ) < 0.01  # fmt: skip


def test_a_geopackage_in_another_grid_is_refused_with_the_grid_to_type():
    day = compiled("control 1 500000 E 5200000 N ±3 gps", {})
    made = layers(day.trav)
    package = write_geopackage(made.__class__(about=made.about, layers=(made.layer("stations"),), styles={}))
    text = WALK.replace("EPSG:25833", "EPSG:25832")
    (problem,) = errors(compiled("controls a.gpkg ±3", {"a.gpkg": package}, text))
    assert problem.message == "a.gpkg is in EPSG:25833, the log in EPSG:25832"
    assert "`grid EPSG:25833` above this line" in problem.hints[0]


def test_of_several_layers_with_names_one_must_be_called_controls():
    day = compiled("control 1 500000 E 5200000 N ±3 gps", {})
    from dataclasses import replace

    made = layers(day.trav)
    stations = made.layer("stations")
    both = (stations, replace(stations, name="others"))
    package = write_geopackage(replace(made, layers=both, styles={}))
    (problem,) = errors(compiled("controls a.gpkg ±3", {"a.gpkg": package}))
    assert "2 layers of points with names: stations, others" in problem.message
    named = (stations, replace(stations, name="controls"))
    package = write_geopackage(replace(made, layers=named, styles={}))
    assert errors(compiled("controls a.gpkg ±3", {"a.gpkg": package})) == []


def package_of(**fields):
    """A GeoPackage as GDAL writes it, with points 1 and 3 and further fields."""
    import numpy as np
    import pyogrio
    import shapely

    shapes = shapely.to_wkb(shapely.points([HERE[0], HERE[2]]))
    columns = {"name": np.array(["1", "3"], dtype=object)}
    columns |= {name: np.array(values) for name, values in fields.items()}
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "a.gpkg"
        pyogrio.raw.write(
            path, shapes, list(columns.values()), list(columns), crs="EPSG:25833", geometry_type="Point"
        )
        return path.read_bytes()


def test_fields_of_a_geopackage_count_in_capitals_too():
    found = compiled("controls a.gpkg ±1", {"a.gpkg": package_of(SD=[25.0, 9.0])})
    assert errors(found) == []
    assert [one.sd_plan_m for one in found.log.controls] == [25.0, 9.0]


@pytest.mark.parametrize("sd", [[4.0, 9.0], [4, 9], ["4", " 9.0 "]])
def test_an_error_in_a_geopackage_counts_as_a_number_and_as_text(sd):
    fields = {"sd": sd, "height": [math.nan, 812.0], "sd_up": ["", "17"]}
    found = compiled("controls a.gpkg \u00b15", {"a.gpkg": package_of(**fields)})
    assert errors(found) == []
    assert [(one.sd_plan_m, one.height_m) for one in found.log.controls] == [(5.0, None), (9.0, 812.0)]
    assert found.log.controls[1].sd_height_m == 17.0


@pytest.mark.parametrize(
    ("values", "message"),
    [
        (["4", "9 m"], "point 3 has `9 m` in `sd`, which is no figure"),
        (["4", "9,5"], "point 3 has `9,5` in `sd`, which is no figure"),
        (["4", "nan"], "point 3 has a figure that is none"),
        ([4.0, math.inf], "point 3 has a figure that is none"),
        ([True, False], "point 1 has `True` in `sd`"),
    ],
)
def test_an_error_in_a_geopackage_that_is_no_figure_is_refused(values, message):
    (problem,) = errors(compiled("controls a.gpkg \u00b15", {"a.gpkg": package_of(sd=values)}))
    assert message in problem.message
    assert problem.span.line == 4
    assert problem.hints


def test_a_point_without_an_error_is_asked_for_one():
    (problem,) = errors(compiled("controls fixes.gpx gps", {"fixes.gpx": gpx(("1", *HERE[0]))}))
    assert (problem.code, problem.span.line) == ("controls-error", 4)
    assert "`controls fixes.gpx ±5 gps`" in problem.hints[0]


def test_points_of_other_names_are_asked_about():
    found = compiled("controls fixes.gpx ±5", {"fixes.gpx": gpx(("WP 1", *HERE[0]), ("WP 2", *HERE[1]))})
    assert ("warning", "controls-none", 4) in said(found)
    assert found.log.controls == ()


def test_points_by_longitude_and_latitude_want_a_grid_once():
    data = gpx(*((str(number), *HERE[0]) for number in range(1, 4)))
    found = compiled("controls fixes.gpx ±5", {"fixes.gpx": data}, WALK.replace("grid EPSG:25833\n", ""))
    assert [one.code for one in errors(found)] == ["no-grid"]


def test_many_points_outside_the_zone_are_one_message():
    data = gpx(*((str(number), 500000.0, 5200000.0) for number in (1, 2, 3)))
    found = compiled("controls fixes.gpx ±5", {"fixes.gpx": data}, WALK.replace("25833", "25829"))
    assert [one.code for one in found.diagnostics].count("outside-zone") == 1


def test_a_file_struck_out_counts_for_nothing():
    data = gpx(("1", *HERE[0]), ("3", *HERE[2]), track=HERE)
    line = "controls fixes.gpx ±5\nomit ET the receiver was under trees"
    found = compiled(line, {"fixes.gpx": data})
    assert errors(found) == []
    assert (found.log.controls, found.log.tracks) == ((), ())


def test_a_track_is_placed_and_nothing_rests_on_it():
    data = gpx(("1", *HERE[0]), track=[(east + 3.0, north - 2.0) for east, north in HERE])
    found = compiled("controls fixes.gpx ±5", {"fixes.gpx": data})
    (track,) = found.survey.tracks
    assert track.name == "day"
    for at, (east, north) in zip(track.lines[0], HERE, strict=True):
        assert math.dist(at, (east + 3.0, north - 2.0)) < 0.01
    without = compiled("controls fixes.gpx ±5", {"fixes.gpx": gpx(("1", *HERE[0]))})
    assert {name: (one.east_m, one.north_m) for name, one in found.survey.places.items()} == {
        name: (one.east_m, one.north_m) for name, one in without.survey.places.items()
    }
    made = layers(found.trav)
    assert len(made.layer("tracks").rows) == 1
    out = gpxpy.parse(write_gpx(in_lon_lat(made, found.trav, what="GPX")).decode())
    assert [one.name for one in out.tracks] == ["walk", "day"]


BOMB = (
    '<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY a "aaaaaaaaaaaaaaaaaaaa">'
    + "".join(f'<!ENTITY {chr(98 + n)} "{f"&{chr(97 + n)};" * 20}">' for n in range(12))
    + ']><gpx version="1.1"><wpt lat="1" lon="2"><name>&m;</name></wpt></gpx>'
)
OUTSIDE = '<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY x SYSTEM "file:///etc/passwd">]><gpx><wpt lat="1" lon="2"><name>&x;</name></wpt></gpx>'


@pytest.mark.parametrize("coding", ["utf-16-le", "utf-16-be"])
def test_a_file_in_utf_16_reads_as_it_does_in_utf_8(coding):
    text = (
        '<?xml version="1.0" encoding="UTF-8"?><gpx><wpt lat="54.5" lon="-2.25"><name>Fönt</name></wpt></gpx>'
    )
    mark = {"utf-16-le": codecs.BOM_UTF16_LE, "utf-16-be": codecs.BOM_UTF16_BE}[coding]
    wide = read_points("a.gpx", mark + text.replace("UTF-8", "UTF-16").encode(coding))
    assert wide == read_points("a.gpx", text.encode())
    assert [(one.name, one.lat_deg, one.lon_deg) for one in wide.points] == [("Fönt", 54.5, -2.25)]


@pytest.mark.parametrize("text", [BOMB, OUTSIDE])
@pytest.mark.parametrize("coding", ["utf-8", "utf-16"])
def test_a_file_that_declares_entities_is_not_read(text, coding):
    data = codecs.encode(text.replace('"1.0"', f'"1.0" encoding="{coding}"'), coding)
    (problem,) = errors(compiled("controls fixes.gpx ±5", {"fixes.gpx": data}))
    assert "declares entities" in problem.message
    assert problem.span.line == 4


@pytest.mark.parametrize(
    ("name", "data", "message"),
    [
        ("a.gpx", b"", "a.gpx is no XML"),
        ("a.gpx", b"\x00\xff\xfe", "a.gpx is no XML"),
        ("a.gpx", b"<gpx>" * 100_000, "a.gpx is no XML"),
        ("a.gpx", b"<?xml version='1.0' encoding='UTF--90'?><gpx/>", "a.gpx is no XML"),
        ("a.gpx", b'<gpx><wpt lat="x" lon="2"><name>1</name></wpt></gpx>', "no GPX that can be read"),
        ("a.gpx", b'<gpx><wpt lat="91" lon="2"><name>1</name></wpt></gpx>', "latitude 91"),
        ("a.gpx", b'<gpx><wpt lat="nan" lon="2"><name>1</name></wpt></gpx>', "a.gpx"),
        ("a.gpx", b"<gpx/>", "no point with a name and no track"),
        ("a.csv", b"name,east,north\n1,5,6\n\xff\xff", "line 3: is no text in UTF-8"),
        ("a.csv", b"", "line 1: no column says the name"),
        ("a.csv", b"name,sd\n1,3\n", "no column says the name, or where it is"),
        ("a.csv", b"name,east,north,sd\n1,five,5200000,3\n", "line 2: `five` is no figure"),
        ("a.csv", b"name,east,north,sd\n1,inf,5200000,3\n", "line 2: `inf` is no figure"),
        (
            "a.csv",
            b'name,east,north,x\n1,500000,5200000,"a\nb"\n2,nan,5200000,\n',
            "line 4: `nan` is no figure",
        ),
        ("a.csv", b"name,east,north,sd\n1,500_000,5200000,3\n", "line 2: `500_000` is no figure"),
        ("a.csv", b"name,east,north,sd\n1,500000,5200000\n", "line 2: 3 fields under 4 names"),
        (
            "a.csv",
            b"name,east,north\n1,500000,5200000\n3,500100,5,5199900\n",
            "line 3: 4 fields under 3 names",
        ),
        (
            "a.csv",
            b"name,east,north,east\n1,500000,5200000,500100\n",
            "line 1: `east` and `east` say the same",
        ),
        ("a.csv", b"name,east,easting,north\n1,5,6,7\n", "line 1: `east` and `easting` say the same"),
        ("a.csv", b"name,east,north\n1,500000,\n", "line 2: `east` without `north`"),
        ("a.csv", b"name,lat,lon,east,north\n1,,15,500000,5200000\n", "line 2: `lon` without `lat`"),
        ("a.csv", b"name,east,north,sd\n1,500000,5200000,0\n", "line 2: point 1 has \u00b10 m"),
        ("a.csv", b"name,east,north,sd\n1,500000,5200000,-3\n", "\u00b1-3 m"),
        ("a.csv", b"name,east,north,sd\n1,500000,5200000,1e9\n", "\u00b11000000000 m"),
        (
            "a.csv",
            b"name,east,north,height\n1,500000,5200000,786000\n",
            "line 2: point 1 has a height of 786000 m: no ground",
        ),
        ("a.csv", b"name,lat,lon\n\n1,51,9\n2,91,9\n", "line 4: point 2 has latitude 91"),
        ("a.csv", b"name,east,north,height\n1,500000,5200000,-12000.5\n", "a height of -12000.5 m"),
        ("a.csv", b'name,east,north\n1,5,6\n"2,5\n3,5', "line 3: no row of a table"),
        ("a.gpkg", b"SQLite format 3\x00" + b"\x00" * 2000, "no GeoPackage that can be read"),
        ("a.gpkg", b"", "no GeoPackage that can be read"),
    ],
)
def test_a_bad_file_is_one_message_at_its_line(name, data, message):
    (problem,) = errors(compiled(f"controls {name} \u00b15", {name: data}))
    assert message in problem.message
    assert problem.span.line == 4
    assert problem.hints


def test_a_huge_file_is_refused_before_it_is_read():
    (problem,) = errors(compiled("controls a.gpx ±5", {"a.gpx": b" " * (MOST_BYTES + 1)}))
    assert "over 64 MB" in problem.message


def test_points_of_a_party_come_under_its_letters():
    camp = "notation 1\ntraverse Two\ngrid EPSG:25833\nlog a.trav as A\n"
    files = {
        "a.trav": WALK.replace("CONTROLS", "controls fixes.gpx ±5").encode(),
        "fixes.gpx": gpx(("1", *HERE[0]), track=HERE),
    }
    found = compile_log(Source(name="camp.trav", text=camp), load=files.__getitem__)
    assert [one.name for one in found.log.controls] == ["A-1"]
    assert len(found.survey.tracks) == 1


def test_the_files_that_a_log_names_are_carried_with_its_sheet(tmp_path, monkeypatch):
    from traverse.__main__ import main

    monkeypatch.chdir(tmp_path)
    Path("a.trav").write_text(WALK.replace("CONTROLS", "controls fixes.gpx ±5"), encoding="utf-8")
    data = gpx(("1", *HERE[0]), track=HERE)
    Path("fixes.gpx").write_bytes(data)
    assert main(["sheet", "a.trav", "-o", "a.pdf"]) == 0
    assert main(["extract", "a.pdf", "-o", "out"]) == 0
    assert Path("out/fixes.gpx").read_bytes() == data
    assert main(["sheet", "a.trav", "-o", "fixes.gpx"]) == 2
    assert main(["tidy", "a.trav"]) == 0
    assert "controls fixes.gpx ±5" in Path("a.trav").read_text(encoding="utf-8").splitlines()[3]


@pytest.mark.parametrize("ending", ["csv", "gpx"])
def test_an_accent_apart_from_its_letter_is_the_name_that_the_log_has(ending):
    """`E` and U+0301 is `É`: Unicode Standard Annex 15."""
    points = [("E\u0301", *HERE[0]), ("2", *HERE[1])]
    rows = "\n".join(["name,east,north", *(f"{name},{east},{north}" for name, east, north in points)])
    data = rows.encode() if ending == "csv" else gpx(*points)
    read = read_points(f"p.{ending}", data)
    assert [one.name for one in read.points] == ["\u00c9", "2"]
