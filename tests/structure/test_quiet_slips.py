"""Slips that leave a log in order, told by what they do beside the rest: a count along a leg, a wall, a bed alone."""

import re
from types import SimpleNamespace

import pytest

from traverse.diagnostic import Severity
from traverse.sheet.said.stops import gather
from traverse.sheet.said.tomorrow import to_check
from traverse.structure.thickness.shifted import _figures

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


AGAIN = (
    OUT.replace("at 1\n", "to 5 000 60m level\nat 5\n")
    .replace("to 2", "to 6")
    .replace("to 3", "to 7")
    .replace("at 2", "at 6")
)
AGAIN = AGAIN.replace("at 3", "at 7")


@pytest.mark.parametrize(
    ("slip", "offered"),
    [
        ("along 01m", "digits exchanged in its `along`? 10m would fit"),
        ("along 1m", "a figure lost in its `along`? 11m would fit"),
        ("along 12m", ""),
    ],
)
def test_a_contact_of_the_outermost_unit_miscounted(compile_text, slip, offered):
    """By three crossings of the one unit beside it."""
    page = RIGHT + AGAIN
    assert warned(compile_text(page)) == []
    wrong = compile_text(page.replace("along 10m", slip, 1))
    assert [one.hints[0].split(";")[0] for one in wrong.diagnostics if one.code == "contact-shifted"] == (
        [offered] if offered else []
    )


def test_of_a_figure_with_a_half_no_other_is_tried():
    """Its whole part alone was turned, and 21 held against the ground where `21½m` was offered."""
    assert ("digits exchanged", 21.0) in list(_figures(SimpleNamespace(written="12m", value=12.0)))
    assert list(_figures(SimpleNamespace(written="12½m", value=12.5))) == []


def test_a_contact_both_ends_of_whose_leg_lie_on_one_side(compile_text):
    """The second of two is lost, or the unit at one end is wrong; also where units booked between change without one."""
    twice = "along 40m\ncontact Bb/Aa certain\nalong 70m\ncontact Bb/Aa certain\n"
    walk = "at 1\nunit Aa\nbed 000/30\nto 2 000 90m level\n" + twice + "at 2\nunit Aa\nbed 001/30\n"
    assert warned(compile_text(HEAD + walk)) == []
    for seen in ("", "along 60m\nunit Aa\nalong 75m\nunit Bb\nalong 80m\nunit Aa\n"):
        lost = HEAD + walk.replace("along 70m\ncontact Bb/Aa certain\n", seen)
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


@pytest.mark.parametrize("last", [False, True])
@pytest.mark.parametrize(
    ("bed", "told"),
    [
        ("200/40", "bed-off"),  # a half turn, or the other limb
        ("110/40", "bed-apart"),
        ("020/04", "bed-apart"),
        ("020/23", ""),  # what a fold may do as well
        ("200/04", ""),
    ],
)
def test_a_bed_at_an_end_of_the_walk_off_all_next_to_it(compile_text, bed, told, last):
    """The slip is offered that leads to what they agree on; a half turn on the list of what to look at again alone."""
    beds = [bed, "021/41", "019/38", "020/40"]
    found = compile_text(panel(beds[::-1] if last else beds)).diagnostics
    asked = [one for one in found if one.code in {"bed-apart", "bed-off"}]
    assert [one.code for one in asked] == [told] * bool(told)
    assert all("? 020/40 would fit" in one.hints[0] for one in asked)
    # A second reading there bears it out.
    twice = compile_text(panel([f"{bed}, {bed}", *beds[1:]])).diagnostics
    assert not {one.code for one in twice} & {"bed-apart"}


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


LEVEL = "to {end} 090 50m level\nat {end}\nunit Aa\n{beds}\n"


def day(beds, between="", at=5):
    """A walk over one panel, a bed or more at each station, with a line `between` on the way to one of them."""
    rows = HEAD + f"at 1\nunit Aa\n{beds[0]}\n"
    for end, bed in enumerate(beds[1:], 2):
        leg = LEVEL.format(end=end, beds=bed)
        rows += leg.replace("\nat ", f"\n{between}\nat ", 1) if between and end == at else leg
    return rows


BEDS = [
    f"bed {strike:03d}/{dip}"
    for strike, dip in ((40, 32), (41, 33), (42, 31), (40, 34), (43, 32), (41, 31), (42, 33))
]


def told(compile_text, beds, **more):
    return {one.code: one for one in compile_text(day(beds, **more)).diagnostics}


def test_two_readings_of_one_surface_far_apart(compile_text):
    pair = [*BEDS[:3], "bed 040/34, 040/63", *BEDS[4:]]
    assert "lie 29° apart" in told(compile_text, pair)["readings-apart"].message
    sound = [*BEDS[:3], "bed 040/34, 046/41", *BEDS[4:]]
    assert "readings-apart" not in told(compile_text, sound)


def test_a_dip_misread_beside_a_fault(compile_text):
    """On both its sides beds agree; one that is dragged a little is left alone."""
    fault = {"between": "along 20m\nfault Aa/Aa certain 130/75 down N", "at": 5}
    steep = [*BEDS[:3], "bed 040/84", *BEDS[4:]]
    assert told(compile_text, steep, **fault)["bed-off"].severity is Severity.NOTE
    dragged = [*BEDS[:3], "bed 044/45", *BEDS[4:]]
    assert "bed-off" not in told(compile_text, dragged, **fault)


@pytest.mark.parametrize(("wrong", "right"), [("bed 032/60", "060/32"), ("bed N32E/60SE", "N60E/32SE")])
def test_strike_and_dip_each_in_the_place_of_the_other(compile_text, wrong, right):
    beds = [
        f"bed {strike:03d}/{dip}"
        for strike, dip in ((61, 32), (60, 33), (62, 31), (60, 32), (59, 32), (61, 31))
    ]
    beds[3] = wrong
    assert f"strike and dip exchanged? {right} would fit" in told(compile_text, beds)["bed-slipped"].hints[0]


@pytest.mark.parametrize("turned", [False, True])
def test_a_contact_said_to_lie_another_way_up_than_the_beds_beside_it(compile_text, turned):
    over = "" if turned else " overturned"
    text = HEAD + (
        "at 1\nunit Bb\nbed 000/60{o}\ntops W graded\nto 2 090 60m level\nalong 30m\ncontact Bb/Aa certain 001/61{c}\nat 2\nunit Aa\n"
        "bed 000/61{o}\nto 3 270 100m level\nalong 80m\ncontact Cc/Bb certain 000/60{o}\nat 3\nunit Cc\nbed 002/60{o}\n"
    )
    text = text.replace("tops W graded\n", "") if turned else text
    right = compile_text(text.format(o=over, c=over))
    wrong = compile_text(text.format(o=over, c=" overturned" if turned else ""))
    assert "overturned-apart" not in {one.code for one in right.diagnostics}
    (asked,) = [one for one in wrong.diagnostics if one.code == "overturned-apart"]
    assert asked.severity is Severity.NOTE
    assert asked.message.startswith("the contact Bb/Aa")


def test_other_sides_down_at_two_places_of_faults_that_lie_alike(compile_text):
    """Too far from each other's plane to be drawn as one."""
    text = day(BEDS, between="along 20m\nfault Aa/Aa certain 130/75 down N", at=3)
    again = text + "to 8 000 200m level\nalong 50m\nfault Aa/Aa certain 136/77 down {}\nat 8\nunit Aa\n"
    sides = {way: {one.code for one in compile_text(again.format(way)).diagnostics} for way in ("N", "S")}
    assert "fault-side" in sides["S"] - sides["N"]
