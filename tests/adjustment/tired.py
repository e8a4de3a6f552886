"""Invented ground walked by an invented party: pages as they were typed, true but for the error of every reading."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

from traverse.notation.read import read_log
from traverse.source import Source
from traverse.survey import survey_log

PACE_M = 0.75
BEARING_SD_DEG, PACE_SHARE, SLOPE_SD_DEG = 1.0, 0.02, 1.0
# East, north and up of the stations, metres.
GROUND = {
    "1": (0, 0, 210), "2": (62, 48, 214), "3": (131, 71, 221), "4": (183, 128, 230), "5": (171, 207, 241),
    "6": (227, 262, 252), "7": (190, 330, 259), "8": (112, 351, 250), "9": (47, 298, 238), "10": (12, 221, 227),
    "11": (-38, 152, 219), "12": (-51, 66, 212), "13": (96, 178, 236), "14": (68, 250, 240), "5a": (236, 196, 246),
    "5b": (291, 224, 251),
}  # fmt: skip
RING = [(str(i), str(i % 12 + 1)) for i in range(1, 13)]
"""A loop of twelve legs."""
ACROSS = [("4", "13"), ("13", "14"), ("14", "9")]
"""A second way from 4 to 9: a figure of two loops."""


@dataclass
class Page:
    """Lines of a page, and which line books which leg."""

    lines: list[str]

    def line_of(self, end: str) -> int:
        """Line that walks to a station first, from 1."""
        words = {f"to {end}", f"close {end}", f"side {end}"}
        return next(i for i, row in enumerate(self.lines, 1) if " ".join(row.split()[:2]) in words)

    def typed(self, old: str, new: str) -> Page:
        """The page with one stretch of one line typed otherwise; a line that becomes empty is gone."""
        assert sum(old in row for row in self.lines) == 1, (old, self.lines)
        rows = [row.replace(old, new) for row in self.lines]
        return Page([row for row in rows if row.strip()])

    @property
    def text(self) -> str:
        """As a file."""
        return "\n".join(self.lines) + "\n"

    def survey(self):
        """The outcome of the survey of it, with the messages of the reading."""
        reading = read_log(Source(name="page.trav", text=self.text), load=lambda _: None)
        survey, said = survey_log(reading.value.log)
        return survey, (*reading.diagnostics, *said)


def walked(
    ways,
    *,
    seed=1,
    ground=GROUND,
    back=(),
    slopes=False,
    declination=0.0,
    metres=False,
    heading=(),
    pace=f"pace {PACE_M} m",
    noisy=True,
):
    """A page of legs between stations; `back` names the starts of legs with a back bearing, or is `all`."""
    chance = random.Random(seed)  # noqa: S311 - simulated walks
    spread = (lambda sd: chance.gauss(0.0, sd)) if noisy else (lambda _: 0.0)
    north = "magnetic" if declination else "true"
    lines = ["notation 1", f"bearings {north}"]
    if declination:
        lines.append(f"declination {abs(declination):g} {'E' if declination > 0 else 'W'}, 2026, chart")
    lines += [pace, *heading, f"at {ways[0][0]}"]
    seen, here = {ways[0][0]}, ways[0][0]
    for start, end in ways:
        if start != here:
            lines.append(f"at {start}")
        east, north_m, up = (b - a for a, b in zip(ground[start], ground[end], strict=True))
        level = math.hypot(east, north_m)
        azimuth = math.degrees(math.atan2(east, north_m)) - declination
        fore = round(azimuth + spread(BEARING_SD_DEG)) % 360
        slope = math.degrees(math.atan2(up, level))
        length = math.hypot(level, up) if slopes else level
        share = 0.005 if metres else PACE_SHARE
        length *= 1.0 + spread(share)
        distance = f"{length:.1f}m" if metres else f"{length / PACE_M:.0f}p"
        word = "close" if end in seen else "to"
        row = f"{word} {end} {fore:03d} {distance}"
        if slopes:
            read = round(slope + spread(SLOPE_SD_DEG))
            row += f" {read:+d}" if read else " level"
        if back == "all" or start in back:
            row += f" back {round(azimuth + 180.0 + spread(BEARING_SD_DEG)) % 360:03d}"
        lines.append(row)
        seen.add(end)
        here = end
    return Page(lines)
