"""Slips that leave a log in order, told by what they do beside the rest: a count along a leg, a wall, a bed alone."""

import re

import pytest

from traverse.diagnostic import Severity
from traverse.sheet.said.stops import gather
from traverse.sheet.said.tomorrow import to_check

HEAD = """notation 1
bearings true
attitudes dip-right
unit Dd Top ; Jurassic
unit Cc Upper ; Jurassic
unit Bb Middle ; Triassic
unit Aa Base ; Permian
"""
OUT = """at 1
unit Aa
bed 000/30
to 2 090 100m level
along 10m
contact Bb/Aa certain
along 40m
contact Cc/Bb certain
along 80m
contact Dd/Cc certain
at 2
unit Dd
bed 002/31
to 3 000 60m level
at 3
unit Dd
bed 359/30
"""
BACK = """to 4 270 100m level
along 20m
contact Dd/Cc certain
along 60m
contact Cc/Bb certain
along 90m
contact Bb/Aa certain
at 4
unit Aa
bed 001/29
"""
RIGHT = HEAD + OUT + BACK


def warned(done):
    return [(one.code, one.span.line) for one in done.diagnostics if one.severity is Severity.WARNING]


def test_a_right_log_is_not_asked_about(compile_text):
    assert warned(compile_text(RIGHT)) == []


def test_a_count_along_a_leg_with_its_digits_exchanged(compile_text):
    """Of two crossings either may be the wrong one: both lines are in the message."""
    wrong = compile_text(RIGHT.replace("along 60m\ncontact Cc", "along 36m\ncontact Cc"))
    out, back = (
        RIGHT.splitlines().index(line) + 1 for line in ("contact Cc/Bb certain", "to 4 270 100m level")
    )
    assert warned(wrong) == [("contact-shifted", out)]
    (told,) = [one for one in wrong.diagnostics if one.code == "contact-shifted"]
    assert [label.span.line for label in told.labels] == [back + 4]
    # 24 m along the walk, square to beds that dip 30°: 12 m; each unit's own beds differ by a degree.
    amounts = [int(found) for found in re.findall(r"(\d+) m th", told.message)]
    assert amounts == [pytest.approx(12, abs=1)] * 2


def test_a_unit_that_thins_by_itself_is_no_contact_shifted(compile_text):
    thinner = RIGHT.replace("along 60m\ncontact Cc", "along 36m\ncontact Cc").replace(
        "along 20m\n", "along 2m\n"
    )
    assert "contact-shifted" not in dict(warned(compile_text(thinner)))


def test_a_contact_both_ends_of_whose_leg_lie_on_one_side(compile_text):
    """The second of two is lost, or the unit at one end is wrong."""
    twice = "along 40m\ncontact Bb/Aa certain\nalong 70m\ncontact Bb/Aa certain\n"
    walk = "at 1\nunit Aa\nbed 000/30\nto 2 000 90m level\n" + twice + "at 2\nunit Aa\nbed 001/30\n"
    assert warned(compile_text(HEAD + walk)) == []
    lost = HEAD + walk.replace("along 70m\ncontact Bb/Aa certain\n", "")
    assert warned(compile_text(lost)) == [
        ("contact-leads-back", lost.splitlines().index("contact Bb/Aa certain") + 1)
    ]


def test_the_second_wall_of_a_dike_lost(compile_text):
    """Bedrock on both sides of it; where both walls are booked nothing is asked."""
    walls = "along 5m\ncontact Dk/Aa certain 090/80\nalong 8m\ncontact Dk/Aa certain 090/80\n"
    head = HEAD + "unit Dk Dolerite ; Paleogene ; intrusive\n"
    walk = "at 0\nunit Aa\nbed 001/30\nto 1 000 20m level\n" + walls
    both = compile_text(head + walk + OUT + BACK)
    assert "contact-leads-back" not in dict(warned(both))
    one = compile_text(head + walk.replace("along 8m\ncontact Dk/Aa certain 090/80\n", "") + OUT + BACK)
    assert [code for code, _ in warned(one)] == ["contact-missing"]


PANEL = ["020/40", "022/41", "019/38", "021/42", "018/40", "020/39", "023/41"]


def panel(beds):
    rows = ["notation 1", "bearings true", "attitudes dip-right", "unit A Alpha ; Jurassic"]
    for i, bed in enumerate(beds, 1):
        rows += [f"at {i}" if i == 1 else f"to {i} 110 40m", "unit A", f"bed {bed}"]
    return "\n".join(rows) + "\n"


@pytest.mark.parametrize(("bed", "off"), [("044/40", "15°"), ("020/65", "25°")])
def test_a_bed_off_those_around_it_that_no_slip_explains(compile_text, bed, off):
    """It is a note, offers nothing, and is on the list of what to look at again."""
    done = compile_text(panel([*PANEL[:3], bed, *PANEL[4:]]))
    (told,) = [one for one in done.diagnostics if one.code == "bed-off"]
    assert told.severity is Severity.NOTE
    assert f"bed {bed} lies {off} off 6 beds around it" in told.message
    tasks = to_check(done.trav, gather(done.trav), done.diagnostics)
    assert [task.place for task in tasks if bed in task.why] == ["Station 4"]


@pytest.mark.parametrize(
    "beds",
    [
        [*PANEL, "044/40"],  # the last: another limb may begin
        ["020/40", "020/30", "020/20", "020/08", "200/10", "200/22", "200/31", "200/40"],  # a fold
        ["020/40", "050/38", "352/42", "044/40", "018/44", "060/39", "000/41"],  # scattered
    ],
)
def test_a_bed_that_may_lie_so_is_not(compile_text, beds):
    assert "bed-off" not in {one.code for one in compile_text(panel(beds)).diagnostics}


ARM = """at 1
unit Aa
to 2 000 100m level
at 2
unit Aa
to 3 090 100m level
along 50m
contact Bb/Aa certain
at 3
unit Bb
to 4 180 100m level
at 4
unit Bb
close 1 270 100m level
along 50m
contact Bb/Aa certain
at 3
to 5 090 100m level
along 50m
contact Cc/Bb certain
at 5
unit Cc
close 4 225 141m level
along 71m
contact Cc/Bb certain
"""


def test_the_at_of_an_arm_lost_behind_a_closed_loop_is_one_message(compile_text):
    """The arm then goes on from where the loop closed, and its first contact is met in another unit."""
    assert warned(compile_text(HEAD + ARM)) == []
    lost = compile_text(HEAD + ARM.replace("at 3\nto 5", "to 5"))
    (told,) = [one for one in lost.diagnostics if one.severity is Severity.WARNING]
    assert (told.code, told.below) == ("closure-fails", 1)
    assert "`at 3` missing before it" in " ".join(
        (told.message, *told.hints, *(label.text for label in told.labels))
    )
