"""Fits of the walk on its known points, and the message that names their likely cause."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence

from traverse.adjustment.calibration import PacedAlike
from traverse.adjustment.fit import LaidNetwork, lay_on_known_points, likely_cause
from traverse.adjustment.records import Network, Vectors
from traverse.adjustment.sharing import Places
from traverse.diagnostic import Diagnostic, Outcome, warning
from traverse.location.frame import grid_of
from traverse.location.known_points import known_points
from traverse.location.records import Fit
from traverse.log.readings import Unit
from traverse.log.records import Log
from traverse.reduction.declination import commonest_deg, left_out_deg


def fits(
    log: Log,
    network: Network,
    vectors: Vectors,
    raw: Places,
    magnetic: Mapping[dt.date, float],
    paces: Sequence[PacedAlike],
    *,
    ground: Log | None = None,
) -> Outcome[tuple[Fit, ...]]:
    """Shift, turn and scale of each piece of the walk onto its known points, where it has two or more.

    `ground` is what else was walked there, which tells what declination the walk may have left out.
    """
    found, remarks = [], []
    for laid in lay_on_known_points(network, vectors, raw.position_m):
        cause = likely_cause(
            laid,
            declination_deg=commonest_deg(log.legs, magnetic.get) or 0.0,
            left_out_deg=lambda: left_out_there_deg(log, ground or log, magnetic=magnetic),
            paced=any(leg.distance.unit.is_pace for leg in log.legs),
            pace_share=max((one.share for one in paces), default=0.0),
            in_feet=any(leg.distance.unit is Unit.FEET for leg in log.legs),
        )
        found.append(
            Fit(
                stations=tuple(network.names[i] for i in laid.stations),
                rotation_deg=laid.rotation_deg,
                rotation_sd_deg=laid.rotation_sd_deg,
                scale=laid.scale,
                scale_sd=laid.scale_sd,
                cause=cause,
            )
        )
        if cause is not None:
            remarks.append(_remark(log, network, laid, cause))
    return Outcome(tuple(found), tuple(remarks))


def left_out_there_deg(walks: Log, *ground: Log, magnetic: Mapping[dt.date, float]) -> float:
    """Declination that walks leave out if their bearings are called true and were read off a compass, in degrees.

    What their own heading states; else what most legs of other files take that were walked on the same `ground`; else what
    the magnetic model gives there. 0 where it isn't known, or the bearings are not called true.
    """
    own = {leg.span.file for leg in walks.legs}
    beside = (leg for log in ground for leg in log.legs if leg.span.file not in own)

    def modelled() -> float | None:
        from traverse.location.magnetic import modelled_deg

        found = (
            modelled_deg(log, grid, known_points(log, grid).value)
            for log in ground
            if (grid := grid_of(log).value) is not None
        )
        return next((one for one in found if one is not None), None)

    return left_out_deg(walks.legs, beside, magnetic.get, modelled)


def _remark(log: Log, network: Network, laid: LaidNetwork, cause: str) -> Diagnostic:
    points = ", ".join(network.names[i] for i in laid.stations)
    leg = log.legs[laid.last_edge] if 0 <= laid.last_edge < len(log.legs) else None
    return warning(
        "walk-does-not-fit",
        f"on the known points {points} the walk lies turned by {laid.rotation_deg:+.0f} degrees and "
        f"{laid.scale:.2f} times as long; likely cause: {cause}",
        leg.span if leg else None,
        "no loop shows this; look at the heading of the page and at the compass",
        rests_on=[control.span for control in log.controls],
    )
