"""Many logs at a glance."""

from tests.notation.test_statements import read
from traverse.compile import compile_log
from traverse.output.many_logs import CheckedLog, many_logs
from traverse.output.report_lines import report_lines
from traverse.source import Source

GOOD = """notation 1
party MO Mara Olsen, JT
bearings true
at 1
to 2 000 100m
to 3 090 100m
to 4 180 100m
close 1 270 100m
"""
FAILS = GOOD.replace("to 3 090", "to 3 190")
WRONG = GOOD.replace("to 3 090", "to 3 N95E")


def checked(name, text):
    done = compile_log(Source(name=name, text=text), load=lambda path: b"")
    return CheckedLog(name=name, log=done.log, survey=done.survey, diagnostics=done.diagnostics)


def shown(logs, width=80):
    return [line.words for line in report_lines([many_logs(logs, width=width)], width=width)]


def test_a_row_says_who_how_it_closes_and_where_to_look_first():
    good, fails, wrong = (
        checked(f"day/{name}.trav", text)
        for name, text in (("good", GOOD), ("fails", FAILS), ("wrong", WRONG))
    )
    table = many_logs([good, fails, wrong], width=200)
    by_name = {row[0]: dict(zip(table.columns, row, strict=True)) for row in table.rows}
    assert by_name["good"] == {
        "log": "good",
        "who": "MO, JT",
        "closes": "exactly",
        "err.": "",
        "warn.": "",
        "look first at": "",
    }
    assert by_name["fails"]["closes"].startswith("no: 1 in ")
    assert by_name["fails"]["look first at"] == "line 8: 4–1, 270: was it 010?"
    assert by_name["wrong"]["closes"] == "not yet"
    assert by_name["wrong"]["err."] == "1"
    assert by_name["wrong"]["look first at"].startswith("line 6: N95E: a quadrant angle is 0 to 90")


def test_ten_logs_stand_on_one_screen():
    """A screen of 80 columns and 24 rows (common practice, no source)."""
    logs = [checked(f"party-of-the-north-{one}.trav", FAILS) for one in range(10)]
    for width in (80, 100):
        rows = shown(logs, width)
        assert len(rows) <= 23
        assert max(map(len, rows)) <= width
    assert len(shown(logs * 2)) == 22


def test_a_file_that_is_no_text_has_its_row():
    told = read("hello\n").diagnostics
    table = many_logs([CheckedLog(name="x", log=None, survey=None, diagnostics=told)], width=80)
    assert table.rows[0][2:4] == ("not yet", "1")


CONTROLLED = """notation 1
grid EPSG:32630
bearings true
control 1 500000 E 4600000 N
control 3 500100 E 4601100 N
at 1
to 2 000 100m
to 3 090 100m
"""


def test_what_is_no_leg_is_named_for_what_it_is():
    (row,) = many_logs([checked("day/known.trav", CONTROLLED)], width=200).rows
    assert "None" not in row[-1]
    assert row[-1].startswith("line 4: control 1, 4600000 N: was it 4601000 N?")
