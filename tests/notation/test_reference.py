"""Every example of the reference for the person who types compiles, and no statement lacks one."""

import re

import pytest

from tests.notation.test_statements import RIGHT_HEADING, errors_of, lines_with, read
from traverse.diagnostic import Severity
from traverse.log.written_forms import FORMS
from traverse.resources import data

TEXT = data("grammar", "README.md").read_text("utf-8")
ROWS = re.findall(r"^\| (?:`(\w+)`)? *\| [^|]* \| `(.+)` \|$", TEXT, re.MULTILINE)
EXAMPLES = [example for _, example in ROWS]
BLOCKS = re.findall(r"^```(\w*)\n(.*?)^```", TEXT, re.MULTILINE | re.DOTALL)
HEADING_WORDS = {line.split()[0] for line in RIGHT_HEADING} - {"unit"}


def test_every_statement_has_a_row():
    assert {word for word, _ in ROWS if word} == set(FORMS)


@pytest.mark.parametrize("example", EXAMPLES)
def test_example(example):
    word = example.split()[0]
    if word == "notation":
        lines = [example, "at 1"]
    else:
        heading = word in HEADING_WORDS or ";" in example
        lines, _ = lines_with(example, where="heading" if heading else "body")
    assert errors_of(lines)[0] == []


@pytest.mark.parametrize(("kind", "block"), BLOCKS)
def test_block(kind, block):
    if kind == "body":
        lines, _ = lines_with("at 1", where="body")
        block = "\n".join(lines) + "\n" + block
    if kind == "camp":
        from tests.notation.test_camp import PARTIES, camp

        outcome = camp(block, PARTIES)
    else:
        outcome = read(block)
    assert [one for one in outcome.diagnostics if one.severity is not Severity.NOTE] == []


@pytest.mark.parametrize("word", FORMS)
def test_the_example_that_a_message_offers_compiles(word):
    example = FORMS[word].example
    if word == "notation":
        return
    heading = word in HEADING_WORDS
    walk = ("at 1", "to 9 N47E 64p", "to 3 N47W 64p", "to 4 052 118p")
    assert errors_of(lines_with(example, where="heading" if heading else "body", walk=walk)[0])[0] == []
