"""Sums of legs along ties of several parties, and what is said of parties where nobody has a known point."""

import pytest

from tests.compare.round_walks import Ground, joined
from traverse.sheet.said.unchecked import unchecked_paragraphs
from traverse.sheet.tables.leg_rows import legs_table


@pytest.fixture(scope="module", params=range(3))
def camp(request):
    ground = Ground(request.param)
    logs = {one: ground.walk((request.param, one)) for one in "ACF"}
    found = joined(logs, [(f"A-{at}", f"{one}-{at}") for one in "CF" for at in (1, 3, 6, 9)])
    assert found.survey.adjusted
    return found


def test_along_a_tie_of_two_parties_the_adjusted_legs_come_back_to_nothing(camp):
    rows = [one.cells for one in legs_table(camp.log, camp.survey).rows]
    sums = [cells for cells in rows if " to " in cells[0]]
    assert len(sums) == 6
    for cells in sums:
        east, north = (int(cell.replace("−", "-")) for cell in cells[-2:])
        assert abs(east) <= 1, cells
        assert abs(north) <= 1, cells


def test_no_known_point_is_spoken_of_where_there_is_none(camp):
    assert camp.survey.fits
    assert not any("known points" in one for one in unchecked_paragraphs(camp.log, camp.survey))
