"""All that a log draws and exports, as named texts. What the program calls its parts is said here and nowhere else."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

from tests import once
from tests.reference.page_text import page_text
from traverse.compile import Compiled, blank_ground, net_density, section_ground
from traverse.ground.records import Traverse
from traverse.output.json_file import write_json
from traverse.sheet.compose.alone import net_document, section_document
from traverse.sheet.compose.compose import compose
from traverse.sheet.compose.grey import compose_grey
from traverse.sheet.handout.given import PARTS, USUAL
from traverse.sheet.handout.handout import compose_blank
from traverse.sheet.paper.document import Document
from traverse.sheet.template.reading import read_template

_ROOT = Path(__file__).parent.parent.parent
FOLDERS = {
    "samples": _ROOT / "samples",
    "logs": Path(__file__).parent / "logs",
    "cases": _ROOT / "tests" / "cases",
}
_MARK = "000000"
"""Stands for the mark of the log's text, so that a comment in a log is no change of its sheet."""

_OWN = "own"
"""The paper of a template that brings its page along, and of a drawing cut to its size."""
_LYING, _STANDING = ("A4", True), ("Letter", False)


@dataclass(frozen=True)
class Sheet:
    """One way to make a sheet of a log."""

    kind: str
    template: str
    paper: tuple[str, bool] | None = None
    """Its name and whether it lies; None for the template's own."""

    @property
    def name(self) -> str:
        """Its place in the names of texts, without blanks."""
        if self.paper is None:
            return f"{self.kind} {self.template} {_OWN}"
        name, lying = self.paper
        return f"{self.kind} {self.template} {name}-{'landscape' if lying else 'portrait'}"


_KINDS = ("key", "grey", "blank")
_FULL = (
    *(
        Sheet(kind, template, paper)
        for kind in _KINDS
        for template, papers in (
            ("field", (_LYING, _STANDING)),
            ("wall", (("A1", True), ("A3", False))),
            ("insert", (None,)),
            ("section", (None,)),
            ("table", (_LYING, _STANDING)),
        )
        for paper in papers
    ),
    Sheet("blank-nothing-given", "field", _LYING),
    Sheet("blank-all-given", "field", _LYING),
)
_SIGNS = tuple(Sheet(kind, "signs", paper) for kind in _KINDS for paper in (_LYING, _STANDING))
_SIGNS_OF = "ternel-point"
"""The page of signs shows nothing of a log, so one log makes it."""
_SOME = {
    "samples": _FULL,
    "logs": (
        Sheet("key", "field", _LYING),
        Sheet("key", "field", _STANDING),
        Sheet("grey", "field", _LYING),
        Sheet("blank", "field", _LYING),
    ),
    "cases": (Sheet("key", "field", _LYING), Sheet("blank", "field", _LYING)),
}
_IN_TURN = {"samples": 9, "logs": 4, "cases": 2}
"""Of so many sheets of a log the tests of every day draw one, the next log of its folder the next."""
_GIVEN = {"blank": USUAL, "blank-nothing-given": (), "blank-all-given": PARTS}


def logs(only: Iterable[str] = ()) -> list[Path]:
    """Every log that has references: all, or those of the folders and by the names (without `.trav`) in `only`."""
    wanted = set(only)
    found = [(name, path) for name, folder in FOLDERS.items() for path in sorted(folder.rglob("*.trav"))]
    unknown = wanted - {*FOLDERS, *(path.stem for _, path in found)}
    if unknown:
        raise LookupError(f"no log or folder {min(unknown)}; folders are {', '.join(FOLDERS)}")
    return [path for name, path in found if not wanted or name in wanted or path.stem in wanted]


def sheets_of(path: Path) -> tuple[Sheet, ...]:
    """Every way in which a log is drawn."""
    return _SOME[_folder(path)] + (_SIGNS if path.stem == _SIGNS_OF else ())


def sheets_in_turn(path: Path, first: int = 0, of: int | None = None) -> tuple[Sheet, ...]:
    """Those of every day, or one of so many: among the logs of a folder each way comes up, and of each log some."""
    folder = _folder(path)
    step = of or _IN_TURN[folder]
    return sheets_of(path)[(logs([folder]).index(path) + first) % step :: step]


def texts(path: Path, sheets: tuple[Sheet, ...] | None = None) -> Iterator[tuple[str, str]]:
    """Name and text of each page and export of one log, drawn in every way or in some; nothing of a log that has errors."""
    compiled = once.compiled(path)
    if compiled.survey is None or compiled.geology is None:
        return
    name = path.stem
    exported = write_json(compiled.log, compiled.trav, compiled.diagnostics)
    yield f"{name} json", exported.decode()
    # Once for all its sheets: the ground does not hang on the paper.
    laid = once.laid(path)
    for sheet in sheets_of(path) if sheets is None else sheets:
        document, said = _composed(compiled, laid, sheet)
        yield from _pages(f"{name} {sheet.name}", document, said)
    # After the sheets: these two are drawn in the type and with the signs of the sheet before.
    for drawing, document in _alone(compiled):
        if document is not None:
            yield from _pages(f"{name} {drawing} alone {_OWN}", document)


def _folder(path: Path) -> str:
    return next(name for name, folder in FOLDERS.items() if path.is_relative_to(folder))


def _composed(compiled: Compiled, laid: Traverse, sheet: Sheet) -> tuple[Document, list[str]]:
    log, template = compiled.log, _template(sheet.template)
    if sheet.paper is not None:
        paper, landscape = sheet.paper
        asked = replace(log.heading.sheet, paper=paper, landscape=landscape)
        log = replace(log, heading=replace(log.heading, sheet=asked))
    trav = replace(compiled.trav, log=log)
    if sheet.kind in _GIVEN:
        composed = compose_blank(
            trav,
            lay=blank_ground,
            template=template,
            mark=_MARK,
            give=_GIVEN[sheet.kind],
            boxes=None,
            title=None,
        )
    else:
        draw = compose_grey if sheet.kind == "grey" else compose
        composed = draw(replace(laid, log=log), compiled.diagnostics, template=template, mark=_MARK)
    said = [
        line
        for one in composed.diagnostics
        for line in (
            f"{one.severity.value} {one.code}: {one.message}",
            *(f"  hint: {hint}" for hint in one.hints),
        )
    ]
    return composed.value, said


def _alone(compiled: Compiled) -> Iterator[tuple[str, Document | None]]:
    trav = compiled.trav
    assert trav is not None
    yield "section", section_document(section_ground(trav), mark=_MARK)
    sections = tuple(replace(one, construction=one.arcs) for one in trav.geology.sections)
    arcs = replace(trav, geology=replace(trav.geology, sections=sections))
    yield "arcs", section_document(section_ground(arcs), mark=_MARK)
    yield "net", net_document(replace(trav, geology=net_density(trav.geology)), mark=_MARK)


@cache
def _template(name):
    return read_template(name).value


def _pages(name: str, document: Document, said: Iterable[str] = ()) -> Iterator[tuple[str, str]]:
    """The pages, and before them what the file and the messages say."""
    words = [f"title {document.title!r}", f"subject {document.subject!r}"]
    words += [f"author {author!r}" for author in document.authors]
    words += said
    yield f"{name} words", "\n".join(words) + "\n"
    for number, page in enumerate(document.pages, start=1):
        yield f"{name} page {number}", page_text(page)
