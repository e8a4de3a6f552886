"""Puts small faults into the numerical core, one at a time, and sees whether a test notices.

`python tests/mutants/run.py --faults 200` draws so many from all that could be put in, `--room adjustment` from one room,
`--seed 3` draws others. It works on a copy of the tree, in as many processes as are wanted (`--jobs`). Those that no
test of the room notices are tried against all tests. It prints each that survives, to be read by eye, and their share.
"""

import argparse
import ast
import os
import random
import shutil
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from queue import SimpleQueue

ROOT = Path(__file__).resolve().parents[2]
ROOMS = {
    "reduction": ("reduction", "oracle", "published"),
    "adjustment": ("adjustment", "oracle"),
    "location": ("location", "oracle", "published"),
    "heights": ("heights", "location", "ground"),
    "structure": ("structure", "oracle", "published", "ground"),
    "ground": ("ground", "structure"),
    "sheet/signs": ("sheet/signs", "published", "sheet/map"),
}
"""What faults are put into, and the tests that should notice first."""
FILES = ("angle.py", "length.py", "settled.py")
QUICK = ("reduction", "location", "oracle", "published", "structure/readings")
SECONDS = 900
_SWAPPED = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Lt: ast.LtE, ast.LtE: ast.Lt,
    ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.And: ast.Or, ast.Or: ast.And, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
}  # fmt: skip
_NAMES = {"sin": "cos", "cos": "sin", "min": "max", "max": "min", "east_m": "north_m", "north_m": "east_m"}


@dataclass(frozen=True)
class Fault:
    """One small change of one file."""

    path: str
    line: int
    what: str
    number: int
    """Of the change, among all of the file."""


class _Changes(ast.NodeTransformer):
    """Walks a file in one order; makes the change with the wanted number, and notes all."""

    def __init__(self, wanted: int | None = None):
        self.wanted = wanted
        self.found: list[tuple[int, str]] = []

    def _one(self, node, what):
        self.found.append((node.lineno, what))
        return self.wanted == len(self.found) - 1

    def visit_BinOp(self, node):
        self.generic_visit(node)
        swapped = _SWAPPED.get(type(node.op))
        words = any(isinstance(one, ast.JoinedStr) for one in (node.left, node.right)) or isinstance(
            getattr(node.left, "value", None), str
        )
        if swapped and not words and self._one(node, f"{type(node.op).__name__} → {swapped.__name__}"):
            node.op = swapped()
        return node

    def visit_BoolOp(self, node):
        self.generic_visit(node)
        if self._one(node, f"{type(node.op).__name__} → {_SWAPPED[type(node.op)].__name__}"):
            node.op = _SWAPPED[type(node.op)]()
        return node

    def visit_Compare(self, node):
        self.generic_visit(node)
        for at, op in enumerate(node.ops):
            # Whether a limit itself counts is seldom anyone's business; which side of it does always is.
            turned = {ast.Lt: ast.Gt, ast.Gt: ast.Lt, ast.LtE: ast.GtE, ast.GtE: ast.LtE}.get(
                type(op)
            ) or _SWAPPED.get(type(op))
            if turned and self._one(node, f"{type(op).__name__} → {turned.__name__}"):
                node.ops[at] = turned()
        return node

    def visit_UnaryOp(self, node):
        self.generic_visit(node)
        if isinstance(node.op, ast.USub | ast.Not) and self._one(node, f"{type(node.op).__name__} dropped"):
            return node.operand
        return node

    def visit_Constant(self, node):
        if (
            isinstance(node.value, float)
            and node.value
            and self._one(node, f"{node.value} → {node.value * 1.25}")
        ):
            return ast.copy_location(ast.Constant(node.value * 1.25), node)
        return node

    def visit_Attribute(self, node):
        self.generic_visit(node)
        if node.attr in _NAMES and self._one(node, f"{node.attr} → {_NAMES[node.attr]}"):
            node.attr = _NAMES[node.attr]
        return node

    def visit_Call(self, node):
        self.generic_visit(node)
        name = node.func.id if isinstance(node.func, ast.Name) else None
        if name in _NAMES and len(node.args) > 1 and self._one(node, f"{name} → {_NAMES[name]}"):
            node.func.id = _NAMES[name]
        return node

    def visit_AnnAssign(self, node):
        if node.value is not None:
            node.value = self.visit(node.value)
        return node

    def visit_FunctionDef(self, node):
        if any(isinstance(one, ast.Name) and one.id == "overload" for one in node.decorator_list):
            return node
        node.body = [self.visit(one) for one in node.body]
        return node


def possible(rooms):
    """Every fault that could be put into some rooms."""
    found = []
    paths = [path for room in rooms for path in sorted((ROOT / "traverse" / room).rglob("*.py"))]
    paths += [ROOT / "traverse" / name for name in FILES] if len(rooms) > 1 else []
    for path in paths:
        if path.name in {"records.py", "__init__.py"}:
            continue
        changes = _Changes()
        changes.visit(ast.parse(path.read_text("utf-8")))
        found += [
            Fault(str(path.relative_to(ROOT)), line, what, number)
            for number, (line, what) in enumerate(changes.found)
        ]
    return found


def put_in(fault, tree):
    """Write the file with its fault into a copy of the tree."""
    parsed = ast.parse((ROOT / fault.path).read_text("utf-8"))
    text = ast.unparse(ast.fix_missing_locations(_Changes(fault.number).visit(parsed)))
    (tree / fault.path).write_text(text, "utf-8")


def tests_of(fault):
    """The folders whose tests should notice."""
    room = next((one for one in ROOMS if fault.path.startswith(f"traverse/{one}/")), None)
    return [f"tests/{one}" for one in (ROOMS[room] if room else QUICK)]


def noticed(tree, tests):
    """Whether a test fails; one that never ends is noticed too."""
    command = [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", *tests]
    surroundings = {**os.environ, "PYTHONPATH": str(tree), "PYTHONDONTWRITEBYTECODE": "1"}
    try:
        done = subprocess.run(
            command, cwd=tree, env=surroundings, capture_output=True, check=False, timeout=SECONDS
        )
    except subprocess.TimeoutExpired:
        return True
    if done.returncode not in {0, 1, 2}:
        raise RuntimeError(done.stdout.decode()[-2000:] + done.stderr.decode()[-2000:])
    return done.returncode != 0


def main():
    """Draw, put in, test, print."""
    told = argparse.ArgumentParser(description=__doc__)
    told.add_argument("--faults", type=int, default=100)
    told.add_argument("--room", choices=ROOMS, action="append")
    told.add_argument("--seed", type=int, default=1)
    told.add_argument("--jobs", type=int, default=2)
    told.add_argument("--rooms-only", action="store_true", help="do not try survivors against all tests")
    options = told.parse_args()
    every = possible(options.room or list(ROOMS))
    drawn = random.Random(options.seed).sample(every, min(options.faults, len(every)))  # noqa: S311 - no secret
    print(f"{len(drawn)} of {len(every)} faults", flush=True)
    with tempfile.TemporaryDirectory() as folder:
        trees: SimpleQueue[Path] = SimpleQueue()
        for number in range(options.jobs):
            tree = Path(folder) / str(number)
            shutil.copytree(
                ROOT, tree, ignore=shutil.ignore_patterns(".git", "*.pyc", "__pycache__", ".*_cache")
            )
            trees.put(tree)
        if noticed(Path(folder) / "0", sorted({one for fault in drawn for one in tests_of(fault)})):
            sys.exit("the tests fail without a fault")

        def tried(fault):
            tree = trees.get()
            try:
                put_in(fault, tree)
                return noticed(tree, tests_of(fault)) or (not options.rooms_only and noticed(tree, ["tests"]))
            finally:
                shutil.copy(ROOT / fault.path, tree / fault.path)
                trees.put(tree)

        survived = 0
        with ThreadPoolExecutor(options.jobs) as pool:
            for fault, seen in zip(drawn, pool.map(tried, drawn), strict=True):
                if not seen:
                    survived += 1
                    print(f"{fault.path}:{fault.line}: {fault.what}", flush=True)
    print(f"{survived} of {len(drawn)} survived, {100 * survived / len(drawn):.1f} %")


if __name__ == "__main__":
    main()
