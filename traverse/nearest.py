"""Which of many places lies nearest, without going over all of them for each that asks."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from traverse.settled import SAME_M, first_least

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from scipy.spatial import KDTree

    Floats = NDArray[np.float64]

__all__ = ["Nearest"]

_MANY = 200
"""Places that are no longer gone over one by one."""


class Nearest:
    """Places (n, 2), of which the nearest to another is asked for: the first of those that are as near."""

    def __init__(self, where_m: Floats) -> None:
        self.where_m = where_m.reshape(-1, 2)
        self._many = len(where_m) > _MANY

    def to(self, east_m: float, north_m: float) -> int:
        """Index of the nearest to one place; there must be one."""
        if self._many:
            return self.to_all(np.array([(east_m, north_m)]))[0]
        return first_least(np.hypot(self.where_m[:, 0] - east_m, self.where_m[:, 1] - north_m))

    def to_all(self, places_m: Floats) -> list[int]:
        """Index of the nearest to each of many places, (m, 2)."""
        if not self._many:
            return [self.to(east_m, north_m) for east_m, north_m in places_m.tolist()]
        far_m, _ = self._tree.query(places_m)
        alike = self._tree.query_ball_point(places_m, far_m + SAME_M)
        return [min(ones) for ones in np.asarray(alike, dtype=np.object_)]

    def any_within(self, east_m: float, north_m: float, *, reach_m: float) -> bool:
        """Whether one lies no farther than that from a place."""
        if self._many:
            return bool(self._tree.query_ball_point((east_m, north_m), reach_m, return_length=True))
        return bool((np.hypot(self.where_m[:, 0] - east_m, self.where_m[:, 1] - north_m) <= reach_m).any())

    def off_m(self, index: int, east_m: float, north_m: float) -> float:
        """How far one of them lies from a place."""
        return float(np.hypot(*(self.where_m[index] - (east_m, north_m))))

    @cached_property
    def _tree(self) -> KDTree:
        """Its import and building pay only where there are many."""
        from scipy.spatial import KDTree

        return KDTree(self.where_m)
