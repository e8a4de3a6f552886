"""What leaves the program as figures carries its cautions."""

import csv
import io
import json

import pytest

from tests.layers.tables import table_of
from traverse.output.json_file import write_json

LOG = """notation 1
traverse Tarn Side, day 1
date 2026-07-14
party MO Mara Olsen
bearings true
grid EPSG:25830
heights metres above the lake
control 1 412350 E 4289020 N 786 m ±4
at 1
hazard ford: deep and fast
to 2 047 64m
to 3 137 40m
close 1 {last}
"""
GOOD, OPEN = LOG.format(last="259 75m"), LOG.format(last="079 75m")


@pytest.fixture
def exported(compile_text):
    def export(text, **more):
        found = compile_text(text, **more)
        return found, json.loads(write_json(found.log, found.trav, found.diagnostics))

    return export


def test_a_loop_left_open_shows_in_every_figure(exported):
    _, good = exported(GOOD)
    assert good["traverse"]["adjustment"] == "compass-rule"
    assert {one["standing"] for one in (*good["stations"], *good["legs"])} == {"adjusted"}
    found, wrong = exported(OPEN)
    assert wrong["traverse"]["adjustment"] == "none"
    assert wrong["cautions"][0] == {"kind": "adjustment", "text": "NOT ADJUSTED."}
    assert {one["standing"] for one in wrong["legs"]} == {"not adjusted"}
    for table in ("stations", "legs"):
        rows = list(csv.DictReader(io.StringIO(table_of(table, found.trav))))
        assert [row["standing"] for row in rows] == [one["standing"] for one in wrong[table]]


def test_the_cautions_are_the_limits_the_hazards_and_whose_rules_come_first(exported):
    _, body = exported(GOOD)
    kinds = [one["kind"] for one in body["cautions"]]
    assert kinds == ["limits", "limits", "limits", "hazard", "local rules"]
    texts = " ".join(one["text"] for one in body["cautions"])
    assert "Not a land survey" in texts
    assert "ford: deep and fast." in texts
    assert "local rules and the leader’s risk assessment come first" in texts


def test_a_log_with_mistakes_in_it_keeps_its_hazards(exported):
    _, body = exported(GOOD.replace("to 3 137", "to 3 N137E"), errors=True)
    assert [one["kind"] for one in body["cautions"]] == ["limits", "hazard", "local rules"]


def test_the_tables_have_one_that_says_whose_they_are(compile_text):
    rows = list(csv.reader(io.StringIO(table_of("about", compile_text(OPEN).trav))))
    said = dict(rows)
    assert said["title"] == "Tarn Side, day 1"
    assert said["date"] == "2026-07-14"
    assert said["party"] == "Mara Olsen"
    assert said["grid"] == "ETRS89 / UTM zone 30N (EPSG:25830)"
    assert said["heights"] == "metres above the lake"
    assert said["adjusted"] == "no adjustment"
    assert said["adjustment"] == "NOT ADJUSTED."
    assert "ford: deep and fast." in said["hazard"]
