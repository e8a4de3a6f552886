"""Colours of the units: the author's own, else the age's, thinned so that figures read on them."""

from __future__ import annotations

import math
from collections.abc import Container, Mapping, Sequence
from functools import lru_cache
from itertools import pairwise
from types import MappingProxyType
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from traverse.diagnostic import Diagnostic, note, warning
from traverse.log.records import RockUnit
from traverse.settled import settled
from traverse.sheet.paper.style import UnitStyle
from traverse.sheet.signs.eyes import lightness, oklab

LIGHTEST_FIGURE_GROUND = 66.0
"""Lightness L* below which black figures of 7 points are hard to read."""
STEP = 10.0
"""Steps of lightness L* between neighbours in the column that a photocopy keeps apart."""
_SHARE = 0.70
"""Share of the chart's colour, the rest white, where nothing asks for another."""
_LEAST_SHARE = 0.25
_MOST_BLACK = 0.3
"""Share of black that an age's colour may take where nothing else parts it from its neighbours."""
_MOST_APART = 40
"""Units that are kept apart by more than their neighbours in the column."""
_VARIED = (
    (0.5, 0.45, 0.0),
    (0.6, 0.8, 30.0),
    (0.6, 0.8, -30.0),
    (0.8, 0.45, 45.0),
    (0.8, 0.45, -45.0),
    # A pale age has room beside it only where its own hue, or one near it, is stronger.
    (1.0, 1.5, 0.0),
    (1.2, 1.4, 30.0),
    (1.2, 1.4, -30.0),
    (1.4, 1.2, 60.0),
    (1.4, 1.2, -60.0),
)
"""What a colour may vary by where its shares are all taken: the cost, the factor of its chroma, and the turn of its hue."""
Choice: TypeAlias = tuple[str, float, float]
"""A colour, its lightness, and how far it departs from the usual."""
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
    colours = _step_apart(units, choices, chosen)
    return MappingProxyType(
        {
            one.letters: UnitStyle(letters=one.letters, colour=colour)
            for one, colour in zip(units, colours, strict=True)
        }
    )


def _step_apart(
    units: Sequence[RockUnit], choices: Sequence[Sequence[Choice]], chosen: Sequence[int]
) -> list[str]:
    """The colours, those of units that some eyes would take for another moved to what costs least and no eyes do.

    Neighbours stay as far apart as they are, up to `STEP`. A share of the age's own colour comes first, then the same a
    little greyer or of a hue beside it; where none is clear of all others that which is farthest from them is taken.
    """
    picked = [row[at] for row, at in zip(choices, chosen, strict=True)]
    # Of more units than these no choice parts all.
    for index, unit in enumerate(units[:_MOST_APART]):
        before = [*picked[:index], *(picked[at] for at in range(index + 1, len(units)) if units[at].colour)]
        others = [colour for colour, _, _ in before[-_MOST_APART:]]
        colour, mine, _ = picked[index]
        if unit.colour or _clear(colour, others, _SEEN_AT_A_GLANCE):
            continue
        beside = [picked[other][1] for other in (index - 1, index + 1) if 0 <= other < len(units)]
        kept = min([STEP, *(abs(mine - other) for other in beside)])
        more = (
            (one, light, cost + extra)
            for extra, base in _variants(_base(unit, index))
            for one, light, cost in _tints(base)
        )
        free = sorted(
            (
                one
                for one in (*choices[index], *more)
                if all(abs(one[1] - other) >= kept - 0.05 for other in beside)
            ),
            key=lambda one: one[2],
        )
        best = next(
            (
                one
                for least, all_eyes in _APART
                for one in free
                if _clear(one[0], others, least, all_eyes=all_eyes)
            ),
            None,
        )
        if best is None and free:
            best = max(free, key=lambda one: settled(_apart(None, one[0], others), 6))
        picked[index] = best or picked[index]
    return [colour for colour, _, _ in picked]


def _clear(colour: str, others: Sequence[str], least: float, *, all_eyes: bool = True) -> bool:
    """Whether a colour is told from some others: by those that see all hues, by so much, and by all other eyes."""
    if _apart(None, colour, others) < least:
        return False
    return not all_eyes or all(_apart(name, colour, others) >= _SEEN_APART for name, _ in _EYES[1:])


def _apart(eyes: str | None, colour: str, others: Sequence[str]) -> float:
    """Distance in Oklab from the nearest of some others, as those eyes see them; infinite without any."""
    mine = _seen_by(eyes, colour)
    return min((math.dist(mine, _seen_by(eyes, one)) for one in others), default=math.inf)


@lru_cache(maxsize=8192)
def _seen_by(eyes: str | None, colour: str) -> tuple[float, ...]:
    return oklab(colour, eyes)


def _base(unit: RockUnit, index: int) -> tuple[int, int, int]:
    return chart_colour(unit) or _NO_AGE[index % len(_NO_AGE)]


@lru_cache(maxsize=64)
def _variants(base: tuple[int, int, int]) -> tuple[tuple[float, tuple[int, int, int]], ...]:
    """The same greyer, and of hues to either side, each with what it costs more than a share of the colour itself."""
    from coloraide import Color

    found: list[tuple[float, tuple[int, int, int]]] = []
    for extra, chroma, turn_deg in _VARIED:
        one = Color("srgb", [part / 255.0 for part in base]).convert("oklch")
        one["chroma"] = one["chroma"] * chroma
        one["hue"] = one["hue"] + turn_deg
        red, green, blue = (round(255.0 * part) for part in one.convert("srgb").fit().coords())
        found.append((extra, (red, green, blue)))
    return tuple(found)


def _choices(unit: RockUnit, index: int) -> Sequence[Choice]:
    """Colours a unit may have."""
    return [(unit.colour, lightness(unit.colour), 0.0)] if unit.colour else _tints(_base(unit, index))


@lru_cache(maxsize=256)
def _tints(base: tuple[int, int, int]) -> Sequence[Choice]:
    """A colour thinned with white, or darkened where it must be, as far as black figures read on it."""
    found: list[Choice] = []
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

    Pairs that are `known` to be alike are not told again.
    """
    if len(units) < 2:
        return []

    def seen_by(name: str | None, colours: Sequence[str]) -> NDArray[np.float64]:
        return np.array([_seen_by(name, one) for one in colours])

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
_SEEN_AT_A_GLANCE = 0.06
"""The same of colours that the program picks itself, for those who see all hues."""
_APART = ((_SEEN_AT_A_GLANCE, True), (_SEEN_APART, True), (_SEEN_APART, False))
"""What is asked of a colour, the most first: its distance from others, and whether to all eyes."""
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
