"""The tables of a season: their rows are plain values by the names of these fields.

One list for what is kept between two runs, what the layers hold and what the page shows. Every table but `logs` and
`clashes` has a row for each thing that one log says, and names that log in `path`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, TypeAlias

from traverse.layers.records import FieldKind, Geometry, LayerField
from traverse.record import record
from traverse.wording import capital

Row: TypeAlias = dict[str, Any]
"""Values by the field's name; what does not apply is None. `place` holds longitude and latitude where there is a shape."""
Rows: TypeAlias = dict[str, list[Row]]
"""By the table's name."""


@record(frozen=True, slots=True, kw_only=True)
class SeasonTable:
    """One table, a layer of the GeoPackage."""

    name: str
    means: str
    """What its rows are, in one sentence."""
    geometry: Geometry
    fields: tuple[LayerField, ...]


def _field(kind: FieldKind) -> Callable[[str, str], LayerField]:
    return lambda name, means: LayerField(name=name, kind=kind, means=f"{capital(means)}.")


_words, _count, _yes = _field(FieldKind.TEXT), _field(FieldKind.WHOLE), _field(FieldKind.FLAG)
_metres, _degrees, _turn = _field(FieldKind.METRES), _field(FieldKind.DEGREES), _field(FieldKind.ROTATION)
_place, _number = _field(FieldKind.GEOGRAPHIC), _field(FieldKind.NUMBER)

PATH = _words("path", "the log, from the folder of the season")
_LINE = _count("line", "line of the log")
_FILE = _words("file", "the file that the line stands in, where it is not the log itself")
_STATION = _words("station", "the station it is at, or that its leg starts from")
_UNIT = _words("unit", "letters of the unit it is on")
_GROUND = (
    _metres("east", "metres, in the grid of the log"),
    _metres("north", "metres, in the grid of the log"),
    _metres("up", "height in metres; none where no height is known"),
)

_ALL = (
    SeasonTable(
        name="logs",
        means="A row for each log; its shape is the walk.",
        geometry=Geometry.LINE,
        fields=(
            PATH,
            _words("standing", "counted, with errors, unreadable, part of another or copy"),
            _words("of", "the log that it is part or a copy of"),
            _words("title", "title of the log"),
            _words("area", "area of the log"),
            _words("date", "first day, YYYY-MM-DD"),
            _words("last_date", "last day, YYYY-MM-DD"),
            _words("party", "names, with a semicolon between"),
            _words("grid", "the grid in words"),
            _count("epsg", "EPSG number of the grid; none of a local one"),
            _count("stations", "stations that have a place"),
            _count("legs", "legs walked, side shots apart"),
            _metres("length", "metres walked, on the horizontal"),
            _count("loops", "loops and ties that were tested"),
            _words("closes", "how the worst of them closes"),
            _number("ratio", "length over misclosure of the worst; none where it closes exactly"),
            _number("q", "chi-square of the worst, 2 degrees of freedom"),
            _yes("adjusted", "whether every loop and tie took part in the adjustment"),
            _count("attitudes", "lines of readings of planes and lines"),
            _count("contacts", "contacts, unconformities and faults"),
            _count("samples", "samples"),
            _count("photos", "photos"),
            _count("hazards", "hazards noticed"),
            _count("answered", "warnings that `checked` answered"),
            _count("warnings", "warnings still open"),
            _count("errors", "errors"),
            _words("look_first", "where to look first"),
            _words("caution", "what of its walk was not adjusted, in words"),
            _words("sheet", "its sheet, from the folder of the index"),
        ),
    ),
    SeasonTable(
        name="stations",
        means="Every station that has a place.",
        geometry=Geometry.POINT,
        fields=(
            PATH,
            _words("name", "name of the station"),
            _words("kind", "control, control not used, walked, side or sighted"),
            _UNIT,
            *_GROUND,
            _metres("sd", "metres, the larger half-axis of its ellipse of one standard deviation"),
            _words("standing", "adjusted, unchecked or not adjusted"),
        ),
    ),
    SeasonTable(
        name="attitudes",
        means="Every line of readings of a plane or a line, turned to true north.",
        geometry=Geometry.POINT,
        fields=(
            PATH,
            _LINE,
            _FILE,
            _STATION,
            _UNIT,
            _words("kind", "bed, cleavage, lineation and so on"),
            _words("written", "as written"),
            _turn("strike", "degrees from true north, right-handed; also how far its sign is turned"),
            _degrees("dip", "degrees"),
            _degrees("trend", "degrees from true north, of a line"),
            _degrees("plunge", "degrees, of a line"),
            _yes("overturned", "whether the bed is overturned"),
            *_GROUND,
        ),
    ),
    SeasonTable(
        name="contacts",
        means="Contacts, unconformities and faults where the walk met or saw them.",
        geometry=Geometry.POINT,
        fields=(
            PATH,
            _LINE,
            _FILE,
            _words("kind", "contact, unconformity or fault"),
            _words("younger", "letters"),
            _words("older", "letters"),
            _words("identity", "certain, approximate, inferred or concealed"),
            _yes("queried", "whether it is doubted"),
            _metres("half_width", "metres to each side that it may lie; none where it was seen"),
            *_GROUND,
        ),
    ),
    SeasonTable(
        name="samples",
        means="Samples.",
        geometry=Geometry.POINT,
        fields=(
            PATH,
            _LINE,
            _FILE,
            _STATION,
            _UNIT,
            _words("label", "its number"),
            _words("words", "what it is"),
            *_GROUND,
        ),
    ),
    SeasonTable(
        name="photos",
        means="Photos.",
        geometry=Geometry.POINT,
        fields=(
            PATH,
            _LINE,
            _FILE,
            _STATION,
            _words("number", "its number"),
            _degrees("looking", "degrees from true north"),
            _words("words", "what it shows"),
            *_GROUND,
        ),
    ),
    SeasonTable(
        name="hazards",
        means="Hazards noticed; they are not all there are.",
        geometry=Geometry.POINT,
        fields=(
            PATH,
            _LINE,
            _FILE,
            _STATION,
            _words("mark", "H1 and so on, as on the sheet"),
            _words("words", "what was noticed"),
            *_GROUND,
        ),
    ),
    SeasonTable(
        name="known_points",
        means="Known points as they are given.",
        geometry=Geometry.POINT,
        fields=(
            PATH,
            _LINE,
            _FILE,
            _words("name", "name of the point"),
            _words("written", "as written"),
            _count("epsg", "EPSG number of the grid"),
            _place("lon", "degrees, where it is given so"),
            _place("lat", "degrees, where it is given so"),
            *_GROUND,
        ),
    ),
    SeasonTable(
        name="closures",
        means="Loops and ties, and how they close.",
        geometry=Geometry.TABLE,
        fields=(
            PATH,
            _LINE,
            _FILE,
            _words("name", "what it runs over"),
            _words("kind", "loop or tie"),
            _words("words", "how it closes, as `check` tells it"),
            _metres("length", "metres walked, on the horizontal"),
            _metres("misclosure", "metres, on the horizontal"),
            _metres("up", "metres in height; none where no height is known"),
            _number("ratio", "length over misclosure; none where it closes exactly"),
            _number("q", "chi-square, 2 degrees of freedom"),
            _yes("adjusted", "whether it took part in the adjustment"),
        ),
    ),
    SeasonTable(
        name="people",
        means="Who was of the party.",
        geometry=Geometry.TABLE,
        fields=(
            PATH,
            _words("initials", "as in the log"),
            _words("name", "name; the initials where there is none"),
        ),
    ),
    SeasonTable(
        name="units",
        means="The units of each log, youngest first.",
        geometry=Geometry.TABLE,
        fields=(
            PATH,
            _count("rank", "place in its list, the youngest 1"),
            _words("letters", "letters"),
            _words("name", "name"),
            _words("age", "age"),
            _words("colour", "#rrggbb"),
            _yes("intrusive", "whether it is an intrusive body"),
            _words("also", "what other parties call it, with blanks between"),
            _count("attitudes", "lines of readings taken in it"),
        ),
    ),
    SeasonTable(
        name="answered",
        means="Warnings that the party answered by `checked`.",
        geometry=Geometry.TABLE,
        fields=(
            PATH,
            _LINE,
            _FILE,
            _words("question", "what was asked"),
            _words("who", "who answered"),
            _words("why", "what was answered"),
        ),
    ),
    SeasonTable(
        name="messages",
        means="Errors and open warnings.",
        geometry=Geometry.TABLE,
        fields=(
            PATH,
            _LINE,
            _FILE,
            _words("severity", "error or warning"),
            _words("words", "what is wrong"),
            _words("remedy", "what to type or to look at"),
        ),
    ),
    SeasonTable(
        name="clashes",
        means="What two logs or more say of one number, sample, unit or point in two ways.",
        geometry=Geometry.TABLE,
        fields=(
            _words("kind", "what clashes: sample, photo, known point, unit or log"),
            _words("what", "the number, the letters or the name"),
            _words("words", "what each says"),
            _words("places", "log and line, with a semicolon between"),
        ),
    ),
)
TABLES: Mapping[str, SeasonTable] = {one.name: one for one in _ALL}
"""By name, in the order of the layers."""
