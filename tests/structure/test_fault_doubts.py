"""Faults: the side that went down against dip and movement, and against the units on both sides."""

import pytest

from traverse.sheet.paper.page import Text
from traverse.sheet.report.column import column_block

HEAD = """notation 1
bearings true
attitudes dip-direction
unit Bb Younger ;
unit Aa Older ;
at 1
unit Aa
bed 270/30
to 2 090 100m level
along 50m
"""
TURNED = {
    "true": "bearings true\n",
    "true, in a grid whose north is off": "bearings true\nGRID",
    "grid": "bearings grid\nGRID",
    "magnetic": "bearings magnetic\ndeclination 40 E, 2026, map margin\n",
    "magnetic, in a grid whose north is off": "bearings magnetic\ndeclination 40 E, 2026, map margin\nGRID",
}
"""One page read from five norths: what is said of a fault against its own page is the same in all."""
GRID = "grid EPSG:3978\ncontrol 1 2796564.8 E 933883.2 N 0 m\n"
"""54° W 49° N, by PROJ: true to scale, and its north is 36.9° east of true north."""
TAIL = "\nat 2\nunit Bb\nbed 270/31\n"


def told(compile_text, fault, text=HEAD):
    compiled = compile_text(text + fault + TAIL)
    return [one for one in compiled.diagnostics if one.code.startswith("fault-s")]


@pytest.fixture(params=TURNED.values(), ids=TURNED)
def page(request):
    return HEAD.replace("bearings true\n", request.param.replace("GRID", GRID))


@pytest.mark.parametrize(
    ("fault", "fits"),
    [
        ("090/70 normal down W", "`down E`, `reverse`"),
        ("270/70 normal down E", "`down W`, `reverse`"),
        ("090/70 reverse down E", "`down W`, `normal`"),
        ("070/50 thrust down NE", "`down W`, `normal`"),
    ],
)
def test_a_side_against_dip_and_movement_is_told_at_its_line(compile_text, page, fault, fits):
    (one,) = told(compile_text, f"fault Bb/Aa certain {fault}", page)
    assert one.code == "fault-sense"
    assert page.count("\n") + 1 == one.span.line
    assert fits in one.hints[0]


@pytest.mark.parametrize(
    "fault", ["090/70 normal", "090/70 normal down E", "270/70 reverse down E", "down E", "090/70"]
)
def test_the_younger_rock_on_the_side_that_went_down_is_quiet(compile_text, page, fault):
    assert told(compile_text, f"fault Bb/Aa certain {fault}", page) == []


@pytest.mark.parametrize("fault", ["270/70 normal", "090/70 reverse", "down W", "090/vertical down W"])
def test_the_younger_rock_on_the_side_that_went_up_is_told(compile_text, page, fault):
    (one,) = told(compile_text, f"fault Bb/Aa certain {fault}", page)
    assert one.code == "fault-side"
    assert "Bb is the younger" in one.message
    assert "`down E`" in one.hints[0]


def test_a_side_along_an_upright_fault_speaks_for_its_strike(compile_text):
    """Read as a direction, 000 puts west along the fault; told where the figure is asked about, and gone with the strike."""
    found = compile_text(f"{HEAD}fault Bb/Aa certain 000/vertical down W{TAIL}").diagnostics
    (one,) = [one for one in found if one.kind == "warning"]
    assert one.code == "vertical-direction"
    assert "`down W` names no side of the fault" in one.hints[0]
    mended = compile_text(f"{HEAD}fault Bb/Aa certain N0E/vertical down E{TAIL}").diagnostics
    assert [one for one in mended if one.kind == "warning"] == []


def test_what_leaves_the_side_open_is_quiet(compile_text):
    """A fault gentler than the beds, one that moved sideways, overturned beds, a side along the fault."""
    for fault in ("270/20 normal down W", "090/80 left-lateral down W", "090/70 down N"):
        assert told(compile_text, f"fault Bb/Aa certain {fault}") == []
    over = HEAD.replace("270/30", "270/30 overturned")
    assert told(compile_text, "fault Bb/Aa certain down W", over) == []


def test_a_column_says_where_a_fault_alone_was_met(compile_text):
    """Rock of an unknown thickness may be missing there."""
    text = HEAD.replace("unit Bb", "unit Cc Youngest ;\nunit Bb").replace("unit Aa\nbed", "unit Cc\nbed")
    text += "contact Cc/Bb certain\nat 2\nunit Bb\nbed 270/31\nto 3 090 80m\nalong 40m\n"
    words = {}
    for kind in ("fault", "contact"):
        compiled = compile_text(text + f"{kind} Bb/Aa certain\nat 3\nunit Aa\n")
        block = column_block(compiled.trav, width=170.0, height=170.0)
        words[kind] = " ".join(item.text for item in block.items if isinstance(item, Text))
    assert "below Bb a fault alone was met" in words["fault"]
    assert "fault" not in words["contact"]


# --- a side along the strike ---------------------------------------------------------------------------------


def test_a_side_along_the_strike_is_asked_about_with_the_two_that_there_are(compile_text, page):
    text = page + "fault Bb/Aa certain 090/70 down N" + TAIL
    (one,) = [one for one in compile_text(text).diagnostics if one.code == "down-along-strike"]
    assert "`down E` or `down W`" in one.hints[0]


@pytest.mark.parametrize("fault", ["090/70 down NE", "090/10 down N", "down N"])
def test_a_side_that_may_be_meant_is_not_asked_about(compile_text, fault):
    codes = {one.code for one in compile_text(HEAD + f"fault Bb/Aa certain {fault}" + TAIL).diagnostics}
    assert "down-along-strike" not in codes


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (
            ("fault Cc/Bb certain 270/70 normal down W", "fault Bb/Aa certain 270/70 normal down W"),
            "was `fault Cc/Bb`",
        ),
        (("down W", "down E"), "`down W`"),
        (("270/70", "090/70"), "`270/70` for `090/70`"),
    ],
)
def test_a_fault_is_asked_about_its_side_after_the_letters_of_its_units(compile_text, typed, said):
    """Walked to the west from Bb into the younger Cc, over a fault that dips west and took that side down."""
    page = (
        "notation 1\nbearings true\nattitudes dip-direction\nunit Cc Top ;\nunit Bb Middle ;\nunit Aa Base ;\n"
        "at 1\nunit Aa\nbed 270/30\nto 2 270 80m back 090\nalong 40m\ncontact Bb/Aa certain\nat 2\nunit Bb\nbed 270/30\n"
        "to 3 270 80m back 090\nalong 40m\nfault Cc/Bb certain 270/70 normal down W\nat 3\nunit Cc\nbed 270/31\n"
        "to 4 270 80m back 090\n"
    )
    assert [one.code for one in compile_text(page).diagnostics if one.kind == "warning"] == []
    found = compile_text(page.replace(*typed))
    told = [one for one in found.diagnostics if one.kind == "warning"]
    assert [one.code for one in told if one.code == "fault-side"] == []
    assert any(
        said in one.message + " ".join((*one.hints, *(label.text for label in one.labels))) for one in told
    )


AGAIN = """
at 2
unit Aa
bed 270/30
to 3 000 60m level
at 3
unit Aa
to 4 270 100m level
along 50m
fault Aa/Aa certain 090/80 down {}
at 4
unit Aa
bed 270/30
"""


def test_two_places_of_one_fault_that_take_down_opposite_sides_are_asked_about(compile_text):
    text = HEAD + "fault Aa/Aa certain 090/80 down E" + AGAIN
    (one,) = [one for one in compile_text(text.format("W")).diagnostics if one.code == "fault-side"]
    assert one.span.line == text.splitlines().index("fault Aa/Aa certain 090/80 down {}") + 1
    assert one.hints[0].startswith("`down E`, as there, or look at that line")
    assert [span.line for span in one.doubts] == [11]
    assert not [one for one in compile_text(text.format("E")).diagnostics if one.code == "fault-side"]


def test_the_place_that_its_units_bear_out_is_not_the_one_asked_about(compile_text):
    head = HEAD.replace("at 1\nunit Aa", "at 1\nunit Bb") + "fault Bb/Aa certain 090/80 down W"
    (one,) = [one for one in compile_text(head + AGAIN.format("E")).diagnostics if one.code == "fault-side"]
    assert (
        one.span.line
        == (head + AGAIN.format("E")).splitlines().index("fault Aa/Aa certain 090/80 down E") + 1
    )
    assert one.doubts == ()


FAULT = (
    HEAD.replace("dip-direction", "dip-right") + "fault Bb/Aa certain 276/70\nstriation {striation}" + TAIL
)


def off_plane(compile_text, striation, text=FAULT):
    return [
        one
        for one in compile_text(text.format(striation=striation)).diagnostics
        if one.code == "striation-off-plane"
    ]


@pytest.mark.parametrize(
    ("striation", "off", "fits"),
    [
        ("68->180", "42°", "A half turn? `68->000` would fit"),
        ("86->000", "16°", "Digits exchanged? `68->000` would fit"),
        ("20->186", "", None),
    ],
)
def test_a_striation_out_of_the_plane_of_its_fault_is_asked_about(compile_text, striation, off, fits):
    """On 276/70 a line toward 000 plunges arctan(tan 70° sin 84°) = 70°: apparent dip, any handbook of structure."""
    (one,) = off_plane(compile_text, striation)
    assert FAULT.splitlines()[one.span.line - 1].startswith("striation")
    assert off in one.message
    assert fits is None or fits.lower() in one.hints[0].lower()
    assert [label.span.line for label in one.labels] == [one.span.line - 1]


@pytest.mark.parametrize("striation", ["68->000", "70->000", "64->000", "10->100", "rake 30 from W"])
def test_a_striation_in_the_plane_as_well_as_both_are_read_is_not_asked_about(compile_text, striation):
    assert off_plane(compile_text, striation) == []
    page = FAULT.replace("bearings true\n", f"bearings grid\n{GRID}")
    assert off_plane(compile_text, striation, page) == []


def test_a_striation_beside_a_fault_whose_dip_was_not_read_is_not_asked_about(compile_text):
    assert off_plane(compile_text, "68->180", FAULT.replace(" 276/70", "")) == []


FAR = """to 3 090 100m level
at 3
unit Bb
bed 270/31
to 4 090 90m level
at 4
unit Bb
bed 090/85 overturned
"""


def test_beds_far_off_say_nothing_of_the_side_of_a_fault_that_those_beside_it_tell(compile_text):
    """A steep or overturned bed anywhere kept a wrong side from being asked about."""

    def sides(fault, beds=TAIL):
        page = HEAD + fault + beds + FAR
        return [one for one in compile_text(page).diagnostics if one.code == "fault-side"]

    (one,) = sides("fault Bb/Aa certain 090/80 down W")
    assert "`down E`" in one.hints[0]
    assert sides("fault Bb/Aa certain 090/80 down E") == []
    # Beside it they are steep, or lie apart.
    for other in ("270/75", "090/31", "270/31 overturned"):
        assert sides("fault Bb/Aa certain 090/80 down W", TAIL.replace("270/31", other)) == []
