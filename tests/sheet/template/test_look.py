"""A template's own pens, signs and type are in force for its sheet alone, whatever is drawn before, beside or inside it."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from threading import Barrier

import pytest

from tests.sheet.fixture_sheet import compiled
from tests.thorough import some
from traverse.compile import blank_ground, map_ground, net_density
from traverse.output.pdf import write_pdf
from traverse.output.svg import write_svg
from traverse.sheet.compose.alone import net_document, section_document
from traverse.sheet.compose.compose import Composer, compose
from traverse.sheet.compose.grey import compose_grey
from traverse.sheet.handout.handout import compose_blank
from traverse.sheet.paper.fonts import font, own_font, width_mm
from traverse.sheet.paper.look import SHIPPED, Look, drawn_with, look_in_force
from traverse.sheet.paper.page import Face
from traverse.sheet.paper.style import PENS, SHIPPED_PENS
from traverse.sheet.signs.symbols import SIGNS
from traverse.sheet.template.own_look import look_of
from traverse.sheet.template.reading import read_template

WALK = """date 2026-07-03
grid EPSG:25830
bearings true
attitudes dip-right
unit Lt Hollow Limestone ; Cretaceous
unit Sr Rook Sandstone ; Triassic
control 1 412350 E 4289020 N gps
section A-A' from 1 to 2
at 1
  unit Lt
  bed 142/68
to 2 060 100m level
  contact Lt/Sr certain 140/60
  bed 140/60
  unit Sr
"""


@pytest.fixture(scope="module")
def found():
    return compiled(WALK)


@pytest.fixture(scope="module")
def plain():
    return read_template("field").value


def own_template(folder, name, type_of, *, width, bar):
    """A template with a pen, a sign and a font of its own."""
    folder.mkdir()
    (folder / "Mine.ttf").write_bytes(Path(font(type_of).face.filename).read_bytes())
    (folder / f"{name}.toml").write_text(
        'extends = "field"\n[fonts]\nregular = "Mine.ttf"\n'
        f"[lines]\nsymbol = {{ width = {width} }}\ncontact_certain = {{ width = {width} }}\n"
        f"[signs]\nbedding = {{ bar = {bar} }}\n",
        encoding="utf-8",
    )
    template = read_template(str(folder / f"{name}.toml")).value
    assert template is not None
    return template


@pytest.fixture(scope="module")
def heavy(tmp_path_factory):
    return own_template(tmp_path_factory.mktemp("look") / "one", "heavy", "DejaVuSans", width=0.8, bar=9.0)


@pytest.fixture(scope="module")
def light(tmp_path_factory):
    """Another, whose font file has the same name."""
    folder = tmp_path_factory.mktemp("look") / "other"
    return own_template(folder, "light", "DejaVuSans-Bold", width=0.12, bar=3.0)


def drawn(found, template):
    return compose(map_ground(found.trav), found.diagnostics, template=template, mark="abc").value


def alone(found):
    return (
        net_document(replace(found.trav, geology=net_density(found.geology)), mark="abc"),
        section_document(found.trav, mark="abc"),
    )


def test_a_sheet_with_a_look_of_its_own_leaves_nothing_behind(found, plain, heavy):
    before, net = drawn(found, plain), alone(found)
    own = drawn(found, heavy)
    assert own.pages != before.pages
    assert own.look.pens["symbol"].width_mm == 0.8
    assert own.look.signs["bedding"].reach == 4.5
    assert alone(found) == net
    assert drawn(found, plain) == before
    assert drawn(found, heavy) == own
    assert look_in_force() is SHIPPED


@pytest.mark.parametrize(
    "make",
    [
        lambda found, template: compose_grey(map_ground(found.trav), (), template=template, mark="abc"),
        lambda found, template: compose_blank(found.trav, lay=blank_ground, template=template, mark="abc"),
    ],
    ids=["grey", "blank"],
)
def test_nor_does_a_copy_or_a_handout(found, plain, heavy, make):
    before = drawn(found, plain)
    assert make(found, heavy).value.look.fonts
    assert look_in_force() is SHIPPED
    assert drawn(found, plain) == before


@pytest.mark.parametrize("at", some(["_further", "_foot", "_beginning"], 3))
def test_nor_does_one_that_breaks_off_in_the_middle(found, plain, heavy, monkeypatch, at):
    before, net = drawn(found, plain), alone(found)

    def broken(*_, **__):
        assert PENS["symbol"].width_mm == 0.8
        raise RuntimeError("in the middle")

    with monkeypatch.context() as patched:
        patched.setattr(Composer, at, broken)
        with pytest.raises(RuntimeError, match="in the middle"):
            drawn(found, heavy)
    assert look_in_force() is SHIPPED
    assert (drawn(found, plain), alone(found)) == (before, net)


def test_two_sheets_in_two_threads_have_each_their_own(found, heavy, light, monkeypatch):
    expected = [drawn(found, heavy), drawn(found, light)]
    written = [write_pdf(one) for one in expected]
    both = Barrier(2, timeout=60.0)
    begin, further = Composer._beginning, Composer._further

    def beginning(composer):
        both.wait()
        return begin(composer)

    def furthered(composer, paper, pages, **how):
        both.wait()
        return further(composer, paper, pages, **how)

    monkeypatch.setattr(Composer, "_beginning", beginning)
    monkeypatch.setattr(Composer, "_further", furthered)
    with ThreadPoolExecutor(2) as pool:
        made = list(pool.map(lambda template: drawn(found, template), (heavy, light)))
        assert made == expected
        assert list(pool.map(write_pdf, made)) == written


def test_a_sheet_inside_another_has_its_own(found, plain, heavy, light):
    expected, net = drawn(found, plain), alone(found)
    with drawn_with(look_of(heavy)):
        assert drawn(found, plain) == expected
        assert drawn(found, light).look.pens["symbol"].width_mm == 0.12
        assert alone(found) == net
        # and the outer one goes on as before
        assert PENS["symbol"].width_mm == 0.8
        assert SIGNS["bedding"].reach == 4.5
        assert PENS["neat line"] == SHIPPED_PENS["neat line"]


@pytest.mark.thorough
def test_a_document_is_written_in_its_own_type_whatever_was_drawn_since(found, plain, heavy):
    own, usual = drawn(found, heavy), drawn(found, plain)
    pdf, svg = write_pdf(own), write_svg(own)
    with drawn_with(look_of(heavy)):
        other = write_pdf(usual), write_svg(usual)
    assert (write_pdf(usual), write_svg(usual)) == other
    assert b"DejaVuSans" in pdf
    assert b"DejaVuSans" not in other[0]
    assert b"font-family=\"'DejaVu Sans', 'DejaVu Sans', sans-serif\"" in svg
    assert b"font-family=\"'Source Sans Pro', 'DejaVu Sans', sans-serif\"" in other[1]


def test_two_fonts_of_one_file_name_are_two_fonts(heavy, light):
    usual = width_mm("Limestone", Face.REGULAR, 10.0)
    widths = []
    for template, name in ((heavy, "DejaVuSans"), (light, "DejaVuSans-Bold"), (heavy, "DejaVuSans")):
        with drawn_with(look_of(template)):
            widths.append(width_mm("Limestone", Face.REGULAR, 10.0))
        shown = font(name).face
        ems = sum(shown.charWidths[ord(char)] for char in "Limestone")
        assert widths[-1] == pytest.approx(ems / 1000.0 * 10.0 * 25.4 / 72.0)
    assert widths[0] == widths[2] != widths[1]
    assert width_mm("Limestone", Face.REGULAR, 10.0) == usual


def test_nothing_of_a_path_is_in_the_name_of_a_font(heavy):
    path = heavy.fonts[Face.REGULAR]
    assert str(path.parent) not in own_font(Face.REGULAR, path).name


def test_views_of_the_look_can_be_read_only():
    for view in (PENS, SIGNS):
        with pytest.raises(TypeError):
            view["symbol"] = None
    assert Look() == SHIPPED
