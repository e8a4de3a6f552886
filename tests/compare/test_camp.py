"""A camp of six parties with errors of their own, five with a slip: each is named once, at its line, and nobody else."""

import json

import pytest

from tests.called import traverse
from tests.compare.camp import VALLEY, compiled_camp, joined, line_of, six_parties
from tests.thorough import some
from traverse.output.report import report
from traverse.output.report_lines import plain_text

SEEDS = (20, 300, 4000)
NAMED_AT = {
    "feet": "pace",
    "left": "attitudes",
    "twice": "declination",
    "hundred": "to 10",
    "letter": "to 10",
}
"""How the line of each party's slip begins."""


@pytest.fixture(scope="module", params=some(SEEDS, 3))
def camp(tmp_path_factory, request):
    folder = tmp_path_factory.mktemp("camp")
    (folder / "key.trav").write_text(VALLEY, "utf-8")
    texts = six_parties(request.param)
    for name, text in texts.items():
        (folder / f"{name}.trav").write_text(text, "utf-8")
    done = traverse(
        "compare", "key.trav", *(f"{name}.trav" for name in texts), "--to", "json", "-o", "out", cwd=folder
    )
    assert done.returncode == 0, done.stderr
    return folder, texts, {one["log"].removesuffix(".trav"): one for one in json.loads(done.stdout)}


@pytest.mark.parametrize(
    ("party", "word", "cause"),
    [
        ("feet", "pace", "feet taken for metres"),
        ("left", "attitudes", "dip-left for dip-direction"),
        ("twice", "declination", "declination applied twice"),
        ("hundred", "to 10", "leg 9–10: 100 paces too many"),
        ("letter", "to 10", "leg 9–10: N and S exchanged"),
    ],
)
def test_each_slip_is_named_once_at_its_line(camp, party, word, cause):
    _, texts, found = camp
    assert [(one["line"], one["cause"]) for one in found[party]["causes"]] == [
        (line_of(texts[party], word), cause)
    ]
    assert found[party]["legs"] == []
    assert sum(part["scored_mended"] for part in found[party]["marks"]) > 85.0


def test_nobody_else_is_accused(camp):
    _, _, found = camp
    assert found["none"]["causes"] == []
    assert found["none"]["legs"] == []


def test_six_files_make_six_pages_and_the_leaders_own(camp):
    folder, texts, _ = camp
    assert {path.name for path in (folder / "out").glob("*.pdf")} == {
        f"{name}-feedback.pdf" for name in texts
    }
    assert {path.name for path in (folder / "out" / "leader").iterdir()} == {
        "marks.csv",
        "marks.pdf",
        "spread.pdf",
        "written.sha256",
    }


@pytest.fixture(scope="module", params=some(SEEDS, 3))
def together(request):
    files = joined(request.param)
    found = compiled_camp(files)
    assert not found.failed
    return files, found


def accused(found, file):
    """Lines of a log that a message or a suspect speaks of: what calls a reading wrong, not what only spreads."""
    spreads = {"fore-back", "closure-poor", "heights-poor", "readings-apart"}
    lines = [one.span.line for one in found.diagnostics if one.kind == "warning" and one.span and one.span.file == file
             and one.code not in spreads and not one.code.startswith(("closure-", "heights-"))]  # fmt: skip
    return sorted({*lines, *(one.span.line for one in found.survey.suspects if one.span.file == file)})


@pytest.mark.every(2)
@pytest.mark.parametrize("party", NAMED_AT)
def test_joined_each_slip_is_named_at_its_line_alone(together, party):
    files, found = together
    assert accused(found, f"{party}.trav") == [line_of(files[f"{party}.trav"], NAMED_AT[party])]


def test_joined_nobody_else_is_accused(together):
    _, found = together
    assert accused(found, "none.trav") == []
    told = {one.code for one in found.diagnostics if one.span and one.span.file == "camp.trav"}
    assert told <= {"closure-poor"}


def test_joined_the_list_for_tomorrow_gives_each_party_its_own_cause(together):
    _, found = together
    said = " ".join(plain_text(report(found.trav, found.diagnostics)).split())
    feet, twice = (
        said.partition(f" {line} of {party} Walk of {party}")[2] for line, party in ((15, "A"), (13, "C"))
    )
    assert "likely cause: feet taken for metres" in feet[:250]
    assert "likely cause: declination applied twice" in twice[:250]


def test_joined_those_that_do_not_fit_are_left_out_and_the_rest_goes_on(together):
    _, found = together
    assert [one.letters for one in found.log.parties if one.aside] == ["A", "C"]
    assert {found.log.parties[one.party].file: one.hangs_on for one in found.survey.aside} == {
        "feet.trav": "1",
        "twice.trav": "1",
    }
    causes = {one.log: one.cause.partition(":")[0] for one in found.survey.fits if one.cause is not None}
    assert causes == {"feet.trav": "feet taken for metres", "twice.trav": "declination applied twice"}
    # The ties of the others were to the first party's stations, which take no part: they are one place still.
    places = found.survey.places
    assert (places["B-5"].east_m, places["B-5"].north_m) == (places["F-5"].east_m, places["F-5"].north_m)
    assert {one.span.file for one in found.log.legs} == {
        "left.trav",
        "hundred.trav",
        "letter.trav",
        "none.trav",
    }
