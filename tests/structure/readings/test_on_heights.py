"""Over a grid of heights a section stands its contacts on that ground, not at heights that were climbed."""

import math

import pytest

from traverse.compile import compile_log
from traverse.source import Source

UP_DEG = 4.0
"""The hillside rises to the east so steeply."""


def _up(east):
    return 100.0 + math.tan(math.radians(UP_DEG)) * (east - 1000.0)


HEIGHTS = "".join(
    f"{east} {north} {_up(east):.3f}\n" for east in range(800, 1500, 20) for north in range(800, 1300, 20)
).encode()


def _section(read_deg, lies="flat"):
    """Of four legs to the east and the ground's own slope read as `read_deg`; one contact at 130 m."""
    lines = ["notation 1", "traverse Hillside", "bearings true", "unit Ya Young ;", "unit Xo Old ;"]
    lines += ["terrain heights.xyz", "control 1 1000 E 1000 N 100 m", "at 1", "unit Xo", f"bed {lies}"]
    for name in range(2, 6):
        lines.append(f"to {name} 090 60m {read_deg:+g}")
        if name == 4:
            lines += ["along 10m", "contact Ya/Xo certain"]
        lines += [f"at {name}", f"unit {'Xo' if name < 4 else 'Ya'}", f"bed {lies}"]
    lines += ["section A-A' from 1 to 5", ""]
    found = compile_log(Source(name="hill.trav", text="\n".join(lines)), load=lambda name: HEIGHTS)
    return found.geology.sections[0]


@pytest.mark.parametrize("read_deg", [UP_DEG, UP_DEG + 1.0])
def test_a_level_contact_lies_as_high_as_the_grid_has_the_ground_where_it_was_met(read_deg):
    section = _section(read_deg)
    level = section.levels[0]
    assert level.up_m == pytest.approx(_up(1000.0 + 130.0 * math.cos(math.radians(read_deg))), abs=0.1)
    # A degree of slope would be 2 m in 130 m, and the contact would come out 32 m from where it was met.
    assert section.construction.lines[0].outcrops[0] == pytest.approx((130.0, level.up_m), abs=1.0)


def test_what_a_height_is_off_by_is_that_of_the_place_on_the_slope_and_of_the_grid():
    section = _section(UP_DEG)
    point = next(one for one in section.points if one.contact is not None)
    (east_m2, *_), _, (*_, up_m2) = point.contact.place.covariance_m2
    # Grid's own error of the trade's table: a tenth of its spacing of 20 m.
    assert up_m2 == pytest.approx(math.tan(math.radians(UP_DEG)) ** 2 * east_m2 + 2.0**2, abs=0.01)


def test_outside_the_grid_the_walk_keeps_its_own_heights():
    found = compile_log(
        Source(
            name="west.trav",
            text="notation 1\nbearings true\nunit Ya Young ;\nunit Xo Old ;\nterrain heights.xyz\n"
            "control 1 1430 E 1000 N 130 m\nat 1\nunit Xo\nbed 090/20 N\nto 2 090 100m +4\nalong 60m\n"
            "contact Ya/Xo certain\nat 2\nunit Ya\nsection A-A' from 1 to 2\n",
        ),
        load=lambda name: HEIGHTS,
    )
    point = next(one for one in found.geology.sections[0].points if one.contact is not None)
    assert point.contact.place.up_m == pytest.approx(130.0 + 60.0 * math.sin(math.radians(4.0)), abs=0.01)
