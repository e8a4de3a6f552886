"""What closures leave open is said of what the walk has."""

import pytest

from traverse.compile import compile_log
from traverse.sheet.said.sentences import closure_lines
from traverse.sheet.said.unchecked import unchecked_paragraphs
from traverse.source import Source

LOOP = """notation 1
bearings {north}
{lines}
at 1
to 2 090 80{unit} level
to 3 210 80{unit} level
close 1 330 80{unit} level
"""


@pytest.mark.parametrize(
    ("north", "lines", "unit", "turned", "stretched"),
    [
        ("true", "", "m", "north", "tape"),
        ("magnetic", "declination 4.7 E, 2026, map margin", "m", "declination", "tape"),
        ("true", "pace MO double 100 m in 66", "dp", "north", "pace"),
        ("magnetic", "declination 4.7 E, 2026, map margin\npace MO double 100 m in 66", "dp", "declination", "pace"),
    ],
)  # fmt: skip
def test_a_taped_walk_is_told_of_no_pace_and_one_from_true_north_of_no_declination(
    north, lines, unit, turned, stretched
):
    log = compile_log(
        Source("day.trav", LOOP.format(north=north, lines=lines, unit=unit)), load=lambda name: b""
    )
    told = closure_lines(log.log, log.trav.survey)[-1]
    assert told.endswith(f"A loop cannot check the start, the {turned} or the {stretched}.")
    whole = " ".join(unchecked_paragraphs(log.log, log.trav.survey))
    assert f"a wrong {turned}, a wrong {stretched} length" in whole
    assert f"would check the {turned}, the lengths and the start" in whole
    assert ("declination" in whole) == (north == "magnetic")
    assert ("pace" in whole) == (unit == "dp")
