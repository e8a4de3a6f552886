"""One page five ways: as booked, turned, in the mirror, in a grid of another north, its section drawn from the other end.

A turned page has every azimuth and strike greater by an angle; in the mirror east is west, and the left of a leg its right.
The ground is the same each time: sections and map turn with the page, or lie in the mirror with it, and nothing else.
"""

import math
import re
from functools import cache

import numpy as np
import pytest
import shapely

from tests.invented.models import KINDS, make
from tests.invented.walker import walked
from tests.oracle.test_turned_grid import compiled
from tests.oracle.turned_page import EPSG, otherwise
from tests.oracle.turned_page import START as IN_GRID
from tests.thorough import some
from traverse.compile import section_ground

SEEDS = range(7)
TURN_DEG = 137
START = np.array([1000.0, 1000.0])
FAR_M = 0.05
"""What rounding of figures on the way may move."""


def turned(text):
    return otherwise(text, lambda azimuth: azimuth + TURN_DEG)


def mirrored(text):
    hands = {"left": "right", "right": "left"}
    text = re.sub(r"(?m)^(along .*)\b(left|right)\b", lambda found: found[1] + hands[found[2]], text)
    return otherwise(text, lambda azimuth: -azimuth)


def reversed_(text):
    return re.sub(r"(?m)^(section A-A' from )(\S+) to ([^,]+)", r"\1\3 to \2", text)


def in_grid(text):
    """True north lies 37° off the grid's."""
    east, north = IN_GRID
    # In place of a line that is not needed, so that all else stays at its own.
    text = re.sub(r"(?m)^date .*$", f"grid EPSG:{EPSG}", text)
    return re.sub(r"(?m)^control 1 .*$", f"control 1 {east:.0f} E {north:.0f} N 0 m", text)


def moved(points, way):
    """Places of the ground as booked, where a page has them."""
    east, north = (np.asarray(points, dtype=float).reshape(-1, 2) - START).T
    if way is mirrored:
        east = -east
    if way is turned:
        turn = math.radians(TURN_DEG)
        cos, sin = math.cos(turn), math.sin(turn)
        east, north = east * cos + north * sin, north * cos - east * sin
    return np.stack((east, north), axis=1) + START


@cache
def laid(kind, seed, way):
    text = walked(make(kind, seed), heights=False).text
    if (kind, seed) in NAMED:
        text = text.replace("unit Sl Unit Sl", "unit Sl Dolerite sill")
    text = re.sub(r"(?m)^control 1 .*$", f"control 1 {START[0]:.0f} E {START[1]:.0f} N 0 m", text)
    found, figures = compiled(way(text) if way else text)
    (cut,) = section_ground(found).ground.cuts
    return found, figures, cut


CASES = [
    (kind, seed, way) for seed in SEEDS for kind in KINDS for way in (turned, mirrored, in_grid, reversed_)
]
USUAL = [
    one for number, one in enumerate(one for one in CASES if one[1] == 3) if number % 4 == number // 4 % 4
]
USUAL = USUAL[::3]
"""Some kinds one way, the ways in turn."""
UNREAD = [("dike", 18), ("dike", 20), ("sill", 4), ("sill", 11), ("sill", 22)]
"""Walks on which nobody read the walls of a crossing whose body was read at another."""
NAMED = [("sill", 11)]
"""By its name it lies along the bed beside it."""
MAPS = [one for one in CASES if one[2] in (turned, mirrored)]
ALONG_THE_WALK = [("fault", 7, turned), ("dike", 9, turned), ("flat", 15, turned), ("homocline", 14, turned)]
"""Walks along a contact, and two places of one wall as far apart as they may be: chance told which way these were drawn."""
WITH_BODIES = [(kind, seed, way) for kind, seed in UNREAD for way in (turned, mirrored, in_grid)]
USUAL_BODIES = [("dike", 18, turned), ("sill", 11, mirrored), ("sill", 22, in_grid)]
"""Each kind, each way, and the one that its name tells."""


@pytest.mark.parametrize(("kind", "seed", "way"), some(WITH_BODIES, USUAL_BODIES))
def test_bodies_are_the_same(kind, seed, way):
    """Also those whose walls were not read, which are told by another crossing."""
    first, second = (laid(kind, seed, each)[0].geology.bodies for each in (None, way))
    assert any(one.as_on for one in first)
    for one, other in zip(first, second, strict=True):
        assert (other.unit, other.through, other.narrow, other.as_on) == (
            one.unit,
            one.through,
            one.narrow,
            one.as_on,
        )
        assert (other.strike_deg is None) == (one.strike_deg is None)
        for name in ("dip_deg", "sd_deg", "width_m", "width_sd_m", "walked_m"):
            assert getattr(other, name) == pytest.approx(getattr(one, name), abs=FAR_M, rel=0.01), name
        if one.strike_deg is not None:
            strike = {turned: one.strike_deg + TURN_DEG, mirrored: 180.0 - one.strike_deg}.get(
                way, one.strike_deg
            )
            assert abs((other.strike_deg - strike + 180.0) % 360.0 - 180.0) < FAR_M


@pytest.mark.parametrize(
    ("kind", "seed", "way"), some(dict.fromkeys([*CASES, *WITH_BODIES]), [*USUAL, *USUAL_BODIES])
)
def test_a_section_shows_the_same_ground(kind, seed, way):
    (_, _, first), (_, _, second) = laid(kind, seed, None), laid(kind, seed, way)
    one, other = first.section, second.section
    sense = -1.0 if way is reversed_ else 1.0
    hand = 1.0 if way in (turned, in_grid) else -1.0
    long = one.length_m
    assert other.length_m == pytest.approx(long, abs=FAR_M)

    def there(distance_m):
        return distance_m if sense > 0.0 else long - distance_m

    def points(section):
        return {(point.kind, point.span.line, point.span.column): point for point in section.points}

    seen = points(other)
    assert len(points(one)) == len(one.points) == len(other.points)
    for key, point in points(one).items():
        same = seen[key]
        assert same.distance_m == pytest.approx(there(point.distance_m), abs=FAR_M)
        assert same.up_m == pytest.approx(point.up_m, abs=FAR_M)
        assert hand * same.carried_m == pytest.approx(point.carried_m, abs=FAR_M)
        assert (same.beside, same.counts) == (point.beside, point.counts)
        if point.apparent_dip_deg is not None:
            off = abs(sense * same.apparent_dip_deg - point.apparent_dip_deg) % 180.0
            assert min(off, 180.0 - off) < FAR_M
        if point.sd_m is not None:
            assert same.sd_m == pytest.approx(point.sd_m, rel=0.01, abs=FAR_M)
    sampled = one.profile, other.profile if sense > 0.0 else other.profile[::-1]
    for was, now in zip(*sampled, strict=True):
        assert now.distance_m == pytest.approx(there(was.distance_m), abs=FAR_M)
        assert now.up_m == pytest.approx(was.up_m, abs=FAR_M)
        assert now.unit == was.unit
    assert len(one.bodies) == len(other.bodies)
    for body, same in zip(one.bodies, other.bodies, strict=True):
        for side, again in zip(body.sides, same.sides if sense > 0.0 else same.sides[::-1], strict=True):
            assert (side is None) == (again is None)
            if side is not None:
                assert again.at == pytest.approx((there(side.at[0]), side.at[1]), abs=FAR_M)
                assert again.way == pytest.approx((sense * side.way[0], side.way[1]), abs=1e-3)
    flat = lambda shape: shapely.transform(shape, lambda at: np.column_stack((there(at[:, 0]), at[:, 1])))  # noqa: E731
    for parts, name in (
        (lambda cut: [(fill.unit, fill.area) for fill in cut.fills], "ground"),
        (
            lambda cut: [
                ((line.of.kind, line.of.younger, line.of.older), part)
                for line in cut.lines
                for part in line.below
            ],
            "lines",
        ),
        (lambda cut: [("edge", edge) for edge in cut.edges], "edges"),
        (
            lambda cut: [
                (("axial", one.hinge), shapely.LineString(one.points))
                for one in cut.section.construction.axial
            ],
            "axial traces",
        ),
    ):
        whole = [{}, {}]
        for cut, by_name in zip((first, second), whole, strict=True):
            for key, shape in parts(cut):
                by_name.setdefault(key, []).append(flat(shape) if cut is first else shape)
        assert whole[0].keys() == whole[1].keys(), name
        for key, shapes in whole[0].items():
            was, now = shapely.union_all(shapes), shapely.union_all(whole[1][key])
            assert was.symmetric_difference(now).area < 0.5 + 0.003 * was.area, (name, key)
            assert was.hausdorff_distance(now) < 2.0, (name, key)


@pytest.mark.parametrize(
    ("kind", "seed", "way"),
    some([*MAPS, *ALONG_THE_WALK], [*(one for one in MAPS if one in USUAL), *ALONG_THE_WALK[::2]]),
)
def test_the_map_shows_the_same_ground(kind, seed, way):
    (first, _, _), (second, _, _) = laid(kind, seed, None), laid(kind, seed, way)

    def parts(each):
        for area in each.ground.map.band.areas:
            for part in area.parts:
                yield (area.unit, area.covered, area.queried), part
        for line in each.ground.map.band.crossed:
            yield "crossed", line.line
        for name, drawn in (("fold", each.ground.map.folds), ("join", each.ground.joins)):
            for one in drawn:
                for line in one.lines:
                    yield name, shapely.LineString(line)

    whole = [{}, {}]
    for each, by_name in zip((first, second), whole, strict=True):
        for key, shape in parts(each):
            by_name.setdefault(key, []).append(
                shapely.transform(shape, lambda at: moved(at, way)) if each is first else shape
            )
    assert whole[0].keys() == whole[1].keys()
    for key, shapes in whole[0].items():
        was, now = shapely.union_all(shapes), shapely.union_all(whole[1][key])
        assert was.symmetric_difference(now).area < 1.0 + 0.005 * was.area, key
        assert was.length == pytest.approx(now.length, rel=0.01, abs=1.0), key


TOLD = (
    "legs", "attitudes", "contacts", "things", "thicknesses", "bodies", "column", "structure", "sections", "messages",
)  # fmt: skip
TURNING = {"azimuth", "dip_direction", "trend", "strike"}
LEFT_OUT = {"raw", "adjusted", "written", "sd", "lon", "lat", "east", "north", "column"}
"""Places are held in the map; a line with another figure has other columns."""
UNORDERED = {"limbs", "rests_on", "findings", "sentences"}
"""Told from the west to the east, or from the north to the south, whichever way the page is turned."""
EXCHANGED = re.compile("two digits exchanged")
"""A hint of the figures as typed: those of a turned page have other digits to exchange (234 is 243, but 126 is no 117)."""
ON_THE_EDGE = [("plunging", 0)]
"""A fold that one bed more or less makes."""
AS_WALKED = [("fault", 2, turned), ("fault", 2, mirrored), ("valley", 1, turned), ("dome", 1, mirrored)]
"""Units that come again: which is named first was told by the points of the compass."""
NAMES = {"north": 0.0, "east": 90.0, "south": 180.0, "west": 270.0}
FIGURE = re.compile(
    r"\b((?:north|south|east|west)[a-z-]*(?: to (?:north|south|east|west)[a-z-]*)?)|(\d+(?:\.\d+)?)"
)


def azimuth_in(way, azimuth_deg):
    return {turned: azimuth_deg + TURN_DEG, mirrored: -azimuth_deg}.get(way, azimuth_deg)


def apart_deg(one, other, whole=360.0):
    return abs((one - other + whole / 2.0) % whole - whole / 2.0)


def _toward(words):
    """The middle of one or two points of the compass."""
    at = np.radians([NAMES[one] for one in re.split(r"-| to ", words)])
    return math.degrees(math.atan2(np.sin(at).sum(), np.cos(at).sum()))


def as_told(was, now, way):
    """Whether words say the same of the page that was turned: directions with it, and all other figures as they are."""
    if way is mirrored:
        hands = {"left": "right", "right": "left"}
        now = re.sub(r"\b(left|right)\b(?! off)", lambda found: hands[found[1]], now)
    if FIGURE.sub("", was) != FIGURE.sub("", now):
        return False
    for (words, figure), (again, same) in zip(FIGURE.findall(was), FIGURE.findall(now), strict=True):
        if bool(words) != bool(again):
            return False
        if words:
            if apart_deg(azimuth_in(way, _toward(words)), _toward(again)) > 45.0:
                return False
            continue
        place = 10.0 ** -len(figure.partition(".")[2])
        if abs(float(figure) - float(same)) <= 2.0 * place + 0.01 * float(figure):
            continue
        # A strike has two ends; which of them it is the figures tell.
        if len(figure) != 3 or apart_deg(azimuth_in(way, float(figure)), float(same), 180.0) > 2.0:
            return False
    return True


def _sorted_by(one):
    words = one.get("words", "") if isinstance(one, dict) else one
    return (FIGURE.sub("", words), 0.0) if words else ("", one.get("dip", one.get("line")))


def otherwise_told(was, now, way, at=""):
    """Where two parts of the JSON differ by more than the page was turned."""
    name = at.rpartition(" ")[2]
    if isinstance(was, dict):
        if was.keys() != now.keys():
            yield f"{at}: {was.keys() ^ now.keys()}"
            return
        dip = was.get("dip")
        left_out = LEFT_OUT if dip is None or 1.0 <= dip <= 89.0 else LEFT_OUT | {"strike", "dip_direction"}
        for key in was.keys() - left_out:
            yield from otherwise_told(was[key], now[key], way, f"{at} {key}")
    elif isinstance(was, list):
        if name == "hints":
            was, now = ([one for one in each if not EXCHANGED.match(one)] for each in (was, now))
        if len(was) != len(now):
            yield f"{at}: {was} and {now}"
        if name in UNORDERED:
            was, now = (sorted(each, key=_sorted_by) for each in (was, now))
        for index, (one, other) in enumerate(zip(was, now, strict=False)):
            yield from otherwise_told(
                one, other, way, f"{at} {name if name in TURNING | {'hints'} else index}"
            )
    elif isinstance(was, str):
        # What a hint offers to type belongs to the figures and letters as typed: other ones have other digits to exchange.
        if not (name == "hints" or as_told(was, str(now), way)):
            yield f"{at}: {was!r} and {now!r}"
    elif isinstance(was, bool) or was is None or now is None:
        if was is not now:
            yield f"{at}: {was} and {now}"
    elif name in TURNING:
        wanted = 180.0 - was if name == "strike" and way is mirrored else azimuth_in(way, was)
        if apart_deg(wanted, now) > 0.2:
            yield f"{at}: {was} and {now}"
    else:
        hand = -1.0 if name == "carried" and way is mirrored else 1.0
        if abs(was - hand * now) > FAR_M + 0.01 * abs(was):
            yield f"{at}: {was} and {now}"


@pytest.mark.parametrize(
    ("kind", "seed", "way"),
    some(
        *(
            [one for one in cases if one[2] is not reversed_ and one[:2] not in ON_THE_EDGE]
            for cases in (CASES, [*USUAL, *AS_WALKED[::3]])
        )
    ),
)
def test_the_same_is_told(kind, seed, way):
    """Every figure and every word of the JSON: directions turn with the page, and nothing else does."""
    (_, was, _), (_, now, _) = laid(kind, seed, None), laid(kind, seed, way)
    assert [found for part in TOLD for found in otherwise_told(was.get(part), now.get(part), way, part)] == []
