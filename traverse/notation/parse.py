"""Runs the grammar over a text: statements as lists of tokens, and what could not be read, line by line."""

from __future__ import annotations

import os
import re
import sys
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from functools import cache, lru_cache
from hashlib import sha256
from pathlib import Path
from typing import Any, NamedTuple, TypeAlias

import lark
from lark import Lark, Token, UnexpectedInput, UnexpectedToken
from lark.lexer import BasicLexer, ContextualLexer, Scanner

from traverse.notation.text import plain, respelled
from traverse.record import uncollected
from traverse.resources import data
from traverse.source import Source

Statement: TypeAlias = list[Token]
"""One line's words, keyword first."""

MOST_MISTAKES = 1000
"""After so many lines that can't be read no further one is: what follows is hardly a log."""
_OFTEN = 200
"""So many looks, kind by kind, take as long as compiling one expression of all kinds."""
_MANY_KINDS = 40
"""Where so many kinds of word may stand, as at the beginning of a line, they are never tried one by one."""
_SHORT = 50_000
"""A text of fewer letters is kept for when it is read again; a day has some thousands."""
_MOST_KNOWN = 4000
"""Lines that are kept for when they are read again, of some kilobytes each."""
_GRAMMARS = ("log.lark", "terms.lark", "attitude.lark")


class Unread(NamedTuple):
    """A line that is no statement: how far it was read, and where it went wrong."""

    read: Statement
    """What stands before the fault, keyword first; empty where the first word is unknown."""
    line: int
    column: int
    """Where reading stopped, counted from 1."""
    expected: frozenset[str]
    """Kinds of word that could have stood there."""
    ended: bool
    """Whether the line ended there."""


Line: TypeAlias = Statement | Token | Unread
"""What stands in a line."""


class Parsed(NamedTuple):
    """A text as statements."""

    original: str
    """The text with every line end as one `\\n`, so that a token's offsets point into it."""
    respelled: bool
    """Whether the tokens are in other, plain spellings."""
    lines: list[Line]
    """In order: statements, trailing comments, comment lines, continuations, and lines that could not be read."""


class _Flat:
    """Hands every rule's children on as they are, so that no tree is built."""

    def __getattr__(self, name: str) -> Callable[[Statement], Statement]:
        if (
            name.startswith("_") or name.isupper()
        ):  # rules that the parser splices into the one above, and words
            raise AttributeError(name)
        return _same


def _same(children: Statement) -> Statement:
    return children


class _KindScanner(Scanner):
    """Finds the next word among those that may stand at a place of the grammar, and compiles no more than a text needs.

    Lark compiles one expression of all kinds that may stand there, ten to ninety, for each place that a text comes to.
    A page of a day comes to fifty, which takes longer than reading it. Here a place begins with an expression for each
    kind, which all places share, and gets one of its own once a text comes to it often, as that is quicker to match.
    """

    def __init__(self, terminals: Any, g_regex_flags: int, re_: Any, *, use_bytes: bool) -> None:
        self._left = _OFTEN if len(terminals) < _MANY_KINDS else 0
        super().__init__(terminals, g_regex_flags, re_, use_bytes)  # type: ignore[no-untyped-call]

    def _build_mres(self, terminals: Any, max_size: int) -> Any:
        if not self._left:
            return super()._build_mres(terminals, max_size)  # type: ignore[no-untyped-call]
        return [_expression(one.name, one.pattern.to_regexp(), self.g_regex_flags) for one in terminals]

    def match(self, text: Any, pos: int) -> Any:
        """Value and kind of the word at `pos`; None where none of those that may stand there does."""
        if self._left:
            self._left -= 1
            if not self._left:
                self._mres = self._build_mres(self.terminals, len(self.terminals))
        return super().match(text, pos)


@cache
def _expression(name: str, pattern: str, flags: int) -> re.Pattern[str]:
    return re.compile(f"(?P<{name}>{pattern})", flags)


class _LateBasicLexer(BasicLexer):
    def _build_scanner(self) -> Scanner:
        # The grammar has expressions only: plain strings lark would try in each of them here.
        self.callback = {}
        return _KindScanner(self.terminals, self.g_regex_flags, self.re, use_bytes=self.use_bytes)


class _LateLexer(ContextualLexer):
    """For the grammar of the notation, whose terminals are expressions all, without a callback."""

    BasicLexer = _LateBasicLexer


@cache
def parser() -> Lark:
    """The parser, from the user's cache where that works, else built afresh."""
    grammar = data("grammar", "log.lark")
    options: dict[str, Any] = {"parser": "lalr", "lexer": "contextual", "transformer": _Flat()}
    options["_plugins"] = {"ContextualLexer": _LateLexer}
    folder = _cache_folder()
    if folder is not None:
        try:
            text = "".join(data("grammar", name).read_text("utf-8") for name in _GRAMMARS)
            version = ".".join(map(str, sys.version_info[:3]))
            key = sha256(f"{text}\n{lark.__version__}\n{version}".encode()).hexdigest()[:32]
            folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            return Lark.open(str(grammar), cache=str(folder / f"grammar-{key}.bin"), **options)
        except Exception:  # noqa: BLE001, S110 - whatever ails the cache, the grammar itself is at hand
            pass
    return Lark.open(str(grammar), **options)


@cache
def _words() -> frozenset[str]:
    """Every word that the grammar knows, in small letters."""
    patterns = " ".join(terminal.pattern.value for terminal in parser().terminals)
    return frozenset(re.findall(r"(?<!\\)[a-z]{2,}", patterns.lower()))


def _cache_folder() -> Path | None:
    """Folder of the user's own; never the shared temporary one, whose files others may write."""
    if sys.platform == "win32":
        base = os.environ.get("LOCALAPPDATA")
    elif sys.platform == "darwin":
        base = str(Path("~/Library/Caches").expanduser())
    else:
        base = os.environ.get("XDG_CACHE_HOME") or str(Path("~/.cache").expanduser())
    return Path(base) / "traverse" if base and Path(base).is_absolute() else None


def parse(source: Source) -> Parsed:
    """Every line of a text; a line that can't be read is kept as `Unread` and the next one starts afresh."""
    text = source.text
    original = ("\n".join(source.lines) if "\r" in text else text.removesuffix("\n")) + "\n"
    if len(original) >= _SHORT:
        simple = respelled(plain(original), _words())
        return Parsed(original, simple is not original, _all_read(simple))
    kept = _parsed_again(original)
    # A statement is emptied once it is read, so that a long log is not held twice.
    return kept._replace(lines=[list(one) if type(one) is list else one for one in kept.lines])


@lru_cache(maxsize=64)
def _parsed_again(original: str) -> Parsed:
    """A party's log is read by itself, with the camp, and once more where what explains it is tried."""
    simple = respelled(plain(original), _words())
    return Parsed(original, simple is not original, _read_by_lines(simple))


def _all_read(simple: str) -> list[Line]:
    """Every line of a text in plain spellings."""
    unread: list[Unread] = []
    with uncollected():
        lines: Any = parser().parse(simple, on_error=_recovery(simple, unread))
    if unread:
        lines = [
            unread[int(one[0])] if isinstance(one, list) and one[0].type == "BAD" else one for one in lines
        ]
    return lines  # type: ignore[no-any-return]


class _ReadLine(NamedTuple):
    """A line that was read, where it stood."""

    number: int
    start: int
    """Of the characters of its text."""
    lines: tuple[Statement | Token, ...]

    def put(self, number: int, start: int) -> Iterable[Statement | Token]:
        """The same in another place."""
        if (number, start) == (self.number, self.start):
            return self.lines
        by = start - self.start
        return (
            _moved(one, number, by) if isinstance(one, Token) else [_moved(word, number, by) for word in one]
            for one in self.lines
        )


def _moved(word: Token, number: int, by: int) -> Token:
    return Token(
        word.type,
        str(word),
        (word.start_pos or 0) + by,
        number,
        word.column,
        number,
        word.end_column,
        (word.end_pos or 0) + by,
    )


_known: dict[str, _ReadLine] = {}
"""Lines that were read, by their text: no line of the grammar hangs on another."""


def _read_by_lines(simple: str) -> list[Line]:
    """As `_all_read`, of a text most lines of which were read before, in this log or another: only the others are parsed."""
    texts = simple.split("\n")[:-1]
    known = {text: one for text in texts if (one := _known.get(text)) is not None}
    new = [text for text in dict.fromkeys(texts) if text not in known]
    if 2 * len(new) > len(texts):
        lines = _all_read(simple)
        _keep(texts, lines)
        return lines
    if new:
        lines = _all_read("\n".join(new) + "\n")
        if any(isinstance(one, Unread) for one in lines):
            # How far is read on hangs on how many can't be.
            return _all_read(simple)
        known |= _keep(new, lines)
    found: list[Line] = []
    start = 0
    for number, text in enumerate(texts, start=1):
        found += known[text].put(number, start)
        start += len(text) + 1
    return found


def _keep(texts: Sequence[str], lines: Sequence[Line]) -> dict[str, _ReadLine]:
    """What the lines of a text were read as, those that could be; kept for the next text."""
    of: dict[int | None, list[Statement | Token]] = defaultdict(list)
    unread = set()
    for one in lines:
        if isinstance(one, Unread):
            unread.add(one.line)
        else:
            of[one.line if isinstance(one, Token) else one[0].line].append(one)
    found = {}
    start = 0
    for number, text in enumerate(texts, start=1):
        if number not in unread:
            found[text] = _ReadLine(number, start, tuple(of[number]))
        start += len(text) + 1
    if len(_known) > _MOST_KNOWN:
        _known.clear()
    _known.update(found)
    return found


def as_statement(line: str) -> Statement | None:
    """A line as a statement; None where it is none."""
    first = parse(Source(name="", text=line)).lines[0]
    return first if isinstance(first, list) else None


def _recovery(text: str, unread: list[Unread]) -> Callable[[UnexpectedInput], bool]:
    """What the parser calls on a fault: note it, go back to where a line may start, go on at the next line."""

    def recover(fault: UnexpectedInput) -> bool:
        interactive = fault.interactive_parser
        state = interactive.parser_state
        table = state.parse_conf.parse_table.states
        expected = frozenset(kind for kind in table[state.state_stack[-1]] if kind.isupper())
        read: list[Any] = []
        while "BAD" not in table[state.state_stack[-1]]:
            state.state_stack.pop()
            read.append(state.value_stack.pop())
        token = fault.token if isinstance(fault, UnexpectedToken) else None
        ended = token is not None and token.type in {"_NL", "$END"}
        unread.append(Unread(list(_flat(reversed(read))), fault.line, fault.column, expected, ended))
        interactive.feed_token(Token("BAD", str(len(unread) - 1)))
        if token is not None and ended:
            interactive.feed_token(token if token.type == "_NL" else Token("_NL", "\n"))
            return True
        position = interactive.lexer_thread.state.line_ctr  # type: ignore[union-attr]
        # The line after the last is read on, so that it can be said where reading ended.
        end = len(text) - 1 if len(unread) > MOST_MISTAKES else text.index("\n", position.char_pos)
        if end > position.char_pos:
            position.feed(text[position.char_pos : end], False)
        if token is None:  # else lark would skip one character more
            position.feed("\n")
            interactive.feed_token(Token("_NL", "\n"))
        return True

    return recover


def _flat(values: Any) -> Any:
    for value in values:
        if isinstance(value, Token):
            yield value
        elif isinstance(value, lark.Tree):
            yield from _flat(value.children)
        else:
            yield from _flat(value)
