"""What is said of the structure, and what is not: invented walks, each with the sentence a geologist would say."""

from dataclasses import replace

import pytest

from traverse.length import Lengths, LengthUnit
from traverse.structure.form.finding_words import sentence
from traverse.structure.form.records import AxisFound, Level, LimbsThick, UnitsRepeat
from traverse.structure.form.what_units_tell import runs_of
from traverse.structure.readings.records import Surface, bedding
from traverse.structure.walk.across import address_words

HEAD = """notation 1
bearings true
attitudes dip-direction
unit Ck Upper ; Cretaceous
unit Ju Middle ; Jurassic
unit Tr Lower ; Triassic
"""

TRESCURA = (
    HEAD
    + """at 0
unit Tr
bed 140/35
tops up graded
to 150 140 150m
along 60m
contact Ju/Tr certain
at 150
unit Ju
bed 140/33
to 240 140 90m
along 40m
contact Ck/Ju approximate
at 240
unit Ck
bed 140/28
to 310 140 70m
covered 15m to 50m
at 310
unit Ck
bed 140/66 overturned
tops down flute casts on the upper face, grading reversed
to 395 140 85m
along 20m
contact Ck/Ju certain
at 395
unit Ju
bed 140/65 overturned
tops down graded
to 450 140 55m
along 15m
contact Ju/Tr inferred ±8 m
at 450
unit Tr
bed 140/64 overturned
tops down graded
section A-A' 170 through 240
"""
)


def axes(compiled):
    return [told.finding for told in compiled.geology.findings if isinstance(told.finding, AxisFound)]


def said(compiled):
    return " ".join(one.words for one in compiled.geology.findings)


def test_an_overturned_syncline_is_named_from_order_and_way_up(compile_text):
    compiled = compile_text(TRESCURA)
    words = said(compiled)
    assert "Tr, Ju, Ck, Ju, Tr" in words
    assert "overturned at 310, 395 and 450" in words
    assert "An overturned syncline, its overturned limb on the south-east:" in words
    assert "limbs 33° ± 2° apart (close or tight), axial surface 49° → 140°, good to 1°" in words
    assert "as a fold has it; a fault repeat would not need it" in words
    for wrong in ("monocline", "homocline", "anticline"):
        assert wrong not in words


def test_the_form_is_told_apart_from_the_sentence(compile_text):
    geology = compile_text(TRESCURA).geology
    (told,) = geology.recognised
    assert told.finding.form.name == "overturned syncline"
    assert told.words.startswith("An overturned syncline")


def test_a_finding_says_what_it_rests_on(compile_text):
    """The overturned limb by its readings, an unconformity by its contact; no reader looks for them in the words."""
    found = compile_text(TRESCURA).geology.findings
    (limb,) = [one.finding for one in found if "overturned at" in one.words]
    assert [bed.station for bed in limb.named] == ["310", "395", "450"]
    assert all(bed.upside_down for bed in limb.named)
    (fold,) = [one.finding for one in found if one.finding.form is not None]
    assert [bed.unit for bed in fold.readings] == ["Tr", "Ju", "Ck", "Ck", "Ju", "Tr"]


def test_its_limbs_are_alike_in_thickness_and_its_dips_apparent(compile_text):
    """Ju 71 m (the mean of the contacts' and beds' planes) and 73 m (80 sin 65); 31 and 62 on azimuth 170."""
    compiled = compile_text(TRESCURA)
    first, second = [one.true_m for one in compiled.geology.thicknesses if one.unit == "Ju"]
    assert first == pytest.approx(71.0, abs=1.0)
    assert second == pytest.approx(73.0, abs=1.0)
    dips = {
        point.label: round(point.apparent_dip_deg)
        for point in compiled.geology.sections[0].points
        if point.kind.value == "attitude"
    }
    assert dips["0"] == 31
    assert dips["395"] == 62


def test_without_way_up_the_fold_is_left_open_and_the_place_to_look_is_named(compile_text):
    lines = [line.replace(" overturned", "") for line in TRESCURA.splitlines() if not line.startswith("tops")]
    words = said(compile_text("\n".join(lines)))
    assert "a fold or a fault? Way-up at 310 or 395 would tell." in words
    assert "syncline" not in words
    assert "verturned" not in words


def test_a_form_that_is_only_weighed_is_none(compile_text):
    """A fold or a fault; the wrong way about for an anticline; a limb that hardly dips; a steepening panel."""
    lines = [line.replace(" overturned", "") for line in TRESCURA.splitlines() if not line.startswith("tops")]
    open_ones = [
        "\n".join(lines),
        fold(-40, -30, 0, 30, 40, units=("Tr", "Ju", "Ck", "Ju", "Tr")),
        fold(40, 30, 2, 1, 0),
        fold(12, 15, 34, 50, 66, units=("Ck",) * 5),
    ]
    for text in open_ones:
        assert compile_text(text).geology.recognised == ()


def test_way_up_against_the_order_of_units_is_asked_about(compile_text):
    log = TRESCURA.replace(" overturned", "").replace("tops down", "tops up")
    log = log.replace("bed 140/35\ntops up graded", "bed 140/35 overturned\ntops down graded")
    log = log.replace("bed 140/33", "bed 140/33 overturned").replace("bed 140/28", "bed 140/28 overturned")
    assert "says the reverse of the order of units" in said(compile_text(log))


def fold(*dips, units=("Tr", "Ju", "Ck", "Ju", "Tr"), tops=""):
    """A level walk east, 100 m between stations, one unit and one bed at each."""
    lines = [HEAD, "at 1"]
    order = ["Ck", "Ju", "Tr"]
    for index, (dip, unit) in enumerate(zip(dips, units, strict=True)):
        if index:
            lines.append(f"to {index + 1} 090 100m level")
            before = units[index - 1]
            if before != unit:
                pair = sorted((before, unit), key=order.index)
                lines += ["along 50m", f"contact {pair[0]}/{pair[1]} certain", f"at {index + 1}"]
        lines += [f"unit {unit}", f"bed {'090' if dip >= 0 else '270'}/{abs(dip)}" if dip else "bed flat"]
        if tops:
            lines.append(f"tops {tops}")
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize(
    ("dips", "units", "words"),
    [
        ((40, 30, 2, -30, -40), ("Tr", "Ju", "Ck", "Ju", "Tr"), "dip toward each other: a syncline"),
        ((-40, -30, 0, 30, 40), ("Ck", "Ju", "Tr", "Ju", "Ck"), "dip away from each other: an anticline"),
        # One unit only: the form and no age.
        ((40, 30, 2, -30, -40), ("Ju",) * 5, "a synform; no order of units"),
        ((-40, -30, 2, 30, 40), ("Ju",) * 5, "an antiform; no order of units"),
        # The oldest unit in the core of a synform.
        ((40, 30, 2, -30, -40), ("Ck", "Ju", "Tr", "Ju", "Ck"), "synform with the oldest unit in its core"),
    ],
)
def test_forms_come_from_positions_and_ages_from_units(compile_text, dips, units, words):
    assert words in said(compile_text(fold(*dips, units=units)))


def test_beds_that_turn_about_no_one_line_have_no_axial_surface(compile_text):
    """Two lines over the north of a dome: its beds turn as a cone does, and an anticline can't be told from it."""
    walk = ["at 0"]
    for at, (unit, way, dip) in enumerate(
        [
            ("Ju", 270, 24), ("Ju", 275, 20), ("Tr", 290, 14), ("Tr", 350, 9), ("Tr", 60, 13), ("Ju", 80, 20), ("Ju", 90, 25),
            ("Ju", 100, 24), ("Ju", 110, 20), ("Tr", 45, 16), ("Tr", 0, 14), ("Tr", 320, 15), ("Ju", 285, 20), ("Ju", 260, 24),
        ]
    ):  # fmt: skip
        walk += [f"unit {unit}", f"bed {way:03d}/{dip}"]
        if at < 13:
            bearing = "180" if at == 6 else "090" if at < 6 else "270"
            walk.append(f"to {at + 1} {bearing} {80 if at == 6 else 60}m")
            walk += ["along 30m", "contact Ju/Tr certain"] if at in {1, 4, 8, 11} else []
            walk.append(f"at {at + 1}")
    compiled = compile_text(HEAD + "\n".join(walk) + "\n")
    (told,) = [one for one in compiled.geology.findings if one.finding.form is not None]
    assert told.finding.form.fold.axial_dip_deg is None
    assert "axial surface" not in told.words
    assert "its beds turn about no one line, and a dome is not excluded" in told.words
    assert "Axis not determined" in said(compiled)


@pytest.mark.parametrize(
    ("dips", "closed"), [((-40, -30, 0, 30, 40), "a dome"), ((40, 30, 2, -30, -40), "a basin")]
)
def test_of_an_open_fold_on_one_line_it_is_said_that_it_may_close(compile_text, dips, closed):
    """Beds beside the line tell that it runs on; and no tight fold is a dome."""
    body = fold(*dips, units=("Ju",) * 5)
    words = f"on one line across it {closed} is not excluded"
    one = compile_text(body)
    assert words in said(one)
    (form,) = [told.finding for told in one.geology.findings if told.finding.form is not None]
    assert [other.value for other in form.others] == [closed]
    axis = next(told for told in one.geology.findings if told.finding in axes(one))
    assert [other.value for other in axis.finding.others] == [closed]
    assert f", unless it is {closed}" in axis.words
    beside = "to 9 000 120m\nat 9\nunit Ju\nbed {0}\n"
    first = "090" if dips[-1] >= 0 else "270"
    assert "not excluded" not in said(compile_text(body + beside.format(f"{first}/{abs(dips[-1])}")))
    assert form.form_name == f"{form.form.name} or {closed.removeprefix('a ')}"
    steep = tuple(dip * 2 if abs(dip) > 2 else dip for dip in dips)
    assert "not excluded" not in said(compile_text(fold(*steep, units=("Ju",) * 5)))


def test_way_up_on_both_limbs_gives_a_fold_its_age(compile_text):
    words = said(compile_text(fold(40, 30, 2, -30, -40, units=("Ju",) * 5, tops="up")))
    assert "way-up is seen on both sides: a syncline" in words


def test_the_same_poles_in_another_order_make_another_form(compile_text):
    one = said(compile_text(fold(40, 30, 2, -30, -40, units=("Ju",) * 5)))
    other = said(compile_text(fold(-40, -30, 2, 30, 40, units=("Ju",) * 5)))
    assert "synform" in one
    assert "antiform" in other


def test_flat_steep_flat_is_a_monocline(compile_text):
    words = said(compile_text(fold(4, 30, 62, 28, 5, units=("Ju",) * 5)))
    assert "a monocline" in words
    assert "62° at 3" in words


def test_even_dips_are_a_homocline(compile_text):
    words = said(compile_text(fold(30, 32, 31, 33, 30, units=("Tr", "Tr", "Ju", "Ju", "Ck"))))
    assert "a homocline" in words
    assert "way-up not seen" in words


def test_a_fault_repeat_keeps_the_order(compile_text):
    body = fold(30, 31, 30, 32, 31, units=("Tr", "Ju", "Ju", "Tr", "Ju"))
    log = body.replace(
        "along 50m\ncontact Ju/Tr certain\nat 4", "along 50m\nfault Ju/Tr certain 270/70\nat 4"
    )
    words = said(compile_text(log))
    assert "Tr and Ju come again in the same order across the fault" in words
    assert ": repeated by the fault." in words
    assert "syncline" not in words


@pytest.mark.parametrize(
    ("strike_deg", "dip_deg", "said_of_it"),
    [
        (28.0, 60.0, ": repeated by the fault."),
        (118.0, 60.0, ", which strikes 118° across beds that strike 000°: offset by the fault."),
        (45.0, 60.0, "."),
        (28.0, 8.0, "."),
        (None, None, "."),
    ],
)
def test_only_a_fault_along_the_strike_repeats_beds(compile_text, strike_deg, dip_deg, said_of_it):
    """A strike fault repeats, a dip fault offsets: common practice, no source. Of one askew, or unsure, nothing more is told."""
    geology = compile_text(fold(30, 31, 30, 32, 31, units=("Tr", "Ju", "Ju", "Tr", "Ju"))).geology
    beds = bedding(geology.attitudes)
    met = geology.contacts[0]
    plane = None if dip_deg is None else Surface(strike_deg=strike_deg, dip_deg=dip_deg, sd_deg=2.0)
    runs, beds_deg, fault_deg = runs_of(beds, [replace(met, surface=plane)])
    one = UnitsRepeat(
        units=("Ju", "Tr"), faults=(met,), runs=runs, beds_strike_deg=beds_deg, fault_strike_deg=fault_deg
    )
    assert (
        sentence(one, Lengths(unit=LengthUnit.METRES)).removeprefix(
            f"Ju and Tr come again in the same order across the fault {address_words(met.booked.address)}"
        )
        == said_of_it
    )


def test_a_repeat_without_a_logged_fault_is_a_question(compile_text):
    """With a contact at each change, and with one change that no contact fits, which is where to look."""
    log = fold(30, 31, 30, 32, 31, units=("Ju", "Tr", "Ck", "Ju", "Tr"))
    words = said(compile_text(log))
    assert (
        "Ju and Tr come again in the same order: a fault between them that is not logged, or two folds?"
        in words
    )
    assert "repeated by the fault" not in words
    bare = said(compile_text(log.replace("along 50m\ncontact Ck/Ju certain\nat 4\n", "")))
    assert "or two folds? Look at the ground between Ck and Ju, where no contact fits." in bare


def test_no_second_question_is_asked_of_a_repeat_that_folds_explain(compile_text):
    """A syncline and an anticline, two beds on each limb, bring the first limb's order back; a plain limb does not."""
    units = ("Ju", "Ju", "Ck", "Ck", "Ju", "Ju", "Ck", "Ck")
    words = said(compile_text(fold(35, 32, 30, -30, -33, 32, 34, 33, units=units)))
    assert words.count("syncline") == words.count("anticline") == 1
    assert "come again in the same order" not in words
    one_way = said(compile_text(fold(35, 32, 30, 30, 33, 32, 34, 33, units=units)))
    assert "a fault between them that is not logged, or two folds?" in one_way


def test_what_is_only_possible_is_asked(compile_text):
    """No sentence is stronger than its level, and none names a fault that is not logged."""
    levels = set()
    every = [TRESCURA, SAWBILL, GRIS]
    every += [
        TRESCURA.replace(" overturned", ""),
        TRESCURA.replace("contact Ck/Ju certain", "fault Ck/Ju certain"),
    ]
    orders = (
        ("Tr", "Ju", "Ck", "Ju", "Tr"),
        ("Ck", "Ju", "Tr", "Ju", "Ck"),
        ("Ju", "Tr", "Ck", "Ju", "Tr"),
        ("Ju",) * 5,
    )
    for dips in (
        (40, 30, 2, -30, -40),
        (-40, 30, 20, 30, 40),
        (30, 31, 30, 32, 31),
        (8, 10, 45, 10, 8),
        (40, 30, 2, 1, 0),
    ):
        every += [fold(*dips, units=units, tops=tops) for units in orders for tops in ("", "up")]
    for text in every:
        for one in compile_text(text).geology.findings:
            levels.add(one.finding.level)
            assert (one.finding.level is Level.POSSIBLE) == ("?" in one.words), one.words
            assert "the fault" not in one.words or "\nfault " in text, one.words
    assert levels == set(Level)


def wide_sheet(border, bed=""):
    """100 m of Ju within Tr, all of whose beds dip east, and its first border."""
    body = fold(30, 31, 30, units=("Tr", "Ju", "Tr")) + "to 4 090 100m level\nunit Tr\nbed 090/31\n"
    return body.replace("bed 090/31\n", bed, 1).replace("certain\n", f"certain {border}\n", 1)


def test_a_mirrored_order_made_by_what_cuts_the_beds_stops_at_what_was_seen(compile_text):
    """Told by a border across the beds; a sheet along them may as well be a bed of a fold, unless a bed was read in it."""
    cut = compile_text(wide_sheet("060/85"))
    assert "(Tr, Ju, Tr): a fold or a fault, or is Ju an intrusive body? Look at its borders." in said(cut)
    along = said(compile_text(wide_sheet("090/30")))
    assert "all beds dip east: a fold, a fault or an intrusive body? Way-up at" in along
    bedded = said(compile_text(wide_sheet("090/30", "bed 090/31\n")))
    assert "all beds dip east: a fold or a fault? Way-up at" in bedded


def test_an_unsaid_body_is_offered_where_it_seems_to_lie_under_the_older(compile_text):
    found = compile_text(wide_sheet("060/85"))
    (told,) = [one for one in found.diagnostics if one.code in {"younger-below", "intrusive-unsaid"}]
    assert (told.code, told.kind) == ("intrusive-unsaid", "warning")
    assert told.message.startswith("is Ju intrusive?")
    assert "`; intrusive`" in told.hints[0]


@pytest.mark.parametrize(("turn", "word"), [(0, "a dome"), (180, "a basin")])
def test_dips_all_round(compile_text, turn, word):
    places = [(0, 100), (87, 50), (87, -50), (0, -100), (-87, -50), (-87, 50)]
    ways = [0, 60, 120, 180, 240, 300]
    lines = ["notation 1\nbearings true\nattitudes dip-direction"]
    lines += [f"control {i} {1000 + e} E {1000 + n} N" for i, (e, n) in enumerate(places)]
    for index, way in enumerate(ways):
        lines += [f"at {index}", f"bed {(way + turn) % 360:03d}/20"]
    assert word in said(compile_text("\n".join(lines) + "\n"))


SAWBILL = """notation 1
traverse Sawbill Draw
date 2026-06-09
party JM, KT, RR
bearings magnetic
declination 8 1/2 E, 2026, map
attitudes letters
pace KT double 1.52 m
pacer KT
precision bearing 1.5
unit Qal Alluvium ; Quaternary
unit Pq Sandstone ; Permian
unit Ps Shale ; Permian
unit Pl Limestone ; Permian
control 1 1000 E 1000 N 640 m map
at 1
unit Pl
rock grey bioclastic limestone, beds 20-40 cm
bed N48E 12SE good
to 2 N41E 66p level back S42W
along 40p left 12m
unit Pl
bed N50E 14SE
at 2
contact Ps/Pl certain N50E 15SE
sample 26-RR-01 0.5 m below contact
photo 12 looking N60E
to 3 S73E 58 1/2p up 4 back N74W
covered 17p to 44p
contact Pq/Ps inferred
float Pq sandstone from 25
at 3
unit Pq
rock buff fine sandstone
bed N52E 34SE
crossbed N10W 25E
tops SE scour bases
hazard loose blocks above
to 4 S14E 81p down 6 back N13W
unit Pq
bed N54E 66SE fair
to 5 N88W 99p level back S89E
along 20p
contact Qal/Pq concealed
along 85p
contact Qal/Pl concealed
at 5
unit Pl
bed N47E 13SE
close 1 N23W 45p level back S22 1/2E
"""


def test_a_steepening_panel_is_no_fold_yet(compile_text):
    compiled = compile_text(SAWBILL)
    words = said(compiled)
    assert "steepen toward the south-east, from 12° at 1 to 66° at 4, without a reversal" in words
    assert "a steepening panel; the other limb is not seen" in words
    for wrong in ("monocline", "anticline", "syncline", "homocline"):
        assert wrong not in words
    strikes = [one.strike_deg for one in compiled.geology.attitudes]
    assert strikes[2] == pytest.approx(60.5)
    assert compiled.geology.bedding_mean.n == 5  # the cross-bed is no bed


def test_its_section_has_the_units_that_its_contacts_name(compile_text):
    """The shale between its two contacts, though the long way back over limestone lies nearer to the line."""
    profile = compile_text(SAWBILL).geology.sections[0].profile
    units = list(dict.fromkeys(point.unit for point in profile))
    assert units[:3] == ["Pl", "Ps", "Pq"]
    assert None not in units


def test_its_covered_contact_lies_half_way_with_half_the_stretch(compile_text):
    contact = compile_text(SAWBILL).geology.contacts[1]
    leg = 58.5 * 1.52
    assert contact.half_width_m == pytest.approx(13.5 * 1.52, abs=0.01)
    assert contact.place.start_share * leg == pytest.approx(17 * 1.52, abs=0.01)
    assert (contact.place.start_share + contact.place.end_share) / 2.0 * leg == pytest.approx(46.4, abs=0.1)


def test_a_contact_booked_at_a_station_and_one_on_the_next_leg_make_no_gap(compile_text):
    compiled = compile_text(SAWBILL)
    assert "contact-missing" not in {one.code for one in compiled.diagnostics}
    leg = [stretch.unit for stretch in compiled.geology.band if stretch.leg == 1]
    assert list(dict.fromkeys(leg)) == ["Ps", "Pq"]


def test_a_flat_plateau_has_one_surface_and_no_strike(compile_text):
    """RHR strikes 020/3, 075/4, 350/2, 048/3, 110/2: mean 2 toward 140, all within 2.2 (recomputed by hand)."""
    planes = ("020/3", "075/4", "350/2", "048/3", "110/2")
    lines = ["notation 1\nbearings true\nattitudes dip-right\nat 1", f"bed {planes[0]}"]
    for index, plane in enumerate(planes[1:], start=2):
        lines += [f"to {index} 090 50m", f"bed {plane}"]
    words = said(compile_text("\n".join(lines) + "\n"))
    assert "Mean 2° → 140°, every reading within 2.2° of it" in words
    assert "homocline" not in words


@pytest.mark.parametrize(
    ("planes", "mean"),
    [(("flat",) * 4, None), (("000/3", "180/3", "090/3", "270/3"), "Mean level, every reading within 3.0° of it")],
)  # fmt: skip
def test_a_mean_that_is_level_has_no_direction(compile_text, planes, mean):
    """Of beds that are all flat that is said, and no mean of them."""
    lines = ["notation 1\nbearings true\nattitudes dip-right\nat 1", f"bed {planes[0]}"]
    for index, plane in enumerate(planes[1:], start=2):
        lines += [f"to {index} 090 50m", f"bed {plane}"]
    words = said(compile_text("\n".join(lines) + "\n"))
    assert "→" not in words.replace("->", "")
    assert ("Mean" in words) == (mean is not None)
    assert mean is None or mean in words


GRIS = """notation 1
traverse Cerro Gris
bearings true
attitudes dip-right
unit Qt Terrace gravel ; Pleistocene
unit Pz3 Third ; Devonian
unit Pz2 Second ; Silurian
unit Pz1 First ; Ordovician
at 1
unit Pz1
bed 038/32
to 2 128 60m level
along 30m
contact Pz2/Pz1 certain
at 2
unit Pz2
bed N38E/32SE
to 3 128 300m level
along 210m
contact Pz3/Pz2 certain
at 3
unit Pz3
bed 038/32
fault 310/75
striation rake 20 from NW
to 4 128 100m level
along 40m
unconformity Qt/Pz3 certain flat
at 4
unit Qt
bed flat
section A-A' from 1 via 3 to 4
"""


def test_flat_over_dipping_is_an_unconformity(compile_text):
    compiled = compile_text(GRIS)
    assert "Qt lies flat over Pz3, which dips 32° → 128°: an unconformity, 32° between them." in said(
        compiled
    )
    (thick,) = compiled.geology.thicknesses
    assert thick.true_m == pytest.approx(127.0, abs=0.5)  # 240 sin 32


def test_an_unconformity_without_beds_above_says_what_is_missing(compile_text):
    log = GRIS.replace("certain flat", "certain").replace("unit Qt\nbed flat", "unit Qt")
    assert "none of Qt measured" in said(compile_text(log))


def test_the_loose_ground_of_a_valley_is_no_unconformity_of_note(compile_text):
    log = GRIS.replace("unconformity Qt", "contact Qt")
    assert "unconformity" not in said(compile_text(log))


def test_beds_over_an_unconformity_take_no_part_in_the_axis_below(compile_text):
    """Five dipping beds alike under a flat cap: with the cap's bed they would make a girdle of two clusters."""
    lines = [HEAD.replace("unit Ck", "unit Qt Gravel ; Quaternary\nunit Ck"), "at 1", "unit Ju", "bed 128/32"]
    for at in range(2, 6):
        lines += [f"to {at} 100 60m level", "unit Ju", "bed 128/33"]
    lines += ["to 6 100 60m +5", "along 30m", "unconformity Qt/Ju certain", "at 6", "unit Qt", "bed flat"]
    found = compile_text("\n".join(lines) + "\n")
    assert found.geology.fold_axis is None
    assert "Axis not determined: no two beds lie 30° apart, 1° at most." in said(found)
    assert found.geology.bedding_mean.n == 5
    folded = "\n".join(lines).replace("bed 128/33", "bed 308/33", 2)
    assert compile_text(folded + "\n").geology.fold_axis.n == 5


def test_one_reading_makes_no_fold(compile_text):
    """A bed that dips against those on both sides, which agree, is asked about; two of them are a limb."""
    one = compile_text(fold(30, 32, -50, 31, 30, units=("Ck",) * 5))
    assert "One bed, at 3, dips against those on both sides, which agree" in said(one)
    assert "form" not in said(one)
    assert one.geology.recognised == ()
    two = said(compile_text(fold(30, 32, -50, -45, 31, 30, units=("Ck",) * 6)))
    assert "synform" in two
    assert "antiform" in two
    several = said(compile_text(fold(30, -40, 32, 31, -50, 30, units=("Ck",) * 6)))
    assert "Beds at 2 and 5 each dip against those on both sides" in several


def test_one_steep_reading_makes_a_monocline_only_if_it_holds(compile_text):
    one = compile_text(fold(8, 10, 45, 10, 8, units=("Ck",) * 5))
    assert "a monocline? Only if the one steep reading, at 3, holds." in said(one)
    assert one.geology.recognised == ()
    two = compile_text(fold(8, 10, 45, 42, 10, 8, units=("Ck",) * 6))
    assert [one.finding.form.name for one in two.geology.recognised] == ["monocline"]


def test_what_is_left_out_as_a_small_fold_is_no_nearest_bed_either(compile_text):
    """A contact met again north of the last stations, where the lone beds of a panel lie nearest to it."""
    lines = [
        HEAD,
        "control 1 0 E 0 N 628 m ±5 gps",
        "at 1",
        "bed 014/37",
        "to 2 090 84m level",
        "along 52m",
        "contact Ck/Ju certain 012/35",
        "at 2",
        "unit Ck",
    ]
    lines += [
        "bed 354/18",
        "to 3 342 66m level",
        "along 30m",
        "contact Ck/Ju certain",
        "at 3",
        "unit Ck",
        "bed 219/24",
    ]
    lines += [
        "to 4 271 123m level",
        "to 5 241 70m level",
        "bed 255/12",
        "side 5a 012 42m level",
        "bed 238/16",
    ]
    words = said(compile_text("\n".join(lines) + "\n"))
    assert "Beds at 1 and 2 each dip against those on both sides" in words
    assert "One panel of even dip, 12° to 24°" in words


def test_a_cap_over_a_fold_is_set_against_the_limb_that_it_lies_on(compile_text):
    """Limbs of 40 degrees each way: their mean lies flat like the cap, and neither limb does."""
    lines = [HEAD.replace("unit Ck", "unit Qt Gravel ; Quaternary\nunit Ck"), "at 1", "unit Ju", "bed 090/40"]
    lines += ["to 2 090 60m level", "unit Ju", "bed 090/40", "to 3 090 60m level", "unit Ju", "bed 270/40"]
    lines += ["to 4 090 60m level", "unit Ju", "bed 270/42", "to 5 090 60m +5", "along 30m"]
    lines += ["unconformity Qt/Ju certain", "at 5", "unit Qt", "bed flat", "to 6 090 60m -5", "along 30m"]
    lines += ["unconformity Qt/Ju certain", "at 6", "unit Ju", "bed 270/41"]
    words = said(compile_text("\n".join(lines) + "\n"))
    assert "Qt lies flat over Ju, which dips 42° → 270°: an unconformity, 42° between them." in words
    assert words.count("Qt lies flat") == 1


def test_thickness_on_both_limbs_is_set_limb_against_limb(compile_text):
    """A unit cut by an unconformity, or crossed twice on one limb alone, says nothing of the other limb."""
    assert "Ju is 71 m thick on one limb and 73 m on the other, alike within the errors" in said(
        compile_text(TRESCURA)
    )
    cut = TRESCURA.replace("contact Ju/Tr inferred ±8 m", "unconformity Ju/Tr certain").replace(
        "contact Ck/Ju certain", "unconformity Ck/Ju certain"
    )
    words = said(compile_text(cut))
    assert "An overturned syncline" in words
    assert "Ju is" not in words


def test_several_folds_are_told_each_by_its_own_limbs(compile_text):
    """Anticline and syncline of 40 degrees each way: the mirrored order of one must not draw in the limbs of the other."""
    dips = (-40, -40, 40, 40, -40, -40)
    found = compile_text(fold(*dips, units=("Ju", "Tr", "Tr", "Ju", "Ju", "Tr")))
    forms = [one.finding.form for one in found.geology.recognised]
    assert [form.name for form in forms] == ["anticline", "syncline"]
    for form in forms:
        assert form.fold.interlimb_deg == pytest.approx(100.0, abs=1e-6)


def test_a_walk_round_a_dome_crosses_its_units_out_and_back_and_is_still_a_dome(compile_text):
    lines = [HEAD]
    for at in range(8):
        bearing = 45 * at
        unit = "Ju" if at % 2 else "Ck"
        lines += ["at 0", f"to {2 * at + 1} {bearing:03d} 100m level", f"unit {unit}"]
        lines += [f"bed {bearing:03d}/{25 + at}"]
    words = said(compile_text("\n".join(lines) + "\n"))
    assert "a dome" in words
    for wrong in ("mirrored", "again in the same order", "anticline"):
        assert wrong not in words


def test_structure_told_from_a_loop_that_is_not_adjusted_says_so(compile_text):
    """The closing leg is 100 m too short; its full length closes."""
    loop = fold(40, 30, 2, -30, -40) + "to 6 000 50m level\nclose 1 263 {}m level\n"
    broken, whole = (compile_text(loop.format(length)) for length in (303, 403))
    assert broken.trav.survey.closures[0].adjusted is False
    assert "The loop from 1 misses by 100 m and is not adjusted: dips stand" in said(broken)
    assert "a syncline" in said(broken)
    assert "not adjusted" not in said(whole)


@pytest.mark.parametrize(
    ("beds", "words"),
    [
        (["flat", "090/20"], "Beds at 1 of 2 places dip 20°, toward the east; 1 lies level."),
        (
            ["flat", "090/20", "092/24", "100/2"],
            "Beds at 2 of 4 places dip 20° to 24°, all toward the east; 2 lie within 2° of level.",
        ),
        (
            ["150/60", "180/40", "270/vertical", "178/45"],
            "Beds at 3 of 4 places dip 40° to 60°, all toward the south-east to south; 1 stands upright.",
        ),
        (["090/40", "092/45"], "Beds at 2 places dip 40° to 45°, all toward the east."),
        # The gentle ones are spoken of too; 198 is nearer to the south.
        (
            ["200/08", "205/10", "198/09"],
            "Beds at 3 places dip 8° to 10°, all toward the south to south-west.",
        ),
    ],
)
def test_beds_that_go_down_to_no_side_are_not_counted_with_those_that_do(compile_text, beds, words):
    lines = [HEAD, "at 1", f"bed {beds[0]}"]
    for at, bed in enumerate(beds[1:], start=2):
        lines += [f"to {at} 090 80m level", f"bed {bed}"]
    assert words in said(compile_text("\n".join(lines) + "\n"))


def test_a_limb_that_was_crossed_more_than_once_is_said_to_be_a_mean(compile_text):
    """So that its figure is not sought among the crossings of the table."""
    lengths = compile_text(TRESCURA).log.lengths
    once, twice = (
        sentence(LimbsThick(unit="Jl", thin_m=22.0, thick_m=23.0, alike=True, means=means), lengths)
        for means in (False, True)
    )
    assert once.startswith("Jl is 22 m thick on one limb and 23 m on the other, alike within the errors")
    assert twice.startswith(
        "Jl is 22 m thick on one limb and 23 m on the other, by the means of the crossings, alike"
    )


def test_readings_that_scatter_as_they_were_read_make_no_monocline(compile_text):
    """Read to 4 degrees, the steepest of many by no more than the next are scatter; the gentlest beside it are named else."""
    page = fold(24, 12, 31, 27, 13, 25, units=("Ju",) * 6).replace(
        "notation 1\n", "notation 1\nprecision attitude 4\n"
    )
    assert "monocline" not in said(compile_text(page))
    steep = page.replace("/31", "/64")
    assert "(12° at 2, 64° at 3, 13° at 5): a monocline? Only if" in said(compile_text(steep))
    for between, words in ((22, False), (27, True)):
        parted = fold(13, 36, between, 35, 12, units=("Ju",) * 5)
        assert ("monocline" in said(compile_text(parted))) is words


def test_the_two_sides_of_a_gentle_fold_are_no_flat_beds_on_an_unconformity(compile_text):
    """A trough of 8 degrees either way has a level mean, over limbs of 20 degrees."""
    told = said(compile_text(fold(20, 8, -8, -14, -20, units=("Tr", "Ju", "Ju", "Tr", "Tr"))))
    assert "a syncline" in told
    assert "lies flat over" not in told
    flat = said(compile_text(fold(20, 1, -1, 20, 20, units=("Tr", "Ju", "Ju", "Tr", "Tr"))))
    assert "Ju lies flat over Tr" in flat


def test_flat_over_dipping_is_asked_about_beyond_what_both_were_misread_by(compile_text):
    """One bed each: a level one over one of 13 degrees, read to 4 degrees and to 1 degree."""
    for sd, asked in ((4, False), (1, True)):
        page = fold(1, 13, units=("Ju", "Tr")).replace(
            "notation 1\n", f"notation 1\nprecision attitude {sd}\n"
        )
        assert ("Ju lies flat over Tr" in said(compile_text(page))) is asked
