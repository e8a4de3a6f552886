"""Thickness above and below an unconformity: beds of one body tell nothing of the other."""

import pytest

HEAD = """notation 1
bearings true
attitudes dip-right
unit Cs Upper ; Triassic
unit Cg Lower ; Triassic
unit Sl Slate ; Silurian
unit Gw Greywacke ; Silurian
unit Qz Quartzite ; Silurian
"""
COVER = """at 1
unit Sl
bed 200/50
to 2 090 30m +30
along 10m
unconformity Cg/Sl certain
along 24m
contact Cs/Cg certain
at 2
unit Cs
bed 000/06
to 3 090 40m +5
at 3
unit Cs
bed 002/04
"""


def test_a_basement_that_dips_steeply_takes_no_part_in_the_covers_thickness(compile_text):
    """14 m up a slope of 30° over a cover that dips 5° with the walk: 14 sin(35°) = 8.0 m."""
    (one,) = compile_text(HEAD + COVER).geology.thicknesses
    assert one.unit == "Cg"
    assert one.true_m == pytest.approx(8.1, abs=0.3)
    low, high = one.range_m
    assert low > 7.5
    assert high < 8.6


BASEMENT = """at 1
unit Qz
bed 000/40
to 2 090 30m
along 5m
contact Gw/Qz certain
along 25m
contact Sl/Gw certain
at 2
unit Sl
to 3 090 20m +20
along 5m
unconformity Cg/Sl certain 000/05
at 3
unit Cg
bed 000/04
bed 000/05
to 4 090 20m
at 4
unit Cg
bed 001/05
"""


def test_a_flat_cover_takes_no_part_in_the_basements_thickness(compile_text):
    """20 m level over beds of 40°: 20 sin(40°) = 12.9 m."""
    geology = compile_text(HEAD + BASEMENT).geology
    whole = next(one for one in geology.thicknesses if one.unit == "Gw")
    assert whole.true_m == pytest.approx(12.86, abs=0.01)
    assert whole.range_m == (whole.true_m, whole.true_m)
    slate = next(one for one in geology.thicknesses if one.unit == "Sl")
    # 5 m on the level and 5 m up 20°: the surface of the unconformity lies as the cover does.
    assert slate.true_m == pytest.approx(abs(9.698 * 0.6428 + 1.710 * 0.7660), abs=0.05)
    assert slate.at_least
