"""A slope, or the side of a place beside a leg, that was written down wrong: what the key shows, and what the line would say."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence

from traverse.adjustment.misread.slips import Slip, slips_of
from traverse.compare.mends import Mend, cause_of, put
from traverse.compare.records import Cause
from traverse.location.records import PlacedAddress, PlacedLeg
from traverse.log.items import Side
from traverse.settled import settled
from traverse.source import Source
from traverse.trade import CAUSE_PLACE_M, LEG_APART, MOST_CAUSES, STATED_FREEDOM

_BY_CHANCE = 0.05
"""In so many sound logs one slope lies by chance so far off, or fewer, since a slip must fit it as well."""
_BESIDE_SHARE = 0.1
"""Share of its distance by which a place beside a leg comes out otherwise with another party; common practice, no source."""
_SWAP = {"left": "right", "right": "left"}


def slope_slips(
    legs: Sequence[PlacedLeg],
    key: Sequence[PlacedLeg],
    names: Mapping[str, str],
    sources: Mapping[str, Source],
) -> Iterator[tuple[Mend, Cause]]:
    """Slopes that one slip makes the key's, where the log's others are near enough to it to tell; the worst first.

    What slopes differ by is what both logs state, drawn toward what the other legs of these two differ by. A slope is
    another than the key's beyond the Student quantile for that, at `_BY_CHANCE` over all legs together.
    Source: externally studentized residuals with Bonferroni's bound; R. D. Cook and S. Weisberg (1982), Residuals and
    Influence in Regression, 2.2.2.
    """
    from scipy.special import stdtrit

    theirs: dict[tuple[str | None, str | None], tuple[float, float]] = {}
    for leg in key:
        if leg.slope_known:
            sd = leg.booked.conditions.precision.slope_deg
            theirs.setdefault((leg.booked.end, leg.booked.start), (-_slope_deg(leg), sd))
            theirs[leg.booked.start, leg.booked.end] = _slope_deg(leg), sd
    both = [
        (leg, *theirs[ends])
        for leg in legs
        if leg.slope_known
        and (ends := (names.get(leg.booked.start), names.get(leg.booked.end))) in theirs
        and None not in ends
    ]
    off = [settled(abs(_slope_deg(leg) - there), 6) for leg, there, _ in both]
    left = set(range(len(both)))
    for at in sorted(left, key=lambda one: (-off[one], one))[:MOST_CAUSES]:
        leg, there, key_sd = both[at]
        left.discard(at)
        stated = math.hypot(leg.booked.conditions.precision.slope_deg, key_sd)
        freedom = STATED_FREEDOM + len(left)
        sd = math.sqrt((STATED_FREEDOM * stated**2 + sum(off[one] ** 2 for one in left)) / freedom)
        most = settled(sd * float(stdtrit(freedom, 1.0 - _BY_CHANCE / (2.0 * len(both)))), 6)
        if off[at] <= most:
            return
        fitting = _fitting(leg, there, within_deg=min(most, off[at] / 3.0))
        slope = leg.booked.slope
        if not fitting or slope is None or slope.span.file not in sources:
            continue
        slip, rest = fitting[0]
        of = f"leg {leg.booked.start}–{leg.booked.end}"
        beside = (
            f"; the other {len(left)} are within {_degrees(max(off[one] for one in left))}" if left else ""
        )
        mend = Mend(
            span=leg.booked.span,
            cause=f"{of}: {slip.slip}",
            about=f"the slope of {of}",
            reading=slip.reading,
            lines=put(sources, [(slope.span, slip.reading)]),
        )
        yield (
            mend,
            cause_of(
                mend,
                f"its slope is {off[at]:.0f}° off the key's, and within {_degrees(rest)} with {slip.reading}{beside}",
                *(f"{other.slip} ({other.reading})" for other, _ in fitting[1:3]),
                way=slip.way,
            ),
        )


def side_slips(
    beside: Sequence[tuple[PlacedAddress, PlacedAddress]], sources: Mapping[str, Source]
) -> Iterator[tuple[Mend, Cause]]:
    """Places beside a leg, each with the key's there, that lie as far off the leg on its other side."""
    for here, there in beside:
        address = here.address
        if here.right_m is None or there.right_m is None or address.span.file not in sources:
            continue
        sd = CAUSE_PLACE_M + _BESIDE_SHARE * abs(there.right_m)
        off, rest = (settled(abs(one - there.right_m), 6) for one in (here.right_m, -here.right_m))
        if address.side not in {Side.LEFT, Side.RIGHT} or off <= LEG_APART * sd or rest > sd:
            continue
        line = sources[address.span.file].line(address.span.line)
        swapped = re.sub(r"\b(left|right)\b", lambda found: _SWAP[found[1]], line, count=1)
        about = f"the place {address.where}"
        mend = Mend(
            span=address.span,
            cause=f"{about}: left and right exchanged",
            about=about,
            reading=" ".join(swapped.split("#")[0].split()),
            lines={(address.span.file, address.span.line): swapped},
        )
        on = "the key has a place as far off the leg there, on its other side"
        yield mend, cause_of(mend, on, "another place on the other side")


def _slope_deg(leg: PlacedLeg) -> float:
    return math.degrees(math.atan2(leg.rise_m, leg.horizontal_m))


def _degrees(most: float) -> str:
    return f"{max(1, math.ceil(settled(most, 3))):.0f}°"


def _fitting(leg: PlacedLeg, there: float, *, within_deg: float) -> list[tuple[Slip, float]]:
    """The slips of its slope that bring a leg to the key's, the likeliest first, each with what is left in degrees.

    A slope read at both ends is a mean, which no one slip makes.
    """
    if leg.booked.back_slope is not None:
        return []
    found = []
    for order, slip in enumerate(slips_of(-1, leg.booked, 0.0)):
        rest = settled(abs(_slope_deg(leg) * slip.tilt - there), 6)
        if slip.tilt != 1.0 and rest <= within_deg:
            found.append((rest**2 + slip.rank, order, slip, rest))
    return [(slip, rest) for _, _, slip, rest in sorted(found, key=lambda one: one[:2])]
