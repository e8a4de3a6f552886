"""A party that walks legs over invented ground, reads with stated errors, and types a log.

The errors are drawn here, reading by reading, and never from a covariance of the program. Compass, clinometer, pace and
attitude scatter normally with the deviations that the log states under `precision`; the length of a pace is calibrated
over a course and is off for the whole walk; all figures are rounded as they are read.
"""

import math
from dataclasses import dataclass, field, replace
from functools import cache

import numpy as np

from tests.invented.models import Model, dip_and_direction, gradient
from traverse.notation.read import read_log
from traverse.source import Source

STEP_M = 0.5
SAGITTA_M = 0.6
"""A party ends a leg where the ground has bent so far from straight."""


@dataclass(frozen=True)
class Errors:
    """One standard deviation each."""

    bearing_deg: float = 1.5
    slope_deg: float = 1.0
    pace_share: float = 0.025
    attitude_deg: float = 3.0
    """Of the pole, in any one direction."""
    course_share: float = 0.015
    """Of one walk over the measured course."""


@dataclass(frozen=True)
class TrueContact:
    """A contact as it is, for the line of the log that books it."""

    place: np.ndarray
    normal: np.ndarray
    kind: str
    younger: str
    older: str
    certainty: str


@dataclass(frozen=True)
class Walk:
    """A log, and what is true of what it says."""

    model: Model
    text: str
    files: dict[str, bytes]
    stations: dict[str, np.ndarray]
    contacts: dict[int, TrueContact]
    """By line of the log."""
    beds: dict[int, np.ndarray]
    """True way of younging, by line of the log."""
    path: np.ndarray
    """The stations in walking order, (n, 3)."""
    origin: np.ndarray
    """What is added to the model's places to make those of the log."""


@dataclass
class _Page:
    lines: list[str] = field(default_factory=list)

    def add(self, line):
        self.lines.append(line)
        return len(self.lines)


@cache
def says_intrusive():
    """Whether the notation has the word; without it a party books a dike as one more unit."""
    text = "notation 1\nunit Db Dike ; ; intrusive\nat 1\n"
    return not read_log(Source(name="one.trav", text=text), load=lambda name: b"").diagnostics


class _Party:
    def __init__(self, model, rng, errors, *, shape, heights, askew=False):
        self.model, self.rng, self.errors = model, rng, errors
        self.shape, self.heights, self.askew = shape, heights, askew
        self.loop = shape == "loop"
        self.pace_m = float(rng.uniform(1.45, 1.7))
        self.back = bool(rng.random() < 0.5)
        self.tops = bool(rng.random() < 0.7)
        self.page = _Page()
        self.contacts, self.beds, self.stations = {}, {}, {}
        self.path = []
        self.rank = {letters: at for at, letters in enumerate(model.order)}
        self.origin = np.array([1000.0, 1000.0, 0.0])

    # --- readings

    def attitude(self, normal, *, over=False):
        """A plane as it is read and typed, right-handed."""
        across = np.linalg.svd(np.asarray(normal)[None, :])[2][1:]
        off = np.radians(self.rng.normal(0.0, self.errors.attitude_deg, 2))
        dip, way = dip_and_direction(normal + off @ across)
        if over and (normal + off @ across)[2] >= 0.0:
            over = False
        dip = round(dip)
        if dip == 0:
            return "flat"
        return f"{round(way - 90.0) % 360:03d}/{dip}{' overturned' if over else ''}"

    def bed(self, place, chance):
        if self.rng.random() > chance:
            return
        young = self.model.bedding(place)
        if young is None:
            return
        over = young[2] < 0.0
        # A bed is known to be overturned where its tops are seen.
        tops = self.tops and self.rng.random() < (0.8 if over else 0.3)
        words = self.attitude(young, over=over and tops)
        self.beds[self.page.add(f"bed {words}")] = young
        if tops:
            self.page.add(f"tops {'down' if words.endswith('overturned') else 'up'} graded beds")

    # --- walking

    def route(self):
        """Corners of the way, (n, 2)."""
        half = self.model.length_m / 2.0 * (0.6 if self.shape == "arms" else 1.0)
        way = math.radians(self.model.across_deg)
        ahead, right = np.array([math.sin(way), math.cos(way)]), np.array([math.cos(way), -math.sin(way)])
        off = self.rng.uniform(-20.0, 20.0)
        start, end = -half * ahead + off * right, half * ahead + off * right
        wide = self.rng.uniform(60.0, 130.0) * (1 if self.rng.random() < 0.5 else -1)
        if self.shape == "arms":
            # Each contact is met on three of them, which gives its plane.
            second, third = wide * right, 2.0 * wide * right
            return np.array([start, end, end + second, start + second, start + third, end + third])
        if not self.loop:
            middle = self.rng.uniform(-0.2, 0.2) * half * ahead + self.rng.uniform(-60.0, 60.0) * right
            return np.array([start, middle, end])
        return np.array([start, end, end + wide * right, start + wide * right, start])

    def stops(self):
        """Places of the stations along the route, (n, 2): legs of 35 to 75 m, shorter where the ground bends."""
        corners = self.route()
        found = [corners[0]]
        for corner in corners[1:]:
            while True:
                left = np.linalg.norm(corner - found[-1])
                length = min(left, self.rng.uniform(35.0, 75.0))
                if left - length < 20.0:
                    length = left
                way = (corner - found[-1]) / left
                side = np.array([way[1], -way[0]])
                while length > 15.0 and self.bent(found[-1], found[-1] + length * way) > SAGITTA_M:
                    length *= 0.8
                if left - length < 1e-6:
                    found.append(corner)
                    break
                found.append(found[-1] + length * way + self.rng.normal(0.0, 0.06) * length * side)
        return np.array(found)

    def bent(self, start, end):
        share = np.linspace(0.0, 1.0, 9)
        points = start + share[:, None] * (end - start)
        ground = self.model.up(points[:, 0], points[:, 1])
        return float(np.abs(ground - (ground[0] + share * (ground[-1] - ground[0]))).max())

    def walk(self):
        errors, add = self.errors, self.page.add
        model = self.model
        add("notation 1")
        add(f"traverse Invented {model.kind} {model.seed}")
        add("date 2026-06-09")
        add("bearings true")
        add("attitudes dip-right")
        counts = [
            round(100.0 / self.pace_m * (1.0 + self.rng.normal(0.0, errors.course_share)) * 2.0) / 2.0
            for _ in range(4)
        ]
        add("pace double 100 m in " + ", ".join(f"{count:g}" for count in counts))
        add(
            f"precision bearing {errors.bearing_deg:g}, slope {errors.slope_deg:g}, "
            f"pace {100 * errors.pace_share:g}%, attitude {errors.attitude_deg:g}"
        )
        for letters in model.order:
            cuts = letters in model.intrusive and says_intrusive()
            add(f"unit {letters} Unit {letters} ;{' ; intrusive' if cuts else ''}")
        stops = self.stops()
        places = model.ground(stops[:, 0], stops[:, 1])
        east, north, up = (places[0] + self.origin).tolist()
        add(f"control 1 {east:.3f} E {north:.3f} N {up:.3f} m")
        if self.heights:
            add("terrain ground.xyz")
        add("at 1")
        self.path.append(places[0])
        self.at_station("1", places[0])
        count = len(places) - 1
        for leg in range(count):
            closing = self.loop and leg == count - 1
            name = "1" if closing else str(leg + 2)
            self.leg(places[leg], places[leg + 1], name, closing=closing)
            if not closing:
                add(f"at {name}")
                self.at_station(name, places[leg + 1])
            self.path.append(places[leg + 1])
        far = max(self.stations, key=lambda name: np.linalg.norm(self.stations[name][:2] - places[0][:2]))
        carried = {"plunging": "plunge", "dome": "square"}.get(model.kind, "strike")
        add(f"section A-A' from 1 to {far}, depth 60 m, project {carried}")
        if self.askew and self.shape != "open":
            add(self.second_section())

    def second_section(self):
        """A second section from the first arm to the next, askew to the beds and carried as the program chooses."""
        names, path = list(self.stations), np.array(self.path)[: len(self.stations), :2]
        way = math.radians(self.model.across_deg)
        along = path @ np.array([math.sin(way), math.cos(way)])
        along /= along.max()
        turn = int(np.argmax(along > 0.9))
        early, late = ((-0.15, 0.15), (-0.3, 0.3))[self.model.seed % 2]
        one = int(np.argmin(np.abs(along[:turn] - early)))
        back = turn + int(np.argmax(along[turn:] < late))
        return f"section B-B' from {names[one]} to {names[back]}, depth 60 m"

    def at_station(self, name, place):
        self.stations[name] = place
        if self.rng.random() < 0.85:
            self.page.add(f"unit {self.model.unit(*place)}")
        self.bed(place, 0.75)

    def in_walking_order(self, first):
        """Put what was booked on a leg, from line index `first` on, in the order in which a party comes to it."""
        parts = []
        for at in range(first, len(self.page.lines)):
            words = self.page.lines[at].split()
            if words[0] in {"along", "covered"}:
                parts.append((float(words[1].rstrip("p")), []))
            parts[-1][1].append(at)
        old = [at for _, lines in sorted(parts, key=lambda part: part[0]) for at in lines]
        self.page.lines[first:] = [self.page.lines[at] for at in old]
        moved = {was + 1: first + now + 1 for now, was in enumerate(old)}
        for booked in (self.contacts, self.beds):
            booked.update({moved[line]: booked.pop(line) for line in moved if line in booked})

    def leg(self, start, end, name, *, closing):
        rng, errors = self.rng, self.errors
        apart = end - start
        run = float(np.hypot(apart[0], apart[1]))
        bearing = math.degrees(math.atan2(apart[0], apart[1])) % 360.0
        slope = math.degrees(math.atan2(apart[2], run))
        stride = (1.0 + rng.normal(0.0, errors.pace_share)) / self.pace_m
        length = float(np.linalg.norm(apart))
        read = round(bearing + rng.normal(0.0, errors.bearing_deg)) % 360
        words = f"{'close' if closing else 'to'} {name} {read:03d} {round(length * stride)}p"
        words += f" {round(slope + rng.normal(0.0, errors.slope_deg)):+d}"
        if self.back:
            words += f" back {round(bearing + 180.0 + rng.normal(0.0, errors.bearing_deg)) % 360:03d}"
        first = self.page.add(words)
        last = 0.0
        met = self.crossings(start, end)
        for at, (share, before, after) in enumerate(met):
            until = met[at + 1][0] if at + 1 < len(met) else 1.0
            self.contact(start, end, share, (last, until), before, after, stride * length)
            last = share
        if rng.random() < 0.3 and (not met or met[-1][0] < 0.8):
            share = rng.uniform(max(0.3, met[-1][0] + 0.05 if met else 0.3), 0.95)
            mid = start + share * apart
            mid = self.model.ground(mid[0], mid[1])[0]
            here = round(share * stride * length)
            if 0 < here < round(length * stride):
                self.page.add(f"along {here}p")
                self.bed(mid, 1.0)
        self.in_walking_order(first)

    def crossings(self, start, end):
        """Shares of the leg at which the unit changes, with the codes on either side."""
        length = float(np.hypot(*(end - start)[:2]))
        share = np.linspace(0.0, 1.0, max(3, int(length / STEP_M)))
        plan = start[:2] + share[:, None] * (end - start)[:2]
        codes = self.model.codes(self.model.ground(plan[:, 0], plan[:, 1]))
        found = []
        for at in np.flatnonzero((codes[1:] != codes[:-1]).any(axis=1)):
            low, high = share[at], share[at + 1]
            before, after = codes[at], codes[at + 1]
            for _ in range(25):
                middle = (low + high) / 2.0
                place = start[:2] + middle * (end - start)[:2]
                same = (self.model.codes(self.model.ground(*place)) == before).all()
                low, high = (middle, high) if same else (low, middle)
            if self.model.letters(before) != self.model.letters(after):
                found.append((high, before, after))
        return found

    def contact(self, start, end, share, room, before, after, paces):
        """Book one crossing at the share of the leg, with room from the one before to the one after."""
        rng, model = self.rng, self.model
        plan = start[:2] + share * (end - start)[:2]
        place = model.ground(*plan)[0]
        value, kind = model.surface(before, after)
        one, other = model.letters(before), model.letters(after)
        younger, older = sorted((one, other), key=self.rank.__getitem__)
        normal = gradient(value, place)
        length = float(np.linalg.norm(end - start))
        free = min(share - room[0], room[1] - share) * length
        certainty = "certain"
        draw = rng.random()
        sd = rng.uniform(3.0, 7.0)
        half = rng.uniform(5.0, 15.0)
        if draw < 0.2 and free > 3.0 * sd:
            certainty = "approximate"
        elif 0.2 <= draw < 0.4 and free > 2.0 * half:
            certainty = "concealed"
        booked = {"fault": "fault", "unconformity": "unconformity"}.get(kind, "contact")
        line = f"{booked} {younger}/{older} {certainty}"
        if certainty == "concealed":
            low = share * length + rng.uniform(-2.0 * half, 0.0)
            first, last = (round(one / length * paces) for one in (low, low + 2.0 * half))
            self.page.add(f"covered {max(first, 0)}p to {min(last, round(paces))}p soil")
        else:
            off = float(np.clip(rng.normal(0.0, sd), -free, free)) if certainty == "approximate" else 0.0
            at = round((share + off / length) * paces * 2.0) / 2.0
            self.page.add(f"along {min(max(at, 0.0), round(paces)):g}p")
            if certainty == "approximate":
                line += f" ±{sd:.0f} m"
            elif rng.random() < (0.7 if kind in {"fault", "dike"} else 0.3):
                line += f" {self.attitude(normal)}"
        self.contacts[self.page.add(line)] = TrueContact(place, normal, kind, younger, older, certainty)

    # --- heights

    def grid(self):
        """The ground as lines of east, north and height, every 10 m."""
        path = np.array(self.path)
        low, high = path[:, :2].min(axis=0) - 150.0, path[:, :2].max(axis=0) + 150.0
        east, north = np.arange(low[0], high[0], 10.0), np.arange(low[1], high[1], 10.0)
        x, y = (one.ravel() for one in np.meshgrid(east, north))
        rows = np.column_stack((x, y, self.model.up(x, y))) + self.origin
        return "".join(f"{e:.1f} {n:.1f} {u:.2f}\n" for e, n, u in np.round(rows, 2)).encode()


class _Follower(_Party):
    """Crosses the pile half-way, then follows a contact a few metres beside it."""

    def walk(self):
        super().walk()
        closing = self.page.lines.pop()
        # The contact nearest to the last station is run after along its own line.
        last = self.path[-1]
        line = min(
            (one for one, met in self.contacts.items() if met.kind == "contact"),
            key=lambda one: np.linalg.norm(self.contacts[one].place - last),
            default=None,
        )
        if line is None:
            self.page.add(closing)
            return
        met = self.contacts[line]
        value = self.model.pile.height
        level = float(value(met.place[None, :])[0])
        side = 1 if self.rng.random() < 0.5 else -1
        course = [self.on(level + 4.0 * side, met.place[:2])]
        if course[0] is None:
            self.page.add(closing)
            return
        strike = np.array([met.normal[1], -met.normal[0]])
        strike = strike / np.linalg.norm(strike)
        for _ in range(4):
            found = self.on(level + 4.0 * side, course[-1] + self.rng.uniform(35.0, 50.0) * strike)
            if found is None or self.bent(course[-1], found) > SAGITTA_M:
                break
            course.append(found)
        number = len(self.stations)
        start = last
        for plan in course:
            place = self.model.ground(*plan)[0]
            if np.linalg.norm(place - start) < 8.0:
                continue
            number += 1
            far = plan is course[0]
            if far:
                self.leg_chain(start, place, number)
                number = len(self.stations)
            else:
                self.leg(start, place, str(number), closing=False)
                self.beside(start, place, level, met, side)
                self.page.add(f"at {number}")
                self.at_station(str(number), place)
            self.path.append(place)
            start = place
        self.page.add(closing)

    def leg_chain(self, start, end, number):
        """To the place where following begins, in legs that the ground allows."""
        here = start
        while True:
            left = np.linalg.norm((end - here)[:2])
            length = min(left, 60.0)
            while (
                length > 15.0 and self.bent(here[:2], here[:2] + length / left * (end - here)[:2]) > SAGITTA_M
            ):
                length *= 0.8
            if left - length < 8.0:
                # No leg of a pace or less.
                length = left
            plan = here[:2] + length / left * (end - here)[:2]
            place = self.model.ground(*plan)[0]
            self.leg(here, place, str(number), closing=False)
            self.page.add(f"at {number}")
            self.at_station(str(number), place)
            self.path.append(place)
            here, number = place, number + 1
            if left - length < 1e-6:
                return

    def on(self, level, near):
        """The place on the ground near another at which the pile's height has a value; None where there is none."""
        plan = np.array(near, dtype=float)
        for _ in range(30):
            at = self.model.ground(*plan)[0]
            ground = np.array(
                [
                    float(self.model.up(plan[0] + 0.5, plan[1]) - self.model.up(plan[0] - 0.5, plan[1])),
                    float(self.model.up(plan[0], plan[1] + 0.5) - self.model.up(plan[0], plan[1] - 0.5)),
                ]
            )
            young = gradient(self.model.pile.height, at)
            slope = young[:2] + young[2] * ground
            off = level - float(self.model.pile.height(at[None, :])[0])
            if abs(off) < 1e-6:
                break
            if slope @ slope < 0.01:
                return None
            plan = plan + off * slope / (slope @ slope)
        return plan if np.linalg.norm(plan - near) < 60.0 else None

    def beside(self, start, end, level, met, side):
        """One place of the contact beside the leg just walked, at its middle."""
        middle = (start + end) / 2.0
        ahead = (end - start)[:2] / np.linalg.norm((end - start)[:2])
        right = np.array([ahead[1], -ahead[0]])
        off = np.linspace(-25.0, 25.0, 2001)
        plan = middle[:2] + off[:, None] * right
        found = self.model.pile.height(self.model.ground(plan[:, 0], plan[:, 1])) - level
        crossing = np.flatnonzero(found[1:] * found[:-1] <= 0.0)
        if not len(crossing):
            return
        at = crossing[np.argmin(np.abs(off[crossing]))]
        place = self.model.ground(*plan[at])[0]
        away = abs(off[at]) * (1.0 + self.rng.normal(0.0, 0.1))
        hand = "right" if off[at] > 0.0 else "left"
        share = float(self.page.lines[self.last_leg()].split()[3].rstrip("p")) / 2.0
        self.page.add(f"along {share:g}p {hand} {max(away, 0.5):.1f}m")
        line = self.page.add(f"contact {met.younger}/{met.older} certain")
        self.contacts[line] = TrueContact(place, met.normal, "beside", met.younger, met.older, "certain")
        self.in_walking_order(self.last_leg() + 1)

    def last_leg(self):
        return max(at for at, line in enumerate(self.page.lines) if line.startswith(("to ", "close ")))


def walked(model, *, shape=None, heights=None, errors=None, askew=False):
    """The walk of a party over a model; the same for the same model and arguments.

    `shape` is `open`, `loop` or `arms`, three of them across the beds; with `askew` a walk that is not open has a second
    section, askew to the beds.
    """
    rng = np.random.default_rng([len(model.kind), model.seed, 17])
    drawn = str(rng.choice(["open", "loop", "arms"], p=[0.45, 0.35, 0.2]))
    shape = drawn if shape is None else shape
    heights = bool(rng.random() < 0.2) if heights is None else heights
    if errors is None:
        errors = Errors(
            bearing_deg=float(rng.choice([1.0, 1.5, 2.0])),
            pace_share=float(rng.choice([0.02, 0.03])),
            attitude_deg=float(rng.choice([2.0, 3.0, 4.0])),
        )
    kind = _Follower if model.kind == "followed" else _Party
    party = kind(model, rng, errors, shape=shape if kind is _Party else "open", heights=heights, askew=askew)
    party.walk()
    return Walk(
        model=model,
        text="\n".join(party.page.lines) + "\n",
        files={"ground.xyz": party.grid()} if heights else {},
        stations={name: place + party.origin for name, place in party.stations.items()},
        contacts={line: replace(one, place=one.place + party.origin) for line, one in party.contacts.items()},
        beds=party.beds,
        path=np.array(party.path) + party.origin,
        origin=party.origin,
    )
