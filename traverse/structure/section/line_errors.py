"""How far a constructed line may be off: where it was carried to, and where it goes from there."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property
from statistics import median
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from traverse.settled import SAME_M, settled
from traverse.structure.readings.directions import Vectors
from traverse.structure.readings.girdle import axis_or_lack
from traverse.structure.readings.mean import principal_axis
from traverse.structure.readings.place_errors import place_covariance, place_vector, poles_of
from traverse.structure.readings.records import FoldAxis, PlacedContact, PlaneAttitude
from traverse.structure.section.records import Section, SectionPoint
from traverse.trade import ALIKE_DEG, POLE_SD_DEG

if TYPE_CHECKING:
    from scipy.spatial import KDTree

_SHARES = np.linspace(0.0, 1.0, 11)[:, None]
"""Places at which the way that something was carried is held against the beds."""
_NEAR_M = 10.0
"""Beds nearer than this count alike, metres."""
_LEAST_UP = 0.35
"""Beds whose poles rise less than this on the mean are too steep to follow over level ground."""
_ROWS = 256
"""Beds held against all others at a time, so that many take no room of their square."""
_MANY = 2000
"""Beds of which no longer each is held against all others."""
_FEW = 16
"""Of so many beds those among which the next outcrop is sought first."""
_MOST = 64
"""Of so many beds those that are near enough to tell how a place lies; what is beyond weighs next to nothing."""


class LineErrors:
    """Errors of the lines of one section, from the beds that were read about it."""

    def __init__(self, section: Section, flat: frozenset[str]) -> None:
        """`flat` are the units that took no part in what the others were folded by."""
        self.section, self.flat = section, flat
        self.ends = np.array(section.line, dtype=np.float64)
        self.starts_m = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(self.ends, axis=0).T))))
        beds = [
            point.attitude for point in section.points if point.tells_bedding and point.attitude is not None
        ]
        turn_deg = section.azimuth_deg - section.grid_azimuth_deg
        self.under = BedsAbout([bed for bed in beds if bed.unit not in flat], turn_deg)
        self.over = BedsAbout([bed for bed in beds if bed.unit in flat], turn_deg)

    def sd_m(self, point: SectionPoint) -> float:
        """Of a contact where it was carried to, square to it, metres."""
        contact = point.contact
        assert contact is not None
        start = place_vector(contact.place)
        rise = 0.0
        if point.up_m is not None and contact.place.up_m is not None:
            rise = point.up_m - contact.place.up_m
        plan = [float(np.interp(point.distance_m, self.starts_m, self.ends[:, axis])) for axis in (0, 1)]
        return self._about(point).sd_carried_m(contact, np.array([*plan, start[2] + rise]))

    def sd_deg(self, point: SectionPoint) -> float:
        """Of the direction in which it goes on."""
        return self._about(point).sd_deg

    def _about(self, point: SectionPoint) -> BedsAbout:
        return self.over if point.contact is not None and point.contact.younger in self.flat else self.under


class BedsAbout:
    """Beds where they were read, to say how they lie along the way from a contact to a section."""

    def __init__(self, beds: Sequence[PlaneAttitude], to_true_deg: float) -> None:
        self.places = np.array([(bed.place.east_m, bed.place.north_m) for bed in beds]).reshape(-1, 2)
        # On their younger side: what turns over goes on turning the same way.
        sides = np.array([-1.0 if bed.lies_over else 1.0 for bed in beds])
        self.poles = sides[:, None] * poles_of(beds, to_true_deg=to_true_deg).reshape(-1, 3)
        self.sd_deg = settled(median(bed.sd_deg for bed in beds)) if beds else POLE_SD_DEG
        axis, spread = principal_axis(self.poles) if len(beds) > 1 else (None, 0.0)
        self.one_pole = axis if 2.0 * spread <= ALIKE_DEG else None
        """Of the one plane that stands for all of them; None where they turn, or one alone was read."""
        self._turn, self._turns = self._turning()
        # Beds that turn about no one line, as those of a dome, turn any way alike.
        self._about_axis = len(beds) > 0 and isinstance(
            axis_or_lack(poles_of(beds), sd_deg=self.sd_deg), FoldAxis
        )

    def sd_carried_m(self, contact: PlacedContact, to: Vectors) -> float:
        """Standard error, square to the beds, of a contact that was carried to a place of the section (3,), metres.

        Its own place; how far the beds read about the way lean from the direction it was carried in; what their mean is off
        by, as they scatter; and how far they turn where nobody read them.
        """
        start = place_vector(contact.place)
        way = to - start
        far_m = float(np.linalg.norm(way))
        places = start[:2] + _SHARES * way[:2]
        squared, poles = self._along(places)
        square = poles[int(squared[0].argmin())] if len(self.places) else np.array([0.0, 0.0, 1.0])
        own = math.sqrt(max(0.0, float(square @ place_covariance(contact) @ square)))
        if far_m < SAME_M or not len(self.places):
            return settled(own)
        along = way / far_m
        off_m = np.sqrt(squared.min(axis=1))
        weights = _nearer_more(squared)
        leans = poles @ along
        known_m = far_m * abs(float(weights @ leans))
        roll = math.sqrt(float(weights @ (leans - weights @ leans) ** 2))
        turned = float(along @ self._turn @ along) if self._about_axis else float(np.trace(self._turn)) / 2.0
        turning = math.sqrt(max(0.0, turned - self._turns))
        unread_m = far_m * turning * float(off_m.mean())
        aim_m = far_m * max(math.radians(self.sd_deg), roll) * math.sqrt(float(weights @ weights))
        return settled(math.hypot(own, aim_m, known_m, unread_m))

    def rise_m(self, start: Vectors, to: Vectors) -> float:
        """How much higher the bed of a place lies at another, both (2,), as the beds read about the way between lie, metres.

        0 where they are too steep to tell.
        """
        if not len(self.places):
            return 0.0
        squared, poles = self._along(start + _SHARES * (to - start))
        mean = _nearer_more(squared) @ poles
        if abs(mean[2]) < _LEAST_UP:
            return 0.0
        return settled(-float(mean[:2] @ (to - start)) / float(mean[2]))

    def _along(self, places: Vectors) -> tuple[Vectors, Vectors]:
        """Squared distances (n, m) of places from the beds that tell how the ground lies there, and the poles of those (m, 3)."""
        if len(self.places) <= _MANY:
            return _squared_m2(places, self.places), self.poles
        near = sorted(set(self._tree.query(places, _MOST)[1].ravel().tolist()))
        return _squared_m2(places, self.places[near]), self.poles[near]

    @cached_property
    def _tree(self) -> KDTree:
        from scipy.spatial import KDTree

        return KDTree(self.places)

    def _turning(self) -> tuple[Vectors, float]:
        """What says by how much beds lean otherwise along a direction for each metre between neighbours.

        The square of that is the quadratic form (3, 3) of the direction less a figure, for what scatter alone would make.
        """
        next_to, off_m = _next_to(self.places)
        kept = np.isfinite(off_m)
        if not kept.any():
            return np.zeros((3, 3)), 0.0
        turned = (self.poles - self.poles[next_to])[kept]
        over_m2 = float((off_m[kept] ** 2).sum())
        scatter = 2.0 * math.radians(self.sd_deg) ** 2 * int(kept.sum())
        return (turned.T @ turned) / over_m2, scatter / over_m2


def _nearer_more(squared_m2: Vectors) -> Vectors:
    """What each of m beds counts for along a way whose n places lie so far from them, squared (n, m): together 1."""
    squared = squared_m2 + _NEAR_M**2
    near = 1.0 / (squared * squared)
    weights: Vectors = (near / near.sum(axis=1, keepdims=True)).mean(axis=0)
    return weights


def _squared_m2(places: Vectors, others: Vectors) -> Vectors:
    """Squared distance of each place (n, 2) from each other (m, 2), shape (n, m)."""
    east = places[:, :1] - others[:, 0]
    north = places[:, 1:] - others[:, 1]
    return east * east + north * north


def _next_to(places: Vectors) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """Of each place the nearest that is not at the same outcrop, and how far off it is; infinite where there is none."""
    nearest, off_m = np.zeros(len(places), dtype=np.intp), np.full(len(places), np.inf)
    left = np.arange(len(places))
    if len(places) > _MANY:
        nearest, off_m = _among_few(places)
        left = np.flatnonzero(~np.isfinite(off_m))
    for start in range(0, len(left), _ROWS):
        rows = left[start : start + _ROWS]
        apart = np.sqrt(_squared_m2(places[rows], places))
        apart[apart < _NEAR_M] = np.inf
        nearest[rows] = apart.argmin(axis=1)
        off_m[rows] = apart.min(axis=1)
    return nearest, off_m


def _among_few(places: Vectors) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """As `_next_to`, sought among the few nearest of each; infinite where these are all at the same outcrop."""
    from scipy.spatial import KDTree

    off_m, which = map(np.asarray, KDTree(places).query(places, _FEW))
    off_m[off_m < _NEAR_M] = np.inf
    least_m = off_m.min(axis=1)
    first = np.where(off_m <= least_m[:, None] + SAME_M, which, len(places)).min(axis=1)
    return first, least_m
