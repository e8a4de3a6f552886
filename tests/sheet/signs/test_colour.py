"""Unit colours: the chart's hues, readable, and apart in grey."""

from __future__ import annotations

import re
import time
from itertools import combinations, pairwise, product

import pytest
from coloraide import Color

from traverse.log.ages import read_age
from traverse.log.records import RockUnit
from traverse.sheet.signs.colour import CHART, chart_colour, check_colours, unit_styles
from traverse.sheet.signs.eyes import lightness, oklab
from traverse.source import Span


def unit(letters, age=None, colour=None, line=1):
    return RockUnit(letters=letters, name=letters, age=age, colour=colour, span=Span("day.trav", line, 1, 5))


AGES = ("Quaternary", "Lower Cretaceous", "Upper Jurassic", "Lower Jurassic", "Middle Triassic")


def test_colours_agree_with_the_ages_and_are_readable():
    """Five ages of the chart: chart colours thinned so far that black figures read on them and neighbours differ."""
    styles = unit_styles([unit(f"U{n}", age) for n, age in enumerate(AGES)])
    light = [lightness(one.colour) for one in styles.values()]
    assert light[0] == pytest.approx(97, abs=1)
    assert light[2:] == pytest.approx([91, 76, 66], abs=1)
    assert all(abs(a - b) >= 10.0 - 0.05 for a, b in pairwise(light))
    assert min(light) >= 66.0


def test_lightness_of_known_colours():
    """White 100, black 0, and sRGB red 53.2 (CIE 1976 L*, common reference value)."""
    assert lightness("#ffffff") == pytest.approx(100, abs=0.01)
    assert lightness("#000000") == pytest.approx(0, abs=0.01)
    assert lightness("#ff0000") == pytest.approx(53.24, abs=0.05)


@pytest.mark.parametrize("eyes", [None, "protan", "deutan", "tritan"])
def test_colours_are_seen_as_a_library_of_colours_has_them(eyes):
    """coloraide, over the corners of the cube, its greys and what lies between: far nearer than any two that are told apart."""
    steps = ("00", "0a", "66", "a0", "ff")
    for parts in product(steps, repeat=3):
        colour = "#" + "".join(parts)
        other = Color(colour) if eyes is None else Color(colour).filter(eyes)
        assert oklab(colour, eyes) == pytest.approx(other.convert("oklab").coords(), abs=2e-6)
        assert lightness(colour) == pytest.approx(Color(colour).convert("lab-d65")["lightness"], abs=1e-9)


@pytest.mark.every(2)
@pytest.mark.parametrize("count", [1, 2, 7, 30])
def test_neighbours_of_one_age_differ(count):
    """A column all of one age still shows its borders in a copy."""
    for age in ("Permian", None, "Holocene"):
        styles = unit_styles([unit(f"U{n}", age) for n in range(count)])
        light = [lightness(one.colour) for one in styles.values()]
        assert len(light) == count
        assert all(abs(a - b) >= 9.9 for a, b in pairwise(light))
        assert min(light) >= 66.0


def test_a_long_list_of_units_is_coloured_in_a_moment():
    """Each was held against each; a thousand took seconds."""
    units = [unit(f"U{n}", "Permian" if n % 2 else "Jurassic") for n in range(1000)]
    began = time.process_time()
    assert len(unit_styles(units)) == 1000
    assert time.process_time() - began < 3.0


YOUNG_TO_OLD = (
    "Holocene", "Pleistocene", "Pliocene", "Miocene", "Eocene", "Upper Cretaceous",
    "Lower Cretaceous", "Upper Jurassic", "Lower Jurassic", "Triassic", "Permian", "Carboniferous",
)  # fmt: skip


@pytest.mark.parametrize("count", [2, 5, 12])
@pytest.mark.parametrize("oldest_first", [False, True])
def test_neighbours_of_the_chart_are_ten_steps_apart(count, oldest_first):
    """The chart's youngest colours are all but white: some of them must grow darker (the chart, from memory)."""
    ages = YOUNG_TO_OLD[::-1][:count] if oldest_first else YOUNG_TO_OLD[:count]
    styles = unit_styles([unit(f"U{n}", age) for n, age in enumerate(ages)])
    light = [lightness(one.colour) for one in styles.values()]
    assert all(abs(a - b) >= 9.9 for a, b in pairwise(light))
    assert min(light) >= 66.0


def test_an_authors_colour_stays_and_is_spoken_of():
    units = [unit("A", None, "#202020"), unit("B", None, "#222222", line=2)]
    styles = unit_styles(units)
    assert styles["A"].colour == "#202020"
    codes = [one.code for one in check_colours(units, styles)]
    assert codes == ["dark-unit", "dark-unit", "units-alike"]
    assert check_colours(units, styles)[2].span == units[1].span


@pytest.mark.parametrize(
    ("age", "same"),
    [
        ("Early Cretaceous", "Lower Cretaceous"),
        ("late Jurassic, Oxfordian", "Upper Jurassic"),
        ("Palaeogene", "Paleogene"),
        ("Mid-Devonian", "Middle Devonian"),
        ("Upper Permian", "Permian"),
        ("Lower to Middle Jurassic", "Jurassic"),
        ("Recent alluvium", "Holocene"),
    ],
)
def test_spellings_of_an_age(age, same):
    assert chart_colour(unit("A", age)) == chart_colour(unit("A", same)) is not None


def test_every_name_that_the_chart_colours_is_read_as_an_age():
    for name in CHART:
        age = read_age(name)
        assert name in {age.name, f"{age.part} {age.name}"}


def test_words_that_are_no_age():
    assert chart_colour(unit("A", "old")) is None
    assert chart_colour(unit("A", None)) is None


def test_units_of_one_age_with_another_between_them_differ_too():
    styles = unit_styles([unit("A", "Permian"), unit("B", "Triassic"), unit("C", "Permian")])
    light = [lightness(one.colour) for one in styles.values()]
    assert abs(light[0] - light[2]) >= 5.0
    assert all(abs(a - b) >= 9.9 for a, b in pairwise(light))


def codes(*colours):
    units = [unit(f"U{n}", None, colour, line=n + 1) for n, colour in enumerate(colours)]
    return [(one.code, one.message) for one in check_colours(units, unit_styles(units))]


@pytest.mark.parametrize(
    "ages",
    [
        ["Ordovician"] * 4,
        ["Eocene", "Eocene", "Paleocene", "Paleocene"],
        ["Cretaceous"] * 3 + ["Jurassic"] * 2,
        ["Miocene", "Permian", "Permian", "Carboniferous", "Carboniferous", "Devonian"],
    ],
)
def test_colours_of_the_program_s_own_choice_are_told_apart_by_all_eyes(ages):
    """It warned of what it had picked itself. Neighbours stay ten steps of lightness apart."""
    units = [unit(f"U{n}", age) for n, age in enumerate(ages)]
    styles = unit_styles(units)
    assert "units-unseen" not in [one.code for one in check_colours(units, styles)]
    light = [lightness(one.colour) for one in styles.values()]
    assert all(abs(a - b) >= 9.9 for a, b in pairwise(light))


def test_nine_units_of_one_period_are_nine_colours_to_most_eyes():
    units = [unit(f"U{n}", "Ordovician") for n in range(9)]
    colours = [Color(one.colour) for one in unit_styles(units).values()]
    assert min(one.delta_e(other, method="ok") for one, other in combinations(colours, 2)) >= 0.04


@pytest.mark.parametrize("ages", [["Carboniferous"] * 5, ["Permian", *["Carboniferous"] * 4]])
def test_units_of_a_pale_age_are_told_apart_at_a_glance(ages):
    colours = [
        Color(one.colour) for one in unit_styles([unit(f"U{n}", age) for n, age in enumerate(ages)]).values()
    ]
    assert min(one.delta_e(other, method="ok") for one, other in combinations(colours, 2)) >= 0.06


def test_red_and_green_of_one_lightness_are_spoken_of():
    """A tan and an olive that differ plainly to most; green-blind eyes see both as one ochre (common practice)."""
    found = [message for code, message in codes("#e0a07a", "#ffffff", "#b5b56f") if code == "units-unseen"]
    assert len(found) == 1
    assert "U0 and U2" in found[0]
    assert "blind" in found[0]


def test_two_units_of_one_colour_are_spoken_of_however_far_apart_they_stand():
    (found,) = [message for code, message in codes("#d9d2a6", "#8fce5c", "#d9d2a6") if code == "units-unseen"]
    assert found == "units U0 and U2 look alike to all readers"


def test_the_line_that_a_message_offers_can_be_typed(compile_text):
    units = [unit("Aa", "Permian", "#e0a07a"), unit("Bb", None, "#ffffff"), unit("Cc", None, "#b5b56f")]
    (hint,) = [one.hints[0] for one in check_colours(units, unit_styles(units)) if one.code == "units-unseen"]
    line = re.search(r"`(unit [^`]*)`", hint)[1]
    found = compile_text(f"notation 1\ntraverse Dale\nbearings true\n{line}\nat 1\n")
    assert not found.failed
    assert found.log.units[0].colour == "#d9d9d9"


def test_a_colour_offered_is_no_longer_alike_and_none_is_offered_twice(compile_text):
    units = [unit("Aa", None, "#d9d9d9"), unit("Bb", None, "#8fce5c"), unit("Cc", None, "#d9d9d9"), unit("Dd", None, "#b0509a"), unit("Ee", None, "#d9d9d9")]  # fmt: skip
    told = [one for one in check_colours(units, unit_styles(units)) if one.code == "units-unseen"]
    lines = dict.fromkeys(re.search(r"`(unit [^`]*)`", one.hints[0])[1] for one in told)
    offered = {line.split()[1]: line.rsplit(" ", 1)[1] for line in lines}
    assert len(set(offered.values())) == len(offered) >= 2
    typed = [unit(one.letters, None, offered.get(one.letters, one.colour)) for one in units]
    assert "units-unseen" not in [one.code for one in check_colours(typed, unit_styles(typed))]


def test_blue_and_yellow_are_seen_by_all():
    assert not codes("#ffffb0", "#7bc6de")


def test_two_units_of_one_lightness_are_one_grey():
    assert abs(lightness("#e8b8b8") - lightness("#a9c8e0")) < 2.0
    assert "units-one-grey" in [code for code, _ in codes("#e8b8b8", "#ffffff", "#a9c8e0")]
    assert "units-one-grey" not in [code for code, _ in codes("#e8b8b8", "#ffffff", "#89a8c0")]


def test_a_palette_made_for_all_eyes_is_not_spoken_of():
    """Seven colours of Okabe and Ito, Color Universal Design (2008), from memory; white between them."""
    palette = ("#e69f00", "#56b4e9", "#009e73", "#f0e442", "#0072b2", "#d55e00", "#cc79a7")
    assert "units-unseen" not in [code for code, _ in codes(*palette)]


def test_many_alike_are_told_in_few_lines():
    units = [unit(f"U{n}", "Triassic", line=n + 1) for n in range(60)]
    assert len(check_colours(units, unit_styles(units))) <= 6


# --- limits, on greys, whose lightness is worked out here --------------------------------------------------------


def grey(value):
    return "#" + 3 * f"{value:02x}"


def luminance(value):
    """Of a grey of sRGB (IEC 61966-2-1), 0 to 1."""
    share = value / 255.0
    return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4


def light_of(value):
    """L* of CIE 1976, of light greys: 116 Y^(1/3) - 16."""
    return 116.0 * luminance(value) ** (1.0 / 3.0) - 16.0


def oklab_of(value):
    """Lightness in Oklab of a grey: Y^(1/3). Source: B. Ottosson (2020), A perceptual color space; from memory."""
    return luminance(value) ** (1.0 / 3.0)


@pytest.mark.parametrize("value", [128, 161, 200, 254])
def test_lightness_of_greys(value):
    assert lightness(grey(value)) == pytest.approx(light_of(value), abs=0.02)


def test_an_authors_colour_is_too_dark_below_66():
    dark = max(value for value in range(256) if light_of(value) < 66.0)
    for value in (dark, dark + 1):
        assert ("dark-unit" in [code for code, _ in codes(grey(value))]) == (value == dark)


def nearest_pair(top, least, of):
    """Darker greys than `top` by just less and by just more."""
    near = min(value for value in range(top) if of(top) - of(value) < least)
    return near, near - 1


@pytest.mark.parametrize("top", [255, 230])
def test_neighbours_are_alike_in_a_copy_up_to_ten_steps(top):
    """A twentieth less is let pass."""
    for value, alike in zip(nearest_pair(top, 9.95, light_of), (True, False), strict=True):
        assert ("units-alike" in [code for code, _ in codes(grey(top), grey(value))]) is alike
    assert "differs by 0, the sheet wants 10" in dict(codes(grey(top), grey(top)))["units-alike"]


@pytest.mark.parametrize("top", [255, 225])
def test_units_apart_in_the_column_are_one_grey_within_two_steps(top):
    for value, same in zip(nearest_pair(top, 2.0, light_of), (True, False), strict=True):
        assert ("units-one-grey" in [code for code, _ in codes(grey(top), "#b0b0b0", grey(value))]) is same


@pytest.mark.parametrize("top", [255, 225])
def test_units_apart_in_the_column_look_alike_within_four_hundredths(top):
    for value, same in zip(nearest_pair(top, 0.04, oklab_of), (True, False), strict=True):
        found = dict(codes(grey(top), "#7fa0ff", grey(value)))
        assert ("units-unseen" in found) is same
        assert not same or found["units-unseen"] == "units U0 and U2 look alike to all readers"


@pytest.mark.parametrize(
    ("age", "colour"),
    [
        ("Quaternary", "#fbfba5"),
        ("Upper Jurassic", "#caebf3"),
        ("Lower Jurassic", "#7bc6de"),
        ("Pleistocene", "#fff6c6"),
    ],
)
def test_a_unit_alone_has_seven_tenths_of_the_chart_s_colour(age, colour):
    """Worked by hand: 255 less 0.7 of what the chart's colour lacks of white, to the nearest whole."""
    assert unit_styles([unit("A", age)])["A"].colour == colour


def test_a_colour_too_dark_for_figures_is_thinned_until_they_can_be_read():
    """Hadean (174, 2, 126): the most of it, of whole hundredths, that is as light as 66."""

    def thinned(percent):
        return "#" + "".join(f"{round(255 - (255 - part) * percent / 100.0):02x}" for part in (174, 2, 126))

    def light(colour):
        return Color(colour).convert("lab-d65")["lightness"]

    found = unit_styles([unit("A", "Hadean")])["A"].colour
    most = max(percent for percent in range(101) if light(thinned(percent)) >= 66.0)
    assert most < 70
    assert found == thinned(most)


def test_units_without_an_age_have_muted_tints_in_turn_that_no_age_has():
    styles = unit_styles([unit(f"U{n}") for n in range(4)])
    colours = [Color(one.colour) for one in styles.values()]
    chart = [Color("srgb", [part / 255.0 for part in one]).convert("oklch") for one in CHART.values()]
    for one in colours:
        tint = one.convert("oklch")
        assert tint["chroma"] < 0.05
        assert all(tint["chroma"] < age["chroma"] for age in chart if age["chroma"] > 0.06)
    assert len({round(one.convert("oklch")["hue"] / 30.0) for one in colours}) >= 3


def test_units_of_the_program_s_choice_differ_at_a_glance_where_they_can():
    """0.06 in Oklab, of all pairs, and 0.04 for all other eyes."""
    styles = unit_styles(
        [unit(f"U{n}", age) for n, age in enumerate(("Permian", "Jurassic", "Permian", "Jurassic"))]
    )
    colours = [Color(one.colour) for one in styles.values()]
    for one, other in combinations(colours, 2):
        assert one.delta_e(other, method="ok") >= 0.06
        for eyes in ("protan", "deutan", "tritan"):
            assert one.filter(eyes).delta_e(other.filter(eyes), method="ok") >= 0.04
