"""Words longer than the sheet has room for are cut where they stand, stay within the margins and are printed in full."""

import io
import re

import pypdfium2
import pytest

from tests.sheet.fixture_sheet import compiled
from tests.thorough import each
from traverse.compile import blank_ground, map_ground
from traverse.output.pdf import write_pdf
from traverse.sheet.compose.compose import compose
from traverse.sheet.handout.handout import compose_blank
from traverse.sheet.paper.page import Face
from traverse.sheet.paper.style import SMALL
from traverse.sheet.paper.words import wrap
from traverse.sheet.template.reading import read_template

PARTY = ", ".join(f"P{chr(65 + n % 26)}{chr(65 + n // 26)} Person{n} of-the-long-name{n}" for n in range(30))
ROCK = " ".join(f"word{n}" for n in range(500))
TITLES = (
    " ".join(f"Valley{n}" for n in range(34))[:300],
    "W" * 300,
    "Dale, " + " ".join(f"loop{n}" for n in range(50)),
)
LOG = (
    "sheet paper {paper}\nparty {party}\nweather {weather}\nbearings true\nattitudes dip-direction\n"
    "unit Aa Alpha ; Triassic\nsection A-A' from 1 to 3\nat 1\n  unit Aa\n  bed 120/30\n  rock {rock}\n"
    "  hazard loose {rock}\nto 2 060 100m +4\nto 3 150 90m -3\n"
)


def found(title, paper):
    return compiled(LOG.format(paper=paper, party=PARTY, weather=ROCK, rock=ROCK), title=title)


def words(data):
    text = " ".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(io.BytesIO(data)))
    return set(re.findall(r"[\w-]+", text.replace("\ufffe", "-")))


@pytest.mark.every(2)
@pytest.mark.parametrize(("title", "paper"), each(TITLES, ["A4 landscape", "A4 portrait", "A5 landscape"]))
def test_long_words_stay_inside_and_none_is_lost(title, paper):
    log = found(title, paper)
    template = read_template("field").value
    document = compose(map_ground(log.trav), (), template=template, mark="abc").value
    data = write_pdf(document)
    printed = words(data)
    assert {f"word{n}" for n in range(500)} <= printed
    assert {f"Person{n}" for n in range(30)} <= printed
    if title != "W" * 300:
        assert set(re.findall(r"[\w-]+", title)) - {title.split()[-1]} <= printed
    blank = compose_blank(log.trav, lay=blank_ground, template=template, mark="abc").value
    for one in (data, write_pdf(blank)):
        for page in pypdfium2.PdfDocument(one):
            ink = page.render(scale=2.0, grayscale=True).to_numpy() < 200
            margin = int(9.3 * 72 / 25.4 * 2.0)
            ink[margin:-margin, margin:-margin] = False
            assert not ink.any()


def test_a_word_without_end_is_broken_in_time_with_its_length(monkeypatch):
    measured = 0

    def width_mm(text, *_):
        nonlocal measured
        measured += len(text)
        return float(len(text))

    monkeypatch.setattr("traverse.sheet.paper.words.text_width_mm", width_mm)
    lines = wrap("x" * 20_000, Face.REGULAR, SMALL, 90.0)
    assert "".join(lines) == "x" * 20_000
    assert {len(line) for line in lines[:-1]} == {90}
    assert measured < 20 * 20_000
