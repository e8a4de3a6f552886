"""The handout: sheet 1 with what the leader gives, room to draw and write, and a ruled table to fill in."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from functools import partial

from traverse.diagnostic import Outcome, warning
from traverse.ground.records import SectionCut, Traverse
from traverse.length import Lengths
from traverse.location.records import PaceLength
from traverse.log.readings import Convention
from traverse.log.records import Log
from traverse.sheet.compose.arrangement import Layout, Yielding
from traverse.sheet.compose.compose import Composer
from traverse.sheet.compose.grey import in_black_ink
from traverse.sheet.handout.degree_scale import degree_scales
from traverse.sheet.handout.given import TO_COMPLETE, USUAL, Given, given
from traverse.sheet.legend.panels import limits_panel
from traverse.sheet.legend.title import title_block
from traverse.sheet.legend.unit_legend import units_block
from traverse.sheet.map.framing import Framing
from traverse.sheet.paper.block import TEXT_BASE_MM, framed
from traverse.sheet.paper.document import Document
from traverse.sheet.paper.filling import FilledTo, Pages
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import (
    Anchor,
    Block,
    Box,
    Face,
    Item,
    Page,
    Path,
    Text,
    polyline,
    rectangle,
)
from traverse.sheet.paper.panel import Form, Panel
from traverse.sheet.paper.style import LARGE, PENS, SMALL
from traverse.sheet.paper.window import PaceRule, scale_strip
from traverse.sheet.paper.words import cut, number, plain
from traverse.sheet.section.strip import section_panel
from traverse.sheet.signs.sign_list import (
    SIGN_PITCH_MM,
    TIGHT_SIGN_PITCH_MM,
    Entry,
    in_columns,
    sample,
    signs_block,
)
from traverse.sheet.signs.signs_page import signs_pages
from traverse.sheet.tables.data_tables import table_pages
from traverse.sheet.template.reading import Paper, Template

TO_DRAW_WITH = (
    ("contact certain", "contact, certain"),
    ("contact approximate", "approximate"),
    ("contact inferred", "inferred"),
    ("contact concealed", "concealed"),
    ("fault down", "fault; ball: side down"),
    ("?", "doubtful: add ?"),
    ("bedding", "bedding, dip"),
    ("horizontal", "horizontal"),
    ("vertical", "vertical"),
    ("overturned", "overturned"),
    ("bedding tops", "tops seen"),
    ("axial trace", "axial trace, plunge"),
)
"""Always these twelve: a choice of signs would be an answer."""
_BOX_PITCH_MM = 7.5
_LEAST_BOX_PITCH_MM = 6.0
_LINE_MM = 5.2
_ROW_MM = 8.0
"""A row that can be written in with cold hands."""
_LEGS_SPARE = 6


def compose_blank(
    trav: Traverse,
    *,
    lay: Callable[[Traverse], Traverse],
    template: Template,
    mark: str,
    give: Iterable[str] = USUAL,
    boxes: int | None = None,
    title: str | None = None,
) -> Outcome[Document]:
    """A handout of the log, composed from an allow-list of its records.

    `give` names what it shows beside the base, of `given.PARTS`. `boxes` is how many empty boxes the legend has, else
    as many as there are units. `title` stands in place of the log's. Paper and scale are those of the key, so that
    one can be laid on the other. `lay` lays the ground of the records that were given; that of the log never gets here.
    """
    shown = given(trav, parts=give, title=title)
    laid = replace(shown.value, trav=lay(shown.value.trav))
    key = Composer(trav, (), template, mark).first_layout()
    composed = _Blank(laid, template, mark, boxes, key).compose()
    return Outcome(composed.value, (*shown.diagnostics, *composed.diagnostics))


class _Blank(Composer):
    """Knows the given records only."""

    kind = "blank"

    def __init__(
        self, shown: Given, template: Template, mark: str, boxes: int | None, key: Layout | None
    ) -> None:
        super().__init__(shown.trav, (), template, mark)
        self.given = shown
        self.like = None if key is None else (key.paper, key.scale)
        self.boxes = shown.units if boxes is None else boxes

    def _papers(self) -> tuple[Paper, ...]:
        papers = super()._papers()
        return papers if self.like is None else (self.like[0],)

    def _lay_out(self, papers: tuple[Paper, ...], *, scale: int | None = None) -> Layout:
        if self.like is not None and scale is None:
            layout = super()._lay_out(papers, scale=self.like[1])
            if layout.scale == self.like[1]:
                return layout
        return super()._lay_out(papers, scale=scale)

    def _first(self, papers: tuple[Paper, ...]) -> tuple[Page, Paper]:
        page, paper = super()._first(papers)
        if self.like is not None and self.scale != self.like[1]:
            self.said.append(
                warning(
                    "blank-scale",
                    f"for want of room the handout is at 1:{number(self.scale)}, the key at 1:{number(self.like[1])}",
                    self.log.heading.sheet.span,
                    f"`sheet scale 1:{self.scale}` makes both alike",
                )
            )
        return page, paper

    def _title(self, *, width: float, band: bool) -> Block:
        heading = self.log.heading
        kept = self.given.subtitle
        forms = [f"{kept}: {TO_COMPLETE}", f"{kept}: to be completed"] if kept else []
        # What it is matters more than which walk it is.
        words = next(
            (form for form in forms if text_width_mm(form, Face.SEMIBOLD, LARGE) <= 0.98 * width), TO_COMPLETE
        )
        shown = replace(self.log, heading=replace(heading, title=f"{self.given.head}, {words}"))
        room = 0.42 * width if band else width
        lines = (
            _ruled((("Date ", 0.42), ("  Sheet of party ", 1.0)), room),
            _ruled((("Names ", 1.0),), room),
        )
        return title_block(
            replace(self.trav, log=shown),
            width=width,
            band=band,
            kind=self.kind,
            lines=lines,
        )

    def _strip(self, *, x: float, top: float, width: float) -> tuple[Item, ...]:
        rules = [pace_rule(one) for one in self.survey.paces]
        return scale_strip(self.scale, x=x, top=top, width=width, paces=rules)

    def _over(self, framing: Framing) -> tuple[Item, ...]:
        return degree_scales(self.trav, framing)

    def _section(self, opened: SectionCut, box: Box) -> tuple[Item, ...]:
        return section_panel(
            opened,
            self.trav,
            box=box,
            scale=self.scale,
            styles=self.styles,
            ruled=True,
            profile="profile" in self.given.parts,
        )

    def _panels(self, signs: tuple[str, ...], yielding: Yielding) -> list[Panel]:
        log = self.log

        given_units = "units" in self.given.parts
        boxes = partial(boxes_block, self.boxes)
        named = partial(units_block, self.trav, styles=self.styles, units=log.units)
        low = partial(boxes, pitch=_LEAST_BOX_PITCH_MM)
        structure = partial(lines_block, "Structure")

        def listed(*, width: float, pitch: float = SIGN_PITCH_MM) -> Block:
            there = signs_block(signs, self.trav, width=width, pitch=pitch, half_m=self.half_m)
            return draw_with_block(there, width=width, pitch=pitch)

        tight = partial(listed, pitch=TIGHT_SIGN_PITCH_MM)
        return [
            Panel(
                name="units",
                draw=named if given_units else low if yielding.short_units else boxes,
                shorter=() if given_units else (Form(step="short units", draw=low),),
                part=named if given_units else boxes,
                rows=len(log.units) if given_units else self.boxes,
            ),
            Panel(
                name="signs",
                draw=tight if yielding.tight_signs else listed,
                shorter=(Form(step="closer signs", draw=tight),),
            ),
            Panel(
                name="structure",
                draw=partial(structure, 2),
                shorter=(Form(step="fewer words", draw=partial(structure, 1)),),
            ),
            Panel(name="closure", draw=partial(closure_prompts, log.lengths)),
            limits_panel(
                self.trav,
                reported=self._reported(),
                last="Exercise: what you draw is yours to defend.",
            ),
        ]

    def _reported(self) -> bool:
        return False

    def _further(self, paper: Paper) -> list[Page]:
        pages: list[Page] = []
        frame = self._frame(paper)
        if "tables" in self.template.show and "tables" in self.given.parts:
            lying = self._for_tables(paper)
            pages += table_pages(
                self.trav,
                (),
                width=lying.width,
                height=lying.height,
                frame=self._frame(lying),
            )
        if "tables" in self.template.show:
            pages += ruled_tables(self.log, paper=paper, frame=frame)
        if "reference" in self.template.show:
            # Always the same for every log, so that nothing is told by it.
            pages += signs_pages(width=paper.width, height=paper.height, frame=frame)
        return pages

    def _document(self, pages: tuple[Page, ...]) -> Document:
        title = ", ".join(words for words in (self.given.head, self.given.subtitle) if words)
        if "units" not in self.given.parts:
            # Without the colours of units it goes through the copier as it is.
            pages = tuple(replace(page, items=tuple(in_black_ink(page.items))) for page in pages)
        return Document(pages=pages, title=f"{title}: {TO_COMPLETE}", subject="Exercise sheet")


def pace_rule(pace: PaceLength) -> PaceRule:
    """A rule of paces for somebody, or for all where one calibration serves."""
    kind = f"{pace.course.kind.value} " if pace.course.kind is not None else ""
    words = f"{plain(pace.course.who)}’s {kind}paces" if pace.course.who else f"{kind}paces"
    return PaceRule(words=words, length_m=pace.length_m)


def _ruled(parts: Sequence[tuple[str, float]], width: float) -> str:
    """Prompts, each followed by a line to write on; the shares are those of the width that is left."""
    line = ""
    one = text_width_mm("_", Face.REGULAR, SMALL)
    for words, share in parts:
        left = width - text_width_mm(line + words, Face.REGULAR, SMALL)
        line += words + "_" * max(3, int(left * share / one))
    return line


def boxes_block(
    count: int, *, width: float, pitch: float = _BOX_PITCH_MM, part: slice = slice(None)
) -> Block | None:
    """Empty boxes for the units, each with a line to write on."""
    count = len(range(count)[part])
    if count <= 0:
        return None
    items = framed("Units, youngest first", width=width, aside="letter, name, age, rock")
    y = -5.8
    high = pitch - 1.6
    for _ in range(count):
        items += (
            Path(commands=rectangle(Box(x=0.0, y=y - high, width=11.0, height=high)), pen=PENS["unit box"]),
            _rule(13.1, width, y - high),
        )
        y -= pitch
    return Block(items=tuple(items), height=5.8 + pitch * count + 0.8)


def draw_with_block(there: Block | None, *, width: float, pitch: float) -> Block:
    """The signs on the sheet, and below them the twelve to draw with."""
    items = list(there.items) if there is not None else framed("Signs", width=width)
    y = -(there.height if there is not None else TEXT_BASE_MM - 2.2) - 2.2
    words = "The usual signs, to draw with (not all may be needed)"
    items.append(
        Text(
            at=(0.0, y),
            text=cut(words, Face.ITALIC, SMALL, width),
            face=Face.ITALIC,
            size_pt=SMALL,
        )
    )
    entries = [
        Entry(draw=_doubt if name == "?" else partial(sample, name), words=said)
        for name, said in TO_DRAW_WITH
    ]
    rows = in_columns(entries, width=width, pitch=pitch)
    return Block(items=(*items, *rows.at(0.0, y - 3.9)), height=5.0 - y + rows.height)


def _doubt(left: float, y: float) -> list[Item]:
    return [Text(at=(left + 4.3, y - 0.9), text="?", face=Face.BOLD, size_pt=SMALL, anchor=Anchor.MIDDLE)]


def lines_block(heading: str, count: int, *, width: float) -> Block:
    """A heading over lines to write on."""
    items = framed(heading, width=width)
    y = -HEAD_TO_LINE_MM
    for _ in range(count):
        items.append(_rule(0.0, width, y))
        y -= _LINE_MM
    return Block(items=tuple(items), height=2.4 - y - _LINE_MM)


def closure_prompts(lengths: Lengths, *, width: float) -> Block:
    """What a loop is worked out to, to be filled in."""
    items = framed("Closure", width=width)
    y = -HEAD_TO_LINE_MM + 0.6
    unit = lengths.sign
    words = _ruled((("misclosure ", 0.28), (f" {unit}  length ", 0.42), (f" {unit}  1 in ", 1.0)), width)
    items.append(Text(at=(0.0, y), text=words, size_pt=SMALL))
    return Block(items=tuple(items), height=2.7 - y)


_DIP = ("Dip", 13.0)
_PAIRS = {
    Convention.DIP_DIRECTION: (("Dip direction", 23.0), _DIP),
    Convention.DIP_FIRST: (_DIP, ("Dip direction", 23.0)),
}
"""Columns for an attitude, in the order in which the party writes it, with their widths in millimetres."""
_STRIKE_AND_DIP = (("Strike", 23.0), _DIP)
HEAD_TO_LINE_MM = 8.6
"""From the rule of a block to its first line to write on."""


def _rule(left: float, right: float, y: float) -> Path:
    return Path(commands=polyline([(left, y), (right, y)]), pen=PENS["ruled line"])


def ruled_tables(log: Log, *, paper: Paper, frame: Box) -> list[Page]:
    """A table with a row for every station, and one for contacts, to be filled in by hand."""
    convention = log.heading.first.convention
    pair = _PAIRS.get(convention, _STRIKE_AND_DIP) if convention is not None else _STRIKE_AND_DIP
    stations = _RuledTable(
        "Stations, to be completed",
        (
            ("Station", 14.0),
            ("Unit", 13.0),
            *pair,
            ("Tops", 22.0),
            ("Rock", 90.0),
            ("Samples, photos, notes", 75.0),
        ),
        tuple(plain(name) for name in log.stations),
    )
    contacts = _RuledTable(
        "Contacts and faults, to be completed",
        (
            ("On leg", 20.0),
            ("At", 18.0),
            ("Between", 34.0),
            ("Placed", 28.0),
            *pair,
            ("Evidence", 90.0),
        ),
        ("",) * max(_LEGS_SPARE, min(len(log.legs), 24)),
    )
    pages, at = Pages.of(frame), FilledTo()
    for table in (stations, contacts):
        names = list(table.names)
        while names:
            at = pages.fitting(_TABLE_HEAD_MM + min(3, len(names)) * _ROW_MM, at)
            count = max(1, int((pages.room(at) - _TABLE_HEAD_MM) / _ROW_MM))
            at = pages.put(table.block(names[:count], width=frame.width), at)
            names = names[count:]
    return [
        Page(
            width_mm=paper.width,
            height_mm=paper.height,
            items=tuple(items),
            title="Table to complete" + (f", {index + 1}" if index else ""),
        )
        for index, items in enumerate(pages.items)
    ]


_TABLE_HEAD_MM, _BELOW_TABLE_MM = 12.4, 6.0


class _RuledTable:
    """Columns by name and the share of the width that they take, and what stands first in each row."""

    def __init__(self, title: str, columns: tuple[tuple[str, float], ...], names: tuple[str, ...]) -> None:
        self.title, self.columns, self.names = title, columns, names

    def block(self, names: Sequence[str], *, width: float) -> Block:
        """The table with some of its rows, and the air below it."""
        share = width / sum(wide for _, wide in self.columns)
        floor = -_TABLE_HEAD_MM - _ROW_MM * len(names)
        items: list[Item] = [
            Text(at=(0.0, -4.2), text=self.title, face=Face.BOLD, size_pt=LARGE),
            Path(commands=polyline([(0.0, -6.6), (width, -6.6)]), pen=PENS["table rule"]),
        ]
        left = 0.0
        for index, (name, wide) in enumerate(self.columns):
            if index:
                items.append(Path(commands=polyline([(left, -6.6), (left, floor)]), pen=PENS["row rule"]))
            items.append(
                Text(
                    at=(left + (1.2 if index else 0.0), -10.4),
                    text=cut(name, Face.SEMIBOLD, SMALL, wide * share - 1.4),
                    face=Face.SEMIBOLD,
                    size_pt=SMALL,
                )
            )
            left += wide * share
        y = -_TABLE_HEAD_MM
        for name in names:
            items.append(_rule(0.0, width, y))
            first = cut(name, Face.BOLD, SMALL, self.columns[0][1] * share - 1.0)
            items.append(Text(at=(0.0, y - 5.0), text=first, face=Face.BOLD, size_pt=SMALL))
            y -= _ROW_MM
        items.append(Path(commands=polyline([(0.0, floor), (width, floor)]), pen=PENS["table rule"]))
        return Block(items=tuple(items), height=_BELOW_TABLE_MM - floor)
