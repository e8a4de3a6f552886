"""Samples on every paper, both ways: nothing outside the margins, and no panel over another."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path as File

import pypdfium2
import pytest

from tests.sheet.pages import box, flat
from tests.thorough import THOROUGH
from traverse.command.files import LogFiles, read_source
from traverse.compile import compile_log, map_ground
from traverse.output.pdf import write_pdf
from traverse.sheet.compose.compose import compose
from traverse.sheet.paper.page import Group, Text
from traverse.sheet.template.reading import read_template

SAMPLES = sorted((File(__file__).parents[3] / "samples").glob("*/*.trav"))
TEMPLATE = read_template("field").value
MARGIN_MM = 10.0
"""What copiers crop (common practice, no source)."""
SELDOM = ("Legal", "Tabloid", "A2", "A0", "Roll-914")
"""Papers between two others, or beyond the largest, that are filled as these are."""
LARGEST = max(SAMPLES, key=lambda path: path.stat().st_size)
RENDERED = ("A5", "A4", "Letter", "A4-Letter")


@cache
def sample(path):
    source, _ = read_source(str(path))
    found = compile_log(source, load=LogFiles(str(path)).load)
    return replace(found, trav=map_ground(found.trav))


def sheet(path, paper, *, landscape):
    found = sample(path)
    wanted = replace(found.log.heading.sheet, paper=paper, landscape=landscape, scale=None)
    log = replace(found.log, heading=replace(found.log.heading, sheet=wanted))
    return compose(replace(found.trav, log=log), (), template=TEMPLATE, mark="abc").value


def texts(items):
    return [(box(one), one.text) for one in flat(items) if isinstance(one, Text) and not one.turn_deg]


def panels(page):
    """Level texts of the map, of the section and of all else."""
    found = {"map": [], "section": [], "words": []}
    for item in page.items:
        name = item.layer if isinstance(item, Group) and item.layer in found else "words"
        found[name] += texts([item])
    return found


def meeting(first, second):
    return [
        (one, other)
        for a, one in first
        for b, other in second
        if min(a[2], b[2]) - max(a[0], b[0]) > 0.3 and min(a[3], b[3]) - max(a[1], b[1]) > 0.3
    ]


def has_room(paper):
    """Whether it is a roll or larger than A3: with room for all, the smaller samples tell as much as the largest."""
    return paper in TEMPLATE.rolls or max(TEMPLATE.papers[paper]) > 450.0


def usual(path, paper, *, landscape):
    """Each paper but those by one sample, in turn upright and lying, the smallest by the largest too."""
    if paper in SELDOM:
        return False
    of = [one for one in SAMPLES if one != LARGEST]
    number = list(TEMPLATE.papers).index(paper)
    lying = paper in TEMPLATE.rolls or number // len(of) % 2 == 0
    return (path == of[number % len(of)] and landscape == lying) or (
        path == LARGEST and paper == RENDERED[0] and landscape
    )


WAYS = [
    pytest.param(
        path,
        paper,
        landscape,
        id=f"{path.stem}-{paper}-{'landscape' if landscape else 'portrait'}",
        marks=() if usual(path, paper, landscape=landscape) else THOROUGH,
    )
    for path in SAMPLES
    for paper in TEMPLATE.papers
    for landscape in (True, False)
    # A roll is cut across.
    if (landscape or paper not in TEMPLATE.rolls) and not (has_room(paper) and path == LARGEST)
]


@pytest.mark.parametrize(("path", "paper", "landscape"), WAYS)
def test_panels_keep_apart_and_within_the_margins(path, paper, landscape):
    document = sheet(path, paper, landscape=landscape)
    if paper in RENDERED:
        assert_margins_are_white(document)
    first = document.pages[0]
    if paper not in TEMPLATE.rolls:
        size = TEMPLATE.papers[paper]
        assert (first.width_mm, first.height_mm) == (size[::-1] if landscape else size)
    there = panels(first)
    for one, other in (("map", "section"), ("map", "words"), ("section", "words")):
        assert not meeting(there[one], there[other])
    for page in document.pages:
        for (left, low, right, top), words in texts(page.items):
            assert left >= MARGIN_MM - 0.05, words
            assert low >= MARGIN_MM - 0.05, words
            assert right <= page.width_mm - MARGIN_MM + 0.05, words
            assert top <= page.height_mm - MARGIN_MM + 0.05, words


def assert_margins_are_white(document):
    for page in pypdfium2.PdfDocument(write_pdf(document)):
        ink = page.render(scale=2.0, grayscale=True).to_numpy() < 250
        margin = int(MARGIN_MM * 72.0 / 25.4 * 2.0 - 1.0)
        ink[margin:-margin, margin:-margin] = False
        assert not ink.any()


def test_a_sheet_for_either_paper_prints_within_190_by_259_mm():
    """Within 10 mm of the edges of A4 (210 wide, ISO 216) and of Letter (11 inches high)."""
    for page in sheet(SAMPLES[-1], "A4-Letter", landscape=False).pages:
        assert page.width_mm - 2 * MARGIN_MM <= 190.0
        assert page.height_mm - 2 * MARGIN_MM <= 259.4
