"""A season of logs becomes one index: what has changed is read, each log by itself, and each file is written whole."""

import errno
import json
import os
import re
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from tests.season.made import GRIDS, day, season
from traverse.__main__ import main
from traverse.command import files
from traverse.command.files import WrongUseError
from traverse.output.gis import extras
from traverse.season import one_log
from traverse.season.index_season import index_season
from traverse.season.season_tables import TABLES

DAYS = 20
pyogrio = pytest.importorskip("pyogrio")


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """Twenty logs in four grids, indexed once."""
    folder = tmp_path_factory.mktemp("season")
    season(folder, DAYS)
    return folder, index_season(folder, processes=1)


@pytest.fixture
def logs(tmp_path):
    """A few logs of one's own to spoil."""
    season(tmp_path / "logs", 4)
    return tmp_path / "logs"


def days_of(folder):
    """What the script of the page reads, by path."""
    text = (Path(folder) / "season.html").read_text("utf-8")
    found = re.search(r'<script type="application/json" id="season-days">(.*?)</script>', text, re.DOTALL)
    return {one["path"]: one for one in json.loads(found[1])}


def layer(folder, name):
    """The rows of a layer by the names of its fields, with the shapes."""
    meta, _, shapes, columns = pyogrio.raw.read(Path(folder) / "season.gpkg", layer=name)
    return dict(zip(meta["fields"], columns, strict=True)), shapes


def test_every_log_stands_in_the_page_and_in_the_layers(made):
    folder, found = made
    assert found.standing == {"counted": DAYS}
    days = days_of(folder / "season")
    assert list(days) == sorted(days)
    assert len(days) == DAYS
    columns, shapes = layer(folder / "season", "logs")
    assert sorted(columns["path"]) == sorted(days)
    local = [path for path, one in days.items() if not one["walk"]]
    assert len(local) == DAYS // len(GRIDS)
    assert sum(one is None for one in shapes) == len(local)
    assert {columns["epsg"][list(columns["path"]).index(path)] for path in local} != set(columns["epsg"])


def test_its_figures_are_those_that_each_log_exports(made, capsys):
    """The JSON of `export` is the other way to the same figures."""
    folder, _ = made
    columns, _ = layer(folder / "season", "logs")
    stations, points = layer(folder / "season", "stations")
    attitudes, _ = layer(folder / "season", "attitudes")
    for at in (0, 7, 13):
        path = columns["path"][at]
        assert main(["export", str(folder / path), "--to", "json"]) == 0
        body = json.loads(capsys.readouterr().out)
        assert columns["stations"][at] == len(body["stations"])
        assert columns["attitudes"][at] == len(body["attitudes"])
        assert columns["length"][at] == pytest.approx(
            sum(one["horizontal"] for one in body["legs"]), abs=1e-3
        )
        assert columns["ratio"][at] == pytest.approx(body["loops"][0]["ratio"])
        own = [i for i, one in enumerate(stations["path"]) if one == path]
        for i, one in zip(own, body["stations"], strict=True):
            assert (stations["name"][i], stations["east"][i]) == (one["name"], one["east"])
            if one["lon"] is None:
                assert points[i] is None
            else:
                assert points[i] == _point(one["lon"], one["lat"])
        dips = [attitudes["dip"][i] for i, one in enumerate(attitudes["path"]) if one == path]
        assert dips == [one["dip"] for one in body["attitudes"]]


def _point(lon, lat):
    import shapely

    return shapely.to_wkb(shapely.Point(lon, lat))


def test_every_layer_has_the_fields_that_the_tables_name(made):
    folder, _ = made
    path = folder / "season" / "season.gpkg"
    listed = {name for name, _ in pyogrio.list_layers(path)}
    assert listed == set(TABLES)
    for name, table in TABLES.items():
        assert list(pyogrio.read_info(path, layer=name)["fields"]) == [one.name for one in table.fields]
    with closing(sqlite3.connect(path)) as base, base:
        told = dict(
            base.execute("SELECT column_name, description FROM gpkg_data_columns WHERE table_name = 'logs'")
        )
    assert told["length"] == "Metres walked, on the horizontal."
    assert "Not a land survey" in str(pyogrio.read_info(path, layer="logs")["dataset_metadata"])


def test_only_what_has_changed_is_read(logs):
    assert index_season(logs, processes=1).read == 4
    before = {one.name: one.read_bytes() for one in (logs / "season").glob("season.[hg]*")}
    again = index_season(logs, processes=1)
    assert (again.read, again.gone) == (0, 0)
    assert {one.name: one.read_bytes() for one in (logs / "season").glob("season.[hg]*")} == before
    (logs / "party-a" / "day-00000.trav").write_text(day(0, title="Another name"), "utf-8")
    (logs / "party-b" / "day-00001.trav").unlink()
    os.utime(logs / "party-c" / "day-00002.trav")
    changed = index_season(logs, processes=1)
    assert (changed.read, changed.gone) == (1, 1)
    days = days_of(logs / "season")
    assert days["party-a/day-00000.trav"]["title"] == "Another name"
    assert "party-b/day-00001.trav" not in days


def test_a_file_that_a_log_uses_is_watched_too_and_so_is_one_that_is_missing(logs):
    log = logs / "party-a" / "day-00000.trav"
    log.write_text(day(0).replace("notation 1\n", "notation 1\nuse front.trav\n"), "utf-8")
    found = index_season(logs, processes=1)
    assert [path for path, _ in found.bad] == ["party-a/day-00000.trav"]
    front = logs / "party-a" / "front.trav"
    front.write_text("notation 1\nweather fine\n", "utf-8")
    found = index_season(logs, processes=1)
    assert found.read == 2
    assert found.standing == {"counted": 4, "part of another": 1}
    front.write_text("notation 1\nweather rain\n", "utf-8")
    assert index_season(logs, processes=1).read == 2


@pytest.mark.thorough
def test_a_page_that_was_lost_or_spoilt_is_written_again(logs):
    index_season(logs, processes=1)
    page = logs / "season" / "season.html"
    good = page.read_bytes()
    page.write_bytes(good[:100])
    assert index_season(logs, processes=1).read == 0
    assert page.read_bytes() == good
    (logs / "season" / "season.gpkg").unlink()
    index_season(logs, processes=1)
    assert len(pyogrio.list_layers(logs / "season" / "season.gpkg")) == len(TABLES)


def test_a_page_of_somebody_else_is_left(logs, capsys):
    page = logs / "season" / "season.html"
    page.parent.mkdir()
    page.write_text("<!DOCTYPE html>\nsomebody's own", "utf-8")
    assert main(["season", str(logs), "--processes", "1"]) == 2
    assert "is there already, and not from this program" in capsys.readouterr().err
    assert page.read_text("utf-8") == "<!DOCTYPE html>\nsomebody's own"


def test_logs_that_spoil_are_told_and_the_others_stand(logs, capsys):
    (logs / "broken.trav").write_bytes(b"\xff\xfe\x00nothing\x00")
    (logs / "slip.trav").write_text(day(8).replace("to 2 ", "to 2 N95E "), "utf-8")
    (logs / "empty.trav").write_bytes(b"")
    (logs / "a b\nc 沢.trav").write_text(day(12, title="沢 of blanks"), "utf-8")
    (logs / "no-text.trav").mkdir()
    assert main(["season", str(logs), "--processes", "1"]) == 1
    said = capsys.readouterr()
    assert "8 logs: 5 counted, 1 unreadable, 2 with errors" in said.out
    for name in ("broken.trav", "slip.trav", "empty.trav"):
        assert len([line for line in said.err.splitlines() if line.startswith(f"{name}: not counted: ")]) == 1
    assert "Traceback" not in said.err
    days = days_of(logs / "season")
    assert days["a b�c 沢.trav"]["title"] == "沢 of blanks"
    assert (logs / "season" / Path(*_unquoted(days["a b�c 沢.trav"]["href"]).split("/"))).resolve().is_file()
    assert days["broken.trav"]["standing"] == "unreadable"
    assert days["slip.trav"]["messages"]


def _unquoted(link):
    from urllib.parse import unquote

    return unquote(link)


@pytest.mark.thorough
def test_a_log_over_which_the_program_stumbles_stops_no_other(logs, monkeypatch, capsys):
    sound = one_log._rows

    def stumble(name, *more, **how):
        if "party-b" in name:
            raise ZeroDivisionError
        return sound(name, *more, **how)

    monkeypatch.setattr(one_log, "_rows", stumble)
    assert main(["season", str(logs), "--processes", "1"]) == 3
    said = capsys.readouterr().err
    assert "a fault of this program" in said
    assert "Traceback" not in said
    assert "of your page (ZeroDivisionError)" in said
    assert "ZeroDivisionError" in Path(said.split("Details are in ")[1].split()[0]).read_text("utf-8")
    assert days_of(logs / "season")["party-b/day-00001.trav"]["standing"] == "unreadable"
    monkeypatch.undo()
    assert index_season(logs, processes=1).standing == {"counted": 4}


def test_links_out_of_the_folder_and_in_circles_are_left(logs, tmp_path):
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "far.trav").write_text(day(20), "utf-8")
    (logs / "away").symlink_to(outside)
    (logs / "far.trav").symlink_to(outside / "far.trav")
    (logs / "round").symlink_to(logs)
    (logs / "nowhere.trav").symlink_to(logs / "nowhere.trav")
    (logs / "again.trav").symlink_to(logs / "party-a" / "day-00000.trav")
    (logs / "typed.txt").write_text(day(24), "utf-8")
    (logs / "linked.trav").symlink_to("typed.txt")
    os.mkfifo(logs / "pipe.trav")
    found = index_season(logs, processes=1)
    assert found.standing == {"counted": 5}
    assert found.told == (
        "3 links lead out of the folder, or nowhere, and are left out: away, far.trav, nowhere.trav",
        "pipe.trav: is a pipe or a device, and no file; it is left out",
    )


@pytest.mark.in_turn
@pytest.mark.parametrize("name", ["season.html", "season.gpkg", "season.state", "sheets/day.pdf"])
@pytest.mark.parametrize("there", [True, False])
def test_a_link_where_a_file_goes_is_replaced_and_what_it_points_to_is_left(tmp_path, name, there):
    season(tmp_path, 1)
    (log,) = tmp_path.rglob("*.trav")
    day_log = log.rename(tmp_path / "day.trav")
    target = day_log if there else tmp_path / "other.html"
    before = day_log.read_bytes()
    link = tmp_path / "season" / name
    link.parent.mkdir(parents=True)
    link.symlink_to(os.path.relpath(target, link.parent))
    for _ in range(2):
        assert index_season(tmp_path, processes=1, sheets=True).standing == {"counted": 1}
    assert not link.is_symlink()
    assert link.is_file()
    assert day_log.read_bytes() == before
    assert target.exists() == there


@pytest.mark.parametrize("name", ["season", "season/sheets"])
def test_a_folder_that_leads_out_by_a_link_takes_no_file(tmp_path, capsys, name):
    logs, other = tmp_path / "logs", tmp_path / "other"
    season(logs, 1)
    other.mkdir()
    (logs / name).parent.mkdir(exist_ok=True)
    (logs / name).symlink_to(other)
    assert main(["season", str(logs), "--sheets"]) == 2
    assert "a link leads out of" in capsys.readouterr().err
    assert list(other.iterdir()) == []


@pytest.mark.thorough
def test_a_sheet_is_swept_from_no_folder_outside(tmp_path, capsys):
    logs, other = tmp_path / "logs", tmp_path / "other"
    season(logs, 2)
    index_season(logs, processes=1, sheets=True)
    sheets = logs / "season" / "sheets"
    sheets.rename(other)
    sheets.symlink_to(other)
    held = sorted(other.rglob("*.pdf"))
    min(logs.rglob("*.trav")).unlink()
    assert main(["season", str(logs)]) == 2
    assert "a link leads out of" in capsys.readouterr().err
    assert sorted(other.rglob("*.pdf")) == held


def test_a_copy_counts_once_and_what_a_camp_file_brings_in_with_it(logs):
    (logs / "copy.trav").write_text(day(0), "utf-8")
    for letter, seed in (("a", 4), ("b", 8)):
        (logs / f"party-{letter}.trav").write_text(day(seed), "utf-8")
    camp = "notation 1\ntraverse Camp\ngrid EPSG:25833\nlog party-a.trav as A\nlog party-b.trav as B\n"
    (logs / "camp.trav").write_text(camp, "utf-8")
    found = index_season(logs, processes=1)
    assert found.standing == {"counted": 5, "copy": 1, "part of another": 2}
    days = days_of(logs / "season")
    assert (days["party-a/day-00000.trav"]["standing"], days["party-a/day-00000.trav"]["of"]) == (
        "copy",
        "copy.trav",
    )
    assert days["party-b.trav"]["of"] == "camp.trav"
    assert days["party-b.trav"]["stands"] == "part of camp.trav"
    page = (logs / "season" / "season.html").read_text("utf-8")
    assert ">part of camp.trav</td>" in page
    assert ">copy of copy.trav</td>" in page
    # Of the logs of one title each is told by its file too; a title of its own needs none.
    titles = [one["title"] for one in days.values()]
    assert titles.count("Tarn Side, day 0") > 1
    heads = dict(re.findall(r'<tr data-day="(\d+)"><th[^>]*>(.*?)</th>', page))
    for at, (path, one) in enumerate(days.items()):
        shared = titles.count(one["title"]) > 1
        assert heads[str(at)].endswith(f">{path}</span>" if shared else "</button>")
    columns, _ = layer(logs / "season", "samples")
    brought = [
        label for path, label in zip(columns["path"], columns["label"], strict=True) if path == "camp.trav"
    ]
    assert sorted(brought) == ["T4-1", "T8-1"]
    assert sorted(columns["label"]) == ["T0-1", "T1-1", "T2-1", "T3-1", "T4-1", "T8-1"]


def test_clashes_name_both_logs_and_their_lines(logs):
    text = day(1).replace("T1-1 shell band", "T0-1 another rock").replace("Reed Shale", "Rush Shale")
    (logs / "party-b" / "day-00001.trav").write_text(text, "utf-8")
    index_season(logs, processes=1)
    columns, _ = layer(logs / "season", "clashes")
    found = {
        (kind, what): words
        for kind, what, words in zip(columns["kind"], columns["what"], columns["words"], strict=True)
    }
    assert "party-a/day-00000.trav" in found["sample", "T0-1"]
    assert "another rock" in found["sample", "T0-1"]
    assert "Rush Shale" in found["unit", "Sh"]
    assert "Reed Shale" in found["unit", "Sh"]


def test_another_season_at_work_in_the_folder_is_told(logs, capsys):
    index_season(logs, processes=1)
    other = sqlite3.connect(logs / "season" / "season.state", isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    assert main(["season", str(logs)]) == 2
    assert "another season is at work here" in capsys.readouterr().err
    other.close()
    assert main(["season", str(logs)]) == 0


@pytest.mark.parametrize("base", [False, True])
def test_a_file_of_the_same_name_that_a_log_reads_is_left(tmp_path, capsys, base):
    """Known points by the name of the state, in a text and in a base of another program."""
    season(tmp_path, 1)
    state = tmp_path / "season" / "season.state"
    state.parent.mkdir()
    if base:
        with closing(sqlite3.connect(state)) as other, other:
            other.execute("CREATE TABLE points (name TEXT)")
    else:
        state.write_text("name,lat,lon\n1,59.2,10.4\n", "utf-8")
    (log,) = tmp_path.rglob("*.trav")
    log.write_text(log.read_text("utf-8") + "controls season/season.state ±5 gps\n", "utf-8")
    before = state.read_bytes()
    assert main(["season", str(tmp_path)]) == 2
    assert "season.state" in capsys.readouterr().err
    assert state.read_bytes() == before


def spoil_file(state):
    state.write_bytes(b"not what it was" * 1000)


def spoil_row(state):
    with closing(sqlite3.connect(state)) as base, base:
        base.execute("UPDATE logs SET rows = x'00ff' WHERE CAST(path AS TEXT) LIKE '%day-00002%'")
        base.execute("DELETE FROM shown")


def spoil_page(state):
    data = bytearray(state.read_bytes())
    data[4096:] = bytes(len(data) - 4096)
    state.write_bytes(data)


@pytest.mark.every(2)
@pytest.mark.parametrize("spoil", [spoil_file, spoil_row, spoil_page])
def test_what_it_keeps_may_be_damaged(logs, spoil):
    index_season(logs, processes=1)
    page = (logs / "season" / "season.html").read_bytes()
    spoil(logs / "season" / "season.state")
    found = index_season(logs, processes=1)
    assert found.read == 4
    assert found.told == ("every log was read again: season.state was damaged",)
    again = index_season(logs, processes=1)
    assert (again.read, again.told) == (0, ())
    assert (logs / "season" / "season.html").read_bytes() == page


def test_a_folder_of_logs_that_has_the_name_of_the_index_counts(logs):
    (logs / "party-d").rename(logs / "season")
    assert index_season(logs, processes=1).standing == {"counted": 4}
    assert index_season(logs, processes=1).read == 0


@pytest.mark.every(2)
@pytest.mark.parametrize("name", ["season.html", "season.gpkg"])
def test_a_full_disk_leaves_the_index_as_it_was(logs, monkeypatch, name):
    index_season(logs, processes=1)
    before = {one.name: one.read_bytes() for one in (logs / "season").glob("season.[hg]*")}
    (logs / "party-a" / "day-00000.trav").write_text(day(0, title="Another name"), "utf-8")
    sound = files._beside

    def full(path, write):
        if path.name == name:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return sound(path, write)

    monkeypatch.setattr(files, "_beside", full)
    with pytest.raises(WrongUseError, match=f"{name}: can't be written: No space left"):
        index_season(logs, processes=1)
    assert {one.name: one.read_bytes() for one in (logs / "season").glob("season.*[lg]")} == before
    monkeypatch.undo()
    assert index_season(logs, processes=1).read == 0
    assert days_of(logs / "season")["party-a/day-00000.trav"]["title"] == "Another name"


def test_what_is_no_folder_of_logs_is_told(tmp_path, capsys):
    (tmp_path / "file").write_text("", "utf-8")
    for name, words in (("nothing", "no such folder"), ("file", "is a file"), (".", "no log")):
        assert main(["season", str(tmp_path / name)]) == 2
        assert words in capsys.readouterr().err
    assert not (tmp_path / "season").exists()
    season(tmp_path / "logs", 1)
    assert main(["season", str(tmp_path / "logs"), "-o", str(tmp_path / "file" / "under")]) == 2
    assert "can't be made a folder" in capsys.readouterr().err


def test_a_folder_that_takes_no_file_is_told_in_a_sentence(logs, monkeypatch, capsys):
    def read_only(**how):
        raise OSError(errno.EROFS, os.strerror(errno.EROFS))

    monkeypatch.setattr("tempfile.TemporaryFile", read_only)
    assert main(["season", str(logs)]) == 2
    assert (
        capsys.readouterr().err == f"traverse: {logs / 'season'}: can't be written: Read-only file system\n"
    )


def test_without_the_writer_of_layers_the_page_stands_and_a_sentence_says_so(logs, monkeypatch, capsys):
    monkeypatch.setattr(extras, "find_spec", lambda name: None)
    monkeypatch.setitem(sys.modules, "pyogrio", None)
    assert main(["season", str(logs), "--processes", "1"]) == 0
    said = capsys.readouterr()
    assert "pip install 'traverse-notebook[gis]'" in said.err
    assert (logs / "season" / "season.html").is_file()
    assert not (logs / "season" / "season.gpkg").exists()


def test_sheets_are_drawn_on_request_and_go_when_their_log_has_changed(tmp_path):
    season(tmp_path, 1)
    output = tmp_path / "season"
    index_season(tmp_path, processes=1)
    assert days_of(output)["party-a/day-00000.trav"]["sheet"] is None
    assert index_season(tmp_path, processes=1, sheets=True).read == 1
    sheet = output / days_of(output)["party-a/day-00000.trav"]["sheet"]
    assert sheet.read_bytes().startswith(b"%PDF-")
    assert index_season(tmp_path, processes=1, sheets=True).read == 0
    (tmp_path / "party-a" / "day-00000.trav").write_text(day(0, title="Another"), "utf-8")
    index_season(tmp_path, processes=1)
    assert days_of(output)["party-a/day-00000.trav"]["sheet"] is None
    assert not sheet.exists()


@pytest.mark.every(2)
@pytest.mark.parametrize(
    ("line", "name"),
    [("controls season/season.gpkg ±5", "season.gpkg"), ("use season/season.html", "season.html")],
)
def test_what_a_log_reads_is_not_replaced_by_the_index(tmp_path, capsys, line, name):
    season(tmp_path, 1)
    held = tmp_path / "season" / name
    held.parent.mkdir()
    held.write_bytes(b"a day in the field")
    (tmp_path / "own.trav").write_text(f"notation 1\nbearings true\n{line}\nat 1\nto 2 090 30m\n", "utf-8")
    for _ in range(2):
        assert main(["season", str(tmp_path), "--processes", "1"]) == 2
        assert f"{name}: own.trav reads this file" in capsys.readouterr().err
        assert [one.name for one in held.parent.iterdir() if one.suffix != ".state"] == [name]
        assert held.read_bytes() == b"a day in the field"
    assert main(["season", str(tmp_path), "-o", str(tmp_path / "index"), "--processes", "1"]) == 1
    assert held.read_bytes() == b"a day in the field"


@pytest.mark.thorough
def test_a_sheet_that_cannot_be_written_stops_no_other_and_is_tried_again(tmp_path, capsys):
    season(tmp_path, 2)
    first, second = sorted(one.relative_to(tmp_path) for one in tmp_path.rglob("*.trav"))
    sheets = tmp_path / "season" / "sheets"
    blocked = (sheets / first).with_suffix(".pdf")
    blocked.mkdir(parents=True)
    call = ["season", str(tmp_path), "--sheets", "--processes", "1"]
    assert main(call) == 2
    said = capsys.readouterr()
    assert f"{blocked.name}: is a folder" in said.err
    assert "2 logs: 2 counted" in said.out
    assert (sheets / second).with_suffix(".pdf").is_file()
    blocked.rmdir()
    assert main(call) == 0
    assert "1 read, 1 as before" in capsys.readouterr().out
    assert blocked.is_file()


def test_what_a_killed_run_left_unfinished_is_swept_by_the_next(logs):
    folder = logs / "season"
    folder.mkdir()
    left = [
        folder / f".{name}-abc.tmp{more}"
        for name, more in (
            ("season.gpkg", ".gpkg"),
            ("season.gpkg", ".gpkg-journal"),
            ("season.html", ".html"),
        )
    ]
    for one in left:
        one.write_bytes(b"half")
    index_season(logs, processes=1)
    assert not any(one.exists() for one in left)


def test_a_kill_leaves_no_process_and_what_was_read_is_kept(tmp_path):
    """The run after it reads only the rest."""
    season(tmp_path, 12)
    call = [sys.executable, "-m", "traverse", "season", str(tmp_path), "--processes", "2"]
    run = subprocess.Popen(call, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    state = tmp_path / "season" / "season.state"
    while run.poll() is None and not state.exists():
        pass
    run.kill()
    run.wait()
    found = index_season(tmp_path, processes=1)
    assert found.standing == {"counted": 12}
    assert not list((tmp_path / "season").glob("*.html.tmp"))
