"""A contact is drawn as its plane comes out on the slope that was walked, and not along its strike."""

import math

import numpy as np
import pytest

from traverse.compile import compile_log
from traverse.ground.lay_map import lay_band
from traverse.source import Source

HEAD = (
    "notation 1\nbearings true\nattitudes dip-direction\nunit Bb Upper ; Jurassic\nunit Aa Lower ; Triassic\n"
    "sheet band 15 m\nprecision attitude 1\n"
)


def walk(bed, *, north=0.0, east=0.0):
    """Two legs to the east and one to the north from between, on a plane that rises by so much for each metre."""
    up, across = (f"{math.degrees(math.atan(rise)):+.3f}" for rise in (east, north))
    away = f"{-math.degrees(math.atan(east)):+.3f}"
    return (
        f"{HEAD}at 1\nunit Aa\nbed {bed}\nto 2 090 120m {up}\nalong 60m\ncontact Bb/Aa certain\nat 2\nunit Bb\nbed {bed}\n"
        f"to 3 000 60m {across}\nat 2\nto 4 090 60m {up}\nat 1\nto 5 000 60m {across}\nat 1\nto 6 270 60m {away}\n"
    )


def drawn(compile_text, text):
    band = lay_band(compile_text(text).trav)
    (one,) = band.crossed
    (x0, y0), (x1, y1) = one.line.coords[0], one.line.coords[-1]
    return one.course_known, math.degrees(math.atan2(x1 - x0, y1 - y0)) % 180.0


@pytest.mark.parametrize(
    ("bed", "north", "east"),
    [
        ("000/16", 0.0, 0.25),
        ("000/08", 0.1, -0.25),
        ("045/20", -0.15, 0.2),
        ("flat", 0.1, 0.2),
        ("045/60", 0.1, 0.2),
    ],
)
def test_along_the_line_that_lies_in_the_plane_and_in_the_ground(compile_text, bed, north, east):
    """Source: the line of two planes is square to the normals of both; any text of structural geology."""
    way, dip = (0.0, 0.0) if bed == "flat" else (math.radians(float(part)) for part in bed.split("/"))
    plane = (math.sin(dip) * math.sin(way), math.sin(dip) * math.cos(way), math.cos(dip))
    x, y, _ = np.cross(plane, (-east, -north, 1.0))
    known, azimuth_deg = drawn(compile_text, walk(bed, north=north, east=east))
    # How flat beds come out hangs on the slope alone, and midway of a leg that is known too little: drawn so, and short.
    assert known is (bed != "flat")
    assert abs(math.remainder(azimuth_deg - math.degrees(math.atan2(x, y)), 180.0)) < 8.0


def test_on_level_ground_along_its_strike(compile_text):
    known, azimuth_deg = drawn(compile_text, walk("060/20"))
    assert known
    assert azimuth_deg == pytest.approx(150.0, abs=0.5)


def test_beds_that_dip_as_the_ground_falls_come_out_nobody_knows_how(compile_text):
    """And the contact is drawn square to the walk."""
    known, azimuth_deg = drawn(compile_text, walk("270/11", east=0.194))
    assert not known
    assert azimuth_deg == pytest.approx(0.0, abs=0.1) or azimuth_deg == pytest.approx(180.0, abs=0.1)


def test_over_the_bottom_of_a_valley_a_leg_says_little_of_the_slope(compile_text):
    """The leg is level from bank to bank and the ground under it is not: no gentle bed is drawn by it as if that were known."""
    text = (
        f"{HEAD}at 1\nunit Aa\nbed 110/7\nto 2 150 100m -12\nunit Aa\nto 3 150 110m level\nalong 95m\n"
        "contact Bb/Aa certain\nat 3\nunit Bb\nbed 110/7\nto 4 150 100m +14\n"
    )
    known, _ = drawn(compile_text, text)
    assert not known


def test_cover_comes_out_as_its_own_beds_lie_and_not_as_those_below(compile_text):
    """Its beds were read at station 2, those below beside the contact."""
    text = (
        f"{HEAD.replace('unit Aa', 'unit Ab Base ; Jurassic{0}unit Aa').format(chr(10))}at 1\nunit Aa\nbed 090/60\n"
        "to 2 000 60m +10\nalong 20m\nunconformity Ab/Aa certain\nbed 090/60\nalong 40m\ncontact Bb/Ab certain\n"
        "at 2\nunit Bb\nbed 000/02\nto 3 270 60m level\n"
    )
    one = max(lay_band(compile_text(text).trav).crossed, key=lambda each: each.contact.order)
    (x0, y0), (x1, y1) = one.line.coords[0], one.line.coords[-1]
    assert abs(x1 - x0) > 2.0 * abs(y1 - y0)


def test_the_border_of_loose_ground_does_not_run_as_the_beds_beside_it_strike(compile_text):
    """Loose ground lies as the ground does: nobody knows how its border runs, however close the beds were read."""
    known, azimuth_deg = drawn(compile_text, walk("060/20").replace("Upper ; Jurassic", "Upper ; Quaternary"))
    assert not known
    assert min(azimuth_deg, 180.0 - azimuth_deg) < 0.1


def test_on_the_slope_of_the_grid_of_heights():
    """A level walk along the foot of a slope tells nothing of it, the grid does; source of the line as above."""
    rise = 0.2
    text = (
        HEAD.replace("bearings true\n", "grid EPSG:32616\nbearings grid\nterrain slope.xyz\n")
        + "control 1 500000 E 4000000 N 100 m ±2\nat 1\nunit Aa\nbed 045/20\nto 2 090 120m\nalong 60m\n"
        "contact Bb/Aa certain\nat 2\nunit Bb\nbed 045/20\n"
    )
    rows = [
        f"{500000 + e} {4000000 + n} {100 + rise * n}"
        for n in range(-100, 110, 10)
        for e in range(-50, 180, 10)
    ]
    compiled = compile_log(
        Source(name="log.trav", text=text), load=lambda name: {"slope.xyz": "\n".join(rows).encode()}[name]
    )
    assert not compiled.failed, [one.message for one in compiled.diagnostics]
    (one,) = lay_band(compiled.trav).crossed
    (x0, y0), (x1, y1) = one.line.coords[0], one.line.coords[-1]
    way, dip = math.radians(45.0), math.radians(20.0)
    plane = (math.sin(dip) * math.sin(way), math.sin(dip) * math.cos(way), math.cos(dip))
    x, y, _ = np.cross(plane, (0.0, -rise, 1.0))
    off_deg = math.degrees(math.atan2(x1 - x0, y1 - y0) - math.atan2(x, y))
    assert one.course_known
    assert abs(math.remainder(off_deg, 180.0)) < 3.0
