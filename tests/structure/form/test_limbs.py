"""The limbs of a fold as records: means, the angle between them, and the surface that halves it."""

import math

import numpy as np
import pytest

from tests.structure.form.test_finding_words import HEAD, TRESCURA
from traverse.sheet.paper.page import Path, Text
from traverse.sheet.paper.style import PENS
from traverse.sheet.report.net_block import net_block


def fold_of(compiled):
    (told,) = compiled.geology.recognised
    form = told.finding.form
    assert form.fold is not None
    return form.fold


def test_limbs_of_one_strike_are_apart_by_the_difference_of_their_dips(compile_text):
    """Of an overturned fold whose limbs dip one way: 65 less 32 degrees; the axial surface dips by their mean.

    The means are of 35, 33, 28 and of 66, 65, 64; all strikes are alike, so poles lie in one vertical plane and
    angles add (common practice, no source).
    """
    fold = fold_of(compile_text(TRESCURA))
    upright, over = fold.limbs
    assert (upright.n, over.n) == (3, 3)
    assert (upright.overturned, over.overturned) == (False, True)
    assert upright.dip_deg == pytest.approx(32.0, abs=0.05)
    assert over.dip_deg == pytest.approx(65.0, abs=0.05)
    assert fold.interlimb_deg == pytest.approx(33.0, abs=0.1)
    assert fold.axial_dip_deg == pytest.approx(48.5, abs=0.1)
    assert fold.axial_dip_direction_deg == pytest.approx(140.0, abs=0.1)


def test_a_bed_in_the_core_belongs_to_the_limb_whose_way_up_it_has(compile_text):
    """A seventh bed, overturned like the farther limb, booked just before the middle of the core."""
    core = "to 310 140 70m\nalong 5m\nbed 140/66 overturned\ntops down graded\ncovered 15m to 50m\n"
    text = TRESCURA.replace("to 310 140 70m\ncovered 15m to 50m\n", core)
    compiled = compile_text(text)
    fold = fold_of(compiled)
    assert [limb.n for limb in fold.limbs] == [3, 4]
    assert fold.limbs[0].dip_deg == pytest.approx(32.0, abs=0.05)
    assert "overturned at leg 240–310, 310, 395 and 450" in " ".join(
        one.words for one in compiled.geology.findings
    )


def test_beds_that_dip_apart_have_limbs_too(compile_text):
    """Dips of 40 toward 090 and 30 toward 270: 180 less 70 degrees between, axial surface 85 toward 270."""
    text = (
        "notation 1\nbearings true\nattitudes dip-direction\nunit Bb Upper ; Cretaceous\nunit Aa Lower ; Triassic\n"
        "at 1\nunit Bb\nbed 270/30\nto 2 090 100m\nalong 50m\ncontact Bb/Aa certain\nat 2\nunit Aa\nbed 270/30\n"
        "to 3 090 100m\nunit Aa\nbed 090/40\nto 4 090 100m\nalong 50m\ncontact Bb/Aa certain\nat 4\nunit Bb\nbed 090/40\n"
        "to 5 090 100m\nunit Bb\nbed 090/40\n"
    )
    fold = fold_of(compile_text(text))
    assert {round(limb.dip_deg) for limb in fold.limbs} == {30, 40}
    assert fold.interlimb_deg == pytest.approx(110.0, abs=0.1)
    assert fold.axial_dip_deg == pytest.approx(85.0, abs=0.1)
    assert not any(limb.overturned for limb in fold.limbs)


def test_the_net_draws_the_axial_surface_and_says_the_limbs(compile_text):
    """The great circle is drawn where its own arithmetic has it: every point square to the surface's pole."""
    text = TRESCURA.replace("bed 140/28", "bed 140/28\nbed 146/27\nbed 134/30")
    compiled = compile_text(text)
    fold = fold_of(compiled)
    block = net_block(compiled.geology, width=100.0)
    assert block is not None
    said = [item.text for item in block.items if isinstance(item, Text)]
    if compiled.geology.fold_axis is None:
        pytest.fail("the beds are enough for an axis")
    assert f"interlimb {fold.interlimb_deg:.0f}° ± {fold.sd_deg:.0f}°" in said
    assert "axial surface" in said
    circles = [
        item
        for item in block.items
        if isinstance(item, Path) and item.pen == PENS["great circle"] and len(item.commands) > 10
    ]
    assert len(circles) == 1
    points = np.array([command[1:] for command in circles[0].commands])
    centre = (points[0] + points[-1]) / 2.0
    radius = float(np.hypot(*(points[0] - centre)))
    dip, way = math.radians(fold.axial_dip_deg), math.radians(fold.axial_dip_direction_deg)
    pole = np.array([math.sin(dip) * math.sin(way), math.sin(dip) * math.cos(way), math.cos(dip)])
    for east, north in points - centre:
        # Lambert's projection undone: r = sqrt(2) R sin(half the angle from straight down).
        apart = 2.0 * math.asin(min(1.0, math.hypot(east, north) / (math.sqrt(2.0) * radius)))
        trend = math.atan2(east, north)
        line = np.array(
            [math.sin(apart) * math.sin(trend), math.sin(apart) * math.cos(trend), -math.cos(apart)]
        )
        assert abs(float(line @ pole)) < 2e-3


def test_of_limbs_that_go_on_turning_no_angle_is_told(compile_text):
    """Round beds, 10 to 45 degrees on either side."""
    lines = [HEAD, "at 1", "unit Ju", "bed 270/45"]
    for at, (dip, unit) in enumerate([(-28, "Ju"), (-10, "Tr"), (10, "Tr"), (28, "Ju"), (45, "Ju")], start=2):
        way = "090" if dip > 0 else "270"
        lines += [f"to {at} 090 100m level", f"unit {unit}", f"bed {way}/{abs(dip)}"]
    found = compile_text("\n".join(lines) + "\n")
    (told,) = found.geology.recognised
    form = told.finding.form
    assert form.name == "anticline"
    assert form.fold.sd_deg is None
    assert "no angle between its limbs is told: they go on turning" in told.words


def test_a_bed_in_the_core_belongs_to_the_limb_that_it_dips_with(compile_text):
    """The core is booked wide to the east, so that a bed of the east limb stands west of its middle."""
    lines = [
        HEAD,
        "at 1",
        "unit Tr",
        "bed 090/40",
        "to 2 090 100m level",
        "along 80m",
        "contact Ju/Tr certain",
    ]
    lines += ["at 2", "unit Ju", "bed 090/40", "to 3 090 20m level", "bed 270/50", "to 4 090 100m level"]
    lines += ["along 90m", "contact Ju/Tr certain", "at 4", "unit Tr", "bed 270/50", ""]
    fold = fold_of(compile_text("\n".join(lines)))
    assert [limb.n for limb in fold.limbs] == [2, 2]
    assert fold.interlimb_deg == pytest.approx(90.0, abs=1e-6)
