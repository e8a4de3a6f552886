"""A party that comes to a few stops of the key over stops of its own: the key has no such legs, only the way as a whole."""

import cmath
import json
import math
import re

import pytest

from tests.compare.round_walks import Ground, held
from tests.thorough import some
from traverse.compare.records import Reveal
from traverse.compare.scheme import read_scheme
from traverse.output.comparison_json import Compared, comparison_json
from traverse.output.comparison_text import comparison_parts
from traverse.sheet.compared.handed import hand_back

SHARED = (0, 4, 8)
LEG = re.compile(r"(?m)^to p(\d+) (\d{3}) ([\d.]+)")


def walks(seed):
    """A party round all stops of the ground, and a key that was at three of them."""
    ground = Ground(seed)
    names = {
        at: f"{['Cairn', 'Gate', 'Ford'][at // 4]}" if at in SHARED else f"p{at}"
        for at in range(ground.count)
    }
    party = ground.walk((seed, "party"), names=names)
    return party, ground.walk((seed, "key"), order=list(SHARED), names=names)


def slipped(text, put):
    """The log with a slip in the leg to one of its own stops between Gate and Ford that it moves most, and its line."""

    def moved(leg):
        there = put(leg[2], leg[3])
        return abs(_way(leg[2], leg[3]) - _way(*there))

    found = max((one for one in LEG.finditer(text) if 5 <= int(one[1]) <= 7), key=moved)
    bearing, length = put(found[2], found[3])
    line = text.count("\n", 0, found.start()) + 1
    return f"{text[: found.start()]}to p{found[1]} {bearing} {length}{text[found.end() :]}", line


def _way(bearing, length):
    return cmath.rect(float(length), math.radians(int(bearing)))


def exchanged(bearing, length):
    """The two neighbouring figures exchanged that turn the leg farther."""
    first, second, third = bearing
    turned = [one for one in (second + first + third, first + third + second) if int(one) < 360]
    return max(turned, key=lambda one: abs((int(one) - int(bearing) + 180) % 360 - 180)), length


def hundred(bearing, length):
    return bearing, f"{float(length) + 100.0:.1f}"


@pytest.mark.parametrize("seed", some(range(200, 240), 12))
def test_of_a_sound_party_no_way_is_off(seed):
    assert held(*walks(seed)).ways == ()


@pytest.mark.in_turn
@pytest.mark.parametrize("seed", some(range(240, 256), 6))
@pytest.mark.parametrize("put", [hundred, exchanged])
def test_what_a_leg_of_its_own_was_is_among_what_would_explain_the_way(seed, put):
    party, key = walks(seed)
    wrong, line = slipped(party, put)
    bearing, length = party.splitlines()[line - 1].split()[2:4]
    (way,) = held(wrong, key).ways
    assert way.stops == ("Gate", "p5", "p6", "p7", "Ford")
    assert way.off_m > 3 * way.expected_m
    assert line in {one.line for one in way.spans}
    right = {(line, bearing), (line, f"{float(length):g}m")}
    assert right & {(one.span.line, one.reading) for one in way.may_be}
    assert {one.span.line for one in way.may_be} <= {one.line for one in way.spans}


def test_a_way_is_told_with_its_legs_its_error_and_what_is_not_excluded():
    party, key = walks(240)
    wrong, line = slipped(party, hundred)
    comparison = held(wrong, key)
    scheme = read_scheme(None)[0].value
    details = comparison_parts([Compared(name="party", comparison=comparison)], scheme)[1]
    (said,) = [one for one in details.below if "its own way" in one]
    said = said.replace("\N{NO-BREAK SPACE}", " ")
    assert "4 legs Gate–p5–p6–p7–Ford" in said
    assert f"(line {line}): a hundred too many" in said
    assert "nothing excludes others" in said


@pytest.mark.parametrize("reveal", list(Reveal))
def test_the_page_handed_back_says_of_a_way_what_may_be_revealed(reveal):
    party, key = walks(240)
    wrong, line = slipped(party, hundred)
    comparison = held(wrong, key)
    page = hand_back(comparison, read_scheme(None)[0].value, reveal, comparison.lengths)
    (said,) = [one for one in page.to_mend if "legs from Gate to Ford" in one]
    assert (f"line {line}" in said.partition(":")[2]) is (reveal is not Reveal.NONE)
    assert ("expected within" in said) is ("a hundred" in said) is (reveal is Reveal.VALUES)


def test_the_json_has_each_way_with_its_lines_and_what_may_be():
    party, key = walks(240)
    wrong, line = slipped(party, hundred)
    written = comparison_json(
        [Compared(name="party", comparison=held(wrong, key))], read_scheme(None)[0].value
    )
    (way,) = json.loads(written)[0]["ways"]
    assert (way["stops"][0], way["stops"][-1], way["key"]) == ("Gate", "Ford", ["Gate", "Ford"])
    assert line in way["lines"]
    assert way["off"] > way["expected"]
    assert (line, "a hundred too many") in {(one["line"], one["slip"]) for one in way["may_be"]}
