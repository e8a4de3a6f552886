"""GPX 1.1 through gpxpy: stations and what was noted as waypoints, the walk as a track, for whoever goes back there."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

import shapely
from shapely.geometry.base import BaseGeometry

from traverse.layers.records import LayerSet, MapLayer
from traverse.output.gis.extras import library
from traverse.output.gis.layer_columns import rounded, xml_text

_WAYPOINTS = ("stations", "planes", "lines", "contacts", "samples", "photos", "hazards")
_CALLED = {
    "stations": ("name",),
    "planes": ("station", "kind", "written"),
    "lines": ("station", "kind", "written"),
    "contacts": ("kind", "younger", "older"),
    "samples": ("label",),
    "photos": ("label",),
    "hazards": ("mark",),
}
"""Fields that the name of a waypoint is made of."""
_TOLD = {"east", "north", "up", "lon", "lat", "rotation", "line", "file"}
"""Fields that its comment need not say."""


def write_gpx(layers: LayerSet) -> bytes:
    """Layers by longitude and latitude as the bytes of a GPX file. Raises `MissingExtraError` without gpxpy."""
    library("gpxpy", extra="gis", what="GPX")
    import gpxpy.gpx

    file = gpxpy.gpx.GPX()
    file.creator = "traverse"
    file.name = xml_text(layers.about.title)
    file.description = xml_text(layers.about.words)
    file.author_name = (
        xml_text(", ".join(words for what, words in layers.about.told if what == "party")) or None
    )
    for name in _WAYPOINTS:
        file.waypoints += list(_waypoints(layers.layer(name)))
    walk = _track("walk", _walk(layers.layer("legs")))
    walk.description = "legs as they lie after adjustment"
    tracks = layers.layer("tracks")
    received = [
        _track(xml_text(str(name or "track of a receiver")), _pieces(shape))
        for name, shape in zip(tracks.column("name"), tracks.shapes, strict=True)
    ]
    file.tracks += [one for one in (walk, *received) if one.segments]
    text: str = file.to_xml(version="1.1")
    return text.encode()


def _track(name: str, pieces: Iterable[list[tuple[float, float]]]) -> Any:
    """A track of gpxpy through pieces of longitudes and latitudes."""
    import gpxpy.gpx

    track = gpxpy.gpx.GPXTrack(name=name)
    for piece in pieces:
        segment = gpxpy.gpx.GPXTrackSegment()
        segment.points = [
            gpxpy.gpx.GPXTrackPoint(latitude=round(lat, 8), longitude=round(lon, 8)) for lon, lat in piece
        ]
        track.segments.append(segment)
    return track


def _pieces(shape: BaseGeometry | None) -> Iterator[list[tuple[float, float]]]:
    for part in () if shape is None else shapely.get_parts(shape):
        yield [(float(x), float(y)) for x, y in part.coords]


def _waypoints(layer: MapLayer) -> Iterator[Any]:
    import gpxpy.gpx

    names = [one.name for one in layer.fields]
    for shape, row in zip(layer.shapes, zip(*rounded(layer), strict=True), strict=True):
        if shape is None:
            continue
        known = dict(zip(names, row, strict=True))
        called = " ".join(str(known[one]) for one in _CALLED[layer.name] if known[one] is not None)
        told = "; ".join(
            f"{name} {value}"
            for name, value in known.items()
            if value not in {None, ""} and name not in _TOLD
        )
        lon, lat = shape.coords[0]
        yield gpxpy.gpx.GPXWaypoint(
            latitude=round(lat, 8),
            longitude=round(lon, 8),
            elevation=known["up"],
            name=xml_text(" ".join(called.split())),
            comment=xml_text(told) or None,
            type=layer.name,
        )


def _walk(legs: MapLayer) -> Iterator[list[tuple[float, float]]]:
    """Legs in walking order, those that go on where the one before ended in one piece."""
    piece: list[tuple[float, float]] = []
    before: object = None
    for shape, start, end in zip(legs.shapes, legs.column("from"), legs.column("to"), strict=True):
        if shape is None:
            continue
        points = [(float(x), float(y)) for x, y in shape.coords]
        if piece and start == before and piece[-1] == points[0]:
            piece += points[1:]
        else:
            if piece:
                yield piece
            piece = points
        before = end
    if piece:
        yield piece
