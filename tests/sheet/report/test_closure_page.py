"""The closure report: figures by arithmetic of their own, suspects first, nothing off the page."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
import shapely

from tests.sheet.fixture_loop import make, span
from tests.sheet.fixture_sheet import compiled
from tests.sheet.opened import opened
from tests.sheet.pages import assert_inside, box, flat, overlaps, paths, words
from traverse.diagnostic import warning
from traverse.ground.records import Traverse
from traverse.length import METRES
from traverse.location.records import Suspect
from traverse.log.records import Rule
from traverse.sheet.paper.labels import shapes_in
from traverse.sheet.paper.page import Box, Face, Text
from traverse.sheet.report.closure_bars import moved_legs
from traverse.sheet.report.closure_gap import ellipse, expected_spread
from traverse.sheet.report.closure_report import closure_pages
from traverse.sheet.report.net_block import great_circle, on_net, pole_of
from traverse.sheet.said.stops import gather
from traverse.sheet.said.tomorrow import to_check
from traverse.sheet.section.strip import section_panel
from traverse.sheet.signs.colour import unit_styles
from traverse.sheet.signs.symbols import symbol
from traverse.sheet.tables.data_tables import table_pages
from traverse.structure.readings.records import NoAxis, NoGirdle

PAPERS = {
    "A4 lying": (297.0, 210.0),
    "A4 upright": (210.0, 297.0),
    "Letter upright": (215.9, 279.4),
    "A3": (420.0, 297.0),
}


def pages(loop, paper="A4 lying", diagnostics=()):
    width, height = PAPERS[paper]
    frame = Box(x=10.0, y=15.0, width=width - 20.0, height=height - 25.0)
    return closure_pages(loop, diagnostics, width=width, height=height, frame=frame)


def said(found):
    return words([item for page in found for item in page.items])


@pytest.fixture(scope="module")
def loop():
    log, survey, geology = make()
    return Traverse(log=log, survey=survey, geology=geology)


@pytest.mark.parametrize("paper", PAPERS)
def test_the_report_stays_in_its_frame_and_nothing_overlaps(loop, paper):
    width, height = PAPERS[paper]
    for page in pages(loop, paper):
        assert_inside(page.items, 10.0, 15.0, width - 10.0, height - 10.0)
        assert not overlaps(page.items)


@pytest.mark.in_turn
@pytest.mark.parametrize("words_each", [1, 25, 400])
@pytest.mark.parametrize("size", [(297.0, 210.0), (210.0, 297.0), (148.0, 210.0), (210.0, 148.0)])
def test_every_reading_to_check_stands_once_on_the_pages(loop, size, words_each):
    """Columns end anywhere in a long list of short, of usual and of endless words; no task is lost or drawn off the page."""
    width, height = size
    frame = Box(x=10.0, y=15.0, width=width - 20.0, height=height - 25.0)
    doubts = tuple(
        warning(
            f"doubt-{number}",
            f"doubt {number}: " + "read it again " * words_each,
            loop.log.addresses[0].span,
        )
        for number in range(50)
    )
    found = closure_pages(loop, doubts, width=width, height=height, frame=frame)
    texts = [one for page in found for one in flat(page.items) if isinstance(one, Text)]
    told = [int(match[1]) for one in texts if (match := re.match(r"[Dd]oubt (\d+):", one.text))]
    assert told == list(range(50))
    assert min(one.at[1] for one in texts) >= 15.0 - 0.01


@pytest.mark.parametrize("degree", [329, 330, 331])
@pytest.mark.parametrize("metres", [49.4, 49.7, 50.0, 50.3, 50.6])
def test_the_words_of_a_small_gap_stand_apart(degree, metres):
    """Parts of the gap too short to carry their figures, in every direction."""
    found = compiled(
        f"bearings true\nprecision bearing 3, tape 3%\nat 1\nto 2 090 50m\nto 3 210 50m\nclose 1 {degree} {metres}m\n"
    )
    for page in pages(found.trav):
        assert not overlaps(page.items)
        # A halo must not eat the line above it either.
        drawn = [one for one in flat(page.items) if isinstance(one, Text) and one.halo and not one.turn_deg]
        for one, other in combinations(drawn, 2):
            a, b = box(one), box(other)
            assert min(a[2], b[2]) < max(a[0], b[0]) or abs(a[1] - b[1]) > 2.2, (one.text, other.text)
        text = words(page.items)
        assert ("95 % (dashed)" in text) != ("that of 95 % is larger than this figure" in text)


def test_readings_to_check_use_both_halves_of_an_upright_page_before_another():
    legs = "".join(
        f"to {n} {30 * n % 360:03} 40m\n  unit Aa\n  bed {100 + 3 * n}/30\nalong 20m\n  contact Aa/Bb inferred\n"
        for n in range(2, 13)
    )
    found = compiled(
        f"bearings true\nattitudes dip-direction\nunit Aa Alpha ; Triassic\nunit Bb Beta ; Permian\n"
        f"at 1\n  unit Bb\n  bed 120/30\n{legs}close 1 030 40m\n"
    )
    doubts = tuple(
        warning(
            f"doubt-{n}",
            f"the reading of place {n} lies far from those beside it",
            found.trav.log.addresses[0].span,
            "look at the page",
        )
        for n in range(10, 15)
    )
    (page,) = pages(found.trav, "A4 upright", doubts)
    said = {one.text for one in flat(page.items) if isinstance(one, Text)}
    assert "Readings to check tomorrow, continued" in said
    assert {str(n) for n in range(1, 9)} <= said
    assert not overlaps(page.items)


def test_the_head_says_how_the_loop_closes(loop):
    text = " ".join(said(pages(loop)).split())
    assert (
        "Out by 6 m toward 100° in 949 m, 1 in 155 (6 m expected); 2 m in height. Of 100 sound walks 35 close worse (a warning below 5): the loop passes."
        in text
    )


def test_what_a_loop_cannot_check_is_on_it(loop):
    text = said(pages(loop)).replace("  ", " ")
    for part in (
        "A loop that closes shows only that it agrees with itself",
        "GPS, ± 6 m",
        "Fore and back bearings agree within 3°",
    ):
        assert part in text
    for part in ("Emergency number", "Meeting point, nearest road", "Turn back by"):
        assert part in text


def test_suspects_come_first(loop):
    log, survey, geology = loop.log, loop.survey, loop.geology
    suspect = Suspect(
        span=log.legs[4].span,
        start="5",
        end="6",
        what="5 to 6",
        slip="E and W exchanged",
        reading="N68W",
        misclosure_after_m=3.0,
        q_after=0.4,
    )
    survey = replace(survey, suspects=(suspect,))
    tasks = to_check(
        Traverse(log=log, survey=survey, geology=geology),
        gather(Traverse(log=log, survey=survey, geology=geology)),
        (),
    )
    assert tasks[0].place == "Leg 5–6: was it N68W?"
    assert tasks[0].reason.startswith("E and W exchanged. Then the gap would be")
    assert "3\u00a0m" in tasks[0].reason


def test_tomorrow_is_ordered_and_reasoned(loop):
    """What was asked first, then worst fore and back, then contacts nobody saw, the least certain first."""
    log, survey, geology = loop.log, loop.survey, loop.geology
    legs = [replace(one, fore_back_deg=5.0) if one.booked.start == "13" else one for one in survey.legs]
    survey = replace(survey, legs=tuple(legs))
    open_one = warning("odd", "worth a look", log.legs[7].span)
    tasks = to_check(
        Traverse(log=log, survey=survey, geology=geology),
        gather(Traverse(log=log, survey=survey, geology=geology)),
        (open_one,),
    )
    places = [task.place.replace("\u00a0", " ") for task in tasks]
    assert places[:2] == ["Leg 8–9", "Leg 13–14, both ends"]
    assert places[2:4] == ["Contact c4, leg 6–7", "Contact c5, leg 6–7"]
    assert "Stations 2 and 11" in places
    assert places.index("Leg 8–9") < places.index("Stations 2 and 11")


def test_a_failed_loop_shows_no_corrections(loop):
    """What a left-out leg misses by is no correction."""
    log, survey, geology = loop.log, loop.survey, loop.geology
    failed = replace(survey.closures[0], q=80.0, adjusted=False)
    survey = replace(survey, closures=(failed,), rule=Rule.COMPASS)
    assert all(leg.bars[0].value is None and leg.bars[1].value is None for leg in moved_legs(survey, METRES))
    text = said(pages(Traverse(log=log, survey=survey, geology=geology)))
    assert "NOT ADJUSTED" in text
    assert "bearing correction" not in text
    assert "as paced, not adjusted" in text
    # One figure lies on the other, so the key has one row.
    assert "raw, as paced" not in text


def test_corrections_of_a_leg(loop):
    """Fixture: raw is adjusted plus 0.36 m east, 0.07 m south; leg 1-2 runs 13 m east, 53 m north."""
    first = moved_legs(loop.survey, METRES)[0]
    raw, adjusted = (13.36, 52.93), (13.0, 53.0)
    assert first.bars[1].value == pytest.approx(math.hypot(*adjusted) - math.hypot(*raw))
    turned = math.degrees(math.atan2(*adjusted) - math.atan2(*raw))
    assert first.bars[0].value == pytest.approx(turned)


def test_expected_ellipse_agrees_with_numpy(loop):
    """Half-axes and azimuth are eigenvalues and eigenvectors of the covariance (numpy.linalg.eigh)."""
    closure = loop.survey.closures[0]
    values, vectors = np.linalg.eigh(np.array(closure.covariance_m2))
    spread = expected_spread(closure)
    assert (spread.minor_m, spread.major_m) == pytest.approx(tuple(np.sqrt(values)))
    east, north = vectors[:, 1]
    assert math.sin(math.radians(spread.azimuth_deg) - math.atan2(east, north)) == pytest.approx(
        0.0, abs=1e-9
    )


def test_an_ellipse_is_turned_clockwise_from_page_up():
    points = [command[-2:] for command in ellipse((0.0, 0.0), 5.0, 1.0, 90.0).commands if len(command) > 2]
    assert max(x for x, _ in points) == pytest.approx(5.0)
    assert max(y for _, y in points) == pytest.approx(1.0)


# --- net ----------------------------------------------------------------------------------------------------


def test_net_is_equal_area():
    """Lambert's azimuthal projection: a cap of the hemisphere covers its share of the net (Snyder 1987, chapter 24)."""
    for apart in (10.0, 30.0, 60.0, 90.0):
        x, y = on_net(37.0, 90.0 - apart, 1.0)
        cap = 1.0 - math.cos(math.radians(apart))
        assert x**2 + y**2 == pytest.approx(cap)


def test_a_pole_lies_opposite_the_dip():
    """A bed dipping 35 toward 270 has its pole plunging 55 toward 090: east of the middle, inside the rim."""
    trend, plunge = pole_of(35.0, 270.0)
    assert (trend % 360.0, plunge) == (90.0, 55.0)
    x, y = on_net(trend, plunge, 1.0)
    assert 0.0 < x < 1.0
    assert y == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(("trend", "plunge"), [(187.0, 8.0), (20.0, 45.0), (300.0, 80.0), (90.0, 0.0)])
def test_a_girdle_is_square_to_its_axis(trend, plunge):
    """Every point of the circle, taken back to the sphere, lies 90 degrees from the axis."""
    t, p = math.radians(trend), math.radians(plunge)
    axis = np.array([math.sin(t) * math.cos(p), math.cos(t) * math.cos(p), -math.sin(p)])
    for x, y in great_circle(trend, plunge, 1.0):
        rho = math.hypot(x, y)
        apart = 2.0 * math.asin(min(1.0, rho / math.sqrt(2.0)))
        way = math.atan2(x, y)
        line = np.array([math.sin(way) * math.sin(apart), math.cos(way) * math.sin(apart), -math.cos(apart)])
        assert rho <= 1.0 + 1e-9
        assert float(axis @ line) == pytest.approx(0.0, abs=1e-9)


def test_the_net_says_when_no_axis_is_determined(loop):
    log, survey, geology = loop.log, loop.survey, loop.geology
    lacks = NoAxis(why=NoGirdle.ALIKE, n=len(geology.beds), widest_deg=12.0)
    geology = replace(geology, fold_axis=None, no_axis=lacks)
    text = said(pages(Traverse(log=log, survey=survey, geology=geology)))
    assert "axis not determined" in text
    assert "no two beds 30° apart" in text
    # Poles that took no part are on the net too, and lie as they like.
    geology = replace(geology, no_axis=replace(lacks, n=lacks.n - 1))
    text = said(pages(Traverse(log=log, survey=survey, geology=geology)))
    assert f"of {lacks.n - 1} fitted no two 30° apart; others lie apart" in text
    assert "no two beds" not in text.partition("of its readings")[0]


# --- logs that hold little, or too much ----------------------------------------------------------------------

HEAD = """date 2026-07-03
party MO Mara <b>&"Okafor
bearings magnetic
declination 0.6 E, 2026, survey chart
attitudes dip-right
pace 100 m in 65, 66, 66, 67
unit Ms Stag <i>Marl& ; Miocene
unit Lt Tollhouse Limestone ; Cretaceous
"""
POOR = {
    "heading alone": "",
    "one station": "at 1\nunit Lt\nbed 142/30\nrock Limestone\n",
    "a bare station": "at 1\n",
    "attitudes alone": "at 1\nbed 142/30\nbed 040/vertical\nbed flat\njoint 050/80\nlineation 20->100\n",
    "legs alone": "at 1\nto 2 N47E 64p +3\nto 3 052 118p +2\n",
    "a straight line": "at 1\n"
    + "".join(f"to {n} 090 50p +1\nunit Lt\nbed 000/{20 + n}\n" for n in range(2, 8)),
    "no heights": "at 1\nunit Lt\nbed 142/40\nto 2 090 50p\nalong 20p\ncontact Ms/Lt certain 140/40\nat 2\nunit Ms\n"
    "close 1 270 50p\n",
    "a loop that fails": "at 1\nbed 142/40\nto 2 090 50p +1 back 271\nto 3 000 50p +2\nclose 1 215 170p -3\n",
    "markup": 'at 1\nunit Lt\nrock <b>&"bold" שלום عولם \nnote '
    + "word " * 500
    + "\nhazard <script>& loose\n",
    "hazards": "at 1\n"
    + "".join(f"hazard {n} falling rocks of a kind that take long to tell\n" for n in range(60)),
    "doubts": "at 1\nunit Lt?\nbed 142/40?\nto 2 090 50p? +1\ncovered 10p to 40p scree\ncontact Ms/Lt? inferred\n"
    "fault 050/60\nfault Ms/Lt approximate down E\nsection A-A' from 1 to 2, exaggeration 3, depth 50 m\n",
}


@pytest.mark.every(2)
@pytest.mark.parametrize("name", POOR)
def test_poor_logs_give_sound_pages(name):
    """No exception, no figure that is no number, nothing off the page, on lying and on upright paper."""
    found = compiled(HEAD + POOR[name])
    loop = found.trav
    for width, height in PAPERS.values():
        frame = Box(x=10.0, y=15.0, width=width - 20.0, height=height - 25.0)
        made = [
            *table_pages(loop, found.diagnostics, width=width, height=height, frame=frame),
            *closure_pages(loop, found.diagnostics, width=width, height=height, frame=frame),
        ]
        for page in made:
            assert_inside(page.items, 10.0, 15.0, width - 10.0, height - 10.0)
            assert "nan" not in words(page.items).lower().split()
    for section in found.geology.sections:
        for scale in (500, 5000, 50_000):
            box = Box(x=26.0, y=40.0, width=170.0, height=40.0)
            items = section_panel(
                opened(section, loop), loop, box=box, scale=scale, styles=unit_styles(found.log.units)
            ).items
            for path in paths(items):
                assert all(math.isfinite(value) for command in path.commands for value in command[1:])


def test_user_text_is_printed_as_typed():
    found = compiled(HEAD + POOR["markup"])
    frame = Box(x=10.0, y=15.0, width=277.0, height=185.0)
    loop = found.trav
    made = table_pages(loop, (), width=297.0, height=210.0, frame=frame)
    made += closure_pages(loop, (), width=297.0, height=210.0, frame=frame)
    typed = {one.text for page in made for one in flat(page.items) if isinstance(one, Text)}
    assert any('<b>&"bold"' in one for one in typed)
    assert any("<script>& loose" in one for one in typed)


def test_without_a_loop_the_page_says_what_is_unchecked():
    found = compiled(HEAD + POOR["legs alone"])
    loop = found.trav
    text = said(pages(loop))
    assert "No loop and no tie: nothing checks this walk." in text
    assert "What nothing here checks" in text
    assert "Raw figure" not in text


def test_an_empty_log_has_no_report():
    found = compiled(HEAD)
    assert pages(found.trav) == ()
    assert span().line > 0


def test_the_name_of_a_known_point_stands_off_its_sign(loop):
    """Its triangle is wider than the dot of a station, and hid the figure of it."""
    items = pages(loop)[0].items
    size = max(one.area for one in shapes_in(symbol("control", (0.0, 0.0))))
    signs = [
        one
        for one in shapes_in(path for path in paths(items) if path.commands[-1][0] == "Z")
        if abs(one.area - size) < 0.01
    ]
    names = [one for one in flat(items) if isinstance(one, Text) and one.face is Face.BOLD]
    assert signs
    assert not [name.text for name in names for sign in signs if sign.intersects(shapely.box(*box(name)))]
