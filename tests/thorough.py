"""Which cases of a test are run by default, and which only where all are asked for: `pytest -m thorough`."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import combinations, product
from zlib import crc32

import pytest

THOROUGH = pytest.mark.thorough
_wanted = {"everything": True}


def everything(*, wanted: bool) -> None:
    """Whether cases that are thorough are made at all; one in three is, and each takes its time to be left out again."""
    _wanted["everything"] = wanted


def either(few: int, many: int) -> int:
    """How many of what one test goes through by itself: a few by default, many where everything is run."""
    return many if _wanted["everything"] else few


def some(cases: Iterable, kept: Iterable | int) -> list:
    """The cases as they are, but those not `kept` thorough; a number keeps every so many, the first among them."""
    cases = list(cases)
    chosen = set(range(0, len(cases), kept)) if isinstance(kept, int) else _places(cases, kept)
    return [one if at in chosen else _thorough(one) for at, one in enumerate(cases) if _made(at in chosen)]


def pairs(*axes: Iterable) -> list:
    """The whole product of some axes, of which so few are run by default that each two values of two axes meet in one."""
    axes = [list(axis) for axis in axes]
    return _covering(axes, 2)


def each(*axes: Iterable) -> list:
    """The whole product of some axes, of which so few are run by default that each value of each axis is in one."""
    return _covering([list(axis) for axis in axes], 1)


def take_turns(items: Iterable[pytest.Item]) -> None:
    """What is collected of tests that are `in_turn`: all cases thorough but those that are needed to see each value.

    Of those with `every(n)`, all but each n-th, the first among them.
    """
    counts: dict[tuple, int] = {}
    of_test: dict[tuple, list[pytest.Item]] = {}
    for item in items:
        # Looked for once: most of ten thousand have none.
        marks = {one.name: one for one in item.iter_markers()}
        if not marks or "thorough" in marks:
            continue
        test = item.path, getattr(item, "originalname", item.name)
        if "in_turn" in marks:
            of_test.setdefault(test, []).append(item)
        elif every := marks.get("every"):
            at = counts.setdefault(test, 0)
            counts[test] += 1
            if at % every.args[0]:
                item.add_marker(THOROUGH)
    for cases in of_test.values():
        whole = [tuple(one.callspec._idlist) for one in cases]
        chosen = _needed(whole, 1)
        for item, case in zip(cases, whole, strict=True):
            if case not in chosen:
                item.add_marker(THOROUGH)


def _needed(whole: list[tuple], strength: int) -> set[tuple]:
    """Of some cases so few that each so many values that stand together in one stand together in one of these."""
    missing = {one for case in whole for one in _groups(case, strength)}
    chosen = set()
    while missing:
        # Of those that bring as much the one whose places differ most, so that no value is met over and over.
        best = max(
            whole, key=lambda case: (len(missing.intersection(_groups(case, strength))), -_met(case, chosen))
        )
        chosen.add(best)
        missing.difference_update(_groups(best, strength))
    return chosen


def _covering(axes: list[list], strength: int) -> list:
    whole = list(product(*(range(len(axis)) for axis in axes)))
    chosen = _needed(whole, strength)
    cases = [tuple(axis[at] for axis, at in zip(axes, case, strict=True)) for case in whole]
    both = zip(whole, cases, strict=True)
    return [one if case in chosen else _thorough(one) for case, one in both if _made(case in chosen)]


def _made(chosen: bool) -> bool:
    return chosen or _wanted["everything"]


def _groups(case: tuple, strength: int) -> Iterator[tuple]:
    return combinations(enumerate(case), strength)


def _met(case: tuple, chosen: set[tuple]) -> int:
    return sum(one == other for done in chosen for one, other in zip(case, done, strict=True))


def _places(cases: list, kept: Iterable) -> set[int]:
    return {cases.index(one) for one in kept}


def _thorough(case):
    return pytest.param(*(case if isinstance(case, tuple) else (case,)), marks=THOROUGH)


def share_of(items: Iterable[pytest.Item], share: str) -> tuple[list[pytest.Item], list[pytest.Item]]:
    """The thorough tests of a share such as `3/8`, the third of eight, and the rest; cases of one test stay together."""
    number, of = (int(one) for one in share.split("/"))
    mine, rest = [], []
    for item in items:
        test = f"{item.path.name} {getattr(item, 'originalname', item.name)}"
        belongs = crc32(test.encode()) % of == number % of
        (mine if belongs and item.get_closest_marker("thorough") else rest).append(item)
    return mine, rest
