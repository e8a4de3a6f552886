"""SVG: what stands in the page model stands there, at the same place, as text and paths that can be edited."""

import base64
import io
import re
import xml.etree.ElementTree as ET
from pathlib import Path as File

import pytest
from fontTools.ttLib import TTFont

from traverse.compile import compile_log, map_ground
from traverse.output.svg import write_svg
from traverse.sheet.compose.compose import compose
from traverse.sheet.paper.document import Document
from traverse.sheet.paper.fonts import font, own_font, width_mm
from traverse.sheet.paper.look import Look
from traverse.sheet.paper.page import (
    Anchor,
    Box,
    Face,
    Group,
    Page,
    Path,
    Pen,
    Text,
    Tile,
    polyline,
    rectangle,
)
from traverse.sheet.template.reading import read_template
from traverse.source import Source

SVG = "{http://www.w3.org/2000/svg}"
SAMPLES = sorted((File(__file__).parents[2] / "samples").glob("*/*.trav"))


def document(*items, title="Map", **more):
    page = Page(width_mm=210.0, height_mm=297.0, items=items, title=title)
    return Document(pages=(page,), title=title, **more)


def tree(*items, **more):
    return ET.fromstring(write_svg(document(*items, **more)))  # noqa: S314  # written by ourselves


def flat(items):
    for item in items:
        if isinstance(item, Group):
            yield from flat(item.items)
        else:
            yield item


def test_the_page_is_as_large_as_on_paper():
    root = tree()
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("210mm", "297mm", "0 0 210 297")


def test_a_line_lies_where_it_was_put_from_the_upper_edge_down():
    pen = Pen(width_mm=0.25, colour="#404040", dash_mm=(3.5, 0.75), round_cap=True)
    (line,) = tree(Path(commands=(("M", 10, 20), ("C", 1, 2, 3, 4, 5, 6.0005)), pen=pen)).iter(f"{SVG}path")
    assert line.get("d") == "M10 277C1 295 3 293 5 291"
    assert line.get("stroke-width") == "0.25"
    assert line.get("stroke-dasharray") == "3.5 0.75"
    assert line.get("stroke-linecap") == "round"
    assert line.get("stroke") == "#404040"


@pytest.mark.parametrize("text", ["<b>&\"'", "]]> &amp;", "שלום", "68° → 232°", "a  b"])
def test_user_text_is_text_and_never_markup(text):
    root = tree(
        Text(at=(20, 30), text=text, face=Face.SEMIBOLD, anchor=Anchor.END, turn_deg=90.0), title=text
    )
    (found,) = root.iter(f"{SVG}text")
    assert found.text == text
    assert root.find(f"{SVG}title").text == text
    assert (found.get("x"), found.get("y"), found.get("transform")) == ("20", "267", "rotate(-90 20 267)")
    assert (found.get("text-anchor"), found.get("font-weight")) == ("end", "600")
    assert "Source Sans Pro" in root.get("font-family")


def test_characters_that_xml_forbids_are_dropped():
    (found,) = tree(Text(at=(20, 30), text="a\x00\x1b\uffff\ufffeb\ud800c")).iter(f"{SVG}text")
    assert found.text == "abc"


def test_layers_are_groups_with_names_of_their_own():
    root = tree(Group(items=(), layer="map"), Group(items=(), layer="map"), Group(items=(), layer='a "<b>'))
    groups = list(root.iter(f"{SVG}g"))
    assert [one.get("id") for one in groups] == ["map", "map-2", "a-b-"]
    assert groups[1].get("class") == "layer map"


def carried(root):
    """Fonts in the file, by family, weight and slope."""
    rule = re.compile(
        r"@font-face{font-family:'([^']+)';font-weight:(\d+)(;font-style:italic)?;src:url\(data:font/ttf;base64,([^)]+)\)}"
    )
    (style,) = root.iter(f"{SVG}style")
    found = rule.findall(style.text)
    assert len(found) == style.text.count("@font-face")
    return {
        (family, weight, bool(slope)): TTFont(io.BytesIO(base64.b64decode(data)))
        for family, weight, slope, data in found
    }


def test_letters_are_carried_and_as_wide_as_the_sheet_takes_them_to_be():
    """A browser without the family would set wider letters, over their neighbours and the edge of the page."""
    root = tree(
        Text(at=(20, 30), text="AVATAR fi 68° → 232°", face=Face.BOLD),
        Text(at=(20, 40), text="Żółć αβγ", face=Face.ITALIC),
        Text(at=(20, 50), text="⚠", face=Face.ITALIC),
    )
    fonts = carried(root)
    assert set(fonts) == {
        ("Source Sans Pro", "700", False),
        ("Source Sans Pro", "400", True),
        ("DejaVu Sans", "400", True),
    }
    bold = fonts["Source Sans Pro", "700", False]
    assert {chr(code) for code in bold.getBestCmap()} == set("AVATAR fi 68° → 232°")
    em = bold["head"].unitsPerEm
    words = "AVATAR fi 68° → 232°"
    wide = sum(bold["hmtx"][bold.getBestCmap()[ord(char)]][0] for char in words) / em * 10.0 * 25.4 / 72.0
    assert wide == pytest.approx(width_mm(words, Face.BOLD, 10.0), rel=1e-3)
    assert "GPOS" not in bold
    assert root.get("font-kerning") == "none"


def test_a_page_without_text_carries_no_letters():
    assert not list(tree().iter(f"{SVG}style"))


def test_a_font_of_the_user_s_own_is_carried_by_its_name(tmp_path):
    own = tmp_path / "mine.ttf"
    own.write_bytes(File(font("DejaVuSans").face.filename).read_bytes())
    look = Look(fonts={Face.BOLD: own_font(Face.BOLD, own)})
    root = tree(Text(at=(20, 30), text="a"), Text(at=(20, 40), text="b", face=Face.BOLD), look=look)
    assert set(carried(root)) == {("Source Sans Pro", "400", False), ("DejaVu Sans", "700", False)}
    first, second = root.iter(f"{SVG}text")
    assert first.get("font-family") is None
    assert second.get("font-family").startswith("'DejaVu Sans'")


def test_the_same_page_gives_the_same_bytes():
    made = [write_svg(document(Text(at=(20, 30), text="Żółć → ⚠"))) for _ in range(2)]
    assert made[0] == made[1]


def test_clips_and_patterns_are_defined_before_they_are_used():
    tile = Tile(
        name="t", width_mm=4.0, height_mm=3.0, commands=(("M", 0, 1), ("L", 4, 1)), dots=((2, 2, 0.3),)
    )
    box = rectangle(Box(x=10, y=10, width=20, height=20))
    root = tree(
        Group(items=(Path(commands=box, fill=tile), Path(commands=box, fill=tile)), clip=box, layer="m")
    )
    (pattern,) = root.iter(f"{SVG}pattern")
    (clip,) = root.iter(f"{SVG}clipPath")
    (group,) = root.iter(f"{SVG}g")
    assert group.get("clip-path") == f"url(#{clip.get('id')})"
    fills = [one.get("fill") for one in group.iter(f"{SVG}path")]
    assert fills == [f"url(#{pattern.get('id')})"] * 2
    # The stroke 1 mm over the foot of a cell stands 1 mm over the foot of the page, as in the PDF.
    shift = float(re.search(r"translate\(0 ([\d.]+)\)", pattern.get("patternTransform")).group(1))
    down = float(re.match(r"M0 ([\d.]+)", pattern.find(f"{SVG}path").get("d")).group(1))
    assert (297.0 - shift - down) % 3.0 == pytest.approx(1.0)


@pytest.mark.parametrize("bad", [float("nan"), float("inf")])
def test_a_number_that_is_none_is_refused(bad):
    with pytest.raises(ValueError, match="coordinate"):
        tree(Path(commands=polyline([(0.0, 0.0), (bad, 1.0)]), pen=Pen(width_mm=1.0)))


@pytest.mark.every(2)
@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_sheet_holds_every_text_and_path_of_the_drawing(path):
    source = Source(name=path.name, text=path.read_text(encoding="utf-8"))
    compiled = compile_log(source, load=lambda name: (path.parent / name).read_bytes())
    composed = compose(
        map_ground(compiled.trav),
        compiled.diagnostics,
        template=read_template("field").value,
        mark="abc123",
    ).value
    root = ET.fromstring(write_svg(composed))  # noqa: S314
    items = list(flat(composed.pages[0].items))
    written = [one.text for one in root.iter(f"{SVG}text")]
    assert written == [one.text for one in items if isinstance(one, Text) and one.text]
    drawn = [one for parent in root.iter() if parent.tag in {f"{SVG}g", f"{SVG}svg"} for one in parent]
    assert sum(one.tag == f"{SVG}path" for one in drawn) == sum(isinstance(one, Path) for one in items)
    ids = [one.get("id") for one in root.iter() if one.get("id")]
    assert len(ids) == len(set(ids))
