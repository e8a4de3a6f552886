"""Outcrops of several parties: counted once where they agree, both shown where they do not; and units that differ."""

import numpy as np
import pytest
import shapely

from traverse.compile import compile_log, map_ground
from traverse.source import Source

HEAD = """notation 1
bearings true
attitudes {rule}
grid EPSG:25833
control Cairn 412350 E 4289020 N
unit Sh Reed Shale ; Jurassic
unit Lt Larder Limestone ; Triassic
"""
CAMP = "notation 1\ntraverse Ilvane\ngrid EPSG:25833\nlog a.trav as A\nlog b.trav as B\nlog c.trav as C\n"
PLACES = ("Cairn", "2", "3", "4")


def party(beds, *, rule="dip-right", units=("Sh",) * 4):
    """A square of 100 m with a bed and a unit at each corner."""
    rows = [HEAD.format(rule=rule), "at Cairn", f"  unit {units[0]}", f"  bed {beds[0]}"]
    for index, azimuth in enumerate(("000", "090", "180")):
        rows += [f"to {index + 2} {azimuth} 100m", f"  unit {units[index + 1]}", f"  bed {beds[index + 1]}"]
    return "\n".join([*rows, "close Cairn 270 100m"]) + "\n"


def written(*logs):
    """Files of parties that may have read the same, each in its own hand: no two are alike letter for letter."""
    return {f"{letter}.trav": f"{text}# {letter}\n" for letter, text in zip("abc", logs, strict=False)}


def compiled(a, b, c, camp=CAMP, ties=PLACES[1:]):
    files = written(a, b, c)
    text = camp + "".join(f"tie A-{at} to {party}-{at}\n" for party in "BC" for at in ties)
    found = compile_log(Source(name="camp.trav", text=text), load=lambda name: files[name].encode())
    assert not found.failed, [one.message for one in found.diagnostics if one.kind == "error"]
    return found


def told(found, *codes):
    return [(one.code, one.span.file, one.span.line) for one in found.diagnostics if one.code in codes]


ALIKE = party(("300/30", "302/32", "300/31", "298/30"))


def test_an_outcrop_that_parties_read_alike_counts_once_with_their_mean():
    """The mean of 300/30 and 300/36, poles 6 degrees apart, is 300/33."""
    found = compiled(ALIKE, ALIKE, party(("300/36", "302/32", "300/31", "298/30")))
    first = found.geology.shared[0]
    assert first.out == (False, False, False)
    assert (first.mean.n, first.mean.strike_deg) == (3, pytest.approx(300.0, abs=1e-6))
    assert first.mean.dip_deg == pytest.approx(32.0, abs=0.01)  # of 30, 30 and 36
    assert len(found.geology.attitudes) == 12  # what each party read stays
    assert found.geology.bedding_mean.n == 4
    assert told(found, "outcrop-disagrees", "party-attitudes") == []


@pytest.mark.parametrize(("dip", "agree"), [(37.9, True), (38.1, False)])
def test_of_two_parties_eight_degrees_decide(dip, agree):
    found = compiled_two(ALIKE, party((f"300/{dip}", "302/32", "300/31", "298/30")))
    first = found.geology.shared[0]
    assert (first.mean is not None) is agree
    assert first.out == ((False, False) if agree else (True, True))
    assert told(found, "outcrop-disagrees") == ([] if agree else [("outcrop-disagrees", "b.trav", 11)])


def test_two_parties_that_differ_are_one_question_with_both_lines_and_none_is_named():
    found = compiled_two(ALIKE, party(("300/30", "302/32", "300/55", "298/30")))
    (asked,) = [one for one in found.diagnostics if one.code == "outcrop-disagrees"]
    assert (asked.span.file, asked.span.line) == ("b.trav", 17)
    assert [(one.span.file, one.span.line, one.text) for one in asked.labels] == [
        ("a.trav", 17, "A reads it so")
    ]
    assert "nothing says which of them is wrong" in asked.message
    assert found.geology.shared[2].mean is None


def test_what_one_party_read_twice_does_not_outvote_another():
    twice = ALIKE.replace("  bed 300/31\n", "  bed 300/31\n  bed 301/30\n")
    assert twice != ALIKE
    found = compiled_two(twice, party(("300/30", "302/32", "300/55", "298/30")))
    at_3 = found.geology.shared[2]
    assert at_3.out == (True, True, True)
    assert at_3.mean is None
    (asked,) = [one for one in found.diagnostics if one.code == "outcrop-disagrees"]
    assert [(one.span.file, one.span.line) for one in asked.labels] == [("a.trav", 17), ("a.trav", 18)]


def compiled_two(a, b, ties=PLACES[1:]):
    files = written(a, b)
    text = CAMP.replace("log c.trav as C\n", "") + "".join(f"tie A-{at} to B-{at}\n" for at in ties)
    return compile_log(Source(name="camp.trav", text=text), load=lambda name: files[name].encode())


def test_who_lies_out_of_three_is_asked_and_drawn_beside_the_mean_of_the_others():
    found = compiled(ALIKE, party(("300/30", "302/32", "330/45", "298/30")), ALIKE)
    at_3 = found.geology.shared[2]
    assert at_3.out == (False, True, False)
    assert at_3.mean.n == 2
    drawn = [one for one in found.geology.each_once if one.place.address.station in {"A-3", "B-3", "C-3"}]
    assert [(round(one.dip_deg), one.n) for one in drawn] == [(31, 2), (45, 1)]
    assert told(found, "outcrop-disagrees") == [("outcrop-disagrees", "b.trav", 17)]
    assert "that of B lies out" in next(
        one.message for one in found.diagnostics if one.code == "outcrop-disagrees"
    )


@pytest.mark.every(2)
@pytest.mark.parametrize(("wrong", "words"), [("120/31", "a half turn?"), ("030/31", "a quarter turn?")])
def test_a_slip_that_brings_a_plane_to_what_others_read_is_offered_as_in_a_log_by_itself(wrong, words):
    found = compiled(ALIKE, party(("300/30", "302/32", wrong, "298/30")), ALIKE)
    (asked,) = [one for one in found.diagnostics if one.code == "outcrop-disagrees"]
    assert (asked.span.file, asked.span.line) == ("b.trav", 17)
    assert asked.hints[0].startswith(f"{words} 300/31 would fit; else read it again")


def test_no_slip_is_offered_where_none_brings_a_plane_to_what_others_read():
    found = compiled(ALIKE, party(("300/30", "302/32", "330/45", "298/30")), ALIKE)
    (asked,) = [one for one in found.diagnostics if one.code == "outcrop-disagrees"]
    assert asked.hints[0].startswith("read it again")


def test_a_party_that_reads_all_by_another_rule_is_told_that_once_at_its_line():
    """Dip to the left written as dip to the right: every pole differs, and by the other rule none."""
    found = compiled(ALIKE, ALIKE, party(("120/30", "122/32", "120/31", "118/30")))
    assert told(found, "party-attitudes", "outcrop-disagrees", "other-rule") == [
        ("party-attitudes", "c.trav", 3)
    ]
    (asked,) = [one for one in found.diagnostics if one.code == "party-attitudes"]
    assert "read as `dip-left`, within 8°" in asked.message


def test_a_rule_is_told_by_outcrops_of_two_and_not_by_beds_that_lie_nearly_level():
    """Each outcrop that C shares is one other's alone; at the last a dip of 5° agrees with them by every rule."""
    files = written(
        party(("300/30", "302/32", "300/31", "300/5")),
        party(("300/30", "302/32", "300/31", "300/5")),
        party(("120/30", "122/32", "120/31", "120/5")),
    )
    ties = "tie A-2 to C-2\ntie B-3 to C-3\ntie B-4 to C-4\n"
    found = compile_log(Source(name="camp.trav", text=CAMP + ties), load=lambda name: files[name].encode())
    assert told(found, "party-attitudes") == [("party-attitudes", "c.trav", 3)]
    assert told(found, "outcrop-disagrees") == []


def test_of_two_parties_that_read_by_two_rules_none_is_accused_of_it():
    found = compiled_two(ALIKE, party(("120/30", "122/32", "120/31", "118/30")))
    assert told(found, "party-attitudes") == []
    assert [one.out for one in found.geology.shared] == [(True, True)] * 4
    assert all(one.mean is None for one in found.geology.shared)


@pytest.mark.parametrize(("along", "asked"), [("99m", 0), ("60m", 1)])
def test_where_a_contact_of_both_units_was_met_each_party_may_stand_on_its_own_side(along, asked):
    """Both are right within the errors of their walks; 40 m from the contact one is wrong."""
    lower = party(("300/30", "302/32", "300/31", "298/30"), units=("Sh", "Sh", "Lt", "Sh"))
    walked = lower.replace("to 3 090 100m", f"to 3 090 100m\nalong {along}\n  contact Sh/Lt certain\nat 3")
    found = compiled_two(ALIKE, walked)
    assert [one.span.line for one in found.diagnostics if one.kind == "error"] == []
    assert len(told(found, "units-differ")) == asked


def test_planes_that_disagree_are_told_by_where_they_dip_not_as_written():
    """Under two rules 300/30 is two planes, and the figures of the page would read as one."""
    found = compiled_two(ALIKE, party(("300/30", "302/32", "300/31", "298/30"), rule="dip-left"))
    first = next(one for one in found.diagnostics if one.code == "outcrop-disagrees")
    assert "A 30° → 030°, B 30° → 210°" in first.message


RULED = (
    HEAD.format(rule="dip-left")
    + "at Cairn\n  unit Lt\n  bed 000/30\nto 2 090 100m\nalong 30m\n  contact Sh/Lt certain\n"
    "at 2\n  unit Sh\n  bed 000/32\nto 3 000 100m\n  unit Sh\n  bed 001/31\nto 4 270 100m\nalong 70m\n"
    "  contact Sh/Lt certain\nat 4\n  unit Lt\n  bed 359/30\nclose Cairn 180 100m\n"
)
"""Younger shale in the east, and beds that by `dip-left` dip to the west, under the limestone."""


def test_a_party_is_asked_of_its_rule_by_its_own_contacts_as_in_its_log_by_itself():
    alone = compile_log(Source(name="b.trav", text=RULED), load=lambda name: b"")
    assert told(alone, "other-rule") == [("other-rule", "b.trav", 3)]
    camp = compiled_two(RULED.replace("dip-left", "dip-right"), RULED)
    asked = told(camp, "other-rule", "party-attitudes", "outcrop-disagrees", "limb-turns-over", "all-below")
    assert asked == [("other-rule", "b.trav", 3)]


def test_two_units_at_one_place_are_both_shown_and_asked_about_until_a_ruling():
    other = party(("300/30", "302/32", "300/31", "298/30"), units=("Sh", "Sh", "Lt", "Sh"))
    found = compiled(ALIKE, other, ALIKE)
    (place,) = found.geology.shared_places
    assert (place.stations, place.letters) == (("A-3", "B-3", "C-3"), ("Sh", "Lt"))
    assert told(found, "units-differ") == [("units-differ", "b.trav", 16)]  # the one that stands alone
    ruled = compiled(ALIKE, other, ALIKE, camp=CAMP + "ruling A-3 unit Sh HG 2026-06-21 seen together\n")
    assert ruled.geology.shared_places == ()
    assert told(ruled, "units-differ") == []


def test_a_unit_that_one_party_booked_against_the_others_colours_no_ground_that_they_walked():
    """The contact that all three met stays a line across the band."""

    def text(unit):
        return (
            HEAD.format(rule="dip-right")
            + "at Cairn\n  unit Lt\n  bed 000/30\nto 2 090 100m\nalong 97m\n  contact Sh/Lt certain\n"
            + f"at 2\n  unit {unit}\nto 3 080 100m\nat 3\n  unit Sh\n  bed 000/30\nto 4 000 100m\n  unit Sh\n"
        )

    ground = map_ground(compiled(text("Lt"), text("Sh"), text("Sh")).trav).ground
    (limestone,) = [one for one in ground.map.band.areas if one.unit == "Lt"]
    assert max(part.bounds[2] for part in limestone.parts) < 412350 + 105
    drawn = shapely.union_all([one.line for one in ground.map.band.crossed])
    assert drawn.length > 1.9 * ground.width.half_m
    # Of two that differ neither is known to be right.
    other = map_ground(compiled_two(text("Lt"), text("Sh")).trav).ground
    (limestone,) = [one for one in other.map.band.areas if one.unit == "Lt"]
    assert max(part.bounds[2] for part in limestone.parts) > 412350 + 130


def test_contacts_of_several_parties_are_joined_as_those_of_one():
    """The same walk booked by one party, and by two that share two of its places."""
    beds = "  unit {}\n  bed 000/30\n"
    first = (
        HEAD.format(rule="dip-right") + "at Cairn\n" + beds.format("Lt")
        + "to 2 090 200m\nalong 120m\n  contact Sh/Lt certain\nat 2\n" + beds.format("Sh") + "to 3 000 100m\n" + beds.format("Sh")
    )  # fmt: skip
    second = (
        "to 4 270 200m\nalong 80m\n  contact Sh/Lt certain\nat 4\n"
        + beds.format("Lt")
        + "close Cairn 180 100m\n"
    )

    def read(text, files):
        found = compile_log(Source(name="camp.trav", text=text), load=lambda name: files[name].encode())
        assert not found.failed, [one.message for one in found.diagnostics if one.kind == "error"]
        return map_ground(found.trav).ground

    alone = read(first + second, {})
    head = HEAD.format(rule="dip-right")
    camp = CAMP.replace("log c.trav as C\n", "") + "tie A-3 to B-3\n"
    together = read(camp, {"a.trav": first, "b.trav": f"{head}at 3\n{beds.format('Sh')}{second}"})
    assert len(alone.joins) == len(together.joins) == 1
    (one,), (other,) = alone.joins[0].lines, together.joins[0].lines
    assert np.abs(np.array(one) - np.array(other)).max() < 0.01
