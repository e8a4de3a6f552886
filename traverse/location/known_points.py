"""Known points brought into the plane."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from traverse.adjustment.records import Fix, Floats, Network
from traverse.adjustment.sharing import Places
from traverse.diagnostic import Diagnostic, Label, Outcome, error, note, warning
from traverse.length import Lengths
from traverse.log.items import Sight
from traverse.log.records import Control, Log
from traverse.source import Span
from traverse.trade import PLAN_REFUSE, UP_REFUSE

if TYPE_CHECKING:
    from traverse.location.crs import Grid

HELD_M = 1e-4
"""Two fixes that are both held may differ by this much."""
SAME_PLACE_M = 2.0
"""So far apart may lie one place given twice: five decimals of a degree are a metre, and a grid adds its own rounding."""


def known_points(log: Log, grid: Grid | None) -> Outcome[dict[str, Fix]]:
    """Every control by name; two lines of one name are two fixes of one place, weighed together.

    Fixes of several parties that agree bear each other out.
    """
    found: list[Diagnostic] = []
    fixes: dict[str, Fix] = {}
    told: set[tuple[str, Span]] = set()
    for control in log.controls:
        said: list[Diagnostic] = []
        place = _in_plane(control, grid, log.lengths, said)
        # Points of one file are on one line, and what is wrong with all of them is said once.
        found += [one for one in said if (one.code, control.span) not in told]
        told.update((one.code, control.span) for one in said)
        if place is None:
            continue
        fix = Fix(
            position_m=np.array((*place, math.nan if control.height_m is None else control.height_m)),
            sd_plan_m=control.sd_plan_m or 0.0,
            sd_height_m=control.sd_height_m or 0.0,
            span=control.span,
        )
        earlier = fixes.get(control.name)
        if earlier is not None:
            remark = _contradiction(control.name, earlier, fix, log.lengths)
            if remark is not None:
                found.append(remark)
                continue
            fix = _together(earlier, fix)
        fixes[control.name] = fix
    return Outcome(fixes, tuple(found))


def _in_plane(
    control: Control, grid: Grid | None, lengths: Lengths, found: list[Diagnostic]
) -> tuple[float, float] | None:
    if control.lat_deg is not None and control.lon_deg is not None:
        if grid is None:
            return None  # said on the line of the control or of the grid
        _warn_outside(control, grid, control.lon_deg, control.lat_deg, found)
        place = grid.from_lon_lat(control.lon_deg, control.lat_deg)
        if control.also_m is not None and math.dist(place, control.also_m) > max(
            control.sd_plan_m or 0.0, SAME_PLACE_M
        ):
            found.append(
                error(
                    "controls-two-places",
                    f"{control.name} has two places in one row of its file, "
                    f"{lengths.said(math.dist(place, control.also_m))} apart: by `lat` and `lon`, and by `east` and "
                    "`north`",
                    control.span,
                    f"correct one, or leave it empty: `{place[0]:.0f},{place[1]:.0f}` is where `lat` and `lon` lie in {grid.name}",
                )
            )
            return None
    else:
        assert control.east_m is not None
        assert control.north_m is not None
        place = control.east_m, control.north_m
        if grid is not None:
            lon, lat = grid.to_lon_lat(np.array(place[:1]), np.array(place[1:]))
            _warn_outside(control, grid, float(lon[0]), float(lat[0]), found)
    if grid is not None and not _computable(place, grid):
        found.append(
            error(
                "outside-grid",
                f"control {control.name} is too far from the area of {grid.name} to be computed in it",
                control.span,
                "look at the figures, at which is east and which north, and at the `grid` line",
            )
        )
        return None
    return place


def _computable(place: tuple[float, float], grid: Grid) -> bool:
    if not all(map(math.isfinite, place)):
        return False
    factors = grid.convergence_and_scale(np.array(place[:1]), np.array(place[1:]))
    return all(bool(np.isfinite(factor).all()) for factor in factors)


def _warn_outside(control: Control, grid: Grid, lon: float, lat: float, found: list[Diagnostic]) -> None:
    if not (math.isfinite(lon) and math.isfinite(lat)) or grid.covers(lon, lat):
        return
    found.append(
        warning(
            "outside-zone",
            f"control {control.name} lies at {abs(lat):.1f} {'N' if lat >= 0 else 'S'} "
            f"{abs(lon):.1f} {'E' if lon >= 0 else 'W'}, outside the area of {grid.name}",
            control.span,
            _exchanged(control, grid) or "look at the figures and at the zone in the `grid` line",
        )
    )


def _exchanged(control: Control, grid: Grid) -> str | None:
    """What to type where the same figures would lie inside the area: the other way round, or with another letter."""
    tried: list[tuple[str, float, float]] = []
    if control.lat_deg is not None and control.lon_deg is not None:
        lat, lon = control.lat_deg, control.lon_deg
        tried = [
            (
                f"{'E' if lon >= 0.0 else 'W'}, or `{'W' if lon >= 0.0 else 'E'}`? with that it would lie inside",
                -lon,
                lat,
            ),
            (
                f"{'N' if lat >= 0.0 else 'S'}, or `{'S' if lat >= 0.0 else 'N'}`? with that it would lie inside",
                lon,
                -lat,
            ),
            ("latitude and longitude exchanged? the other way round it would lie inside", lat, lon),
            (
                "latitude and longitude exchanged? the other way round it would lie inside",
                -abs(lat),
                abs(lon),
            ),
            ("latitude and longitude exchanged? the other way round it would lie inside", abs(lat), abs(lon)),
        ]
    elif control.east_m is not None and control.north_m is not None:
        east, north = np.array([control.north_m]), np.array([control.east_m])
        lon, lat = (float(one[0]) for one in grid.to_lon_lat(east, north))
        typed = f"`{control.north_m:.10g} E {control.east_m:.10g} N`"
        tried = [(f"east and north exchanged? {typed} lies inside it", lon, lat)]
    for words, lon, lat in tried:
        if math.isfinite(lon) and abs(lon) <= 180.0 and abs(lat) <= 90.0 and grid.covers(lon, lat):
            return words
    return None


def _contradiction(name: str, first: Fix, second: Fix, lengths: Lengths) -> Diagnostic | None:
    """A second fix of one place that its precision does not explain; it is not used."""
    apart = second.position_m - first.position_m
    variance = first.variance_m2 + second.variance_m2
    squares = apart**2 / np.maximum(variance, HELD_M**2)
    q, q_up = float(squares[0] + squares[1]), float(np.nan_to_num(squares[2]))
    if q <= PLAN_REFUSE and q_up <= UP_REFUSE:
        return None
    distance = math.hypot(apart[0], apart[1])
    fact = (
        f"{lengths.said(distance)} apart"
        if q > PLAN_REFUSE
        else f"{lengths.said(abs(apart[2]))} apart in height"
    )
    return warning(
        "fixes-disagree",
        f"the two fixes of {name} are {fact}, more than their errors allow; the second is not used",
        second.span,
        "correct one of them, or leave one out: `omit WHO WHY` under its line",
        labels=(Label(first.span, f"the first fix of {name}"),),
    )


def _together(first: Fix, second: Fix) -> Fix:
    """The weighted mean of two fixes; one that is held outweighs one with an error."""
    position, variance = first.position_m.copy(), first.variance_m2
    for axis in range(3):
        a, b = first.position_m[axis], second.position_m[axis]
        va, vb = first.variance_m2[axis], second.variance_m2[axis]
        if math.isnan(a) or (vb == 0.0 < va and not math.isnan(b)):
            position[axis], variance[axis] = b, vb
        elif math.isnan(b) or (va == 0.0 < vb):
            continue
        elif va == vb == 0.0:
            position[axis] = (a + b) / 2.0
        else:
            position[axis] = (a * vb + b * va) / (va + vb)
            variance[axis] = va * vb / (va + vb)
    return Fix(
        position_m=position,
        sd_plan_m=math.sqrt(variance[0]),
        sd_height_m=math.sqrt(variance[2]),
        span=first.span,
        sure=first.sure or first.span.file != second.span.file,
    )


_NEAR_M = 30.0
"""A station that comes out so near to a known point, or within three of its deviations, may be the one that was meant."""


def unreached(
    log: Log, fixes: Mapping[str, Fix], network: Network, raw: Places, sd_m: Floats
) -> list[Diagnostic]:
    """A question about each known point of the page that the walk never comes to and one of its stations lies at; of others a note.

    `sd_m` (n,) is how well each station is known. A point that was sighted is used, and one of a file is one of many.
    """
    pages = {leg.span.file for leg in log.legs}
    used = {item.target for item in log.items if isinstance(item, Sight)}
    used.update(*(line.stations for line in log.sections))
    known = [network.index[name] for name in fixes if name in network.index]
    free = network.placed.copy()
    free[known] = False
    found: list[Diagnostic] = []
    for name, fix in fixes.items():
        if name in used or name in network.index or fix.span.file not in pages:
            continue
        apart = np.hypot(*(raw.position_m[:, :2] - fix.position_m[:2]).T)
        near = free & (apart <= np.maximum(3.0 * sd_m, _NEAR_M))
        if not near.any():
            found.append(note("control-unreached", f"the walk never comes to {name}", fix.span))
            continue
        nearest = int(np.where(near, apart, np.inf).argmin())
        station = network.names[nearest]
        said = warning(
            "control-unreached",
            f"the walk never comes to {name}; {station} comes out {log.lengths.said_finely(float(apart[nearest]))} from it",
            fix.span,
            f"if it is that station, write `control {station}`; else walk to the point, or sight it",
        )
        # A start that is called otherwise is asked about there.
        begun = next((one.span for one in log.addresses if one.station == station), None)
        found.append(said if begun is None else replace(said, rests_on=(Label(begun, ""),)))
    return found
