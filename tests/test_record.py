"""Records behave as frozen dataclasses do where the program relies on it, though their `__init__` is compiled late."""

import pickle
from dataclasses import field, fields, replace

import pytest

from traverse.record import Later, record


@record(frozen=True, slots=True)
class Reading:
    """By place, then by name."""

    name: str
    value: float = 1.0
    others: list[int] = field(default_factory=list, kw_only=True)


@record(frozen=True, slots=True, kw_only=True)
class Bare:
    size_m: float
    note: str | None = None


def test_a_record_takes_what_a_dataclass_takes():
    one = Reading("a", 2.0, others=[3])
    assert (one.name, one.value, one.others) == ("a", 2.0, [3])
    assert (Reading("a").value, Bare(size_m=2.0).note) == (1.0, None)
    assert replace(one, value=5.0) == Reading("a", 5.0, others=[3])
    assert [one.name for one in fields(Reading)] == ["name", "value", "others"]


def test_a_default_that_is_made_is_made_for_each():
    first, second = Reading("a"), Reading("a")
    first.others.append(1)
    assert second.others == []


@pytest.mark.parametrize("once_made", [False, True])
def test_a_wrong_argument_is_refused_by_its_name(once_made):
    @record(frozen=True, slots=True, kw_only=True)
    class Own:
        size_m: float

    if once_made:
        Own(size_m=1.0)
    with pytest.raises(TypeError, match="size_m"):
        Own()
    with pytest.raises(TypeError, match="width_m"):
        Own(size_m=1.0, width_m=2.0)
    with pytest.raises(TypeError, match="positional"):
        Own(1.0)


def test_records_are_equal_by_their_values_and_of_one_kind_alone():
    assert Bare(size_m=1.0) == Bare(size_m=1.0)
    assert Bare(size_m=1.0) != Bare(size_m=2.0)
    assert Bare(size_m=1.0) != (1.0, None)
    assert len({Bare(size_m=1.0), Bare(size_m=1.0)}) == 1
    assert repr(Bare(size_m=1.0)) == "Bare(size_m=1.0, note=None)"


def test_a_record_without_a_docstring_has_its_name_for_one():
    assert Bare.__doc__ == "Bare"


def test_what_is_worked_out_later_is_made_once_when_it_is_looked_at_and_is_then_as_any_values():
    made = []

    def make():
        made.append(1)
        return (1, 2)

    later = Bare(size_m=Later(make))
    assert replace(later, note="a").size_m is later.size_m
    assert not made
    assert (list(later.size_m), later.size_m[1], later.size_m[1:], len(later.size_m)) == ([1, 2], 2, (2,), 2)
    assert later == Bare(size_m=(1, 2))
    assert hash(later) == hash(Bare(size_m=(1, 2)))
    assert later.size_m != (1, 3)
    assert pickle.loads(pickle.dumps(later.size_m)) == (1, 2)  # noqa: S301 our own
    assert made == [1]
    assert not Later(tuple)
