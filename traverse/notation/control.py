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
    axis = first[-1].upper() + second[-1].upper()
    span = draft.between(first, second)
    turned = f"`{shortened(draft.written(second))} {shortened(draft.written(first))}`"
    if axis[0] in "NS":
        if axis[1] not in "EW":
            raise Mistake(
                "control-axes",
                f"{shortened(first)}, {shortened(second)}: a latitude twice",
                span,
                "the second is the longitude: `E` or `W` after it, as the page says",
            )
        lat, lon = _geographic(draft, first, 90.0), _geographic(draft, second, 180.0)
    elif axis[1] in "NS" and (axis[0] == "W" or axis[1] == "S" or _is_degrees(first, second)):
        raise Mistake("control-axes", "latitude comes first, then longitude", span, turned)
    elif axis == "EN":
        east, north = _plane_figure(draft, first), _plane_figure(draft, second)
    else:
        raise Mistake(
            "control-axes",
            f"{shortened(first)}, {shortened(second)}: an easting twice",
            span,
            "a grid reference gives east first with `E`, then north with `N`",
        )
    plan = height = height_sd = None
    words = s[-1] if s[-1].type == "TEXT" else None
    source = None if words is None else source_of(draft, s, words)
    for token in s[4:]:
        if token.type in {"LENGTH", "SHARE"}:
            height = length_m(draft, token)
        elif token is words:
            continue
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


_PARTS = re.compile(r"(\d{1,3})(?:[ \t]*°[ \t]*|[ \t]+)(\d{1,2})(?![\d])")
"""Degrees and minutes."""
_THOUSANDS = re.compile(r"\d{1,3}(?:,\d{3})+")


def _is_degrees(first: Token, second: Token) -> bool:
    """Whether two figures, east and north, are written as degrees are: with minutes, or with many decimals."""
    for token, most in ((first, 180), (second, 90)):
        parts = _PARTS.match(token)
        whole = re.match(r"(\d{1,3})[.,]\d{4,}", token)
        if not (parts and int(parts[1]) <= most and int(parts[2]) < 60) and not (
            whole and int(whole[1]) <= most
        ):
            return False
    return True


def _plane_figure(draft: Draft, token: Token) -> float:
    figures = token[:-1].strip(" \t'\"°")
    span = draft.span(token)
    if _THOUSANDS.fullmatch(figures) and (not draft.comma or figures.count(",") > 1):
        joined = figures.replace(",", "")
        raise Mistake(
            "figure-comma",
            f"{figures}: no mark stands between thousands",
            span,
            f"`{joined} {token[-1].upper()}`",
        )
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
        letter = token[-1].upper()
        raise Mistake(
            what,
            f"{shortened(token)}: only the last figure of a {what} may have decimals",
            span,
            f"`{parts[0]} {letter}` if these are degrees, else `{parts[0].partition('.')[0]} MINUTES {letter}` "
            "with the figures of the page",
        )
    value = sum(part / share for part, share in zip(values, (1.0, 60.0, 3600.0), strict=False))
    if value > limit:
        more = "a grid reference gives east first, with `E`, then north, with `N`"
        raise Mistake(
            what,
            f"{what} {shortened(parts[0])} is impossible: it is 0 to {limit:.0f} degrees",
            span,
            _run_together(parts, token[-1].upper(), limit)
            or (more if value > 1000.0 else "look at the page"),
        )
    return -value if token[-1] in "sSwW" else value


def _run_together(parts: list[str], letter: str, limit: float) -> str | None:
    """Degrees, minutes and seconds typed as one figure, put apart."""
    figures = re.fullmatch(r"(\d{2,3})(\d{2})(\d{2}(?:\.\d+)?)", parts[0]) if len(parts) == 1 else None
    if figures is None or int(figures[1]) > limit or int(figures[2]) >= 60 or float(figures[3]) >= 60.0:
        return None
    return f"with a blank between degrees, minutes and seconds: `{figures[1]} {figures[2]} {figures[3]} {letter}`"
