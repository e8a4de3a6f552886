"""Which unit of a log is which of the key, and which is none that the key is known to have."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import PurePath

from traverse.compare.records import UnlistedUnit
from traverse.ground.records import Traverse
from traverse.log.records import Log, PartyLog, RockUnit
from traverse.log.united import names_alike, plain_name, unit_by_also

_FEWEST = 2
"""Stations from which on the ground shows what a unit of the log may be; one may lie on a contact."""


def brought_in(file: str, key: Log) -> PartyLog | None:
    """The party of a key that brings in several logs which a log is, by the name of its file."""
    name = PurePath(file).name
    own = [one for one in key.parties if one.letters and not one.aside and PurePath(one.file).name == name]
    return own[0] if len(own) == 1 else None


def letters_of(log: Log, key: Log, party: PartyLog | None = None) -> dict[str, str]:
    """Letters of the log's units by the key's: by what `also` of either says, else by name, else by letters.

    Letters alone say nothing where another unit of the log is the key's unit of these letters. `party` is that of the key
    which the log is.
    """
    letters = log.heading.group or party_by_also(log, key) if party is None else party.letters
    by_name = {plain_name(unit.name): unit for unit in key.units}
    by_letters = {unit.letters: unit for unit in key.units}

    def called(unit: RockUnit) -> RockUnit | None:
        """By a name that either says others give it."""
        known = unit_by_also(key.units, letters, unit)
        theirs = [by_name.get(plain_name(word)) for word in unit.also]
        named = [one for one in key.units if plain_name(unit.name) in map(plain_name, one.also)]
        return known or next((one for one in (*theirs, *named) if one is not None), None)

    rules: list[Callable[[RockUnit], RockUnit | None]] = [
        called,
        lambda unit: by_name.get(plain_name(unit.name)),
        lambda unit: by_letters.get(unit.letters),
    ]
    if party is not None:  # as the camp has joined it
        rules = [called, rules[2]]
    found: dict[str, str] = {}
    for rule in rules:
        taken = set(found.values()) if rule is rules[-1] else set()
        for unit in log.units:
            if unit.letters not in found and (known := rule(unit)) is not None and known.letters not in taken:
                found[unit.letters] = known.letters
    return {unit.letters: found[unit.letters] for unit in log.units if unit.letters in found}


def lettered_also(key: Log) -> dict[str, set[str]]:
    """Letters of units by the letters of the party that an `also` of the key names before them: `also B-Ar`."""
    found: dict[str, set[str]] = {}
    for unit in key.units:
        for name in unit.also:
            party, dash, letters = name.rpartition("-")
            if dash:
                found.setdefault(party, set()).add(letters)
    return found


def party_by_also(log: Log, key: Log) -> str | None:
    """The party of which an `also` of the key speaks that a log is, where its heading does not say: it has all these letters.

    None where no party or more than one has; a single unit tells none apart.
    """
    own = {unit.letters for unit in log.units}
    having = [party for party, units in lettered_also(key).items() if len(units) >= _FEWEST and units <= own]
    return having[0] if len(having) == 1 else None


def free_units(key: Log, letters: Mapping[str, str]) -> tuple[RockUnit, ...]:
    """Units of the key that none of the log's is known to be. `letters` are the key's by the log's."""
    known = set(letters.values())
    return tuple(unit for unit in key.units if unit.letters not in known)


def unlisted_units(
    log: Traverse, key: Traverse, names: Mapping[str, str], letters: Mapping[str, str]
) -> tuple[UnlistedUnit, ...]:
    """Units of the log that are none of the key's by letters, name or `also`, each with what it may be.

    Where each unit of the key has one of the log's, another one is no name for it: there is none. `names` are stations of
    the log by the key's, `letters` its units.
    """
    free = free_units(key.log, letters)
    open_units = [unit for unit in log.log.units if unit.letters not in letters] if free else []
    if not open_units:
        return ()
    theirs = {one.station: one.letters for one in key.geology.station_units if not one.queried}
    met: dict[str, list[str]] = {}
    for one in log.geology.station_units:
        if one.station in names and (here := theirs.get(names[one.station])) is not None:
            met.setdefault(one.letters, []).append(here)
    other_rocks = {unit.letters: unit.name for unit in key.log.units}
    found = []
    for unit in open_units:
        named = [one.letters for one in free if names_alike(one.name, unit.name)]
        walked = met.get(unit.letters, [])
        there = [one.letters for one in free if len(walked) >= _FEWEST and set(walked) == {one.letters}]
        only = [free[0].letters] if len(open_units) == len(free) == 1 else []
        shown = (
            (named, "by its name"),
            (there, f"at all {len(walked)} stations"),
            (only, "it alone is not in the log"),
        )
        meant, why = next(((one[0], words) for one, words in shown if len(one) == 1), (None, ""))
        found.append(
            UnlistedUnit(
                span=unit.span,
                letters=unit.letters,
                name=unit.name,
                meant=meant,
                why=why,
                other_rock=other_rocks.get(unit.letters),
            )
        )
    twice = [one.meant for one in found]
    return tuple(one if one.meant is None or twice.count(one.meant) == 1 else _open(one) for one in found)


def _open(one: UnlistedUnit) -> UnlistedUnit:
    """Without a guess: two units of the log would be one of the key's."""
    return replace(one, meant=None, why="")
