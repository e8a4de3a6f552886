"""The overlay: what a handout has not, on film in its window and off its words, so that one sheet is checked against thirty."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import groupby

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from traverse.diagnostic import Diagnostic, Outcome, error
from traverse.ground.records import Traverse
from traverse.log.records import Projection
from traverse.record import record
from traverse.shapes import lines_in, points_of
from traverse.sheet.compose.compose import Composer
from traverse.sheet.compose.free_room import Room, texts_in, ungrouped
from traverse.sheet.compose.grey import in_black_ink
from traverse.sheet.legend.blocks import LIMITS_HEADS
from traverse.sheet.legend.title import days_and_party
from traverse.sheet.map.map_words import drawn_square, traces_too_short
from traverse.sheet.paper.block import set_lines
from traverse.sheet.paper.document import Document
from traverse.sheet.paper.enlarged import enlarged_items
from traverse.sheet.paper.layers import Layer
from traverse.sheet.paper.page import Block, Box, Face, Group, Item, Page, Path, Point, Text, polyline
from traverse.sheet.paper.style import PENS, SMALL, line_mm
from traverse.sheet.paper.window import check_line, check_line_in, on_paper
from traverse.sheet.paper.words import dates, number, plain, wrap
from traverse.sheet.said.cautions import hazard_sentences, hazards_closing
from traverse.sheet.said.sentences import (
    SKETCH,
    accuracy,
    grid_words,
    interpretation,
    open_walk,
    section_briefs,
    short_title,
)
from traverse.sheet.template.reading import Paper, Template
from traverse.wording import capital, section_name

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
        Layer.NAMES,
        Layer.STAMP,
    }
)
"""Layers of the map that a handout is to be given by its reader."""


_CHECK_MM = 100.0
_CHECK_Y_MM, _CHECK_HIGH_MM = -4.4, 5.6
"""The line from the upper edge of what it takes with its words, and the height of that."""
_WIDTHS_MM = (200.0, 160.0, 145.0, 130.0, 110.0, 90.0, 75.0, 60.0, 50.0, 42.0, 36.0)
"""In which words are set where those of the page are too wide."""
_NARROW_MM = (30.0, 24.0)
"""The same beside a section, where they would stand on lines elsewhere."""
_MOST_CROSSED_MM = 80
"""Of lines of the handout that all the words may stand on before some take a page."""
_UNDER_LINE_MM = 0.3
"""An edge of a ground so near a line of the key is the ground that this line parts."""
_QUERY_MM = 4.0
_FIRST_MM, _TAILS_MM = 2.4, 0.8
"""From the upper edge of words to their first base, and what they reach below the last."""


_LIST = "Words of the overlay"
_BELOW = "Hazards that were noticed stand on the sheet below."
_LIES = "It lies on its exercise sheet where the crosses at the corners of the map meet."
_LIES_BY_AXES = "It lies on its exercise sheet where the axes of the section meet."
_REST = ("The rest is said on its key.", "More on its key.")


@record(frozen=True, slots=True)
class Sentence:
    """What is said on a film, in full and shorter; a `caution`, and why it departs from its handout, stands on every one."""

    text: str
    face: Face = Face.REGULAR
    shorter: tuple[str, ...] = ()
    caution: bool = False

    @property
    def told(self) -> tuple[str, ...]:
        """In full, and shorter."""
        return (self.text, *self.shorter)


def compose_overlay(
    trav: Traverse,
    diagnostics: tuple[Diagnostic, ...],
    *,
    template: Template,
    mark: str,
    handout: Document,
) -> Outcome[Document]:
    """Contacts, attitudes and edges of units of every map and section, in the windows of the key; an error without any.

    What it says stands where the `handout` has no words, so that both are read where one lies on the other.
    """
    return _Overlay(trav, diagnostics, template, mark, handout).compose()


class _Overlay(Composer):
    """Draws the key, and keeps what differs from its handout."""

    kind = "overlay"

    def __init__(
        self,
        trav: Traverse,
        diagnostics: tuple[Diagnostic, ...],
        template: Template,
        mark: str,
        handout: Document,
    ) -> None:
        super().__init__(trav, diagnostics, template, mark)
        # It is arranged as large as the page in the hand, as this one is.
        self.under = [tuple(enlarged_items(page.items, 1.0 / self.look.grown)) for page in handout.pages]
        self.beneath = tuple((*texts_in(items), *_things(items)) for items in self.under)

    def _tables_there(self, frame: Box) -> tuple[Item, ...]:  # noqa: ARG002 a film has none
        return ()

    def _section(self, index: int, box: Box) -> tuple[Item, ...]:
        """With its axes to lay it by on a sheet that has no map with crosses."""
        items = super()._section(index, box)
        section = self.trav.ground.cuts[index].section
        settled = self.one.layout or self.one.placing
        mapped = settled is not None and settled.framing is not None
        if (mapped and index < self._on_one) or len(section.profile) < 2:
            return items
        right = box.x + section.length_m * 1000.0 / self.scale
        axes = [(box.x, box.top), (box.x, box.y), (right, box.y), (right, box.top)]
        return (*items, Path(commands=polyline(axes), pen=PENS["register cross"]))

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
        footed: list[Page] = []
        unsaid: list[Sentence] = []
        said: set[Sentence] = set()
        for at, page in enumerate(films, start=1):
            items, left, told = self._words(page, at, len(pages))
            footed.append(replace(page, items=(*page.items, *items)))
            unsaid += [one for one in left if one not in unsaid]
            said |= {one for one in told if one not in left}
        # What one film of several says it says for all.
        if nowhere := [one for one in unsaid if one not in said]:
            footed.append(self._list(nowhere))
        shown = replace(self._document(tuple(footed)), subject="Overlay on film", look=self.look)
        return Outcome(shown, tuple(one for one in self.said if one.code == "no-room-on-map"))

    def _words(
        self, page: Page, at: int, pages: int
    ) -> tuple[tuple[Item, ...], list[Sentence], list[Sentence]]:
        """Title and limits where neither film nor handout has anything, the check line on that of the handout; then what had no room, and all that there was to say.

        What the handout says in the same words is printed on them. Where that is all that has room, the film sends to its
        key for the rest, which whoever checks by it has: a film of a few lines more would be a sheet for nothing.
        """
        frame = self._margins(Paper(name="", width=page.width_mm, height=page.height_mm))
        under = self.under[at - 1] if at <= len(self.under) else ()
        windows = [one.box for one in page.maps]
        room = Room(frame, film=page.items, beneath=under, windows=windows)
        check = check_line_in(ungrouped(under))
        if not check:
            long = _CHECK_MM / self.look.grown
            line = Block(items=tuple(check_line(right=long, y=_CHECK_Y_MM)), height=_CHECK_HIGH_MM)
            check = room.place([(long, line)]) or room.foot(line)
        scale = page.maps[0].scale if page.maps else self.scale
        called = f"overlay {at} of {pages}"
        lies = _LIES if page.maps else _LIES_BY_AXES
        cut = any(one.layer is Layer.SECTION for one in _groups(page.items))
        whole = self._sentences(frame.width, called, scale, lies, section=cut)
        beneath = tuple(texts_in(under))
        printed, rest = _printed_below(
            self._sentences(frame.width, called, scale, lies, beneath, section=cut), beneath
        )
        # Apart from each other, sentences would seem to be said of what they stand beside.
        parted = (((), whole), ((), _least(whole)), (printed, rest), (printed, _least(rest)))
        run_on = tuple((there, _run_on(told)) for there, told in parted)
        widths = _widths(frame.width)
        ways = [
            *((0, widths, *one) for one in (*parted, *run_on)),
            (0, _NARROW_MM, *run_on[-1]),
            (_MOST_CROSSED_MM, widths, *run_on[-1]),
        ]
        for most, wides, onto, words in ways:
            if most:
                # Clear of everything in several places, before on lines in one.
                for told in (rest, _least(rest)):
                    for blocks in _in_blocks(told, called):
                        several = [[_set(_run_on(one), wide) for wide in widths] for one in blocks]
                        found = room.place_apart(several)
                        if found is not None:
                            return (*check, *printed, *found), [], [*whole, Sentence(lies)]
            found = room.place([_set(words, wide) for wide in wides], most=most)
            if found is not None:
                return (*check, *onto, *found), [], [*whole, Sentence(lies)]
        title, kept = rest[0], [one for one in rest[1:] if one.caution]
        left = [Sentence(lies), *(one for one in rest[1:] if not one.caution or one.shorter)]
        briefs = [replace(title, text=f"{words} {more}") for words in title.shorter for more in _REST]
        in_one = [
            replace(one, text=" ".join((one.text, *(two.text for two in _least(kept))))) for one in briefs
        ]
        forms = [
            _set(told, wide)
            for told in (*([one, *_least(kept)] for one in briefs), *([one] for one in in_one))
            for wide in widths
        ]
        # The shortest covers the least.
        shortest = [_set([briefs[-1], *_least(kept)], wide) for wide in widths]
        found = room.place(forms, most=0) or room.place(shortest)
        if found is not None:
            return (*check, *printed, *found), [], whole
        # A film that doesn't say which it is lies on any sheet.
        named = room.place([_set([replace(title, text=title.shorter[-1])], wide) for wide in widths])
        if named is None:
            return (*check, *printed), [*rest, *left], whole
        # Its crosses speak for themselves.
        unsaid = [one for one in (*rest[1:], *left) if one.text != _LIES]
        return (*check, *printed, *named), unsaid, whole

    def _sentences(
        self,
        width: float,
        called: str,
        scale: int,
        lies: str,
        beneath: Sequence[Text] | None = None,
        *,
        section: bool,
    ) -> list[Sentence]:
        """What stands on a film, in sentences as the handout `beneath` it has them, where they are to be looked for there.

        How a `section` was made is said on the film that has one.
        """
        log, survey = self.log, self.survey
        title = f"{short_title(log)}: {called}, 1:{number(on_paper(scale))}, for film."
        brief = f"{short_title(log)}: {called}, 1:{number(on_paper(scale))}."
        stamped = open_walk(log, survey)
        title, brief = (one if stamped is None else f"{stamped}. {one}" for one in (title, brief))
        told = [*hazard_sentences(log), hazards_closing(log)]
        noticed = [told[-1], _BELOW] if told[:-1] else told
        if beneath is None:
            noticed = [" ".join(noticed)]
        else:
            noticed = next(
                (
                    one
                    for one in ([f"Hazards: {' '.join(told)}"], [" ".join(told[:-1]), told[-1]], told)
                    if all(_run(words, beneath) for words in one)
                ),
                noticed,
            )
        people = " ".join(person.initials for person in log.heading.party)
        days = [one for one in (dates(day.date for day in log.heading.days), plain(people)) if one]
        grid = survey.frame.name if survey.frame.epsg is None else f"EPSG:{survey.frame.epsg}"
        short = [*(days or days_and_party(log, width)), grid, f"log {self.mark}"]
        whose = [*days_and_party(log, width), f"grid: {grid_words(survey.frame)}", f"log {self.mark}"]
        return [
            Sentence(
                f"{title} {lies}",
                Face.BOLD,
                # Crosses at the corners of a map speak for themselves.
                shorter=(title, brief) if lies == _LIES else (f"{brief} {lies}",),
            ),
            Sentence(SKETCH, Face.SEMIBOLD, caution=True),
            Sentence(f"{' · '.join(whose)}.", shorter=(f"{' · '.join(short)}.",), caution=True),
            *(Sentence(words, caution=True) for words in noticed),
            Sentence(accuracy(log, survey)),
            *(self._carried() if section else ()),
            *(self._not_shown() if section else ()),
            *(self._guessed() if section else ()),
            *self._square(),
            *([Sentence(traces_too_short(self.short_traces))] if self.short_traces else []),
            *(Sentence(one) for one in (interpretation(log, section=bool(self.geology.sections)),) if one),
        ]

    def _list(self, left: Sequence[Sentence]) -> Page:
        """What found no room on a film that lies on its handout, on one that lies on none."""
        paper = self.one.paper
        frame = self._margins(paper)
        head = self._head(_LIST.lower(), frame)
        _, block = _set(left, frame.width)
        items = (
            *head.at(frame.x, frame.top),
            *block.at(frame.x, frame.top - head.height),
            *self._cautions(paper.width, sheet=1),
        )
        return Page(width_mm=paper.width, height_mm=paper.height, items=items, title=_LIST)

    def _carried(self) -> Iterator[Sentence]:
        """What of a section stands beside its station on the handout, which has its stations square to the line."""
        for section in self.geology.sections:
            if section.projection is not Projection.SQUARE:
                way = "along strike" if section.projection is Projection.STRIKE else "down the fold axis"
                name = f"Section {section_name(section.name)}: readings"
                yield Sentence(
                    f"{name} and contacts are carried {way}, the stations of the exercise sheet square.",
                    shorter=(f"{name} carried {way}, stations square.",),
                    caution=True,
                )

    def _not_shown(self) -> Iterator[Sentence]:
        """What nobody sees to be missing on the sections."""
        for section in self.geology.sections:
            for brief in section_briefs(section):
                yield Sentence(f"Section {section_name(section.name)}: {brief}.", caution=True)

    def _guessed(self) -> Iterator[Sentence]:
        """By how much the heights of its sections may be off where nobody walked, and where units have no edges for it."""
        lengths = self.log.lengths
        for cut in self.trav.ground.cuts:
            sd_m, over_m = cut.section.ground_sd_m, cut.white_over_m
            if sd_m is not None:
                brief = f"Section {section_name(cut.section.name)}: ground ± {lengths.printed(sd_m)} where guessed"
                without = (
                    ""
                    if over_m is None
                    else f"; no unit drawn where over ± {lengths.printed(over_m)} across the beds"
                )
                yield Sentence(f"{brief}{without}.", shorter=(f"{brief}.",), caution=True)

    def _square(self) -> Iterator[Sentence]:
        """What the maps draw square to the walk, as the line under those of the key says it."""
        forms = drawn_square(self.square)
        if forms:
            yield Sentence(forms[0], shorter=forms[1:])


def _things(items: Iterable[Item]) -> Iterator[Group]:
    """Signs of what was noticed, such as hazards, each by itself: no figure of a film may cover one."""
    for group in _groups(items):
        if group.layer is Layer.THINGS:
            yield from (Group(items=(one,)) for one in group.items if isinstance(one, Path) and one.fill)


def _groups(items: Iterable[Item]) -> Iterator[Group]:
    """Every group, wherever it lies."""
    for item in items:
        if isinstance(item, Group):
            yield item
            yield from _groups(item.items)


def _printed_below(
    words: Sequence[Sentence], beneath: Sequence[Text]
) -> tuple[tuple[Item, ...], list[Sentence]]:
    """The cautions that the handout prints too, as it does and under its heading; and the others."""
    printed: list[Item] = []
    others: list[Sentence] = []
    for one in words:
        found = _run(one.text, beneath) if one.caution else ()
        printed += [replace(text, halo=None) for text in found]
        others += [] if found else [one]
    if printed:
        heads = (text for text in beneath if text.text in LIMITS_HEADS)
        printed = [*(replace(text, halo=None) for text in heads), *printed]
    return tuple(printed), others


def _run(words: str, texts: Sequence[Text]) -> tuple[Text, ...]:
    """The texts in a row that are a sentence, set in lines; none where there are none."""
    for start, first in enumerate(texts):
        rest, end = words, start
        while first.text and rest and end < len(texts) and rest.startswith(texts[end].text):
            rest = rest[len(texts[end].text) :].lstrip()
            end += 1
        if not rest and end > start:
            return tuple(texts[start:end])
    return ()


def _least(words: Sequence[Sentence]) -> list[Sentence]:
    """Each in its shortest form."""
    return [replace(one, text=one.told[-1]) for one in words]


def _run_on(words: Sequence[Sentence]) -> list[Sentence]:
    """Those of one face in one paragraph: it takes fewer lines."""
    return [
        Sentence(" ".join(one.text for one in there), face)
        for face, there in groupby(words, key=lambda one: one.face)
    ]


def _in_blocks(words: Sequence[Sentence], called: str) -> Iterator[list[Sequence[Sentence]]]:
    """The sentences in two blocks, then in three, as many as may be in the first: each further one says what it is of.

    Apart from each other and without that, sentences would seem to be said of what they stand beside.
    """
    head = Sentence(f"{capital(called)}, further:", Face.BOLD)
    inner = range(len(words) - 1, 0, -1)
    for first in inner:
        yield [words[:first], [head, *words[first:]]]
    for first in inner:
        for second in range(len(words) - 1, first, -1):
            yield [words[:first], [head, *words[first:second]], [head, *words[second:]]]


def _widths(page: float) -> list[float]:
    return [page, *(one for one in _WIDTHS_MM if one < page)]


def _set(sentences: Iterable[Sentence], width: float) -> tuple[float, Block]:
    """Paragraphs in lines below each other, and how wide they are set."""
    items: list[Item] = []
    y = -_FIRST_MM
    for one in sentences:
        y = set_lines(items, wrap(one.text, one.face, SMALL, width), y=y, face=one.face)
    return width, Block(items=tuple(items), height=_TAILS_MM - y - line_mm(SMALL))


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
