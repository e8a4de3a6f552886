"""One bed against those beside it: which of them is asked about, and what is offered in its place."""

import math
from types import SimpleNamespace

import pytest

from traverse.compile import compile_log
from traverse.source import Source
from traverse.structure.beds_apart import _apart, _beside, _off_turn
from traverse.structure.readings.directions import pole
from traverse.trade import ALIKE_DEG, FORESET_DEG

HEAD = """notation 1
bearings true
attitudes dip-right
pace 1 m
unit A Alpha ; Jurassic
unit B Beta ; Triassic
unit C Gamma ; Permian
"""
FIRST = """at 1
unit A
bed 020/33
to 2 110 60p
along 40p
contact A/B certain 200/34
at 2
unit B
bed 200/35
to 3 110 120p
along 40p
contact B/C certain
at 3
unit C
bed 020/18
to 4 110 60p
along 30p
contact B/C certain
at 4
unit B
bed 020/35
"""
"""The first bed turned by a half; the contact after it reads with the second."""
LAST = """at 1
unit B
bed 340/40
to 2 070 60p
unit B
bed 341/42
to 3 070 60p
along 30p
contact A/B certain 340/41
at 3
unit A
bed 161/41
"""
"""The last bed turned by a half."""
DOUBTS = {"bed-apart", "bed-slipped", "beds-against-units", "bed-against"}


def told(compiled):
    return [one for one in compiled.diagnostics if one.code in DOUBTS]


def line(text, words):
    return text.splitlines().index(words) + 1


def test_a_contact_that_reads_with_a_bed_bears_it_out(compile_text):
    text = HEAD + FIRST
    (one,) = told(compile_text(text))
    assert one.span.line == line(text, "bed 020/33")
    assert "a half turn? 200/33 would fit" in one.hints[0]
    assert told(compile_text(text.replace("bed 020/33", "bed 200/33"))) == []


def test_a_bed_between_two_is_sound_where_the_units_on_both_its_sides_bear_it_out(compile_text):
    """Without the contact's plane too: turned half round it would lay A under B."""
    text = HEAD + FIRST.replace("certain 200/34", "certain")
    assert told(compile_text(text)) == []
    # Where no unit tells, it is asked about.
    apart = text.replace("contact A/B certain", "unit B").replace("contact B/C certain", "unit B")
    apart = apart.replace("unit A\nbed", "unit B\nbed").replace("unit C\nbed", "unit B\nbed")
    assert line(apart, "bed 200/35") in [one.span.line for one in told(compile_text(apart))]


def test_what_the_structure_doubts_is_among_what_to_look_at(compile_text):
    text = HEAD + LAST.replace("certain 340/41", "certain").replace("along 30p", "along 40p")
    (one,) = told(compile_text(text))
    assert (one.kind, one.code, one.span.line) == ("warning", "beds-against-units", line(text, "bed 161/41"))
    assert "341/41 would fit" in one.hints[0]
    # Once another bed tells more, it is the reading and no longer the fold.
    (one,) = told(compile_text(text + "to 4 070 60p\nunit A\nbed 342/40\n"))
    assert (one.code, one.span.line) == ("bed-apart", line(text, "bed 161/41"))
    assert told(compile_text(text.replace("161/41", "341/41"))) == []


def test_an_end_of_the_walk_is_held_against_the_contact_and_the_bed_next_to_it(compile_text):
    text = HEAD + LAST
    (one,) = told(compile_text(text))
    assert (one.code, one.span.line) == ("bed-apart", line(text, "bed 161/41"))
    assert "lies 82° off A/B, 340/41, and the bed at 2" in one.message
    assert "341/41 would fit" in one.hints[0]


@pytest.mark.parametrize("bed", ["N71E/37SE", "N37E/51SE", "N73E/54SE"])
def test_what_no_exchange_of_figures_explains_is_left(compile_text, bed):
    assert told(compile_text(walked(["N36E/35SE", bed, "N38E/34SE"]))) == []


LOOP = """at 1
unit A
bed 020/35
to 2 110 60p
bed 021/36
to 3 000 60p
bed 022/34
to 4 290 60p
bed 020/33
close 1 180 60p
"""


@pytest.mark.parametrize("at", [1, 4])
def test_where_a_loop_comes_back_its_last_bed_stands_before_its_first(compile_text, at):
    right, wrong = {1: ("020/35", "200/35"), 4: ("020/33", "200/33")}[at]
    text = HEAD + LOOP.replace(right, wrong)
    (one,) = told(compile_text(text))
    assert (one.code, one.span.line) == ("bed-apart", line(text, f"bed {wrong}"))
    assert f"{right} would fit" in one.hints[0]
    assert told(compile_text(HEAD + LOOP)) == []


def test_a_half_turn_between_beds_that_agree_over_a_fault_is_asked_about(compile_text):
    over = LOOP.replace("to 4 290 60p", "to 4 290 60p\nalong 30p\nfault A/A certain 110/80 down S\nat 4")
    text = HEAD + over.replace("020/33", "200/33")
    (one,) = told(compile_text(text))
    assert (one.code, one.span.line) == ("bed-apart", line(text, "bed 200/33"))
    # What is merely steep may be turned by the fault.
    assert told(compile_text(HEAD + over.replace("020/33", "020/78"))) == []


@pytest.mark.parametrize(
    ("rule", "beds", "fits"),
    [
        ("dip-right", ("340/40", "161/41, 160/40", "342/40"), "341/41, 340/40 would fit"),
        ("dip-direction", ("070/40", "160/41", "072/40"), "a quarter turn? 070/41 would fit"),
        ("dip-right", ("340/40E", "250/41N", "342/40E"), "a quarter turn? 340/41E would fit"),
        ("dip-right", ("N20W/40E", "N70E/41N", "N18W/40E"), "a quarter turn? N20W/41"),
        ("dip-right", ("N36E/37SE", "N73E/37SE", "N38E/36SE"), "digits exchanged? N37E/37SE would fit"),
        ("dip-right", ("036/37SE", "073/37SE", "038/36SE"), "digits exchanged? 037/37SE would fit"),
        ("dip-right", ("N36E/35SE", "N37E/53SE", "N38E/34SE"), "digits exchanged? N37E/35SE would fit"),
    ],
)
def test_what_is_offered_can_be_typed(compile_text, rule, beds, fits):
    text = (
        HEAD.replace("dip-right", rule)
        + "at 1\nunit A\n"
        + "to N 070 60p\n".join(f"bed {bed}\n" for bed in beds)
    )
    for name in ("2", "3"):
        text = text.replace("to N", f"to {name}", 1)
    (one,) = told(compile_text(text))
    assert one.span.line == line(text, f"bed {beds[1]}")
    assert fits in one.hints[0]
    offered = one.hints[0].rpartition("? ")[2].removesuffix(" would fit")
    assert told(compile_text(text.replace(f"bed {beds[1]}\n", f"bed {offered}\n"))) == []


def walked(beds):
    legs = "".join(f"to {at} 090 60p\nbed {bed}\n" for at, bed in enumerate(beds[1:], 2))
    return HEAD.replace("dip-right", "dip-direction") + f"at 1\nunit A\nbed {beds[0]}\n" + legs


def test_of_beds_apart_next_to_each_other_the_one_is_named_that_mends_all(compile_text):
    found = told(compile_text(walked(["270/30", "090/29", "271/31", "091/30", "272/30"])))
    assert [one.span.line for one in found if one.code == "bed-apart"] == [14]


def test_of_two_that_mend_alike_one_message_names_both(compile_text):
    (one,) = told(compile_text(walked(["270/30", "090/29", "271/31", "091/30"])))
    assert one.span.line == 12
    assert (
        "a half turn? 270/29 would fit; or is it the bed at 3, which lies apart as well: a half turn? "
        in one.hints[0]
    )
    assert [span.line for span in one.doubts] == [14]
    assert (14, "or it is this one") in [(label.span.line, label.text) for label in one.labels]


@pytest.mark.parametrize(
    ("index", "without", "expected"),
    [(1, None, (0, 2)), (1, 2, (0, 3)), (2, 1, (0, 3)), (2, 3, (1,)), (1, 0, (2,)), (0, 1, (2,)), (3, 2, (1,)), (3, None, (2,))],
)  # fmt: skip
def test_with_a_bed_left_out_the_one_beyond_it_is_next(index, without, expected):
    """Of four beds in a row."""
    near = SimpleNamespace(
        closing=lambda _: None,
        next_to=lambda at: tuple(one for one in (at - 1, at + 1) if 0 <= one < 4),
    )
    assert _beside(near, index, without) == expected


def asked_of_three(near, *, parties="BC"):
    """A comes over a hinge to its second station alone; two stations of each other party lie `near` that one."""
    head = (
        "notation 1\ntraverse Sallow\ngrid EPSG:25833\nbearings grid\ndistances metres\nattitudes dip-right\n"
    )
    rows = {
        "A": [
            "at 1",
            " bed 000/40",
            "to 2 090 100",
            "at 2",
            " bed 180/38",
            "to 3 270 100",
            "at 3",
            " bed 002/41",
        ],
        "B": ["at 1", f" bed {near}/40", "to 2 000 30", "at 2", f" bed {near}/36"],
        "C": ["at 1", f" bed {near}/37", "to 2 180 30", "at 2", f" bed {near}/39"],
    }
    start = {"A": (500000, 6000000), "B": (500105, 6000010), "C": (500112, 5999990)}
    logs = {
        f"{one}.trav": "\n".join([head, f"control 1 {start[one][0]} E {start[one][1]} N", *rows[one], ""])
        for one in f"A{parties}"
    }
    camp = "\n".join(
        ["notation 1", "traverse Sallow", *(f"log {one}.trav as {one}" for one in f"A{parties}"), ""]
    )

    def load(path):
        return logs[path].encode()

    found = compile_log(Source(name="camp.trav", text=camp), load=load)
    assert not found.failed, [one.message for one in found.diagnostics]
    line = next(at for at, row in enumerate(logs["A.trav"].splitlines(), 1) if row == " bed 180/38")
    return any(
        (one.span.file, one.span.line) == ("A.trav", line)
        for one in found.diagnostics
        if one.kind == "warning"
    )


@pytest.mark.parametrize(
    ("near", "parties", "asked"), [("180", "BC", False), ("000", "BC", True), ("180", "B", True)]
)
def test_a_bed_that_two_other_parties_bear_out_beside_it_is_of_another_limb(near, parties, asked):
    assert asked_of_three(near, parties=parties) is asked


OTHER_LIMB = """notation 1
bearings true
attitudes dip-direction
pace double 1.5 m
unit Gv Gorse Gravelstone ; Neogene
unit Ml Hale Marl ; Upper Cretaceous
unit Ls Tarrow Limestone ; Lower Cretaceous
unit Sh Fenn Shale ; Upper Jurassic
at 1
unit Sh
to 3 102 242p
along 185p
contact Ls/Sh certain
at 3
unit Ls
bed 129/28
to 5 164 204p
along 27p
contact Ml/Ls certain
along 193p
contact Ml/Ls certain
at 5
unit Ls
to 6 240 117p
along 31p
contact Ml/Ls certain
at 6
unit Ml
to 7 218 142p
at 7
unit Ml
bed 312/30
to 8 275 105p
along 31p
contact Gv/Ml certain
at 8
unit Gv
bed 136/27
to 9 297 167p
along 67p
contact Gv/Ml certain
along 140p
contact Ml/Ls certain
at 9
unit Ls
to 11 013 208p
along 80p
contact Ls/Sh certain
at 11
unit Sh
bed 130/33
to 12 013 107p
at 12
unit Sh
bed 123/31
close 1 050 90p
"""


def test_a_limb_that_the_contacts_next_to_it_bear_out_is_no_half_turn_alone(compile_text):
    """One farther off, which the bed of the next limb tells better, made it a slip with no word of a fold."""
    compiled = compile_text(OTHER_LIMB)
    assert told(compiled) == []
    assert any("a synform? One bed alone, at 7, says so" in one.words for one in compiled.geology.findings)


BOTH_WAYS = "notation 1\nbearings true\nattitudes dip-right\nat 1\nbed 320/34\nbed {}\n"


@pytest.mark.parametrize("second", ["140/34", "150/31"])
def test_two_beds_of_one_place_that_dip_both_ways_are_asked_about(compile_text, second):
    found = compile_text(BOTH_WAYS.format(second))
    (one,) = (each for each in found.diagnostics if each.kind == "warning")
    assert (one.code, one.span.line) == ("beds-both-ways", 6)
    assert one.message == f"beds 320/34 and {second} at 1 dip to opposite sides"
    assert found.geology.findings[0].words.startswith("Beds at one place dip")
    answered = compile_text(BOTH_WAYS.format(second) + "checked MO hinge of a small fold in the face\n")
    assert [each.kind for each in answered.diagnostics if each.code == "beds-both-ways"] == ["answered"]


@pytest.mark.parametrize(
    "second", ["318/36", "140/12", "230/34", "140/34 overturned", "320/34\nto 2 050 90m\nbed 140/34"]
)
def test_beds_that_are_no_half_turn_apart_at_one_place_are_not(compile_text, second):
    found = compile_text(BOTH_WAYS.format(second))
    assert "beds-both-ways" not in {each.code for each in found.diagnostics}


def test_of_several_beds_the_one_that_lies_against_the_others_is_named_and_the_form_is_told_at_its_place(
    compile_text,
):
    found = compile_text(BOTH_WAYS.format("140/34\nbed 321/35") + "to 2 050 90m\nbed 319/33\n")
    assert [each.span.line for each in found.diagnostics if each.code == "beds-both-ways"] == [6]
    assert "dip away from each other at 1, one bed alone says: an antiform?" in " ".join(
        each.words for each in found.geology.findings
    )


def in_a_row(*ways_deg):
    """Beds of 35° as the walk met them, by where their dips point."""
    beds = [
        SimpleNamespace(
            flat=False, dip_deg=35.0, dip_direction_deg=way % 360.0, sd_deg=2.0, written=f"{way % 360.0:03.0f}/35"
        )
        for way in ways_deg
    ]  # fmt: skip
    return SimpleNamespace(beds=beds, poles=pole([35.0] * len(beds), dip_direction_deg=ways_deg))


def test_of_a_bed_apart_a_slip_is_named_that_leads_no_farther_off_than_a_foreset():
    """22° of dip direction at 35° are 2 asin(sin 35° sin 11°) = 12.6°: no sure slip, and within fifteen; 28° are 16°."""
    assert (
        2.0 * math.degrees(math.asin(math.sin(math.radians(35.0)) * math.sin(math.radians(11.0))))
        < FORESET_DEG
    )
    assert (
        2.0 * math.degrees(math.asin(math.sin(math.radians(35.0)) * math.sin(math.radians(14.0))))
        > FORESET_DEG
    )
    found = _apart(in_a_row(100.0, 258.0, 100.0), 1, (0, 2))
    assert (found.slip.words, found.slip.reading) == ("a half turn", "078/35")
    assert _apart(in_a_row(100.0, 280.0, 100.0), 1, (0, 2)).slip.reading == "100/35"
    assert _apart(in_a_row(100.0, 252.0, 100.0), 1, (0, 2)).slip is None
    assert _apart(in_a_row(100.0, 104.0, 100.0), 1, (0, 2)) is None


@pytest.mark.parametrize("middle_deg", [12.0, 102.0, 251.0])
@pytest.mark.parametrize(("apart_deg", "asked"), [(44.0, True), (46.0, False), (54.0, False)])
def test_a_half_turn_between_beds_that_turn_is_asked_about_where_both_dip_to_one_side(
    apart_deg, asked, middle_deg
):
    """Beds of 35° whose dips point up to 45° apart go round a nose that way; farther apart, either way."""
    ways = [middle_deg - apart_deg / 2.0, middle_deg + 180.0, middle_deg + apart_deg / 2.0]
    near = in_a_row(*ways)
    # Poles of one dip lie asin(sin 35° sin(apart / 2)) off the middle: they are not alike, and turn by less than 75°.
    assert (
        ALIKE_DEG
        < 2.0 * math.degrees(math.asin(math.sin(math.radians(35.0)) * math.sin(math.radians(22.0))))
        < 75.0
    )
    found = _off_turn(near, 1, (0, 2))
    assert (found is not None) is asked
    assert found is None or (found.turning and found.slip.dip_direction_deg == pytest.approx(middle_deg))
