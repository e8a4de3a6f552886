"""Names, numbers, bearings, distances and slopes from their words."""

from __future__ import annotations

import datetime as dt
import re
from calendar import monthrange
from typing import TYPE_CHECKING

from traverse.angle import POINT_DEG, quadrant, wrap_360
from traverse.diagnostic import Label
from traverse.length import feet_to_metres
from traverse.log.readings import Bearing, Distance, Slope, SlopeKind, Unit
from traverse.notation.draft import Draft, Mistake
from traverse.notation.guess import (
    LONGEST_NAME,
    in_figures,
    letter_in,
    lookalike,
    marked_figure,
    without_marks,
)
from traverse.notation.text import plain, shortened
from traverse.trade import (
    LEAST_DISTANCE,
    LEAST_WITHIN,
    MOST_DISTANCE,
    MOST_GRADE,
    MOST_HEIGHT_M,
    MOST_WITHIN_DEG,
    MOST_WITHIN_M,
)

if TYPE_CHECKING:
    from lark import Token

    from traverse.notation.parse import Statement
    from traverse.source import Span

_FRACTIONS = {"½": 1 / 2, "¼": 1 / 4, "¾": 3 / 4, "⅓": 1 / 3, "⅔": 2 / 3}
_NUMBER = re.compile(r"(\d+(?:[.,]\d+)?)?[ \t]*([½¼¾⅓⅔]|[123]/[234])?")
_DEGREES = r"(?:\d+(?:[.,]\d+)?)?(?:[ \t]*[½¼¾⅓⅔]|[ \t]+[123]/[234])?"
_PART = r"\d+(?:[.,]\d+)?"
_ANGLE = re.compile(
    rf"(?P<degrees>{_DEGREES})(?:[ \t]*°(?:[ \t]*(?P<minutes>{_PART})[ \t]*')?(?:[ \t]*(?P<seconds>{_PART})[ \t]*\")?)?$"
)
ANGLE_WRITTEN = rf"(?=[\d½¼¾⅓⅔]){_DEGREES}(?:[ \t]*°(?:[ \t]*{_PART}[ \t]*')?(?:[ \t]*{_PART}[ \t]*\")?)?"
"""Pattern of an angle as the grammar takes it."""
_MOST_FIGURES = 15
"""A float tells no more figures apart."""
_DUE = {"n": 0.0, "e": 90.0, "s": 180.0, "w": 270.0}
_UNITS = {
    "p": Unit.PACES, "pace": Unit.PACES, "paces": Unit.PACES,
    "dp": Unit.DOUBLE_PACES, "double pace": Unit.DOUBLE_PACES, "double paces": Unit.DOUBLE_PACES,
    "sp": Unit.SINGLE_PACES, "single pace": Unit.SINGLE_PACES, "single paces": Unit.SINGLE_PACES,
    "m": Unit.METRES, "metre": Unit.METRES, "metres": Unit.METRES, "meter": Unit.METRES, "meters": Unit.METRES,
    "ft": Unit.FEET, "foot": Unit.FEET, "feet": Unit.FEET,
}  # fmt: skip
_QUANTITY = re.compile(r"([+-]?)(.*?)[ \t]*([a-z']+(?:[ \t]+paces?)?)$", re.IGNORECASE | re.DOTALL)


def unqueried(text: str) -> tuple[str, bool]:
    """A reading without its `?`, and whether it had one."""
    if text.endswith("?"):
        return text[:-1].rstrip(" \t"), True
    return text, False


def between_thousands(text: str, joined: str, span: Span, more: str = "") -> Mistake:
    """The mistake of a mark, or a blank, between the thousands of a figure."""
    said = (
        "a blank inside a figure" if " " in text else f"{shortened(text)}: no mark stands between thousands"
    )
    return Mistake(
        "figure-blank" if " " in text else "figure-comma", said, span, f"`{shortened(joined)}`{more}"
    )


def refuse_marks(draft: Draft, behind: Token, *, next_only: bool = False) -> None:
    """Refuse a figure behind a word of the line, or right behind it, whose thousands are parted so that it is read as two."""
    column = behind.end_column or 1
    rest = plain(draft.line(behind.line or 1))[column - 1 :]
    found = marked_figure(rest)
    if found is not None and not (next_only and rest[: found[0]].strip(" \t")):
        at, text, joined = found
        span = draft.span(behind)._replace(column=column + at, end=column + at + len(text))
        raise between_thousands(text, joined, span)


def number(draft: Draft, text: str, span: Span, *, length: bool = False) -> float:
    """Value of a plain number with an optional fraction; only a `length` may run to thousands."""
    if "," in text:
        if not draft.comma:
            joined = without_marks(text) if length else None
            if joined is not None:
                raise between_thousands(
                    text, joined, span, f"; a decimal mark is a point, `{shortened(text.replace(',', '.'))}`"
                )
            raise Mistake(
                "decimal-comma",
                f"{shortened(text)} has a comma inside a figure",
                span,
                f"write `{shortened(text.replace(',', '.'))}`, or add `decimals comma` to the heading",
            )
        text = text.replace(",", ".")
    match = _NUMBER.fullmatch(text.strip(" \t"))
    if match is None or not match.group():
        raise Mistake("number", f"`{shortened(text)}` is no number", span, "write it like 62.5 or 62 1/2")
    whole, part = match.groups()
    if whole and len(whole) > _MOST_FIGURES:
        raise Mistake("number", f"{shortened(text)}: nobody reads so many figures", span, "look at the page")
    value = float(whole) if whole else 0.0
    if part:
        value += _FRACTIONS[part] if part in _FRACTIONS else int(part[0]) / int(part[2])
    return value


def angle(draft: Draft, text: str, span: Span) -> float:
    """Value in degrees of an angle, with minutes and seconds where it has them."""
    match = _ANGLE.match(text)
    if match is None or not match["degrees"]:
        raise Mistake(
            "angle", f"`{shortened(text)}` is no angle", span, "write it like 41.5, 41 1/2 or 41°30'"
        )
    value = number(draft, match["degrees"], span)
    for part, share in (("minutes", 60.0), ("seconds", 3600.0)):
        if match[part]:
            figure = number(draft, match[part], span)
            if figure >= 60.0:
                raise Mistake(
                    "minutes", f"{match[part]} {part}: they run from 0 to below 60", span, "look at the page"
                )
            value += figure / share
    return value


def azimuth(draft: Draft, text: str, span: Span, *, points: bool = False) -> float:
    """Azimuth in degrees, in [0, 360), of a bearing in any of its spellings."""
    first = text[0].lower()
    if first == "d":
        return _DUE[text[3:].lstrip(" \t")[0].lower()]
    if first in "nsew":
        if text.isalpha():
            return _point(text, span) if points else _no_point(text, span)
        return _quadrant(draft, text, span)
    value = angle(draft, text, span)
    if re.match(r"\d{3}(?!\d)", text) is None:
        short = re.match(r"\d{1,2}(?!\d)", text)
        hint = "000 to 360"
        if short is not None:
            # A nought in front, or a hundred that was lost.
            rest, lost = text[short.end() :], f"1{short[0].zfill(2)}"
            hint = f"look at the page, and write {short[0].zfill(3)}{rest} or {lost}{rest}, all three figures"
        raise Mistake("three-figures", f"{shortened(text)}: an azimuth has three figures", span, hint)
    if value > 360.0:
        raise Mistake(
            "azimuth-range",
            f"{shortened(text)} is no bearing; an azimuth is 000 to 360",
            span,
            "look at the page",
        )
    return wrap_360(value)


def _point(text: str, span: Span) -> float:
    point = POINT_DEG.get(text.upper())
    if point is None:
        raise Mistake(
            "compass-point", f"{text} is no compass point", span, "one of sixteen, such as NE, ENE or E"
        )
    return point


def _no_point(text: str, span: Span) -> float:
    raise Mistake(
        "compass-point", f"{text} is too coarse for a bearing", span, "write the bearing in figures"
    )


def _quadrant(draft: Draft, text: str, span: Span) -> float:
    last = text[-1].upper() if text[-1].isalpha() else ""
    figures = (text[1:-1] if last else text[1:]).strip(" \t")
    value = angle(draft, figures, span)
    start = text[0].upper()
    three = re.match(r"\d{3}(?!\d)", figures) is not None
    if not last:
        if start == "N" and three:
            if value > 360.0:
                raise Mistake(
                    "azimuth-range",
                    f"{text} is no bearing; an azimuth is 000 to 360",
                    span,
                    "look at the page",
                )
            return wrap_360(value)
        raise Mistake(
            "quadrant-letter",
            f"{text}: toward east or west",
            span,
            f"`{start}{figures}E` or `{start}{figures}W`",
        )
    if value > 90.0:
        more = (
            (f"is it 120 degrees from north, like `120` or `N120`? then write `{figures}` or `N{figures}`",)
            if (three and start == "N" and value <= 360.0)
            else (f"look at the page, and type `{start}`, an angle up to 90, then `{last}`",)
        )
        if three and start == "N" and value <= 360.0:
            more = (f"azimuth {figures}? write `{figures}` or `N{figures}`",)
        raise Mistake("quadrant-angle", f"{shortened(text)}: a quadrant angle is 0 to 90", span, *more)
    return quadrant(start, value, last)


def bearing(draft: Draft, token: Token, *, points: bool = False, skip: int = 0) -> Bearing:
    """A bearing from its word; `skip` leading characters are a keyword that stands in the same word."""
    span = draft.span(token)
    known = draft.bearing_of.get(token.value)
    if known is None:
        text, queried = unqueried(token[skip:].strip(" \t"))
        known = draft.bearing_of[token.value] = azimuth(draft, text, span, points=points), queried
    return Bearing(
        azimuth_deg=known[0],
        written=draft.written(token)[skip:].strip(" \t"),
        queried=known[1],
        span=span,
    )


def distance(draft: Draft, token: Token) -> Distance:
    """A distance on the ground; a bare number is what `distances` says."""
    span = draft.span(token)
    known = draft.distance_of.get((token.value, draft.bare))
    if known is None:
        known = draft.distance_of[token.value, draft.bare] = _distance(draft, token, span)
    value, unit, queried = known
    return Distance(value=value, unit=unit, written=draft.written(token), queried=queried, span=span)


BARE_DISTANCE = "distance-unit"
"""A figure for which no line says what it counts."""


def is_length_unit(word: str) -> bool:
    """Whether a distance may be in it."""
    return word.lower() in _UNITS


def _distance(draft: Draft, token: Token, span: Span) -> tuple[float, Unit, bool]:
    text, queried = unqueried(str(token))
    unit: Unit | None
    if token.type == "FIGURE":
        unit = draft.bare
        figures = text
        # A figure that no unit makes a leg is told as that: a unit typed behind it would be refused again.
        if unit is None and number(draft, figures, span, length=True) <= MOST_DISTANCE:
            raise Mistake(
                BARE_DISTANCE,
                f"{shortened(text)} what",
                span,
                f"{_in_units(draft, text)}, or add `distances paces`, `metres` or `feet` to the heading",
            )
    else:
        match = _QUANTITY.match(text)
        assert match is not None
        figures, name = match[2], match[3].lower()
        unit = _UNITS.get(" ".join(name.split()))
        meant = in_figures(text) if unit is None else None
        if meant is not None:
            raise Mistake("letter-for-figure", letter_in(text, meant), span, f"`{shortened(meant)}`")
        if unit is None:
            hint = f"write `{figures}ft`" if name == "'" else _in_units(draft, figures)
            raise Mistake("no-unit", f"`{shortened(match[3])}` is no unit of distance here", span, hint)
    # What is wrong with the figure is said of it without its unit.
    value = number(draft, figures, span._replace(end=span.column + len(figures)), length=True)
    if value < LEAST_DISTANCE:
        raise Mistake(
            "distance-zero", f"{shortened(text)}: a distance is above zero", span, "look at the page"
        )
    if value > MOST_DISTANCE:
        raise Mistake(
            "distance-range",
            f"{shortened(text)}: no leg is longer than {MOST_DISTANCE:.0f} paces, metres or feet",
            span,
            "look at the page",
        )
    assert unit is not None
    return value, unit, queried


def _in_units(draft: Draft, figures: str) -> str:
    """A figure with each unit that it may be in, as legs above it are written, that of the last of them first."""
    said = [one.distance.unit for one in reversed(draft.legs) if one.distance.written[-1:].isalpha()]
    paces = next((one for one in said if one.is_pace), Unit.PACES)
    units = dict.fromkeys((*said[:1], paces, Unit.METRES, Unit.FEET))
    *first, last = (f"`{figures}{unit.value}`" for unit in units)
    return f"{', '.join(first)} or {last}"


def slope(draft: Draft, token: Token) -> Slope:
    """A slope in degrees or per cent."""
    span = draft.span(token)
    known = draft.slope_of.get(token.value)
    if known is None:
        known = draft.slope_of[token.value] = _slope(draft, token, span)
    value, kind, queried = known
    return Slope(value=value, kind=kind, written=draft.written(token), queried=queried, span=span)


def _slope(draft: Draft, token: Token, span: Span) -> tuple[float, SlopeKind, bool]:
    text, queried = unqueried(token.lower())
    kind = SlopeKind.GRADE if text.endswith("%") else SlopeKind.DEGREES
    figures = text.removesuffix("%").strip(" \t")
    if figures == "level":
        return 0.0, kind, queried
    sign = figures[0]
    if sign in "+-":
        figures = figures[1:]
    elif sign == "u" or figures.startswith("down"):
        figures = figures[2 if sign == "u" else 4 :]
    else:
        figures = re.sub(r"[ \t]+(?:up|down)$", "", figures)
        mark = "%" if kind is SlopeKind.GRADE else ""
        raise Mistake(
            "slope-sign",
            f"{shortened(text)}: up or down",
            span,
            f"`+{figures}{mark}` up, `-{figures}{mark}` down",
        )
    value = angle(draft, figures.strip(" \t"), span)
    if kind is SlopeKind.DEGREES and value > 90.0:
        raise Mistake(
            "slope-range",
            f"{shortened(text)}: a slope is at most 90 degrees",
            span,
            *(
                (f"if it was read in per cent, `{shortened(text)}%`",)
                if value <= MOST_GRADE
                else ("look at the page",)
            ),
        )
    if value > MOST_GRADE:
        raise Mistake(
            "slope-range",
            f"{shortened(text)}: a slope is at most {MOST_GRADE:.0f} per cent, nearly a cliff",
            span,
            "look at the page",
        )
    if sign in "-d":
        value = -value
    return value, kind, queried


_LENGTHS = frozenset({Unit.METRES, Unit.FEET})


def length_m(draft: Draft, token: Token) -> float:
    """Metres of a length or height in metres or feet; a bare number is what `distances` says."""
    text, _ = unqueried(str(token))
    span = draft.span(token)
    match = _QUANTITY.match(text)
    unit = _UNITS.get(match[3].lower()) if match else draft.bare
    sign, figures = (
        (match[1], match[2]) if match else (text[:1] if text[0] in "+-" else "", text.lstrip("+-"))
    )
    if unit not in _LENGTHS or figures.endswith("%"):
        figures = text.rstrip("% \t")
        raise Mistake("length-unit", f"{shortened(text)} what", span, f"`{figures} m` or `{figures} ft`")
    start = span.column + text.index(figures)
    value = number(draft, figures, span._replace(column=start, end=start + len(figures)), length=True)
    value = feet_to_metres(value) if unit is Unit.FEET else value
    if value > MOST_HEIGHT_M:
        raise Mistake(
            "length-range",
            f"{shortened(text)}: no ground lies so high or deep",
            span,
            f"look at the page; a height, a depth or a course is at most {MOST_HEIGHT_M:.0f} m",
        )
    return -value if sign == "-" else value


def unit_said(token: Token) -> Unit | None:
    """The unit that a length says itself, if it does."""
    match = _QUANTITY.match(unqueried(str(token))[0])
    return _UNITS.get(match[3].lower()) if match else None


def within(draft: Draft, token: Token, *, metres: bool = True, of: Token | None = None) -> float:
    """What follows ±: degrees of an attitude, else metres.

    A bare number is what `distances` says, unless the length `of` which it is said has a unit of its own.
    """
    span = draft.span(token)
    text = re.sub(r"^(?:±|\+/?-)[ \t]*", "", str(token)).rstrip("° \t")
    if not text:
        raise Mistake(
            "plus-minus",
            "± what",
            span,
            "`±n m` for a place, `±n` for an attitude, with the figure of the page",
        )
    if token.type == "TOLERANCE":
        match = _QUANTITY.match(text)
        assert match is not None
        unit = _UNITS[match[3].lower()]
        value = number(draft, match[2], span)
        value = feet_to_metres(value) if unit is Unit.FEET else value
    else:
        value = number(draft, text, span)
        if metres and draft.bare is Unit.FEET and (of is None or unit_said(of) is not Unit.METRES):
            value = feet_to_metres(value)
    most, what = (MOST_WITHIN_M, "length") if metres else (MOST_WITHIN_DEG, "number of degrees")
    if not LEAST_WITHIN <= value <= most:
        asked = "above zero" if value < LEAST_WITHIN else f"of at most {most:.0f}{' m' if metres else ''}"
        raise Mistake("plus-minus", f"± {shortened(text)}: a {what} {asked}", span, "look at the page")
    return value


_IN_SOURCE = re.compile(r"(?:±|\+/?-)[ \t]*\d")


def _letter_for_figure(draft: Draft, s: Statement, token: Token) -> None:
    """Refuse a figure with a letter in it, which would be lost among the words of a source."""
    before = s[: s.index(token)]
    text, column = str(token), token.column or 1
    if before[-1].end_column == column and len(before) > 1:  # the figures before the letter were read
        text, column, before = f"{before[-1]}{text}", before[-1].column or column, before[:-1]
    first, _, rest = text.partition(" ")
    meant = in_figures(first)
    if meant is None:
        return
    typed = " ".join(filter(None, (*map(draft.written, before), meant, rest.strip(" \t"))))
    span = draft.span(token)._replace(column=column, end=column + len(first))
    raise Mistake("letter-for-figure", letter_in(first, meant), span, f"`{typed}`")


def source_of(draft: Draft, s: Statement, token: Token) -> str | None:
    """The words that say where a height or a fix comes from; a figure among them that belongs before them is refused."""
    text = str(token)
    span = draft.span(token)
    within = _IN_SOURCE.search(text)
    before = " ".join(map(draft.written, s[: s.index(token)]))
    _letter_for_figure(draft, s, token)
    if within is not None:
        words, amount = text[: within.start()].strip(" \t"), text[within.start() :].strip(" \t")
        typed = " ".join(filter(None, (before, amount, words)))
        raise Mistake(
            "within-last",
            f"{shortened(amount)} after the source would be lost among its words",
            span,
            f"`{typed}`",
        )
    figure = re.match(r"[+-]?\d+(?:[.,]\d+)?(?=[ \t]|$)", text)
    if figure is not None:
        # A second height is none: behind one stands how good it is.
        if any(one.type in {"LENGTH", "SHARE"} for one in s[: s.index(token)]):
            hints = f"`{before} ±{text}`" if text[0].isdigit() else f"`{before} ±{text[1:].lstrip()}`"
        else:
            rest = text[figure.end() :]
            hints = f"`{before} {figure[0]} m{rest}` or `{before} {figure[0]} ft{rest}`"
        raise Mistake("length-unit", f"{figure[0]} what", span, hints)
    return draft.words(token)


_DATE = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})$")
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
    "November", "December",
)  # fmt: skip


def _is_day(year: int, month: int, day: int) -> bool:
    return 1 <= month <= 12 and 1 <= day <= monthrange(max(1, year), month)[1]


def date(text: str, span: Span) -> dt.date:
    """A date written year-month-day."""
    match = _DATE.match(text)
    if match is None:
        parts = re.match(r"(\d{1,2})[/.-](\d{1,2})[/.-](\d{2,4})$", text)
        if parts:
            first, second, year = int(parts[1]), int(parts[2]), parts[3].rjust(4, "2").replace("2222", "2022")
            year = parts[3] if len(parts[3]) == 4 else f"20{parts[3].zfill(2)}"
            readings = [
                (f"{day} {_MONTHS[month - 1]}", f"`{year}-{month:02}-{day:02}`")
                for day, month in dict.fromkeys(((first, second), (second, first)))
                if _is_day(int(year), month, day)
            ]
            if readings:
                asked = " or ".join(words for words, _ in readings)
                hint = " or ".join(typed for _, typed in readings)
                raise Mistake("date-order", f"{text}: {asked}", span, f"year-month-day, {hint}")
            if 1 <= second <= 12:
                raise Mistake(
                    "date",
                    f"there is no day {first} in {_MONTHS[second - 1]} {year}",
                    span,
                    "look at the page; year-month-day",
                )
        raise Mistake("date", f"`{shortened(text)}` is no date", span, "year-month-day, such as `2026-07-03`")
    year, month, day = map(int, match.groups())
    if not 1 <= month <= 12:
        raise Mistake("date", f"there is no month {month}", span, "year-month-day, such as `2026-07-03`")
    try:
        return dt.date(year, month, day)
    except ValueError:
        raise Mistake(
            "date", f"there is no day {day} in that month", span, "year-month-day, such as `2026-07-03`"
        ) from None


def clock(text: str, span: Span) -> dt.time:
    """A time of day of 24 hours."""
    match = re.match(r"(\d{1,2})[:.]?(\d{2})?[ \t]*(am|pm|h)?$", text, re.IGNORECASE)
    exact = re.match(r"(\d{2}):(\d{2})$", text)
    if exact and int(exact[1]) < 24 and int(exact[2]) < 60:
        return dt.time(int(exact[1]), int(exact[2]))
    hint = "HH:MM, such as `07:10`"
    if match:
        hour, minute = int(match[1]), int(match[2] or 0)
        if (match[3] or "").lower() == "pm" and hour < 12:
            hour += 12
        if hour < 24 and minute < 60:
            hint = f"`{hour:02}:{minute:02}`"
    raise Mistake("time", f"{shortened(text)}: a time has 24 hours", span, hint)


# --- names ------------------------------------------------------------------------------------------------


_NAME = re.compile(r"(?:[^\W_]|[\u0300-\u036f])(?:\w|[.'\u0300-\u036f-])*$")


def check_name(draft: Draft, token: Token) -> str:
    """A name of a station or landmark, by its shape."""
    text = str(token)
    if len(text) > LONGEST_NAME:
        raise Mistake(
            "name",
            f"`{shortened(text)}` is too long for a name",
            draft.span(token),
            f"at most {LONGEST_NAME} characters",
        )
    good = text[0].isalnum() and text[-1] not in ".-" and (text.isalnum() or _NAME.match(text))
    if not good:
        span = draft.span(token)
        cleaned = re.sub(r"[^\w.'-]+", "-", text).strip("-.'_") or "7a"
        raise Mistake(
            "name",
            f"`{shortened(text)}` is no name",
            span,
            f"one word of letters and figures, such as `{shortened(cleaned)}`",
        )
    return text


def known_name(draft: Draft, name: str, span: Span, *, same: str | None = None) -> None:
    """Keep a new name; refuse one that looks like another. `same` says what to type if both are one place, if anything does."""
    looks = lookalike(name)
    other = draft.places.setdefault(looks, name)
    if other != name and (looks, name) not in draft.told:
        draft.told.add((looks, name))
        draft.told.add((looks, other))
        where = draft.stations.get(other)
        raise Mistake(
            "nearly-one-name",
            f"{shortened(name)} and {shortened(other)}: one place or two",
            span,
            f"{f'write `{shortened(other)}` if it is the same place, else ' if same is None else same}a name that differs more",
            labels=(Label(where, f"`{shortened(other)}` is here"),) if where else (),
        )
