"""Flat beds walked round a hill: the section cuts them level, at the heights where their contacts were met."""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from tests.invented.judge import compiled_walk, walk_over
from tests.thorough import either
from traverse.compile import compile_log, section_ground
from traverse.source import Source
from traverse.structure.section.records import CarryRule, PointKind, Section

HEAD = """notation 1
bearings true
attitudes dip-direction
unit Cs Cap Sandstone ; Cretaceous
unit Lm Shelf Limestone ; Cretaceous
unit Md Foot Mudstone ; Jurassic
"""
ROUND = """at 1
unit Md
bed flat
to 2 045 120m +6
along 80m
contact Lm/Md certain
at 2
unit Lm
bed flat
to 3 030 130m +8
along 90m
contact Cs/Lm certain
at 3
unit Cs
bed {top}
to 4 085 120m +3
unit Cs
to 5 125 130m -7
along 100m
contact Cs/Lm approximate
at 5
unit Lm
bed flat
to 6 190 140m -6
covered 100m to 124m talus
contact Lm/Md inferred
at 6
unit Md
to 7 235 150m -5
unit Md
bed flat
close 1 287 243m +1
"""
"""A cap of flat beds, walked round."""


def compiled(top="flat", *, more="", text=ROUND):
    return compile_log(
        Source(name="hill.trav", text=HEAD + text.format(top=top) + more), load=lambda name: b""
    )


def section_of(top="flat", **more):
    (section,) = compiled(top, **more).geology.sections
    return section


def lines_of(section):
    return [line for line in section.construction.lines if line.kind is PointKind.CONTACT]


@pytest.mark.parametrize("top", ["flat", "330/2", "150/4"])
def test_every_contact_is_level_at_the_height_where_it_was_met(top):
    section = section_of(top)
    assert section.construction.rule is CarryRule.LEVEL
    met = {(one.younger, one.older): [] for one in section.levels}
    for one in compiled(top).geology.contacts:
        met[one.younger, one.older].append(one.place.up_m)
    assert [(one.younger, one.older) for one in section.levels] == [("Cs", "Lm"), ("Lm", "Md")]
    for line in lines_of(section):
        heights = {round(up, 6) for piece in line.pieces for _, up in piece.points}
        assert len(heights) == 1
        places = met[line.younger, line.older]
        assert min(places) - 1e-3 <= heights.pop() <= max(places) + 1e-3


def test_each_place_of_the_profile_is_on_the_unit_of_its_height():
    section = section_of()
    high, low = (one.up_m for one in section.levels)
    for point in section.profile:
        assert point.unit == ("Cs" if point.up_m > high else "Lm" if point.up_m > low else "Md")


def test_a_line_that_reaches_no_contact_shows_one_unit():
    section = section_of(more="section A-A' from 6 to 7\n")
    assert {point.unit for point in section.profile} == {"Md"}
    assert lines_of(section) == []
    assert not section.laid_for_units


def test_nobodys_line_is_laid_where_it_meets_most_units_and_says_so():
    section = section_of()
    assert {point.unit for point in section.profile} == {"Cs", "Lm", "Md"}
    assert section.laid_for_units
    assert [one.sentence for one in section.limits] == [
        (
            "All beds lie flat, so the contacts of section A–A′, laid where it meets most units, run level, each at the height "
            "where it was met: take heights with care, since thickness rests on them alone."
        )
    ]


def test_a_line_of_ones_own_stays_where_it_was_laid():
    section = section_of(more="section A-A' from 2 to 5\n")
    assert section.construction.rule is CarryRule.LEVEL
    assert "laid where" not in " ".join(one.sentence for one in section.limits)


@pytest.mark.parametrize(
    ("was", "now"),
    [
        ("bed flat", "bed 330/12"),
        ("contact Cs/Lm approximate", "along 60m\nfault Cs/Lm certain"),
        # Met 30 m higher on the other side of the hill: level beds do not do that.
        ("to 6 190 140m -6", "to 6 190 140m +9"),
        # The shelf's limestone walked on far above the base of the cap.
        ("bed flat\nto 6 190", "bed flat\nto 8 100 100m +14\nunit Lm\nat 5\nto 6 190"),
    ],
)
def test_beds_that_dip_or_contacts_at_two_heights_are_not_cut_level(was, now):
    section = section_of(text=ROUND.replace(was, now))
    assert section.levels == ()
    assert section.construction.rule is not CarryRule.LEVEL


def test_the_error_of_a_level_line_grows_away_from_where_it_was_met():
    line = lines_of(section_of())[0]
    at = line.error.at
    near = line.sd_at(at)
    far = line.sd_at((at[0] + 100.0, at[1]))
    assert 0.0 < near < far
    # Four flat beds, read to 2 degrees, have a mean good to about 1.
    assert far**2 - near**2 == pytest.approx((100.0 * np.tan(np.radians(line.error.sd_deg))) ** 2)
    assert 0.8 < line.error.sd_deg < 1.1


@pytest.mark.thorough
def test_on_invented_hills_the_units_of_the_profile_are_the_true_ones():
    """Of flat beds on hills whose truth is known, where heights are guessed between the arms of the walk."""
    right = places = level = 0
    walks = either(6, 12)
    for seed in range(walks):
        walk = walk_over("flat", seed)
        for section in compiled_walk(walk).geology.sections:
            if not section.levels:
                continue
            level += 1
            start = np.array(section.line[0])
            way = (np.array(section.line[1]) - start) / section.length_m
            for point in section.profile:
                east, north = start + way * point.distance_m - walk.origin[:2]
                right += walk.model.unit(*walk.model.ground(east, north)[0]) == point.unit
                places += 1
    assert level == walks
    assert right > 0.85 * places


@pytest.mark.thorough
def test_on_invented_hills_contacts_lie_as_high_as_they_are_good_to():
    """Over both ends of the section and its middle, against the true planes, which dip 0 to 2°."""
    off = []
    rules = set()
    walks = either(15, 30)
    for seed in range(walks):
        walk = walk_over("flat", seed)
        pile = walk.model.pile
        for section in compiled_walk(walk).geology.sections:
            rules.add(section.construction.rule)
            ends = np.array(section.line[0]), np.array(section.line[-1])
            for level, share in ((one, share) for one in section.levels for share in (0.0, 0.5, 1.0)):
                place = ends[0] + share * (ends[1] - ends[0])
                cut = pile.cuts[pile.letters.index(level.older)]
                low, high = pile.height(np.array([[*(place - walk.origin[:2]), up] for up in (0.0, 100.0)]))
                true = 100.0 * (cut - low) / (high - low)
                away = min(
                    np.hypot(*(place - (one.place.east_m, one.place.north_m))) for one in level.contacts
                )
                sd = np.hypot(level.sd_m, away * np.tan(np.radians(level.sd_deg)))
                off.append((level.up_at(place) - true) / sd)
    assert {CarryRule.LEVEL, CarryRule.GENTLE} <= rules
    assert len(off) > 5 * walks
    assert np.mean(np.abs(off) <= 1.0) > 0.6
    assert np.mean(np.abs(off) <= 3.0) > 0.97


GENTLE = (
    HEAD
    + """control 1 0 E 0 N 100 m
at 1
unit Md
bed 090/4
to 2 090 200m level
along 100m
contact Lm/Md certain
at 2
unit Lm
to 3 000 100m level
unit Lm
bed 090/3
to 4 000 100m level
unit Lm
to 5 270 200m +0.7
along 120m
contact Lm/Md certain
at 5
unit Md
bed 090/5
close 1 180 200m -0.7
section A-A' from 1 to 2
section B-B' from 1 via 3 to 5
"""
)
"""Limestone dips 4° to the east: its base is met 20 m farther west, and higher, on the northern arm."""


def test_beds_nearly_flat_lie_on_planes_of_one_dip():
    found = compile_log(Source(name="gentle.trav", text=GENTLE), load=lambda name: b"")
    for section in found.geology.sections:
        assert section.construction.rule is CarryRule.GENTLE
        (level,) = section.levels
        assert np.degrees(np.arctan(-level.rise[0])) == pytest.approx(4.0, abs=1.0)
        (said,) = (one.fact for one in section.limits if one.code == "section-flat")
        assert "planes of one dip through all places where they were met, 4." in said
    (line,) = found.geology.sections[0].construction.lines
    assert line.outcrops[0][0] == pytest.approx(100.0, abs=10.0)
    # It turns with the section.
    (line,) = found.geology.sections[1].construction.lines
    points = [point for piece in line.pieces for point in piece.points]
    assert len(points) > 2


DIPPING = (
    GENTLE.replace("bed 090/4", "bed 090/10")
    .replace("bed 090/3", "bed 090/9")
    .replace("bed 090/5", "bed 090/10")
    .replace("+0.7", "+1.8")
    .replace("-0.7", "-1.8")
)
"""The same beds at 10 degrees: the base is met 20 m farther west, 3 m higher."""


def test_beds_that_dip_gently_lie_on_planes_of_one_dip_and_are_not_called_flat():
    found = compile_log(Source(name="dipping.trav", text=DIPPING), load=lambda name: b"")
    for section in found.geology.sections:
        assert section.construction.rule is CarryRule.GENTLE
        (level,) = section.levels
        assert level.dip_deg == pytest.approx(9.5, abs=1.0)
        (said,) = (one.fact for one in section.limits if one.code == "section-gentle")
        assert said.startswith("all beds lie alike and dip gently")
        assert not section.laid_for_units
    square = DIPPING.replace("section A-A' from 1 to 2\nsection B-B' from 1 via 3 to 5\n", "")
    (section,) = compile_log(Source(name="dipping.trav", text=square), load=lambda name: b"").geology.sections
    # Beds that dip lay the section that nobody laid.
    assert section.azimuth_deg == pytest.approx(90.0, abs=1.0)


def test_flat_beds_are_not_taken_for_folded_ones():
    assert section_of().construction.axial == ()


@pytest.mark.parametrize(
    ("bed", "gentle"),
    [
        ("090/3", True),
        ("090/6", True),
        ("090/16", False),
        ("000/4", True),
        ("000/7", False),
        ("270/4", False),
    ],
)
def test_a_bed_that_lies_off_the_one_dip_makes_no_level_planes(bed, gentle):
    """Readings good to 2 degrees: what lies 7 degrees off the mean of all is more than one of three does by chance."""
    found = compile_log(Source(name="gentle.trav", text=GENTLE.replace("090/3", bed)), load=lambda name: b"")
    rules = {section.construction.rule for section in found.geology.sections}
    assert (rules == {CarryRule.GENTLE}) is gentle


@pytest.mark.parametrize(("beds", "level"), [(4, True), (25, False)])
def test_beds_that_all_lean_one_way_are_level_only_while_their_mean_may_be(beds, level):
    """Each dips 2 ± 2 degrees to the east: the mean of four is off by 1, of twenty-five by 0.4, and three times that decides."""
    from types import SimpleNamespace

    from traverse.structure.section.level_beds import _level_within_deg

    one = SimpleNamespace(dip_deg=2.0, dip_direction_deg=90.0, sd_deg=2.0, lies_over=False)
    found = _level_within_deg([one] * beds)
    assert (found is not None) is level
    assert found is None or found == pytest.approx(2.0, abs=1e-6)


def test_ground_on_which_the_walks_disagree_is_told_by_none_of_them():
    from traverse.structure.section.profile import _agreed
    from traverse.trade import AGREE_SHARE

    assert _agreed({"Lm": 3.0}) == "Lm"
    assert _agreed({}) is None
    assert _agreed({"Lm": 1.0, "Md": 1.0}) is None
    assert _agreed({"Lm": AGREE_SHARE + 0.01, "Md": 0.99 - AGREE_SHARE}) == "Lm"
    assert _agreed({"Lm": AGREE_SHARE - 0.01, "Md": 1.01 - AGREE_SHARE}) is None


def plateau(beds):
    """Thirty stations over a plateau whose heights roll, so that no planes hold the contacts of its three units."""
    units = "Cs", "Lm", "Md"
    slopes = "level", "+3", "+2", "-1", "-3", "-2", "+1"
    lines = [HEAD.strip(), "at 1", f"unit Cs\nbed {beds[0]}"]
    for number in range(2, 31):
        lines.append(f"to {number} {310 + number % 3 * 5} 95m {slopes[number * number % 7]}")
        before, unit = units[(number - 2) // 10], units[(number - 1) // 10]
        if before != unit:
            lines.append(f"along 45m\ncontact {before}/{unit} certain")
        lines.append(f"at {number}\nunit {unit}\nbed {beds[number % len(beds)]}")
    text = "\n".join([*lines, "section A-A' from 1 to 30", ""])
    found = compile_log(Source(name="plateau.trav", text=text), load=lambda name: b"")
    (cut,) = section_ground(found.trav).ground.cuts
    return cut


def test_beds_of_two_degrees_that_agree_dip():
    """Thirty readings of 2° each good to 3° or so make a mean good to half a degree or better."""
    cut = plateau(["140/2", "150/3", "145/2", "135/2"])
    section = cut.section
    assert section.construction.rule is not CarryRule.LEVEL
    assert section.flat_rise != (0.0, 0.0)
    azimuth = np.radians(section.azimuths_deg[0])
    along = np.array([np.sin(azimuth), np.cos(azimuth)])
    way = np.array([np.sin(np.radians(143)), np.cos(np.radians(143))])
    fall = np.tan(np.radians(2.2)) * float(way @ along)
    lines = [line for line in section.construction.lines if line.kind is PointKind.CONTACT]
    assert len(lines) == 2
    for line in lines:
        points = [point for piece in line.pieces if not piece.eroded for point in piece.points]
        first, last = min(points), max(points)
        assert (first[1] - last[1]) / (last[0] - first[0]) == pytest.approx(fall, abs=0.01)
    # Colour ends along the beds, and not level: upstream of where its ground is lowest too.
    (lowest,) = [fill.area for fill in cut.fills if fill.unit == "Cs"]
    foot = [point for point in lowest.exterior.coords if point[1] < section.ground_at(point[0]) - 15.0]
    assert max(foot)[1] - min(foot)[1] == pytest.approx(-fall * (max(foot)[0] - min(foot)[0]), abs=2.0)


@pytest.mark.parametrize(
    ("dips", "sd_deg", "mean", "flat"),
    [
        # Each dips more than 5°, but within one and a half times what a reading is good to; their mean is hidden by its error.
        ([8, 7, 6], 6.0, (2.0, 1.0), True),
        ([8, 7, 6], 3.0, (2.0, 1.0), False),
        ([8, 7, 6], 6.0, (3.5, 2.0), False),
        # Beds of 4° that agree dip by it, however well they were read.
        ([4, 4, 4], 1.0, (4.0, 0.3), "dips"),
        ([4, 4, 4], 6.0, (4.0, 0.3), "dips"),
    ],
)
def test_beds_lie_flat_within_what_a_reading_is_good_to(dips, sd_deg, mean, flat):
    dip_deg, error_deg = mean
    pole = (math.sin(math.radians(dip_deg)), 0.0, math.cos(math.radians(dip_deg)))
    beds = [
        SimpleNamespace(
            tells_bedding=True, attitude=SimpleNamespace(dip_deg=dip, sd_deg=sd_deg, lies_over=False)
        )
        for dip in dips
    ]
    section = SimpleNamespace(points=beds, _mean_of=lambda _: (pole, dip_deg, error_deg))
    # To the east it falls by the tangent of its dip.
    expected = {True: (0.0, 0.0), False: None, "dips": (-math.tan(math.radians(dip_deg)), 0.0)}[flat]
    found = Section.flat_rise.fget(section)
    assert found == (None if expected is None else pytest.approx(expected))


def test_beds_that_disagree_on_a_side_lie_flat():
    """Their dips are the scatter of readings."""
    section = plateau(["140/2", "320/3", "050/2", "230/2"]).section
    assert section.flat_rise == (0.0, 0.0)


@pytest.mark.parametrize("way", [70, 200, 340])
def test_beds_that_dip_a_little_rise_against_their_dip(way):
    """Four degrees toward an azimuth: a metre toward it they are lower by tan 4°, shared by its sine and cosine."""
    text = ROUND.replace("bed flat", f"bed {way:03d}/04")
    (section,) = compiled(f"{way:03d}/04", more="precision attitude 0.5\n", text=text).geology.sections[:1]
    fall, toward = math.tan(math.radians(4.0)), math.radians(way)
    assert section.flat_rise == pytest.approx((-fall * math.sin(toward), -fall * math.cos(toward)), rel=0.01)


def test_a_fault_against_a_dike_moved_the_flat_beds_too():
    """Where it is no contact of theirs, it was left out and the beds ran level through it."""
    dike = "unit Db Basalt dike ; intrusive\n"
    text = ROUND.replace(
        "to 7 235 150m -5\n",
        "to 7 235 150m -5\nalong 60m\ncontact Db/Md certain 090/90\nalong 64m\nfault Db/Md certain 090/80\n",
    )
    both = [compile_log(Source(name="hill.trav", text=HEAD + dike + one.format(top="flat")), load=lambda name: b"")
            for one in (text, text.replace("fault Db/Md", "contact Db/Md"))]  # fmt: skip
    faulted, intruded = (one.geology.sections[0] for one in both)
    assert intruded.construction.rule is CarryRule.LEVEL
    assert not faulted.levels
    assert any(one.kind is PointKind.FAULT for one in faulted.construction.lines) or any(
        "fault" in one.fact for one in faulted.limits
    )
