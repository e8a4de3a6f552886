"""`traverse compare` as a leader calls it."""

import json

import pytest

from tests.called import traverse
from tests.compare.camp import VALLEY
from tests.compare.test_marks_by_hand import KEY, PARTY


@pytest.fixture
def camp(tmp_path):
    for name, text in (
        ("key", VALLEY),
        ("good", VALLEY),
        ("sign", VALLEY.replace("4.7 E", "4.7 W")),
        ("broken", VALLEY.replace("067 31p", "067 31q")),
        ("elsewhere", KEY.replace("at 1", "at Z1").replace("control 1", "control Z1").replace("to ", "to Z").replace("at 2", "at Z2").replace("40m Zto", "40m to").replace("40m to Z", "40m to ")),
    ):  # fmt: skip
        (tmp_path / f"{name}.trav").write_text(text, "utf-8")
    return tmp_path


def test_json_is_an_array_with_an_object_a_log(camp):
    done = traverse("compare", "key.trav", "good.trav", "sign.trav", "--to", "json", cwd=camp)
    assert done.returncode == 0, done.stderr
    good, sign = json.loads(done.stdout)
    assert (good["log"], sign["log"]) == ("good.trav", "sign.trav")
    assert good["causes"] == []
    (cause,) = sign["causes"]
    assert cause["line"] == next(
        i for i, row in enumerate(VALLEY.splitlines(), 1) if row.startswith("declination")
    )
    assert cause["cause"] == "declination of the wrong sign"
    assert cause["cause"] in cause["text"]
    assert len(sign["pairs"]) == 18
    first = sign["pairs"][0]
    assert (first["station"], first["key"], first["moved"]) == ("1", "1", 0.0)
    assert first["pole_angle"] == pytest.approx(9.0, abs=1.0)
    assert {one["part"] for one in sign["marks"]} == {
        "location",
        "shape",
        "attitudes",
        "contacts",
        "units",
        "process",
    }


def test_the_terminal_has_a_line_a_log_and_then_the_details(camp):
    done = traverse("compare", "key.trav", "good.trav", "sign.trav", cwd=camp)
    rows = done.stdout.decode().splitlines()
    assert [row.split()[0] for row in rows[2:4]] == ["good", "sign"]
    assert "line 13: declination of the wrong sign" in rows[3]
    assert "no leader has set it" in done.stdout.decode()


def test_a_log_with_errors_is_told_and_the_rest_goes_on(camp):
    done = traverse("compare", "key.trav", "broken.trav", "sign.trav", "--to", "json", cwd=camp)
    assert done.returncode == 1
    assert b"broken.trav:60:11" in done.stderr
    broken, sign = json.loads(done.stdout)
    assert broken["problem"].startswith("1 error")
    assert broken["messages"][0]["line"] == 60
    assert len(sign["causes"]) == 1


def test_no_shared_station_and_a_missing_file_are_told_beside_the_rest(camp):
    done = traverse(
        "compare", "key.trav", "elsewhere.trav", "none.trav", "good.trav", "--to", "json", cwd=camp
    )
    assert done.returncode == 2
    apart, none, good = json.loads(done.stdout)
    assert "no station in common" in apart["problem"]
    assert "can't be read" in none["problem"]
    assert good["problem"] is None


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (("key.trav", "key.trav"), b"is the key itself"),
        (("key.trav", "./key.trav"), b"is the key itself"),
        (("key.trav", "good.trav", "good.trav"), b"named twice"),
        (("none.trav", "good.trav"), b"can't be read"),
        (("key.trav", "good.trav", "--marks", "none.toml"), b"can't be read"),
    ],
)
def test_wrong_use_is_told(camp, call, words):
    done = traverse("compare", *call, cwd=camp)
    assert done.returncode == 2
    assert words in done.stderr
    assert b"Traceback" not in done.stderr


def test_a_key_with_errors_stops_it(camp):
    done = traverse("compare", "broken.trav", "good.trav", cwd=camp)
    assert done.returncode == 1
    assert b"mend it first" in done.stderr


def test_a_scheme_with_a_mistake_is_told_at_its_place(camp):
    (camp / "ours.toml").write_text("name = 3\n", "utf-8")
    done = traverse("compare", "key.trav", "good.trav", "--marks", "ours.toml", cwd=camp)
    assert done.returncode == 2
    assert b"ours.toml:1:1" in done.stderr


def test_ids_stand_for_names_everywhere(camp):
    (camp / "olsen.trav").write_text(PARTY, "utf-8")
    (camp / "theirs.trav").write_text(KEY, "utf-8")
    for call in (("--to", "json"), ()):
        done = traverse("compare", "theirs.trav", "olsen.trav", "--ids", *call, cwd=camp)
        assert done.returncode == 0, done.stderr
        assert b"P1" in done.stdout
        assert b"olsen" not in done.stdout + done.stderr


@pytest.mark.thorough
def test_many_logs_over_two_processes_are_told_in_their_order(camp):
    names = [f"party-{letter}.trav" for letter in "abcdefghi"]
    for name in names:
        (camp / name).write_text(PARTY, "utf-8")
    (camp / "theirs.trav").write_text(KEY, "utf-8")
    done = traverse("compare", "theirs.trav", *names, "--to", "json", cwd=camp)
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert [one["log"] for one in found] == names
    assert all(one["marks"] == found[0]["marks"] for one in found)


def test_the_key_may_come_from_standard_input(camp):
    done = traverse("compare", "-", "sign.trav", "--to", "json", stdin=VALLEY.encode(), cwd=camp)
    assert done.returncode == 0, done.stderr
    assert len(json.loads(done.stdout)[0]["causes"]) == 1


@pytest.mark.thorough
def test_a_camp_is_a_key_and_a_log_like_any_other(tmp_path):
    """Two days of one party against the key are the walk of one day; as the key they are the key."""
    second = VALLEY.index("\nto 9 ")
    head = VALLEY[: VALLEY.index("\nat 1")]
    (tmp_path / "key.trav").write_text(VALLEY, "utf-8")
    (tmp_path / "day1.trav").write_text(VALLEY[:second] + "\n", "utf-8")
    (tmp_path / "day2.trav").write_text(
        f"{head}\n\nat 8\n{VALLEY[second:]}".replace("4.7 E", "4.7 W").replace("2026-07-14", "2026-07-15"),
        "utf-8",
    )
    (tmp_path / "days.trav").write_text(
        "notation 1\ntraverse Two days\nlog day1.trav\nlog day2.trav\n", "utf-8"
    )
    done = traverse("compare", "key.trav", "days.trav", "--to", "json", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    (found,) = json.loads(done.stdout)
    assert len(found["pairs"]) == 18
    assert [(one["file"], one["cause"]) for one in found["causes"]] == [
        ("day2.trav", "declination of the wrong sign")
    ]
    told = traverse("compare", "key.trav", "days.trav", cwd=tmp_path).stdout.decode()
    assert "of day2.trav: declination of the wrong sign" in " ".join(told.split())
    # Its first day alone is soon held against both.
    (tmp_path / "first.trav").write_text(VALLEY[:second] + "\n", "utf-8")
    done = traverse("compare", "days.trav", "first.trav", "--to", "json", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert len(json.loads(done.stdout)[0]["pairs"]) == 8


def test_a_page_of_somebody_else_is_left(tmp_path):
    (tmp_path / "key.trav").write_text(KEY, "utf-8")
    (tmp_path / "b.trav").write_text(PARTY, "utf-8")
    page = tmp_path / "back" / "b-feedback.pdf"
    page.parent.mkdir()
    page.write_bytes(b"a scan")
    done = traverse("compare", "key.trav", "b.trav", "-o", "back", cwd=tmp_path)
    assert done.returncode == 2
    assert b"is there already, and not from this program" in done.stderr
    assert page.read_bytes() == b"a scan"
    assert [one.name for one in page.parent.rglob("*") if one.is_file()] == [page.name]
