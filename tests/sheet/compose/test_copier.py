"""The grey key: a pattern for every unit, and a sheet that a copy of a copy can still be read on."""

import math
import re
from dataclasses import replace
from itertools import combinations, pairwise
from pathlib import Path as File

import numpy as np
import pypdfium2
import pytest
import shapely
from PIL import Image, ImageFilter
from scipy.ndimage import binary_opening

from tests import once
from tests.sheet.compose.test_page_compose import POOR, finite
from tests.sheet.fixture_sheet import compiled, layer, walk
from tests.sheet.fixture_sheet import sheet as key
from tests.sheet.pages import box as text_box
from tests.sheet.signs.fixture_signs import walk as every_sign
from tests.thorough import some
from traverse.compile import map_ground
from traverse.log.records import RockUnit
from traverse.output.pdf import write_pdf
from traverse.sheet.compose.grey import compose_grey, for_copier, in_black_ink
from traverse.sheet.paper.document import Document
from traverse.sheet.paper.layers import Layer
from traverse.sheet.paper.page import Face, Group, Page, Path, Role, Text, Tile, polyline
from traverse.sheet.paper.style import BLACK, GREY_25, LARGE, PENS, WHITE
from traverse.sheet.signs.pattern import PATTERNS, ink_of, rock_of, unit_patterns
from traverse.sheet.signs.symbols import HEADINGS, LINES, SIGNS, SignHeading, symbol
from traverse.sheet.template.reading import read_template
from traverse.source import Span

SAMPLES = sorted((File(__file__).parents[3] / "samples").glob("*/*.trav"))
DPI = 200


_PIXEL_MM = 25.4 / DPI


def grey(found):
    return compose_grey(
        map_ground(found.trav),
        found.diagnostics,
        template=read_template("field").value,
        mark="abc123",
    ).value


def unit(letters, name="Upper Member"):
    return RockUnit(letters=letters, name=name, age=None, colour=None, span=Span("day.trav", 1, 1, 5))


def rendered(document):
    """Page 1 in grey, 0 black to 1 white; rows from the top."""
    page = pypdfium2.PdfDocument(write_pdf(document))[0]
    return np.asarray(page.render(scale=DPI / 72.0).to_pil().convert("L"), dtype=float) / 255.0


def copied(image, turn_deg):
    """One pass of an office copier: optics blur, paper goes in askew, contrast is hard, exposure a little dark.

    Common practice, no source: the figures are those at which a sheet on an office copier was still readable to us.
    """
    picture = Image.fromarray((image * 255).astype(np.uint8))
    picture = picture.rotate(turn_deg, resample=Image.Resampling.BILINEAR, fillcolor=255)
    soft = np.asarray(picture.filter(ImageFilter.GaussianBlur(0.7)), dtype=float) / 255.0
    return np.clip((soft - 0.6) * 3.0 + 0.5, 0.0, 1.0)


def part(image, left, low, right, top, height_mm):
    """Pixels of a rectangle of the page."""
    per_mm = DPI / 25.4
    rows = slice(max(0, int((height_mm - top) * per_mm)), math.ceil((height_mm - low) * per_mm))
    return image[rows, max(0, int(left * per_mm)) : math.ceil(right * per_mm)]


@pytest.fixture(scope="module", params=some(SAMPLES, 2), ids=lambda path: path.stem)
def sheet(request):
    found, document = once.compiled(request.param), once.drawn(request.param, "grey")
    first = rendered(document)
    # Askew one way, then the other: what is compared still lies where it lay.
    return document, first, copied(copied(first, 1 / 3), -1 / 3), found


def test_no_colour_is_left(sheet):
    document, _, _, _ = sheet
    pixels = np.asarray(pypdfium2.PdfDocument(write_pdf(document))[0].render(scale=1).to_pil().convert("RGB"))
    assert (pixels.max(axis=2).astype(int) - pixels.min(axis=2)).max() <= 24


def test_every_word_survives_two_copies(sheet):
    """Each text of the page against itself: the shapes of ink agree."""
    document, first, second, _ = sheet
    page = document.pages[0]
    lost = []
    for item in walk(page.items):
        if not isinstance(item, Text) or item.turn_deg or not item.text.strip():
            continue
        left, low, right, top = text_box(item)
        # Less a pixel on either side: a hairline that passes by the word is none of its ink.
        box = (left + _PIXEL_MM, low, right - _PIXEL_MM, top)
        before, after = (part(one, *box, page.height_mm) for one in (first, second))
        dark_before, dark_after = before < 0.5, after < 0.5
        if dark_before.sum() < 3:
            continue
        kept = (dark_before & dark_after).sum() / dark_before.sum()
        grown = (dark_after & ~dark_before).sum() / dark_before.sum()
        if kept < 0.85 or grown > 0.8:
            lost.append((item.text, round(kept, 2), round(grown, 2)))
    assert not lost


def test_patterns_of_the_legend_are_told_apart_in_the_second_copy(sheet):
    """By share of ink, or else by how it is spread along and across."""
    document, _, second, _ = sheet
    page = document.pages[0]
    seen = []
    for item in walk(page.items):
        if isinstance(item, Path) and isinstance(item.fill, Tile) and item.pen is not None:
            points = [command[-2:] for command in item.commands if len(command) > 2]
            left, low = (min(values) for values in zip(*points, strict=True))
            right, top = (max(values) for values in zip(*points, strict=True))
            if right - left > 10.9:
                dark = 1.0 - part(second, left + 0.6, low + 0.6, left + 2.8, top - 0.6, page.height_mm)
                seen.append((item.fill.name, dark.mean(), dark.mean(axis=0).std(), dark.mean(axis=1).std()))
    assert seen
    for one, other in combinations(seen, 2):
        assert max(abs(a - b) for a, b in zip(one[1:], other[1:], strict=True)) > 0.03, (one, other)


def test_bars_and_dashes_survive_two_copies(sheet):
    """Along every line of contacts and attitudes: still black, and gaps of dashes still white."""
    document, first, second, _ = sheet
    page = document.pages[0]
    kept = []
    for name in ("contacts", "attitudes"):
        for item in layer(page.items, name):
            if not isinstance(item, Path) or item.pen is None or item.pen.colour != "#000000" or item.fill:
                continue
            if len(item.commands) != 2:
                continue
            (x0, y0), (x1, y1) = (command[-2:] for command in item.commands)
            length = math.hypot(x1 - x0, y1 - y0)
            if length < 2.0:
                continue
            at = [(x0 + (x1 - x0) * s, y0 + (y1 - y0) * s) for s in np.linspace(0.05, 0.95, int(length * 8))]
            rows = [int((page.height_mm - y) * DPI / 25.4) for _, y in at]
            columns = [int(x * DPI / 25.4) for x, _ in at]
            before = np.array(
                [first[r - 1 : r + 2, c - 1 : c + 2].min() for r, c in zip(rows, columns, strict=True)]
            )
            after = np.array(
                [second[r - 1 : r + 2, c - 1 : c + 2].min() for r, c in zip(rows, columns, strict=True)]
            )
            kept.append(((before < 0.5) == (after < 0.5)).mean())
    # A line of 2 mm has a dozen dots, and where it meets another's edge a few of them turn.
    assert min(kept) > 0.7
    assert np.mean(np.array(kept) > 0.85) > 0.95
    assert np.mean(kept) > 0.95


def test_a_rock_has_its_pattern():
    assert rock_of("Farrow Limestone, shaly") == "limestone"
    assert rock_of("marl with thin limestones") == "marl"
    assert rock_of("upper member") is None
    styles = unit_patterns(
        [unit("A", "Wash Gravel"), unit("B", "Red Sandstone"), unit("C", "Grey Shale")], {}
    )
    assert [tile.name for tile in styles.values()] == ["gravel", "sand", "shale"]


def test_rock_words_of_the_log_choose_where_the_name_does_not():
    styles = unit_patterns([unit("A"), unit("B")], {"A": "limestone, shelly", "B": "granite"})
    assert [tile.name for tile in styles.values()] == ["limestone", "granite"]


@pytest.mark.parametrize("count", [2, len(PATTERNS), 60])
def test_no_two_units_have_one_pattern_while_there_are_enough(count):
    units = [unit(f"U{n}", "Sandstone") for n in range(count)]
    names = [tile.name for tile in unit_patterns(units, {}).values()]
    assert len(set(names)) == min(count, len(PATTERNS))
    if count <= 10:
        sorts = [PATTERNS[name].sort for name in names]
        assert all(a != b for a, b in pairwise(sorts))
    assert all(a != b for a, b in pairwise(names))


def test_ink_of_a_pattern_by_hand():
    """Rules 0.62 points wide every 2.6: 24 % ink. Dots of 1.6 in a square of 4.4: 10 %."""
    assert ink_of(PATTERNS["shale"].tile) == pytest.approx(0.62 / 2.6, abs=0.001)
    assert ink_of(PATTERNS["sand"].tile) == pytest.approx(math.pi * 0.8**2 / 4.4**2, abs=0.001)


def test_letters_stand_on_white(sheet):
    document, first, _, _ = sheet
    page = document.pages[0]
    for item in layer(page.items, "unit letters"):
        if isinstance(item, Text) and item.size_pt == LARGE:
            left, low, _, top = text_box(item)
            rim = part(first, left - 0.3, low - 0.3, left - 0.1, top + 0.1, page.height_mm)
            assert rim.mean() > 0.9, item.text


def test_numbers_and_figures_stand_on_white_even_at_the_edge_of_the_ground(sheet):
    """On the key such words have no halo, which would colour white paper."""
    document, _, _, _ = sheet
    page = document.pages[0]
    plates = [
        [(min(n[::2]), min(n[1::2]), max(n[::2]), max(n[1::2]))]
        for one in layer(page.items, "white behind words")
        for n in [[value for command in one.commands for value in command[1:]]]
    ]
    words = [one for name in ("figures", "names") for one in layer(page.items, name) if isinstance(one, Text)]
    assert words
    for one in words:
        if one.turn_deg:
            continue
        left, low, right, _ = text_box(one)
        assert any(x0 < left and y0 < low and right < x1 for ((x0, y0, x1, _),) in plates), one.text


def test_words_of_a_section_eat_no_line_and_a_cover_hides_what_it_lies_on(sheet):
    document, _, _, _ = sheet
    section = next(
        one for one in document.pages[0].items if isinstance(one, Group) and one.layer == "section"
    )
    ground, *rest = section.items
    assert isinstance(ground, Group)
    drawn = list(walk(ground.items))
    tiled = [index for index, one in enumerate(drawn) if isinstance(one.fill, Tile)]
    for index in tiled:
        assert drawn[index - 1].fill == "#ffffff"
        assert drawn[index - 1].commands == drawn[index].commands
    last_white = max((i for i, one in enumerate(drawn) if one.fill == "#ffffff"), default=-1)
    first_line = next(i for i, one in enumerate(drawn) if one.pen is not None)
    assert last_white < first_line
    assert not [
        one for one in walk(rest) if isinstance(one, Text) and one.halo is not None and not one.turn_deg
    ]
    assert tiled
    assert [one for one in walk(rest) if isinstance(one, Text) and one.size_pt == LARGE]


def test_lines_that_lead_to_a_reading_are_still_there_in_the_second_copy(sheet):
    document, _, second, _ = sheet
    page = document.pages[0]
    leaders = [
        one
        for one in layer(page.items, "section")
        if isinstance(one, Path)
        and one.pen is not None
        and len(one.commands) == 3
        and not one.fill
        and not one.pen.dash_mm
        and abs(one.commands[1][1] - one.commands[2][1]) < 1e-9
    ]
    for one in leaders:
        (_, _, top), (_, x, low) = one.commands[1], one.commands[2]
        if top - low > 4.0:
            seen = part(second, x - 0.4, low + 1.0, x + 0.4, top - 1.0, page.height_mm)
            assert (seen.min(axis=1) < 0.8).mean() > 0.9
    assert leaders or not list(layer(page.items, "section"))


@pytest.mark.every(2)
@pytest.mark.parametrize(
    "name",
    some(POOR, [one for one in list(POOR)[::2] if one not in {"very many stations", "very many units"}]),
)
def test_a_poor_log_still_makes_a_grey_sheet(name):
    document = grey(compiled(POOR[name]))
    for page in document.pages:
        finite(page)
    assert write_pdf(document).startswith(b"%PDF")


# --- what a thing is decides, not what it looks like ------------------------------------------------------------

SQUARE = polyline([(0.0, 0.0), (9.0, 0.0), (9.0, 9.0)], close=True)
DOTS, BARS = Tile(name="dots", width_mm=2.0, height_mm=2.0), Tile(name="bars", width_mm=3.0, height_mm=3.0)


def test_ground_has_the_pattern_of_its_unit_whatever_its_colour():
    grounds = [Path(commands=SQUARE, fill="#c0e0a0", unit=unit) for unit in ("A", "B", None)]
    assert [one.fill for one in for_copier(grounds, {"A": DOTS, "B": BARS})] == [DOTS, BARS, "#404040"]


@pytest.mark.parametrize("layer", [Layer.MAP, Layer.SECTION])
def test_letters_of_a_unit_stand_on_white_and_other_large_words_do_not(layer):
    looks = {"face": Face.SEMIBOLD, "size_pt": LARGE}
    letters = Text(at=(5.0, 5.0), text="Lt", face=Face.BOLD, size_pt=6.0, role=Role.UNIT_LETTERS)
    words = Text(at=(50.0, 50.0), text="Rook Sandstone", **looks)
    (group,) = for_copier([Group(items=(letters, words), layer=layer)], {})
    halos = [one.halo for one in group.items if isinstance(one, Text)]
    assert halos == ["#ffffff", None]
    assert [one.fill for one in group.items if isinstance(one, Path)] == ["#ffffff"]


def test_a_line_fades_by_what_it_is_and_not_by_its_grey():
    faint, base = PENS["path"], PENS["contour"]
    own = replace(PENS["contact certain"], colour=faint.colour)
    (path, contact, contour) = for_copier(
        [Path(commands=SQUARE, pen=one) for one in (replace(faint, colour="#a05030"), own, base)], {}
    )
    assert (path.pen.colour, path.pen.width_mm) == (GREY_25, 0.2)
    assert contact.pen == own
    assert contour.pen.width_mm == base.width_mm
    (drawn_on,) = in_black_ink([Path(commands=SQUARE, pen=replace(base, colour="#205080"))])
    assert (drawn_on.pen.colour, drawn_on.pen.width_mm) == ("#707070", 0.18)


# --- signs: each told from every other in the copy of a copy ----------------------------------------------------

CELL_MM = 14.0
ACROSS, CORNER_MM = 7, 12.0
LEAST_PIXELS, KEPT = 12, 0.65
"""A fifth of a square millimetre must differ, and most of that must come through."""
NOT_READ = {"station", "covered", "projected band", "apparent dip", "queried", "axial head", "flow"}
READINGS = [
    name
    for name, sign in SIGNS.items()
    if sign.shown_on is None
    and not name.endswith(" in section")
    and name not in {*NOT_READ, "photo", "photo no view"}
]
"""Signs that stand at a place."""
CERTAINTIES = [
    f"{kind} {one}"
    for kind in ("contact", "fault")
    for one in ("certain", "approximate", "inferred", "concealed")
]


def page_of(drawings):
    """One drawing a cell, given the middle of its cell."""
    rows = -(-len(drawings) // ACROSS)
    groups = [
        Group(items=tuple(draw(middle_of(index))), layer=Layer.ATTITUDES)
        for index, draw in enumerate(drawings)
    ]
    page = Page(
        width_mm=2 * CORNER_MM + ACROSS * CELL_MM,
        height_mm=2 * CORNER_MM + rows * CELL_MM,
        items=tuple(for_copier(groups, {})),
        title="cells",
    )
    return page, Document(pages=(page,), title="cells")


def middle_of(index):
    row, column = divmod(index, ACROSS)
    return CORNER_MM + (column + 0.5) * CELL_MM, CORNER_MM + (row + 0.5) * CELL_MM


def cells(image, page, count, half_mm):
    """The square about the middle of each cell."""
    side = round(2 * half_mm * DPI / 25.4)
    found = []
    for index in range(count):
        x, y = middle_of(index)
        top = round((page.height_mm - y - half_mm) * DPI / 25.4)
        left = round((x - half_mm) * DPI / 25.4)
        found.append(image[top - 2 : top + side + 2, left - 2 : left + side + 2])
    return found


def confused(drawings, names, *, half_mm, rims=False):
    """Pairs that can't be told apart: where the two differ in print, the copy of the copy shows too little of its own."""
    page, document = page_of(drawings)
    first = rendered(document)
    second = copied(copied(first, 1 / 3), -1 / 3)
    clean = [one < 0.5 for one in cells(first, page, len(names), half_mm)]
    copies = [one[2:-2, 2:-2] < 0.5 for one in cells(second, page, len(names), half_mm)]
    high, wide = copies[0].shape
    found = []
    for index, copy in enumerate(copies):
        shifts = [(slice(dy, dy + high), slice(dx, dx + wide)) for dy in range(5) for dx in range(5)]
        # The copier moves the paper by a pixel or so.
        aligned = min(shifts, key=lambda one: int((copy != clean[index][one]).sum()))
        own = clean[index][aligned]
        for name, other in zip(names, clean, strict=True):
            if name == names[index]:
                continue
            differ = own != other[aligned]
            if not rims:
                # A pixel more or less at a rim is chance.
                differ = binary_opening(differ, np.ones((2, 2)))
            kept = float((copy[differ] == own[differ]).mean()) if differ.sum() > LEAST_PIXELS else 0.0
            if kept < KEPT:
                found.append((names[index], name, round(kept, 2), int(differ.sum())))
    return found


def test_every_sign_of_a_place_is_told_from_every_other():
    """Turned as on a map, with the dot of a station on it: filled, open and long marks stay apart."""

    def drawn(name):
        def draw(at):
            on_top = () if HEADINGS[name] is SignHeading.PLACES else symbol("station", at)
            return (*symbol(name, at, turn_deg=30.0), *on_top)

        return draw

    assert not confused([drawn(name) for name in READINGS], READINGS, half_mm=6.6)


def level(name):
    """A line of 12 mm through the middle of its cell."""

    def draw(at):
        return (Path(commands=polyline([(at[0] - 6.0, at[1]), (at[0] + 6.0, at[1])]), pen=PENS[name]),)

    return draw


@pytest.mark.parametrize("kind", ["contact", "fault"])
def test_every_certainty_is_told_from_every_other(kind):
    """Solid, long and short dashes and dots; and none from a trace that nobody walked."""
    names = [name for name in CERTAINTIES if name.startswith(kind)]
    names.append("computed trace" if kind == "contact" else "computed fault trace")
    assert not confused([level(name) for name in names], names, half_mm=6.0, rims=True)


@pytest.mark.parametrize("certainty", ["certain", "approximate", "inferred", "concealed"])
def test_a_fault_is_still_the_heavier_line_in_the_second_copy(certainty):
    """By a third at least, on the average over what is inked."""
    heavy = []
    for kind in ("contact", "fault"):
        page, document = page_of([level(f"{kind} {certainty}")])
        second = copied(copied(rendered(document), 1 / 3), -1 / 3)
        dark = cells(second, page, 1, 5.0)[0] < 0.5
        across = dark.sum(axis=0)
        heavy.append(across[across > 0].mean())
    assert heavy[1] > 1.3 * heavy[0]


@pytest.mark.parametrize("name", CERTAINTIES)
def test_a_gap_in_a_line_is_still_white_in_the_second_copy(name):
    """A dash that closes up reads as certain: every gap keeps a pixel of white at least, every dash its black."""
    pen = PENS[name]

    def draw(at):
        return (Path(commands=polyline([(at[0] - 6.0, at[1]), (at[0] + 6.0, at[1])]), pen=pen),)

    page, document = page_of([draw])
    second = copied(copied(rendered(document), 1 / 3), -1 / 3)
    x, y = middle_of(0)
    row = round((page.height_mm - y) * DPI / 25.4)
    left, right = (round((x + off) * DPI / 25.4) for off in (-6.0, 6.0))
    dark = second[row - 1 : row + 2, left:right].min(axis=0) < 0.5
    runs = int((np.diff(dark.astype(int)) == 1).sum()) + int(dark[0])
    pitch = sum(pen.dash_mm)
    expected = 1 if not pen.dash_mm else 12.0 / pitch
    assert abs(runs - expected) <= 1.0


@pytest.mark.in_turn
@pytest.mark.parametrize("name", [name for name in LINES if name not in {"contour", "receiver track"}])
@pytest.mark.parametrize("slant", [0.0, 0.2])
def test_every_line_but_contours_and_tracks_keeps_its_dashes(name, slant):
    """Level and aslant: as much of it is inked in the copy of a copy as in print."""
    pen = PENS[name]

    def draw(at):
        ends = [(at[0] + end * 6.0, at[1] + end * 6.0 * slant) for end in (-1.0, 1.0)]
        return (Path(commands=polyline(ends), pen=pen),)

    page, document = page_of([draw])
    x, y = middle_of(0)
    along = np.linspace(-5.8, 5.8, 400)
    columns = ((x + along) * DPI / 25.4).astype(int)
    rows = ((page.height_mm - y - slant * along) * DPI / 25.4).astype(int)

    def inked(image):
        return np.mean([image[r - 1 : r + 2, c].min() < 0.5 for r, c in zip(rows, columns, strict=True)])

    first = rendered(document)
    before, after = inked(first), inked(copied(copied(first, 1 / 3), -1 / 3))
    dashes = sum(pen.dash_mm[::2]) + (len(pen.dash_mm) // 2) * (pen.width_mm if pen.round_cap else 0.0)
    assert before == pytest.approx(dashes / sum(pen.dash_mm) if pen.dash_mm else 1.0, abs=0.12)
    assert after == pytest.approx(before, abs=0.12)


def test_signs_on_faults_are_told_from_each_other():
    names = [name for name, sign in SIGNS.items() if sign.shown_on == "fault certain"]

    def drawn(name):
        def draw(at):
            line = Path(
                commands=polyline([(at[0], at[1] - 6.0), (at[0], at[1] + 6.0)]), pen=PENS["fault certain"]
            )
            return (line, *symbol(name, at, turn_deg=0.0))

        return draw

    assert not confused([drawn(name) for name in names], names, half_mm=4.0)


@pytest.mark.thorough
def test_the_sheet_with_every_sign_survives_as_a_whole():
    """Bars, ticks and dashes of a map that shows them all, line by line."""
    found = compiled(every_sign())
    document = grey(found)
    first = rendered(document)
    test_bars_and_dashes_survive_two_copies((document, first, copied(copied(first, 1 / 3), -1 / 3), found))


def test_the_section_of_the_grey_key_speaks_of_patterns(sheet):
    document, *_ = sheet
    said = " ".join(one.text for one in walk(document.pages[0].items) if isinstance(one, Text))
    assert "colour" not in said
    assert re.search(r"patterns (at most )?\d+\s(m|ft) deep", said)


@pytest.mark.parametrize("draw", [lambda found: key(found)[0], grey], ids=["key", "grey"])
def test_a_bar_at_a_control_is_read_over_its_triangle(draw):
    """The triangle hid the tick and half of the bar; on the copier's sheet white beside the bar must not cut it."""
    found = compiled(
        "bearings true\nattitudes dip-right\nunit Aa Upper beds ; Jurassic\ncontrol 1 1000 E 1000 N 10 m\n"
        "at 1\n  unit Aa\n  bed 030/40\nto 2 090 90m\nto 3 180 90m\n"
    )
    (on_map,) = [
        one for one in draw(found).pages[0].items if isinstance(one, Group) and one.layer is Layer.MAP
    ]
    drawn = [one for one in walk(on_map.items) if isinstance(one, Path)]
    (at,) = [
        index
        for index, one in enumerate(drawn)
        if one.fill == WHITE and one.pen is not None and len(one.commands) == 4
    ]
    triangle = shapely.LinearRing([command[1:] for command in drawn[at].commands if len(command) == 3])
    after = [
        (one.pen.colour, triangle.intersects(shapely.LineString(points)))
        for one in drawn[at + 1 :]
        if one.pen is not None and len(points := [c[1:] for c in one.commands if len(c) == 3]) > 1
    ]
    assert (BLACK, True) in after
    assert (WHITE, True) not in after


def test_white_beside_one_line_cuts_no_other_line():
    """On narrow ground the white beside a leg hid most of a dashed contact, and that beside a bar the edge of the ground."""
    found = compiled(
        "bearings true\nattitudes dip-right\nunit Aa Upper beds ; Jurassic\nunit Bb Lower beds ; Triassic\n"
        "at 1\n  unit Aa\n  bed 090/20\nto 2 000 400m\nalong 190m\n  contact Aa/Bb approximate\nat 2\n  unit Bb\n"
        "to 3 010 400m\n  bed 085/25\n"
    )
    (on_map,) = [
        one for one in grey(found).pages[0].items if isinstance(one, Group) and one.layer is Layer.MAP
    ]
    lines = [one for one in on_map.items if one.layer is not Layer.GRID]
    pens = [one.pen.colour for one in walk(lines) if isinstance(one, Path) and one.pen and one.fill is None]
    white = [index for index, colour in enumerate(pens) if colour == WHITE]
    assert len(white) > 5
    # All of it lies under the first line.
    assert white == list(range(white[0], white[0] + len(white)))
    assert white[0] == 0
