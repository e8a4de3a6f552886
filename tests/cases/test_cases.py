"""Every case is a log whose messages are written over the line they are about.

    # error 7-9 unknown-station: no station 9; did you mean 4?
    # hint: a new one is reached with `to`
    close 9 062 143p

The numbers are the columns underlined. A case has no other message than those written in it.
"""

import re
from pathlib import Path

import pytest

from traverse.notation.read import read_log
from traverse.source import Source

CASES = sorted(Path(__file__).parent.glob("*.trav"))
EXPECTED = re.compile(r"\s*# (error|warning|note) (\d+)-(\d+) ([\w-]+): (.*)$")
HINT = re.compile(r"\s*# hint: (.*)$")


def expectations(source):
    waiting = []
    for number, line in enumerate(source.lines, 1):
        if match := EXPECTED.match(line):
            kind, start, end, code, message = match.groups()
            waiting.append([kind, int(start), int(end), code, message, []])
        elif match := HINT.match(line):
            waiting[-1][-1].append(match[1])
        else:
            for one in waiting:
                yield number, one
            waiting = []
    assert not waiting


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_case(path):
    def load(name):
        return (path.parent / name).read_bytes()

    source = Source(name=path.name, text=path.read_text("utf-8"))
    outcome = read_log(source, load=load)
    said = [
        (one.span.line, one.severity.value, one.span.column, one.span.end, one.code, one.message)
        for one in outcome.diagnostics
    ]
    expected = list(expectations(source))
    assert sorted(said) == sorted((line, *one[:5]) for line, one in expected)
    hints = {(one.span.line, one.code): one.hints for one in outcome.diagnostics}
    for line, one in expected:
        for hint in one[-1]:
            assert hint in hints[line, one[3]]
