"""Whether two crossings are one body, and whether readings of a body have a mean: both sides of each limit."""

from __future__ import annotations

import math
from types import SimpleNamespace

import pytest

from traverse.structure.walk.bodies import is_one_body


def crossing(first, last, *, strike=0.0, sd=0.0, north=0.0):
    """Of an upright body: its two ends so far across its walls, `north` along them."""
    along, across = math.radians(strike), math.radians(strike + 90.0)

    def place(off):
        return (
            off * math.sin(across) + north * math.sin(along),
            off * math.cos(across) + north * math.cos(along),
            0.0,
        )

    return SimpleNamespace(
        unit="Db",
        ends=[SimpleNamespace(place=place(off)) for off in (first, last)],
        strike_deg=strike,
        dip_deg=90.0,
        sd_deg=sd,
        walls=(),
    )


@pytest.mark.parametrize("strike", [0.0, 40.0, 135.0, 290.0])
@pytest.mark.parametrize(
    ("first", "last", "one"),
    # Beside 0 to 40 m: within it, over its end, 2.9 m past it, and farther than three times the metre of a place.
    [(10.0, 20.0, True), (30.0, 60.0, True), (42.9, 60.0, True), (43.1, 60.0, False), (-9.0, -3.1, False)],
)
def test_crossings_of_a_wide_body_that_overlap_are_one(strike, first, last, one):
    wide, other = crossing(0.0, 40.0, strike=strike), crossing(first, last, strike=strike)
    assert is_one_body(wide, other, to_true_deg=0.0) == one
    assert is_one_body(other, wide, to_true_deg=0.0) == one


@pytest.mark.parametrize(
    ("sds", "gap_m", "one"),
    [
        # The mean of two readings of 2° is off by 1.4°: 7.1 m over 290 m, with a metre of a place, and three times that.
        ((2.0, 2.0), 21.0, True),
        ((2.0, 2.0), 22.5, False),
        # Of one reading 2°.
        ((2.0, None), 29.5, True),
        ((2.0, None), 31.5, False),
    ],
)
def test_a_plane_is_carried_from_one_crossing_to_the_other_as_well_as_it_was_read(sds, gap_m, one):
    near = crossing(0.0, 0.0, sd=sds[0])
    far = crossing(gap_m, gap_m, sd=sds[1] or 0.0, north=290.0)
    if sds[1] is None:
        far.strike_deg = far.dip_deg = None
    assert is_one_body(near, far, to_true_deg=0.0) == one
    assert is_one_body(far, near, to_true_deg=0.0) == one


DIKE = """notation 1
bearings true
attitudes dip-right
control 1 0 E 0 N 100 m
unit Jl Limestone ;
unit Db Basalt dike ; Neogene ; #d09090 ; intrusive
at 1
  unit Jl
to 2 090 100m level
along 40m
  contact Db/Jl certain{first}
along 45m
  {inside}
along 46m
  contact Db/Jl certain{last}
at 2
  unit Jl
"""


def body_of(compile_text, *, first="", last="", inside="note coarse grained"):
    (body,) = compile_text(DIKE.format(first=first, last=last, inside=inside)).geology.bodies
    return body


@pytest.mark.parametrize(("apart", "known"), [(19, True), (21, False)])
@pytest.mark.parametrize("strike", [10, 355])
def test_two_readings_of_a_dike_have_a_mean_up_to_as_far_apart_as_beds_of_one_place(
    compile_text, strike, apart, known
):
    """20°; the mean of two that stand upright is half-way between them."""
    other = (strike + apart) % 360
    body = body_of(compile_text, inside=f"dike {strike:03d}/90\n  dike {other:03d}/90")
    assert (body.strike_deg is not None) == known
    if known:
        assert math.cos(math.radians(2.0 * (body.strike_deg - strike - apart / 2.0))) == pytest.approx(1.0)


@pytest.mark.parametrize(("sd", "known"), [(2, False), (6, True)])
def test_two_walls_have_a_mean_up_to_three_times_what_both_are_off_by(compile_text, sd, known):
    """25° apart: past the 20° of beds of one place, within thrice √(6² + 6²) = 8.5° and past thrice 2.8°."""
    body = body_of(compile_text, first=f" 350/90 ±{sd}", last=f" 015/90 ±{sd}")
    assert (body.strike_deg is not None) == known
    assert (body.width_m is not None) == known
