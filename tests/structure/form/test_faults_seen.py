"""What is said of a fault, and how far one contact is apart across it."""

import math

import numpy as np
import pytest

from traverse.structure.form.separation import separation
from traverse.structure.readings.directions import line, pole

HEAD = """notation 1
bearings true
attitudes dip-direction
precision bearing 1, slope 1, pace 2%, attitude 2
unit Cc Upper ; Jurassic
unit Bb Middle ; Triassic
unit Aa Base ; Permian
"""
# Due east over beds that dip 30° to the west, level: Bb/Aa at 50 m and again at 150 m, the fault at 100 m.
WALK = """at 1
  unit Bb
  bed 270/30
to 2 090 200m level
along 50m
  contact Bb/Aa certain
along 75m
  bed 270/30
along 100m
  fault Bb/Aa certain{plane}
{scratch}along 125m
  bed {beyond}
along 150m
  contact Bb/Aa certain
at 2
  unit Aa
"""

FAR = """at 1
  unit Aa
  bed 090/35
to 2 090 600m level
along 50m
  contact Bb/Aa certain
along 300m
  fault Bb/Aa certain{plane}
along 500m
  bed {beyond}
along 550m
  contact Bb/Aa certain
at 2
  unit Bb
"""
"""Down the fault each comes to it 340 m from where it was met."""


def told(compile_text, plane=" 090/60", *, scratch="", beyond="270/30", walk=WALK):
    compiled = compile_text(HEAD + walk.format(plane=plane, scratch=scratch, beyond=beyond))
    (found,) = (one for one in compiled.geology.findings if one.claim == "fault seen")
    return found


def test_a_contact_met_on_both_sides_tells_how_far_they_are_apart(compile_text):
    """Worked by hand: 100 m along level ground, times sin 30° square to the beds, which the fault is square to: 50 m."""
    found = told(compile_text)
    apart = found.finding.separation
    assert apart.dip_m == pytest.approx(50.0, abs=0.1)
    assert apart.vertical_m == pytest.approx(50.0 * math.sin(math.radians(60.0)), abs=0.1)
    assert apart.normal is True
    assert apart.up_deg == pytest.approx(270.0)
    words = found.words.replace("\u00a0", " ")
    assert words.startswith(
        "Fault on leg 1–2 (60° → 090°), Bb against Aa: normal dip separation of Bb/Aa 50 ± "
    )
    assert words.endswith(" of it vertical), west side up.")
    assert found.rests_on


def test_where_it_goes_against_what_was_booked_both_are_said(compile_text):
    assert told(compile_text, " 090/60 reverse").words.endswith("west side up, though booked reverse.")
    assert "booked" not in told(compile_text, " 090/60 normal").words


@pytest.mark.parametrize(
    ("plane", "beyond", "walk", "words"),
    [
        (
            "",
            "270/30",
            WALK,
            "Fault on leg 1–2, Bb against Aa: separation not told, its dip was not measured.",
        ),
        (" 090/60", "300/65", WALK, "separation not told, the beds on its sides differ by 41°."),
        (" 090/04", "270/30", WALK, "separation not told, it lies level or nearly so."),
        (" 275/30", "270/30", WALK, "separation not told, it runs along the beds, or nearly so."),
        (
            " 090/60",
            "270/30",
            WALK.replace("along 50m\n  contact Bb/Aa certain\n", "").replace("fault Bb/Aa", "fault Bb/Bb"),
            "separation not told, no contact met on both sides.",
        ),
        (
            " 090/60",
            "270/30",
            WALK.replace("along 125m", "along 110m\n  fault Bb/Aa certain 090/60 down E\nalong 125m"),
            "separation not told, another fault lies between.",
        ),
        (
            " 090/60",
            "",
            WALK.replace("  bed {beyond}", "  unit Aa"),
            "separation not told, no bed measured on one of its sides.",
        ),
        (
            " 090/60",
            "270/30",
            WALK.replace("fault Bb/Aa", "fault Aa/Aa").replace("2\n  unit Aa", "2\n  unit Bb"),
            "separation not told, the beds on its sides young opposite ways.",
        ),
        (
            " 090/60",
            "090/35",
            FAR,
            "separation not told, the contact met on both sides lies too far off.",
        ),
        (
            " 090/60",
            "270/30",
            WALK + "from 1 to 3 000 100m level\nto 4 090 200m level\nclose 2 180 100m level\n",
            "separation not told, the walk leads round it, by what was booked.",
        ),
        (
            " 090/60",
            "270/30",
            WALK.replace("unit Bb", "unit Cc", 1)
            .replace("along 50m", "along 5m\n  contact Cc/Bb certain\nalong 50m")
            .replace("fault Bb/Aa", "fault Cc/Aa")
            .replace("along 150m", "along 140m\n  contact Cc/Bb certain\nalong 150m"),
            "separation not told, two contacts come apart by different figures.",
        ),
    ],
)
def test_else_one_reason_says_why_none_is_told(compile_text, plane, beyond, walk, words):
    text = HEAD + walk.format(plane=plane, scratch="", beyond=beyond)
    found = [one for one in compile_text(text).geology.findings if one.claim == "fault seen"]
    assert all(words in one.words for one in found)
    assert {one.finding.separation for one in found} == {None}
    assert {one.rests_on for one in found} == {""}


def test_an_upright_fault_has_no_side_that_lies_over_it(compile_text):
    found = told(compile_text, " 090/88")
    assert found.finding.separation.normal is None
    assert "): dip separation" in found.words.replace(", Bb against Aa", "")
    assert found.words.endswith("west side up.")


def test_striations_stand_with_the_fault(compile_text):
    found = told(compile_text, scratch="  striation 60->090\n")
    assert "(60° → 090°, striations 60° → 090°)" in found.words


def test_what_lies_along_the_beds_is_no_separation_and_the_slip_is():
    """In vectors: a surface moved by a slip, and seen anywhere on it, is apart by n·slip / n·d, whatever the places."""
    rng = np.random.default_rng(4)
    for _ in range(20):
        normal = pole(float(rng.uniform(5.0, 80.0)), dip_direction_deg=float(rng.uniform(0.0, 360.0)))
        dip, way = float(rng.uniform(30.0, 89.0)), float(rng.uniform(0.0, 360.0))
        down = line(dip, trend_deg=way)
        strike = np.cross(pole(dip, dip_direction_deg=way), down)
        slip = rng.uniform(-50.0, 50.0) * down + rng.uniform(-50.0, 50.0) * strike
        along = np.cross(normal, rng.normal(size=3)) * 100.0
        found = separation(
            along + slip, np.zeros((3, 3)), (normal, 2.0), dip_deg=dip, dip_direction_deg=way, sd_deg=2.0
        )
        assert found.dip_m == pytest.approx(float(normal @ slip) / float(normal @ down))
        assert found.vertical_m == pytest.approx(found.dip_m * math.sin(math.radians(dip)))


@pytest.mark.parametrize(("dip", "way"), [(60.0, 90.0), (70.0, 40.0), (80.0, 250.0)])
def test_its_error_is_that_of_readings_drawn_with_theirs(dip, way):
    """2,000 draws of the place, the beds and the fault, each off by its own deviation, against the one that is stated."""
    rng = np.random.default_rng(7)
    bed, beyond = pole(35.0, dip_direction_deg=265.0), np.array([120.0, 30.0, 8.0])
    square = pole(dip, dip_direction_deg=way)
    stated = separation(
        beyond, np.diag([9.0, 4.0, 1.0]), (bed, 2.0), dip_deg=dip, dip_direction_deg=way, sd_deg=3.0
    )

    def turned(axis, sd_deg):
        across = np.linalg.svd(axis[None, :])[2][1:]
        moved = axis + np.radians(rng.normal(0.0, sd_deg, (2000, 2))) @ across
        return moved / np.linalg.norm(moved, axis=1)[:, None]

    beds, planes = turned(bed, 2.0), turned(square, 3.0)
    ways = beyond + rng.normal(size=(2000, 3)) * (3.0, 2.0, 1.0)
    level = np.cross((0.0, 0.0, 1.0), planes)
    down = np.cross(level, planes)
    down *= -np.sign(down[:, 2:]) / np.linalg.norm(down, axis=1)[:, None]
    apart = (beds * ways).sum(axis=1) / (beds * down).sum(axis=1)
    assert float(apart.std()) == pytest.approx(stated.sd_m, rel=0.08)
    assert float((-down[:, 2] * apart).std()) == pytest.approx(stated.vertical_sd_m, rel=0.08)
