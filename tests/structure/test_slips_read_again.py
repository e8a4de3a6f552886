"""Slips of the pen: what is offered for a reading is typed, read again by the notation, and is the plane that it was offered for.

So each turn, quadrant, letter and exchanged figure is held against the reader of the page, which knows nothing of slips.
"""

import pytest

from traverse.compile import compile_log
from traverse.source import Source
from traverse.structure.odd_attitudes import slips
from traverse.structure.readings.records import PlaneAttitude

RULES = {
    "dip-direction": ["142/38", "005/61", "310/07", "023/45", "200/80"],
    "dip-right": ["142/38", "005/61", "310/07", "123/25", "231/50"],
    "dip-left": ["142/38", "035/61", "310/17"],
    "dip-first": ["38/142", "61/005", "12/310"],
    "lettered": [
        "N60E/35SE", "N60E/35NW", "N25W/41SW", "N25W/41NE", "S70E/28S", "S12W/54W", "N31E/35SE", "N87E/20N", "052/35SE", "052/35NW",
        "113/41SW", "007/15E", "310/62NE",
    ],
}  # fmt: skip
NORTHS = {
    "true": "bearings true\n",
    "magnetic": "bearings magnetic\ndeclination 11 E, 2026, map margin\n",
}


def read(beds, rule, north):
    """The planes of beds as typed, each at a station of its own."""
    rule = "dip-right" if rule == "lettered" else rule
    lines = [f"notation 1\n{NORTHS[north]}attitudes {rule}\nunit Aa Older ;\nat 0\nunit Aa"]
    for at, bed in enumerate(beds):
        lines += [f"to {at + 1} 090 100m level", f"bed {bed}"]
    found = compile_log(Source(name="day.trav", text="\n".join(lines) + "\n"), load=None)
    assert not found.failed, [one.message for one in found.diagnostics if one.kind == "error"]
    planes = [one for one in found.geology.attitudes if isinstance(one, PlaneAttitude)]
    assert len(planes) == len(beds)
    return planes


@pytest.mark.in_turn
@pytest.mark.parametrize("north", NORTHS)
@pytest.mark.parametrize("rule", RULES)
def test_what_is_offered_reads_as_the_plane_it_is_offered_for(rule, north):
    offered = [slip for bed in read(RULES[rule], rule, north) for slip in slips(bed)]
    assert len(offered) >= 5 * len(RULES[rule])
    for slip, plane in zip(offered, read([slip.reading for slip in offered], rule, north), strict=True):
        assert plane.dip_deg == pytest.approx(slip.dip_deg, abs=1e-6), slip
        off = (plane.dip_direction_deg - slip.dip_direction_deg + 180.0) % 360.0 - 180.0
        assert off == pytest.approx(0.0, abs=1e-6), slip


@pytest.mark.parametrize(
    ("rule", "written", "expected"),
    [
        (
            "dip-direction",
            "142/38",
            {
                ("a quarter turn", "232/38"), ("a quarter turn", "052/38"), ("a half turn", "322/38"), ("digits exchanged", "142/83"),
                ("dip counted from upright", "142/52"), ("digits exchanged", "124/38"), ("digits exchanged", "241/38"),
                ("first figure misread", "042/38"), ("first figure misread", "242/38"), ("first figure misread", "342/38"),
            },
        ),
        (
            "lettered",
            "N25W/41SW",
            {
                ("a quarter turn", "N65E/41NW"), ("a quarter turn", "N65E/41SE"), ("a half turn", "N25W/41NE"),
                ("digits exchanged", "N52W/41SW"), ("digits exchanged", "N25W/14SW"),
                ("dip counted from upright", "N25W/49SW"), ("strike and dip exchanged", "N41W/25SW"),
            },
        ),
        (
            "lettered",
            "N60E/35NW",
            {
                ("a quarter turn", "N30W/35NE"), ("a quarter turn", "N30W/35SW"), ("a half turn", "N60E/35SE"),
                ("digits exchanged", "N06E/35NW"), ("digits exchanged", "N60E/53NW"), ("dip counted from upright", "N60E/55NW"),
                ("strike and dip exchanged", "N35E/60NW"),
            },
        ),
        (
            "lettered",
            "N78E/35S",
            {
                ("a quarter turn", "N12W/35E"), ("a quarter turn", "N12W/35W"), ("a half turn", "N78E/35N"),
                ("east for west", "N78W/35S"), ("digits exchanged", "N87E/35S"), ("digits exchanged", "N78E/53S"),
                ("dip counted from upright", "N78E/55S"), ("strike and dip exchanged", "N35E/78S"),
            },
        ),
        (
            "lettered",
            "S15E/64NE",
            {
                ("a quarter turn", "S75W/64SE"), ("a quarter turn", "S75W/64NW"), ("a half turn", "S15E/64SW"),
                ("east for west", "S15W/64NE"), ("digits exchanged", "S51E/64NE"), ("digits exchanged", "S15E/46NE"), ("dip counted from upright", "S15E/26NE"), ("strike and dip exchanged", "S64E/15NE"),
            },
        ),
    ],
)  # fmt: skip
def test_the_slips_of_a_reading_are_these(rule, written, expected):
    """By hand: a turn, the other side, figures exchanged, the scale that counts from upright, a first figure misread."""
    (bed,) = read([written], rule, "true")
    assert {(slip.words, slip.reading) for slip in slips(bed)} == expected


def test_two_readings_of_one_surface_are_turned_both_and_a_level_bed_has_no_slip():
    two, level = read(["142/38, 150/41", "flat"], "dip-direction", "true")
    assert [(slip.words, slip.reading) for slip in slips(two)] == [
        ("a quarter turn", "232/38, 240/41"),
        ("a quarter turn", "052/38, 060/41"),
        ("a half turn", "322/38, 330/41"),
    ]
    assert list(slips(level)) == []
