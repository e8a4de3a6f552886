"""Intrusive bodies of known geometry: they cut the beds, and nothing that is said of the beds is changed by them."""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from traverse.compile import map_ground, section_ground
from traverse.structure.readings.directions import pole
from traverse.structure.walk.bodies import opening

HEAD = """notation 1
bearings true
attitudes dip-right
control 1 0 E 0 N 100 m
unit Ks Sandstone ;
unit Jl Limestone ;
unit Ts Shale ;
"""
DIKE = "unit Db Basalt dike ; Neogene ; #d09090 ; intrusive\n"

BEDS = """section A-A' from 1 to 4
at 1
unit Ts
bed 000/30
to 2 090 100m level
along 60m
contact Jl/Ts certain 000/30
{first}at 2
unit Jl
bed 000/30
to 3 090 100m level
{second}at 3
unit Jl
bed 000/30
to 4 090 100m level
along 50m
contact Ks/Jl certain 000/30
at 4
unit Ks
bed 000/30
"""
"""A walk down the dip over beds dipping 30° east: Jl from 60 to 250 m, 190 sin 30° = 95 m thick."""

VERTICAL = """along 70m
contact Db/Jl certain 000/90
along 74m
contact Db/Jl certain 000/90
"""


def test_a_body_opens_its_host_by_its_width_along_its_own_walls_pole():
    """Walls and beds turned at random: the walk through the body, laid square to the walls, then square to the beds."""
    rng = np.random.default_rng(8)
    for strike_deg, dip_deg, to_true_deg in rng.uniform((0.0, 5.0, -40.0), (360.0, 90.0, 40.0), (20, 3)):
        walk = rng.normal(0.0, 30.0, 3)
        normal = rng.normal(0.0, 1.0, 3)
        normal /= np.linalg.norm(normal)
        dip, down = math.radians(dip_deg), math.radians(strike_deg - to_true_deg)
        # Along the strike, and down the dip to the right of it; the pole is square to both.
        along = (math.sin(down), math.cos(down), 0.0)
        fall = (math.cos(dip) * math.cos(down), -math.cos(dip) * math.sin(down), -math.sin(dip))
        wall = np.cross(along, fall)
        one = SimpleNamespace(
            through=True,
            strike_deg=strike_deg,
            dip_deg=dip_deg,
            width_m=abs(float(walk @ wall)),
            width_sd_m=0.7,
            ends=(
                SimpleNamespace(place=(5.0, 5.0, 5.0)),
                SimpleNamespace(place=tuple(walk + 5.0)),
            ),
        )
        moved = (walk @ wall) * wall
        found = opening(one, normal, to_true_deg=to_true_deg)
        assert found == pytest.approx((moved @ normal, 0.7 * abs(wall @ normal)), abs=1e-6)
        # Of unknown walls anything from nothing to all of the walk: an even chance has a deviation of its half over √3.
        one.strike_deg = None
        across = walk @ normal
        assert opening(one, normal, to_true_deg=to_true_deg) == pytest.approx(
            (across / 2.0, abs(across) / 2.0 / math.sqrt(3.0)), abs=1e-6
        )
        one.through = False
        assert opening(one, normal, to_true_deg=to_true_deg) == (0.0, 0.0)


def beds(*, first="", second="", units=DIKE):
    return HEAD + units + BEDS.format(first=first, second=second)


def codes(found):
    return {one.code for one in found.diagnostics}


def cut(found):
    """The one section with its ground laid."""
    (one,) = section_ground(found.trav).ground.cuts
    return one


def unit_at(section, distance, up):
    import shapely

    here = shapely.Point(distance, up)
    return next((fill.unit for fill in reversed(section.fills) if fill.area.contains(here)), None)


# --- a vertical dike through beds that dip 30° ---------------------------------------------------------------


@pytest.mark.parametrize("place", ["first", "last"])
def test_a_vertical_dike_changes_nothing_said_of_the_beds(compile_text, place):
    """Wherever the list of units has it."""
    without = compile_text(beds(second=""))
    text = beds(second=VERTICAL)
    if place == "first":
        text = text.replace(DIKE, "").replace("unit Ks", DIKE + "unit Ks", 1)
    found = compile_text(text)
    assert [one.words for one in found.geology.findings] == [one.words for one in without.geology.findings]
    assert not any("irrored" in one.words for one in found.geology.findings)
    mean = found.geology.bedding_mean
    assert (mean.dip_deg, mean.dip_direction_deg) == pytest.approx((30.0, 90.0), abs=1e-6)
    assert codes(found) == codes(without)
    assert [one.unit.letters for one in found.geology.column] == ["Ks", "Jl", "Ts"]


def test_the_beds_go_on_under_a_vertical_dike(compile_text):
    """Its walls stand upright on the section, and each contact of the beds keeps its own dip on both sides."""
    found = compile_text(
        beds(first="along 75m\ncontact Db/Jl certain 000/90\nalong 79m\ncontact Db/Jl certain 000/90\n")
    )
    (section,) = found.geology.sections
    (body,) = section.bodies
    assert [side.at[0] for side in body.sides] == pytest.approx([75.0, 79.0])
    assert all(side.way == (0.0, -1.0) for side in body.sides)
    drawn = cut(found)
    assert unit_at(drawn, 77.0, 95.0) == "Db"
    # Jl/Ts leaves the ground at 60 m and lies 15 tan 30° = 8.7 m down at the dike.
    for distance in (74.0, 80.0):
        deep = (distance - 60.0) * math.tan(math.radians(30.0))
        assert unit_at(drawn, distance, 100.0 - deep + 0.7) == "Jl"
        assert unit_at(drawn, distance, 100.0 - deep - 0.7) == "Ts"
    (line,) = [one for one in drawn.lines if (one.of.younger, one.of.older) == ("Jl", "Ts")]
    ends = sorted((x, y) for part in line.below for x, y in (part.coords[0], part.coords[-1]))
    assert [x for x, _ in ends[1:3]] == pytest.approx([75.0, 79.0])
    for x, y in ends:
        assert y == pytest.approx(100.0 - (x - 60.0) * math.tan(math.radians(30.0)), abs=0.01)


def test_the_dike_s_plane_is_none_of_the_beds(compile_text):
    """A bed's contact that was not measured takes its course from the beds, though a wall is nearer."""
    text = beds(first="along 61m\ncontact Db/Jl certain 090/80\nalong 63m\ncontact Db/Jl certain 090/80\n")
    found = compile_text(text.replace("contact Jl/Ts certain 000/30", "contact Jl/Ts certain"))
    (first,) = [one for one in found.geology.contacts if one.older == "Ts"]
    assert first.course_deg == pytest.approx(0.0)
    assert first.dip_deg is None
    (line,) = [one for one in found.geology.sections[0].construction.lines if one.older == "Ts"]
    (piece,) = [one for one in line.pieces if not one.eroded]
    (x0, y0), (x1, y1) = piece.points[0], piece.points[-1]
    assert math.degrees(math.atan2(abs(y1 - y0), abs(x1 - x0))) == pytest.approx(30.0, abs=1.0)


def test_a_wall_that_was_not_measured_runs_as_the_other(compile_text):
    found = compile_text(
        beds(second=VERTICAL.replace(" 000/90\nalong", " 010/70\nalong").replace("certain 000/90", "certain"))
    )
    walls = found.geology.bodies[0].walls
    assert [one.course_deg for one in walls] == pytest.approx([10.0, 10.0])
    assert [one.dip_deg for one in walls] == [70.0, None]
    sentences = found.geology.sections[0].construction.sentences
    assert any("One wall of Db" in one for one in sentences)


def test_a_body_without_a_measured_wall_is_drawn_upright_as_deep_as_was_seen(compile_text):
    found = compile_text(beds(second=VERTICAL.replace(" 000/90", "")))
    (body,) = found.geology.bodies
    assert (body.strike_deg, body.width_m) == (None, None)
    # Not the strike of the beds.
    assert [one.course_deg for one in body.walls] == [None, None]
    drawn = cut(found)
    assert any("not measured" in one for one in drawn.section.construction.sentences)
    low = min(part.bounds[1] for one in drawn.lines if one.of.younger == "Db" for part in one.below)
    assert low == pytest.approx(100.0 - found.trav.ground.width.half_m, abs=0.1)


def test_a_reading_of_the_dike_stands_for_its_walls(compile_text):
    text = VERTICAL.replace(" 000/90", "") + "along 72m\ndike 020/80\n"
    (body,) = compile_text(beds(second=text)).geology.bodies
    assert (body.strike_deg, body.dip_deg) == pytest.approx((20.0, 80.0))
    assert body.width_m == pytest.approx(4.0 * math.cos(math.radians(20.0)) * math.sin(math.radians(80.0)))


# --- width ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("strike", "dip"), [(350, 60), (170, 60), (30, 75), (335, 90), (200, 45)])
def test_the_true_width_is_square_to_the_walls(compile_text, strike, dip):
    """Walls 5.5 m apart along a line due east on level ground: 5.5 times the east part of their pole, which points
    east by cos(strike) sin(dip)."""
    text = f"along 20m\ncontact Db/Jl certain {strike:03}/{dip}\nalong 25.5m\ncontact Db/Jl certain {strike:03}/{dip}\n"
    (body,) = compile_text(beds(second=text)).geology.bodies
    true = 5.5 * abs(math.cos(math.radians(strike))) * math.sin(math.radians(dip))
    assert body.width_m == pytest.approx(true, abs=1e-6)
    assert 0.1 < body.width_sd_m < 1.0


def test_the_error_of_a_width_is_that_of_its_own_readings(compile_text):
    """5000 walks with the tape, the walls' places read to the metre and their attitudes off by what is stated."""
    text = beds(second="along 20m\ncontact Db/Jl certain 350/60\nalong 30m\ncontact Db/Jl certain 350/60\n")
    found = compile_text(text)
    (body,) = found.geology.bodies
    rng = np.random.default_rng(4)
    leg = found.trav.survey.legs[1]
    n = 5000
    scale = 1.0 + rng.normal(0.0, leg.distance_sd_m / leg.ground_m, n)
    swing = np.radians(rng.normal(0.0, leg.bearing_sd_deg, n))
    read = rng.uniform(-0.5, 0.5, (n, 2))
    long = 10.0 * scale + read[:, 1] - read[:, 0]
    apart = long[:, None] * np.column_stack((np.cos(swing), -np.sin(swing), np.zeros(n)))
    # Each wall's pole tilts alike in every direction; the two readings are meaned.
    sd = math.radians(
        3.0
        if found.log.heading.first.precision.attitude_deg is None
        else found.log.heading.first.precision.attitude_deg
    )
    true = pole(60.0, dip_direction_deg=80.0)
    poles = true + rng.normal(0.0, sd / math.sqrt(2.0), (n, 3))
    poles /= np.linalg.norm(poles, axis=1)[:, None]
    widths = np.abs((apart * poles).sum(axis=1))
    assert widths.std() / body.width_sd_m == pytest.approx(1.0, abs=0.1)


# --- thickness of what it cuts --------------------------------------------------------------------------------


def only(found, unit):
    (one,) = [one for one in found.geology.thicknesses if one.unit == unit]
    return one


def test_a_unit_s_thickness_is_without_the_sill_in_it(compile_text):
    """A sill of 20 m on the ground, 10 m true, in 190 m of Jl: 95 - 10 m of limestone; the sill has a width, no
    thickness of strata."""
    sill = "unit Sl Dolerite sill ; intrusive\n"
    met = "along 30m\ncontact Sl/Jl certain 000/30\nalong 50m\ncontact Sl/Jl certain 000/30\n"
    plain = compile_text(beds(units=sill))
    found = compile_text(beds(second=met, units=sill))
    assert only(plain, "Jl").true_m == pytest.approx(95.0, abs=0.01)
    assert only(found, "Jl").true_m == pytest.approx(85.0, abs=0.01)
    assert {one.unit for one in found.geology.thicknesses} == {"Jl"}
    (body,) = found.geology.bodies
    assert body.width_m == pytest.approx(10.0, abs=0.01)
    assert [one.words for one in found.geology.findings] == [one.words for one in plain.geology.findings]


@pytest.mark.parametrize(("sill_m", "true_m"), [(30, 65.0), (100, 75.0)])
def test_a_sill_counts_where_the_way_from_contact_to_contact_crosses_it(compile_text, sill_m, true_m):
    """Jl from its top 90 m east of a station to its base 60 m west of it: 150 sin 30° = 75 m, less a sill of 10 m that
    was walked through before its top."""
    crossed = {
        90: "contact Ks/Jl certain 000/30\n",
        sill_m: f"contact Sl/{'Jl' if sill_m < 90 else 'Ks'} certain 000/30\n",
        sill_m + 20: f"contact Sl/{'Jl' if sill_m < 90 else 'Ks'} certain 000/30\n",
    }
    east = "".join(f"along {at}m\n{crossed[at]}" for at in sorted(crossed))
    west = "at 1\nto 3 270 100m level\nalong 60m\ncontact Jl/Ts certain 000/30\n"
    sill = "unit Sl Dolerite sill ; intrusive\n"
    found = compile_text(HEAD + sill + "at 1\nbed 000/30\nto 2 090 150m level\n" + east + west)
    assert only(found, "Jl").true_m == pytest.approx(true_m, abs=0.01)


def test_a_dike_adds_what_it_pushed_the_beds_apart(compile_text):
    """4 m of vertical dike, 4 sin 30° = 2 m of it across the beds."""
    assert only(compile_text(beds(second=VERTICAL)), "Jl").true_m == pytest.approx(93.0, abs=0.01)


def test_a_body_without_a_known_plane_leaves_the_thickness_open(compile_text):
    """Between nothing and all of its 2 m across the beds: in the middle, with a larger error."""
    known, unknown = (
        only(compile_text(beds(second=text)), "Jl") for text in ("", VERTICAL.replace(" 000/90", ""))
    )
    assert unknown.true_m == pytest.approx(known.true_m - 1.0, abs=0.01)
    assert unknown.sd_m**2 == pytest.approx(known.sd_m**2 + 1.0 / 3.0, abs=1e-3)


def test_the_least_thickness_is_without_the_body(compile_text):
    """Ts is entered at its top only: 60 m on the ground, 30 m true, less a sill of 5 m."""
    sill = "unit Sl Dolerite sill ; intrusive\n"
    text = beds(units=sill).replace(
        "along 60m\n",
        "along 20m\ncontact Sl/Ts certain 000/30\nalong 30m\ncontact Sl/Ts certain 000/30\nalong 60m\n",
    )
    (least,) = [one for one in compile_text(text).geology.least if one.unit == "Ts"]
    assert least.true_m == pytest.approx(25.0, abs=0.01)


# --- a dipping dike -------------------------------------------------------------------------------------------


def test_a_dipping_dike_has_its_own_dip_on_the_section(compile_text):
    """Walls that dip 60° west, through beds that dip 30° east."""
    text = "along 20m\ncontact Db/Jl certain 180/60\nalong 26m\ncontact Db/Jl certain 180/60\n"
    drawn = cut(compile_text(beds(second=text)))
    (body,) = drawn.section.bodies
    for side in body.sides:
        assert side.way == pytest.approx((-math.cos(math.radians(60.0)), -math.sin(math.radians(60.0))))
    at = 120.0 + 3.0
    assert unit_at(drawn, at - 10.0 / math.tan(math.radians(60.0)), 90.0) == "Db"
    assert unit_at(drawn, at, 90.0) == "Jl"


def test_walls_that_close_downward_end_where_they_meet(compile_text):
    """A wedge: walls 10 m apart, dipping 60° toward each other, meet 5 tan 60° = 8.66 m down."""
    text = "along 20m\ncontact Db/Jl certain 000/60\nalong 30m\ncontact Db/Jl certain 180/60\n"
    drawn = cut(compile_text(beds(second=text)))
    low = min(fill.area.bounds[1] for fill in drawn.fills if fill.unit == "Db")
    assert low == pytest.approx(100.0 - 8.66, abs=0.01)
    assert drawn.section.bodies[0].body.strike_deg is None


# --- a granite met once ---------------------------------------------------------------------------------------

GRANITE = "unit Gr Granite ; intrusive\n"


def test_a_body_entered_and_not_left_goes_on_to_the_end_of_the_section(compile_text):
    text = beds(units=GRANITE).replace(
        "at 4\nunit Ks\n", "along 80m\ncontact Gr/Ks certain 350/70\nat 4\nunit Gr\n"
    )
    text = text.removesuffix("bed 000/30\n")
    found = compile_text(text)
    (body,) = found.geology.bodies
    assert [end.host for end in body.ends] == ["Ks", None]
    assert body.width_m is None
    drawn = cut(found)
    low, high = drawn.section.bodies[0].sides
    assert low.at[0] == pytest.approx(280.0)
    assert high is None
    assert unit_at(drawn, 299.0, 95.0) == "Gr"
    assert "Gr" not in {one.unit for one in (*found.geology.thicknesses, *found.geology.least)}
    assert not [one for one in found.geology.least if one.unit == "Ks" and "Gr" in one.why]


def test_beds_laid_on_a_granite_are_not_cut_by_it(compile_text):
    """An unconformity is no wall: it stays among the contacts of the beds, and the granite gets no wall from it."""
    text = (
        HEAD
        + GRANITE
        + "at 1\nunit Gr\nto 2 090 100m level\nalong 40m\nunconformity Jl/Gr certain 000/10\nat 2\nunit Jl\nbed 000/10\n"
    )
    found = compile_text(text)
    (body,) = found.geology.bodies
    assert body.walls == ()
    assert [one.younger for one in found.geology.sections[0].construction.lines] == ["Jl"]


# --- where it lies --------------------------------------------------------------------------------------------


def test_a_stretch_of_a_body_is_just_that_stretch(compile_text):
    found = compile_text(beds(second="along 31m to 33m\nunit Db\n"))
    mine = [one for one in found.geology.band if one.leg == 1]
    assert [(round(one.start_share, 3), round(one.end_share, 3), one.unit) for one in mine] == [
        (0.0, 0.31, "Jl"),
        (0.31, 0.33, "Db"),
        (0.33, 1.0, "Jl"),
    ]
    assert "contact-missing" not in codes(found)


@pytest.mark.parametrize("order", ["walls first", "stretch first"])
def test_walls_and_the_stretch_between_them_agree(compile_text, order):
    parts = [
        "along 31m\ncontact Db/Jl certain\nalong 33m\ncontact Db/Jl certain\n",
        "along 31m to 33m\nunit Db\n",
    ]
    found = compile_text(beds(second="".join(parts if order == "walls first" else reversed(parts))))
    assert [one.unit for one in found.geology.band if one.leg == 1] == ["Jl", "Db", "Jl"]


def test_a_body_over_a_station_and_a_side_shot_is_one(compile_text):
    text = (
        HEAD
        + DIKE
        + """at 1
unit Jl
bed 000/30
to 2 090 50m level
along 45m
contact Db/Jl certain 000/90
at 2
unit Db
side 2a 000 8m
from 2 to 3 090 50m level
along 5m
contact Db/Jl certain 000/90
at 3
unit Jl
"""
    )
    bodies = compile_text(text).geology.bodies
    (whole,) = [one for one in bodies if len(one.walls) == 2]
    assert whole.width_m == pytest.approx(10.0, abs=0.01)
    assert [end.host for end in whole.ends] == ["Jl", "Jl"]


LOOP = """section A-A' from 1 to 2
at 1
unit Jl
bed 000/30
to 2 090 120m level
along 60m
contact Db/Jl certain 020/80
along 66m
contact Db/Jl certain 020/80
at 2
unit Jl
bed 000/30
to 3 000 100m level
to 4 270 120m level
along {second}m
contact Db/Jl certain 020/80
along {first}m
contact Db/Jl certain 020/80
at 4
unit Jl
close 1 180 100m level
"""


def test_a_body_met_on_two_arms_is_one_on_the_section(compile_text):
    """Carried along its own strike, both crossings come to the same place; its walls are joined each to itself."""
    north = 100.0 * math.tan(math.radians(20.0))
    text = (
        HEAD + DIKE + LOOP.format(first=f"{120.0 - 60.0 - north:.1f}", second=f"{120.0 - 66.0 - north:.1f}")
    )
    found = compile_text(text)
    assert len(found.geology.bodies) == 2
    (body,) = found.geology.sections[0].bodies
    assert [side.at[0] for side in body.sides] == pytest.approx([60.0, 66.0], abs=0.1)
    joined = {tuple(sorted(span.line for span in one.ends)) for one in found.trav.ground.joins}
    lines = [one.booked.span.line for one in found.geology.contacts]
    assert joined == {(lines[0], lines[3]), (lines[1], lines[2])}


# --- asked, never guessed -------------------------------------------------------------------------------------

UNMARKED = "unit Db Basalt dike ; Neogene\n"


def test_a_dike_by_name_alone_is_asked_about_and_left_as_it_is(compile_text):
    found = compile_text(beds(second=VERTICAL, units="").replace("unit Ks", UNMARKED + "unit Ks", 1))
    (told,) = [one for one in found.diagnostics if one.code == "intrusive-unsaid"]
    assert told.kind == "warning"
    assert "Db intrusive?" in told.message
    assert not {"younger-below", "limb-turns-over", "bed-turns-over"} & codes(found)
    assert not found.geology.bodies


def test_a_unit_that_cuts_the_one_unit_on_both_its_sides_is_asked_about_by_any_name(compile_text):
    found = compile_text(
        beds(second=VERTICAL, units="").replace("unit Ks", "unit Db Basalt ; Neogene\nunit Ks", 1)
    )
    (told,) = [one for one in found.diagnostics if one.code == "intrusive-unsaid"]
    assert "its border cuts the beds beside it at" in told.message


def test_nobody_is_asked_where_the_list_says_enough(compile_text):
    units = "unit Db Basalt dike ; Neogene ; intrusive\n"
    found = compile_text(beds(second=VERTICAL, units="").replace("unit Ks", units + "unit Ks", 1))
    assert "intrusive-unsaid" not in codes(found)


def test_a_concordant_sheet_is_asked_about_where_its_name_says_so(compile_text):
    """Without the name it may as well be a bed; a bed read in it says that it is one."""
    along = beds(second=VERTICAL.replace("000/90", "000/32"), units="")
    named = compile_text(along.replace("unit Ks", "unit Db Basalt sill ; Neogene\nunit Ks", 1))
    (told,) = [one for one in named.diagnostics if one.code == "intrusive-unsaid"]
    assert "it is called a sill, and" in told.message
    assert "at one of its contacts" in told.message
    plain = compile_text(along.replace("unit Ks", "unit Db Basalt ; Neogene\nunit Ks", 1))
    assert "intrusive-unsaid" not in codes(plain)


# --- what was not walked through ------------------------------------------------------------------------------


def test_a_body_left_by_the_wall_it_was_entered_by_has_no_width(compile_text):
    """Into a granite east of 80 m on one arm, out of it on the other: it goes on east, and lies between no two walls."""
    text = (
        HEAD
        + GRANITE
        + """section A-A' from 1 to 2
at 1
unit Jl
bed 000/30
to 2 090 120m level
along 80m
contact Gr/Jl certain 000/80
to 3 000 40m level
to 4 270 120m level
along 44m
contact Gr/Jl certain 000/80
at 4
unit Jl
"""
    )
    found = compile_text(text)
    (body,) = found.geology.bodies
    assert (body.through, body.width_m, body.narrow) == (False, None, False)
    drawn = cut(found)
    low, high = drawn.section.bodies[0].sides
    assert (low.at[0], high) == (pytest.approx(80.0), None)
    assert unit_at(drawn, 110.0, 98.0) == "Gr"
    assert unit_at(drawn, 70.0, 98.0) == "Jl"


def test_a_flat_body_is_not_carried_to_ground_where_it_was_not_met(compile_text):
    """A flat wall at the foot of a hill: all the ground of the other flank as low was walked, and is limestone."""
    text = (
        HEAD
        + GRANITE
        + """section A-A' from 1 to 4
at 1
unit Jl
bed 000/02
to 2 090 60m +20
to 3 090 60m -20
along 40m
contact Gr/Jl certain flat
at 3
unit Gr
to 4 090 20m level
"""
    )
    drawn = cut(compile_text(text))
    assert unit_at(drawn, 5.0, drawn.section.ground_at(5.0) - 1.0) == "Jl"
    end = drawn.section.length_m - 2.0
    assert unit_at(drawn, end, drawn.section.ground_at(end) - 1.0) == "Gr"


def test_a_section_without_heights_says_nothing_of_depth(compile_text):
    text = beds(second=VERTICAL.replace(" 000/90", "")).replace(" level", "").replace(" 100 m\n", "\n")
    (section,) = compile_text(text).geology.sections
    assert section.profile == ()
    assert [side.at[0] for side in section.bodies[0].sides] == pytest.approx([170.0, 174.0])
    assert not any("drawn upright" in one for one in section.construction.sentences)


# --- one body met twice --------------------------------------------------------------------------------------

ROUND = """notation 1
bearings true
attitudes dip-right
unit Cs Upper Shale ; Jurassic
unit Bs Middle Sandstone ; Jurassic
unit As Lower Limestone ; Triassic
unit Dk Dolerite ; Paleogene ; intrusive
at 1
  unit As
  bed 358/25
to 2 084 91m +3
along 50m
  contact Bs/As certain
at 2
  unit Bs
  bed 002/26
{there}to 3 096 101m +3
{first}along 50m
  contact Cs/Bs certain
at 3
  unit Cs
  bed 001/25
to 4 186 91m -2
to 5 275 121m -3
along 36m
  contact Cs/Bs certain
{back}at 5
  unit Bs
  bed 000/25
close 1 323 100m level
along 10m
  contact Bs/As certain
{second}"""
DIKE_ROUND = {
    "there": "",
    "back": "",
    "first": "along 24m\n  contact Dk/Bs certain 240/80\nalong 30m\n  contact Dk/Bs certain 241/79\n",
    "second": "along 47m\n  contact Dk/As certain 240/80\nalong 50m\n  contact Dk/As certain\n",
}
"""A vertical dike over both arms, in the sandstone on one and in the limestone on the other."""


def test_a_dike_met_on_two_arms_is_one_on_map_and_section(compile_text):
    """Carried along its own strike, 30° off the section, both places are one; on the map each wall is joined once."""
    trav = section_ground(compile_text(ROUND.format(**DIKE_ROUND)).trav)
    (section,) = trav.geology.sections
    assert len(trav.geology.bodies) == 2
    assert len(section.bodies) == 1
    by_line = {end: one for one in trav.ground.joins for end in one.ends}
    walls = [wall.booked.span for body in trav.geology.bodies for wall in body.walls]
    assert all(span in by_line for span in walls)
    # Along the map's joins the dike crosses the line where the section has it.
    (east, north), (last_east, last_north) = by_line[walls[0]].lines[0][0], by_line[walls[0]].lines[-1][-1]
    level = section.line[0][1]
    crossed = east + (level - north) / (last_north - north) * (last_east - east) - section.line[0][0]
    assert crossed == pytest.approx(section.bodies[0].sides[0].at[0], abs=8.0)


@pytest.mark.parametrize(("on_plane", "measured"), [(True, True), (False, False)])
def test_a_sill_is_drawn_by_its_other_crossing_only_where_one_plane_holds_both(
    compile_text, on_plane, measured
):
    """Of the sill read on leg 1–2 only: 106 m along leg 4–5 it comes out by its plane; 30 m off that it is another."""
    at = 106 if on_plane else 60
    text = ROUND.format(
        first="",
        second="",
        there="along 68m\n  contact Dk/Bs certain 001/25\nalong 80m\n  contact Dk/Bs certain 002/26\n",
        back=f"along {at}m\n  contact Dk/Bs certain\nalong {at + 12}m\n  contact Dk/Bs certain\n",
    )
    found = compile_text(text)
    read, other = found.geology.bodies
    assert read.as_on is None
    assert (other.as_on == "leg 1\u20132") == measured
    assert (other.width_m is not None) == measured
    if measured:
        assert other.width_m == pytest.approx(12.0 * math.sin(math.radians(25.5)), abs=0.8)
    said = " ".join(found.geology.sections[0].construction.sentences)
    assert "leg 4\u20135" in said
    assert ("whose plane goes through both" in said) == measured


# --- what was left out, or written wrong ------------------------------------------------------------------------

ONE_WALL = "along 70m\ncontact Db/Jl certain 000/90\n"


def said(found, code):
    return [one for one in found.diagnostics if one.code == code]


def test_a_body_whose_second_wall_was_left_out_ends_where_it_was_seen(compile_text):
    """2 m behind the wall, not half-way to the next station; what lies beyond has no colour until the next unit."""
    found = compile_text(beds(second=ONE_WALL))
    (told,) = said(found, "contact-missing")
    assert "no wall of Db is booked where the walk leaves it" in told.message
    assert [
        (one.unit, round(one.start_share, 2), round(one.end_share, 2))
        for one in found.geology.band
        if one.leg == 1
    ] == [("Jl", 0.0, 0.7), ("Db", 0.7, 0.72), (None, 0.72, 0.85), ("Jl", 0.85, 1.0)]
    (body,) = found.geology.bodies
    assert (body.through, body.width_m) == (False, None)
    drawn = cut(found)
    assert unit_at(drawn, 195.0, 98.0) != "Db"


@pytest.mark.parametrize("more", ["along 80m\nunit Jl\n", "along 75m\nunit Db\nalong 80m\nunit Jl\n"])
def test_rock_seen_beyond_does_not_lengthen_a_body(compile_text, more):
    found = compile_text(beds(second=ONE_WALL + more))
    assert len(said(found, "contact-missing")) == 1
    assert found.geology.bodies[0].walked_m == pytest.approx(7.0 if "Db" in more else 2.0)


def test_a_body_that_was_entered_without_a_wall_begins_where_it_was_seen(compile_text):
    text = beds(second="along 20m\ncontact Db/Jl certain 000/90\n").replace(
        "at 2\nunit Jl\nbed 000/30\n", "at 2\nunit Db\n"
    )
    text = text.replace("along 60m\ncontact Jl/Ts certain 000/30\n", "")
    found = compile_text(text.replace("at 1\nunit Ts", "at 1\nunit Jl"))
    (told,) = said(found, "contact-missing")
    assert "where the walk enters it" in told.message
    assert found.geology.bodies[0].walked_m == pytest.approx(22.0)


def test_walls_that_run_apart_are_told_once(compile_text):
    """45° is more than readings good to 2° differ by, 15° is not more than walls do."""
    apart = beds(second=VERTICAL.replace("000/90\nalong", "045/90\nalong"))
    (told,) = said(compile_text(apart), "walls-apart")
    assert "045/90 and 000/90, lie 45° apart" in told.message
    assert told.hints[0].startswith("is one a joint, a slip of the pen, or a fault")
    turned = said(
        compile_text(beds(second=VERTICAL.replace("000/90\nalong", "090/90\nalong"))), "walls-apart"
    )
    assert "(a quarter turn on line" in turned[0].hints[0]
    assert "walls-apart" not in codes(
        compile_text(beds(second=VERTICAL.replace("000/90\nalong", "015/90\nalong")))
    )


def test_a_sill_whose_walls_turn_with_the_beds_beside_may_be_folded_with_them(compile_text):
    """Walls of 30° and 5°, each as the bed 30 m off: straight to the foot they would go 98 m down at the end of the section."""
    sill = "along 30m\ncontact Sl/Jl certain 000/30\nalong 70m\ncontact Sl/Jl certain 000/5\n"
    text = beds(second=sill, units="unit Sl Dolerite sill ; intrusive\n").replace(
        "at 3\nunit Jl\nbed 000/30", "at 3\nunit Jl\nbed 000/5"
    )
    found = compile_text(text)
    (told,) = said(found, "walls-apart")
    assert told.hints[0].startswith("is it folded with its beds")
    drawn = cut(found)
    assert drawn.section.bodies[0].sides[1].way == pytest.approx(
        (math.cos(math.radians(5.0)), -math.sin(math.radians(5.0)))
    )
    low = min(part.bounds[1] for line in drawn.lines if line.of.younger == "Sl" for part in line.below)
    assert low == pytest.approx(min(fill.area.bounds[1] for fill in drawn.fills), abs=0.1)


def test_a_wall_between_two_units_of_which_the_walk_stands_in_neither(compile_text):
    """One message, at its line, and a body drawn from nothing."""
    wrong = beds(second=VERTICAL.replace("Db/Jl", "Db/Ks"))
    found = compile_text(wrong)
    (told,) = said(found, "contact-of-others")
    assert "`contact Db/Jl` would fit" in told.hints[0]
    assert not found.geology.bodies
    assert "contact-missing" not in codes(found)


def test_a_wall_that_names_another_host_than_the_one_before_is_told_at_its_line(compile_text):
    first, second = VERTICAL.split("along 74m")
    found = compile_text(beds(second=first + "along 74m" + second.replace("Db/Jl", "Db/Ts")))
    (told,) = said(found, "contact-of-others")
    assert told.span.column == 1
    assert told.hints == ("`contact Db/Jl` would fit; else `contact Jl/Ts` after it is missing",)
    assert "contact-missing" not in codes(found)


def test_a_dike_without_a_strike_is_a_mark_at_the_walk(compile_text):
    """Half as far to each side as the ground was looked at; beyond it lies its host, and the log says what is missing."""
    found = compile_text(beds(second=VERTICAL.replace(" 000/90", "")))
    assert len(said(found, "body-without-strike")) == 1
    trav = map_ground(found.trav)
    half = trav.ground.width.half_m
    band = trav.ground.map.band
    (area,) = [one for one in band.areas if one.unit == "Db"]
    (part,) = area.parts
    _, low, _, high = part.bounds
    assert (low, high) == pytest.approx((-half / 2.0, half / 2.0), abs=0.01)
    walls = [one for one in band.crossed if "Db" in {one.contact.younger, one.contact.older}]
    assert [one.line.length for one in walls] == pytest.approx([half, half], abs=0.01)
    # One wall read, and it goes from edge to edge.
    known = map_ground(compile_text(beds(second=VERTICAL)).trav).ground.map.band
    (area,) = [one for one in known.areas if one.unit == "Db"]
    assert area.parts[0].bounds[3] == pytest.approx(half, abs=0.2)


@pytest.mark.parametrize(
    "between", ["along 40m\ncontact Db/Ts certain 000/90\nalong 44m\ncontact Db/Jl certain 000/90\n", ""]
)
def test_a_section_parts_units_that_meet_without_a_contact_of_their_own(compile_text, between):
    """On both sides of a dike, and half-way where no contact was booked, each unit lies where it was walked on."""
    text = HEAD + DIKE + "section A-A' from 1 to 2\nat 1\nunit Ts\nbed 000/30\nto 2 090 100m level\n"
    drawn = cut(compile_text(text + between + "at 2\nunit Jl\nbed 000/30\n"))
    assert [unit_at(drawn, at, 99.0) for at in (20.0, 80.0)] == ["Ts", "Jl"]


CUT_SILL = """notation 1
bearings true
attitudes dip-direction
control 1 0 E 0 N 100 m
unit Ce Shale ; Triassic
unit Dy Dike ; Neogene ; intrusive
unit Si Sheet ; Paleogene ; intrusive
at 1
unit Ce
bed 090/12
to 2 090 60m +20
along 20m
contact Si/Ce certain{own}
along 32m
contact Dy/Si certain 075/81
along 42m
contact Dy/Ce certain 070/81
at 2
unit Ce
bed 090/12
"""


@pytest.mark.parametrize(("own", "read"), [("", 0), (" 090/12", 1)])
def test_a_wall_between_two_bodies_is_that_of_the_younger_which_cuts_the_other(compile_text, own, read):
    sheet, dike = compile_text(CUT_SILL.format(own=own)).geology.bodies
    assert (sheet.unit, dike.unit) == ("Si", "Dy")
    assert len(sheet.read_at) == read
    # What of it the dike cut off nobody saw.
    assert sheet.width_m is None
    assert [end.goes_on for end in sheet.ends] == [False, True]
    assert len(dike.read_at) == 2
    assert dike.width_m == pytest.approx(9.6, abs=1.0)
