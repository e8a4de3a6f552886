"""Density, lines and cone on the net: each where the projection puts it, by arithmetic of its own."""

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.sheet.fixture_loop import make
from tests.sheet.pages import assert_inside, paths, words
from traverse.compile import net_density
from traverse.log.items import LineKind, Lines
from traverse.sheet.paper.style import PENS
from traverse.sheet.report.net_block import cone, net_block
from traverse.structure.readings.records import LineAttitude


@pytest.mark.parametrize(("count", "drawn"), [(19, False), (20, True)])
def test_contours_come_from_twenty_readings_on(count, drawn):
    _, _, geology = make()
    beds = [one for one in geology.attitudes if one.dip_deg is not None and one.kind.value == "bed"]
    many = replace(
        geology,
        attitudes=tuple(replace(beds[index % len(beds)], written=str(index)) for index in range(count)),
    )
    block = net_block(net_density(many), width=100.0)
    lines = [one for one in paths(block.items) if one.pen == PENS["density"]]
    assert bool(lines) is drawn
    assert ("× even" in words(block.items)) is drawn
    assert_inside(block.items, 0.0, -block.height, 100.0, 0.0)


HEAD = "notation 1\nbearings true\nattitudes dip-left\nunit Aa Sandstone ;\nat 1\nunit Aa\n"


def net_of(compile_text, body):
    return words(net_block(net_density(compile_text(HEAD + body).geology), width=100.0).items)


def test_a_bed_logged_twice_is_one_pole_on_the_net(compile_text):
    more = "to 2 045 50m\nbed 228/32\nto 3 045 50m\nbed 222/28\n"
    once, twice = (net_of(compile_text, f"{beds}{more}") for beds in ("bed 225/30\n", "bed 225/30\n" * 2))
    assert once == twice
    assert "3 poles" in twice
    assert "others lie apart" not in twice


def test_no_mean_is_told_of_beds_that_dip_to_both_sides(compile_text):
    """Of 30° to the east, twice, and 30° to the west the principal axis is 15° to the east, with a cone of 58°."""
    said = net_of(compile_text, "bed 180/30\nto 2 090 50m\nbed 182/31\nto 3 090 50m\nbed 000/30\n")
    assert "no mean: they differ" in said
    assert "cone" not in said


@pytest.mark.parametrize("axis", [(123.0, 70.0), (40.0, 8.0), (0.0, 90.0)])
def test_the_cone_is_its_half_angle_from_the_mean(axis):
    """Back from the net: plunge = 90 - 2 asin(r / sqrt(2)), and the angle by the dot product; over the rim too."""
    pieces = cone(*axis, 12.0, 1.0)
    assert len(pieces) == 1 if axis[1] > 12.0 else len(pieces) > 1
    assert sum(len(piece) for piece in pieces) > 60

    def unit(trend, plunge):
        t, p = math.radians(trend), math.radians(plunge)
        return np.array([math.sin(t) * math.cos(p), math.cos(t) * math.cos(p), math.sin(p)])

    for x, y in (point for piece in pieces for point in piece):
        plunge = 90.0 - 2.0 * math.degrees(math.asin(min(1.0, math.hypot(x, y) / math.sqrt(2.0))))
        share = abs(unit(math.degrees(math.atan2(x, y)), plunge) @ unit(*axis))
        assert math.degrees(math.acos(share)) == pytest.approx(12.0, abs=1e-6)


def test_lines_stand_by_kind_with_their_signs_in_the_key():
    _, _, geology = make()
    bed = next(one for one in geology.attitudes if one.kind.value == "bed")
    kinds = [LineKind.HINGE, LineKind.LINEATION, LineKind.STRIATION, LineKind.CURRENT]
    read = [
        LineAttitude(
            place=bed.place,
            order=bed.order,
            station=bed.station,
            unit=bed.unit,
            written="0->090",
            sd_deg=2.0,
            span=bed.span,
            booked=Lines(
                address=bed.booked.address,
                kind=kind,
                readings=(),
                written="0->090",
                conditions=bed.booked.conditions,
                span=bed.span,
            ),
            kind=kind,
            trend_deg=90.0,
            plunge_deg=0.0,
        )
        for kind in kinds
    ]
    for beds in (geology.attitudes, ()):
        block = net_block(
            replace(geology, attitudes=(*beds, *read), bedding_mean=None, fold_axis=None),
            width=100.0,
        )
        said = words(block.items)
        assert all(f"{kind.value}, 1" in said for kind in kinds)
        # The rim at its east: (100 - 26) / 2 - 4, no more than 31.5, from the middle.
        radius = min(31.5, (100.0 - 26.0) / 2.0 - 4.0)
        east = (radius + 4.5 + radius, -9.0 - radius)
        there = [
            one
            for one in paths(block.items)
            if one.pen == PENS["symbol fine"]
            and math.dist(middle([command[1:] for command in one.commands if len(command) == 3]), east) < 0.3
        ]
        assert len(there) == 4
        assert_inside(block.items, 0.0, -block.height, 100.0, 0.0)


def middle(points):
    xs, ys = zip(*points, strict=True)
    return ((min(xs) + max(xs)) / 2.0, (min(ys) + max(ys)) / 2.0)


def test_the_cone_of_the_mean_is_drawn_where_no_axis_is_known():
    _, _, geology = make()
    assert geology.bedding_mean.alpha95_deg is not None
    for known in (geology, replace(geology, fold_axis=None)):
        block = net_block(known, width=100.0)
        drawn = [one for one in paths(block.items) if one.pen == PENS["ellipse 95"]]
        assert bool(drawn) is (known.fold_axis is None)
