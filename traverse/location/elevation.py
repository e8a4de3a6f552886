"""Heights read with an altimeter: their drift through the day, and how they agree with the slopes."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping

import numpy as np

from traverse.adjustment.least_squares import PlaceObservation
from traverse.adjustment.records import Network
from traverse.diagnostic import Diagnostic, Outcome, note, warning
from traverse.length import Lengths
from traverse.location.records import PlacedAddress
from traverse.log.items import Elevation
from traverse.log.records import Log
from traverse.record import record
from traverse.settled import settled
from traverse.trade import ELEVATION_SD_M


@record(frozen=True, slots=True, kw_only=True)
class HeightReading:
    """A height read, the day's drift taken out."""

    booked: Elevation
    height_m: float
    sd_m: float


def readings_without_drift(log: Log) -> Outcome[tuple[HeightReading, ...]]:
    """Every height read, in the order of the log.

    Two readings at one place give the day's drift, which is taken out in proportion to time, or, where a
    reading has none, to the order of the readings. The first reading of a day stands.
    """
    days: dict[dt.date | None, list[Elevation]] = {}
    for item in log.items:
        if isinstance(item, Elevation):
            days.setdefault(item.address.conditions.date, []).append(item)
    found: dict[int, HeightReading] = {}
    remarks: list[Diagnostic] = []
    for booked in days.values():
        moment = _moments(booked)
        rate = _rate(booked, moment)
        if rate:
            twice = _last_repeated(booked)
            change = rate * (moment[-1] - moment[0])
            remarks.append(
                note(
                    "drift",
                    f"heights read twice at one place show a drift of {log.lengths.said(change, sign=True)} through the day; "
                    "it is taken out of all of them",
                    twice.span,
                )
            )
        for one, at in zip(booked, moment, strict=True):
            found[id(one)] = HeightReading(
                booked=one,
                height_m=one.height_m - rate * (at - moment[0]),
                sd_m=ELEVATION_SD_M if one.sd_m is None else one.sd_m,
            )
    ordered = tuple(found[id(item)] for item in log.items if id(item) in found)
    return Outcome(ordered, tuple(remarks))


def check_elevations(
    readings: tuple[HeightReading, ...],
    addresses: tuple[PlacedAddress | None, ...],
    sd_up_m: Mapping[str, float],
    lengths: Lengths,
) -> tuple[Diagnostic, ...]:
    """A warning for a height read that the slopes do not bear out."""
    remarks = []
    for reading in readings:
        address = addresses[reading.booked.address.index]
        if address is None or address.up_m is None:
            continue
        sd = math.hypot(reading.sd_m, sd_up_m.get(reading.booked.address.station or "", 0.0))
        off = reading.height_m - address.up_m
        if abs(off) > 3.0 * sd:
            way = "above" if off > 0.0 else "below"
            remarks.append(
                warning(
                    "elevation-disagrees",
                    f"the height read here, {lengths.said(reading.height_m)}, lies {lengths.said(abs(off))} {way} "
                    f"what the slopes give, {lengths.said(address.up_m)}",
                    reading.booked.span,
                    "look at the figure, and at the slopes on the way here; was the altimeter reset?",
                )
            )
    return tuple(remarks)


def elevation_observations(readings: tuple[HeightReading, ...], network: Network) -> list[PlaceObservation]:
    """Heights read at stations as observations."""
    found = []
    for reading in readings:
        station = network.index.get(reading.booked.address.station or "")
        if station is None or not network.placed[station] or reading.sd_m <= 0.0:
            continue
        weight = np.diag((0.0, 0.0, 1.0 / reading.sd_m**2))
        found.append(
            PlaceObservation(station=station, value_m=np.array((0.0, 0.0, reading.height_m)), weight=weight)
        )
    return found


def _moments(booked: list[Elevation]) -> list[float]:
    """Minutes of the day, or the order where a reading has no time."""
    if all(one.time is not None for one in booked):
        return [one.time.hour * 60.0 + one.time.minute for one in booked if one.time is not None]
    return [float(i) for i in range(len(booked))]


def _place(one: Elevation) -> object:
    return one.address.station if one.address.station is not None else id(one.address)


def _rate(booked: list[Elevation], moment: list[float]) -> float:
    """Drift in metres for a unit of time, by least squares over all places read twice or more; 0 with none."""
    by_place: dict[object, list[int]] = {}
    for i, one in enumerate(booked):
        by_place.setdefault(_place(one), []).append(i)
    time, height = np.array(moment), np.array([one.height_m for one in booked])
    over, under = 0.0, 0.0
    for several in by_place.values():
        t, h = time[several] - time[several].mean(), height[several] - height[several].mean()
        over, under = over + float(t @ h), under + float(t @ t)
    return settled(over / under) if under > 0.0 else 0.0


def _last_repeated(booked: list[Elevation]) -> Elevation:
    seen: set[object] = set()
    last = booked[-1]
    for one in booked:
        if _place(one) in seen:
            last = one
        seen.add(_place(one))
    return last
