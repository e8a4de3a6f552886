"""Thickness where beds turn, lower bounds, all crossings together, and relief; errors beside a thousand noisy copies."""

import math

import numpy as np
import pytest

from tests.invented.judge import compiled_walk, walk_over
from tests.structure.fold_logs import HEAD, height, normal, walk
from tests.thorough import either
from traverse.sheet.said.stops import gather
from traverse.sheet.tables.contact_rows import thickness_lines
from traverse.structure.readings.directions import dip_of, pole
from traverse.structure.readings.girdle import fold_axis
from traverse.structure.thickness.turning import by_arc, by_bend
from traverse.trade import SURE_SD


def vector(along, up):
    return np.array([along, 0.0, up])


def test_the_rules_differ_where_dips_do():
    """180 m along, 20 up, dips 24 and 38 down the other way: bend at 1/4, 1/2, 3/4 gives 118, 109, 100, the arc 111,
    one mean dip 110 (common practice, no source; recomputed)."""
    first, second = pole([24.0, 38.0], dip_direction_deg=90.0)
    apart = vector(180.0, 20.0)
    bends = [by_bend(apart, first, second, share=share) for share in (0.25, 0.5, 0.75)]
    assert bends == pytest.approx([118.0, 109.0, 100.0], abs=0.5)
    assert by_arc(apart, first, second) == pytest.approx(111.0, abs=0.5)
    mean = pole(31.0, dip_direction_deg=90.0)
    assert abs(apart @ mean) == pytest.approx(110.0, abs=0.5)


def test_an_arc_of_a_true_circle_has_its_radii():
    """Beds about a centre 100 m up at 40 east: places on circles of 120 and 95 m."""
    centre = np.array([40.0, 0.0, 100.0])
    angles = np.radians([-35.0, -10.0])
    normals = np.column_stack((np.sin(angles), np.zeros(2), np.cos(angles)))
    places = centre - np.array([120.0, 95.0])[:, None] * normals
    assert by_arc(places[1] - places[0], *normals) == pytest.approx(25.0)


def test_no_arc_where_the_normals_meet_between_the_beds():
    first, second = pole([28.0, 66.0], dip_direction_deg=[140.0, 140.0])
    assert by_arc(np.array([0.0, 0.0, 100.0]), first, -second) is not None
    assert by_arc(vector(100.0, 0.0), *pole([40.0, 40.0], dip_direction_deg=[90.0, 270.0])) is not None


def test_like_planes_give_one_thickness():
    same = pole(30.0, dip_direction_deg=90.0)
    assert by_arc(vector(100.0, 0.0), same, same) == pytest.approx(50.0)
    assert by_bend(vector(100.0, 0.0), same, same) == pytest.approx(50.0)


def test_a_crossing_carries_the_range_of_the_rules(compile_text):
    log = walk(200.0, [(5.0, 24), (190.0, 38)], [(10.0, "Bb/Aa"), (185.0, "Cc/Bb")], ("Cc", "Bb", "Aa"))
    (one,) = compile_text(log).geology.thicknesses
    low, high = one.range_m
    assert one.bend_m[0] <= one.arc_m <= one.bend_m[1]
    assert (low, high) == (min(one.true_m, *one.bend_m, one.arc_m), max(one.true_m, *one.bend_m, one.arc_m))
    assert low < 0.95 * high
    assert not one.at_least


LEVEL = (
    HEAD
    + "unit Qq Gravel ; Quaternary\nunit Cc Top ;\nunit Bb Middle ;\nunit Aa Base ;\nat 1\nunit Aa\nbed 090/30\n"
)


def test_a_unit_never_left_is_at_least_so_thick(compile_text):
    log = LEVEL + "to 2 090 100m level\nalong 40m\ncontact Bb/Aa certain\nat 2\nunit Bb\nbed 090/30\n"
    least = {one.unit: one for one in compile_text(log).geology.least}
    assert least["Aa"].true_m == pytest.approx(20.0)  # 40 sin 30
    assert least["Bb"].true_m == pytest.approx(30.0)  # 60 sin 30
    assert least["Bb"].why == "not walked farther"
    assert least["Bb"].contact.line == 14


def test_how_well_it_is_known_does_not_hang_on_the_way_to_its_contact(compile_text):
    """On a leg at 30° to the dip, 60 m of it past the contact: however far off that leg begins, errors to there move both."""
    walk = (
        HEAD
        + "unit Bb Middle ;\nunit Aa Base ;\nat 1\nto 2 130 {}m level\nat 2\nunit Aa\nbed 090/30\nto 3 060 100m level\nalong 40m\ncontact Bb/Aa certain\nat 3\nunit Bb\nbed 090/30\n"
    )
    near, far = (
        {one.unit: one for one in compile_text(walk.format(long)).geology.least}["Bb"] for long in (50, 3000)
    )
    assert far.true_m == pytest.approx(near.true_m)
    assert near.true_m == pytest.approx(60.0 * math.cos(math.radians(30.0)) * math.sin(math.radians(30.0)))
    assert far.sd_m == pytest.approx(near.sd_m)


@pytest.mark.parametrize(
    ("beyond", "least"),
    [
        # 60 sin 30, as deep as the walk came from the contact that it came back to.
        ("", 30.0),
        # The way back crosses it 40 m off its strike, or another limb lies between: they make no one plane.
        ("over", None),
        ("limb", None),
    ],
)
def test_a_unit_left_over_the_contact_where_it_was_entered_is_at_least_so_thick(compile_text, beyond, least):
    """Beds dip 30° to the east; in over the contact eastward, 60 m on, 100 m along the strike, and back."""
    bed = "bed 270/30\n" if beyond == "limb" else ""
    back = 20 if beyond == "over" else 60
    log = LEVEL + (
        "to 2 090 100m level\nalong 40m\ncontact Bb/Aa certain\nat 2\nunit Bb\nbed 090/30\n"
        f"to 3 000 100m level\nat 3\n{bed}to 4 270 100m level\nalong {back}m\ncontact Bb/Aa certain\n"
        "at 4\nunit Aa\nbed 090/30\n"
    )
    found = {one.unit: one.true_m for one in compile_text(log).geology.least}
    assert found.get("Bb") == (None if least is None else pytest.approx(least))


def test_a_unit_is_at_least_as_thick_as_the_walk_came_from_its_contact(compile_text):
    """Beds dip 30° to the east; 60 m on over the contact, then back along the beds' dip to a dike 10 m from it."""
    log = LEVEL.replace("unit Cc", "unit Dk Dike ; Eocene ; intrusive\nunit Cc", 1) + (
        "to 2 090 100m level\nalong 40m\ncontact Bb/Aa certain\nat 2\nunit Bb\nbed 090/30\n"
        "to 3 000 100m level\nat 3\nunit Bb\nbed 090/30\nto 4 270 100m level\n"
        "along 50m\ncontact Dk/Bb certain 090/90\nalong 70m\ncontact Dk/Aa certain 090/90\nat 4\nunit Aa\nbed 090/30\n"
    )
    (bound,) = [one for one in compile_text(log).geology.least if one.unit == "Bb"]
    assert bound.true_m == pytest.approx(30.0)
    assert bound.why == "not walked farther"


def test_so_it_is_below_a_contact_where_the_walk_comes_back_to_its_start(compile_text):
    """Out over the contact 20 m past the first station, back over it to one 70 m west of it, and along to the first."""
    log = LEVEL + (
        "to 2 090 100m level\nalong 20m\ncontact Bb/Aa certain\nat 2\nunit Bb\nbed 090/30\n"
        "to 3 000 100m level\nat 3\nunit Bb\nbed 090/30\n"
        "to 4 270 150m level\nalong 80m\ncontact Bb/Aa certain\nat 4\nunit Aa\nbed 090/30\n"
        "close 1 153.43 111.8m level\n"
    )
    found = [one.true_m for one in compile_text(log).geology.least if one.unit == "Aa"]
    # 20 sin 30 from the first station, 70 sin 30 from the fourth.
    assert sorted(found) == pytest.approx([10.0, 35.0], abs=0.1)


def test_a_sill_that_was_crossed_takes_no_part_in_it(compile_text):
    """Out by 60 m over the contact, of which 20 m are a sill: 60 sin 30 less 20 sin 30; then back by 10 m."""
    log = LEVEL.replace("unit Cc", "unit Sl Sill ; Eocene ; intrusive\nunit Cc", 1) + (
        "to 2 090 100m level\nalong 40m\ncontact Bb/Aa certain\nalong 60m\ncontact Sl/Bb certain 090/30\n"
        "along 80m\ncontact Sl/Bb certain 090/30\nat 2\nunit Bb\nbed 090/30\n"
        "to 3 270 10m level\nat 3\nunit Bb\n"
    )
    found = {one.unit: one.true_m for one in compile_text(log).geology.least}
    assert found["Bb"] == pytest.approx(20.0, abs=0.1)


def test_a_thickness_names_the_sill_that_was_taken_off_it(compile_text):
    """40 m on to 140 m, of which 20 m are a sill: 100 sin 30 less 20 sin 30."""
    log = LEVEL.replace("unit Cc", "unit Sl Sill ; Eocene ; intrusive\nunit Cc", 1) + (
        "to 2 090 200m level\nalong 40m\ncontact Bb/Aa certain\nalong 60m\ncontact Sl/Bb certain 090/30\n"
        "along 80m\ncontact Sl/Bb certain 090/30\nalong 140m\ncontact Cc/Bb certain\nat 2\nunit Cc\nbed 090/30\n"
    )
    trav = compile_text(log).trav
    (crossed,) = [one for one in trav.geology.thicknesses if one.unit == "Bb"]
    assert crossed.true_m == pytest.approx(40.0, abs=0.1)
    assert crossed.less == ("Sl",)
    ((_, words, _),) = thickness_lines(trav.geology, gather(trav), trav.log.lengths)
    assert words.endswith(" less Sl")


@pytest.mark.every(2)
@pytest.mark.parametrize("kind", ["homocline", "sill", "dike", "fault", "cover", "overturned", "dome"])
def test_no_unit_is_thinner_than_it_is_said_to_be_at_least(kind):
    for seed in range(either(2, 3)):
        over = walk_over(kind, seed)
        for one in compiled_walk(over).geology.least:
            true_m = over.model.thickness(one.unit)
            # Of the first and last of a stack nobody knows the end.
            assert true_m is None or one.true_m - SURE_SD * one.sd_m <= true_m


def test_a_unit_lost_under_gravel_is_at_least_so_thick(compile_text):
    log = LEVEL + (
        "to 2 090 200m level\nalong 40m\ncontact Bb/Aa certain\nalong 100m\ncontact Qq/Bb approximate\n"
        "at 2\nunit Qq\n"
    )
    geology = compile_text(log).geology
    (crossed,) = [one for one in geology.thicknesses if one.unit == "Bb"]
    assert crossed.at_least
    found = {one.unit: one for one in geology.unit_thicknesses}
    assert found["Bb"].true_m is None
    assert found["Bb"].least_m == pytest.approx(30.0)


def test_a_unit_is_at_least_as_thick_as_what_lies_between_its_contact_and_a_fault_in_it(compile_text):
    log = LEVEL + "to 2 090 100m level\nalong 40m\ncontact Bb/Aa certain\nat 2\nunit Bb\nbed 090/30\n"
    log += "to 3 090 100m level\nalong 20m\nfault Bb/Bb certain 090/80\nalong 90m\ncontact Cc/Bb certain\nat 3\nunit Cc\nbed 090/30\n"
    # Beyond the fault no bed of it was read.
    (bound,) = [one for one in compile_text(log).geology.least if one.unit == "Bb"]
    assert (bound.true_m, bound.why) == (pytest.approx(40.0), "cut off by a fault")  # 80 sin 30


def test_what_lies_under_an_unconformity_is_at_least_as_thick_as_it_was_walked(compile_text):
    log = LEVEL + "to 2 090 100m level\nalong 60m\nunconformity Cc/Aa certain\nat 2\nunit Cc\nbed flat\n"
    (bound,) = compile_text(log).geology.least
    assert (bound.unit, bound.true_m) == ("Aa", pytest.approx(30.0))  # 60 sin 30


def test_a_fault_gives_no_lower_bound(compile_text):
    log = LEVEL + "to 2 090 100m level\nalong 40m\nfault Bb/Aa certain 090/80\nat 2\nunit Bb\nbed 090/30\n"
    assert compile_text(log).geology.least == ()


def test_crossings_of_one_unit_are_weighed_by_their_errors(compile_text):
    log = LEVEL + (
        "to 2 090 300m level\nalong 40m\ncontact Bb/Aa certain\nalong 100m\ncontact Cc/Bb certain\n"
        "at 2\nunit Cc\nto 3 000 20m\nunit Cc\nto 4 270 300m level\n"
        "along 190m\ncontact Cc/Bb approximate ±15 m\nalong 260m\ncontact Bb/Aa approximate ±15 m\nat 4\nunit Aa\n"
    )
    geology = compile_text(log).geology
    both = [one for one in geology.thicknesses if one.unit == "Bb"]
    (unit,) = [one for one in geology.unit_thicknesses if one.unit == "Bb"]
    weights = [one.sd_m**-2 for one in both]
    assert unit.n == 2
    assert unit.true_m == pytest.approx(
        sum(w * one.true_m for w, one in zip(weights, both, strict=True)) / sum(weights)
    )
    assert unit.sd_m == pytest.approx(sum(weights) ** -0.5)
    assert abs(unit.true_m - both[0].true_m) < abs(unit.true_m - both[1].true_m)


# A syncline at 200 and an anticline at 500: limbs of 30, -30, 30 degrees.
LIMBS = [(30, 0.0), (-30, 2.0 * normal(30)[0] * 200.0)]


def test_relief_is_the_height_from_trough_to_crest(compile_text):
    """Limbs of 30 degrees turn 300 m apart, so a bed falls 300 tan 30 = 173.2 m from crest to trough."""
    level = 70.0
    x1 = level / normal(30)[0]
    x2 = 400.0 - x1
    x3 = x2 + 2.0 * (500.0 - x2)
    contacts = [(x1, "Bb/Aa"), (x2, "Bb/Aa"), (x3, "Bb/Aa")]
    log = walk(800.0, [(150.0, 30), (250.0, -30), (450.0, -30), (550.0, 30)], contacts, ("Bb", "Aa"))
    assert height((x2, 0.0), LIMBS) == pytest.approx(level)
    (relief,) = compile_text(log.replace("depth 200 m", "depth 400 m")).geology.reliefs
    assert relief.relief_m == pytest.approx(300.0 * np.tan(np.radians(30.0)), abs=0.01)
    assert not relief.at_least


def test_without_a_crest_relief_is_a_lower_bound(compile_text):
    x = 70.0 / normal(30)[0]
    log = walk(400.0, [(150.0, 30), (250.0, -30)], [(x, "Bb/Aa"), (400.0 - x, "Bb/Aa")], ("Bb", "Aa"))
    (relief,) = compile_text(log).geology.reliefs
    assert relief.at_least
    assert relief.relief_m == pytest.approx((200.0 - x) * np.tan(np.radians(30.0)), abs=0.01)


@pytest.mark.parametrize("sense", [1, -1])
def test_the_relief_of_a_monocline_lies_between_its_level_limbs(compile_text, sense):
    """Traces at 100 and 200 m, the steep limb 40 degrees: a bed runs 100 m down it and falls 100 sin 40."""
    log = walk(300.0, [(50.0, 0), (150.0, sense * 40), (250.0, 0)], [(150.0, "Bb/Aa")], ("Bb", "Aa"))
    (relief,) = compile_text(log).geology.reliefs
    assert relief.relief_m == pytest.approx(100.0 * np.sin(np.radians(40.0)), abs=0.01)
    assert not relief.at_least


def noisy_poles(rng, normal_vector, sd_deg, copies):
    """Poles tilted by `sd_deg` in each of two directions."""
    first = np.linalg.svd(normal_vector[None])[2][1:]
    tilt = rng.normal(0.0, np.radians(sd_deg), (copies, 2))
    poles = normal_vector + tilt @ first
    return poles / np.linalg.norm(poles, axis=1)[:, None]


def test_a_thousand_noisy_copies_have_the_stated_error_of_thickness(compile_text):
    """Attitudes 3 degrees, contacts 4 m along the leg: beds and places redrawn, the rest held."""
    log = (
        LEVEL.replace(
            "precision attitude 2", "precision attitude 3, tape 0.0001%, bearing 0.0001, slope 0.0001"
        )
        + "to 2 070 150m level\nalong 20m\ncontact Bb/Aa certain ±4 m\nalong 60m\nbed 090/30\nalong 110m\n"
        "bed 090/30\nalong 130m\ncontact Cc/Bb certain ±4 m\nat 2\nunit Cc\n"
    )
    (one,) = [one for one in compile_text(log).geology.thicknesses if one.unit == "Bb"]
    rng = np.random.default_rng(7)
    copies = 4000
    true = pole(30.0, dip_direction_deg=90.0)
    means = sum(noisy_poles(rng, true, 3.0, copies) for _ in range(2))
    means /= np.linalg.norm(means, axis=1)[:, None]
    leg = np.array([np.sin(np.radians(70.0)), np.cos(np.radians(70.0)), 0.0])
    lengths = 110.0 + rng.normal(0.0, 4.0, copies) - rng.normal(0.0, 4.0, copies)
    drawn = np.abs(lengths * (means @ leg))
    assert one.true_m == pytest.approx(drawn.mean(), rel=0.02)
    assert one.sd_m == pytest.approx(drawn.std(), rel=0.1)


@pytest.mark.parametrize("plunge", [0.0, 20.0, 45.0])
def test_a_thousand_noisy_folds_have_their_axis_where_it_was_made(plunge):
    """Cylindrical folds about an axis toward 035: the girdle's axis falls about it, by the error of their poles."""
    axis = np.array(
        [
            np.sin(np.radians(35.0)) * np.cos(np.radians(plunge)),
            np.cos(np.radians(35.0)) * np.cos(np.radians(plunge)),
            -np.sin(np.radians(plunge)),
        ]
    )
    across = np.cross(axis, [0.0, 0.0, 1.0])
    across /= np.linalg.norm(across)
    up = np.cross(across, axis)
    turns = np.radians(np.linspace(-60.0, 60.0, 13))
    exact = np.cos(turns)[:, None] * up + np.sin(turns)[:, None] * across
    found = fold_axis(exact)
    assert (found.trend_deg, found.plunge_deg) == (
        pytest.approx(35.0, abs=1e-6),
        pytest.approx(plunge, abs=1e-6),
    )
    rng = np.random.default_rng(8)
    off = []
    for _ in range(1000):
        noisy = exact + rng.normal(0.0, np.radians(2.0), exact.shape)
        noisy /= np.linalg.norm(noisy, axis=1)[:, None]
        least = np.linalg.eigh(noisy.T @ noisy)[1][:, 0]
        off.append([least @ across * np.sign(least @ axis), least @ up * np.sign(least @ axis)])
    # To first order the axis tilts by noise over the root of the sum of squares across and along the girdle.
    expected = np.degrees(np.radians(2.0) / np.sqrt([(np.sin(turns) ** 2).sum(), (np.cos(turns) ** 2).sum()]))
    assert np.degrees(np.std(off, axis=0)) == pytest.approx(expected, rel=0.1)
    assert dip_of(exact[0])[0] > 0.0


def test_a_valley_hides_what_its_width_and_the_dip_say(compile_text):
    """A covered valley 100 ft wide across beds that dip 70 degrees hides 94 ft of rock (common practice, no source)."""
    log = HEAD + (
        "distances feet\nunit Cc Top ;\nunit Bb Middle ;\nunit Aa Base ;\nat 1\nunit Aa\nbed 090/70\n"
        "to 2 090 200ft level\nalong 50ft\ncontact Bb/Aa inferred\nalong 150ft\ncontact Cc/Bb inferred\nat 2\nunit Cc\n"
    )
    (one,) = compile_text(log).geology.thicknesses
    assert one.true_m / 0.3048 == pytest.approx(94.0, abs=0.5)


@pytest.mark.parametrize(
    ("listed", "apart", "not_met"),
    [(("Cc", "Bb", "Aa"), True, ("Bb",)), (("Cc", "Aa", "Bb"), True, ()), (("Aa", "Bb", "Cc"), False, ())],
)
def test_units_nowhere_seen_together_stand_apart_in_the_column(compile_text, listed, apart, not_met):
    """Cc and Aa on two sides of a cap: nothing was seen between them, and the list may name what was not met."""
    names = "".join(f"unit {one} Rock {one} ; Permian\n" for one in listed)
    log = (
        f"{HEAD}unit Mm Cap ; Miocene\n{names}at 1\nunit Cc\nbed 270/45\nto 2 090 100m level\nalong 20m\n"
        "unconformity Mm/Cc certain\nat 2\nunit Mm\nbed flat\nto 3 090 100m level\nalong 80m\n"
        "unconformity Mm/Aa certain\nat 3\nunit Aa\nbed 270/45\n"
    )
    if not apart:
        log += "to 4 090 100m level\nalong 50m\ncontact Aa/Cc certain\nat 4\nunit Cc\nbed 270/45\n"
    cap, upper, lower = compile_text(log).geology.column
    assert (cap.apart, upper.apart, upper.not_met, lower.apart) == (False, apart, not_met, False)
