"""A contact of old beds in the air: no farther than to the ground of what was laid on their worn edges, dipping itself."""

import math

import pytest

from traverse.structure.section.records import PointKind, Stop

PILE = """notation 1
bearings true
attitudes dip-right
pace 0.75 m
unit Tb Teal Marl ; Triassic
unit Ta Tarn Conglomerate ; Triassic
unit Pd Down Grit ; Devonian
unit Pc Clough Limestone ; Devonian
unit Pb Blea Slate ; Silurian
unit Pa Aik Greywacke ; Silurian
at 1
  unit Pc
  bed 209/42
to 2 119 134p -2
along 10p
  unconformity Ta/Pc certain 031/14
along 131p
  contact Tb/Ta certain
at 2
  unit Tb
  bed 027/14
to 3 168 101p -4
at 3
  unit Tb
  bed 027/15
to 4 170 102p -5
at 4
  unit Tb
  bed 031/15
to 5 231 125p +1
at 5
  unit Tb
  bed 031/15
to 6 267 141p +3
along 63p
  contact Tb/Ta certain
at 6
  unit Ta
  bed 030/14
to 7 280 132p +3
along 66p
  unconformity Ta/Pb certain 028/14
along 70p
  contact Pc/Pb certain
at 7
  unit Pc
  bed 209/43
to 8 309 118p +4
along 47p
  contact Pd/Pc certain
at 8
  unit Pd
  bed 209/42
to 9 358 98p +5
at 9
  unit Pd
  bed 210/42
to 10 025 102p +2
at 10
  unit Pd
  bed 211/42
to 11 064 130p -2
at 11
  unit Pd
  bed 210/42
close 1 087 147p -3
along 78p
  contact Pd/Pc certain
at 9
to 12 099 204p -4
along 135p
  contact Pd/Pc certain
at 12
  unit Pc
  bed 210/43
to 13 104 110p -4
along 25p
  unconformity Ta/Pc certain 030/14
at 13
  unit Ta
  bed 028/15
close 4 107 161p -4
along 59p
  contact Tb/Ta certain
section A-A' 120 through 12
"""


def test_a_contact_is_not_drawn_in_the_air_over_what_lies_on_its_worn_edge(compile_text):
    (section,) = compile_text(PILE).geology.sections
    (line,) = [one for one in section.construction.lines if (one.younger, one.older) == ("Pc", "Pb")]
    # It rises at 40° from the edge of the pile, so that it is over it after a few metres; it went on for 45.
    assert max(at_m for piece in line.pieces for at_m, _ in piece.points) <= line.outcrops[0][0] + 10.0
    assert Stop.OUT_AGAIN not in line.stopped


def test_an_unconformity_met_on_two_units_is_one_surface_under_what_lies_on_it(compile_text):
    (section,) = compile_text(PILE).geology.sections
    (base,) = [one for one in section.construction.lines if one.kind is PointKind.UNCONFORMITY]
    assert (base.younger, base.older, len(base.contacts)) == ("Ta", None, 3)
    # It went under Ta for ten metres, as two lines that ended at each other.
    path = [point for piece in base.pieces for point in piece.points]
    assert max(at_m for at_m, _ in path) == pytest.approx(section.length_m)
    # The plane that was read, 14° down along the section.
    (at_m, up_m), (to_m, to_up_m) = base.outcrops[0], max(path)
    assert math.degrees(math.atan2(up_m - to_up_m, to_m - at_m)) == pytest.approx(14.0, abs=1.0)
