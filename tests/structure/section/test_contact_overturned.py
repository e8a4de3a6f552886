"""A contact that was read overturned goes down as it was read, whatever bed lies nearest."""

WALK = """notation 1
bearings true
attitudes dip-right
unit Ja Shale ; Jurassic
unit Tc Limestone ; Triassic
section A-A' from 1 to 4
at 1
  unit Ja
  bed 180/17
to 2 090 100m level
along 50m
  contact Ja/Tc certain
at 2
  unit Tc
  bed 180/17
to 3 090 100m level
along 30m
  contact Ja/Tc certain 180/83 overturned
at 3
  unit Ja
  bed 180/84 overturned
to 4 090 100m level
at 4
  unit Ja
  bed 180/84 overturned
"""


def test_it_keeps_its_own_dip_from_where_it_was_met(compile_text):
    (section,) = compile_text(WALK).geology.sections
    (under,) = (
        piece.points
        for line in section.construction.lines
        for piece in line.pieces
        if any(abs(x - 130.0) < 1.0 and abs(up) < 1.0 for x, up in piece.points) and not piece.eroded
    )
    foot = min(under, key=lambda point: point[1])
    assert foot[1] < -20.0
    # To the west and down by 83°, with no bend.
    assert len(under) == 2
    assert abs((130.0 - foot[0]) / -foot[1] - 0.123) < 0.03  # tan 7°
