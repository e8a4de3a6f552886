"""What hangs on which of two comes first across the strike is told alike of the page, turned and in the mirror, and of the log
whichever way it lists what was read at one place."""

import pytest

WAYS = [(0, False), (180, False), (137, False), (0, True)]
HEADING = """notation 1
bearings true
attitudes dip-direction
unit Cc Upper ; Jurassic
unit Bb Middle ; Triassic
unit Aa Lower ; Permian
"""


def log_of(stations, turn_deg=0, *, mirrored=False):
    """A walk to the east, 50 m a leg, of what was booked at each station; `090` in it is turned or mirrored with the page."""

    def way(azimuth_deg):
        return f"{(-azimuth_deg if mirrored else azimuth_deg + turn_deg) % 360:03d}"

    text = f"{HEADING}at 1\n"
    for number, booked in enumerate(stations, 1):
        text += f"to {number} {way(90)} 50m level\n" if number > 1 else ""
        for item in booked:
            azimuth, slash, dip = item.partition("/")
            is_bed = azimuth in {"090", "270"}
            text += f"  bed {way(int(azimuth))}{slash}{dip}\n" if is_bed else f"  {item}\n"
    return text


def told(compile_text, stations, *way):
    """Level, sort and form of each finding, and what would decide it, in whatever order its places are named."""
    turn_deg, mirrored = way or (0, False)
    found = compile_text(log_of(stations, turn_deg, mirrored=mirrored))
    assert not found.failed
    return sorted(
        (
            one.finding.level.value,
            type(one.finding).__name__,
            str(one.finding.form.kind if one.finding.form else None),
            sorted(one.finding.decides or ""),
        )
        for one in found.geology.findings
    )


EAST, WEST = ["090/30"], ["270/31"]
BOTH = {
    "between the limbs": ([EAST, ["090/32"]], ["090/31", "270/30"], [WEST, ["270/33"]]),
    "on a panel": ([EAST, ["090/32"]], ["090/31", "270/30"], [EAST, ["090/33"]]),
    "at the end": ([EAST, ["090/32"]], ["090/31", "270/30"], []),
    "at the end, two of the other limb": ([EAST, ["090/32"]], ["090/31", "270/30", "270/34"], []),
    "at the one place where any was read": ([], ["090/31", "270/30"], []),
}


@pytest.mark.parametrize("case", BOTH)
def test_beds_of_one_place_are_told_alike_whichever_is_booked_first(compile_text, case):
    """The order of the log, and with it the way the page lies, made one fold of them, or three turns, or an even panel."""
    before, here, after = BOTH[case]
    first = told(compile_text, [*before, here, *after])
    for booked in (here, here[::-1]):
        for way in WAYS:
            assert told(compile_text, [*before, booked, *after], *way) == first


def test_beds_of_one_place_between_two_limbs_are_each_of_its_own_limb(compile_text):
    before, here, after = BOTH["between the limbs"]
    assert [one for one in told(compile_text, [*before, here[::-1], *after]) if "Turns" in one[1]] == [
        ("follows", "DipTurns", "FormKind.SYNFORM", [])
    ]
    assert not any("Against" in one[1] for one in told(compile_text, [*before, here[::-1], *after]))


def test_two_beds_of_one_place_make_no_form(compile_text):
    """They may dip toward each other or away: an antiform or a synform was asked about by the way the page lay."""
    assert {one[0] for one in told(compile_text, [["090/31", "270/30"]])} == {"observed"}


@pytest.mark.parametrize(
    "stations",
    [
        [["090/50"], ["090/10"], ["090/50"], ["090/12"]],
        [["unit Aa", "090/30"], ["contact Bb/Aa certain"], ["unit Bb", "270/30"], ["contact Cc/Bb certain"]],
        [
            ["unit Aa", "090/30"],
            ["090/32"],
            ["contact Bb/Aa certain", "unit Bb"],
            ["270/30"],
            ["contact Bb/Aa certain", "unit Aa", "270/34"],
            ["270/33"],
        ],
        [
            ["unit Aa", "090/30"],
            ["contact Bb/Aa certain", "unit Bb", "090/30 overturned"],
            ["090/35", "090/30 overturned"],
            ["090/40"],
            ["contact Bb/Aa certain", "unit Aa", "090/33"],
        ],
        [
            ["unit Bb", "090/2"],
            ["contact Cc/Bb certain", "unit Cc", "270/2"],
            ["contact Cc/Bb certain", "unit Bb", "090/3"],
            ["270/2"],
        ],
    ],
)
def test_a_page_that_is_turned_is_told_alike(compile_text, stations):
    """Two as steep; a place half-way that is a contact; beds at the middle and the borders of a core; partings as good."""
    first = told(compile_text, stations)
    assert all(told(compile_text, stations, *way) == first for way in WAYS)


def test_a_bed_against_those_on_both_sides_takes_no_part_in_their_panel(compile_text):
    """One to the west among four to the east: they are a panel, and it is told by itself."""
    found = compile_text(log_of([EAST, ["090/32"], WEST, ["090/31"], ["090/29"]]))
    rests = {
        type(one.finding).__name__: [bed.written for bed in one.finding.readings]
        for one in found.geology.findings
    }
    assert rests["EvenDip"] == ["090/30", "090/32", "090/31", "090/29"]
    assert rests["Against"] == ["270/31"]
