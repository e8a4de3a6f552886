"""Ground of a section whose height nobody knows well enough to say what lies under it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

import shapely
from shapely.geometry.base import BaseGeometry

from traverse.ground.records import SectionFill
from traverse.shapes import settled_areas
from traverse.structure.section.records import Section
from traverse.trade import GUESS_SHARE


def as_looked_at(section: Section, *, half_m: float) -> Section:
    """A section whose heights are guessed only farther from the walk than ground was looked at."""
    profile = tuple(replace(one, sd_m=None) if one.off_m <= half_m else one for one in section.profile)
    return replace(section, profile=profile)


def without_guesses(
    fills: Iterable[SectionFill], section: Section, *, depth_m: float
) -> Iterator[SectionFill]:
    """What is coloured, but for what lies under ground whose height may be off by a good part of the depth of the colour."""
    open_m = section.guessed(over_m=GUESS_SHARE * depth_m)
    if not open_m:
        yield from fills
        return
    heights = [point.up_m for point in section.profile]
    low, high = min(heights) - 10.0 * depth_m, max(heights) + depth_m
    columns: BaseGeometry = shapely.union_all([shapely.box(start, low, end, high) for start, end in open_m])
    for fill in fills:
        base = tuple(at for at in fill.base if not any(start < at[0] < end for start, end in open_m))
        for area in settled_areas(fill.area.difference(columns)):
            yield replace(fill, area=area, base=base)
