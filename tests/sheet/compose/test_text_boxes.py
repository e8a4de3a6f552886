"""No word of any page stands on another or leaves the margins: samples, reference logs, and walks made to provoke it."""

import re
from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest

from tests import once
from tests.reference.drawn import FOLDERS
from tests.sheet.hard_logs import HARD
from tests.sheet.pages import flat
from tests.sheet.text_boxes import covering, outside, said_on
from tests.thorough import some
from traverse.compile import blank_ground, compile_log, map_ground, net_density, section_ground
from traverse.sheet.compose.alone import net_document, section_document
from traverse.sheet.compose.compose import compose
from traverse.sheet.compose.overlay import compose_overlay
from traverse.sheet.handout.handout import compose_blank
from traverse.sheet.paper.window import check_line_in
from traverse.sheet.template.reading import read_template
from traverse.source import Source

FIELD = read_template("field").value
LOGS = {path.stem: path for name in ("samples", "logs") for path in sorted(FOLDERS[name].rglob("*.trav"))}
KEYS = {
    "key A4 landscape": ("A4", True),
    "key A4 portrait": ("A4", False),
    "key Letter portrait": ("Letter", False),
    "key A5": ("A5", None),
}
KINDS = (*KEYS, "blank", "alone")
HAIR_MM2 = 0.2
USUAL = [(name, KINDS[at % len(KINDS)]) for at, name in enumerate([*HARD, *[*LOGS][:-1:4]])]
"""Each walk that was made to provoke it, and some of the logs; the kinds in turn."""


def log_of(name):
    """Where a log lies, and its text where it lies nowhere."""
    return LOGS.get(name, Path("hard.trav")), HARD.get(name)


def compiled(name):
    found = once.compiled(*log_of(name))
    assert found.trav is not None, [one.message for one in found.diagnostics]
    return found


def laid(name):
    return once.laid(*log_of(name))


def on_paper(trav, paper, *, lying):
    asked = replace(trav.log.heading.sheet, paper=paper, landscape=lying)
    return replace(trav, log=replace(trav.log, heading=replace(trav.log.heading, sheet=asked)))


def documents(name, kind):
    """What is drawn of a log in one way, with the margin of its pages in millimetres."""
    found = compiled(name)
    if kind in KEYS:
        paper, lying = KEYS[kind]
        asked = on_paper(laid(name), paper, lying=lying)
        yield compose(asked, found.diagnostics, template=FIELD, mark="0" * 6).value, 10.0
    elif kind == "blank":
        asked = on_paper(found.trav, "A4", lying=True)
        yield compose_blank(asked, lay=blank_ground, template=FIELD, mark="0" * 6).value, 10.0
    else:
        yield section_document(section_ground(found.trav), mark="0" * 6), 5.0
        dense = replace(found.trav, geology=net_density(found.trav.geology))
        yield net_document(dense, mark="0" * 6), 5.0


@pytest.mark.every(2)
@pytest.mark.parametrize(("name", "kind"), some(product([*LOGS, *HARD], KINDS), USUAL))
def test_no_word_stands_on_another_or_leaves_its_page(name, kind):
    faults = []
    for document, margin in documents(name, kind):
        for number, page in enumerate(document.pages if document is not None else (), start=1):
            faults += [(number, pair) for pair in covering(page, by_mm2=HAIR_MM2)]
            faults += [(number, words) for words in outside(page, margin_mm=margin)]
    assert faults == []


def test_the_axis_of_a_short_section_tells_more_than_where_it_begins():
    """84 m at 1:2500 are 34 mm, less than the 40 mm of a step of 100 m: 0, 50 m."""
    text = HARD["nine thin units"] + "sheet scale 1:2500\n"
    found = compile_log(Source(name="hard.trav", text=text), load=lambda _: b"")
    section = read_template("section").value
    page = compose(map_ground(found.trav), (), template=section, mark="0" * 6).value.pages[0]
    assert "50\u00a0m" in [one.text for one in said_on(page)]


def film_of(name, paper=None):
    """A film and the handout that it lies on."""
    if paper is None:
        path, text = log_of(name)
        return once.drawn(path, "film", text=text), once.drawn(path, "blank", text=text)
    found = compiled(name)
    settings = {"template": FIELD, "mark": "0" * 6}
    asked = [on_paper(one, paper, lying=None) for one in (found.trav, laid(name))]
    handout = compose_blank(asked[0], lay=blank_ground, **settings).value
    return compose_overlay(asked[1], found.diagnostics, handout=handout, **settings).value, handout


SMALL_PAPER = ("oskerra-valley", "copperjar-wash", "index of maps", "party-aside")
FILMS = some(
    [*((name, None) for name in [*LOGS, *HARD]), *((name, "A5") for name in SMALL_PAPER)],
    [("copperjar-wash", None), ("no-units", None), ("copperjar-wash", "A5")],
)


@pytest.mark.every(2)
@pytest.mark.parametrize(("name", "paper"), FILMS)
def test_no_word_of_a_film_stands_on_a_word_of_its_handout(name, paper):
    """But for words that both print at one place, such as those of the check line.

    A list of the words that had no room lies on no handout.
    """
    film, handout = film_of(name, paper)
    for upper, lower in zip(film.pages, handout.pages, strict=False):
        if upper.title == "Words of the overlay":
            break
        alone = {*covering(upper, by_mm2=HAIR_MM2), *covering(lower, by_mm2=HAIR_MM2)}
        together = replace(upper, items=(*upper.items, *lower.items))
        found_on = [pair for pair in covering(together, by_mm2=HAIR_MM2) if pair not in alone]
        assert [pair for pair in found_on if pair[0] != pair[1]] == []


def test_the_check_line_of_a_film_lies_on_that_of_its_handout():
    film, handout = film_of("copperjar-wash")
    lines = [check_line_in(flat(one.pages[0].items)) for one in (film, handout)]
    # The line, a tick each 10 mm, and its words.
    assert len(lines[0]) == 50 // 10 + 3
    assert [one.commands for one in lines[0][:-1]] == [one.commands for one in lines[1][:-1]]
    assert lines[0][-1].at == lines[1][-1].at


PAPERS = ("A4", "A5", "Letter")


@pytest.mark.every(2)
@pytest.mark.parametrize(
    ("name", "paper"),
    some(
        product(LOGS, PAPERS),
        [("copperjar-wash", "A4"), ("ternel-point", "Letter"), ("no-units", "A5"), ("loop-that-fails", "A5")],
    ),
)
def test_only_words_of_the_log_are_cut_short(name, paper):
    """A remark or a title that is too long ends in an ellipsis; a heading, a figure or a sentence of ours never does."""
    found = compiled(name)
    typed = " ".join(LOGS[name].read_text(encoding="utf-8").split())
    typed += " ".join(one.name for one in found.trav.log.units)
    for file in LOGS[name].parent.rglob("*.trav"):
        typed += " ".join(file.read_text(encoding="utf-8").split())
    asked = on_paper(laid(name), paper, lying=None)
    pages = compose(asked, found.diagnostics, template=FIELD, mark="0" * 6, report=True).value.pages
    pages += compose_blank(
        on_paper(found.trav, paper, lying=None), lay=blank_ground, template=FIELD, mark="0" * 6
    ).value.pages
    ends = [one.text.removesuffix("…") for page in pages for one in said_on(page) if one.text.endswith("…")]
    # A long loop is told by its first two stations.
    ends = [one for one in ends if re.fullmatch(r"loop \S+–\S+–", one) is None]
    # The last words before the cut are somebody's; a table may put a reading before them.
    assert [one for one in ends if one.replace("\u00a0", " ").split("; ")[-1] not in typed] == []
