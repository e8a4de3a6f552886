"""Runs the grammar over a text: statements as lists of tokens, and what could not be read, line by line."""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Callable
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


class Parsed(NamedTuple):
    """A text as statements."""

    original: str
    """The text with every line end as one `\\n`, so that a token's offsets point into it."""
    respelled: bool
    """Whether the tokens are in other, plain spellings."""
    lines: list[Statement | Token | Unread]
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
        return _parsed(original)
    kept = _parsed_again(original)
    # A statement is emptied once it is read, so that a long log is not held twice.
    return kept._replace(lines=[list(one) if type(one) is list else one for one in kept.lines])


def _parsed(original: str) -> Parsed:
    simple = respelled(plain(original), _words())
    unread: list[Unread] = []
    with uncollected():
        lines: Any = parser().parse(simple, on_error=_recovery(simple, unread))
    if unread:
        lines = [
            unread[int(one[0])] if isinstance(one, list) and one[0].type == "BAD" else one for one in lines
        ]
    return Parsed(original, simple is not original, lines)


def as_statement(line: str) -> Statement | None:
    """A line as a statement; None where it is none."""
    first = parse(Source(name="", text=line)).lines[0]
    return first if isinstance(first, list) else None


# A party's log is read by itself, with the camp, and once more where what explains it is tried.
_parsed_again = lru_cache(maxsize=64)(_parsed)


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
