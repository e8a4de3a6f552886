"""Ground of a section parted by unit, from records of a level or a sloping ground: each rule by hand."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest
from shapely import LineString, Point, Polygon, box

from traverse.ground.beside import sides_seen
from traverse.ground.lay_sections import _with_base
from traverse.ground.records import CarriedLine, SectionFill
from traverse.ground.section_bodies import _walls, where_seen
from traverse.ground.section_fills import Parting, _lean_m, as_far_as_walked, lenses
from traverse.ground.section_runs import UnitRun
from traverse.structure.section.records import BodySide, LevelContact, PointKind, SectionBody

DEPTH_M = 100.0
FAR_M = 200.0
"""Length of the section, on level ground at 0 m."""


def section(**more):
    def ground_at(at_m):
        return more.get("slope", 0.0) * at_m

    profile = [SimpleNamespace(distance_m=at, up_m=ground_at(at)) for at in (0.0, 50.0, 100.0, 150.0, FAR_M)]
    return SimpleNamespace(
        **{
            "points": [], "profile": profile, "length_m": FAR_M, "levels": (), "over": (), "bends_m": (),
            "line": ((0.0, 0.0), (FAR_M, 0.0)), "dips_gently": False, "flat_rise": None, "ground_at": ground_at,
            "plan_at": lambda at_m: (at_m, 0.0),
        }
        | more
    )  # fmt: skip


def bed(at_m, dip_deg, unit=None, true_deg=60.0):
    """A reading of bedding; positive where it goes down with increasing distance."""
    attitude = SimpleNamespace(unit=unit, dip_deg=true_deg)
    return SimpleNamespace(distance_m=at_m, apparent_dip_deg=dip_deg, attitude=attitude, tells_bedding=True)


def parting(order=(), **more):
    return Parting(section(**more), box(0.0, -DEPTH_M, FAR_M, 0.0), DEPTH_M, order)


def runs(*borders):
    """Runs `(unit, end)` one after the other from 0."""
    starts = (0.0, *(end for _, end in borders))
    return [
        UnitRun(unit=unit, start_m=start, end_m=end)
        for start, (unit, end) in zip(starts, borders, strict=False)
    ]


def line(*points, younger="Jl", older="Ts", kind=PointKind.CONTACT):
    of = SimpleNamespace(kind=kind, younger=younger, older=older, over_m=None, under_m=None)
    return CarriedLine(of=of, below=(LineString(points),), above=(), known=())


def upright(at_m, **more):
    """Down, so that the younger unit lies beyond it."""
    return line((at_m, 0.0), (at_m, -DEPTH_M), **more)


# --- beds near a place ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("at_m", "dip_deg"), [(10.0, 20.0), (95.0, 40.0), (190.0, -60.0), (140.0, 40.0)])
def test_a_border_that_no_line_tells_of_runs_with_the_bed_nearest_to_it(at_m, dip_deg):
    assert parting(points=[bed(20.0, 20.0), bed(110.0, 40.0), bed(180.0, -60.0)])._dip(at_m) == dip_deg


@pytest.mark.parametrize(("sense", "dip_deg"), [(1.0, 30.0), (-1.0, -50.0)])
def test_a_unit_goes_under_a_cover_with_its_own_bed_before_it_though_one_beyond_is_nearer(sense, dip_deg):
    """Under a border at 100 m: beds at 70 m and at 110 m, or at 90 m and 130 m from the other side."""
    beds = [bed(70.0, 30.0, "Ts"), bed(110.0, -50.0, "Ts")]
    if sense < 0.0:
        beds = [bed(90.0, 30.0, "Ts"), bed(130.0, -50.0, "Ts")]
    assert parting(("Qa", "Ts"), points=beds)._dip_before(100.0, sense, 0) == dip_deg


def test_what_a_unit_goes_under_a_cover_with():
    """A bed beyond where there is none before; one without a unit; none of the cover itself."""
    order = ("Qa", "Ts")
    assert parting(order, points=[bed(130.0, -50.0, "Ts")])._dip_before(100.0, 1.0, 0) == -50.0
    assert parting(order, points=[bed(70.0, 30.0)])._dip_before(100.0, 1.0, 0) == 30.0
    assert parting(order, points=[bed(70.0, 30.0, "Qa")])._dip_before(100.0, 1.0, 0) is None


def test_only_the_cover_hides_how_far_a_unit_goes_on():
    """Qa lies on the worn edges of Ts; what Ts gives way to that stands in no order of age is no cover."""
    one = parting(("Qa", "Ts"))
    base = [line((100.0, 0.0), (200.0, 0.0), younger="Qa", older=None, kind=PointKind.UNCONFORMITY)]
    (hidden,) = one._hidden(runs(("Ts", 100.0), ("Qa", 200.0)), base)["Ts"]
    assert (hidden.border_m, hidden.sense, hidden.cover) == (100.0, 1.0, "Qa")
    (hidden,) = one._hidden(runs(("Qa", 100.0), ("Ts", 200.0)), base)["Ts"]
    assert (hidden.border_m, hidden.sense, hidden.cover) == (100.0, -1.0, "Qa")
    assert one._hidden(runs(("Ts", 100.0), ("Xx", 200.0)), base) == {}
    assert one._hidden(runs(("Ts", 60.0), ("Qa", 80.0), ("Ts", 200.0)), base) == {}


# --- pieces -----------------------------------------------------------------------------------------------------


def coloured(parts):
    found = {}
    for unit, part in parts:
        found[unit] = found.get(unit, 0.0) + part.area
    return found


def on_ground(kept):
    return [(run, run.end_m - run.start_m) for run in kept]


def test_where_lines_tell_two_units_of_a_piece_what_was_seen_on_it_is_a_skin():
    """Ts and Jl, 100 m each, and no line comes up between them: three tenths of the 100 m that were looked at."""
    kept = runs(("Ts", 100.0), ("Jl", 200.0))
    cell = box(0.0, -DEPTH_M, FAR_M, 0.0)
    lines = [line((0.0, -DEPTH_M), (0.0, 0.0)), upright(FAR_M, younger="Ks", older="Jl")]
    both = parting()._parted(cell, on_ground(kept), lines, frozenset())
    assert coloured(both) == pytest.approx({"Ts": 3000.0, "Jl": 3000.0})
    # One of them alone leaves it whole, cut upright where no bed was read, or along a bed of 45° down with distance.
    one = parting()._parted(cell, on_ground(kept), lines[1:], frozenset())
    assert coloured(one) == pytest.approx({"Ts": 10000.0, "Jl": 10000.0})
    dipping = parting(points=[bed(90.0, 45.0)])._parted(cell, on_ground(kept), lines[1:], frozenset())
    assert coloured(dipping) == pytest.approx({"Ts": 15000.0, "Jl": 5000.0})


def test_narrow_units_of_one_piece_are_parted_where_no_line_tells_of_their_border():
    """20 m each, too narrow to gainsay a line; the second border has none, so what was seen stands."""
    kept = runs(("Ts", 20.0), ("Jl", 40.0), ("Ks", 60.0))
    cell = box(0.0, -DEPTH_M, 60.0, 0.0)
    parts = parting()._parted(cell, on_ground(kept), [], frozenset({40.0}))
    assert coloured(parts) == pytest.approx({"Ts": 2000.0, "Jl": 2000.0, "Ks": 2000.0})
    assert parting()._parted(cell, on_ground(kept), [], frozenset()) == []
    assert parting()._parted(cell, on_ground(kept[:1]), [], frozenset({20.0})) == []


def test_a_unit_that_comes_out_of_a_piece_by_the_edges_of_another_piece_alone_has_none_of_it():
    """Ks lies on the midst of Ts, over its own line, beside which 2 m of it come out to each side; unknown ground stays."""
    kept = runs(("Ts", 60.0), ("Ks", 100.0), (None, 150.0), ("Ts", FAR_M))
    shares = [(kept[0], 60.0), (kept[1], 4.0), (kept[2], 50.0), (kept[3], 50.0)]
    lines = [line((60.0, -20.0), (100.0, -20.0), younger="Ks", older="Ts")]
    cell = box(0.0, -DEPTH_M, FAR_M, -20.0)
    parts = parting()._parted(cell, shares, lines, frozenset())
    assert coloured(parts) == pytest.approx({"Ts": 80.0 * 130.0, None: 80.0 * 70.0})
    # Most of it lies on this piece, or a good part of the depth: what was seen stands.
    for share_m in (22.0, 30.0):
        shares[1] = (kept[1], share_m)
        assert "Ks" in coloured(parting()._parted(cell, shares, lines, frozenset()))


@pytest.mark.parametrize(("wide_m", "kept"), [(0.05, False), (0.08, True)])
def test_a_piece_smaller_than_a_square_of_a_fortieth_of_the_depth_is_nothing(wide_m, kept):
    """2.5 m square of 100 m: 6.25 m² are 0.0625 m of 100 m."""
    lines = [upright(100.0, younger="Jl", older="Mb"), upright(100.0 + wide_m, younger="Ks", older="Mb")]
    fills = parting().fills(runs(("Ts", 100.0), ("Jl", 200.0)), lines)
    assert ("Mb" in {one.unit for one in fills}) == kept
    assert {"Ts", "Jl"} <= {one.unit for one in fills}


# --- lines and the pieces between them --------------------------------------------------------------------------


def test_lines_tell_of_a_piece_what_lies_on_its_side_of_them_the_longest_first():
    """Jl is the younger of both; a line touched for less than 4 of 100 m, and a side nobody knows, tell nothing."""
    cell = box(50.0, -DEPTH_M, 150.0, 0.0)
    before = upright(50.0)  # Jl beyond it, where the piece is
    beyond = line((150.0, -60.0), (150.0, -DEPTH_M), younger="Jl", older="Mb")
    touched = line((47.0, -20.0), (47.0, 0.0), (150.0, 0.0), (150.0, -3.0), younger="Ks", older="Ks")
    unknown = upright(150.0, older=None)
    one = parting()
    assert [unit for _, _, unit in one._told(cell, [before])] == ["Jl"]
    assert [unit for _, _, unit in one._told(cell, [beyond])] == ["Mb"]
    assert one._told(cell, [unknown]) == []
    short = line((150.0, 2.0), (150.0, -3.0), younger="Ks", older="Ks")
    assert one._told(cell, [short]) == []
    assert [unit for _, _, unit in one._told(cell, [touched])] == ["Ks"]
    for lines in ([before, beyond], [beyond, before]):
        assert one._unit_of(cell, [], lines) == "Jl"


def test_a_line_that_ends_in_the_midst_goes_on_as_it_runs_to_the_edge_and_a_little_over():
    """3 m for 4 of depth: 25 m up to the ground, 50 m down to the foot, and 1 m."""
    reaching = parting()._reaching(LineString([(50.0, -20.0), (80.0, -60.0)]), [])
    assert reaching.coords[0] == pytest.approx((34.4, 0.8), abs=1e-3)
    assert reaching.coords[-1] == pytest.approx((110.6, -100.8), abs=1e-3)


def test_a_piece_is_as_wide_on_each_unit_as_it_comes_out_there():
    cell = box(30.0, -DEPTH_M, 80.0, 0.0)
    found = parting()._seen_on(cell, runs(("Ts", 50.0), ("Jl", 90.0), ("Ks", FAR_M)))
    assert [run.unit for run, _ in found] == ["Ts", "Jl"]
    assert [share for _, share in found] == pytest.approx([20.0, 30.0], abs=1e-3)


def test_bare_ground_that_its_lines_name_is_of_that_unit_where_its_colour_does_not_touch_it():
    lines = [upright(50.0), line((150.0, -DEPTH_M), (150.0, 0.0))]  # Jl between them
    beside = SectionFill(unit="Ts", area=box(150.0, -DEPTH_M, FAR_M, 0.0), start_m=150.0, end_m=FAR_M)
    own = SectionFill(unit="Jl", area=box(120.0, -DEPTH_M, 150.0, 0.0), start_m=120.0, end_m=150.0)
    (found,) = [one for one in parting().named(lines, [beside]) if one.unit == "Jl"]
    assert found.area.area == pytest.approx(100.0 * DEPTH_M)
    assert "Jl" not in {one.unit for one in parting().named(lines, [beside, own])}
    # A little colour at its edge names the rest no better than none; another unit's in its midst tells against its lines.
    little = replace(own, area=box(140.0, -DEPTH_M, 150.0, 0.0), start_m=140.0)
    (found,) = [one for one in parting().named(lines, [beside, little]) if one.unit == "Jl"]
    assert found.area.area == pytest.approx(90.0 * DEPTH_M)
    other = replace(own, unit="Ts", area=box(80.0, -DEPTH_M, 110.0, 0.0), start_m=80.0, end_m=110.0)
    assert "Jl" not in {one.unit for one in parting().named(lines, [beside, other])}


def test_without_an_unconformity_nothing_is_a_cover():
    one = parting(("Ks", "Jl", "Ts"))
    assert one._hidden(runs(("Ts", 50.0), ("Jl", 100.0), ("Ks", FAR_M)), [upright(50.0)]) == {}


@pytest.mark.parametrize("depth_m", [100.0, 300.0])
def test_a_border_runs_along_its_beds_all_the_way_down_however_deep_was_looked(depth_m):
    """At 45° from 100 m out at the end of the section, 100 m down; deeper than it is long, too."""
    ground = box(0.0, -depth_m, FAR_M, 0.0)
    beyond = Parting(section(), ground, depth_m)._beyond(100.0, dip_deg=45.0)
    assert beyond.intersection(ground).area == pytest.approx(100.0 * 100.0 / 2.0)


@pytest.mark.parametrize(
    ("dip_deg", "place", "within"),
    [(10.0, (150.0, -90.0), True), (10.0, (50.0, -30.0), False), (10.0, (50.0, -45.0), True),
     (45.0, (150.0, -90.0), True), (45.0, (150.0, -110.0), False), (45.0, (50.0, -45.0), False)],
)  # fmt: skip
def test_under_a_slope_that_falls_more_than_the_beds_a_border_goes_into_it_the_other_way(
    dip_deg, place, within
):
    """Ground that falls 1 in 2 with distance, a border at 100 m: beds of 10° lie under the slope before it, of 45° beyond."""
    ground = box(0.0, -2.0 * DEPTH_M, FAR_M, 0.0)
    beyond = Parting(section(slope=-0.5), ground, DEPTH_M)._beyond(100.0, dip_deg=dip_deg)
    assert beyond.contains(Point(place)) is within


def test_under_a_cover_a_unit_goes_no_farther_from_its_one_contact_than_was_looked_at():
    """100 m of 200 from a contact of Ts at the end; other contacts, and what cuts it, are none of its own."""
    cell = box(0.0, -DEPTH_M, FAR_M, 0.0)
    own = upright(FAR_M)
    others = [
        upright(0.0, younger="Ks", older="Mb"),
        line((0.0, 0.0), (FAR_M, 0.0), older="Ts", kind=PointKind.UNCONFORMITY),
    ]
    (found,) = parting()._beside(cell, "Ts", [own, *others])
    assert found.bounds == pytest.approx((100.0, -DEPTH_M, FAR_M, 0.0))
    assert parting()._beside(cell, "Ts", [own, upright(0.0), *others]) == [cell]


def test_flat_beds_are_skins_on_the_oldest_no_wider_than_their_piece():
    one = parting(("Jl", "Ts"), points=[bed(60.0, 1.0, true_deg=2.0)])
    kept = [UnitRun(unit="Jl", start_m=10.0, end_m=60.0), UnitRun(unit="Ts", start_m=60.0, end_m=100.0)]
    kept.append(UnitRun(unit="Jl", start_m=100.0, end_m=180.0))
    assert one._flat(box(30.0, -DEPTH_M, 150.0, 0.0), kept) == "Ts"
    assert [(run.unit, run.start_m, run.end_m) for run in one.skins] == [
        ("Jl", 30.0, 60.0),
        ("Jl", 100.0, 150.0),
    ]


def test_flat_beds_that_no_plane_holds_go_down_to_the_lowest_ground_of_their_unit():
    """Ground that rises 1 in 10: Ts from its foot and again at the top. 2000 m² over 0 m, and 45 of a skin of 3 m."""
    seen = [UnitRun(unit="Ts", start_m=0.0, end_m=50.0), UnitRun(unit="Ts", start_m=150.0, end_m=FAR_M)]
    under = Polygon([(0.0, 0.0), (FAR_M, 20.0), (FAR_M, -80.0), (0.0, -80.0)])
    fill = SectionFill(unit="Ts", area=under, start_m=0.0, end_m=FAR_M)
    for each in (seen, seen[::-1]):
        found = as_far_as_walked([fill], section(slope=0.1, flat_rise=(0.0, 0.0)), each, depth_m=10.0)
        assert sum(one.area.area for one in found) == pytest.approx(2045.0, abs=0.1)


def test_a_bed_rises_by_its_plane_from_the_first_end_of_the_section():
    """100 m on, 60 m east and 80 m north of it: 1.2 m up to the east, 4 m down to the north."""
    turned = section(
        line=((1000.0, 2000.0), (1120.0, 2160.0)),
        plan_at=lambda at_m: (1000.0 + 0.6 * at_m, 2000.0 + 0.8 * at_m),
    )
    assert _lean_m(turned, (0.02, -0.05), 100.0) == pytest.approx(-2.8)


def test_a_border_of_the_ground_is_told_by_a_line_that_comes_out_at_it_and_by_none_elsewhere():
    """On level ground of which 100 m are looked at: its border lies at the very top."""
    border = runs(("Ts", 60.0), ("Jl", FAR_M))
    beside, there = (LineString([(at, 0.0), (at + 30.0, -DEPTH_M)]) for at in (150.0, 60.0))
    assert parting()._untold(border, [beside]) == {60.0}
    assert parting()._untold(border, [beside, there]) == frozenset()


# --- skins ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("slope", [0.0, 0.2])
def test_a_lens_comes_out_at_both_ends_and_is_deepest_half_way(slope):
    """40 m wide: a quarter of it deep, and by a parabola an area of two thirds of its width by its depth."""
    (lens,) = lenses(section(slope=slope), [UnitRun(unit="Qa", start_m=60.0, end_m=100.0)], depth_m=DEPTH_M)
    assert lens.base[0] == pytest.approx((100.0, slope * 100.0))
    assert lens.base[-1] == pytest.approx((60.0, slope * 60.0))
    assert lens.base[len(lens.base) // 2] == pytest.approx((80.0, slope * 80.0 - 10.0))
    # Straight between 13 places: short of it by one part in 12².
    assert lens.area.area == pytest.approx(2.0 / 3.0 * 40.0 * 10.0 * (1.0 - 1.0 / 144.0), rel=1e-4)


def test_a_unit_on_an_unconformity_needs_no_lens_where_every_line_of_its_base_is_drawn():
    def line(younger, *pieces, kind=PointKind.UNCONFORMITY):
        return SimpleNamespace(younger=younger, pieces=pieces, kind=kind)

    lines = [
        line("Qa", "drawn"),
        line("Jl", "drawn"),
        line("Jl"),
        line("Ts", "drawn", kind=PointKind.CONTACT),
    ]
    assert _with_base(SimpleNamespace(lines=lines)) == {"Qa"}


def test_flat_beds_are_coloured_as_far_over_and_under_their_contact_as_they_were_walked():
    """A contact at -50 m, walked 5 m over and 8 m under it; the ground itself is a skin of 30 m."""
    level = LevelContact(
        younger="Jl", older="Ts", up_m=-50.0, sd_m=1.0, own_sd_m=1.0, sd_deg=0.0, contacts=(), over_m=5.0, under_m=8.0
    )  # fmt: skip
    fills = [
        SectionFill(unit="Jl", area=box(0.0, -50.0, FAR_M, 0.0), start_m=0.0, end_m=FAR_M),
        SectionFill(unit="Ts", area=box(0.0, -100.0, FAR_M, -50.0), start_m=0.0, end_m=FAR_M),
    ]
    found = as_far_as_walked(fills, section(levels=(level,)), [], depth_m=DEPTH_M)
    assert sorted((one.unit, *one.area.bounds[1::2]) for one in found) == [
        ("Jl", pytest.approx(-50.0), pytest.approx(-45.0)),
        ("Jl", pytest.approx(-30.0), pytest.approx(0.0)),
        ("Ts", pytest.approx(-58.0), pytest.approx(-50.0)),
    ]


# --- intrusive bodies -------------------------------------------------------------------------------------------


def dike(low_m, high_m, *, sd_m=0.0, way=(0.0, -1.0), up_m=0.0):
    """A body whose walls were met at two distances."""
    wall = SimpleNamespace(sd_m=sd_m, younger="Db", older="Ts", certainty=None, queried=False)
    sides = tuple(BodySide(at=(at, up_m), way=way, wall=wall) for at in (low_m, high_m))
    body = SimpleNamespace(unit="Db", narrow=False)
    return SectionBody(body=body, sides=sides, course_known=True, floor_m=-DEPTH_M)


def sides_at(one, *seen):
    return [side.at[0] for side in where_seen(one, section(), seen).sides]


def test_a_body_takes_its_sides_from_its_own_ground_where_the_map_shows_them():
    """Whatever lies beside it, and whatever ground of the same unit lies elsewhere."""
    ts, own, far = (*runs(("Ts", 42.0), ("Db", 58.0)), UnitRun(unit="Db", start_m=120.0, end_m=130.0))
    jl = UnitRun(unit="Jl", start_m=58.0, end_m=120.0)
    early = UnitRun(unit="Db", start_m=1.0, end_m=5.0)
    assert sides_at(dike(40.0, 60.0), ts, own, jl, far) == [42.0, 58.0]
    assert sides_at(dike(40.0, 60.0), early, ts, own, jl) == [42.0, 58.0]
    assert sides_at(dike(40.0, 60.0), ts, jl, far) == [40.0, 60.0]


@pytest.mark.parametrize(
    # Three standard deviations of where the wall was met, and 5 m in any case.
    ("sd_m", "off_m", "moved"),
    [(3.0, 8.9, True), (3.0, 9.1, False), (1.0, 4.9, True), (1.0, 5.1, False)],
)
def test_a_wall_is_where_the_map_shows_it_as_far_off_as_one_contact_may_be(sd_m, off_m, moved):
    own = UnitRun(unit="Db", start_m=40.0 + off_m, end_m=100.0 + off_m)
    expected = [40.0 + off_m, 100.0 + off_m] if moved else [40.0, 100.0]
    assert sides_at(dike(40.0, 100.0, sd_m=sd_m), own) == expected


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_a_wall_runs_straight_through_where_it_was_met_into_the_hill_above_as_well(sense):
    """Down 3 in 4 through a height of 10 m at 100 m, where the hill goes on higher than that to one side."""
    one = dike(100.0, 100.0, way=(0.8 * sense, -0.6), up_m=10.0)
    one = SimpleNamespace(sides=(one.sides[0], None), body=one.body, floor_m=-DEPTH_M, course_known=True)
    hill = box(40.0, -200.0, 160.0, 200.0)
    ((part,),) = [each.below for each in _walls(one, hill, section())]
    ends = sorted((part.coords[0], part.coords[-1]))
    # 60 m to each side: 45 m of height.
    assert ends[0] == pytest.approx((40.0, 10.0 + sense * 45.0), abs=0.1)
    assert ends[1] == pytest.approx((160.0, 10.0 - sense * 45.0), abs=0.1)
    assert part.length == pytest.approx(150.0, abs=0.2)


# --- contacts beside the walk -----------------------------------------------------------------------------------


@pytest.mark.parametrize(("long_m", "inside_m"), [(20.0, 19.8), (0.2, 0.1), (0.04, 0.02)])
def test_ground_beyond_a_contact_is_told_clear_of_both_its_ends_however_short_it_is(long_m, inside_m):
    """By 0.1 m, and by a quarter of it where it is short."""
    part = SimpleNamespace(contact=SimpleNamespace(queried=False, place=SimpleNamespace(right_m=5.0)))
    of = SimpleNamespace(left="Ts", right=None, side=-1, parts=[part])
    contact = SimpleNamespace(of=of, line=LineString([(0.0, 0.0), (0.0, long_m)]))
    (seen,) = sides_seen(contact, box(-50.0, -50.0, 50.0, 50.0), 10.0)
    assert seen.unit == "Ts"
    assert seen.inside.length == pytest.approx(inside_m, abs=1e-6)
    assert seen.inside.bounds == pytest.approx(
        (-0.5, (long_m - inside_m) / 2.0, -0.5, (long_m + inside_m) / 2.0), abs=1e-6
    )


# --- how far a unit goes from its contacts ----------------------------------------------------------------------


def test_a_unit_goes_no_farther_from_its_contact_than_it_is_thick():
    """Jl beyond an upright contact at 40 m, crossed nowhere over 70 m: to 110 m, and where the map shows it."""
    base = replace(upright(40.0))
    base.of.pieces = (SimpleNamespace(eroded=False, points=((40.0, 0.0), (40.0, -DEPTH_M))),)
    guessed = runs(("Ts", 40.0), ("Jl", FAR_M))

    def ends(seen=(), **known):
        for name, value in {"over_m": None, "under_m": None, **known}.items():
            setattr(base.of, name, value)
        one = Parting(section(), box(0.0, -DEPTH_M, FAR_M, 0.0), DEPTH_M, (), seen)
        fills = one.fills(guessed, [base])
        wide = {fill.unit: fill.area.bounds[0::2] for fill in fills}
        return wide, [(unit, area.bounds[0::2]) for unit, area in one.past_rooms]

    assert ends() == ({"Ts": (0.0, 40.0), "Jl": (40.0, FAR_M)}, [])
    assert ends(over_m=70.0) == ({"Ts": (0.0, 40.0), "Jl": (40.0, 110.0)}, [("Jl", (110.0, FAR_M))])
    assert ends(under_m=30.0) == ({"Ts": (10.0, 40.0), "Jl": (40.0, FAR_M)}, [("Ts", (0.0, 10.0))])
    walked = [UnitRun(unit="Jl", start_m=90.0, end_m=150.0), UnitRun(unit="Ts", start_m=150.0, end_m=FAR_M)]
    assert ends(walked, over_m=70.0)[1] == [("Jl", (150.0, FAR_M))]
