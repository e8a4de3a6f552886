"""Sections with bends: one bed is one line over them, each stretch with its own apparent dip."""

import math
from itertools import pairwise

import pytest

from traverse.structure.readings.directions import apparent_dip
from traverse.structure.section.bent import within

# A bed cut by an upright plane of azimuth s falls by tan(dip) cos(s - dip direction) for each metre: closed form.


def log(bed, first, second, *, contact_at=60, beds=("0", "2"), section="section A-A' from 0 via 1 to 2"):
    """A level walk 150 m one way and 150 m another, with one planar bed all over and one contact."""
    stations = {name: f"bed {bed}\n" if name in beds else "" for name in "012"}
    return (
        "notation 1\nbearings true\nattitudes dip-direction\nunit Bb Upper ;\nunit Aa Lower ;\n"
        f"control 0 0 E 0 N 100 m\nat 0\nunit Aa\n{stations['0']}"
        f"to 1 {first:03d} 150m level\nalong {contact_at}m\ncontact Bb/Aa certain\nat 1\nunit Bb\n{stations['1']}"
        f"to 2 {second:03d} 150m level\nat 2\nunit Bb\n{stations['2']}"
        f"{section}, depth 200 m\n"
    )


def points_of(line):
    return [line.pieces[0].points[0], *(point for piece in line.pieces for point in piece.points[1:])]


def truth(distance, bed, first, second, contact_at):
    """Height of the bed under a place of the section."""
    way, dip = (float(part) for part in bed.split("/"))
    fall = [
        math.tan(math.radians(dip)) * math.cos(math.radians(azimuth - way)) for azimuth in (first, second)
    ]
    on_first = min(distance, 150.0) - contact_at
    on_second = max(0.0, distance - 150.0)
    return 100.0 - on_first * fall[0] - on_second * fall[1]


def test_a_line_ends_at_the_bend_that_it_crosses():
    """In proportion: from 110 m to 170 m it falls by 30 m, so by 20 m up to a bend at 150 m; and the other way."""
    assert within((110.0, 80.0), (170.0, 50.0), 100.0, 150.0) == pytest.approx((150.0, 60.0))
    assert within((140.0, 80.0), (60.0, 40.0), 100.0, 150.0) == pytest.approx((100.0, 60.0))
    assert within((110.0, 80.0), (150.0, 50.0), 100.0, 150.0) == (150.0, 50.0)


@pytest.mark.parametrize("beds", [("0", "2"), ("0",), ("2",), ("0", "1", "2")])
@pytest.mark.parametrize("rule", ["construction", "arcs"])
@pytest.mark.parametrize(
    ("bed", "first", "second"),
    [("128/32", 100, 140), ("090/20", 60, 120), ("090/25", 45, 135), ("270/30", 100, 60)],
)
def test_a_plane_is_one_line_over_the_bend(compile_text, bed, first, second, rule, beds):
    compiled = compile_text(log(bed, first, second, beds=beds))
    construction = getattr(compiled.geology.sections[0], rule)
    (line,) = construction.lines
    found = points_of(line)
    for distance, up in found:
        assert up == pytest.approx(truth(distance, bed, first, second, 60.0), abs=1e-6)
    # It turns at the bend, if it comes so far, and nowhere else.
    turns = [distance for distance, up in found[1:-1] if abs(up - 100.0) > 1e-6 and abs(up - 80.0) > 1e-6]
    assert all(distance == pytest.approx(150.0, abs=1e-6) for distance in turns)
    reaches = max(found)[0]
    assert reaches > 150.0 or abs(max(found)[1] - 100.0) > 100.0
    assert construction.axial == ()


def test_the_dips_of_both_stretches_are_those_of_the_formula(compile_text):
    """Bedding 32 toward 128 on azimuth 100, then 140: 28.9, then 31.4 (computed from the relation above)."""
    compiled = compile_text(log("128/32", 100, 140))
    (line,) = compiled.geology.sections[0].construction.lines
    found = [point for point in points_of(line) if point[1] <= 100.0]
    slopes = [
        math.degrees(math.atan2(one[1] - other[1], other[0] - one[0]))
        for one, other in pairwise(found)
        if other[0] - one[0] > 1.0
    ]
    assert slopes[0] == pytest.approx(28.9, abs=0.05)
    assert slopes[-1] == pytest.approx(31.4, abs=0.05)
    assert slopes[-1] == pytest.approx(apparent_dip(32.0, dip_direction_deg=128.0, azimuth_deg=140.0))


def test_an_overturned_bed_goes_on_over_the_bend(compile_text):
    text = log("090/70 overturned", 80, 110).replace("along 60m", "along 148m")
    text = text.replace("unit Aa\nbed", "unit Bb\nbed").replace("at 1\nunit Bb", "at 1\nunit Aa")
    text = text.replace("at 2\nunit Bb", "at 2\nunit Aa")
    compiled = compile_text(text, errors=True)
    (line,) = compiled.geology.sections[0].construction.lines
    for distance, up in points_of(line):
        assert up == pytest.approx(truth(distance, "090/70", 80, 110, 148.0), abs=1e-6)


def test_a_contact_met_again_on_the_way_back_is_one_line_with_its_younger_side_above(compile_text):
    """The second stretch runs back over the contact: what lay ahead on the first lies behind there."""
    back = 50.0 / math.cos(math.radians(30.0))
    text = log("090/30", 90, 300, contact_at=100).replace("at 2\nunit Bb", "at 2\nunit Aa")
    text = text.replace("150m level\nat 2", f"150m level\nalong {back:.3f}m\ncontact Bb/Aa certain\nat 2")
    (line,) = compile_text(text).geology.sections[0].construction.lines
    assert len(line.contacts) == 2
    found = points_of(line)
    for distance, up in found:
        assert up == pytest.approx(truth(distance, "090/30", 90, 300, 100.0), abs=1e-3)
    # The younger unit lies on the left of the way the line runs: above it, when it runs with distance.
    assert found[0][0] < found[-1][0]


def test_no_fold_is_drawn_where_the_section_doubles_back(compile_text):
    compiled = compile_text(log("090/30", 90, 280))
    assert compiled.geology.sections[0].construction.axial == ()


@pytest.mark.parametrize("at", [40, 110])
def test_a_fold_keeps_its_trace_when_the_section_bends_beside_it(compile_text, at):
    """Limbs 40 E and 20 W, each read twice, the nearest 120 m apart: the trace lies half-way between, square to the mean dip."""
    limbs = "bed 090/40", "bed 270/20"
    text = (
        "notation 1\nbearings true\nattitudes dip-direction\nunit Bb Upper ;\nunit Aa Lower ;\n"
        f"control 0 0 E 0 N 100 m\nat 0\nunit Aa\n{limbs[0]}\nto 1 090 {at}m level\nalong 10m\n"
        f"contact Bb/Aa certain\nalong 15m\n{limbs[0]}\nto 2 120 {150 - at}m level\nalong {135 - at}m\n{limbs[1]}\nat 2\n{limbs[1]}\nsection A-A' from 0 via 1 to 2, depth 100 m\n"
    )
    axial = compile_text(text).geology.sections[0].construction.axial
    assert axial
    tangents = [math.tan(math.radians(40.0)), -math.tan(math.radians(20.0))]
    turn = 1.0 if at > 75 else math.cos(math.radians(30.0))
    dips = [math.degrees(math.atan(one * turn)) for one in tangents]
    for one in axial:
        assert min(abs(distance - 75.0) for distance, up in one.points) < 1e-6
        assert (one.left_dip_deg, one.right_dip_deg) == (pytest.approx(dips[0]), pytest.approx(dips[1]))
        assert all((distance < at) == (at > 75) or abs(distance - at) < 1e-6 for distance, _ in one.points)
