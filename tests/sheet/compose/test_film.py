"""Film on handout on key: what each draws of the readings stands where the key has it, or says that it does not."""

import re
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely

from tests import once
from tests.reference.drawn import logs
from tests.sheet.fixture_sheet import layer
from tests.sheet.pages import flat, paths, words
from tests.thorough import some
from traverse.compile import blank_ground, map_ground
from traverse.log.records import Projection
from traverse.sheet.compose.compose import compose
from traverse.sheet.compose.overlay import compose_overlay
from traverse.sheet.handout.handout import compose_blank
from traverse.sheet.paper.labels import shape_of_text, shapes_in
from traverse.sheet.paper.layers import Layer
from traverse.sheet.paper.page import Face, Group, Text
from traverse.sheet.paper.style import PENS
from traverse.sheet.said.cautions import hazard_sentences, hazards_closing
from traverse.sheet.template.reading import read_template
from traverse.structure.section.records import PointKind

PATHS = {path.stem: path for path in logs(("samples", "logs"))}
ALONG = ("many-units", "unconformity")
"""Sections that their logs carry along strike."""
WITH_LITTLE_ROOM = ("ternel-point", "oskerra-valley", "plunging-fold", "with-fixes")
"""Films whose words stand in a narrow column, run on, or on lines of their handout."""
USUAL = {"unconformity", *WITH_LITTLE_ROOM, "copperjar-wash", "no-units"}
"""Those that tests of one thing draw."""
SQUARE = "(the stations of the exercise sheet|stations) square"
"""What a film says of the stations of a section, in full or where it has little room."""
WITHIN_MM = 0.05


def compiled(name):
    return once.compiled(PATHS[name])


def drawn(name):
    """Key, handout and film."""
    return tuple(once.drawn(PATHS[name], kind) for kind in ("key", "blank", "film"))


def points(page, name):
    """Every point of the paths of a layer but leaders, (n, 2) in millimetres."""
    found = [
        command[-2:]
        for path in paths(layer(page.items, name))
        if path.pen != PENS["leader"]
        for command in path.commands
        if len(command) > 1
    ]
    return np.array(found).reshape(-1, 2)


@pytest.mark.parametrize("name", some(sorted(PATHS.keys() - {"nothing-but-a-stop"}), USUAL))
def test_no_word_of_a_film_hides_what_it_lies_on(name):
    """On the key a halo parts a word from what is behind it; on film it would be a white bar over the handout."""
    key, _, film = drawn(name)
    on_key, on_film = (
        [one.text for page in one.pages for one in flat(page.items) if isinstance(one, Text) and one.halo]
        for one in (key, film)
    )
    assert on_key
    assert on_film == []


@pytest.mark.parametrize("name", some(sorted(PATHS.keys() - {"nothing-but-a-stop"}), USUAL))
def test_signs_of_the_film_lie_on_those_of_the_key(name):
    """Attitudes of the map, and ticks and contacts of the section, of every log that has a leg."""
    assert compiled(name).survey.legs
    key, _, film = drawn(name)
    for page, under in zip(film.pages, key.pages, strict=False):
        for drawn_on in (Layer.ATTITUDES, Layer.SECTION):
            mine, theirs = points(page, drawn_on), points(under, drawn_on)
            # Figures and letters with a leader stand where each sheet has room.
            if len(mine):
                apart = np.hypot(*(mine[:, None, :] - theirs[None, :, :]).transpose(2, 0, 1)).min(axis=1)
                assert apart.max() <= WITHIN_MM


@pytest.mark.parametrize("name", some(ALONG, ["unconformity"]))
def test_where_the_film_departs_from_the_stations_of_the_handout_both_say_so(name):
    """Without readings a handout has its stations square to the line, as their strike would be an answer."""
    _, blank, film = drawn(name)
    given = " ".join(words(page.items) for page in blank.pages)
    assert "square to the line, readings along strike" in given
    said = " ".join(words(page.items) for page in film.pages)
    assert re.search(f"carried along strike, {SQUARE}", said)


def test_a_film_says_which_contacts_are_drawn_square_as_nothing_tells_their_strike():
    """Whoever drew one otherwise is not wrong."""
    key, blank, film = (
        " ".join(words(item for page in one.pages for item in page.items).split())
        for one in drawn("copperjar-wash")
    )
    square = re.compile("(Strike|Trace) of [^:]+ not known: drawn square to the walk")
    assert square.search(key)
    assert square.search(film)
    assert not square.search(blank)


@pytest.mark.thorough
def test_key_and_film_say_that_an_axial_trace_is_too_short_and_the_handout_does_not():
    """A handout that said so would tell that there is a fold."""
    found = compiled("plunging-fold")
    trav = map_ground(found.trav)
    (fold,) = trav.ground.map.folds
    (east, north), _ = fold.lines[0]
    short = replace(fold, lines=(((east, north), (east + 2.0, north)),))
    trav = replace(trav, ground=replace(trav.ground, map=replace(trav.ground.map, folds=(short,))))
    # An insert has none of its sections.
    settings = {"template": read_template("insert").value, "mark": once.MARK}
    blank = once.drawn(PATHS["plunging-fold"], "blank", "insert")
    key = compose(trav, found.diagnostics, **settings).value
    film = compose_overlay(trav, found.diagnostics, handout=blank, **settings).value
    told = [
        "Axial trace too short" in " ".join(words(item for page in one.pages for item in page.items).split())
        for one in (key, film, blank)
    ]
    assert told == [True, True, False]


def test_a_section_carried_square_needs_no_such_words():
    """Film and handout agree there."""
    name = "oskerra-valley"
    square = all(one.projection is Projection.SQUARE for one in compiled(name).geology.sections)
    said = [words(page.items) for document in drawn(name)[1:] for page in document.pages]
    assert bool(re.search(SQUARE, " ".join(said))) is not square


def test_a_film_without_a_map_is_laid_by_the_axes_of_its_section():
    """There are no crosses on it; the axes stand where the handout has them."""
    _, blank, film = drawn("plunging-fold")
    at = next(at for at, page in enumerate(film.pages) if not page.maps and "overlay" in words(page.items))
    # It may stand on the page of words.
    told = " ".join(" ".join(words(page.items) for page in film.pages[at:]).split())
    assert "where the axes of the section meet" in told
    # Ticks of its check line have that pen too.
    axes = [
        one
        for one in paths(film.pages[at].items)
        if one.pen == PENS["register cross"] and len(one.commands) == 4
    ]
    assert axes
    theirs = [
        command[-2:]
        for one in paths(blank.pages[at].items)
        if one.pen == PENS["axis"]
        for command in one.commands
    ]
    for corner in (command[-2:] for one in axes for command in one.commands):
        assert min(np.hypot(corner[0] - x, corner[1] - y) for x, y in theirs) <= WITHIN_MM


@pytest.mark.parametrize("name", some(ALONG, ["unconformity"]))
def test_a_handout_with_readings_has_its_stations_where_the_key_has_them(name):
    """With the readings the strike is no answer any more; heights are not told by it."""
    found = compiled(name)
    sections = [one for one in found.geology.sections if one.projection is Projection.STRIKE]
    for give, same in ((("attitudes", "profile"), True), (("profile",), False)):
        seen = []
        compose_blank(
            found.trav,
            lay=lambda trav, seen=seen: seen.append(blank_ground(trav)) or seen[-1],
            give=give,
            template=read_template("field").value,
            mark="x",
        )
        mine = {one.name: one for one in seen[-1].geology.sections}
        for section in sections:
            stations = {one.label: one.distance_m for one in section.points if one.kind is PointKind.STATION}
            given = {one.label: one.distance_m for one in mine[section.name].points}
            shared = stations.keys() & given.keys()
            assert shared
            assert (max(abs(stations[one] - given[one]) for one in shared) < 0.01) is same


def test_a_film_tells_hazards_or_sends_to_the_sheet_below_for_those_alone_that_were_noticed():
    noticed, none = (
        " ".join(words(drawn(name)[2].pages[0].items).split()) for name in ("oskerra-valley", "no-units")
    )
    told = [one.replace("\u00a0", " ") for one in hazard_sentences(compiled("oskerra-valley").log)]
    assert told
    assert (
        all(one in noticed for one in told)
        or "Hazards that were noticed stand on the sheet below." in noticed
    )
    assert "Hazards that were noticed" not in none
    closing = hazards_closing(compiled("no-units").log).replace("\u00a0", " ")
    assert closing.startswith("A note reads like a hazard")
    assert closing in none


@pytest.mark.parametrize("name", some(sorted(PATHS), WITH_LITTLE_ROOM))
def test_no_words_of_the_film_stand_in_the_window_of_a_map_or_on_a_section(name):
    """There the class draws and reads contacts against its own: figures, letters and the stamp alone stand there."""
    _, blank, film = drawn(name)
    assert film.pages
    for page, under in zip(film.pages, blank.pages, strict=False):
        if page.title == "Words of the overlay":
            break
        windows = [shapely.box(one.box.x, one.box.y, one.box.right, one.box.top) for one in page.maps]
        for group in (one for one in under.items if isinstance(one, Group) and one.layer is Layer.SECTION):
            axes = [one for one in paths(group.items) if one.pen == PENS["axis"]]
            corners = np.array([command[-2:] for one in axes for command in one.commands])
            windows.append(shapely.box(*corners.min(axis=0), *corners.max(axis=0)))
        for one in (item for item in page.items if isinstance(item, Text)):
            assert not any(shape_of_text(one).intersects(box) for box in windows), one.text


@pytest.mark.parametrize("name", some(sorted(PATHS), USUAL))
def test_words_of_a_film_stand_in_blocks_that_say_whose_they_are_or_on_words_of_its_handout(name):
    """A sentence by itself would seem to answer what it stands beside."""
    _, blank, film = drawn(name)
    for page, under in zip(film.pages, blank.pages, strict=False):
        if page.title == "Words of the overlay":
            break
        below = {(one.text, one.at) for one in flat(under.items) if isinstance(one, Text)}
        lines = [one for one in page.items if isinstance(one, Text) and (one.text, one.at) not in below]
        # Of the words that the film has of its own: the check line apart, which stands in the middle of its line.
        own = [one for one in lines if not one.text.startswith("check line")]
        blocks = [own[:1]]
        for before, line in pairwise(own):
            goes_on = line.at[0] == pytest.approx(before.at[0]) and 0.0 < before.at[1] - line.at[1] < 6.0
            blocks[-1].append(line) if goes_on else blocks.append([line])
        for block in blocks:
            head = " ".join(one.text for one in block if one.face is Face.BOLD)
            assert re.search(r"overlay \d+ of \d+", head, re.IGNORECASE)
        assert len(blocks) <= 3


@pytest.mark.thorough
def test_a_film_with_little_room_sends_to_its_key_and_takes_no_page_for_words():
    """Somebody who checks by it has the key, which says the rest; a film of some lines is a sheet for nothing."""
    found = compiled("plateau")

    def on_a5(trav):
        heading = trav.log.heading
        sheet = replace(heading.sheet, paper="A5", landscape=None)
        return replace(trav, log=replace(trav.log, heading=replace(heading, sheet=sheet)))

    asked = [on_a5(one) for one in (found.trav, once.laid(PATHS["plateau"]))]
    settings = {"template": read_template("field").value, "mark": once.MARK}
    blank = compose_blank(asked[0], lay=blank_ground, **settings).value
    film = compose_overlay(asked[1], found.diagnostics, handout=blank, **settings).value
    assert len(film.pages) == 1
    (page,) = film.pages
    told = " ".join(words(page.items).split())
    assert "on its key." in told
    assert all(one in told for one in ("Not a land survey", "local rules", found.log.heading.title[:5]))


@pytest.mark.thorough
def test_every_film_of_a_map_on_several_pages_says_whose_it_is():
    """On A5 two films had no title, and what they are stood on a sheet of film of its own."""
    path = PATHS["oskerra-valley"]
    text = re.sub(r"(?m)^sheet .*\n", "", path.read_text(encoding="utf-8"))
    film = once.drawn(path, "film", text=f"{text}\nsheet paper A5 scale 1:2500 band 20 m\n")
    assert len(film.pages) > 2
    for at, page in enumerate(film.pages, start=1):
        said = words(page.items)
        assert f"overlay {at} of {len(film.pages)}, 1:" in said
        assert ("readings carried" in said) is bool(list(layer(page.items, Layer.SECTION)))


@pytest.mark.parametrize("name", some(["oskerra-valley", "many-units"], 2))
def test_no_figure_or_letter_of_a_film_covers_a_hazard_of_its_handout(name):
    _, blank, film = drawn(name)
    signs = shapes_in(
        [one for one in layer(blank.pages[0].items, Layer.THINGS) if getattr(one, "fill", None)], by=0.0
    )
    assert signs
    for figures in (Layer.FIGURES, Layer.UNIT_LETTERS):
        for one in (item for item in layer(film.pages[0].items, figures) if isinstance(item, Text)):
            assert not any(shape_of_text(one).intersects(sign) for sign in signs), one.text


@pytest.mark.parametrize("name", some(["oskerra-valley", "many-units"], 2))
def test_a_film_prints_again_each_number_that_its_signs_strike_out(name):
    """A bar of 0.3 mm through the middle of a number; the handout can't keep its numbers off signs it must not know."""
    _, blank, film = (one.pages[0].items for one in drawn(name))
    signs = shapely.union_all(shapes_in(layer(film, Layer.ATTITUDES), by=0.0))
    numbers = [one for one in layer(blank, Layer.NAMES) if isinstance(one, Text)]
    struck = {one.text for one in numbers if signs.intersection(shape_of_text(one).buffer(-0.4)).area > 0.25}
    again = {one.text for one in layer(film, Layer.NAMES) if isinstance(one, Text)}
    assert struck
    assert struck <= again < {one.text for one in numbers}


@pytest.mark.thorough
def test_each_film_of_several_says_which_it_is_and_no_page_goes_for_the_rest():
    """On films of an insert's maps the words of the handout left room for one line: none of it was told."""
    film = once.drawn(PATHS["oskerra-valley"], "film", "insert")
    assert len(film.pages) == 3
    for at, page in enumerate(film.pages, start=1):
        assert f"Oskerra Valley, loop 2: overlay {at} of 3," in words(page.items)
