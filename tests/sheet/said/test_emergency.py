"""Whom to call and when to turn back: typed once, and on all that is carried out."""

import json
import re

import pytest

from tests.sheet.fixture_sheet import compiled, sheet
from tests.sheet.pages import flat, words
from traverse.compile import blank_ground, compile_log, map_ground
from traverse.diagnostic import Severity
from traverse.log.records import Help
from traverse.output.json_file import write_json
from traverse.output.report import report
from traverse.output.report_lines import plain_text
from traverse.sheet.compose.alone import net_document
from traverse.sheet.compose.compose import compose
from traverse.sheet.compose.grey import compose_grey
from traverse.sheet.handout.handout import compose_blank
from traverse.sheet.paper.page import Text
from traverse.sheet.report.unchecked_panel import unchecked_panel
from traverse.sheet.said.emergency import calls, emergency_sentences
from traverse.sheet.template.reading import read_template
from traverse.source import Source

SAID = (
    "emergency call 112, and ask for mountain rescue\n"
    "emergency meet cairn with the larch pole above the tarn\n"
    "emergency radio channel 8, listened to on the hour\n"
    "emergency back 15:30\n"
)
WALK = (
    "bearings true\nattitudes dip-right\nunit Sh Reed Shale ; Jurassic\nunit Ss Pike Sandstone ; Triassic\n"
    "at 1\n  unit Ss\n  bed 322/30\nto 2 047 97m\nalong 31m\n  contact Sh/Ss certain\nat 2\n  unit Sh\n"
    "  bed 320/34\nto 3 138 79m\n  unit Sh\nclose 1 266 126m\n"
)
TOLD = (
    "112, and ask for mountain rescue",
    "cairn with the larch pole above the tarn",
    "channel 8, listened to on the hour",
    "15:30",
)
KINDS = ("call", "meet", "road", "radio")


def said(page):
    return " ".join(words(page.items).split())


def drawn_scale(page):
    """The scale as the sheet says it."""
    return re.search(r"1:([\d\s]+\d)", words(page.items))[1]


def blank(found):
    template = read_template("field").value
    return compose_blank(found.trav, lay=blank_ground, template=template, mark="x")


def test_every_sheet_carries_it():
    found = compiled(SAID + WALK)
    for page in (*sheet(found)[0].pages, *blank(found).value.pages):
        for one in TOLD:
            assert one in said(page)


def insert(found, kind=compose):
    settings = {"template": read_template("insert").value, "mark": "x"}
    if kind is compose_blank:
        return compose_blank(found.trav, lay=blank_ground, **settings).value.pages
    return kind(map_ground(found.trav), found.diagnostics, **settings).value.pages


@pytest.mark.parametrize("kind", [compose, compose_grey, compose_blank])
def test_the_insert_carries_it(kind):
    """It is what goes along in the notebook; what nobody said has a line to write on."""
    first = said(insert(compiled(SAID + WALK), kind)[0])
    for one in TOLD:
        assert one in first
    open_first = said(insert(compiled(WALK), kind)[0])
    for name in ("Emergency number", "Meeting point, nearest road", "Radio or satellite", "Turn back by"):
        assert name in open_first


@pytest.mark.parametrize("kind", [compose, compose_blank])
def test_what_an_insert_cuts_of_it_stands_whole_on_sheet_2(kind):
    told = {kind: f"{kind} {'larch cairn ' * 20}"[:195] + " end" for kind in KINDS}
    long = "".join(f"emergency {kind} {one}\n" for kind, one in told.items())
    pages = insert(compiled(long + WALK), kind)
    assert "sheet 2" in said(pages[0])
    assert all(one in said(pages[1]) for one in told.values())


def test_what_is_not_said_is_a_line_to_write_on():
    first = said(sheet(compiled(SAID + WALK))[0].pages[0])
    assert "Nearest road" in first
    open_sheet = said(sheet(compiled(WALK))[0].pages[0])
    for name in ("Emergency number", "Meeting point, nearest road", "Radio or satellite", "Turn back by"):
        assert name in open_sheet


@pytest.mark.parametrize("heading", [SAID, "", "emergency call 112\n"])
def test_below_the_heading_of_the_report_nothing_lies_over_it(heading):
    """`Emergency number` was printed over "Before going out again" where a number was given."""
    drawn = unchecked_panel(compiled(heading + WALK).trav).draw(width=120.0)
    texts = [one for one in flat(drawn.items) if isinstance(one, Text)]
    at = next(k for k, one in enumerate(texts) if one.text == "Before going out again")
    head, first = texts[at], texts[at + 1]
    assert 3.3 < head.at[1] - first.at[1] < 6.0


@pytest.mark.every(2)
@pytest.mark.parametrize("length", [120, 199])
def test_words_take_nothing_from_the_map_and_stand_whole_on_a_later_page(length):
    told = {kind: f"{kind} {'larch cairn ' * 20}"[: length - 4] + " end" for kind in KINDS}
    long = "".join(f"emergency {kind} {one}\n" for kind, one in told.items())
    for open_pages, pages in (
        (sheet(compiled(WALK))[0].pages, sheet(compiled(long + WALK))[0].pages),
        (blank(compiled(WALK)).value.pages, blank(compiled(long + WALK)).value.pages),
    ):
        assert drawn_scale(pages[0]) == drawn_scale(open_pages[0])
        assert "sheet 2" in said(pages[0])
        assert said(pages[0]).count(" end") < len(KINDS)
        assert all(one in said(pages[1]) for one in told.values())


def test_words_may_stand_after_the_time_to_turn_back():
    said_back = "15:30 at the latest, 14:00 when it rains"
    found = compiled(f"emergency back {said_back}\n" + WALK)
    assert [one.words for one in found.log.heading.emergency] == [said_back]


def test_a_line_for_an_emergency_has_an_end():
    assert not [
        one
        for one in compiled(f"emergency meet {'x' * 200}\n" + WALK).diagnostics
        if one.severity is Severity.ERROR
    ]
    text = f"notation 1\ntraverse Dale\nemergency meet {'x' * 201}\n{WALK}"
    found = compile_log(Source(name="a.trav", text=text), load=lambda name: None)
    told = [one for one in found.diagnostics if one.severity is Severity.ERROR]
    assert [one.code for one in told] == ["emergency"]
    assert "201 characters" in told[0].message


def test_a_net_alone_carries_it():
    document = net_document(compiled(SAID + WALK).trav, mark="x")
    assert document is None or all(one in said(document.pages[0]) for one in TOLD)


def test_check_ends_with_it_and_says_nothing_where_nothing_is_said():
    found = compiled(SAID + WALK)
    lines = plain_text(report(found.trav, found.diagnostics)).splitlines()
    assert lines[lines.index("In an emergency") + 1 :] == [
        "  Emergency number: 112, and ask for mountain rescue.",
        "  Meeting point: cairn with the larch pole above the tarn.",
        "  Radio or satellite: channel 8, listened to on the hour.",
        "  Turn back by: 15:30.",
    ]
    found = compiled(WALK)
    assert "In an emergency" not in plain_text(report(found.trav, found.diagnostics)).splitlines()


def test_the_data_have_it_as_cautions_and_by_what_it_is():
    found = compiled(SAID + WALK)
    data = json.loads(write_json(found.log, found.trav, found.diagnostics))
    assert data["traverse"]["emergency"]["back"] == "15:30"
    told = [one["text"] for one in data["cautions"] if one["kind"] == "emergency"]
    assert told == list(emergency_sentences(found.log.heading.emergency))
    assert len(told) == 4


def test_a_blank_leaves_a_line_to_write_on_where_the_words_name_a_unit():
    """Everything else is kept: only an answer is left out."""
    telling = SAID.replace("cairn with the larch pole above the tarn", "the Reed Shale quarry")
    outcome = blank(compiled(telling + WALK))
    assert "blank-emergency-tells" in {one.code for one in outcome.diagnostics}
    for page in outcome.value.pages:
        assert "quarry" not in said(page)
        assert "channel 8" in said(page)
    assert "Meeting point, nearest road" in said(outcome.value.pages[0])


@pytest.mark.parametrize(
    ("a", "b", "wanted"),
    [("channel 8", "channel 8", "channel 8"), ("channel 8", "channel 9", "A: channel 8; B: channel 9")],
)
def test_a_camp_has_what_its_parties_say(a, b, wanted):
    logs = {
        f"{letter}.trav": (
            f"notation 1\ntraverse Dale, {letter}\nbearings true\nemergency radio {radio}\n"
            "control K 1000 E 1000 N\nat K\nto 2 090 100m\nclose K 270 100m\n"
        ).encode()
        for letter, radio in (("a", a), ("b", b))
    }
    camp = "notation 1\ntraverse Dale\nemergency call 112\nlog a.trav as A\nlog b.trav as B\n"
    found = compile_log(Source(name="camp.trav", text=camp), load=logs.__getitem__)
    assert {one.kind: one.words for one in found.log.heading.emergency} == {
        Help.CALL: "112",
        Help.RADIO: wanted,
    }


def test_one_line_asks_for_place_and_road_where_neither_is_said():
    assert [one.name for one in calls(())] == [
        "Emergency number",
        "Meeting point, nearest road",
        "Radio or satellite",
        "Turn back by",
    ]
