"""Readings of a leg, in whatever order they stand."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from traverse.angle import wrap_180
from traverse.diagnostic import warning
from traverse.log.readings import Bearing, Distance, Slope, Unit
from traverse.notation.draft import Draft, Mistake
from traverse.notation.guess import in_figures, letter_in
from traverse.notation.layout import leg_roles
from traverse.notation.terms import bearing, distance, is_length_unit, refuse_marks, slope, within
from traverse.notation.text import shortened

if TYPE_CHECKING:
    from lark import Token

    from traverse.notation.parse import Statement


@dataclass
class LegReadings:
    """Readings of a leg as they are found."""

    bearing: Bearing | None = None
    distance: Distance | None = None
    slope: Slope | None = None
    horizontal: bool = False
    sd_m: float | None = None
    back_bearing: Bearing | None = None
    back_slope: Slope | None = None


_ENOUGH = 4
"""Mistakes of one line that are told."""


_MADE_Z = str.maketrans("Zz", "22")


def _letter_within(draft: Draft, words: Statement) -> Mistake | None:
    """A letter in the middle of a figure, which parts it into two readings with no blank between, as in `3o2ft`."""
    for first, second in pairwise(words):
        if first.end_column != second.column or first.type not in {"DISTANCE", "FIGURE"}:
            continue
        typed = f"{first}{second}"
        plain = typed.translate(_MADE_Z)
        meant = in_figures(plain) or (plain if plain != typed and _FIGURE.fullmatch(plain) else None)
        if meant is not None:
            span = draft.span(first)
            return Mistake(
                "letter-for-figure",
                letter_in(typed, meant),
                span._replace(end=span.column + len(typed)),
                f"`{shortened(meant)}`",
            )
    return None


def _letter_in_bearing(draft: Draft, words: Statement) -> Mistake | None:
    """A letter that slipped into the three figures of a bearing, as in `263x 30p` or `26x3 30p`: it is read as a distance."""
    if not words or words[0].type != "DISTANCE":
        return None
    own = [words[0], *(two for one, two in pairwise(words[:2]) if one.end_column == two.column)]
    typed = "".join(own)
    found = _LETTERED.fullmatch(typed)
    roles = [role for role, _ in leg_roles(words[len(own) :])]
    if found is None or is_length_unit(found[2]) or "distance" not in roles or "bearing" in roles:
        return None
    figures = found[1] + found[3]
    if len(figures) != 3 or int(figures) > 360:
        return None
    span = draft.span(own[0])
    return Mistake(
        "letter-in-bearing",
        f"{shortened(typed)} is no bearing: `{found[2]}` stands in it",
        span._replace(end=span.column + len(typed)),
        f"`{figures}`, if that is what the page has",
    )


_LETTERED = re.compile(r"(\d+)([^\W\d_]{1,2})(\d*)")
_FIGURE = re.compile(r"\d+(?:\.\d+)?(?:[sd]?p|m|ft)?")


def leg_readings(draft: Draft, s: Statement, at: int, problems: list[Mistake]) -> LegReadings:
    """Readings of a leg in whatever order they stand."""
    given = LegReadings()
    seen: dict[str, Token] = {}
    lettered = _letter_within(draft, s[at + 2 :]) or _letter_in_bearing(draft, s[at + 2 :])
    if lettered is not None:
        problems.append(lettered)
        return given
    for role, token in leg_roles(s[at + 2 :]):
        if len(problems) >= _ENOUGH:
            break
        try:
            if role in seen and not (
                role == "distance" and in_figures(str(seen[role]))
            ):  # a bearing, told already
                raise _twice(draft, role, seen[role], token)
            if "back" in seen and not role.startswith("back"):
                raise _after_back(draft, token)
            seen[role] = token
            _take(draft, given, role, token)
        except Mistake as problem:
            problems.append(problem)
    if problems and len(s) > at + 3:
        try:
            refuse_marks(draft, s[at + 2])
        except Mistake as marked:  # all that is wrong with a figure in two parts is one mistake
            problems[:] = [marked]
    if given.back_bearing is not None and "bearing" in seen:
        problems[:] = [_by_its_back(draft, one, seen["bearing"], given.back_bearing) for one in problems]
    if "back" in seen and s[-1] is seen["back"]:
        problems.append(Mistake("back-empty", "`back` what", draft.span(s[-1]), "`back BEARING`"))
    if problems:
        return given
    if given.bearing is None or given.distance is None:
        problems.append(_incomplete(draft, s, at, given.bearing, given.distance))
    back = given.back_slope
    if back is not None and given.slope is None:
        problems.append(
            Mistake(
                "back-slope-alone",
                f"slope {back.written} stands after `back`, and none before it",
                back.span,
                f"`{back.written}` before `back` if it was read forward; `{_opposite(back)}` before `back` if it was "
                "read from the far end alone",
            )
        )
    elif back is not None and given.slope is not None and given.slope.value * back.value > 0.0:
        draft.say(
            warning(
                "back-slope-sign",
                f"slope {given.slope.written} forward and {back.written} back: one should go up and the other down",
                back.span,
                "look at the page",
            )
        )
    return given


_LOST_FIGURE_DEG = 5.0
"""By how much fore and back may differ and still tell which figure was lost; common practice, no source."""


def _by_its_back(draft: Draft, problem: Mistake, token: Token, back: Bearing) -> Mistake:
    """A bearing with a figure too few, offered with the one that its back bearing bears out."""
    said = problem.diagnostic
    figures = str(token).strip(" \t")
    if (
        said.code != "three-figures"
        or said.span != draft.span(token)
        or not re.fullmatch(r"\d{1,2}", figures)
    ):
        return problem
    whole = {
        f"{figures[:at]}{digit}{figures[at:]}" for at in range(len(figures) + 1) for digit in "0123456789"
    }
    whole |= {figures.zfill(3)}
    apart = {
        one: abs(wrap_180(float(one) + 180.0 - back.azimuth_deg))
        for one in whole
        if len(one) == 3 and int(one) <= 360
    }
    best = min(apart, key=lambda one: (apart[one], one), default=None)
    if best is None or apart[best] > _LOST_FIGURE_DEG or best == figures.zfill(3):
        return problem
    return Mistake(
        said.code,
        said.message,
        draft.span(token),
        f"`{best}`, which back {back.written} bears out; if a nought was left out, `{figures.zfill(3)}`",
    )


def _take(draft: Draft, given: LegReadings, role: str, token: Token) -> None:
    if role == "bearing":
        given.bearing = bearing(draft, token)
    elif role == "back bearing":
        given.back_bearing = bearing(draft, token)
    elif role == "distance":
        given.distance = distance(draft, token)
    elif role == "slope":
        given.slope = slope(draft, token)
    elif role == "back slope":
        given.back_slope = slope(draft, token)
    elif role == "horizontal":
        given.horizontal = True
    elif role == "length":
        if token.type == "SPREAD" and (draft.bare not in {Unit.METRES, Unit.FEET} or token.endswith("°")):
            amount = token.lstrip("±+/-").strip(" \t") or "n"
            raise Mistake(
                "plus-minus",
                f"{shortened(token)} what",
                draft.span(token),
                f"`±{amount} m` for the length of a leg",
            )
        given.sd_m = within(draft, token)


def _after_back(draft: Draft, token: Token) -> Mistake:
    return Mistake(
        "after-back",
        f"{shortened(token)} after `back`",
        draft.span(token),
        "the leg's own bearing, distance and slope stand before `back`",
    )


def _twice(draft: Draft, role: str, earlier: Token, token: Token) -> Mistake:
    if role == "back":
        return Mistake("reading-twice", "`back` twice", draft.span(token), "leave one out")
    if (
        role == "distance"
        and re.fullmatch(r"\d{1,2}(?:[.,]\d+)?", token)
        and float(token.replace(",", ".")) < 45.0
    ):
        return Mistake(
            "slope-sign",
            f"{shortened(token)} is a second distance, or a slope without its sign",
            draft.span(token),
            f"a slope carries its sign: `+{token}` up, `-{token}` down; else leave one distance out",
        )
    if role == "distance" and re.fullmatch(r"[0-3]\d\d", token) and int(token) <= 360:
        return Mistake(
            "reading-twice",
            f"{role} twice, {shortened(earlier)} and {shortened(token)}",
            draft.span(token),
            f"`back {token}` if it is the bearing from the far end; else leave one out",
        )
    what = "±" if role == "length" else role
    hints = (
        ("leave one out",)
        if role in {"horizontal", "length", "distance"}
        else ("leave one out; what was read from the far end stands after `back`",)
    )
    return Mistake(
        "reading-twice",
        f"{what} twice, {shortened(earlier)} and {shortened(token)}",
        draft.span(token),
        *hints,
    )


def _opposite(slope: Slope) -> str:
    percent = "%" if slope.kind.value == "grade" else ""
    return f"{-slope.value:+g}{percent}"


def _incomplete(
    draft: Draft, s: Statement, at: int, fore: Bearing | None, ground: Distance | None
) -> Mistake:
    span = draft.whole(s)
    word, name = s[at].lower(), s[at + 1]
    readings = " ".join(map(draft.written, s[at + 2 :]))
    if fore is None and ground is not None and _looks_like_bearing(name):
        return _nameless(draft, s, at)
    if fore is None and ground is None:
        return Mistake(
            "leg-empty",
            f"how to {shortened(name)}: no bearing and no distance",
            span,
            f"`{word} {shortened(name)} BEARING DISTANCE`",
        )
    if fore is None:
        hint = f"`{word} {shortened(name)} BEARING {shortened(readings)}`"
        lettered = re.fullmatch(r"([0-3]\d\d)[^\W\d_]", name)
        if lettered is not None:
            hint = f"`{word} NAME {lettered[1]} {shortened(readings)}` if {lettered[1]} is the bearing, else {hint}"
        problem = Mistake("no-bearing", "the leg has no bearing", span, hint)
        if lettered is not None and word != "close":
            draft.unnamed.append(problem.diagnostic)
        return problem
    behind = " ".join(map(draft.written, s[at + 3 :]))
    # Where the bearing does not stand first, the distance goes before all that is there.
    first = draft.written(s[at + 2]) if s[at + 2].type in {"BEARING", "FIGURE"} else ""
    if not first:
        behind = readings
    typed = " ".join(part for part in (word, name, first, "DISTANCE", behind) if part)
    return Mistake(
        "no-distance",
        "the leg has no distance",
        span,
        f"look at the page for it: it stands before the slope and `back`, `{shortened(typed, 100)}`",
    )


def nameless(draft: Draft, s: Statement, at: int) -> Mistake | None:
    """What to say of a leg whose bearing stands where its name should, by a sign that no name has; None where it has a name."""
    roles = [role for role, _ in leg_roles(s[at + 2 :])]
    if _looks_like_bearing(s[at + 1]) and "distance" in roles and "bearing" not in roles:
        return _nameless(draft, s, at)
    return None


def _nameless(draft: Draft, s: Statement, at: int) -> Mistake:
    word, name = s[at].lower(), s[at + 1]
    readings = " ".join(map(draft.written, s[at + 2 :]))
    problem = Mistake(
        "no-station-name",
        "the leg has no station name",
        draft.span(name),
        f"`{word} NAME {name} {shortened(readings)}`",
    )
    if word != "close":
        draft.unnamed.append(problem.diagnostic)
    return problem


def _looks_like_bearing(name: str) -> bool:
    return re.fullmatch(r"\d{3}(\.\d+)?°?|[nsNS]\d+(\.\d+)?[eEwW]?", name) is not None
