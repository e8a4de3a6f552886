"""Templates: the one that ships, one of the user's own, and what is said of one that is wrong."""

import os
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from tests.sheet.compose.test_page_compose import POOR, finite, many_units
from tests.sheet.fixture_sheet import compiled, paths, texts
from tests.thorough import each
from traverse.compile import blank_ground, map_ground
from traverse.output.pdf import write_pdf
from traverse.resources import data
from traverse.sheet.compose.compose import compose
from traverse.sheet.compose.grey import compose_grey
from traverse.sheet.handout.handout import compose_blank
from traverse.sheet.paper.fonts import font
from traverse.sheet.template.reading import known_templates, read_template


def test_the_template_that_ships_has_the_papers_of_the_manual():
    found = read_template("field")
    assert not found.diagnostics
    assert {"A5", "A4", "A3", "A2", "A1", "A0"} <= set(found.value.papers)
    # ANSI/ASME Y14.1 in inches for Letter and Tabloid; Legal is common practice, no source. 280 mm is cut to 11 inches.
    for name, inches in (("Letter", (8.5, 11)), ("Legal", (8.5, 14)), ("Tabloid", (11, 17))):
        assert found.value.papers[name] == pytest.approx([25.4 * side for side in inches])
    # ISO 216: each size is the next halved across, to the millimetre below.
    for larger, smaller in pairwise(("A0", "A1", "A2", "A3", "A4", "A5")):
        wide, high = found.value.papers[larger]
        assert found.value.papers[smaller] == (high // 2, wide)
    assert found.value.paper_named("letter") == "Letter"
    assert found.value.paper_named("B7") is None


def test_an_unknown_name_is_an_error_that_lists_those_there_are():
    found = read_template("feild")
    assert found.value is None
    assert "field" in found.diagnostics[0].hints[0]


def test_a_template_of_the_user_s_own_is_read(tmp_path):
    text = (
        data("templates", "field.toml").read_text(encoding="utf-8").replace("margin = 10.0", "margin = 15.0")
    )
    path = tmp_path / "wide.toml"
    path.write_text(text, encoding="utf-8")
    assert read_template(str(path)).value.margin == 15.0


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("margin = 10.0", "margin = -3", "margin"),
        ("margin = 10.0", "margin = 'wide'", "margin"),
        ("margin = 10.0", "margin = 120.0", "margin"),
        ("gap = 5.0", "", "gap"),
        ('paper = "A4"', 'paper = "B9"', "paper"),
        ("A4 = [210.0, 297.0]", "A4 = [210.0]", "papers.A4"),
        ("[papers]", "[papers", "TOML"),
        ("columns = [61.0, 69.0, 55.9]", "columns = 3", "portrait.columns"),
    ],
)
def test_a_wrong_template_is_an_error_that_names_the_place(tmp_path, old, new, said):
    text = data("templates", "field.toml").read_text(encoding="utf-8")
    assert old in text
    path = tmp_path / "mine.toml"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    found = read_template(str(path))
    assert found.value is None
    assert said in found.diagnostics[0].message


def test_a_file_that_is_not_there_or_no_text_is_an_error(tmp_path):
    assert read_template(str(tmp_path / "none.toml")).value is None
    path = tmp_path / "bytes.toml"
    path.write_bytes(b"\xff\xfe\x00")
    assert read_template(str(path)).value is None


EXAMPLE = data("templates", "example.toml").read_text(encoding="utf-8")
WALK = (
    "bearings true\nattitudes dip-direction\nunit Aa Alpha ; Triassic\nunit Bb Beta ; Permian\n"
    "at 1\n  unit Aa\n  bed 120/30\nto 2 060 100m +4\n  unit Bb\n  hazard loose blocks\nto 3 150 90m -3\n"
)


def mistakes(tmp_path, text):
    path = tmp_path / "mine.toml"
    path.write_text(text, encoding="utf-8")
    found = read_template(str(path))
    assert found.value is None
    return found.diagnostics


@pytest.mark.parametrize("name", known_templates())
def test_every_template_that_ships_can_be_read(name):
    found = read_template(name)
    assert not found.diagnostics
    assert found.value is not None


@pytest.mark.parametrize(
    ("old", "new", "line", "said", "hint"),
    [
        ("structure = [10.0", "structre = [10.0", "structre", "no panel `structre`", "`structure`"),
        (
            "closure = [146.0, 91.0",
            "closure = [186.0, 91.0",
            "closure",
            "leaves the page by 30.0 mm",
            "210.0 by 297.0",
        ),
        ("closure = [146.0, 91.0", "closure = [146.0, 87.0", "limits", "overlap by 54.0 x 2.0 mm", "closure"),
        ("limits = [146.0", "# limits = [146.0", "[panels]", "limits can't be left off", "limits"),
        ("map = [10.0, 186.0, 190.0, 84.0]", "map = [10.0, 186.0, 'wide', 84.0]", "map", "length", "192.0"),
        (
            "map = [10.0, 186.0, 190.0, 84.0]",
            "map = [10.0, 186.0, 20.0, 84.0]",
            "map",
            "too small",
            "60 wide",
        ),
        ("# [fonts]                # files", "[fonts] # files", None, None, None),
        ("margin = 10.0", "margins = 10.0", "margins", "no setting `margins`", "`margin`"),
        ('"tomorrow", "tables"', '"tomorow", "tables"', "show", "no panel tomorow is known", "tomorrow"),
        ('extends = "field"', 'extends = "felt"', "extends", "no template felt", "field"),
        ('extends = "field"', 'extends = "mine.toml"', "extends", "and no file such as mine.toml", "field"),
    ],
)
def test_a_mistake_is_told_with_its_place_and_a_remedy(tmp_path, old, new, line, said, hint):
    assert old in EXAMPLE
    text = EXAMPLE.replace(old, new, 1)
    if line is None:
        text = text.replace("# regular = ", "regular = ", 1)
        line, said, hint = "regular", "MyType-Regular.ttf is not there", "TrueType"
    found = mistakes(tmp_path, text)
    shown = next(one for one in found if said in one.message)
    place = text.splitlines()[shown.span.line - 1]
    assert place[shown.span.column - 1 : shown.span.end - 1].startswith(line.strip("[]"))
    assert hint in shown.hints[0]


@pytest.mark.parametrize(
    ("text", "remedy"),
    [
        (
            "[papers]\nCard = [74.0, 105.0]\nCot = [50.0, 50.0]",
            "make `landscape.column` smaller or give Card larger measures or leave Card out",
        ),
        ("[rolls]\nStrip = [5.0, 10.0]", "give Strip larger measures or leave Strip out"),
        ("margin = 150.0", "make `margin` smaller"),
    ],
)
def test_what_is_to_be_changed_for_a_paper_without_room_can_be(tmp_path, text, remedy):
    """A paper of another template can't be left out, and of one smaller than a map nothing else helps."""
    (found,) = mistakes(tmp_path, f'extends = "field"\n{text}\n')
    assert found.hints[0].endswith(f": {remedy}")


@pytest.mark.parametrize(
    ("text", "place", "said"),
    [
        ("gap = 200.0", "gap", "no room for a map on A5"),
        ("margin = 45.0", "margin", "no room for a map on A5"),
        ("[papers]\nCard = [74.0, 105.0]", "Card", "no room for a map on Card"),
        ("[rolls]\nStrip = [5.0, 10.0]", "Strip", "no room for a map on Strip"),
        ("[landscape.columns]\nB9 = 60.0", "B9", "B9 is none of [papers]"),
        ("[portrait]\ncolumns = [1.0, 1.0, 20.0]", "columns", "too narrow"),
        ("[section]\nmost_share = 1.5", "most_share", "share above 0 to 0.6"),
        ("[section]\nleast_height = 90.0", "least_height", "more than `section.height`"),
        ("[page]\nwidth = 200.0\nheight = 200.0", "page", "no panel is placed"),
        (
            (
                "[page]\nwidth = 200.0\nheight = 200.0\n[panels]\n"
                "map = [6.0, 10.0, 100.0, 100.0]\nlimits = [120.0, 10.0, 70.0, 60.0]"
            ),
            "map",
            "stands 4.0 mm in the margin",
        ),
        ("paper = 'B9'", "paper", "paper B9 is none"),
        ("margin = nan", "margin", "`margin` must be a length"),
        ("papers = 3", "papers", "must be a table"),
        ("page = 7", "page", "must be a table"),
        (
            "[page]\nwidth = 210.0\n[panels]\nlimits = [10.0, 10.0, 90.0, 60.0]",
            "page",
            "does not say its height",
        ),
        ("margin = 10,5", "10,5", "10,5 is no number here"),
        ("margin = 12.0\nmargin = 13.0", "margin", "`margin` stands twice"),
        ("[fonts]\nbold = '.'", "bold", "is not there"),
        ("[fonts]\nbold = 'mine.toml'", "bold", "no TrueType font"),
    ],
)
def test_one_mistake_is_one_message(tmp_path, text, place, said):
    (found,) = mistakes(tmp_path, f'extends = "field"\n{text}\n')
    assert said in found.message
    line = f'extends = "field"\n{text}'.splitlines()[found.span.line - 1]
    assert line[found.span.column - 1 : found.span.end - 1].startswith(place)


PLACED = (
    'paper = "A4"\n[page]\nwidth = 210.0\nheight = 297.0\n[panels]\n'
    "map = [10.0, 186.0, 190.0, 84.0]\nlimits = [146.0, 15.0, 54.0, 48.0]\n"
)


@pytest.mark.parametrize("text", ["", "margin = 12.0\n", PLACED])
def test_what_a_template_does_not_say_is_one_message(tmp_path, text):
    (found,) = mistakes(tmp_path, text)
    assert "`section.height`" in found.message
    assert 'extends = "field"' in found.hints[0]
    (found,) = mistakes(tmp_path, f'extends = "felt"\n{text}')
    assert "no template felt" in found.message


@pytest.mark.parametrize("name", known_templates())
def test_panels_of_a_template_that_ships_keep_out_of_the_margins(name):
    """A copier crops 10 mm (common practice, no source)."""
    found = read_template(name).value
    assert found.margin >= 10.0
    for box in found.panels.values():
        assert min(box.x, box.y, found.page[0] - box.right, found.page[1] - box.top) >= 10.0


def test_all_mistakes_are_told_at_once(tmp_path):
    text = (
        EXAMPLE.replace("gap = 5.0", "gap = 'x'")
        .replace("foot = 4.8", "foot = -1")
        .replace("closure = [", "clsure = [")
    )
    assert len(mistakes(tmp_path, text)) >= 3


def test_a_broken_file_is_told_by_line_and_column(tmp_path):
    (said,) = mistakes(tmp_path, "margin = 10.0\ngap = = 5\n")
    assert said.span[1:3] == (2, 7)


@pytest.mark.parametrize(
    "brackets",
    ["[" * 2000 + "]" * 2000, "{a=" * 2000, "[" * 100_000],
    ids=["closed", "tables", "a hundred thousand"],
)
def test_brackets_without_end_are_told_at_their_line(tmp_path, brackets):
    (said,) = mistakes(tmp_path, f'extends = "field"\na = {brackets}\n')
    assert said.message == "brackets within too many brackets"
    assert said.span.line == 2


@pytest.mark.parametrize(
    "figure", ["9" * 4301, "0x" + "F" * 5000, "-" + "9" * 20], ids=["decimal", "by sixteens", "negative"]
)
def test_a_figure_too_long_is_told_at_its_line(tmp_path, figure):
    """TOML 1.0, Integer: a whole number has 64 bits, and one that has more is refused."""
    text = f'extends = "field"\n# {"1" * 5000}\npaper = {figure}\nname = "{"2" * 5000}"\n'
    (said,) = mistakes(tmp_path, text)
    assert said.message == "a figure with more digits than any setting takes"
    assert said.span.line == 3


def test_a_file_without_end_is_refused(tmp_path):
    (tmp_path / "zero.toml").symlink_to("/dev/zero")
    os.mkfifo(tmp_path / "pipe.toml")
    for name, why in (("zero", "over 1 MB"), ("pipe", "is a pipe")):
        (said,) = read_template(str(tmp_path / f"{name}.toml")).diagnostics
        assert why in said.message


SOME = {name: POOR[name] for name in ("header only", "one station", "straight north", "markup")} | {
    "a dozen units": many_units(12)
}


@pytest.mark.every(2)
@pytest.mark.parametrize(("name", "log"), each(known_templates(), SOME))
def test_every_template_makes_every_kind_of_sheet(name, log):
    found = compiled(SOME[log])
    template = read_template(name).value
    for make in (compose, compose_grey):
        document = make(map_ground(found.trav), found.diagnostics, template=template, mark="abc").value
        for page in document.pages:
            finite(page)
        assert write_pdf(document).startswith(b"%PDF")
    blank = compose_blank(found.trav, lay=blank_ground, template=template, mark="abc").value
    assert write_pdf(blank).startswith(b"%PDF")


def test_placed_panels_stand_where_the_template_puts_them():
    found = compiled(WALK)
    template = read_template("example").value
    document = compose(map_ground(found.trav), (), template=template, mark="abc").value
    page = document.pages[0]
    assert (page.width_mm, page.height_mm) == (210.0, 297.0)
    neat = next(
        one
        for one in paths(page.items)
        if one.pen is not None and one.pen.width_mm == 0.5 and one.commands[-1] == ("Z",)
    )
    xs = sorted({command[1] for command in neat.commands if len(command) > 2})
    assert xs == pytest.approx([14.2, 200.0])
    assert any("Compass-and-pace sketch map" in one for one in texts(page.items))


def test_a_template_of_tables_has_no_map():
    found = compiled(WALK)
    template = read_template("table").value
    document = compose(map_ground(found.trav), (), template=template, mark="abc").value
    assert [page.title.partition(",")[0] for page in document.pages] == ["Tables"]


def test_a_sheet_for_either_paper_keeps_within_both():
    """A4 is 210 wide (ISO 216), Letter 11 inches high: 10 off each edge leaves 190 by 259."""
    template = read_template("field").value
    width, height = template.papers["A4-Letter"]
    assert width <= 210.0
    assert height <= 11 * 25.4 + 1e-9
    assert (width - 20, round(height - 20)) == (190.0, 259)


@pytest.mark.thorough
def test_a_roll_is_cut_to_the_scale_that_is_asked_for():
    found = compiled(
        "sheet scale 1:500\n"
        + WALK.replace("060 100m", "088 900m").replace("at 1", "section A-A' from 1 to 2\nat 1", 1)
    )
    template = replace(read_template("field").value, paper="Roll-610")
    document = compose(map_ground(found.trav), (), template=template, mark="abc").value
    page = document.pages[0]
    assert any(one == "1:500" for one in texts(page.items))
    assert page.height_mm == 610.0
    shorter = replace(template, papers={**template.papers, "Roll-610": (610.0, page.width_mm - 25.0)})
    again = compose(map_ground(found.trav), (), template=shorter, mark="abc").value
    assert not any(one == "1:500" for one in texts(again.pages[0].items))


def test_a_font_of_the_user_s_own_is_set_and_put_away_again(tmp_path):
    own = tmp_path / "Mine.ttf"
    own.write_bytes(Path(font("DejaVuSans").face.filename).read_bytes())
    (tmp_path / "mine.toml").write_text(
        'extends = "field"\n[fonts]\nregular = "Mine.ttf"\n', encoding="utf-8"
    )
    template = read_template(str(tmp_path / "mine.toml")).value
    found = compiled(WALK)
    document = compose(map_ground(found.trav), (), template=template, mark="abc").value
    plain = compose(map_ground(found.trav), (), template=read_template("field").value, mark="abc").value
    assert b"DejaVuSans" not in write_pdf(plain)
    # Not what was composed last, but what a document was composed with, is what it is written in.
    assert b"DejaVuSans" in write_pdf(document)
