"""Whole sheets: poor logs hold together, papers and scales are as asked, nothing leaves the margins."""

import math
from functools import cache
from itertools import combinations
from pathlib import Path as File

import pytest

from tests import once
from tests.sheet.fixture_sheet import compiled, sheet, texts, walk
from tests.thorough import either, some
from traverse.output.pdf import write_pdf
from traverse.sheet.paper.fonts import width_mm
from traverse.sheet.paper.page import Anchor, Text
from traverse.sheet.paper.style import MM_PER_POINT

SAMPLES = sorted((File(__file__).parents[3] / "samples").glob("*/*.trav"))
MARKUP = "<b>&\"' \\ ) %PDF \u202edrow שלום a\u0301 漢"
PAIR = "bearings true\nattitudes dip-direction\nunit Aa Alpha ; Triassic\nunit Bb Beta ; Permian\n"
MANY = (
    PAIR
    + "at 1\n  unit Aa\n"
    + "".join(
        f"to {n} {n * 37 % 360:03d} {20 + n % 30}m +{n % 9}\n  unit {'Aa' if n // 7 % 2 else 'Bb'}\n  bed {n * 53 % 360:03d}/{5 + n % 80}\n"
        f"  sample S-{n}\n"
        for n in range(2, either(61, 151))
    )
)


def many_units(count):
    """A walk with another unit at each station."""
    return (
        "bearings true\n"
        + "".join(f"unit U{n} Number {n} ; Triassic\n" for n in range(count))
        + "at 1\n  unit U0\n"
        + "".join(f"to {n + 1} {n * 9 % 360:03d} 40m\n  unit U{n}\n" for n in range(1, count))
    )


POOR = {
    "header only": "",
    "units and no walk": "unit Aa Alpha ; Triassic\n",
    "one station": "bearings true\nat 1\n  rock limestone\n",
    "one reading": PAIR + "at 1\n  unit Aa\n  bed 120/30\n",
    "readings without legs": "bearings true\nattitudes dip-direction\ncontrol 1 100 E 100 N\ncontrol 2 300 E 150 N\n"
    "at 1\n  bed 120/30\n  foliation 100/60\n  joint 200/90\n  lineation 20->100\n  current 010 both\n"
    "at 2\n  bed flat\n  cleavage 100/40\n",
    "legs without readings": "bearings true\nat 1\nto 2 090 50m\nto 3 180 50m\nclose 1 315 71m\n",
    "straight east": "bearings true\nat 1\nto 2 090 50m\nto 3 090 2000m\n",
    "straight north": "bearings true\nat 1\nto 2 000 50m\nto 3 000 2000m\n",
    "ninety kilometres": "bearings true\nat 1\nto 2 045 90000m\n",
    "ten centimetres": "bearings true\nat 1\nto 2 045 0.1m\n",
    "a loop that fails": "bearings true\nat 1\nto 2 090 150m\nto 3 180 150m\nclose 1 315 71m\n",
    "markup": f"party AB {MARKUP}\nweather {MARKUP}\narea {MARKUP}\n{PAIR}at 1\n  unit Aa\n  rock {MARKUP}\n  note {MARKUP}\n"
    f"  hazard {MARKUP}\n  sample S1 {MARKUP}\n  bed 120/30\nto 2 090 50m +2\n  crosses stream 200 {MARKUP}\n",
    "500 words": "bearings true\nat 1\n  note " + "word " * 500 + "\nto 2 090 50m\n",
    "contacts at stations": PAIR + "at 1\n  contact Aa/Bb certain\nto 2 090 50m\n  fault 090/60\n"
    "  contact Aa/Bb? inferred\nto 3 100 60m\nalong 20m left 40m\n  contact Aa/Bb concealed flat\n",
    "very many units": many_units(either(30, 60)),
    "very many stations": MANY,
}


def finite(page):
    for item in walk(page.items):
        numbers = (
            item.at if isinstance(item, Text) else [one for command in item.commands for one in command[1:]]
        )
        assert all(math.isfinite(number) for number in numbers)


def box(item):
    """Of an upright text: left, lower, right, upper."""
    wide = width_mm(item.text, item.face, item.size_pt)
    left = item.at[0] - {Anchor.START: 0.0, Anchor.MIDDLE: wide / 2, Anchor.END: wide}[item.anchor]
    return left, item.at[1], left + wide, item.at[1] + 0.6 * item.size_pt * MM_PER_POINT


@cache
def poor_sheet(name):
    return sheet(compiled(POOR[name], title="Title & <i>" if name == "markup" else "Dale, day 1"))[0]


@pytest.mark.every(2)
@pytest.mark.parametrize("name", some(POOR, [*list(POOR)[1::2], "very many stations"]))
def test_a_poor_log_still_makes_a_sheet(name):
    document = poor_sheet(name)
    assert document.pages
    for page in document.pages:
        finite(page)
    assert write_pdf(document).startswith(b"%PDF")


@pytest.mark.every(2)
@pytest.mark.parametrize("name", POOR)
def test_no_text_leaves_the_margins(name):
    for page in poor_sheet(name).pages:
        for item in walk(page.items):
            if isinstance(item, Text) and not item.turn_deg:
                left, lower, right, upper = box(item)
                assert left >= 9.0, (page.title, item.text)
                assert lower >= 9.0, (page.title, item.text)
                assert right <= page.width_mm - 9.0, (page.title, item.text)
                assert upper <= page.height_mm - 9.0, (page.title, item.text)


def test_a_title_of_300_characters_stays_on_the_page():
    document, _ = sheet(compiled("bearings true\nat 1\nto 2 090 50m\n", title="A long name " * 25))
    first = document.pages[0]
    for item in walk(first.items):
        if isinstance(item, Text) and not item.turn_deg:
            assert box(item)[2] <= first.width_mm - 9.0


@pytest.mark.parametrize(
    ("words", "size"),
    [
        ("paper A4 landscape", (297.0, 210.0)),
        ("paper A4 portrait", (210.0, 297.0)),
        ("paper Letter portrait", (215.9, 279.4)),
        ("paper letter landscape", (279.4, 215.9)),
        ("paper A3 landscape", (420.0, 297.0)),
        ("paper Tabloid portrait", (279.4, 431.8)),
    ],
)
def test_the_paper_is_as_asked_on_every_page(words, size):
    """ISO 216 and ANSI/ASME Y14.1 sizes."""
    document, _ = sheet(compiled(f"sheet {words}\n{POOR['legs without readings']}"))
    assert {(page.width_mm, page.height_mm) for page in document.pages} == {size}


def ratio(document):
    return next(text for text in texts(document.pages[0].items) if text.startswith("1:"))


def test_the_scale_is_as_asked_where_it_fits():
    document, said = sheet(compiled("sheet scale 1:5000\nbearings true\nat 1\nto 2 090 300m\n"))
    assert ratio(document) == "1:5000"
    assert not said


def test_a_scale_that_does_not_fit_goes_to_maps_of_its_own_and_says_so_at_its_line():
    found = compiled("sheet scale 1:500 paper A4\nbearings true\nat 1\nto 2 090 500m\n")
    document, said = sheet(found)
    (one,) = [each for each in said if each.code == "several-maps"]
    assert one.span.line == 3
    assert "1:500" in one.message
    assert ratio(document) in one.message.replace("\u00a0", " ") or ratio(document) in one.message


def test_without_a_wish_the_largest_round_scale_that_fits_is_taken():
    """170 m with 8 m to each side and labels: 1:1000 wants 186 + 8 mm of the 202 beside a narrow column."""
    document, _ = sheet(
        compiled("sheet paper A4 landscape\nbearings true\nat 1\nto 2 000 20m\nto 3 090 170m\n")
    )
    assert ratio(document) == "1:1000"


def test_feet_parties_get_a_scale_in_feet_to_the_inch():
    document, _ = sheet(compiled("bearings true\nat 1\nto 2 090 400ft\nto 3 000 50ft\n"))
    assert int(ratio(document)[2:].replace("\u00a0", "")) % 12 == 0


def test_every_page_carries_mark_number_and_the_stamp_of_a_loop_that_fails():
    document, _ = sheet(compiled(POOR["a loop that fails"]), mark="7c1e40")
    count = len(document.pages)
    for number, page in enumerate(document.pages, start=1):
        said = texts(page.items)
        assert f"log 7c1e40 · sheet {number} of {count}" in said
        assert "NOT ADJUSTED" in said
    good, _ = sheet(compiled(POOR["legs without readings"]))
    assert not any("NOT ADJUSTED" in text for page in good.pages for text in texts(page.items))


def test_cautions_stand_on_sheet_1_whatever_the_log():
    for name in ("header only", "very many units", "legs without readings"):
        words = " ".join(texts(poor_sheet(name).pages[0].items))
        assert "Not a land survey" in words
        assert "local rules" in words


def test_the_foot_states_grid_and_conventions():
    found = compiled(
        "grid EPSG:25830\nbearings magnetic\ndeclination 4.1 E, 2026, chart\nattitudes dip-right\n"
        "control 1 412350 E 4289020 N\nat 1\nto 2 090 50m\n"
    )
    words = " ".join(texts(sheet(found)[0].pages[0].items))
    assert "EPSG:25830" in words
    assert "magnetic + 4.1°" in words
    assert "dip to the right of the strike" in words


def test_characters_that_no_font_has_are_named():
    _, said = sheet(compiled("bearings true\nat 1\n  note 漢\nto 2 090 50m\n"))
    (one,) = [each for each in said if each.code == "characters-not-in-fonts"]
    assert "漢" in one.message


def test_an_unknown_paper_is_told_and_another_taken():
    found = compiled("sheet paper B7\nbearings true\nat 1\nto 2 090 50m\n")
    document, said = sheet(found)
    assert any(each.code == "unknown-paper" and "B7" in each.message for each in said)
    assert document.pages[0].width_mm in {210.0, 297.0}


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_no_two_texts_of_a_sample_s_pages_overlap(path):
    """Beside the map, and on it; the section's own note may run over its empty ground, turned labels are apart."""
    document = once.drawn(path)
    page = document.pages[0]
    labels = [item for item in walk(page.items) if isinstance(item, Text) and not item.turn_deg]
    boxes = [box(item) for item in labels]
    for (one, a), (other, b) in combinations(zip(labels, boxes, strict=True), 2):
        wide, high = min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])
        assert wide < 0.15 or high < 0.15, f"{one.text} on {other.text}"


def test_a_second_section_gets_a_page_of_its_own():
    found = compiled(
        "bearings true\nat 1\nto 2 090 80m +2\nto 3 180 80m -1\nsection A-A' from 1 to 2\nsection B-B' from 2 to 3\n"
    )
    document, _ = sheet(found)
    titles = [page.title for page in document.pages]
    assert titles[1] == "Sections; tables"
    assert {"B", "B'"} <= {text.replace("′", "'") for text in texts(document.pages[1].items)}


ISSUE_POOR = {
    "three kilometres beside two metres": PAIR + "at 1\nto 2 090 3000m\nto 3 180 2m\nto 4 090 2m\n",
    "200 stations in one place": PAIR
    + "at 1\n"
    + "".join(f"to {n} {n * 90 % 360:03d} 2m\n" for n in range(2, 201)),
}


@pytest.mark.every(2)
@pytest.mark.parametrize("name", ISSUE_POOR)
def test_a_walk_out_of_proportion_makes_a_sheet_and_says_what_is_left_off(name):
    document, said = sheet(compiled(ISSUE_POOR[name], title="A title " + "of many words " * 20))
    for page in document.pages:
        finite(page)
    if "200" in name:
        assert "no-room-on-map" in [one.code for one in said]
    titles = [
        item
        for item in walk(document.pages[0].items)
        if isinstance(item, Text) and item.text.startswith("A title")
    ]
    assert all(box(item)[2] <= document.pages[0].width_mm - 10.0 for item in titles)
    assert titles
