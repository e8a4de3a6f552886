"""Colour of a section where what was seen leaves no room for it: beside a fault, under guesses, along a body's strike."""

from dataclasses import replace

import numpy as np
import pytest
import shapely

from traverse.compile import map_ground
from traverse.ground.section_bodies import against_seen
from traverse.ground.section_runs import UnitRun
from traverse.structure.section.records import PointKind

NORMAL = """notation 1
bearings true
attitudes dip-direction
unit Hd Dene Flags ; Devonian
unit Hc Clay Slate ; Devonian
unit Hb Bar Limestone ; Devonian
unit Ha Ark Sandstone ; Devonian
at 1
  unit Hd
  bed 023/37
to 2 115 100m level
at 2
  unit Hd
  bed 036/35
to 3 143 84m -1
at 3
  unit Hd
  bed 026/32
to 4 206 77m level
at 4
  unit Hd
  bed 031/38
to 5 222 81m -2
along 7m
  contact Hd/Hc certain
along 57m
  contact Hc/Hb certain
at 5
  unit Hb
  bed 036/31
to 6 257 109m level
along 41m
  contact Hb/Ha certain
at 6
  unit Ha
  bed 029/35
to 7 301 99m +3
at 7
  unit Ha
  bed 030/33
to 8 335 77m +3
at 8
  unit Ha
  bed 028/32
to 9 348 80m +3
along 44m
  contact Hb/Ha certain
at 9
  unit Hb
  bed 040/32
to 10 059 99m +1
along 26m
  contact Hc/Hb certain
along 84m
  contact Hd/Hc certain
at 10
  unit Hd
  bed 026/38
close 1 083 104m +1
at 10
to 11 153 130m -4
along 23m
  contact Hd/Hc certain
along 113m
  contact Hc/Hb certain
at 11
  unit Hb
  bed 026/30
close 4 109 157m -2
along 19m
  fault Hc/Hb certain 113/64 normal
along 120m
  contact Hd/Hc approximate
section A-A' 110 through 11
"""
THRUST = """notation 1
bearings true
attitudes dip-right
pace 0.75 m
unit Ce Evening Chalk ; Cretaceous
unit Cd Dell Clay ; Cretaceous
unit Cc Corn Limestone ; Jurassic
unit Cb Birk Sandstone ; Jurassic
unit Ca Arl Marl ; Triassic
at 1
  unit Cd
  bed 195/15
to 2 097 145p +4
along 54p
  contact Cd/Cc certain
at 2
  unit Cc
  bed 198/18
to 3 158 96p +1
at 3
  unit Cc
  bed 199/16
to 4 160 88p level
at 4
  unit Cc
  bed 201/17
to 5 222 104p -3
at 5
  unit Cc
  bed 204/15
to 6 259 142p -4
at 6
  unit Cc
  bed 202/16
to 7 270 136p -6
along 117p
  contact Cd/Cc certain
along 124p
  fault Cd/Cb approximate
at 7
  unit Cb
  bed 205/14
to 8 292 127p -4
at 8
  unit Cb
  bed 189/16
to 9 326 90p -2
along 50p
  contact Cc/Cb certain
at 9
  unit Cc
  bed 183/14
to 10 341 81p -1
at 10
  unit Cc
  bed 197/18
to 11 050 102p +5
at 11
  unit Cc
  bed 174/17
to 12 069 118p +6
along 90p
  contact Cc/Cb certain
at 12
  unit Cb
  bed 191/17
close 1 089 132p +5
along 121p
  fault Cd/Cb certain 197/37 thrust
close 7 203 328p -4
along 164p
  fault Cd/Cb approximate
section A-A' from 10 to 4
"""
SILL = """notation 1
bearings true
attitudes dip-right
pace 0.75 m
unit Id Dolerite dike ; Neogene ; intrusive
unit Is Gabbro sill ; Paleogene ; intrusive
unit Sd Dun Flags ; Silurian
unit Sc Coral Limestone ; Silurian
unit Sb Black Shale ; Silurian
unit Sa Ash Tuff ; Silurian
at 1
  unit Sb
  bed 113/16
to 2 117 116p +3
at 2
  unit Sb
  bed 107/19
to 3 166 103p +3
along 79p
  contact Sc/Sb certain
at 3
  unit Sc
  bed 109/19
to 4 228 110p -3
along 30p
  contact Is/Sc certain 120/22
along 76p
  contact Is/Sc certain 115/19
at 4
  unit Sc
  bed 108/18
to 5 251 111p -3
along 29p
  contact Id/Sc certain 331/81
along 34p
  contact Id/Sc approximate
at 5
  unit Sc
  bed 122/20
to 6 273 134p -2
at 6
  unit Sc
  bed 110/15
to 7 342 107p -3
along 97p
  contact Is/Sc approximate
at 7
  unit Is
to 8 011 90p +2
along 31p
  contact Is/Sc certain 111/18
along 81p
  contact Sc/Sb approximate
at 8
  unit Sb
  bed 113/20
to 9 040 116p +2
along 105p
  contact Id/Sb approximate
at 9
  unit Id
close 1 101 132p +2
along 1p
  contact Id/Sb certain 329/85
at 8
to 10 120 111p +5
along 43p
  contact Sc/Sb certain
at 10
  unit Sc
  bed 103/20
to 11 104 125p +2
along 69p
  contact Id/Sc certain 329/83
along 78p
  contact Id/Sc certain 333/76
at 11
  unit Sc
  bed 111/21
close 3 091 118p +4
section A-A' from 7 to 3
"""


def _cut(compile_text, text):
    compiled = compile_text(text)
    return map_ground(compiled.trav).ground.cuts[0]


def _fault_m(cut):
    """Where its fault comes out."""
    (line,) = [one for one in cut.section.construction.lines if one.kind is PointKind.FAULT]
    return line.outcrops[0][0]


def _units(cut, low_m, high_m):
    """Coloured right under the ground between two distances."""
    found = set()
    for at_m in np.arange(low_m + 1.0, high_m - 1.0, 2.0):
        place = shapely.Point(at_m, cut.section.ground_at(at_m) - 0.5)
        found |= {fill.unit for fill in cut.fills if fill.area.contains(place)}
    return found


def test_ground_carried_from_afar_is_no_band_within_what_was_seen(compile_text):
    """West of the fault the beds Ha, Hd and Hc were carried along the strike to ground that lines tell to be Hb."""
    cut = _cut(compile_text, NORMAL)
    assert _units(cut, 0.0, _fault_m(cut)) == {"Hb"}
    assert _units(cut, _fault_m(cut), cut.section.length_m) == {"Hc", "Hd"}


def test_no_strip_of_the_other_side_lies_before_a_fault(compile_text):
    """The map has the thrust, whose place is known to 5 m, 8 m from where its line comes out."""
    cut = _cut(compile_text, THRUST)
    fault_m = _fault_m(cut)
    assert _units(cut, 0.0, fault_m) == {"Cc", "Cb"}
    assert "Cd" in _units(cut, fault_m, cut.section.length_m)


def test_a_body_is_left_off_where_the_line_was_walked_on_other_rock(compile_text):
    """The sill strikes 19° off the line, which runs on Sc where it would come out, and on the sill where it would not."""
    cut = _cut(compile_text, SILL)
    assert "Is" not in {fill.unit for fill in cut.fills}
    (said,) = (one for one in cut.section.limits if one.code == "section-body-elsewhere")
    assert said.brief == "Is left off, deeper Sc white"
    # It lies gently under the ground beside it somewhere: three tenths of what was looked at are coloured, and no more.
    areas = [cut.looked_at, *(fill.area for fill in cut.fills if fill.unit == "Sc")]
    looked_m, *deep_m = (
        max(cut.section.ground_at(at_m) - up_m for at_m, up_m in area.exterior.coords) for area in areas
    )
    assert max(deep_m) == pytest.approx(0.3 * looked_m, rel=0.02)
    # Of its ground that the map shows nobody knows the walls: it has no colour.
    assert min(fill.start_m for fill in cut.fills) > 10.0


@pytest.mark.parametrize(
    ("seen_m", "against"), [((120.0, 160.0), True), ((120.0, 123.0), False), ((0.0, 90.0), False)]
)
def test_other_rock_tells_against_a_body_beyond_the_errors_of_its_walls(compile_text, seen_m, against):
    section = _cut(compile_text, SILL).section
    (body,) = section.bodies
    first, last = body.sides[0].at[0], body.sides[1].at[0]
    assert last - first == pytest.approx(5.0, abs=1.5)
    wide = replace(
        body, sides=(replace(body.sides[0], at=(100.0, 0.0)), replace(body.sides[1], at=(200.0, 0.0)))
    )
    runs = [UnitRun(unit="Sc", start_m=seen_m[0], end_m=seen_m[1])]
    assert (
        against_seen(wide, replace(section, profile=(), line=section.line, length_m=300.0), runs) is against
    )
