"""How near a contact is placed, by its word and by what hides it."""

import math

import pytest

from traverse.trade import APPROXIMATE_SD_M, INFERRED_SD_M

HEAD = (
    "notation 1\nbearings true\nunit Qt Gravel ;\nunit Ls Lime ;\ncontrol 1 0 E 0 N 0 m map\nat 1\nunit Qt\n"
)
WASH = "covered 20m to 60m wash\n"


def own(compile_text, body):
    """Along the walk, of the last contact: the error of the walk left out."""
    found = compile_text(HEAD + "to 2 090 100m level\n" + body + "at 2\nunit Ls\n")
    return found.geology.contacts[-1]


@pytest.mark.parametrize("word", ["concealed", "inferred"])
def test_what_is_hidden_lies_anywhere_under_its_cover(compile_text, word):
    at_a_point = own(compile_text, WASH + f"along 40m\ncontact Qt/Ls {word}\n")
    of_the_cover = own(compile_text, WASH + f"contact Qt/Ls {word}\n")
    assert at_a_point.own_sd_m == of_the_cover.own_sd_m == pytest.approx(20.0 / math.sqrt(3.0))
    assert at_a_point.half_width_m == of_the_cover.half_width_m == 20.0


def test_off_the_middle_it_is_less_sure(compile_text):
    """Beside a sum over a thousand places of the cover, each as likely."""
    found = own(compile_text, WASH + "along 30m\ncontact Qt/Ls concealed\n")
    places = [20.0 + 40.0 * (one + 0.5) / 1000 for one in range(1000)]
    assert found.own_sd_m == pytest.approx(
        math.sqrt(sum((one - 30.0) ** 2 for one in places) / 1000), abs=0.01
    )


def test_a_count_of_paces_is_no_finer_than_it_was_written(compile_text):
    """A pace of 1 m: counted whole it is off by 1/sqrt(12), also where none was counted; by halves by half of that, taped by
    nothing here.
    """
    head = HEAD.replace("at 1", "pace single 1.0 m\nat 1")
    found = [
        compile_text(
            head + f"to 2 090 90p level\nalong {at}\ncontact Qt/Ls certain\nat 2\nunit Ls\n"
        ).geology.contacts[-1]
        for at in ("40p", "0p", "40.5p", "40m")
    ]
    assert [one.own_sd_m for one in found] == pytest.approx([12**-0.5, 12**-0.5, 48**-0.5, 0.0])


def test_a_figure_of_the_party_narrows_it(compile_text):
    assert own(compile_text, WASH + "along 40m\ncontact Qt/Ls concealed ±3 m\n").own_sd_m == 3.0
    assert own(compile_text, WASH + "contact Qt/Ls inferred ±3 m\n").own_sd_m == 3.0


def test_without_a_cover_it_lies_between_the_rock_that_was_seen(compile_text):
    body = "along 30m\nunit Qt\nalong 40m\ncontact Qt/Ls concealed\nalong 60m\nrock lime\n"
    assert own(compile_text, body).half_width_m == pytest.approx(15.0)


def test_at_a_station_the_covers_on_both_sides_hide_it(compile_text):
    text = HEAD + "to 2 090 100m level\ncovered 70m to 100m wash\nat 2\ncontact Qt/Ls concealed\n"
    text += "to 3 090 50m level\ncovered 0m to 10m wash\nat 3\nunit Ls\n"
    (contact,) = compile_text(text).geology.contacts
    assert contact.half_width_m == pytest.approx(20.0)


def test_no_word_is_better_than_the_one_above_it(compile_text):
    words = ("certain", "approximate", "inferred", "concealed")
    found = [own(compile_text, f"along 40m\ncontact Qt/Ls {word}\n").own_sd_m for word in words]
    assert found == sorted(found)
    assert found[:3] == [0.0, APPROXIMATE_SD_M, INFERRED_SD_M]


def test_rock_on_both_sides_is_nearer_than_the_figure_of_the_trade(compile_text):
    body = "along 38m\nunit Qt\nalong 40m\ncontact Qt/Ls approximate\nalong 42m\nunit Ls\n"
    assert own(compile_text, body).own_sd_m == pytest.approx(2.0 / math.sqrt(3.0))
