"""Statements of the heading: who, when, with what, and how the readings are meant."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Final, TypeAlias, TypeVar

from traverse.diagnostic import Label, note, warning
from traverse.log.ages import misspelt_age
from traverse.log.readings import Convention, Declination, North, PaceCourse, PaceKind, Unit
from traverse.log.records import Day, Emergency, Help, Person, RockUnit
from traverse.log.zones import utm_zone, zone_codes
from traverse.notation.draft import Draft, LineInForce, Mistake
from traverse.notation.guess import nearest, wild_count
from traverse.notation.terms import angle, clock, date, length_m, number
from traverse.notation.text import shortened
from traverse.source import Span
from traverse.trade import LEAST_PACE_M, MOST_PACE_M

if TYPE_CHECKING:
    from collections.abc import Sequence
    from enum import Enum

    from lark import Token

    from traverse.notation.parse import Statement

_E = TypeVar("_E", bound="Enum")
_INITIALS = re.compile(r"[^\W_]{1,5}$")
"""In any script; the first is a capital."""
_LETTERS = re.compile(r"[^\W\d_][^\W_]{0,7}$")
_NOT_LETTERS = frozenset({
    "flat", "horizontal", "due", "certain", "approximate", "inferred", "concealed", "normal", "reverse", "thrust", "down",
})  # fmt: skip
_NORTHS = {one.value: one for one in North}
_CONVENTIONS = {one.value: one for one in Convention}
_BARE = {"feet": Unit.FEET, "metres": Unit.METRES, "paces": Unit.PACES}


def once(draft: Draft, kind: str, span: Span, name: str = "") -> None:
    """Refuse a second line of a statement that stands once."""
    key = f"{kind} {name}".strip()
    earlier = draft.once.setdefault(key, span)
    if earlier is not span:
        raise Mistake(
            "said-twice",
            f"`{key.lower() if not name else kind.lower() + ' ' + name}` stands twice (line {earlier.line})",
            span,
            "leave one of the two lines out",
            labels=(Label(earlier, "first here"),),
        )


def _are_initials(text: str) -> bool:
    return _INITIALS.match(text) is not None and text[0].isalpha() and not text[0].islower()


def initials(draft: Draft, token: Token, example: str) -> str:
    """Initials of a person, kept to be looked up in the party when all is read."""
    text = str(token)
    span = draft.span(token)
    if not _are_initials(text):
        raise Mistake(
            "initials",
            f"{shortened(text)}: a person is named by initials, up to five letters, the first a capital",
            span,
            example,
        )
    draft.people.append((text, span))
    return text


def title(draft: Draft, s: Statement) -> None:
    """`traverse TITLE`."""
    once(draft, "TRAVERSE", draft.whole(s))
    draft.title = draft.words(s[1])


def area(draft: Draft, s: Statement) -> None:
    """`area WORDS`."""
    draft.area = "; ".join(filter(None, (draft.area, draft.words(s[1]))))


def heights(draft: Draft, s: Statement) -> None:
    """`heights WORDS`: the height datum."""
    once(draft, "HEIGHTS", draft.whole(s))
    draft.heights = draft.words(s[1])


def weather(draft: Draft, s: Statement) -> None:
    """`weather WORDS`, of the day in force."""
    words = draft.words(s[1])
    assert words is not None
    draft.weather.append(words)
    if draft.days:
        day = draft.days[-1]
        draft.days[-1] = replace(day, weather="; ".join(filter(None, (day.weather, words))))


def instrument(draft: Draft, s: Statement) -> None:
    """`instrument WORDS`."""
    words = draft.words(s[1])
    assert words is not None
    draft.instruments.append(words)


def page(draft: Draft, s: Statement) -> None:
    """`page WORDS`: of the notebook, from here on."""
    draft.page = draft.words(s[1])
    draft.in_force = None


def emergency(draft: Draft, s: Statement) -> None:
    """`emergency call|meet|road|radio WORDS`, `emergency back HH:MM [WORDS]`."""
    token = s[1]
    written = draft.words(token)
    assert written is not None
    first, _, words = (part.strip(" \t") for part in written.partition(" "))
    span = draft.span(token)
    kind = _HELP.get(first.lower())
    if kind is None:
        # The commonest slip is the number alone.
        meant = f"`emergency call {shortened(written)}`" if first[:1].isdigit() else _HELP_FORMS
        raise Mistake(
            "emergency",
            f"{shortened(first)}: what is it",
            span._replace(end=span.column + len(first)),
            meant,
            *(() if meant is _HELP_FORMS else (_HELP_FORMS,)),
        )
    once(draft, "EMERGENCY", draft.whole(s), kind.value)
    if not words:
        raise Mistake(
            "words-missing", f"`emergency {kind.value}` needs {_HELP_ASKS[kind]}", span, _HELP_FORMS
        )
    if len(words) > _LONGEST_HELP:
        raise Mistake(
            "emergency",
            f"{len(words)} characters: whoever is in need reads a line at a glance",
            span._replace(column=span.end - len(words)),
            f"at most {_LONGEST_HELP} characters",
        )
    if kind is Help.BACK:
        # What stands after a time in figures is words: `15:30 at the latest`.
        time = _TIME_FIRST.match(words)
        first = time[0] if time is not None else words
        start = span.end - len(words)
        told = clock(first, span._replace(column=start, end=start + len(first)))
        words = f"{told:%H:%M}{words[len(first) :]}"
    draft.emergency[kind] = Emergency(kind=kind, words=words, span=draft.whole(s))


_TIME_FIRST = re.compile(r"\d{1,2}[:.]\d{2}(?=,?[ \t]+(?!(?:am|pm|h)\b)\S)", re.IGNORECASE)
_LONGEST_HELP = 200
"""Characters of what one line says."""
_HELP = {one.value: one for one in Help}
_HELP_ASKS = {
    Help.CALL: "a number",
    Help.MEET: "a place",
    Help.ROAD: "words",
    Help.RADIO: "words",
    Help.BACK: "a time",
}
_HELP_FORMS = "`call NUMBER`, `meet PLACE`, `road WORDS`, `radio WORDS` or `back HH:MM`"


def day(draft: Draft, s: Statement) -> None:
    """`date YYYY-MM-DD`."""
    draft.date = date(str(s[1]), draft.span(s[1]))
    draft.in_force = None
    draft.days.append(Day(date=draft.date, weather=None))


def party(draft: Draft, s: Statement) -> None:
    """`party INITIALS [NAME], …`."""
    people: list[Person] = []
    for at, token in enumerate(s):
        if token.type != "WORD":
            continue
        span = draft.span(token)
        if not _are_initials(token):
            raise Mistake(
                "initials",
                f"{shortened(token)}: a person begins with initials",
                span,
                "such as `MO Mara Okafor`",
            )
        name = draft.written(s[at + 1]) if at + 1 < len(s) and s[at + 1].type == "PERSONNAME" else None
        people.append(Person(initials=str(token), name=name or None, span=span))
    _names_for_initials(draft, people, s)
    for person in people:
        join_party(draft.party, person)


def _names_for_initials(draft: Draft, people: Sequence[Person], s: Statement) -> None:
    """Ask of a party in which every person begins with a name: the first name was taken for initials."""
    named = [(one.initials, one.name or "") for one in people]
    if not all(
        re.fullmatch(r"[^\W\d_]{3,}", first) and first[1:].islower() and rest for first, rest in named
    ):
        return
    draft.told.add(NO_INITIALS)
    meant = ", ".join(f"{first[0]}{rest[0]} {first} {rest}" for first, rest in named)
    draft.say(
        warning(
            "party-initials",
            f"{named[0][0]} is taken for initials, and {shortened(named[0][1])} for the whole name",
            draft.whole(s),
            f"`party {shortened(meant, 100)}`",
        )
    )


NO_INITIALS = ("party", "initials")
"""Told of a party without initials: that a person is not in it follows from that."""


def join_party(party: list[Person], person: Person) -> None:
    """A person who is named again, on a second day or with the whole name now, is one person."""
    for at, known in enumerate(party):
        if known.initials == person.initials and (known.name or person.name) == (person.name or known.name):
            party[at] = replace(known, name=known.name or person.name)
            return
    party.append(person)


def group(draft: Draft, s: Statement) -> None:
    """`group LETTERS`: prefix of this party's stations."""
    once(draft, "GROUP", draft.whole(s))
    if not s[1].isalnum():
        raise Mistake(
            "group", f"{shortened(s[1])}: a party is named by letters", draft.span(s[1]), "such as `group B`"
        )
    draft.group = str(s[1])


def grid(draft: Draft, s: Statement) -> None:
    """`grid EPSG:n`: which systems there are is not known before places are worked out."""
    once(draft, "GRID", draft.whole(s))
    span = draft.span(s[1])
    match = re.match(r"epsg:(\d{1,9})$", s[1], re.IGNORECASE)
    hint = "a UTM zone on WGS 84 is EPSG:326zz north, EPSG:327zz south, zz the zone"
    zone = utm_zone(str(s[1]))
    if zone is not None:
        raise Mistake("grid", *_which_datum(str(s[1]), zone, span))
    if match is None:
        figures = s[1] if s[1].isdigit() else "n"
        raise Mistake(
            "grid", f"{shortened(s[1])}: a grid is named by its EPSG number", span, f"`EPSG:{figures}`", hint
        )
    if not 1024 <= int(match[1]) <= 32767:
        raise Mistake("grid", f"no such system is known here: {shortened(s[1])}", span, hint)
    draft.epsg = int(match[1])
    draft.grid_span = span


def _which_datum(said: str, zone: tuple[int, str], span: Span) -> tuple[str, Span, str]:
    return f"{shortened(said)}: on which datum", span, zone_codes(*zone)


def _choice(draft: Draft, token: Token, table: dict[str, _E], code: str, message: str, *hints: str) -> _E:
    found = table.get(token.lower())
    if found is None:
        raise Mistake(code, f"{shortened(token)}: {message}", draft.span(token), *hints)
    return found


def bearings(draft: Draft, s: Statement) -> None:
    """`bearings true`, `magnetic` or `grid`."""
    draft.bearings = _choice(
        draft,
        s[1],
        _NORTHS,
        "bearings",
        "which north",
        "`bearings true`, `bearings magnetic` or `bearings grid`",
    )
    draft.bearings_span = draft.whole(s)
    draft.in_force = None
    _set_dial(draft)


def attitudes(draft: Draft, s: Statement) -> None:
    """`attitudes CONVENTION [true|magnetic|grid]`."""
    draft.convention = _choice(
        draft,
        s[1],
        _CONVENTIONS,
        "attitudes",
        "taught in two senses; is the dip to the right of the strike as written?"
        if "hand" in s[1].lower() or "rule" in s[1].lower()
        else "not a way to write attitudes",
        "`attitudes dip-right` or `attitudes dip-left`; or `dip-direction`, `dip-first`, `letters`",
    )
    draft.convention_span = draft.whole(s)
    draft.attitudes_north = (
        _choice(draft, s[2], _NORTHS, "attitudes", "which north", "`true`, `magnetic` or `grid`")
        if len(s) > 2
        else None
    )
    draft.in_force = None


def distances(draft: Draft, s: Statement) -> None:
    """`distances feet`, `metres` or `paces`."""
    draft.bare_span = draft.whole(s)
    draft.bare = _choice(
        draft, s[1], _BARE, "distances", "no unit for bare numbers", "`distances feet`, `metres` or `paces`"
    )


def decimals(draft: Draft, s: Statement) -> None:
    """`decimals comma`; it was taken note of before the first line."""
    once(draft, "DECIMALS", draft.whole(s))
    if s[1].lower() != "comma":
        raise Mistake(
            "decimals", f"{shortened(s[1])}: a point is read always", draft.span(s[1]), "`decimals comma`"
        )


def _signed(draft: Draft, token: Token) -> float:
    """Angle east positive from a figure with E or W."""
    text = token.lower().strip(" \t")
    span = draft.span(token)
    match = re.match(r"(.*?)[ \t]*(e|w|east|west)$", text, re.DOTALL)
    figures = (match[1] if match else text).lstrip("+-")
    if figures.endswith("'") and "°" not in figures:
        figures = f"0°{figures}"  # minutes alone
    if match is None or text[0] in "+-":
        what = "a sign can be read two ways" if text[0] in "+-" else "east or west of true north"
        raise Mistake(
            "declination-sense", f"{shortened(token)}: {what}", span, f"`{figures} W` or `{figures} E`"
        )
    value = angle(draft, figures, span)
    if value > 180.0:
        raise Mistake(
            "declination-range", f"{shortened(token)}: more than half a circle", span, "look at the chart"
        )
    return value if match[2].startswith("e") else -value


def declination(draft: Draft, s: Statement) -> None:
    """`declination VALUE E|W, YEAR[, change VALUE E|W], SOURCE`, or `from model`."""
    span = draft.whole(s)
    if s[-1].type == "MODEL":
        if len(s) == 2:
            raise Mistake(
                "declination", "a declination from the model", span, "write `declination from model`"
            )
        model = Declination(
            value_deg=None, year=None, change_deg=None, source=None, from_model=True, span=span
        )
        draft.declination = model
        draft.in_force = None
        return
    value = _signed(draft, s[1])
    change = year = source = None
    for at, token in enumerate(s):
        if token.type == "YEAR":
            year = int(token)
        elif token.type == "CHANGE":
            change = _signed(draft, s[at + 1])
        elif token.type == "TEXT":
            source = draft.words(token)
    if year is None or source is None:
        said = draft.written(s[1])
        raise Mistake(
            "declination-source",
            "give the year and where it comes from",
            span,
            f"`declination {said}, {year or 'YEAR'}, SOURCE`",
        )
    given = Declination(value_deg=value, year=year, change_deg=change, source=source, span=span)
    draft.declination = given
    draft.in_force = None
    _set_dial(draft)


def _set_dial(draft: Draft) -> None:
    """Bearings of a compass whose dial is set are true already."""
    given = draft.declination
    if given is None or given.source is None or draft.bearings is not North.MAGNETIC:
        return
    source = given.source.lower()
    if re.search(r"\bset (?:on|in|into|off)\b|\bset$", source) is None or re.search(
        r"\bnot (?:yet )?set\b", source
    ):
        return
    key = ("set-dial", str(given.span))
    if key not in draft.told:
        draft.told.add(key)
        raise Mistake(
            "set-dial",
            "readings of a set dial are already true",
            given.span,
            "`bearings true`, or say `not set` in the declination line",
        )


def pace(draft: Draft, s: Statement) -> None:
    """`pace [WHO] [single|double] LENGTH` or `… COURSE in COUNT, …`."""
    span = draft.whole(s)
    who = kind = length = course = None
    counts: list[float] = []
    walked = any(token.type == "IN" for token in s)
    counted: list[Token] = []
    counting = False
    for token in s[1:]:
        if token.type == "WORD":
            who = initials(draft, token, "`pace WHO double LENGTH in COUNT, COUNT`")
        elif token.type == "PACEKIND":
            kind = PaceKind(token.lower())
        elif token.type == "IN":
            counting = True
        elif counting and token.type == "SHARE":
            counts.append(_count(draft, token))
            counted.append(token)
        elif token.type in {"LENGTH", "SHARE"}:
            length = length_m(draft, token)
            if length <= 0.0:
                what = "a course" if walked else "a pace"
                raise Mistake(
                    "pace-length",
                    f"{shortened(token)}: {what} is a length above zero",
                    draft.span(token),
                    "`pace LENGTH m`, as it was walked",
                )
            if not walked:
                _judge_pace(draft, token, length)
    if walked:
        course, length = length, None
        for token, count in zip(counted, counts, strict=True):
            _judge_pace(draft, token, (course or 0.0) / count, counted=True)
    _judge_counts(draft, counted, counts)
    record = PaceCourse(who=who, kind=kind, length_m=length, course_m=course, counts=tuple(counts), span=span)
    draft.paces.append(record)
    draft.pace_of[who] = record
    draft.in_force = None


def _judge_pace(draft: Draft, token: Token, pace_m: float, *, counted: bool = False) -> None:
    """Refuse what makes a pace that nobody has; one that is only unusual is asked about with the rest of the log."""
    if not LEAST_PACE_M <= pace_m <= MOST_PACE_M:
        long = pace_m > MOST_PACE_M
        raise Mistake(
            "pace-range",
            f"{shortened(draft.written(token))}: no pace is so {'long' if long else 'short'}",
            draft.span(token),
            "look at the page, at the course too"
            if counted
            else "look at the page for its point and its unit; a course has its counts behind `in`, such as `in 65, 66`",
        )


def _judge_counts(draft: Draft, tokens: Sequence[Token], counts: Sequence[float]) -> None:
    """Ask about a count that the others of its line leave alone: the pace would be none of theirs."""
    written = [shortened(draft.written(token)) for token in tokens]
    odd = wild_count(written, counts)
    if odd is None:
        return
    others = ", ".join(one for at, one in enumerate(written) if at != odd.at)
    asked = f": was it {odd.meant}?" if odd.meant is not None else ""
    draft.say(
        warning(
            "pace-counts",
            f"{written[odd.at]} stands apart from {others}{asked}",
            draft.span(tokens[odd.at]),
            "look at the page; one wrong count stretches every paced leg",
        )
    )


def _count(draft: Draft, token: Token) -> float:
    span = draft.span(token)
    text = str(token)
    if "," in text and not draft.comma:
        first, _, second = text.partition(",")
        raise Mistake(
            "count-comma",
            f"is {shortened(text)} one count or two",
            span,
            f"two: `{first}, {second}`, a blank after each comma; one: `{first}.{second}`",
        )
    if text[0] in "+-" or text[-1] == "%":
        raise Mistake(
            "count",
            f"{shortened(text)} is no count of paces",
            span,
            "the paces of one walk over the course, a number",
        )
    value = number(draft, text, span)
    if value <= 0.0:
        raise Mistake("count", "a count of 0", span, "how many paces was it? look at the page")
    return value


_ITEMS = {
    "bearing": ("bearing_deg", "degrees"),
    "slope": ("slope_deg", "degrees"),
    "attitude": ("attitude_deg", "degrees"),
    "pace": ("pace_share", "per cent"),
    "tape": ("tape_share", "per cent"),
}


def precision(draft: Draft, s: Statement) -> None:
    """`precision ITEM VALUE, …`."""
    given: dict[str, float] = {}
    attitude = draft.precision.attitude_stated
    words = [token for token in s[1:] if token.type != "COMMA"]
    for item, value in zip(words[::2], words[1::2], strict=True):
        name = item.lower()
        if name not in _ITEMS:
            guess = nearest(name, list(_ITEMS))
            raise Mistake(
                "precision",
                f"no precision of {shortened(item)}",
                draft.span(item),
                f"did you mean `{guess}`?" if guess else "`bearing`, `slope`, `attitude`, `pace` or `tape`",
            )
        key, unit = _ITEMS[name]
        span = draft.between(item, value)
        share = unit == "per cent"
        figures = value.rstrip("% \t")
        if share != value.endswith("%"):
            raise Mistake(
                "precision", f"{name} is in {unit}", span, f"`{name} {figures}{'%' if share else ''}`"
            )
        if figures[0] in "+-":
            raise Mistake(
                "precision", f"{shortened(value)}: a precision is above zero", span, f"`{name} {figures[1:]}`"
            )
        amount = number(draft, figures, draft.span(value))
        if amount <= 0.0 or amount > 100.0:
            raise Mistake(
                "precision",
                f"{shortened(value)}: a precision is above zero and below 100",
                span,
                "look at the page",
            )
        given[key] = amount / 100.0 if share else amount
        attitude |= name == "attitude"
    draft.precision = replace(draft.precision, **given, attitude_stated=attitude)
    draft.in_force = None


def letters(text: str, span: Span) -> str:
    """Unit letters, by their shape."""
    if text.lower() in _NOT_LETTERS:
        raise Mistake(
            "unit-letters",
            f"`{text}` is a word of the notation, and can't stand for a unit",
            span,
            f"other letters, such as `{text[0].upper()}{text[1]}`",
        )
    if _LETTERS.match(text) is None or re.match(r"[nNsS]\d", text):
        raise Mistake(
            "unit-letters",
            f"{shortened(text)} can't stand for a unit",
            span,
            "a letter, then up to seven letters or figures, such as `Ms` or `Pz2`",
        )
    return text


_PARTS = "`#rrggbb`, `intrusive` or `also B-Ls`"
_COLOUR = re.compile(r"#[0-9a-fA-F]{6}$")
_ALSO = re.compile(r"also(?=[ \t]|$)", re.IGNORECASE)
_THEIRS = re.compile(r"(?:[^\W\d_]\w{0,4}-)?[^\W\d_]\w{0,7}$")
"""Letters of a unit, with those of a party before them or without."""


def rock_unit(draft: Draft, s: Statement) -> None:
    """`unit LETTERS NAME ; AGE ; #rrggbb ; intrusive ; also B-Ls`, the parts after the name in any order."""
    name = letters(str(s[1]), draft.span(s[1]))
    once(draft, "UNIT", draft.whole(s), name)
    full = draft.written(s[2])
    age: str | None = None
    colour: str | None = None
    intrusive = False
    also: tuple[str, ...] = ()
    for token in s[3:]:
        if token.type == "SEMICOLON":
            continue
        part, where = draft.written(token), draft.span(token)
        if part.startswith("#"):
            if colour is not None:
                raise Mistake("unit-part", "a second colour", where, "a unit has one; leave the other out")
            if _COLOUR.match(part) is None:
                raise Mistake(
                    "unit-colour",
                    f"{shortened(part)} is no colour",
                    where,
                    "`#` and six of the figures 0 to 9 and the letters a to f, such as `#c8a060`",
                    "or leave it out, and the unit is given one",
                )
            colour = part.lower()
        elif part.lower() == "intrusive":
            intrusive = True
        elif _ALSO.match(part):
            also = (*also, *_theirs(part[len("also") :], where))
        elif age is None:
            age = part
            _age_spelt(draft, part, where)
        else:
            raise Mistake(
                "unit-part", f"{shortened(part)}: the age is {shortened(age)} already", where, f"{_PARTS}"
            )
    draft.units.append(
        RockUnit(
            letters=name,
            name=full,
            age=age,
            colour=colour,
            intrusive=intrusive,
            also=also,
            span=draft.whole(s),
        )
    )


def _age_spelt(draft: Draft, age: str, span: Span) -> None:
    """Ask of an age in which no name of the chart stands, and a word is one but for a letter or two."""
    meant = misspelt_age(age)
    if meant is not None:
        word, name = meant
        draft.say(
            warning(
                "age-spelling",
                f"{shortened(word)} is no age of the chart; did you mean {name}?",
                span,
                f"`{shortened(age.replace(word, name))}`; a name that the chart does not have may stay, with `checked WHO WHY`",
            )
        )


def _theirs(text: str, span: Span) -> tuple[str, ...]:
    """Names of a unit in other parties' logs, a comma and a blank between them."""
    names = tuple(one.strip(" \t") for one in re.split(r",(?=[ \t])", text))
    wrong = next((one for one in names if _THEIRS.match(one) is None), None)
    if wrong is not None:
        fact = (
            f"{shortened(wrong)}: letters of a unit in another log" if wrong else "which unit, in whose log"
        )
        raise Mistake("unit-also", fact, span, "`also B-Ls`, or `also B-Ls, C-Lst`")
    return names


# --- said twice with nothing read in between: of two such lines the first counts for nothing


def ask_if_twice(draft: Draft, s: Statement) -> None:
    """Ask of a line just read whether it or one above it that says otherwise is wrong, where nothing was read in between."""
    kind = s[0].type
    said = _IN_FORCE.get(kind) or _GATHERED.get(kind)
    if said is None:
        return
    span = draft.whole(s)
    read = len(draft.addresses) + len(draft.items) + draft.mistakes
    for name, value in said(draft, s):
        earlier = draft.given.get(name)
        draft.given[name] = LineInForce(value, span, read)
        if (
            earlier is None
            or (earlier.read, earlier.span.file) != (read, span.file)
            or earlier.value == value
        ):
            continue
        twice = f"`{name}` is given twice with nothing read in between"
        if kind in _GATHERED:
            draft.say(
                note(
                    "given-twice", f"{twice}; it is printed with that of {draft.at_line(earlier.span)}", span
                )
            )
            continue
        draft.say(
            warning(
                "given-twice",
                f"{twice}; this one counts, and not that of {draft.at_line(earlier.span)}",
                span,
                "leave out the wrong one; what changes on the way stands where it changes",
                labels=(Label(earlier.span, "first here"),),
            )
        )


_NOWHERE = Span("", 1, 1, 2)
_Said: TypeAlias = Callable[["Draft", "Statement"], Iterator[tuple[str, object]]]


def _one(value: Callable[[Draft], object]) -> _Said:
    return lambda draft, s: iter([(s[0].lower(), value(draft))])


def _words(_: Draft, s: Statement) -> Iterator[tuple[str, object]]:
    yield s[0].lower(), " ".join(" ".join(s[1:]).split())


def _declination(draft: Draft, _: Statement) -> Iterator[tuple[str, object]]:
    if draft.declination is not None:
        yield "declination", replace(draft.declination, span=_NOWHERE)


def _pace(draft: Draft, _: Statement) -> Iterator[tuple[str, object]]:
    last = draft.paces[-1]
    yield "pace" if last.who is None else f"pace {last.who}", replace(last, span=_NOWHERE)


def _precision(_: Draft, s: Statement) -> Iterator[tuple[str, object]]:
    words = [token for token in s[1:] if token.type != "COMMA"]
    for item, value in zip(words[::2], words[1::2], strict=True):
        yield f"precision {item.lower()}", str(value)


_IN_FORCE: Final[Mapping[str, _Said]] = {
    "DATE": _one(lambda draft: draft.date),
    "BEARINGS": _one(lambda draft: draft.bearings),
    "DECLINATION": _declination,
    "ATTITUDES": _one(lambda draft: (draft.convention, draft.attitudes_north)),
    "PACE": _pace,
    "PRECISION": _precision,
    "DISTANCES": _one(lambda draft: draft.bare),
    "PACER": _one(lambda draft: draft.pacer),
    "READER": _one(lambda draft: draft.reader),
    "COMPASS": _one(lambda draft: draft.compass),
}
"""Statements that put what they say in the place of what a line above said."""
_GATHERED: Final[Mapping[str, _Said]] = dict.fromkeys(("PARTY", "AREA", "WEATHER", "INSTRUMENT"), _words)
"""Statements that add to what a line above said: nothing of it is lost."""
