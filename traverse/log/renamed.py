"""Records under other names: a log that another brings in, and what several logs call alike."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TypeAlias, TypeVar, assert_never

from traverse.log.items import (
    Address,
    Apparent,
    Contact,
    Correction,
    Crossing,
    Elevation,
    Item,
    Leg,
    Lines,
    Photo,
    Planes,
    Sample,
    Sight,
    Tie,
    UnitHere,
    WayUp,
    Words,
)
from traverse.log.readings import Conditions, PaceCourse
from traverse.log.records import Checked, Control, Omitted, Person, Ruling, Trace

Name: TypeAlias = Callable[[str], str]
T = TypeVar("T", Conditions, PaceCourse, Leg, Address)


def as_it_is(name: str) -> str:
    """The name itself."""
    return name


class Renamed:
    """Hands on records with their names changed; one record that others share stays one.

    `nobody` stands for who walked a calibration that names nobody.
    `legs_before` and `addresses_before` are how many stand before those of this log where they go on a longer list.
    """

    def __init__(
        self,
        *,
        place: Name = as_it_is,
        label: Name = as_it_is,
        who: Name = as_it_is,
        unit: Name = as_it_is,
        nobody: str | None = None,
        legs_before: int = 0,
        addresses_before: int = 0,
    ) -> None:
        self.place, self._label, self._who, self._unit = place, label, who, unit
        self._nobody = nobody
        self._legs_before, self._addresses_before = legs_before, addresses_before
        self._made: dict[int, tuple[object, object]] = {}
        """Old and new record by the identity of the old one, which is kept so that no other takes its number."""

    def _once(self, one: T, make: Callable[[T], T]) -> T:
        known = self._made.get(id(one))
        if known is None:
            made = make(one)
            self._made[id(one)] = one, made
            return made
        return known[1]  # type: ignore[return-value]

    def pace(self, one: PaceCourse) -> PaceCourse:
        """A calibration."""
        return self._once(
            one, lambda pace: replace(pace, who=self._who(pace.who) if pace.who else self._nobody)
        )

    def conditions(self, one: Conditions) -> Conditions:
        """What was in force."""
        return self._once(
            one,
            lambda held: replace(
                held,
                pace=held.pace and self.pace(held.pace),
                pacer=held.pacer and self._who(held.pacer),
                reader=held.reader and self._who(held.reader),
            ),
        )

    def leg(self, one: Leg) -> Leg:
        """A leg."""
        return self._once(
            one,
            lambda leg: replace(
                leg,
                start=self.place(leg.start),
                end=self.place(leg.end),
                conditions=self.conditions(leg.conditions),
                index=leg.index if leg.index < 0 else leg.index + self._legs_before,
                corrections=tuple(map(self.correction, leg.corrections)),
            ),
        )

    def address(self, one: Address) -> Address:
        """Where something lies."""
        return self._once(
            one,
            lambda address: replace(
                address,
                station=None if address.station is None else self.place(address.station),
                leg=address.leg and self.leg(address.leg),
                index=address.index + self._addresses_before,
                conditions=self.conditions(address.conditions),
            ),
        )

    def item(self, one: Item) -> Item:
        """Whatever is described."""
        address = self.address(one.address)
        match one:
            case Sight():
                return replace(
                    one,
                    address=address,
                    target=self.place(one.target),
                    conditions=self.conditions(one.conditions),
                )
            case Sample():
                return replace(one, address=address, label=self._label(one.label))
            case UnitHere():
                return replace(one, address=address, letters=self._unit(one.letters))
            case Words():
                return replace(one, address=address, unit=one.unit and self._unit(one.unit))
            case Contact():
                return replace(
                    one,
                    address=address,
                    younger=one.younger and self._unit(one.younger),
                    older=one.older and self._unit(one.older),
                    named=one.named and (self._unit(one.named[0]), self._unit(one.named[1])),
                    conditions=self.conditions(one.conditions),
                )
            case Planes() | Apparent() | Lines() | WayUp() | Photo() | Crossing():
                return replace(one, address=address, conditions=self.conditions(one.conditions))
            case Elevation():
                return replace(one, address=address)
            case _:
                assert_never(one)

    def tie(self, one: Tie) -> Tie:
        """One place under two names."""
        return replace(one, first=self.place(one.first), second=self.place(one.second))

    def control(self, one: Control) -> Control:
        """A known point."""
        return replace(one, name=self.place(one.name))

    def trace(self, one: Trace) -> Trace:
        """A contact over the heights."""
        return replace(
            one,
            younger=self._unit(one.younger),
            older=self._unit(one.older),
            conditions=self.conditions(one.conditions),
        )

    def correction(self, one: Correction) -> Correction:
        """What a line once read."""
        return replace(one, who=self._who(one.who))

    def checked(self, one: Checked) -> Checked:
        """An answer."""
        return replace(one, who=self._who(one.who))

    def omitted(self, one: Omitted) -> Omitted:
        """A line that counts for nothing."""
        record = one.record
        if isinstance(record, Leg):
            out: Leg | Item | Control | Tie = self.leg(record)
        elif isinstance(record, Control):
            out = self.control(record)
        elif isinstance(record, Tie):
            out = self.tie(record)
        else:
            out = self.item(record)
        return replace(one, record=out, who=self._who(one.who))

    def ruling(self, one: Ruling) -> Ruling:
        """A leader's word."""
        return replace(one, station=self.place(one.station), who=self._who(one.who))

    def person(self, one: Person) -> Person:
        """A member of a party."""
        return replace(one, initials=self._who(one.initials))
