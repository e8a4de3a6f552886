"""The walk as a graph, and what closes in it, in a plane without a coordinate system."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import field

import numpy as np
from numpy.typing import NDArray

from traverse.record import record
from traverse.source import Span
from traverse.trade import ClosingLimits, closing_limits

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Indices = NDArray[np.intp]


@record(frozen=True, slots=True, kw_only=True)
class Fix:
    """A known point in the plane: the weighted mean of all fixes of one place."""

    position_m: Floats  # (3,) east, north, up; up is NaN where no height is known
    sd_plan_m: float
    """0 holds it in plan."""
    sd_height_m: float
    """0 holds its height."""
    span: Span
    sure: bool = False
    """Whether others bear it out: its figures are not asked about, and no walk that fails leaves it out."""
    resected: bool = False
    """Known only by its sights to controls."""
    plan_covariance_m2: Floats | None = None  # (2, 2)
    """Where its error is not the same in all directions."""

    @property
    def has_height(self) -> bool:
        """Whether its height is known."""
        return not np.isnan(self.position_m[2])

    @property
    def variance_m2(self) -> Floats:
        """Of east, north and up, (3,)."""
        return np.array((self.sd_plan_m**2, self.sd_plan_m**2, self.sd_height_m**2))


@record(frozen=True, slots=True, kw_only=True)
class Step:
    """An edge of the network as a circuit runs over it."""

    edge: int
    forward: bool
    """From the edge's start to its end."""

    @property
    def sign(self) -> float:
        """1 forward, -1 backward."""
        return 1.0 if self.forward else -1.0


@record(frozen=True, slots=True, kw_only=True)
class Circuit:
    """What must close: a loop back to its first station, or a walk from one control to another."""

    stations: tuple[int, ...]
    """Along the walk; a loop's first station once."""
    steps: tuple[Step, ...]
    """One for each way between them; a loop's last one leads back to the first station."""
    closed: bool
    """A loop; else the ends are controls."""
    is_tie: bool
    """A tie by name, or between controls."""
    maker: int
    """The edge that makes it."""
    last_control: int | None
    """Control that is dropped where the test fails; None where it is the maker that is."""
    span: Span
    of_parties: bool = False
    """It ties two parties, or closes over legs of several."""


@record(frozen=True, slots=True, kw_only=True)
class Network:
    """Stations and the ways between them: first the legs in order, then the ties by name."""

    names: tuple[str, ...]
    """In the order in which the log reaches them."""
    index: Mapping[str, int]
    start: Indices  # (n_edges,)
    end: Indices  # (n_edges,)
    leg_count: int
    tie_sd_m: Floats  # (n_edges,) of a tie by name; 0 for two names of one place and for legs
    forest: tuple[tuple[int, bool], ...]
    """Edge, and whether it runs from parent to child; parents come first. One tree a piece."""
    roots: tuple[int, ...]
    """A station of each placed piece: its first control, else the log's first station."""
    joins: tuple[int, ...]
    """Edges that join two pieces which have a control each."""
    circuits: tuple[Circuit, ...]
    fixes: Mapping[int, Fix]
    """Known points by station."""
    loose: tuple[tuple[int, ...], ...]
    """Pieces that nothing places."""

    @property
    def placed(self) -> Flags:
        """Whether a station has a place, (n_stations,)."""
        flags = np.ones(len(self.names), dtype=np.bool_)
        for piece in self.loose:
            flags[list(piece)] = False
        return flags


@record(frozen=True, slots=True, kw_only=True)
class Vectors:
    """What was measured along each edge, in the plane; ties by name are zero."""

    observed_m: Floats  # (n_edges, 3)
    covariance_m2: Floats  # (n_edges, 3, 3)
    horizontal_m: Floats  # (n_edges,)
    """On the ground's own level."""


@record(frozen=True, slots=True, kw_only=True)
class Closing:
    """How a circuit closes, against what its precision leads one to expect."""

    circuit: Circuit
    length_m: float
    misclosure_m: Floats  # (3,) computed end minus known end; up is NaN where an end has no height
    covariance_m2: Floats  # (3, 3)
    q: float
    q_up: float | None
    used: bool
    """Takes part in plan."""
    used_up: bool
    """Takes part in height."""
    tests: int = 1
    """Among how many tests its limits are shared."""

    @property
    def ratio(self) -> float | None:
        """Length over how far it misses in plan; None below 0.5 mm."""
        distance = math.hypot(float(self.misclosure_m[0]), float(self.misclosure_m[1]))
        return self.length_m / distance if distance >= 0.0005 else None

    @property
    def limits(self) -> ClosingLimits:
        """Where it is told, and where it takes no part."""
        return closing_limits(self.tests)


@record(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """Edges and controls that take no part, in plan and in height."""

    edges: frozenset[int] = field(default_factory=frozenset)
    edges_up: frozenset[int] = field(default_factory=frozenset)
    controls: frozenset[int] = field(default_factory=frozenset)
    controls_up: frozenset[int] = field(default_factory=frozenset)
