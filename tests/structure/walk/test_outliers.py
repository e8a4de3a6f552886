"""Units that come again because the ground rises and falls: walks over hills and valleys of a stated geometry."""

import math
from types import SimpleNamespace

import pytest

from traverse.structure.walk.arms import ArmStep
from traverse.structure.walk.outliers import without_outliers

HEAD = """notation 1
bearings true
attitudes dip-direction
unit Ck Upper ; Cretaceous
unit Ju Middle ; Jurassic
unit Tr Lower ; Triassic
at 1
"""
ORDER = ["Ck", "Ju", "Tr"]


def said(compiled):
    return " ".join(one.words for one in compiled.geology.findings)


def walk(heights, dips, thickness=30.0, *, base=0.0, tops="", typed=True):
    """East in steps of 50 m over `heights`, through the beds of one plane that dips `dips[0]`; each dip as it is typed there."""
    slope = math.tan(math.radians(dips[0]))

    def unit(x, up):
        level = (up + x * slope) * math.cos(math.radians(dips[0])) - base
        return ORDER[min(2, max(0, 2 - math.floor(level / thickness)))]

    def here(index):
        x, up = 50.0 * index, heights[index]
        dip = dips[index % len(dips)]
        lines = [
            f"unit {unit(x, up)}",
            f"bed {'090' if dip >= 0 else '270'}/{abs(dip)}" if dip else "bed flat",
        ]
        return [*lines, f"tops {tops}"] if tops else lines

    text = [*here(0)]
    for index in range(1, len(heights)):
        rise = heights[index] - heights[index - 1]
        angle = math.degrees(math.atan2(rise, 50.0))
        text.append(f"to {index + 1} 090 {math.hypot(50.0, rise):.3f}m" + (f" {angle:+.3f}" if typed else ""))
        last = unit(50.0 * (index - 1), heights[index - 1])
        for share in (k / 400 for k in range(1, 401)):
            now = unit(50.0 * (index - 1 + share), heights[index - 1] + share * rise)
            if now != last:
                pair = sorted((now, last), key=ORDER.index)
                text += [f"along {math.hypot(50.0, rise) * share:.3f}m", f"contact {'/'.join(pair)} certain"]
                last = now
        text += [f"at {index + 1}", *here(index)]
    return HEAD + "\n".join(text) + "\n"


HILL = [0, 5, 20, 45, 50, 45, 18, 4, 0]


@pytest.mark.parametrize("dip", [0, 2, 4, 6])
@pytest.mark.parametrize("tops", ["", "up"])
def test_a_hill_of_beds_that_keep_their_dip_says_that_a_unit_comes_again_and_no_fold(compile_text, dip, tops):
    words = said(compile_text(walk(HILL, [dip], tops=tops)))
    assert ("comes again on" in words) == (dip >= 4)
    for wrong in ("fold", "fault", "syncline", "anticline", "mirrored"):
        assert wrong not in words.replace("no limb of a fold seen", "")


def test_a_valley_says_that_the_lower_unit_comes_again(compile_text):
    words = said(compile_text(walk([50 - up for up in HILL], [4], base=10.0)))
    assert "Tr comes again under Ju: the ground falls" in words
    assert "mirrored" not in words
    # A unit between two others along one walk may run on to either hand.
    assert "as an inlier" not in words


def test_two_units_up_a_hill_are_two_outliers(compile_text):
    words = said(compile_text(walk([1.5 * up for up in HILL], [4])))
    assert "Ck comes again on Ju" in words
    assert "Ju comes again on Tr" in words


def test_the_same_units_over_level_ground_are_left_open(compile_text):
    """What the hill explained, level ground does not: the order then asks for a fold or a fault."""
    text = walk(HILL, [6])
    level = "\n".join(
        " ".join([*line.split()[:4], "level"]) if line.startswith("to ") else line
        for line in text.splitlines()
    )
    words = said(compile_text(level))
    assert "outlier" not in words
    assert "mirrored order" in words


def test_a_hill_cut_in_a_fold_is_still_a_fold(compile_text):
    words = said(compile_text(walk(HILL, [35, 35, 35, 35, 35, -35, -35, -35, -35])))
    assert "outlier" not in words


def test_without_heights_the_ground_is_named_among_what_may_do_it(compile_text):
    words = said(compile_text(walk(HILL, [6], typed=False)))
    assert "a fold or a fault, or the ground, whose heights were not measured? Way-up at" in words
    words = said(compile_text(walk(HILL, [6], typed=False, tops="up")))
    assert (
        "a fault that is not logged, or the ground, whose heights were not measured? It is no fold." in words
    )


def test_a_fault_between_makes_no_outlier(compile_text):
    words = said(compile_text(walk(HILL, [2]).replace("contact Ju/Tr certain", "fault Ju/Tr certain")))
    assert "outlier" not in words


def test_the_direction_of_gentle_beds_counts_little_beside_steep_ones(compile_text):
    """A bed of 4 degrees the other way, as two degrees of error make it: beside steep ones no second direction."""
    dips = ["090/4", "090/40", "090/50", "090/40", "270/4"]
    text = HEAD + "".join(
        (f"to {at + 1} 090 50m level\n" if at else "") + f"unit Ju\nbed {dip}\n"
        for at, dip in enumerate(dips)
    )
    assert "dip 4° to 50°, all steeper than 10° toward the east." in said(compile_text(text))
    assert "in more than one direction" in said(compile_text(text.replace("270/4", "270/30")))


def laid_bare(beds, *, younger=True, dip_deg=10.0):
    """A hill of 40 m between 100 and 200 m over a plane that dips 10° with the walk; `beds` by distance and dip."""
    fall = math.tan(math.radians(dip_deg))
    ground = tuple(
        (100.0 + x, -fall * x + (40.0 if younger else -40.0) * math.sin(math.pi * x / 100.0))
        for x in range(0, 101, 10)
    )
    units = ("Lo", "Up", "Lo") if younger else ("Up", "Lo", "Up")
    ends = ((0.0, 100.0), (100.0, 200.0), (200.0, 300.0))
    steps = [
        ArmStep(unit=unit, start_m=start, end_m=end, ground=ground if unit == units[1] else ())
        for unit, (start, end) in zip(units, ends, strict=True)
    ]
    stand = [
        SimpleNamespace(across_m=at, dip_deg=dip, dips=abs(dip) >= 5.0, overturned=False) for at, dip in beds
    ]
    arms, found = without_outliers([steps], stand, {"Up": 0, "Lo": 1})
    assert len(arms[0]) == (1 if found else 3)
    return found


@pytest.mark.parametrize("younger", [True, False])
@pytest.mark.parametrize(
    ("beds", "is_one"),
    [
        # All on the plane: one on each side, two within, all four.
        ([(60.0, 10.0), (240.0, 10.0)], True),
        ([(130.0, 10.0), (170.0, 10.0)], True),
        ([(60.0, 10.0), (130.0, 10.0), (170.0, 10.0), (240.0, 10.0)], True),
        # One alone tells no plane.
        ([(150.0, 10.0)], False),
        # A bed beyond a border may lie round a bend, on either side or both.
        ([(60.0, 60.0), (130.0, 10.0), (170.0, 10.0)], True),
        ([(130.0, 10.0), (170.0, 10.0), (240.0, 60.0)], True),
        ([(60.0, 60.0), (130.0, 10.0), (170.0, 10.0), (240.0, 60.0)], True),
        # Level within its error, it turns to no other side.
        ([(60.0, 10.0), (130.0, 10.0), (170.0, 10.0), (240.0, -4.0)], True),
        # One within may not, be it the first, the last or in the middle.
        ([(60.0, 10.0), (130.0, 60.0), (170.0, 10.0), (240.0, 10.0)], False),
        ([(60.0, 10.0), (130.0, 10.0), (170.0, -60.0), (240.0, 10.0)], False),
        ([(130.0, 10.0), (150.0, 10.0), (170.0, 60.0)], False),
        ([(130.0, 60.0), (150.0, 10.0), (170.0, 10.0)], False),
        # All within 10° of the plane, but steeper than it by 7°; or about it, but by 8° either way.
        ([(60.0, 17.0), (130.0, 17.0), (170.0, 17.0), (240.0, 17.0)], False),
        ([(60.0, 2.0), (130.0, 18.0), (170.0, 2.0), (240.0, 18.0)], False),
        ([(60.0, 7.0), (130.0, 13.0), (170.0, 7.0), (240.0, 13.0)], True),
        # What lies beyond the next beds tells nothing of this ground.
        ([(10.0, 10.0), (60.0, 60.0), (240.0, -60.0), (290.0, 10.0)], False),
        ([(10.0, -60.0), (60.0, 10.0), (240.0, 10.0), (290.0, 60.0)], True),
    ],
)  # fmt: skip
def test_an_outlier_rests_on_the_beds_of_its_own_ground(beds, is_one, younger):
    assert bool(laid_bare(beds, younger=younger)) is is_one


@pytest.mark.parametrize(
    "beds",
    [
        [(60.0, 60.0), (130.0, 10.0), (170.0, 10.0), (240.0, -60.0)],
        # One limb comes up within the unit, the other beyond it.
        [(130.0, 10.0), (170.0, 10.0), (240.0, -21.0)],
    ],
)
def test_a_unit_in_the_trough_of_a_fold_is_no_outlier(beds):
    """Beds that dip toward each other bring its neighbour back by themselves; the older unit they would bury."""
    assert laid_bare(beds) == ()
    assert laid_bare(beds, younger=False)


def test_an_outlier_stands_over_the_plane_and_an_inlier_in_a_hollow():
    """The younger unit in a hollow, or the older on a hill, is none."""
    beds = [(60.0, 10.0), (130.0, 10.0), (170.0, 10.0), (240.0, 10.0)]
    (one,) = laid_bare(beds)
    assert (one.unit, one.within, one.younger) == ("Up", "Lo", True)
    (one,) = laid_bare(beds, younger=False)
    assert (one.unit, one.within, one.younger) == ("Lo", "Up", False)
    turned = [(at, -dip) for at, dip in beds]
    assert laid_bare(turned) == ()
