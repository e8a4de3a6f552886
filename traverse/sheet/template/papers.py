"""The papers that a sheet may be made on."""

from __future__ import annotations

import math
from collections.abc import Callable

from traverse.diagnostic import Outcome, warning
from traverse.log.records import SheetOptions
from traverse.sheet.template.reading import Paper, Template

_LEAST_CUT = 0.7
"""Shortest piece of a roll over its width."""
_CUT_STEP_MM = 10.0


def papers_for(
    asked: SheetOptions, template: Template, *, scale_on: Callable[[tuple[Paper, ...]], int | None]
) -> Outcome[tuple[Paper, ...]]:
    """The paper as asked; both ways of turning it where the log leaves that open.

    `scale_on` tells the scale at which the walk fits some papers, None without a map.
    """
    said = []
    name = template.paper
    if asked.paper is not None:
        known = template.paper_named(asked.paper)
        if known is None:
            said.append(
                warning(
                    "unknown-paper",
                    f"no paper {asked.paper} in this template; the sheet is made on {name}",
                    asked.span,
                    f"it has {', '.join(template.papers)}",
                )
            )
        name = known or name
    width, height = template.papers[name]
    if name in template.rolls:
        return Outcome(_cut(name, width, height, asked.scale, scale_on), tuple(said))
    lying = Paper(name=name, width=height, height=width)
    standing = Paper(name=name, width=width, height=height)
    ways = (lying, standing) if asked.landscape is None else (lying,) if asked.landscape else (standing,)
    return Outcome(ways, tuple(said))


def _cut(
    name: str,
    width: float,
    longest: float,
    asked: int | None,
    scale_on: Callable[[tuple[Paper, ...]], int | None],
) -> tuple[Paper, ...]:
    """A roll, cut as short as the asked scale allows; to the shape of other papers where none is asked."""

    def cut(length: float) -> tuple[Paper, ...]:
        return (Paper(name=name, width=max(length, width * _LEAST_CUT), height=width),)

    if asked is None or scale_on(cut(longest)) != asked:
        return cut(min(width * math.sqrt(2.0), longest))
    short, long = width * _LEAST_CUT, longest
    if scale_on(cut(short)) == asked:
        return cut(short)
    while long - short > _CUT_STEP_MM:
        middle = (short + long) / 2.0
        if scale_on(cut(middle)) == asked:
            long = middle
        else:
            short = middle
    return cut(math.ceil(long / _CUT_STEP_MM - 1e-9) * _CUT_STEP_MM)
