"""Intrusive bodies on the pages: apart in the legend, at the side of the column, lines where they are narrow."""

from pathlib import Path

import pytest

from tests.sheet.pages import assert_inside, overlaps, paths, texts, words
from traverse.compile import map_ground
from traverse.sheet.compose.compose import compose
from traverse.sheet.handout.handout import compose_blank
from traverse.sheet.legend.unit_legend import UnitRows, units_block
from traverse.sheet.paper.page import Tile
from traverse.sheet.report.column import column_block
from traverse.sheet.signs.colour import unit_styles
from traverse.sheet.template.reading import read_template

LOG = Path(__file__).parents[2] / "reference" / "logs" / "intrusive-bodies.trav"


@pytest.fixture(scope="module")
def beck(compile_text):
    return compile_text(LOG.read_text(encoding="utf-8"))


@pytest.mark.parametrize("rows", UnitRows)
def test_bodies_stand_apart_in_the_legend(beck, compile_text, rows):
    """Under the others, below a heading of their own, wherever the list of units has them."""
    first = compile_text(
        LOG.read_text(encoding="utf-8").replace("unit  Ks", "unit  Bx Late dike ; intrusive\nunit  Ks", 1)
    )
    for found in (beck, first):
        block = units_block(found.trav, width=76.0, styles=unit_styles(found.log.units), rows=rows)
        assert_inside(block.items, -0.3, -block.height, 76.3, 0.0)
        assert not overlaps(block.items)
        height = {text: y for _, y, text in texts(block.items)}
        assert max(height[one] for one in ("Db", "Ds", "Gr")) < height["Intrusive"]
        assert height["Intrusive"] < min(height[one] for one in ("Ks", "Jl", "Ts"))


def test_without_a_body_the_legend_has_no_such_heading(beck):
    styles = unit_styles(beck.log.units)
    strata = units_block(beck.trav, width=76.0, styles=styles, units=beck.log.units[:3])
    assert "Intrusive" not in words(strata.items)


def test_a_width_is_said_in_words_of_its_own(beck):
    """5 paces of dike over ground that rises 4°, 10° from square to it and dipping 80°: 3.7 m across its walls.

    Each crossing has its own figure and place; where there is no room for all, how many there are.
    """
    block = units_block(beck.trav, width=90.0, styles=unit_styles(beck.log.units))
    assert "width 3.7 ± 0.3 m on 3–4; 2 m walked on 5–6" in words(block.items)
    close = units_block(beck.trav, width=60.0, styles=unit_styles(beck.log.units))
    assert "2 crossings, width 3.7" in words(close.items)


def test_bodies_stand_at_the_side_of_the_column(beck):
    """The pile has the three strata alone; a body reaches along the units that it was seen in."""
    block = column_block(beck.trav, width=140.0, height=180.0)
    assert_inside(block.items, -0.3, -block.height, 140.3, 0.0)
    bars = [one for one in paths(block.items) if isinstance(one.fill, Tile)]
    spans = sorted(
        (
            min(c[1] for c in one.commands if len(c) > 1),
            max(c[2] for c in one.commands if len(c) > 1),
            min(c[2] for c in one.commands if len(c) > 1),
        )
        for one in bars
    )
    pile, beside = spans[:3], spans[3:]
    assert len({left for left, _, _ in pile}) == 1
    assert len(beside) == 3
    assert min(left for left, _, _ in beside) > pile[0][0] + 30.0
    tops = sorted({top for _, top, _ in pile}, reverse=True)
    dike, sill, granite = beside
    # Db in Jl and Ks, Ds in Jl, Gr in Ts.
    assert [dike[1], sill[1], granite[1]] == pytest.approx(tops)
    assert dike[2] == sill[2] == pytest.approx(tops[2])
    assert (
        "Db, Basalt dike: intrusive, true width 3.7 ± 0.3 m on 3–4; 2 m walked on 5–6, seen in Jl, Ks"
        in words(block.items)
    )


def sheet(found):
    return compose(map_ground(found.trav), (), template=read_template("field").value, mark="a").value


def test_a_dike_of_two_paces_is_one_line_with_its_width(beck):
    """2 paces are 1.5 m, and the walk knows that place to 3 m; the dike of 5 paces keeps its two walls."""
    narrow = [one.narrow for one in beck.geology.bodies if one.unit == "Db"]
    assert narrow == [False, True]
    band = map_ground(beck.trav).ground.map.band
    (line,) = band.narrow
    assert line.body.walked_m == pytest.approx(1.51, abs=0.02)
    (area,) = [one for one in band.areas if one.unit == "Db"]
    assert len(area.parts) == 1
    page = sheet(beck).pages[0]
    assert "Db, 2 m walked" in words(page.items)


@pytest.mark.every(2)
@pytest.mark.parametrize("give", [("profile",), ("attitudes", "contacts", "profile")])
def test_a_handout_tells_no_body(beck, give):
    """Neither its letters nor its width, nor that there is one; with contacts given its walls are lines like the others."""
    document = compose_blank(
        beck.trav, lay=map_ground, template=read_template("field").value, mark="a", give=give
    ).value
    said = " ".join(words(page.items) for page in document.pages)
    for answer in ("Db", "Gr", "Intrusive", "intrusive", "dike", "sill", "width"):
        assert answer not in said.split()
    colours = {style.colour for style in unit_styles(beck.log.units).values()}
    assert not colours & {one.fill for page in document.pages for one in paths(page.items)}


def test_sheet_1_says_that_walls_nobody_measured_are_drawn_upright_and_square(beck):
    """Solid and upright they look seen; where the line below the section holds one of its limits it is this one."""
    page = sheet(beck).pages[0]
    told = " ".join(words(page.items).split())
    assert "The walls of Db were not measured: it is drawn upright" in told
    assert "Strike of Db not known: drawn square to the walk." in told
