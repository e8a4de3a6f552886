"""What a leader may do wrong with a camp: each is told once, where it stands, with what to type; never a traceback."""

from pathlib import Path

import pytest

from traverse.__main__ import main

LOGS = Path(__file__).parent.parent / "reference" / "logs"
CAMP = "camp.trav"
B = "parties/party-b.txt"
C = "parties/party-c.txt"
CASES = {
    "clashing letters": (
        [(CAMP, "party-b.txt as B", "party-b.txt as A")],
        1,
        "camp.trav:6:6",
        "A is parties/party-a.txt. A is given here: line 5. Type `log parties/party-b.txt as B`",
    ),
    "one file twice": (
        [(CAMP, "tie  A-3", "log parties/party-a.txt as E\ntie  A-3")],
        1,
        "camp.trav:9:1",
        "parties/party-a.txt is brought in already. First here: line 5. Leave one of the two lines out",
    ),
    "a log in the wrong zone": (
        [(C, "EPSG:25833", "EPSG:25832")],
        1,
        "parties/party-c.txt:5:6",
        "EPSG:25832 here, and EPSG:25833 before: one sheet has one grid. The other is here: camp.trav:4. Look whether one of them is a slip",
    ),
    "nothing shared": (
        [(CAMP, "tie  A-3 to B-1\ntie  A-4 to B-5\n", "")],
        1,
        "parties/party-b.txt:10:1",
        "Nothing joins B-1, B-2, B-3, B-4, B-5 to the rest: Cairn",
    ),
    "a tie that contradicts": (
        [(CAMP, "tie  A-2 to C-5", "tie  A-2 to C-3")],
        0,
        "camp.trav:11:1",
        "Tie A-2–Cairn–C-2–C-3 misses by 157 m",
    ),
    "a ruling for what is not there": (
        [(CAMP, "ruling A-3 bed", "ruling A-5 cleavage")],
        1,
        "camp.trav:15:1",
        "no `cleavage` is booked at A-5 to rule on. Look which station is meant",
    ),
    "a ruling at no station": (
        [(CAMP, "ruling A-3 bed", "ruling A-33 bed")],
        1,
        "camp.trav:15:8",
        "no station A-33",
    ),
    "a log with errors among good ones": (
        [(C, "to 3 010", "to 3 N95E")],
        1,
        "parties/party-c.txt:21:6",
        "N95E: a quadrant angle is 0 to 90",
    ),
    "a file that is not there": (
        [(CAMP, "party-d.txt as D", "party-x.txt as D")],
        1,
        "camp.trav:8:1",
        "no file parties/party-x.txt. It is sought in the folder of the log",
    ),
    "one letter with two meanings": (
        [(B, "Rs Reed Shale", "Lt Reed Shale"), (B, "Rs", "Lt"), (CAMP, " ; also B-Rs", "")],
        1,
        "parties/party-b.txt:7:1",
        "Lt is Larder Limestone, and Reed Shale here. Larder Limestone stands here: camp.trav:14. Type `unit Lt Larder Limestone ; Triassic ; also B-Lt`",
    ),
    "a tie to a place without its letters": (
        [(CAMP, "tie  A-4 to B-5", "tie  B-5 to 5")],
        1,
        "camp.trav:10:1",
        "no station 5 in these logs; did you mean A-5 or C-5?",
    ),
    "a tie to no station": (
        [(CAMP, "tie  A-4 to B-5", "tie  A-4 to B-55")],
        1,
        "camp.trav:10:1",
        "no station B-55 in these logs; did you mean B-5?",
    ),
}


@pytest.fixture
def folder(tmp_path, monkeypatch):
    (tmp_path / "parties").mkdir()
    for path in (LOGS / "parties").iterdir():
        (tmp_path / "parties" / path.name).write_bytes(path.read_bytes())
    (tmp_path / CAMP).write_bytes((LOGS / "four-parties.trav").read_bytes())
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize("case", CASES)
def test_what_is_wrong_is_told_at_its_line_with_what_to_type(folder, capsys, case):
    changes, status, where, words = CASES[case]
    for name, old, new in changes:
        path = folder / name
        text = path.read_text("utf-8")
        assert old in text
        path.write_text(text.replace(old, new), "utf-8")
    assert main(["check", CAMP]) == status
    _, err = capsys.readouterr()
    told = " ".join(err.split())
    assert f"{where}:" in told
    assert words.casefold() in told.casefold(), err
    assert "Traceback" not in err
    assert err.count("can't be") == (status == 1)  # nothing follows from it that is told as well
    print(err)


def test_two_parties_with_files_of_one_name_are_told_apart_and_opened_from_here(
    tmp_path, monkeypatch, capsys
):
    """By their folders, in the tables and in the place that an editor jumps to."""
    monkeypatch.chdir(tmp_path)
    for party, leg in (("north", "to 2 90 60m"), ("south", "to 2 090 60m")):
        Path("camp", party).mkdir(parents=True)
        Path("camp", party, "day.trav").write_text(f"notation 1\nbearings true\nat 1\n{leg}\n", "utf-8")
    Path("camp/camp.trav").write_text(
        "notation 1\ntraverse Camp\nlog north/day.trav as N\nlog south/day.trav as S\n", "utf-8"
    )
    assert main(["check", "camp/camp.trav"]) == 1
    assert "camp/north/day.trav:4:6: can't be" in capsys.readouterr().err.splitlines()
    assert main(["check", "camp/north/day.trav", "camp/south/day.trav"]) == 1
    rows = [line.split()[0] for line in capsys.readouterr().out.splitlines() if "day" in line]
    assert rows == ["north/day", "south/day"]
    assert main(["compare", "camp/south/day.trav", "camp/north/day.trav", "-o", "pages"]) == 1
    assert "camp/north/day.trav:4:6: can't be" in capsys.readouterr().err.splitlines()
