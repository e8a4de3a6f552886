"""A section and a net on pages of their own tell as much as the sheet does of what they were made from."""

from dataclasses import replace
from pathlib import Path

import pytest

from tests.reference.drawn import logs
from tests.sheet.pages import assert_inside, flat, overlaps, words
from traverse.compile import compile_log, net_density, section_ground
from traverse.sheet.compose.alone import net_document, section_document
from traverse.sheet.paper.page import Text
from traverse.sheet.said.sentences import accuracy
from traverse.source import Source

LOGS = Path(__file__).parents[2] / "reference" / "logs"
DAY = "date 2026-05-11\nparty IB Ines Borg\n"


def written(document):
    return "\n".join(words(page.items) for page in document.pages)


@pytest.fixture(scope="module")
def failing(compile_text):
    text = (LOGS / "loop-that-fails.trav").read_text(encoding="utf-8")
    return compile_text(text.replace("traverse    Durrick Moss\n", "traverse    Durrick Moss\n" + DAY)).trav


@pytest.mark.parametrize("arcs", [False, True])
def test_a_section_alone_says_what_failed_and_who_walked(failing, arcs):
    trav = failing
    if arcs:
        sections = tuple(replace(one, construction=one.arcs) for one in trav.geology.sections)
        trav = replace(trav, geology=replace(trav.geology, sections=sections))
    said = written(section_document(section_ground(trav), mark="abc"))
    for part in ("NOT ADJUSTED", "Ines Borg", "2026", "Upper Grit", "Lower Shale"):
        assert part in said.replace("\xa0", " ")


def test_a_net_alone_says_what_failed_and_who_walked(failing):
    trav = replace(failing, geology=net_density(failing.geology))
    said = written(net_document(trav, mark="abc"))
    for part in ("NOT ADJUSTED", "Ines Borg", "2026"):
        assert part in said


def test_no_station_is_good_to_four_metres_beside_a_gap_of_seventy(failing):
    said = accuracy(failing.log, failing.survey)
    assert "good to" not in said
    assert f"{failing.survey.closures[0].misclosure.distance_m:.0f}" in said


def test_an_open_walk_after_a_loop_is_no_loop(compile_text):
    loop = (
        "notation 1\nbearings true\nat 1\nto 2 090 100m level\nto 3 210 100m level\nclose 1 330 100m level\n"
    )
    for more, where in (("", "in the loop"), ("at 2\nto 4 090 100m level\n", "along the walk")):
        found = compile_text(loop + more)
        assert where in accuracy(found.log, found.survey)


def test_a_section_alone_has_a_legend_of_what_it_draws():
    (path,) = logs(["faults"])
    found = compile_log(Source(name=path.name, text=path.read_text(encoding="utf-8")), load=lambda _: b"")
    (page,) = section_document(section_ground(found.trav), mark="mark").pages
    said = [one.text for one in flat(page.items) if isinstance(one, Text)]
    assert {"Signs on this sheet", "fault, concealed", "eroded, above ground", "apparent dip"} <= set(said)
    assert "inferred" not in said
    assert any(words.startswith("No dip of the fault on leg 5–6") for words in said)
    assert overlaps(page.items) == []
    assert_inside(page.items, 0.0, 0.0, page.width_mm, page.height_mm)
