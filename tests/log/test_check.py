"""What a log lacks is said once, and nothing is called missing that a line failed to say."""

import pytest

from tests.notation.test_statements import read
from traverse.diagnostic import Severity


def codes(text):
    return [one.code for one in read("notation 1\n" + text).diagnostics if one.severity is not Severity.NOTE]


WALK = "at 1\nto 2 N47E 64p\nto 3 N47E 64p\n"


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        (WALK, ["no-north", "no-pace"]),
        ("bearings magnetic\npace 0.76 m\n" + WALK, ["no-declination"]),
        ("bearings magnetc\npace 0.76 m\n" + WALK, ["bearings"]),
        ("bearings true\npace 0 m\n" + WALK, ["pace-length"]),
        ("bearings true\npace LB 0.76 m\n" + WALK, []),
        ("bearings true\npace LB 0.76 m\npace KT 0.7 m\n" + WALK, ["whose-paces"]),
        ("bearings true\npace LB 0.76 m\npace KT 0.7 m\npacer LB\n" + WALK, []),
        ("bearings magnetic\ndeclination from model\npace 0.76 m\n" + WALK, []),
        ("bearings true\nattitudes letters magnetic\nat 1\nbed 68->232\n", ["no-declination"]),
        ("at 1\nbed flat\n", []),
    ],
)
def test_what_is_missing(text, wanted):
    assert codes(text) == wanted


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ("declination 31 W, 2026, chart", ["large-declination", "declination-unused"]),
        ("declination 25 W, 2020, chart", ["old-declination", "declination-unused"]),
        ("declination 25 W, 2020, change 0.1 E, chart", ["declination-unused"]),
        ("declination 25 W, 2021, chart", ["declination-unused"]),
        ("pace 2.5 m", ["pace-length"]),
        ("pace double 100 ft in 20, 21", []),
        ("pace single 1.52 m", ["pace-length"]),
        ("unit A A ; Triassic\nunit B B ; Miocene", ["units-upside-down"]),
        ("unit A A ; Miocene\nunit B B ; Triassic", []),
        ("unit A A ; Triassic\nunit B B ; tuff age\nunit C C ; Triassic", []),
    ],
)
def test_doubts_about_the_heading(line, wanted):
    assert codes(f"date 2026-07-03\nbearings true\n{line}\nat 1\nto 2 N47E 64m\n") == wanted


@pytest.mark.parametrize(
    ("lines", "wanted"),
    [
        ("bed 50->310 OT\nat 1\nbed 52->310 OT\n", ["overturned-unsupported"]),
        ("bed 50->310 OT\ntops unseen\n", ["overturned-unsupported"]),
        ("bed 50->310 OT\nat 1\nbed 52->310 OT\ntops down flute casts above\n", []),
        ("bed 50->310\n", []),
    ],
)
def test_overturned_beds_need_evidence_once(lines, wanted):
    assert codes(f"bearings true\nat 1\n{lines}") == wanted
