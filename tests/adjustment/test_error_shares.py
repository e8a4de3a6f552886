"""What an expected misclosure is made of, against the same walk with one precision at a time: variances add."""

import numpy as np
import pytest

from tests.walk import conditions, control, walk
from traverse.log.readings import Precision
from traverse.survey import survey_log

WHOLE = {"bearing_deg": 1.3, "slope_deg": 2.5, "tape_share": 0.02}
NOTHING = 1e-7


def expected_m2(kept, *, closed, known_sd_m):
    """Of a random walk of eight legs over steep ground, with the parts of the error that are not kept at nothing."""
    rng = np.random.default_rng(4)
    legs = [
        (
            str(at),
            "1" if closed and at == 8 else str(at + 1),
            float(azimuth),
            f"{far:.1f}m",
            {"slope": float(slope)},
        )
        for at, (azimuth, far, slope) in enumerate(
            rng.uniform((0.0, 30.0, -40.0), (360.0, 120.0, 40.0), (8, 3)), start=1
        )
    ]
    at = conditions(
        precision=Precision(**{name: sd if name in kept else NOTHING for name, sd in WHOLE.items()})
    )
    sd = known_sd_m if "known_points" in kept else NOTHING
    controls = [control("1", 0, 0, sd=sd), *([] if closed else [control("9", 40, 30, sd=sd, line=6)])]
    [closure] = survey_log(walk(*legs, at=at, controls=controls)).value.closures
    return closure.expected_m**2, closure.shares


@pytest.mark.parametrize("closed", [True, False])
def test_each_part_of_an_expected_misclosure_is_what_it_alone_would_make(closed):
    every = (*WHOLE, "known_points")
    whole, shares = expected_m2(every, closed=closed, known_sd_m=3.0)
    parts = [expected_m2((one,), closed=closed, known_sd_m=3.0)[0] / whole for one in every]
    assert [shares.bearing, shares.slope, shares.distance, shares.known_points] == pytest.approx(
        parts, abs=1e-3
    )
    assert parts[3] == pytest.approx(0.0 if closed else 4.0 * 3.0**2 / whole, abs=1e-3)
    assert sum(parts) == pytest.approx(1.0, abs=1e-3)
