"""Copies of a log with one known slip each, for students to find."""

from __future__ import annotations

import random
import re
import string
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from traverse.adjustment.misread.slips import slips_of
from traverse.compare.exercise.typing_slips import KINDS
from traverse.compare.mends import Mend, contact_mend, heading_mends, mended, put
from traverse.compile import Compiled, compile_log
from traverse.ground.records import Traverse
from traverse.log.items import Certainty, Contact, ContactKind, PlaneKind, Planes, UnitHere
from traverse.log.unit_order import turned_contacts
from traverse.notation.use import Loader, loading
from traverse.record import record
from traverse.source import Source, Span

KINDS_MADE = (
    "reversed",
    "letters",
    "digits",
    "tens",
    "paces",
    "slope",
    "heading",
    "strike",
    "contact",
    "unit",
)
"""Kinds of slip that can be worked out, so that only care or a key finds them."""
ALL_KINDS = (*KINDS_MADE, "typing")

_OTHER_WAY = (
    ("too large", "too small"),
    ("dropped", "too many"),
    ("a hundred left out", "a hundred too many"),
    ("double paces counted as single", "single paces counted as double"),
    ("feet taken for metres", "metres taken for feet"),
)
_KIND_OF = (
    ("bearing reversed", "reversed"),
    ("E and W exchanged", "letters"),
    ("N and S exchanged", "letters"),
    ("digits", "digits"),
    (" degrees too ", "tens"),
    (" paces dropped", "paces"),
    (" paces too many", "paces"),
    ("a hundred ", "paces"),
    ("sign of the slope", "slope"),
)


@record(frozen=True, slots=True, kw_only=True)
class Slipped:
    """A log with one thing wrong in it."""

    kind: str
    slip: str
    """In trade words, as it was made."""
    line: int
    typed: str
    """What its line says now."""
    right: str
    """What it said."""
    text: str
    """The whole log."""


def slipped(
    compiled: Compiled, load: Loader, *, count: int, seed: int, kinds: Sequence[str]
) -> tuple[Slipped, ...]:
    """So many copies, the kinds in turn, none twice as long as there are others; fewer where the log has no more.

    But for those of typing, each can be worked out: one that the program refuses is no exercise, and none that the log's
    own readings don't show, so that `check` has nothing new to ask at its line.
    """
    assert compiled.trav is not None
    key, sources, asked = compiled.trav, compiled.sources, _asked_at(compiled)
    chance = random.Random(seed)  # noqa: S311 - an exercise is drawn, nothing is kept secret
    pools = []
    for kind in kinds:
        pool = list(_of_kind(kind, key, sources, chance))
        chance.shuffle(pool)
        pools.append(pool)
    found: list[Slipped] = []
    seen: set[str] = set()
    while len(found) < count and any(pools):
        for kind, pool in zip(kinds, pools, strict=True):
            while pool and len(found) < count:
                mend = pool.pop()
                made = _made(kind, mend, key, sources, asked, load)
                if made is not None and made.text not in seen:
                    seen.add(made.text)
                    found.append(made)
                    break
    return tuple(found)


def _made(
    kind: str,
    mend: Mend,
    key: Traverse,
    sources: Mapping[str, Source],
    asked: frozenset[tuple[str, int]],
    load: Loader,
) -> Slipped | None:
    name = key.log.file
    if any(file != name or "\n" in text for (file, _), text in mend.lines.items()):
        return None
    changed = mended(sources, [mend])
    if changed[name].lines == sources[name].lines:
        return None
    if kind != "typing":
        compiled = compile_log(changed[name], load=loading({}, load))
        lines = {number for _, number in mend.lines}
        if compiled.failed or not any(line in lines for _, line in _asked_at(compiled) - asked):
            return None
    return Slipped(
        kind=kind,
        slip=mend.cause,
        line=mend.span.line,
        typed=changed[name].line(mend.span.line).strip(),
        right=sources[name].line(mend.span.line).strip(),
        text=changed[name].text,
    )


def _asked_at(compiled: Compiled) -> frozenset[tuple[str, int]]:
    """What is asked of which line of a log: by a message there or one that doubts it, or as a reading that explains a misclosure."""
    name = compiled.log.file
    spans = [(said.code, span) for said in compiled.diagnostics for span in (said.span, *said.doubts)]
    if compiled.trav is not None:
        spans += [("suspect", one.span) for one in compiled.trav.survey.suspects]
    return frozenset((what, span.line) for what, span in spans if span is not None and span.file == name)


def _of_kind(
    kind: str, key: Traverse, sources: Mapping[str, Source], chance: random.Random
) -> Iterator[Mend]:
    if kind == "heading":
        # What undoes one mistake makes the opposite one.
        for mend in heading_mends(key.log, key, sources):
            if not any(words in mend.cause for words in ("key", "twice", "left out: ", "missing")):
                yield replace(mend, cause=_opposite(mend.cause))
    elif kind == "typing":
        yield from _typing(key, sources, chance)
    elif kind in {"strike", "contact", "unit"}:
        yield from _of_rock(kind, key, sources)
    else:
        for index, leg in enumerate(key.log.legs):
            for slip in slips_of(index, leg, 0.0):
                if kind_of(slip.slip) == kind:
                    where = leg.slope if kind == "slope" else leg.bearing if slip.is_bearing else leg.distance
                    if where is not None:
                        typed = slip.reading
                        if where is leg.distance:
                            typed = _as_written(typed, where.written)
                        lines = put(sources, [(where.span, typed)])
                        yield Mend(
                            span=leg.span,
                            cause=_opposite(slip.slip),
                            about="",
                            reading=typed,
                            lines=lines,
                        )


def kind_of(slip: str) -> str | None:
    """The kind of exercise that a slip of a leg makes; None of one that is not made.

    >>> kind_of("20 paces dropped"), kind_of("leg booked twice")
    ('paces', None)
    """
    return next((kind for words, kind in _KIND_OF if words in slip), None)


def _as_written(typed: str, right: str) -> str:
    """A distance with its unit and decimals where those of the log have them: nothing but its figures gives it away.

    >>> _as_written("178m", "187.0"), _as_written("14m", "41m"), _as_written("118.5m", "181.5")
    ('178.0', '14m', '118.5')
    """
    figure = re.match(r"[\d.,]+", right)
    unit = "" if figure is None else right[figure.end() :]
    number = typed.rstrip(string.ascii_letters).rstrip()
    _, point, decimals = (figure[0] if figure else "").partition(".")
    return number + (f".{'0' * len(decimals)}" if point and "." not in number else "") + unit


def _opposite(slip: str) -> str:
    for one, other in _OTHER_WAY:
        if one in slip or other in slip:
            return slip.replace(one, other) if one in slip else slip.replace(other, one)
    turned = re.fullmatch(r"(dip-\w+) for (dip-\w+)", slip)
    return f"{turned[2]} for {turned[1]}" if turned else slip


def _of_rock(kind: str, key: Traverse, sources: Mapping[str, Source]) -> Iterator[Mend]:
    letters = [unit.letters for unit in key.log.units]
    for item in key.log.items:
        line = sources[item.span.file].line(item.span.line) if item.span.file in sources else ""
        if kind == "strike" and isinstance(item, Planes) and item.kind is PlaneKind.BED:
            typed = re.sub(r"\b(\d{3})(?=/\d)", lambda found: f"{(int(found[1]) + 180) % 360:03d}", line)
            slip = "the other end of the strike"
        elif (
            kind == "contact"
            and isinstance(item, Contact)
            and item.certainty not in {None, Certainty.CERTAIN}
        ):
            typed = re.sub(r"\b(approximate|inferred|concealed)\b", "certain", line, count=1)
            typed, slip = re.sub(r"\s*±.*$", "", typed), "a contact said to be seen"
        elif kind == "contact" and isinstance(item, Contact) and _younger_first(item, key):
            turned = contact_mend(item, sources)
            if turned is not None:
                yield replace(turned, cause="younger and older exchanged")
            continue
        elif kind == "unit" and isinstance(item, UnitHere) and len(letters) > 1 and item.letters in letters:
            other = letters[(letters.index(item.letters) + 1) % len(letters)]
            typed, slip = re.sub(rf"\b{re.escape(item.letters)}\b", other, line, count=1), "another unit"
        else:
            continue
        yield Mend(
            span=item.span,
            cause=slip,
            about="",
            reading=typed.strip(),
            lines={(item.span.file, item.span.line): typed},
        )


def _younger_first(item: Contact, key: Traverse) -> bool:
    """Whether a contact names two units whose order its kind tells."""
    return (
        item.named is not None
        and item.kind is not ContactKind.FAULT
        and not key.log.intrusive & {*item.named}
        and item not in turned_contacts(key.log)
    )


def _typing(key: Traverse, sources: Mapping[str, Source], chance: random.Random) -> Iterator[Mend]:
    source = sources[key.log.file]
    for slip, wrong in KINDS.items():
        for number, line in enumerate(source.lines, start=1):
            if number < 3 or not line.strip() or line.startswith("#"):
                continue
            typed = wrong(line.strip(), chance)
            if typed is not None:
                margin = line[: len(line) - len(line.lstrip())]
                yield _typed(slip, source, number, margin + typed)


def _typed(slip: str, source: Source, number: int, text: str) -> Mend:
    span = Span(source.name, number, 1, len(source.line(number)) + 1)
    return Mend(span=span, cause=slip, about="", reading=text.strip(), lines={(source.name, number): text})
