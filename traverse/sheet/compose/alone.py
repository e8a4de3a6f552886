"""The sections and the net of a log on pages of their own size, for a report or another program.

They belong to no template, so they are drawn with the look that ships.
"""

from __future__ import annotations

from collections.abc import Sequence

from traverse.ground.records import SectionCut, Traverse
from traverse.log.records import Log
from traverse.sheet.legend.foot import conventions
from traverse.sheet.legend.page_cautions import page_cautions
from traverse.sheet.paper.block import set_lines
from traverse.sheet.paper.document import Document
from traverse.sheet.paper.fonts import width_mm
from traverse.sheet.paper.layers import Layer
from traverse.sheet.paper.look import SHIPPED, drawn_with
from traverse.sheet.paper.page import Block, Box, Face, Group, Item, Page, Text, shifted
from traverse.sheet.paper.style import HEAD, LARGE, SMALL, line_mm
from traverse.sheet.paper.window import round_scales
from traverse.sheet.paper.words import NO_BREAK, cut, plain, wrap
from traverse.sheet.report.net_block import net_block
from traverse.sheet.said.cautions import days_and_party
from traverse.sheet.said.sentences import accuracy, interpretation, not_adjusted, section_sentences
from traverse.sheet.section.strip import (
    ROOM_ABOVE_MM,
    ROOM_BESIDE_MM,
    note_lines,
    room_below_mm,
    section_panel,
    signs_in_section,
    wanted_height_mm,
)
from traverse.sheet.signs.colour import unit_styles
from traverse.sheet.signs.sign_list import signs_block
from traverse.structure.section.records import Section
from traverse.wording import section_name

_MARGIN_MM = 5.0
_HEAD_MM = 8.0
_LEAST_WIDTH_MM = 180.0
_MOST_SECTION_MM = 260.0
"""A section without a scale asked for is drawn at the largest round one that keeps it this short: A4 lying."""
_MOST_ROLL_MM = 2000.0
"""No section is drawn longer, whatever scale is asked for: a plotter's roll takes as much, and so does a PDF (14,400 units
of a point, ISO 19005-2, 6.1.13, from memory)."""
_MOST_HEIGHT_MM = 400.0
_NET_WIDTH_MM = 100.0
_LEGEND_MM = 110.0
"""Its signs stand in two columns, however long the section is."""
_UNDER_MM = 2.0
_FOOT_FIRST_MM = 5.0
"""First base of the foot, below what is drawn."""


def section_document(trav: Traverse, *, mark: str) -> Document | None:
    """Every section, each on a page cut to its size; None where there is none."""
    if not trav.geology.sections:
        return None
    scale = section_scale(trav.log, trav.geology.sections)
    with drawn_with(SHIPPED):
        pages = tuple(_section_page(opened, trav, scale, mark) for opened in trav.ground.cuts)
    return Document(pages=pages, title=_title(trav.log), subject="Sections")


def net_document(trav: Traverse, *, mark: str) -> Document | None:
    """The net on a page cut to its size; None without a reading that goes on it."""
    with drawn_with(SHIPPED):
        page = _net_page(trav, mark)
    if page is None:
        return None
    return Document(pages=(page,), title=_title(trav.log), subject="Equal-area net")


def _net_page(trav: Traverse, mark: str) -> Page | None:
    log = trav.log
    width = _NET_WIDTH_MM + 2.0 * _MARGIN_MM
    block = net_block(trav.geology, width=_NET_WIDTH_MM)
    if block is None:
        return None
    foot = _foot(trav, mark, _NET_WIDTH_MM, section=False)
    height = _HEAD_MM + block.height + foot.height + 2.0 * _MARGIN_MM
    top = height - _MARGIN_MM
    items = (
        *_head(log, "", top, width),
        *block.at(_MARGIN_MM, top - _HEAD_MM),
        *foot.at(_MARGIN_MM, _MARGIN_MM + foot.height),
    )
    return Page(width_mm=width, height_mm=height, items=items, title=f"{_title(log)}: net")


def _title(log: Log) -> str:
    return plain(log.heading.title or "") or "Traverse"


def section_scale(log: Log, sections: Sequence[Section]) -> int:
    """The scale asked for, where paper comes so long; else the largest round one that fits."""
    longest_mm = 1000.0 * max(section.length_m for section in sections)
    asked = log.heading.sheet.scale
    if asked is not None and longest_mm / asked <= _MOST_ROLL_MM:
        return asked
    most_mm = _MOST_SECTION_MM if asked is None else _MOST_ROLL_MM
    return next(scale for scale in round_scales(feet=log.lengths.in_feet) if longest_mm / scale <= most_mm)


def _section_page(opened: SectionCut, trav: Traverse, scale: int, mark: str) -> Page:
    section = opened.section
    long = section.length_m * 1000.0 / scale
    # The note below needs a width of its own, however short the section is.
    width = max(long + 2.0 * ROOM_BESIDE_MM, _LEAST_WIDTH_MM) + 2.0 * _MARGIN_MM
    tall = min(wanted_height_mm(section, trav, scale=scale), _MOST_HEIGHT_MM)
    room = width - 2.0 * _MARGIN_MM
    named = _names(opened, trav.log)
    said = (*([f"{named}."] if named else []), *section_sentences(section))
    foot = _foot(trav, mark, room, section=True, before=said)
    x = (width - long) / 2.0
    free = max(long, width - _MARGIN_MM - ROOM_BESIDE_MM - x)
    # Drawn below 0 first: what is in its legend is known when it is drawn.
    box = Box(x=x, y=-_HEAD_MM - ROOM_ABOVE_MM - tall, width=free, height=tall)
    lines = note_lines(width)
    panel = section_panel(
        opened,
        trav,
        box=box,
        scale=scale,
        styles=unit_styles(trav.log.units),
        limits=False,
        lines=lines,
    ).items
    legend = signs_block(signs_in_section(panel), trav, width=min(room, _LEGEND_MM))
    under = 0.0 if legend is None else legend.height + _UNDER_MM
    height = _HEAD_MM + ROOM_ABOVE_MM + tall + room_below_mm(lines) + under + foot.height + 2.0 * _MARGIN_MM
    top = height - _MARGIN_MM
    name = f"Section {plain(section_name(section.name))}"
    return Page(
        width_mm=width,
        height_mm=height,
        items=(
            *_head(trav.log, name, top, width),
            Group(items=shifted(panel, 0.0, top), layer=Layer.SECTION),
            *(() if legend is None else legend.at(_MARGIN_MM, _MARGIN_MM + foot.height + under - _UNDER_MM)),
            *foot.at(_MARGIN_MM, _MARGIN_MM + foot.height),
        ),
        title=f"{_title(trav.log)}: {name}",
    )


def _head(log: Log, name: str, top: float, width: float) -> list[Item]:
    room = width - 2.0 * _MARGIN_MM
    aside = width_mm(name, Face.SEMIBOLD, HEAD)
    title = cut(_title(log), Face.BOLD, LARGE, room - aside - 4.0)
    at = _MARGIN_MM + width_mm(title, Face.BOLD, LARGE) + 4.0
    return [
        Text(at=(_MARGIN_MM, top - 3.7), text=title, face=Face.BOLD, size_pt=LARGE),
        *([Text(at=(at, top - 3.7), text=name, face=Face.SEMIBOLD, size_pt=HEAD)] if name else []),
    ]


def _foot(trav: Traverse, mark: str, width: float, *, section: bool, before: Sequence[str] = ()) -> Block:
    """What the drawing shows, how good it is, grid and norths; limits and hazards; what was not adjusted, and the log's mark."""
    log, survey = trav.log, trav.survey
    # How good the stations are says nothing of directions alone.
    good = [f"{accuracy(log, survey)} {interpretation(log, section=True)}"] if section else []
    said = (*before, *good, f"{conventions(log, survey)} Log {mark}.")
    items: list[Item] = []
    y = set_lines(
        items, [line for one in said for line in wrap(one, Face.REGULAR, SMALL, width)], y=-_FOOT_FIRST_MM
    )
    cautions = page_cautions(log, width=width, who=days_and_party(log), elsewhere=None)
    items += cautions.at(0.0, y + line_mm(SMALL))
    y -= cautions.height
    open_walk = not_adjusted(log, survey)
    if open_walk is not None:
        y = (
            set_lines(items, [open_walk], y=y - 1.4, face=Face.BOLD, size_pt=LARGE)
            + line_mm(LARGE)
            - line_mm(SMALL)
        )
    return Block(items=tuple(items), height=-y - line_mm(SMALL))


def _names(opened: SectionCut, log: Log) -> str:
    """`Js Upper Shale, Jl Lower Limestone`: the units whose letters stand on a section, youngest first."""
    drawn = {fill.unit for fill in opened.fills} | {point.unit for point in opened.section.profile}
    for line in opened.lines:
        drawn |= {line.of.younger, line.of.older}
    return ", ".join(
        f"{unit.letters}{NO_BREAK}{plain(unit.name)}" for unit in log.units if unit.letters in drawn
    )
