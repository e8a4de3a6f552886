"""Contacts beside the walk on the map: where each unit's ground lies, and what is drawn, beside the ground as it is."""

import math

import pytest
import shapely

from tests.ground.test_map_ground import band_of
from tests.sheet.fixture_sheet import compiled
from traverse.compile import compile_log, map_ground
from traverse.ground.records import HowSeen
from traverse.log.items import HowMet
from traverse.source import Source
from traverse.structure.section.records import PointKind

HEAD = """\
bearings true
attitudes dip-right
unit Cm Cliff marl ; Eocene
unit Gg Grey grit ; Paleocene
control 1 0 E 0 N 100 m map
at 1
  unit Gg
"""
EIGHT = 8
"""Legs round a hill, each 50 m, turning left by 45 degrees."""


def ground(band, unit):
    return shapely.union_all([part for area in band.areas if area.unit == unit for part in area.parts])


def drawn(band):
    return shapely.union_all([one.line for one in band.beside])


def hill():
    """A flat contact 4 m above a path that goes round a hill of marl, walked with the hill to the left."""
    text = HEAD + "bed flat\n"
    for leg in range(EIGHT):
        bearing = (90 - 45 * leg) % 360
        name = f"to {leg + 2}" if leg < EIGHT - 1 else "close 1"
        text += f"{name} {bearing:03d} 50m level\nalong 0m to 50m left 4m\ncontact Cm/Gg certain\n"
        text += "at 1\n" if leg == EIGHT - 1 else f"at {leg + 2}\nunit Gg\n"
    return compiled(text)


def test_a_flat_contact_round_a_hill_is_one_line_and_no_dashes_across_the_path():
    """The octagon of the path is 50 m a side; 4 m inside it one of 50 - 2·4·tan 22.5° = 46.7 m a side is the contact."""
    band = band_of(hill())
    assert not band.crossed
    line = shapely.line_merge(drawn(band))
    path = shapely.Polygon(_octagon()).exterior
    assert line.length == pytest.approx(8 * (50.0 - 8.0 * math.tan(math.radians(22.5))), rel=0.02)
    assert path.distance(line) == pytest.approx(4.0, abs=0.01)
    inside = shapely.Polygon(_octagon()).buffer(-4.0, join_style="mitre")
    marl, grit = ground(band, "Cm"), ground(band, "Gg")
    assert marl.difference(inside.buffer(0.3)).area < 1.0
    assert grit.intersection(inside.buffer(-0.3)).area < 5.0
    assert marl.area == pytest.approx(
        inside.difference(inside.buffer(-16.0, join_style="mitre")).area, rel=0.05
    )


def _octagon():
    east, north, corners = 0.0, 0.0, []
    for leg in range(EIGHT):
        corners.append((east, north))
        way = math.radians(90 - 45 * leg)
        east, north = east + 50.0 * math.sin(way), north + 50.0 * math.cos(way)
    return corners


def test_two_places_beside_the_walk_colour_the_ground_beyond_them_and_no_more():
    text = (
        "to 2 090 100m\nalong 20m left 4m\ncontact Cm/Gg certain\nalong 70m left 4m\ncontact Cm/Gg certain\n"
    )
    band = band_of(compiled(HEAD + text + "at 2\nunit Gg\n"))
    marl = ground(band, "Cm")
    assert marl.bounds == pytest.approx((20.0, 4.0, 70.0, 20.0), abs=0.1)
    assert marl.area == pytest.approx(50.0 * 16.0, rel=0.01)
    assert ground(band, "Gg").area == pytest.approx(band.whole.area - marl.area, rel=0.001)
    assert [one.seen for one in band.beside] == [HowSeen.AT, HowSeen.AT]


def test_a_stretch_leaves_no_stray_patch():
    """The contact goes 4 m beside the whole leg: marl beyond it, grit to this side, and on the next leg grit alone."""
    text = (
        "to 2 000 49m\nalong 0m to 49m left 4m\ncontact Cm/Gg certain\nat 2\nunit Gg\nto 3 045 80m\nunit Gg\n"
    )
    found = compiled(HEAD + "bed 350/30\n" + text)
    band = band_of(found)
    marl = ground(band, "Cm")
    assert marl.bounds == pytest.approx((-20.0, 0.0, -4.0, 49.0), abs=0.1)
    assert shapely.get_num_geometries(marl) == 1
    assert drawn(band).equals_exact(shapely.LineString([(-4, 0), (-4, 49)]), 0.01)
    assert [one.seen for one in band.beside] == [HowSeen.ALONG]


def test_one_place_alone_keeps_clear_of_the_walk():
    """Drawn along its strike, it would cross the path where grit was walked on."""
    text = "to 2 090 100m\nalong 50m left 6m\ncontact Cm/Gg certain 030/50\nat 2\nunit Gg\n"
    band = band_of(compiled(HEAD + text))
    (piece,) = band.beside
    assert piece.line.distance(shapely.LineString([(0, 0), (100, 0)])) > 1.0
    (x0, y0), (x1, y1) = piece.line.coords
    assert math.degrees(math.atan2(x1 - x0, y1 - y0)) % 180 == pytest.approx(30.0, abs=0.1)
    # The younger lies beyond: north-west of it.
    assert ground(band, "Cm").contains(shapely.Point(50 - 3, 6 + 3))
    assert not ground(band, "Cm").intersects(shapely.LineString([(0, 0), (100, 0)]))


def test_far_off_the_walk_the_near_side_is_there_too():
    text = "to 2 090 100m\nalong 50m left 60m\ncontact Cm/Gg certain\nat 2\nunit Gg\n"
    band = band_of(compiled(HEAD + text))
    assert ground(band, "Cm").contains(shapely.Point(50, 62))
    assert ground(band, "Gg").contains(shapely.Point(50, 58))


def test_followed_on_the_walk_it_has_a_unit_on_each_side():
    text = "to 2 090 100m\nalong 0m to 100m\ncontact Cm/Gg certain 090/30\nat 2\nunit Gg\n"
    band = band_of(compiled(HEAD + text))
    assert ground(band, "Cm").contains(shapely.Point(50, -10))
    assert ground(band, "Gg").contains(shapely.Point(50, 10))


@pytest.mark.every(2)
@pytest.mark.parametrize(
    "body",
    [
        "along 0m to 100m left 4m\nfault 010/60",
        "along 50m right 200m\nfault Cm/Gg certain",
        "along 50m to 50.02m left 4m\ncontact Cm/Gg certain",
        "along 90m left 4m\ncontact Cm/Gg certain\nalong 10m left 4m\ncontact Cm/Gg? inferred 090/30",
        "along 0m to 100m\ncontact Cm/Gg certain\nunconformity Cm/Gg approximate flat",
        "along 10m to 90m both\ncontact Cm/Gg certain",
    ],
)
def test_odd_places_are_drawn_without_a_fault(body):
    text = f"traverse X\n{HEAD}to 2 090 100m +4\n{body}\nto 3 270 100m\n{body}\nclose 1 180 3m\n"
    found = compile_log(Source(name="x.trav", text=f"notation 1\n{text}"), load=lambda _: b"")
    assert not found.failed
    laid = map_ground(found.trav)
    assert laid.ground.map.band.whole.is_valid
    assert all(part.is_valid for area in laid.ground.map.band.areas for part in area.parts)


@pytest.mark.every(3)
@pytest.mark.parametrize("azimuth", range(20, 380, 45))
@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("askew", [-35, 35])
def test_beyond_a_contact_seen_at_one_place_lies_the_other_unit_whichever_way_the_walk_runs(
    azimuth, side, askew
):
    """The line runs askew to the walk; 5 m beyond its place it is marl, 5 m short of it grit, and it runs as the beds strike."""
    azimuth %= 360
    strike = (azimuth + askew) % 360
    text = HEAD + f"bed {strike:03d}/50\nto 2 {azimuth:03d} 120m level\n"
    text += f"along 60m {side} 9m\ncontact Cm/Gg certain\nat 2\nunit Gg\n"
    band = band_of(compiled(text))
    way, off = math.radians(azimuth), math.radians(azimuth + (90 if side == "right" else -90))

    def place(beside_m):
        return shapely.Point(
            60.0 * math.sin(way) + beside_m * math.sin(off), 60.0 * math.cos(way) + beside_m * math.cos(off)
        )

    assert ground(band, "Cm").contains(place(14.0))
    assert ground(band, "Gg").contains(place(4.0))
    line = drawn(band)
    assert line.distance(place(9.0)) < 0.01
    (x0, y0), (x1, y1) = line.coords[0], line.coords[-1]
    assert math.degrees(math.atan2(x1 - x0, y1 - y0)) % 180.0 == pytest.approx(strike % 180.0, abs=0.01)


@pytest.mark.every(2)
@pytest.mark.parametrize("off_m", [2, 5, 8])
@pytest.mark.parametrize("past_m", [-3, 0, 3])
def test_a_fault_crossed_before_and_after_it_was_followed_is_one_line(compile_text, off_m, past_m):
    """It strikes north, and stands, and is crossed up to 3 m off the line along which it was followed for 150 m.

    One line from edge to edge, 40 m more than that; and under a section across it each unit keeps to its own side.
    """
    fault = "  fault Aa/Bb certain 000/90 down E\n"
    laid = map_ground(
        compile_text(
            "notation 1\nbearings true\nattitudes dip-right\nunit Aa Upper ; Jurassic\nunit Bb Lower ; Triassic\n"
            "at 1\n  unit Bb\n  bed 180/20\nto 2 090 100m level\nat 2\n  unit Bb\nto 3 090 100m level\n"
            f"along {max(1, off_m + past_m)}m\n{fault}at 3\n  unit Aa\n  bed 180/20\nat 2\nto 4 180 150m level\n"
            f"along 0m to 150m left {off_m}m\n{fault}at 4\n  unit Bb\nto 5 090 100m level\nalong {max(1, off_m + past_m)}m\n"
            f"{fault}at 5\n  unit Aa\n  bed 180/20\nsheet band 20 m\nsection A-A' from 1 to 5\n"
        ).trav
    ).ground
    band = laid.map.band
    lines = [one.line for one in (*band.crossed, *band.beside)]
    assert sum(one.length for one in lines) == pytest.approx(190.0, abs=7.0)
    (cut,) = laid.cuts
    (at_m, _), *_ = next(line for line in cut.lines if line.of.kind is PointKind.FAULT).below[0].coords
    for fill in cut.fills:
        low, _, high, _ = fill.area.bounds
        assert (low > at_m - 1.0) if fill.unit == "Aa" else (high < at_m + 1.0)


@pytest.mark.parametrize("off_m", [-6, 0])
def test_a_section_over_a_followed_contact_draws_it_once_where_it_was_seen(compile_text, off_m):
    """Beds strike east and dip 30° to the south. The contact was followed 8 m off, and crossed 200 m along it, up to 6 m off its strike.

    That is within three errors of what was carried so far, and nothing was met between: one line, where the section met it.
    """
    trav = map_ground(
        compile_text(
            "notation 1\nbearings true\nattitudes dip-right\nunit Aa Upper ; Jurassic\nunit Bb Lower ; Triassic\n"
            "at 1\n  unit Bb\n  bed 090/30\nto 2 090 60m level\nalong 0m to 60m right 8m\n  contact Aa/Bb certain\n"
            f"at 2\n  unit Bb\n  bed 090/30\nto 3 090 200m level\nto 4 180 100m level\nalong {8 + off_m}m\n"
            "  contact Aa/Bb certain\nat 4\n  unit Aa\n  bed 090/30\nto 5 270 230m level\nat 5\n  unit Aa\n"
            "section A-A' 180 through 5\n"
        ).trav
    )
    (section,) = trav.geology.sections
    (line,) = [one for one in section.construction.lines if one.kind is PointKind.CONTACT]
    ((at_m, _),) = line.outcrops
    (seen,) = [
        one for one in section.points if one.contact is not None and one.contact.met is HowMet.FOLLOWED
    ]
    assert at_m == pytest.approx(seen.distance_m, abs=1.0)
