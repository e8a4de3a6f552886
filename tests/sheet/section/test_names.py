"""Stations named over the section: how far each was carried, and from which side."""

import re
from pathlib import Path as File

import pytest
import shapely

from tests import once
from tests.reference.drawn import logs
from tests.sheet.pages import box, flat, words
from tests.thorough import some
from traverse.sheet.paper.layers import Layer
from traverse.sheet.paper.page import Face, Group, Path, Text
from traverse.sheet.paper.style import PENS
from traverse.sheet.section.point_names import named_points, side_of

ROOT = File(__file__).parents[3]
LOG = """notation 1
bearings true
attitudes dip-direction
control 0 1000 E 1000 N 0 m
at 0
to 1 000 300m level
to 2 090 300m level
section A-A' from 0 via 1 to 2, project square
at 0
to 3 000 100m level
to 4 270 {first}m level
at 1
to 5 090 200m level
to 6 180 {second}m level
"""


@pytest.mark.parametrize(("first", "second"), [(40, 50), (20, 80)])
def test_the_side_is_told_by_the_stretch_that_a_station_was_carried_to(compile_text, first, second):
    """North, then east: west of the first stretch lies west, right of the second south."""
    found = compile_text(LOG.format(first=first, second=second))
    (section,) = found.geology.sections
    told = {one.label: side_of(section, one, found.log.lengths) for one in named_points(section)}
    assert told["4"] == f"{first}\N{NO-BREAK SPACE}m\N{NO-BREAK SPACE}W"
    assert told["6"] == f"{second}\N{NO-BREAK SPACE}m\N{NO-BREAK SPACE}S"
    assert told["3"] == told["5"] == "0"


@pytest.mark.every(2)
@pytest.mark.parametrize("path", some(logs(["samples", "logs"]), 4), ids=lambda path: path.stem)
def test_a_section_tells_how_many_stations_it_does_not_name(path):
    """On sheet 1 and on the pages after it: a student who looks for station 4 is told that it is not there."""
    found, document = once.compiled(path), once.drawn(path)
    strips = [panel for page in document.pages for panel in strips_of(page.items)]
    assert len(strips) == len(found.trav.geology.sections)
    for strip, section in zip(strips, found.trav.geology.sections, strict=True):
        bold = {one.text for one in flat(strip) if isinstance(one, Text) and one.face is Face.BOLD}
        missing = {one.label for one in named_points(section) if on_station(one)} - bold
        assert not missing or "eft off" in words(strip), (section.name, missing)


@pytest.mark.thorough
@pytest.mark.parametrize("sample", some(["oskerra-valley", "copperjar-wash"], ["copperjar-wash"]))
def test_no_leader_runs_through_how_far_a_station_was_carried(sample):
    """On A5 the leader of 9 crossed out the metres under 12."""
    path = ROOT / "samples" / sample / f"{sample}.trav"
    kept = [one for one in path.read_text("utf-8").splitlines() if not one.startswith("sheet ")]
    document = once.drawn(path, text="\n".join([*kept, "sheet paper A5", ""]))
    leaders, carried = [], []
    for page in document.pages:
        for strip in strips_of(page.items):
            for one in flat(strip):
                if isinstance(one, Text) and re.fullmatch(
                    r"0|\d+\N{NO-BREAK SPACE}(m|ft)\N{NO-BREAK SPACE}[NESW]+", one.text
                ):
                    carried.append((one.text, shapely.box(*box(one))))
                elif isinstance(one, Path) and one.pen == PENS["name leader"]:
                    leaders.append(shapely.LineString([command[1:] for command in one.commands]))
    assert len(leaders) >= 5
    assert len(carried) >= 2
    assert [said for said, place in carried if any(place.intersects(one) for one in leaders)] == []


def strips_of(items):
    return [one.items for one in items if isinstance(one, Group) and one.layer is Layer.SECTION]


def on_station(point):
    return point.attitude is None or point.attitude.booked.address.station is not None
