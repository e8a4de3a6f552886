"""A contact of beds is drawn along their strike, also beside ground in which a corner of the walk leaves two units mixed."""

import math

import pytest

from traverse.ground.lay_map import lay_band

WALK = """notation 1
bearings true
attitudes dip-direction
unit Cc Top ; Jurassic
unit Bb Middle ; Triassic
unit Aa Base ; Permian
sheet band 20 m
at 1
  unit Aa
  bed 114/36
to 2 091 75m
along 69m
  contact Bb/Aa approximate
at 2
  unit Bb
to 3 080 105m
along 66m
  contact Cc/Bb approximate
at 3
  unit Cc
  bed 117/36
at 2
to 4 004 130m
along 19m
  contact Bb/Aa certain
at 4
  unit Aa
"""


def test_the_next_contact_along_the_walk_runs_along_the_beds(compile_text):
    """About the corner at 2 Aa and Bb are not parted by their lines; Cc begins 66 m from it."""
    band = lay_band(compile_text(WALK).trav)
    (line,) = [one.line for one in band.crossed if one.contact.younger == "Cc"]
    (x, y), (far_x, far_y) = line.coords[0], line.coords[-1]
    assert math.degrees(math.atan2(far_x - x, far_y - y)) % 180.0 == pytest.approx(27.0, abs=1.0)
