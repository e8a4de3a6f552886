"""The grammar has one reading of every line, and its names stay inside the program."""

import logging
import subprocess
import sys

import pytest
from lark import Lark
from lark import logger as lark_logger

from traverse.log.written_forms import FORMS
from traverse.notation import parse as parsing
from traverse.notation.vocabulary import KINDS, kind_in_words
from traverse.resources import data


def test_no_conflict(caplog):
    lark_logger.setLevel(logging.DEBUG)
    try:
        with caplog.at_level(logging.DEBUG, logger=lark_logger.name):
            lark_logger.addHandler(caplog.handler)
            Lark.open(str(data("grammar", "log.lark")), parser="lalr", lexer="contextual", debug=True)
    finally:
        lark_logger.removeHandler(caplog.handler)
        lark_logger.setLevel(logging.CRITICAL)
    assert "conflict" not in caplog.text.lower()


@pytest.mark.parametrize("terminal", parsing.parser().terminals, ids=lambda one: one.name)
def test_every_kind_of_word_has_a_trade_word(terminal):
    name = terminal.name
    if name in KINDS or name.startswith("_") or name == "IGNORE":
        return
    if name.startswith("__IGNORE"):
        return
    said = kind_in_words(name).strip("`")
    assert said in FORMS or said in terminal.pattern.value.lower(), "not a keyword that stands for itself"


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
