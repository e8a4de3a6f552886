"""What `check` says: where to look first, what the closure is made of, what to read again, and in which order."""

import io
import re
import subprocess
import sys
from pathlib import Path

import pytest
from rich.console import Console

from traverse.compile import compile_log
from traverse.output.report import report
from traverse.output.report_lines import WIDTH, plain_text, show
from traverse.source import Source

# An invented loop, computed for these tests, as it would be typed; tests/adjustment/test_sharing.py holds its figures.
SAWBILL = """notation 1
traverse Sawbill Draw
date 2026-06-09
bearings magnetic
declination 8.5 E, 2026, chart
attitudes dip-right
pace double 100 m in 65, 66, 66, 67
precision bearing 1.5, slope 1, pace 2%
control 1 1000 E 2000 N
at 1
to 2 041 66p back 222
to 3 107 58.5p back 286
to 4 166 81p back 347
to 5 {four_to_five}
  rock Sandstone, buff
close 1 337 45p back 157.5
"""
GOOD = SAWBILL.format(four_to_five="272 99p back 091")
WITH_EVERYTHING = Path(__file__).parents[2] / "samples" / "copperjar-wash" / "copperjar-wash.trav"
WRONG = SAWBILL.format(four_to_five="282 99p")


def parts_of(text):
    compiled = compile_log(Source(name="page.trav", text=text), load=lambda _: None)
    assert not compiled.failed, [one.message for one in compiled.diagnostics]
    return report(compiled.trav, compiled.diagnostics)


def table(parts, heading):
    return next((part for part in parts if part.heading == heading), None)


def said(text):
    return plain_text(parts_of(text))


def test_a_good_loop_says_nothing_of_suspects():
    parts = parts_of(GOOD)
    assert table(parts, "Look here first") is None
    assert table(parts, "Legs of what closes badly") is None
    assert "out by 5 m toward 137°" in plain_text(parts)


def test_look_here_first_gives_line_leg_words_and_what_it_would_close_to():
    first = table(parts_of(WRONG), "Look here first")
    assert first.rows[0] == (
        "14",
        "4–5",
        "282",
        "272",
        "4\xa0m",
        "bearing 10 degrees too large",
    )
    assert any("A back bearing from 5 to 4 would decide: 092" in words for words in first.below)
    assert "nothing was changed" in first.below[-1]


def test_it_stands_before_everything_but_the_head():
    assert [part.heading for part in parts_of(WRONG)][:2] == ["Sawbill Draw", "Look here first"]


def test_the_expected_closure_is_told_apart():
    """By hand: bearings 1.5/sqrt(2) degrees make 0.0185 of a length across it, paces 0.02 along it."""
    across, along = (1.5 / 2**0.5 * 3.14159265 / 180) ** 2, 0.02**2
    text = said(GOOD)
    found = re.search(r"expected come from: (\d+) % paces and tapes, (\d+) % bearings", text)
    assert int(found[1]) == pytest.approx(100 * along / (along + across), abs=1)
    assert int(found[2]) == pytest.approx(100 * across / (along + across), abs=1)


TIE = """notation 1
traverse Out to the cairn
bearings true
attitudes dip-right
pace 100 m in 60, 70, 80
control 1 0 E 0 N ±1 m
control 9 280 E 0 N ±1 m
at 1
to 2 090 100p
to 9 090 100p
"""


def test_the_calibration_shows_in_a_tie_and_not_in_a_loop():
    """Three walks of 100 m: lengths 1.667, 1.429, 1.25, standard error 0.121 in 1.429, 8.5 % of 286 m is 24 m."""
    assert re.search(r"[89]\d % the pace's calibration", " ".join(said(TIE).split()))
    assert "pace's calibration" not in said(GOOD)
    assert "pace's calibration" not in said(GOOD.replace("337 45p", "337 345p"))
    assert "which no loop shows" in " ".join(said(GOOD).split())


def test_a_leg_of_a_loop_that_fails_has_its_residuals_when_it_is_adjusted_all_the_same():
    legs = table(parts_of(WRONG), "Legs of what closes badly")
    assert [row[:4] for row in legs.rows][3] == ("14", "4–5", "282", "")
    assert legs.rows[3][5:] == ("–", "–", "–")
    forced = WRONG.replace("at 1\n", "adjust least-squares anyway to see the residuals\nat 1\n")
    legs = table(parts_of(forced), "Legs of what closes badly")
    redundancy, residual = (row.split(" / ") for row in legs.rows[3][6:])
    assert all(0.0 < float(value) < 1.0 for value in redundancy)
    worst = max(abs(float(row[7].split(" / ")[0].replace("−", "-"))) for row in legs.rows)
    assert abs(float(residual[0].replace("−", "-"))) == worst
    assert any("3.29" in words for words in legs.below)


def test_least_squares_prints_its_global_test_in_a_sentence():
    text = " ".join(said(GOOD.replace("at 1\n", "adjust least-squares\nat 1\n")).split())
    assert re.search(
        r"chi-square 0\.\d with \d degrees of freedom, where 95 good walks in 100 stay below \d", text
    )
    assert "All readings together" not in said(GOOD)


def test_it_ends_with_the_hazards_and_whose_rules_come_first():
    """Nobody is sent out again without them."""
    last = parts_of(WRONG.replace("to 3", "hazard ford: deep, under a cut bank\nto 3"))[-1]
    assert last.heading == "Hazards noticed"
    assert last.paragraphs[0] == "H1, station\N{NO-BREAK SPACE}2: ford: deep, under a cut bank."
    assert "local rules and the leader’s risk assessment come first" in last.paragraphs[-1]
    assert parts_of(WRONG)[-1].paragraphs[0].startswith("No hazard was noted.")


def test_a_task_names_the_hazards_of_the_places_it_sends_people_to():
    text = WRONG.replace("to 2 041 66p", "hazard loose blocks\nto 2 041? 66p")
    text = text.replace("to 3", "hazard ford: deep\nto 3")
    tasks = next(part for part in parts_of(text) if part.heading == "Readings to check tomorrow")
    (doubted,) = [row[1] for row in tasks.rows if "a figure in doubt" in row[1]]
    assert "Hazards there: H1, station" in doubted
    assert "H2, station\N{NO-BREAK SPACE}2: ford: deep." in doubted
    for row in tasks.rows:
        place = row[1].partition(":")[0]
        if place.startswith(("Leg", "Station")):
            assert ("H2" in row[1]) == ("2" in re.split(r"\W+", place)), row


def test_the_readings_to_check_stand_in_walking_order():
    parts = parts_of(WRONG.replace("to 2 041 66p", "to 2 041? 66p"))
    last = parts[-2]
    assert last.heading == "Readings to check tomorrow"
    lines = [int(row[0]) for row in last.rows if row[0]]
    assert lines == sorted(lines)
    assert lines[0] == 11
    assert any("282" in row[1] or "272" in row[1] for row in last.rows if row[0] == "14")


def test_on_a_terminal_the_same_stands_with_heads_in_bold_and_obeys_nothing():
    parts = parts_of(WRONG.replace("Sawbill Draw", "Sawbill [red]Draw[/red] :smile: \x9b31m"))
    out = io.StringIO()
    show(parts, Console(file=out, width=WIDTH, force_terminal=True))
    shown = out.getvalue()
    assert "\x1b[1mSawbill [red]Draw[/red] :smile: 31m\x1b[0m\n" in shown
    assert "\x1b[1mLook here first\x1b[0m\n" in shown
    assert re.sub(r"\x1b\[[01]m", "", shown) == plain_text(parts).replace("\x9b", "") + "\n"


def test_a_narrow_terminal_gets_narrow_lines():
    out = io.StringIO()
    show(parts_of(GOOD), Console(file=out, width=60))
    assert max(map(len, out.getvalue().splitlines())) <= 60


def test_a_piped_check_does_not_load_what_it_has_no_need_of():
    code = (
        "import sys; from traverse.__main__ import main\n"
        f"status = main(['check', {str(WITH_EVERYTHING)!r}])\n"
        "print(sorted({'rich', 'reportlab', 'scipy', 'shapely', 'numpy.ma'} & sys.modules.keys()))\n"
        "sys.exit(status)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False, text=True)
    assert done.returncode == 0, done.stderr
    assert "Copperjar Wash" in done.stdout
    assert done.stdout.endswith("[]\n")


def test_no_line_is_wider_than_a_terminal_of_96():
    long = GOOD.replace("rock Sandstone, buff", "rock " + "sandstone and shale " * 30)
    assert max(map(len, said(long).splitlines())) <= 96
    assert max(map(len, said(WRONG).splitlines())) <= 96
