"""How thick a unit is, in the words of the legend and the column."""

from types import SimpleNamespace

import pytest

from traverse.length import METRES
from traverse.sheet.said.thickness_words import thickness_words, width_forms
from traverse.sheet.tables.contact_rows import thickness_lines
from traverse.source import Span
from traverse.structure.thickness.records import LeastThickness, Thickness, UnitThickness


def known(true, sd, extent, least=None):
    return UnitThickness(unit="Ju", true_m=true, sd_m=sd, range_m=extent, n=1, least_m=least)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (known(61.0, 2.7, (59.5, 62.4)), "61 ± 3 m"),
        (known(73.2, 2.8, (60.2, 76.7)), "60–77 m, best 73"),
        # The worked case of one plane, an arc and three bends: 110, 111, and 118, 109, 100.
        (known(110.0, 4.0, (100.0, 118.0)), "100–118 m, best 110"),
        (known(20.0, 0.2, (19.9, 20.1)), "20 ± 1 m"),
        # What rounds to one figure is one.
        (known(20.0, 0.1, (19.8, 20.2)), "20 ± 1 m"),
        (known(None, None, None, least=13.4), "at least 13 m"),
        (None, ""),
    ],
)
def test_a_thickness_has_its_error_and_where_rules_differ_more_its_range_about_the_best(given, words):
    assert thickness_words(given, METRES).replace("\xa0", " ") == words


def test_each_end_of_what_the_legend_tells_stands_among_the_crossings():
    """The least from the bend of one crossing, the most from a part that was nowhere crossed whole."""
    c = [Span(file="", line=line, column=1, end=2) for line in range(1, 6)]
    crossed = [
        Thickness(unit="Ju", true_m=47.0, sd_m=3.0, between=(c[0], c[1]), bend_m=(45.8, 46.6), arc_m=46.0),
        Thickness(unit="Ju", true_m=44.0, sd_m=3.0, between=(c[2], c[3]), bend_m=(35.3, 42.9), arc_m=39.0),
    ]
    geology = SimpleNamespace(
        thicknesses=crossed,
        unit_thicknesses=[known(45.6, 2.1, (35.3, 50.2))],
        least=[LeastThickness(unit="Ju", true_m=50.2, sd_m=3.0, contact=c[4], why="not walked farther")],
    )
    stops = SimpleNamespace(contact_numbers={one: f"c{at}" for at, one in enumerate(c, 1)})
    ((_, words, told),) = thickness_lines(geology, stops, METRES)
    assert told.replace("\xa0", " ") == "35–50 m, best 46"
    assert words.replace("\xa0", " ") == (
        "c1–c2  47 ± 3; c3–c4  44 ± 3 (35–44 as beds bend); beyond c5  at least 50 ± 3"
    )


@pytest.mark.parametrize(
    ("strike_deg", "read_at", "words"),
    [
        (30.0, ("line",), "202 m walked"),
        (None, ("line", "line"), "202 m walked, walls read apart"),
        (None, (), "202 m walked, walls not read"),
    ],
)
def test_a_body_of_no_width_says_what_was_read_of_its_walls(strike_deg, read_at, words):
    body = SimpleNamespace(unit="Si", through=True, width_m=None, width_sd_m=None, walked_m=202.0,
                           stretches=(), strike_deg=strike_deg, read_at=read_at)  # fmt: skip
    trav = SimpleNamespace(log=SimpleNamespace(lengths=METRES), geology=SimpleNamespace(bodies=(body,)))
    assert [one.replace("\xa0", " ") for one in width_forms(trav, "Si")] == [words]
