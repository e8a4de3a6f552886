"""Contacts that would lie upside down, by the limb of the beds beside them: each bed borne out elsewhere stands for its own limb."""

from types import SimpleNamespace

import pytest

from traverse.structure.order_doubts import _limbs


def bed(name, dip_deg, way_deg=90.0, *, upside_down=False):
    return SimpleNamespace(
        span=name, dip_deg=dip_deg, dip_direction_deg=way_deg, sd_deg=2.0, upside_down=upside_down
    )


def rise(name, *beds):
    return SimpleNamespace(contact=SimpleNamespace(booked=SimpleNamespace(span=name)), beds=beds)


def told(rises, borne_out=()):
    return [
        ([one.contact.booked.span for one in limb.rises], sorted(limb.beds))
        for limb in _limbs(rises, borne_out)
    ]


EAST, ALIKE, WEST = bed("east", 40.0), bed("alike", 45.0, 95.0), bed("west", 50.0, 270.0)


def test_beds_that_lie_alike_are_one_limb_with_all_its_contacts():
    assert told([rise("a", EAST), rise("b", ALIKE), rise("c", WEST)]) == [
        (["a", "b"], ["alike", "east"]),
        (["c"], ["west"]),
    ]


@pytest.mark.parametrize("flip", [False, True])
def test_a_contact_between_two_limbs_is_told_once_by_that_which_turns_over_more(flip):
    between = (WEST, EAST) if flip else (EAST, WEST)
    assert told([rise("a", EAST), rise("b", *between)]) == [(["a", "b"], ["east"])]


def test_a_bed_that_another_contact_bears_out_is_of_the_limb_beyond():
    """Unless there is no other beside the contact."""
    rises = [rise("a", EAST, WEST)]
    assert told(rises, {"east"}) == [(["a"], ["west"])]
    assert told(rises, {"west"}) == [(["a"], ["east"])]
    assert told(rises, {"east", "west"}) == [(["a"], ["east"])]
    assert told([rise("a", EAST)], {"east"}) == [(["a"], ["east"])]


def test_a_bed_that_is_said_to_be_overturned_is_of_another_limb_than_one_that_is_not():
    over = bed("over", 40.0, upside_down=True)
    assert told([rise("a", EAST), rise("b", over)]) == [(["a"], ["east"]), (["b"], ["over"])]


def test_a_contact_by_its_own_plane_is_one_by_itself():
    assert told([rise("a"), rise("b", EAST), rise("c")]) == [(["b"], ["east"]), (["a"], []), (["c"], [])]
