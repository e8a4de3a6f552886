"""What a map's zone may be called by its EPSG number: a zone has one for each datum."""

from __future__ import annotations

import re
from typing import NamedTuple


class _Series(NamedTuple):
    """Zones of one datum, numbered in a row."""

    datum: str
    side: str
    """`N` or `S`."""
    first: int
    last: int
    base: int
    """Number of a zone, less the zone."""


_SERIES = (
    _Series("WGS 84", "N", 1, 60, 32600),
    _Series("WGS 84", "S", 1, 60, 32700),
    _Series("ETRS89", "N", 28, 38, 25800),
    _Series("ED50", "N", 28, 38, 23000),
    _Series("NAD83", "N", 1, 23, 26900),
    _Series("NAD27", "N", 1, 22, 26700),
    _Series("GDA94", "S", 48, 58, 28300),
    _Series("SIRGAS 2000", "S", 17, 25, 31960),
)
"""Source: the EPSG dataset, which the tests compare."""
_ZONE = re.compile(
    r"(?:utm|zone|mga)?[ \t]*(?:zone[ \t]*)?(\d{1,2})[ \t]*([a-z])?(?:orth|outh)?$", re.IGNORECASE
)


def utm_zone(words: str) -> tuple[int, str] | None:
    """Zone and side of a UTM zone as people write it; `""` where the side isn't said. None of anything else.

    A letter after the zone is `N` or `S`, or that of a band of latitude, of which those from N on are north.

    >>> utm_zone("UTM 33N"), utm_zone("utm33"), utm_zone("zone 18 S"), utm_zone("UTM 33T"), utm_zone("lambert")
    ((33, 'N'), (33, ''), (18, 'S'), (33, 'N'), None)
    """
    match = _ZONE.match(words.strip(" \t"))
    if match is None or not 1 <= int(match[1]) <= 60:
        return None
    letter = (match[2] or "").upper()
    if letter and letter not in {"N", "S"}:
        letter = "N" if letter > "N" else "S"
    return int(match[1]), letter


def zone_codes(zone: int, side: str) -> str:
    """The numbers that a zone may have, with the datum of each.

    >>> zone_codes(33, "N")
    '`EPSG:32633` on WGS 84, `EPSG:25833` on ETRS89, `EPSG:23033` on ED50; the map says which'
    """
    said = [
        f"`EPSG:{one.base + zone}` on {one.datum}{'' if side else ' north' if one.side == 'N' else ' south'}"
        for one in _SERIES
        if one.side.startswith(side) and one.first <= zone <= one.last
    ]
    return f"{', '.join(said)}; the map says which"
