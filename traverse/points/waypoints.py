"""GPX: waypoints and tracks, through gpxpy.

Heights are left alone: a receiver counts them from a surface of its own, and they are two to three times worse than its
plan (common practice, no source).
"""

from __future__ import annotations

import re
from codecs import BOM_UTF16_BE, BOM_UTF16_LE
from typing import Any
from xml.parsers import expat

from traverse.points.records import FilePoint, FileTrack, PointFile, UnreadableError

_NO_GPX = "write the file anew from the receiver, as GPX 1.1"

_DECLARED = re.compile(r"^<\?xml.*?\?>", re.DOTALL)
"""The first line of XML, which names the encoding of its bytes."""


class _ForbiddenError(Exception):
    """A declaration that no file of a receiver has."""


def read_gpx(name: str, data: bytes) -> PointFile:
    """Waypoints that have a name, and every track."""
    try:
        import gpxpy
    except ImportError as missing:
        raise UnreadableError(
            f"{name}: reading GPX needs a library that is not installed",
            "`pip install 'traverse-notebook[gis]'`, or give the points as CSV",
        ) from missing
    text = _harmless(name, data)
    try:
        file: Any = gpxpy.parse(text)
    except Exception as problem:
        # gpxpy lets through what its XML parser and its figures raise.
        raise UnreadableError(f"{name} is no GPX that can be read", _NO_GPX) from problem
    points = tuple(
        FilePoint(name=one.name.strip(), lat_deg=float(one.latitude), lon_deg=float(one.longitude))
        for one in file.waypoints
        if one.name and one.name.strip()
    )
    tracks = [
        FileTrack(
            name=track.name,
            pieces=tuple(
                tuple((float(one.latitude), float(one.longitude)) for one in segment.points)
                for segment in track.segments
                if len(segment.points) > 1
            ),
        )
        for track in file.tracks
    ]
    return PointFile(points=points, tracks=tuple(one for one in tracks if one.pieces))


def _harmless(name: str, data: bytes) -> Any:
    """The file, once it is known to be XML that declares no document type: entities could swell it without end.

    As text where it is UTF-16, of which gpxpy reads no bytes.
    """

    def refuse(*_: object) -> None:
        raise _ForbiddenError

    parser = expat.ParserCreate()
    parser.StartDoctypeDeclHandler = refuse
    parser.EntityDeclHandler = refuse
    try:
        parser.Parse(data, True)
    except _ForbiddenError as declared:
        raise UnreadableError(
            f"{name} declares entities, as no receiver does, and is not read", _NO_GPX
        ) from declared
    except (expat.ExpatError, ValueError, LookupError) as problem:
        # The last of an encoding that there is not.
        where = f", line {problem.lineno} of it" if isinstance(problem, expat.ExpatError) else ""
        raise UnreadableError(f"{name} is no XML{where}", _NO_GPX) from problem
    if data.startswith((BOM_UTF16_LE, BOM_UTF16_BE)):
        return _DECLARED.sub("", data.decode("utf-16"))
    return data
