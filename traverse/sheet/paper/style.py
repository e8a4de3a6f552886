"""Pens, type sizes and colours of the sheet, in one place."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from traverse.record import record
from traverse.sheet.paper.look import InForce
from traverse.sheet.paper.page import Ink, Pen, Tile

BLACK = "#000000"
WHITE = "#ffffff"
WATER = "#1a619e"
CONTOUR = "#b2a899"
GREY_25 = "#404040"
"""A quarter of white: dark."""
GREY_33 = "#545454"
GREY_45 = "#737373"
GREY_70 = "#b3b3b3"
PROJECTED_BAND = "#ececec"
"""Ground in which a projected outcrop lies within one standard deviation."""

TITLE = 19.0
SCALE_RATIO = 12.5
LARGE = 10.5
"""Subtitle, unit letters, section ends, page heads."""
HEAD = 8.5
"""Block heads, unit names, stations over the section, running text of sheet 3."""
SMALL = 7.2
"""Everything else; nothing is smaller."""

CONTOUR_FIGURE = 6.5
"""Heights on contours, the one smaller size."""

LEADING = 1.22
"""Distance of base lines over the size of type."""
MM_PER_POINT = 25.4 / 72.0


def line_mm(size_pt: float) -> float:
    """Distance of base lines in millimetres."""
    return size_pt * LEADING * MM_PER_POINT


APPROXIMATE_DASH = (3.5, 0.75)
INFERRED_DASH = (1.5, 0.75)
CONCEALED_DASH = (0.02, 0.95)
CONCEALED_FAULT_DASH = (0.02, 1.4)
"""Heavier dots want more white between them: 4 points, where those of a contact have about 2 (state survey of New Mexico)."""

SHIPPED_PENS: Mapping[str, Pen] = MappingProxyType(
    {
        "neat line": Pen(width_mm=0.5),
        "register cross": Pen(width_mm=0.18),
        "ground profile": Pen(width_mm=0.45),
        "ground guessed": Pen(width_mm=0.45, dash_mm=(2.0, 1.2)),
        "block rule": Pen(width_mm=0.4),
        "hairline": Pen(width_mm=0.12),
        "table rule": Pen(width_mm=0.4),
        "row rule": Pen(width_mm=0.12, colour=GREY_45, ink=Ink.FADES),
        "tick": Pen(width_mm=0.18),
        "fault certain": Pen(width_mm=0.5),
        "fault approximate": Pen(width_mm=0.5, dash_mm=APPROXIMATE_DASH),
        "fault inferred": Pen(width_mm=0.5, dash_mm=INFERRED_DASH),
        "fault concealed": Pen(width_mm=0.72, dash_mm=CONCEALED_FAULT_DASH, round_cap=True),
        "contact certain": Pen(width_mm=0.25),
        "contact approximate": Pen(width_mm=0.25, dash_mm=APPROXIMATE_DASH),
        "contact inferred": Pen(width_mm=0.25, dash_mm=INFERRED_DASH),
        "contact concealed": Pen(width_mm=0.48, dash_mm=CONCEALED_DASH, round_cap=True),
        "contact in section": Pen(width_mm=0.3),
        "unconformity in section": Pen(width_mm=0.32),
        "axial trace": Pen(width_mm=0.4, dash_mm=(4.0, 1.2)),
        "section depth": Pen(width_mm=0.22, dash_mm=APPROXIMATE_DASH),
        "unconformity at depth": Pen(width_mm=0.24, dash_mm=APPROXIMATE_DASH),
        "section eroded": Pen(width_mm=0.2, colour=GREY_45, dash_mm=INFERRED_DASH, ink=Ink.FADES),
        "section unknown": Pen(width_mm=0.4, dash_mm=(0.02, 0.8), round_cap=True),
        "axial surface": Pen(width_mm=0.18, colour=GREY_25, dash_mm=(3.0, 0.8, 0.6, 0.8)),
        "dip changes": Pen(width_mm=0.18, colour=GREY_25, dash_mm=(0.6, 0.8)),
        "computed trace": Pen(width_mm=0.22, colour=GREY_33, dash_mm=(1.6, 1.5), ink=Ink.FADES),
        "projected trace": Pen(width_mm=0.3, colour=GREY_33, dash_mm=(0.9, 0.9), ink=Ink.FADES),
        "computed fault trace": Pen(width_mm=0.32, colour=GREY_33, dash_mm=(1.6, 1.5), ink=Ink.FADES),
        "leg": Pen(width_mm=0.25),
        "receiver track": Pen(width_mm=0.18, colour=GREY_45, dash_mm=(0.9, 0.6), ink=Ink.FADES),
        "spur": Pen(width_mm=0.2, dash_mm=(1.0, 0.7)),
        "walk aside": Pen(width_mm=0.25, dash_mm=(2.6, 1.4)),
        "open end": Pen(width_mm=0.18, dash_mm=(0.6, 0.6)),
        "section line": Pen(width_mm=0.3, colour=GREY_25, dash_mm=(6.0, 0.9, 0.9, 0.9)),
        "symbol": Pen(width_mm=0.3),
        "leader": Pen(width_mm=0.18),
        "edge of ground seen": Pen(width_mm=0.2, colour=GREY_45, ink=Ink.FADES),
        "stream": Pen(width_mm=0.35, colour=WATER),
        "path": Pen(width_mm=0.2, colour=GREY_45, dash_mm=(2.0, 0.6), ink=Ink.FADES),
        "track": Pen(width_mm=0.25, colour=GREY_45, dash_mm=(4.0, 0.8), ink=Ink.FADES),
        "road": Pen(width_mm=0.4, colour=GREY_45, ink=Ink.FADES),
        "ridge": Pen(width_mm=0.25, colour=GREY_45, dash_mm=(0.8, 0.8), ink=Ink.FADES),
        "cliff": Pen(width_mm=0.35, colour=GREY_25),
        "wall": Pen(width_mm=0.2, colour=GREY_25),
        "fence": Pen(width_mm=0.2, colour=GREY_25, dash_mm=(3.0, 0.6, 0.6, 0.6)),
        "symbol fine": Pen(width_mm=0.22),
        "apparent dip": Pen(width_mm=0.45),
        "apparent dip casing": Pen(width_mm=0.75, colour=WHITE),
        "section end": Pen(width_mm=0.4),
        "letter frame": Pen(width_mm=0.2),
        "section walked": Pen(width_mm=0.7),
        "section carried": Pen(width_mm=0.7, dash_mm=(1.6, 1.1)),
        "drop line": Pen(width_mm=0.15, colour=GREY_45, dash_mm=(0.6, 0.9), ink=Ink.FADES),
        "unit box": Pen(width_mm=0.35),
        "name leader": Pen(width_mm=0.15, colour=GREY_45, ink=Ink.FADES),
        "axis": Pen(width_mm=0.25),
        "axis rule": Pen(width_mm=0.12, colour=GREY_70, ink=Ink.BASE),
        "level unknown": Pen(width_mm=0.3, dash_mm=(2.0, 1.2)),
        "bend": Pen(width_mm=0.18, colour=GREY_25),
        "apparent dip carried": Pen(width_mm=0.45, colour=GREY_25),
        "apparent dip far": Pen(width_mm=0.45, colour=GREY_45, dash_mm=(1.0, 0.5), ink=Ink.FADES),
        "plane in section": Pen(width_mm=0.22, colour=GREY_25),
        "sheet edge": Pen(width_mm=0.25, colour=GREY_45, ink=Ink.FADES),
        "match line": Pen(width_mm=0.2, colour=GREY_25, dash_mm=(6.0, 1.2)),
        "bar": Pen(width_mm=0.12),
        "net circle": Pen(width_mm=0.4),
        "girdle": Pen(width_mm=0.25, dash_mm=(2.0, 0.9)),
        "density": Pen(width_mm=0.15, colour=GREY_45, ink=Ink.FADES),
        "great circle": Pen(width_mm=0.2, colour=GREY_45, ink=Ink.FADES),
        "raw figure": Pen(width_mm=0.3, dash_mm=(1.6, 0.9)),
        "adjusted figure": Pen(width_mm=0.4),
        "ellipse": Pen(width_mm=0.12, colour=GREY_45, ink=Ink.FADES),
        "ellipse 95": Pen(width_mm=0.18, colour=GREY_45, dash_mm=(1.2, 0.8), ink=Ink.FADES),
        "gap": Pen(width_mm=0.6),
        "ruling": Pen(width_mm=0.15, colour=GREY_70, ink=Ink.BASE),
        "ruled line": Pen(width_mm=0.18),
        "tick box": Pen(width_mm=0.2),
        "struck out": Pen(width_mm=0.25),
        "contour": Pen(width_mm=0.125, colour=CONTOUR, ink=Ink.BASE),
        "contour every fifth": Pen(width_mm=0.18, colour=CONTOUR, ink=Ink.BASE),
        "grid cross": Pen(width_mm=0.18, colour=GREY_70, ink=Ink.BASE),
    }
)
"""Every pen by what it draws. The dash 3.5, 0.75 of `approximate` is that of FGDC-STD-013-2006, 1.1.3; the other
dashes are from memory of that standard, and 0.25 mm is heavier than its 0.15 so that a copy of a copy keeps it."""

PENS: Mapping[str, Pen] = InForce(SHIPPED_PENS, lambda look: look.pens)
"""The pens of the look in force: those that ship, with a template's own in place of some."""

COVERED = Tile(name="covered", width_mm=2.4, height_mm=2.4, dots=((0.6, 0.6, 0.13), (1.8, 1.8, 0.13)))
"""Ground where nothing was seen: loose dots on white."""


@record(frozen=True, slots=True, kw_only=True)
class UnitStyle:
    """How a unit is filled."""

    letters: str
    colour: str
    """`#rrggbb`."""
