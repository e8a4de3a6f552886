"""What a party saw and read beside its legs: sights and heights, as places, as observations and as checks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from traverse.adjustment.least_squares import PlaceObservation
from traverse.adjustment.misread.explained import Check
from traverse.adjustment.records import Fix, Network
from traverse.adjustment.sharing import Places
from traverse.diagnostic import Diagnostic, Outcome
from traverse.location.address import Spread, place_addresses
from traverse.location.elevation import (
    HeightReading,
    check_elevations,
    elevation_checks,
    heights_apart,
    readings_without_drift,
    with_unit_first,
)
from traverse.location.landmark import (
    SightTurn,
    check_sights,
    landmarks,
    resections,
    resting_on,
    sight_checks,
    sight_observations,
)
from traverse.location.odd_height import told_odd
from traverse.location.records import OddHeights, Place, PlacedAddress, PlacedLeg, Suspect
from traverse.log.items import Sight
from traverse.log.records import Log
from traverse.record import record
from traverse.source import Span

Looked = tuple[Mapping[str, Place], tuple[PlacedAddress | None, ...], bool, tuple[Suspect, ...]]
"""Stations with landmarks, addresses with those at landmarks, whether a sight was compared with the map, and heights
that were misread."""


@record(frozen=True, slots=True, kw_only=True)
class BeyondLegs:
    """Sights and heights of a log."""

    log: Log
    fixes: Mapping[str, Fix]
    turn: SightTurn
    odd: OddHeights = OddHeights()

    def resections(self, network: Network) -> Outcome[dict[str, Fix]]:
        """Stations that nothing but their sights to known points places."""
        return resections(self.log, network, self.fixes, self.turn)

    def readings(self) -> Outcome[tuple[HeightReading, ...]]:
        """Heights that were read, the drift of each day taken out."""
        points = {one.what.removeprefix("control ") for one in self.odd.found if one.control is not None}
        return readings_without_drift(self.log, self.odd.readings, points)

    def sights(self, network: Network, raw: Places) -> list[PlaceObservation]:
        """Sights to known points, for least squares."""
        return sight_observations(self.log, self.fixes, network, raw.position_m, self.turn)

    def checks(self, network: Network, raw: Places, readings: Sequence[HeightReading]) -> tuple[Check, ...]:
        """What sights and heights say of where the walk came to, for what closes badly."""
        return (
            *sight_checks(self.log, self.fixes, network, raw.position_m, self.turn),
            *elevation_checks(readings, network, raw.position_m),
        )

    def look(
        self,
        network: Network,
        stations: Mapping[str, Place],
        legs: tuple[PlacedLeg, ...],
        addresses: tuple[PlacedAddress | None, ...],
        spread: Spread,
        *,
        unused: Sequence[HeightReading],
        failing: Sequence[Span],
        failing_up: Sequence[Span],
    ) -> Outcome[Looked]:
        """Landmarks placed, and the rest compared with the walk; `unused` are heights that took no part.

        `failing` are the lines that close what fails: while it does, sights may miss each other by its fault, and by that
        of what fails in height, `failing_up`, heights the walk.
        """

        def at(sight: Sight) -> PlacedAddress | None:
            return addresses[sight.address.index]

        placed_by_sight = frozenset(network.names[i] for i, fix in network.fixes.items() if fix.resected)
        agreement = check_sights(self.log, self.fixes, at, self.turn, placed_by_sight)
        marks, said = landmarks(self.log, self.fixes, stations, at, self.turn)
        remarks: list[Diagnostic] = [*agreement, *(resting_on(one, failing) for one in said)]
        if marks:
            stations = {**stations, **{name: place for name, (place, _) in marks.items()}}
            spread = replace(spread, sighted={name: covariance for name, (_, covariance) in marks.items()})
            addresses = place_addresses(self.log.addresses, stations, legs, spread)
        heights_sd = {name: place.sd_up_m or 0.0 for name, place in stations.items()}
        known = [*(fix.span for fix in network.fixes.values() if fix.has_height), *failing_up]
        misread, off = check_elevations(unused, addresses, heights_sd, self.log.lengths, self.odd, known)
        others, told = told_odd(self.odd, self.log, stations, self.log.lengths)
        apart = heights_apart(self.log, self.odd)
        return Outcome(
            (stations, addresses, bool(agreement), (*misread, *others)),
            (*remarks, *with_unit_first(self.log, (*told, *off, *apart))),
        )
