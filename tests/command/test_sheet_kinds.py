"""`traverse sheet` with --blank, --grey and --template: names of files, and what is refused."""

from __future__ import annotations

import io

import pypdf
import pytest

from traverse import LogError, read
from traverse.__main__ import main

LOG = (
    "notation 1\ntraverse Test Dale, day 1\nbearings true\nattitudes dip-direction\n"
    "unit Aa Alpha ; Triassic\nsection A-A' from 1 to 3\nat 1\n  unit Aa\n  bed 120/30\nto 2 060 100m +4\nto 3 150 90m -3\n"
)


@pytest.fixture
def log(tmp_path):
    path = tmp_path / "dale.trav"
    path.write_text(LOG, encoding="utf-8")
    return path


def test_each_kind_has_a_name_of_its_own(log):
    for option, name in (("--blank", "dale-blank.pdf"), ("--grey", "dale-grey.pdf")):
        assert main(["sheet", str(log), option]) == 0
        assert (log.parent / name).read_bytes().startswith(b"%PDF")
    assert not (log.parent / "dale.pdf").exists()


def test_what_the_number_of_boxes_tells_is_said(log, capsys):
    assert main(["sheet", str(log), "--blank"]) == 0
    assert "1 empty box tells that there is one unit; --boxes N" in capsys.readouterr().err
    for options in (["--boxes", "7"], ["--give", "units"]):
        assert main(["sheet", str(log), "--blank", *options]) == 0
        assert "empty box" not in capsys.readouterr().err


def test_a_log_whose_name_tells_makes_a_handout_with_another(log):
    telling = log.rename(log.parent / "overturned-fold.trav")
    assert main(["sheet", str(telling), "--blank"]) == 0
    assert [path.name for path in log.parent.glob("*.pdf")] == ["exercise-blank.pdf"]


def test_the_handout_carries_no_log_and_the_key_does(log):
    assert main(["sheet", str(log), "--blank"]) == 0
    assert main(["sheet", str(log)]) == 0
    blank, key = (
        pypdf.PdfReader(io.BytesIO((log.parent / name).read_bytes()))
        for name in ("dale-blank.pdf", "dale.pdf")
    )
    assert blank.attachments == {}
    assert list(key.attachments) == ["dale.trav"]


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--give", "units"], "--give goes with --blank"),
        (["--blank", "--give", "answers"], "answers can't be given; there is attitudes, contacts"),
        (["--blank", "--give", ""], "--give names nothing"),
        (["--blank", "--boxes", "-1"], "--boxes takes a number"),
        (["--boxes", "3"], "--boxes goes with --blank"),
    ],
)
def test_what_can_t_be_is_refused_and_nothing_is_written(log, capsys, options, said):
    assert main(["sheet", str(log), *options]) == 2
    assert said in capsys.readouterr().err
    assert not list(log.parent.glob("*.pdf"))


def test_a_mistake_in_a_template_is_shown_with_its_line(log, capsys):
    template = log.parent / "mine.toml"
    template.write_text('extends = "field"\nmargn = 12.0\n', encoding="utf-8")
    assert main(["sheet", str(log), "--template", str(template)]) == 2
    said = capsys.readouterr().err
    assert f"{template}:2:1" in said
    assert "margn = 12.0" in said
    assert "Do you mean `margin`?" in said
    assert not list(log.parent.glob("*.pdf"))


@pytest.mark.every(2)
@pytest.mark.parametrize(
    ("options", "size"),
    [
        ("paper A4-Letter portrait", (210.0, 279.4)),
        ("paper a0 landscape", (1189.0, 841.0)),
        ("paper Legal portrait", (215.9, 355.6)),
        ("scale 1:500 paper roll-610", (427.0, 610.0)),
    ],
)
def test_a_paper_that_the_log_asks_for(log, options, size):
    """ISO 216; 8.5 by 14 inches; a roll is as long as it must be, and seven tenths of its width at least."""
    log.write_text(LOG.replace("at 1\n", f"sheet {options}\nat 1\n", 1), encoding="utf-8")
    assert main(["sheet", str(log)]) == 0
    box = pypdf.PdfReader(io.BytesIO((log.parent / "dale.pdf").read_bytes())).pages[0].mediabox
    assert [float(side) / 72 * 25.4 for side in (box.width, box.height)] == pytest.approx(size, abs=0.01)


@pytest.mark.parametrize("name", ["../../A4", "A4/etc", "-A4", "A4-", "A4_", "<b>"])
def test_a_paper_is_a_word(log, name, capsys):
    log.write_text(LOG + f"sheet paper {name}\n", encoding="utf-8")
    assert main(["sheet", str(log)]) == 1
    assert "Roll-610" in capsys.readouterr().err


def test_a_template_by_name(log):
    assert main(["sheet", str(log), "--template", "insert"]) == 0
    box = pypdf.PdfReader(io.BytesIO((log.parent / "dale.pdf").read_bytes())).pages[0].mediabox
    assert [round(float(side) / 72 * 25.4) for side in (box.width, box.height)] == [148, 210]


@pytest.mark.parametrize("template", ["signs", "table"])
def test_an_overlay_on_nothing_says_what_to_take(log, template, capsys):
    assert main(["sheet", str(log), "--overlay", "--template", template]) == 1
    told = " ".join(capsys.readouterr().err.split())
    assert "nothing to lay an overlay on" not in told
    assert "to lay an overlay on. Take a template that draws one, such as `--template field`." in told


@pytest.mark.every(3)
@pytest.mark.parametrize("paper", ["A4", "A3", "A0"])
def test_a_scale_that_no_paper_holds_is_answered_with_a_smaller_one(log, paper, capsys):
    log.write_text(LOG.replace("100m", "9000m").replace("90m", "8000m") + f"sheet scale 1:1 paper {paper}\n")
    assert main(["sheet", str(log)]) == 0
    told = " ".join(capsys.readouterr().err.split())
    assert "larger paper" not in told
    assert "smaller scale" in told


@pytest.mark.parametrize("options", [[], ["--blank"], ["--grey"], ["--overlay"]])
def test_a_log_of_more_stations_than_are_drawn_is_refused_where_they_begin(options, log, capsys, monkeypatch):
    """Ten thousand stations in loops were drawn for minutes, on pages that nobody could read."""
    monkeypatch.setattr("traverse.command.sheet.MOST_STATIONS", 2)
    assert main(["sheet", str(log), *options]) == 1
    told = " ".join(capsys.readouterr().err.split())
    assert f"{log}:11:" in told
    assert "sheet is drawn of 2 stations at most, and this log has 3" in told
    assert "Draw it in parts" in told
    assert not list(log.parent.glob("*.pdf"))


def test_what_is_refused_from_the_command_line_is_refused_from_python_and_no_station_earlier(
    log, monkeypatch
):
    monkeypatch.setattr("traverse.command.sheet.MOST_STATIONS", 2)
    day = read(log)
    with pytest.raises(LogError, match="can't be drawn"):
        day.sheet()
    monkeypatch.setattr("traverse.command.sheet.MOST_STATIONS", 3)
    assert day.sheet().pages
