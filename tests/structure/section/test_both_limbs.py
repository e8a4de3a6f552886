"""Both limbs of a fold on a section: a contact of it is one line, and nothing comes over from one limb to the other."""

import math
import re
from dataclasses import replace
from itertools import pairwise

import pytest

from tests.invented.cut_true import cut_shares
from tests.invented.judge import compiled_walk
from tests.invented.models import make
from tests.invented.walker import walked
from traverse.compile import map_ground, section_ground
from traverse.log.records import Projection
from traverse.structure.section.records import PointKind

ROLLING = """notation 1
bearings true
attitudes dip-direction
unit Ju Upper ; Jurassic
unit Tr Middle ; Triassic
unit Pe Lower ; Permian
at 1
  unit Pe
  bed 090/27
to 2 090 50m level
at 2
  unit Pe
  bed 090/25
to 3 090 110m level
along 10m
  contact Tr/Pe certain
along 90m
  contact Ju/Tr certain
at 3
  unit Ju
  bed 090/10
to 4 090 180m level
along 40m
  bed 270/21
along 105m
  contact Ju/Tr certain
at 4
  unit Tr
  bed 270/21
to 5 090 80m level
along 40m
  contact Tr/Pe certain
at 5
  unit Pe
  bed 270/28
section A-A' from 1 to 5
"""

INTO_A_FAULT = """notation 1
bearings true
attitudes dip-direction
unit Ju Upper ; Jurassic
unit Tr Middle ; Triassic
unit Pe Lower ; Permian
at 1
  unit Tr
  bed 090/24
to 2 090 50m level
along 40m
  contact Ju/Tr certain
at 2
  unit Ju
  bed 090/24
to 3 090 60m level
along 45m
  bed 090/24
at 3
  bed 270/14
to 4 090 40m level
along 15m
  contact Ju/Tr certain
at 4
  unit Tr
  bed 270/28
to 5 090 50m level
along 8m
  fault Tr/Pe certain
at 5
  unit Pe
  bed 270/30
section A-A' from 1 to 5
"""
"""Its western limb runs into the fault under the eastern one, which has no room for so deep a trough."""


def compiled(kind, seed, *, projection=""):
    """A walk over invented ground, its section as the log asks for it, or with another `project` or none."""
    walk = walked(make(kind, seed))
    text = re.sub(r", project \w+", f", project {projection}" if projection else "", walk.text)
    walk = replace(walk, text=text)
    return walk, compiled_walk(walk)


@pytest.mark.every(2)
@pytest.mark.parametrize(
    ("kind", "seed", "projection", "pair"),
    [
        ("plunging", 0, "plunge", ("Cc", "Bb")),
        ("plunging", 1, "plunge", ("Cc", "Bb")),
        ("dome", 4, "square", ("Bb", "Aa")),
        ("dome", 4, "square", ("Dd", "Cc")),
    ],
)
def test_a_contact_that_comes_to_the_section_off_its_ground_is_one_line(kind, seed, projection, pair):
    """It was met on both limbs, beside the section, and lies under it, or was worn off over it."""
    _, found = compiled(kind, seed, projection=projection)
    (section,) = found.geology.sections
    lines = [one for one in section.construction.lines if (one.younger, one.older) == pair]
    assert len(lines) == 1
    assert len(lines[0].contacts) >= 2


def test_a_contact_met_far_off_is_not_brought_up_on_the_other_limb():
    """Over the whole section lies one unit: its base was met 212 m beside one end, under the ground there."""
    _, found = compiled("overturned", 4, projection="strike")
    (cut,) = section_ground(found.trav).ground.cuts
    (ground,) = [one for one in cut.fills if one.unit == "Ff"]
    assert (ground.start_m, ground.end_m) == pytest.approx((0.0, cut.section.length_m), abs=1.0)


@pytest.mark.every(3)
@pytest.mark.parametrize(("kind", "seed"), [("upright", 1), ("overturned", 0), ("overturned", 4)])
def test_a_section_askew_to_a_fold_is_carried_along_its_axis(kind, seed):
    """Also where one overturned bed alone was marked as that: what is carried square comes over the axial trace."""
    walk, _ = compiled(kind, seed)
    marked = walk.text.split(" overturned")
    once = replace(
        walk, text="".join([marked[0], *([" overturned"] if len(marked) > 1 else []), *marked[1:]])
    )
    square = replace(once, text=re.sub(r"(?m)^(section A-A' .*)$", r"\1, project square", once.text))
    told, as_asked = compiled_walk(once), compiled_walk(square)
    (section,) = told.geology.sections
    assert section.projection is Projection.PLUNGE
    assert as_asked.geology.sections[0].projection is Projection.SQUARE
    along, aside = (
        cut_shares(one, map_ground(compiled.trav)) for one, compiled in ((once, told), (square, as_asked))
    )
    # Where lines contradict one another less is coloured: what is right of it counts, but for a few cells.
    assert along.cells - 2 * along.wrong > 0.99 * (aside.cells - 2 * aside.wrong)


def test_a_contact_of_both_limbs_is_one_line_however_its_beds_roll(compile_text):
    """Beds that flatten toward the hinge bring either limb up far from where the contact was met on the other."""
    found = compile_text(ROLLING)
    (section,) = found.geology.sections
    lines = section.construction.lines
    assert sorted((one.younger, one.older) for one in lines) == [("Ju", "Tr"), ("Tr", "Pe")]
    inner, outer = sorted(lines, key=lambda one: one.younger == "Tr")
    for line, met in ((inner, (140.0, 265.0)), (outer, (60.0, 380.0))):
        assert [out[0] for out in line.outcrops] == pytest.approx(met, abs=0.1)
        (under,) = [piece.points for piece in line.pieces if not piece.eroded]
        # It falls to one trough and rises from there.
        heights = [up for _, up in under]
        deepest = heights.index(min(heights))
        assert heights == [*sorted(heights[:deepest], reverse=True), *sorted(heights[deepest:])]
    depths = [min(up for piece in one.pieces for _, up in piece.points) for one in (inner, outer)]
    assert depths[0] > depths[1] + 5.0
    assert any(
        "from limb to limb: followed by its beds, one misses the other" in one
        for one in section.construction.sentences
    )


def test_a_limb_that_runs_into_a_fault_is_drawn_once(compile_text):
    """A reader took the two lines, each drawn past the other limb, for two contacts."""
    found = compile_text(INTO_A_FAULT)
    (section,) = found.geology.sections
    for drawn in (section.construction, section.arcs):
        (line,) = [one for one in drawn.lines if one.kind is not PointKind.FAULT]
        assert [out[0] for out in line.outcrops] == pytest.approx((40.0, 125.0), abs=0.1)
        (under,) = [piece.points for piece in line.pieces if not piece.eroded]
        # Nowhere is it much steeper than its beds: what one limb misses the other by is not made up for all at once.
        assert all(
            abs(other[1] - one[1]) <= math.tan(math.radians(40.0)) * (other[0] - one[0])
            for one, other in pairwise(under)
        )
    assert any("Ju/Tr is drawn as one line" in one for one in section.construction.sentences)


@pytest.mark.parametrize(
    ("kind", "seed", "pair"), [("overturned", 1, ("Ee", "Dd")), ("overturned", 12, ("Ff", "Ee"))]
)
def test_a_limb_that_leaves_the_section_before_it_turns_is_drawn_once(kind, seed, pair):
    """Above it, of a fold with an overturned limb, or below it: beyond the other limb it would stand under that."""
    found = compiled_walk(walked(make(kind, seed), heights=False))
    (section,) = found.geology.sections
    for drawn in (section.construction, section.arcs):
        lines = [one for one in drawn.lines if (one.younger, one.older) == pair and one.pieces]
        assert [len(one.outcrops) for one in lines] == [2]
        path = [point for piece in lines[0].pieces for point in piece.points]
        assert (
            sum(one[0] < 300.0 <= other[0] or other[0] < 300.0 <= one[0] for one, other in pairwise(path))
            == 1
        )


RING = """notation 1
traverse Ring
party PL Pim Lorr
heights above the ford, assumed 100 m
bearings magnetic
declination 6.5 E, 2026, map margin
attitudes dip-right
pace PL single 100 m in 125, 126, 125, 124
precision bearing 1, slope 1, pace 2%
unit Rm Roon Marl ; Lower Cretaceous
unit Lk Lorn Limestone ; Upper Jurassic
unit Sd Sarn Sandstone ; Middle Jurassic
unit Cl Carn Slate ; Lower Jurassic
at 1
  unit Rm
  bed 344/29
  elevation 99 m map
to 2 092 94p +4 back 272
at 2
  unit Rm
  bed 216/35
to 3 114 90p +3 back 294
along 37p
  contact Rm/Lk certain
at 3
  unit Lk
  bed 213/39
to 4 139 81p +2 back 319
along 51p
  contact Lk/Sd certain
at 4
  unit Sd
  bed 212/40
to 5 160 74p +1 back 340
at 5
  unit Sd
  bed 212/40
to 6 172 70p +1 back 352
along 39p
  contact Sd/Cl certain
at 6
  unit Cl
  bed 212/40
to 7 184 73p +1 back 004
at 7
  unit Cl
  bed 212/40
to 8 202 79p level back 022
along 10p
  fault Sd/Cl certain 104/65 normal down S
at 8
  unit Sd
  bed 212/40
to 9 227 88p -1 back 047
at 9
  unit Sd
  bed 212/40
to 10 251 94p -4 back 071
at 10
  unit Sd
  bed 213/39
to 11 270 92p -5 back 090
along 16p
  contact Lk/Sd certain
at 11
  unit Lk
  bed 215/36
to 12 283 85p -4 back 103
at 12
  unit Lk
  bed 336/24
to 13 291 82p -3 back 111
at 13
  unit Lk
  bed 354/38
to 14 301 82p -2 back 121
along 10p
  contact Lk/Sd certain
at 14
  unit Sd
  bed 355/40
to 15 320 81p -2 back 140
at 15
  unit Sd
  bed 355/40
to 16 350 78p -1 back 170
along 2p
  contact Sd/Cl certain
at 16
  unit Cl
  bed 355/40
to 17 021 80p -1 back 201
along 21p
  contact Sd/Cl certain
along 44p
  fault Sd/Cl certain 104/65 normal down S
at 17
  unit Cl
  bed 355/40
to 18 043 82p +1 back 223
at 18
  unit Cl
  bed 355/40
to 19 055 82p +2 back 235
along 4p
  contact Sd/Cl certain
at 19
  unit Sd
  bed 355/40
to 20 062 84p +3 back 242
along 39p
  contact Lk/Sd certain
at 20
  unit Lk
  bed 354/39
close 1 074 90p +4 back 254
along 50p
  contact Rm/Lk certain
section A-A' from 16 to 6
"""
"""Round an open syncline, whose youngest contact was met on both limbs above the ground of the section."""


def test_of_a_line_in_the_air_that_its_beds_tell_it_is_not_said_that_they_miss(compile_text):
    # Read so, the two faults are none of one plane, and neither tells its place on the section.
    (section,) = compile_text(RING.replace("104/65", "076/65")).geology.sections
    (said,) = [one for one in section.construction.sentences if "one misses the other" in one]
    assert "Sd/Cl" in said
    # Followed from either limb, it comes within 3 m of where it was met on the other.
    assert "Rm/Lk" not in said


def test_a_fault_along_the_section_comes_to_it_between_two_places_where_it_was_met(compile_text):
    """Worked out of the ground that the page was made of: the fault is cut 158 m from A, Lk/Sd before it at 91 m, on the
    side on which it was met, though its place carried down the plunge lies under the fault."""
    geology = compile_text(RING).geology
    (section,) = geology.sections
    (taken,) = (one.words for one in geology.findings if one.claim == "one fault")
    assert taken.endswith("over more than 300\xa0m the map does not join them.")
    lines = section.construction.lines
    (fault,) = (one for one in lines if one.kind is PointKind.FAULT)
    assert fault.outcrops[0][0] == pytest.approx(158.0, abs=5.0)
    out = sorted(at for one in lines if (one.younger, one.older) == ("Lk", "Sd") for at, _ in one.outcrops)
    assert out == [pytest.approx(91.0, abs=5.0), pytest.approx(328.0, abs=6.0)]
    assert all(len(one.outcrops) == 1 for one in lines if one.older in {"Sd", "Cl"})
    assert any("its dip there is little sure" in one.fact for one in section.limits)


def test_the_limbs_on_two_sides_of_a_fault_that_is_left_off_are_two_lines(compile_text):
    """Met on one side of the section alone, where it comes to that is not known."""
    met_once = RING.replace("along 10p\n  fault Sd/Cl certain 104/65 normal down S\n", "")
    (section,) = compile_text(met_once).geology.sections
    assert "Sd/Cl is not joined from limb to limb: a fault" in " ".join(section.construction.sentences)


OBLIQUE = """notation 1
bearings magnetic
declination 2 E, 2026, map margin
attitudes dip-direction
precision bearing 1.5, slope 1, tape 2%
unit Va Vane Marl ; Jurassic
unit Wt Wether Limestone ; Triassic
unit Xa Axle Sandstone ; Permian
unit Yt Yarrow Slate ; Carboniferous
at 1
  unit Yt
  bed 289/71 overturned
  elevation 98 m map
to 2 090 73.1m +5 back 271
along 25.4m
  contact Xa/Yt certain
at 2
  unit Xa
  bed 288/70 overturned
to 3 083 68.7m +4 back 260
along 9.1m
  contact Wt/Xa certain
along 55.9m
  contact Va/Wt certain
at 3
  unit Va
  bed 291/72 overturned
to 4 094 71.2m +3 back 274
along 66.3m
  contact Va/Wt certain
at 4
  unit Wt
  bed 295/28
to 5 084 71.4m +2 back 262
along 54.1m
  fault Va/Wt certain 111/64 normal down E
at 5
  unit Va
  bed 297/27
to 6 096 71.8m level back 276
along 21.0m
  contact Va/Wt certain
at 6
  unit Wt
  bed 294/25
to 7 081 70.8m level back 261
along 33.7m
  contact Wt/Xa certain
at 7
  unit Xa
  bed 302/34
to 8 073 61.8m level back 253
at 8
  unit Xa
  bed 293/32
to 9 011 71.7m -2 back 190
at 9
  unit Xa
  bed 292/31
to 10 348 76.8m -1 back 170
at 10
  unit Xa
  bed 296/29
to 11 348 67.1m +1 back 166
along 9.3m
  contact Wt/Xa certain
at 11
  unit Wt
  bed 303/28
to 12 280 72.3m +1 back 100
along 36.9m
  contact Va/Wt certain
at 12
  unit Va
  bed 295/28
to 13 265 69.3m level back 080
along 39.4m
  fault Va/Wt certain 110/67 normal down E
along 52.8m
  contact Va/Wt certain
at 13
  unit Va
  bed 298/27
to 14 276 71.4m level back 095
at 14
  unit Va
  bed 290/80 overturned
to 15 261 73.3m -1 back 085
along 35.2m
  contact Va/Wt certain
at 15
  unit Wt
  bed 287/73 overturned
to 16 275 68.3m -3 back 095
along 9.0m
  contact Wt/Xa certain
along 60.5m
  contact Xa/Yt certain
at 16
  unit Yt
  bed 291/70 overturned
section B-B' from 1 to 11
"""
"""An overturned syncline, plunging 6° toward 020°, behind a normal fault; its limbs dip 30 and 70° west-north-west."""


def test_a_contact_turns_where_its_limbs_meet_beside_a_bed_that_was_carried_past_the_trace(compile_text):
    """The bed at 14 was carried 147 m; half-way to that at 4 the trace would draw the contact twice, 66 m apart."""
    (section,) = compile_text(OBLIQUE).geology.sections
    lines = [one for one in section.construction.lines if one.kind is PointKind.CONTACT]
    pieces = [one.pieces for one in lines if (one.younger, one.older) == ("Va", "Wt")]
    points = [point for one in pieces for piece in one if not piece.eroded for point in piece.points]
    # Of this ground the contact turns at 160 m along the section, at a height of 64 m.
    hinge = min((point for point in points if point[0] < 330.0), key=lambda point: point[1])
    assert math.dist(hinge, (160.0, 64.0)) < 15.0
    # Once on this side of the fault, once beyond it.
    assert len(pieces) == 2
