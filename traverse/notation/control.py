"""Known points, in the grid or by latitude and longitude."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from traverse.diagnostic import note, warning
from traverse.log.items import Sight
from traverse.log.records import Control, ReceiverTrack
from traverse.log.united import METRES_PER_DEGREE
from traverse.notation.draft import Draft, Mistake
from traverse.notation.guess import without_marks
from traverse.notation.terms import (
    between_thousands,
    check_name,
    known_name,
    length_m,
    number,
    refuse_marks,
    source_of,
    within,
)
from traverse.notation.text import shortened
from traverse.points.records import FilePoint, PointFile
from traverse.source import Span
from traverse.trade import SURE_SD

if TYPE_CHECKING:
    from lark import Token

    from traverse.notation.parse import Statement


def control(draft: Draft, s: Statement) -> None:
    """`control NAME EASTING E NORTHING N …` or by latitude and longitude."""
    name = check_name(draft, s[1])
    known_name(draft, name, draft.span(s[1]))
    first, second = s[2], s[3]
    refuse_marks(draft, second, next_only=True)
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
        meant = _in_the_grid(draft, first, second)
        if meant is not None:
            raise Mistake(
                "control-axes",
                f"{shortened(first)}, {shortened(second)}: too large for degrees; a grid reference gives east first, with "
                "`E`, then north, with `N`",
                span,
                f"`{meant}`, if the page says so",
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
    # A bare ± is in the unit that the line itself says.
    of = next((one for one in s[4:] if one.type in {"LENGTH", "SHARE"}), None)
    words = s[-1] if s[-1].type == "TEXT" else None
    source = None if words is None else source_of(draft, s, words)
    for token in s[4:]:
        if token.type in {"LENGTH", "SHARE"}:
            height = length_m(draft, token)
        elif token is words:
            continue
        elif height is None:
            plan = within(draft, token, of=of)
        else:
            height_sd = within(draft, token, of=of)
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
    _figures_enough(draft, s, record)


def _figures_enough(draft: Draft, s: Statement, record: Control) -> None:
    """Ask of a latitude and longitude whose last figure is far coarser than the point is said to be known."""
    if record.lat_deg is None:
        return
    across = math.cos(math.radians(record.lat_deg))
    steps = [
        _step_deg(token) * METRES_PER_DEGREE * share
        for token, share in zip(s[2:4], (1.0, across), strict=True)
    ]
    # What is rounded is off by up to half its last place, evenly; its deviation: any table of the uniform distribution.
    off_m = max(steps) / math.sqrt(12.0)
    known_m = _KNOWN_M if record.sd_plan_m is None else record.sd_plan_m
    if off_m <= SURE_SD * known_m:
        return
    said = "is held fixed" if record.sd_plan_m is None else f"is said to be good to {record.sd_plan_m:.0f} m"
    draft.say(
        warning(
            "control-figures",
            f"one in the last figure is {max(steps):.0f} m on the ground, and the point {said}",
            draft.between(s[2], s[3]),
            f"all figures of the page; or `±{math.ceil(off_m)} m`, if it has no more",
        )
    )


def _step_deg(token: Token) -> float:
    """What one in the last place of a latitude or longitude is, in degrees."""
    parts = re.findall(r"\d[\d.,]*", token)
    decimals = re.search(r"[.,](\d+)$", parts[-1].rstrip(".,"))
    return 10.0 ** -(len(decimals[1]) if decimals else 0) / 60.0 ** (len(parts) - 1)


_KNOWN_M = 10.0
"""How well a point is taken to be known whose line doesn't say; common practice, no source."""


def controls(draft: Draft, s: Statement) -> None:
    """`controls FILE [±n] [SOURCE]`: the points of a file, each with the larger of its own error and the line's."""
    if s[1].type == "PATH":
        raise Mistake(
            "controls-kind",
            f"`{shortened(re.split(_WITHIN, draft.written(s[1]))[0])}` is no file of points",
            draft.span(s[1]),
            "GPX, CSV or a GeoPackage, by the ending of its name: `controls fixes.gpx ±5 gps`",
        )
    found = draft.point_files[draft.file, s[0].line or 0]
    if isinstance(found, Mistake):
        raise found
    span, path = draft.whole(s), draft.written(s[1])
    words = s[-1] if s[-1].type == "TEXT" else None
    source = None if words is None else source_of(draft, s, words)
    sd = next((within(draft, one) for one in s[2:] if one is not words), None)
    _can_be_used(draft, s, found, sd)
    if found.unread:
        draft.say(
            note(
                "controls-columns",
                f"of {shortened(path)} nothing is read from {_some([f'`{one}`' for one in found.unread])}",
                draft.span(s[1]),
                "what is read: `name`, `lat` and `lon`, `east` and `north`, `sd`, `height`, `sd_height`",
            )
        )
    for track in found.tracks:
        draft.tracks.append(ReceiverTrack(name=track.name, pieces=track.pieces, span=span))
    for point in found.points:
        plan = max(one for one in (sd, point.sd_m) if one is not None)
        height = None if point.height_m is None else max(plan, point.sd_height_m or 0.0)
        draft.controls.append(
            Control(
                name=point.name,
                east_m=point.east_m,
                north_m=point.north_m,
                lat_deg=point.lat_deg,
                lon_deg=point.lon_deg,
                also_m=point.also_m,
                sd_plan_m=plan,
                height_m=point.height_m,
                sd_height_m=height,
                source=source or path,
                written=_figures(point),
                span=span,
            )
        )
    draft.of_files[span] = path


def _can_be_used(draft: Draft, s: Statement, found: PointFile, sd: float | None) -> None:
    """Mistakes that only the line and the file together show."""
    path, span = shortened(draft.written(s[1])), draft.span(s[1])
    if not found.points and not found.tracks:
        raise Mistake(
            "controls-empty", f"{path} has no point with a name and no track", span, "look at the file"
        )
    unstated = next((one for one in found.points if sd is None and one.sd_m is None), None)
    if unstated is not None:
        at = "" if unstated.line is None else f", line {unstated.line}"
        raise Mistake(
            "controls-error",
            f"how good the points of {path} are, neither the file nor this line says (point {shortened(unstated.name)}{at})",
            span,
            f"`controls {path} ±5 gps`, with the error that the receiver showed: without one they would be better than"
            " anything that was walked",
        )
    if found.epsg is not None and found.epsg != draft.epsg:
        raise Mistake(
            "controls-grid",
            f"{path} is in EPSG:{found.epsg}" + (f", the log in EPSG:{draft.epsg}" if draft.epsg else ""),
            span,
            f"`grid EPSG:{found.epsg}` above this line, or the points by longitude and latitude",
        )


def _figures(point: FilePoint) -> str:
    if point.lat_deg is not None and point.lon_deg is not None:
        north, east = "S" if point.lat_deg < 0.0 else "N", "W" if point.lon_deg < 0.0 else "E"
        return f"{abs(point.lat_deg):.6f} {north} {abs(point.lon_deg):.6f} {east}"
    return f"{point.east_m:.1f} E {point.north_m:.1f} N"


def keep_stations(draft: Draft) -> None:
    """Of the points of files keep those that the log speaks of; say how many others there are."""
    if not draft.of_files:
        return
    looked_at = {item.target for item in draft.items if isinstance(item, Sight)}
    tied = {name for tie in draft.ties for name in (tie.first, tie.second)}
    known = {*draft.stations, *looked_at, *tied, *(name for name, _ in draft.section_stations)}
    kept: list[Control] = []
    left: dict[Span, list[str]] = {span: [] for span in draft.of_files}
    used: set[Span] = set()
    for one in draft.controls:
        if one.span not in left or one.name in known:
            kept.append(one)
            used.add(one.span)
        else:
            left[one.span].append(one.name)
    draft.controls = kept
    for span, names in left.items():
        path = shortened(draft.of_files[span])
        if names and span not in used:
            draft.say(
                warning(
                    "controls-none",
                    f"no point of {path} has the name of a station: {_some(names)}",
                    span,
                    "call the points as the stations are called",
                )
            )
        elif names:
            counted = f"{len(names)} points" if len(names) > 1 else "1 point"
            draft.say(
                note(
                    "controls-left-out",
                    f"{counted} of {path} that this log never comes to: {_some(names)}",
                    span,
                )
            )


def _some(names: Sequence[str]) -> str:
    more = ", …" if len(names) > _MOST_NAMED else ""
    return ", ".join(shortened(one) for one in names[:_MOST_NAMED]) + more


_MOST_NAMED = 6
_WITHIN = re.compile(r"[ \t]+(?=±|\+/?-)")
_PARTS = re.compile(r"(\d{1,3})(?:[ \t]*°[ \t]*|[ \t]+)(\d{1,2})(?![\d])")
"""Degrees and minutes."""


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
    joined = without_marks(figures, comma=draft.comma)
    if joined is not None:
        raise between_thousands(figures, f"{joined} {token[-1].upper()}", span)
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


def _in_the_grid(draft: Draft, first: Token, second: Token) -> str | None:
    """Figures of a grid, written as if north came first: east and north as they may stand on the page.

    Either the letters or the figures are exchanged: the nearer to another known point, else the smaller easting, is meant.
    """
    figures = [token[:-1].strip(" \t") for token in (first, second)]
    if not all(re.fullmatch(r"\d+(?:\.\d+)?", one) for one in figures):
        return None
    values = [float(one) for one in figures]
    letters = first[-1].upper(), second[-1].upper()
    if values[0] <= 90.0 or values[1] <= 180.0 or letters != ("N", "E"):
        return None
    if all(
        _run_together([one], letter, limit)
        for one, letter, limit in zip(figures, letters, (90.0, 180.0), strict=True)
    ):
        return None
    near = next((one for one in draft.controls if one.east_m is not None), None)
    as_letters = values[0] if near is None else abs(values[0] - (near.east_m or 0.0))
    as_figures = values[1] if near is None else abs(values[1] - (near.east_m or 0.0))
    east, north = figures if as_letters <= as_figures else figures[::-1]
    return f"{east} E {north} N"


def _run_together(parts: list[str], letter: str, limit: float) -> str | None:
    """Degrees, minutes and seconds typed as one figure, put apart."""
    figures = re.fullmatch(r"(\d{2,3})(\d{2})(\d{2}(?:\.\d+)?)", parts[0]) if len(parts) == 1 else None
    if figures is None or int(figures[1]) > limit or int(figures[2]) >= 60 or float(figures[3]) >= 60.0:
        return None
    return f"with a blank between degrees, minutes and seconds: `{figures[1]} {figures[2]} {figures[3]} {letter}`"
