"""A wrong leg in a walk that went the other way round from another stop, under numbers of its own."""

import re

import pytest

from tests.compare.round_walks import Ground, alone, no_files
from traverse.compare.against_key import against_key
from traverse.compare.scheme import read_scheme

GROUND = Ground(0)
KEY = alone(GROUND.walk((0, "key")), "key.trav").trav
ORDER = [(3 - at) % GROUND.count for at in range(GROUND.count)]
NAMES = {at: f"{20 + number}" for number, at in enumerate(ORDER)}
ROWS = GROUND.walk((0, "reversed"), order=ORDER, names=NAMES).splitlines()
LEGS = [at for at, row in enumerate(ROWS) if row.startswith(("to ", "close "))]


def held_with(leg, *, bearing=0, metres=0.0, times=1.0, loop=True):
    """The walk with one leg of it otherwise, held against the key; and that leg's line."""
    rows, at = list(ROWS), LEGS[leg]

    def other(found):
        azimuth, length = (int(found[2]) + bearing) % 360, float(found[3]) * times + metres
        return f"{found[1]}{azimuth:03d} {length:.1f}"

    rows[at] = re.sub(r"^(\S+ \S+ )(\d{3}) ([\d.]+)", other, rows[at])
    if bearing:
        rows[at] = re.sub(r" back \d{3}", "", rows[at])
    text = "\n".join(rows if loop else rows[: LEGS[-1] - 1]) + "\n"
    scheme = read_scheme(None)[0].value
    return against_key("party.trav", alone(text), KEY, scheme, no_files), at + 1


@pytest.mark.in_turn
@pytest.mark.parametrize(
    ("leg", "loop"),
    [(0, True), (5, True), (-2, True), (-1, True), (0, False), (-2, False)],
    ids=["first", "middle", "last but one", "closing", "first of open", "last of open"],
)
@pytest.mark.parametrize("slip", [{"metres": 100.0}, {"bearing": 100}], ids=["a hundred", "bearing"])
def test_it_is_named_at_its_line_and_every_stop_is_paired(leg, loop, slip):
    found, line = held_with(leg, loop=loop, **slip)
    assert [one.span.line for one in found.causes] == [line]
    assert found.apart == ()
    assert {one.station: one.key for one in found.standing.pairs} == {NAMES[at]: str(at + 1) for at in ORDER}


def test_a_last_leg_that_no_slip_leads_to_a_stop_of_the_key_ends_at_another_stop():
    found, _ = held_with(-2, loop=False, bearing=67, times=0.61)
    assert found.causes == ()
    assert found.standing.alone == (NAMES[ORDER[-1]],)
    assert found.standing.missed == (str(ORDER[-1] + 1),)
