"""How long a log of 5,000 lines, or as many as are asked for, takes to read, against tokenising the same text. Run by hand: prints, judges nothing.

`contextual` is lark's contextual lexer with the parser's states replayed, `basic` its lexer without them.
"""

from __future__ import annotations

import resource
import statistics
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from unittest.mock import patch

from lark.lexer import ContextualLexer, LexerState, TextSlice

sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from tests.bench.aims import told
from traverse.notation.parse import parse, parser
from traverse.notation.read import read_log
from traverse.source import Source

HEADING = """notation 1
date 2026-07-03
bearings magnetic
declination 8 1/2 E, 2026, map margin
attitudes dip-right
pace double 1.5 m
unit Ms Stag Marl ; Miocene
unit Lt Tollhouse Limestone ; Cretaceous
control 1 12350 E 4289 N 786 m ±4 gps
at 1
"""
STATION = """
to {n} N47E {paces}p +3 back 230
  unit Lt
  rock Limestone, pale grey, thick-bedded
  bed 142/{dip}, 140/70
  sample S-{n} shell band
along 5p left 3p
  contact Ms/Lt certain 140/72
  photo {n} looking 320
"""
RUNS = 3


def log_text(lines: int) -> str:
    """A log of about so many lines."""
    parts = [STATION.format(n=n, paces=40 + n % 60, dip=20 + n % 60) for n in range(2, lines // 9 + 2)]
    return HEADING + "".join(parts)


def replay(text: str) -> Callable[[], int]:
    """Tokenising as the parser asks for it, without the parser."""
    positions: list[Any] = []
    lex = ContextualLexer.lex

    def recorded(self: ContextualLexer, state: LexerState, parser_state: Any) -> Iterator[Any]:
        tokens = lex(self, state, parser_state)
        while True:
            positions.append(parser_state.position)
            try:
                yield next(tokens)
            except StopIteration:
                return

    with patch.object(ContextualLexer, "lex", recorded):
        parser().parse(text)

    class Played:
        def __init__(self) -> None:
            self.places = iter(positions)

        @property
        def position(self) -> Any:
            return next(self.places)

    def run() -> int:
        lexer: Any = parser().parser.lexer
        return sum(1 for _ in lex(lexer, LexerState(TextSlice.cast_from(text)), Played()))

    return run


def median_s(run: Callable[[], object]) -> float:
    """Median time of a few runs, in seconds."""
    taken = []
    for _ in range(RUNS):
        start = time.perf_counter()
        result = run()
        taken.append(time.perf_counter() - start)
        del result
    return statistics.median(taken)


def absent(path: str) -> bytes:
    """There are no other files."""
    raise OSError(path)


def main() -> None:
    """Print medians and ratios."""
    text = log_text(int(sys.argv[1]) if len(sys.argv) > 1 else 5_000)
    source = Source(name="big.trav", text=text)
    print(f"{text.count(chr(10))} lines")
    parser()
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    reading = read_log(source, load=absent)
    grown = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024
    assert not reading.diagnostics
    del reading
    told("memory at its height above start, for 100,000 lines", grown * 1e5 / text.count("\n"), 150, " MB")
    contextual = median_s(replay(text))
    basic = median_s(lambda: sum(1 for _ in parser().lex(text)))
    parsed = median_s(lambda: parse(source))
    read = median_s(lambda: read_log(source, load=absent))
    print(
        f"tokens, contextual {contextual:.2f} s, basic {basic:.2f} s; parse {parsed:.2f} s; read {read:.2f} s"
    )
    told("read over contextual lexing", read / contextual, 2.5)
    print(f"read over basic lexing {read / basic:.2f}")


if __name__ == "__main__":
    main()
