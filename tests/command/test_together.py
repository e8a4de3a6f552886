"""`--together`: logs named in one call as one network, as a camp file would bring them in."""

import re
from pathlib import Path

import pytest

from traverse.__main__ import main

PARTIES = Path(__file__).parent.parent / "reference" / "logs" / "parties"


@pytest.fixture
def folder(tmp_path, monkeypatch):
    for letter in "acd":
        (tmp_path / f"{letter}.trav").write_bytes((PARTIES / f"party-{letter}.txt").read_bytes())
    monkeypatch.chdir(tmp_path)
    return tmp_path


def said(capsys):
    out, err = capsys.readouterr()
    return out, " ".join(err.split())


@pytest.mark.thorough
def test_without_the_word_each_log_has_its_own_sheet_and_with_it_there_is_one(folder):
    assert main(["sheet", "a.trav", "c.trav"]) == 0
    assert sorted(path.name for path in folder.glob("*.pdf")) == ["a.pdf", "c.pdf"]
    assert main(["sheet", "--together", "a.trav", "c.trav", "-o", "camp.pdf"]) == 0
    assert sorted(path.name for path in folder.glob("*.pdf")) == ["a.pdf", "c.pdf", "camp.pdf"]


def test_the_sheet_gives_back_the_logs_and_what_joined_them(folder):
    assert main(["sheet", "--together", "a.trav", "d.trav"]) == 0
    assert main(["extract", "together.pdf", "-o", "back"]) == 0
    assert sorted(path.name for path in (folder / "back").iterdir()) == ["a.trav", "d.trav", "together.trav"]
    assert main(["check", "back/together.trav"]) == 0


def test_letters_are_those_of_group_else_in_order(folder, capsys):
    (folder / "c.trav").write_text((folder / "c.trav").read_text().replace("party EL", "group A\nparty EL"))
    assert main(["check", "--together", "a.trav", "c.trav", "d.trav"]) == 0
    out, _ = said(capsys)
    rows = [row.split()[:2] for row in out.splitlines() if ".trav  " in row]
    assert rows == [["A", "c.trav"], ["B", "a.trav"], ["C", "d.trav"]]


@pytest.mark.thorough
def test_more_parties_than_letters_have_two(folder, capsys):
    log = (folder / "d.trav").read_text()
    names = [f"p{number:02d}.trav" for number in range(30)]
    for name in names:
        (folder / name).write_text(f"{log}# {name}\n")
    assert main(["check", "--together", *names]) == 0
    out, _ = said(capsys)
    assert [row.split()[0] for row in out.splitlines() if ".trav  " in row][25:] == [
        "Z",
        "AA",
        "AB",
        "AC",
        "AD",
    ]


WALK = "notation 1\nbearings true\nunit Aa Sandstone ; Jurassic\nat 1\n  unit Aa\nto 2 040 60m\nat 2\n  unit Aa\n"


def test_what_is_asked_of_parties_that_share_nothing_holds_when_it_is_typed(folder, capsys):
    """A tie stands in neither log, and the one that brings them in is no file."""
    (folder / "p.trav").write_text(WALK)
    (folder / "q.trav").write_text(WALK.replace("60m", "70m"))
    assert main(["check", "--together", "p.trav", "q.trav"]) == 1
    err = said(capsys)[1]
    (lines,) = re.findall("stands for these lines: ((?:`[^`]*`,? ?)+)", err.replace("`.", "` "))
    (tie,) = re.findall("`(tie [^`]*)`", err)
    assert f"a file of your own in {folder}" in err
    camp = [*re.findall("`([^`]*)`", lines), tie.replace("NAME", "2")]
    (folder / "camp.trav").write_text("\n".join(camp) + "\n")
    assert main(["check", "camp.trav"]) == 0
    for name in ("p.trav", "q.trav"):
        text = (folder / name).read_text()
        (folder / name).write_text(text.replace("at 1", "control 1 100 E 200 N 300 m\nat 1"))
    capsys.readouterr()
    assert main(["check", "--together", "p.trav", "q.trav"]) == 0
    assert "no file" not in said(capsys)[1]


@pytest.mark.parametrize("link", ["symlink_to", "hardlink_to"])
@pytest.mark.parametrize("call", [["check", "--together"], ["compare"]])
def test_a_link_to_a_log_is_no_other_party(folder, capsys, link, call):
    getattr(folder / "link.trav", link)(folder / "a.trav")
    assert main([*call, "c.trav", "a.trav", "link.trav"]) == 2
    assert "link.trav: is named twice" in said(capsys)[1].replace("a.trav: is", "link.trav: is")


@pytest.mark.parametrize(
    ("call", "status", "words"),
    [
        (["a.trav", "a.trav"], 2, "a.trav: is named twice; each log once"),
        (["a.trav", "-"], 2, "--together takes files, not standard input"),
        (["a.trav", "none.trav"], 2, "none.trav: can't be read"),
        (["a.trav", "same.trav"], 1, "X is a.trav. X is given here: line 3. Type `log same.trav as A`"),
    ],
)
def test_what_can_not_be_put_together_is_told(folder, capsys, call, status, words):
    if "same.trav" in call:
        text = (folder / "a.trav").read_text().replace("grid ", "group X\ngrid ")
        (folder / "a.trav").write_text(text)
        (folder / "same.trav").write_text(text)
    assert main(["check", "--together", *call]) == status
    _, err = said(capsys)
    assert words.casefold() in err.casefold()
