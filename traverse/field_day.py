"""A day from Python: read a log, look at its records, draw its sheet. The names here are those of `import traverse`.

Lengths are metres, angles degrees; azimuths are clockwise from true north unless a field says otherwise. Records have the
fields, figures and rounding of the JSON, which `grammar/data.md` lists; nested fields are joined by `_`.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, TypeAlias, overload

from traverse.command.drawing import drawn, kind_of, mark_of
from traverse.command.files import STANDARD, LogFiles, WrongUseError, write_whole
from traverse.compile import Compiled, compile_log
from traverse.diagnostic import Diagnostic, render
from traverse.notation.text import decode
from traverse.record import record
from traverse.source import Source

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from traverse.sheet.paper.document import Document
    from traverse.sheet.template.reading import Template

__all__ = ["Drawing", "FieldDay", "LogError", "Message", "Records", "WrongUseError", "read", "read_text"]

PathLike: TypeAlias = str | os.PathLike[str]
Kind: TypeAlias = Literal["pdf", "svg", "png"]


@record(frozen=True, slots=True, kw_only=True)
class Message:
    """What the program says of a line, as `traverse check` tells it."""

    kind: str
    """`error`, `warning`, `note`, or `answered` for a warning that `checked` answered."""
    code: str
    """A plain phrase that stays the same from version to version."""
    file: str | None
    line: int | None
    """Counted from 1; None of what concerns the whole log."""
    column: int | None
    words: str
    """The fact, without the remedy."""
    hints: tuple[str, ...]
    told: str
    """As the terminal shows it: place, line, marks, the fact and the remedy."""

    def __str__(self) -> str:
        return self.told


class LogError(ValueError):
    """What was asked can't be had from this log; `messages` are its errors, empty where it has none."""

    def __init__(self, words: str, messages: Iterable[Message] = ()) -> None:
        self.messages = tuple(messages)
        super().__init__("\n\n".join((words, *(one.told for one in self.messages))))


class Records(Sequence[Mapping[str, Any]]):
    """Rows of one kind in the order of the log, each a dict of plain values; a field that does not apply is None.

    `pandas.DataFrame(records)` takes them as they are.

    >>> stations = Records("stations", [{"name": "1", "up": 3.5}, {"name": "2", "up": None}])
    >>> len(stations), stations[0]["up"], stations.columns
    (2, 3.5, ('name', 'up'))
    >>> stations["up"]
    array([3.5, nan])
    """

    def __init__(self, name: str, rows: Iterable[Mapping[str, Any]]) -> None:
        self.name = name
        """What they are, as in the JSON."""
        self._rows = [dict(one) for one in rows]

    @property
    def columns(self) -> tuple[str, ...]:
        """Names of the fields that any of them has."""
        return tuple(dict.fromkeys(key for one in self._rows for key in one))

    def to_dicts(self) -> list[dict[str, Any]]:
        """The rows as a list that is the caller's own."""
        return [dict(one) for one in self._rows]

    def column(self, name: str) -> NDArray[Any]:
        """One field of all rows, shape (n,).

        Figures are float64, with nan where a row has none; whole numbers without a gap int64; true and false bool;
        anything else object. Of no rows, float64 of shape (0,). Raises `KeyError` for a field that no row has.
        """
        import numpy as np

        if self._rows and name not in self.columns:
            raise KeyError(f"{self.name} have no field {name!r}; there are {', '.join(self.columns)}")
        values = [one.get(name) for one in self._rows]
        kinds = {type(one) for one in values} - {type(None)}
        whole = None not in values
        if kinds == {bool} and whole:
            return np.array(values, dtype=np.bool_)
        if kinds == {int} and whole:
            return np.array(values, dtype=np.int64)
        if kinds <= {int, float}:
            return np.array([np.nan if one is None else one for one in values], dtype=np.float64)
        found: NDArray[Any] = np.empty(len(values), dtype=np.object_)
        found[:] = values
        return found

    @overload
    def __getitem__(self, key: int) -> dict[str, Any]: ...
    @overload
    def __getitem__(self, key: slice) -> Records: ...
    @overload
    def __getitem__(self, key: str) -> NDArray[Any]: ...
    def __getitem__(self, key: int | slice | str) -> dict[str, Any] | Records | NDArray[Any]:
        """A row by its number, some rows by a slice, a column by its name."""
        if isinstance(key, str):
            return self.column(key)
        if isinstance(key, slice):
            return Records(self.name, self._rows[key])
        return dict(self._rows[key])

    def __len__(self) -> int:
        return len(self._rows)

    def __iter__(self) -> Iterator[dict[str, Any]]:
        return (dict(one) for one in self._rows)

    def __repr__(self) -> str:
        return f"<{len(self)} {self.name}: {', '.join(self.columns)}>"


class Drawing:
    """A drawing in millimetres, as it leaves the program: with its cautions, and the same bytes every time."""

    def __init__(self, document: Document, messages: tuple[Message, ...] = ()) -> None:
        self._document = document
        self.messages = messages
        """What is said of the drawing itself, such as of a paper that is too small."""

    @property
    def pages(self) -> int:
        """How many pages a PDF has; SVG and PNG hold the first."""
        return len(self._document.pages)

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of the first page."""
        page = self._document.pages[0]
        return page.width_mm, page.height_mm

    def bytes(self, kind: Kind = "pdf") -> bytes:
        """The file as bytes. Raises `WrongUseError` for another kind, and for a PNG without the extra `preview`."""
        return drawn(self._document, kind)

    def save(self, path: PathLike) -> Path:
        """Write it as PDF, SVG or PNG, as the name ends, whole or not at all.

        Raises `WrongUseError` for another ending, and where the file can't be written.
        """
        name = os.fspath(path)
        write_whole(name, drawn(self._document, kind_of(name)))
        return Path(name)

    def _repr_svg_(self) -> str:
        """A notebook shows it."""
        return self.bytes("svg").decode()


class FieldDay:
    """A log, compiled. `read` and `read_text` make it.

    A log with errors has `messages`, `errors`, `units` and `json`; whatever would have to be worked out raises
    `LogError`, which shows them: half a walk is no walk.
    """

    def __init__(self, source: Source | None, files: LogFiles, unread: tuple[Diagnostic, ...] = ()) -> None:
        self._files = files
        self._unread = unread
        self._compiled: Compiled | None = None if source is None else compile_log(source, load=files.load)

    @property
    def title(self) -> str | None:
        """As the log has it."""
        return None if self._compiled is None else self._compiled.log.heading.title

    # --- what is said of it -------------------------------------------------------------------------------------

    @cached_property
    def messages(self) -> tuple[Message, ...]:
        """All that `traverse check --notes` tells, in the order of the log."""
        if self._compiled is None:
            return tuple(_message(one, {}) for one in self._unread)
        return tuple(_message(one, self._compiled.sources) for one in self._compiled.diagnostics)

    @property
    def errors(self) -> tuple[Message, ...]:
        """What must be mended first; empty where the log could be worked out."""
        return tuple(one for one in self.messages if one.kind == "error")

    @property
    def warnings(self) -> tuple[Message, ...]:
        """What is worth a look and not answered."""
        return tuple(one for one in self.messages if one.kind == "warning")

    # --- records ------------------------------------------------------------------------------------------------

    @property
    def stations(self) -> Records:
        """Stations and sighted landmarks, each once.

        `east`, `north` in metres of the grid, `up` in metres over the log's height datum; `lon`, `lat` in degrees on
        WGS 84, None in a local grid. `sd_east`, `sd_north`, `sd_up` are one standard deviation in metres, 0
        where a place is held; `ellipse_major`, `ellipse_minor` half-axes of the error ellipse of one standard deviation,
        `ellipse_azimuth` of the major one. `standing` says whether a loop or tie checks the place.
        """
        return self._records("stations")

    @property
    def legs(self) -> Records:
        """Legs walked and shots: `azimuth` from true north, `horizontal` metres on the ground's own level, `rise` metres.

        `raw_…` is the leg in the grid as it was read, `adjusted_…` as it lies between its stations.
        """
        return self._records("legs")

    @property
    def loops(self) -> Records:
        """Loops and ties: `misclosure_…` is computed end minus known end in metres, `ratio` the length walked over it.

        `q` is chi-square with two degrees of freedom, of `misclosure` against what the stated precision leads one to expect.
        """
        return self._records("loops")

    @property
    def attitudes(self) -> Records:
        """Planes by `strike` (right-handed), `dip` and `dip_direction`, lines by `trend` and `plunge`, all true.

        `spread` is that of repeated readings in degrees, `n` how many; `written` what the page has.
        """
        return self._records("attitudes")

    @property
    def contacts(self) -> Records:
        """Contacts, unconformities and faults where they were met; `half_width` in metres is half the stretch they lie in."""
        return self._records("contacts")

    @property
    def thicknesses(self) -> Records:
        """True thickness in metres of units between two contacts, with its standard deviation."""
        return self._records("thicknesses")

    @property
    def things(self) -> Records:
        """What was noted beside readings and contacts, in the order of the log."""
        return self._records("things")

    @property
    def samples(self) -> Records:
        """Of `things`, the samples: `label`, `words`, place."""
        return self._of_kind("samples", "sample")

    @property
    def photos(self) -> Records:
        """Of `things`, the photos: `label` is the number, `azimuth` the way it looks from true north."""
        return self._of_kind("photos", "photo")

    @property
    def hazards(self) -> Records:
        """Of `things`, hazards that were noticed. They are not all there are."""
        return self._of_kind("hazards", "hazard")

    @property
    def elevations(self) -> Records:
        """Heights read on the way: `height` as read, `up` as the walk gives it, both metres."""
        return self._records("elevations")

    @property
    def findings(self) -> Records:
        """What can be said of the structure, with the readings it rests on and what it does not exclude."""
        self._worked_out()
        return Records("findings", map(_flat, self._json["structure"]["findings"]))

    @property
    def units(self) -> Records:
        """The list of units, youngest first."""
        return Records("units", self._json["traverse"]["units"])

    @property
    def cautions(self) -> tuple[str, ...]:
        """Sentences that must go wherever the figures go."""
        return tuple(one["text"] for one in self._json["cautions"])

    # --- what leaves --------------------------------------------------------------------------------------------

    def to_dict(self) -> dict[str, Any]:
        """All of it as `traverse export --to json` writes it; the schema is `grammar/traverse.schema.json`."""
        return self._made_json()

    def json(self, path: PathLike | None = None) -> str:
        """The same as text; written to a file too where one is named."""
        from traverse.output.json_file import write_json

        compiled = self._read()
        data = write_json(compiled.log, compiled.trav, compiled.diagnostics)
        if path is not None:
            self._files.spare(os.fspath(path))
            write_whole(os.fspath(path), data)
        return data.decode()

    def sheet(
        self,
        path: PathLike | None = None,
        *,
        kind: Literal["key", "blank", "grey", "overlay"] = "key",
        template: str = "field",
        report: bool = False,
        give: Sequence[str] = ("profile",),
        boxes: int | None = None,
        title: str | None = None,
    ) -> Drawing:
        """The sheet, as `traverse sheet` draws it; written to a file too where one is named.

        `kind` is the key, a `blank` handout that holds no answer, the key in `grey`, or what the handout lacks as an
        `overlay`. `give`, `boxes` and `title` go with a blank, `report` with a key. Raises `LogError` for a log with
        errors and `WrongUseError` for what is no kind, part, number or name, for a template that can't be had, and for a
        file that can't be written.
        """
        from traverse.command.sheet import (
            MOST_BOXES,
            SheetKind,
            blank_document,
            boxes_fit,
            key_document,
            parts_there_are,
        )

        kinds = ("key", "blank", "grey", "overlay")
        _demand(kind in kinds, "kind", f"one of {', '.join(kinds)}", kind)
        listed = not isinstance(give, str) and isinstance(give, Iterable)
        _demand(
            listed and all(isinstance(one, str) for one in give),
            "give",
            'a list of names, such as ["profile"], or [] for none',
            give,
        )
        _demand(boxes_fit(boxes), "boxes", f"a number from 0 to {MOST_BOXES}, or None", boxes)
        _demand(title is None or isinstance(title, str), "title", "a text, or None", title)
        _demand(isinstance(template, str), "template", "a name or a path, as text", template)
        give = parts_there_are(tuple(give))
        compiled = self._worked_out()
        found = _template(template)
        if kind == "blank":
            composed = blank_document(compiled, found, give=give, boxes=boxes, title=title)
        else:
            composed = key_document(compiled, self._files, found, kind=SheetKind(kind), report=report)
        said = tuple(_message(one, compiled.sources) for one in composed.diagnostics)
        failed = [one for one in said if one.kind == "error"]
        if failed:
            raise LogError("the sheet can't be drawn", failed)
        return self._saved(Drawing(composed.value, said), path)

    def section(self, path: PathLike | None = None, *, arcs: bool = False) -> Drawing:
        """The sections alone, a page each; with `arcs` contacts are carried by arcs and not by dip domains.

        Raises `LogError` for a log with errors, and where no section could be laid.
        """
        from traverse.command.section import NO_SECTION, section_of

        return self._alone(path, lambda compiled, mark: section_of(compiled, mark, arcs=arcs), NO_SECTION)

    def net(self, path: PathLike | None = None) -> Drawing:
        """The equal-area net alone, lower hemisphere. Raises `LogError` for a log with errors, and without a reading."""
        from traverse.command.net import NO_NET, net_of

        return self._alone(path, net_of, NO_NET)

    # --- inside -------------------------------------------------------------------------------------------------

    def _alone(
        self, path: PathLike | None, draw: Callable[[Compiled, str], Document | None], none: str
    ) -> Drawing:
        compiled = self._worked_out()
        document = draw(compiled, mark_of(compiled))
        if document is None:
            raise LogError(none)
        return self._saved(Drawing(document), path)

    def _saved(self, drawing: Drawing, path: PathLike | None) -> Drawing:
        if path is not None:
            self._files.spare(os.fspath(path))
            drawing.save(path)
        return drawing

    def _read(self) -> Compiled:
        if self._compiled is None:
            raise LogError("this is no text of a log", self.errors)
        return self._compiled

    def _worked_out(self) -> Compiled:
        compiled = self._read()
        if compiled.trav is None:
            raise LogError("the log has errors, so nothing is worked out; mend these first", self.errors)
        return compiled

    def _made_json(self) -> dict[str, Any]:
        from traverse.output.json_file import as_json

        compiled = self._read()
        return as_json(compiled.log, compiled.trav, compiled.diagnostics)

    @cached_property
    def _json(self) -> dict[str, Any]:
        return self._made_json()

    def _records(self, name: str) -> Records:
        self._worked_out()
        return Records(name, map(_flat, self._json[name]))

    def _of_kind(self, name: str, kind: str) -> Records:
        return Records(name, (one for one in self.things if one["kind"] == kind))

    def __repr__(self) -> str:
        said = f", {len(self.errors)} errors" if self.errors else ""
        return f"<{self.title or self._files.name}{said}>"


def read(path: PathLike) -> FieldDay:
    """Read a log, and the files that it names, which must lie in or below its folder.

    A mistake on the page raises nothing: it is among the `errors` of the day. Raises `WrongUseError` for a file that
    can't be read.
    """
    name = os.fspath(path)
    if name == STANDARD:
        raise WrongUseError("- is no file; read_text takes the text of a log")
    files = LogFiles(name)
    source, unread = files.source()
    return FieldDay(source, files, unread)


def read_text(text: str, *, name: str = "log.trav", folder: PathLike | None = None) -> FieldDay:
    r"""Compile the text of a log, called `name` in messages; what it names is sought in a folder, if one is given.

    >>> day = read_text('''notation 1
    ... bearings true
    ... at 1
    ...   bed 12->164
    ... to 2  090 30m
    ... to 3  180 40m
    ... close 1  323 50m
    ... ''')
    >>> day.stations["name"].tolist(), day.stations["east"].round().tolist()
    (['1', '2', '3'], [0.0, 30.0, 30.0])
    >>> day.attitudes[0]["dip_direction"], day.errors
    (164.0, ())
    >>> read_text("notation 1\nat 1\nto 2 N95E 30m").errors[0].code
    'quadrant-angle'

    Raises `WrongUseError` for what is no text.
    """
    _demand(
        isinstance(text, str),
        "text",
        "the text of a log; `read` takes the path of a file, and bytes want `decode`",
        text,
    )
    data = text.encode("utf-8", errors="surrogatepass")
    files = LogFiles(os.fspath(Path(folder or ".") / name), alone=folder is None, own=data)
    decoded = decode(name, data)
    return FieldDay(decoded.value, files, decoded.diagnostics)


def _demand(holds: bool, name: str, what: str, given: object) -> None:
    """Raises `WrongUseError` where a call gives something else than it may."""
    if not holds:
        shown = repr(given)
        raise WrongUseError(f"{name} is {what}, not {shown[:60]}{'…' if len(shown) > 60 else ''}")


def _template(name: str) -> Template:
    from traverse.sheet.template.reading import read_template

    found = read_template(name)
    if found.value is None:
        raise WrongUseError("; ".join(one.message for one in found.diagnostics))
    return found.value


def _message(one: Diagnostic, sources: Mapping[str, Source]) -> Message:
    span = one.span
    return Message(
        kind=one.kind,
        code=one.code,
        file=None if span is None else span.file,
        line=None if span is None else span.line,
        column=None if span is None else span.column,
        words=one.message,
        hints=one.hints,
        told=render(one, sources),
    )


def _flat(row: Mapping[str, Any]) -> dict[str, Any]:
    """Nested fields joined by `_`, as in the tables of `--to csv`."""
    flat: dict[str, Any] = {}
    for key, value in row.items():
        if isinstance(value, dict):
            flat.update({f"{key}_{inner}": part for inner, part in _flat(value).items()})
        else:
            flat[key] = value
    return flat
