"""Logs made from records, for tests of numbers that should not depend on how a log is read."""

from __future__ import annotations

import datetime as dt

from traverse.angle import quadrant
from traverse.log.items import Address, Leg, LegKind, Side, Tie
from traverse.log.readings import (
    Bearing,
    Conditions,
    Declination,
    Distance,
    North,
    PaceCourse,
    PaceKind,
    Precision,
    Slope,
    SlopeKind,
    Unit,
)
from traverse.log.records import Adjust, Control, Heading, Log, Rule
from traverse.source import Span

FILE = "walk.trav"
WIDTH = 40


def span(line, column=1, end=WIDTH):
    return Span(FILE, line, column, end)


def conditions(
    *,
    bearings=North.TRUE,
    declination=None,
    change=None,
    year=2026,
    date="2026-06-09",
    pace=None,
    precision=None,
):
    stated = declination is not None
    return Conditions(
        date=dt.date.fromisoformat(date) if date else None,
        bearings=bearings,
        declination=Declination(
            value_deg=declination, year=year, change_deg=change, source="chart", span=span(2)
        )
        if stated
        else None,
        pace=pace,
        precision=precision or Precision(),
    )


TRUE = conditions()


def pace(length=None, *, kind=PaceKind.SINGLE, course=None, counts=(), line=3):
    return PaceCourse(who=None, kind=kind, length_m=length, course_m=course, counts=counts, span=span(line))


def distance(text, line=1):
    """`64p`, `66dp`, `31.5m`, `105ft`; a bare number is metres."""
    if isinstance(text, int | float):
        return Distance(value=float(text), unit=Unit.METRES, written=f"{text} m", span=span(line))
    figure = text.rstrip("pdsmft")
    return Distance(value=float(figure), unit=Unit(text[len(figure) :]), written=text, span=span(line))


def slope(value, line=1):
    """Degrees, or per cent as in `8%`."""
    kind = SlopeKind.GRADE if isinstance(value, str) else SlopeKind.DEGREES
    number = float(value.rstrip("%")) if isinstance(value, str) else float(value)
    return Slope(value=number, kind=kind, written=str(value), span=span(line))


def bearing(read, line=1):
    """An azimuth, or a quadrant bearing such as `N41E`."""
    if isinstance(read, str):
        azimuth = quadrant(read[0], float(read[1:-1]), read[-1])
        return Bearing(azimuth_deg=azimuth, written=read, span=span(line))
    return Bearing(azimuth_deg=read % 360.0, written=f"{read:03g}", span=span(line))


def control(name, east, north, height=None, *, sd=None, sd_height=None, line=5):
    return Control(
        name=name, east_m=east, north_m=north, lat_deg=None, lon_deg=None, sd_plan_m=sd, height_m=height,
        sd_height_m=sd_height, source=None, written="control", span=span(line),
    )  # fmt: skip


def control_at(name, lat, lon, height=None, *, sd=None, line=5):
    return Control(
        name=name, east_m=None, north_m=None, lat_deg=lat, lon_deg=lon, sd_plan_m=sd, height_m=height,
        sd_height_m=sd, source=None, written="control", span=span(line),
    )  # fmt: skip


def tie(first, second, *, sd=None, line):
    return Tie(first=first, second=second, sd_m=sd, span=span(line))


def along(leg, start, end=None, *, side=None, offset=None, index=0):
    return Address(
        station=None,
        leg=leg,
        start=distance(start),
        end=None if end is None else distance(end),
        side=Side(side) if side else None,
        offset=None if offset is None else distance(offset),
        index=index,
        conditions=leg.conditions,
        span=span(900 + index),
    )


def walk(*legs, controls=(), ties=(), rule=None, anyway=None, epsg=None, paces=(), at=TRUE, addresses=None):
    """A log of legs, each `(start, end, azimuth, distance[, {slope, back, back_slope, horizontal, sd, kind}])`.

    The leg at index i stands in line 100 + 10 i. `kind` is told by whether the end has been reached before.
    """
    reached, made = {}, []
    for i, (start, end, azimuth, length, *more) in enumerate(legs):
        extra = more[0] if more else {}
        line = 100 + 10 * i
        reached.setdefault(start)
        kind = extra.get("kind", LegKind.CLOSE if end in reached else LegKind.TO)
        reached.setdefault(end)
        made.append(
            Leg(
                kind=LegKind(kind),
                start=start,
                end=end,
                bearing=bearing(azimuth, line),
                distance=distance(length, line),
                slope=slope(extra["slope"], line) if "slope" in extra else None,
                horizontal=extra.get("horizontal", False),
                sd_m=extra.get("sd"),
                back_bearing=bearing(extra["back"], line) if "back" in extra else None,
                back_slope=slope(extra["back_slope"], line) if "back_slope" in extra else None,
                conditions=extra.get("at", at),
                span=span(line),
                end_span=span(line),
                index=i,
            )
        )
    return Log(
        file=FILE,
        heading=Heading(
            epsg=epsg,
            grid_span=span(4) if epsg else None,
            first=at,
            adjust=Adjust(rule=Rule(rule), anyway=anyway, span=span(6)) if rule else None,
        ),
        controls=tuple(controls),
        paces=tuple(paces),
        stations=tuple(reached),
        legs=tuple(made),
        ties=tuple(ties),
        addresses=tuple(addresses(made)) if addresses else (),
    )
