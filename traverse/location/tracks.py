"""Tracks of receivers brought into the grid, to be drawn beside the walk; nothing is computed from them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from traverse.diagnostic import Diagnostic, Outcome, note
from traverse.location.records import PlacedTrack
from traverse.log.records import Log

if TYPE_CHECKING:
    from traverse.location.crs import Grid


def placed_tracks(log: Log, grid: Grid | None) -> Outcome[tuple[PlacedTrack, ...]]:
    """Every track of the log in the grid; none where it has no grid."""
    if grid is None:
        told: dict[tuple[str, int], Diagnostic] = {}
        for one in log.tracks:
            told.setdefault(
                (one.span.file, one.span.line),
                note(
                    "track-without-grid",
                    "a track counts by latitude and longitude, and no grid says where that is on the map; it is not drawn",
                    one.span,
                    "add `grid EPSG:n`",
                ),
            )
        return Outcome((), tuple(told.values()))
    found: list[PlacedTrack] = []
    for track in log.tracks:
        pieces: list[tuple[tuple[float, float], ...]] = []
        for piece in track.pieces:
            lat, lon = np.array(piece, dtype=np.float64).T
            east, north = grid.from_lon_lat_all(lon, lat)
            at = np.column_stack([east, north])
            kept = at[np.isfinite(at).all(axis=1)]
            if len(kept) > 1:
                pieces.append(tuple((float(x), float(y)) for x, y in kept))
        if pieces:
            found.append(PlacedTrack(name=track.name, lines=tuple(pieces), span=track.span))
    return Outcome(tuple(found))
