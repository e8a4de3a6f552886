"""An `along` that was lost: its contact stands between the leg and the `at` of the leg's end."""

from traverse.diagnostic import Severity

LOG = """notation 1
bearings true
attitudes dip-right
unit Sh Shale ; Jurassic
unit Ls Lime ; Triassic
at 1
unit Ls
to 2 090 100m level
along 40m
contact Sh/Ls certain
at 2
unit Sh
to 3 090 100m level
along 30m
contact Sh/Ls certain
at 3
unit Ls
"""


def asked(compile_text, text):
    return [one for one in compile_text(text).diagnostics if one.code == "along-lost"]


def test_a_contact_above_the_at_of_its_station_is_asked_about(compile_text):
    (one,) = asked(compile_text, LOG.replace("along 40m\n", ""))
    assert one.span.line == 9
    assert "Sh/Ls stands above `at 2`" in one.message
    assert "`along DISTANCE`" in one.hints[0]


def test_a_contact_along_the_leg_below_its_at_or_where_no_at_is_written_is_quiet(compile_text):
    assert asked(compile_text, LOG) == []
    below = LOG.replace("along 40m\ncontact Sh/Ls certain\nat 2", "at 2\ncontact Sh/Ls certain")
    assert asked(compile_text, below) == []
    without = LOG.replace("along 40m\n", "").replace("at 2\n", "")
    assert asked(compile_text, without) == []


def test_who_writes_so_at_every_station_means_it(compile_text):
    both = LOG.replace("along 40m\n", "").replace("along 30m\n", "")
    assert asked(compile_text, both) == []


def test_a_misspelt_along_is_one_message_and_its_contact_is_not_asked_about(compile_text):
    for typed in ("alnog 40m", "covred 30m to 50m"):
        text = LOG.replace("along 40m", typed)
        said = compile_text(text, errors=True).diagnostics
        assert [(one.severity, one.span.line) for one in said] == [(Severity.ERROR, 9)]
