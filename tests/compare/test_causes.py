"""Each slip is named once, at its line, and nobody else is accused."""

import re

import numpy as np
import pytest
from scipy.spatial import procrustes
from scipy.spatial.transform import Rotation

from tests.compare.camp import ROOT, VALLEY, WASH, bearings_turned, compiled, held, six_parties, walked_again
from tests.thorough import some
from traverse.compare.pairing import laid_on
from traverse.compare.records import Part, total


def line_of(text, words):
    return next(number for number, line in enumerate(text.splitlines(), 1) if line.startswith(words))


SLIPS = {
    "declination applied twice": (lambda t: bearings_turned(t, lambda a: round(a + 4.7) % 360, beds=True), "declination"),
    "declination of the wrong sign": (lambda t: t.replace("4.7 E", "4.7 W"), "declination"),
    "declination left out: bearings were magnetic": (lambda t: t.replace("bearings    magnetic", "bearings    true"), "bearings"),
    "dip-left for dip-direction": (lambda t: t.replace("dip-direction", "dip-left"), "attitudes"),
    "feet taken for metres": (lambda t: t.replace("double 100 m in", "double 328 m in"), "pace"),
    "single paces counted as double": (lambda t: t.replace("double 100 m in", "double 200 m in"), "pace"),
    "another grid or zone": (lambda t: t.replace("25833", "25832"), "grid"),
    "known point 1 is not where the key has it": (lambda t: t.replace("control 1 4124", "control 1 4125"), "control"),
    "E and W of the dial exchanged in every bearing": (lambda t: bearings_turned(t, lambda a: -a % 360, beds=False), "to 2"),
    "leg 7–8: bearing reversed": (lambda t: t.replace("to 8  073", "to 8  253").replace("28p +6 back 251", "28p +6"), "to 8"),
    "leg 9–10: 100 paces too many": (lambda t: t.replace("121 54p", "121 154p"), "to 10"),
}  # fmt: skip


@pytest.mark.parametrize("cause", SLIPS)
def test_a_slip_is_named_once_at_its_line(cause):
    slip, word = SLIPS[cause]
    text = slip(VALLEY)
    comparison = held(text, VALLEY)
    (found,) = comparison.causes
    assert found.cause == cause
    assert found.span.line == line_of(text, word)
    assert found.rests_on
    scored, of = total(comparison.marks)
    mended, _ = total(comparison.marks_mended)
    assert scored < 0.95 * of
    assert mended > scored
    assert mended > 0.93 * of


@pytest.mark.parametrize("seed", some(range(4), 4))
def test_a_party_with_ordinary_errors_is_accused_of_nothing(seed):
    comparison = held(walked_again(VALLEY, seed), VALLEY)
    assert comparison.causes == ()
    assert comparison.apart == ()


@pytest.mark.thorough
@pytest.mark.parametrize("cause", some(["declination of the wrong sign", "dip-left for dip-direction"], 2))
def test_it_is_named_through_ordinary_errors(cause):
    (found,) = held(SLIPS[cause][0](walked_again(VALLEY, 11)), VALLEY).causes
    assert found.cause == cause


def test_two_causes_are_named_apart():
    text = VALLEY.replace("dip-direction", "dip-right").replace("121 54p", "121 154p")
    comparison = held(text, VALLEY)
    assert [one.span.line for one in comparison.causes] == [
        line_of(text, "attitudes"),
        line_of(text, "to 10"),
    ]


def test_a_loop_that_the_key_left_open_accuses_no_party_that_walked_the_same():
    open_loop = (ROOT / "tests/reference/logs/loop-that-fails.trav").read_text("utf-8")
    comparison = held(open_loop, open_loop)
    assert comparison.causes == ()
    assert comparison.apart == ()


def test_mirrored_offsets_are_one_cause():
    beside = WASH
    for station, side in (("4", "right"), ("5", "left"), ("7", "right")):
        row = next(line for line in beside.splitlines() if line.startswith(f"to {station} "))
        beside = beside.replace(row, f"{row}\nalong 12p {side} 9p\n  note ledge")
    swapped = beside.replace("left", "LEFT").replace("right", "left").replace("LEFT", "right")
    (found,) = held(swapped, beside).causes
    assert found.cause == "left and right exchanged"
    assert found.span.line == line_of(swapped, "along 20p right")


def test_eleven_attitudes_of_twelve_turned_are_one_cause():
    """Eleven of twelve beds typed with the strike's other end under dip-right: one slip of the convention."""
    rows = ["notation 1", "bearings true", "attitudes dip-right", "control 1 1000 E 2000 N", "at 1"]
    beds = [(20 + 3 * i, 30 + i % 4) for i in range(12)]

    def log(beds):
        walk = [f"  bed {strike:03d}/{dip}\nto {i} 090 20m" for i, (strike, dip) in enumerate(beds, 2)]
        return "\n".join((*rows, *walk, ""))

    key = log(beds)
    text = log([(s if i == 5 else (s + 180) % 360, d) for i, (s, d) in enumerate(beds)])
    (found,) = held(text, key).causes
    assert found.cause == "dip-right for dip-left"
    assert found.span.line == 3
    assert "11 of 12 attitudes" in found.rests_on


def test_the_best_fit_is_that_of_an_independent_library():
    """Rotation by `Rotation.align_vectors`, what is left by `procrustes`, both of scipy, on places in a plane."""
    chance = np.random.default_rng(20260714)
    known = chance.uniform(0.0, 400.0, (9, 2)) + np.array((412_000.0, 5_168_000.0))
    turn = np.radians(7.3)
    clockwise = np.array(((np.cos(turn), np.sin(turn)), (-np.sin(turn), np.cos(turn))))
    walked = (
        1.04 * (known - known.mean(axis=0)) @ clockwise.T + (30.0, -12.0) + chance.normal(0.0, 2.0, (9, 2))
    )
    fit, left = laid_on(known, walked)
    a, b = (np.column_stack([one - one.mean(axis=0), np.zeros(9)]) for one in (known, walked))
    theirs = Rotation.align_vectors(a, b)[0].as_euler("xyz", degrees=True)[2]
    assert fit.rotation_deg == pytest.approx(theirs, abs=1e-6)
    _, _, disparity = procrustes(walked, known)
    assert (left**2).sum() / (b**2).sum() == pytest.approx(disparity, rel=1e-6)
    assert fit.scale == pytest.approx(1.04, abs=4.0 * fit.scale_sd)
    assert fit.rotation_deg == pytest.approx(7.3, abs=4.0 * fit.rotation_sd_deg)


@pytest.mark.thorough
def test_a_declination_set_twice_is_mended_in_the_bearings_and_costs_no_marks_for_what_the_mend_raises():
    """The declination itself is right: the compass had it already."""
    found = held(six_parties(20)["twice"], VALLEY)
    assert [(one.cause, one.reading) for one in found.causes] == [
        ("declination applied twice", "bearings true")
    ]
    process = [
        next(one for one in marks if one.part is Part.PROCESS) for marks in (found.marks, found.marks_mended)
    ]
    assert process[1].scored >= process[0].scored


def test_what_was_not_done_is_told_with_its_line():
    log = VALLEY.replace(" back 2", " # back 2", 1)
    found = held(log, VALLEY)
    item = next(one for part in found.marks for one in part.items if one.what == "legs")
    line = next(number for number, row in enumerate(log.splitlines(), 1) if "# back 2" in row)
    assert "no back bearing" in item.note
    assert f"line {line}" in item.note or f"{line}," in item.note


GROUND = (ROOT / "tests/compare/hollin-valley.trav").read_text("utf-8")
"""Three units on an even dip, each border between two of them walked over twice."""


def turned(text, times=1, *, at=0):
    """Contacts Ss/Sh written the other way round, so many from a first one on."""
    parts = text.split("contact Ss/Sh")
    joints = ["contact Sh/Ss" if at <= one < at + times else "contact Ss/Sh" for one in range(len(parts) - 1)]
    return "".join(one for pair in zip(parts, [*joints, ""], strict=True) for one in pair)


def warned(text):
    return [one.span.line for one in compiled(text).diagnostics if one.code == "younger-first"]


@pytest.mark.parametrize("at", [0, 1])
def test_a_contact_with_its_two_units_exchanged_is_named_once_at_the_line_that_check_asks_about(at):
    party = turned(GROUND, at=at)
    comparison = held(party, GROUND)
    (found,) = comparison.causes
    assert [found.span.line] == warned(party)
    assert "younger and older exchanged" in found.cause
    assert found.reading == "contact Ss/Sh certain"
    marks = {one.part: one for one in comparison.marks}
    mended = {one.part: one for one in comparison.marks_mended}
    # One contact of four, 0.3 taken off it: 20 (1 - 0.3 / 4).
    assert marks[Part.CONTACTS].scored == pytest.approx(18.5)
    assert mended[Part.CONTACTS].scored == 20.0
    assert marks[Part.PROCESS].scored < mended[Part.PROCESS].scored


def test_a_list_of_units_in_another_order_accuses_no_contact():
    """Both contacts of two units go with the key and against the party's own list: it is the list that is asked about."""
    units = ("unit Ss Pike Sandstone ; Triassic\n", "unit Sh Reed Shale ; Permian\n")
    party = GROUND.replace("".join(units), "".join(reversed(units)))
    assert warned(party)
    assert held(party, GROUND).causes == ()


def test_a_contact_that_goes_with_the_key_is_accused_of_nothing_for_the_list_beside_it():
    units = ("unit Ss Pike Sandstone ; Triassic\n", "unit Sh Reed Shale ; Permian\n")
    party = turned(GROUND.replace("".join(units), "".join(reversed(units))))
    assert warned(party)
    assert held(party, GROUND).causes == ()


@pytest.mark.parametrize("seed", some(range(8), 8))
def test_a_walk_that_lies_elsewhere_is_told_by_its_shift_with_its_error(seed):
    def moved(east, north):
        return re.sub(
            r"control 1 (\d+) E (\d+) N",
            lambda at: f"control 1 {int(at[1]) + east} E {int(at[2]) + north} N",
            walked_again(VALLEY, seed),
        )

    (said,) = held(moved(60, -45), VALLEY).for_leader
    east, north, sd = (
        int(one)
        for one in re.search(
            r"lies ([+-]\d+) m east and ([+-]\d+) m north of the key's, ± (\d+) m", said
        ).groups()
    )
    # The fix of each is good to 6 m: what is told is the shift of this walk, and its error.
    assert abs(east - 60) <= 3 * sd + 18
    assert abs(north + 45) <= 3 * sd + 18
    assert "its shape the same" in said
    assert held(moved(0, 0), VALLEY).for_leader == ()
