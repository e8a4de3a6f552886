"""The axial trace: its place on the ground and on the map."""

import math
from dataclasses import replace

import pytest
from shapely import Point, box, transform, union_all

from tests.sheet.fixture_loop import make
from tests.sheet.pages import paths
from traverse.ground.fold_traces import fold_traces
from traverse.length import Lengths, LengthUnit
from traverse.sheet.map.axial_trace import draw_trace
from traverse.sheet.map.map_words import not_shown
from traverse.sheet.paper.page import Box
from traverse.sheet.paper.style import PENS
from traverse.sheet.paper.window import Window
from traverse.structure.form.records import (
    DipTurns,
    Fold,
    FoldAge,
    FormKind,
    Level,
    Limb,
    StructuralForm,
    Told,
)
from traverse.structure.readings.records import FoldAxis
from traverse.structure.section.records import AxialLine, CarryRule, Construction

WALKED = box(50, 50, 350, 350)
LOOP = WALKED.difference(box(70, 70, 330, 330))


LIMB = Limb(dip_deg=40.0, dip_direction_deg=90.0, overturned=False, n=4)
FOLD = Fold(
    limbs=(LIMB, LIMB),
    interlimb_deg=100.0,
    sd_deg=2.0,
    axial_dip_deg=90.0,
    axial_dip_direction_deg=90.0,
    sd_axial_deg=1.0,
)


def fold_told(kind):
    """The finding that a fold of one kind follows."""
    form = StructuralForm(kind=kind, fold=FOLD)
    return Told(
        finding=DipTurns(weighed=kind, age=FoldAge.WAY_UP, form=form, level=Level.FOLLOWS),
        words="A fold follows.",
    )


FOLLOWS = (fold_told(FormKind.SYNCLINE),)


def traces(
    plunge,
    *,
    hinge=True,
    walked=WALKED,
    seen=(0.0, 0.0, 400.0, 400.0),
    told=FOLLOWS,
    sections=1,
    half_m=20.0,
):
    """`seen` is the part of the page that the window shows; the ground stays where it is on the page."""
    _, _, geology = make()
    (section,) = geology.sections[:1]
    (x0, y0), (x1, y1) = section.line
    middle = section.length_m / 2
    axial = AxialLine(
        points=((middle, 9000.0), (middle, -9000.0)), left_dip_deg=40.0, right_dip_deg=-40.0, hinge=hinge
    )
    built = Construction(rule=CarryRule.DIP_DOMAINS, axial=(axial,))
    shifted = tuple(
        replace(
            section,
            construction=built,
            line=tuple((east, north + 100.0 * index) for east, north in section.line),
        )
        for index in range(sections)
    )
    geology = replace(
        geology,
        sections=shifted,
        findings=told,
        fold_axis=FoldAxis(trend_deg=180.0, plunge_deg=plunge, rms_deg=1.0, n=9),
    )
    left, lower, right, upper = seen
    window = Window(
        box=Box(x=left, y=lower, width=right - left, height=upper - lower),
        scale=2500,
        east_m=(x0 + x1) / 2 - 500 + 2.5 * left,
        north_m=(y0 + y1) / 2 - 500 + 2.5 * lower,
        convergence_deg=2.0,
    )
    ground = transform(walked, lambda page: (page - (left, lower)) * 2.5 + (window.east_m, window.north_m))
    folds = fold_traces(geology, ground, half_m=half_m, convergence_deg=2.0)
    return [one for fold in folds if (one := draw_trace(fold, window)) is not None]


def test_an_upright_fold_runs_along_its_axis_through_the_section_and_plunges_at_its_head():
    (trace,) = traces(9.0)
    (line,) = [one for one in paths(trace.items) if one.pen == PENS["axial trace"]]
    (_, ax, ay), (_, bx, by) = line.commands
    # True south is 178 degrees on a page whose grid north stands 2 degrees east of true north.
    assert math.degrees(math.atan2(bx - ax, by - ay)) == pytest.approx(178.0, abs=0.01)
    # The middle of the section is the middle of the window.
    off = (200 - ax) * (by - ay) - (200 - ay) * (bx - ax)
    assert abs(off) / math.dist((ax, ay), (bx, by)) < 0.3
    assert trace.figure.text == "9"
    assert trace.signs == ("axial trace", "axial head")


def test_a_level_fold_has_no_head():
    (trace,) = traces(0.2)
    assert trace.signs == ("axial trace",)
    assert trace.figure is None


def test_a_change_of_dip_within_one_limb_has_no_trace():
    """A steepening panel is no fold: nothing on the map may name one."""
    assert traces(9.0, hinge=False) == []


def test_a_fold_that_does_not_follow_has_no_trace():
    """Nothing found, or a fold of the other shape: the section alone draws it."""
    assert traces(9.0, told=()) == []
    assert traces(9.0, told=(fold_told(FormKind.ANTICLINE),)) == []


def test_two_sections_through_one_fold_give_one_trace():
    assert len(traces(9.0, sections=2)) == 1


def ends(trace):
    (line,) = [one for one in paths(trace.items) if one.pen == PENS["axial trace"]]
    (_, *start), (_, *end) = line.commands
    return start, end


def test_between_the_arms_of_a_loop_a_trace_keeps_off_the_ground_that_was_walked():
    """There it would lie on letters and contacts; its head and its figure stand on white paper too."""
    (trace,) = traces(9.0, walked=LOOP)
    assert trace.obstacle.distance(LOOP) > 1.0
    start, end = ends(trace)
    # From arm to arm 260 mm, 650 m; 300 m each way from the section, less the head.
    assert math.dist(start, end) == pytest.approx(240.0 - 2.6, abs=0.1)
    assert start[1] > end[1]
    for at in trace.figure.centres[:4]:
        assert LOOP.distance(Point(at)) > 2.0


def test_two_sheets_of_a_map_show_one_trace():
    """Cut at the edges of the sheets and nowhere else, with its head on the sheet that holds the lower end."""
    (whole,) = traces(9.0, walked=LOOP)
    (upper,) = traces(9.0, walked=LOOP, seen=(0.0, 190.0, 400.0, 400.0))
    (lower,) = traces(9.0, walked=LOOP, seen=(0.0, 0.0, 400.0, 210.0))
    start, end = ends(whole)
    assert ends(upper)[0] == pytest.approx(start)
    assert ends(upper)[1][1] == pytest.approx(190.0)
    assert ends(lower)[0][1] == pytest.approx(210.0)
    assert ends(lower)[1] == pytest.approx(end)
    assert upper.figure is None
    assert lower.figure.text == "9"
    assert traces(9.0, walked=LOOP, seen=(0.0, 0.0, 60.0, 60.0)) == []


def arms(*gaps):
    """Ground walked in bars across the trace, with white paper of these heights between them, down the page."""
    bars, top = [], 250.0
    for gap in gaps:
        bars.append(box(190, top, 210, top + 2))
        top -= gap + 2.0
    return union_all([*bars, box(190, top, 210, top + 2)])


def length(line):
    (_, *start), (_, *end) = line.commands
    return math.dist(start, end)


def test_pieces_between_arms_that_are_short_alone_are_drawn_where_they_make_a_trace_together():
    """Each is longer than a dash; only the last gives room to the head, where it has any to give."""
    for gap, drawn, signs in (
        (6.0, [5.0, 5.0, 5.0], ("axial trace",)),
        (9.0, [8.0, 8.0, 5.4], ("axial trace", "axial head")),
    ):
        (trace,) = traces(9.0, walked=arms(gap, gap, gap), half_m=5.0)
        lines = [one for one in paths(trace.items) if one.pen == PENS["axial trace"]]
        assert [length(one) for one in lines] == pytest.approx(drawn, abs=0.1)
        assert trace.signs == signs


def test_a_trace_too_short_to_be_read_is_told_where_it_would_stand_and_nowhere_else():
    (trace,) = traces(9.0, walked=arms(4.0, 4.0), half_m=5.0)
    assert trace.items == ()
    assert trace.figure is None
    assert traces(9.0, walked=arms(4.0, 4.0), half_m=5.0, seen=(0.0, 0.0, 60.0, 60.0)) == []
    line = not_shown(
        Box(x=0.0, y=0.0, width=150.0, height=100.0),
        {},
        None,
        Lengths(unit=LengthUnit.METRES),
        short_traces=1,
    )
    assert line.text == "Axial trace too short to draw at this scale."
