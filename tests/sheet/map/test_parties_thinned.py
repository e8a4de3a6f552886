"""A camp of many parties on one map: stations on each other have one name, and a plane that all read is drawn once."""

import pytest

from tests.sheet.fixture_sheet import layer
from tests.sheet.pages import flat, overlaps
from traverse.compile import compile_log, map_ground
from traverse.sheet.compose.compose import compose
from traverse.sheet.paper.page import Path, Text
from traverse.sheet.template.reading import read_template
from traverse.source import Source

PARTIES = "ABCDEF"
LEGS = ((2, 60, 150), (3, 100, 140), (4, 190, 160), (5, 260, 150), (6, 300, 120))


def party(number, *, off_m=0.0, beds=(30, 40)):
    """One of several that walk the same round, each with its own readings."""
    strike, dip = beds
    lines = [
        "notation 1",
        f"traverse Party {number}",
        "bearings true",
        "attitudes dip-right",
        "unit Aa Upper Slate ; Silurian",
        "at 1",
        "  unit Aa",
        f"  bed {strike + number % 3:03d}/{dip + number % 2}",
    ]
    for station, bearing, long_m in LEGS:
        lines += [
            f"to {station} {bearing:03d} {long_m + off_m:g}m",
            "  unit Aa",
            f"  bed {strike + number % 3:03d}/{dip + number % 2}",
        ]
    return "\n".join([*lines, "close 1 010 100m", ""])


def camp(**others):
    """Six parties that begin at one place; `others` are changes by letter."""
    files = {f"{one}.trav": party(number, **others.get(one, {})) for number, one in enumerate(PARTIES)}
    lines = ["notation 1", "traverse Six on one round", *(f"log {one}.trav as {one}" for one in PARTIES)]
    lines += [f"tie A-{station} to {one}-{station}" for one in PARTIES[1:] for station in range(1, 7)]
    found = compile_log(
        Source(name="camp.trav", text="\n".join([*lines, ""])), load=lambda name: files[name].encode()
    )
    assert found.trav is not None, [one.message for one in found.diagnostics]
    made = compose(
        map_ground(found.trav), found.diagnostics, template=read_template("field").value, mark="x"
    ).value
    return found.trav, made


def names(document):
    return [one.text for one in layer(document.pages[0].items, "names") if isinstance(one, Text)]


def on_page(document):
    return " ".join(one.text for one in flat(document.pages[0].items) if isinstance(one, Text))


def bars(document):
    """Signs of beds on the map: each has a bar and a tick, and one beside its place a hairline as well."""
    return [one for one in layer(document.pages[0].items, "attitudes") if isinstance(one, Path)]


@pytest.mark.thorough
def test_stations_on_each_other_have_one_name():
    """No name over another, none left off, and the paper says what such a name stands for."""
    _, made = camp()
    assert {f"{','.join(PARTIES)}-{station}" for station in range(1, 7)} == set(names(made))
    assert "A,B,C,D,E,F-1: A-1, B-1, C-1, D-1, E-1 and F-1, on each other." in on_page(made)
    assert not overlaps(layer(made.pages[0].items, "names"))


def test_a_plane_that_all_read_alike_is_drawn_once_and_the_rest_counted_on_the_paper():
    """Six readings at six places, all within a degree or two."""
    _, made = camp()
    assert len(bars(made)) == 2 * 6


@pytest.mark.thorough
def test_readings_at_places_near_each_other_are_counted_where_they_are_left_off():
    """Stations that are not tied are no shared outcrop, so all their readings are drawn that say something else."""
    trav, made = camp(B={"beds": (30, 62)})
    stations = {one.station for one in trav.geology.each_once}
    apart = [one for one in trav.geology.each_once if one.dip_deg > 55.0]
    assert len(apart) == 6
    assert stations >= {f"B-{station}" for station in range(1, 7)}
    figures = [one.text for one in layer(made.pages[0].items, "figures") if isinstance(one, Text)]
    # They lie out of what the others read, so each has its question mark.
    assert sum(one in {"62?", "63?"} for one in figures) == 6


def test_a_map_of_one_party_has_every_name_and_reading():
    """The rule is of camps: one party's readings beside each other are its own."""
    text = party(0).replace("close 1 010 100m", "to 7 010 3m\n  bed 031/40\nclose 1 010 97m")
    found = compile_log(Source(name="one.trav", text=text), load=None)
    made = compose(map_ground(found.trav), found.diagnostics, template=read_template("field").value, mark="x")
    assert {"1", "2", "3", "4", "5", "6", "7"} == set(names(made.value))
    assert "Left off" not in on_page(made.value)


@pytest.mark.parametrize("near_m", [2.0, 30.0])
def test_names_are_shared_by_what_lies_on_each_other_alone(near_m):
    """Parties without ties, each from a known point of its own, a few metres or a good way apart.

    Both fixes of 1 agree within what they are off by, so it is one place: the other five are shared on paper alone.
    """
    head = "grid EPSG:32633\ncontrol 1 {} E 6000000 N ±1m gps\n"
    files = {
        f"{one}.trav": party(number).replace("at 1\n", head.format(500000 + near_m * number) + "at 1\n")
        for number, one in enumerate("AB")
    }
    text = "notation 1\ntraverse Two\nlog A.trav as A\nlog B.trav as B\n"
    found = compile_log(Source(name="camp.trav", text=text), load=lambda name: files[name].encode())
    assert found.trav is not None, [one.message for one in found.diagnostics]
    made = compose(
        map_ground(found.trav), found.diagnostics, template=read_template("field").value, mark="x"
    ).value
    together = {one for one in names(made) if "," in one}
    assert bool(together) is (near_m < 10.0)
    assert ("Left off: 5 readings of other parties" in on_page(made)) is (near_m < 10.0)
