"""The overlay: what a handout has not, on film in its window, so that one sheet is checked against thirty."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from traverse.diagnostic import Diagnostic, Outcome, error
from traverse.ground.records import Traverse
from traverse.shapes import lines_in, points_of
from traverse.sheet.compose.compose import Composer
from traverse.sheet.compose.grey import in_black_ink
from traverse.sheet.legend.title import days_and_party
from traverse.sheet.paper.document import Document
from traverse.sheet.paper.layers import Layer
from traverse.sheet.paper.page import Box, Face, Group, Item, Page, Path, Point, Text, polyline
from traverse.sheet.paper.style import PENS, SMALL, line_mm
from traverse.sheet.paper.window import check_line, on_paper
from traverse.sheet.paper.words import number, wrap
from traverse.sheet.said.sentences import (
    HAZARDS,
    NOT_ADJUSTED,
    SKETCH,
    accuracy,
    grid_words,
    interpretation,
    short_title,
)
from traverse.sheet.template.reading import Template

_DRAWN = frozenset(
    {
        Layer.EDGE,
        Layer.PROJECTED_TRACES,
        Layer.COMPUTED_TRACES,
        Layer.AXIAL_TRACES,
        Layer.CONTACTS,
        Layer.ATTITUDES,
        Layer.FIGURES,
        Layer.UNIT_LETTERS,
        Layer.STAMP,
    }
)
"""Layers of the map that a handout is to be given by its reader."""


_CHECK_OVER_MM = 5.0
_UNDER_LINE_MM = 0.3
"""An edge of a ground so near a line of the key is the ground that this line parts."""
_QUERY_MM = 4.0


def compose_overlay(
    trav: Traverse,
    diagnostics: tuple[Diagnostic, ...],
    *,
    template: Template,
    mark: str,
) -> Outcome[Document]:
    """Contacts, attitudes and edges of units of every map and section, in the windows of the key; an error without any."""
    return _Overlay(trav, diagnostics, template, mark).compose()


class _Overlay(Composer):
    """Draws the key, and keeps what differs from its handout."""

    kind = "overlay"
    overlay = True

    def _tables_there(self, frame: Box) -> tuple[Item, ...]:  # noqa: ARG002 a film has none
        return ()

    def _composed(self) -> Outcome[Document]:
        self.one = one = self.settle()
        if one.scale is None:
            return Outcome(
                Document(pages=(), title=""),
                (
                    error(
                        "no-overlay",
                        "there is neither a map nor a section to lay an overlay on",
                        None,
                        "take a template that draws one, such as `--template field`"
                        if self.survey.places
                        else "a map needs a leg, a section two stations",
                    ),
                ),
            )
        self.scale = one.scale
        pages = [*self._beginning(), *self.maps, *self._sections(one.paper)]
        films = (
            replace(page, items=tuple(in_black_ink(_film(page.items))), title=f"Overlay: {page.title}")
            for page in pages
        )
        footed = tuple(
            replace(page, items=(*page.items, *self._lines(page, at, len(pages))))
            for at, page in enumerate(films, start=1)
        )
        shown = replace(self._document(footed), subject="Overlay on film", look=self.look)
        return Outcome(shown, tuple(one for one in self.said if one.code == "no-room-on-map"))

    def _lines(self, page: Page, at: int, pages: int) -> list[Item]:
        """Title and limits, up from the foot of the page."""
        margin = self.template.margin
        room = page.width_mm - 2.0 * margin
        log, survey = self.log, self.survey
        head = (
            f"{short_title(log)}: overlay {at} of {pages}, 1:{number(on_paper(self.scale))}, for film. It lies on its exercise"
            " sheet where the crosses at the corners of the map meet."
        )
        said = [
            " · ".join([*days_and_party(log, room), f"grid: {grid_words(survey.frame)}", f"log {self.mark}"])
            + ".",
            f"{HAZARDS} Those noticed stand on the sheet below.",
            f"{accuracy(survey, log.lengths)} {interpretation(section=bool(self.geology.sections))}",
        ]
        head = head if survey.adjusted else f"{NOT_ADJUSTED}. {head}"
        lines = [(line, Face.BOLD) for line in wrap(head, Face.BOLD, SMALL, room)]
        lines += [(line, Face.SEMIBOLD) for line in wrap(SKETCH, Face.SEMIBOLD, SMALL, room)]
        lines += [(line, Face.REGULAR) for line in wrap(" ".join(said), Face.REGULAR, SMALL, room)]
        top = margin + 0.6 + (len(lines) - 1) * line_mm(SMALL)
        check = check_line(right=page.width_mm - margin, y=top + _CHECK_OVER_MM)
        return [
            *check,
            *(
                Text(at=(margin, top - down * line_mm(SMALL)), text=line, face=face, size_pt=SMALL)
                for down, (line, face) in enumerate(lines)
            ),
        ]


def _film(items: Iterable[Item]) -> Iterable[Item]:
    for item in items:
        if not isinstance(item, Group):
            continue
        if item.layer is Layer.MAP:
            yield replace(item, items=tuple(_of_map(item.items)))
        elif item.layer is Layer.SECTION or item.layer is None:
            yield replace(item, items=tuple(_bare(item.items)))


def _of_map(layers: Iterable[Item]) -> Iterable[Item]:
    groups = [one for one in layers if isinstance(one, Group)]
    drawn = [
        shape
        for layer in groups
        if layer.layer in {Layer.EDGE, Layer.CONTACTS}
        for path in layer.items
        if isinstance(path, Path)
        for shape in _lines(path)
    ]
    for layer in groups:
        if layer.layer is Layer.UNITS:
            yield replace(layer, items=tuple(_limits(layer.items, drawn)))
        elif layer.layer in _DRAWN:
            yield replace(layer, items=tuple(_bare(layer.items)))
        elif layer.layer is Layer.GRID:
            frame = (PENS["neat line"], PENS["register cross"])
            kept = [one for one in layer.items if isinstance(one, Path) and one.pen in frame]
            if kept:
                yield replace(layer, items=tuple(kept))


def _limits(grounds: Iterable[Item], drawn: Sequence[BaseGeometry]) -> Iterable[Item]:
    """What was covered by its stipple; of other grounds the edges at which neither that ends nor a line of the key runs."""
    paths = [one for one in grounds if isinstance(one, Path)]
    covered = [one for one in paths if one.unit is None]
    hidden = shapely.union_all([*drawn, *(line for one in covered for line in _lines(one))])
    hidden = hidden.buffer(_UNDER_LINE_MM)
    edges = shapely.union_all([line for one in paths if one.unit is not None for line in _lines(one)])
    yield from covered
    for line in lines_in(shapely.line_merge(shapely.difference(edges, hidden))):
        # What is left in the gap of a contact about its query is no edge without a line.
        if line.length > _QUERY_MM:
            yield Path(commands=polyline(points_of(line)), pen=PENS["edge of ground seen"])


def _lines(path: Path) -> Iterator[LineString]:
    """The lines of a path; of one in several parts one each."""
    points: list[Point] = []
    for command in path.commands:
        if command[0] == "M" and len(points) > 1:
            yield LineString(points)
        if command[0] == "M":
            points = []
        if command[0] == "Z":
            points.append(points[0])
        else:
            *_, x, y = command[1:]
            points.append((x, y))
    if len(points) > 1:
        yield LineString(points)


def _bare(items: Iterable[Item]) -> Iterable[Item]:
    """Without colour: grounds by their edges, words without what hides the ground behind them."""
    for item in items:
        if isinstance(item, Group):
            yield replace(item, items=tuple(_bare(item.items)))
        elif isinstance(item, Text):
            yield replace(item, halo=None)
        elif item.fill is not None and (item.unit is not None or not isinstance(item.fill, str)):
            yield replace(item, fill=None, unit=None, pen=PENS["edge of ground seen"])
        elif item.unit is None:
            yield item
