"""Upright planes under a rule of dip directions that the ground itself turns by a quarter."""

import pytest

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


@pytest.mark.parametrize("plane", ["030/vertical", "030/90"])
def test_walls_metres_apart_that_the_walk_would_run_along_are_told(compile_text, plane):
    (one,) = asked(compile_text, plane)
    assert one.code == "vertical-direction"
    assert "the walk went through Dk in 8.0 m" in one.hints[0]
    assert "`N30E/vertical` if 030 is the strike" in one.hints[1]
    assert asked(compile_text, "N30E/vertical") == []


def test_walls_are_told_at_their_own_line_where_another_was_asked_about(compile_text):
    walls = "Dk/Sh certain 030/90"
    page = HEAD + "joint 100/90\n" + WALK.format(first=walls, second=walls, far="Sh")
    first, second = asked(compile_text, page, dike=False)
    assert (first.code, first.span.line) == ("vertical-direction", 10)
    assert (second.code, second.span.line) == ("vertical-turned", 13)
    assert "`N30E/vertical`" in second.hints[0]


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
