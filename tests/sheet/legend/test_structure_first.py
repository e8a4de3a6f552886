"""What stands first in the few words on structure for which sheet 1 has room."""

from tests.sheet.pages import words
from traverse.sheet.legend.blocks import structure_block

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
