"""Every figure of a whole day against what is true of it: places, legs, iron, attitudes, photos, sights, sections."""

import json
import math

import pytest

from tests.oracle.whole_log import climb, day
from tests.thorough import some
from traverse.compile import compile_log
from traverse.diagnostic import Severity
from traverse.output.json_file import write_json
from traverse.source import Source

PLACE_M = 0.005
"""What the rounding of the readings leaves, and one convergence for the whole day."""
FAR_M = 0.1
"""Of what sights place: they are booked to a thousandth of a degree, and the landmark is up to 1.5 km off."""
ANGLE_DEG = 0.01
SIGHTED = {"Crag", "P", "Q"}
DAYS = range(24)


def off(one, other):
    """By how much two directions differ, degrees."""
    return abs((one - other + 180.0) % 360.0 - 180.0)


@pytest.fixture(scope="module", params=some(DAYS, 2))
def both(request):
    """A day, and what the program makes of its page."""
    true = day(request.param)
    compiled = compile_log(Source(name="day.trav", text=true.text), load=None)
    assert [one.message for one in compiled.diagnostics if one.severity is Severity.ERROR] == []
    return true, json.loads(write_json(compiled.log, compiled.trav, compiled.diagnostics))


def test_places(both):
    true, found = both
    assert {one["name"] for one in found["stations"]} == true.places.keys()
    for one in found["stations"]:
        far = FAR_M if one["name"] in SIGHTED else PLACE_M
        assert [one["east"], one["north"], one["up"]] == pytest.approx(true.places[one["name"]], abs=far)


@pytest.mark.every(2)
@pytest.mark.parametrize("seed", range(6))
def test_heights_by_an_altimeter_that_drifts(seed):
    true = climb(seed)
    compiled = compile_log(Source(name="day.trav", text=true.text), load=None)
    found = json.loads(write_json(compiled.log, compiled.trav, compiled.diagnostics))
    assert "drift" in {one["code"] for one in found["messages"]}
    for one in found["stations"]:
        assert [one["east"], one["north"]] == pytest.approx(true.places[one["name"]][:2], abs=PLACE_M)
        assert one["up"] == pytest.approx(true.places[one["name"]][2], abs=0.03)


def test_convergence_and_iron(both):
    true, found = both
    assert abs(true.convergence) > 1.2
    assert found["traverse"]["convergence"] == pytest.approx(true.convergence, abs=0.002)
    read = {one["station"]: one["degrees"] for one in found["deviations"]}
    assert read == pytest.approx(true.iron, abs=ANGLE_DEG)


def test_legs(both):
    true, found = both
    assert {(one["from"], one["to"]) for one in found["legs"]} == true.legs.keys()
    for one in found["legs"]:
        azimuth, far, rise = true.legs[one["from"], one["to"]]
        assert off(one["azimuth"], azimuth) < ANGLE_DEG
        assert (one["horizontal"], one["rise"]) == pytest.approx((far, rise), abs=PLACE_M)


def test_attitudes_in_every_rule_of_writing(both):
    true, found = both
    by_line = {one["line"]: one for one in found["attitudes"]}
    assert by_line.keys() == true.planes.keys() | true.trends.keys()
    for line, plane in true.planes.items():
        one = by_line[line]
        assert off(one["strike"], plane.strike) < ANGLE_DEG
        assert off(one["dip_direction"], plane.dip_direction) < ANGLE_DEG
        assert one["dip"] == pytest.approx(plane.dip, abs=ANGLE_DEG)
    for line, (plunge, trend) in true.trends.items():
        assert off(by_line[line]["trend"], trend) < ANGLE_DEG
        assert by_line[line]["plunge"] == pytest.approx(plunge, abs=ANGLE_DEG)


def test_contacts(both):
    true, found = both
    by_line = {one["line"]: one for one in found["contacts"]}
    assert by_line.keys() == true.walls.keys()
    for line, plane in true.walls.items():
        assert off(by_line[line]["strike"], plane.strike) < ANGLE_DEG
        assert by_line[line]["dip"] == pytest.approx(plane.dip, abs=ANGLE_DEG)


def test_what_was_turned_for_iron(both):
    true, found = both
    for one in found["attitudes"]:
        turned = true.iron.get(one["station"])
        assert one["turned_for_iron"] == (None if turned is None else pytest.approx(-turned, abs=ANGLE_DEG))


def test_photos_and_walls(both):
    true, found = both
    looks = {one["line"]: one["azimuth"] for one in found["things"] if one["azimuth"] is not None}
    assert looks.keys() == true.looks.keys()
    assert all(off(looks[line], look) < ANGLE_DEG for line, look in true.looks.items())


def test_sections(both):
    """Distances along the line and from it, and the dip that a plane shows in it."""
    true, found = both
    assert len(found["sections"]) == 2
    for section in found["sections"]:
        azimuth = true.section_azimuth[section["name"]]
        assert off(section["azimuth"], azimuth) < ANGLE_DEG
        in_grid = math.radians(azimuth - true.convergence)
        on_line = true.places["4" if section["name"] == "A-A'" else "2"]
        stations = {one["label"]: one for one in section["points"] if one["what"] == "station"}
        base = stations["4" if section["name"] == "A-A'" else "2"]
        assert base["carried"] == pytest.approx(0.0, abs=PLACE_M)
        for name, one in stations.items():
            if name in SIGHTED:
                continue
            east, north = (true.places[name][axis] - on_line[axis] for axis in (0, 1))
            along = east * math.sin(in_grid) + north * math.cos(in_grid)
            # Seen along the line, what lies on its right is carried by a positive distance.
            aside = east * math.cos(in_grid) - north * math.sin(in_grid)
            assert one["distance"] - base["distance"] == pytest.approx(along, abs=3 * PLACE_M)
            assert one["carried"] == pytest.approx(aside, abs=3 * PLACE_M)
            assert one["up"] == pytest.approx(true.places[name][2], abs=3 * PLACE_M)
        dips = [
            one for one in section["points"] if one["line"] in true.planes and one["apparent_dip"] is not None
        ]
        assert len(dips) >= 8
        for one in dips:
            plane = true.planes[one["line"]]
            assert one["apparent_dip"] == pytest.approx(plane.apparent(azimuth), abs=3 * ANGLE_DEG)
