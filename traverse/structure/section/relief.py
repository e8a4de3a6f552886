"""How high a horizon stands above its lowest place on a section."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from traverse.settled import settled
from traverse.structure.section.drawing_plane import straightened
from traverse.structure.section.records import PointKind, Relief, Section
from traverse.structure.thickness.amounts import _LEVEL


def reliefs(sections: Sequence[Section]) -> tuple[Relief, ...]:
    """Structural relief of every horizon that turns on a section: from its highest crest to its lowest trough.

    The level limbs of a monocline are its crest and its trough. Without a crest or a trough it is at least
    the height between what turns and the farthest outcrop; at least what it is too where a limb is drawn beyond the two.
    """
    found = []
    for section in sections:
        places: dict[tuple[str, str], tuple[list[float], list[float], list[float]]] = {}
        reached: dict[tuple[str, str], list[float]] = {}
        for line in section.construction.lines:
            if (
                line.kind is not PointKind.CONTACT
                or not line.pieces
                or line.younger is None
                or line.older is None
            ):
                continue
            crests, troughs, outcrops = places.setdefault((line.younger, line.older), ([], [], []))
            reached.setdefault((line.younger, line.older), []).extend(
                up for piece in line.pieces for _, up in piece.points
            )
            points = straightened(
                [line.pieces[0].points[0], *(p for one in line.pieces for p in one.points[1:])]
            )
            for heights, more in zip((crests, troughs), _turns(points), strict=True):
                heights.extend(more)
            outcrops.extend(up for _, up in line.outcrops)
        for (younger, older), (crests, troughs, outcrops) in places.items():
            if not (crests and troughs) and not (outcrops and (crests or troughs)):
                continue
            high, low = max(crests or outcrops), min(troughs or outcrops)
            drawn = reached[younger, older]
            beyond = settled(max(max(drawn) - high, low - min(drawn)), 3) > 0.0
            found.append(
                Relief(
                    section=section.name,
                    younger=younger,
                    older=older,
                    high_m=high,
                    low_m=low,
                    at_least=beyond or not (crests and troughs),
                )
            )
    return tuple(found)


def _turns(points: Sequence[tuple[float, float]]) -> tuple[list[float], list[float]]:
    """Heights of the crests and the troughs of a line, whichever way it is followed.

    A level stretch below a rise is a trough, one above a fall a crest.
    """
    steps = [
        (up - before, abs(up - before) <= _LEVEL * math.dist((x, up), (start, before)))
        for (start, before), (x, up) in pairwise(points)
    ]
    crests: list[float] = []
    troughs: list[float] = []
    for (rise, level), (next_rise, next_level), (_, up) in zip(steps, steps[1:], points[1:], strict=False):
        if level and next_level:
            continue
        if (rise > 0.0 or level) and (next_rise < 0.0 or next_level) and (rise > 0.0 or next_rise < 0.0):
            crests.append(up)
        if (rise < 0.0 or level) and (next_rise > 0.0 or next_level) and (rise < 0.0 or next_rise > 0.0):
            troughs.append(up)
    return crests, troughs
