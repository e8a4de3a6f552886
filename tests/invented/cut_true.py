"""The coloured ground of a section held against what truly lies there, and against what the map shows."""

from dataclasses import dataclass

import numpy as np
import shapely

from traverse.structure.section.records import PointKind

STEP_M = 2.0
NEAR_M = 10.0
"""A border drawn so far off is no wedge."""
UNDER_M = 0.5
"""So far under the ground a section is asked for what lies on it."""
ALLOWED_SD = 2.0
"""So many stated deviations a border may be off."""
_ASKED_M = 5.0
"""From so far to so far along a line it is asked what it is off by."""


@dataclass
class CutShares:
    """Of the coloured ground of a walk's sections, in cells of equal size."""

    cells: int = 0
    wrong: int = 0
    """Cells of another unit than is drawn."""
    wedges: int = 0
    """Those of them with no true ground of the unit that is drawn within `NEAR_M` on the section."""
    beyond: int = 0
    """Those of them farther from every border that is drawn than `ALLOWED_SD` of its stated deviations."""
    shared: int = 0
    """Metres of a line over ground that both map and section name."""
    contradicted: int = 0
    """Those of them for which they name two units, farther from any border than its error leaves open."""
    over: int = 0
    """Cells of ground that two units are drawn on."""
    drawn: int = 0
    """Metres of contacts drawn through ground that is coloured on both sides."""
    alike: int = 0
    """Those of them with one unit on both sides."""


def cut_shares(walk, trav):
    """How much of what is coloured is wrong, of ground that is laid for a sheet."""
    found = CutShares()
    for cut in trav.ground.cuts:
        if cut.fills and len(cut.section.line) == 2:
            _coloured(found, walk, cut)
        if cut.fills:
            for here, there in beside_lines(cut):
                found.drawn += 1
                found.alike += here == there
        if cut.fills and trav.ground.map.band is not None:
            at, _, differ = differing(trav.ground.map.band, cut)
            found.shared += len(at)
            found.contradicted += len(differ)
    return found


def _coloured(found, walk, cut):
    section, model = cut.section, walk.model
    order = {letters: at for at, letters in enumerate(model.order)}
    start, end = np.array(section.line[0]), np.array(section.line[-1])
    low = min(fill.area.bounds[1] for fill in cut.fills)
    high = max(fill.area.bounds[3] for fill in cut.fills)
    along, up = np.arange(0.5, section.length_m, STEP_M), np.arange(low + 0.5, high, STEP_M)
    d, z = (one.ravel() for one in np.meshgrid(along, up))
    plan = start + d[:, None] / section.length_m * (end - start) - walk.origin[:2]
    codes = model.codes(np.column_stack((plan, z)))
    true = model.in_order(codes)
    drawn = np.full(len(d), -1)
    layers = np.zeros(len(d), dtype=int)
    for fill in cut.fills:
        inside = shapely.contains_xy(fill.area, d, z)
        if not fill.base:
            layers += inside
        drawn[inside] = order[fill.unit]
    shape = (len(up), len(along))
    true, drawn = true.reshape(shape), drawn.reshape(shape)
    wrong = (drawn >= 0) & (drawn != true)
    found.cells += int((drawn >= 0).sum())
    found.wrong += int(wrong.sum())
    found.over += int((layers > 1).sum())
    for unit in np.unique(drawn[wrong]):
        found.wedges += int((wrong & (drawn == unit) & ~near(true == unit)).sum())
    off = wrong.ravel()
    found.beyond += int(_beyond(cut, shapely.points(d[off], z[off])).sum())


def _beyond(cut, places):
    """Whether places lie farther from every border that is drawn than `ALLOWED_SD` of what is stated of it."""
    found = np.ones(len(places), dtype=bool)
    for border, sd_at in _borders(cut):
        parts = max(1, round(border.length / _ASKED_M))
        asked = np.linspace(0.0, border.length, parts + 1)
        coordinates = shapely.get_coordinates(shapely.line_interpolate_point(border, asked))
        sd_m = np.array([sd_at(tuple(at)) for at in coordinates.tolist()])
        here = np.interp(shapely.line_locate_point(border, places), asked, sd_m)
        found &= shapely.distance(border, places) > ALLOWED_SD * here
    return found


def _borders(cut):
    """Lines that are drawn in the ground, each with what is stated of its places.

    Of a fault, the side of a body and a contact that no reading carries on nothing is stated but where they come out.
    """
    placed = {
        one.contact.booked.span: one.sd_m or 0.0 for one in cut.section.points if one.contact is not None
    }
    for line in cut.lines:
        of = line.of
        alone = max((placed.get(one.booked.span, 0.0) for one in of.contacts), default=0.0)
        for part in line.below:
            yield part, (lambda _, sd_m=alone: sd_m) if of.error is None else of.sd_at
    walls = [
        placed.get(side.wall.booked.span, 0.0)
        for one in cut.section.bodies
        for side in one.sides
        if side is not None and side.wall is not None
    ]
    for edge in cut.edges:
        yield edge, lambda _: max(walls, default=0.0)


def beside_lines(cut, step_m=1.0, off_m=1.2):
    """The units on both sides of each contact, at every metre at which both are coloured."""
    for line in cut.lines:
        if line.of.kind is PointKind.FAULT:
            continue
        for part in line.below:
            at = np.arange(step_m / 2.0, part.length, step_m)
            here, there = (shapely.get_coordinates(part.interpolate(at + off)) for off in (-0.1, 0.1))
            way = there - here
            across = np.column_stack((-way[:, 1], way[:, 0])) / np.linalg.norm(way, axis=1)[:, None]
            middle = (here + there) / 2.0
            left, right = (_units(cut, middle + side * off_m * across) for side in (1.0, -1.0))
            yield from ((one, other) for one, other in zip(left, right, strict=True) if one and other)


def _units(cut, places):
    units = np.full(len(places), "", dtype=object)
    for fill in cut.fills:
        units[shapely.contains_xy(fill.area, places[:, 0], places[:, 1])] = fill.unit
    return units


def near(inside):
    """Cells within `NEAR_M` of some that are inside, by squares."""
    reach = round(NEAR_M / STEP_M)
    grown = inside.copy()
    for axis in (0, 1):
        before = grown.copy()
        for step in range(1, reach + 1):
            for sense in (1, -1):
                moved = np.roll(before, sense * step, axis)
                edge = [slice(None)] * 2
                edge[axis] = slice(0, step) if sense > 0 else slice(-step, None)
                moved[tuple(edge)] = False
                grown |= moved
    return grown


def differing(band, cut, step_m=1.0):
    """Distances along a section at which map and section both name a unit; those at which they name two; those of them
    farther from any border than its error leaves open.
    """
    section = cut.section
    line = shapely.LineString(section.line)
    at = np.arange(step_m / 2.0, section.length_m, step_m)
    places = shapely.line_interpolate_point(line, at)
    under = shapely.points([(distance, section.ground_at(distance) - UNDER_M) for distance in at])
    of_map = np.full(len(at), "", dtype=object)
    of_section = of_map.copy()
    for area in band.areas:
        if area.unit is not None:
            of_map[shapely.contains(shapely.union_all(list(area.parts)), places)] = area.unit
    for fill in cut.fills:
        of_section[shapely.contains(fill.area, under)] = fill.unit
    both = (of_map != "") & (of_section != "")
    for one in section.bodies:
        # A body narrower than the walk knows its place is a line on the map, and no ground of its own.
        if one.body.narrow and all(one.sides):
            low, high = (side.at[0] for side in one.sides)
            both &= (at < low) | (at > high)
    differ = at[both & (of_map != of_section)]
    borders = [(point.distance_m, point.sd_m or 0.0) for point in section.points if point.contact is not None]
    # What was carried off the ground comes out beside the place that it was carried to.
    borders += [(at[0], one.sd_at(at) or 0.0) for one in section.construction.lines for at in one.outcrops]
    # The side of a body lies where the map has it.
    borders += [(side.at[0], 0.0) for one in section.bodies for side in one.sides if side is not None]
    beyond = [
        distance
        for distance in differ
        if not any(abs(at_m - distance) <= 3.0 * sd_m + 2.0 * step_m for at_m, sd_m in borders)
        and not at_level(section, line, distance)
    ]
    return at[both], differ, np.array(beyond)


def at_level(section, line, distance, *, within_sd=3.0):
    """Whether the ground there lies as high as a contact of flat beds, within what its height is off by."""
    place = line.interpolate(distance)
    levels = section.levels or section.over
    over = [abs(section.ground_at(distance) - one.up_at((place.x, place.y))) for one in levels]
    return any(off <= within_sd * one.sd_m for off, one in zip(over, levels, strict=True))
