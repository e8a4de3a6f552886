"""The walk at the heights of the grid: the ground of a section and what was met on it then stand in one datum."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from traverse.heights.records import Terrain
from traverse.location.records import PlacedAddress, Survey
from traverse.settled import settled, settled_all
from traverse.structure.readings.records import Attitude, PlacedContact

_Read = TypeVar("_Read", Attitude, PlacedContact)


def survey_on(terrain: Terrain, survey: Survey) -> Survey:
    """The survey with the grid's height at each station that has one of the walk; all else as it is."""
    places = {name: place for name, place in survey.places.items() if place.up_m is not None}
    ups = terrain.at(
        np.array([place.east_m for place in places.values()]),
        np.array([place.north_m for place in places.values()]),
    )
    lifted = {
        name: replace(place, up_m=settled(up))
        for (name, place), up in zip(places.items(), ups.tolist(), strict=True)
        if math.isfinite(up)
    }
    return replace(survey, places={name: lifted.get(name, place) for name, place in survey.places.items()})


def read_on(terrain: Terrain, readings: Iterable[_Read]) -> tuple[_Read, ...]:
    """Contacts or attitudes with the grid's height where each lies.

    What a place is off by in plan then moves its height by the slope there, joined with the grid's own error: so far along
    a walk heights that were climbed are off by more.
    """
    return tuple(replace(one, place=_place_on(terrain, one.place)) for one in readings)


def _place_on(terrain: Terrain, place: PlacedAddress) -> PlacedAddress:
    if place.up_m is None:
        return place
    up = float(terrain.at(np.array([place.east_m]), np.array([place.north_m]))[0])
    if not math.isfinite(up):
        return place
    # At the edge of the grid it counts as level.
    slopes = np.nan_to_num(terrain.slope(place.east_m, place.north_m, terrain.spacing_m / 2.0))
    up = settled(up)
    return replace(
        place,
        up_m=up,
        relative_up_m=settled(place.relative_up_m + up - place.up_m),
        covariance_m2=_with_ground(place, settled_all(slopes), terrain.sd_up_m),
    )


def _with_ground(
    place: PlacedAddress, slopes: NDArray[np.float64], sd_up_m: float
) -> tuple[tuple[float, float, float], ...] | None:
    """The covariance of a place that lies on ground of a slope to the east and to the north."""
    if place.covariance_m2 is None:
        return None
    plan = np.array(place.covariance_m2)[:2, :2]
    way = np.vstack((np.eye(2), slopes))
    found = way @ plan @ way.T
    found[2, 2] += sd_up_m**2
    rows = settled_all(found).tolist()
    return tuple((float(a), float(b), float(c)) for a, b, c in rows)
