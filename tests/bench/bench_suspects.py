"""How often the leg that was misread is named first, and among the first three, beside a reference of its own.

Loops of 5 to 12 paced legs are walked with known errors, one reading is spoilt with a slip that the closure can
see (q above 13), and the page is read as any other. The reference tries every slip by brute force with its own
arithmetic and ranks by likelihood. Good loops are walked too, to count how many are accused. Prints, asserts
nothing.
"""

import math
import random
import sys
from collections import defaultdict
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from traverse.notation.read import read_log
from traverse.source import Source
from traverse.survey import survey_log

LOOPS, GOOD_LOOPS = 100, 100
PACE = 0.75
BEARING_SD, PACE_SHARE = 1.0, 0.02
HEAD = f"notation 1\nbearings true\npace {PACE} m\nat 0\n"
RARE = 2.4
# Slip of a bearing or a count: how the page came to say something else, and how rare it is.
SLIPS = {
    "reversed": (lambda a, n: ((a + 180) % 360, n), 0.0),
    "10 more": (lambda a, n: ((a + 10) % 360, n), 0.0),
    "10 less": (lambda a, n: ((a - 10) % 360, n), 0.0),
    "100 more": (lambda a, n: ((a + 100) % 360, n), 0.0),
    "100 less": (lambda a, n: ((a - 100) % 360, n), 0.0),
    "20 more": (lambda a, n: ((a + 20) % 360, n), RARE),
    "20 less": (lambda a, n: ((a - 20) % 360, n), RARE),
    "first digits exchanged": (lambda a, n: (exchanged(a, 0), n), 0.0),
    "last digits exchanged": (lambda a, n: (exchanged(a, 1), n), 0.0),
    "100 paces dropped": (lambda a, n: (a, n - 100), 0.0),
    "100 paces more": (lambda a, n: (a, n + 100), 0.0),
    "50 paces dropped": (lambda a, n: (a, n - 50), RARE),
    "20 paces dropped": (lambda a, n: (a, n - 20), RARE),
    "10 paces dropped": (lambda a, n: (a, n - 10), RARE),
    "50 paces more": (lambda a, n: (a, n + 50), RARE),
    "20 paces more": (lambda a, n: (a, n + 20), RARE),
    "10 paces more": (lambda a, n: (a, n + 10), RARE),
    "digits of the paces exchanged": (lambda a, n: (a, swapped(n)), RARE),
    "counted double": (lambda a, n: (a, n // 2), RARE),
    "counted single": (lambda a, n: (a, 2 * n), RARE),
}


def exchanged(azimuth, at):
    digits = f"{azimuth:03d}"
    other = int(digits[:at] + digits[at + 1] + digits[at] + digits[at + 2 :])
    return other if other < 360 else azimuth


def swapped(count):
    """The first two digits of a count exchanged."""
    digits = str(count)
    return int(digits[1] + digits[0] + digits[2:]) if count >= 10 else count


def walked_loop(chance):
    """Bearings and counts as a party would book them on a loop of 5 to 12 legs."""
    count = chance.randint(5, 12)
    while True:
        places = [(chance.uniform(0, 500), chance.uniform(0, 500)) for _ in range(count)]
        middle = [sum(values) / count for values in zip(*places, strict=True)]
        places.sort(key=lambda p: math.atan2(p[0] - middle[0], p[1] - middle[1]))
        ways = [(b[0] - a[0], b[1] - a[1]) for a, b in zip(places, places[1:] + places[:1], strict=True)]
        if min(math.hypot(*way) for way in ways) > 40:
            break
    return [
        (
            round(math.degrees(math.atan2(*way)) + chance.gauss(0, BEARING_SD)) % 360,
            round(math.hypot(*way) / PACE * (1 + chance.gauss(0, PACE_SHARE))),
        )
        for way in ways
    ]


def page(legs):
    rows = [f"{'close 0' if i == len(legs) else f'to {i}'} {a:03d} {n}p" for i, (a, n) in enumerate(legs, 1)]
    return HEAD + "\n".join(rows) + "\n"


def named_by_us(legs):
    reading = read_log(Source(name="page.trav", text=page(legs)), load=lambda _: None)
    survey = survey_log(reading.value.log).value
    return survey.closures[0].q, list(dict.fromkeys(int(one.start) for one in survey.suspects))


def likelihood(legs):
    """Chi-square of the closure, and twice the negative log-likelihood but for a constant."""
    e = n = see = snn = sen = 0.0
    for azimuth, count in legs:
        a, d = math.radians(azimuth), count * PACE
        s, c = math.sin(a), math.cos(a)
        e, n = e + d * s, n + d * c
        along, across = (d * PACE_SHARE) ** 2, (d * math.radians(BEARING_SD)) ** 2
        see += along * s * s + across * c * c
        snn += along * c * c + across * s * s
        sen += (along - across) * s * c
    det = see * snn - sen * sen
    q = (e * e * snn - 2 * e * n * sen + n * n * see) / det
    return q, q + math.log(det)


def named_by_brute_force(legs):
    ranked = {}
    for i, (azimuth, count) in enumerate(legs):
        for change, rarity in SLIPS.values():
            a, n = change(azimuth, count)
            if n <= 0 or (a, n) == (azimuth, count):
                continue
            q, score = likelihood([*legs[:i], (a, n), *legs[i + 1 :]])
            if q < 5.99:
                ranked[i] = min(ranked.get(i, math.inf), score + rarity)
    return sorted(ranked, key=ranked.get)


def main():
    chance = random.Random(4)  # noqa: S311 - simulated walks
    found = defaultdict(lambda: [0, 0, 0, 0, 0])
    while sum(row[0] for row in found.values()) < LOOPS:
        legs = walked_loop(chance)
        kind = chance.choice(list(SLIPS))
        wrong = chance.randrange(len(legs))
        a, n = SLIPS[kind][0](*legs[wrong])
        if n <= 0 or (a, n) == legs[wrong]:
            continue
        spoilt = [*legs[:wrong], (a, n), *legs[wrong + 1 :]]
        if likelihood(spoilt)[0] < 13:
            continue
        _, ours = named_by_us(spoilt)
        reference = named_by_brute_force(spoilt)
        row = found[kind]
        for k, hit in enumerate(
            (True, ours[:1] == [wrong], wrong in ours[:3], reference[:1] == [wrong], wrong in reference[:3])
        ):
            row[k] += hit
    print(f"{'slip':30} loops  first  in 3   reference: first  in 3")
    for kind, row in sorted(found.items()):
        show(kind, row)
    show("all", [sum(values) for values in zip(*found.values(), strict=True)])
    accused = sum(named_by_us(walked_loop(chance))[0] > 9.21 for _ in range(GOOD_LOOPS))
    print(f"good loops whose message names a leg: {accused} of {GOOD_LOOPS} (one in a hundred is expected)")


def show(kind, row):
    loops, *hits = row
    print(
        f"{kind:30} {loops:5d}  {hits[0] / loops:.2f}   {hits[1] / loops:.2f}              {hits[2] / loops:.2f}   {hits[3] / loops:.2f}"
    )


if __name__ == "__main__":
    main()
