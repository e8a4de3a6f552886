"""The words that a map of raw readings is stamped with, and the line under the neat line: what is not on the map."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from traverse.angle import wrap_360
from traverse.ground.records import BandWidth, Traverse
from traverse.length import Lengths
from traverse.location.records import PlaceKind
from traverse.log.items import Address
from traverse.record import record
from traverse.sheet.map.on_page import frame_of
from traverse.sheet.paper.fonts import width_mm
from traverse.sheet.paper.growing import shapes_of
from traverse.sheet.paper.labels import Taken, boxes_at, label, text_size
from traverse.sheet.paper.look import look_in_force
from traverse.sheet.paper.page import Box, Face, Point, Text
from traverse.sheet.paper.style import LARGE, SMALL, TITLE
from traverse.sheet.paper.window import NOTE_MM, Window
from traverse.sheet.paper.words import NO_BREAK, azimuth, cut, leg_name, number, plain
from traverse.sheet.signs.shown import icon_of
from traverse.source import Span
from traverse.trade import SAME_OUTCROP_DEG
from traverse.wording import listed

TABLES = "the tables"
"""Where all that a map has no room for stands."""
_SIZES_PT = (TITLE, 14.0, LARGE)
_IN_MM = 2.0
"""From the frame."""
_STEPS = 50
"""Places tried along each side of the map at most."""


def stamp(words: str, walked: BaseGeometry | None, taken: Taken) -> list[Text]:
    """`words` as large as there is room for beside the ground that was walked; none where there is none."""
    frame = taken.frame
    for size_pt in _SIZES_PT:
        size = text_size(words, Face.BOLD, size_pt)
        wide, high = frame.width - size[0] - 2 * _IN_MM, frame.height - size[1] - 2 * _IN_MM
        if wide < 0.0 or high < 0.0:
            continue
        columns = np.arange(0.0, wide + 1e-9, max(4.0, wide / _STEPS))
        rows = np.arange(0.0, high + 1e-9, max(3.0, high / _STEPS))
        corners = np.stack(np.meshgrid(columns, -rows), axis=-1).reshape(-1, 2)
        centres = corners + np.array([frame.x + _IN_MM + size[0] / 2, frame.top - _IN_MM - size[1] / 2])
        if walked is not None:
            shapely.prepare(walked)
            centres = centres[~shapely.intersects(walked, shapes_of(boxes_at(centres, size)))]
        centre = taken.first([(float(x), float(y)) for x, y in centres], size)
        if centre is not None:
            return [label(words, centre, face=Face.BOLD, size_pt=size_pt)]
    return []


_FEW = 40
"""Readings and things that a map has room for; of fewer one may be left over all the same, and is told inside it."""
_BASE_MM = 2.5
"""Base of the line below the neat line."""
_NAMED = 5
"""Of more stations their number is told."""
_NAME_MM = 1.0
"""Less than the least name with the comma and the blank after it."""
_IN_MM = 1.0
"""Its first letter stands clear of the register cross."""


def note_mm(trav: Traverse) -> float:
    """Height of the line: none where the width of the ground was booked, little stands on the map, and all of it is known."""
    things = [one for one in trav.geology.things if icon_of(one.record, toward=False) is not None]
    shown = len(trav.geology.attitudes) + len(things)
    joined = {span for one in trav.ground.joins for span in one.ends}
    square = any(one.course_deg is None and one.booked.span not in joined for one in trav.geology.contacts)
    band = None if trav.ground.map is None else trav.ground.map.band
    square |= band is not None and any(not one.course_known for one in band.crossed)
    sighted = any(one.kind is PlaceKind.SIGHTED for one in trav.survey.places.values())
    # Of a sheet to hang up it tells which scale would fill it, where the log fixes one.
    fixed = look_in_force().grown > 1.0 and trav.log.heading.sheet.scale is not None
    # Where sections stand that have no room on the sheet.
    several = len(trav.geology.sections) > 1
    told = square or trav.survey.aside or trav.survey.apart or sighted or fixed or several
    room = trav.ground.width.asked and shown <= _FEW and not told
    return 0.0 if room else NOTE_MM


def sighted_beyond(trav: Traverse, points: Mapping[str, Point]) -> str:
    """The way to each known point that was sighted and is not drawn, from the nearest of the stations that are.

    `Spire, seen and not on this map: 014° true, 1.2 km from RF.`
    """
    seen = {
        **trav.survey.apart,
        **{
            name: (place.east_m, place.north_m)
            for name, place in trav.survey.places.items()
            if place.kind is PlaceKind.SIGHTED and name not in points
        },
    }
    told = []
    for name, (east, north) in seen.items():
        ways = [
            (math.hypot(east - place.east_m, north - place.north_m), station)
            for station, place in trav.survey.places.items()
            if station in points and station != name
        ]
        if not ways:
            continue
        far_m, station = min(ways)
        place = trav.survey.places[station]
        reads = math.degrees(math.atan2(east - place.east_m, north - place.north_m))
        true = azimuth(wrap_360(reads + trav.survey.frame.to_true_deg))
        told.append(
            f"{plain(name)}: {true}° true, {trav.log.lengths.printed(far_m)} from{NO_BREAK}{plain(station)}"
        )
    return f"Seen, not on this map: {'; '.join(told)}." if told else ""


@record(frozen=True, slots=True)
class DrawnSquare:
    """What a map draws short, and mostly square to the walk, since too little tells how it runs on the ground."""

    contacts: Mapping[Span, Address]
    bodies: tuple[str, ...] = ()
    """Letters of narrow bodies."""
    along: bool = False
    """Whether the strike of some is known, and the slope leaves open how they come out there."""
    level: bool = False
    """Whether some were read to lie level: what is not known is how the ground cuts them."""

    def also(self, other: DrawnSquare) -> DrawnSquare:
        """That of two maps, each once."""
        return DrawnSquare(
            {**self.contacts, **other.contacts},
            tuple(dict.fromkeys((*self.bodies, *other.bodies))),
            self.along or other.along,
            self.level or other.level,
        )


def drawn_square(square: DrawnSquare) -> tuple[str, ...]:
    """What is said of it, contacts by the legs they were met on, the fullest first; () without any."""
    places, bodies = tuple(square.contacts.values()), list(map(plain, square.bodies))
    if not places:
        return (f"Strike of {listed(bodies)} not known: drawn square to the walk.",) if bodies else ()
    contacts = "contact" if len(places) == 1 else "contacts"
    legs = list(dict.fromkeys(plain(leg_name(one)) for one in places if one.leg is not None))
    stations = list(dict.fromkeys(plain(one.station) for one in places if one.station is not None))
    where = [
        *([f"on leg{'s' if len(legs) > 1 else ''} {listed(legs)}"] if legs else []),
        *([f"at station{'s' if len(stations) > 1 else ''} {listed(stations)}"] if stations else []),
    ]
    forms = (f"the {contacts} {' and '.join(where)}", f"{number(len(places))} {contacts}")
    what, drawn = (
        ("Trace", "not known to 30°: drawn short")
        if square.along
        else ("Trace" if square.level else "Strike", "not known: drawn square to the walk")
    )
    return tuple(dict.fromkeys(f"{what} of {listed([one, *bodies])} {drawn}." for one in forms))


def beyond_frame(trav: Traverse, window: Window) -> str:
    """How far each walk that is left out goes on where the map does not show it: `B goes on 3000 m beyond the frame`.

    No window is widened for them: where they lie is not known, and feet for metres would make the map of the others a stamp.
    """
    frame = frame_of(window)
    found = []
    for walk in trav.survey.aside:
        on = shapely.MultiLineString(
            [[window.at(*walk.places[start]), window.at(*walk.places[end])] for start, end in walk.legs]
        )
        beyond_m = on.difference(frame).length * window.scale / 1000.0
        if beyond_m >= 1.0:
            letters = trav.log.parties[walk.party].letters or ""
            found.append(f"{letters} goes on {trav.log.lengths.printed(beyond_m)} beyond the frame.")
    return " ".join(found)


def not_shown(
    box: Box,
    left: Mapping[str, Sequence[str]],
    width: BandWidth | None,
    lengths: Lengths,
    *,
    beyond: str = "",
    alike: int = 0,
    shared: str = "",
    square: Sequence[str] = (),
    carried: Sequence[str] = (),
    elsewhere: str = "",
    short_traces: int = 0,
    told_in: str = TABLES,
) -> Text | None:
    """The line, as much of its lists as fits; None where all is shown and the width of the ground was booked.

    `left` is what found no room, by the words before it; `width` is None on a map without a band; `beyond` is what
    `beyond_frame` and `sighted_beyond` say; `square` is what `drawn_square` says; `carried` are the stations whose unit was not
    booked, and `elsewhere` tells on which sheets other sections stand. `alike` counts the readings for which another party's stands beside them; `shared` tells a
    name that several stations have; `short_traces` counts the axial traces that are too short to draw. `told_in` says
    where all of the lists stand, if anywhere.
    """
    parties = []
    parties += [traces_too_short(short_traces)] if short_traces else []
    if alike:
        parties.append(
            f"Left off: {number(alike)} {'reading' if alike == 1 else 'readings'} of other parties,"
            f" within {number(SAME_OUTCROP_DEG)}° of one beside."
        )
    parties += [shared] if shared else []
    parties += [elsewhere] if elsewhere else []
    units = _carried_on(carried)
    wide = ("", "")
    if width is not None and not width.asked:
        half = lengths.printed(width.half_m)
        wide = (f"Ground seen {half} to each side: assumed.", f"Seen to {half}: assumed.")
    lists = {what: _counted(names) for what, names in left.items() if names}
    # More than this many never fit: with thousands left off, each longer list would be set only to be dropped.
    longest = min(max(map(len, lists.values()), default=0), math.ceil(box.width / _NAME_MM))
    last = square[-1] if square else ""
    for most, drawn, unit, assumed in (
        *((count, square[0] if square else "", units[0], wide[0]) for count in range(longest, 0, -1)),
        *((min(longest, 1), one, units[0], wide[0]) for one in square),
        (0, last, units[0], wide[0]),
        *((0, last, one, wide[0]) for one in units[1:]),
        (0, last, units[-1], wide[1]),
        # The legend has it too.
        (0, last, units[-1], ""),
        (-1, last, units[-1], ""),
    ):
        words = " ".join(
            one for one in (drawn, beyond, _listed(lists, most, told_in), *parties, unit, assumed) if one
        )
        if width_mm(words, Face.ITALIC, SMALL) <= box.width - _IN_MM:
            break
    if not words:
        return None
    words = cut(words, Face.ITALIC, SMALL, box.width - _IN_MM)
    return Text(at=(box.x + _IN_MM, box.y - _BASE_MM), text=words, face=Face.ITALIC, size_pt=SMALL)


def traces_too_short(count: int) -> str:
    """Of axial traces that are not drawn.

    >>> traces_too_short(1), traces_too_short(2)
    ('Axial trace too short to draw at this scale.', '2 axial traces too short to draw at this scale.')
    """
    traces = "Axial trace" if count == 1 else f"{number(count)} axial traces"
    return f"{traces} too short to draw at this scale."


def _carried_on(stations: Sequence[str]) -> tuple[str, ...]:
    """In full, and shorter; at last nothing, as tables put such a unit in brackets."""
    if not stations:
        return ("",)
    many = f"{number(len(stations))} {'station' if len(stations) == 1 else 'stations'}"
    where = listed([plain(one) for one in stations]) if len(stations) <= _NAMED else many
    return (f"Unit not booked at {where}: carried on.", f"Unit carried on at {many}.", "")


def _counted(names: Sequence[str]) -> list[str]:
    """Each once, in the order given, with how often where that is more."""
    return [
        name if many == 1 else f"{name}{NO_BREAK}×{NO_BREAK}{many}"
        for name, many in Counter(map(plain, names)).items()
    ]


def left_in_full(left: Mapping[str, Sequence[str]]) -> tuple[str, ...]:
    """What found no room on a map, a sentence for each kind of it.

    >>> left_in_full({"attitudes at": ["3", "5"], "": ["sample OV-01 at 7"]})
    ('Attitudes at 3 and 5.', 'Sample OV-01 at 7.')
    """
    told = (f"{what} {listed(_counted(names))}".strip() for what, names in left.items() if names)
    return tuple(f"{one[0].upper()}{one[1:]}." for one in told)


def see(told_in: str) -> str:
    """`, see the tables`; empty where nothing else tells it."""
    return f", see {told_in}" if told_in else ""


def _listed(lists: Mapping[str, Sequence[str]], most: int, told_in: str) -> str:
    """As in `Not on this map, see the tables: attitudes at 3, 5 and 9; sample OV-01 at 7`, and a full stop.

    `most` names of each kind; below 0 all kinds are counted together.
    """
    if not lists:
        return ""
    if most < 0:
        lists, most = {"": [name for names in lists.values() for name in names]}, 0
    told = []
    for what, names in lists.items():
        shown, more = names[:most], len(names) - most
        rest = [f"{more} more" if shown else f"{more} place{'' if more == 1 else 's'}"] if more > 0 else []
        parts = [*shown, *rest]
        told.append(f"{what} {listed(parts)}".strip())
    return f"Not on this map{see(told_in)}: {'; '.join(told)}."
