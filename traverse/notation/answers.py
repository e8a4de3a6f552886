"""Answers and corrections of the line above; and what is asked of the sheet."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from traverse.diagnostic import Label
from traverse.log.items import Correction, Item, Leg, Sample, Tie
from traverse.log.records import (
    Adjust,
    Checked,
    Control,
    Omitted,
    Projection,
    Rule,
    SectionLine,
    SheetOptions,
)
from traverse.notation.draft import Draft, Mistake
from traverse.notation.heading import initials, once
from traverse.notation.layout import canonical
from traverse.notation.terms import bearing, check_name, date, length_m, number
from traverse.notation.text import shortened
from traverse.source import Span
from traverse.trade import MOST_BAND_M

if TYPE_CHECKING:
    from lark import Token

    from traverse.notation.parse import Statement

_WAS = re.compile(r"(.*?),[ \t]+(\S+)[ \t]+(\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}),[ \t]+(.*)$", re.DOTALL)


def _above(draft: Draft, s: Statement) -> Statement:
    if draft.above is None:
        raise Mistake(
            "nothing-above",
            f"no line above for `{s[0].lower()}`",
            draft.whole(s),
            "put it below the line it is about",
        )
    return draft.above


def checked(draft: Draft, s: Statement) -> None:
    """`checked WHO WHY`."""
    above = _above(draft, s)
    who = initials(draft, s[1], "`checked WHO WHY`")
    why = draft.words(s[2] if len(s) > 2 else None)
    if why is None:
        raise Mistake("checked", "say why", draft.whole(s), f"`checked {who} WHY`")
    draft.checked.append(Checked(of=draft.whole(above), who=who, why=why, span=draft.whole(s)))


def was(draft: Draft, s: Statement) -> None:
    """`was OLD, WHO DATE, WHY`."""
    above = _above(draft, s)
    text = draft.words(s[1])
    assert text is not None
    match = _WAS.match(text)
    span = draft.whole(s)
    if match is None:
        old = shortened(text.split(",", 1)[0])
        raise Mistake(
            "was",
            "who, when and why",
            span,
            f"`was {old}, WHO DATE, WHY`",
        )
    old, who, when, why = (part.strip(" \t") for part in match.groups())
    if not old or not why:
        raise Mistake(
            "was",
            "what did it read, and why was it changed",
            span,
            "`was OLD, WHO DATE, WHY`",
        )
    initials(draft, s[1].update(value=who), "`was OLD, WHO DATE, WHY`")
    draft.people[-1] = (who, draft.span(s[1]))
    correction = Correction(old=old, who=who, date=date(when, draft.span(s[1])), why=why, span=span)
    draft.corrections.append(correction)
    line = above[0].line
    if draft.legs and draft.legs[-1].span.line == line and draft.legs[-1].span.file == draft.file:
        _replace_leg(draft, replace(draft.legs[-1], corrections=(*draft.legs[-1].corrections, correction)))


def _replace_leg(draft: Draft, leg: Leg) -> None:
    old = draft.legs[-1]
    draft.legs[-1] = leg
    if draft.walked is old:
        draft.walked = leg


def omit(draft: Draft, s: Statement) -> None:
    """`omit WHO WHY`: the line above counts for nothing."""
    above = _above(draft, s)
    if len(s) < 3:
        raise Mistake("omit", "who and why", draft.whole(s), "`omit WHO WHY`")
    who = initials(draft, s[1], "`omit WHO WHY`")
    why = draft.words(s[2])
    assert why is not None
    record = _take_out(draft, draft.whole(above))
    if record is None:
        if not draft.above_read:
            return
        raise Mistake(
            "omit",
            f"a `{above[0].lower()}` line can't be struck out",
            draft.whole(s),
            "strike out a leg, a reading, a control or a tie; of other lines write the right one",
        )
    draft.omitted.append(
        Omitted(
            record=record,
            who=who,
            why=why,
            written=canonical(above, draft.original),
            span=draft.whole(above),
        )
    )


def _take_out(draft: Draft, span: Span) -> Leg | Item | Control | Tie | None:
    """The record of a line, taken from among those that count."""
    if draft.legs and draft.legs[-1].span == span:
        leg = draft.legs.pop()
        out = replace(leg, index=-1)
        if draft.walked is leg:
            draft.walked = out
        if draft.stations.get(leg.end) == leg.end_span:
            draft.struck.add(leg.end)
        return out
    if draft.items and draft.items[-1].span == span:
        item = draft.items.pop()
        if isinstance(item, Sample):
            draft.labels.pop(item.label, None)
        return item
    if draft.controls and draft.controls[-1].span == span:
        last = draft.controls[-1]
        # A file of points is struck out whole.
        draft.controls = [one for one in draft.controls if one.span != span]
        draft.tracks = [one for one in draft.tracks if one.span != span]
        return last
    # Of a line that ties many places all of them.
    tied = [tie for tie in draft.ties if (tie.span.file, tie.span.line) == (span.file, span.line)]
    if tied:
        draft.ties = [tie for tie in draft.ties if tie not in tied]
        draft.tied_parties = [one for one in draft.tied_parties if draft.whole(one) != span]
        return tied[-1]
    return None


# --- output -------------------------------------------------------------------------------------------------

_RULES = {one.value: one for one in Rule}
_PROJECTIONS = {one.value: one for one in Projection}


def adjust(draft: Draft, s: Statement) -> None:
    """`adjust RULE [anyway WHY]`."""
    once(draft, "ADJUST", draft.whole(s))
    rule = _RULES.get(s[1].lower())
    if rule is None:
        raise Mistake(
            "adjust",
            f"{shortened(s[1])} is no rule of adjustment",
            draft.span(s[1]),
            "`compass-rule`, `transit-rule`, `least-squares` or `none`",
        )
    anyway = draft.words(s[3]) if len(s) > 3 else None
    draft.adjust = Adjust(rule=rule, anyway=anyway, span=draft.whole(s))


def section(draft: Draft, s: Statement) -> None:
    """`section NAME from STATION [via …] to STATION, …` or `section NAME BEARING through STATION, …`."""
    name = draft.written(s[1])
    once(draft, "SECTION", draft.whole(s), name)
    stations: list[str] = []
    azimuth = projection = depth = None
    exaggeration = 1.0
    ended = s[2].type != "FROM"
    _each_once(draft, s, frozenset({"PROJECT", "EXAGGERATION", "DEPTH"}), "section-option")
    for at, token in enumerate(s):
        if token.type == "NAME" and at > 1:
            stations.append(check_name(draft, token))
            draft.section_stations.append((stations[-1], draft.span(token)))
        elif token.type == "TO":
            ended = True
        elif token.type in {"BEARING", "FIGURE"}:
            azimuth = bearing(draft, token)
        elif token.type == "PROJECT":
            projection = _PROJECTIONS.get(s[at + 1].lower())
            if projection is None:
                raise Mistake(
                    "section-option",
                    f"project how: {shortened(s[at + 1])}",
                    draft.span(s[at + 1]),
                    "`project square`, `project strike` or `project plunge`",
                )
        elif token.type == "EXAGGERATION":
            exaggeration = _exaggeration(draft, s[at + 1])
        elif token.type == "DEPTH":
            depth = length_m(draft, s[at + 1])
            if depth <= 0.0:
                raise Mistake(
                    "section-option", "a depth is above zero", draft.span(s[at + 1]), "such as `depth 200 m`"
                )
    if not ended:
        raise Mistake("section-end", "to where", draft.whole(s), f"`from {shortened(stations[0])} to NAME`")
    draft.sections.append(
        SectionLine(
            name=name,
            stations=tuple(stations),
            bearing=azimuth,
            projection=projection,
            exaggeration=exaggeration,
            depth_m=depth,
            conditions=draft.conditions(),
            span=draft.whole(s),
        )
    )


def _each_once(draft: Draft, s: Statement, options: frozenset[str], code: str) -> None:
    """Refuse an option that a line gives twice, of which one would count for nothing."""
    first: dict[str, Token] = {}
    for token in s:
        if token.type in options and first.setdefault(token.type, token) is not token:
            raise Mistake(
                code,
                f"`{token.lower()}` twice",
                draft.span(token),
                "leave one of the two out",
                labels=(Label(draft.span(first[token.type]), "first here"),),
            )


def _exaggeration(draft: Draft, token: Token) -> float:
    text = token.lstrip("+")
    value = 0.0 if text[0] == "-" or text[-1] == "%" else number(draft, text, draft.span(token))
    if not 0.0 < value <= 100.0:
        raise Mistake(
            "section-option",
            f"exaggeration {shortened(token)}",
            draft.span(token),
            "a number above zero and at most 100, such as `exaggeration 2`",
        )
    return value


def sheet(draft: Draft, s: Statement) -> None:
    """`sheet OPTION …`."""
    once(draft, "SHEET", draft.whole(s))
    options = SheetOptions(span=draft.whole(s))
    _each_once(draft, s, frozenset({"SCALE", "PAPER", "BAND"}), "sheet-option")
    for at, token in enumerate(s):
        if token.type == "SCALE":
            options = replace(options, scale=_scale(draft, s[at + 1]))
        elif token.type == "PAPER":
            options = replace(options, paper=_paper(draft, s[at + 1]))
        elif token.type in {"LANDSCAPE", "PORTRAIT"}:
            landscape = token.type == "LANDSCAPE"
            if options.landscape not in {None, landscape}:
                raise Mistake("sheet-option", "landscape or portrait", draft.span(token), "leave one out")
            options = replace(options, landscape=landscape)
        elif token.type == "BAND":
            band = length_m(draft, s[at + 1])
            if band <= 0.0:
                raise Mistake(
                    "sheet-option", "a band is above zero", draft.span(s[at + 1]), "such as `band 10 m`"
                )
            if band > MOST_BAND_M:
                raise Mistake(
                    "sheet-option",
                    f"a band of {shortened(str(s[at + 1]))}: no ground was seen so far from a walk",
                    draft.span(s[at + 1]),
                    f"such as `band 10 m`; it is at most {MOST_BAND_M:.0f} m to each side",
                )
            options = replace(options, band_m=band)
    draft.sheet = options


def _scale(draft: Draft, token: Token) -> int:
    span = draft.span(token)
    text = re.sub(r"[ \t]", "", token)
    match = re.match(r"1:(\d{1,9})$", text)
    if match is None or not 1 <= int(match[1]) <= 10_000_000:
        last = text.rpartition(":")[2]
        whole = re.fullmatch(r"(\d+)[.,](?:\d{1,2}|\d{4,})", last)  # three figures are thousands
        figures = re.sub(r"\D", "", last if whole is None else whole[1])[:7].lstrip("0") or "n"
        raise Mistake("sheet-scale", f"scale {shortened(token)}", span, f"`scale 1:{figures}`")
    return int(match[1])


def _paper(draft: Draft, token: Token) -> str:
    if not re.fullmatch(r"[^\W_]+(-[^\W_]+)*", token):
        raise Mistake(
            "sheet-option",
            f"paper {shortened(token)}",
            draft.span(token),
            "`paper A4`, `A3`, `Letter`, `Tabloid` or `Roll-610`",
        )
    return str(token)
