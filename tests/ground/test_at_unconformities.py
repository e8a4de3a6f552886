"""On the map a contact ends at the unconformity that cuts it, or that it lies on; level ground of planes, worked out by hand."""

import numpy as np
import pytest
import shapely

from traverse.compile import map_ground

# Level ground, so that planes come out along their strikes: the first line met at 40 m east, the second at 50 m. The one
# that strikes NW meets the one that strikes N 10 m north of the walk.
HEAD = """notation 1
bearings true
attitudes dip-right
sheet band 20 m
unit Qg Gravel ; Quaternary
unit Dk Dike ; Neogene ; intrusive
unit Wl Limestone ; Miocene
unit Gt Grit ; Oligocene
unit Gs Slate ; Ordovician
unit Mb Basalt ; Cambrian
at 1
unit {first}
to 2 090 100m level
along 40m
{here}
along 50m
{there}
at 2
unit {last}
"""
MEET = (40.0, 10.0)


def band(compile_text, first, here, there, last):
    text = HEAD.format(first=first, here=here, there=there, last=last)
    return map_ground(compile_text(text).trav).ground.map.band


def share_of(laid, true):
    """Of the ground within 15 m of the walk the share that is drawn as the unit it is, by points a metre apart."""
    x, y = np.meshgrid(np.arange(10.5, 90.0), np.arange(-14.5, 15.0))
    drawn = np.full(x.shape, "  ")
    for area in laid.areas:
        drawn[shapely.contains_xy(shapely.union_all(list(area.parts)), x, y)] = area.unit
    return float((drawn == true(x, y)).mean())


def test_a_contact_below_ends_at_the_unconformity(compile_text):
    laid = band(compile_text, "Gt", "unconformity Gt/Gs certain 180/30", "contact Gs/Mb certain 315/80", "Mb")
    base, contact = (one.line for one in laid.crossed)
    assert contact.bounds == pytest.approx((*MEET[:1], -20.0, 70.0, MEET[1]), abs=0.2)
    assert base.bounds == pytest.approx((40.0, -20.0, 40.0, 20.0), abs=0.2)
    below = lambda x, y: np.where(y < 50.0 - x, "Gs", "Mb")  # noqa: E731
    assert share_of(laid, lambda x, y: np.where(x < 40.0, "Gt", below(x, y))) > 0.99


def test_a_contact_above_ends_where_its_units_lap_on_the_unconformity(compile_text):
    laid = band(compile_text, "Wl", "contact Wl/Gt certain 180/30", "unconformity Gt/Gs certain 135/60", "Gs")
    contact, base = (one.line for one in laid.crossed)
    assert contact.bounds == pytest.approx((40.0, -20.0, 40.0, MEET[1]), abs=0.2)
    assert base.bounds == pytest.approx((30.0, -20.0, 70.0, 20.0), abs=0.2)
    above = lambda x, y: np.where(x < 40.0, "Wl", "Gt")  # noqa: E731
    assert share_of(laid, lambda x, y: np.where(y > 50.0 - x, "Gs", above(x, y))) > 0.99


def test_the_upper_of_two_unconformities_cuts_the_other(compile_text):
    laid = band(
        compile_text, "Wl", "unconformity Wl/Gt certain 180/30", "unconformity Gt/Gs certain 135/60", "Gs"
    )
    upper, lower = (one.line for one in laid.crossed)
    assert upper.bounds == pytest.approx((40.0, -20.0, 40.0, 20.0), abs=0.2)
    assert lower.bounds == pytest.approx((40.0, -20.0, 70.0, MEET[1]), abs=0.2)


@pytest.mark.parametrize(
    ("there", "last"),
    [
        ("fault Gs/Mb certain 315/80", "Mb"),
        ("contact Dk/Gs certain 315/80", "Dk"),
        ("contact Qg/Gs certain 315/80", "Qg"),
    ],
)
def test_what_may_be_younger_than_the_unconformity_is_not_ended_there(compile_text, there, last):
    """A fault, the wall of a dike and the edge of loose ground: 20 m to the north the line lies 30 m east."""
    laid = band(compile_text, "Gt", "unconformity Gt/Gs certain 180/30", there, last)
    assert laid.crossed[1].line.bounds == pytest.approx((30.0, -20.0, 70.0, 20.0), abs=0.2)
