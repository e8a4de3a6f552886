"""The unit under the walk: which, from where, to where."""

import pytest

from traverse.sheet.paper.words import NOTHING
from traverse.sheet.said.stops import gather
from traverse.sheet.tables.contact_rows import contacts_table

HEAD = """notation 1
bearings true
attitudes dip-right
unit Qa Gravel ;
unit Ms Marl ;
unit Lt Limestone ;
at 1
"""


def stretches(compiled):
    return [
        (round(one.start_share, 3), round(one.end_share, 3), one.unit, one.covered)
        for one in compiled.geology.band
    ]


def test_the_unit_changes_at_the_contact(compile_text):
    found = compile_text(HEAD + "unit Lt\nto 2 090 100m\nalong 40m\ncontact Ms/Lt certain\nat 2\nunit Ms\n")
    assert stretches(found) == [(0.0, 0.4, "Lt", False), (0.4, 1.0, "Ms", False)]
    assert not [one for one in found.diagnostics if one.code == "contact-missing"]


def test_without_a_contact_the_change_is_half_way_and_said(compile_text):
    found = compile_text(HEAD + "unit Lt\nto 2 090 100m\nunit Ms\n")
    assert stretches(found) == [(0.0, 0.5, "Lt", False), (0.5, 1.0, "Ms", False)]
    (told,) = [one for one in found.diagnostics if one.code == "contact-missing"]
    assert told.span.line == 10
    assert "Ms/Lt" in told.hints[0]


def test_a_contact_that_another_walk_booked_on_the_same_ground_is_not_asked_for(compile_text):
    """A shot to the contact, and a shot past it: the change lies at the contact, as drawn and as listed."""
    text = HEAD + "unit Lt\nside 3 090 40m\ncontact Ms/Lt certain\nside 2 092 100m\nunit Ms\n"
    found = compile_text(text)
    assert not [one for one in found.diagnostics if one.code == "contact-missing"]
    assert not found.geology.unbooked
    assert [piece[:3] for piece in stretches(found)][-2:] == [(0.0, 0.4, "Lt"), (0.4, 1.0, "Ms")]
    far = compile_text(text.replace("side 2 092", "side 2 120"))
    (one,) = far.geology.unbooked
    assert (one.units, one.half_way, one.share) == (("Lt", "Ms"), True, 0.5)
    rows = contacts_table(far.trav, gather(far.trav)).rows
    assert [(row.cells[0], row.cells[3].replace("\xa0", " "), row.cells[4]) for row in rows] == [
        ("c1", "Ms / Lt", "certain"),
        (NOTHING, "Ms / Lt?", "not booked"),
    ]


def test_a_contact_booked_at_a_station_lies_there(compile_text):
    found = compile_text(
        HEAD + "unit Lt\nto 2 090 100m\ncontact Ms/Lt certain\nunit Lt\nto 3 090 50m\nunit Ms\n"
    )
    assert stretches(found) == [(0.0, 1.0, "Lt", False), (0.0, 1.0, "Ms", False)]
    assert not [one for one in found.diagnostics if one.code == "contact-missing"]


def test_the_ground_before_the_first_contact_is_told_from_what_follows(compile_text):
    found = compile_text(HEAD + "to 2 090 100m\nalong 30m\ncontact Ms/Lt certain\nat 2\nunit Ms\n")
    assert stretches(found)[0] == (0.0, 0.3, "Lt", False)


def test_two_crossings_come_back_to_the_unit_left(compile_text):
    found = compile_text(
        HEAD
        + "unit Ms\nto 2 090 100m\nalong 30m\ncontact Qa/Ms certain\nalong 60m\ncontact Qa/Ms certain\nat 2\nunit Ms\n"
    )
    assert [piece[2] for piece in stretches(found)] == ["Ms", "Qa", "Ms"]


def test_covered_ground_keeps_its_unit_and_is_marked(compile_text):
    found = compile_text(HEAD + "unit Ms\nto 2 090 100m\ncovered 20m to 50m scree\nat 2\nunit Ms\n")
    assert stretches(found) == [(0.0, 0.2, "Ms", False), (0.2, 0.5, "Ms", True), (0.5, 1.0, "Ms", False)]


def test_the_walk_goes_on_from_a_station_it_returns_to(compile_text):
    found = compile_text(HEAD + "unit Lt\nto 2 090 100m\nto 3 090 50m\nat 1\nto 4 000 50m\n")
    assert {piece[2] for piece in stretches(found)} == {"Lt"}


def test_pieces_lie_on_the_adjusted_leg(compile_text):
    found = compile_text(HEAD + "unit Lt\nto 2 090 100m\nalong 40m\ncontact Ms/Lt certain\nat 2\nunit Ms\n")
    assert found.geology.band[0].end == (pytest.approx(40.0), pytest.approx(0.0, abs=1e-9))


# Marl over limestone and gravel over marl, met leg by leg, and never a word on which side is which.
CONTACTS = "to 2 090 100m\nto 3 090 100m\nalong 40m\n{first}\nto 4 090 100m\nto 5 090 100m\nalong 60m\n{last}\nto 6 090 100m\n"


def runs(compiled):
    """Units in walking order, equal neighbours once."""
    units = [one.unit for one in compiled.geology.band]
    return [unit for at, unit in enumerate(units) if at == 0 or unit != units[at - 1]]


def test_contacts_alone_tell_what_lies_between_and_beyond_them(compile_text):
    body = CONTACTS.format(first="contact Ms/Lt certain", last="contact Qa/Ms certain")
    assert runs(compile_text(HEAD + body)) == [None, "Lt", "Ms", "Qa"]


def test_the_same_contact_twice_is_told_by_the_next_one(compile_text):
    body = CONTACTS.format(
        first="contact Ms/Lt certain\nalong 70m\ncontact Ms/Lt certain\nalong 80m\ncontact Ms/Lt certain",
        last="contact Qa/Ms certain",
    )
    assert runs(compile_text(HEAD + body)) == [None, "Lt", "Ms", "Lt", "Ms", "Qa"]


def test_one_contact_alone_leaves_its_sides_open(compile_text):
    body = CONTACTS.format(first="contact Ms/Lt certain", last="rock marl or limestone")
    assert runs(compile_text(HEAD + body)) == [None]


def test_a_contact_that_was_seen_has_no_third_unit_beyond_it(compile_text):
    """A contact is missing before it: what lies beyond is told by the next station, and is not the gravel left behind."""
    body = "unit Qa\nto 2 090 100m\nalong 40m\ncontact Ms/Lt certain\nat 2\n"
    assert runs(compile_text(HEAD + body + "unit Lt\n")) == ["Qa", "Lt"]
    assert runs(compile_text(HEAD + body)) == ["Qa", None]


def test_loose_ground_goes_on_over_a_contact_that_it_hides(compile_text):
    body = "unit Qa\nto 2 090 100m\nalong 40m\ncontact Ms/Lt concealed\nat 2\n"
    assert runs(compile_text(HEAD + body)) == ["Qa"]


def test_colour_begins_where_the_unit_was_first_booked(compile_text):
    """Not a leg before, nor on the way to it: the party had not seen it there."""
    found = compile_text(HEAD + "to 2 090 100m\nto 3 090 100m\nunit Lt\nto 4 090 100m\n")
    assert stretches(found) == [(0, 1, None, False), (0, 1, None, False), (0, 1, "Lt", False)]


def test_a_unit_seen_on_a_leg_alone_tells_the_ground_from_there_on(compile_text):
    """No unit at either station and no contact anywhere: the one that was seen along the leg."""
    found = compile_text(HEAD + "to 2 090 100m\nalong 30m\nunit Lt\nto 3 090 100m\n")
    assert stretches(found) == [(0, 0.3, None, False), (0.3, 1, "Lt", False), (0, 1, "Lt", False)]


def stations(compiled):
    return {one.station: one.letters + ("?" if one.queried else "") for one in compiled.geology.station_units}


def test_the_first_unit_of_a_place_counts_everywhere_and_the_second_is_asked_about(compile_text):
    """Band, table and structure have one answer for a station with two units."""
    text = HEAD + "unit Lt\nbed 100/30\nunit Ms\nto 2 090 100m\nunit Lt\n"
    found = compile_text(text)
    once = compile_text(text.replace("unit Ms\n", ""))
    assert found.geology.band == once.geology.band
    assert stations(found) == stations(once) == {"1": "Lt", "2": "Lt"}
    assert gather(found.trav).unit_at("1") == "Lt"
    (told,) = [one for one in found.diagnostics if one.code == "two-units"]
    assert told.message == "station 1 is on Lt (line 8) and on Ms; Lt counts"
    assert "contact Ms/Lt" in told.hints[0]


@pytest.mark.parametrize("back", ["unit Lt", "unit Ms"])
def test_a_station_come_back_to_keeps_its_first_unit(compile_text, back):
    """The beds read there on either visit are of one unit."""
    found = compile_text(
        HEAD
        + f"unit Lt\nbed 100/30\nto 2 090 100m\nunit Lt\nat 1\n{back}\nbed 102/30\nsample S-1 shell bed\n"
    )
    assert stations(found)["1"] == "Lt"
    assert [one.unit.letters for one in found.geology.column if one.samples] == ["Lt"]
    assert len([one for one in found.diagnostics if one.code == "two-units"]) == (back == "unit Ms")


def test_two_units_of_a_place_on_a_leg_are_asked_about_too(compile_text):
    found = compile_text(HEAD + "unit Lt\nto 2 090 100m\nalong 40m\nunit Ms\nunit Qa\nat 2\nunit Ms\n")
    (told,) = [one for one in found.diagnostics if one.code == "two-units"]
    assert told.message.startswith("this place is on Ms")


def test_a_station_where_no_unit_was_said_is_on_what_the_walk_was_left_on(compile_text):
    """The first leg that reaches it tells, and the table says what the structure takes."""
    found = compile_text(
        HEAD
        + "unit Lt\nto 2 090 100m\nalong 40m\ncontact Ms/Lt certain\nto 3 180 100m\nunit Ms\n"
        + "to 4 270 100m\nunit Lt\nclose 2 045 141m\n"
    )
    assert stations(found)["2"] == "Ms"
    stops = gather(found.trav)
    assert {name: stops.unit_at(name) for name in "1234"} == {"1": "Lt", "2": "Ms", "3": "Ms", "4": "Lt"}


def test_a_doubt_is_carried_with_the_unit(compile_text):
    found = compile_text(HEAD + "unit Lt\nto 2 090 100m\nalong 40m to 100m\nunit Ms?\nto 3 090 50m\n")
    assert stations(found)["2"] == "Ms?"


def test_ground_seen_along_a_stretch_ends_with_it_where_the_walk_comes_out_on_what_it_left(compile_text):
    """Marl from 20 to 40 m between limestone and limestone; where the leg ends on marl, marl goes on."""
    leg = "unit Lt\nto 2 090 100m\nalong 20m to 40m\nunit Ms\nat 2\nunit {}\n"
    found = compile_text(HEAD + leg.format("Lt"))
    assert stretches(found) == [(0.0, 0.2, "Lt", False), (0.2, 0.4, "Ms", False), (0.4, 1.0, "Lt", False)]
    found = compile_text(HEAD + leg.format("Ms"))
    assert stretches(found) == [(0.0, 0.2, "Lt", False), (0.2, 1.0, "Ms", False)]


def test_what_was_noted_where_no_leg_leads_lies_at_that_place(compile_text):
    """Of 300 E 200 N a point at 700 E 100 N bears 104.04, and one at 100 E 900 N 344.05: atan(-400 / 100), atan(200 / 700)."""
    text = HEAD.replace("at 1\n", "control A 700 E 100 N\ncontrol B 100 E 900 N\ncontrol 1 0 E 0 N\nat 1\n")
    found = compile_text(
        text + "unit Lt\nto 2 090 100m\nunit Lt\nat Ledge\nunit Ms\nsight A 104.04\nsight B 344.05\n"
    )
    (alone,) = [one for one in found.geology.band if one.leg is None]
    assert alone.unit == "Ms"
    assert (*alone.start, *alone.end) == pytest.approx((300.0, 200.0, 300.0, 200.0), abs=0.3)


def test_a_change_that_nobody_booked_runs_square_to_the_walk(compile_text):
    (one,) = compile_text(HEAD + "unit Lt\nto 2 037 100m\nunit Ms\n").geology.unbooked
    assert one.course_deg == pytest.approx(127.0)
    # Half of 100 m along 037.
    assert one.at == pytest.approx((30.09, 39.93), abs=0.01)
