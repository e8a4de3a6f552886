"""Nothing of the notation and no sign is forgotten on the way: each word from its cases to the sheet, each sign to its page.

The words are those of `FORMS` and `DESCRIBED`, the signs those of `HEADINGS`; every check runs over all of them.
"""

import ast
import re
from collections import Counter
from dataclasses import fields, replace
from functools import cache
from pathlib import Path
from typing import get_args, get_type_hints

import gpxpy
import pytest

from tests import once
from tests.notation.test_statements import (
    RIGHT_BODY,
    RIGHT_HEADING,
    WRONG_BESIDE,
    WRONG_BODY,
    WRONG_HEADING,
)
from tests.sheet.pages import texts as texts_of
from tests.sheet.pages import words as words_of
from tests.sheet.signs.fixture_signs import walk as every_sign
from traverse.compile import blank_ground, compile_log, layer_ground, map_ground
from traverse.diagnostic import Severity
from traverse.difference import bookings
from traverse.layers.glossary import TERMS
from traverse.layers.lay_layers import in_lon_lat, layers_of
from traverse.layers.records import Geometry
from traverse.log.described import DESCRIBED, Rows, described
from traverse.log.items import LineKind
from traverse.log.written_forms import FORMS
from traverse.notation.attitude import MODIFIERS
from traverse.notation.explain import MAY_FOLLOW
from traverse.notation.read import STATEMENTS
from traverse.notation.tidy_text import tidy
from traverse.output.gis import dxf, gpx
from traverse.output.json_file import as_json
from traverse.output.report import report
from traverse.sheet.compose import overlay
from traverse.sheet.handout.given import PARTS, given
from traverse.sheet.handout.handout import compose_blank
from traverse.sheet.map.map import map_panel
from traverse.sheet.map.map_signs import base_signs
from traverse.sheet.paper.layers import Layer
from traverse.sheet.paper.page import Box, Group
from traverse.sheet.paper.style import PENS
from traverse.sheet.paper.upright import _COLUMNS
from traverse.sheet.paper.words import plain
from traverse.sheet.said.stops import gather
from traverse.sheet.section.strip import signs_expected_in
from traverse.sheet.signs.colour import unit_styles
from traverse.sheet.signs.pattern import NUMBERS
from traverse.sheet.signs.shown import SHOWN, Kept, Printed, _complete, shown, told
from traverse.sheet.signs.sign_list import sign_words, signs_block
from traverse.sheet.signs.signs_page import sections, signs_pages
from traverse.sheet.signs.symbols import HEADINGS, LINES, SECTION_LINES, SIGNS, SignHeading, symbol
from traverse.sheet.tables.contact_rows import contacts_table
from traverse.sheet.tables.full_notes import note_rows
from traverse.sheet.tables.station_rows import station_columns, station_rows
from traverse.sheet.template.reading import read_template
from traverse.sheet.template.settings import BLOCKS
from traverse.source import Source

ROOT = Path(__file__).parent.parent
LOG = """notation 1
traverse Tollhouse Gorge, day 3
party MO Mara Okafor
grid EPSG:25830
bearings true
attitudes dip-right
unit Qt Terrace gravel ; Quaternary
unit Ms Stag Marl ; Miocene
unit Lt Tollhouse Limestone ; Cretaceous
unit Sr Rook Sandstone ; Triassic
unit Pq Quarry beds ; Permian
unit Pz Old slates ;
control 1 412350 E 4289020 N 786 m ±4 gps
section A-A' from 1 to 3, project square
at 1
  sight Peak-A 010
  elevation 786 m altimeter
  time 06:30
to 2 N47E 164m +3
to 3 052 118m +2
"""
BESIDE = {
    "tops": ("bed 142/68",),
    # A drift of the altimeter is found by the times of two readings at one place.
    "time": ("at 1", "elevation 790 m altimeter", "time 08:10", "at 3", "elevation 1462 m altimeter"),
}
"""What a word tells of, or needs beside it to be told; the other words are told by themselves."""
COLUMNS = {
    Printed.UNIT: "Unit",
    Printed.AS_WRITTEN: "As written",
    Printed.TOPS: "Tops",
    Printed.ROCK: "Rock",
    Printed.BESIDE: "Samples, photos",
}


@cache
def made(word, *, there=True):
    """The log with the example of a word at the end of the walk, or without it, and the number of its line."""
    lines = [*LOG.splitlines(), *BESIDE.get(word, ())]
    lines.append(DESCRIBED[word].example if there else "# nothing")
    found = compile_log(Source(name="day.trav", text="\n".join(lines) + "\n"), load=lambda name: b"")
    assert not found.failed, [one.message for one in found.diagnostics]
    return found, len(lines)


def item_of(word):
    """The record of the example."""
    found, line = made(word)
    return next(item for item in found.log.items if item.span.line == line)


SEEN = [word for word, row in DESCRIBED.items() if row.record is not None]


# --- from the grammar to the records ----------------------------------------------------------------------------


def first_words(cases):
    return {(case if isinstance(case, str) else case[0]).split()[0].lower() for case in cases}


def test_every_statement_that_is_read_has_its_form_and_its_cases():
    """`notation` itself has its wrong cases in `test_only_notation_1_is_read`; `use` and `log` are read by the file."""
    assert {word.lower() for word in STATEMENTS} | {"notation", "use", "log"} == set(FORMS)
    assert first_words([*RIGHT_HEADING, *RIGHT_BODY]) >= set(FORMS) - {"notation"}
    assert first_words([*WRONG_HEADING, *WRONG_BODY, *WRONG_BESIDE]) >= set(FORMS) - {"notation"}


@pytest.mark.parametrize("word", SEEN)
def test_its_line_becomes_its_record_with_the_fields_that_are_named(word):
    row, item = DESCRIBED[word], item_of(word)
    assert type(item) is row.record
    assert described(item) is row
    named = {row.label, row.words} - {None}
    assert named <= {one.name for one in fields(row.record)}
    assert row.form.startswith(word)
    # A form that ends in words or a name takes them; they may go on in the next line.
    assert row.form.endswith((" WORDS", " NAME")) == row.takes_words


@pytest.mark.parametrize("word", DESCRIBED)
def test_tidy_indents_it(word):
    outcome = tidy(Source(name="day.trav", text=f"{LOG}{DESCRIBED[word].example}"))
    assert outcome.diagnostics == ()
    last = outcome.value.splitlines()[-1]
    assert last.startswith("  ")
    assert last.split() == DESCRIBED[word].example.split()


@pytest.mark.parametrize("word", [word for word, row in DESCRIBED.items() if row.takes_words])
def test_words_go_on_in_the_next_line(word):
    found, _ = made(word)
    text = f"{found.sources['day.trav'].text}    | gone on with\n"
    more = compile_log(Source(name="day.trav", text=text), load=lambda name: b"")
    assert not more.failed
    item = more.log.items[-1]
    assert any("gone on with" in str(getattr(item, one.name)) for one in fields(item) if one.name != "span")


# --- to the JSON, the report, the tables and the map ------------------------------------------------------------


@pytest.mark.parametrize("word", [word for word, row in DESCRIBED.items() if row.rows is not None])
def test_it_has_its_row_in_the_json(word):
    found, line = made(word)
    row, item = DESCRIBED[word], item_of(word)
    (told_of,) = [
        one
        for one in as_json(found.log, found.trav, found.diagnostics)[row.rows.value]
        if one["line"] == line
    ]
    assert told_of["kind"] == row.row_kind
    if row.rows is Rows.THINGS:
        said = [told_of["words"], told_of["label"]]
        assert said == [getattr(item, name) if name else None for name in (row.words, row.label)]
        assert any(said)


def test_readings_contacts_samples_and_photos_are_counted():
    counted = Counter(row.counted for row in DESCRIBED.values())
    assert set(counted) == {None, "attitude", "contact", "sample", "photo"}
    assert all(row.counted is not None for row in DESCRIBED.values() if row.rows not in {None, Rows.THINGS})


@pytest.mark.parametrize("word", [word for word, row in DESCRIBED.items() if row.counted is not None])
def test_the_report_counts_it(word):
    def heads(there):
        found, _ = made(word, there=there)
        return report(found.trav, found.diagnostics)[0].paragraphs[-1]

    name = DESCRIBED[word].counted
    assert heads(True) != heads(False)
    assert name in heads(True)


def printed(word, *, there):
    """What the tables print, by where they print it."""
    found, _ = made(word, there=there)
    stops = gather(found.trav)
    rows, _ = station_rows(found.log, found.survey, stops)
    names = [column.name for column in station_columns(found.log, found.survey)]
    cells = {where: Counter(row.cells[names.index(name)] for row in rows) for where, name in COLUMNS.items()}
    contacts = contacts_table(found.trav, stops)
    cells[Printed.CONTACTS] = Counter(row.cells for row in contacts.rows) if contacts else Counter()
    cells[Printed.IN_FULL] = Counter(row.cells for row in note_rows(found.log, found.survey, (), ()))
    return cells


@pytest.mark.parametrize("word", SEEN)
def test_a_table_prints_it_where_it_is_said_to_be(word):
    with_it, without = printed(word, there=True), printed(word, there=False)
    where = SHOWN[word].printed
    new = with_it[where] - without[where]
    assert new, f"nothing of it is printed under {where.value}"
    said = told(item_of(word))
    if said is not None:
        assert plain(said[1]) in " ".join(str(one) for one in new)


def test_tops_alone_on_a_leg_are_printed():
    """A place on a leg where nothing but the way-up was seen has its row."""
    text = f"{LOG}along 40m\n  tops SE graded beds\n"
    found = compile_log(Source(name="day.trav", text=text), load=lambda name: b"")
    rows, _ = station_rows(found.log, found.survey, gather(found.trav))
    assert any("toward SE: graded beds" in row.cells for row in rows)


def test_a_word_without_a_record_of_its_own_is_printed_with_the_walk():
    """Times stand in one row of the notes."""
    (word,) = set(DESCRIBED) - set(SEEN)
    assert SHOWN[word].printed is Printed.IN_FULL
    (with_it, _), (without, _) = made(word), made(word, there=False)
    new = printed(word, there=True)[Printed.IN_FULL] - printed(word, there=False)[Printed.IN_FULL]
    assert ("the walk", "times") in [cells[:2] for cells in new]
    assert with_it.log.addresses[-1].time is not None
    assert without.log.addresses[-1].time is None


def signs_on(trav, *, scale=1000, box=None):
    """The signs that a map and the sections of a traverse draw."""
    box = box or Box(x=14.0, y=14.0, width=500.0, height=400.0)
    drawn = map_panel(map_ground(trav), box=box, scale=scale, styles=unit_styles(trav.log.units)).signs
    return {*drawn, *(name for one in trav.geology.sections for name in signs_expected_in(one))}


def in_legend(trav, signs):
    """The texts of the list of signs alone, none of them broken."""
    block = signs_block(sorted(signs), trav, width=400.0)
    return Counter(text for _, _, text in texts_of(block.items)) if block else Counter()


@pytest.mark.parametrize("word", [word for word, one in SHOWN.items() if one.sign is not None])
def test_the_map_draws_its_sign_and_the_legend_lists_it(word):
    """In a row of its own, which is not there where the sign is not."""
    found, _ = made(word)
    sign, signs = SHOWN[word].sign, signs_on(found.trav)
    drawn = {name for name in signs if name == sign or name.startswith(f"{sign} ")}
    assert drawn
    said = {**{name: one.words for name, one in SIGNS.items()}, **LINES, **SECTION_LINES}
    said |= sign_words(found.trav)
    own = {said[name] for name in drawn}
    assert own & set(in_legend(found.trav, signs) - in_legend(found.trav, signs - drawn))


@pytest.mark.parametrize("word", [word for word, one in SHOWN.items() if one.in_section is not None])
def test_the_section_draws_its_sign(word):
    (with_it, _), (without, _) = made(word), made(word, there=False)
    assert SHOWN[word].in_section in signs_on(with_it.trav) - signs_on(without.trav)


# --- to other maps, and to two versions laid side by side ---------------------------------------------------------

PLAIN_KINDS = {"note", "fossil", "sketch", "unit", "sample", "photo", "hazard", "crossing"}
"""What every reader takes these for; the other kinds are explained in the glossary of the layers."""
READINGS = {"unit", "sight", "elevation", "time", "iron", "float", "tops", "crosses"}
"""Words that may move a figure or a drawing, as all readings of planes, lines and contacts may."""


def without_its_options(word):
    """The day with the example of a word, of which all that may be left out is left out."""
    found, _ = made(word)
    item, hints = item_of(word), get_type_hints(DESCRIBED[word].record)
    options = (DESCRIBED[word].label, DESCRIBED[word].words)
    bare = replace(item, **{name: None for name in options if name and type(None) in get_args(hints[name])})
    trav = found.trav
    things = [replace(one, record=bare) if one.record is item else one for one in trav.geology.things]
    items = [bare if one is item else one for one in trav.log.items]
    return replace(
        trav,
        log=replace(trav.log, items=tuple(items)),
        geology=replace(trav.geology, things=tuple(things)),
    )


@pytest.mark.parametrize("word", [word for word, one in SHOWN.items() if one.icon])
def test_other_maps_draw_it_and_call_it_by_a_name(word):
    """In a layer that has a style, a label and a waypoint, which has a name also where nothing but what must be was said."""
    trav = layer_ground(without_its_options(word))
    layers = layers_of(trav)
    line = item_of(word).span.line
    points = [one for one in layers.layers if one.geometry is Geometry.POINT]
    (its,) = [one for one in points if line in one.column("line")]
    fields_of = {one.name for one in its.fields}
    labelled = re.findall(r"PropertyName>(\w+)<", layers.styles[its.name])
    assert labelled
    assert set(labelled) <= fields_of
    assert dxf._LABELS[its.name] in fields_of
    assert its.name in gpx._WAYPOINTS
    assert set(gpx._CALLED[its.name]) <= fields_of
    file = gpxpy.parse(gpx.write_gpx(in_lon_lat(layers, trav, what="GPX")).decode())
    names = [one.name for one in file.waypoints if one.type == its.name]
    assert names
    assert all(names)


@pytest.mark.parametrize("word", [word for word, one in SHOWN.items() if one.icon])
def test_words_of_a_film_keep_clear_of_its_sign(word):
    """A part of it is filled, white where it is open: by that its room is known."""
    names = [name for name in (SHOWN[word].sign, f"{SHOWN[word].sign} no view") if name in SIGNS]
    assert names
    for name in names:
        on_map = Group(items=symbol(name, (0.0, 0.0)), layer=Layer.THINGS)
        assert list(overlay._things([on_map])), name


@pytest.mark.parametrize("word", [word for word, row in DESCRIBED.items() if row.rows is not None])
def test_its_kind_is_explained_or_plain(word):
    explained = {term.word for term in TERMS if term.field == "kind"}
    assert DESCRIBED[word].row_kind in explained ^ PLAIN_KINDS


def test_every_word_moves_no_figure_or_is_a_reading():
    readings = {word for word, row in DESCRIBED.items() if row.rows in {Rows.ATTITUDES, Rows.CONTACTS}}
    assert set(DESCRIBED) - bookings._WORDS == readings | READINGS


# --- to a handout -----------------------------------------------------------------------------------------------


def test_a_word_that_is_forgotten_or_kept_where_no_handout_has_room_for_it_is_refused():
    for word in SHOWN:
        with pytest.raises(LookupError, match=f"alone: {word}$"):
            _complete({name: one for name, one in SHOWN.items() if name != word})
    for kept, words in ((Kept.ALL, {"hazard"}), (Kept.BASE, {"crosses"})):
        assert {word for word, one in SHOWN.items() if one.kept is kept} == words
        for word in set(SHOWN) - words:
            with pytest.raises(LookupError, match=f"^{word}: "):
                _complete({**SHOWN, word: replace(SHOWN[word], kept=kept)})


@pytest.mark.parametrize("word", SEEN)
def test_a_handout_keeps_of_it_what_is_said(word):
    found, line = made(word)

    def kept(*parts):
        trav = given(found.trav, parts=parts).value.trav
        spans = [one.span for one in trav.log.items]
        spans += [one.record.span for one in trav.geology.things]
        spans += [one.booked.span for one in (*trav.geology.attitudes, *trav.geology.contacts)]
        return line in {span.line for span in spans}

    by = {
        Kept.ALL: set(),
        Kept.BASE: set(),
        Kept.WITH_ATTITUDES: {"attitudes"},
        Kept.WITH_CONTACTS: {"contacts"},
    }
    needs = by.get(shown(item_of(word)).kept)
    assert kept(*PARTS) == (needs is not None)
    if needs is not None:
        assert kept(*needs)
        assert kept(*(set(PARTS) - needs)) == (not needs)


@cache
def every_word():
    """The examples of all words, each at a station of its own."""
    lines = LOG.splitlines()
    for number, word in enumerate(SEEN, start=4):
        lines += [f"to {number} {(7 * number) % 360:03d} 118m +2", f"  {DESCRIBED[word].example}"]
    found = compile_log(Source(name="day.trav", text="\n".join(lines) + "\n"), load=lambda name: b"")
    assert not found.failed, [one.message for one in found.diagnostics if one.severity is Severity.ERROR]
    return found


@pytest.mark.parametrize("parts", [(), PARTS], ids=["base", "all parts"])
def test_on_the_page_a_handout_says_of_each_word_what_is_kept_of_it(parts):
    found = every_word()
    pages = compose_blank(
        found.trav, lay=blank_ground, template=read_template("field").value, mark="mark", give=parts
    ).value.pages
    said = " ".join(words_of(page.items) for page in pages)
    seen = {shown(item).kept: [] for item in found.log.items}
    for item in found.log.items:
        seen[shown(item).kept].append(item)
    for item in seen[Kept.ALL]:
        assert plain(told(item)[1]) in said
    for item in seen[Kept.BASE]:
        assert plain(item.name) in said
    for item in seen[Kept.NOTHING]:
        assert told(item) is None or plain(told(item)[1]).strip() not in said
    drawn = signs_on(given(found.trav, parts=parts).value.trav, scale=5000)
    for word in SEEN:
        one = SHOWN[word]
        there = one.kept in {Kept.ALL, Kept.BASE} or (one.kept is not Kept.NOTHING and bool(parts))
        if one.sign is not None and word != "sight":
            assert there == any(name == one.sign or name.startswith(f"{one.sign} ") for name in drawn), word


def test_the_room_of_a_handout_is_counted_for_every_sign_that_it_draws():
    base = given(every_word().trav, parts=()).value.trav
    assert signs_on(base, scale=5000) - {"flow"} <= set(base_signs(every_word().trav))


# --- signs ------------------------------------------------------------------------------------------------------


ONE_FAULT_ON_TWO_ARMS = """bearings true
attitudes dip-right
unit Sh Shale ; Jurassic
unit Ss Sandstone ; Triassic
at 1
  unit Sh
to 2 090 100m level
to 3 180 160m level
along 60m
  fault Sh/Ss certain 270/80
at 3
  unit Ss
to 4 270 200m level
to 5 000 160m level
along 100m
  fault Sh/Ss certain 270/80
"""

A_PARTY = "notation 1\ntraverse {0}\nbearings true\nat 1\nto 2 {1} 50m level\nto 3 {1} 60m level\n"
PARTIES = "ABCDEFGH"
"""As many as there are signs to tell their stations apart by."""


def camp_of_many():
    """A camp in which every party walks its own way from one point."""
    files = {f"{one}.trav": A_PARTY.format(one, f"{at * 45:03d}") for at, one in enumerate(PARTIES)}
    lines = [f"log {one}.trav as {one}" for one in PARTIES] + [f"tie A-1 to {one}-1" for one in PARTIES[1:]]
    text = "\n".join(("notation 1", "traverse Camp of many, test", *lines, ""))
    found = compile_log(Source(name="camp.trav", text=text), load=lambda name: files[name].encode())
    assert not found.failed
    return found.trav


def drawn_somewhere():
    """A trace of a fault is listed where no contact is traced: the heavier line needs no row beside the other."""
    yield from signs_on(camp_of_many(), box=Box(x=14.0, y=14.0, width=400.0, height=400.0))
    for text in (every_sign(), ONE_FAULT_ON_TWO_ARMS):
        log = Source(name="all.trav", text=f"notation 1\ntraverse All Signs, test\n{text}")
        found = compile_log(log, load=lambda name: b"")
        assert not found.failed
        yield from signs_on(found.trav, box=Box(x=14.0, y=14.0, width=1400.0, height=700.0))
    logs = ROOT / "tests" / "reference" / "logs"
    for path, scale in (
        (logs / "loop-that-fails.trav", 1000),
        (logs / "plunging-fold.trav", 2500),
        (logs / "traced.trav", 2500),
        (logs / "with-fixes.trav", 1000),
        (logs / "four-parties.trav", 2500),
        (logs / "party-aside.trav", 2500),
        (ROOT / "samples" / "oskerra-valley" / "oskerra-valley.trav", 2500),
    ):
        yield from signs_on(once.compiled(path).trav, scale=scale)


def test_some_log_draws_every_sign():
    assert set(HEADINGS) - set(drawn_somewhere()) == set()


def test_the_page_of_signs_lists_every_sign_under_its_heading():
    listed = dict(sections())
    assert list(listed) == [*(heading.value for heading in SignHeading), "Rocks, in grey"]
    for name, heading in HEADINGS.items():
        assert name in listed[heading.value]
    assert Counter(name for names in listed.values() for name in names) == Counter([*HEADINGS, *NUMBERS])
    frame = Box(x=10.0, y=15.0, width=190.0, height=272.0)
    said = " ".join(words_of(page.items) for page in signs_pages(width=210.0, height=297.0, frame=frame))
    for name in HEADINGS:
        assert (LINES.get(name) or SIGNS[name].words) in said


GRAMMAR = ROOT / "grammar"


def test_every_modifier_of_the_grammar_is_made_something_of_and_listed():
    (rule,) = re.findall(
        r"^_modifier: (.+)$", (GRAMMAR / "log.lark").read_text(encoding="utf-8"), re.MULTILINE
    )
    assert set(rule.split(" | ")) == MODIFIERS
    for name in MODIFIERS - {"QUALITY", "SPREAD", "DOUBT"}:
        assert f"`{name.lower()}`" in MAY_FOLLOW, name


def test_every_panel_of_words_has_its_column_on_upright_paper():
    for arrangements in _COLUMNS.values():
        for columns in arrangements:
            # The title stands over the map, the strip that goes back out at the foot of the page.
            rest = set(BLOCKS) - {"title", "tomorrow"}
            assert sorted(name for column in columns for name in column) == sorted(rest)


def test_every_line_that_dips_has_its_sign_upright():
    assert {f"{one.value} vertical" for one in LineKind} - set(SIGNS) == {
        f"{LineKind.CURRENT.value} vertical"
    }


def test_every_warning_stands_in_a_case_or_a_test():
    """By its code; what a test asserts of it is the test's own business."""
    program = "".join(path.read_text(encoding="utf-8") for path in (ROOT / "traverse").rglob("*.py"))
    found = [*(ROOT / "tests").rglob("*.py"), *(ROOT / "tests" / "cases").rglob("*.trav")]
    tests = "".join(path.read_text(encoding="utf-8") for path in found)
    codes = set(re.findall(r'\bwarning\(\s*"([a-z0-9-]+)"', program))
    # The one is read off stderr by its words; no page has yet been found on which the other is needed.
    elsewhere = {"file-not-carried", "map-crowded"}
    assert codes - elsewhere - set(re.findall(r"[\w-]+", tests)) == set()


def warnings_of(path):
    """Names of the warnings that a file gives, with those of sections that show nothing."""
    text = path.read_text(encoding="utf-8")
    # Most files give none, and take their time to be parsed.
    for node in ast.walk(ast.parse(text)) if re.search(r"\b(warning|_limit)\(", text) else ():
        name = getattr(getattr(node, "func", None), "id", None)
        grave = any(
            one.arg == "grave" and getattr(one.value, "value", False) for one in getattr(node, "keywords", ())
        )
        if name == "warning" or (name == "_limit" and grave):
            first = node.args[0]
            ways = (first.body, first.orelse) if isinstance(first, ast.IfExp) else (first,)
            yield from (one.value for one in ways if isinstance(one, ast.Constant))


def test_every_warning_has_its_place_in_the_reference():
    """Once, in a table of those on its subject; and no name there is of a warning that is no more."""
    codes = {code for path in (ROOT / "traverse").rglob("*.py") for code in warnings_of(path)}
    text = (GRAMMAR / "README.md").read_text(encoding="utf-8")
    table = text[text.index("## What a warning asks") :]
    table = table[: table.index("\n## ")] if "\n## " in table else table
    named = Counter(re.findall(r"^\| `([a-z-]+)` \|", table, re.MULTILINE))
    assert set(named) == codes
    assert set(named.values()) == {1}


def test_every_line_has_its_pen_and_no_two_signs_one_name():
    assert set(LINES) <= set(PENS)
    assert set(HEADINGS) == {*SIGNS, *LINES}
    assert len(HEADINGS) == len(SIGNS) + len(LINES)
