"""Faults whose words contradict each other, or the units on their sides."""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from traverse.angle import nearest_point, wrap_180, wrap_360
from traverse.diagnostic import Diagnostic, Label, note, warning
from traverse.location.records import Survey
from traverse.log.items import ContactKind, LineKind, Movement, UnitHere
from traverse.log.records import Log
from traverse.settled import SAME_M, settled
from traverse.source import Span
from traverse.structure.readings.directions import Vectors, line, pole_angle
from traverse.structure.readings.place_errors import bed_pole, contact_pole
from traverse.structure.readings.placed import Norths
from traverse.structure.readings.records import Attitude, LineAttitude, PlacedContact, PlaneAttitude, by_rule
from traverse.structure.walk.neighbours import Neighbours
from traverse.structure.walk.order import WalkOrder
from traverse.structure.walk.records import BandStretch
from traverse.structure.walk.sides import younger_side
from traverse.trade import ALIKE_DEG, ALONG_FAULT_DEG, FORESET_DEG, LIMB_DEG, STANDING_DEG, SURE_SD

_TWO = 2
_BY_TREND = re.compile(r"(\d{2})(->|→)(\d{3})")


def fault_doubts(
    log: Log,
    survey: Survey,
    contacts: Sequence[PlacedContact],
    beds: Sequence[PlaneAttitude],
    band: tuple[BandStretch, ...],
) -> Iterator[Diagnostic]:
    """Warnings on faults whose side that went down does not go with their dip and movement, or with their units.

    At a level the side that went down shows the younger rock, as long as the beds are upright and the fault is steeper
    than they are or dips the other way. Common practice, no source.
    """
    side, norths = younger_side(log, survey, band), Norths(survey)
    turned = any(bed.overturned for bed in beds)
    steepest = max((bed.dip_deg for bed in beds), default=0.0)
    near = Neighbours(beds, contacts, WalkOrder(log))
    downs: list[_Down] = []
    unjoined: list[_Down] = []
    for fault in contacts:
        if fault.kind is not ContactKind.FAULT:
            continue
        noted = fault.booked.conditions
        turn = norths.turn_deg(noted.bearings, noted, station=None)
        said = None if fault.booked.down is None else fault.booked.down.azimuth_deg + turn
        makes = _moved_down_deg(fault)
        if said is not None and makes is not None and abs(wrap_180(said - makes)) > 180.0 - ALONG_FAULT_DEG:
            yield _against_the_dip(fault, makes, turn)
            continue
        if said is not None and _along_the_strike(fault, said):
            yield _no_side(fault, turn)
            continue
        down = makes if said is None else said
        if down is not None and fault.of_fault is not None:
            downs.append(_Down(fault, down, turn))
        elif said is not None and contact_pole(fault) is not None:
            unjoined.append(_Down(fault, said, turn))
        gentle = fault.dip_deg is not None and fault.dip_deg <= steepest
        sideways = fault.booked.movement in {Movement.LEFT_LATERAL, Movement.RIGHT_LATERAL}
        if down is None or sideways or fault.younger == fault.older:
            continue
        # Elsewhere beds may lie as they do: those on both sides of the fault tell, where they agree.
        if (turned or gentle) and not _gentle_beside(near, fault):
            continue
        east, north = (float(one) for one in side(fault)[:2])
        if math.hypot(east, north) <= SAME_M:
            continue
        younger = settled(math.degrees(math.atan2(east, north)) + survey.frame.to_true_deg)
        if fault.strike_deg is not None:
            # A walk that meets the fault at a low angle still goes to one of its two sides.
            right = wrap_180(younger - fault.strike_deg) > 0.0
            younger = fault.strike_deg + (90.0 if right else -90.0)
        if abs(wrap_180(younger - down)) > 180.0 - ALONG_FAULT_DEG:
            if downs and downs[-1].fault is fault:
                # It is asked about here, and not beside the other places of its fault.
                downs.pop()
            leg = fault.booked.address.leg
            unchecked = leg is not None and leg.back_bearing is None
            yield warning(
                "fault-side",
                f"{fault.younger} is the younger and lies on the side that is said to have gone up",
                fault.booked.span,
                f"at one level the younger rock is on the side that went down: `down {_point(younger - turn)}`; or the list of "
                f"units, overturned beds{f', or the bearing of the leg (line {leg.span.line})' if leg and unchecked else ''}",
                rests_on=_units_by(log, fault),
            )
        elif downs and downs[-1].fault is fault:
            downs[-1] = downs[-1]._replace(by_units=True)
    yield from _down_apart(downs)
    yield from _alike_down_apart(unjoined)


def _gentle_beside(near: Neighbours, fault: PlacedContact) -> bool:
    """Whether the beds on both sides of a fault agree, are upright as far as is known, and far less steep than it."""
    beside = [near.beds[one] for one in near.beside(fault.order, over_faults=True)]
    if len(beside) < 2 or fault.dip_deg is None or any(bed.upside_down for bed in beside):
        return False
    first, second = (bed_pole(bed)[0] for bed in beside)
    steepest = max(bed.dip_deg for bed in beside)
    return pole_angle(first, second) <= ALIKE_DEG and fault.dip_deg > steepest + LIMB_DEG


def lines_off_planes(
    contacts: Sequence[PlacedContact], attitudes: Sequence[Attitude]
) -> Iterator[Diagnostic]:
    """Striations that no plane of a fault read at their own place can hold, by what both are read to.

    A line lies in a plane where it is square to its pole. Source: its definition.
    """
    faults: dict[int, list[PlacedContact]] = defaultdict(list)
    for contact in contacts:
        if contact.kind is ContactKind.FAULT and contact_pole(contact) is not None:
            faults[contact.booked.address.index].append(contact)
    for one in attitudes:
        if not isinstance(one, LineAttitude) or one.kind is not LineKind.STRIATION:
            continue
        here = [_Held.of(one, fault) for fault in faults[one.booked.address.index]]
        nearest = min(here, key=lambda held: held.off_deg, default=None)
        if nearest is None or settled(nearest.off_deg - SURE_SD * nearest.sd_deg, 6) <= 0.0:
            continue
        fault, plane = nearest.fault, nearest.fault.booked.plane
        assert plane is not None
        slip = next((other for other in _other_lines(one) if nearest.holds(*other[:2])), None)
        asked = "" if slip is None else f"{slip[3]}? `{slip[2]}` would fit; else "
        yield replace(
            warning(
                "striation-off-plane",
                f"the striation {one.written} lies {nearest.off_deg:.0f}° out of the plane of its fault, {plane.written}, "
                f"where both are read to {nearest.sd_deg:.0f}°",
                one.span,
                f"{asked}look at both figures on the page: a striation lies in the plane that it scratches",
                labels=(Label(fault.booked.span, plane.written),),
            ),
            doubts=(fault.booked.span,),
        )


class _Held(NamedTuple):
    """A line against the plane of a fault."""

    fault: PlacedContact
    normal: Vectors
    off_deg: float
    sd_deg: float

    @classmethod
    def of(cls, one: LineAttitude, fault: PlacedContact) -> _Held:
        found = contact_pole(fault)
        assert found is not None
        normal, sd = found
        return cls(fault, normal, _out_of(normal, one.plunge_deg, one.trend_deg), math.hypot(sd, one.sd_deg))

    def holds(self, plunge_deg: float, trend_deg: float) -> bool:
        """Whether another line would lie in the plane."""
        return _out_of(self.normal, plunge_deg, trend_deg) <= SURE_SD * self.sd_deg


def _out_of(normal: Vectors, plunge_deg: float, trend_deg: float) -> float:
    """Angle between a line and a plane, degrees."""
    return settled(90.0 - pole_angle(normal, line(plunge_deg, trend_deg=trend_deg)))


def _other_lines(one: LineAttitude) -> Iterator[tuple[float, float, str, str]]:
    """Plunge and true trend of what a line may have been, as it would be typed, and the slip."""
    figures = _BY_TREND.fullmatch(one.written)
    if figures is None:
        return
    plunge, arrow, trend = figures.groups()
    turn = one.trend_deg - float(trend)
    back = f"{round(wrap_360(float(trend) + 180.0)) % 360:03d}"
    yield float(plunge), wrap_360(float(back) + turn), f"{plunge}{arrow}{back}", "a half turn"
    other = plunge[::-1]
    if other != plunge and float(other) <= 90.0:
        yield float(other), one.trend_deg, f"{other}{arrow}{trend}", "digits exchanged"
    for a, b in ((0, 1), (1, 2)):
        digits = list(trend)
        digits[a], digits[b] = digits[b], digits[a]
        other = "".join(digits)
        if other != trend and int(other) < 360:
            yield float(plunge), wrap_360(float(other) + turn), f"{plunge}{arrow}{other}", "digits exchanged"


class _Down(NamedTuple):
    """The side of a place of a fault that went down."""

    fault: PlacedContact
    azimuth_deg: float
    """True."""
    turn_deg: float
    """From the north of the page to true north."""
    by_units: bool = False
    """Whether the units on its sides bear it out."""


def _down_apart(downs: Sequence[_Down]) -> Iterator[Diagnostic]:
    """Places of one fault by its plane of which another side is said to have gone down than at the others.

    Of two the one that its units do not bear out is asked about, else the second, with the first beside it.
    """
    for number in dict.fromkeys(one.fault.of_fault for one in downs):
        its = [one for one in downs if one.fault.of_fault == number]
        first = max(its, key=lambda one: (sum(not _apart(one, other) for other in its), one.by_units))
        others = [one for one in its if _apart(one, first)]
        if len(others) != 1 or len(its) < 2:
            continue
        (odd,) = others
        if len(its) == 2 and not first.by_units and not odd.by_units:
            first, odd = its
        booked, there = odd.fault.booked, first.fault.booked
        said = f"`down {booked.down.written}`" if booked.down is not None else "its movement"
        open_ = len(its) == 2 and first.by_units == odd.by_units
        one = warning(
            "fault-side",
            f"this is drawn as one fault with line {there.span.line}, in whose plane it lies, and {said} takes down the other side "
            "than there",
            booked.span,
            f"`down {_point(first.azimuth_deg - odd.turn_deg)}`, as there{', or look at that line' if open_ else ''}; else are they "
            "two faults, or one that hinges between",
            labels=(Label(there.span, f"down {_point(first.azimuth_deg - first.turn_deg)}"),),
        )
        yield replace(one, doubts=(there.span,)) if open_ else one


def _alike_down_apart(downs: Sequence[_Down]) -> Iterator[Diagnostic]:
    """The only two places of faults, drawn as two, that lie alike and of which other sides are said to have gone down."""
    if len(downs) != _TWO or not _apart(*downs):
        return
    first, second = downs
    poles = [contact_pole(one.fault) for one in downs]
    if poles[0] is None or poles[1] is None or pole_angle(poles[0][0], poles[1][0]) > FORESET_DEG:
        return
    there, booked = first.fault.booked, second.fault.booked
    assert there.down is not None
    assert booked.down is not None
    yield note(
        "fault-side",
        f"`down {booked.down.written}` takes down the other side than `down {there.down.written}` at the fault of line "
        f"{there.span.line}, which lies alike",
        booked.span,
        "are they one fault? then look at both; two may make a graben or a horst",
    )


def _apart(one: _Down, other: _Down) -> bool:
    return abs(wrap_180(one.azimuth_deg - other.azimuth_deg)) > 180.0 - ALONG_FAULT_DEG


def _units_by(log: Log, fault: PlacedContact) -> list[Span]:
    """The lines that say what lies on which side of a fault: its leg, `unit` at both ends of that, its own where these do not fit."""
    leg = fault.booked.address.leg
    if leg is None:
        return []
    ends = {leg.start, leg.end}
    said = [one for one in log.items if isinstance(one, UnitHere) and one.address.station in ends]
    fits = {one.letters for one in said} <= {fault.younger, fault.older}
    return [leg.span, *([] if fits else [fault.booked.span]), *(one.span for one in said)]


def _moved_down_deg(fault: PlacedContact) -> float | None:
    """True azimuth of the side that dip and movement take down; None where they do not tell."""
    to_the_dip = fault.booked.movement.down_the_dip if fault.booked.movement else None
    if (
        to_the_dip is None
        or fault.strike_deg is None
        or fault.dip_deg is None
        or fault.dip_deg > STANDING_DEG
    ):
        return None
    return fault.strike_deg + (90.0 if to_the_dip else -90.0)


def _along_the_strike(fault: PlacedContact, said_deg: float) -> bool:
    """Whether the side that is said to have gone down is neither of the two."""
    return (
        fault.strike_deg is not None
        and fault.dip_deg is not None
        and fault.dip_deg > FORESET_DEG
        and abs(abs(wrap_180(said_deg - fault.strike_deg)) - 90.0) > ALONG_FAULT_DEG
    )


def _no_side(fault: PlacedContact, turn_deg: float) -> Diagnostic:
    down, plane = fault.booked.down, fault.booked.plane
    assert down is not None
    assert plane is not None
    rule = fault.booked.conditions.convention_span if by_rule(plane.written) else None
    sides = [_point((fault.strike_deg or 0.0) + way - turn_deg) for way in (90.0, -90.0)]
    fact = f"`down {down.written}` names no side of the fault {plane.written}: it lies along its strike"
    hint = f"`down {sides[0]}` or `down {sides[1]}`; or look at the figures of the fault"
    if rule is None or plane.may_be_strike:
        one = warning("down-along-strike", fact, fault.booked.span, hint)
        return replace(one, rests_on=(Label(one.span, fact),)) if plane.may_be_strike and one.span else one
    # By two figures it may as well be the rule that is wrong, which one fault alone does not tell.
    return note("down-along-strike", fact, fault.booked.span, f"{hint}, or at the line `attitudes`")


def _against_the_dip(fault: PlacedContact, makes_deg: float, turn_deg: float) -> Diagnostic:
    """Told by the north that the page reads from."""
    movement, down = fault.booked.movement, fault.booked.down
    assert movement is not None
    assert down is not None
    other = "reverse" if movement is Movement.NORMAL else "normal"
    dips, makes = _point((fault.strike_deg or 0.0) + 90.0 - turn_deg), _point(makes_deg - turn_deg)
    return warning(
        "fault-sense",
        f"a {movement.value} fault that dips {dips} has its {makes} side down, and `down {down.written}` "
        "says the other",
        fault.booked.span,
        f"`down {makes}`, `{other}`, or a dip to the other side{_half_turn(fault)}",
    )


def _half_turn(fault: PlacedContact) -> str:
    """Its attitude with the azimuth turned about, as it would be typed; empty where a letter says the side of the dip."""
    plane = fault.booked.plane
    found = None if plane is None else re.match(r"(\d{3})(/\d+)", plane.written)
    if plane is None or found is None or not by_rule(plane.written):
        return ""
    return f", `{(int(found[1]) + 180) % 360:03d}{found[2]}` for `{found[0]}`"


def _point(azimuth_deg: float) -> str:
    return nearest_point(wrap_360(azimuth_deg), points=8)
