"""Whether errors are as large as they are stated: readings drawn afresh, reduced here by plain numpy.

Nothing of the program's covariances takes part: what is stated comes from compiling the true log once, what is so from the
scatter of thousands of walks whose bearings, distances, slopes and attitudes were drawn and added up as vectors.
`python tests/invented/monte_carlo.py --draws 2000` prints the sd of the errors over the stated one for each case.
"""

import argparse
import math
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.invented.models import dip_and_direction, pole
from traverse.compile import compile_log
from traverse.source import Source

BEARING_DEG, SLOPE_DEG, TAPE_SHARE, ATTITUDE_DEG = 1.5, 1.0, 0.025, 3.0
HEAD = (
    "notation 1\nbearings true\nattitudes dip-right\n"
    f"precision bearing {BEARING_DEG}, slope {SLOPE_DEG}, tape {100 * TAPE_SHARE}%, attitude {ATTITUDE_DEG}\n"
    "unit Cc Top ;\nunit Bb Middle ;\nunit Aa Base ;\n"
)
DIP, STRIKE = 30.0, 20.0
BULGE_SHARE = 0.1
"""By how much of its rise at the usual slope ground bulges half-way along a leg."""


@dataclass(frozen=True)
class Walk:
    """Legs as (azimuth, metres, slope), and whether the last closes on the first station."""

    legs: tuple[tuple[float, float, float], ...]
    loop: bool = False

    def drawn(self, rng, draws):
        """Places of the stations, (draws, n + 1, 3)."""
        azimuth, length, slope = (np.array(one, dtype=float) for one in zip(*self.legs, strict=True))
        size = (draws, len(length))
        azimuth = np.radians(azimuth + rng.normal(0.0, BEARING_DEG, size))
        length = length * (1.0 + rng.normal(0.0, TAPE_SHARE, size))
        slope = np.radians(slope + rng.normal(0.0, SLOPE_DEG, size))
        level = length * np.cos(slope)
        steps = np.stack((level * np.sin(azimuth), level * np.cos(azimuth), length * np.sin(slope)), axis=2)
        if self.loop:
            # The compass rule: each leg its share of the gap by its length.
            share = level / level.sum(axis=1, keepdims=True)
            steps = steps - share[:, :, None] * steps.sum(axis=1, keepdims=True)
        return np.concatenate((np.zeros((draws, 1, 3)), steps.cumsum(axis=1)), axis=1)

    def true(self):
        azimuth, length, slope = (np.array(one, dtype=float) for one in zip(*self.legs, strict=True))
        level = length * np.cos(np.radians(slope))
        way = np.radians(azimuth)
        steps = np.stack(
            (level * np.sin(way), level * np.cos(way), length * np.sin(np.radians(slope))), axis=1
        )
        return np.concatenate((np.zeros((1, 3)), steps.cumsum(axis=0)))

    def log(self, things, extra=""):
        """`things` are lines by station, the first is 1, or by (station, "leg") on the leg that leaves it."""
        lines = [HEAD, "control 1 1000 E 1000 N 500 m", "at 1", *things.get(1, ())]
        for at, (azimuth, length, slope) in enumerate(self.legs, start=1):
            last = self.loop and at == len(self.legs)
            name = "1" if last else str(at + 1)
            lines.append(f"{'close' if last else 'to'} {name} {azimuth:07.3f} {length:.4f}m {slope:+.4f}")
            lines += things.get((at, "leg"), ())
            if not last:
                lines += [f"at {name}", *things.get(at + 1, ())]
        return "\n".join([*lines, extra, ""])


def compiled(text):
    """Through the program's own chain."""
    found = compile_log(Source(name="drawn.trav", text=text), load=lambda name: b"")
    assert not found.failed, [one.message for one in found.diagnostics]
    return found


def bed():
    return f"bed {STRIKE:03.0f}/{DIP:.0f}"


def drawn_poles(rng, draws, count):
    """Mean poles of so many readings, (draws, 3): each tilted alike in every direction."""
    normal = pole(DIP, STRIKE + 90.0)
    basis = np.linalg.svd(normal[None, :])[2][1:]
    off = np.radians(rng.normal(0.0, ATTITUDE_DEG, (draws, count, 2)))
    read = normal + off @ basis
    mean = (read / np.linalg.norm(read, axis=2, keepdims=True)).sum(axis=1)
    return mean / np.linalg.norm(mean, axis=1, keepdims=True)


def thickness(walk, first, second, *, beds, draws, seed=1):
    """Ratio for a unit between two stations, with bedding read at the stations named."""
    things = {one: [bed()] for one in beds}
    things.setdefault(first, []).append("contact Bb/Aa certain")
    things.setdefault(second, []).append("contact Cc/Bb certain")
    (one,) = compiled(walk.log(things)).geology.thicknesses
    rng = np.random.default_rng(seed)
    places = walk.drawn(rng, draws)
    way = places[:, second - 1] - places[:, first - 1]
    found = np.abs((way * drawn_poles(rng, draws, len(beds))).sum(axis=1))
    true = walk.true()
    was = abs(float((true[second - 1] - true[first - 1]) @ pole(DIP, STRIKE + 90.0)))
    return _spread(found - was) / one.sd_m, one.sd_m


def thickness_uneven(walk, first, second, *, bed_at, draws, seed=4):
    """Ratio for a unit between contacts at (leg, share), over ground that bulges between the stations.

    By parabolas, half-way along each leg by a tenth of what it rises at the root mean square slope of the walk.
    """
    things = {bed_at: [bed()]}
    for (leg, share), pair in ((first, "Bb/Aa"), (second, "Cc/Bb")):
        lines = [f"along {share * walk.legs[leg - 1][1]:.4f}m", f"contact {pair} certain"]
        things[leg, "leg"] = [*things.get((leg, "leg"), []), *lines]
    (one,) = compiled(walk.log(things)).geology.thicknesses
    rng = np.random.default_rng(seed)
    places, true = walk.drawn(rng, draws), walk.true()
    steps = np.diff(true, axis=0)
    runs = np.hypot(steps[:, 0], steps[:, 1])
    middle = BULGE_SHARE * math.sqrt(float(((steps[:, 2] / runs) ** 2).mean())) * runs
    bulge = rng.normal(0.0, 1.0, (draws, len(runs))) * middle

    def at(stations, leg, share):
        return stations[..., leg - 1, :] + share * (stations[..., leg, :] - stations[..., leg - 1, :])

    found, was = at(places, *second) - at(places, *first), at(true, *second) - at(true, *first)
    for (leg, share), sign in ((first, -1.0), (second, 1.0)):
        found[:, 2] += sign * bulge[:, leg - 1] * 4.0 * share * (1.0 - share)
    off = np.abs((found * drawn_poles(rng, draws, 1)).sum(axis=1)) - abs(
        float(was @ pole(DIP, STRIKE + 90.0))
    )
    return _spread(off) / one.sd_m, one.sd_m


def plane(walk, stations, *, draws, covered=(), seed=2):
    """Ratios of dip and of strike for a contact at some stations, and under cover about the middle of legs: (leg, half-width).

    With more than three places the draws' own covariance weighs them.
    """
    things = {one: ["contact Bb/Aa certain"] for one in stations}
    for leg, half in covered:
        middle = walk.legs[leg - 1][1] / 2.0
        lines = [f"covered {middle - half:.1f}m to {middle + half:.1f}m", "contact Bb/Aa concealed"]
        things[leg, "leg"] = lines
    (one,) = compiled(walk.log(things)).geology.planes
    rng = np.random.default_rng(seed)
    places = walk.drawn(rng, draws)
    points = [places[:, at - 1] for at in stations]
    for leg, half in covered:
        way = places[:, leg] - places[:, leg - 1]
        share = 0.5 + rng.uniform(-half, half, draws) / walk.legs[leg - 1][1]
        points.append(places[:, leg - 1] + share[:, None] * way)
    normals = _fitted(np.stack(points, axis=1))
    dip, way = np.array([dip_and_direction(normal) for normal in normals]).T
    off = (way - 90.0 - one.strike_deg + 180.0) % 360.0 - 180.0
    return _spread(dip - dip.mean()) / one.sd_dip_deg, _spread(off - off.mean()) / one.sd_strike_deg, one


def _fitted(points):
    """Normals of planes through drawn places (draws, n, 3), weighted by the covariance of the draws themselves."""
    mean = points.mean(axis=0)
    normal = np.linalg.svd(mean - mean.mean(axis=0))[2][2]
    normal = normal * math.copysign(1.0, normal[2])
    basis = np.linalg.svd(normal[None, :])[2][1:]
    off = points @ normal
    weight = np.linalg.inv(np.cov(off.T) + 1e-4 * np.eye(points.shape[1]))
    found = []
    for one in points:
        design = np.column_stack((one @ basis[0], one @ basis[1], -np.ones(len(one))))
        tilt = -np.linalg.solve(design.T @ weight @ design, design.T @ weight @ (one @ normal))
        turned = normal + tilt[0] * basis[0] + tilt[1] * basis[1]
        found.append(turned / np.linalg.norm(turned))
    return np.array(found)


def carried(walk, station, *, to, projection, draws, seed=3):
    """Ratio for a contact with a plane of its own, carried to the line from station 1 along the azimuth of another."""
    things = {station: [f"contact Bb/Aa certain {STRIKE:03.0f}/{DIP:.0f}"]}
    text = walk.log(things, f"section A-A' {to:03.0f} through 1, project {projection}")
    (section,) = compiled(text).geology.sections
    point = next(one for one in section.points if one.contact is not None)
    rng = np.random.default_rng(seed)
    places = walk.drawn(rng, draws)[:, station - 1]
    way = np.array([math.sin(math.radians(to)), math.cos(math.radians(to))])
    side = np.array([way[1], -way[0]])
    strike = np.array([dip_and_direction(one)[1] - 90.0 for one in drawn_poles(rng, draws, 1)])
    course = np.radians(strike if projection == "strike" else np.full(draws, to + 90.0))
    run = np.stack((np.sin(course), np.cos(course)), axis=1)
    # From the place along its course until the line is met.
    share = -(places[:, :2] @ side) / (run @ side)
    found = (places[:, :2] + share[:, None] * run) @ way
    return _spread(found - np.median(found)) / point.sd_m, point.sd_m


def _spread(off):
    """Root mean square of errors."""
    return math.sqrt(float((np.asarray(off) ** 2).mean()))


def zigzag(count, length=60.0):
    return tuple((70.0 + 40.0 * (-1) ** at, length, 4.0 * math.sin(at)) for at in range(count))


OPEN = Walk((*zigzag(20), (110.0, 70.0, -3.0), (118.0, 50.0, 2.0)))
RING = Walk(
    tuple((20.0 + 36.0 * at, 60.0, 5.0 * math.sin(2 * math.pi * at / 10)) for at in range(10)), loop=True
)
STEEP = Walk(((100.0, 90.0, 18.0), (120.0, 90.0, -14.0), (95.0, 80.0, 20.0)))
OBLIQUE = Walk(((68.0, 90.0, 6.0), (58.0, 90.0, -4.0)))


def _on_plane(azimuths, length=80.0):
    """A walk over the plane of the contact itself: legs of these azimuths with the slope that the plane has there."""
    return Walk(
        tuple(
            (
                azimuth,
                length,
                -math.degrees(
                    math.atan(math.tan(math.radians(DIP)) * math.cos(math.radians(azimuth - STRIKE - 90.0)))
                ),
            )
            for azimuth in azimuths
        )
    )


def cases(draws):
    """Name, ratio and what was stated."""
    ratio, sd = thickness(OPEN, 21, 23, beds=(22,), draws=draws)
    yield "thickness after 20 open legs", ratio, sd
    ratio, sd = thickness(OPEN, 21, 23, beds=(21, 22, 23), draws=draws)
    yield "thickness after 20 open legs, three beds", ratio, sd
    ratio, sd = thickness(RING, 4, 6, beds=(5,), draws=draws)
    yield "thickness in a loop of ten", ratio, sd
    ratio, sd = thickness(OBLIQUE, 1, 3, beds=(2,), draws=draws)
    yield "thickness of an oblique walk", ratio, sd
    ratio, sd = thickness_uneven(STEEP, (1, 0.5), (3, 0.4), bed_at=2, draws=draws)
    yield "thickness over uneven ground", ratio, sd
    three = Walk((*zigzag(10), *_on_plane((60.0, 170.0)).legs))
    five = _on_plane((60.0, 170.0, 110.0, 20.0))
    hidden = Walk((*five.legs, (250.0, 80.0, 8.0)))
    for name, walk, stations, covered in (
        ("three places after ten open legs", three, (11, 12, 13), ()),
        ("five places", five, (1, 2, 3, 4, 5), ()),
        ("three places and one under cover", hidden, (1, 2, 3), ((5, 20.0),)),
        ("two places and one under cover", hidden, (1, 2), ((5, 20.0),)),
        # What lies anywhere along a leg down the plane itself tilts it nowhere.
        ("two places and one under cover down the dip", five, (1, 2), ((3, 30.0),)),
    ):
        dip, strike, one = plane(walk, stations, covered=covered, draws=draws)
        yield f"dip of a contact, {name}", dip, one.sd_dip_deg
        yield f"strike of a contact, {name}", strike, one.sd_strike_deg
    for projection in ("square", "strike"):
        ratio, sd = carried(OPEN, 12, to=80.0, projection=projection, draws=draws)
        yield f"place carried, {projection}", ratio, sd


def main():
    """The command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--draws", type=int, default=2000)
    args = parser.parse_args()
    for name, ratio, sd in cases(args.draws):
        print(f"{name}: stated {sd:.2f}, errors over stated {ratio:.2f}")


if __name__ == "__main__":
    main()
