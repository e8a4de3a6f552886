"""Readings turned to true north, and put where they were taken."""

import pytest

from traverse.sheet.map.attitudes import sighting

HEAD = "notation 1\nbearings {north}\n{declination}attitudes {convention}\ncontrol 1 0 E 0 N\nat 1\n"


def log(*lines, north="true", declination="", convention="dip-right"):
    return HEAD.format(north=north, declination=declination, convention=convention) + "\n".join(lines) + "\n"


# One plane that dips 30 toward 135, in the hands of several countries (field notebooks; common practice, no source).
ONE_PLANE = [
    ("dip-right", "045/30"),
    ("dip-left", "225/30"),
    ("dip-direction", "135/30"),
    ("letters", "N45E/30SE"),
    ("letters", "045/30SE"),
    ("dip-right", "225/30SE"),
    ("letters", "S45W 30SE"),
    ("dip-direction", "30->135"),
    ("letters", "30 to 135"),
]


@pytest.mark.parametrize(("convention", "written"), ONE_PLANE)
def test_every_convention_of_one_plane_gives_one_plane(compile_text, convention, written):
    (bed,) = compile_text(log(f"bed {written}", convention=convention)).geology.attitudes
    assert (bed.strike_deg, bed.dip_deg, bed.dip_direction_deg) == (
        pytest.approx(45.0),
        30.0,
        pytest.approx(135.0),
    )
    assert bed.written == written


def test_magnetic_readings_are_turned_by_the_declination_once(compile_text):
    compiled = compile_text(
        log(
            "bed 52/34SE", "hinge 10->300", north="magnetic", declination="declination 8 1/2 E, 2026, map\n"
        ).replace("52/34", "052/34")
    )
    bed, hinge = compiled.geology.attitudes
    assert bed.strike_deg == pytest.approx(60.5)
    assert hinge.trend_deg == pytest.approx(308.5)


def test_attitudes_may_be_from_another_north_than_the_bearings(compile_text):
    compiled = compile_text(
        log(
            "bed 052/34",
            north="magnetic",
            declination="declination 10 W, 2026, map\n",
            convention="dip-right true",
        )
    )
    assert compiled.geology.attitudes[0].strike_deg == pytest.approx(52.0)


def test_three_readings_of_one_surface_are_meaned_by_their_poles(compile_text):
    """130/40, 134/44 and 128/42 (dip direction before dip) mean 131/42: common practice, no source."""
    (bed,) = compile_text(log("bed 130/40, 134/44, 128/42", convention="dip-direction")).geology.attitudes
    assert bed.n == 3
    assert bed.dip_direction_deg == pytest.approx(131.0, abs=0.5)
    assert bed.dip_deg == pytest.approx(42.0, abs=0.5)
    assert 0.0 < bed.spread_deg < 4.0


def test_the_one_of_three_readings_that_lies_off_the_others_is_named(compile_text):
    """Beds of 12°, of which one dips the other way: 24° off the others; their mean hid it."""
    compiled = compile_text(log("bed N28E/11SE, N26E/12NW, N29E/12SE", convention="letters"))
    (told,) = [one for one in compiled.diagnostics if one.code == "readings-apart"]
    assert "N26E/12NW lies 23° from the others" in told.message
    rolls = compile_text(log("bed N28E/11SE, N12E/14SE, N29E/12SE", convention="letters"))
    assert "readings-apart" not in {one.code for one in rolls.diagnostics}


@pytest.mark.parametrize(("second", "asked"), [(49, True), (51, False)])
def test_one_of_three_readings_is_named_where_the_others_agree_within_half_of_what_is_asked_about(
    compile_text, second, asked
):
    """The others lie 9.5° or 10.5° from their mean: half of 20°."""
    found = compile_text(log(f"bed 130/30, 130/{second}, 310/60", convention="dip-direction"))
    told = [one.message for one in found.diagnostics if one.code == "readings-apart"]
    assert any("310/60 lies" in one for one in told) is asked
    # A fourth that agrees with none is not named either.
    far = compile_text(log("bed 130/30, 130/36, 130/49", convention="dip-direction"))
    assert not [one for one in far.diagnostics if one.code == "readings-apart"]


def test_readings_far_apart_are_told(compile_text):
    compiled = compile_text(log("bed 040/30, 140/60"))
    assert "readings-apart" in {one.code for one in compiled.diagnostics}


def test_two_faces_make_a_plane(compile_text):
    (bed,) = compile_text(log("apparent 20->080, 28->150")).geology.attitudes
    assert bed.dip_deg == pytest.approx(29.5, abs=0.1)
    assert bed.dip_direction_deg == pytest.approx(130.0, abs=0.5)


def test_a_rake_is_measured_in_the_plane_it_names_or_the_last_one(compile_text):
    named = compile_text(log("striation rake 20 from NW on 310/75NE")).geology.attitudes[0]
    last = compile_text(log("fault 310/75", "striation rake 20 from NW")).geology.attitudes[0]
    for line in (named, last):
        assert round(line.plunge_deg) == 19
        assert round(line.trend_deg) == 315


def test_flat_and_vertical_beds_keep_what_was_read(compile_text):
    flat, upright = compile_text(log("bed flat", "bed 040/vertical")).geology.attitudes
    assert (flat.flat, flat.dip_deg, flat.course_deg) == (True, 0.0, None)
    assert (upright.flat, upright.strike_deg, upright.dip_deg) == (False, 40.0, 90.0)


def test_tops_go_to_the_bed_of_their_place_and_not_to_the_cross_bed(compile_text):
    bed, crossbed = compile_text(log("bed 040/30", "crossbed 25->080", "tops up scours")).geology.attitudes
    assert bed.tops is not None
    assert crossbed.tops is None


def test_a_contact_in_a_stretch_lies_at_its_middle(compile_text):
    compiled = compile_text(
        "notation 1\nbearings true\nattitudes dip-right\nunit Aa Upper ;\nunit Bb Lower ;\nat 1\nunit Bb\n"
        "to 2 090 100m\ncovered 20m to 50m scree\ncontact Aa/Bb inferred\nat 2\nunit Aa\n"
    )
    (contact,) = compiled.geology.contacts
    assert contact.place.east_m == pytest.approx(35.0)
    assert contact.half_width_m == pytest.approx(15.0)
    assert contact.sd_m >= 15.0 / 3.0**0.5


def test_younging_is_turned_to_true_north_like_the_bed(compile_text):
    """A bed striking 000 magnetic and younging to 005, with a declination of 10 W: east of its strike, as it was read."""
    text = (
        "notation 1\nbearings magnetic\ndeclination 10 W, 2026, chart\nattitudes dip-right\nat 1\n"
        "bed 000/90\ntops 005 graded\n"
    )
    (bed,) = compile_text(text).geology.attitudes
    assert bed.strike_deg == pytest.approx(350.0)
    assert bed.tops_toward_deg == pytest.approx(355.0)
    seen = sighting(bed)
    assert seen is not None
    assert seen.turn_deg == pytest.approx(350.0)


@pytest.mark.parametrize("declination", [0, 20])
def test_a_vertical_bed_is_one_plane_by_either_end_of_its_strike(compile_text, declination):
    """And so are its contact, the mean, the axis and what is said."""

    def told(spelling):
        head = f"notation 1\nbearings magnetic\ndeclination {declination} E, 2026, map\nattitudes dip-right\n"
        walk = "at 1\nbed 010/40\nto 2 090 80m\nbed 015/60\nto 3 090 80m\nbed 000/vertical\n"
        walk += "contact Aa/Bb certain 000/90\nto 4 090 80m\nbed 190/70\nto 5 090 80m\nbed 180/50\n"
        units = "unit Aa Ash ;\nunit Bb Beds ;\n"
        walk = walk.replace("000/", spelling)
        geology = compile_text(head + units + walk).geology
        bed = geology.beds[2]
        return (
            (bed.dip_deg, bed.dip_direction_deg, bed.strike_deg, geology.contacts[0].strike_deg),
            geology.bedding_mean,
            geology.fold_axis,
            [one.words for one in geology.findings],
        )

    assert told("000/") == told("180/")
    assert told("000/")[0] == (90.0, 90.0 + declination, declination, declination)


def test_a_fault_inside_one_unit_is_graded(compile_text):
    """The unit goes on beyond it, and the fault ends what is counted on."""
    found = compile_text(
        "notation 1\nbearings true\nattitudes dip-right\nunit Aa Ash ;\nat 1\nunit Aa\nbed 000/30\n"
        "to 2 090 100m\nalong 50m\nfault Aa/Aa inferred 010/70\nfault Aa/Aa? concealed\nto 3 090 50m\nunit Aa\n"
    )
    assert not [one for one in found.diagnostics if one.code in {"unit-pair", "contact-missing"}]
    assert {one.unit for one in found.geology.band} == {"Aa"}
    assert [(one.certainty.value, one.queried) for one in found.geology.contacts] == [
        ("inferred", False),
        ("concealed", True),
    ]
