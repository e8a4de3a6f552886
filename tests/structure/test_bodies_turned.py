"""Bodies on walks that run no cardinal way, by hand, and as the same walk turned has them."""

from __future__ import annotations

import math

import pytest

from traverse.compile import section_ground
from traverse.structure.walk.bodies import BodiesMet
from traverse.structure.walk.order import WalkOrder

PAGE = """notation 1
bearings true
attitudes dip-right
control 1 0 E 0 N 100 m
unit Jl Limestone ;
unit Ts Shale ;
unit Db Basalt dike ; Neogene ; #d09090 ; intrusive
section A-A' from 1 to 3
sheet band 10 m
at 1
  unit Ts
  bed {bed:03d}/30
to 2 {way:03d} 100m +10
along 40m
  contact Db/Ts certain {wall:03d}/80
along 60m
  contact Db/Jl certain {wall:03d}/80
at 2
  unit Jl
  bed {bed:03d}/30
to 3 {way:03d} 100m +10
at 3
  unit Jl
  bed {bed:03d}/30
"""


def page(way, text=PAGE):
    return text.format(way=way, bed=(way - 90) % 360, wall=(way - 60) % 360)


@pytest.mark.parametrize("way", [90, 53, 217, 328])
def test_a_dike_has_its_ends_where_the_walk_met_them_on_the_slope(compile_text, way):
    """Taped along 10° of slope: 40 m are 40 cos 10° on the map and 40 sin 10° up."""
    (body,) = compile_text(page(way)).geology.bodies
    east, north = math.sin(math.radians(way)), math.cos(math.radians(way))
    level, rise = math.cos(math.radians(10.0)), math.sin(math.radians(10.0))
    for end, taped, sense in zip(body.ends, (40.0, 60.0), (1.0, -1.0), strict=True):
        assert end.place[:2] == pytest.approx((taped * level * east, taped * level * north), abs=1e-3)
        assert end.up_m == pytest.approx(100.0 + taped * rise, abs=1e-3)
        assert end.inward == pytest.approx((sense * east, sense * north), abs=1e-6)
        assert end.wall is not None
    assert body.strike_deg == pytest.approx((way - 60) % 360, abs=1e-6)
    # 20 m of slope square to walls of 80° that dip to the right of their strike: the pole, by hand.
    strike, dip = math.radians((way - 60) % 360), math.radians(80.0)
    pole = (math.sin(dip) * math.cos(strike), -math.sin(dip) * math.sin(strike), math.cos(dip))
    apart = (20.0 * level * east, 20.0 * level * north, 20.0 * rise)
    assert body.width_m == pytest.approx(abs(sum(a * b for a, b in zip(pole, apart, strict=True))), abs=0.01)


@pytest.mark.parametrize("way", [53, 217, 328])
def test_the_section_along_a_turned_walk_shows_what_that_along_the_walk_east_does(compile_text, way):
    def shown(which, text):
        trav = section_ground(compile_text(page(which, text)).trav)
        (section,) = trav.geology.sections
        return [(one.distance_m, one.up_m, one.unit) for one in section.profile], [
            (one.unit, one.area.area) for one in trav.ground.cuts[0].fills
        ]

    # The two walls, then the same ground where nobody booked a contact of Ts and Jl.
    bare = "\n".join(line for line in PAGE.split("\n") if "contact" not in line and "along" not in line)
    for text in (PAGE, bare):
        profile, fills = shown(way, text)
        east, east_fills = shown(90, text)
        assert [unit for *_, unit in profile] == [unit for *_, unit in east]
        for one, other in zip(profile, east, strict=True):
            assert one[:2] == pytest.approx(other[:2], abs=1e-3)
        assert [unit for unit, _ in fills] == [unit for unit, _ in east_fills]
        assert [area for _, area in fills] == pytest.approx([area for _, area in east_fills], rel=1e-4)


@pytest.mark.parametrize("way", [90, 217])
def test_a_wall_that_was_met_at_a_station_is_the_end_of_its_body(compile_text, way):
    text = page(way).replace(f"along 60m\n  contact Db/Jl certain {(way - 60) % 360:03d}/80\n", "")
    text = text.replace("at 2\n", f"at 2\n  contact Db/Jl certain {(way - 60) % 360:03d}/80\n", 1)
    (body,) = compile_text(text).geology.bodies
    assert [wall.older for wall in body.walls] == ["Ts", "Jl"]
    assert body.walked_m == pytest.approx(60.0 * math.cos(math.radians(10.0)), abs=1e-3)


def test_a_body_lies_between_two_places_of_a_leg_only_where_both_its_walls_do(compile_text):
    text = page(53).replace("along 40m", "along 20m\n  bed 323/31\nalong 40m")
    text = text.replace("at 2\n", "along 80m\n  bed 323/32\nat 2\n", 1)
    found = compile_text(text + "  bed 323/33\n")
    bodies, log = found.geology.bodies, found.log
    met = BodiesMet(log, found.trav.survey, WalkOrder(log), bodies)
    first, before, after, last = (
        next(one.order for one in found.geology.attitudes if one.written.endswith(f"/{dip}"))
        for dip in ("30", "31", "32", "33")
    )
    assert met.between(before, after) == [(bodies[0], 1.0)]
    assert met.between(first, before) == []
    assert met.between(first, after) == [(bodies[0], 1.0)]
    assert met.between(after, last) == []


APART = """notation 1
bearings true
attitudes dip-right
control 1 0 E 0 N 100 m
unit Ts Shale ;
unit Db Basalt dike ; Neogene ; #d09090 ; intrusive
at 1
  unit Ts
to 2 090 200m level
along 95m
  contact Db/Ts certain {read}
along 105m
  contact Db/Ts certain {read}
at 2
  unit Ts
to 3 000 300m level
to 4 270 200m level
along {first}m
  contact Db/Ts certain
along {second}m
  contact Db/Ts certain
at 4
  unit Ts
close 1 180 300m level
"""


@pytest.mark.parametrize(
    ("strike", "back_m"),
    # Upright through 100 E: on the arm 300 m farther north it comes out at 100 + 300 tan(strike).
    [(0, 100.0), (10, 200.0 - 152.9), (350, 152.9)],
)
@pytest.mark.parametrize("off_m", [0.0, 70.0])
def test_a_dike_takes_the_plane_of_its_other_crossing_only_where_that_goes_through_it(
    compile_text, strike, back_m, off_m
):
    at = back_m + off_m if back_m < 100.1 else back_m - off_m
    text = APART.format(read=f"{strike:03d}/90", first=round(at) - 5, second=round(at) + 5)
    read, other = compile_text(text).geology.bodies
    assert read.as_on is None
    assert (other.as_on == "leg 1–2") == (off_m == 0.0)
    assert (other.strike_deg is not None) == (off_m == 0.0)
