"""`tie A to B at 3, 5, 7-9=12-14`: many places of two parties in one line, each pair as a line of its own."""

import pytest

from tests.compare.round_walks import Ground, joined, no_files
from tests.notation.test_camp import CAMP, PARTIES, camp
from traverse.compile import compile_log
from traverse.notation.tidy_text import tidy
from traverse.source import Source

LINE = "tie  A-3 to B-1\n"


def of(line):
    return camp(CAMP.replace(LINE, f"{line}\n"), PARTIES)


def pairs(outcome):
    return [(tie.first, tie.second, tie.sd_m) for tie in outcome.value.log.ties]


@pytest.mark.parametrize(
    ("line", "lines"),
    [
        ("tie A to B at 3=1", "tie A-3 to B-1"),
        ("tie A to B at 2-3", "tie A-2 to B-2\ntie A-3 to B-3"),
        ("tie A to B at 2, 3=1", "tie A-2 to B-2\ntie A-3 to B-1"),
        ("tie A to B at 2-3=3-2", "tie A-2 to B-3\ntie A-3 to B-2"),
        (
            "tie B to A at 1 = Cairn , 2-3 # as they said",
            "tie B-1 to A-Cairn\ntie B-2 to A-2\ntie B-3 to A-3",
        ),
    ],
)
def test_a_line_of_ties_says_what_its_pairs_would_say_in_lines_of_their_own(line, lines):
    assert pairs(of(line)) == pairs(of(lines)) != []


@pytest.mark.parametrize(
    ("line", "code", "words", "underlined"),
    [
        ("tie A to B at 2, 2-3=3-1", "tie", "2-3 are 2 places, and 3-1 are 3 places", "2-3=3-1"),
        ("tie A to B at 2-3=3", "tie", "2-3 are 2 places, and 3 is one place", "2-3=3"),
        ("tie A to B at 2, 3=1, 2", "tie", "A-2 and B-2 are tied twice", "2"),
        ("tie A to A at 2", "tie", "A is itself", "tie A to A at 2"),
        ("tie A to X at 2, 3", "unknown-party", "no log here is party X", "X"),
        ("tie A to b at 2", "unknown-party", "no log here is party b", "b"),
        ("tie A to B at 3=1, 33=2", "unknown-station", "no station A-33 in these logs", "33=2"),
        ("tie A to B at 3=1, 7-19", "unknown-station", "no stations A-7, B-7, A-8, B-8, A-9, …", "7-19"),
        ("tie A to B at", "unfinished", "which places", "tie A to B at"),
        ("tie A to B at 3=1 2", "tie", "`2` after a place", "2"),
        ("tie A to B at 3=", "tie", "`=` after a place", "="),
        ("tie A to B at 3=1, ?!", "name", "`A-?!` is no name", "?!"),
    ],
)
def test_what_is_wrong_in_a_line_of_ties_is_told_once_and_underlined(line, code, words, underlined):
    errors = [one for one in of(line).diagnostics if one.kind == "error" and one.code != "loose-piece"]
    (said,) = errors
    assert (said.code, said.span.line) == (code, 6)
    assert words in said.message
    assert line[said.span.column - 1 : said.span.end - 1] == underlined
    assert said.hints


def test_in_the_log_of_one_party_it_is_told_that_no_log_is_brought_in():
    text = PARTIES["party-a.trav"] + "tie A to B at 3, 5\n"
    found = compile_log(Source(name="a.trav", text=text), load=no_files)
    (said,) = [one for one in found.diagnostics if one.kind == "error"]
    assert said.message == "no log is brought in here as A or as B"
    assert "`tie 3 to B-3`" in said.hints[0]


def test_omit_takes_out_the_whole_line():
    text = CAMP.replace("grid", "party HG Hanna Gran\ngrid", 1).replace(
        LINE, "tie A-3 to B-1\ntie A to B at 2, 3\nomit HG other places\n"
    )
    log = camp(text, PARTIES).value.log
    assert [(tie.first, tie.second) for tie in log.ties] == [("A-3", "B-1")]
    assert [one.written for one in log.omitted] == ["tie A to B at 2, 3"]


def test_tidy_keeps_it():
    laid_out = tidy(
        Source(name="camp.trav", text=CAMP.replace(LINE, "TIE A  to B at  3,  5, 7-9=12-14\n"))
    ).value
    assert "tie A to B at 3, 5, 7-9=12-14" in " ".join(laid_out.split())


def test_one_wrong_pair_of_a_line_is_left_out_by_itself_and_named():
    """One row of places of two parties, of which one station was another."""
    ground = Ground(300)
    logs = {one: ground.walk((300, one)) for one in "AB"}
    rows = [(2, 2), (3, 3), (4, 4), (5, 9), (6, 6), (7, 7)]
    lines = joined(logs, [(f"A-{one}", f"B-{other}") for one, other in rows])
    row = joined(logs, [("A", "B at 2-4, 5=9, 6-7")])

    def said(found):
        return [(one.code, one.message, one.hints) for one in found.diagnostics if one.kind == "warning"]

    assert said(row) == said(lines)
    (wrong,) = [message for code, message, _ in said(row) if code == "tie-differs"]
    assert "A-5" in wrong
    assert "B-9" in wrong
    places = [
        {name: (one.east_m, one.north_m) for name, one in found.trav.survey.places.items()}
        for found in (row, lines)
    ]
    assert places[0] == places[1]
