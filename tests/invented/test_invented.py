"""Invented ground whose truth is known, walked with ordinary errors; the full run is `judge.py`."""

from functools import cache

import numpy as np
import pytest

from tests.invented import cut_true
from tests.invented.judge import ACCUSING, compiled_walk, judged, named
from tests.invented.models import KINDS as EVERY_KIND
from tests.invented.models import make
from tests.invented.walker import walked
from tests.thorough import either
from traverse.compile import map_ground
from traverse.structure.section.records import PointKind

KINDS = tuple(one for one in EVERY_KIND if one != "valley")
"""The judge holds a section over gentle beds in a valley against the truth; most are carried too far to be right."""
WALKS = either(3, 6)
"""Of each kind."""
CUT = either(1, 6)
"""Of these, with their sections."""


@cache
def whole(kind, seed):
    """A walk judged with its sections."""
    return judged(kind, seed, cuts=True)


@pytest.fixture(scope="module")
def verdicts():
    return [(whole if seed < CUT else judged)(kind, seed) for kind in KINDS for seed in range(WALKS)]


def test_every_walk_compiles(verdicts):
    assert [(one.kind, one.seed, one.failed) for one in verdicts if one.failed] == []


def test_a_seed_makes_the_same_log_again():
    assert walked(make("cover", 3)).text == walked(make("cover", 3)).text
    assert walked(make("cover", 3)).text != walked(make("cover", 4)).text


@pytest.mark.parametrize("kind", KINDS)
def test_the_model_has_the_unit_and_the_beds_of_its_own_field(kind):
    """Up a bed's own pole the field grows by the distance, so that its differences are thicknesses."""
    model = make(kind, 1)
    place = model.ground(140.0, 30.0)[0]
    young = model.bedding(place)
    assert np.linalg.norm(young) == pytest.approx(1.0)
    pile = model.cover if model.codes(place)[0][1] else model.pile
    moved = place + 0.5 * young
    if (model.codes(moved)[0] == model.codes(place)[0]).all():
        grown = pile.height(moved[None, :] - model.throw) - pile.height(place[None, :] - model.throw)
        assert float(grown[0]) == pytest.approx(0.5, abs=1e-4)
    assert model.unit(*place) in model.order


def test_nothing_is_said_to_follow_that_is_not_so(verdicts):
    assert [(one.kind, one.seed, one.false) for one in verdicts if one.false] == []


@pytest.mark.parametrize(
    ("what", "least"),
    [
        ("stations", 1000),
        ("contact places, certain", 200),
        ("thickness", 50),
        ("section at 20 m", either(60, 100)),
    ],
)
def test_errors_are_as_large_as_they_are_stated(verdicts, what, least):
    """68 per cent lie within one standard deviation, of good figures none beyond four.

    Places of one walk are off together, by its pace and its first bearings, so what the share is good to is reckoned from
    walk to walk; three of these standard errors either way are allowed. Those of sections are bounds: they may be less.
    """
    walks = [np.array(verdict.off[what]) for verdict in verdicts if what in verdict.off]
    values = np.concatenate(walks)
    assert len(values) > least
    inside = float((values <= 1.0).mean())
    apart = np.array([(one <= 1.0).sum() - inside * len(one) for one in walks])
    error = float(np.sqrt((apart**2).sum())) / len(values)
    assert error < 0.06
    assert inside >= 0.683 - 3.0 * error
    assert inside <= 0.683 + 3.0 * error or what == "section at 20 m"
    assert (values > 4.0).mean() <= (0.02 if what == "section at 20 m" else 0.005)


@pytest.mark.parametrize("seed", [2, 9, 22, 53])
def test_a_fault_has_the_separation_that_it_has(seed):
    """Walks on which one contact was met on both sides of the fault."""
    verdict = judged("fault", seed)
    assert verdict.false == []
    for what in ("fault separation", "fault separation, vertical"):
        assert len(verdict.off[what]) == 1
        assert max(verdict.off[what]) < 3.0


@pytest.mark.parametrize("seed", [156, 236, 397])
def test_a_contact_close_to_a_fault_keeps_its_side(seed):
    """By a place of the fault far off it lay on the other side, and one contact was told to be apart by a few metres."""
    verdict = judged("fault", seed)
    assert verdict.false == []
    assert verdict.off.get("fault separation", []) == []


def test_folds_are_found_with_their_axis(verdicts):
    found = [one.fold for one in verdicts if one.fold is not None]
    assert len(found) >= either(8, 10)
    assert sum(found) >= 0.9 * len(found) - either(1, 0)


def test_a_contact_crossed_out_and_home_down_the_plunge_lays_no_inlier_bare():
    """Heights that are carried along the plunge rise where the walk goes along the axis: that is no low ground."""
    assert judged("plunging", 30010).false == []


@pytest.mark.every(4)
@pytest.mark.parametrize("seed", [95, 104, 148, 171])
def test_a_dome_read_to_4_degrees_on_two_flanks_has_no_axis(seed):
    """About the best line their poles scatter as those of a fold do, and keep to a cone better or leave it one after the other."""
    assert judged("dome", seed).false == []


def test_good_readings_are_not_accused(verdicts):
    """One walk in a hundred for each sort of warning; of these few walks two at most for all sorts."""
    accused = [(one.kind, one.seed, one.accused) for one in verdicts if one.accused]
    assert len(accused) <= 2, accused


@pytest.mark.every(2)
@pytest.mark.parametrize("slip", ["quarter turn", "half turn", "digits", "unit"])
def test_a_planted_slip_is_named_at_its_line(slip):
    found = [
        named(kind, seed, slip) for kind in ("homocline", "upright", "sill") for seed in range(either(2, 3))
    ]
    told = [one for one in found if one is not None]
    assert len(told) >= either(4, 7)
    assert sum(bool(named_by & ACCUSING) for named_by, _, _ in told) >= 0.75 * len(told)


def test_a_forgotten_overturned_is_named_where_the_beds_about_it_carry_it():
    found = [one for seed in range(20) if (one := named("overturned", seed, "overturned")) is not None]
    assert len(found) >= 5
    # The one that is left is the last bed of its walk, where another limb may begin.
    assert sum(bool(named_by & ACCUSING) for named_by, _, _ in found) >= len(found) - 1


@pytest.mark.every(3)
@pytest.mark.parametrize(
    ("kind", "seed"), [("plunging", 36), ("plunging", 47), ("cover", 57), ("dome", 45), ("dome", 54)]
)
def test_a_section_is_right_within_what_it_states_20_m_down(kind, seed):
    """Walks of which a contact carried past a fold, off a dome or under a cover was drawn 30 to 60 m off, as good to 5 m."""
    assert max(judged(kind, seed).off["section at 20 m"]) < 3.0


@pytest.fixture(scope="module")
def cuts():
    """What is wrong in the sections of these walks, by kind."""
    return {kind: [whole(kind, seed).cut for seed in range(CUT)] for kind in KINDS}


@pytest.mark.parametrize("kind", KINDS)
def test_sections_and_maps_of_invented_ground_show_one_ground(cuts, kind):
    """At every metre of a line over ground that both name, within what the borders are off by."""
    shared = sum(one.shared for one in cuts[kind])
    assert shared > either(60, 1000)
    # The walls of a dike that the line runs along are carried there, and drawn on the map, each its own way.
    assert sum(one.contradicted for one in cuts[kind]) <= (0.04 if kind == "dike" else 0.01) * shared


@pytest.mark.parametrize(
    ("kind", "seeds", "most"), [("flat", either(3, 12), 0.18), ("cover", either(4, 8), 0.11)]
)
def test_colour_over_flat_beds_says_no_more_than_was_seen(kind, seeds, most):
    """What lies past the lowest place where a unit was walked on, or under the base of a cover drawn twice, was guessed: 28 and 13 %."""
    cuts = [whole(kind, seed).cut for seed in range(seeds)]
    assert sum(one.wrong for one in cuts) <= most * sum(one.cells for one in cuts)


@pytest.mark.every(3)
@pytest.mark.parametrize(
    ("kind", "seed", "most"),
    [
        ("dome", 8, 0.01),
        ("dome", 113, 0.02),
        ("cover", 8, 0.01),
        ("cover", 18, 0.05),
        ("flat", 10, 0.01),
        ("flat", 24, 0.01),
        ("flat", 47, 0.01),
        ("flat", 62, 0.01),
        ("sill", 103, 0.01),
        ("plunging", 18, 0.01),
        ("plunging", 75, 0.01),
        ("dome", 30, 0.01),
        ("dike", 54, 0.02),
    ],
)
def test_no_wedge_of_a_wrong_unit_is_drawn(kind, seed, most):
    """Of walks of which a contact was drawn down the wrong limb, a cover was folded, flat beds were bent by their scatter or
    by one that lies off, or what was seen beside a cover was coloured all along under it;
    of which all ground took the unit of one border
    that comes out far off; of which an area with a thin edge folded over itself as its corners were settled, and none was drawn;
    or of which ground that nobody walked took the unit of the walk farther off, across the lines that come out there;
    or of which a dike that the walk began in was drawn to the far end of its section.
    """
    cut = whole(kind, seed).cut
    assert cut.wedges <= most * cut.cells


@pytest.mark.parametrize(("allowed_sd", "share"), [(0.0, 1.0), (1000.0, 0.0)])
def test_wrong_ground_beyond_the_stated_errors_is_what_they_leave(monkeypatch, allowed_sd, share):
    """All of it where none is allowed, nothing where all is."""
    monkeypatch.setattr(cut_true, "ALLOWED_SD", allowed_sd)
    walk = walked(make("upright", 1))
    found = cut_true.cut_shares(walk, map_ground(compiled_walk(walk).trav))
    assert found.wrong > 20
    assert found.beyond == share * found.wrong


def test_a_contact_drawn_on_a_section_parts_two_units(cuts):
    """Of the contacts through coloured ground 7 % had one unit on both sides: lines drawn twice, borders of map and line a
    step apart, and lines with their younger side turned round.
    """
    drawn = sum(one.drawn for kind in KINDS for one in cuts[kind])
    assert drawn > either(1200, 5000)
    assert sum(one.alike for kind in KINDS for one in cuts[kind]) <= 0.03 * drawn


@pytest.mark.every(2)
@pytest.mark.parametrize(
    ("kind", "seed", "most"),
    [("homocline", 402, 0.04), ("upright", 405, 0.25), ("dome", 403, 0.0), ("plunging", 402, 0.25)],
)
def test_one_contact_is_one_line_with_its_units_on_its_own_sides(kind, seed, most):
    """Met on two legs that meet at a corner; on both limbs from two arms; over a crest off the walk; up to the ground."""
    cut = whole(kind, seed).cut
    assert cut.alike <= most * cut.drawn


def test_a_fault_between_the_same_units_on_two_arms_is_one_line():
    """Both places lie on the plane that was read at one of them."""
    compiled = compiled_walk(walked(make("fault", 3)))
    (section,) = compiled.geology.sections
    (line,) = [one for one in section.construction.lines if one.kind is PointKind.FAULT]
    assert len(line.contacts) == 2
