"""The layers of a sheet by the names that a reader of the PDF sees, and what the copier does with each."""

from __future__ import annotations

from collections.abc import Mapping
from enum import Flag, StrEnum, auto
from types import MappingProxyType


class Layer(StrEnum):
    """A layer; those of the map stand in the order in which they are drawn."""

    MAP = "map"
    """Holds all from the contours to the norths."""
    CONTOURS = "contours"
    UNITS = "units"
    COURSES = "streams and paths"
    PROJECTED_TRACES = "projected traces"
    COMPUTED_TRACES = "computed traces"
    AXIAL_TRACES = "axial traces"
    EDGE = "edge of ground seen"
    CONTACTS = "contacts"
    LEGS = "legs"
    SECTION_LINES = "section lines"
    ATTITUDES = "attitudes"
    STATIONS = "stations"
    THINGS = "things"
    CONTOUR_FIGURES = "contour figures"
    FIGURES = "figures"
    UNIT_LETTERS = "unit letters"
    NAMES = "names"
    STAMP = "stamp"
    GRID = "grid"
    NORTHS = "norths"
    INDEX = "index of maps"
    SECTION = "section"
    BEHIND_WORDS = "white behind words"
    """On the copier's sheet alone."""


class Copied(Flag):
    """What the copier does with a layer beside making it black."""

    AS_IT_IS = 0
    PATTERNED = auto()
    """It holds patterns, on which letters of units stand on white whether they have a halo or not."""
    CASED = auto()
    """Its lines run over patterns, and have white to each side."""
    NAMED = auto()
    """All its words stand on white: on the key those at the edge of the ground have no halo."""
    BELOW_PLATES = auto()
    """Words need not leave it whole, nor what is drawn before it."""


COPIED: Mapping[Layer, Copied] = MappingProxyType(
    {
        **dict.fromkeys(Layer, Copied.AS_IT_IS),
        Layer.MAP: Copied.PATTERNED,
        Layer.SECTION: Copied.PATTERNED,
        Layer.UNITS: Copied.BELOW_PLATES,
        Layer.EDGE: Copied.BELOW_PLATES,
        Layer.CONTACTS: Copied.CASED,
        Layer.LEGS: Copied.CASED,
        Layer.ATTITUDES: Copied.CASED,
        Layer.FIGURES: Copied.NAMED,
        Layer.UNIT_LETTERS: Copied.NAMED,
        Layer.NAMES: Copied.NAMED,
    }
)
