"""Line widths, dashes, sizes and numbers of signs against published symbol sheets.

FGDC: Federal Geographic Data Committee [prepared by the U.S. Geological Survey], 2006, FGDC Digital Cartographic
Standard for Geologic Map Symbolization, FGDC-STD-013-2006. Of its section 1 the contacts 1.1.1 to 1.1.4 could be read
in a public copy of one page; what else is taken from it here is from memory, and says so.
NMBGMR: New Mexico Bureau of Geology and Mineral Resources, Geologic Map Symbols (one sheet; measures in points).
Chart: text of the lithologic pattern chart of the same standard, as transcribed in the public-domain repository
geologic-patterns (file fgdc-geolsym-patternchart.txt).
"""

from itertools import pairwise

import pytest

from tests.sheet.fixture_sheet import compiled, layer, sheet
from traverse.sheet.paper.page import Face, Group, Text
from traverse.sheet.paper.style import CONTOUR_FIGURE, PENS, SMALL
from traverse.sheet.signs.measures import SHIPPED
from traverse.sheet.signs.pattern import NUMBERS, rock_of
from traverse.sheet.signs.symbols import LINES, SIGNS

POINT_MM = 25.4 / 72.0
ORDER = ("certain", "approximate", "inferred", "concealed")


def inked(pen):
    """Share of a line's length that is ink; a dot of a round cap is as long as the line is wide."""
    if not pen.dash_mm:
        return 1.0
    dashes = pen.dash_mm[::2]
    longer = pen.width_mm if pen.round_cap else 0.0
    return sum(one + longer for one in dashes) / sum(pen.dash_mm)


def test_a_certain_contact_is_solid_and_no_thinner_than_the_standard():
    """FGDC 1.1.1: solid, 0.15 mm. Ours is heavier, so that a copy keeps it."""
    pen = PENS["contact certain"]
    assert pen.dash_mm == ()
    assert 0.15 <= pen.width_mm <= 0.3


def test_an_approximate_contact_has_the_dashes_of_the_standard():
    """FGDC 1.1.3: dash 3.5 mm, gap 0.75 mm."""
    assert PENS["contact approximate"].dash_mm == (3.5, 0.75)
    assert PENS["fault approximate"].dash_mm == (3.5, 0.75)


def test_an_inferred_contact_has_short_dashes():
    """FGDC 1.1.5, from memory: about 1.5 mm."""
    assert PENS["contact inferred"].dash_mm[0] == pytest.approx(1.5)


def test_queries_break_the_line_with_the_clearance_and_spacing_of_the_standard():
    """FGDC 1.1.2: 0.75 mm clear of the query, queries every 12.0 mm."""
    found = compiled(
        "bearings true\nattitudes dip-right\nunit Ka Marl ; Cretaceous\nunit Jb Shale ; Jurassic\n"
        "at 1\n  unit Ka\nto 2 090 150m +0\nalong 75 m\n  contact Ka/Jb? inferred 000/40\nat 2\n  unit Jb\n"
        "sheet scale 1:2500 paper A4 band 20 m\n"
    )
    items = sheet(found)[0].pages[0].items
    queries = [one for one in layer(items, "figures") if isinstance(one, Text) and one.text == "?"]
    assert len(queries) == 2
    apart = max(one.at[1] for one in queries) - min(one.at[1] for one in queries)
    assert apart == pytest.approx(12.0, abs=1.0)
    pieces = sorted(
        (min(command[2] for command in one.commands), max(command[2] for command in one.commands))
        for one in layer(items, "contacts")
        if not isinstance(one, Text | Group) and one.pen == PENS["contact inferred"]
    )
    breaks = [right[0] - left[1] for left, right in pairwise(pieces) if right[0] - left[1] > 0.1]
    # The letter is 1 mm wide.
    assert breaks == pytest.approx([1.0 + 2 * 0.75] * 2, abs=0.1)


def test_dots_of_a_concealed_fault_are_as_far_apart_as_published():
    """NMBGMR: round cap, gap 4 pt (1.41 mm)."""
    pen = PENS["fault concealed"]
    assert pen.round_cap
    assert pen.dash_mm[1] == pytest.approx(4 * POINT_MM, abs=0.05)


@pytest.mark.parametrize("kind", ["contact", "fault"])
def test_the_less_certain_a_line_the_less_of_it_is_ink(kind):
    """FGDC 1.1.1 to 1.1.8 go from accurate over approximate and inferred to concealed; NMBGMR from solid to dots."""
    shares = [inked(PENS[f"{kind} {one}"]) for one in ORDER]
    assert shares == sorted(shares, reverse=True)
    assert len(set(shares)) == 4


def test_concealed_lines_are_round_dots_as_far_apart_as_published():
    """NMBGMR: round cap, dash 0.2 pt, gap 2 pt (0.71 mm)."""
    pen = PENS["contact concealed"]
    assert pen.round_cap
    assert pen.dash_mm[0] < 0.2 * POINT_MM
    assert pen.dash_mm[1] == pytest.approx(2 * POINT_MM, abs=0.3)


def test_a_fault_is_heavier_than_a_contact_by_what_the_eye_tells_apart():
    """NMBGMR: 1.2 pt to 0.4 pt. 0.1 mm side by side, as common practice has it, and about twice as heavy."""
    contact, fault = PENS["contact certain"].width_mm, PENS["fault certain"].width_mm
    assert fault >= 1.2 * POINT_MM
    assert fault - contact >= 0.1
    assert 1.8 <= fault / contact <= 3.0


def test_a_fold_line_is_as_heavy_as_published():
    """NMBGMR: 1.1 pt (0.39 mm)."""
    assert PENS["axial trace"].width_mm == pytest.approx(1.1 * POINT_MM, abs=0.05)


def test_no_line_of_the_map_is_too_thin_to_plot():
    """FGDC guidance: below 0.125 mm a symbol may plot incorrectly."""
    assert min(PENS[name].width_mm for name in LINES) >= 0.125
    strokes = [
        shape.pen.width_mm for sign in SIGNS.values() for shape in sign.shapes if shape.pen is not None
    ]
    assert min(strokes) >= 0.125


def test_bedding_has_the_size_of_the_standard():
    """FGDC 6.2, from memory: strike line about 5 mm, dip tick about 1.3 mm, figure in italics."""
    assert SHIPPED["bedding"]["bar"] == pytest.approx(5.0, abs=0.5)
    assert SHIPPED["bedding"]["tick"] == pytest.approx(1.3, abs=0.3)
    found = compiled(
        "bearings true\nattitudes dip-right\nunit Ka Marl ; Cretaceous\nat 1\n  unit Ka\n  bed 142/35\n"
    )
    figure = next(
        one
        for one in layer(sheet(found)[0].pages[0].items, "figures")
        if isinstance(one, Text) and one.text == "35"
    )
    assert figure.face is Face.ITALIC


def test_no_type_of_the_map_is_too_small_to_read():
    """6 pt is the smallest that is easy to read (public guides to labelling of maps); a copier wants 7, common practice."""
    assert CONTOUR_FIGURE >= 6.0
    assert SMALL >= 7.0


@pytest.mark.parametrize(
    ("words", "number"),
    [
        ("gravel", 601),
        ("massive sandstone", 607),
        ("siltstone", 616),
        ("clay shale", 620),
        ("marl", 623),
        ("chalk", 626),
        ("limestone", 627),
        ("dolomite", 642),
        ("coal", 658),
        ("salt", 668),
        ("quartzite", 702),
        ("slate", 703),
        ("schist", 705),
        ("basaltic lava, basalt", 717),
        ("granite", 718),
    ],
)
def test_a_rock_has_the_number_of_its_published_pattern(words, number):
    """Chart: numbers 600 sedimentary, 700 metamorphic and igneous."""
    assert NUMBERS[rock_of(words)] == number
