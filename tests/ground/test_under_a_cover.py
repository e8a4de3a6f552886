"""What lies under an unconformity on a section: loose ground on it, and folded beds farther on below it."""

from pathlib import Path

import pytest
from shapely import LineString, Point

from tests.invented.judge import compiled_walk
from tests.invented.models import make
from tests.invented.walker import walked
from traverse.compile import compile_log, map_ground, section_ground
from traverse.ground.section_fills import Parting
from traverse.ground.section_runs import UnitRun
from traverse.source import Source
from traverse.structure.section.records import PointKind

GAP = """notation 1
bearings true
attitudes dip-direction
unit Gv Terrace gravel ; Holocene
unit Rc Red Conglomerate ; Devonian
unit Fl Upper Flags ; Silurian
unit Gw Greywacke ; Silurian
unit Bk Black Shale ; Ordovician
at 1
  unit Gv
to 2 090 60m +2
along 35m
  {kind} Gv/Bk certain
at 2
  unit Bk
  bed 090/45
to 3 090 80m +3
along 30m
  contact Gw/Bk certain
at 3
  bed 092/42
to 4 088 90m +4
along 25m
  contact Fl/Gw certain
at 4
  bed 270/44
to 5 090 80m +6
along 30m
  contact Fl/Gw certain
at 5
  bed 271/43
to 6 090 100m +15
along 40m
  unconformity Rc/Gw certain
along 70m
  bed flat
"""


def cut_of(compile_text, kind):
    (cut,) = section_ground(compile_text(GAP.format(kind=kind)).trav).ground.cuts
    return cut


def depth_of(cut, unit):
    return max(fill.area.bounds[3] - fill.area.bounds[1] for fill in cut.fills if fill.unit == unit)


def test_loose_ground_is_a_lens_on_whatever_it_lies(compile_text):
    """A terrace of a few metres is no body of 20 m under the shale beside it."""
    by_contact, by_unconformity = (cut_of(compile_text, kind) for kind in ("contact", "unconformity"))
    assert depth_of(by_unconformity, "Gv") == pytest.approx(depth_of(by_contact, "Gv"), abs=0.01)
    assert depth_of(by_unconformity, "Gv") < 8.0


def test_beds_go_on_below_what_cuts_them(compile_text):
    """The Gw/Bk limb comes up to the conglomerate at about 375 m; beyond it there is shale, by the fold; how far nobody saw."""
    cut = cut_of(compile_text, "unconformity")
    for at, units in ((385.0, ["Bk"]), (cut.section.length_m - 5.0, [])):
        below = Point(at, cut.section.ground_at(at) - 17.0)
        assert [fill.unit for fill in cut.fills if fill.area.contains(below)] == units


def test_an_unconformity_runs_as_the_beds_on_it(compile_text):
    """Cover that dips 10° to the south strikes east; the steep beds below it, which are nearer, strike north."""
    text = (
        "notation 1\nbearings true\nattitudes dip-direction\nunit Cg Cover ; Permian\nunit Vt Tuff ; Silurian\n"
        "at 1\nunit Vt\nbed 090/60\nto 2 180 60m level\nalong 10m\n{}at 2\nunit Cg\nbed 180/10\n"
    )
    for words, course in (("unconformity Cg/Vt certain\n", 90.0), ("contact Cg/Vt certain\n", 0.0)):
        (contact,) = compile_text(text.format(words)).geology.contacts
        assert contact.course_deg == course


def test_colour_ends_at_a_contact_that_is_placed_within_its_error(compile_text):
    """A concealed contact anywhere on 360 m of a leg: map and section draw it 40 m apart, and neither is wrong."""
    text = (Path(__file__).parents[1] / "reference" / "logs" / "long-ridge.trav").read_text(encoding="utf-8")
    (cut,) = section_ground(compile_text(text).trav).ground.cuts
    line = next(one.of for one in cut.lines if (one.of.younger, one.of.older) == ("Tb", "Ms"))
    (out,) = line.outcrops
    begins = min(fill.start_m for fill in cut.fills if fill.unit == "Tb")
    assert begins == pytest.approx(out[0], abs=1.0)


HIDDEN = """notation 1
bearings true
attitudes dip-direction
unit Cg Cover ; Permian
unit Sl Slate ; Silurian
unit Gw Greywacke ; Silurian
at 1
unit Gw
bed 270/50
to 2 090 200m level
along 100m
contact Sl/Gw certain
at 2
unit Sl
bed 270/50
to 3 090 400m +1
along 20m
unconformity Cg/Sl certain
unit Cg
bed flat
at 3
{beyond}
section A-A' from 1 to 3
"""


def test_colour_under_a_cover_ends_along_the_last_bed_seen(compile_text):
    """Slate that dips 50° to the west may give way to anything farther east, where the cover hides it."""
    (cut,) = section_ground(compile_text(HIDDEN.format(beyond="unit Cg")).trav).ground.cuts
    slate = [fill.area for fill in cut.fills if fill.unit == "Sl"]
    assert max(area.bounds[2] for area in slate) < 225.0
    assert any(one.code == "section-under-cover" for one in cut.section.limits)


def test_a_unit_seen_again_beyond_a_cover_goes_on_under_it(compile_text):
    beyond = "unit Cg\nto 4 090 100m -1\nalong 50m\nunconformity Cg/Sl certain\nunit Sl\nat 4\nunit Sl"
    text = HIDDEN.format(beyond=beyond).replace("from 1 to 3", "from 1 to 4")
    (cut,) = section_ground(compile_text(text).trav).ground.cuts
    under = Point(400.0, cut.section.ground_at(400.0) - 15.0)
    assert [fill.unit for fill in cut.fills if fill.area.contains(under)] == ["Sl"]
    assert not any(one.code == "section-under-cover" for one in cut.section.limits)


def _unconformity():
    path = Path(__file__).parents[1] / "reference/logs/unconformity.trav"
    found = compile_log(Source(name="unconformity.trav", text=path.read_text()), load=lambda name: b"")
    assert found.trav is not None
    return map_ground(found.trav)


def test_what_lies_under_the_colour_is_named_where_lines_tell_it():
    """The syncline under the cover: tuff, greywacke, slate, greywacke, tuff, none of it coloured there."""
    cuts = {cut.section.name: cut for cut in _unconformity().ground.cuts}
    named = sorted(cuts["A-A'"].named, key=lambda one: one.area.centroid.x)
    assert [one.unit for one in named] == ["Vt", "Gw", "Sl", "Gw", "Vt"]
    for one in named:
        assert all(one.area.intersection(fill.area).area < 1.0 for fill in cuts["A-A'"].fills)
    # In the other section each unit goes on down from its colour.
    assert cuts["B-B'"].named == ()


def test_the_trace_of_a_fold_ends_before_the_cover():
    """The fold is older: the trace runs from the arm over the slate toward the one over the basalt, and not up to it."""
    trav = _unconformity()
    (trace,) = trav.ground.map.folds
    cover = [LineString([one.start, one.end]) for one in trav.geology.band if one.unit in {"Bs", "Cg"}]
    slate = [LineString([one.start, one.end]) for one in trav.geology.band if one.unit == "Sl"]
    for line in trace.lines:
        for end in line:
            off = [min(Point(end).distance(leg) for leg in legs) for legs in (cover, slate)]
            assert off[1] < off[0] + 2.0


def test_colour_ends_where_the_cover_was_met_though_its_base_comes_out_farther_on():
    """The base of a gentle cover, off by little, comes out 170 m beyond its last place: what lies under it is unknown there."""
    (cut,) = map_ground(compiled_walk(walked(make("cover", 13))).trav).ground.cuts
    met = [point.distance_m for point in cut.section.points if point.kind is PointKind.UNCONFORMITY]
    under = [fill.area.bounds[2] for fill in cut.fills if fill.unit == "Ee"]
    assert max(under) < max(met) + 5.0
    # Wherever the base comes out.
    to_m = max(met) + 170.0
    parting = Parting(cut.section, cut.looked_at, 20.0)
    border_m = parting._border_met(UnitRun(unit="Ee", start_m=0.0, end_m=to_m), 1.0)
    assert border_m == pytest.approx(max(met))
    assert parting._border_met(UnitRun(unit="Uz", start_m=0.0, end_m=to_m), 1.0) == to_m
