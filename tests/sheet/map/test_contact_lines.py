"""Contacts by certainty where the ground to each side is narrower on paper than a dash is long."""

from itertools import pairwise

import numpy as np
import pytest
import shapely

from tests.sheet.fixture_sheet import layer
from tests.sheet.pages import paths
from traverse.compile import map_ground
from traverse.sheet.compose.compose import compose
from traverse.sheet.paper.layers import Layer
from traverse.sheet.paper.style import PENS
from traverse.sheet.template.reading import read_template

WALK = """notation 1
traverse Narrow ground
bearings true
attitudes dip-direction
unit Aa Upper ; Jurassic
unit Bb Lower ; Triassic
at 1
unit Aa
bed 090/40
to 2 090 500m
along 250m
contact Aa/Bb {how}
at 2
unit Bb
bed 090/40
sheet scale 1:{scale} paper A4 landscape band 20 m
"""


def inked(path):
    """Stretches of a straight path that its pen inks, as lines."""
    (start, end) = (np.array(command[-2:]) for command in path.commands)
    long = float(np.hypot(*(end - start)))
    dash, gap = path.pen.dash_mm[:2] if path.pen.dash_mm else (long, 0.0)
    starts = np.arange(0.0, long - 1e-9, dash + gap)
    along = (end - start) / long
    return [shapely.LineString([start + at * along, start + min(at + dash, long) * along]) for at in starts]


@pytest.mark.every(2)
@pytest.mark.parametrize("scale", [4000, 5000, 6000, 10_000])
@pytest.mark.parametrize("how", ["certain", "approximate", "inferred"])
def test_only_a_contact_that_was_seen_runs_unbroken_over_narrow_ground(compile_text, how, scale):
    """20 m of ground to each side are 5 to 2 mm here; a dash of an approximate contact is 3.5 mm, and so is half its line."""
    trav = map_ground(compile_text(WALK.format(how=how, scale=scale)).trav)
    page = compose(trav, (), template=read_template("field").value, mark="0" * 6).value.pages[0]
    pens = {PENS[f"contact {one}"] for one in ("certain", "approximate", "inferred")}
    drawn = [one for one in paths(layer(page.items, Layer.CONTACTS)) if one.pen in pens]
    pieces = sorted((line.bounds[1::2] for one in drawn for line in inked(one)), key=min)
    edge_mm = 2.0 * 20_000.0 / scale
    to_edges = (edge_mm - (max(high for _, high in pieces) - min(low for low, _ in pieces))) / 2.0
    widest = float(max([to_edges, *(after[0] - before[1] for before, after in pairwise(pieces))]))
    if how == "certain" and scale >= 5000:
        # Seen for 4 mm to each side of the walk: here to the edges.
        assert widest < 0.05
    else:
        assert widest > 0.7
    # The crossing itself is inked: a reader looks for it on the walk.
    middle = (min(low for low, _ in pieces) + max(high for _, high in pieces)) / 2.0
    assert any(low - 0.05 <= middle <= high + 0.05 for low, high in pieces)


@pytest.mark.parametrize(
    ("how", "scale"), [("approximate", 5000), ("approximate", 8000), ("inferred", 10_000)]
)
def test_a_line_nobody_saw_has_a_gap_on_each_side_of_the_walk_however_narrow_the_ground(
    compile_text, how, scale
):
    """One dash in the middle of a narrow band would read as a line that was seen, or as a bar."""
    trav = map_ground(compile_text(WALK.format(how=how, scale=scale)).trav)
    page = compose(trav, (), template=read_template("field").value, mark="0" * 6).value.pages[0]
    drawn = [one for one in paths(layer(page.items, Layer.CONTACTS)) if one.pen == PENS[f"contact {how}"]]
    pieces = sorted((line.bounds[1::2] for one in drawn for line in inked(one)), key=min)
    joined = [pieces[0]]
    for low, high in pieces[1:]:
        if low - joined[-1][1] < 0.05:
            joined[-1] = (joined[-1][0], high)
        else:
            joined.append((low, high))
    assert len(joined) >= 3
