"""The error of a contact that was carried to a section, against the sum worked out bed by bed.

Errors of a mean over n readings fall with the root of n, and independent errors add by their squares (any textbook of
statistics); that beds count by the inverse fourth power of their distance, and a lean of the beds as a whole, are the
program's own rules, derived in `line_errors.py`.
"""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from traverse.structure.readings.place_errors import place_covariance
from traverse.structure.readings.records import PlaneAttitude
from traverse.structure.section.construct import _readings_of_limbs, _turns
from traverse.structure.section.dip_domains import Domain, axial_trace
from traverse.structure.section.line_errors import BedsAbout, _next_to

HEAD = (
    "notation 1\nbearings true\nattitudes dip-direction\ndistances metres\nprecision bearing 1, slope 1, tape 1%, attitude 2\n"
    "unit Cm Cliff marl ;\nunit Gg Grey grit ;\ncontrol 1 1200 E 700 N 150 m ±4 map\n"
)


def taken(compile_text, beds):
    """Beds at places about the first station, and a contact there; each bed `(east, north, dip direction, dip)`.

    A bed turned past upright dips more than 90°.
    """
    lines = [HEAD, "at 1\nunit Cm\ncontact Cm/Gg certain"]
    for number, (east, north, direction, dip) in enumerate(beds, start=2):
        azimuth = math.degrees(math.atan2(east, north)) % 360.0
        lines.append(f"at 1\nto {number} {azimuth:05.1f} {math.hypot(east, north):.3f}m level")
        over = dip > 90
        written = f"{(direction + 180 * over) % 360:03.0f}/{180 - dip if over else dip:02.0f}"
        lines.append(f"bed {written}{' overturned' if over else ''}")
    geology = compile_text("\n".join(lines) + "\n").geology
    (contact,) = geology.contacts
    return contact, [one for one in geology.attitudes if isinstance(one, PlaneAttitude)]


def expected_m(contact, beds, to, *, axis):
    """The same error, in loops."""
    start = np.array([contact.place.east_m, contact.place.north_m])
    way = to[:2] - start
    far_m = math.hypot(*way)
    along = way / far_m
    poles = []
    for one in beds:
        dip, towards = math.radians(one.dip_deg), math.radians(one.dip_direction_deg)
        up = -1.0 if one.upside_down else 1.0
        poles.append(
            [
                up * part
                for part in (
                    math.sin(dip) * math.sin(towards),
                    math.sin(dip) * math.cos(towards),
                    math.cos(dip),
                )
            ]
        )
    poles, places = np.array(poles), np.array([(one.place.east_m, one.place.north_m) for one in beds])
    weights, offs = np.zeros(len(beds)), []
    for share in np.linspace(0.0, 1.0, 11):
        off = [math.hypot(*(start + share * way - place)) for place in places]
        counts = np.array([1.0 / (one**2 + 10.0**2) ** 2 for one in off])
        weights += counts / counts.sum() / 11.0
        offs.append(min(off))
    leans = poles[:, :2] @ along
    mean = float(weights @ leans)
    roll = math.sqrt(sum(w * (one - mean) ** 2 for w, one in zip(weights, leans, strict=True)))
    sd = math.radians(2.0)
    aim_m = far_m * max(sd, roll) * math.sqrt(sum(w * w for w in weights))
    nearest = poles[int(np.argmin([math.hypot(*(start - place)) for place in places]))]
    own = math.sqrt(nearest @ place_covariance(contact) @ nearest)
    turned = far_over = 0.0
    pairs = 0
    for number, place in enumerate(places):
        off = [math.hypot(*(place - other)) for other in places]
        apart = [one if one >= 10.0 else math.inf for one in off]
        if min(apart) == math.inf:
            continue
        pairs += 1
        change = poles[number] - poles[int(np.argmin(apart))]
        turned += float(change[:2] @ along) ** 2 if axis else float(change @ change) / 2.0
        far_over += min(apart) ** 2
    rate = math.sqrt(max(0.0, (turned - 2.0 * sd**2 * pairs) / far_over)) if pairs else 0.0
    return math.hypot(own, aim_m, far_m * mean, far_m * rate * float(np.mean(offs)))


def turned_by(beds, turn_deg):
    """The same ground with another north."""
    turn = math.radians(turn_deg)
    return [
        (
            east * math.cos(turn) + north * math.sin(turn),
            north * math.cos(turn) - east * math.sin(turn),
            (direction + turn_deg) % 360.0,
            dip,
        )
        for east, north, direction, dip in beds
    ]


ONE_OUTCROP = [(40.0 + step, 25.0, 130, 30) for step in (0, 2, 4, 6)]
FOLD = [(35.0 * step, 11.0 * (-1) ** step, 90 if dip >= 0 else 270, abs(dip)) for step, dip in
        ((-4, -58), (-3, -45), (-2, -28), (-1, -15), (1, 17), (2, 31), (3, 44), (4, 62))]  # fmt: skip
OVER = [(30.0 * step, 14.0 * (-1) ** step, 90, dip) for step, dip in
        ((-3, 48), (-2, 63), (-1, 74), (1, 86), (2, 97), (3, 109))]  # fmt: skip
"""One limb that turns over, younger to the east."""
DOME = [(60.0 * math.sin(math.radians(way)), 60.0 * math.cos(math.radians(way)), way, dip) for way, dip in
        ((10, 30), (70, 34), (130, 27), (190, 31), (250, 36), (310, 29))]  # fmt: skip
SCATTERED = [(30.0, 12.0, 95, 40), (-50.0, 30.0, 120, 22), (20.0, -70.0, 60, 31), (90.0, 80.0, 150, 47)]


@pytest.mark.every(3)
@pytest.mark.parametrize("turn_deg", [0, 37, 125, 248])
@pytest.mark.parametrize("way_deg", [12, 95, 201])
@pytest.mark.parametrize(
    ("beds", "axis"), [(ONE_OUTCROP, False), (FOLD, True), (OVER, True), (DOME, False), (SCATTERED, False)]
)
def test_a_carried_contact_is_as_uncertain_as_its_parts_together(compile_text, beds, axis, way_deg, turn_deg):
    contact, read = taken(compile_text, turned_by(beds, turn_deg))
    way = math.radians(way_deg + turn_deg)
    to = np.array([130.0 * math.sin(way), 130.0 * math.cos(way), 0.0])
    to += (contact.place.east_m, contact.place.north_m, contact.place.relative_up_m)
    found = BedsAbout(read, 0.0)
    assert found.sd_carried_m(contact, to) == pytest.approx(
        expected_m(contact, read, to, axis=axis), rel=1e-6
    )


def test_along_the_strike_of_beds_that_agree_the_error_falls_with_the_root_of_their_number(compile_text):
    """Nothing leans and nothing turns: what is left is the error of the mean of n readings, over the way."""
    parts = []
    for count in (1, 4, 9):
        beds = [(50.0 + step / 2.0, 20.0, 130, 30) for step in range(count)]
        contact, read = taken(compile_text, beds)
        to = np.array([contact.place.east_m, contact.place.north_m, contact.place.relative_up_m])
        way = 400.0 * np.array([math.sin(math.radians(40.0)), math.cos(math.radians(40.0)), 0.0])
        found = BedsAbout(read, 0.0)
        whole, own = found.sd_carried_m(contact, to + way), found.sd_carried_m(contact, to)
        parts.append(math.sqrt(whole**2 - own**2))
    assert parts == pytest.approx([400.0 * math.radians(2.0) / math.sqrt(n) for n in (1, 4, 9)], rel=0.02)


@pytest.mark.parametrize("direction", [20, 115, 200, 290])
@pytest.mark.parametrize("dip", [0, 20, 45, 65])
def test_a_bed_of_even_dip_falls_by_its_tangent_down_dip_and_not_along_its_strike(
    compile_text, direction, dip
):
    contact, read = taken(compile_text, [(30.0, 0.0, direction, dip), (-20.0, 60.0, direction, dip)])
    start = np.array([contact.place.east_m, contact.place.north_m])
    found = BedsAbout(read, 0.0)
    for turn, expected in (
        (0, -80.0 * math.tan(math.radians(dip))),
        (90, 0.0),
        (180, 80.0 * math.tan(math.radians(dip))),
    ):
        way = math.radians(direction + turn)
        rise = found.rise_m(start, start + 80.0 * np.array([math.sin(way), math.cos(way)]))
        assert rise == pytest.approx(expected, abs=1e-6)


def test_a_bed_too_steep_to_follow_over_level_ground_tells_no_rise(compile_text):
    contact, read = taken(compile_text, [(30.0, 0.0, 115, 80)])
    start = np.array([contact.place.east_m, contact.place.north_m])
    assert BedsAbout(read, 0.0).rise_m(start, start + 50.0) == 0.0
    assert BedsAbout((), 0.0).rise_m(start, start + 50.0) == 0.0


@pytest.mark.parametrize("turn_deg", [12.0, 40.0, 95.0])
@pytest.mark.parametrize("scatter_deg", [0.0, 2.0])
def test_beyond_a_turn_a_line_is_off_by_where_its_axial_trace_may_lie(turn_deg, scatter_deg):
    """The trace halves the angle: drawn again with it moved by its deviation, the line beyond lies that much off."""
    parted = 1.0 / 4.0 + 1.0 / 9.0
    turn = math.sqrt(math.radians(turn_deg) ** 2 - parted * math.radians(scatter_deg) ** 2)
    domains = {0: _limb(0.0, 1.0, count=4), 1: _limb(turn_deg, 1.0, count=9)}
    trace = SimpleNamespace(left=0, right=1, gap_m=30.0)
    field = SimpleNamespace(crossed=lambda _: (SimpleNamespace(bounds=[trace], domains=domains), 0))
    end = (7.0 + 10.0 * math.cos(math.radians(turn_deg)), 3.0 - 10.0 * math.sin(math.radians(turn_deg)))
    path = SimpleNamespace(points=((0.0, 3.0), (7.0, 3.0), end), bounds=(0,))
    (one,) = _turns(path, field, sd_deg=scatter_deg)
    before, beyond = np.array((1.0, 0.0)), np.array((math.cos(turn), math.sin(turn)))
    square = (before + beyond) / np.linalg.norm(before + beyond)
    moved = before * (30.0 / math.sqrt(12.0)) / (before @ square)
    assert one.at == (7.0, 3.0)
    assert one.sd_m == pytest.approx(abs(moved[0] * beyond[1] - moved[1] * beyond[0]))
    # From the middle to where the trace lies as far to one side as it may, along the line.
    assert one.reach_m == pytest.approx(15.0 / (before @ square))


def _limb(lean_deg, normal, *, count=1):
    return Domain(younging_rad=math.radians(lean_deg), first=(0.0, 0.0), last=(0.0, 0.0), middle=(0.0, 0.0),
                  count=count, normal=normal)  # fmt: skip


@pytest.mark.parametrize("sense", [1.0, -1.0])
@pytest.mark.parametrize(("leans", "normals"), [((30.0, 4.0), (0.78, 1.0)), ((62.0, -20.0), (0.5, 0.9))])
def test_beyond_a_turn_seen_aslant_a_line_is_off_by_where_its_trace_may_lie_too(leans, normals, sense):
    """Drawn again with the trace moved by its deviation, the line beyond lies that much off, whichever way it is followed."""
    limbs = [_limb(lean, normal) for lean, normal in zip(leans, normals, strict=True)]
    trace = SimpleNamespace(left=0, right=1, gap_m=30.0)
    field = SimpleNamespace(crossed=lambda _: (SimpleNamespace(bounds=[trace], domains=limbs), 0))
    before, beyond = (np.array(one.along) * sense for one in limbs[:: int(sense)])
    path = SimpleNamespace(points=(tuple(-before), (0.0, 0.0), tuple(beyond)), bounds=(0,))
    (one,) = _turns(path, field, sd_deg=0.0)
    way = axial_trace(*limbs)
    moved = before * (30.0 / math.sqrt(12.0)) / abs(before[0] * way[1] - before[1] * way[0])
    assert one.sd_m == pytest.approx(abs(moved[0] * beyond[1] - moved[1] * beyond[0]))


@pytest.mark.parametrize("count", [40, 2200])
def test_the_next_outcrop_is_the_nearest_that_is_ten_metres_off(count):
    """Of many beds it is sought among the nearest few first; those of one outcrop are all within ten metres."""
    rng = np.random.default_rng(count)
    places = rng.uniform(0.0, 30.0 * math.sqrt(count), (count, 2))
    # Twenty readings at one outcrop, more than are looked at first.
    places[:20] = places[0] + rng.uniform(-3.0, 3.0, (20, 2))
    nearest, off_m = _next_to(places)
    for at in (*range(25), *range(25, count, max(1, count // 40))):
        apart = np.hypot(*(places - places[at]).T)
        apart[apart < 10.0] = np.inf
        assert off_m[at] == pytest.approx(apart.min())
        assert nearest[at] == int(apart.argmin())


@pytest.mark.parametrize("sense", [1, -1])
def test_a_limb_rests_on_the_readings_of_all_its_domains_on_either_side(sense):
    leans = [sense * one for one in (40.0, 20.0, -10.0, -35.0, -60.0, 15.0)]
    domains = [
        SimpleNamespace(younging_rad=math.radians(one), readings=n)
        for one, n in zip(leans, (2, 3, 5, 7, 11, 13), strict=True)
    ]
    assert _readings_of_limbs(domains) == ([2, 5, 5, 12, 23, 13], [5, 3, 23, 18, 11, 13])
