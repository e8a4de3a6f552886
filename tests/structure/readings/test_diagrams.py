"""What the rose, the column and the density on the net are drawn from."""

import math

import numpy as np
import pytest
from scipy.stats import circmean

from traverse.structure.readings.density import density

HEAD = "notation 1\nbearings true\nattitudes dip-direction\nat 1\n"


def walk(*lines):
    return HEAD + "\n".join(lines) + "\n"


def test_directions_fall_into_classes_and_mean(compile_text):
    trends = (10, 25, 35, 350, 355, 20)
    rose = compile_text(walk(*(f"current {trend:03d}" for trend in trends))).geology.rose
    # Classes about 000, 030 and 330.
    assert (rose.counts[0], rose.counts[1], rose.counts[-1]) == (3, 3, 0)
    assert sum(rose.counts) == rose.n == 6
    # scipy's circular mean as the independent route.
    assert rose.mean_deg == pytest.approx(np.degrees(circmean(np.radians(trends))) % 360.0)
    assert rose.n_axial == 0


def test_lines_of_unknown_sense_count_on_both_sides(compile_text):
    rose = compile_text(walk("current 010 both", "current 020 both")).geology.rose
    assert [rose.counts[at] for at in (0, 1, 6, 7)] == [0.5, 0.5, 0.5, 0.5]
    assert rose.n_axial == rose.n == 2
    assert rose.mean_deg == pytest.approx(15.0)


def test_cross_beds_are_laid_flat_first(compile_text):
    """Bedding 40 toward 120, cross-bed 55 toward 140: it flowed toward 172, not 140 (GSA Bulletin 81, 1970, 537)."""
    rose = compile_text(walk("bed 120/40", "crossbed 140/55")).geology.rose
    assert rose.mean_deg == pytest.approx(172.0, abs=0.5)
    assert [at * rose.class_deg for at, count in enumerate(rose.counts) if count] == [180.0]


@pytest.mark.parametrize(("readings", "wide"), [(29, 30.0), (30, 20.0)])
def test_classes_are_narrower_where_much_was_read(compile_text, readings, wide):
    rose = compile_text(walk(*(f"current {7 * one % 360:03d}" for one in range(readings)))).geology.rose
    assert rose.class_deg == wide
    assert len(rose.counts) == 360 / wide
    assert sum(rose.counts) == readings


def test_no_current_no_rose(compile_text):
    assert compile_text(walk("bed 120/40")).geology.rose is None


def test_opposed_currents_have_no_mean(compile_text):
    rose = compile_text(walk("current 010", "current 190")).geology.rose
    assert rose.mean_deg is None
    assert rose.strength == pytest.approx(0.0, abs=1e-12)


COLUMN = """notation 1
bearings true
attitudes dip-direction
unit Dd Never met ;
unit Cc Top ;
unit Bb Middle ;
unit Aa Base ;
at 1
unit Aa
bed 090/30
to 2 090 200m level
along 40m
contact Bb/Aa certain
along 60m
sample S-1 low
along 120m
sample S-2 high
along 140m
contact Cc/Bb certain
along 160m
sample S-3
at 2
unit Cc
bed 090/30
"""


def test_the_column_has_what_was_met_with_its_samples_by_level(compile_text):
    top, middle, base = compile_text(COLUMN).geology.column
    assert [one.unit.letters for one in (top, middle, base)] == ["Cc", "Bb", "Aa"]
    assert middle.thickness.true_m == pytest.approx(50.0)  # 100 sin 30
    assert [one.booked.label for one in middle.samples] == ["S-2", "S-1"]
    # 20 m past the base; and 20 m short of the top of 50 m.
    assert [one.level_m for one in middle.samples] == pytest.approx([40.0, 10.0])
    assert top.samples[0].level_m == pytest.approx(10.0)
    assert top.thickness.true_m is None
    assert top.thickness.least_m == pytest.approx(30.0)
    assert middle.base.value == "contact"
    assert base.base is None


def level_of(compiled, label):
    return next(one for unit in compiled.geology.column for one in unit.samples if one.booked.label == label)


def test_a_sample_between_both_borders_has_its_share_of_the_crossing(compile_text):
    """40 m to 140 m along a level walk over beds that dip 30: 20 m and 80 m in, so a fifth and four fifths."""
    compiled = compile_text(COLUMN)
    assert level_of(compiled, "S-1").share == pytest.approx(0.2)
    assert level_of(compiled, "S-2").share == pytest.approx(0.8)
    assert level_of(compiled, "S-2").depth_m == pytest.approx(10.0)
    assert level_of(compiled, "S-3").share is None


def test_on_an_overturned_limb_the_base_is_that_of_the_older_side(compile_text):
    """Walked from young to old: 130 m of shale dip 70 back toward the start; the sample is 30 m past its upper border."""
    text = COLUMN.replace("unit Aa\nbed 090/30", "unit Cc\nbed 090/70 overturned", 1)
    text = text.replace("contact Bb/Aa", "contact X").replace("contact Cc/Bb", "contact Bb/Aa")
    text = text.replace("contact X", "contact Cc/Bb").replace("at 2\nunit Cc\nbed 090/30", "at 2\nunit Aa")
    sample = level_of(compile_text(text), "S-1")
    sine = math.sin(math.radians(70.0))
    assert sample.depth_m == pytest.approx(20.0 * sine)
    assert sample.level_m == pytest.approx(80.0 * sine)


def test_the_plane_is_the_mean_of_the_beds_between_contact_and_sample(compile_text):
    """Beds of 20 and 40 on the way: square to their mean of 30."""
    text = COLUMN.replace("along 60m", "along 45m\nbed 090/20\nalong 55m\nbed 090/40\nalong 60m")
    assert level_of(compile_text(text), "S-1").level_m == pytest.approx(20.0 * 0.5)


def test_a_fault_between_leaves_the_level_open_on_that_side(compile_text):
    text = COLUMN.replace("contact Bb/Aa certain", "fault Bb/Aa certain")
    sample = level_of(compile_text(text), "S-1")
    assert sample.share is None
    assert sample.depth_m == pytest.approx(40.0)


def test_a_unit_cut_by_an_unconformity_has_no_top_to_count_from(compile_text):
    text = COLUMN.replace("contact Cc/Bb certain", "unconformity Cc/Bb certain")
    sample = level_of(compile_text(text), "S-2")
    assert sample.depth_m is None
    assert sample.level_m == pytest.approx(40.0)


def test_levels_are_good_to_the_beds_and_the_contact(compile_text):
    """2 degrees of the pole over 20 m along the bed, times cos 30, and a contact good to 3 m, times sin 30."""
    text = COLUMN.replace("attitudes dip-direction", "attitudes dip-direction\nprecision attitude 2")
    text = text.replace("contact Bb/Aa certain", "contact Bb/Aa certain ±3 m").replace(
        "unit Aa\nbed", "unit Aa\nbed"
    )
    sample = level_of(compile_text(text), "S-1")
    expected = math.hypot(math.radians(2.0) * 20.0 * math.cos(math.radians(30.0)), 3.0 * 0.5)
    assert sample.sd_m == pytest.approx(expected, rel=0.02)


def test_a_sample_in_a_unit_without_a_contact_has_no_level(compile_text):
    (only,) = compile_text(
        walk("unit Aa", "bed 090/30", "sample S-1").replace(
            "at 1", "unit Aa Base ;\nat 1\nto 2 090 10m\nat 1"
        )
    ).geology.column
    assert only.samples[0].level_m is None


def test_an_even_spread_has_density_one():
    """2,000 directions on a Fibonacci spiral over the lower hemisphere, which spreads them evenly."""
    count = 2000
    index = np.arange(count)
    plunge = np.degrees(np.arcsin((index + 0.5) / count))
    trend = np.degrees(index * math.pi * (3.0 - math.sqrt(5.0))) % 360.0
    poles = np.stack([plunge, trend], axis=-1)
    places = np.array([(0.0, 0.0), (10.0, 45.0), (45.0, 200.0), (90.0, 0.0), (70.0, 300.0)])
    assert density(poles, places) == pytest.approx(1.0, abs=0.05)


def test_one_direction_crowds_there_and_over_the_rim_on_the_other_side():
    found = density(
        np.array([(2.0, 90.0)] * 5), np.array([(2.0, 90.0), (1.0, 270.0), (0.0, 0.0), (60.0, 90.0)])
    )
    assert found[0] == pytest.approx(100.0)
    # 3 degrees off, across the rim: exp(100 (cos 3 - 1)) of the peak.
    assert found[1] == pytest.approx(100.0 * math.exp(100.0 * (math.cos(math.radians(3.0)) - 1.0)))
    assert found[2:] == pytest.approx(0.0, abs=1e-3)
