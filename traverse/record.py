"""Frozen records that are quick to define and to make.

To the type checker `record` is `dataclasses.dataclass`, so a record is frozen wherever the code is checked. At run time
the guard against writing and the comparison by generated code are left out: on one machine that spares a command 100
of 190 ms before it begins, and a record takes 0.7 microseconds to make where it took 2.3.
"""

from __future__ import annotations

import dataclasses
import gc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, TypeVar

__all__ = ["record", "uncollected"]

T = TypeVar("T")

if TYPE_CHECKING:
    from dataclasses import dataclass as record
else:

    def record(*, frozen: bool, slots: bool = False, kw_only: bool = False) -> Callable[[type[T]], type[T]]:
        """A decorator as `dataclasses.dataclass`, for frozen records only."""
        assert frozen

        def decorate(cls: type[T]) -> type[T]:
            made = dataclasses.dataclass(repr=False, eq=False, slots=slots, kw_only=kw_only)(cls)
            made.__eq__ = _equal
            made.__hash__ = _hash
            if made.__repr__ is object.__repr__:
                made.__repr__ = _shown
            return made

        return decorate


@contextmanager
def uncollected() -> Iterator[None]:
    """No search for cycles meanwhile: a long log makes millions of tokens, records and items of a page, and no cycle."""
    collecting = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collecting:
            gc.enable()


def _values(one: Any) -> tuple[Any, ...]:
    return tuple(getattr(one, name) for name in one.__dataclass_fields__)


def _equal(one: Any, other: object) -> Any:
    if one is other:
        return True
    return _values(one) == _values(other) if type(one) is type(other) else NotImplemented


def _hash(one: Any) -> int:
    return hash(_values(one))


def _shown(one: Any) -> str:
    parts = ", ".join(f"{name}={getattr(one, name)!r}" for name in one.__dataclass_fields__)
    return f"{type(one).__name__}({parts})"
