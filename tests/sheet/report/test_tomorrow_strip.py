"""The strip at the foot of sheet 1: tomorrow's places with the way there, hazards named, lines to fill in."""

import re
from pathlib import Path

import pytest

from tests import once
from tests.reference.drawn import logs
from tests.sheet.fixture_sheet import compiled, sheet, texts
from tests.sheet.pages import assert_inside, overlaps
from traverse.compile import blank_ground, compile_log
from traverse.sheet.handout.handout import compose_blank
from traverse.sheet.paper.page import Group, Text
from traverse.sheet.report.tomorrow_strip import MOST_PLACES, tomorrow_strip, visits
from traverse.sheet.said.stops import gather
from traverse.sheet.said.tomorrow import to_check
from traverse.sheet.template.reading import read_template
from traverse.source import Source

LOGS = Path(__file__).parents[2] / "reference/logs"

WALK = (
    "party JT Jon Tell\nbearings magnetic\ndeclination 5 E, 2026, map margin\nattitudes dip-right\npace JT double 100 m in 65, 66, 66, 67\n"
    "unit Sh Reed Shale ; Jurassic\nunit Ss Pike Sandstone ; Triassic\nat 1\n  unit Ss\n  hazard bog\n"
    "to 2 090 60p\nalong 20p\n  contact Sh/Ss inferred\n"
    "to 3 180 60p\nalong 50p\n  contact Sh/Ss concealed\n"
    "to 4 270 60p\nalong 30p\n  contact Sh/Ss inferred\n"
    "close 1 000 60p\n"
)


def test_three_places_stand_in_walking_order_with_way_and_hazard():
    places, more = visits(compiled(WALK).trav, ())
    assert len(places) == MOST_PLACES
    lines = [one.task.span.line for one in places]
    assert lines == sorted(lines)
    assert "double paces of JT" in more
    assert "bearings magnetic" in more
    first = places[0]
    assert first.way.replace("\u00a0", " ") == "from 1: 090°, 20 ± 7 paces"
    assert first.task.hazards == ("H1",)


@pytest.mark.parametrize("width", [100.0, 192.0, 277.0])
@pytest.mark.parametrize("lines", [4, 2, 0])
def test_it_stays_in_its_width_and_names_whom_to_call(width, lines):
    places, more = visits(compiled(WALK).trav, ())
    block = tomorrow_strip(places, more=more, width=width, lines=lines)
    assert_inside(block.items, 0.0, -block.height, width, 0.0)
    assert overlaps(block.items) == []
    said = texts(block.items)
    for words in ("Emergency number", "Turn back by", "Hazard there: H1."):
        assert any(one.startswith(words) for one in said), words


def test_a_handout_has_the_strip_to_fill_in_and_none_of_the_places():
    found = compiled(WALK + "sheet paper A4 landscape\n")
    key = texts(sheet(found)[0].pages[0].items)
    blank = compose_blank(
        found.trav, found.diagnostics, lay=blank_ground, template=read_template("field").value, mark="x"
    ).value
    handed = texts(blank.pages[0].items)
    for said in (key, handed):
        assert "Emergency number" in said
        assert any(one.startswith("Look again tomorrow") for one in said)
    assert any("from" in one and "paces" in one for one in key)
    assert not any("inferred:" in one or ("paces" in one and "from" in one) for one in handed)
    assert not any(isinstance(one, Group) and one.layer == "contacts" for one in blank.pages[0].items)


def test_what_to_do_stays_where_the_reasons_have_no_room_and_no_sentence_is_cut():
    places, more = visits(compiled(WALK).trav, ())
    said = " ".join(texts(tomorrow_strip(places, more=more, width=192.0, lines=2).items))
    for place in places:
        assert place.task.do in said
    assert "…" not in said
    assert not any("as c" in place.task.reason for place in places)


@pytest.mark.parametrize("stream", ["", "along 30p\n  crosses stream 200\n"])
def test_stream_banks_are_named_where_a_stream_was_booked(stream):
    walk = WALK.replace("to 3 180 60p\n", f"to 3 180 60p\n{stream}")
    told = " ".join(one.task.do for one in visits(compiled(walk).trav, ())[0])
    assert "to either side" in told
    assert ("stream banks" in told) == bool(stream)


def test_a_failing_loop_is_looked_for_at_its_suspects_and_not_at_its_message():
    """A brief strip, of places and no reasons, still asks what the figure was."""
    failing = compiled(WALK.replace("to 3 180 60p", "to 3 108 60p"))
    assert any(one.code == "closure-fails" for one in failing.diagnostics)
    places, _ = visits(failing.trav, failing.diagnostics)
    said = " ".join(texts(tomorrow_strip(places, more="", width=192.0, lines=0).items))
    assert "was it 180?" in said
    assert not any("misses by" in place.task.reason for place in places)


def test_ways_are_told_as_the_log_writes_bearings():
    quadrants = (
        WALK.replace("090 60p", "due E 60p").replace("180 60p", "S2E 60p").replace("000 60p", "N2W 60p")
    )
    places, _ = visits(compiled(quadrants.replace("270 60p", "S88W 60p")).trav, ())
    ways = [place.way.replace("\u00a0", " ") for place in places]
    assert ways[0] == "from 1: N90E, 20 ± 7 paces"
    assert all("°" not in way for way in ways)


@pytest.mark.parametrize(
    "log", ["many-units", "party-aside", "four-parties", "loop-that-fails", "local-attraction"]
)
def test_paper_tells_nobody_what_to_type(log):
    """The desk is where a log is typed: the strip and the list of tasks speak of the ground and of the notebook."""
    found = once.compiled(LOGS / f"{log}.trav")
    places, _ = visits(found.trav, found.diagnostics)
    tasks = to_check(found.trav, gather(found.trav), found.diagnostics)
    for task in (*tasks, *(one.task for one in places)):
        assert task.why or task.do, task.place
        for statement in ("contact ", "covered", "along …", "ruling", "unit ", "checked", "READING", "WHO"):
            assert f"“{statement}" not in task.reason
        assert "`" not in task.reason
        assert "WHO DATE" not in task.reason


def reference(name):
    (path,) = logs([name])
    return once.compiled(path)


def test_a_place_known_no_better_than_its_station_is_told_with_all_of_its_range():
    """Contact c14 of the hard log lies 3 m from station 22 by its middle, and is known to 54 m."""
    found = reference("many-units")
    places, more = visits(found.trav, found.diagnostics)
    (near,) = [one for one in places if " c14," in one.task.place.replace("\u00a0", " ")]
    assert near.way.replace("\u00a0", " ").endswith(", 3 m ± 54 m (0–57)")
    (far,) = [one for one in places if " c11," in one.task.place.replace("\u00a0", " ")]
    assert far.way.replace("\u00a0", " ").endswith(", 68 m ± 44 m")
    assert "1\u00a0sd" in more
    assert not any("now ±" in one.task.briefly for one in places)


ONE_LEG = (
    "bearings true\nattitudes dip-direction\nunit A Upper Beds ; Jurassic\nunit B Lower Beds ; Triassic\nat 1\n  unit B\n"
    "to 2 100 {long} level\nalong {at}\n  contact A/B concealed\nat 2\n  unit A\nto 3 190 90m level\n"
)


@pytest.mark.parametrize(
    ("long", "at", "told"),
    [
        # 33 m from the middle: past the near end alone, past both, past neither.
        ("90m", "65m", r"from 2: 280°, 25 m ± (\d+) m \(0–(\d+)\)"),
        ("30m", "10m", r"from 1: 100°, 10 m ± (\d+) m \(0–(\d+)\)"),
        ("300m", "140m", r"from 1: 100°, 140 m ± (\d+) m"),
    ],
)
def test_a_search_names_its_middle_and_ends_where_the_leg_does(long, at, told):
    """The best place is where one goes first, and past the end of the leg is ground of which nothing was said."""
    (place,) = [
        one
        for one in visits(compiled(ONE_LEG.format(long=long, at=at)).trav, ())[0]
        if "Contact" in one.task.place
    ]
    found = re.fullmatch(told, place.way.replace("\u00a0", " "))
    assert found, place.way
    sd, *last = map(int, found.groups())
    assert last in ([], [min(int(long[:-1]), (25 if at == "65m" else 10) + sd)])


@pytest.mark.parametrize("path", logs(["samples", "logs"]), ids=lambda path: path.stem)
def test_every_task_sends_people_to_a_place_and_names_no_line_of_the_log(path):
    """What is mended at the desk is told by the report; a list to carry out has what can be done outdoors."""
    found = reference(path.stem)
    assert found.trav is not None
    for task in to_check(found.trav, gather(found.trav), found.diagnostics):
        assert task.at or task.place == "Pace" or task.place.startswith("Section"), task.place
        assert not re.search(r"\blines? \d", task.place + task.reason), task
        assert "mended" not in task.do


def test_a_party_that_does_not_fit_is_asked_for_what_can_be_done_outdoors():
    found = reference("party-aside")
    (task,) = [
        one for one in to_check(found.trav, gather(found.trav), found.diagnostics) if "Walk of" in one.place
    ]
    assert task.place == "Walk of E, tied at A-3"
    assert task.do == "Hold its compass beside another, and walk one of its legs again."


def test_a_sheet_without_a_place_to_look_at_claims_no_more():
    """One stop in the rain is no walk that was looked over and found good."""
    found = reference("nothing-but-a-stop")
    places, more = visits(found.trav, found.diagnostics)
    said = {one.text for one in tomorrow_strip(places, more=more, width=200.0).items if isinstance(one, Text)}
    assert "no reading stands out; what nobody read is not checked" in said


def tasks_of(name):
    found = reference(name)
    return to_check(found.trav, gather(found.trav), found.diagnostics)


def test_what_structure_leaves_open_is_asked_for():
    """Structure says that a place beside the line would tell; so somebody is sent there."""
    text = "notation 1\nbearings true\nunit Bb Upper ;\nunit Aa Lower ;\nat 1\ncontact Bb/Aa certain\n"
    text += "".join(f"to {at} 090 100m level\ncontact Bb/Aa certain\n" for at in (2, 3))
    found = compile_log(Source(name="day.trav", text=text), load=lambda _: b"")
    tasks = to_check(found.trav, gather(found.trav), found.diagnostics)
    assert any("strike and dip stay open" in one.why for one in tasks)
    assert any("no unit was named" in one.why for one in tasks_of("no-units"))


def test_a_bed_on_a_leg_is_none_of_the_station_that_the_leg_starts_from():
    """The wash has its bed at 20p on leg 2-3; at 2 and 3 there is rock, and no attitude."""
    tasks = tasks_of("copperjar-wash")
    (tops,) = [one for one in tasks if one.why.startswith("no way-up seen")]
    assert tops.place.replace("\u00a0", " ") == "Stations 1, 5, 6 and 7; leg 2–3, 20p, 8p left"
    (rock,) = [one for one in tasks if one.why.startswith("rock but no attitude")]
    assert rock.at == ("2", "3", "7a", "8")


def test_nobody_is_asked_for_the_beds_of_loose_gravel():
    """Station 6 of the glen stands on terrace gravel."""
    found = [one for one in tasks_of("oskerra-valley") if one.why.startswith("rock but no attitude")]
    assert all("6" not in one.at for one in found)


def test_a_body_booked_on_a_leg_without_walls_has_a_way():
    found = reference("intrusive-bodies")
    (place,) = visits(found.trav, found.diagnostics)[0]
    assert place.way.replace("\u00a0", " ") == "from 6: 274°, 39 paces"


def test_the_strip_tells_the_cause_of_a_party_aside():
    found = reference("party-aside")
    places, more = visits(found.trav, found.diagnostics)
    said = " ".join(texts(tomorrow_strip(places, more=more, width=192.0, lines=4).items))
    assert "declination applied twice" in said
    assert "Hold its compass" in said


@pytest.mark.parametrize("path", logs(["samples", "logs"]), ids=lambda path: path.stem)
def test_every_place_tells_why_or_what_to_do_in_the_shortest_strip_too(path):
    """A row of a place and a way alone sends somebody up a hill who doesn't know what for."""
    found = reference(path.stem)
    places, more = visits(found.trav, found.diagnostics)
    for width in (88.0, 128.0, 190.0, 277.0):
        for lines in (4, 2, 0):
            block = tomorrow_strip(places, more=more, width=width, lines=lines, whole="on sheet 2")
            said = plain_words(texts(block.items))
            for task in (one.task for one in places):
                words = [one for one in (task.why, task.briefly, task.do) if one]
                assert any(plain_words([one])[:12] in said for one in words), (width, lines, task.place)


def plain_words(parts):
    return re.sub(r"\s+", " ", " ".join(parts)).lower()


@pytest.mark.parametrize(("last", "alternatives"), [("-6", False), ("+6", True)])
def test_readings_of_two_closures_are_no_alternatives_to_each_other(last, alternatives):
    """One loop fails in plan; the other, if its last slope lost its sign, in height: both slips are real."""
    log = f"""notation 1
bearings true
precision bearing 1, slope 1, tape 1%
at 1
to 2 000 200m level
to 3 090 217m level
to 4 180 200m level
close 1 270 317m level
at 1
to 5 270 200m +8
to 6 000 170m -6
to 7 090 200m -8
close 1 180 170m {last}
"""
    found = compile_log(Source(name="two.trav", text=log), load=lambda path: b"")
    reasons = [one.why for one in to_check(found.trav, gather(found.trav), found.diagnostics)]
    assert any("A hundred left out" in why for why in reasons)
    assert any("readings that would each explain it" in why for why in reasons) == alternatives


def test_a_strip_without_a_place_says_so_where_the_page_has_questions_left():
    """The younger unit of a contact named second is mended at the desk: nobody is sent out, and something is asked."""
    text = (
        "notation 1\ntraverse Ferrow Cleeve\ndate 2026-05-11\nparty NN Nora Nash\nbearings true\nattitudes dip-right\n"
        "unit Ta Tarn Clay ; Paleogene\nunit Sc Scar Sandstone ; Cretaceous\n\n"
        "at 1\n  unit Ta\n  bed 190/20\nto 2 080 50m back 260\nalong 20m\n  contact CONTACT certain\n\nat 2\n  unit Sc\n  bed 190/21\n"
    )
    strips = []
    for contact in ("Ta/Sc", "Sc/Ta"):
        found = compile_log(
            Source(name="walk.trav", text=text.replace("CONTACT", contact)), load=lambda _: b""
        )
        places, more = visits(found.trav, found.diagnostics)
        assert not places, [one.task for one in places]
        strips.append(more)
    assert "stands out" in strips[0]
    assert strips[1] == "no place to go back to; 1 question to the page is open"


def test_a_question_of_a_reading_comes_before_the_worst_of_sound_sights():
    """Three legs whose ends differ by what sound ones may kept a wrong unit off sheet 1."""
    found = compiled(
        "bearings true\nunit Sh Shale ; Jurassic\nunit Lt Limestone ; Triassic\nat 1\n  unit Sh\n"
        "to 2 000 100m back 184\n  unit Sh\nto 3 090 100m back 274\n  unit Lt\nto 4 180 100m back 004\n  unit Sh\n"
    )
    asked = {one.span.line for one in found.diagnostics if one.kind == "warning"}
    tasks = to_check(found.trav, gather(found.trav), found.diagnostics)
    sights = [index for index, one in enumerate(tasks) if one.place.endswith("both ends")]
    units = [index for index, one in enumerate(tasks) if one.span is not None and one.span.line == 11]
    assert (11 in asked, len(sights), len(units)) == (True, 3, 1)
    assert units[0] < sights[0]


@pytest.mark.parametrize(("legs", "back", "told"), [(1, 183, False), (1, 184, True), (19, 184, False)])
def test_ends_that_differ_as_those_of_sound_legs_do_send_nobody_back(legs, back, told):
    """Of many legs the worst differs by more: of twenty good to 1° by 4° on one sound walk in ten."""
    more = "".join(f"to {at} 090 100m back 270\n" for at in range(3, legs + 3))
    found = compiled(f"bearings true\nat 1\nto 2 000 100m back {back}\n{more}")
    tasks = to_check(found.trav, gather(found.trav), found.diagnostics)
    assert any(one.place.endswith("both ends") for one in tasks) == told


def test_a_leg_that_is_not_on_the_page_stands_first():
    """4 and 5 lie on one line, so that slips of other legs close as well as the lost one."""
    legs = "to 2 000\nto 3 090\nto 4 180\nto 6 270\nto 7 270 40m\nto 8 090 40m\nclose 1 000\n"
    rows = "".join(f"{row}\n" if row.endswith("m") else f"{row} 100m\n" for row in legs.splitlines())
    found = compiled(f"bearings true\ndistances metres\nat 1\n{rows}")
    places, _ = visits(found.trav, found.diagnostics)
    assert len(places) > 1
    first = places[0].task
    assert (first.span.line, first.at) == (9, ("4", "6"))
    assert "Look on the page for 5" in first.do
    assert found.survey.suspects[0].left_out == "5"


@pytest.mark.parametrize(
    ("legs", "also"), [(1, ""), (2, "; the other likewise"), (3, "; the others likewise")]
)
def test_of_one_kind_the_first_is_told_and_how_many_others(legs, also):
    """Contacts that are missing; a reading among words is typed again at the desk, and sends nobody out."""
    units = ["Sh", "Lt", "Cg", "Gn"]
    listed = "".join(f"unit {unit} Rock {unit} ;\n" for unit in units)
    walk = "".join(f"to {at + 1} 000 100m\n  unit {units[at]}\n" for at in range(1, legs + 1))
    found = compiled(
        f"bearings true\nattitudes dip-right\n{listed}at 1\n  unit Sh\n  rock grey, bed 142/38\n{walk}"
    )
    assert [one.code for one in found.diagnostics].count("reading-noted") == 1
    reasons = [one.why for one in to_check(found.trav, gather(found.trav), found.diagnostics)]
    assert not any("nothing is drawn" in why.lower() for why in reasons)
    (missing,) = [why for why in reasons if "no contact" in why]
    assert missing.endswith(f"half-way{also}.")
