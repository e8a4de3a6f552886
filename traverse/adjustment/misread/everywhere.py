"""A mistake of the heading, which all legs under it share: the pace, the unit, the declination."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np

from traverse.adjustment.misread.explained import Loops
from traverse.adjustment.misread.paces import other_paces
from traverse.adjustment.misread.shared_mistake import SharedMistake, steps_over_legs
from traverse.adjustment.misread.slips import Slip
from traverse.adjustment.misread.trials import Pair, Trials
from traverse.adjustment.records import Floats, Indices, Network
from traverse.adjustment.vectors import Drawn
from traverse.angle import wrap_180
from traverse.length import METRES_PER_FOOT
from traverse.log.readings import North, Unit
from traverse.log.records import Log
from traverse.reduction.declination import left_out_deg
from traverse.reduction.records import Flags, ReducedLegs
from traverse.trade import COMMON_SLIP, DOUBTED_DECLINATION, MODEL_DECLINATION_DEG, RARE_SLIP

LEAST_DECLINATION_DEG = 0.5
"""A declination smaller than this turns nothing that would show."""


def try_everywhere(
    trials: Trials,
    log: Log,
    legs: ReducedLegs,
    loops: Loops,
    network: Network,
    drawn: Drawn,
    *,
    model_deg: float | None,
) -> None:
    """What would follow for every circuit, were all legs under a line of the heading reduced by another.

    `model_deg` is the declination that the magnetic model gives there on that day, where it is known.
    """
    tied = any(
        failing and not closing.circuit.closed
        for closing, failing in zip(loops.closings, loops.failing.tolist(), strict=False)
    )
    # A loop stretched or turned as a whole closes as before: known points alone tell, or what another party walked.
    several = [
        one
        for one in (
            *other_paces(log, legs.booked, loops, network, drawn),
            *_shared(log, legs, model_deg, drawn.convergence_deg),
        )
        if tied or one.part
    ]
    if not several:
        return
    count = network.leg_count
    observed = drawn.vectors.observed_m[:count]
    covariance = drawn.vectors.covariance_m2[:count]
    steps = steps_over_legs(loops, network)
    for one in several:
        turn = np.radians(np.where(one.legs, one.turn_deg, 0.0))
        stretch = np.where(one.legs, one.stretch, 1.0)
        rotation = np.zeros((count, 3, 3))
        rotation[:, 0, 0] = rotation[:, 1, 1] = stretch * np.cos(turn)
        rotation[:, 0, 1], rotation[:, 1, 0] = stretch * np.sin(turn), -stretch * np.sin(turn)
        rotation[:, 2, 2] = stretch
        change = (rotation @ observed[..., None])[..., 0] - observed
        growth = rotation @ covariance @ rotation.transpose(0, 2, 1) - covariance
        rows = []
        for i, (edges, signs) in enumerate(steps):
            if one.legs[edges].any():
                rows.append((i, (signs[:, None] * change[edges]).sum(axis=0), growth[edges].sum(axis=0)))
        trials.add(one.slip, one.slip.rank, rows, _between(steps, growth) if loops.together else ())


def _between(steps: Sequence[tuple[Indices, Floats]], growth: Floats) -> list[Pair]:
    """What the covariance of each two circuits grows by, with that of the legs they share, (n_legs, 3, 3)."""
    signs = np.zeros((len(steps), len(growth)))
    for i, (edges, sign) in enumerate(steps):
        np.add.at(signs[i], edges, sign)
    return [
        (a, b, ((signs[a] * signs[b])[:, None, None] * growth).sum(axis=0))
        for a, b in combinations(range(len(steps)), 2)
    ]


def _shared(
    log: Log, legs: ReducedLegs, model_deg: float | None, convergence_deg: Floats
) -> Iterator[SharedMistake]:
    booked = legs.booked
    nothing = np.zeros(len(booked))
    files = [leg.span.file for leg in booked]
    headings = [np.array([one == file for one in files], dtype=np.bool_) for file in dict.fromkeys(files)]
    part = len(headings) > 1
    stated = {one.file: one.distances for one in log.parties}
    for of_heading in headings:
        for unit, meant, stretch in (
            (Unit.METRES, Unit.FEET, METRES_PER_FOOT), (Unit.FEET, Unit.METRES, 1.0 / METRES_PER_FOOT),
        ):  # fmt: skip
            under = of_heading & np.array([leg.distance.unit is unit for leg in booked], dtype=np.bool_)
            if under.sum() > 1:
                leg = booked[int(np.flatnonzero(under)[0])]
                written, other = (one.name.lower() for one in (unit, meant))
                slip = Slip(
                    span=stated.get(leg.span.file) or leg.span, what=f"all {written}", slip=f"{other} taken for {written} throughout",
                    reading=other, written=written, rank=RARE_SLIP,
                )  # fmt: skip
                yield SharedMistake(slip=slip, legs=under, turn_deg=nothing, stretch=stretch, part=part)
        yield from _declinations(legs, of_heading, model_deg, convergence_deg, part=part)
    yield from _left_out(legs, headings, model_deg)


def _declinations(
    legs: ReducedLegs, of_heading: Flags, model_deg: float | None, convergence_deg: Floats, *, part: bool
) -> Iterator[SharedMistake]:
    """The declination with the other sign, ten times too large or small, not to be added, or left out.

    `of_heading` are the legs under one heading, (n_legs,), `part` whether there are others, and `convergence_deg` how far
    grid north lies east of true north at each leg, (n_legs,).
    """
    booked = legs.booked
    declination = legs.declination_deg
    magnetic = np.array([leg.conditions.bearings is North.MAGNETIC for leg in booked], dtype=np.bool_)
    magnetic &= of_heading & (np.abs(declination) >= LEAST_DECLINATION_DEG)
    if magnetic.any():
        leg = booked[int(np.flatnonzero(magnetic)[0])]
        stated = leg.conditions.declination
        value = float(declination[int(np.flatnonzero(magnetic)[0])])
        span = stated.span if stated is not None else leg.span
        for times, words, rank in (
            (-2.0, "E and W of the declination exchanged", -COMMON_SLIP),
            (-1.0, _TWICE, -RARE_SLIP),
            (-0.9, "declination ten times too large", 0.0),
            (9.0, "declination ten times too small", 0.0),
        ):
            twice, meant = words == _TWICE, value * (1.0 + times)
            if abs(meant) > 180.0:
                continue
            more = 0.0
            if not twice and model_deg is not None:
                # Where bearings were true the stated figure would be as wrong as it is.
                more = _against_model(meant, model_deg) - _against_model(value, model_deg)
            slip = Slip(
                span=span, what="the declination", slip=words, rank=rank + more,
                reading="bearings true" if twice else _east_west(meant),
                written="bearings magnetic" if twice else _east_west(value),
            )  # fmt: skip
            yield SharedMistake(slip=slip, legs=magnetic, turn_deg=times * declination, part=part)
    for north, from_true_deg in ((North.TRUE, 0.0), (North.GRID, convergence_deg)):
        under = of_heading & np.array([leg.conditions.bearings is north for leg in booked], dtype=np.bool_)
        for i in np.flatnonzero(under)[:1].tolist():
            stated = booked[i].conditions.declination
            value = 0.0 if stated is None else stated.on(booked[i].conditions.date) or 0.0
            turn = np.broadcast_to(value - from_true_deg, len(booked))
            if stated is not None and abs(value) and abs(float(turn[i])) >= LEAST_DECLINATION_DEG:
                slip = Slip(
                    span=stated.span, what="the declination",
                    slip="declination left out: bearings were magnetic", reading="bearings magnetic",
                    written=f"bearings {north.value}", rank=-COMMON_SLIP,
                )  # fmt: skip
                yield SharedMistake(slip=slip, legs=under, turn_deg=turn, part=part)


def _left_out(
    legs: ReducedLegs, headings: Sequence[Flags], model_deg: float | None
) -> Iterator[SharedMistake]:
    """The declination that a heading does not state, where bearings called true were read off a compass."""
    booked = legs.booked
    for of_heading in headings:
        own = [booked[i] for i in np.flatnonzero(of_heading).tolist()]
        said = own[0].conditions
        if said.declination is not None or said.bearings_span is None:
            continue
        beside = (booked[i] for i in np.flatnonzero(~of_heading).tolist())
        value = left_out_deg(own, beside, modelled=lambda: model_deg)
        if abs(value) >= LEAST_DECLINATION_DEG:
            slip = Slip(
                span=said.bearings_span, what="the bearings",
                slip="declination left out: bearings were magnetic", reading=f"magnetic, {_east_west(round(value, 1))}",
                written="true", rank=-RARE_SLIP,
            )  # fmt: skip
            yield SharedMistake(
                slip=slip, legs=of_heading, turn_deg=np.full(len(booked), value), part=len(headings) > 1
            )


_TWICE = "declination applied twice: bearings were true"


def _against_model(value_deg: float, model_deg: float) -> float:
    """What a declination that the model does not bear out counts against itself, as a chi-square."""
    return min((wrap_180(value_deg - model_deg) / MODEL_DECLINATION_DEG) ** 2, DOUBTED_DECLINATION)


def _east_west(value: float) -> str:
    return f"{abs(value):g} {'E' if value >= 0.0 else 'W'}"
