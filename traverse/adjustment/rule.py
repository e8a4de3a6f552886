"""Which rule adjusts a log that leaves it open."""

from __future__ import annotations

from traverse.adjustment.records import Network
from traverse.log.records import Adjust, Rule


def rule_for(asked: Adjust | None, network: Network) -> Rule:
    """The rule asked for; else the compass rule while nothing is shared, least squares where something is.

    Least squares as soon as two loops or ties share a leg, or there are two controls of which one has a ±.
    """
    if asked is not None:
        return asked.rule
    controls = [fix for fix in network.fixes.values() if not fix.resected]
    if len(controls) > 1 and any(fix.sd_plan_m > 0.0 or fix.sd_height_m > 0.0 for fix in controls):
        return Rule.LEAST_SQUARES
    legs: set[int] = set()
    for circuit in network.circuits:
        own = {step.edge for step in circuit.steps if step.edge < network.leg_count}
        if not legs.isdisjoint(own):
            return Rule.LEAST_SQUARES
        legs |= own
    return Rule.COMPASS
