"""One slip, one message, at its line: over 200 slips of ordinary kinds, lost lines and exchanged units."""

from itertools import islice

import pytest

from tests.notation.slips import KINDS, is_one, lost_lines, said_of, slips, swapped_units
from tests.notation.test_statements import read
from tests.thorough import either
from traverse.diagnostic import Severity, render

COUNT = either(100, 200)
LEAST = either(98, 195)


def test_the_logs_themselves_are_clean():
    for one in {slip.log: slip for slip in lost_lines()}.values():
        lines = one.text.split("\n")
        whole = one._replace(text="\n".join([*lines[: one.line - 1], one.was, *lines[one.line - 1 :]]))
        assert said_of(whole) == []


def test_of_a_hundred_slips_98_give_one_message_at_their_line():
    made = slips(COUNT)
    assert len(made) == COUNT
    assert {slip.kind for slip in made} == set(KINDS)
    bad = [slip for slip in made if not is_one(slip, said_of(slip))]
    assert len(bad) <= COUNT - LEAST, [(slip.kind, slip.was) for slip in bad]


def test_every_message_of_a_slip_has_a_remedy():
    for slip in slips(COUNT):
        for one in said_of(slip):
            assert one.hints, one


def test_a_lost_line_is_missed_once():
    """What rests on it is counted under the first place that wants it."""
    bad = [
        (slip.was, [one.message for one in said])
        for slip in islice(lost_lines(), 0, None, either(3, 1))
        if len(said := said_of(slip)) > 1
    ]
    assert bad == []


def test_units_in_the_wrong_order_are_one_warning_at_the_list():
    made = list(swapped_units())
    assert len(made) == 6
    for slip in made:
        said = said_of(slip)
        assert [(one.code, one.span.line, one.severity) for one in said] == [
            ("younger-first", slip.line, Severity.WARNING)
        ]


def test_units_upside_down_are_one_warning():
    outcome = read(
        "notation 1\nbearings true\nunit Ls L ; Devonian\nunit Sh S ; Jurassic\nunit Ss S ; Triassic\nat 1\n"
        "to 2 010 40m\nalong 10m\ncontact Sh/Ls certain\nalong 20m\ncontact Sh/Ls certain\n".replace(
            "unit Sh S ; Jurassic\nunit Ss S ; Triassic", "unit Ss S ; Triassic\nunit Sh S ; Jurassic"
        )
    )
    said = [one for one in outcome.diagnostics if one.severity is not Severity.NOTE]
    assert [(one.code, one.below) for one in said] == [("units-upside-down", 2)]


@pytest.mark.parametrize("first", ["", "ta 1\n", "att 1\n"])
def test_a_first_at_that_is_missing_or_misspelt_is_one_message(first):
    body = (
        f"{first}bed 142/30\nrock slate\nto 2 010 40m\nto 3 120 40m\nalong 10m\nrock slate\nclose 1 240 40m\n"
    )
    outcome = read(f"notation 1\nbearings true\nattitudes dip-right\n{body}")
    assert [one.span.line for one in outcome.diagnostics] == [4]


def test_what_rests_on_a_message_is_counted_in_it():
    outcome = read("notation 1\nbearings true\nat 1\n" + "bed 142/68\n" * 6)
    assert "5 more messages follow from this line, and go with it." in " ".join(
        render(outcome.diagnostics[0], {}).split()
    )


def test_places_past_a_leg_point_to_the_leg_where_its_count_is_to_be_doubted():
    walk = "notation 1\nbearings true\nat 1\nto 2 010 60m\nto 3 120 6m\nalong 31m\nrock a\nalong 45m\nrock b\nto 4 240 55m\n"
    said = read(walk).diagnostics
    assert [(one.code, one.span.line, one.below) for one in said] == [("past-the-end", 5, 2)]
    alone = read(walk.replace("along 45m\nrock b\n", "")).diagnostics
    assert [(one.code, one.span.line) for one in alone] == [("past-the-end", 5)]
    beside = read(walk.replace("120 6m", "120 40m").replace("along 31m", "along 3m")).diagnostics
    assert [(one.code, one.span.line) for one in beside] == [("past-the-end", 8)]


def test_a_place_along_a_leg_right_below_a_side_shot_is_asked_about():
    walk = "notation 1\nbearings true\nat 1\nto 2 010 60m\nside 3 080 50m\nrock c\nalong 31m\nrock a\nalong 45m\nrock b\n"
    (told,) = read(walk).diagnostics
    assert (told.code, told.span.line) == ("along-after-side", 7)
    assert told.hints[0] == "on the leg from 1 to 2, move it below that `to` line (line 4)"
    (told,) = read(f"{walk}at 2\nto 4 080 60m\n").diagnostics
    assert told.hints[0] == "on the leg from 2 to 4, move it below that `to` line (line 12)"
    assert not read(walk.replace("along 31m", "at 2\nalong 31m")).diagnostics
    assert not read(
        walk.replace("along 31m", "side 4 080 31m").replace("along 45m", "side 5 080 45m")
    ).diagnostics


def test_a_place_below_the_station_it_leads_to_is_sent_to_a_leg_and_not_to_a_shot():
    """Both legs are offered: that on which it is taken to lie, and the one walked next."""
    walk = "notation 1\nbearings true\nat 1\nto 2 010 60m\nalong 31m\nrock a\nat 2\nalong 8m\nrock b\nside 3 080 50m\nat 2\nto 4 080 60m\n"
    (told,) = [one for one in read(walk).diagnostics if one.code.startswith("along")]
    assert (told.code, told.span.line) == ("along-behind", 8)
    [hint] = told.hints
    assert "on the leg from 2, move it below that `to` line (line 12)" in hint
    assert "on the leg to 2 it goes above 31m (line 5)" in hint
    for mended in (
        walk.replace("along 8m\nrock b\n", "") + "along 8m\nrock b\n",
        walk.replace("along 8m\nrock b\n", "").replace("along 31m", "along 8m\nrock b\nalong 31m"),
    ):
        assert not [one for one in read(mended).diagnostics if one.code.startswith("along")]


def test_a_station_that_the_leg_above_does_not_lead_to():
    """Which of the two names is the slip can't be told."""
    said = read("notation 1\nbearings true\nat 16\nto 18 010 60m\nat 17\nrock a\nto 19 120 40m\n").diagnostics
    assert [(one.code, one.span.line) for one in said] == [("unknown-station", 5)]
    assert "`at 18`, or `to 17` in that leg" in said[0].hints[0]
    assert "did you mean" not in said[0].message


@pytest.mark.parametrize("here", ["", "rock b\n"])
def test_a_leg_line_that_is_lost_is_offered_first_where_the_station_above_has_its_own_lines(here):
    said = read(
        f"notation 1\nbearings true\nat 16\nto 17 010 60m\n{here}at 18\nrock a\nto 19 120 40m\n"
    ).diagnostics
    assert [one.code for one in said] == ["unknown-station"]
    assert said[0].hints[0].startswith("the line `to 18 …` is missing") == bool(here)
    assert "the line `to 18 …` is missing" in said[0].hints[0]


def test_a_leg_does_not_come_back_to_where_it_begins():
    walk = "".join(f"to {n} 010 60m\n" for n in range(2, 14))
    (said,) = read(f"notation 1\nbearings true\nat 1\n{walk}close 18 120 40m\n").diagnostics
    assert said.message == "no station 18"
    assert said.hints[0].startswith("`close 1` or `close 8` if a figure is too many")


def test_a_distance_by_itself_below_a_whole_leg_is_a_place_on_it():
    (said,) = read("notation 1\nbearings true\nat 1\nto 2 010 60m\n32m\nrock a\nat 2\n").diagnostics
    assert said.hints == ("a place along that leg is `along 32m`",)
    (said,) = read("notation 1\nbearings true\nat 1\nto 2 010\n32m\nat 2\n").diagnostics[:1]
    assert "along" not in said.hints[0]


def test_a_letter_in_a_bearing_is_no_second_distance():
    (said,) = read("notation 1\nbearings true\nat 1\nto 2 16O 60m\n").diagnostics
    assert (said.code, said.hints) == ("letter-for-figure", ("`160`",))


def test_no_at_line_is_named_that_is_not_there():
    head = (
        "notation 1\nbearings true\nunit Aa Alpha ; Jurassic\nunit Bb Beta ; Triassic\nat 1\nto 2 010 60m\n"
    )
    (said,) = [
        one for one in read(f"{head}to 3 010 60m\nunit Aa\nunit Bb\n").diagnostics if one.code == "two-units"
    ]
    assert [label.span.line for label in said.labels] == [8]


def test_names_are_guessed_near_and_numbers_not():
    said = read(
        "notation 1\nbearings true\nat Trig\nto Tor 010 60m\nto 3 100 20m\nat 3\nclose Tirg 120 40m\n"
    ).diagnostics
    assert said[0].message == "no station Tirg; did you mean Trig?"


def test_of_units_as_near_the_one_met_last_is_meant():
    """Sa, Sh: `Ss` is as near to both, and the walk has just come into Sa."""
    text = (
        "notation 1\nbearings true\nunit Sh Shale ;\nunit Ma Marl ;\nunit Sa Sand ;\n"
        "at 1\nunit Sh\nto 2 090 50m\nat 2\nunit Ma\nto 3 090 50m\nalong 20m\ncontact Ma/Sa certain\nat 3\nunit Ss\n"
    )
    (one,) = [one for one in read(text).diagnostics if one.code == "unknown-unit"]
    assert one.hints[0].startswith("write `Sa`")
