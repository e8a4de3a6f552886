"""What several logs call alike: their units, and the known points and landmarks that they share."""

from __future__ import annotations

import math
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple, TypeAlias

from traverse.log.items import Sight, Tie
from traverse.log.records import Control, Log, RockUnit, one_place
from traverse.trade import PLAN_REFUSE, UP_REFUSE

Figures: TypeAlias = tuple[float | None, ...]
METRES_PER_DEGREE = 111_195.0
"""Of a great circle on a sphere of 6371 km."""
_WHOLE = 3
"""Letters that one word of two names alike at least begins with in both: single letters stand for anything."""


class OneLog(NamedTuple):
    """A log beside others."""

    letters: str | None
    """Before its names; None where they are kept."""
    log: Log


# --- units --------------------------------------------------------------------------------------------------


@dataclass
class UnitedUnits:
    """One list of units for several logs."""

    units: list[RockUnit]
    """Youngest first."""
    letters: dict[tuple[int, str], str] = field(default_factory=dict)
    """Letters in this list, by the number of a log and the letters there."""
    alike: list[tuple[RockUnit, int, RockUnit]] = field(default_factory=list)
    """A unit, and one of the log with this number that has its name, or that shortened, and is a unit of its own here."""
    two_meanings: list[tuple[RockUnit, list[tuple[int, RockUnit]]]] = field(default_factory=list)
    """A unit, and those that other logs call by its letters under another name, each with the number of its log."""


def unite_units(own: Sequence[RockUnit], logs: Sequence[OneLog]) -> UnitedUnits:
    """The units of all logs: one where letters and name are the same, else where `also` says so.

    `own` is the list of the log that brings the others in, and its order counts. A unit that it lacks stands below
    the one that it follows in its own log, else above the one that follows it.
    """
    united = UnitedUnits(list(own))
    for number, (letters, log) in enumerate(logs):
        above: str | None = None
        before, new = tuple(united.units), list[RockUnit]()
        for at, unit in enumerate(log.units):
            known = unit_by_also(united.units, letters, unit)
            if known is None:
                known = next((one for one in united.units if one.letters == unit.letters), None)
                if known is not None and plain_name(known.name) != plain_name(unit.name):
                    _two_meanings(united, known, number, unit)
            if known is None:
                known = unit
                new.append(unit)
                united.units.insert(_place(united.units, above, log.units[at + 1 :]), unit)
            united.letters[number, unit.letters] = above = known.letters
        taken = {united.letters[number, unit.letters] for unit in log.units}
        for unit in new:
            free = [one for one in before if one.letters not in taken and names_alike(one.name, unit.name)]
            united.alike += [(one, number, unit) for one in free[:1]]
    return united


def also_of_nothing(own: Sequence[RockUnit], logs: Sequence[OneLog]) -> list[tuple[RockUnit, str]]:
    """Units with a name that `also` gives them and that no log brought in has: a letter mistyped there joins nothing."""
    there = {
        f"{letters}-{unit.letters}" if letters else unit.letters
        for letters, log in logs
        for unit in log.units
    }
    there |= {unit.letters for _, log in logs for unit in log.units}
    return [(unit, name) for unit in own for name in unit.also if name not in there]


def unit_by_also(units: Sequence[RockUnit], letters: str | None, unit: RockUnit) -> RockUnit | None:
    """The unit that another log says is called so here, or that this log says is called so elsewhere."""
    names = {unit.letters} if letters is None else {f"{letters}-{unit.letters}"}
    found = next((one for one in units if names.intersection(one.also)), None)
    if found is None and letters is not None:  # letters alone are what any party calls it
        found = next(
            (
                one
                for one in units
                if unit.letters in one.also and all(two.letters != unit.letters for two in units)
            ),
            None,
        )
    theirs = {name.rpartition("-")[2] for name in unit.also}
    return found or next((one for one in units if one.letters in theirs), None)


def _two_meanings(united: UnitedUnits, known: RockUnit, number: int, unit: RockUnit) -> None:
    for one, others in united.two_meanings:
        if one is known:
            others.append((number, unit))
            return
    united.two_meanings.append((known, [(number, unit)]))


def _place(units: Sequence[RockUnit], above: str | None, below: Sequence[RockUnit]) -> int:
    at = {one.letters: index for index, one in enumerate(units)}
    if above is not None:
        return at[above] + 1
    return next((at[one.letters] for one in below if one.letters in at), len(units))


def plain_name(name: str) -> str:
    """A name as it is compared: small letters, single blanks."""
    return " ".join(name.casefold().split())


def names_alike(one: str, other: str) -> bool:
    """Whether two names are the same, or each word of one is that of the other, or shortened.

    >>> names_alike("Birk Mudst.", "Birk Mudstone"), names_alike("Cawl Lst", "Cawl Limestone")
    (True, True)
    >>> names_alike("Rowan Mudstone", "Rowan Shale"), names_alike("B M", "Birk Mudstone")
    (False, False)
    """
    first, second = (plain_name(name).replace(".", " ").split() for name in (one, other))
    if len(first) != len(second):
        return False
    whole = any(
        a[:_WHOLE] == b[:_WHOLE] and min(len(a), len(b)) >= _WHOLE for a, b in zip(first, second, strict=True)
    )
    return (whole or first == second) and all(
        _short_for(*sorted((a, b), key=len)) for a, b in zip(first, second, strict=True)
    )


def _short_for(short: str, word: str) -> bool:
    """Whether a word is another with letters left out, the first never.

    >>> _short_for("lst", "limestone"), _short_for("slate", "shale")
    (True, False)
    """
    letters = iter(word)
    return short[:1] == word[:1] and all(letter in letters for letter in short)


# --- places -------------------------------------------------------------------------------------------------


class OtherFigures(NamedTuple):
    """Controls of one name with other figures."""

    first: Control
    """As most logs have it, or the log that brings the others in."""
    other: Control
    more: int
    """How many more logs have the first."""
    undecided: bool
    """Whether as many logs have the other."""


@dataclass
class SharedPlaces:
    """Places that have a name in several logs and are one."""

    names: dict[str, str] = field(default_factory=dict)
    """The one name, by the names with the letters of each party."""
    otherwise: list[OtherFigures] = field(default_factory=list)
    alone: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Of a name that several logs have with other figures, and that is none's without letters: one name of each point,
    first of the one that most logs have; none where no log that takes part has it."""

    def meant(self, name: str, beside: str | None = None) -> str:
        """What a name of the log that brings the others in stands for; of a tie `beside` is the other name.

        One place is not tied to itself: `tie E-Ford to Ford` says that E's is the one of the others.
        """
        whole = self.names.get(name, name)
        points = self.alone.get(name, ())
        other = self.names.get(beside, beside) if beside is not None else None
        return next((point for point in points if point != other), whole)


def figures(control: Control) -> Figures:
    """What says where a control is."""
    return control.east_m, control.north_m, control.lat_deg, control.lon_deg, control.height_m


def shared_places(
    own: Sequence[Control],
    taken: frozenset[str],
    logs: Sequence[OneLog],
    aside: Sequence[Control] = (),
    unread: Sequence[Control] = (),
    sighted: Container[str] = (),
) -> SharedPlaces:
    """Controls with the same name that agree within their errors, and landmarks of the same name, whose stations have letters.

    `own` are the controls of the log that brings the others in, `taken` names that stand for a place already, `aside` the
    controls of logs that take no part: what figures they have of a point counts all the same. Those of logs with errors,
    `unread`, and the landmarks `sighted` by either count for nothing but the name: what is shared is called the same, whoever
    is left out. Of controls that do not
    agree those are one place that most logs bear out, or that the log's own `own` does.
    """
    shared = SharedPlaces()
    controls: dict[str, dict[str, list[Control]]] = {}
    for control in own:
        controls.setdefault(control.name, {}).setdefault(control.name, []).append(control)
    for letters, log in logs:
        if letters is not None:
            for control in log.controls:
                full = f"{letters}-{control.name}"
                controls.setdefault(control.name, {}).setdefault(full, []).append(control)
    landmarks = dict(_landmarks(logs))
    for name in dict.fromkeys((*controls, *landmarks, *(one.name for one in (*aside, *unread)))):
        fixes = controls.get(name, {})
        besides = [one for one in aside if one.name == name]
        groups = _agreeing(name, fixes, besides)
        joined = dict.fromkeys(groups[0] if groups else ())
        if len(groups) < 2:  # of two known points of one name nobody says which a landmark is
            joined |= dict.fromkeys(landmarks.get(name, ()))
        else:
            first, *others = (fixes[group[0]][0] for group in groups)
            having = [len(group) + sum(agree(fixes[group[0]][0], one) for one in besides) for group in groups]
            shared.otherwise += [
                OtherFigures(first, other, having[0] - 1, name not in fixes and count >= having[0])
                for other, count in zip(others, having[1:], strict=True)
            ]
        if groups and len(groups[0]) > 1:
            # What takes no part is asked about where two that do have other figures.
            first = fixes[groups[0][0]][0]
            shared.otherwise += [
                OtherFigures(first, one, len(groups[0]) - 1, False)
                for one in besides
                if not any(agree(fixes[group[0]][0], one) for group in groups)
            ]
        absent = [*besides, *(one for one in unread if one.name == name)]
        with_absent = (
            any(agree(fixes[groups[0][0]][0], one) for one in absent) if groups else bool(absent)
        ) or (len(groups) < 2 and name in sighted)
        if joined and (len(joined) > 1 or with_absent) and (name in joined or name not in taken):
            shared.names.update(dict.fromkeys(joined, name))
        elif len(groups) + len(absent) > 1 and name not in fixes and name not in taken:
            shared.alone[name] = tuple(group[0] for group in groups)
    return shared


def _agreeing(
    name: str, fixes: Mapping[str, Sequence[Control]], besides: Sequence[Control]
) -> list[list[str]]:
    """Full names of one point by the figures that agree: first those that most logs have, or the log itself by `name`."""
    left = {full: {figures(one) for one in placed} for full, placed in fixes.items()}
    groups = []
    while left:
        with_each = {
            full: [
                other for other in left if left[full] == left[other] or _one_point(fixes[full], fixes[other])
            ]
            for full in left
        }
        borne_out = {
            full: len(having) + sum(_one_point(fixes[full], (one,)) for one in besides)
            for full, having in with_each.items()
        }
        first = min(left, key=lambda full: (full != name, -borne_out[full]))
        groups.append([first, *(one for one in with_each[first] if one != first)])
        left = {full: one for full, one in left.items() if full not in groups[-1]}
    return groups


def _one_point(some: Sequence[Control], others: Sequence[Control]) -> bool:
    return all(agree(one, other) for one in some for other in others)


def agree(one: Control, other: Control) -> bool:
    """Whether the figures of two controls are the same, or lie within the errors that both state.

    Metres of a degree are those of a sphere, which is good to one part in two hundred. Latitude and longitude beside
    east and north say nothing here, where no grid is known.
    """
    if figures(one) == figures(other):
        return True
    plan, height = _apart_m(one, other), _difference(one.height_m, other.height_m)
    variance = (one.sd_plan_m or 0.0) ** 2 + (other.sd_plan_m or 0.0) ** 2
    upward = (one.sd_height_m or 0.0) ** 2 + (other.sd_height_m or 0.0) ** 2
    return plan is not None and plan**2 <= PLAN_REFUSE * variance and height**2 <= UP_REFUSE * upward


def _difference(one: float | None, other: float | None) -> float:
    return 0.0 if one is None or other is None else one - other


def _apart_m(one: Control, other: Control) -> float | None:
    """How far apart two controls lie in plan; None where one has degrees and the other metres."""
    if None not in (one.east_m, one.north_m, other.east_m, other.north_m):
        return math.hypot(_difference(one.east_m, other.east_m), _difference(one.north_m, other.north_m))
    if one.lat_deg is None or other.lat_deg is None:
        return None
    east = _difference(one.lon_deg, other.lon_deg) * math.cos(math.radians(one.lat_deg))
    return METRES_PER_DEGREE * math.hypot(east, one.lat_deg - other.lat_deg)


def landmarks_of(log: Log) -> dict[str, None]:
    """Names that a log looks at and that are neither station nor control of it, in order."""
    known = {control.name for control in log.controls}.union(log.stations)
    targets = (item.target for item in log.items if isinstance(item, Sight))
    return dict.fromkeys(name for name in targets if name not in known)


def _landmarks(logs: Sequence[OneLog]) -> Iterator[tuple[str, list[str]]]:
    """Landmarks of parties with letters."""
    found: dict[str, list[str]] = {}
    for letters, log in logs:
        for name in landmarks_of(log) if letters is not None else ():
            found.setdefault(name, []).append(f"{letters}-{name}")
    yield from found.items()


def one_of_each(controls: Sequence[tuple[int, Control]]) -> Iterator[Control]:
    """Controls, each with the number of its log, without those that only say again what another log says."""
    said: dict[tuple[str, Figures], int] = {}
    for number, control in controls:
        if said.setdefault((control.name, figures(control)), number) == number:
            yield control


def without_places(ties: Iterable[Tie], absent: Container[str]) -> Iterator[Tie]:
    """Ties that hold without places that are absent: two places tied to one of these are one place still."""
    kept = [tie for tie in ties if tie.first != tie.second]
    over: dict[frozenset[str], str] = {}
    groups = one_place(kept)
    for tie in kept:
        here = [name for name in (tie.first, tie.second) if name not in absent]
        if len(here) == 2:
            yield tie
        elif len(here) == 1 and tie.sd_m is None:
            group = groups[here[0]]
            first = over.setdefault(group, here[0])
            if first != here[0]:
                yield replace(tie, first=first, second=here[0])


def clashing(names: Sequence[tuple[int, str, object]]) -> frozenset[tuple[int, str]]:
    """Of names, each with the number of its log and what it stands for, those that stand for two things."""
    meant: dict[str, set[object]] = {}
    for _, name, what in names:
        meant.setdefault(name, set()).add(what)
    return frozenset((number, name) for number, name, _ in names if len(meant[name]) > 1)
