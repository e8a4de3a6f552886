"""A tied outcrop serves the walk of each party that read it: what a party met is told as in its log by itself."""

import pytest

from traverse.compile import compile_log
from traverse.source import Source

UNITS = (
    "unit Mk Marrick Marl ; Cretaceous\nunit Ts Tarsel Shale ; Triassic\nunit Gr Garth Sandstone ; Permian\n"
)
HEAD = "notation 1\nbearings true\nattitudes dip-right\n" + UNITS
WALK = (  # An anticline of north-south axis, 30 degrees on either limb, walked over its crest
    ("at 1", "  unit Mk", "  bed 180/30"),
    ("to 2 090 60m", "along 50m", "  contact Mk/Ts certain", "at 2", "  unit Ts", "  bed 180/30"),
    ("to 3 090 60m", "along 50m", "  contact Ts/Gr certain", "at 3", "  unit Gr", "  bed 175/04"),
    ("to 4 090 60m", "along 10m", "  contact Ts/Gr certain", "at 4", "  unit Ts", "  bed 000/30"),
    ("to 5 090 60m", "along 10m", "  contact Mk/Ts certain", "at 5", "  unit Mk", "  bed 000/30"),
    ("close 1 270 240m",),
)
LOG = HEAD + "\n".join(line for block in WALK for line in block) + "\n"
CAMP = "notation 1\ntraverse Two\nlog a.trav as A\nlog b.trav as B\ntie A-1 to B-1\n"


def camp(ties, *, a=LOG, b=LOG):
    files = {"a.trav": f"{a}# A\n", "b.trav": f"{b}# B\n"}
    text = CAMP + "".join(f"tie A-{one} to B-{one}\n" for one in ties)
    found = compile_log(Source(name="camp.trav", text=text), load=lambda name: files[name].encode())
    assert not found.failed
    return found


def alone(text):
    """The log by itself."""
    return compile_log(Source(name="b.trav", text=text), load=lambda _: b"")


def thick(found, file):
    return [
        (one.unit, round(one.true_m, 2)) for one in found.geology.thicknesses if one.between[0].file == file
    ]


def asked(found):
    return [one.code for one in found.diagnostics if one.kind == "warning"]


ALONE = alone(LOG)


@pytest.mark.parametrize("ties", [(), (2,), (3, 4), (2, 3, 4, 5)])
def test_each_party_has_the_thicknesses_of_its_log_by_itself(ties):
    found = camp(ties)
    assert thick(ALONE, "b.trav")
    assert thick(found, "a.trav") == thick(found, "b.trav") == thick(ALONE, "b.trav")
    assert asked(found) == asked(ALONE) == []


def test_no_unit_lies_between_the_last_contact_of_one_party_and_the_first_of_the_next():
    short = (
        LOG[: LOG.index("to 5")] + "close 1 270 180m\n"
    )  # its last contact is Ts/Gr, the first of B is Mk/Ts
    found = camp((), a=short)
    assert [one.between[0].file for one in found.geology.thicknesses].count("b.trav") == 2
    assert all(one.between[0].file == one.between[1].file for one in found.geology.thicknesses)


def test_a_bed_that_two_parties_read_alike_is_no_slip_of_the_pen():
    beds = ("180/30", "182/31", "178/29", "270/30", "181/30", "179/31", "180/29", "182/30")
    stops = "\n".join(f"to {at} 090 60m\n  bed {bed}" for at, bed in enumerate(beds, start=2))
    odd = f"{HEAD}at 1\n{stops}\n"
    assert "bed-slipped" in asked(alone(odd))
    assert "bed-slipped" not in asked(camp((3, 5), a=odd, b=odd))


def test_a_bed_that_three_parties_read_alike_is_not_asked_about_for_what_lies_beside_it():
    """The bed of one walk lies against its neighbours there; the two others read it alone, and alike."""
    head = "notation 1\nbearings true\nattitudes dip-first\nunit Gr Sandstone ; Permian\nat 9\n"
    walk = "{}to 13 230 150m\n  bed {}\nto 3 160 120m\n{}"
    files = {
        "a.trav": head + walk.format("  bed 09/057\n", "20/296", "  bed 07/038\n"),
        "b.trav": head + walk.format("", "25/304", ""),
        "c.trav": head + walk.format("", "23/306", ""),
    }
    text = (
        "notation 1\nlog a.trav as A\nlog b.trav as B\nlog c.trav as C\ntie A-13 to B-13\ntie B-13 to C-13\n"
    )
    found = compile_log(Source(name="camp.trav", text=text), load=lambda name: files[name].encode())
    assert not found.failed, [one.message for one in found.diagnostics]
    assert found.geology.shared[0].mean.n == 3
    assert not {"bed-apart", "bed-against"} & {one.code for one in found.diagnostics}
    by_itself = compile_log(Source(name="a.trav", text=files["a.trav"]), load=lambda name: b"")
    assert {"bed-apart", "bed-against"} & {one.code for one in by_itself.diagnostics}
