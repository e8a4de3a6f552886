"""`traverse form`: what it writes, and what it says where it can't."""

import pypdf
import pytest

from traverse.__main__ import main

HEAD = "notation 1\ntraverse Vannet Moor\nparty AR\nbearings true\nattitudes dip-right\npace 0.8 m\n"


@pytest.fixture
def day(tmp_path):
    log = tmp_path / "day.trav"
    log.write_text(HEAD, encoding="utf-8")
    return log


def said_in(path):
    return " ".join(page.extract_text() for page in pypdf.PdfReader(path).pages)


def test_without_a_log_it_is_blank_and_lies_where_it_was_called(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert main(["form"]) == 0
    said = said_in(tmp_path / "notebook-page.pdf")
    assert "dip-right" in said
    assert "letters" in said
    assert "first figure" in said


def test_with_a_head_it_lies_beside_the_log_and_leaves_the_log_alone(day):
    assert main(["form", str(day)]) == 0
    said = said_in(day.with_name("day-page.pdf"))
    assert "80.0" in said, "a hundred paces"
    assert "strike" in said
    assert day.read_text(encoding="utf-8") == HEAD


def test_attitudes_may_be_written_another_way_than_in_the_log(day):
    out = day.with_name("out.pdf")
    assert main(["form", str(day), "--attitudes", "dip-direction", "--paper", "letter", "-o", str(out)]) == 0
    reader = pypdf.PdfReader(out)
    assert "dip direction" in said_in(out)
    assert round(float(reader.pages[0].mediabox.width) / 72.0, 1) == 11.0


@pytest.mark.parametrize("kind", ["svg", "png"])
def test_a_picture_holds_the_first_page_and_says_so(day, capsys, kind):
    assert main(["form", str(day), "-o", str(day.with_name(f"out.{kind}"))]) == 0
    assert "the first of 2 pages" in capsys.readouterr().err


@pytest.mark.parametrize("paper", ["A9", "Roll-610"])
def test_a_paper_there_is_not_is_told_with_those_there_are(day, capsys, paper):
    assert main(["form", str(day), "--paper", paper]) == 2
    told = capsys.readouterr().err
    assert f"no paper {paper}" in told
    assert "A4, Letter" in told
    assert not day.with_name("day-page.pdf").exists()


def test_an_unknown_rule_is_wrong_use(day, capsys):
    with pytest.raises(SystemExit) as ended:
        main(["form", str(day), "--attitudes", "dip-up"])
    assert ended.value.code == 2
    assert "dip-direction" in capsys.readouterr().err


def test_a_broken_log_is_told_and_no_page_made(day, capsys):
    day.write_text(HEAD.replace("pace 0.8 m", "pace 0.8 moons"), encoding="utf-8")
    assert main(["form", str(day)]) == 1
    told = capsys.readouterr().err
    assert f"{day}:6:" in told
    assert "no page made" in told
    assert not day.with_name("day-page.pdf").exists()


@pytest.mark.parametrize("where", ["no/such/folder.pdf", "page.docx", "."])
def test_what_can_not_be_written_is_told(day, capsys, where):
    assert main(["form", str(day), "-o", str(day.parent / where) if where != "." else str(day.parent)]) == 2
    assert capsys.readouterr().err.startswith("traverse: ")


def test_a_log_that_is_not_there_and_the_log_as_output_are_wrong_use(day, capsys):
    assert main(["form", str(day.with_name("none.trav"))]) == 2
    assert "can't be read" in capsys.readouterr().err
    log = day.rename(day.with_suffix(".pdf"))
    assert main(["form", str(log), "-o", str(log)]) == 2
    assert "the log itself" in capsys.readouterr().err
