"""Places of several parties that no tie makes one and no error parts: what they booked there can't all be right."""

from tests.structure.readings.test_shared import ALIKE, compiled, compiled_two, party, told

WRONG = ("300/30", "302/32", "120/31", "298/30")


def test_a_bed_against_those_of_two_parties_near_it_is_asked_about_and_tells_nothing():
    """A half turn at one outcrop made a fold of a homocline."""
    found = compiled(party(WRONG), ALIKE, ALIKE, ties=())
    (asked,) = [one for one in found.diagnostics if one.code == "outcrop-disagrees"]
    assert (asked.span.file, asked.span.line) == ("a.trav", 17)
    assert "At A-3, B-3 and C-3".lower() in asked.message.lower()
    assert asked.hints[0].startswith("a half turn? 300/31 would fit")
    assert asked.span in found.geology.doubted
    # Nearness makes no mean of what agrees.
    assert [one.read[0].station for one in found.geology.shared] == ["Cairn"]


def test_of_two_parties_alone_neither_is_named_unless_its_own_walk_tells_which():
    def only_at_3(bed):
        text = party(("x", "x", bed, "x"))
        return text.replace("  bed x\n", "")

    found = compiled_two(only_at_3("225/55"), only_at_3("300/31"), ties=())
    (asked,) = [one for one in found.diagnostics if one.code == "outcrop-disagrees"]
    assert "nothing says which of them is wrong" in asked.message
    assert (asked.span.file, [(one.span.file, one.span.line) for one in asked.labels]) == (
        "b.trav",
        [("a.trav", 15)],
    )
    by_its_walk = compiled_two(party(WRONG), ALIKE, ties=())
    assert told(by_its_walk, "outcrop-disagrees", "bed-slipped") == [("bed-slipped", "a.trav", 17)]


def test_beds_of_two_limbs_that_each_agree_on_their_own_walk_are_a_fold():
    first = party(("300/40", "302/41", "300/40", "120/40"))
    other = party(("300/40", "302/41", "120/40", "122/41"))
    assert told(compiled(first, other, other, ties=()), "outcrop-disagrees") == []


def test_a_unit_against_those_of_two_parties_near_it_is_shown_and_takes_no_ground():
    other = party(("300/30", "302/32", "300/31", "298/30"), units=("Sh", "Sh", "Lt", "Sh"))
    found = compiled(ALIKE, other, ALIKE, ties=())
    (place,) = found.geology.shared_places
    assert (place.near, place.stations, place.alone.letters) == (True, ("A-3", "B-3", "C-3"), "Lt")
    settled = found.geology.settled(found.log)
    assert {one.unit for one in settled.band} == {"Sh"}
    # Of two that differ neither is known to be right, and nothing says that they stood at one place.
    assert compiled_two(ALIKE, other, ties=()).geology.shared_places == ()


def test_units_on_two_sides_of_a_contact_near_by_are_no_contradiction():
    walk = "to 3 090 100m\nalong 95m\n  contact Sh/Lt certain\nat 3\n"
    here = ALIKE.replace("to 3 090 100m\n", walk)
    assert here != ALIKE
    other = party(("300/30", "302/32", "300/31", "298/30"), units=("Sh", "Sh", "Lt", "Sh"))
    assert compiled(here, other, ALIKE, ties=()).geology.shared_places == ()
