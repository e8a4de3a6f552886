"""Readings that geology makes doubtful: each asked about at its line, answerable, and quiet where all is well."""

import pytest

from tests.thorough import either

HEAD = """notation 1
bearings true
attitudes dip-direction
unit Cc Top ;
unit Bb Middle ;
unit Aa Base ;
control 1 0 E 0 N 100 m
at 1
unit Aa
"""

# Code, log after the head, the line it is told at, and an edit of the log after which it is quiet.
DOUBTS = [
    (
        "crossbed-as-bed",
        "bed 100/12\nto 2 100 50m\nbed 070/35\nrock sandstone, red, trough cross-beds\nto 3 100 50m\nbed 102/11\n",
        12,
        ("trough cross-beds", "flaggy"),
    ),
    (
        "crossbed-as-bed",
        "bed 070/40\nrock sandstone with cross-bedding in sets\n",
        10,
        ("bed 070", "crossbed 070"),
    ),
    (
        "dips-with-slope",
        "to 2 090 50m -20\nbed 095/22\nnote slumped mass below the ledge\nto 3 090 50m -20\n",
        11,
        ("slumped mass", "clean rib"),
    ),
    (
        "dips-with-slope",
        "to 2 090 50m -20\nbed 095/22\nnote slumped mass below the ledge\nto 3 090 50m -20\n",
        11,
        ("095/22", "275/22"),
    ),
    # At the foot of a slope, on a bench: as steep as the leg that came down.
    (
        "dips-with-slope",
        "to 2 090 50m -20\nbed 095/22\nnote slumped mass below the ledge\nto 3 090 50m level\n",
        11,
        ("-20", "-8"),
    ),
    (
        "bed-apart",
        "bed 100/20\nto 2 100 50m\nbed 280/60\nto 3 100 50m\nbed 104/22\n",
        12,
        ("280/60", "100/45"),
    ),
    # A fault between speaks for itself.
    (
        "bed-apart",
        "bed 100/20\nto 2 100 50m\nbed 280/60\nto 3 100 50m\nbed 104/22\n",
        12,
        ("to 2 100 50m\n", "to 2 100 50m\nalong 20m\nfault 010/80\nat 2\n"),
    ),
    (
        "younger-below",
        "bed 090/30\nto 2 270 100m level\nalong 50m\ncontact Bb/Aa certain\nat 2\nunit Bb\nbed 090/30\n",
        13,
        ("to 2 270", "to 2 090"),
    ),
    (
        "younger-below",
        "bed 090/30\nto 2 270 100m level\nalong 50m\ncontact Bb/Aa certain\nat 2\nunit Bb\nbed 090/30\n",
        13,
        ("/30", "/30 overturned\ntops down"),
    ),
    # Beds gentler than the ground: the younger unit lies above on the way down, too.
    (
        "younger-below",
        "bed 090/10\nto 2 090 100m -30\nalong 50m\ncontact Bb/Aa certain\nat 2\nunit Bb\nbed 090/10\n",
        13,
        ("-30", "+30"),
    ),
    # An unconformity says for itself how it lies; the beds under it lie another way.
    (
        "younger-below",
        "bed 270/70\nto 2 090 100m level\nalong 50m\nunconformity Bb/Aa certain 270/20\nat 2\nunit Bb\n",
        13,
        ("certain 270/20", "certain 090/20"),
    ),
    ("way-up-contradicts", "bed 090/40\ntops down load casts\n", 10, ("tops down", "tops up")),
    ("way-up-contradicts", "bed 090/40\ntops 270 scours\n", 10, ("270", "090")),
    (
        "edge-of-outcrop",
        "to 2 090 100m\ncovered 20m to 60m scree\nalong 60m\ncontact Bb/Aa certain\nat 2\nunit Bb\n",
        13,
        ("certain", "inferred"),
    ),
    (
        "edge-of-outcrop",
        "to 2 090 100m\ncovered 20m to 100m scree\nat 2\ncontact Bb/Aa certain\nunit Bb\n",
        13,
        ("to 100m scree", "to 90m scree"),
    ),
    (
        "certain-covered",
        "to 2 090 100m\ncovered 20m to 60m scree\nalong 40m\ncontact Bb/Aa certain\nat 2\nunit Bb\n",
        13,
        ("along 40m", "along 70m"),
    ),
    (
        "off-its-contact",
        (
            "contact Bb/Aa certain 090/70\nto 2 000 100m level\ncontact Bb/Aa certain\nto 3 090 60m level\n"
            "to 4 000 50m -12\ncontact Bb/Aa certain\n"
        ),
        10,
        ("090/70", "100/15"),
    ),
]


def codes(compiled):
    return [one.code for one in compiled.diagnostics if one.kind == "warning"]


@pytest.mark.parametrize(("code", "body", "line", "edit"), DOUBTS)
def test_a_doubt_is_told_at_its_line_and_not_without_cause(compile_text, code, body, line, edit):
    told = [one for one in compile_text(HEAD + body).diagnostics if one.code == code]
    assert [one.span.line for one in told] == [line]
    assert told[0].hints
    assert edit[0] in body
    assert code not in codes(compile_text(HEAD + body.replace(*edit)))


@pytest.mark.parametrize(
    ("body", "starts"),
    [
        ("bed 090/40\ntops W graded\n", "`overturned` after"),
        ("bed 090/40\ntops W graded\nto 2 000 50m\nbed 090/42\n", "`tops E`, as no other"),
        ("bed 090/40\ntops 270\nto 2 000 50m\nbed 090/42\n", "`tops 090`, as no other"),
        ("bed 090/40\ntops down\nto 2 000 50m\nbed 090/42\n", "`tops up`, as no other"),
        ("bed 090/40\ntops W\nto 2 000 50m\nbed 090/42 overturned\n", "`overturned` after"),
    ],
)
def test_tops_that_turn_a_bed_over_may_be_what_is_wrong(compile_text, body, starts):
    (one,) = [one for one in compile_text(HEAD + body).diagnostics if one.code == "way-up-contradicts"]
    assert one.hints[0].startswith(starts)
    assert "`tops" in one.hints[0]
    assert "`overturned`" in one.hints[0]


@pytest.mark.parametrize(("code", "body", "line", "edit"), DOUBTS)
def test_a_doubt_is_answered_by_who_looked(compile_text, code, body, line, edit):
    lines = (HEAD + body).splitlines()
    lines.insert(line, "checked MO went back and looked")
    told = [one for one in compile_text("\n".join(lines) + "\n").diagnostics if one.code == code]
    assert [one.kind for one in told] == ["answered"]


def test_the_hinge_of_a_fold_is_no_odd_reading(compile_text):
    body = "bed 090/45\nto 2 090 50m\nbed flat\nto 3 090 50m\nbed 270/45\n"
    assert "bed-apart" not in codes(compile_text(HEAD + body))


def test_cross_beds_booked_as_such_are_quiet(compile_text):
    body = "bed 100/12\nto 2 100 50m\nbed 101/12\ncrossbed 070/35\nrock sandstone, cross-bedded\n"
    assert "crossbed-as-bed" not in codes(compile_text(HEAD + body))


def test_many_beds_are_gone_through_in_one_pass(compile_text):
    body = "".join(f"to {i} 090 10m\nbed 100/{20 + i % 5}\n" for i in range(2, either(200, 600)))
    assert codes(compile_text(HEAD + "bed 100/20\n" + body)) == []


def test_tops_along_the_strike_are_asked_about_and_turn_no_bed(compile_text):
    """Beds young across their strike; 50 degrees off the dip still tells the side."""
    for tops, asked in (("N", True), ("S", True), ("350", True), ("E", False), ("040", False)):
        found = compile_text(HEAD + f"bed 090/40\ntops {tops}\n")
        told = [one.span.line for one in found.diagnostics if one.code == "tops-along-strike"]
        assert told == ([11] if asked else [])
        assert found.geology.beds[0].upside_down is (None if asked else False)


PILE = (
    "bed 090/30\nto 2 090 80m level\nalong 40m\ncontact Bb/Aa certain\nat 2\nunit Bb\nbed 090/31\n"
    "to 3 090 80m level\nalong 40m\ncontact Cc/Bb certain\nat 3\nunit Cc\nbed 090/30\n"
    "to 4 270 60m +5\nto 5 270 50m\nalong 10m\ncontact Cc/Bb certain\nat 5\nunit Bb\nbed 090/29\n"
)


def test_contacts_that_another_rule_sets_upright_are_one_message_at_the_line_of_the_rule(compile_text):
    """The same page under `dip-right`, whose strikes run north: read to the other side, all three contacts lie upside down."""
    page = HEAD.replace("attitudes dip-direction", "attitudes dip-right") + PILE.replace("090/", "000/")
    right, left = (compile_text(page.replace("dip-right", rule)) for rule in ("dip-right", "dip-left"))
    assert codes(right) == []
    (one,) = [one for one in left.diagnostics if one.kind == "warning"]
    assert one.code == "other-rule"
    assert left.sources[one.span.file].line(one.span.line) == "attitudes dip-left"
    assert "3 contacts of 3" in one.message
    assert "read as `dip-right`, at none" in one.message
    assert [label.span.line for label in one.labels] == [13, 19, 26]


def test_contacts_that_are_all_upside_down_by_letters_are_one_message(compile_text):
    """A letter speaks for itself under every rule; the list of units, or all beds, may be upside down."""
    page = HEAD + PILE
    for dip in ("30", "31", "29"):
        page = page.replace(f"090/{dip}", f"N0E/{dip}W")
    (one,) = [one for one in compile_text(page).diagnostics if one.kind == "warning"]
    assert one.code == "all-below"
    assert "all of 3 contacts" in one.message
    assert [label.span.line for label in one.labels] == [13, 19, 26]


def test_steep_beds_in_loose_ground_are_one_question(compile_text):
    """Of one unit; drift that lies nearly flat, and rock of that dip, are none."""
    body = "to 2 090 60m\nalong 20m\ncontact Cc/Aa certain\nat 2\nunit Cc\nbed 077/32\nto 3 090 50m\nbed 075/34\n"
    drift = compile_text(HEAD.replace("Top ;", "Drift ; Quaternary") + body)
    (one,) = [one for one in drift.diagnostics if one.code == "bed-in-loose"]
    assert one.message.startswith("bed 077/32, and 1 more in Cc")
    assert [label.span.line for label in one.labels] == [17]
    gentle = body.replace("/32", "/04").replace("/34", "/03")
    assert "bed-in-loose" not in codes(compile_text(HEAD.replace("Top ;", "Drift ; Quaternary") + gentle))
    assert "bed-in-loose" not in codes(compile_text(HEAD + body))


def test_beds_of_one_limb_that_turn_over_its_contacts_are_one_question(compile_text):
    """A syncline whose overturned limb nobody marked: an observation at its first bed, with all the contacts."""
    limb = "to 2 090 80m level\nalong 40m\ncontact Bb/Aa certain\nat 2\nunit Bb\nbed 090/31\n"
    body = (
        "bed 090/30\n"
        + limb
        + "to 3 090 80m level\nalong 40m\ncontact Cc/Bb certain\nat 3\nunit Cc\nbed 090/32\n"
        "to 4 090 80m level\nbed 090/70\nto 5 090 80m level\nalong 40m\ncontact Cc/Bb certain\nat 5\nunit Bb\nbed 090/72\n"
        "to 6 090 80m level\nalong 40m\ncontact Bb/Aa certain\nat 6\nunit Aa\nbed 090/71\n"
    )
    (one,) = [one for one in compile_text(HEAD + body).diagnostics if one.kind == "warning"]
    assert one.code == "limb-turns-over"
    assert one.message.startswith("by the beds at 4, 5 and 6, which lie alike and are taken as upright")
    assert "at 2 contacts" in one.message
    assert [label.text for label in one.labels] == ["Cc/Bb", "Bb/Aa"]
    marked = body
    for dip in ("70", "71", "72"):
        marked = marked.replace(f"/{dip}\n", f"/{dip} overturned\ntops down\n")
    assert "limb-turns-over" not in codes(compile_text(HEAD + marked))


def test_no_bed_of_one_limb_is_asked_about_by_the_contacts_of_the_other(compile_text):
    """A syncline of which one limb has no beds: those past the turn, which their own contacts bear out, tell nothing of it."""
    body = (
        "to 2 090 80m level\nalong 40m\ncontact Bb/Aa certain\nat 2\nunit Bb\n"
        "to 3 090 80m level\nalong 40m\ncontact Cc/Bb certain\nat 3\nunit Cc\n"
        "to 4 090 80m level\nbed 270/30\nto 5 090 80m level\nbed 270/31\nalong 40m\ncontact Cc/Bb certain\nat 5\nunit Bb\n"
        "to 6 090 80m level\nalong 40m\ncontact Bb/Aa certain\nat 6\nunit Aa\nbed 270/32\n"
    )
    assert codes(compile_text(HEAD + body)) == []
    # Without the way back nothing turns between: the beds and the order of the units can't both be right.
    (one,) = [one for one in compile_text(HEAD + body.partition("along 40m\ncontact Cc/Bb certain\nat 5")[0]).diagnostics if one.kind == "warning"]  # fmt: skip
    assert one.code == "bed-turns-over"


def test_a_bed_that_alone_turns_over_the_contacts_on_both_its_sides_is_asked_about(compile_text):
    """Where a syncline flattens, the beds on its sides do not lie alike; the order of the units tells."""
    body = (
        "bed 090/80\nto 2 090 80m level\nalong 40m\ncontact Bb/Aa certain\nat 2\nunit Bb\nbed 270/69\n"
        "to 3 090 80m level\nalong 40m\ncontact Cc/Bb certain\nat 3\nunit Cc\nbed 090/2\n"
    )
    (one,) = [one for one in compile_text(HEAD + body).diagnostics if one.kind == "warning"]
    assert one.code == "bed-turns-over"
    assert one.span.line == HEAD.count("\n") + 7
    # Where the contact was read beside it, a half turn stands first.
    body = body.replace("contact Bb/Aa certain", "contact Bb/Aa certain 090/62")
    (one,) = [one for one in compile_text(HEAD + body).diagnostics if one.code == "bed-turns-over"]
    assert one.hints[0].startswith(
        f"a half turn? 090/69 would fit, as Bb/Aa was read on line {HEAD.count(chr(10)) + 4}"
    )
    assert "overturned" in one.hints[0]
    assert "a half turn? 090/69 would fit" in one.hints[0]
    assert codes(compile_text(HEAD + body.replace("270/69", "090/69"))) == []


def test_a_rule_is_asked_about_where_one_contact_is_crossed_too_near_its_strike_to_tell(compile_text):
    """The first of four contacts is crossed 5° off the strike of the right rule: upright by it, and not for sure."""
    page = "\n".join(
        f"to {to} {way} 80m level\nalong 40m\ncontact {pair} certain\nat {to}\nunit {unit}\nbed 130/24"
        for to, way, pair, unit in (
            (2, "045", "Bb/Aa", "Bb"), (3, "085", "Cc/Bb", "Cc"), (4, "175", "Dd/Cc", "Dd"), (5, "085", "Ee/Dd", "Ee"),
        )
    )  # fmt: skip
    head = HEAD.replace("unit Cc", "unit Ee Cap ;\nunit Dd Roof ;\nunit Cc")
    right, wrong = (
        [
            one.code
            for one in compile_text(f"{head.replace('direction', rule)}bed 130/24\n{page}\n").diagnostics
        ]
        for rule in ("direction", "right")
    )
    assert "other-rule" not in right
    assert "other-rule" in wrong


@pytest.mark.parametrize(
    ("plane", "asked"),
    [("090/30", False), ("270/30", True), ("270/60 overturned", False), ("090/60 overturned", True)],
)
def test_an_unconformity_says_for_itself_which_side_is_up(compile_text, plane, asked):
    """Going east into the younger rock: over a plane that dips east, or under one that dips west and is overturned."""
    text = f"to 2 090 80m level\nalong 40m\nunconformity Bb/Aa certain {plane}\nat 2\nunit Bb\n"
    found = compile_text(HEAD + text).diagnostics
    assert ("younger-below" in {one.code for one in found}) is asked


@pytest.mark.parametrize(("bed", "asked"), [("270/60 overturned", False), ("270/60", True)])
def test_the_plane_of_a_contact_lies_with_its_face_to_where_the_beds_beside_it_do(compile_text, bed, asked):
    """The plane of the contact was read without a word on its way-up, which the beds beside it have."""
    text = f"bed {bed}\nto 2 090 80m level\nalong 40m\ncontact Bb/Aa certain {bed.split()[0]}\nat 2\nunit Bb\nbed {bed}\n"
    found = compile_text(HEAD + text).diagnostics
    assert ("younger-below" in {one.code for one in found}) is asked


LOOP = """notation 1
bearings true
attitudes dip-right
unit Lv Limestone ; Jurassic
at 1
unit Lv
bed 027/81 overturned
to 2 034 60m level
at 2
bed 025/83 overturned
to 3 124 60m level
at 3
bed 024/80 overturned
tops W scour
to 4 214 60m level
at 4
bed 026/80 overturned
close 1 304 60m level
"""


@pytest.mark.parametrize(
    ("was", "slip", "fits"),
    [
        ("bed 027/81 overturned", "bed 027/81", "`overturned` after the attitude"),
        ("bed 025/83 overturned", "bed 025/83", "`overturned` after the attitude"),
        ("bed 027/81 overturned", "bed 207/81 overturned", "a half turn? 027/81 would fit"),
        ("bed 025/83 overturned", "bed 205/83 overturned", "a half turn? 025/83 would fit"),
        ("bed 026/80 overturned", "bed 206/80 overturned", "a half turn? 026/80 would fit"),
    ],
)
def test_overturned_lost_or_turned_is_asked_about_where_a_loop_begins_too(compile_text, was, slip, fits):
    """The bed before the first is the last of the loop."""

    def told(text):
        return [one for one in compile_text(text).diagnostics if one.kind == "warning"]

    assert told(LOOP) == []
    (one,) = told(LOOP.replace(was, slip))
    assert (one.code, one.span.line) == ("overturned-apart", LOOP.splitlines().index(was) + 1)
    assert fits in one.hints[0]


def test_overturned_too_many_where_a_loop_begins(compile_text):
    upright = LOOP.replace(" overturned", "").replace("/8", "/5").replace("tops W scour", "tops up scour")
    upright += "at 3\nto 9 304 90m level\nat 9\nbed 027/81 overturned\ntops down\n"  # so that it is said of others too
    slip = upright.replace("bed 027/51", "bed 027/51 overturned")
    assert not [one for one in compile_text(upright).diagnostics if one.kind == "warning"]
    found = [one for one in compile_text(slip).diagnostics if one.code == "overturned-apart"]
    assert [one.span.line for one in found] == [upright.splitlines().index("bed 027/51") + 1]


def test_the_first_bed_of_an_overturned_limb_is_held_against_that_limb(compile_text):
    """Beyond it, beds of the other limb lie as it does by its slip."""
    beds = [
        "009/39",
        "008/40",
        "018/73 overturned\ntops down",
        "020/74 overturned",
        "018/72 overturned",
        "019/75 overturned",
    ]
    page = LOOP[: LOOP.index("at 1")] + "".join(
        f"{'at 0' if not at else f'to {at} 100 60m level'}\nbed {bed}\n" for at, bed in enumerate(beds)
    )

    def told(text):
        return [one for one in compile_text(text).diagnostics if one.code == "bed-apart"]

    assert told(page) == []
    (one,) = told(page.replace("018/73", "018/37"))
    assert one.hints[0].startswith("digits exchanged? 018/73 would fit")


def test_beds_that_turn_over_the_vertical_are_not_asked_about(compile_text):
    page = LOOP.replace("bed 025/83 overturned", "bed 205/87 upright")
    assert [one.message for one in compile_text(page).diagnostics if one.kind == "warning"] == []


def test_a_bed_apart_in_cross_bedded_rock_may_be_a_foreset(compile_text):
    page = """notation 1
bearings true
attitudes dip-right
unit Sd Sandstone ; Jurassic
at 1
unit Sd
bed 006/16
to 2 000 60m
at 2
bed 007/18
{rock}bed 32->080
to 3 000 60m
at 3
bed 009/17
"""
    (one,) = [one for one in compile_text(page.format(rock="")).diagnostics if one.code == "bed-apart"]
    assert "crossbed" not in one.hints[0]
    said = compile_text(page.format(rock="rock brown, x-bedded\n")).diagnostics
    (one,) = [one for one in said if one.kind == "warning"]
    assert one.hints[0].startswith("a foreset? then `crossbed 32->080`; else ")
    assert [one for one in compile_text(page.format(rock="").replace("bed 32", "crossbed 32")).diagnostics
            if one.kind == "warning"] == []  # fmt: skip
