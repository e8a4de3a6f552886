"""Contacts beside the walk and along it: what they change, what they are joined to, what their shape tells."""

import math
from itertools import pairwise

import pytest

HEAD = """notation 1
bearings true
attitudes dip-right
unit Cm Cliff marl ;
unit Gg Grey grit ;
control 1 1000 E 1000 N 100 m map
at 1
unit Gg
"""
SIDES = "bed 080/10\nto 2 090 100m level\n{first}\n{second}\nat 2\nunit Gg\nto 3 045 60m level\nunit Gg\n"


def twice(first="along 20m left 4m", second="along 70m left 4m"):
    return SIDES.format(first=f"{first}\ncontact Cm/Gg certain", second=f"{second}\ncontact Cm/Gg certain")


def units(compiled):
    return {one.unit for one in compiled.geology.band}


def said(compiled):
    return " ".join(one.words for one in compiled.geology.findings)


def test_a_contact_beside_the_walk_changes_no_unit_on_it(compile_text):
    """Nor does it make a fold of ground that is all grit."""
    beside = compile_text(HEAD + twice())
    crossed = compile_text(HEAD + twice("along 20m", "along 70m"))
    assert units(beside) == {"Gg"}
    assert units(crossed) == {"Gg", "Cm"}
    assert "Cm" not in said(beside)
    assert not beside.geology.thicknesses


def test_places_beside_the_walk_are_one_line_with_its_units(compile_text):
    (line,) = compile_text(HEAD + twice()).geology.contact_lines
    assert (line.side, line.left, line.right) == (-1, "Cm", "Gg")
    assert [part.points[0][:2] for part in line.parts] == [(1020, 1004), (1070, 1004)]


def test_places_on_two_sides_or_past_a_crossing_are_not_joined(compile_text):
    (one, other) = compile_text(HEAD + twice(second="along 70m right 4m")).geology.contact_lines
    assert [(line.side, line.left, line.right) for line in (one, other)] == [
        (-1, "Cm", "Gg"),
        (1, "Gg", "Cm"),
    ]
    between = "contact Cm/Gg certain\nalong 40m\ncontact Cm/Gg certain\nalong 70m left 4m"
    text = HEAD + twice(second=f"along 30m\n{between}")
    assert len(compile_text(text).geology.contact_lines) == 2


def test_a_walk_that_needs_the_crossing_is_told_where_to_book_it(compile_text):
    text = HEAD + "to 2 090 100m level\nalong 20m left 4m\ncontact Cm/Gg certain\nat 2\nunit Cm\n"
    (told,) = [one for one in compile_text(text).diagnostics if one.code == "contact-missing"]
    assert "beside the walk is not crossed" in told.hints[0]


def test_a_stretch_is_no_error_of_the_contact_that_was_followed(compile_text):
    text = HEAD + "to 2 090 49m level\nalong 0m to 49m left 4m\ncontact Cm/Gg certain\nat 2\nunit Gg\n"
    found = compile_text(text)
    (contact,) = found.geology.contacts
    assert contact.half_width_m is None
    assert contact.sd_m < 1.0
    (line,) = found.geology.contact_lines
    assert [point[:2] for point in line.parts[0].points] == [(1000, 1004), (1049, 1004)]


def test_a_contact_followed_on_the_walk_is_left_on_its_other_side(compile_text):
    walk = "to 2 090 60m level\nalong 10m to 50m\ncontact Cm/Gg certain 090/30\nat 2\nunit {}\n"
    crossed = compile_text(HEAD + walk.format("Cm"))
    assert [(one.start_share, one.end_share, one.unit) for one in crossed.geology.band] == [
        (0.0, 0.5, "Gg"),
        (0.5, 1.0, "Cm"),
    ]
    assert not [one for one in crossed.diagnostics if one.code == "contact-missing"]
    stayed = compile_text(HEAD + walk.format("Gg"))
    assert units(stayed) == {"Gg"}
    # Its plane dips south, to the right of a walk to the east: there the younger one lies.
    assert [(one.left, one.right) for one in stayed.geology.contact_lines] == [("Gg", "Cm")]


def test_what_is_hidden_under_the_walk_lies_somewhere_in_the_stretch(compile_text):
    text = HEAD + "to 2 090 60m level\nalong 10m to 50m\ncontact Cm/Gg concealed\nat 2\nunit Cm\n"
    found = compile_text(text)
    assert not found.geology.contact_lines
    assert found.geology.contacts[0].half_width_m == pytest.approx(20.0)


PLANE = (12.0, 120.0)
"""Dip and dip direction of a contact round a hill."""


def round_a_hill(corners, *, aside=0.0):
    """A walk along the outcrop of the plane, from corner to corner, as a log."""

    def up(east, north):
        fall = math.tan(math.radians(PLANE[0]))
        way = math.radians(PLANE[1])
        return 100.0 - fall * (east * math.sin(way) + north * math.cos(way))

    text = ""
    for number, (start, end) in enumerate(pairwise(corners), start=2):
        east, north = end[0] - start[0], end[1] - start[1]
        level = math.hypot(east, north)
        slope = math.degrees(math.atan2(up(*end) - up(*start), level))
        long = math.hypot(level, up(*end) - up(*start))
        bearing = math.degrees(math.atan2(east, north)) % 360.0
        # Where the walk is beside the contact it keeps level with it.
        side = f" left {aside}m" if aside else ""
        text += f"to {number} {bearing:07.3f} {long:.2f}m {slope:+.3f}\n"
        text += f"along 0m to {math.floor(long * 100) / 100:.2f}m{side}\ncontact Cm/Gg certain\n"
    return HEAD + text


CORNERS = [(0.0, 0.0), (60.0, -20.0), (120.0, 10.0), (130.0, 80.0), (70.0, 120.0), (0.0, 100.0)]


def test_the_shape_of_a_contact_that_was_followed_gives_its_plane(compile_text):
    """Walked along the outcrop of a plane that dips 12° toward 120, written to a centimetre and 0.001°."""
    found = compile_text(round_a_hill(CORNERS))
    (line,) = found.geology.contact_lines
    assert len(line.parts) == 5
    (plane,) = found.geology.planes
    assert plane.dip_deg == pytest.approx(PLANE[0], abs=0.1)
    assert plane.strike_deg == pytest.approx(PLANE[1] - 90.0, abs=0.5)


def test_beside_the_walk_the_plane_is_no_surer_than_the_ground_between(compile_text):
    """The height of the contact 6 m to the side was not taken."""
    on, off = (compile_text(round_a_hill(CORNERS, aside=aside)).geology.planes[0] for aside in (0.0, 6.0))
    assert off.sd_dip_deg > on.sd_dip_deg
    assert abs(off.dip_deg - PLANE[0]) < 3.0 * off.sd_dip_deg


def test_stretches_that_cross_inside_a_bend_end_where_they_cross(compile_text):
    text = HEAD + "to 2 090 50m level\nalong 0m to 50m left 5m\ncontact Cm/Gg certain\nat 2\nunit Gg\n"
    text += "to 3 000 50m level\nalong 0m to 50m left 5m\ncontact Cm/Gg certain\n"
    (line,) = compile_text(text).geology.contact_lines
    first, second = (part.points for part in line.parts)
    assert first[1][:2] == second[0][:2] == (pytest.approx(1045.0), pytest.approx(1005.0))


def test_a_section_across_a_line_shows_it_where_the_map_does(compile_text):
    """The walk goes east, the contact 4 m north of it; the section runs north-north-west through 2."""
    text = HEAD + "to 2 090 50m level\nalong 0m to 50m left 4m\ncontact Cm/Gg certain 090/30\nat 2\nunit Gg\n"
    text += "side 3 000 30m level\nsection A-A' 350 through 2\n"
    (section,) = compile_text(text).geology.sections
    (met,) = [point for point in section.points if point.contact is not None]
    start, azimuth = section.line[0], math.radians(section.grid_azimuth_deg)
    assert start[1] + met.distance_m * math.cos(azimuth) == pytest.approx(1004.0, abs=1e-3)
    south = [one.unit for one in section.profile if one.distance_m < met.distance_m]
    north = [one.unit for one in section.profile if one.distance_m > met.distance_m]
    assert (south[-1], north[0]) == ("Gg", "Cm")


@pytest.mark.parametrize("first_deg", [20, 95, 200, 310])
@pytest.mark.parametrize("turn_deg", [-70, -35, 25, 80])
def test_a_contact_followed_inside_a_bend_ends_where_its_two_stretches_cross(
    compile_text, first_deg, turn_deg
):
    """5 m inside the walk on both legs: it comes 5 m / cos(half the turn) from the corner, on the line that halves it.

    There it is as high as the first leg is abreast of it, which climbs 10°.
    """
    side = "left" if turn_deg < 0 else "right"
    follow = f"along 0m to 80m {side} 5m\ncontact Cm/Gg certain\n"
    text = (
        HEAD
        + f"to 2 {first_deg:03d} 80m +10\n{follow}at 2\nunit Gg\n"
        + f"to 3 {(first_deg + turn_deg) % 360:03d} 80m level\n{follow}at 3\nunit Gg\n"
    )
    (line,) = compile_text(text).geology.contact_lines
    first, second = (part.points for part in line.parts)
    out = math.radians(first_deg + turn_deg / 2.0 + math.copysign(90.0, turn_deg))
    far_m = 5.0 / math.cos(math.radians(turn_deg / 2.0))
    way, flat_m = math.radians(first_deg), 80.0 * math.cos(math.radians(10.0))
    corner = (
        1000.0 + flat_m * math.sin(way) + far_m * math.sin(out),
        1000.0 + flat_m * math.cos(way) + far_m * math.cos(out),
    )
    abreast_m = flat_m - 5.0 * math.tan(math.radians(abs(turn_deg) / 2.0))
    assert first[-1][:2] == pytest.approx(corner, abs=0.01)
    assert first[-1][2] - first[0][2] == pytest.approx(abreast_m * math.tan(math.radians(10.0)), abs=0.01)
    assert second[0] == first[-1]
