"""Colour of flat beds no higher and no deeper than their units were walked on, where no contact bounds them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from traverse.ground.records import SectionFill
from traverse.settled import settled_shape
from traverse.shapes import areas_in
from traverse.structure.section.records import LevelContact, Section
from traverse.trade import LENS_DEPTH_SHARE


def as_far_as_walked(
    fills: Sequence[SectionFill], section: Section, *, depth_m: float
) -> tuple[SectionFill, ...]:
    """The youngest unit up to its highest place, the oldest down to its lowest, both carried along the beds.

    Past them another contact may come at any depth: its unit was not seen there, and flat beds are thin. The ground itself
    keeps its colour, as a skin no thicker than one whose base nobody saw.
    """
    levels = section.levels or section.over
    if not levels:
        return tuple(fills)
    highest, lowest = levels[0], levels[-1]
    far_m = 10.0 * section.length_m
    beyond: dict[str, BaseGeometry] = {highest.younger: _side(highest, section, highest.over_m, far_m)}
    if lowest.older is not None:
        beyond[lowest.older] = _side(lowest, section, -lowest.under_m, -far_m)
    skin = _skin(section, LENS_DEPTH_SHARE * depth_m)
    beyond = {unit: settled_shape(side.difference(skin)) for unit, side in beyond.items()}
    return tuple(
        replace(fill, area=area)
        for fill in fills
        for area in (
            [settled_shape(one) for one in areas_in(fill.area.difference(beyond[fill.unit]))]
            if fill.unit in beyond
            else [fill.area]
        )
    )


def _side(level: LevelContact, section: Section, off_m: float, far_m: float) -> Polygon:
    """All that lies farther from a contact than `off_m`, up or down, from end to end of a section."""
    line = level.across(section)
    return Polygon(
        [
            *((distance_m, up_m + off_m) for distance_m, up_m in line),
            *((distance_m, up_m + far_m) for distance_m, up_m in reversed(line)),
        ]
    )


def _skin(section: Section, thick_m: float) -> Polygon:
    """What lies so little under the ground of a section."""
    top = [(one.distance_m, one.up_m) for one in section.profile]
    return Polygon([*top, *((distance_m, up_m - thick_m) for distance_m, up_m in reversed(top))])
