"""Bodies whose walls strike near to the line of a section: drawn where they come to it, or said not to be drawn."""

import pytest
import shapely

from traverse.compile import map_ground

LOG = """notation 1
bearings true
attitudes dip-right
control 3 0 E 0 N 100 m
unit Ks Sandstone ; Silurian
unit Db Basalt ; Neogene ; intrusive
section A-A' from 1 to 2
at 3
unit Ks
bed 000/30
to 1 000 30m level
along 15m
contact Db/Ks certain {strike}/90
at 1
unit Db
to 4 000 30m level
along 5m
contact Db/Ks certain {strike}/90
at 4
unit Ks
to 5 090 100m level
at 5
unit Ks
bed 000/30
to 2 180 30m level
at 2
unit Ks
"""
"""A dike met 15 m before and 5 m beyond the west end of a section due east of 100 m."""


def cut(compile_text, strike):
    (one,) = map_ground(compile_text(LOG.format(strike=strike)).trav).ground.cuts
    return one


def test_a_dike_with_one_wall_past_the_end_fills_all_ground_up_to_it(compile_text):
    """20° off the line, its wall beyond comes to it at 5 / tan 20° = 13.7 m, the other 41 m before its end."""
    found = cut(compile_text, "110")
    (area,) = [one.area for one in found.fills if one.unit == "Db"]
    assert area.bounds[0] == pytest.approx(0.0, abs=0.1)
    assert area.bounds[2] == pytest.approx(13.7, abs=0.2)
    assert found.section.construction.sentences == ()


def test_a_dike_along_the_line_is_drawn_nowhere_where_it_is_said_so(compile_text):
    """At 4° a degree moves its wall by 18 m: nor is its ground coloured, with its own colour or another."""
    found = cut(compile_text, "094")
    assert found.section.construction.sentences == ("Db strikes along the line, beside it: not drawn.",)
    assert found.section.bodies == ()
    assert "Db" not in {one.unit for one in found.fills}
    assert all(line.of.younger != "Db" for line in found.lines)
    under = shapely.Point(2.0, 99.0)
    assert not any(one.area.contains(under) for one in found.fills)


ACROSS = """notation 1
bearings true
attitudes dip-right
unit Db Dike ; ; intrusive
unit Ks Stone ; Trias
at 1
  unit Ks
  bed 000/30
to 2 000 40m level
along 18m
  contact Db/Ks certain 094/vertical
along 22m
  contact Db/Ks certain 094/vertical
to 3 090 300m level
  unit Ks
to 4 180 60m level
along 39m
  contact Db/Ks certain 094/vertical
along 43m
  contact Db/Ks certain 094/vertical
to 5 270 300m level
  unit Ks
to 6 000 28m level
section A-A' 090 through 6
"""
"""A dike that runs 4° south of east: 12 m north of the line in its west, and 9 m south of it 300 m on."""


def test_a_dike_met_on_both_sides_of_a_line_along_it_is_said_to_cross_it(compile_text):
    (one,) = map_ground(compile_text(ACROSS).trav).ground.cuts
    assert one.section.construction.sentences == (
        "Db strikes along the line and was met on both sides of it: not drawn, as nobody saw where it crosses.",
    )
    assert one.section.bodies == ()
