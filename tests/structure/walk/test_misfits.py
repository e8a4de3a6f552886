"""Units that do not follow each other: the one line that would mend it is named, and what rests on it counted there."""

import pytest

from traverse.log.items import Contact
from traverse.structure.walk.misfits import _as_others

HEAD = (
    "notation 1\nbearings true\nattitudes dip-direction\ndistances metres\n"
    "unit Cc Cap ; Jurassic\nunit Bb Bar ; Triassic\nunit Aa Low ; Permian\n"
)
WALK = (
    "at 1\nunit Aa\nbed 090/30\nto 2 090 80m level\nalong 40m\ncontact Bb/Aa certain\nat 2\nunit Bb\nbed 090/31\n"
    "to 3 090 80m level\nalong 40m\ncontact Cc/Bb certain\nat 3\nunit Cc\nbed 090/30\n"
)


def warnings(found):
    return [one for one in found.diagnostics if one.kind == "warning"]


def line_of(text, one):
    return text.split("\n")[one.span.line - 1]


def test_the_walk_is_clean(compile_text):
    assert warnings(compile_text(HEAD + WALK)) == []


@pytest.mark.parametrize(
    ("right", "wrong"),
    [("at 2\nunit Bb", "at 2\nunit Aa"), ("at 2\nunit Bb", "at 2\nunit Cc")],
)
def test_a_wrong_unit_at_a_station_is_one_message_at_its_line(compile_text, right, wrong):
    text = HEAD + WALK.replace(right, wrong)
    (one,) = warnings(compile_text(text))
    assert one.code in {"unit-misfit", "contact-missing"}
    assert line_of(text, one) == wrong.split("\n")[1]
    assert "`unit Bb`" in " ".join((one.message, *one.hints))


def test_each_line_is_tried_with_one_of_its_units_another(compile_text):
    """Not as it stands, and with no unit on both sides of a contact; the younger is written first."""
    items = compile_text(HEAD + WALK).log.items
    rank = {"Cc": 0, "Bb": 1, "Aa": 2, "Zz": 3}
    first = next(one for one in items if isinstance(one, Contact))
    assert (first.younger, first.older) == ("Bb", "Aa")
    tried = [(one.younger, one.older) for one in _as_others(first, list(rank), rank)]
    assert sorted(tried) == [("Aa", "Zz"), ("Bb", "Zz"), ("Cc", "Aa"), ("Cc", "Bb")]
    assert [one.letters for one in _as_others(items[0], list(rank), rank)] == ["Cc", "Bb", "Zz"]


def test_a_wrong_contact_is_named_where_the_unit_after_it_does_not_follow(compile_text):
    text = HEAD + WALK.replace("contact Cc/Bb", "contact Cc/Aa")
    (one,) = warnings(compile_text(text))
    assert "contact Cc/Aa certain" in {line_of(text, one), *(line_of(text, label) for label in one.labels)}
    assert "contact Cc/Bb" in " ".join((one.message, *one.hints, *(label.text for label in one.labels)))


def test_contacts_booked_at_one_place_lead_into_each_other(compile_text):
    """A dike beside a contact: the thin strip between them is less than half a pace."""
    text = HEAD.replace("unit Cc", "unit Dk Dike ; Neogene ; intrusive\nunit Cc") + WALK.replace(
        "contact Bb/Aa certain\n",
        "contact Bb/Aa certain\nalong 40m\ncontact Dk/Bb certain\nalong 44m\ncontact Dk/Bb certain 080/85\n",
    )
    assert warnings(compile_text(text)) == []
    (one,) = warnings(compile_text(text.replace("contact Bb/Aa certain\n", "", 1)))
    assert "Bb/Aa" in " ".join(one.hints)


def test_the_first_contact_of_a_walk_is_asked_about_where_the_station_after_it_lies_on_a_third_unit(
    compile_text,
):
    """Nothing is booked before it."""
    walk = WALK.replace("at 1\nunit Aa\nbed 090/30", "at 1")
    assert warnings(compile_text(HEAD + walk)) == []
    text = HEAD + walk.replace("at 2\nunit Bb", "at 2\nunit Cc").split("to 3")[0]
    (one,) = warnings(compile_text(text))
    assert (one.code, line_of(text, one)) == ("contact-of-others", "contact Bb/Aa certain")
    assert [text.split("\n")[span.line - 1] for span in one.doubts] == ["unit Cc"]
    assert "`contact Cc/Bb` after it is missing" in one.hints[0]


def test_a_bed_that_turns_two_contacts_over_is_named_alone(compile_text):
    """Where several contacts lie upside down by one bed, that bed is asked about, and they are listed."""
    walk = WALK.replace("bed 090/30\nto 2", "to 2").replace("unit Cc\nbed 090/30\n", "unit Cc\n")
    text = HEAD + walk.replace("bed 090/31", "bed 090/31 overturned\ntops down graded")
    (one,) = warnings(compile_text(text))
    assert one.code == "bed-turns-over"
    assert line_of(text, one) == "bed 090/31 overturned"
    assert len(one.labels) == 2


def test_a_bed_that_dips_no_more_than_it_may_be_misread_by_puts_no_contact_upside_down(compile_text):
    """Read to 4 degrees, 8 degrees the wrong way are two deviations, 14 are more than three."""
    walk = "at 1\nunit Aa\nbed 090/8\nto 2 270 80m level\nalong 40m\ncontact Bb/Aa certain\nat 2\nunit Bb\nbed 090/8\n"
    assert warnings(compile_text(HEAD + "precision attitude 4\n" + walk)) == []
    text = HEAD + "precision attitude 4\n" + walk.replace("/8", "/14")
    (one,) = warnings(compile_text(text))
    assert one.code == "younger-below"
    assert "the beds at 1 and 2, taken as upright, Bb lies under Aa" in one.message
    assert [line_of(text, label) for label in one.labels] == ["bed 090/14", "bed 090/14"]


def test_a_leg_many_times_as_long_as_the_others_is_asked_about_where_nothing_closes(compile_text):
    legs = "to 2 090 80m\nto 3 090 600m\nto 4 180 70m\nto 5 200 90m\n"
    (one,) = warnings(compile_text("notation 1\nbearings true\nat 1\n" + legs))
    assert (one.code, one.span.line) == ("far-longer", 5)
    # Of the others the longest is 90 m.
    assert "600 m long, 7 times as long" in one.message.replace("\N{NO-BREAK SPACE}", " ")
    assert warnings(compile_text("notation 1\nbearings true\nat 1\n" + legs.replace("600m", "300m"))) == []


FOUR = HEAD.replace("unit Aa Low ; Permian\n", "unit Aa Low ; Permian\nunit Zz Base ; Permian\n")
TWO_CONTACTS = (
    "at 1\nunit Zz\nbed 090/30\nto 2 090 80m level\nalong 20m\ncontact Aa/Zz certain\nalong 60m\n"
    "contact Bb/Aa certain\nat 2\nunit Bb\nbed 090/31\nto 3 090 80m level\nalong 40m\ncontact Cc/Bb certain\n"
    "at 3\nunit Cc\nbed 090/30\n"
)


def test_two_contacts_in_each_others_place_are_one_message(compile_text):
    assert warnings(compile_text(FOUR + TWO_CONTACTS)) == []
    swapped = TWO_CONTACTS.replace("Aa/Zz", "??").replace("Bb/Aa", "Aa/Zz").replace("??", "Bb/Aa")
    text = FOUR + swapped
    (one,) = warnings(compile_text(text))
    assert one.code == "contacts-exchanged"
    assert line_of(text, one) == "contact Bb/Aa certain"
    lines = [at for at, line in enumerate(text.splitlines(), 1) if line.startswith("contact")][:2]
    assert f"exchange lines {lines[0]} and {lines[1]}" in one.hints[0]


def test_where_many_lines_do_not_fit_no_exchange_is_offered(compile_text):
    """The walk is still to be written; a few more that do not fit leave it offered."""
    swapped = TWO_CONTACTS.replace("Aa/Zz", "??").replace("Bb/Aa", "Aa/Zz").replace("??", "Bb/Aa")
    for more, offered in ((3, True), (16, False)):
        units = "".join(
            f"to {4 + at} 090 50m level\nat {4 + at}\nunit {'ZC'[at % 2]}{'zc'[at % 2]}\n"
            for at in range(more)
        )
        codes = [one.code for one in warnings(compile_text(FOUR + swapped + units))]
        assert ("contacts-exchanged" in codes) is offered, codes


def test_a_fault_under_cover_is_offered_beside_a_contact_and_no_body_of_the_pile(compile_text):
    """Bb is booked over Aa and under Cc: that it comes again under cover makes it no intrusion."""
    text = (
        HEAD
        + WALK
        + "to 4 090 80m level\nalong 10m\ncontact Cc/Bb certain\ncovered 30m to 60m peat\nat 4\nunit Cc\nbed 090/30\n"
    )
    (one,) = warnings(compile_text(text))
    assert one.code == "contact-missing"
    hints = " ".join(one.hints)
    assert "`contact Cc/Bb inferred`, or `fault Cc/Bb inferred`" in hints
    assert "intrusive" not in hints


def test_without_cover_no_fault_is_offered(compile_text):
    text = HEAD + WALK.replace("along 40m\ncontact Bb/Aa certain\n", "")
    assert not any("fault" in hint for one in warnings(compile_text(text)) for hint in one.hints)


BETWEEN = (
    "at 1\nunit Aa\nbed 090/30\nto 2 090 200m level\nalong 50m\ncontact Bb/Aa certain\nalong 90m\nunit Bb\n"
    "along 140m\ncontact Cc/Bb certain\nat 2\nunit Cc\nbed 090/30\n"
)


def test_a_unit_on_a_leg_that_the_contacts_before_and_after_it_have(compile_text):
    assert warnings(compile_text(HEAD + BETWEEN)) == []


@pytest.mark.parametrize("wrong", ["unit Aa", "unit Dd"])
def test_a_unit_on_a_leg_is_asked_about_with_both_contacts_that_have_another(compile_text, wrong):
    """One line is wrong, or two contacts are missing: the message says both."""
    text = (
        HEAD
        + "unit Dd Drift Sand ; Cambrian\n"
        + BETWEEN.replace("unit Bb\nalong 140m", f"{wrong}\nalong 140m")
    )
    (one,) = warnings(compile_text(text))
    assert (one.code, line_of(text, one)) == ("unit-misfit", wrong)
    assert [line_of(text, label) for label in one.labels] == [
        "contact Bb/Aa certain",
        "contact Cc/Bb certain",
    ]
    assert "unit Bb" in one.hints[0]
    assert "missing" in one.hints[0]


@pytest.mark.parametrize("about", ["unit Aa?", "unit Dd", "along 90m left 30m\nunit Aa"])
def test_a_unit_queried_loose_over_the_contacts_or_off_the_leg_is_not_asked_about(compile_text, about):
    text = (
        HEAD
        + "unit Dd Drift Sand ; Quaternary\n"
        + BETWEEN.replace("unit Bb\nalong 140m", f"{about}\nalong 140m")
    )
    assert "unit-misfit" not in {one.code for one in warnings(compile_text(text))}
