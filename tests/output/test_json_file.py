"""The JSON: keys, digits, nulls."""

import json

import pytest

from traverse.output.json_file import write_json

LOG = """notation 1
traverse Tarn Side, day 1
date 2026-07-14
bearings true
attitudes dip-right
pace double 100 m in 65, 66, 66, 67
unit Ms Marl ;
unit Lt Limestone ;
control 1 412350 E 4289020 N 786 m ±4
grid EPSG:25830
at 1
unit Lt
bed 142/30, 140/32
hinge 10->310
to 2 047 64p +3 back 226
contact Ms/Lt certain 140/31
to 3 137 40p
side 3a 000 12m
close 1 250 70p
section A-A' from 1 to 2
"""


def exported(compile_text, text=LOG):
    found = compile_text(text)
    return json.loads(write_json(found.log, found.trav, found.diagnostics))


def test_the_keys_that_programs_rely_on_are_there(compile_text):
    body = exported(compile_text)
    assert {"notation", "traverse", "stations", "legs", "loops", "suspects", "deviations", "fits"} <= set(
        body
    )
    assert {"attitudes", "contacts", "thicknesses", "structure", "sections", "messages"} <= set(body)
    assert {"title", "date", "dates", "grid", "pace", "paces", "declination", "convergence"} <= set(
        body["traverse"]
    )
    assert set(body["stations"][0]) == {
        "name",
        "kind",
        "east",
        "north",
        "up",
        "lon",
        "lat",
        "sd",
        "ellipse",
        "standing",
    }
    assert set(body["loops"][0]) == {
        "line", "kind", "stations", "length", "misclosure", "ratio", "q", "q_up", "adjusted",
    }  # fmt: skip
    assert {"bedding_mean", "fold_axis", "planes"} <= set(body["structure"])


def test_kinds_and_lines_are_those_of_the_log(compile_text):
    body = exported(compile_text)
    assert [station["kind"] for station in body["stations"]] == ["control", "walked", "walked", "side"]
    assert [(leg["kind"], leg["line"]) for leg in body["legs"]] == [
        ("to", 15),
        ("to", 17),
        ("side", 18),
        ("close", 19),
    ]
    assert body["contacts"][0]["identity"] == "certain"
    assert body["traverse"]["heights"] == "partly"
    assert body["traverse"]["paces"][0]["kind"] == "double"


def test_what_does_not_apply_is_null(compile_text):
    body = exported(compile_text)
    bed, hinge = body["attitudes"]
    assert (bed["trend"], bed["plunge"]) == (None, None)
    assert (hinge["strike"], hinge["dip"], hinge["overturned"]) == (None, None, None)
    assert body["structure"]["fold_axis"] is None
    local = exported(compile_text, "notation 1\nbearings true\nat 1\nto 2 047 10m\n")
    assert (local["stations"][0]["lon"], local["traverse"]["convergence"], local["traverse"]["grid"]) == (
        None,
        None,
        None,
    )


def test_digits_are_those_stated(compile_text):
    body = exported(compile_text)
    for station in body["stations"]:
        assert round(station["east"], 4) == station["east"]
        assert round(station["lon"], 8) == station["lon"]
    assert all(round(leg["azimuth"], 6) == leg["azimuth"] for leg in body["legs"])


def test_plane_of_a_contact_seen_at_three_places_is_its_plane(compile_text):
    """Three places on z = 100 - 0.2 E: a plane that dips 11.31 toward 090."""
    controls = [("1", 0, 0), ("2", 100, 0), ("3", 0, 100), ("4", 60, 80)]
    text = "notation 1\nbearings true\nunit Ms Marl ;\nunit Lt Limestone ;\n"
    text += "".join(f"control {name} {e} E {n} N {100 - 0.2 * e} m\n" for name, e, n in controls)
    text += "".join(f"at {name}\ncontact Ms/Lt certain\n" for name, *_ in controls)
    (plane,) = exported(compile_text, text)["structure"]["planes"]
    assert abs(plane["dip"] - 11.309932) < 1e-6
    assert abs(plane["strike"] - 0.0) < 1e-6 or abs(plane["strike"] - 360.0) < 1e-6
    # A contact is no sharper than 0.1 m, however well its place is known.
    assert max(plane["sd"].values()) < 0.5
    assert plane["carried"]
    on_one_line = text.replace("100 N 100.0 m", "0 N 100.0 m").replace("60 E 80 N", "60 E 0 N")
    (open_plane,) = exported(compile_text, on_one_line)["structure"]["planes"]
    assert open_plane["strike"] is None


FOLD = """notation 1
bearings true
attitudes dip-direction
unit Ck Upper ; Cretaceous
unit Ju Middle ; Jurassic
unit Tr Lower ; Triassic
control 1 0 E 0 N 100 m
at 1
unit Tr
bed 090/40
to 2 090 100m level
along 50m
contact Ju/Tr certain
along 80m
sample S-1 grey
at 2
unit Ju
bed 090/40
to 3 090 100m level
along 50m
contact Ck/Ju certain
at 3
unit Ck
bed flat
to 4 090 100m level
along 50m
contact Ck/Ju certain
at 4
unit Ju
bed 270/40
to 5 090 100m level
unit Ju
bed 270/40
section A-A' from 1 to 5, project strike
section B-B' 020 through 5
"""


def test_a_fold_is_told_with_its_limbs_and_its_angle(compile_text):
    """Limbs 40 degrees each way: 100 apart, the axial surface upright along north."""
    body = exported(compile_text, FOLD)
    (form,) = body["structure"]["forms"]
    assert form["name"] == "syncline"
    assert form["sentence"] in body["structure"]["sentences"]
    first, last = form["limbs"]
    assert (first["dip"], first["dip_direction"], first["overturned"]) == (40.0, 90.0, False)
    assert (last["dip"], last["dip_direction"], last["n"]) == (40.0, 270.0, 2)
    assert form["interlimb"] == pytest.approx(100.0, abs=1e-5)
    assert 0.0 < form["interlimb_sd"] < 10.0
    assert form["axial_surface"]["dip"] == pytest.approx(90.0, abs=1e-5)


def test_sections_say_what_they_cannot_show_and_how_sure_a_place_on_them_is(compile_text):
    first, second = exported(compile_text, FOLD)["sections"]
    assert (first["projection"], first["exaggeration"], first["limits"]) == ("strike", 1.0, [])
    assert second["limits"][0]["code"] == "strike-along-section"
    assert second["limits"][0]["text"].startswith("Section B–B′ runs ")
    bed = next(point for point in first["points"] if point["what"] == "bed")
    assert (bed["carried"], bed["distance"]) == (0.0, 0.0)
    assert bed["sd"] is not None
    (relief,) = [one for one in first["reliefs"] if one["younger"] == "Ck"]
    assert relief["high"] == pytest.approx(100.0)
    assert relief["at_least"] is True


def test_samples_stand_at_their_level_in_the_column(compile_text):
    """30 m past the base, in beds of 40 degrees over level ground: 30 sin 40 above it; Ju 100 sin 40 thick."""
    column = exported(compile_text, FOLD)["column"]
    assert [unit["unit"] for unit in column] == ["Ck", "Ju", "Tr"]
    middle = column[1]
    assert middle["base"] == "contact"
    assert middle["true"] == pytest.approx(64.279, abs=1e-3)
    (sample,) = middle["samples"]
    assert sample["label"] == "S-1"
    assert sample["level"] == pytest.approx(19.284, abs=1e-3)
    assert sample["share"] == pytest.approx(0.3, abs=1e-3)
    (whole,) = exported(compile_text, FOLD)["thicknesses"]
    assert (whole["at_least"], whole["range"]["low"] <= whole["true"] <= whole["range"]["high"]) == (
        False,
        True,
    )


def test_intrusive_bodies_have_a_list_of_their_own(compile_text):
    """Only where a log has one, so that nothing changes for the programs that read the others."""
    assert "bodies" not in exported(compile_text)
    text = LOG.replace("unit Ms Marl ;", "unit Ms Marl ;\nunit Db Dike ; intrusive ; also B-Ls")
    text = text.replace(
        "to 3 137 40p\n",
        "to 3 137 40p\nalong 10p\ncontact Db/Ms certain 047/90\nalong 14p\ncontact Db/Ms certain 047/90\n",
    )
    body = exported(compile_text, text)
    (crossing,) = body["bodies"]
    assert {one["letters"]: one.get("intrusive", False) for one in body["traverse"]["units"]} == {
        "Ms": False,
        "Db": True,
        "Lt": False,
    }
    assert body["traverse"]["units"][1]["also"] == ["B-Ls"]
    assert crossing["unit"] == "Db"
    assert crossing["walls"] == [one["line"] for one in body["contacts"] if one["younger"] == "Db"]
    assert crossing["hosts"] == ["Ms", "Ms"]
    assert (crossing["strike"], crossing["dip"]) == (pytest.approx(47.0), pytest.approx(90.0))
    # Four paces square to the walls.
    assert crossing["width"] == pytest.approx(4 * 100.0 * 4 / (65 + 66 + 66 + 67), abs=0.05)
    (section,) = body["sections"]
    assert "Db" not in {one["unit"] for one in body["column"]}
    assert not [one for one in section["points"] if one["label"] == "Db/Ms"]
