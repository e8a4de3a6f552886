"""Beds laid flat again: closed forms, scipy's rotations, and what a log gets told."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from traverse.structure.readings.directions import dip_of, line, pole
from traverse.structure.readings.tilt import levelling, restore_line, restore_plane, younging

HEAD = "notation 1\nbearings true\nattitudes dip-right\nat 1\n"


@pytest.mark.parametrize(
    ("dip", "way", "overturned"),
    [(40.0, 120.0, False), (70.0, 310.0, True), (90.0, 15.0, False), (12.0, 200.0, True)],
)
def test_one_rotation_is_scipys_about_the_strike(dip, way, overturned):
    bedding = younging(dip, dip_direction_deg=way, overturned=overturned)
    matrix = levelling(bedding)
    np.testing.assert_allclose(matrix @ bedding, [0.0, 0.0, 1.0], atol=1e-12)
    # By the dip about the strike; an overturned bed by 180 - dip the other way.
    strike = np.radians(way - 90.0)
    angle = np.radians(180.0 - dip if overturned else -dip)
    about = Rotation.from_rotvec(angle * np.array([np.sin(strike), np.cos(strike), 0.0]))
    np.testing.assert_allclose(matrix, about.as_matrix(), atol=1e-12)


def test_two_rotations_bring_both_limbs_of_a_plunging_fold_back_together():
    """A foreset laid down toward 040, folded about a level axis, then tilted by 35 along it: scipy's rotations fold it."""
    foreset, level = pole(25.0, dip_direction_deg=40.0), np.array([0.0, 0.0, 1.0])
    plunge = Rotation.from_rotvec(
        np.radians(35.0) * np.array([-1.0, 0.0, 0.0])
    )  # axis north, down to the north
    axis = plunge.apply([0.0, 1.0, 0.0])
    assert dip_of(axis)[0] >= 0.0
    assert axis[2] == pytest.approx(-np.sin(np.radians(35.0)))
    for limb in (-70.0, -30.0, 20.0, 60.0):
        folded = plunge * Rotation.from_rotvec(np.radians(limb) * np.array([0.0, 1.0, 0.0]))
        matrix = levelling(folded.apply(level), axis=axis)
        np.testing.assert_allclose(matrix @ folded.apply(foreset), foreset, atol=1e-9)
        if abs(limb) > 50.0:
            once = dip_of(levelling(folded.apply(level)) @ folded.apply(foreset))
            assert abs(once[1] - 40.0) > 5.0


def test_a_line_in_an_overturned_bed_keeps_its_angle_to_the_strike():
    bedding = younging(70.0, dip_direction_deg=310.0, overturned=True)
    plunge, trend = restore_line(70.0, trend_deg=310.0, bedding=bedding)
    assert plunge == pytest.approx(0.0, abs=1e-9)
    assert min(abs(trend - 130.0), abs(trend - 310.0)) == pytest.approx(0.0, abs=1e-6)


def test_cross_beds_of_a_plateau(compile_text):
    """Bedding 310/25, foreset 340/40: 22 toward 101 (recomputed from the rotation; common practice, no source)."""
    (one,) = compile_text(HEAD + "bed 310/25\ncrossbed 340/40\n").geology.restored
    assert (round(one.dip_deg), round(one.direction_deg)) == (22, 101)
    assert one.here
    assert one.rotations == 1


def test_overturned_bedding_turns_by_180_less_the_dip(compile_text):
    """Bedding overturned, 70 toward 220, foreset 80 toward 205: 18 toward 278 (recomputed; common practice, no source)."""
    log = HEAD.replace("dip-right", "dip-direction") + "bed 220/70 OT\ntops down graded\ncrossbed 205/80 OT\n"
    (one,) = compile_text(log).geology.restored
    assert (round(one.dip_deg), round(one.direction_deg)) == (18, 278)
    unsaid = compile_text(log.replace("205/80 OT", "205/80")).geology.restored[0]
    assert unsaid.direction_deg == pytest.approx(one.direction_deg)


def test_flat_bedding_needs_no_correction_and_the_nearest_bed_is_named(compile_text):
    assert compile_text(HEAD + "bed 310/4\ncrossbed 340/30\n").geology.restored == ()
    far = compile_text(HEAD + "bed 310/25\nto 2 090 80m\ncrossbed 340/40\n").geology.restored[0]
    assert not far.here
    assert far.away_m == pytest.approx(80.0)
    assert far.bed.station == "1"


def test_sand_steeper_than_it_stands_is_asked_about_and_can_be_answered(compile_text):
    log = HEAD + "bed 310/20\ncrossbed 130/20\n"
    (told,) = [one for one in compile_text(log).diagnostics if one.code == "steep-crossbed"]
    assert told.span.line == 6
    answered = compile_text(log + "checked MO seen twice\n")
    assert [one.kind for one in answered.diagnostics if one.code == "steep-crossbed"] == ["answered"]


def test_a_current_keeps_its_sense(compile_text):
    (one,) = compile_text(HEAD + "bed 000/30\ncurrent 30->090\n").geology.restored
    assert one.dip_deg == pytest.approx(0.0, abs=1e-9)
    assert one.direction_deg == pytest.approx(90.0)
    assert line(one.dip_deg, trend_deg=one.direction_deg) == pytest.approx([1.0, 0.0, 0.0], abs=1e-9)


def test_restoring_a_bed_with_itself_leaves_it_flat():
    assert restore_plane(63.0, dip_direction_deg=20.0, bedding=younging(63.0, dip_direction_deg=20.0)) == (
        0.0,
        None,
    )


@pytest.mark.parametrize("bed", ["310/25", "220/70 OT\ntops down graded"])
def test_a_bearing_alone_is_a_mark_on_the_bed_and_comes_back_level(compile_text, bed):
    """A line in the bed keeps its angle from the strike: the rake by tan(rake) = tan(turn from strike) / cos(dip)."""
    (one,) = compile_text(HEAD + f"bed {bed}\ncurrent 080\n").geology.restored
    assert one.dip_deg == pytest.approx(0.0, abs=1e-9)
    strike, dip = (310.0, 25.0) if bed.startswith("310") else (220.0, 70.0)
    turn = np.radians(80.0 - strike)
    rake = np.degrees(np.arctan2(np.sin(turn) / np.cos(np.radians(dip)), np.cos(turn)))
    if bed.startswith("310"):
        assert (one.direction_deg - strike - rake + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=1e-9)
    else:
        # Turned over about its strike, the bed shows the mirror image of the mark.
        assert (one.direction_deg - strike + rake + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=1e-9)


def test_a_cross_bed_under_a_flat_bed_turned_over_dips_the_other_way():
    """Turned over about a line that runs north, which nothing else tells: what dips north dips south, what dips east stays."""
    over = younging(0.0, dip_direction_deg=0.0, overturned=True)
    assert restore_plane(25.0, dip_direction_deg=0.0, bedding=over) == pytest.approx((25.0, 180.0))
    assert restore_plane(25.0, dip_direction_deg=90.0, bedding=over) == pytest.approx((25.0, 90.0))
    flat = younging(0.0, dip_direction_deg=0.0, overturned=False)
    assert restore_plane(25.0, dip_direction_deg=0.0, bedding=flat) == pytest.approx((25.0, 0.0))


def test_cross_beds_of_a_plunging_fold_come_back_to_how_they_were_laid(compile_text):
    """Foresets laid at 20 toward 120, then folded about a line toward 037 that was tipped to 25: scipy's rotations."""
    laid, text = (
        pole(20.0, dip_direction_deg=120.0),
        "notation 1\nbearings true\nattitudes dip-direction\nat 1\n",
    )
    trend = np.radians(37.0)
    level, across = (
        np.array([np.sin(trend), np.cos(trend), 0.0]),
        np.array([np.cos(trend), -np.sin(trend), 0.0]),
    )
    for number, turn in enumerate((-50, -35, -15, 12, 30, 48, 55), start=1):
        moved = Rotation.from_rotvec(np.radians(-25.0) * across) * Rotation.from_rotvec(
            np.radians(turn) * level
        )
        for word, normal in (("bed", [0.0, 0.0, 1.0]), ("crossbed", laid)):
            dip, way = dip_of(moved.apply(normal))
            text += f"{word} {way:07.3f}/{dip:.3f}\n"
        text += f"to {number + 1} {(50 * number) % 360:03d} 80m\n"
    back = compile_text(text).trav.geology.restored
    assert len(back) == 7
    for one in back:
        assert one.rotations == 2
        assert one.dip_deg == pytest.approx(20.0, abs=0.05)
        assert one.direction_deg == pytest.approx(120.0, abs=0.1)


def test_of_two_beds_the_nearer_one_lays_a_cross_bed_flat(compile_text):
    """The one lies 30 m to the north-west, the other 90 m to the north-east and nearer to it in its easting alone."""
    text = HEAD + "bed 310/25\nto 2 045 90m\ncrossbed 340/40\nto 3 315 30m\nbed 100/50\n"
    (back,) = compile_text(text).geology.restored
    assert back.bed.station == "3"
    assert back.away_m == pytest.approx(30.0)


@pytest.mark.parametrize("turn", [0, 90, 200])
def test_without_a_bed_of_its_own_a_current_goes_by_the_nearest(compile_text, turn):
    """Of beds 100 m behind it and 40 m ahead the one ahead, whichever way the walk runs; how far off it lies is told."""
    compiled = compile_text(
        HEAD.replace("dip-right", "dip-direction")
        + f"bed 090/30\nto 2 {turn:03d} 100m level\ncurrent 200\nto 3 {(turn + 90) % 360:03d} 40m level\nbed 300/55\n"
    )
    (one,) = compiled.geology.restored
    assert (one.bed.dip_deg, one.here) == (55.0, False)
    assert one.away_m == pytest.approx(40.0, abs=1e-6)


def test_a_bed_flat_and_upside_down_is_turned_over():
    """Its younger side comes to lie up, by a turn and no mirror: scipy takes the matrix for a rotation of 180 degrees."""
    matrix = levelling(np.array([0.0, 0.0, -1.0]))
    np.testing.assert_allclose(matrix @ [0.0, 0.0, -1.0], [0.0, 0.0, 1.0], atol=1e-12)
    assert np.degrees(Rotation.from_matrix(matrix).magnitude()) == pytest.approx(180.0)
    np.testing.assert_allclose(levelling(np.array([0.0, 0.0, 1.0])), np.eye(3), atol=1e-12)
