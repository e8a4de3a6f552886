"""Notebook pages of the trade, typed nearly as they stand, say what they say in the book."""

from pathlib import Path

import pytest

from traverse.diagnostic import Severity
from traverse.log.items import PlaneKind, Planes
from traverse.notation.read import read_log
from traverse.source import Source

PAGES = Path(__file__).parent / "pages"


def page(name):
    outcome = read_log(Source(name=name, text=(PAGES / name).read_text("utf-8")), load=lambda path: b"")
    assert [one for one in outcome.diagnostics if one.severity is not Severity.NOTE] == []
    return outcome.value.log


def dip_directions(log, kind):
    return [
        (round(reading.strike_deg + 90) % 360, reading.dip_deg)
        for item in log.items
        if isinstance(item, Planes) and item.kind is kind
        for reading in item.readings
    ]


@pytest.mark.parametrize("name", ["american.trav", "british.trav", "alpine.trav"])
def test_one_plane_in_three_hands(name):
    """Field notes in three styles (common practice, no source): beds dip 42 toward 128, foresets 25 toward 080."""
    log = page(name)
    assert (128, 42) in dip_directions(log, PlaneKind.BED)
    assert dip_directions(log, PlaneKind.CROSSBED) == [(80, 25)]


def test_a_whole_page():
    """A worked page of a loop of five legs (common practice, no source)."""
    log = page("sawbill.trav")
    assert [(leg.start, leg.end, leg.bearing.azimuth_deg, leg.back_bearing.azimuth_deg) for leg in log.legs] == [
        ("1", "2", 41, 222), ("2", "3", 107, 286), ("3", "4", 166, 347), ("4", "5", 272, 91), ("5", "1", 337, 157.5),
    ]  # fmt: skip
    assert [leg.distance.value for leg in log.legs] == [66, 58.5, 81, 99, 45]
    assert [leg.slope.value for leg in log.legs] == [0, 4, -6, 0, 0]
    assert dip_directions(log, PlaneKind.BED) == [(138, 12), (140, 14), (142, 34), (144, 66), (137, 13)]
    assert [one.letters for one in log.units] == ["Qal", "Pq", "Ps", "Pl"]
