"""Pages with something to ask, as booked and turned by an odd angle into a grid of another north: the same is said of both.

What takes east for north, an angle from one side for the same from the other, or forgets the convergence, asks about something
else there, or nothing; most pages were written for walks due east and north, where that does not show.
"""

import json
import re
from functools import cache
from pathlib import Path

import pytest

from tests.oracle.test_same_ground import TOLD, TURN_DEG, otherwise_told, turned
from tests.oracle.test_turned_grid import convergence, differences
from tests.oracle.turned_page import in_grid, in_no_grid, otherwise
from tests.structure import (
    test_contacts_beside,
    test_cutting_contacts,
    test_cutting_planes,
    test_met_again,
    test_quiet_slips,
    test_strike_for_direction,
    test_wrong_units,
)
from tests.structure.form import test_domains, test_fault_traces
from tests.structure.form.test_domains import walk
from tests.structure.test_odd_attitudes import FOLD, PANEL
from tests.structure.walk import test_misfits
from tests.thorough import some
from traverse.compile import compile_log
from traverse.output.json_file import write_json
from traverse.source import Source

THRICE = (
    test_fault_traces.WALK.format(met=16, moved="dextral", other="dextral").partition("section")[0]
    + """to 6 360 80m level
to 7 090 160m level
along 151m
  fault Cc/Bb certain 130/84 dextral
at 7
  unit Bb
  bed 180/30
to 8 180 40m level
at 8
  unit Bb
section A-A' from 2 to 6
"""
)
"""Its plane was read at the first place and at the third, which is the nearer to the second."""
SIGHTED = """notation 1
bearings true
attitudes dip-direction
control Peak 640 E 410 N 180 m
control Spire -350 E 620 N 240 m
control Knoll 120 E -530 N 60 m
unit Bb Upper ; Jurassic
unit Aa Lower ; Triassic
at 1
unit Aa
bed 065/25
sight Crag 024.2 +7.8
to 2 115 140m +3
along 60m
contact Bb/Aa certain 067/24
at 2
unit Bb
bed 063/26
sight Crag 006.6 +6.5
sight Peak 047.6 +13.9
to 3 192 90m -2
sight Crag 007.5 +5.8
at Ledge
unit Bb
sight Peak 037.7 +20.9
sight Spire 304.7 +13.0
sight Knoll 204.0 +2.5
to 4 100 60m level
unit Bb
bed 200/35
"""
"""A landmark at 180 E 400 N seen from three stations, and a ledge at 400 E 100 N that sights to known points place."""
BESIDE = """notation 1
bearings true
attitudes dip-right
unit Lt Limestone ; Triassic
unit Ms Marl ; Jurassic
at 1
unit Lt
side 3 063 40m
contact Ms/Lt certain
side 2 065 100m
unit Ms
to 4 140 80m level
unit Ms
"""
"""A shot to a contact and one past it, and a change of the unit for which nobody booked a contact."""
LOOP = """notation 1
bearings true
precision bearing 1.5
control Peak 640 E 410 N
at 1
to 2 041 100.3m
to 3 107 {} m
sight Peak 053.6
to 4 166 123.1m
sight Peak 043.8
to 5 272 150.5m
close 1 337 68.4m
"""
"""Of the second leg, which is 88.9 m long, two sights say which way it is off."""
DOME = test_domains.HEAD + "".join(
    f"at 0\nto {at + 1} {45 * at:03d} 100m level\nunit {'Ju' if at % 2 else 'Ck'}\nbed {45 * at:03d}/{25 + at}\n"
    for at in range(8)
)
UPRIGHT = test_strike_for_direction.WALK.format(
    first="Dk/Sh certain 030/vertical", second="Dk/Sh certain 030/vertical", far="Sh"
)
HALF_WAY = """notation 1
bearings true
attitudes dip-right
unit A Alpha ; Jurassic
unit B Beta ; Triassic
at 1
unit B
bed 340/40
to 2 070 60m
unit B
bed 341/42
to 3 070 60m
along 30m
contact A/B certain
at 3
unit A
bed 161/41
"""
"""The contact lies just half-way between beds that dip toward each other: what rock lies between them is open."""
PAGES = {
    "a strike read as a direction": test_strike_for_direction.HEAD
    + test_strike_for_direction.FAULT.format(plane="000/vertical"),
    "walls along which the walk would run": test_strike_for_direction.HEAD + UPRIGHT,
    "a fault turned by a quarter": test_cutting_planes.FAULT.replace("270/70 down W", "000/70", 1),
    "one wall of four": test_cutting_planes.DIKE.replace("000/85", "090/85", 1),
    "strikes that are directions": test_cutting_planes.ALONG,
    "a contact met again off its plane": test_met_again.EAST.replace("dip-direction", "dip-right", 1),
    "a fault turned among two": test_cutting_contacts.FAULTED.replace("072/69 down E", "162/69", 1),
    "left for right": test_contacts_beside.WALK.format(where="20m right 3m", pair="Ss/Si", dip=22),
    "a wrong unit": test_wrong_units.RIGHT.replace("at 2\n  unit Gw", "at 2\n  unit As"),
    "a wrong contact": test_misfits.HEAD + test_misfits.WALK.replace("contact Cc/Bb", "contact Cc/Aa"),
    "a count with its digits exchanged": test_quiet_slips.RIGHT.replace("along 40m", "along 04m", 1),
    "a count at the outermost unit": test_quiet_slips.RIGHT.replace("along 10m", "along 1m", 1)
    + test_quiet_slips.AGAIN,
    "a bed at an end of the walk": test_quiet_slips.panel(["110/40", "021/41", "019/38", "020/40"]),
    "a half turn in a panel": walk([*PANEL[:3], "301/35", *PANEL[4:]], ["Ju"] * 7),
    "a half turn in a fold": walk([*FOLD[:7], "095/43", FOLD[8]], ["Ju"] * 9),
    "one fault at three places": THRICE,
    "a landmark and a station by sights": SIGHTED,
    "sights of another height": SIGHTED.replace("024.2 +7.8", "024.2 -7.8"),
    "a sight to another point": SIGHTED.replace("Spire 304.7", "Spire 314.7"),
    "no contact": BESIDE,
    "a loop that fails beside sights": LOOP.format("118.9"),
    "dips all round": DOME,
    "a contact half-way between two limbs": HALF_WAY,
}
ASKED, TOLD_OF = (
    {path.stem: path.read_text("utf-8") for path in sorted(Path(__file__).with_name(folder).glob("*.trav"))}
    for folder in ("asked", "told")
)
"""One of each kind of question that is asked of a geologist's page, named by it; one of each finding that its structure makes."""
PAGES |= ASKED | TOLD_OF


def told(text):
    found = compile_log(Source(name="day.trav", text=text), load=None)
    assert not found.failed, [one.message for one in found.diagnostics if one.kind == "error"]
    whole = json.loads(write_json(found.log, found.trav, found.diagnostics))
    # How well a loop closes hangs on the last figure of a page without errors.
    whole["messages"] = [one for one in whole["messages"] if one["severity"] != "note"]
    for one in whole["messages"]:
        # What is thinner, lower or under something is so by a length.
        assert not re.search(r"(?<![\w`/.])[-\u2212]\d+(\.\d+)? (m|ft)\b", one["text"]), one["text"]
    # They are listed from the west to the east.
    for one in whole["structure"]["findings"]:
        one["places"] = sorted(re.split(", | and ", one["places"] or ""))
    return whole


@cache
def page(name):
    text = PAGES[name]
    was = told(in_no_grid(text))
    if name in ASKED:
        assert name in {one["code"] for one in was["messages"]}
    if name in TOLD_OF:
        assert was["structure"]["findings"]
    return text, was


@pytest.mark.parametrize("name", some(PAGES, list(PAGES)[::2]))
def test_in_a_grid_the_same_is_said(name):
    text, was = page(name)
    now = told(in_grid(text, convergence_deg=convergence()))
    assert [one for part in TOLD for one in differences(was.get(part) or [], now.get(part) or [], part)] == []


@pytest.mark.parametrize("name", some(PAGES, list(PAGES)[1::2]))
def test_of_turned_ground_the_same_is_said(name):
    text, was = page(name)
    now = told(
        in_grid(otherwise(text, lambda azimuth: azimuth + TURN_DEG), TURN_DEG, convergence_deg=convergence())
    )
    assert [one for part in TOLD for one in otherwise_told(was.get(part), now.get(part), turned, part)] == []
