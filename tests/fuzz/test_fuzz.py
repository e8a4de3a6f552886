"""Each past find, and a little of the hunt with the same damage every time; `run.py` goes on for as long as one likes."""

import random
from pathlib import Path

import pytest

from tests.fuzz.run import hunt, run, wrong_with
from tests.fuzz.targets import POINTS, TARGETS, WALK
from tests.thorough import either

LOG = WALK.replace("TERRAIN\n", "")
HIGH = WALK.replace("TERRAIN", "terrain h.xyz")
GRID = "\n".join(f"{x} {y} {{0}}" for x in (499900, 500000, 500100) for y in (5999900, 6000000, 6000100))
KNOWN = WALK.replace("TERRAIN", "controls p.gpx ±5")
SCHEME = (Path(__file__).resolve().parents[2] / "templates/marks.toml").read_text("utf-8")
CHECK = ("check", "x.trav")
SHEET = ("sheet", "x.trav", "-o", "x.pdf")
PAST = {
    # Letters that only a Turkish keyboard has were keywords to the grammar and to nothing else.
    "dotless": ({"x.trav": LOG.replace("unit Sh", "unıt Sh")}, CHECK, 0),
    "dotted": ({"x.trav": LOG.replace("unit Ss\n", "UNİT Ss\n")}, ("tidy", "x.trav"), 0),
    # Angles that the grammar took and the reader did not.
    "seconds-without-minutes": ({"x.trav": LOG.replace("040/30", '142/8°30"')}, CHECK, 0),
    "half-a-dip": ({"x.trav": LOG.replace("040/30", "142/½")}, CHECK, 0),
    # Figures without an upper bound: a singular matrix, a page of 219 m, a hang.
    "leg-round-the-world": ({"x.trav": LOG.replace("090 60p", "090 99999999m")}, CHECK, 1),
    "hundreds-of-digits": ({"x.trav": LOG.replace("090 60p", f"090 {'9' * 400}p")}, CHECK, 1),
    "scale-of-nothing": ({"x.trav": f"{LOG}scale 1:0\n"}, CHECK, 1),
    "scale-of-the-ground": ({"x.trav": f"{LOG}scale 1:1\n"}, SHEET, 1),
    # Heights that stand for none, and one of them that nothing marks as such.
    "largest-numbers": ({"x.trav": HIGH, "h.xyz": GRID.format("1.70141e38")}, SHEET, 1),
    "large-hole": ({"x.trav": HIGH, "h.xyz": GRID.format("100").replace("100", "1e20", 1)}, SHEET, 0),
    "a-thousand-contacts": (
        {"x.trav": LOG.replace("contact Sh/Ss certain\n", "contact Sh/Ss certain\ncontact Ss/Sh certain\n" * 500)},
        CHECK,
        0,
    ),
    "no-such-encoding": ({"x.trav": KNOWN, "p.gpx": "<?xml version='1.0' encoding='UTF--90'?><gpx/>"}, CHECK, 1),
    "point-of-no-number": (
        {"x.trav": KNOWN.replace("p.gpx", "p.csv"), "p.csv": POINTS.replace("100", "nan")},
        CHECK,
        1,
    ),
    "scheme-that-colours": (
        {"key.trav": LOG, "x.trav": LOG, "m.toml": SCHEME.replace("Plain", r"\u001b[31m")},
        ("compare", "key.trav", "x.trav", "--marks", "m.toml"),
        2,
    ),
    "template-of-itself": (
        {"x.trav": LOG, "t.toml": 'extends = "t.toml"\n'},
        ("sheet", "x.trav", "--template", "t.toml", "-o", "x.pdf"),
        2,
    ),
    "brackets-in-brackets": (
        {"x.trav": LOG, "t.toml": f'extends = "field"\nmargin = {"[" * 3000}'},
        ("sheet", "x.trav", "--template", "t.toml", "-o", "x.pdf"),
        2,
    ),
    "sheet-cut-off": ({"x.pdf": "%PDF-1.4\n1 0 obj\n<< /Type /Catalog"}, ("extract", "x.pdf", "-o", "out"), 2),
}  # fmt: skip
"""Files, a command and its status, by what was wrong."""


@pytest.mark.filterwarnings("always")
@pytest.mark.parametrize("name", PAST)
def test_what_broke_it_once_is_answered(name, tmp_path, monkeypatch):
    files, command, expected = PAST[name]
    monkeypatch.chdir(tmp_path)
    for file, text in files.items():
        Path(file).write_text(text, encoding="utf-8")
    status, out, said = run(command)
    assert wrong_with(command, status, out, said) is None
    assert status == expected, said


COUNTS = {
    "logs": either(1, 4),
    "drawn": 2,
    "sheets": either(6, 12),
    "templates": either(3, 6),
    "schemes": 4,
    "heights": 4,
    "points": either(6, 12),
    "camps": 3,
    "seasons": 2,
}


@pytest.mark.filterwarnings("always")
@pytest.mark.filterwarnings("ignore::PendingDeprecationWarning")  # of rasterio, where the test makes its grid
@pytest.mark.parametrize("name", TARGETS)
def test_no_damage_breaks_it(name, tmp_path):
    """No traceback, no refusal without a word, no library that speaks, nothing that moves the terminal's cursor, no hang."""
    draw = random.Random(name)  # noqa: S311 the same damage every time
    counted, finds = hunt(draw, [name], more=lambda count: count[name] < COUNTS[name], folder=str(tmp_path))
    assert finds == []
    assert counted[name] == COUNTS[name]


def test_the_hunt_sees_what_it_looks_for():
    """A status of a fault, silence, a library's words, a terminal's command: each is called wrong."""
    assert "status 3" in wrong_with(("check",), 3, "", "a fault of this program")
    assert "without a word" in wrong_with(("check",), 1, "", "\n")
    assert "a library speaks" in wrong_with(("check",), 0, "", "x.py:1: RuntimeWarning: divide by zero")
    assert "terminal" in wrong_with(("check",), 0, "title \x1b[31m", "")
    assert wrong_with(("check",), 1, "", "x.trav:1:1: can't be") is None
