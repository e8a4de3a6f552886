"""Drift of an altimeter: what it reads too much at known heights, shared out evenly with the clock between them.

Common practice (single-base levelling by barometer, any handbook of surveying); no printed day was at hand, so the
corrections are a second working by numpy's interpolation.
"""

import numpy as np
import pytest

from traverse.location.elevation import readings_without_drift

KNOWN_M = {"1": 400.0, "5": 436.0, "9": 420.0}
DAY = [
    ("1", "08:20", 403.0), ("2", "08:55", 412.0), ("3", "09:40", 428.5), ("4", "10:05", 441.0), ("5", "10:50", 446.0),
    ("6", "11:15", 455.0), ("7", "12:30", 470.0), ("8", "13:05", 441.5), ("9", "14:00", 424.0),
]  # fmt: skip


def minutes(clock):
    hour, minute = clock.split(":")
    return 60 * int(hour) + int(minute)


@pytest.mark.parametrize("feet", [False, True])
def test_heights_of_a_day_between_three_known_ones(compile_text, feet):
    unit, size = ("ft", 0.3048) if feet else ("m", 1.0)
    text = "notation 1\nbearings true\npace 1 m\n"
    text += "".join(
        f"control {name} {100 * int(name)} E 0 N {height:g} m ±0.05\n" for name, height in KNOWN_M.items()
    )
    for name, clock, read in DAY:
        text += f"to {name} 090 100m\n" if name != "1" else "at 1\n"
        text += f"time {clock}\nelevation {read / size:.3f} {unit} altimeter\n"
    at = np.array([minutes(clock) for _, clock, _ in DAY])
    read = np.array([height for *_, height in DAY])
    nodes = [i for i, (name, *_) in enumerate(DAY) if name in KNOWN_M]
    drift = np.interp(at, at[nodes], read[nodes] - np.array(list(KNOWN_M.values())))
    log = compile_text(text).trav.log
    for found, (name, _, height), off in zip(readings_without_drift(log).value, DAY, drift, strict=True):
        assert found.station == name
        assert found.height_m == pytest.approx(height - off, abs=0.002)
