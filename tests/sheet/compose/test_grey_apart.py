"""Grounds that meet are told apart on the grey key and on a copy of its copy, in every reference log."""

from functools import cache

import numpy as np
import pypdfium2
import pytest

from tests import once
from tests.reference.drawn import logs
from tests.sheet.compose.test_copier import DPI, copied
from tests.sheet.pages import flat
from tests.thorough import some
from traverse.output.pdf import write_pdf
from traverse.sheet.compose.grey import compose_grey
from traverse.sheet.paper.document import Document
from traverse.sheet.paper.page import Box, Page, Path, Tile, rectangle
from traverse.sheet.signs.pattern import PATTERNS, patterns_of, rock_of
from traverse.sheet.template.reading import read_template

PATHS = {path.stem: path for path in logs(("samples", "logs"))}
SIDE_MM, EDGE = 24.0, 12
"""Of a swatch; and the pixels at its rim that are left out."""
TONE = 0.04
"""Shares of black that a copy keeps apart."""
ALIKE = 0.5
"""Of the power of two drawings, what lies at the same spacings in the same directions."""


@cache
def grey(name):
    if once.compiled(PATHS[name]).trav is None:
        return None, {}
    made = once.drawn(PATHS[name], "grey")
    fills = {
        one.unit: one.fill.name
        for page in made.pages
        for one in flat(page.items)
        if isinstance(one, Path) and one.unit is not None and isinstance(one.fill, Tile)
    }
    return once.laid(PATHS[name]), fills


@cache
def swatch(name):
    """A pattern on a copy of its copy at 200 dots to the inch: 1 where it is black."""
    area = rectangle(Box(x=0.0, y=0.0, width=SIDE_MM, height=SIDE_MM))
    page = Page(
        width_mm=SIDE_MM, height_mm=SIDE_MM, items=(Path(commands=area, fill=PATTERNS[name].tile),), title=""
    )
    rendered = pypdfium2.PdfDocument(write_pdf(Document(pages=(page,), title="")))[0]
    image = np.asarray(rendered.render(scale=DPI / 72.0).to_pil().convert("L"), dtype=float) / 255.0
    return (copied(copied(image, 1 / 3), -1 / 3) < 0.5)[EDGE:-EDGE, EDGE:-EDGE].astype(float)


@cache
def spacings(name):
    """Power at each spacing and direction, wherever the drawing begins: a little spread, as no two copies are alike."""
    ink = swatch(name)
    power = (
        np.abs(np.fft.rfft2((ink - ink.mean()) * np.hanning(len(ink))[:, None] * np.hanning(len(ink)))) ** 2
    )
    power = sum(np.roll(power, (dy, dx), (0, 1)) for dy in (-1, 0, 1) for dx in (-1, 0, 1))
    return (power / np.linalg.norm(power)).ravel()


def likeness(one, other):
    return float(spacings(one) @ spacings(other))


def apart(one, other):
    """Whether a second copy tells two patterns by their grey or by how they are drawn."""
    return abs(swatch(one).mean() - swatch(other).mean()) >= TONE or likeness(one, other) < ALIKE


@pytest.mark.every(2)
@pytest.mark.parametrize(
    "name", some(PATHS, ["copperjar-wash", "oskerra-valley", "intrusive-bodies", "many-units"])
)
def test_units_that_meet_differ_in_two_of_three(name):
    """Kind of drawing, spacing, grey; and the second copy still tells them apart."""
    trav, fills = grey(name)
    assert trav is not None
    for one, other in trav.ground.meeting:
        if one in fills and other in fills:
            first, second = fills[one], fills[other]
            assert PATTERNS[first].told_from(PATTERNS[second]) >= 2, (one, first, other, second)
            assert apart(first, second), (one, first, other, second, likeness(first, second))


@pytest.mark.every(2)
@pytest.mark.parametrize(
    "name", some(PATHS, ["copperjar-wash", "oskerra-valley", "intrusive-bodies", "many-units"])
)
def test_no_unit_has_what_stands_for_another_rock(name):
    """A conglomerate is not printed as level strokes because another unit has the pebbles."""
    trav, fills = grey(name)
    for unit in trav.log.units:
        rock = rock_of(unit.name)
        if rock is not None and unit.letters in fills:
            assert fills[unit.letters] in patterns_of(rock)


def test_many_units_have_a_sort_of_their_own():
    """Nine units on one sheet, two of them sandstone, two limestone and two of pebbles: no two of the sandstones are dots alone."""
    _, fills = grey("many-units")
    sorts = [PATTERNS[one].sort for one in fills.values()]
    assert len(sorts) == 9
    assert len(set(sorts)) >= 8


def test_the_column_has_the_patterns_of_the_map():
    """A dike's bar beside the column kept the pattern of its rock, which on the map was another body's."""
    path = PATHS["intrusive-bodies"]
    trav, fills = grey(path.stem)
    made = compose_grey(trav, (), template=read_template("field").value, mark="x", report=True).value
    (page,) = [page for page in made.pages if page.title == "Structure"]
    drawn = [one for one in flat(page.items) if isinstance(one, Path) and isinstance(one.fill, Tile)]
    assert {one.unit for one in drawn} == {unit.letters for unit in trav.log.units}
    assert all(one.fill.name == fills[one.unit] for one in drawn)


def test_the_measure_tells_rules_from_dots_and_a_pattern_from_none_but_itself():
    """What the measure is worth: by itself alike, dots and rules not."""
    assert likeness("sand", "sand") == pytest.approx(1.0)
    assert likeness("sand", "shale") < 0.2
    assert likeness("slate", "back slant") < 0.2
    assert not apart("sand", "sand")
