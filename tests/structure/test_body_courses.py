"""A body crossed twice: drawn on a section where its crossings have it, which a strike read at each tells less well."""

import pytest

from traverse.angle import axial_difference

TWICE = """\
notation 1
bearings true
attitudes dip-right
unit Dk Dyke rock ; Paleogene ; intrusive
unit Sh Shale ; Jurassic
at 1
  unit Sh
  bed 040/20
to 2 090 100m level
along 46m
  contact Dk/Sh certain {read}
along 54m
  contact Dk/Sh certain {read}
at 2
  unit Sh
to 3 000 150m level
at 3
  unit Sh
to 4 000 150m level
at 4
  unit Sh
to 5 270 100m level
along 46m
  contact Dk/Sh certain {again}
along 54m
  contact Dk/Sh certain {again}
at 5
  unit Sh
to 6 180 150m level
at 6
  unit Sh
close 1 180 150m level
section A-A' from 6 to 3
"""
"""A dike 8 m wide that runs due north from one arm to the other, 300 m on; the section half-way crosses it at 50 m."""


@pytest.mark.parametrize(
    ("read", "again"), [("004/90", "005/90"), ("356/90", "357/90"), ("003/85", "003/85")]
)
def test_a_body_met_twice_is_drawn_through_its_crossings(compile_text, read, again):
    """By the strike alone it would lie 8 to 13 m off, half-way; the record of its walls stays as they were read."""
    geology = compile_text(TWICE.format(read=read, again=again)).geology
    (section,) = geology.sections
    (drawn,) = section.bodies
    assert [side.at[0] for side in drawn.sides] == pytest.approx([46.0, 54.0], abs=1.5)
    assert axial_difference(drawn.body.strike_deg, 0.0) < 0.6
    assert axial_difference(geology.bodies[0].strike_deg, float(read[:3])) < 1.1
