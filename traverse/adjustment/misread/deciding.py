"""The one sighting that tells two explanations of a misclosure apart."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from traverse.adjustment.misread.explained import Explained
from traverse.adjustment.misread.slips import Slip
from traverse.adjustment.records import Closing, Floats, Network
from traverse.adjustment.vectors import Drawn
from traverse.angle import bearing_text, is_quadrant, wrap_180
from traverse.reduction.records import ReducedLegs
from traverse.settled import SAME_DEG, first_least, settled
from traverse.trade import CLEAR_OF_EACH_OTHER, SHORT_SIGHT_M


def what_decides(
    ranked: Sequence[Explained], closing: Closing, legs: ReducedLegs, network: Network, drawn: Drawn
) -> str | None:
    """What to read on the ground to tell the likeliest explanation from the next; None where there is none.

    A back bearing or a back slope on the leg where that shows it, else a sight between two stations of the circuit
    with what it would be after either; where no sight would tell, the legs to walk again.
    """
    if len(ranked) < 2:
        return None
    if any(one.slip.edge < 0 for one in ranked[:2]):
        return None  # a figure of the map or of the heading is looked up, not walked again
    first = ranked[0].slip
    second = next(
        (one.slip for one in ranked if one.slip.edge >= 0 and one.slip.edge != first.edge), ranked[1].slip
    )
    for slip in (first, second):
        leg = legs.booked[slip.edge]
        it_is = f"{leg.start} to {leg.end} is {slip.reading}"
        if slip.is_bearing and leg.back_bearing is None:
            as_read = leg.bearing.azimuth_deg + 180.0
            quadrant = is_quadrant(leg.bearing.written)
            then = bearing_text(as_read + slip.turn_deg, quadrant=quadrant)
            now = bearing_text(as_read, quadrant=quadrant)
            return (
                f"a back bearing from {leg.end} to {leg.start} would decide: {then} if {it_is}, {now} if not"
            )
        if slip.tilt != 1.0 and leg.back_slope is None:
            return f"a back slope from {leg.end} to {leg.start} would decide whether {it_is}"
    if first.edge != second.edge:
        sight = _sight(first, second, closing, legs, network, drawn)
        if sight is not None:
            return sight
    names = dict.fromkeys(
        f"{legs.booked[slip.edge].start} to {legs.booked[slip.edge].end}" for slip in (first, second)
    )
    return f"where the page doesn't tell, walk {' or '.join(names)} again"


def _sight(
    first: Slip, second: Slip, closing: Closing, legs: ReducedLegs, network: Network, drawn: Drawn
) -> str | None:
    """The sight from an end of either leg to a station of the circuit that differs most between the two."""
    circuit = closing.circuit
    if not all(slip.is_bearing or slip.stretch != 1.0 for slip in (first, second)):
        return None
    stations = list(circuit.stations)
    places = [_places(slip, closing, drawn)[: len(stations)] for slip in (first, second)]
    ends = {int(end[slip.edge]) for slip in (first, second) for end in (network.start, network.end)}
    best: tuple[float, int, int, Floats] | None = None
    for i in (i for i, station in enumerate(stations) if station in ends):
        ways = [place - place[i] for place in places]
        azimuths = np.degrees([np.arctan2(way[:, 0], way[:, 1]) for way in ways])
        apart = np.abs(180.0 - np.mod(180.0 - (azimuths[0] - azimuths[1]), 360.0))
        near = np.minimum(*(np.hypot(way[:, 0], way[:, 1]) for way in ways)) < SHORT_SIGHT_M
        apart[near] = 0.0
        j = first_least(-apart, same=SAME_DEG)
        if best is None or apart[j] > best[0] + SAME_DEG:
            best = (float(apart[j]), i, j, azimuths[:, j])
    edge = first.edge
    if best is None or best[0] < CLEAR_OF_EACH_OTHER * float(legs.reading_sd_deg[edge]):
        return None
    _, i, j, azimuth = best
    leg = legs.booked[edge]
    turn = wrap_180(
        float(-legs.declination_deg[edge] + (0.0 if legs.from_grid[edge] else drawn.convergence_deg[edge]))
    )
    texts = [
        bearing_text(round(settled(value + turn)), quadrant=is_quadrant(leg.bearing.written))
        for value in azimuth.tolist()
    ]
    names = [network.names[stations[at]] for at in (i, j)]
    second_leg = legs.booked[second.edge]
    return (
        f"a sight from {names[0]} to {names[1]} would decide: about {texts[0]} if {leg.start} to {leg.end} is wrong, "
        f"{texts[1]} if it is {second_leg.start} to {second_leg.end}"
    )


def _places(slip: Slip, closing: Closing, drawn: Drawn) -> Floats:
    """Stations along a circuit from its first, with one leg changed, (n + 1, 2)."""
    ways = []
    for step in closing.circuit.steps:
        east, north = drawn.vectors.observed_m[step.edge, :2].tolist()
        if step.edge == slip.edge:
            turn = math.radians(slip.turn_deg)
            east, north = (
                slip.stretch * (east * math.cos(turn) + north * math.sin(turn)),
                slip.stretch * (north * math.cos(turn) - east * math.sin(turn)),
            )
        ways.append((step.sign * east, step.sign * north))
    return np.concatenate((np.zeros((1, 2)), np.cumsum(np.array(ways), axis=0)))
