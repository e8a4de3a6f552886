"""Who may import whom: the table of DEVELOPERS.md, read off the import statements."""

import ast
import re
import sys
import tomllib
from importlib.metadata import packages_distributions
from itertools import chain
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "traverse"
ROOT = {
    "source",
    "trade",
    "diagnostic",
    "angle",
    "length",
    "numerals",
    "record",
    "resources",
    "settled",
    "version",
}
STEPS = {"log", "notation", "reduction", "adjustment", "location", "structure", "sheet", "output", "command"}

# Folder or module -> what it may import of ours; "x.records" allows only that module of a folder and of its rooms.
ALLOWED = {
    **dict.fromkeys(ROOT, ROOT),
    "__init__": {"version"},
    "log": ROOT | {"log"},
    "notation": ROOT | {"log", "notation"},
    "reduction": ROOT | {"log.records", "reduction"},
    "adjustment": ROOT | {"log.records", "reduction", "adjustment"},
    "location": ROOT | {"log.records", "reduction", "adjustment", "location"},
    "survey": ROOT | {"log.records", "reduction", "adjustment", "location"},
    "ground": ROOT | {"log.records", "location.records", "structure.records", "ground"},
    "structure": ROOT | {"log.records", "location.records", "ground.records", "structure"},
    "sheet": ROOT
    | {"log.records", "log.described", "location.records", "ground.records", "structure.records", "sheet"},
    "output": ROOT
    | {"log.records", "log.described", "location.records", "structure.records", "sheet", "output"},
    "compile": ROOT | {"log.records", "notation", "survey", "ground", "structure", "location.records"},
    "command": ROOT | STEPS | {"compile"},
    "__main__": ROOT | {"command"},
}


def ours(path):
    """Modules of ours that a file imports, without the package's name."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("traverse."):
            yield node.module.removeprefix("traverse.")
        elif isinstance(node, ast.Import):
            yield from (
                alias.name.removeprefix("traverse.")
                for alias in node.names
                if alias.name.startswith("traverse.")
            )


@pytest.mark.parametrize(
    "path", sorted(PACKAGE.rglob("*.py")), ids=lambda path: str(path.relative_to(PACKAGE))
)
def test_no_step_imports_a_later_one(path):
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    allowed = ALLOWED[parts[0]]
    for module in ours(path):
        records = re.sub(r"\.\w+\.records$", ".records", module)
        assert {module, records} & allowed or module.split(".")[0] in allowed, (
            f"{path.name} may not import {module}"
        )


def test_what_is_imported_is_declared():
    """An import that another package happens to bring fails on the day when it no longer does."""
    project = tomllib.loads((PACKAGE.parent / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    needs = [*project["dependencies"], *chain.from_iterable(project["optional-dependencies"].values())]
    declared = {re.match(r"[\w-]+", need).group().lower() for need in needs}
    made_by = packages_distributions()
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom):
                names = [node.module]
            elif isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            else:
                continue
            for name in {one.split(".")[0] for one in names} - sys.stdlib_module_names - {"traverse"}:
                assert {one.lower() for one in made_by[name]} & declared, f"{path.name} imports {name}"
