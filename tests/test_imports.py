"""Who may import whom: the table of DEVELOPERS.md, read off the import statements."""

import ast
import re
import sys
import tomllib
from collections import defaultdict
from importlib.metadata import packages_distributions
from itertools import chain

import pytest

from tests.program import FILES, PACKAGE, nodes, statements

ROOT = {
    "causes",
    "source",
    "toml_text",
    "trade",
    "diagnostic",
    "angle",
    "length",
    "nearest",
    "numerals",
    "record",
    "resources",
    "shapes",
    "settled",
    "version",
    "wording",
}
BOOKED = {"log.readings", "log.items", "log.records"}
"""The records of a log."""
# Steps in the order in which `compile` runs them. Each may import its own modules, and what its line names: "log.records"
# is that module of a folder or of one of its rooms, "log" all of it.
STEPS = {
    "log": set(),
    "points": set(),
    "notation": {"log", "points"},
    "reduction": BOOKED,
    "adjustment": {*BOOKED, "reduction"},
    "location": {*BOOKED, "reduction", "adjustment"},
    "survey": {*BOOKED, "reduction", "adjustment", "location"},
    "consensus": {*BOOKED, "log.united", "reduction", "adjustment", "location", "survey"},
    "heights": {"location.records"},
    "structure": {*BOOKED, "log.laid_down", "log.unit_order", "location.records", "heights.records"},
    "ground": {*BOOKED, "location.records", "heights.records", "structure.records"},
    "compile": {
        *BOOKED,
        "log.own_letters",
        "location.records",
        "notation",
        "survey",
        "consensus",
        "heights",
        "structure",
        "ground",
    },
    "compare": {
        *BOOKED,
        "log.united",
        "log.unit_order",
        "notation",
        "survey",
        "adjustment",
        "location",
        "structure",
        "ground.records",
        "compile",
    },
    "difference": {
        *BOOKED,
        "log.written_forms",
        "notation",
        "adjustment",
        "location.records",
        "structure",
        "ground.records",
        "compile",
        "compare",
    },
    "sheet": {
        *BOOKED,
        "log.described",
        "log.written_forms",
        "reduction.records",
        "location.records",
        "heights.records",
        "structure.records",
        "ground.records",
        "compare.records",
        "difference.records",
    },
    "layers": {
        *BOOKED,
        "log.described",
        "location.records",
        "structure.records",
        "ground.records",
        "sheet.paper",
        "sheet.said",
        "sheet.signs",
        "sheet.map",
    },
    "output": {
        *BOOKED,
        "log.described",
        "layers.records",
        "location.records",
        "compare.records",
        "difference.records",
        "structure.records",
        "ground.records",
        "sheet.paper",
        "sheet.said",
    },
    "season": {
        *BOOKED,
        "log.described",
        "location",
        "structure.records",
        "ground.records",
        "compile",
        "sheet",
        "layers.records",
        "output",
        "command.files",
        "command.drawing",
        "command.sheet",
    },
    "command": {
        "season",
        "notation",
        *BOOKED,
        "reduction",
        "ground.records",
        "compile",
        "compare",
        "difference",
        "sheet",
        "layers",
        "output",
    },
    "field_day": {*BOOKED, "notation", "compile", "sheet", "output", "command"},
    "__init__": {"field_day", "season"},
    "__main__": {"command"},
}
# Rooms of a step in the order in which they build on each other: each may import those before it, or what it names.
BASE = {"paper", "said", "signs", "template"}
ROOMS = {
    "structure": {
        "readings": set(),
        "walk": {"readings"},
        "thickness": {"readings", "walk"},
        "form": {"readings", "walk", "thickness"},
        "section": {"readings", "walk", "thickness", "form"},
    },
    "sheet": {
        "paper": set(),
        "said": {"paper"},
        "signs": {"paper", "said"},
        "template": {"paper", "said", "signs"},
        "map": BASE,
        "section": BASE,
        "tables": BASE,
        "legend": BASE,
        "notebook": BASE,
        "report": BASE | {"legend"},
        "compose": BASE | {"map", "section", "tables", "legend", "report"},
        "compared": BASE,
        "handout": BASE | {"map", "section", "tables", "legend", "report", "compose"},
    },
}
MOST_FILES = 20


def ours(path):
    """Modules of ours that a file imports, without the package's name."""
    for node in statements(path):
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("traverse."):
            yield node.module.removeprefix("traverse.")
        elif isinstance(node, ast.Import):
            yield from (
                alias.name.removeprefix("traverse.")
                for alias in node.names
                if alias.name.startswith("traverse.")
            )


def named(path):
    """A file as a module, without the package's name."""
    return ".".join(path.relative_to(PACKAGE).with_suffix("").parts).removesuffix(".__init__")


def may_import(step, module):
    """Whether a step may import a module of ours."""
    parts = module.split(".")
    first, last = parts[0], parts[-1]
    if step in ROOT:
        return module in ROOT
    if first in ROOT or first == step:
        return True
    allowed = STEPS[step]
    records = {f"{first}.records"} if last == "records" else set()
    return bool(allowed & {first, ".".join(parts[:2]), *records})


def test_no_step_imports_a_later_one():
    found = [
        f"{named(path)} may not import {module}"
        for path in FILES
        for module in ours(path)
        if not may_import(named(path).split(".")[0], module)
    ]
    assert found == []


@pytest.mark.parametrize("step", ROOMS)
def test_no_room_imports_one_that_builds_on_it(step):
    """Files beside the rooms, as the records of the whole step and what is worded for all of it, are free to all."""
    rooms = {path.parent.name for path in (PACKAGE / step).glob("*/*.py")}
    assert rooms == set(ROOMS[step])
    for room, allowed in ROOMS[step].items():
        for path in (PACKAGE / step / room).glob("*.py"):
            for module in ours(path):
                parts = module.split(".")
                if parts[0] == step and len(parts) > 2:
                    assert parts[1] in {room, *allowed}, f"{step}/{room}/{path.name} may not import {module}"


@pytest.mark.parametrize("step", ["sheet", "output"])
def test_what_draws_and_writes_asks_the_steps_before_for_records_only(step):
    """What follows from a walk is worked out before it comes to paper; the table of words is no working out."""
    for path in (PACKAGE / step).rglob("*.py"):
        for module in ours(path):
            first, last = module.split(".")[0], module.split(".")[-1]
            if first in {
                "reduction",
                "adjustment",
                "location",
                "heights",
                "structure",
                "ground",
                "compare",
                "difference",
                "log",
            }:
                assert last in {"records", "described", "written_forms"} or module in BOOKED, (
                    f"{path.name} may not import {module}"
                )


def test_a_sheet_fits_and_contours_nothing():
    """Statistics and linear algebra belong to the structure; but how far apart heights are drawn hangs on the scale."""
    kept = PACKAGE / "sheet" / "map" / "contours.py"
    for path in (PACKAGE / "sheet").rglob("*.py"):
        for node in nodes(path):
            if isinstance(node, ast.ImportFrom):
                names = [node.module, *(f"{node.module}.{alias.name}" for alias in node.names)]
            elif isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            else:
                names = [node.attr] if isinstance(node, ast.Attribute) else []
            words = {word for name in names for word in name.split(".")}
            assert not words & {"scipy", "linalg", "eigh"}, f"{path.name} works out what it draws"
            assert "contourpy" not in words or path == kept, f"{path.name} contours what it draws"


def test_no_files_import_each_other_in_a_circle():
    graph = {named(path): set(ours(path)) for path in FILES}
    done = set()

    def follow(module, way):
        assert module not in way, " -> ".join([*way[way.index(module) :], module])
        if module not in done:
            for other in sorted(graph.get(module, ())):
                follow(other, [*way, module])
            done.add(module)

    for module in sorted(graph):
        follow(module, [])


def test_no_name_of_a_class_and_of_a_file_means_two_things():
    """But for the records of each step."""
    classes, files = defaultdict(set), defaultdict(set)
    for path in FILES:
        if path.stem not in {"__init__", "records"}:
            files[path.stem].add(named(path))
        for node in nodes(path):
            if isinstance(node, ast.ClassDef):
                classes[node.name.lstrip("_")].add(named(path))
    for places in (classes, files):
        assert {name: where for name, where in places.items() if len(where) > 1} == {}


def test_no_folder_holds_more_files_than_a_reader_takes_in():
    folders = {path.parent for path in FILES}
    counts = {
        folder: sum(1 for one in folder.glob("*.py") if one.name != "__init__.py") for folder in folders
    }
    assert [str(folder) for folder, count in counts.items() if count > MOST_FILES] == []


def test_what_is_imported_is_declared():
    """An import that another package happens to bring fails on the day when it no longer does."""
    project = tomllib.loads((PACKAGE.parent / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    needs = [*project["dependencies"], *chain.from_iterable(project["optional-dependencies"].values())]
    declared = {re.match(r"[\w-]+", need).group().lower() for need in needs}
    made_by = packages_distributions()
    for path in PACKAGE.rglob("*.py"):
        for node in nodes(path):
            if isinstance(node, ast.ImportFrom):
                names = [node.module]
            elif isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            else:
                continue
            for name in {one.split(".")[0] for one in names} - sys.stdlib_module_names - {"traverse"}:
                assert {one.lower() for one in made_by[name]} & declared, f"{path.name} imports {name}"
