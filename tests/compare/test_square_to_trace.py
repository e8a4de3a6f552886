"""A contact is held against the key's line, not against the point where the leader happened to cross it."""

import numpy as np
import pytest

from tests.compare.camp import held
from traverse.compare.records import Grade, Part

HEAD = """notation 1
bearings true
attitudes dip-right
precision bearing 1, tape 1%
unit Sh Reed Shale ; Jurassic
unit Ss Pike Sandstone ; Triassic
control 1 1000 E 2000 N

"""
KEY = (
    HEAD
    + """at 1
  unit Ss
  bed 300/40

to 2 000 100m level
along 50m
  contact Sh/Ss certain
at 2
  unit Sh
  bed 300/40

to 3 090 80m level
at 3
  unit Sh
  bed 300/40

to 4 180 100m level
along 96m
  contact Sh/Ss certain
at 4
  unit Ss
  bed 300/40

close 1 270 80m level
"""
)
"""An upright border would run from (1000, 2050) to (1080, 2004), along 120 degrees: the strike of the beds, on level ground."""


def party(along_m):
    """Goes north half-way between the key's two legs, and books the border so far along."""
    return (
        HEAD
        + f"""at 1
  unit Ss
  bed 300/40

to 5 090 40m level
  unit Ss

to 6 000 100m level
along {along_m}m
  contact Sh/Ss certain
at 6
  unit Sh

to 2 270 40m level
at 2
  unit Sh
  bed 300/40
"""
    )


def off(along_m):
    """Square to the line through the key's two places, by hand."""
    first, second = np.array([1000.0, 2050.0]), np.array([1080.0, 2004.0])
    way = (second - first) / np.hypot(*(second - first))
    here = np.array([1040.0, 2000.0 + along_m]) - first
    return abs(float(way[0] * here[1] - way[1] * here[0]))


@pytest.mark.parametrize("along_m", [27, 31, 45, 54])
def test_a_contact_between_two_places_of_the_key_is_off_by_the_square_to_their_line(along_m):
    """27 m along is on the line, and 46 m from the nearer of the two places."""
    met = held(party(along_m), KEY).standing.between
    assert [round(one.moved_m, 1) for one in met] == [pytest.approx(off(along_m), abs=0.6)]


def test_on_the_line_it_has_full_marks_and_far_off_it_none():
    def grade(along_m):
        (part,) = [one for one in held(party(along_m), KEY).marks if one.part is Part.CONTACTS]
        return next(item.grade for item in part.items if item.grade is not Grade.MISSING)

    assert off(27) < 1.0
    assert grade(27) is Grade.FULL
    assert off(54) > 20.0
    assert grade(54) is Grade.NONE


def test_where_the_key_did_not_walk_what_lies_beside_none_of_its_lines_is_not_judged():
    """At 95 m along it lies 59 m off the line between the key's two places: another contact may be there."""
    found = held(party(95), KEY)
    assert found.standing.between == ()
    assert not [item for part in found.marks if part.part is Part.CONTACTS for item in part.items]


def test_contacts_on_ground_that_was_not_walked_cost_nothing():
    """The party goes round by the west and never comes by the key's two places."""
    west = party(27).replace("090 40m", "270 40m").replace("270 40m level\nat 2", "090 40m level\nat 2")
    standing = held(west, KEY).standing
    assert [one.key.booked.span.line for one in standing.contacts if one.log is None] == []
    assert [one.booked.span.line for one in standing.elsewhere] == [
        number for number, row in enumerate(KEY.splitlines(), start=1) if "contact" in row
    ]


def test_one_that_was_missed_on_a_leg_of_the_keys_is_told_with_the_partys_own_line():
    """The whole of the key's walk without its first contact."""
    party_log = KEY.replace("along 50m\n  contact Sh/Ss certain\n", "")
    missed = next(one for one in held(party_log, KEY).marks if one.part is Part.CONTACTS).items
    (item,) = [one for one in missed if one.grade is Grade.MISSING]
    assert item.what == "contact Sh/Ss, leg 1–2"
    assert item.span.line == 1 + next(
        at for at, row in enumerate(party_log.splitlines()) if row.startswith("to 2")
    )


def test_a_contact_is_not_held_against_a_fault_that_lies_apart():
    """The key's first border is a fault of the same two units, 45 m from where the party crossed a contact on the leg."""
    key = KEY.replace("contact Sh/Ss certain", "fault Sh/Ss certain", 1)
    log = KEY.replace("along 50m", "along 5m")
    pairs = held(log, key).standing.contacts
    assert [one.log for one in pairs if one.key.kind.value == "fault"] == [None]


@pytest.mark.parametrize("met_m", [127.0, 129.0, 129.5])
def test_beside_a_station_a_contact_is_that_of_its_own_leg(met_m):
    """The key met one border on both sides of a station; the party walked one of the two legs, from the other end."""
    head = HEAD.replace("control 1 1000 E 2000 N\n", "")
    key = (
        head
        + """at 5
  unit Sh
to 6 051 114m level
along 112.6m
  contact Sh/Ss certain
at 6
  unit Ss
to 7 340 120m level
at 6
to 16 278 130m level
along 2m
  contact Sh/Ss certain
at 16
  unit Sh
"""
    )
    log = (
        head
        + f"""at 16
  unit Sh
to 6 098 130m level
along {met_m}m
  contact Sh/Ss certain
at 6
  unit Ss
to 7 340 120m level
"""
    )
    (pair,) = held(log, key).standing.contacts
    assert pair.key.booked.address.leg.end == "16"
    assert pair.log is not None


@pytest.mark.parametrize("along_m", [41, 45, 50])
def test_met_once_by_the_key_it_runs_on_with_the_bed_there_for_who_went_beside(along_m):
    """The border of the key, met at (1000, 2050) alone, runs along 120 degrees; the log met it 8 m farther east, by hand."""
    key = KEY.split("to 3 090")[0] + "to 3 270 60m level\nat 3\n  unit Sh\n"
    log = party(along_m).replace("5 090 40m", "5 090 8m").replace("2 270 40m", "2 270 8m")
    (pair,) = held(log, key).standing.contacts
    across = (along_m - (50 - 8 * np.tan(np.radians(30)))) * np.cos(np.radians(30))
    assert pair.moved_m == pytest.approx(abs(across), abs=0.3)
