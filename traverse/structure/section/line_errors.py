"""How far a constructed line may be off: where it was carried to, and where it goes from there."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from traverse.settled import SAME_M, settled
from traverse.structure.readings.directions import Vectors
from traverse.structure.readings.place_errors import place_covariance, place_vector, poles_of
from traverse.structure.readings.records import PlacedContact, PlaneAttitude
from traverse.structure.section.records import Section, SectionPoint
from traverse.trade import POLE_SD_DEG

_STEPS = 11
"""Places at which the way that something was carried is held against the beds."""
_NEAR_M = 10.0
"""Beds nearer than this count alike, metres."""
_ROWS = 256
"""Beds held against all others at a time, so that many take no room of their square."""


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
        self.under = _BedsAbout([bed for bed in beds if bed.unit not in flat], turn_deg)
        self.over = _BedsAbout([bed for bed in beds if bed.unit in flat], turn_deg)

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

    def _about(self, point: SectionPoint) -> _BedsAbout:
        return self.over if point.contact is not None and point.contact.younger in self.flat else self.under


class _BedsAbout:
    """Beds where they were read, to say how they lie along the way from a contact to a section."""

    def __init__(self, beds: Sequence[PlaneAttitude], to_true_deg: float) -> None:
        self.places = np.array([(bed.place.east_m, bed.place.north_m) for bed in beds]).reshape(-1, 2)
        # On their younger side: what turns over goes on turning the same way.
        sides = np.array([-1.0 if bed.upside_down else 1.0 for bed in beds])
        self.poles = sides[:, None] * poles_of(beds, to_true_deg=to_true_deg).reshape(-1, 3)
        self.sd_deg = settled(float(np.median([bed.sd_deg for bed in beds]))) if beds else POLE_SD_DEG
        self._next, self._off_m = _next_to(self.places)

    def sd_carried_m(self, contact: PlacedContact, to: Vectors) -> float:
        """Standard error, square to the beds, of a contact that was carried to a place of the section (3,), metres.

        Its own place, the direction it was carried in, and how far the beds that were read between turn from that.
        """
        start = place_vector(contact.place)
        way = to - start
        far_m = float(np.linalg.norm(way))
        square = self._pole_at(start[:2])
        own = math.sqrt(max(0.0, float(square @ place_covariance(contact) @ square)))
        if far_m < SAME_M or not len(self.places):
            return settled(own)
        along = way / far_m
        shares = np.linspace(0.0, 1.0, _STEPS)[:, None]
        places = start[:2] + shares * (to - start)[:2]
        apart = np.linalg.norm(places[:, None, :] - self.places[None, :, :], axis=2)
        near = 1.0 / (apart**2 + _NEAR_M**2) ** 2
        leans = self.poles @ along
        known_m = far_m * abs(float(((near @ leans) / near.sum(axis=1)).mean()))
        unread_m = far_m * self._turning(leans) * float(apart.min(axis=1).mean())
        aim_m = far_m * math.radians(self.sd_deg)
        return settled(math.hypot(own, aim_m, known_m, unread_m))

    def _pole_at(self, place: Vectors) -> Vectors:
        if not len(self.places):
            return np.array([0.0, 0.0, 1.0])
        return np.asarray(self.poles[int(np.argmin(np.linalg.norm(self.places - place, axis=1)))])

    def _turning(self, leans: Vectors) -> float:
        """By how much beds lean otherwise along a direction for each metre between neighbours, beyond their scatter."""
        if len(leans) < 2:
            return 0.0
        kept = np.isfinite(self._off_m)
        if not kept.any():
            return 0.0
        turned = ((leans - leans[self._next]) ** 2)[kept] - 2.0 * math.radians(self.sd_deg) ** 2
        return math.sqrt(max(0.0, float(turned.sum()) / float((self._off_m[kept] ** 2).sum())))


def _next_to(places: Vectors) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """Of each place the nearest that is not at the same outcrop, and how far off it is; infinite where there is none."""
    nearest, off_m = np.zeros(len(places), dtype=np.intp), np.full(len(places), np.inf)
    for start in range(0, len(places), _ROWS):
        apart = np.linalg.norm(places[start : start + _ROWS, None, :] - places[None, :, :], axis=2)
        apart[apart < _NEAR_M] = np.inf
        nearest[start : start + _ROWS] = apart.argmin(axis=1)
        off_m[start : start + _ROWS] = apart.min(axis=1)
    return nearest, off_m
