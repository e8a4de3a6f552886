"""A page in a grid whose north is 37° off, beside the same page in no grid: what is true of the ground is the same in both.

The start lies where the grid is true to scale and at sea level, so that the one is the other turned by the convergence.
What forgets the convergence, or turns by it the wrong way, differs by 37° or 74° and in every length that hangs on a dip.
"""

import json
import math
import re
from pathlib import Path

import numpy as np
import pytest
import shapely
from pyproj import Proj, Transformer

from tests.oracle.turned_page import EPSG, START
from tests.thorough import some
from traverse.compile import compile_log, map_ground
from traverse.output.json_file import write_json
from traverse.sheet.said.sentences import misclosure
from traverse.source import Source

ROOT = Path(__file__).parents[2]
LOGS = [
    ROOT / name
    for name in (
        "tests/reference/logs/faults.trav",
        "tests/reference/logs/intrusive-bodies.trav",
        "tests/reference/logs/many-units.trav",
        "tests/reference/logs/plunging-fold.trav",
        "tests/reference/logs/unconformity.trav",
        "samples/copperjar-wash/copperjar-wash.trav",
        "samples/oskerra-valley/oskerra-valley.trav",
    )
]
DEG, SHARE = 0.06, 0.002
"""The convergence is 0.02° another within a kilometre."""
PLACES = {
    "east",
    "north",
    "lon",
    "lat",
    "raw",
    "adjusted",
    "convergence",
    "grid",
    "q",
    "q_up",
    "ratio",
    "ellipse",
    "sd",
}
TURNS = {"azimuth", "strike", "dip_direction", "trend"}


def both(path):
    """A log without grid and height grid, and the same in the grid."""
    text = path.read_text("utf-8")
    for part in path.parent.glob("*.trav"):
        text = re.sub(rf"(?m)^use +{part.name}.*$", lambda _, part=part: part.read_text("utf-8"), text)
    # Else its width hangs on how far the walk reaches along the axes of the map.
    text = re.sub(r"(?m)^sheet .*\n", "", text) + "sheet band 20 m\n"
    start = re.search(r"(?m)^at +(\S+)", text)[1]
    text = re.sub(r"(?m)^(grid|control|terrain|trace|use)\b.*\n(\s*(checked|was).*\n)?", "\n", text)
    grid = f"grid EPSG:{EPSG}\ncontrol {start} {START[0]:.0f} E {START[1]:.0f} N 0 m\n"
    return text + f"control {start} 0 E 0 N 0 m\n", text + grid


def compiled(text):
    found = compile_log(Source(name="day.trav", text=text), load=None)
    assert not found.failed, [one.message for one in found.diagnostics if one.kind == "error"]
    return map_ground(found.trav), json.loads(write_json(found.log, found.trav, found.diagnostics))


@pytest.fixture(scope="module", params=some(LOGS, 2), ids=lambda path: path.stem)
def pair(request):
    return [compiled(text) for text in both(request.param)]


def convergence():
    lon, lat = Transformer.from_crs(EPSG, 4617, always_xy=True).transform(*START)
    factors = Proj(EPSG).get_factors(lon, lat)
    assert factors.meridional_scale == pytest.approx(1.0, abs=2e-5)
    return factors.meridian_convergence


def differences(one, other, at=""):
    """Where two parts of the JSON differ, places in the plane left out."""
    if isinstance(one, dict):
        for name in one.keys() - PLACES:
            yield from differences(one[name], other[name], f"{at} {name}")
    elif isinstance(one, list):
        if len(one) != len(other):
            yield f"{at}: {len(one)} and {len(other)}"
        for index, (first, second) in enumerate(zip(one, other, strict=False)):
            yield from differences(first, second, f"{at} {index}")
    elif isinstance(one, str):
        # Words round what was worked out, and halves of a degree may go either way.
        if re.sub(r"[\d.]+", "", one) != re.sub(r"[\d.]+", "", str(other)):
            yield f"{at}: {one!r} and {other!r}"
    elif isinstance(one, float | int) and isinstance(other, float | int):
        if at.split()[-1] in TURNS:
            apart = abs((one - other + 90.0) % 180.0 - 90.0)
            far = apart > DEG
        else:
            far = abs(one - other) > DEG + SHARE * abs(one)
        if far:
            yield f"{at}: {one} and {other}"
    elif one != other:
        yield f"{at}: {one} and {other}"


@pytest.mark.parametrize(
    "part",
    ["legs", "attitudes", "contacts", "things", "thicknesses", "bodies", "column", "structure", "sections"],
)
def test_what_is_true_is_the_same(pair, part):
    (_, plain), (_, turned) = pair
    assert list(differences(plain.get(part, []), turned.get(part, []), part)) == []


@pytest.mark.every(2)
@pytest.mark.parametrize("stem", ["faults", "plunging-fold", "copperjar-wash"])
def test_the_section_that_no_log_asks_for_is_the_same(stem):
    """Square to the strike, whatever the grid's north."""
    (path,) = [one for one in LOGS if one.stem == stem]
    found = [compiled(re.sub(r"(?m)^section .*\n(\s*checked.*\n)?", "\n", text))[0] for text in both(path)]
    (plain,), (turned,) = ([one for one in each.geology.sections if one.booked is None] for each in found)
    assert plain.azimuth_deg == pytest.approx(turned.azimuth_deg, abs=DEG)
    assert plain.length_m == pytest.approx(turned.length_m, rel=SHARE)


def test_what_is_said_of_a_loop_counts_from_true_north(pair):
    told = [
        [misclosure(one, each.survey, each.log.lengths) for one in each.survey.closures] for each, _ in pair
    ]
    toward = [[int(found[1]) for one in said if (found := re.search(r"toward (\d+)", one))] for said in told]
    assert len(toward[0]) == len(toward[1])
    assert all(abs((one - other + 180) % 360 - 180) <= 2 for one, other in zip(*toward, strict=True))


def test_the_ground_is_the_same_turned(pair):
    """Units, contacts, folds, courses and joins lie where they did, turned about the start by the convergence."""
    (plain, _), (turned, _) = pair
    turn = math.radians(convergence())

    def moved(points):
        east, north = np.asarray(points, dtype=float).reshape(-1, 2).T
        return np.stack(
            (
                START[0] + east * math.cos(turn) - north * math.sin(turn),
                START[1] + east * math.sin(turn) + north * math.cos(turn),
            ),
            axis=1,
        )

    def held(first, second):
        assert len(first) == len(second)
        there = [shapely.transform(one, moved) for one in first]
        for one, other in zip(there, second, strict=True):
            assert one.length == pytest.approx(other.length, rel=0.01, abs=1.0)
            assert one.area == pytest.approx(other.area, rel=0.02, abs=5.0)
        off = [one.hausdorff_distance(other) for one, other in zip(there, second, strict=True)]
        # A line that was computed between two arms has its corners elsewhere.
        assert not off or (np.quantile(off, 0.8) < 1.0 and max(off) < 3.0)

    def areas(each):
        found = sorted(each.ground.map.band.areas, key=lambda one: (str(one.unit), one.covered, one.queried))
        return [shapely.MultiPolygon(one.parts) for one in found]

    held(areas(plain), areas(turned))
    held(*([one.line for one in each.ground.map.band.crossed] for each in (plain, turned)))
    held(*([one.line for one in each.ground.map.courses] for each in (plain, turned)))
    for drawn in (lambda ground: ground.map.folds, lambda ground: ground.joins):
        held(
            *(
                [shapely.LineString(line) for one in drawn(each.ground) for line in one.lines]
                for each in (plain, turned)
            )
        )
    for one, other in zip(plain.ground.cuts, turned.ground.cuts, strict=True):
        flat = [{}, {}]
        for cut, by_unit in zip((one, other), flat, strict=True):
            for fill in cut.fills:
                by_unit[fill.unit] = by_unit.get(fill.unit, 0.0) + fill.area.area
        assert flat[0] == pytest.approx(flat[1], rel=0.02, abs=20.0)


FIGURE = re.compile(r"\d+(?:\.\d+)?")
LOOP = """bearings {north}
declination 8.5 E, 2026, chart
pace double 1.52 m
precision bearing 1.5
control 1 {east:.0f} E {up:.0f} N 0 m
at 1
to 2 041 66p back 222
to 3 107 58.5p back 286
to 4 166 81p back 347
to 5 272 99p
close 1 337 45p back 157.5
"""


@pytest.mark.parametrize("north", ["magnetic", "true"])
@pytest.mark.parametrize(
    ("right", "wrong"),
    [("58.5p", "38.5p"), ("272", "282"), ("166", "346"), ("81p", "18p"), ("337 45p", "337 145p")],
)
def test_what_is_asked_of_a_loop_that_fails_is_the_same(north, right, wrong):
    """The reading, what it would be, and what a sight that decides would read: none of them knows of the grid."""
    told = []
    for grid, (east, up) in (("", (0.0, 0.0)), (f"grid EPSG:{EPSG}\n", START)):
        text = grid.join(("notation 1\n", LOOP.replace(right, wrong).format(north=north, east=east, up=up)))
        if north == "true":
            text = text.replace("declination 8.5 E, 2026, chart\n", "")
        found = compile_log(Source(name="day.trav", text=text), load=None)
        told.append([word for one in found.diagnostics for word in (one.code, one.message, *one.hints)])
    assert {"closure-fails", "fore-back-reversed"} & {*told[0]}
    assert len(told[0]) == len(told[1])
    for one, other in zip(*told, strict=True):
        assert FIGURE.sub("", one) == FIGURE.sub("", other)
        for figure, same in zip(FIGURE.findall(one), FIGURE.findall(other), strict=True):
            assert float(same) == pytest.approx(float(figure), abs=1.0), (one, other)
