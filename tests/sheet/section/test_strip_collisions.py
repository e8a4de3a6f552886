"""Nothing on the section stands on anything else: on every sample, and on lines laid through one of them every way."""

import re
from pathlib import Path as File

import pytest
from shapely import LineString, Polygon
from shapely import box as rectangle

from tests import once
from tests.sheet.pages import box, overlaps, paths
from tests.thorough import some
from traverse.command.files import LogFiles
from traverse.compile import compile_log, section_ground
from traverse.sheet.compose.alone import section_document
from traverse.sheet.paper.page import Group, Text
from traverse.sheet.paper.style import PENS
from traverse.source import Source

SAMPLES = sorted((File(__file__).parents[3] / "samples").glob("*/*.trav"))
PAGES = sorted((File(__file__).parents[2] / "notation" / "pages").glob("*.trav"))
_TOUCH_MM = 0.3


def compiled(path, edit=lambda text: text):
    text = edit(path.read_text(encoding="utf-8"))
    found = compile_log(Source(name=path.name, text=text), load=LogFiles(str(path)).load)
    assert found.geology is not None
    return found


def drawn(items, clip=None):
    """Every text and every line, lines cut by the clip of their group."""
    for item in items:
        if isinstance(item, Group):
            inner = item.clip and Polygon([command[1:] for command in item.clip if command[0] != "Z"])
            yield from drawn(item.items, inner or clip)
        elif isinstance(item, Text):
            yield item, None
        elif item.pen is not None:
            points = [command[1:] for command in item.commands if len(command) == 3]
            if len(points) > 1:
                line = LineString(points)
                yield item, line if clip is None else line.intersection(clip)


def struck(items):
    """Texts that a line runs through, with how much of it."""
    pairs = list(drawn(items))
    found = []
    for text, line in pairs:
        if line is not None:
            continue
        left, low, right, top = box(text)
        place = rectangle(left + 0.1, low + 0.1, right - 0.1, top - 0.1)
        through = max((one.intersection(place).length for _, one in pairs if one is not None), default=0.0)
        if through > _TOUCH_MM:
            found.append((text.text, round(through, 2)))
    return found


def panels(page):
    for item in page.items:
        if isinstance(item, Group) and item.layer == "section":
            yield item.items


def alone(found):
    document = section_document(section_ground(found.trav), mark="abc")
    return [items for page in (document.pages if document else ()) for items in panels(page)]


@pytest.mark.parametrize("kind", ["key", "grey", "blank"])
def test_dashed_ground_is_said_to_be_a_guess_and_how_good(kind):
    """Of two arms of Copperjar 400 ft apart nobody saw the ground between: the dashes have no row of the legend."""
    page = once.drawn(next(path for path in SAMPLES if path.stem == "copperjar-wash"), kind).pages[0]
    dashed = [one for panel in panels(page) for one in paths(panel) if one.pen == PENS["ground guessed"]]
    (caption,) = [text.text for text, line in drawn(page.items) if line is None and "Section 1:" in text.text]
    assert dashed
    assert re.search(r"Dashed ground: guess, ± \d+\sft\.", caption)
    assert "Stations carried" in caption


def test_ground_that_the_lines_hide_has_no_letters():
    """Between a contact and the fault Jl comes to the ground as a speck: letters and leader would stand on Ts below it."""
    (items,) = alone(compiled(next(path for path in SAMPLES if path.stem == "oskerra-valley")))
    letters = sorted(
        text.text for text, line in drawn(items) if line is None and re.fullmatch("[A-Z][a-z]", text.text)
    )
    # One Ts stands below the colour, in the ground between Js/Ts and the fault: looked at.
    assert letters == ["Jl", "Jl", "Js", "Js", "Km", "Qa", "Ts", "Ts", "Ts", "Ts"]


@pytest.mark.every(2)
@pytest.mark.parametrize("path", some([*SAMPLES, *PAGES], 2), ids=lambda path: path.stem)
def test_on_the_samples_no_line_strikes_a_word_and_no_word_another(path):
    found = compiled(path)
    sections = [items for page in once.drawn(path).pages for items in panels(page)] + alone(found)
    for items in sections:
        assert overlaps(items) == []
        assert struck(items) == []


@pytest.mark.thorough
@pytest.mark.parametrize(("times", "first"), some([(2, 15), (2, 45), (1, 0), (1, 30)], 4))
def test_lines_every_way_through_a_fold_hardly_strike_a_word(times, first):
    """Three sections with some fifteen figures and letters each: one word in twenty may have to stand on a line."""
    words, hit = 0, 0
    oskerra = next(path for path in SAMPLES if path.stem == "oskerra-valley")
    for azimuth in range(first, 180, 60):
        line = f"section A-A' {azimuth:03d} through 12a, project plunge, exaggeration {times}"
        for items in alone(
            compiled(oskerra, lambda text, line=line: re.sub(r"(?m)^section .*$", line, text))
        ):
            words += sum(line is None for _, line in drawn(items))
            hit += len(struck(items))
            assert overlaps(items) == []
    assert words > 75
    assert hit <= words / 20
