"""A slope or a side written down wrong, a contact said to be seen, strikes turned by the declination: named at their line."""

import random
import re

import pytest

from tests.compare.camp import VALLEY, WASH, walked_again
from tests.compare.camp import held as valley_held
from tests.compare.round_walks import Ground, held
from tests.thorough import some

SLOPE = re.compile(r"(?m)^((?:to|close) \S+ \S+ \S+ )([+-])(\d+)(?= back)")


def walks(seed):
    ground = Ground(seed)
    return ground.walk((seed, "party")), ground.walk((seed, "key"))


def line_of(text, at):
    return text.count("\n", 0, at) + 1


@pytest.mark.every(2)
@pytest.mark.parametrize("seed", some(range(100, 112), 6))
def test_a_sign_of_a_slope_lost_is_named_where_it_is_more_than_two_clinometers_differ_by(seed):
    """The party and the key read each slope to half a degree and write whole ones."""
    party, key = walks(seed)
    steep = [one for one in SLOPE.finditer(party) if int(one[3]) >= 3]
    slope = random.Random(seed).choice(steep)  # noqa: S311 - which leg
    sign = "-" if slope[2] == "+" else "+"
    wrong = f"{party[: slope.start(2)]}{sign}{party[slope.end(2) :]}"
    comparison = held(wrong, key)
    (found,) = comparison.causes
    assert found.span.line == line_of(party, slope.start())
    assert found.cause.endswith("sign of the slope lost")
    assert found.reading == slope[2] + slope[3]


@pytest.mark.every(2)
@pytest.mark.parametrize("seed", some(range(112, 124), 4))
def test_of_slopes_read_by_two_parties_none_is_accused(seed):
    assert held(*walks(seed)).causes == ()


def test_a_party_that_reads_every_slope_badly_is_told_of_no_single_one():
    party, key = walks(104)
    chance = random.Random(1)  # noqa: S311 - a clinometer that sticks
    loose = SLOPE.sub(lambda one: f"{one[1]}{int(one[2] + one[3]) + round(chance.gauss(0, 5)):+d}", party)
    assert loose != party
    assert not any("slope" in one.cause for one in held(loose, key).causes)


def test_a_grade_read_as_degrees_is_named_beside_what_does_as_well():
    wrong = VALLEY.replace("to 17  285 42p +14", "to 17  285 42p +25")
    (found,) = valley_held(wrong, VALLEY).causes
    assert (found.reading, found.cause) == ("+25%", "leg 16–17: per cent taken for degrees")


def test_a_place_beside_a_leg_on_its_other_side_is_named_at_its_line():
    wrong = WASH.replace("along 20p right 8p", "along 20p left 8p", 1)
    wrong = wrong if wrong != WASH else WASH.replace("along 20p left 8p", "along 20p right 8p", 1)
    (found,) = valley_held(wrong, WASH).causes
    changed = [at for at, (one, other) in enumerate(zip(wrong.splitlines(), WASH.splitlines(), strict=True), 1) if one != other]  # fmt: skip
    assert [found.span.line] == changed
    assert found.cause.endswith("left and right exchanged")
    assert found.reading == WASH.splitlines()[changed[0] - 1].strip()
    assert found.not_excluded == ("another place on the other side",)


def test_a_contact_said_to_be_seen_is_named_with_what_it_does_not_exclude():
    wrong = VALLEY.replace("contact Jl/Js inferred", "contact Jl/Js certain")
    comparison = valley_held(wrong, VALLEY)
    (found,) = comparison.causes
    assert wrong.splitlines()[found.span.line - 1].strip() == "contact Jl/Js certain"
    assert found.reading == "contact Jl/Js inferred"
    assert found.not_excluded == ("rock that the key's party did not see",)


def test_a_party_that_calls_every_contact_seen_is_told_of_it_by_its_marks_alone():
    wrong = re.sub(r"(contact|fault) (\S+) (?:approximate ±\d+ m|inferred)", r"\1 \2 certain", VALLEY)
    comparison = valley_held(wrong, VALLEY)
    assert comparison.causes == ()
    contacts = next(one for one in comparison.marks if one.part.value == "contacts")
    assert contacts.scored < contacts.of - 1.0


def test_another_unit_on_a_leg_is_named_where_the_contacts_beside_it_have_the_keys():
    at = VALLEY.index("  unit  Jl\n  rock  Limestone, pale grey, thick-bedded")
    wrong = VALLEY[:at] + VALLEY[at:].replace("unit  Jl", "unit  Js", 1)
    (found,) = valley_held(wrong, VALLEY).causes
    assert found.span.line == line_of(VALLEY, at)
    assert found.reading == "unit Jl"


@pytest.mark.every(2)
@pytest.mark.parametrize("seed", some(range(6), 3))
def test_strikes_without_the_declination_are_told_by_all_planes_together(seed):
    """Ten degrees and more stand out of what beds scatter; of a careful party nothing is said."""
    other = VALLEY.replace("declination 4.7 E", "declination 9.7 E")
    party = walked_again(other, seed)
    assert valley_held(party, other).causes == ()
    wrong = party.replace("attitudes   dip-direction", "attitudes   dip-direction true")
    (found,) = valley_held(wrong, other).causes
    assert found.cause == "declination left off the attitudes"
    assert found.span.line == line_of(party, party.index("attitudes "))
