"""The largest figures in every number of the grammar: a value that all goes on with, or one message at its line."""

import math
import re
from dataclasses import fields, is_dataclass
from functools import cache

import pytest
from lark import Token

from tests.notation.test_statements import RIGHT_BODY, RIGHT_HEADING, errors_of, lines_with, load
from tests.thorough import either
from traverse.compile import compile_log
from traverse.notation.parse import parse, parser
from traverse.source import Source
from traverse.trade import MOST_DISTANCE

LARGE = ("1000", "1" + "0" * 9, "1" + "0" * 30)
MOST = 1e9
"""Beyond every range that `trade.py` gives and every grid of the Earth, in metres or degrees."""
NUMBERS = sorted(
    one.name for one in parser().terminals if r"\d" in one.pattern.value and one.name not in {"UNITPAIR", "CHANGE"}
)  # fmt: skip
"""Kinds of words that hold figures; the two left out only look for letters and a figure behind them."""


@cache
def swollen():
    """Statements with one run of figures grown, by the kind of the word that holds it."""
    found = {}
    for where, statements in (("heading", RIGHT_HEADING), ("body", RIGHT_BODY)):
        for statement in statements:
            parsed = parse(Source(name="a", text=f"notation 1\n{statement}\n")).lines[-1]
            for token in parsed if isinstance(parsed, list) else ():
                assert isinstance(token, Token)
                for run in re.finditer(r"\d+", str(token)) if token.type in NUMBERS else ():
                    start, end = (token.column - 1 + at for at in run.span())
                    found.setdefault(token.type, []).extend(
                        (where, statement[:start] + figure + statement[end:]) for figure in LARGE
                    )
    return found


def tried(kind):
    """All of a kind; by default one large figure for each run of figures, in turn, where there are enough to try each."""
    every = swollen()[kind]
    return every[:: either(len(LARGE) + 1, 1)] if len(every) > len(LARGE) * len(LARGE) else every


def floats(value):
    """Every figure in a record."""
    if isinstance(value, float):
        yield value
    elif is_dataclass(value):
        for one in fields(value):
            yield from floats(getattr(value, one.name))
    elif isinstance(value, tuple | list):
        for one in value:
            yield from floats(one)
    elif isinstance(value, dict):
        for one in value.values():
            yield from floats(one)


def test_every_number_of_the_grammar_is_tried():
    assert set(swollen()) == set(NUMBERS)


@pytest.mark.parametrize("kind", NUMBERS)
def test_a_large_figure_is_a_value_or_one_message_at_its_line(kind):
    for where, statement in tried(kind):
        lines, number = lines_with(statement, where=where, without=("terrain",))
        errors, outcome = errors_of(lines)
        if errors:
            assert [one.span.line for one in errors] == [number], statement
            continue
        assert all(math.isfinite(one) and abs(one) <= MOST for one in floats(outcome.value.log)), statement
        compiled = compile_log(Source(name="day.trav", text="\n".join(lines) + "\n"), load=load)
        if compiled.failed:
            assert [one.span.line for one in compiled.diagnostics if one.severity.value == "error"] == [
                number
            ]
            continue
        assert all(map(math.isfinite, floats(compiled.trav))), statement
        assert all(leg.distance.value <= MOST_DISTANCE for leg in compiled.trav.log.legs)
