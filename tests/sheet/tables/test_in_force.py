"""What a log changes on the way is told with the place from which it holds."""

import pytest

from tests.layers.tables import table_of
from traverse.compile import compile_log
from traverse.output.json_file import as_json
from traverse.sheet.legend.foot import foot_line
from traverse.sheet.said.in_force import change_notes
from traverse.sheet.said.stops import gather
from traverse.sheet.tables.full_notes import note_rows
from traverse.sheet.tables.leg_rows import legs_table
from traverse.sheet.tables.station_rows import station_asides, station_rows
from traverse.source import Source

TEXT = """notation 1
date 2026-07-14
party MO Mara Olsen
bearings magnetic
declination 4.7 E, 2026, map margin
attitudes dip-right
pace MO single 0.8 m
unit Sh Reed Shale ; Jurassic

at 1
time 09:05
elevation 212 m ±3 m altimeter
unit Sh
bed 142/30
to 2 047 100p +3
bed 140/31
date 2026-07-15
party MO, JT Jon Tell
bearings true
attitudes dip-direction
pace JT single 0.75 m
pacer JT
at 2
time 08:10
bed 232/30
to 3 137 80p
bed 230/31
close 1 265 130p -2
"""


def compiled(text=TEXT):
    done = compile_log(Source(name="day.trav", text=text), load=lambda path: b"")
    assert not done.failed
    return done


def test_each_change_is_told_with_its_station():
    done = compiled()
    notes = dict(change_notes(done.log, done.survey))
    assert notes == {
        "bearings": "magnetic + 4.7°; from\xa02 true",
        "attitudes": "magnetic north, dip to the right of the strike; from\xa02 true north, dip direction and dip",
    }
    rows = [row.cells for row in note_rows(done.log, done.survey, (), ())]
    assert ("the walk", "bearings", notes["bearings"]) in rows
    assert ("the walk", "times", "1 09:05; 2 08:10") in [
        tuple(cell.replace("station\xa0", "") for cell in row) for row in rows
    ]


def test_tables_and_foot_say_what_held_where():
    done = compiled()
    assert "from\xa02 true north, dip direction and dip" in station_asides(done.log, done.survey)[0]
    aside = legs_table(done.log, done.survey).asides[0]
    assert "Bearings magnetic + 4.7°; from\xa02 true" in aside
    assert "JT: from\xa02 single pace 0.750" in aside
    foot = foot_line(done.log, done.survey, left=0.0, right=400.0, y=0.0, aside="")
    words = " ".join(item.text for item in foot)
    assert "Bearings: magnetic + 4.7°; from\xa02 true." in words
    assert (
        "Attitudes: dip to the right of the strike as written; from\xa02 dip direction before dip." in words
    )


@pytest.mark.parametrize(("unit", "said"), [("feet", ", in metres."), ("metres", ".")])
def test_the_foot_of_a_sheet_in_feet_says_that_its_grid_is_metres(compile_text, unit, said):
    """The figures at the edge of the map would be taken for feet."""
    done = compile_text(f"notation 1\nbearings true\ndistances {unit}\nat 1\nto 2 060 100\n").trav
    (foot,) = foot_line(done.log, done.survey, left=0.0, right=400.0, y=0.0, aside="x")[1:]
    assert f"first station{said}" in foot.text


IRON = """notation 1
bearings magnetic
declination 4.7 E, 2026, map margin
attitudes dip-right
pace 0.75 m
at 1
bed 322/30
to 2 060 100p back 240
to 3 157 100p back 330
iron wire fence beside the outcrop
bed 321/31
to 4 233 100p back 060
bed 318/30
close 1 330 100p back 150
"""


def test_what_was_turned_for_iron_says_so_on_the_sheet():
    done = compiled(IRON)
    [turned] = [one for one in done.survey.deviations if one.station == "3"]
    assert round(turned.degrees) == -7
    assert "Turned for iron, all that was read at 3 by\xa0+7°" in station_asides(done.log, done.survey)[0]
    assert "Turned for iron, bearings read at 3 by\xa0+7°" in legs_table(done.log, done.survey).asides[0]
    rows, keys = station_rows(done.log, done.survey, gather(done))
    written = {row.cells[0]: row.cells[8] for row in rows}
    assert written["3"] == "321/31 (iron: turned\xa0+7°)"
    assert written["4"] == "318/30"
    assert keys
    notes = [row.cells for row in note_rows(done.log, done.survey, (), ())]
    assert any("wire fence beside the outcrop" in cell for cells in notes for cell in cells)


def test_a_log_that_changes_nothing_says_nothing_of_changes():
    done = compiled(TEXT.replace("bearings true\n", "").replace("attitudes dip-direction\n", ""))
    assert list(change_notes(done.log, done.survey)) == []


def test_a_party_named_twice_is_one():
    people = [(one.initials, one.name) for one in compiled().log.heading.party]
    assert people == [("MO", "Mara Olsen"), ("JT", "Jon Tell")]


def test_times_heights_and_units_are_exported():
    done = compiled()
    body = as_json(done.log, done.trav, ())
    assert [(one["station"], one["date"], one["time"]) for one in body["times"]] == [
        ("1", "2026-07-14", "09:05"),
        ("2", "2026-07-15", "08:10"),
    ]
    (height,) = body["elevations"]
    assert (height["station"], height["height"], height["sd"], height["source"], height["time"]) == (
        "1", 212.0, 3.0, "altimeter", "09:05",
    )  # fmt: skip
    assert [one["unit"] for one in body["attitudes"]] == ["Sh"] * 4
    assert table_of("elevations", done.trav).splitlines()[0].startswith("station,time,height,sd,source,line")
