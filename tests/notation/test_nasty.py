"""Entries that notebooks hold and programs trip over, each with the one message that is wanted.

The rows are a list of such entries from practice (common practice, no source).
"""

import pytest

from tests.notation.test_statements import HEADING, read
from traverse.diagnostic import Severity

HEAD = "notation 1\n" + "\n".join(HEADING) + "\n"
LEG = "at 1\nto 2 N47E 64p +3\n"
LEVELS = {Severity.ERROR: "error", Severity.WARNING: "warning", Severity.NOTE: "note"}

ROWS = [
    ("every spelling of a bearing", "at 1\n" + "".join(f"to {n + 2} {one} 20p\n" for n, one in enumerate(["N0E", "N90W", "S0W", "360", "000", "due N"])), []),
    ("a quadrant angle over 90", LEG + "bed N120E/30NE\n", ["error quadrant-angle"]),
    ("a letter along the strike", LEG + "bed N45E 30NE\n", ["error letter-along-strike"]),
    ("a loose letter", LEG + "bed N45E 30S\nbed N45E 30E\n", ["note loose-letter", "note loose-letter"]),
    ("a letter with the rule, one against it", LEG + "bed 045/60SE\nbed 045/60NW\n", []),
    ("vertical with and without a letter", LEG + "bed 070/90\nbed 070/vertical\nbed 070/90SE\n", []),
    ("horizontal", LEG + "bed hor\nbed 000/00\n", []),
    ("overturned without tops", LEG + "bed 310/72 OT\n", ["warning overturned-unsupported"]),
    ("overturned with tops", LEG + "bed 310/72 OT\ntops SE graded\n", []),
    ("a dip of 95", LEG + "bed 142/95\n", ["error dip-range"]),
    ("half a pace", "at 1\nto 2 N47E 62 1/2 paces\nto 3 N47E 62.5p\n", []),
    ("a decimal comma undeclared", "at 1\nto 2 N47E 62,5p\n", ["error decimal-comma"]),
    ("a leg walked back", LEG + "close 1 S47W 64p -3\n", []),
    ("names nearly one", LEG + "to 12a 047 20p\nto 12A 047 20p\n", ["error nearly-one-name"]),
    ("names nearly one, by zeros", LEG + "to 7 047 20p\nto 07 047 20p\n", ["error nearly-one-name"]),
    ("from 8 to 8", LEG + "from 2 close 2 047 20p\n", ["error leg-to-itself"]),
    ("a spur and on from its foot", LEG + "side 2a 100 20p\nrock x\nto 3 047 20p\n", []),
    ("two spurs that meet", LEG + "side 2a 100 20p\nrock x\nto 3 047 20p\nside 3b 200 9p\nrock x\ntie 2a to 3b\n", []),
    ("two pieces", "at 3\nto 4 047 20m\nat 1\nto 2 047 20m\n", ["error loose-piece"]),
    ("a second fix", LEG + "control 1 412750 E 4289020 N ±5 gps\n", []),
    ("a back slope of the same sign", "at 1\nto 2 N47E 64p +3 back 227 +3\n", ["warning back-slope-sign"]),
    ("a leg across a continent", "at 1\nto 2 N47E 99999999m +3\n", ["error distance-range"]),
    ("the same, without its unit", "at 1\nto 2 N47E 99999999 +3\n", ["error distance-range"]),
    ("more figures than anyone reads", "at 1\nto 2 N47E " + "9" * 400 + "m\n", ["error number"]),
    ("less than a millimetre", "at 1\nto 2 N47E 0.0000000000001m\n", ["error distance-zero"]),
    ("a height above all mountains", LEG + "elevation 99999 m map\n", ["error length-range"]),
    ("a slope beyond a cliff", "at 1\nto 2 N47E 64p +9999%\n", ["error slope-range"]),
    ("± nothing that was measured", LEG + "elevation 900 m ±0.00001 m map\n", ["error plus-minus"]),
    ("a scale of nothing", LEG + "sheet scale 1:0\n", ["error sheet-scale"]),
    ("minutes left out", LEG + 'bed 142/8°30"\n', []),
    ("half a degree of dip", LEG + "bed 142/½\n", []),
    ("a Turkish keyboard", LEG + "joİnt 142/80 faır\nnote ıs ıt\nBED 142/30 uprıght\nunıt Lt\n", []),
    ("slope 100", "at 1\nto 2 N47E 64p +100\n", ["error slope-range"]),
    ("words with everything in them", LEG + "note “quotes” 'single' #12 # é <b>&amp; " + "long " * 500 + "\n", []),
    ("a sample twice", LEG + "sample A\nsample A\n", ["error sample-taken"]),
    ("a date in two readings", "date 12/7/26\n" + LEG, ["error date-order"]),
    ("a heading only", "", []),
    ("one station", "at 1\n", []),
    ("attitudes without legs", "at 1\nbed 142/68\n", []),
    ("legs without attitudes", LEG, []),
]  # fmt: skip


@pytest.mark.parametrize(("body", "wanted"), [row[1:] for row in ROWS], ids=[row[0] for row in ROWS])
def test_row(body, wanted):
    outcome = read(HEAD + body)
    assert [f"{LEVELS[one.severity]} {one.code}" for one in outcome.diagnostics] == wanted


def test_south_of_the_equator_no_sign_slips():
    log = read(HEAD + "declination 25 W, 2026, chart\nat 1\nto 2 010 20p\n").value.log
    conditions = log.legs[0].conditions
    assert (log.legs[0].bearing.azimuth_deg, conditions.declination.value_deg) == (10, -25)


def test_words_are_kept_as_typed():
    text = "“quotes” 'single' #12 # é e\u0301 <b>&amp; ½ → −"
    assert read(HEAD + f"at 1\nnote {text}\n").value.log.items[0].text == text
