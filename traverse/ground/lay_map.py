"""What a map shows of the ground, laid once for all maps of a sheet."""

from __future__ import annotations

import shapely
from shapely.geometry.base import BaseGeometry

from traverse.ground.arm_network import ArmNetwork, about, arms
from traverse.ground.beside import lie_beside, sides_seen
from traverse.ground.crossed.at_unconformities import up_to_unconformities
from traverse.ground.crossed.computed_bends import along_computed
from traverse.ground.crossed.edge_to_edge import crossings
from traverse.ground.crossed.onto_followed import onto_followed
from traverse.ground.crossed.over_slopes import Slopes
from traverse.ground.fold_traces import fold_traces
from traverse.ground.lines_met import courses
from traverse.ground.map_bodies import (
    drawn_at_walk,
    narrow_bodies,
    wall_marks,
    with_marks,
    without_bodies,
)
from traverse.ground.parted import areas
from traverse.ground.records import Band, MapGround, Traverse
from traverse.ground.unit_parting import part_units, unseen_changes
from traverse.log.items import HowMet


def lay_map(trav: Traverse, band: Band | None) -> MapGround:
    """The band, traces of folds, and lines of the ground."""
    half_m = trav.ground.width.half_m
    convergence_deg = trav.survey.frame.to_true_deg
    whole: BaseGeometry | None = None if band is None else band.whole
    return MapGround(
        band=band,
        folds=()
        if whole is None
        else tuple(fold_traces(trav.geology, whole, half_m=half_m, convergence_deg=convergence_deg)),
        courses=courses(trav.geology, whole, half_m=half_m, convergence_deg=convergence_deg),
    )


def lay_band(trav: Traverse, *, drawn: bool = True) -> Band | None:
    """The band with its areas by unit and the contacts that cut it; None where nobody walked.

    Contacts are cut to where they part the areas only where the band is `drawn`.
    """
    half_m = trav.ground.width.half_m
    convergence_deg = trav.survey.frame.to_true_deg
    geology = trav.geology.settled(trav.log)
    walked = arms(trav.survey, geology.band, half_m, geology.open_parties)
    if not walked:
        return None
    met = [
        about(shapely.Point(one.place.east_m, one.place.north_m), 0.5 * half_m)
        for one in geology.contacts
        if one.met is HowMet.CROSSED
    ]
    beside = [lie_beside(one, half_m, convergence_deg) for one in geology.contact_lines]
    met += [about(one.line, 0.5 * half_m) for one in beside]
    whole = shapely.union_all([*(arm.ground for arm in walked), *met])
    network = ArmNetwork(walked)
    alone = drawn_at_walk(geology.bodies, half_m)
    lines = [one for one in geology.bodies if one.narrow]
    stretches, contacts = without_bodies(geology, [*lines, *alone])
    crossed = crossings(
        contacts,
        stretches,
        network,
        whole,
        Slopes(walked, convergence_deg, trav.ground.terrain),
        half_m=half_m,
        convergence_deg=convergence_deg,
    )
    crossed = along_computed(crossed, trav.ground, whole)
    crossed = onto_followed(crossed, beside, whole, half_m)
    crossed = up_to_unconformities(crossed, stretches, trav.log)
    seen = [side for one in beside for side in sides_seen(one, whole, half_m)]
    found = areas(stretches, network, whole, crossed, half_m, seen)
    bodies = {one.unit for one in (*lines, *alone)}
    unbooked = [one for one in geology.unbooked if not bodies & set(one.units)]
    narrow = narrow_bodies(
        trav.survey, geology.bodies, network, whole, half_m=half_m, convergence_deg=convergence_deg
    )
    parted = part_units(crossed, found, half_m) if drawn else crossed
    return Band(
        whole=whole,
        areas=with_marks(found, alone, whole, half_m),
        crossed=(*parted, *wall_marks(alone, half_m)),
        narrow=narrow,
        beside=tuple(piece for one in beside for piece in one.pieces),
        unseen=unseen_changes(unbooked, found, network, whole, half_m) if drawn else (),
    )
