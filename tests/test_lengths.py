"""A length is worded in one place: no other module puts a unit after a figure."""

import ast
import json
import re

import pytest

from tests.program import FILES, PACKAGE, tree
from tests.reference.drawn import logs
from tests.sheet.pages import flat
from tests.thorough import some
from traverse.command.files import LogFiles
from traverse.compile import blank_ground, compile_log, map_ground
from traverse.length import FEET, METRES
from traverse.log.records import Log
from traverse.output.json_file import write_json
from traverse.output.report import report
from traverse.output.report_lines import plain_text
from traverse.sheet.compose.alone import net_document, section_document
from traverse.sheet.compose.compose import compose
from traverse.sheet.compose.overlay import compose_overlay
from traverse.sheet.handout.given import PARTS
from traverse.sheet.handout.handout import compose_blank
from traverse.sheet.paper.document import Document
from traverse.sheet.paper.page import Text
from traverse.sheet.paper.words import plain
from traverse.sheet.said.stops import gather
from traverse.sheet.tables.contact_rows import contacts_table
from traverse.sheet.tables.leg_rows import legs_table
from traverse.sheet.tables.station_rows import station_columns, station_rows
from traverse.sheet.template.reading import read_template
from traverse.source import Source

VALUE = "\N{OBJECT REPLACEMENT CHARACTER}"
"""Stands in a text for what is put in when the program runs."""
UNIT = r"(?:m|ft|metres?|feet|foot)"
WORDED = re.compile(
    rf"^[ \u00a0]*(?:m|ft)(?:[ \u00a0,]|$)"  # a unit alone, to be put after something
    rf"|[\d{VALUE}][ \u00a0{VALUE}]?{UNIT}(?![\w²])"  # a unit after a figure
    r"|\b(?:[Mm]etres|[Ff]eet)\b"
)
IN_A_PIECE = re.compile(r"(?<![A-Za-z])(?:m|ft)(?![A-Za-z])|[Mm]etre|[Ff]eet|foot")
TYPED = re.compile(r"`[^`]*`|about[ \u00a0][\d.]+m")
"""What a hint shows to be typed in the notation, and what a leg would have said in its own unit."""

FIXED = (
    "feet taken for metres",  # the slip, whatever the party measures in
    "metres taken for feet",
    "metres taken for paces",
    "metres or feet",
    "metres against feet",
    "east and north in metres",  # coordinates of a grid are metres
    "a map grid in metres",
    "a map needs a grid in metres",
    "not in metres",
    "as feet they would agree: write its heights in metres",  # a file of heights has no unit of its own
    "64p or 31.5m",  # what may be typed
)
"""Sentences about the units themselves."""

EXCEPTIONS = {
    "length.py": "the formatter",
    "log/readings.py": "units as they are booked",
    "adjustment/misread/slips.py": "names the unit that was taken for another",
    "notation/": "words of the notation, and what may be typed",
    "log/danger.py": "what a party may write of a drop",
    "log/described.py": "examples of the notation",
    "log/written_forms.py": "examples of the notation",
    "compare/mends.py": "names the unit that was taken for another, and what a line would say",
    "compare/exercise/typing_slips.py": "lines of the notation with a slip",
    "compare/scheme.py": "names of settings",
    "output/pdf.py": "operators of the file format",
    "points/": "files of points are metres, as the grid is",
    "layers/": "fields of layers are metres, as the grid is, whatever the party measures in",
    "season/": "many logs on one page, each in its own unit: figures and fields are metres",
}


def docstrings(nodes):
    return {
        node.value for node in nodes if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }


def text(node):
    """A string expression as it will read, with a mark for each value; None of anything else."""
    match node:
        case ast.Constant(value=str(words)):
            return words
        case ast.JoinedStr(values=values):
            return "".join(text(one) or VALUE for one in values)
        case ast.FormattedValue(value=ast.Name(id="NO_BREAK")) | ast.Name(id="NO_BREAK"):
            return "\N{NO-BREAK SPACE}"
        case ast.BinOp(op=ast.Add(), left=left, right=right):
            parts = text(left), text(right)
            return None if parts == (None, None) else "".join(one or VALUE for one in parts)
    return None


def worded(tree):
    """Line and text of every string that gives a length its unit."""
    every = list(ast.walk(tree))
    passed = docstrings(every)
    # Put together or not, a text has its unit from a piece of it: most files have none.
    if not any(
        isinstance(one, ast.Constant)
        and isinstance(one.value, str)
        and one not in passed
        and IN_A_PIECE.search(one.value)
        for one in every
    ):
        return []

    def walk(node):
        if node in passed:
            return
        whole = text(node)
        if whole is not None:
            bare = TYPED.sub("", whole)
            for phrase in FIXED:
                bare = bare.replace(phrase, "")
            if WORDED.search(bare):
                yield node.lineno, whole
        # Parts of a text are seen in it; what is put into it is looked at by itself.
        for child in ast.iter_child_nodes(node):
            if whole is None or text(child) is None:
                yield from walk(child)
            else:
                yield from inner(child)

    def inner(node):
        for child in ast.iter_child_nodes(node):
            yield from walk(child) if text(child) is None else inner(child)

    return list(walk(tree))


def modules():
    for path in FILES:
        name = str(path.relative_to(PACKAGE))
        if not any(name == one or (one.endswith("/") and name.startswith(one)) for one in EXCEPTIONS):
            yield name


def test_no_module_words_a_length_by_itself():
    found = {name: worded(tree(PACKAGE / name)) for name in modules()}
    assert {name: lines for name, lines in found.items() if lines} == {}, "`Log.lengths` words it"


def test_every_exception_is_still_needed():
    for name in EXCEPTIONS:
        found = sorted(PACKAGE.glob(f"{name}**/*.py" if name.endswith("/") else name))
        assert any(worded(tree(path)) for path in found), name


@pytest.mark.parametrize(
    "source",
    [
        'f"{length:.0f} m"',
        'f"{length:.0f} m apart"',
        'f"{number(length)}{NO_BREAK}m{way}"',
        'f"{number(length)}\\u00a0ft"',
        'f"out by {number(length)}m"',
        'number(length) + NO_BREAK + "m"',
        'number(length) + " ft"',
        'Column(name="Ground", unit="m")',
        '"m, 1 sd"',
        'f"± {sd} metres"',
        '"Thickness between contacts, metres"',
        '"read again 5 m off"',
        'f"a {kind} of {length} m; see `pace 0.76 m`"',
        "f'within {f\"{length} m\" if length else reach}'",
    ],
)
def test_a_unit_put_after_a_figure_by_hand_is_found(source):
    assert worded(ast.parse(f"words = {source}"))


@pytest.mark.parametrize(
    "source",
    [
        'f"add a line such as `pace {who} double 1.52 m`"',
        '"a wrong pace length, feet taken for metres throughout, or a wrong start"',
        'f"{size:.0f} mm on paper"',
        'f"{area:.0f} m²"',
        'f"{count} more"',
        '"left of the foot of the page"',
        'f"{lengths.said(length)} apart"',
        'def f():\n    """A length in metres: `24 m`."""',
    ],
)
def test_what_is_no_length_is_let_be(source):
    assert not worded(ast.parse(source if source.startswith("def") else f"words = {source}"))


# --- a party in feet -----------------------------------------------------------------------------------------

METRES_TOLD = re.compile(r"\d[\d.,\u00a0]*[ \u00a0]?m(?![\w²])")
OF_THE_GRID = re.compile(r"Metres to 1 m|heights(?: of [^ ]+)? \d+\u00a0m apart|\d\u00a0m\u00a0[EN]$")
"""How far coordinates of the grid go, in what they stand at the frame, and how far apart those of a file of heights are."""


def told(compiled):
    """All that a user reads: messages with their hints, the report, and the words of every page, by where they stand."""
    for one in compiled.diagnostics:
        yield one.code, " / ".join((one.message, *one.hints, *(label.text for label in one.labels)))
    if compiled.trav is None:
        return
    yield "report", plain_text(report(compiled.trav, compiled.diagnostics))
    for name, document in pages(compiled):
        for page in document.pages:
            for one in flat(page.items):
                if isinstance(one, Text):
                    yield name, one.text


def pages(compiled):
    trav = map_ground(compiled.trav)
    template = read_template("field").value
    composed = compose(trav, compiled.diagnostics, template=template, mark="a", report=True)
    yield "sheet", composed.value
    blank = compose_blank(trav, lay=blank_ground, template=template, mark="a", give=PARTS)
    yield "handout", blank.value
    if compiled.trav.survey.places:
        shown = compose_overlay(trav, compiled.diagnostics, template=template, mark="a", handout=blank.value)
        yield "film", shown.value
    yield "section alone", section_document(trav, mark="a") or Document(pages=(), title="")
    yield "net alone", net_document(trav, mark="a") or Document(pages=(), title="")


@pytest.mark.every(2)
@pytest.mark.parametrize("path", some(logs(), 12), ids=lambda path: path.stem)
def test_a_log_in_feet_tells_no_length_in_metres(path, monkeypatch):
    """Each log as if its party had taped in feet: what was typed in metres stays so, and nothing else."""
    monkeypatch.setattr(Log, "lengths", FEET)
    source = Source(name=path.name, text=path.read_text(encoding="utf-8"))
    read = [source.text]

    def load(name):
        data = LogFiles(str(path)).load(name)
        if name.endswith((".trav", ".txt")):
            read.append(data.decode("utf-8"))
        return data

    compiled = compile_log(source, load=load)
    typed = "".join(read).replace(" ", "")
    found = [
        (where, words)
        for where, words in told(compiled)
        for length in METRES_TOLD.findall(OF_THE_GRID.sub("", TYPED.sub("", words)))
        if length.replace("\u00a0", "").replace(" ", "") not in typed
    ]
    assert found == []


SOUTHERN = next(path for path in logs() if path.stem == "southern-feet")


def southern():
    return compile_log(
        Source(name=SOUTHERN.name, text=SOUTHERN.read_text(encoding="utf-8")),
        load=LogFiles(str(SOUTHERN)).load,
    )


def test_tables_say_which_figures_are_feet_and_which_are_metres():
    trav = southern().trav
    stops = gather(trav)
    heads = {column.name: column.unit for column in station_columns(trav.log, trav.survey)}
    assert [heads[name] for name in ("East", "North", "Height", "± H")] == ["grid m", "grid m", "ft", "ft"]
    assert heads["± E N"].startswith("ft, ")
    (first, *_), _ = station_rows(trav.log, trav.survey, stops)
    # As booked: `control 1 311200 E 6212400 N 984 ft ±10 ft map`.
    assert [plain(cell).replace("\u00a0", "") for cell in first.cells[1:4]] == ["311200", "6212400", "984"]
    assert "map, ±\u00a010\u00a0ft" in first.cells
    contacts = contacts_table(trav, stops)
    # As the legend and the tasks say: ± 33 ft and ± 17 ft.
    units = [one.unit for one in contacts.columns if one.name in {"East", "North", "±"}]
    assert units == ["grid m", "grid m", "ft"]
    assert [row.cells[7] for row in contacts.rows] == ["33", "17"]
    legs = legs_table(trav.log, trav.survey)
    assert [one.unit for one in legs.columns if one.unit in {"m", "ft"}] == ["ft"] * 5
    ground = [row.cells[6] for row in legs.rows[:4]]
    # `to 2 123 226ft`, and on.
    assert ground == ["226", "192", "228", "214"]


def numbers(value):
    """Figures of a JSON document, its words left aside."""
    match value:
        case dict():
            return {key: numbers(one) for key, one in value.items()}
        case list():
            return [numbers(one) for one in value]
        case str():
            return None
    return value


def test_the_json_is_in_metres_whatever_the_party_measures_in(monkeypatch):
    def exported():
        found = southern()
        return numbers(json.loads(write_json(found.log, found.trav, found.diagnostics)))

    in_feet = exported()
    monkeypatch.setattr(Log, "lengths", METRES)
    assert in_feet == exported()


# An invented log in which as much as may be is wrong, by a party that tapes in feet.
WRONG = """notation 1
grid EPSG:32630
bearings grid
attitudes dip-direction
distances feet
pace MO double 20 ft in 2, 2
adjust compass-rule
control 1 500000 E 6000000 N 300 ft ±6 ft gps
control 1 500050 E 6000000 N 300 ft ±6 ft gps
at 1
  elevation 300 ft altimeter
to 2 045 210 +3
  elevation 500 ft altimeter
to 3 130 200 -2
  bed 045/30
close 1 270 400 +0
  elevation 320 ft altimeter
"""


@pytest.mark.parametrize(
    ("code", "words"),
    [
        # 20 ft in two paces; 0.4 to 2.2 m is what people walk.
        ("pace-length", "of 10.00 ft is unusual; 3.3 to 7.2 ft is"),
        # 50 m.
        ("fixes-disagree", "164 ft apart"),
        # 210 ft up 3° are 11 ft; a reading that all else contradicts is told as booked.
        ("elevation-disagrees", "500 ft, lies 189 ft above what the rest of the walk gives, 311 ft"),
        # The legs are 210, 200 and 400 ft.
        ("closure-fails", "in 810 ft"),
        ("drift", "+20 ft"),
    ],
)
def test_messages_of_every_step_are_in_feet_for_a_party_in_feet(code, words):
    found = compile_log(Source(name="wrong.trav", text=WRONG), load=lambda _: b"")
    assert any(one.code == code and words in one.message for one in found.diagnostics)
