"""Which contacts were met at a share of a leg, and which way from one lies its younger unit, by hand."""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from traverse.structure.walk.sides import contacts_at, younger_side

LEGS = [SimpleNamespace(index=0, start="1", end="2"), SimpleNamespace(index=1, start="2", end="3")]


def placed(*, station=None, leg=None, share=None):
    address = SimpleNamespace(station=station, leg=None if leg is None else LEGS[leg])
    return SimpleNamespace(place=SimpleNamespace(address=address, middle_share=share))


@pytest.mark.parametrize(
    ("leg", "share", "expected"),
    [
        (0, 0.0, ["at 1"]),
        (0, 0.4, ["half-way on the first"]),
        (0, 0.6, []),
        (0, 1.0, ["at 2"]),
        (1, 0.0, ["at 2"]),
        (1, 1.0, ["end of the second"]),
    ],
)
def test_a_contact_at_a_station_is_met_where_a_leg_begins_or_ends_there(leg, share, expected):
    contacts = {
        "at 1": placed(station="1"),
        "at 2": placed(station="2"),
        "half-way on the first": placed(leg=0, share=0.4),
        "end of the second": placed(leg=1, share=1.0),
    }
    met = contacts_at(SimpleNamespace(legs=LEGS), list(contacts.values()))
    found = met(leg, share)
    assert [name for name, one in contacts.items() if any(one is other for other in found)] == expected


WALK = """notation 1
bearings true
attitudes dip-right
unit Cm Cliff marl ;
unit Gg Grey grit ;
at 1
unit Gg
to 2 {first:03d} 60m +5
along 25m
contact Cm/Gg certain
at 2
unit Cm
to 3 {second:03d} 50m -4
at 3
contact Cm/Gg certain
unit Gg
to 4 {third:03d} 40m level
along 15m
contact Cm/Gg certain
at 4
unit Cm
"""


@pytest.mark.parametrize("turn_deg", [0, 73, 164, 251])
def test_the_way_into_the_younger_unit_goes_along_the_legs_that_meet_there(compile_text, turn_deg):
    """Into the marl on the first leg; out of it at 3, by the mean of both legs there; and into it again on the last."""
    azimuths = [(one + turn_deg) % 360 for one in (30, 120, 195)]
    found = compile_text(WALK.format(**dict(zip(("first", "second", "third"), azimuths, strict=True))))
    side = younger_side(found.log, found.trav.survey, found.geology.band)
    slopes = [math.radians(one) for one in (5, -4, 0)]
    first, second, third = (
        np.array((math.cos(slope) * math.sin(way), math.cos(slope) * math.cos(way), math.sin(slope))) * far
        for slope, way, far in zip(slopes, map(math.radians, azimuths), (60.0, 50.0, 40.0), strict=True)
    )
    for contact, expected in zip(found.geology.contacts, (first, -(second + third), third), strict=True):
        way = side(contact)
        # What was walked before speaks as well as what was walked after.
        assert np.linalg.norm(way) == pytest.approx(
            np.linalg.norm(expected) * (1 if contact.place.address.station else 2)
        )
        assert way / np.linalg.norm(way) == pytest.approx(expected / np.linalg.norm(expected), abs=1e-3)
