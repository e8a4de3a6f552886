"""Days whose every figure is known beforehand: truth on the ellipsoid, and the log that a party without error writes.

Nothing of the program is used. Places are laid out with the geodesic direct problem (Karney 2013, J. Geodesy 87, 43-55,
as pyproj's `Geod` solves it) and brought into the grid by pyproj, so that convergence, scale and height above the
ellipsoid are in them without a formula of ours; readings are the truth less declination and iron, in feet or metres.
"""

import math
from dataclasses import dataclass, field

import numpy as np
from pyproj import Geod, Transformer

GRIDS = [(25833, 18.4, 64.5), (32633, 11.7, 62.0), (32733, 11.6, -61.5), (32630, -0.3, 58.0)]
"""EPSG code, longitude and latitude of the start, two to three degrees from the central meridian."""
RULES = ["dip-right", "dip-left", "dip-direction", "dip-first"]
RADIUS_M = 6_371_000.0
"""Mean radius of the Earth; a few kilometres of it move no place here by a millimetre."""
FOOT_M = 0.3048


def wrap(degrees):
    """An azimuth in [0, 360)."""
    return degrees % 360.0


def three(degrees):
    """An azimuth as typed, to a thousandth."""
    return f"{wrap(round(degrees, 3)):07.3f}"


@dataclass
class Plane:
    """A plane by its right-handed strike and its dip, true north, degrees."""

    strike: float
    dip: float

    @property
    def dip_direction(self):
        return wrap(self.strike + 90.0)

    def apparent(self, azimuth):
        """Dip seen along an azimuth, degrees, positive downward."""
        return math.degrees(
            math.atan(
                math.tan(math.radians(self.dip)) * math.sin(math.radians(azimuth) - math.radians(self.strike))
            )
        )


@dataclass
class Day:
    """What is true, and the page."""

    seed: int
    lines: list[str] = field(default_factory=list)
    places: dict[str, tuple[float, float, float]] = field(default_factory=dict)
    """East, north and height of each station and landmark, metres."""
    legs: dict[tuple[str, str], tuple[float, float, float]] = field(default_factory=dict)
    """True azimuth, horizontal distance and rise of each leg."""
    iron: dict[str, float] = field(default_factory=dict)
    planes: dict[int, Plane] = field(default_factory=dict)
    """Planes by the line they stand in."""
    trends: dict[int, tuple[float, float]] = field(default_factory=dict)
    """Plunge and trend of lines by the line they stand in."""
    looks: dict[int, float] = field(default_factory=dict)
    """True azimuth in which photos look, by line."""
    convergence: float = 0.0
    """Grid north east of true north at the start, degrees."""
    section_azimuth: dict[str, float] = field(default_factory=dict)
    """True azimuth of each section."""

    @property
    def text(self):
        return "\n".join(self.lines) + "\n"


def day(seed):
    """One day, drawn from its seed."""
    return _Writer(seed).write()


class _Writer:
    def __init__(self, seed):
        self.r = np.random.default_rng(seed)
        r = self.r
        self.day = Day(seed)
        self.epsg, self.lon, self.lat = GRIDS[seed % len(GRIDS)]
        self.rule = RULES[int(r.integers(len(RULES)))]
        self.declination = round(float(r.uniform(3.0, 14.0) * r.choice([-1, 1])), 1)
        self.feet = bool(r.integers(2))
        self.geod = Geod(ellps="GRS80")
        self.to_grid = Transformer.from_crs(4258 if self.epsg == 25833 else 4326, self.epsg, always_xy=True)
        self.height = float(r.uniform(200.0, 1500.0))
        self.at = {}

    def grid(self, lon, lat):
        east, north = self.to_grid.transform(lon, lat)
        return float(east), float(north)

    def magnetic(self, azimuth, station):
        """What the needle reads at a station for a true azimuth."""
        return wrap(azimuth - self.declination + self.day.iron.get(station, 0.0))

    def line(self, text):
        self.day.lines.append(text)
        return len(self.day.lines)

    def distance(self, metres):
        return f"{metres / FOOT_M:.3f}ft" if self.feet else f"{metres:.4f}m"

    def length(self, metres):
        return f"{metres / FOOT_M:.3f} ft" if self.feet else f"{metres:.3f} m"

    def attitude(self, plane, station):
        """A plane as the page has it, by the rule of the page and the needle there."""
        strike, toward = (self.magnetic(one, station) for one in (plane.strike, plane.dip_direction))
        dip = f"{plane.dip:.3f}"
        return {
            "dip-right": f"{three(strike)}/{dip}",
            "dip-left": f"{three(strike + 180.0)}/{dip}",
            "dip-direction": f"{three(toward)}/{dip}",
            "dip-first": f"{dip}/{three(toward)}",
        }[self.rule]

    def write(self):
        r = self.r
        east, north = (round(one, 1) for one in self.grid(self.lon, self.lat))
        # The start is where the page says, so that no rounding is left in it.
        back = Transformer.from_crs(self.epsg, 4258 if self.epsg == 25833 else 4326, always_xy=True)
        self.lon, self.lat = (float(one) for one in back.transform(east, north))
        self.height = round(self.height, 1)
        end = self.grid(self.lon, self.lat + 0.002)
        self.day.convergence = -math.degrees(math.atan2(end[0] - east, end[1] - north))
        for text in (
            "notation 1",
            f"traverse A day of which all is known, {self.day.seed}",
            "date 2026-05-06",
            f"grid EPSG:{self.epsg}",
            "bearings magnetic",
            f"declination {abs(self.declination):.1f} {'E' if self.declination > 0 else 'W'}, 2026, map margin",
            f"attitudes {self.rule}",
            "precision bearing 0.3, slope 0.3, tape 0.5%",
            *(("distances feet",) if self.feet else ()),
            "unit Aa Ash Beds ; Miocene",
            f"control 1 {east:.1f} E {north:.1f} N {self.height:.1f} m",
        ):
            self.line(text)
        stations = self._lay_out()
        self.day.iron = {str(one): float(r.choice([-1, 1]) * r.uniform(3.2, 4.6)) for one in (3, 6)}
        self._walk(stations)
        self._sections()
        return self.day

    def _lay_out(self):
        """Eight stations of a loop, on the ellipsoid, with heights."""
        r = self.r
        turn, start = float(r.uniform(0.0, 360.0)), (self.lon, self.lat)
        self.at["1"] = (*start, self.height)
        lon, lat = start
        height = self.height
        # Corners of a wobbly ring; the last leg is whatever closes it.
        for number in range(2, 9):
            azimuth = turn + (number - 2) * 45.0 + float(r.uniform(-15.0, 15.0))
            far = float(r.uniform(40.0, 90.0))
            rise = far * math.tan(math.radians(float(r.uniform(-14.0, 14.0))))
            lon, lat, _ = self.geod.fwd(lon, lat, azimuth, self._at_sea(far, height + rise / 2))
            height += rise
            self.at[str(number)] = (lon, lat, height)
        for name, (lon, lat, height) in self.at.items():
            self.day.places[name] = (*self.grid(lon, lat), height)
        return [str(one) for one in range(1, 9)]

    @staticmethod
    def _at_sea(metres, height):
        return metres * RADIUS_M / (RADIUS_M + height)

    def _between(self, one, other):
        """True azimuth there and back, horizontal distance on the ground and rise."""
        (lon, lat, up), (lon2, lat2, up2) = self.at[one], self.at[other]
        azimuth, back, at_sea = self.geod.inv(lon, lat, lon2, lat2)
        return wrap(azimuth), wrap(back), at_sea * (RADIUS_M + (up + up2) / 2) / RADIUS_M, up2 - up

    def _walk(self, stations):
        self.line("at 1")
        self._things("1")
        for one, other in zip(stations, [*stations[1:], "1"], strict=True):
            azimuth, back, far, rise = self._between(one, other)
            self.day.legs[one, other] = (azimuth, far, rise)
            slope = math.degrees(math.atan2(rise, far))
            along = math.hypot(far, rise)
            words = "close" if other == "1" else "to"
            self.line(
                f"{words} {other} {three(self.magnetic(azimuth, one))} {self.distance(along)} "
                f"{slope:+.4f} back {three(self.magnetic(back, other))}"
            )
            if other != "1":
                self._things(other)

    def _plane(self):
        return Plane(float(self.r.uniform(0.0, 360.0)), float(self.r.uniform(8.0, 82.0)))

    def _things(self, station):
        r = self.r
        if station == "1":
            self.line("  unit Aa")
        plane = self._plane()
        kind = str(r.choice(["bed", "joint", "cleavage", "foliation"]))
        self.day.planes[self.line(f"  {kind} {self.attitude(plane, station)}")] = plane
        plunge, trend = float(r.uniform(1.0, 80.0)), float(r.uniform(0.0, 360.0))
        kind = str(r.choice(["lineation", "striation", "current"]))
        at = self.line(f"  {kind} {plunge:.3f}->{three(self.magnetic(trend, station))}")
        self.day.trends[at] = plunge, trend
        look = float(r.uniform(0.0, 360.0))
        at = self.line(f"  photo P{station} looking {three(self.magnetic(look, station))}")
        self.day.looks[at] = look
        if station in {"2", "6"}:
            plane = self._plane()
            faces = [
                plane.dip_direction + float(off)
                for off in (-50.0 + r.uniform(-15, 15), 40.0 + r.uniform(-15, 15))
            ]
            seen = ", ".join(
                f"{plane.apparent(face):.4f}->{three(self.magnetic(face, station))}" for face in faces
            )
            self.day.planes[self.line(f"  apparent {seen}")] = plane
        if station in {"1", "4", "6"}:
            self._sight(station)

    def _sight(self, station):
        """A landmark a kilometre or so off, seen from three stations."""
        if "Crag" not in self.at:
            lon, lat, _ = self.geod.fwd(self.lon, self.lat, float(self.r.uniform(0, 360)), 700.0)
            self.at["Crag"] = (lon, lat, self.height + 120.0)
            self.day.places["Crag"] = (*self.grid(lon, lat), self.height + 120.0)
        azimuth, _, far, rise = self._between(station, "Crag")
        slope = math.degrees(math.atan2(rise, far))
        self.line(f"  sight Crag {three(self.magnetic(azimuth, station))} {slope:+.4f}")

    def _sections(self):
        azimuth = float(self.r.uniform(0.0, 360.0))
        self.line(f"section A-A' {three(azimuth - self.declination)} through 4, project square")
        self.line("section B-B' from 2 to 6, project square")
        self.day.section_azimuth["A-A'"] = azimuth
        self.day.section_azimuth["B-B'"] = self._between("2", "6")[0]
