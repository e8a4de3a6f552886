"""How much larger type and signs are on large paper: a wall sheet is read from farther off than a page in the hand.

Such a sheet is arranged on paper smaller by that much, and enlarged when all of it is drawn.
"""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from traverse.log.records import SheetOptions
from traverse.sheet.template.reading import LEAST_MAP_MM, Template

_GROWTH = ((800.0, 2.0), (580.0, 1.6), (400.0, 1.2))
"""Short side of the paper from which on, and how much: 14 points on A0, 11.5 on A1, 8.6 on A2 (common practice, no source).

A scale in fives is still a whole number when it is enlarged by these.
"""


def growth_of(template: Template, asked: SheetOptions) -> float:
    """How much larger everything is than on a page in the hand; 1 for templates that place their panels or show measures."""
    if template.panels or "reference" in template.show:
        return 1.0
    name = (template.paper_named(asked.paper) if asked.paper is not None else None) or template.paper
    short = min(template.papers[name])
    by = next((by for least, by in _GROWTH if short >= least), 1.0)
    column = template.columns.get(name, template.column)
    room = (short - 2.0 * template.margin) / by - template.coordinates - template.gap - column
    whole = asked.scale is None or (asked.scale * by).is_integer()
    return by if room >= LEAST_MAP_MM and whole else 1.0


def shrunk(template: Template, by: float) -> Template:
    """The template with its papers and its margin so much smaller, to be enlarged again."""
    if by == 1.0:
        return template
    papers = {name: (short / by, long / by) for name, (short, long) in template.papers.items()}
    return replace(template, papers=MappingProxyType(papers), margin=template.margin / by)
