"""Statements of what is there: rock, readings, contacts."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, Final, TypeAlias

from traverse.diagnostic import Diagnostic, Label, note, warning
from traverse.log.danger import hazard_beside_rock, names_a_hazard, names_what_is_listed, said_a_hazard
from traverse.log.items import (
    Apparent,
    Certainty,
    Contact,
    ContactKind,
    Crossing,
    Elevation,
    GroundLine,
    LineKind,
    Lines,
    Movement,
    Photo,
    PlaneKind,
    Planes,
    Sample,
    Sight,
    Tops,
    UnitHere,
    WayUp,
    Words,
    WordsKind,
)
from traverse.log.laid_down import laid_down_units
from traverse.log.readings import LineReading, PlaneReading, Unit
from traverse.log.records import Trace
from traverse.log.unit_order import by_ages, of_the_list, turned_round
from traverse.notation.attitude import MODIFIERS, PLANE_WORDS, arrow, line, plane
from traverse.notation.draft import Draft, Mistake
from traverse.notation.guess import nearest, slash_pair
from traverse.notation.heading import letters, rock_unit
from traverse.notation.prose.among_words import place
from traverse.notation.terms import bearing, unqueried, within
from traverse.notation.text import shortened
from traverse.notation.walk import elevation, here, sight

if TYPE_CHECKING:
    from lark import Token

    from traverse.log.readings import Bearing
    from traverse.notation.parse import Statement
    from traverse.source import Span

_LENGTHS = frozenset({Unit.METRES, Unit.FEET})
_MOVEMENTS = {"dextral": Movement.RIGHT_LATERAL, "sinistral": Movement.LEFT_LATERAL}
"""Other words for a movement."""
_NO_HAZARD = re.compile(
    r"[-–—/0]*|n/?a|nil|no|none|nothing|(?:no|none|nothing)(?:[ \t]+(?:hazards?|dangers?))?(?:[ \t]+(?:here|seen|noted|met|found))?",
    re.IGNORECASE,
)
"""Words that say that there is no hazard."""
_AGAIN = 3
"""Uses of letters from which on they are no slip."""
_GROUND = tuple(one.value for one in GroundLine)


def known_unit(draft: Draft, name: str, span: Span) -> str:
    """Letters of a unit of the list; what no unit has is judged when all is read."""
    if name in draft.unit_order:
        draft.units_met.pop(name, None)
        draft.units_met[name] = None
        return name
    letters(name, span)
    if not draft.rests_on(("unread", "USE")):
        draft.unknown_units.setdefault(name, []).append(span)
        draft.met_before.setdefault(name, tuple(reversed(draft.units_met)))
    return name


def judge_units(draft: Draft) -> None:
    """Say of letters that no unit has whether one line is wrong or the list lacks them."""
    for name, spans in draft.unknown_units.items():
        # Letters that come again and again are no slip: their line is missing.
        # Of two that are as near, that which the walk met last before.
        known = dict.fromkeys((*draft.met_before.get(name, ()), *draft.unit_order))
        # A unit does not lie on both sides of its contact.
        may_be = [one for one in known if one not in draft.across.get(name, ())]
        guess = draft.guess(name, may_be) if len(spans) < _AGAIN else None
        problem = Mistake(
            "unknown-unit",
            f"no unit {shortened(name)} in this log" + (f"; did you mean {guess}?" if guess else ""),
            spans[0],
            (f"write `{guess}`, or add" if guess else "add")
            + f" the unit to the heading: `unit {shortened(name)} NAME ; AGE ; #rrggbb`",
        )
        draft.say(replace(problem.diagnostic, below=len(spans) - 1))


def judge_order(draft: Draft) -> None:
    """Say of contacts that go against the list of units whether one of them is turned round or the list is."""
    against: dict[tuple[str, str], list[Span]] = {}
    for pair, span in draft.against_order:
        against.setdefault(pair, []).append(span)
    ages = {unit.letters: unit.dated for unit in draft.units}
    listed = of_the_list({pair: len(spans) for pair, spans in against.items()}, draft.in_order, ages)
    spans = [span for pair in listed for span in against[pair]]
    met = [item for item in draft.items if isinstance(item, Contact) and item.kind is ContactKind.CONTACT]
    laid = laid_down_units(draft.units, draft.items) if against else frozenset()
    twice = {one.named for one, other in pairwise(met) if one.named == other.named}
    bodies = {one for one in twice if one is not None and one[0] not in laid}
    if spans:
        younger, older = listed[0]
        count = len(listed) - 1
        more = f", and so with {count} more pair{'' if count == 1 else 's'}" if count else ""
        dated = all(by_ages(pair, ages) for pair in listed)
        more += "; so do the ages that the list gives" if dated else ""
        one = warning(
            "younger-first",
            f"the list has {older} above {younger}, and the contacts name {younger} first, as the younger{more}",
            draft.once.get(f"UNIT {older}", spans[0]),
            _by_their_ages(draft)
            if dated
            else f"`unit` lines stand youngest first: move `unit {younger}` above `unit {older}`, or turn the contacts round",
            *_cuts(bodies, younger, older),
            labels=(Label(spans[0], "the first of them"),),
        )
        draft.say(replace(one, below=len(spans)))
    for pair, found in against.items():
        if pair in listed:
            continue
        younger, older = pair
        for span in found:
            draft.say(
                warning(
                    "younger-first",
                    f"{younger} is named first, as the younger, and stands below {older} in the list of units",
                    span,
                    f"`{older}/{younger}`, or mend the list, youngest first",
                    *_cuts(bodies, younger, older),
                )
            )


def _by_their_ages(draft: Draft) -> str:
    """The order of the list by the ages that it gives, where all of its units but bodies have one."""
    units = [unit for unit in draft.units if not unit.intrusive]
    dated = [(unit.dated.middle, unit.letters) for unit in units if unit.dated is not None]
    if len(dated) < len(units):
        return "`unit` lines stand youngest first: look at each against the ages"
    # Of one age they stay as they are.
    ordered = [letters for _, letters in sorted(dated, key=lambda one: one[0])]
    return f"`unit` lines stand youngest first: by the ages that they give {', '.join(ordered)}"


def _cuts(bodies: Collection[tuple[str, str]], younger: str, older: str) -> tuple[str, ...]:
    """What to type where a unit lies as a body does: met between two contacts with one unit, named as the younger in both."""
    if (younger, older) not in bodies:
        return ()
    return (f"`; intrusive` on the `unit` line of {younger}, if it is a body that cuts {older}",)


def unit(draft: Draft, s: Statement) -> None:
    """`unit LETTERS[?]` of the place, or a unit of the list."""
    if len(s) > 2:
        rock_unit(draft, s)
        return
    address = here(draft, s)
    text, queried = unqueried(str(s[1]))
    known_unit(draft, text, draft.span(s[1]))
    draft.items.append(UnitHere(address=address, letters=text, queried=queried, span=draft.whole(s)))


def words(draft: Draft, s: Statement) -> None:
    """`rock`, `note`, `hazard`, `fossil`, `sketch`, `iron` and `float`."""
    address = here(draft, s)
    text = draft.words(s[1], joint="\n")
    assert text is not None
    kind = WordsKind(s[0].lower())
    of = None
    if kind is WordsKind.HAZARD and _NO_HAZARD.fullmatch(text.strip(" \t.")):
        raise Mistake(
            "hazard-none",
            f"`hazard {shortened(text)}` would be listed as a hazard",
            draft.whole(s),
            "leave the line out: where none is listed, the sheet says that none was noted; or `note` for the words",
        )
    if kind is WordsKind.IRON and address.station is None:
        raise Mistake(
            "iron-place",
            "iron turns what was read at a station",
            draft.whole(s),
            "put it below `at NAME` of the station it lies at; along a leg write `note`",
        )
    if kind is WordsKind.FLOAT:
        first = re.split(r"[ \t\n]", text, maxsplit=1)[0].rstrip(",;:")
        of = first if first in draft.unit_order else None
        if re.match(r"\d{1,3}(/|->|→)\d", first):
            raise Mistake(
                "float-measured",
                "float is not measured",
                draft.span(s[1]),
                "describe it, `float UNIT HOW MUCH, HOW`",
            )
    item = Words(address=address, kind=kind, text=text, unit=of, span=draft.whole(s))
    draft.items.append(item)
    if kind is not WordsKind.HAZARD and (asked := _hazard_in_words(draft, s, kind, text)) is not None:
        draft.like_hazards.append((item, asked))


_OF_ANYTHING = frozenset({WordsKind.NOTE, WordsKind.SKETCH})
"""Words that may speak of more than the rock."""


def judge_hazards(draft: Draft) -> None:
    """Ask about words that read like a hazard, where no hazard that is booked at their place names the same."""
    listed: dict[tuple[str, int] | str, list[str]] = {}
    for one in draft.items if draft.like_hazards else ():
        if isinstance(one, Words) and one.kind is WordsKind.HAZARD:
            listed.setdefault(place(one.address), []).append(one.text)
    for item, asked in draft.like_hazards:
        of_rock = item.kind not in _OF_ANYTHING and said_a_hazard(item.text) is None
        if not names_what_is_listed(item.text, listed.get(place(item.address), ()), of_rock=of_rock):
            draft.say(asked)


def _hazard_in_words(draft: Draft, s: Statement, kind: WordsKind, text: str) -> Diagnostic | None:
    """The question for `hazard` where words call something one or name one; a note where what they name may be something else."""
    what = "a note" if kind is WordsKind.NOTE else f"a `{kind.value}` line"
    missing = "is not among the hazards of the sheet"
    if (said := said_a_hazard(text)) is not None:
        word, rest = said
        begins = text.startswith(word)
        to_type = f"`hazard {shortened(' '.join(rest.split()), 100)}`"
        return warning(
            "hazard-noted",
            f"{what} that begins with {word} {missing}"
            if begins
            else f"what {what} says behind {word} {missing}",
            draft.whole(s),
            to_type if begins else f"{to_type} on a line of its own",
        )
    if (named := names_a_hazard(text) if kind in _OF_ANYTHING else hazard_beside_rock(text)) is not None:
        words, sure = named
        if kind is WordsKind.SKETCH and not sure:
            return None  # a crag is what one draws
        return (warning if sure and kind is WordsKind.NOTE else note)(
            "hazard-noted",
            f"{what} that says {' '.join(words.lower().split())} {missing}",
            draft.whole(s),
            f"if it is one, `hazard {shortened(' '.join(text.split()), 100)}`",
        )
    return None


def sample(draft: Draft, s: Statement) -> None:
    """`sample LABEL [WORDS]`."""
    address = here(draft, s)
    label = draft.written(s[1])
    earlier = draft.labels.setdefault(label, draft.span(s[1]))
    if earlier != draft.span(s[1]):
        raise Mistake(
            "sample-taken",
            f"{shortened(label)} is taken ({draft.at_line(earlier)})",
            draft.span(s[1]),
            "look at the bag; each sample has a label of its own",
            labels=(Label(earlier, "first here"),),
        )
    text = draft.words(s[2] if len(s) > 2 else None)
    draft.items.append(Sample(address=address, label=label, words=text, span=draft.whole(s)))


def photo(draft: Draft, s: Statement) -> None:
    """`photo NUMBER [looking BEARING|POINT] [WORDS]`."""
    address = here(draft, s)
    looking: Bearing | None = None
    text: Token | None = None
    for token in s[2:]:
        if token.type == "LOOKING":
            looking = bearing(draft, token, points=True, skip=len("looking"))
        else:
            text = token
    draft.items.append(
        Photo(
            address=address,
            number=draft.written(s[1]),
            looking=looking,
            words=draft.words(text),
            conditions=draft.conditions(),
            span=draft.whole(s),
        )
    )


def _planes(draft: Draft, s: Statement) -> list[PlaneReading]:
    found: list[PlaneReading] = []
    at = 0
    while at < len(s):
        if s[at].type not in PLANE_WORDS:
            at += 1
            continue
        end = at + 1
        while end < len(s) and s[end].type in MODIFIERS:
            end += 1
        found.append(plane(draft, s[at], s[at + 1 : end]))
        at = end
    return found


def planes(draft: Draft, s: Statement) -> None:
    """`bed` and the other planes."""
    address = here(draft, s)
    first_alone = s[1].type == "LONE" and len(s) > 3 and s[2].type == "COMMA"
    if first_alone:
        strike, dip = draft.written(s[1]), draft.written(s[3])
        raise Mistake("dip-missing", "one attitude or two", draft.between(s[1], s[3]), f"`{strike}/{dip}`")
    readings = _planes(draft, s)
    draft.plane = readings[-1]
    draft.items.append(
        Planes(
            address=address,
            kind=PlaneKind(s[0].lower()),
            readings=tuple(readings),
            written=", ".join(one.written for one in readings),
            conditions=draft.conditions(),
            span=draft.whole(s),
        )
    )


def apparent(draft: Draft, s: Statement) -> None:
    """`apparent DIP->DIRECTION, DIP->DIRECTION`; single faces at one place pair up in order."""
    address = here(draft, s)
    span = draft.whole(s)
    faces: list[LineReading] = []
    for token in s[1:]:
        if token.type != "ARROW":
            continue
        text, queried = unqueried(str(token))
        where = draft.span(token)
        dip, direction = arrow(draft, text, where, "a dip")
        faces.append(
            LineReading(
                trend_deg=direction, plunge_deg=dip, queried=queried, written=draft.written(token), span=where
            )
        )
    conditions = draft.conditions()
    if len(faces) == 1:
        if not draft.faces:
            draft.faces.append((faces[0], span, conditions, address))
            return
        faces.insert(0, draft.faces.pop()[0])
    draft.items.append(
        Apparent(
            address=address,
            faces=tuple(faces),
            written=", ".join(face.written for face in faces),
            conditions=conditions,
            span=span,
        )
    )


def lines(draft: Draft, s: Statement) -> None:
    """`lineation`, `striation`, `hinge` and `current`."""
    address = here(draft, s)
    readings: list[LineReading] = []
    part: list[Token] = []
    for token in [*s[1:], None]:
        if token is None or token.type == "COMMA":
            readings.append(line(draft, part, s[0].type))
            part = []
        else:
            part.append(token)
    draft.items.append(
        Lines(
            address=address,
            kind=LineKind(s[0].lower()),
            readings=tuple(readings),
            written=", ".join(one.written for one in readings),
            conditions=draft.conditions(),
            span=draft.whole(s),
        )
    )


def tops(draft: Draft, s: Statement) -> None:
    """`tops up|down|unseen|POINT|BEARING [WORDS]`."""
    address = here(draft, s)
    way = s[1].lower()
    known = way in {"up", "down", "unseen"}
    draft.items.append(
        WayUp(
            address=address,
            tops=Tops(way) if known else None,
            toward=None if known else bearing(draft, s[1], points=True),
            words=draft.words(s[2] if len(s) > 2 else None),
            conditions=draft.conditions(),
            span=draft.whole(s),
        )
    )


def _pair(draft: Draft, token: Token, *, one_unit: bool = False) -> tuple[tuple[str, str], bool]:
    """Two units as written, and whether they are doubted; `one_unit` lets them be the same one."""
    text, queried = unqueried(str(token))
    span = draft.span(token)
    names = [part.strip(" \t") for part in text.split("/")]
    if len(names) != 2:
        pair = slash_pair(text) or _glued(draft, text)
        meant = "such as `Ms/Lt`" if pair is None else f"`{shortened(pair)}`"
        raise Mistake("unit-pair", f"{shortened(text)}: two units, younger first", span, meant)
    first, second = (known_unit(draft, name, span) for name in names)
    if not one_unit:
        draft.across.setdefault(first, set()).add(second)
        draft.across.setdefault(second, set()).add(first)
    if first == second and not one_unit:
        raise Mistake(
            "unit-pair", f"{first} on both sides", span, "a contact lies between two units, such as `Ms/Lt`"
        )
    return (first, second), queried


def _glued(draft: Draft, text: str) -> str | None:
    """Two units of the list with a slash, where they stand as one word in one way alone."""
    known = {unit.letters for unit in draft.units}
    pairs = [f"{text[:at]}/{text[at:]}" for at in range(1, len(text)) if {text[:at], text[at:]} <= known]
    return pairs[0] if len(pairs) == 1 else None


def _no_plane(read: Statement) -> bool:
    return not any(one.type in PLANE_WORDS for one in read)


def _alone(draft: Draft, token: Token) -> Mistake:
    """What is said of an attitude, where there is none."""
    figure = token.lstrip("±+/- \t").rstrip("° \t")
    if token.type == "SPREAD" and figure:
        return Mistake(
            "modifier-alone",
            f"{shortened(token)} what",
            draft.span(token),
            f"`±{figure} m` or `±{figure} ft` of a place; degrees stand after strike and dip",
        )
    return Mistake(
        "modifier-alone",
        f"{shortened(token)} of which attitude",
        draft.span(token),
        "write it after strike and dip",
    )


def contact(draft: Draft, s: Statement) -> None:
    """`contact`, `unconformity` and `fault`."""
    address = here(draft, s)
    kind = ContactKind(s[0].lower())
    named: tuple[str, str] | None = None
    certainty: Certainty | None = None
    queried = False
    movement: Movement | None = None
    down: Bearing | None = None
    sd: float | None = None
    for at, token in enumerate(s):
        if token.type in {"UNITPAIR", "LETTERS"}:
            named, doubt = _pair(draft, token, one_unit=kind is ContactKind.FAULT)
            queried |= doubt
        elif token.type == "CERTAINTY":
            text, doubt = unqueried(token.lower())
            certainty = Certainty(text)
            queried |= doubt
        elif token.type == "MOVEMENT":
            movement = _MOVEMENTS.get(token.lower()) or Movement(token.lower())
        elif token.type == "POINT":
            down = bearing(draft, token, points=True)
        elif token.type == "TOLERANCE" or (
            token.type == "SPREAD" and at == len(s) - 1 and _no_plane(s[:at]) and draft.bare in _LENGTHS
        ):
            sd = within(draft, token)
        elif token.type in MODIFIERS and _no_plane(s[:at]):
            raise _alone(draft, token)
    surfaces = _planes(draft, s)
    if len(surfaces) > 1:
        raise Mistake(
            "contact-planes",
            "two attitudes of one surface",
            draft.whole(s),
            "leave one out, or use `bed` for the beds",
        )
    if named is not None and certainty is None:
        raise Mistake(
            "certainty",
            "seen or not",
            draft.whole(s),
            "end with `certain`, `approximate`, `inferred` or `concealed`",
        )
    if named is None and not surfaces:
        raise Mistake(
            "fault",
            "which units, or which plane",
            draft.whole(s),
            "`fault YOUNGER/OLDER CERTAINTY`, with `STRIKE/DIP` and `down DIRECTION` as they were seen",
        )
    if surfaces:
        draft.plane = surfaces[0]
    younger, older = _by_age(draft, kind, named, s)
    draft.items.append(
        Contact(
            address=address,
            kind=kind,
            younger=younger,
            older=older,
            named=named,
            certainty=certainty,
            queried=queried,
            plane=surfaces[0] if surfaces else None,
            sd_m=sd,
            movement=movement,
            down=down,
            conditions=draft.conditions(),
            span=draft.whole(s),
        )
    )


def _by_age(
    draft: Draft, kind: ContactKind, named: tuple[str, str] | None, s: Statement
) -> tuple[str | None, str | None]:
    """Younger and older: as named, but of a fault by the list of units."""
    if named is None:
        return None, None
    if draft.intrusive & {*named}:
        return named
    if not turned_round(named, draft.unit_order):
        draft.in_order.add((named[1], named[0]))
        return named
    if kind is ContactKind.FAULT:
        return named[1], named[0]
    pair = next(token for token in s if token.type in {"UNITPAIR", "LETTERS"})
    draft.against_order.append((named, draft.span(pair)))
    return named


def trace(draft: Draft, s: Statement) -> None:
    """`trace YOUNGER/OLDER [ATTITUDE]`."""
    (younger, older), _ = _pair(draft, s[1])
    surfaces = _planes(draft, s)
    if surfaces and surfaces[0].dip_deg is None:
        raise Mistake(
            "trace-dip",
            f"{shortened(surfaces[0].written)}: a trace over the ground needs the dip",
            surfaces[0].span,
            f"`trace {younger}/{older} STRIKE/DIP`, or `trace {younger}/{older}` for that of the contact or its beds",
        )
    draft.traces.append(
        Trace(
            younger=younger,
            older=older,
            plane=surfaces[0] if surfaces else None,
            conditions=draft.conditions(),
            span=draft.whole(s),
        )
    )


def crosses(draft: Draft, s: Statement) -> None:
    """`crosses KIND BEARING|POINT [NAME]`."""
    address = here(draft, s)
    kind = s[1].lower()
    if kind not in _GROUND:
        guess = nearest(kind, list(_GROUND))
        raise Mistake(
            "crosses",
            f"{shortened(s[1])} is no line of the ground here",
            draft.span(s[1]),
            f"did you mean `{guess}`?" if guess else "one of " + ", ".join(f"`{one}`" for one in _GROUND),
        )
    if len(s) < 3:
        raise Mistake("crosses", "which way does it run", draft.whole(s), f"`crosses {kind} BEARING`")
    draft.items.append(
        Crossing(
            address=address,
            kind=GroundLine(kind),
            runs=bearing(draft, s[2], points=True),
            name=draft.words(s[3] if len(s) > 3 else None),
            conditions=draft.conditions(),
            span=draft.whole(s),
        )
    )


Reader: TypeAlias = "Callable[[Draft, Statement], None]"
READERS: Final[Mapping[type, Reader]] = {
    UnitHere: unit,
    Words: words,
    Sample: sample,
    Photo: photo,
    Planes: planes,
    Apparent: apparent,
    Lines: lines,
    WayUp: tops,
    Contact: contact,
    Crossing: crosses,
    Sight: sight,
    Elevation: elevation,
}
"""What reads a line into each record of what is there."""
