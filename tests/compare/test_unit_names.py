"""Units that a party calls otherwise than the key."""

import pytest

from tests.compare.camp import compiled_camp, no_files
from tests.compare.test_camp_as_key import LOG, load
from traverse.compare.against_key import against_key
from traverse.compare.records import Part
from traverse.compare.scheme import read_scheme
from traverse.compile import compile_log
from traverse.log.united import names_alike
from traverse.source import Source

SCHEME = read_scheme(None)[0].value
RIGG, SLATE = "unit Rg Rigg Shale ; Jurassic", "unit Wl Wellan Slate ; Silurian"


def against(key, text, *, name="party.trav", **how):
    log = compile_log(Source(name=name, text=text), load=load)
    return against_key(name, log, key, SCHEME, load, **how)


def key_of(text):
    return compile_log(Source(name="key.trav", text=text), load=no_files).trav


def other_letters(line):
    return LOG.replace("Rg", "Sh").replace("unit Sh Rigg Shale ; Jurassic", line)


def scored(found):
    return {one.part: (one.scored, one.of) for one in found.marks}


@pytest.mark.parametrize(
    ("line", "in_key"),
    [
        ("unit Sh Rigg Shale ; Jurassic", RIGG),
        ("unit Sh Upper shale ; also Rg", RIGG),
        ("unit Sh Upper shale ; Jurassic", f"{RIGG} ; also Sh"),
    ],
    ids=["name", "also of the log", "also of the key"],
)
def test_a_unit_is_the_key_s_by_name_or_by_also(line, in_key):
    found = against(key_of(LOG.replace(RIGG, in_key)), other_letters(line))
    assert found.standing.unlisted == ()
    assert scored(found)[Part.UNITS] == scored(found)[Part.UNITS][::-1]
    assert scored(found)[Part.CONTACTS] == (20.0, 20.0)


@pytest.mark.parametrize(
    ("name", "why"),
    [("Rigg Sh.", "by its name"), ("Upper mudstone", "at all 2 stations")],
)
def test_a_unit_that_is_not_in_the_key_costs_nothing_and_is_told_once(name, why):
    found = against(key_of(LOG), other_letters(f"unit Sh {name} ; Jurassic"))
    (unit,) = found.standing.unlisted
    assert (unit.span.line, unit.meant, unit.why) == (5, "Rg", why)
    assert all(one.scored == one.of for one in found.marks if one.part in {Part.CONTACTS, Part.UNITS})
    assert [one for one in found.notes if "Sh (line 5) is not in the key" in one]
    assert [one for one in found.for_leader if one.startswith("line 5: ") and "`; also Rg`" in one]
    # What is handed back says nothing of what the key calls it.
    assert not [one for one in found.notes if "Rg" in one]


def test_typing_what_is_told_brings_the_unit_to_the_key():
    line = "unit Sh Upper mudstone ; Jurassic"
    told = against(key_of(LOG), other_letters(line)).standing.unlisted[0]
    found = against(key_of(LOG), other_letters(f"{line} ; also {told.meant}"))
    assert found.standing.unlisted == ()
    assert scored(found)[Part.UNITS][1] == 15.0


def test_letters_of_the_key_for_another_of_its_units_are_not_that_unit():
    """The party's Wl is the key's Rg, and its Rg a name of its own."""
    text = LOG.replace("Wl", "Xx").replace("Rg", "Wl").replace("Xx", "Rg")
    text = text.replace("unit Rg Wellan Slate ; Silurian", "unit Rg Dark rock ;")
    found = against(key_of(LOG), text)
    assert dict(found.standing.letters) == {"Wl": "Rg"}
    assert [one.letters for one in found.standing.unlisted] == ["Rg"]
    assert any(
        "Rg (line 6) is not in the key by name, and these letters are another rock" in one
        for one in found.notes
    )
    assert not [one for one in found.notes if "Rigg" in one]
    assert [
        one for one in found.for_leader if one.startswith("line 6: ") and "key's own Rg is Rigg Shale" in one
    ]


def test_a_unit_beside_all_of_the_key_s_is_judged():
    """Where each unit of the key has one of the log's, another one is no name for it."""
    text = LOG.replace(f"{RIGG}\n", f"{RIGG}\nunit Qq Third rock ;\n").replace(
        "to 3 000 100p\n  unit Rg", "to 3 000 100p\n  unit Qq"
    )
    found = against(key_of(LOG), text)
    assert found.standing.unlisted == ()
    assert scored(found)[Part.UNITS][0] < 15.0


@pytest.mark.parametrize("ids", [False, True])
def test_also_of_a_camp_joins_what_its_party_calls_otherwise(ids):
    camp = "notation 1\ntraverse two\nlog x.trav as A\nlog y.trav as B\ntie A-1 to B-1\ntie A-3 to B-3\n"
    camp += f"{RIGG} ; also B-Sh\n{SLATE}\n"
    files = {"camp.trav": camp, "x.trav": LOG, "y.trav": other_letters("unit Sh Upper mudstone ; Jurassic")}
    key = compiled_camp(files).trav
    found = against(key, files["y.trav"], name="P1" if ids else "y.trav", path="y.trav" if ids else None)
    assert found.standing.unlisted == ()
    assert scored(found)[Part.UNITS] == (15.0, 15.0)
    assert scored(found)[Part.CONTACTS] == (20.0, 20.0)


def test_unit_lines_of_a_camp_hold_in_a_key_of_one_log():
    """The party is the one all of whose letters there are the log's own; else what to type is said."""
    text = other_letters("unit Sh Upper mudstone ; Jurassic").replace(
        "unit Wl Wellan Slate", "unit Sl Lower slate"
    )
    text = text.replace("Wl", "Sl")
    key = LOG.replace(RIGG, f"{RIGG} ; also B-Sh, C-Rd").replace(SLATE, f"{SLATE} ; also B-Sl, C-Dk")
    found = against(key_of(key), text)
    assert found.standing.unlisted == ()
    assert scored(found)[Part.UNITS] == (15.0, 15.0)
    assert any("taken for party B of the key's `also B-…`" in one for one in found.for_leader)
    untold = against(key_of(key.replace("C-Rd", "C-Sh").replace("C-Dk", "C-Sl")), text)
    assert [one.letters for one in untold.standing.unlisted] == ["Sh", "Sl"]
    assert any("type `group B` in its heading if it is B" in one for one in untold.for_leader)
    told = text.replace("notation 1\n", "notation 1\ngroup B\n")
    assert against(key_of(key.replace("C-Rd", "C-Sh").replace("C-Dk", "C-Sl")), told).standing.unlisted == ()


@pytest.mark.parametrize(
    ("one", "other", "alike"),
    [
        ("Larder Limestone", "Larder Lst", True),
        ("Larder Limestone", "larder  limestone", True),
        ("Dorn Congl.", "Dorn Conglomerate", True),
        ("Rowan Shale", "Rowan Mudstone", False),
        ("Rowan Shale", "Rowan Slate", False),
        ("Limestone", "Larder Limestone", False),
        ("L L", "Larder Limestone", False),
    ],
)
def test_names_are_alike_where_words_are_shortened(one, other, alike):
    assert names_alike(one, other) is alike
    assert names_alike(other, one) is alike
