"""Networks solved whole: one dense covariance of all readings, against places, errors, closures and what places share.

Generalised least squares of the legs as vectors, with numpy alone: x = (A' C^-1 A)^-1 A' C^-1 l, where C holds what each
leg's distance, slope and bearing scatter by, taken from differences of the leg itself, and what a pacer's calibration
adds to all legs of that pacer at once. Any text on parametric adjustment; nothing of the program is used.
"""

import math

import numpy as np
import pytest

from tests.walk import along, conditions, control, pace, tie, walk
from traverse.log.readings import Precision
from traverse.survey import survey_log

STATED = Precision(bearing_deg=1.2, slope_deg=0.8, pace_share=0.03, tape_share=0.006)
STATED_FREEDOM = 8
"""How many walks a stated precision is worth beside those over a course; what `trade.py` says, from memory."""
TIE_M = 1.5
COUNTS = {"long": (64.0, 66.0, 65.0), "short": (71.0, 73.0, 71.5, 72.0)}


def share_of(counts):
    """Standard error of a pace over it: the scatter of the walks pooled with the precision stated for a distance."""
    lengths = 100.0 / np.array(counts)
    one = np.var(lengths / (100.0 * len(counts) / sum(counts)), ddof=1)
    freedom = len(counts) - 1
    pooled = (STATED_FREEDOM * STATED.pace_share**2 + freedom * one) / (STATED_FREEDOM + freedom)
    return math.sqrt(pooled / len(counts))


def vector(distance, slope, azimuth, *, level):
    """East, north and up of a leg, degrees."""
    flat = distance if level else distance * math.cos(math.radians(slope))
    up = distance * (math.tan if level else math.sin)(math.radians(slope))
    return np.array((flat * math.sin(math.radians(azimuth)), flat * math.cos(math.radians(azimuth)), up))


class Net:
    """A random network, and what is known of it."""

    def __init__(self, seed):
        r = np.random.default_rng(seed)
        self.calibrated = bool(seed % 2)
        self.true = r.uniform(0.0, 500.0, (11, 3)) * (1.0, 1.0, 0.12)
        self.true[10] = self.true[5] + (1.0, -0.7, 0.4)
        pairs = [(int(r.integers(0, i)), i) for i in range(1, 10)]
        while len(pairs) < 13:
            one, other = (int(i) for i in r.choice(9, 2, replace=False))
            if (one, other) not in pairs and (other, one) not in pairs:
                pairs.append((one, other))
        self.pairs = [
            *(pair if r.integers(2) or i < 9 else pair[::-1] for i, pair in enumerate(pairs)),
            (2, 10),
        ]
        paces = {
            name: pace(course=100.0, counts=counts, line=3 + at)
            if self.calibrated
            else pace(100.0 * len(counts) / sum(counts), line=3 + at)
            for at, (name, counts) in enumerate(COUNTS.items())
        }
        at = {name: conditions(pace=one, precision=STATED) for name, one in paces.items()}
        legs, self.observed, blocks, self.ways = [], [], [], {name: [] for name in COUNTS}
        for index, (one, other) in enumerate(self.pairs):
            east, north, up = self.true[other] - self.true[one]
            level = bool(r.integers(4) == 0)
            who = ("long", "short", None)[int(r.integers(3))]
            far = math.hypot(east, north) if level else math.dist(self.true[one], self.true[other])
            far *= 1.0 + float(r.normal(0.0, 0.003))
            azimuth = math.degrees(math.atan2(east, north)) + float(r.normal(0.0, 0.1))
            slope = math.degrees(math.atan2(up, math.hypot(east, north))) + float(r.normal(0.0, 0.1))
            sd = 2.5 if index % 5 == 2 else None
            more = {"slope": slope, "horizontal": level, "at": at[who or "long"]}
            if sd is not None:
                more["sd"] = sd
            each = 100.0 * len(COUNTS[who]) / sum(COUNTS[who]) if who else 1.0
            legs.append(
                (str(one), str(other), azimuth % 360.0, f"{far / each:.6f}{'p' if who else 'm'}", more)
            )
            self.observed.append(vector(far, slope, azimuth, level=level))
            distance_sd = sd or far * (STATED.pace_share if who else STATED.tape_share)
            blocks.append(_scatter(far, slope, azimuth, distance_sd, level=level))
            for name in COUNTS:
                self.ways[name].append(self.observed[-1] if name == who else np.zeros(3))
        first, last = self.true[0], self.true[9]
        self.controls = {
            0: (first, 0.0 if seed % 3 == 0 else 1.5, 0.7),
            9: (last + np.array((0.8, -0.6, 0.4)), 2.0, 1.1),
        }
        self.legs = len(self.pairs)
        self.pairs.append((10, 5))
        self.observed.append(np.zeros(3))
        blocks.append(TIE_M**2 * np.eye(3))
        for ways in self.ways.values():
            ways.append(np.zeros(3))
        self.log = walk(
            *legs,
            controls=[
                control(str(name), *place, sd=sd or None, sd_height=up, line=400 + name)
                for name, (place, sd, up) in self.controls.items()
            ],
            paces=list(paces.values()),
            ties=[tie("10", "5", sd=TIE_M, line=500)],
            rule="least-squares",
            anyway="all readings count",
            addresses=lambda made: [along(made[at], _part_way(made[at].distance)) for at in (0, 4, 7)],
        )
        self._solve(blocks)

    def _solve(self, blocks):
        count, legs = len(self.true), len(self.pairs)
        self.covariance = np.zeros((3 * legs, 3 * legs))
        for i, block in enumerate(blocks):
            self.covariance[3 * i : 3 * i + 3, 3 * i : 3 * i + 3] = block
        if self.calibrated:
            for name, counts in COUNTS.items():
                way = share_of(counts) * np.concatenate(self.ways[name])
                self.covariance += np.outer(way, way)
        self.rows = rows = np.zeros((3 * legs, 3 * count))
        for i, (one, other) in enumerate(self.pairs):
            rows[3 * i : 3 * i + 3, 3 * one : 3 * one + 3] -= np.eye(3)
            rows[3 * i : 3 * i + 3, 3 * other : 3 * other + 3] += np.eye(3)
        weight = np.linalg.inv(self.covariance)
        normal, right = rows.T @ weight @ rows, rows.T @ weight @ np.concatenate(self.observed)
        for name, (place, sd, up) in self.controls.items():
            for axis, one in enumerate((sd or 1e-5, sd or 1e-5, up)):
                normal[3 * name + axis, 3 * name + axis] += one**-2
                right[3 * name + axis] += place[axis] * one**-2
        self.spread = np.linalg.inv(normal)
        self.place = (self.spread @ right).reshape(-1, 3)

    def shared(self, one, other):
        """Covariance of one station with another."""
        return self.spread[3 * one : 3 * one + 3, 3 * other : 3 * other + 3]


def _part_way(distance):
    return f"{0.3 * distance.value:.9f}{distance.unit.value}"


def _scatter(far, slope, azimuth, distance_sd, *, level):
    """Covariance of a leg from what one standard deviation of each reading moves it by, halved differences."""
    moves = []
    for at, sd in enumerate((distance_sd, STATED.slope_deg, STATED.bearing_deg)):
        ends = []
        for sign in (-1.0, 1.0):
            readings = [far, slope, azimuth]
            readings[at] += sign * 1e-3 * sd
            ends.append(vector(*readings, level=level))
        moves.append((ends[1] - ends[0]) / 2e-3)
    return sum(np.outer(move, move) for move in moves)


@pytest.fixture(scope="module", params=range(6))
def both(request):
    net = Net(request.param)
    return net, survey_log(net.log).value


def test_places_and_their_errors(both):
    net, survey = both
    for name, one in survey.places.items():
        at = int(name)
        assert (one.east_m, one.north_m, one.up_m) == pytest.approx(net.place[at], abs=2e-3)
        own = net.shared(at, at)
        assert (one.sd_east_m, one.sd_north_m, one.sd_up_m) == pytest.approx(
            np.sqrt(np.diag(own)), rel=2e-3, abs=1e-4
        )
        lengths, axes = np.linalg.eigh(own[:2, :2])
        assert (one.ellipse.minor_m, one.ellipse.major_m) == pytest.approx(
            np.sqrt(lengths), rel=2e-3, abs=1e-4
        )
        if lengths[1] > 1.1 * lengths[0] > 1e-6:
            azimuth = math.degrees(math.atan2(*axes[:, 1]))
            assert abs((one.ellipse.azimuth_deg - azimuth + 90.0) % 180.0 - 90.0) < 0.5


def test_circuits_close_as_their_legs_add_up(both):
    net, survey = both
    by_pair = {pair: i for i, pair in enumerate(net.pairs)}
    assert len(survey.closures) == 6
    for one in survey.closures:
        names = [int(name) for name in one.stations]
        between = {names[0], names[-1]} == set(net.controls)
        signs = np.zeros(len(net.pairs))
        for start, end in zip(names, [*names[1:], *(() if between else names[:1])], strict=False):
            if (start, end) in by_pair:
                signs[by_pair[start, end]] = 1.0
            else:
                signs[by_pair[end, start]] = -1.0
        add = np.kron(signs, np.eye(3))
        off, spread = add @ np.concatenate(net.observed), add @ net.covariance @ add.T
        if between:
            ends = [net.controls[name] for name in (names[0], names[-1])]
            off = off + ends[0][0] - ends[1][0]
            spread = spread + sum(np.diag((sd**2, sd**2, up**2)) for _, sd, up in ends)
        found = (one.misclosure.east_m, one.misclosure.north_m, one.misclosure.up_m)
        assert found == pytest.approx(off, abs=1e-3)
        assert one.expected_m == pytest.approx(math.sqrt(np.trace(spread[:2, :2])), rel=2e-3)
        assert one.q == pytest.approx(off[:2] @ np.linalg.solve(spread[:2, :2], off[:2]), rel=5e-3, abs=1e-4)
        assert one.q_up == pytest.approx(off[2] ** 2 / spread[2, 2], rel=5e-3, abs=1e-4)
        length = sum(math.hypot(*net.observed[i][:2]) for i in np.flatnonzero(signs))
        assert one.length_m == pytest.approx(length, abs=1e-3)


def test_points_along_legs_and_what_places_share(both):
    net, survey = both
    rests, rows = [], []
    for index, address in zip((0, 4, 7), survey.addresses, strict=True):
        one, other = net.pairs[index]
        share = np.kron(np.eye(11)[one] * 0.7 + np.eye(11)[other] * 0.3, np.eye(3)).reshape(3, 33)
        rows.append(share)
        rests.append(((str(one), 0.7), (str(other), 0.3)))
        assert (address.east_m, address.north_m, address.up_m) == pytest.approx(
            share @ net.place.ravel(), abs=2e-3
        )
        assert np.array(address.covariance_m2) == pytest.approx(
            share @ net.spread @ share.T, rel=5e-3, abs=2e-3
        )
    joint = survey.joint_m2(rests)
    for i, one in enumerate(rows):
        for k, other in enumerate(rows):
            assert joint[i, k] == pytest.approx(one @ net.spread @ other.T, rel=5e-3, abs=2e-3)
    ways = survey.apart_m2([(rests[0], rests[1]), (rests[2], rests[1])])
    for way, (i, k) in zip(ways, ((0, 1), (2, 1)), strict=True):
        between = rows[i] - rows[k]
        assert way == pytest.approx(between @ net.spread @ between.T, rel=5e-3, abs=2e-3)


@pytest.mark.parametrize("seed", [0, 2, 4])
def test_the_whole_network_against_its_precision(seed):
    """Where no calibration ties legs together: the weighted squares of what is left, and how much is measured twice."""
    net = Net(seed)
    survey = survey_log(net.log).value
    assert not net.calibrated
    legs = 3 * net.legs
    weight = np.linalg.inv(net.covariance[:legs, :legs])
    left = np.concatenate(net.observed)[:legs] - net.rows[:legs] @ net.place.ravel()
    shown = np.eye(legs) - net.rows[:legs] @ net.spread @ net.rows[:legs].T @ weight
    assert survey.network_test.chi_square == pytest.approx(left @ weight @ left, rel=5e-3)
    assert survey.network_test.freedom == round(np.trace(shown))
