"""Structure is fitted within a body, an axis is a girdle, a limb dips more than its error: small logs of known geometry."""

import numpy as np
import pytest

from traverse.structure.form.domains import _axis
from traverse.structure.form.records import Level, Mirror
from traverse.structure.readings.directions import line, pole
from traverse.structure.readings.girdle import axis_or_lack, fold_axis, girdle_axis, scatter_deg
from traverse.structure.readings.mean import bedding_mean
from traverse.structure.readings.records import NoGirdle

HEAD = """notation 1
bearings true
attitudes dip-direction
unit Kk Cover ; Neogene
unit Ck Upper ; Cretaceous
unit Ju Middle ; Jurassic
unit Tr Lower ; Triassic
"""


def said(compiled):
    return " ".join(one.words for one in compiled.geology.findings)


def walk(beds, units, *, contact="contact", tops=None, close=False):
    """A level walk east of 100 m a leg; `beds` as typed, a contact half-way where the unit changes."""
    order = ["Kk", "Ck", "Ju", "Tr"]
    lines = [HEAD + "at 1"]
    for index, (bed, unit) in enumerate(zip(beds, units, strict=True)):
        if index:
            lines.append(f"to {index + 1} 090 100m level")
            if units[index - 1] != unit:
                pair = sorted((units[index - 1], unit), key=order.index)
                word = contact if "Kk" in pair or contact == "fault" else "contact"
                lines += ["along 50m", f"{word} {'/'.join(pair)} certain", f"at {index + 1}"]
        lines += [f"unit {unit}", f"bed {bed}"]
        if tops and tops[index]:
            lines.append(f"tops {tops[index]}")
    if close:
        lines.append(f"close 1 270 {100 * (len(beds) - 1)}m level")
    return "\n".join(lines) + "\n"


def test_beds_that_stand_to_either_side_of_upright_have_one_mean():
    """Six beds of 85 to 88 degrees that strike north: their upward poles nearly cancel, their axis lies level east."""
    poles = pole([85, 86, 88, 85, 87, 88], dip_direction_deg=[90, 270, 90, 270, 90, 270])
    mean = bedding_mean(poles)
    assert mean.dip_deg > 89.0
    assert min(mean.dip_direction_deg % 180.0, 180.0 - mean.dip_direction_deg % 180.0) == pytest.approx(
        90, abs=1
    )
    assert mean.alpha95_deg < 5.0


SCATTERED = ["095/46", "086/36", "102/26", "062/14", "350/11", "286/20", "266/37", "284/45", "264/52"]
"""A fold about a level line toward north whose readings scatter by 4 degrees."""


def test_beds_are_believed_to_scatter_where_no_precision_is_stated(compile_text):
    text = walk(SCATTERED, ["Ju"] * 9)
    axis = compile_text(text).geology.fold_axis
    assert axis is not None
    assert axis.rms_deg > 4.0
    stated = text.replace("bearings true", "bearings true\nprecision attitude 1")
    assert compile_text(stated).geology.fold_axis is None


def test_scatter_is_what_readings_next_to_each_other_differ_by():
    """Poles about a girdle with errors of 4 degrees; and poles on a cone, which leave it little by little."""
    rng = np.random.default_rng(5)
    turn = np.linspace(-50.0, 50.0, 200)
    off = rng.normal(0.0, 4.0, 200)
    girdle = pole(np.abs(turn), dip_direction_deg=np.where(turn < 0, 270.0, 90.0))
    girdle = girdle + np.radians(off)[:, None] * np.array([0.0, 1.0, 0.0])
    assert scatter_deg(girdle / np.linalg.norm(girdle, axis=1)[:, None]) == pytest.approx(4.0, rel=0.15)
    cone = pole(np.full(60, 30.0), dip_direction_deg=np.linspace(0.0, 180.0, 60))
    assert scatter_deg(cone) < 1.0


def test_a_mean_of_poles_does_not_hang_on_which_end_points_up():
    """Poles drawn about an axis that lies level, as those of upright beds do; the axis within its cone in 19 of 20 draws."""
    rng = np.random.default_rng(3)
    inside = 0
    for _ in range(400):
        poles = np.array([1.0, 0.0, 0.0]) + rng.normal(0.0, 0.05, (8, 3))
        poles /= np.linalg.norm(poles, axis=1)[:, None]
        mean = bedding_mean(np.where(poles[:, 2:] < 0.0, -poles, poles))
        off = np.degrees(
            np.arccos(min(1.0, abs(pole(mean.dip_deg, dip_direction_deg=mean.dip_direction_deg)[0])))
        )
        inside += off <= mean.alpha95_deg
    assert inside / 400 == pytest.approx(0.95, abs=0.03)


def test_beds_that_dip_one_way_beside_level_ones_are_no_fold_by_their_units_alone(compile_text):
    """A fold's other limb would dip the other way: the slope between two gentle ones is as likely."""
    words = said(
        compile_text(walk(["090/30", "090/32", "flat", "flat", "flat"], ["Tr", "Ju", "Ck", "Ju", "Tr"]))
    )
    assert (
        "one side level, all that dip east: a monocline, a fold or a fault? No bed dips the other way"
        in words
    )
    assert "steepen" not in words


def test_steep_beds_without_tops_make_no_fold(compile_text):
    beds = ["090/85", "270/86", "090/88", "270/85", "090/87", "270/88"]
    found = compile_text(walk(beds, ["Ju"] * 6))
    assert found.geology.recognised == ()
    assert "upright within their errors, striking 000°" in said(found)
    units = ["Tr", "Ju", "Ck", "Ck", "Ju", "Tr"]
    asked = compile_text(walk(beds, units))
    assert asked.geology.recognised == ()
    (one,) = [two.finding for two in asked.geology.findings if "mirrored" in two.words]
    assert one.says is Mirror.UPRIGHT
    assert one.level is Level.POSSIBLE


def test_cover_and_basement_make_no_anticline(compile_text):
    """Basement that dips 40 to the west under a cover that dips 15 to the east: each is one panel."""
    beds = ["270/40", "270/41", "270/39", "272/40", "090/15", "092/14", "088/15", "090/16"]
    units = ["Tr", "Tr", "Ju", "Ju", "Kk", "Kk", "Kk", "Kk"]
    found = compile_text(walk(beds, units, contact="unconformity"))
    assert found.geology.recognised == ()
    assert found.geology.fold_axis is None
    words = said(found)
    assert "Below the unconformity: Beds at 4 places dip 39° to 41°, all toward the west." in words
    assert "Above the unconformity: Beds at 4 places dip 14° to 16°, all toward the east." in words
    assert "an unconformity, 54° between them" in words


def test_beds_that_an_unconformity_does_not_part_are_one_body(compile_text):
    """Cover and basement folded together."""
    beds = ["090/40", "090/41", "090/39", "090/42", "270/40", "270/41", "270/38", "272/40"]
    units = ["Ju", "Ju", "Kk", "Kk", "Kk", "Kk", "Ju", "Ju"]
    found = compile_text(walk(beds, units, contact="unconformity"))
    assert [one.finding.form.name for one in found.geology.recognised] == ["syncline"]


def test_gentle_beds_do_not_show_that_they_were_turned_with_their_cover(compile_text):
    """A low arch under a cover that dips 4 degrees: each is told by itself, and that an unconformity parts them as it was booked."""
    beds = ["270/9", "270/8", "090/8", "090/8", "090/4", "090/4", "090/3", "090/4"]
    words = said(compile_text(walk(beds, ["Ju"] * 4 + ["Kk"] * 4, contact="unconformity")))
    assert "Below the unconformity: Beds at 4 places dip 8° to 9°, in more than one direction." in words
    assert "Above the unconformity: Beds at 4 places dip 3° to 4°, all toward the east." in words
    assert (
        "Kk lies unconformably on Ju, as booked on leg 4–5: the beds nearest to it on its two sides lie within 4° of each other."
        in words
    )


def test_a_dike_that_was_met_below_a_cover_alone_is_said_to_be(compile_text):
    """Of one that was met in the cover as well nothing is said."""
    beds = ["270/40", "270/41", "270/40", "090/15", "090/14"]
    log = walk(beds, ["Ju"] * 3 + ["Kk"] * 2, contact="unconformity").replace(
        "unit Ck", "unit Db Basalt dike ; Paleogene ; intrusive\nunit Ck", 1
    )
    wall = "along {}m\ncontact Db/{unit} certain\nalong {}m\ncontact Db/{unit} certain\n"
    log = log.replace("to 2 090 100m level\n", f"to 2 090 100m level\n{wall.format(40, 44, unit='Ju')}at 2\n")
    assert "Db was met in Ju, below the unconformity, and nowhere above it, in Kk." in said(compile_text(log))
    both = log.replace(
        "to 5 090 100m level\n", f"to 5 090 100m level\n{wall.format(40, 44, unit='Kk')}at 5\n"
    )
    assert "Db was met" not in said(compile_text(both))


def test_two_panels_on_either_side_of_a_fault_are_no_fold(compile_text):
    beds = ["090/40", "091/41", "090/39", "270/40", "271/41", "270/38"]
    units = ["Ju", "Ju", "Ju", "Tr", "Tr", "Tr"]
    found = compile_text(walk(beds, units, contact="fault"))
    assert found.geology.recognised == ()
    assert found.geology.fold_axis is None
    assert "Axis not determined: the beds turn across a fault alone." in said(found)
    # Half-way between the beds that turn lies the fault itself: which of the two units is in the core nobody saw.
    assert "across a fault: a synform that it cuts, or beds turned by it?" in said(found)
    # The same without the fault is one.
    assert compile_text(walk(beds, units)).geology.fold_axis is not None


def test_a_fault_that_can_be_walked_round_parts_nothing(compile_text):
    beds = ["090/40", "091/41", "090/39", "270/40", "271/41", "270/38"]
    text = walk(beds, ["Ju", "Ju", "Ju", "Tr", "Tr", "Tr"], contact="fault", close=True)
    assert compile_text(text).geology.fold_axis is not None


def test_an_axis_counts_the_beds_of_another_block_that_lie_on_its_girdle():
    """Six beds of a fold about a level line to the north; across a fault three on the same girdle, or one of them off it."""
    fold = [(40, 90), (25, 90), (10, 90), (10, 270), (25, 270), (40, 270)]
    for beyond, counted in ((((30, 90), (33, 90), (35, 270)), 9), (((30, 90), (33, 90), (35, 0)), 6)):
        dips, ways = zip(*fold, *beyond, strict=True)
        for blocks in ([0] * 6 + [1] * 3, [2] * 6 + [1] * 3):
            found = _axis(pole(dips, dip_direction_deg=ways), blocks, sd_deg=2.0)
            assert (found.n, round(found.plunge_deg)) == (counted, 0)
            assert round(found.trend_deg) % 180 == 0


def test_flat_beds_that_dip_within_their_error_make_no_fold(compile_text):
    beds = ["090/4", "090/5", "090/3", "270/4", "270/5", "270/3"]
    found = compile_text(walk(beds, ["Tr", "Ju", "Ck", "Ck", "Ju", "Tr"]))
    assert found.geology.recognised == ()
    assert "syncline" not in said(found)


@pytest.mark.parametrize(
    ("dips", "ways", "why"),
    [
        ([40, 41, 39, 40], [90, 90, 270, 270], NoGirdle.FEW),
        ([40, 41, 39, 40, 40, 38], [90, 92, 88, 90, 91, 180], NoGirdle.ONE_READING),
        ([20, 60, 35, 80, 45, 70, 55, 30], [10, 130, 250, 80, 300, 200, 45, 160], NoGirdle.SCATTERED),
    ],
)
def test_what_makes_no_girdle_has_no_axis(dips, ways, why):
    assert axis_or_lack(pole(dips, dip_direction_deg=ways)).why is why


def test_an_axis_is_as_good_as_its_error_says():
    """Limbs of 45 degrees each way about an axis to the north, readings good to 3 degrees: a thousand draws."""
    rng = np.random.default_rng(11)
    exact = pole([45] * 10, dip_direction_deg=[90] * 5 + [270] * 5)
    off = []
    for _ in range(1000):
        poles = exact + rng.normal(0.0, np.radians(3.0), exact.shape)
        found = fold_axis(poles / np.linalg.norm(poles, axis=1)[:, None])
        if found is not None:
            off.append(np.sin(np.radians(found.plunge_deg)) / np.radians(found.sd_deg))
    # One test in a hundred is failed by chance.
    assert len(off) > 970
    # Two limbs at a right angle: the axis is known alike in every direction.
    assert np.sqrt(np.mean(np.square(off))) == pytest.approx(1.0, abs=0.25)


def test_a_contact_met_on_the_way_out_and_back_is_no_repetition(compile_text):
    """One panel that dips 30 to the east; the walk crosses one contact, goes on along the strike and comes back over it."""
    text = HEAD + (
        "at 1\nunit Tr\nbed 090/30\nto 2 090 100m level\nalong 50m\ncontact Ju/Tr certain\nat 2\nunit Ju\nbed 090/31\n"
        "to 3 000 200m level\nunit Ju\nbed 090/30\nto 4 270 100m level\nalong 49m\ncontact Ju/Tr certain\n"
        "at 4\nunit Tr\nbed 090/29\nclose 1 180 200m level\n"
    )
    words = said(compile_text(text))
    assert "mirrored" not in words
    assert "again" not in words


def test_a_bed_logged_twice_counts_once(compile_text):
    beds = ["090/30", "092/31", "091/32", "090/30"]
    text = walk(beds, ["Ju"] * 4)
    twice = text.replace("bed 092/31", "bed 092/31\nbed 092/31")
    found = compile_text(twice)
    assert found.geology.bedding_mean == compile_text(text).geology.bedding_mean
    assert [one.message for one in found.diagnostics if one.code == "line-twice"] == [
        "this stands twice here in the same words (line 13); it counts once"
    ]


def test_a_finding_says_how_sure_it_is_and_what_it_does_not_exclude(compile_text):
    beds = ["090/40", "090/30", "270/30", "270/40"]
    (told,) = compile_text(walk(beds, ["Ju"] * 4)).geology.recognised
    assert told.finding.level is Level.FOLLOWS
    assert told.whole.endswith("Rests on 1, 2, 3 and 4.")
    lone = compile_text(walk(beds[:3], ["Ju"] * 3))
    (asked,) = [one for one in lone.geology.findings if one.finding.level is Level.POSSIBLE]
    assert asked.finding.form is None
    assert asked.finding.decides == "3"
    assert asked.words.endswith("a synform? A second bed there would tell.")
    assert [one.value for one in asked.finding.others] == ["a reading to look at again"]


def test_the_stated_error_of_an_axis_is_what_noisy_beds_scatter_by():
    """Beds turned by up to 40 degrees to each side about an axis that plunges 20 toward 037, read to 2 degrees."""
    rng = np.random.default_rng(5)
    axis = line(20.0, trend_deg=37.0)
    across = np.cross(axis, (0.0, 0.0, 1.0))
    across /= np.linalg.norm(across)
    upward = np.cross(across, axis)
    turns = np.radians(np.linspace(-40.0, 40.0, 12))
    beds = np.sin(turns)[:, None] * across + np.cos(turns)[:, None] * upward
    off, stated = [], []
    for _ in range(400):
        poles = beds + rng.normal(0.0, np.radians(2.0), beds.shape)
        found = girdle_axis(poles / np.linalg.norm(poles, axis=1)[:, None])
        # The worst known direction is that in which the poles spread least: up from the axis.
        off.append(np.degrees(np.arcsin(line(found.plunge_deg, trend_deg=found.trend_deg) @ across)))
        stated.append(found.sd_deg)
    assert np.sqrt(np.mean(np.square(stated))) == pytest.approx(np.std(off), rel=0.15)


def test_an_unconformity_with_its_units_the_wrong_way_round_is_one_question(compile_text):
    """Of the unit named last, which the list has above the other, a bed was read: nothing else lies under the contact."""
    log = "notation 1\nbearings true\nattitudes dip-right\nunit Aa Upper ; Jurassic\nunit Bb Lower ; Triassic\nat 1\nunit Aa\nbed 010/30\n"
    log += "to 2 090 100m level\nalong 50m\nunconformity Bb/Aa certain\nat 2\nunit Bb\n"
    found = compile_text(log)
    assert [one.code for one in found.diagnostics if one.span and one.span.line == 11] == ["younger-first"]
