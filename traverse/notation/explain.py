"""What was expected where a line could not be read, in trade words."""

from __future__ import annotations

import re
from collections.abc import Callable, Container
from difflib import get_close_matches
from functools import lru_cache
from typing import NamedTuple

from lark import Token

from traverse.diagnostic import Diagnostic, error
from traverse.log.ages import read_age
from traverse.log.described import DESCRIBED
from traverse.log.items import Planes
from traverse.log.written_forms import FORMS
from traverse.log.zones import utm_zone, zone_codes
from traverse.notation.guess import in_figures, letter_in, marked_figure, nearest_word, slash_pair, swapped
from traverse.notation.parse import Statement, Unread, as_statement
from traverse.notation.prose.statements import statements_in
from traverse.notation.terms import between_thousands
from traverse.notation.text import shortened
from traverse.notation.vocabulary import KINDS, TRIED, kind_in_words
from traverse.source import Span


class Fault(NamedTuple):
    """Where a line went wrong."""

    word: str
    """First word of the line, lower case."""
    read: Statement
    rest: str
    """From the fault to the end of the line, as typed; empty where the line ended."""
    expected: frozenset[str]
    glued: bool
    """Whether no blank stands between what was read and the fault."""

    @property
    def complete(self) -> bool:
        """Whether the line could have ended here."""
        legged = self.word not in _LEGS or len(self.read) > _NAMED_LEG
        return "_NL" in self.expected and legged


_NAMED_LEG = 3
"""Words of `to NAME BEARING`; a leg that ends before them is none."""


def _head(text: str) -> str:
    """First word of a text; empty where there is none."""
    return re.split(r"[ \t]", text.strip(" \t"), maxsplit=1)[0]


Finding = tuple[str, str, tuple[str, ...]]
"""Code, message and hints."""


def explain(
    unread: Unread, *, file: str, typed: str, met: Container[str] = (), above: str = ""
) -> Diagnostic:
    """The message for a line that is no statement.

    `typed` is the line as it stands, `met` the stations above it, `above` the statement right above it, if one stands there.
    """
    rest = typed[unread.column - 1 :].rstrip(" \t") if not unread.ended else ""
    bad = _head(rest)
    if unread.ended or not bad:
        start = unread.read[0].column or 1 if unread.read else 1
        span = Span(file, unread.line, start, max(start + 1, len(typed.rstrip(" \t")) + 1))
    else:
        span = Span(file, unread.line, unread.column, unread.column + len(bad))
    if not unread.read:
        code, message, hints = _first_word(typed.strip(" \t"), met, above.strip(" \t"))
    else:
        glued = unread.read[-1].end_column == unread.column
        fault = Fault(unread.read[0].lower(), unread.read, rest, unread.expected, glued)
        lettered = _lettered(fault, unread.column)
        if lettered is not None:
            span = span._replace(column=lettered[1])
        marked = _marked(fault, typed, span)
        if marked is not None:
            return marked
        east = _east_without_letter(unread.read)
        if east is not None:
            token, figure = east
            at = token.column or 1
            span = span._replace(column=at, end=at + len(figure))
            return error(
                "control-axes",
                f"{shortened(figure)}: no letter says what it is",
                span,
                f"`{shortened(figure)} E`",
            )
        second = None if lettered else _second_statement(fault)
        if second is not None:
            at = unread.column + second[1]
            span = span._replace(column=at, end=at + len(_head(fault.rest[second[1] :])))
        code, message, hints = (
            (lettered and lettered[0])
            or (second and second[0])
            or _figures_apart(fault)
            or _misspelt(fault)
            or _keeping(fault, _particular(fault) or _general(fault))
        )
    return error(code, message, span, *(shortened(hint, 160) for hint in hints))


_INSIDE = {
    "CERTAINTY": ("certain", "approximate", "inferred", "concealed"),
    "MOVEMENT": ("normal", "reverse", "thrust", "left-lateral", "right-lateral", "sinistral", "dextral"),
    "QUALITY": ("good", "fair", "poor"),
    "PACEKIND": ("single", "double"),
    "WAY": ("up", "down", "unseen"),
    "SLOPE": ("level",),
    "FLAT": ("flat",),
    "OVERTURNED": ("overturned",),
    "UPRIGHT": ("upright",),
}
"""Words that one kind of word of the grammar stands for."""


def _lettered(fault: Fault, column: int) -> tuple[Finding, int] | None:
    """A letter for the figure that it looks like, and the column at which its word begins."""
    bad, last = _head(fault.rest), fault.read[-1]
    glued = last.end_column == column and len(fault.read) > 1
    if glued:  # the figures before the letter were read
        bad, column = f"{last}{bad}", last.column or column
    meant = in_figures(bad)
    if meant is None or not (glued or _NUMBERS & fault.expected):
        return None
    # `2 O1` may be a name in two words; three figures are a bearing, and a unit makes a reading in any case.
    body = meant.rstrip(",")
    if last.type == "NAME" and fault.word in _LEGS and body.isdigit() and len(body) != 3:
        return None
    return ("letter-for-figure", letter_in(bad, meant), (f"`{shortened(meant)}`",)), column


def _marked(fault: Fault, typed: str, span: Span) -> Diagnostic | None:
    """What to say of a figure whose thousands are parted so that it is no figure here."""
    going = next((at for at, one in enumerate(fault.read) if one.type in {"TO", "CLOSE", "SIDE"}), 0)
    last = going + 2 if fault.word in _LEGS else 0
    if fault.word not in _OF_DISTANCES or len(fault.read) <= last:
        return None
    column = fault.read[last].end_column or 1
    found = marked_figure(typed[column - 1 :])
    if found is None:
        return None
    at, text, joined = found
    span = span._replace(column=column + at, end=column + at + len(text))
    return between_thousands(text, joined, span).diagnostic


_BETWEEN = re.compile(r"(?:[;,.&+–—]|and\b)[ \t]*(?:and\b[ \t]*)?", re.IGNORECASE)


def _second_statement(fault: Fault) -> tuple[Finding, int] | None:
    """What stands behind a whole statement and is one itself, with a sign between or without; and where it begins in `rest`."""
    between = _BETWEEN.match(fault.rest)
    at = between.end() if between else 0
    rest = fault.rest[at:]
    word = _head(rest)
    ended = fault.complete or fault.read[-1].type == "COMMA"
    if not ended or word.lower() not in FORMS or as_statement(rest) is None:
        return None
    # Capitals in a line of a unit are those of its name, as in `unit Fl Rock Flags`.
    if fault.word == "unit" and not word.islower() and not any(one.at == 0 for one in statements_in(rest)):
        return None
    return (
        "second-statement",
        f"`{shortened(word)}` begins a statement of its own",
        (f"`{shortened(rest)}` on a line of its own below this one",),
    ), at


def _keeping(fault: Fault, found: Finding) -> Finding:
    """With the statement that stands among words which would go to `note`, where nothing is drawn of it."""
    code, message, hints = found
    if not any("under `note`" in hint for hint in hints):
        return found
    begun = next(statements_in(fault.rest), None)
    return found if begun is None else (code, message, (f"`{begun.typed}` on a line of its own", *hints))


_QUADRANT_TURNED = re.compile(r"([EW])[ \t]*(\d{1,2}(?:\.\d+)?)[ \t]*([NS])(?=[/ \t,]|$)", re.IGNORECASE)
_SIGN_APART = re.compile(r"([+-])[ \t]+(\d+(?:\.\d+)?[%°]?)(?=[ \t]|$)")
_LENGTH_UNIT = re.compile(r"(m|ft)(?=[ \t]|$)")
_OF_A_FRACTION = re.compile(r"/[234](?!\d)\S*")
_OF_A_DIP = re.compile(r"[-–](\d{1,2}(?!\d)\S*)")
_HAS_BEARING = frozenset({"sight", "tops", "contact", "unconformity", "fault", "trace"})


def _figures_apart(fault: Fault) -> Finding | None:
    """Figures that belong together and are written otherwise here."""
    turned = _QUADRANT_TURNED.match(fault.rest)
    word = DESCRIBED.get(fault.word)
    if turned and (fault.word in _LEGS | _HAS_BEARING or (word is not None and word.record is Planes)):
        east, figure, north = (part.upper() for part in turned.groups())
        rest = _head(fault.rest[turned.end() :]) if fault.rest[turned.end() :].startswith("/") else ""
        other = f"{90.0 - float(figure):g}"
        return (
            "quadrant-turned",
            f"{shortened(turned[0])}: a quadrant bearing begins at N or S",
            (
                f"`{north}{figure}{east}{rest}` if two letters were exchanged",
                f"`{north}{other}{east}{rest}` if {figure} was counted from {east}",
            ),
        )
    sign = _SIGN_APART.match(fault.rest)
    if sign and "SLOPE" in fault.expected:
        return (
            "sign-apart",
            f"a blank stands between {sign[1]} and {sign[2]}",
            (f"`{sign[1]}{sign[2]}`",),
        )
    last = str(fault.read[-1])
    unit = _LENGTH_UNIT.match(fault.rest)
    if unit and fault.word in {"contact", "unconformity", "fault"} and re.fullmatch(r"\d+(?:\.\d+)?", last):
        return (
            "within-sign",
            f"{last} {unit[1]} alone does not say what it is",
            (f"`±{last} {unit[1]}` if the place is known so well",),
        )
    behind = _OF_A_FRACTION.match(fault.rest)
    whole = re.fullmatch(r"(\d+)([123])", last)
    if fault.glued and behind and whole and int(whole[2]) < int(behind[0][1]):
        return (
            "fraction",
            f"{shortened(last + behind[0])}: where does the fraction begin",
            (f"`{whole[1]} {whole[2]}{behind[0]}`, with a blank before it",),
        )
    dip = _OF_A_DIP.match(fault.rest)
    if dip and fault.read[-1].type == "LONE":
        return (
            "attitude",
            f"{shortened(last + dip[0])} is no attitude",
            (f"`{shortened(last)}/{dip[1]}`",),
        )
    return None


_LEGS = frozenset({"to", "close", "side", "from", "sight"})
_OF_DISTANCES = frozenset({"to", "close", "side", "from", "along", "covered", "elevation"})
_NUMBERS = frozenset(
    {"BEARING", "FIGURE", "DISTANCE", "SLOPE", "LENGTH", "SHARE", "DECLINED", "COORDINATE", "PAIR"}
)


def _misspelt(fault: Fault) -> Finding | None:
    """A word inside a statement that is one letter off one that could stand there."""
    bad = _head(fault.rest).rstrip(",")
    if len(bad) < 4 or not bad.isalpha():
        return None
    could = [
        word
        for kind in sorted(fault.expected)
        for word in _INSIDE.get(kind, () if kind in KINDS else (kind.lower(),))
    ]
    near = nearest_word(bad, could)
    if near is None:
        return None
    return (
        "misspelt",
        f"`{shortened(bad)}` can't stand here",
        (f"did you mean `{near}`?",),
    )


_MEASURED = frozenset({
    "declination", "pace", "precision", "control", "grid", "from", "to", "close", "side", "along", "covered", "trace",
    *(word for word, one in DESCRIBED.items() if re.search(r"\d", one.example) and one.asks is not None),
})  # fmt: skip


def _shown(word: str) -> str:
    """What to type for a statement: its form where it holds what was measured, which an example would invent."""
    return f"`{FORMS[word].form}`" if word in _MEASURED else f"such as `{FORMS[word].example}`"


def _general(fault: Fault) -> Finding:
    """What could have stood there, and the form of the statement."""
    form = FORMS[fault.word]
    could = [kind_in_words(kind) for kind in sorted(fault.expected)]
    could = list(dict.fromkeys(word for word in could if word))
    hints: tuple[str, ...] = (f"`{form.form}`",)
    if could and len(could) <= 5:
        hints = (f"here may stand {_either(could)}", *hints)
    if not fault.rest:
        return "unfinished", f"the `{fault.word}` line is not finished", hints
    return "unreadable", f"`{shortened(_head(fault.rest))}` can't stand here", hints


def _either(words: list[str]) -> str:
    return " or ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


# --- first words --------------------------------------------------------------------------------------------


_LIKE_WORDS, _LIKE_ALONE, _SURELY_LIKE = 0.6, 0.7, 0.85
"""So alike are two words of which one may be a slip of the other, one is though the rest of the line is not of it alone,
and one is in any case."""
_SHORT = 3
"""Letters of a word in which one slip leaves less than that alike."""
_ANY_WORD = frozenset({"WORD", "NAME"})
"""Kinds of word that nearly any would be."""


@lru_cache(maxsize=1000)
def _near(word: str, rest: str = "") -> str | None:
    """The word of the notation that is nearest, if one is near; another that is alike where the rest of the line is its alone."""
    near = nearest_word(word, tuple(FORMS))
    if near is None or not rest or _is_its_own(near, rest):
        return near
    if get_close_matches(word, (near,), cutoff=_SURELY_LIKE):
        return near
    alike = get_close_matches(word, FORMS, n=6, cutoff=_LIKE_WORDS)
    own = next((other for other in alike if _is_its_own(other, rest)), None)
    short = len(word) <= _SHORT and len(near) < len(word) + _SHORT
    if own is not None or short or near.startswith(word):
        return own or near
    return near if near in swapped(word) or get_close_matches(word, (near,), cutoff=_LIKE_ALONE) else None


def _is_its_own(word: str, rest: str) -> bool:
    """Whether a line is the statement of its first word by more than words that would stand anywhere."""
    read = as_statement(f"{word} {rest}")
    return read is not None and any(one.type not in _LOOSE_WORDS | _ANY_WORD for one in read[1:])


def _tried(word: str, rest: str) -> str | None:
    """What to type for a word that people try, or for one with two letters of it exchanged.

    Not where it is a word of the notation but for its last letter, and the line one of its statements.
    """
    tried = next((one for one in (word, *swapped(word)) if one in TRIED), None)
    many = f"{word}s"
    if tried is None or (
        many in FORMS and not rest[:1].isdigit() and as_statement(f"{many} {rest}") is not None
    ):
        return None
    return TRIED[tried]


def _parted(line: str) -> tuple[str, str]:
    """First word of a line, lower case and without a colon, and the rest."""
    first = _head(line)
    return first.rstrip(":").lower()[:40], line.strip(" \t")[len(first) :].strip(" \t")


def meant_word(line: str) -> str | None:
    """The word of the notation that a line probably begins with, where it begins with none."""
    word, rest = _parted(line)
    if _DISTANCE_ALONE.fullmatch(line.strip(" \t")):
        return "along"
    tried = _tried(word, rest)
    if tried is None:
        return _near(word, rest)
    typed = re.match(r"`([a-z]+)", tried)
    return typed[1] if typed is not None and typed[1] in FORMS else None


_LEG = re.compile(
    r"[\w.']+[ \t]+(?:\d{3}(?:\.\d+)?|[NS][ \t]*\d+(?:\.\d+)?[ \t]*[EW])[ \t]+\d+(?:\.\d+)?[ \t]*(?:[sd]?p|m|ft)?(?:[ \t]|$)",
    re.IGNORECASE,
)


_SIGHTED = re.compile(
    r"(?:\d{3}(?:\.\d+)?|[NS][ \t]*\d+(?:[.\d]+|[ \t]*\d/\d)?[ \t]*[EW])[ \t]+\d+(?:\.\d+|[ \t]*\d/\d)?[ \t]*(?:[sd]?p|m|ft)(?:[ \t]|$)",
    re.IGNORECASE,
)


def leg_without_to(line: str, met: Container[str]) -> bool:
    """Whether a line reads as a leg but for its first word: a number that is no station yet, a bearing, a distance."""
    return line[:1].isdigit() and _head(line) not in met and _LEG.match(line) is not None


def leg_without_end(line: str) -> bool:
    """Whether a line reads as a leg but for its first words: a bearing and a distance, and what may follow them."""
    return _SIGHTED.match(line) is not None and as_statement(f"to A {line}") is not None


_NO_STATEMENT_BEGINS_SO = re.compile(r"[+±−]|-[ \t]*\d|\d+(?:[.,]\d+)?[ \t]*[a-z%°]", re.IGNORECASE)
_DISTANCE_ALONE = re.compile(r"\d+(?:\.\d+)?[ \t]*(?:[sd]?p|m|ft)", re.IGNORECASE)
_LOOSE_WORDS = frozenset({"TEXT", "PATH", "POINTFILE", "PERSONNAME", "UNITNAME", "UNITPART"})
"""Kinds of word that would take any line for their end."""


def _goes_on(line: str, above: str) -> Finding | None:
    """What ends the statement right above it, where that was written in two lines."""
    first = _head(line)
    if not above or not (first.isalpha() or _NO_STATEMENT_BEGINS_SO.match(line)):
        return None
    led = as_statement(above)
    if led is not None and _DISTANCE_ALONE.fullmatch(line) and any(one.type == "DISTANCE" for one in led):
        return (
            "unknown-word",
            f"`{shortened(line)}` begins no statement, and the leg above it has its distance",
            (f"a place along that leg is `along {shortened(line)}`",),
        )
    joined = f"{above} {line}"
    read = as_statement(joined)
    if read is None or read[-1].type in _LOOSE_WORDS:
        return None
    return (
        "statement-wrapped",
        f"`{shortened(first)}` begins no statement, and ends the one above it",
        (f"both on one line, `{shortened(joined, 120)}`",),
    )


def _more_words(line: str, above: str) -> str | None:
    """What to type where a line of words alone may go on with the words right above it."""
    led = as_statement(above) if above else None
    if led is None or led[-1].type != "TEXT" or re.search(r"[\d/:]", line):
        return None
    return f"`| {shortened(line, 100)}` if it goes on with the words above it"


_DASHED = re.compile(r"[-–—•*>][ \t]*(?=[^\W\d])")


def _are_words(line: str, meant: str) -> bool:
    """Whether a line is somebody's words, although its first one is like a word of the notation."""
    words = line.split()
    return (
        len(words) > 2
        and re.search(r"[\d/]", line) is None
        and as_statement(" ".join([meant, *words[1:]])) is None
    )


_GLUED = re.compile(r"([a-z]+)(\d\S*)", re.IGNORECASE)
_BEFORE_PLANE = frozenset({"overturned", "upright", "good", "fair", "poor"})


def _written_apart(first: str, rest: str) -> str | None:
    """The statement that a line is but for its first word: glued to a figure, its first letters alone, or what ends the line."""
    glued = _GLUED.fullmatch(first)
    if glued is not None and glued[1].lower() in FORMS and _is_its_own(glued[1], f"{glued[2]} {rest}"):
        return f"{glued[1].lower()} {glued[2]} {rest}".strip()
    if not rest or not first.isalpha():
        return None
    word = first.lower()
    if word in _BEFORE_PLANE and re.search(r"\d", rest):
        behind = f"{rest} {word}"
        found = next((one for one in (behind, f"bed {behind}") if as_statement(one) is not None), None)
        if found is not None:
            return found
    if len(word) > _SHORT or not re.search(r"\d", rest):
        return None
    begun = [other for other in FORMS if other.startswith(word) and _is_its_own(other, rest)]
    return f"{begun[0]} {rest}" if len(begun) == 1 else None


_YOUR_WORDS = "words about a place begin with `note` or `rock`, those about a danger with `hazard`"


def _first_word(line: str, met: Container[str], above: str) -> Finding:
    first = _head(line)
    code = "unknown-word"
    bare = first.rstrip(":")
    shown = shortened(first)
    if bare != first:
        known = bare.lower()
        if known in FORMS:
            return (
                code,
                f"`{shown}` has a colon",
                (f"leave out the colon, `{shortened(line.replace(':', '', 1))}`",),
            )
        if known in TRIED:
            return (
                code,
                f"`{shown}` is not a word of the notation",
                (f"use {TRIED[known]}, without the colon",),
            )
    known, rest = _parted(line)
    tried = _tried(known, rest)
    if tried is not None:
        return code, f"`{shown}` is not a word of the notation", (f"use {tried}",)
    dashed = _DASHED.match(line)
    if dashed is not None and _head(line[dashed.end() :]).lower() in FORMS:
        return (
            code,
            f"`{dashed[0].strip()}` begins no statement",
            (f"take it away, `{shortened(line[dashed.end() :])}`",),
        )
    pair = re.match(r"([\w.']+)[ \t]*(?:->|→|-|–)[ \t]*([\w.']+)", line)
    if pair and pair[1][0].isdigit():
        return (
            code,
            f"`{shown}` begins no statement",
            (f"a leg is `from {shortened(pair[1])} to {shortened(pair[2])} BEARING DISTANCE`",),
        )
    if leg_without_to(line, met):
        return (
            code,
            f"`{shown}` begins no statement",
            (f"a leg is `to {shortened(line, 100)}`",),
        )
    if leg_without_end(line):
        return (
            code,
            f"`{shown}` begins no statement",
            (f"a leg says where it leads, `to NAME {shortened(line, 100)}`",),
        )
    meant = _written_apart(first, rest)
    if meant is not None:
        return code, f"`{shown}` is not a word of the notation", (f"`{shortened(meant)}`",)
    goes_on = _goes_on(line, above)
    if goes_on is not None:
        return goes_on
    if "/" in first and as_statement(f"bed {line}") is not None:
        return (
            code,
            f"`{shown}` begins no statement",
            (f"what was measured stands before it, such as `{shortened(f'bed {line}')}`",),
        )
    if first[0].isdigit():
        return (
            code,
            f"`{shown}` begins no statement",
            (f"a leg is `from {shown} to NAME BEARING DISTANCE`, a place `at {shown}`",),
        )
    near = _near(known, rest)
    message = f"`{shown}` is not a word of the notation"
    more = _more_words(line, above)
    if more is not None and not (
        near and (_is_its_own(near, rest) or get_close_matches(known, (near,), cutoff=_SURELY_LIKE))
    ):
        alike = near is not None and get_close_matches(known, (near,), cutoff=_LIKE_ALONE)
        return code, message, (more, f"else did you mean `{near}`?" if alike else f"else {_YOUR_WORDS}")
    if near and not _are_words(line, near):
        return code, message, (f"did you mean `{near}`? such as `{FORMS[near].example}`",)
    return code, message, (_YOUR_WORDS,)


# --- statements ---------------------------------------------------------------------------------------------


def _particular(fault: Fault) -> Finding | None:
    """The message for a slip that is known; None for any other."""
    word = fault.word
    finder = _FINDERS.get(word)
    found = finder(fault) if finder is not None else None
    if found is not None or fault.rest or len(fault.read) > 1:
        return found
    if word in _WORDS:
        return "words-missing", f"`{word}` needs words", (_shown(word),)
    if word in _MISSING:
        return "unfinished", _MISSING[word], (_shown(word),)
    return None


_WORDS = frozenset({
    "area", "weather", "instrument", "heights", "page",
    *(word for word, one in DESCRIBED.items() if one.asks is None),
})  # fmt: skip
_MISSING = {
    "notation": "which notation",
    "traverse": "the title is missing",
    "date": "which day",
    "party": "who",
    "emergency": "whom to call, where to meet, and when to turn back",
    "group": "name the party",
    "grid": "which grid",
    "bearings": "which north",
    "attitudes": "how are attitudes written",
    "pace": "how long is a pace",
    "precision": "of what",
    "distances": "what do bare numbers stand for",
    "decimals": "a point is read always; for a comma say so",
    "use": "which file",
    "log": "which file",
    "ruling": "at which station, what, who, when and why",
    "controls": "which file",
    "terrain": "which file",
    "at": "which station",
    "to": "to which station",
    "close": "to which station",
    "side": "a side shot needs a name",
    "from": "from which station",
    "along": "how far along the leg",
    "covered": "from where to where is it covered",
    "tie": "which two names",
    "reader": "who",
    "pacer": "who",
    "compass": "which",
    "trace": "of which contact",
    "checked": "who and why",
    "omit": "who and why",
    "was": "what did it read",
    "adjust": "by which rule",
    "section": "which section",
    "sheet": "which option",
    **{word: one.asks for word, one in DESCRIBED.items() if one.asks is not None},
}


_AGE_ALONE = r"(?:(?:lower|middle|mid|upper|early|late)[ \t]+)*\S+"


def _unit(fault: Fault) -> Finding | None:
    if len(fault.read) < 2 or not fault.rest:
        return None
    letters, rest = shortened(fault.read[1]), shortened(fault.rest)
    # The first `;` stands after the name, not before it.
    text = fault.rest.strip(" \t;,:.")
    first = text.partition(";")[0].strip()
    if re.fullmatch(_AGE_ALONE, first, re.IGNORECASE) and read_age(first) is not None:
        return (
            "unit-name",
            f"`{rest}`: the name of the unit stands before its age",
            (f"in the heading `unit {letters} NAME ; {shortened(text)}`",),
        )
    parted = re.fullmatch(r"(.*?)[ \t]*[,:.][ \t]*([^,]+)", text) or re.fullmatch(
        rf"(.*?)[ \t]+({_AGE_ALONE})", text, re.IGNORECASE
    )
    if parted is not None and parted[1] and read_age(parted[2]) is not None:
        name, age = shortened(parted[1].rstrip(" \t;,:.")), shortened(parted[2])
        return (
            "unit-name",
            f"`{rest}`: a name needs `;` after it",
            (f"in the heading `unit {letters} {name} ; {age}`",),
        )
    name = shortened(text) or "NAME"
    return (
        "unit-name",
        f"`{rest}`: a name needs `;` after it",
        (
            f"in the heading `unit {letters} {name} ; AGE`",
            f"at a station `unit {letters}` alone, and `rock` for the words",
        ),
    )


def _control(fault: Fault) -> Finding | None:
    rest = fault.rest
    name = shortened(fault.read[1]) if len(fault.read) > 1 else ""
    if not name:
        return "unfinished", "which point, and where", (_shown("control"),)
    if len(fault.read) == 2:
        return _control_figures(name, rest)
    if len(fault.read) == 3:
        return _without_letter(fault.read[2], rest) or _second_figure(shortened(fault.read[2]), rest)
    return None


_LETTER_FIRST = re.compile(
    r"([NSEW])[ \t]*(\d[\d .,°'\"]*?)[ \t,]*([NSEW])[ \t]*(\d[\d .,°'\"]*?)[ \t]*$", re.IGNORECASE
)
_IN_METRES = re.compile(r"(\d{4,})[ \t]*m[ \t]*E[ \t,]+(\d{4,})[ \t]*m[ \t]*N\b", re.IGNORECASE)
_ZONED = re.compile(
    r"(\d{1,2}[A-Za-z]?)[ \t]+(\d{5,7}(?:\.\d+)?)[ \t]*E?[ \t]+(\d{5,8}(?:\.\d+)?)[ \t]*N?", re.IGNORECASE
)
_DEGREES_MINUTES = re.compile(
    r"\d{1,3}(?:[ \t°]+\d{1,2}(?:[.,]\d+)?['\"]?){1,2}[ \t,]+\d{1,3}(?:[ \t°]+\d{1,2}(?:[.,]\d+)?['\"]?){1,2}$"
)


def _control_figures(name: str, rest: str) -> Finding | None:
    """Where the figures of a known point don't begin as they should."""
    letters = _LETTER_FIRST.match(rest)
    if letters and {letters[1].upper(), letters[3].upper()} & set("EW") and len(letters[2].strip()) > 3:
        one, other = (f"{letters[at + 1].strip(' ,')} {letters[at].upper()}" for at in (1, 3))
        if one[-1] in "EW" and len(letters[2].strip()) < 4:
            one, other = other, one
        return "control-axes", "a letter stands after its figure", (f"`{one} {other}`",)
    if re.match(r"[A-Za-z]{1,3}[ \t]*\d{2,5}[ \t]*\d{2,5}\b", rest):
        return (
            "grid-letters",
            f"{shortened(rest)}: write the figures in full, without grid letters",
            ("east first, then north: `FIGURE E FIGURE N`",),
        )
    pair = re.match(r"([-+−]?)(\d+[.,]\d+|\d{1,3})°?,?[ \t]+([-+−]?)(\d+[.,]\d+|\d{1,3})°?[ \t]*$", rest)
    if pair:
        north = "S" if pair[1] in {"-", "−"} else "N"
        east = "W" if pair[3] in {"-", "−"} else "E"
        return (
            "control-axes",
            f"{shortened(rest)}: which is north",
            (f"`{pair[2]} {north} {pair[4]} {east}`",),
        )
    if re.match(r"\d{4,}(?:[.,]\d+)?,?[ \t]+\d{4,}", rest):
        figures = re.split(r"[ \t,]+", rest.strip())
        return (
            "control-axes",
            f"{shortened(rest)}: which is east, which north",
            (f"`{shortened(figures[0])} E {shortened(figures[1])} N`, if east stands first on the page",),
        )
    metres, zoned = _IN_METRES.match(rest), _ZONED.match(rest)
    if metres:
        return "control-axes", "the figures stand without `m`", (f"`{metres[1]} E {metres[2]} N`",)
    if zoned:
        return (
            "control-zone",
            f"{zoned[1]}: the zone stands in the `grid` line",
            (f"here `{zoned[2]} E {zoned[3]} N`",),
        )
    if _DEGREES_MINUTES.match(rest):
        return (
            "control-axes",
            f"{shortened(rest)}: to which side of the equator and of Greenwich",
            ("`N` or `S` after the latitude, `E` or `W` after the longitude",),
        )
    words = re.match(r"([^\W\d][\w.'-]*)[ \t]+.*\d", rest)
    if words:
        return (
            "name-words",
            f"{name} {shortened(words[1])}: a name is one word",
            (f"`{name}-{shortened(words[1])}`",),
        )
    if re.match(r"\d.*[NnSsEeWw][ \t]*,", rest):
        without = re.sub(r"([NnSsEeWw])[ \t]*,[ \t]*", r"\1 ", rest, count=1)
        return "control-axes", "no comma stands between the two figures", (f"`{shortened(without)}`",)
    return None


_DEGREES = re.compile(
    r"(\d{1,3}(?:(?:[ \t]+|[ \t]*[°'][ \t]*)\d{1,2}){1,2}\.\d+[°'\"]?)(?![\w.])(?![ \t]*O\b)"
)
_BOTH = re.compile(r"(\d{1,2}[ \t]+\d{1,2}\.\d+)[ \t]+(\d{1,3}[ \t]+\d{1,2}\.\d+[ \t]*[EWew])$")


def _without_letter(said: str, rest: str) -> Finding | None:
    """A latitude or a longitude in degrees and minutes whose letter is missing; `rest` follows what was read."""
    both = _BOTH.match(said)
    if both is not None:
        lat, lon = both.groups()
        return "control-axes", f"{lat}: north or south", (f"`{lat} N {lon}` or `{lat} S {lon}`",)
    figures = _DEGREES.match(rest)
    if figures is None or said[-1] not in "NSns":
        return None
    typed = f"{shortened(said)} {figures[1]}"
    return "control-axes", f"{figures[1]}: east or west", (f"`{typed} W` or `{typed} E`",)


def _east_without_letter(read: Statement) -> tuple[Token, str] | None:
    """The first figure of a known point, of as many places as a grid has, where only the second has its letter."""
    if len(read) != 3 or read[0].type != "CONTROL":
        return None
    both = re.fullmatch(r"(\d{4,}(?:\.\d+)?)[ \t]+\d{4,}(?:\.\d+)?[ \t]*N", read[2], re.IGNORECASE)
    return None if both is None else (read[2], both[1])


def _second_figure(first: str, rest: str) -> Finding:
    """Where the second figure of a known point is missing, or has no letter that says what it is."""
    latitude = first[-1].upper() in "NS"
    other, letters = ("longitude", "`E` or `W`") if latitude else ("figure north", "`N`")
    if not rest:
        return "control-axes", f"{first}, and the {other}", (f"it follows, with {letters} after it",)
    foreign = re.search(r"\d[ \t]*(O)\b", rest, re.IGNORECASE)
    if foreign and latitude:
        return (
            "control-axes",
            f"{shortened(rest)}: {foreign[1]} is west in some tongues and east in others",
            ("write `W` or `E`",),
        )
    return "control-axes", f"{shortened(rest)}: no letter says what it is", (f"{letters} after the {other}",)


def _leg(fault: Fault) -> Finding | None:
    names = [token for token in fault.read if token.type == "NAME"]
    bad = _head(fault.rest)
    going = any(token.type in {"TO", "CLOSE", "SIDE"} for token in fault.read)
    if not going:
        if names:
            return (
                "leg-end",
                f"from {shortened(names[0])} to which station",
                (f"`from {shortened(names[0])} to NAME BEARING DISTANCE`",),
            )
        return None
    if not bad:
        return None
    if re.fullmatch(r"[NSEW]{1,3}", bad, re.IGNORECASE):
        return (
            "compass-point",
            f"{bad} is too coarse for a leg",
            ("write the bearing in figures",),
        )
    last = fault.read[-1]
    # `N 50p` was taken for an angle from north.
    point = re.fullmatch(r"([NSns])[ \t]+(\d+(?:[.,]\d+)?)", last)
    if point and re.match(r"(?:p|m|ft|dp|sp)\b", fault.rest):
        due = "`000` or `N0E`" if point[1] in "Nn" else "`180` or `S0E`"
        return (
            "compass-point",
            f"{point[1]} is no bearing of a leg",
            (f"due {'north' if point[1] in 'Nn' else 'south'} is {due}",),
        )
    if (
        last.type == "NAME"
        and re.match(r"[^\W\d][\w'-]*$", bad)
        and re.match(r"\S+[ \t]+[\dNnSs]", fault.rest)
    ):
        joined = f"{shortened(last)}-{shortened(bad)}"
        return "name-words", f"{shortened(last)} {shortened(bad)}: a name is one word", (f"`{joined}`",)
    if re.match(r"[,;]", bad) or bad.endswith(","):
        typed = " ".join([*map(str, fault.read), re.sub("[,;]", " ", fault.rest)])
        return "leg-comma", "no comma between the readings of a leg", (f"`{' '.join(typed.split())}`",)
    if re.fullmatch(r"b|bk|bck|bb|bs", bad, re.IGNORECASE) and "BACK" in fault.expected:
        behind = fault.rest[len(bad) :].strip(" \t")
        return (
            "leg-word",
            f"`{bad}` is no reading of a leg",
            (f"`back {shortened(behind)}` if it was read from the far end",),
        )
    return (
        "leg-word",
        f"`{shortened(bad)}` is no reading of a leg",
        (f"`{FORMS[fault.word].form}`; write other words under `note`",),
    )


_STATION_WORDS = frozenset(
    {"station", "stations", "stn", "sta", "stop", "locality", "loc", "point", "no", "no.", "number"}
)


def _at(fault: Fault) -> Finding | None:
    if len(fault.read) < 2 or not fault.rest:
        return None
    name = shortened(fault.read[1])
    if name.lower() in _STATION_WORDS and re.fullmatch(r"[^\s]+", fault.rest):
        rest = shortened(fault.rest)
        return "name-words", f"{name} {rest}: a name is one word", (f"`at {rest}`",)
    if re.search(r"\d", fault.rest):
        return (
            "at-readings",
            "`at` goes to a station without a leg",
            (f"a leg is `to {name} {shortened(fault.rest)}`",),
        )
    return (
        "name-words",
        f"{name} {shortened(fault.rest)}: a name is one word",
        (f"`at {name}`, and `note {shortened(fault.rest)}` below it",),
    )


def _sight(fault: Fault) -> Finding | None:
    bad = _head(fault.rest)
    if len(fault.read) == 2 and re.match(r"[^\W\d][\w'-]*$", bad):
        name = shortened(fault.read[1])
        if re.fullmatch(r"[NSEW]{1,3}", bad):
            return "compass-point", f"{bad} is too coarse for a sight", ("write the bearing in figures",)
        return "name-words", f"{name} {shortened(bad)}: a name is one word", (f"`{name}-{shortened(bad)}`",)
    return None


def _date(fault: Fault) -> Finding | None:
    if not fault.rest:
        return None
    said = shortened(f"{fault.read[1] if len(fault.read) > 1 else ''} {fault.rest}".strip())
    return "date", f"{said} is not written as a date here", ("year-month-day, such as `2026-07-03`",)


def _grid(fault: Fault) -> Finding | None:
    said = " ".join([*map(str, fault.read[1:]), fault.rest])
    zone = utm_zone(said)
    named = re.search(r"\b(?:utm|zone)\b.*", said, re.IGNORECASE)
    if zone is not None:
        return "grid", f"{shortened(said)}: on which datum", (zone_codes(*zone),)
    zone = utm_zone(named[0]) if named else None
    if zone is not None:
        return "grid", f"{shortened(said)}: a grid is named by its EPSG number", (zone_codes(*zone),)
    return None


def _time(fault: Fault) -> Finding | None:
    if not fault.rest:
        return None
    said = str(fault.read[1]) if len(fault.read) > 1 else ""
    if not (said.isdecimal() and len(said) < 3):
        return "time", "a time has 24 hours", ("HH:MM, such as `07:10`",)
    hour = int(said)
    hour += 12 if fault.rest.lower().startswith("p") and hour < 12 else 0
    return "time", "a time has 24 hours", (f"`{hour:02}:00`",)


def _plane(fault: Fault) -> Finding | None:
    bad = _head(fault.rest)
    if not bad:
        return None
    if len(fault.read) == 1:
        if re.search(r"\d", bad):
            return (
                "attitude",
                f"{shortened(bad)} is no attitude",
                ("strike and dip, `STRIKE/DIP`, or dip and direction, `DIP->DIRECTION`",),
            )
        return (
            "attitude",
            f"`{shortened(bad)}` is no attitude",
            (f"{_shown(fault.word)}; write words under `note`",),
        )
    bare = _without_brackets(fault)
    if bare is not None:
        return "attitude-word", "no brackets stand in an attitude", (f"`{shortened(bare)}`",)
    slash = _OTHER_SLASH.fullmatch(bad)
    if slash is not None and fault.read[-1].type == "LONE":
        strike = shortened(fault.read[-1])
        return "attitude-word", f"{strike}{bad}: strike and dip with a slash", (f"`{strike}/{slash[1]}`",)
    letter = _DIP_LOST.fullmatch(bad)
    if letter is not None and fault.read[-1].type == "LONE":
        strike = shortened(fault.read[-1])
        return (
            "dip-missing",
            f"{strike}{bad} has no dip",
            (f"its figure stands before {letter[1]}; `{strike}/?` where it was not read",),
        )
    another = _ANOTHER.match(fault.rest)
    if another is not None:
        typed = f"{fault.word} {fault.read[-1]}, {another['plane']}"
        # More than one plane before it, or a longer line, is not typed out.
        whole = len(fault.read) == _ONE_PLANE and shortened(typed) == typed
        return (
            "attitude-comma",
            f"{shortened(another['plane'])}: a second attitude",
            (f"a comma and a blank between the two{f', `{typed}`' if whole else ''}",),
        )
    return (
        "attitude-word",
        f"`{shortened(bad)}` can't follow an attitude",
        (
            MAY_FOLLOW,
            "write the rest under `note`",
        ),
    )


_OTHER_SLASH = re.compile(r"[\\|](\d{1,2}(?:NE|NW|SE|SW|[NESW])?)", re.IGNORECASE)
"""A dip behind another stroke than a slash."""
_DIP_LOST = re.compile(r"/([NESW]{1,2})", re.IGNORECASE)


def _without_brackets(fault: Fault) -> str | None:
    """A line whose brackets keep it from being read; None for any other."""
    if not fault.rest.startswith("("):
        return None
    typed = " ".join([*map(str, fault.read), re.sub(r"[()]", " ", fault.rest)])
    typed = " ".join(typed.split())
    return None if as_statement(typed) is None else typed


_ANOTHER = re.compile(
    r"(?:(?:and\b|[&;+])[ \t]*)?(?P<plane>[NS]?[ \t]?\d+(?:\.\d+)?[ \t]?[EW]?[ \t]*(?:/|->|→)[ \t]*\d.*)",
    re.IGNORECASE,
)
_ONE_PLANE = 2
"""Words of a line with one attitude."""
MAY_FOLLOW = "after an attitude only `overturned`, `upright`, `good`, `fair`, `poor`, `±5` or `?`"
"""Every modifier of a plane, as a message lists them."""


def _contact(fault: Fault) -> Finding | None:
    read = fault.read
    how = ("`certain`, `approximate`, `inferred` or `concealed`",)
    if not fault.rest:
        return None
    bad = shortened(_head(fault.rest))
    if len(read) == 2:
        if read[1].type == "LETTERS" and fault.rest.startswith("/"):
            return "unit-pair", "two units, younger first", (_shown(fault.word),)
        if read[1].type == "LETTERS" and re.fullmatch(r"[A-Z][A-Za-z0-9]{0,3}\??", bad):
            return "unit-pair", "two units, younger first", (f"`{shortened(read[1])}/{bad}`",)
        return _units_behind(fault, str(read[1]), fault.rest) or (
            "certainty",
            f"`{bad}`: seen or not",
            (*how, "write other words under `note`"),
        )
    if len(read) > 2 and bad.lower() in _OF_A_FAULT:
        typed = " ".join((*map(str, read[1:]), fault.rest))
        return "contact-word", f"`{bad}` is said of a fault", (f"`fault {shortened(typed)}`",)
    if len(read) > 2:
        return (
            "contact-word",
            f"`{bad}` can't follow",
            (f"`{FORMS[fault.word].form}`", "write other words under `note`"),
        )
    return None


_OF_A_FAULT = frozenset({"down", *_INSIDE["MOVEMENT"]})
_TWO_UNITS = re.compile(r"[A-Z][A-Za-z0-9]{0,3}\??/[A-Z][A-Za-z0-9]{0,3}\??(?=[ \t]|$)")


def _units_behind(fault: Fault, how: str, rest: str) -> Finding | None:
    """How a line was seen, typed before what it parts."""
    units = _TWO_UNITS.match(rest)
    if how.lower() not in _INSIDE["CERTAINTY"] or units is None:
        return None
    typed = " ".join(f"{fault.word} {units[0]} {how} {rest[units.end() :].strip()}".split())
    return "unit-pair", f"the two units stand before `{how}`", (f"`{shortened(typed)}`",)


def _fault(fault: Fault) -> Finding | None:
    how, _, rest = fault.rest.partition(" ")
    pair = slash_pair(how)
    if pair is not None and len(fault.read) == 1:
        return "unit-pair", f"{shortened(how)}: two units, younger first", (f"`{shortened(pair)}`",)
    return _units_behind(fault, how, rest.strip(" \t")) if len(fault.read) == 1 else None


def _along(fault: Fault) -> Finding | None:
    """Words behind a stretch are what covers it."""
    bad = _head(fault.rest)
    if len(fault.read) != 4 or not bad[:1].isalpha() or nearest_word(bad, ("left", "right", "both")):
        return None
    first, last = fault.read[1], fault.read[3]
    return (
        "unreadable",
        f"`{shortened(bad)}` can't stand here",
        (
            f"`covered {first} to {last} {shortened(fault.rest)}` where no rock shows",
            f"`along {first} to {last} left|right DISTANCE` of what was followed",
        ),
    )


def _tops(_: Fault) -> Finding:
    return (
        "tops",
        "which way do they young",
        ("`tops DIRECTION HOW`, or `up`, `down`, `unseen`",),
    )


def _adjust(fault: Fault) -> Finding | None:
    if len(fault.read) > 1 and fault.rest:
        joined = f"{fault.read[1]}-{_head(fault.rest)}".lower()
        rules = ("compass-rule", "transit-rule", "least-squares", "none")
        near = nearest_word(joined, rules)
        return (
            "adjust",
            f"{shortened(fault.read[1])} {shortened(fault.rest)} is no rule of adjustment",
            (f"`{near}`" if near else "`compass-rule`, `transit-rule`, `least-squares` or `none`",),
        )
    return None


def _section(fault: Fault) -> Finding | None:
    rest = fault.rest.lower()
    if re.match(r"(?:project|exaggeration|depth)\b", rest):
        return "section-comma", "a comma before each option", (f"`…, {shortened(fault.rest)}`",)
    if rest.startswith("through"):
        return "section-bearing", "which way does the section run", (f"`BEARING {shortened(fault.rest)}`",)
    if not rest and len(fault.read) == 2:
        return "unfinished", "from where to where", (_shown("section"),)
    return None


def _declination(fault: Fault) -> Finding | None:
    if len(fault.read) == 1:
        return "declination", "how much, and to which side", (_shown("declination"),)
    side = re.match(r"[oO0](?=[ \t,]|$)", fault.rest)
    if side and len(fault.read) == 2:
        value, behind = fault.read[1], shortened(fault.rest[1:])
        return (
            "declination",
            f"{shortened(value)} {side[0]}: O is west in some tongues and east in others",
            (f"`declination {value} W{behind}` or `declination {value} E{behind}`",),
        )
    return (
        "declination",
        f"`{shortened(_head(fault.rest))}` after the value"
        if fault.rest
        else "give the year and where it comes from",
        (f"a comma and a blank between the parts: `{FORMS['declination'].form}`",),
    )


def _pace(fault: Fault) -> Finding | None:
    if any(token.type == "IN" for token in fault.read) and fault.rest:
        return (
            "count-comma",
            f"`{shortened(_head(fault.rest))}` after the counts",
            ("a comma and a blank between two counts: `COUNT, COUNT`",),
        )
    return None


def _tie(fault: Fault) -> Finding | None:
    if len(fault.read) > 1 and fault.read[1].lower() == "in":
        return (
            "unknown-word",
            "`tie in` is not a word of the notation",
            ("use `close NAME BEARING DISTANCE`",),
        )
    if any(token.type == "AT" for token in fault.read):
        shown = ("such as `tie A to B at 3, 5, 7-9=12-14`",)
        if not fault.rest:
            return "unfinished", "which places", shown
        return "tie", f"`{shortened(_head(fault.rest))}` after a place", shown
    return None


def _photo(fault: Fault) -> Finding | None:
    if not fault.rest:
        return "unfinished", "which photo", ("such as `photo 1123 looking 320`",)
    return None


def _sheet(fault: Fault) -> Finding | None:
    bad = shortened(_head(fault.rest))
    if not bad:
        return None
    before = fault.read[-1].type
    if before == "BAND":
        wide = re.fullmatch(r"\d+(?:\.\d+)?", bad)
        if wide is None or not float(bad):
            return "sheet-option", f"a band of `{bad}`", ("a width above zero, such as `band 10 m`",)
        return "sheet-option", f"a band of {bad} what", (f"`band {bad} m` or `band {bad} ft`",)
    if before == "SCALE":
        return "sheet-scale", f"a scale of `{bad}`", ("`scale 1:n`, such as `scale 1:5000`",)
    meant = _TURNED.get(bad.lower())
    if meant is None and re.match(r"1[ \t]*:[ \t]*\d", fault.rest):
        meant = f"scale {bad}"
    elif meant is None and re.fullmatch(r"[AaBb]\d{1,2}|letter|legal|tabloid", bad, re.IGNORECASE):
        meant = f"paper {bad}"
    said = (f"did you mean `{meant}`?",) if meant is not None else ()
    return "sheet-option", f"`{bad}` is no option of the sheet", (*said, _SHEET_OPTIONS)


_TURNED = {
    "upright": "portrait",
    "standing": "portrait",
    "tall": "portrait",
    "lying": "landscape",
    "wide": "landscape",
}
_SHEET_OPTIONS = "here may stand `scale 1:5000`, `paper A4`, `landscape` or `portrait`, and `band 10 m`"
_Finder = Callable[[Fault], Finding | None]
_FINDERS: dict[str, _Finder] = {
    "unit": _unit,
    "control": _control,
    **dict.fromkeys(("from", "to", "close", "side"), _leg),
    "at": _at,
    "sight": _sight,
    "date": _date,
    "grid": _grid,
    "time": _time,
    **dict.fromkeys((word for word, one in DESCRIBED.items() if one.record is Planes), _plane),
    **dict.fromkeys(("contact", "unconformity"), _contact),
    "fault": _fault,
    "along": _along,
    "tops": _tops,
    "adjust": _adjust,
    "section": _section,
    "sheet": _sheet,
    "declination": _declination,
    "pace": _pace,
    "tie": _tie,
    "photo": _photo,
}
