"""A unit beyond the hinge is reckoned by the beds of the limb it was crossed on."""

import math

import pytest

HEAD = """notation 1
bearings true
attitudes dip-direction
unit Ok Oskel Chalk ; Cretaceous
unit Bn Bannet Shale ; Jurassic
unit Tr Torrel Sandstone ; Triassic
"""
EAST = ("090/35", "270/25")


@pytest.mark.parametrize("core", ["Ok", "Tr"])
def test_a_thickness_past_the_hinge_is_that_of_its_own_limb(compile_text, core):
    """91 m level across beds of 25 degrees; by hand 91 sin 25."""
    rim = "Tr" if core == "Ok" else "Ok"
    first, last = EAST if core == "Ok" else ("270/35", "090/25")
    inner, outer = ("Ok/Bn", "Bn/Tr") if core == "Ok" else ("Bn/Tr", "Ok/Bn")
    walk = f"""at 1
unit {core}
bed {first}
to 2 090 150m level
unit {core}
to 3 090 100m level
along 31m
contact {inner} certain
at 3
unit Bn
to 4 090 100m level
along 22m
contact {outer} certain
at 4
unit {rim}
bed {last}
"""
    (thick,) = compile_text(HEAD + walk).geology.thicknesses
    assert thick.true_m == pytest.approx(91.0 * math.sin(math.radians(25.0)), abs=0.5)
    assert thick.bend_m is None
