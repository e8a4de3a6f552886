"""The handout: sheet 1 with what the leader gives, room to draw and write, and a ruled table to fill in."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace

from traverse.diagnostic import Diagnostic, Outcome
from traverse.ground.records import Traverse
from traverse.location.records import PaceLength
from traverse.log.readings import Convention
from traverse.log.records import Log
from traverse.sheet.compose.arrangement import Yielding
from traverse.sheet.compose.compose import Composer
from traverse.sheet.compose.grey import in_black_ink
from traverse.sheet.compose.sheet_one import SheetOne
from traverse.sheet.handout.degree_scale import degree_scales
from traverse.sheet.handout.given import TO_COMPLETE, USUAL, Given, given
from traverse.sheet.legend.panels import listed_units
from traverse.sheet.legend.title import title_block
from traverse.sheet.legend.to_complete import panels_to_complete, rule, ruled
from traverse.sheet.map.framing import Framing
from traverse.sheet.paper.document import Document
from traverse.sheet.paper.filling import FilledTo, Pages
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import (
    Block,
    Box,
    Face,
    Item,
    Page,
    Path,
    Text,
    polyline,
)
from traverse.sheet.paper.panel import Panel
from traverse.sheet.paper.style import LARGE, PENS, SMALL
from traverse.sheet.paper.window import PaceRule, scale_strip
from traverse.sheet.paper.words import cut, plain
from traverse.sheet.report.tomorrow_strip import MOST_LINES, lines_to_fill_in, strip_to_complete
from traverse.sheet.said.emergency import calls
from traverse.sheet.section.strip import section_panel
from traverse.sheet.signs.signs_page import signs_pages
from traverse.sheet.template.reading import Paper, Template

_ROW_MM = 8.0
"""A row that can be written in with cold hands."""
_LEGS_SPARE = 6
_WHO_MM = 90.0
"""Room to write when and by whom a page was filled in."""


def compose_blank(
    trav: Traverse,
    diagnostics: tuple[Diagnostic, ...] = (),
    *,
    lay: Callable[[Traverse], Traverse],
    template: Template,
    mark: str,
    give: Iterable[str] = USUAL,
    boxes: int | None = None,
    title: str | None = None,
) -> Outcome[Document]:
    """A handout of the log, composed from an allow-list of its records; `diagnostics` are what its key was made with.

    `give` names what it shows beside the base, of `given.PARTS`. `boxes` is how many empty boxes the legend has, else
    as many as there are units. `title` stands in place of the log's. Paper, scale and window are those of the key, so
    that one can be laid on the other. `lay` lays the ground of the records that were given; that of the log never gets here.
    """
    shown = given(trav, parts=give, title=title)
    laid = replace(shown.value, trav=lay(shown.value.trav))
    key = Composer(trav, diagnostics, template, mark).settle()
    composed = _Blank(laid, template, mark, boxes, key).compose()
    return Outcome(composed.value, (*shown.diagnostics, *composed.diagnostics))


class _Blank(Composer):
    """Knows the given records only."""

    kind = "blank"
    made_from = "its key: log"

    def __init__(self, shown: Given, template: Template, mark: str, boxes: int | None, key: SheetOne) -> None:
        super().__init__(shown.trav, (), template, mark, key)
        self.reported = False
        self.given = shown
        self.boxes = shown.units if boxes is None else boxes

    def _title(self, *, width: float, band: bool) -> Block:
        heading = self.log.heading
        kept = self.given.subtitle
        forms = [f"{kept}: {TO_COMPLETE}", f"{kept}: to be completed"] if kept else []
        # What it is matters more than which walk it is; in a band, lines to fill in stand beside it.
        free = 0.98 * width * (0.55 if band else 1.0)
        words = next(
            (form for form in forms if text_width_mm(form, Face.SEMIBOLD, LARGE) <= free), TO_COMPLETE
        )
        shown = replace(self.log, heading=replace(heading, title=f"{self.given.head}, {words}"))
        room = 0.42 * width if band else width
        lines = (
            ruled((("Date ", 0.42), ("  Sheet of party ", 1.0)), room),
            ruled((("Names ", 1.0),), room),
        )
        return title_block(
            replace(self.trav, log=shown),
            width=width,
            band=band,
            kind=self.kind,
            lines=lines,
        )

    def _tomorrow(self, *, width: float, lines: int = MOST_LINES) -> Block:
        return strip_to_complete(width=width, brief=not lines, help_by=calls(self.log.heading.emergency))

    def _strips_at_foot(self, width: float) -> Iterator[Block]:
        yield from super()._strips_at_foot(width)
        help_by = calls(self.log.heading.emergency)
        yield lines_to_fill_in(help_by, width)
        yield lines_to_fill_in(help_by, width, brief=True)

    def _strip(self, *, x: float, top: float, width: float) -> tuple[Item, ...]:
        rules = [pace_rule(one) for one in self.survey.paces]
        return scale_strip(self.scale, x=x, top=top, width=width, paces=rules)

    def _over(self, framing: Framing) -> tuple[Item, ...]:
        return degree_scales(self.trav, framing)

    def _section(self, index: int, box: Box) -> tuple[Item, ...]:
        return section_panel(
            self.trav.ground.cuts[index],
            self.trav,
            box=box,
            scale=self.scale,
            styles=self.styles,
            ruled=True,
            profile="profile" in self.given.parts,
            heights=self.one.strips[index],
        )

    def _panels(self, signs: tuple[str, ...], yielding: Yielding) -> list[Panel]:
        given_units = "units" in self.given.parts
        units: Panel | None = None
        if given_units:
            units = listed_units(self.trav, styles=self.styles, units=self.log.units)
        return panels_to_complete(
            self.trav,
            signs,
            boxes=self.boxes,
            units=units,
            half_m=self.half_m,
            tight=yielding.tight_signs,
            low=yielding.short_units,
        )

    def _who(self) -> str:
        return ruled((("Date ", 0.3), ("  Names ", 1.0)), _WHO_MM)

    def _further(self, paper: Paper, pages: list[Page]) -> list[Page]:
        frame = self._frame(paper)
        if "tables" in self.template.show and "tables" in self.given.parts:
            lying = self._for_tables(paper)
            pages += self._tables(lying)(frame=self._frame(lying))
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


_DIP = ("Dip", 13.0)
_PAIRS = {
    Convention.DIP_DIRECTION: (("Dip direction", 23.0), _DIP),
    Convention.DIP_FIRST: (_DIP, ("Dip direction", 23.0)),
}
"""Columns for an attitude, in the order in which the party writes it, with their widths in millimetres."""
_STRIKE_AND_DIP = (("Strike", 23.0), _DIP)


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


def _shared(columns: Sequence[tuple[str, float]], width: float) -> list[float]:
    """A width for each column by its share, none too narrow for its head: what that takes the wider ones give."""
    least = [text_width_mm(name, Face.SEMIBOLD, SMALL) + 1.5 for name, _ in columns]
    share = width / sum(wide for _, wide in columns)
    spare = [max(0.0, wide * share - need) for (_, wide), need in zip(columns, least, strict=True)]
    kept = min(1.0, (width - sum(least)) / sum(spare)) if any(spare) else 0.0
    return [need + max(0.0, kept) * more for need, more in zip(least, spare, strict=True)]


class _RuledTable:
    """Columns by name and the share of the width that they take, and what stands first in each row."""

    def __init__(self, title: str, columns: tuple[tuple[str, float], ...], names: tuple[str, ...]) -> None:
        self.title, self.columns, self.names = title, columns, names

    def block(self, names: Sequence[str], *, width: float) -> Block:
        """The table with some of its rows, and the air below it."""
        widths = _shared(self.columns, width)
        floor = -_TABLE_HEAD_MM - _ROW_MM * len(names)
        items: list[Item] = [
            Text(at=(0.0, -4.2), text=self.title, face=Face.BOLD, size_pt=LARGE),
            Path(commands=polyline([(0.0, -6.6), (width, -6.6)]), pen=PENS["table rule"]),
        ]
        left = 0.0
        for index, ((name, _), wide) in enumerate(zip(self.columns, widths, strict=True)):
            if index:
                items.append(Path(commands=polyline([(left, -6.6), (left, floor)]), pen=PENS["row rule"]))
            items.append(
                Text(
                    at=(left + (1.2 if index else 0.0), -10.4),
                    text=cut(name, Face.SEMIBOLD, SMALL, wide - 1.4),
                    face=Face.SEMIBOLD,
                    size_pt=SMALL,
                )
            )
            left += wide
        y = -_TABLE_HEAD_MM
        for name in names:
            items.append(rule(0.0, width, y))
            first = cut(name, Face.BOLD, SMALL, widths[0] - 1.0)
            items.append(Text(at=(0.0, y - 5.0), text=first, face=Face.BOLD, size_pt=SMALL))
            y -= _ROW_MM
        items.append(Path(commands=polyline([(0.0, floor), (width, floor)]), pen=PENS["table rule"]))
        return Block(items=tuple(items), height=_BELOW_TABLE_MM - floor)
