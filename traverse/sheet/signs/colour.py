"""Colours of the units: the author's own, else the age's, thinned so that figures read on them."""

from __future__ import annotations

import math
from bisect import bisect_left, insort
from collections.abc import Container, Mapping, Sequence
from functools import lru_cache
from itertools import pairwise
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from traverse.diagnostic import Diagnostic, note, warning
from traverse.log.records import RockUnit
from traverse.sheet.paper.style import UnitStyle

LIGHTEST_FIGURE_GROUND = 66.0
"""Lightness L* below which black figures of 7 points are hard to read."""
STEP = 10.0
"""Steps of lightness L* between neighbours in the column that a photocopy keeps apart."""
_SHARE = 0.70
"""Share of the chart's colour, the rest white, where nothing asks for another."""
_LEAST_SHARE = 0.25
_MOST_BLACK = 0.3
"""Share of black that an age's colour may take where nothing else parts it from its neighbours."""
_ALIKE = 5.0
"""Two fills of one hue nearer than this in lightness L* are taken for one."""
_NO_AGE = ((150, 140, 125), (125, 145, 150), (150, 125, 140), (135, 145, 115))
"""Muted tints in turn for units whose age the chart does not name; none is an age's colour."""

CHART: Mapping[str, tuple[int, int, int]] = MappingProxyType(
    {
        "quaternary": (249, 249, 127),
        "holocene": (254, 242, 224),
        "pleistocene": (255, 242, 174),
        "cenozoic": (242, 249, 29),
        "neogene": (255, 230, 25),
        "pliocene": (255, 255, 153),
        "miocene": (255, 255, 0),
        "paleogene": (253, 154, 82),
        "oligocene": (253, 192, 122),
        "eocene": (253, 180, 108),
        "paleocene": (253, 167, 95),
        "tertiary": (254, 191, 101),
        "mesozoic": (103, 197, 202),
        "cretaceous": (127, 198, 78),
        "upper cretaceous": (166, 216, 74),
        "lower cretaceous": (140, 205, 87),
        "jurassic": (52, 178, 201),
        "upper jurassic": (179, 227, 238),
        "middle jurassic": (128, 207, 216),
        "lower jurassic": (66, 174, 208),
        "triassic": (129, 43, 146),
        "upper triassic": (189, 140, 195),
        "middle triassic": (177, 104, 177),
        "lower triassic": (152, 57, 153),
        "paleozoic": (153, 192, 141),
        "permian": (240, 64, 40),
        "lopingian": (251, 167, 148),
        "guadalupian": (251, 116, 92),
        "cisuralian": (239, 88, 69),
        "carboniferous": (103, 165, 153),
        "pennsylvanian": (153, 194, 181),
        "mississippian": (103, 143, 102),
        "devonian": (203, 140, 55),
        "upper devonian": (241, 225, 157),
        "middle devonian": (241, 200, 104),
        "lower devonian": (229, 172, 77),
        "silurian": (179, 225, 182),
        "pridoli": (230, 245, 225),
        "ludlow": (191, 230, 207),
        "wenlock": (179, 225, 194),
        "llandovery": (153, 215, 179),
        "ordovician": (0, 146, 112),
        "upper ordovician": (127, 202, 147),
        "middle ordovician": (77, 180, 126),
        "lower ordovician": (26, 157, 111),
        "cambrian": (127, 160, 86),
        "furongian": (179, 224, 149),
        "miaolingian": (166, 207, 134),
        "terreneuvian": (140, 176, 108),
        "precambrian": (247, 67, 112),
        "proterozoic": (247, 53, 99),
        "neoproterozoic": (254, 179, 66),
        "ediacaran": (254, 217, 106),
        "cryogenian": (254, 204, 92),
        "tonian": (254, 191, 78),
        "mesoproterozoic": (253, 180, 98),
        "paleoproterozoic": (247, 67, 112),
        "archean": (240, 4, 127),
        "hadean": (174, 2, 126),
    }
)
"""Red, green, blue of the International Chronostratigraphic Chart (International Commission on Stratigraphy). From
memory of the chart, as published by the commission; those of Quaternary, Lower Cretaceous, Upper and Lower Jurassic
and Middle Triassic were compared with a table of it. `tertiary` is no name of the chart: between its two halves."""


def chart_colour(unit: RockUnit) -> tuple[int, int, int] | None:
    """The chart's colour of a unit's age; of a part of a period where the chart colours it."""
    age = unit.dated
    return None if age is None else CHART.get(f"{age.part} {age.name}", CHART.get(age.name))


@lru_cache(maxsize=4096)
def lightness(colour: str) -> float:
    """Lightness L* of a colour `#rrggbb`, 0 to 100 (CIE 1976, white point D65)."""
    from coloraide import Color

    return float(Color(colour).convert("lab-d65")["lightness"])


def unit_styles(units: Sequence[RockUnit]) -> Mapping[str, UnitStyle]:
    """Fill of every unit by its letters, for the list of units as it stands, youngest first.

    The author's colour stays as it is. Others are thinned with white until black figures read on them, then as little
    more or less as parts neighbours in the list by `STEP` of lightness; of all such choices the one that departs least
    from the usual share is found by running through the column once (a shortest path over shares).
    """
    choices = [_choices(one, index) for index, one in enumerate(units)]
    below: list[Sequence[int]] = []
    best = other = np.zeros(0)
    for row in choices:
        _, light, cost = (np.array(part) for part in zip(*row, strict=True))
        # Of each choice (columns) what it costs after each of the unit above (rows).
        costs = (best[:, None] + cost) + 1000.0 * np.maximum(0.0, STEP - abs(light - other[:, None]))
        below.append(costs.argmin(axis=0).tolist() if len(costs) else [])
        best, other = costs.min(axis=0) if len(costs) else cost, light
    # Of choices that cost as much the one after the deeper colour above.
    above = below[-1] or [0] * len(best) if below else []
    chosen = [min(range(len(best)), key=lambda at: (best[at], above[at]))] if choices else []
    for row_below in below[:0:-1]:
        chosen.append(row_below[chosen[-1]])
    chosen.reverse()
    _step_apart(units, choices, chosen)
    return MappingProxyType(
        {
            one.letters: UnitStyle(letters=one.letters, colour=row[at][0])
            for one, row, at in zip(units, choices, chosen, strict=True)
        }
    )


def _step_apart(
    units: Sequence[RockUnit], choices: Sequence[Sequence[tuple[str, float, float]]], chosen: list[int]
) -> None:
    """Move units of one hue that stand apart in the column, so that no two have the same fill.

    Neighbours stay as far apart as they are, up to `STEP`; of the shares left the one farthest from its likes is taken.
    """
    alike: dict[object, list[float]] = {}
    light = [other[at][1] for other, at in zip(choices, chosen, strict=True)]
    for index, unit in enumerate(units):
        mine = light[index]
        before = alike.setdefault(chart_colour(unit) or index % len(_NO_AGE), [])
        if not unit.colour and _off(before, mine) < _ALIKE:
            beside = [light[other] for other in (index - 1, index + 1) if 0 <= other < len(units)]
            kept = min([STEP, *(abs(mine - other) for other in beside)])
            free = [
                (min(_ALIKE, _off(before, other_light)), -cost, at)
                for at, (_, other_light, cost) in enumerate(choices[index])
                if all(abs(other_light - other) >= kept - 0.05 for other in beside)
            ]
            if free:
                chosen[index] = max(free)[2]
                light[index] = choices[index][chosen[index]][1]
        insort(before, light[index])


def _off(rising: Sequence[float], light: float) -> float:
    """How far the nearest of some figures lies from one; infinite where there are none."""
    at = bisect_left(rising, light)
    return min((abs(one - light) for one in rising[max(0, at - 1) : at + 1]), default=math.inf)


def _choices(unit: RockUnit, index: int) -> list[tuple[str, float, float]]:
    """Colours a unit may have, the lightness of each and how far it departs from the usual."""
    if unit.colour:
        return [(unit.colour, lightness(unit.colour), 0.0)]
    base = chart_colour(unit) or _NO_AGE[index % len(_NO_AGE)]
    found: list[tuple[str, float, float]] = []
    for percent in range(100, round(_LEAST_SHARE * 100) - 1, -1):
        share = percent / 100.0
        colour = "#" + "".join(f"{round(255 - (255 - part) * share):02x}" for part in base)
        light = lightness(colour)
        if light >= LIGHTEST_FIGURE_GROUND:
            found.append((colour, light, abs(share - _SHARE)))
    # The chart's youngest ages are too light to part by more white; they give way to black only where they must.
    for percent in range(2, round(_MOST_BLACK * 100) + 1, 2):
        black = percent / 100.0
        colour = "#" + "".join(f"{round(part * (1.0 - black)):02x}" for part in base)
        light = lightness(colour)
        if light >= LIGHTEST_FIGURE_GROUND:
            found.append((colour, light, 1.0 + black))
    return found


def check_colours(units: Sequence[RockUnit], styles: Mapping[str, UnitStyle]) -> tuple[Diagnostic, ...]:
    """What a reader or a copier could not tell apart on a sheet with these units.

    Fills too dark for figures; neighbours in the column that a photocopy would run together; pairs of one colour to
    all, or to people with a colour-vision deficiency; and, as a note, other pairs that are one grey in a photocopy.
    """
    light = {one.letters: lightness(styles[one.letters].colour) for one in units}
    found = [
        warning(
            "dark-unit",
            f"unit {one.letters} is coloured {one.colour}, too dark to read figures on",
            one.span,
            f"mix it with white until its lightness is {LIGHTEST_FIGURE_GROUND:.0f} or more,"
            " or leave the colour out",
        )
        for one in units
        if one.colour and light[one.letters] < LIGHTEST_FIGURE_GROUND
    ]
    alike: set[frozenset[str]] = set()
    for upper, lower in pairwise(units):
        apart = abs(light[upper.letters] - light[lower.letters])
        if apart < STEP - 0.05 and (upper.colour or lower.colour):
            named = lower if lower.colour else upper
            alike.add(frozenset((upper.letters, lower.letters)))
            found.append(
                warning(
                    "units-alike",
                    f"units {upper.letters} and {lower.letters} will look alike in a photocopy:"
                    f" their lightness differs by {apart:.0f}, the sheet wants {STEP:.0f}",
                    named.span,
                    "make one of them lighter or darker, or leave its colour out",
                )
            )
    return (*found, *_unseen(units, styles, alike), *([] if alike else _one_grey(units, light)))


def _unseen(
    units: Sequence[RockUnit], styles: Mapping[str, UnitStyle], known: Container[frozenset[str]]
) -> list[Diagnostic]:
    """Pairs of one colour to all eyes, or to some: distance in Oklab of the colours as those eyes see them.

    Pairs that are `known` to be alike are not told again. The deficiencies are simulated by coloraide (for red and green by Brettel 1997 and Viénot 1999, as it states).
    """
    if len(units) < 2:
        return []
    from coloraide import Color

    def seen_by(name: str | None, colours: Sequence[str]) -> NDArray[np.float64]:
        eyes = [Color(one) if name is None else Color(one).filter(name) for one in colours]
        return np.array([one.convert("oklab").coords() for one in eyes])

    colours = [styles[one.letters].colour for one in units]
    pairs: dict[tuple[int, int], list[str]] = {}
    for name, words in _EYES:
        seen = seen_by(name, colours)
        apart = np.sqrt(((seen[:, None, :] - seen[None, :, :]) ** 2).sum(axis=2))
        for first, second in zip(*np.nonzero(np.triu(apart < _SEEN_APART, k=1)), strict=True):
            pairs.setdefault((int(first), int(second)), []).append(words)

    def offered(of: int) -> str | None:
        """The first of the colours to offer that all eyes tell from every other unit, and a copier from its neighbours."""
        others = [*colours[:of], *colours[of + 1 :]]
        beside = [lightness(one) for one in colours[max(0, of - 1) : of] + colours[of + 1 : of + 2]]
        clear = np.ones(len(_OFFERED), dtype=bool)
        for name, _ in _EYES:
            between = seen_by(name, _OFFERED)[:, None, :] - seen_by(name, others)[None, :, :]
            clear &= (np.sqrt((between**2).sum(axis=2)) >= _SEEN_APART).all(axis=1)
        for free, colour in zip(clear, _OFFERED, strict=True):
            if free and all(abs(lightness(colour) - one) >= STEP for one in beside):
                return colour
        return None

    told: list[Diagnostic] = []
    for (first, second), kinds in sorted(pairs.items()):
        one, other = units[first], units[second]
        if frozenset((one.letters, other.letters)) in known:
            continue
        who = "all" if kinds[0] == "all" else " and ".join(kinds)
        colour = offered(second) if len(told) < _MOST_TOLD else None
        if colour is not None:  # one colour is offered once
            colours[second] = colour
        told.append(
            warning(
                "units-unseen",
                f"units {one.letters} and {other.letters} look alike to {who} readers",
                other.span,
                "give one a lighter or darker colour"
                + ("" if colour is None else f", such as {_coloured(other, colour)}")
                + ", or print it with --grey",
            )
        )
    if len(told) <= _MOST_TOLD:
        return told
    return [
        *told[: _MOST_TOLD - 1],
        warning(
            "units-unseen",
            f"{len(told) - _MOST_TOLD + 1} more pairs of units look alike to some readers or to all",
            None,
            "print it with --grey, which has a pattern for each",
        ),
    ]


def _one_grey(units: Sequence[RockUnit], light: Mapping[str, float]) -> list[Diagnostic]:
    """A note of what a copier makes one grey, though the letters still tell it apart."""
    ordered = sorted(units, key=lambda one: light[one.letters])
    pairs = [
        f"{upper.letters} and {lower.letters}"
        for upper, lower in pairwise(ordered)
        if light[lower.letters] - light[upper.letters] < _ONE_GREY
    ]
    if not pairs:
        return []
    more = f" and {len(pairs) - _MOST_TOLD} more pairs" if len(pairs) > _MOST_TOLD else ""
    return [
        note(
            "units-one-grey",
            f"in a photocopy of the coloured sheet only the letters tell {', '.join(pairs[:_MOST_TOLD])}{more} apart",
            None,
            "--grey prints patterns for the copier",
        )
    ]


def _coloured(unit: RockUnit, colour: str) -> str:
    """The line of a unit with a colour, as it is typed."""
    if unit.intrusive:
        age = f" ; {unit.age}" if unit.age else ""
        return f"`unit {unit.letters} {unit.name}{age} ; {colour} ; intrusive`"
    return f"`unit {unit.letters} {unit.name} ; {unit.age or 'age'} ; {colour}`"


_EYES = ((None, "all"), ("protan", "red-blind"), ("deutan", "green-blind"), ("tritan", "blue-blind"))
_SEEN_APART = 0.04
"""Distance in Oklab, about twice the least that is seen side by side, since units lie apart on a map."""
_OFFERED = (
    "#d9d9d9",
    "#f2f2f2",
    "#bfbfbf",
    "#fff2a8",
    "#bfe3f2",
    "#f2c9a0",
    "#a6c8e6",
    "#e6c84d",
    "#e0a8c8",
    "#ffffff",
    "#a6a6a6",
)
"""Colours to offer for a unit: greys, then tints that run between light and dark."""
_ONE_GREY = 2.0
"""Difference of lightness L* that no copier keeps."""
_MOST_TOLD = 5
