"""A camp of six parties with errors of their own, five with a slip: each is named once, at its line, and nobody else."""

import json
import re

import pytest

from tests.compare.camp import VALLEY, bearings_turned, walked_again
from tests.test_commands import traverse


def line_of(text, words):
    return next(number for number, line in enumerate(text.splitlines(), 1) if line.startswith(words))


@pytest.fixture(scope="module")
def camp(tmp_path_factory):
    folder = tmp_path_factory.mktemp("camp")
    parties = {
        "feet": lambda t: t.replace("double 100 m in", "double 328 m in"),
        "left": lambda t: t.replace("dip-direction", "dip-left"),
        "twice": lambda t: bearings_turned(t, lambda a: round(a + 4.7) % 360, beds=True),
        "hundred": lambda t: re.sub(r"^(to 10  \d{3} )(\d+)p", lambda f: f"{f[1]}{int(f[2]) + 100}p", t, flags=re.MULTILINE),
        "letter": lambda t: re.sub(r"^to 10  \d{3} ", "to 10  N59E ", t, flags=re.MULTILINE),
        "none": lambda t: t,
    }  # fmt: skip
    (folder / "key.trav").write_text(VALLEY, "utf-8")
    texts = {}
    for seed, (name, slip) in enumerate(parties.items(), 20):
        texts[name] = slip(walked_again(VALLEY, seed))
        (folder / f"{name}.trav").write_text(texts[name], "utf-8")
    done = traverse(
        "compare", "key.trav", *(f"{name}.trav" for name in texts), "--to", "json", "-o", "out", cwd=folder
    )
    assert done.returncode == 0, done.stderr
    return folder, texts, {one["log"].removesuffix(".trav"): one for one in json.loads(done.stdout)}


@pytest.mark.parametrize(
    ("party", "word", "cause"),
    [
        ("feet", "pace", "feet taken for metres"),
        ("left", "attitudes", "dip-left for dip-direction"),
        ("twice", "declination", "declination applied twice"),
        ("hundred", "to 10", "leg 9–10: 100 paces too many"),
        ("letter", "to 10", "leg 9–10: N and S exchanged"),
    ],
)
def test_each_slip_is_named_once_at_its_line(camp, party, word, cause):
    _, texts, found = camp
    assert [(one["line"], one["cause"]) for one in found[party]["causes"]] == [
        (line_of(texts[party], word), cause)
    ]
    assert found[party]["legs"] == []
    assert sum(part["scored_mended"] for part in found[party]["marks"]) > 85.0


def test_nobody_else_is_accused(camp):
    _, _, found = camp
    assert found["none"]["causes"] == []
    assert found["none"]["legs"] == []


def test_six_files_make_six_pages_and_the_leaders_own(camp):
    folder, texts, _ = camp
    assert {path.name for path in (folder / "out").glob("*.pdf")} == {
        f"{name}-feedback.pdf" for name in texts
    }
    assert {path.name for path in (folder / "out" / "leader").iterdir()} == {
        "marks.csv",
        "marks.pdf",
        "spread.pdf",
    }
