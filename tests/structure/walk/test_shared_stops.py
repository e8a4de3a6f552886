"""A known point at which several parties of a camp stood: each walk goes on from what its own party booked there."""

import pytest

from traverse.compile import compile_log
from traverse.source import Source

HEAD = """notation 1
traverse Hallin Beck
bearings true
attitudes dip-right
distances metres

unit Ml Mell Marl ; Triassic
unit Ls Larder Limestone ; Permian
unit Sh Reed Shale ; Carboniferous

control Ford 1000 E 1000 N
"""
A = f"{HEAD}\nat Ford\n  unit Ml\nto 2 000 80\nalong 2\n  contact Ml/Ls certain\nat 2\n  unit Ls\n"
"""Stands on the marl, two metres from its contact, and goes north."""
B = f"""{HEAD}
at Ford
  unit Ls
  bed 090/20
to 2 020 90
along 50
  contact Ls/Sh certain
at 2
  unit Sh
to 3 090 60
at 3
  unit Sh
close Ford 215 120
along 60
  contact Ls/Sh certain
"""
"""Stands on the limestone just past that contact, and comes back to it."""


def camp(*letters):
    files = {"a.trav": A, "b.trav": B}
    rows = [f"log {one.lower()}.trav as {one}\n" for one in letters]
    text = "notation 1\ntraverse Hallin Beck\n" + "".join(rows)
    found = compile_log(Source(name="camp.trav", text=text), load=lambda path: files[path].encode())
    assert not found.failed, found.diagnostics
    return found


@pytest.mark.parametrize("letters", ["AB", "BA"])
def test_no_contact_is_asked_about_by_what_another_party_booked_at_a_shared_stop(letters):
    found = camp(*letters)
    of_walk = {"contact-missing", "contact-of-others", "contact-leads-back"}
    assert not [one for one in found.diagnostics if one.code in of_walk]
    (bed,) = found.geology.attitudes
    assert bed.unit == "Ls"
    ahead = {one.unit for one in found.geology.band if found.log.legs[one.leg].span.file == "b.trav"}
    assert ahead == {"Ls", "Sh"}
    begins = next(one for one in found.geology.band if found.log.legs[one.leg].span.file == "a.trav")
    assert (begins.unit, begins.start_share) == ("Ml", 0.0)
