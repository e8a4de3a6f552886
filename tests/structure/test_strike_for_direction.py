"""Upright planes under a rule of dip directions that the ground itself turns by a quarter."""

import cmath
import math
import random

import pytest

from traverse.sheet.said.field_words import to_do_outdoors

HEAD = """notation 1
bearings true
attitudes dip-direction
unit Dk Black Dike ; Neogene ; intrusive
unit Sh Dun Shale ; Jurassic
unit Ls Grey Lime ; Triassic
at 1
unit Sh
bed 180/30
"""
WALK = """to 2 118 110m +1
along 66m
contact {first}
along 74m
contact {second}
at 2
unit {far}
to 3 192 160m level
to 4 298 130m -1
along 40m
contact {second}
along 48m
contact {first}
close 1 014 150m +1
"""
"""Two legs across what runs north-east, out and back."""


def asked(compile_text, plane, *, dike=True):
    walls = "Dk/Sh certain " + plane
    page = HEAD + WALK.format(first=walls, second=walls, far="Sh") if dike else plane
    return [
        one
        for one in compile_text(page).diagnostics
        if one.kind == "warning" and one.code.startswith("vertical")
    ]


@pytest.mark.parametrize("plane", ["120/vertical", "120/90"])
def test_a_dike_that_the_walk_crossed_squarely_speaks_for_nothing_else(compile_text, plane):
    (one,) = asked(compile_text, plane)
    assert one.code == "vertical-direction"
    assert len(one.hints) == 1


def test_outdoors_it_says_what_either_would_be(compile_text):
    """At the outcrop one sees which it is: the sheet says both."""
    (one,) = asked(compile_text, "120/vertical")
    said = to_do_outdoors(one)
    assert "S60E/90” if 120 is the strike" in said
    assert "if it is the direction" in said


@pytest.mark.parametrize("plane", ["030/vertical", "030/90"])
def test_walls_metres_apart_that_the_walk_would_run_along_are_told(compile_text, plane):
    (one,) = asked(compile_text, plane)
    assert one.code == "vertical-direction"
    assert "the walk went through Dk in 8.0 m" in one.hints[0]
    assert "`N30E/90` if 030 is the strike" in one.hints[1]
    assert asked(compile_text, "N30E/vertical") == []


def test_walls_are_told_at_their_own_line_where_another_was_asked_about(compile_text):
    walls = "Dk/Sh certain 030/90"
    page = HEAD + "joint 100/90\n" + WALK.format(first=walls, second=walls, far="Sh")
    first, second = asked(compile_text, page, dike=False)
    assert (first.code, first.span.line) == ("vertical-direction", 10)
    assert (second.code, second.span.line) == ("vertical-turned", 13)
    assert "`N30E/90`" in second.hints[0]


FAULT = """to 2 090 100m +1
along 50m
fault Sh/Ls certain {plane}
at 2
unit Ls
to 3 010 120m +1
at 3
unit Ls
to 4 270 120m -1
along 71m
fault Sh/Ls certain {plane}
at 4
unit Sh
close 1 180 119m -1
"""
"""Out and back across one fault, at places that lie due north of each other."""


def test_a_fault_met_again_in_the_plane_square_to_the_one_read_is_told(compile_text):
    page = HEAD + FAULT
    (one,) = asked(compile_text, page.format(plane="040/90"), dike=False)
    assert len(one.hints) == 1, "neither as read nor turned does it lead on"
    (right,) = asked(compile_text, page.format(plane="090/vertical"), dike=False)
    assert len(right.hints) == 1
    (wrong,) = asked(compile_text, page.format(plane="000/vertical"), dike=False)
    assert "met again, line 20, not in this plane but in the one square to it" in wrong.hints[0]


def test_two_dikes_side_by_side_are_not_one_met_again(compile_text):
    """As read they run square to the walk; the way from one to the next lies in the plane square to that."""
    one_dike = "along {}m\ncontact Dk/Sh certain 090/90\nalong {}m\ncontact Dk/Sh certain 090/90\n"
    page = (
        HEAD + "to 2 090 100m level\n" + one_dike.format(20, 28) + one_dike.format(60, 68) + "at 2\nunit Sh\n"
    )
    (one,) = asked(compile_text, page, dike=False)
    assert one.code == "vertical-direction"
    assert len(one.hints) == 1


def test_an_answer_stands_for_all_of_them(compile_text):
    walls = "Dk/Sh certain 030/90"
    page = HEAD + WALK.format(first=walls, second=walls, far="Sh")
    answered = page.replace(
        f"contact {walls}", f"contact {walls}\nchecked MO directions on the whole page", 1
    )
    assert asked(compile_text, answered, dike=False) == []


def across_a_dike(seed, *, strike_written):
    """A square walk through an upright dike of known strike, read with 3° of error; None where it grazes a station."""
    draw = random.Random(seed)  # noqa: S311 - walks, not secrets
    strike, turn, first, wide = (
        draw.randrange(180), draw.choice([90, -90]), draw.randrange(360), draw.uniform(2.0, 15.0),
    )  # fmt: skip
    square = complex(math.cos(math.radians(strike)), -math.sin(math.radians(strike)))
    legs = [cmath.rect(150.0, math.radians(90 - first - turn * at)) for at in range(4)]
    corners = [sum(legs[:at], 0j) for at in range(5)]
    middle = sum(corners[:4]) / 4 + complex(draw.uniform(-20, 20), draw.uniform(-20, 20))
    off = [((corner - middle) * square.conjugate()).real for corner in corners]
    if min(map(abs, off)) < wide / 2 + 6:
        return None
    lines = [*HEAD.splitlines()[:-1]]
    for at in range(4):
        to = "close 1" if at == 3 else f"to {at + 2}"
        bearing = round(first + turn * at + draw.gauss(0, 0.7)) % 360
        lines.append(f"{to} {bearing:03} {150 + draw.gauss(0, 1.5):.0f}m level")
        if off[at] * off[at + 1] < 0:
            for wall in sorted((side - off[at]) / (off[at + 1] - off[at]) for side in (-wide / 2, wide / 2)):
                figure = round(strike + (0 if strike_written else 90) + draw.gauss(0, 3)) % 360
                lines += [f"along {150 * wall:.0f}m", f"contact Dk/Sh certain {figure:03}/vertical"]
        if at < 3:
            lines += [f"at {at + 2}", "unit Sh"]
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("strike_written", [False, True])
def test_on_invented_ground_it_is_told_of_strikes_and_never_of_directions(compile_text, strike_written):
    days = [across_a_dike(seed, strike_written=strike_written) for seed in range(12)]
    for page in days:
        if page is not None and "contact" in page:
            found = asked(compile_text, page, dike=False)
            assert any(one.code == "vertical-turned" or len(one.hints) > 1 for one in found) == strike_written
    assert sum(page is not None for page in days) > 6
