"""What a section is constructed from, each rule by plain geometry: where contacts and faults come out, which are one line."""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from traverse.log.items import HowMet
from traverse.structure.section.dip_domains import wrap
from traverse.structure.section.drawing_plane import Plane
from traverse.structure.section.inputs import (
    FaultLine,
    SectionInput,
    Seen,
    Start,
    _along,
    _down,
    _mean_dip_rad,
    _OneLine,
    _younging,
)
from traverse.structure.section.records import PointKind

TURN_DEG = 7.0
GROUND = Plane(distance_m=np.array([0.0, 80.0, 200.0]), up_m=np.array([20.0, 60.0, 12.0]), length_m=200.0,
               floor_m=-100.0, top_m=150.0, level=False)  # fmt: skip


def made(**known):
    """A section's input with nothing in it but what a rule asks for."""
    given = SectionInput.__new__(SectionInput)
    given.plane, given.turn_deg, given.near = GROUND, TURN_DEG, 20.0
    given.section = SimpleNamespace(
        length_m=200.0, azimuth_deg=100.0, grid_azimuth_deg=100.0 - TURN_DEG, bends_m=(), points=(),
        stretch_at=lambda distance_m: 0,
    )  # fmt: skip
    given.azimuths = [100.0]
    given.faults, given.edges, given.by_block, given.readings, given.single = [], [], {}, [], []
    for name, value in known.items():
        setattr(given, name, value)
    return given


@pytest.mark.parametrize("dip_deg", [-75.0, -20.0, 0.0, 35.0, 89.0])
def test_beds_stand_by_the_normal_on_their_younger_side_and_run_square_to_it(dip_deg):
    dip = math.radians(dip_deg)
    up, along = (math.sin(dip), math.cos(dip)), (math.cos(dip), -math.sin(dip))
    angle = _younging(dip_deg, overturned=False)
    assert (math.sin(angle), math.cos(angle)) == pytest.approx(up)
    over = _younging(dip_deg, overturned=True)
    assert (math.sin(over), math.cos(over)) == pytest.approx((-up[0], -up[1]))
    assert -math.pi <= over <= math.pi
    assert _along(angle) == pytest.approx(along)
    # Down it, to whichever side that is.
    down = _down(dip)
    assert down == pytest.approx(along if dip >= 0.0 else (-along[0], -along[1]))
    assert down[1] <= 0.0


def carried(dip_deg, carried_m, **known):
    return SimpleNamespace(apparent_dip_deg=dip_deg, carried_m=carried_m, **known)


@pytest.mark.parametrize(
    "dips", [(30.0, 40.0, 20.0), (-80.0, 88.0, 86.0), (-5.0, 9.0, -1.0), (89.0, -89.0, 90.0)]
)
def test_dips_of_one_fault_are_meaned_as_lines_the_nearer_for_more(dips):
    """The direction of the sum of doubled angles, each over ten metres more than it was carried."""
    offs = (0.0, -35.0, 90.0)
    found = _mean_dip_rad([carried(*pair) for pair in zip(dips, offs, strict=True)])
    total = sum(
        np.exp(2j * math.radians(dip)) / (10.0 + abs(off)) for dip, off in zip(dips, offs, strict=True)
    )
    assert np.exp(2j * found) == pytest.approx(total / abs(total))


@pytest.mark.parametrize("way", [(0.5, -0.8), (-0.6, -0.7), (0.0, -1.0)])
def test_a_fault_lies_at_each_height_where_its_line_does(way):
    fault = FaultLine(points=[], at=(90.0, 50.0), way=way, measured=True)
    for up in (-60.0, 50.0, 71.0):
        slope = way[0] / way[1]
        assert fault.distance_at(up) == pytest.approx(90.0 + slope * (up - 50.0))
    assert FaultLine(points=[], at=(90.0, 50.0), way=(1.0, -1e-9), measured=True).distance_at(0.0) == 90.0


def test_a_place_lies_between_those_faults_that_it_does_at_its_height():
    faults = [
        FaultLine(points=[], at=(60.0, 50.0), way=(0.8, -0.6), measured=True),
        FaultLine(points=[], at=(140.0, 36.0), way=(0.0, -1.0), measured=False),
    ]
    given = made(faults=faults)
    # Thirty metres under its outcrop the first has gone forty along.
    for at, block in (
        ((50.0, 50.0), 0),
        ((70.0, 50.0), 1),
        ((90.0, 20.0), 0),
        ((110.0, 20.0), 1),
        ((150.0, 20.0), 2),
    ):
        assert given._block(at) == block


@pytest.mark.parametrize(
    ("block", "sense", "end_m"),
    [(0, 1.0, 100.0), (0, -1.0, 0.0), (1, 1.0, 140.0), (1, -1.0, 100.0), (2, 1.0, 200.0), (2, -1.0, 140.0)],
)
def test_a_block_ends_at_the_fault_at_that_height_or_at_the_end_of_the_section(block, sense, end_m):
    """Thirty metres under its outcrop at 60 the first fault lies at 100."""
    faults = [
        FaultLine(points=[], at=(60.0, 50.0), way=(0.8, -0.6), measured=True),
        FaultLine(points=[], at=(140.0, 36.0), way=(0.0, -1.0), measured=False),
    ]
    assert made(faults=faults).end_m(block, 20.0, sense) == pytest.approx(end_m)


@pytest.mark.parametrize(
    ("distance_m", "block", "nearest"),
    [(20.0, 0, 15.0), (64.0, 1, 70.0), (150.0, 1, 110.0), (120.0, 2, 15.0)],
)
def test_a_contact_lies_as_the_nearest_bed_of_its_block_does(distance_m, block, nearest):
    """Of a block without beds as the nearest of all, by the order they were met in where two are as near."""
    beds = [seen(15.0, 20.0), seen(70.0, 35.0), seen(110.0, -25.0)]
    given = made(by_block={0: beds[:1], 1: beds[1:]}, readings=beds, far=[])
    if block == 2:
        given.readings = beds[:1]
    (bed,) = [one for one in beds if one.at[0] == nearest]
    lean = bed.younging_rad
    way = given.way_at(point(distance_m), block)
    assert way == pytest.approx((math.cos(lean), -math.sin(lean)))
    # Its own dip stands before that.
    dip = math.radians(-52.0)
    assert given.way_at(point(distance_m, apparent_dip_deg=-52.0), block) == pytest.approx(
        (-math.cos(dip), math.sin(dip))
    )
    assert made(readings=[], far=[]).way_at(point(distance_m), block) == (0.0, -1.0)


def point(distance_m, up_m=None, *, beside=False, carried_m=0.0, **known):
    known = {
        "kind": PointKind.CONTACT,
        "apparent_dip_deg": None,
        "contact": None,
        "sd_m": None,
        "stretch": 0,
    } | known
    return SimpleNamespace(distance_m=distance_m, up_m=up_m, beside=beside, carried_m=carried_m, **known)


def test_several_places_come_out_together_the_nearer_for_more():
    """Each along its line to the ground, then the mean of their distances; kept within the ends."""
    given = made()
    points = [point(60.0, 60.0, carried_m=-5.0), point(70.0, 50.0, carried_m=30.0)]
    # Ground that rises 1 in 2 and lines that fall 3 in 4 meet at 68 and 66.
    x = (68.0 / 15.0 + 66.0 / 40.0) / (1.0 / 15.0 + 1.0 / 40.0)
    assert given._outcrop(points, (0.8, -0.6)) == pytest.approx((x, GROUND.at(x)), abs=1e-5)
    assert given._outcrop([point(203.0, 12.0)], (0.0, -1.0)) == (200.0, 12.0)
    assert given._outcrop([point(-3.0, 12.0)], (0.0, -1.0)) == (0.0, 20.0)


def start(x, z=None, *, ahead=1, beside=False, carried_m=0.0, sd_m=1.0, place=(0.0, 0.0), course_deg=40.0):
    contact = SimpleNamespace(
        place=SimpleNamespace(east_m=place[0], north_m=place[1]),
        course_deg=course_deg,
        younger="Cm",
        older="Gg",
    )
    one = point(x, z, beside=beside, carried_m=carried_m, sd_m=sd_m, contact=contact)
    return Start(points=[one], at=(x, GROUND.at(x) if z is None else z), ahead=ahead, block=0)


def line_of(*starts):
    return _OneLine(starts=starts, at=starts[0].at, ahead=starts[0].ahead)


@pytest.mark.parametrize("course_deg", [10.0, 40.0, 125.0, 250.0])
@pytest.mark.parametrize(
    ("off_deg", "along"),
    [(0.0, True), (43.0, True), (-43.0, True), (47.0, False), (90.0, False), (137.0, True)],
)
def test_two_places_lie_along_strike_where_that_way_is_the_longer(course_deg, off_deg, along):
    """The strike is a true one, the places are in the grid."""
    azimuth = math.radians(course_deg - TURN_DEG + off_deg)
    places = [(500.0, 300.0), (500.0 + 60.0 * math.sin(azimuth), 300.0 + 60.0 * math.cos(azimuth))]
    one, other = (
        line_of(start(x, place=place, course_deg=course_deg))
        for x, place in zip((50.0, 90.0), places, strict=True)
    )
    assert made()._along_strike(one, other) is along
    blind = line_of(start(50.0, place=places[0], course_deg=None))
    assert made()._along_strike(blind, other) is False


@pytest.mark.parametrize(
    ("ahead", "apart_m", "alike"),
    [((1, 1), 90.0, True), ((1, -1), 5.0, False), ((-1, -1), 90.0, True), ((1, 0), 19.0, True), ((0, -1), 21.0, False),
     ((0, 0), 19.0, True)],
)  # fmt: skip
def test_two_places_may_be_one_line_with_the_younger_unit_on_one_side(ahead, apart_m, alike):
    one, other = line_of(start(50.0, ahead=ahead[0])), line_of(start(50.0 + apart_m, ahead=ahead[1]))
    assert made()._alike(one, other) is alike
    assert made()._alike(other, one) is alike


def test_a_contact_met_on_the_section_may_come_to_it_again_within_three_errors_of_both():
    given = made()
    met, far = line_of(start(50.0, beside=True, sd_m=3.0)), line_of(start(90.0, sd_m=4.0))
    assert given._open_m(met, far) == pytest.approx(3.0 * 5.0)
    assert given._open_m(far, met) == pytest.approx(15.0)
    assert given._open_m(line_of(start(50.0, sd_m=3.0)), far) == 0.0
    given.single = [start(70.0)]
    assert given._open_m(met, far) == 0.0
    given.single = [start(40.0), start(95.0)]
    assert given._open_m(met, far) == pytest.approx(15.0)


def test_one_line_of_several_places_comes_out_where_it_was_met_on_the_section():
    given = made()
    near, far, on = start(60.0, carried_m=10.0), start(70.0, carried_m=-30.0), start(77.0, beside=True)
    assert given._one_at([near, far, on]) == on.at
    x = (60.0 / 20.0 + 70.0 / 40.0) / (1.0 / 20.0 + 1.0 / 40.0)
    assert given._one_at([near, far]) == pytest.approx((x, GROUND.at(x)), abs=1e-6)
    aloft = [start(60.0, 90.0, carried_m=10.0), start(70.0, 80.0, carried_m=-30.0)]
    up = (90.0 / 20.0 + 80.0 / 40.0) / (1.0 / 20.0 + 1.0 / 40.0)
    assert given._one_at(aloft) == pytest.approx((x, up), abs=1e-6)
    assert given._one_at([near, *aloft]) == near.at


def surface(strike_deg, dip_deg=60.0, sd_deg=2.0):
    return SimpleNamespace(strike_deg=strike_deg, dip_deg=dip_deg, sd_deg=sd_deg)


@pytest.mark.parametrize(
    ("apart_deg", "along"),
    [(-29.5, True), (29.5, True), (30.5, False), (-30.5, False), (150.5, True), (149.5, False)],
)
def test_a_fault_that_strikes_within_thirty_degrees_of_the_section_is_not_carried_by_its_strike(
    apart_deg, along
):
    fault = point(90.0, contact=SimpleNamespace(surface=surface(100.0 + apart_deg)))
    found = made().along_deg(fault)
    assert (found is not None) is along
    if along:
        assert found == pytest.approx(min(abs(apart_deg), 180.0 - abs(apart_deg)))


@pytest.mark.parametrize("dip_deg", [30.0, 80.0])
def test_a_fault_along_the_section_lies_there_where_it_was_met_within_reach_of_its_strike(dip_deg):
    """At 20° from the section a place 20 m of it off is 20 tan 20° = 7.3 m aside."""
    reach = math.tan(math.radians(20.0)) * 20.0
    for off, there in ((0.97 * reach, True), (1.03 * reach, False), (-1.03 * reach, False)):
        fault = point(90.0, carried_m=off, contact=SimpleNamespace(surface=surface(120.0, dip_deg)))
        assert made()._lies_there(fault) is there
        assert made()._lies_there(point(90.0, beside=True, carried_m=off, contact=fault.contact)) is True
    # Where its strike is off by as much as it lies from the section: that of the pole over the sine of its dip.
    limit = 20.0 * math.sin(math.radians(dip_deg))
    for sd, there in ((0.97 * limit, True), (1.03 * limit, False)):
        fault = point(90.0, contact=SimpleNamespace(surface=surface(120.0, dip_deg, sd)))
        assert made()._lies_there(fault) is there


def fault_at(distance_m, place, *, plane=None, younger="Cm", of_fault=None):
    """A place of a fault with an error of 1 m all round; `plane` is strike and dip of a reading good to 2°."""
    booked = SimpleNamespace(
        plane=None if plane is None else SimpleNamespace(sd_deg=2.0, overturned=False, upright=False),
        conditions=SimpleNamespace(precision=SimpleNamespace(attitude_deg=2.0)),
    )
    contact = SimpleNamespace(
        booked=booked, younger=younger, older="Gg", of_fault=of_fault, own_sd_m=0.0, met=HowMet.CROSSED,
        strike_deg=None if plane is None else plane[0], dip_deg=None if plane is None else plane[1],
        place=SimpleNamespace(east_m=place[0], north_m=place[1], relative_up_m=place[2], leg_azimuth_deg=None,
                              covariance_m2=np.eye(3).tolist(), sd_m=1.0),
    )  # fmt: skip
    return point(distance_m, contact=contact)


@pytest.mark.parametrize("strike_deg", [25.0, 140.0, 300.0])
@pytest.mark.parametrize("aside", [0.97, 1.03, -1.03])
def test_places_far_apart_are_one_fault_where_both_lie_on_the_plane_read_at_one(strike_deg, aside):
    """Three errors of both places, and of the plane over the way between them."""
    strike, dip = math.radians(strike_deg - TURN_DEG), math.radians(65.0)
    along = np.array([math.sin(strike), math.cos(strike), 0.0])
    normal = np.array([math.cos(strike) * math.sin(dip), -math.sin(strike) * math.sin(dip), math.cos(dip)])
    way = 90.0 * along
    limit = 3.0 * math.sqrt(2.0 + (90.0 * math.radians(2.0)) ** 2)
    for _ in range(3):
        # The way is a little longer for lying aside.
        off = way + aside * limit * normal
        limit = 3.0 * math.hypot(math.sqrt(2.0), float(np.linalg.norm(off)) * math.radians(2.0))
    one, other = (
        fault_at(30.0, (0.0, 0.0, 0.0), plane=(strike_deg, 65.0)),
        fault_at(110.0, tuple(way + aside * limit * normal)),
    )
    assert made()._one_fault(one, other) is (abs(aside) < 1.0)
    assert made()._one_fault(other, one) is (abs(aside) < 1.0)
    other.contact.younger = "Lm"
    assert made()._one_fault(one, other) is False
    assert made()._one_fault(one, fault_at(49.0, (500.0, 0.0, 0.0))) is True
    numbered = [fault_at(x, (x, 5.0 * x, 0.0), of_fault=3) for x in (30.0, 110.0)]
    assert made()._one_fault(*numbered) is True


def seen(x, angle_deg, *, sided=True, dip_deg=85.0):
    return Seen(at=(x, 0.0), younging_rad=math.radians(angle_deg), dip_deg=dip_deg, dip_direction_deg=100.0,
                overturned=False, stretch=0, sided=sided)  # fmt: skip


def test_beds_as_steep_as_upright_young_as_those_beside_them_do_and_are_one_panel():
    beds = [seen(10.0, 70.0), seen(30.0, 87.0, sided=False), seen(50.0, -89.0, sided=False), seen(70.0, 80.0)]
    found = made(ahead=lambda _: 0)._standing(beds)
    # 87 and 91, as the second lies beyond upright: together 89.
    assert [math.degrees(one.younging_rad) for one in found] == pytest.approx([70.0, 89.0, 89.0, 80.0])
    assert [one.overturned for one in found] == [False, False, True, False]
    assert made()._standing([beds[0], beds[3]]) == [beds[0], beds[3]]


@pytest.mark.parametrize("way", [1, -1, 0])
def test_where_no_bed_has_a_side_all_young_toward_the_younger_units(way):
    beds = [seen(10.0, -88.0, sided=False), seen(50.0, 86.0, sided=False)]
    given = made(ahead=lambda _: way)
    given.section.points = (point(30.0),)
    toward = {1: 90.0, -1: -90.0, 0: -88.0}[way]
    for one in given._standing(beds):
        assert abs(wrap(one.younging_rad - math.radians(toward))) < math.radians(10.0)


@pytest.mark.parametrize("block", [0, 1, 2])
def test_between_faults_without_a_bed_the_nearest_of_all_stands_in_the_middle(block):
    beds = [seen(95.0, 30.0), seen(15.0, 20.0), seen(190.0, -10.0)]
    given = made(readings=beds, edges=[40.0, 150.0], starts=[SimpleNamespace(block=block)])
    (one,) = given.of_block(block)
    middle = (20.0, 95.0, 175.0)[block]
    assert one.at == (middle, GROUND.at(middle))
    nearest = min(beds, key=lambda bed: abs(bed.at[0] - middle))
    assert one.younging_rad == nearest.younging_rad
    given.starts = []
    assert given.of_block(block) == []


@pytest.mark.parametrize("way", [(1.0, 0.0), (0.8, -0.6), (-0.6, -0.8)])
@pytest.mark.parametrize(("off_m", "nowhere"), [(0.9, False), (-0.9, False), (1.1, True), (-1.1, True)])
def test_a_flat_cover_comes_out_nowhere_that_passes_the_ground_by_more_than_a_metre(off_m, nowhere, way):
    """Square to its line, wherever along that the ground is."""
    square = (way[1], -way[0])
    at = (120.0, GROUND.at(120.0))
    carried_to = (at[0] + 33.0 * way[0] + off_m * square[0], at[1] + 33.0 * way[1] + off_m * square[1])
    given = made(cover=frozenset())
    for kind, told in ((PointKind.UNCONFORMITY, nowhere), (PointKind.CONTACT, False)):
        assert given._comes_out_nowhere(point(*carried_to, kind=kind), way, at) is told


def test_on_an_unconformity_lie_the_beds_of_the_lowest_unit_over_it_that_any_was_read_in():
    """No beds of what lies below it, and nothing that is no bed."""

    def read(unit, *, bedding=True):
        return SimpleNamespace(tells_bedding=bedding, attitude=SimpleNamespace(unit=unit))

    below, cleavage, low, high = read("Us"), read("Cg", bedding=False), read("Bs"), read("Tf")
    contact = SimpleNamespace(tells_bedding=False, attitude=None)
    given = made(
        above={"Cg": ("Cg", "Bs", "Tf")},
        section=SimpleNamespace(points=[below, cleavage, high, contact, low]),
    )
    assert given._beds_on(SimpleNamespace(contact=SimpleNamespace(younger="Cg"))) == [low]
    assert given._beds_on(SimpleNamespace(contact=SimpleNamespace(younger="Us"))) == []
    assert given._beds_on(SimpleNamespace(contact=None)) == []
