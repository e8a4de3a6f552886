"""Blank handouts: what a leader gives is there, and nothing else of the key is anywhere in the file."""

import io
import re
from dataclasses import replace
from functools import cache
from itertools import product
from pathlib import Path as File

import pypdf
import pypdfium2
import pytest

from tests import once
from tests.sheet.compose.test_page_compose import POOR, finite
from tests.sheet.fixture_sheet import compiled, layer, paths, texts
from tests.thorough import each, some
from traverse.compile import blank_ground, compile_log, map_ground
from traverse.log.items import ContactKind, LineKind, PlaneKind
from traverse.output.pdf import write_pdf
from traverse.sheet.compose.compose import Composer
from traverse.sheet.handout.given import PARTS, given
from traverse.sheet.handout.handout import compose_blank
from traverse.sheet.handout.tells import tells
from traverse.sheet.legend.panels import limits_panel
from traverse.sheet.legend.to_complete import OWN_WORK, TO_DRAW_WITH
from traverse.sheet.paper.fitting import UPRIGHT, fit
from traverse.sheet.paper.page import Box, Text
from traverse.sheet.signs.colour import unit_styles
from traverse.sheet.template.reading import read_template
from traverse.source import Source

SAMPLES = sorted((File(__file__).parents[3] / "samples").glob("*/*.trav"))
WALK = (
    "party AB Anna Berg\nbearings true\nattitudes dip-direction\n"
    "control 1 1000 E 2000 N 50 m\nsection A-A' from 1 to 3\n"
    "{units}at 1\n{one}to 2 060 120m +4\n  hazard loose blocks\n{two}to 3 130 150m -6\n{three}"
    "close 1 273 215m +2\n"
)
ANSWERS = {
    "units": "unit Qz Quern Grit ; Permian\nunit Wm Wold Marl ; Triassic\n",
    "one": "  unit Qz\n  bed 123/47\n  rock quern grit, coarse\n",
    "two": "  unit Wm\n  bed 303/61 overturned\n  sample ZZ-9 marl\n  note a syncline, surely\n",
    "three": "  fault 090/77 down N\n  photo 0815 looking 140 the fold\n  fossil brachiopods\n",
}


def handout(found, **options):
    outcome = compose_blank(
        found.trav,
        lay=blank_ground,
        template=read_template("field").value,
        mark="abc123",
        **options,
    )
    return outcome.value, outcome.diagnostics


def sample(path):
    found = once.compiled(path)
    assert not found.failed
    return found


def words_of(text):
    return set(re.findall(r"[^\W_]+", text))


def said_in(reader):
    """Every string anywhere in the file that is no stream."""
    found, seen = [], set()

    def walk(one):
        if isinstance(one, pypdf.generic.IndirectObject):
            if one.idnum in seen:
                return
            seen.add(one.idnum)
            one = one.get_object()
        if isinstance(one, pypdf.generic.DictionaryObject):
            for key, value in one.items():
                found.append(str(key))
                walk(value)
        elif isinstance(one, pypdf.generic.ArrayObject):
            for value in one:
                walk(value)
        elif isinstance(one, str):
            found.append(str(one))

    walk(reader.trailer)
    return found


def printed(data):
    """Text of all pages as a reader of the file extracts it."""
    document = pypdfium2.PdfDocument(data)
    return "\n".join(page.get_textpage().get_text_bounded() for page in document)


def answers(found, give=()):
    """Words and figures that only the key may print: taken from the log's own records."""
    secret = set()
    named = {
        word for unit in found.log.units for word in words_of(f"{unit.letters} {unit.name} {unit.age or ''}")
    }
    for item in found.log.items:
        text = str(getattr(item, "text", "") or "")
        kind = getattr(getattr(item, "kind", None), "value", "")
        if kind != "hazard":
            secret |= {word for word in words_of(text) if len(word) > 3}
        secret |= words_of(str(getattr(item, "label", "") or "")) if hasattr(item, "label") else set()
    if "attitudes" not in give:
        secret |= {attitude.written.partition(" ")[0] for attitude in found.geology.attitudes}
    secret |= {person.name for person in found.log.heading.party if person.name}
    secret = secret - named if "units" in give else secret | named
    return {word for word in secret if len(word) > 1}


GIVEN = [(), *((part,) for part in PARTS), PARTS]
BASE_LAYERS = {
    "map",
    "grid",
    "contours",
    "contour figures",
    "streams and paths",
    "edge of ground seen",
    "legs",
    "section lines",
    "stations",
    "things",
    "names",
    "norths",
    "section",
}
GIVEN_LAYERS = {"attitudes": {"attitudes", "figures"}, "contacts": {"contacts", "figures"}}


@cache
def on_every_handout(give):
    """Words that every handout prints, from one that has no answers at all."""
    stream = "  crosses stream 200\n"
    units = "unit Zz Zed ; Ordovician\n" if "units" in give else ""
    bare = WALK.format(
        units=units, one=stream, two="  crossbed 100/20\n" if "attitudes" in give else "", three=""
    )
    document, _ = handout(compiled(bare), boxes=2, give=give)
    data = write_pdf(document)
    return words_of(printed(data) + "\n".join(said_in(pypdf.PdfReader(io.BytesIO(data)))))


@pytest.mark.every(2)
@pytest.mark.parametrize(("path", "give"), each(SAMPLES, GIVEN))
def test_nothing_of_the_key_is_in_the_file_of_a_blank(path, give):
    found = sample(path)
    document, _ = handout(found, give=give)
    fixed = on_every_handout(give)
    data = write_pdf(document)
    text = printed(data)
    reader = pypdf.PdfReader(io.BytesIO(data))
    hazards = " ".join(
        item.text for item in found.log.items if getattr(getattr(item, "kind", None), "value", "") == "hazard"
    )
    crossings = " ".join(str(getattr(item, "name", None) or "") for item in found.log.items)
    allowed = fixed | words_of(f"{hazards} {crossings} {found.log.heading.title} {found.log.heading.heights}")
    allowed |= words_of(" ".join(str(one.source or "") for one in found.log.controls))
    allowed |= words_of(str(found.survey.frame.declination_note))
    everything = text + "\n".join(said_in(reader))
    shown = words_of(everything)
    leaked = sorted(word for word in answers(found, give) if word not in allowed and word in shown)
    assert not leaked
    for attitude in found.geology.attitudes if "attitudes" not in give else ():
        figures = attitude.written.partition(" ")[0]
        assert "/" not in figures or figures not in everything
    assert reader.attachments == {}
    assert not reader.metadata.author
    assert "/EmbeddedFiles" not in said_in(reader)
    layers = {str(one.get_object()["/Name"]) for one in reader.trailer["/Root"]["/OCProperties"]["/OCGs"]}
    assert layers <= BASE_LAYERS | {name for part in give for name in GIVEN_LAYERS.get(part, ())}
    for name in (".trav", ".xyz", path.stem):
        assert name not in everything
        assert name.encode() not in data


@pytest.mark.parametrize("path", some(SAMPLES, 2), ids=lambda path: path.stem)
def test_no_colour_of_a_unit_is_in_a_blank(path):
    found = sample(path)
    document, _ = handout(found)
    colours = {style.colour for style in unit_styles(found.log.units).values()}
    drawn = {one.fill for page in document.pages for one in paths(page.items)}
    assert not colours & {one for one in drawn if isinstance(one, str)}
    reader = pypdf.PdfReader(io.BytesIO(write_pdf(document)))
    filled = set()
    for page in reader.pages:
        for operands, operator in pypdf.generic.ContentStream(page.get_contents(), reader).operations:
            if operator in {b"rg", b"RG", b"scn", b"SCN"}:
                filled.add(tuple(round(float(one), 2) for one in operands if not isinstance(one, str)))
    # Streams too: it is printed once and copied thirty times.
    assert filled
    assert all(max(one) - min(one) < 0.01 for one in filled if one)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_what_is_drawn_on_survives_the_copier(path):
    """Contours and rulings too: 0.15 mm and pale greys vanish in the first copy (common practice, no source)."""
    document, _ = handout(sample(path))
    pens = {one.pen for page in document.pages for one in paths(page.items) if one.pen is not None}
    assert all(int(one.colour[1:3], 16) <= 0x73 for one in pens if one.colour != "#ffffff")
    pale = [one for one in pens if one.colour not in {"#000000", "#ffffff"}]
    assert pale
    assert min(one.width_mm for one in pale) >= 0.15


@pytest.mark.every(2)
@pytest.mark.parametrize(
    ("stem", "source"), [("oskerra-valley", "the height grid"), ("ternel-point", "the heights of the walk")]
)
def test_a_handout_says_where_its_profile_comes_from(stem, source):
    found = sample(next(path for path in SAMPLES if path.stem == stem))
    drawn, bare = (handout(found, give=give)[0].pages[0] for give in (["profile"], []))
    assert f"Profile from {source}" in " ".join(texts(drawn.items))
    assert "Profile" not in " ".join(texts(bare.items))


def with_the_window_of(found, monkeypatch):
    """Handouts from here on lie on the key of this log."""
    settled = Composer(map_ground(found.trav), (), read_template("field").value, "abc123").settle()
    monkeypatch.setattr(Composer, "settle", lambda self: settled)


def test_a_log_without_the_answers_makes_the_same_handout(monkeypatch):
    """Whatever was answered, in the window of the key nothing moves: no gap betrays what is missing."""
    full = compiled(WALK.format(**ANSWERS))
    bare = compiled(WALK.format(units="", one="", two="", three=""))
    assert full.geology.attitudes
    assert full.geology.contacts
    with_the_window_of(full, monkeypatch)
    first, _ = handout(full, boxes=4)
    second, _ = handout(bare, boxes=4)
    assert first == second
    assert write_pdf(first) == write_pdf(second)


HILL = "".join(
    f"{east} {north} {50 + (east - 900) / 8 + (north - 1900) / 20:.2f}\n"
    for north in range(1700, 2301, 25)
    for east in range(800, 1501, 25)
)


def test_over_a_grid_of_heights_contours_are_given_and_outcrops_are_not(monkeypatch):
    walks = (
        WALK.format(**ANSWERS).replace(
            "  unit Wm\n", "  unit Wm\n  contact Wm/Qz certain 303/61\n  trace Wm/Qz\n"
        ),
        WALK.format(units="", one="", two="", three=""),
    )
    found = [
        compile_log(
            Source(name="day.trav", text=f"notation 1\ntraverse Dale, day 1\nterrain hill.xyz\n{walk}"),
            load=lambda name: HILL.encode(),
        )
        for walk in walks
    ]
    assert not any(one.failed for one in found)
    assert found[0].trav.ground.outcrops
    with_the_window_of(found[0], monkeypatch)
    first, second = (handout(one, boxes=4)[0] for one in found)
    assert list(layer(first.pages[0].items, "contours"))
    assert first == second
    assert write_pdf(first) == write_pdf(second)


@pytest.mark.parametrize("part", PARTS)
def test_what_is_given_is_there_and_the_rest_is_not(part):
    found = compiled(WALK.format(**ANSWERS))
    document, _ = handout(found, give=(part,))
    page = document.pages[0]
    names = {name for name in ("attitudes", "contacts") if list(layer(page.items, name))}
    assert names == ({part} & {"attitudes", "contacts"})
    text = " ".join(word for one in document.pages for word in texts(one.items))
    assert ("Quern" in text) == (part == "units")
    assert ("2000" in text.replace("\u202f", "").replace("\u00a0", "")) == (
        part == "tables"
    ) or part != "tables"
    assert "syncline" not in text
    assert "ZZ-9" not in text
    assert "0815" not in text
    ground = [one for one in paths(page.items) if one.pen is not None and one.pen.width_mm == 0.45]
    assert bool(ground) == (part == "profile")


def test_hazards_and_the_twelve_signs_are_always_there():
    document, _ = handout(compiled(WALK.format(**ANSWERS)), give=())
    shown = texts(document.pages[0].items)
    assert any("loose blocks" in one for one in shown)
    assert len(TO_DRAW_WITH) == 12
    for _, words in TO_DRAW_WITH:
        assert words in shown


def test_the_leader_chooses_boxes_and_title():
    found = compiled(WALK.format(**ANSWERS), title="Quern Dale, a folded syncline")
    plain, _ = handout(found)
    assert plain.title == "Quern Dale: exercise sheet, to be completed"
    chosen, _ = handout(found, boxes=9, title="Day two, for all")

    def boxes(document):
        return [
            one for one in paths(document.pages[0].items) if one.pen is not None and one.pen.width_mm == 0.35
        ]

    assert (len(boxes(plain)), len(boxes(chosen))) == (2, 9)
    assert chosen.title.startswith("Day two, for all")


def test_a_hazard_that_tells_stays_and_is_spoken_of():
    found = compiled(WALK.format(**ANSWERS).replace("loose blocks", "blocks of Quern Grit"))
    document, said = handout(found)
    assert any("Quern Grit" in one for one in texts(document.pages[0].items))
    assert [one.code for one in said if one.code == "blank-hazard-tells"]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("loose blocks", None),
        ("loose gravel and boulders on the path", None),
        ("strong current at the ford", None),
        ("deep water 3 m, ford it by 14:00", None),
        ("dogs at the farm, ring 01 22 33", None),
        ("wet shale", "shale"),
        ("basalts come down", "basalts"),
        ("scree of grits", "grits"),
        ("steep along the contact", "contact"),
        ("cliff on the strike", "strike"),
        ("slips in the dip direction", "dip"),
        ("slabs at 140/30", "140/30"),
        ("slabs at 30->142", "30->142"),
        ("slab of N40E/30SE", "N40E/"),
        ("beyond B-Qg", "B-Qg"),
        ("blocks of Qz", "Qz"),
        ("Permian slabs", "Permian"),
    ],
)
def test_a_hazard_is_warned_of_at_its_line_for_all_that_gives_an_answer_away(words, told):
    units = ANSWERS["units"].replace("; Permian", "; Permian ; also B-Qg")
    found = compiled(WALK.format(**{**ANSWERS, "units": units}).replace("loose blocks", words))
    said = given(found.trav, parts=()).diagnostics
    warned = [one for one in said if one.code == "blank-hazard-tells"]
    if told is None:
        assert not warned
    else:
        assert f"says {told}," in warned[0].message
        assert warned[0].span is not None


def test_names_that_stay_on_a_blank_and_tell_are_warned_of_at_their_line():
    """A stream, a station and a title: the map needs them, so that they stay."""
    text = WALK.format(**ANSWERS).replace("to 3 130", "to Wold-3 130").replace("from 1 to 3", "from 1 to 2")
    text = text.replace("  hazard loose blocks\n", "along 40m\n  crosses stream 200 Wold Water\nat 2\n")
    text = text.replace("section A-A'", "section Wold-Quern")
    document, said = handout(compiled(text), title="Over the Quern")
    warned = {one.message: one.span for one in said if one.code == "blank-name-tells"}
    assert sorted(warned) == [
        "the name of station Wold-3 says Wold, and it stays on the blank",
        "the name of this stream says Wold, and it stays on the blank",
        "the title that was given says Quern, and it stays on the blank",
    ]
    stream = warned["the name of this stream says Wold, and it stays on the blank"]
    assert stream is not None
    shown = texts(document.pages[0].items)
    assert any("Wold-3" in one for one in shown)
    assert not any("Wold–" in one or one in {"Wold", "Quern"} for one in shown)
    (renamed,) = [one for one in said if one.code == "blank-section-renamed"]
    assert "it stands as A-A' on the blank" in renamed.message


def test_a_section_line_that_follows_the_beds_is_spoken_of():
    found = compiled(WALK.format(**ANSWERS).replace("section A-A' from 1 to 3\n", ""))
    _, said = handout(found)
    (asked,) = [one for one in said if one.code == "blank-section-tells"]
    assert asked.hints == ("write a line of your own, such as `section A-A' from 1 to 3`",)


@pytest.mark.parametrize("words", ["slabs slide to 057 at 30", "slide 057° at 30", "loose, 30 at 057"])
def test_an_attitude_in_words_tells(words):
    assert tells(words, compiled(WALK.format(**ANSWERS)).log, dangers=False) is not None


@pytest.mark.parametrize(
    "words", ["call 112 at 15:30", "back past 214 at 4 pm", "drop of 30 at 2", "bulls at 12"]
)
def test_times_and_numbers_tell_nothing(words):
    assert tells(words, compiled(WALK.format(**ANSWERS)).log, dangers=False) is None


def test_words_that_tell():
    log = compiled(WALK.format(**ANSWERS)).log
    assert tells("Loop 2, over the Wold", log) == "Wold"
    assert tells("Loop 2: an overturned fold", log) == "overturned"
    assert tells("Loop 2 by Qz", log) == "Qz"
    assert tells("Wold Farm", log, names=False) is None
    assert tells("Loop 2", log) is None
    assert tells("over the W\u043eld", log) == "Wold", "a Cyrillic letter"
    assert (
        tells("blocks of sand\u00adstone", log)
        == tells("blocks of sand-stones", log, names=False)[:9]
        == "sandstone"
    )
    assert tells("an N-S lane, stops 1-3", log) is None


@pytest.mark.parametrize(
    ("title", "kept"),
    [
        ("Syncline, axis 020", "Exercise"),
        ("Unconformity, flat cover on a hill", "Exercise"),
        ("A fault walked along, on it", "Exercise"),
        ("Syncline, 020", "Exercise"),
        ("Quern Dale, axis 020", "Quern Dale"),
        ("Folds of Quern Dale, stops 1 to 8 and back", "Exercise, stops 1 to 8 and back"),
        ("Quern Dale, under the hill", "Quern Dale, under the hill"),
    ],
)
def test_what_stands_beside_a_structure_in_a_title_is_kept_where_it_counts_days_alone(title, kept):
    shown = given(compiled(WALK.format(**ANSWERS), title=title).trav, parts=()).value
    assert ", ".join(one for one in (shown.head, shown.subtitle) if one) == kept


def test_no_title_of_a_handout_tells_a_kind_of_reading():
    document, _ = handout(compiled(WALK.format(**ANSWERS), title="Striation Quarry, day 1"))
    # Within a line the title goes on as it was typed.
    assert document.title == "Exercise, day 1: exercise sheet, to be completed"
    assert "Exercise, day 1: stations, to be completed" in texts(document.pages[-1].items)
    assert not any("triation" in one for page in document.pages for one in texts(page.items))


@pytest.mark.every(2)
@pytest.mark.parametrize(
    ("source", "kept"),
    [
        ("2026, sheet 7 of the survey", "2026, sheet 7 of the survey"),
        ("2026, Wold Marl quarry", "2026"),
        ("2026, board at the syncline", "2026"),
        ("2026, the grits, posted at the hut", "2026, posted at the hut"),
        ("2026, camp of Qz", "2026"),
    ],
)
def test_the_source_of_a_declination_tells_nothing_on_a_handout(source, kept):
    """Its year stays, and every part that names no unit, rock or structure."""
    walk = WALK.replace("bearings true", f"bearings magnetic\ndeclination 4.7 E, {source}")
    document, _ = handout(compiled(walk.format(**ANSWERS)))
    shown = " ".join(one for page in document.pages for one in texts(page.items))
    assert "4.7" in shown
    assert not {"Marl", "marl", "syncline", "grits", "Qz"} & words_of(shown)
    assert words_of(kept) <= words_of(shown)


@pytest.mark.parametrize("kind", [*PlaneKind, *LineKind, *ContactKind])
def test_every_kind_of_reading_tells(kind):
    log = compiled(WALK.format(**ANSWERS)).log
    for word in (kind.value, kind.value.upper(), f"{kind.value}s"):
        assert tells(f"The {word} again", log) == word


MADE_OF_KINDS = (
    "bedded bedding crossbedded foliated foliate cleaved veins veined veining jointed jointing hinged lineated "
    "striated stria striae faulting faulted unconformable dykes"
)


def test_what_english_makes_of_a_kind_tells_as_well():
    log = compiled(WALK.format(**ANSWERS)).log
    for word in MADE_OF_KINDS.split():
        assert tells(f"The {word} rocks", log) == word


@pytest.mark.parametrize("words", ["St Bede's Well", "Bedford Hill", "Axford", "Hinton", "Bad Vale, day 1"])
def test_a_name_that_only_begins_like_a_kind_tells_nothing(words):
    assert tells(words, compiled(WALK.format(**ANSWERS)).log) is None


@pytest.mark.every(2)
@pytest.mark.parametrize(
    ("name", "give"),
    some(
        product(POOR, [(), PARTS]),
        # Of the longest the key is drawn, which is arranged alike.
        [
            (name, (PARTS, ())[at % 2])
            for at, name in enumerate(POOR)
            if at % 2 and name != "very many stations"
        ],
    ),
)
def test_a_poor_log_still_makes_a_handout(name, give):
    document, _ = handout(compiled(POOR[name]), give=give)
    for page in document.pages:
        finite(page)
    assert write_pdf(replace(document)).startswith(b"%PDF")


def test_words_on_the_exercise_give_way_before_a_hazard_is_counted(compile_text):
    """The block alone, in a column too low for both."""
    found = compile_text(f"notation 1\ntraverse Edge\n{WALK.format(units='', one='', two='', three='')}")
    panel = limits_panel(found.trav, last=OWN_WORK)
    fitted = fit([panel], Box(x=0.0, y=0.0, width=60.0, height=28.0), UPRIGHT)
    said = " ".join(one.text for one in fitted.items if isinstance(one, Text))
    assert "loose blocks" in said
    assert OWN_WORK[:20] not in said
