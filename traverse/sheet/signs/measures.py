"""Sizes of every sign in millimetres: the numbers that the drawings of `symbols` are made from.

Shapes after FGDC-STD-013-2006 as far as that standard could be read; sizes are set for the copier, common practice, no
source. Marks of cleavage, foliation, joint and vein and the tick of a vertical bed are large enough to be told apart in
the copy of a copy although the dot of a station stands on them.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

Measures = Mapping[str, Mapping[str, float]]
"""Millimetres by sign and part."""

_TRIANGLE = {"bar": 4.4, "wide": 2.4, "high": 2.2}

SHIPPED: Measures = MappingProxyType(
    {
        # planes: `bar` along the strike, `tick` down the dip
        "bedding": {"bar": 5.0, "tick": 1.5, "upright tick": 3.0, "tops dot": 1.0, "hook": 0.94},
        "flat": {"ring": 2.6, "cross": 4.0},
        "crossbed": {"bar": 4.0, "wide": 1.2, "high": 1.5},
        "foliation": _TRIANGLE,
        "cleavage": {"bar": 4.4, "wide": 3.0, "high": 1.7},
        "joint": {"bar": 4.4, "wide": 2.8, "high": 1.0},
        "vein": {"bar": 4.4, "wide": 2.8, "high": 1.2},
        "dike": {"bar": 4.4, "apart": 0.9, "tick": 1.8},
        "axial plane": {"bar": 4.4, "apart": 1.2, "tick": 1.6},
        # what stands on contacts and faults
        "contact dip": {"arrow": 2.4, "head": 1.0, "wide": 0.7},
        "fault dip": {"arrow": 3.2, "head": 1.2, "wide": 0.84},
        "fault down": {"bar": 2.2, "ball": 1.2},
        "thrust": {"wide": 2.0, "high": 1.7},
        "reverse": {"wide": 3.0, "high": 1.0},
        "strike slip": {"arrow": 5.0, "head": 1.5, "off": 0.9},
        # lines: `arrow` along the trend
        "lineation": {"arrow": 6.0, "head": 1.6, "wide": 1.1},
        "striation": {"arrow": 6.0, "head": 2.0, "wide": 0.9, "bar": 1.8},
        "hinge": {"arrow": 6.0, "head": 2.2, "wide": 1.6},
        "current": {"arrow": 6.0, "head": 1.2, "wide": 1.6},
        "axial trace": {"head": 2.6, "wide": 1.6},
        # places and things
        "control": {"triangle": 1.8, "dot": 0.64},
        "station": {"dot": 1.1},
        "station square": {"side": 1.4},
        "station triangle": {"triangle": 1.1},
        "station cross": {"arm": 0.8},
        "station diamond": {"high": 2.2, "wide": 1.5},
        "station hourglass": {"high": 1.8, "wide": 1.5},
        "station star": {"arm": 1.0},
        "station half": {"dot": 1.8},
        "side shot": {"ring": 1.1},
        "landmark": {"ring": 1.8, "dot": 0.64},
        "sample": {"square": 1.05},
        "photo": {"dot": 1.24, "arrow": 4.2, "head": 1.4},
        "hazard": {"wide": 2.9, "high": 2.5},
        "stream": {"head": 2.2, "wide": 1.24},
        # on the section
        "apparent dip": {"bar": 5.2, "ring": 1.0},
        "other planes in section": {"bar": 4.8},
    }
)
"""What ships. A ring or a dot is given by its diameter, a triangle and a square from the middle to a corner."""

LEAST_MM, MOST_MM = 0.2, 15.0
"""What a measure of a template may be."""
