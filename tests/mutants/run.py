"""Puts small faults into the numerical core, one at a time, and sees whether a test notices.

`python tests/mutants/run.py --faults 200` draws so many from all that could be put in, `--room adjustment` from one room,
`--within ground/beside` from one file, `--seed 3` draws others. Each fault has a copy of the process to itself, which
has imported libraries alone: what is made while the program is imported has the fault too. It then runs the tests that
come to its line, those of its name and room first, up to the first that fails or `--most` seconds, and after them the
digests of some logs. A digest sees that something changed, and holds what somebody looked at; the figures are given with
and without it. Which tests come to which line is found out by `--map`, once, and kept in the folder `--state` with what
came of each fault, so that a run goes on where it ended. Tests that start a program of their own don't notice.

It prints each fault that survives, to be read by eye, and their share. What can't be noticed, as it changes nothing, is
listed with its reason in `equal.txt` beside this file.
"""

import argparse
import ast
import contextlib
import hashlib
import importlib
import json
import os
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass
from functools import cache
from importlib.machinery import SourceFileLoader
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
ROOMS = {
    "reduction": (("reduction",), ("reduction", "oracle", "published")),
    "angles": (("angle.py", "length.py", "settled.py"), ("oracle", "reduction", "notation", "structure/readings")),
    "adjustment": (("adjustment",), ("oracle", "adjustment")),
    "location": (("location",), ("oracle", "location", "published")),
    "heights": (("heights",), ("heights", "location", "ground")),
    "structure": (("structure",), ("oracle", "structure", "published")),
    "ground": (("ground",), ("ground", "structure", "sheet/map")),
    "drawing": (
        ("sheet/signs", "sheet/map/north.py", "sheet/map/grid_ticks.py", "sheet/map/framing.py", "sheet/paper/window.py"),
        ("sheet/map", "sheet/signs", "published", "sheet/section", "output"),
    ),
}  # fmt: skip
"""What faults are put into, below `traverse/`, and the tests that should notice first, below `tests/`."""
LAST = ("tests/reference/",)
EQUAL = Path(__file__).with_name("equal.txt")
SLOWER = 5.0
"""How many times as long as without a fault tests may take; what takes longer has been noticed."""
SEEN_ENOUGH = 40
"""Calls of a function after which it is no longer looked at which of its lines a test comes to."""
DIGESTS_OF = (
    "ternel-point", "readings", "southern-feet", "faults", "intrusive-bodies", "traced", "party-aside", "four-parties",
    "plunging-fold", "unconformity",
)  # fmt: skip
"""Logs whose digests are held against what a fault makes of them, after all other tests: some seconds together."""
LIBRARIES = ("numpy", "shapely", "pyproj", "lark", "reportlab.pdfgen.canvas", "hypothesis", "pytest")
"""What is imported before the process is copied, so that each copy has none of ours yet."""
_IMPORTED = "ignore::pytest.PytestAssertRewriteWarning"
_SWAPPED = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Lt: ast.LtE, ast.LtE: ast.Lt,
    ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.And: ast.Or, ast.Or: ast.And, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
}  # fmt: skip
_NAMES = {"sin": "cos", "cos": "sin", "min": "max", "max": "min", "east_m": "north_m", "north_m": "east_m"}


@dataclass(frozen=True)
class Fault:
    """One small change of one file."""

    key: str
    """Its file, the text of its line and what is changed: the same where lines move."""
    path: str
    line: int
    number: int
    """Of the change, among all of the file."""
    lines: range | None
    """Of the statement that it stands in; none outside of functions, which a test comes to with the file."""
    function: range | None
    """The lines of the innermost function around it."""


class _Changes(ast.NodeTransformer):
    """Walks a file in one order; makes the change with the wanted number, and notes all."""

    def __init__(self, wanted=None):
        self.wanted = wanted
        self.found = []

    def _one(self, node, what):
        self.found.append((node.lineno, what))
        return self.wanted == len(self.found) - 1

    def visit_BinOp(self, node):
        self.generic_visit(node)
        swapped = _SWAPPED.get(type(node.op))
        words = any(isinstance(one, ast.JoinedStr) for one in (node.left, node.right)) or isinstance(
            getattr(node.left, "value", None), str
        )
        if not swapped or words:
            return node
        if self._one(node, f"{type(node.op).__name__} → {swapped.__name__}"):
            node.op = swapped()
        elif swapped in {ast.Add, ast.Sub} and self._one(node, f"{ast.unparse(node.right)} dropped"):
            return node.left
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


@cache
def _text(path):
    """Of a file as it was imported, though it may be edited while faults are tried."""
    return Path(path).read_text("utf-8")


def possible(rooms):
    """Every fault that could be put into some rooms."""
    found, times = [], Counter()
    for room in rooms:
        for place in ROOMS[room][0]:
            at = ROOT / "traverse" / place
            for path in sorted(at.rglob("*.py")) if at.is_dir() else [at]:
                text = _text(path)
                changes, lines, tree = _Changes(), text.splitlines(), ast.parse(text)
                statements = _statements(tree)
                functions = [
                    range(one.lineno, (one.end_lineno or one.lineno) + 1)
                    for one in ast.walk(tree)
                    if isinstance(one, ast.FunctionDef)
                ]
                changes.visit(tree)
                for number, (line, what) in enumerate(changes.found):
                    within, function = (
                        min((one for one in some if line in one), key=len, default=None)
                        for some in (statements, functions)
                    )
                    name = f"{path.relative_to(ROOT)} | {lines[line - 1].strip()} | {what}"
                    times[name] += 1
                    key = name if times[name] == 1 else f"{name} ({times[name]})"
                    found.append(Fault(key, str(path.relative_to(ROOT)), line, number, within, function))
    return found


def _statements(tree):
    """The lines of each statement in a function; of one that holds others, its head alone."""
    functions = [one for one in ast.walk(tree) if isinstance(one, ast.FunctionDef)]
    inside = {
        id(one): one for function in functions for one in ast.walk(function) if isinstance(one, ast.stmt)
    }
    return [
        range(one.lineno, one.body[0].lineno if getattr(one, "body", None) else one.end_lineno + 1)
        for one in inside.values()
        if not isinstance(one, ast.FunctionDef)
    ]


def room_of(path):
    """The room that a file stands in."""
    below = path.removeprefix("traverse/")
    return next(
        room
        for room, (places, _) in ROOMS.items()
        if any(below == one or below.startswith(f"{one}/") for one in places)
    )


def put_in(fault):
    """Have a file read with the fault in it when it is imported: tables that are made then have it too."""
    path = str(ROOT / fault.path)
    tree = ast.fix_missing_locations(_Changes(fault.number).visit(ast.parse(_text(Path(path)))))
    code = compile(tree, path, "exec", dont_inherit=True)
    usual = SourceFileLoader.get_code
    SourceFileLoader.get_code = lambda loader, name: code if loader.path == path else usual(loader, name)


class _First:
    """The first test that fails, or a file of tests that can't be read."""

    def __init__(self):
        self.failed = None

    def pytest_configure(self, config):
        from hypothesis import Phase, settings

        settings.register_profile("mutants", database=None, phases=[Phase.explicit, Phase.generate])
        settings.load_profile("mutants")

    def pytest_runtest_logreport(self, report):
        if report.failed:
            self.failed = self.failed or report.nodeid

    pytest_collectreport = pytest_runtest_logreport


class _Lines:
    """Which lines of the rooms are come to."""

    def __init__(self, files):
        self.files = files
        self.seen = {one: set() for one in files}
        self.calls = Counter()

    def __call__(self, frame, event, _):
        code = frame.f_code
        if code.co_filename not in self.files or self.calls[code] > SEEN_ENOUGH:
            return None
        self.calls[code] += 1
        seen = self.seen[code.co_filename]
        seen.add(frame.f_lineno)

        def line(frame, event, _):
            seen.add(frame.f_lineno)
            return line

        return line


class _Copies:
    """Runs what is asked in copies of the process."""

    def __init__(self, options):
        self.options = options
        self.state = options.state

    def copies(self, jobs, done):
        """Run each `(what, function, seconds)` in a process of its own, so many at a time."""
        running, waiting = {}, iter(jobs)
        more = True
        while running or more:
            while more and len(running) < self.options.jobs:
                try:
                    what, function, seconds = next(waiting)
                except StopIteration:
                    more = False
                    break
                folder = Path(tempfile.mkdtemp(prefix="mutant"))
                pid = os.fork()
                if not pid:
                    self._child(function, folder)
                running[pid] = (what, folder, time.monotonic(), seconds)
            for pid in list(running):
                what, folder, began, seconds = running[pid]
                ended, status = os.waitpid(pid, os.WNOHANG)
                took = time.monotonic() - began
                if not ended and took > seconds:
                    with contextlib.suppress(ProcessLookupError):
                        os.killpg(pid, signal.SIGKILL)
                    os.waitpid(pid, 0)
                    status = None
                if ended or status is None:
                    del running[pid]
                    answer = folder / "answer"
                    done(what, json.loads(answer.read_text()) if answer.exists() else None, status, took)
                    shutil.rmtree(folder, ignore_errors=True)
            time.sleep(0.02)

    def _child(self, function, folder):
        os.setsid()
        nothing = os.open(os.devnull, os.O_RDWR)
        for one in (0, 1, 2):
            os.dup2(nothing, one)
        try:
            answer = function(folder / "tmp")
        except BaseException as error:  # noqa: BLE001 - a fault may do anything
            answer = {"unfit": repr(error)}
        (folder / "answer").write_text(json.dumps(answer))
        os._exit(0)


class _Map(_Copies):
    """Collects the tests once, and sees which lines each file of them comes to."""

    def __init__(self, options):
        super().__init__(options)
        self.files = {str(ROOT / one.path) for one in possible(list(ROOMS))}
        self.files |= {str(one) for one in (ROOT / "tests").rglob("*.py")}

    def pytest_runtestloop(self, session):
        self.session = session
        self.items = {}
        for one in session.items:
            alone = one.nodeid.startswith(LAST)  # each log by itself: some fail at once, and all take long
            self.items.setdefault(one.nodeid if alone else one.nodeid.split("::")[0], []).append(one)
        self.map()
        return True

    def run(self, names):
        """The first test that fails in some files, or None."""
        items = [one for name in names for one in self.items.get(name, ())]
        self.session.items = items
        for one, following in zip(items, [*items[1:], None], strict=False):
            self.session.config.hook.pytest_runtest_protocol(item=one, nextitem=following)
            if self.session.testsfailed:
                return one.nodeid
        return None

    def map(self):
        """Which lines each file of tests comes to, and how long it takes; those known already are left."""
        at = self.state / "map.jsonl"
        known = {json.loads(line)["tests"] for line in at.read_text().splitlines()} if at.exists() else set()

        def one(name):
            def traced(folder):
                folder.mkdir()
                self.session.config._tmp_path_factory._basetemp = folder
                lines = _Lines(self.files)
                began = time.process_time()
                sys.settrace(lines)
                failed = self.run([name])
                sys.settrace(None)
                lines = {
                    str(Path(path).relative_to(ROOT)): sorted(seen)
                    for path, seen in lines.seen.items()
                    if seen
                }
                return {"failed": failed, "seconds": time.process_time() - began, "lines": lines}

            return traced

        def done(name, answer, status, took):
            print(
                f"{name}: {took:.0f} s, failed {answer and answer.get('failed')} {status or ''}",
                file=self.options.out,
                flush=True,
            )
            if answer and "lines" in answer and not answer["failed"]:
                with at.open("a") as file:
                    file.write(json.dumps({"tests": name, **answer}) + "\n")

        self.copies(((name, one(name), 1500.0) for name in self.items if name not in known), done)


def _digests(logs):
    """What asks for the tests that hold the digests of some logs, each in the ways whose turn it is."""
    return (
        ["tests/reference/test_reference.py", "-k", " or ".join(f"[{one}-" for one in logs)] if logs else []
    )


class _Faults(_Copies):
    """Draws faults, puts each into a copy of the process, tests, and prints."""

    def __init__(self, options):
        super().__init__(options)
        self.mapped = [json.loads(line) for line in (self.state / "map.jsonl").read_text().splitlines()]
        self.seconds = {one["tests"]: one["seconds"] for one in self.mapped}
        self.held = []
        self.comes = {
            (one["tests"], path): set(lines) for one in self.mapped for path, lines in one["lines"].items()
        }

    def asserts(self):
        """Print each assert of a test that no run comes to: in a loop over nothing, or behind what is never so."""
        seen = {}
        for one in self.mapped:
            for path, lines in one["lines"].items():
                seen.setdefault(path, set()).update(lines)
        run = {one["tests"] for one in self.mapped}
        for path in sorted(seen):
            if path.startswith("tests/") and (path in run or not Path(path).name.startswith("test_")):
                tree = ast.parse((ROOT / path).read_text("utf-8"))
                lines = [one.lineno for one in ast.walk(tree) if isinstance(one, ast.Assert)]
                for line in sorted(set(lines) - seen[path]):
                    print(f"{path}:{line}", file=self.options.out)

    def run(self):
        """Draw, put in, test, print."""
        options = self.options
        for one in LIBRARIES:
            importlib.import_module(one)
        at = self.state / "faults.jsonl"
        known = {}
        if at.exists():
            known = {one["key"]: one for one in map(json.loads, at.read_text().splitlines())}
        every = [
            one
            for one in possible(options.room or list(ROOMS))
            if not options.within or any(part in one.path for part in options.within)
        ]
        every.sort(key=lambda one: hashlib.sha256(f"{options.seed} {one.key}".encode()).digest())
        drawn = every[: options.faults]
        equal = _equal()
        print(f"{len(drawn)} of {len(every)} faults", file=options.out, flush=True)

        def one(fault):
            names = self.near(fault)

            def tried(folder):
                put_in(fault)
                return {"seen": self.first(names, folder) or self.first(_digests(self.held), folder)}

            return fault, tried, 90.0 + SLOWER * sum(self.seconds.get(name, 5.0) for name in names)

        def done(fault, answer, status, took):
            answer = answer or {"seen": "never ended" if status is None else f"status {status}"}
            got = {"key": fault.key, "took": round(took, 1), **answer}
            known[fault.key] = got
            with at.open("a") as file:
                file.write(json.dumps(got) + "\n")

        if options.again:
            known = {one: got for one, got in known.items() if got.get("seen")}
        wanted = [one for one in drawn if one.key not in known and one.key not in equal]
        self.hold_digests()
        self.copies((one(fault) for fault in wanted), done)
        self.told(drawn, known, equal)

    def near(self, fault):
        """The tests to try first, as many as there is time for; none that only holds digests."""
        places = ROOMS[room_of(fault.path)][1]

        def rank(name):
            near = name == fault.path or any(name.startswith(f"tests/{one}") for one in places)
            return not near, self.seconds[name]

        tests = [
            name
            for name in self.seconds
            if not name.startswith(LAST) and (ROOT / name.split("::")[0]).exists()
        ]
        come = [name for name in tests if self._comes(name, fault.path, fault.lines)]
        # Of a function that a test calls often the map has not every line.
        beside = {name for name in tests if self._comes(name, fault.path, fault.function)}.difference(come)
        # Tables that are made as a file is imported are come to by no test while it runs.
        named = [name for name in tests if Path(fault.path).stem in Path(name).stem]
        come = [*come, *beside] or [name for name in tests if not rank(name)[0] or name in named]
        names, sum_s = [], 0.0
        for name in sorted(come, key=lambda name: (name not in named, name in beside, *rank(name))):
            sum_s += self.seconds[name]
            if names and sum_s > self.options.most:
                break
            names.append(name)
        return names

    def hold_digests(self):
        """Tests of the digests of some logs; not those that fail without a fault, which would notice every one."""

        def tried(folder):
            return {"held": [one for one in DIGESTS_OF if not self.first(_digests([one]), folder)]}

        def done(what, answer, status, took):
            self.held = (answer or {}).get("held", [])
            for one in DIGESTS_OF:
                if one not in self.held:
                    print(f"differs without a fault, left out: {one}", file=self.options.out, flush=True)

        self.copies([("digests", tried, 600.0)], done)

    @staticmethod
    def first(names, folder):
        """The first test that fails in some files, or None."""
        import pytest

        if not names:
            return None
        first = _First()
        words = [
            "-q",
            "-x",
            "-p",
            "no:cacheprovider",
            "-p",
            "no:xdist",
            # Else files whose examples are run are read anew, without the fault.
            "--assert=plain",
            "-W",
            _IMPORTED,
            f"--basetemp={folder}",
            *names,
        ]
        status = pytest.main(words, plugins=[first])
        if status == pytest.ExitCode.USAGE_ERROR:
            raise LookupError(f"no tests {names}")
        return first.failed or (f"status {status}" if status else None)

    def told(self, drawn, known, equal):
        """Print what survived, and the figures of each room."""
        out = self.options.out
        table = {room: Counter() for room in ROOMS}
        for fault in drawn:
            got = known.get(fault.key, {})
            seen = got.get("seen") or ""
            kind = (
                "equal" if fault.key in equal
                else "untried" if not got
                else "unfit" if "unfit" in got
                else "digests alone" if seen.startswith(LAST)
                else "killed" if seen
                else "survived"
            )  # fmt: skip
            table[room_of(fault.path)][kind] += 1
            if kind in {"survived", "digests alone"}:
                print(f"{kind} {fault.line}: {fault.key}", file=out)
        for room, counts in table.items():
            if counts:
                print(room, dict(counts), file=out)
        whole = sum(table.values(), Counter())
        fit = whole["killed"] + whole["digests alone"] + whole["survived"]
        for words, survived in (
            ("with digests", whole["survived"]),
            ("without", whole["survived"] + whole["digests alone"]),
        ):
            print(f"{words}: {survived} of {fit} survived, {100 * survived / max(fit, 1):.1f} %", file=out)

    def _comes(self, name, path, lines):
        seen = self.comes.get((name, path), set())
        return not seen.isdisjoint(lines) if lines else bool(seen)


def _equal():
    """Faults that change nothing a user could see, by key."""
    if not EQUAL.exists():
        return set()
    lines = [
        line for line in EQUAL.read_text("utf-8").splitlines() if line and not line.startswith(("#", "    "))
    ]
    return set(lines)


def main():
    """Collect, then map or draw."""
    told = argparse.ArgumentParser(description=__doc__)
    told.add_argument("--map", action="store_true", help="find out which tests come to which line")
    told.add_argument("--asserts", action="store_true", help="print the asserts that no test comes to")
    told.add_argument("--again", action="store_true", help="try those that survived once more")
    told.add_argument("--faults", type=int, default=100)
    told.add_argument("--room", choices=ROOMS, action="append")
    told.add_argument("--within", action="append", metavar="PATH", help="only files with this in their path")
    told.add_argument("--seed", type=int, default=1)
    told.add_argument("--most", type=float, default=600.0, help="seconds of tests to try a fault with")
    told.add_argument("--jobs", type=int, default=2)
    told.add_argument("--state", type=Path, default=Path(tempfile.gettempdir()) / "traverse-mutants")
    told.add_argument("tests", nargs="*", default=["tests", "traverse"])
    options = told.parse_args()
    options.state.mkdir(exist_ok=True)
    options.out = os.fdopen(os.dup(1), "w")
    sys.path.insert(0, str(ROOT))
    os.chdir(ROOT)
    os.environ.update(OPENBLAS_NUM_THREADS="1")
    if not options.map:
        faults = _Faults(options)
        (faults.asserts if options.asserts else faults.run)()
        return
    import pytest

    words = ["-q", "-p", "no:cacheprovider", "-p", "no:xdist", "--capture=sys", *options.tests]
    sys.exit(pytest.main(words, plugins=[_Map(options)]))


if __name__ == "__main__":
    main()
