"""A season of invented days: loops walked with ordinary errors in four grids, typed as logs of some sixty lines."""

import math
import random
from pathlib import Path

GRIDS = (
    ("EPSG:25833", 412350, 5989020),
    ("EPSG:32719", 512340, 7138620),
    ("EPSG:2193", 1576041, 5188574),
    (None, 0, 0),
)
"""Three grids in three parts of the world, and days that have none."""
PEOPLE = ("MO Mara Olsen", "JT Jon Tell", "AR Ana Rourke", "PS Priya Sands", "LB Lena Brandt")
UNITS = ("Sh Reed Shale ; Jurassic", "Ss Pike Sandstone ; Triassic", "Lm Larder Limestone ; Permian")
STATIONS = 9
PACE_M = 1.5


def day(seed, *, grid=None, title=None):
    """A log; the same for the same seed. `grid` is one of `GRIDS`, else the seed picks it."""
    chance = random.Random(seed)  # noqa: S311 - an invented walk
    code, east, north = GRIDS[seed % len(GRIDS)] if grid is None else grid
    people = chance.sample(PEOPLE, 2)
    lines = [
        "notation 1",
        f"traverse {title or f'Tarn Side, day {seed}'}",
        f"date 2026-{6 + seed // 28 % 3:02d}-{1 + seed % 28:02d}",
        f"party {', '.join(people)}",
        *([f"grid {code}"] if code else []),
        "bearings true",
        "attitudes dip-right",
        "pace double 150 m in 100, 100, 99, 101",
        "precision bearing 1, slope 1, pace 2%",
        "",
        *(f"unit {unit}" for unit in UNITS),
    ]
    if code:
        # Days of one valley, side by side.
        lines.append(
            f"control 1 {east + 700 * (seed // 4 % 9)} E {north + 600 * (seed // 36 % 9)} N 640 m ±5 gps"
        )
    corners = [
        (180.0 * math.cos(turn) + chance.gauss(0, 12), 180.0 * math.sin(turn) + chance.gauss(0, 12))
        for turn in (math.tau * at / STATIONS for at in range(STATIONS))
    ]
    strike = chance.randrange(360)
    lines += ["", "at 1", *_stop(0, seed, strike, chance)]
    for at in range(1, STATIONS + 1):
        (from_east, from_north), (to_east, to_north) = corners[at - 1], corners[at % STATIONS]
        run = math.hypot(to_east - from_east, to_north - from_north)
        azimuth = math.degrees(math.atan2(to_east - from_east, to_north - from_north)) + chance.gauss(0, 0.7)
        paces = round(run / PACE_M * chance.gauss(1, 0.012))
        closing = at == STATIONS
        lines += ["", f"{'close 1' if closing else f'to {at + 1}'} {round(azimuth) % 360:03d} {paces}p"]
        if at % 3 == 0:
            upper, lower = (at // 3 - 1) % 3, at // 3 % 3
            first, second = sorted((upper, lower))
            lines += [
                f"along {paces // 2}p",
                f"  contact {UNITS[first][:2]}/{UNITS[second][:2]} certain",
            ]
        if not closing:
            lines += [f"at {at + 1}", *_stop(at, seed, strike, chance)]
    return "\n".join(lines) + "\n"


def _stop(at, seed, strike, chance):
    unit = UNITS[at // 3 % 3][:2]
    reading = f"{round(strike + chance.gauss(0, 4)) % 360:03d}/{round(30 + chance.gauss(0, 2)):02d}"
    yield f"  unit {unit}"
    yield f"  bed {reading}"
    if at == 2:
        yield f"  sample T{seed}-1 shell band"
    if at == 4:
        yield "  hazard loose blocks above the path"
    if at % 2:
        yield "  rock grey, thick-bedded"


def season(folder, days, *, first=0):
    """So many logs below a folder, in a subfolder for each of the grids."""
    for seed in range(first, first + days):
        place = Path(folder) / f"party-{'abcd'[seed % 4]}"
        place.mkdir(parents=True, exist_ok=True)
        (place / f"day-{seed:05d}.trav").write_text(day(seed), encoding="utf-8")
