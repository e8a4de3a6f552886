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


FRACTIONS = {"": 0.0, "¼": 1 / 4, "⅓": 1 / 3, "½": 1 / 2, "⅔": 2 / 3, "¾": 3 / 4}
"""Ways to write a part of a degree."""


def three(degrees):
    """An azimuth as typed, to a thousandth."""
    return f"{wrap(round(degrees, 3)):07.3f}"


def in_seconds(degrees):
    """An azimuth in degrees, minutes and seconds."""
    seconds = round(wrap(degrees) * 3600.0) % (360 * 3600)
    return f"{seconds // 3600:03d}°{seconds // 60 % 60:02d}'{seconds % 60:02d}\""


def quadrant(degrees):
    """An azimuth as an angle from north or south toward east or west."""
    thousandths = round(wrap(degrees) * 1000.0) % 360_000
    from_north = min(thousandths, 360_000 - thousandths)
    pole, angle = ("N", from_north) if from_north <= 90_000 else ("S", 180_000 - from_north)
    return f"{pole}{angle / 1000.0:.3f}{'E' if thousandths < 180_000 else 'W'}"


def letter(degrees):
    """The point of the compass, of four, that an azimuth is nearest to."""
    return "NESW"[round(wrap(degrees) / 90.0) % 4]


@dataclass
class Plane:
    """A plane by its right-handed strike and its dip, true north, degrees."""

    strike: float
    dip: float

    @property
    def dip_direction(self):
        return wrap(self.strike + 90.0)

    def line_in_it(self, rake, end):
        """Plunge and trend of a line in the plane, `rake` down from the end of its strike at azimuth `end`."""
        down = self.dip_direction
        level = math.cos(math.radians(rake))
        out = math.sin(math.radians(rake)) * math.cos(math.radians(self.dip))
        deep = math.sin(math.radians(rake)) * math.sin(math.radians(self.dip))
        east = level * math.sin(math.radians(end)) + out * math.sin(math.radians(down))
        north = level * math.cos(math.radians(end)) + out * math.cos(math.radians(down))
        return math.degrees(math.asin(deep)), wrap(math.degrees(math.atan2(east, north)))

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
    """True azimuth in which photos look and walls run, by line."""
    walls: dict[int, Plane] = field(default_factory=dict)
    """Attitudes of contacts by line."""
    convergence: float = 0.0
    """Grid north east of true north at the start, degrees."""
    section_azimuth: dict[str, float] = field(default_factory=dict)
    """True azimuth of each section."""

    @property
    def text(self):
        return "\n".join(self.lines) + "\n"


def _whole(number):
    return abs(number - round(number)) < 1e-9


def climb(seed):
    """A day without slopes whose heights an altimeter tells, which drifts."""
    return _Writer(seed).write(climbing=True)


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
        self.change_minutes = int(r.integers(-9, 10)) if seed % 2 else 0
        """By so much the needle goes east each year; the page gives the declination of seven years ago."""
        self.bearings = ("magnetic", "magnetic", "grid", "true")[seed // 2 % 4]
        self.north = ("magnetic", "true", "grid")[seed % 3] if seed % 4 == 1 else self.bearings
        """That of attitudes."""
        self.feet = bool(r.integers(2))
        self.pace = 300.0 / 197.0 if seed % 3 == 2 else None
        self.geod = Geod(ellps="GRS80")
        self.to_grid = Transformer.from_crs(4258 if self.epsg == 25833 else 4326, self.epsg, always_xy=True)
        self.height = float(r.uniform(200.0, 1500.0))
        self.at = {}

    def grid(self, lon, lat):
        east, north = self.to_grid.transform(lon, lat)
        return float(east), float(north)

    def turned(self, azimuth, north, convergence):
        """A true azimuth counted from another north."""
        return azimuth - {"true": 0.0, "magnetic": self.declination, "grid": convergence}[north]

    def read(self, azimuth, station, *, north=None):
        """What the compass reads at a station for a true azimuth."""
        iron = self.day.iron.get(station, 0.0)
        return wrap(self.turned(azimuth, north or self.bearings, self.day.convergence) + iron)

    def bearing(self, azimuth, station):
        """The reading at a station toward another place, in one of the ways of writing."""
        north = self._convergence(*self.at[station][:2])
        read = wrap(self.turned(azimuth, self.bearings, north) + self.day.iron.get(station, 0.0))
        return str(self.r.choice([three(read), in_seconds(read), quadrant(read)]))

    def _convergence(self, lon, lat):
        """Grid azimuth of true north with its sign turned, from two places on one meridian."""
        (east, north), (east2, north2) = self.grid(lon, lat - 0.001), self.grid(lon, lat + 0.001)
        return -math.degrees(math.atan2(east2 - east, north2 - north))

    def line(self, text):
        self.day.lines.append(text)
        return len(self.day.lines)

    def distance(self, metres):
        if self.pace is not None and self.r.integers(2):
            return f"{metres / self.pace:.4f}dp"
        return f"{metres / FOOT_M:.3f}ft" if self.feet else f"{metres:.4f}m"

    def slope(self, far, rise):
        return (
            f"{math.degrees(math.atan2(rise, far)):+.4f}"
            if self.r.integers(2)
            else f"{100.0 * rise / far:+.4f}%"
        )

    def attitude(self, plane, station):
        """A plane as the page has it, by the rule of the page, or with a letter whatever the rule, and the compass there."""
        strike, toward = (
            self.read(one, station, north=self.north) for one in (plane.strike, plane.dip_direction)
        )
        dip = next(
            (f"{plane.dip - part:.0f}{sign}" for sign, part in FRACTIONS.items() if _whole(plane.dip - part)),
            None,
        )
        assert dip is not None
        if self.r.integers(3) == 0:
            either = strike + 180.0 * float(self.r.integers(2))
            ways = [quadrant, three, in_seconds] if self.rule in {"dip-right", "dip-left"} else [quadrant]
            return f"{ways[int(self.r.integers(len(ways)))](either)}/{dip}{letter(toward)}"
        return {
            "dip-right": f"{three(strike)}/{dip}",
            "dip-left": f"{three(strike + 180.0)}/{dip}",
            "dip-direction": f"{three(toward)}/{dip}",
            "dip-first": f"{dip}/{three(toward)}",
        }[self.rule]

    def write(self, *, climbing=False):
        r = self.r
        east, north = (round(one, 1) for one in self.grid(self.lon, self.lat))
        # The start is where the page says, so that no rounding is left in it.
        back = Transformer.from_crs(self.epsg, 4258 if self.epsg == 25833 else 4326, always_xy=True)
        self.lon, self.lat = (float(one) for one in back.transform(east, north))
        self.height = round(self.height, 1)
        self.day.convergence = self._convergence(self.lon, self.lat)
        stated = self.declination - 7 * self.change_minutes / 60.0
        for text in (
            "notation 1",
            f"traverse A day of which all is known, {self.day.seed}",
            "date 2026-05-06",
            f"grid EPSG:{self.epsg}",
            f"bearings {self.bearings}",
            f"declination {in_seconds(abs(stated)).lstrip('0')} {'E' if stated > 0 else 'W'}, "
            + (
                f"2019, change {abs(self.change_minutes)}' {'E' if self.change_minutes > 0 else 'W'}, map margin"
                if self.change_minutes
                else "2026, map margin"
            ),
            f"attitudes {self.rule}{'' if self.north == self.bearings else f' {self.north}'}",
            *(("pace double 100 m in 65, 66, 66",) if self.pace is not None else ()),
            "precision bearing 0.3, slope 0.3, tape 0.5%",
            *(("distances feet",) if self.feet else ()),
            "unit Aa Ash Beds ; Miocene",
            "unit Bb Bog Limestone ; Eocene",
            f"control 1 {east:.1f} E {north:.1f} N {self.height:.1f} m",
        ):
            self.line(text)
        stations = self._lay_out()
        if climbing:
            self._climb(stations)
            return self.day
        for name, azimuth in (("Peak-A", 20.0), ("Peak-B", 110.0), ("Peak-C", 260.0)):
            way, far = azimuth + float(r.uniform(-30.0, 30.0)), float(r.uniform(600.0, 1500.0))
            self._put(name, (self.lon, self.lat), way, far, self.height + float(r.uniform(-50.0, 200.0)))
            east, north, up = self.day.places.pop(name)
            self.line(f"control {name} {east:.3f} E {north:.3f} N {up:.3f} m")
        self.day.iron = {str(one): float(r.choice([-1, 1]) * r.uniform(3.2, 4.6)) for one in (3, 6)}
        self._walk(stations)
        self._from_peaks()
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
            along = math.hypot(far, rise)
            words = "close" if other == "1" else "to"
            self.line(
                f"{words} {other} {self.bearing(azimuth, one)} {self.distance(along)} "
                f"{self.slope(far, rise)} back {self.bearing(back, other)}"
            )
            if other != "1":
                self._things(other)

    def _from_peaks(self):
        """A station that nothing but sights to known points places, and a leg from there."""
        self._put("P", (self.lon, self.lat), float(self.r.uniform(0, 360)), 250.0, self.height + 30.0)
        self._put("Q", self.at["P"][:2], float(self.r.uniform(0, 360)), 60.0, self.height + 41.0)
        self.line("at P")
        for peak in ("Peak-A", "Peak-B", "Peak-C"):
            self._look("P", peak)
        azimuth, _, far, rise = self._between("P", "Q")
        self.day.legs["P", "Q"] = (azimuth, far, rise)
        along = math.hypot(far, rise)
        self.line(f"to Q {self.bearing(azimuth, 'P')} {self.distance(along)} {self.slope(far, rise)}")

    def _climb(self, stations):
        """Round the ring by level distances, an altimeter read at each station; at the first and the fifth the height is known."""
        r = self.r
        hours = 7.0 + np.cumsum(r.integers(5, 50, 9)) / 60.0
        drift = np.interp(hours, hours[[0, 4, 8]], r.uniform(-9.0, 9.0, 3))
        names = [*stations, "1"]
        self.line("at 1")
        for i, name in enumerate(names):
            up = self.at[name][2]
            if i:
                azimuth, _, far, _ = self._between(names[i - 1], name)
                words = "close" if i == 8 else "to"
                self.line(f"{words} {name} {self.bearing(azimuth, names[i - 1])} {self.distance(far)}")
            minutes = round(hours[i] * 60.0)
            self.line(f"  time {minutes // 60:02d}:{minutes % 60:02d}")
            read = up + drift[i]
            figure = f"{read / FOOT_M:.3f} ft" if self.feet else f"{read:.3f} m"
            self.line(f"  elevation {figure} ±0.02 m altimeter")
            if i == 4:
                self.line(f"  elevation {up:.3f} m ±0.02 m map")

    def _plane(self, steepest=89):
        part = FRACTIONS[str(self.r.choice(list(FRACTIONS)))]
        return Plane(float(self.r.uniform(0.0, 360.0)), float(self.r.integers(8, steepest)) + part)

    def _things(self, station):
        r = self.r
        if station == "1":
            self.line("  unit Aa")
        plane = self._plane()
        kind = str(r.choice(["bed", "joint", "cleavage", "foliation"]))
        self.day.planes[self.line(f"  {kind} {self.attitude(plane, station)}")] = plane
        trend, sign = float(r.uniform(0.0, 360.0)), str(r.choice(list(FRACTIONS)))
        plunge = int(r.integers(1, 80))
        kind = str(r.choice(["lineation", "striation", "current"]))
        toward = three(self.read(trend, station, north=self.north))
        at = self.line(f"  {kind} {plunge}{sign}->{toward}")
        self.day.trends[at] = plunge + FRACTIONS[sign], trend
        look = float(r.uniform(0.0, 360.0))
        at = self.line(f"  photo P{station} looking {three(self.read(look, station))}")
        self.day.looks[at] = look
        if station in {"2", "6"}:
            plane = self._plane(80)
            faces = [
                plane.dip_direction + float(off)
                for off in (-50.0 + r.uniform(-15, 15), 40.0 + r.uniform(-15, 15))
            ]
            seen = ", ".join(
                f"{plane.apparent(face):.4f}->{three(self.read(face, station, north=self.north))}"
                for face in faces
            )
            self.day.planes[self.line(f"  apparent {seen}")] = plane
        if station in {"3", "5"}:
            self._wall(station)
        if station in {"1", "4", "6"}:
            self._sight(station)

    def _wall(self, station):
        """A contact with its attitude, an axial plane, a wall that runs somewhere, scratches by their rake."""
        r, plane = self.r, self._plane()
        self.day.walls[self.line(f"  contact Aa/Bb certain {self.attitude(plane, station)}")] = plane
        plane = self._plane()
        self.day.planes[self.line(f"  axial {self.attitude(plane, station)}")] = plane
        runs = float(r.uniform(0.0, 360.0))
        self.day.looks[self.line(f"  crosses wall {three(self.read(runs, station))} dry stone")] = runs
        plane, rake = self._plane(85), int(r.integers(5, 85))
        end = wrap(plane.strike + 180.0 * float(r.integers(2)))
        booked_end = letter(self.read(end, station, north=self.north))
        at = self.line(f"  striation rake {rake} from {booked_end} on {self.attitude(plane, station)}")
        self.day.trends[at] = plane.line_in_it(rake, end)

    def _sight(self, station):
        """A landmark a kilometre or so off, seen from three stations."""
        if "Crag" not in self.at:
            self._put("Crag", (self.lon, self.lat), float(self.r.uniform(0, 360)), 700.0, self.height + 120.0)
        self._look(station, "Crag")

    def _put(self, name, start, azimuth, far, height):
        lon, lat, _ = self.geod.fwd(*start, azimuth, far)
        self.at[name] = (lon, lat, height)
        self.day.places[name] = (*self.grid(lon, lat), height)

    def _look(self, station, target):
        azimuth, _, far, rise = self._between(station, target)
        self.line(f"  sight {target} {self.bearing(azimuth, station)} {self.slope(far, rise)}")

    def _sections(self):
        azimuth = float(self.r.uniform(0.0, 360.0))
        booked = self.turned(azimuth, self.bearings, self.day.convergence)
        self.line(f"section A-A' {three(booked)} through 4, project square")
        self.line("section B-B' from 2 to 6, project square")
        self.day.section_azimuth["A-A'"] = azimuth
        self.day.section_azimuth["B-B'"] = self._between("2", "6")[0]
