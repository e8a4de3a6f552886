"""A flat or gentle contact is drawn where it was met, and not where the heights walked tell that it can't be."""

import pytest
import shapely

from traverse.compile import compile_log, map_ground
from traverse.source import Source

CAP = """notation 1
traverse Cap on a slope
bearings true
attitudes dip-right
pace 1.523 m
sheet band 10 m

unit Ls Cap Limestone ; Cretaceous
unit Ms Tor Mudstone ; Cretaceous

at 8
  unit Ms
  bed flat
to 9 095 36p +11
along 11p
  contact Ls/Ms certain
at 9
  unit Ls
  bed flat
to 10 048 41p +10
at 10
  unit Ls
  bed flat
to 11 327 31p level
at 11
  unit Ls
  bed flat
to 12 258 34p -7
at 12
  unit Ls
  bed flat
to 13 179 53p -11
along 47p
  contact Ls/Ms certain
at 13
  unit Ms
  bed flat
"""
"""Limestone over mudstone, met at 3 m height on two legs; one of these rises to 15 m beside the other."""
RIDGE = """notation 1
traverse Ridge of gentle beds
bearings true
attitudes dip-right
sheet band 14 m
unit Cs Upper Sandstone ; Triassic
unit Cg Lower Conglomerate ; Triassic
at 1
  unit Cg
  bed 255/6
to 2 265 60m +25
along 20m
  contact Cs/Cg certain 250/6
at 2
  unit Cs
  bed 255/6
to 3 265 60m -25
along 40m
  contact Cs/Cg certain 254/6
at 3
  unit Cg
  bed 255/6
"""
"""A contact that strikes along a steep walk up to a ridge and down."""


def _band(text):
    found = compile_log(Source(name="gentle.trav", text=text), load=lambda name: b"")
    assert found.trav is not None
    return found.trav, map_ground(found.trav).ground.map.band


def _unit(band, place):
    here = shapely.Point(place)
    found = {one.unit for one in band.areas for part in one.parts if part.contains(here)}
    assert len(found) == 1
    return found.pop()


@pytest.mark.parametrize("off_m", [-7.0, -3.0, 3.0, 7.0])
def test_a_flat_contact_does_not_run_up_the_slope_of_the_next_leg(off_m):
    trav, band = _band(CAP)
    start, end = trav.survey.places["12"], trav.survey.places["13"]
    for share in (0.02, 0.2, 0.4, 0.6):
        east = start.east_m + share * (end.east_m - start.east_m) + off_m
        north = start.north_m + share * (end.north_m - start.north_m)
        assert _unit(band, (east, north)) == "Ls"
    for one in band.crossed:
        assert one.line.length < 45.0


@pytest.mark.parametrize("off_m", [-10.0, -5.0, 5.0, 10.0])
def test_a_gentle_contact_along_the_walk_does_not_run_over_the_ridge(off_m):
    trav, band = _band(RIDGE)
    top = trav.survey.places["2"]
    assert _unit(band, (top.east_m, top.north_m + off_m)) == "Cs"
    for name in ("1", "3"):
        foot = trav.survey.places[name]
        assert _unit(band, (foot.east_m, foot.north_m + off_m)) == "Cg"
    for one in band.crossed:
        assert one.line.length < 45.0
