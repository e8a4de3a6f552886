"""Icons of hazards, samples and photos: the room that each takes is that of its sign, also where a template makes it larger."""

import pytest

from tests.sheet.pages import flat
from traverse.sheet.map.things import Thing, _around, _words_off
from traverse.sheet.paper.look import Look, drawn_with
from traverse.sheet.paper.page import Path
from traverse.sheet.signs.measures import SHIPPED
from traverse.sheet.signs.shown import SHOWN
from traverse.sheet.signs.symbols import SIGNS, signs_with, symbol

ICONS = [name for name in SIGNS for one in SHOWN.values() if one.icon and name.split()[0] == one.sign]


def drawn_to(thing):
    """How far the sign is drawn from its middle: left, down, right, up."""
    shapes = list(flat(symbol(thing.sign, (0.0, 0.0), turn_deg=thing.turn_deg)))
    numbers = [numbers for one in shapes if isinstance(one, Path) for _, *numbers in one.commands]
    xs, ys = ([value for one in numbers for value in one[at::2]] for at in (0, 1))
    return -min(xs), -min(ys), max(xs), max(ys)


@pytest.mark.parametrize(
    ("name", "larger"),
    [(name, larger) for name in ICONS for larger in (1.0, 1.25 if SIGNS[name].turns else 2.5)],
)
def test_an_icon_stays_in_its_room_and_clear_of_its_words(name, larger):
    own = {family: {part: larger * one for part, one in sizes.items()} for family, sizes in SHIPPED.items()}
    with drawn_with(Look(signs=signs_with({}, own))):
        for turn_deg in range(0, 360, 15) if SIGNS[name].turns else (0,):
            thing = Thing(sign=name, at=(0.0, 0.0), text="H1", where="1", turn_deg=float(turn_deg))
            left, down, right, up = drawn_to(thing)
            assert all(
                there <= room for there, room in zip((left, down, right, up), _around(thing), strict=True)
            )
            before, after = _words_off(thing)
            assert before > left
            assert after > right
