"""Known points, in the grid or by latitude and longitude."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from traverse.log.records import Control
from traverse.notation.draft import Draft, Mistake
from traverse.notation.terms import check_name, known_name, length_m, number, source_of, within
from traverse.notation.text import shortened

if TYPE_CHECKING:
    from lark import Token

    from traverse.notation.parse import Statement


def control(draft: Draft, s: Statement) -> None:
    """`control NAME x E y N …` or by latitude and longitude."""
    name = check_name(draft, s[1])
    known_name(draft, name, draft.span(s[1]))
    first, second = s[2], s[3]
    east = north = lat = lon = None
    axis = first[-1].upper(), second[-1].upper()
    span = draft.between(first, second)
    if axis[0] in "NS":
        if axis[1] not in "EW":
            raise Mistake("control-axes", "a latitude twice", span, "such as `45.34187 N 64.12217 W`")
        lat, lon = _geographic(draft, first, 90.0), _geographic(draft, second, 180.0)
    elif axis == ("E", "N"):
        east, north = _plane_figure(draft, first), _plane_figure(draft, second)
    else:
        raise Mistake(
            "control-axes",
            "a grid reference gives east first, then north",
            span,
            "such as `412350 E 4289020 N`",
        )
    plan = height = height_sd = None
    source: str | None = None
    for token in s[4:]:
        if token.type == "LENGTH":
            height = length_m(draft, token)
        elif token.type == "TEXT":
            source = source_of(draft, s, token)
        elif height is None:
            plan = within(draft, token)
        else:
            height_sd = within(draft, token)
    if height_sd is None and plan is not None and height is not None:
        height_sd = plan
    elif plan is None and height_sd is not None:
        plan = height_sd
    record = Control(
        name=name,
        east_m=east,
        north_m=north,
        lat_deg=lat,
        lon_deg=lon,
        sd_plan_m=plan,
        height_m=height,
        sd_height_m=height_sd,
        source=source,
        written=" ".join(map(draft.written, s[2:])),
        span=draft.whole(s),
    )
    draft.controls.append(record)


def _plane_figure(draft: Draft, token: Token) -> float:
    figures = token[:-1].strip(" \t'\"°")
    span = draft.span(token)
    if re.search(r"[ \t]", figures):
        joined = re.sub(r"[ \t]+", "", figures)
        raise Mistake("figure-blank", "a blank inside a figure", span, f"`{joined} {token[-1].upper()}`")
    sign = -1.0 if figures.startswith("-") else 1.0
    return sign * number(draft, figures.lstrip("+-"), span)


def _geographic(draft: Draft, token: Token, limit: float) -> float:
    span = draft.span(token)
    what = "latitude" if limit == 90.0 else "longitude"
    parts = re.findall(r"\d[\d.,]*", token)
    if token[0] in "+-":
        raise Mistake(
            "geographic-sign",
            f"{shortened(token)}: a letter says the side, not a sign",
            span,
            f"`{token[1:]}`",
        )
    values = [number(draft, part.rstrip(".,"), span) for part in parts]
    for part, value in zip(parts[1:], values[1:], strict=True):
        if value >= 60.0:
            name = "minutes" if part is parts[1] else "seconds"
            raise Mistake(
                "minutes",
                f"{shortened(part)} {name}: {name} run from 0 to below 60",
                span,
                "look at the page",
            )
    if len(values) > 3 or any(value % 1.0 for value in values[:-1]):
        raise Mistake(
            what,
            f"{shortened(token)}: degrees, minutes and seconds",
            span,
            "such as `45 20.512 N` or `45 20 30.7 N`",
        )
    value = sum(part / share for part, share in zip(values, (1.0, 60.0, 3600.0), strict=False))
    if value > limit:
        more = "a grid reference gives east first, such as `412350 E 4289020 N`"
        raise Mistake(what, f"{what} {shortened(parts[0])} is impossible", span, more)
    return -value if token[-1] in "sSwW" else value
