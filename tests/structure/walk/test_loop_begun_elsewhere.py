"""A loop through a fold, begun at each of its stations in turn: invented ground, the readings the same."""

import pytest

from traverse.compile import compile_log
from traverse.source import Source

HEAD = """\
notation 1
traverse Ferrow Cleeve
date 2026-05-11
party NN Nora Nash
bearings true
attitudes dip-right
distances metres
unit Ta Tarn Clay ; Paleogene
unit Sc Scar Sandstone ; Cretaceous
unit Fe Fell Shale ; Jurassic
"""
STATIONS = [
    (["unit Ta", "bed 188/25"], "048 121.0 level", ["along 70", "  contact Ta/Sc certain"]),
    (["unit Sc", "bed 190/20"], "102 111.0 -2", ["along 68", "  contact Sc/Fe certain"]),
    (["unit Fe"], "046 129.0 -8", []),
    (["unit Fe", "bed 001/05"], "106 124.0 level", ["along 98", "  contact Sc/Fe certain"]),
    (["unit Sc", "bed 015/22"], "163 127.0 +8", ["along 74", "  contact Ta/Sc certain"]),
    (["unit Ta"], "225 128.0 -6", ["along 48", "  contact Ta/Sc certain"]),
    (["unit Sc", "bed 011/22"], "279 132.0 +5", ["along 24", "  contact Sc/Fe certain"]),
    (["unit Fe", "bed 001/02"], "252 126.0 +2", ["along 121", "  contact Sc/Fe certain"]),
    (["unit Sc"], "315 156.0 +1", ["along 107", "  contact Ta/Sc certain"]),
]


def begun_at(first):
    rows = [HEAD]
    for step in range(len(STATIONS)):
        here = (first + step) % len(STATIONS)
        met, leg, crossed = STATIONS[here]
        word = "close" if step == len(STATIONS) - 1 else "to"
        rows += [f"at {here + 1}", *(f"  {one}" for one in met)]
        rows += [f"{word} {(here + 1) % len(STATIONS) + 1} {leg}", *crossed, ""]
    found = compile_log(Source(name="walk.trav", text="\n".join(rows)), load=lambda _: b"")
    assert not found.failed
    of = {one.booked.span: one.booked.address.leg.start for one in found.trav.geology.contacts}
    thick = {
        (of[one.between[0]], of[one.between[1]]): (one.true_m, one.sd_m)
        for one in found.trav.geology.thicknesses
    }
    return thick, [one.code for one in found.diagnostics if one.code == "younger-below"]


@pytest.mark.parametrize("first", range(1, len(STATIONS)))
def test_thickness_and_doubts_do_not_hang_on_where_a_loop_begins(first):
    thick, doubts = begun_at(0)
    other, others = begun_at(first)
    both = thick.keys() & other.keys()
    assert len(both) >= 3
    for one in both:
        assert other[one] == pytest.approx(thick[one], rel=0.15)
    assert doubts == others == []
