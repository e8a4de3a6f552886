"""Points and tracks as a file has them."""

from __future__ import annotations

from traverse.record import record


@record(frozen=True, slots=True, kw_only=True)
class FilePoint:
    """A point with a name, either by latitude and longitude (WGS 84) or in a grid."""

    name: str
    line: int | None = None
    """Of a table, the line that it begins on; None where the file has none that a user would look for."""
    lat_deg: float | None = None
    lon_deg: float | None = None
    east_m: float | None = None
    north_m: float | None = None
    also_m: tuple[float, float] | None = None
    """East and north that the file has beside latitude and longitude; whether they agree, the log's grid tells."""
    height_m: float | None = None
    sd_m: float | None = None
    """In plan; None where the file says nothing of it."""
    sd_height_m: float | None = None


@record(frozen=True, slots=True, kw_only=True)
class FileTrack:
    """A way that a receiver wrote down."""

    name: str | None
    pieces: tuple[tuple[tuple[float, float], ...], ...]
    """Latitude and longitude in degrees (WGS 84), along the way; a new piece where the receiver lost its fix."""


@record(frozen=True, slots=True, kw_only=True)
class PointFile:
    """All that a file has."""

    points: tuple[FilePoint, ...]
    tracks: tuple[FileTrack, ...] = ()
    unread: tuple[str, ...] = ()
    """Names of columns that say nothing of a known point."""
    epsg: int | None = None
    """The grid that eastings and northings count in, where the file says so."""


class UnreadableError(Exception):
    """A file that holds no points; its text is the message, in trade words, `hint` what to do."""

    def __init__(self, message: str, hint: str) -> None:
        super().__init__(message)
        self.hint = hint
