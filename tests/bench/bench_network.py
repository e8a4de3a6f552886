"""Networks of 1,000 and 4,000 stations as walked on the ground (10,000 and 100,000 too with `--all`), 1.3 legs a station.

Reduction, adjustment and every station's ellipse, against scipy's bare factorisation and solution of a matrix of
the same size and pattern, in the same run; then a tangled network of 2,000 (10,000), whose legs join any two stations, and
the suspects of 1,000 legs, as walked and with eight slips, against one adjustment. Prints times and ratios; asserts
nothing.
"""

import resource
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
from scipy.sparse import coo_matrix, identity, kron
from scipy.sparse.linalg import splu

sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from tests.bench.aims import told
from tests.walk import conditions, control, pace, walk
from traverse.adjustment.closure import judge_circuits, suspicious
from traverse.adjustment.least_squares import least_squares
from traverse.adjustment.misread.find import find_suspects
from traverse.adjustment.network import build_network
from traverse.adjustment.records import LeftOut
from traverse.adjustment.vectors import draw
from traverse.location.known_points import known_points
from traverse.reduction.reduce import reduce_legs
from traverse.survey import survey_log


def ground(count):
    """A log over ground: stations on a rough square lattice, a tree first, then short legs that close."""
    rng = np.random.default_rng(1)
    side = int(count**0.5)
    at = np.stack((np.arange(count) % side, np.arange(count) // side), axis=1) * 50.0
    at += rng.normal(0, 5, at.shape)

    def neighbour(i):
        near = [j for j in (i - 1 if i % side else -1, i - side) if j >= 0]
        return near[rng.integers(len(near))]

    ways = [(neighbour(i), i) for i in range(1, count)]
    known = set(ways)
    while len(ways) < 1.3 * count:
        i = int(rng.integers(1, count))
        way = (neighbour(i), i)
        if way not in known:
            known.add(way)
            ways.append(way)
    legs = []
    for a, b in ways:
        east, north = at[b] - at[a]
        azimuth = float(np.degrees(np.arctan2(east, north)) + rng.normal(0, 1))
        length = float(np.hypot(east, north) * (1 + rng.normal(0, 0.02)))
        legs.append((str(a), str(b), azimuth, f"{length:.2f}p"))
    return walk(*legs, at=conditions(pace=pace(1.0)), controls=[control("0", 0, 0, 0)], rule="least-squares")


def tangle(count):
    """A log whose legs join stations anywhere: nothing that a party would walk."""
    rng = np.random.default_rng(3)
    at = rng.uniform(0, 5_000, (count, 2))
    ways = [(int(rng.integers(0, i)), i) for i in range(1, count)]
    while len(ways) < 1.3 * count:
        a, b = rng.integers(0, count, 2).tolist()
        if a != b:
            ways.append((a, b))
    legs = []
    for a, b in ways:
        east, north = at[b] - at[a]
        azimuth = float(np.degrees(np.arctan2(east, north)) + rng.normal(0, 1))
        length = float(np.hypot(east, north) * (1 + rng.normal(0, 0.02)))
        legs.append((str(a), str(b), azimuth, f"{length:.2f}p"))
    return walk(*legs, at=conditions(pace=pace(1.0)), controls=[control("0", 0, 0, 0)], rule="least-squares")


def with_slips(log):
    """One bearing in 150 a hundred degrees off."""
    legs = [
        replace(leg, bearing=replace(leg.bearing, azimuth_deg=(leg.bearing.azimuth_deg + 100.0) % 360.0))
        if i % 150 == 100
        else leg
        for i, leg in enumerate(log.legs)
    ]
    return replace(log, legs=tuple(legs))


def suspects(name, log):
    legs = reduce_legs(log).value
    network = build_network(log, known_points(log, None).value)
    drawn = draw(legs, network, None)
    closings = judge_circuits(network, drawn.vectors, anyway=False)
    adjusted = seconds(
        lambda: least_squares(network, drawn.vectors, LeftOut(), near_m=drawn.raw.position_m), runs=3
    )
    found = seconds(lambda: find_suspects(log, legs, network, closings, drawn, known={}))
    failing = sum(suspicious(closings))
    print(
        f"suspects of {len(log.legs)} legs {name}: {failing} of {len(closings)} loops fail, {1000 * found:.0f} ms, "
        f"{found / adjusted:.1f} adjustments (aim 10)"
    )


def seconds(function, runs=1):
    best = float("inf")
    for _ in range(runs):
        started = time.perf_counter()
        function()
        best = min(best, time.perf_counter() - started)
    return best


def bare_solve(network):
    """Factor and solve three unknowns a station on the pattern of the network, the first station held."""
    start, end = network.start, network.end
    count = len(network.names)
    ones = np.ones(len(start))
    laplace = coo_matrix(
        (
            np.concatenate((ones, ones, -ones, -ones)),
            (np.concatenate((start, end, start, end)), np.concatenate((start, end, end, start))),
        ),
        shape=(count, count),
    ).tocsc()
    matrix = kron(laplace + identity(count) * 1e-3, np.eye(3) + 0.1).tocsc()
    right = np.ones(3 * count)

    def run():
        options = {"SymmetricMode": True}
        splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options=options).solve(right)

    return seconds(run, runs=3)


def main():
    large = "--all" in sys.argv
    sizes = [1_000, 4_000, *([10_000, 100_000] if large else [])]
    print("stations   bare solve   places and ellipses (ratio)   whole survey   memory")
    for count in sizes:
        log = ground(count)
        legs = reduce_legs(log).value
        network = build_network(log, known_points(log, None).value)
        drawn = draw(legs, network, None)
        judge_circuits(network, drawn.vectors, anyway=False)
        bare = bare_solve(network)
        adjusted = seconds(
            lambda network=network, drawn=drawn: least_squares(
                network, drawn.vectors, LeftOut(), near_m=drawn.raw.position_m
            )
        )
        whole = seconds(lambda log=log: survey_log(log))
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(
            f"{count:8d}   {1000 * bare:7.0f} ms   {1000 * adjusted:9.0f} ms ({adjusted / bare:5.1f})"
            f"             {whole:7.2f} s     {memory:.0f} MB"
        )
        told("places and ellipses over a bare solve", adjusted / bare, 20)
    count = 10_000 if large else 2_000
    log = tangle(count)
    print(f"tangled, {count} stations: whole survey {seconds(lambda: survey_log(log)):.2f} s")
    log = ground(1_000)
    suspects("as walked", log)
    suspects("with eight slips", with_slips(log))


if __name__ == "__main__":
    main()
