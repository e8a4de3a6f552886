"""What one log says, as rows of the tables of a season."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from traverse.angle import wrap_360
from traverse.compile import Compiled
from traverse.diagnostic import Diagnostic
from traverse.ground.records import Traverse
from traverse.location.records import PlacedAddress, PlaceKind, Survey
from traverse.log.described import described
from traverse.log.items import LegKind, Photo, Sample, Words, WordsKind
from traverse.log.records import Log
from traverse.output.figures import angle, degree, length, significant
from traverse.output.many_logs import CheckedLog, how_it_closes, look_first
from traverse.season.season_tables import Row, Rows
from traverse.sheet.paper.words import plain, whole_title
from traverse.sheet.said.sentences import closure_name, grid_words, misclosure, not_adjusted
from traverse.sheet.said.stops import numbered_hazards
from traverse.source import Span
from traverse.structure.readings.records import LineAttitude, Placed, PlaneAttitude, StrikeAttitude
from traverse.structure.records import Geology
from traverse.wording import capital

if TYPE_CHECKING:
    from traverse.location.crs import Grid


def day_rows(path: str, compiled: Compiled) -> Rows:
    """Every row of a log by its table's name; `path` is the log from the folder of the season, as it is shown.

    Of a log with errors the heading, the people, the units and the messages.
    """
    log, trav = compiled.log, compiled.trav
    at = _SaidIn(path, log.file)
    rows: Rows = {
        "logs": [],
        "people": [
            {"path": path, "initials": plain(one.initials), "name": plain(one.name or one.initials)}
            for one in log.heading.party
        ],
        "units": _units(path, log, trav.geology if trav else None),
        "answered": [
            {
                **at(one.span),
                "question": plain(one.message),
                "who": plain(one.answer.who),
                "why": plain(one.answer.why),
            }
            for one in compiled.diagnostics
            if one.answer is not None
        ],
        "messages": messages(at, compiled.diagnostics),
    }
    if trav is not None:
        placed = _LonLat(trav.survey)
        rows |= {
            "stations": _stations(path, trav),
            "attitudes": _attitudes(at, trav.geology, placed),
            "contacts": _contacts(at, trav.geology, placed),
            **_things(at, trav, placed),
            "known_points": _known_points(at, log, trav.survey),
            "closures": _closures(at, log, trav.survey),
        }
    rows["logs"].append(_log(path, compiled, rows))
    return rows


class _SaidIn:
    """Log, line and file of a record."""

    def __init__(self, path: str, own: str) -> None:
        self._path, self._own = path, own

    def __call__(self, span: Span | None) -> Row:
        other = span is not None and span.file != self._own
        return {
            "path": self._path,
            "line": span.line if span else None,
            "file": plain(span.file) if span is not None and other else None,
        }


class _LonLat:
    """Longitude and latitude of places in the grid of one log."""

    def __init__(self, survey: Survey) -> None:
        self._grid: Grid | None = None
        if survey.frame.epsg is not None and not survey.frame.local:
            from traverse.location.crs import open_grid

            self._grid = open_grid(survey.frame.epsg)

    def _turned(self, east_m: float, north_m: float) -> list[float] | None:
        if self._grid is None:
            return None
        import numpy as np

        lon, lat = self._grid.to_lon_lat(np.array([east_m]), np.array([north_m]))
        return _degrees(float(lon[0]), float(lat[0]))

    def __call__(self, place: PlacedAddress | None) -> Row:
        if place is None:
            return {"place": None, "east": None, "north": None, "up": None}
        return {
            "place": self._turned(place.east_m, place.north_m),
            "east": length(place.east_m),
            "north": length(place.north_m),
            "up": length(place.up_m),
        }


def _degrees(lon_deg: float | None, lat_deg: float | None) -> list[float] | None:
    """A longitude and latitude; None where there is none on the Earth."""
    if lon_deg is None or lat_deg is None or not (abs(lon_deg) <= 180.0 and abs(lat_deg) <= 90.0):
        return None
    lon, lat = degree(lon_deg), degree(lat_deg)
    assert lon is not None
    assert lat is not None
    return [lon, lat]


def messages(at: Callable[[Span | None], Row], diagnostics: Sequence[Diagnostic]) -> list[Row]:
    """Errors and open warnings."""
    return [
        {
            **at(one.span),
            "severity": one.kind,
            "words": plain(one.message),
            "remedy": plain("; ".join(one.hints)) or None,
        }
        for one in diagnostics
        if one.kind in {"error", "warning"}
    ]


def unread_rows(path: str, problem: str, diagnostics: Sequence[Diagnostic] = ()) -> Rows:
    """The rows of a file that could not be read at all."""
    said: Row = {
        "path": path,
        "line": None,
        "file": None,
        "severity": "error",
        "words": plain(problem),
        "remedy": None,
    }
    told = messages(
        _SaidIn(path, diagnostics[0].span.file if diagnostics and diagnostics[0].span else path),
        diagnostics,
    )
    told = told or [said]
    row: Row = {
        "path": path,
        "place": None,
        "standing": "unreadable",
        "title": path,
        "errors": len(told),
        "warnings": 0,
        "look_first": told[0]["words"],
        "closes": "not yet",
    }
    return {"logs": [row], "messages": told}


def _log(path: str, compiled: Compiled, rows: Rows) -> Row:
    log, trav = compiled.log, compiled.trav
    survey = trav.survey if trav else None
    days = sorted(day.date.isoformat() for day in log.heading.days)
    kinds = Counter(one.kind for one in compiled.diagnostics)
    worst = max(survey.closures, key=lambda one: one.q) if survey is not None and survey.closures else None
    checked = CheckedLog(name=path, log=log, survey=survey, diagnostics=compiled.diagnostics)
    open_walk = not_adjusted(log, survey) if survey is not None else None
    return {
        "path": path,
        "place": _walk(survey) if survey else None,
        "standing": "with errors" if compiled.failed else "counted",
        "of": None,
        "title": whole_title(log),
        "area": plain(log.heading.area or "") or None,
        "date": days[0] if days else None,
        "last_date": days[-1] if days else None,
        "party": "; ".join(one["name"] for one in rows["people"]) or None,
        "grid": _grid(log, survey),
        "epsg": survey.frame.epsg if survey else log.heading.epsg,
        "stations": len(survey.places) if survey else None,
        "legs": sum(leg.booked.kind is not LegKind.SIDE for leg in survey.legs) if survey else None,
        "length": length(sum(leg.horizontal_m for leg in survey.legs if leg.booked.kind is not LegKind.SIDE))
        if survey
        else None,
        "loops": len(survey.closures) if survey else None,
        "closes": how_it_closes(survey),
        "ratio": significant(worst.ratio) if worst else None,
        "q": significant(worst.q) if worst else None,
        "adjusted": survey.adjusted if survey else None,
        **{
            name: len(rows[name]) if trav else None
            for name in ("attitudes", "contacts", "samples", "photos", "hazards")
            if name in rows or trav is None
        },
        "answered": len(rows["answered"]),
        "warnings": kinds["warning"],
        "errors": kinds["error"],
        "look_first": plain(look_first(checked)) or None,
        "caution": f"{open_walk}." if open_walk else None,
        "sheet": None,
    }


def _grid(log: Log, survey: Survey | None) -> str | None:
    if survey is not None:
        return grid_words(survey.frame)
    return None if log.heading.epsg is None else f"EPSG:{log.heading.epsg}"


def _walk(survey: Survey) -> list[list[list[float]]] | None:
    """The walk as lines of longitude and latitude; side shots each by itself."""
    lines: list[list[list[float]]] = []
    end: str | None = None
    for leg in survey.legs:
        first, last = (survey.places.get(name) for name in (leg.booked.start, leg.booked.end))
        ends = [_degrees(one.lon_deg, one.lat_deg) if one else None for one in (first, last)]
        if ends[0] is None or ends[1] is None:
            continue
        if leg.booked.kind is LegKind.SIDE or leg.booked.start != end:
            lines.append([ends[0]])
        lines[-1].append(ends[1])
        end = None if leg.booked.kind is LegKind.SIDE else leg.booked.end
    return lines or None


def _units(path: str, log: Log, geology: Geology | None) -> list[Row]:
    read = Counter(one.unit for one in geology.attitudes) if geology else Counter()
    return [
        {
            "path": path,
            "rank": rank,
            "letters": plain(unit.letters),
            "name": plain(unit.name),
            "age": plain(unit.age or "") or None,
            "colour": unit.colour,
            "intrusive": unit.intrusive,
            "also": " ".join(unit.also) or None,
            "attitudes": read[unit.letters] if geology else None,
        }
        for rank, unit in enumerate(log.units, start=1)
    ]


def _stations(path: str, trav: Traverse) -> list[Row]:
    units = {one.station: one.letters + ("?" if one.queried else "") for one in trav.geology.station_units}
    return [
        {
            "path": path,
            "place": _degrees(place.lon_deg, place.lat_deg),
            "name": plain(place.name),
            "kind": place.kind.value,
            "unit": units.get(place.name),
            "east": length(place.east_m),
            "north": length(place.north_m),
            "up": length(place.up_m),
            "sd": length(place.ellipse.major_m) if place.ellipse else None,
            "standing": place.standing.value,
        }
        for place in trav.survey.places.values()
    ]


def _attitudes(at: _SaidIn, geology: Geology, placed: _LonLat) -> list[Row]:
    rows: list[Row] = []
    for one in geology.attitudes:
        plane = one if isinstance(one, PlaneAttitude) else None
        line = one if isinstance(one, LineAttitude) else None
        strike = one.strike_deg if isinstance(one, StrikeAttitude) else plane.course_deg if plane else None
        rows.append(
            {
                **at(one.span),
                "station": plain(one.station),
                "unit": one.unit,
                "kind": described(one.booked).row_kind,
                "written": plain(one.written),
                "strike": angle(None if strike is None else wrap_360(strike)),
                "dip": angle(plane.dip_deg if plane else None),
                "trend": angle(line.trend_deg if line else None),
                "plunge": angle(line.plunge_deg if line else None),
                "overturned": plane.overturned if plane else None,
                **placed(one.place),
            }
        )
    return rows


def _contacts(at: _SaidIn, geology: Geology, placed: _LonLat) -> list[Row]:
    return [
        {
            **at(one.booked.span),
            "kind": described(one.booked).row_kind,
            "younger": one.younger,
            "older": one.older,
            "identity": one.certainty.value if one.certainty else None,
            "queried": one.queried,
            "half_width": length(one.half_width_m),
            **placed(one.place),
        }
        for one in geology.contacts
    ]


def _things(at: _SaidIn, trav: Traverse, placed: _LonLat) -> Rows:
    """Samples, photos and hazards; what has no place stands without one."""
    rows: Rows = {"samples": [], "photos": [], "hazards": []}
    marks = {item.span: mark for mark, item in numbered_hazards(trav.log)}
    units = {one.station: one.letters for one in trav.geology.station_units}
    found = {one.record.span: one for one in trav.geology.things}
    for item in trav.log.items:
        thing: Placed | None = found.get(item.span)
        base = {
            **at(item.span),
            "station": plain(item.address.at_or_from),
            **placed(thing.place if thing else None),
        }
        match item:
            case Sample():
                unit = units.get(item.address.station or "")
                rows["samples"].append(
                    base
                    | {"unit": unit, "label": plain(item.label), "words": plain(item.words or "") or None}
                )
            case Photo():
                looking = angle(thing.azimuth_deg) if thing else None
                words = plain(item.words or "") or None
                rows["photos"].append(
                    base | {"number": plain(item.number), "looking": looking, "words": words}
                )
            case Words(kind=WordsKind.HAZARD):
                rows["hazards"].append(base | {"mark": marks[item.span], "words": capital(plain(item.text))})
    return rows


def _known_points(at: _SaidIn, log: Log, survey: Survey) -> list[Row]:
    rows: list[Row] = []
    for one in log.controls:
        place = survey.places.get(one.name)
        held = place is not None and place.kind is PlaceKind.CONTROL
        rows.append(
            {
                **at(one.span),
                "place": _degrees(place.lon_deg, place.lat_deg) if place is not None and held else None,
                "name": plain(one.name),
                "written": plain(one.written),
                "epsg": survey.frame.epsg,
                "lon": degree(one.lon_deg),
                "lat": degree(one.lat_deg),
                "east": length(one.east_m),
                "north": length(one.north_m),
                "up": length(one.height_m),
            }
        )
    return rows


def _closures(at: _SaidIn, log: Log, survey: Survey) -> list[Row]:
    several = len(survey.closures) > 1
    return [
        {
            **at(one.span),
            "name": plain(closure_name(one, several=several)),
            "kind": one.kind.value,
            "words": misclosure(one, survey, log.lengths, length=True),
            "length": length(one.length_m),
            "misclosure": length(one.misclosure.distance_m),
            "up": length(one.misclosure.up_m),
            "ratio": significant(one.ratio),
            "q": significant(one.q),
            "adjusted": one.adjusted,
        }
        for one in survey.closures
    ]
