"""A section over flat beds on the worn edges of a fold: what covers is drawn over what it covers, and by its own dips."""

from pathlib import Path

import pytest

TEXT = (Path(__file__).parents[2] / "reference/logs/unconformity.trav").read_text(encoding="utf-8")
COVER = {"Bs", "Cg"}


@pytest.fixture
def sections(compile_text):
    return {one.name: one for one in compile_text(TEXT).geology.sections}


def lines(section, *, cover):
    return [one for one in section.construction.lines if ({one.younger, one.older} <= COVER) is cover]


def test_ground_nearest_to_the_walk_over_the_cover_is_cover(sections):
    """The line lies 30 to 40 m from the walk over the basalt, and 70 to 95 m from that over the syncline."""
    over = {one.unit for one in sections["A-A'"].profile if 20.0 < one.distance_m < 340.0}
    assert over <= COVER


def test_what_was_worn_off_stays_under_the_cover(sections):
    section = sections["A-A'"]
    basement = [one for one in lines(section, cover=False) if one.kind.value == "contact"]
    assert len(basement) >= 3
    for one in basement:
        for piece in one.pieces:
            assert not piece.eroded
            assert all(up < section.ground_at(distance) for distance, up in piece.points)


def test_the_cover_lies_by_its_own_dips(sections):
    """Beds of 5 to 7 degrees: over the length of the section it is no steeper than they are."""
    for one in lines(sections["A-A'"], cover=True):
        for piece in one.pieces:
            (x0, z0), (x1, z1) = piece.points[0], piece.points[-1]
            assert abs(z1 - z0) <= 0.13 * abs(x1 - x0)


def test_where_the_worn_beds_were_walked_on_no_cover_lies_under_them(sections):
    """The second section runs along the walk over the syncline: what lay on it is drawn in the air alone."""
    section = sections["B-B'"]
    assert {one.unit for one in section.profile}.isdisjoint(COVER)
    (base,) = [one for one in section.construction.lines if one.younger in COVER]
    assert base.pieces
    for piece in base.pieces:
        assert piece.eroded
        assert all(up > section.ground_at(distance) + 5.0 for distance, up in piece.points)


def test_each_contact_of_the_cover_is_one_line_of_one_height_on_every_section(sections):
    """Met twice each, and carried to two sections: by the plane that holds both places, where the sections cross as well."""
    for section in sections.values():
        drawn = [(one.younger, one.kind.value) for one in section.construction.lines if one.younger in COVER]
        assert len(drawn) == len(set(drawn)) <= 2
    first, second = (one.over for one in sections.values())
    assert [one.younger for one in first] == ["Bs", "Cg"]
    assert [one.up_at((1200.0, 950.0)) for one in first] == [one.up_at((1200.0, 950.0)) for one in second]
    (base,) = [one for one in sections["B-B'"].construction.lines if one.kind.value == "unconformity"]
    assert {round(up, 3) for piece in base.pieces for _, up in piece.points} == {
        round(second[-1].up_at(place), 3) for place in sections["B-B'"].line
    }


def test_the_cover_is_as_thick_on_the_section_as_the_legend_says(compile_text):
    geology = compile_text(TEXT).geology
    upper, lower = geology.sections[0].over
    (said,) = [one for one in geology.unit_thicknesses if one.unit == "Cg"]
    upright = upper.up_at((1200.0, 950.0)) - lower.up_at((1200.0, 950.0))
    square = upright / (1.0 + upper.rise[0] ** 2 + upper.rise[1] ** 2) ** 0.5
    assert square == pytest.approx(said.true_m, abs=said.sd_m)


def test_no_axial_surface_goes_on_into_the_cover_on_any_section(sections):
    """In the second section the surface lies above all ground."""
    for section in sections.values():
        base = section.over[-1]
        assert section.construction.axial
        for axial in section.construction.axial:
            for distance, up in axial.points:
                assert up <= base.up_at(section.plan_at(distance)) + 0.01


def test_a_cover_that_no_one_plane_holds_is_not_drawn_as_one(compile_text):
    """One bed of it dips 8° the other way, seven times what a reading is off by."""
    text = TEXT.replace("bed   200/06", "bed   020/08")
    assert all(one.over == () for one in compile_text(text, errors=True).geology.sections)


@pytest.mark.parametrize(
    ("base", "drawn"),
    [
        ("contact Qq/Bb certain", False),
        ("contact Qq/Bb certain 090/20", False),
        ("unconformity Qq/Bb certain", False),
        ("unconformity Qq/Bb certain 090/20", True),
    ],
)
def test_the_base_of_loose_ground_goes_down_only_where_an_unconformity_was_measured(
    compile_text, base, drawn
):
    """Its edge is marked where it was crossed; how deep gravel is nobody knows from that."""
    text = (
        "notation 1\nbearings true\nattitudes dip-direction\nunit Qq Gravel ; Quaternary\nunit Bb Bar ; Triassic\n"
        "unit Aa Low ; Permian\ncontrol 1 0 E 0 N 100 m\nat 1\nunit Aa\nbed 090/30\nto 2 090 100m level\nalong 40m\n"
        "contact Bb/Aa certain\nat 2\nunit Bb\nbed 090/30\nto 3 090 100m level\nalong 50m\n"
        f"{base}\nat 3\nunit Qq\nsection A-A' from 1 to 3, depth 60 m\n"
    )
    (section,) = compile_text(text).geology.sections
    for rule in (section.construction, section.arcs):
        found = {one.younger: one for one in rule.lines}
        assert found.keys() == {"Qq", "Bb"}
        assert bool(found["Qq"].pieces) is drawn
        assert found["Bb"].pieces
