"""The Python interface: what its page shows, what it gives of good logs and bad ones, what it costs to import."""

import contextlib
import io
import json
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from pypdf import PdfReader

import traverse
from traverse.__main__ import main

ROOT = Path(__file__).parent.parent
PAGE = (ROOT / "grammar" / "python.md").read_text(encoding="utf-8")
(LOG,) = re.findall(
    r"^```trav\n(.*?)^```$", (ROOT / "README.md").read_text(encoding="utf-8"), flags=re.MULTILINE | re.DOTALL
)
SAMPLES = sorted((ROOT / "samples").glob("*/*.trav"))


@pytest.fixture
def day(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "tarn.trav").write_text(LOG, encoding="utf-8")
    return traverse.read("tarn.trav")


def test_its_page_says_what_its_examples_print(day):
    """Blocks of code in order, each followed by what it prints."""
    blocks = re.findall(r"^```(python|text)\n(.*?)^```$", PAGE, flags=re.MULTILINE | re.DOTALL)
    assert [kind for kind, _ in blocks[::2]] == ["python"] * (len(blocks) // 2)
    names = {}
    for (_, code), (_, printed) in zip(blocks[::2], blocks[1::2], strict=True):
        out = io.StringIO()
        with contextlib.redirect_stdout(out):
            exec(code, names)  # noqa: S102 the page's own examples
        assert out.getvalue().rstrip() == printed.rstrip()
    assert Path("tarn.pdf").exists()
    assert Path("net.svg").exists()


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_records_are_those_of_the_json_and_pandas_takes_them(path, capsys):
    day = traverse.read(path)
    assert main(["export", str(path), "--to", "json"]) == 0
    body = json.loads(capsys.readouterr().out)
    assert day.to_dict() == body
    assert json.loads(day.json()) == body
    for name in ("stations", "legs", "loops", "attitudes", "contacts", "thicknesses", "things", "elevations"):
        records = getattr(day, name)
        frame = pd.DataFrame(records)
        assert len(records) == len(frame) == len(body[name])
        assert list(frame.columns) == list(records.columns)
        for column in records.columns:
            values = records[column]
            assert values.shape == (len(records),)
            if values.dtype == np.float64:
                given = [row[column] for row in records.to_dicts()]
                assert [None if np.isnan(one) else one for one in values] == given
    assert [one["label"] for one in day.samples] == [
        one["label"] for one in body["things"] if one["kind"] == "sample"
    ]


def test_a_column_has_the_type_of_what_is_in_it(day):
    assert day.legs["line"].dtype == np.int64
    assert day.loops["adjusted"].dtype == np.bool_
    assert day.stations["lon"].dtype == np.float64
    assert np.isnan(day.stations["lon"]).all()
    assert day.stations["name"].tolist() == ["1", "2", "3"]
    assert day.elevations["up"].shape == (0,)
    with pytest.raises(KeyError, match="have no field 'eats'; there are name"):
        day.stations["eats"]


def test_a_caller_cannot_change_the_day_by_its_rows(day):
    day.stations[0]["east"] = 1.0
    day.stations.to_dicts()[0]["east"] = 1.0
    day.to_dict()["stations"][0]["east"] = 1.0
    for row in day.stations:
        row["east"] = 1.0
    assert day.stations["east"][0] == 0.0


def test_a_sheet_is_the_one_that_the_command_makes(day, capsys):
    day.sheet("from-python.pdf")
    assert main(["sheet", "tarn.trav", "-o", "from-command.pdf"]) == 0
    assert Path("from-python.pdf").read_bytes() == Path("from-command.pdf").read_bytes()
    assert main(["extract", "from-python.pdf", "-o", "out"]) == 0
    assert Path("out/tarn.trav").read_bytes() == Path("tarn.trav").read_bytes()


@pytest.mark.parametrize(
    ("kind", "options"), [("blank", ["--blank"]), ("grey", ["--grey"]), ("overlay", ["--overlay"])]
)
def test_so_is_each_other_kind_of_sheet(day, capsys, kind, options):
    made = day.sheet(kind=kind)
    assert main(["sheet", "tarn.trav", *options, "-o", "made.pdf"]) == 0
    assert made.bytes() == Path("made.pdf").read_bytes()


def test_sections_and_nets_are_those_of_their_commands(day, capsys):
    path = ROOT / "samples" / "ternel-point" / "ternel-point.trav"
    point = traverse.read(path)
    for name in ("section", "net"):
        assert main([name, str(path), "-o", "made.svg"]) == 0
        drawing = getattr(point, name)()
        assert drawing.bytes("svg") == Path("made.svg").read_bytes()
        assert drawing._repr_svg_().startswith("<svg") or "<svg" in drawing._repr_svg_()[:200]


def test_what_there_is_nothing_of_is_told(day):
    bare = traverse.read_text("notation 1\nbearings true\nat 1\nto 2 090 30m\n")
    with pytest.raises(traverse.LogError, match="no bedding and no line was measured"):
        bare.net()
    assert bare.attitudes.to_dicts() == []
    assert pd.DataFrame(bare.attitudes).empty


BAD = LOG.replace("N47E 64p", "N95E 64p")


def test_a_log_with_errors_has_messages_and_no_results(day):
    bad = traverse.read_text(BAD)
    (error,) = bad.errors
    assert (error.file, error.line, error.column, error.kind) == ("log.trav", 18, 7, "error")
    assert "~~~~" in str(error)
    assert bad.title == "Tarn Side, day 1"
    assert bad.units["letters"].tolist() == ["Sh", "Ss"]
    assert json.loads(bad.json())["stations"] == []
    for what in ("stations", "legs", "findings", "samples"):
        with pytest.raises(traverse.LogError, match="a quadrant angle is 0 to 90") as raised:
            getattr(bad, what)
        assert raised.value.messages == bad.errors
    for draw in (bad.sheet, bad.section, bad.net):
        with pytest.raises(traverse.LogError):
            draw("made.pdf")
    assert not Path("made.pdf").exists()


def test_what_is_no_text_is_a_log_with_an_error(tmp_path):
    path = tmp_path / "a.trav"
    path.write_bytes(b"\xff\xfe\x00")
    day = traverse.read(path)
    assert len(day.errors) == 1
    with pytest.raises(traverse.LogError):
        day.json()


def test_wrong_use_is_told_as_the_commands_tell_it(day, tmp_path):
    for call, said in (
        (lambda: traverse.read("nothing.trav"), "can't be read"),
        (lambda: traverse.read(tmp_path), "is a folder"),
        (lambda: traverse.read("-"), "read_text"),
        (lambda: day.sheet("a.txt"), "ends in .pdf"),
        (lambda: day.sheet("tarn.trav"), "the log itself"),
        (lambda: day.json("tarn.trav"), "the log itself"),
        (lambda: day.sheet(template="nothing"), "no template"),
        (lambda: day.net(tmp_path / "no" / "a.pdf"), "can't be written"),
    ):
        with pytest.raises(traverse.WrongUseError, match=re.escape(said)):
            call()
    assert Path("tarn.trav").read_text(encoding="utf-8") == LOG


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda day: day.sheet(kind="nope"), "kind is one of key, blank, grey, overlay, not 'nope'"),
        (lambda day: day.sheet(kind="blank", give="profile"), 'give is a list of names, such as ["profile"]'),
        (lambda day: day.sheet(kind="blank", give=[5]), "give is a list of names"),
        (lambda day: day.sheet(kind="blank", give=["nope"]), "nope can't be given; there is attitudes"),
        (lambda day: day.sheet(kind="blank", title=5), "title is a text, or None, not 5"),
        (lambda day: day.sheet(kind="blank", boxes=-1), "boxes is a number from 0 to 40"),
        (lambda day: day.sheet(kind="blank", boxes="2"), "boxes is a number from 0 to 40"),
        (lambda day: day.sheet(template=5), "template is a name or a path, as text, not 5"),
        (lambda day: day.net().bytes("nope"), "no drawing is made as 'nope'; there is pdf, svg, png"),
        (lambda _: traverse.read_text(b"notation 1\n"), "text is the text of a log"),
        (lambda _: traverse.index_season(".", processes=0), "processes is a number from 1"),
        (lambda _: traverse.index_season(".", processes="2"), "processes is a number from 1"),
    ],
)
def test_what_no_call_takes_is_told_with_what_it_takes(day, call, said):
    with pytest.raises(traverse.WrongUseError, match=re.escape(said)):
        call(day)


def test_a_text_names_files_only_where_a_folder_is_given(tmp_path):
    (tmp_path / "camp.trav").write_text("notation 1\nbearings true\n", encoding="utf-8")
    text = "notation 1\nuse camp.trav\nat 1\nto 2 090 30m\n"
    assert traverse.read_text(text).errors[0].code == "use-missing"
    day = traverse.read_text(text, folder=tmp_path)
    assert day.stations["east"].tolist() == [0.0, 30.0]
    carried = PdfReader(io.BytesIO(day.sheet().bytes())).attachments
    assert set(carried) == {"log.trav", "camp.trav"}


def test_importing_it_reads_nothing_of_the_chain():
    """Commands import the package first: what they do not need must not come with it."""
    code = (
        "import sys, traverse; print(sorted(one for one in sys.modules if one.startswith('traverse')));"
        "traverse.read_text; print('numpy' in sys.modules, 'reportlab' in sys.modules, 'pandas' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    first, second = done.stdout.splitlines()
    assert first == "['traverse', 'traverse.version']"
    assert second == "False False False"


def test_what_is_public_is_listed_documented_and_there():
    assert sorted(traverse.__all__) == dir(traverse) == sorted(traverse.__all__)
    for name in set(traverse.__all__) - {"__version__"}:
        assert getattr(traverse, name).__doc__, name
        assert f"`{name}`" in PAGE or name in {"FieldDay", "Message"}
    with pytest.raises(AttributeError, match="nothing_such"):
        _ = traverse.nothing_such
    public = [name for name in vars(traverse.FieldDay) if not name.startswith("_")]
    assert all(getattr(traverse.FieldDay, name).__doc__ for name in public)


SCRIPT = """
from pathlib import Path

import traverse

day: traverse.FieldDay = traverse.read(Path("tarn.trav"))
east = day.stations["east"]
mean: float = float(east.mean())
row = day.stations[0]
name: str = row["name"]
rest: traverse.Records = day.stations[1:]
for message in day.errors:
    line: int | None = message.line
    words: str = message.words
drawing: traverse.Drawing = day.sheet("a.pdf", kind="grey", report=True)
size: tuple[float, float] = drawing.size_mm
data: bytes = drawing.bytes("svg")
try:
    day.net("net.svg")
except traverse.LogError as problem:
    print(problem.messages, mean, name, rest, size, data)
"""
WRONG = """
import traverse

day = traverse.read_text("notation 1")
day.sheet("a.pdf", kind="gray")
day.statoins
"""


@pytest.mark.thorough
def test_a_users_script_passes_a_strict_type_checker_and_a_wrong_one_does_not(tmp_path):
    (tmp_path / "good.py").write_text(SCRIPT, encoding="utf-8")
    (tmp_path / "wrong.py").write_text(WRONG, encoding="utf-8")
    done = subprocess.run(
        [
            sys.executable, "-m", "mypy", "--strict", "--no-error-summary", f"--cache-dir={ROOT / '.mypy_cache'}",
            "--config-file", str(ROOT / "pyproject.toml"), str(tmp_path / "good.py"), str(tmp_path / "wrong.py"),
        ],
        capture_output=True, text=True, check=False, cwd=ROOT,
    )  # fmt: skip
    assert "good.py" not in done.stdout, done.stdout
    assert 'wrong.py:5: error: Argument "kind"' in done.stdout
    assert 'wrong.py:6: error: "FieldDay" has no attribute "statoins"' in done.stdout
    assert (ROOT / "traverse" / "py.typed").exists()
