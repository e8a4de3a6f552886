"""A scale that one paper can't hold is kept, on maps that overlap, join and are indexed."""

from pathlib import Path

import pytest
import shapely

from tests import once
from tests.sheet.fixture_sheet import sheet as composed
from tests.sheet.pages import flat, paths, texts, words
from tests.sheet.text_boxes import covering
from traverse.compile import map_ground
from traverse.sheet.compose.compose import compose
from traverse.sheet.compose.tiles import MOST, ground_of, lay_tiles
from traverse.sheet.paper.labels import shape_of_text
from traverse.sheet.paper.page import Box, Text
from traverse.sheet.paper.style import PENS
from traverse.sheet.template.reading import read_template

WALK = """notation 1
traverse Long Walk
bearings grid
sheet scale 1:500 paper A4 landscape
pace MO double 100 m in 65, 66, 66
at 1
to 2 045 150m
to 3 100 200m
to 4 020 150m
"""
FRAME = Box(x=10.0, y=15.0, width=277.0, height=185.0)


@pytest.fixture(scope="module")
def walk(compile_text):
    return compile_text(WALK).trav


@pytest.fixture(scope="module")
def sheet(compile_text):
    compiled = compile_text(WALK)
    return compose(
        map_ground(compiled.trav),
        compiled.diagnostics,
        template=read_template("field").value,
        mark="a",
    )


def test_the_maps_hold_the_whole_walk_and_overlap_by_20_mm(walk):
    tiles = lay_tiles(walk, frame=FRAME, scale=500)
    assert len(tiles) > 1
    grounds = shapely.union_all([ground_of(one.window) for one in tiles])
    for place in walk.survey.places.values():
        assert grounds.covers(shapely.Point(place.east_m, place.north_m).buffer(4.0))
    by_place = {(one.row, one.column): ground_of(one.window).bounds for one in tiles}
    joined = 0
    for (row, column), bounds in by_place.items():
        right, below = by_place.get((row, column + 1)), by_place.get((row + 1, column))
        # 20 mm at 1:500 are 10 m.
        if right is not None:
            assert bounds[2] - right[0] == pytest.approx(10.0)
            joined += 1
        if below is not None:
            assert below[3] - bounds[1] == pytest.approx(10.0)
            joined += 1
    assert joined
    assert all(one.window.scale == 500 for one in tiles)


@pytest.mark.parametrize("name", ["example", "insert"])
def test_panels_of_a_template_are_the_index_of_maps_too(compile_text, name):
    found = compile_text(WALK)
    template = read_template(name).value
    made = compose(map_ground(found.trav), found.diagnostics, template=template, mark="a")
    first, *rest = made.value.pages
    maps = [page for page in rest if page.title.startswith("Map ")]
    assert len(maps) > 1
    assert {(page.width_mm, page.height_mm) for page in maps} == {template.page}
    assert sum(one.pen == PENS["sheet edge"] for one in paths(first.items)) == len(maps)
    (told,) = [one for one in made.diagnostics if one.code == "several-maps"]
    assert "page of this template" in told.message
    assert not any(one.code == "scale-too-large" for one in made.diagnostics)


def test_a_section_that_its_panel_can_t_hold_is_told_with_the_scale_that_fits(compile_text):
    found = compile_text(WALK.replace("at 1\n", "section A-A' from 1 to 4\nat 1\n", 1))
    template = read_template("section").value
    made = compose(map_ground(found.trav), found.diagnostics, template=template, mark="a")
    (told,) = [one for one in made.diagnostics if one.code == "scale-too-large"]
    assert "panels of this template" in told.message
    assert "ask for 1:2000" in told.hints[0]
    assert told.span is not None


def test_a_scale_that_would_need_a_book_is_not_kept(walk):
    assert lay_tiles(walk, frame=FRAME, scale=10) == ()
    assert MOST < 100


def test_a_larger_paper_is_named_only_where_it_holds_the_scale(compile_text):
    found = compile_text(WALK.replace("scale 1:500", "scale 1:1"))
    made = compose(map_ground(found.trav), found.diagnostics, template=read_template("field").value, mark="a")
    (told,) = [one for one in made.diagnostics if one.code == "scale-too-large"]
    assert "no paper holds this one" in told.hints[0]


def test_a_map_that_would_fit_alone_is_not_said_to_fit_no_paper(compile_text):
    """Beside everything else it has room at 1:1500, and a map alone would be half as large again at most."""
    found = compile_text(
        WALK.replace("scale 1:500 paper A4", "scale 1:1010 paper A0").replace("150m", "300m")
    )
    made = compose(map_ground(found.trav), found.diagnostics, template=read_template("field").value, mark="a")
    (told,) = [one for one in made.diagnostics if one.code == "scale-too-large"]
    assert "A0 beside its section and its words" in told.message
    assert "no paper" not in told.hints[0]
    assert "`paper" not in told.hints[0]


def test_sheet_one_is_the_index_and_every_map_is_named_with_its_neighbours(sheet):
    first, *rest = sheet.value.pages
    maps = [page for page in rest if page.title.startswith("Map ")]
    assert len(maps) > 1
    assert sum(one.pen == PENS["sheet edge"] for one in paths(first.items)) == len(maps)
    for number, page in enumerate(maps, start=1):
        assert f"map {number}" in words(first.items)
        said = words(page.items)
        assert f"map {number} of {len(maps)}" in said
        assert "1:500" in said
        assert "match line: map" in said
    (told,) = [one for one in sheet.diagnostics if one.code == "several-maps"]
    assert "1:500" in told.message
    assert not any(one.code == "scale-too-large" for one in sheet.diagnostics)


def test_each_station_is_at_its_scale_on_the_maps(sheet):
    """Grid figures 20 m apart or a multiple stand 40 mm or a multiple apart at 1:500."""
    page = next(page for page in sheet.value.pages if page.title == "Map 1")
    top = max(one.at[1] for one in flat(page.items) if isinstance(one, Text) and one.text.isdigit())
    figures = sorted((x, int(text)) for x, y, text in texts(page.items) if text.isdigit() and y == top)
    (x0, first), (x1, second) = figures[:2]
    assert (x1 - x0) / (second - first) == pytest.approx(2.0, abs=0.02)


@pytest.mark.thorough
def test_what_finds_no_room_on_one_of_the_maps_is_said_once_and_of_the_stations_it_shows(compile_text):
    """Sixty stations half a metre apart, at the far end of a walk that takes two sheets and more."""
    body = "".join(f"to {number} 020 0.5m\n" for number in range(5, 65))
    document, told = composed(compile_text(WALK + body))
    said = [one.message for one in told if one.code == "no-room-on-map"]
    on_maps = [one for one in said if "room on map " in one and "station name" in one]
    assert on_maps
    for message in on_maps:
        number = message.partition("room on map ")[2].split(",")[0]
        page = next(page for page in document.pages if page.title == f"Map {number}")
        shown = {one.text for one in flat(page.items) if isinstance(one, Text)}
        named = message.partition("see the tables: ")[2].partition(" and ")[0].split(", ")
        assert not shown & set(named)
        # The first stations lie on other maps, or have room.
        assert not {"1", "2", "3"} & set(named)


def test_labels_keep_off_the_words_on_the_match_lines(sheet):
    for page in sheet.value.pages:
        if not page.title.removeprefix("Map ").isdigit():
            continue
        said = [one for one in flat(page.items) if isinstance(one, Text)]
        words = [shape_of_text(one) for one in said if one.text.startswith("match line")]
        names = [shape_of_text(one) for one in said if one.text in {"1", "2", "3", "4"}]
        assert words
        assert not any(one.intersects(other) for one in words for other in names)


def test_norths_of_a_map_keep_off_streams(compile_text):
    """A stream through the corner that the walk leaves free."""
    found = compile_text(WALK.replace("to 4 020 150m", "  crosses stream 215 Long Water\nto 4 020 150m"))
    made = compose(
        map_ground(found.trav),
        found.diagnostics,
        template=read_template("field").value,
        mark="a",
    )
    seen = 0
    for page in made.value.pages:
        if not page.title.startswith("Map "):
            continue
        streams = [
            shapely.LineString([command[-2:] for command in one.commands if len(command) > 2])
            for one in paths(page.items)
            if one.pen is not None and one.pen.colour == PENS["stream"].colour and len(one.commands) > 1
        ]
        norths = [
            shapely.box(x, y, x + 5.0, y + 2.0)
            for x, y, text in texts(page.items)
            if text.startswith(("grid →", "declination"))
        ]
        seen += len(streams)
        assert not any(one.intersects(two) for one in streams for two in norths)
    assert seen


def test_a_placed_title_that_is_too_low_for_all_its_lines_stands_in_two_columns(compile_text):
    found = compile_text(
        WALK.replace("Walk\n", "Walk, loop 2\n").replace(
            "at 1\n", "party AB Anna\ndate 2026-07-01\nat 1\n", 1
        )
    )
    template = read_template("insert").value
    page = compose(map_ground(found.trav), (), template=template, mark="a").value.pages[0]
    title = template.panels["title"]
    (people,) = [one for one in texts(page.items) if one[2] == "Anna"]
    assert title.y <= people[1] <= title.top
    assert people[0] > title.x + title.width / 2


def test_no_outline_of_the_index_runs_into_the_number_of_a_map(sheet):
    """A dash that ended in the halo of a number was read with it."""
    page = sheet.value.pages[0]
    numbers = [one for one in flat(page.items) if isinstance(one, Text) and one.text.startswith("map ")]
    lines = [
        shapely.LineString([command[-2:] for command in part])
        for path in paths(page.items)
        if path.pen == PENS["sheet edge"]
        for part in split_at_moves(path.commands)
    ]
    assert numbers
    assert lines
    for number in numbers:
        assert min(shape_of_text(number).distance(one) for one in lines) > 0.4


def split_at_moves(commands):
    parts = []
    for command in commands:
        if command[0] == "M":
            parts.append([])
        parts[-1].append(command)
    return [one for one in parts if len(one) > 1]


@pytest.mark.thorough
def test_outlines_and_numbers_of_an_index_keep_off_every_word_of_its_map():
    """On the small page of the insert a number stood on the words of a degree scale, an outline ran through the source of the contours."""
    path = Path(__file__).parents[3] / "samples/oskerra-valley/oskerra-valley.trav"
    key, blank = (once.drawn(path, kind, "insert").pages[0] for kind in ("key", "blank"))
    for page in (key, blank):
        said = [one for one in flat(page.items) if isinstance(one, Text)]
        assert sum(one.text.startswith("map ") for one in said) == 2
        assert covering(page) == []
    words = shapely.union_all([shape_of_text(one) for one in flat(key.items) if isinstance(one, Text)])
    outlines = [
        shapely.LineString([command[-2:] for command in part])
        for one in paths(key.items)
        if one.pen == PENS["sheet edge"]
        for part in split_at_moves(one.commands)
    ]
    assert outlines
    assert min(words.distance(one) for one in outlines) > 0.4


def section_told(compile_text, *leg):
    text = WALK.replace(*leg).replace(" scale 1:500", "")
    text = text.replace("at 1\n", "section A-A' from 1 to 4, exaggeration 8\nat 1\n", 1)
    found = compile_text(text)
    made = compose(map_ground(found.trav), found.diagnostics, template=read_template("field").value, mark="a")
    (told,) = made.diagnostics
    assert told.span.line == 6
    return told, words(made.value.pages[0].items)


def test_a_section_without_room_for_its_exaggeration_says_what_it_is_drawn_at(compile_text):
    told, printed = section_told(compile_text, "045 150m", "045 +12 150m")
    assert told.code == "section-lower"
    assert "exaggeration 8" in told.message
    drawn = told.message.rsplit(" ", 1)[1]
    assert 1.0 < float(drawn) < 8.0
    assert f"vertical exaggeration ×{drawn}:" in printed


def test_ground_as_high_as_a_map_keeps_its_frame(compile_text):
    """The map is made smaller for it; a slope of 80° was cut on A4."""
    told, printed = section_told(compile_text, "045 150m", "045 +80 150m")
    assert told.code == "section-lower"
    assert "no vertical exaggeration" in printed


def test_ground_too_high_for_its_frame_is_told(compile_text):
    """In a template whose panel does not grow."""
    text = WALK.replace("045 150m", "045 +85 150m").replace("scale 1:500", "scale 1:1000")
    found = compile_text(text.replace("at 1\n", "section A-A' from 1 to 4\nat 1\n", 1))
    made = compose(
        map_ground(found.trav), found.diagnostics, template=read_template("section").value, mark="a"
    )
    (told,) = [one for one in made.diagnostics if one.code == "section-cut"]
    assert told.span.line == 6
