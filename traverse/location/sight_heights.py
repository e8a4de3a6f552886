"""Vertical angles of sights, held against each other and against known heights."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from traverse.adjustment.records import Fix, Floats
from traverse.diagnostic import Diagnostic, warning
from traverse.length import Lengths
from traverse.location.records import PlacedAddress
from traverse.location.sighting import Met
from traverse.log.items import Sight
from traverse.log.readings import Slope, SlopeKind
from traverse.record import record
from traverse.reduction.slope import slope_rad
from traverse.settled import settled
from traverse.trade import ONE_IN_A_THOUSAND, OUTLYING, chi_square_limit
from traverse.wording import listed

_LEAST_SD_M = 0.1
"""No height by a sight is better."""


@record(frozen=True, slots=True, kw_only=True)
class SightedHeights:
    """What the sights to one landmark make its height, one element for each that has a vertical angle."""

    sights: tuple[Sight, ...]
    from_m: Floats  # (n,) heights of the places they were taken at
    distance_m: Floats  # (n,) on the level
    up_m: Floats  # (n,)
    sd_m: Floats  # (n,)

    @classmethod
    def of(cls, seen: Sequence[tuple[Sight, PlacedAddress]], met: Met) -> SightedHeights:
        """Of a landmark whose place is known by its sights."""
        plan_m2 = float(np.trace(met.covariance_m2)) / 2.0
        sights, rows = [], []
        for (sight, address), distance in zip(seen, met.distance_m.tolist(), strict=True):
            if sight.slope is None or address.up_m is None:
                continue
            up = address.up_m + distance * math.tan(slope_rad(sight.slope))
            sights.append(sight)
            rows.append((address.up_m, distance, up, _sd_m(sight, address, distance, plan_m2)))
        from_m, distances, ups, sds = np.array(rows).reshape(-1, 4).T
        return cls(sights=tuple(sights), from_m=from_m, distance_m=distances, up_m=ups, sd_m=sds)

    def chi_square(self, keep: Floats | None = None) -> float:
        """Of the heights about their weighted mean; `keep` are those that count."""
        up, sd = (self.up_m, self.sd_m) if keep is None else (self.up_m[keep], self.sd_m[keep])
        mean = float((up / sd**2).sum() / (1.0 / sd**2).sum())
        return settled(float((((up - mean) / sd) ** 2).sum()), 6)

    @property
    def apart(self) -> bool:
        """Whether so much lies between them in one sound landmark of a thousand."""
        freedom = len(self.up_m) - 1
        return freedom > 0 and self.chi_square() > chi_square_limit(freedom, ONE_IN_A_THOUSAND)

    def told(self, name: str, lengths: Lengths) -> Diagnostic:
        """Sights whose heights differ; the wrong one by name where two others agree."""
        count = len(self.sights)
        least, most = float(self.up_m.min()), float(self.up_m.max())
        fact = (
            f"the vertical angles of the sights to {name} put it at heights that lie {lengths.said(most - least)} apart, more "
            "than their errors allow, and it is given none"
        )
        alone, read = [], []
        for i, sight in enumerate(self.sights):
            keep = np.arange(count) != i
            weight = 1.0 / self.sd_m[keep] ** 2
            up = float((self.up_m[keep] * weight).sum() / weight.sum())
            read.append((sight, _as_written(sight, up - float(self.from_m[i]), float(self.distance_m[i]))))
            if count > 2 and self.chi_square(keep) <= chi_square_limit(count - 2):
                alone.append(read[-1])
        if len(alone) == 1:
            [(sight, would)] = alone
            assert sight.slope is not None
            return warning(
                "sights-apart",
                f"{fact}; the other {count - 1} agree without this one, which would read about {would}",
                sight.slope.span,
                f"look at {sight.slope.written} on the page: its sign, and which landmark it was",
            )
        each = [f"`{would}` {sight.address.where} (line {sight.span.line})" for sight, would in alone or read]
        return warning(
            "sights-apart",
            fact,
            self.sights[-1].span,
            f"a sign was lost, a figure misread, or one is to another landmark: about {listed(each, last='or')} would agree "
            "with the rest",
        )


def height_disagrees(sight: Sight, address: PlacedAddress, fix: Fix) -> Diagnostic | None:
    """A sight whose vertical angle is not that to a known point of known height."""
    if sight.slope is None or address.up_m is None or not fix.has_height:
        return None
    distance = math.hypot(fix.position_m[0] - address.east_m, fix.position_m[1] - address.north_m)
    rise = float(fix.position_m[2]) - address.up_m
    off = distance * math.tan(slope_rad(sight.slope)) - rise
    sd = math.hypot(_sd_m(sight, address, distance, fix.sd_plan_m**2), fix.sd_height_m)
    if settled(abs(off), 6) <= OUTLYING * sd:
        return None
    return warning(
        "sight-disagrees",
        f"the sight to {sight.target} reads {sight.slope.written}; by the heights of both places it should be about "
        f"{_as_written(sight, rise, distance)}",
        sight.slope.span,
        "look at its sign and its figures on the page, at the height of the known point, and which landmark it was",
    )


def _sd_m(sight: Sight, address: PlacedAddress, distance_m: float, plan_m2: float) -> float:
    """Of the height that a sight gives."""
    assert sight.slope is not None
    angle = slope_rad(sight.slope)
    own = distance_m * math.radians(sight.conditions.precision.slope_deg) / math.cos(angle) ** 2
    here_m2 = 0.0 if address.covariance_m2 is None else address.covariance_m2[2][2]
    variance = own**2 + here_m2 + math.tan(angle) ** 2 * (plan_m2 + address.sd_m**2)
    return max(settled(math.sqrt(variance)), _LEAST_SD_M)


def _as_written(sight: Sight, rise_m: float, distance_m: float) -> str:
    """The vertical angle of a rise, in the measure that the sight was read in."""
    slope: Slope | None = sight.slope
    grade = slope is not None and slope.kind is SlopeKind.GRADE
    value = 100.0 * rise_m / distance_m if grade else math.degrees(math.atan2(rise_m, distance_m))
    return f"{round(value):+d}{'%' if grade else ''}"
