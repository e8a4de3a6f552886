"""Ground invented by a seed, and parties that walk round it with errors of their own: no known point, a compass with a declination."""

import math
import random
from functools import cache
from itertools import pairwise

from traverse.compare.against_key import against_key
from traverse.compare.scheme import read_scheme
from traverse.compile import compile_log
from traverse.source import Source

DECLINATION = 6
HEAD = """notation 1
traverse Sallow Combe
date 2026-05-11
party NN Nora Nash
bearings {north}
declination 6 E, 2026, map margin
attitudes dip-right
distances {unit}
precision bearing 1, slope 1, tape 1%

unit Fg Ferry Grit ; Triassic
unit Mm Mill Mudstone ; Permian
unit Hl Hythe Limestone ; Carboniferous
"""
YOUNGEST_FIRST = ["Fg", "Mm", "Hl"]


class Ground:
    """Stops about a hollow, one unit under another, dipping one way."""

    def __init__(self, seed):
        self.seed, chance = seed, random.Random(f"ground {seed}")  # noqa: S311 - invented ground
        self.count = chance.randint(11, 15)
        wide, high = chance.uniform(200, 300), chance.uniform(150, 220)
        turn, places = chance.uniform(0, 360), []
        for at in range(self.count):
            way = math.radians(turn + 360 * at / self.count + chance.uniform(-7, 7))
            far = chance.uniform(0.75, 1.2)
            places.append((far * wide * math.sin(way), far * high * math.cos(way)))
        first = places[0]
        self.places = [(east - first[0], north - first[1]) for east, north in places]
        self.dip, self.toward = chance.uniform(18, 40), chance.uniform(0, 360)
        depth = sorted(self.depth(place) for place in self.places)
        third = len(depth) // 3
        self.tops = [(one + other) / 2 for one, other in
                     ((depth[third - 1], depth[third]), (depth[-third - 1], depth[-third]))]  # fmt: skip

    def __eq__(self, other):
        return self.seed == other.seed

    def __hash__(self):
        return hash(self.seed)

    @staticmethod
    def height(place):
        return 300 + 12 * math.sin(place[0] / 140) + 9 * math.cos(place[1] / 110)

    def depth(self, place):
        way = math.radians(self.toward)
        return self.height(place) + math.tan(math.radians(self.dip)) * (
            place[0] * math.sin(way) + place[1] * math.cos(way)
        )

    def unit(self, place):
        return (
            "Hl" if self.depth(place) < self.tops[0] else "Mm" if self.depth(place) < self.tops[1] else "Fg"
        )

    def walk(
        self,
        seed,
        *,
        order=None,
        names=None,
        lengths=None,
        unit="metres",
        bearings=0.0,
        beds=0.0,
        north="magnetic",
    ):
        """The log of one walk round it, from the first of `order` back to it.

        `lengths` gives by the number of a leg what was written for what was taped, `bearings` and `beds` are added to all.
        """
        chance = random.Random(f"walk {seed}")  # noqa: S311 - a simulated walk
        order = order or list(range(self.count))
        names = names or {at: str(at + 1) for at in order}
        rows, last = [HEAD.format(unit=unit, north=north), f"at {names[order[0]]}"], len(order) - 1
        for number, (start, end) in enumerate(pairwise([*order, order[0]])):
            rows += self._seen(start, chance, beds)
            here, there = self.places[start], self.places[end]
            east, north_m = there[0] - here[0], there[1] - here[1]
            up = self.height(there) - self.height(here)
            taped = (
                math.hypot(east, north_m, up)
                * (1 + chance.gauss(0, 0.006))
                * (1 if unit == "metres" else 1 / 0.3048)
            )
            written = (lengths or {}).get(number, lambda length: f"{length:.1f}")(taped)
            azimuth = math.degrees(math.atan2(east, north_m)) - DECLINATION + bearings
            fore, back = (round(azimuth + half + chance.gauss(0, 0.6)) % 360 for half in (0, 180))
            slope = round(math.degrees(math.asin(up / math.hypot(east, north_m, up))) + chance.gauss(0, 0.4))
            word, steep = "close" if number == last else "to", f"{slope:+d}" if slope else "level"
            rows += ["", f"{word} {names[end]} {fore:03d} {written} {steep} back {back:03d}"]
            rows += self._crossed(start, end, taped)
            if number != last:
                rows.append(f"at {names[end]}")
        return "\n".join(rows) + "\n"

    @cache  # noqa: B019 - kept for all walks over the ground of a seed
    def crossings(self, start, end):
        """Shares of the way at which the unit changes, with both units, the younger first."""
        (east, north), (to_east, to_north) = self.places[start], self.places[end]
        on_the_way = [(share / 200, self.unit((east + share / 200 * (to_east - east), north + share / 200 * (to_north - north))))
                      for share in range(201)]  # fmt: skip
        return [(share, sorted((one, other), key=YOUNGEST_FIRST.index))
                for (share, one), (_, other) in pairwise(on_the_way) if one != other]  # fmt: skip

    def _crossed(self, start, end, taped):
        return [row for share, (young, old) in self.crossings(start, end)
                for row in (f"along {share * taped:.0f}", f"  contact {young}/{old} certain")]  # fmt: skip

    def _seen(self, at, chance, turned):
        strike = self.toward - 90 - DECLINATION + turned
        beds = (
            f"{round(strike + chance.gauss(0, 2)) % 360:03d}/{round(self.dip + chance.gauss(0, 1.5)):02d}"
            for _ in range(2)
        )
        return [f"  unit  {self.unit(self.places[at])}", f"  bed   {', '.join(beds)}"]


def joined(logs, ties, *, order=None):
    """A camp of these logs by letters; `ties` are pairs of names."""
    letters = order or list(logs)
    rows = ["notation 1", "traverse Sallow Combe", *(f"log {one}.trav as {one}" for one in letters)]
    camp = "\n".join([*rows, *(f"tie {one} to {other}" for one, other in ties)]) + "\n"
    files = {f"{one}.trav": text for one, text in logs.items()} | {"camp.trav": camp}

    def load(path):
        if path not in files:
            raise FileNotFoundError(path)
        return files[path].encode()

    found = compile_log(Source(name="camp.trav", text=camp), load=load)
    assert not found.failed, [one.message for one in found.diagnostics if one.kind == "error"]
    return found


def no_files(path):
    raise FileNotFoundError(path)


def alone(text, name="party.trav"):
    """A log through the chain; it must have no errors."""
    found = compile_log(Source(name=name, text=text), load=no_files)
    assert not found.failed, [one.message for one in found.diagnostics if one.kind == "error"]
    return found


def held(text, key):
    """A log held against a key by the plain scheme."""
    scheme = read_scheme(None)[0].value
    return against_key("party.trav", alone(text), alone(key, "key.trav").trav, scheme, no_files)


def asked(found):
    """What is asked, by line and code."""
    return [
        (one.span.file, one.span.line, one.code)
        for one in found.diagnostics
        if one.kind == "warning" and one.span
    ]
