"""Lines cut to the frame and the ground of a section, what they may be off by, and places carried to it: by hand and shapely."""

import math

import numpy as np
import pytest
from shapely import LineString, box

from traverse.log.records import Projection
from traverse.structure.section.carry import Carrier, LineOfSection, LookedAt
from traverse.structure.section.dip_domains import wrap
from traverse.structure.section.drawing_plane import Plane, in_frame, pieces, plane_of
from traverse.structure.section.records import (
    ConstructedLine,
    LineError,
    LinePiece,
    LineTurn,
    PointKind,
)
from traverse.structure.section.seen_ground import SeenGround
from traverse.structure.walk.records import BandStretch
from traverse.trade import DEEP_M

HEAD = "notation 1\nbearings true\nattitudes dip-direction\nunit Bb Upper ;\nunit Aa Lower ;\n"


def hills():
    at = np.linspace(0.0, 400.0, 41)
    return Plane(
        distance_m=at,
        up_m=20.0 * np.sin(at / 40.0),
        length_m=400.0,
        floor_m=-150.0,
        top_m=150.0,
        level=False,
    )


@pytest.mark.parametrize(
    "line",
    [
        ((100.0, 0.0), (160.0, -40.0), (190.0, -400.0)),
        ((100.0, 0.0), (130.0, 90.0), (150.0, 100.0), (900.0, 120.0)),
        ((300.0, 10.0), (280.0, 30.0), (-50.0, 80.0)),
        ((300.0, 10.0), (280.0, 30.0)),
    ],
)
def test_a_line_goes_as_far_as_the_frame(line):
    """Beside shapely: the part of it within the rectangle."""
    expected = LineString(line).intersection(box(0.0, -150.0, 400.0, 150.0))
    assert LineString(in_frame(line, hills())).hausdorff_distance(expected) < 1e-9


@pytest.mark.parametrize("line", [((5.0, 60.0), (390.0, -60.0)), ((390.0, 12.0), (200.0, 3.0), (5.0, 15.0))])
def test_a_line_is_cut_where_it_crosses_the_ground(line):
    """Beside shapely: above and below meet on the ground, and every crossing is one."""
    plane = hills()
    ground = LineString(np.column_stack([plane.distance_m, plane.up_m]))
    met = LineString(line).intersection(ground)
    cuts = sorted((point.x, point.y) for point in getattr(met, "geoms", [met]))
    found = pieces(line, plane)
    assert len(found) == len(cuts) + 1 > 1
    assert sorted(one.points[-1] for one in found[:-1]) == [pytest.approx(cut, abs=1e-6) for cut in cuts]
    for one in found:
        for (x, z), (x2, z2) in zip(one.points, one.points[1:], strict=False):
            assert (float((z + z2) / 2.0) > plane.at((x + x2) / 2.0)) == one.eroded


def test_no_section_is_drawn_deeper_than_is_guessed_at(compile_text):
    """On a long one, whose quarter is far more; and a quarter of a short one."""
    for length, deep_m in ((9000, DEEP_M), (1200, 300.0)):
        text = f"{HEAD}at 1\nunit Bb\nbed 090/30\nto 2 090 {length}m +1\nunit Bb\nsection A-A' from 1 to 2\n"
        (section,) = compile_text(text).geology.sections
        plane = plane_of(section, below_m=50.0)
        least = min(point.up_m for point in section.profile)
        relief = max(point.up_m for point in section.profile) - least
        assert least - plane.floor_m == pytest.approx(max(deep_m, relief + 50.0), abs=1.0)


def test_what_a_turn_adds_grows_from_nothing_to_all_of_it_over_its_reach():
    """Beside draws of where the beds turn, whichever way the line is followed: anywhere within the reach alike."""
    line = ConstructedLine(
        kind=PointKind.CONTACT,
        younger="Bb",
        older="Aa",
        certainty=None,
        queried=False,
        contacts=(),
        outcrops=(),
        pieces=(LinePiece(eroded=False, points=((0.0, 0.0), (200.0, 0.0))),),
        error=LineError(
            at=(100.0, 0.0),
            sd_m=3.0,
            sd_deg=0.0,
            turns=tuple(LineTurn(at=(x, 0.0), sd_m=4.0, reach_m=10.0) for x in (50.0, 150.0)),
        ),
    )
    turned = np.linspace(40.0, 60.0, 20_001)
    beyond_all = math.sqrt(np.mean((turned - 50.0) ** 2))
    for beyond in (-1.0, 1.0):
        for along in (30.0, 45.0, 50.0, 55.0, 60.0, 80.0):
            off = np.maximum(along - turned, 0.0) - max(along - 50.0, 0.0)
            share = math.sqrt(np.mean(off**2)) / beyond_all
            stated = line.sd_at((100.0 + beyond * along, 0.0))
            assert stated == pytest.approx(math.hypot(3.0, 4.0 * share), rel=1e-3)


@pytest.mark.parametrize("azimuth", [20.0, 110.0, 200.0, 305.0])
@pytest.mark.parametrize("strike", [None, 65.0, 335.0])
def test_how_a_place_moves_on_the_line_when_it_is_moved_itself(azimuth, strike):
    """Beside a difference: the place carried again from a metre farther east, and north."""
    way = np.array([math.sin(math.radians(azimuth)), math.cos(math.radians(azimuth))])
    line = LineOfSection(
        points=np.array([-500.0 * way, 500.0 * way]),
        starts_m=np.array([0.0, 1000.0]),
        grid_azimuths_deg=(azimuth,),
    )
    carrier = Carrier(None, 3.0)
    by = Projection.SQUARE if strike is None else Projection.STRIKE

    def distance(east, north):
        return carrier.carry(line, east, north, None, strike_deg=strike, projection=by)

    here = distance(70.0, 40.0)
    moved = (distance(71.0, 40.0), distance(70.0, 41.0))
    assert [one.distance_m - here.distance_m for one in moved] == pytest.approx(list(here.lead), abs=1e-6)


def test_ground_nearest_to_a_line_is_what_shapely_finds():
    """Over a walk of 300 stretches, each of its own unit, many places at a time."""
    rng = np.random.default_rng(4)
    corners = np.cumsum(rng.uniform(-60.0, 60.0, (301, 2)), axis=0)
    band = [
        BandStretch(
            start=tuple(start),
            end=tuple(end),
            unit=f"U{index}",
            leg=index,
            start_share=0.0,
            end_share=1.0,
            covered=False,
            queried=False,
        )
        for index, (start, end) in enumerate(zip(corners[:-1].tolist(), corners[1:].tolist(), strict=True))
    ]
    low, high = corners.min(axis=0), corners.max(axis=0)
    line = LineOfSection(
        points=np.array([low, high]),
        starts_m=np.array([0.0, math.dist(low, high)]),
        grid_azimuths_deg=(math.degrees(math.atan2(*(high - low))),),
    )
    seen, walked = SeenGround(line, band), LookedAt(band, 40.0)
    for index in range(0, len(seen.at_m), 23):
        share = min(1.0, seen.at_m[index] / line.length_m)
        place = low + share * (high - low)
        off = [LineString([one.start, one.end]).distance(LineString([place, place])) for one in band]
        assert seen.off_m[index] == pytest.approx(min(off), abs=1e-6)
        assert seen.units[index] == f"U{int(np.argmin(np.round(off, 8)))}"
        assert walked.beside(tuple(place), tuple(place)) == (min(off) <= 40.0)


@pytest.mark.parametrize("angle", [-720.0, -190.0, -180.0, -10.0, 0.0, 180.0, 190.0, 530.0])
def test_angles_are_taken_within_half_a_turn(angle):
    """Beside the angle of the complex number that has it."""
    turned = np.angle(np.exp(1j * math.radians(angle)))
    assert math.cos(wrap(math.radians(angle)) - turned) == pytest.approx(1.0)
    assert -math.pi < wrap(math.radians(angle)) <= math.pi
