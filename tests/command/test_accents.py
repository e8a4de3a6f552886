"""An accent joined with its letter or apart from it (Unicode forms NFC and NFD): one name, one file, one sheet."""

import json
import subprocess
import unicodedata

import pytest

from tests import called
from traverse.notation.text import decode
from traverse.notation.tidy_text import tidy

FORMS = ("NFC", "NFD")
DAY = """notation 1
traverse Tärn Völgy
party JÉ José Éder
use läger/é.trav
bearings true
attitudes dip-right
unit Sä Säter sandstone ; Jurassic
unit Ég Égly Böck shale ; Triassic
controls pöints.csv ±3
at É1
unit Ég
bed 040/30
rock shale près du col
to 2 090 60m
along 40 m
contact Sä/Ég certain 040/30
at 2
unit Sä
to Č3 200 60m
close É1 325 69m
along 37 m
contact Sä/Ég certain
section Å-Å' from É1 to 2
"""
CAMP = "notation 1\nunit Ör Örby marl ; Cretaceous\n"
POINTS = "name,easting,northing\nÉ1,100,200\n"


def laid(folder, form):
    """The day in a folder, its files and their names typed in a form."""
    files = {"day.trav": DAY, "läger/é.trav": CAMP, "pöints.csv": POINTS}
    for name, text in files.items():
        path = folder / unicodedata.normalize(form, name)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(unicodedata.normalize(form, text).encode())
    return folder / "day.trav"


@pytest.fixture
def days(tmp_path):
    return {form: laid(tmp_path / form, form) for form in FORMS}


def exported(log, cwd=None):
    done = called.traverse("export", log, "--to", "json", cwd=cwd)
    assert (done.returncode, done.stderr) == (0, b"")
    return json.loads(done.stdout)


def test_both_are_one_log_with_the_files_that_it_names(days):
    one, other = map(exported, days.values())
    assert one == other
    assert [place["kind"] for place in one["stations"]] == ["control", "walked", "walked"]
    assert "Örby marl" in [unit["name"] for unit in one["traverse"]["units"]]
    done = called.traverse("compare", *days.values())
    assert done.returncode == 0
    assert b"3 of 3" in done.stdout


def test_tidy_keeps_every_name_of_either(days):
    texts = {form: decode("day.trav", path.read_bytes()).value for form, path in days.items()}
    laid_out = {form: tidy(text).value for form, text in texts.items()}
    assert laid_out["NFC"] == laid_out["NFD"] != texts["NFC"].text
    before = exported(days["NFD"])
    assert called.traverse("tidy", days["NFD"]).returncode == 0
    after = exported(days["NFD"])
    lines = ("line", "rests_on", "lines", "messages")  # blank lines come in
    assert without(after, lines) == without(before, lines)


def without(value, keys):
    if isinstance(value, dict):
        return {key: without(one, keys) for key, one in value.items() if key not in keys}
    return [without(one, keys) for one in value] if isinstance(value, list) else value


def test_what_a_sheet_gives_back_is_read_as_it_was(days, tmp_path):
    log, sheet, back = days["NFD"], tmp_path / "day.pdf", tmp_path / "back"
    assert called.traverse("sheet", log, "-o", sheet).returncode == 0
    assert called.traverse("extract", sheet, "-o", back).returncode == 0
    assert (back / "day.trav").read_bytes() == log.read_bytes()
    assert exported(back / "day.trav") == exported(log)


def test_git_keeps_the_names_of_files_as_they_were_typed(days):
    folder = days["NFD"].parent
    for words in (
        ("init", "-q"),
        ("add", "."),
        ("-c", "user.name=Mara", "-c", "user.email=m@example.org", "commit", "-qm", "day"),
    ):
        subprocess.run(["git", *words], cwd=folder, check=True)
    done = called.traverse("diff", "HEAD:./day.trav", "day.trav", cwd=folder)
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"The two are the same, word for word" in done.stdout
