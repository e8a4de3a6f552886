"""Places of several parties: which lie so near to each other that they may be one, and how well one is known."""

from types import SimpleNamespace

import pytest

from traverse.location.near_parties import _close
from traverse.location.party_fits import _sd_m


def survey(**places):
    return SimpleNamespace(
        places={
            name: SimpleNamespace(east_m=east, north_m=north, sd_plan_m=sd_m)
            for name, (east, north, sd_m) in places.items()
        }
    )


def test_places_within_both_their_errors_are_told_with_the_share_of_it_by_which_they_lie_apart():
    """Of 3-4-5 triangles: A and B lie 5 m apart, A and C 13 m; D is where A is."""
    found = survey(A=(700.0, 200.0, 3.0), B=(703.0, 204.0, 3.0), C=(705.0, 188.0, 3.0), D=(700.0, 200.0, 3.0))
    assert _close(found, ["A"], ["B", "C", "D"]) == [(pytest.approx(5 / 6), pytest.approx(5.0), "A", "B")]
    assert _close(found, ["A", "C"], ["B"]) == [(pytest.approx(5 / 6), pytest.approx(5.0), "A", "B")]


def test_the_error_of_a_place_is_that_of_its_mean_axis():
    """3 m to the east and 4 m to the north: the root of half of 9 and 16."""
    others = SimpleNamespace(places={"B": SimpleNamespace(sd_east_m=3.0, sd_north_m=4.0)})
    assert _sd_m(others, "B") == pytest.approx(12.5**0.5)
