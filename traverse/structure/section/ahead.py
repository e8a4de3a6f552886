"""Which way along a section the younger unit of a contact lies."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from traverse.location.records import Survey
from traverse.log.items import HowMet
from traverse.log.records import Log
from traverse.settled import SAME_M
from traverse.structure.section.records import Section, SectionPoint
from traverse.structure.walk.records import BandStretch
from traverse.structure.walk.sides import younger_beside, younger_side

_LEAST_ACROSS = math.sin(math.radians(5.0))
"""Of two lines nearer than this neither tells a side of the other."""


def younger_ahead(
    log: Log, survey: Survey, band: tuple[BandStretch, ...], section: Section
) -> Callable[[SectionPoint], int]:
    """A function that gives 1 where the younger unit lies with increasing distance on the section, -1 where against it.

    0 where the band does not tell, as where a leg runs along the contact.
    """
    crossed, beside = younger_side(log, survey, band), younger_beside(log, survey, band)
    steps = np.diff(np.array(section.line), axis=0)
    ways = steps / np.maximum(np.linalg.norm(steps, axis=1), 1e-6)[:, None]

    def ahead(point: SectionPoint) -> int:
        if point.contact is None:
            return 0
        way = ways[point.stretch]
        seen = None if point.contact.met is HowMet.CROSSED else beside(point.contact)
        toward = crossed(point.contact)[:2] if seen is None else seen[0][:2]
        course = point.contact.course_deg
        if course is not None:
            # A leg that runs nearly along the contact may go to either end of the section.
            strike_rad = math.radians(course - survey.frame.to_true_deg)
            normal = np.array([math.cos(strike_rad), -math.sin(strike_rad)])
            if abs(float(normal @ way)) > _LEAST_ACROSS:
                over = float(toward @ normal)
                known = abs(over) > max(SAME_M, _LEAST_ACROSS * float(np.linalg.norm(toward)))
                return int(np.sign(over) * np.sign(float(normal @ way))) if known else 0
        total = float(toward @ way)
        return int(np.sign(total)) if abs(total) > SAME_M else 0

    return ahead
