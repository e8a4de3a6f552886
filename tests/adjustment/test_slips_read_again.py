"""What a slip is said to do to each loop and tie is what comes out where the page is read again with its figure.

Nothing of how slips are reckoned is in here: the figure that a slip offers is typed in the place of the one that stands
there, and the page is read, reduced and closed as any other. A loop of paces and tape with back bearings and slopes, a
second one over two of its legs, and a tie between two known points; magnetic bearings.
"""

from __future__ import annotations

from functools import cache
from types import SimpleNamespace

import numpy as np
import pytest

from traverse.adjustment.closure import judge_circuits
from traverse.adjustment.jointly import taken_together
from traverse.adjustment.misread import find
from traverse.adjustment.misread.slips import OTHER_PACE
from traverse.adjustment.network import build_network
from traverse.adjustment.vectors import draw
from traverse.location.known_points import known_points
from traverse.log.readings import Unit
from traverse.notation.read import read_log
from traverse.reduction.reduce import reduce_legs
from traverse.source import Source

HEADS = {
    "magnetic": "notation 1\nbearings magnetic\ndeclination 6 W, 2026, chart\npace double 1.5 m\nprecision bearing 1, pace 3%, tape 1%, slope 1\n",
    "true, in quadrants": "notation 1\nbearings true\npace single 0.75 m\nprecision bearing 2, pace 2%, tape 2%, slope 2\n",
}
POINTS = "control A 1000 E 1000 N 500 m\ncontrol D 1290 E 900 N 540 m\nat A\n"
LEGS = {
    "magnetic": [
        ("to B", "047", "back 227", "140m", "+4"), ("to C", "130", "back 331", "86.5m", "+12"), ("to D", "127", "", "74m", "-3"),
        ("to E", "238", "back 055", "100p", "+5%"), ("close A", "318", "", "128p", "-14"), ("at C\nto F", "215", "back 036", "45p", "-8"),
        ("close E", "196", "", "60m", "+1"),
    ],
    "true, in quadrants": [
        ("to B", "N47E", "back S47W", "140m", "+4"), ("to C", "S50E", "back N29W", "86.5m", "+12"), ("to D", "S53E", "", "240ft", "-3"),
        ("to E", "S58W", "back N55E", "200p", "+5%"), ("close A", "N42W", "", "256p", "-14"), ("at C\nto F", "S35W", "back N36E", "90p", "-8"),
        ("close E", "S16W", "", "60m", "+1"),
    ],
}  # fmt: skip


def page(head, legs):
    """Legs by where to, bearing, back bearing, distance and slope; the back bearing stands last in its line."""
    lines = (" ".join(part for part in (*leg[:2], *leg[3:], leg[2]) if part) for leg in legs)
    return head + POINTS + "".join(f"{line}\n" for line in lines)


def closed(text):
    """The page read, and how its circuits close."""
    reading = read_log(Source(name="day.trav", text=text), load=lambda *_: None)
    log = reading.value.log
    legs = reduce_legs(log).value
    network = build_network(log, known_points(log, None).value)
    drawn = draw(legs, network, None)
    return SimpleNamespace(
        log=log,
        legs=legs,
        network=network,
        drawn=drawn,
        closings=judge_circuits(network, drawn.vectors, anyway=False),
        error=[one.message for one in reading.diagnostics if one.severity.value == "error"],
    )


def gaps(found):
    """Gap and covariance of each circuit, by the way that it runs over the legs: not weighed, nothing shared."""
    vectors = found.drawn.vectors
    for closing in found.closings:
        steps = closing.circuit.steps
        gap = sum(step.sign * vectors.observed_m[step.edge] for step in steps)
        spread = sum(vectors.covariance_m2[step.edge] for step in steps)
        yield np.asarray(gap), np.asarray(spread)


class _Taken(Exception):  # noqa: N818 - not an error
    pass


@cache
def tried(kind):
    """All slips that the page is tried with, by (slip, circuit, shift, growth)."""
    found = closed(page(HEADS[kind], LEGS[kind]))
    assert found.error == []
    together = taken_together(found.closings, found.network, found.drawn.vectors, ())
    taken = []

    def judge(trials, loops):
        taken.append(trials)
        raise _Taken

    before, find.judge = find.judge, judge
    try:
        with pytest.raises(_Taken):
            find.find_suspects(
                found.log, found.legs, found.network, found.closings, found.drawn, known={}, together=together
            )
    finally:
        find.judge = before
    (trials,) = taken
    changes = trials.changes()
    return found, trials.slips, changes


def part_of(slip):
    """Which part of a leg's line a slip changes."""
    return 1 if slip.is_bearing else 4 if slip.tilt != 1.0 else 3


def typed(kind, slip):
    """The leg with the figure of a slip typed in, or None where a slip is no other figure."""
    leg = list(LEGS[kind][slip.edge])
    if slip.slip in {"leg booked twice", "leg left out"}:
        return None
    if slip.both_turned:
        leg[1], leg[2] = slip.reading.split(" ", 1)
    else:
        assert slip.written == leg[part_of(slip)]
        leg[part_of(slip)] = slip.figure
    return leg


def of_legs(kind):
    _, slips, _ = tried(kind)
    return [at for at, one in enumerate(slips) if one.of_reading and not one.is_vague and typed(kind, one)]


@pytest.mark.parametrize("kind", HEADS)
def test_every_usual_slip_of_a_leg_is_tried(kind):
    found, slips, _ = tried(kind)
    words = {slips[at].slip for at in of_legs(kind)}
    assert {slips[at].edge for at in of_legs(kind)} == set(range(found.network.leg_count))
    usual = {"bearing reversed", "fore and back bearings exchanged", "digits exchanged",
             "bearing 10 degrees too large",
             "both bearings 10 degrees too large", "misread: the back bearing is right", "10 times too large", "a hundred too many", "a hundred left out",
             "first figure lost", "feet taken for metres", "paces taken for metres", "metres taken for paces",
             "digits of the paces exchanged", "100 paces dropped", "20 paces too many", "sign of the slope lost",
             "slope too steep by 10 degrees", "slope too gentle by 10 degrees", "slope 10 times too gentle", "per cent taken for degrees",
             "degrees taken for per cent"}  # fmt: skip
    usual |= (
        {"declination applied twice"}
        if kind == "magnetic"
        else {
            "E and W exchanged",
            "N and S exchanged",
            "quadrant angle read from the other end",
            "metres taken for feet",
        }
    )
    assert usual <= words
    assert len(of_legs(kind)) > 150


@pytest.mark.parametrize("kind", HEADS)
def test_a_slip_does_to_each_circuit_what_its_figure_does_when_it_is_read(kind):
    """All legs with other figures stand on one page, from one place, each to a place of its own."""
    found, slips, changes = tried(kind)
    some = [at for at in of_legs(kind) if slips[at].slip != "declination applied twice"]
    again = closed(page(HEADS[kind], [(f"at A\nto S{at}", *typed(kind, slips[at])[1:]) for at in some]))
    assert again.error == []
    before, after = found.drawn.vectors, again.drawn.vectors
    signs = [{step.edge: step.sign for step in closing.circuit.steps} for closing in found.closings]
    for leg, at in enumerate(some):
        edge = slips[at].edge
        rows = np.flatnonzero(changes.slip == at)
        # Every circuit that runs over the leg, and no other.
        assert sorted(changes.circuit[rows].tolist()) == [i for i, over in enumerate(signs) if edge in over]
        for row in rows.tolist():
            moved = signs[int(changes.circuit[row])][edge] * (after.observed_m[leg] - before.observed_m[edge])
            grown = after.covariance_m2[leg] - before.covariance_m2[edge]
            assert changes.shift_m[row] == pytest.approx(moved, abs=1e-5), slips[at]
            assert changes.more_m2[row] == pytest.approx(grown, abs=1e-5), slips[at]


@pytest.mark.parametrize("kind", HEADS)
def test_what_two_circuits_share_grows_as_the_legs_of_both_do(kind):
    """By the growth of the leg, with the sign of each circuit over it."""
    found, slips, changes = tried(kind)
    signs = [{step.edge: step.sign for step in closing.circuit.steps} for closing in found.closings]
    more = {
        (int(slip), int(circuit)): changes.more_m2[row]
        for row, (slip, circuit) in enumerate(zip(changes.slip, changes.circuit, strict=True))
    }
    of_reading = [row for row, at in enumerate(changes.pair_slip.tolist()) if slips[at].of_reading]
    assert of_reading
    for row in of_reading:
        at, one, other = (int(part[row]) for part in (changes.pair_slip, changes.first, changes.second))
        edge = slips[at].edge
        expected = signs[one][edge] * signs[other][edge] * more[at, one]
        assert changes.pair_m2[row] == pytest.approx(expected, abs=1e-9)


def headed(kind, slip):
    """The page with another line of its heading."""
    head = HEADS[kind]
    legs = LEGS[kind]
    if slip.slip.startswith(("E and W of the declination", "declination ten times")):
        assert slip.written == "6 W"
        return page(head.replace("6 W", slip.reading), legs)
    if slip.slip.startswith("declination applied twice"):
        return page(head.replace("bearings magnetic\ndeclination 6 W, 2026, chart", "bearings true"), legs)
    if slip.slip.endswith("throughout") and slip.reading in {"feet", "metres"}:
        old, new = (
            (Unit.METRES.value, Unit.FEET.value)
            if slip.reading == "feet"
            else (Unit.FEET.value, Unit.METRES.value)
        )
        other = [
            (*leg[:3], leg[3].removesuffix(old) + new if leg[3].endswith(old) else leg[3], *leg[4:])
            for leg in legs
        ]
        return page(head, other)
    length = 1.5 if "1.5" in head else 0.75
    if slip.slip == OTHER_PACE:
        return page(head.replace(f"{length:g} m\n", f"{length * slip.stretch:.7f} m\n"), legs)
    double = "counted as double" in slip.slip
    return page(head.replace(f"{length:g} m\n", f"{length / 2.0 if double else length * 2.0:g} m\n"), legs)


@pytest.mark.parametrize("kind", HEADS)
def test_a_slip_of_the_heading_does_what_another_heading_does(kind):
    found, slips, changes = tried(kind)
    before = list(gaps(found))
    words = set()
    for at, slip in enumerate(slips):
        if slip.edge >= 0 or slip.what.startswith("control"):
            continue
        words.add(slip.slip)
        after = list(gaps(closed(headed(kind, slip))))
        rows = np.flatnonzero(changes.slip == at)
        assert len(rows)
        for row in rows.tolist():
            i = int(changes.circuit[row])
            assert changes.shift_m[row] == pytest.approx(after[i][0] - before[i][0], abs=2e-3), slip
            assert changes.more_m2[row] == pytest.approx(after[i][1] - before[i][1], abs=2e-2, rel=1e-3), slip
    assert any("throughout" in one for one in words)
    assert (
        kind != "magnetic"
        or {"E and W of the declination exchanged", "declination ten times too small"} <= words
    )
