"""A line that joins several sightings is known in a section, from place to place, as the nearest of them is."""

import math

import pytest

from traverse.ground.section_lines import certainty_along
from traverse.log.items import Certainty

SYNCLINE = (
    "notation 1\nbearings true\nattitudes dip-right\nunit Aa Upper ; Jurassic\nunit Bb Lower ; Triassic\n"
    "at 1\n  elevation 100 m altimeter\n  unit Bb\n  bed 000/20\nto 2 090 100m level\nalong 40m\n  contact Aa/Bb {}\n"
    "at 2\n  unit Aa\n  bed 000/20\nto 3 090 60m level\nat 3\n  unit Aa\n  bed 180/20\nto 4 090 100m level\nalong 60m\n"
    "  contact Aa/Bb {}\nat 4\n  unit Bb\n  bed 180/20\nsection A-A' from 1 to 4\n"
)


@pytest.mark.parametrize(
    ("west", "east"), [("certain", "inferred"), ("concealed", "certain"), ("approximate", "approximate")]
)
def test_each_limb_of_a_syncline_is_known_as_its_contact_was(compile_text, west, east):
    """Met at 40 m and at 220 m: the middle between them parts what rests on the one from what rests on the other."""
    (section,) = compile_text(SYNCLINE.format(west, east)).geology.sections
    (line,) = section.construction.lines
    assert len(line.contacts) == 2
    found = certainty_along(line, section.points)
    if west == east:
        assert [one.certainty.value for one in found] == [west]
        return
    assert [one.certainty.value for one in found] == [west, east]
    assert (found[0].start_m, found[-1].end_m) == (-math.inf, math.inf)
    assert found[0].end_m == found[1].start_m == pytest.approx(130.0, abs=0.1)


def test_a_sighting_far_aside_lends_a_line_nothing_where_another_lies_nearer(compile_text):
    """One contact along 000, met inferred on the section and certain 300 m north of it, where it comes to the same place."""
    (section,) = compile_text(
        "notation 1\nbearings true\nattitudes dip-right\nunit Aa Upper ; Jurassic\nunit Bb Lower ; Triassic\n"
        "at 1\n  elevation 100 m altimeter\n  unit Bb\n  bed 000/40\nto 2 090 100m level\nalong 50m\n  contact Aa/Bb inferred\n"
        "at 2\n  unit Aa\n  bed 000/40\nto 3 000 300m level\nat 3\n  unit Aa\n  bed 000/40\nto 4 270 100m level\nalong 48m\n"
        "  contact Aa/Bb certain\nat 4\n  unit Bb\nsection A-A' from 1 to 2\n"
    ).geology.sections
    lines = section.construction.lines
    assert [len(one.contacts) for one in lines] == [2]
    assert [one.certainty for one in certainty_along(lines[0], section.points)] == [Certainty.INFERRED]
