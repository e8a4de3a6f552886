"""Traces between the arms on the map: from edge to edge of the band, in the line of the contacts that they tie."""

import math
from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely import LineString

from tests import once
from tests.sheet.pages import paths, words
from traverse.command.files import LogFiles, read_source
from traverse.compile import blank_ground, compile_log, map_ground
from traverse.length import METRES
from traverse.sheet.compose.compose import compose
from traverse.sheet.handout.handout import compose_blank
from traverse.sheet.map.contours import draw_ground
from traverse.sheet.map.joined import draw_joins
from traverse.sheet.map.on_page import band_on_page
from traverse.sheet.paper.page import Box
from traverse.sheet.paper.style import PENS
from traverse.sheet.paper.window import Window
from traverse.sheet.template.reading import read_template
from traverse.source import Source

TRACES = {PENS["computed trace"], PENS["computed fault trace"]}
SAMPLE = Path(__file__).parents[3] / "samples" / "oskerra-valley" / "oskerra-valley.trav"
WINDOW = Window(
    box=Box(x=14.0, y=89.0, width=192.0, height=107.0),
    scale=2500,
    east_m=412430.0,
    north_m=5168760.0,
    convergence_deg=-0.8,
)


@pytest.fixture(scope="module")
def valley():
    source, _ = read_source(str(SAMPLE))
    return compile_log(source, load=LogFiles(str(SAMPLE)).load)


def sheet(found, composer=compose):
    return composer(map_ground(found.trav), (), template=read_template("field").value, mark="a").value


def drawn(document):
    return [one for page in document.pages for one in paths(page.items) if one.pen in TRACES]


def band_of(found, window):
    return band_on_page(map_ground(found.trav).ground.map.band, window)


def ends(path):
    return path.commands[0][1:], path.commands[-1][1:]


def test_the_valley_has_a_trace_for_each_contact_met_on_both_arms_of_a_limb(valley):
    """By eye on the map: four contacts and the fault cross the loop, and one contact its eastern end."""
    lines = valley.sources[next(iter(valley.sources))].text.splitlines()
    tied = [
        " / ".join(lines[end.line - 1].split("±")[0].strip() for end in one.ends)
        for one in valley.trav.ground.joins
    ]
    assert sorted(tied) == [
        "contact Jl/Js certain / contact Jl/Js certain",
        "contact Jl/Js inferred / contact Jl/Js approximate",
        "contact Js/Ts certain / contact Js/Ts certain",
        "contact Js/Ts certain 260/36 / contact Js/Ts certain",
        "contact Km/Jl certain / contact Km/Jl certain",
        "fault Js/Ts approximate / fault Jl/Js certain 098/68 normal down E",
    ]
    assert all(one.over_heights and one.off_deg < 8.0 for one in valley.trav.ground.joins)


def test_it_runs_from_edge_to_edge_and_meets_the_contacts_there(valley):
    band = band_of(valley, WINDOW)
    drawing = draw_joins(valley.trav.ground.joins, WINDOW, band.edge)
    contacts = [LineString(one.line.coords) for one in band.contacts]
    assert len(drawing.items) >= 5
    for item in drawing.items:
        for end in ends(item):
            here = shapely.Point(end)
            assert here.distance(band.edge.boundary) < 1e-6
            touching = [
                one for one in contacts if min(here.distance(shapely.Point(p)) for p in one.coords) < 0.02
            ]
            assert touching, end
        points = np.array([command[1:] for command in item.commands])
        assert not band.edge.buffer(-0.01).intersects(LineString(points))


def test_contacts_bend_by_no_more_than_the_planes_may_differ(valley):
    band = band_of(valley, WINDOW)
    for one in band.contacts:
        steps = np.diff(np.array(one.line.coords), axis=0)
        turns = np.degrees(np.unwrap(np.arctan2(steps[:, 1], steps[:, 0])))
        assert np.abs(np.diff(turns)).max(initial=0.0) < 15.0
        assert one.line.distance(shapely.Point(one.at)) < 1e-6


@pytest.mark.thorough
def test_the_key_and_the_grey_key_have_them_with_their_signs_and_the_blank_has_none(valley):
    key = once.drawn(SAMPLE)
    assert len(drawn(key)) >= 5
    first = words(key.pages[0].items)
    assert "computed, not walked" in first
    said = " ".join(words(page.items) for page in key.pages)
    assert "within 10° of each attitude, where it comes out on the heights; nobody walked there" in said
    # In grey they are darker, so that a copy keeps them.
    dashed = {(one.width_mm, one.dash_mm) for one in TRACES}
    grey = [one.pen for page in once.drawn(SAMPLE, "grey").pages for one in paths(page.items) if one.pen]
    assert dashed <= {(one.width_mm, one.dash_mm) for one in grey}
    for give in ((), ("contacts", "attitudes", "units", "profile")):
        blank = compose_blank(
            valley.trav,
            lay=blank_ground,
            template=read_template("field").value,
            mark="a",
            give=give,
        ).value
        assert not drawn(blank)
        assert "computed, not walked" not in " ".join(words(page.items) for page in blank.pages)


OPEN = """notation 1
traverse One arm
bearings true
attitudes dip-direction
pace MO double 100 m in 65, 66, 66
unit Sh Shale ; Jurassic
unit Ss Sandstone ; Triassic
at 1
  unit Ss
  bed 090/40
to 2 090 200m level
along 100m
  contact Sh/Ss certain
at 2
  unit Sh
"""


def test_without_a_second_arm_nothing_is_said_of_traces():
    found = compile_log(Source(name="d.trav", text=OPEN), load=lambda name: b"")
    document = sheet(found)
    assert not drawn(document)
    said = " ".join(words(page.items) for page in document.pages)
    assert "computed" not in said
    assert "were computed" not in said


def test_a_fault_without_a_plane_takes_its_course_from_what_it_is_joined_to():
    text = (
        OPEN
        + """to 3 180 160m level
along 60m
  fault Sh/Ss certain
at 3
  unit Sh
to 4 270 200m level
to 5 000 160m level
along 100m
  fault Sh/Ss certain 180/80
"""
    )
    found = compile_log(Source(name="d.trav", text=text), load=lambda name: b"")
    assert not found.failed, [one.message for one in found.diagnostics]
    assert [one.fault for one in found.trav.ground.joins] == [True]
    window = Window(
        box=Box(x=14.0, y=89.0, width=192.0, height=107.0),
        scale=2500,
        east_m=-50.0,
        north_m=-200.0,
        convergence_deg=0.0,
    )
    band = band_of(found, window)
    (first, _) = [one for one in band.contacts if one.contact.kind.value == "fault"]
    (x0, y0), (x1, y1) = first.line.coords[0], first.line.coords[-1]
    # Both lie 60 m down from the north end of their legs: straight across the loop, and on beyond.
    assert math.degrees(math.atan2(y1 - y0, x1 - x0)) % 180.0 == pytest.approx(0.0, abs=0.5)
    assert first.course_known


TRACED = SAMPLE.read_text(encoding="utf-8").replace("\nat 1\n", "\ntrace Js/Ts\ntrace Jl/Js\n\nat 1\n", 1)


@pytest.fixture(scope="module")
def traced():
    found = compile_log(Source(name=str(SAMPLE), text=TRACED), load=LogFiles(str(SAMPLE)).load)
    assert not found.failed
    return found


def test_what_is_projected_begins_at_the_edge_where_the_contact_ends(traced):
    band = band_of(traced, WINDOW)
    drawing = draw_ground(
        traced.trav.ground.terrain, traced.trav.ground.outcrops, WINDOW, band.edge, lengths=METRES
    )
    contacts = [
        shapely.Point(end) for one in band.contacts for end in (one.line.coords[0], one.line.coords[-1])
    ]
    assert len(drawing.traces) >= 6
    for item in drawing.traces:
        assert any(shapely.Point(end).distance(one) < 0.02 for end in ends(item) for one in contacts)


def test_what_is_projected_gives_way_to_what_is_joined_and_leaves_the_walk_clear(traced):
    band = band_of(traced, WINDOW)
    drawing = draw_ground(
        traced.trav.ground.terrain, traced.trav.ground.outcrops, WINDOW, band.edge, lengths=METRES
    )
    joins = [one for one in traced.trav.ground.joins if not one.fault]
    between = [LineString([WINDOW.at(*p) for p in line]) for one in joins for line in one.lines]
    for item in drawing.traces:
        line = LineString([command[1:] for command in item.commands])
        for other in between:
            assert line.intersection(other.buffer(1.0)).length < 1.5
    for item in drawing.bands:
        shown = shapely.MultiPoint([command[1:] for command in item.commands if len(command) == 3])
        assert not band.edge.buffer(-0.05).intersects(shown)


def test_a_trace_of_two_units_is_not_that_of_a_fault_between_them(traced):
    faults = {one.booked.span for one in traced.geology.contacts if one.kind.value == "fault"}
    assert faults
    assert not faults & {one.contact for one in traced.trav.ground.outcrops}


def test_a_projected_trace_stops_at_a_fault_as_that_was_joined(traced):
    (fault,) = [
        LineString([point for line in one.lines for point in line])
        for one in traced.trav.ground.joins
        if one.fault
    ]
    stopped = [
        line
        for one in traced.trav.ground.outcrops
        for line in one.lines
        if fault.distance(LineString(line)) < 0.1
    ]
    assert stopped
    for line in stopped:
        assert min(shapely.Point(end).distance(fault) for end in (line[0], line[-1])) < 0.1
        assert not LineString(line).crosses(fault)
