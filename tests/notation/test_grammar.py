"""The grammar has one reading of every line, and its names stay inside the program."""

import io
import logging
import subprocess
import sys
from pathlib import Path

from lark import Lark
from lark import logger as lark_logger

from traverse.log.written_forms import FORMS
from traverse.notation import parse as parsing
from traverse.notation.vocabulary import KINDS, kind_in_words
from traverse.resources import data
from traverse.source import Source

ROOT = Path(__file__).parents[2]


def test_no_conflict():
    said = io.StringIO()
    handler = logging.StreamHandler(said)
    lark_logger.setLevel(logging.DEBUG)
    lark_logger.addHandler(handler)
    try:
        Lark.open(str(data("grammar", "log.lark")), parser="lalr", lexer="contextual", debug=True)
    finally:
        lark_logger.removeHandler(handler)
        lark_logger.setLevel(logging.CRITICAL)
    assert "conflict" not in said.getvalue().lower()


def test_every_kind_of_word_has_a_trade_word():
    for terminal in parsing.parser().terminals:
        name = terminal.name
        if name in KINDS or name.startswith("_") or name == "IGNORE":
            continue
        said = kind_in_words(name).strip("`")
        assert said in FORMS or said in terminal.pattern.value.lower(), (
            f"{name}: no keyword that stands for itself"
        )


def test_the_cache_is_in_the_users_own_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    parsing.parser.cache_clear()
    parsing.parser()
    made = list((tmp_path / "traverse").iterdir()) if sys.platform == "linux" else []
    for one in made:
        one.write_bytes(b"not a grammar")
    parsing.parser.cache_clear()
    assert parsing.parser().parse("notation 1\n")
    blocked = tmp_path / "file"
    blocked.write_text("")
    monkeypatch.setenv("XDG_CACHE_HOME", str(blocked))
    parsing.parser.cache_clear()
    assert parsing.parser().parse("notation 1\n")
    monkeypatch.undo()
    parsing.parser.cache_clear()


def test_reading_imports_nothing_heavy():
    code = "import sys, traverse.notation.read as r; print([m for m in ('numpy', 'pyproj', 'reportlab', 'matplotlib', 'scipy') if m in sys.modules])"
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert shown.strip() == "[]"


def test_a_place_finds_the_same_words_kind_by_kind_and_by_one_expression(monkeypatch):
    texts = [path.read_text("utf-8") for path in sorted((ROOT / "tests" / "corpus").glob("*.trav"))]
    texts += ["at 1 2\nto 2 N95E 12/7\nbed 142/68 over turned\nnonsense\n", "x" * 300]
    found = []
    for often in (1, 10**9):
        monkeypatch.setattr(parsing, "_OFTEN", often)
        parsing.parser.cache_clear()
        found.append([parsing.parse(Source(name="log.trav", text=text)) for text in texts])
    monkeypatch.undo()
    parsing.parser.cache_clear()
    early, late = (
        [[[(t.type, t) for t in _words(line)] for line in one.lines] for one in some] for some in found
    )
    assert early == late
    assert sum(isinstance(line, parsing.Unread) for one in found[0] for line in one.lines) > 3


def test_a_line_reads_the_same_whether_it_was_read_before_or_not(monkeypatch):
    """In another place too, beside other lines, twice in one text, and beside what can't be read."""
    text = (ROOT / "samples" / "oskerra-valley" / "oskerra-valley.trav").read_text("utf-8")
    lines = text.splitlines()
    texts = [
        text,
        text.replace("dip-direction", "dip-left"),
        "\n".join(["# é", *lines, *lines[40:]]) + "\n",
        "\n".join(lines[5:]) + "\nbed 999/99\nnonsense\n",
    ]
    monkeypatch.setattr(parsing, "_known", {})
    found = [_placed(parsing._read_by_lines(one)) for one in texts]
    assert len(parsing._known) > 100
    assert found == [_placed(parsing._all_read(one)) for one in texts]


def _placed(lines):
    return [
        [
            (t.type, t, t.start_pos, t.line, t.column, t.end_line, t.end_column, t.end_pos)
            for t in _words(line)
        ]
        for line in lines
    ]


def _words(line):
    return line.read if isinstance(line, parsing.Unread) else line if isinstance(line, list) else [line]


def test_the_grammar_has_expressions_only():
    """Our lexer asks for it: of a plain string lark would have to be told where it stands within an expression."""
    assert {one.pattern.type for one in parsing.parser().terminals} == {"re"}
