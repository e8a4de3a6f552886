"""Beds and units written down wrong, on invented ground: each is named at its line with what it would say, and no other."""

import random
import re

import pytest

from tests.compare.round_walks import Ground, held
from tests.thorough import some

SEEDS = range(6)


def walks(seed):
    ground = Ground(seed)
    return ground.walk((seed, "party")), ground.walk((seed, "key"))


def lines_with(text, word):
    return [number for number, line in enumerate(text.splitlines(), start=1) if line.split()[:1] == [word]]


def changed(text, number, line):
    rows = text.splitlines()
    rows[number - 1] = line
    return "\n".join(rows) + "\n"


def one_bed(text):
    """With the first of each two beds alone."""
    return re.sub(r"(?m)^(  bed   \S+), \S+$", r"\1", text)


@pytest.mark.every(2)
@pytest.mark.parametrize("seed", some(SEEDS, 3))
def test_a_bed_turned_half_round_is_named_at_its_line_and_its_mark_mended(seed):
    party, key = map(one_bed, walks(seed))
    number = random.Random(seed).choice(lines_with(party, "bed"))  # noqa: S311 - which bed
    right = party.splitlines()[number - 1]
    wrong = re.sub(r"\b(\d{3})/", lambda one: f"{(int(one[1]) + 180) % 360:03d}/", right)
    comparison = held(changed(party, number, wrong), key)
    (found,) = comparison.causes
    assert found.span.line == number
    assert found.cause.endswith(": a half turn")
    assert found.reading.split() == right.split()
    attitudes = [next(one for one in marks if one.part.value == "attitudes") for marks in (comparison.marks, comparison.marks_mended)]  # fmt: skip
    assert attitudes[0].scored < attitudes[1].scored


def test_a_half_turn_is_told_with_what_else_the_line_may_have_been():
    """131 for 311 is one plane either way: figures exchanged would do as well, and so would a joint."""
    party, key = map(one_bed, walks(0))
    number = lines_with(party, "bed")[2]
    as_read = re.compile(r"\b\d{3}/\d\d")
    turn = 131 - int(as_read.search(party.splitlines()[number - 1])[0][:3])
    key, party = (re.sub(r"(?m)^(  bed   )(\d{3})", lambda f: f"{f[1]}{(int(f[2]) + turn) % 360:03d}", one) for one in (key, party))  # fmt: skip
    (found,) = held(
        changed(party, number, party.splitlines()[number - 1].replace("131/", "311/")), key
    ).causes
    assert found.cause.endswith(": a half turn")
    assert found.not_excluded == ("digits exchanged", "another plane than the bedding")


def test_beds_that_are_all_turned_half_round_are_no_slips_each():
    """By another rule, or from another end of the strike: the heading is asked about, and no bed."""
    party, key = map(one_bed, walks(1))
    turned = re.sub(r"\b(\d{3})/", lambda one: f"{(int(one[1]) + 180) % 360:03d}/", party)
    assert not [one for one in held(turned, key).causes if "half turn" in one.cause]


@pytest.mark.parametrize("seed", some(SEEDS, 3))
def test_another_unit_at_one_station_is_named_at_its_line(seed):
    party, key = walks(seed)
    own = [
        number for number in lines_with(party, "unit") if party.splitlines()[number - 1].startswith("  unit")
    ]
    number = random.Random(seed).choice(own[1:])  # noqa: S311 - which station
    right = party.splitlines()[number - 1]
    other = {"Fg": "Mm", "Mm": "Hl", "Hl": "Fg"}[right.split()[1]]
    comparison = held(changed(party, number, f"  unit  {other}"), key)
    assert [(one.span.line, one.reading) for one in comparison.causes] == [(number, " ".join(right.split()))]


@pytest.mark.every(2)
@pytest.mark.parametrize("seed", some(range(20, 28), 4))
def test_of_a_sound_party_no_bed_and_no_unit_is_named(seed):
    party, key = walks(seed)
    assert held(party, key).causes == ()
    assert held(one_bed(party), key).causes == ()


def test_one_who_sees_the_ground_in_another_way_is_told_no_slips_of_units():
    party, key = walks(3)
    other = re.sub(r"(?m)^  unit  Mm$", "  unit  Hl", party)
    assert not any("another unit" in one.cause for one in held(other, key).causes)


@pytest.mark.parametrize("seed", some(SEEDS, 3))
def test_a_contact_with_another_unit_is_named_at_its_line_and_judged_there(seed):
    party, key = walks(seed)
    number = random.Random(seed).choice(lines_with(party, "contact"))  # noqa: S311 - which contact
    right = party.splitlines()[number - 1]
    wrong = right.replace("Fg/Mm", "Fg/Hl").replace("Mm/Hl", "Fg/Hl")
    comparison = held(changed(party, number, wrong), key)
    (found,) = comparison.causes
    assert (found.span.line, found.reading.split()) == (number, right.split())
    assert found.cause == "contact Fg/Hl: another unit"
    contacts, mended = (
        next(one for one in marks if one.part.value == "contacts")
        for marks in (comparison.marks, comparison.marks_mended)
    )
    assert [one.span.line for one in contacts.items if one.credit == 0.0] == [number]
    assert mended.scored == mended.of


def test_contacts_in_letters_that_the_whole_walk_bears_out_are_no_slip():
    """The party maps one unit as another, at its stations too: it sees the ground so, and no line of it is a slip."""
    party, key = walks(0)
    head, at, walk = party.partition("\nat ")
    comparison = held(
        head + at + walk.replace("Mm/Hl", "Fg/Hl").replace("Mm", "Fg").replace("Fg/Fg", "Fg/Hl"), key
    )
    assert [one.cause for one in comparison.causes if "contact" in one.cause] == []
