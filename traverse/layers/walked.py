"""Layers of the walk: stations, legs, loops, and what was read on the way."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import shapely

from traverse.layers.making import (
    Known,
    Reference,
    degrees,
    flag,
    metres,
    number,
    points,
    shapes,
    table,
    text,
)
from traverse.layers.records import MapLayer
from traverse.location.records import Closure, Place, PlacedLeg, Vector
from traverse.log.items import Address, Elevation
from traverse.source import Span

_STANDING = (
    "`adjusted` on a loop or tie that closes, `unchecked` where none comes by, `not adjusted` where all that"
    " leads there was left open."
)


def walked_layers(day: Reference) -> Iterator[MapLayer]:
    """Stations, legs, loops, elevations and times."""
    yield _stations(day)
    yield _legs(day)
    yield _tracks(day)
    yield _loops(day)
    yield _elevations(day)
    yield _times(day)


def _stations(day: Reference) -> MapLayer:
    trav = day.trav
    units = {one.station: one for one in trav.geology.station_units}
    first = trav.log.first_at

    def unit(one: Place) -> str | None:
        found = units.get(one.name)
        return None if found is None else found.letters

    def ellipse_deg(one: Place) -> float | None:
        return None if one.ellipse is None else day.true(one.ellipse.azimuth_deg) % 180.0

    def span(one: Place) -> Span | None:
        found = first.get(one.name)
        return None if found is None else found.span

    return points(
        day,
        "stations",
        "Stations of the walk, and landmarks that were sighted.",
        tuple(trav.survey.places.values()),
        (
            text("name", "Name as in the log.", lambda one: one.name),
            text(
                "kind",
                "How it got its place: `control` is a known point, `control not used` one that the walk contradicts.",
                lambda one: one.kind.value,
            ),
            text("standing", _STANDING, lambda one: one.standing.value),
            metres(
                "sd_east",
                "Standard deviation east; 0 where it is held, missing where nothing is known.",
                lambda one: one.sd_east_m,
            ),
            metres("sd_north", "The same north.", lambda one: one.sd_north_m),
            metres("sd_up", "The same of the height.", lambda one: one.sd_up_m),
            metres(
                "ellipse_major",
                "Larger half-axis of the error ellipse of one standard deviation.",
                lambda one: one.ellipse.major_m if one.ellipse else None,
            ),
            metres(
                "ellipse_minor",
                "Its smaller half-axis.",
                lambda one: one.ellipse.minor_m if one.ellipse else None,
            ),
            degrees("ellipse_azimuth", "True azimuth of its larger half-axis, 0 to 180.", ellipse_deg),
            text("unit", "Letters of the unit that it stands on, where that is known.", unit),
        ),
        lambda one: (one.east_m, one.north_m, one.up_m),
        line=span,
    )


def _legs(day: Reference) -> MapLayer:
    survey = day.trav.survey
    legs = tuple(one for one in survey.legs if one.booked.start in survey.places)
    starts = np.array([[(at := survey.places[one.booked.start]).east_m, at.north_m] for one in legs])
    ways = np.array([[one.adjusted.east_m, one.adjusted.north_m] for one in legs])
    lines: Any = shapely.linestrings(np.stack([starts, starts + ways], axis=1)) if legs else []
    drawn = dict(zip(map(id, legs), np.asarray(lines, dtype=object).tolist(), strict=True))
    return shapes(
        day,
        "legs",
        "Legs as they lie after adjustment; of a loop left open, as they were walked.",
        legs,
        (
            text("from", "Station that it starts from.", lambda one: one.booked.start),
            text("to", "Station that it was walked to.", lambda one: one.booked.end),
            text(
                "kind", "`to`, `close` back to a known place, or `side`.", lambda one: one.booked.kind.value
            ),
            degrees(
                "azimuth",
                "True azimuth, fore and back bearing reconciled.",
                lambda one: one.azimuth_true_deg,
            ),
            metres("horizontal", "On the ground's own level, as walked.", lambda one: one.horizontal_m),
            metres("rise", "Up positive; 0 where no slope was read.", lambda one: one.rise_m),
            flag("slope_known", "Whether a slope was read.", lambda one: one.slope_known),
            *_vector("raw", "of the leg before adjustment", lambda one: one.raw),
            *_vector("adjusted", "of the leg after adjustment", lambda one: one.adjusted),
            degrees("sd_bearing", "Standard deviation of the bearing.", lambda one: one.bearing_sd_deg),
            metres("sd_distance", "Standard deviation along the ground.", lambda one: one.distance_sd_m),
            text("standing", _STANDING, lambda one: one.standing.value),
            text("bearing", "Fore bearing as written.", lambda one: one.booked.bearing.written),
            text(
                "back",
                "Back bearing as written.",
                lambda one: one.booked.back_bearing.written if one.booked.back_bearing else None,
            ),
            text("distance", "Distance as written.", lambda one: one.booked.distance.written),
            text(
                "slope",
                "Slope as written.",
                lambda one: one.booked.slope.written if one.booked.slope else None,
            ),
        ),
        lambda one: drawn[id(one)],
        line=lambda one: one.booked.span,
    )


def _tracks(day: Reference) -> MapLayer:
    return shapes(
        day,
        "tracks",
        "Ways that receivers wrote down, from files that the log names; no place rests on them.",
        day.trav.survey.tracks,
        (text("name", "As the file has it.", lambda one: one.name),),
        lambda one: shapely.MultiLineString([list(line) for line in one.lines]),
        line=lambda one: one.span,
    )


def _vector(name: str, what: str, vector: Callable[[PlacedLeg], Vector]) -> tuple[Known[PlacedLeg], ...]:
    """East, north and up of a vector in the grid."""
    return (
        metres(f"{name}_east", f"East in the grid, {what}.", lambda one: vector(one).east_m),
        metres(f"{name}_north", f"North in the grid, {what}.", lambda one: vector(one).north_m),
        metres(f"{name}_up", f"Up, {what}.", lambda one: vector(one).up_m),
    )


def _loops(day: Reference) -> MapLayer:
    def ratio(one: Closure) -> float | None:
        return one.ratio

    return table(
        day,
        "loops",
        "Loops and ties, and how they close.",
        day.trav.survey.closures,
        (
            text(
                "kind",
                "`loop`, or `tie` between two names of a place or two known points.",
                lambda one: one.kind.value,
            ),
            text(
                "stations", "Along the walk; a loop's first station once.", lambda one: " ".join(one.stations)
            ),
            metres("length", "Horizontal, as walked.", lambda one: one.length_m),
            metres(
                "misclosure_east",
                "Computed end minus known end, in the grid.",
                lambda one: one.misclosure.east_m,
            ),
            metres("misclosure_north", "The same north.", lambda one: one.misclosure.north_m),
            metres("misclosure_up", "The same up.", lambda one: one.misclosure.up_m),
            metres("misclosure_distance", "Horizontal length of it.", lambda one: one.misclosure.distance_m),
            degrees(
                "misclosure_azimuth",
                "True azimuth from the known end to the computed one.",
                lambda one: day.true(one.misclosure.azimuth_deg),
            ),
            number("ratio", "Length over misclosure; missing below 0.5 mm.", ratio),
            metres(
                "expected",
                "Misclosure expected from the precision, one standard deviation.",
                lambda one: one.expected_m,
            ),
            number(
                "q",
                "Chi-square with two degrees of freedom: a sound loop is above 9.2 once in a hundred.",
                lambda one: one.q,
            ),
            number("q_up", "The same of the height, with one.", lambda one: one.q_up),
            flag("adjusted", "Whether it took part in the adjustment.", lambda one: one.adjusted),
        ),
        line=lambda one: one.span,
    )


def _elevations(day: Reference) -> MapLayer:
    survey = day.trav.survey
    read = tuple(
        (one, at)
        for one in day.trav.log.items
        if isinstance(one, Elevation) and (at := survey.at(one.address)) is not None
    )
    return points(
        day,
        "elevations",
        "Heights that were read on the way; `up` is the walk's own for the place.",
        read,
        (
            text(
                "station",
                "Station that it is at, or that its leg starts from.",
                lambda one: one[0].address.at_or_from,
            ),
            text(
                "time",
                "Hours and minutes.",
                lambda one: one[0].time.strftime("%H:%M") if one[0].time else None,
            ),
            metres("height", "As read.", lambda one: one[0].height_m),
            metres("sd", "Its standard deviation as noted.", lambda one: one[0].sd_m),
            text("source", "What it was read from.", lambda one: one[0].source),
        ),
        lambda one: (one[1].east_m, one[1].north_m, one[1].up_m),
        line=lambda one: one[0].span,
    )


def _times(day: Reference) -> MapLayer:
    def date(one: Address) -> str | None:
        return one.conditions.date.isoformat() if one.conditions.date is not None else None

    return table(
        day,
        "times",
        "When the party was where.",
        tuple(one for one in day.trav.log.addresses if one.time is not None),
        (
            text("station", "Station, or the one that the leg starts from.", lambda one: one.at_or_from),
            text("date", "Year, month and day.", date),
            text("time", "Hours and minutes.", lambda one: one.time.strftime("%H:%M") if one.time else None),
        ),
        line=lambda one: one.span,
    )
