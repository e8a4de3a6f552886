"""Coordinate systems by their EPSG code; the one module that knows pyproj."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
import pyproj
from pyproj.exceptions import CRSError

from traverse.adjustment.records import Floats
from traverse.record import record

UTM_HINT = "a UTM zone on WGS 84 is EPSG:326zz north, 327zz south, such as EPSG:32630"


ZONE_DEG = 6.0
"""Width of a UTM zone; all zones are one projection about meridians so far apart. Source: the definition of UTM."""


class UnusableGridError(ValueError):
    """A code that no map grid in metres stands behind; says so in trade words."""


@record(frozen=True)
class Grid:
    """A projected system in metres, east and north.

    Longitudes and latitudes of `to_lon_lat` and `from_lon_lat` are WGS 84; convergence and scale are computed
    on the system's own ellipsoid.
    """

    epsg: int
    name: str
    west_south_east_north_deg: tuple[float, float, float, float] | None
    """Area the system is made for."""
    accuracy_m: float | None
    """Of the way to WGS 84, where it is known."""
    _own: pyproj.Proj
    _to_wgs84: pyproj.Transformer

    def convergence_and_scale(self, east_m: Floats, north_m: Floats) -> tuple[Floats, Floats]:
        """Azimuth of grid north in degrees, east positive, and point scale factor at places, each (n,)."""
        lon, lat = self._own(east_m, north_m, inverse=True)
        factors = self._own.get_factors(lon, lat)
        return np.asarray(factors.meridian_convergence), np.asarray(factors.meridional_scale)

    def to_lon_lat(self, east_m: Floats, north_m: Floats) -> tuple[Floats, Floats]:
        """WGS 84 longitude and latitude in degrees of places, each (n,)."""
        lon, lat = self._to_wgs84.transform(east_m, north_m)
        return np.asarray(lon), np.asarray(lat)

    def own_lon_lat(self, east_m: Floats, north_m: Floats) -> tuple[Floats, Floats]:
        """Longitude and latitude in degrees on the system's own datum of places, each (n,)."""
        lon, lat = self._own(east_m, north_m, inverse=True)
        return np.asarray(lon), np.asarray(lat)

    @property
    def wkt(self) -> str:
        """The system in the well-known text of ISO 32000-2, 12.10.3."""
        return str(pyproj.CRS.from_epsg(self.epsg).to_wkt("WKT1_ESRI"))

    def from_lon_lat(self, lon_deg: float, lat_deg: float) -> tuple[float, float]:
        """East and north in metres of a WGS 84 longitude and latitude."""
        east, north = self._to_wgs84.transform(lon_deg, lat_deg, direction="INVERSE")
        return float(east), float(north)

    def from_lon_lat_all(self, lon_deg: Floats, lat_deg: Floats) -> tuple[Floats, Floats]:
        """The same of many, each (n,); infinite where a place can't be in the grid."""
        east, north = self._to_wgs84.transform(lon_deg, lat_deg, direction="INVERSE")
        return np.asarray(east), np.asarray(north)

    @property
    def zone_deg(self) -> float | None:
        """Width of its zone in degrees, where it is one of a row of zones that count alike."""
        return ZONE_DEG if "UTM zone" in self.name else None

    def from_zone_beside(self, step: int, east_m: float, north_m: float) -> tuple[float, float] | None:
        """Where figures lie that count in the zone so many to the east; None where the grid has no zones."""
        if self.zone_deg is None:
            return None
        lon, lat = self._own(east_m, north_m, inverse=True)
        if not math.isfinite(lon):
            return None
        east, north = self._own(lon + self.zone_deg * step, lat)
        return (float(east), float(north)) if math.isfinite(east) else None

    def covers(self, lon_deg: float, lat_deg: float, *, margin_deg: float = 0.5) -> bool:
        """Whether a place lies in or near the area the system is made for."""
        if self.west_south_east_north_deg is None:
            return True
        west, south, east, north = self.west_south_east_north_deg
        if not south - margin_deg <= lat_deg <= north + margin_deg:
            return False
        width = (east - west) % 360.0 or 360.0
        return (lon_deg - west + margin_deg) % 360.0 <= width + 2.0 * margin_deg


@lru_cache(maxsize=32)
def open_grid(epsg: int) -> Grid:
    """The map grid of a code, opened once; raises UnusableGridError where there is none."""
    try:
        system = pyproj.CRS.from_epsg(epsg)
    except CRSError:
        raise UnusableGridError(f"no coordinate system EPSG:{epsg} is known here") from None
    if not system.is_projected:
        says = "latitude and longitude" if system.is_geographic else "no east and north"
        raise UnusableGridError(f"EPSG:{epsg} ({system.name}) gives {says}, and a map needs a grid in metres")
    horizontal = system.axis_info[:2]
    if any(not math.isclose(axis.unit_conversion_factor, 1.0) for axis in horizontal):
        raise UnusableGridError(f"EPSG:{epsg} ({system.name}) is in {horizontal[0].unit_name}, not in metres")
    if {axis.direction for axis in horizontal} - {"east", "north"}:
        directions = " and ".join(axis.direction for axis in horizontal)
        raise UnusableGridError(f"EPSG:{epsg} ({system.name}) counts {directions}, not east and north")
    transformer = pyproj.Transformer.from_crs(system, "EPSG:4326", always_xy=True)
    area = system.area_of_use
    return Grid(
        epsg=epsg,
        name=system.name,
        west_south_east_north_deg=(area.west, area.south, area.east, area.north) if area else None,
        accuracy_m=transformer.accuracy
        if transformer.accuracy is not None and transformer.accuracy >= 0
        else None,
        _own=pyproj.Proj(system),
        _to_wgs84=transformer,
    )
