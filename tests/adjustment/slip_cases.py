"""Invented walks with one slip each, and beside the program a reference that tries the same slips by brute force.

The reference has arithmetic of its own: it draws the page as corrected, solves all places at once by least squares over
everything that the page tells, and ranks by the likelihood of the whole network. It does not know how steep slopes are
for one another, nor that `at` is mistyped for the station beside, where the program may do better; nor does it keep
silent where a clean day might look so, where it may do worse. Run as a command it walks 500 cases from a seed:

    python tests/adjustment/slip_cases.py [CASES] [CLEAN] [SEED]
"""

from __future__ import annotations

import math
import random
import sys
from collections import defaultdict
from dataclasses import dataclass, field, replace
from itertools import pairwise
from pathlib import Path

import numpy as np

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from traverse.notation.read import read_log
from traverse.source import Source
from traverse.survey import survey_log

PACE_M, BEARING_SD_DEG, PACE_SHARE, SLOPE_SD_DEG = 0.75, 1.0, 0.02, 1.0
RARE, UNCOMMON = 2.4, 6.0
"""Twice the logarithm by which a slip is rarer than the common ones; as in `traverse/trade.py`."""
SEEN = 16.0
"""Chi-square of the walk that a slip must at least raise for its case to count: it shows at all."""


@dataclass(frozen=True)
class Walked:
    """A leg as booked."""

    start: str
    end: str
    azimuth: int
    count: float
    slope: int | None = None
    back: int | None = None


@dataclass(frozen=True)
class Day:
    """A page: legs in order, and known points."""

    legs: tuple[Walked, ...]
    known: dict[str, tuple[int, int]] = field(default_factory=dict)

    @property
    def text(self):
        """As typed."""
        rows = ["notation 1", "bearings true", f"pace {PACE_M} m"]
        rows += [f"control {name} {e} E {n} N ±3 gps" for name, (e, n) in self.known.items()]
        rows.append(f"at {self.legs[0].start}")
        seen, here = {self.legs[0].start}, self.legs[0].start
        for leg in self.legs:
            if leg.start != here:
                rows.append(f"at {leg.start}")
            word = "close" if leg.end in seen else "to"
            slope = "" if leg.slope is None else f" {leg.slope:+d}" if leg.slope else " level"
            back = "" if leg.back is None else f" back {leg.back:03d}"
            rows.append(f"{word} {leg.end} {leg.azimuth:03d} {leg.count:g}p{slope}{back}")
            seen.add(leg.end)
            here = leg.end
        return "\n".join(rows) + "\n"


def walk(chance, shape):
    """A figure of one, two or three loops, or a tie of three known points, as a careful party books it."""
    count = chance.randint(7, 12)
    while True:
        places = [(chance.uniform(0, 500), chance.uniform(0, 500)) for _ in range(count)]
        middle = [sum(values) / count for values in zip(*places, strict=True)]
        places.sort(key=lambda p: math.atan2(p[0] - middle[0], p[1] - middle[1]))
        ways = zip(places, places[1:] + places[:1], strict=True)
        if min(math.dist(a, b) for a, b in ways) > 40:
            break
    names = [str(i + 1) for i in range(count)]
    ground = {name: (*place, chance.uniform(0, 20)) for name, place in zip(names, places, strict=True)}
    legs = list(pairwise(names))
    if shape != "tie":
        legs.append((names[-1], names[0]))
    for loop in range({"two loops": 1, "three loops": 2}.get(shape, 0)):
        a, b = (names[0 + loop], names[count // 2 + loop])
        new = str(count + 1 + loop)
        ground[new] = tuple(
            (x + y) / 2 + chance.uniform(-30, 30) for x, y in zip(ground[a], ground[b], strict=True)
        )
        legs += [(a, new), (new, b)]
    known = {}
    if shape == "tie":
        for name in (names[0], names[count // 2], names[-1]):
            known[name] = tuple(round(500000 + v + chance.gauss(0, 3)) for v in ground[name][:2])
    slopes = shape in {"heights", "two loops"}
    backs = chance.random() < 0.5
    return Day(tuple(booked(chance, ground, a, b, slopes, backs) for a, b in legs), known)


def booked(chance, ground, a, b, slopes, backs):
    """A leg with its errors of reading."""
    east, north, up = (q - p for p, q in zip(ground[a], ground[b], strict=True))
    level = math.hypot(east, north)
    slope = math.degrees(math.atan2(up, level)) if slopes else 0.0
    azimuth = math.degrees(math.atan2(east, north))
    length = level / math.cos(math.radians(slope)) * (1 + chance.gauss(0, PACE_SHARE))
    return Walked(
        a, b, round(azimuth + chance.gauss(0, BEARING_SD_DEG)) % 360, max(1, round(length / PACE_M)),
        round(slope + chance.gauss(0, SLOPE_SD_DEG)) if slopes else None,
        round(azimuth + 180 + chance.gauss(0, BEARING_SD_DEG)) % 360 if backs and chance.random() < 0.4 else None,
    )  # fmt: skip


# --- slips ----------------------------------------------------------------------------------------------------


def digits(azimuth, at):
    """Two neighbouring digits of a bearing exchanged."""
    text = f"{azimuth:03d}"
    other = int(text[:at] + text[at + 1] + text[at] + text[at + 2 :])
    return other if other < 360 else azimuth


def neighbours(count):
    """A count with two neighbouring digits exchanged, each way."""
    text = f"{count:.0f}"
    return [float(text[:i] + text[i + 1] + text[i] + text[i + 2 :]) for i in range(len(text) - 1)]


def other_legs(leg):
    """Each leg that one slip makes of a leg, with the kind of slip and how rare it is. A slip undoes itself or its twin."""
    a, n, s = leg.azimuth, leg.count, leg.slope
    for turn, kind, rare in (
        (180, "bearing reversed", 0.0), (10, "bearing 10", 0.0), (-10, "bearing 10", 0.0), (100, "bearing 100", 0.0),
        (-100, "bearing 100", 0.0), (20, "bearing 20", RARE), (-20, "bearing 20", RARE),
    ):  # fmt: skip
        yield replace(leg, azimuth=(a + turn) % 360), kind, rare
    for at in (0, 1):
        yield replace(leg, azimuth=digits(a, at)), "digits of a bearing", 0.0
    for off in (100, -100, 10, -10, 20, -20, 50, -50):
        yield replace(leg, count=n + off), "paces dropped", 0.0 if abs(off) == 100 else RARE
    for other in neighbours(n):
        yield replace(leg, count=other), "digits of a count", RARE
    for factor, kind, rare in (
        (2.0, "double or single", RARE), (0.5, "double or single", RARE), (10.0, "ten times", RARE), (0.1, "ten times", RARE),
        (100.0, "hundred times", UNCOMMON), (0.01, "hundred times", UNCOMMON),
    ):  # fmt: skip
        if 1.0 <= n * factor <= 1000.0 or factor in {2.0, 0.5}:
            yield replace(leg, count=n * factor), kind, rare
    if s:
        yield replace(leg, slope=-s), "sign of a slope", 0.0
        for other in (s * 10, s / 10):
            if 0.5 <= abs(other) <= 35:
                yield replace(leg, slope=other), "slope ten times", RARE
        yield replace(leg, slope=math.degrees(math.atan(s / 100))), "per cent", RARE


def spoilt(chance, day):
    """A day with one slip: what kind it is, and which leg or known point."""
    while True:
        if day.known and chance.random() < 0.3:
            name = chance.choice(list(day.known))
            east, north = day.known[name]
            at = chance.randrange(2, 5)
            text = f"{north:06d}"
            other = text[:at] + str((int(text[at]) + chance.randint(1, 9)) % 10) + text[at + 1 :]
            return replace(day, known={**day.known, name: (east, int(other))}), "a known point", name
        i = chance.randrange(len(day.legs))
        leg = day.legs[i]
        if chance.random() < 0.12 and i > 1:
            before = [one.start for one in day.legs[:i] if one.start not in {leg.start, leg.end}]
            others = [name for name in dict.fromkeys(before) if name != leg.end]
            if not others:
                continue
            name = others[-1]
            return (
                replace(day, legs=(*day.legs[:i], replace(leg, start=name), *day.legs[i + 1 :])),
                "another start",
                i,
            )
        kinds = defaultdict(list)
        for other, kind, _ in other_legs(leg):
            if (
                other != leg
                and other.count >= 1
                and other.count == int(other.count)
                and other.slope == (None if other.slope is None else int(other.slope))
            ):
                kinds[kind].append(other)
        kind = chance.choice(sorted(kinds))
        return replace(day, legs=(*day.legs[:i], chance.choice(kinds[kind]), *day.legs[i + 1 :])), kind, i


# --- the reference ---------------------------------------------------------------------------------------------


def vectors(day):
    """Legs as vectors, (n, 3), with their covariances, (n, 3, 3), and what fore and back say against each other."""
    back = [leg.back is not None for leg in day.legs]
    apart = np.array([
        (leg.azimuth - leg.back - 180 + 180) % 360 - 180 if leg.back is not None else np.nan for leg in day.legs
    ])  # fmt: skip
    agree = np.abs(apart) <= 3 * math.sqrt(2) * BEARING_SD_DEG
    azimuth = np.radians([leg.azimuth for leg in day.legs]) - np.radians(
        np.where(agree, np.nan_to_num(apart), 0) / 2
    )
    turn_sd = np.radians(BEARING_SD_DEG) / np.where(agree & back, math.sqrt(2), 1)
    slope = np.radians([leg.slope or 0.0 for leg in day.legs])
    length = np.array([leg.count * PACE_M for leg in day.legs])
    sine, cosine, across = np.sin(azimuth), np.cos(azimuth), np.cos(slope)
    found = np.stack((length * across * sine, length * across * cosine, length * np.sin(slope)), axis=1)
    jacobian = np.zeros((len(found), 3, 3))
    jacobian[:, :, 0] = found * PACE_SHARE
    jacobian[:, :, 1] = np.stack((found[:, 1], -found[:, 0], 0 * length), axis=1) * turn_sd[:, None]
    rise = math.radians(SLOPE_SD_DEG) * length
    jacobian[:, :, 2] = np.stack(
        (-np.sin(slope) * sine * rise, -np.sin(slope) * cosine * rise, across * rise), axis=1
    )
    penalty = np.minimum(np.nan_to_num(apart) ** 2 / (2 * BEARING_SD_DEG**2), 12.0)
    return found, jacobian @ jacobian.transpose(0, 2, 1), float(penalty.sum())


def circuits(day):
    """Signed incidence of independent circuits over the legs, (k, n), and of the known points that end them."""
    names = list(dict.fromkeys(name for leg in day.legs for name in (leg.start, leg.end)))
    incidence = np.zeros((len(day.legs), len(names)))
    for i, leg in enumerate(day.legs):
        incidence[i, names.index(leg.start)] -= 1
        incidence[i, names.index(leg.end)] += 1
    known = [names.index(name) for name in day.known]
    free = [i for i in range(len(names)) if i not in (known or [0])]
    _, sizes, rows = np.linalg.svd(incidence[:, free].T)
    return rows[int((sizes > 1e-9).sum()) :], incidence[:, known]


def score(day, loops=None):
    """Chi-square of the whole walk, and twice its negative log-likelihood, all circuits together."""
    rows, ends = loops if loops is not None else circuits(day)
    found, covariance, penalty = vectors(day)
    axes = 3 if day.legs[0].slope is not None and not day.known else 2
    gap = rows @ found[:, :axes]
    spread = np.einsum("kn,nij,ln->kilj", rows, covariance[:, :axes, :axes], rows)
    if day.known:
        gap = gap - rows @ ends @ np.array(list(day.known.values()), dtype=float)
        spread += np.einsum("km,ij,lm->kilj", rows @ ends, np.eye(2) * 9.0, rows @ ends)
    size = gap.size
    spread = spread.reshape(size, size)
    q = float(gap.reshape(-1) @ np.linalg.solve(spread, gap.reshape(-1)))
    return q, q + float(np.linalg.slogdet(spread)[1]) + penalty


def reference(day):
    """Legs and known points, the likeliest to be wrong first."""
    ranked = {}
    loops = circuits(day)
    freedom = loops[0].shape[0] * (3 if day.legs[0].slope is not None and not day.known else 2)
    limit = freedom + 3.1 * math.sqrt(2 * freedom) + 2  # about 99 in 100

    def tried(key, other, rarity, through=None):
        q, value = score(other, through)
        if q < limit:
            ranked[key] = min(ranked.get(key, math.inf), value + rarity)

    for i, leg in enumerate(day.legs):
        for other, _, rarity in other_legs(leg):
            if other != leg and other.count > 0:
                tried(i, replace(day, legs=(*day.legs[:i], other, *day.legs[i + 1 :])), rarity, loops)
        tried(
            i, replace(day, legs=(*day.legs[:i], replace(leg, count=1e-6), *day.legs[i + 1 :])), RARE, loops
        )
        before = dict.fromkeys(name for one in day.legs[:i] for name in (one.start, one.end))
        for name in before:
            if name not in {leg.start, leg.end}:
                left = day.legs[i - 1].end == leg.start
                spur = any(one.start == name for one in day.legs[: i - 1])
                rarity = (0.0 if spur or day.legs[i - 1].start == name else RARE) if left else UNCOMMON
                legs = (*day.legs[:i], replace(leg, start=name), *day.legs[i + 1 :])
                tried(i, replace(day, legs=legs), rarity)
    for name, (east, north) in day.known.items():
        for axis in (0, 1):
            text = f"{(east, north)[axis]:d}"
            others = [
                (text[:k] + d + text[k + 1 :], UNCOMMON)
                for k in range(len(text))
                for d in "0123456789"
                if d != text[k]
            ]
            others += [(f"{value:.0f}", RARE) for value in neighbours(int(text)) if f"{value:.0f}" != text]
            for other, rarity in others:
                place = (int(other), north) if axis == 0 else (east, int(other))
                tried(name, replace(day, known={**day.known, name: place}), rarity, loops)
    return sorted(ranked, key=ranked.get)


# --- the program -----------------------------------------------------------------------------------------------


def named(day):
    """Legs and known points that the program names, the likeliest first."""
    reading = read_log(Source(name="day.trav", text=day.text), load=lambda _: None)
    assert not [one for one in reading.diagnostics if one.severity.value == "error"], day.text
    survey = survey_log(reading.value.log).value
    lines = {leg.booked.span.line: i for i, leg in enumerate(survey.legs)}
    return list(dict.fromkeys(
        one.what.removeprefix("control ") if one.start is None else lines[one.span.line] for one in survey.suspects
    ))  # fmt: skip


SHAPES = ("one loop", "heights", "two loops", "three loops", "tie")


def cases(count, seed):
    """Days with one slip that shows, with its kind and where it is."""
    chance = random.Random(seed)  # noqa: S311 - simulated walks
    given = 0
    while given < count:
        good = walk(chance, SHAPES[given % len(SHAPES)])
        day, kind, where = spoilt(chance, good)
        if score(day)[0] > score(good)[0] + SEEN:
            given += 1
            yield day, kind, where


def compared(count, seed):
    """By kind of slip: cases; first and among three as the program names it; the same of the reference."""
    table = defaultdict(lambda: np.zeros(5))
    for day, kind, where in cases(count, seed):
        ours, theirs = named(day), reference(day)
        table[kind] += [1, ours[:1] == [where], where in ours[:3], theirs[:1] == [where], where in theirs[:3]]
    return table


def accused(count, seed):
    """How many of so many days without a slip have a reading accused."""
    chance = random.Random(seed)  # noqa: S311 - simulated walks
    return sum(bool(named(walk(chance, SHAPES[i % len(SHAPES)]))) for i in range(count))


if __name__ == "__main__":
    wanted = [int(word) for word in sys.argv[1:]] + [500, 500, 7][len(sys.argv) - 1 :]
    rows = compared(wanted[0], wanted[2])
    print(f"{'slip':24} cases  first  in 3   reference: first  in 3")
    for kind, row in [*sorted(rows.items()), ("all", sum(rows.values()))]:
        shares = row[1:] / row[0]
        print(
            f"{kind:24} {row[0]:5.0f}   {shares[0]:.2f}  {shares[1]:.2f}              {shares[2]:.2f}  {shares[3]:.2f}"
        )
    print(f"accused of {wanted[1]} clean days: {accused(wanted[1], wanted[2] + 1)}")
