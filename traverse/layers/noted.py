"""Layers of what was noted at places: samples, photos, hazards and the rest, in the party's words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from traverse.layers.making import Known, Reference, degrees, points, rotation, text
from traverse.layers.records import MapLayer
from traverse.log.described import described
from traverse.log.items import Photo, Sample, UnitHere, Words, WordsKind
from traverse.sheet.said.stops import numbered_hazards
from traverse.structure.readings.records import Placed


def noted_layers(day: Reference) -> Iterator[MapLayer]:
    """Samples, photos, hazards, notes."""
    things = day.trav.geology.things
    samples = [one for one in things if isinstance(one.record, Sample)]
    photos = [one for one in things if isinstance(one.record, Photo)]
    hazards = [one for one in things if isinstance(one.record, Words) and one.record.kind is WordsKind.HAZARD]
    kept = {id(one) for one in (*samples, *photos, *hazards)}
    marks = {id(words): mark for mark, words in numbered_hazards(day.trav.log)}
    view = degrees("azimuth", "True azimuth of the view; missing where it was not noted.", _azimuth)
    turned: Known[Placed] = rotation(
        "rotation",
        "The same from the map's north, clockwise: grid north in a grid, true north on a map of longitude and latitude.",
        lambda one: None if one.azimuth_deg is None else day.rotation(one.azimuth_deg),
    )
    runs = degrees("azimuth", "True azimuth in which a line of the ground runs.", _azimuth)
    unit: Known[Placed] = text(
        "unit",
        "Letters of the unit, of a place called by one.",
        lambda one: one.record.letters if isinstance(one.record, UnitHere) else None,
    )
    label = text("label", "Its label or number.", _label)
    mark: Known[Placed] = text("mark", "Its mark on the sheet.", lambda one: marks.get(id(one.record)))
    kind: Known[Placed] = text("kind", "What it is.", lambda one: described(one.record).row_kind)
    yield _placed(day, "samples", "Samples where they were taken.", samples, (label, _WORDS))
    yield _placed(day, "photos", "Photos where they were taken.", photos, (label, _WORDS, view, turned))
    yield _placed(
        day,
        "hazards",
        "Hazards that were noticed: not all there are. Local rules and the leader's risk assessment come first.",
        hazards,
        (mark, _WORDS),
    )
    rest = [one for one in things if id(one) not in kept]
    yield _placed(
        day,
        "notes",
        "What else was noted, where it was: words, units and lines of the ground.",
        rest,
        (kind, label, _WORDS, unit, runs),
    )


def _placed(
    day: Reference, name: str, means: str, things: Sequence[Placed], known: Sequence[Known[Placed]]
) -> MapLayer:
    station: Known[Placed] = text(
        "station", "Station that it is at, or that its leg starts from.", lambda one: one.station
    )
    return points(
        day,
        name,
        means,
        things,
        (station, *known),
        lambda one: (one.place.east_m, one.place.north_m, one.place.up_m),
        line=lambda one: one.record.span,
    )


def _azimuth(one: Placed) -> float | None:
    return one.azimuth_deg


def _label(one: Placed) -> str | None:
    field = described(one.record).label
    return getattr(one.record, field) if field else None


def _words(one: Placed) -> str | None:
    field = described(one.record).words
    return getattr(one.record, field) if field else None


_WORDS: Known[Placed] = text("words", "What was written.", _words)
