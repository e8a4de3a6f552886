"""Where a page has no room for its units, their letters and names still stand on it, none of them cut."""

import re
from pathlib import Path as File

import pytest
import shapely

from tests.sheet.compose.test_room_on_pages import laid, made, read, said
from tests.sheet.fixture_sheet import compiled, walk
from tests.sheet.pages import assert_inside, overlaps
from tests.sheet.pages import box as text_box
from traverse.compile import map_ground
from traverse.sheet.compose.compose import compose
from traverse.sheet.compose.grey import for_copier
from traverse.sheet.legend.unit_legend import UnitRows, units_block
from traverse.sheet.legend.unit_names import unit_names_block
from traverse.sheet.paper.page import Path, Role, Tile
from traverse.sheet.paper.style import COVERED, WHITE
from traverse.sheet.signs.colour import unit_styles
from traverse.sheet.signs.pattern import unit_patterns
from traverse.sheet.template.reading import read_template

TEMPLATES = File(__file__).parents[3] / "templates"


@pytest.mark.parametrize("width", [30.0, 48.0, 61.5, 76.0, 128.0])
def test_names_stand_whole_in_columns_in_less_room_than_a_row_each(width):
    found = read("many-units")
    trav, styles = laid("many-units"), unit_styles(found.log.units)
    block = unit_names_block(trav, width=width, styles=styles)
    assert_inside(block.items, -0.3, -block.height, width + 0.3, 0.0)
    assert not overlaps(block.items)
    words = " ".join(item.text for item in walk(block.items) if not isinstance(item, Path))
    for unit in found.log.units:
        assert all(word in words for word in unit.name.split())
    fills = {item.unit: item.fill for item in walk(block.items) if isinstance(item, Path) and item.unit}
    assert fills == {unit.letters: styles[unit.letters].colour for unit in found.log.units}
    assert block.height < units_block(trav, width=width, styles=styles, rows=UnitRows.SHORT).height


@pytest.mark.parametrize(("width", "told"), [(128.0, True), (76.0, True), (30.0, False)])
def test_columns_say_which_way_they_are_read(width, told):
    """Across them a younger unit would stand below an older one; 30 mm hold one column."""
    found = read("many-units")
    block = unit_names_block(laid("many-units"), width=width, styles=unit_styles(found.log.units))
    words = [item.text for item in walk(block.items) if not isinstance(item, Path)]
    assert any(one.startswith("down, then right") for one in words) is told


@pytest.mark.parametrize(("width", "told"), [(128.0, "ages on a later sheet"), (60.0, "ages later")])
def test_names_without_their_ages_say_that_these_stand_elsewhere(width, told):
    found = read("many-units")
    block = unit_names_block(laid("many-units"), width=width, styles=unit_styles(found.log.units))
    assert f"down, then right; {told}" in [
        item.text for item in walk(block.items) if not isinstance(item, Path)
    ]
    assert not overlaps(block.items)


@pytest.mark.in_turn
@pytest.mark.parametrize("width", [48.0, 61.5, 76.0])
@pytest.mark.parametrize("rows", list(UnitRows))
def test_no_row_gives_up_the_age_of_its_unit(width, rows):
    """`at least 30 m` alone, under a row that says Cretaceous, read as the age above."""
    found = read("many-units")
    block = units_block(laid("many-units"), width=width, styles=unit_styles(found.log.units), rows=rows)
    words = [item.text for item in walk(block.items) if not isinstance(item, Path)]
    ages = [unit.age.split()[-1] for unit in found.log.units if unit.age]
    assert len(ages) > 5
    for age in set(ages):
        forms = re.compile(rf"\b(?:{age}|{age[:4]}\.|{age[:3]}\.)")
        assert sum(bool(forms.search(one)) for one in words) == ages.count(age)


def test_covered_ground_is_white_for_the_copier_and_no_unit_is():
    """Sandstone has dots as well."""
    (cover,) = for_copier([Path(commands=(), fill=COVERED)], {})
    assert cover.fill == WHITE
    found = read("many-units")
    tiles = unit_patterns(found.log.units, {})
    assert set(tiles) == {unit.letters for unit in found.log.units}
    assert all(one.dots or one.commands for one in tiles.values())


def test_white_behind_letters_leaves_pattern_in_the_box_for_the_copier():
    """In 5 mm the plate wiped all but a hair to each side, and nothing could be matched with the map."""
    found = read("many-units")
    trav, styles = laid("many-units"), unit_styles(found.log.units)
    block = unit_names_block(trav, width=76.0, styles=styles)
    tiles = unit_patterns(found.log.units, {})
    pieces = [one for one in walk(for_copier(block.items, tiles)) if isinstance(one, Path)]
    plates = [one for one in pieces if one.fill == WHITE]
    boxes = [one for one in pieces if isinstance(one.fill, Tile)]
    assert len(plates) == len(boxes) == len(found.log.units)
    for plate, box in zip(plates, boxes, strict=True):
        left, start = (
            min(command[1] for command in one.commands if len(command) > 1) for one in (box, plate)
        )
        assert start - left > 1.4


def test_white_behind_letters_leaves_the_frame_of_the_box_for_the_copier():
    """Half of nine frames were wiped, and what was left of each was a bracket."""
    found = read("many-units")
    block = unit_names_block(laid("many-units"), width=76.0, styles=unit_styles(found.log.units))
    copied = list(walk(for_copier(block.items, unit_patterns(found.log.units, {}))))
    boxes = [
        shapely.Polygon(corners(one))
        for one in copied
        if isinstance(one, Path) and isinstance(one.fill, Tile)
    ]
    letters = [one for one in copied if not isinstance(one, Path) and one.role is Role.UNIT_LETTERS]
    white = [shapely.Polygon(corners(one)) for one in copied if isinstance(one, Path) and one.fill == WHITE]
    white += [shapely.box(*text_box(one)).buffer(one.halo_mm) for one in letters]
    assert len(letters) == len(boxes) == len(found.log.units)
    for box in boxes:
        (low, high), middle = box.bounds[1::2], box.centroid.x
        over = [one for one in white if one.intersects(box)]
        assert over
        assert all(low < one.bounds[1] and one.bounds[3] < high for one in over), middle


def corners(path):
    return [command[1:] for command in path.commands if len(command) == 3]


def test_a_log_without_units_has_no_block():
    found = compiled("bearings true\nat 1\nto 2 090 50m\n")
    assert unit_names_block(found.trav, width=60.0, styles={}) is None


@pytest.mark.in_turn
@pytest.mark.parametrize(("template", "paper"), [("field", "A5"), ("insert", None)])
@pytest.mark.parametrize("name", ["many-units", "intrusive-bodies"])
def test_the_sheet_that_is_carried_names_every_unit_of_its_map(name, template, paper):
    found, document = made(name, sheet_line=f"sheet paper {paper}" if paper else None, template=template)
    pages = document.pages
    first = " ".join(said(pages[0]))
    assert "Units: on a later sheet" not in first
    for unit in found.log.units:
        assert all(word in first for word in unit.name.split()), unit.name
    # Ages and thicknesses are not lost by it.
    assert any("age; true thickness" in words for page in pages for words in said(page))


@pytest.mark.every(2)
@pytest.mark.parametrize("name", ["ternel-point", "oskerra-valley", "no-units"])
def test_an_insert_has_its_signs_at_its_back(name):
    _, document = made(name, template="insert")
    assert "Signs on this sheet" in said(document.pages[-1])


def test_ages_stand_beside_names_where_a_panel_of_a_template_holds_them():
    """Five units in 38 mm had names alone, and half of the panel was empty."""
    _, document = made("oskerra-valley", template="insert")
    words = said(document.pages[0])
    assert {"Quaternary", "Lower Cretaceous", "Upper Jurassic", "Lower Jurassic", "Middle Triassic"} <= set(
        words
    )
    assert "age; true thickness" not in words


@pytest.mark.parametrize("template", ["insert", str(TEMPLATES / "example.toml")])
def test_names_take_further_lines_before_they_leave_a_template_s_panel(template):
    """Nine names, one of them long, in 60 mm by 38: the sheet that is carried had none of them."""
    long = "Shale with thin Limestones of the Upper Tarn"
    names = [long, *(f"Tarn Beds {letter}" for letter in "abcdefgh")]
    units = "".join(f"unit U{chr(97 + n)} {name} ; Jurassic\n" for n, name in enumerate(names))
    walk = "".join(f"to {n} {20 * n:03} 30m\n  unit U{chr(95 + n)}\n" for n in range(2, 11))
    found = compiled(f"bearings true\n{units}at 1\n  unit Ua\n{walk}")
    page = compose(map_ground(found.trav), (), template=read_template(template).value, mark="x").value.pages[
        0
    ]
    words = " ".join(said(page))
    assert "Units: on a later sheet" not in words
    assert all(word in words for name in names for word in name.split())
