"""A sill whose walls nobody read lies along the beds beside it; of any other body nothing tells how it goes down."""

from dataclasses import replace

import pytest

from tests.invented.cut_true import cut_shares
from tests.invented.judge import compiled_walk
from tests.invented.models import make
from tests.invented.walker import walked
from traverse.compile import map_ground


def compiled(seed, name):
    """Invented ground with a sill, under a name of its own, and the share of the section's colour that is wrong."""
    walk = walked(make("sill", seed))
    walk = replace(walk, text=walk.text.replace("unit Sl Unit Sl", f"unit Sl {name}"))
    found = compiled_walk(walk)
    (section,) = found.geology.sections
    return section, cut_shares(walk, map_ground(found.trav)).wrong


@pytest.mark.every(3)
@pytest.mark.parametrize("seed", [3, 9, 10])
def test_a_sill_is_drawn_along_the_bed_beside(seed):
    section, wrong = compiled(seed, "Dolerite sill")
    upright, wrong_upright = compiled(seed, "Dolerite")
    assert all(body.along_beds and body.course_known for body in section.bodies)
    assert not any(body.along_beds or body.course_known for body in upright.bodies)
    assert wrong < 0.7 * wrong_upright
    said = " ".join(section.construction.sentences)
    assert "were not measured: drawn along the bed beside, as a sill lies." in said
    assert "upright" not in said


def test_a_sill_whose_wall_was_read_lies_as_that_was():
    section, _ = compiled(0, "Dolerite sill")
    assert section.bodies
    assert not any(body.along_beds for body in section.bodies)


LEVEL_SILL = """notation 1
bearings true
attitudes dip-right
unit Fc Shale ; Jurassic
unit Do Dolerite sill ; intrusive
unit Fb Sandstone ; Triassic
section A-A' {line}
at 1
unit Fb
bed flat
to 2 090 120m +20
along 30m
contact Do/Fb certain flat
along 60m
contact Fc/Do certain flat
at 2
unit Fc
bed flat
to 3 000 150m level
at 3
unit Fc
bed flat
"""


@pytest.mark.parametrize(("line", "drawn"), [("from 2 to 3", False), ("from 1 to 2", True)])
def test_a_level_sill_is_drawn_where_its_walls_come_out_and_not_pulled_up_to_other_ground(
    compile_text, line, drawn
):
    """From 2 to 3 it lies 20 m under the line, between heights of 10 and 21 m."""
    (cut,) = map_ground(compile_text(LEVEL_SILL.format(line=line)).trav).ground.cuts
    said = [one.fact for one in cut.section.limits if one.code == "section-body-elsewhere"]
    heights = [fill.area.bounds for fill in cut.fills if fill.unit == "Do"]
    if drawn:
        assert said == []
        ((_, low_m, _, high_m),) = heights
        assert (low_m, high_m) == pytest.approx((10.3, 20.5), abs=0.5)
    else:
        assert heights == []
        (words,) = said
        assert words.startswith(
            "Do, by its walls as read or taken along the beds, cannot be placed on section A–A′, and is left off"
        )


BEFORE_THE_LINE = """notation 1
bearings true
attitudes dip-right
unit Fc Shale ; Jurassic
unit Di Dolerite ; intrusive
section A-A' from 2 to 3
at 1
unit Fc
bed 000/30
to 2 090 {long_m}m +2
along 30m
contact Di/Fc certain{read}
along 36m
contact Di/Fc certain{read}
at 2
unit Fc
bed 000/30
to 3 090 150m +2
at 3
unit Fc
bed 000/30
"""


@pytest.mark.parametrize(
    ("long_m", "read", "told"), [(60, "", True), (90, "", False), (60, " 000/90", False)]
)
def test_a_body_met_just_past_an_end_is_said_to_be_left_off_where_nothing_tells_how_it_runs(
    compile_text, long_m, read, told
):
    (section,) = compile_text(BEFORE_THE_LINE.format(long_m=long_m, read=read)).geology.sections
    assert section.bodies == ()
    words = "Di was met past an end of the line, and nothing tells how it runs: not drawn."
    assert (words in section.construction.sentences) is told
