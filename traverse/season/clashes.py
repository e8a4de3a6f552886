"""What logs of one season say of one number, sample, unit or known point in two ways.

It is shown with the lines that say it. Which of them is right the logs can't tell.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from typing import NamedTuple, TypeAlias

from traverse.season.season_tables import Row, Rows
from traverse.wording import listed

_MOST_NAMED = 5
"""Places that a clash names one by one."""
_MOST_UNITS = 40
"""Of a list of units whose order is held against that of other lists."""
_MOST_ALIKE = 200
"""Photos of one number whose parties are held each against each."""


class _Said(NamedTuple):
    """What one log says, and where."""

    path: str
    line: int | None
    words: str

    @property
    def where(self) -> str:
        return self.path if self.line is None else f"{self.path}:{self.line}"


@dataclass
class _Alike:
    """What several logs say alike: the first of them, and how many."""

    first: list[_Said] = field(default_factory=list)
    logs: int = 0
    last: str = ""

    def add(self, said: _Said) -> None:
        if len(self.first) < _MOST_NAMED:
            self.first.append(said)
        if said.path != self.last:
            self.logs, self.last = self.logs + 1, said.path

    @property
    def where(self) -> str:
        path = self.first[0].path
        return path if self.logs == 1 else f"{path} and {self.logs - 1} more"


_Ways: TypeAlias = dict[str, _Alike]
"""Ways of saying one thing, by what tells them apart."""


def _ways() -> defaultdict[str, _Alike]:
    return defaultdict(_Alike)


@dataclass
class Clashes:
    """Gathers log by log what may clash: a few words of each, no rows."""

    _samples: dict[str, list[_Said]] = field(default_factory=lambda: defaultdict(list))
    _photos: dict[str, list[tuple[_Said, frozenset[str]]]] = field(default_factory=lambda: defaultdict(list))
    _points: dict[tuple[int, str], _Ways] = field(default_factory=lambda: defaultdict(_ways))
    _letters: dict[str, _Ways] = field(default_factory=lambda: defaultdict(_ways))
    _names: dict[str, _Ways] = field(default_factory=lambda: defaultdict(_ways))
    _ages: dict[tuple[str, str], _Ways] = field(default_factory=lambda: defaultdict(_ways))
    _above: dict[tuple[str, str], _Alike] = field(default_factory=lambda: defaultdict(_Alike))
    _also: set[frozenset[str]] = field(default_factory=set)

    def take(self, path: str, rows: Rows) -> None:
        """Take note of one log."""
        for one in rows.get("samples", ()):
            words = ", ".join(part for part in (f"station {one['station']}", one["words"]) if part)
            self._samples[_plain(one["label"])].append(_Said(path, one["line"], f"{one['label']}, {words}"))
        people = frozenset(one["name"] for one in rows.get("people", ()))
        for one in rows.get("photos", ()):
            said = _Said(path, one["line"], f"{one['number']}, station {one['station']}")
            self._photos[_plain(one["number"])].append((said, people))
        for one in rows.get("known_points", ()):
            # A station's bare number says nothing in another log; a name that is more than a number does.
            if not one["name"].isdigit():
                figures = repr([one[name] for name in ("east", "north", "lon", "lat", "up")])
                words = one["written"].removeprefix("control").strip()
                self._points[one["epsg"] or 0, one["name"]][figures].add(_Said(path, one["line"], words))
        self._take_units(path, rows.get("units", ()))

    def _take_units(self, path: str, units: Sequence[Row]) -> None:
        for one in units:
            letters, name = one["letters"], _plain(one["name"])
            self._letters[letters][name].add(_Said(path, None, one["name"]))
            self._names[name][letters].add(_Said(path, None, one["name"]))
            if one["age"]:
                self._ages[letters, name][_plain(one["age"])].add(_Said(path, None, one["age"]))
            for other in (one["also"] or "").split():
                self._also.add(frozenset((letters, other.rpartition("-")[2])))
        bedded = [one["letters"] for one in units if not one["intrusive"]]
        for upper, lower in combinations(bedded[:_MOST_UNITS], 2):
            self._above[upper, lower].add(_Said(path, None, ""))

    def rows(self) -> Iterator[Row]:
        """Every clash, by what clashes and by name."""
        for _, said in sorted(self._samples.items()):
            if len({one.path for one in said}) > 1:
                yield _row("sample", said[0].words.partition(",")[0], _each(said), said)
        for _, photos in sorted(self._photos.items()):
            shared = _of_one_party(photos)
            if len({one.path for one in shared}) > 1:
                yield _row("photo", shared[0].words.partition(",")[0], _each(shared), shared)
        for (_, point), ways in sorted(self._points.items()):
            yield from _differ("known point", point, ways)
        for letters, ways in sorted(self._letters.items()):
            if len(ways) > 1:
                yield from _differ("unit", letters, ways)
        for _, ways in sorted(self._names.items()):
            if any(frozenset(pair) not in self._also for pair in combinations(ways, 2)):
                words = "; ".join(f"{one.where}: {letters}" for letters, one in sorted(ways.items()))
                name = next(iter(ways.values())).first[0].words
                called = f"is called {listed(sorted(ways))}: {words}"
                yield _row("unit", name, called, [said for one in ways.values() for said in one.first])
        for (letters, _), ways in sorted(self._ages.items()):
            yield from _differ("unit", letters, ways)
        for (upper, lower), over in sorted(self._above.items()):
            under = self._above.get((lower, upper))
            if upper < lower and under is not None:
                words = f"{over.where}: {upper} is younger than {lower}; {under.where}: {lower} than {upper}"
                yield _row("unit", f"{upper}, {lower}", words, [*over.first, *under.first])


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())


def _of_one_party(photos: Sequence[tuple[_Said, frozenset[str]]]) -> list[_Said]:
    """Those of parties that share somebody: one camera counts on, two parties may well have the same number."""
    if len(photos) > _MOST_ALIKE:
        return [said for said, _ in photos]
    return [
        said
        for said, people in photos
        if any(people & others and other.path != said.path for other, others in photos)
    ]


def _differ(kind: str, what: str, ways: Mapping[str, _Alike]) -> Iterator[Row]:
    if len(ways) > 1:
        words = "; ".join(f"{one.where}: {one.first[0].words}" for one in ways.values())
        yield _row(kind, what, words, [said for one in ways.values() for said in one.first])


def _each(said: Sequence[_Said]) -> str:
    shown = "; ".join(f"{one.path}: {one.words}" for one in said[:_MOST_NAMED])
    return shown + (f"; and {len(said) - _MOST_NAMED} more" if len(said) > _MOST_NAMED else "")


def _row(kind: str, what: str, words: str, said: Sequence[_Said]) -> Row:
    places = dict.fromkeys(one.where for one in said[: 2 * _MOST_NAMED])
    return {"kind": kind, "what": what, "words": words, "places": "; ".join(places)}
