"""Slips of the pen in attitudes and units, each put into a page that is right otherwise."""

import pytest

from tests.structure.form.test_domains import HEAD, walk
from tests.structure.form.test_finding_words import TRESCURA

PANEL = ["120/35", "122/36", "118/34", "121/35", "119/37", "123/34", "120/33"]
FOLD = ["095/42", "093/38", "092/25", "060/12", "000/11", "295/22", "277/35", "275/43", "273/46"]


def told(compiled):
    return {
        one.span.line: one
        for one in compiled.diagnostics
        if one.kind == "warning"
        and one.code in {"bed-slipped", "bed-apart", "overturned-apart", "contact-of-others", "younger-below"}
    }


@pytest.mark.parametrize(
    ("slip", "words"),
    [
        ("030/34", "a quarter turn? 120/34 would fit"),
        ("301/35", "a half turn? 121/35 would fit"),
        ("121/53", "digits exchanged? 121/35 would fit"),
        ("211/35", "a quarter turn? 121/35 would fit"),
        ("121/56", "dip counted from upright? 121/34 would fit"),
    ],
)
def test_a_slip_in_one_panel_is_named_with_the_reading_that_would_fit(compile_text, slip, words):
    beds = [*PANEL[:3], slip, *PANEL[4:]]
    text = walk(beds, ["Ju"] * 7)
    found = told(compile_text(text))
    line = text.splitlines().index(f"bed {slip}") + 1
    assert list(found) == [line]
    assert words in found[line].hints[0]


@pytest.mark.parametrize(
    ("beds", "slip", "words"),
    [
        # Gentle beds, no two of which are 40 degrees apart.
        (["088/25", "182/26", "091/25", "089/24", "090/25"], "182/26", "a quarter turn? 092/26 would fit"),
        (["342/30", "341/31", "343/03", "340/29", "343/32"], "343/03", "digits exchanged? 343/30 would fit"),
        (["268/38", "267/36", "268/83", "270/39", "266/37"], "268/83", "digits exchanged? 268/38 would fit"),
        (["268/38", "267/36", "268/3", "270/39", "266/37"], "268/3", "a figure lost? 268/37 would fit"),
        (["165/8", "166/8", "347/9", "164/7", "166/9"], "347/9", "a half turn? 167/9 would fit"),
        (
            ["35->090", "36->092", "34->089", "53->091", "35->088"],
            "53->091",
            "digits exchanged? 35->091 would fit",
        ),
        (
            ["N10W/35NE", "N12W/36NE", "N9W/34NE", "N11W/53NE", "N10W/36NE"],
            "N11W/53NE",
            "digits exchanged? N11W/35NE would fit",
        ),
        (
            ["N74E/46N", "N72E/49N", "N74W/48N", "N76E/47N", "N73E/50N"],
            "N74W/48N",
            "west for east? N74E/48N would fit",
        ),
        (
            ["009/28", "007/31", "108/30", "006/32", "008/31"],
            "108/30",
            "first figure misread? 008/30 would fit",
        ),
        (
            ["114/36", "116/37", "014/36", "112/38", "115/38"],
            "014/36",
            "first figure misread? 114/36 would fit",
        ),
        (["N50W/12NE", "N52W/13SW", "N47W/11NE"], "N52W/13SW", "a half turn? N52W/13NE would fit"),
    ],
)
def test_the_limit_is_the_scatter_of_the_other_beds(compile_text, beds, slip, words):
    text = walk(beds, ["Ju"] * len(beds))
    (one,) = told(compile_text(text)).values()
    assert one.span.line == text.splitlines().index(f"bed {slip}") + 1
    assert words in one.hints[0]


def test_a_bed_that_its_way_up_sets_apart_from_those_beside_it_is_no_slip(compile_text):
    """Dip counted from upright would bring it to them, and turn it over."""
    beds = [
        "090/64 overturned",
        "091/63 overturned\ntops down",
        "089/27\ntops up",
        "090/65 overturned\ntops down",
    ]
    beds += ["092/64 overturned", "090/66 overturned"]
    assert "bed-slipped" not in {one.code for one in told(compile_text(walk(beds, ["Ju"] * 6))).values()}


def test_a_bed_of_a_unit_that_is_asked_about_is_not_asked_about_besides(compile_text):
    """A bed of the basement under the letters of the cover lies off all beds of that."""
    cover = ["268/04", "271/05", "269/03", "270/06"]
    said = compile_text(walk([*cover[:2], "268/40", *cover[2:]], ["Ju"] * 5)).diagnostics
    (slipped,) = [one for one in said if one.code == "bed-slipped"]
    assert [label.span.line for label in slipped.rests_on] == [slipped.span.line - 1]


def test_gentle_beds_that_only_scatter_are_not_asked_about(compile_text):
    """Three beds of 12 degrees each within a degree or two, and a fold of 10 degrees each way, two beds a limb."""
    for beds in (
        ["040/12", "049/14", "038/10"],
        ["040/12", "060/09", "030/14", "045/10", "052/12"],
        ["090/10", "091/11", "270/10", "272/11", "090/12", "089/10"],
    ):
        assert told(compile_text(walk(beds, ["Ju"] * len(beds)))) == {}


def test_readings_that_scatter_are_not_asked_about(compile_text):
    for beds in (PANEL, FOLD):
        assert told(compile_text(walk(beds, ["Ju"] * len(beds)))) == {}


def test_a_quarter_turn_in_a_fold_is_named_by_its_girdle(compile_text):
    beds = [*FOLD[:7], "005/43", FOLD[8]]
    (one,) = told(compile_text(walk(beds, ["Ju"] * 9))).values()
    assert one.code == "bed-slipped"
    assert "off the girdle of all other beds" in one.message
    assert "275/43 would fit" in one.hints[0]


def test_two_quarter_turns_in_a_fold_are_named_together(compile_text):
    beds = [
        "095/42",
        "093/38",
        "092/36",
        "094/40",
        "180/39",
        "092/25",
        "277/35",
        "275/43",
        "004/42",
        "273/46",
    ]
    found = told(compile_text(walk(beds, ["Ju"] * 10)))
    first, second = found.values()
    assert {first.code, second.code} == {"bed-slipped"}
    assert "bed 180/39 lies" in first.message
    assert "off the girdle of all other beds but 004/42 at 9" in first.message
    assert "090/39 would fit" in first.hints[0]
    assert "274/42 would fit" in second.hints[0]
    assert first.labels[0].span == second.span


def test_of_three_that_lie_apart_no_two_are_named(compile_text):
    beds = [
        "095/42",
        "093/38",
        "002/36",
        "094/40",
        "180/39",
        "092/25",
        "277/35",
        "275/43",
        "004/42",
        "273/46",
    ]
    assert not [
        one for one in told(compile_text(walk(beds, ["Ju"] * 10))).values() if one.code == "bed-slipped"
    ]


def test_a_forgotten_overturned_is_named(compile_text):
    text = TRESCURA.replace("bed 140/65 overturned\ntops down graded", "bed 140/65")
    found = compile_text(text)
    (one,) = told(found).values()
    assert one.code == "overturned-apart"
    assert (
        "bed 140/65 is not said to be overturned; the beds at 310 and 450, which lie alike, are"
        in one.message
    )
    assert told(compile_text(TRESCURA)) == {}


def test_two_forgotten_between_overturned_beds_are_asked_about_in_one_message(compile_text):
    beds = [
        "090/30\ntops up ripples",
        "090/64 overturned\ntops down graded",
        "092/66",
        "088/63",
        "090/65 overturned\ntops down graded",
    ]
    text = walk(beds, ["Ju"] * 5)
    (one,) = told(compile_text(text)).values()
    assert one.code == "overturned-apart"
    assert (
        "the beds at 3 and 4 are not said to be overturned; the beds at 2 and 5, which lie alike, are"
        in one.message
    )
    upright = text.replace("bed 092/66", "bed 092/66 upright").replace("bed 088/63", "bed 088/63 upright")
    assert told(compile_text(upright)) == {}
    # At an end of the walk nothing tells that no limb lies between.
    end = walk(beds[:4], ["Ju"] * 4)
    assert told(compile_text(end)) == {}


def test_beds_that_tops_typed_wrongly_turn_over_are_counted_under_these(compile_text):
    beds = ["090/30", "272/30", "270/31", "271/30\ntops down graded", "092/31"]
    page = walk(beds, ["Ju"] * 5)
    (one,) = [one for one in compile_text(page).diagnostics if one.kind == "warning"]
    assert (one.code, one.span.line) == ("way-up-contradicts", page.splitlines().index("bed 271/30") + 1)
    assert one.below == 1


def test_a_forgotten_overturned_at_the_end_of_a_walk_is_told_by_the_contact_before_it(compile_text):
    last = "contact Ju/Tr inferred ±8 m\nat 450\nunit Tr\nbed 140/64 overturned\ntops down graded"
    assert last in TRESCURA
    said = last.replace("inferred", "inferred 140/65 overturned")
    text = TRESCURA.replace(last, said.replace("64 overturned\ntops down graded", "64"))
    (one,) = told(compile_text(text)).values()
    assert one.code == "overturned-apart"
    assert "bed 140/64 is not said to be overturned; the bed at 395 and the contact between" in one.message
    assert told(compile_text(TRESCURA.replace(last, said))) == {}
    assert told(compile_text(text.replace("65 overturned ±8 m", "65 ±8 m"))) == {}


def test_a_contact_of_units_that_the_walk_is_not_in_is_named_once(compile_text):
    """Ju/Tr was crossed, and Ck/Ju written."""
    beds = ["090/30", "090/31", "090/30", "090/32"]
    text = walk(beds, ["Tr", "Ju", "Ck", "Ck"])
    assert told(compile_text(text)) == {}
    wrong = text.replace("contact Ju/Tr", "contact Kk/Ck")
    found = told(compile_text(wrong))
    (one,) = found.values()
    assert one.message == "Kk/Ck is met in Tr, which is neither of them"
    assert "`contact Ju/Tr` would fit" in one.hints[0]
    assert HEAD in wrong


def test_a_bed_where_a_dome_turns_is_asked_about_and_not_accused(compile_text):
    """Read on a cone of 31 degrees, from one flank over its end to the other; none of them is a slip."""
    flanks = (
        ["143/36", "149/33", "162/30", "150/36", "141/32"],
        ["327/31", "331/35", "332/32", "335/30", "330/30"],
    )
    beds = [*flanks[0], "062/33", *flanks[1]]
    text = walk(beds, ["Ju"] * len(beds))
    (one,) = [one for one in compile_text(text).diagnostics if one.kind == "warning"]
    assert (one.code, text.splitlines()[one.span.line - 1]) == ("bed-at-turn", "bed 062/33")
    assert one.hints[0].startswith("do they dip round the end of a dome or of a fold here")
    assert "a quarter turn? 332/33 would fit" in one.hints[0]
    # Not where the page says what turns it.
    noted = compile_text(text.replace("bed 062/33", "bed 062/33\nnote small fold in the bank"))
    assert [one for one in noted.diagnostics if one.kind == "warning"] == []
    # Within a flank the beds on both sides tell.
    within = walk([*flanks[0][:3], "062/33", *flanks[0][3:], *flanks[1]], ["Ju"] * len(beds))
    assert "bed-at-turn" not in {one.code for one in compile_text(within).diagnostics}


def test_a_half_turn_between_beds_that_steepen_is_named(compile_text):
    """The beds on its sides differ, yet dip to one side; turned, it lies between them."""
    beds = ["254/74", "252/73", "075/46", "253/38", "255/36", "075/30", "076/42", "074/41"]
    text = walk(beds, ["Ju"] * 8)
    found = [one for one in compile_text(text).diagnostics if one.kind == "warning"]
    assert [(one.code, text.splitlines()[one.span.line - 1]) for one in found] == [
        ("bed-apart", "bed 075/46")
    ]
    assert "off all between the beds at 2 and 4, which dip to one side" in found[0].message
    assert "a half turn? 255/46 would fit" in found[0].hints[0]
    beds[2] = "255/46"
    assert "bed-apart" not in {one.code for one in compile_text(walk(beds, ["Ju"] * 8)).diagnostics}


SWAPPED = """notation 1
bearings true
attitudes dip-right
unit Aa Rock ; Triassic
at 1
bed 038/35
to 2 000 30m
at 2
bed 041/37
to 3 000 30m
at 3
bed {bed}
to 4 000 30m
at 4
bed 040/36
to 5 000 30m
at 5
bed 039/34
to 6 000 30m
at 6
bed 040/36
"""


def test_the_first_and_the_last_digit_of_a_strike_may_be_exchanged(compile_text):
    text = SWAPPED.format(bed="330/35")
    found = told(compile_text(text))
    line = text.splitlines().index("bed 330/35") + 1
    assert list(found) == [line]
    assert "digits exchanged? 033/35 would fit" in found[line].hints[0]


def test_a_good_strike_in_its_place_is_not_asked_about(compile_text):
    assert told(compile_text(SWAPPED.format(bed="033/35"))) == {}


CONTACT = """notation 1
bearings true
attitudes dip-right
unit Ma Marl ; Jurassic
unit Sa Sand ; Triassic
at 1
unit Ma
bed {first}
to 2 310 60m
along 30m
{contact}
at 2
unit Sa
bed {last}
"""


def asked(compile_text, contact, first="039/34", last="040/34"):
    compiled = compile_text(CONTACT.format(contact=contact, first=first, last=last))
    return compiled, [one for one in compiled.diagnostics if one.kind == "warning"]


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("132/36", "a quarter turn? 042/36 would fit"),
        ("222/36", "a half turn? 042/36 would fit"),
        ("042/63", "digits exchanged? 042/36 would fit"),
    ],
)
def test_a_slip_in_the_attitude_of_a_contact_is_named_as_that_of_a_bed_is(compile_text, written, words):
    _, (one,) = asked(compile_text, f"contact Ma/Sa certain {written}")
    assert one.code == "contact-slipped"
    assert one.hints[0].startswith(words)


@pytest.mark.parametrize("contact", ["contact Ma/Sa certain 042/36", "unconformity Ma/Sa certain 132/36"])
def test_a_contact_that_lies_as_its_beds_or_need_not_is_not_asked_about(compile_text, contact):
    assert asked(compile_text, contact)[1] == []


@pytest.mark.parametrize(("far", "told"), [("041/35", ["contact-slipped"]), ("085/20", [])])
def test_beds_of_the_day_that_lie_alike_stand_in_for_one_beyond_a_fault(compile_text, far, told):
    page = f"{CONTACT}to 3 310 60m\nunit Sa\nbed {far}\nto 4 310 60m\nunit Sa\nbed 042/33\n".replace(
        "along 30m\n", "along 10m\nfault Ma/Ma certain 310/80\nalong 30m\n"
    )
    compiled = compile_text(
        page.format(contact="contact Ma/Sa certain 222/34", first="039/34", last="040/34")
    )
    assert [one.code for one in compiled.diagnostics if one.code == "contact-slipped"] == told


def test_beds_that_differ_tell_nothing_of_the_contact_between_them(compile_text):
    _, found = asked(compile_text, "contact Ma/Sa certain 132/36", last="130/34")
    assert "contact-slipped" not in {one.code for one in found}


TROUGH = """notation 1
bearings true
attitudes dip-right
unit Vo Clay ; Paleogene
unit Wy Sandstone ; Cretaceous
at 1
unit Wy
bed 345/25
to 2 106 117m level
along 78m
contact Vo/Wy certain
at 2
unit Vo
bed 340/18
to 3 078 122m level
unit Vo
to 4 114 125m level
along 107m
contact Vo/Wy certain
at 4
unit Wy
bed {east}
to 5 034 137m level
unit Wy
bed 155/25
to 6 310 129m level
unit Wy
to 7 257 131m level
along 62m
contact Vo/Wy certain
at 7
unit Vo
bed 161/04
to 8 284 127m level
unit Vo
bed 346/17
"""


def test_a_sound_bed_that_the_units_beside_it_bear_out_is_not_named_for_another(compile_text):
    """With the bed at 4 turned half round one limb of a trough has one bed, which lies out of the panel that the rest seem to be."""
    told = [
        (one.code, one.span.line)
        for one in compile_text(TROUGH.format(east="342/16")).diagnostics
        if one.code in {"bed-slipped", "younger-below"}
    ]
    assert told == [("younger-below", 19)]
    sound = compile_text(TROUGH.format(east="162/16")).diagnostics
    assert [one for one in sound if one.code in {"bed-slipped", "younger-below"}] == []


FAR_LIMB = """notation 1
bearings true
attitudes dip-direction
unit Fl Flags ; Ordovician
unit Gr Greywacke ; Cambrian
at 1
unit Fl
bed 258/47
to 2 090 60m level
unit Fl
bed 263/48
to 3 090 60m level
unit Fl
bed 270/44
to 4 090 60m level
along 30m
contact Fl/Gr certain
at 4
unit Gr
bed 268/40
to 5 090 60m level
unit Gr
bed 262/38
to 6 090 60m level
unit Gr
bed 054/44
to 7 090 60m level
along 10m
contact Fl/Gr certain
at 7
unit Fl
"""


def test_the_one_bed_of_another_limb_that_its_contact_bears_out_has_no_figure_misread(compile_text):
    """The units are in mirrored order: with 254 for 054 the older would lie on the younger."""
    borne_out = compile_text(FAR_LIMB).diagnostics
    assert [one for one in borne_out if one.code in {"bed-slipped", "younger-below"}] == []
    (alone,) = [
        one
        for one in compile_text(FAR_LIMB[: FAR_LIMB.index("along 10m")] + "at 7\nunit Gr\n").diagnostics
        if one.code == "bed-slipped"
    ]
    assert "254/44" in " ".join((alone.message, *alone.hints))


@pytest.mark.parametrize(
    ("contact", "first"), [(" 205/74", "a half turn? 207/71 would fit"), ("", "`overturned`")]
)
def test_a_half_turn_that_the_contact_bears_out_goes_before_overturned(compile_text, contact, first):
    """Of a steep limb the bed booked the other way round lies nearly as the overturned ones beside it."""
    page = (
        "notation 1\nbearings true\nattitudes dip-right\nunit Bb Younger ;\nunit Aa Older ;\nat 1\nunit Bb\n"
        "bed 025/83 overturned\nto 2 090 60m\nat 2\nunit Bb\nbed 026/85 overturned\ntops W\nto 3 090 60m\nalong 40m\n"
        f"contact Bb/Aa certain{contact}\nat 3\nunit Aa\nbed 027/71\nto 4 090 60m\nat 4\nunit Aa\nbed 248/05\n"
    )
    (one,) = [one for one in compile_text(page).diagnostics if one.code == "overturned-apart"]
    assert page.splitlines()[one.span.line - 1] == "bed 027/71"
    assert one.hints[0].startswith(first)
    assert "`overturned`" in one.hints[0]


LONE_LIMB = """notation 1
bearings true
attitudes dip-right
unit Yo Young Marl ; Jurassic
unit Mi Mid Lime ; Triassic
unit Ol Old Sand ; Permian
at 1
unit Ol
bed 000/30
to 2 090 80m
along 40m
contact Mi/Ol certain
at 2
unit Mi
bed 002/28
to 3 090 80m
along 40m
contact Yo/Mi certain
at 3
unit Yo
bed 358/20
to 4 090 80m
along 60m
contact Yo/Mi certain
at 4
unit Mi
bed 222/29
to 5 290 60m
along 15m
contact Yo/Mi certain
at 5
unit Yo
bed 352/11
to 6 280 100m
along 60m
contact Yo/Mi certain
at 6
unit Mi
bed 000/29
"""


def test_the_one_bed_of_a_far_limb_is_sound_where_the_contacts_on_both_sides_say_so(compile_text):
    # The walk goes over the trough of a fold and back; with 022/29 the younger Yo would lie under Mi.
    assert not told(compile_text(LONE_LIMB))


def test_no_reading_is_offered_that_sets_a_contact_upside_down_again(compile_text):
    found = compile_text(LONE_LIMB.replace("222/29", "022/29")).diagnostics
    turned = [one for one in found if one.code == "bed-turns-over"]
    assert [one.span.line for one in turned] == [27]
    assert "would fit" not in turned[0].hints[0]
