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
    """Its contact cuts the ground of both, and is none that is missing on the leg."""
    files = {"a.trav": party("Km", 30), "b.trav": party("Ht", beside_m)}
    camp = "notation 1\ntraverse Hay Down, two parties\nlog a.trav as A\nlog b.trav as B\ntie A-1 to B-1\n"
    found = compile_log(Source(name="camp.trav", text=camp), load=lambda name: files[name].encode())
    (told,) = [one for one in found.diagnostics if one.code == "contact-of-others"]
    rows = files["a.trav"].splitlines()
    assert (told.span.file, rows[told.span.line - 1]) == ("a.trav", "contact Km/Lq certain")
