"""How far units go from their contacts on a section, from records alone."""

import math
from types import SimpleNamespace

import pytest

from traverse.structure.section.records import Section
from traverse.structure.thickness.amounts import most_thick
from traverse.structure.thickness.records import UnitThickness


def thick(**more):
    known = {"true_m": 40.0, "sd_m": 2.0, "range_m": (38.0, 43.0), "n": 2, "least_m": None}
    return UnitThickness(unit="Lk", **known | more)


def shown(*beds, flat=()):
    """On a section toward the east, with beds as dip and dip direction."""
    points = [
        SimpleNamespace(
            tells_bedding=True,
            stretch=0,
            attitude=SimpleNamespace(dip_deg=dip, dip_direction_deg=way, unit="Lk"),
        )
        for dip, way in beds
    ]
    return Section.thickness_shown(SimpleNamespace(points=points, azimuths_deg=(90.0,)), flat)


def test_a_unit_is_no_thicker_than_it_was_crossed_with_its_error():
    assert most_thick([thick()], []) == {"Lk": 45.0}
    assert most_thick([thick(true_m=44.0)], []) == {"Lk": 46.0}


def test_of_a_thickness_that_is_not_all_there_is_nothing_is_known():
    unknown = thick(true_m=None, sd_m=None, range_m=None, least_m=20.0)
    assert most_thick([unknown, thick(least_m=60.0)], []) == {}
    assert most_thick([thick()], [SimpleNamespace(unit="Lk", less=("Db",))]) == {}


@pytest.mark.parametrize("dip", [20.0, 50.0, 70.0])
def test_a_section_along_the_strike_shows_a_unit_as_deep_as_upright_through_it(dip):
    """Source: the vertical thickness of a bed is its true one over the cosine of its dip; any textbook of mapping."""
    assert shown((30.0, 90.0), (60.0, 270.0)) == pytest.approx(1.0)
    assert shown((10.0, 90.0), (dip, 0.0)) == pytest.approx(1.0 / math.cos(math.radians(dip)))
    assert shown((85.0, 0.0)) is shown() is shown((30.0, 90.0), flat={"Lk"}) is None
