"""Declination from the World Magnetic Model, for the log's place and days."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from traverse.adjustment.records import Fix
from traverse.angle import wrap_180
from traverse.diagnostic import Diagnostic, Outcome, error, warning
from traverse.log.readings import Conditions
from traverse.log.records import Log
from traverse.trade import MODEL_DECLINATION_DEG

if TYPE_CHECKING:
    from traverse.location.crs import Grid

FIRST_YEAR, END_YEAR = 2010, 2030
"""Years that the models shipped with the program cover: from the first to before the end."""


def model_declinations(
    log: Log, grid: Grid | None, fixes: Mapping[str, Fix]
) -> Outcome[dict[dt.date, float]]:
    """Declination in degrees, east positive, at the first control on each day that takes it from the model."""
    wanted = {id(c.declination): c for c in _conditions(log) if c.declination and c.declination.from_model}
    days = {c.date: c for c in _conditions(log) if c.declination and c.declination.from_model}
    if not wanted:
        return Outcome({}, tuple(_compared(log, grid, fixes)))
    span = next(iter(wanted.values())).declination
    assert span is not None
    place = _first_control(log, grid, fixes)
    if place is None:
        return Outcome(
            {},
            (
                error(
                    "model-needs-place",
                    "the model gives the declination of a place, and this log has no `control` in a `grid`",
                    span.span,
                    "add `grid EPSG:n` and a `control`, or write the value of the map: `declination VALUE E|W, YEAR, SOURCE`",
                ),
            ),
        )
    found: dict[dt.date, float] = {}
    remarks: list[Diagnostic] = []
    for day, conditions in days.items():
        assert conditions.declination is not None
        if day is None:
            remarks.append(
                error(
                    "model-needs-date",
                    "the model gives the declination of a day, and no `date` stands above",
                    conditions.declination.span,
                    "add the day, `date YYYY-MM-DD`",
                )
            )
        elif not FIRST_YEAR <= day.year < END_YEAR:
            remarks.append(
                error(
                    "model-years",
                    f"the magnetic models here cover {FIRST_YEAR} to {END_YEAR - 1}; this day is in {day.year}",
                    conditions.declination.span,
                    "write the value and where it comes from: `declination VALUE E|W, YEAR, SOURCE`",
                )
            )
        else:
            found[day] = declination_at(*place, day)
    return Outcome(found, tuple(remarks))


def declination_at(lat_deg: float, lon_deg: float, height_m: float, day: dt.date) -> float:
    """Declination by the model in degrees, east positive.

    Source: World Magnetic Model of the year's epoch, as the package pygeomag carries it; checked in
    tests/published against the model's own test values.
    """
    return float(_field(lat_deg, lon_deg, height_m, day)[1].d)


def model_words(log: Log, grid: Grid | None, fixes: Mapping[str, Fix], day: dt.date) -> str:
    """The model by name, with the standard deviation that its makers give its declination at the first control."""
    place = _first_control(log, grid, fixes)
    if place is None or not FIRST_YEAR <= day.year < END_YEAR:
        return "World Magnetic Model"
    model, field = _field(*place, day)
    return f"{model.replace('-', '')}, ± {field.calculate_uncertainty().d:.1f}°"


@lru_cache(maxsize=256)
def _field(lat_deg: float, lon_deg: float, height_m: float, day: dt.date) -> tuple[str, Any]:
    """Name of the model that holds on a day, and its field at a place; what may have been misread is tried at one place."""
    from pygeomag import GeoMag

    first = dt.date(day.year, 1, 1)
    year = day.year + (day - first).days / (dt.date(day.year + 1, 1, 1) - first).days
    magnetic = GeoMag(base_year=day.year)
    field = magnetic.calculate(glat=lat_deg, glon=lon_deg, alt=height_m / 1000.0, time=year)
    return str(magnetic.model), field


def _conditions(log: Log) -> Iterable[Conditions]:
    """Every set of conditions of the log, each object once."""
    every = [
        log.heading.first,
        *(leg.conditions for leg in log.legs),
        *(address.conditions for address in log.addresses),
    ]
    every += [item.conditions for item in log.items if hasattr(item, "conditions")]
    return {id(one): one for one in every}.values()


def _first_control(
    log: Log, grid: Grid | None, fixes: Mapping[str, Fix]
) -> tuple[float, float, float] | None:
    """Latitude, longitude and height of the first control, where it can be told."""
    if grid is None:
        return None
    fix = next((fixes[control.name] for control in log.controls if control.name in fixes), None)
    if fix is None:
        return None
    lon, lat = grid.to_lon_lat(fix.position_m[:1], fix.position_m[1:2])
    if not (np.isfinite(lon[0]) and np.isfinite(lat[0])):
        return None
    return float(lat[0]), float(lon[0]), float(np.nan_to_num(fix.position_m[2]))


def modelled_deg(log: Log, grid: Grid | None, fixes: Mapping[str, Fix]) -> float | None:
    """What the model gives at the first control on the log's first day; None where either is not known to it."""
    day = next((c.date for c in _conditions(log) if c.date and FIRST_YEAR <= c.date.year < END_YEAR), None)
    place = _first_control(log, grid, fixes)
    if day is None or grid is None or place is None or not grid.covers(place[1], place[0]):
        return None
    return declination_at(*place, day)


def _in_zone_beside(
    log: Log, grid: Grid, fixes: Mapping[str, Fix], stated_deg: float, day: dt.date
) -> str | None:
    """`east` or `west`: where the zone lies in which the same figures would bear the declination out."""
    first = next((control for control in log.controls if control.name in fixes), None)
    place = _first_control(log, grid, fixes)
    if first is None or first.east_m is None or place is None or grid.zone_deg is None:
        return None
    lat, lon, height = place
    for step, way in ((1, "east"), (-1, "west")):
        beside = declination_at(lat, wrap_180(lon + step * grid.zone_deg), height, day)
        if abs(beside - stated_deg) <= MODEL_DECLINATION_DEG / 2.0:
            return f"{way}, where these figures would give {_east_west(beside)}"
    return None


def _compared(log: Log, grid: Grid | None, fixes: Mapping[str, Fix]) -> Iterable[Diagnostic]:
    """A warning for a stated declination that the model does not bear out."""
    stated = {
        id(c.declination): (c.declination, c.date)
        for c in reversed(list(_conditions(log)))
        if c.declination and c.date and FIRST_YEAR <= c.date.year < END_YEAR
    }
    if not stated or grid is None:
        return
    place = _first_control(log, grid, fixes)
    if place is None or not grid.covers(place[1], place[0]):
        return  # a control outside its grid is told of, and the model of that place says nothing of this one
    for declination, day in reversed(list(stated.values())):
        value = declination.on(day)
        model = declination_at(*place, day)
        if value is not None and abs(value - model) > MODEL_DECLINATION_DEG:
            beside = _in_zone_beside(log, grid, fixes, value, day)
            zone = f"; or is the zone in the `grid` line the next to the {beside}?" if beside else ""
            yield warning(
                "declination-model",
                f"a declination of {_east_west(value)} is stated; the magnetic model gives {_east_west(model)} "
                "at the first control on that day",
                declination.span,
                f"look at its letter, its year and the chart{zone}",
                "the stated value is used",
                rests_on=[declination.span, *(control.span for control in log.controls)],
            )


def _east_west(degrees: float) -> str:
    return f"{abs(degrees):.1f} {'W' if degrees < 0.0 else 'E'}"
