"""A section through beds of one strike, askew to it: the units under its line, in their order, are those of the ground."""

import math
import re
from dataclasses import replace
from itertools import groupby, pairwise

import numpy as np
import pytest

from tests.invented.judge import compiled_walk
from tests.invented.models import make
from tests.invented.walker import walked
from tests.thorough import some
from traverse.compile import compile_log
from traverse.log.records import Projection
from traverse.source import Source
from traverse.structure.section.records import PointKind

UNITS = ("Sa", "Ls", "Sh")
"""The oldest first."""
STRIKE_DEG, DIP_DEG = 40.0, 35.0
CORNERS = ((0.0, 0.0), (200.0, 0.0), (200.0, 120.0), (0.0, 120.0))
BORDERS_M = (31.0, 69.0)
"""Of the units, level and square to the strike from the first corner."""


def _across_m(east, north):
    """How far toward the dip a place lies."""
    way = math.radians(STRIKE_DEG + 90.0)
    return east * math.sin(way) + north * math.cos(way)


def _true_unit(east, north):
    return UNITS[int(np.searchsorted(BORDERS_M, _across_m(east, north)))]


def walk(section, *, read_deg=lambda: STRIKE_DEG):
    """A rectangle walked round level ground, each bed read as `read_deg` says."""
    lines = ["notation 1", "bearings true", "attitudes dip-right", "pace 1 m", section]
    lines += ["unit Sh Upper ; Jurassic", "unit Ls Middle ; Jurassic", "unit Sa Lower ; Triassic"]

    def plane():
        return f"{round(read_deg()) % 360:03d}/{DIP_DEG:.0f}"

    for index, (start, end) in enumerate(zip(CORNERS, CORNERS[1:] + CORNERS[:1], strict=True)):
        lines += [f"at {index + 1}", f"unit {_true_unit(*start)}", f"bed {plane()}"]
        way = np.subtract(end, start)
        long_m = float(np.hypot(*way))
        azimuth = round(math.degrees(math.atan2(*way))) % 360
        lines.append(f"{'close 1' if index == 3 else f'to {index + 2}'} {azimuth:03d} {long_m:.0f}m level")
        met = []
        for border_m, (older, younger) in zip(BORDERS_M, pairwise(UNITS), strict=True):
            first, last = _across_m(*start), _across_m(*end)
            share = (border_m - first) / (last - first)
            if 0.0 < share < 1.0:
                met.append((share * long_m, f"contact {younger}/{older} certain {plane()}"))
        for at_m, said in sorted(met):
            lines += [f"along {at_m:.1f}m", said]
    return "\n".join(lines) + "\n"


def compiled(text):
    """Its sections."""
    found = compile_log(Source(name="askew.trav", text=text), load=lambda name: b"")
    assert found.geology is not None
    return found


def order(section):
    """Units of the ground from the first end to the last, each run once."""
    return [unit for unit, _ in groupby(one.unit for one in section.profile) if unit is not None]


def true_order(section, unit):
    """The same, as they lie."""
    line = np.array(section.line)
    shares = np.linspace(0.0, 1.0, 400)[:, None]
    return [one for one, _ in groupby(unit(*place) for place in line[0] + shares * (line[-1] - line[0]))]


TURNS = (10, 20, 30, 40, 50, 60, 70, 80, 89, 100, 115, 130, 145, 160, 170)
"""Degrees from the strike to the line."""


@pytest.mark.every(2)
@pytest.mark.parametrize("turn_deg", some(TURNS, 3))
def test_no_unit_of_a_homocline_comes_twice(turn_deg):
    azimuth = round(STRIKE_DEG + turn_deg) % 360
    for station in (1, 3, 4):
        text = walk(f"section A-A' {azimuth:03d} through {station}")
        (section,) = compiled(text).geology.sections
        assert order(section) == true_order(section, _true_unit)


@pytest.mark.every(3)
@pytest.mark.parametrize("turn_deg", some([0, 1, 4, 6, *TURNS, 176, 179], 4))
def test_nor_where_its_strike_is_read_with_errors(turn_deg):
    rng = np.random.default_rng(turn_deg)
    azimuth = round(STRIKE_DEG + turn_deg) % 360
    for _ in range(5):
        text = walk(
            f"section A-A' {azimuth:03d} through 4", read_deg=lambda: STRIKE_DEG + 4.0 * rng.standard_normal()
        )
        (section,) = compiled(text).geology.sections
        found = order(section)
        assert found == [one for one in UNITS if one in found]


def _limits(section):
    return [one.sentence for one in section.limits if one.code == "section-off-map"]


def test_a_section_asked_to_be_carried_square_says_that_it_disagrees_with_the_map():
    (section,) = compiled(walk("section A-A' 090 through 4, project square")).geology.sections
    assert section.projection is Projection.SQUARE
    (said,) = _limits(section)
    assert said.startswith("Section A–A′ and the map disagree: it is carried square")
    assert "all beds strike 040°" in said
    (square,) = compiled(walk("section A-A' 130 through 4, project square")).geology.sections
    assert _limits(square) == []


def test_a_line_askew_is_carried_along_the_strike_and_joins_each_contact():
    (section,) = compiled(walk("section A-A' 090 through 4")).geology.sections
    assert section.projection is Projection.STRIKE
    at = {}
    for point in section.points:
        if point.kind is PointKind.CONTACT:
            at.setdefault(point.label, []).append(point.distance_m)
    assert {label: len(met) for label, met in at.items()} == {"Sh/Ls": 2, "Ls/Sa": 2}
    for met in at.values():
        assert max(met) - min(met) < 1.0


def test_across_a_fault_beds_of_one_strike_are_carried_along_it_each_on_its_own_side():
    """Carried square, four fifths of the ground were coloured as another unit."""
    model = make("fault", 2)
    walk_of = walked(model, shape="loop", heights=False, askew=True)
    found = compiled_walk(walk_of)
    assert found.geology is not None, found.diagnostics
    section = found.geology.sections[-1]
    assert section.projection is Projection.STRIKE
    start, end = (np.array(at) - walk_of.origin[:2] for at in section.line)
    told = [one for one in section.profile if one.unit is not None]
    places = [start + one.distance_m / section.length_m * (end - start) for one in told]
    true = [model.unit(*place, float(model.ground(*place)[0, 2])) for place in places]
    assert len(told) > 0.9 * len(section.profile)
    assert np.mean([one.unit != unit for one, unit in zip(told, true, strict=True)]) < 0.05


@pytest.mark.every(4)
@pytest.mark.parametrize("seed", some(range(4, 8), 2))
@pytest.mark.parametrize("turn_deg", [20, 45, 65, 120])
def test_a_loop_walked_with_ordinary_errors_keeps_the_order_of_its_units(seed, turn_deg):
    """Over hills a unit may come out twice in truth; none comes out oftener than it does."""
    model = make("homocline", seed)
    walk_of = walked(model, shape="loop")
    azimuth = round(model.across_deg + 90.0 + turn_deg) % 360
    lines = [line for line in walk_of.text.splitlines() if not line.startswith("section ")]
    lines.append(f"section A-A' {azimuth:03d} through 1")
    found = compiled_walk(replace(walk_of, text="\n".join(lines) + "\n"))
    assert found.geology is not None, found.diagnostics
    (section,) = found.geology.sections
    origin = walk_of.origin

    def unit(east, north):
        east, north = east - origin[0], north - origin[1]
        return model.unit(east, north, float(model.ground(east, north)[0, 2]))

    drawn, true = order(section), true_order(section, unit)
    assert all(drawn.count(one) <= max(1, true.count(one)) for one in drawn), (drawn, true)


@pytest.mark.every(3)
@pytest.mark.parametrize("station", [2, 4])
@pytest.mark.parametrize("turn_deg", [36, 45, 60, 115, 130])
def test_it_says_how_far_a_contact_lies_off_the_map(turn_deg, station):
    """From its foot to where its strike meets the line; where that is beyond an end, as far as to the nearer end."""
    azimuth_deg = round(STRIKE_DEG + turn_deg) % 360
    (section,) = compiled(
        walk(f"section A-A' {azimuth_deg:03d} through {station}, project square")
    ).geology.sections
    start, end = (np.array(at) for at in (section.line[0], section.line[-1]))
    way = (end - start) / section.length_m
    strike = np.array((math.sin(math.radians(STRIKE_DEG)), math.cos(math.radians(STRIKE_DEG))))
    far_m = 0.0
    for point in section.points:
        if point.contact is not None:
            place = np.array((point.contact.place.east_m, point.contact.place.north_m)) - start
            foot = float(place @ way)
            met, _ = np.linalg.solve(np.stack((way, -strike), axis=1), place)
            beyond = not 0.0 <= met <= section.length_m
            far_m = max(far_m, min(foot, section.length_m - foot) if beyond else abs(met - foot))
    (said,) = _limits(section)
    assert float(re.search(r"lies up to (\d+)\sm off", said)[1]) == pytest.approx(far_m, abs=1.0)
