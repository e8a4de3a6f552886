"""A camp as the key of the logs that it brings in."""

import re

import pytest

from tests.compare.camp import compiled_camp, joined, line_of
from tests.compare.round_walks import Ground, alone, held, no_files
from tests.compare.round_walks import joined as walks_joined
from tests.sheet.map.test_camp_map import FEET, GROUND
from tests.thorough import some
from traverse.compare.against_key import against_key
from traverse.compare.records import PairedBy, Part
from traverse.compare.scheme import read_scheme
from traverse.compile import compile_log
from traverse.source import Source

LOG = """notation 1
bearings true
attitudes dip-right
pace 1 m
unit Rg Rigg Shale ; Jurassic
unit Wl Wellan Slate ; Silurian

at 1
  unit Wl
  bed 000/30
to 2 090 100p
along 30p
  contact Rg/Wl certain
at 2
  unit Rg
  bed 000/32
to 3 000 100p
  unit Rg
  bed 001/31
to 4 270 100p
along 70p
  contact Rg/Wl certain
at 4
  unit Wl
  bed 359/30
close 1 180 100p
"""
CAMP = "notation 1\ntraverse two\nlog x.trav as A\nlog y.trav as B\ntie A-1 to B-1\ntie A-3 to B-3\n"
FILES = {"x.trav": LOG, "y.trav": LOG.replace("bed 000/32", "bed 000/37")}


def load(name):
    return FILES[name].encode()


def against_camp(name):
    scheme = read_scheme(None)[0].value
    key = compile_log(Source(name="camp.trav", text=CAMP), load=load)
    log = compile_log(Source(name=name, text=FILES[name]), load=load)
    return against_key(name, log, key.trav, scheme, load)


def test_each_log_is_its_own_party_of_the_camp():
    """A log lies on itself: every station, bed, contact and unit is right, and nothing of the other party is missing."""
    for letters, name in (("A", "x.trav"), ("B", "y.trav")):
        found = against_camp(name)
        assert {one.station: one.key for one in found.standing.pairs} == {
            at: f"{letters}-{at}" for at in "1234"
        }
        assert found.standing.missed == ()
        scored = {one.part: one.scored for one in found.marks}
        assert [scored[part] for part in (Part.ATTITUDES, Part.CONTACTS, Part.UNITS)] == [25.0, 20.0, 15.0]


@pytest.mark.thorough
def test_what_the_camp_doubts_of_a_party_is_not_full_marks_and_is_its_cause():
    """One party of three read by another rule than its line says: the camp asks about it, and so does the comparison."""
    files = joined(20, names=("left", "letter", "none"))

    def read(name):
        return files[name].encode()

    key = compiled_camp(files)
    scheme = read_scheme(None)[0].value
    scored, causes = {}, {}
    for name in ("left", "letter", "none"):
        log = compile_log(Source(name=f"{name}.trav", text=files[f"{name}.trav"]), load=read)
        found = against_key(f"{name}.trav", log, key.trav, scheme, read)
        scored[name] = next(one.scored for one in found.marks if one.part is Part.ATTITUDES)
        causes[name] = [(one.span.line, one.cause) for one in found.causes]
    assert scored["left"] < 5.0
    assert (scored["letter"], scored["none"]) == (25.0, 25.0)
    assert causes["left"] == [(line_of(files["left.trav"], "attitudes"), "dip-left for dip-direction")]
    assert causes["none"] == []


def test_a_party_that_is_left_out_of_its_camp_is_told_every_slip_of_its_heading():
    """Feet for metres leaves it out, so the camp can't ask about its attitudes; held against the camp it is told of both."""
    party = FEET.replace("attitudes dip-right", "attitudes dip-left")
    files = {"a.trav": GROUND, "b.trav": party, "c.trav": f"{GROUND}# C\n"}
    rows = ["notation 1", "traverse Hollin camp", *(f"log {one.lower()}.trav as {one}" for one in "ABC")]
    rows += [f"tie A-{at} to {letter}-{at}" for letter in "BC" for at in (1, 3, 6, 9, 12)]
    camp = compiled_camp(files | {"camp.trav": "\n".join(rows) + "\n"})
    assert [one.party for one in camp.trav.survey.aside] == [1]
    log = compile_log(Source(name="b.trav", text=party), load=lambda name: b"")
    found = against_key("b.trav", log, camp.trav, read_scheme(None)[0].value, lambda name: b"")
    assert {(one.cause, one.span.line) for one in found.causes} == {
        ("feet taken for metres", line_of(party, "distances")),
        ("dip-left for dip-right", line_of(party, "attitudes")),
    }


@pytest.mark.every(2)
@pytest.mark.parametrize("seed", some(range(5), 3))
def test_a_party_outside_the_camp_is_asked_for_each_place_once(seed):
    """Held against a camp of two it is marked as against one of them: no copy of a stop or a contact is missing."""
    ground = Ground(seed)
    camp = walks_joined(
        {one: ground.walk((seed, one)) for one in "AC"}, [(f"A-{at}", f"C-{at}") for at in (1, 3, 6, 9)]
    )
    log = alone(ground.walk((seed, "out")))
    scheme = read_scheme(None)[0].value
    found = against_key("out.trav", log, camp.trav, scheme, no_files)
    assert len(found.standing.pairs) == ground.count
    assert found.standing.missed == ()
    assert all(one.log is not None for one in found.standing.contacts)
    single = against_key("out.trav", log, alone(ground.walk((seed, "A"))).trav, scheme, no_files)
    assert len(found.standing.contacts) == len(single.standing.contacts)


def test_a_camp_held_against_one_log_has_no_station_beside_it_that_is_tied_to_a_paired_one():
    """Every place of either party is a stop of the key: by its own name, or by the tie."""
    scheme = read_scheme(None)[0].value
    key = compile_log(Source(name="key.trav", text=LOG), load=no_files)
    every = CAMP + "tie A-2 to B-2\ntie A-4 to B-4\n"
    log = compile_log(Source(name="camp.trav", text=every), load=load)
    found = against_key("camp.trav", log, key.trav, scheme, load).standing
    assert {one.station: one.key for one in found.pairs} == {f"A-{at}": at for at in "1234"}
    assert found.alone == ()
    assert found.missed == ()


def test_a_station_is_the_one_that_its_place_is_tied_to():
    """Three of four stations of a log are tied to names that only the key walks to; from there the fourth is where it lies."""
    text = re.sub(r"(?m)^(to|at|close) (\d)", r"\1 \g<2>0", LOG)
    ties = "tie 10 to 1\ntie 20 to 2\ntie 30 to 3\n"
    found = held(text.replace("pace 1 m\n", f"pace 1 m\n{ties}"), LOG).standing
    assert [(one.station, one.key, one.by) for one in found.pairs] == [
        ("10", "1", PairedBy.TIE),
        ("20", "2", PairedBy.TIE),
        ("30", "3", PairedBy.TIE),
        ("40", "4", PairedBy.PLACE),
    ]
    assert found.alone == ()
