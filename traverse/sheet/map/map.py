"""The map panel: band, contacts, legs, attitudes, stations and things, with grid, norths and neat line."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import takewhile
from typing import TYPE_CHECKING

import numpy as np
import shapely

from traverse.diagnostic import Diagnostic, note, warning
from traverse.ground.records import Traverse
from traverse.location.records import PlaceKind, Survey
from traverse.log.items import Address
from traverse.log.readings import North
from traverse.record import record
from traverse.shapes import points_of
from traverse.sheet.map.attitudes import led_figure, plot_attitudes
from traverse.sheet.map.axial_trace import draw_trace
from traverse.sheet.map.contacts import NARROW_MM, Figure, draw_contact, draw_narrow, unseen_pieces
from traverse.sheet.map.courses import courses_on_page, draw_courses, name_courses
from traverse.sheet.map.framing import Framing, frame_map
from traverse.sheet.map.grid_ticks import grid_crosses, grid_ticks, register_crosses
from traverse.sheet.map.halo import Grounds
from traverse.sheet.map.joined import draw_joins
from traverse.sheet.map.legs import draw_legs, draw_tracks
from traverse.sheet.map.map_signs import CONTROL_SIGN, station_sign
from traverse.sheet.map.map_words import (
    TABLES,
    DrawnSquare,
    beyond_frame,
    drawn_square,
    not_shown,
    note_mm,
    see,
    sighted_beyond,
    stamp,
)
from traverse.sheet.map.north import north_diagram
from traverse.sheet.map.on_page import DrawnArea, DrawnBand, band_on_page, laid_ground, outline, rim
from traverse.sheet.map.section_line import draw_section_line, letter_ends
from traverse.sheet.map.station_names import name_stations, named_together
from traverse.sheet.map.things import place_things, things_of
from traverse.sheet.map.unit_letters import letter_areas, lettered
from traverse.sheet.paper.growing import GrowingBoxes
from traverse.sheet.paper.labels import (
    Apart,
    Taken,
    ground_of,
    label,
    shape_of_text,
    shapes_in,
    text_size,
    thinned,
)
from traverse.sheet.paper.layers import Layer
from traverse.sheet.paper.page import Box, Command, Face, Group, Item, Path, Point, Text, polyline, rectangle
from traverse.sheet.paper.style import COVERED, PENS, SMALL, WHITE, UnitStyle
from traverse.sheet.paper.window import Window, on_paper, round_scales
from traverse.sheet.paper.words import number
from traverse.sheet.said.sentences import open_walk
from traverse.sheet.said.stops import carried_on, gather
from traverse.sheet.signs.shown import icons_named
from traverse.sheet.signs.symbols import PARTY_SIGNS, symbol
from traverse.source import Span
from traverse.trade import PRINTS_LEVEL_DEG
from traverse.wording import listed

if TYPE_CHECKING:
    from traverse.sheet.map.contours import GroundDrawing

_LETTER_BEYOND_MM = 3.0
_LETTER_CLEAR_MM = 0.5
"""Air about a letter at an end of the section line."""
_NOTE_IN_MM = 1.5
_MANY_STATIONS = 80
_DOTS_MM = 1.6
"""On a crowded map dots stand this far apart at least: half a millimetre of paper between them."""
_FIGURE_CELL_MM = 10.0
_FIGURES_IN_CELL = 9
"""Figures that are tried in a cell; fewer have room there."""
_NAMED_AT_MOST = 10
"""Names listed in a message before it only counts."""


@record(frozen=True, slots=True, kw_only=True)
class MapDrawing:
    """The map, the signs on it and what could not be drawn."""

    items: tuple[Item, ...]
    signs: tuple[str, ...]
    diagnostics: tuple[Diagnostic, ...]
    window: Window
    square: DrawnSquare
    short_traces: int
    """Axial traces that are not drawn, as their pieces are too short on this paper."""
    left: Mapping[str, tuple[str, ...]]
    """Attitudes and things that found no room, with where they are, by the words before them."""


def has_map(survey: Survey) -> bool:
    """Whether anything has a place."""
    return bool(survey.places)


def map_panel(
    trav: Traverse,
    *,
    box: Box,
    scale: int,
    styles: Mapping[str, UnitStyle],
    framing: Framing | None = None,
    name: str = "the map",
    over: Sequence[Item] = (),
    register: Box | None = None,
    beneath: Sequence[Item] | None = None,
    elsewhere: str = "",
    told_in: str = TABLES,
) -> MapDrawing:
    """The map inside its neat line, and the coordinates along it; `framing` where the layout has laid the window.

    `name` is what messages call it. Labels keep off what will be drawn `over` it. Register crosses keep within
    `register`. `elsewhere` tells where sections stand that it has the lines of, or that its scale is kept small. On a film, figures and letters keep off the words and signs that stand `beneath` it, which has all names and things.
    `told_in` says where what finds no room is listed, if anywhere.
    """
    framing = framing or frame_map(trav, box=box, scale=scale, note=note_mm(trav))
    drawn = _Map(trav, framing, styles, name, register, beneath)
    drawn.elsewhere, drawn.told_in = elsewhere, told_in
    drawn.keep_off(over)
    return drawn.draw()


class _Map:
    """One map while it is drawn; the layers are filled in the order in which labels want the room."""

    def __init__(
        self,
        trav: Traverse,
        framing: Framing,
        styles: Mapping[str, UnitStyle],
        name: str,
        register: Box | None,
        beneath: Sequence[Item] | None,
    ) -> None:
        self.name = name
        self.beneath = beneath
        self.register = register
        self.trav = trav
        self.log = trav.log
        self.survey = trav.survey
        self.geology = trav.geology
        self.ground = laid_ground(trav)
        self.framing = framing
        self.window = framing.window
        self.styles = styles
        self.taken = Taken(self.window.box.inset(0.8))
        self.signs: dict[str, None] = {}
        self.said: list[Diagnostic] = []
        self.left: dict[str, list[str]] = {}
        """Attitudes and things that found no room, with where they are."""
        self.elsewhere, self.told_in = "", TABLES
        self.short_traces = 0
        """Axial traces whose pieces are too short on this paper."""
        self.alike = 0
        """Readings that were left off, since another party's beside them says the same."""
        self.shared = ""
        """What a name that several stations have stands for, by the first of them."""
        self.square: dict[Span, Address] = {}
        self.along = False
        self.level = False
        """Contacts drawn square to the walk, since nothing tells how they strike."""
        self.square_bodies: list[str] = []
        self.layers: dict[Layer, list[Item]] = {name: [] for name in _LAYERS}
        self.controls: list[Item] = []
        """Their triangles, which are filled and would hide the tick of a bar: bars are drawn over them."""
        self.band: DrawnBand | None = None
        self.grounds = Grounds((), styles)
        self.numbered: set[str] = set()
        self.numbers = GrowingBoxes()
        """Where numbers of stations stand."""
        places = ((name, self.window.at(one.east_m, one.north_m)) for name, one in trav.survey.places.items())
        self.points = {name: at for name, at in places if self.window.shows(at)}
        """Stations that the window shows."""
        self.aside = {
            name: (PARTY_SIGNS[walk.party % len(PARTY_SIGNS)], at)
            for walk in trav.survey.aside
            for name, place in walk.places.items()
            if self.window.shows(at := self.window.at(*place))
        }
        """Stations of parties that are left out, with their signs."""
        self.addresses = self._addresses()
        self.taken.keep_leaders_off(list(self.addresses.values()))
        """Those of them that are drawn."""

    def _addresses(self) -> dict[str, Point]:
        """Stations far enough apart for their dots, the chief ones first; in a swarm dots would make one black patch."""
        if len(self.points) <= _MANY_STATIONS:
            return self.points
        apart = Apart(_DOTS_MM)
        chief = set(self._milestones(self.points))
        kept = {name for name in self.points if name in chief and apart.add(self.points[name])}
        # A control, a side shot or a landmark has a sign of its own, and is drawn in any case.
        kept |= {name for name in self.points if self.survey.places[name].kind is not PlaceKind.WALKED}
        kept |= {name for name in self.points if name not in chief and apart.add(self.points[name])}
        return {name: at for name, at in self.points.items() if name in kept}

    def keep_off(self, items: Sequence[Item]) -> None:
        """Set no label on a text that comes over the map nor in a group, and as few as may be on a line."""
        for item in items:
            if isinstance(item, Group):
                self.taken.block(ground_of(item))
            elif isinstance(item, Text):
                self.taken.block(shape_of_text(item))
            else:
                self.taken.discourage(*shapes_in([item]))

    def draw(self) -> MapDrawing:
        box = self.window.box
        norths = north_diagram(self.survey.frame, self.framing.norths)
        self.taken.block_box(self.framing.norths)
        self._areas()
        heights = self._ground()
        figures = [*self._axial_traces(), *self._contacts()]
        self._legs()
        self._sections()
        self._waters()
        figures = [*self._attitudes(), *figures]
        self._stations()
        # After the signs, which stand on a film where they do on the key.
        self.keep_off(self.beneath or ())
        film = self.beneath is not None
        crowded = len(self.points) > _MANY_STATIONS and not film
        if crowded:
            # No ground is left without its letter, and some numbers come before all figures, or nobody finds the way.
            self._letters()
            self._numbers(self._milestones(self.addresses))
        self._figures(figures)
        if not film:
            self._section_letters()
            self._names()
            self._units_apart()
            self._stations_aside()
        else:
            self._names_of_film()
        if not crowded:
            self._letters()
        if not film:
            self._things()
            self._heights(heights)
        self._stamp()
        crosses = grid_crosses(self.window, lambda at: self.taken.clear(at, 1.6))
        drawn = list(self.layers.items())
        drawn.insert(_LAYERS.index(Layer.ATTITUDES), (Layer.STATIONS, self.controls))
        inside = [
            Group(items=tuple(items), layer=name, clip=rectangle(box)) for name, items in drawn if items
        ]
        frame: tuple[Item, ...] = (
            Path(commands=rectangle(box), pen=PENS["neat line"]),
            *grid_ticks(self.window),
            *register_crosses(box, self.register),
            *self._not_shown(),
        )
        plate = [] if self.framing.fits else [Path(commands=rectangle(self.framing.norths), fill=WHITE)]
        return MapDrawing(
            items=(
                Group(items=crosses, layer=Layer.GRID),
                *inside,
                Group(items=(*plate, *norths), layer=Layer.NORTHS),
                Group(items=frame, layer=Layer.GRID),
            ),
            signs=tuple(self.signs),
            diagnostics=tuple(self.said),
            window=self.window,
            square=self._drawn_square(),
            short_traces=self.short_traces,
            left={what: tuple(names) for what, names in self.left.items() if names},
        )

    def _areas(self) -> None:
        if self.ground.band is None:
            return
        band = self.band = band_on_page(self.ground.band, self.window)
        self.grounds = Grounds([area for area in band.areas if not area.covered], self.styles)
        for area in band.areas:
            commands = _outlines(area)
            if area.covered:
                self.layers[Layer.UNITS].append(Path(commands=commands, fill=COVERED))
                self._sign("covered")
            elif area.unit is not None and area.unit in self.styles:
                self.layers[Layer.UNITS].append(
                    Path(commands=commands, fill=self.styles[area.unit].colour, unit=area.unit)
                )
        self.layers[Layer.EDGE].append(Path(commands=outline(band.edge), pen=PENS["edge of ground seen"]))
        # A halo that runs over the edge colours white paper.
        self.taken.discourage(*rim(band.edge))
        self._sign("edge of ground seen")

    def _sign(self, *names: str) -> None:
        self.signs.update(dict.fromkeys(names))

    def _contacts(self) -> list[Figure]:
        figures: list[Figure] = []
        if self.band is None:
            return figures
        between = draw_joins(self.trav.ground.joins, self.window, self.band.edge)
        self.layers[Layer.COMPUTED_TRACES] += between.items
        self._sign(*between.signs)
        self.taken.discourage(between.obstacle)
        for one in self.band.narrow:
            if one.body.unit in self.styles:
                self.layers[Layer.CONTACTS] += draw_narrow(one, self.styles[one.body.unit].colour)
                self.taken.block(one.line.buffer(NARROW_MM, quad_segs=1))
                if one.body.strike_deg is None:
                    self.square_bodies.append(one.body.unit)
        for line in self.band.unseen:
            # Nobody booked a contact there: that there is one is inferred from what lies to either side.
            pieces, doubts = unseen_pieces(line)
            self.layers[Layer.CONTACTS] += [
                Path(commands=polyline(points_of(piece)), pen=PENS["contact inferred"]) for piece in pieces
            ]
            self.layers[Layer.FIGURES] += [
                label("?", at, face=Face.ITALIC, size_pt=SMALL, halo=(self.grounds.colour(at), 0.1))
                for at in doubts
            ]
            self._sign("contact inferred", "queried")
            self.taken.block(line.buffer(0.43, quad_segs=1))
        # What a body lacks is said of it once.
        of_bodies = {
            wall.booked.span for body in self.geology.bodies if body.without_strike for wall in body.walls
        }
        numbers = gather(self.trav).contact_numbers
        for crossed in self.band.contacts:
            down = crossed.contact.booked.down
            drawing = draw_contact(
                crossed,
                self.window,
                down_true_deg=None
                if down is None
                else down.azimuth_deg + self._to_true(crossed.contact.booked.conditions.bearings),
            )
            self.layers[Layer.CONTACTS] += drawing.items
            self._sign(*drawing.signs)
            self.taken.block(drawing.obstacle)
            figures += drawing.figures
            self.layers[Layer.FIGURES] += [
                # Between two colours a wide halo of either would look like a hole in the other.
                label("?", at, face=Face.ITALIC, size_pt=SMALL, halo=(self.grounds.colour(at), 0.1))
                for at in drawing.doubts
                if self.window.shows(at)
            ]
            if not crossed.course_known and crossed.contact.booked.span not in of_bodies:
                number_of = numbers.get(crossed.contact.booked.span)
                if crossed.beside is None and number_of is not None:
                    # No number stands on the map itself: a contact is found there by its leg.
                    self.square[crossed.contact.booked.span] = crossed.contact.booked.address
                    self.along |= crossed.contact.course_deg is not None
                    dip_deg = crossed.contact.dip_deg
                    self.level |= dip_deg is not None and dip_deg < PRINTS_LEVEL_DEG
                self.said.append(
                    note(
                        "contact-without-course",
                        "on this slope the strike does not tell to 30° how this contact runs; drawn short"
                        if crossed.contact.course_deg is not None and crossed.beside is None
                        else "no attitude near this contact tells how it runs; drawn "
                        + ("square to the leg" if crossed.beside is None else "along the leg"),
                        crossed.contact.booked.span,
                        "give the attitude of the contact on its line, or of a bed near it",
                    )
                )
        return figures

    def _ground(self) -> GroundDrawing | None:
        ground = self.trav.ground
        if ground.terrain is None:
            return None
        # Imported here, since few logs have heights.
        from traverse.sheet.map.contours import draw_ground

        drawing = draw_ground(
            ground.terrain,
            ground.outcrops,
            self.window,
            self.band.edge if self.band is not None else None,
            lengths=self.log.lengths,
            norths=self.framing.norths,
        )
        self.layers[Layer.CONTOURS] += [*drawing.bands, *drawing.contours]
        self.layers[Layer.PROJECTED_TRACES] += drawing.traces
        self.taken.discourage(*shapes_in(drawing.traces, by=0.2))
        self._sign(*drawing.signs)
        return drawing

    def _heights(self, drawing: GroundDrawing | None) -> None:
        """What the contours are, along the edge of the map, and heights on them where there is still room."""
        if drawing is None:
            return
        from traverse.sheet.map.contours import place_heights

        if drawing.words:
            box = self.window.box
            size = text_size(drawing.words, Face.ITALIC, SMALL)
            first, last = box.x + size[0] / 2 + 3.0, box.right - size[0] / 2 - 3.0
            along = [first, *np.arange(first, last, 5.0).tolist(), last] if first < last else []
            # Corners first, then anywhere along the lower and the upper edge.
            along.sort(key=lambda x: min(x - first, last - x))
            rows = (box.y + 3.0, box.top - 3.0, box.y + 6.5, box.top - 6.5)
            centre = self.taken.first([(x, y) for y in rows for x in along], size) if along else None
            if centre is None:
                self._no_room(f"a note found no room on {self.name}: {drawing.words}")
            else:
                self.layers[Layer.CONTOUR_FIGURES].append(
                    label(drawing.words, centre, face=Face.ITALIC, size_pt=SMALL, halo=(WHITE, 0.5))
                )
        edge = self.band.edge if self.band is not None else None
        self.layers[Layer.CONTOUR_FIGURES] += place_heights(drawing.figures, self.taken, edge)

    def _axial_traces(self) -> list[Figure]:
        figures: list[Figure] = []
        for fold in self.ground.folds:
            trace = draw_trace(fold, self.window)
            if trace is None:
                continue
            if not trace.items:
                self.short_traces += 1
                continue
            self.layers[Layer.AXIAL_TRACES] += trace.items
            self._sign(*trace.signs)
            self.taken.block(trace.obstacle)
            figures += [trace.figure] if trace.figure is not None else []
        return figures

    def _to_true(self, north: North | None) -> float:
        frame = self.survey.frame
        if north is North.MAGNETIC:
            return frame.declination_deg or 0.0
        return frame.convergence_deg or 0.0 if north is North.GRID else 0.0

    def _legs(self) -> None:
        tracks = draw_tracks(self.survey, self.window)
        if tracks:
            self.layers[Layer.LEGS] += tracks
            self._sign("receiver track")
            self.taken.discourage(*shapes_in(tracks))
        legs = draw_legs(self.survey, self.window, self.geology.open_parties)
        self.layers[Layer.LEGS] += legs.items
        self._sign(*legs.signs)
        self.taken.block(*legs.shapes)

    def _sections(self) -> None:
        for section in self.geology.sections:
            items, shapes = draw_section_line(section, self.window, self.addresses.values())
            self.layers[Layer.SECTION_LINES] += items
            for shape in shapes:
                self.taken.block(shape)
            self._sign(*(("section line",) if items else ()))

    def _section_letters(self) -> None:
        for section in self.geology.sections:
            self.layers[Layer.SECTION_LINES] += letter_ends(section, self.window, self.taken)

    def _waters(self) -> None:
        self.courses = courses_on_page(self.ground.courses, self.window)
        items, signs = draw_courses(self.courses, self.window)
        self.layers[Layer.COURSES] += items
        self._sign(*signs)
        # Arrowheads are kept whole; of a line, a label covers a piece if it must.
        heads = [one for one in items if isinstance(one, Path) and one.fill is not None]
        self.taken.block(*shapes_in(heads))
        self.taken.discourage(*shapes_in([one for one in items if one not in heads]))
        for course in self.courses:
            self.taken.discourage(course.line.buffer(0.3, quad_segs=1))

    def _attitudes(self) -> list[Figure]:
        if self.addresses:
            self.taken.block(*shapely.buffer(shapely.points(list(self.addresses.values())), 0.8, quad_segs=2))
        plotted = plot_attitudes(
            self.geology,
            self.window,
            self.taken,
            streams=[one.line for one in self.courses],
            of_others=self.log.of_two_parties if self.log.party_letters else None,
        )
        self.layers[Layer.ATTITUDES] += plotted.items
        self._sign(*plotted.signs)
        self._left_off("reading", "readings", plotted.left)
        self.left["attitudes at"] = list(plotted.left)
        self.alike = plotted.alike
        return list(plotted.figures)

    def _stations(self) -> None:
        self._left_off("station", "stations", [name for name in self.points if name not in self.addresses])
        for name, at in self.addresses.items():
            sign = station_sign(self.log, name, self.survey.places[name].kind)
            shapes = symbol(sign, at)
            (self.controls if sign == CONTROL_SIGN else self.layers[Layer.STATIONS]).extend(shapes)
            self._sign(sign)
            if sign not in PARTY_SIGNS:
                # A number that leans on a triangle reads as part of it.
                self.taken.block(*shapes_in(shapes, by=0.5))

    def _units_apart(self) -> None:
        """Both letters where parties put one place in different units."""
        places = []
        for place in self.geology.shared_places:
            at = next((self.points[name] for name in place.stations if name in self.points), None)
            places += [] if at is None else [(f"{'/'.join(place.letters)}?", at)]
        named = name_stations(places, _middle(self.points.values()), self.taken, self.grounds, self.numbers)
        self.layers[Layer.NAMES] += named.items
        self._left_off("pair of letters", "pairs of letters", named.left)

    def _stations_aside(self) -> None:
        """Of parties that are left out; what is named of the others has the room first."""
        for sign, at in self.aside.values():
            self.layers[Layer.STATIONS] += symbol(sign, at)
            self._sign(sign)
        others = set(self.points.values())
        places = [(name, at) for name, (_, at) in self.aside.items() if at not in others]
        named = name_stations(places, _middle(self.points.values()), self.taken, self.grounds, self.numbers)
        self.layers[Layer.NAMES] += named.items

    def _figures(self, figures: Sequence[Figure]) -> None:
        left: list[str] = []
        figures = [one for one in figures if self.window.shows(one.centres[0])]
        stands = [figure.centres[0] for figure in figures]
        tried = set(thinned(stands, cell_mm=_FIGURE_CELL_MM, most=_FIGURES_IN_CELL))
        for index, figure in enumerate(figures):
            size = text_size(figure.text, Face.ITALIC, SMALL)
            centre = self.taken.first(figure.centres, size) if index in tried else None
            if centre is None and index in tried:
                centre, leader = led_figure(figure, size, self.taken)
                self.layers[Layer.FIGURES] += leader
            if centre is None:
                left.append(figure.name)
                continue
            self.layers[Layer.FIGURES].append(
                label(
                    figure.text,
                    centre,
                    face=Face.ITALIC,
                    size_pt=SMALL,
                    halo=self.grounds.halo(centre, size),
                )
            )
        self._left_off("figure of dip", "figures of dip", left)
        self.left["dip figures at"] = left

    def _letters(self) -> None:
        if self.band is None:
            return
        areas = [
            *(area for area in self.band.areas if not area.covered),
            *(lettered(one, self.log.lengths) for one in self.band.narrow),
        ]
        letters = letter_areas(areas, self.band.edge, self.taken, self.grounds)
        self.layers[Layer.UNIT_LETTERS] += letters.items
        self._left_off("unit letter", "unit letters", letters.left)

    def _names(self) -> None:
        self._numbers([name for name in self.addresses if name not in self.numbered])
        self._left_off(
            "station name",
            "station names",
            [name for name in self.points if name not in self.numbered],
        )

    def _things(self) -> None:
        edge = self.band.edge if self.band is not None else None
        middle = _middle(self.points.values())
        found = things_of(self.log, self.geology, self.window)
        # A thing can stand anywhere about its place, the name of a stream along it alone.
        names, left = name_courses(self.courses, self.window, self.taken, avoid=edge)
        self.layers[Layer.COURSES] += names
        self._left_off("name of a line of the ground", "names of lines of the ground", left)
        things = place_things(found, edge, middle, self.taken, self.grounds)
        self.layers[Layer.THINGS] += things.items
        self._sign(*things.signs)
        self._left_off(icons_named(), icons_named("s"), things.left)
        self.left[""] = list(things.left)

    def _not_shown(self) -> list[Text]:
        """What is not on this map, under the neat line; or on white along its lower edge, where no line was kept free."""
        box = self.window.box
        kept = self.framing.note_mm
        width = self.trav.ground.width if self.band is not None else None
        sighted = sighted_beyond(self.trav, self.points)
        words = not_shown(
            box if kept else box.inset(_NOTE_IN_MM),
            self.left,
            width,
            self.log.lengths,
            beyond=" ".join(filter(None, (beyond_frame(self.trav, self.window), sighted))),
            alike=self.alike,
            shared=self.shared,
            square=drawn_square(self._drawn_square()),
            carried=carried_on(self.geology) if kept else (),
            elsewhere=self.elsewhere,
            told_in=self.told_in,
            short_traces=self.short_traces,
        )
        if words is None:
            return []
        return [words] if kept else [replace(words, at=(words.at[0], box.y + _NOTE_IN_MM), halo=WHITE)]

    def _drawn_square(self) -> DrawnSquare:
        bodies = tuple(dict.fromkeys(self.square_bodies))
        return DrawnSquare(self.square, bodies, along=self.along, level=self.level)

    def _milestones(self, names: Iterable[str]) -> list[str]:
        """Of some stations the controls, and those that are every tenth or the last of the walk."""
        places = self.survey.places
        tenth = set(list(places)[::10]) | set(list(places)[-1:])
        return [name for name in names if name in tenth or places[name].kind is PlaceKind.CONTROL]

    def _numbers(self, names: Sequence[str]) -> None:
        middle = _middle(self.points.values())
        shared = named_together([(name, self.points[name]) for name in names], self.log)
        named = name_stations(
            [(one.words, one.at) for one in shared], middle, self.taken, self.grounds, self.numbers
        )
        self.layers[Layer.NAMES] += named.items
        printed = [one for one in shared if one.words not in named.left]
        self.numbered.update(name for one in printed for name in one.stations)
        several = next((one for one in printed if len(one.stations) > 1), None)
        if several is not None and not self.shared:
            self.shared = f"{several.words}: {listed(several.stations)}, on each other."

    def _names_of_film(self) -> None:
        """The numbers of a handout that signs of its film come to lie on, again beside them, and those of readings that it leaves off.

        The handout can't keep its numbers off those signs: the gaps would tell where they are.
        """
        drawn = (item for layer in _STRIKE_OUT for item in self.layers[layer])
        struck = shapely.union_all(shapes_in(drawn, by=0.0))
        shapely.prepare(struck)
        numbers = (
            one
            for one in self.beneath or ()
            if isinstance(one, Text) and one.face is Face.BOLD and self.window.shows(one.at)
        )
        legible: dict[str, bool] = {}
        for one in numbers:
            ink = struck.intersection(shape_of_text(one).buffer(-_EDGE_MM)).area
            legible[one.text] = legible.get(one.text, True) and ink < _STRUCK_MM2
        names = [
            one
            for one in named_together(list(self.addresses.items()), self.log)
            if not legible.get(one.words, not self._read_at(one.stations))
        ]
        self._numbers([station for one in names for station in one.stations])

    def _read_at(self, stations: tuple[str, ...]) -> bool:
        return any(one.booked.address.station in stations for one in self.geology.attitudes)

    def _stamp(self) -> None:
        words = open_walk(self.log, self.survey)
        if words is not None:
            edge = self.band.edge if self.band is not None else None
            self.layers[Layer.STAMP] += stamp(words, edge, self.taken)

    def _left_off(self, one: str, many: str, names: Iterable[str]) -> None:
        """Tell what found no place."""
        names = list(names)
        if not names:
            return
        rest = len(names) - _NAMED_AT_MOST
        said = listed(names) if rest <= 0 else ", ".join(names[:-rest]) + f" and {number(rest)} more"
        what = one if len(names) == 1 else many
        self._no_room(f"{number(len(names))} {what} found no room on {self.name}{see(self.told_in)}: {said}")

    def _no_room(self, message: str) -> None:
        self.said.append(
            warning(
                "no-room-on-map",
                message,
                self.log.heading.sheet.span,
                self._more_room(),
            )
        )

    def _more_room(self) -> str:
        """What a person can do about it: a larger paper; a larger scale, on several maps if need be."""
        larger = takewhile(lambda one: one < self.window.scale, round_scales(feet=self.log.lengths.in_feet))
        scale = max(larger, default=None)
        if scale is None:
            return "a larger paper has more room: `sheet paper A3`"
        return (
            f"a larger scale has more room, on several maps if it must be: `sheet scale 1:{on_paper(scale)}`"
        )


_STRIKE_OUT = (Layer.AXIAL_TRACES, Layer.CONTACTS, Layer.ATTITUDES)
"""What makes a number beneath it hard to read."""
_STRUCK_MM2, _EDGE_MM = 0.2, 0.35
"""So much ink over a number, such as a strike bar through it; a sign that only touches its edge leaves it legible."""
_LAYERS = (
    Layer.CONTOURS,
    Layer.UNITS,
    Layer.COURSES,
    Layer.PROJECTED_TRACES,
    Layer.COMPUTED_TRACES,
    Layer.AXIAL_TRACES,
    Layer.EDGE,
    Layer.CONTACTS,
    Layer.LEGS,
    Layer.SECTION_LINES,
    Layer.ATTITUDES,
    Layer.STATIONS,
    Layer.THINGS,
    Layer.CONTOUR_FIGURES,
    Layer.FIGURES,
    Layer.UNIT_LETTERS,
    Layer.NAMES,
    Layer.STAMP,
)
"""In the order of drawing."""


def _outlines(area: DrawnArea) -> tuple[Command, ...]:
    return tuple(command for part in area.parts for command in outline(part))


def _middle(points: Iterable[Point]) -> Point:
    """Middle of the points' extent."""
    points = list(points)
    if not points:
        return (0.0, 0.0)
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
