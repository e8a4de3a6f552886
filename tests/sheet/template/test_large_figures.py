"""The largest figures in every number of a template: one message at its line, and nothing that follows from it."""

import re
from pathlib import Path

import pytest

from traverse.diagnostic import Severity
from traverse.sheet.template.reading import read_template

TEXT = (Path(__file__).resolve().parents[3] / "templates" / "example.toml").read_text(encoding="utf-8")
NUMBERS = [
    found
    for found in re.finditer(r'(?<![\w#"-])\d+(?:\.\d+)?(?![\w"])', TEXT)
    if not re.search(r'#|^[^"]*"[^"]*$', TEXT[: found.start()].rpartition("\n")[2])
]


def test_the_example_gives_every_kind_of_number():
    assert len(NUMBERS) > 60


@pytest.mark.every(2)
@pytest.mark.parametrize("figure", ["1e9", "1e30", "nan", "-inf", "1" + "0" * 30])
def test_a_large_figure_is_one_message_at_its_line(tmp_path, figure):
    for number in NUMBERS:
        path = tmp_path / "own.toml"
        path.write_text(TEXT[: number.start()] + figure + TEXT[number.end() :], encoding="utf-8")
        errors = [one for one in read_template(str(path)).diagnostics if one.severity is Severity.ERROR]
        line = TEXT.count("\n", 0, number.start()) + 1
        assert [one.span.line for one in errors] == [line], TEXT.split("\n")[line - 1]


def test_a_box_off_the_page_is_not_said_to_lie_over_others_too(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text(
        re.sub(r"(?m)^map = \[.*\]", "map = [10.0, 186.0, 190.0, 1000.0]", TEXT), encoding="utf-8"
    )
    (error,) = (one for one in read_template(str(path)).diagnostics if one.severity is Severity.ERROR)
    assert "panel map leaves the page" in error.message
