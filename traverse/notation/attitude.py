"""Planes and lines from the words of an attitude, by the conventions of the trade."""

from __future__ import annotations

import re
from itertools import combinations
from typing import TYPE_CHECKING, NamedTuple

from traverse.angle import axial_difference, bearing_text, nearest_point, wrap_180, wrap_360
from traverse.diagnostic import note, warning
from traverse.log.readings import Convention, LineReading, PlaneReading, Quality
from traverse.notation.draft import Draft, Mistake, Unsaid, unread
from traverse.notation.terms import ANGLE_WRITTEN, angle, azimuth, unqueried, within
from traverse.notation.text import shortened
from traverse.source import Span
from traverse.trade import LETTER_CLEAN_DEG, LETTER_REFUSED_DEG

if TYPE_CHECKING:
    from lark import Token

PLANE_WORDS = frozenset({"PAIR", "ARROW", "FLAT", "VERTICAL", "LONE"})
_OF_DIRECTIONS = frozenset({Convention.DIP_DIRECTION, Convention.DIP_FIRST})
_OF_SIDES = frozenset({Convention.DIP_RIGHT, Convention.DIP_LEFT})
MODIFIERS = frozenset({"OVERTURNED", "UPRIGHT", "QUALITY", "SPREAD", "DOUBT"})

_PAIR = re.compile(
    r"(?P<strike>\?|due[ \t]+\w+|[ns][ \t]*[^/]*?\d[^/]*?(?:[ \t]*[ew])?|[^/]*?)"
    r"(?:[ \t]*/[ \t]*|[ \t]+)"
    rf"(?P<dip>\?|vert(?:ical)?|{ANGLE_WRITTEN})"
    r"[ \t]*(?P<letters>[nsew]{1,3})?$",
    re.IGNORECASE,
)
_ARROW = re.compile(r"(.+?)(?:[ \t]*(?:→|->)[ \t]*|[ \t]+to[ \t]+)(.+)$", re.IGNORECASE)


def three(degrees: float) -> str:
    """An azimuth as three figures.

    >>> three(52.0), three(359.8)
    ('052', '000')
    """
    return f"{round(wrap_360(degrees)) % 360:03}"


def plane(draft: Draft, token: Token, modifiers: list[Token]) -> PlaneReading:
    """One plane with what is said of it."""
    span = draft.span(token)
    known = draft.plane_of.get((token.value, draft.convention))
    if known is None:
        text, queried = unqueried(str(token))
        if queried and text.endswith("/"):
            text, queried = f"{text}?", False
        said = len(draft.diagnostics)
        strike, dip = _strike_and_dip(draft, token.type, text, span)
        figure = _may_be_strike(draft, token.type, text, dip, span)
        ruled = _as_ruled(draft, token.type, text, strike, dip, span)
        if len(draft.diagnostics) == said:  # what is worth a word is worth it every time
            draft.plane_of[token.value, draft.convention] = strike, dip, queried, figure, ruled
    else:
        strike, dip, queried, figure, ruled = known
    if ruled:
        draft.by_rule += 1
    elif ruled is not None:
        draft.against_rule.append((draft.written(token), span))
    if figure:
        _read_as_direction(draft, draft.written(token), figure, dip, span)
    again = next((b for a, b in combinations(modifiers, 2) if a.lower() == b.lower()), None)
    if again is not None:
        raise Mistake(
            "said-twice", f"`{shortened(again)}` is said twice", draft.span(again), "leave one of the two out"
        )
    overturned = upright = False
    quality = None
    sd = None
    for word in modifiers:
        if word.type == "OVERTURNED":
            overturned = True
        elif word.type == "UPRIGHT":
            upright = True
        elif word.type == "QUALITY":
            quality = Quality(word.lower())
        elif word.type == "SPREAD":
            sd = within(draft, word, metres=False)
        elif word.type == "DOUBT":
            queried = True
        else:
            raise LookupError(f"nothing is made of the modifier {word.type}")
    if overturned and upright:
        raise Mistake("way-up", "overturned or upright", draft.span(modifiers[0]), "leave one of the two out")
    written = draft.written(token)
    if modifiers:
        written = " ".join([written, *map(draft.written, modifiers)])
    return PlaneReading(
        strike_deg=strike,
        dip_deg=dip,
        overturned=overturned,
        upright=upright,
        quality=quality,
        sd_deg=sd,
        queried=queried,
        may_be_strike=bool(figure),
        written=written,
        span=span if not modifiers else draft.between(token, modifiers[-1]),
    )


class _Figures(NamedTuple):
    """Strike and dip as they were written."""

    text: str
    strike: str
    dip: str
    letters: str
    span: Span

    def typed(self, letters: str) -> str:
        """The same pair with other letters, to type instead."""
        return f"`{self.strike}/{self.dip}{letters}`"


def _strike_and_dip(draft: Draft, kind: str, text: str, span: Span) -> tuple[float | None, float | None]:
    """Right-handed strike (None where flat) and dip (None where it was not read)."""
    if kind == "FLAT":
        if "/" in text:
            raise Mistake(
                "flat", f"{shortened(text)}: flat, or dipping", span, "`flat`, or a strike and its dip"
            )
        return None, 0.0
    if kind == "VERTICAL":
        raise Mistake("strike-missing", "vertical along which strike", span, "`STRIKE/vertical`")
    if kind == "ARROW":
        dip, direction = arrow(draft, text, span, "a dip")
        return (None if dip == 0.0 else wrap_360(direction - 90.0)), dip
    if kind == "LONE":
        raise _lone(text, span)
    match = _PAIR.match(text)
    assert match is not None
    as_written = _Figures(
        text, match["strike"].strip(" \t"), match["dip"], (match["letters"] or "").upper(), span
    )
    if "?" in (as_written.strike, as_written.dip):
        return _half_read(draft, as_written), None
    vertical = as_written.dip[0] in "vV"
    if draft.convention is Convention.DIP_FIRST and not _is_quadrant(as_written.strike):
        if not vertical:
            return _dip_first(draft, as_written)
    elif _dip_before_direction(as_written):
        raise _other_order(draft, as_written)
    dip = 90.0 if vertical else dip_angle(draft, as_written.dip, span, "a dip")
    figure = azimuth(draft, as_written.strike, span)
    toward = azimuth(draft, as_written.letters, span, points=True) if as_written.letters else None
    if dip == 0.0:
        return None, 0.0
    if _is_quadrant(as_written.strike) or (vertical and draft.convention not in _OF_DIRECTIONS):
        return _by_letter(draft, figure, dip, toward, as_written), dip
    return _by_convention(draft, figure, dip, toward, as_written), dip


def _may_be_strike(draft: Draft, kind: str, text: str, dip: float | None, span: Span) -> str:
    """The azimuth of an upright plane, or of one without its dip, under a rule of dip directions: its strike, for some.

    Such a plane dips to neither side, and some write its strike under any rule. Empty where a letter or an arrow says which.
    """
    match = _PAIR.match(text) if kind == "PAIR" and draft.convention in _OF_DIRECTIONS else None
    if match is None or dip not in {None, 90.0} or _is_quadrant(match["strike"]):
        return ""
    second = match["dip"]
    first = draft.convention is Convention.DIP_FIRST and second[0] not in "vV"
    figure = second if first else match["strike"].strip(" \t")
    if match["letters"]:
        toward = azimuth(draft, match["letters"].upper(), span, points=True)
        if abs(wrap_180(toward - azimuth(draft, figure, span))) <= LETTER_REFUSED_DEG:
            return ""
    return figure


def _as_ruled(
    draft: Draft, kind: str, text: str, strike: float | None, dip: float | None, span: Span
) -> bool | None:
    """Whether an azimuth strike dips to the side that the rule in force says; None where no rule does."""
    match = _PAIR.match(text) if kind == "PAIR" and draft.convention in _OF_SIDES else None
    if match is None or strike is None or dip is None or dip == 90.0 or _is_quadrant(match["strike"]):
        return None
    figure = azimuth(draft, match["strike"].strip(" \t"), span)
    apart = abs(wrap_180(strike - figure))
    return (apart < 90.0) == (draft.convention is Convention.DIP_RIGHT)


def judge_letters(draft: Draft) -> None:
    """Note letters that go against the rule which most strikes of the log keep to: the letter counts."""
    if not draft.against_rule or len(draft.against_rule) >= draft.by_rule:
        return
    written, span = draft.against_rule[0]
    more = len(draft.against_rule) - 1
    others = f", and {more} more so" if more else ""
    draft.say(
        note(
            "letter-against-rule",
            f"{shortened(written)}: the letter says the other side than `attitudes` does, and counts{others}",
            span,
            "was the strike read from its other end, or is the letter wrong? look at the page",
        )
    )


def _read_as_direction(draft: Draft, written: str, figure: str, dip: float | None, span: Span) -> None:
    """Ask once, at the first of its lines, whether the azimuth of such planes is their dip direction, as it is read."""
    key = ("vertical-direction", "")
    if draft.rests_on(key):
        return
    degrees = azimuth(draft, figure, span)
    last = "?" if dip is None else "90"
    rule = draft.convention.value if draft.convention is not None else ""
    as_arrow = (
        "" if dip is None else f"`90->{bearing_text(degrees, quadrant=False)}` if it is the direction; "
    )
    one = warning(
        "vertical-direction",
        f"{shortened(written)}: under `attitudes {rule}` {figure} is read as the direction of the dip, so that the strike is "
        f"{three((degrees + 90.0) % 180.0)}",
        span,
        f"`{bearing_text(degrees, quadrant=True)}/{last}` if {figure} is the strike; {as_arrow}"
        "`checked` if all such lines say the direction",
    )
    draft.say(one)
    draft.cause(key, one)


def _half_read(draft: Draft, written: _Figures) -> float:
    """Strike of a plane whose dip was not read."""
    first = draft.convention is Convention.DIP_FIRST and not _is_quadrant(written.strike)
    if (written.dip if first else written.strike) == "?":
        raise Mistake(
            "strike-missing",
            f"{shortened(written.text)}: a dip without a {'direction' if first else 'strike'} is no plane",
            written.span,
            f"`{written.strike}/DIRECTION`" if first else f"`STRIKE/{written.dip}`",
            "or `rock` for the words",
        )
    if first:
        return wrap_360(azimuth(draft, written.dip, written.span) - 90.0)
    strike = azimuth(draft, written.strike, written.span)
    towards = draft.convention is Convention.DIP_DIRECTION and not _is_quadrant(written.strike)
    return wrap_360(strike - 90.0) if towards else strike


def _dip_before_direction(written: _Figures) -> bool:
    """Whether a pair can only be a dip and then its direction: two figures or one, then three."""
    return (
        re.fullmatch(r"\d{1,2}(?!\d)\D*", written.strike.partition(".")[0]) is not None
        and re.match(r"\d{3}(?!\d)", written.dip) is not None
    )


def _dip_first(draft: Draft, written: _Figures) -> tuple[float | None, float]:
    """Strike and dip of a pair that begins with the dip."""
    if re.match(r"\d{3}(?!\d)", written.strike) and not re.match(r"\d{3}(?!\d)", written.dip):
        raise _other_order(draft, written)
    dip = dip_angle(draft, written.strike, written.span, "a dip")
    figure = azimuth(draft, written.dip, written.span)
    if dip == 0.0:
        return None, dip
    if written.letters and dip < 90.0:
        toward = azimuth(draft, written.letters, written.span, points=True)
        off = abs(wrap_180(toward - figure))
        if off > LETTER_REFUSED_DEG:
            raise Mistake(
                "letter-against-direction",
                f"{shortened(written.text)}: under `attitudes dip-first` it dips toward {three(figure)}, and "
                f"{written.letters} is not that way",
                written.span,
                f"`{written.strike}/{written.dip}` if it dips toward {three(figure)}",
                f"a strike with its letter stands before the dip, `{written.dip}/{written.strike}{written.letters}`",
            )
        _loose(draft, off, figure, written)
    return wrap_360(figure - 90.0), dip


def _other_order(draft: Draft, written: _Figures) -> Mistake:
    """The page is written in another order than `attitudes` says: told once, at the first of its lines."""
    first = draft.convention is Convention.DIP_FIRST
    key = ("other-order", "first" if first else "second")
    if draft.rests_on(key, *unread("ATTITUDES")):
        return Unsaid("other-order", "", written.span)
    if first:
        said = f"{written.strike} stands where `attitudes dip-first` has the dip, which is 0 to 90"
        hints = (
            "`attitudes dip-direction`, or `dip-right` or `dip-left` for strikes, if the page is written so",
            f"`{written.dip}/{written.strike}` if this line alone is turned round",
        )
    else:
        rule = (
            f"`attitudes {draft.convention.value}` has the dip last"
            if draft.convention is not None
            else "no `attitudes` line says so"
        )
        said = f"{shortened(written.text)} looks like a dip before its direction, and {rule}"
        hints = (
            "`attitudes dip-first` if the page is written so",
            # Only a dip direction is said by an arrow; a strike is not.
            f"`{written.strike}->{written.dip}` says the same under any rule"
            if draft.convention is Convention.DIP_DIRECTION
            else f"`{written.dip}/{written.strike}` if this line alone is turned round",
        )
    problem = Mistake("other-order", said, written.span, *hints)
    draft.cause(key, problem.diagnostic)
    return problem


def _is_quadrant(text: str) -> bool:
    return text[0] in "dD" or (text[0] in "nNsS" and text[-1] in "eEwW")


_SLASH_LOST = re.compile(r"(\d{3})[.,]?(\d{2})|(\d{2})[.,](\d{3})")
"""A strike and a dip with no mark between them, or one that is no slash: no compass is read to a hundredth of a degree."""


def _lone(text: str, span: Span) -> Mistake:
    shown = shortened(text)
    if re.match(r"\d{1,2}(?!\d)[^\d]*[nsew]", text, re.IGNORECASE):
        return Mistake(
            "strike-missing", f"{shown}: a dip without its strike", span, f"one attitude is `STRIKE/{text}`"
        )
    pair = _SLASH_LOST.fullmatch(text)
    if pair is not None and int(pair[1] or pair[4]) <= 360 and int(pair[2] or pair[3]) <= 90:
        return Mistake(
            "dip-missing",
            f"{shown} alone: one attitude or two",
            span,
            f"strike and dip go together with a slash, `{pair[1] or pair[3]}/{pair[2] or pair[4]}`",
        )
    return Mistake(
        "dip-missing",
        f"{shown} alone: one attitude or two",
        span,
        f"strike and dip go together, like `{text}/DIP`; `{text}/?` if the dip was not read",
    )


def dip_angle(draft: Draft, text: str, span: Span, what: str) -> float:
    """A dip or plunge, 0 to 90."""
    value = angle(draft, text, span)
    if value > 90.0:
        said = []
        if re.fullmatch(r"9[0-8]", text):
            said.append(f"digits exchanged? then write `{text[::-1]}`")
        if what == "a dip" and value < 180.0:
            said.append(f"{180.0 - value:g} overturned? then write `{180.0 - value:g}` and `overturned`")
        hint = "; or ".join(said) or "look at the page"
        raise Mistake("dip-range", f"{shortened(text)}: {what} is 0 to 90", span, hint)
    return value


def arrow(draft: Draft, text: str, span: Span, what: str) -> tuple[float, float]:
    """Inclination and the azimuth it goes down to."""
    match = _ARROW.match(text)
    assert match is not None
    inclination = dip_angle(draft, match[1].strip(" \t"), span, what)
    direction = match[2].strip(" \t")
    if direction.isalpha():
        degrees = three(azimuth(draft, direction, span, points=True))
        raise Mistake(
            "arrow-direction",
            f"{shortened(text)}: a direction in degrees after the arrow",
            span,
            f"`{match[1].strip()}->{degrees}`",
        )
    return inclination, azimuth(draft, direction, span)


def _by_letter(draft: Draft, strike: float, dip: float, toward: float | None, written: _Figures) -> float:
    """Right-handed strike of a strike whose side the letter says, whatever the convention."""
    if dip == 90.0:
        return wrap_360(strike)
    sides = [nearest_point(strike + turn, points=8) for turn in (90.0, -90.0)]
    sides.sort(key=lambda side: side[0] != "S")
    either = " or ".join(map(written.typed, sides))
    if toward is None:
        raise Mistake(
            "dip-letter", f"{shortened(written.text)}: to which side does it dip", written.span, either
        )
    right, left = (abs(wrap_180(toward - strike - turn)) for turn in (90.0, -90.0))
    off = min(right, left)
    if off > LETTER_REFUSED_DEG:
        raise Mistake(
            "letter-along-strike",
            f"{shortened(written.text)}: {written.letters} lies along the strike",
            written.span,
            f"which way would water run? {either}",
        )
    found = wrap_360(strike if right <= left else strike + 180.0)
    if off > LETTER_CLEAN_DEG:
        draft.say(
            note(
                "loose-letter",
                f"{shortened(written.text)}: {written.letters} is {off:.0f} degrees off the dip; read as dipping "
                f"toward {three(found + 90.0)}",
                written.span,
            )
        )
    return found


def _by_convention(draft: Draft, figure: float, dip: float, toward: float | None, written: _Figures) -> float:
    """Right-handed strike of a pair that begins with an azimuth."""
    convention = draft.convention
    if convention in _OF_DIRECTIONS:
        if toward is not None and dip < 90.0:
            _agree(draft, figure, toward, written)
        return wrap_360(figure - 90.0)
    if toward is not None or (convention is Convention.LETTERS and dip < 90.0):
        return _by_letter(draft, figure, dip, toward, written)
    if convention is Convention.DIP_LEFT:
        return wrap_360(figure + 180.0)
    if convention is None:
        raise _no_convention(draft, figure, dip, written)
    return wrap_360(figure)


def _agree(draft: Draft, figure: float, toward: float, written: _Figures) -> None:
    """Refuse a letter that goes against a dip direction."""
    off = abs(wrap_180(toward - figure))
    if off > LETTER_REFUSED_DEG:
        near = min((figure + 90.0, figure - 90.0), key=lambda side: abs(wrap_180(toward - side)))
        raise Mistake(
            "letter-against-direction",
            f"{shortened(written.text)}: under `attitudes dip-direction` it dips toward {three(figure)}, and "
            f"{written.letters} is not that way",
            written.span,
            f"`{written.strike}/{written.dip}` if it dips toward {three(figure)}, "
            f"`{written.dip}->{three(near)}` if {written.strike} is the strike",
        )
    _loose(draft, off, figure, written)


def _loose(draft: Draft, off: float, figure: float, written: _Figures) -> None:
    """Note a letter that only just agrees with a dip direction."""
    if off > LETTER_CLEAN_DEG:
        draft.say(
            note(
                "loose-letter",
                f"{shortened(written.text)}: {written.letters} is {off:.0f} degrees off {three(figure)}",
                written.span,
            )
        )


def _no_convention(draft: Draft, figure: float, dip: float, written: _Figures) -> Mistake:
    key = ("no-convention", "")
    if draft.rests_on(key, *unread("ATTITUDES")):
        return Unsaid("no-convention", "", written.span)
    sides = f"it dips toward {three(figure + 90.0)} or {three(figure - 90.0)}"
    if dip == 90.0:
        sides = f"its strike is {written.strike}"
    problem = Mistake(
        "no-convention",
        f"{shortened(written.text)}: {sides}, or {written.strike} is the dip direction; nothing says which",
        written.span,
        "add `attitudes dip-right`, `attitudes dip-left` or `attitudes dip-direction` to the heading",
    )
    draft.cause(key, problem.diagnostic)
    return problem


def _level(draft: Draft, token: Token, *, both: bool, kind: str) -> LineReading:
    text, queried = unqueried(str(token))
    span = draft.span(token)
    if kind != "CURRENT":
        figure = text if text.isdigit() else "TREND"
        raise Mistake(
            "plunge-missing",
            f"{shortened(text)}: how steep does it plunge",
            span,
            f"`{kind.lower()} 00->{figure}` if level",
        )
    return LineReading(
        trend_deg=azimuth(draft, text, span),
        plunge_deg=0.0,
        both=both,
        queried=queried,
        written=draft.written(token) + (" both" if both else ""),
        span=span,
    )


def line(draft: Draft, words: list[Token], kind: str) -> LineReading:
    """One line: by plunge and trend, by rake in a plane, or level along a bearing."""
    first = words[0]
    both = words[-1].type == "BOTH"
    if first.type == "LONE":
        return _level(draft, first, both=both, kind=kind)
    if first.type == "ARROW":
        span = draft.span(first)
        text, queried = unqueried(str(first))
        plunge, trend = arrow(draft, text, span, "a plunge")
        return LineReading(
            trend_deg=trend,
            plunge_deg=plunge,
            both=both,
            queried=queried,
            written=draft.written(first) + (" both" if both else ""),
            span=span,
        )
    return _rake(draft, words)


def _rake(draft: Draft, words: list[Token]) -> LineReading:
    figure = words[1]
    span = draft.between(words[0], words[-1])
    text, queried = unqueried(str(figure))
    rake = angle(draft, text, draft.span(figure))
    if rake > 180.0:
        raise Mistake(
            "rake-range", f"{shortened(text)}: a rake is 0 to 180", draft.span(figure), "look at the page"
        )
    point = next(word for word in words if word.type == "POINT")
    end = azimuth(draft, str(point), draft.span(point), points=True)
    on = words[-1] if words[-1].type in PLANE_WORDS else None
    surface = plane(draft, on, []) if on is not None else draft.plane
    if surface is None:
        raise Mistake(
            "rake-plane",
            "a rake in which plane",
            span,
            "measure the plane on a line above, or say `on STRIKE/DIP` after the rake",
        )
    if surface.dip_deg is None:
        raise Mistake(
            "rake-plane",
            f"a rake needs the dip of its plane, and {shortened(surface.written)} has none",
            span,
            "write the line by plunge and trend, or say `on STRIKE/DIP` after the rake",
        )
    if surface.strike_deg is None:
        raise Mistake(
            "rake-plane",
            "a flat plane has no strike to take a rake from",
            span,
            "write the line by plunge and trend, `PLUNGE->TREND`",
        )
    if axial_difference(end, surface.strike_deg) > LETTER_REFUSED_DEG:
        ends = sorted(
            (
                nearest_point(surface.strike_deg, points=8),
                nearest_point(surface.strike_deg + 180.0, points=8),
            ),
            key=lambda side: side[0] != "N",
        )
        raise Mistake(
            "rake-end",
            f"{point.upper()} is no end of this strike",
            draft.span(point),
            f"`{ends[0]}` or `{ends[1]}`",
        )
    return LineReading(
        trend_deg=None,
        plunge_deg=None,
        rake_deg=rake,
        rake_from_deg=end,
        rake_on=surface,
        queried=queried,
        written=" ".join(map(draft.written, words)),
        span=span,
    )
