"""Several parties as one network, against a dense least squares of a general-purpose library over the same readings."""

from pathlib import Path

import numpy as np
import pytest
import scipy.linalg

from traverse.adjustment.calibration import stretches
from traverse.adjustment.vectors import EARTH_RADIUS_M, draw_legs
from traverse.command.files import LogFiles
from traverse.compile import compile_log
from traverse.location.frame import grid_of
from traverse.notation.read import read_log
from traverse.reduction.reduce import reduce_legs
from traverse.source import Source

CAMP = Path(__file__).parent.parent / "reference" / "logs" / "four-parties.trav"
ONE_PLACE = {
    "A-Cairn": "Cairn",
    "C-Cairn": "Cairn",
    "D-Cairn": "Cairn",
    "B-1": "A-3",
    "B-5": "A-4",
    "C-5": "A-2",
}
"""As the camp file ties them, and as the figures of the control say."""
CAIRN_M = (412350.0, 4289020.0, 640.0)


@pytest.fixture(scope="module")
def compiled():
    files = LogFiles(str(CAMP))
    source, _ = files.source()
    found = compile_log(source, load=files.load)
    assert not found.failed
    return found


def observations(letters, grid, places):
    """What one party read, from its own log alone: legs by name as vectors with their covariance, and its paces."""
    path = CAMP.parent / "parties" / f"party-{letters.lower()}.txt"
    log = read_log(Source(name=path.name, text=path.read_text(encoding="utf-8")), load=None).value.log
    legs = reduce_legs(log).value
    ends = [
        [ONE_PLACE.get(f"{letters}-{name}", f"{letters}-{name}") for name in (leg.start, leg.end)]
        for leg in log.legs
    ]
    middle = np.array([[(places[a].east_m + places[b].east_m) / 2, (places[a].north_m + places[b].north_m) / 2,
                        (places[a].up_m + places[b].up_m) / 2] for a, b in ends])  # fmt: skip
    convergence, scale = grid.convergence_and_scale(middle[:, 0], middle[:, 1])
    scale = scale * EARTH_RADIUS_M / (EARTH_RADIUS_M + middle[:, 2])
    observed, covariance = draw_legs(legs, convergence, scale)
    return ends, observed, covariance, stretches(legs)


def test_all_parties_are_one_network_as_a_dense_least_squares_has_it(compiled):
    """`scipy.linalg.lstsq` over every leg of every party, each whitened by the precision of its own log.

    Places that are one are one unknown; a calibration that was walked is an unknown of its own.
    """
    places = compiled.survey.places
    assert compiled.survey.rule.value == "least-squares"
    assert len(compiled.survey.closures) == 5
    assert all(closure.adjusted for closure in compiled.survey.closures)
    grid = grid_of(compiled.log).value
    parties = [observations(letters, grid, places) for letters in "ABCD"]
    names = sorted({name for ends, *_ in parties for pair in ends for name in pair} - {"Cairn"})
    column = {name: 3 * index for index, name in enumerate(names)}
    walked = sum(len(courses) for *_, courses in parties)
    rows, right = [], []
    at_course = 3 * len(names)
    for ends, observed, covariance, courses in parties:
        for index, (start, end) in enumerate(ends):
            row, known = np.zeros((3, 3 * len(names) + walked)), observed[index].copy()
            for name, sign in ((start, -1.0), (end, 1.0)):
                if name == "Cairn":
                    known -= sign * np.array(CAIRN_M)
                else:
                    row[:, column[name] : column[name] + 3] += sign * np.eye(3)
            for number, course in enumerate(courses):
                if index in course.legs:
                    row[:, at_course + number] = observed[index]
            whiten = np.linalg.inv(np.linalg.cholesky(covariance[index]))
            rows.append(whiten @ row)
            right.append(whiten @ known)
        for number, course in enumerate(courses):
            prior = np.zeros((1, 3 * len(names) + walked))
            prior[0, at_course + number] = 1.0 / course.share
            rows.append(prior)
            right.append(np.zeros(1))
        at_course += len(courses)
    solved, *_ = scipy.linalg.lstsq(np.vstack(rows), np.concatenate(right))
    for name in names:
        expected = solved[column[name] : column[name] + 3]
        place = places[name]
        assert (place.east_m, place.north_m, place.up_m) == pytest.approx(expected, abs=0.001), name
    for name, same in ONE_PLACE.items():
        if name in places:
            assert places[name].east_m == places[same].east_m
