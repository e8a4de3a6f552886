"""A contact met at several places and measured at none: its plane is traced over heights, and carried down on a section."""

import math

import numpy as np
import pytest

from tests.ground.test_outcrop import EAST, NORTH, text_of, valley
from traverse.compile import compile_log
from traverse.source import Source

HEAD = """notation 1
grid EPSG:32616
bearings grid
attitudes dip-direction
pace double 1.5 m
terrain heights.xyz
unit Kb Shale ; Jurassic
unit Ja Sandstone ; Triassic
"""


def compiled(places, heights, *, extra="", certainty=None, sd=2.0):
    """Contacts at (east, north, up) from the middle of the valley, each a known point."""
    lines = [HEAD]
    lines += [
        f"control {at} {EAST + x:.2f} E {NORTH + y:.2f} N {z:.2f} m ±{sd:g}"
        for at, (x, y, z) in enumerate(places, start=1)
    ]
    for at in range(1, len(places) + 1):
        lines += [f"at {at}", f"contact Kb/Ja {(certainty or {}).get(at, 'certain')}"]
    found = compile_log(
        Source(name="day.trav", text="\n".join([*lines, extra, ""])), load=lambda name: text_of(*heights)
    )
    assert not found.failed, [one.message for one in found.diagnostics]
    return found


def on_ground(dip, way, count):
    """Places where a plane through the stream comes out in the valley, on both sides."""
    direction = math.radians(way)
    found = []
    for x in np.linspace(-220.0, 180.0, count):
        # 0.4 |x| + 0.1 y = -tan(dip) (x sin + y cos)
        fall = math.tan(math.radians(dip))
        y = -(0.4 * abs(x) + fall * x * math.sin(direction)) / (0.1 + fall * math.cos(direction))
        found.append((x, y, 500.0 + 0.4 * abs(x) + 0.1 * y))
    return found


def test_three_outcrops_trace_their_contact():
    """The classroom exercise: three places, their plane, and where it comes out between them and beyond."""
    result = compiled(on_ground(30.0, 340.0, 3), valley(0.1), extra="trace Kb/Ja", sd=0.5)
    (plane,) = result.geology.planes
    assert plane.dip_deg == pytest.approx(30.0, abs=0.1)
    outcrops = result.trav.ground.outcrops
    assert outcrops
    for one in outcrops:
        assert (one.strike_deg + 90.0) % 360.0 == pytest.approx(
            340.0 + result.survey.frame.to_true_deg, abs=0.3
        )
        for line in one.lines:
            points = np.array(line) - (EAST, NORTH)
            ground = 500.0 + 0.4 * np.abs(points[:, 0]) + 0.1 * points[:, 1]
            way = math.radians(340.0)
            down = points[:, 0] * math.sin(way) + points[:, 1] * math.cos(way)
            assert np.abs(ground - (500.0 - math.tan(math.radians(30.0)) * down)).max() < 3.0
    assert not any(one.code == "trace-not-drawn" for one in result.diagnostics)


def test_a_section_carries_a_contact_down_by_the_plane_of_its_places():
    """They stood upright, with the advice to measure one."""
    result = compiled(
        on_ground(30.0, 340.0, 3), valley(0.1), extra="section A-A' 340 through 2, depth 60 m", sd=0.5
    )
    (section,) = result.geology.sections
    assert section.construction.lines
    assert all(line.course_known for line in section.construction.lines)
    for point in section.points:
        if point.contact is not None:
            assert point.apparent_dip_deg == pytest.approx(30.0, abs=0.3)


def test_a_place_off_the_plane_of_the_others_is_named_and_left_out():
    places = on_ground(30.0, 340.0, 6)
    x, y, z = places[2]
    result = compiled([*places[:2], (x, y, z + 15.0), *places[3:]], valley(0.1), extra="trace Kb/Ja")
    (said,) = [one for one in result.diagnostics if one.code == "off-its-plane"]
    line = result.sources["day.trav"].text.splitlines()
    assert line[said.span.line - 2] == "at 3"
    (plane,) = result.geology.planes
    assert len(plane.lines) == 5
    assert plane.dip_deg == pytest.approx(30.0, abs=0.2)


def test_a_contact_under_cover_counts_for_less():
    """One place 10 m too high: seen it tilts the plane, said to be good to 20 m it hardly does."""
    places = on_ground(30.0, 340.0, 4)
    x, y, z = places[1]
    moved = [places[0], (x, y, z + 10.0), *places[2:]]
    off = {
        said: abs(compiled(moved, valley(0.1), certainty={2: said}).geology.planes[0].dip_deg - 30.0)
        for said in ("certain", "approximate ±40 m")
    }
    assert off["approximate ±40 m"] < off["certain"] / 3.0


def test_places_on_two_limbs_make_no_plane_that_is_carried():
    """Beside them the beds dip both ways: three places of a fold hold a plane that means nothing."""
    text = (
        "notation 1\nbearings true\nattitudes dip-direction\nunit Kb Shale ;\nunit Ja Sandstone ;\n"
        "control 1 0 E 0 N 100 m\nat 1\ncontact Kb/Ja certain\nbed 090/40\n"
        "to 2 090 200m level\ncontact Kb/Ja certain\nbed 270/40\nto 3 000 80m +5\ncontact Kb/Ja certain\nbed 270/38\n"
        "section A-A' from 1 to 2\n"
    )
    found = compile_log(Source(name="fold.trav", text=text), load=lambda name: b"")
    (plane,) = found.geology.planes
    assert plane.dip_deg is not None
    assert not plane.carried
    assert all(one.surface is None for one in found.geology.contacts)


def test_a_fault_parts_the_places_of_a_contact():
    """Two on each side of a fault that was walked are no three places of one plane."""
    text = (
        "notation 1\nbearings true\nattitudes dip-direction\nunit Kb Shale ;\nunit Ja Sandstone ;\n"
        "control 1 0 E 0 N 100 m\nat 1\ncontact Kb/Ja certain\nto 2 000 80m +5\ncontact Kb/Ja certain\n"
        "to 3 090 60m level\nfault Kb/Ja certain\nto 4 090 60m level\ncontact Kb/Ja certain\n"
        "to 5 000 80m +9\ncontact Kb/Ja certain\n"
    )
    assert compile_log(Source(name="fault.trav", text=text), load=lambda name: b"").geology.planes == ()


@pytest.mark.parametrize(("azimuth", "along"), [("340", False), ("070", True)])
def test_one_plane_through_three_outcrops_is_one_line_on_a_section(azimuth, along):
    """Each place carried square to the line would draw it again at another height; along the strike the section says so."""
    result = compiled(
        on_ground(30.0, 340.0, 3), valley(0.1), extra=f"section A-A' {azimuth} through 2", sd=0.5
    )
    (section,) = result.geology.sections
    assert len(section.construction.lines) <= 1
    assert len([point for point in section.points if point.contact is not None]) <= 1
    told = [one.code for one in result.diagnostics]
    assert ("strike-along-section" in told) == along
