"""What a line means beside its neighbours, and that nothing typed is more than the reader can take."""

import datetime as dt
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.notation.test_statements import HEADING, read
from tests.thorough import each, either
from traverse.diagnostic import Severity, render
from traverse.log.items import Leg, Side
from traverse.log.readings import Convention, Unit
from traverse.log.written_forms import FORMS
from traverse.notation.read import read_log
from traverse.notation.tidy_text import tidy
from traverse.source import Source

HEAD = "notation 1\n" + "\n".join(HEADING) + "\n"
BARE = HEAD.replace("attitudes dip-right\n", "")


def log_of(body, *, errors=()):
    outcome = read(HEAD + body)
    found = [one.code for one in outcome.diagnostics if one.severity is Severity.ERROR]
    assert found == list(errors)
    return outcome.value.log


def codes(body):
    return [one.code for one in read(HEAD + body).diagnostics if one.severity is not Severity.NOTE]


# --- bearings and attitudes: every convention of `grammar/README.md`, readings made up for these tests -----


@pytest.mark.parametrize(
    ("typed", "azimuth"),
    [
        ("N0E", 0), ("N90W", 270), ("S0W", 180), ("360", 0), ("000", 0), ("due N", 0), ("due west", 270),
        ("N120", 120), ("N 045", 45), ("S 73 1/2 E", 106.5), ("S73½E", 106.5), ("N 23° 30' W", 336.5),
        ("157 1/2", 157.5), ("041°30'", 41.5), ("s 73 e", 107), ("０４１", 41), ("٠٤١", 41), ("N 23º 30’ W", 336.5),
    ],
)  # fmt: skip
def test_bearings(typed, azimuth):
    leg = log_of(f"at 1\nto 5 {typed} 20p\n").legs[0]
    assert leg.bearing.azimuth_deg == pytest.approx(azimuth)
    assert leg.bearing.written == typed


@pytest.mark.parametrize("convention", ["dip-right", "dip-left", "letters"])
@pytest.mark.parametrize(
    ("typed", "strike", "dip"),
    [
        ("N45E/30SE", 45, 30), ("045/30SE", 45, 30), ("225/30SE", 45, 30), ("30->135", 45, 30), ("30 to 135", 45, 30),
        ("N45E 30S", 45, 30), ("N45E 30E", 45, 30), ("N 45 E/30 SE", 45, 30), ("S45W/30SE", 45, 30),
        ("N38W/68SW", 142, 68), ("322/68SW", 142, 68), ("N120/35NE", 300, 35), ("flat", None, 0), ("hor", None, 0),
        ("000/00", None, 0), ("045/00SE", None, 0),
    ],
)  # fmt: skip
def test_a_letter_or_an_arrow_speaks_for_itself(convention, typed, strike, dip):
    """One plane, however it is written; dips toward 135 are common practice, no source."""
    log = log_of(f"attitudes {convention}\nat 1\nbed {typed}\n")
    reading = log.items[0].readings[0]
    assert (reading.strike_deg, reading.dip_deg) == (strike, dip)
    assert reading.written == typed


@pytest.mark.parametrize(
    ("convention", "typed", "strike"),
    [
        ("dip-right", "142/68", 142), ("dip-left", "142/68", 322), ("dip-direction", "142/68", 52),
        ("dip-direction", "135/30SE", 45), ("dip-direction", "N45E/30SE", 45), ("dip-direction", "135/30S", 45),
        ("dip-right", "142 68", 142), ("dip-direction", "040/vertical", 310), ("dip-direction", "040/90", 310),
        ("dip-direction", "040/?", 310), ("dip-direction", "N40E/vertical", 40), ("dip-direction", "90->040", 310),
        ("dip-first", "040/vertical", 310), ("dip-first", "90/040", 310), ("dip-first", "?/040", 310),
        ("dip-right", "040/vertical", 40), ("dip-left", "040/vertical", 40), ("letters", "040/vertical", 40),
    ],
)  # fmt: skip
def test_a_pair_is_read_as_the_heading_says(convention, typed, strike):
    log = log_of(f"attitudes {convention}\nat 1\nbed {typed}\n")
    assert log.items[0].readings[0].strike_deg == strike
    assert log.items[0].conditions.convention is Convention(convention)


@pytest.mark.parametrize("typed", ["070/90", "070/vertical", "070/90SE", "070/90NW", "N70E/90"])
def test_a_vertical_plane_is_one_plane(typed):
    reading = log_of(f"at 1\nbed {typed}\n").items[0].readings[0]
    assert (reading.strike_deg % 180, reading.dip_deg) == (70, 90)


def test_a_letter_decides_whatever_the_rule():
    body = "at 1\nbed 045/60NW\n"
    for rule in ("dip-right", "dip-left", "letters"):
        outcome = read(f"{BARE}attitudes {rule}\n{body}")
        assert outcome.diagnostics == ()
        assert outcome.value.log.items[0].readings[0].strike_deg == 225


def test_dips_before_directions_are_read_where_the_page_says_so():
    """24/318 dips 24 toward 318, and so strikes 228 (common practice, no source)."""
    outcome = read(
        f"{BARE}attitudes dip-first\nat 1\nbed 24/318, 30/320NW\nbed 00/000\nbed 040/vertical\nbed 24/?\n"
    )
    assert [one.code for one in outcome.diagnostics] == ["vertical-direction", "strike-missing"]
    readings = [reading for item in outcome.value.log.items for reading in item.readings]
    assert [(one.strike_deg, one.dip_deg) for one in readings] == [(228, 24), (230, 30), (None, 0), (310, 90)]


@pytest.mark.parametrize(
    ("rule", "typed", "offered"),
    [
        ("dip-direction", "120/vertical", ["S60E/90", "90->120"]),
        ("dip-direction", "120/vert", ["S60E/90", "90->120"]),
        ("dip-direction", "120/90", ["S60E/90", "90->120"]),
        ("dip-direction", "120/90NE", ["S60E/90", "90->120"]),
        ("dip-direction", "090/?", ["N90E/?"]),
        ("dip-first", "90/120", ["S60E/90", "90->120"]),
        ("dip-first", "?/120", ["S60E/?"]),
    ],
)
def test_a_plane_that_may_be_written_by_its_strike_is_asked_about_and_what_is_offered_is_quiet(
    rule, typed, offered
):
    """One rule for all spellings; the quadrant is the strike and the arrow the direction, under any rule."""
    head = f"{BARE}attitudes {rule}\nat 1\n"
    outcome = read(f"{head}joint {typed}\njoint {typed} poor\njoint {typed}\n")
    (one,) = outcome.diagnostics
    assert (one.code, one.severity, one.span.line, one.below) == (
        "vertical-direction",
        Severity.WARNING,
        head.count("\n") + 1,
        2,
    )
    assert re.findall("`([^`]*)`", one.hints[0]) == [*offered, "checked"]
    (asked,) = outcome.value.log.items[0].readings
    assert asked.may_be_strike
    for other in offered:
        mended = read(f"{head}joint {other}\n")
        assert mended.diagnostics == ()
        (reading,) = mended.value.log.items[0].readings
        turned = 0 if "->" in other else 90
        assert (reading.strike_deg - asked.strike_deg) % 180 == turned
        assert reading.dip_deg == asked.dip_deg


@pytest.mark.parametrize("typed", ["120/88", "120/90SE", "N60W/90", "S60E/?", "90->120"])
def test_a_plane_that_says_which_figure_it_has_is_not_asked_about(typed):
    outcome = read(f"{BARE}attitudes dip-direction\nat 1\njoint {typed}\n")
    assert outcome.diagnostics == ()


@pytest.mark.parametrize(
    "rule",
    [
        "attitudes dip-right",
        "attitudes dip-left",
        "attitudes dip-direction",
        "attitudes letters",
        "weather dry",
    ],
)
def test_a_page_of_dips_before_directions_under_another_rule_is_one_message(rule):
    outcome = read(f"notation 1\nbearings true\n{rule}\nat 1\n" + "bed 24/318\nbed 30/320\nbed 28/316\n")
    assert [one.code for one in outcome.diagnostics] == ["other-order"]
    assert outcome.diagnostics[0].span.line == 5
    assert outcome.diagnostics[0].below == 2
    assert "`attitudes dip-first`" in outcome.diagnostics[0].hints[0]


def test_a_page_of_directions_before_dips_under_dip_first_is_one_message():
    outcome = read(f"{BARE}attitudes dip-first\nat 1\n" + "bed 318/24\nbed 320/30\n")
    assert [(one.code, one.below) for one in outcome.diagnostics] == [("other-order", 1)]


def test_a_strike_without_a_dip_is_kept():
    log = log_of("at 1\nbed 054/?\ncontact Ms/Lt certain N38W/?\n")
    bed, contact = log.items
    assert [(one.strike_deg, one.dip_deg) for one in (bed.readings[0], contact.plane)] == [
        (54, None),
        (322, None),
    ]
    assert not bed.readings[0].queried
    under = read(f"{BARE}attitudes dip-direction\nat 1\nbed 144/?\n").value.log
    assert under.items[0].readings[0].strike_deg == 54


def test_bare_lengths_are_what_distances_says_unless_they_say_otherwise():
    """A foot is 0.3048 m exactly (international yard and pound agreement of 1959, from memory)."""
    log = log_of(
        "distances feet\npace 2.5\ncontrol 2 412350 E 4289020 N ±10\nat 1\nelevation 1000 ±10 map\n"
        "elevation 300 m ±10\ncontact Ms/Lt inferred ±10\nto 2 054 100 ±10\n"
    )
    foot = 0.3048
    assert log.paces[-1].length_m == pytest.approx(2.5 * foot)
    assert log.controls[-1].sd_plan_m == pytest.approx(10 * foot)
    first, second, contact = log.items
    assert (first.height_m, first.sd_m) == (pytest.approx(1000 * foot), pytest.approx(10 * foot))
    assert (second.height_m, second.sd_m) == (300, 10)
    assert contact.sd_m == pytest.approx(10 * foot)
    assert log.legs[0].sd_m == pytest.approx(10 * foot)


def test_dextral_and_sinistral_are_right_and_left_lateral():
    """What the words mean (common practice, no source)."""
    log = log_of("at 1\nfault 050/60 dextral\nfault 050/60 sinistral\n")
    assert [item.movement.value for item in log.items] == ["right-lateral", "left-lateral"]


def test_a_change_of_the_declination_may_be_minutes():
    log = log_of("declination 25 W, 2019, change 10' E, chart\nat 1\n")
    assert log.heading.first.declination.change_deg == pytest.approx(1 / 6)


@pytest.mark.parametrize("typed", ["UTM 33N", "utm33n", "UTM zone 33 N", "33N"])
def test_a_zone_is_answered_with_the_numbers_it_may_mean(typed):
    outcome = read(f"notation 1\ngrid {typed}\nbearings true\nat 1\n")
    assert [one.code for one in outcome.diagnostics] == ["grid"]
    for number in ("EPSG:32633` on WGS 84", "EPSG:25833` on ETRS89", "EPSG:23033` on ED50"):
        assert number in outcome.diagnostics[0].hints[0]


def test_a_letter_against_a_dip_direction_is_refused_with_both_readings():
    outcome = read(BARE + "attitudes dip-direction\nat 1\nbed 045/30SE\n")
    assert "`045/30`" in outcome.diagnostics[0].hints[0]
    assert "`30->135`" in outcome.diagnostics[0].hints[0]


def test_one_missing_convention_is_one_message():
    outcome = read("notation 1\nbearings true\nat 1\n" + "bed 142/68\n" * 12)
    assert [one.code for one in outcome.diagnostics] == ["no-convention"]


# --- distances ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("typed", ["62 1/2 paces", "62.5p", "62½p", "62 ½ p"])
def test_half_paces(typed):
    assert log_of(f"at 1\nto 5 047 {typed}\n").legs[0].distance.value == 62.5


def test_a_decimal_comma_counts_only_where_it_is_declared():
    body = "at 1\nto 5 047 62,5p\n"
    assert codes(body) == ["decimal-comma"]
    assert log_of("decimals comma\n" + body).legs[0].distance.value == 62.5


def test_bare_numbers_are_bearing_then_distance():
    leg = log_of("distances feet\nat 1\nto 5 047 062 +3 back 227\n").legs[0]
    assert (leg.bearing.azimuth_deg, leg.distance.value, leg.distance.unit) == (47, 62, Unit.FEET)
    assert leg.back_bearing.azimuth_deg == 227


@pytest.mark.parametrize(
    ("typed", "value", "kind"),
    [("+3", 3, "degrees"), ("-12", -12, "degrees"), ("−12", -12, "degrees"), ("+8%", 8, "grade"), ("up 8", 8, "degrees"),
     ("down 4 1/2", -4.5, "degrees"), ("up 8%", 8, "grade"), ("level", 0, "degrees")],
)  # fmt: skip
def test_slopes(typed, value, kind):
    slope = log_of(f"at 1\nto 5 047 62p {typed}\n").legs[0].slope
    assert (slope.value, slope.kind.value, slope.written) == (value, kind, typed)


# --- where things lie ---------------------------------------------------------------------------------------


def test_places():
    log = log_of(
        "at 1\nto 2 N47E 64p\nalong 10p left 2m\nrock a\nside 2a N30W 12m\nrock b\nat 2\nalong 20p to 30p both\nrock c\n"
        "to 3 052 20p\nrock d\nat 1\nrock e\nfrom 3 close 1 225 60p\nrock f\n"
    )
    addresses = [item.address for item in log.items]
    assert [address.station for address in addresses] == [None, "2a", None, "3", "1", "1"]
    assert (addresses[0].leg, addresses[0].side, addresses[0].offset.value) == (log.legs[0], Side.LEFT, 2)
    assert (addresses[2].leg, addresses[2].side, addresses[2].end.value) == (log.legs[0], Side.BOTH, 30)
    assert [(leg.start, leg.end) for leg in log.legs] == [("1", "2"), ("2", "2a"), ("2", "3"), ("3", "1")]
    assert [address.index for address in log.addresses] == list(range(len(log.addresses)))
    assert [leg.index for leg in log.legs] == list(range(len(log.legs)))
    assert all(log.addresses[address.index] is address for address in addresses)
    assert log.stations == ("1", "2", "2a", "3")


def test_along_needs_the_leg_just_walked():
    assert codes("at 1\nto 2 N47E 64p\nat 1\nalong 10p\n") == ["no-leg"]
    assert codes("at 1\nto 2 N47E 64p\nat 2\nalong 10p\n") == []


def test_what_is_in_force_changes_from_its_line_on():
    log = log_of(
        "pace KT 0.76 m\npace LB double 1.5 m\npacer LB\nat 1\nto 2 N47E 64p\npacer KT\nreader MO\nbearings true\n"
        "to 3 N47E 64p\n"
    )
    first, second = (leg.conditions for leg in log.legs)
    assert (first.pace.who, second.pace.who) == ("LB", "KT")
    assert (first.bearings.value, second.bearings.value) == ("magnetic", "true")
    assert (first.reader, second.reader) == (None, "MO")
    assert log.heading.first.pacer == "LB"


def test_time_is_of_the_whole_place():
    log = log_of("at 1\nelevation 1462 m altimeter\ntime 07:10\nrock a\n")
    assert log.items[0].time == dt.time(7, 10)
    assert {item.address.time for item in log.items} == {dt.time(7, 10)}
    assert log.items[1].address is log.addresses[0]
    assert codes("at 1\ntime 07:10\nat 1\ntime 07:05\n") == ["time-backward"]


def test_single_faces_pair_up_in_order():
    log = log_of("at 1\napparent 20->080\nrock a\napparent 28->150\n")
    assert [face.written for face in log.items[1].faces] == ["20->080", "28->150"]
    assert codes("at 1\napparent 20->080\nat 1\napparent 28->150\n") == ["apparent-alone", "apparent-alone"]


def test_words_run_to_the_end_and_go_on():
    log = log_of("at 1\nrock grey # not a comment\n  | rough\n# between\n|\n| “end” \nsample #12 # torn\n")
    assert log.items[0].text == "grey # not a comment\nrough\n\n“end”"
    assert (log.items[1].label, log.items[1].words) == ("#12", None)


# --- answers and corrections --------------------------------------------------------------------------------


def test_omitted_lines_count_for_nothing():
    log = log_of(
        "at 1\nto 2 N47E 64p\nomit SR wrong station\nto 2 N74E 64p\nbed 142/68\nchecked MO seen\nomit LB float\n"
        "tie 2 to A-7\nomit MO other place\nsample X\nomit MO lost\nsample X\n"
    )
    assert [leg.bearing.written for leg in log.legs] == ["N74E"]
    assert (log.legs[0].start, log.legs[0].index) == ("1", 0)
    assert [type(one.record).__name__ for one in log.omitted] == ["Leg", "Planes", "Tie", "Sample"]
    omitted = log.omitted[0]
    assert isinstance(omitted.record, Leg)
    assert (omitted.record.index, omitted.who, omitted.why, omitted.written) == (
        -1,
        "SR",
        "wrong station",
        "to 2 N47E 64p",
    )
    assert len(log.items) == 1


def test_a_station_that_only_an_omitted_leg_reaches_is_said_to_hang_loose():
    assert codes("at 1\nto 2 N47E 64p\nomit SR wrong\nbed 142/68\n") == ["loose-piece"]


def test_answers_belong_to_the_statement_above():
    log = log_of(
        "at 1\nto 2 N47E 64p\nwas N74E, bearing, SR 2026-07-04, digits\n\n# x\nchecked MO read twice\n"
    )
    line = log.legs[0].span.line
    assert log.checked[0].of.line == line
    assert log.corrections == log.legs[0].corrections
    assert (log.corrections[0].old, log.corrections[0].date) == ("N74E, bearing", dt.date(2026, 7, 4))


# --- one mistake, one message -------------------------------------------------------------------------------


def test_a_line_that_fails_still_counts_as_its_station():
    body = "at 1\nto 2 N95E 64p\nalong 3p\nbed 142/68\nto 3 rubbish\nto 4 045 20p\nclose 3 100 20p\nclose 2 100 20p\n"
    assert codes(body) == ["quadrant-angle", "leg-word"]


@pytest.mark.parametrize(
    ("body", "code"),
    [
        ("at 1\n" + "unit Lx\n" * 12, "unknown-unit"),
        ("bearings north\nat 1\nto 2 045 20p\n", "bearings"),
        ("attitudes right-hand\nat 1\nbed 142/68\n", "attitudes"),
        ("use gone.trav\nat 1\nunit Kx\n", "use-missing"),
        ("at 1\nto 12a 045 20p\nto 12A 045 20p\nto 13 045 20p\n", "nearly-one-name"),
        ("at 1\nto 7 045 20p\nto 07 045 20p\n", "nearly-one-name"),
        ("at 1\nto é 045 20p\nto e\u0301 045 20p\n", "nearly-one-name"),
        ("at 1\nto 2 045 20p\nat 9\nto 3 045 20p\n", "unknown-station"),
        ("at 1\nto 2 045 20p\nfrom 9 to 3 045 20p\n", "unknown-station"),
        ("at 1\nto 2 045 20p\nfrom 2 close 2 045 20p\n", "leg-to-itself"),
        ("at Peak-A\nto 2 045 20p\nat 8\nrock x\n", "unknown-station"),
        # A station number typed for the next one: the place that was meant stands below.
        ("at 1\nto 2 045 20p\nto 2 145 20p\nat 3\nrock x\nto 4 045 20p\n", "leg-to-itself"),
        ("at 1\nto 2 045 20p\nto 1 145 20p\nat 3\nrock x\nto 4 045 20p\n", "station-exists"),
        ("at 1\nto 2 045 20p\nto 1 145 20p\nfrom 3 to 4 045 20p\n", "station-exists"),
        # A count lost on the leg.
        ("at 1\nto 2 045 20p\nalong 30p\nrock x\nalong 40p\nrock y\n", "past-the-end"),
        ("at 1\nto 2 045 20p\nsheet upright\n", "sheet-option"),
        ("at 1\nto 2 045 20p\nsheet band 12000 m\n", "sheet-option"),
        ("at 1\nto 2 045 20p\nsheet band 1001 m\n", "sheet-option"),
    ],
)
def test_one_mistake_is_one_message(body, code):
    assert codes(body) == [code]


def test_a_misspelt_line_is_not_missing_as_well():
    text = "notation 1\nbearings magnetic\ndeclnation 8 1/2 E, 2026, map margin\nat 1\nto 2 045 20m\n"
    assert [one.code for one in read(text).diagnostics if one.severity is Severity.ERROR] == ["unknown-word"]


def test_a_second_wrong_station_is_said_again():
    body = "at 1\nto 2 045 20p\nto 1 145 20p\nat 3\nrock x\nto 4 045 20p\nat 9\nrock y\n"
    assert codes(body) == ["station-exists", "unknown-station"]


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("upright", "`portrait`"), ("lying", "`landscape`"), ("1:500", "`scale 1:500`"), ("A3", "`paper A3`")],
)
def test_an_option_of_the_sheet_is_guessed(typed, meant):
    (one,) = read(f"notation 1\nbearings true\nat 1\nsheet {typed}\n").diagnostics
    assert meant in one.hints[0]
    assert "`paper A4`" in one.hints[-1]


def test_a_landmark_and_a_resection_are_places():
    body = (
        "control Peak-B 412350 E 4299020 N\nat 1\nsight Barn 010\nto 2 045 20p\nsight Barn 300\nat Barn\nrock red\n"
        "at X\nsight Peak-A 100\nsight Peak-B 005\n"
    )
    assert codes(body) == []


# --- files --------------------------------------------------------------------------------------------------


def test_used_files():
    files = {
        "camp.trav": b"notation 1\nbearings true\nuse lists/units.trav\n",
        "lists/units.trav": b"notation 1\nunit Kx Marl ;\n",
    }
    outcome = read("notation 1\nuse camp.trav\nat 1\nunit Kx\nto 2 045 20m\n", load=files.__getitem__)
    assert outcome.diagnostics == ()
    assert set(outcome.value.sources) == {"day.trav", *files}
    assert outcome.value.log.units[0].span.file == "lists/units.trav"
    assert outcome.value.log.file == "day.trav"


@pytest.mark.parametrize(
    ("files", "code", "where"),
    [
        (
            {"a.trav": b"notation 1\nuse b.trav\n", "b.trav": b"notation 1\nuse a.trav\n"},
            "use-circle",
            "b.trav",
        ),
        ({"a.trav": b"notation 1\nuse day.trav\n"}, "use-circle", "a.trav"),
        ({"a.trav": b"notation 1\nat 1\n"}, "used-file", "a.trav"),
        ({"a.trav": b"notation 1\nfoo\n"}, "unknown-word", "a.trav"),
        ({"a.trav": b"unit Kx Marl ;\n"}, "no-notation", "a.trav"),
        ({"a.trav": b"notation 1\n\xff\xfe"}, "not-text", "a.trav"),
        ({"a.trav": b"notation 1\nweather a\0b\n"}, "not-text", "a.trav"),
    ],
)
def test_faults_of_used_files_are_told_in_their_place(files, code, where):
    outcome = read("notation 1\nuse a.trav\n", load=files.__getitem__)
    assert [(one.code, one.span.file) for one in outcome.diagnostics] == [(code, where)]


def test_a_long_row_of_files_is_refused():
    outcome = read(
        "notation 1\nuse 0.trav\n", load=lambda path: f"notation 1\nuse {int(path[:-5]) + 1}.trav\n".encode()
    )
    assert [one.code for one in outcome.diagnostics] == ["use-deep"]


# --- nothing typed is too much ------------------------------------------------------------------------------


def judged(text):
    """Everything a command would do with the text."""
    source = Source(name="day.trav", text=text)
    outcome = read_log(source, load=lambda path: b"notation 1\nuse b.trav\nunit Kx ; x\nfoo")
    for one in outcome.diagnostics:
        render(one, outcome.value.sources)
        assert len(one.message) < 400
        if one.span is not None:
            line = outcome.value.sources[one.span.file].line(one.span.line)
            assert 1 <= one.span.column < one.span.end <= len(line) + 2
            # No name that the parser made up for itself.
            assert not re.search(r"__(?:ANON|\w+_(?:star|plus))_\d", one.message)
    tidy(source)
    return outcome


pieces = st.sampled_from(
    [word for form in FORMS.values() for word in form.example.split()]
    + [
        "±",
        "?",
        "/",
        "->",
        "½",
        "|",
        "#",
        ",",
        ";",
        "°",
        "'",
        "\t",
        "١٢",
        "é",
        "\u200f",
        "\U0001fab8",
        "\x0c",
        "\u2028",
        "N95E",
        "20q",
    ]
)
# What `text` takes by itself, without its look at what can be encoded: that takes a second of every process.
letters = st.characters(exclude_categories=["Cs"])
lines = st.lists(pieces, max_size=7).map(" ".join) | st.text(letters, max_size=30)


@given(
    st.lists(st.sampled_from([form.example for form in FORMS.values()]) | lines, max_size=15),
    st.sampled_from(["\n", "\r", "\r\n"]),
)
def test_anything_typed_gives_messages(typed, end):
    judged(end.join(["notation 1", *typed]))


@given(st.text(letters))
def test_any_text_gives_messages(text):
    judged(text)


@pytest.mark.every(2)
@pytest.mark.parametrize(
    ("word", "piece"),
    each(
        ["", "rock ", "to 5 ", "bed ", "control 1 ", "unit Ms ", "at ", "declination "],
        ["a", "1", "1 ", " ", "½", "N", "1/", "64p "],
    ),
)
def test_a_very_long_line(word, piece):
    outcome = judged(f"notation 1\nat 1\n{word}{piece * (either(20_000, 60_000) // len(piece))}\n")
    shown = [render(one, outcome.value.sources) for one in outcome.diagnostics]
    assert all(len(text) < 1500 for text in shown)
    assert len(shown) < 10


# --- parts of a unit ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "parts",
    [
        "Neogene ; #A05050 ; intrusive ; also B-Ls, C-Lst",
        "intrusive ; also B-Ls, C-Lst ; #a05050 ; Neogene",
        "also B-Ls ; Neogene ; INTRUSIVE ; also C-Lst ; #a05050",
        "; Neogene ; ; #a05050 ; intrusive ; also B-Ls,\tC-Lst",
    ],
)
def test_the_parts_of_a_unit_stand_in_any_order(parts):
    (unit,) = log_of(f"unit Db Basalt dike ; {parts}\n").units[-1:]
    assert (unit.name, unit.age, unit.colour) == ("Basalt dike", "Neogene", "#a05050")
    assert (unit.intrusive, unit.also) == (True, ("B-Ls", "C-Lst"))


def test_a_unit_is_intrusive_only_where_its_line_says_so():
    units = log_of("unit Db Intrusive basalt dike ; intrusive, Neogene ; #a05050\n").units
    assert [unit.letters for unit in units if unit.intrusive] == []
    assert units[-1].age == "intrusive, Neogene"


@pytest.mark.parametrize("pair", ["Db/Lt", "Lt/Db"])
def test_an_intrusive_unit_has_no_place_in_the_order(pair):
    """Named first or last in a contact, and of an age that would turn the list upside down."""
    body = f"unit Db Dike ; Neogene ; intrusive\nat 1\ncontact {pair} certain\n"
    assert not {"younger-first", "units-upside-down"} & set(codes(body))
    # Its `unit` line may stand below the contact.
    first, *rest = body.splitlines()
    assert "younger-first" not in codes("\n".join([*rest, first, ""]))


def test_an_intrusive_unit_of_the_quaternary_is_no_loose_ground():
    *_, unit = log_of("unit Db Dike ; Holocene ; intrusive\n").units
    assert not unit.loose


@pytest.mark.every(2)
@pytest.mark.parametrize("line", ["blah blah x", "to x"])
def test_after_a_thousand_lines_that_cannot_be_read_reading_ends_and_says_so(line):
    outcome = read(HEAD + "at 1\n" + f"{line}\n" * 3000 + "to 2 047 20p\n")
    assert len(outcome.diagnostics) == 1001
    last = outcome.diagnostics[-1]
    assert (last.code, last.span.line) == ("too-many-mistakes", HEAD.count("\n") + 1002)


LISTED = """notation 1
bearings true
unit Ch Chalk ; Upper Cretaceous
unit Ls Limestone ; Upper Jurassic
unit Gr Grit ; Lower Cretaceous
unit Co Coal ; Carboniferous
at 1
to 2 010 40m
along 10m
contact Ch/Gr certain
along 20m
contact Gr/Ls certain
along 30m
contact Ls/Co certain
"""


def test_where_ages_of_the_list_bear_a_contact_out_the_list_is_asked_about():
    (one,) = [one for one in read(LISTED).diagnostics if one.code == "younger-first"]
    assert LISTED.splitlines()[one.span.line - 1].startswith("unit Ls")
    assert one.hints[0].endswith("by the ages that they give Ch, Gr, Ls, Co")
    undated = LISTED.replace("Lower Cretaceous", "grey")
    (one,) = [one for one in read(undated).diagnostics if one.code == "younger-first"]
    assert undated.splitlines()[one.span.line - 1].startswith("contact Gr/Ls")


def test_a_number_written_twice_is_mended_at_the_first_of_its_legs_though_a_loop_reaches_the_other():
    body = "at 1\nto 2 040 60m\nto 4 050 60m\nat 3\nrock x\nto 4 060 60m\nat 4\nrock x\nfrom 2 to 5 080 50m\nclose 3 350 40m\n"
    assert codes(body) == ["unknown-station"]
