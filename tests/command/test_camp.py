"""Camp files on the command line: what is suggested, refused, left out, made and given back."""

import json
from pathlib import Path

import pytest

from tests.called import traverse
from traverse.__main__ import main

LOGS = Path(__file__).parent.parent / "reference" / "logs"


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "parties").mkdir()
    for path in (LOGS / "parties").iterdir():
        (tmp_path / "parties" / path.name).write_bytes(path.read_bytes())
    (tmp_path / "camp.trav").write_bytes((LOGS / "four-parties.trav").read_bytes())
    return tmp_path


def change(path, old, new):
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def said(capsys):
    out, err = capsys.readouterr()
    return out, " ".join(err.split())


def test_a_camp_is_checked_as_one_network(folder, capsys):
    assert main(["check", str(folder / "camp.trav")]) == 0
    out, err = said(capsys)
    assert "16 stations; 17 legs" in out
    assert "Tie A-4 to B-5" in out
    assert "no tie makes them one place" not in err
    (row,) = [row.split() for row in out.splitlines() if row.strip().startswith("B  ")]
    assert row[:12] == [
        "B",
        "parties/party-b.txt",
        "Kari",
        "Brun,",
        "Tor",
        "Solli",
        "5",
        "478",
        "m",
        "1",
        "in",
        "275",
    ]
    assert (
        "A loop that closes shows only that it agrees with itself" in out
    )  # a tie of two names checks no more


def test_stations_nearer_than_their_error_are_suggested_with_the_line_to_type(folder, capsys):
    change(folder / "camp.trav", "tie  A-4 to B-5\n", "")
    assert main(["check", "--notes", str(folder / "camp.trav")]) == 0
    out, err = said(capsys)
    assert "A-4 and B-5 come out 1.4 m apart: no more than their error" in err
    assert "Type `tie A-4 to B-5` if both parties stood there" in err
    assert "Tie A-4" not in out
    assert main(["export", str(folder / "camp.trav"), "--to", "json"]) == 0
    (noted,) = [one for one in json.loads(said(capsys)[0])["messages"] if one["code"] == "parties-near"]
    assert noted["hints"] == ["`tie A-4 to B-5` if both parties stood there"]
    assert noted["line"] is None


def test_each_pace_names_the_party_that_walks_it(tmp_path, capsys):
    for letters, north, pace in (("a", 5168400, "0.75"), ("b", 5169400, "1.4")):
        (tmp_path / f"{letters}.trav").write_text(
            f"notation 1\ntraverse {letters}\ngrid EPSG:25833\ndate 2026-06-21\nparty TB Tor Bo\nbearings grid\npace TB single {pace} m\n"
            f"control 1 412300 E {north} N ±5\nat 1\nto 2 137 60p\nto 3 171 40p\n",
            encoding="utf-8",
        )
    camp = tmp_path / "camp.trav"
    camp.write_text("notation 1\ntraverse Two walks\nlog a.trav as A\nlog b.trav as B\n", encoding="utf-8")
    assert main(["check", str(camp)]) == 0
    out = " ".join(said(capsys)[0].split())
    assert "Pace: A, TB: single pace 0.750 m" in out
    assert "Pace: B, TB: single pace 1.400 m" in out
    assert "Pace of B: a single pace of 1.40 m is unusual" in out


def test_parties_that_share_nothing_are_refused_by_name(folder, capsys):
    change(folder / "camp.trav", "tie  A-4 to B-5\n", "")
    change(folder / "camp.trav", "tie  A-3 to B-1\n", "")
    assert main(["check", str(folder / "camp.trav")]) == 1
    _, err = said(capsys)
    assert "parties/party-b.txt:10:1" in err
    assert "Nothing joins B-1, B-2, B-3, B-4, B-5 to the rest" in err
    assert "`tie A-NAME to B-NAME` of a place where both stood" in err


def test_a_log_with_errors_is_left_out_and_the_sheet_is_made_of_the_rest(folder, capsys):
    change(folder / "parties" / "party-c.txt", "to 3 ", "to 3 N95E ")
    assert main(["sheet", str(folder / "camp.trav")]) == 1
    _, err = said(capsys)
    assert "parties/party-c.txt:21:6: can't be" in err
    assert "takes no part; the rest goes on without it" in err
    assert (folder / "camp.pdf").exists()
    assert main(["export", str(folder / "camp.trav"), "--to", "json"]) == 1
    body = json.loads(said(capsys)[0])
    assert {one["name"][:2] for one in body["stations"]} == {"Ca", "A-", "B-", "D-"}


def test_the_data_name_the_file_of_each_line(folder, capsys):
    assert main(["export", str(folder / "camp.trav"), "--to", "json"]) == 0
    body = json.loads(said(capsys)[0])
    assert {leg["file"] for leg in body["legs"]} == {f"parties/party-{letter}.txt" for letter in "abcd"}
    assert [one["letters"] for one in body["logs"]] == ["A", "B", "C", "D"]
    assert body["logs"][1]["stations"] == ["B-1", "B-2", "B-3", "B-4", "B-5"]
    assert body["rulings"][0]["instead_of"] == ["bed 321/30 at A-3", "bed 053/31 at B-1"]


def test_a_sheet_gives_back_every_log_it_was_made_from(folder, capsys):
    assert main(["sheet", str(folder / "camp.trav")]) == 0
    assert main(["extract", str(folder / "camp.pdf"), "-o", str(folder / "back")]) == 0
    for path in ("camp.trav", *(f"parties/party-{letter}.txt" for letter in "abcd")):
        assert (folder / "back" / path).read_bytes() == (folder / path).read_bytes()


def test_a_handout_of_a_camp_names_nobody(folder, capsys):
    assert main(["sheet", str(folder / "camp.trav"), "--blank", "-o", str(folder / "blank.svg")]) == 0
    text = (folder / "blank.svg").read_text(encoding="utf-8")
    assert "Hanna" not in text
    assert "Mara" not in text
    assert "joint" not in text


def warned(folder, capsys):
    main(["export", str(folder / "camp.trav"), "--to", "json"])
    body = json.loads(said(capsys)[0])
    return body, [one for one in body["messages"] if one["code"] == "party-differs"]


@pytest.mark.parametrize(
    ("old", "new", "where", "how", "cause"),
    [
        (
            "bearings true",
            "bearings magnetic\ndeclination 9 E, 2026, map margin",
            ("parties/party-b.txt", 6),
            "turned by +9",
            "declination applied twice: set on the compass and added again",
        ),
        ("ft", "m", (None, 6), "3.30 ± 0.11 times as long", "feet taken for metres"),
    ],
)
def test_a_party_that_differs_as_a_whole_is_named_at_its_heading_and_nobody_else(
    folder, capsys, old, new, where, how, cause
):
    change(folder / "parties" / "party-b.txt", old, new)
    body, (asked,) = warned(folder, capsys)
    assert how in asked["text"]
    (fit,) = [one for one in body["fits"] if one["cause"]]
    assert (fit["log"], fit["cause"]) == ("parties/party-b.txt", cause)
    assert (fit.get("file"), fit["line"]) == where == (asked.get("file"), asked["line"])
    assert body["suspects"] == []


def test_of_two_parties_alone_nothing_says_which_is_wrong(folder, capsys):
    change(
        folder / "parties" / "party-b.txt",
        "bearings true",
        "bearings magnetic\ndeclination 12 E, 2026, chart",
    )
    for line in ("log  parties/party-c.txt as C\n", "log  parties/party-d.txt as D\n", "tie  A-2 to C-5\n"):
        change(folder / "camp.trav", line, "")
    body, (asked,) = warned(folder, capsys)
    assert asked["text"].startswith("A and B do not lie on each other where they stood at one place")
    assert "B comes out turned by +12" in asked["text"]
    assert "beside the rest (if it is B: declination applied twice" in asked["text"]
    assert "nothing says which of them is wrong" in asked["text"]
    assert [one["cause"] for one in body["fits"] if one["cause"]] == []
    assert body["suspects"] == []


def test_parties_that_fit_are_not_asked_about(folder, capsys):
    body, asked = warned(folder, capsys)
    assert asked == []
    fits = {one["log"]: one for one in body["fits"] if one.get("log")}
    assert list(fits) == [f"parties/party-{letter}.txt" for letter in "abc"]  # D shares one place
    assert all(abs(one["rotation"]) < 3.0 * one["rotation_sd"] for one in fits.values())


def test_an_also_that_names_nothing_is_asked_about(folder, capsys):
    """`also-of-nothing`: a letter mistyped there joins nothing."""
    change(folder / "camp.trav", "also B-Rs", "also B-Rs, C-Zz")
    assert main(["check", str(folder / "camp.trav")]) == 0
    _, err = said(capsys)
    assert "log that is brought in has a unit C-Zz" in err
    assert "unit B-Rs" not in err


def test_two_rulings_on_one_outcrop_are_asked_about(folder, capsys):
    """`ruling-twice`: the last one counts."""
    ruling = "ruling A-3 bed 319/30 HG 2026-06-21 read again, the other was a joint"
    change(folder / "camp.trav", ruling, f"{ruling}\nruling B-1 bed 019/30 HG 2026-06-21 read once more")
    assert main(["check", str(folder / "camp.trav")]) == 0
    _, err = said(capsys)
    assert "rules on the same" in err
    assert "ruling B-1 bed 019/30" in err


def test_an_attitude_at_one_name_of_a_place_is_not_asked_for_at_another(folder, capsys):
    """A ruling stands at the name it is given: the outcrop is measured, whatever a party calls it."""
    change(folder / "camp.trav", "ruling A-3", "ruling B-1")
    change(folder / "parties" / "party-a.txt", "at 3\n", "at 3\n  rock Shale, grey\n")
    assert main(["check", str(folder / "camp.trav")]) == 0
    out, _ = said(capsys)
    assert "rock but no attitude" not in out


def test_an_also_of_a_party_that_does_not_fit_is_not_asked_about(capsys):
    assert main(["check", str(LOGS / "party-aside.trav")]) == 0
    assert "has a unit" not in said(capsys)[1]


def test_a_tie_to_the_key_in_a_log_does_not_stop_a_camp_without_the_key(tmp_path):
    """`tie-absent`: it is right where the log is held against the key; in the camp itself such a name is an error."""
    log = "notation 1\nbearings true\npace 1 m\nat 1\nto 2 090 100p\nto 3 000 100p\nclose 1 225 141p\n"
    (tmp_path / "a.trav").write_text(f"{log}tie 2 to K-7\n", "utf-8")
    (tmp_path / "b.trav").write_text(log, "utf-8")
    camp = "notation 1\ntraverse Two parties\nlog a.trav as A\nlog b.trav as B\ntie A-1 to B-1\n"
    (tmp_path / "camp.trav").write_text(camp, "utf-8")
    done = traverse("check", "camp.trav", cwd=tmp_path)
    assert done.returncode == 0
    said = (done.stderr + done.stdout).decode()
    assert "a.trav:8:1: look again" in said
    assert "K-7 is of no log of this camp: the tie joins nothing here" in " ".join(said.split())
    assert traverse("sheet", "camp.trav", cwd=tmp_path).returncode == 0
    # All of one log are one question, whoever has them.
    (tmp_path / "a.trav").write_text(f"{log}tie 2 to K-7\ntie 3 to K-8\n", "utf-8")
    (tmp_path / "b.trav").write_text(f"{log}tie 2 to K-7\n", "utf-8")
    done = traverse("check", "camp.trav", cwd=tmp_path)
    said = " ".join((done.stderr + done.stdout).decode().split())
    assert said.count("of no log of this camp") == 1
    assert "K-7, K-8 are of no log of this camp: the ties join nothing here" in said
    (tmp_path / "camp.trav").write_text(camp.replace("B-1", "K-1"), "utf-8")
    assert traverse("check", "camp.trav", cwd=tmp_path).returncode == 1
