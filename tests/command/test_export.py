"""`traverse export` as it is called."""

import errno
import json
import sqlite3
from contextlib import closing
from xml.etree import ElementTree as ET

import pyogrio
import pytest

from traverse.__main__ import main

LOCAL = """notation 1
traverse Tarn Side
bearings true
at 1
to 2 090 100m level
to 3 180 100m level
close 1 315 141m level
"""
GRID = LOCAL.replace("bearings", "grid EPSG:25833\ncontrol 1 412472 E 5168878 N ±6 gps\nbearings")
LAYERS = ("geojson", "gpkg", "kml", "gpx", "dxf", "xlsx")


@pytest.fixture
def day(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)

    def write(text=GRID):
        (tmp_path / "day.trav").write_text(text, encoding="utf-8")
        return tmp_path

    return write


@pytest.mark.parametrize("to", LAYERS)
def test_a_day_in_a_grid_is_written_in_every_format(day, to):
    folder = day()
    assert main(["export", "day.trav", "--to", to, "-o", f"a.{to}"]) == 0
    assert (folder / f"a.{to}").stat().st_size > 1000


@pytest.mark.parametrize(
    ("to", "name", "right"),
    [("gpkg", "x.csv", "x.gpkg"), ("csv", "x.GPKG", "x.csv"), ("kml", "x.json", "x.kml")],
)
def test_no_format_goes_under_the_name_of_another(day, to, name, right, capsys):
    """A GeoPackage was written as x.csv."""
    folder = day()
    assert main(["export", "day.trav", "--to", to, "-o", name]) == 2
    assert f"end it with .{to}, or ask --to" in capsys.readouterr().err
    assert not (folder / name).exists()
    assert main(["export", "day.trav", "--to", to, "-o", right]) == 0


@pytest.mark.parametrize(
    ("to", "name"), [("geojson", "x.json"), ("gpkg", "x.bin"), ("csv", "tables.d"), ("csv", "of 3.7.26")]
)
def test_an_ending_that_is_of_no_other_format_will_do(day, to, name):
    folder = day()
    assert main(["export", "day.trav", "--to", to, "-o", name]) == 0
    assert (folder / name).exists()


@pytest.mark.parametrize("to", ["geojson", "kml", "gpx"])
def test_a_local_grid_is_refused_by_one_sentence_where_the_format_has_no_room_for_it(day, to, capsys):
    folder = day(LOCAL)
    assert main(["export", "day.trav", "--to", to, "-o", "a.out"]) == 2
    assert capsys.readouterr().err.count("local grid") == 2
    assert not (folder / "a.out").exists()


def test_a_folder_that_could_not_be_filled_is_not_left_behind(day, monkeypatch):
    folder = day()

    def full(*_):
        raise OSError(errno.ENOSPC, "no space left on device")

    monkeypatch.setattr("traverse.command.files._write", full)
    (folder / "kept").mkdir()
    for into in ("new/layers", "kept"):
        assert main(["export", "day.trav", "--to", "csv", "-o", into]) == 2
    assert sorted(one.name for one in folder.iterdir()) == ["day.trav", "kept"]


def test_a_name_turns_no_words_round_and_is_no_mark_in_kml(day):
    turned = "unit Sh <b>Sha\u202ele\u2066 & Co ; Jurassic\nbearings"
    folder = day(GRID.replace("bearings", turned, 1).replace("at 1\n", "at 1\nunit Sh\n", 1))
    assert main(["export", "day.trav", "--to", "kml", "-o", "a.kml"]) == 0
    text = (folder / "a.kml").read_text(encoding="utf-8")
    words = [one.text or "" for one in ET.fromstring(text).iter()]  # noqa: S314 our own file
    assert "<b>Shale & Co" in words
    assert not {"\u202e", "\u2066"} & set(text)


@pytest.mark.parametrize("to", ["json", "csv", "dxf", "geotiff"])
def test_nothing_is_written_over_another_log(day, to, capsys):
    other = day() / "other.trav"
    other.write_text(LOCAL, encoding="utf-8")
    assert main(["export", "day.trav", "--to", to, "-o", "other.trav"]) == 2
    assert "name of a log" in capsys.readouterr().err
    assert other.read_text(encoding="utf-8") == LOCAL


@pytest.mark.parametrize("to", ["gpkg", "dxf", "xlsx", "csv"])
def test_and_kept_where_it_can(day, to):
    day(LOCAL)
    assert main(["export", "day.trav", "--to", to, "-o", f"a.{to}"]) == 0


def test_a_folder_gets_a_file_for_each_layer(day):
    folder = day()
    assert main(["export", "day.trav", "--to", "geojson", "-o", "layers"]) == 0
    stations = json.loads((folder / "layers" / "stations.geojson").read_text(encoding="utf-8"))
    assert [one["properties"]["name"] for one in stations["features"]] == ["1", "2", "3"]
    assert stations["about"]
    assert not (folder / "layers" / "units.geojson").exists()


def test_tables_of_a_folder_are_replaced_only_as_they_were_written(day, capsys):
    folder = day()
    table, call = folder / "tables" / "stations.csv", ["export", "day.trav", "--to", "csv", "-o", "tables"]
    table.parent.mkdir()
    table.write_text("mine\n")
    assert main(call) == 2
    assert "is there already, and not from this program" in capsys.readouterr().err
    assert [one.name for one in table.parent.iterdir()] == ["stations.csv"]
    assert main([*call, "--overwrite"]) == 0
    written = table.read_bytes()
    (folder / "day.trav").write_text(
        (folder / "day.trav").read_text().replace("at 1", "at 1\nnote a gate", 1)
    )
    assert main(call) == 0
    table.write_bytes(written + b"mine\n")
    capsys.readouterr()
    assert main(call) == 2
    assert "changed since this program wrote it" in capsys.readouterr().err
    assert table.read_bytes() == written + b"mine\n"


def test_one_layer_is_asked_for_by_name_and_a_wrong_name_is_told(day, capsys):
    day()
    assert main(["export", "day.trav", "--to", "geojson", "--table", "legs", "-o", "legs.geojson"]) == 0
    assert pyogrio.read_info("legs.geojson", force_feature_count=True)["features"] == 3
    assert main(["export", "day.trav", "--to", "geojson", "--table", "units"]) == 2
    assert "no layer 'units'; there are stations, legs" in capsys.readouterr().err
    assert main(["export", "day.trav", "--to", "gpkg", "--table", "legs", "-o", "a.gpkg"]) == 2
    assert "--table goes with --to csv or geojson" in capsys.readouterr().err


def test_a_log_with_errors_writes_no_layers(day):
    folder = day(GRID.replace("090 100m", "690 100m"))
    assert main(["export", "day.trav", "--to", "gpkg", "-o", "a.gpkg"]) == 1
    assert not (folder / "a.gpkg").exists()


def test_a_walk_left_open_is_said_to_be_in_the_file(day):
    day(GRID.replace("315 141m", "300 180m"))
    main(["export", "day.trav", "--to", "gpkg", "-o", "a.gpkg"])
    with closing(sqlite3.connect("a.gpkg")) as base:
        assert ("adjustment", "NOT ADJUSTED.") in base.execute("SELECT what, words FROM about").fetchall()


def test_bytes_are_not_poured_over_a_terminal(day, capsys, monkeypatch):
    day()
    monkeypatch.setattr("sys.stdout.isatty", lambda: True, raising=False)
    assert main(["export", "day.trav", "--to", "xlsx"]) == 2
    assert "name a file with -o" in capsys.readouterr().err
