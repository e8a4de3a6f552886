"""Heights read with an altimeter or off a map: drift through the day, datum, and what does not fit the rest."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import replace

import numpy as np

from traverse.adjustment.least_squares import Adjusted, PlaceObservation
from traverse.adjustment.misread.explained import Check
from traverse.adjustment.misread.forest import Forest
from traverse.adjustment.records import Floats, Network
from traverse.diagnostic import Diagnostic, Label, Outcome, note, warning
from traverse.length import METRES_PER_FOOT, Lengths
from traverse.location.other_figures import heights_misread, other_heights
from traverse.location.records import OddHeights, PlacedAddress, Suspect
from traverse.log.items import Elevation
from traverse.log.readings import Unit
from traverse.log.records import Control, Log
from traverse.record import record
from traverse.settled import settled
from traverse.source import Span
from traverse.trade import (
    ALONE,
    ALTIMETER_SET_M,
    DRIFT_MOST_M_AN_HOUR,
    DRIFT_SD_M_AN_HOUR,
    ELEVATION_SD_M,
    OUTLYING,
)

_ALTIMETER = {"", "altimeter", "barometer"}
"""Sources whose heights drift with the air; other heights stand as they are."""
_FAR_SD = 3.0
"""Standard deviations beyond which two heights of one place are asked about; common practice, no source."""
_BARE = re.compile(r"[\d.,]+")
_LEAST_BARE = 2
"""One alone is asked about by itself."""
_IS_SET = re.compile(r"\bset\b", re.IGNORECASE)


def is_altimeter(item: Elevation) -> bool:
    """Whether a height drifts with the air."""
    return (item.source or "").lower() in _ALTIMETER


@record(frozen=True, slots=True, kw_only=True)
class HeightReading:
    """A height read, the day's drift taken out."""

    booked: Elevation
    height_m: float
    sd_m: float
    drift_sd_m: float = 0.0
    """Of what the air did since the nearest reading that tells its drift: no reading is accused of that."""

    @property
    def station(self) -> str:
        """Where it was read; empty on a leg."""
        return self.booked.address.station or ""


def readings_without_drift(
    log: Log, aside: AbstractSet[int] = frozenset(), points: AbstractSet[str] = frozenset()
) -> Outcome[tuple[HeightReading, ...]]:
    """Every height read, in the order of the log.

    Two readings of an altimeter at one place, or readings at known heights, give its drift: it runs evenly with time
    from one such reading to the next, or, where a reading has no time, with the order of the readings; before the
    first and after the last of them it stands still. Where no height is known, the first reading of a day stands.
    Readings that are set `aside`, by their identities, and the heights of `points` tell no drift.
    """
    days: dict[dt.date | None, list[Elevation]] = {}
    for item in log.items:
        if isinstance(item, Elevation) and is_altimeter(item) and id(item) not in aside:
            days.setdefault(item.address.conditions.date, []).append(item)
    known = _known_heights(log, aside, points)
    drift: dict[int, float] = {}
    unsure: dict[int, float] = {}
    remarks: list[Diagnostic] = []
    for booked in days.values():
        moment = hours_of(booked)
        several, said = _drift(booked, moment, known, log.lengths)
        remarks += said
        unsure.update(
            {id(one): sd for one, sd in zip(booked, _drift_sd_m(booked, moment, known), strict=True)}
        )
        drift.update({id(one): value for one, value in zip(booked, several, strict=True)})
    return Outcome(
        tuple(
            HeightReading(
                booked=item,
                height_m=settled(item.height_m - drift.get(id(item), 0.0)),
                sd_m=ELEVATION_SD_M if item.sd_m is None else item.sd_m,
                drift_sd_m=unsure.get(id(item), 0.0),
            )
            for item in log.items
            if isinstance(item, Elevation)
        ),
        tuple(remarks),
    )


def _known_heights(log: Log, aside: AbstractSet[int], points: AbstractSet[str]) -> dict[str, float]:
    """Heights that no altimeter told, by station: of controls, and off a map."""
    known = {
        one.name: one.height_m for one in log.controls if one.height_m is not None and one.name not in points
    }
    for item in log.items:
        if isinstance(item, Elevation) and not is_altimeter(item) and id(item) not in aside:
            known.setdefault(item.address.station or "", item.height_m)
    known.pop("", None)
    return known


def hours_of(booked: Sequence[Elevation]) -> list[float]:
    """Hours of the day, or the order where a reading has no time."""
    if all(one.time is not None for one in booked):
        return [one.time.hour + one.time.minute / 60.0 for one in booked if one.time is not None]
    return [float(i) for i in range(len(booked))]


def _drift(
    booked: list[Elevation], hours: list[float], known: Mapping[str, float], lengths: Lengths
) -> tuple[Sequence[float], list[Diagnostic]]:
    """What the altimeter read too much at each reading, and what is said of it."""
    places = [one.address.station or f"#{i}" for i, one in enumerate(booked)]
    telling = [i for i, place in enumerate(places) if place in known or places.count(place) > 1]
    nodes = sorted({hours[i] for i in telling})
    nothing = [0.0] * len(booked)
    if len(nodes) < 2 and not any(places[i] in known for i in telling):
        return nothing, []
    free = sorted({places[i] for i in telling} - known.keys())
    columns = len(nodes) + len(free)
    rows, right = [], []
    for i in telling:
        row = np.zeros(columns)
        row[nodes.index(hours[i])] = 1.0
        if places[i] in known:
            right.append(booked[i].height_m - known[places[i]])
        else:
            row[len(nodes) + free.index(places[i])] = 1.0
            right.append(booked[i].height_m)
        rows.append(row)
    if not any(places[i] in known for i in telling):
        row = np.zeros(columns)
        row[0] = 1.0  # the first reading stands
        rows.append(row)
        right.append(0.0)
    for k in range(len(nodes) - 1):  # what nothing else tells runs evenly
        row = np.zeros(columns)
        row[k], row[k + 1] = -1e-4, 1e-4
        rows.append(row)
        right.append(0.0)
    solved, *_ = np.linalg.lstsq(np.array(rows), np.array(right), rcond=None)
    at_nodes = [settled(float(value), 4) for value in solved[: len(nodes)]]
    timed = all(one.time is not None for one in booked)
    for k in range(len(nodes) - 1):
        change = abs(at_nodes[k + 1] - at_nodes[k])
        if change > DRIFT_MOST_M_AN_HOUR * max(nodes[k + 1] - nodes[k] if timed else 1.0, 1.0):
            last = booked[max(i for i in telling if hours[i] == nodes[k + 1])]
            first = booked[min(i for i in telling if hours[i] == nodes[k])]
            fact = (
                f"{lengths.said(first.height_m)} (line {first.span.line}) and {lengths.said(last.height_m)} here are "
                f"{lengths.said(change)} apart for what should be one height or a known one"
            )
            return nothing, [
                note(  # which of them is wrong is said where the rest of the walk tells it
                    "drift-too-fast",
                    f"{fact}, more than the air does to an altimeter in that time; no drift is taken out",
                    last.span,
                    "look at both figures on the page; was the altimeter set anew between?",
                )
            ]
    found = [settled(float(np.interp(hour, nodes, at_nodes)), 4) for hour in hours]
    change = at_nodes[-1] - at_nodes[0]
    if all(abs(value) < 0.05 for value in at_nodes):
        return found, []
    last = booked[max(i for i in telling if hours[i] == nodes[-1])]
    if len(nodes) == 1:
        how = f"the altimeter read {lengths.said(at_nodes[0], sign=True)} off a known height; it is taken out of the day's readings"
    else:
        way = f"from {_clock(nodes[0])} to {_clock(nodes[-1])}" if timed else "by the order of the readings"
        how = (
            f"heights read again at one place, or at known heights, show a drift of {lengths.said(change, sign=True)} {way}; "
            "it is taken out evenly between those readings and stands still before the first and after the last"
        )
    return found, [note("drift", how, last.span)]


def _drift_sd_m(booked: list[Elevation], hours: list[float], known: Mapping[str, float]) -> list[float]:
    """What the air may have done to each reading since the nearest one that tells the drift; 0 where none does."""
    places = [one.address.station for one in booked]
    nodes = np.array([hour for hour, place in zip(hours, places, strict=True) if place in known])
    if not len(nodes):
        return [0.0] * len(booked)
    return [settled(DRIFT_SD_M_AN_HOUR * float(np.abs(nodes - hour).min())) for hour in hours]


def _clock(hours: float) -> str:
    minutes = round(hours * 60.0)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def elevation_observations(readings: Sequence[HeightReading], network: Network) -> list[PlaceObservation]:
    """Heights read at stations as observations."""
    found = []
    for reading in readings:
        station = network.index.get(reading.station)
        if station is None or not network.placed[station]:
            continue
        weight = np.diag((0.0, 0.0, 1.0 / max(reading.sd_m, 0.01) ** 2))
        found.append(
            PlaceObservation(station=station, value_m=np.array((0.0, 0.0, reading.height_m)), weight=weight)
        )
    return found


def elevation_checks(readings: Sequence[HeightReading], network: Network, raw_m: Floats) -> list[Check]:
    """Heights read at stations, as checks of how high the walk came."""
    forest = Forest(network)
    found = []
    for reading in readings:
        station = network.index.get(reading.station)
        way = forest.from_root(station) if station is not None and network.placed[station] else None
        if station is not None and way:
            found.append(
                Check(
                    steps=way,
                    misclosure_m=np.array((0.0, 0.0, float(raw_m[station, 2]) - reading.height_m)),
                    covariance_m2=np.diag((1.0, 1.0, max(reading.sd_m, 0.01) ** 2)),
                    onto=np.diag((0.0, 0.0, 1.0)),
                )
            )
    return found


def farthest_off(readings: Sequence[HeightReading], network: Network, adjusted: Adjusted) -> int | None:
    """The reading that fits the rest worst, by its standardised residual; None where all fit.

    Of two that stand alone against each other it is the later.
    Source: W. Baarda (1968), A testing procedure for use in geodetic networks: data snooping; from memory.
    """
    worst: tuple[float, int] | None = None
    for i, reading in enumerate(readings):
        station = network.index.get(reading.station)
        if station is None or not network.placed[station]:
            continue
        left = reading.sd_m**2 - float(adjusted.covariance_m2[station, 2, 2])
        if left <= 1e-6 * reading.sd_m**2:
            continue  # nothing else tells the height
        sd = math.sqrt(left + reading.drift_sd_m**2)
        off = settled(abs(reading.height_m - float(adjusted.position_m[station, 2])) / sd, 4)
        if off > OUTLYING and (worst is None or off >= worst[0] - 1e-3):
            worst = off, i
    return None if worst is None else worst[1]


def check_elevations(
    readings: Sequence[HeightReading],
    addresses: tuple[PlacedAddress | None, ...],
    sd_up_m: Mapping[str, float],
    lengths: Lengths,
    odd: OddHeights,
    known: Sequence[Span],
) -> Outcome[tuple[Suspect, ...]]:
    """A warning for each height read that the rest does not bear out, and the figure it may have been.

    `odd` are those that were set aside, and `known` the lines of known heights and of what fails in height: where
    one is doubted, what disagrees with it is told there.
    """
    remarks, suspects = [], []
    for reading in readings:
        booked = reading.booked
        address = addresses[booked.address.index]
        if address is None or address.up_m is None:
            continue
        sd = math.hypot(reading.sd_m, reading.drift_sd_m, sd_up_m.get(reading.station, 0.0))
        off = reading.height_m - address.up_m
        alone = odd.of(booked)
        if abs(off) <= 3.0 * sd and alone is None:
            continue
        way = "above" if off > 0.0 else "below"
        near, *more = _other_figures(reading, address.up_m, sd) or (None,)
        asked = (
            ""
            if near is None
            else f"; was it {', or '.join(f'{one[0]}, {one[1]}' for one in (near, *more))}?"
        )
        said, without = lengths.said(booked.height_m), lengths.said(reading.height_m)
        said = said if said == without else f"{said}, {without} without the drift of the day"
        others = "" if alone is None else alone.or_others
        asked = f"{asked}{others}" if near or others else "; was the altimeter reset?"
        one = warning(
            "elevation-disagrees",
            f"the height read here, {said}, lies {lengths.said(abs(off))} {way} "
            f"what the rest of the walk gives, {lengths.said(address.up_m)}; it is not used",
            booked.span,
            f"look at the figure, and at the slopes on the way here{asked}",
        )
        rests_on = () if alone is not None else tuple(Label(span, "") for span in known)
        doubts = () if alone is None else tuple(other.span for other in alone.others)
        remarks.append(replace(one, rests_on=rests_on, doubts=doubts))
        if near is not None:
            suspects.append(
                Suspect(
                    span=booked.span,
                    start=None,
                    end=None,
                    what=f"the height at {reading.station}" if reading.station else "the height",
                    slip=near[1],
                    reading=near[0],
                    written=booked.written,
                    misclosure_after_m=settled(abs(near[2])),
                    q_after=settled((near[2] / sd) ** 2),
                )
            )
    return Outcome(tuple(suspects), tuple(remarks))


def _other_figures(reading: HeightReading, up_m: float, sd_m: float) -> Sequence[tuple[str, str, float]]:
    """The likeliest other figure that would fit, how it was misread, and how far off it would lie; and one about as likely."""
    figure, _, unit = reading.booked.written.partition(" ")
    found: list[tuple[float, str, str, float]] = []
    try:
        for other in heights_misread(figure, unit, reading.booked.height_m):
            off = reading.height_m + other.height_m - reading.booked.height_m - up_m
            if abs(off) <= 3.0 * sd_m:
                found.append((settled((off / sd_m) ** 2 + other.rank), other.reading, other.slip, off))
    except ValueError:
        return ()
    found.sort()
    return [(text, words, off) for rank, text, words, off in found[:2] if rank <= found[0][0] + ALONE]


def lift_m(readings: Sequence[HeightReading], network: Network, up_m: Floats) -> float | None:
    """What raw heights are raised by where no known point has a height: the first reading is the datum."""
    if any(fix.has_height for fix in network.fixes.values()):
        return None
    for reading in readings:
        station = network.index.get(reading.station)
        if station is not None and network.placed[station]:
            return settled(reading.height_m - float(up_m[station]))
    return None


def heights_apart(log: Log, odd: OddHeights) -> Iterator[Diagnostic]:
    """A question where the first altimeter reading of a day at a known point is too far off its height, once a log.

    What was set there is held to how well both were read, and to the drift since the first reading of the day; where
    nobody says that it was set, to how one is set in the morning besides. `odd` are figures that are asked about.
    """
    doubted = {one.what.removeprefix("control ") for one in odd.found if one.control is not None}
    known: dict[str, list[Control]] = {}
    for control in log.controls:
        if control.height_m is not None and control.name not in doubted:
            known.setdefault(control.name, []).append(control)
    days: dict[tuple[str, dt.date | None], list[Elevation]] = {}
    for item in log.items:
        if isinstance(item, Elevation) and is_altimeter(item):
            days.setdefault((item.span.file, item.address.conditions.date), []).append(item)
    set_sd_m = 0.0 if _IS_SET.search(log.heading.heights or "") else ALTIMETER_SET_M
    told: set[str] = set()
    for (file, _), booked in days.items():
        hours = hours_of(booked)
        at = [i for i, one in enumerate(booked) if one.address.station in known]
        if not at or file in told:
            continue
        first = booked[at[0]]
        controls = known[first.address.station or ""]
        if id(first) in odd.readings or len(controls) > 1:
            continue
        (control,) = controls
        assert control.height_m is not None
        off = first.height_m - control.height_m
        sd = math.hypot(
            ELEVATION_SD_M if first.sd_m is None else first.sd_m,
            control.sd_height_m or 0.0,
            DRIFT_SD_M_AN_HOUR * (hours[at[0]] - hours[0]),
        )
        if settled(abs(off) / math.hypot(sd, set_sd_m), 4) > _FAR_SD:
            told.add(file)
            yield _height_asked(log, control, first, off, sd)


def _height_asked(log: Log, control: Control, reading: Elevation, off_m: float, sd_m: float) -> Diagnostic:
    lengths = log.lengths
    assert control.height_m is not None
    other = min(
        (one for one in other_heights(control) if abs(one.height_m - reading.height_m) <= _FAR_SD * sd_m),
        key=lambda one: one.rank + settled(((one.height_m - reading.height_m) / sd_m) ** 2, 6),
        default=None,
    )
    slip = f"; was it {other.reading}, {other.slip.removeprefix('height: ')}?" if other is not None else ""
    return warning(
        "known-height-disagrees",
        f"the height of control {control.name}, {lengths.said(control.height_m)}, lies {lengths.said(abs(off_m))} "
        f"{'below' if off_m > 0.0 else 'above'} what the altimeter read there, {lengths.said(reading.height_m)}; "
        "all heights of the walk go by the control",
        control.span,
        f"look at both figures on the page, and at the map or the receiver{slip}",
        "an altimeter that was set to something else is answered with `checked`",
        labels=(Label(reading.span, f"{reading.written} is read here"),),
    )


def _heights_in_other_unit(log: Log) -> Iterator[Diagnostic]:
    """A question for each log where in the other unit all heights read at known ones agree with them, and as they stand none does."""
    known = {one.name: one for one in log.controls if one.height_m is not None}
    bare: dict[str, list[Elevation]] = defaultdict(list)
    for item in log.items:
        if isinstance(item, Elevation) and is_altimeter(item) and _BARE.fullmatch(item.written):
            bare[item.span.file].append(item)
    lines = {party.file: party.distances for party in log.parties}
    for file, read in bare.items():
        line = lines.get(file, log.heading.distances_span)
        at = [(one, known[one.address.station]) for one in read if one.address.station in known]
        if line is None or not at or len(read) < _LEAST_BARE:
            continue
        feet = _in_feet(read[0])
        factor = 1.0 / METRES_PER_FOOT if feet else METRES_PER_FOOT
        if settled(min(_off_sd(at, 1.0)), 6) <= _FAR_SD or settled(max(_off_sd(at, factor)), 6) > _FAR_SD:
            continue
        stated, meant = (Unit.FEET, Unit.METRES) if feet else (Unit.METRES, Unit.FEET)
        names = [one.name.lower() for one in (stated, meant)]
        first, control = at[0]
        assert control.height_m is not None
        apart = first.height_m - control.height_m
        asked = warning(
            "heights-unit",
            f"in {names[0]} the {len(read)} heights read without a unit lie {log.lengths.said(abs(apart))} {'above' if apart > 0.0 else 'below'} "
            f"the known height of {control.name}; in {names[1]} they agree with it",
            line,
            f"`distances {names[1]}`, if the party measured so; else look at the height of {control.name} (line {control.span.line}), or "
            f"type the unit behind each that was read, `{first.written} {meant.value}`",
            labels=(Label(first.span, f"{first.written} is read here"),),
        )
        yield replace(asked, doubts=(*(one.span for one in read), *(one.span for _, one in at)))


def _off_sd(at: Sequence[tuple[Elevation, Control]], times: float) -> list[float]:
    """How far each height read lies off the known one, were it so many times as high, in standard deviations."""
    return [
        abs(times * one.height_m - (control.height_m or 0.0))
        / math.hypot(ALTIMETER_SET_M, ELEVATION_SD_M, control.sd_height_m or 0.0)
        for one, control in at
    ]


def with_unit_first(log: Log, told: Sequence[Diagnostic]) -> tuple[Diagnostic, ...]:
    """That question before what is said of single heights, which rests on it."""
    asked = tuple(_heights_in_other_unit(log))
    doubted = {span: one.span for one in asked for span in one.doubts}
    return (
        *asked,
        *(
            replace(one, rests_on=(*one.rests_on, Label(line, "")))
            if one.span is not None and (line := doubted.get(one.span)) is not None
            else one
            for one in told
        ),
    )


def _in_feet(one: Elevation) -> bool:
    figure = float(one.written.replace(",", "."))
    return abs(one.height_m - figure * METRES_PER_FOOT) < abs(one.height_m - figure)
