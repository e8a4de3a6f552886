"""What a message says to type, typed word for word: the log then compiles, and holds what the page held."""

import re

import pytest

from traverse.sheet.said.cautions import NONE_NOTED, hazards_closing

HEAD = "notation 1\nbearings true\nattitudes dip-direction\npace double 1.5 m\nunit Kl Kettle Lime ; Jurassic\nunit Hs Hob Shale ; Triassic\n"
PAGE = f"{HEAD}at 1\nunit Hs\nto 2 090 100p +5 back 270\nalong 30p\ncontact Kl/Hs certain\nat 2\nunit Kl\nbed 139/28\n"


def told(compile_text, text):
    return [one for one in compile_text(text, errors=True).diagnostics if one.kind in {"error", "warning"}]


def typed(hint):
    return re.findall(r"`([^`]+)`", hint)


@pytest.mark.parametrize(
    ("slip", "right", "code"),
    [
        (("at 2\nunit Kl\n", "at 2  unit Kl\n"), "unit Kl", "second-statement"),
        (("unit Kl\nbed 139/28", "unit Kl  bed 139/28"), "bed 139/28", "second-statement"),
        (("along 30p\ncontact", "along 30p contact"), "contact Kl/Hs certain", "second-statement"),
        (("unit Kl\nbed 139/28", "unit Kl; bed 139/28"), "bed 139/28", "second-statement"),
        (("unit Kl\nbed 139/28", "unit Kl, Bed 139/28"), "Bed 139/28", "second-statement"),
        (("unit Kl\nbed 139/28", "unit Kl\nbed 139/28, joint 040/80"), "joint 040/80", "second-statement"),
        (("back 270\nalong", "back 270; hazard bog\nalong"), "hazard bog", "second-statement"),
    ],
)
def test_a_second_statement_goes_on_a_line_of_its_own(compile_text, slip, right, code):
    one = told(compile_text, PAGE.replace(*slip))[0]
    assert (one.code, typed(one.hints[0])) == (code, [right])
    mended = re.sub(rf"[;,]? *({re.escape(right)})", r"\n\1", PAGE.replace(*slip))
    assert told(compile_text, mended) == []


@pytest.mark.parametrize(
    ("slip", "right"),
    [
        ("; Rock Flags", "Rock Flags ; AGE"),
        ("; Rock Flags ; Jurassic", "Rock Flags ; Jurassic"),
        (";", "NAME ; AGE"),
        ("; Lower Jurassic", "NAME ; Lower Jurassic"),
        ("; Jurassic ; #4a7f3c", "NAME ; Jurassic ; #4a7f3c"),
    ],
)
def test_the_name_of_a_unit_stands_before_its_first_semicolon(compile_text, slip, right):
    """Obeying it brought the same message with one `;` more each time."""
    page = PAGE.replace("unit Kl Kettle Lime ; Jurassic", f"unit Kl {slip}")
    (one,) = told(compile_text, page)
    assert (one.code, typed(one.hints[0])) == ("unit-name", [f"unit Kl {right}"])
    assert (
        told(compile_text, page.replace(f"unit Kl {slip}", f"unit Kl {right}".replace("AGE", "Jurassic")))
        == []
    )


def test_words_of_a_name_are_no_second_statement(compile_text):
    (one,) = told(compile_text, PAGE.replace("unit Kl Kettle Lime ;", "unit Kl Rock Flags ,"))
    assert (one.code, typed(one.hints[0])) == ("unit-name", ["unit Kl Rock Flags ; Jurassic"])


@pytest.mark.parametrize(
    ("whole", "begun", "rest"),
    [
        ("to 2 090 100p +5 back 270", "to 2 090 100p", "+5 back 270"),
        ("to 2 090 100p +5 back 270", "to 2 090 100p +5", "back 270"),
        ("to 2 090 100p +5 back 270", "to 2 090", "100p +5 back 270"),
        ("contact Kl/Hs certain", "contact Kl/Hs", "certain"),
    ],
)
def test_what_ends_the_line_above_is_offered_with_it(compile_text, whole, begun, rest):
    found = told(compile_text, PAGE.replace(whole, f"{begun}\n  {rest}"))
    (one,) = [one for one in found if one.code == "statement-wrapped"]
    assert typed(one.hints[0]) == [whole]


def test_a_dash_before_a_statement(compile_text):
    (one,) = told(compile_text, PAGE.replace("\nunit Hs\nto", "\n- unit Hs\nto"))
    assert typed(one.hints[0]) == ["unit Hs"]


@pytest.mark.parametrize(
    ("right", "wrong", "fixes"),
    [
        ("to 2 090", "to 2 E71N", ["N71E", "N19E"]),
        ("back 270", "back W20S", ["S20W", "S70W"]),
        ("bed 139/28", "bed 139-28", ["139/28"]),
        ("contact Kl/Hs certain", "contact Kl/Hs certain 139-28", ["139/28"]),
        ("100p", "6Odp", ["60dp"]),
        ("100p", "591/2p", ["59 1/2p"]),
        ("along 30p", "along 301/2p", ["30 1/2p"]),
        ("back 270", "b 270", ["back 270"]),
    ],
)
def test_each_figure_offered_compiles(compile_text, right, wrong, fixes):
    one = told(compile_text, PAGE.replace(right, wrong))[0]
    assert [fix for hint in one.hints for fix in typed(hint)] == fixes
    word = wrong.split(" ", 1)[1] if wrong.startswith("bed") else wrong.split()[-1]
    for fix in fixes:
        mended = wrong if wrong.startswith("b 2") else wrong.replace(word, fix)
        after = told(compile_text, PAGE.replace(right, fix if wrong.startswith("b 2") else mended))
        assert all(one.kind != "error" for one in after)


def test_the_place_of_a_lost_count(compile_text):
    (one,) = told(compile_text, PAGE.replace("100p ", ""))
    fix = typed(one.hints[0])[-1]
    assert fix == "to 2 090 DISTANCE +5 back 270"
    assert (
        told(compile_text, PAGE.replace("to 2 090 100p +5 back 270", fix.replace("DISTANCE", "100p"))) == []
    )


@pytest.mark.parametrize(
    ("wrong", "right"),
    [
        ("control 1 412350 E 5168020 N 640 m 4 gps", "control 1 412350 E 5168020 N 640 m ±4 gps"),
        ("control 1 412350 E 5168020 N 640 m 4 m", "control 1 412350 E 5168020 N 640 m ±4 m"),
    ],
)
def test_how_good_a_height_is_without_its_sign(compile_text, wrong, right):
    text = PAGE.replace("bearings true\n", f"grid EPSG:25833\nbearings true\n{wrong}\n")
    one = told(compile_text, text)[0]
    assert typed(one.hints[0])[0] == right
    assert all(one.kind != "error" for one in told(compile_text, text.replace(wrong, right)))


@pytest.mark.parametrize("wrong", ["139,28", "139.28"])
def test_a_strike_and_a_dip_without_their_slash(compile_text, wrong):
    (one,) = told(compile_text, PAGE.replace("139/28", wrong))
    assert (one.code, typed(one.hints[0])) == ("dip-missing", ["139/28"])


@pytest.mark.parametrize(
    ("right", "wrong", "typed_so"),
    [("+5 back", "+ 5 back", "+5"), ("contact Kl/Hs certain", "contact Kl/Hs approximate 2 m", "±2 m")],
)
def test_a_sign_apart_or_lost(compile_text, right, wrong, typed_so):
    (one,) = told(compile_text, PAGE.replace(right, wrong))
    assert typed(one.hints[0]) == [typed_so]
    mended = wrong.replace("+ 5", "+5").replace("2 m", "±2 m")
    assert told(compile_text, PAGE.replace(right, mended)) == []


@pytest.mark.parametrize(
    ("fore", "back", "offered"),
    [("23", "302", ["123", "023"]), ("27", "093", ["273", "027"]), ("23", "204", []), ("71", "160", [])],
)
def test_a_bearing_with_a_figure_too_few_is_held_against_its_back(compile_text, fore, back, offered):
    (one,) = told(compile_text, PAGE.replace("to 2 090 100p +5 back 270", f"to 2 {fore} 100p +5 back {back}"))
    assert (one.code, typed(one.hints[0])) == ("three-figures", offered)


def test_a_fix_without_its_error_beside_one_that_has_it(compile_text):
    fixes = (
        "grid EPSG:25833\ncontrol 1 412350 E 5168020 N 640 m ±4 gps\ncontrol 2 412500 E 5168020 N 655 m gps\n"
    )
    text = PAGE.replace("bearings true\n", f"{fixes}bearings true\n")
    assert [(one.code, one.span.line) for one in told(compile_text, text) if one.code == "control-exact"] == [
        ("control-exact", 4)
    ]
    for mended in (
        text.replace("655 m gps", "655 m ±4 gps"),
        text.replace("655 m gps", "655 m map"),
        text.replace("±4 gps", "map"),
    ):
        assert "control-exact" not in [one.code for one in told(compile_text, mended)]


def test_a_side_that_is_two(compile_text):
    text = PAGE.replace("bearings true\n", "bearings magnetic\ndeclination 3.2 O, 2026, map margin\n")
    one = told(compile_text, text)[0]
    for fix in typed(one.hints[0]):
        after = told(compile_text, text.replace("declination 3.2 O, 2026, map margin", fix))
        assert all(one.kind != "error" for one in after)


@pytest.mark.parametrize("wrong", ["Kettle Lime , Jurassic", "Kettle Lime Jurassic", "Kettle Lime: Jurassic"])
def test_a_unit_without_its_semicolon(compile_text, wrong):
    (one,) = told(compile_text, PAGE.replace("Kettle Lime ; Jurassic", wrong))
    assert typed(one.hints[0]) == ["unit Kl Kettle Lime ; Jurassic"]
    (one,) = told(compile_text, PAGE.replace("Kettle Lime ; Jurassic", "Kettle Lime Lower Jurassic"))
    assert typed(one.hints[0]) == ["unit Kl Kettle Lime ; Lower Jurassic"]


def test_a_colour_that_is_none_says_what_one_is(compile_text):
    (one,) = told(compile_text, PAGE.replace("; Jurassic", "; Jurassic ; #rrggbb"))
    assert one.code == "unit-colour"
    assert told(compile_text, PAGE.replace("; Jurassic", f"; Jurassic ; {typed(one.hints[0])[-1]}")) == []


def test_words_are_not_taken_for_a_statement(compile_text):
    (one,) = told(compile_text, PAGE.replace("bed 139/28", "loose blocks above the path\nbed 139/28"))
    assert "close" not in " ".join(one.hints)
    assert "hazard" in typed(one.hints[0])


@pytest.mark.parametrize(
    ("wrong", "right"),
    [("Jurasic", "Jurassic"), ("Quaternery", "Quaternary"), ("upper Cretacious", "upper Cretaceous")],
)
def test_an_age_misspelt(compile_text, wrong, right):
    (one,) = told(compile_text, PAGE.replace("; Jurassic", f"; {wrong}"))
    assert (one.code, typed(one.hints[0])[0]) == ("age-spelling", right)


@pytest.mark.parametrize(
    "age", ["Tithonian", "Kimmeridgian", "Trias", "Old Red", "Palaeogene", "Llandoverian"]
)
def test_an_age_of_another_list(compile_text, age):
    assert told(compile_text, PAGE.replace("; Jurassic", f"; {age}")) == []


@pytest.mark.parametrize("note", ["hazard: loose blocks", "Danger - loose blocks", "hazard loose blocks"])
def test_a_hazard_in_a_note(compile_text, note):
    (one,) = told(compile_text, f"{PAGE}note {note}\n")
    assert (one.code, typed(one.hints[0])) == ("hazard-noted", ["hazard loose blocks"])
    assert told(compile_text, f"{PAGE}hazard loose blocks\nnote warning sign at the gate\n") == []


SURE = ["loose blocks above path", "cliff edge, hidden", "edge of the gully", "deep ford", "river high, not crossed", "old mine shaft", "unstable face",
        "bull in the field", "rockfall from the crag", "sank to the knee", "slippery when wet", "adders", "beware of the bull",
        "crag, 6 m drop", "loose edge", "drop of 6 m behind the heather", "careful: crag"]  # fmt: skip
UNSURE = [
    "edge of a sinkhole, hidden",
    "ice on slab",
    "quarry edge",
    "tide comes in fast",
    "rockfall, overgrown",
    "ford at the track",
    "crag to the left",
]


@pytest.mark.parametrize("words", [*SURE, *UNSURE])
def test_a_note_that_names_a_hazard_is_asked_about(compile_text, words):
    """A warning where the words are said of little else."""
    said = compile_text(f"{PAGE}note {words}\n").diagnostics
    (one,) = [one for one in said if one.code == "hazard-noted"]
    assert (one.kind, typed(one.hints[0])) == ("warning" if words in SURE else "note", [f"hazard {words}"])
    assert not any(one.code == "hazard-noted" for one in compile_text(f"{PAGE}hazard {words}\n").diagnostics)


@pytest.mark.parametrize(
    "words", ["no loose blocks here", "grains loose in the hand", "a cliff section", "spring", "price 3 nice crinoids", "miners' path"]
)  # fmt: skip
def test_a_note_that_names_none_is_not(compile_text, words):
    assert not any(one.code == "hazard-noted" for one in compile_text(f"{PAGE}note {words}\n").diagnostics)


@pytest.mark.parametrize(
    ("words", "kind"),
    [("shale, black; hazard rockfall from face", "warning"), ("edge of crag, 6 m drop", "note"),
     ("loose blocks above the path", "note"), ("bull in the field", "note"), ("slate; ford deep after rain", "note"), ("shale, slippery under the ford", "note")],
)  # fmt: skip
def test_rock_that_names_a_hazard_is_asked_about(compile_text, words, kind):
    """The sheet said "No hazard was noted" beside it."""
    outcome = compile_text(f"{PAGE}rock {words}\n")
    (one,) = [one for one in outcome.diagnostics if one.code == "hazard-noted"]
    hazard = words.split("hazard ")[-1]
    assert (one.kind, typed(one.hints[0])) == (kind, [f"hazard {hazard}"])
    assert hazards_closing(outcome.log).startswith("A note reads like a hazard that is not listed")


@pytest.mark.parametrize(
    "words",
    [
        "sandstone, loose blocks in soil",
        "unstable slope debris",
        "limestone, no hazard",
        "bull quartz in veins",
    ],
)
def test_rock_alone_is_not(compile_text, words):
    assert not any(one.code == "hazard-noted" for one in compile_text(f"{PAGE}rock {words}\n").diagnostics)


@pytest.mark.parametrize(
    ("words", "kind"), [("ford, slippery", ["note"]), ("crag and edge of the hinge", [])]
)
def test_a_sketch_that_names_a_hazard_is_noted(compile_text, words, kind):
    """What hurts is often drawn; but a crag is what one draws."""
    outcome = compile_text(f"{PAGE}sketch {words}\n")
    assert [one.kind for one in outcome.diagnostics if one.code == "hazard-noted"] == kind
    assert hazards_closing(outcome.log).startswith("A note" if kind else NONE_NOTED)


def test_a_party_of_names_without_initials(compile_text):
    text = PAGE.replace("pace double", "party Ines Sorrel, Per Brand\npace PB double")
    (one,) = told(compile_text, text)
    assert (one.code, typed(one.hints[0])) == ("party-initials", ["party IS Ines Sorrel, PB Per Brand"])
    assert told(compile_text, text.replace("party Ines Sorrel, Per Brand", typed(one.hints[0])[0])) == []


@pytest.mark.parametrize("year", ["2062", "0226"])
def test_the_year_of_the_day_is_looked_at_beside_the_declination(compile_text, year):
    lines = f"date {year}-08-12\nbearings magnetic\ndeclination 3.2 E, 2026, map margin\n"
    text = PAGE.replace("bearings true\n", lines)
    (one,) = told(compile_text, text)
    assert typed(one.hints[0])[0] == "date 2026-08-12"
    assert told(compile_text, text.replace(f"date {year}-08-12", "date 2026-08-12")) == []


def test_a_leg_with_the_name_of_the_next_station(compile_text):
    walk = "at 1\nto 2 000 100p\nat 2\nto 3 090 100p\nat 3\nto 4 180 100p\nat 4\nclose 1 270 100p\n"
    text = HEAD + walk.replace("to 3 090", "to 4 090")
    (one,) = told(compile_text, text)
    assert (text.splitlines()[one.span.line - 1], typed(one.hints[0])) == ("to 4 090 100p", ["to 3"])
    assert told(compile_text, text.replace("to 4 090", "to 3 090")) == []


def test_overturned_twice_and_overturned_against_its_tops(compile_text):
    (one,) = told(compile_text, PAGE.replace("139/28", "139/28 overturned overturned"))
    assert one.hints == ("leave one of the two out",)
    found = told(compile_text, PAGE.replace("139/28", "139/28 overturned\ntops SE graded beds"))
    (one,) = [one for one in found if one.code == "way-up-contradicts"]
    assert "without `overturned`" in one.hints[0]


TWO = f"{HEAD}at 1\nunit Hs\nto 2 090 100p\nalong 30p\ncontact Kl/Hs certain\nalong 60p\nnote ford\nat 2\nunit Kl\nbed 139/28\n"


def test_places_of_a_leg_are_taken_by_their_distance(compile_text):
    first, second = "along 30p\ncontact Kl/Hs certain\n", "along 60p\nnote ford\n"
    turned = TWO.replace(first + second, second + first)
    (one,) = told(compile_text, turned)
    assert (one.code, one.message) == ("along-order", "30p stands below 60p of the same leg")
    log, same = compile_text(turned).log, compile_text(TWO).log
    assert [item.address.start and item.address.start.value for item in log.items] == [
        item.address.start and item.address.start.value for item in same.items
    ]
    assert [one.index for one in log.addresses] == list(range(len(log.addresses)))
    assert "exchanged" not in one.hints[0]
    (one,) = told(compile_text, TWO.replace("along 30p", "along 71p"))
    assert "was 71p 17p, digits exchanged" in one.hints[0]


def test_a_contact_copied_twice(compile_text):
    again = "along 30p\ncontact Kl/Hs certain\n"
    one = told(compile_text, TWO.replace(again, again + again))[0]
    assert (one.code, one.message) == ("contact-twice", "Kl/Hs at 30p is booked twice")


def test_a_length_in_a_unit_that_no_other_has(compile_text):
    def lone(text):
        return [one for one in told(compile_text, text) if one.code == "lone-unit"]

    more = "to 3 000 100p\nalong 20p\nnote wall\nat 3\nto 4 270 100p\nat 4\nclose 1 180 100p\n"
    metres = TWO.replace("along 60p", "along 60m")
    (one,) = lone(metres + more)
    assert (one.message, typed(one.hints[0])) == ("60m is the one length of this log in metres", ["60p"])
    assert lone(TWO + more) == []
    assert lone(metres + more.replace("along 20p", "along 20m")) == []
    assert lone(metres) == []


def test_a_count_of_the_other_kind_of_pace_is_asked_about_where_it_is_alone(compile_text):
    walk = "".join(f"to {at} 0{at}0 50p\n" for at in range(2, 9))

    def kinds(text):
        return [one for one in told(compile_text, text) if one.code == "pace-kind"]

    page = HEAD.replace("pace double", "pace single") + f"at 1\n{walk}"
    assert kinds(page) == []
    (one,) = kinds(page.replace("40 50p", "40 50dp"))
    assert (one.kind, one.span.line, typed(one.hints[0])) == ("warning", 10, ["50p"])
    assert "counts as 100 of the single paces" in one.message
    assert kinds(page.replace("40 50p", "40 50dp").replace("60 50p", "60 50dp")) == []


def test_distances_without_a_unit_are_one_mistake_where_no_line_says_what_they_are(compile_text):
    walk = "".join(f"to {at} 0{at}0 50\nalong 20\nnote wall\nat {at}\n" for at in range(2, 9))
    page = f"{HEAD}at 1\n{walk}"
    (one,) = told(compile_text, page)
    assert (one.code, one.span.line, one.below) == ("distance-unit", 8, 13)
    assert "distances feet" in typed(one.hints[0])
    assert told(compile_text, page.replace("at 1\n", "distances feet\nat 1\n", 1)) == []
    # A unit that was forgotten in single lines is told at each.
    few = page.replace("0 50\n", "0 50ft\n").replace("along 20\n", "along 20ft\n", 5)
    assert [one.code for one in told(compile_text, few)] == ["distance-unit"] * 2
    (one,) = told(compile_text, page.replace("0 50\n", "0 50ft\n"))
    assert (one.below, typed(one.hints[0])[0]) == (6, "distances feet")


def test_a_height_in_feet_where_all_else_is_in_metres(compile_text):
    more = "to 3 000 100p\nat 3\nto 4 270 100p\nat 4\nclose 1 180 100p\n"
    page = TWO.replace("at 1\n", "control 1 1000 E 2000 N 649 ft ±5 gps\nat 1\n", 1) + more

    def lone(text):
        return [one for one in told(compile_text, text) if one.code == "lone-unit"]

    (one,) = lone(page)
    assert typed(one.hints[0]) == ["649 m"]
    assert lone(page.replace("649 ft", "649 m")) == []
    assert lone(page.replace("control 1", "heights above sea level, map in feet\ncontrol 1")) == []
    assert lone(page.replace("note ford", "elevation 660 ft")) == []
    assert lone(page.replace("100p", "100ft")) == []


def test_stretches_may_stand_in_any_order(compile_text):
    text = TWO.replace("at 2\n", "along 10p to 50p\nfloat sandstone\nat 2\n")
    assert told(compile_text, text) == []


def test_a_leg_typed_twice(compile_text):
    """In the same words it is one too many; else one of the two leads to another station."""
    page = "notation 1\nbearings true\nat 1\nto 2 090 50m\n"
    for line, above in ((5, page), (6, page.replace("at 1", "traverse Sallow\u2028Combe\nat 1"))):
        (twice,) = [
            one
            for one in compile_text(f"{above}to 2  090 50m\n", errors=True).diagnostics
            if one.code == "leg-to-itself"
        ]
        assert (twice.span.line, twice.hints[0]) == (line, "leave this line out")
    (skipped,) = [
        one
        for one in compile_text(f"{page}to 4 000 50m\nto 4 270 50m\n", errors=True).diagnostics
        if one.code == "leg-to-itself"
    ]
    assert skipped.hints[0].startswith("`to 3` in the first")


@pytest.mark.parametrize(
    ("day", "year", "meant"),
    [
        ("2062-06-30", "2026", "`date 2026-06-30`"),
        ("2026-06-30", "2062", "`declination 4.7 E, 2026, SOURCE`"),
    ],
)
def test_of_a_day_and_a_declination_far_apart_the_later_is_asked_about(compile_text, day, year, meant):
    text = f"notation 1\ndate {day}\nbearings magnetic\ndeclination 4.7 E, {year}, map margin\nat 1\nto 2 090 50m\n"
    (told,) = [one for one in compile_text(text).diagnostics if one.code == "old-declination"]
    assert told.hints[0].startswith(meant)


@pytest.mark.parametrize(("odd", "meant"), [("+10%", "`+10`"), ("+10", None)])
def test_a_slope_alone_in_its_unit(compile_text, odd, meant):
    rows = "".join(f"to {i} 090 50m +{i}\n" for i in range(3, 9))
    text = f"notation 1\nbearings true\nat 1\nto 2 090 50m {odd}\n{rows}"
    told = [one for one in compile_text(text).diagnostics if one.code == "lone-slope"]
    assert [one.hints[0].rpartition(" ")[2].rstrip("?") for one in told] == ([meant] if meant else [])


@pytest.mark.parametrize(
    ("was", "slip", "right", "code"),
    [
        ("bed 139/28", "bed 139/28 140/30", "bed 139/28, 140/30", "attitude-comma"),
        ("bed 139/28", "bed N49E/28SE and N50E/30SE", "bed N49E/28SE, N50E/30SE", "attitude-comma"),
        ("at 2", "at station 2", "at 2", "name-words"),
        ("100p", "100", "100p", "distance-unit"),
    ],
)
def test_what_stands_in_the_hint_keeps_every_reading(compile_text, was, slip, right, code):
    """Nothing is sent to `note` that is a reading, and what is offered is no error."""
    spoilt = PAGE.replace(f"{was}\n", f"{slip}\n") if code != "distance-unit" else PAGE.replace(was, slip)
    one = told(compile_text, spoilt)[0]
    assert (one.code, typed(one.hints[0])[0]) == (code, right)
    attitudes = "attitudes letters" if "N49E" in slip else "attitudes dip-direction"
    mended = spoilt.replace(slip, right, 1).replace("attitudes dip-direction", attitudes)
    assert not [one for one in told(compile_text, mended) if one.kind == "error"]


def test_a_unit_that_is_forgotten_is_first_that_of_the_leg_above(compile_text):
    page = f"{HEAD}at 1\nto 2 090 100dp\nto 3 090 49\n"
    (one,) = [one for one in told(compile_text, page) if one.code == "distance-unit"]
    assert typed(one.hints[0])[:3] == ["49dp", "49m", "49ft"]


def test_places_past_the_end_of_several_legs_ask_for_the_unit_of_the_legs(compile_text):
    """75 ft are 23 m: places in metres lie past the end, where in metres they would not."""
    walk = "at 1\nto 2 090 75\nalong 30m\nrock x\nto 3 090 80\nalong 28m\nrock x\n"
    (one,) = told(compile_text, f"{HEAD}distances feet\n{walk}")
    assert (one.code, one.span.line, typed(one.hints[0])) == ("past-the-end", 7, ["distances metres"])
    said = [one for one in told(compile_text, f"{HEAD}distances metres\n{walk}") if one.kind == "error"]
    assert not said
    # One place alone may be wrong itself; then the unit of the leg is said with it.
    (one,) = told(compile_text, f"{HEAD}distances feet\n{walk.replace('28m', '8m')}")
    assert one.span.line == 10
    assert "75 ft" in one.message


def test_an_attitude_under_note_is_asked_about_and_words_are_not(compile_text):
    (one,) = told(compile_text, PAGE.replace("bed 139/28", "note bed 139/28"))
    assert (one.code, typed(one.hints[0])) == ("reading-noted", ["bed 139/28"])
    for words in ("bed 139/28 by eye from afar", "bed by the path", "beds 3/4 hidden"):
        assert told(compile_text, f"{PAGE}note {words}\n") == []


AMONG = [
    ("rock lst, as 1 sample VG-09", "sample VG-09"),
    ("rock shale, black; sample VG-09 from the base", "sample VG-09 from the base"),
    ("note hinge zone, bed 260/12", "bed 260/12"),
    ("fossil oysters, joint 040/80", "joint 040/80"),
    ("hazard bog; photo 217 looking 280", "photo 217 looking 280"),
    ("note tops NW sole marks", "tops NW sole marks"),
    ("note fault Kl/Hs inferred", "fault Kl/Hs inferred"),
    ("sample K-1 shelly, striation 68->000", "striation 68->000"),
]


@pytest.mark.parametrize(("words", "meant"), AMONG)
def test_a_statement_among_words_is_asked_about_unless_a_line_holds_it(compile_text, words, meant):
    """Nothing is drawn of it, and no list has it."""
    (one,) = told(compile_text, f"{PAGE}{words}\n")
    assert (one.code, typed(one.hints[0])) == ("reading-noted", [meant])
    assert "reading-noted" not in {one.code for one in told(compile_text, f"{PAGE}{words}\n{meant}\n")}


@pytest.mark.parametrize(
    "words",
    [
        "rock limestone, beds 10 cm, joint fill 2/3 quartz",
        "rock like bed 139/20 at 1",
        "note see sample K-9 of day 2",
        "note sample taken from the base",
        "note sample 3 of yesterday",
        "note last of unit Kl",
        "note scree, tops of hills in cloud",
        "note hill tops W of here",
        "note photo 12 shows the fold",
        "rock elevation of the cairn not read",
        "note joint set 040/80 again",
        "note contact not seen",
        "note contact Kl/Hs certain",
    ],
)
def test_words_that_speak_of_readings_are_not_asked_about(compile_text, words):
    assert told(compile_text, f"{PAGE}{words}\n") == []


def test_overturned_under_note_belongs_to_its_bed(compile_text):
    (one,) = told(compile_text, f"{PAGE}note beds overturned\n")
    assert (one.code, typed(one.hints[0])) == ("reading-noted", ["overturned", "bed 139/28 overturned"])
    over = PAGE.replace("139/28", "139/28 overturned")
    for page in (f"{over}note overturned\n", f"{PAGE}note block overturned by the tractor\n"):
        assert "reading-noted" not in {one.code for one in told(compile_text, page)}


@pytest.mark.parametrize(
    ("wrong", "right"),
    [
        ("bed139/28", "bed 139/28"),
        ("b 139/28", "bed 139/28"),
        ("overturned bed 139/28", "bed 139/28 overturned"),
        ("overturned 139/28", "bed 139/28 overturned"),
        ("139/28 overturned", "bed 139/28 overturned"),
        ("139/28", "bed 139/28"),
        ("bed 139/28 (overturned)", "bed 139/28 overturned"),
        ("bed 139/28 good outcrop, joint 040/80", "joint 040/80"),
    ],
)
def test_a_reading_that_is_spoilt_is_offered_whole(compile_text, wrong, right):
    one = told(compile_text, PAGE.replace("bed 139/28", wrong))[0]
    assert typed(one.hints[0]) == [right]


def test_a_dip_that_was_lost_and_words_without_rock(compile_text):
    letters = PAGE.replace("attitudes dip-direction", "attitudes letters")
    (one,) = told(compile_text, letters.replace("139/28", "N79E/SE"))
    assert (one.code, typed(one.hints[0])) == ("dip-missing", ["N79E/?"])
    (one,) = told(compile_text, f"{PAGE}red mudst.\n")
    assert typed(one.hints[0]) == ["note", "rock", "hazard"]


@pytest.mark.parametrize(("wrong", "right"), [("Jl/Jz", "Js"), ("Jz/Js", "Jl")])
def test_letters_that_no_unit_has_are_not_those_across_their_contact(compile_text, wrong, right):
    units = "unit Jl Farrow Limestone ; Jurassic\nunit Js Brathel Shale ; Jurassic\n"
    page = f"notation 1\nbearings true\npace 1 m\n{units}at 1\nto 2 090 100p\nalong 20p\ncontact {wrong} certain\n"
    (one,) = [one for one in compile_text(page, errors=True).diagnostics if one.code == "unknown-unit"]
    assert typed(one.hints[0])[0] == right


TWICE = [
    ("attitudes", "attitudes dip-right", "attitudes dip-left"),
    ("attitudes", "attitudes dip-right", "attitudes dip-right magnetic"),
    ("bearings", "bearings magnetic", "bearings true"),
    ("distances", "distances metres", "distances feet"),
    ("date", "date 2026-07-03", "date 2026-07-04"),
    ("precision bearing", "precision bearing 1", "precision slope 1, bearing 10"),
    ("pacer", "pacer JT", "pacer KT"),
    ("reader", "reader JT", "reader KT"),
    ("compass", "compass A", "compass B"),
    ("declination", "declination 4.7 E, 2026, map", "declination 4.7 W, 2026, map"),
    ("pace", "pace 1.5 m", "pace 1.4 m"),
]


@pytest.mark.parametrize(("name", "first", "second"), TWICE)
def test_of_two_lines_with_nothing_read_in_between_one_counts(compile_text, name, first, second):
    """The second flipped every dip, or turned every leg, and nothing was said of it."""

    def twice(*lines):
        found = compile_text(
            "\n".join(("notation 1", *lines, "at 1", "to 2 090 10m", "")), errors=True
        ).diagnostics
        return [one for one in found if one.code == "given-twice"]

    (one,) = twice(first, second)
    assert (one.kind, one.span.line, one.message) == (
        "warning",
        3,
        f"`{name}` is given twice with nothing read in between; this one counts, and not that of line 2",
    )
    assert twice(second) == twice(first, first) == []
    assert twice(first, "at 1", "rock x", second) == []


def test_of_two_lines_on_the_way_with_nothing_read_in_between_one_counts(compile_text):
    turned = "attitudes dip-right\nattitudes dip-left\n"
    (one,) = told(compile_text, PAGE.replace("at 2\nunit Kl\n", f"at 2\nunit Kl\n{turned}"))
    assert one.code == "given-twice"
    read = PAGE.replace(
        "at 2\nunit Kl\n", "at 2\nattitudes dip-right\nbed 049/28\nattitudes dip-direction\nunit Kl\n"
    )
    assert told(compile_text, read) == []


@pytest.mark.parametrize(
    ("first", "second"),
    [("party JT Jon Tarrow", "party KT"), ("weather rain", "weather sun"), ("area the combe", "area the fell"),
     ("instrument compass 4", "instrument clinometer 2")],
)  # fmt: skip
def test_what_is_printed_with_the_line_above_it_is_only_noted(compile_text, first, second):
    def twice(*lines):
        found = compile_text("\n".join((*lines, PAGE.removeprefix("notation 1\n")))).diagnostics
        return [(one.kind, one.span.line) for one in found if one.code == "given-twice"]

    assert twice("notation 1", first, second) == [("note", 3)]
    assert twice("notation 1", first, first) == []


@pytest.mark.parametrize("figure", ["1,064", "1,064.5", "1.064,5", "1'064", "1 064", "1.064.5", "1.064.000"])
@pytest.mark.parametrize(
    "line", ["to 3 180 {}m +2", "along {}m", "along 10m to {}m", "elevation {} m altimeter", "side 3 180 {}m", "control 9 412350 E 5168020 N {} m ±4 gps"]
)  # fmt: skip
def test_no_mark_stands_between_thousands(compile_text, figure, line):
    """What was offered was `1.064`, one metre."""
    page = PAGE.replace("bearings true", "grid EPSG:25833\nbearings true").replace("100p", "5000m")
    page = page.replace("along 30p\ncontact Kl/Hs certain\n", "")
    found = told(compile_text, f"{page}{line.format(figure)}\n")
    if figure == "1.064.5":  # no thousands: something else is wrong
        assert all(one.code not in {"figure-comma", "figure-blank"} for one in found)
        return
    one = found[0]
    assert len([one for one in found if one.kind == "error"]) == 1
    assert one.code == ("figure-blank" if " " in figure else "figure-comma")
    column, meant, typed_line = one.span.column - 1, typed(one.hints[0])[0], line.format(figure)
    assert typed_line[column : one.span.end - 1] == figure
    mended = f"{typed_line[:column]}{meant}{typed_line[one.span.end - 1 :]}"
    after = told(compile_text, f"{page}{mended}\n")
    # A million metres are told as too far, and not as another figure.
    assert {one.code for one in after if one.kind == "error"} <= {"distance-range", "length-range"}
    assert meant.startswith("1064")


@pytest.mark.parametrize(
    "line",
    ["to 3 180 64m +2", "along 1.064m", "elevation 1064 m altimeter 2 064 checked", "along 10m to 1064m"],
)
def test_figures_without_marks_are_read(compile_text, line):
    page = (
        PAGE.replace("100p", "5000m").replace("along 30p\ncontact Kl/Hs certain\n", "").replace("at 2\n", "")
    )
    assert not [one for one in told(compile_text, f"{page}{line}\n") if one.kind == "error"]


LOOP = f"{HEAD}at 1\nto 2 047 64p\nto 3 137 64p\nto 4 227 64p\n"


def test_a_leg_from_another_station_that_comes_back_is_offered_whole(compile_text):
    """Of `close 4` alone the leg began where the party stood."""
    (one,) = told(compile_text, f"{LOOP}from 2 to 4 182 91p\n")
    assert typed(one.hints[0]) == ["from 2 close 4 182 91p"]
    outcome = compile_text(f"{LOOP}{typed(one.hints[0])[0]}\n")
    assert [(leg.start, leg.end) for leg in outcome.log.legs][-1] == ("2", "4")
    (one,) = told(compile_text, f"{LOOP}to 1 317 64p\n")
    assert typed(one.hints[0]) == ["close 1"]


@pytest.mark.parametrize(
    ("day", "offered"),
    [("03.07.2026", ["2026-07-03", "2026-03-07"]), ("30.07.2026", ["2026-07-30"]), ("30.02.2026", []),
     ("29.02.2024", ["2024-02-29"]), ("31/11/2026", [])],
)  # fmt: skip
def test_no_day_is_offered_that_no_month_has(compile_text, day, offered):
    (one,) = told(compile_text, LOOP.replace("bearings", f"date {day}\nbearings"))
    assert typed(one.hints[0]) == offered
    for fix in offered:
        assert told(compile_text, LOOP.replace("bearings", f"date {fix}\nbearings")) == []


@pytest.mark.parametrize("word", ["certain", "Inferred", "down"])
def test_a_word_of_the_notation_is_no_unit(compile_text, word):
    (one,) = [
        one
        for one in told(compile_text, LOOP.replace("unit Kl", f"unit {word} Reed Shale ; Jurassic\nunit Kl"))
        if one.code == "unit-letters"
    ]
    assert one.message == f"`{word}` is a word of the notation, and can't stand for a unit"
    fix = typed(one.hints[0])[0]
    assert told(compile_text, LOOP.replace("unit Kl", f"unit {fix} Reed Shale ; Jurassic\nunit Kl")) == []


def test_a_second_log_in_one_file_is_one_message(compile_text):
    """Each line of its heading was to be left out."""
    (one,) = told(compile_text, LOOP + LOOP)
    assert (one.code, one.span.line, one.message) == (
        "second-log",
        LOOP.count("\n") + 1,
        "a second log begins here, and nothing is read from here on",
    )
    (one,) = told(compile_text, LOOP.replace("bearings", "notation 1\nbearings"))
    assert one.hints == ("leave this line out",)


def test_the_form_of_a_control_is_filled_in_word_for_word(compile_text):
    text = LOOP.replace("bearings", "grid EPSG:25833\nbearings")
    (one,) = told(compile_text, text.replace("bearings", "control\nbearings"))
    form = typed(one.hints[0])[0]
    filled = (
        form.replace("NAME", "1").replace("EASTING", "412350").replace("NORTHING", "5168020")
        .replace("HEIGHT", "640 m").replace("±n", "±4").replace("SOURCE", "gps")
    )  # fmt: skip
    assert told(compile_text, text.replace("bearings", f"{filled}\nbearings")) == []


@pytest.mark.parametrize(
    ("wrong", "fixes"),
    [
        ("section A-A' from 1 to 3, exaggeration 1000", ["exaggeration 2"]),
        ("sheet scale 1:1000.5", ["scale 1:1000"]),
        ("sheet scale 1:10.000", ["scale 1:10000"]),
        ("sheet band 0", ["band 10 m"]),
        ("sheet band 10", ["band 10 m", "band 10 ft"]),
        ("sheet scale big", ["scale 1:5000"]),
        ("sheet scale 1:1000 scale 1:500", []),
        ("sheet paper A4 paper A3", []),
        ("section A-A' from 1 to 3, depth 200 m, depth 300 m", []),
    ],
)
def test_options_that_cannot_be(compile_text, wrong, fixes):
    (one,) = told(compile_text, LOOP.replace("at 1", f"{wrong}\nat 1"))
    offered = [fix for fix in typed(" ".join(one.hints)) if "1:n" not in fix]
    assert offered == fixes
    for fix in fixes or ["paper A4 landscape band 10 m scale 1:500"]:
        line = (
            f"{wrong.partition(', ')[0]}, {fix}" if wrong.startswith("section") and fixes else f"sheet {fix}"
        )
        assert told(compile_text, LOOP.replace("at 1", f"{line}\nat 1")) == []
    assert "twice" in one.message or fixes


@pytest.mark.parametrize(
    ("line", "fixes"),
    [("to A 047 30m", []), ("to b 047 30m\nto A 227 30m", ["close a"]), ("to b 047 30m\nside A 047 30m", [])],
)
def test_a_name_in_another_case_is_not_offered_where_no_leg_can_go(compile_text, line, fixes):
    (one,) = told(compile_text, f"{HEAD}at a\n{line}\n")
    assert (one.code, one.labels[0].text, typed(one.hints[0])) == ("nearly-one-name", "`a` is here", fixes)
    mended = line.replace("to A", fixes[0]) if fixes else line.replace("A", "K")
    assert told(compile_text, f"{HEAD}at a\n{mended}\n") == []


@pytest.mark.parametrize(
    ("above", "line", "first"),
    [
        ("hazard loose slabs above", "the path", "| the path"),
        ("note a wall", "of dry stone", "| of dry stone"),
        ("hazard loose slabs above", "nore wet", "| nore wet"),
    ],
)
def test_words_that_were_wrapped_go_on_with_the_line_above(compile_text, above, line, first):
    (one,) = told(compile_text, f"{PAGE}{above}\n{line}\n")
    assert typed(one.hints[0]) == [first]
    assert told(compile_text, f"{PAGE}{above}\n{first}\n") == []
    (one,) = told(compile_text, f"{PAGE}{line}\n")
    assert "|" not in " ".join(one.hints)
    # A statement with a slip is still that statement.
    (one,) = told(compile_text, f"{PAGE}{above}\nbef 139/28\n")
    assert typed(one.hints[0])[0] == "bed"


@pytest.mark.parametrize("words", ["none", "-", "None.", "n/a", "no hazards seen", "nothing"])
def test_no_hazard_is_no_hazard(compile_text, words):
    (one,) = told(compile_text, f"{PAGE}hazard {words}\n")
    assert one.code == "hazard-none"


@pytest.mark.parametrize("words", ["none of the paths is safe", "no bridge", "no path below the fall"])
def test_a_hazard_that_begins_with_no_is_one(compile_text, words):
    outcome = compile_text(f"{PAGE}hazard {words}\n")
    assert outcome.log.items[-1].text == words
    assert not [one for one in outcome.diagnostics if one.kind == "error"]


RULED = HEAD.replace("dip-direction", "dip-right")


def test_a_letter_against_the_rule_that_the_others_keep_is_noted(compile_text):
    """The letter counts; that it goes against the page's own rule was told nowhere."""

    def noted(beds, head=RULED):
        said = compile_text(f"{head}at 1\nunit Hs\n{beds}").diagnostics
        return [
            (one.kind, one.span.line, one.span.column) for one in said if one.code == "letter-against-rule"
        ]

    line = RULED.count("\n") + 5
    assert noted("bed 320/34\nbed 322/35NE\nbed 320/34SW\n") == [("note", line, 5)]
    assert noted("bed 320/34\nbed 322/35NE\nbed 320/34NE\n") == []
    assert noted("bed 320/34SW\nbed 322/35SW\nbed 320/36\n") == []  # this party writes letters
    assert noted("bed 320/34\nbed 322/35\nbed N40W/34SW\n") == []
    left = RULED.replace("dip-right", "dip-left")
    assert noted("bed 320/34SW\nbed 322/35\nbed 140/34NE\n", left) == []
    assert noted("bed 320/34\nbed 322/35SW\nbed 320/34NE\n", left) == [("note", line, 5)]


def test_a_checked_line_that_answers_nothing_is_noted(compile_text):
    def noted(text):
        said = compile_text(text).diagnostics
        return [
            (one.kind, text.splitlines()[one.span.line - 1]) for one in said if one.code == "answers-nothing"
        ]

    assert noted(PAGE.replace("pace double", "checked JT all fine\npace double")) == [
        ("note", "checked JT all fine")
    ]
    assert noted(f"{PAGE}note hazard: loose blocks\nchecked JT a quarry of old\n") == []
    assert noted(f"{PAGE}note a wall\nchecked JT seen\n") == [("note", "checked JT seen")]


FIGURES = [
    ("46.66 N 13.85 E ±6 gps", "321"),
    ("46 39.6 N 13 51.0 E ±6 gps", "54"),
    ("46 39 N 13 51 E gps", "535"),
    ("46.66 N 13.85 E", "321"),
    ("46.6601 N 13.8502 E ±2 gps", None),
    ("46.66012 N 13.85021 E ±6 gps", None),
    ("46 39.612 N 13 51.012 E ±6 gps", None),
    ("46 39 36.4 N 13 51 00.2 E ±2 gps", None),
    ("46 39 36 N 13 51 00 E", None),
    ("412350 E 5168020 N ±6 gps", None),
]


@pytest.mark.parametrize(("figures", "offered"), FIGURES)
def test_a_point_is_known_no_better_than_its_figures_say(compile_text, figures, offered):
    """Two decimals of a degree of latitude are 1.1 km, 1.1 km / √12 of deviation (the length of a degree from memory)."""

    def asked(typed_so):
        lines = f"grid EPSG:32633\ncontrol 1 {typed_so}\nbearings true"
        return [
            one
            for one in told(compile_text, PAGE.replace("bearings true", lines))
            if one.code == "control-figures"
        ]

    found = asked(figures)
    assert [typed(one.hints[0]) for one in found] == ([[f"±{offered} m"]] if offered else [])
    if offered:
        bare = figures.partition("±")[0].removesuffix("gps")
        assert asked(f"{bare} ±{offered} m gps") == []
