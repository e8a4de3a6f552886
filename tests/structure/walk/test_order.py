"""What comes next on the walk: an `at` that goes back begins a new arm, whatever stands above it on the page."""

import pytest

from traverse.log.items import Contact
from traverse.structure.walk.neighbours import Neighbours
from traverse.structure.walk.order import WalkOrder

HEAD = """notation 1
bearings true
attitudes dip-direction
unit Ok Oskel Chalk ; Cretaceous
unit Bn Bannet Shale ; Jurassic
unit Tr Torrel Sandstone ; Triassic
unit Vg Vagge Conglomerate ; Permian
"""
FORK = (
    HEAD
    + """at 1
unit Tr
bed 100/30
to 2 090 200m level
along 90m
contact Bn/Tr certain
at 2
unit Bn
bed 100/30
to 3 090 200m level
along 90m
contact Ok/Bn certain
at 3
unit Ok
bed 100/30
to 4 090 500m level
unit Ok
bed 284/20
at 1
to 5 350 130m level
along 60m
contact Tr/Vg certain
at 5
unit Vg
"""
)
"""East over a trough of which the last bed is the other limb; then north from the first station."""


def warnings(found):
    return [one for one in found.diagnostics if one.kind == "warning"]


@pytest.mark.parametrize("end", ["", "to 6 080 90m level\nunit Vg\nbed 098/32\n"])
def test_no_bed_is_judged_by_those_of_another_arm(compile_text, end):
    assert not warnings(compile_text(FORK + end))


def test_the_bed_of_the_station_that_an_arm_begins_from_comes_first(compile_text):
    found = compile_text(FORK + "to 6 080 90m level\nunit Vg\nbed 278/32\nto 7 080 90m level\nbed 098/32\n")
    (asked,) = (one for one in warnings(found) if one.code == "bed-apart")
    assert asked.message.startswith("bed 278/32")
    assert "at 1 and 7" in asked.message


OUT = "at 1\nbed 100/30\nto 2 090 200m level\nalong 90m\ncontact {} certain\nto 3 090 90m level\n{}at 1\nto 4 270 150m level\n"


@pytest.mark.parametrize(
    ("first", "next_one", "last", "units"),
    [
        ("Ok/Bn", "", "Bn/Tr", ["Bn"]),
        ("Bn/Tr", "along 40m\ncontact Ok/Bn certain\n", "Bn/Tr", ["Bn"]),
    ],
    ids=["through the station", "not over what lies between"],
)
def test_a_thickness_is_told_between_contacts_that_the_walk_joins(compile_text, first, next_one, last, units):
    found = compile_text(HEAD + OUT.format(first, next_one) + f"along 60m\ncontact {last} certain\n")
    assert [one.unit for one in found.geology.thicknesses] == units


def test_after_a_closed_loop_the_walk_goes_on_from_its_station(compile_text):
    text = (
        HEAD
        + "at 1\nbed 100/30\nto 2 090 100m\nbed 100/31\nto 3 000 100m\nclose 1 225 141m\nto 4 180 50m\nbed 100/32\n"
    )
    walk = WalkOrder(compile_text(text).log)
    assert walk.before([0, 1, 2], 2) == 0
    assert walk.after([0, 1, 2], 1) is None
    assert walk.up_to(walk.arm_of(2), [0, 1, 2]) == [0, 2]


def test_a_side_shot_and_the_station_itself_again_begin_no_arm(compile_text):
    text = (
        HEAD
        + "at 1\nbed 100/30\nto 2 090 100m\nside a 000 9m\nbed 100/31\nat 2\nbed 100/32\nto 3 090 9m\nbed 100/33\n"
    )
    walk = WalkOrder(compile_text(text).log)
    assert [walk.before([0, 1, 2, 3], at) for at in range(4)] == [None, 0, 1, 2]


def test_what_is_read_at_a_station_on_a_later_visit_lies_on_the_way_from_it(compile_text):
    text = (
        HEAD
        + "at 1\nbed 100/30\nto 2 090 9m\nbed 100/31\nat 1\nbed 100/32\nto 3 180 9m\nat 1\nto 4 000 9m\nbed 100/33\n"
    )
    walk = WalkOrder(compile_text(text).log)
    assert [walk.before([0, 1, 2, 3], at) for at in range(4)] == [None, 0, 0, 2]


def test_what_lies_on_the_way_is_told_by_the_arms_that_were_walked(compile_text):
    """Back to the station that the second arm begins from, and not on to the end of the first."""
    log = compile_text(FORK).trav.log
    walk, items = WalkOrder(log), range(len(log.items))
    met = [at for at in items if isinstance(log.items[at], Contact)]
    assert [str(log.items[at].older) for at in met] == ["Tr", "Bn", "Vg"]
    first, second, other = met
    assert walk.on_the_way(items, first, second) == list(range(first + 1, second))
    assert walk.on_the_way(items, first, other) == []
    assert walk.on_the_way(items, second, other) == list(range(first, second))


def test_the_unit_after_a_contact_is_that_of_its_own_arm(compile_text):
    """Ok/Vg is met in Bn, and what follows on the page is another arm, on Tr: Bn/Tr was not met here."""
    arm = "at 2\nunit Bn\nto 3 090 200m level\nalong 90m\ncontact Ok/Vg certain\nat 1\nto 5 350 130m level\nunit Tr\n"
    met = HEAD + "at 1\nunit Tr\nto 2 090 200m level\nalong 90m\ncontact Bn/Tr certain\n" + arm
    (said,) = (one for one in warnings(compile_text(met)) if one.code == "contact-of-others")
    assert "Bn/Tr" not in " ".join(said.hints)
    goes_on = met.replace("at 1\nto 5 350 130m level\nunit Tr\n", "at 3\nunit Tr\nto 5 350 130m level\n")
    (said,) = (one for one in warnings(compile_text(goes_on)) if one.code == "contact-of-others")
    assert "Bn/Tr" in " ".join(said.hints)


LOOP = HEAD + "at 1\nbed 100/30\nbed 102/31\nto 2 090 100m\n{}to 3 000 100m\nclose 1 225 141m\n"


def test_what_a_loop_comes_back_to_is_met_again_before_the_next_arm(compile_text):
    """Three arms: a loop, and two that go out from its stations."""
    text = LOOP.format("bed 100/31\n") + "to 4 180 50m\nbed 100/32\nat 2\nto 5 120 40m\nbed 100/33\n"
    walk, items = WalkOrder(compile_text(text).log), range(5)
    assert [walk.arm_of(one) for one in items] == [0, 0, 0, 1, 2]
    assert walk.closes_on(0, items) == ([0, 1], 3)
    assert walk.closes_on(1, items) == ([], 4)
    assert walk.closes_on(2, items) == ([], 5)


@pytest.mark.parametrize("between", ["", "bed 100/31\n", "bed 100/31\nbed 101/31\n"])
def test_the_last_bed_of_a_loop_was_not_read_where_it_begins(compile_text, between):
    """Of several read at one outcrop none lies beside another."""
    found = compile_text(LOOP.format(between) + "to 4 180 50m\nbed 100/32\n")
    near = Neighbours(found.geology.attitudes, [], WalkOrder(found.log))
    last = 1 + between.count("bed")
    assert [near.closing(one) for one in (0, 1)] == [last if between else None] * 2
    assert near.closing(last + 1) is None
