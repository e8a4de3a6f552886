"""What a party saw and read beside its legs: sights and heights, as places, as observations and as checks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from traverse.adjustment.least_squares import PlaceObservation
from traverse.adjustment.records import Fix, Network
from traverse.adjustment.sharing import Places
from traverse.diagnostic import Diagnostic, Outcome
from traverse.location.address import Spread, place_addresses
from traverse.location.elevation import check_elevations, elevation_observations, readings_without_drift
from traverse.location.landmark import SightTurn, check_sights, landmarks, resections, sight_observations
from traverse.location.records import Place, PlacedAddress, PlacedLeg
from traverse.log.items import Sight
from traverse.log.records import Log, Rule
from traverse.record import record

Looked = tuple[Mapping[str, Place], tuple[PlacedAddress | None, ...], bool]
"""Stations with landmarks, addresses with those at landmarks, and whether a sight was compared with the map."""


@record(frozen=True, slots=True, kw_only=True)
class BeyondLegs:
    """Sights and heights of a log."""

    log: Log
    fixes: Mapping[str, Fix]
    turn: SightTurn

    def resections(self, network: Network) -> Outcome[dict[str, Fix]]:
        """Stations that nothing but their sights to known points places."""
        return resections(self.log, network, self.fixes, self.turn)

    def observations(self, network: Network, raw: Places) -> list[PlaceObservation]:
        """For least squares: sights to known points, and heights read."""
        return [
            *sight_observations(self.log, self.fixes, network, raw.position_m, self.turn),
            *elevation_observations(readings_without_drift(self.log).value, network),
        ]

    def look(
        self,
        network: Network,
        stations: Mapping[str, Place],
        legs: tuple[PlacedLeg, ...],
        addresses: tuple[PlacedAddress | None, ...],
        spread: Spread,
        *,
        rule: Rule,
    ) -> Outcome[Looked]:
        """Landmarks placed, and the rest compared with the walk."""

        def at(sight: Sight) -> PlacedAddress | None:
            return addresses[sight.address.index]

        placed_by_sight = frozenset(network.names[i] for i, fix in network.fixes.items() if fix.resected)
        agreement = check_sights(self.log, self.fixes, at, self.turn, placed_by_sight)
        marks, said = landmarks(self.log, self.fixes, stations, at, self.turn)
        readings, drift = readings_without_drift(self.log)
        remarks: list[Diagnostic] = [*agreement, *said, *drift]
        if marks:
            stations = {**stations, **{name: place for name, (place, _) in marks.items()}}
            spread = replace(spread, sighted={name: covariance for name, (_, covariance) in marks.items()})
            addresses = place_addresses(self.log.addresses, stations, legs, spread)
        if rule is not Rule.LEAST_SQUARES:
            heights_sd = {name: place.sd_up_m or 0.0 for name, place in stations.items()}
            remarks += check_elevations(readings, addresses, heights_sd, self.log.lengths)
        return Outcome((stations, addresses, bool(agreement)), tuple(remarks))
