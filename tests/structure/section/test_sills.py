"""A sill whose walls nobody read lies along the beds beside it; of any other body nothing tells how it goes down."""

from dataclasses import replace

import pytest

from tests.invented.cut_true import cut_shares
from tests.invented.judge import compiled_walk
from tests.invented.models import make
from tests.invented.walker import walked
from traverse.compile import map_ground


def compiled(seed, name):
    """Invented ground with a sill, under a name of its own, and the share of the section's colour that is wrong."""
    walk = walked(make("sill", seed))
    walk = replace(walk, text=walk.text.replace("unit Sl Unit Sl", f"unit Sl {name}"))
    found = compiled_walk(walk)
    (section,) = found.geology.sections
    return section, cut_shares(walk, map_ground(found.trav)).wrong


@pytest.mark.every(3)
@pytest.mark.parametrize("seed", [3, 9, 10])
def test_a_sill_is_drawn_along_the_bed_beside(seed):
    section, wrong = compiled(seed, "Dolerite sill")
    upright, wrong_upright = compiled(seed, "Dolerite")
    assert all(body.along_beds and body.course_known for body in section.bodies)
    assert not any(body.along_beds or body.course_known for body in upright.bodies)
    assert wrong < 0.7 * wrong_upright
    said = " ".join(section.construction.sentences)
    assert "were not measured: drawn along the bed beside, as a sill lies." in said
    assert "upright" not in said


def test_a_sill_whose_wall_was_read_lies_as_that_was():
    section, _ = compiled(0, "Dolerite sill")
    assert section.bodies
    assert not any(body.along_beds for body in section.bodies)
