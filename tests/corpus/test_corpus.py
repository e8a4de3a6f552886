"""Logs of notation 1 with what they say, which must never change.

The figures were worked out when the logs were put here and looked at by eye: bearings, norths, units of
length, slopes, rakes, apparent dips, thicknesses and loops were held against the page by hand. `grammar/growing.md` tells what
may change and what never may; `keep.py` puts in a new log and writes over none.
"""

import enum
import io
import json
import math
from collections import Counter
from pathlib import Path

import lark
import pikepdf
import pytest
from pypdf import PdfReader

from tests.corpus.keep import logs, said
from traverse.__main__ import main
from traverse.command.files import LogFiles
from traverse.compile import compile_log
from traverse.diagnostic import has_error
from traverse.log import items, readings, records
from traverse.log.written_forms import FORMS
from traverse.notation.parse import parse, parser
from traverse.notation.text import plain
from traverse.notation.tidy_text import tidy
from traverse.resources import data
from traverse.source import Source

HERE = Path(__file__).parent
LOGS = logs()
LENGTH_M, ANGLE_DEG, SHARE = 0.005, 0.005, 0.01
LON_LAT_DEG = 2e-7
"""A 50th of a metre: the transformation of coordinates may be refined."""
MODEL_DEG = 0.1
"""Of a log whose declination comes from the model: another edition of it moves a day of the past by less."""
_NO_COURSE_M = 0.02
"""A gap or an ellipse so small or so round points nowhere."""


def texts():
    return [
        Source(name=str(path), text=path.read_text(encoding="utf-8")) for path in sorted(HERE.rglob("*.trav"))
    ]


def unlike(kept, now, where="", *, loose=0.0):
    """What differs of a kept value, by its place; what is new beside it is no matter."""
    if isinstance(kept, dict):
        if not isinstance(now, dict):
            return [f"{where}: {kept} is {now}"]
        left_out = _pointless(kept)
        found = [f"{where}/{key} is gone" for key in kept if key not in now]
        for key in kept.keys() & now.keys() - left_out:
            found += unlike(kept[key], now[key], f"{where}/{key}", loose=loose)
        return found
    if isinstance(kept, list):
        if not isinstance(now, list) or len(kept) != len(now):
            return [f"{where}: {kept} is {now}"]
        return [
            words
            for at, (one, other) in enumerate(zip(kept, now, strict=True))
            for words in unlike(one, other, f"{where}/{at}", loose=loose)
        ]
    if isinstance(kept, float) and isinstance(now, int | float) and not isinstance(now, bool):
        near = LON_LAT_DEG if where.endswith(("/lon", "/lat")) else max(LENGTH_M, ANGLE_DEG) + loose
        turn = abs((kept - now + 180.0) % 360.0 - 180.0) if abs(kept) <= 360.0 else math.inf
        azimuth = where.endswith(("azimuth", "strike", "dip_direction", "trend"))
        alike = abs(kept - now) <= max(near, SHARE * abs(kept) if _of_errors(where) else 0.0)
        return [] if alike or (azimuth and turn <= near) else [f"{where}: {kept} is {now}"]
    return [] if kept == now else [f"{where}: {kept!r} is {now!r}"]


def _of_errors(where):
    """Ratios, weights and errors are good to a share of themselves."""
    return "/sd" in where or where.rpartition("/")[2] in {
        "ratio",
        "q",
        "q_up",
        "kappa",
        "alpha95",
        "scale_sd",
        "rotation_sd",
        "rms",
    }


def _pointless(one):
    """Fields of a record that hang on nothing."""
    if one.get("distance", 1.0) < _NO_COURSE_M:
        return {"azimuth"}
    if "major" in one and one["major"] - one["minor"] < _NO_COURSE_M:
        return {"azimuth"}
    return {"kappa"} if (one.get("kappa") or 0.0) > 1e6 else set()


@pytest.mark.parametrize("name", LOGS)
def test_a_log_says_what_it_said(name):
    now, errors = said(LOGS[name])
    assert errors == []
    kept = json.loads(LOGS[name].with_suffix(".json").read_text(encoding="utf-8"))
    model = "declination from model" in LOGS[name].read_text(encoding="utf-8")
    assert unlike(kept, now, loose=MODEL_DEG if model else 0.0) == []


def test_a_figure_that_moved_is_noticed():
    kept = json.loads((HERE / "loop-of-three.json").read_text(encoding="utf-8"))
    now = json.loads(json.dumps(kept))
    now["stations"][1]["east"] += 0.01
    now["attitudes"][0]["dip_direction"] += 1.0
    now["legs"][0]["kind"] = "side"
    now["new"] = now["stations"][0]["new"] = 1
    assert len(unlike(kept, now)) == 3
    del now["legs"][2]
    assert len(unlike(kept, now)) == 3


@pytest.mark.every(2)
@pytest.mark.parametrize("name", LOGS)
def test_laid_out_anew_it_says_the_same(name, tmp_path):
    """`tidy` is part of what never changes a meaning."""
    files = LogFiles(str(LOGS[name]))
    source, _ = files.source()
    laid = tidy(source)
    assert laid.diagnostics == ()
    before = compile_log(source, load=files.load)
    after = compile_log(Source(name=source.name, text=laid.value), load=files.load)
    assert not has_error(after.diagnostics)
    for one in ("stations", "paces", "units"):
        assert len(getattr(before.log, one)) == len(getattr(after.log, one))
    for name_, place in before.survey.places.items():
        assert (after.survey.places[name_].east_m, after.survey.places[name_].north_m) == (
            place.east_m,
            place.north_m,
        )
    assert [one.written for one in before.geology.attitudes] == [
        one.written for one in after.geology.attitudes
    ]


# --- that nothing is left out -----------------------------------------------------------------------------------


def test_every_kind_of_word_of_the_grammar_occurs():
    """`vertical` without a strike is no plane in any version: the word is there to be answered."""
    seen = set()
    for source in texts():
        for line in parse(source).lines:
            seen |= {token.type for token in (line if isinstance(line, list) else [line])}
    every = {str(terminal.name) for terminal in parser().terminals}
    assert every - seen == {"_NL", "VERTICAL", *(name for name in every if name.startswith("__IGNORE"))}


def test_every_rule_of_the_grammar_occurs():
    trees = lark.Lark.open(str(data("grammar", "log.lark")), parser="lalr", lexer="contextual")
    used = Counter()
    for source in texts():
        for tree in trees.parse(plain(source.text)).iter_subtrees():
            used[tree.data] += 1
    every = {rule.origin.name for rule in trees.rules if not rule.origin.name.startswith("_")}
    assert every - set(used) == {"bad"}


def test_every_statement_of_the_reference_occurs():
    first = {
        line.split()[0].lower()
        for source in texts()
        for line in source.lines
        if line.split() and not line.lstrip().startswith(("#", "|"))
    }
    assert set(FORMS) - first == set()


def test_every_option_of_the_records_is_read_from_some_log():
    """An option that no log has could come to be read as another."""
    found = set()

    def gather(value):
        if isinstance(value, enum.Enum):
            found.add(value)
        elif isinstance(value, tuple | list):
            for one in value:
                gather(one)
        elif hasattr(value, "__dataclass_fields__"):
            for name in value.__dataclass_fields__:
                gather(getattr(value, name))

    for path in LOGS.values():
        files = LogFiles(str(path))
        source, _ = files.source()
        log = compile_log(source, load=files.load).log
        gather(log)
        gather([one.met for one in log.items if isinstance(one, items.Contact)])
    every = {
        one
        for module in (items, readings, records)
        for kind in vars(module).values()
        if isinstance(kind, type) and issubclass(kind, enum.Enum) and kind.__module__ == module.__name__
        for one in kind
    }
    assert len(every) > 70
    assert every - found == set()


def test_there_are_enough_of_them_and_each_has_its_figures():
    assert len(LOGS) >= 30
    kept = {str(path.relative_to(HERE).with_suffix("")) for path in HERE.rglob("*.json")}
    assert kept == set(LOGS)


# --- a sheet that was stored ------------------------------------------------------------------------------------

SHEET = HERE / "stored-sheet.pdf"
CARRIED = ("with-a-front-page.trav", "front.trav")


def test_a_stored_sheet_gives_its_log_back_byte_for_byte(tmp_path, monkeypatch, capsys):
    """Made on the day on which the corpus was: whatever sheets come to look like, this one is read."""
    monkeypatch.chdir(tmp_path)
    assert main(["extract", str(SHEET), "-o", "back"]) == 0
    for name in CARRIED:
        assert (tmp_path / "back" / name).read_bytes() == (HERE / name).read_bytes()
    assert main(["check", "back/with-a-front-page.trav"]) == 0


def test_it_can_be_had_without_this_program():
    """By two readers of PDF that know nothing of logs."""
    by_pypdf = PdfReader(io.BytesIO(SHEET.read_bytes())).attachments
    with pikepdf.open(SHEET) as pdf:
        by_pikepdf = {name: one.get_file().read_bytes() for name, one in pdf.attachments.items()}
    for name in CARRIED:
        assert by_pypdf[name] == [(HERE / name).read_bytes()]
        assert by_pikepdf[name] == (HERE / name).read_bytes()
