"""A section that runs in an intrusive body from end to end."""

import pytest

from traverse.compile import map_ground

WALK = """notation 1
bearings true
attitudes dip-direction
unit Va Vesper Marl ; Jurassic
unit Ub Umber Limestone ; Triassic
unit Db Dolerite ; Neogene ; intrusive
at 1
  unit Va
  bed 270/30
to 2 000 40m +2
along 30m
  contact Va/Db certain 358/88
at 2
  unit Db
to 3 090 120m +2
at 3
  unit Db
to 4 090 60m -2
at 4
  unit Db
to 5 000 60m +2
along 10m
  contact Ub/Db certain 358/88
at 5
  unit Ub
  bed 271/30
section A-A' from {ends}
"""


@pytest.mark.parametrize(("ends", "within"), [("2 to 4", True), ("1 to 5", False)])
def test_a_line_between_the_two_walls_of_a_body_is_its_ground(compile_text, ends, within):
    """It was white, and the body said to lie beside the line."""
    trav = map_ground(compile_text(WALK.format(ends=ends)).trav)
    (cut,) = trav.ground.cuts
    assert (trav.geology.sections[0].bodies[0].sides == (None, None)) is within
    assert ({one.unit for one in cut.fills} == {"Db"}) is within
    assert not any("along the line" in one for one in trav.geology.sections[0].construction.sentences)
