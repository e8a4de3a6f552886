"""The grid that a log names, and how the norths lie in it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import TYPE_CHECKING

from traverse.adjustment.records import Fix
from traverse.diagnostic import Outcome, error, note
from traverse.location.records import Frame
from traverse.log.readings import Conditions
from traverse.log.records import Log
from traverse.reduction.declination import in_force_deg

if TYPE_CHECKING:
    from traverse.location.crs import Grid


def grid_of(log: Log) -> Outcome[Grid | None]:
    """The grid that the log names; None for a local one, and for a code that can't be used."""
    epsg = log.heading.epsg
    if epsg is None:
        return Outcome(None)
    from traverse.location.crs import UTM_HINT, UnusableGridError, open_grid

    try:
        grid = open_grid(epsg)
    except UnusableGridError as unusable:
        return Outcome(None, (error("unknown-grid", str(unusable), log.heading.grid_span, UTM_HINT),))
    if log.controls:
        return Outcome(grid)
    remark = note(
        "grid-without-control",
        f"{grid.name} is named, but no `control` ties the walk to it; places count from the first station",
        log.heading.grid_span,
        "add a known point, `control NAME EAST E NORTH N`",
    )
    return Outcome(None, (remark,))


def frame_of(
    log: Log, grid: Grid | None, fixes: Mapping[str, Fix], magnetic: Mapping[dt.date, float], *, local: bool
) -> Frame:
    """The grid and the norths at the first control on the first day; `local` where nothing is known of it."""
    conditions = log.legs[0].conditions if log.legs else log.heading.first
    convergence = None
    first = next((fixes[control.name] for control in log.controls if control.name in fixes), None)
    if grid is not None and first is not None:
        turned, _ = grid.convergence_and_scale(first.position_m[:1], first.position_m[1:2])
        convergence = float(turned[0])
    return Frame(
        epsg=grid.epsg if grid else None,
        name=grid.name if grid else "local grid",
        local=local,
        convergence_deg=convergence,
        declination_deg=in_force_deg(conditions, magnetic.get),
        declination_note=_source(log, grid, fixes, conditions),
        accuracy_m=grid.accuracy_m if grid else None,
        system=grid,
    )


def _source(log: Log, grid: Grid | None, fixes: Mapping[str, Fix], conditions: Conditions) -> str | None:
    declination = conditions.declination
    if declination is None:
        return None
    if declination.from_model:
        from traverse.location.magnetic import model_words

        return model_words(log, grid, fixes, conditions.date) if conditions.date else "World Magnetic Model"
    parts = [str(declination.year) if declination.year else None, declination.source]
    return ", ".join(part for part in parts if part) or None
