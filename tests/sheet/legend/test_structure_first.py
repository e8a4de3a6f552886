"""What stands first in the few words on structure for which sheet 1 has room."""

from dataclasses import replace

from tests.sheet.pages import words
from traverse.sheet.legend.blocks import structure_block, structure_lines
from traverse.structure.form.records import AllRound, BedsDip, EvenDip, Level, OneFault, Told

LOG = """notation 1
bearings true
attitudes dip-right
unit Pb Pan Breccia ; Permian
unit Cs Coal Shale ; Carboniferous
at 1
unit Cs
bed 340/40
to 2 070 100m
unit Cs
bed 341/42
to 3 070 100m
along 50m
unconformity Pb/Cs certain
at 3
unit Pb
bed flat
to 4 070 100m
unit Pb
bed flat
"""


def test_an_unconformity_is_named_where_one_sentence_has_room(compile_text):
    text = words(structure_block(compile_text(LOG).geology, width=90.0, keep=1, reported=True).items)
    assert "an unconformity" in text


def test_a_fault_stands_before_an_even_dip_and_what_was_read_alone(compile_text):
    """Of few words the first are kept."""
    told = (
        Told(finding=BedsDip(toward_deg=90.0), words="Beds dip."),
        Told(finding=EvenDip(way_up=False, level=Level.FOLLOWS), words="One panel."),
        Told(finding=AllRound(level=Level.FOLLOWS), words="A dome."),
        Told(finding=OneFault(read=(), level=Level.FOLLOWS), words="One fault."),
    )
    geology = replace(compile_text(LOG).geology, findings=told)
    assert structure_lines(geology) == ("One fault.", "A dome.", "One panel.", "Beds dip.")
