"""Ground of known geometry, as functions of place: what lies where, how its beds lie, and how high the ground stands.

A pile is a stack of units between values of a field that grows toward the younger side and whose gradient has length 1, so
that a difference of the field is a true thickness and the gradient the way the beds young. A model is a pile that may be
thrown by a fault, worn down and covered, and cut by a dike. East, north and up in metres; a pole is a unit vector.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

KINDS = (
    "homocline",
    "flat",
    "dike",
    "sill",
    "fault",
    "cover",
    "upright",
    "overturned",
    "plunging",
    "dome",
    "followed",
    "valley",
)
FOLDS = ("upright", "overturned", "plunging")
LETTERS = ("Aa", "Bb", "Cc", "Dd", "Ee", "Ff", "Gg", "Hh", "Jj", "Kk", "Mm", "Nn", "Pp", "Rr", "Ss", "Tt")


def pole(dip_deg, direction_deg):
    """Upward pole of a plane."""
    dip, way = math.radians(dip_deg), math.radians(direction_deg)
    return np.array([math.sin(dip) * math.sin(way), math.sin(dip) * math.cos(way), math.cos(dip)])


def dip_and_direction(normal):
    """Of the plane that a pole, up or down, is square to."""
    east, north, up = normal if normal[2] >= 0.0 else -np.asarray(normal)
    return math.degrees(math.atan2(math.hypot(east, north), up)), math.degrees(math.atan2(east, north)) % 360


@dataclass(frozen=True)
class Fold:
    """What is true of a fold."""

    form: str
    """syncline or anticline."""
    axis: np.ndarray
    """Unit vector, pointing down or level."""
    interlimb_deg: float
    overturned: bool


@dataclass(frozen=True)
class Pile:
    """Units between values of a field, the oldest first."""

    height: Callable[[np.ndarray], np.ndarray]
    """Stratigraphic height of places (n, 3)."""
    cuts: np.ndarray
    letters: tuple[str, ...]

    def index(self, places):
        return np.searchsorted(self.cuts, self.height(places))


@dataclass(frozen=True)
class Model:
    """One invented country. `seed` makes it again."""

    kind: str
    seed: int
    pile: Pile
    up: Callable[[np.ndarray, np.ndarray], np.ndarray]
    """Height of the ground."""
    across_deg: float
    """The way that a party would walk: about square to the strike."""
    folds: tuple[Fold, ...] = ()
    fault: Callable[[np.ndarray], np.ndarray] | None = None
    """Distance from the fault's plane."""
    throw: np.ndarray = field(default_factory=lambda: np.zeros(3))
    """How the side where that is positive moved."""
    cover: Pile | None = None
    base: Callable[[np.ndarray], np.ndarray] | None = None
    """Height over the worn surface that the cover lies on."""
    dike: Callable[[np.ndarray], np.ndarray] | None = None
    """Distance from the dike's middle, over half its width: within 1 of it."""
    intrusive: tuple[str, ...] = ()
    length_m: float = 600.0

    def ground(self, east, north):
        """Places on the ground, (n, 3)."""
        east, north = np.atleast_1d(east).astype(float), np.atleast_1d(north).astype(float)
        return np.column_stack((east, north, self.up(east, north)))

    def _unthrown(self, places):
        if self.fault is None:
            return places
        return places - (self.fault(places) > 0.0)[:, None] * self.throw

    def codes(self, places):
        """In the dike, in the cover, beyond the fault, and which unit of its pile: (n, 4)."""
        places = np.atleast_2d(places)
        none = np.zeros(len(places), dtype=int)
        dike = none if self.dike is None else (np.abs(self.dike(places)) < 1.0).astype(int)
        cover = none if self.base is None else (self.base(places) > 0.0).astype(int)
        side = none if self.fault is None else (self.fault(places) > 0.0).astype(int) * (1 - cover)
        unit = self.pile.index(self._unthrown(places))
        if self.cover is not None:
            unit = np.where(cover == 1, self.cover.index(places), unit)
        return np.column_stack((dike, cover, side, unit))

    def letters(self, code):
        """The unit of one row of codes."""
        dike, cover, _, unit = (int(one) for one in code)
        if dike:
            return "Db"
        return (self.cover if cover and self.cover is not None else self.pile).letters[unit]

    def in_order(self, codes):
        """Where in `order` the unit of each row of codes stands: (n,)."""
        order = {letters: at for at, letters in enumerate(self.order)}
        _, first, which = np.unique(
            codes @ (1 << 20, 1 << 16, 1 << 12, 1), return_index=True, return_inverse=True
        )
        return np.array([order[self.letters(code)] for code in codes[first]])[which]

    def unit(self, east, north, up):
        """The unit at a place."""
        return self.letters(self.codes([[east, north, up]])[0])

    def surface(self, before, after):
        """The field, level through the border between two rows of codes, and what that border is."""
        if before[0] != after[0]:
            return self.dike, "dike"
        if before[1] != after[1]:
            return self.base, "unconformity"
        if before[2] != after[2]:
            return self.fault, "fault"
        if before[1]:
            return self.cover.height, "contact"
        return (lambda places: self.pile.height(self._unthrown(places))), "contact"

    def bedding(self, place):
        """The way the beds young at a place; None in a dike."""
        dike, cover, _, _ = self.codes(place)[0]
        if dike:
            return None
        if cover:
            return gradient(self.cover.height, place)
        return gradient(lambda places: self.pile.height(self._unthrown(places)), place)

    @property
    def order(self):
        """Letters of all units, the youngest first."""
        piles = [self.pile] if self.cover is None else [self.pile, self.cover]
        oldest_first = [one for pile in piles for one in pile.letters]
        laid = [one for one in dict.fromkeys(oldest_first) if one not in self.intrusive]
        return (*self.intrusive, *reversed(laid))

    def thickness(self, letters):
        """True thickness of a unit of which both borders are in its pile and neither is intrusive; else None."""
        for pile in (self.pile, self.cover):
            if pile is None or pile.letters.count(letters) != 1:
                continue
            at = pile.letters.index(letters)
            if 0 < at < len(pile.letters) - 1:
                return float(pile.cuts[at] - pile.cuts[at - 1])
        return None


def gradient(value, place, step=0.01):
    """Unit gradient of a field at a place (3,)."""
    place = np.asarray(place, dtype=float)
    moved = np.concatenate((place + step * np.eye(3), place - step * np.eye(3)))
    found = value(moved)
    slope = found[:3] - found[3:]
    return slope / np.linalg.norm(slope)


def _plane(normal, at=(0.0, 0.0, 0.0)):
    normal, at = np.asarray(normal, dtype=float), np.asarray(at, dtype=float)
    return lambda places: (np.atleast_2d(places) - at) @ normal


def _stack(rng, height, *, low, high, thick=(35.0, 100.0), letters=LETTERS):
    """A pile whose units fill the heights from `low` to `high`."""
    cuts = [low + rng.uniform(0.0, 20.0)]
    while cuts[-1] < high and len(cuts) < len(letters) - 1:
        cuts.append(cuts[-1] + rng.uniform(*thick))
    return Pile(height, np.array(cuts), letters[: len(cuts) + 1])


def _hills(rng, steep):
    """Ground of four long waves about 100 m; `steep` is the root mean square slope."""
    waves = []
    for _ in range(4):
        way, length, phase = (
            rng.uniform(0, 2 * math.pi),
            rng.uniform(450.0, 800.0),
            rng.uniform(0, 2 * math.pi),
        )
        number = 2 * math.pi / length
        waves.append((number * math.sin(way), number * math.cos(way), phase, steep / number / math.sqrt(2.0)))

    def up(east, north):
        return 100.0 + sum(high * np.sin(e * east + n * north + phase) for e, n, phase, high in waves)

    return up


def _span(height, up, across_deg, length):
    """Least and most of a field along the middle of the walk, with some room."""
    run = np.linspace(-0.6, 0.6, 61) * length
    way = math.radians(across_deg)
    east, north = run * math.sin(way), run * math.cos(way)
    found = height(np.column_stack((east, north, up(east, north))))
    return float(found.min()) - 60.0, float(found.max()) + 60.0


def make(kind, seed):
    """The model of a kind that a seed makes."""
    rng = np.random.default_rng([KINDS.index(kind), seed])
    return _MAKERS[kind](rng, kind, seed)


def _homocline(rng, kind, seed, *, dip=(8.0, 75.0), **more):
    direction = rng.uniform(0.0, 360.0)
    height = _plane(pole(rng.uniform(*dip), direction), (0.0, 0.0, 100.0))
    up = more.pop("up", None) or _hills(rng, rng.uniform(0.05, 0.16))
    across = (direction + rng.uniform(-25.0, 25.0) + 180.0 * rng.integers(2)) % 360.0
    low, high = _span(height, up, across, 600.0)
    return Model(
        kind=kind, seed=seed, pile=_stack(rng, height, low=low, high=high), up=up, across_deg=across, **more
    )


def _flat(rng, kind, seed):
    height = _plane(pole(rng.uniform(0.0, 2.0), rng.uniform(0.0, 360.0)), (0.0, 0.0, 100.0))
    up = _hills(rng, rng.uniform(0.12, 0.2))
    return Model(
        kind=kind,
        seed=seed,
        pile=_stack(rng, height, low=-60.0, high=80.0, thick=(8.0, 20.0)),
        up=up,
        across_deg=rng.uniform(0.0, 360.0),
    )


def _dike(rng, kind, seed):
    way = rng.uniform(0.0, 360.0)
    half = rng.uniform(1.0, 7.0)
    off = rng.uniform(-120.0, 120.0)
    normal = pole(rng.uniform(80.0, 90.0), way)
    turn = math.radians(way)
    middle = _plane(normal, (off * math.sin(turn), off * math.cos(turn), 100.0))
    return _homocline(
        rng, kind, seed, dip=(8.0, 45.0), dike=lambda places: middle(places) / half, intrusive=("Db",)
    )


def _sill(rng, kind, seed):
    model = _homocline(rng, kind, seed, dip=(8.0, 55.0))
    pile = model.pile
    middle = int(np.argmin(np.abs(pile.cuts)))
    low = pile.cuts[middle] + 8.0
    # A unit, the sill and the same unit again.
    cuts = np.concatenate(
        (pile.cuts[: middle + 1], [low, low + rng.uniform(4.0, 12.0)], pile.cuts[middle + 1 :] + 24.0)
    )
    host = pile.letters[middle + 1]
    letters = (*pile.letters[: middle + 2], "Sl", host, *pile.letters[middle + 2 :])
    return Model(
        kind=kind,
        seed=seed,
        pile=Pile(pile.height, cuts, letters),
        up=model.up,
        across_deg=model.across_deg,
        intrusive=("Sl",),
    )


def _fault(rng, kind, seed):
    model = _homocline(rng, kind, seed, dip=(10.0, 55.0))
    bed = gradient(model.pile.height, (0.0, 0.0, 100.0))
    direction = dip_and_direction(bed)[1]
    normal = pole(rng.uniform(55.0, 85.0), direction + rng.uniform(-30.0, 30.0) + 180.0 * rng.integers(2))
    down = np.cross(np.cross(normal, (0.0, 0.0, 1.0)), normal)
    throw = rng.uniform(40.0, 110.0) * down / np.linalg.norm(down) * (1 if rng.random() < 0.7 else -1)
    low, high = _span(model.pile.height, model.up, model.across_deg, 600.0)
    return Model(
        kind=kind,
        seed=seed,
        pile=_stack(rng, model.pile.height, low=low - 110.0, high=high + 110.0),
        up=model.up,
        across_deg=model.across_deg,
        fault=_plane(normal, (rng.uniform(-80, 80), rng.uniform(-80, 80), 100.0)),
        throw=throw,
    )


def _cover(rng, kind, seed):
    """Gentle beds over tilted ones, worn down level with them; the surface comes out once along the walk."""
    direction = rng.uniform(0.0, 360.0)
    across = (direction + rng.uniform(-20.0, 20.0) + 180.0 * rng.integers(2)) % 360.0
    up = _hills(rng, rng.uniform(0.03, 0.08))
    way = across if rng.random() < 0.5 else across + 180.0
    lies = pole(rng.uniform(3.0, 9.0), way + rng.uniform(-30.0, 30.0))
    base = _plane(lies, (0.0, 0.0, float(up(np.array(0.0), np.array(0.0)))))
    old = _plane(pole(rng.uniform(25.0, 70.0), direction), (0.0, 0.0, 100.0))
    low, high = _span(old, up, across, 600.0)
    pile = _stack(rng, old, low=low, high=high, letters=LETTERS[:10])
    cover = _stack(rng, base, low=8.0, high=90.0, thick=(8.0, 16.0), letters=("Ua", "Ub", "Uc", "Ud"))
    return Model(kind=kind, seed=seed, pile=pile, up=up, across_deg=across, cover=cover, base=base)


def _fold(rng, kind, seed):
    """Straight limbs with beds of one thickness; or rounded, in five panels about one axis."""
    strike = rng.uniform(0.0, 360.0)
    first = rng.uniform(22.0, 65.0)
    second = rng.uniform(22.0, 65.0)
    if kind == "overturned":
        first, second = rng.uniform(20.0, 40.0), rng.uniform(102.0, 125.0)
    plunge = rng.uniform(8.0, 30.0) if kind == "plunging" else 0.0
    trend = math.radians(strike)
    sink = math.radians(plunge)
    axis = np.array([math.sin(trend) * math.cos(sink), math.cos(trend) * math.cos(sink), -math.sin(sink)])
    side = np.array([math.cos(trend), -math.sin(trend), 0.0])
    top = np.cross(side, axis)
    hollow = bool(rng.random() < 0.5)
    # Younging angles from upright toward `side`: the limbs of a syncline young toward each other.
    limbs = (first, -second) if hollow else (-first, second)
    panels = np.linspace(limbs[0], limbs[1], 5) if rng.random() < 0.4 else np.array(limbs)
    poles = np.array(
        [math.sin(math.radians(one)) * side + math.cos(math.radians(one)) * top for one in panels]
    )
    up = _hills(rng, rng.uniform(0.04, 0.1))
    radius = rng.uniform(30.0, 70.0) if len(panels) > 2 else 0.0
    # Panels are tangent to circles about one line, above the ground in a syncline and below it in an anticline.
    middle = np.array([0.0, 0.0, 100.0 + (radius if hollow else -radius)])

    def height(places):
        found = (np.atleast_2d(places) - middle) @ poles.T
        return found.min(axis=1) if hollow else found.max(axis=1)

    across = (strike + 90.0 + rng.uniform(-20.0, 20.0) + 180.0 * rng.integers(2)) % 360.0
    low, high = _span(height, up, across, 600.0)
    interlimb = 180.0 - (first + second)
    return Model(
        kind=kind,
        seed=seed,
        pile=_stack(rng, height, low=low, high=high),
        up=up,
        across_deg=across,
        folds=(
            Fold(
                form="syncline" if hollow else "anticline",
                axis=axis,
                interlimb_deg=interlimb,
                overturned=kind == "overturned",
            ),
        ),
    )


def _dome(rng, kind, seed):
    dip = math.radians(rng.uniform(12.0, 35.0))

    def height(places):
        places = np.atleast_2d(places)
        return (places[:, 2] - 100.0) * math.cos(dip) + np.hypot(places[:, 0], places[:, 1]) * math.sin(dip)

    up = _hills(rng, rng.uniform(0.03, 0.07))
    return Model(
        kind=kind,
        seed=seed,
        pile=_stack(rng, height, low=10.0, high=260.0),
        up=up,
        across_deg=rng.uniform(0.0, 360.0),
        length_m=700.0,
    )


def _valley(rng, kind, seed):
    """Gentle beds, walked down one side of a valley and up the other, which may run along them or across."""
    way = rng.uniform(0.0, 360.0)
    side, wide, fall = rng.uniform(0.18, 0.28), rng.uniform(8.0, 25.0), rng.uniform(0.01, 0.05)
    sin, cos = math.sin(math.radians(way)), math.cos(math.radians(way))

    def up(east, north):
        across = sin * east + cos * north
        return 100.0 + side * (np.hypot(across, wide) - wide) - fall * (cos * east - sin * north)

    height = _plane(pole(rng.uniform(3.0, 12.0), rng.uniform(0.0, 360.0)), (0.0, 0.0, 100.0))
    low, high = _span(height, up, way, 360.0)
    return Model(
        kind=kind,
        seed=seed,
        pile=_stack(rng, height, low=low, high=high, thick=(15.0, 35.0)),
        up=up,
        across_deg=(way + rng.uniform(-25.0, 25.0)) % 360.0,
        length_m=360.0,
    )


_MAKERS = {
    "homocline": _homocline,
    "flat": _flat,
    "dike": _dike,
    "sill": _sill,
    "fault": _fault,
    "cover": _cover,
    "upright": _fold,
    "overturned": _fold,
    "plunging": _fold,
    "dome": _dome,
    "followed": lambda rng, kind, seed: _homocline(rng, kind, seed, dip=(15.0, 60.0)),
    "valley": _valley,
}
