"""Upright planes that were read by a dip direction, and that the ground says have that figure for their strike."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from traverse.angle import bearing_text, wrap_360
from traverse.diagnostic import Diagnostic, Label, warning
from traverse.length import Lengths
from traverse.location.records import Survey
from traverse.log.items import HowMet
from traverse.settled import SAME_M, settled
from traverse.structure.cutting_planes import Crossing, across_deg
from traverse.structure.form.contact_plane import on_one_side
from traverse.structure.met_again import off_plane
from traverse.structure.readings.directions import Vectors, pole
from traverse.structure.readings.records import PlacedContact
from traverse.structure.walk.records import Body
from traverse.trade import CROSSED_DEG

_UPRIGHT_DEG = 90.0
_Pair = tuple[PlacedContact, PlacedContact]


def strikes_for_directions(
    survey: Survey,
    contacts: Sequence[PlacedContact],
    bodies: Sequence[Body],
    groups: Sequence[Sequence[Crossing]],
    lengths: Lengths,
) -> Iterator[Diagnostic]:
    """One question for each fault, body and contact whose planes contradict where it was met, and would not if turned by a quarter.

    Either the walk runs along both walls of a body that it went through, within `CROSSED_DEG`; or the way from one place to
    the next lies off the plane, and in it if turned. `groups` are faults and bodies; `contacts` have no walls of bodies.
    """
    told: dict[object, tuple[str, list[PlacedContact]]] = {}
    unit_of = {wall.order: body.unit for body in bodies for wall in body.walls}
    for body in bodies:
        walls = [one for one in body.walls if _may_be_strike(one)]
        along = all(across_deg(survey, one) < CROSSED_DEG for one in walls)
        if len(walls) == 2 and along and body.walked_m > SAME_M:
            fact = (
                f"the walk went through {body.unit} in {lengths.said(body.walked_m, places=1)}, and by this plane it runs "
                "along the walls"
            )
            told.setdefault(body.unit, (fact, []))[1].extend(walls)
    ways: list[list[_Pair]] = [
        *(
            [(one, other) for one in first for other in second]
            for group in groups
            for first, second in pairwise(group)
        ),
        *(
            [pair]
            for places in on_one_side(tuple(contacts)).values()
            for pair in pairwise([one for one in places if one.met is HowMet.CROSSED])
        ),
    ]
    for pairs in ways:
        if not pairs or not all(_may_be_strike(one) for pair in pairs for one in pair):
            continue
        first, second = pairs[0]
        what = unit_of.get(first.order, (first.kind, first.younger, first.older))
        if what in told or _kept(survey, pairs, 0.0) or not _kept(survey, pairs, 90.0):
            continue
        fact = (
            f"it was met again, line {second.booked.span.line}, not in this plane but in the one square to it"
        )
        told[what] = (fact, [first, second])
    for fact, read in told.values():
        yield _asked(fact, read)


def _may_be_strike(one: PlacedContact) -> bool:
    plane = one.booked.plane
    return (
        plane is not None
        and plane.may_be_strike
        and plane.dip_deg == _UPRIGHT_DEG
        and one.strike_deg is not None
    )


def _kept(survey: Survey, pairs: Sequence[_Pair], turn_deg: float) -> bool:
    """Whether some two lie in each other's plane, each turned so far; never by planes that the walk runs along.

    Two dikes side by side, or two limbs, that a walk crosses squarely lie so by the planes square to them.
    """
    able = [
        pair
        for pair in pairs
        if turn_deg == 0.0 or all(across_deg(survey, one) <= 90.0 - CROSSED_DEG for one in pair)
    ]
    to_grid_deg = turn_deg - survey.frame.to_true_deg
    found = off_plane(survey, [(*pair, _normal(one, to_grid_deg)) for pair in able for one in pair])
    return any(one.kept and other.kept for one, other in zip(found[::2], found[1::2], strict=True))


def _normal(one: PlacedContact, turn_deg: float) -> Vectors:
    assert one.strike_deg is not None
    return pole(_UPRIGHT_DEG, dip_direction_deg=wrap_360(settled(one.strike_deg + 90.0 + turn_deg)))


def _asked(fact: str, read: Sequence[PlacedContact]) -> Diagnostic:
    first, *others = (one.booked for one in read)
    assert first.plane is not None
    assert first.plane.strike_deg is not None
    strike = bearing_text(first.plane.strike_deg + 90.0, quadrant=True)
    one = warning(
        "vertical-turned",
        f"{first.plane.written} is read by the direction of its dip, but {fact}",
        first.span,
        f"`{strike}/90` if the figure is the strike",
        labels=tuple(Label(other.span, "likewise") for other in others),
    )
    # Asked already which of the two the figure is, this is what speaks for the other.
    return replace(one, rests_on=(Label(first.span, fact),), doubts=tuple(other.span for other in others))
