"""Copies of a log with one known slip each."""

import csv
import re
from collections import Counter
from itertools import product
from pathlib import Path

import pytest

from tests.called import traverse
from tests.compare.camp import ROOT, VALLEY, WASH, compiled, held
from tests.compare.test_marks_by_hand import KEY as SHORT
from tests.thorough import either, some
from traverse.compare.records import total
from traverse.notation.read import read_log
from traverse.source import Source

TRIED_AS = "key.trav"
"""The name under which the command compiled each copy: it need not be compiled again."""
COPIES = either(9, 20)
"""The first nine are one of each kind."""


@pytest.fixture(scope="module")
def hunt(tmp_path_factory):
    folder = tmp_path_factory.mktemp("hunt")
    (folder / "key.trav").write_text(VALLEY, "utf-8")
    done = traverse("exercise", "key.trav", "-n", str(COPIES), "--seed", "5", "-o", "out", cwd=folder)
    assert done.returncode == 0, done.stderr
    return folder


def answers(folder):
    with (folder / "answers" / "answers.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_each_copy_differs_from_the_key_where_the_answer_says(hunt):
    rows = answers(hunt / "out")
    assert len(rows) == COPIES
    assert {row["kind"] for row in rows} >= {
        "reversed",
        "digits",
        "tens",
        "paces",
        "slope",
        "heading",
        "strike",
        "unit",
    }
    key = VALLEY.splitlines()
    for row in rows:
        lines = (hunt / "out" / row["file"]).read_text("utf-8").splitlines()
        off = [number for number, (one, other) in enumerate(zip(lines, key, strict=True), 1) if one != other]
        assert int(row["line"]) == off[0]
        assert lines[off[0] - 1].strip() == row["typed"].lstrip("'")
        assert key[off[0] - 1].strip() == row["right"].lstrip("'")
        assert row["kind"] == "heading" or len(off) == 1


def test_the_answers_stand_in_no_copy(hunt):
    names = {path.name for path in (hunt / "out").iterdir()}
    assert names == {"answers", *(row["file"] for row in answers(hunt / "out"))}


def test_the_same_seed_makes_the_same_copies_and_another_makes_others(hunt):
    for seed, folder in (("5", "first"), ("5", "again"), ("6", "other")):
        done = traverse("exercise", "key.trav", "-n", "2", "--seed", seed, "-o", folder, cwd=hunt)
        assert done.returncode == 0
    first = (hunt / "first" / "answers" / "answers.csv").read_bytes()
    assert (hunt / "again" / "answers" / "answers.csv").read_bytes() == first
    assert (hunt / "other" / "answers" / "answers.csv").read_bytes() != first


def test_an_exercise_is_never_made_over_another(hunt):
    typing = ("--kinds", "typing", "-o", "few")
    made = traverse("exercise", "key.trav", "-n", "3", "--seed", "5", *typing, cwd=hunt)
    assert made.returncode == 0
    before = {path: path.read_bytes() for path in (hunt / "few").rglob("*") if path.is_file()}
    for options in (("-n", "2", "--seed", "8"), ("-n", "3", "--seed", "8")):
        done = traverse("exercise", "key.trav", *options, *typing, cwd=hunt)
        assert done.returncode == 2
        assert "give another folder" in " ".join(done.stderr.decode().split())
    assert {path: path.read_bytes() for path in (hunt / "few").rglob("*") if path.is_file()} == before


def test_pages_of_another_run_are_not_left_among_those_to_hand_back(tmp_path):
    for name in ("key.trav", "party.trav"):
        (tmp_path / name).write_text(SHORT, "utf-8")
    assert traverse("compare", "key.trav", "party.trav", "-o", "back", cwd=tmp_path).returncode == 0
    done = traverse("compare", "key.trav", "party.trav", "-o", "back", "--ids", cwd=tmp_path)
    assert done.returncode == 2
    assert b"party-feedback.pdf" in done.stderr
    assert not (tmp_path / "back" / "P1-feedback.pdf").exists()


@pytest.fixture(scope="module")
def wash_hunt(tmp_path_factory):
    folder = tmp_path_factory.mktemp("wash")
    (folder / "key.trav").write_text(WASH, "utf-8")
    done = traverse("exercise", "key.trav", "-n", str(COPIES), "--seed", "5", "-o", "out", cwd=folder)
    assert done.returncode == 0, done.stderr
    return folder


@pytest.mark.parametrize(("made", "copies"), some([*product(("hunt", "wash_hunt"), (9, 20))], 4))
def test_the_comparison_names_what_the_exercise_hid_and_nothing_else(made, copies, request):
    """Each kind of slip at its line."""
    folder = request.getfixturevalue(made)
    ground = (folder / "key.trav").read_text("utf-8")
    rows = answers(folder / "out")[:copies]
    assert len({row["kind"] for row in rows}) == 9
    for row in rows:
        comparison = held((folder / "out" / row["file"]).read_text("utf-8"), ground, TRIED_AS)
        lines = [str(one.span.line) for one in comparison.causes]
        assert lines == [row["line"]], row
        assert comparison.apart == ()
        assert total(comparison.marks_mended)[0] >= total(comparison.marks)[0]


def asked_at(text):
    """Lines of which anything is asked, by messages and as explanations of a loop."""
    found = compiled(text, TRIED_AS)
    spans = [span for said in found.diagnostics for span in (said.span, *said.doubts) if span is not None]
    return Counter(one.line for one in (*spans, *(one.span for one in found.trav.survey.suspects)))


ROUND = (ROOT / "tests/compare/hollin-valley.trav").read_text("utf-8")


@pytest.fixture(scope="module")
def round_hunt(tmp_path_factory):
    folder = tmp_path_factory.mktemp("round")
    (folder / "key.trav").write_text(ROUND, "utf-8")
    done = traverse("exercise", "key.trav", "-n", "16", "--seed", "42", "-o", "out", cwd=folder)
    assert done.returncode == 0, done.stderr
    return folder


@pytest.mark.thorough
@pytest.mark.parametrize("made", ["hunt", "round_hunt"])
def test_what_a_copy_hides_its_own_readings_show(made, request):
    """No feet in a loop that closes as well without, no slope of a degree: more is asked at the line than of the key."""
    folder = request.getfixturevalue(made)
    ground = (folder / "key.trav").read_text("utf-8")
    key, before = ground.splitlines(), asked_at(ground)
    for row in answers(folder / "out"):
        text = (folder / "out" / row["file"]).read_text("utf-8")
        after = asked_at(text)
        off = [
            number
            for number, pair in enumerate(zip(text.splitlines(), key, strict=True), 1)
            if pair[0] != pair[1]
        ]
        assert any(after[line] > before[line] for line in off), row


def test_a_distance_is_not_given_away_by_how_it_is_written(tmp_path):
    (tmp_path / "key.trav").write_text(ROUND, "utf-8")
    done = traverse("exercise", "key.trav", "-n", "6", "--kinds", "digits", "-o", "out", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    for row in answers(tmp_path / "out"):
        assert re.sub(r"\d+", "0", row["typed"]) == re.sub(r"\d+", "0", row["right"])


def test_a_kind_that_nothing_in_the_log_shows_makes_no_copy(tmp_path):
    """An open walk of three legs with no back bearing, no known point and no bed: no leg of it can be told wrong."""
    text = "notation 1\nbearings true\ndistances metres\nat 1\nto 2 090 61.0 +2\nto 3 045 42.0 +1\nto 4 000 87.0 -3\n"
    (tmp_path / "key.trav").write_text(text, "utf-8")
    done = traverse("exercise", "key.trav", "-n", "3", "-o", "out", cwd=tmp_path)
    assert done.returncode == 1
    assert b"could be worked out" in done.stderr


def test_every_copy_is_read_but_those_of_typing(hunt):
    for row in answers(hunt / "out"):
        compiled((hunt / "out" / row["file"]).read_text("utf-8"), TRIED_AS)
    done = traverse("exercise", "key.trav", "-n", "6", "--kinds", "typing", "-o", "typed", cwd=hunt)
    assert done.returncode == 0
    refused = 0
    for row in answers(hunt / "typed"):
        text = (hunt / "typed" / row["file"]).read_text("utf-8")
        said = read_log(Source(name="log.trav", text=text), load=lambda _: b"").diagnostics
        refused += any(one.severity.value == "error" and one.span.line == int(row["line"]) for one in said)
    assert refused >= 5


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (("--kinds", "teapots", "-o", "x"), b"no slip is of the kind teapots"),
        (("--kinds", ",", "-o", "x"), b"names nothing"),
        (("-n", "0", "-o", "x"), b"from 1 to"),
        (("-n", "1", "-o", "key.trav"), b"can't be made a folder"),
        (("-n", "1", "-o", "key.trav/below"), b"can't be made a folder"),
    ],
)
def test_wrong_use_is_told_and_nothing_is_written(hunt, call, words):
    before = sorted(path.name for path in hunt.iterdir())
    done = traverse("exercise", "key.trav", *call, cwd=hunt)
    assert done.returncode == 2
    assert words in done.stderr
    assert b"Traceback" not in done.stderr
    assert sorted(path.name for path in hunt.iterdir()) == before


def test_a_contact_with_its_units_exchanged_is_among_the_slips_and_is_found_at_its_line(tmp_path):
    ground = (Path(__file__).parent / "hollin-valley.trav").read_text("utf-8")
    (tmp_path / "key.trav").write_text(ground, "utf-8")
    done = traverse("exercise", "key.trav", "-n", "9", "--kinds", "contact", "-o", "out", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    rows = answers(tmp_path / "out")
    assert [row["slip"] for row in rows] == [
        "younger and older exchanged"
    ] * 4  # so many contacts are in the key
    for row in rows:
        (cause,) = held((tmp_path / "out" / row["file"]).read_text("utf-8"), ground, TRIED_AS).causes
        assert cause.span.line == int(row["line"])
        assert cause.reading == row["right"]
