"""Units of one party beside contacts of another."""

from __future__ import annotations

import pytest

from traverse.compile import compile_log
from traverse.source import Source


def party(unit, first):
    return (
        "notation 1\nattitudes dip-right\nbearings true\n"
        "unit Ht Hay Tuff ; Neogene\nunit Km Kay Marl ; Cretaceous\nunit Lq Lay Quartzite ; Permian\n"
        f"at 1\nunit Km\nto 2 090 100m\nalong {first}m\ncontact Ht/Km certain\nat 2\nunit {unit}\n"
        "to 3 090 100m\nalong 20m\ncontact Ht/Km certain\nalong 60m\ncontact Km/Lq certain\nat 3\nunit Lq\n"
    )


@pytest.mark.parametrize("beside_m", [31, 34])
def test_a_wrong_unit_is_named_where_another_party_crossed_the_same_contact(beside_m):
    """Its contact cuts the ground of both, and is no second one on the leg that crossed it."""
    files = {"a.trav": party("Km", 30), "b.trav": party("Ht", beside_m)}
    camp = "notation 1\ntraverse Hay Down, two parties\nlog a.trav as A\nlog b.trav as B\ntie A-1 to B-1\n"
    found = compile_log(Source(name="camp.trav", text=camp), load=lambda name: files[name].encode())
    (told,) = [one for one in found.diagnostics if one.code == "unit-misfit"]
    rows = files["a.trav"].splitlines()
    assert (told.span.file, rows[told.span.line - 2 : told.span.line]) == ("a.trav", ["at 2", "unit Km"])
    assert "was it `unit Ht`" in told.hints[0]


LOOP = """notation 1
attitudes dip-right
bearings true
unit Md Mede Tuff ; Devonian
unit Nn Nanner Slate ; Silurian
unit Or Orle Grit ; Silurian
at 1
unit Or
to 2 090 100m
along 25m
contact {first} certain
along 84m
contact Md/Nn certain
at 2
unit Md
"""


@pytest.mark.parametrize("beside_m", [84, 85, 90])
def test_a_swapped_unit_of_a_contact_is_told_in_a_camp_as_in_its_own_log(beside_m):
    """The other's Md/Nn is the one that the leg crossed itself, and leads it back nowhere."""
    files = {
        "a.trav": LOOP.format(first="Md/Or"),
        "b.trav": LOOP.format(first="Nn/Or").replace("84m", f"{beside_m}m"),
    }
    camp = "notation 1\ntraverse Mede, two parties\nlog a.trav as A\nlog b.trav as B\ntie A-1 to B-1\n"
    found = compile_log(Source(name="camp.trav", text=camp), load=lambda name: files[name].encode())
    (told,) = [one for one in found.diagnostics if one.kind == "warning"]
    assert (told.code, told.span.file, told.span.line) == ("contact-of-others", "a.trav", 11)
    assert "`contact Nn/Or` would fit" in told.hints[0]


def test_a_contact_is_offered_only_where_it_would_lie_between_its_units():
    """The other crossed Nn/Or there: `Md/Nn` leaves the walk on Or and would leave it to that one to part the units."""
    files = {
        "a.trav": LOOP.partition("along 25m")[0]
        + "covered 20m to 30m\ncontact Md/Or inferred\nat 2\nunit Nn\n",
        "b.trav": LOOP.partition("along 25m")[0] + "along 26m\ncontact Nn/Or certain\nat 2\nunit Nn\n",
    }
    camp = "notation 1\ntraverse Mede, two parties\nlog a.trav as A\nlog b.trav as B\ntie A-1 to B-1\ntie A-2 to B-2\n"
    found = compile_log(Source(name="camp.trav", text=camp), load=lambda name: files[name].encode())
    (told,) = [one for one in found.diagnostics if one.code == "contact-missing"]
    offered = [one.text for one in told.labels if "contact" in one.text]
    assert offered == ["it may be that `contact Md/Or` was `contact Nn/Or`"]
