"""The commands as a user calls them: exit status, what goes to which stream, what is written and what is not."""

import json
import os
import stat
import subprocess
import sys

import pytest

from tests import called

DAY = """notation 1
traverse Tarn Side, day 1
bearings true
attitudes dip-right
pace 0.8 m
unit Ss Sandstone ; Triassic ; #e0a070

at 1
  unit Ss
  bed 142/30
to 2 047 100p +3
to 3 137 80p
close 1 265 130p -2
"""


def traverse(*arguments, stdin=None, cwd=None, env=None):
    return subprocess.run(
        [sys.executable, "-m", "traverse", *map(str, arguments)],
        input=stdin,
        capture_output=True,
        cwd=cwd,
        env={**os.environ, **(env or {})},
        check=False,
    )


@pytest.fixture
def day(tmp_path):
    log = tmp_path / "day.trav"
    log.write_text(DAY, encoding="utf-8")
    return log


def test_check_reports_on_stdout_and_is_content(day):
    done = traverse("check", day)
    assert done.returncode == 0, done.stderr
    assert b"Tarn Side, day 1" in done.stdout
    assert b"Loop of 3 legs" in done.stdout


def test_check_of_many_logs_is_a_line_each_and_all_of_them_with_details(day):
    other = day.with_name("other.trav")
    other.write_text(DAY.replace("047 100p", "N95E 100p"), encoding="utf-8")
    done = called.traverse("check", day, other)
    assert done.returncode == 1
    assert done.stderr == b""
    rows = done.stdout.decode().splitlines()
    assert [row.split()[0] for row in rows[2:4]] == ["day", "other"]
    assert "line 11: N95E" in rows[3]
    full = called.traverse("check", "--details", day, other)
    assert full.stdout.decode().splitlines()[:4] == rows[:4]
    assert b"Tarn Side, day 1" in full.stdout
    assert b"~~~~" in full.stderr


def test_an_error_goes_to_stderr_with_its_place_and_status_1(day):
    day.write_text(DAY.replace("047 100p", "N95E 100p"), encoding="utf-8")
    done = called.traverse("check", day)
    assert done.returncode == 1
    message = done.stderr.decode()
    assert f"{day}:11:6" in message
    assert "~~~~" in message
    assert "Traceback" not in message


@pytest.mark.parametrize(
    "call",
    [
        (),
        ("walk",),
        ("check",),
        ("check", "no such file.trav"),
        ("export", "day.trav"),
        ("export", "day.trav", "--to", "parchment"),
        ("sheet", "a.trav", "b.trav", "-o", "one.pdf"),
        ("sheet", "day.trav", "-o", "day.trav"),
        ("export", "day.trav", "--to", "json", "-o", "day.trav"),
        ("export", "day.trav", "--to", "csv", "--table", "teapots"),
        ("sheet", "day.trav", "-o", "no/such/folder/day.pdf"),
        ("sheet", "day.trav", "--template", "no-such-layout"),
    ],
)
def test_wrong_use_is_status_2_with_a_plain_word(day, call):
    done = called.traverse(*call, cwd=day.parent)
    assert done.returncode == 2, done.stdout + done.stderr
    assert done.stderr.strip()
    assert b"Traceback" not in done.stderr
    assert day.read_text(encoding="utf-8") == DAY
    assert sorted(path.name for path in day.parent.iterdir()) == ["day.trav"]


def test_new_makes_a_log_that_compiles_and_never_writes_over_one(tmp_path):
    log = tmp_path / "first.trav"
    assert called.traverse("new", log, "--title", "Tarn Side, day 1").returncode == 0
    assert b"Tarn Side, day 1" in log.read_bytes()
    done = called.traverse("check", log)
    assert done.returncode == 0, done.stderr
    assert b"warning" not in done.stderr
    assert called.traverse("tidy", "--check", log).returncode == 0
    log.write_bytes(b"mine\n")
    assert called.traverse("new", log).returncode == 2
    assert log.read_bytes() == b"mine\n"


def test_export_writes_json_with_the_keys_that_programs_rely_on(day):
    done = traverse("export", day, "--to", "json")
    assert done.returncode == 0
    body = json.loads(done.stdout)
    assert [station["name"] for station in body["stations"]] == ["1", "2", "3"]
    assert body["traverse"]["title"] == "Tarn Side, day 1"
    assert body["loops"][0]["stations"] == ["1", "2", "3"]
    assert body["attitudes"][0]["dip_direction"] == 232.0


def test_export_of_a_log_with_errors_tells_them_in_the_json_too(day):
    day.write_text(DAY.replace("142/30", "142/98"), encoding="utf-8")
    done = called.traverse("export", day, "--to", "json")
    assert done.returncode == 1
    body = json.loads(done.stdout)
    assert [(one["severity"], one["line"]) for one in body["messages"] if one["severity"] == "error"] == [
        ("error", 10)
    ]
    assert body["stations"] == []


def test_csv_gives_one_table_or_a_folder_of_them(day, tmp_path):
    done = called.traverse("export", day, "--to", "csv")
    assert done.stdout.decode().splitlines()[0].startswith("name,kind,standing")
    folder = tmp_path / "tables"
    assert called.traverse("export", day, "--to", "csv", "-o", folder).returncode == 0
    assert {"about.csv", "stations.csv", "legs.csv", "planes.csv", "dictionary.csv"} <= {
        path.name for path in folder.iterdir()
    }


def test_text_that_a_spreadsheet_would_run_is_kept_from_it(day):
    day.write_text(DAY + 'note =HYPERLINK("x","y") <b>&\n', encoding="utf-8")
    done = called.traverse("export", day, "--to", "csv", "--table", "notes")
    assert done.returncode == 0, done.stderr
    assert '"\'=HYPERLINK(""x"",""y"") <b>&"' in done.stdout.decode()


def test_standard_input_is_read_for_a_hyphen():
    done = traverse("export", "-", "--to", "json", stdin=DAY.encode())
    assert done.returncode == 0
    assert len(json.loads(done.stdout)["legs"]) == 3


def test_sheet_writes_one_pdf_a_log_beside_it(day):
    done = traverse("sheet", day)
    assert done.returncode == 0, done.stderr
    assert day.with_suffix(".pdf").read_bytes().startswith(b"%PDF-")
    assert sorted(path.name for path in day.parent.iterdir()) == ["day.pdf", "day.trav"]


def test_a_log_with_errors_leaves_the_old_sheet_alone(day):
    day.write_text(DAY.replace("142/30", "142/98"), encoding="utf-8")
    old = day.with_suffix(".pdf")
    old.write_bytes(b"old")
    assert called.traverse("sheet", day).returncode == 1
    assert old.read_bytes() == b"old"


def test_tidy_lays_out_in_place_and_keeps_the_mode(day):
    day.write_text(DAY.replace("  bed 142/30", "bed    142/30"), encoding="utf-8")
    day.chmod(0o640)
    assert called.traverse("tidy", "--check", day).returncode == 1
    assert called.traverse("tidy", day).returncode == 0
    assert "\n  bed   142/30\n" in day.read_text(encoding="utf-8")
    assert stat.S_IMODE(day.stat().st_mode) == 0o640
    assert called.traverse("tidy", "--check", day).returncode == 0


def test_what_is_write_protected_stays_as_it_is(day):
    """To put another file in its place is no more allowed than to write into it."""
    page = day.with_suffix(".pdf")
    for file, text, command in ((day, DAY.replace("  bed", "bed"), "tidy"), (page, "a scan", "sheet")):
        file.write_text(text, encoding="utf-8")
        file.chmod(0o444)
        done = called.traverse(command, day, *(("-o", page) if command == "sheet" else ()))
        assert done.returncode == 2
        assert f"{file}: is write-protected; nothing was written".encode() in done.stderr
        assert file.read_text(encoding="utf-8") == text
        file.chmod(0o644)


def test_tidy_leaves_a_log_with_errors_as_it_is(day):
    broken = DAY.replace("142/30", "142/98")
    day.write_text(broken, encoding="utf-8")
    assert called.traverse("tidy", day).returncode == 1
    assert day.read_text(encoding="utf-8") == broken


def test_use_reads_below_the_folder_and_nowhere_else(day, tmp_path):
    outside = tmp_path.parent / "outside.trav"
    outside.write_text("notation 1\nunit Zz Secret ; Permian\n", encoding="utf-8")
    try:
        (tmp_path / "link.trav").symlink_to(outside)
        (tmp_path / "camp.trav").write_text("notation 1\nunit Lm Limestone ; Permian\n", encoding="utf-8")
        day.write_text(DAY.replace("at 1\n", "use camp.trav\nat 1\n"), encoding="utf-8")
        assert called.traverse("check", day).returncode == 0
        for path in ("link.trav", "../outside.trav", str(outside)):
            day.write_text(DAY.replace("at 1\n", f"use {path}\nat 1\n"), encoding="utf-8")
            done = called.traverse("check", day)
            assert done.returncode == 1, path
            assert b"Secret" not in done.stdout + done.stderr
            assert b"Traceback" not in done.stderr
    finally:
        outside.unlink()


@pytest.mark.parametrize("command", ["check", "new"])
def test_quick_commands_import_nothing_heavy(day, tmp_path, command):
    arguments = {"check": ["check", str(day)], "new": ["new", str(tmp_path / "n.trav")]}[command]
    done = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "traverse", *arguments], capture_output=True, check=True
    )
    loaded = {
        line.rpartition("|")[2].strip()
        for line in done.stderr.decode().splitlines()
        if line.startswith("import time:")
    }
    heavy = {"reportlab", "matplotlib", "shapely", "scipy.stats", "scipy", "pyproj", "coloraide"}
    assert not heavy & loaded


def test_a_mistake_is_told_without_loading_numpy(day):
    day.write_text(DAY.replace("142/30", "142/98"), encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "traverse", "check", str(day)],
        capture_output=True,
        check=False,
    )
    loaded = {line.rpartition("|")[2].strip() for line in done.stderr.decode().splitlines()}
    assert "numpy" not in loaded


def test_a_reader_of_messages_who_leaves_does_not_stop_the_sheet(day):
    day.write_text(DAY.replace("unit Ss\n", "unit Ss\n  bed 040/30, 140/60\n", 1), encoding="utf-8")
    read_end, write_end = os.pipe()
    os.close(read_end)
    done = subprocess.run(
        [sys.executable, "-m", "traverse", "sheet", str(day)], stderr=write_end, check=False
    )
    os.close(write_end)
    assert done.returncode == 0
    assert day.with_suffix(".pdf").exists()
