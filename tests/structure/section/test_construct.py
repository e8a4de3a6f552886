"""Contacts carried through a section: folds of a stated geometry come back, and what can't be drawn is said."""

import math
from itertools import pairwise

import pytest

from tests.structure.fold_logs import height, normal, walk
from traverse.structure.section.records import Stop


def on_ground(level, limbs, low, high, pick=min):
    """Places on level ground at which the bed of a level comes out."""
    found = []
    for angle, constant in limbs:
        n = normal(angle)
        if abs(n[0]) > 1e-9:
            x = (level - constant) / n[0]
            if low <= x <= high and abs(height((x, 0.0), limbs, pick) - level) < 1e-9:
                found.append(x)
    return sorted(found)


def built(compiled):
    return compiled.geology.sections[0].construction


def limits(compiled):
    return [one.fact for one in compiled.geology.sections[0].limits]


def by_pair(construction):
    return {f"{line.younger}/{line.older}": line for line in construction.lines}


def points_of(line):
    return [point for piece in line.pieces for point in piece.points]


# A syncline with limbs of 40 and 30 degrees, its trace through (200, 0); younging angles and constants.
TURN = 200.0
LIMBS = [(40, 0.0), (-30, (normal(40)[0] - normal(-30)[0]) * TURN)]
LEVELS = {"Bb/Aa": 60.0, "Cc/Bb": 100.0}


def syncline(*, limbs=LIMBS, beds=((150.0, 40), (250.0, -30)), levels=LEVELS, length=400.0):
    contacts = []
    for pair, level in levels.items():
        contacts += [(x, pair) for x in on_ground(level, limbs, 0.0, length)]
    return walk(length, beds, contacts, ("Cc", "Bb", "Aa"))


def test_a_fold_made_by_the_rule_comes_back_exactly(compile_text):
    lines = by_pair(built(compile_text(syncline())))
    for pair, level in LEVELS.items():
        line = lines[pair]
        assert len(line.outcrops) == 2, pair
        for point in points_of(line):
            assert height(point, LIMBS) == pytest.approx(level, abs=1e-3), (pair, point)
        # It turns on the trace: the deepest point is the hinge.
        assert any(abs(height(p, LIMBS[:1]) - height(p, LIMBS[1:])) < 1e-3 for p in points_of(line))


def test_its_contacts_move_the_trace_to_where_the_limbs_meet(compile_text):
    """Readings that leave the trace anywhere between 120 and 270: half-way would be 195, the contacts say 200."""
    lines = by_pair(built(compile_text(syncline(beds=((120.0, 40), (270.0, -30))))))
    for pair, level in LEVELS.items():
        for point in points_of(lines[pair]):
            assert height(point, LIMBS) == pytest.approx(level, abs=1e-3)


def test_the_trace_is_at_right_angles_to_the_mean_dip(compile_text):
    axial = built(compile_text(syncline())).axial
    (line,) = [one for one in axial if one.points[-1][1] < -1.0]
    (x0, z0), (x1, z1) = line.points
    lean = math.degrees(math.atan2(x0 - x1, z0 - z1))
    assert lean == pytest.approx((40 - 30) / 2.0, abs=1e-6)
    assert (line.left_dip_deg, line.right_dip_deg) == (pytest.approx(40.0), pytest.approx(-30.0))


def test_an_overturned_fold_comes_back_too(compile_text):
    limbs = [(33, 0.0), (-114, (normal(33)[0] - normal(-114)[0]) * TURN)]
    log = syncline(limbs=limbs, beds=((150.0, 33), (250.0, -114)), levels={"Bb/Aa": 60.0, "Cc/Bb": 90.0})
    construction = built(compile_text(log))
    lines = by_pair(construction)
    for pair, level in {"Bb/Aa": 60.0, "Cc/Bb": 90.0}.items():
        for point in points_of(lines[pair]):
            assert height(point, limbs) == pytest.approx(level, abs=1e-3)
    arcs = compile_text(log).geology.sections[0].arcs
    assert any("no room" in sentence for sentence in arcs.sentences)


def test_the_younger_unit_lies_on_the_left_of_every_piece(compile_text):
    for line in built(compile_text(syncline())).lines:
        for piece in line.pieces:
            (ax, az), (bx, bz) = piece.points[:2]
            size = math.dist((ax, az), (bx, bz))
            middle = ((ax + bx) / 2.0, (az + bz) / 2.0)
            left = (middle[0] - (bz - az) / size, middle[1] + (bx - ax) / size)
            assert height(left, LIMBS) > height(middle, LIMBS)


def test_pieces_are_told_apart_by_the_ground(compile_text):
    construction = built(compile_text(syncline()))
    for line in construction.lines:
        for piece in line.pieces:
            middle = sum(point[1] for point in piece.points[:2]) / 2.0
            assert piece.eroded is (middle > 0)
        ends = [piece.points for piece in line.pieces]
        for one, other in pairwise(ends):
            assert one[-1] == pytest.approx(other[0])


def test_contacts_that_do_not_quite_agree_are_joined_through_both_outcrops(compile_text):
    log = syncline().replace(f"{on_ground(60.0, LIMBS, 0, 400)[0]:.4f}m", "97.0000m")
    line = by_pair(built(compile_text(log)))["Bb/Aa"]
    assert [round(x, 1) for x, _ in line.outcrops] == [97.0, round(on_ground(60.0, LIMBS, 0, 400)[1], 1)]
    places = points_of(line)
    for outcrop in line.outcrops:
        assert min(math.dist(outcrop, place) for place in places) < 1e-3


FAULTED = """notation 1
bearings true
attitudes dip-direction
unit Cc Top ;
unit Bb Middle ;
unit Aa Base ;
control 0 1000 E 1000 N 0 m
at 0
to 1 090 300m level
along 50m
bed 090/30
along 80m
contact Bb/Aa certain
along 150m
fault Bb/Aa certain 270/60
along 200m
bed 090/30
along 220m
contact Bb/Aa certain
section A-A' from 0 to 1, depth 100 m
"""


def test_nothing_is_carried_across_a_fault(compile_text):
    construction = built(compile_text(FAULTED))
    (fault,) = [line for line in construction.lines if line.kind.value == "fault"]
    assert fault.outcrops == ((pytest.approx(150.0), 0.0),)
    for line in construction.lines:
        if line.kind.value == "fault":
            continue
        side = 1.0 if line.outcrops[0][0] > 150.0 else -1.0
        for x, z in points_of(line):
            # The fault dips 60 toward the west: it lies at 150 + z / tan 60.
            assert (x - (150.0 + z / math.tan(math.radians(60.0)))) * side >= -1e-6
    assert any(Stop.AT_FAULT in line.stopped for line in construction.lines)


def test_a_fault_met_twice_is_one_line_with_the_dip_read_at_either_place(compile_text):
    log = FAULTED.replace("along 200m", "along 158m\nfault Bb/Aa approximate\nalong 200m")
    faults = [line for line in built(compile_text(log)).lines if line.kind.value == "fault"]
    assert len(faults) == 1
    assert len(faults[0].contacts) == 2
    (x0, z0), (x1, z1) = faults[0].pieces[0].points[0], faults[0].pieces[-1].points[-1]
    assert abs((z1 - z0) / (x1 - x0)) == pytest.approx(math.tan(math.radians(60.0)))


UNCONFORMABLE = """notation 1
bearings true
attitudes dip-direction
unit Dd Cap ; Neogene
unit Bb Middle ; Silurian
unit Aa Base ; Ordovician
control 0 1000 E 1000 N 100 m
at 0
unit Aa
bed 090/40
to 1 090 200m level
along 60m
contact Bb/Aa certain
along 140m
unconformity Dd/Bb certain flat
at 1
unit Dd
bed flat
to 2 090 100m +20
section A-A' from 0 to 2, depth 80 m
"""


def test_a_flat_cap_cuts_what_lies_below(compile_text):
    log = UNCONFORMABLE
    construction = built(compile_text(log))
    lines = by_pair(construction)
    cap = points_of(lines["Dd/Bb"])
    assert {round(z, 3) for _, z in cap} == {100.0}
    # Beds of the cap take no part below: the contact dips 40 all the way.
    (x0, z0), (x1, z1) = points_of(lines["Bb/Aa"])[0], points_of(lines["Bb/Aa"])[-1]
    assert abs((z1 - z0) / (x1 - x0)) == pytest.approx(math.tan(math.radians(40.0)), rel=1e-6)
    # Level with the ground to its left, the unconformity ends nothing that comes out there; it is not crossed to the right.
    assert all(z <= 100.0 + 1e-6 for x, z in points_of(lines["Bb/Aa"]) if x > 140.0)


def test_a_buried_contact_stops_at_the_unconformity_above_it(compile_text):
    log = UNCONFORMABLE.replace("along 60m\ncontact Bb/Aa certain\n", "").replace(
        "at 0\nunit Aa\nbed 090/40", "at 0\nunit Bb\nbed 270/40"
    )
    log = log.replace("at 0\nunit Bb", "at 0\ncontact Bb/Aa certain\nunit Bb")
    line = by_pair(built(compile_text(log)))["Bb/Aa"]
    assert all(z <= 100.0 + 1e-6 for _, z in points_of(line) if _ > 0.5)


HEAD = """notation 1
bearings true
attitudes dip-direction
unit Dd Cap ; Neogene
unit Bb Middle ; Silurian
unit Aa Base ; Ordovician
control 0 1000 E 1000 N 100 m
at 0
"""
HILL = (
    HEAD
    + """unit Aa
bed 090/40
to 1 090 100m level
along 60m
contact Bb/Aa certain
at 1
unit Bb
to 2 090 60m +30
along 20m
unconformity Dd/Bb certain
at 2
unit Dd
bed flat
to 3 090 60m -30
along {out}
unconformity Dd/{under} certain
at 3
unit {under}
section A-A' from 0 to 3, depth 80 m
"""
)
VALLEY = (
    HEAD
    + """unit Dd
bed flat
to 1 090 80m -20
along 20m
unconformity Dd/Aa certain
at 1
unit Aa
bed 270/25
to 2 090 40m level
along 20m
contact Bb/Aa certain
at 2
unit Bb
bed 270/25
to 3 090 80m +20
along 60m
unconformity Dd/Bb certain
at 3
unit Dd
section A-A' from 0 to 3, depth 80 m
"""
)


def between(points, low, high):
    return [(x, z) for x, z in points if low - 1e-6 <= x <= high + 1e-6]


@pytest.mark.parametrize(("out", "under"), [("40m", "Bb"), ("36m", "Aa")])
def test_the_base_of_a_cap_is_one_line_under_its_hill(compile_text, out, under):
    """Out of the ground at 110 m and, nearly level, on the other side: straight between, whatever lies under it."""
    (cap,) = [
        one for one in built(compile_text(HILL.format(out=out, under=under))).lines if one.younger == "Dd"
    ]
    assert len(cap.contacts) == len(cap.outcrops) == 2
    assert cap.older == ("Bb" if under == "Bb" else None)
    (x0, z0), (x1, z1) = cap.outcrops
    inside = between(points_of(cap), x0, x1)
    assert len(inside) >= 2
    for x, z in inside:
        assert z == pytest.approx(z0 + (x - x0) / (x1 - x0) * (z1 - z0), abs=0.2)
    assert {piece.eroded for piece in cap.pieces} == {False, True}


def test_over_a_valley_the_base_of_the_cap_ends_the_beds_that_rise_to_it(compile_text):
    lines = built(compile_text(VALLEY)).lines
    (cap,) = [one for one in lines if one.younger == "Dd"]
    (contact,) = [one for one in lines if one.younger == "Bb"]
    (x0, z0), (x1, z1) = cap.outcrops
    for x, z in points_of(contact):
        assert x < x0 or z <= z0 + (x - x0) / (x1 - x0) * (z1 - z0) + 1e-6
    # It does rise so far: its end lies on the surface.
    x, z = max(points_of(contact), key=lambda point: point[1])
    assert z == pytest.approx(z0 + (x - x0) / (x1 - x0) * (z1 - z0), abs=1e-6)
    assert contact.stopped == (Stop.AT_UNCONFORMITY,)


def test_a_surface_that_dips_otherwise_than_from_outcrop_to_outcrop_is_not_joined(compile_text):
    text = HILL.format(out="40m", under="Bb").replace("Dd/Bb certain\n", "Dd/Bb certain 090/30\n")
    caps = [one for one in built(compile_text(text)).lines if one.younger == "Dd"]
    assert [len(one.outcrops) for one in caps] == [1, 1]


def test_a_flat_cap_over_a_fold_ends_its_beds(compile_text):
    """The syncline above under a flat cap that the walk climbs onto at 300 m: below it the fold is what it was."""
    log = syncline(length=300.0).replace("unit Cc Unit Cc ;", "unit Dd Cap ;\nunit Cc Unit Cc ;")
    log = log.replace(
        "section A-A' from 0 to 1",
        "at 1\nunconformity Dd/Bb certain flat\nto 2 090 100m +25\nunit Dd\nbed flat\nsection A-A' from 0 to 2",
    )
    compiled = compile_text(log)
    lines = by_pair(built(compiled))
    (cap,) = {round(z, 6) for _, z in points_of(lines["Dd/Bb"])}
    assert cap == pytest.approx(0.0, abs=0.5)  # the ground is smoothed where the walk begins to climb
    for pair, level in LEVELS.items():
        for x, z in points_of(lines[pair]):
            assert height((x, z), LIMBS) == pytest.approx(level, abs=1e-3)
            assert x <= 300.0 or z <= cap + 1e-6
    # The one bed of Bb is of the far limb, and tells nothing of what lies under the cap here.
    (said,) = [one.words for one in compiled.geology.findings if one.words.startswith("Dd lies")]
    assert said.endswith("none of Bb measured on the limb below it.")
    # The fold is older than the cap: its axial surface does not go on through it.
    axial = built(compiled).axial
    assert axial
    assert max(z for one in axial for _, z in one.points) <= cap + 0.5


# Beds that dip east at 30 degrees throughout, of which one was written the other way round.
PANEL = [(30, 0.0)]
SLIPPED_AT = 250.0


def panel(*, words="", slipped=True):
    beds = [(float(x), -30 if slipped and x == SLIPPED_AT else 30) for x in range(50, 400, 50)]
    contacts = [(x, pair) for pair, level in LEVELS.items() for x in on_ground(level, PANEL, 0.0, 400.0)]
    text = walk(400.0, beds, contacts, ("Cc", "Bb", "Aa"))
    found = [line for line in text.splitlines() if line.strip().startswith("bed")]
    odd = next((line for line in found if found.count(line) == 1), None)
    return text if odd is None else text.replace(odd, odd + words)


def off_true(compiled):
    return max(
        abs(height(point, PANEL) - LEVELS[f"{line.younger}/{line.older}"])
        for line in built(compiled).lines
        for point in points_of(line)
    )


def test_a_bed_that_is_asked_about_bends_no_line(compile_text):
    assert off_true(compile_text(panel(slipped=False))) == pytest.approx(0.0, abs=1e-3)
    compiled = compile_text(panel())
    assert "bed-slipped" in {one.code for one in compiled.diagnostics}
    assert off_true(compiled) == pytest.approx(0.0, abs=1e-3)
    (said,) = limits(compiled)
    assert "took no part in the lines" in said
    # It is drawn all the same.
    assert sum(point.is_bed for point in compiled.geology.sections[0].points) == 7


def test_beds_carried_from_afar_are_told_of_only_where_there_are_lines(compile_text):
    beds, far = ((150.0, 40), (250.0, 40)), "at 1\nto 2 000 300m level\nat 2\nbed 090/40"
    for contacts, times in ((((200.0, "Bb/Aa"),), 1), ((), 0)):
        told = limits(compile_text(walk(400.0, beds, contacts, ("Bb", "Aa"), extra=far)))
        assert sum("took no part in its lines" in one for one in told) == times, told


def test_one_that_was_looked_at_again_counts(compile_text):
    compiled = compile_text(panel(words="\nchecked MO read twice"))
    assert not limits(compiled)
    assert off_true(compiled) > 5.0


def test_a_fault_without_a_dip_is_said_to_be_assumed_upright(compile_text):
    (line,) = [at for at, words in enumerate(FAULTED.splitlines(), 1) if words.startswith("fault")]
    assert not limits(compile_text(FAULTED))
    words = FAULTED.splitlines()
    words[line - 1] = " ".join(words[line - 1].split()[:3])
    (said,) = limits(compile_text("\n".join(words) + "\n"))
    assert "no dip of the fault on leg" in said
    assert "upright" in said


def test_a_fault_that_runs_along_the_section_is_said_to_be_carried_square(compile_text):
    words = FAULTED.splitlines()
    (line,) = [at for at, one in enumerate(words, 1) if one.startswith("fault")]
    words[line - 1] = " ".join([*words[line - 1].split()[:3], "010/60"])
    (said,) = limits(compile_text("\n".join(words) + "\n"))
    assert " strikes 10° from section" in said


@pytest.mark.parametrize("bed", ["090/90", "flat", "270/90", "000/45"])
def test_vertical_flat_and_strike_wise_beds_are_drawn_without_trouble(compile_text, bed):
    construction = built(compile_text(FAULTED.replace("bed 090/30", f"bed {bed}")))
    assert construction.lines
    for line in construction.lines:
        for x, z in points_of(line):
            assert math.isfinite(x + z)


def test_one_reading_is_one_panel(compile_text):
    log = walk(200.0, [(50.0, 30)], [(100.0, "Bb/Aa")], ("Bb", "Aa"))
    construction = built(compile_text(log))
    assert construction.axial == ()


TWO_ARMS = """notation 1
bearings true
attitudes dip-direction
unit Bb Upper ;
unit Aa Lower ;
at 1
unit Aa
bed 090/30
to 2 090 100m level
along {first}
contact Bb/Aa certain
at 2
unit Bb
to 3 000 40m level
unit Bb
to 4 270 100m level
along {second}
contact Bb/Aa certain
at 4
unit Aa
close 1 180 40m level
section A-A' from 1 to 2
"""


def test_one_contact_on_both_arms_of_a_loop_is_one_line(compile_text):
    compiled = compile_text(TWO_ARMS.format(first="50m", second="46m"))
    (line,) = built(compiled).lines
    assert len(line.contacts) == 2
    # 50 on the line of section, 54 carried 40 m: the near one counts five times the far one.
    assert line.outcrops[0][0] == pytest.approx((50 / 10 + 54 / 50) / (1 / 10 + 1 / 50))


def test_where_one_lies_beside_the_section_the_other_was_only_carried(compile_text):
    compiled = compile_text(TWO_ARMS.format(first="50m", second="46m") + "sheet band 10 m\n")
    (line,) = built(compiled).lines
    assert len(line.contacts) == 2
    assert line.outcrops[0][0] == pytest.approx(50.0)


def test_far_apart_on_the_two_arms_they_stay_two(compile_text):
    assert len(built(compile_text(TWO_ARMS.format(first="20m", second="20m"))).lines) == 2
