"""Lightness and what deficient eyes see, held against a general-purpose library of colours (coloraide)."""

import numpy as np
import pytest
from coloraide import Color

from traverse.sheet.signs.colour import CHART
from traverse.sheet.signs.seeing import Eyes, lightness, seen_apart

COLOURS = [
    *("#" + "".join(f"{part:02x}" for part in one) for one in CHART.values()),
    *("#000000", "#ffffff", "#ff0000", "#00ff00", "#0000ff", "#0a0a0a", "#808080", "#010203"),
]
FILTERS = {Eyes.RED_BLIND: "protan", Eyes.GREEN_BLIND: "deutan", Eyes.BLUE_BLIND: "tritan"}


def test_lightness_is_that_of_the_library():
    for one in COLOURS:
        assert lightness(one) == pytest.approx(Color(one).convert("lab-d65")["lightness"], abs=1e-9)


@pytest.mark.parametrize("eyes", Eyes)
def test_distances_are_those_of_the_library(eyes):
    seen = [Color(one) for one in COLOURS]
    if eyes in FILTERS:
        seen = [one.filter(FILTERS[eyes]) for one in seen]
    place = np.array([one.convert("oklab").coords() for one in seen])
    apart = np.sqrt(((place[:, None, :] - place[None, :, :]) ** 2).sum(axis=2))
    assert seen_apart(COLOURS, eyes) == pytest.approx(apart, abs=1e-8)
